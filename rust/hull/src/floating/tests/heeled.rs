//! Righting arms.

use std::f64::consts::PI;

use scrieve_yardstick::known::{Family, Known};

use super::forms::*;
use crate::floating::{Body, Deck, FloatingError, Loading, Water, simpson};

fn load(mass: f64, x: f64, z: f64) -> Loading {
    Loading { mass, centre: [x, 0.0, z] }
}

fn degrees(heels: &[f64]) -> Vec<f64> {
    heels.iter().map(|h: &f64| h.to_radians()).collect()
}

/// Handbook, section 15: GZ = (GM + ½ BM tan²φ) sin φ.
#[test]
fn a_wall_sided_boat_rights_by_the_wall_sided_formula() {
    let (l, b, t, kg) = (6.0, 2.0, 0.5, 0.55);
    let body = Body::new(&box_hull(l, b, 1.1));
    let heels = degrees(&[1.0, 5.0, 10.0, 15.0, 20.0, 25.0]);
    let load = load(1026.021 * l * b * t, l / 2.0, kg);
    let arms = body.arms(&heels, &load, Water::SEA, Deck::Open).unwrap();
    let bm = b * b / (12.0 * t);
    for (phi, gz) in heels.iter().zip(&arms.gz) {
        close(gz.unwrap(), (t / 2.0 + bm - kg + 0.5 * bm * phi.tan().powi(2)) * phi.sin(), 1e-6);
    }
}

/// Closed form: buoyancy acts through the axis of a cylinder at every heel, right round.
#[test]
fn a_cylinder_rights_about_its_axis() {
    let (l, r, kg) = (5.0, 0.7, 0.45);
    let body = Body::new(&cylinder(l, r, 0.0));
    let heels = degrees(&[-120.0, -45.0, 0.0, 0.01, 3.0, 30.0, 60.0, 89.0, 90.0, 91.0, 135.0, 179.0, 180.0]);
    for part in [0.2, 0.5, 0.8] {
        let load = load(1026.021 * part * PI * r * r * l, l / 2.0, kg);
        let arms = body.arms(&heels, &load, Water::SEA, Deck::Decked).unwrap();
        for (phi, gz) in heels.iter().zip(&arms.gz) {
            assert!((gz.unwrap() - (r - kg) * phi.sin()).abs() < 1e-6 * r, "{phi} {gz:?}");
        }
    }
}

/// Closed form: level water meets the sheer of a box at tan φ = freeboard over half breadth.
#[test]
fn an_open_boats_curve_stops_where_water_comes_in_over_the_sheer() {
    let (l, b, t, depth) = (6.0, 2.0, 0.5, 0.8);
    let body = Body::new(&box_hull(l, b, depth));
    let load = load(1026.021 * l * b * t, l / 2.0, 0.5);
    let heels = degrees(&[0.0, 10.0, 16.0, 17.0, 40.0, -16.0, -17.0]);
    let arms = body.arms(&heels, &load, Water::SEA, Deck::Open).unwrap();
    close(arms.flooding.unwrap(), ((depth - t) / (b / 2.0)).atan(), 1e-6);
    assert_eq!(
        arms.gz.iter().map(Option::is_some).collect::<Vec<_>>(),
        [true, true, true, false, false, true, false]
    );
    let decked = body.arms(&heels, &load, Water::SEA, Deck::Decked).unwrap();
    assert_eq!(decked.flooding, arms.flooding);
    assert!(decked.gz.iter().all(Option::is_some));
    for (decked, open) in decked.gz[..3].iter().zip(&arms.gz) {
        close(decked.unwrap(), open.unwrap(), 1e-9);
    }
}

/// Closed form, immersed deck and bared bilge: a box on its side is a box.
#[test]
fn a_decked_box_on_her_side_floats_like_a_box() {
    let (l, b, t, depth, kg) = (6.0, 2.0, 0.5, 0.8, 0.3);
    let body = Body::new(&box_hull(l, b, depth));
    let load = load(1026.021 * l * b * t, l / 2.0, kg);
    let arms = body.arms(&degrees(&[90.0, 180.0]), &load, Water::SEA, Deck::Decked).unwrap();
    // Lying on her side, up is -y: the centre of buoyancy stands at half her depth, which is across.
    close(arms.gz[0].unwrap(), depth / 2.0 - kg, 1e-6);
    assert!(arms.gz[1].unwrap().abs() < 1e-7);
}

