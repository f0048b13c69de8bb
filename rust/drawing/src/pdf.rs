//! Full-size patterns on paper as PDF 1.6: one long sheet, or tiles to be joined.
//!
//! Written straight from the published format (ISO 32000): the drawing is stored once and every page shows its part
//! of it. Text is drawn with the single strokes of [`crate::engraved`], so no font is needed. Viewers are asked
//! not to scale; a bar of 100 mm each way on every page shows whether the printer did. Nothing in a
//! file depends on the day it was written.

use crate::error::{WriteError, refuse_broken};
use crate::fixed::{push_fixed, push_integer};
use crate::lettering::engraved;
use crate::model::{Anchor, Drawing, Item, Layer, Operation};
use kurbo::{BezPath, PathEl, Point, Rect, Size, Vec2};
use std::io::Write;

/// A size of paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// 297 by 210 mm.
    A4,
    /// 420 by 297 mm.
    A3,
    /// 11 by 8½ in.
    Letter,
    /// 17 by 11 in.
    Tabloid,
}

impl Paper {
    /// Width and height lying down, mm (ISO 216; ANSI Y14.1).
    pub fn size_mm(self) -> Size {
        match self {
            Self::A4 => Size::new(297.0, 210.0),
            Self::A3 => Size::new(420.0, 297.0),
            Self::Letter => Size::new(279.4, 215.9),
            Self::Tabloid => Size::new(431.8, 279.4),
        }
    }
}

/// What the drawing is put on.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Pages {
    /// One page as large as the drawing needs.
    #[default]
    Whole,
    /// Tiles of this paper, lying down, each repeating `overlap_mm` of its neighbours.
    Tiles {
        /// Paper.
        paper: Paper,
        /// What neighbours share, mm.
        overlap_mm: f64,
    },
}

/// Edge that printers leave white, mm; the common desktop printer leaves 4 to 6.
const EDGE_MM: f64 = 8.0;

/// Length of the check bars, mm, and the strip below and left of the drawing that holds them on a whole sheet.
const BAR_MM: f64 = 100.0;
const BAR_STRIP_MM: f64 = 12.0;

/// Letter height of tile names and of the words at the bars, mm.
const WORDS_MM: f64 = 3.5;

/// Arm of a register cross, mm.
const CROSS_MM: f64 = 5.0;

/// PDF units in a millimetre, and the largest page side in units; larger pages take larger units.
const UNITS_PER_MM: f64 = 72.0 / 25.4;
const LARGEST_SIDE: f64 = 14_400.0;

/// Digits after the point, in millimetres.
const DIGITS: u32 = 3;

/// Writes a drawing at full size. Refused before anything is written as [`crate::write_dxf`] does, and if
/// the overlap leaves nothing of a tile.
pub fn write_pdf(drawing: &Drawing, to: &mut impl Write, pages: Pages) -> Result<(), WriteError> {
    refuse_broken(drawing)?;
    let sheets = sheets(drawing, pages)?;
    let mut file = File::default();
    let kids: Vec<String> = (0..sheets.len()).map(|i| format!("{} 0 R", 4 + 2 * i)).collect();
    file.object("<< /Type /Catalog /Pages 2 0 R /ViewerPreferences << /PrintScaling /None >> >>");
    file.object(&format!("<< /Type /Pages /Count {} /Kids [{}] >>", kids.len(), kids.join(" ")));
    let bounds = bounds(drawing).inflate(EDGE_MM, EDGE_MM);
    let mut shared = Vec::new();
    draw(&mut shared, drawing);
    let shape = format!("/Type /XObject /Subtype /Form /Resources << >> /BBox [{}]", rect(bounds));
    file.stream(&shape, &shared);
    for (i, sheet) in sheets.iter().enumerate() {
        let longest = sheet.size.width.max(sheet.size.height) * UNITS_PER_MM;
        let unit = (longest / LARGEST_SIDE).ceil().max(1.0);
        let scale = UNITS_PER_MM / unit;
        let media = rect(Rect::from_origin_size(Point::ORIGIN, sheet.size * scale));
        file.object(&format!(
            "<< /Type /Page /Parent 2 0 R /MediaBox [{media}] /UserUnit {unit} \
             /Resources << /XObject << /D 3 0 R >> >> /Contents {} 0 R >>",
            5 + 2 * i
        ));
        let mut content = Vec::new();
        command(&mut content, &[scale, 0.0, 0.0, scale, 0.0, 0.0], "cm");
        content.extend_from_slice(b"q\n");
        let window = sheet.window;
        command(&mut content, &[window.x0, window.y0, window.width(), window.height()], "re W n");
        command(&mut content, &[1.0, 0.0, 0.0, 1.0, sheet.shift.x, sheet.shift.y], "cm");
        content.extend_from_slice(b"/D Do\nQ\n");
        draw(&mut content, &sheet.furniture);
        file.stream("", &content);
    }
    to.write_all(&file.finish())?;
    Ok(())
}

