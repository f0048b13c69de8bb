//! The faces of the blank, one below the other, with the ordinates of each.

use kurbo::Point;
use scrieve_loft::spar::{Build, Shape, Spar, Straight};
use scrieve_loft::written;

use super::{Pen, Sheet, SparDrawingError, SparSheet};
use crate::{Anchor, Drawing, Operation};

/// Chords from end to end of a long line; at full size they are within a micrometre of any fair taper.
const CHORDS: usize = 400;
/// Ordinates are written no nearer to one another than so many letters, and rows of them stand so many apart.
const CLEAR: f64 = 1.5;
const ROW: f64 = 6.4;
/// Rows of kerfs written below a half; a table has them all.
const KERF_ROWS: usize = 6;
/// Kerfs drawn: more would be a black face.
const KERFS_DRAWN: usize = 60;

/// A line along a face: its y at a place, m; nothing where it is not.
type Along<'a> = Box<dyn Fn(f64) -> Option<f64> + 'a>;
/// What is written of a place.
type Told<'a> = Box<dyn Fn(f64) -> String + 'a>;

struct Face<'a> {
    title: String,
    /// Lower and upper edge.
    edges: Box<dyn Fn(f64) -> [f64; 2] + 'a>,
    middle: Box<dyn Fn(f64) -> f64 + 'a>,
    lines: Vec<(Pen, Along<'a>)>,
    rows: Vec<(String, Told<'a>)>,
    is_marked: bool,
}

impl SparSheet<'_> {
    /// The faces of the blank, what is hollow, and the lengths where it is scarfed.
    ///
    /// # Errors
    /// A scale or a spacing that is none; kerfs that cannot be sawn.
    pub fn faces(&self) -> Result<Drawing, SparDrawingError> {
        let [along, across] = self.scale()?;
        let operation = if self.is_full_size() { Operation::Mark } else { Operation::Annotate };
        let mut sheet = Sheet::new(&self.name, &self.title, operation, self.letter());
        let places = self.spar.places(self.every)?;
        let view = View { x: 1e3 / along, y: 1e3 / across };
        let mut top = 0.0;
        for face in self.all_faces(&places)? {
            top = self.face(&mut sheet, &view, &face, &places, top);
        }
        if let Some((members, lap)) = &self.members {
            let [first, second, port, starboard] = &self.faces;
            let lengths = |of: &str| format!("lengths of {of}");
            let names = match self.spar.build() {
                Build::Solid => vec!["lengths".to_owned()],
                Build::Halves => ["one half", "the other half"].map(lengths).to_vec(),
                Build::Box => vec![
                    format!("lengths of the {first} and {second} boards"),
                    format!("lengths of the {port} and {starboard} boards"),
                ],
                Build::Staves(_) => ["a stave", "every second stave", "the last stave"].map(lengths).to_vec(),
            };
            for (member, which) in members.iter().zip(&names) {
                top = self.lengths(&mut sheet, &view, &member.pieces, *lap, which, top);
            }
        }
        self.said_below(&mut sheet, [along, across], top);
        Ok(sheet.drawing)
    }

    fn all_faces<'a>(&'a self, places: &[f64]) -> Result<Vec<Face<'a>>, SparDrawingError> {
        let spar = self.spar;
        let [first, second, port, starboard] = &self.faces;
        let mut faces = Vec::new();
        if let Build::Staves(n) = spar.build() {
            faces.push(self.stave(n));
        }
        if spar.build() == Build::Box {
            faces.push(self.board(format!("{first} and {second} boards"), |s| [0.0, spar.half(s)[1]], false));
            let between = move |s: f64| {
                let wall = spar.wall().map_or(0.0, |wall| wall.thickness(s));
                [spar.middle(s), (spar.half(s)[0] - wall).max(0.0)]
            };
            faces.push(self.board(
                format!("{port} and {starboard} boards, between the others"),
                between,
                true,
            ));
            return Ok(faces);
        }
        let alike = spar.shape() == Shape::Round && spar.straight() == Straight::No;
        let title = match (spar.build(), alike) {
            (Build::Staves(_), true) => "the glued spar from the side".to_owned(),
            (_, true) => "four faces alike".to_owned(),
            (_, false) => format!("{port} and {starboard} faces"),
        };
        faces.push(self.square_face(title, true));
        if !alike {
            faces.push(self.square_face(format!("{first} and {second} faces"), false));
        }
        if spar.build() == Build::Halves {
            faces.push(self.half(places)?);
        }
        Ok(faces)
    }

    fn told(&self, metres: f64) -> String {
        written(metres, self.units)
    }

    fn distances<'a>(&'a self) -> (String, Told<'a>) {
        (format!("from the {}", self.ends[0]), Box::new(|s| self.told(s)))
    }

    /// A face of the squared blank: of the sides, which show the spar's size in y, or of the others.
    fn square_face<'a>(&'a self, title: String, is_side: bool) -> Face<'a> {
        let spar = self.spar;
        let middle = move |s: f64| if is_side { spar.middle(s) } else { 0.0 };
        let half = move |s: f64| spar.half(s)[usize::from(!is_side)];
        let mut rows = vec![self.distances()];
        let is_straight = is_side && spar.straight() != Straight::No;
        if is_straight {
            rows.push(("from the straight edge".into(), Box::new(move |s| self.told(2.0 * half(s)))));
        } else {
            rows.push(("half-breadth".into(), Box::new(move |s| self.told(half(s)))));
        }
        let mut lines: Vec<(Pen, Along<'a>)> = Vec::new();
        for &sides in spar.sides() {
            let flat = move |s: f64| spar.flats(sides, s).ok().and_then(|flats| flat_of(&flats, is_side));
            for side in [-0.5, 0.5] {
                let line = move |s: f64| flat(s).map(|flat| middle(s) + side * flat.left);
                lines.push((Pen::of_sides(sides), Box::new(line)));
            }
            let told = move |s: f64| flat(s).map_or_else(String::new, |flat| self.told(flat.in_from_edge));
            rows.push((format!("{sides} sides, in from edge"), Box::new(told)));
        }
        let edges = move |s: f64| [middle(s) - half(s), middle(s) + half(s)];
        Face { title, edges: Box::new(edges), middle: Box::new(middle), lines, rows, is_marked: true }
    }

    /// The glued face of a half.
    fn half<'a>(&'a self, places: &[f64]) -> Result<Face<'a>, SparDrawingError> {
        let spar = self.spar;
        let mut lines: Vec<(Pen, Along<'a>)> = Vec::new();
        for side in [-1.0, 1.0] {
            let line = move |s: f64| {
                let hollow = spar.hollow(s)[0];
                (hollow > 0.0).then(|| spar.middle(s) + side * hollow)
            };
            lines.push((Pen::Hollow, Box::new(line)));
        }
        let thick = move |s: f64| spar.half(s)[0] - spar.hollow(s)[0];
        let solid = move |s: f64| if spar.hollow(s)[0] > 0.0 { self.told(thick(s)) } else { "solid".into() };
        let mut rows = vec![self.distances(), ("wall".to_owned(), Box::new(solid) as Told<'a>)];
        if let Some([pitch, blade]) = self.kerfs {
            let kerfs = spar.kerfs(places, pitch, blade)?;
            let depth = move |s: f64, y: f64| spar.kerf_depth(s, y, blade);
            for &y in kerfs.places.iter().take(KERFS_DRAWN) {
                lines.push((Pen::Kerfs, Box::new(move |s| (depth(s, y) > 0.0).then_some(y))));
            }
            let alike = spar.straight() == Straight::No;
            let told = kerfs.places.iter().copied().filter(|y| !alike || *y >= -1e-9);
            for y in told.take(KERF_ROWS) {
                let name = match (alike, y.abs() < 1e-9) {
                    (_, true) => "kerf on the middle, deep".to_owned(),
                    (true, _) => format!("kerf {} off it, deep", self.told(y)),
                    (false, _) => {
                        format!("kerf {} off it to {}", self.told(y.abs()), self.faces[usize::from(y < 0.0)])
                    }
                };
                let deep = move |s: f64| if depth(s, y) > 0.0 { self.told(depth(s, y)) } else { "-".into() };
                rows.push((name, Box::new(deep)));
            }
        }
        Ok(Face {
            title: "glued face of a half".into(),
            edges: Box::new(move |s| spar.edges(s)),
            middle: Box::new(move |s| spar.middle(s)),
            lines,
            rows,
            is_marked: false,
        })
    }

    fn board<'a>(
        &'a self,
        title: String,
        middle_and_half: impl Fn(f64) -> [f64; 2] + Copy + 'a,
        is_side: bool,
    ) -> Face<'a> {
        let whole: (String, Told<'a>) = if is_side && self.spar.straight() != Straight::No {
            ("from the straight edge".to_owned(), Box::new(move |s| self.told(2.0 * middle_and_half(s)[1])))
        } else {
            ("half-breadth".to_owned(), Box::new(move |s| self.told(middle_and_half(s)[1])))
        };
        let rows = vec![self.distances(), whole];
        let edges = move |s: f64| {
            let [middle, half] = middle_and_half(s);
            [middle - half, middle + half]
        };
        let middle = Box::new(move |s| middle_and_half(s)[0]);
        Face { title, edges: Box::new(edges), middle, lines: Vec::new(), rows, is_marked: true }
    }

    /// A stave from its outside: the notched edge straight, the square edge tapered.
    fn stave<'a>(&'a self, count: usize) -> Face<'a> {
        let spar = self.spar;
        let width = move |s: f64| spar.notch(s).map_or(0.0, |notch| notch.width);
        let depth = move |s: f64| spar.notch(s).map(|notch| notch.depth);
        let bottom: Along<'a> = Box::new(depth);
        let rows = vec![
            self.distances(),
            ("width of a stave".to_owned(), Box::new(move |s| self.told(width(s))) as Told<'a>),
            (
                "depth of the notch".to_owned(),
                Box::new(move |s| depth(s).map_or_else(String::new, |d| self.told(d))),
            ),
        ];
        Face {
            title: format!("one of {count} staves, the notch along the lower edge"),
            edges: Box::new(move |s| [0.0, width(s)]),
            middle: Box::new(move |s| 0.5 * width(s)),
            lines: vec![(Pen::Hollow, bottom)],
            rows,
            is_marked: false,
        }
    }

    /// Draws a face with its top at `top`; gives where the next may begin.
    fn face(&self, sheet: &mut Sheet, view: &View, face: &Face<'_>, places: &[f64], top: f64) -> f64 {
        let letter = sheet.letter;
        let samples = samples(self.spar);
        let [low, high] = (samples.iter().map(|s| (face.edges)(*s)))
            .fold([f64::MAX, f64::MIN], |all, e| [all[0].min(e[0]), all[1].max(e[1])]);
        let names = if face.is_marked { self.mark_rows(view, letter) } else { Vec::new() };
        let rows_above = names.iter().map(|row| row + 1).max().unwrap_or(0) as f64;
        // The title, the names of marks, then the face.
        sheet.write(&face.title, (0.0, top - 1.3 * letter), Anchor::Start, 1.3);
        let upper = top - (3.0 + 1.6 * rows_above) * letter;
        let at = |s: f64, y: f64| Point::new(view.x * s, upper + view.y * (y - high));
        let foot = at(0.0, low).y;
        let along = |y: &dyn Fn(f64) -> f64| samples.iter().map(|s| at(*s, y(*s))).collect::<Vec<Point>>();
        let (lower, above) = (along(&|s| (face.edges)(s)[0]), along(&|s| (face.edges)(s)[1]));
        sheet.line(Pen::Edges, lower.into_iter().chain(above.into_iter().rev()), true);
        sheet.line(Pen::Middle, along(&|s| (face.middle)(s)), false);
        for (pen, line) in &face.lines {
            let points = samples.iter().map(|s| line(*s).map(|y| at(*s, y))).collect::<Vec<_>>();
            for run in points.split(Option::is_none).filter(|run| run.len() > 1) {
                sheet.line(*pen, run.iter().copied().flatten(), false);
            }
        }
        for s in places {
            let edges = (face.edges)(*s);
            sheet.line(Pen::Places, edges.map(|y| at(*s, y)), false);
        }
        if face.is_marked {
            self.marks(sheet, face, &names, &at, (upper, letter));
        }
        let shown = thinned(places, view.x, CLEAR * letter);
        for (i, (name, told)) in face.rows.iter().enumerate() {
            let y = foot - (1.0 + ROW * i as f64) * letter;
            sheet.write(name, (-1.5 * letter, y - 0.5 * ROW * letter), Anchor::End, 1.0);
            for s in &shown {
                sheet.write_up(told(*s), (view.x * s + 0.5 * letter, y), Anchor::End);
            }
        }
        foot - (3.0 + ROW * face.rows.len() as f64) * letter
    }

    /// In which row above a face each mark's name stands, so that no two run into one another.
    fn mark_rows(&self, view: &View, letter: f64) -> Vec<usize> {
        let mut ends: Vec<f64> = Vec::new();
        (self.marks.iter())
            .map(|mark| {
                let from = view.x * mark.from;
                let row = ends.iter().position(|end| *end < from).unwrap_or(ends.len());
                let end = from + (0.7 * mark.name.chars().count() as f64 + 1.5) * letter;
                if row == ends.len() {
                    ends.push(end)
                } else {
                    ends[row] = end
                }
                row
            })
            .collect()
    }

    fn marks(
        &self,
        sheet: &mut Sheet,
        face: &Face<'_>,
        rows: &[usize],
        at: &impl Fn(f64, f64) -> Point,
        (upper, letter): (f64, f64),
    ) {
        for (mark, row) in self.marks.iter().zip(rows) {
            let across = |s: f64| {
                let ([low, high], middle) = ((face.edges)(s), (face.middle)(s));
                if mark.width > 0.0 {
                    [low.max(middle - 0.5 * mark.width), high.min(middle + 0.5 * mark.width)]
                } else {
                    [low, high]
                }
            };
            let one = across(mark.from).map(|y| at(mark.from, y));
            if mark.to > mark.from {
                let two = across(mark.to).map(|y| at(mark.to, y));
                sheet.line(Pen::Marks, [one[0], one[1], two[1], two[0]], true);
            } else {
                sheet.line(Pen::Marks, one, false);
            }
            let y = upper + (0.6 + 1.6 * *row as f64) * letter;
            sheet.line(Pen::Places, [one[1], Point::new(one[1].x, y)], false);
            sheet.write(&mark.name, (one[1].x + 0.3 * letter, y), Anchor::Start, 1.0);
        }
    }

    /// A stick in its lengths.
    fn lengths(
        &self,
        sheet: &mut Sheet,
        view: &View,
        pieces: &[[f64; 2]],
        lap: f64,
        which: &str,
        top: f64,
    ) -> f64 {
        let letter = sheet.letter;
        sheet.write(which, (0.0, top - 1.3 * letter), Anchor::Start, 1.3);
        let (upper, lower) = (top - 2.5 * letter, top - 4.5 * letter);
        let end = view.x * self.spar.length();
        let square = [(0.0, upper), (end, upper), (end, lower), (0.0, lower)];
        sheet.line(Pen::Edges, square.map(Point::from), true);
        for (i, &[from, to]) in pieces.iter().enumerate() {
            // A scarf slopes from the upper face to the lower.
            if i > 0 {
                let slope = [(view.x * from, upper), (view.x * (from + lap), lower)];
                sheet.line(Pen::Edges, slope.map(Point::from), false);
            }
            let said = format!("{} to {}", self.told(from), self.told(to));
            let middle = 0.5 * view.x * (from + to);
            sheet.write(said, (middle, lower - 1.6 * letter), Anchor::Middle, 1.0);
        }
        lower - 4.0 * letter
    }

    fn said_below(&self, sheet: &mut Sheet, [along, across]: [f64; 2], top: f64) {
        let letter = sheet.letter;
        let [depth, breadth, length] = self.spar.blank();
        let size = if depth == breadth {
            self.told(depth)
        } else {
            format!("{} by {}", self.told(depth), self.told(breadth))
        };
        let scale = |n: f64| if n == 1.0 { "full size".to_owned() } else { format!("1:{n}") };
        let scale = if along == across {
            scale(along)
        } else {
            format!("foreshortened: along {}, across {}", scale(along), scale(across))
        };
        let texts = [
            self.title.clone(),
            format!(
                "{} to {}: {}, greatest size {size}; {scale}; lengths {}",
                self.ends[0],
                self.ends[1],
                self.told(length),
                self.units.name()
            ),
        ];
        let sided = match (self.spar.build(), self.spar.sides()) {
            (Build::Staves(n), []) => {
                Some(format!("it has {n} sides when it is glued: no lines for 8, 16 or 32 are marked on it"))
            }
            (Build::Staves(16), _) => Some("lines for 32 sides lie on the sixteen of its staves".to_owned()),
            (Build::Staves(_), _) => {
                Some("lines for 16 sides lie on the eight of its staves, for 32 on sixteen".to_owned())
            }
            (_, []) => None,
            _ => {
                Some("lines for 8 sides lie on the four faces, for 16 on eight, for 32 on sixteen".to_owned())
            }
        };
        for (i, text) in texts.into_iter().chain(sided).enumerate() {
            let times = if i == 0 { 1.4 } else { 1.0 };
            sheet.write(text, (0.0, top - (1.5 + 2.0 * i as f64) * letter), Anchor::Start, times);
        }
    }
}

struct View {
    x: f64,
    y: f64,
}

/// The flat a face of the blank leaves: its own, which is the first of a quarter round or the last.
fn flat_of(flats: &[scrieve_loft::spar::Flat], is_side: bool) -> Option<scrieve_loft::spar::Flat> {
    if is_side { flats.last().copied() } else { flats.first().copied() }
}

fn samples(spar: &Spar) -> Vec<f64> {
    let mut all = spar.breaks();
    all.extend((0..=CHORDS).map(|i| spar.length() * i as f64 / CHORDS as f64));
    all.sort_by(f64::total_cmp);
    all.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
    all
}

/// Places whose ordinates can be read beside each other, the last always.
fn thinned(places: &[f64], scale: f64, clear: f64) -> Vec<f64> {
    let mut kept: Vec<f64> = Vec::new();
    let last = places[places.len() - 1];
    for &s in places {
        let from_last = kept.last().is_none_or(|before| scale * (s - before) >= clear);
        if s == last || from_last && scale * (last - s) >= clear {
            kept.push(s);
        }
    }
    kept
}
