//! The line the planking ends on below, as one curve: down the stem, along the keel, up the sternpost.
//!
//! It is made of the surface's own edges: u = 0 from the sheer down where she has a stem, v = 0 of the lowest
//! patch, and u = 1 from the heel up where she has a post: to the sheer, or to the foot of a transom. Edges that
//! run into one another, as stem and keel do round a forefoot, are one piece; where they meet at an angle the
//! curve has a corner.

use crate::boat::Boat;
use crate::curve::{Curve, Plane, Sample};
use scrieve_surface::vector::{along, distance, norm, sub, unit};

/// An end whose planking is no farther than this outside the half-siding ends on a stem, m: half of 1/8 in.
const ON_THE_STEM_M: f64 = 0.0016;
/// No stem is sided more than this share of the beam (common practice).
const WIDEST: f64 = 0.25;
/// Edges that turn by less where they meet, radians (5 degrees), are one fair line: a batten is not broken there.
const CORNER: f64 = 0.087;
/// A corner of the after edge nearer to a transom's foot than this is that foot as faired, m.
const AT_THE_FOOT_M: f64 = 0.01;
/// Spots of an edge nearer than this are one, m: an edge drawn together to a point is none.
const SAME_SPOT_M: f64 = 1e-7;

/// The backbone's line of a hull.
#[derive(Clone, Debug, PartialEq)]
pub struct BackboneLine {
    /// From the head of the stem, or the forward end of the keel, aft; drawn in profile. Its pieces meet at
    /// corners.
    pub curve: Curve,
    /// Greatest half-breadth of the forward end, m: more than the half-siding where there is no stem.
    pub forward_breadth: f64,
    /// The same of the after end.
    pub after_breadth: f64,
    /// Whether the line begins with a stem.
    pub has_stem: bool,
    /// Whether it ends in a sternpost: a double-ender's, or one below a transom.
    pub has_post: bool,
}

impl BackboneLine {
    /// The direction into the boat at a spot of the line, square to it in profile: aft of a stem, up from a
    /// keel, forward of a post.
    pub fn inward(spot: &Sample) -> [f64; 3] {
        let [tx, _, tz] = spot.tangent;
        unit([-tz, 0.0, tx])
    }

    /// The part of the line that each piece of it, parted at corners, takes: lengths from its forward end, m.
    pub fn runs(&self) -> Vec<(f64, f64)> {
        let mut from = 0.0;
        let one = |piece: &Vec<Sample>| {
            let length = Curve { plane: self.curve.plane, pieces: vec![piece.clone()] }.length();
            let run = (from, from + length);
            from = run.1;
            run
        };
        self.curve.pieces.iter().map(one).collect()
    }
}

impl Boat {
    /// The backbone's line, for a backbone of this half-siding, m; the record's, or the surface's own, where
    /// nothing is given.
    pub fn backbone_line(&self, half_siding: Option<f64>) -> BackboneLine {
        let ends = self.ends(Plane::at_y(0.0));
        let keel = self.reference_lines().swap_remove(0);
        self.backbone_line_of(&ends, keel, half_siding)
    }

    /// The same of the ends and the keel as they are drawn in profile.
    pub(crate) fn backbone_line_of(
        &self,
        [fore, aft]: &[Curve; 2],
        keel: Curve,
        half_siding: Option<f64>,
    ) -> BackboneLine {
        let profile = Plane::at_y(0.0);
        let widest = |curve: &Curve| curve.samples().map(|s| s.p[1]).fold(0.0, f64::max);
        let narrowest = |curve: &Curve| curve.samples().map(|s| s.p[1]).fold(f64::INFINITY, f64::min);
        let survey = self.survey();
        // A half-siding that is the breadth of a flat bottom is no stem's.
        let most = WIDEST * self.extent([0.0, 1.0, 0.0]).1;
        let narrow = |curve: &Curve| {
            let siding = half_siding.unwrap_or(survey.half_siding).min(most).max(narrowest(curve));
            widest(curve) <= siding + ON_THE_STEM_M
        };
        let has_stem = !survey.stem.is_empty() || narrow(fore);
        let post = match survey.transom {
            Some(transom) if !survey.stern.is_empty() => {
                let y = aft.start().map_or(0.0, |s| s.p[1]);
                let foot = aft.nearest([transom.foot.0, y, transom.foot.1]);
                foot.map(|mark| aft.trimmed(0.0, corner_near(aft, mark.along)))
            }
            Some(_) => None,
            None => (!survey.stern.is_empty() || narrow(aft)).then(|| aft.clone()),
        };
        let post = post.filter(is_long);
        let stem = has_stem.then(|| fore.reversed()).filter(is_long);
        let has_post = post.is_some();
        let mut curve = Curve { plane: profile, pieces: Vec::new() };
        for part in stem.into_iter().chain(Some(keel).filter(is_long)).chain(post) {
            part.pieces.into_iter().for_each(|piece| run_on(&mut curve, piece));
        }
        let (forward_breadth, after_breadth) = (widest(fore), widest(aft));
        BackboneLine { curve, forward_breadth, after_breadth, has_stem, has_post }
    }
}

