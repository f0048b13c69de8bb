//! The backbone as one line: a forefoot that is round, and a sternpost that runs on below a transom. Closed forms.

mod shapes;

use kurbo::{ParamCurve, ParamCurveNearest, Point, Shape as _};
use scrieve_hull::Boat;
use scrieve_loft::MarkKind;
use scrieve_loft::backbone::{Backbone, BackboneOptions, BackbonePiece, backbone};
use scrieve_loft::rabbet::{End, RabbetOptions, rabbet_on};
use scrieve_loft::transom::{TransomOptions, transom};
use shapes::boats::{
    A, ACROSS, C, FOOT, H, HEAD, HEEL, RAKE, amidships, round_forefoot, sharp_forefoot, wineglass,
};

const T: f64 = 0.0127;

/// Whether a closed outline meets itself: by chords of it, every pair (from the definition).
fn crosses_itself(piece: &BackbonePiece) -> bool {
    let mut points: Vec<Point> = Vec::new();
    kurbo::flatten(&piece.outline, 1e-4, |el| {
        if let kurbo::PathEl::MoveTo(p) | kurbo::PathEl::LineTo(p) = el
            && points.last().is_none_or(|q| q.distance(p) > 1e-7)
        {
            points.push(p);
        }
    });
    if points[0].distance(points[points.len() - 1]) < 1e-7 {
        points.pop();
    }
    let n = points.len();
    let side = |a: Point, b: Point, c: Point| (b - a).cross(c - a);
    (0..n).any(|i| {
        (i + 2..n).filter(|j| (j + 1) % n != i).any(|j| {
            let (a, b, c, d) = (points[i], points[(i + 1) % n], points[j], points[(j + 1) % n]);
            side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
        })
    })
}

fn made(hull: &Boat) -> Backbone {
    let made = backbone(hull, &BackboneOptions::default()).expect("a backbone");
    assert!(made.failures.is_empty(), "{:?}", made.failures);
    made
}

#[test]
fn a_round_forefoot_is_one_line_with_the_curvature_and_plank_angles_of_its_formula() {
    let b = made(&round_forefoot());
    assert!(b.along.len() > 40);
    for at in &b.along {
        // A rectangular hyperbola's curvature is 2 A² / r³; its slope -z / x.
        let r = at.x.hypot(at.z);
        assert!((at.x * at.z - A * A).abs() < 1e-5, "{at:?}");
        assert!((at.curvature - 2.0 * A * A / r.powi(3)).abs() < 0.02 * at.curvature.abs() + 5e-3, "{at:?}");
        assert!((at.rise.tan() + at.z / at.x).abs() < 1e-3 * (1.0 + at.z / at.x), "{at:?}");
        // |∇√(x z)| on the line is r / 2 A: the planking leaves the side at the angle whose tangent is C times it.
        let angle = (C * r / (2.0 * A)).atan();
        let off = (at.plank_angle - angle).to_degrees().abs();
        assert!(off < 0.3, "{off} {at:?}");
    }
    let joint = b.along.iter().position(|at| at.piece == "keel").expect("a keel");
    assert!(b.along[..joint].iter().all(|at| at.piece == "stem"));
    // The joint stands where the keel's own run begins, aft of the corner of the patch at 45 degrees.
    assert!(b.along[joint].rise > (-25.0_f64).to_radians() && b.along[joint].x > A, "{:?}", b.along[joint]);
}

#[test]
fn round_a_forefoot_the_three_lines_have_no_wave_and_no_corner() {
    let b = made(&round_forefoot());
    for line in &b.lines {
        let mut last: Option<kurbo::Vec2> = None;
        for segment in line.segments() {
            for t in [0.0, 0.25, 0.5, 0.75] {
                let way = (segment.eval(t + 0.05) - segment.eval(t)).normalize();
                if let Some(before) = last {
                    let turn = before.cross(way).atan2(before.dot(way)).to_degrees();
                    // Turning up all the way from the head aft, as the hyperbola does.
                    assert!((-0.05..4.0).contains(&turn), "{turn} at {:?}", segment.eval(t));
                }
                last = Some(way);
            }
        }
    }
    // The bearding line is the inner face's trace on the side: at its formula's distance, plane planking all but.
    for at in &b.stem {
        let bearding = at.rabbet.bearding.y - at.rabbet.rabbet.y;
        let sine = at.rabbet.angle.sin();
        assert!((bearding * sine / T - 1.0).abs() < 0.15, "{bearding} {sine}");
    }
}

