//! Prints the table of a hull known in closed form, as an `.offsets` file.
//!
//!     cargo run --release -p scrieve-fairing --example known_table raked-transom 7 13 eighth "A name"

use scrieve_fairing::known::{Family, Known, Place};

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    match table(&words) {
        Some(text) => print!("{text}"),
        None => {
            let families = Family::ALL.map(name).join(", ");
            eprintln!(
                "expected FAMILY SEED STATIONS [eighth | sixteenth | exact] [NAME]; families: {families}"
            );
            std::process::exit(2);
        }
    }
}

fn table(words: &[String]) -> Option<String> {
    let family = Family::ALL.into_iter().find(|family| Some(&name(*family)) == words.first())?;
    let known = Known::new(family, words.get(1)?.parse().ok()?);
    let layout = known.layout(words.get(2)?.parse().ok().filter(|stations| *stations >= 3)?);
    let place = match words.get(3).map(String::as_str) {
        None | Some("eighth") => Place::Eighth,
        Some("sixteenth") => Place::Sixteenth,
        Some("exact") => Place::Exact,
        _ => return None,
    };
    Some(known.table_text(&layout, place, words.get(4).map_or("Known hull", String::as_str)))
}

/// `RoundBilge` as `round-bilge`.
fn name(family: Family) -> String {
    let mut name = String::new();
    for letter in format!("{family:?}").chars() {
        if letter.is_uppercase() && !name.is_empty() {
            name.push('-');
        }
        name.extend(letter.to_lowercase());
    }
    name
}
