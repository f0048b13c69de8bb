//! How every reading sits on the faired surface, and what the others expect of it.

use scrieve_offsets::{CellId, Spot};

use crate::Surface;
use crate::evidence::{Out, Which};
use crate::fit::{Fit, Placed};
use crate::joint::{Joint, Row};
use crate::keel::Keel;
use crate::robust::Judged;

/// On the stem a half-breadth is the half-siding, or a slip if it is off by more than this many tolerances.
const ON_STEM_SLIP: f64 = 4.0;
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
    /// One for every reading: lines, spots, profiles.
    pub(crate) fn residuals(
        &self,
        surface: &Surface,
        joint: &Joint,
        rows: &[Row],
        judged: &[Judged],
        out_of_fit: &Out,
    ) -> Vec<Residual> {
        let mut out = Vec::new();
        let push = |i: usize, cell: CellId, read: f64, faired: f64, sign: f64, out: &mut Vec<Residual>| {
            let (misfit, variance) = joint.left_out(i);
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
                doubted: judged[i].which.is_some_and(|w| out_of_fit.contains(&w)),
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
        for (i, (spot, placed)) in self.survey.spots.iter().zip(&self.placed).enumerate() {
            if placed.idle && spot.along == (1.0, 0.0) {
                // On the stem itself the half-breadth is the half-siding.
                let faired = self.frame.half_siding.value(placed.t);
                let doubted = (spot.y - faired).abs() > ON_STEM_SLIP * spot.tolerance;
                out.push(Residual {
                    cell: spot.cell,
                    read: spot.y,
                    faired,
                    sd: 0.0,
                    tolerance: spot.tolerance,
                    expected: faired,
                    expected_sd: spot.sd,
                    doubted,
                });
            } else if out_of_fit.contains(&Which::Spot(i)) && !placed.idle {
                // Far from the surface the linear model says little: ask it where the surface is.
                let Some(own) = out.iter_mut().find(|r| r.cell == spot.cell) else { continue };
                let gone = own.faired - own.read;
                let (y, z) = (spot.y + gone * spot.along.0, spot.z + gone * spot.along.1);
                let here = Spot { y, z, ..*spot };
                let (v, _) = self.frame.chord(placed.strake, placed.t).place((y, z));
                let slope = joint.slope(placed.strake, placed.t, v);
                let (row, metres) = self.spot_row(&here, &Placed { v, slope, ..*placed });
                own.sd = metres * joint.variance(&row.of).sqrt();
                own.expected = own.faired;
                own.expected_sd = own.sd.hypot(spot.sd);
            }
        }
        for (k, &(which, t)) in self.profile_t.iter().enumerate() {
            let (Some(keel), Some(at)) = (&self.keel, Keel::read(t)) else { continue };
            let spot = match which {
                Which::Stern(i) => self.survey.stern[i],
                Which::Stem(i) => self.survey.stem[i],
                _ => continue,
            };
            // Told as heights, though measured square to the line.
            let z = keel.backbone.point(at).1;
            of_backbone(lines + self.placed.len() + k, spot.cell, spot.z, z, &mut out);
        }
        out
    }

    /// A spot's reading, the same on the surface, and which way w runs along it.
    fn measure(&self, surface: &Surface, spot: &Spot, placed: &Placed) -> (f64, f64, f64) {
        let patch = &surface.patches[placed.strake.min(surface.patches.len() - 1)];
        let j = patch.jet(placed.t, placed.v);
        let normal = (j.dv[2], -j.dv[1]);
        let along = match spot.along {
            (0.0, 0.0) if normal.0.abs() >= normal.1.abs() => (1.0, 0.0),
            (0.0, 0.0) => (0.0, 1.0),
            a => a,
        };
        let read = if along.0 == 0.0 { spot.z } else { spot.y / along.0 };
        let sign = (normal.0 * along.0 + normal.1 * along.1).signum();
        // Newton for t, v and the distance s along the reading; on the transom t stays.
        let (mut t, mut v, mut s) = (placed.t, placed.v.clamp(0.0, 1.0), 0.0);
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
