//! The transom against closed forms: plane sides, a cone, a cylinder; flat, raked and rolled out (handbook,
//! section 11). Bounds are those of the trade: 0.05 mm and 0.02 degrees.

mod shapes;

use scrieve_hull::{Boat, Plane};
use scrieve_loft::RoundOfBeam;
use scrieve_loft::transom::{Transom, TransomError, TransomOptions, transom};
use scrieve_offsets::TransomPlane;
use shapes::{from_surface, with_facts};

const NEAR: f64 = 5e-5;
const ANGLE: f64 = 0.02 * std::f64::consts::PI / 180.0;
const T: f64 = 0.0127;
const STOCK: f64 = 0.022;

/// A face through (foot, 0.2) at this rake.
fn face(foot: f64, rake: f64, curve_radius: Option<f64>) -> TransomPlane {
    TransomPlane { foot: (foot, 0.2), head: (foot + 0.8 * rake.tan(), 1.0), curve_radius }
}

fn options(face: TransomPlane) -> TransomOptions {
    TransomOptions { thickness: STOCK, planking: Some(T), face: Some(face), ..TransomOptions::default() }
}

/// Where a spot of the drawing lies in space, `inside` forward of the after face.
fn in_space(face: &TransomPlane, [_, across, up]: [f64; 3], inside: f64) -> [f64; 3] {
    let rake = (face.head.0 - face.foot.0).atan2(face.head.1 - face.foot.1);
    let (sin, cos) = rake.sin_cos();
    let origin = face.foot.0 - face.foot.1 * rake.tan();
    let (y, forward) = match face.curve_radius {
        None => (across, inside),
        Some(r) => {
            let (s, c) = (across / (r - inside)).sin_cos();
            ((r - inside) * s, r - (r - inside) * c)
        }
    };
    [origin + up * sin - forward * cos, y, up * cos + forward * sin]
}

fn every(t: &Transom, face: &TransomPlane, off: impl Fn([f64; 3]) -> f64) -> f64 {
    let outer = t.outer.points(60).into_iter().map(|p| in_space(face, p, 0.0));
    let inner = t.inner.points(60).into_iter().map(|p| in_space(face, p, STOCK));
    outer.chain(inner).map(|p| off(p).abs()).fold(0.0, f64::max)
}

/// Plane sides y = 0.9 + slope x, ending on the face.
fn sides(slope: f64, end: TransomPlane) -> Boat {
    from_surface(move |u, v| {
        let z = 0.2 + 0.8 * v;
        let mut x = 4.0;
        for _ in 0..60 {
            x = end.x(0.9 + slope * x, z);
        }
        [u * x, 0.9 + slope * u * x, z]
    })
}

#[test]
fn a_raked_transom_between_plane_sides_is_drawn_at_its_true_size() {
    for (slope, rake) in [(-0.1, 0.0), (-0.15, 0.3), (0.1, 0.25), (0.0, -0.2)] {
        let face = face(4.0, rake, None);
        let t = transom(&sides(slope, face), &options(face)).expect("a transom");
        let inside = T * (1.0_f64 + slope * slope).sqrt();
        assert!(every(&t, &face, |p| p[1] - (0.9 + slope * p[0] - inside)) < 1e-6);
        assert!((t.rake - rake).abs() < 1e-12);
        // Heights along the face: the sides are plumb, so the sheer stays at z = 1.
        let sheer = t.outer.end().expect("a sheer").p;
        assert!((sheer[2] - 1.0 / rake.cos()).abs() < 1e-6, "{sheer:?}");
        let beta = (-slope * rake.cos() / (1.0 + slope * slope).sqrt()).asin();
        for b in &t.bevels {
            assert!((b.angle - beta).abs() < ANGLE, "{b:?}");
            assert!(slope == 0.0 || b.is_open() == (slope < 0.0), "{slope}");
        }
    }
}

/// The forward face of a flat transom is larger by the bevel over its thickness.
#[test]
fn the_inner_outline_differs_from_the_outer_by_the_bevel_over_the_thickness() {
    let face = face(4.0, 0.3, None);
    let t = transom(&sides(-0.15, face), &options(face)).expect("a transom");
    let at =
        |curve: &scrieve_hull::Curve| curve.crossings([0.0, 0.0, 1.0], 0.7).pop().expect("a crossing").sample;
    let (outer, inner) = (at(&t.outer), at(&t.inner));
    let out = (inner.p[1] - outer.p[1]) * outer.tangent[2].abs();
    assert!((out - t.bevels[0].rise).abs() < NEAR, "{out} {}", t.bevels[0].rise);
}

