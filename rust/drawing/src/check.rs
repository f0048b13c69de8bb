//! What is wrong with a drawing before anything is cut from it.
//!
//! Crossings are found on the fitted outlines, chords standing in for arcs, by a sweep in x: only
//! pieces whose extents overlap are compared.

use crate::arcs::{self, Outline};
use crate::model::{CHECK_SQUARE, Drawing, Item, Operation};
use crate::{engraved, to_ascii};
use kurbo::{BezPath, ParamCurve, Point, Rect};
use std::collections::HashMap;
use std::fmt;

/// Pieces that agree within this, mm, are the same piece drawn twice; and outlines nearer than this
/// touch. Finer than any cut, coarser than the rounding of written files.
const SAME_MM: f64 = 1e-4;

/// What is wrong.
#[derive(Clone, Debug, PartialEq)]
pub enum Fault {
    /// A coordinate, height, width or angle is not a finite number. No file is written.
    NotFinite,
    /// The item names a layer the drawing does not have. No file is written.
    NoSuchLayer,
    /// A path on a cut layer does not close.
    OpenCut,
    /// A path, or part of one, of no length.
    NoLength,
    /// A line or arc that another, or its own path, already draws on the same layer.
    DrawnTwice,
    /// A cut outline crosses or touches itself.
    CrossesItself,
    /// A cut outline encloses nothing.
    NoArea,
    /// A mark, or part of one, that lies along a cut.
    MarkOnCut,
    /// A mark, or part of one, outside every part.
    MarkOutside,
    /// Letters that are engraved, or some of them, over a cut or outside every part.
    LettersOutside,
    /// Text on a layer that a cutter follows.
    TextOnCut,
    /// Text or a layer's name that a file of plain ASCII spells otherwise: as this.
    Respelled(String),
}

/// One thing wrong, and where.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// What.
    pub fault: Fault,
    /// Which item of the drawing, by its place in the list; `None` for a layer.
    pub item: Option<usize>,
    /// What that item is, as a person finds it: the text it is, or which path of its layer.
    pub part: String,
    /// The name of the layer.
    pub layer: String,
    /// Where on the drawing, mm.
    pub at: Option<Point>,
}

impl Finding {
    /// True if a file cannot be written with it.
    pub fn is_fatal(&self) -> bool {
        matches!(self.fault, Fault::NotFinite | Fault::NoSuchLayer)
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let what = match &self.fault {
            Fault::NotFinite => "a coordinate or size is not a finite number",
            Fault::NoSuchLayer => "its layer is not in the drawing",
            Fault::OpenCut => "a cut path is open",
            Fault::NoLength => "a path has no length",
            Fault::DrawnTwice => "a line is drawn twice",
            Fault::CrossesItself => "a cut outline crosses or touches itself",
            Fault::NoArea => "a cut outline encloses nothing",
            Fault::MarkOnCut => "a mark lies on a cut",
            Fault::MarkOutside => "a mark lies outside the part",
            Fault::LettersOutside => "letters lie outside the part",
            Fault::TextOnCut => "text is on a cut layer",
            Fault::Respelled(_) => "written in plain ASCII as",
        };
        f.write_str(what)?;
        if let Fault::Respelled(plain) = &self.fault {
            write!(f, " \"{plain}\"")?;
        }
        write!(f, " (layer \"{}\"", self.layer)?;
        if !self.part.is_empty() {
            write!(f, ", {}", self.part)?;
        }
        if let Some(at) = self.at {
            write!(f, ", at {:.2}, {:.2} mm", at.x, at.y)?;
        }
        f.write_str(")")
    }
}

