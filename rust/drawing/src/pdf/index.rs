//! The pages that a file of several begins with: what is on which of them, how they are joined and what is checked,
//! and each part small with its sheets' edges and names.

use kurbo::{Point, Rect, Shape as _, Size, Vec2};

use super::paper::{Pages, Paper};
use super::sheet::{Page, Shown, sheet_name};
use super::tiles::Set;
use super::{EDGE_MM, WORDS_MM};
use crate::lettering::engraved_width;
use crate::model::{Anchor, Drawing, Operation};

/// Letters of the title, mm.
const TITLE_MM: f64 = 5.0;
/// From line to line, as a part of the letters' height.
const PITCH: f64 = 1.75;
/// Clear between blocks and between maps, mm.
const CLEAR_MM: f64 = 6.0;
/// Columns of a page of maps are at least this wide, and maps of several parts this high, mm.
const MAP_MM: Size = Size::new(85.0, 70.0);
/// A map by itself takes what is left of its page, if it is so much, mm.
const LEAST_MAP_MM: f64 = 80.0;
/// Maps of several parts are lower than that, but no less than this, where they need no further page then, mm.
const LEAST_MAPS_MM: f64 = 45.0;
/// The names of sheets on a map are no larger than this part of a sheet's height.
const NAME_PER_SHEET: f64 = 0.4;

/// The index of a file; without a page where each drawing is a page as it is.
pub(super) fn index(sets: &[Set], pages: Pages) -> Vec<Page> {
    let alone =
        |set: &Set| set.sheets.len() == 1 && (pages.paper.is_none() || set.run.drawing.sheet.is_some());
    if sets.iter().all(alone) {
        return Vec::new();
    }
    // How many pages the index takes says where the others begin, and that takes no more room.
    let taken = Leaves::new(sets, pages, 1).pages.len();
    Leaves::new(sets, pages, taken).pages
}

/// What is done and checked, in order.
fn told(sets: &[Set], pages: Pages) -> Vec<String> {
    let overlap = pages.overlap_mm;
    let joined = sets.iter().any(|set| set.sheets.len() > 1);
    let blank = sets.iter().any(|set| set.sheets.len() < set.columns * set.rows);
    let mut lines = vec![
        "Print at 100 %, \"actual size\", never fitted to the page or scaled. The small drawings here are not to measure from.".to_owned(),
        "On every sheet measure both bars with a steel rule: 100 mm along and 100 mm up. Where one is off, the printer \
         scales or slips: print again, and do not stretch a sheet to fit."
            .to_owned(),
    ];
    if joined {
        lines.push(format!(
            "Begin at the top left and join row by row: A1, B1, C1, then A2. Sheets share {overlap} mm; lay crosses over \
             crosses, which lets no error run up. Each edge names the sheet that it joins."
        ));
    }
    if blank {
        lines.push("Sheets with nothing on them are left out.".to_owned());
    }
    if !is_cut(sets) {
        return numbered(&lines);
    }
    lines.push(
        "When joined, measure each part over all against the sizes below, and two known dimensions of the boat.".to_owned(),
    );
    lines.push(
        "Paper stretches when damp and shrinks when dry: measure the bars again on the day the shape is marked on the \
         wood. The lines are net: nothing is added for saw or plane."
            .to_owned(),
    );
    numbered(&lines)
}

fn numbered(lines: &[String]) -> Vec<String> {
    lines.iter().enumerate().map(|(i, line)| format!("{}  {line}", i + 1)).collect()
}

/// Whether anything is cut by what is drawn; else it is only looked at, at the scale it says.
fn is_cut(sets: &[Set]) -> bool {
    sets.iter().any(|set| !set.run.drawing.all_parts().is_empty())
}

/// The pages as they fill up.
struct Leaves {
    size: Size,
    pages: Vec<Page>,
    /// The top of what is free on the last.
    top: f64,
}

impl Leaves {
    fn new(sets: &[Set], pages: Pages, index_pages: usize) -> Self {
        let size = pages.paper.unwrap_or(Paper::A4).standing_mm();
        let mut leaves = Self { size, pages: Vec::new(), top: 0.0 };
        leaves.turn();
        leaves.head(sets, pages);
        let first_pages = sets.iter().scan(index_pages + 1, |next, set| {
            let first = *next;
            *next += set.sheets.len();
            Some(first)
        });
        let rows: Vec<(&Set, [String; 4])> =
            sets.iter().zip(first_pages).map(|(set, first)| (set, row(set, first))).collect();
        leaves.list(&rows);
        leaves.maps(&rows);
        leaves
    }

    fn room(&self) -> Rect {
        Rect::from_origin_size(Point::ORIGIN, self.size).inset(-EDGE_MM)
    }

    fn turn(&mut self) {
        self.top = self.room().y1;
        self.pages.push(Page { size: self.size, shown: Vec::new(), furniture: Drawing::default() });
    }