#[test]
fn a_raked_transom_of_a_cone_lies_on_the_inner_cone() {
    let face = face(4.0, 0.35, None);
    let radius = |x: f64| 1.2 - 0.12 * x;
    let hull = from_surface(move |u, v| {
        let (s, c) = (0.1 + 1.3 * v).sin_cos();
        let mut x = 4.0;
        for _ in 0..60 {
            x = face.x(radius(x) * s, 1.4 - radius(x) * c);
        }
        let x = u * x;
        [x, radius(x) * s, 1.4 - radius(x) * c]
    });
    let t = transom(&hull, &options(face)).expect("a transom");
    let off =
        every(&t, &face, |p| p[1].hypot(1.4 - p[2]) - (radius(p[0]) - T * (1.0 + 0.12_f64.powi(2)).sqrt()));
    assert!(off < NEAR, "{off}");
}

/// Straight sides of half-breadth b: a transom of radius R rolls out to R asin(b/R).
#[test]
fn a_curved_transom_is_rolled_out_arcs_to_straight() {
    for rake in [0.0, 0.3] {
        let (r, b) = (1.5_f64, 0.9 - T);
        let face = face(4.0, rake, Some(r));
        let t = transom(&sides(0.0, face), &options(face)).expect("a transom");
        for p in t.outer.points(20) {
            assert!((p[1] - r * (b / r).asin()).abs() < 1e-6, "{p:?}");
        }
        for p in t.inner.points(20) {
            assert!((p[1] - (r - STOCK) * (b / (r - STOCK)).asin()).abs() < 1e-6, "{p:?}");
        }
        // The planking runs fore and aft, and the face has turned by asin(b/R) where they meet.
        assert!(t.bevels.iter().all(|bevel| (bevel.angle - (b / r).asin()).abs() < ANGLE));
    }
}

#[test]
fn a_curved_raked_transom_of_a_cone_lies_on_the_inner_cone() {
    let face = face(4.0, 0.25, Some(1.6));
    let radius = |x: f64| 1.1 - 0.1 * x;
    let hull = from_surface(move |u, v| {
        let (s, c) = (0.1 + 1.3 * v).sin_cos();
        let mut x = 4.0;
        for _ in 0..80 {
            x = face.x(radius(x) * s, 1.4 - radius(x) * c);
        }
        let x = u * x;
        [x, radius(x) * s, 1.4 - radius(x) * c]
    });
    let t = transom(&hull, &options(face)).expect("a transom");
    let off = every(&t, &face, |p| p[1].hypot(1.4 - p[2]) - (radius(p[0]) - T * 1.01_f64.sqrt()));
    assert!(off < NEAR, "{off}");
}

#[test]
fn without_planking_the_transoms_edge_lies_on_the_hull() {
    for radius in [None, Some(1.4)] {
        let face = face(4.0, 0.3, radius);
        let hull = sides(-0.1, face);
        let bare = TransomOptions { planking: Some(0.0), ..options(face) };
        let t = transom(&hull, &bare).expect("a transom");
        let edge = &hull.ends(Plane::at_x(0.0))[1];
        for p in t.outer.points(40) {
            let p = in_space(&face, p, 0.0);
            let near = edge.nearest(p).expect("near").sample.p;
            assert!((0..3).all(|k| (near[k] - p[k]).abs() < 5e-6), "{p:?} {near:?}");
        }
    }
}

/// A level line stands z / cos(rake) up a flat face; on a curved one it is where its spots roll out to.
#[test]
fn waterlines_and_the_round_of_the_top_are_drawn_where_they_lie() {
    let text = "planking = \"12.7mm\"\n";
    for radius in [None, Some(1.5)] {
        let end = face(4.0, 0.3, radius);
        let hull = with_facts(text, move |u, v| {
            let z = 0.2 + 0.8 * v;
            [u * end.x(0.9, z), 0.9, z]
        });
        let round = RoundOfBeam { beam: 1.8, camber: 0.05 };
        let asked = TransomOptions { planking: None, round_of_beam: Some(round), ..options(end) };
        let t = transom(&hull, &asked).expect("a transom");
        let sheer = in_space(&end, t.outer.end().expect("a sheer").p, 0.0);
        for p in t.outer_top.points(30) {
            let p = in_space(&end, p, 0.0);
            let fall = round.fall(p[1]).expect("a fall") - round.fall(sheer[1]).expect("a fall");
            assert!((p[2] - (sheer[2] - fall)).abs() < NEAR, "{p:?}");
            assert!((p[0] - end.x(p[1], p[2])).abs() < NEAR);
        }
        let rolled = kurbo::Shape::area(&t.outline());
        assert!(rolled > 1.3 && kurbo::Shape::area(&t.inner_outline()) > 1.2, "{rolled}");
    }
}

