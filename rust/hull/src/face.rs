//! The hull carried to the other face of her planking: every point along its normal by the thickness.
//!
//! What is carried is the surface; where it ends is a matter of the trade. The inner face meets the side of keel, stem
//! and post along the bearding line as the outer meets it along the rabbet, at the same half-siding, so these edges
//! slide along the carried surface until their half-breadth is what it was: inward they are cut there, outward the
//! surface goes on as it bends. An end in a plane or on a transom's cylinder stays in it. At a chine the two faces
//! meet in a mitre. The sheer is carried square, as a mould's is. All is done in space, by nearest points, since
//! round a forefoot the patch's own lines run out along its edges and lead nowhere.
//!
//! What comes of it is measured against the surface it came from, and refused where it is not parallel.

mod check;
mod end;
mod slide;

use end::{Brink, End};
use scrieve_surface::{Patch, Surface, greville};

use crate::Planking;
use crate::boat::Boat;
use crate::hull::HullError;
use scrieve_surface::vector::{V3, add, along, distance, dot, mix, norm, sub, unit};

/// The carried surface is off by no more than this, m: half of what a pencil line is thick.
pub const CARRIED_M: f64 = 1e-4;

/// ... or than this part of a long boat's length: her readings are coarser and her planks thicker.
pub const CARRIED_PART: f64 = 2e-5;

/// An edge of the carried surface lies no farther off where it should end, m.
const ENDS_M: f64 = 3e-4;

/// How often the spans of the patches are halved before a surface that is off by more is refused.
const HALVINGS: usize = 2;

/// The surface goes on outward by so many thicknesses at most; a plank nearer than 7 degrees to the side of the
/// keel would take more, and what it does that far beyond the readings nobody knows.
const ONWARD: f64 = 8.0;

/// It is cut inward by so many at most: the bearding line of a hollow garboard runs far up the deadwood.
const CUT: f64 = 60.0;

/// No stem or keel is sided more than this share of the beam (common practice); a lower edge farther out is that
/// of a flat bottom.
const WIDEST: f64 = 0.25;

/// An end whose edge is off a plane by no more than this is one, m.
const PLANE_M: f64 = 2e-3;

/// An end of a strake shorter than this many thicknesses is a point.
const POLE: f64 = 0.5;

/// Chines whose faces are nearer than this to back to back have no mitre: 1 + cosine of the angle between normals.
const KNIFE: f64 = 0.3;

/// Cosine of the turn between two faces past which the carried surface has folded over.
const FOLDED: f64 = 0.3;

struct Carrier<'h> {
    patches: &'h [Patch],
    /// Along the outward normal, m.
    by: f64,
    ends: [End; 2],
    /// The lower edge is a flat bottom's, not a keel's.
    flat_bottom: bool,
}

type Made<T> = Result<T, HullError>;

fn refused(what: impl Into<String>) -> HullError {
    HullError::Argument(what.into())
}

fn at(p: V3) -> String {
    format!("x = {:.2} m, {:.2} m up", p[0], p[2])
}

impl Boat {
    /// The hull with her surface the inside, or the outside, of the planking; `thickness`, m, is the table's where
    /// none is given. As she is where that is the face she was given to.
    ///
    /// # Errors
    /// Without a thickness, and where no surface parallel to hers within [`CARRIED_M`], or [`CARRIED_PART`] of a long
    /// boat, ends where it should.
    pub fn on_face(&self, inside: bool, thickness: Option<f64>) -> Result<Boat, HullError> {
        if inside == self.is_inside() {
            return Ok(self.clone());
        }
        let Some(Planking { thickness, .. }) = Planking::of(self, thickness) else {
            return Err(refused(
                "the table gives no planking thickness: write planking = \"...\" in its head, or state a thickness",
            ));
        };
        if !(thickness.is_finite() && thickness > 0.0) {
            return Err(refused(format!("a planking {thickness} m thick is none")));
        }
        let surface = self.carried(if inside { -thickness } else { thickness })?;
        Ok(self.with_carried(surface, thickness))
    }

