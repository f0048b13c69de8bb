//! A run cut into sheets: one, or as many of a paper as it takes, each repeating the overlap of its neighbours.
//!
//! Paper lies or stands, whichever takes fewer sheets, and sheets with nothing on them are left out. A drawing larger
//! than a page may be is cut in the same way into pages as large as they may be.

use kurbo::{Point, Rect, Size, Vec2};

use super::paper::{Pages, Paper};
use super::runs::Run;
use super::sheet::{Furniture, Page, Place, Shown, bars, sheet_name};
use super::{BAR_MM, EDGE_MM, LARGEST_MM, MOST_SHEETS};
use crate::error::WriteError;
use crate::lettering::engraved;
use crate::model::{Drawing, Item};
use crate::space::Space;
use crate::title::{title_box, with_title_box};

/// The strip below and left of the drawing that holds the bars on a whole sheet, mm.
const BAR_STRIP_MM: f64 = 12.0;
/// The strip below a drawing that is cut into pages, for the bars and the name, mm.
const CUT_STRIP_MM: f64 = 40.0;
/// Kept round a drawing, mm: the breadth of a line at the edge of what the printer reaches.
const LINE_MM: f64 = 0.5;
/// Squares that ink is found by, mm: a line nearer the edge of a sheet than this counts as on it.
const INK_MM: f64 = 2.0;
/// Letters of a title box on a sheet, mm: read in the hand (ISO 3098 has 3.5 and 2.5 among its heights).
const TITLES_MM: [f64; 2] = [3.5, 2.5];

/// How much of the room that is over lies left of a drawing and below it.
const OVER: [f64; 3] = [0.5, 0.0, 1.0];

/// A run on its sheets, row by row from the top.
pub(super) struct Set {
    /// Boat and part: what its sheets are named by.
    pub name: String,
    /// Boat.
    pub boat: String,
    pub run: Run,
    pub columns: usize,
    pub rows: usize,
    pub sheets: Vec<Sheet>,
}

/// A sheet and its place among the others.
pub(super) struct Sheet {
    pub page: Page,
    pub place: Place,
}

impl Sheet {
    /// What of the drawing is on it.
    pub fn on_drawing(&self) -> Rect {
        let shown = &self.page.shown[0];
        shown.window - shown.shift
    }
}

impl Set {
    /// A run cut up as asked, the `at`-th of its file.
    pub fn new(mut run: Run, at: usize, boat: &str, pages: Pages) -> Result<Self, WriteError> {
        let name = if boat.is_empty() { run.part.clone() } else { format!("{boat} - {}", run.part) };
        let set = |run, (columns, rows), sheets| Self {
            name: name.clone(),
            boat: boat.to_owned(),
            run,
            columns,
            rows,
            sheets,
        };
        if let Some(size) = run.drawing.sheet {
            run.extent = Rect::from_origin_size(Point::ORIGIN, size);
            // A drawing sheet is a page as it is, unless it is to be joined of smaller paper.
            let is_paper = |page: Size| size.width <= page.width && size.height <= page.height;
            if pages.paper.is_none_or(|paper| is_paper(paper.size_mm()) || is_paper(paper.standing_mm()))
                && size.width.max(size.height) <= LARGEST_MM
            {
                return Ok(set(run, (1, 1), vec![drawing_sheet(size, at)]));
            }
        }
        let Some(paper) = pages.paper else {
            let drawing = with_title_box(&run.drawing);
            run.extent = drawing.bounds().unwrap_or(run.extent);
            run.drawing = drawing;
            let one = whole(&run, at);
            if one.page.size.width.max(one.page.size.height) <= LARGEST_MM {
                return Ok(set(run, (1, 1), vec![one]));
            }
            run.extent.y0 -= CUT_STRIP_MM;
            let size = page_for(run.extent.inflate(LINE_MM, LINE_MM).size(), pages.overlap_mm);
            let ink = ink(&run, size);
            let (grid, sheets) =
                Cut { at, name: &name, run: &run, ink: &ink, size, overlap: pages.overlap_mm }.sheets();
            return Ok(set(run, grid, sheets));
        };
        let needed = run.extent.area() / paper.size_mm().area();
        if needed > MOST_SHEETS {
            return Err(WriteError::TooManyTiles(needed.round()));
        }
        let inked = ink(&run, paper.size_mm());
        let (grid, mut sheets) = fewest(&run, &inked, at, &name, paper, pages.overlap_mm);
        put_title(&mut sheets, &run, &inked);
        Ok(set(run, grid, sheets))
    }
}

