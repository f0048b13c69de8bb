//! Drawings as DXF, R2000 (AC1015) or R12 (AC1009), in millimetres.
//!
//! Written as the published DXF reference sets out: every table, owner, block record and handle a strict
//! reader asks for. Outlines go out as one polyline of lines and arcs each, circles as circles; bytes
//! depend on the drawing alone, and are streamed, one outline in memory at a time.

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
use crate::model::Drawing;

/// Which DXF.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum DxfVersion {
    /// AC1015, read by nearly everything since 1999.
    #[default]
    R2000,
    /// AC1009, for old controllers: no line weights, short upper-case layer names.
    R12,
}

/// How a DXF is written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DxfOptions {
    /// Which DXF.
    pub version: DxfVersion,
    /// Greatest distance of the arcs from the curves, mm.
    pub tolerance_mm: f64,
}

impl Default for DxfOptions {
    fn default() -> Self {
        Self { version: DxfVersion::default(), tolerance_mm: CHORD_TOLERANCE_MM }
    }
}

/// Writes a drawing. It is looked over first: with a number that is not finite or a layer that is
/// not there, nothing is written. [`crate::check`] finds what a shop would stumble over.
pub fn write_dxf(drawing: &Drawing, to: &mut impl Write, options: &DxfOptions) -> Result<(), WriteError> {
    refuse_broken(drawing)?;
    if !(options.tolerance_mm > 0.0 && options.tolerance_mm.is_finite()) {
        return Err(WriteError::Tolerance(options.tolerance_mm));
    }
    let mut writer = Writer::new(to, drawing, options);
    writer.header(drawing)?;
    writer.tables()?;
    writer.blocks()?;
    writer.entities(drawing)?;
    writer.objects()?;
    writer.tag(0, "EOF");
    writer.flush()?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::arcs;
    use crate::model::{Anchor, Item, Operation};
    use dxf::entities::EntityType;
    use kurbo::Point;
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
        assert_eq!(entities.len(), 4);
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
        assert_eq!(layers, ["0", "Outline", "Holes", "Waterlines- 3- apart", "Words"]);
        let grid = back.layers().nth(3).expect("the waterlines");
        let line_type = back.line_types().find(|kind| kind.name == grid.line_type_name);
        let lengths = line_type.map(|kind| kind.dash_dot_space_lengths.clone());
        assert_eq!(lengths, Some(vec![6.0, -3.0]));
    }

    #[test]
    fn r12_knows_nothing_newer_than_a_polyline_of_vertices() {
        let text = written(&half_mould(), DxfVersion::R12);
        assert!(!text.contains("LWPOLYLINE") && !text.contains("AcDb") && text.contains("AC1009"));
        assert!(text.contains("\nWATERLINES--3--APART\n"));
        let polylines = text.matches("\nPOLYLINE\n").count();
        assert_eq!((polylines, text.matches("\nSEQEND\n").count()), (1, 1));
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
        let text = written(&half_mould(), DxfVersion::R2000);
        assert!(text.is_ascii());
        assert!(text.contains("\nMould 3, 1 3/8\" in ^ \n"));
        // Nothing that a text says can end its own line and become a group of its own.
        let mut sly = Drawing::new("a", "A");
        let layer = sly.layer("A\n0\nEOF", Operation::Mark);
        sly.text(layer, Point::ORIGIN, 5.0, 0.0, Anchor::Start, "a\r\n0\nEOF");
        assert_eq!(written(&sly, DxfVersion::R2000).matches("\nEOF\n").count(), 1);
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
        assert_eq!(error.to_string(), "tolerance must be more than 0 mm, not 0");
    }

    #[test]
    fn an_empty_drawing_is_a_whole_file() {
        let back = read(&written(&Drawing::new("empty", "Empty"), DxfVersion::R2000));
        assert_eq!(back.entities().count(), 0);
    }
}