    /// The surface `by` metres along its outward normal, its edges where planking of that thickness ends.
    fn carried(&self, by: f64) -> Made<Surface> {
        let carrier = Carrier::new(self, by)?;
        let mut said = None;
        for halvings in 0..=HALVINGS {
            match carrier.surface(1 << halvings).and_then(|s| carrier.check(&s).map(|()| s)) {
                Ok(surface) => return Ok(surface),
                Err(error) => said = Some(error),
            }
        }
        Err(said.unwrap_or_else(|| refused("no surface")))
    }
}

impl<'h> Carrier<'h> {
    fn new(hull: &'h Boat, by: f64) -> Made<Self> {
        let patches = &hull.surface().patches;
        let survey = hull.survey();
        let line = hull.backbone_line(None);
        let widest = WIDEST * hull.extent([0.0, 1.0, 0.0]).1;
        let end = |u: f64, backbone: bool, name: &str| -> Made<End> {
            if u == 1.0
                && let Some(plane) = survey.transom
            {
                return Ok(End::Transom(plane));
            }
            let breadth = if u == 0.0 { line.forward_breadth } else { line.after_breadth };
            if backbone && breadth <= widest {
                return Ok(End::Backbone);
            }
            let edge: Vec<V3> =
                patches.iter().flat_map(|p| (0..=32).map(|j| p.point(u, f64::from(j) / 32.0))).collect();
            let (a, b) = fitted(&edge);
            let off = edge.iter().map(|p| (p[0] - a - b * p[2]).abs()).fold(0.0, f64::max);
            if off > PLANE_M {
                return Err(refused(format!(
                    "her {name} end lies neither on the backbone nor in a plane ({:.0} mm off one)",
                    1e3 * off
                )));
            }
            Ok(End::Plane(a, b))
        };
        let ends = [end(0.0, line.has_stem, "forward")?, end(1.0, line.has_post, "after")?];
        let lowest = |u: f64| patches[0].point(u, 0.0)[1];
        let flat_bottom = (0..=32).map(|i| lowest(f64::from(i) / 32.0)).fold(0.0, f64::max) > widest;
        Ok(Carrier { patches, by, ends, flat_bottom })
    }

    /// The carried surface, the spans of the old one each parted in `parts`.
    fn surface(&self, parts: usize) -> Made<Surface> {
        let mut all: Vec<f64> = self.patches.iter().flat_map(|p| p.breaks().0).collect();
        all.sort_by(f64::total_cmp);
        all.dedup_by(|b, a| *b - *a < 1e-9);
        let us = parted(&all, parts, 12);
        let gu = greville(5, &us);
        let count = self.patches.len();
        // Lines first: two patches share each.
        let mut lines: Vec<Option<Vec<V3>>> = vec![None; count + 1];
        for (edge, line) in lines.iter_mut().enumerate().filter(|(edge, _)| self.is_line(*edge)) {
            let [fore, aft] = self.line_slides(edge)?;
            let points: Made<Vec<V3>> =
                gu.iter().map(|&u| self.line(edge, u + fore * (1.0 - u) + aft * u)).collect();
            *line = Some(points?);
        }
        let mut patches = Vec::with_capacity(count);
        for k in 0..count {
            let vs = parted(&self.patches[k].breaks().1, parts, 6);
            let gv = greville(5, &vs);
            let points = self.points(k, &gu, &gv, lines[k].as_deref(), lines[k + 1].as_deref())?;
            patches.push(Patch::through(&us, &vs, &points));
        }
        Ok(Surface { patches })
    }

    /// Whether an end of a strake is drawn together to a point, as that of a flat bottom at the stem.
    fn is_pole(&self, k: usize, slot: usize) -> bool {
        let u = slot as f64;
        let ends = [0.0, 0.5, 1.0].map(|v| self.patches[k].point(u, v));
        distance(ends[0], ends[1]) + distance(ends[1], ends[2]) < POLE * self.by.abs()
    }

