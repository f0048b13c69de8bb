//! The lines drawing: sheer plan, half-breadth plan, body plan and diagonals on one grid.
//!
//! Forward sections stand on the right of the body plan and after sections on the left; diagonals are
//! drawn expanded below the half-breadth plan (common practice). Grid lines are thin and labelled at both
//! ends, hull lines heavier, the centreline chain-dashed. All is drawn in millimetres of paper.

mod curvature;
mod gathered;
mod layout;
mod mould_sheet;
mod scale;
mod sheet;
mod title;
mod views;

use gathered::Lines;
use kurbo::{Affine, Point, Rect};
use layout::Layout;
use scale::scale_that_fits;
use scrieve_hull::{Boat, HullError};
use scrieve_notation::Units;
use sheet::{GUTTER, Ink, Label, MARGIN, RING, Sheet};
use title::{TITLE, title_block};
use views::{body_view, draw_bands, sheet_views};

use crate::Drawing;

pub use curvature::curvature_drawing;
pub use mould_sheet::mould_sheet;

/// The lines of a hull on one sheet.
///
/// # Errors
/// If no scale in use puts her on the sheet.
pub fn lines_drawing(hull: &Boat, options: &LinesOptions) -> Result<Drawing, LinesError> {
    let lines = Lines::new(hull, options)?;
    let layout = Layout::choose(&lines, options)?;
    let mut sheet = Sheet::new("lines", format!("{}, lines", lines.name), options.sheet_mm);
    sheet.frame();
    sheet_views(&mut sheet, &lines, &layout);
    title_block(&mut sheet, &lines, layout.title, layout.scale);
    Ok(sheet.drawing)
}

/// The body plan alone, as large as the sheet allows.
///
/// # Errors
/// If no scale in use puts it on the sheet.
pub fn body_plan(hull: &Boat, options: &LinesOptions) -> Result<Drawing, LinesError> {
    marked_body_plan(hull, &[], options)
}

/// Something to point out in the body plan: a place on the hull (x, y, z in metres), and what is said of it.
#[derive(Clone, Debug, PartialEq)]
pub struct PlaceMark {
    /// x, y and z, m.
    pub at: [f64; 3],
    /// What stands beside the ring.
    pub text: String,
}

/// The body plan with places ringed and labelled, the first of them first where room is short.
///
/// # Errors
/// As [`body_plan`].
pub fn marked_body_plan(
    hull: &Boat,
    marks: &[PlaceMark],
    options: &LinesOptions,
) -> Result<Drawing, LinesError> {
    let lines = Lines::new(hull, options)?;
    let (w, h) = options.sheet_mm;
    let size = |k: f64| (2.0 * (lines.half_beam * k + GUTTER + MARGIN), lines.depth() * k + TITLE.1 + 60.0);
    let scale = scale_that_fits(options, lines.units, size)?;
    let k = 1e3 / scale;
    let mut sheet = Sheet::new("body-plan", format!("{}, body plan", lines.name), options.sheet_mm);
    sheet.frame();
    let spare = h - size(k).1;
    let origin = Point::new(w / 2.0, MARGIN + TITLE.1 + 30.0 + spare / 2.0 - lines.low * k);
    let view = Affine::translate(origin.to_vec2()) * Affine::scale(k);
    if let Some(times) = options.band {
        draw_bands(&mut sheet, hull, &lines, view, times);
    }
    let mut labels = body_view(&mut sheet, &lines, view);
    let title = Rect::new(w - MARGIN - TITLE.0, MARGIN, w - MARGIN, MARGIN + TITLE.1);
    sheet.space.take_box(title);
    for mark in marks {
        let side = if mark.at[0] <= lines.widest { 1.0 } else { -1.0 };
        let at = view * Point::new(side * mark.at[1], mark.at[2]);
        let layer = Ink::Query.of(&mut sheet.drawing);
        sheet.drawing.circle(layer, at, RING);
        sheet.space.take_box(Rect::from_center_size(at, (2.0 * RING, 2.0 * RING)));
        labels.push(Label::about(&mark.text, at));
    }
    sheet.label_all(labels);
    title_block(&mut sheet, &lines, title, scale);
    Ok(sheet.drawing)
}

/// How the lines are drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct LinesOptions {
    /// Sheet, width and height, mm.
    pub sheet_mm: (f64, f64),
    /// Scale: 10 draws at 1:10; the largest in common use that fits where left out.
    pub scale: Option<f64>,
    /// Units of labels; the table's own where left out.
    pub units: Option<Units>,
    /// A line more in the title block.
    pub note: Option<String>,
    /// In the body plan alone, two lines beside each section: one standard deviation off it, so many times
    /// over, since at scale it is finer than a pencil line.
    pub band: Option<f64>,
}

impl Default for LinesOptions {
    fn default() -> Self {
        LinesOptions { sheet_mm: (420.0, 297.0), scale: None, units: None, note: None, band: None }
    }
}

/// Why lines cannot be drawn.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LinesError {
    /// She does not fit.
    #[error(
        "at 1:{scale} the drawing is {width:.0} x {height:.0} mm: larger than the sheet of {} x {} mm",
        sheet.0, sheet.1
    )]
    TooLarge {
        /// The scale.
        scale: f64,
        /// Width it needs, mm.
        width: f64,
        /// Height it needs, mm.
        height: f64,
        /// The sheet, mm.
        sheet: (f64, f64),
    },
    /// A scale that is not a number above nothing.
    #[error("a scale of 1:{0} makes no sense")]
    Scale(f64),
    /// A curve of no length.
    #[error("{0} has no length")]
    NoLength(String),
    /// The hull cannot give a line that was asked for.
    #[error(transparent)]
    Hull(#[from] HullError),
}
