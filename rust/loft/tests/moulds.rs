//! Moulds against hulls in closed form: wedge, cylinder, cone and parabolic hull, and what the trade expects
//! of a mould (common practice).

use std::f64::consts::{FRAC_PI_2, PI};

use kurbo::{BezPath, ParamCurve, ParamCurveArclen, ParamCurveNearest, PathEl, Point, Shape as _};
use scrieve_fairing::Faired;
use scrieve_hull::Boat;
use scrieve_loft::moulds::{
    Face, Failure, Lies, LoftError, Mould, MouldOptions, MouldSet, Notch, Shape, Side, Stations, moulds,
};
use scrieve_loft::ribbands::RibbandAt;
use scrieve_loft::{DiagonalAt, MarkKind};
use scrieve_offsets::Survey;
use scrieve_surface::Batten;
use scrieve_surface::{Patch, Surface};

/// 4 m long; the surface is interpolated closely enough that it is the closed form to 1 nm.
const LENGTH: f64 = 4.0;

fn hull(xs: &[f64], f: impl Fn(f64, f64) -> [f64; 3]) -> Boat {
    hull_with(xs, "planking = \"12.7mm\"", f)
}

/// A hull of this surface whose table has these stations and facts.
fn hull_with(xs: &[f64], facts: &str, f: impl Fn(f64, f64) -> [f64; 3]) -> Boat {
    let breaks: Vec<f64> = (0..=24).map(|i| f64::from(i) / 24.0).collect();
    let surface = Surface { patches: vec![Patch::interpolating(&breaks, &breaks, f)] };
    let name = if facts.contains("name") { "" } else { "name = \"Sandling\"" };
    let row = |cell: &dyn Fn(usize) -> String| (0..xs.len()).map(cell).collect::<Vec<_>>().join(" ");
    let text = format!(
        "+++\nformat = 1\n{name}\nunits = \"m\"\n{facts}\n+++\n\nstation | {}\nfrom stem | {}\n\n[heights]\n\
         sheer | {}\nrabbet | {}\n\n[half-breadths]\nsheer | {}\n",
        row(&|i| (i + 1).to_string()),
        row(&|i| xs[i].to_string()),
        row(&|_| "1.0".to_owned()),
        row(&|_| "0.2".to_owned()),
        row(&|_| "0.8".to_owned()),
    );
    let table = scrieve_offsets::read(text.as_bytes(), "test.offsets").expect("a table");
    let survey = Survey { stations: xs.to_vec(), ..Survey::default() };
    Boat::new(table, survey, Faired::of_surface(surface))
}

/// Plane sides, opening aft at `slope`, from 0.2 to 1 m up.
fn wedge(slope: f64) -> Boat {
    hull(&[1.0, 2.0, 3.0], move |u, v| [LENGTH * u, 0.1 + slope * LENGTH * u, 0.2 + 0.8 * v])
}

/// Radius of the cone at x.
fn cone_radius(x: f64) -> f64 {
    0.4 + 0.15 * x
}

/// A cone about the line y = 0, z = 1, from 80° to 5° below the horizontal.
fn cone() -> Boat {
    hull(&[1.0, 2.0, 3.0], |u, v| {
        let (s, c) = (-80.0 + 75.0 * v).to_radians().sin_cos();
        let r = cone_radius(LENGTH * u);
        [LENGTH * u, r * c, 1.0 + r * s]
    })
}

/// Half-breadth of a parabolic hull over x from the middle and z above the keel, B = 0.8, T = 0.6.
fn parabola(x: f64, z: f64) -> f64 {
    let (a, b) = (2.0 * x / LENGTH - 1.0, 1.0 - z / 0.6);
    0.8 * (1.0 - a * a) * (1.0 - b * b)
}

/// Its planking between z = 0.05 and 0.6 m, without the last of the ends.
fn parabolic() -> Boat {
    hull(&[0.6, 1.2, 2.0, 2.8, 3.4], |u, v| {
        let (x, z) = (0.1 + 3.8 * u, 0.05 + 0.55 * v);
        [x, parabola(x, z), z]
    })
}

/// Distance from a point to y = f(x, z), by Newton's method on the closed form's own derivatives.
fn distance_to_parabola(p: [f64; 3]) -> f64 {
    let (mut x, mut z) = (p[0], p[2]);
    let gap = |x: f64, z: f64| {
        let y = parabola(x, z);
        ((p[0] - x).powi(2) + (p[1] - y).powi(2) + (p[2] - z).powi(2)).sqrt()
    };
    let mut step = 0.02;
    while step > 1e-10 {
        let here = gap(x, z);
        let moves = [(step, 0.0), (-step, 0.0), (0.0, step), (0.0, -step)];
        match moves.into_iter().map(|(a, b)| (x + a, z + b)).find(|&(a, b)| gap(a, b) < here) {
            Some(better) => (x, z) = better,
            None => step /= 2.0,
        }
    }
    gap(x, z)
}

fn made(hull: &Boat, options: &MouldOptions) -> MouldSet {
    let set = moulds(hull, options).expect("moulds");
    assert!(set.failures.is_empty(), "{:?}", set.failures);
    set
}

