//! Full-size patterns on paper as PDF 1.6: one long sheet, or tiles to be joined and a page that shows how.
//!
//! Paper lies or stands, whichever takes fewer tiles, and tiles with nothing on them are left out.
//! Written straight from the published format (ISO 32000): the drawing is stored once and every page shows its part
//! of it. Text is drawn with the single strokes of [`crate::engraved`], so no font is needed. Viewers are asked
//! not to scale; a bar of 100 mm each way on every page shows whether the printer did. Nothing in a
//! file depends on the day it was written.

use crate::error::{WriteError, refuse_broken};
use crate::fixed::{push_fixed, push_integer};
use crate::lettering::engraved;
use crate::model::{Anchor, Drawing, Item, Layer, Operation};
use crate::space::{Space, text_width};
use crate::title::with_title_box;
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

/// Squares that ink is found by, mm: a line nearer the edge of a tile than this counts as on it.
const INK_MM: f64 = 2.0;
/// Room for a bar with its ticks and words, across it, mm.
const BAR_ROOM_MM: f64 = 6.0;

/// Pages a drawing may be tiled over: more than anybody joins, and few enough that the squares fit in memory.
const MOST_PAGES: f64 = 2000.0;

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
    let drawing = &with_title_box(drawing);
    let mut sheets = sheets(drawing, pages)?;
    if sheets.len() > 1 {
        sheets.insert(0, map(drawing, &sheets));
    }
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
        command(&mut content, &[sheet.scale, 0.0, 0.0, sheet.scale, sheet.shift.x, sheet.shift.y], "cm");
        content.extend_from_slice(b"/D Do\nQ\n");
        draw(&mut content, &sheet.furniture);
        file.stream("", &content);
    }
    to.write_all(&file.finish())?;
    Ok(())
}

/// One page: its size, the part of it the drawing may fill, how the drawing is scaled and moved, and what is
/// added.
struct Sheet {
    size: Size,
    window: Rect,
    scale: f64,
    shift: Vec2,
    furniture: Drawing,
    /// Column and row from the top, of a tile.
    place: (usize, usize),
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
        bars(&mut furniture, Point::new(EDGE_MM, EDGE_MM), Vec2::new(1.0, 1.0));
        let window = Rect::from_origin_size(Point::ORIGIN, size);
        let shift = Point::new(low, low) - bounds.origin();
        return Ok(vec![Sheet { size, window, scale: 1.0, shift, furniture, place: (0, 0) }]);
    };
    let needed = bounds.area() / paper.size_mm().area();
    if needed > MOST_PAGES {
        return Err(WriteError::TooManyTiles(needed.round()));
    }
    let ink = ink(drawing, bounds, paper.size_mm());
    let lying = paper.size_mm();
    let standing = Size::new(lying.height, lying.width);
    let mut least = tiles(&drawing.name, bounds, &ink, lying, overlap_mm)?;
    if let Ok(others) = tiles(&drawing.name, bounds, &ink, standing, overlap_mm)
        && others.len() < least.len()
    {
        least = others;
    }
    Ok(least)
}

/// Where the drawing has lines or letters, with room for a page about it.
fn ink(drawing: &Drawing, bounds: Rect, paper: Size) -> Space {
    let mut ink = Space::new(bounds.inflate(2.0 * paper.width, 2.0 * paper.width), INK_MM);
    for item in &drawing.items {
        match item {
            Item::Path { path, .. } => ink.take(path),
            Item::Text { at, height, angle, anchor, text, .. } => {
                ink.take(&engraved(text, *at, *height, *angle, *anchor));
            }
        }
    }
    ink
}

