//! Inside structure against closed forms: a plane-sided wedge and a cylinder (handbook, section 13).

mod shapes;

use kurbo::{Point, Shape as _};
use scrieve_loft::RoundOfBeam;
use scrieve_loft::inside::{
    CarlinOptions, CaseOptions, HeightAt, InsideError, Opening, StringerOptions, beam_places, bulkhead,
    carlin, centre_case, deck_beam, deck_marks, deck_outline, half_beam, stringer, thwart,
};
use scrieve_loft::moulds::{MouldOptions, Stations, moulds};
use scrieve_loft::rabbet::RabbetOptions;
use scrieve_loft::ribbands::RibbandAt;
use scrieve_offsets::Survey;
use scrieve_surface::Batten;
use shapes::{from_surface, with_survey};

const D: f64 = 0.02;

/// Flaring plane sides y = 0.4 + 0.1 x + 0.3 z, from z = 0 to 1.
fn sides() -> scrieve_hull::Boat {
    from_surface(|u, v| [4.0 * u, 0.4 + 0.4 * u + 0.3 * v, v])
}

fn half(x: f64, z: f64) -> f64 {
    0.4 + 0.1 * x + 0.3 * z - D * (1.0_f64 + 0.01 + 0.09).sqrt()
}

fn along(height: HeightAt, from: f64, to: f64) -> StringerOptions {
    StringerOptions { height, from, to, depth: 0.04, thickness: 0.018, level: false, inside: D }
}

/// A stringer is bent as a ribband is: through the same three spots they lie on one line, that of a batten on three
/// supports.
#[test]
fn a_ribband_and_a_stringer_through_the_same_spots_are_one_line() {
    let spots = vec![(0.6, 0.5), (2.0, 0.46), (3.4, 0.52)];
    let hull = sides();
    let batten = Batten::through(&spots).expect("a batten");
    let ribbands = vec![RibbandAt::Through(batten)];
    let xs = [1.3, 1.65, 2.7];
    let options = MouldOptions {
        stations: Stations::At(xs.to_vec()),
        planking: Some(D),
        ribbands,
        ..MouldOptions::default()
    };
    let set = moulds(&hull, &options).expect("moulds");
    let s = stringer(&hull, &along(HeightAt::Through(spots.clone()), 0.6, 3.4)).expect("a stringer");
    for (mould, x) in set.moulds.iter().zip(xs) {
        let at = mould.bevels.iter().find(|b| b.at == "R1").expect("the ribband crosses it").spot;
        let p = s.line.iter().find(|p| (p[0] - x).abs() < 1e-9).expect("a spot of the stringer there");
        assert!((at.x - p[1]).abs() < 1e-6 && (at.y - p[2]).abs() < 1e-6, "{x}: {at} {p:?}");
        // The beam of two equal spans, its middle support `d` below the straight: y = d (3 t - t³) / 2 at t of a span from
        // its end (Timoshenko, Strength of Materials, from memory); at these slopes within a half per cent.
        let (l, d) = (1.4, 0.46 - 0.51);
        let t = ((x - 0.6).min(3.4 - x)) / l;
        let beam = 0.5 + 0.02 * (x - 0.6) / 2.8 + d * (3.0 * t - t * t * t) / 2.0;
        assert!((p[2] - beam).abs() < 0.005 * d.abs(), "{x}: {} {beam}", p[2]);
    }
    assert_eq!(set.moulds.len(), xs.len());
}

#[test]
fn a_thwart_between_plane_sides_is_a_trapezium_with_bevelled_ends() {
    let (at, width, thick) = (Point::new(1.5, 0.6), 0.25, 0.02);
    let t = thwart(&sides(), at, width, thick, D).expect("a thwart");
    for (path, z) in [(&t.under, at.y), (&t.upper, at.y + thick)] {
        let exact = width * (half(at.x, z) + half(at.x + width, z));
        assert!((path.area().abs() - exact).abs() < 1e-6, "{} {exact}", path.area());
    }
    for (edge, x) in t.edges.iter().zip([at.x, at.x + width]) {
        // As long as its larger face: the upper, since the sides flare.
        assert!((edge.length - 2.0 * half(x, at.y + thick)).abs() < 1e-6);
        assert!((edge.in_plan.tan() - 0.1).abs() < 1e-6 && (edge.flare.tan() - 0.3).abs() < 1e-6);
    }
}

