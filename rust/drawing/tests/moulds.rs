//! Moulds as they go to the shop.

mod common;

use common::faired;
use kurbo::{BezPath, ParamCurve, ParamCurveNearest, Point, Rect, Shape as _};
use scrieve_drawing::moulds::mould_drawings;
use scrieve_drawing::{Drawing, Item, Operation, check};
use scrieve_loft::moulds::{Face, MouldOptions, MouldSet, Notch, Shape, moulds};
use scrieve_loft::pieces::InPieces;
use scrieve_loft::ribbands::RibbandAt;
use scrieve_yardstick::known::Family;

const GAP_MM: f64 = 12.0;

fn options(shape: Shape) -> MouldOptions {
    MouldOptions {
        shape,
        keel_notch: Some(Notch { width: 0.05, depth: 0.03 }),
        ribband_notch: Some(Notch { width: 0.03, depth: 0.015 }),
        ribbands: vec![RibbandAt::Girth(0.3), RibbandAt::Girth(0.6)],
        base_parallel: Some(0.3048),
        ..MouldOptions::default()
    }
}

fn drawn(family: Family, options: &MouldOptions) -> (MouldSet, Vec<Drawing>) {
    let set = moulds(&faired(family), options).expect("moulds");
    let drawings = mould_drawings(&set, GAP_MM);
    assert_eq!(drawings.len(), set.moulds.len());
    (set, drawings)
}

fn on(drawing: &Drawing, operation: Operation) -> impl Iterator<Item = &BezPath> {
    drawing.items.iter().filter_map(move |item| match item {
        Item::Path { layer, path } if drawing.layers[*layer].operation == operation => Some(path),
        _ => None,
    })
}

/// Boxes of the letters, as wide as a narrow sans serif sets them.
fn letters(drawing: &Drawing) -> Vec<(String, Rect)> {
    let one = |item: &Item| {
        let alone = Drawing { items: vec![item.clone()], ..Drawing::default() };
        match item {
            Item::Text { text, .. } => Some((text.clone(), alone.bounds()?)),
            Item::Path { .. } => None,
        }
    };
    drawing.items.iter().filter_map(one).collect()
}

#[test]
fn nothing_is_wrong_with_a_mould_that_goes_to_the_router() {
    for family in Family::ALL {
        let hull = faired(family);
        for (shape, limb, bevelled) in [
            (Shape::Pair, Some(0.1), false),
            (Shape::Stacked, None, true),
            (Shape::Whole, Some(0.06), true),
            (Shape::Whole, Some(0.2), false),
        ] {
            let set = moulds(&hull, &MouldOptions { limb, bevelled, ..options(shape) }).expect("moulds");
            assert!(set.failures.is_empty(), "{family:?}: {:?}", set.failures);
            // A scow's first station is her end, where no planking is left to take off.
            let ended = set.remarks.iter().any(|r| r.contains("she ends there"));
            assert_eq!(ended, family == Family::ScowBow, "{family:?}: {:?}", set.remarks);
            for drawing in mould_drawings(&set, GAP_MM) {
                let findings = check(&drawing, 0.02);
                assert!(findings.is_empty(), "{family:?} {shape:?} {}: {findings:?}", drawing.title);
            }
        }
    }
}

#[test]
fn a_drawing_is_full_size_in_millimetres() {
    let (set, drawings) = drawn(Family::RoundBilge, &options(Shape::Whole));
    for (mould, drawing) in set.moulds.iter().zip(&drawings) {
        let outline = on(drawing, Operation::CutOutside).next().expect("an outline");
        let shape = mould.pieces[0].outline.bounding_box();
        assert!((outline.bounding_box().width() - 1e3 * shape.width()).abs() < 1e-6);
        assert!((outline.area() - 1e6 * mould.pieces[0].outline.area()).abs() < 1e-3);
    }
}

