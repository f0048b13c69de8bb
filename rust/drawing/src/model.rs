//! One drawing model for every writer: layers by operation, paths, marks and text, in millimetres.

use kurbo::{Affine, BezPath, Circle, Point, Rect, Shape, Size, Vec2};

/// Width of a letter for its height where no font is at hand: a common sans serif runs from
/// 0.5 to 0.65, figures and capitals widest; too small cuts labels off at the edge of a sheet, too
/// large wastes paper.
const LETTER_WIDTH: f64 = 0.65;

/// How far a curve drawn by [`Drawing::circle`] may stray from the circle, mm. Far below the
/// tolerance of any writer, so that the arcs fitted later find the circle again.
const CIRCLE_TOLERANCE: f64 = 1e-4;

/// Layer of the square on each sheet that is measured before anything is cut: its marks are meant to be in the waste.
pub const CHECK_SQUARE: &str = "Check square";

/// What the shop does with a layer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Operation {
    /// Cut through along the outside of the line.
    CutOutside,
    /// Cut through along the inside of the line: holes, notches.
    CutInside,
    /// Score or draw: grid lines, marks.
    Mark,
    /// Engrave letters.
    Engrave,
    /// Not cut: titles, dimensions, the lines drawing.
    Annotate,
}

impl Operation {
    /// Every operation.
    pub const ALL: [Self; 5] = [Self::CutOutside, Self::CutInside, Self::Mark, Self::Engrave, Self::Annotate];

    /// True if a cutter follows the lines.
    pub fn is_cut(self) -> bool {
        matches!(self, Self::CutOutside | Self::CutInside)
    }

    /// The name in words.
    pub fn name(self) -> &'static str {
        match self {
            Self::CutOutside => "cut outside",
            Self::CutInside => "cut inside",
            Self::Mark => "mark",
            Self::Engrave => "engrave",
            Self::Annotate => "annotate",
        }
    }

    /// The operation of this name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|operation| operation.name() == name)
    }

    /// A stroke that tells the operations apart on screen and, by its tone, on grey paper.
    pub fn stroke(self) -> Stroke {
        match self {
            Self::CutOutside => Stroke::solid(0.35, [0, 0, 0]),
            Self::CutInside => Stroke::solid(0.35, [204, 0, 0]),
            Self::Mark => Stroke::solid(0.18, [0, 102, 204]),
            Self::Engrave => Stroke::solid(0.25, [0, 128, 64]),
            Self::Annotate => Stroke::solid(0.18, [96, 96, 96]),
        }
    }
}

/// How a line of a layer looks on screen and paper.
#[derive(Clone, Debug, PartialEq)]
pub struct Stroke {
    /// Width on paper, mm.
    pub width_mm: f64,
    /// Colour, sRGB.
    pub rgb: [u8; 3],
    /// Dashes and gaps on paper, mm; empty is solid.
    pub dashes_mm: Vec<f64>,
}

impl Stroke {
    /// An unbroken line.
    pub fn solid(width_mm: f64, rgb: [u8; 3]) -> Self {
        Self { width_mm, rgb, dashes_mm: Vec::new() }
    }

    /// The same line, broken: lengths of dash, gap, dash, gap, mm on paper.
    #[must_use]
    pub fn dashed(mut self, dashes_mm: &[f64]) -> Self {
        self.dashes_mm = dashes_mm.to_vec();
        self
    }
}

/// A layer.
#[derive(Clone, Debug, PartialEq)]
pub struct Layer {
    /// Its name: plain ASCII.
    pub name: String,
    /// What is done with it.
    pub operation: Operation,
    /// How it looks.
    pub stroke: Stroke,
}

/// Where a text stands against its point.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Anchor {
    /// Its left end at the point.
    #[default]
    Start,
    /// Its middle.
    Middle,
    /// Its right end.
    End,
}

/// Something drawn. Layers are indices into the drawing's list; lengths are mm.
#[derive(Clone, Debug, PartialEq)]
pub enum Item {
    /// A line, open or closed by its own `ClosePath`.
    Path {
        /// Layer.
        layer: usize,
        /// The path, mm.
        path: BezPath,
    },
    /// A line of text.
    Text {
        /// Layer.
        layer: usize,
        /// Where.
        at: Point,
        /// Letter height, mm.
        height: f64,
        /// Anticlockwise from the first axis, radians.
        angle: f64,
        /// Which end of it is at the point.
        anchor: Anchor,
        /// What it says.
        text: String,
    },
}