#[test]
fn a_stringer_along_plane_sides_is_straight() {
    let s = stringer(&sides(), &along(HeightAt::Level(0.5), 0.5, 3.5)).expect("a stringer");
    assert!((s.length - 3.0 * 1.01_f64.sqrt()).abs() < 1e-6);
    assert!((s.ends[1].section[0].x - half(3.5, 0.5)).abs() < 1e-6);
    // The sheer of the inside lies at the planking's edge set in, so the two heights differ by a constant.
    let below = stringer(&sides(), &along(HeightAt::BelowSheer(0.3), 0.5, 3.5)).expect("a stringer");
    assert!(below.line.iter().all(|p| (p[2] - below.line[0][2]).abs() < 1e-6));
    assert!((below.line[0][1] - half(0.5, below.line[0][2])).abs() < 1e-6);
}

/// With beam b and camber c the radius is (b²/4 + c²)/2c (handbook, section 13).
#[test]
fn a_deck_beam_follows_the_round_of_beam_between_the_sides() {
    let round = RoundOfBeam { beam: 1.6, camber: 0.06 };
    let beam = deck_beam(&sides(), 2.0, round, (0.07, 1e-6), D).expect("a beam");
    assert!((beam.radius - (0.64 + 0.0036) / 0.12).abs() < 1e-12);
    let bounds = beam.outline.bounding_box();
    let wide = 2.0 * half(2.0, beam.end.z);
    assert!((beam.end.length - wide).abs() < 1e-6 && (bounds.width() - wide).abs() < 1e-6);
    let rise = beam.radius - (beam.radius.powi(2) - wide * wide / 4.0).sqrt();
    assert!((beam.camber - rise).abs() < 1e-9 && (bounds.y1 - beam.end.z - rise).abs() < 1e-6);
    // All of the wood is as deep as it is moulded, plumb, save the triangles cut at the flaring ends.
    let ends = 0.3 * 0.07 * 0.07;
    assert!((beam.outline.area().abs() - (0.07 * wide - ends)).abs() < 3e-4);
    let tall = RoundOfBeam { beam: 0.4, camber: 0.2 };
    assert!(matches!(deck_beam(&sides(), 2.0, tall, (0.07, 1e-6), D), Err(InsideError::NoRound(_))));
}

#[test]
fn a_bulkhead_in_a_cylinder_is_a_half_circle_of_the_inside() {
    let hull = from_surface(|u, v| {
        let (s, c) = (v * std::f64::consts::FRAC_PI_2).sin_cos();
        [4.0 * u, s, 1.0 - c]
    });
    let b = bulkhead(&hull, 2.0, None, 0.012, None, D).expect("a bulkhead");
    let exact = std::f64::consts::FRAC_PI_2 * (1.0 - D) * (1.0 - D);
    assert!((b.outline.area().abs() - exact).abs() < 1e-5, "{}", b.outline.area());
    assert!(b.bevels.iter().all(|bevel| bevel.angle.abs() < 1e-6));
    let level = bulkhead(&hull, 2.0, Some(0.5), 0.012, None, D).expect("a bulkhead");
    assert!((level.outline.bounding_box().y1 - 0.5).abs() < 1e-6);
    let high = bulkhead(&hull, 2.0, Some(1.4), 0.012, None, D);
    assert!(matches!(high, Err(InsideError::OffTheHull { .. })));
}

#[test]
fn the_deck_outline_is_the_sheer_in_plan() {
    // y from 0.7 to 1.1 over 4 m.
    assert!((deck_outline(&sides()).area().abs() - 3.6).abs() < 1e-6);
}

#[test]
fn what_does_not_fit_is_named() {
    let at = |z: f64| thwart(&sides(), Point::new(1.5, z), 0.2, 0.02, D);
    let error = at(1.4).expect_err("above the sheer");
    assert!(error.to_string().contains("check the height"), "{error}");
    assert!(matches!(
        thwart(&sides(), Point::new(1.5, 0.5), 0.0, 0.02, D),
        Err(InsideError::BadLength { .. })
    ));
    let back = stringer(&sides(), &along(HeightAt::Level(0.5), 3.0, 1.0));
    assert!(matches!(back, Err(InsideError::BadLength { .. })));
    assert!(matches!(at(f64::NAN), Err(InsideError::OffTheHull { .. })));
}