/// Looking at the forward face, aft, starboard is to the left.
#[test]
fn port_and_starboard_are_written_each_on_its_own_side_of_the_centreline() {
    let pieces = Some(InPieces { head: true, ..InPieces::default() });
    let mut seen = 0;
    for family in Family::ALL {
        for (shape, pieces, thickness) in
            [(Shape::Whole, None, 0.018), (Shape::Pair, pieces.clone(), 0.018), (Shape::Whole, None, 0.03)]
        {
            let set = moulds(&faired(family), &MouldOptions { pieces, thickness, ..options(shape) });
            let Ok(set) = set else { continue };
            for (mould, drawing) in set.moulds.iter().zip(mould_drawings(&set, GAP_MM)) {
                let named: Vec<(String, Rect)> =
                    letters(&drawing).into_iter().filter(|(t, _)| t == "PORT" || t == "STARBOARD").collect();
                // Pieces astride the centreline stand about their own outline's middle.
                for outline in on(&drawing, Operation::CutOutside).map(|path| path.bounding_box()) {
                    let in_it = named.iter().filter(|(_, r)| outline.contains(r.center()));
                    let both: Vec<&(String, Rect)> = in_it.collect();
                    let [one, other] = both[..] else { continue };
                    let middle = outline.center().x;
                    let starboard_right = mould.face == Face::After;
                    for (text, r) in [one, other] {
                        let right = (text == "STARBOARD") == starboard_right;
                        let clear = if right { r.x0 > middle } else { r.x1 < middle };
                        assert!(clear, "{text} {r:?} about {middle} in {}", drawing.title);
                    }
                    seen += 1;
                }
            }
        }
    }
    assert!(seen > 40, "{seen}");
}

#[test]
fn the_halves_of_a_pair_lie_apart_by_the_gap() {
    for drawing in drawn(Family::RoundBilge, &options(Shape::Pair)).1 {
        let boxes: Vec<Rect> = on(&drawing, Operation::CutOutside).map(|p| p.bounding_box()).collect();
        assert_eq!(boxes.len(), 2);
        assert!((boxes[0].x0 - boxes[1].x1 - GAP_MM).abs() < 1e-3, "{boxes:?}");
    }
}

#[test]
fn marks_and_letters_stay_in_the_wood_and_letters_keep_clear_of_each_other() {
    for shape in [Shape::Pair, Shape::Whole] {
        for drawing in drawn(Family::RakedTransom, &options(shape)).1 {
            let outlines: Vec<&BezPath> = on(&drawing, Operation::CutOutside).collect();
            let holes: Vec<&BezPath> = on(&drawing, Operation::CutInside).collect();
            let in_wood = |p: Point| {
                outlines.iter().any(|o| o.winding(p) != 0) && holes.iter().all(|h| h.winding(p) == 0)
            };
            for path in on(&drawing, Operation::Mark) {
                for s in path.segments() {
                    assert!((0..=8).all(|i| in_wood(s.eval(f64::from(i) / 8.0))), "{}", drawing.title);
                }
            }
            let letters = letters(&drawing);
            for (i, (text, r)) in letters.iter().enumerate() {
                let corners = [(r.x0, r.y0), (r.x1, r.y0), (r.x1, r.y1), (r.x0, r.y1)];
                assert!(corners.iter().all(|&c| in_wood(c.into())), "{text} in {}", drawing.title);
                for (other, o) in &letters[i + 1..] {
                    assert!(r.intersect(*o).area() <= 0.0, "{text} runs over {other} in {}", drawing.title);
                }
            }
        }
    }
}

#[test]
fn every_mould_says_whose_it_is_and_which_face_is_marked() {
    let (set, drawings) = drawn(Family::RoundBilge, &options(Shape::Pair));
    for (mould, drawing) in set.moulds.iter().zip(&drawings) {
        let count = |wanted: &str| letters(drawing).iter().filter(|(text, _)| text == wanted).count();
        assert_eq!(count("Turnstone"), 2, "both halves of {}", drawing.title);
        assert_eq!(count(&format!("MOULD {}", mould.station)), 2);
        assert_eq!(count("FORWARD FACE") + count("AFTER FACE"), 2);
        assert_eq!((count("PORT"), count("STARBOARD")), (1, 1));
        assert!(letters(drawing).iter().all(|(text, _)| text.is_ascii()));
    }
}

#[test]
fn the_outline_drawn_holds_the_edge_of_the_mould_to_a_micrometre() {
    let (set, drawings) =
        drawn(Family::RoundBilge, &MouldOptions { shape: Shape::Whole, ..Default::default() });
    for (mould, drawing) in set.moulds.iter().zip(&drawings) {
        let outline = on(drawing, Operation::CutOutside).next().expect("an outline");
        for p in mould.edge.points(25) {
            let at = Point::new(p[1] * 1e3, p[2] * 1e3);
            let near = outline.segments().map(|s| s.nearest(at, 1e-6).distance_sq).fold(f64::MAX, f64::min);
            assert!(near.sqrt() < 1e-3, "{} mm off", near.sqrt());
        }
    }
}