#[test]
fn what_makes_no_transom_is_told_what_would_do() {
    let end = face(4.0, 0.3, None);
    let hull = sides(-0.1, end);
    let ask = |o: TransomOptions| transom(&hull, &o).expect_err("no transom");
    assert_eq!(ask(TransomOptions { face: None, ..options(end) }), TransomError::NoTransom);
    assert_eq!(ask(TransomOptions { planking: None, ..options(end) }), TransomError::NoPlanking);
    for far in [face(9.0, 0.3, None), face(-3.0, 0.1, None)] {
        let error = ask(options(far));
        assert!(
            matches!(error, TransomError::Misses { .. }) && error.to_string().contains("misses"),
            "{error}"
        );
    }
    let level = TransomPlane { head: (5.0, 0.2), ..end };
    assert!(matches!(ask(options(level)), TransomError::Flat { .. }));
    assert!(matches!(
        ask(TransomOptions { thickness: f64::NAN, ..options(end) }),
        TransomError::BadLength { .. }
    ));
    let tight = TransomPlane { curve_radius: Some(0.02), ..end };
    assert!(matches!(ask(options(tight)), TransomError::TooTight { .. }));
    let steep = RoundOfBeam { beam: 0.3, camber: 0.1 };
    let error = ask(TransomOptions { round_of_beam: Some(steep), ..options(end) });
    assert!(matches!(error, TransomError::NoRound(_)), "{error}");
}

/// Sides that narrow going aft above, and widen below: either face is the larger somewhere, and what is cut holds both,
/// and the finished transom between them, whose edge runs straight from face to face.
#[test]
fn what_is_cut_holds_both_faces_and_the_edge_between_them() {
    for (rake, radius) in [(0.3, None), (-0.2, None), (0.25, Some(1.6)), (0.0, Some(2.5))] {
        let face = face(4.0, rake, radius);
        let side = |x: f64, z: f64| 0.75 + 0.35 * (x - 4.0) * (0.6 - z);
        let hull = from_surface(move |u, v| {
            let z = 0.2 + 0.8 * v;
            let mut x = 4.0;
            for _ in 0..80 {
                x = face.x(side(x, z), z);
            }
            [u * x, side(u * x, z), z]
        });
        let round = RoundOfBeam { beam: 1.8, camber: 0.05 };
        for round_of_beam in [None, Some(round)] {
            let t = transom(&hull, &TransomOptions { round_of_beam, ..options(face) }).expect("a transom");
            let blank = &t.blank;
            let squared = radius.map_or(1.0, |r| r / (r - STOCK));
            let holds = |p: kurbo::Point| {
                // Where the faces cross, spots of both stand a little askew: 0.02 mm.
                let near =
                    |s: kurbo::PathSeg| kurbo::ParamCurveNearest::nearest(&s, p, 1e-12).distance_sq < 4e-10;
                kurbo::Shape::winding(blank, p) != 0 || blank.segments().any(near)
            };
            let drawn = |curve: &scrieve_hull::Curve, wide: f64| -> Vec<kurbo::Point> {
                curve.points(60).into_iter().map(|p| kurbo::Point::new(wide * p[1], p[2])).collect()
            };
            let (outer, inner) = (drawn(&t.outer, 1.0), drawn(&t.inner, squared));
            for (a, b) in outer.iter().zip(&inner) {
                // Samples of both stand at like places up the edge.
                for k in 0..=4 {
                    let p = a.lerp(*b, f64::from(k) / 4.0);
                    assert!(holds(p) && holds(kurbo::Point::new(-p.x, p.y)), "{rake} {radius:?} {p:?}");
                }
            }
            for p in drawn(&t.outer_top, 1.0).into_iter().chain(drawn(&t.inner_top, squared)) {
                assert!(holds(p), "{rake} {radius:?} {p:?}");
            }
            // Neither face alone would do.
            let area = |path: &kurbo::BezPath| kurbo::Shape::area(path).abs();
            let least = area(&t.outline()).max(area(&t.inner_squared()));
            assert!(area(blank) > least + 1e-5 && area(blank) < 1.05 * least, "{} {least}", area(blank));
        }
    }
}
