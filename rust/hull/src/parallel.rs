//! Sections of the surface parallel to the hull: the shape of a mould.
//!
//! The parallel surface is P - t n. Its pieces overrun each other inside a chine that stands proud and part
//! inside one that is hollow, and where t is more than the radius of a bilge it doubles back on itself; all
//! three are made good here as a loftsman would, at the crossing of the lines.

use crate::contour::Strand;
use crate::curve::{Cubic, Curve, Plane, Sample, between};
use scrieve_surface::vector::{along, dot, same_place, sub, unit};

/// Ends of neighbouring pieces nearer than this are one point, m.
const JOINT: f64 = 1e-7;

/// A strand that runs backward up to its end, so that no crossing makes it good; about where.
pub(crate) struct Doubled {
    pub height_m: f64,
}

/// The section of a surface parallel to the hull.
#[derive(Clone, Debug, PartialEq)]
pub struct ParallelSection {
    /// From the lower end to the sheer.
    pub curve: Curve,
    /// The chines on it, from the keel up.
    pub chines: Vec<ChineOn>,
    /// Heights of corners where a loop was left out because the hull turns tighter than the distance, m.
    pub loops: Vec<f64>,
}

/// Where a chine passes a section.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChineOn {
    /// Which, counted from 1 at the keel.
    pub number: usize,
    /// Where, m.
    pub p: [f64; 3],
}

/// Joins strands, one a patch from the keel up, each running upward, into the line a mould is cut to.
pub(crate) fn join(strands: Vec<Strand>, plane: Plane) -> Result<ParallelSection, Doubled> {
    let mut pieces: Vec<Vec<Sample>> = Vec::new();
    let (mut loops, mut chines) = (Vec::new(), Vec::new());
    for strand in strands {
        let mut next = vec![strand.samples];
        if strand.turned {
            let doubled = Doubled { height_m: next[0][next[0].len() / 2].p[2] };
            let (whole, height) = without_loop(&next[0], &plane).ok_or(doubled)?;
            loops.push(height);
            next = whole;
        }
        let below = pieces.pop();
        if let Some(below) = below {
            let above = next.remove(0);
            let joined = mitred(below, above, &plane);
            chines.push(ChineOn { number: strand.patch, p: joined[joined.len() / 2][0].p });
            pieces.extend(joined);
        }
        pieces.extend(next);
    }
    let mut curve = Curve { plane, pieces: Vec::new() };
    pieces.into_iter().filter(|piece| piece.len() > 1).for_each(|piece| curve.push_piece(piece));
    Ok(ParallelSection { curve, chines, loops })
}

/// Two runs of one line in `plane`, where the second goes on from the first past a chine: each cut, or carried
/// on straight, to where they meet.
pub fn mitre(below: Vec<Sample>, above: Vec<Sample>, plane: &Plane) -> Vec<Vec<Sample>> {
    if below.is_empty() || above.is_empty() { vec![below, above] } else { mitred(below, above, plane) }
}

/// The two pieces at a chine, cut or carried on to where they meet.
fn mitred(mut below: Vec<Sample>, mut above: Vec<Sample>, plane: &Plane) -> Vec<Vec<Sample>> {
    let (end, start) = (below[below.len() - 1], above[0]);
    if same_place(end.p, start.p, JOINT) {
        above[0].p = end.p;
        return vec![below, above];
    }
    let last = crossings(&below, &above, plane).into_iter().max_by_key(|c| c.i as isize - c.j as isize);
    if let Some(c) = last {
        let (tail, mut head) = (c.on(&below, c.i, c.t), c.on(&above, c.j, c.s));
        head.p = tail.p;
        below.truncate(c.i + 1);
        below.push(tail);
        above.drain(..=c.j);
        above.insert(0, head);
        return vec![below, above];
    }
    // A gap: both go on straight to where they meet, or across it where they never do.
    let gap = plane.drawn(start.p) - plane.drawn(end.p);
    let (a, b) = (drawn_direction(&end, plane), drawn_direction(&start, plane));
    let sine = a.0 * b.1 - a.1 * b.0;
    let reach = (gap.x * b.1 - gap.y * b.0) / sine;
    let back = (gap.x * a.1 - gap.y * a.0) / sine;
    if sine.abs() > 1e-6 && reach > 0.0 && back < 0.0 && reach.max(-back) < 4.0 * gap.hypot() {
        let corner = along(end.p, end.tangent, reach);
        let flat = |sample: Sample, p| Sample { p, curvature: 0.0, ..sample };
        return vec![
            below,
            vec![flat(end, end.p), flat(end, corner)],
            vec![flat(start, corner), flat(start, start.p)],
            above,
        ];
    }
    let across = sub(start.p, end.p);
    let tangent = unit(across);
    let bridge = |s: Sample| Sample { tangent, curvature: 0.0, ..s };
    vec![below, vec![bridge(end), bridge(start)], above]
}

fn drawn_direction(sample: &Sample, plane: &Plane) -> (f64, f64) {
    (dot(sample.tangent, plane.right), dot(sample.tangent, plane.up))
}

