//! How near fairing comes to known hulls when tables are sparse or odd: errors and how many of them lie
//! within two standard deviations.
//!
//! Errors are distances along the normal of the section in the station plane, mm, readings to the eighth.
//! `cargo run --release -p scrieve-fairing --example sparse`, with a number of seeds if other than 2.

use scrieve_fairing::{Options, fair};
use scrieve_offsets::{Block, Survey};
use scrieve_yardstick::known::{Family, Known, Layout, Place};

/// Points measured along a section.
const POINTS: usize = 25;

/// A kind of table: its name, the stations it has, and what is left of a full one.
type Kind = (&'static str, usize, fn(&Known, &mut Layout, &mut Survey));

fn keep(survey: &mut Survey, block: Block) {
    survey.spots.retain(|s| s.cell.block == block);
}

const KINDS: [Kind; 10] = [
    ("full", 11, |_, _, _| {}),
    ("six stations", 6, |_, _, _| {}),
    ("no buttocks", 11, |_, _, s| s.spots.retain(|s| s.cell.block != Block::Heights)),
    ("only waterlines", 11, |_, _, s| keep(s, Block::HalfBreadths)),
    ("only buttocks", 11, |_, _, s| keep(s, Block::Heights)),
    ("only diagonals", 11, |_, _, s| keep(s, Block::Diagonals)),
    ("three lifts", 9, |hull, layout, s| {
        // Lifts are waterlines through the middle of the boat, each glued on the last.
        let (low, high) = (layout.waterlines[0], layout.waterlines[layout.waterlines.len() - 1]);
        let lifts = Layout {
            waterlines: (0..3).map(|i| low + 0.5 * (high - low) * f64::from(i)).collect(),
            buttocks: Vec::new(),
            diagonals: Vec::new(),
            ..layout.clone()
        };
        *s = hull.survey(&lifts, Place::Eighth);
    }),
    ("scattered points", 11, |hull, layout, s| {
        // Every second spot, each moved along the boat to where no station is.
        let mut count = 0;
        s.spots.retain(|spot| {
            count += 1;
            count % 2 == 0 && !spot.on_transom
        });
        let pitch = layout.stations[1] - layout.stations[0];
        for (i, spot) in s.spots.iter_mut().enumerate() {
            let x = spot.x + pitch * (((i * 37) % 19) as f64 / 19.0 - 0.5);
            let y = hull.half_breadth(x, spot.z);
            if y > 1.5 * hull.half_siding() {
                let eighth = Place::Eighth.metres();
                (spot.x, spot.y, spot.along) = (x, (y / eighth).round() * eighth, (1.0, 0.0));
            }
        }
    }),
    ("after third not read but for its lines", 11, |hull, _, s| {
        let last = 0.67 * hull.length();
        s.spots.retain(|spot| spot.x < last);
    }),
    ("after third lost", 11, |hull, layout, s| {
        let last = 0.67 * hull.length();
        layout.stations.retain(|x| *x < last);
        s.lines.retain(|l| l.x < last && !l.on_transom);
        s.spots.retain(|l| l.x < last && !l.on_transom);
        (s.transom, s.stern) = (None, Vec::new());
    }),
];

#[derive(Default)]
struct Sum {
    squares: f64,
    variances: f64,
    worst: f64,
    covered: usize,
    count: usize,
}

impl Sum {
    fn add(&mut self, errors: &[(f64, f64)]) {
        for &(e, sd) in errors {
            self.squares += e * e;
            self.variances += sd * sd;
            self.worst = self.worst.max(e.abs());
            self.covered += usize::from(e.abs() <= 2.0 * sd);
            self.count += 1;
        }
    }

    fn text(&self) -> String {
        let n = self.count.max(1) as f64;
        let mm = |square: f64| 1e3 * (square / n).sqrt();
        let covered = 100.0 * self.covered as f64 / n;
        format!("{:6.2} {:6.2} {:7.2} {covered:4.0}%", mm(self.squares), mm(self.variances), 1e3 * self.worst)
    }
}

/// Errors at the stations and midway between them.
fn measure(
    hull: &Known,
    stations: usize,
    place: Place,
    change: impl Fn(&Known, &mut Layout, &mut Survey),
) -> Sum {
    let mut layout = hull.layout(stations);
    let mut survey = hull.survey(&layout, place);
    change(hull, &mut layout, &mut survey);
    let mut sum = Sum::default();
    match fair(&survey, &Options::default()) {
        Ok(faired) => {
            for pair in layout.stations.windows(2) {
                sum.add(&hull.misfit(&faired, pair[0], POINTS));
                sum.add(&hull.misfit(&faired, 0.5 * (pair[0] + pair[1]), POINTS));
            }
        }
        Err(error) => println!("{:?}: {error}", hull.family()),
    }
    sum
}

fn main() {
    let seeds: u64 = std::env::args().nth(1).and_then(|a| a.parse().ok()).unwrap_or(2);
    println!("Sparse and odd tables: rms, sd (rms), worst (mm), within 2 sd");
    for (name, stations, change) in KINDS {
        println!("\n{name}, {stations} stations");
        let mut pooled = Sum::default();
        for family in Family::ALL {
            let mut all = Sum::default();
            for seed in 0..seeds {
                let one = measure(&Known::new(family, 300 + seed), stations, Place::Eighth, change);
                all.squares += one.squares;
                all.variances += one.variances;
                all.worst = all.worst.max(one.worst);
                all.covered += one.covered;
                all.count += one.count;
            }
            println!("{:<14} {}", format!("{family:?}"), all.text());
            pooled.squares += all.squares;
            pooled.variances += all.variances;
            pooled.worst = pooled.worst.max(all.worst);
            pooled.covered += all.covered;
            pooled.count += all.count;
        }
        println!("{:<14} {}", "pooled", pooled.text());
    }
    println!("\nSizes, 11 stations");
    for (name, family, factor, place) in [
        ("3 ft model, to the sixteenth", Family::RoundBilge, 0.2, Place::Sixteenth),
        ("the same taken off 1 in to 1 ft", Family::RoundBilge, 1.0, Place::Sixteenth),
        ("80 ft schooner", Family::FlaredBow, 5.0, Place::Eighth),
    ] {
        println!(
            "{name:<32} {}",
            measure(&Known::new(family, 300).scaled(factor), 11, place, |_, _, _| {}).text()
        );
    }
}