/// The tiles that have anything on them, row by row from the top.
fn tiles(
    name: &str,
    bounds: Rect,
    ink: &Space,
    size: Size,
    overlap_mm: f64,
) -> Result<Vec<Sheet>, WriteError> {
    let window = Rect::from_origin_size(Point::ORIGIN, size).inset(-EDGE_MM);
    let step = Vec2::new(window.width() - overlap_mm, window.height() - overlap_mm);
    if !(overlap_mm >= 0.0 && step.x >= BAR_MM && step.y >= BAR_MM) {
        return Err(WriteError::Overlap(overlap_mm));
    }
    let count = |length: f64, step: f64| ((length - overlap_mm) / step - 1e-9).ceil().max(1.0) as usize;
    let (columns, rows) = (count(bounds.width(), step.x), count(bounds.height(), step.y));
    let inset = 0.5 * overlap_mm;
    // Neighbours' crosses fall on the same places of the drawing.
    let cross = window.inset(-inset);
    let mut sheets = Vec::new();
    for row in 0..rows {
        for column in 0..columns {
            let up = (rows - 1 - row) as f64;
            let shift = window.origin() - bounds.origin() - Vec2::new(column as f64 * step.x, up * step.y);
            if ink.is_free(window - shift) {
                continue;
            }
            let mut furniture = Drawing::default();
            let words = furniture.layer("words", Operation::Annotate);
            for x in [cross.x0, cross.x1] {
                for y in [cross.y0, cross.y1] {
                    furniture.cross(words, Point::new(x, y), CROSS_MM);
                }
            }
            // Clear of the crosses; where the drawing leaves no corner free, where it has least.
            let clear = cross.inset(-2.0 * CROSS_MM);
            let least = |boxes: &[Rect]| boxes.iter().map(|b| ink.taken_in(*b - shift)).sum::<usize>();
            let title = format!("{name} - tile {} of {columns} x {rows}", tile_name((column, row)));
            let along = text_width(&title, WORDS_MM);
            let heads = [clear.x0, clear.x1 - along]
                .into_iter()
                .flat_map(|x| [cross.y1 - WORDS_MM, cross.y0].map(|y| Point::new(x, y)))
                .min_by_key(|at| least(&[Rect::from_origin_size(*at, Size::new(along, WORDS_MM))]));
            let at = heads.unwrap_or(clear.origin());
            furniture.text(words, at, WORDS_MM, 0.0, Anchor::Start, title);
            let name_box = Rect::from_origin_size(at, Size::new(along, WORDS_MM));
            let corners = [(1.0, 1.0), (-1.0, 1.0), (1.0, -1.0), (-1.0, -1.0)].map(|(x, y)| {
                let corner = Point::new(
                    if x > 0.0 { clear.x0 } else { clear.x1 },
                    if y > 0.0 { clear.y0 } else { clear.y1 },
                );
                (corner, Vec2::new(x, y))
            });
            let freest = corners.into_iter().min_by_key(|(corner, way)| {
                let boxes = bar_room(*corner, *way);
                (boxes.iter().any(|b| b.overlaps(name_box)), least(&boxes))
            });
            if let Some((corner, way)) = freest {
                bars(&mut furniture, corner, way);
            }
            sheets.push(Sheet { size, window, scale: 1.0, shift, furniture, place: (column, row) });
        }
    }
    Ok(sheets)
}

/// The page that shows how the tiles lie: the drawing small, and each tile's edge and name.
fn map(drawing: &Drawing, tiles: &[Sheet]) -> Sheet {
    let size = tiles[0].size;
    let window = Rect::from_origin_size(Point::ORIGIN, size).inset(-EDGE_MM);
    let on_drawing: Vec<Rect> = tiles.iter().map(|tile| tile.window - tile.shift).collect();
    let whole = on_drawing.iter().fold(bounds(drawing), |whole, tile| whole.union(*tile));
    let room = Rect::new(window.x0, window.y0, window.x1, window.y1 - 6.0 * WORDS_MM);
    let scale = (room.width() / whole.width()).min(room.height() / whole.height());
    let small = Size::new(whole.width(), whole.height()) * scale;
    let low = room.origin() + 0.5 * (room.size() - small).to_vec2();
    let shift = low.to_vec2() - scale * whole.origin().to_vec2();
    let mut furniture = Drawing::default();
    let layer = furniture.layer("tiles", Operation::Annotate);
    for (tile, on) in tiles.iter().zip(&on_drawing) {
        let edge = Rect::from_points(
            (scale * on.origin().to_vec2() + shift).to_point(),
            (scale * Point::new(on.x1, on.y1).to_vec2() + shift).to_point(),
        );
        furniture.path(layer, kurbo::Shape::to_path(&edge, 0.1));
        let height = WORDS_MM.min(0.4 * edge.height());
        let at = edge.origin() + Vec2::new(0.5 * edge.width(), 0.5 * (edge.height() - height));
        furniture.text(layer, at, height, 0.0, Anchor::Middle, tile_name(tile.place));
    }
    let lines = [
        format!("{}: {} tiles, at full size; this page is not", drawing.name, tiles.len()),
        "Print without scaling, measure the bars, lay crosses over crosses.".to_string(),
    ];
    for (i, line) in lines.into_iter().enumerate() {
        let at = Point::new(window.x0, window.y1 - (1.0 + 2.0 * i as f64) * WORDS_MM);
        furniture.text(layer, at, WORDS_MM, 0.0, Anchor::Start, line);
    }
    Sheet { size, window, scale, shift, furniture, place: (0, 0) }
}

/// A1 at the top left: columns are lettered and rows numbered downward.
fn tile_name((column, row): (usize, usize)) -> String {
    format!("{}{}", column_letters(column), row + 1)
}

/// A, B ... Z, AA, AB ...
fn column_letters(column: usize) -> String {
    let last = char::from(b'A' + (column % 26) as u8);
    if column < 26 { last.to_string() } else { column_letters(column / 26 - 1) + &last.to_string() }
}

/// The boxes that the bars from a corner take, along and up.
fn bar_room(corner: Point, way: Vec2) -> [Rect; 2] {
    let to = |along: f64, up: f64| Rect::from_points(corner, corner + Vec2::new(way.x * along, way.y * up));
    [to(BAR_MM, BAR_ROOM_MM), to(BAR_ROOM_MM, BAR_MM)]
}

