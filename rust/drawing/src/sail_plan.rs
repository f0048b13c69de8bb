//! The sail plan: sails over the profile, centre of effort, centre of lateral resistance, and the lead between.
//!
//! The centre of lateral resistance is taken for that of the lateral plane (common practice). Drawn in millimetres of paper
//! at a scale in common use, or at full size.

use kurbo::{Affine, Point, Rect};
use scrieve_hull::Hull;

use crate::{Anchor, Drawing, Operation, Stroke};

/// What is drawn of one rig. Metres, (x, z).
#[derive(Clone, Debug, PartialEq)]
pub struct SailPlan {
    /// The drawing's name, without spaces.
    pub name: String,
    /// What is written under it.
    pub title: String,
    /// Each sail.
    pub sails: Vec<Sail>,
    /// Where the sails' push is taken to act.
    pub centre_of_effort: Point,
    /// Parts of the lateral plane with outlines of their own: names and corners.
    pub lateral: Vec<(String, Vec<Point>)>,
    /// Where the water's is.
    pub centre_of_lateral_resistance: Point,
    /// The ends of the waterline, x.
    pub waterline: [f64; 2],
    /// Its height.
    pub draught: f64,
    /// Length on the waterline.
    pub lwl: f64,
    /// How far the centre of effort stands forward of the other, over that length.
    pub lead: f64,
    /// Sail area, m², over the two-thirds power of the volume, and over the wetted surface.
    pub ratios: [f64; 2],
    /// What the lateral plane is taken to be, part by part.
    pub counted: Vec<String>,
}

/// A sail.
#[derive(Clone, Debug, PartialEq)]
pub struct Sail {
    /// Its name.
    pub name: String,
    /// Its corners, m.
    pub corners: Vec<Point>,
    /// Its area, m².
    pub area: f64,
    /// Its centre, m.
    pub centre: Point,
}

/// A scale that is none.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("a scale of 1 to {0}: it must be a number above 0")]
pub struct BadScale(pub f64);

/// Scales in common use, metric and feet and inches; the first that fits is taken.
const SCALES: [f64; 24] = [
    1.0, 2.0, 4.0, 5.0, 8.0, 10.0, 12.0, 16.0, 20.0, 24.0, 25.0, 32.0, 40.0, 48.0, 50.0, 64.0, 75.0, 96.0,
    100.0, 150.0, 192.0, 200.0, 250.0, 500.0,
];
/// What an A3 sheet holds within its margins, mm.
const SHEET_MM: (f64, f64) = (390.0, 260.0);
/// Letters, mm of paper: as the lines drawing's.
const LETTER_MM: f64 = 2.8;
/// Places along a line of the profile.
const PLACES: usize = 80;
/// Room for title and dimension below the profile, mm.
const FOOT_MM: f64 = 46.0;
/// How far the waterline runs on past its ends, as a part of the whole drawing's length.
const RUNS_ON: f64 = 0.04;

impl SailPlan {
    /// Drawn over the profile of a hull, at 1 to `scale`; left out, at one that fits a sheet.
    ///
    /// # Errors
    /// A scale that is no number above 0.
    pub fn drawn(&self, hull: &Hull, scale: Option<f64>) -> Result<Drawing, BadScale> {
        let profile = profile(hull);
        let all = profile.iter().chain(self.sails.iter().map(|sail| &sail.corners));
        let all = all.chain(self.lateral.iter().map(|(_, corners)| corners)).flatten();
        let whole = bounds(all.copied());
        let fits =
            |n: f64| 1e3 * whole.width() / n < SHEET_MM.0 && 1e3 * whole.height() / n + FOOT_MM < SHEET_MM.1;
        let common = || SCALES.into_iter().find(|n| fits(*n)).unwrap_or(SCALES[SCALES.len() - 1]);
        let scale = scale.unwrap_or_else(common);
        if !(scale.is_finite() && scale > 0.0) {
            return Err(BadScale(scale));
        }
        let k = 1e3 / scale;
        // Letters of a full-size drawing are still read with the whole of it in view.
        let letter = LETTER_MM * (k * whole.width() / SHEET_MM.0).max(1.0);
        let mut sheet = Sheet::new(self, Affine::scale(k), letter);
        for line in &profile {
            sheet.line(Pen::Hull, line, false);
        }
        let [effort, resistance] =
            [self.centre_of_effort, self.centre_of_lateral_resistance].map(|p| sheet.view * p);
        for (name, corners) in &self.lateral {
            sheet.line(Pen::LateralPlane, corners, true);
            sheet.name_beside(name, corners, [effort.x, resistance.x]);
        }
        let reach = RUNS_ON * whole.width();
        let [fore, aft] = self.waterline;
        let ends = [fore - reach, aft + reach].map(|x| Point::new(x, self.draught));
        sheet.line(Pen::Waterline, &ends, false);
        let at = sheet.view * ends[0];
        sheet.write("waterline", (at.x - letter, at.y - 0.5 * letter), Anchor::End, 1.0);
        for sail in &self.sails {
            sheet.sail(sail, effort);
        }
        for (name, at) in [("CE", effort), ("CLR", resistance)] {
            let pen = sheet.pen(Pen::Centres);
            sheet.drawing.circle(pen, at, 0.6 * letter);
            sheet.drawing.cross(pen, at, letter);
            sheet.write(name, (at.x + 1.4 * letter, at.y + 0.4 * letter), Anchor::Start, 1.0);
        }
        // The lead, set off below everything.
        let foot = k * whole.y0 - 5.0 * letter;
        sheet.lead(&self.lead_said(), [effort, resistance], foot);
        let (left, y) = (k * whole.x0, foot - 5.0 * letter);
        sheet.write(&self.title, (left, y), Anchor::Start, 1.4);
        for (i, text) in self.said_below(scale).iter().enumerate() {
            let down = (2.0 + 1.8 * i as f64) * letter;
            sheet.write(text, (left, y - down), Anchor::Start, 1.0);
        }
        Ok(sheet.drawing)
    }

