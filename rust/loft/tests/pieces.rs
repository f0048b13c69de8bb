//! Moulds in pieces: what a yard expects of a floor, its futtocks and the cleats between (common practice).

mod shapes;

use std::f64::consts::{FRAC_PI_2, PI};

use kurbo::{BezPath, ParamCurve, Point, Shape as _};
use scrieve_hull::Boat;
use scrieve_loft::moulds::{LoftError, Mould, MouldOptions, Notch, Shape, Side, moulds};
use scrieve_loft::pieces::{InPieces, JointAt, Part, SpallBoard};
use scrieve_loft::ribbands::RibbandAt;
use scrieve_loft::{MarkKind, Stock};
use scrieve_offsets::Survey;

const FACTS: &str = "planking = \"12.7mm\"";
/// Radius of the bilge of [`boxy`].
const BILGE: f64 = 0.25;

/// At three stations.
fn stationed(f: impl Fn(f64, f64) -> [f64; 3]) -> Boat {
    let survey = Survey { stations: vec![1.0, 2.0, 3.0], ..Survey::default() };
    shapes::with_survey(FACTS, survey, f)
}

/// A cylinder of 0.7 m about y = 0, z = 1, from 80° below the horizontal to its widest.
fn round() -> Boat {
    stationed(|u, v| {
        let (s, c) = (-80.0 + 80.0 * v).to_radians().sin_cos();
        [4.0 * u, 0.7 * c, 1.0 + 0.7 * s]
    })
}

/// A flat floor at z = 0.1 to y = 0.6, a quarter circle, and a plumb side; by arc length.
fn boxy() -> Boat {
    let lengths = [0.55, BILGE * FRAC_PI_2, 0.6];
    let whole: f64 = lengths.iter().sum();
    stationed(move |u, v| {
        let s = v * whole;
        let (y, z) = if s < lengths[0] {
            (0.05 + s, 0.1)
        } else if s < lengths[0] + lengths[1] {
            let (sin, cos) = ((s - lengths[0]) / BILGE).sin_cos();
            (0.6 + BILGE * sin, 0.1 + BILGE * (1.0 - cos))
        } else {
            (0.6 + BILGE, 0.1 + BILGE + s - lengths[0] - lengths[1])
        };
        [4.0 * u, y, z]
    })
}

fn pieces(ask: InPieces) -> MouldOptions {
    MouldOptions {
        pieces: Some(ask),
        spall: Some(SpallBoard { width: 0.1, lap: None }),
        ..MouldOptions::default()
    }
}

fn made(hull: &Boat, options: &MouldOptions) -> Vec<Mould> {
    let set = moulds(hull, options).expect("moulds");
    assert!(set.failures.is_empty(), "{:?}", set.failures);
    set.moulds
}

/// The one error that keeps every mould from being made.
fn refused(hull: &Boat, options: &MouldOptions) -> LoftError {
    match moulds(hull, options).expect_err("no mould") {
        LoftError::NoMoulds(mut all) => all.remove(0).error,
        error => error,
    }
}

fn of(mould: &Mould, part: Part) -> Vec<&scrieve_loft::moulds::Piece> {
    mould.pieces.iter().filter(|p| p.part == part).collect()
}

fn close(a: f64, b: f64, within: f64) {
    assert!((a - b).abs() <= within, "{a} is not {b} within {within}");
}

fn inside(path: &BezPath, p: Point) -> bool {
    path.winding(p) != 0
}

#[test]
fn a_floor_and_two_futtocks_take_up_the_whole_mould_and_no_more() {
    for hull in [round(), boxy()] {
        let whole = made(&hull, &MouldOptions { shape: Shape::Whole, ..MouldOptions::default() });
        for (mould, whole) in made(&hull, &pieces(InPieces::default())).iter().zip(&whole) {
            let names: Vec<&str> = mould.pieces.iter().map(|p| p.name.as_str()).collect();
            let cleat = "CLEAT FLOOR TO FUTTOCK";
            assert_eq!(names, ["FLOOR", "FUTTOCK", "FUTTOCK", cleat, cleat, "SPALL"]);
            let edge: Vec<_> = mould.pieces.iter().take(3).collect();
            let area: f64 = edge.iter().map(|p| p.outline.area()).sum();
            close(area, whole.pieces[0].outline.area(), 1e-9);
            let bounds = whole.pieces[0].outline.bounding_box();
            for i in 0..60 {
                for j in 0..60 {
                    let p = Point::new(
                        bounds.x0 + bounds.width() * f64::from(i) / 59.3,
                        bounds.y0 + bounds.height() * f64::from(j) / 59.3,
                    );
                    let held = edge.iter().filter(|piece| inside(&piece.outline, p)).count();
                    assert_eq!(held, usize::from(inside(&whole.pieces[0].outline, p)), "{p:?}");
                }
            }
            let longest = whole.pieces[0].board(None).length;
            assert!(edge.iter().all(|p| p.board(None).length < longest));
        }
    }
}

