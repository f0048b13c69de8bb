//! The curves in which a plane cuts a patch, or the surface parallel to it.
//!
//! The signs of the height above the plane at the nodes of a net fix how the curves run (marching squares,
//! an ambiguous cell settled by its middle); roots on the net's lines and Newton's method between them put
//! them on the surface exactly. A summit that pokes through between nodes is looked for, and gets a line of
//! the net to itself.

use std::collections::BTreeMap;

use scrieve_surface::Patch;

use crate::curve::{Plane, Sample, passes};
use crate::shape::{Shape, line_sample};
use scrieve_surface::vector::{V3, along, distance, dot, same_place};

/// A height is zero below this, m: rounding must not decide whether a plane through an edge cuts it.
const ZERO: f64 = 1e-10;

/// Least number of spans of a net along and up the patch. Fewer miss a hollow narrower than a span; more
/// cost evaluations for each cut.
const NET: [usize; 2] = [32, 20];

/// Halvings between two crossings of the net; 2^-12 of a span is under a tenth of a millimetre.
const DEEPEST: usize = 12;

/// Halvings of the window in which a summit is looked for; 2^-16 of a span is a few micrometres.
const CLOSING_IN: usize = 16;

/// Places looked at on each side of a chord, out to its own length, where Newton's method fails.
const LOOKS: i32 = 8;

/// Crossings of the net nearer to their neighbour than this share of the mean distance are left out.
const CROWDED: f64 = 0.2;

/// A run shorter than this is a plane that touches a corner, m.
const SHORTEST: f64 = 1e-7;

/// Nodes of a patch with their normals, worked out once.
#[derive(Clone, Debug)]
pub(crate) struct Net {
    pub us: Vec<f64>,
    pub vs: Vec<f64>,
    /// v fastest.
    pub nodes: Vec<(V3, V3)>,
}

impl Net {
    pub(crate) fn new(patch: &Patch) -> Self {
        let (breaks_u, breaks_v) = patch.breaks();
        let (us, vs) = (divided(&breaks_u, NET[0]), divided(&breaks_v, NET[1]));
        let node = |u: f64, v: f64| {
            let shape = Shape::at(patch, u, v, 0.0);
            (shape.p, shape.n)
        };
        let nodes = us.iter().flat_map(|&u| vs.iter().map(move |&v| node(u, v))).collect();
        Net { us, vs, nodes }
    }

    pub(crate) fn node(&self, i: usize, j: usize) -> V3 {
        self.nodes[i * self.vs.len() + j].0
    }
}

/// `breaks` with each span divided evenly so that there are at least `least` spans.
fn divided(breaks: &[f64], least: usize) -> Vec<f64> {
    let parts = least.div_ceil(breaks.len() - 1);
    let mut all: Vec<f64> = breaks
        .windows(2)
        .flat_map(|w| (0..parts).map(move |k| w[0] + (w[1] - w[0]) * k as f64 / parts as f64))
        .collect();
    all.extend(breaks.last());
    all
}

/// One run of a plane across one patch.
#[derive(Clone, Debug)]
pub(crate) struct Strand {
    pub patch: usize,
    /// (u, v) of each sample.
    pub uv: Vec<[f64; 2]>,
    pub samples: Vec<Sample>,
    /// Somewhere on it the parallel surface runs backward.
    pub turned: bool,
}

impl Strand {
    pub(crate) fn reverse(&mut self) {
        self.uv.reverse();
        self.samples.reverse();
        self.samples.iter_mut().for_each(|s| *s = s.reversed());
    }
}

/// Which side of the plane a node on it counts as.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum OnPlane {
    Above,
    Below,
}

/// A plane and the surface it cuts.
pub(crate) struct Cut<'a> {
    pub patch: &'a Patch,
    pub net: &'a Net,
    pub plane: &'a Plane,
    /// The surface cut lies this far inside the patch, m.
    pub inside: f64,
    normal: V3,
    offset: f64,
}

impl<'a> Cut<'a> {
    pub(crate) fn new(patch: &'a Patch, net: &'a Net, plane: &'a Plane, inside: f64) -> Self {
        let normal = plane.normal();
        Cut { patch, net, plane, inside, normal, offset: dot(normal, plane.origin) }
    }