/// A part that is cut out, as a shop is told of it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Part {
    /// What it is called.
    pub name: String,
    /// Which of the drawing's items is its outline.
    pub outline: usize,
    /// How many are cut of it.
    pub count: usize,
    /// Thickness of its stock, mm; `None` where nobody said.
    pub thickness_mm: Option<f64>,
    /// What was taken off, as for planking.
    pub off: String,
    /// Which face is drawn.
    pub face: String,
    /// How the grain runs, anticlockwise from level, radians; `None` where it may run any way.
    pub grain: Option<f64>,
}

/// Words that stand in a drawing as the strokes of a path; lengths as of [`Item::Text`].
#[derive(Clone, Debug, PartialEq)]
pub struct Engraved {
    /// Which of the drawing's items is their strokes.
    pub item: usize,
    /// Where.
    pub at: Point,
    /// Letter height, mm.
    pub height: f64,
    /// Anticlockwise from the first axis, radians.
    pub angle: f64,
    /// Which end of them is at the point.
    pub anchor: Anchor,
    /// What they say.
    pub text: String,
}

/// A drawing, y up, in millimetres at full size unless its name says otherwise.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Drawing {
    /// Its name, from which a file is named.
    pub name: String,
    /// Its title.
    pub title: String,
    /// Layers.
    pub layers: Vec<Layer>,
    /// What is drawn, in order.
    pub items: Vec<Item>,
    /// The parts that are cut out, as far as whoever drew them told; see [`Drawing::all_parts`].
    pub parts: Vec<Part>,
    /// What its title box says, a line each; without a line it has none. Written below the drawing, never cut.
    pub title_box: Vec<String>,
    /// What was to be written on a part and had no room there, however small.
    pub unwritten: Vec<String>,
    /// The drawing sheet it is set out on, its lower left corner at the origin, mm: what is written for paper is of
    /// this size. `None` for patterns, which are as large as what is cut.
    pub sheet: Option<Size>,
    /// What is said by strokes.
    pub engraved: Vec<Engraved>,
    /// The boat it is of; nothing where nobody said.
    pub boat: String,
    /// SHA-256 of the table it is of, in hexadecimals; nothing where nobody said.
    pub table_sha256: String,
}

impl Item {
    /// The layer it is on.
    pub fn layer(&self) -> usize {
        match self {
            Self::Path { layer, .. } | Self::Text { layer, .. } => *layer,
        }
    }
}

impl Drawing {
    /// An empty drawing.
    pub fn new(name: impl Into<String>, title: impl Into<String>) -> Self {
        Self { name: name.into(), title: title.into(), ..Self::default() }
    }

    /// The index of the layer of this name, made with the operation's own stroke if there is none.
    pub fn layer(&mut self, name: &str, operation: Operation) -> usize {
        self.layer_drawn(name, operation, operation.stroke())
    }

    /// The index of the layer of this name and operation, made with this stroke if there is none. Where the name is that
    /// of a layer with which something else is done, the operation stands behind it: a cut is no mark, whatever both are
    /// called.
    pub fn layer_drawn(&mut self, name: &str, operation: Operation, stroke: Stroke) -> usize {
        let mut name = name.to_owned();
        while let Some(index) = self.layers.iter().position(|layer| layer.name == name) {
            if self.layers[index].operation == operation {
                return index;
            }
            name = format!("{name} ({})", operation.name());
        }
        self.layers.push(Layer { name, operation, stroke });
        self.layers.len() - 1
    }

    /// Adds a path, open or closed by its own `ClosePath`.
    pub fn path(&mut self, layer: usize, path: impl Into<BezPath>) {
        self.items.push(Item::Path { layer, path: path.into() });
    }

    /// Adds the outline of a part that is cut out, and what the shop is told of it.
    pub fn part(&mut self, layer: usize, outline: BezPath, part: Part) {
        self.parts.push(Part { outline: self.items.len(), ..part });
        self.path(layer, outline);
    }

    /// Every part that is cut out: those that were told of, and any other outside that is cut, one of each, under the
    /// drawing's own name.
    pub fn all_parts(&self) -> Vec<Part> {
        let mut parts = Vec::new();
        for (outline, item) in self.items.iter().enumerate() {
            let told = self.parts.iter().find(|part| part.outline == outline);
            let is_cut = self.layers.get(item.layer()).is_some_and(|l| l.operation == Operation::CutOutside);
            let is_path = matches!(item, Item::Path { .. });
            if let Some(part) = told {
                parts.push(part.clone());
            } else if is_cut && is_path {
                parts.push(Part { name: self.name.clone(), outline, count: 1, ..Part::default() });
            }
        }
        parts
    }

