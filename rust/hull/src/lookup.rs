//! From two co-ordinates to the place on the hull.
//!
//! Cells of each patch's net are sorted into bins by the two co-ordinates; Newton's method finishes from
//! the cells whose box holds the point.

use scrieve_surface::Surface;

use crate::contour::Net;
use scrieve_surface::vector::{V3, norm, sub};

/// Bins along each co-ordinate: about one net cell a bin on a hull of one patch.
const BINS: [usize; 2] = [48, 32];

/// How far a cell's box is widened on each side, of its own size, for the bulge of its edges.
const BULGE: f64 = 0.25;

/// How far outside its unit square a patch is taken to reach: rounding.
const EDGE: f64 = 1e-9;

/// Below this sine the hull is seen edge-on, and the index leaves it to the section.
const EDGE_ON: f64 = 1e-7;

/// A place on the hull.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Patch, from the keel up.
    pub patch: usize,
    /// 0 at the stem, 1 at the stern.
    pub u: f64,
    /// 0 at the patch's lower edge, 1 at its upper.
    pub v: f64,
}

#[derive(Clone, Debug)]
struct Cell {
    patch: usize,
    i: usize,
    j: usize,
    low: [f64; 2],
    high: [f64; 2],
    /// The hull turns over in it or beside it, so that two places near may have the same co-ordinates.
    folded: bool,
}

/// Whether normals at the corners of the cell and its neighbours point both ways along `axis`.
fn turns_over(net: &Net, i: usize, j: usize, axis: usize) -> bool {
    let (mut ahead, mut back) = (false, false);
    for i in i.saturating_sub(1)..(i + 3).min(net.us.len()) {
        for (_, n) in &net.nodes[i * net.vs.len()..][j.saturating_sub(1)..(j + 3).min(net.vs.len())] {
            ahead |= n[axis] > EDGE_ON;
            back |= n[axis] < -EDGE_ON;
        }
    }
    ahead && back
}

/// The co-ordinate that is not among `axes`.
fn third(axes: [usize; 2]) -> usize {
    3 - axes[0] - axes[1]
}

/// An index of a surface by two of its co-ordinates.
#[derive(Clone, Debug)]
pub(crate) struct Index {
    axes: [usize; 2],
    low: [f64; 2],
    per_unit: [f64; 2],
    cells: Vec<Cell>,
    /// Cells of each bin.
    bins: Vec<Vec<u32>>,
}

impl Index {
    pub(crate) fn new(nets: &[Net], axes: [usize; 2]) -> Self {
        let flat = |p: V3| axes.map(|axis| p[axis]);
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        let mut cells = Vec::new();
        for (patch, net) in nets.iter().enumerate() {
            for i in 0..net.us.len() - 1 {
                for j in 0..net.vs.len() - 1 {
                    let corners = [(i, j), (i + 1, j), (i, j + 1), (i + 1, j + 1)];
                    let folded = turns_over(net, i, j, third(axes));
                    let corners = corners.map(|(i, j)| flat(net.node(i, j)));
                    let mut cell = Cell { patch, i, j, low: corners[0], high: corners[0], folded };
                    for k in 0..2 {
                        for corner in corners {
                            cell.low[k] = cell.low[k].min(corner[k]);
                            cell.high[k] = cell.high[k].max(corner[k]);
                        }
                        let margin = BULGE * (cell.high[k] - cell.low[k]) + 1e-9;
                        cell.low[k] -= margin;
                        cell.high[k] += margin;
                        low[k] = low[k].min(cell.low[k]);
                        high[k] = high[k].max(cell.high[k]);
                    }
                    cells.push(cell);
                }
            }
        }
        let per_unit = [0, 1].map(|k| BINS[k] as f64 / (high[k] - low[k]).max(1e-9));
        let mut index = Index { axes, low, per_unit, cells, bins: vec![Vec::new(); BINS[0] * BINS[1]] };
        for (number, cell) in index.cells.iter().enumerate() {
            let (first, last) = (index.bin(cell.low), index.bin(cell.high));
            for a in first[0]..=last[0] {
                for b in first[1]..=last[1] {
                    index.bins[a * BINS[1] + b].push(number as u32);
                }
            }
        }
        index
    }