fn polygon(path: &BezPath) -> Vec<Point> {
    let mut points = Vec::new();
    kurbo::flatten(path, 1e-4, |el| {
        if let PathEl::MoveTo(p) | PathEl::LineTo(p) = el
            && points.last() != Some(&p)
        {
            points.push(p);
        }
    });
    if points.first() == points.last() {
        points.pop();
    }
    points
}

fn crosses_itself(path: &BezPath) -> bool {
    let points = polygon(path);
    let n = points.len();
    let side = |a: Point, b: Point, c: Point| (b - a).cross(c - a);
    (0..n).any(|i| {
        (i + 2..n).filter(|j| (j + 1) % n != i).any(|j| {
            let (a, b, c, d) = (points[i], points[i + 1], points[j], points[(j + 1) % n]);
            side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
        })
    })
}

fn closed_simple_and_anticlockwise(mould: &Mould) {
    for piece in &mould.pieces {
        let closes = piece.outline.elements().iter().filter(|e| matches!(e, PathEl::ClosePath)).count();
        assert_eq!(closes, 1, "one closed path an outline");
        assert!(piece.outline.area() > 0.0, "anticlockwise");
        assert!(!crosses_itself(&piece.outline), "mould {}", mould.station);
        assert!(piece.holes.iter().all(|h| h.area() < 0.0), "holes run the other way");
    }
}

/// Sides hollow all the way up, y = 0.05 + 0.6 v² over z = 0.2 + 0.8 v, somewhat fuller aft.
fn hollow() -> Boat {
    hull(&[1.0, 2.0, 3.0], |u, v| [LENGTH * u, 0.05 + (0.4 + 0.2 * u) * v * v, 0.2 + 0.8 * v])
}

fn in_the_wood(outline: &BezPath, holes: &[BezPath], p: Point) -> bool {
    outline.winding(p) != 0 && holes.iter().all(|h| h.winding(p) == 0)
}

fn distance_to(path: &BezPath, p: Point) -> f64 {
    path.segments().map(|s| s.nearest(p, 1e-10).distance_sq.sqrt()).fold(f64::INFINITY, f64::min)
}

fn close(a: f64, b: f64, within: f64) {
    assert!((a - b).abs() <= within, "{a} is not {b} within {within}");
}

#[test]
fn a_mould_in_the_forebody_lies_aft_of_its_station_line_and_one_in_the_afterbody_forward() {
    // Common practice. The parabolic hull is widest in the middle, x = 2.
    let set = made(&parabolic(), &MouldOptions::default());
    let lies: Vec<_> = set.moulds.iter().map(|m| (m.x < 2.01, m.lies, m.face)).collect();
    for (forebody, lies, face) in lies {
        assert_eq!(lies, if forebody { Lies::Aft } else { Lies::Forward });
        assert_eq!(face, if forebody { Face::Forward } else { Face::After });
    }
}

#[test]
fn a_square_edge_never_stands_proud_of_a_hull_that_swells_to_its_middle() {
    let hull = parabolic();
    let options = MouldOptions { thickness: 0.03, ..MouldOptions::default() };
    for mould in made(&hull, &options).moulds.iter().filter(|m| (m.x - 2.0).abs() > 0.1) {
        let far = mould.x + if mould.lies == Lies::Aft { 0.03 } else { -0.03 };
        let inside = hull.parallel_section(far, 0.0127).expect("inside of the planking").path();
        for p in mould.edge.points(40) {
            let at = Point::new(p[1], p[2]);
            let outward = inside
                .segments()
                .map(|s| s.nearest(at, 1e-9))
                .min_by(|a, b| a.distance_sq.total_cmp(&b.distance_sq));
            let gap = outward.map_or(0.0, |n| n.distance_sq.sqrt());
            // Within the far face's own section, or on it.
            let mut region = inside.clone();
            region.line_to((0.0, 2.0));
            region.line_to((0.0, -1.0));
            region.close_path();
            assert!(region.winding(at) != 0 || gap < 2e-3 && at.y > 0.55 || gap < 1e-6, "{at:?} {gap}");
        }
    }
}

#[test]
fn the_mould_of_a_wedge_is_let_in_by_the_planking_over_the_cosine_of_the_bevel() {
    let slope = 0.25f64;
    let set = made(&wedge(slope), &MouldOptions::default());
    let beta = slope.atan();
    for mould in &set.moulds {
        for p in mould.edge.points(20) {
            close(p[1], 0.1 + slope * mould.x - 0.0127 / beta.cos(), 1e-7);
            close(p[0], mould.x, 1e-9);
        }
    }
}

#[test]
fn the_bevel_of_a_wedge_is_its_half_angle_and_open() {
    let slope = 0.25f64;
    let options = MouldOptions { waterlines: Some(vec![0.5]), ..MouldOptions::default() };
    for mould in made(&wedge(slope), &options).moulds {
        // A wedge that widens aft to its end is all forebody.
        assert_eq!(mould.lies, Lies::Aft);
        let b = mould.bevels.iter().find(|b| b.at.starts_with("WL")).expect("at the waterline");
        close(b.angle, -slope.atan(), 1e-9);
        close(b.in_the_wood, FRAC_PI_2 + slope.atan(), 1e-9);
        close(b.rise, 0.018 * slope, 1e-9);
        assert!(b.is_open());
        close(b.spot.y, 0.5, 1e-9);
    }
}

