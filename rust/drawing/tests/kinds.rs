//! Drawings of boats of every kind: nothing is wrong with them, and each says what she has and has not.

#[path = "../../loft/tests/shapes/mod.rs"]
mod shapes;

use scrieve_drawing::backbone::backbone_drawings;
use scrieve_drawing::bevels::bevel_boards;
use scrieve_drawing::moulds::mould_drawings;
use scrieve_drawing::set_up::set_up_drawing;
use scrieve_drawing::transom::transom_drawing;
use scrieve_drawing::{Drawing, Item, check};
use scrieve_hull::Boat;
use scrieve_loft::backbone::{BackboneOptions, backbone};
use scrieve_loft::moulds::{MouldOptions, moulds};
use scrieve_loft::transom::{TransomOptions, bow_transom, has_bow_transom, transom};
use scrieve_notation::Units;
use shapes::boats;

fn texts(drawing: &Drawing) -> Vec<String> {
    let text = |item: &Item| match item {
        Item::Text { text, .. } => Some(text.clone()),
        Item::Path { .. } => None,
    };
    drawing.items.iter().filter_map(text).collect()
}

fn says(drawing: &Drawing, words: &str) -> bool {
    texts(drawing).iter().any(|text| text.contains(words))
}

/// Everything drawn of her; no drawing has a fault.
fn drawn(hull: &Boat) -> Vec<Drawing> {
    let set = moulds(hull, &MouldOptions::default()).expect("moulds");
    let aft = hull.survey().transom.map(|_| transom(hull, &TransomOptions::default()).expect("a transom"));
    let bow =
        has_bow_transom(hull).then(|| bow_transom(hull, &TransomOptions::default()).expect("a bow transom"));
    let made = backbone(hull, &BackboneOptions::default()).expect("a backbone or a bottom");
    let mut all = backbone_drawings(&made);
    all.extend(mould_drawings(&set, 12.0));
    all.push(bevel_boards(&set, aft.as_ref()));
    all.push(set_up_drawing(hull, &set, Units::Metres));
    all.extend(aft.iter().chain(&bow).map(transom_drawing));
    for drawing in &all {
        assert_eq!(check(drawing, 0.02), [], "{}", drawing.name);
    }
    all
}

fn named<'a>(all: &'a [Drawing], name: &str) -> &'a Drawing {
    all.iter().find(|d| d.name == name).unwrap_or_else(|| unreachable!("no {name}"))
}

#[test]
fn a_punt_is_drawn_with_her_bottom_and_both_transoms() {
    for hull in [boats::told_by_its_edge(), boats::told_as_a_strake(0.02)] {
        let all = drawn(&hull);
        let bottom = named(&all, "bottom");
        assert!(says(bottom, "BOTTOM LAID FLAT") && says(bottom, "SIDE AT") && says(bottom, "ST 2"));
        assert!(says(named(&all, "bow-transom"), "BOW TRANSOM, FORWARD FACE"));
        assert!(
            says(named(&all, "transom"), "TRANSOM, AFTER FACE")
                && says(named(&all, "transom"), "CHINE ABOVE")
        );
        assert!(all.iter().all(|d| d.name != "keel" && !texts(d).iter().any(|t| t.starts_with("SIDED"))));
        let mould = all.iter().find(|d| d.name.starts_with("mould")).expect("a mould");
        assert!(says(mould, "CHINE"));
        let board = named(&all, "bevel-board");
        assert!(says(board, "chine below") && says(board, "chine above"));
    }
}

#[test]
fn a_skiff_is_drawn_with_her_bottom_and_a_stem_on_it() {
    let all = drawn(&boats::skiff());
    assert!(says(named(&all, "bottom"), "BOTTOM LAID FLAT") && says(named(&all, "stem"), "SIDED 40 MM"));
    assert!(all.iter().all(|d| d.name != "keel" && d.name != "keel-plan" && d.name != "bow-transom"));
    let set_up = named(&all, "set-up");
    assert!(says(set_up, "CHINE") && says(set_up, "CLEAR OF HER HIGHEST, STEM HEAD AND ALL"));
}

#[test]
fn a_round_forefoot_and_a_post_below_a_transom_are_drawn() {
    let all = drawn(&boats::round_forefoot());
    assert!(says(named(&all, "stem"), "SCARF") && says(named(&all, "backbone"), "RABBET LINE"));
    let all = drawn(&boats::wineglass());
    assert!(says(named(&all, "sternpost"), "SIDED 60 MM") && says(named(&all, "transom"), "LOWER END"));
}