#[test]
fn round_a_forefoot_stem_and_keel_are_simple_and_meet_on_one_joint() {
    let b = made(&round_forefoot());
    let piece = |name: &str| b.pieces.iter().find(|p| p.name == name).expect("a piece");
    assert_eq!(b.pieces.iter().map(|p| p.name).collect::<Vec<_>>(), ["keel", "stem"]);
    let whole: f64 = ["keel", "stem"].map(|name| piece(name).outline.area().abs()).iter().sum();
    for name in ["keel", "stem"] {
        assert!(!crosses_itself(piece(name)), "{name}");
        assert!(piece(name).marks.iter().any(|m| m.kind == MarkKind::Rabbet), "{name}");
    }
    // Neither overlaps the other nor leaves a gap: points of the one's joint lie on the other's edge.
    let (keel, stem) = (piece("keel"), piece("stem"));
    let near = |p: Point| {
        keel.outline.segments().map(|s| s.nearest(p, 1e-9).distance_sq).fold(f64::INFINITY, f64::min)
    };
    let joint: Vec<_> = stem.outline.segments().collect::<Vec<_>>().into_iter().rev().take(3).collect();
    for segment in joint {
        for t in [0.0, 0.5, 1.0] {
            assert!(near(segment.eval(t)).sqrt() < 1e-6);
        }
    }
    assert!(whole > 0.1);
    // The stem's foot stands on the outer edge, deep below the rabbet line as the keel is.
    let deepest = stem.outline.bounding_box();
    assert!(deepest.x1 > b.along.iter().find(|at| at.piece == "keel").expect("a keel").x);
}

#[test]
fn a_round_stem_gives_its_rabbet_at_any_height_down_to_the_joint() {
    let hull = round_forefoot();
    for z in [1.0, 0.5, 0.3, 0.2, 0.16] {
        let r = rabbet_on(&hull, End::Stem, z, &RabbetOptions::default()).expect("a rabbet");
        let x = A * A / z;
        let angle = (C * x.hypot(z) / (2.0 * A)).atan();
        assert!((r.angle - angle).to_degrees().abs() < 0.3, "{z}");
        assert!((r.plane.origin[0] - x).abs() < 1e-5);
    }
}

#[test]
fn a_post_runs_from_the_heel_to_the_foot_of_the_transom_and_no_further() {
    let hull = wineglass();
    let b = made(&hull);
    let names: Vec<&str> = b.pieces.iter().map(|p| p.name).collect();
    // Post and transom are in one line, so that no knee stands between them.
    assert_eq!(names, ["keel", "sternpost", "heel knee"]);
    // The keel is level and the post leans aft by its rake; round the corner the inner edge is easier.
    let arms = b.pieces[2].arms_at.expect("arms");
    assert!(arms > std::f64::consts::FRAC_PI_2 + RAKE.atan() - 0.02 && arms < 2.8, "{}", arms.to_degrees());
    assert!(b.remarks.iter().any(|r| r.contains("no stern knee")), "{:?}", b.remarks);
    assert!(b.pieces.iter().all(|p| !crosses_itself(p)));
    let (first, last) = (&b.sternpost[0], &b.sternpost[b.sternpost.len() - 1]);
    assert!(first.z < 0.01 && (last.z - FOOT).abs() < 1e-3 && last.z <= FOOT, "{} {}", first.z, last.z);
    let cos = 1.0 / (1.0 + RAKE * RAKE).sqrt();
    for at in b.along.iter().filter(|at| at.piece == "sternpost") {
        assert!((at.x - HEEL - RAKE * at.z).abs() < 1e-6 && (at.half_siding - H).abs() < 1e-9, "{at:?}");
        // Forward, the half-breadth grows by 2 Y over the length there; the post leans by its rake.
        let angle = (2.0 * amidships(at.z / HEAD) / (HEEL + RAKE * at.z) / cos).atan();
        assert!((at.plank_angle - angle).to_degrees().abs() < 0.3, "{at:?} {}", angle.to_degrees());
    }
    for line in &b.lines {
        assert!(line.bounding_box().y1 < FOOT + 0.05);
    }
    let post = b.pieces.iter().find(|p| p.name == "sternpost").expect("a post");
    for kind in [MarkKind::Rabbet, MarkKind::Bearding, MarkKind::Middle] {
        let mark = post.marks.iter().find(|m| m.kind == kind).expect("a line of the rabbet on the post");
        assert!(mark.path.bounding_box().height() > 0.5 * FOOT, "{kind:?}");
    }
    let r = rabbet_on(&hull, End::Sternpost, 0.3, &RabbetOptions::default()).expect("a rabbet");
    assert!(r.plane.up[0] < 0.0);
    assert!(rabbet_on(&hull, End::Sternpost, 0.9, &RabbetOptions::default()).is_err());
}

