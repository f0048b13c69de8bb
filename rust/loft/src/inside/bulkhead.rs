//! Bulkheads: the inside of the hull at their faces, closed across the top; bevels from the normal.
//!
//! Forward of the widest part the after face is the larger, aft of it the forward one, and where the sides widen and
//! the bottom rises each is in its place: the blank holds both.

use kurbo::{BezPath, Line, Point, Vec2};
use scrieve_hull::Boat;

use super::{InsideError, both_sides_up, check, crown};
use crate::bevels::edge_bevels;
use crate::blank::{carried_on, half_blank};
use crate::edge::Edge;
use crate::marks::{clip, path_of};
use crate::{EdgeBevel, Grid, Mark, MarkKind, RoundOfBeam, written};

/// A bulkhead or frame at a station, drawn (y, z), m.
#[derive(Clone, Debug, PartialEq)]
pub struct Bulkhead {
    /// What to cut, both sides: what both faces take up, each carried on to the higher top.
    pub outline: BezPath,
    /// The outlines of its forward and of its after face, both sides.
    pub faces: [BezPath; 2],
    /// Its thickness, m.
    pub thickness: f64,
    /// Centreline and waterlines.
    pub marks: Vec<Mark>,
    /// Bevels of its edge at waterlines, lower end up, from its forward face over its thickness.
    pub bevels: Vec<EdgeBevel>,
}

/// The bulkhead whose forward face stands at `x`, to the sheer or to a level `top`.
///
/// # Errors
/// As [`thwart`](super::thwart()); a round of beam that makes no arc so wide.
pub fn bulkhead(
    hull: &Boat,
    x: f64,
    top: Option<f64>,
    thickness: f64,
    round: Option<RoundOfBeam>,
    inside: f64,
) -> Result<Bulkhead, InsideError> {
    check(&[("thickness", thickness, true), ("deduction", inside, false)])?;
    let fore = Half::new(hull, x, top, round, inside)?;
    let aft = Half::new(hull, x + thickness, top, round, inside)?;
    let edge = &fore.edge;
    let [a, b] = carried_on([(&fore.curve, &fore.top), (&aft.curve, &aft.top)]);
    let outline = both_sides_up(&half_blank(&a, &b).ok_or(InsideError::NoBlank { x })?);
    let faces = [fore.outline(), aft.outline()];
    let grid = Grid::of(hull);
    let mut spots = vec![("lower end".to_owned(), edge.start())];
    let mut marks: Vec<Mark> = Vec::new();
    let mut mark = |kind, label: String, p, d| {
        let lines = clip(&outline, &[], p, d);
        if !lines.is_empty() {
            marks.push(Mark { kind, label, path: path_of(&lines) });
        }
    };
    mark(MarkKind::Centreline, "CL".into(), Point::ZERO, Vec2::new(0.0, 1.0));
    for z in &grid.waterlines {
        let label = format!("WL {}", written(*z, grid.units));
        let places = edge.crossings(Vec2::new(0.0, 1.0), *z);
        spots.extend(places.into_iter().map(|place| (label.clone(), place)));
        mark(MarkKind::Waterline, label, Point::new(0.0, *z), Vec2::new(1.0, 0.0));
    }
    spots.push(("top".to_owned(), edge.end()));
    let bevels = edge_bevels(edge, spots, 1.0, thickness);
    Ok(Bulkhead { bevels, marks, outline, faces, thickness })
}

/// The right half of a face.
struct Half {
    edge: Edge,
    /// The edge, from the lower end up.
    curve: BezPath,
    /// From its upper end in to the centreline.
    top: BezPath,
}

impl Half {
    fn new(
        hull: &Boat,
        x: f64,
        top: Option<f64>,
        round: Option<RoundOfBeam>,
        inside: f64,
    ) -> Result<Half, InsideError> {
        let mut curve = hull.parallel_section(x, inside)?;
        let low = curve.crossings([0.0, 1.0, 0.0], 0.0).pop().map_or(0.0, |mark| mark.along);
        let high = match top {
            None => curve.length(),
            Some(z) => {
                let meets = curve.crossings([0.0, 0.0, 1.0], z).pop();
                meets.ok_or(InsideError::OffTheHull { x, z })?.along
            }
        };
        curve = curve.trimmed(low, high);
        let edge = Edge::new(&curve).ok_or(InsideError::OffTheHull { x, z: top.unwrap_or(0.0) })?;
        let end = edge.point(edge.end());
        let top = match round {
            Some(round) => crown(round, end, 0.0)?,
            None => path_of(&[Line::new(end, (0.0, end.y))]),
        };
        Ok(Half { edge, curve: curve.path(), top })
    }

    /// Its outline, both sides.
    fn outline(&self) -> BezPath {
        let mut right = self.curve.clone();
        right.extend(self.top.elements().iter().skip(1).copied());
        both_sides_up(&right)
    }
}
