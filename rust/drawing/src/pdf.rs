//! Full-size patterns on paper as PDF 1.7 (ISO 32000-1): each part on sheets of its own, to be joined, after an index
//! that shows how; or a page for each drawing, as large as it needs.
//!
//! Viewers are asked not to scale; a bar of 100 mm each way on every page shows whether the printer did. A unit is the
//! format's own everywhere: readers that know of no other would print a pattern too small without a word.

mod content;
mod file;
mod index;
mod letters;
mod paper;
mod runs;
mod sheet;
mod tiles;

use std::io::Write;

pub use paper::{Pages, Paper};

use crate::error::{WriteError, refuse_broken};
use crate::model::Drawing;
use runs::Run;
use tiles::{Set, check_overlap};

/// Edge that printers leave white, mm; the common desktop printer leaves 4 to 6.
const EDGE_MM: f64 = 8.0;
/// What sheets share where nobody says, mm.
const OVERLAP_MM: f64 = 15.0;
/// Length of the check bars, mm.
const BAR_MM: f64 = 100.0;
/// Letter height of sheets' names and of the words at the bars, mm.
const WORDS_MM: f64 = 3.5;
/// Sheets of a file: more than anybody joins, and few enough that the squares ink is found by fit in memory.
const MOST_SHEETS: f64 = 2000.0;
/// Units of the format in a millimetre, and the longest side of a page, mm: 14 400 units (ISO 32000-1, annex C).
const UNITS_PER_MM: f64 = 72.0 / 25.4;
const LARGEST_MM: f64 = 14_400.0 / UNITS_PER_MM;

/// Writes drawings at full size, in order. Refused before anything is written as [`crate::write_dxf`] does, and where
/// the overlap leaves nothing of a sheet, there are more sheets than anybody joins, or no drawing.
pub fn write_pdf(drawings: &[Drawing], to: &mut impl Write, pages: Pages) -> Result<(), WriteError> {
    let sets = sets(drawings, pages)?;
    to.write_all(&file::file(&sets, &index::index(&sets, pages)))?;
    Ok(())
}