    /// Where a corner of the keel with an end goes.
    fn keel_corner(&self, slot: usize) -> Made<V3> {
        let u = slot as f64;
        let (keel, end) = (self.brink(0, u, 0.0, true), self.brink(0, u, 0.0, false));
        let from = along(keel.p, keel.n, self.by);
        let half = keel.p[1];
        if self.ends[slot] == End::Backbone {
            let way = unit(add(keel.out, end.out));
            return self.slid(0, from, way, keel.uv, |p| p[1] - half);
        }
        // Both on the side of the keel and in the end's plane: Newton's method in the surface.
        let (mut a, mut b) = (0.0, 0.0);
        let mut near = keel.uv;
        let mut place = |a: f64, b: f64| {
            let p = self.onto(0, along(along(from, keel.tangent, a), keel.out, b), &mut near);
            (p, [p[1] - half, self.ends[slot].inside(p, u, half)])
        };
        const H: f64 = 1e-5;
        for _ in 0..30 {
            let (p, f) = place(a, b);
            if f[0].abs().max(f[1].abs()) < 1e-10 {
                return Ok(p);
            }
            let (fa, fb) = (place(a + H, b).1, place(a, b + H).1);
            let (j00, j01) = ((fa[0] - f[0]) / H, (fb[0] - f[0]) / H);
            let (j10, j11) = ((fa[1] - f[1]) / H, (fb[1] - f[1]) / H);
            let det = j00 * j11 - j01 * j10;
            if det.abs() < 1e-6 {
                break;
            }
            let limit = 4.0 * self.by.abs();
            let step = |s: f64| if s.is_finite() { s.clamp(-limit, limit) } else { 0.0 };
            a += step((j01 * f[1] - j11 * f[0]) / det);
            b += step((j10 * f[0] - j00 * f[1]) / det);
            if a.abs().max(b.abs()) > CUT * self.by.abs() {
                break;
            }
        }
        Err(refused(format!("at {} the carried face does not meet keel and end in a corner", at(keel.p))))
    }

    /// The spots of an edge that ends on `end`, given where its two corners go.
    fn edge(
        &self,
        k: usize,
        brinks: &[Brink],
        end: (End, f64),
        corners: [V3; 2],
        slants: [f64; 2],
    ) -> Made<Vec<V3>> {
        let (end, u) = end;
        let last = brinks.len() - 1;
        let mu = [0, 1].map(|side| {
            if slants[side].is_nan() {
                let b = &brinks[side * last];
                dot(sub(corners[side], along(b.p, b.n, self.by)), b.tangent)
            } else {
                0.0
            }
        });
        let slants = slants.map(|s| if s.is_nan() { 0.0 } else { s });
        let parameter = |b: &Brink| if brinks[0].uv[0] == brinks[last].uv[0] { b.uv[1] } else { b.uv[0] };
        let spot = |(i, b): (usize, &Brink)| -> Made<V3> {
            if i == 0 || i == last {
                return Ok(corners[usize::from(i > 0)]);
            }
            let s = parameter(b);
            let blend = |of: [f64; 2]| of[0] * (1.0 - s) + of[1] * s;
            let from = along(along(b.p, b.n, self.by), b.tangent, blend(mu));
            let way = unit(along(b.out, b.tangent, blend(slants)));
            self.slid(k, from, way, b.uv, |p| end.inside(p, u, b.p[1]))
        };
        brinks.iter().enumerate().map(spot).collect()
    }

