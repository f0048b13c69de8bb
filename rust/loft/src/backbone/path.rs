//! Fair curves through spots, and runs of spots that meet at a corner.

use kurbo::{BezPath, Point, Vec2};

/// Spots of a line nearer than this along the boat are one, m.
pub(crate) const SAME_SPOT_M: f64 = 1e-6;
/// Lines that turn by more at a spot, radians (20 degrees), have a corner there: the record's stem meets its
/// keel at one. Fair lines turn by less between spots.
const CORNER: f64 = 0.35;
/// Lines are carried on straight to a corner by no more than this, m, or the space between their ends.
const CARRIED_ON_M: f64 = 0.05;

/// Runs of spots one after another as one line, cut or carried on straight to where two of them meet.
pub(super) fn joined(runs: Vec<Vec<Point>>) -> Vec<Point> {
    let mut line: Vec<Point> = Vec::new();
    for run in runs.into_iter().filter(|run| !run.is_empty()) {
        if line.len() < 2 || run.len() < 2 {
            line.extend(run);
            continue;
        }
        match crossing(&line, &run) {
            Some((i, j, at)) => {
                line.truncate(i + 1);
                line.push(at);
                line.extend_from_slice(&run[j + 1..]);
            }
            None => {
                line.extend(corner(&line, &run));
                line.extend(run);
            }
        }
    }
    line
}

/// The spots of a run of a line that go onward, each with the direction of the backbone's own line there. Planes square to a
/// line that turns sharply meet not far inside it, and the spots beyond where they meet run back along a curve that others
/// have already passed.
pub(super) fn onward(spots: impl IntoIterator<Item = (Point, Vec2)>) -> Vec<Point> {
    let spots: Vec<(Point, Vec2)> = spots.into_iter().collect();
    let mut kept: Vec<Point> = Vec::new();
    for &(p, way) in &spots {
        if kept.last().is_none_or(|last| (p - *last).dot(way) > SAME_SPOT_M) {
            kept.push(p);
        }
    }
    // The last spot is the run's end: what lies beyond it is left out instead.
    if let Some(&(end, way)) = spots.last()
        && kept.last().is_some_and(|last| last.distance(end) > SAME_SPOT_M)
    {
        while kept.len() > 1 && kept.last().is_some_and(|last| (end - *last).dot(way) <= SAME_SPOT_M) {
            kept.pop();
        }
        kept.push(end);
    }
    kept
}

/// A run of spots so far to the left of another, square to it; spots that would run back there are left out.
pub(super) fn inside(run: &[Point], by: f64) -> Vec<Point> {
    let n = run.len();
    let chord = |i: usize| (run[i + 1] - run[i]).normalize();
    let way = |i: usize| match i {
        0 => chord(0),
        i if i == n - 1 => chord(n - 2),
        // The parabola through three neighbours: the nearer chord counts the more.
        i => {
            let (before, after) = (run[i].distance(run[i - 1]), run[i + 1].distance(run[i]));
            (chord(i - 1) * after + chord(i) * before).normalize()
        }
    };
    onward((0..n).map(|i| (run[i] + Vec2::new(-way(i).y, way(i).x) * by, way(i))))
}

/// The crossing of two runs nearest the end of the first: the spots of each it follows, and where.
fn crossing(one: &[Point], other: &[Point]) -> Option<(usize, usize, Point)> {
    let meet = |a: Point, b: Point, c: Point, d: Point| {
        let (along, across) = (b - a, d - c);
        let area = along.cross(across);
        let (t, s) = ((c - a).cross(across) / area, (c - a).cross(along) / area);
        ((0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&s)).then(|| a + along * t)
    };
    (0..one.len() - 1).rev().find_map(|i| {
        let first = |j: usize| meet(one[i], one[i + 1], other[j], other[j + 1]).map(|at| (i, j, at));
        (0..other.len() - 1).find_map(first)
    })
}

/// Where two runs carried on straight meet, beyond the end of one and before the start of the other.
fn corner(one: &[Point], other: &[Point]) -> Option<Point> {
    let (end, start) = (one[one.len() - 1], other[0]);
    let (on, back) = ((end - one[one.len() - 2]).normalize(), (start - other[1]).normalize());
    let gap = start - end;
    let area = on.cross(back);
    let (reach, other_reach) = (gap.cross(back) / area, gap.cross(on) / area);
    let farthest = CARRIED_ON_M.max(4.0 * gap.hypot());
    let sound = |reach: f64| reach > SAME_SPOT_M && reach < farthest;
    (gap.hypot() > SAME_SPOT_M && sound(reach) && sound(other_reach)).then(|| end + on * reach)
}

/// The first place at which a line passes `value` along `direction`, between its spots.
pub(super) fn passes(line: &[Point], direction: Vec2, value: f64) -> Option<(usize, Point)> {
    let off = |p: Point| direction.dot(p.to_vec2()) - value;
    line.windows(2).enumerate().find_map(|(i, w)| {
        let (a, b) = (off(w[0]), off(w[1]));
        ((a <= 0.0) != (b <= 0.0)).then(|| (i, w[0].lerp(w[1], a / (a - b))))
    })
}