#[test]
fn a_cleat_laps_both_pieces_alike_and_stays_within_the_limb() {
    let lap = 0.08;
    for mould in made(&boxy(), &pieces(InPieces { lap: Some(lap), ..InPieces::default() })) {
        let (floor, futtock) = (of(&mould, Part::Floor)[0], of(&mould, Part::Futtock)[0]);
        for cleat in of(&mould, Part::Cleat) {
            let board = cleat.board(None);
            close(board.length.max(board.width), (2.0 * lap).max(board.width), 1e-9);
            let joint = cleat.marks.iter().find(|m| m.kind == MarkKind::Joint).expect("a joint line");
            let line = joint.path.segments().next().expect("a line");
            // The joint line halves the cleat.
            let middle = cleat.outline.bounding_box().center();
            assert!(line.eval(0.5).distance(middle) < 1e-9);
            let right = middle.x > 0.0;
            for s in cleat.outline.segments() {
                for i in 0..10 {
                    // A tenth of a millimetre in: the inner edge is drawn to within half of that.
                    let p = s.eval((f64::from(i) + 0.3) / 10.0);
                    let p = p + (middle - p).normalize() * 1e-4;
                    let p = if right { p } else { Point::new(-p.x, p.y) };
                    assert!(inside(&floor.outline, p) || inside(&futtock.outline, p), "{p:?} sticks out");
                }
            }
            let fastened = cleat.marks.iter().find(|m| m.kind == MarkKind::Fastening).expect("fastenings");
            assert_eq!(fastened.path.segments().count(), 8, "four, two a piece");
        }
        // Drilled through both: the futtock has those of its half of the cleat, and of the spall.
        let count = |piece: &scrieve_loft::moulds::Piece| {
            let of = piece.marks.iter().find(|m| m.kind == MarkKind::Fastening);
            of.map_or(0, |m| m.path.segments().count() / 2)
        };
        assert_eq!((count(floor), count(futtock)), (4, 4));
    }
}

#[test]
fn a_joint_keeps_out_of_the_turn_of_the_bilge_and_clear_of_notches() {
    let options = MouldOptions {
        keel_notch: Some(Notch { width: 0.1, depth: 0.05 }),
        ribband_notch: Some(Notch { width: 0.04, depth: 0.015 }),
        ribbands: vec![RibbandAt::Height(0.45), RibbandAt::Height(0.6), RibbandAt::Height(0.75)],
        ..pieces(InPieces::default())
    };
    for mould in made(&boxy(), &options) {
        let futtock = of(&mould, Part::Futtock)[0];
        let foot = futtock.outline.bounding_box();
        let on_the_floor = foot.x0 < 0.6 - 0.05;
        let on_the_side = foot.y0 > 0.1 + BILGE + 0.05;
        assert!(on_the_floor || on_the_side, "{foot:?}");
        for z in [0.45, 0.6, 0.75] {
            assert!((foot.y0 - z).abs() > 0.04, "in the notch at {z}: {foot:?}");
        }
    }
}

#[test]
fn pieces_are_got_out_of_the_stock_there_is_with_as_few_joints_as_do() {
    let whole = made(&round(), &pieces(InPieces::default()))[0].pieces[0].board(None);
    let stock = Stock { length: 0.75 * whole.length, width: 0.3 };
    let ask = InPieces { stock: Some(stock), ..InPieces::default() };
    for mould in made(&round(), &pieces(ask)) {
        let futtocks = of(&mould, Part::Futtock);
        assert!(futtocks.len() > 2, "one joint a side does not do");
        assert!(futtocks.iter().any(|p| p.name == "FUTTOCK 2"));
        for piece in mould.pieces.iter().filter(|p| p.part != Part::Spall) {
            let board = piece.board(Some(stock));
            assert!(board.length <= stock.length + 1e-6, "{} {board:?}", piece.name);
        }
    }
    let small = InPieces { stock: Some(Stock { length: 0.2, width: 0.2 }), ..InPieces::default() };
    assert!(matches!(refused(&round(), &pieces(small)), LoftError::StockTooSmall { .. }));
    let stated = InPieces { joints: vec![JointAt::Height(0.6)], stock: Some(stock), ..InPieces::default() };
    let error = refused(&round(), &pieces(stated));
    assert!(matches!(&error, LoftError::DoesNotFit { .. }), "{error}");
}

