//! Where on a sheet there is still room: squares ticked off as lines and letters take them.
//!
//! Letters are put in the first of a caller's spots that is wholly free, so that no label runs over a
//! line, another label or the edge of the wood.

use kurbo::{BezPath, ParamCurve, ParamCurveArclen, PathEl, PathSeg, Point, Rect, Vec2};

/// Breadth of a letter for its height that no usual sans serif exceeds on average, capitals included:
/// narrower and labels touch, wider and fewer find room.
const LETTER_ROOM: f64 = 0.92;

/// Spots tried along a path: enough that a gap a label fits in is not stepped over on an A3 sheet.
const STEPS_BESIDE: u16 = 100;
/// Spots tried over a sheet stand this many squares apart: finer finds little more room, slowly.
const SPOT_STEP: usize = 3;

/// Squares of a sheet: those of a boat of 15 m at full size. More take seconds to look through for every label, and
/// a ship's labels may stand a little farther apart.
const MOST_SQUARES: f64 = 4e6;

/// Squares of a sheet, taken or free.
#[derive(Clone, Debug)]
pub(crate) struct Space {
    bounds: Rect,
    cell: f64,
    across: usize,
    up: usize,
    /// A bit a square, row by row, each row from a word of its own: a box is asked for by the word.
    taken: Vec<u64>,
    /// Words of a row.
    words: usize,
}

/// Room a line of text needs, mm.
pub(crate) fn text_width(text: &str, height: f64) -> f64 {
    LETTER_ROOM * height * text.chars().count() as f64
}

impl Space {
    /// A free sheet, in squares of `cell`, or larger ones where they would be too many.
    pub fn new(bounds: Rect, cell: f64) -> Space {
        let cell = cell.max((bounds.area() / MOST_SQUARES).sqrt());
        let count = |length: f64| (length / cell).ceil().max(1.0) as usize;
        let (across, up) = (count(bounds.width()), count(bounds.height()));
        let words = across.div_ceil(64);
        Space { bounds, cell, across, up, taken: vec![0; words * up], words }
    }

    fn is_taken(&self, i: usize, j: usize) -> bool {
        self.taken[j * self.words + i / 64] >> (i % 64) & 1 != 0
    }

    /// The words of row `j` that hold squares `is`, each with a mask of those.
    fn masks(&self, is: std::ops::Range<usize>, j: usize) -> impl Iterator<Item = (usize, u64)> + use<> {
        let row = j * self.words;
        (is.start / 64..is.end.div_ceil(64)).map(move |word| {
            let from = is.start.saturating_sub(word * 64);
            let to = (is.end - word * 64).min(64);
            (row + word, (u64::MAX << from) & (u64::MAX >> (64 - to)))
        })
    }

    fn take_row(&mut self, is: std::ops::Range<usize>, j: usize) {
        if !is.is_empty() {
            self.masks(is, j).for_each(|(word, mask)| self.taken[word] |= mask);
        }
    }