/// Runs on to the start of `next` and along it.
pub(super) fn join(path: &mut BezPath, next: &BezPath) {
    let mut elements = next.elements().iter();
    if let Some(kurbo::PathEl::MoveTo(p)) = elements.next() {
        path.line_to(*p);
    }
    path.extend(elements.copied());
}

/// A fair curve through points, parted at corners: cubics whose slopes are those of the parabolas through three neighbours, by
/// the chord between them.
pub(crate) fn smooth(points: &[Point]) -> BezPath {
    let mut path = BezPath::new();
    let mut spots: Vec<Point> = Vec::new();
    for &p in points {
        if spots.last().is_none_or(|last| last.distance(p) > SAME_SPOT_M) {
            spots.push(p);
        }
    }
    let Some(&first) = spots.first() else { return path };
    path.move_to(first);
    let n = spots.len();
    if n < 3 {
        spots.iter().skip(1).for_each(|&p| path.line_to(p));
        return path;
    }
    // Slope at the middle, and at either end, of the parabola through three points.
    let slopes = |i: usize| -> [Vec2; 3] {
        let (h0, h1) = (spots[i].distance(spots[i - 1]), spots[i + 1].distance(spots[i]));
        let (d0, d1) = ((spots[i] - spots[i - 1]) / h0, (spots[i + 1] - spots[i]) / h1);
        let bend = (d1 - d0) / (h0 + h1);
        [d0 - bend * h0, d0 + bend * h0, d1 + bend * h1]
    };
    let corner = |i: usize| {
        i == 0 || i + 1 == n || {
            let (a, b) = (spots[i] - spots[i - 1], spots[i + 1] - spots[i]);
            a.cross(b).atan2(a.dot(b)).abs() > CORNER
        }
    };
    // On leaving a spot and on coming to it: one-sided at a corner, straight between two corners.
    let leaving = |i: usize| match (corner(i), corner(i + 1)) {
        (true, true) => (spots[i + 1] - spots[i]).normalize(),
        (true, false) => slopes(i + 1)[0],
        _ => slopes(i)[1],
    };
    let coming = |i: usize| match (corner(i), corner(i - 1)) {
        (true, true) => (spots[i] - spots[i - 1]).normalize(),
        (true, false) => slopes(i - 1)[2],
        _ => slopes(i)[1],
    };
    for i in 0..n - 1 {
        let third = spots[i].distance(spots[i + 1]) / 3.0;
        path.curve_to(spots[i] + leaving(i) * third, spots[i + 1] - coming(i + 1) * third, spots[i + 1]);
    }
    path
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::{ParamCurve, ParamCurveArclen};

    #[test]
    fn a_line_through_spots_of_a_circle_keeps_to_it() {
        let spots: Vec<Point> =
            (0..=12).map(|i| Point::new((f64::from(i) * 0.1).cos(), (f64::from(i) * 0.1).sin())).collect();
        let path = smooth(&spots);
        let off = path
            .segments()
            .flat_map(|s| (0..=10).map(move |i| s.eval(f64::from(i) / 10.0)))
            .map(|p| (p.to_vec2().hypot() - 1.0).abs())
            .fold(0.0, f64::max);
        // Spots 100 mm apart on a radius of 1 m; the ends, of one side alone, are the worst.
        assert!(off < 5e-5, "{off}");
    }

    #[test]
    fn spots_that_run_back_along_a_curve_are_left_out_and_its_ends_kept() {
        let aft = Vec2::new(1.0, 0.0);
        let of = |xs: &[f64]| xs.iter().map(|&x| (Point::new(x, x * x), aft)).collect::<Vec<_>>();
        let xs = |spots: Vec<Point>| spots.iter().map(|p| p.x).collect::<Vec<_>>();
        assert_eq!(xs(onward(of(&[0.0, 1.0, 2.0, 1.5, 1.8, 2.5, 3.0]))), [0.0, 1.0, 2.0, 2.5, 3.0]);
        assert_eq!(xs(onward(of(&[0.0, 1.0, 2.0, 3.0, 2.5]))), [0.0, 1.0, 2.0, 2.5]);
        assert!(onward([]).is_empty());
    }

    #[test]
    fn a_line_inside_an_arc_lies_at_one_distance_from_it() {
        let arc: Vec<Point> =
            (0..=20).map(|i| f64::from(i) * 0.05).map(|a| Point::new(2.0 * a.cos(), 2.0 * a.sin())).collect();
        let inner = inside(&arc, 0.1);
        assert_eq!(inner.len(), arc.len());
        // The ends go by one chord, half a step off.
        assert!(inner[1..20].iter().all(|p| (p.to_vec2().hypot() - 1.9).abs() < 1e-6), "{inner:?}");
    }

    #[test]
    fn a_line_keeps_its_corners_and_straights() {
        let spots = [(0.0, 0.0), (1.0, 0.0), (2.0, 0.0), (2.0, 1.0), (2.0, 2.0)].map(Point::from);
        let length: f64 = smooth(&spots).segments().map(|s| s.arclen(1e-9)).sum();
        assert!((length - 4.0).abs() < 1e-9, "{length}");
    }
}
