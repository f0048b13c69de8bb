//! The rabbet against hulls in closed form: a plane-sided wedge, a cylinder, a cone and a parabolic hull
//! (handbook, section 10). Bounds are those of the trade: 0.05 mm and 0.02 degrees.

mod shapes;

use kurbo::Point;
use scrieve_hull::Boat;
use scrieve_loft::rabbet::{End, Rabbet, RabbetError, RabbetOptions, rabbet_at, rabbet_on, rabbets_along};
use shapes::{from_surface, with_facts};

const NEAR: f64 = 5e-5;
const ANGLE: f64 = 0.02 * std::f64::consts::PI / 180.0;
const T: f64 = 0.0127;

fn options(half_siding: f64) -> RabbetOptions {
    RabbetOptions { planking: Some(T), half_siding: Some(half_siding) }
}

fn close(got: Point, want: (f64, f64)) -> bool {
    got.distance(Point::from(want)) < NEAR
}

/// A V bottom of deadrise `rise` (slope) whose keel line climbs `climb` a metre: y from `edge` outward.
fn wedge(edge: f64, rise: f64, climb: f64) -> Boat {
    from_surface(move |u, v| {
        let (x, y) = (4.0 * u, edge + (1.0 - edge) * v);
        [x, y, climb * x + rise * y]
    })
}

/// Plane z = climb x + rise y; inside it by t, z is higher by t √(1 + rise² + climb²).
#[test]
fn in_a_plane_sided_wedge_the_three_lines_are_those_of_two_planes() {
    let (rise, climb, h) = (0.5, 0.12, 0.04);
    for edge in [0.0, h] {
        let r = rabbet_at(&wedge(edge, rise, climb), 2.0, &options(h)).expect("a rabbet");
        let long = (1.0 + rise * rise + climb * climb).sqrt();
        let z = climb * 2.0 + rise * h;
        assert!(close(r.rabbet, (h, z)), "{r:?}");
        assert!(close(r.bearding, (h, z + T * long)), "{r:?}");
        // The foot at x': R = (x', h, climb x' + rise h); the middle lies at R - t n, n = (climb, rise, -1)/long.
        let foot = 2.0 + T * climb / long;
        assert!(close(r.middle, (h - T * rise / long, climb * foot + rise * h + T / long)), "{r:?}");
        assert!((r.angle - (1.0_f64).atan2(rise)).abs() < ANGLE, "{}", r.angle.to_degrees());
    }
}

/// A circle of radius 1 about (0, 1): the outer face meets y = h at 1 - √(1 - h²), the inner at the circle of
/// radius 1 - t; the apex lies on that circle, on the radius through the rabbet line.
#[test]
fn in_a_cylinder_the_lines_lie_on_two_circles() {
    let hull = from_surface(|u, v| {
        let (s, c) = (v * std::f64::consts::FRAC_PI_2).sin_cos();
        [4.0 * u, s, 1.0 - c]
    });
    for h in [0.03, 0.05] {
        let r = rabbet_at(&hull, 1.3, &options(h)).expect("a rabbet");
        assert!(close(r.rabbet, (h, 1.0 - (1.0 - h * h).sqrt())));
        assert!(close(r.bearding, (h, 1.0 - ((1.0 - T).powi(2) - h * h).sqrt())));
        assert!(close(r.middle, (h * (1.0 - T), 1.0 - (1.0 - T) * (1.0 - h * h).sqrt())));
        assert!((r.angle - (std::f64::consts::FRAC_PI_2 - h.asin())).abs() < ANGLE);
    }
}

