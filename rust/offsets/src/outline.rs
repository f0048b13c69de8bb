//! A flat area by its corners: whether they go round it.

/// Why corners enclose no area.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Flaw {
    /// They lie on one line, or there are fewer than three.
    Empty,
    /// The side from this corner to the next crosses the one from that corner to the next, counted from 1.
    Crossed(usize, usize),
}

impl std::fmt::Display for Flaw {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Flaw::Empty => write!(f, "its corners enclose no area"),
            Flaw::Crossed(a, b) => write!(f, "its side from corner {a} crosses that from corner {b}"),
        }
    }
}

/// What is wrong with corners (x, z) taken in order round an area, if anything. Sides that only touch pass.
pub fn flaw(corners: &[[f64; 2]]) -> Option<Flaw> {
    let side = |i: usize| (corners[i], corners[(i + 1) % corners.len()]);
    for i in 0..corners.len() {
        for j in i + 2..corners.len() {
            let ((a, b), (c, d)) = (side(i), side(j));
            if turn(a, b, c) * turn(a, b, d) < 0.0 && turn(c, d, a) * turn(c, d, b) < 0.0 {
                return Some(Flaw::Crossed(i + 1, j + 1));
            }
        }
    }
    let twice: f64 =
        (1..corners.len().max(1) - 1).map(|i| turn(corners[0], corners[i], corners[i + 1])).sum();
    (twice == 0.0).then_some(Flaw::Empty)
}

/// Twice the area of a triangle, positive anticlockwise.
fn turn(a: [f64; 2], b: [f64; 2], c: [f64; 2]) -> f64 {
    (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lug_has_no_flaw_either_way_round() {
        let lug = [[0.0, 1.0], [3.0, 1.2], [4.0, 4.0], [0.5, 3.0]];
        assert_eq!(flaw(&lug), None);
        let mut back = lug;
        back.reverse();
        assert_eq!(flaw(&back), None);
    }

    #[test]
    fn corners_out_of_order_cross_their_sides() {
        assert_eq!(flaw(&[[0.0, 0.0], [1.0, 1.0], [1.0, 0.0], [0.0, 1.0]]), Some(Flaw::Crossed(1, 3)));
        let five = [[0.0, 0.0], [2.0, 0.0], [0.5, 2.0], [2.0, 2.0], [0.0, 1.0]];
        assert_eq!(flaw(&five), Some(Flaw::Crossed(2, 4)));
    }

    #[test]
    fn corners_on_one_line_enclose_nothing() {
        for corners in
            [&[][..], &[[1.0, 1.0]], &[[0.0, 0.0], [1.0, 1.0]], &[[0.0, 0.0], [1.0, 1.0], [3.0, 3.0]]]
        {
            assert_eq!(flaw(corners), Some(Flaw::Empty));
        }
    }
}
