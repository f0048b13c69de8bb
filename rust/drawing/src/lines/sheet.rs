//! A sheet being drawn in millimetres of paper: its pens, and labels put where there is room.

use kurbo::{Affine, BezPath, Point, Rect, Shape as _, Size, Vec2};

use super::gathered::Line;
use super::layout::STAGGERED;
use crate::space::{Space, spots_beside, text_width};
use crate::{Anchor, Drawing, Item, Operation, Stroke};

/// Blank edge of the sheet, mm: what desk printers leave.
pub(super) const MARGIN: f64 = 9.0;

/// How far grid lines run past what they measure, and labels stand off their ends, mm.
pub(super) const RUN_ON: f64 = 3.0;
pub(super) const OFF_END: f64 = 0.8;

/// Letters of labels, of stations' names, of views' names, mm: none is smaller than ISO 3098 allows, and all are of
/// its series.
pub(super) const SMALL: f64 = 2.5;

pub(super) const STATION: f64 = 3.5;

pub(super) const VIEW: f64 = 3.5;

/// Labels at the ends of lines that lie close move outward by so much, mm.
const STAGGER_STEP: f64 = 0.5;

/// From a row of letters to the next outside it.
pub(super) fn row_step(height: f64) -> f64 {
    1.3 * height
}

/// A label that stands farther off than this has a leader, mm.
const LEADER: f64 = 2.0;

/// Dash and gap of a line where no reading is near, mm: apart from the centreline's chain.
const UNREAD_DASHES: [f64; 2] = [2.0, 1.1];

/// Ring round a place that is pointed out, mm.
pub(super) const RING: f64 = 1.5;

/// Squares room for labels is counted in, mm.
const CELL: f64 = 0.4;

/// The pens.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Ink {
    Grid,
    Base,
    LoadWaterline,
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
    Leader,
}

impl Ink {
    pub(super) fn of(self, drawing: &mut Drawing) -> usize {
        let (name, stroke) = self.pen();
        drawing.layer_drawn(name, Operation::Annotate, stroke)
    }

    /// The same line where no reading is near.
    pub(super) fn unread(self, drawing: &mut Drawing) -> usize {
        let (name, stroke) = self.pen();
        drawing.layer_drawn(&format!("{name} unread"), Operation::Annotate, stroke.dashed(&UNREAD_DASHES))
    }

    fn pen(self) -> (&'static str, Stroke) {
        // Told apart by weight and dash, so that a copy in black reads as well: widths are ISO 128's, dashes its types
        // 01 (unbroken), 04 (chain), 08 and 09 (long dash, one and two short ones). Colour only helps.
        let black = [24, 24, 28];
        let dashed = |width: f64, parts: &[f64]| parts.iter().map(|part| part * width).collect::<Vec<f64>>();
        match self {
            Ink::Grid => ("Grid", Stroke::solid(0.13, [120, 120, 120])),
            Ink::Base => ("Base line", Stroke::solid(0.25, black)),
            Ink::LoadWaterline => ("Load waterline", Stroke::solid(0.35, [38, 70, 120])),
            Ink::Centreline => {
                ("Centreline", Stroke::solid(0.18, black).dashed(&dashed(0.18, &[24.0, 3.0, 0.5, 3.0])))
            }
            Ink::Waterline => ("Waterlines", Stroke::solid(0.25, [38, 70, 120])),
            Ink::Buttock => {
                let dashes = dashed(0.25, &[24.0, 3.0, 6.0, 3.0]);
                ("Buttocks", Stroke::solid(0.25, [136, 44, 40]).dashed(&dashes))
            }
            Ink::Diagonal => {
                let dashes = dashed(0.25, &[24.0, 3.0, 6.0, 3.0, 6.0, 3.0]);
                ("Diagonals", Stroke::solid(0.25, [40, 96, 60]).dashed(&dashes))
            }
            Ink::Section => ("Sections", Stroke::solid(0.35, black)),
            Ink::Hull => ("Hull", Stroke::solid(0.5, black)),
            Ink::Frame => ("Frame", Stroke::solid(0.25, black)),
            Ink::Letters => ("Letters", Stroke::solid(0.25, black)),
            Ink::Band => ("Bands", Stroke::solid(0.13, [196, 120, 40]).dashed(&[1.6, 0.8])),
            Ink::Leader => ("Leaders", Stroke::solid(0.13, [120, 120, 120])),
            Ink::Query => ("Queries", Stroke::solid(0.5, [190, 30, 30])),
        }
    }
}