    /// Makes room for a block of this height.
    fn need(&mut self, height: f64) {
        if self.top - height < self.room().y0 {
            self.turn();
        }
    }

    fn put(&mut self, at: Point, height: f64, anchor: Anchor, words: &str) {
        if let Some(page) = self.pages.last_mut() {
            let layer = page.furniture.layer("index", Operation::Annotate);
            page.furniture.text(layer, at, height, 0.0, anchor, words);
        }
    }

    fn line(&mut self, words: &str, height: f64, indent: f64) {
        let room = self.room();
        for (i, line) in wrapped(words, height, room.width() - indent).into_iter().enumerate() {
            self.need(PITCH * height);
            self.top -= PITCH * height;
            let left = room.x0 + if i == 0 { 0.0 } else { indent };
            self.put(Point::new(left, self.top + 0.3 * height), height, Anchor::Start, &line);
        }
    }

    /// Boat, paper, how many sheets, and what is done with them.
    fn head(&mut self, sets: &[Set], pages: Pages) {
        let sheets: usize = sets.iter().map(|set| set.sheets.len()).sum();
        self.line(&title(sets), TITLE_MM, TITLE_MM);
        self.top -= 0.5 * CLEAR_MM;
        let many = if sheets == 1 { "1 sheet".to_owned() } else { format!("{sheets} sheets") };
        let (one, several, what) = if is_cut(sets) {
            ("part", "parts", "Full-size patterns")
        } else {
            ("drawing", "drawings", "As large as they are drawn")
        };
        let parts = if sets.len() == 1 { format!("1 {one}") } else { format!("{} {several}", sets.len()) };
        let of = pages.paper.map_or("long paper".to_owned(), |paper| {
            let size = paper.size_mm();
            format!("{} ({} x {} mm)", paper.name(), size.height, size.width)
        });
        self.line(&format!("{what}: {parts} on {many} of {of}, after this index."), WORDS_MM, 0.0);
        // The last lines of a title box tell of one drawing; that of the table is the same in all.
        let tables =
            sets.iter().flat_map(|set| &set.run.drawing.title_box).filter(|line| line.starts_with("TABLE"));
        let mut tables: Vec<&String> = tables.collect();
        tables.dedup();
        for table in tables {
            self.line(table, WORDS_MM, WORDS_MM);
        }
        self.top -= CLEAR_MM;
        for line in told(sets, pages) {
            self.line(&line, WORDS_MM, 2.0 * WORDS_MM);
        }
        self.top -= CLEAR_MM;
    }

    /// What is on which pages.
    fn list(&mut self, rows: &[(&Set, [String; 4])]) {
        let heads = ["part", "sheets", "pages", "over all, mm"].map(str::to_owned);
        let room = self.room();
        let wide = |column: usize| {
            let cells = rows.iter().map(|(_, row)| &row[column]).chain([&heads[column]]);
            cells.map(|cell| engraved_width(cell, WORDS_MM)).fold(0.0, f64::max) + 2.0 * WORDS_MM
        };
        let ends = [room.x1 - wide(2) - wide(3), room.x1 - wide(3), room.x1];
        let lines = std::iter::once(&heads).chain(rows.iter().map(|(_, row)| row));
        for cells in lines {
            let room_for_name = ends[0] - wide(1) - room.x0;
            let names = wrapped(&cells[0], WORDS_MM, room_for_name.max(10.0 * WORDS_MM));
            self.need(PITCH * WORDS_MM * names.len() as f64);
            for (i, name) in names.iter().enumerate() {
                self.top -= PITCH * WORDS_MM;
                let foot = self.top + 0.3 * WORDS_MM;
                self.put(Point::new(room.x0, foot), WORDS_MM, Anchor::Start, name);
                if i == 0 {
                    for (end, cell) in ends.iter().zip(&cells[1..]) {
                        self.put(Point::new(*end, foot), WORDS_MM, Anchor::End, cell);
                    }
                }
            }
            if let Some(page) = self.pages.last_mut() {
                let rule = page.furniture.layer("rules", Operation::Annotate);
                page.furniture.line(rule, Point::new(room.x0, self.top), Point::new(room.x1, self.top));
            }
        }
        self.top -= CLEAR_MM;
    }

    /// Each part with its sheets' edges.
    fn maps(&mut self, rows: &[(&Set, [String; 4])]) {
        let room = self.room();
        if let [(set, row)] = rows {
            self.need(LEAST_MAP_MM);
            let cell = Rect::new(room.x0, room.y0, room.x1, self.top);
            self.map(0, set, row, cell);
            return;
        }
        let columns = (room.width() / MAP_MM.width).max(1.0).floor();
        let width = (room.width() - (columns - 1.0) * CLEAR_MM) / columns;
        // Lower ones, where they then need no page of their own.
        let left = (self.top - room.y0) / (rows.len() as f64 / columns).ceil() - CLEAR_MM;
        let height = if left < LEAST_MAPS_MM { MAP_MM.height } else { left.min(MAP_MM.height) };
        for (of_row, some) in rows.chunks(columns as usize).enumerate() {
            self.need(height);
            for (i, (set, row)) in some.iter().enumerate() {
                let left = room.x0 + i as f64 * (width + CLEAR_MM);
                let cell = Rect::new(left, self.top - height, left + width, self.top);
                self.map(of_row * columns as usize + i, set, row, cell);
            }
            self.top -= height + CLEAR_MM;
        }
    }