    fn lead_said(&self) -> String {
        let abaft = if self.lead < 0.0 { " (CE abaft CLR)" } else { "" };
        format!("lead {:.3} m, {:.1} % of LWL{abaft}", self.lead * self.lwl, 100.0 * self.lead)
    }

    fn said_below(&self, scale: f64) -> [String; 4] {
        let area: f64 = self.sails.iter().map(|sail| sail.area).sum();
        let [to_displacement, to_wetted_surface] = self.ratios;
        let counted = match self.counted.as_slice() {
            [first @ .., last] if !first.is_empty() => format!("{} and {last}", first.join(", ")),
            all => all.concat(),
        };
        [
            format!("sail area {area:.2} m², LWL {:.3} m, 1:{}", self.lwl, in_short(scale)),
            format!("SA/volume^⅔ {to_displacement:.2}, SA/S {to_wetted_surface:.2}"),
            format!("lateral plane: {counted}"),
            "for comparison and study".to_owned(),
        ]
    }
}

/// A number above 0 to six figures, without what they end in of noughts.
fn in_short(number: f64) -> String {
    let places = (5.0 - number.log10().floor()).clamp(0.0, 12.0) as usize;
    let said = format!("{number:.places$}");
    if said.contains('.') { said.trim_end_matches('0').trim_end_matches('.').to_owned() } else { said }
}

/// What each thing is drawn with.
#[derive(Clone, Copy)]
enum Pen {
    Hull,
    LateralPlane,
    Sails,
    Waterline,
    Centres,
    Dimensions,
    Letters,
}

impl Pen {
    const ALL: [Pen; 7] = [
        Pen::Hull,
        Pen::LateralPlane,
        Pen::Sails,
        Pen::Waterline,
        Pen::Centres,
        Pen::Dimensions,
        Pen::Letters,
    ];

    fn drawn_with(self) -> (&'static str, Stroke) {
        let black = [0, 0, 0];
        match self {
            Pen::Hull => ("Hull", Stroke::solid(0.4, black)),
            Pen::LateralPlane => ("Lateral plane", Stroke::solid(0.25, black).dashed(&[3.0, 1.0])),
            Pen::Sails => ("Sails", Stroke::solid(0.3, [136, 44, 40])),
            Pen::Waterline => ("Waterline", Stroke::solid(0.2, [38, 70, 120])),
            Pen::Centres => ("Centres", Stroke::solid(0.3, black)),
            Pen::Dimensions => ("Dimensions", Stroke::solid(0.13, black).dashed(&[4.0, 1.0, 1.0, 1.0])),
            Pen::Letters => ("Letters", Stroke::solid(0.18, black)),
        }
    }
}

/// The paper, mm.
struct Sheet {
    drawing: Drawing,
    layers: [usize; Pen::ALL.len()],
    view: Affine,
    letter: f64,
}

impl Sheet {
    fn new(plan: &SailPlan, view: Affine, letter: f64) -> Sheet {
        let mut drawing = Drawing::new(plan.name.clone(), plan.title.clone());
        let layers = Pen::ALL.map(|pen| {
            let (name, stroke) = pen.drawn_with();
            drawing.layer_drawn(name, Operation::Annotate, stroke)
        });
        Sheet { drawing, layers, view, letter }
    }