    /// Points of a carried patch over the Greville points, v fastest.
    fn points(
        &self,
        k: usize,
        gu: &[f64],
        gv: &[f64],
        low: Option<&[V3]>,
        high: Option<&[V3]>,
    ) -> Made<Vec<V3>> {
        let (nu, nv) = (gu.len(), gv.len());
        let Some(high) = high else { return Err(refused("a strake without an upper edge")) };
        let corner = |slot: usize| match low {
            Some(line) => Ok(line[slot * (nu - 1)]),
            None if self.is_pole(k, slot) => Ok(high[slot * (nu - 1)]),
            None => self.keel_corner(slot),
        };
        let corners_low = [corner(0)?, corner(1)?];
        // Along the slant a line slides by, at its end, a backbone's edge slides too; an end's plane takes the slide itself.
        let slant = |edge: usize, slot: usize, brink: &Brink| -> Made<f64> {
            if self.ends[slot] != End::Backbone {
                return Ok(f64::NAN);
            }
            let u = slot as f64;
            let way = sub(self.line(edge, u)?, self.line(edge, (u - 0.004).abs())?);
            Ok(dot(way, brink.tangent) / dot(way, brink.out).max(0.1 * norm(way)))
        };
        let mut sides: Vec<Vec<V3>> = Vec::new();
        for slot in 0..2 {
            let u = slot as f64;
            if self.is_pole(k, slot) {
                sides.push(vec![high[slot * (nu - 1)]; nv]);
                continue;
            }
            let brinks: Vec<Brink> = gv.iter().map(|&v| self.brink(k, u, v, false)).collect();
            let lower = match low {
                Some(_) => slant(k, slot, &brinks[0])?,
                None => self.keel_slants(slot)[1],
            };
            let slants = [lower, slant(k + 1, slot, &brinks[nv - 1])?];
            let corners = [corners_low[slot], high[slot * (nu - 1)]];
            sides.push(self.edge(k, &brinks, (self.ends[slot], u), corners, slants)?);
        }
        let keel;
        let low = match low {
            Some(line) => line,
            None => {
                let brinks: Vec<Brink> = gu.iter().map(|&u| self.brink(k, u, 0.0, true)).collect();
                let slants = [0, 1].map(|slot| self.keel_slants(slot)[0]);
                keel = self.edge(k, &brinks, (End::Backbone, 0.0), corners_low, slants)?;
                &keel
            }
        };
        // Inside, what the edges moved by is blended (Coons), and the point brought onto the surface.
        let moved = |to: V3, u: f64, v: f64| sub(to, self.offset(k, u, v));
        let lows: Vec<V3> = gu.iter().zip(low).map(|(&u, &p)| moved(p, u, 0.0)).collect();
        let highs: Vec<V3> = gu.iter().zip(high).map(|(&u, &p)| moved(p, u, 1.0)).collect();
        let fores: Vec<V3> = gv.iter().zip(&sides[0]).map(|(&v, &p)| moved(p, 0.0, v)).collect();
        let afts: Vec<V3> = gv.iter().zip(&sides[1]).map(|(&v, &p)| moved(p, 1.0, v)).collect();
        let mut points = Vec::with_capacity(nu * nv);
        for (i, &u) in gu.iter().enumerate() {
            let mut near = [u, 0.0];
            for (j, &v) in gv.iter().enumerate() {
                points.push(if j == 0 {
                    low[i]
                } else if j == nv - 1 {
                    high[i]
                } else if i == 0 {
                    sides[0][j]
                } else if i == nu - 1 {
                    sides[1][j]
                } else {
                    let across = mix(fores[j], afts[j], u);
                    let up = mix(lows[i], highs[i], v);
                    let both = mix(mix(lows[0], lows[nu - 1], u), mix(highs[0], highs[nu - 1], u), v);
                    let by = sub(add(across, up), both);
                    near = if j == 1 { [u, v] } else { near };
                    self.onto(k, add(self.offset(k, u, v), by), &mut near)
                });
            }
        }
        Ok(points)
    }

    /// The slants at which keel and end slide at their corner: along the one line that halves it.
    fn keel_slants(&self, slot: usize) -> [f64; 2] {
        if self.ends[slot] != End::Backbone || self.is_pole(0, slot) {
            return [f64::NAN; 2];
        }
        let u = slot as f64;
        let (keel, end) = (self.brink(0, u, 0.0, true), self.brink(0, u, 0.0, false));
        let open = 1.0 + dot(keel.out, end.out);
        [dot(end.out, keel.tangent) / open.max(0.1), dot(keel.out, end.tangent) / open.max(0.1)]
    }
}