    /// All runs of the plane across the patch, in no particular direction.
    pub(crate) fn strands(&self, index: usize, on_plane: OnPlane) -> Vec<Strand> {
        let (net, inside) = (self.net, self.inside);
        let mut grid = Grid { us: net.us.clone(), vs: net.vs.clone(), heights: Vec::new(), on_plane };
        grid.heights
            .extend(net.nodes.iter().map(|&(p, n)| dot(self.normal, along(p, n, -inside)) - self.offset));
        if self.add_summits(&mut grid) {
            grid.heights.clear();
            for &u in &grid.us {
                grid.heights.extend(grid.vs.iter().map(|&v| self.height(u, v)));
            }
        }
        let chains = grid.chains(|u, v| self.height(u, v));
        chains.into_iter().filter_map(|chain| self.strand(index, &grid, &chain)).collect()
    }

    fn height(&self, u: f64, v: f64) -> f64 {
        self.height_and_slopes(u, v).0
    }

    fn height_and_slopes(&self, u: f64, v: f64) -> (f64, [f64; 2]) {
        let (p, du, dv) = if self.inside == 0.0 {
            self.patch.tangents(u, v)
        } else {
            let shape = Shape::at(self.patch, u, v, self.inside);
            (shape.p, shape.du, shape.dv)
        };
        (dot(self.normal, p) - self.offset, [dot(self.normal, du), dot(self.normal, dv)])
    }

    /// Gives summits that reach through the plane between nodes of one side their own lines.
    fn add_summits(&self, grid: &mut Grid) -> bool {
        let (last_i, last_j) = (grid.us.len() - 1, grid.vs.len() - 1);
        let mut found = Vec::new();
        for i in 0..=last_i {
            for j in 0..=last_j {
                // On an edge of the patch the edge's own summits count besides those of the surface.
                let along_u = (j == 0 || j == last_j).then_some([true, false]);
                let along_v = (i == 0 || i == last_i).then_some([false, true]);
                for free in [Some([true, true]), along_u, along_v].into_iter().flatten() {
                    if let Some(side) = grid.may_hide_a_summit(i, j, free)
                        && let Some(at) = self.summit(grid, i, j, side, free)
                    {
                        found.push(at);
                    }
                }
            }
        }
        for [u, v] in &found {
            insert(&mut grid.us, *u);
            insert(&mut grid.vs, *v);
        }
        !found.is_empty()
    }

    /// The summit near node (i, j) if it lies on the other side of the plane, closed in on from the node.
    fn summit(&self, grid: &Grid, i: usize, j: usize, side: f64, free: [bool; 2]) -> Option<[f64; 2]> {
        let around = |line: &[f64], k: usize, free: bool| {
            let reach = usize::from(free);
            (line[k.saturating_sub(reach)], line[(k + reach).min(line.len() - 1)], line[k])
        };
        let ((u0, u1, mut u), (v0, v1, mut v)) = (around(&grid.us, i, free[0]), around(&grid.vs, j, free[1]));
        let mut least = side * grid.at(i, j);
        let (mut reach_u, mut reach_v) = (0.5 * (u1 - u0), 0.5 * (v1 - v0));
        for _ in 0..CLOSING_IN {
            let (centre_u, centre_v) = (u, v);
            for k in 0..25 {
                let (a, b) = (f64::from(k / 5 - 2) / 2.0, f64::from(k % 5 - 2) / 2.0);
                let try_u = (centre_u + a * reach_u).clamp(u0, u1);
                let try_v = (centre_v + b * reach_v).clamp(v0, v1);
                let height = side * self.height(try_u, try_v);
                if height < least {
                    (least, u, v) = (height, try_u, try_v);
                }
            }
            reach_u *= 0.5;
            reach_v *= 0.5;
        }
        (least < -10.0 * ZERO).then_some([u, v])
    }

    fn strand(&self, patch: usize, grid: &Grid, chain: &[usize]) -> Option<Strand> {
        let roots: Vec<[f64; 2]> = chain.iter().map(|&edge| self.root(grid, edge)).collect();
        // The contour runs square to the slopes; which way, the whole chain decides.
        let lean: f64 = roots
            .windows(2)
            .map(|w| {
                let (_, [gu, gv]) =
                    self.height_and_slopes(0.5 * (w[0][0] + w[1][0]), 0.5 * (w[0][1] + w[1][1]));
                gv * (w[1][0] - w[0][0]) - gu * (w[1][1] - w[0][1])
            })
            .sum();
        let sense = if lean < 0.0 { -1.0 } else { 1.0 };
        let mut turned = false;
        let mut sample = |uv: [f64; 2]| {
            let shape = Shape::at(self.patch, uv[0], uv[1], self.inside);
            turned |= shape.turned;
            let slopes = [dot(self.normal, shape.du), dot(self.normal, shape.dv)];
            (uv, shape.sample([sense * slopes[1], -sense * slopes[0]], self.plane))
        };
        let crossings = self.thinned(&roots).into_iter().map(&mut sample).collect::<Vec<_>>();
        let mut all = vec![*crossings.first()?];
        for pair in crossings.windows(2) {
            self.part(pair[0], pair[1], &mut sample, DEEPEST, &mut all);
        }
        let (uv, samples): (Vec<_>, Vec<_>) = all.into_iter().unzip();
        let long = samples.iter().any(|s: &Sample| !same_place(s.p, samples[0].p, SHORTEST));
        long.then_some(Strand { patch, uv, samples, turned })
    }

