//! The lines drawing: sheer plan, half-breadth plan, body plan and diagonals on one grid.
//!
//! Forward sections stand on the right of the body plan and after sections on the left; diagonals are
//! drawn expanded below the half-breadth plan (common practice). Grid lines are thin and labelled at both
//! ends, hull lines heavier, the centreline chain-dashed. All is drawn in millimetres of paper.

use kurbo::{Affine, BezPath, ParamCurve, Point, Rect, Shape as _, Vec2};
use scrieve_hull::{Curve, Evidence, Hull, HullError, Plane, Stretch};
use scrieve_loft::moulds::{Lies, MouldSet, widest_part};
use scrieve_loft::{DiagonalAt, Grid, written};
use scrieve_notation::Units;
use scrieve_offsets::Axis;

use crate::space::{Space, spots_beside, text_width};
use crate::{Anchor, Drawing, Operation, Stroke};

/// The lines of a hull on one sheet.
///
/// # Errors
/// If no scale in use puts her on the sheet.
pub fn lines_drawing(hull: &Hull, options: &LinesOptions) -> Result<Drawing, LinesError> {
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
pub fn body_plan(hull: &Hull, options: &LinesOptions) -> Result<Drawing, LinesError> {
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
    hull: &Hull,
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
    let (w, h) = options.sheet_mm;
    let size = |k: f64| (2.0 * (half * k + GUTTER + MARGIN), bounds.height() * k + 2.0 * MARGIN + 40.0);
    let scale = scale_that_fits(options, units, size)?;
    let k = 1e3 / scale;
    let mut sheet = Sheet::new("moulds", format!("{}, moulds", set.name), options.sheet_mm);
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
    Ok(sheet.drawing)
}

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
    let (w, h) = options.sheet_mm;
    let size = |k: f64| {
        let ordinate = 2.0 * ORDINATE * curve.length() * k;
        (bounds.width() * k + ordinate + 2.0 * MARGIN, bounds.height() * k + ordinate + 2.0 * MARGIN + 30.0)
    };
    let scale = scale_that_fits(options, units, size)?;
    let k = 1e3 / scale;
    let mut sheet = Sheet::new("curvature", format!("{name}, curvature"), options.sheet_mm);
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

/// Blank edge of the sheet, mm: what desk printers leave.
const MARGIN: f64 = 9.0;
/// Room for labels at the ends of grid lines, mm.
const GUTTER: f64 = 15.0;
/// How far grid lines run past what they measure, mm.
const RUN_ON: f64 = 3.0;
/// Letters of grid labels, of stations' names, of views' names, mm.
const SMALL: f64 = 1.7;
const STATION: f64 = 2.4;
const VIEW: f64 = 2.4;
/// A label that stands farther off than this has a leader, mm.
const LEADER: f64 = 2.0;
/// Title block, mm.
const TITLE: (f64, f64) = (112.0, 44.0);
/// Dash and gap of a line where no reading is near, mm: apart from the centreline's chain.
const UNREAD_DASHES: [f64; 2] = [2.0, 1.1];
/// Ring round a place that is pointed out, mm.
const RING: f64 = 1.5;
/// Spots along a line that is seen from its end in the body plan.
const BODY_SPOTS: usize = 240;
/// Places along a section its band is drawn through.
const BAND_SPOTS: usize = 40;
/// Squares room for labels is counted in, mm.
const CELL: f64 = 0.4;
/// The greatest ordinate of a curvature drawing, as a part of the curve's length.
const ORDINATE: f64 = 0.12;
/// Curvature under this part of the greatest is straight: it has no sign worth marking.
const FLAT: f64 = 0.005;
/// Ordinates along a curve.
const ORDINATES: usize = 160;
/// Scales in common use with feet and inches: twelfths and eighths of an inch to the foot, and 1:20.
const FOOT_SCALES: [f64; 18] = [
    1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 16.0, 20.0, 24.0, 32.0, 48.0, 64.0, 96.0, 128.0, 192.0, 384.0, 768.0,
];
/// Scales in common use with metres.
const METRIC_SCALES: [f64; 15] =
    [1.0, 2.0, 2.5, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 100.0, 200.0, 500.0, 1000.0];

fn scale_that_fits(
    options: &LinesOptions,
    units: Units,
    size: impl Fn(f64) -> (f64, f64),
) -> Result<f64, LinesError> {
    let fits = |scale: f64| {
        let (w, h) = size(1e3 / scale);
        w <= options.sheet_mm.0 && h <= options.sheet_mm.1
    };
    let too_large = |scale: f64| {
        let (width, height) = size(1e3 / scale);
        LinesError::TooLarge { scale, width, height, sheet: options.sheet_mm }
    };
    match options.scale {
        Some(scale) if !(scale.is_finite() && scale > 0.0) => Err(LinesError::Scale(scale)),
        Some(scale) if fits(scale) => Ok(scale),
        Some(scale) => Err(too_large(scale)),
        None => {
            let scales: &[f64] = if is_feet(units) { &FOOT_SCALES } else { &METRIC_SCALES };
            let found = scales.iter().copied().find(|s| fits(*s));
            found.ok_or_else(|| too_large(scales[scales.len() - 1]))
        }
    }
}

/// A length with its unit, which feet, inches and eighths show by themselves.
fn with_unit(metres: f64, units: Units) -> String {
    let text = written(metres, units);
    if units == Units::FeetInchesEighths { text } else { format!("{text} {}", units.name()) }
}

/// What the drawing has of ends that no table tells of: she is drawn as far as her stations reach.
fn ends_not_told(table: &scrieve_offsets::Contents) -> String {
    let (Some(first), Some(last)) = (table.stations.first(), table.stations.last()) else {
        return String::new();
    };
    match (table.stem.is_none(), table.stern.is_none() && table.transom.is_none()) {
        (true, true) => {
            format!(
                "No stem or stern given: drawn from station {} to station {}, no longer",
                first.name, last.name
            )
        }
        (true, false) => format!("No stem given: drawn from station {} on, not from her stem", first.name),
        (false, true) => format!("No stern given: drawn to station {}, not to her stern", last.name),
        (false, false) => String::new(),
    }
}

fn is_feet(units: Units) -> bool {
    matches!(units, Units::FeetInchesEighths | Units::Inches | Units::Feet)
}

/// What is drawn, in metres.
struct Lines {
    name: String,
    facts: Vec<String>,
    units: Units,
    /// x of her ends, heights of her lowest and highest points (the base line counts), half-beam.
    fore: f64,
    aft: f64,
    low: f64,
    high: f64,
    half_beam: f64,
    widest: f64,
    /// Greatest distance out along a diagonal.
    out: f64,
    stations: Vec<(String, f64)>,
    sections: Vec<(String, f64, Curve)>,
    waterlines: Vec<(f64, Vec<Line>)>,
    buttocks: Vec<(f64, Vec<Line>)>,
    diagonals: Vec<(DiagonalAt, Vec<Line>)>,
    /// Rabbet, chines and sheer, and the two ends.
    profile: Vec<Line>,
    plan: Vec<Line>,
    /// Rabbet, chines and sheer as they are seen in the body plan, and her ends: stem or bow transom, then post or transom.
    body: Vec<Line>,
    ends: Vec<Line>,
    dimensions: String,
}

impl Lines {
    fn new(hull: &Hull, options: &LinesOptions) -> Result<Lines, LinesError> {
        let (table, grid) = (hull.source(), Grid::of(hull));
        let units = options.units.unwrap_or(grid.units);
        let evidence = Evidence::of(hull);
        let rows = evidence.rows();
        // A grid line that misses the faired hull has no curve in the other views.
        let cut = |plane: Plane| {
            let row = rows.iter().find(|(_, of)| is_same(of, &plane)).map(|(row, _)| *row);
            let line = |curve: Curve| {
                let unread = row.map_or(Vec::new(), |row| evidence.of_row(row, &curve));
                Line { curve, unread }
            };
            hull.cut(&plane).unwrap_or_default().into_iter().map(line).collect::<Vec<_>>()
        };
        let waterlines = grid.waterlines.iter().map(|&z| (z, cut(Plane::at_z(z)))).collect();
        let buttocks = grid.buttocks.iter().map(|&y| (y, cut(Plane::at_y(y)))).collect();
        let diagonals = grid.diagonals.iter();
        let diagonals: Vec<_> =
            diagonals.map(|d| (d.clone(), cut(Plane::diagonal(d.centreline_height, d.angle)))).collect();
        let drawn = diagonals.iter().flat_map(|d| &d.1);
        let out = drawn.map(|line| line.curve.path().bounding_box().y1).fold(0.0, f64::max);
        let sections = grid.stations.iter();
        let sections = sections.filter_map(|(name, x)| hull.section(*x).ok().map(|c| (name.clone(), *x, c)));
        let unread_ends = evidence.of_ends();
        let seen = |plane: Plane, axis: Axis| {
            let edges = hull.reference_lines_drawn(plane).into_iter().enumerate();
            let edges = edges.map(|(k, curve)| Line { unread: evidence.of_reference_line(k, axis), curve });
            // From above stem and post are no more than their siding: an assumed one is drawn so there too.
            let unread = |all: &[Stretch]| {
                let seen = |s: &&Stretch| axis == Axis::Height || s.is_assumed;
                all.iter().filter(seen).copied().collect::<Vec<_>>()
            };
            let ends = hull.ends(plane).into_iter().zip(&unread_ends);
            edges.chain(ends.map(|(curve, all)| Line { unread: unread(all), curve })).collect::<Vec<_>>()
        };
        let (profile, plan) =
            (seen(Plane::at_y(0.0), Axis::Height), seen(Plane::at_z(0.0), Axis::HalfBreadth));
        let edges = profile.len().saturating_sub(unread_ends.len());
        let body = profile.iter().zip(&plan).take(edges);
        let body = body.map(|(side, top)| Line {
            curve: side.curve.clone(),
            unread: side.unread.iter().chain(&top.unread).copied().collect(),
        });
        let body: Vec<_> = body.collect();
        let ends = hull.ends(Plane::at_x(0.0)).into_iter().zip(unread_ends);
        let ends: Vec<_> = ends.map(|(curve, unread)| Line { curve, unread }).collect();
        let is_dashed = |lines: &[Line]| lines.iter().any(|line| !line.unread.is_empty());
        let rows: [&Vec<(f64, Vec<Line>)>; 2] = [&waterlines, &buttocks];
        let has_unread = [&profile, &plan, &ends].iter().any(|lines| is_dashed(lines))
            || rows.iter().any(|rows| rows.iter().any(|(_, lines)| is_dashed(lines)))
            || diagonals.iter().any(|(_, lines)| is_dashed(lines));
        let ((fore, aft), (low, high)) = (hull.extent([1.0, 0.0, 0.0]), hull.extent([0.0, 0.0, 1.0]));
        let size = hull.dimensions()?;
        let f = &table.facts;
        let planking = match (hull.is_inside(), f.planking) {
            (true, _) => "Lines to the inside of the planking".to_owned(),
            (false, Some(t)) => {
                format!("Lines to the outside of the planking, {}", written(t.metres(), units))
            }
            (false, None) => "Lines to the outside of the planking".to_owned(),
        };
        let join = |parts: [Option<String>; 2]| parts.into_iter().flatten().collect::<Vec<_>>().join(", ");
        let mut facts = vec![
            join([f.kind.clone(), f.year_text()]),
            join([f.builder.as_ref().map(|b| format!("built by {b}")), f.place.clone()]),
            f.designer.as_ref().map(|d| format!("designed by {d}")).unwrap_or_default(),
            f.ends_assumed().unwrap_or_default(),
            ends_not_told(table),
        ];
        facts.extend(options.note.clone());
        facts.push(planking);
        facts.extend(has_unread.then(|| "Dashed: no reading near, or assumed".to_owned()));
        facts.retain(|line| !line.is_empty());
        Ok(Lines {
            name: f.name.clone(),
            facts,
            units,
            fore,
            aft,
            low: low.min(0.0),
            high,
            half_beam: size.beam / 2.0,
            widest: widest_part(hull),
            out,
            sections: sections.collect(),
            stations: grid.stations.clone(),
            waterlines,
            buttocks,
            diagonals,
            profile,
            plan,
            body,
            ends,
            dimensions: format!(
                "Length {}, beam {}, depth amidships {}",
                with_unit(size.length, units),
                with_unit(size.beam, units),
                with_unit(size.depth, units)
            ),
        })
    }

    fn depth(&self) -> f64 {
        self.high - self.low
    }

    fn label(&self, metres: f64) -> String {
        written(metres, self.units)
    }
}

/// A line, and the stretches of it that no reading is near.
struct Line {
    curve: Curve,
    unread: Vec<Stretch>,
}

impl Line {
    /// The parts of it, in order, and whether each is read.
    fn parts(&self) -> Vec<(Curve, bool)> {
        if self.unread.is_empty() {
            return vec![(self.curve.clone(), true)];
        }
        let mut unread = self.unread.clone();
        unread.sort_by(|a, b| a.from.total_cmp(&b.from));
        let (mut parts, mut at, length) = (Vec::new(), 0.0, self.curve.length());
        let mut add = |from: f64, to: f64, is_read| {
            if to - from > SHORTEST_M {
                parts.push((self.curve.trimmed(from, to), is_read));
            }
        };
        for stretch in unread {
            add(at, stretch.from, true);
            add(stretch.from.max(at), stretch.to, false);
            at = stretch.to.max(at);
        }
        add(at, length, true);
        parts
    }
}

/// What is left of a line beside a stretch is not drawn if it is shorter than this, m.
const SHORTEST_M: f64 = 1e-4;

/// Whether two planes that lines are cut by are one.
fn is_same(a: &Plane, b: &Plane) -> bool {
    let near = |a: [f64; 3], b: [f64; 3]| a.iter().zip(b).all(|(a, b)| (a - b).abs() < 1e-9);
    near(a.origin, b.origin) && near(a.up, b.up) && near(a.right, b.right)
}

/// Where the views stand on the sheet.
struct Layout {
    scale: f64,
    /// Sheer plan: paper of (x, z).
    sheer: Affine,
    /// Half-breadth plan: paper of (x, y).
    plan: Affine,
    /// Diagonals: paper of (x, distance out).
    diagonals: Affine,
    /// Body plan: paper of (y, z).
    body: Affine,
    /// Title block.
    title: Rect,
}

impl Layout {
    /// The body plan beside the sheer plan, or below the diagonals where that lets her be drawn larger.
    fn choose(lines: &Lines, options: &LinesOptions) -> Result<Layout, LinesError> {
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

/// The pens.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Ink {
    Grid,
    Base,
    Centreline,
    Waterline,
    Buttock,
    Diagonal,
    Section,
    Hull,
    Frame,
    Letters,
    Query,
    Band,
}

impl Ink {
    fn of(self, drawing: &mut Drawing) -> usize {
        let (name, stroke) = self.pen();
        drawing.layer_drawn(name, Operation::Annotate, stroke)
    }

    /// The same line where no reading is near.
    fn unread(self, drawing: &mut Drawing) -> usize {
        let (name, stroke) = self.pen();
        drawing.layer_drawn(&format!("{name} unread"), Operation::Annotate, stroke.dashed(&UNREAD_DASHES))
    }

    fn pen(self) -> (&'static str, Stroke) {
        let black = [24, 24, 28];
        match self {
            Ink::Grid => ("Grid", Stroke::solid(0.09, [150, 150, 150])),
            Ink::Base => ("Base line", Stroke::solid(0.18, black)),
            Ink::Centreline => ("Centreline", Stroke::solid(0.13, black).dashed(&[6.0, 1.2, 1.2, 1.2])),
            Ink::Waterline => ("Waterlines", Stroke::solid(0.2, [38, 70, 120])),
            Ink::Buttock => ("Buttocks", Stroke::solid(0.2, [136, 44, 40])),
            Ink::Diagonal => ("Diagonals", Stroke::solid(0.2, [40, 96, 60])),
            Ink::Section => ("Sections", Stroke::solid(0.25, black)),
            Ink::Hull => ("Hull", Stroke::solid(0.4, black)),
            Ink::Frame => ("Frame", Stroke::solid(0.25, black)),
            Ink::Letters => ("Letters", Stroke::solid(0.18, black)),
            Ink::Band => ("Bands", Stroke::solid(0.13, [196, 120, 40]).dashed(&[1.6, 0.8])),
            Ink::Query => ("Queries", Stroke::solid(0.4, [190, 30, 30])),
        }
    }
}

/// A label waiting for room.
struct Label {
    text: String,
    height: f64,
    spots: Vec<Point>,
    /// Where a leader runs to if the label stands off.
    leads_to: Option<Point>,
}

impl Label {
    /// Beside a path from a fraction of its length on.
    fn beside(text: &str, path: &BezPath, from: f64, above: bool) -> Label {
        Label {
            text: text.to_owned(),
            height: SMALL,
            spots: spots_beside(path, from, SMALL * 1.05, above).collect(),
            leads_to: None,
        }
    }

    /// Round a ring, farther out where the room is taken, with a leader back to it.
    fn about(text: &str, ring: Point) -> Label {
        let half = text_width(text, STATION) / 2.0;
        let spots = (0..40).flat_map(|i| {
            let out = RING + 1.2 + 1.5 * f64::from(i);
            (0..16).map(move |j| {
                let way = Vec2::from_angle(std::f64::consts::TAU * f64::from(j) / 16.0);
                ring + Vec2::new(way.x * (out + half), way.y * (out + 0.6 * STATION))
            })
        });
        Label { text: text.to_owned(), height: STATION, spots: spots.collect(), leads_to: Some(ring) }
    }

    /// Above the end of a line, higher where the room is taken, with a leader back to it.
    fn above(text: &str, end: Point) -> Label {
        let mut lifts: Vec<Vec2> = (0..30)
            .flat_map(|i| (-12..=12).map(move |j| Vec2::new(0.3 * f64::from(j), 0.3 * f64::from(i))))
            .collect();
        lifts.sort_by(|a, b| (a.y + a.x.abs()).total_cmp(&(b.y + b.x.abs())));
        let spots = lifts.into_iter().map(|lift| end + lift + Vec2::new(0.0, 0.95 * STATION)).collect();
        Label { text: text.to_owned(), height: STATION, spots, leads_to: Some(end) }
    }
}

/// A sheet being drawn.
struct Sheet {
    drawing: Drawing,
    space: Space,
    size: (f64, f64),
}

impl Sheet {
    fn new(name: &str, title: String, size: (f64, f64)) -> Sheet {
        let space = Space::new(Rect::new(0.0, 0.0, size.0, size.1), CELL);
        Sheet { drawing: Drawing::new(name, title), space, size }
    }

    fn frame(&mut self) {
        let edge = Rect::new(0.0, 0.0, self.size.0, self.size.1).inset(-(MARGIN - 3.0));
        self.path(Ink::Frame, edge.to_path(1e-3));
    }

    fn path(&mut self, ink: Ink, path: BezPath) {
        if path.elements().is_empty() {
            return;
        }
        self.space.take(&path);
        let layer = ink.of(&mut self.drawing);
        self.drawing.path(layer, path);
    }

    /// A line in a view, dashed where no reading is near.
    fn line(&mut self, ink: Ink, view: Affine, line: &Line) {
        if line.unread.is_empty() {
            return self.path(ink, view * line.curve.path());
        }
        for (part, is_read) in line.parts() {
            self.part(ink, view * part.path(), is_read);
        }
    }

    fn part(&mut self, ink: Ink, path: BezPath, is_read: bool) {
        if is_read {
            return self.path(ink, path);
        }
        if path.elements().is_empty() {
            return;
        }
        self.space.take(&path);
        let layer = ink.unread(&mut self.drawing);
        self.drawing.path(layer, path);
    }

    /// Text that stands where it is put.
    fn text(&mut self, at: Point, height: f64, anchor: Anchor, text: &str) {
        let layer = Ink::Letters.of(&mut self.drawing);
        let width = text_width(text, height);
        let x = match anchor {
            Anchor::Start => at.x,
            Anchor::Middle => at.x - width / 2.0,
            Anchor::End => at.x - width,
        };
        self.space.take_box(Rect::new(x, at.y, x + width, at.y + height));
        self.drawing.text(layer, at, height, 0.0, anchor, text);
    }

    /// A grid line in a view, labelled at both ends.
    fn grid_line(&mut self, view: Affine, ink: Ink, a: Point, b: Point, label: &str) {
        let (a, b) = (view * a, view * b);
        self.path(ink, kurbo::Line::new(a, b).into_path(1e-3));
        self.label_end(a, (a - b).normalize(), label);
        self.label_end(b, (b - a).normalize(), label);
    }

    /// A label off the end of a line that runs out `away`: farther out where the room next to it is taken.
    fn label_end(&mut self, end: Point, away: Vec2, label: &str) {
        if label.is_empty() {
            return;
        }
        let width = text_width(label, SMALL);
        let level = away.x.abs() > 0.5;
        let (first, step, size) = match level {
            true => (0.8 + width / 2.0, width + 1.0, Vec2::new(width, SMALL)),
            false => (0.8 + SMALL / 2.0, 1.3 * SMALL, Vec2::new(width, SMALL)),
        };
        let spots = (0..4).map(|i| end + away * (first + step * f64::from(i)));
        let size = kurbo::Size::new(size.x, size.y);
        let at = spots.clone().find(|p| self.space.is_free(Rect::from_center_size(*p, size)));
        let at = at.unwrap_or(end + away * first);
        self.text(at - Vec2::new(0.0, SMALL / 2.0), SMALL, Anchor::Middle, label);
    }

    fn centreline(&mut self, view: Affine, a: Point, b: Point) {
        self.path(Ink::Centreline, kurbo::Line::new(view * a, view * b).into_path(1e-3));
    }

    /// Puts labels where there is room; one that finds none is left off.
    fn label_all(&mut self, labels: Vec<Label>) {
        let layer = Ink::Letters.of(&mut self.drawing);
        for label in labels {
            let width = text_width(&label.text, label.height);
            if let Some(r) = self.space.place(width, label.height * 1.15, label.spots) {
                let at = Point::new(r.center().x, r.center().y - label.height / 2.0);
                if let Some(end) = label.leads_to.filter(|end| end.distance(at) > LEADER + label.height) {
                    let leader = kurbo::Line::new(Point::new(at.x, r.y0), end + Vec2::new(0.0, 0.6));
                    self.path(Ink::Grid, leader.into_path(1e-3));
                }
                self.drawing.text(layer, at, label.height, 0.0, Anchor::Middle, label.text);
            }
        }
    }
}

fn sheet_views(sheet: &mut Sheet, lines: &Lines, layout: &Layout) {
    let mut labels = profile_view(sheet, lines, layout.sheer);
    labels.extend(plan_view(sheet, lines, layout.plan, layout.diagonals));
    labels.extend(body_view(sheet, lines, layout.body));
    sheet.label_all(labels);
}

/// x, in metres, of the ends of grid lines along the boat.
fn grid_ends(lines: &Lines, view: Affine) -> (f64, f64) {
    let on = RUN_ON / view.as_coeffs()[0];
    (lines.fore - on, lines.aft + on)
}

fn profile_view(sheet: &mut Sheet, lines: &Lines, view: Affine) -> Vec<Label> {
    let k = view.as_coeffs()[0];
    let (fore, aft) = grid_ends(lines, view);
    sheet.grid_line(view, Ink::Base, Point::new(fore, 0.0), Point::new(aft, 0.0), "base");
    for (z, _) in &lines.waterlines {
        sheet.grid_line(view, Ink::Grid, Point::new(fore, *z), Point::new(aft, *z), &lines.label(*z));
    }
    let (foot, head) = (lines.low - RUN_ON / k, lines.high + RUN_ON / k);
    for (name, x) in &lines.stations {
        let (a, b) = (view * Point::new(*x, foot), view * Point::new(*x, head));
        sheet.path(Ink::Grid, kurbo::Line::new(a, b).into_path(1e-3));
        sheet.label_end(a, Vec2::new(0.0, -1.0), &lines.label(*x));
        sheet.text(b + Vec2::new(0.0, 0.8), STATION, Anchor::Middle, name);
    }
    let mut labels = Vec::new();
    for (y, branches) in &lines.buttocks {
        for (i, line) in branches.iter().enumerate() {
            if i == 0 {
                labels.push(Label::beside(&lines.label(*y), &(view * line.curve.path()), 0.3, true));
            }
            sheet.line(Ink::Buttock, view, line);
        }
    }
    lines.profile.iter().for_each(|line| sheet.line(Ink::Hull, view, line));
    name_view(sheet, "SHEER PLAN", view, lines, lines.high);
    labels
}

fn plan_view(sheet: &mut Sheet, lines: &Lines, view: Affine, below: Affine) -> Vec<Label> {
    let k = view.as_coeffs()[0];
    let (fore, aft) = grid_ends(lines, view);
    let mut labels = Vec::new();
    sheet.centreline(view, Point::new(fore, 0.0), Point::new(aft, 0.0));
    for (end, away) in [(fore, -1.0), (aft, 1.0)] {
        sheet.label_end(view * Point::new(end, 0.0), Vec2::new(away, 0.0), "centre");
    }
    for (y, _) in &lines.buttocks {
        sheet.grid_line(view, Ink::Grid, Point::new(fore, *y), Point::new(aft, *y), &lines.label(*y));
    }
    for (name, x) in &lines.stations {
        let a = below * Point::new(*x, lines.out + RUN_ON / k);
        let b = view * Point::new(*x, lines.half_beam + RUN_ON / k);
        sheet.path(Ink::Grid, kurbo::Line::new(a, b).into_path(1e-3));
        for at in [a - Vec2::new(0.0, 0.8 + STATION), b + Vec2::new(0.0, 0.8)] {
            sheet.text(at, STATION, Anchor::Middle, name);
        }
    }
    for (z, branches) in &lines.waterlines {
        for (i, line) in branches.iter().enumerate() {
            if i == 0 {
                labels.push(Label::beside(&lines.label(*z), &(view * line.curve.path()), 0.3, false));
            }
            sheet.line(Ink::Waterline, view, line);
        }
    }
    lines.plan.iter().for_each(|line| sheet.line(Ink::Hull, view, line));
    for (d, branches) in &lines.diagonals {
        for (i, line) in branches.iter().enumerate() {
            if i == 0 {
                let path = below * line.curve.path();
                labels.push(Label::beside(&d.name, &path, 0.12, true));
                labels.push(Label::beside(&d.name, &path, 0.9, true));
            }
            sheet.line(Ink::Diagonal, below, line);
        }
    }
    name_view(sheet, "HALF-BREADTH PLAN", view, lines, lines.half_beam);
    if !lines.diagonals.is_empty() {
        let at = below * Point::new(lines.fore, lines.out);
        let at = Point::new(at.x - GUTTER + 1.0, at.y - RUN_ON - 2.4 - STATION - VIEW);
        sheet.text(at, VIEW, Anchor::Start, "DIAGONALS");
    }
    labels
}

fn body_view(sheet: &mut Sheet, lines: &Lines, view: Affine) -> Vec<Label> {
    let k = view.as_coeffs()[0];
    let reach = lines.half_beam + RUN_ON / k;
    let (foot, head) = (lines.low - RUN_ON / k, lines.high + RUN_ON / k);
    sheet.grid_line(view, Ink::Base, Point::new(-reach, 0.0), Point::new(reach, 0.0), "base");
    for (z, _) in &lines.waterlines {
        sheet.grid_line(view, Ink::Grid, Point::new(-reach, *z), Point::new(reach, *z), &lines.label(*z));
    }
    for (y, _) in &lines.buttocks {
        for y in [-*y, *y] {
            sheet.grid_line(view, Ink::Grid, Point::new(y, foot), Point::new(y, head), &lines.label(y.abs()));
        }
    }
    sheet.centreline(view, Point::new(0.0, foot), Point::new(0.0, head));
    let mut labels = Vec::new();
    for (d, branches) in &lines.diagonals {
        let ends = branches.iter().map(|line| line.curve.path().bounding_box().y1);
        let out = ends.fold(0.0, f64::max) + 2.0 / k;
        let start = Point::new(0.0, d.centreline_height);
        let end = start + d.direction() * out;
        for side in [-1.0, 1.0] {
            let (a, b) = (view * start, view * Point::new(side * end.x, end.y));
            sheet.path(Ink::Diagonal, kurbo::Line::new(a, b).into_path(1e-3));
            let along = (b - a).normalize();
            let spots = (0..20).map(|i| b + along * (1.4 + 0.4 * f64::from(i)));
            let spots =
                spots.flat_map(|p| [0.0, 1.0, -1.0, 2.0, -2.0].map(|up| p + Vec2::new(0.0, up))).collect();
            labels.push(Label { text: d.name.clone(), height: SMALL, spots, leads_to: None });
        }
    }
    for (name, x, curve) in &lines.sections {
        let side = if *x <= lines.widest { 1.0 } else { -1.0 };
        let path = view * Affine::scale_non_uniform(side, 1.0) * curve.path();
        if let Some(end) = path.segments().last().map(|s| s.end()) {
            labels.push(Label::above(name, end));
        }
        sheet.path(Ink::Section, path);
    }
    for (part, is_read) in lines.body.iter().flat_map(Line::parts) {
        for forward in [true, false] {
            let side = if forward { 1.0 } else { -1.0 };
            let points = part.points(BODY_SPOTS).into_iter().filter(|p| (p[0] <= lines.widest) == forward);
            let mut path = BezPath::new();
            for p in points {
                let at = view * Point::new(side * p[1], p[2]);
                if path.elements().is_empty() { path.move_to(at) } else { path.line_to(at) }
            }
            sheet.part(Ink::Hull, path, is_read);
        }
    }
    for (end, side) in lines.ends.iter().zip([1.0, -1.0]) {
        sheet.line(Ink::Hull, view * Affine::scale_non_uniform(side, 1.0), end);
    }
    let at = view * Point::new(0.0, foot);
    sheet.text(at - Vec2::new(0.0, 2.6 + SMALL + VIEW), VIEW, Anchor::Middle, "BODY PLAN");
    labels
}

/// One standard deviation of the surface to either side of each section, `times` over, and a line that says so.
fn draw_bands(sheet: &mut Sheet, hull: &Hull, lines: &Lines, view: Affine, times: f64) {
    for (_, x, curve) in &lines.sections {
        let side = if *x <= lines.widest { 1.0 } else { -1.0 };
        let points: Vec<_> = (0..=BAND_SPOTS)
            .filter_map(|i| curve.at_fraction(i as f64 / BAND_SPOTS as f64))
            .filter_map(|s| {
                let sd = hull.sd(s.p[0], s.p[2]).ok()?;
                // Square to the section the surface's own uncertainty is longer, as it is cut aslant.
                let in_plane = s.normal[1].hypot(s.normal[2]).max(0.1);
                let off = Vec2::new(s.normal[1], s.normal[2]) * (times * sd / (in_plane * in_plane));
                Some((Point::new(s.p[1], s.p[2]), off))
            })
            .collect();
        for way in [-1.0, 1.0] {
            let mut path = BezPath::new();
            for (p, off) in &points {
                let p = *p + *off * way;
                let at = view * Point::new(side * p.x, p.y);
                if path.elements().is_empty() { path.move_to(at) } else { path.line_to(at) }
            }
            sheet.path(Ink::Band, path);
        }
    }
    let says = format!("beside each section: one standard deviation, {times} times over");
    sheet.text(Point::new(sheet.size.0 / 2.0, MARGIN + TITLE.1 + 8.0), SMALL, Anchor::Middle, &says);
}

fn name_view(sheet: &mut Sheet, name: &str, view: Affine, lines: &Lines, top: f64) {
    let at = view * Point::new(lines.fore, top);
    sheet.text(Point::new(at.x - GUTTER + 1.0, at.y + RUN_ON + 2.4 + STATION), VIEW, Anchor::Start, name);
}

/// Name, facts, dimensions, scale bar and caution, in a box.
fn title_block(sheet: &mut Sheet, lines: &Lines, at: Rect, scale: f64) {
    sheet.path(Ink::Frame, at.to_path(1e-3));
    let left = at.x0 + 4.0;
    // A long name or list of facts is written smaller, so that it stays in its frame.
    let mut write = |y: f64, height: f64, text: &str| {
        let room = at.x1 - 4.0 - left;
        let height = height.min(height * room / text_width(text, height).max(room));
        sheet.text(Point::new(left, y), height, Anchor::Start, text);
    };
    let (first, bar) = (at.y1 - 13.6, at.y0 + 10.5);
    write(at.y1 - 9.0, 5.0, &lines.name);
    // More facts than usual stand closer, clear of the scale bar.
    let rows = lines.facts.len() as f64;
    let step = 3.5f64.min((first - bar - SCALE_BAR) / rows.max(1.0));
    for (i, line) in lines.facts.iter().chain([&lines.dimensions]).enumerate() {
        write(first - step * i as f64, 2.0f64.min(0.7 * step), line);
    }
    scale_bar(sheet, lines.units, Point::new(left, bar), scale);
    for (i, line) in CAUTION.iter().enumerate() {
        sheet.text(Point::new(left, at.y0 + 4.6 - 2.6 * i as f64), 1.5, Anchor::Start, line);
    }
}

/// Height of the scale bar with its figures, mm.
const SCALE_BAR: f64 = 6.0;

const CAUTION: [&str; 2] = [
    "Check the scale bar and two known dimensions before use. Fairing by number",
    "does not replace sighting along a batten.",
];

/// A bar of whole feet or metres, about as long as the title block allows.
fn scale_bar(sheet: &mut Sheet, units: Units, at: Point, scale: f64) {
    const ROOM: f64 = 70.0;
    const HIGH: f64 = 1.4;
    let (unit_m, name) = if is_feet(units) { (0.3048, "ft") } else { (1.0, "m") };
    let steps: [(f64, f64); 12] = [
        (0.05, 5.0),
        (0.1, 5.0),
        (0.2, 5.0),
        (0.5, 4.0),
        (1.0, 3.0),
        (1.0, 4.0),
        (1.0, 5.0),
        (1.0, 6.0),
        (2.0, 4.0),
        (2.0, 5.0),
        (5.0, 4.0),
        (10.0, 4.0),
    ];
    let unit = unit_m * 1e3 / scale;
    let fits = steps.iter().rev().find(|(step, n)| step * n * unit <= ROOM).copied();
    let (step, n) = fits.unwrap_or((0.05, 1.0));
    let width = step * unit;
    let layer = Ink::Frame.of(&mut sheet.drawing);
    for i in 0..n as usize {
        let x = at.x + width * i as f64;
        let (y0, y1) = if i % 2 == 0 { (at.y, at.y + HIGH / 2.0) } else { (at.y + HIGH / 2.0, at.y + HIGH) };
        sheet.path(Ink::Frame, Rect::new(x, at.y, x + width, at.y + HIGH).to_path(1e-3));
        let middle = (y0 + y1) / 2.0;
        sheet.drawing.line(layer, Point::new(x, middle), Point::new(x + width, middle));
    }
    for i in 0..=n as usize {
        let text = format!("{}", (step * i as f64 * 1e2).round() / 1e2);
        let text = if i as f64 == n { format!("{text} {name}") } else { text };
        sheet.text(at + Vec2::new(width * i as f64, HIGH + 0.8), 1.6, Anchor::Middle, &text);
    }
    sheet.text(at + Vec2::new(width * n + 8.0, 0.0), 2.0, Anchor::Start, &format!("scale 1:{scale}"));
}

/// A spot of a curvature drawing.
struct CurvatureSpot {
    at: Point,
    /// Unit, to the left of the way the curve runs.
    left: Vec2,
    curvature: f64,
    piece: usize,
    first: bool,
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