/// Refuses an overlap that leaves too little of a page to put a bar on, or none.
pub(super) fn check_overlap(pages: Pages) -> Result<(), WriteError> {
    let overlap = pages.overlap_mm;
    let (on, shorter) = match pages.paper {
        Some(paper) => (paper.name(), paper.size_mm().height),
        None => ("the largest page", LARGEST_MM),
    };
    let most = shorter - 2.0 * EDGE_MM - BAR_MM;
    if (0.0..=most).contains(&overlap) { Ok(()) } else { Err(WriteError::Overlap { overlap, most, on }) }
}

/// One page that a drawing sheet fills.
fn drawing_sheet(size: Size, at: usize) -> Sheet {
    let window = Rect::from_origin_size(Point::ORIGIN, size);
    let shown = vec![Shown { run: at, window, scale: 1.0, shift: Vec2::ZERO, letters: true }];
    Sheet { page: Page { size, shown, furniture: Drawing::default() }, place: (0, 0) }
}

/// One page as large as the drawing needs.
fn whole(run: &Run, at: usize) -> Sheet {
    let low = EDGE_MM + BAR_STRIP_MM;
    let extent = run.extent;
    let size =
        Size::new(extent.width().max(BAR_MM) + low + EDGE_MM, extent.height().max(BAR_MM) + low + EDGE_MM);
    let mut furniture = Drawing::default();
    bars(&mut furniture, Point::new(EDGE_MM, EDGE_MM), Vec2::new(1.0, 1.0));
    let window = Rect::from_origin_size(Point::ORIGIN, size);
    let shift = Point::new(low, low) - extent.origin();
    let shown = vec![Shown { run: at, window, scale: 1.0, shift, letters: true }];
    Sheet { page: Page { size, shown, furniture }, place: (0, 0) }
}

/// The page that such a drawing is cut into: equal ones, no larger than a page may be.
fn page_for(drawing: Size, overlap: f64) -> Size {
    let side = |length: f64| {
        let most = LARGEST_MM - 2.0 * EDGE_MM;
        let count = ((length - overlap) / (most - overlap)).ceil().max(1.0);
        ((length - overlap) / count + overlap).max(BAR_MM + 2.0 * CUT_STRIP_MM) + 2.0 * EDGE_MM
    };
    Size::new(side(drawing.width), side(drawing.height))
}

/// The sheets of the paper, lying or standing.
fn fewest(
    run: &Run,
    ink: &Space,
    at: usize,
    name: &str,
    paper: Paper,
    overlap: f64,
) -> ((usize, usize), Vec<Sheet>) {
    let [lying, standing] =
        [paper.size_mm(), paper.standing_mm()].map(|size| Cut { at, name, run, ink, size, overlap }.sheets());
    if standing.1.len() < lying.1.len() { standing } else { lying }
}

/// Where the drawing has lines or letters, with room for a page about it.
fn ink(run: &Run, page: Size) -> Space {
    let about = 2.0 * page.width.max(page.height);
    let mut ink = Space::new(run.extent.inflate(about, about), INK_MM);
    for item in &run.drawing.items {
        match item {
            Item::Path { path, .. } => ink.take(path),
            Item::Text { at, height, angle, anchor, text, .. } => {
                ink.take(&engraved(text, *at, *height, *angle, *anchor));
            }
        }
    }
    ink
}

/// A run to be cut into pages of a size.
struct Cut<'a> {
    at: usize,
    name: &'a str,
    run: &'a Run,
    ink: &'a Space,
    size: Size,
    overlap: f64,
}