#[test]
fn the_mould_of_a_cylinder_is_a_cylinder_less_the_planking() {
    let cylinder = hull(&[1.0, 2.0], |u, v| {
        let (s, c) = (-80.0 + 75.0 * v).to_radians().sin_cos();
        [LENGTH * u, 0.7 * c, 1.0 + 0.7 * s]
    });
    for mould in made(&cylinder, &MouldOptions::default()).moulds {
        for p in mould.edge.points(50) {
            close(p[1].hypot(p[2] - 1.0), 0.7 - 0.0127, 1e-6);
        }
    }
}

#[test]
fn the_mould_of_a_cone_is_a_cone_at_the_planking_over_the_cosine_of_the_bevel() {
    for thickness in [0.006, 0.0127, 0.04] {
        let options = MouldOptions { planking: Some(thickness), ..MouldOptions::default() };
        for mould in made(&cone(), &options).moulds {
            let inside = cone_radius(mould.x) - thickness * 0.15f64.hypot(1.0);
            for p in mould.edge.points(50) {
                close(p[1].hypot(p[2] - 1.0), inside, 1e-6);
            }
        }
    }
}

#[test]
fn every_spot_of_a_mould_lies_the_deduction_from_a_parabolic_hull() {
    for thickness in [0.01, 0.03] {
        let options = MouldOptions { planking: Some(thickness), ..MouldOptions::default() };
        for mould in made(&parabolic(), &options).moulds {
            for p in mould.edge.points(25) {
                // Within 0.1 mm asked for; the surface is the closed form, so far nearer.
                close(distance_to_parabola(p), thickness, 1e-6);
            }
        }
    }
}

/// The section let in square to itself in its own plane by t / cos β, against the parallel surface, at the
/// worst spot.
fn planar_error(hull: &Boat, x: f64, t: f64) -> f64 {
    let exact = hull.parallel_section(x, t).expect("a parallel section").path();
    let section = hull.section(x).expect("a section");
    let n = section.pieces[0].len();
    let inner = section.pieces[0][n / 8..n - n / 8].iter().map(|s| {
        let (nx, ny, nz) = (s.normal[0], s.normal[1], s.normal[2]);
        let cos = ny.hypot(nz);
        assert!((nx * nx + cos * cos - 1.0).abs() < 1e-9);
        Point::new(s.p[1] - t / cos * ny / cos, s.p[2] - t / cos * nz / cos)
    });
    inner.map(|p| distance_to(&exact, p)).fold(0.0, f64::max)
}

#[test]
fn in_the_plane_the_deduction_comes_to_about_the_planking_over_the_cosine_of_the_bevel() {
    // Exact where the bevel is the same all along the hull, as on a cone; about where it changes.
    close(planar_error(&cone(), 2.0, 0.03), 0.0, 1e-6);
    let error = planar_error(&parabolic(), 0.6, 0.0127);
    assert!(error > 5e-6 && error < 2e-4, "half an inch, in the ends of a parabolic hull: {error}");
}

#[test]
fn the_deduction_in_the_plane_fails_where_thick_planking_meets_a_bevel_that_changes_fast() {
    let error = planar_error(&parabolic(), 0.6, 0.05);
    assert!(error > 1e-4, "50 mm: more than the tenth of a millimetre a mould is to be within: {error}");
}

#[test]
fn a_table_to_the_inside_deducts_nothing_for_planking_and_says_so() {
    let inside = "moulded_to = \"inside of planking\"\nplanking = \"12.7mm\"";
    let hull = hull_with(&[1.0, 2.0], inside, |u, v| [LENGTH * u, 0.1 + LENGTH * u, 0.2 + 0.8 * v]);
    let set = made(&hull, &MouldOptions::default());
    assert_eq!(set.deduction, 0.0);
    assert!(set.remarks.iter().any(|r| r.contains("inside")), "{:?}", set.remarks);
    let ribs = made(&hull, &MouldOptions { outside: 0.02, ..MouldOptions::default() });
    assert_eq!(ribs.deduction, 0.02, "ribs outside the moulds still count");
}

#[test]
fn planking_and_ribs_outside_the_moulds_are_both_taken_off() {
    let set = made(&wedge(0.2), &MouldOptions { outside: 0.02, ..MouldOptions::default() });
    close(set.deduction, 0.0327, 1e-12);
    let p = set.moulds[0].edge.points(2)[0];
    close(p[1], 0.1 + 0.2 - 0.0327 * 0.2f64.hypot(1.0), 1e-7);
}