/// Everything wrong with a drawing, in the order it is drawn; outlines as fitted within `tolerance_mm`.
pub fn check(drawing: &Drawing, tolerance_mm: f64) -> Vec<Finding> {
    let mut findings = check_numbers(drawing);
    for layer in &drawing.layers {
        let plain = to_ascii(&layer.name);
        if plain != layer.name {
            let fault = Fault::Respelled(plain);
            findings.push(Finding {
                fault,
                item: None,
                part: String::new(),
                layer: layer.name.clone(),
                at: None,
            });
        }
    }
    if findings.iter().any(Finding::is_fatal) {
        return findings;
    }
    let cuts = Cuts::of(drawing, tolerance_mm);
    let mut drawn: HashMap<PieceKey, ()> = HashMap::new();
    for (index, item) in drawing.items.iter().enumerate() {
        let layer = &drawing.layers[item.layer()];
        let mut found = |fault: Fault, at: Option<Point>| {
            findings.push(Finding {
                fault,
                item: Some(index),
                part: part_of(drawing, index),
                layer: layer.name.clone(),
                at,
            });
        };
        match item {
            Item::Text { at, text, height, angle, anchor, .. } => {
                if layer.operation.is_cut() {
                    found(Fault::TextOnCut, Some(*at));
                }
                if layer.operation == Operation::Engrave {
                    cuts.check_letters(&engraved(text, *at, *height, *angle, *anchor), &mut found);
                }
                let plain = to_ascii(text);
                if plain != *text {
                    found(Fault::Respelled(plain), Some(*at));
                }
            }
            Item::Path { path, layer: layer_index } => {
                if layer.operation == Operation::Engrave {
                    cuts.check_letters(path, &mut found);
                }
                let outlines = arcs::fit(path, tolerance_mm);
                if outlines.len() < arcs::subpath_count(path) || outlines.is_empty() {
                    found(Fault::NoLength, path.elements().first().and_then(|el| el.end_point()));
                }
                for outline in &outlines {
                    for segment in outline.segments() {
                        let key = PieceKey::new(*layer_index, &segment);
                        if drawn.insert(key, ()).is_some() {
                            found(Fault::DrawnTwice, Some(segment.from));
                        }
                    }
                    if layer.operation.is_cut() {
                        check_cut(outline, tolerance_mm, &mut found);
                    } else if layer.operation == Operation::Mark && layer.name != CHECK_SQUARE {
                        cuts.check_mark(outline, tolerance_mm, &mut found);
                    }
                }
            }
        }
    }
    findings
}

/// An item as a person finds it: a text by what it says, a path by its place among those of its layer.
fn part_of(drawing: &Drawing, index: usize) -> String {
    let item = &drawing.items[index];
    let is_path = |other: &&Item| matches!(other, Item::Path { .. }) && other.layer() == item.layer();
    match item {
        Item::Text { text, .. } => format!("the text \"{text}\""),
        Item::Path { .. } => {
            let before = drawing.items[..index].iter().filter(is_path).count();
            format!("path {} of {}", before + 1, drawing.items.iter().filter(is_path).count())
        }
    }
}

/// Those faults alone that would break a file.
pub(crate) fn check_numbers(drawing: &Drawing) -> Vec<Finding> {
    let mut findings = Vec::new();
    for layer in &drawing.layers {
        let stroke = &layer.stroke;
        let dashes = stroke.dashes_mm.iter().all(|dash| dash.is_finite() && *dash >= 0.0);
        if !(stroke.width_mm.is_finite() && dashes) {
            let layer = layer.name.clone();
            findings.push(Finding {
                fault: Fault::NotFinite,
                item: None,
                part: "its stroke".into(),
                layer,
                at: None,
            });
        }
    }
    for (index, item) in drawing.items.iter().enumerate() {
        let finite = match item {
            Item::Path { path, .. } => path.elements().iter().all(|element| element.is_finite()),
            Item::Text { at, height, angle, .. } => at.is_finite() && height.is_finite() && angle.is_finite(),
        };
        let layer = drawing.layers.get(item.layer());
        let fault = match (finite, layer) {
            (true, Some(_)) => continue,
            (false, _) => Fault::NotFinite,
            (true, None) => Fault::NoSuchLayer,
        };
        let layer = layer.map(|layer| layer.name.clone()).unwrap_or_default();
        findings.push(Finding { fault, item: Some(index), part: part_of(drawing, index), layer, at: None });
    }
    findings
}

/// The cuts of a drawing, chords standing in for arcs.
struct Cuts {
    /// Each outline's points, round again to the first, and whether it is the outside of a part.
    outlines: Vec<(Vec<Point>, Rect, bool)>,
}