/// The nearest point of a patch to `p`: its (u, v), from a start, and itself. Newton's method on half the squared
/// distance, damped, held within the patch.
pub(crate) fn foot(patch: &Patch, p: V3, start: [f64; 2]) -> ([f64; 2], V3) {
    let [mut u, mut v] = start;
    let mut damping = 1e-9;
    let mut jet = patch.jet(u, v);
    for _ in 0..60 {
        let r = sub(jet.p, p);
        let (mut gu, mut gv) = (dot(r, jet.du), dot(r, jet.dv));
        let held = |at: f64, g: f64| at <= 0.0 && g > 0.0 || at >= 1.0 && g < 0.0;
        let (mut a, mut b, mut c) = (
            dot(jet.du, jet.du) + dot(r, jet.duu),
            dot(jet.du, jet.dv) + dot(r, jet.duv),
            dot(jet.dv, jet.dv) + dot(r, jet.dvv),
        );
        if a <= 0.0 || c <= 0.0 || a * c - b * b <= 0.0 {
            (a, b, c) = (dot(jet.du, jet.du), dot(jet.du, jet.dv), dot(jet.dv, jet.dv));
        }
        if held(u, gu) {
            (gu, a, b) = (0.0, 1.0, 0.0);
        }
        if held(v, gv) {
            (gv, c, b) = (0.0, 1.0, 0.0);
        }
        let mut moved = 0.0;
        for _ in 0..14 {
            let (da, dc) = (a + damping, c + damping);
            let det = da * dc - b * b;
            let (su, sv) = ((b * gv - dc * gu) / det, (b * gu - da * gv) / det);
            let (next_u, next_v) = ((u + su).clamp(0.0, 1.0), (v + sv).clamp(0.0, 1.0));
            let next = patch.jet(next_u, next_v);
            let (new, old) = (sub(next.p, p), r);
            if dot(new, new) <= dot(old, old) && next.p.iter().all(|c| c.is_finite()) {
                moved = (next_u - u).abs() + (next_v - v).abs();
                (u, v, jet) = (next_u, next_v, next);
                damping *= 0.1;
                break;
            }
            damping = (10.0 * damping).max(1e-8);
        }
        if moved < 1e-13 {
            break;
        }
    }
    ([u, v], jet.p)
}

/// The line x = a + b z of least squares through points in profile.
fn fitted(points: &[V3]) -> (f64, f64) {
    let n = points.len() as f64;
    let (mx, mz) =
        (points.iter().map(|p| p[0]).sum::<f64>() / n, points.iter().map(|p| p[2]).sum::<f64>() / n);
    let (szz, sxz) = points
        .iter()
        .fold((0.0, 0.0), |(zz, xz), p| (zz + (p[2] - mz).powi(2), xz + (p[2] - mz) * (p[0] - mx)));
    let b = if szz > 0.0 { sxz / szz } else { 0.0 };
    (mx - b * mz, b)
}

/// Breaks with each span parted in `parts`, and in more where there are fewer than `least` spans.
fn parted(breaks: &[f64], parts: usize, least: usize) -> Vec<f64> {
    let parts = parts * least.div_ceil(breaks.len() - 1).max(1);
    let inner = breaks
        .windows(2)
        .flat_map(|w| (0..parts).map(move |i| w[0] + (w[1] - w[0]) * i as f64 / parts as f64));
    inner.chain(breaks.last().copied()).collect()
}