    fn bin(&self, at: [f64; 2]) -> [usize; 2] {
        [0, 1].map(|k| (((at[k] - self.low[k]) * self.per_unit[k]).max(0.0) as usize).min(BINS[k] - 1))
    }

    /// Of the places with the two co-ordinates `at`, the one whose third is greatest (`most`) or least. None
    /// too where the hull is seen edge-on or turns over: the section has to be asked there.
    pub(crate) fn find(
        &self,
        surface: &Surface,
        nets: &[Net],
        at: [f64; 2],
        most: bool,
    ) -> Option<(Place, V3)> {
        let third = third(self.axes);
        let [a, b] = self.bin(at);
        let mut best: Option<(Place, V3)> = None;
        for &number in &self.bins[a * BINS[1] + b] {
            let cell = &self.cells[number as usize];
            if (0..2).any(|k| at[k] < cell.low[k] || at[k] > cell.high[k]) {
                continue;
            }
            if cell.folded {
                return None;
            }
            if let Some((place, p)) = self.solve(surface, &nets[cell.patch], cell, at)
                && best.is_none_or(
                    |(_, other)| if most { p[third] > other[third] } else { p[third] < other[third] },
                )
            {
                best = Some((place, p));
            }
        }
        best
    }

    fn solve(&self, surface: &Surface, net: &Net, cell: &Cell, at: [f64; 2]) -> Option<(Place, V3)> {
        let patch = &surface.patches[cell.patch];
        let [first, second] = self.axes;
        let (u0, u1) = (net.us[cell.i], net.us[cell.i + 1]);
        let (v0, v1) = (net.vs[cell.j], net.vs[cell.j + 1]);
        let step = |p: V3, du: V3, dv: V3| {
            let (ra, rb) = (at[0] - p[first], at[1] - p[second]);
            let det = du[first] * dv[second] - du[second] * dv[first];
            let det = if det.abs() > EDGE_ON * norm(du) * norm(dv) { det } else { 0.0 };
            ((ra * dv[second] - rb * dv[first]) / det, (rb * du[first] - ra * du[second]) / det)
        };
        // From the corner with the cell's own edges as derivatives.
        let corner = net.node(cell.i, cell.j);
        let edges = (sub(net.node(cell.i + 1, cell.j), corner), sub(net.node(cell.i, cell.j + 1), corner));
        let (a, b) = step(corner, edges.0, edges.1);
        let guess = |t: f64| if t.is_finite() { t.clamp(-0.5, 1.5) } else { 0.5 };
        let (mut u, mut v) = (u0 + guess(a) * (u1 - u0), v0 + guess(b) * (v1 - v0));
        for _ in 0..10 {
            let (p, du, dv) = patch.tangents(u, v);
            let (a, b) = step(p, du, dv);
            if !(a.is_finite() && b.is_finite()) {
                return None;
            }
            u = (u + a).clamp(u0 - 2.0 * (u1 - u0), u1 + 2.0 * (u1 - u0));
            v = (v + b).clamp(v0 - 2.0 * (v1 - v0), v1 + 2.0 * (v1 - v0));
            if a.abs() + b.abs() < 1e-8 {
                // The next step would be of the order of the square of this one.
                let inside = |t: f64| (-EDGE..=1.0 + EDGE).contains(&t);
                let place = Place { patch: cell.patch, u: u.clamp(0.0, 1.0), v: v.clamp(0.0, 1.0) };
                return (inside(u) && inside(v)).then(|| (place, patch.point(place.u, place.v)));
            }
        }
        None
    }
}
