//! How far apart polygons are, in double precision.

use kurbo::{Point, Rect};

use super::piece::bounds;

/// A polygon with the boxes of its sides.
#[derive(Clone, Debug)]
pub(super) struct Polygon {
    ring: Vec<Point>,
    bounds: Rect,
}

impl Polygon {
    pub fn new(ring: Vec<Point>) -> Self {
        let bounds = bounds(ring.iter().copied());
        Self { ring, bounds }
    }

    pub fn bounds(&self) -> Rect {
        self.bounds
    }

    fn sides(&self) -> impl Iterator<Item = (Point, Point)> + '_ {
        self.ring.iter().copied().zip(self.ring.iter().copied().cycle().skip(1))
    }

    fn holds(&self, p: Point) -> bool {
        let crossings = self.sides().filter(|(a, b)| {
            (a.y > p.y) != (b.y > p.y) && p.x < a.x + (b.x - a.x) * (p.y - a.y) / (b.y - a.y)
        });
        crossings.count() % 2 == 1
    }

    /// Whether no spot of one is nearer than `gap` to any of the other, nor inside it.
    pub fn is_clear_of(&self, other: &Polygon, gap: f64) -> bool {
        let near = |bounds: Rect| bounds.inflate(gap, gap);
        if near(self.bounds).intersect(other.bounds).area() <= 0.0
            && !touches(near(self.bounds), other.bounds)
        {
            return true;
        }
        if self.holds(other.ring[0]) || other.holds(self.ring[0]) {
            return false;
        }
        let within = near(other.bounds);
        let mine: Vec<_> = self.sides().filter(|s| touches(Rect::from_points(s.0, s.1), within)).collect();
        let within = near(self.bounds);
        let theirs = other.sides().filter(|s| touches(Rect::from_points(s.0, s.1), within));
        let gap_squared = gap * gap;
        for (c, d) in theirs {
            let close = near(Rect::from_points(c, d));
            for (a, b) in &mine {
                if touches(Rect::from_points(*a, *b), close) && apart_squared(*a, *b, c, d) < gap_squared {
                    return false;
                }
            }
        }
        true
    }
}

fn touches(a: Rect, b: Rect) -> bool {
    a.x0 <= b.x1 && b.x0 <= a.x1 && a.y0 <= b.y1 && b.y0 <= a.y1
}

/// The least distance of two straights, squared.
fn apart_squared(a: Point, b: Point, c: Point, d: Point) -> f64 {
    let side = |p: Point, q: Point, r: Point| (q - p).cross(r - p);
    let crosses = side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0;
    if crosses {
        return 0.0;
    }
    let to = |p: Point, q: Point, r: Point| {
        let along = r - q;
        let t =
            if along.hypot2() > 0.0 { ((p - q).dot(along) / along.hypot2()).clamp(0.0, 1.0) } else { 0.0 };
        (p - (q + along * t)).hypot2()
    };
    to(a, c, d).min(to(b, c, d)).min(to(c, a, b)).min(to(d, a, b))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(x: f64, y: f64, side: f64) -> Polygon {
        let corners = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)];
        Polygon::new(corners.iter().map(|(a, b)| Point::new(x + a, y + b)).collect())
    }

    #[test]
    fn squares_are_as_far_apart_as_they_are() {
        let one = square(0.0, 0.0, 10.0);
        assert!(one.is_clear_of(&square(15.0, 0.0, 10.0), 5.0));
        assert!(!one.is_clear_of(&square(15.0, 0.0, 10.0), 5.001));
        // Corner to corner: 3, 4 and 5.
        assert!(one.is_clear_of(&square(13.0, 14.0, 10.0), 4.999));
        assert!(!one.is_clear_of(&square(13.0, 14.0, 10.0), 5.001));
    }

    #[test]
    fn one_inside_another_or_across_it_is_not_clear() {
        let one = square(0.0, 0.0, 10.0);
        assert!(!one.is_clear_of(&square(4.0, 4.0, 2.0), 0.0));
        assert!(!square(4.0, 4.0, 2.0).is_clear_of(&one, 0.0));
        assert!(!one.is_clear_of(&square(5.0, 5.0, 10.0), 0.0));
    }
}
