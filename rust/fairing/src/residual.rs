//! How every reading sits on the faired surface, and what the others expect of it.

use scrieve_offsets::{Axis, CellId, RefLine, Spot};

use crate::Surface;
use crate::ends::{ProfileSuspect, off_curve};
use crate::evidence::Which;
use crate::fit::{Fit, Placed};
use crate::joint::{Joint, Row};
use crate::judge::Doubts;
use crate::keel::Keel;
use crate::robust::Judged;

/// On the stem a half-breadth is the half-siding, or a slip if it is off by more than this many tolerances.
const ON_STEM_SLIP: f64 = 4.0;
/// How far off the centreline, in tolerances, a stem's side may be that no fact gives; and how many times that
/// a reading there must be off.
const UNGIVEN_SIDE: f64 = 2.0;
const UNGIVEN_SURE: f64 = 3.6;
/// A spot off the end of the hull is a slip if it lies so many tolerances from its section; and how many that
/// is worth.
const LOST: f64 = 20.0;
const LOST_WORTH: f64 = 2.0;
/// Places on a section where its crossing with a reading's line is looked for; 40 tell any two apart.
const SAMPLES: usize = 40;
/// Newton's steps from one place on a section to the next.
const NEWTON: usize = 6;

/// How a reading sits on the faired surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Residual {
    /// The cell.
    pub cell: CellId,
    /// The reading, m.
    pub read: f64,
    /// The same place on the faired surface, measured the same way, m.
    pub faired: f64,
    /// One standard deviation of the faired value, m.
    pub sd: f64,
    /// Its tolerance, m.
    pub tolerance: f64,
    /// What all other readings expect here, this one left out, m.
    pub expected: f64,
    /// One standard deviation of `read - expected`, m.
    pub expected_sd: f64,
    /// Left out, or weighed down, because the rest of the boat contradicts it.
    pub doubted: bool,
}

