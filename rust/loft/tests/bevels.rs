//! Bevels of moulds against the normals of hulls in closed form, from the rabbet to the sheer (handbook, section 9).

mod shapes;

use kurbo::{ParamCurve, Point, Shape as _};
use scrieve_loft::MarkKind;
use scrieve_loft::moulds::{MouldOptions, Notch, Stations, moulds};
use scrieve_loft::ribbands::{RibbandAt, parse_ribbands};
use scrieve_offsets::Survey;
use scrieve_surface::Patch;
use scrieve_yardstick::known::{Family, Known};

/// A bevel is cut to half a degree with care (common practice); 0.3 is asked for here.
const WITHIN: f64 = 0.3;

fn options(planking: f64, xs: &[f64]) -> MouldOptions {
    MouldOptions {
        planking: Some(planking),
        stations: Stations::At(xs.to_vec()),
        limb: None,
        ..MouldOptions::default()
    }
}

/// The formula's own outward normal, by central differences.
fn normal(known: &Known, x: f64, z: f64) -> [f64; 3] {
    let h = 1e-6;
    let by_x = (known.half_breadth(x + h, z) - known.half_breadth(x - h, z)) / (2.0 * h);
    let by_z = (known.half_breadth(x, z + h) - known.half_breadth(x, z - h)) / (2.0 * h);
    let long = (1.0 + by_x * by_x + by_z * by_z).sqrt();
    [-by_x / long, 1.0 / long, -by_z / long]
}

#[test]
fn bevels_are_those_of_the_formula_from_the_rabbet_to_the_sheer() {
    let mut count = 0;
    for family in Family::ALL {
        // The chined family has a test of its own, below.
        if family == Family::HardChine {
            continue;
        }
        for seed in 1..4 {
            let known = Known::new(family, seed);
            // The double-enders' form has no slope at the very stern, and no patch follows it there.
            let aft = if family == Family::DoubleEnder { 0.72 } else { 0.93 };
            let xs: Vec<f64> = [0.03, 0.06, 0.12, 0.25, 0.5, aft].map(|t| t * known.length()).to_vec();
            let hull = shapes::known(&known, &xs);
            // The last is thicker than the half-siding: the lower end is cut to the centreline.
            for planking in [0.0, 0.0127, 0.04] {
                let set = moulds(&hull, &options(planking, &xs)).expect("moulds");
                for mould in &set.moulds {
                    assert!(mould.bevels[0].at == "lower end" && mould.bevels[0].spot.x >= -1e-9);
                    for b in &mould.bevels {
                        // Square through the planking from the mould's edge to its outside.
                        let (mut x, mut z) = (mould.x, b.spot.y);
                        for _ in 0..200 {
                            let n = normal(&known, x, z);
                            (x, z) = (mould.x + planking * n[0], b.spot.y + planking * n[2]);
                        }
                        let exact = normal(&known, x, z)[0].asin();
                        let off = (b.angle - exact).to_degrees().abs();
                        assert!(
                            off < WITHIN,
                            "{family:?} {seed} x {:.2} {} {planking}: {off}",
                            mould.x,
                            b.at
                        );
                        count += 1;
                    }
                }
            }
        }
    }
    assert!(count > 800, "{count}");
}

/// A bottom that rises and sides that flare, both plane: the bevel below the chine is the bottom's, above it the
/// sides', and both are given.
#[test]
fn at_a_chine_each_sides_planking_has_its_own_bevel() {
    // Chine y = 0.6 - 0.05 x, z = 0.3; bottom down to the rabbet at y = 0.03, z = 0.1 + 0.02 x; sides flare 0.25.
    let (hull, bottom, side) = chined();
    let asked =
        MouldOptions { limb: Some(0.1), ribbands: vec![RibbandAt::Chine(1)], ..options(0.0127, &[1.0, 2.0]) };
    let set = moulds(&hull, &asked).expect("moulds");
    for mould in &set.moulds {
        let at = |name: &str| mould.bevels.iter().find(|b| b.at == name).expect("a bevel");
        for (name, n) in [
            ("lower end", bottom(mould.x, 0.0)),
            ("chine below", bottom(mould.x, 1.0)),
            ("chine above", side),
            ("sheer", side),
        ] {
            let exact = n[0].atan2(n[1].hypot(n[2]));
            assert!(
                (at(name).angle - exact).to_degrees().abs() < 0.06,
                "{name} {}",
                at(name).angle.to_degrees()
            );
        }
        assert!((at("chine below").spot.distance(at("chine above").spot)) < 1e-9);
        let marks: Vec<_> = mould.pieces[0].marks.iter().filter(|m| m.kind == MarkKind::Chine).collect();
        assert!(marks.len() == 1 && marks[0].label == "CHINE");
        let corner = at("chine below").spot;
        let start = marks[0].path.segments().next().expect("a tick").start();
        assert!(Point::new(start.x.abs(), start.y).distance(corner) < 1e-3);
        // A ribband told along the chine crosses there, and has both bevels too.
        assert!(
            at("R1 below").spot.distance(corner) < 1e-9 && at("R1 above").angle == at("chine above").angle
        );
    }
}

