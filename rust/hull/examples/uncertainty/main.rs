//! How honest the uncertainty of hydrostatic figures is: how many of the 95 % intervals that draws give them hold what
//! they are for hulls in closed form, on hulls drawn afresh.
//!
//! The truth is integrated over the formula itself, with none of the hull's own arithmetic. A line for each unit the
//! tables are written in and each kind of hull, by figure: the families, and two halves of the boats as built, of which
//! one was looked at while the draws were made and the other was not.
//! `cargo run --release -p scrieve-hull --example uncertainty [HULLS [DRAWS [FIRST_SEED]]]`, 200 hulls and 16 draws a unit

mod truth;

use std::time::Instant;

use scrieve_fairing::{Options, fair};
use scrieve_hull::floating::{Body, Water};
use scrieve_offsets::Survey;
use scrieve_surface::Surface;
use scrieve_yardstick::known::as_built::{AsBuilt, Kind};
use scrieve_yardstick::known::{Family, Known, Layout, Place};
use truth::{Figures, NAMES, Truth};

/// A figure surer than this, as a part of itself, is none the readings have a say in.
const NOT_READ: f64 = 1e-7;

fn figures(surface: &Surface, draught: f64) -> Option<Figures> {
    let h = Body::new(surface).hydrostatics(draught, Water::SEA).ok()?;
    Some([h.volume, h.awp, h.lwl, h.bwl, h.cb, h.cp, h.lcb, h.lcf, h.kb, h.bmt, h.wetted_surface])
}

/// Boats as built whose figures the formula gives: the half that was looked at, and the half that was kept back. Not
/// those with a curved transom, a post under one, or ends round in plan, whose volume these integrals would not find.
const LOOKED_AT: [Kind; 8] = [
    Kind::RoundedStem,
    Kind::PlumbStem,
    Kind::SpoonBow,
    Kind::Wineglass,
    Kind::CanoeStern,
    Kind::FlatBottom,
    Kind::Tumblehome,
    Kind::WideKeel,
];
const KEPT_BACK: [Kind; 8] = [
    Kind::RoundedDoubleEnder,
    Kind::Cutaway,
    Kind::ClipperBow,
    Kind::Tuck,
    Kind::Pram,
    Kind::MultiChine,
    Kind::Reverse,
    Kind::Ellipse,
];

/// What the tables are written in. A model's millimetre at 1:8 is eight of the boat's.
const UNITS: [(&str, Place); 5] = [
    ("eighths", Place::Eighth),
    ("sixteenths", Place::Sixteenth),
    ("mm", Place::Millimetre),
    ("mm at 1:8", Place::ModelMillimetre),
    ("exact", Place::Exact),
];
const STATIONS: [usize; 4] = [8, 9, 11, 13];
/// See [`base`]; the least that all places written go into whole, or nearly.
const BASE: f64 = 0.064;
/// Stations and waterlines of readings without rounding, which are to show the truth itself.
const CLOSE: (usize, usize) = (25, 12);

/// More waterlines between the lowest and the highest where readings are not rounded.
fn close(layout: &mut Layout, place: Place) {
    if let (Place::Exact, [low, .., high]) = (place, &layout.waterlines[..]) {
        let (low, high) = (0.5 * low, *high);
        let at = |i: usize| low + (high - low) * i as f64 / (CLOSE.1 - 1) as f64;
        layout.waterlines = (0..CLOSE.1).map(at).collect();
    }
}

/// How much higher a hull stands than as drawn, m: drawn, they all have their lowest place at 50 mm, which would be
/// rounded alike in all.
fn base(seed: u64) -> f64 {
    // Steps of the golden section fall evenly, whatever the seeds.
    BASE * (seed as f64 * 0.618_033_988_749_895).fract()
}

/// One hull of a kind: her truth, draught, and her table at so many stations.
fn hull(group: usize, i: usize, seed: u64, place: Place) -> (String, Figures, f64, Survey) {
    let stations = if place == Place::Exact { CLOSE.0 } else { STATIONS[i % STATIONS.len()] };
    if group == 0 {
        let known = Known::new(Family::ALL[i % Family::ALL.len()], seed).raised(base(seed));
        let truth = Truth::new(&known);
        let mut layout = known.layout(stations);
        close(&mut layout, place);
        let survey = known.survey(&layout, place);
        return (format!("{:?}", known.family()), truth.figures(), truth.draught, survey);
    }
    let kinds = if group == 1 { &LOOKED_AT } else { &KEPT_BACK };
    let boat = AsBuilt::new(kinds[i % kinds.len()], seed).raised(base(seed));
    let truth = Truth::new(&boat);
    let mut taking = boat.taking(stations);
    close(&mut taking.lines, place);
    let mut survey = boat.survey(&taking, place);
    // The siding is the boat's own size, whatever the scale.
    survey.half_siding = boat.half_siding(0.0);
    (format!("{:?}", boat.kind()), truth.figures(), truth.draught, survey)
}

