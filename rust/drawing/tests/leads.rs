//! Bevels stand at their places on transoms and fashion pieces, or are led to them, and no lead runs over letters or another lead.

use kurbo::{Line, ParamCurve as _, Point, Rect, Shape as _};
use scrieve_drawing::fashion::fashion_drawing;
use scrieve_drawing::transom::transom_drawing;
use scrieve_drawing::{Drawing, Item, check};
use scrieve_fairing::{Options, fair};
use scrieve_hull::Boat;
use scrieve_loft::transom::{FashionSizes, TransomOptions, fashion_pieces, transom};
use scrieve_offsets::read;

/// Letters of the drawings are this wide for their height, as the core's own single strokes are at least.
const WIDE: f64 = 0.6;
/// A bevel's figures stand this near its place at most, mm, or are led to it.
const NEAR_MM: f64 = 30.0;

fn hulls() -> Vec<Boat> {
    let tables = [
        &include_bytes!("../../../samples/mudlark.offsets")[..],
        &include_bytes!("../../../samples/sandling.offsets")[..],
        &include_bytes!("../../../samples/as-built/teal.offsets")[..],
        &include_bytes!("../../../samples/as-built/dotterel.offsets")[..],
    ];
    let hull = |bytes| {
        let table = read(bytes, "sample.offsets").expect("a table");
        let survey = table.survey().expect("a survey").0;
        let faired = fair(&survey, &Options::default()).expect("a hull");
        Boat::new(table, survey, faired)
    };
    tables.into_iter().map(hull).collect()
}

/// Leads, and the boxes of letters with what they say.
fn parts(drawing: &Drawing) -> (Vec<Line>, Vec<(Rect, String)>) {
    let (mut leads, mut letters) = (Vec::new(), Vec::new());
    for item in &drawing.items {
        match item {
            Item::Path { layer, path } if drawing.layers[*layer].name == "Leads" => {
                let ends: Vec<Point> = path.segments().flat_map(|s| [s.start(), s.end()]).collect();
                leads.push(Line::new(ends[0], ends[ends.len() - 1]));
            }
            Item::Text { at, height, angle, text, .. } => {
                let half = 0.5 * WIDE * height * text.chars().count() as f64;
                let upright = angle.abs() > 0.1;
                let room = match upright {
                    false => Rect::new(at.x - half, at.y, at.x + half, at.y + height),
                    true => Rect::new(at.x - height, at.y - half, at.x, at.y + half),
                };
                letters.push((room, text.clone()));
            }
            Item::Path { .. } => {}
        }
    }
    (leads, letters)
}

fn clear(drawing: &Drawing) {
    assert_eq!(check(drawing, 0.02), [], "{}", drawing.title);
    let (leads, letters) = parts(drawing);
    for (i, lead) in leads.iter().enumerate() {
        let spots: Vec<Point> = (0..=200).map(|k| lead.eval(f64::from(k) / 200.0)).collect();
        for (room, text) in &letters {
            assert!(!spots.iter().any(|p| room.contains(*p)), "{}: {lead:?} over {text}", drawing.title);
        }
        for other in &leads[..i] {
            // Two may meet at one corner.
            let hits = kurbo::PathSeg::Line(*lead).intersect_line(*other);
            let apart = hits.iter().all(|hit| lead.eval(hit.segment_t).distance(lead.p1) < 0.5);
            assert!(apart, "{}: {lead:?} crosses {other:?}", drawing.title);
        }
    }
}

#[test]
fn no_lead_of_a_transom_runs_over_letters_or_another() {
    for hull in hulls() {
        let made = transom(&hull, &TransomOptions::default()).expect("a transom");
        let drawing = transom_drawing(&made);
        clear(&drawing);
        let figures = parts(&drawing).1.iter().filter(|(_, text)| text.contains(" DEG, ")).count();
        assert!(figures >= made.bevels.len(), "{}: {figures} of {}", drawing.title, made.bevels.len());
    }
}

#[test]
fn every_bevel_of_a_fashion_piece_is_at_its_place_or_led_to_it() {
    for hull in hulls() {
        let made =
            fashion_pieces(&hull, &TransomOptions::default(), &FashionSizes::default()).expect("pieces");
        let drawing = fashion_drawing(&made);
        clear(&drawing);
        let (leads, letters) = parts(&drawing);
        let figures: Vec<_> = letters.iter().filter(|(_, text)| text.contains(" DEG, ")).collect();
        let all: usize = made.pieces.iter().map(|piece| piece.bevels.len()).sum();
        assert_eq!(figures.len(), 2 * all, "{}", drawing.title);
        // As many as have no lead stand beside their places, which is beside the edge.
        let outlines = drawing.items.iter().filter_map(|item| match item {
            Item::Path { layer, path } if drawing.layers[*layer].name == "Outlines" => Some(path),
            _ => None,
        });
        let outlines: Vec<_> = outlines.collect();
        let off = |p: Point| {
            let near = outlines.iter().flat_map(|path| path.segments());
            let near = near.map(|s| kurbo::ParamCurveNearest::nearest(&s, p, 1e-3).distance_sq);
            near.fold(f64::INFINITY, f64::min).sqrt()
        };
        let led = |room: &Rect| leads.iter().any(|lead| room.inflate(12.0, 12.0).contains(lead.p0));
        for (room, text) in figures {
            let near = [(room.x0, room.y0), (room.x1, room.y1), (room.x0, room.y1), (room.x1, room.y0)];
            let near = near.into_iter().map(|p| off(p.into())).fold(f64::INFINITY, f64::min);
            assert!(led(room) || near < NEAR_MM, "{}: {text} stands {near:.0} mm off", drawing.title);
        }
        for lead in &leads {
            assert!(off(lead.p1) < 25.0, "{}: {lead:?} leads to no edge", drawing.title);
        }
    }
}

#[test]
fn what_is_told_of_either_side_of_a_chine_is_on_the_piece_of_that_side() {
    let hull = hulls().remove(0);
    let made = fashion_pieces(&hull, &TransomOptions::default(), &FashionSizes::default()).expect("pieces");
    assert_eq!(made.pieces.len(), 2);
    let names = |i: usize| made.pieces[i].bevels.iter().map(|b| b.at.as_str()).collect::<Vec<_>>();
    assert_eq!(names(0).last(), Some(&"chine below"), "{:?}", names(0));
    assert_eq!(names(1).first(), Some(&"chine above"), "{:?}", names(1));
    for piece in &made.pieces {
        let bounds = piece.outline.bounding_box().inflate(0.03, 0.03);
        assert!(piece.bevels.iter().all(|b| bounds.contains(b.spot)), "{}", piece.name);
    }
}