/// The strand cut at the crossing of its outermost loop, and the height of it.
fn without_loop(samples: &[Sample], plane: &Plane) -> Option<(Vec<Vec<Sample>>, f64)> {
    let c =
        crossings(samples, samples, plane).into_iter().filter(|c| c.i + 1 < c.j).max_by_key(|c| c.j - c.i)?;
    let (tail, mut head) = (c.on(samples, c.i, c.t), c.on(samples, c.j, c.s));
    head.p = tail.p;
    let before = samples[..=c.i].iter().copied().chain([tail]).collect();
    let after = [head].into_iter().chain(samples[c.j + 1..].iter().copied()).collect();
    Some((vec![before, after], tail.p[2]))
}

/// A crossing at parameter t of segment i of one line and s of segment j of the other.
struct Crossing {
    i: usize,
    t: f64,
    j: usize,
    s: f64,
}

impl Crossing {
    fn on(&self, line: &[Sample], k: usize, t: f64) -> Sample {
        between(&line[k], &line[k + 1], t)
    }
}

fn crossings(one: &[Sample], other: &[Sample], plane: &Plane) -> Vec<Crossing> {
    let cubics =
        |line: &[Sample]| -> Vec<Cubic> { line.windows(2).map(|w| Cubic::between(&w[0], &w[1])).collect() };
    let boxed = |cubic: &Cubic| {
        let drawn = cubic.0.map(|p| plane.drawn(p));
        drawn.iter().fold(kurbo::Rect::from_points(drawn[0], drawn[0]), |b, p| b.union_pt(*p))
    };
    let (ones, others) = (cubics(one), cubics(other));
    let other_boxes: Vec<_> = others.iter().map(boxed).collect();
    let mut found = Vec::new();
    for (i, a) in ones.iter().enumerate() {
        let a_box = boxed(a);
        for (j, b) in others.iter().enumerate() {
            let b_box = &other_boxes[j];
            let apart =
                a_box.x0 > b_box.x1 || b_box.x0 > a_box.x1 || a_box.y0 > b_box.y1 || b_box.y0 > a_box.y1;
            if !apart && let Some((t, s)) = meet(a, b, plane) {
                found.push(Crossing { i, t, j, s });
            }
        }
    }
    found
}

/// Newton's method from the crossing of the chords.
fn meet(a: &Cubic, b: &Cubic, plane: &Plane) -> Option<(f64, f64)> {
    let (mut t, mut s) = (0.5, 0.5);
    let flat = |w: [f64; 3]| (dot(w, plane.right), dot(w, plane.up));
    for _ in 0..12 {
        let gap = plane.drawn(b.point(s)) - plane.drawn(a.point(t));
        let (da, db) = (flat(a.slope(t)), flat(b.slope(s)));
        let det = da.1 * db.0 - da.0 * db.1;
        if det == 0.0 {
            return None;
        }
        let (step_t, step_s) = ((gap.y * db.0 - gap.x * db.1) / det, (da.0 * gap.y - da.1 * gap.x) / det);
        t = (t + step_t).clamp(-0.5, 1.5);
        s = (s + step_s).clamp(-0.5, 1.5);
        if step_t.abs() + step_s.abs() < 1e-13 {
            break;
        }
    }
    let gap = plane.drawn(b.point(s)) - plane.drawn(a.point(t));
    let within = |t: f64| (-1e-9..=1.0 + 1e-9).contains(&t);
    (within(t) && within(s) && gap.hypot() < JOINT).then_some((t.clamp(0.0, 1.0), s.clamp(0.0, 1.0)))
}

#[cfg(test)]
mod tests {
    use std::f64::consts::FRAC_PI_2;

    use crate::forms;
    use scrieve_surface::vector::{along, distance};

    #[test]
    fn inside_a_cylinder_the_mould_is_a_smaller_circle() {
        let mould = forms::cylinder().parallel_section(1.0, 0.02).expect("a mould");
        for p in mould.points(200) {
            assert!((p[1].hypot(1.0 - p[2]) - 0.98).abs() < 1e-6);
        }
        assert!((mould.length() - 0.98 * FRAC_PI_2).abs() < 1e-6);
        assert!(mould.samples().all(|s| (s.curvature - 1.0 / 0.98).abs() < 1e-5));
    }

    #[test]
    fn inside_a_cone_the_mould_is_less_by_the_planking_over_the_cosine_of_the_bevel() {
        let (hull, t) = (forms::cone(), 0.025);
        let bevel = hull.bevel(3.0, -0.2).expect("a bevel");
        let mould = hull.parallel_section(3.0, t).expect("a mould");
        for p in mould.points(200) {
            assert!((p[1].hypot(p[2]) - (0.75 - t / bevel.cos())).abs() < 1e-6 && (p[0] - 3.0).abs() < 1e-9);
        }
    }