/// Two thin bars of 100 mm, not to be taken for lines to cut by, from one corner, the ways given by the signs of `way`, ticked at their ends and middles.
fn bars(furniture: &mut Drawing, corner: Point, way: Vec2) {
    let layer = furniture.layer("check", Operation::Annotate);
    let (x, y) = (Vec2::new(way.x, 0.0), Vec2::new(0.0, way.y));
    for (along, across) in [(x, y), (y, x)] {
        furniture.line(layer, corner, corner + along * BAR_MM);
        for part in [0.5, 1.0] {
            let tick = corner + along * (part * BAR_MM);
            furniture.line(layer, tick, tick + across * 3.0);
        }
    }
    let anchor = if way.x > 0.0 { Anchor::Start } else { Anchor::End };
    let off = if way.y > 0.0 { 1.5 } else { -1.5 - WORDS_MM };
    let at = corner + Vec2::new(way.x * 0.55 * BAR_MM, off);
    let at = if way.x > 0.0 { at } else { Point::new(corner.x - BAR_ROOM_MM, at.y) };
    furniture.text(layer, at, WORDS_MM, 0.0, anchor, "100 mm both ways");
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

    #[test]
    fn tiles_with_nothing_on_them_are_left_out_and_every_line_is_on_one() {
        // A frame of a metre square: eight of its middle tiles are blank.
        let mut frame = Drawing::new("frame", "Frame");
        let cut = frame.layer("Outline", Operation::CutOutside);
        let corners = [(0.0, 0.0), (1000.0, 0.0), (1000.0, 1000.0), (0.0, 1000.0)].map(Point::from);
        frame.polyline(cut, corners, true);
        let sheets = sheets(&frame, Pages::Tiles { paper: Paper::A4, overlap_mm: 15.0 }).expect("tiles");
        let on_drawing: Vec<Rect> = sheets.iter().map(|sheet| sheet.window - sheet.shift).collect();
        for i in 0..=1000 {
            let at = f64::from(i);
            for p in [(at, 0.0), (at, 1000.0), (0.0, at), (1000.0, at)].map(Point::from) {
                assert!(on_drawing.iter().any(|tile| tile.inflate(1e-9, 1e-9).contains(p)), "{p}");
            }
        }
        // Four columns by six rows, lying or standing, less the two by four within.
        assert_eq!(sheets.len(), 24 - 8);
        assert!(on_drawing.iter().all(|tile| !tile.contains(Point::new(500.0, 500.0))));
    }

    #[test]
    fn a_tall_pattern_is_laid_on_standing_paper() {
        let mut stem = Drawing::new("stem", "Stem");
        let cut = stem.layer("Outline", Operation::CutOutside);
        stem.polyline(cut, [(0.0, 0.0), (180.0, 0.0), (180.0, 800.0), (0.0, 800.0)].map(Point::from), true);
        let sheets = sheets(&stem, Pages::Tiles { paper: Paper::A4, overlap_mm: 15.0 }).expect("tiles");
        assert_eq!((sheets.len(), sheets[0].size), (3, Size::new(210.0, 297.0)));
    }

    #[test]
    fn the_bars_stand_where_the_drawing_leaves_room() {
        let pages = Pages::Tiles { paper: Paper::A4, overlap_mm: 15.0 };
        for (line, free) in [(30.0, "above"), (160.0, "below")] {
            let mut one = Drawing::new("one", "One");
            let cut = one.layer("Outline", Operation::CutOutside);
            one.line(cut, Point::new(0.0, 0.0), Point::new(0.0, 0.1));
            one.line(cut, Point::new(0.0, 194.0), Point::new(0.0, 193.9));
            one.line(cut, Point::new(0.0, line), Point::new(280.0, line));
            let sheets = sheets(&one, pages).expect("tiles");
            let check = |item: &&Item| sheets[0].furniture.layers[item.layer()].name == "check";
            let bars = sheets[0].furniture.items.iter().filter(check).filter_map(|item| match item {
                Item::Path { path, .. } => Some(kurbo::Shape::bounding_box(path)),
                Item::Text { .. } => None,
            });
            let bars = bars.reduce(|a, b| a.union(b)).expect("bars");
            let at = line + sheets[0].shift.y;
            assert!(if free == "above" { bars.y0 > at } else { bars.y1 < at }, "{bars} {at}");
            assert!((bars.width() - BAR_MM).abs() < 1e-9 && (bars.height() - BAR_MM).abs() < 1e-9);
        }
    }

    #[test]
    fn the_first_of_several_pages_names_every_tile() {
        let text = written(&plank(), Pages::Tiles { paper: Paper::A4, overlap_mm: 15.0 });
        assert_eq!(text.matches("/Type /Page ").count(), 5);
        assert_eq!(written(&plank(), Pages::Whole).matches("/Type /Page ").count(), 1);
    }
}
