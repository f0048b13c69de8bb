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
use kurbo::{Affine, Point, Rect, Size};
use layout::Layout;
use scale::setting;
use scrieve_hull::{Boat, HullError};
use scrieve_notation::Units;
use sheet::{Ink, Label, MARGIN, RING, SMALL, Sheet};
use title::TitleBlock;
use views::{body_view, draw_bands, sheet_views};

use crate::Drawing;

pub use curvature::curvature_drawing;
pub use mould_sheet::mould_sheet;
pub use scale::DRAWING_SHEETS;

/// Room for grid labels round a body plan or a set of moulds, mm.
const GUTTER: f64 = 24.0;

/// The lines of a hull on one sheet.
///
/// # Errors
/// If no scale in use puts her on the sheet.
pub fn lines_drawing(hull: &Boat, options: &LinesOptions) -> Result<Drawing, LinesError> {
    let lines = Lines::new(hull, options)?;
    let title = TitleBlock::of(&lines, options.foreshortened);
    let layout = Layout::choose(&lines, title.size(), options)?;
    let called = if options.foreshortened > 1.0 { "lines, foreshortened" } else { "lines" };
    let mut sheet = Sheet::new(called, format!("{}, {called}", lines.name), layout.setting.set_out());
    sheet.frame();
    sheet.space.take_box(layout.title);
    sheet_views(&mut sheet, &lines, &layout);
    title.draw(&mut sheet, &lines, layout.title, &layout.setting, options.foreshortened);
    Ok(sheet.finished().magnified(layout.setting.magnified))
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
    let title = TitleBlock::of(&lines, 1.0);
    // What the grid's labels take beside the views, and what stands above and below them.
    let (beside, above, below) = (2.0 * GUTTER, GUTTER, GUTTER + 2.0 * SMALL);
    let size = |k: f64| {
        let width = (2.0 * lines.half_beam * k + beside).max(title.size().width);
        let height = lines.depth() * k + above + below + title.size().height;
        Size::new(width + 2.0 * MARGIN, height + 2.0 * MARGIN)
    };
    let setting = setting(options, lines.units, size)?;
    let (k, sheet_size) = (setting.per_metre(), setting.set_out());
    let (w, h) = (sheet_size.width, sheet_size.height);
    let mut sheet = Sheet::new("body-plan", format!("{}, body plan", lines.name), sheet_size);
    sheet.frame();
    let spare = h - size(k).height;
    let foot = MARGIN + title.size().height + below + spare / 2.0;
    let view = Affine::translate((w / 2.0, foot - lines.low * k)) * Affine::scale(k);
    let at = Rect::from_origin_size((w - MARGIN - title.size().width, MARGIN), title.size());
    sheet.space.take_box(at);
    if let Some(times) = options.band {
        let says = Point::new(w / 2.0, at.y1 + SMALL);
        draw_bands(&mut sheet, hull, &lines, view, times, says);
    }
    let mut labels = body_view(&mut sheet, &lines, view);
    for mark in marks {
        let side = if mark.at[0] <= lines.widest { 1.0 } else { -1.0 };
        let at = view * Point::new(side * mark.at[1], mark.at[2]);
        let layer = Ink::Query.of(&mut sheet.drawing);
        sheet.drawing.circle(layer, at, RING);
        sheet.space.take_box(Rect::from_center_size(at, (2.0 * RING, 2.0 * RING)));
        labels.push(Label::about(&mark.text, at));
    }
    sheet.label_all(labels);
    title.draw(&mut sheet, &lines, at, &setting, 1.0);
    Ok(sheet.finished().magnified(setting.magnified))
}

/// How the lines are drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct LinesOptions {
    /// Drawing sheet, mm; left out, A3, or where a scale is told the smallest of the A sizes that holds the drawing,
    /// or a sheet of its own.
    pub sheet_mm: Option<Size>,
    /// Scale: 10 draws at 1:10, 1 at full size; the largest in common use that fits where left out.
    pub scale: Option<f64>,
    /// Units of labels; the table's own where left out.
    pub units: Option<Units>,
    /// A line more in the title block.
    pub note: Option<String>,
    /// In the body plan alone, two lines beside each section: one standard deviation off it, so many times
    /// over, since at scale it is finer than a pencil line.
    pub band: Option<f64>,
    /// In the lines alone, how many times shorter lengths are drawn than heights and breadths: 10 shows as one sights
    /// along a batten, and humps stand out. 1 where they are alike.
    pub foreshortened: f64,
}

impl Default for LinesOptions {
    fn default() -> Self {
        LinesOptions { sheet_mm: None, scale: None, units: None, note: None, band: None, foreshortened: 1.0 }
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
    /// A scale that is not a number above nothing, or one at which she is larger than any sheet.
    #[error("a scale of 1:{0} makes no sense: expected 1:0.1 to 1:2000, and a sheet of 300 m at most")]
    Scale(f64),
    /// A sheet of no size, or one longer than any.
    #[error("a drawing sheet of {0} x {1} mm makes no sense")]
    Sheet(f64, f64),
    /// Lengths drawn longer than heights.
    #[error("lengths drawn {0} times shorter: expected 1 and more, and 100 at most")]
    Foreshortened(f64),
    /// A curve of no length.
    #[error("{0} has no length")]
    NoLength(String),
    /// The hull cannot give a line that was asked for.
    #[error(transparent)]
    Hull(#[from] HullError),
}
