//! The title block: name, facts, dimensions, scale bar and caution, as large as what it says.

use kurbo::{Point, Rect, Shape as _, Size, Vec2};
use scrieve_notation::Units;

use super::gathered::Lines;
use super::scale::{Setting, is_feet};
use super::sheet::{Ink, SMALL, Sheet};
use crate::Anchor;
use crate::space::text_width;

/// Width of the block, and its clear edge, mm.
const WIDTH: f64 = 128.0;
const EDGE: f64 = 4.0;

/// Letters of the boat's name, mm, the larger where it fits on a line.
const NAME: [f64; 2] = [5.0, 3.5];

/// From line to line, for the height of letters (ISO 3098: at least 1.4 of it).
const LEADING: f64 = 1.5;

/// A scale bar with its figures, mm.
const BAR: f64 = 7.5;
const BAR_HIGH: f64 = 1.6;
/// How long a bar is at most.
const BAR_LONG: f64 = 84.0;

const CAUTION: &str = "Check the scale bar and two known dimensions before use. Fairing by number does not replace sighting along a \
     batten.";

/// What the block says, broken into lines.
pub(super) struct TitleBlock {
    name: (f64, Vec<String>),
    rows: Vec<String>,
    caution: Vec<String>,
    bars: usize,
}

impl TitleBlock {
    pub(super) fn of(lines: &Lines, foreshortened: f64) -> TitleBlock {
        let fits = NAME.into_iter().find(|height| text_width(&lines.name, *height) <= WIDTH - 2.0 * EDGE);
        let height = fits.unwrap_or(NAME[1]);
        let rows = lines.facts.iter().chain([&lines.dimensions]);
        TitleBlock {
            name: (height, broken(&lines.name, height)),
            rows: rows.flat_map(|row| broken(row, SMALL)).collect(),
            caution: broken(CAUTION, SMALL),
            bars: if foreshortened > 1.0 { 2 } else { 1 },
        }
    }

    pub(super) fn size(&self) -> Size {
        let (height, name) = &self.name;
        let name = name.len() as f64 * height * LEADING;
        // One row more says the scale, or one a bar.
        let rows = (self.rows.len() + self.caution.len() + self.bars) as f64 * SMALL * LEADING;
        Size::new(WIDTH, name + rows + BAR * self.bars as f64 + 2.0 * EDGE)
    }

    /// Draws it at its place.
    pub(super) fn draw(
        &self,
        sheet: &mut Sheet,
        lines: &Lines,
        at: Rect,
        setting: &Setting,
        foreshortened: f64,
    ) {
        sheet.path(Ink::Frame, at.to_path(1e-3));
        let left = at.x0 + EDGE;
        let mut y = at.y1 - EDGE;
        let write = |sheet: &mut Sheet, y: &mut f64, texts: &[String], height: f64| {
            for text in texts {
                sheet.text(Point::new(left, *y - height), height, Anchor::Start, text);
                *y -= height * LEADING;
            }
        };
        write(sheet, &mut y, &self.name.1, self.name.0);
        write(sheet, &mut y, &self.rows, SMALL);
        let across = if foreshortened > 1.0 { "Heights and breadths: scale " } else { "Scale " };
        for (said, shorter) in [(across, 1.0), ("Lengths: scale ", foreshortened)].into_iter().take(self.bars)
        {
            let scale = scale_said(setting.scale * shorter, lines.units);
            write(sheet, &mut y, &[format!("{said}{scale}")], SMALL);
            y -= BAR;
            // As the sheet is set out: the bar is magnified with it.
            scale_bar(sheet, lines.units, Point::new(left, y + 1.5), setting.per_metre() / shorter);
        }
        write(sheet, &mut y, &self.caution, SMALL);
    }
}

/// A text in lines that stay in the block: broken between words, and within one that is longer than a line.
fn broken(text: &str, height: f64) -> Vec<String> {
    let fits = |line: &str| text_width(line, height) <= WIDTH - 2.0 * EDGE;
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        if let Some(last) = lines.last_mut()
            && fits(&format!("{last} {word}"))
        {
            last.push(' ');
            last.push_str(word);
            continue;
        }
        lines.push(String::new());
        for letter in word.chars() {
            let last = lines.last().map_or("", |line| line.as_str());
            if !fits(&format!("{last}{letter}")) {
                lines.push(String::new());
            }
            lines.last_mut().into_iter().for_each(|last| last.push(letter));
        }
    }
    lines
}