impl Fit<'_> {
    /// One for every reading: lines, spots, profiles. `misfit` is how far a row lies above what the others expect, and the
    /// variance of that.
    pub(crate) fn residuals(
        &self,
        surface: &Surface,
        joint: &Joint,
        (rows, judged): (&[Row], &[Judged]),
        misfit: &dyn Fn(usize) -> (f64, f64),
        doubts: &Doubts,
    ) -> Vec<Residual> {
        let mut out = Vec::new();
        let push = |i: usize, cell: CellId, read: f64, faired: f64, sign: f64, out: &mut Vec<Residual>| {
            let (misfit, variance) = misfit(i);
            let added = rows[i].sd * rows[i].sd - judged[i].sd * judged[i].sd;
            let explained = rows[i].sd * rows[i].sd / variance;
            let metres = judged[i].metres;
            out.push(Residual {
                cell,
                read,
                faired,
                // Of what is known of this place, the part that is not this reading's own noise.
                sd: metres * rows[i].sd * (1.0 - explained).max(0.0).sqrt(),
                tolerance: judged[i].tolerance,
                expected: read - sign * misfit * metres,
                expected_sd: metres * (variance - added).max(judged[i].sd.powi(2)).sqrt(),
                doubted: judged[i].which.is_some_and(|w| doubts.out.contains(&w)),
            });
        };
        let of_backbone = |i: usize, cell: CellId, read: f64, faired: f64, out: &mut Vec<Residual>| {
            push(i, cell, read, faired, 1.0, out);
        };
        for (k, &i) in self.line_readings.iter().enumerate() {
            let l = &self.survey.lines[i];
            let t = self.line_t[k];
            match self.keel.as_ref().zip(Keel::read(t)) {
                Some((keel, at)) => of_backbone(k, l.cell, l.value, keel.backbone.point(at).1, &mut out),
                None => push(k, l.cell, l.value, self.frame.lines[self.index(l)].value(t), 1.0, &mut out),
            }
        }
        let lines = self.line_readings.len();
        for (i, (spot, placed)) in self.survey.spots.iter().zip(&self.placed).enumerate() {
            if placed.idle {
                continue;
            }
            let (read, faired, sign) = self.measure(surface, spot, placed);
            push(lines + i, spot.cell, read, faired, sign, &mut out);
        }
        for (row, j) in rows.iter().zip(judged) {
            let (Some(Which::Line(i)), true) = (j.which, j.which.is_some_and(|w| doubts.out.contains(&w)))
            else {
                continue;
            };
            let l = &self.survey.lines[i];
            let Some(own) = out.iter_mut().find(|r| r.cell == l.cell) else { continue };
            own.sd = j.metres * joint.variance(&row.of).sqrt();
            let of_backbone = l.line == RefLine::Rabbet && l.axis == Axis::Height;
            if let Some(off) = self.off_end(Which::Line(i), own.sd).filter(|_| of_backbone) {
                // On a stem or sternpost, where it was measured square to that.
                own.faired = off.height.expected;
            }
            (own.expected, own.expected_sd) = (own.faired, own.sd.hypot(j.metres * j.sd));
        }
        for (i, (spot, placed)) in self.survey.spots.iter().zip(&self.placed).enumerate() {
            if placed.idle {
                out.extend(self.on_end(surface, spot, placed));
            } else if doubts.out.contains(&Which::Spot(i)) {
                // Far from the surface the linear model says little: ask it where the surface is.
                let Some(own) = out.iter_mut().find(|r| r.cell == spot.cell) else { continue };
                own.faired = on_section(surface, spot).unwrap_or(own.faired);
                let (by, along) = (own.faired - own.read, way_of(spot));
                let here = Spot { y: spot.y + by * along.0, z: spot.z + by * along.1, ..*spot };
                let (v, _) = self.frame.chord(placed.strake, placed.t).place((here.y, here.z));
                let slope = joint.slope(placed.strake, placed.t, v);
                let (row, metres) = self.spot_row(&here, &Placed { v, slope, ..*placed });
                own.sd = metres * joint.variance(&row.of).sqrt();
                own.expected = own.faired;
                own.expected_sd = own.sd.hypot(self.premise.noise * spot.sd);
            }
        }
        for (k, &(which, t)) in self.profile_t.iter().enumerate() {
            let (Some(keel), Some(at)) = (&self.keel, Keel::read(t)) else { continue };
            let spot = match which {
                Which::Stern(i) => self.survey.stern[i],
                Which::Stem(i) => self.survey.stem[i],
                _ => continue,
            };
            if doubts.out.contains(&which) {
                continue;
            }
            // Told as heights, though measured square to the line.
            let z = keel.backbone.point(at).1;
            of_backbone(lines + self.placed.len() + k, spot.cell, spot.z, z, &mut out);
        }
        for suspect in doubts.suspects.iter().filter(|s| s.left_out) {
            let of = suspect.height;
            let same = |cell: CellId| cell.block == of.cell.block && cell.column == of.cell.column;
            out.retain(|r| !same(r.cell));
            let spots = self.survey.stem.iter().chain(&self.survey.stern);
            out.push(Residual {
                cell: of.cell,
                read: of.read,
                faired: of.expected,
                sd: of.sd,
                tolerance: spots.map(|s| s.tolerance).fold(0.0, f64::max),
                expected: of.expected,
                expected_sd: of.sd,
                doubted: true,
            });
        }
        out
    }

    /// Spots of the profiles that are doubted, each by its height and by its distance from the stem.
    pub(crate) fn suspects(
        &self,
        joint: &Joint,
        rows: &[Row],
        judged: &[Judged],
        doubts: &Doubts,
    ) -> Vec<ProfileSuspect> {
        let of = |(row, j): (&Row, &Judged)| {
            let which = j.which.filter(|w| matches!(w, Which::Stem(_) | Which::Stern(_)))?;
            let left_out = doubts.out.contains(&which);
            let off = self.off_end(which, j.metres * joint.variance(&row.of).sqrt());
            off.filter(|_| left_out || doubts.queried.contains(&which))
                .map(|s| ProfileSuspect { left_out, ..s })
        };
        rows.iter().zip(judged).filter_map(of).collect()
    }

    /// What stem or sternpost expect of a reading of theirs; `sd` of them there, square to them, m.
    pub(crate) fn off_end(&self, which: Which, sd: f64) -> Option<ProfileSuspect> {
        let keel = self.keel.as_ref()?;
        let (spot, ..) = self.off_backbone(which, 0.0);
        let (low, high) = (self.frame.x_a, self.frame.x_b);
        let fore = match which {
            Which::Stem(_) => true,
            Which::Stern(_) => false,
            _ => 2.0 * spot.x < low + high,
        };
        let parting = if fore { keel.fore } else { keel.aft }?;
        let foot = keel.backbone.point(parting);
        let top = self.frame.edge(self.frame.strakes(), if fore { 0.0 } else { self.frame.aft }).1;
        if matches!(which, Which::Line(_)) && (if fore { spot.x > foot.0 } else { spot.x < foot.0 }) {
            return None;
        }
        let x = |z: f64| keel.backbone.at_height(parting, fore, z).1;
        off_curve(&x, (foot.1, top), sd, &spot)
    }

    /// A spot that has no place between stem and stern.
    fn on_end(&self, surface: &Surface, spot: &Spot, placed: &Placed) -> Option<Residual> {
        let of = |read: f64, faired: f64, sd: f64, most: f64| Residual {
            cell: spot.cell,
            read,
            faired,
            sd,
            tolerance: spot.tolerance,
            expected: faired,
            expected_sd: sd.hypot(spot.sd),
            doubted: (read - faired).abs() > most * spot.tolerance,
        };
        if spot.along == (1.0, 0.0) {
            // On the stem itself the half-breadth is the half-siding.
            let ungiven = if self.survey.half_siding == 0.0 { UNGIVEN_SIDE * spot.tolerance } else { 0.0 };
            let most = ON_STEM_SLIP.max(UNGIVEN_SURE * ungiven / spot.tolerance);
            return Some(of(spot.y, self.frame.half_siding.value(placed.t), ungiven, most));
        }
        let faired = on_section(surface, spot)?;
        Some(of(reading_of(spot), faired, LOST_WORTH * spot.tolerance, LOST)).filter(|r| r.doubted)
    }

    /// A spot's reading, the same on the surface, and which way w runs along it.
    fn measure(&self, surface: &Surface, spot: &Spot, placed: &Placed) -> (f64, f64, f64) {
        let patch = &surface.patches[placed.strake.min(surface.patches.len() - 1)];
        let start = self.frame.u_of(placed.strake, placed.t, placed.v);
        let j = patch.jet(start, placed.v);
        let normal = (j.dv[2], -j.dv[1]);
        let along = match spot.along {
            (0.0, 0.0) if normal.0.abs() >= normal.1.abs() => (1.0, 0.0),
            (0.0, 0.0) => (0.0, 1.0),
            a => a,
        };
        let read = if along.0 == 0.0 { spot.z } else { spot.y / along.0 };
        let sign = (normal.0 * along.0 + normal.1 * along.1).signum();
        // Newton for t, v and the distance s along the reading; on the transom t stays.
        let (mut t, mut v, mut s) = (start, placed.v.clamp(0.0, 1.0), 0.0);
        for _ in 0..20 {
            let j = patch.jet(t, v);
            let free = !(spot.on_transom && self.frame.transom.is_some());
            let r = [
                if free { j.p[0] - spot.x } else { 0.0 },
                j.p[1] - spot.y - s * along.0,
                j.p[2] - spot.z - s * along.1,
            ];
            let du = if free { j.du } else { [1.0, 0.0, 0.0] };
            let dv = if free { j.dv } else { [0.0, j.dv[1], j.dv[2]] };
            let Some([dt, dw, ds]) = solve3(du, dv, [0.0, -along.0, -along.1], r) else { break };
            (t, v, s) = ((t - dt).clamp(0.0, 1.0), (v - dw).clamp(0.0, 1.0), s - ds);
            if dt.abs() + dw.abs() + ds.abs() < 1e-10 {
                break;
            }
        }
        (read, read + s, sign)
    }
}

