//! Hulls in closed form: one patch, interpolated closely enough that it is the form itself to 1 nm.

#![allow(dead_code, reason = "each test file uses its own")]

pub mod boats;

use scrieve_fairing::Faired;
use scrieve_hull::{Boat, Hull};
use scrieve_offsets::Survey;
use scrieve_surface::{Patch, Surface};
use scrieve_yardstick::known::Known;

fn surface(f: impl Fn(f64, f64) -> [f64; 3]) -> Surface {
    let breaks: Vec<f64> = (0..=24).map(|i| f64::from(i) / 24.0).collect();
    Surface { patches: vec![Patch::interpolating(&breaks, &breaks, f)] }
}

/// A hull without a table.
pub fn from_surface(f: impl Fn(f64, f64) -> [f64; 3]) -> Boat {
    Boat::from(Hull::from_surface(surface(f)))
}

/// A hull whose table has these facts (TOML).
pub fn with_facts(facts: &str, f: impl Fn(f64, f64) -> [f64; 3]) -> Boat {
    with_survey(facts, Survey::default(), f)
}

/// The same with a survey.
pub fn with_survey(facts: &str, survey: Survey, f: impl Fn(f64, f64) -> [f64; 3]) -> Boat {
    let text = format!(
        "+++\nformat = 1\nname = \"Turnstone\"\nunits = \"m\"\n{facts}\n+++\n\nstation | 1 2 3\nfrom stem | 1 2 3\n\n\
         [heights]\nsheer | 1 1 1\nrabbet | 0.2 0.2 0.2\n\n[half-breadths]\nsheer | 0.8 0.8 0.8\n"
    );
    let table = scrieve_offsets::read(text.as_bytes(), "test.offsets").expect("a table");
    Boat::new(table, survey, Faired::of_surface(surface(f)))
}

/// A hull with this surface whose table has stations at `xs`, half an inch of planking and these facts (TOML).
pub fn of_patches(xs: &[f64], facts: &str, survey: Survey, patches: Vec<Patch>) -> Boat {
    let row = |cell: &dyn Fn(usize) -> String| (0..xs.len()).map(cell).collect::<Vec<_>>().join(" ");
    let text = format!(
        "+++\nformat = 1\nname = \"Turnstone\"\nunits = \"m\"\nplanking = \"12.7mm\"\n{facts}\n+++\n\nstation | {}\n\
         from stem | {}\n\n[heights]\nsheer | {}\nrabbet | {}\n\n[half-breadths]\nsheer | {}\n",
        row(&|i| (i + 1).to_string()),
        row(&|i| xs[i].to_string()),
        row(&|_| "1.0".to_owned()),
        row(&|_| "0.2".to_owned()),
        row(&|_| "0.8".to_owned()),
    );
    let table = scrieve_offsets::read(text.as_bytes(), "test.offsets").expect("a table");
    let survey = Survey { stations: xs.to_vec(), ..survey };
    Boat::new(table, survey, Faired::of_surface(Surface { patches }))
}

pub fn even(n: usize) -> Vec<f64> {
    (0..=n).map(|i| i as f64 / n as f64).collect()
}

/// A hull of a known family that is fair from rabbet to sheer, its (x, z) blended between its four edges (Coons).
pub fn known(known: &Known, xs: &[f64]) -> Boat {
    let settle = |f: &dyn Fn(f64) -> f64, start: f64| (0..200).fold(start, |z, _| f(z));
    let (foot, head) = known.stem_heights();
    let stem_x = |z: f64| known.stem_x(z).unwrap_or(0.0);
    let heel = settle(&|z| known.rabbet(known.after_end(z) - 1e-12), foot);
    let taffrail = settle(&|z| known.sheer(known.after_end(z)).1, head);
    let mix = |a: f64, b: f64, t: f64| a + (b - a) * t;
    let fore = |v: f64| (stem_x(mix(foot, head, v)), mix(foot, head, v));
    let aft = |v: f64| (known.after_end(mix(heel, taffrail, v)), mix(heel, taffrail, v));
    let rabbet = |u: f64| {
        let x = mix(fore(0.0).0, aft(0.0).0, u);
        (x, known.rabbet(x))
    };
    let sheer = |u: f64| {
        let x = mix(fore(1.0).0, aft(1.0).0, u);
        (x, known.sheer(x).1)
    };
    let patch = Patch::interpolating(&even(40), &even(40), |u, v| {
        let blend = |of: fn((f64, f64)) -> f64| {
            let ends = mix(of(fore(v)), of(aft(v)), u);
            let lines = mix(of(rabbet(u)), of(sheer(u)), v);
            let corners = mix(mix(of(fore(0.0)), of(aft(0.0)), u), mix(of(fore(1.0)), of(aft(1.0)), u), v);
            ends + lines - corners
        };
        let (x, z) = (blend(|p| p.0), blend(|p| p.1));
        [x, known.half_breadth(x, z), z]
    });
    of_patches(xs, "", Survey { half_siding: known.half_siding(), ..Survey::default() }, vec![patch])
}