/// One page: its size, the part of it the drawing may fill, how far the drawing is moved, and what is added.
struct Sheet {
    size: Size,
    window: Rect,
    shift: Vec2,
    furniture: Drawing,
}

fn bounds(drawing: &Drawing) -> Rect {
    drawing.bounds().unwrap_or(Rect::new(0.0, 0.0, BAR_MM, BAR_MM))
}

fn sheets(drawing: &Drawing, pages: Pages) -> Result<Vec<Sheet>, WriteError> {
    let bounds = bounds(drawing);
    let Pages::Tiles { paper, overlap_mm } = pages else {
        let low = EDGE_MM + BAR_STRIP_MM;
        let size = Size::new(
            bounds.width().max(BAR_MM) + low + EDGE_MM,
            bounds.height().max(BAR_MM) + low + EDGE_MM,
        );
        let mut furniture = Drawing::default();
        bars(&mut furniture, Point::new(EDGE_MM, EDGE_MM));
        let window = Rect::from_origin_size(Point::ORIGIN, size);
        return Ok(vec![Sheet { size, window, shift: Point::new(low, low) - bounds.origin(), furniture }]);
    };
    let size = paper.size_mm();
    let window = Rect::from_origin_size(Point::ORIGIN, size).inset(-EDGE_MM);
    let step = Vec2::new(window.width() - overlap_mm, window.height() - overlap_mm);
    if !(overlap_mm >= 0.0 && step.x >= BAR_MM && step.y >= BAR_MM) {
        return Err(WriteError::Overlap(overlap_mm));
    }
    let count = |length: f64, step: f64| ((length - overlap_mm) / step - 1e-9).ceil().max(1.0) as usize;
    let (columns, rows) = (count(bounds.width(), step.x), count(bounds.height(), step.y));
    let mut sheets = Vec::new();
    for row in (0..rows).rev() {
        for column in 0..columns {
            let corner = bounds.origin() + Vec2::new(column as f64 * step.x, row as f64 * step.y);
            let mut furniture = Drawing::default();
            let words = furniture.layer("words", Operation::Annotate);
            // Neighbours' crosses fall on the same places of the drawing.
            let inset = 0.5 * overlap_mm;
            let cross = window.inset(-inset);
            for x in [cross.x0, cross.x1] {
                for y in [cross.y0, cross.y1] {
                    furniture.cross(words, Point::new(x, y), CROSS_MM);
                }
            }
            let name = format!(
                "{} - tile {}{} of {columns} x {rows}",
                drawing.name,
                column_letters(column),
                rows - row
            );
            let at = Point::new(window.x0 + 2.0 * CROSS_MM + inset, window.y1 - inset - WORDS_MM);
            furniture.text(words, at, WORDS_MM, 0.0, Anchor::Start, name);
            bars(&mut furniture, window.origin() + Vec2::new(inset + CROSS_MM, inset + CROSS_MM));
            sheets.push(Sheet { size, window, shift: window.origin() - corner, furniture });
        }
    }
    Ok(sheets)
}

/// A, B ... Z, AA, AB ...
fn column_letters(column: usize) -> String {
    let last = char::from(b'A' + (column % 26) as u8);
    if column < 26 { last.to_string() } else { column_letters(column / 26 - 1) + &last.to_string() }
}

/// Two bars of 100 mm from one corner, along and up, ticked at their ends and middles.
fn bars(furniture: &mut Drawing, corner: Point) {
    let layer = furniture.layer("check", Operation::CutOutside);
    for (along, across) in
        [(Vec2::new(1.0, 0.0), Vec2::new(0.0, 1.0)), (Vec2::new(0.0, 1.0), Vec2::new(1.0, 0.0))]
    {
        furniture.line(layer, corner, corner + along * BAR_MM);
        for part in [0.5, 1.0] {
            let tick = corner + along * (part * BAR_MM);
            furniture.line(layer, tick, tick + across * 3.0);
        }
    }
    let words = furniture.layer("words", Operation::Annotate);
    let at = corner + Vec2::new(0.55 * BAR_MM, 1.5);
    furniture.text(words, at, WORDS_MM, 0.0, Anchor::Start, "100 mm both ways");
}

