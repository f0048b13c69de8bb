//! Prints the table of a hull known in closed form, as an `.offsets` file.
//!
//!     cargo run --release -p scrieve-fairing --example known_table raked-transom 7 13 eighth "A name"
//!     cargo run --release -p scrieve-fairing --example known_table as-built tuck 7 9 eighth "A name"

use scrieve_yardstick::known::as_built::{AsBuilt, Kind};
use scrieve_yardstick::known::{Family, Known, Place};

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let text = match words.first().map(String::as_str) {
        Some("as-built") => as_built(&words[1..]),
        _ => table(&words),
    };
    match text {
        Some(text) => print!("{text}"),
        None => {
            let families = Family::ALL.map(name).join(", ");
            let kinds = Kind::ALL.map(name).join(", ");
            eprintln!(
                "expected [as-built] FAMILY SEED STATIONS [eighth | sixteenth | mm | exact] [NAME]\n\
                 families: {families}\nas-built: {kinds}"
            );
            std::process::exit(2);
        }
    }
}

fn table(words: &[String]) -> Option<String> {
    let family = Family::ALL.into_iter().find(|family| Some(&name(*family)) == words.first())?;
    let known = Known::new(family, words.get(1)?.parse().ok()?);
    let layout = known.layout(words.get(2)?.parse().ok().filter(|stations| *stations >= 3)?);
    let place = place(words.get(3))?;
    Some(known.table_text(&layout, place, words.get(4).map_or("Known hull", String::as_str)))
}

fn as_built(words: &[String]) -> Option<String> {
    let kind = Kind::ALL.into_iter().find(|kind| Some(&name(*kind)) == words.first())?;
    let boat = AsBuilt::new(kind, words.get(1)?.parse().ok()?);
    let taking = boat.taking(words.get(2)?.parse().ok().filter(|stations| *stations >= 3)?);
    let place = place(words.get(3))?;
    Some(boat.table_text(&taking, place, words.get(4).map_or("Known boat", String::as_str)))
}

fn place(word: Option<&String>) -> Option<Place> {
    match word.map(String::as_str) {
        None | Some("eighth") => Some(Place::Eighth),
        Some("sixteenth") => Some(Place::Sixteenth),
        Some("mm") => Some(Place::Millimetre),
        Some("exact") => Some(Place::Exact),
        _ => None,
    }
}

/// `RoundBilge` as `round-bilge`.
fn name(family: impl std::fmt::Debug) -> String {
    let mut name = String::new();
    for letter in format!("{family:?}").chars() {
        if letter.is_uppercase() && !name.is_empty() {
            name.push('-');
        }
        name.extend(letter.to_lowercase());
    }
    name
}
