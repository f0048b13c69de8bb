//! The narrowest board a piece can be got out of.
//!
//! The least width of a shape is across one side of its convex hull, so each side is tried: as many as the
//! hull has, each in one pass.

use kurbo::{BezPath, Point, Vec2};

/// A board, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stock {
    /// Length.
    pub length: f64,
    /// Width.
    pub width: f64,
}

/// Boards are compared to this, m: a hair's breadth must not refuse a board.
const HAIR_M: f64 = 1e-6;

impl Stock {
    /// Whether this board can be got out of another.
    pub fn fits(&self, other: Stock) -> bool {
        self.length <= other.length + HAIR_M && self.width <= other.width + HAIR_M
    }
}

/// The narrowest board that an outline can be got out of, in the outline's own unit, and how its length lies: the angle
/// anticlockwise from level, within a right angle either way, radians.
pub fn narrowest_board(outline: &BezPath) -> (Stock, f64) {
    let (board, along) = board_lying(&crate::pieces::points_of(outline.segments()), None);
    let upright = along.x.abs() < HAIR_M;
    (board, if upright { std::f64::consts::FRAC_PI_2 } else { (along.y / along.x).atan() })
}

/// The board that holds a part whose grain runs at an angle, anticlockwise from level, radians.
pub fn board_along(outline: &BezPath, grain: f64) -> Stock {
    let turned = kurbo::Affine::rotate(-grain) * outline.clone();
    let bounds = kurbo::Shape::bounding_box(&turned);
    Stock { length: bounds.width(), width: bounds.height() }
}

/// The narrowest board that holds the points; of those that can be got out of `stock`, where there are any.
pub(crate) fn board(points: &[Point], stock: Option<Stock>) -> Stock {
    board_lying(points, stock).0
}

/// The same, and which way its length lies.
fn board_lying(points: &[Point], stock: Option<Stock>) -> (Stock, Vec2) {
    let hull = convex_hull(points);
    let mut best: Option<(bool, Stock, Vec2)> = None;
    for (i, a) in hull.iter().enumerate() {
        let along = hull[(i + 1) % hull.len()] - *a;
        if along.hypot() < HAIR_M {
            continue;
        }
        let along = along.normalize();
        let across = Vec2::new(-along.y, along.x);
        let span = |d: Vec2| {
            let (from, to) = hull
                .iter()
                .map(|p| d.dot(p.to_vec2()))
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(from, to), at| (from.min(at), to.max(at)));
            to - from
        };
        let (a, b) = (span(along), span(across));
        let lies = if a < b { across } else { along };
        let board = Stock { length: a.max(b), width: a.min(b) };
        let fits = stock.is_some_and(|stock| board.fits(stock));
        let better = |(best_fits, best, _): (bool, Stock, Vec2)| match fits == best_fits {
            true => board.width < best.width,
            false => fits,
        };
        if best.is_none_or(better) {
            best = Some((fits, board, lies));
        }
    }
    let nothing = (Stock { length: 0.0, width: 0.0 }, Vec2::new(1.0, 0.0));
    best.map_or(nothing, |(_, board, lies)| (board, lies))
}

/// Anticlockwise (Andrew's monotone chain).
fn convex_hull(points: &[Point]) -> Vec<Point> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let chain = |points: &mut dyn Iterator<Item = &Point>| {
        let mut out: Vec<Point> = Vec::new();
        for p in points {
            while out.len() > 1
                && (out[out.len() - 1] - out[out.len() - 2]).cross(*p - out[out.len() - 1]) <= 0.0
            {
                out.pop();
            }
            out.push(*p);
        }
        out.pop();
        out
    };
    let mut hull = chain(&mut sorted.iter());
    hull.extend(chain(&mut sorted.iter().rev()));
    hull
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A rectangle turned by any angle is its own board.
    #[test]
    fn the_board_of_a_turned_rectangle_is_the_rectangle() {
        for degrees in [0.0f64, 17.0, 45.0, 80.0] {
            let turn = kurbo::Affine::rotate(degrees.to_radians());
            let corners = [(0.0, 0.0), (1.2, 0.0), (1.2, 0.3), (0.0, 0.3), (0.6, 0.1)];
            let board = board(&corners.map(|c| turn * Point::from(c)), None);
            assert!((board.length - 1.2).abs() < 1e-9 && (board.width - 0.3).abs() < 1e-9, "{board:?}");
        }
    }

    #[test]
    fn a_board_lies_as_its_part_does() {
        for degrees in [0.0f64, 17.0, -60.0, 90.0] {
            let turn = kurbo::Affine::rotate(degrees.to_radians());
            let bar = turn * kurbo::Shape::to_path(&kurbo::Rect::new(0.0, 0.0, 1200.0, 300.0), 0.1);
            let (board, lie) = narrowest_board(&bar);
            assert!((board.length - 1200.0).abs() < 1e-6 && (board.width - 300.0).abs() < 1e-6);
            assert!((lie.to_degrees() - degrees).abs() < 1e-6, "{lie}");
        }
    }

    /// A right triangle of sides 3, 4 and 5: its altitude on the longest side is 12/5.
    #[test]
    fn a_triangle_is_narrowest_across_its_longest_side() {
        let corners = [(0.0, 0.0), (4.0, 0.0), (0.0, 3.0)].map(Point::from);
        let least = board(&corners, None);
        assert!((least.width - 2.4).abs() < 1e-9 && (least.length - 5.0).abs() < 1e-9);
        let short = board(&corners, Some(Stock { length: 4.5, width: 3.5 }));
        assert!((short.width - 3.0).abs() < 1e-9 && (short.length - 4.0).abs() < 1e-9);
    }
}