#[test]
fn all_moulds_share_the_spall_and_it_clears_every_sheer() {
    let sheered = hull(&[1.0, 2.0, 3.0], |u, v| {
        let x = LENGTH * u;
        [x, 0.3 + 0.1 * x, 0.2 + v * (0.8 + 0.05 * (x - 2.0).powi(2))]
    });
    let set = made(&sheered, &MouldOptions { shape: Shape::Whole, ..MouldOptions::default() });
    let highest = set.moulds.iter().map(|m| m.sheer.y).fold(0.0, f64::max);
    assert!(set.spall_height > highest + 0.09);
    for (mould, row) in set.moulds.iter().zip(&set.set_up) {
        assert_eq!(row.spall_height, set.spall_height);
        assert_eq!(row.station, mould.station);
        for piece in &mould.pieces {
            let spall = piece.marks.iter().find(|m| m.kind == MarkKind::Spall).expect("a spall line");
            let box_ = spall.path.bounding_box();
            close(box_.y0, set.spall_height, 1e-9);
            close(box_.y1, set.spall_height, 1e-9);
        }
    }
}

#[test]
fn a_spall_below_a_sheer_costs_that_mould_and_no_other() {
    let rising = hull(&[1.0, 3.0], |u, v| {
        let x = LENGTH * u;
        [x, 0.3 + 0.1 * x, 0.2 + v * (0.5 + 0.1 * x)]
    });
    let options = MouldOptions { spall_height: Some(0.9), ..MouldOptions::default() };
    let set = moulds(&rising, &options).expect("one mould");
    assert_eq!(set.moulds.len(), 1);
    assert_eq!(set.moulds[0].station, "1");
    assert_eq!(set.failures[0].station, "2");
    assert!(matches!(set.failures[0].error, LoftError::SpallBelowSheer { .. }));
    let low = MouldOptions { spall_height: Some(0.4), ..MouldOptions::default() };
    assert!(matches!(moulds(&rising, &low), Err(LoftError::NoMoulds(all)) if all.len() == 2));
}

fn marked(shape: Shape) -> MouldOptions {
    MouldOptions {
        shape,
        waterlines: Some(vec![0.15, 0.3, 0.45]),
        buttocks: Some(vec![0.1, 0.3, 0.5]),
        diagonals: Some(vec![DiagonalAt { name: "A".into(), centreline_height: 0.6, angle: 0.7 }]),
        keel_notch: Some(Notch { width: 0.05, depth: 0.03 }),
        ribbands: vec![RibbandAt::Girth(0.4), RibbandAt::Girth(0.75)],
        ribband_notch: Some(Notch { width: 0.04, depth: 0.02 }),
        limb: Some(0.12),
        ..MouldOptions::default()
    }
}

#[test]
fn every_mark_lies_inside_its_outline() {
    for shape in [Shape::Pair, Shape::Stacked, Shape::Whole] {
        for limb in [None, Some(0.12)] {
            let set = made(&parabolic(), &MouldOptions { limb, ..marked(shape) });
            for mould in &set.moulds {
                for piece in &mould.pieces {
                    assert!(piece.marks.len() >= 5, "{} marks", piece.marks.len());
                    for mark in &piece.marks {
                        for s in mark.path.segments() {
                            for i in 0..=10 {
                                let p = s.eval(f64::from(i) / 10.0);
                                assert!(
                                    in_the_wood(&piece.outline, &piece.holes, p),
                                    "{} at {p:?}",
                                    mark.label
                                );
                            }
                        }
                    }
                }
            }
        }
    }
}

#[test]
fn every_line_that_crosses_a_solid_mould_is_marked_on_it() {
    let set = made(&parabolic(), &MouldOptions { limb: None, ..marked(Shape::Whole) });
    let midship = set.moulds.iter().find(|m| m.x == 2.0).expect("the midship mould");
    let count = |kind| midship.pieces[0].marks.iter().filter(|m| m.kind == kind).count();
    assert_eq!(count(MarkKind::Centreline), 1);
    assert_eq!(count(MarkKind::Waterline), 3);
    assert_eq!(count(MarkKind::Buttock), 3);
    assert_eq!(count(MarkKind::Diagonal), 2, "both sides");
    assert_eq!(count(MarkKind::Sheer), 2, "both sides");
    assert_eq!(count(MarkKind::Spall), 1);
}

#[test]
fn the_inner_edge_of_a_hollow_limb_has_no_span_a_saw_would_not_feel() {
    let set = made(&hollow(), &MouldOptions { limb: Some(0.09), ..marked(Shape::Whole) });
    for mould in &set.moulds {
        for piece in &mould.pieces {
            let short: Vec<String> = (piece.outline.segments())
                .filter(|s| s.arclen(1e-6) < 2e-4)
                .map(|s| format!("{:?} {:?}", s.start(), s.end()))
                .collect();
            assert!(short.is_empty(), "spans under 0.2 mm: {short:?}");
        }
    }
}

#[test]
fn outlines_are_closed_simple_and_anticlockwise() {
    for shape in [Shape::Pair, Shape::Whole] {
        for limb in [None, Some(0.06), Some(0.12), Some(0.3)] {
            for hull in [parabolic(), cone(), wedge(0.2)] {
                let set = made(&hull, &MouldOptions { limb, ..marked(shape) });
                set.moulds.iter().for_each(closed_simple_and_anticlockwise);
            }
        }
    }
}