impl Cut<'_> {
    /// The pages that have anything on them, row by row from the top, and how many columns and rows there are.
    fn sheets(&self) -> ((usize, usize), Vec<Sheet>) {
        let extent = self.run.extent.inflate(LINE_MM, LINE_MM);
        let window = Rect::from_origin_size(Point::ORIGIN, self.size).inset(-EDGE_MM);
        let step = Vec2::new(window.width() - self.overlap, window.height() - self.overlap);
        let count = |length: f64, step: f64| ((length - self.overlap) / step - 1e-9).ceil().max(1.0) as usize;
        let (columns, rows) = (count(extent.width(), step.x), count(extent.height(), step.y));
        // The room that is over lies about the drawing, or on one side of it where that leaves more sheets blank.
        let over = Vec2::new(
            columns as f64 * step.x + self.overlap - extent.width(),
            rows as f64 * step.y + self.overlap - extent.height(),
        );
        let shift = |(column, row): Place, left: f64, below: f64| {
            let up = (rows - 1 - row) as f64;
            let at = Vec2::new(left * over.x, below * over.y);
            window.origin() - extent.origin() + at - Vec2::new(column as f64 * step.x, up * step.y)
        };
        let inked = |left: f64, below: f64| -> Vec<Place> {
            let places = (0..rows).flat_map(|row| (0..columns).map(move |column| (column, row)));
            joined_up(places.filter(|&place| {
                let own = own(window, 0.5 * self.overlap, place, (columns, rows));
                !self.is_blank(own - shift(place, left, below))
            }))
        };
        let sides = OVER.into_iter().flat_map(|left| OVER.map(|below| (left, below)));
        let least =
            sides.map(|(left, below)| (inked(left, below), left, below)).min_by_key(|one| one.0.len());
        let (inked, left, below) = least.unwrap_or_default();
        let sheets = inked.iter().map(|&place| {
            let title = format!("{} - {} of {columns} x {rows}", self.name, sheet_name(place));
            self.sheet(place, window, shift(place, left, below), &title, &inked)
        });
        ((columns, rows), sheets.collect())
    }

    /// Whether nothing that is its own is there: what runs on from a neighbouring part is none of its own.
    fn is_blank(&self, on_drawing: Rect) -> bool {
        self.ink.is_free(on_drawing.intersect(self.run.extent.inflate(INK_MM, INK_MM)))
    }

    fn sheet(&self, place: Place, window: Rect, shift: Vec2, title: &str, inked: &[Place]) -> Sheet {
        let taken = |r: Rect| self.ink.taken_in(r - shift);
        let mut furniture = Furniture::new(window, &taken);
        // A sheet that is joined to none has all of itself.
        let inset = if inked.len() > 1 { 0.5 * self.overlap } else { 0.0 };
        let (column, row) = place;
        let near = [
            (column.wrapping_sub(1), row),
            (column + 1, row),
            (column, row + 1),
            (column, row.wrapping_sub(1)),
        ];
        let joined = near.map(|other| inked.contains(&other).then(|| sheet_name(other)));
        if inked.len() > 1 {
            furniture.crosses(inset);
        }
        furniture.name(inset, title);
        furniture.bars(inset);
        furniture.neighbours(joined);
        let shown = vec![Shown { run: self.at, window, scale: 1.0, shift, letters: true }];
        Sheet { page: Page { size: self.size, shown, furniture: furniture.drawing }, place }
    }
}

/// The places, and those between them that join what would else lie apart, row by row: nobody can lay a sheet that joins
/// no other.
fn joined_up(places: impl Iterator<Item = Place>) -> Vec<Place> {
    let apart = |a: &Place, b: &Place| a.0.abs_diff(b.0) + a.1.abs_diff(b.1);
    let mut rest: Vec<Place> = places.collect();
    if rest.is_empty() {
        // Nothing is drawn: a sheet all the same.
        return vec![(0, 0)];
    }
    let mut joined = vec![rest.remove(0)];
    // How far each of the rest is from what is joined, and from which of it.
    let mut near: Vec<(usize, Place)> =
        rest.iter().map(|place| (apart(place, &joined[0]), joined[0])).collect();
    while let Some(at) = (0..rest.len()).min_by_key(|&at| near[at].0) {
        let (to, (_, from)) = (rest.swap_remove(at), near.swap_remove(at));
        let mut new = Vec::new();
        let mut here = from;
        while here != to {
            let toward = |a: usize, b: usize| if b > a { a + 1 } else { a - 1 };
            here =
                if here.0 != to.0 { (toward(here.0, to.0), here.1) } else { (here.0, toward(here.1, to.1)) };
            new.push(here);
        }
        for place in new {
            for (far, other) in rest.iter().zip(&mut near) {
                let now = apart(far, &place);
                if now < other.0 {
                    *other = (now, place);
                }
            }
            joined.push(place);
        }
    }
    joined.sort_unstable_by_key(|&(column, row)| (row, column));
    joined.dedup();
    joined
}

/// What a sheet has for itself: up to the middle of what it shares. All that lies beyond is some other sheet's own.
fn own(window: Rect, inset: f64, (column, row): Place, (columns, rows): (usize, usize)) -> Rect {
    let shared = |is: bool| if is { inset } else { 0.0 };
    Rect::new(
        window.x0 + shared(column > 0),
        window.y0 + shared(row + 1 < rows),
        window.x1 - shared(column + 1 < columns),
        window.y1 - shared(row > 0),
    )
}

