//! What a loftsman turns and what fairing must leave alone, on hulls in closed form.

use scrieve_fairing::{Faired, Options, fair};
use scrieve_offsets::{Axis, LineReading, RefLine, Spot, Survey};
use scrieve_surface::Patch;
use scrieve_yardstick::known::{Family, Known, Place};

fn surveyed(family: Family, seed: u64) -> (Known, Survey) {
    let hull = Known::new(family, seed);
    let survey = hull.survey(&hull.layout(12), Place::Eighth);
    (hull, survey)
}

fn faired(survey: &Survey, stiffness: f64) -> Faired {
    fair(survey, &Options { stiffness, ..Options::default() }).expect("a surface")
}

/// Curvature of the curve with first and second derivative `d` and `dd` in a plane, 1/m.
fn curvature(d: (f64, f64), dd: (f64, f64)) -> f64 {
    (d.0 * dd.1 - d.1 * dd.0) / d.0.hypot(d.1).powi(3)
}

/// Curvature of the section line u = constant, square to the stations, 1/m.
fn across(patch: &Patch, u: f64, v: f64) -> f64 {
    let j = patch.jet(u, v);
    curvature((j.dv[1], j.dv[2]), (j.dvv[1], j.dvv[2]))
}

/// How unfair the surface is along the boat: the mean square of the third difference of half-breadth and
/// height along lines of constant v, which no fair sweep has much of.
fn unrest(faired: &Faired) -> f64 {
    let mut sum = 0.0;
    for patch in &faired.surface.patches {
        for v in [0.2, 0.4, 0.6, 0.8] {
            let at: Vec<_> = (4..=56).map(|i| patch.point(f64::from(i) / 60.0, v)).collect();
            for w in at.windows(4) {
                for k in 1..3 {
                    sum += (w[3][k] - 3.0 * w[2][k] + 3.0 * w[1][k] - w[0][k]).powi(2);
                }
            }
        }
    }
    sum
}

#[test]
fn the_stiffer_the_batten_the_less_it_bends_and_the_farther_it_passes_from_the_nails() {
    for family in [Family::RoundBilge, Family::FlaredBow, Family::Tumblehome] {
        let (_, survey) = surveyed(family, 5);
        let turned: Vec<(f64, f64)> = [0.5, 1.0, 2.0, 4.0]
            .into_iter()
            .map(|stiffness| {
                let faired = fair(&survey, &Options { stiffness, robust: false }).expect("a surface");
                let missed = faired.residuals.iter().map(|r| (r.read - r.faired).powi(2)).sum::<f64>();
                (unrest(&faired), missed)
            })
            .collect();
        for pair in turned.windows(2) {
            assert!(pair[1].0 < pair[0].0, "{family:?} bends more: {turned:?}");
            assert!(pair[1].1 > pair[0].1, "{family:?} passes nearer: {turned:?}");
        }
    }
}

#[test]
fn tumblehome_stays_in() {
    let (hull, survey) = surveyed(Family::Tumblehome, 3);
    let faired = faired(&survey, 1.0);
    for u in [0.45, 0.55, 0.65] {
        let patch = &faired.surface.patches[0];
        let sheer = patch.point(u, 1.0);
        let widest = (0..=50).map(|i| patch.point(u, f64::from(i) / 50.0)[1]).fold(0.0, f64::max);
        let (y, z) = hull.sheer(sheer[0]);
        let points = hull.section(sheer[0], 200);
        let truly = points.iter().map(|p| p.0).fold(0.0, f64::max) - y;
        assert!(truly > 5e-3 && (sheer[2] - z).abs() < 5e-3);
        // A sheer and a widest breadth to the eighth are each worth 0.9 mm; their difference, twice its sd, 2.6.
        assert!((widest - sheer[1] - truly).abs() < 2.6e-3, "{} against {truly}", widest - sheer[1]);
    }
}

#[test]
fn a_flat_floor_stays_flat() {
    // A chine boat whose bottom is let down flat: chine and buttocks of the bottom at the rabbet's height, and
    // sides of which nothing else is read.
    let (hull, mut survey) = surveyed(Family::HardChine, 3);
    let flat = |x: f64| (hull.rabbet(x) / Place::Eighth.metres()).round() * Place::Eighth.metres();
    let chine = |l: &LineReading| l.line == RefLine::Chine(0);
    for l in survey.lines.iter_mut().filter(|l| chine(l) && l.axis == Axis::Height) {
        l.value = flat(l.x);
    }
    let bottom = |s: &Spot| hull.chine(s.x).is_some_and(|c| s.z < c.1);
    survey.spots.retain(|s| bottom(s) && s.along == (0.0, 1.0));
    for s in &mut survey.spots {
        if bottom(s) {
            s.z = flat(s.x);
        }
    }
    assert!(survey.spots.iter().filter(|s| bottom(s)).count() > 8);
    let patch = &faired(&survey, 1.0).surface.patches[0];
    for i in 7..=18 {
        let u = f64::from(i) / 20.0;
        let (rabbet, chine) = (patch.point(u, 0.0), patch.point(u, 1.0));
        for k in 1..10 {
            let [_, y, z] = patch.point(u, f64::from(k) / 10.0);
            let chord = rabbet[2] + (chine[2] - rabbet[2]) * (y - rabbet[1]) / (chine[1] - rabbet[1]);
            assert!((z - chord).abs() < 1e-3, "{:.2} mm off flat at u = {u}", 1e3 * (z - chord));
        }
        assert!((chine[2] - rabbet[2]).abs() < 2e-3);
    }
}