/// x of a a + b b + c c = r by Cramer's rule; `None` if the three lie in a plane.
fn solve3(a: [f64; 3], b: [f64; 3], c: [f64; 3], r: [f64; 3]) -> Option<[f64; 3]> {
    let det = |a: [f64; 3], b: [f64; 3], c: [f64; 3]| {
        a[0] * (b[1] * c[2] - b[2] * c[1]) - a[1] * (b[0] * c[2] - b[2] * c[0])
            + a[2] * (b[0] * c[1] - b[1] * c[0])
    };
    let d = det(a, b, c);
    (d.abs() > 1e-14).then(|| [det(r, b, c) / d, det(a, r, c) / d, det(a, b, r) / d])
}

/// Where a spot's reading would be if it lay on the surface: the crossing of the section at its station with
/// the line it was measured along nearest to it, m.
fn on_section(surface: &Surface, spot: &Spot) -> Option<f64> {
    let along = way_of(spot);
    let mut crossings = Vec::new();
    for patch in &surface.patches {
        let mut u = 0.5;
        let mut at = |v: f64| {
            for _ in 0..NEWTON {
                let (p, du, _) = patch.tangents(u, v);
                if spot.on_transom {
                    u = 1.0;
                } else if du[0].abs() > 1e-9 {
                    u = (u - (p[0] - spot.x) / du[0]).clamp(0.0, 1.0);
                }
            }
            let p = patch.point(u, v);
            let from = (p[1] - spot.y, p[2] - spot.z);
            (from.0 * along.1 - from.1 * along.0, from.0 * along.0 + from.1 * along.1)
        };
        let points: Vec<_> = (0..=SAMPLES).map(|i| at(i as f64 / SAMPLES as f64)).collect();
        crossings.extend(points.windows(2).filter(|w| w[0].0 * w[1].0 <= 0.0).map(|w| {
            let part = w[0].0 / (w[0].0 - w[1].0);
            w[0].1 + if part.is_finite() { part } else { 0.5 } * (w[1].1 - w[0].1)
        }));
    }
    let by = crossings.into_iter().min_by(|a, b| a.abs().total_cmp(&b.abs()))?;
    Some(reading_of(spot) + by)
}

/// The way a spot's reading runs; that of one given by both co-ordinates is its half-breadth.
pub(crate) fn way_of(spot: &Spot) -> (f64, f64) {
    if spot.along == (0.0, 0.0) { (1.0, 0.0) } else { spot.along }
}

/// What is read of a spot: a height, a half-breadth or a distance out.
pub(crate) fn reading_of(spot: &Spot) -> f64 {
    let along = way_of(spot);
    if along.0 == 0.0 { spot.z } else { spot.y / along.0 }
}