/// The corner of an after edge near so far along it, if there is one.
fn corner_near(edge: &Curve, along: f64) -> f64 {
    let mut at = 0.0;
    let corners = edge.pieces.iter().map(|piece| {
        at += Curve { plane: edge.plane, pieces: vec![piece.clone()] }.length();
        at
    });
    corners
        .filter(|at| (at - along).abs() < AT_THE_FOOT_M)
        .min_by(|a, b| (a - along).abs().total_cmp(&(b - along).abs()))
        .unwrap_or(along)
}

fn is_long(curve: &Curve) -> bool {
    curve.length() > SAME_SPOT_M
}

/// Adds a piece: to the last where they are one fair line, the joint sharing the mean of both tangents.
fn run_on(curve: &mut Curve, mut next: Vec<Sample>) {
    next.dedup_by(|b, a| distance(a.p, b.p) < SAME_SPOT_M);
    // An edge of a patch that is drawn together to a point.
    if next.len() < 2 {
        return;
    }
    let (Some(last), first) = (curve.pieces.last_mut(), next[0]) else {
        curve.pieces.push(next);
        return;
    };
    match last.last_mut() {
        Some(end) if norm(sub(end.tangent, first.tangent)) < CORNER => {
            end.tangent = unit(along(end.tangent, first.tangent, 1.0));
            end.normal = unit(along(end.normal, first.normal, 1.0));
            end.curvature = 0.5 * (end.curvature + first.curvature);
            last.extend_from_slice(&next[1..]);
        }
        _ => curve.pieces.push(next),
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::FRAC_PI_4;

    use super::*;
    use crate::forms;

    /// A hull whose planking ends on a circle of radius 2 about (2, 2), which is stem, forefoot and keel, and
    /// stands at one angle to it: y = 0.05 + 0.4 d, d the distance in. The corner of the patch is half way down.
    fn round_forefoot() -> Boat {
        Boat::from(forms::one_patch(24, 24, |u, v| {
            // Both edges leave the corner along the circle.
            let (turn, inward) = (0.7 * (u - v), 1.2 * u * v);
            let a = FRAC_PI_4 + turn;
            let r = 2.0 - inward;
            [2.0 - r * a.cos(), 0.05 + 0.4 * inward, 2.0 - r * a.sin()]
        }))
    }

    #[test]
    fn where_stem_and_keel_run_into_one_another_the_line_is_one_piece_without_a_wave() {
        let hull = round_forefoot();
        let line = hull.backbone_line(Some(0.05));
        assert!(line.has_stem && line.curve.pieces.len() == 1, "{}", line.curve.pieces.len());
        for s in line.curve.samples() {
            let from = [2.0 - s.p[0], 2.0 - s.p[2]];
            assert!((from[0].hypot(from[1]) - 2.0).abs() < 1e-6, "{s:?}");
            assert!((s.curvature - 0.5).abs() < 1e-3, "{s:?}");
            let inward = BackboneLine::inward(s);
            assert!((inward[0] * from[0] + inward[2] * from[1] - 2.0).abs() < 1e-6);
            // The planking stands at one angle to the line all round it, through the corner of the patch too.
            let out = [0, 2].map(|k| s.normal[k] / -s.normal[1]);
            let steep = out[0] * inward[0] + out[1] * inward[2];
            assert!((steep - 0.4).abs() < 1e-4, "{steep} {s:?}");
        }
        let length = line.curve.length();
        let (first, last) = (line.curve.start().expect("a head"), line.curve.end().expect("an end"));
        assert!(first.p[2] > last.p[2] && first.p[0] < last.p[0]);
        assert!((length - 2.0 * 1.4).abs() < 1e-5, "{length}");
        assert_eq!(line.runs().len(), 1);
    }

    #[test]
    fn a_section_through_the_very_corner_of_a_round_forefoot_leaves_it_on_the_surface() {
        let hull = round_forefoot();
        let x = 2.0 - 2.0 * FRAC_PI_4.cos();
        let section = hull.section(x).expect("a section");
        let start = section.start().expect("a start");
        assert!((start.p[2] - x).abs() < 1e-6, "{start:?}");
        assert!((norm(start.tangent) - 1.0).abs() < 1e-9);
        // Along x = constant the distance in grows by the sine of 45 degrees, and y by 0.4 of it.
        assert!((start.tangent[1] / start.tangent[2] - 0.4 * FRAC_PI_4.sin()).abs() < 1e-4, "{start:?}");
        let mould = hull.parallel_section(x, 0.012).expect("a mould");
        for p in mould.points(60).into_iter().skip(1).take(40) {
            let near = section.nearest(p).expect("near");
            assert!(distance(near.sample.p, p) > 0.0119, "{p:?}");
        }
    }

    #[test]
    fn a_wedge_has_a_corner_at_the_forefoot_and_a_transom_no_post() {
        let hull = Boat::from(forms::one_patch(4, 4, |u, v| {
            [0.5 * (1.0 - v) + 3.0 * u, 0.03 + 0.5 * u * (0.2 + v), v]
        }));
        let line = hull.backbone_line(None);
        assert!(line.has_stem && !line.has_post);
        assert_eq!(line.curve.pieces.len(), 2);
        let corner = line.curve.pieces[1][0].p;
        assert!(distance(corner, [0.5, 0.03, 0.0]) < 1e-9);
        assert!((line.after_breadth - 0.63).abs() < 1e-9);
    }
}