#[test]
fn the_halves_of_a_pair_are_mirror_images() {
    let set = made(&parabolic(), &marked(Shape::Pair));
    for mould in &set.moulds {
        assert_eq!(mould.pieces.len(), 2);
        let (right, left) = (&mould.pieces[0], &mould.pieces[1]);
        assert_ne!(right.side, left.side);
        close(right.outline.area(), left.outline.area(), 1e-12);
        let mirror = kurbo::Affine::scale_non_uniform(-1.0, 1.0) * left.outline.clone();
        for s in right.outline.segments() {
            assert!(distance_to(&mirror, s.eval(0.5)) < 1e-9);
        }
        for (a, b) in right.marks.iter().zip(&left.marks) {
            assert_eq!(a.label, b.label);
            close(a.path.bounding_box().x1, -b.path.bounding_box().x0, 1e-12);
        }
    }
}

#[test]
fn seen_on_its_forward_face_a_mould_has_port_on_the_right() {
    // Looking aft from ahead of the boat, her port side is on the right hand.
    for mould in made(&parabolic(), &MouldOptions::default()).moulds {
        let right = mould.pieces.iter().find(|p| p.outline.bounding_box().x1 > 0.01).expect("a right half");
        assert_eq!(right.side, if mould.face == Face::Forward { Side::Port } else { Side::Starboard });
    }
}

#[test]
fn the_bearing_edge_is_part_of_the_outline() {
    let set = made(&parabolic(), &MouldOptions::default());
    for mould in &set.moulds {
        for p in mould.edge.points(30) {
            assert!(distance_to(&mould.pieces[0].outline, Point::new(p[1], p[2])) < 1e-7);
        }
    }
}

#[test]
fn a_limb_keeps_its_width() {
    let width = 0.1;
    let with = |limb| {
        let plain = MouldOptions { limb, ..MouldOptions::default() };
        made(&cone(), &plain).moulds.remove(1)
    };
    let (limbed, solid) = (with(Some(width)), with(None));
    let outer = &solid.pieces[0].outline;
    let inner: Vec<Point> = limbed.pieces[0]
        .outline
        .segments()
        .flat_map(|s| (1..10).map(move |i| s.eval(f64::from(i) / 10.0)))
        .filter(|p| distance_to(outer, *p) > 1e-6 && p.y < limbed.sheer.y)
        .collect();
    assert!(inner.len() > 20, "there is an inner edge");
    let (edge, foot) = (limbed.edge.path(), outer.bounding_box().y0);
    for p in inner {
        close(distance_to(&edge, p).min(p.y - foot), width, 1e-4);
    }
}

#[test]
fn a_mould_narrower_than_its_limb_is_solid() {
    let narrow = hull(&[1.0, 2.0], |u, v| [LENGTH * u, 0.06 + 0.01 * u, 0.2 + 0.8 * v]);
    let set = made(&narrow, &MouldOptions { limb: Some(0.1), ..MouldOptions::default() });
    let solid = made(&narrow, &MouldOptions { limb: None, ..MouldOptions::default() });
    close(set.moulds[0].pieces[0].outline.area(), solid.moulds[0].pieces[0].outline.area(), 1e-9);
}

#[test]
fn notches_take_their_own_wood_and_no_more() {
    let plain = MouldOptions { limb: None, past_spall: None, ..MouldOptions::default() };
    let area = |options: &MouldOptions| {
        let set = made(&wedge(0.1), options);
        set.moulds[0].pieces[0].outline.area()
    };
    let whole = area(&plain);
    let keel = MouldOptions { keel_notch: Some(Notch { width: 0.06, depth: 0.04 }), ..plain.clone() };
    close(whole - area(&keel), 0.03 * 0.04, 1e-9);
    let ribband = MouldOptions {
        ribband_notch: Some(Notch { width: 0.05, depth: 0.02 }),
        ribbands: vec![RibbandAt::Height(0.5), RibbandAt::Girth(0.75)],
        ..plain
    };
    close(whole - area(&ribband), 2.0 * 0.05 * 0.02, 1e-9);
}

#[test]
fn a_keel_wider_than_the_lower_end_is_let_in_where_the_edge_reaches_its_width() {
    let options = MouldOptions {
        limb: None,
        keel_notch: Some(Notch { width: 0.3, depth: 0.1 }),
        ..MouldOptions::default()
    };
    for mould in made(&cone(), &options).moulds {
        let outline = &mould.pieces[0].outline;
        let low = mould.edge.points(2)[0][2];
        let top = low + 0.1;
        assert!(outline.winding(Point::new(0.02, top - 0.002)) == 0, "cut away");
        assert!(outline.winding(Point::new(0.02, top + 0.002)) != 0, "wood above the keel");
        closed_simple_and_anticlockwise(&mould);
    }
}

