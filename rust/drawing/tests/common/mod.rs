//! Hulls faired from tables of boats known in closed form (invented).

use scrieve_fairing::{Options, fair};
use scrieve_hull::Boat;
use scrieve_yardstick::known::{Family, Known, Place};

/// A hull of a family, faired from its table read to the eighth at nine stations.
pub fn faired(family: Family) -> Boat {
    let known = Known::new(family, 3);
    let facts = "builder = \"J. Tranter\"\nyear = 1911\nkind = \"invented\"\nplanking = \"0-0-4\"\nunits =";
    let text = known.table_text(&known.layout(9), Place::Eighth, "Turnstone").replace("units =", facts);
    let table = scrieve_offsets::read(text.as_bytes(), "turnstone.offsets").expect("a table");
    let (survey, _) = table.survey().expect("a survey");
    let faired = fair(&survey, &Options::default()).expect("a fair hull");
    Boat::new(table, survey, faired)
}
