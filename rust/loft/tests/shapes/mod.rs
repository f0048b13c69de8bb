//! Hulls in closed form: one patch, interpolated closely enough that it is the form itself to 1 nm.

#![allow(dead_code, reason = "each test file uses its own")]

use scrieve_fairing::{Faired, Patch, Surface};
use scrieve_hull::Hull;
use scrieve_offsets::Survey;

fn surface(f: impl Fn(f64, f64) -> [f64; 3]) -> Surface {
    let breaks: Vec<f64> = (0..=24).map(|i| f64::from(i) / 24.0).collect();
    Surface { patches: vec![Patch::interpolating(&breaks, &breaks, f)] }
}

/// A hull without a table.
pub fn from_surface(f: impl Fn(f64, f64) -> [f64; 3]) -> Hull {
    Hull::from_surface(surface(f))
}

/// A hull whose table has these facts (TOML).
pub fn with_facts(facts: &str, f: impl Fn(f64, f64) -> [f64; 3]) -> Hull {
    with_survey(facts, Survey::default(), f)
}

/// The same with a survey.
pub fn with_survey(facts: &str, survey: Survey, f: impl Fn(f64, f64) -> [f64; 3]) -> Hull {
    let text = format!(
        "+++\nformat = 1\nname = \"Turnstone\"\nunits = \"m\"\n{facts}\n+++\n\nstation | 1 2 3\nfrom stem | 1 2 3\n\n\
         [heights]\nsheer | 1 1 1\nrabbet | 0.2 0.2 0.2\n\n[half-breadths]\nsheer | 0.8 0.8 0.8\n"
    );
    let table = scrieve_offsets::read(text.as_bytes(), "test.offsets").expect("a table");
    Hull::new(table, survey, Faired::of_surface(surface(f)))
}