impl Cuts {
    fn of(drawing: &Drawing, tolerance_mm: f64) -> Cuts {
        let mut outlines = Vec::new();
        for item in &drawing.items {
            let Item::Path { layer, path } = item else { continue };
            let operation = drawing.layers[*layer].operation;
            if !operation.is_cut() {
                continue;
            }
            for outline in arcs::fit(path, tolerance_mm) {
                let mut points = outline.points(tolerance_mm);
                points.extend(points.first().copied());
                let bounds = points
                    .iter()
                    .fold(Rect::new(f64::MAX, f64::MAX, f64::MIN, f64::MIN), |r, p| r.union_pt(*p));
                outlines.push((points, bounds, operation == Operation::CutOutside));
            }
        }
        Cuts { outlines }
    }

    /// Whether a spot lies within [`ON_CUT_MM`] of a cut.
    fn is_on(&self, p: Point) -> bool {
        let near = |w: &[Point]| {
            kurbo::ParamCurveNearest::nearest(&kurbo::Line::new(w[0], w[1]), p, 0.0).distance_sq
                < ON_CUT_MM * ON_CUT_MM
        };
        let around = |bounds: &Rect| bounds.inflate(ON_CUT_MM, ON_CUT_MM).contains(p);
        self.outlines.iter().any(|(points, bounds, _)| around(bounds) && points.windows(2).any(near))
    }

    /// Whether a spot lies in a part, and so in no hole of it; anything does where no outside is cut.
    fn holds(&self, p: Point) -> bool {
        let inside = |points: &[Point]| {
            let crossed = points.windows(2).filter(|w| {
                (w[0].y > p.y) != (w[1].y > p.y)
                    && p.x < w[0].x + (w[1].x - w[0].x) * (p.y - w[0].y) / (w[1].y - w[0].y)
            });
            crossed.count() % 2 == 1
        };
        let mut parts = self.outlines.iter().filter(|(.., outside)| *outside).peekable();
        let is_in = |(points, bounds, _): &(Vec<Point>, Rect, bool)| bounds.contains(p) && inside(points);
        parts.peek().is_none()
            || (parts.any(is_in) && !self.outlines.iter().filter(|(.., outside)| !outside).any(is_in))
    }

    /// Strokes of letters are short, so spots along each tell: those of a word outside are said once.
    fn check_letters(&self, strokes: &BezPath, found: &mut impl FnMut(Fault, Option<Point>)) {
        let spots = strokes.segments().flat_map(|s| [0.0, 0.5, 1.0].map(|t| s.eval(t)));
        if let Some(p) = spots.into_iter().find(|p| self.is_on(*p) || !self.holds(*p)) {
            found(Fault::LettersOutside, Some(p));
        }
    }

    fn check_mark(&self, outline: &Outline, tolerance_mm: f64, found: &mut impl FnMut(Fault, Option<Point>)) {
        // Spots a millimetre apart, more on a long mark, each end among them.
        let points = outline.points(tolerance_mm);
        let length: f64 = points.windows(2).map(|w| w[0].distance(w[1])).sum();
        let step = ALONG_MM.max(length / MOST_SPOTS);
        let spots = points.windows(2).flat_map(|w| {
            let count = (w[0].distance(w[1]) / step).ceil().max(1.0) as usize;
            (0..=count).map(move |i| w[0].lerp(w[1], i as f64 / count as f64))
        });
        let mut on: Option<Point> = None;
        let (mut said_on, mut said_out) = (false, false);
        for p in spots {
            if self.is_on(p) {
                // Along it, not across it or up to it.
                if !said_on && on.is_some_and(|first| first.distance(p) > 2.0 * ALONG_MM) {
                    found(Fault::MarkOnCut, Some(p));
                    said_on = true;
                }
                on = on.or(Some(p));
                continue;
            }
            on = None;
            if !said_out && !self.holds(p) {
                found(Fault::MarkOutside, Some(p));
                said_out = true;
            }
        }
    }
}