/// Radius a x with the axis level: the inner face is the cone of radius a x - t √(1 + a²).
#[test]
fn in_a_cone_the_bearding_lies_on_the_inner_cone() {
    let (a, h, x) = (0.25, 0.04, 3.0);
    let hull = from_surface(move |u, v| {
        let (x, (s, c)) = (1.0 + 4.0 * u, (v * std::f64::consts::FRAC_PI_2).sin_cos());
        [x, a * x * s, -a * x * c]
    });
    let r = rabbet_at(&hull, x, &options(h)).expect("a rabbet");
    let long = (1.0_f64 + a * a).sqrt();
    let height = |radius: f64, y: f64| -(radius * radius - y * y).sqrt();
    assert!(close(r.rabbet, (h, height(a * x, h))));
    assert!(close(r.bearding, (h, height(a * x - T * long, h))), "{r:?}");
    // The foot's x' solves x' + t a / long = x: the outward normal of a cone that opens aft leans forward.
    let foot = x - T * a / long;
    let out = T / long / (a * foot);
    assert!(close(r.middle, (h * (1.0 - out), height(a * foot, h) * (1.0 - out))), "{r:?}");
}

/// y = B/2 (1 - a²)(1 - b²): its rabbet at any half-siding by the formula; the others by their definition.
#[test]
fn in_a_parabolic_hull_the_inner_face_is_one_planking_thickness_from_the_bearding() {
    let formula = |x: f64, z: f64| {
        let (a, b) = ((x - 2.0) / 2.0, (z - 0.6) / 0.6);
        0.8 * (1.0 - a * a) * (1.0 - b * b)
    };
    let hull = from_surface(|u, v| {
        let (x, z) = (0.05 + 3.9 * u, 0.6 * v);
        [x, formula(x, z), z]
    });
    for x in [0.6, 1.5, 2.0, 3.2] {
        let h = 0.045;
        let r = rabbet_at(&hull, x, &options(h)).expect("a rabbet");
        assert!((formula(x, r.rabbet.y) - h).abs() < 1e-6);
        let least = |p: [f64; 3]| {
            // Least distance from a point to the formula's surface, by descent on ever finer steps.
            let gap = |x: f64, z: f64| {
                let d = [p[0] - x, p[1] - formula(x, z), p[2] - z];
                (d[0] * d[0] + d[1] * d[1] + d[2] * d[2]).sqrt()
            };
            let (mut x, mut z, mut step) = (p[0], p[2], 0.01);
            while step > 1e-9 {
                let moves = [(step, 0.0), (-step, 0.0), (0.0, step), (0.0, -step)];
                match moves.into_iter().map(|(a, b)| (x + a, z + b)).find(|&(a, b)| gap(a, b) < gap(x, z)) {
                    Some(better) => (x, z) = better,
                    None => step /= 2.0,
                }
            }
            gap(x, z)
        };
        let [_, bearding, middle] = r.in_space();
        assert!(
            (bearding[1] - h).abs() < 1e-9 && (least(bearding) - T).abs() < NEAR,
            "{x} {}",
            least(bearding)
        );
        assert!((least(middle) - T).abs() < NEAR, "{x} {}", least(middle));
        let slope = (formula(x, r.rabbet.y + 1e-6) - formula(x, r.rabbet.y - 1e-6)) / 2e-6;
        assert!((r.angle.tan() - slope).abs() < 1e-3 * slope.max(1.0));
    }
}

/// Straight raked stem, plane bows: entrance angle in the stem's own cross-section known.
fn bow(half_siding: f64, rake: f64, entrance: f64) -> Boat {
    // In the stem's own axes (along it s, into the boat w): y = half_siding + w tan(entrance).
    let (sin, cos) = rake.sin_cos();
    from_surface(move |u, v| {
        let (s, w) = (v, 2.0 * u);
        [-s * sin + w * cos, half_siding + w * entrance.tan(), s * cos + w * sin]
    })
}

#[test]
fn across_a_raked_stem_the_lines_are_those_of_its_own_cross_section() {
    let (h, rake, entrance) = (0.05, 0.35_f64, 0.4_f64);
    let hull = bow(h, rake, entrance);
    let r = rabbet_on(&hull, End::Stem, 0.5, &options(h)).expect("a rabbet");
    assert!(close(r.rabbet, (h, 0.0)), "{r:?}");
    // Plane sides: the inner face stands t / sin(entrance) farther in along the side of the stem.
    assert!(close(r.bearding, (h, T / entrance.sin())), "{r:?}");
    assert!(close(r.middle, (h - T * entrance.cos(), T * entrance.sin())), "{r:?}");
    assert!((r.angle - entrance).abs() < ANGLE);
    let up = r.plane.up;
    assert!((up[0] - rake.cos()).abs() < 1e-9 && (up[2] - rake.sin()).abs() < 1e-9);
}

