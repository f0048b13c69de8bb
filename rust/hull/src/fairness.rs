//! Fairness: along every line of the table, its length, how it bends and where it changes its mind.
//!
//! A stretch that bends one way counts only if it stands off its own chord by more than a hand feels on a
//! batten; below that, the sign of the curvature is noise. So a straight line has no changes of sign.

use scrieve_offsets::Block;

use crate::{Boat, Curve, Plane, Sample};

/// Least height of a hump that counts, m: a fifth of a pencil line.
pub const FELT_M: f64 = 1e-4;

/// A stretch higher than those on both sides by this factor is the line's own belly between two hollows, not
/// a hump in it.
const OWN_BELLY: f64 = 1.05;

/// A stretch that bends against its neighbours on both sides, and is no higher than the higher of them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hump {
    /// Where it bends most, m.
    pub at: [f64; 3],
    /// Curvature there, in the plane of the drawing, 1/m.
    pub curvature: f64,
    /// How far it stands off its chord, m.
    pub height: f64,
}

/// How fair one line is.
#[derive(Clone, Debug, PartialEq)]
pub struct Fairness {
    /// What the table calls the line; for a rabbet, chine or sheer also the view.
    pub line: String,
    /// Length in space, m.
    pub length: f64,
    /// Greatest curvature either way, 1/m.
    pub greatest_curvature: f64,
    /// How often the curvature changes sign between corners, humps under [`FELT_M`] aside.
    pub sign_changes: usize,
    /// The highest hump, if any.
    pub worst_hump: Option<Hump>,
}

impl Curve {
    /// How fair the curve is as drawn in its plane; `line` is what to call it.
    pub fn fairness(&self, line: String) -> Fairness {
        let greatest = self.samples().map(|s| s.curvature.abs()).fold(0.0, f64::max);
        let (mut sign_changes, mut worst_hump) = (0, None::<Hump>);
        for piece in &self.pieces {
            let bends = bends(piece);
            sign_changes += bends.len().saturating_sub(1);
            for w in bends.windows(3) {
                let (hump, beside) = (w[1], w[0].height.max(w[2].height));
                let highest = worst_hump.map_or(0.0, |worst| worst.height);
                if hump.height <= OWN_BELLY * beside && hump.height > highest {
                    worst_hump = Some(hump);
                }
            }
        }
        Fairness { line, length: self.length(), greatest_curvature: greatest, sign_changes, worst_hump }
    }
}

/// Stretches of a piece that bend one way, each felt, their signs alternating.
fn bends(piece: &[Sample]) -> Vec<Hump> {
    /// A stretch while it is gathered: where it bends most, its length and the angle it turns.
    struct Stretch {
        top: Sample,
        length: f64,
        turn: f64,
    }
    let mut stretches: Vec<Stretch> = Vec::new();
    let mut add = |sample: &Sample, length: f64, turn: f64| match stretches.last_mut() {
        Some(last) if last.top.curvature * sample.curvature >= 0.0 => {
            last.length += length;
            last.turn += turn;
            if sample.curvature.abs() > last.top.curvature.abs() {
                last.top = *sample;
            }
        }
        _ => stretches.push(Stretch { top: *sample, length, turn }),
    };
    for pair in piece.windows(2) {
        let (a, b) = (&pair[0], &pair[1]);
        let length = crate::curve::Cubic::between(a, b).length();
        let (ka, kb) = (a.curvature, b.curvature);
        if ka * kb < 0.0 {
            let until = ka / (ka - kb);
            add(a, until * length, 0.5 * ka.abs() * until * length);
            add(b, (1.0 - until) * length, 0.5 * kb.abs() * (1.0 - until) * length);
        } else {
            let more = if ka.abs() > kb.abs() { a } else { b };
            add(more, length, 0.5 * (ka + kb).abs() * length);
        }
    }
    let mut felt: Vec<Hump> = Vec::new();
    for stretch in stretches {
        // An arc of length l that turns by a stands l a / 8 off its chord.
        let height = stretch.length * stretch.turn / 8.0;
        let hump = Hump { at: stretch.top.p, curvature: stretch.top.curvature, height };
        match felt.last_mut() {
            _ if height < FELT_M => {}
            Some(last) if last.curvature * hump.curvature > 0.0 => {
                if hump.height > last.height {
                    *last = hump;
                }
            }
            _ => felt.push(hump),
        }
    }
    felt
}