fn draw(content: &mut Vec<u8>, drawing: &Drawing) {
    content.extend_from_slice(b"1 J 1 j\n");
    for (index, layer) in drawing.layers.iter().enumerate() {
        stroke(content, layer);
        for item in drawing.items.iter().filter(|item| item.layer() == index) {
            match item {
                Item::Path { path, .. } => line(content, path),
                Item::Text { at, height, angle, anchor, text, .. } => {
                    content.extend_from_slice(b"q [] 0 d\n");
                    line(content, &engraved(text, *at, *height, *angle, *anchor));
                    content.extend_from_slice(b"Q\n");
                }
            }
        }
    }
}

fn stroke(content: &mut Vec<u8>, layer: &Layer) {
    command(content, &layer.stroke.rgb.map(|part| f64::from(part) / 255.0), "RG");
    command(content, &[layer.stroke.width_mm], "w");
    content.push(b'[');
    for dash in &layer.stroke.dashes_mm {
        push_fixed(content, *dash, DIGITS);
        content.push(b' ');
    }
    content.extend_from_slice(b"] 0 d\n");
}

fn line(content: &mut Vec<u8>, path: &BezPath) {
    let mut here = Point::ORIGIN;
    for element in path.elements() {
        match *element {
            PathEl::MoveTo(p) => command(content, &[p.x, p.y], "m"),
            PathEl::LineTo(p) => command(content, &[p.x, p.y], "l"),
            PathEl::QuadTo(p, q) => {
                let cubic = kurbo::QuadBez::new(here, p, q).raise();
                command(content, &[cubic.p1.x, cubic.p1.y, cubic.p2.x, cubic.p2.y, q.x, q.y], "c");
            }
            PathEl::CurveTo(p, q, r) => command(content, &[p.x, p.y, q.x, q.y, r.x, r.y], "c"),
            PathEl::ClosePath => content.extend_from_slice(b"h\n"),
        }
        here = element.end_point().unwrap_or(here);
    }
    if !path.elements().is_empty() {
        content.extend_from_slice(b"S\n");
    }
}

/// Digits of scales and colours as well as of lengths: a long page must not lose size to rounding.
const COMMAND_DIGITS: u32 = 6;

fn command(content: &mut Vec<u8>, numbers: &[f64], name: &str) {
    for number in numbers {
        push_fixed(content, *number, COMMAND_DIGITS);
        content.push(b' ');
    }
    content.extend_from_slice(name.as_bytes());
    content.push(b'\n');
}

fn rect(r: Rect) -> String {
    format!("{:.4} {:.4} {:.4} {:.4}", r.x0, r.y0, r.x1, r.y1)
}

/// The bytes of a PDF as its objects are numbered and placed.
struct File {
    bytes: Vec<u8>,
    places: Vec<usize>,
}

impl Default for File {
    fn default() -> Self {
        Self { bytes: b"%PDF-1.6\n".to_vec(), places: Vec::new() }
    }
}

impl File {
    fn open(&mut self) {
        self.places.push(self.bytes.len());
        push_integer(&mut self.bytes, self.places.len() as i64);
        self.bytes.extend_from_slice(b" 0 obj\n");
    }

    fn object(&mut self, dictionary: &str) {
        self.open();
        self.bytes.extend_from_slice(dictionary.as_bytes());
        self.bytes.extend_from_slice(b"\nendobj\n");
    }

    fn stream(&mut self, entries: &str, content: &[u8]) {
        self.open();
        self.bytes
            .extend_from_slice(format!("<< {entries} /Length {} >>\nstream\n", content.len()).as_bytes());
        self.bytes.extend_from_slice(content);
        self.bytes.extend_from_slice(b"\nendstream\nendobj\n");
    }

