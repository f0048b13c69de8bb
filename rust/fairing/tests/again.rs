//! Fairing again after a reading has changed, against fairing afresh.

use scrieve_fairing::{Faired, Options, fair, fair_again};
use scrieve_offsets::Survey;
use scrieve_yardstick::known::{Family, Known, Place};

fn survey(family: Family) -> Survey {
    let hull = Known::new(family, 21);
    hull.survey(&hull.layout(13), Place::Eighth)
}

/// Between two surfaces that differ little, square to the first: root mean square and farthest, m.
fn apart(a: &Faired, b: &Faired) -> (f64, f64) {
    let (mut worst, mut squares, mut count) = (0.0f64, 0.0, 0);
    for (p, q) in a.surface.patches.iter().zip(&b.surface.patches) {
        for (i, j) in (0..=40).flat_map(|i| (0..=20).map(move |j| (i, j))) {
            let (u, v) = (f64::from(i) / 40.0, f64::from(j) / 20.0);
            let (j, q) = (p.jet(u, v), q.point(u, v));
            let [a, b] = [j.du, j.dv];
            let n = [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
            let area = n.iter().map(|c| c * c).sum::<f64>().sqrt();
            let off: f64 = (0..3).map(|k| n[k] * (j.p[k] - q[k])).sum();
            worst = worst.max(off.abs() / area);
            squares += (off / area).powi(2);
            count += 1;
        }
    }
    ((squares / f64::from(count)).sqrt(), worst)
}

#[test]
fn a_reading_changed_by_a_sixteenth_gives_the_surface_that_fairing_afresh_gives() {
    let options = Options::default();
    for family in [Family::RoundBilge, Family::HardChine, Family::DoubleEnder, Family::FlaredBow] {
        let before = survey(family);
        let hull = fair(&before, &options).expect("a surface");
        for i in [20, 55, 80] {
            let mut after = before.clone();
            let spot = &mut after.spots[i];
            spot.y += 0.0016 * spot.along.0;
            spot.z += 0.0016 * spot.along.1;
            let again = fair_again(&after, &options, &hull).expect("a surface");
            let afresh = fair(&after, &options).expect("a surface");
            let (rms, worst) = apart(&again, &afresh);
            assert!(rms < 1e-4, "{family:?} {i}: {rms}");
            // A sixteenth moves a surface by 0.4 mm at most. Where fairing afresh moves farther its
            // parameters have jumped, and fairing again is right not to follow.
            let jumped = apart(&afresh, &hull).1 > 5e-4;
            assert!(worst < 1.5e-4 || jumped && i == 55, "{family:?} {i}: {worst}");
            assert!(apart(&again, &hull).1 > 1e-4, "{family:?} {i}: the change does nothing");
        }
    }
}

#[test]
fn a_slip_put_right_and_a_slip_made_are_seen_as_by_fairing_afresh() {
    let options = Options::default();
    let clean = survey(Family::RoundBilge);
    let mut slipped = clean.clone();
    slipped.spots[60].y += 0.0254 * slipped.spots[60].along.0;
    slipped.spots[60].z += 0.0254 * slipped.spots[60].along.1;
    let (of_clean, of_slipped) = (fair(&clean, &options), fair(&slipped, &options));
    let (of_clean, of_slipped) = (of_clean.expect("a surface"), of_slipped.expect("a surface"));
    let doubted = |f: &Faired| f.residuals.iter().filter(|r| r.doubted).map(|r| r.cell).collect::<Vec<_>>();
    let made = fair_again(&slipped, &options, &of_clean).expect("a surface");
    assert_eq!(doubted(&made), [slipped.spots[60].cell]);
    let put_right = fair_again(&clean, &options, &of_slipped).expect("a surface");
    assert_eq!(doubted(&put_right), []);
    assert!(apart(&put_right, &of_clean).1 < 3e-4);
}

#[test]
fn another_table_is_faired_afresh() {
    let options = Options::default();
    let (one, other) = (survey(Family::RoundBilge), survey(Family::FirmBilge));
    let hull = fair(&one, &options).expect("a surface");
    assert_eq!(fair_again(&other, &options, &hull), fair(&other, &options));
    let stiff = Options { stiffness: 2.0, ..options };
    assert_eq!(fair_again(&one, &stiff, &hull), fair(&one, &stiff));
}