/// Puts the title box on the first sheet with room for it; where none has, what it says stands in a line on the first.
fn put_title(sheets: &mut [Sheet], run: &Run, ink: &Space) {
    let told = &run.drawing.title_box;
    if told.is_empty() {
        return;
    }
    for height in TITLES_MM {
        let boxed = title_box(&run.drawing, 0.0, 0.0, height);
        let Some(bounds) = boxed.bounds() else { return };
        for sheet in sheets.iter_mut() {
            let at = room_on(sheet, ink, |furniture| furniture.room_for(bounds.size()));
            if let Some(at) = at {
                sheet.page.furniture.append(&boxed, at - bounds.origin());
                return;
            }
        }
    }
    if let Some(first) = sheets.first_mut() {
        let line = room_on(first, ink, |mut furniture| {
            furniture.name(0.0, &told.join("   "));
            furniture.drawing
        });
        first.page.furniture.append(&line, Vec2::ZERO);
    }
}

/// What is found for something more on a sheet, clear of what is there.
fn room_on<T>(sheet: &Sheet, ink: &Space, find: impl FnOnce(Furniture<'_>) -> T) -> T {
    let shown = &sheet.page.shown[0];
    let taken = |r: Rect| ink.taken_in(r - shown.shift);
    find(Furniture::about(shown.window, &taken, &sheet.page.furniture))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Operation;
    use kurbo::Shape as _;

    fn cut(name: &str, corners: &[(f64, f64)]) -> Drawing {
        let mut drawing = Drawing::new(name, name);
        let layer = drawing.layer("Outline", Operation::CutOutside);
        drawing.polyline(layer, corners.iter().copied().map(Point::from), true);
        drawing
    }

    fn plank() -> Drawing {
        cut("plank-4", &[(0.0, 0.0), (900.0, 40.0), (900.0, 190.0), (0.0, 150.0)])
    }

    fn set(drawing: &Drawing, paper: Option<Paper>, overlap_mm: f64) -> Set {
        let pages = Pages { paper, overlap_mm };
        Set::new(Run::whole(drawing), 0, "Teal", pages).expect("sheets")
    }

    #[test]
    fn sheets_cover_the_drawing_and_share_their_overlap() {
        let overlap = 15.0;
        let set = set(&plank(), Some(Paper::A4), overlap);
        // Of 297 by 210 mm the printer reaches 281 by 194: 266 new millimetres a sheet, one row of four.
        assert_eq!((set.sheets.len(), set.columns, set.rows), (4, 4, 1));
        let on: Vec<Rect> = set.sheets.iter().map(Sheet::on_drawing).collect();
        for pair in on.windows(2) {
            assert!((pair[0].x1 - pair[1].x0 - overlap).abs() < 1e-9);
        }
        assert!(on[0].x0 <= 0.0 && on[3].x1 >= 900.0 && on[0].y0 <= 0.0 && on[0].y1 >= 190.0);
    }

    /// Centres of the crosses on a sheet, thousandths of a millimetre of the drawing.
    fn crosses(sheet: &Sheet) -> Vec<(i64, i64)> {
        let furniture = &sheet.page.furniture;
        let shift = sheet.page.shown[0].shift;
        let centres = furniture.items.iter().filter_map(|item| match item {
            Item::Path { path, layer } if furniture.layers[*layer].name == "words" => {
                Some(path.bounding_box().center() - shift)
            }
            _ => None,
        });
        centres.map(|c| ((1e3 * c.x).round() as i64, (1e3 * c.y).round() as i64)).collect()
    }

    #[test]
    fn register_crosses_of_neighbours_fall_on_one_place_of_the_drawing() {
        let set = set(&plank(), Some(Paper::A3), 20.0);
        let (first, second) = (crosses(&set.sheets[0]), crosses(&set.sheets[1]));
        let shared = first.iter().filter(|place| second.contains(place)).count();
        assert_eq!(shared, 4, "two crosses of two lines each");
    }

    fn words(sheet: &Sheet) -> Vec<&str> {
        let texts = sheet.page.furniture.items.iter().filter_map(|item| match item {
            Item::Text { text, .. } => Some(text.as_str()),
            Item::Path { .. } => None,
        });
        texts.collect()
    }

    #[test]
    fn sheets_are_named_by_boat_part_and_place_and_name_those_they_join() {
        let set = set(&plank(), Some(Paper::A4), 15.0);
        let second = words(&set.sheets[1]);
        assert!(second.contains(&"Teal - plank 4 - B1 of 4 x 1"), "{second:?}");
        assert!(second.contains(&"joins A1") && second.contains(&"joins C1"));
        assert_eq!(second.iter().filter(|word| word.starts_with("joins")).count(), 2);
        assert_eq!(words(&set.sheets[3]).iter().filter(|word| word.starts_with("joins")).count(), 1);
    }

    #[test]
    fn a_part_that_a_sheet_holds_has_no_cross_and_joins_none() {
        let set = set(&cut("cleat", &[(0.0, 0.0), (150.0, 0.0), (150.0, 80.0)]), Some(Paper::A4), 15.0);
        assert_eq!(set.sheets.len(), 1);
        assert!(crosses(&set.sheets[0]).is_empty());
        assert!(words(&set.sheets[0]).iter().all(|word| !word.starts_with("joins")));
    }

    #[test]
    fn sheets_with_nothing_on_them_are_left_out_and_every_line_is_on_one() {
        // A frame of a metre square: eight of its middle sheets are blank.
        let frame = cut("frame", &[(0.0, 0.0), (1000.0, 0.0), (1000.0, 1000.0), (0.0, 1000.0)]);
        let set = set(&frame, Some(Paper::A4), 15.0);
        let on: Vec<Rect> = set.sheets.iter().map(Sheet::on_drawing).collect();
        for i in 0..=1000 {
            let at = f64::from(i);
            for p in [(at, 0.0), (at, 1000.0), (0.0, at), (1000.0, at)].map(Point::from) {
                assert!(on.iter().any(|sheet| sheet.inflate(1e-9, 1e-9).contains(p)), "{p}");
            }
        }
        // Four columns by six rows, lying or standing, less the two by four within.
        assert_eq!(set.sheets.len(), 24 - 8);
        assert!(on.iter().all(|sheet| !sheet.contains(Point::new(500.0, 500.0))));
    }

    #[test]
    fn every_sheet_joins_another() {
        assert_eq!(joined_up([(0, 0), (1, 1)].into_iter()), [(0, 0), (1, 0), (1, 1)]);
        assert_eq!(joined_up([(3, 0), (0, 2)].into_iter()).len(), 6);
        assert_eq!(joined_up(std::iter::empty()), [(0, 0)]);
        // Two discs of one drawing far apart.
        let mut two = Drawing::new("two", "Two");
        let cut = two.layer("Outline", Operation::CutOutside);
        two.circle(cut, Point::new(0.0, 0.0), 50.0);
        two.circle(cut, Point::new(1500.0, 1200.0), 50.0);
        for paper in Paper::ALL {
            let set = set(&two, Some(paper), 15.0);
            for sheet in &set.sheets {
                assert!(words(sheet).iter().any(|word| word.starts_with("joins")), "{:?}", sheet.place);
            }
            // A way between two corners, no more.
            assert!(set.sheets.len() < set.columns + set.rows, "{}", set.sheets.len());
        }
    }

    #[test]
    fn a_tall_pattern_is_laid_on_standing_paper() {
        let stem = cut("stem", &[(0.0, 0.0), (180.0, 0.0), (180.0, 800.0), (0.0, 800.0)]);
        let set = set(&stem, Some(Paper::A4), 15.0);
        assert_eq!((set.sheets.len(), set.sheets[0].page.size), (3, Size::new(210.0, 297.0)));
    }

    /// A limb that turns away to one side takes as many sheets as its mirror image.
    #[test]
    fn port_takes_as_many_sheets_as_starboard() {
        let limb =
            [(0.0, 0.0), (600.0, 350.0), (700.0, 1050.0), (600.0, 1050.0), (500.0, 400.0), (0.0, 100.0)];
        let mirrored = limb.map(|(x, y)| (-x, y));
        for paper in Paper::ALL {
            let [port, starboard] =
                [limb, mirrored].map(|corners| set(&cut("limb", &corners), Some(paper), 15.0));
            assert_eq!(port.sheets.len(), starboard.sheets.len(), "{paper:?}");
        }
    }

    #[test]
    fn the_bars_stand_where_the_drawing_leaves_room() {
        for (line, free) in [(30.0, "above"), (160.0, "below")] {
            let mut one = Drawing::new("one", "One");
            let cut = one.layer("Outline", Operation::CutOutside);
            one.line(cut, Point::new(0.0, 0.0), Point::new(0.0, 0.1));
            one.line(cut, Point::new(0.0, 190.0), Point::new(0.0, 189.9));
            one.line(cut, Point::new(0.0, line), Point::new(278.0, line));
            let set = set(&one, Some(Paper::A4), 15.0);
            let furniture = &set.sheets[0].page.furniture;
            let check = |item: &&Item| furniture.layers[item.layer()].name == "check";
            let bars = furniture.items.iter().filter(check).filter_map(|item| match item {
                Item::Path { path, .. } => Some(path.bounding_box()),
                Item::Text { .. } => None,
            });
            let bars = bars.reduce(|a, b| a.union(b)).expect("bars");
            let at = line + set.sheets[0].page.shown[0].shift.y;
            assert!(if free == "above" { bars.y0 > at } else { bars.y1 < at }, "{bars} {at}");
            assert!((bars.width() - BAR_MM).abs() < 1e-9 && (bars.height() - BAR_MM).abs() < 1e-9);
        }
    }

    #[test]
    fn the_title_box_stands_where_there_is_room_and_takes_no_sheet_of_its_own() {
        let mut small = cut("knee", &[(0.0, 0.0), (270.0, 0.0), (270.0, 180.0), (0.0, 180.0)]);
        small.title_box = vec!["BOAT  Teal".to_owned(), "PART  knee".to_owned()];
        let layer = small.layer("Marks", Operation::Mark);
        let of = |drawing: &Drawing| {
            let set = set(drawing, Some(Paper::A4), 15.0);
            assert_eq!(set.sheets.len(), 1);
            words(&set.sheets[0]).into_iter().map(str::to_owned).collect::<Vec<_>>()
        };
        let said = of(&small);
        assert!(said.contains(&small.title_box[0]) && said.contains(&small.title_box[1]), "{said:?}");
        for i in 0..27 {
            small.line(layer, Point::new(10.0 * f64::from(i), 0.0), Point::new(10.0 * f64::from(i), 180.0));
        }
        let crowded = of(&small);
        assert!(crowded.contains(&"BOAT  Teal   PART  knee".to_owned()), "{crowded:?}");
    }

    #[test]
    fn one_long_sheet_is_as_long_as_the_plank() {
        let set = set(&plank(), None, 15.0);
        // 900 by 190 mm, a strip of 20 mm with the bars on two sides and an edge of 8 mm on the others.
        assert_eq!((set.sheets.len(), set.sheets[0].page.size), (1, Size::new(928.0, 218.0)));
    }

    #[test]
    fn what_is_longer_than_a_page_may_be_is_cut_into_pages_that_are_joined() {
        for length in [5070.0, 9000.0, 15_000.0] {
            let keel = cut("keel", &[(0.0, 0.0), (length, 40.0), (length, 190.0), (0.0, 150.0)]);
            let set = set(&keel, None, 15.0);
            assert!(set.sheets.len() > 1 && set.sheets.len() <= 4, "{length}");
            let on: Vec<Rect> = set.sheets.iter().map(Sheet::on_drawing).collect();
            for sheet in &set.sheets {
                let size = sheet.page.size;
                assert!(size.width < 5080.0 + 1e-6 && size.height < 400.0, "{size}");
                assert!(crosses(sheet).len() == 8);
            }
            for pair in on.windows(2) {
                assert!((pair[0].x1 - pair[1].x0 - 15.0).abs() < 1e-9);
            }
            assert!(on[0].x0 <= 0.0 && on[on.len() - 1].x1 >= length);
        }
    }

    #[test]
    fn an_overlap_that_leaves_no_paper_is_refused() {
        for paper in [None, Some(Paper::A4), Some(Paper::Tabloid)] {
            for overlap_mm in [-1.0, 5000.0, f64::NAN, f64::INFINITY] {
                let refused = check_overlap(Pages { paper, overlap_mm });
                assert!(matches!(refused, Err(WriteError::Overlap { .. })), "{paper:?} {overlap_mm}");
            }
        }
        // Of 210 mm of A4 the printer reaches 194, of which 100 stay.
        let at = |overlap_mm| check_overlap(Pages { paper: Some(Paper::A4), overlap_mm });
        assert!(at(94.0).is_ok() && at(0.0).is_ok());
        let said = at(94.5).expect_err("too much").to_string();
        assert_eq!(said, "sheets must overlap by 0 mm or more, and by 94.0 mm or less on A4, not by 94.5 mm");
    }
}
