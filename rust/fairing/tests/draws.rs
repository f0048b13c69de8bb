//! Hulls the readings leave possible: drawn about the faired one, as far apart as its uncertainty says.

use scrieve_fairing::{Faired, Options, fair};
use scrieve_notation::Mark;
use scrieve_offsets::Survey;
use scrieve_surface::Surface;
use scrieve_yardstick::known::{Family, Known, Place};

fn faired(survey: &Survey) -> Faired {
    fair(survey, &Options::default()).expect("a surface")
}

/// Places on a patch clear of its edges.
fn places() -> impl Iterator<Item = (f64, f64)> {
    (1..10).flat_map(|i| (1..8).map(move |j| (f64::from(i) / 10.0, f64::from(j) / 8.0)))
}

/// How far the draws lie off a faired hull at (u, v) of a patch, along its normal, m: to first order, so that
/// what moves along the surface does not count.
fn off(hull: &Faired, draws: &[Faired], patch: usize, (u, v): (f64, f64)) -> Vec<f64> {
    let j = hull.surface.patches[patch].jet(u, v);
    let n = [
        j.du[1] * j.dv[2] - j.du[2] * j.dv[1],
        j.du[2] * j.dv[0] - j.du[0] * j.dv[2],
        j.du[0] * j.dv[1] - j.du[1] * j.dv[0],
    ];
    let norm = n.iter().map(|c| c * c).sum::<f64>().sqrt();
    let along = |d: &Faired| {
        let p = d.surface.patches[patch].point(u, v);
        (0..3).map(|k| n[k] / norm * (p[k] - j.p[k])).sum()
    };
    draws.iter().map(along).collect()
}

/// How far (x, y, z) lies off a surface, m, by Newton's method for the nearest point.
fn distance(surface: &Surface, p: [f64; 3]) -> f64 {
    let dot = |a: [f64; 3], b: [f64; 3]| a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
    let mut best = f64::MAX;
    for patch in &surface.patches {
        for (u0, v0) in places() {
            let (mut u, mut v) = (u0, v0);
            for _ in 0..20 {
                let j = patch.jet(u, v);
                let r = [p[0] - j.p[0], p[1] - j.p[1], p[2] - j.p[2]];
                let (a, b, c) = (dot(j.du, j.du), dot(j.du, j.dv), dot(j.dv, j.dv));
                let (d, e, det) = (dot(j.du, r), dot(j.dv, r), a * c - b * b);
                u = (u + ((c * d - b * e) / det).clamp(-0.1, 0.1)).clamp(0.0, 1.0);
                v = (v + ((a * e - b * d) / det).clamp(-0.1, 0.1)).clamp(0.0, 1.0);
            }
            let j = patch.point(u, v);
            let r = [p[0] - j[0], p[1] - j[1], p[2] - j[2]];
            best = best.min(dot(r, r).sqrt());
        }
    }
    best
}

#[test]
fn draws_scatter_about_the_faired_hull_as_its_uncertainty_says() {
    // A mean of n draws is off by sd/√n, and their standard deviation by a part 1/√(2n) of itself; what the
    // parameters leave open moves the mean a little besides.
    const N: usize = 256;
    for family in [Family::RakedTransom, Family::DoubleEnder, Family::HardChine] {
        let known = Known::new(family, 31);
        let hull = faired(&known.survey(&known.layout(11), Place::Eighth));
        let draws = hull.draws(N, 4).expect("draws");
        let (mut ratios, mut means) = (Vec::new(), Vec::new());
        for patch in 0..hull.surface.patches.len() {
            for at in places() {
                let sd = hull.sd(patch, at.0, at.1);
                let off = off(&hull, &draws, patch, at);
                let mean = off.iter().sum::<f64>() / N as f64;
                let ratio = (off.iter().map(|o| (o - mean).powi(2)).sum::<f64>() / N as f64).sqrt() / sd;
                // Near stem and stern the sd is generous: it takes them and the planking as unrelated.
                let ends = !(0.25..0.75).contains(&at.0);
                assert!(ratio < 1.4 && (ends || ratio > 0.75), "{family:?} {patch} {at:?}: {ratio:.2}");
                means.push(mean / sd);
                ratios.push(ratio);
            }
        }
        let rms = |of: &[f64]| (of.iter().map(|r| r * r).sum::<f64>() / of.len() as f64).sqrt();
        assert!((0.85..1.1).contains(&rms(&ratios)), "{family:?}: {:.2}", rms(&ratios));
        assert!(rms(&means) < 0.25, "{family:?}: {:.2} sd", rms(&means));
    }
}