/// Breaks, and two places within each span.
fn between(breaks: &[f64]) -> Vec<f64> {
    parted(breaks, 3, 1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::forms;

    #[test]
    fn a_sphere_is_carried_to_a_sphere_either_way() {
        for by in [0.02, -0.02] {
            let made = Boat::from(forms::sphere()).carried(by).expect("a sphere");
            for (u, v) in [(0.0, 0.0), (0.0, 1.0), (0.3, 0.45), (0.77, 0.1), (0.5, 1.0)] {
                assert!((norm(made.patches[0].point(u, v)) - 2.0 - by).abs() < 1e-5, "{by} {u} {v}");
            }
            // Her forward end stays in its plane.
            assert!((made.patches[0].point(0.0, 0.5)[0] - 2.0 * 0.2_f64.sin()).abs() < 1e-5);
        }
    }

    #[test]
    fn a_wedge_ends_on_the_side_of_its_stem_in_the_plane_of_its_end_and_under_its_flat_bottom() {
        let (siding, steep) = (0.03, 30.0_f64.to_radians());
        let hull = Boat::from(forms::one_patch(2, 2, |u, v| [3.0 * u, siding + 3.0 * u * steep.tan(), v]));
        for t in [0.0127, -0.0127] {
            let made = hull.carried(t).expect("a wedge");
            for (u, v) in [(0.0, 0.0), (0.0, 0.6), (0.4, 0.3), (1.0, 0.0), (1.0, 1.0)] {
                let p = made.patches[0].point(u, v);
                assert!((p[1] - siding - p[0] * steep.tan() - t / steep.cos()).abs() < 1e-9, "{p:?}");
            }
            let (fore, aft) = (made.patches[0].point(0.0, 0.0), made.patches[0].point(1.0, 1.0));
            assert!((fore[0] + t / steep.sin()).abs() < 1e-8 && (fore[1] - siding).abs() < 1e-8, "{fore:?}");
            assert!((fore[2] + t).abs() < 1e-9, "{fore:?}");
            assert!((aft[0] - 3.0).abs() < 1e-8 && (aft[2] - 1.0).abs() < 1e-9, "{aft:?}");
        }
    }

    #[test]
    fn what_planking_adds_to_a_cylinder_is_a_shell() {
        let hull = Boat::from(forms::cylinder());
        let area = |surface: &Surface| {
            // Green's theorem on the section at half length, from keel to sheer.
            let n = 4000;
            let at = |i: usize| surface.patches[0].point(0.5, i as f64 / f64::from(n));
            (0..n as usize)
                .map(|i| (at(i), at(i + 1)))
                .map(|(a, b)| 0.5 * (a[1] + b[1]) * (b[2] - a[2]))
                .sum::<f64>()
        };
        let t = 0.02;
        let (inner, outer) = (hull.carried(-t).expect("inside"), hull.carried(t).expect("outside"));
        let ring = std::f64::consts::FRAC_PI_4 * ((1.0 + t).powi(2) - (1.0 - t).powi(2));
        assert!((area(&outer) - area(&inner) - ring).abs() < 1e-6);
    }

    #[test]
    fn at_a_chine_both_faces_meet_in_a_mitre_and_the_strakes_share_it() {
        let made = Boat::from(forms::chined()).carried(-0.01).expect("inside");
        for i in 0..=20 {
            let u = f64::from(i) / 20.0;
            assert_eq!(made.patches[0].point(u, 1.0), made.patches[1].point(u, 0.0));
        }
    }

    #[test]
    fn planking_thicker_than_her_round_is_refused_with_the_place() {
        let tight = forms::one_patch(4, 40, |u, v| {
            let a = std::f64::consts::FRAC_PI_2 * v;
            [4.0 * u, 0.5 + 0.01 * a.sin(), 0.01 * (1.0 - a.cos()) + 0.3 * v]
        });
        let said = Boat::from(tight).carried(-0.1).expect_err("refused").to_string();
        assert!(said.contains("x = "), "{said}");
    }

    #[test]
    fn without_a_thickness_it_says_what_to_write() {
        let said = Boat::from(forms::parabolic()).on_face(true, None).expect_err("refused").to_string();
        assert!(said.contains("planking"), "{said}");
        assert!(Boat::from(forms::parabolic()).on_face(true, Some(f64::NAN)).is_err());
        assert!(!Boat::from(forms::parabolic()).on_face(false, None).expect("herself").is_inside());
    }
}