#[test]
fn at_a_small_heel_the_arm_is_gm_times_the_heel() {
    let body = Body::new(&known(&Known::new(Family::RoundBilge, 4), 16));
    let h = body.hydrostatics(body.lowest + 0.4 * (body.lowest_sheer - body.lowest), Water::SEA).unwrap();
    let kg = h.kb + 0.3;
    let load = load(h.mass, h.lcb, kg);
    let arms = body.arms(&[1e-4, -1e-4, 1e-9], &load, Water::SEA, Deck::Open).unwrap();
    close(arms.gz[0].unwrap(), (h.km - kg) * 1e-4, 1e-5);
    close(arms.gz[1].unwrap(), -(h.km - kg) * 1e-4, 1e-5);
    assert!((arms.gz[2].unwrap() - (h.km - kg) * 1e-9).abs() < 1e-13);
}

/// Clips a polygon by up · p ≤ reach (Sutherland and Hodgman, 1974), in (y, z).
fn clip(polygon: &[[f64; 2]], up: [f64; 2], reach: f64) -> Vec<[f64; 2]> {
    let depth = |p: [f64; 2]| reach - up[0] * p[0] - up[1] * p[1];
    let mut kept = Vec::new();
    for (i, &a) in polygon.iter().enumerate() {
        let b = polygon[(i + 1) % polygon.len()];
        let (da, db) = (depth(a), depth(b));
        if da >= 0.0 {
            kept.push(a);
        }
        if (da >= 0.0) != (db >= 0.0) {
            let t = da / (da - db);
            kept.push([a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]);
        }
    }
    kept
}

fn shoelace(polygon: &[[f64; 2]]) -> [f64; 3] {
    let mut sums = [0.0; 3];
    for (i, a) in polygon.iter().enumerate() {
        let b = polygon[(i + 1) % polygon.len()];
        let cross = a[0] * b[1] - b[0] * a[1];
        sums[0] += 0.5 * cross;
        sums[1] += cross * (a[0] + b[0]) / 6.0;
        sums[2] += cross * (a[1] + b[1]) / 6.0;
    }
    sums
}