#[test]
fn draws_come_again_by_their_seed_and_the_first_whatever_the_count() {
    let known = Known::new(Family::RoundBilge, 2);
    let hull = faired(&known.survey(&known.layout(9), Place::Eighth));
    let few = hull.draws(3, 7).expect("draws");
    let many = hull.draws(8, 7).expect("draws");
    assert_eq!(few, many[..3]);
    assert_eq!(many, hull.draws(8, 7).expect("draws"));
    assert!(many.iter().all(|d| d != &few[0] || std::ptr::eq(d, &many[0])));
    assert_ne!(few, hull.draws(3, 8).expect("draws"));
    assert_eq!(hull.draws(0, 7), Ok(Vec::new()));
}

#[test]
fn held_readings_hold_in_every_draw() {
    let known = Known::new(Family::RakedTransom, 12);
    let mut survey = known.survey(&known.layout(11), Place::Eighth);
    let held = [3, 17, 40, 66, 90];
    held.iter().for_each(|&i| survey.spots[i].mark = Mark::Held);
    let hull = faired(&survey);
    for drawn in hull.draws(6, 9).expect("draws") {
        let off = |i: usize| {
            let s = &survey.spots[i];
            1e3 * distance(&drawn.surface, [s.x, s.y, s.z])
        };
        // Less than the lead of a pencil sharpened to a chisel; others lie where they may.
        assert!(held.iter().all(|&i| off(i) < 0.1), "{:.3?}", held.map(off));
        assert!((20..60).map(off).fold(0.0, f64::max) > 0.5);
    }
}

#[test]
fn a_hull_read_exactly_leaves_nothing_open() {
    // The parabolic hull is a polynomial: once every reading holds, there is one hull, but for what a keel whose angle
    // is no polynomial may still do between its readings.
    let known = Known::new(Family::Parabolic, 5);
    let mut survey = known.survey(&known.layout(13), Place::Exact);
    survey.lines.iter_mut().for_each(|l| l.mark = Mark::Held);
    survey.spots.iter_mut().for_each(|s| s.mark = Mark::Held);
    survey.stem.iter_mut().chain(&mut survey.stern).for_each(|s| s.sd *= 1e-3);
    let hull = faired(&survey);
    let draws = hull.draws(8, 0).expect("draws");
    let worst = places().flat_map(|at| off(&hull, &draws, 0, at)).fold(0.0f64, |a, o| a.max(o.abs()));
    assert!(worst < 1.2e-4, "{:.3} mm", 1e3 * worst);

    let surface = Faired::of_surface(hull.surface);
    assert!(surface.draws(2, 0).expect("draws").iter().all(|d| d.surface == surface.surface));
}

#[test]
fn stem_sternpost_and_sheer_vary_as_well() {
    let known = Known::new(Family::DoubleEnder, 6);
    let hull = faired(&known.survey(&known.layout(11), Place::Eighth));
    let draws = hull.draws(64, 1).expect("draws");
    let patch = &hull.surface.patches[0];
    let spread = |u: f64, v: f64, along: [f64; 3]| {
        let at = patch.point(u, v);
        let off = |d: &Faired| {
            let p = d.surface.patches[0].point(u, v);
            (0..3).map(|k| along[k] * (p[k] - at[k])).sum::<f64>().powi(2)
        };
        1e3 * (draws.iter().map(off).sum::<f64>() / draws.len() as f64).sqrt()
    };
    // Square to the profile of stem and sternpost.
    let square = |u: f64| {
        let t = patch.jet(u, 0.5).dv;
        [t[2] / t[0].hypot(t[2]), 0.0, -t[0] / t[0].hypot(t[2])]
    };
    let (out, up) = ([0.0, 1.0, 0.0], [0.0, 0.0, 1.0]);
    // Read to the eighth of an inch, 0.92 mm one by one; the lines average some of that out.
    for (u, v, along) in
        [(0.0, 0.5, square(0.0)), (1.0, 0.5, square(1.0)), (0.5, 1.0, out), (0.5, 1.0, up), (0.5, 0.0, up)]
    {
        let sd = spread(u, v, along);
        assert!((0.2..0.95).contains(&sd), "({u}, {v}) {along:?}: {sd:.2} mm");
    }
    // She ends on stem and sternpost, whose siding is stated.
    assert!(spread(0.0, 1.0, out) < 1e-9 && spread(1.0, 0.5, out) < 1e-9);
}
