//! How a faired surface stands against a boat as built: distances in space from her true points to the nearest
//! point of the surface, her backbone line, and the planking's angle at it.

use super::as_built::{AsBuilt, evenly};
use super::taking::Taking;
use scrieve_fairing::Faired;

/// Points measured along a section.
const POINTS: usize = 41;
/// Sections measured in the first and the last tenth of her length, and points on each.
const END_SECTIONS: usize = 8;
const END_POINTS: usize = 21;
/// Depths inside an end at which "within an inch of it" is measured, m.
const INCH: [f64; 3] = [0.005, 0.015, 0.025];
/// Points along the true backbone.
const BACKBONE: usize = 600;
/// Points along each edge of the faired surface.
const EDGE: usize = 1200;
/// Grid of each patch from which the nearest point is sought, u by v, and the starts tried.
const GRID: (usize, usize) = (80, 24);
const STARTS: usize = 3;
const STEPS: usize = 40;
/// How far inside the rabbet the planking's angle is compared, in s.
const INSIDE: f64 = 0.01;
/// A transom's edge belongs to the backbone, a post's, where it lies no further than this beyond the half-siding, m.
const ON_BACKBONE: f64 = 0.002;

/// Errors of one part of a boat, m.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Errors {
    squares: f64,
    /// Points measured.
    pub count: usize,
    /// The greatest, without its sign.
    pub worst: f64,
    /// x, half-breadth and height of the worst.
    pub at: [f64; 3],
}

impl Errors {
    fn add(&mut self, error: f64, at: [f64; 3]) {
        self.squares += error * error;
        self.count += 1;
        if error.abs() > self.worst {
            (self.worst, self.at) = (error.abs(), at);
        }
    }

    /// Both together.
    pub fn merge(&mut self, other: &Errors) {
        self.squares += other.squares;
        self.count += other.count;
        if other.worst > self.worst {
            (self.worst, self.at) = (other.worst, other.at);
        }
    }

    /// Root of the mean square; nought without points.
    pub fn rms(&self) -> f64 {
        (self.squares / self.count.max(1) as f64).sqrt()
    }
}

/// What was measured.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Held {
    /// At the stations.
    pub at: Errors,
    /// Midway between stations.
    pub midway: Errors,
    /// In the first tenth of her length.
    pub fore: Errors,
    /// In the last tenth.
    pub aft: Errors,
    /// 5 to 25 mm inside the stem's profile or the forward end.
    pub inch_fore: Errors,
    /// The same of the stern's profile or the transom.
    pub inch_aft: Errors,
    /// From the true backbone line to the faired one and back, in profile.
    pub backbone: Errors,
    /// Angle between true and faired planking at the rabbet, radians.
    pub plank_angle: Errors,
    /// Faired less true bevel at the stations and in the end tenths, radians.
    pub bevel: Errors,
}

type Point = [f64; 3];

/// How far off the faired surface is at a true point: along the normal, and in bevel.
#[derive(Clone, Copy)]
struct Off {
    error: f64,
    bevel: Option<f64>,
    at: Point,
}

impl Off {
    fn of_bevel(&self) -> Option<Off> {
        Some(Off { error: self.bevel?, ..*self })
    }
}

/// The bevel at an outward normal: the angle between planking and the fore-and-aft line, square to the section.
fn bevel(n: Point) -> f64 {
    n[0].atan2(n[1].hypot(n[2]))
}

/// A patch's points on a grid, each with its u and v.
type Gridded = Vec<(Point, f64, f64)>;

/// The faired surface, laid out to look up nearest points.
struct Nearest<'f> {
    faired: &'f Faired,
    grids: Vec<Gridded>,
}

fn squared(a: Point, b: Point) -> f64 {
    (0..3).map(|k| (a[k] - b[k]).powi(2)).sum()
}

fn dot(a: Point, b: Point) -> f64 {
    (0..3).map(|k| a[k] * b[k]).sum()
}

