//! How far hulls carried to the other face of their planking are off it, and off themselves when carried back.
//!
//! `cargo run --release -p scrieve-hull --example face [TABLE ...]`: tables given, or boats as they are built.

use scrieve_fairing::{Options, fair};
use scrieve_hull::Boat;
use scrieve_offsets::read;
use scrieve_yardstick::known::Place;
use scrieve_yardstick::known::as_built::{AsBuilt, Kind};

const THICKNESS: f64 = 0.0127;

fn line(name: &str, text: &str) {
    let table = match read(text.as_bytes(), name) {
        Ok(table) => table,
        Err(error) => return println!("{name:20} {error}"),
    };
    let inside = table.facts.to_inside;
    let Ok((survey, _)) = table.survey() else { return println!("{name:20} no survey") };
    let hull = match fair(&survey, &Options::default()) {
        Ok(faired) => Boat::new(table, survey, faired),
        Err(error) => return println!("{name:20} {error}"),
    };
    for (way, hull) in [("as given", Ok(hull.clone())), ("back", hull.on_face(!inside, Some(THICKNESS)))] {
        let start = std::time::Instant::now();
        let hull = match hull {
            Ok(hull) => hull,
            Err(_) => continue,
        };
        let to = !hull.is_inside();
        let word = if to { "in " } else { "out" };
        match hull.on_face(to, Some(THICKNESS)) {
            Ok(_) => println!("{name:20} {way:9} {word} {:.2} s", start.elapsed().as_secs_f64()),
            Err(error) => println!("{name:20} {way:9} {word} {error}"),
        }
    }
}

fn main() {
    let paths: Vec<String> = std::env::args().skip(1).collect();
    for path in &paths {
        match std::fs::read_to_string(path) {
            Ok(text) => line(path.rsplit('/').next().unwrap_or(path), &text),
            Err(error) => println!("{path}: {error}"),
        }
    }
    if paths.is_empty() {
        for kind in Kind::ALL {
            let known = AsBuilt::new(kind, 1);
            line(&format!("{kind:?}"), &known.table_text(&known.taking(9), Place::Eighth, "Turnstone"));
        }
    }
}