/// A label waiting for room.
pub(super) struct Label {
    pub(super) text: String,
    pub(super) height: f64,
    pub(super) spots: Vec<Point>,
    /// Where a leader runs to if the label stands off.
    pub(super) leads_to: Option<Point>,
    /// It names a section in the body plan.
    pub(super) is_section: bool,
}

impl Label {
    /// Beside a path from a fraction of its length on.
    pub(super) fn beside(text: &str, path: &BezPath, from: f64, above: bool) -> Label {
        Label {
            text: text.to_owned(),
            height: SMALL,
            spots: spots_beside(path, from, SMALL * 1.05, above).collect(),
            leads_to: None,
            is_section: false,
        }
    }

    /// Beside a line that runs up, first on the side `away`, from its middle on.
    pub(super) fn beside_end(text: &str, path: &BezPath, away: f64) -> Label {
        let off = text_width(text, SMALL) / 2.0 + 1.0;
        let along: Vec<Point> = spots_beside(path, 0.5, 0.0, true).collect();
        let spots = [away, -away].into_iter().flat_map(|side| {
            along.iter().flat_map(move |p| [0.0, 2.0].map(|more| *p + Vec2::new(side * (off + more), 0.0)))
        });
        Label {
            text: text.to_owned(),
            height: SMALL,
            spots: spots.collect(),
            leads_to: None,
            is_section: false,
        }
    }

    /// Round a ring, farther out where the room is taken, with a leader back to it.
    pub(super) fn about(text: &str, ring: Point) -> Label {
        let half = text_width(text, STATION) / 2.0;
        let spots = (0..40).flat_map(|i| {
            let out = RING + 1.2 + 1.5 * f64::from(i);
            (0..16).map(move |j| {
                let way = Vec2::from_angle(std::f64::consts::TAU * f64::from(j) / 16.0);
                ring + Vec2::new(way.x * (out + half), way.y * (out + 0.6 * STATION))
            })
        });
        Label {
            text: text.to_owned(),
            height: STATION,
            spots: spots.collect(),
            leads_to: Some(ring),
            is_section: false,
        }
    }

    /// Above the end of a line, higher where the room is taken, with a leader back to it.
    pub(super) fn above(text: &str, end: Point) -> Label {
        let mut lifts: Vec<Vec2> = (0..30)
            .flat_map(|i| (-12..=12).map(move |j| Vec2::new(0.3 * f64::from(j), 0.3 * f64::from(i))))
            .collect();
        lifts.sort_by(|a, b| (a.y + a.x.abs()).total_cmp(&(b.y + b.x.abs())));
        let spots = lifts.into_iter().map(|lift| end + lift + Vec2::new(0.0, 0.95 * STATION)).collect();
        Label { text: text.to_owned(), height: STATION, spots, leads_to: Some(end), is_section: true }
    }
}

/// A sheet being drawn.
pub(super) struct Sheet {
    pub(super) drawing: Drawing,
    /// What hull lines, letters and frames leave free.
    pub(super) space: Space,
    /// What grid lines leave free.
    off_grid: Space,
    /// Grid lines, drawn when all letters stand: they are broken under them (ISO 128).
    grid: Vec<(usize, kurbo::Line)>,
    /// The boxes of all letters.
    letters: Vec<Rect>,
    /// Labels that found no room at one of their places.
    left_off: Vec<String>,
    /// Sections that are not named.
    unnamed: Vec<String>,
    pub(super) size: Size,
}

impl Sheet {
    pub(super) fn new(name: &str, title: String, size: Size) -> Sheet {
        let space = Space::new(Rect::from_origin_size(Point::ORIGIN, size), CELL);
        let mut drawing = Drawing { sheet: Some(size), ..Drawing::new(name, title) };
        // Below all else.
        for ink in [Ink::Grid, Ink::Base] {
            ink.of(&mut drawing);
        }
        Sheet {
            drawing,
            off_grid: space.clone(),
            space,
            grid: Vec::new(),
            letters: Vec::new(),
            left_off: Vec::new(),
            unnamed: Vec::new(),
            size,
        }
    }

