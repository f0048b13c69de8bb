//! Shapes that fairing must leave in where the readings carry them, seen in the hull's own lines.

use scrieve_fairing::{Options, fair};
use scrieve_hull::Hull;
use scrieve_yardstick::known::{Family, Known, Place, Proportions};

fn faired(hull: &Known) -> Hull {
    let survey = hull.survey(&hull.layout(12), Place::Eighth);
    Hull::from_surface(fair(&survey, &Options::default()).expect("a surface").surface)
}

/// Curvature of the middle one of three points, 1/m: positive where they turn left.
fn turn(p: &[(f64, f64)]) -> f64 {
    let (a, b) = ((p[1].0 - p[0].0, p[1].1 - p[0].1), (p[2].0 - p[1].0, p[2].1 - p[1].1));
    let angle = (a.0 * b.1 - a.1 * b.0).atan2(a.0 * b.0 + a.1 * b.1);
    angle / (0.5 * (a.0.hypot(a.1) + b.0.hypot(b.1)))
}

#[test]
fn a_hollow_waterline_stays_hollow() {
    let stated = Proportions { length: 5.0, beam: 1.6, transom_rake: 0.1, entry: 1.3 };
    let known = Known::new(Family::RoundBilge, 4).with(stated);
    let hull = faired(&known);
    let z = 0.5 * (known.rabbet(2.5) + known.sheer(2.5).1);
    let (mut hollow, mut count) = (0.0, 0);
    for i in 0..12 {
        let x = 0.6 + 0.08 * f64::from(i);
        let of = |breadth: &dyn Fn(f64) -> f64| {
            let at = |x: f64| (x, breadth(x));
            turn(&[at(x - 0.15), at(x), at(x + 0.15)])
        };
        let truly = of(&|x| known.half_breadth(x, z));
        let ours = of(&|x| hull.half_breadth(x, z).expect("on the hull"));
        if truly > 0.03 {
            hollow += truly;
            count += 1;
            assert!(ours > 0.0, "filled at x = {x}: {ours:.3} against {truly:.3} 1/m");
        }
        assert!((ours - truly).abs() < 0.06, "{ours:.3} against {truly:.3} 1/m at x = {x}");
    }
    assert!(count > 2 && hollow > 0.1, "the known hull is not hollow: {count} {hollow}");
}

#[test]
fn reverse_in_the_sections_of_a_flared_bow_stays_in() {
    let known = Known::new(Family::FlaredBow, 3);
    let hull = faired(&known);
    let mut reversed = 0;
    for i in 1..10 {
        let x = 0.04 * f64::from(i) * known.length();
        let truly: Vec<f64> = known.section(x, 41).windows(3).map(turn).collect();
        let ours: Vec<_> =
            hull.section(x).expect("a section").points(41).iter().map(|p| (p[1], p[2])).collect();
        let ours: Vec<f64> = ours.windows(3).map(turn).collect();
        let hollow = |k: &[f64]| k.iter().copied().fold(f64::MAX, f64::min);
        let full = |k: &[f64]| k.iter().copied().fold(f64::MIN, f64::max);
        // The bow's section is hollow all through, farther aft it is full all through.
        if full(&truly) < -0.03 {
            reversed += 1;
            assert!(full(&ours) < 0.0, "at x = {x:.2}: {ours:.3?} against {truly:.3?}");
        }
        for (ours, truly) in [(hollow(&ours), hollow(&truly)), (full(&ours), full(&truly))] {
            assert!((ours - truly).abs() < 0.06, "{ours:.3} against {truly:.3} 1/m at x = {x:.2}");
        }
    }
    assert!(reversed > 0, "the known hull has no reverse");
}