    #[test]
    fn inside_and_outside_a_sphere_the_mould_belongs_to_a_sphere() {
        for t in [0.05, -0.05] {
            let mould = forms::sphere().parallel_section(1.1, t).expect("a mould");
            let radius = ((2.0 - t) * (2.0 - t) - 1.21_f64).sqrt();
            for p in mould.points(200) {
                assert!((p[1].hypot(p[2]) - radius).abs() < 1e-6);
            }
            assert!(mould.samples().all(|s| (s.curvature - 1.0 / radius).abs() < 1e-4));
        }
    }

    #[test]
    fn a_curved_hull_has_its_planking_taken_off_near_enough_by_t_over_cos_of_the_bevel() {
        let (hull, t) = (forms::raked(), 0.01);
        let mould = hull.parallel_section(2.0, t).expect("a mould");
        for p in mould.points(40).into_iter().skip(5).take(30) {
            let section = hull.section(2.0).expect("a section");
            let near = section.nearest(p).expect("a nearest point").sample;
            let bevel = near.normal[0].atan2(near.normal[1].hypot(near.normal[2]));
            assert!((distance(near.p, p) - t / bevel.cos()).abs() < 2e-2 * t);
        }
    }

    #[test]
    fn at_a_chine_the_mould_comes_to_the_corner_both_planks_leave() {
        // Level bottom 1 m wide and a plumb side: the corner inside is t in from both; outside, t out.
        use scrieve_surface::{Patch, Surface};
        let bottom = Patch::interpolating(&forms::even(2), &forms::even(2), |u, v| [3.0 * u, v, 0.0]);
        let side = Patch::interpolating(&forms::even(2), &forms::even(2), |u, v| [3.0 * u, 1.0, 0.6 * v]);
        let hull = crate::Hull::from_surface(Surface { patches: vec![bottom, side] });
        for t in [0.02, -0.02] {
            let mould = hull.parallel_section(1.5, t).expect("a mould");
            assert!((mould.length() - (1.6 - 2.0 * t)).abs() < 1e-9, "{}", mould.length());
            let corner = [1.5, 1.0 - t, t];
            let chines = hull.parallel_section_marked(1.5, t).expect("a mould").chines;
            assert!(chines.len() == 1 && chines[0].number == 1 && distance(chines[0].p, corner) < 1e-9);
            assert!(distance(mould.nearest(corner).expect("a corner").sample.p, corner) < 1e-9);
            assert!(mould.pieces.windows(2).all(|w| w[0].last().map(|s| s.p) == w[1].first().map(|s| s.p)));
        }
    }

    #[test]
    fn where_the_bilge_is_tighter_than_the_planking_the_loop_is_left_out_and_told_of() {
        // A hyperbola y z = -k about the corner (1, 0): tightest radius √(2k), at 45°.
        let k = 2e-4_f64;
        let hull = forms::one_patch(3, 60, |u, v| {
            let s = (4.0 * (v - 0.5)).sinh() / 2.0_f64.sinh() * 0.5;
            let far = (s * s + 2.0 * k).sqrt();
            let (y, z) = ((s - far) * 0.5_f64.sqrt(), (s + far) * 0.5_f64.sqrt());
            [2.0 * u, 1.0 + y, z]
        });
        assert!(hull.parallel_section_marked(1.0, 0.015).expect("a mould").loops.is_empty());
        let made = hull.parallel_section_marked(1.0, 0.05).expect("a mould");
        assert_eq!((made.curve.pieces.len(), made.loops.len(), made.chines.len()), (2, 1, 0));
        let mould = made.curve;
        let corner = mould.pieces[1][0].p;
        // By symmetry the corner lies on the 45° line through (1, 0).
        assert!((1.0 - corner[1] - corner[2]).abs() < 1e-6, "{corner:?}");
        let section = hull.section(1.0).expect("a section");
        for p in mould.points(100).into_iter().skip(1).take(98) {
            assert!(distance(section.nearest(p).expect("near").sample.p, p) > 0.05 - 1e-5);
        }
    }

    #[test]
    fn every_point_of_a_mould_stands_the_planking_off_the_hull_along_its_normal() {
        use scrieve_yardstick::known::{Family, Known};
        let t = 0.0127;
        for (family, seed) in [(Family::RoundBilge, 1), (Family::RakedTransom, 2), (Family::FlaredBow, 4)] {
            let known = Known::new(family, seed);
            let hull = forms::known(&known);
            for i in 1..20 {
                let x = known.length() * f64::from(i) / 20.0;
                let mould = hull.parallel_section(x, t).expect("a mould");
                assert_eq!(mould.pieces.len(), 1);
                for sample in mould.samples().skip(1).take(mould.pieces[0].len() - 2) {
                    let foot = along(sample.p, sample.normal, t);
                    let y = hull.half_breadth(foot[0], foot[2]).expect("the foot on the hull");
                    assert!(
                        (sample.p[0] - x).abs() < 1e-9 && (y - foot[1]).abs() < 1e-8,
                        "{family:?} {x} {sample:?}"
                    );
                }
            }
        }
    }
}