    fn finish(mut self) -> Vec<u8> {
        let table = self.bytes.len();
        let count = self.places.len() + 1;
        self.bytes.extend_from_slice(format!("xref\n0 {count}\n0000000000 65535 f \n").as_bytes());
        for place in &self.places {
            self.bytes.extend_from_slice(format!("{place:010} 00000 n \n").as_bytes());
        }
        let trailer = format!("trailer\n<< /Size {count} /Root 1 0 R >>\nstartxref\n{table}\n%%EOF\n");
        self.bytes.extend_from_slice(trailer.as_bytes());
        self.bytes
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plank() -> Drawing {
        let mut drawing = Drawing::new("plank-4", "Plank 4");
        let cut = drawing.layer("Outline", Operation::CutOutside);
        let corners = [(0.0, 0.0), (900.0, 40.0), (900.0, 190.0), (0.0, 150.0)];
        drawing.polyline(cut, corners.map(Point::from), true);
        drawing
    }

    fn written(drawing: &Drawing, pages: Pages) -> String {
        let mut bytes = Vec::new();
        write_pdf(drawing, &mut bytes, pages).expect("a sound drawing is written");
        String::from_utf8(bytes).expect("ASCII")
    }

    #[test]
    fn every_place_in_the_table_is_where_its_object_starts() {
        let text = written(&plank(), Pages::Tiles { paper: Paper::A4, overlap_mm: 15.0 });
        let table = text.rfind("xref\n0 ").expect("a table");
        let places = text[table..].lines().filter(|line| line.ends_with(" 00000 n "));
        for (i, place) in places.enumerate() {
            let place: usize = place[..10].parse().expect("ten digits");
            assert!(text[place..].starts_with(&format!("{} 0 obj\n", i + 1)));
        }
        assert!(text.contains("/PrintScaling /None"));
    }

    #[test]
    fn one_long_sheet_is_as_long_as_the_plank() {
        let text = written(&plank(), Pages::Whole);
        // 900 by 190 mm, a strip of 20 mm with the bars on two sides and an edge of 8 mm on the others.
        let media =
            format!("/MediaBox [0.0000 0.0000 {:.4} {:.4}]", 928.0 * UNITS_PER_MM, 218.0 * UNITS_PER_MM);
        assert!(text.contains(&media) && text.contains("/UserUnit 1 "), "{media}");
    }

    #[test]
    fn a_sheet_longer_than_a_page_may_be_takes_larger_units() {
        let mut drawing = plank();
        drawing.line(0, Point::ORIGIN, Point::new(9000.0, 0.0));
        assert!(written(&drawing, Pages::Whole).contains("/UserUnit 2 "));
    }

    #[test]
    fn tiles_cover_the_drawing_and_share_their_overlap() {
        let overlap_mm = 15.0;
        let sheets = sheets(&plank(), Pages::Tiles { paper: Paper::A4, overlap_mm }).expect("tiles");
        // Of 297 by 210 mm the printer reaches 281 by 194: 266 new millimetres a tile, one row of four.
        assert_eq!(sheets.len(), 4);
        let on_drawing: Vec<Rect> = sheets.iter().map(|sheet| sheet.window - sheet.shift).collect();
        for pair in on_drawing.windows(2) {
            assert!((pair[0].x1 - pair[1].x0 - overlap_mm).abs() < 1e-9);
        }
        assert!(on_drawing[0].x0 <= 0.0 && on_drawing[3].x1 >= 900.0 && on_drawing[0].y1 >= 190.0);
    }

    #[test]
    fn register_crosses_of_neighbours_fall_on_one_place_of_the_drawing() {
        let sheets = sheets(&plank(), Pages::Tiles { paper: Paper::A3, overlap_mm: 20.0 }).expect("tiles");
        let crosses = |sheet: &Sheet| -> Vec<(i64, i64)> {
            let centres = sheet.furniture.items.iter().filter_map(|item| match item {
                Item::Path { path, layer } if sheet.furniture.layers[*layer].name == "words" => {
                    Some(kurbo::Shape::bounding_box(path).center() - sheet.shift)
                }
                _ => None,
            });
            centres.map(|c| ((1e3 * c.x).round() as i64, (1e3 * c.y).round() as i64)).collect()
        };
        let (first, second) = (crosses(&sheets[0]), crosses(&sheets[1]));
        let shared = first.iter().filter(|place| second.contains(place)).count();
        assert_eq!(shared, 4, "two crosses of two lines each");
    }

    #[test]
    fn an_overlap_that_leaves_no_paper_is_refused() {
        let mut bytes = Vec::new();
        for overlap_mm in [-1.0, 190.0, f64::NAN] {
            let pages = Pages::Tiles { paper: Paper::A4, overlap_mm };
            assert!(matches!(write_pdf(&plank(), &mut bytes, pages), Err(WriteError::Overlap(_))));
        }
        assert!(bytes.is_empty());
    }

    #[test]
    fn columns_of_tiles_are_lettered() {
        assert_eq!([0, 25, 26, 701].map(column_letters), ["A", "Z", "AA", "ZZ"]);
    }
}