/// Another way: sections of the hull's own formula clipped by the water and added up by Simpson's rule.
#[test]
fn arms_agree_with_clipped_sections_of_the_formula() {
    for family in [Family::RakedTransom, Family::DoubleEnder, Family::Tumblehome] {
        let hull = Known::new(family, 9);
        let body = Body::new(&known(&hull, 20));
        let h =
            body.hydrostatics(body.lowest + 0.42 * (body.lowest_sheer - body.lowest), Water::SEA).unwrap();
        let load = load(h.mass, h.lcb + 0.1, h.kb + 0.35);
        let [fore, aft] = body.ends;
        let stations = 800;
        // A hair inside the ends, where a transom cuts her off short.
        let (fore, aft) = (fore + 1e-9, aft - 1e-9);
        let dx = (aft - fore) / stations as f64;
        let foot = hull.stem_x(hull.stem_heights().0).unwrap_or(0.0);
        let heel_x = hull.stern_x(hull.stern_heights().0).unwrap_or(f64::MAX);
        let sections: Vec<(f64, Vec<[f64; 2]>)> = (0..=stations)
            .map(|i| {
                let x = fore + dx * i as f64;
                let top = hull.sheer(x).1;
                let mut low = hull.rabbet(x.clamp(foot, heel_x)) - 0.05;
                // The section runs down to where rabbet, stem or after end bound it.
                let inside = |z: f64| {
                    let rabbet = hull.rabbet(x.clamp(foot, heel_x));
                    z >= rabbet && fore_end(&hull, z) <= x && x <= hull.after_end(z)
                };
                let mut high = top - 1e-9;
                if !inside(high) {
                    return (x, Vec::new());
                }
                for _ in 0..50 {
                    let middle = 0.5 * (low + high);
                    if inside(middle) { high = middle } else { low = middle }
                }
                let side: Vec<[f64; 2]> = (0..=300)
                    .map(|k| high + (top - high) * f64::from(k) / 300.0)
                    .map(|z| [hull.half_breadth(x, z).max(hull.half_siding()), z])
                    .collect();
                let other = side.iter().rev().map(|p| [-p[0], p[1]]);
                (x, side.iter().copied().chain(other).collect())
            })
            .collect();
        for degrees in [8.0, 25.0, 50.0, 80.0] {
            let heel = f64::to_radians(degrees);
            let balance = body.balance(&load, Water::SEA, heel, None).unwrap();
            let level = balance.level;
            let sums: Vec<[f64; 4]> = sections
                .iter()
                .map(|(x, polygon)| {
                    let wet = clip(polygon, [level.up[1], level.up[2]], level.reach - level.up[0] * x);
                    let [area, y, z] = shoelace(&wet);
                    [area, area * x, y, z]
                })
                .collect();
            let [volume, x, y, z] =
                [0, 1, 2, 3].map(|k| simpson(&sums.iter().map(|s| s[k]).collect::<Vec<_>>(), dx).unwrap());
            close(volume, h.volume, 5e-5);
            let apart = [x / volume, y / volume, z / volume];
            let apart: [f64; 3] = std::array::from_fn(|k| apart[k] - load.centre[k]);
            let gz: f64 = (0..3).map(|k| apart[k] * level.across[k]).sum();
            let trim: f64 = (0..3).map(|k| apart[k] * level.along[k]).sum();
            assert!((gz - balance.arm).abs() < 1e-4, "{family:?} {degrees} {gz} {}", balance.arm);
            assert!(trim.abs() < 5e-4, "{family:?} {degrees} {trim}");
        }
    }
}

/// The righting arm is the slope of the height of the centre of mass over that of buoyancy (Moseley).
#[test]
fn work_done_in_heeling_is_the_area_under_the_curve() {
    let body = Body::new(&known(&Known::new(Family::FirmBilge, 6), 16));
    let h = body.hydrostatics(body.lowest + 0.4 * (body.lowest_sheer - body.lowest), Water::SEA).unwrap();
    let load = load(h.mass, h.lcb, h.kb + 0.3);
    let height = |heel: f64| {
        let at = body.balance(&load, Water::SEA, heel, None).unwrap();
        (0..3).map(|k| at.level.up[k] * (load.centre[k] - at.buoyancy[k])).sum::<f64>()
    };
    let n = 40;
    let heels: Vec<f64> = (0..=n).map(|i| f64::from(i) / f64::from(n)).collect();
    let arms = body.arms(&heels, &load, Water::SEA, Deck::Decked).unwrap();
    // GZ is athwart the heading; heel is about the boat's own axis, which trim inclines.
    let slopes: Vec<f64> =
        arms.gz.iter().zip(&arms.trim).map(|(gz, t)| gz.unwrap() * t.unwrap().cos()).collect();
    close(simpson(&slopes, 1.0 / f64::from(n)).unwrap(), height(1.0) - height(0.0), 1e-5);
}

#[test]
fn heels_and_loads_that_make_no_sense_are_refused() {
    let body = Body::new(&box_hull(4.0, 1.0, 0.5));
    let arms = |heel: f64, mass: f64| body.arms(&[heel], &load(mass, 2.0, 0.2), Water::SEA, Deck::Open);
    assert!(matches!(arms(f64::NAN, 500.0), Err(FloatingError::Argument(_))));
    assert!(matches!(arms(4.0, 500.0), Err(FloatingError::Argument(_))));
    assert!(matches!(arms(0.1, 0.0), Err(FloatingError::Argument(_))));
    assert!(matches!(arms(0.1, 5000.0), Err(FloatingError::Sinks { .. })));
}
