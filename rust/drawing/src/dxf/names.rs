//! Names of layers and line types as DXF allows them, each once.

use crate::model::Stroke;
use crate::to_ascii;

pub(super) const CONTINUOUS: &str = "CONTINUOUS";

/// Longest layer name of R12.
const R12_NAME: usize = 31;

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

pub(super) fn line_type_name(stroke: &Stroke) -> String {
    if stroke.dashes_mm.is_empty() {
        return CONTINUOUS.to_owned();
    }
    let tenths = stroke.dashes_mm.iter().map(|dash| format!("_{}", (10.0 * dash).round()));
    let mut name = format!("DASH{}", tenths.collect::<String>());
    name.truncate(R12_NAME);
    name
}

#[cfg(test)]
mod tests {
    use super::*;

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