    /// Crossings with the crowded ones left out.
    fn thinned(&self, roots: &[[f64; 2]]) -> Vec<[f64; 2]> {
        let places: Vec<V3> = roots.iter().map(|uv| self.patch.point(uv[0], uv[1])).collect();
        let gap = |i: usize, j: usize| distance(places[i], places[j]);
        let last = roots.len() - 1;
        let least = (0..last).map(|i| gap(i, i + 1)).sum::<f64>() / last.max(1) as f64 * CROWDED;
        let mut kept = vec![0];
        for i in 1..last {
            if gap(kept[kept.len() - 1], i) >= least && gap(i, last) >= least {
                kept.push(i);
            }
        }
        kept.push(last);
        kept.into_iter().map(|i| roots[i]).collect()
    }

    /// Puts samples between two until the cubics pass the true curve; the first is already there.
    fn part(
        &self,
        a: ([f64; 2], Sample),
        b: ([f64; 2], Sample),
        sample: &mut impl FnMut([f64; 2]) -> ([f64; 2], Sample),
        depth: usize,
        out: &mut Vec<([f64; 2], Sample)>,
    ) {
        if depth > 0
            && let Some(uv) = self.corrected(a.0, b.0)
        {
            let middle = sample(uv);
            if !passes(&a.1, &b.1, &middle.1) {
                self.part(a, middle, sample, depth - 1, out);
                self.part(middle, b, sample, depth - 1, out);
                return;
            }
        }
        out.push(b);
    }

    /// The point of the contour near the middle of two of its points.
    pub(crate) fn corrected(&self, a: [f64; 2], b: [f64; 2]) -> Option<[f64; 2]> {
        let middle = [0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])];
        let reach = (a[0] - b[0]).hypot(a[1] - b[1]);
        let [mut u, mut v] = middle;
        for _ in 0..8 {
            let (height, [gu, gv]) = self.height_and_slopes(u, v);
            if height.abs() < 1e-14 {
                break;
            }
            let square = gu * gu + gv * gv;
            if square == 0.0 {
                return None;
            }
            let (next_u, next_v) =
                ((u - height * gu / square).clamp(0.0, 1.0), (v - height * gv / square).clamp(0.0, 1.0));
            if (next_u, next_v) == (u, v) {
                break;
            }
            (u, v) = (next_u, next_v);
        }
        let near = (u - middle[0]).hypot(v - middle[1]) <= reach;
        if near && self.height(u, v).abs() < ZERO { Some([u, v]) } else { self.searched(a, b) }
    }

    /// The point of the contour between two of its points where `f` changes sign.
    pub(crate) fn bisected(
        &self,
        mut a: [f64; 2],
        mut b: [f64; 2],
        f: impl Fn([f64; 2]) -> f64,
    ) -> Option<[f64; 2]> {
        let rising = f(a) < 0.0;
        for _ in 0..50 {
            let middle = self.corrected(a, b)?;
            if (f(middle) < 0.0) == rising { a = middle } else { b = middle }
        }
        Some(a)
    }

    /// How fast the co-ordinate `axis` grows along the contour, but for a positive factor.
    pub(crate) fn rate(&self, [u, v]: [f64; 2], axis: usize) -> f64 {
        let (_, du, dv) = self.patch.tangents(u, v);
        let (_, [gu, gv]) = self.height_and_slopes(u, v);
        du[axis] * gv - dv[axis] * gu
    }

    /// [`Cut::corrected`] by looking either way square to the chord, where Newton's method goes astray.
    fn searched(&self, a: [f64; 2], b: [f64; 2]) -> Option<[f64; 2]> {
        let middle = [0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])];
        let below = self.height(middle[0], middle[1]) < 0.0;
        let at = |t: f64| [middle[0] - t * (b[1] - a[1]), middle[1] + t * (b[0] - a[0])];
        let inside = |uv: [f64; 2]| uv.iter().all(|t| (0.0..=1.0).contains(t));
        let other_side = |t: &f64| inside(at(*t)) && (self.height(at(*t)[0], at(*t)[1]) < 0.0) != below;
        let steps = (1..=LOOKS).flat_map(|k| [1.0, -1.0].map(|way| way * f64::from(k) / f64::from(LOOKS)));
        let mut far = steps.into_iter().find(other_side)?;
        let mut near = far - far.signum() / f64::from(LOOKS);
        for _ in 0..50 {
            let t = 0.5 * (near + far);
            if (self.height(at(t)[0], at(t)[1]) < 0.0) == below { near = t } else { far = t }
        }
        Some(at(far))
    }

    /// Where the contour crosses an edge of the net: Newton's method held between the ends.
    fn root(&self, grid: &Grid, edge: usize) -> [f64; 2] {
        let ((i, j), (k, l)) = grid.ends(edge);
        let (a, b) = ([grid.us[i], grid.vs[j]], [grid.us[k], grid.vs[l]]);
        let (ga, gb) = (grid.at(i, j), grid.at(k, l));
        if ga * gb >= 0.0 {
            return if ga.abs() <= gb.abs() { a } else { b };
        }
        let (mut low, mut high) = (0.0, 1.0);
        let mut t = ga / (ga - gb);
        let at = |t: f64| [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])];
        for _ in 0..60 {
            let [u, v] = at(t);
            let (height, [gu, gv]) = self.height_and_slopes(u, v);
            if height.abs() < 1e-15 {
                break;
            }
            if (height < 0.0) == (ga < 0.0) {
                low = t
            } else {
                high = t
            }
            let slope = gu * (b[0] - a[0]) + gv * (b[1] - a[1]);
            let newton = t - height / slope;
            let next = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
            if (next - t).abs() < 1e-15 {
                break;
            }
            t = next;
        }
        at(t)
    }
}