    /// Adds an item of a like drawing with its layer, and the words it is the strokes of.
    pub(crate) fn take(&mut self, from: &Self, which: usize) {
        let mut item = from.items[which].clone();
        let own = &from.layers[item.layer()];
        let to = self.layer_drawn(&own.name, own.operation, own.stroke.clone());
        match &mut item {
            Item::Path { layer, .. } | Item::Text { layer, .. } => *layer = to,
        }
        let said = from.engraved.iter().find(|said| said.item == which).cloned();
        self.engraved.extend(said.map(|said| Engraved { item: self.items.len(), ..said }));
        self.items.push(item);
    }

    /// Adds a straight line.
    pub fn line(&mut self, layer: usize, from: Point, to: Point) {
        self.polyline(layer, [from, to], false);
    }

    /// Adds straight lines from point to point; nothing if there is no point.
    pub fn polyline(&mut self, layer: usize, points: impl IntoIterator<Item = Point>, closed: bool) {
        let mut path = BezPath::new();
        for point in points {
            if path.elements().is_empty() {
                path.move_to(point);
            } else {
                path.line_to(point);
            }
        }
        if path.elements().is_empty() {
            return;
        }
        if closed {
            path.close_path();
        }
        self.path(layer, path);
    }

    /// Adds a circle.
    pub fn circle(&mut self, layer: usize, centre: Point, radius: f64) {
        self.path(layer, Circle::new(centre, radius).to_path(CIRCLE_TOLERANCE));
    }

    /// Adds an upright cross, arms of the given length from its centre.
    pub fn cross(&mut self, layer: usize, centre: Point, arm: f64) {
        for along in [Vec2::new(arm, 0.0), Vec2::new(0.0, arm)] {
            self.line(layer, centre - along, centre + along);
        }
    }

    /// Adds a line of text: height in mm, angle anticlockwise from the first axis in radians.
    pub fn text(
        &mut self,
        layer: usize,
        at: Point,
        height: f64,
        angle: f64,
        anchor: Anchor,
        text: impl Into<String>,
    ) {
        self.items.push(Item::Text { layer, at, height, angle, anchor, text: text.into() });
    }

    /// The box round all that is drawn, line widths left out and text by its usual width;
    /// `None` if nothing is drawn.
    pub fn bounds(&self) -> Option<Rect> {
        self.items.iter().filter_map(item_bounds).reduce(|a, b| a.union(b))
    }

    /// All of it so many times as large, its sheet and letters too; lines keep their width on paper.
    #[must_use]
    pub fn magnified(mut self, times: f64) -> Self {
        for item in &mut self.items {
            match item {
                Item::Path { path, .. } => path.apply_affine(Affine::scale(times)),
                Item::Text { at, height, .. } => {
                    (*at, *height) = ((at.to_vec2() * times).to_point(), *height * times)
                }
            }
        }
        self.sheet = self.sheet.map(|size| size * times);
        self
    }

    /// Drawings in a row, `gap` mm clear between them, feet on one line; named and titled after the first.
    pub fn side_by_side(drawings: &[Self], gap: f64) -> Self {
        let Some(first) = drawings.first() else { return Self::default() };
        let title = match drawings.len() {
            1 => first.title.clone(),
            count => format!("{} and {} more", first.title, count - 1),
        };
        let mut row = Self::new(&first.name, title);
        row.boat.clone_from(&first.boat);
        row.table_sha256.clone_from(&first.table_sha256);
        let mut left = 0.0;
        for drawing in drawings {
            let bounds = drawing.bounds().unwrap_or_default();
            row.append(drawing, Vec2::new(left - bounds.x0, -bounds.y0));
            left += bounds.width() + gap;
        }
        row
    }

    /// Appends another drawing moved by `offset`, its layers joined to those of the same name and operation.
    pub fn append(&mut self, other: &Self, offset: Vec2) {
        let layers: Vec<usize> = (other.layers.iter())
            .map(|layer| self.layer_drawn(&layer.name, layer.operation, layer.stroke.clone()))
            .collect();
        let before = self.items.len();
        self.unwritten.extend(other.unwritten.iter().cloned());
        self.parts.extend(other.parts.iter().map(|p| Part { outline: p.outline + before, ..p.clone() }));
        let said = other.engraved.iter().cloned();
        self.engraved.extend(said.map(|e| Engraved { item: e.item + before, at: e.at + offset, ..e }));
        for item in &other.items {
            let mut item = item.clone();
            match &mut item {
                Item::Path { layer, path } => {
                    *layer = layers[*layer];
                    path.apply_affine(kurbo::Affine::translate(offset));
                }
                Item::Text { layer, at, .. } => {
                    *layer = layers[*layer];
                    *at += offset;
                }
            }
            self.items.push(item);
        }
    }
}