const MM: f64 = 5e-5;
const DEGREES: f64 = 0.02;

fn off_by(angle: f64, exact: f64) -> f64 {
    (angle - exact).to_degrees().abs()
}

/// Wedge: face and line are straight, so every angle is one of plane trigonometry.
#[test]
fn a_stringer_along_a_wedge_has_one_bevel_from_end_to_end() {
    let s = stringer(&sides(), &along(HeightAt::Level(0.6), 0.5, 3.5)).expect("a stringer");
    let wide = (1.0_f64 + 0.01 + 0.09).sqrt();
    for at in s.ends {
        assert!(off_by(at.flare, 0.3_f64.atan()) < DEGREES);
        assert!(off_by(at.in_plan, 0.1_f64.atan()) < DEGREES);
        // The normal is (-0.1, 1, -0.3)/wide; a level edge's is plumb, since the line is level.
        assert!(off_by(at.level_bevel, (0.3 / wide).asin()) < DEGREES);
        let [upper, inner, low_inner, low] = at.section;
        assert!((upper.x - half(at.x, 0.6)).abs() < MM && (low.x - half(at.x, low.y)).abs() < MM);
        // Square across the level line the face is 0.04; plumb it is less by the cosine of its lean.
        assert!((upper.y - low.y - 0.04 * 1.01_f64.sqrt() / wide).abs() < MM);
        // The inner face is the plane 0.018 farther in.
        for p in [inner, low_inner] {
            let plane = 0.4 + 0.1 * at.x + 0.3 * p.y - (D + 0.018) * wide;
            assert!((p.x - plane).abs() < MM, "{p:?} {plane}");
        }
        // In a station's plane the face falls along (0, -0.3, -1); the line runs along (1, 0.1, 0).
        let exact = (-0.03 / (1.09_f64 * 1.01).sqrt()).acos();
        assert!(off_by(at.cut_on_face, exact) < DEGREES);
    }
    assert!(s.bow.abs() < MM && (s.ends[1].along - 3.0 * 1.01_f64.sqrt()).abs() < MM);
    let level = StringerOptions { level: true, ..along(HeightAt::Level(0.6), 0.5, 3.5) };
    let level = stringer(&sides(), &level).expect("a riser").ends[0];
    assert!((level.section[1].y - 0.6).abs() < MM);
    assert!((level.section[0].x - level.section[1].x - 0.018 * wide).abs() < MM);
}

fn cylinder() -> scrieve_hull::Boat {
    from_surface(|u, v| {
        let (s, c) = (v * std::f64::consts::FRAC_PI_2).sin_cos();
        [4.0 * u, s, 1.0 - c]
    })
}

/// Cylinder: the section is a circle, so the face is a chord of it; a slanting line is a helix where its height
/// falls so.
#[test]
fn a_stringer_in_a_cylinder_bears_on_both_edges_of_its_face() {
    let r = 1.0 - D;
    let s = stringer(&cylinder(), &along(HeightAt::Level(0.7), 0.5, 3.5)).expect("a stringer");
    let at = s.ends[0];
    let (upper, low) = (at.section[0], at.section[3]);
    assert!((upper.distance(low) - 0.04).abs() < MM && (low.x.hypot(1.0 - low.y) - r).abs() < MM);
    // From plumb: the upper edge stands at asin(0.3 / r) below the middle, the chord half its angle lower.
    let exact = (0.3 / r).asin() + (0.02 / r).asin();
    assert!(off_by(at.flare, exact) < DEGREES && off_by(at.level_bevel, exact) < DEGREES);
    assert!((s.length - 3.0).abs() < MM && s.bow.abs() < MM);
    // A helix from 60° to 30° below the middle over 3 m: straight where it is rolled out.
    let angle = |x: f64| (60.0 - 10.0 * (x - 0.5)).to_radians();
    let spots = (0..=30).map(|i| 0.5 + 0.1 * f64::from(i)).map(|x| (x, 1.0 - r * angle(x).sin())).collect();
    let helix = stringer(&cylinder(), &along(HeightAt::Through(spots), 0.5, 3.5)).expect("a stringer");
    let turned = r * 30_f64.to_radians();
    assert!((helix.length - 3.0_f64.hypot(turned)).abs() < MM, "{}", helix.length);
    assert!(helix.bow.abs() < MM, "{}", helix.bow);
}