/// Heights above the plane at the nodes of a net.
struct Grid {
    us: Vec<f64>,
    vs: Vec<f64>,
    heights: Vec<f64>,
    on_plane: OnPlane,
}

impl Grid {
    fn at(&self, i: usize, j: usize) -> f64 {
        self.heights[i * self.vs.len() + j]
    }

    fn above(&self, height: f64) -> bool {
        match self.on_plane {
            OnPlane::Above => height > -ZERO,
            OnPlane::Below => height > ZERO,
        }
    }

    /// The side of the plane (1 or -1) if node (i, j) is its side's lowest hereabouts, in the directions that
    /// are free, and low enough that the surface may reach through beside it.
    fn may_hide_a_summit(&self, i: usize, j: usize, free: [bool; 2]) -> Option<f64> {
        let here = self.at(i, j);
        let side = if self.above(here) { 1.0 } else { -1.0 };
        let bend = |before: Option<f64>, after: Option<f64>| -> Option<f64> {
            let higher = |h: Option<f64>| h.is_none_or(|h| side * h >= side * here);
            (higher(before) && higher(after)).then_some(())?;
            Some(match (before, after) {
                (Some(b), Some(a)) => (b - 2.0 * here + a).abs(),
                (one, other) => one.or(other).map_or(0.0, |h| (h - here).abs()),
            })
        };
        let (nu, nv) = (self.us.len(), self.vs.len());
        let bend_u = match free[0] {
            true => bend(i.checked_sub(1).map(|i| self.at(i, j)), (i + 1 < nu).then(|| self.at(i + 1, j)))?,
            false => 0.0,
        };
        let bend_v = match free[1] {
            true => bend(j.checked_sub(1).map(|j| self.at(i, j)), (j + 1 < nv).then(|| self.at(i, j + 1)))?,
            false => 0.0,
        };
        // A parabola through three nodes, the middle one lowest, dips below it by an eighth of their second
        // difference at most; twice that is allowed for.
        (here.abs() < 0.25 * (bend_u + bend_v)).then_some(side)
    }

    /// Edges are numbered by their first node: twice its number along u, one more along v.
    fn ends(&self, edge: usize) -> ((usize, usize), (usize, usize)) {
        let (node, up) = (edge / 2, edge % 2);
        let (i, j) = (node / self.vs.len(), node % self.vs.len());
        ((i, j), if up == 1 { (i, j + 1) } else { (i + 1, j) })
    }