/// What is set on sheets of its own, on them.
fn sets(drawings: &[Drawing], pages: Pages) -> Result<Vec<Set>, WriteError> {
    drawings.iter().try_for_each(refuse_broken)?;
    check_overlap(pages)?;
    if drawings.is_empty() {
        return Err(WriteError::Nothing);
    }
    let mut sets: Vec<Set> = Vec::new();
    for drawing in drawings {
        let runs = if pages.paper.is_some() { runs::by_part(drawing) } else { vec![Run::whole(drawing)] };
        for mut run in runs {
            // Parts of one name are told apart by a number.
            let name = run.part.clone();
            let mut like = 1;
            while sets.iter().any(|set| set.boat == drawing.boat && set.run.part == run.part) {
                like += 1;
                run.part = format!("{name} ({like})");
            }
            sets.push(Set::new(run, sets.len(), &drawing.boat, pages)?);
        }
        let sheets: usize = sets.iter().map(|set| set.sheets.len()).sum();
        if sheets as f64 > MOST_SHEETS {
            return Err(WriteError::TooManyTiles(sheets as f64));
        }
    }
    Ok(sets)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Anchor, Operation};
    use kurbo::Point;

    fn square(name: &str, side: f64) -> Drawing {
        let mut drawing = Drawing::new(name, name);
        let cut = drawing.layer("Outline", Operation::CutOutside);
        let corners = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)];
        drawing.polyline(cut, corners.map(Point::from), true);
        drawing.boat = "Teal".to_owned();
        drawing.table_sha256 = "ab".repeat(32);
        drawing
    }

    fn on(paper: Option<Paper>) -> Pages {
        Pages { paper, ..Pages::default() }
    }

    fn written(drawings: &[Drawing], pages: Pages) -> String {
        let mut bytes = Vec::new();
        write_pdf(drawings, &mut bytes, pages).expect("sound drawings are written");
        String::from_utf8_lossy(&bytes).into_owned()
    }

    #[test]
    fn every_place_in_the_table_is_where_its_object_starts() {
        let mut bytes = Vec::new();
        write_pdf(&[square("a", 500.0)], &mut bytes, on(Some(Paper::A4))).expect("written");
        let text: String = bytes.iter().copied().map(char::from).collect();
        let table = text.rfind("xref\n0 ").expect("a table");
        let places = text[table..].lines().filter(|line| line.trim_end().ends_with(" 00000 n"));
        let mut many = 0;
        for (i, place) in places.enumerate() {
            let place: usize = place[..10].parse().expect("ten digits");
            assert!(bytes[place..].starts_with(format!("{} 0 obj\n", i + 1).as_bytes()));
            many += 1;
        }
        assert!(many > 20 && text.contains("/PrintScaling /None"));
    }

    #[test]
    fn no_page_has_a_unit_of_its_own_or_is_longer_than_a_page_may_be() {
        for pages in [on(None), on(Some(Paper::A4))] {
            let text = written(&[square("a", 6000.0)], pages);
            assert!(!text.contains("/UserUnit"));
            for media in text.split("/MediaBox [").skip(1) {
                let corners = media.split(']').next().expect("a box").split(' ');
                assert!(
                    corners.map(|one| one.parse::<f64>().expect("a number")).all(|side| side <= 14_400.0)
                );
            }
        }
    }

    #[test]
    fn a_drawing_that_fits_a_page_is_one_and_has_no_index() {
        assert_eq!(written(&[square("a", 500.0)], on(None)).matches("/Type /Page\n").count(), 1);
        let two = [square("a", 500.0), square("b", 300.0)];
        assert_eq!(written(&two, on(None)).matches("/Type /Page\n").count(), 2);
    }

    #[test]
    fn halves_are_set_on_sheets_of_their_own_and_all_that_is_theirs_with_them() {
        let mut mould = Drawing::new("mould-3", "Mould 3");
        let cut = mould.layer("Outlines", Operation::CutOutside);
        let letters = mould.layer("Letters", Operation::Engrave);
        let marks = mould.layer("Marks", Operation::Mark);
        for (side, left) in [("PORT", 0.0), ("STARBOARD", 440.0)] {
            let corners = [(left, 0.0), (left + 400.0, 0.0), (left + 400.0, 700.0), (left, 700.0)];
            let mut outline = kurbo::BezPath::new();
            outline.move_to(corners[0]);
            corners[1..].iter().for_each(|corner| outline.line_to(*corner));
            outline.close_path();
            let name = format!("mould 3 {}", side.to_lowercase());
            mould.part(cut, outline, crate::Part { name, count: 1, ..crate::Part::default() });
            mould.text(letters, Point::new(left + 200.0, 300.0), 10.0, 0.0, Anchor::Middle, side);
            mould.line(marks, Point::new(left + 10.0, 50.0), Point::new(left + 390.0, 50.0));
        }
        // The base line runs on through both.
        mould.line(marks, Point::new(-20.0, 20.0), Point::new(860.0, 20.0));
        let sets = sets(std::slice::from_ref(&mould), on(Some(Paper::A4))).expect("sheets");
        assert_eq!(
            sets.iter().map(|set| set.run.part.as_str()).collect::<Vec<_>>(),
            ["mould 3 port", "mould 3 starboard"]
        );
        for set in &sets {
            assert_eq!(set.run.drawing.items.len(), 4, "outline, letters, mark and the line through both");
            assert!((set.run.extent.width() - 400.0).abs() < 1e-9, "{}", set.run.extent);
        }
        // In one sea there would be a sheet more than in both together.
        let sea = sets.iter().map(|set| set.sheets.len()).sum::<usize>();
        assert!(sea <= 2 * 12, "{sea}");
        assert_eq!(
            super::sets(&[mould], on(None)).expect("a page").len(),
            1,
            "as it is drawn on one large page"
        );
    }

    #[test]
    fn parts_that_lie_over_one_another_stay_together_and_those_of_one_name_are_numbered() {
        let mut over = square("stacked", 300.0);
        let cut = over.layer("Outline", Operation::CutOutside);
        over.circle(cut, Point::new(150.0, 150.0), 60.0);
        let mut twice = square("cleat", 80.0);
        let cut = twice.layer("Outline", Operation::CutOutside);
        twice.circle(cut, Point::new(300.0, 40.0), 40.0);
        let sets = sets(&[over, twice.clone(), twice], on(Some(Paper::A4))).expect("sheets");
        let names: Vec<&str> = sets.iter().map(|set| set.run.part.as_str()).collect();
        assert_eq!(names, ["stacked", "cleat", "cleat (2)", "cleat (3)", "cleat (4)"]);
    }

    #[test]
    fn the_index_says_what_is_on_which_pages() {
        let many: Vec<Drawing> = (1..=30).map(|i| square(&format!("mould-{i}"), 400.0)).collect();
        let sets = sets(&many, on(Some(Paper::A4))).expect("sheets");
        let index = index::index(&sets, on(Some(Paper::A4)));
        let words: Vec<&str> = (index.iter())
            .flat_map(|page| &page.furniture.items)
            .filter_map(|item| match item {
                crate::Item::Text { text, .. } => Some(text.as_str()),
                crate::Item::Path { .. } => None,
            })
            .collect();
        let mut first = index.len() + 1;
        for set in &sets {
            let pages = format!("{first} to {}", first + set.sheets.len() - 1);
            assert!(words.contains(&pages.as_str()), "{pages}");
            first += set.sheets.len();
        }
        let maps: usize = index.iter().map(|page| page.shown.len()).sum();
        assert_eq!(maps, 30);
        for page in &index {
            let room = kurbo::Rect::from_origin_size(Point::ORIGIN, page.size).inset(-EDGE_MM + 0.01);
            for shown in &page.shown {
                assert!(room.contains_rect(shown.window), "{}", shown.window);
            }
        }
    }

    #[test]
    fn what_cannot_be_written_is_refused_and_nothing_is() {
        let mut bytes = Vec::new();
        let far = Pages { paper: Some(Paper::A4), overlap_mm: 190.0 };
        assert!(matches!(write_pdf(&[square("a", 500.0)], &mut bytes, far), Err(WriteError::Overlap { .. })));
        let vast = write_pdf(&[square("a", 20_000.0)], &mut bytes, on(Some(Paper::A4)));
        assert!(matches!(vast, Err(WriteError::TooManyTiles(_))));
        let many: Vec<Drawing> = (0..700).map(|_| square("a", 400.0)).collect();
        assert!(matches!(
            write_pdf(&many, &mut bytes, on(Some(Paper::A4))),
            Err(WriteError::TooManyTiles(_))
        ));
        assert!(matches!(write_pdf(&[], &mut bytes, on(None)), Err(WriteError::Nothing)));
        assert!(bytes.is_empty());
    }

    #[test]
    fn a_drawing_with_nothing_on_it_is_a_page() {
        for pages in [on(None), on(Some(Paper::A4))] {
            let text = written(&[Drawing::new("empty", "Empty")], pages);
            assert!(text.contains("/Type /Page\n"));
        }
    }
}