/// Cone: rolled out flat, a point at distance s from the apex and turned by φ lies at s, φ sin α. A level line
/// of it is a curve there whose bow from its chord is plane geometry.
#[test]
fn a_level_stringer_in_a_cone_bows_as_the_cone_rolled_out_says() {
    let cone = from_surface(|u, v| {
        let (x, a) = (1.0 + 4.0 * u, 0.5 * std::f64::consts::PI * v);
        [x, 0.25 * x * a.sin(), -0.25 * x * a.cos()]
    });
    let options = StringerOptions { inside: 0.0, depth: 0.03, ..along(HeightAt::Level(-0.15), 1.5, 4.5) };
    let s = stringer(&cone, &options).expect("a stringer");
    let alpha = 0.25_f64.atan();
    let flat = |x: f64| {
        let (slant, turn) = (x / alpha.cos(), (0.15 / (0.25 * x)).acos() * alpha.sin());
        Point::new(slant * turn.cos(), slant * turn.sin())
    };
    let (a, b) = (flat(1.5), flat(4.5));
    let chord = (b - a).normalize();
    let many: Vec<Point> = (0..=3000).map(|i| flat(1.5 + f64::from(i) * 1e-3)).collect();
    let length: f64 = many.windows(2).map(|w| w[0].distance(w[1])).sum();
    assert!((s.length - length).abs() < MM, "{} {length}", s.length);
    let bow = many.iter().map(|p| chord.cross(*p - a)).max_by(|a, b| a.abs().total_cmp(&b.abs()));
    assert!((s.bow.abs() - bow.expect("a bow").abs()).abs() < MM, "{} {bow:?}", s.bow);
}

/// Parabolic hull: y = 0.8 (1 - ((x - 3)/3)²) z, whose half-breadth at a level is a parabola of known length.
#[test]
fn a_level_stringer_in_a_parabolic_hull_is_as_long_as_the_parabola() {
    let hull = from_surface(|u, v| {
        let (x, z) = (0.3 + 5.4 * u, 0.3 + 0.4 * v);
        [x, 0.8 * (1.0 - ((x - 3.0) / 3.0).powi(2)) * (0.6 + z), z]
    });
    let options = StringerOptions { inside: 0.0, ..along(HeightAt::Level(0.4), 1.0, 5.0) };
    let s = stringer(&hull, &options).expect("a stringer");
    // y' = -1.6 (x - 3)/9 at z = 0.4; arc of a parabola with slope m at its ends: u(m) = m √(1 + m²) + asinh m.
    let k: f64 = 1.6 / 9.0;
    let m = 2.0 * k;
    let exact = (m * m.hypot(1.0) + m.asinh()) / k;
    assert!((s.length - exact).abs() < MM, "{} {exact}", s.length);
    assert!(off_by(s.ends[0].in_plan, m.atan()) < DEGREES && off_by(s.ends[1].in_plan, -m.atan()) < DEGREES);
}