/// The box round an item; `None` of an empty path.
pub(crate) fn item_bounds(item: &Item) -> Option<Rect> {
    match item {
        Item::Path { path, .. } => match path.elements() {
            [] => None,
            [kurbo::PathEl::MoveTo(only)] => Some(Rect::from_points(*only, *only)),
            _ => Some(path.bounding_box()),
        },
        Item::Text { at, height, angle, anchor, text, .. } => {
            let width = LETTER_WIDTH * height * text.chars().count() as f64;
            let start = match anchor {
                Anchor::Start => 0.0,
                Anchor::Middle => -0.5 * width,
                Anchor::End => -width,
            };
            let flat = Rect::new(start, 0.0, start + width, *height);
            let placed = kurbo::Affine::translate(at.to_vec2()) * kurbo::Affine::rotate(*angle);
            Some(placed.transform_rect_bbox(flat))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_layer_asked_for_twice_is_one_layer() {
        let mut drawing = Drawing::new("mould-3", "Mould 3");
        let cut = drawing.layer("Outline", Operation::CutOutside);
        let mark = drawing.layer("Grid", Operation::Mark);
        assert_eq!(drawing.layer("Outline", Operation::CutOutside), cut);
        assert_ne!(cut, mark);
    }

    #[test]
    fn bounds_hold_paths_and_text_turned_upright() {
        let mut drawing = Drawing::new("a", "A");
        assert_eq!(drawing.bounds(), None);
        let layer = drawing.layer("Marks", Operation::Mark);
        drawing.cross(layer, Point::new(10.0, 5.0), 2.0);
        assert_eq!(drawing.bounds(), Some(Rect::new(8.0, 3.0, 12.0, 7.0)));
        let upright = std::f64::consts::FRAC_PI_2;
        drawing.text(layer, Point::new(0.0, 0.0), 10.0, upright, Anchor::Start, "abc");
        let bounds = drawing.bounds().expect("something is drawn");
        assert!(
            (bounds.x0 + 10.0).abs() < 1e-9 && (bounds.y1 - 3.0 * LETTER_WIDTH * 10.0).abs() < 1e-9,
            "{bounds:?}"
        );
    }

    #[test]
    fn drawings_in_a_row_keep_clear_of_each_other() {
        let square = |name: &str, side: f64| {
            let mut drawing = Drawing::new(name, name);
            let cut = drawing.layer("Outline", Operation::CutOutside);
            let corners = [(-side, 5.0), (0.0, 5.0), (0.0, 5.0 + side), (-side, 5.0 + side)];
            drawing.polyline(cut, corners.map(Point::from), true);
            drawing
        };
        let row = Drawing::side_by_side(&[square("a", 100.0), square("b", 40.0)], 50.0);
        assert_eq!((row.layers.len(), row.title.as_str()), (1, "a and 1 more"));
        let boxes: Vec<Rect> = row.items.iter().filter_map(item_bounds).collect();
        assert_eq!(boxes, [Rect::new(0.0, 0.0, 100.0, 100.0), Rect::new(150.0, 0.0, 190.0, 40.0)]);
    }

    /// A sheet on which one hand's "Outline" is engraved and another's is cut out still has the one cut.
    #[test]
    fn layers_of_one_name_and_two_operations_stay_two() {
        let of = |operation| {
            let mut drawing = Drawing::new("part", "Part");
            let layer = drawing.layer("Outline", operation);
            drawing.circle(layer, Point::ZERO, 5.0);
            drawing
        };
        let parts =
            [Operation::Mark, Operation::CutOutside, Operation::CutInside, Operation::CutOutside].map(of);
        let sheet = Drawing::side_by_side(&parts, 5.0);
        let done: Vec<Operation> =
            sheet.items.iter().map(|item| sheet.layers[item.layer()].operation).collect();
        assert_eq!(
            done,
            [Operation::Mark, Operation::CutOutside, Operation::CutInside, Operation::CutOutside]
        );
        let names: Vec<&str> = sheet.layers.iter().map(|layer| layer.name.as_str()).collect();
        assert_eq!(names, ["Outline", "Outline (cut outside)", "Outline (cut inside)"]);
    }

    #[test]
    fn an_appended_drawing_keeps_its_layers_by_name() {
        let mut sheet = Drawing::new("sheet", "Sheet");
        sheet.layer("Grid", Operation::Mark);
        let mut part = Drawing::new("part", "Part");
        let cut = part.layer("Outline", Operation::CutOutside);
        part.circle(cut, Point::ZERO, 5.0);
        sheet.append(&part, Vec2::new(100.0, 0.0));
        assert_eq!(sheet.layers[sheet.items[0].layer()].name, "Outline");
        assert!((sheet.bounds().expect("a circle").x1 - 105.0).abs() < 1e-3);
    }
}