#[test]
fn a_chine_is_notched_for_its_chine_log() {
    let (hull, ..) = chined();
    let notch = Some(Notch { width: 0.04, depth: 0.02 });
    let asked =
        MouldOptions { ribband_notch: notch, ribbands: vec![RibbandAt::Chine(1)], ..options(0.0127, &[2.0]) };
    let plain = MouldOptions { ribband_notch: None, ..asked.clone() };
    let area = |o: &MouldOptions| moulds(&hull, o).expect("moulds").moulds[0].pieces[0].outline.area();
    let cut = area(&plain) - area(&asked);
    // As wide as it is deep along the chord, and the corner beyond the chord.
    assert!(cut > 0.04 * 0.02 * 0.95 && cut < 0.04 * (0.02 + 0.01), "{cut}");
    for bevelled in [false, true] {
        let asked = MouldOptions { bevelled, limb: Some(0.1), ..asked.clone() };
        let set = moulds(&hull, &asked).expect("moulds");
        assert!(set.failures.is_empty() && set.moulds.len() == 1, "{:?}", set.failures);
    }
}

#[test]
fn a_chine_is_named_in_words_and_one_that_is_not_there_is_told() {
    let (hull, ..) = chined();
    assert_eq!(parse_ribbands("chine", &hull), Ok(vec![RibbandAt::Chine(1)]));
    assert_eq!(parse_ribbands("0.3m, chine 1", &hull).expect("two").len(), 2);
    let error = parse_ribbands("chine 2", &hull).expect_err("no second chine").to_string();
    assert!(error.contains("she has one"), "{error}");
    let known = Known::new(Family::RoundBilge, 1);
    let error =
        parse_ribbands("chine", &shapes::known(&known, &[1.0, 2.0])).expect_err("no chine").to_string();
    assert!(error.contains("she has no chine"), "{error}");
}

type Normal = [f64; 3];

/// Plane sides and a bottom of straight sections, with the bottom's outward normal at x and a share of the way up,
/// and the sides'.
fn chined() -> (scrieve_hull::Boat, impl Fn(f64, f64) -> Normal, Normal) {
    let chine = |x: f64| [x, 0.6 - 0.05 * x, 0.3];
    let rabbet = |x: f64| [x, 0.03, 0.1 + 0.02 * x];
    let bottom = Patch::interpolating(&shapes::even(20), &shapes::even(8), |u, v| {
        let (a, b) = (rabbet(4.0 * u), chine(4.0 * u));
        [0, 1, 2].map(|k| a[k] + (b[k] - a[k]) * v)
    });
    let side = Patch::interpolating(&shapes::even(20), &shapes::even(8), |u, v| {
        let [x, y, z] = chine(4.0 * u);
        [x, y + 0.25 * 0.5 * v, z + 0.5 * v]
    });
    let hull = shapes::of_patches(
        &[1.0, 2.0, 3.0],
        "",
        Survey { half_siding: 0.03, ..Survey::default() },
        vec![bottom, side],
    );
    let of_bottom = move |x: f64, part: f64| {
        let h = 1e-5;
        let at = |x: f64, v: f64| [0, 1, 2].map(|k| rabbet(x)[k] + (chine(x)[k] - rabbet(x)[k]) * v);
        let along = [0, 1, 2].map(|k| at(x + h, part)[k] - at(x - h, part)[k]);
        let up = [0, 1, 2].map(|k| at(x, part + h)[k] - at(x, part - h)[k]);
        cross(up, along)
    };
    (hull, of_bottom, [0.05, 1.0, -0.25])
}

fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}
