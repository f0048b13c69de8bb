//! Where the views of a lines drawing stand on the sheet.

use kurbo::{Affine, Rect, Vec2};

use super::gathered::Lines;
use super::scale::scale_that_fits;
use super::sheet::{GUTTER, MARGIN};
use super::title::TITLE;
use super::{LinesError, LinesOptions};

/// Where the views stand on the sheet.
pub(super) struct Layout {
    pub(super) scale: f64,
    /// Sheer plan: paper of (x, z).
    pub(super) sheer: Affine,
    /// Half-breadth plan: paper of (x, y).
    pub(super) plan: Affine,
    /// Diagonals: paper of (x, distance out).
    pub(super) diagonals: Affine,
    /// Body plan: paper of (y, z).
    pub(super) body: Affine,
    /// Title block.
    pub(super) title: Rect,
}

impl Layout {
    /// The body plan beside the sheer plan, or below the diagonals where that lets her be drawn larger.
    pub(super) fn choose(lines: &Lines, options: &LinesOptions) -> Result<Layout, LinesError> {
        // Labels above and below a view; between views.
        const ROW: f64 = 8.0;
        const BETWEEN: f64 = 6.0;
        let length = lines.aft - lines.fore;
        let plan = lines.half_beam + lines.out;
        let beside = |k: f64| {
            let width = (length + 2.0 * lines.half_beam) * k + 4.0 * GUTTER + 2.0 * MARGIN;
            // The title block stands under the body plan, and under all where the plans run that far.
            let under = length * k + 2.0 * GUTTER > options.sheet_mm.0 - 2.0 * MARGIN - TITLE.0;
            let under = if under { TITLE.1 + ROW } else { 0.0 };
            let left = (lines.depth() + plan) * k + 4.0 * ROW + BETWEEN + under + 2.0 * MARGIN;
            let right = lines.depth() * k + 3.0 * ROW + TITLE.1 + 2.0 * MARGIN;
            (width.max(TITLE.0 + 2.0 * MARGIN), left.max(right))
        };
        let below = |k: f64| {
            let foot = 2.0 * lines.half_beam * k + 2.0 * GUTTER + TITLE.0 + BETWEEN;
            let width = (length * k + 2.0 * GUTTER).max(foot) + 2.0 * MARGIN;
            let foot = (lines.depth() * k + 3.0 * ROW).max(TITLE.1);
            (width, (lines.depth() + plan) * k + foot + 4.0 * ROW + 2.0 * BETWEEN + 2.0 * MARGIN)
        };
        let scales =
            [scale_that_fits(options, lines.units, beside), scale_that_fits(options, lines.units, below)];
        let (scale, is_below) = match scales {
            [Ok(a), Ok(b)] => (a.min(b), b < a),
            [Ok(a), Err(_)] => (a, false),
            [Err(_), Ok(b)] => (b, true),
            [Err(error), Err(_)] => return Err(error),
        };
        let k = 1e3 / scale;
        let (w, h) = options.sheet_mm;
        let used = if is_below { below(k) } else { beside(k) };
        // What the sheet has to spare goes round and between the views.
        let spare = Vec2::new(w - used.0, h - used.1);
        let x0 = MARGIN + GUTTER + spare.x / if is_below { 2.0 } else { 3.0 } - lines.fore * k;
        let gap = spare.y / if is_below { 4.0 } else { 3.0 };
        let base = h - MARGIN - ROW - gap - lines.high * k;
        let centre = base + lines.low * k - 2.0 * ROW - BETWEEN - gap - lines.half_beam * k;
        let title = Rect::new(w - MARGIN - TITLE.0, MARGIN, w - MARGIN, MARGIN + TITLE.1);
        let body = if is_below {
            let top = centre - lines.out * k - 2.0 * ROW - BETWEEN - gap;
            let room = title.x0 - MARGIN - 2.0 * GUTTER - 2.0 * lines.half_beam * k;
            (MARGIN + GUTTER + lines.half_beam * k + room / 2.0, top - lines.high * k)
        } else {
            (w - MARGIN - GUTTER - lines.half_beam * k - spare.x / 3.0, base)
        };
        let place = |(x, y): (f64, f64), flip: f64| {
            Affine::translate((x, y)) * Affine::scale_non_uniform(k, k * flip)
        };
        Ok(Layout {
            scale,
            sheer: place((x0, base), 1.0),
            plan: place((x0, centre), 1.0),
            diagonals: place((x0, centre), -1.0),
            body: place(body, 1.0),
            title,
        })
    }
}