    fn pen(&self, pen: Pen) -> usize {
        self.layers[pen as usize]
    }

    fn line(&mut self, pen: Pen, points: &[Point], closed: bool) {
        let (layer, view) = (self.pen(pen), self.view);
        self.drawing.polyline(layer, points.iter().map(|p| view * *p), closed);
    }

    fn write(&mut self, text: &str, at: (f64, f64), anchor: Anchor, size: f64) {
        let (layer, height) = (self.pen(Pen::Letters), size * self.letter);
        self.drawing.text(layer, at.into(), height, 0.0, anchor, text);
    }

    /// The name of an outline below it, or beside it, off the lines at `clear_of` that are let down for the lead.
    fn name_beside(&mut self, name: &str, corners: &[Point], clear_of: [f64; 2]) {
        let letter = self.letter;
        let drawn: Vec<Point> = corners.iter().map(|p| self.view * *p).collect();
        let spread = bounds(drawn.iter().copied());
        let middle = drawn.iter().map(|p| p.x).sum::<f64>() / drawn.len() as f64;
        let wide = 0.6 * letter * name.chars().count() as f64;
        let places = [
            ((middle, spread.y0 - 1.7 * letter), Anchor::Middle, 0.5),
            ((spread.x1 + letter, spread.y0), Anchor::Start, 0.0),
            ((spread.x0 - letter, spread.y0), Anchor::End, 1.0),
        ];
        let is_clear = |((x, _), _, part): &((f64, f64), Anchor, f64)| {
            let off = |line: f64| line - x + part * wide;
            clear_of.iter().all(|line| !(-letter < off(*line) && off(*line) < wide + letter))
        };
        let (at, anchor, _) = *places.iter().find(|place| is_clear(place)).unwrap_or(&places[0]);
        self.write(name, at, anchor, 1.0);
    }

    /// A sail with its name and area, clear of the centre of effort, which is this sail's own where there is but one.
    fn sail(&mut self, sail: &Sail, effort: Point) {
        self.line(Pen::Sails, &sail.corners, true);
        let letter = self.letter;
        let at = self.view * sail.centre;
        let near = (at.x - effort.x).abs() < 8.0 * letter && (at.y - effort.y).abs() < 5.0 * letter;
        let aside = if at.y >= effort.y { 3.8 } else { -4.4 };
        let up = if near { effort.y - at.y + aside * letter } else { 0.0 };
        self.write(&sail.name, (at.x, at.y + up + 0.3 * letter), Anchor::Middle, 1.0);
        let area = format!("{:.2} m²", sail.area);
        self.write(&area, (at.x, at.y + up - 1.2 * letter), Anchor::Middle, 1.0);
    }

    fn lead(&mut self, said: &str, centres: [Point; 2], foot: f64) {
        let letter = self.letter;
        let (dimensions, bar) = (self.pen(Pen::Dimensions), self.pen(Pen::Centres));
        for at in centres {
            let down = [Point::new(at.x, at.y - letter), Point::new(at.x, foot - letter)];
            self.drawing.polyline(dimensions, down, false);
        }
        let ends = centres.map(|at| Point::new(at.x, foot));
        self.drawing.polyline(bar, ends, false);
        for end in ends {
            let tick = [-0.4 * letter, 0.4 * letter].map(|off| Point::new(end.x + off, end.y + off));
            self.drawing.polyline(bar, tick, false);
        }
        let right = ends[0].x.max(ends[1].x);
        self.write(said, (right + 1.5 * letter, foot - 0.5 * letter), Anchor::Start, 1.0);
    }
}

/// Lines of the profile, (x, z): rabbet, chines and sheer, and the ends of each strake.
fn profile(hull: &Hull) -> Vec<Vec<Point>> {
    let flat = |p: [f64; 3]| Point::new(p[0], p[2]);
    let along = hull.reference_lines().into_iter();
    let mut lines: Vec<Vec<Point>> =
        along.map(|curve| curve.points(PLACES).into_iter().map(flat).collect()).collect();
    let part = |j: usize| j as f64 / (PLACES - 1) as f64;
    for patch in &hull.surface().patches {
        lines.extend([0.0, 1.0].map(|u| (0..PLACES).map(|j| flat(patch.point(u, part(j)))).collect()));
    }
    lines
}

fn bounds(points: impl Iterator<Item = Point>) -> Rect {
    points.map(|p| Rect::from_points(p, p)).reduce(|a, b| a.union(b)).unwrap_or(Rect::ZERO)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scales_are_written_in_short() {
        assert_eq!([1.0, 12.5, 24.0, 500.0, 1.0 / 3.0].map(in_short), ["1", "12.5", "24", "500", "0.333333"]);
    }
}
