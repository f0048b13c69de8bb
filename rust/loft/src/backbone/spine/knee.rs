//! The stern knee: its corner, its arms, and the angle between them.

use kurbo::{Point, Vec2};

use super::Spine;

/// Arms of a knee that are more nearly in line, radians (160 degrees), need none.
pub(in crate::backbone) const IN_LINE: f64 = 2.8;

impl Spine<'_> {
    /// The stern knee between the pieces' inner edge and the transom's forward face; `None` without a transom.
    pub fn knee(&self) -> Option<Knee> {
        let t = self.hull.survey().transom?;
        let up = Vec2::new(t.head.0 - t.foot.0, t.head.1 - t.foot.1).normalize();
        let up = if up.y < 0.0 { -up } else { up };
        let inner = &self.stretches.last().filter(|_| !self.is_flat)?.inner;
        let last = *inner.last()?;
        let arm = self.options.knee_arm;
        let before = inner.iter().rev().find(|p| p.distance(last) >= arm).or(inner.first())?;
        let along = (*before - last).normalize();
        let face = Point::new(t.x(0.0, 0.0) - self.options.transom_thickness / up.y, 0.0);
        // Where the line of the inner edge meets the forward face.
        let reach = (last - face).cross(along) / up.cross(along);
        Some(Knee { corner: face + up * reach, along, up })
    }

    pub fn knee_angle(&self) -> Option<f64> {
        self.knee().map(|knee| knee.angle()).filter(|angle| *angle <= IN_LINE)
    }
}

/// The stern knee's corner and the directions of its arms: along the inner edge forward, and up the transom's forward
/// face.
#[derive(Clone, Copy, Debug)]
pub(in crate::backbone) struct Knee {
    pub corner: Point,
    pub along: Vec2,
    pub up: Vec2,
}

impl Knee {
    pub fn angle(&self) -> f64 {
        self.along.dot(self.up).clamp(-1.0, 1.0).acos()
    }
}