/// Wedge: the sheer of the inside is level and its half-breadth runs out at 0.1, so the round of beam through it
/// is known everywhere (radius as in the handbook, section 13).
#[test]
fn a_carlin_lies_in_the_round_of_beam() {
    let round = RoundOfBeam { beam: 1.8, camber: 0.06 };
    let r = round.radius().expect("a radius");
    let hull = sides();
    let z = deck_beam(&hull, 2.0, round, (0.06, 1e-6), D).expect("a beam").end.z;
    let options = CarlinOptions {
        from: 1.0,
        to: 3.0,
        half_breadths: [0.3, 0.4],
        depth: 0.05,
        thickness: 0.03,
        round,
        inside: D,
    };
    let c = carlin(&hull, &options).expect("a carlin");
    let fall = |y: f64| r - (r * r - y * y).sqrt();
    let upper = |x: f64| z + fall(half(x, z)) - fall(0.25 + 0.05 * x);
    let run = 2.0 * (1.0_f64 + 0.0025).sqrt();
    assert!((c.level - run).abs() < MM);
    for (end, x, way) in [(c.ends[0], 1.0, 1.0), (c.ends[1], 3.0, -1.0)] {
        let y = 0.25 + 0.05 * x;
        assert!((end.z - upper(x)).abs() < MM && (end.below_middle - fall(y)).abs() < MM);
        assert!(off_by(end.in_plan, 0.05_f64.atan()) < DEGREES);
        assert!(off_by(end.round, (y / r).asin()) < DEGREES);
        // dz/dx of the two arcs, over the run of the piece.
        let slope = |y: f64| y / (r * r - y * y).sqrt();
        let rise = (0.1 * slope(half(x, z)) - 0.05 * slope(y)) / (run / 2.0);
        assert!(off_by(end.cut_on_side, std::f64::consts::FRAC_PI_2 + way * rise.atan()) < DEGREES);
    }
    let many: Vec<Point> = (0..=2000)
        .map(|i| 1.0 + f64::from(i) * 1e-3)
        .map(|x| Point::new((x - 1.0) * run / 2.0, upper(x)))
        .collect();
    let length: f64 = many.windows(2).map(|w| w[0].distance(w[1])).sum();
    assert!((c.length - length).abs() < MM);
    let chord = (many[2000] - many[0]).normalize();
    let spring = many
        .iter()
        .map(|p| chord.cross(*p - many[0]))
        .fold(0.0_f64, |a, b| if b.abs() > a.abs() { b } else { a });
    assert!((c.spring - spring).abs() < MM, "{} {spring}", c.spring);
    let past = CarlinOptions { half_breadths: [0.3, 1.2], ..options };
    assert!(matches!(carlin(&hull, &past), Err(InsideError::PastTheSide { .. })));
}

/// Cylinder: sheer and sides run straight aft, so a carlin at one half-breadth is straight and square.
#[test]
fn a_carlin_in_a_cylinder_is_straight_and_its_ends_square() {
    let round = RoundOfBeam { beam: 2.0, camber: 0.1 };
    let options = CarlinOptions {
        from: 1.0,
        to: 3.0,
        half_breadths: [0.4, 0.4],
        depth: 0.05,
        thickness: 0.03,
        round,
        inside: D,
    };
    let c = carlin(&cylinder(), &options).expect("a carlin");
    assert!((c.length - 2.0).abs() < MM && c.spring.abs() < MM);
    let right = std::f64::consts::FRAC_PI_2;
    assert!(
        c.ends.iter().all(|e| off_by(e.cut_on_side, right) < DEGREES && off_by(e.in_plan, 0.0) < DEGREES)
    );
    let beam = half_beam(&cylinder(), 2.0, 0.43, 0.0, round, (0.05, 1e-6), D).expect("a half beam");
    assert!((beam.length - (1.0 - D - 0.43)).abs() < MM);
    let r = round.radius().expect("a radius");
    let exact = 1.0 + (r * r - 0.43_f64.powi(2)).sqrt() - (r * r - (1.0 - D).powi(2)).sqrt();
    assert!((beam.inboard.y - exact).abs() < MM, "{} {exact}", beam.inboard.y);
    // Between two arcs 0.05 apart plumb, less the sliver the side cuts off.
    let area = beam.outline.area().abs();
    assert!(area < 0.05 * beam.length + 1e-6 && area > 0.05 * beam.length - 1e-3);
    assert!(half_beam(&cylinder(), 2.0, 1.0, 0.0, round, (0.05, 1e-6), D).is_err());
}

fn case_options() -> CaseOptions {
    CaseOptions {
        from: 2.0,
        to: 3.0,
        width: 0.03,
        top: 0.5,
        log: 0.05,
        log_depth: 0.09,
        cheek: 0.01,
        keel_above: 0.02,
        rabbet: RabbetOptions { planking: None, half_siding: Some(0.04) },
    }
}