/// A mark this near a cut is on it, mm: what a saw or a cutter takes away.
const ON_CUT_MM: f64 = 0.1;
/// Marks are looked at so far apart, mm.
const ALONG_MM: f64 = 1.0;
/// At so many spots of a mark at most.
const MOST_SPOTS: f64 = 2000.0;

/// A line or arc on the grid of [`SAME_MM`], whichever way it is drawn.
#[derive(PartialEq, Eq, Hash)]
struct PieceKey {
    layer: usize,
    ends: [(i64, i64); 2],
    middle: (i64, i64),
}

impl PieceKey {
    fn new(layer: usize, segment: &arcs::Segment) -> Self {
        let cell = |p: Point| ((p.x / SAME_MM).round() as i64, (p.y / SAME_MM).round() as i64);
        let mut ends = [cell(segment.from), cell(segment.to)];
        ends.sort_unstable();
        Self { layer, ends, middle: cell(segment.middle()) }
    }
}

fn check_cut(outline: &Outline, tolerance_mm: f64, found: &mut impl FnMut(Fault, Option<Point>)) {
    let points = outline.points(tolerance_mm);
    let first = points.first().copied();
    if !outline.closed {
        found(Fault::OpenCut, first);
        return;
    }
    if area(&points).abs() < SAME_MM {
        found(Fault::NoArea, first);
    } else if let Some(at) = self_crossing(&points) {
        found(Fault::CrossesItself, Some(at));
    }
}

fn area(points: &[Point]) -> f64 {
    let Some(home) = points.first() else { return 0.0 };
    let doubled: f64 = points.windows(2).map(|pair| (pair[0] - *home).cross(pair[1] - *home)).sum();
    0.5 * doubled
}

/// The first place, in x, where a closed polygon crosses or touches itself.
fn self_crossing(points: &[Point]) -> Option<Point> {
    let count = points.len();
    let edge = |i: usize| (points[i], points[(i + 1) % count]);
    let span = |i: usize| {
        let (a, b) = edge(i);
        (a.x.min(b.x) - SAME_MM, a.x.max(b.x) + SAME_MM)
    };
    let mut order: Vec<usize> = (0..count).collect();
    order.sort_by(|&i, &j| span(i).0.total_cmp(&span(j).0));
    for (place, &i) in order.iter().enumerate() {
        let (a, b) = edge(i);
        for &j in order[place + 1..].iter().take_while(|&&j| span(j).0 <= span(i).1) {
            let (c, d) = edge(j);
            let next = (i + 1) % count == j || (j + 1) % count == i;
            if next {
                // Neighbours meet at their common point; they overlap only if one doubles back.
                let (before, corner, after) = if (i + 1) % count == j { (a, b, d) } else { (c, d, b) };
                let (back, on) = (before - corner, after - corner);
                let beside = back.cross(on).abs() / back.hypot().max(on.hypot());
                if beside < SAME_MM && back.dot(on) > 0.0 {
                    return Some(corner);
                }
            } else if let Some(at) = meeting(a, b, c, d) {
                return Some(at);
            }
        }
    }
    None
}

/// Where two straight pieces cross, or come within [`SAME_MM`].
fn meeting(a: Point, b: Point, c: Point, d: Point) -> Option<Point> {
    let ((low, high), (other_low, other_high)) = (ordered(a.y, b.y), ordered(c.y, d.y));
    if low > other_high + SAME_MM || other_low > high + SAME_MM {
        return None;
    }
    let (sides_cd, sides_ab) =
        (((b - a).cross(c - a), (b - a).cross(d - a)), ((d - c).cross(a - c), (d - c).cross(b - c)));
    if sides_cd.0 * sides_cd.1 < 0.0 && sides_ab.0 * sides_ab.1 < 0.0 {
        return Some(a.lerp(b, sides_ab.0 / (sides_ab.0 - sides_ab.1)));
    }
    let near = |p: Point, q: Point, r: Point| {
        let line = kurbo::Line::new(q, r);
        kurbo::ParamCurveNearest::nearest(&line, p, 0.0).distance_sq < SAME_MM * SAME_MM
    };
    [(c, a, b), (d, a, b), (a, c, d), (b, c, d)]
        .into_iter()
        .find(|&(p, q, r)| near(p, q, r))
        .map(|(p, _, _)| p)
}