/// Student's t at 0.975: Abramowitz and Stegun 26.7.5, as the intervals of `scrieve.uncertainty` have it.
fn student(n: f64) -> f64 {
    let x = 1.959_963_984_540_054f64;
    x + (x.powi(3) + x) / (4.0 * n)
        + (5.0 * x.powi(5) + 16.0 * x.powi(3) + 3.0 * x) / (96.0 * n * n)
        + (3.0 * x.powi(7) + 19.0 * x.powi(5) + 17.0 * x.powi(3) - 15.0 * x) / (384.0 * n.powi(3))
}

/// Intervals that hold the truth, of how many; and squares of errors in standard deviations.
type Held = [(usize, usize, f64); NAMES.len()];

fn show(name: &str, held: &Held, ms: f64) {
    print!("{name:<24}");
    let share = |h: &(usize, usize, f64)| 100.0 * h.0 as f64 / h.1 as f64;
    held.iter().for_each(|h| if h.1 > 0 { print!("{:>6.1}", share(h)) } else { print!("{:>6}", "") });
    let least = held.iter().map(|h| h.1).filter(|n| *n > 0).min().unwrap_or(1);
    println!("{:>7.1}{:>7}{ms:>8.0}", 100.0 * (0.95 * 0.05 / least as f64).sqrt(), least);
}

fn main() {
    let mut words = std::env::args().skip(1).filter_map(|a| a.parse::<usize>().ok());
    let (hulls, count) = (words.next().unwrap_or(200), words.next().unwrap_or(16));
    let first = words.next().unwrap_or(5000) as u64;
    let only = std::env::var("UNIT").ok();
    let detail = std::env::var("DETAIL").is_ok();
    println!("95 % intervals that hold the truth, %; {count} draws, seeds from {first}");
    print!("{:<24}", "");
    NAMES.iter().for_each(|name| print!("{name:>6}"));
    println!("{:>7}{:>7}{:>8}", "± one", "hulls", "ms");
    for (unit, place) in
        UNITS.into_iter().filter(|u| only.as_deref().map_or(u.1 != Place::Exact, |o| o == u.0))
    {
        let mut all: Held = Default::default();
        let mut clock_all = 0.0;
        // Half of them of the families, a quarter of each half of the boats as built.
        for (group, name, hulls) in
            [(0, "families", hulls / 2), (1, "as built", hulls / 4), (2, "as built, kept back", hulls / 4)]
        {
            let mut held: Held = Default::default();
            let mut ms = 0.0;
            for i in 0..hulls {
                let (kind, truth, draught, survey) = hull(group, i, first + i as u64, place);
                let Ok(faired) = fair(&survey, &Options::default()) else {
                    println!("{kind}: not faired");
                    continue;
                };
                let clock = Instant::now();
                let draws = faired.draws(count, 0).unwrap_or_default();
                ms += clock.elapsed().as_secs_f64() * 1e3;
                let Some(value) = figures(&faired.surface, draught) else {
                    println!("{kind}: no figures");
                    continue;
                };
                let drawn: Vec<Figures> = draws.iter().filter_map(|d| figures(&d.surface, draught)).collect();
                let n = drawn.len() as f64;
                for (k, held) in held.iter_mut().enumerate() {
                    let sd = (drawn.iter().map(|d| (d[k] - value[k]).powi(2)).sum::<f64>() / n).sqrt();
                    let error = value[k] - truth[k];
                    if !truth[k].is_finite() || sd < NOT_READ * value[k] {
                        continue;
                    }
                    held.0 += usize::from(error.abs() <= student(n) * sd);
                    held.1 += 1;
                    held.2 += (error / sd).powi(2);
                    if detail {
                        let mean = drawn.iter().map(|d| d[k]).sum::<f64>() / n;
                        println!(
                            "{unit} {kind} {i} {} truth {:.5} error {error:+.5} sd {sd:.5} bias {:+.5} {:.1}",
                            NAMES[k],
                            truth[k],
                            mean - value[k],
                            error / sd
                        );
                    }
                }
            }
            show(&format!("{unit}, {name}"), &held, ms / hulls.max(1) as f64);
            for (all, own) in all.iter_mut().zip(&held) {
                *all = (all.0 + own.0, all.1 + own.1, all.2 + own.2);
            }
            clock_all += ms;
        }
        show(unit, &all, clock_all / hulls.max(1) as f64);
    }
}