/// Low down in the bow two halves of a wedge are nearly together: a ribband there has no wood to be let into.
#[test]
fn a_ribband_notch_near_a_moulds_point_is_left_out_alone_and_said() {
    let sharp = hull(&[0.4, 2.0], |u, v| [4.0 * u, (0.01 + 0.5 * v * v) * (0.2 + u), 0.2 + 0.8 * v]);
    let asked = |ribbands: Vec<RibbandAt>, shape| MouldOptions {
        planking: Some(0.0),
        stations: Stations::At(vec![0.4, 2.0]),
        limb: None,
        past_spall: None,
        shape,
        ribband_notch: Some(Notch { width: 0.03, depth: 0.02 }),
        ribbands,
        ..MouldOptions::default()
    };
    for shape in [Shape::Pair, Shape::Whole] {
        let (low, high) = (RibbandAt::Height(0.32), RibbandAt::Height(0.8));
        let both = made(&sharp, &asked(vec![low.clone(), high.clone()], shape));
        let one = made(&sharp, &asked(vec![high], shape));
        assert!(both.failures.is_empty(), "{:?}", both.failures);
        for (mould, alone) in both.moulds.iter().zip(&one.moulds) {
            closed_simple_and_anticlockwise(mould);
            close(mould.pieces[0].outline.area(), alone.pieces[0].outline.area(), 1e-12);
            let said = |r: &String| r.contains("no notch for ribband R1") && r.contains("0.320 m up");
            assert_eq!(mould.remarks.iter().filter(|r| said(r)).count(), 1, "{:?}", mould.remarks);
            assert!(alone.remarks.iter().all(|r| !r.contains("no notch")), "{:?}", alone.remarks);
        }
    }
}

#[test]
fn a_notch_deeper_than_its_limb_is_refused() {
    let options = MouldOptions {
        limb: Some(0.05),
        ribband_notch: Some(Notch { width: 0.03, depth: 0.06 }),
        ribbands: vec![RibbandAt::Height(0.5)],
        ..MouldOptions::default()
    };
    let too_deep = |f: &Failure| matches!(f.error, LoftError::NotchTooDeep { what: "ribband notch", .. });
    let refused = moulds(&wedge(0.2), &options);
    assert!(matches!(refused, Err(LoftError::NoMoulds(all)) if all.iter().all(too_deep)));
}

#[test]
fn planking_thicker_than_the_half_breadth_is_refused_where_it_is_and_only_there() {
    let options = MouldOptions { planking: Some(0.25), limb: None, ..MouldOptions::default() };
    let set = moulds(&wedge(0.1), &options).expect("the after moulds are wide enough");
    assert_eq!(set.failures[0].station, "1");
    assert!(
        matches!(set.failures[0].error, LoftError::TooThick { deduction: 0.25, .. }),
        "{:?}",
        set.failures
    );
    assert_eq!(set.moulds.len(), 2);
}

#[test]
fn lengths_that_make_no_sense_are_named() {
    let bad = [
        MouldOptions { planking: Some(-0.01), ..MouldOptions::default() },
        MouldOptions { outside: f64::NAN, ..MouldOptions::default() },
        MouldOptions { thickness: 0.0, ..MouldOptions::default() },
        MouldOptions { limb: Some(-1.0), ..MouldOptions::default() },
        MouldOptions { keel_notch: Some(Notch { width: 0.0, depth: 0.1 }), ..MouldOptions::default() },
        MouldOptions { stations: Stations::Every(0.0), ..MouldOptions::default() },
        MouldOptions { spall_height: Some(f64::NAN), ..MouldOptions::default() },
        MouldOptions { strongback_from: f64::INFINITY, ..MouldOptions::default() },
    ];
    for options in bad {
        assert!(matches!(moulds(&wedge(0.2), &options), Err(LoftError::BadLength { .. })), "{options:?}");
    }
}

#[test]
fn moulds_nearer_than_there_is_room_for_are_refused() {
    let options = MouldOptions { stations: Stations::Every(1e-9), ..MouldOptions::default() };
    assert!(matches!(moulds(&wedge(0.2), &options), Err(LoftError::TooClose { .. })));
}

#[test]
fn a_station_that_is_no_number_is_a_failure_of_its_own() {
    let options = MouldOptions { stations: Stations::At(vec![f64::NAN, 2.0]), ..MouldOptions::default() };
    let set = moulds(&wedge(0.2), &options).expect("one mould");
    assert_eq!((set.moulds.len(), set.failures.len()), (1, 1));
}

#[test]
fn a_ribband_that_misses_a_mould_is_remarked_on() {
    let options = MouldOptions {
        ribbands: vec![RibbandAt::Height(0.5), RibbandAt::Height(1.4)],
        ribband_notch: Some(Notch { width: 0.04, depth: 0.02 }),
        ..MouldOptions::default()
    };
    for mould in made(&wedge(0.2), &options).moulds {
        assert!(mould.remarks.iter().any(|r| r.contains("R2 does not cross")), "{:?}", mould.remarks);
        assert!(mould.bevels.iter().any(|b| b.at == "R1"));
    }
}

#[test]
fn a_record_without_planking_asks_for_it() {
    let hull = hull_with(&[1.0, 2.0], "", |u, v| [LENGTH * u, 0.5, 0.2 + 0.8 * v]);
    assert_eq!(moulds(&hull, &MouldOptions::default()), Err(LoftError::NoPlanking));
    let given = MouldOptions { planking: Some(0.0), ..MouldOptions::default() };
    assert_eq!(made(&hull, &given).deduction, 0.0);
}

#[test]
fn a_station_off_the_hull_is_a_remark_and_not_the_end() {
    let options = MouldOptions { stations: Stations::At(vec![2.0, 9.0]), ..MouldOptions::default() };
    let set = moulds(&wedge(0.2), &options).expect("one mould");
    assert_eq!(set.moulds.len(), 1);
    assert!(matches!(set.failures[0].error, LoftError::Hull(_)));
}