/// Wedge with a floor: z = 0.03 (x - 1) + (y - 0.04)/2, whose lower edge is at the keel's side.
#[test]
fn the_foot_of_a_case_is_on_the_keel_and_on_the_planking_beside_it() {
    let rise = 0.03;
    let hull = with_survey("planking = \"0.02\"", Survey::default(), |u, v| {
        let (x, y) = (1.0 + 3.0 * u, 0.04 + 0.7 * v);
        [x, y, rise * (x - 1.0) + 0.5 * (y - 0.04)]
    });
    let case = centre_case(&hull, &case_options()).expect("a case");
    // Normal (0.03, 0.5, -1): plumb the inner face is 0.02 √(1 + 0.25 + 0.0009) above the outer.
    let up = 0.02 * (1.25_f64 + rise * rise).sqrt();
    let inner = |x: f64, y: f64| rise * (x - 1.0) + 0.5 * (y - 0.04) + up;
    assert!(case.places.len() >= 2 && (case.length - 1.0).abs() < MM);
    for at in &case.places {
        assert!((at.foot - inner(at.x, 0.04) - 0.02).abs() < MM, "{at:?}");
        assert!((at.foot_outside - inner(at.x, 0.065)).abs() < MM, "{at:?}");
        assert!(off_by(at.bevel, 0.5_f64.atan()) < DEGREES);
        assert!((at.cheek - 0.025).abs() < MM && (at.height - (0.5 - at.foot)).abs() < MM);
    }
    let exact = 0.5 - inner(2.5, 0.04) - 0.02;
    assert!((case.outline.area().abs() - exact).abs() < MM);
    // Logs no broader than the keel stand on it alone.
    let narrow = CaseOptions { log: 0.02, ..case_options() };
    let narrow = centre_case(&hull, &narrow).expect("a case");
    assert!(narrow.places.iter().all(|at| at.foot_outside == at.foot && at.bevel == 0.0));
    let wrong = |options: CaseOptions| centre_case(&hull, &options).expect_err("a slip");
    let wide = wrong(CaseOptions { width: 0.07, ..case_options() });
    assert!(matches!(wide, InsideError::SlotTooWide { .. }) && wide.to_string().contains("narrower"));
    assert!(matches!(wrong(CaseOptions { from: 0.5, ..case_options() }), InsideError::SlotOffTheKeel { .. }));
    assert!(matches!(wrong(CaseOptions { to: 4.5, ..case_options() }), InsideError::SlotOffTheKeel { .. }));
    assert!(matches!(wrong(CaseOptions { top: 0.1, ..case_options() }), InsideError::TopTooLow { .. }));
    assert!(matches!(
        wrong(CaseOptions { log: 1.0, ..case_options() }),
        InsideError::LogPastThePlanking { .. }
    ));
    assert!(matches!(wrong(CaseOptions { log: 0.4, ..case_options() }), InsideError::LogTooShallow { .. }));
}

#[test]
fn an_opening_stays_on_the_deck() {
    let opening = Opening { from: 1.0, to: 3.0, half_breadths: [0.3, 0.5] };
    assert!((opening.outline(&sides()).expect("an outline").area().abs() - 0.8).abs() < 1e-9);
    let marks = deck_marks(&sides(), &[0.5, 2.0], &[opening]).expect("marks");
    // The half beam's line begins at the opening, 0.4 out, and ends at the side, 0.9 out.
    let half_beam = marks[2].path.bounding_box();
    assert!((half_beam.y0 - 0.4).abs() < 1e-9 && (half_beam.y1 - 0.9).abs() < 1e-3, "{half_beam:?}");
    let wide = Opening { half_breadths: [0.9, 0.5], ..opening };
    assert!(matches!(wide.outline(&sides()), Err(InsideError::PastTheSide { .. })));
    assert!(matches!(deck_marks(&sides(), &[9.0], &[]), Err(InsideError::OffTheDeck { .. })));
    assert_eq!(beam_places(&sides(), 1.5, D).expect("places"), vec![1.5, 3.0]);
    assert!(matches!(beam_places(&sides(), 0.001, D), Err(InsideError::BeamsTooClose { .. })));
}