    /// Chains of crossed edges; a closed one ends as it begins.
    fn chains(&self, height: impl Fn(f64, f64) -> f64) -> Vec<Vec<usize>> {
        let mut links: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        let mut link = |a: usize, b: usize| {
            links.entry(a).or_default().push(b);
            links.entry(b).or_default().push(a);
        };
        let nv = self.vs.len();
        for i in 0..self.us.len() - 1 {
            for j in 0..nv - 1 {
                let above =
                    [(i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)].map(|(i, j)| self.above(self.at(i, j)));
                if above[0] == above[1] && above[1] == above[2] && above[2] == above[3] {
                    continue;
                }
                let first = 2 * (i * nv + j);
                let [bottom, right, top, left] = [first, first + 2 * nv + 1, first + 2, first + 1];
                let crossed: Vec<usize> = [bottom, right, top, left]
                    .into_iter()
                    .enumerate()
                    .filter(|(k, _)| above[*k] != above[(k + 1) % 4])
                    .map(|(_, edge)| edge)
                    .collect();
                if let [a, b] = crossed[..] {
                    link(a, b);
                    continue;
                }
                let middle = height(0.5 * (self.us[i] + self.us[i + 1]), 0.5 * (self.vs[j] + self.vs[j + 1]));
                if self.above(middle) == above[0] {
                    link(bottom, right);
                    link(top, left);
                } else {
                    link(left, bottom);
                    link(right, top);
                }
            }
        }
        let mut chains = Vec::new();
        let ends: Vec<usize> = links.iter().filter(|(_, to)| to.len() == 1).map(|(&edge, _)| edge).collect();
        for start in ends {
            if links.contains_key(&start) {
                chains.push(walk(&mut links, start));
            }
        }
        while let Some((&start, _)) = links.first_key_value() {
            let mut chain = walk(&mut links, start);
            chain.push(start);
            chains.push(chain);
        }
        chains
    }
}

/// Follows the links from `start`, taking them away.
fn walk(links: &mut BTreeMap<usize, Vec<usize>>, start: usize) -> Vec<usize> {
    let (mut chain, mut here) = (vec![start], start);
    while let Some(next) =
        links.remove(&here).and_then(|to| to.into_iter().find(|edge| links.contains_key(edge)))
    {
        chain.push(next);
        here = next;
    }
    chain
}

fn insert(line: &mut Vec<f64>, at: f64) {
    let k = line.partition_point(|&t| t < at);
    let far = |t: Option<&f64>| t.is_none_or(|t| (t - at).abs() > 1e-9);
    if far(line.get(k)) && far(k.checked_sub(1).and_then(|k| line.get(k))) {
        line.insert(k, at);
    }
}

/// How far short of a corner, as a part of the way to it, a line's direction is taken as it comes up to it.
const JUST_BELOW: f64 = 1e-9;

/// The line of a patch at one u, drawn in `plane`, in pieces that end at its corners.
pub(crate) fn patch_pieces(patch: &Patch, net: &Net, u: f64, plane: &Plane) -> Vec<Vec<Sample>> {
    let (mut pieces, mut from) = (Vec::new(), 0.0);
    for to in patch.corners().into_iter().chain([1.0]) {
        let within: Vec<f64> = net.vs.iter().copied().filter(|v| (from..=to).contains(v)).collect();
        let sample = |v: f64| {
            let at = line_sample(patch, u, v, false, plane);
            if v < to || to == 1.0 {
                return at;
            }
            // At a corner as it comes up to it, at the very spot where the next begins.
            Sample { p: at.p, ..line_sample(patch, u, to - JUST_BELOW * (to - from), false, plane) }
        };
        pieces.push(line_over(&within, &sample));
        from = to;
    }
    pieces
}

/// The line of a patch at one v (`along_u`) or one u, drawn in `plane`.
pub(crate) fn patch_line(patch: &Patch, net: &Net, fixed: f64, along_u: bool, plane: &Plane) -> Vec<Sample> {
    let sample = |t: f64| {
        let (u, v) = if along_u { (t, fixed) } else { (fixed, t) };
        line_sample(patch, u, v, along_u, plane)
    };
    line_over(if along_u { &net.us } else { &net.vs }, &sample)
}

/// A line through samples at these parameters, and between them where it bends.
fn line_over(line: &[f64], sample: &impl Fn(f64) -> Sample) -> Vec<Sample> {
    fn part(
        a: (f64, Sample),
        b: (f64, Sample),
        sample: &impl Fn(f64) -> Sample,
        depth: usize,
        out: &mut Vec<Sample>,
    ) {
        let t = 0.5 * (a.0 + b.0);
        let middle = (t, sample(t));
        if depth > 0 && !passes(&a.1, &b.1, &middle.1) {
            part(a, middle, sample, depth - 1, out);
            part(middle, b, sample, depth - 1, out);
        } else {
            out.push(b.1);
        }
    }
    let mut out: Vec<Sample> = line.first().map(|&first| sample(first)).into_iter().collect();
    for pair in line.windows(2) {
        part((pair[0], sample(pair[0])), (pair[1], sample(pair[1])), sample, DEEPEST, &mut out);
    }
    out
}