fn ordered(a: f64, b: f64) -> (f64, f64) {
    if a < b { (a, b) } else { (b, a) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::arcs::CHORD_TOLERANCE_MM;
    use crate::model::Anchor;

    fn faults(build: impl FnOnce(&mut Drawing, usize)) -> Vec<Fault> {
        let mut drawing = Drawing::new("part", "Part");
        let cut = drawing.layer("Outline", Operation::CutOutside);
        build(&mut drawing, cut);
        check(&drawing, CHORD_TOLERANCE_MM).into_iter().map(|finding| finding.fault).collect()
    }

    fn points(list: &[(f64, f64)]) -> Vec<Point> {
        list.iter().map(|&p| p.into()).collect()
    }

    #[test]
    fn a_sound_part_has_no_findings() {
        let found = faults(|drawing, cut| {
            drawing.polyline(cut, points(&[(0.0, 0.0), (90.0, 0.0), (90.0, 40.0), (0.0, 40.0)]), true);
            drawing.circle(cut, Point::new(45.0, 20.0), 6.0);
            let mark = drawing.layer("Marks", Operation::Mark);
            drawing.cross(mark, Point::new(10.0, 10.0), 3.0);
            drawing.text(mark, Point::new(20.0, 10.0), 5.0, 0.0, Anchor::Start, "3 AFT");
        });
        assert_eq!(found, []);
    }

    #[test]
    fn letters_outside_their_part_or_over_its_edge_are_found_once_a_text() {
        let at = |x: f64, y: f64| {
            faults(|drawing, cut| {
                drawing.polyline(cut, points(&[(0.0, 0.0), (90.0, 0.0), (90.0, 40.0), (0.0, 40.0)]), true);
                let inside = drawing.layer("Holes", Operation::CutInside);
                drawing.circle(inside, Point::new(70.0, 20.0), 6.0);
                let letters = drawing.layer("Letters", Operation::Engrave);
                drawing.text(letters, Point::new(x, y), 5.0, 0.0, Anchor::Start, "AFT");
            })
        };
        assert_eq!(at(20.0, 10.0), []);
        // Beside it, over its edge, and over a hole in it.
        for (x, y) in [(120.0, 10.0), (-5.0, 10.0), (66.0, 18.0)] {
            assert_eq!(at(x, y), [Fault::LettersOutside], "{x}, {y}");
        }
    }

    #[test]
    fn an_open_cut_is_found() {
        let found = faults(|d, cut| d.polyline(cut, points(&[(0.0, 0.0), (90.0, 0.0), (90.0, 40.0)]), false));
        assert_eq!(found, [Fault::OpenCut]);
    }

    #[test]
    fn an_outline_that_crosses_itself_is_found_and_where() {
        let mut drawing = Drawing::new("part", "Part");
        let cut = drawing.layer("Outline", Operation::CutOutside);
        drawing.polyline(cut, points(&[(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0)]), true);
        let findings = check(&drawing, CHORD_TOLERANCE_MM);
        assert_eq!(findings[0].fault, Fault::NoArea, "the halves of a bow tie cancel");
        drawing.items.clear();
        drawing.polyline(cut, points(&[(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 6.0)]), true);
        let findings = check(&drawing, CHORD_TOLERANCE_MM);
        assert_eq!(findings[0].fault, Fault::CrossesItself);
        let at = findings[0].at.expect("a place");
        assert!((at - Point::new(3.75, 3.75)).hypot() < 1e-9, "{at:?}");
    }

    #[test]
    fn an_outline_that_touches_itself_or_doubles_back_is_found() {
        let touching = [(0.0, 0.0), (20.0, 0.0), (20.0, 10.0), (10.0, 0.0), (0.0, 10.0)];
        assert_eq!(faults(|d, cut| d.polyline(cut, points(&touching), true)), [Fault::CrossesItself]);
        let spike = [(0.0, 0.0), (20.0, 0.0), (20.0, 10.0), (20.0, 40.0), (20.0, 20.0), (0.0, 20.0)];
        assert_eq!(faults(|d, cut| d.polyline(cut, points(&spike), true)), [Fault::CrossesItself]);
    }

    #[test]
    fn a_curved_outline_that_loops_is_found() {
        let found = faults(|drawing, cut| {
            let mut path = kurbo::BezPath::new();
            path.move_to((0.0, 0.0));
            path.curve_to((150.0, 100.0), (-50.0, 100.0), (100.0, 0.0));
            path.line_to((50.0, -50.0));
            path.close_path();
            drawing.path(cut, path);
        });
        assert_eq!(found, [Fault::CrossesItself]);
    }

    #[test]
    fn the_same_line_twice_is_found_whichever_way_it_is_drawn() {
        let found = faults(|drawing, _| {
            let mark = drawing.layer("Marks", Operation::Mark);
            drawing.line(mark, Point::new(0.0, 0.0), Point::new(10.0, 0.0));
            drawing.line(mark, Point::new(10.0, 0.0), Point::new(0.0, 0.0));
        });
        assert_eq!(found, [Fault::DrawnTwice]);
    }

    #[test]
    fn paths_of_no_length_or_area_are_found() {
        let dot = [(5.0, 5.0), (5.0, 5.0)];
        assert_eq!(faults(|d, cut| d.polyline(cut, points(&dot), false)), [Fault::NoLength]);
        let sliver = [(0.0, 0.0), (5.0, 5.0)];
        let found = faults(|d, cut| d.polyline(cut, points(&sliver), true));
        assert!(found.contains(&Fault::NoArea), "{found:?}");
    }

    #[test]
    fn a_mark_on_the_cut_or_outside_the_part_is_found_and_one_that_runs_up_to_it_is_not() {
        let marked = |marks: &[(f64, f64)]| {
            faults(|d, cut| {
                d.polyline(cut, points(&[(0.0, 0.0), (90.0, 0.0), (90.0, 40.0), (0.0, 40.0)]), true);
                let hole = d.layer("Holes", Operation::CutInside);
                d.circle(hole, Point::new(45.0, 20.0), 6.0);
                let mark = d.layer("Marks", Operation::Mark);
                d.polyline(mark, points(marks), false);
            })
        };
        assert_eq!(marked(&[(10.0, 0.2), (10.0, 39.8)]), []);
        assert_eq!(marked(&[(10.0, 0.0), (10.0, 40.0)]), []);
        assert_eq!(marked(&[(10.0, 10.0), (10.0, 0.02), (80.0, 0.02)]), [Fault::MarkOnCut]);
        assert_eq!(marked(&[(10.0, 10.0), (100.0, 10.0)]), [Fault::MarkOutside]);
        assert_eq!(marked(&[(10.0, 20.0), (80.0, 20.0)]), [Fault::MarkOutside], "over a hole");
    }

    #[test]
    fn text_on_a_cut_layer_and_text_respelled_are_found() {
        let found = faults(|d, cut| d.text(cut, Point::ORIGIN, 5.0, 0.0, Anchor::Start, "⅜"));
        assert_eq!(found, [Fault::TextOnCut, Fault::Respelled("3/8".to_owned())]);
    }

    #[test]
    fn numbers_that_are_none_and_missing_layers_are_found_before_anything_else() {
        let found = faults(|drawing, cut| {
            drawing.line(cut, Point::new(0.0, f64::NAN), Point::new(10.0, 0.0));
            drawing.line(cut + 1, Point::new(0.0, 0.0), Point::new(10.0, 0.0));
        });
        assert_eq!(found, [Fault::NotFinite, Fault::NoSuchLayer]);
    }

    #[test]
    fn a_finding_says_what_and_where() {
        let mut drawing = Drawing::new("part", "Part");
        let cut = drawing.layer("Outline", Operation::CutOutside);
        drawing.line(cut, Point::new(1.0, 2.0), Point::new(10.0, 0.0));
        let text = check(&drawing, CHORD_TOLERANCE_MM)[0].to_string();
        assert_eq!(text, "a cut path is open (layer \"Outline\", path 1 of 1, at 1.00, 2.00 mm)");
    }
}