/// Sides that lean out and in along the boat: low down she widens going aft, above that she narrows, and the flare turns
/// to tumblehome amidships.
fn twisted() -> scrieve_hull::Boat {
    from_surface(|u, v| {
        let x = 4.0 * u;
        [x, 0.7 + 0.25 * (x - 2.0) * (0.5 - v) + 0.1 * (v - 0.5) * (v - 0.5), v]
    })
}

/// A finished piece lies between its faces, its edge straight from one to the other: spots of that solid, as far along as
/// `t`, found from the hull itself.
fn holds(blank: &kurbo::BezPath, spot: Point) -> bool {
    blank.winding(spot) != 0 || blank.segments().any(|s| near(&s, spot))
}

fn near(s: &kurbo::PathSeg, p: Point) -> bool {
    kurbo::ParamCurveNearest::nearest(s, p, 1e-12).distance_sq < 1e-12
}

/// The least outline there is round both faces: no spot of it may be clear of both.
fn is_no_more(blank: &kurbo::BezPath, faces: [&kurbo::BezPath; 2], spare: f64) -> bool {
    let area = |path: &kurbo::BezPath| path.area().abs();
    area(blank) < faces.map(area).into_iter().fold(0.0, f64::max) + spare
}

#[test]
fn every_blank_holds_the_finished_piece_between_its_two_faces() {
    let hull = twisted();
    let round = RoundOfBeam { beam: 1.6, camber: 0.06 };
    let inside = |x: f64, z: f64| {
        let section = hull.parallel_section(x, D).expect("a section");
        section.crossings([0.0, 0.0, 1.0], z).pop().map(|mark| mark.sample.p[1])
    };
    let mut sided = [0, 0];
    for x in [0.6, 1.3, 1.95, 2.6, 3.3] {
        let (thick, siding, depth) = (0.04, 0.05, 0.07);
        for crown in [None, Some(round)] {
            let b = bulkhead(&hull, x, Some(0.9), thick, crown, D).expect("a bulkhead");
            for t in [0.0, 0.3, 0.7, 1.0] {
                for k in 1..=44 {
                    let z = 0.02 * f64::from(k);
                    // Straight from face to face, as the edge is bevelled.
                    let y = [x, x + thick].map(|x| inside(x, z).expect("a side"));
                    let spot = Point::new(y[0] + (y[1] - y[0]) * t, z);
                    assert!(
                        holds(&b.outline, spot) && holds(&b.outline, Point::new(-spot.x, z)),
                        "{x} {spot:?}"
                    );
                    sided[usize::from(y[1] > y[0])] += 1;
                }
            }
            assert!(is_no_more(&b.outline, [&b.faces[0], &b.faces[1]], 0.1 * thick));
            // Port is the mirror of starboard: every corner has its double.
            let corners: Vec<Point> = b.outline.segments().map(|s| kurbo::ParamCurve::start(&s)).collect();
            assert!(corners.iter().all(|p| corners.contains(&Point::new(-p.x, p.y))));
        }
        let beam = deck_beam(&hull, x, round, (depth, siding), D).expect("a beam");
        let halved = half_beam(&hull, x, 0.3, 0.1, round, (depth, siding), D).expect("a half beam");
        for face in
            beam.faces.iter().flat_map(|face| face.segments()).map(|s| kurbo::ParamCurve::eval(&s, 0.5))
        {
            assert!(holds(&beam.outline, face), "{face:?}");
        }
        for face in
            halved.faces.iter().flat_map(|face| face.segments()).map(|s| kurbo::ParamCurve::eval(&s, 0.5))
        {
            assert!(holds(&halved.outline, face), "{face:?}");
        }
        // The inboard end runs out with the carlin, and the blank begins at the nearer face.
        assert!((halved.outline.bounding_box().x0 - 0.3).abs() < 1e-9);
        let t = thwart(&hull, Point::new(x, 0.47), 0.25, 0.06, D).expect("a thwart");
        for k in 0..=25 {
            let at = x + 0.01 * f64::from(k);
            for z in [0.47, 0.5, 0.53] {
                let y = inside(at, z).expect("a side");
                assert!(
                    holds(&t.blank, Point::new(at, y - 1e-5)) && holds(&t.blank, Point::new(at, 1e-5 - y))
                );
            }
        }
    }
    assert!(sided[0] > 200 && sided[1] > 200, "{sided:?}");
}
