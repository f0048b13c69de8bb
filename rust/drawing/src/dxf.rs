//! Drawings as DXF, R2000 (AC1015) or R12 (AC1009), in millimetres.
//!
//! Written as the published DXF reference sets out: every table, owner, block record and handle a strict
//! reader asks for. Outlines go out as one polyline of lines and arcs each, outsides anticlockwise and holes clockwise,
//! circles as circles, letters as single strokes; bytes depend on the drawing alone, and are streamed, one outline in
//! memory at a time. Where something is cut, a layer's name says what is done along its lines, on which side of them
//! and how deep, and a note below the drawing that the lines are net.

mod colours;
mod entities;
mod handle;
mod names;
mod objects;
mod tables;
mod writer;

use std::io::Write;

use writer::Writer;

use crate::arcs::CHORD_TOLERANCE_MM;
use crate::error::{WriteError, refuse_broken};
use crate::model::{Anchor, Drawing, Item, Operation, Part};
use crate::short::LEAST_SEGMENT_MM;
use crate::title::{TITLE_MM, title_box};
use kurbo::Point;

/// How deep marks and letters are cut where nothing is said, mm: seen under paint, and short of the second ply of
/// plywood (common practice).
pub const MARK_DEPTH_MM: f64 = 0.5;

/// Which DXF.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum DxfVersion {
    /// AC1015, read by nearly everything since 1999.
    #[default]
    R2000,
    /// AC1009, for old controllers: no line weights, short upper-case layer names.
    R12,
}

/// How letters are written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Letters {
    /// As the strokes that are engraved: no font is asked for.
    #[default]
    Strokes,
    /// As text, in whatever font the reader has.
    Text,
}

/// What outlines are made of.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Outlines {
    /// Lines and arcs.
    #[default]
    Arcs,
    /// Lines alone.
    Polylines,
    /// Cubic splines, each curve as it was drawn. Not in R12.
    Splines,
}

/// How a DXF is written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DxfOptions {
    /// Which DXF.
    pub version: DxfVersion,
    /// Greatest distance of arcs and chords from the curves, mm.
    pub tolerance_mm: f64,
    /// How letters are written.
    pub letters: Letters,
    /// What outlines are made of.
    pub outlines: Outlines,
    /// Segments shorter than this are joined to their neighbours, mm; 0 leaves every one.
    pub least_segment_mm: f64,
    /// How deep marks and letters are to be cut, mm: layers are named by it.
    pub mark_depth_mm: f64,
}

impl Default for DxfOptions {
    fn default() -> Self {
        Self {
            version: DxfVersion::default(),
            tolerance_mm: CHORD_TOLERANCE_MM,
            letters: Letters::default(),
            outlines: Outlines::default(),
            least_segment_mm: LEAST_SEGMENT_MM,
            mark_depth_mm: MARK_DEPTH_MM,
        }
    }
}

/// Coarser outlines are of another part, mm.
const COARSEST_MM: f64 = 1.0;
/// And segments that are joined are no longer than this, mm.
const LONGEST_SEGMENT_MM: f64 = 5.0;

/// Writes a drawing. It is looked over first: with a number that is not finite or a layer that is
/// not there, nothing is written. [`crate::check`] finds what a shop would stumble over.
pub fn write_dxf(drawing: &Drawing, to: &mut impl Write, options: &DxfOptions) -> Result<(), WriteError> {
    refuse_broken(drawing)?;
    if !(options.tolerance_mm > 0.0 && options.tolerance_mm <= COARSEST_MM) {
        return Err(WriteError::Tolerance(options.tolerance_mm));
    }
    for (what, length) in
        [("least segment", options.least_segment_mm), ("depth of marks", options.mark_depth_mm)]
    {
        if !(length >= 0.0 && length.is_finite()) {
            return Err(WriteError::Length { what, length });
        }
    }
    if options.least_segment_mm > LONGEST_SEGMENT_MM {
        return Err(WriteError::Segment(options.least_segment_mm));
    }
    let depth = options.mark_depth_mm;
    let through = |part: &&Part| part.thickness_mm.is_some_and(|thickness| depth > 0.0 && depth >= thickness);
    if let Some(part) = drawing.all_parts().iter().find(through) {
        let thickness = part.thickness_mm.unwrap_or_default();
        return Err(WriteError::Through { part: part.name.clone(), depth, thickness });
    }
    if (options.version, options.outlines) == (DxfVersion::R12, Outlines::Splines) {
        return Err(WriteError::NoSplines);
    }
    let notes = notes(drawing, options);
    let sheet = [drawing, &notes];
    let mut writer = Writer::new(to, sheet, options);
    writer.header(sheet)?;
    writer.tables()?;
    writer.blocks()?;
    writer.entities(sheet)?;
    writer.objects()?;
    writer.tag(0, "EOF");
    writer.flush()?;
    Ok(())
}

