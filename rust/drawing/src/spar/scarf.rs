//! A scarf from the side, at full size.

use kurbo::Point;
use scrieve_loft::spar::{Scarf, ScarfKind};
use scrieve_loft::written;
use scrieve_notation::Units;

use super::{FULL_SIZE_LETTER_MM, Pen, Sheet};
use crate::{Anchor, Drawing, Operation};

/// So much of either stick is shown beyond the joint, of its thickness.
const BEYOND: f64 = 1.5;
/// Letters are no smaller than this part of it: the drawing is as long as many thicknesses.
const LETTER_OF_THICKNESS: f64 = 0.15;

/// The scarf, both sticks, and its measures. What tapers is drawn parallel: a scarf is cut in the squared stick.
pub fn scarf_drawing(name: &str, title: &str, scarf: &Scarf, units: Units) -> Drawing {
    let mut sheet = Sheet::new(
        name,
        title,
        Operation::Mark,
        FULL_SIZE_LETTER_MM.max(LETTER_OF_THICKNESS * 1e3 * scarf.thickness),
    );
    let letter = sheet.letter;
    let (l, t) = (1e3 * scarf.length, 1e3 * scarf.thickness);
    let beyond = BEYOND * t;
    let joint: Vec<Point> = scarf.profile().iter().map(|[x, y]| Point::new(1e3 * x, 1e3 * y)).collect();
    let (first, last) = (joint[0], joint[joint.len() - 1]);
    sheet.line(Pen::Edges, joint.iter().copied(), false);
    let faces = [(t, [-beyond, first.x, l + beyond]), (0.0, [-beyond, last.x, l + beyond])];
    for (y, xs) in faces {
        sheet.line(Pen::Edges, xs.map(|x| Point::new(x, y)), false);
    }
    // Ends that go on are closed by a wave that no saw follows.
    for x in [-beyond, l + beyond] {
        let wave = (0..=24).map(|i| {
            let part = f64::from(i) / 24.0;
            Point::new(x + 0.06 * t * (std::f64::consts::TAU * part).sin(), part * t)
        });
        sheet.line(Pen::Places, wave.collect::<Vec<_>>(), false);
    }
    let foot = -2.0 * letter;
    for x in [0.0, l] {
        sheet.line(Pen::Places, [Point::new(x, -0.5 * letter), Point::new(x, foot - 0.5 * letter)], false);
    }
    sheet.line(Pen::Places, [Point::new(0.0, foot), Point::new(l, foot)], false);
    let told = |m: f64| written(m, units);
    let kind = match scarf.kind {
        ScarfKind::Plain => "plain scarf",
        ScarfKind::Stepped => "stepped scarf",
    };
    let texts = [
        format!(
            "length {}, thickness {}, width {}",
            told(scarf.length),
            told(scarf.thickness),
            told(scarf.width)
        ),
        format!(
            "{title}: {kind}, {:.1} to 1, glued area {:.0} square cm",
            scarf.length / scarf.thickness,
            1e4 * scarf.glue_area()
        ),
    ];
    for (i, text) in texts.into_iter().enumerate() {
        sheet.write(text, (0.5 * l, foot - (1.8 + 1.8 * i as f64) * letter), Anchor::Middle, 1.0);
    }
    if scarf.kind == ScarfKind::Stepped {
        let nib = format!("nibs and step {}", told(scarf.thickness - scarf.profile()[1][1]));
        sheet.write(nib, (0.5 * l, t + letter), Anchor::Middle, 1.0);
    }
    sheet.drawing
}
