//! A line with its curvature as ordinates normal to it, as a comb stands on a batten.

use kurbo::{Affine, BezPath, Point, Shape as _, Size, Vec2};
use scrieve_hull::Curve;
use scrieve_loft::written;

use super::scale::setting;
use super::sheet::{Ink, MARGIN, Sheet};
use super::{LinesError, LinesOptions};
use crate::{Anchor, Drawing};

/// A line with its curvature as ordinates normal to it and its changes of sign marked.
///
/// # Errors
/// If the curve has no length, or no scale in use puts it on the sheet.
pub fn curvature_drawing(curve: &Curve, name: &str, options: &LinesOptions) -> Result<Drawing, LinesError> {
    let path = curve.path();
    if path.elements().len() < 2 || curve.length() <= 0.0 {
        return Err(LinesError::NoLength(name.to_owned()));
    }
    let bounds = path.bounding_box();
    let units = options.units.unwrap_or_default();
    let size = |k: f64| {
        let ordinate = 2.0 * ORDINATE * curve.length() * k;
        let about = ordinate + 2.0 * MARGIN;
        Size::new(bounds.width() * k + about, bounds.height() * k + about + 30.0)
    };
    let setting = setting(options, units, size)?;
    let (k, scale) = (setting.per_metre(), setting.scale);
    let (w, h) = (setting.set_out().width, setting.set_out().height);
    let mut sheet = Sheet::new("curvature", format!("{name}, curvature"), setting.set_out());
    let centre = Point::new(w / 2.0, h / 2.0);
    let view = Affine::translate(centre.to_vec2())
        * Affine::scale(k)
        * Affine::translate(-bounds.center().to_vec2());

    let spots = curvature_spots(curve);
    let most = spots.iter().map(|s| s.curvature.abs()).fold(0.0, f64::max);
    let flat = most * FLAT;
    let height = if most > 0.0 { ORDINATE * curve.length() / most } else { 0.0 };
    let mut tips = BezPath::new();
    for (i, s) in spots.iter().enumerate() {
        // Toward the outside of the curve, as a comb stands on a batten.
        let tip = s.at - s.left * (s.curvature * height);
        let (from, to) = (view * s.at, view * tip);
        sheet.path(Ink::Grid, kurbo::Line::new(from, to).into_path(1e-3));
        if i == 0 || s.first { tips.move_to(to) } else { tips.line_to(to) }
    }
    sheet.path(Ink::Waterline, tips);
    sheet.path(Ink::Hull, view * path);
    let mut changes = 0;
    let mut last: Option<&CurvatureSpot> = None;
    for s in spots.iter().filter(|s| s.curvature.abs() > flat) {
        if let Some(before) = last.filter(|b| b.curvature * s.curvature < 0.0 && b.piece == s.piece) {
            let part = before.curvature / (before.curvature - s.curvature);
            let at = view * before.at.lerp(s.at, part);
            let layer = Ink::Buttock.of(&mut sheet.drawing);
            sheet.drawing.circle(layer, at, 1.4);
            changes += 1;
        }
        last = Some(s);
    }
    let tightest = match most > 0.0 {
        true => format!("tightest radius {}", written(1.0 / most, units)),
        false => "straight".to_owned(),
    };
    let times = if changes == 1 { "once".to_owned() } else { format!("{changes} times") };
    let says = format!("{name}: curvature changes sign {times}; {tightest}; 1:{scale}");
    let foot = sheet.drawing.bounds().map_or(MARGIN, |b| b.y0 - 8.0);
    sheet.text(Point::new(w / 2.0, foot), 3.0, Anchor::Middle, &says);
    Ok(sheet.finished().magnified(setting.magnified))
}

/// The greatest ordinate of a curvature drawing, as a part of the curve's length.
const ORDINATE: f64 = 0.12;

/// Curvature under this part of the greatest is straight: it has no sign worth marking.
const FLAT: f64 = 0.005;

/// Ordinates along a curve.
const ORDINATES: usize = 160;

/// A spot of a curvature drawing.
struct CurvatureSpot {
    pub(super) at: Point,
    /// Unit, to the left of the way the curve runs.
    pub(super) left: Vec2,
    curvature: f64,
    piece: usize,
    pub(super) first: bool,
}

/// Curvature at even distances along each piece of a curve.
fn curvature_spots(curve: &Curve) -> Vec<CurvatureSpot> {
    let whole = curve.length();
    let mut spots = Vec::new();
    for (piece, samples) in curve.pieces.iter().enumerate() {
        let one = Curve { plane: curve.plane, pieces: vec![samples.clone()] };
        let n = ((one.length() / whole * ORDINATES as f64) as usize).max(4);
        for i in 0..=n {
            let Some(s) = one.at_fraction(i as f64 / n as f64) else { continue };
            let (right, up) = (curve.plane.right, curve.plane.up);
            let dot = |a: [f64; 3], b: [f64; 3]| a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
            let along = Vec2::new(dot(s.tangent, right), dot(s.tangent, up)).normalize();
            spots.push(CurvatureSpot {
                at: curve.plane.drawn(s.p),
                left: Vec2::new(-along.y, along.x),
                curvature: s.curvature,
                piece,
                first: i == 0,
            });
        }
    }
    spots
}