#[test]
fn above_a_post_the_transom_begins_at_its_foot_at_the_half_siding() {
    let hull = wineglass();
    for planking in [0.0, T] {
        let options = TransomOptions { planking: Some(planking), ..TransomOptions::default() };
        let t = transom(&hull, &options).expect("a transom");
        let up = (1.0 + RAKE * RAKE).sqrt();
        let start = t.outer.start().expect("a start").p;
        // Heights along the face from the base line: its rake passes (HEEL, 0).
        assert!((start[1] - H).abs() < 1e-6 && (start[2] - FOOT * up).abs() < 1e-4, "{start:?}");
        let lowest = t.outer.points(200).into_iter().map(|p| p[2]).fold(f64::INFINITY, f64::min);
        assert!((lowest - start[2]).abs() < 1e-9);
        assert!(t.outer.points(200).iter().all(|p| p[1] > H - 1e-6));
        if planking > 0.0 {
            // Up the post's side there is no bevel; where the planking leaves it there is the planking's.
            let at = |name: &str| t.bevels.iter().find(|b| b.at == name).expect("a bevel").clone();
            assert!(
                at("lower end").angle.abs() < 1e-9 && at("bearding").angle > 0.05,
                "{:?}",
                at("bearding")
            );
            assert!((at("bearding").spot.x - H).abs() < 1e-6 && at("bearding").spot.y > FOOT * up + 0.01);
        }
        // Without planking the edge is the hull's own after edge.
        if planking == 0.0 {
            for p in t.outer.points(100) {
                let above = ((p[2] / up - FOOT).max(0.0) / (HEAD - FOOT)).powi(5);
                assert!((p[1] - (H + ACROSS * above)).abs() < 1e-4, "{p:?}");
            }
        }
    }
}

#[test]
fn round_a_heel_as_sharp_as_the_bearding_is_deep_every_piece_is_simple_and_its_inner_edge_goes_onward() {
    // The least radius of x z = a² is a √2: the bearding lies deeper inside than that.
    for a in [0.03, 0.06, 0.1] {
        let hull = sharp_forefoot(a);
        let b = made(&hull);
        assert_eq!(b.pieces.iter().map(|p| p.name).collect::<Vec<_>>(), ["keel", "stem"], "{a}");
        assert!(b.pieces.iter().all(|p| !crosses_itself(p)), "{a}");
        let deepest = b.stem.iter().map(|at| at.rabbet.bearding.y - at.rabbet.rabbet.y).fold(0.0, f64::max);
        assert!(a > 0.035 || deepest > a * std::f64::consts::SQRT_2, "{a}: {deepest}");
        for line in &b.lines {
            let ends = line.segments().map(|s| s.end()).collect::<Vec<_>>();
            // Down and aft all the way, as the hyperbola goes; the patch follows it to some hundredths of a millimetre.
            for w in ends.windows(2) {
                assert!(w[1].x > w[0].x - 1e-9 && w[1].y < w[0].y + 1e-4, "{a}: {w:?}");
            }
        }
    }
}
