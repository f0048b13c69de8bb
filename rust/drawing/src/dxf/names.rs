//! Names of layers and line types as DXF allows them, each once.

use crate::model::{Layer, Operation, Stroke};
use crate::to_ascii;

pub(super) const CONTINUOUS: &str = "CONTINUOUS";

/// Longest layer name of R12.
const R12_NAME: usize = 31;

/// What a machine's operator is told by a layer's name: what is done, on which side of the line and how deep; then what
/// the layer is called.
pub(super) fn told(layer: &Layer, mark_depth_mm: f64, r2000: bool) -> String {
    let name = &layer.name;
    match (layer.operation, r2000) {
        (Operation::CutOutside, true) => format!("CUT OUTSIDE THROUGH - {name}"),
        (Operation::CutInside, true) => format!("CUT INSIDE THROUGH - {name}"),
        (Operation::Mark, true) => format!("MARK ON LINE {mark_depth_mm} MM DEEP - {name}"),
        (Operation::Engrave, true) => format!("ENGRAVE ON LINE {mark_depth_mm} MM DEEP - {name}"),
        (Operation::Annotate, true) => format!("LOOK ONLY - {name}"),
        // A short name has to do, of letters, figures and two signs.
        (Operation::CutOutside, false) => format!("CUT-OUTSIDE_{name}"),
        (Operation::CutInside, false) => format!("CUT-INSIDE_{name}"),
        (Operation::Mark, false) => format!("MARK-{mark_depth_mm}MM_{name}"),
        (Operation::Engrave, false) => format!("ENGRAVE-{mark_depth_mm}MM_{name}"),
        (Operation::Annotate, false) => format!("LOOK-ONLY_{name}"),
    }
}

/// A layer's name as DXF allows it, none of those taken, to which it is added.
pub(super) fn layer_name(name: &str, r2000: bool, taken: &mut Vec<String>) -> String {
    let plain = to_ascii(name);
    let allowed = |c: char| match c {
        '<' | '>' | '/' | '\\' | '"' | ':' | ';' | '?' | '*' | '|' | '=' | '`' | ',' => false,
        _ => r2000 || c.is_ascii_alphanumeric() || matches!(c, '_' | '-' | '$'),
    };
    let mut base: String = plain.trim().chars().map(|c| if allowed(c) { c } else { '-' }).collect();
    if base.is_empty() {
        base.push_str("LAYER");
    }
    let longest = if r2000 { 255 } else { R12_NAME };
    if !r2000 {
        base.make_ascii_uppercase();
    }
    base.truncate(longest);
    let mut unique = base.clone();
    let mut number = 2;
    while taken.contains(&unique.to_ascii_uppercase()) {
        let suffix = format!("-{number}");
        unique = format!("{}{suffix}", &base[..base.len().min(longest - suffix.len())]);
        number += 1;
    }
    taken.push(unique.to_ascii_uppercase());
    unique
}

/// The name of a stroke's line type, among those known by name and dashes, to which it is added; dashes that
/// differ by less than names tell are told apart by a number.
pub(super) fn line_type<'a>(stroke: &'a Stroke, known: &mut Vec<(String, &'a [f64])>) -> String {
    if stroke.dashes_mm.is_empty() {
        return CONTINUOUS.to_owned();
    }
    if let Some((name, _)) = known.iter().find(|(_, dashes)| *dashes == stroke.dashes_mm) {
        return name.clone();
    }
    let tenths = stroke.dashes_mm.iter().map(|dash| format!("_{}", (10.0 * dash).round()));
    let base = format!("DASH{}", tenths.collect::<String>());
    let (mut name, mut number) = (base[..base.len().min(R12_NAME)].to_owned(), 2);
    while known.iter().any(|(other, _)| *other == name) {
        let suffix = format!("-{number}");
        name = format!("{}{suffix}", &base[..base.len().min(R12_NAME - suffix.len())]);
        number += 1;
    }
    known.push((name.clone(), &stroke.dashes_mm));
    name
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_pattern_of_dashes_has_a_line_type_of_its_own() {
        let long = vec![10.0; 12];
        let longer = vec![10.0; 13];
        let strokes = [vec![2.0, 1.1], vec![2.04, 1.08], vec![2.0, 1.1], long, longer, vec![]]
            .map(|dashes| Stroke::solid(0.2, [0; 3]).dashed(&dashes));
        let mut known = Vec::new();
        let names = strokes.each_ref().map(|stroke| line_type(stroke, &mut known));
        let (cut, second) =
            (format!("DASH{}", "_100".repeat(7))[..31].to_owned(), "DASH_100_100_100_100_100_100_-2");
        assert_eq!(names, ["DASH_20_11", "DASH_20_11-2", "DASH_20_11", &cut, second, CONTINUOUS]);
        assert!(known.iter().all(|(name, _)| name.len() <= R12_NAME));
    }

    #[test]
    fn layer_names_are_made_allowed_and_told_apart() {
        let mut taken = vec!["0".to_owned()];
        let long = "x".repeat(40);
        let names = ["Outline", "OUTLINE", "0", "a/b", "", &long, &long]
            .map(|name| layer_name(name, false, &mut taken));
        let (first, second) = ("X".repeat(31), format!("{}-2", "X".repeat(29)));
        assert_eq!(names, ["OUTLINE", "OUTLINE-2", "0-2", "A-B", "LAYER", &first, &second]);
    }
}