    /// Takes all that is outside a closed outline or inside one of its holes.
    pub fn keep_to(&mut self, outline: &BezPath, holes: &[BezPath]) {
        // Where each row's middle crosses a ring, ring side by ring side.
        let mut cuts: Vec<Vec<f64>> = vec![Vec::new(); self.up];
        let row = |y: f64| (y - self.bounds.y0) / self.cell - 0.5;
        for ring in std::iter::once(outline).chain(holes).map(|r| self.ring(r)) {
            for (i, a) in ring.iter().enumerate() {
                let b = ring[(i + 1) % ring.len()];
                let (low, high) = if a.y < b.y { (a, &b) } else { (&b, a) };
                // The rows from the lower end, itself with it, to the upper.
                let (from, to) = (row(low.y).ceil().max(0.0) as usize, row(high.y).ceil().max(0.0) as usize);
                for (j, cuts) in cuts.iter_mut().enumerate().take(to).skip(from) {
                    let y = self.bounds.y0 + (j as f64 + 0.5) * self.cell;
                    cuts.push(a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y));
                }
            }
        }
        let bounds = (self.bounds, self.cell, self.across as f64);
        let column = |x: f64| ((x - bounds.0.x0) / bounds.1 - 0.5).ceil().clamp(0.0, bounds.2) as usize;
        for (j, mut cuts) in cuts.into_iter().enumerate() {
            cuts.sort_by(f64::total_cmp);
            let mut from = 0;
            for inside in cuts.chunks_exact(2) {
                self.take_row(from..column(inside[0]).max(from), j);
                from = column(inside[1]).max(from);
            }
            self.take_row(from..self.across, j);
        }
        std::iter::once(outline).chain(holes).for_each(|r| self.take(r));
    }

    /// Takes the squares a path runs through.
    pub fn take(&mut self, path: &BezPath) {
        let step = self.cell / 2.0;
        let mut at: Option<Point> = None;
        let mut start = Point::ZERO;
        let mut lines = Vec::new();
        kurbo::flatten(path, self.cell / 8.0, |el| match el {
            PathEl::MoveTo(p) => {
                start = p;
                at = Some(p);
            }
            PathEl::LineTo(p) => {
                lines.extend(at.map(|a| (a, p)));
                at = Some(p);
            }
            PathEl::ClosePath => lines.extend(at.map(|a| (a, start))),
            _ => {}
        });
        for (a, b) in lines {
            let n = (a.distance(b) / step).ceil().max(1.0) as usize;
            for i in 0..=n {
                if let Some((i, j)) = self.cell_at(a.lerp(b, i as f64 / n as f64)) {
                    self.take_row(i..i + 1, j);
                }
            }
        }
    }

    /// Takes a box.
    pub fn take_box(&mut self, r: Rect) {
        let (is, js) = self.cells(r);
        for j in js {
            self.take_row(is.clone(), j);
        }
    }

    /// Whether a box is on the sheet and wholly free.
    pub fn is_free(&self, r: Rect) -> bool {
        let (is, js) = self.cells(r);
        self.bounds.union(r) == self.bounds
            && (is.is_empty()
                || js
                    .into_iter()
                    .all(|j| self.masks(is.clone(), j).all(|(word, m)| self.taken[word] & m == 0)))
    }

    /// How many squares of a box are taken.
    pub fn taken_in(&self, r: Rect) -> usize {
        let (is, js) = self.cells(r);
        if is.is_empty() {
            return 0;
        }
        let row = |j: usize| {
            self.masks(is.clone(), j).map(|(word, m)| (self.taken[word] & m).count_ones() as usize)
        };
        js.flat_map(row).sum()
    }

    /// Takes the first free of the boxes `width` by `height` centred on the spots.
    pub fn place(&mut self, width: f64, height: f64, spots: impl IntoIterator<Item = Point>) -> Option<Rect> {
        let size = kurbo::Size::new(width, height);
        let found = spots.into_iter().map(|p| Rect::from_center_size(p, size)).find(|r| self.is_free(*r))?;
        self.take_box(found);
        Some(found)
    }

    /// Centres of free squares all over the sheet, the nearest to `p` first.
    pub fn spots_near(&self, p: Point) -> Vec<Point> {
        let columns = |j: usize| (0..self.across).step_by(SPOT_STEP).map(move |i| (i, j));
        let mut spots: Vec<Point> = (0..self.up)
            .step_by(SPOT_STEP)
            .flat_map(columns)
            .filter(|&(i, j)| !self.is_taken(i, j))
            .map(|(i, j)| self.bounds.origin() + Vec2::new(i as f64 + 0.5, j as f64 + 0.5) * self.cell)
            .collect();
        spots.sort_by(|a, b| a.distance_squared(p).total_cmp(&b.distance_squared(p)));
        spots
    }

    fn ring(&self, path: &BezPath) -> Vec<Point> {
        let mut ring = Vec::new();
        kurbo::flatten(path, self.cell / 8.0, |el| {
            if let PathEl::MoveTo(p) | PathEl::LineTo(p) = el {
                ring.push(p);
            }
        });
        ring
    }

    fn cells(&self, r: Rect) -> (std::ops::Range<usize>, std::ops::Range<usize>) {
        let index = |at: f64, from: f64, most: usize| ((at - from) / self.cell).clamp(0.0, most as f64);
        let range = |a: f64, b: f64, from: f64, most: usize| {
            index(a, from, most).floor() as usize..index(b, from, most).ceil() as usize
        };
        (range(r.x0, r.x1, self.bounds.x0, self.across), range(r.y0, r.y1, self.bounds.y0, self.up))
    }

    fn cell_at(&self, p: Point) -> Option<(usize, usize)> {
        let (i, j) = ((p.x - self.bounds.x0) / self.cell, (p.y - self.bounds.y0) / self.cell);
        let on = i >= 0.0 && j >= 0.0 && i < self.across as f64 && j < self.up as f64;
        on.then_some((i as usize, j as usize))
    }
}

/// Spots beside a path, those nearest `from` of its length first: all those above it and then those below,
/// or the other way about; `height` off it and a little more.
pub(crate) fn spots_beside(
    path: &BezPath,
    from: f64,
    height: f64,
    above: bool,
) -> impl Iterator<Item = Point> {
    let segments: Vec<PathSeg> = path.segments().collect();
    let mut girths = vec![0.0];
    for s in &segments {
        girths.push(girths[girths.len() - 1] + s.arclen(1e-2));
    }
    let whole = girths[segments.len()];
    let mut fractions: Vec<f64> =
        (0..=STEPS_BESIDE).map(|i| f64::from(i) / f64::from(STEPS_BESIDE)).collect();
    fractions.sort_by(|a, b| (a - from).abs().total_cmp(&(b - from).abs()));
    let first = if above { 1.0 } else { -1.0 };
    let each = if segments.is_empty() { 0 } else { fractions.len() };
    (0..2 * each)
        .map(move |i| if i < each { (first, fractions[i]) } else { (-first, fractions[i - each]) })
        .flat_map(move |(side, f)| {
            let at = (girths.partition_point(|g| *g <= f * whole).max(1) - 1).min(segments.len() - 1);
            let span = girths[at + 1] - girths[at];
            let t = if span > 0.0 { (f * whole - girths[at]) / span } else { 0.0 };
            let p = segments[at].eval(t.min(0.99));
            let along = segments[at].eval(t.min(0.99) + 0.01) - p;
            let up = Vec2::new(-along.y, along.x) / along.hypot().max(f64::MIN_POSITIVE);
            let up = if up.y < 0.0 { -up } else { up };
            [1.0, 1.3, 1.7].map(|off| p + up * (side * off * height))
        })
}