    /// One part small in a cell, under its name and pages.
    fn map(&mut self, run: usize, set: &Set, row: &[String; 4], cell: Rect) {
        let head = format!("{}: {}", set.run.part, pages_of(&row[2]));
        let (height, head) = super::sheet::fitted(&head, cell.width());
        self.put(Point::new(cell.x0, cell.y1 - height), height, Anchor::Start, &head);
        let cell = Rect { y1: cell.y1 - PITCH * WORDS_MM, ..cell };
        let edges: Vec<Rect> = set.sheets.iter().map(|sheet| sheet.on_drawing()).collect();
        let whole = edges.iter().fold(set.run.extent, |whole, edge| whole.union(*edge));
        let scale = (cell.width() / whole.width()).min(cell.height() / whole.height()).min(1.0);
        let small = whole.size() * scale;
        let low = Point::new(cell.x0, cell.y1 - small.height);
        let shift = low.to_vec2() - scale * whole.origin().to_vec2();
        let Some(page) = self.pages.last_mut() else { return };
        let layer = page.furniture.layer("sheets", Operation::Annotate);
        let placed = |p: Point| (scale * p.to_vec2() + shift).to_point();
        for (sheet, edge) in set.sheets.iter().zip(&edges) {
            let edge = Rect::from_points(placed(edge.origin()), placed(Point::new(edge.x1, edge.y1)));
            page.furniture.path(layer, edge.to_path(0.1));
            let name = sheet_name(sheet.place);
            let wide = engraved_width(&name, 1.0);
            let height = WORDS_MM.min(NAME_PER_SHEET * edge.height()).min(0.8 * edge.width() / wide);
            let at = edge.origin() + Vec2::new(0.5 * edge.width(), 0.5 * (edge.height() - height));
            page.furniture.text(layer, at, height, 0.0, Anchor::Middle, name);
        }
        let window = Rect::from_points(placed(whole.origin()), placed(Point::new(whole.x1, whole.y1)));
        page.shown.push(Shown { run, window, scale, shift, letters: false });
    }
}

/// Part, sheets, pages and size over all.
fn row(set: &Set, first: usize) -> [String; 4] {
    let count = set.sheets.len();
    let sheets =
        if count == 1 { "1".to_owned() } else { format!("{count} of {} x {}", set.columns, set.rows) };
    let pages = if count == 1 { first.to_string() } else { format!("{first} to {}", first + count - 1) };
    let size = set.run.outline.size();
    [set.run.part.clone(), sheets, pages, format!("{:.1} x {:.1}", size.width, size.height)]
}

fn pages_of(pages: &str) -> String {
    format!("{} {pages}", if pages.contains(' ') { "pages" } else { "page" })
}

/// What a file is called: the boat, the part, and how many more.
pub(super) fn title(sets: &[Set]) -> String {
    let Some(first) = sets.first() else { return String::new() };
    match sets.len() {
        1 => first.name.clone(),
        many => format!("{} and {} more", first.name, many - 1),
    }
}

/// Words in lines no longer than `room`, parted between words, or within one that is longer.
fn wrapped(words: &str, height: f64, room: f64) -> Vec<String> {
    let fits = |line: &str| engraved_width(line, height) <= room;
    let mut lines: Vec<String> = vec![String::new()];
    for word in words.split(' ') {
        let last = &lines[lines.len() - 1];
        let joined = if last.is_empty() { word.to_owned() } else { format!("{last} {word}") };
        if fits(&joined) {
            lines.pop();
            lines.push(joined);
            continue;
        }
        let mut rest = if last.is_empty() { lines.pop().unwrap_or_default() } else { String::new() };
        for letter in word.chars() {
            if !rest.is_empty() && !fits(&format!("{rest}{letter}")) {
                lines.push(std::mem::take(&mut rest));
            }
            rest.push(letter);
        }
        lines.push(rest);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_parted_between_words_and_no_letter_is_lost() {
        let long = "w".repeat(90);
        for words in ["", "one", "a line of words that is longer than its room", long.as_str(), "a  b"] {
            let lines = wrapped(words, WORDS_MM, 60.0);
            assert!(lines.iter().all(|line| engraved_width(line, WORDS_MM) <= 60.0), "{lines:?}");
            let kept: String = lines.concat().split(' ').collect();
            assert_eq!(kept, words.split(' ').collect::<String>());
        }
        assert_eq!(wrapped("a line of words", WORDS_MM, 25.0), ["a line of", "words"]);
    }
}