impl Boat {
    /// Every line of the table that the surface has: sections at the stations, waterlines, buttocks,
    /// diagonals, and the rabbet, chines and sheer in profile and in plan.
    pub fn fairness(&self) -> Vec<Fairness> {
        let mut report = Vec::new();
        let (table, survey) = (self.source(), self.survey());
        for (station, &x) in table.stations.iter().zip(&survey.stations) {
            if station.from_stem.is_some()
                && let Ok(section) = self.section(x)
            {
                report.push(section.fairness(format!("station {}", station.name)));
            }
        }
        let mut seen = Vec::new();
        for spot in &survey.spots {
            let row = (spot.cell.block, spot.cell.row);
            if seen.contains(&row) {
                continue;
            }
            let (cos, sin) = (spot.along.0, -spot.along.1);
            let plane = match spot.cell.block {
                Block::HalfBreadths => Plane::at_z(spot.z),
                Block::Heights => Plane::at_y(spot.y),
                Block::Diagonals => Plane::diagonal(spot.z + spot.y * sin / cos, sin.atan2(cos)),
                _ => continue,
            };
            seen.push(row);
            let label = table.rows.get(spot.cell.row).map_or("line", |row| row.label.as_str());
            for curve in self.cut(&plane).unwrap_or_default() {
                report.push(curve.fairness(label.to_owned()));
            }
        }
        for (view, plane) in [("profile", Plane::at_y(0.0)), ("plan", Plane::at_z(0.0))] {
            let lines = self.reference_lines_drawn(plane);
            let last = lines.len().saturating_sub(1);
            for (k, curve) in lines.iter().enumerate() {
                let name = match k {
                    0 => "rabbet".to_owned(),
                    _ if k == last => "sheer".to_owned(),
                    _ if last == 2 => "chine".to_owned(),
                    _ => format!("chine {k}"),
                };
                report.push(curve.fairness(format!("{name} in {view}")));
            }
        }
        report
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::forms;

    /// A sheer in plan y = 1 + a sin(2πx/L) on a straight wall.
    fn waved(height: f64) -> Fairness {
        let hull = forms::one_patch(24, 2, |u, v| {
            let x = 4.0 * u;
            [x, 1.0 + height * (std::f64::consts::PI * x).sin(), v]
        });
        let waterline = hull.waterline(0.5).expect("a waterline").remove(0);
        waterline.fairness("waterline".into())
    }

    #[test]
    fn a_straight_line_changes_its_curvature_nowhere() {
        let fairness = waved(0.0);
        assert_eq!((fairness.sign_changes, fairness.worst_hump), (0, None));
        assert!((fairness.length - 4.0).abs() < 1e-9);
    }

    #[test]
    fn a_wave_of_two_lengths_changes_its_curvature_three_times() {
        let fairness = waved(0.01);
        assert_eq!(fairness.sign_changes, 3);
        let hump = fairness.worst_hump.expect("a hump");
        // Crests at x = 1.5 and 2.5; each half wave stands its own height off its chord.
        assert!((hump.at[0] - 1.5).abs().min((hump.at[0] - 2.5).abs()) < 0.06, "{hump:?}");
        assert!((hump.height / 0.01 - 0.25 * std::f64::consts::PI).abs() < 0.05, "{hump:?}");
        assert!((fairness.greatest_curvature / (0.01 * std::f64::consts::PI.powi(2)) - 1.0).abs() < 0.01);
    }

    #[test]
    fn the_belly_between_a_hollow_entrance_and_a_hollow_run_is_no_hump() {
        let hull = forms::one_patch(24, 2, |u, v| [4.0 * u, (std::f64::consts::PI * u).sin().powi(2), v]);
        let fairness = hull.waterline(0.5).expect("a waterline").remove(0).fairness("waterline".into());
        assert_eq!((fairness.sign_changes, fairness.worst_hump), (2, None));
    }

    #[test]
    fn a_wave_no_hand_can_feel_counts_for_nothing() {
        assert_eq!(waved(0.00005).sign_changes, 0);
    }

    #[test]
    fn a_hull_without_a_table_still_reports_its_rabbet_and_sheer() {
        let report = Boat::from(forms::parabolic()).fairness();
        let lines: Vec<&str> = report.iter().map(|f| f.line.as_str()).collect();
        assert_eq!(lines, ["rabbet in profile", "sheer in profile", "rabbet in plan", "sheer in plan"]);
        assert!(report.iter().all(|f| f.sign_changes == 0));
    }
}