/// 1:16, and in feet and inches what an inch rule reads it by: 3/4 in to the foot.
fn scale_said(scale: f64, units: Units) -> String {
    let plain = format!("1:{}", (scale * 1e3).round() / 1e3);
    let inches = 12.0 / scale;
    let is_whole = |v: f64| (v - v.round()).abs() < 1e-9;
    let Some(of) = [1, 2, 3, 4, 8, 16].into_iter().find(|of| is_whole(inches * f64::from(*of))) else {
        return plain;
    };
    if !is_feet(units) || scale <= 1.0 {
        return plain;
    }
    let parts = (inches * f64::from(of)).round() as u32;
    let inches = match (parts / of, parts % of) {
        (whole, 0) => format!("{whole}"),
        (0, part) => format!("{part}/{of}"),
        (whole, part) => format!("{whole} {part}/{of}"),
    };
    format!("{plain}, {inches} in to the foot")
}

/// A bar of whole feet or metres, about as long as the title block allows, at so many millimetres to a metre.
fn scale_bar(sheet: &mut Sheet, units: Units, at: Point, per_metre: f64) {
    let (unit_m, name) = if is_feet(units) { (0.3048, "ft") } else { (1.0, "m") };
    let steps: [(f64, f64); 17] = [
        (0.01, 5.0),
        (0.02, 5.0),
        (0.05, 5.0),
        (0.1, 5.0),
        (0.2, 5.0),
        (0.5, 4.0),
        (1.0, 3.0),
        (1.0, 4.0),
        (1.0, 5.0),
        (1.0, 6.0),
        (2.0, 4.0),
        (2.0, 5.0),
        (5.0, 4.0),
        (10.0, 4.0),
        (20.0, 4.0),
        (50.0, 4.0),
        (100.0, 4.0),
    ];
    let unit = unit_m * per_metre;
    let fits = steps.iter().rev().find(|(step, n)| step * n * unit <= BAR_LONG).copied();
    // At full size the least of them is longer than the block; a bar of one step is drawn within it.
    let (step, n) = fits.unwrap_or((BAR_LONG / unit, 1.0));
    let width = step * unit;
    let layer = Ink::Frame.of(&mut sheet.drawing);
    sheet.path(Ink::Frame, Rect::new(at.x, at.y, at.x + width * n, at.y + BAR_HIGH).to_path(1e-3));
    for i in 0..n as usize {
        let x = at.x + width * i as f64;
        let (y0, y1) =
            if i % 2 == 0 { (at.y, at.y + BAR_HIGH / 2.0) } else { (at.y + BAR_HIGH / 2.0, at.y + BAR_HIGH) };
        if i > 0 {
            sheet.drawing.line(layer, Point::new(x, at.y), Point::new(x, at.y + BAR_HIGH));
        }
        let middle = (y0 + y1) / 2.0;
        sheet.drawing.line(layer, Point::new(x, middle), Point::new(x + width, middle));
    }
    for i in 0..=n as usize {
        let text = format!("{}", (step * i as f64 * 1e2).round() / 1e2);
        let text = if i as f64 == n { format!("{text} {name}") } else { text };
        // The first begins at the bar's end, so that it stays in the block.
        let anchor = if i == 0 { Anchor::Start } else { Anchor::Middle };
        sheet.text(at + Vec2::new(width * i as f64, BAR_HIGH + 0.8), SMALL, anchor, &text);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_inch_scale_is_told_as_a_rule_has_it() {
        let said = |scale| scale_said(scale, Units::FeetInchesEighths);
        assert_eq!(said(16.0), "1:16, 3/4 in to the foot");
        assert_eq!(said(8.0), "1:8, 1 1/2 in to the foot");
        assert_eq!(said(12.0), "1:12, 1 in to the foot");
        assert_eq!(said(32.0), "1:32, 3/8 in to the foot");
        assert_eq!(said(18.0), "1:18, 2/3 in to the foot");
        assert_eq!(said(20.0), "1:20", "no division of a rule");
        assert_eq!(said(1.0), "1:1");
        assert_eq!(scale_said(16.0, Units::Millimetres), "1:16");
    }

    #[test]
    fn a_text_longer_than_a_line_is_broken_and_nothing_of_it_is_lost() {
        let text =
            "built by somebody of a long name at a place that has one longer still on a coast nobody knows";
        let lines = broken(text, SMALL);
        assert!(lines.len() > 1 && lines.iter().all(|line| text_width(line, SMALL) <= WIDTH - 2.0 * EDGE));
        assert_eq!(lines.join(" "), text);
        let word = "W".repeat(200);
        assert_eq!(broken(&word, SMALL).concat(), word);
    }
}