#[test]
fn moulds_stand_every_so_far_or_where_they_are_asked_for() {
    let every = MouldOptions { stations: Stations::Every(0.75), ..MouldOptions::default() };
    let xs: Vec<f64> = made(&wedge(0.2), &every).moulds.iter().map(|m| m.x).collect();
    assert_eq!(xs, [0.75, 1.5, 2.25, 3.0, 3.75]);
    let at = MouldOptions {
        stations: Stations::At(vec![1.0, 1.5]),
        strongback_from: 0.5,
        ..MouldOptions::default()
    };
    let set = made(&wedge(0.2), &at);
    assert_eq!(set.moulds[0].station, "1", "the table's own name where there is a station");
    assert_eq!(set.set_up.iter().map(|r| r.along).collect::<Vec<_>>(), [0.5, 1.0]);
}

#[test]
fn a_bevelled_mould_is_cut_to_its_far_face_with_the_station_face_marked_in_the_wood() {
    let slope = 0.25;
    let options = MouldOptions { bevelled: true, limb: None, ..MouldOptions::default() };
    let plain = MouldOptions { limb: None, ..MouldOptions::default() };
    let (cut, square) = (made(&wedge(slope), &options), made(&wedge(slope), &plain));
    for (a, b) in cut.moulds.iter().zip(&square.moulds) {
        let breadth = |m: &Mould| m.pieces[0].outline.bounding_box().x1;
        close(breadth(a) - breadth(b), 0.018 * slope, 1e-7);
        let line = a.pieces[0].marks.iter().find(|m| m.kind == MarkKind::StationFace).expect("marked");
        close(line.path.bounding_box().x1, breadth(b), 1e-9);
    }
}

/// Sides that widen going aft low down and narrow above: a bevelled mould is cut to whichever face is the larger there.
#[test]
fn a_bevelled_mould_is_cut_to_the_station_face_where_its_bevel_is_shut() {
    let side = |x: f64, z: f64| 0.5 + 0.3 * (x - 2.0) * (0.6 - z) + 0.02 * x;
    let hull = hull(&[1.0, 2.0, 3.0], |u, v| {
        let (x, z) = (LENGTH * u, 0.2 + 0.8 * v);
        [x, side(x, z), z]
    });
    let options = MouldOptions { bevelled: true, limb: None, past_spall: None, ..MouldOptions::default() };
    let mut shut = 0;
    for mould in made(&hull, &options).moulds {
        closed_simple_and_anticlockwise(&mould);
        let outline = &mould.pieces[0].outline;
        let sign = if mould.lies == Lies::Aft { 1.0 } else { -1.0 };
        let half = |x: f64, z: f64| {
            let section = hull.parallel_section(x, 0.0127).expect("a section");
            section.crossings([0.0, 0.0, 1.0], z).pop().map(|mark| mark.sample.p[1])
        };
        for k in 1..=38 {
            let z = 0.21 + 0.02 * f64::from(k);
            let ends = [mould.x, mould.x + sign * 0.018].map(|x| half(x, z));
            let [Some(near), Some(far)] = ends else { continue };
            let widest = near.max(far);
            assert!(outline.winding(Point::new(widest - 1e-5, z)) != 0, "{} {z}", mould.station);
            assert!(outline.winding(Point::new(widest + 1e-4, z)) == 0, "{} {z}", mould.station);
            shut += usize::from(near > far + 1e-4);
        }
    }
    assert!(shut > 30, "{shut}");
}

/// A wedge whose table draws a diagonal; the ribband climbs 0.2 a metre.
fn climbing() -> RibbandAt {
    RibbandAt::Through(Batten::through(&[(0.0, 0.3), (4.0, 1.1)]).expect("a batten"))
}

#[test]
fn a_ribbands_notch_on_a_bevelled_mould_follows_its_run_from_face_to_face() {
    let slope = 0.25;
    let options = MouldOptions {
        bevelled: true,
        limb: None,
        ribbands: vec![climbing()],
        ribband_notch: Some(Notch { width: 0.04, depth: 0.015 }),
        ..MouldOptions::default()
    };
    for mould in made(&wedge(slope), &options).moulds.iter().filter(|m| m.x < 2.9) {
        let piece = &mould.pieces[0];
        let right = piece.outline.bounding_box().x1;
        let (here, there) = (0.3 + 0.2 * mould.x, 0.3 + 0.2 * (mould.x + 0.018));
        // Right through is cut what both faces leave out: from the higher lower side to the lower upper one.
        let void = |z: f64| piece.outline.winding(Point::new(right - 0.005, z)) == 0;
        assert!(void(there - 0.02 + 1e-4) && void(here + 0.02 - 1e-4));
        assert!(!void(here - 0.02 + 1e-4) && !void(there + 0.02 - 1e-4));
        // And marked is the notch of the station face, its own depth in from that face's own edge.
        let line = piece.marks.iter().find(|m| m.kind == MarkKind::StationFace).expect("marked");
        let floor = right - 0.018 * slope - 0.015;
        for z in [here - 0.02 + 1e-4, here + 0.02 - 1e-4] {
            assert!(distance_to(&line.path, Point::new(floor, z)) < 1e-6, "station {}", mould.station);
        }
        assert!(distance_to(&line.path, Point::new(floor, here - 0.02 - 1e-3)) > 5e-4, "no further down");
    }
}

