//! Prints the table of a hull of stated proportions as an `.offsets` file, after a line of comment that
//! gives her figures in closed form. `samples/era/generate.py` makes an era of them.
//!
//!     cargo run --release -p scrieve-fairing --example era_table -- \
//!         SEED STATIONS NAME LENGTH BEAM RAKE ENTRY [MODEL_SCALE]
//!
//! LENGTH and BEAM are metres at full size; with a MODEL_SCALE such as 12 the table is that of a model.

use scrieve_yardstick::known::{Family, Known, Place, Proportions};

/// Samples of a line taken for its widest place and its hollow: an error under 1e-7 of the length.
const SAMPLES: usize = 4001;

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    match table(&words) {
        Some(text) => print!("{text}"),
        None => {
            eprintln!("expected SEED STATIONS NAME LENGTH BEAM RAKE ENTRY [MODEL_SCALE]");
            std::process::exit(2);
        }
    }
}

fn table(words: &[String]) -> Option<String> {
    let number = |i: usize| words.get(i).and_then(|word| word.parse::<f64>().ok());
    let stated =
        Proportions { length: number(3)?, beam: number(4)?, transom_rake: number(5)?, entry: number(6)? };
    let full = Known::new(Family::RakedTransom, words.first()?.parse().ok()?).with(stated);
    let scale = if words.len() > 7 { number(7)? } else { 1.0 };
    let model = full.clone().scaled(1.0 / scale);
    let mut layout = model.layout(words.get(1)?.parse().ok().filter(|stations| *stations >= 3)?);
    let eighth = |m: &mut f64| *m = (*m / Place::Eighth.metres()).round() * Place::Eighth.metres();
    let lines = layout.stations.iter_mut().chain(&mut layout.waterlines).chain(&mut layout.buttocks);
    lines.for_each(eighth);
    layout.diagonals.iter_mut().for_each(|(c, y, z)| [c, y, z].into_iter().for_each(eighth));
    let place = if scale == 1.0 { Place::Eighth } else { Place::Sixteenth };
    let text = model.table_text(&layout, place, words.get(2)?);
    Some(format!("# {}\n{text}", figures(&full, stated)?))
}

/// Overall length, beam over it, rake of the transom in degrees, hollow forward over length, half-siding.
fn figures(hull: &Known, stated: Proportions) -> Option<String> {
    let transom = hull.transom()?;
    let mut length = hull.length();
    for _ in 0..SAMPLES {
        length = transom.x(0.0, hull.sheer(length).1);
    }
    let middle = 0.5 * length;
    let z = 0.5 * (hull.rabbet(middle) + hull.sheer(middle).1);
    let (fore, aft) = (hull.stem_x(z)?, hull.length());
    let waterline = |i: usize| {
        let x = fore + (aft - fore) * i as f64 / (SAMPLES - 1) as f64;
        [x, hull.half_breadth(x, z)]
    };
    let hollow = hollow(&(0..SAMPLES).map(waterline).collect::<Vec<_>>());
    Some(format!(
        "{{\"length\": {length}, \"beam_length\": {}, \"transom_rake\": {}, \"hollow\": {}, \"half_siding\": {}}}",
        stated.beam / length,
        stated.transom_rake.atan().to_degrees(),
        hollow / length,
        hull.half_siding()
    ))
}

/// Greatest gap under a straight-edge laid along the outside of a line, forward of its widest place.
fn hollow(line: &[[f64; 2]]) -> f64 {
    let widest = (0..line.len()).max_by(|&a, &b| line[a][1].total_cmp(&line[b][1])).unwrap_or(0);
    let line = &line[..=widest];
    let mut outside: Vec<[f64; 2]> = Vec::new();
    for &p in line {
        while let [.., a, b] = outside[..] {
            if (b[0] - a[0]) * (p[1] - a[1]) < (b[1] - a[1]) * (p[0] - a[0]) {
                break;
            }
            outside.pop();
        }
        outside.push(p);
    }
    let mut edge = 0;
    let gap = line.iter().map(|p| {
        while edge + 2 < outside.len() && outside[edge + 1][0] <= p[0] {
            edge += 1;
        }
        let (a, b) = (outside[edge], outside[edge + 1]);
        a[1] + (b[1] - a[1]) * (p[0] - a[0]) / (b[0] - a[0]) - p[1]
    });
    gap.fold(0.0, f64::max)
}