#[test]
fn the_surface_breaks_at_the_chine_and_there_only() {
    let (hull, survey) = surveyed(Family::HardChine, 3);
    let faired = faired(&survey, 1.0);
    let [bottom, side] = &faired.surface.patches[..] else { unreachable!("two strakes") };
    for i in 3..=19 {
        let u = f64::from(i) / 20.0;
        let angle = |patch: &Patch, v: f64| {
            let j = patch.jet(u, v);
            j.dv[2].atan2(j.dv[1])
        };
        // The break itself: the angle between the panels as the hull has it.
        let x = bottom.point(u, 1.0)[0];
        let (low, high) = (angle(bottom, 1.0), angle(side, 0.0));
        assert!(high - low > 0.15, "no break at x = {x}");
        let (yc, zc) = hull.chine(x).expect("a chine");
        let truly = |up: bool| {
            let z = if up { zc + 0.02 } else { zc - 0.02 };
            let y = hull.half_breadth(x, z);
            (if up { z - zc } else { zc - z }).atan2(if up { y - yc } else { yc - y })
        };
        if x < 0.95 * hull.length() {
            let broken = truly(true) - truly(false);
            assert!((high - low - broken).abs() < 0.12, "{} against {broken} at x = {x}", high - low);
        }
        // And nowhere else: curvature is finite and runs on, strake by strake, edge to edge.
        for patch in [bottom, side] {
            let bend: Vec<f64> = (0..=200).map(|k| across(patch, u, f64::from(k) / 200.0)).collect();
            assert!(bend.iter().all(|k| k.abs() < 25.0), "{u}: {bend:.1?}");
            let jump = bend.windows(2).map(|k| (k[1] - k[0]).abs()).fold(0.0, f64::max);
            assert!(jump < 1.0, "a jump of {jump} 1/m at u = {u}");
        }
    }
}

#[test]
fn mutilated_surveys_end_in_a_surface_or_an_error_within_seconds() {
    let mut state = 0x9e37_79b9_7f4a_7c15u64;
    let mut random = move |n: usize| {
        // Marsaglia, "Xorshift RNGs", J. Stat. Software 8 (2003).
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state % n as u64) as usize
    };
    let mut refused = 0;
    for round in 0..200 {
        let family = Family::ALL[round % Family::ALL.len()];
        let hull = Known::new(family, round as u64);
        let mut survey = hull.survey(&hull.layout(6 + random(4)), Place::Eighth);
        for _ in 0..1 + random(12) {
            let wild = [0.0, -1.0, 1e-9, 1e3, 1e9, 0.3][random(6)];
            let (lines, spots, stem) = (survey.lines.len(), survey.spots.len(), survey.stem.len());
            match random(12) {
                0 if lines > 0 => survey.lines[random(lines)].value = wild,
                1 if lines > 0 => survey.lines[random(lines)].x = wild,
                2 if lines > 0 => drop(survey.lines.remove(random(lines))),
                3 if spots > 0 => survey.spots[random(spots)].y = wild,
                4 if spots > 0 => survey.spots[random(spots)].z *= wild,
                5 if spots > 0 => survey.spots[random(spots)].x = wild,
                6 if spots > 0 => survey.spots.truncate(random(spots)),
                7 if stem > 0 => survey.stem[random(stem)].x = wild,
                8 if stem > 0 => survey.stem.truncate(random(stem)),
                9 if spots > 0 => {
                    let spot = survey.spots[random(spots)];
                    survey.spots.extend([spot; 5]);
                }
                10 => survey.transom = None,
                11 => survey.half_siding = wild,
                _ => {}
            }
        }
        let clock = std::time::Instant::now();
        match fair(&survey, &Options::default()) {
            Ok(faired) => assert!(faired.residuals.iter().all(|r| r.faired.is_finite()), "round {round}"),
            Err(error) => {
                refused += 1;
                assert!(!error.to_string().is_empty());
            }
        }
        let took = clock.elapsed().as_secs_f64();
        assert!(took < 10.0, "round {round} took {took:.2} s");
    }
    assert!((1..200).contains(&refused), "{refused} refused");
}