fn less(a: Point, b: Point) -> Point {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

fn cross(a: Point, b: Point) -> Point {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

impl<'f> Nearest<'f> {
    fn new(faired: &'f Faired) -> Self {
        let grids = faired.surface.patches.iter().map(|patch| {
            let at = |i: usize, n: usize| i as f64 / n as f64;
            let pairs = (0..=GRID.0).flat_map(|i| (0..=GRID.1).map(move |j| (at(i, GRID.0), at(j, GRID.1))));
            pairs.map(|(u, v)| (patch.point(u, v), u, v)).collect()
        });
        Nearest { faired, grids: grids.collect() }
    }

    /// The nearest point of the surface, its edges included: patch, u, v and the point.
    fn to(&self, p: Point) -> (usize, f64, f64, Point) {
        let mut best = (0, 0.0, 0.0, [f64::MAX; 3]);
        let mut least = f64::MAX;
        for (k, grid) in self.grids.iter().enumerate() {
            let mut starts: Vec<(f64, f64, f64)> = Vec::new();
            for &(q, u, v) in grid {
                let d = squared(p, q);
                if starts.len() < STARTS || d < starts[STARTS - 1].0 {
                    let at = starts.partition_point(|s| s.0 < d);
                    starts.insert(at, (d, u, v));
                    starts.truncate(STARTS);
                }
            }
            for (_, u, v) in starts {
                let (u, v, q) = self.descend(k, (u, v), p);
                let d = squared(p, q);
                if d < least {
                    (least, best) = (d, (k, u, v, q));
                }
            }
        }
        best
    }

    /// Newton's method on half the squared distance, held on the unit square, damped where it does not descend.
    fn descend(&self, k: usize, start: (f64, f64), p: Point) -> (f64, f64, Point) {
        let patch = &self.faired.surface.patches[k];
        let (mut u, mut v) = start;
        let mut q = patch.point(u, v);
        let mut damping = 1e-9;
        for _ in 0..STEPS {
            let j = patch.jet(u, v);
            let r = less(j.p, p);
            let (mut gu, mut gv) = (dot(r, j.du), dot(r, j.dv));
            let held = |at: f64, g: f64| at <= 0.0 && g > 0.0 || at >= 1.0 && g < 0.0;
            let (hold_u, hold_v) = (held(u, gu), held(v, gv));
            let (mut a, mut b, mut c) = (
                dot(j.du, j.du) + dot(r, j.duu),
                dot(j.du, j.dv) + dot(r, j.duv),
                dot(j.dv, j.dv) + dot(r, j.dvv),
            );
            if a <= 0.0 || c <= 0.0 || a * c - b * b <= 0.0 {
                (a, b, c) = (dot(j.du, j.du), dot(j.du, j.dv), dot(j.dv, j.dv));
            }
            if hold_u {
                (gu, a, b) = (0.0, 1.0, 0.0);
            }
            if hold_v {
                (gv, c, b) = (0.0, 1.0, 0.0);
            }
            let mut moved = false;
            for _ in 0..12 {
                let (da, dc) = (a + damping, c + damping);
                let det = da * dc - b * b;
                let step = ((b * gv - dc * gu) / det, (b * gu - da * gv) / det);
                let (nu, nv) = ((u + step.0).clamp(0.0, 1.0), (v + step.1).clamp(0.0, 1.0));
                let next = patch.point(nu, nv);
                if squared(next, p) < squared(q, p) {
                    moved = (nu - u).abs() + (nv - v).abs() > 1e-12;
                    (u, v, q) = (nu, nv, next);
                    damping *= 0.2;
                    break;
                }
                damping = (10.0 * damping).max(1e-8);
            }
            if !moved {
                break;
            }
        }
        (u, v, q)
    }

    /// The faired unit normal at a nearest point, outward as u runs aft and v up; a little inside where the edge is a point.
    fn normal(&self, (k, u, v): (usize, f64, f64)) -> Option<Point> {
        let patch = &self.faired.surface.patches[k];
        for inside in [0.0, 1e-4, 1e-3, 5e-3] {
            let (_, du, dv) = patch.tangents(u.clamp(inside, 1.0 - inside), v.clamp(inside, 1.0 - inside));
            let n = cross(dv, du);
            let size = dot(n, n).sqrt();
            if size > 1e-5 * (dot(du, du) * dot(dv, dv)).sqrt().max(1e-12) {
                return Some(n.map(|c| c / size));
            }
        }
        None
    }
}

/// Distance from a point to a polyline.
fn to_line(p: (f64, f64), line: &[(f64, f64)]) -> f64 {
    let mut least = f64::MAX;
    for pair in line.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let (dx, dz) = (b.0 - a.0, b.1 - a.1);
        let part = (((p.0 - a.0) * dx + (p.1 - a.1) * dz) / (dx * dx + dz * dz).max(1e-30)).clamp(0.0, 1.0);
        least = least.min((a.0 + part * dx - p.0).hypot(a.1 + part * dz - p.1));
    }
    least
}

impl AsBuilt {
    /// `n` values of s evenly along the section at x, from end to end.
    fn places(&self, x: f64, n: usize) -> Vec<f64> {
        let steps = 120 * self.strakes();
        let mut run = vec![0.0];
        let mut last = self.at(x, 0.0);
        for i in 1..=steps {
            let p = self.at(x, i as f64 / 120.0);
            run.push(run[i - 1] + (p.0 - last.0).hypot(p.1 - last.1));
            last = p;
        }
        let s: Vec<(f64, f64)> = run.iter().enumerate().map(|(i, &r)| (r, i as f64 / 120.0)).collect();
        let total = run[steps];
        (0..n)
            .map(|i| {
                let want = total * i as f64 / (n - 1) as f64;
                let k = run.partition_point(|&r| r < want).clamp(1, steps);
                let part = (want - s[k - 1].0) / (s[k].0 - s[k - 1].0).max(f64::MIN_POSITIVE);
                s[k - 1].1 + part.clamp(0.0, 1.0) / 120.0
            })
            .collect()
    }

    /// Measures a faired surface against her, as far as the readings that were taken reach.
    pub fn held_against(&self, faired: &Faired, taking: &Taking) -> Held {
        let nearest = Nearest::new(faired);
        let mut held = Held::default();
        let length = self.length();
        let (fore_end, aft_end) = self.pointed_ends();
        let spots = taking.lines.profile_spots > 0;
        let stations = &taking.lines.stations;
        // Without spots of a profile the readings reach no further than the stations.
        let from = if fore_end && !spots { stations.first().copied().unwrap_or(0.0) } else { 0.0 };
        let reaches_aft = self.transom().is_some() || (aft_end && spots);
        let to = if reaches_aft { length } else { stations.last().copied().unwrap_or(length).min(length) };
        let inside = |x: f64, y: f64, z: f64| {
            x >= from && if self.transom().is_some() { !self.abaft_transom(x, y, z) } else { x <= to }
        };
        let bottom = if taking.edge_as_rabbet && self.flat_bottomed() { 1.0 } else { 0.0 };
        let error = |x: f64, s: f64| {
            let (y, z) = self.at(x, s);
            (s > bottom && inside(x, y, z)).then(|| {
                let p = [x, y, z];
                let (k, u, v, q) = nearest.to(p);
                let (gap, n) = (less(q, p), self.normal(x, s));
                let side = if dot(gap, n) < 0.0 { -1.0 } else { 1.0 };
                // Beside a chine the nearest may lie past it, where the bevel is another.
                let strake = (s - bottom) as usize;
                let bevel = nearest.normal((k, u, v)).filter(|_| k == strake).map(|m| bevel(m) - bevel(n));
                Off { error: side * dot(gap, gap).sqrt(), bevel, at: p }
            })
        };
        let section = |x: f64, points: usize| {
            let places = self.places(x, points);
            let inner = places.get(1..points - 1).unwrap_or_default();
            inner.iter().filter_map(|&s| error(x, s)).collect::<Vec<_>>()
        };
        for (i, &x) in stations.iter().enumerate() {
            let offs = section(x, POINTS);
            held.bevel.extend(offs.iter().filter_map(Off::of_bevel));
            held.at.extend(offs);
            if let Some(next) = stations.get(i + 1) {
                held.midway.extend(section(0.5 * (x + next), POINTS));
            }
        }
        let tenth = 0.1 * length;
        for i in 0..END_SECTIONS {
            let part = tenth * (i as f64 + 0.5) / END_SECTIONS as f64;
            let fore = section(part, END_POINTS);
            held.bevel.extend(fore.iter().filter_map(Off::of_bevel));
            held.fore.extend(fore);
            if self.transom().is_none() {
                let aft = section(length - part, END_POINTS);
                held.bevel.extend(aft.iter().filter_map(Off::of_bevel));
                held.aft.extend(aft);
            }
        }
        self.inside_plane_ends(&error, &mut held, from, tenth);
        self.inside_profiles(&error, &mut held, tenth);
        self.backbones(&nearest, &mut held, (from, to), bottom);
        held
    }

    /// Inside a transom, along its rake, and an inch inside the ends that are planes.
    fn inside_plane_ends(
        &self,
        error: &impl Fn(f64, f64) -> Option<Off>,
        held: &mut Held,
        from: f64,
        tenth: f64,
    ) {
        let (fore, aft) = self.pointed_ends();
        let n = END_POINTS * self.strakes();
        // Off the chines, where there are two bevels.
        let places = (0..n).map(|j| self.strakes() as f64 * (j as f64 + 0.5) / n as f64);
        for s in places {
            if let Some((x, _, _)) = self.on_transom(s) {
                for i in 0..END_SECTIONS {
                    let part = (i as f64 + 0.5) / END_SECTIONS as f64;
                    let off = error(x - tenth * part, s);
                    held.bevel.extend(off.as_ref().and_then(Off::of_bevel));
                    held.aft.extend(off);
                }
                INCH.iter().for_each(|d| held.inch_aft.extend(error(x - d, s)));
            } else if !aft {
                INCH.iter().for_each(|d| held.inch_aft.extend(error(self.length() - d, s)));
            }
            if !fore {
                INCH.iter().for_each(|d| held.inch_fore.extend(error(from + d, s)));
            }
        }
    }

    /// Points an inch and less inside stem and stern, square to their profile.
    fn inside_profiles(&self, error: &impl Fn(f64, f64) -> Option<Off>, held: &mut Held, tenth: f64) {
        let (fore, aft) = self.pointed_ends();
        let line = self.backbone(BACKBONE);
        for pair in line.windows(3) {
            let (a, p, b) = (pair[0], pair[1], pair[2]);
            let size = (b.0 - a.0).hypot(b.1 - a.1);
            // The line runs aft, so up and aft of it is inside.
            let inward = ((a.1 - b.1) / size, (b.0 - a.0) / size);
            let forward = fore && p.0 < tenth;
            let after = aft && p.0 > self.length() - tenth;
            if !(forward || after) {
                continue;
            }
            for d in INCH {
                let (x, z) = (p.0 + d * inward.0, p.1 + d * inward.1);
                let Some(s) = self.place(x, z) else { continue };
                let errors = if forward { &mut held.inch_fore } else { &mut held.inch_aft };
                errors.extend(error(x, s));
            }
        }
    }

    /// s of the section at x at height z; `None` outside it.
    fn place(&self, x: f64, z: f64) -> Option<f64> {
        let (low, high) = (self.bottom(x), self.sheer(x));
        let first = f64::from(u8::from(self.flat_bottomed()));
        (z > low && z < high)
            .then(|| super::as_built::root(first, self.strakes() as f64, |s| self.at(x, s).1 - z))
    }

    fn backbones(&self, nearest: &Nearest<'_>, held: &mut Held, (from, to): (f64, f64), lowest: f64) {
        let within = self.backbone(BACKBONE).into_iter().filter(|p| p.0 > from && p.0 < to);
        let mut line = vec![(from, self.bottom(from))];
        line.extend(within);
        line.push((to, self.bottom(to)));
        let patches = &nearest.faired.surface.patches;
        let along = |i: usize| i as f64 / EDGE as f64;
        let rabbet: Vec<(f64, f64)> = patches
            .iter()
            .take(1)
            .flat_map(|p| (0..=EDGE).map(|i| p.point(along(i), 0.0)))
            .map(|p| (p[0], p[2]))
            .collect();
        let (fore, aft) = self.pointed_ends();
        let mut lines = vec![rabbet];
        // An edge at a station where the readings end is none of it.
        let whole = (from == 0.0, to == self.length());
        for (u, on) in [(0.0, fore && whole.0), (1.0, self.stern_in_profile() && whole.1)] {
            let edge = patches.iter().flat_map(|p| (0..=EDGE / 4).map(move |i| p.point(u, 4.0 * along(i))));
            // Of an edge that is a transom's only the part along a post.
            let post = |p: &Point| aft || u == 0.0 || p[1] <= self.half_siding(p[0]) + ON_BACKBONE;
            let edge = edge.filter(post).map(|p| (p[0], p[2]));
            if on {
                lines.push(edge.collect());
            }
        }
        for &p in &line {
            let e = lines.iter().map(|l| to_line(p, l)).fold(f64::MAX, f64::min);
            held.backbone.add(e, [p.0, 0.0, p.1]);
        }
        // Back again: waves of the faired line count though the true one runs through them. The lower end of a
        // transom is no backbone.
        let back = if aft { &lines[..] } else { &lines[..lines.len().min(1 + usize::from(fore && whole.0))] };
        let back = back.iter().flatten();
        for &p in back.filter(|p| p.0 > from - 1e-9) {
            held.backbone.add(to_line(p, &line), [p.0, 0.0, p.1]);
        }
        for p in evenly(&line, BACKBONE / 3) {
            // On the stem of a flat-bottomed boat it is the side that meets the backbone.
            let on_stem = self.flat_bottomed() && self.chine(0, p.0).is_none();
            let s = INSIDE + if on_stem { 1.0 } else { lowest };
            let (y, z) = self.at(p.0, s);
            // Within a hair of a plumb head there is no section to compare.
            if self.sheer(p.0) - self.bottom(p.0) < 0.02 {
                continue;
            }
            let (k, u, v, q) = nearest.to([p.0, y, z]);
            let Some(faired) = nearest.normal((k, u, v)) else { continue };
            let cos = dot(faired, self.normal(p.0, s)).clamp(-1.0, 1.0);
            held.plank_angle.add(cos.acos(), q);
        }
    }
}

impl Extend<Off> for Errors {
    fn extend<T: IntoIterator<Item = Off>>(&mut self, offs: T) {
        offs.into_iter().for_each(|off| self.add(off.error, off.at));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::known::as_built::Kind;
    use scrieve_surface::{Patch, Surface};

    /// Her own surface between the first section and the last, in patches.
    fn exact(boat: &AsBuilt, from: f64, to: f64) -> Faired {
        let breaks = |n: usize| (0..=n).map(|i| i as f64 / n as f64).collect::<Vec<_>>();
        let patches = (0..boat.strakes()).map(|k| {
            Patch::interpolating(&breaks(160), &breaks(24), |u, v| {
                let x = from + (to - from) * u;
                let (y, z) = boat.at(x, k as f64 + v * (1.0 - 1e-12));
                [x, y, z]
            })
        });
        Faired::of_surface(Surface { patches: patches.collect() })
    }

    #[test]
    fn a_boat_held_against_herself_shows_no_error() {
        // Mirrored, a transom is a plumb end; without spots of profiles only the stations' reach is measured.
        for kind in [Kind::Pram, Kind::Scow, Kind::Tuck, Kind::FlatBottom, Kind::MultiChine, Kind::Wineglass]
        {
            let boat = AsBuilt::new(kind, 5).mirrored();
            let mut taking = boat.taking(9);
            taking.lines.profile_spots = 0;
            taking.lines.stations =
                taking.lines.stations.iter().map(|x| x.min(0.8 * boat.length())).collect();
            let last = taking.lines.stations.last().copied().expect("stations");
            let held = boat.held_against(&exact(&boat, 0.0, last), &taking);
            for errors in [&held.at, &held.midway, &held.fore, &held.inch_fore, &held.backbone] {
                assert!(errors.count > 50 && errors.worst < 2e-4, "{kind:?}: {errors:?}");
            }
            assert!(held.plank_angle.worst.to_degrees() < 0.5, "{kind:?}: {:?}", held.plank_angle);
            assert!(
                held.bevel.count > 300 && held.bevel.worst.to_degrees() < 0.2,
                "{kind:?}: {:?}",
                held.bevel
            );
        }
    }

    #[test]
    fn so_does_a_boat_that_ends_in_a_stem() {
        for kind in [Kind::RoundedStem, Kind::SpoonBow, Kind::WideKeel, Kind::Reverse] {
            let boat = AsBuilt::new(kind, 3).mirrored();
            let held = boat.held_against(&exact(&boat, 0.0, boat.length()), &boat.taking(9));
            for errors in [&held.at, &held.midway, &held.aft, &held.inch_aft, &held.backbone] {
                assert!(errors.count > 50 && errors.worst < 2e-4, "{kind:?}: {errors:?}");
            }
            assert!(held.plank_angle.worst.to_degrees() < 0.5, "{kind:?}: {:?}", held.plank_angle);
            assert!(held.bevel.worst.to_degrees() < 0.2, "{kind:?}: {:?}", held.bevel);
        }
    }

    #[test]
    fn a_boat_a_quarter_inch_too_wide_is_found_out_on_the_outer_side() {
        let boat = AsBuilt::new(Kind::Tuck, 2).mirrored();
        let mut taking = boat.taking(9);
        taking.lines.profile_spots = 0;
        let (from, to) = (0.0, 0.8 * boat.length());
        let breaks: Vec<f64> = (0..=80).map(|i| f64::from(i) / 80.0).collect();
        let patch = Patch::interpolating(
            &breaks,
            &breaks[..].iter().step_by(4).copied().collect::<Vec<_>>(),
            |u, v| {
                let x = from + (to - from) * u;
                let (y, z) = boat.at(x, v);
                let n = boat.normal(x, v.clamp(0.02, 0.98));
                [x + 0.00635 * n[0], y + 0.00635 * n[1], z + 0.00635 * n[2]]
            },
        );
        let faired = Faired::of_surface(Surface { patches: vec![patch] });
        let nearest = Nearest::new(&faired);
        for (x, s) in [(0.2, 0.3), (0.35, 0.6), (0.5, 0.8), (0.6, 0.4)] {
            let x = x * boat.length();
            let (y, z) = boat.at(x, s);
            let (_, _, _, q) = nearest.to([x, y, z]);
            let out = dot(less(q, [x, y, z]), boat.normal(x, s));
            assert!((out - 0.00635).abs() < 2e-5, "{out}");
        }
    }
}