/// Height of the letters of the notes, mm: read on a screen that shows a part whole.
const NOTE_MM: f64 = 5.0;

/// What an operator has to know of every part, below the drawing; nothing where nothing is cut.
fn notes(drawing: &Drawing, options: &DxfOptions) -> Drawing {
    let mut notes = Drawing::default();
    let Some(bounds) = drawing.bounds() else { return notes };
    if !is_cut(drawing) {
        return title_box(drawing, bounds.x0, bounds.y0 - NOTE_MM, TITLE_MM);
    }
    let has = |wanted: &[Operation]| {
        let operation = |item: &Item| drawing.layers.get(item.layer()).map(|layer| layer.operation);
        drawing.items.iter().filter_map(operation).any(|there| wanted.contains(&there))
    };
    let mut lines = vec!["LINES ARE NET: CUTTER OFFSET NOT INCLUDED".to_owned()];
    lines.push("FULL SIZE, IN MILLIMETRES".to_owned());
    lines.push(match has(&[Operation::CutInside]) {
        true => "CUT THROUGH OUTSIDE THE OUTLINES, INSIDE THE HOLES".to_owned(),
        false => "CUT THROUGH OUTSIDE THE OUTLINES".to_owned(),
    });
    if has(&[Operation::Mark, Operation::Engrave]) {
        lines.push(format!("MARKS AND LETTERS {} MM DEEP, ON THEIR LINES", options.mark_depth_mm));
    }
    let layer = notes.layer("Notes", Operation::Annotate);
    for (i, line) in lines.into_iter().enumerate() {
        let at = Point::new(bounds.x0, bounds.y0 - (4.0 + 2.0 * i as f64) * NOTE_MM);
        notes.text(layer, at, NOTE_MM, 0.0, Anchor::Start, line);
    }
    let low = notes.bounds().map_or(bounds.y0, |there| there.y0);
    notes.append(&title_box(drawing, bounds.x0, low - NOTE_MM, TITLE_MM), kurbo::Vec2::ZERO);
    notes
}

