//! Spots along what is drawn, which say what part of a drawing it is in.

use kurbo::{Affine, ParamCurve as _, Point};

use crate::model::{Anchor, Item};

/// Spots of a line.
const SPOTS: usize = 5;

/// Spots along what is drawn.
pub(crate) fn spots(item: &Item) -> Vec<Point> {
    match item {
        Item::Path { path, .. } => {
            let segments: Vec<_> = path.segments().collect();
            let many = segments.len();
            let step = |i: usize| (i * many) / SPOTS;
            (0..SPOTS).filter(|_| many > 0).map(|i| segments[step(i).min(many - 1)].eval(0.5)).collect()
        }
        Item::Text { at, height, angle, anchor, text, .. } => {
            let width = 0.6 * height * text.chars().count() as f64;
            let along = match anchor {
                Anchor::Start => 0.5,
                Anchor::Middle => 0.0,
                Anchor::End => -0.5,
            };
            vec![*at + (Affine::rotate(*angle) * Point::new(along * width, 0.5 * height)).to_vec2()]
        }
    }
}