#[test]
fn joints_may_be_stated_as_a_height_or_a_half_breadth() {
    let at = |joint| InPieces { joints: vec![joint], ..InPieces::default() };
    // The cylinder inside the planking, less the deduction: square to the edge is toward its axis.
    let r: f64 = 0.7 - 0.0127;
    for (joint, angle) in
        [(JointAt::Height(0.7), -(0.3f64 / r).asin()), (JointAt::HalfBreadth(0.5), -(0.5f64 / r).acos())]
    {
        for mould in made(&round(), &pieces(at(joint))) {
            let cleat = of(&mould, Part::Cleat)[0];
            let line = cleat.marks.iter().find(|m| m.kind == MarkKind::Joint).expect("a joint line");
            for s in line.path.segments() {
                let p = s.eval(0.3);
                close((p.y - 1.0).atan2(p.x.abs()), angle, 1e-6);
            }
        }
    }
    let wide = made(&round(), &pieces(at(JointAt::HalfBreadth(0.9))));
    assert!(wide.iter().all(|m| m.remarks.iter().any(|r| r.contains("does not cross"))));
    assert!(wide.iter().all(|m| of(m, Part::Futtock).len() == 2), "jointed elsewhere");
}

#[test]
fn what_cannot_be_jointed_says_why() {
    let ask = |joint| InPieces { joints: vec![joint], ..InPieces::default() };
    let error = refused(&round(), &pieces(ask(JointAt::Height(1.2))));
    assert!(matches!(error, LoftError::JointAboveSheer { .. }), "{error}");
    let notched = MouldOptions {
        ribband_notch: Some(Notch { width: 0.04, depth: 0.015 }),
        ribbands: vec![RibbandAt::Height(0.7)],
        ..pieces(ask(JointAt::Height(0.71)))
    };
    let error = refused(&round(), &notched);
    assert!(matches!(error, LoftError::JointInNotch { .. }), "{error}");
    let long = InPieces { lap: Some(0.5), ..ask(JointAt::Height(0.9)) };
    let error = refused(&round(), &pieces(long));
    assert!(matches!(error, LoftError::LapTooLong { .. }), "{error}");
    let bent = InPieces { lap: Some(0.25), ..ask(JointAt::Height(0.2)) };
    let error = refused(&boxy(), &pieces(bent));
    assert!(matches!(error, LoftError::CleatTooNarrow { .. }), "{error}");
    let solid = MouldOptions { limb: None, ..pieces(InPieces::default()) };
    assert_eq!(refused(&round(), &solid), LoftError::PiecesWithoutLimb);
    let whole = MouldOptions { shape: Shape::Whole, ..pieces(InPieces::default()) };
    assert_eq!(refused(&round(), &whole), LoftError::WholeInPieces);
    let head =
        MouldOptions { spall_height: Some(1.05), ..pieces(InPieces { head: true, ..InPieces::default() }) };
    assert!(matches!(refused(&round(), &head), LoftError::HeadMeetsSpall { .. }));
}

#[test]
fn the_spall_reaches_from_limb_to_limb_at_its_height() {
    let lap = 0.06;
    for board in [None, Some(lap)] {
        let options =
            MouldOptions { spall: Some(SpallBoard { width: 0.08, lap: board }), ..MouldOptions::default() };
        let set = moulds(&round(), &options).expect("moulds");
        for mould in &set.moulds {
            let spall = of(mould, Part::Spall)[0];
            assert_eq!(spall.side, Side::Both);
            let (bounds, half) = (spall.outline.bounding_box(), mould.pieces[0].outline.bounding_box().x1);
            close(bounds.y1, set.spall_height, 1e-9);
            close(bounds.height(), 0.08, 1e-9);
            // The horns stand plumb at the widest, and are a limb wide.
            close(bounds.width() / 2.0, board.map_or(half, |lap| half - 0.1 + lap), 1e-4);
        }
    }
    let options = MouldOptions { past_spall: None, above_sheer: 0.01, ..pieces(InPieces::default()) };
    assert!(matches!(refused(&round(), &options), LoftError::OffTheLimbs { .. }));
}

#[test]
fn a_head_lies_across_the_limbs_at_the_sheer_inside_the_edge() {
    for mould in made(&round(), &pieces(InPieces { head: true, ..InPieces::default() })) {
        let head = of(&mould, Part::Head)[0].outline.bounding_box();
        close(head.y1, mould.sheer.y, 1e-9);
        assert!(head.x1 < mould.sheer.x && head.x1 > mould.sheer.x - 0.03, "{head:?}");
    }
}

#[test]
fn stacked_futtocks_are_drawn_once_and_a_floor_is_cut_once() {
    let options = MouldOptions { shape: Shape::Stacked, ..pieces(InPieces::default()) };
    for mould in made(&round(), &options) {
        let counts: Vec<usize> = mould.pieces.iter().map(|p| p.count).collect();
        assert_eq!(counts, [1, 2, 2, 1], "floor, futtock, cleat, spall");
    }
}

#[test]
fn a_mould_no_wider_than_its_limbs_is_made_in_one() {
    let narrow = stationed(|u, v| [4.0 * u, 0.05 + 0.02 * (PI * u).sin(), 0.2 + 0.8 * v]);
    for mould in made(&narrow, &MouldOptions { spall: None, ..pieces(InPieces::default()) }) {
        assert_eq!(mould.pieces.len(), 1);
        assert!(mould.remarks.iter().any(|r| r.contains("not in pieces")), "{:?}", mould.remarks);
    }
}
