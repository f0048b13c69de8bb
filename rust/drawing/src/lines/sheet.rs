//! A sheet being drawn in millimetres of paper: its pens, and labels put where there is room.

use kurbo::{Affine, BezPath, Point, Rect, Shape as _, Vec2};

use super::gathered::Line;
use crate::space::{Space, spots_beside, text_width};
use crate::{Anchor, Drawing, Operation, Stroke};

/// Blank edge of the sheet, mm: what desk printers leave.
pub(super) const MARGIN: f64 = 9.0;

/// Room for labels at the ends of grid lines, mm.
pub(super) const GUTTER: f64 = 15.0;

/// How far grid lines run past what they measure, mm.
pub(super) const RUN_ON: f64 = 3.0;

/// Letters of grid labels, of stations' names, of views' names, mm.
pub(super) const SMALL: f64 = 1.7;

pub(super) const STATION: f64 = 2.4;

pub(super) const VIEW: f64 = 2.4;

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
pub(super) struct Label {
    pub(super) text: String,
    pub(super) height: f64,
    pub(super) spots: Vec<Point>,
    /// Where a leader runs to if the label stands off.
    pub(super) leads_to: Option<Point>,
}

impl Label {
    /// Beside a path from a fraction of its length on.
    pub(super) fn beside(text: &str, path: &BezPath, from: f64, above: bool) -> Label {
        Label {
            text: text.to_owned(),
            height: SMALL,
            spots: spots_beside(path, from, SMALL * 1.05, above).collect(),
            leads_to: None,
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
        Label { text: text.to_owned(), height: STATION, spots: spots.collect(), leads_to: Some(ring) }
    }

    /// Above the end of a line, higher where the room is taken, with a leader back to it.
    pub(super) fn above(text: &str, end: Point) -> Label {
        let mut lifts: Vec<Vec2> = (0..30)
            .flat_map(|i| (-12..=12).map(move |j| Vec2::new(0.3 * f64::from(j), 0.3 * f64::from(i))))
            .collect();
        lifts.sort_by(|a, b| (a.y + a.x.abs()).total_cmp(&(b.y + b.x.abs())));
        let spots = lifts.into_iter().map(|lift| end + lift + Vec2::new(0.0, 0.95 * STATION)).collect();
        Label { text: text.to_owned(), height: STATION, spots, leads_to: Some(end) }
    }
}

/// A sheet being drawn.
pub(super) struct Sheet {
    pub(super) drawing: Drawing,
    pub(super) space: Space,
    pub(super) size: (f64, f64),
}

impl Sheet {
    pub(super) fn new(name: &str, title: String, size: (f64, f64)) -> Sheet {
        let space = Space::new(Rect::new(0.0, 0.0, size.0, size.1), CELL);
        Sheet { drawing: Drawing::new(name, title), space, size }
    }

    pub(super) fn frame(&mut self) {
        let edge = Rect::new(0.0, 0.0, self.size.0, self.size.1).inset(-(MARGIN - 3.0));
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
        self.space.take_box(Rect::new(x, at.y, x + width, at.y + height));
        self.drawing.text(layer, at, height, 0.0, anchor, text);
    }

    /// A grid line in a view, labelled at both ends.
    pub(super) fn grid_line(&mut self, view: Affine, ink: Ink, a: Point, b: Point, label: &str) {
        let (a, b) = (view * a, view * b);
        self.path(ink, kurbo::Line::new(a, b).into_path(1e-3));
        self.label_end(a, (a - b).normalize(), label);
        self.label_end(b, (b - a).normalize(), label);
    }

    /// A label off the end of a line that runs out `away`: farther out where the room next to it is taken.
    pub(super) fn label_end(&mut self, end: Point, away: Vec2, label: &str) {
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

    pub(super) fn centreline(&mut self, view: Affine, a: Point, b: Point) {
        self.path(Ink::Centreline, kurbo::Line::new(view * a, view * b).into_path(1e-3));
    }

    /// Puts labels where there is room; one that finds none is left off.
    pub(super) fn label_all(&mut self, labels: Vec<Label>) {
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
