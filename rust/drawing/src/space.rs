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

/// Squares of a sheet, taken or free.
#[derive(Clone, Debug)]
pub(crate) struct Space {
    bounds: Rect,
    cell: f64,
    across: usize,
    up: usize,
    taken: Vec<bool>,
}

/// Room a line of text needs, mm.
pub(crate) fn text_width(text: &str, height: f64) -> f64 {
    LETTER_ROOM * height * text.chars().count() as f64
}

impl Space {
    /// A free sheet, in squares of `cell`.
    pub fn new(bounds: Rect, cell: f64) -> Space {
        let count = |length: f64| (length / cell).ceil().max(1.0) as usize;
        let (across, up) = (count(bounds.width()), count(bounds.height()));
        Space { bounds, cell, across, up, taken: vec![false; across * up] }
    }

    /// Takes all that is outside a closed outline or inside one of its holes.
    pub fn keep_to(&mut self, outline: &BezPath, holes: &[BezPath]) {
        let rings: Vec<Vec<Point>> = std::iter::once(outline).chain(holes).map(|r| self.ring(r)).collect();
        for j in 0..self.up {
            let y = self.bounds.y0 + (j as f64 + 0.5) * self.cell;
            let mut cuts: Vec<f64> = Vec::new();
            for ring in &rings {
                for (i, a) in ring.iter().enumerate() {
                    let b = ring[(i + 1) % ring.len()];
                    if (a.y <= y) != (b.y <= y) {
                        cuts.push(a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y));
                    }
                }
            }
            cuts.sort_by(f64::total_cmp);
            for i in 0..self.across {
                let x = self.bounds.x0 + (i as f64 + 0.5) * self.cell;
                if cuts.partition_point(|c| *c < x) % 2 == 0 {
                    self.taken[j * self.across + i] = true;
                }
            }
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
                if let Some(cell) = self.cell_at(a.lerp(b, i as f64 / n as f64)) {
                    self.taken[cell] = true;
                }
            }
        }
    }

    /// Takes a box.
    pub fn take_box(&mut self, r: Rect) {
        let (is, js) = self.cells(r);
        for j in js {
            for i in is.clone() {
                self.taken[j * self.across + i] = true;
            }
        }
    }

    /// Whether a box is on the sheet and wholly free.
    pub fn is_free(&self, r: Rect) -> bool {
        let (is, js) = self.cells(r);
        self.bounds.union(r) == self.bounds
            && js.into_iter().all(|j| is.clone().all(|i| !self.taken[j * self.across + i]))
    }

    /// How many squares of a box are taken.
    pub fn taken_in(&self, r: Rect) -> usize {
        let (is, js) = self.cells(r);
        js.map(|j| is.clone().filter(|i| self.taken[j * self.across + i]).count()).sum()
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
            .filter(|(i, j)| !self.taken[j * self.across + i])
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

    fn cell_at(&self, p: Point) -> Option<usize> {
        let (i, j) = ((p.x - self.bounds.x0) / self.cell, (p.y - self.bounds.y0) / self.cell);
        let on = i >= 0.0 && j >= 0.0 && i < self.across as f64 && j < self.up as f64;
        on.then(|| j as usize * self.across + i as usize)
    }
}

/// Spots beside a path, those nearest `from` of its length first: all those above it and then those below,
/// or the other way about; `height` off it and a little more.
pub(crate) fn spots_beside(path: &BezPath, from: f64, height: f64, above: bool) -> Vec<Point> {
    let segments: Vec<PathSeg> = path.segments().collect();
    if segments.is_empty() {
        return Vec::new();
    }
    let mut girths = vec![0.0];
    for s in &segments {
        girths.push(girths[girths.len() - 1] + s.arclen(1e-2));
    }
    let whole = girths[segments.len()];
    let mut fractions: Vec<f64> =
        (0..=STEPS_BESIDE).map(|i| f64::from(i) / f64::from(STEPS_BESIDE)).collect();
    fractions.sort_by(|a, b| (a - from).abs().total_cmp(&(b - from).abs()));
    let first = if above { 1.0 } else { -1.0 };
    let offsets = [first, -first].into_iter().flat_map(|side| fractions.iter().map(move |f| (side, *f)));
    offsets
        .flat_map(|(side, f)| {
            let at = (girths.partition_point(|g| *g <= f * whole).max(1) - 1).min(segments.len() - 1);
            let span = girths[at + 1] - girths[at];
            let t = if span > 0.0 { (f * whole - girths[at]) / span } else { 0.0 };
            let p = segments[at].eval(t.min(0.99));
            let along = segments[at].eval(t.min(0.99) + 0.01) - p;
            let up = Vec2::new(-along.y, along.x) / along.hypot().max(f64::MIN_POSITIVE);
            let up = if up.y < 0.0 { -up } else { up };
            [1.0, 1.3, 1.7].map(|off| p + up * (side * off * height))
        })
        .collect()
}