/// Whether anything is cut out by a drawing.
fn is_cut(drawing: &Drawing) -> bool {
    drawing.layers.iter().any(|layer| layer.operation.is_cut())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::arcs;
    use dxf::entities::EntityType;
    use kurbo::Shape as _;
    use std::f64::consts::FRAC_PI_2;

    fn half_mould() -> Drawing {
        let mut drawing = Drawing::new("mould-3", "Mould 3");
        let cut = drawing.layer("Outline", Operation::CutOutside);
        let mut path = kurbo::BezPath::new();
        path.move_to((30.0, 10.0));
        path.curve_to((260.0, 60.0), (440.0, 130.0), (560.0, 280.0));
        path.curve_to((660.0, 405.0), (690.0, 540.0), (700.0, 700.0));
        path.line_to((0.0, 700.0));
        path.line_to((0.0, 10.0));
        path.close_path();
        drawing.path(cut, path);
        let hole = drawing.layer("Holes", Operation::CutInside);
        drawing.circle(hole, Point::new(300.0, 400.0), 6.0);
        let grid = Operation::Mark.stroke().dashed(&[6.0, 3.0]);
        let grid = drawing.layer_drawn("Waterlines: 3″ apart", Operation::Mark, grid);
        drawing.line(grid, Point::new(0.0, 300.0), Point::new(580.0, 300.0));
        let words = drawing.layer("Words", Operation::Annotate);
        drawing.text(words, Point::new(20.0, 600.0), 8.0, FRAC_PI_2, Anchor::Middle, "Mould 3, 1⅜″ in ^");
        drawing
    }

    fn written(drawing: &Drawing, version: DxfVersion) -> String {
        let mut bytes = Vec::new();
        let options = DxfOptions { version, ..DxfOptions::default() };
        write_dxf(drawing, &mut bytes, &options).expect("a sound drawing is written");
        String::from_utf8(bytes).expect("ASCII is UTF-8")
    }

    fn read(text: &str) -> dxf::Drawing {
        dxf::Drawing::load(&mut text.as_bytes()).expect("a second reader reads it")
    }

    #[test]
    fn a_second_reader_finds_the_same_vertices() {
        let drawing = half_mould();
        let Item::Path { path, .. } = &drawing.items[0] else { unreachable!("the outline is first") };
        let outline = &arcs::fit(path, CHORD_TOLERANCE_MM)[0];
        let back = read(&written(&drawing, DxfVersion::R2000));
        let entities: Vec<_> = back.entities().collect();
        // Outline, hole, grid; the title's and the notes' letters are strokes.
        assert!(entities.len() > 4 && !entities.iter().any(|e| matches!(e.specific, EntityType::Text(_))));
        let EntityType::LwPolyline(polyline) = &entities[0].specific else {
            unreachable!("an outline is a polyline")
        };
        assert!(polyline.is_closed());
        assert_eq!(polyline.vertices.len(), outline.vertices.len());
        for (read, fitted) in polyline.vertices.iter().zip(&outline.vertices) {
            assert!((read.x - fitted.at.x).abs() < 1e-6 && (read.y - fitted.at.y).abs() < 1e-6);
            assert!((read.bulge - fitted.bulge).abs() < 1e-9);
        }
        let EntityType::Circle(circle) = &entities[1].specific else { unreachable!("a hole is a circle") };
        assert!((circle.radius - 6.0).abs() < 1e-3);
        assert_eq!(back.header.default_drawing_units, dxf::enums::Units::Millimeters);
    }

    #[test]
    fn layers_carry_names_colours_and_broken_lines() {
        let back = read(&written(&half_mould(), DxfVersion::R2000));
        let layers: Vec<_> = back.layers().map(|layer| layer.name.clone()).collect();
        let cut = ["CUT OUTSIDE THROUGH - Outline", "CUT INSIDE THROUGH - Holes"];
        let rest =
            ["MARK ON LINE 0.5 MM DEEP - Waterlines- 3- apart", "LOOK ONLY - Words", "LOOK ONLY - Notes"];
        assert_eq!(layers, [&["0"], &cut[..], &rest[..]].concat());
        let grid = back.layers().nth(3).expect("the waterlines");
        let line_type = back.line_types().find(|kind| kind.name == grid.line_type_name);
        let lengths = line_type.map(|kind| kind.dash_dot_space_lengths.clone());
        assert_eq!(lengths, Some(vec![6.0, -3.0]));
    }

    #[test]
    fn r12_knows_nothing_newer_than_a_polyline_of_vertices() {
        let text = written(&half_mould(), DxfVersion::R12);
        assert!(!text.contains("LWPOLYLINE") && !text.contains("AcDb") && text.contains("AC1009"));
        assert!(text.contains("\nMARK-0-5MM_WATERLINES--3--APART\n"));
        let polylines = text.matches("\nPOLYLINE\n").count();
        assert!(polylines > 1 && polylines == text.matches("\nSEQEND\n").count());
    }

    #[test]
    fn a_second_reader_finds_the_same_vertices_in_r12() {
        let drawing = half_mould();
        let Item::Path { path, .. } = &drawing.items[0] else { unreachable!("the outline is first") };
        let outline = &arcs::fit(path, CHORD_TOLERANCE_MM)[0];
        let back = read(&written(&drawing, DxfVersion::R12));
        let first = back.entities().next().map(|entity| &entity.specific);
        let Some(EntityType::Polyline(polyline)) = first else { unreachable!("an outline is a polyline") };
        assert!(polyline.is_closed());
        let read: Vec<_> = polyline.vertices().collect();
        assert_eq!(read.len(), outline.vertices.len());
        for (read, fitted) in read.iter().zip(&outline.vertices) {
            assert!((read.location.x - fitted.at.x).abs() < 1e-6);
            assert!((read.location.y - fitted.at.y).abs() < 1e-6 && (read.bulge - fitted.bulge).abs() < 1e-9);
        }
    }

    #[test]
    fn text_is_ascii_with_a_caret_standing_for_itself() {
        let as_text = |drawing: &Drawing| {
            let mut bytes = Vec::new();
            let options = DxfOptions { letters: Letters::Text, ..DxfOptions::default() };
            write_dxf(drawing, &mut bytes, &options).expect("a sound drawing is written");
            String::from_utf8(bytes).expect("ASCII is UTF-8")
        };
        let text = as_text(&half_mould());
        assert!(text.is_ascii());
        assert!(text.contains("\nMould 3, 1 3/8\" in ^ \n"));
        // Nothing that a text says can end its own line and become a group of its own.
        let mut sly = Drawing::new("a", "A");
        let layer = sly.layer("A\n0\nEOF", Operation::Mark);
        sly.text(layer, Point::ORIGIN, 5.0, 0.0, Anchor::Start, "a\r\n0\nEOF");
        assert_eq!(as_text(&sly).matches("\nEOF\n").count(), 1);
    }

    #[test]
    fn the_same_drawing_gives_the_same_bytes() {
        for version in [DxfVersion::R2000, DxfVersion::R12] {
            assert_eq!(written(&half_mould(), version), written(&half_mould(), version));
        }
    }

    #[test]
    fn a_number_that_is_none_is_an_error_and_nothing_is_written() {
        let mut drawing = half_mould();
        drawing.text(0, Point::new(f64::INFINITY, 0.0), 5.0, 0.0, Anchor::Start, "x");
        drawing.line(9, Point::ORIGIN, Point::new(1.0, 1.0));
        let mut bytes = Vec::new();
        let error = write_dxf(&drawing, &mut bytes, &DxfOptions::default()).expect_err("it is refused");
        assert_eq!(
            error.to_string(),
            "drawing \"mould-3\" cannot be written: a coordinate or size is not a finite number \
             (layer \"Outline\", the text \"x\"), and 1 more"
        );
        assert!(bytes.is_empty());
        let options = DxfOptions { tolerance_mm: 0.0, ..DxfOptions::default() };
        let error = write_dxf(&half_mould(), &mut bytes, &options).expect_err("it is refused");
        assert_eq!(error.to_string(), "chord error must be more than 0 mm and at most 1 mm, not 0");
        let coarse = [
            (DxfOptions { tolerance_mm: 20.0, ..DxfOptions::default() }, "chord error must be"),
            (DxfOptions { least_segment_mm: 50.0, ..DxfOptions::default() }, "least segment must be"),
        ];
        for (options, said) in coarse {
            let error = write_dxf(&half_mould(), &mut bytes, &options).expect_err("it is refused");
            assert!(error.to_string().starts_with(said), "{error}");
        }
        assert!(bytes.is_empty());
    }

    #[test]
    fn marks_as_deep_as_the_stock_are_refused() {
        let mut drawing = half_mould();
        let outline = drawing.layer("Outlines", Operation::CutOutside);
        let square = kurbo::Rect::new(0.0, 0.0, 50.0, 50.0).to_path(1e-3);
        let part = Part { name: "mould 3".to_owned(), thickness_mm: Some(15.0), ..Part::default() };
        drawing.part(outline, square, part);
        let mut bytes = Vec::new();
        let deep = |mark_depth_mm| DxfOptions { mark_depth_mm, ..DxfOptions::default() };
        let error = write_dxf(&drawing, &mut bytes, &deep(15.0)).expect_err("it is refused");
        assert_eq!(error.to_string(), "marks 15 mm deep would cut through mould 3, which is 15 mm thick");
        assert!(bytes.is_empty());
        write_dxf(&drawing, &mut bytes, &deep(3.0)).expect("it is written");
    }

    #[test]
    fn an_empty_drawing_is_a_whole_file() {
        let back = read(&written(&Drawing::new("empty", "Empty"), DxfVersion::R2000));
        assert_eq!(back.entities().count(), 0);
    }
}
