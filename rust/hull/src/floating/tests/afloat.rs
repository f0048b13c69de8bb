//! Flotation under a load.

use scrieve_yardstick::known::{Family, Known};

use super::forms::*;
use crate::floating::{Body, Deck, FloatingError, Loading, Water, Weight};

fn load(mass: f64, x: f64, y: f64, z: f64) -> Loading {
    Loading { mass, centre: [x, y, z] }
}

#[test]
fn a_boat_loaded_to_her_displacement_at_a_draught_floats_at_that_draught() {
    for family in [Family::RoundBilge, Family::DoubleEnder, Family::FlaredBow, Family::Tumblehome] {
        let body = Body::new(&known(&Known::new(family, 11), 16));
        let draught = body.lowest + 0.38 * (body.lowest_sheer - body.lowest);
        let h = body.hydrostatics(draught, Water::FRESH).unwrap();
        let afloat = body.float(&load(h.mass, h.lcb, 0.0, h.kb), Water::FRESH, Deck::Open).unwrap();
        assert!((afloat.draught - draught).abs() < 1e-7, "{family:?} {}", afloat.draught);
        assert!(afloat.trim.abs() < 1e-6 && afloat.heel == 0.0);
        close(afloat.gm, h.bmt, 1e-5);
    }
}

/// Archimedes: ∇ = m/ρ, and the centres in line; asked for within 0.1 mm.
#[test]
fn she_trims_until_the_centres_are_in_line() {
    let body = Body::new(&known(&Known::new(Family::RakedTransom, 5), 16));
    for (mass, lcg) in [(250.0, 2.2), (400.0, 2.9), (320.0, 2.6)] {
        let kg = 0.4;
        let afloat = body.float(&load(mass, lcg, 0.0, kg), Water::SEA, Deck::Open).unwrap();
        close(afloat.volume, mass / 1026.021, 1e-9);
        let [x, _, z] = afloat.centre_of_buoyancy;
        let apart = (x - lcg) * afloat.trim.cos() + (z - kg) * afloat.trim.sin();
        assert!(apart.abs() < 1e-4, "{apart}");
        close(afloat.draught_at(afloat.midships), afloat.draught, 1e-12);
    }
}

/// Closed form: the centre of a box's wedge of trim.
#[test]
fn a_box_trims_as_its_wedges_say() {
    let (l, b, t) = (6.0, 2.0, 0.5);
    let body = Body::new(&box_hull(l, b, 1.5));
    let (slope, kg) = (0.05f64, 0.3);
    let buoyancy = [l / 2.0 + l * l * slope / (12.0 * t), t / 2.0 + l * l * slope * slope / (24.0 * t)];
    let lcg = buoyancy[0] + (buoyancy[1] - kg) * slope;
    let afloat = body.float(&load(1026.021 * l * b * t, lcg, 0.0, kg), Water::SEA, Deck::Open).unwrap();
    close(afloat.trim.tan(), slope, 1e-6);
    close(afloat.draught, t, 1e-8);
    close(afloat.draught_at(l), t + slope * l / 2.0, 1e-7);
}

/// Closed form: (GM + ½ BM tan²φ) sin φ = TCG cos φ.
#[test]
fn crew_to_windward_heel_a_wall_sided_boat_by_the_wall_sided_formula() {
    let (l, b, t) = (6.0, 2.0, 0.5);
    let body = Body::new(&box_hull(l, b, 1.5));
    let mass = 1026.021 * l * b * t;
    let boat = Weight { mass: mass - 150.0, at: [l / 2.0, 0.0, 0.4] };
    let crew = |y: f64| [Weight { mass: 75.0, at: [2.0, y, 0.6] }, Weight { mass: 75.0, at: [4.0, y, 0.6] }];
    let loading = Loading::of(&[&[boat][..], &crew(-0.8)].concat()).unwrap();
    let afloat = body.float(&loading, Water::SEA, Deck::Open).unwrap();
    assert!(afloat.heel < 0.0, "she heels to the side her crew sit on");
    let (phi, bm) = (-afloat.heel, b * b / (12.0 * t));
    let gm = t / 2.0 + bm - loading.centre[2];
    close((gm + 0.5 * bm * phi.tan().powi(2)) * phi.sin(), -loading.centre[1] * phi.cos(), 1e-6);
    close(afloat.draught, t, 1e-7);
    let other = body
        .float(&Loading::of(&[&[boat][..], &crew(0.8)].concat()).unwrap(), Water::SEA, Deck::Open)
        .unwrap();
    assert_eq!((other.heel, other.trim), (-afloat.heel, afloat.trim));
}

#[test]
fn a_load_she_cannot_carry_is_named() {
    let body = Body::new(&box_hull(4.0, 1.0, 0.5));
    let most = 1026.021 * 2.0;
    let of = |loading| body.float(&loading, Water::SEA, Deck::Open);
    assert!(matches!(of(load(most * 1.01, 2.0, 0.0, 0.2)), Err(FloatingError::Sinks { .. })));
    assert!(matches!(of(load(most * 0.97, 2.03, 0.0, 0.2)), Err(FloatingError::Swamped { .. })));
    assert!(matches!(
        of(load(most * 0.5, 3.9, 0.0, 0.2)),
        Err(FloatingError::NoTrim { .. } | FloatingError::Swamped { .. })
    ));
    assert!(matches!(of(load(most * 0.5, 2.0, 0.3, 3.0)), Err(FloatingError::Capsizes { .. })));
    assert!(matches!(of(load(-5.0, 2.0, 0.0, 0.2)), Err(FloatingError::Argument(_))));
    assert!(matches!(of(load(500.0, f64::NAN, 0.0, 0.2)), Err(FloatingError::Argument(_))));
    assert!(matches!(Loading::of(&[]), Err(FloatingError::Argument(_))));
}