#[test]
fn ribbands_run_below_the_sheer_and_through_readings_of_their_own() {
    let below = RibbandAt::BelowSheer(0.2);
    let down = RibbandAt::DownFromSheer(0.3);
    let options = MouldOptions { ribbands: vec![below, down, climbing()], ..MouldOptions::default() };
    for mould in made(&wedge(0.2), &options).moulds {
        let at = |name: &str| mould.bevels.iter().find(|b| b.at == name).expect("a bevel").spot.y;
        close(at("R1"), mould.sheer.y - 0.2, 1e-9);
        // Its side stands plumb, so that girth is height.
        close(at("R2"), mould.sheer.y - 0.3, 1e-6);
        close(at("R3"), 0.3 + 0.2 * mould.x, 1e-9);
    }
}

#[test]
fn a_mould_that_the_base_line_misses_has_a_line_parallel_to_it_clear_of_the_waterlines() {
    let options = MouldOptions { waterlines: Some(vec![0.23, 0.24, 0.5]), ..MouldOptions::default() };
    for mould in made(&wedge(0.2), &options).moulds {
        let base: Vec<_> = mould.pieces[0].marks.iter().filter(|m| m.kind == MarkKind::BaseLine).collect();
        assert_eq!(base.len(), 1);
        // Its foot is 0.2 m up: 30 mm above that, in whole tens of millimetres, and off 0.23 and 0.24.
        assert_eq!(base[0].label, "BASE + 0.26");
        close(base[0].path.bounding_box().y0, 0.26, 1e-9);
    }
}

#[test]
fn there_is_no_mould_where_she_ends_and_the_others_are_made() {
    let pointed = |u: f64, v: f64| [LENGTH * u, 0.4 * (PI * u).sin() * (0.4 + 0.6 * v), 0.2 + 0.8 * v];
    for xs in [[0.0, 1.0, 2.0], [1.0, 2.0, 4.0], [1.0, 2.0, 3.995]] {
        let set = made(&hull(&xs, pointed), &MouldOptions::default());
        assert_eq!(set.moulds.len(), 2);
        assert!(set.remarks.iter().any(|r| r.contains("she ends there")), "{:?}", set.remarks);
    }
}

#[test]
fn a_mould_too_narrow_to_cut_is_left_out_with_what_to_do_instead() {
    let pointed = |u: f64, v: f64| [LENGTH * u, 0.4 * (PI * u).sin() * (0.4 + 0.6 * v), 0.2 + 0.8 * v];
    let set = made(&hull(&[0.1, 1.0, 2.0], pointed), &MouldOptions::default());
    assert_eq!(set.moulds.len(), 2);
    let said = set.remarks.iter().find(|r| r.contains("mm wide there")).expect("a remark");
    assert!(said.starts_with("no mould at station") && said.contains("give `[stem]`"), "{said}");
    assert!(set.moulds.iter().all(|m| m.edge.points(50).iter().any(|p| p[1] > 0.025)));
    // Asked for by itself it cannot be made, and is a failure.
    let asked = MouldOptions { stations: Stations::At(vec![0.1, 1.0]), ..MouldOptions::default() };
    let set = moulds(&hull(&[1.0, 2.0], pointed), &asked).expect("the other mould");
    assert!(matches!(set.failures[0].error, LoftError::TooNarrow { .. }), "{:?}", set.failures);
}

#[test]
fn the_horn_runs_on_in_the_direction_of_the_edge_and_then_plumb() {
    let set = made(&cone(), &MouldOptions { limb: None, ..MouldOptions::default() });
    let mould = &set.moulds[0];
    // The cone's section ends 5 degrees below the horizontal through its axis.
    let along = PI / 36.0;
    let run = Point::new(mould.sheer.x + 0.05 * along.sin(), mould.sheer.y + 0.05 * along.cos());
    assert!(distance_to(&mould.pieces[0].outline, run) < 1e-6);
    let top = mould.pieces[0].outline.bounding_box().y1;
    close(top, set.spall_height + 0.025, 1e-9);
    assert!(distance_to(&mould.pieces[0].outline, Point::new(run.x, top)) < 1e-6);
}

#[test]
fn labels_are_plain_and_say_what_the_shop_needs() {
    let facts = "name = \"P\u{e9}trel\"\nplanking = \"0mm\"";
    let hull = hull_with(&[1.0, 2.0], facts, |u, v| [LENGTH * u, 0.5 + 0.1 * u, 0.2 + 0.8 * v]);
    let set = made(&hull, &MouldOptions { shape: Shape::Stacked, ..MouldOptions::default() });
    assert!(set.name.is_ascii());
    assert_eq!(set.moulds[0].labels, ["MOULD 1", "FORWARD FACE"]);
    assert_eq!(set.moulds[0].pieces[0].count, 2);
}