    /// The drawing, its grid lines broken where letters stand on them.
    pub(super) fn finished(mut self) -> Drawing {
        for (layer, line) in std::mem::take(&mut self.grid) {
            for part in clear_of(line, &self.letters) {
                self.drawing.line(layer, part.p0, part.p1);
            }
        }
        // What stands nowhere else is said to be missing, and a section that has no name of its own whatever else is
        // called so.
        let stands = |label: &String| {
            let is_it = |text: &String| text == label || text.strip_prefix("LWL ") == Some(label);
            self.drawing.items.iter().any(|item| matches!(item, Item::Text { text, .. } if is_it(text)))
        };
        let missing = self.left_off.iter().filter(|label| !stands(label)).cloned();
        let sections = self.unnamed.iter().map(|name| format!("{name} on its section"));
        for label in missing.chain(sections).collect::<Vec<_>>() {
            if !self.drawing.unwritten.contains(&label) {
                self.drawing.unwritten.push(label);
            }
        }
        self.drawing
    }

    pub(super) fn frame(&mut self) {
        let edge = Rect::from_origin_size(Point::ORIGIN, self.size).inset(-(MARGIN - 3.0));
        self.path(Ink::Frame, edge.to_path(1e-3));
    }

    pub(super) fn path(&mut self, ink: Ink, path: BezPath) {
        if path.elements().is_empty() {
            return;
        }
        self.space.take(&path);
        let layer = ink.of(&mut self.drawing);
        self.drawing.path(layer, path);
    }

    /// A line in a view, dashed where no reading is near.
    pub(super) fn line(&mut self, ink: Ink, view: Affine, line: &Line) {
        if line.unread.is_empty() {
            return self.path(ink, view * line.curve.path());
        }
        for (part, is_read) in line.parts() {
            self.part(ink, view * part.path(), is_read);
        }
    }

