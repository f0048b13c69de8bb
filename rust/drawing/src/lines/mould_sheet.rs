//! The edges of all moulds of a set over each other, as they are cut.

use kurbo::{Affine, ParamCurve, Point, Shape as _, Size};
use scrieve_loft::moulds::{Lies, MouldSet};

use super::scale::setting;
use super::sheet::{Ink, Label, MARGIN, Sheet};
use super::{GUTTER, LinesError, LinesOptions};
use crate::{Anchor, Drawing};

/// The edges of all moulds of a set over each other, as they are cut: forward on the right.
///
/// # Errors
/// If no scale in use puts them on the sheet.
pub fn mould_sheet(set: &MouldSet, options: &LinesOptions) -> Result<Drawing, LinesError> {
    let bounds = set
        .moulds
        .iter()
        .flat_map(|m| &m.pieces)
        .map(|p| p.outline.bounding_box())
        .reduce(|a, b| a.union(b))
        .unwrap_or_default();
    let half = bounds.x0.abs().max(bounds.x1);
    let units = options.units.unwrap_or_default();
    let size =
        |k: f64| Size::new(2.0 * (half * k + GUTTER + MARGIN), bounds.height() * k + 2.0 * MARGIN + 40.0);
    let setting = setting(options, units, size)?;
    let (k, scale) = (setting.per_metre(), setting.scale);
    let (w, h) = (setting.set_out().width, setting.set_out().height);
    let mut sheet = Sheet::new("moulds", format!("{}, moulds", set.name), setting.set_out());
    sheet.frame();
    let origin = Point::new(w / 2.0, (h - bounds.height() * k) / 2.0 - bounds.y0 * k);
    let view = Affine::translate(origin.to_vec2()) * Affine::scale(k);
    let mut labels = Vec::new();
    let reach = half + 4.0 / k;
    for (z, text) in [(set.base_line, "base line".to_owned()), (set.spall_height, "spall".to_owned())] {
        sheet.grid_line(view, Ink::Base, Point::new(-reach, z), Point::new(reach, z), &text);
    }
    sheet.centreline(view, Point::new(0.0, bounds.y0), Point::new(0.0, bounds.y1 + 3.0 / k));
    for mould in &set.moulds {
        let right = mould.lies == Lies::Aft;
        let side = if right { 1.0 } else { -1.0 };
        let edge = view * Affine::scale_non_uniform(side, 1.0) * mould.edge.path();
        let end = edge.segments().last().map(|s| s.end()).unwrap_or_default();
        sheet.path(Ink::Hull, edge);
        labels.push(Label::above(&mould.station, end));
    }
    sheet.label_all(labels);
    let name = format!("{}: moulds, {:.1} mm deducted, 1:{scale}", set.name, set.deduction * 1e3);
    sheet.text(Point::new(w / 2.0, MARGIN + 6.0), 4.0, Anchor::Middle, &name);
    Ok(sheet.finished().magnified(setting.magnified))
}