#[test]
fn a_record_to_the_inside_has_its_bearding_on_the_record_and_its_rabbet_outside() {
    let (rise, h) = (0.4, 0.05);
    let text = "planking = \"12.7mm\"\nmoulded_to = \"inside of planking\"";
    let hull = with_facts(text, move |u, v| {
        let y = h + v;
        [4.0 * u, y, 0.3 + rise * y]
    });
    let r = rabbet_at(&hull, 2.0, &RabbetOptions::default()).expect("a rabbet");
    let long = (1.0_f64 + rise * rise).sqrt();
    assert!(close(r.bearding, (h, 0.3 + rise * h)));
    assert!(close(r.rabbet, (h, 0.3 + rise * h - T * long)), "{r:?}");
    assert!(close(r.middle, (h - T * rise / long, 0.3 + rise * h - T * long + T / long)), "{r:?}");
}

#[test]
fn the_middle_line_is_one_planking_thickness_from_the_rabbet_line_in_space() {
    let hull = wedge(0.04, 0.6, 0.2);
    // Both lines are straight here; their distance is that of parallel lines.
    let points = |x: f64| rabbet_at(&hull, x, &options(0.04)).expect("a rabbet").in_space();
    let (a, b) = (points(1.0), points(2.0));
    let along: Vec<f64> = (0..3).map(|k| b[0][k] - a[0][k]).collect();
    let off: Vec<f64> = (0..3).map(|k| a[2][k] - a[0][k]).collect();
    let dot = |p: &[f64], q: &[f64]| -> f64 { p.iter().zip(q).map(|(p, q)| p * q).sum() };
    let square = dot(&off, &off) - dot(&off, &along).powi(2) / dot(&along, &along);
    assert!((square.sqrt() - T).abs() < 1e-7);
}

#[test]
fn planking_thicker_than_the_half_siding_allows_is_told_what_would_do() {
    let hull = bow(0.01, 0.2, 0.3);
    let error = rabbet_on(&hull, End::Stem, 0.5, &options(0.01)).expect_err("no wood left");
    let RabbetError::TooThick { least, .. } = &error else { unreachable!("{error}") };
    assert!((least - 2.0 * T * 0.3_f64.cos()).abs() < NEAR);
    assert!(error.to_string().contains("side the piece"), "{error}");
    let wider = RabbetOptions { planking: Some(T), half_siding: Some(0.5 * least + 1e-4) };
    assert!(rabbet_on(&bow(0.5 * least + 1e-4, 0.2, 0.3), End::Stem, 0.5, &wider).is_ok());
}

#[test]
fn what_is_missing_is_named() {
    let hull = wedge(0.0, 0.5, 0.0);
    let ask = |planking, half_siding| rabbet_at(&hull, 1.0, &RabbetOptions { planking, half_siding });
    assert_eq!(ask(None, Some(0.03)), Err(RabbetError::NoPlanking));
    assert_eq!(ask(Some(T), None), Err(RabbetError::NoHalfSiding));
    assert!(matches!(ask(Some(-1.0), Some(0.03)), Err(RabbetError::BadLength { .. })));
    assert!(matches!(ask(Some(T), Some(f64::NAN)), Err(RabbetError::BadLength { .. })));
    let all = rabbets_along(&hull, End::Sternpost, 3, &options(0.03));
    assert!(matches!(all, Err(RabbetError::NoEnd { .. })), "{all:?}");
    let off = rabbet_on(&bow(0.05, 0.3, 0.4), End::Stem, 3.0, &options(0.05));
    assert!(matches!(off, Err(RabbetError::OffTheEnd { .. })));
    let along: Vec<Rabbet> = rabbets_along(&bow(0.05, 0.3, 0.4), End::Stem, 5, &options(0.05))
        .expect("a stem")
        .into_iter()
        .map(|r| r.expect("a rabbet"))
        .collect();
    assert!(along.windows(2).all(|w| w[0].plane.origin[2] < w[1].plane.origin[2]));
}