    pub(super) fn part(&mut self, ink: Ink, path: BezPath, is_read: bool) {
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
    pub(super) fn text(&mut self, at: Point, height: f64, anchor: Anchor, text: &str) {
        let layer = Ink::Letters.of(&mut self.drawing);
        let width = text_width(text, height);
        let x = match anchor {
            Anchor::Start => at.x,
            Anchor::Middle => at.x - width / 2.0,
            Anchor::End => at.x - width,
        };
        self.takes_letters(Rect::new(x, at.y, x + width, at.y + height));
        self.drawing.text(layer, at, height, 0.0, anchor, text);
    }

    fn takes_letters(&mut self, r: Rect) {
        self.space.take_box(r);
        self.letters.push(r.inflate(CLEAR_OF_LETTERS, CLEAR_OF_LETTERS));
    }

    /// A grid line.
    pub(super) fn grid(&mut self, ink: Ink, a: Point, b: Point) {
        let line = kurbo::Line::new(a, b);
        self.off_grid.take(&line.into_path(1e-3));
        let layer = ink.of(&mut self.drawing);
        self.grid.push((layer, line));
    }

    /// A grid line in a view, labelled at both ends.
    pub(super) fn grid_line(&mut self, view: Affine, ink: Ink, a: Point, b: Point, label: &str) {
        let (a, b) = (view * a, view * b);
        self.grid(ink, a, b);
        self.label_end(a, (a - b).normalize(), label);
        self.label_end(b, (b - a).normalize(), label);
    }

    /// A label off the end of a line that runs out `away`: farther out where the room next to it is taken, and left off
    /// where there is none.
    pub(super) fn label_end(&mut self, end: Point, away: Vec2, label: &str) {
        self.name_end(end, away, label, SMALL);
    }

    /// The same in letters of another height.
    pub(super) fn name_end(&mut self, end: Point, away: Vec2, label: &str, height: f64) {
        if label.is_empty() {
            return;
        }
        let width = text_width(label, height);
        let (first, row) = match away.x.abs() > 0.5 {
            true => (OFF_END + width / 2.0, width + 1.0),
            false => (OFF_END + height / 2.0, row_step(height)),
        };
        let steps = (row * (STAGGERED - 1) as f64 / STAGGER_STEP).round() as usize;
        let spots = (0..=steps).map(|i| end + away * (first + STAGGER_STEP * i as f64));
        let size = kurbo::Size::new(width, height);
        let found = spots.into_iter().find(|p| self.space.is_free(Rect::from_center_size(*p, size)));
        match found {
            Some(at) => self.text(at - Vec2::new(0.0, height / 2.0), height, Anchor::Middle, label),
            None => self.left_off.push(label.to_owned()),
        }
    }

    pub(super) fn centreline(&mut self, view: Affine, a: Point, b: Point) {
        self.path(Ink::Centreline, kurbo::Line::new(view * a, view * b).into_path(1e-3));
    }

    /// Puts labels where there is room, clear of the grid if there is any such place; one that finds none is left off.
    pub(super) fn label_all(&mut self, labels: Vec<Label>) {
        let layer = Ink::Letters.of(&mut self.drawing);
        for label in labels {
            let size = Size::new(text_width(&label.text, label.height), label.height * 1.15);
            let boxes = || label.spots.iter().map(|p| Rect::from_center_size(*p, size));
            let clear = boxes().find(|r| self.space.is_free(*r) && self.off_grid.is_free(*r));
            let Some(r) = clear.or_else(|| boxes().find(|r| self.space.is_free(*r))) else {
                let of = if label.is_section { &mut self.unnamed } else { &mut self.left_off };
                of.push(label.text);
                continue;
            };
            self.takes_letters(r);
            let at = Point::new(r.center().x, r.center().y - label.height / 2.0);
            if let Some(end) = label.leads_to.filter(|end| end.distance(at) > LEADER + label.height) {
                let leader = kurbo::Line::new(Point::new(at.x, r.y0), end + Vec2::new(0.0, 0.6));
                self.path(Ink::Leader, leader.into_path(1e-3));
            }
            self.drawing.text(layer, at, label.height, 0.0, Anchor::Middle, label.text);
        }
    }
}

/// Room between letters and a line that is broken for them, mm.
const CLEAR_OF_LETTERS: f64 = 0.3;

/// A part of a grid line shorter than this between two letters is left out, mm.
const LEAST_PART: f64 = 0.5;

/// The parts of a line outside boxes.
fn clear_of(line: kurbo::Line, boxes: &[Rect]) -> Vec<kurbo::Line> {
    let along = line.p1 - line.p0;
    let length = along.hypot();
    // Where each box is entered and left, as parts of the line.
    let mut cuts: Vec<(f64, f64)> = boxes.iter().filter_map(|r| within(line, *r)).collect();
    cuts.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (mut parts, mut at) = (Vec::new(), 0.0);
    for (from, to) in cuts.into_iter().chain([(1.0, 1.0)]) {
        if (from - at) * length > LEAST_PART {
            parts.push(kurbo::Line::new(line.p0 + along * at, line.p0 + along * from));
        }
        at = to.max(at);
    }
    parts
}

/// The part of a line inside a box, from and to.
fn within(line: kurbo::Line, r: Rect) -> Option<(f64, f64)> {
    let along = line.p1 - line.p0;
    let sides = [(line.p0.x, along.x, r.x0, r.x1), (line.p0.y, along.y, r.y0, r.y1)];
    let (mut from, mut to) = (0.0f64, 1.0f64);
    for (p, d, low, high) in sides {
        if d.abs() < 1e-12 {
            if p < low || p > high {
                return None;
            }
            continue;
        }
        let (a, b) = ((low - p) / d, (high - p) / d);
        (from, to) = (from.max(a.min(b)), to.min(a.max(b)));
    }
    (from < to).then_some((from, to))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_grid_line_is_broken_under_letters_and_nowhere_else() {
        let line = kurbo::Line::new((0.0, 5.0), (100.0, 5.0));
        let boxes = [
            Rect::new(60.0, 4.0, 70.0, 6.0),
            Rect::new(10.0, 0.0, 20.0, 9.0),
            Rect::new(30.0, 6.0, 40.0, 9.0),
        ];
        let parts: Vec<(f64, f64)> = clear_of(line, &boxes).iter().map(|l| (l.p0.x, l.p1.x)).collect();
        assert_eq!(parts, [(0.0, 10.0), (20.0, 60.0), (70.0, 100.0)]);
        assert_eq!(clear_of(line, &[]).len(), 1);
        assert!(clear_of(line, &[Rect::new(-1.0, 0.0, 101.0, 9.0)]).is_empty());
    }
}
