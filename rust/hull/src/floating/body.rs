//! The body a hull displaces water with, and its integrals below any plane.
//!
//! The surface is cut into Bézier tiles (knot insertion by blossoms: Ramshaw, "Blossoms are polar forms",
//! CAGD 6, 1989). The body is swept out by athwartships lines from each point of one side to its mirror on
//! the other; by Fubini's theorem an integral over it below a plane is one over (u, v) of the wet part of
//! those lines, so that deck, stem, rabbet and transom need no faces of their own. In v the limits are the
//! roots of the plane on the surface; in u the spans are split where the number of roots changes.

use scrieve_offsets::TransomPlane;
use scrieve_surface::{Patch, Surface};

use crate::Boat;
use scrieve_surface::bernstein::{Quintic, Roots, dot, extent, one_sign, slopes, values};
use scrieve_surface::quadrature::gauss;

/// Gauss nodes to a span both ways. A quintic patch has a volume of degree 14, which 8 would integrate
/// exactly; on a surface of several spans 5 leave less than a part in 10⁸.
pub const NODES: usize = 5;
/// A plane nearer to level athwartships than this is level: beyond it the breadth of the waterplane is
/// taken from where the plane meets the sides, as the wedge between them is lost in rounding.
const LEVEL: f64 = 1e-8;
/// Bisections for where the roots change in number along u: what is left of a span, 2⁻³⁰, is far below
/// what the integral can show.
const BISECTIONS: usize = 30;
/// Changes looked for between two neighbouring nodes; more would be a surface rippled within one span.
const MOST_CHANGES: usize = 8;

/// A water plane in the hull's own axes: what has up · p ≤ reach is under water.
#[derive(Clone, Copy, Debug)]
pub(super) struct Level {
    /// Unit vector, up.
    pub up: [f64; 3],
    /// Unit vector along the boat in the plane: the way `up` turns as she trims by the stern.
    pub along: [f64; 3],
    /// Unit vector across the boat in the plane, toward the low side.
    pub across: [f64; 3],
    /// Distance of the plane from the origin along `up`, m.
    pub reach: f64,
    /// A point lengths along the plane are measured from.
    pub pivot: [f64; 3],
}

impl Level {
    /// The plane that is `rise` above the pivot (x, 0, 0), square to itself, with the boat trimmed by the
    /// stern and heeled to starboard (+y down), radians.
    pub(super) fn new(rise: f64, trim: f64, heel: f64, pivot_x: f64) -> Self {
        let ((st, ct), (sh, ch)) = (trim.sin_cos(), heel.sin_cos());
        let up = [-st, -ct * sh, ct * ch];
        Level {
            up,
            along: [-ct, st * sh, -st * ch],
            across: [0.0, ch, sh],
            reach: rise + up[0] * pivot_x,
            pivot: [pivot_x, 0.0, 0.0],
        }
    }

    /// Level water at height `draught` above the base line.
    pub(super) fn upright(draught: f64) -> Self {
        Level::new(draught, 0.0, 0.0, 0.0)
    }

    /// How far below the water `p` lies, m.
    #[inline(always)]
    pub(super) fn depth(&self, p: [f64; 3]) -> f64 {
        self.reach - dot3(self.up, p)
    }

    #[inline(always)]
    fn depths(&self, p: &[Quintic; 3], side: f64) -> Quintic {
        let [a, b, c] = [self.up[0], side * self.up[1], self.up[2]];
        std::array::from_fn(|i| self.reach - (a * p[0][i] + b * p[1][i] + c * p[2][i]))
    }

    fn is_level_athwart(&self) -> bool {
        self.up[1].abs() < LEVEL
    }

    /// Distance of `p` from the pivot along the plane, m.
    #[inline(always)]
    fn lever(&self, p: [f64; 3]) -> f64 {
        (0..3).map(|k| self.along[k] * (p[k] - self.pivot[k])).sum()
    }
}

#[inline(always)]
pub(super) fn dot3(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// Integrals over what is under water, both sides.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Wet {
    /// Volume, m³.
    pub volume: f64,
    /// First moments of volume about the origin, m⁴.
    pub moment: [f64; 3],
    /// Area of the waterplane, m².
    pub area: f64,
    /// First and second moment of that area about the pivot, along the boat, m³ and m⁴.
    pub lever: f64,
    pub inertia_along: f64,
    /// Second moment of that area about the centreline, m⁴; upright only.
    pub inertia_across: f64,
    /// Wet surface of the two sides, m²; upright only.
    pub surface: f64,
    /// Area of the profile and its moments in x and z, m² and m³; upright only.
    pub profile: f64,
    pub profile_moment: [f64; 2],
}

impl Wet {
    fn add(&mut self, other: &Wet, weight: f64) {
        self.volume += weight * other.volume;
        for k in 0..3 {
            self.moment[k] += weight * other.moment[k];
        }
        self.area += weight * other.area;
        self.lever += weight * other.lever;
        self.inertia_along += weight * other.inertia_along;
        self.inertia_across += weight * other.inertia_across;
        self.surface += weight * other.surface;
        self.profile += weight * other.profile;
        for k in 0..2 {
            self.profile_moment[k] += weight * other.profile_moment[k];
        }
    }

    fn add_area(&mut self, area: f64, lever: f64) {
        self.area += area;
        self.lever += area * lever;
        self.inertia_along += area * lever * lever;
    }

    /// An athwartships line right across the boat at `p`, standing for `profile` of the centre plane.
    #[inline(always)]
    fn add_whole(&mut self, p: [f64; 3], profile: f64, surface: f64) {
        let volume = 2.0 * p[1] * profile;
        self.volume += volume;
        self.moment[0] += volume * p[0];
        self.moment[2] += volume * p[2];
        self.surface += 2.0 * surface;
        self.profile += profile;
        self.profile_moment[0] += profile * p[0];
        self.profile_moment[1] += profile * p[2];
    }

    /// The wet part of such a line, cut by the water somewhere between the sides.
    #[inline(always)]
    fn add_part(&mut self, p: [f64; 3], profile: f64, level: &Level) {
        let [x, y, z] = p;
        let slope = level.up[1];
        let cut = ((level.reach - level.up[0] * x - level.up[2] * z) / slope).min(y).max(-y);
        let (breadth, moment) = if slope < 0.0 {
            (y - cut, 0.5 * (y * y - cut * cut))
        } else {
            (y + cut, 0.5 * (cut * cut - y * y))
        };
        let volume = breadth * profile;
        self.volume += volume;
        self.moment[0] += volume * x;
        self.moment[1] += moment * profile;
        self.moment[2] += volume * z;
        if !level.is_level_athwart() {
            self.add_area(profile / slope.abs(), level.lever([x, cut, z]));
        }
    }
}

/// How the water meets a line u = constant: number of roots on each side, and whether its foot is wet.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Crossings {
    roots: [u8; 2],
    wet: [bool; 2],
}

/// One v-span of a line u = constant.
#[derive(Clone, Debug)]
pub(super) struct Span {
    /// Position over local t.
    pub p: [Quintic; 3],
    /// Its derivative by local s.
    pub ds: [Quintic; 3],
    /// Integrals over the span if it is all under water.
    whole: Wet,
}

/// A line u = constant, from the lower edge of its panel to the upper.
#[derive(Clone, Debug)]
pub(super) struct Line {
    pub spans: Vec<Span>,
}

impl Span {
    /// Position, share of the centre plane and of the surface at local t, to be multiplied by dt (and ds).
    #[inline(always)]
    fn element(&self, t: f64) -> ([f64; 3], f64, f64) {
        let (b, d) = (values(t), slopes(t));
        let p = [0, 1, 2].map(|k| dot(&self.p[k], &b));
        let ps = [0, 1, 2].map(|k| dot(&self.ds[k], &b));
        let pt = [0, 1, 2].map(|k| dot(&self.p[k], &d));
        let n = [ps[1] * pt[2] - ps[2] * pt[1], ps[0] * pt[2] - ps[2] * pt[0], ps[0] * pt[1] - ps[1] * pt[0]];
        ([p[0], p[1].max(0.0), p[2]], n[1], dot3(n, n).sqrt())
    }

    pub(super) fn point(&self, t: f64) -> [f64; 3] {
        let b = values(t);
        [0, 1, 2].map(|k| dot(&self.p[k], &b))
    }
}

impl Line {
    fn crossings(&self, level: &Level) -> Crossings {
        let mut found = Crossings { roots: [0; 2], wet: [false; 2] };
        for (i, span) in self.spans.iter().enumerate() {
            for (k, side) in [1.0, -1.0].into_iter().enumerate() {
                let depths = level.depths(&span.p, side);
                if i == 0 {
                    found.wet[k] = depths[0] >= 0.0;
                }
                if one_sign(&depths).is_none() {
                    found.roots[k] += Roots::of(&depths).as_slice().len() as u8;
                }
            }
        }
        found
    }

    /// Integrals below the water along the line, per unit of local s, and how the water meets it.
    fn below(&self, level: &Level, nodes: &[(f64, f64)]) -> (Wet, Crossings) {
        let mut wet = Wet::default();
        let mut found = Crossings { roots: [0; 2], wet: [false; 2] };
        for (i, span) in self.spans.iter().enumerate() {
            let depths = [level.depths(&span.p, 1.0), level.depths(&span.p, -1.0)];
            if i == 0 {
                found.wet = depths.map(|d| d[0] >= 0.0);
            }
            let signs = [one_sign(&depths[0]), one_sign(&depths[1])];
            match signs {
                [Some(true), Some(true)] => {
                    wet.add(&span.whole, 1.0);
                    continue;
                }
                [Some(false), Some(false)] => continue,
                _ => {}
            }
            let mut limits = [0.0; 12];
            let mut count = 1;
            for k in 0..2 {
                if signs[k].is_none() {
                    let roots = Roots::of(&depths[k]);
                    found.roots[k] += roots.as_slice().len() as u8;
                    for &root in roots.as_slice() {
                        limits[count] = root;
                        count += 1;
                        if k == 0 && level.is_level_athwart() {
                            let (p, profile, _) = span.element(root);
                            let area = 2.0 * p[1] * profile / dot(&depths[k], &slopes(root)).abs();
                            wet.add_area(area, level.lever(p));
                            wet.inertia_across += area * p[1] * p[1] / 3.0;
                        }
                    }
                }
            }
            limits[count] = 1.0;
            limits[1..count].sort_by(f64::total_cmp);
            for pair in limits[..=count].windows(2) {
                let (from, width) = (pair[0], pair[1] - pair[0]);
                if width <= 0.0 {
                    continue;
                }
                let middle = values(from + 0.5 * width);
                let [low, high] = [0, 1].map(|k| dot(&depths[k], &middle) >= 0.0);
                if !low && !high {
                    continue;
                }
                for &(t, weight) in nodes {
                    let (p, profile, surface) = span.element(from + t * width);
                    if low && high {
                        wet.add_whole(p, weight * width * profile, weight * width * surface);
                    } else {
                        wet.add_part(p, weight * width * profile, level);
                    }
                }
            }
        }
        (wet, found)
    }
}

/// A tile: control points over t for each axis, for each of six over s.
type Tile = [[Quintic; 3]; 6];

/// A patch of the surface as tiles, with its lines at the nodes made once for every plane.
#[derive(Clone, Debug)]
pub(super) struct Panel {
    /// `tiles[i][j]`: span i of u, span j of v.
    pub tiles: Vec<Vec<Tile>>,
    /// For each span of u its lines at the Gauss nodes.
    inner: Vec<Vec<Line>>,
    /// Lines at the breaks of u.
    pub ends: Vec<Line>,
    nodes: Vec<(f64, f64)>,
}

/// For each span its quintic in Bernstein form: which of the control points that reach it is the first, and
/// `[bernstein][spline]` weights of the six of them. A break that is repeated, where the patch may have a corner, parts
/// spans of its own length, which is nothing.
fn extraction(breaks: &[f64]) -> Vec<(usize, [Quintic; 6])> {
    let spans = breaks.len() - 1;
    let knot = |i: isize| breaks[i.clamp(0, spans as isize) as usize];
    (0..spans as isize)
        .filter(|span| knot(*span) < knot(span + 1))
        .map(|span| {
            let weights = std::array::from_fn(|r| {
                // The blossom at r times the right end and 5 - r times the left.
                let arguments: [f64; 5] = std::array::from_fn(|k| knot(span + isize::from(k < r)));
                std::array::from_fn(|unit| {
                    let mut c: Quintic = std::array::from_fn(|i| f64::from(i == unit));
                    for level in 1..=5 {
                        for i in (level..=5).rev() {
                            let low = knot(span + i as isize - 5);
                            let high = knot(span + i as isize + 1 - level as isize);
                            let share = (arguments[level - 1] - low) / (high - low);
                            c[i] = (1.0 - share) * c[i - 1] + share * c[i];
                        }
                    }
                    c[5]
                })
            });
            (span as usize, weights)
        })
        .collect()
}

impl Panel {
    fn new(patch: &Patch, nodes: &[(f64, f64)]) -> Self {
        let (breaks_u, breaks_v) = patch.repeated_breaks();
        let (over_u, over_v) = (extraction(breaks_u), extraction(breaks_v));
        let (control, nv) = (patch.control(), breaks_v.len() + 4);
        debug_assert_eq!(control.len(), (breaks_u.len() + 4) * nv);
        // Along v first: rows[iu][j] are the Bernstein coefficients of control row iu on span j.
        let rows: Vec<Vec<[Quintic; 3]>> = control
            .chunks(nv)
            .map(|row| {
                let piece = |(first, weights): &(usize, [Quintic; 6])| {
                    std::array::from_fn(|k| {
                        let near: Quintic = std::array::from_fn(|i| row[first + i][k]);
                        std::array::from_fn(|r| dot(&weights[r], &near))
                    })
                };
                over_v.iter().map(piece).collect()
            })
            .collect();
        let tile = |i: usize, j: usize| -> Tile {
            let (first, weights) = &over_u[i];
            std::array::from_fn(|r| {
                std::array::from_fn(|k| {
                    std::array::from_fn(|t| (0..6).map(|n| weights[r][n] * rows[first + n][j][k][t]).sum())
                })
            })
        };
        let tiles: Vec<Vec<Tile>> =
            (0..over_u.len()).map(|i| (0..over_v.len()).map(|j| tile(i, j)).collect()).collect();
        let mut panel = Panel { tiles, inner: Vec::new(), ends: Vec::new(), nodes: nodes.to_vec() };
        let last = panel.tiles.len() - 1;
        panel.inner =
            (0..=last).map(|i| nodes.iter().map(|&(s, _)| panel.line(i, s, true)).collect()).collect();
        panel.ends = (0..=last).map(|i| panel.line(i, 0.0, false)).collect();
        panel.ends.push(panel.line(last, 1.0, false));
        panel
    }

    /// The line at local s of span i; with its integrals under water if `whole`.
    pub(super) fn line(&self, i: usize, s: f64, whole: bool) -> Line {
        let (b, d) = (values(s), slopes(s));
        let across = |tile: &Tile, weights: &Quintic| -> [Quintic; 3] {
            let mut sum = [[0.0; 6]; 3];
            for (row, weight) in tile.iter().zip(weights) {
                for k in 0..3 {
                    for t in 0..6 {
                        sum[k][t] += weight * row[k][t];
                    }
                }
            }
            sum
        };
        let span = |tile: &Tile| {
            let mut span = Span { p: across(tile, &b), ds: across(tile, &d), whole: Wet::default() };
            if whole {
                for &(t, weight) in &self.nodes {
                    let (p, profile, surface) = span.element(t);
                    span.whole.add_whole(p, weight * profile, weight * surface);
                }
            }
            span
        };
        Line { spans: self.tiles[i].iter().map(span).collect() }
    }

    /// The lower (`false`) or upper edge, one quintic over s to each span of u.
    pub(super) fn edge(&self, upper: bool) -> Vec<[Quintic; 3]> {
        let (j, t) = if upper { (self.tiles[0].len() - 1, 5) } else { (0, 0) };
        self.tiles
            .iter()
            .map(|row| std::array::from_fn(|k| std::array::from_fn(|r| row[j][r][k][t])))
            .collect()
    }

    /// Lines at the nodes with the span each is in and its place there, and the first and last line.
    pub(super) fn lines(&self) -> impl Iterator<Item = (usize, f64, &Line)> {
        let inner =
            self.inner.iter().enumerate().flat_map(|(i, lines)| {
                lines.iter().zip(&self.nodes).map(move |(line, node)| (i, node.0, line))
            });
        let last = self.tiles.len() - 1;
        inner.chain([(0, 0.0, &self.ends[0]), (last, 1.0, &self.ends[last + 1])])
    }

    fn below(&self, level: &Level) -> Wet {
        let mut total = Wet::default();
        let mut left = self.ends[0].crossings(level);
        for (i, lines) in self.inner.iter().enumerate() {
            let right = self.ends[i + 1].crossings(level);
            let mut sum = Wet::default();
            let mut even = left == right;
            let mut seen = vec![(0.0, left)];
            for (line, &(s, weight)) in lines.iter().zip(&self.nodes) {
                let (wet, found) = line.below(level, &self.nodes);
                sum.add(&wet, weight);
                even &= found == left;
                seen.push((s, found));
            }
            seen.push((1.0, right));
            if even {
                total.add(&sum, 1.0);
            } else {
                total.add(&self.split(level, i, &seen), 1.0);
            }
            left = right;
        }
        total
    }

    /// A span of u in which the roots change in number, split where they do. The limits go with the root of
    /// the distance from there, if a section is flat where the water leaves it; a quadratic stretching of s
    /// makes them smooth again.
    fn split(&self, level: &Level, i: usize, seen: &[(f64, Crossings)]) -> Wet {
        let mut changes = vec![(0.0, false)];
        for pair in seen.windows(2) {
            let (mut at, mut found) = pair[0];
            let (end, wanted) = pair[1];
            for _ in 0..MOST_CHANGES {
                if found == wanted {
                    break;
                }
                let (mut low, mut high, mut beyond) = (at, end, wanted);
                for _ in 0..BISECTIONS {
                    let middle = 0.5 * (low + high);
                    let there = self.line(i, middle, false).crossings(level);
                    if there == found {
                        low = middle;
                    } else {
                        (high, beyond) = (middle, there);
                    }
                }
                changes.push((high, true));
                (at, found) = (high, beyond);
            }
        }
        changes.push((1.0, false));
        let mut total = Wet::default();
        for pair in changes.windows(2) {
            let ((from, soft_start), (to, soft_end)) = (pair[0], pair[1]);
            let width = to - from;
            if width <= 0.0 {
                continue;
            }
            for &(t, weight) in &self.nodes {
                let (place, stretch) = match (soft_start, soft_end) {
                    (false, false) => (t, 1.0),
                    (true, false) => (t * t, 2.0 * t),
                    (false, true) => (t * (2.0 - t), 2.0 - 2.0 * t),
                    (true, true) => (t * t * (3.0 - 2.0 * t), 6.0 * t * (1.0 - t)),
                };
                let line = self.line(i, from + place * width, true);
                total.add(&line.below(level, &self.nodes).0, weight * stretch * width);
            }
        }
        total
    }
}

/// Spans of a transom's face from edge to centreline: a quintic leaves 1e-8 of the radius over half a radian.
const FACE_SPANS: usize = 2;

/// The face of a curved transom from the after edge of a patch to the centreline; `None` of a flat one.
pub(crate) fn transom_face(patch: &Patch, plane: &TransomPlane) -> Option<Patch> {
    plane.curve_radius.map(|radius| cylinder(patch, plane, radius))
}

/// The cylinder of a curved transom from the after edge of a patch to the centreline, as u runs from 0 to 1.
fn cylinder(patch: &Patch, plane: &TransomPlane, radius: f64) -> Patch {
    let (dx, dz) = (plane.head.0 - plane.foot.0, plane.head.1 - plane.foot.1);
    let run = dx.hypot(dz);
    // Square to its centreline, aft and so downward where she is raked.
    let (aft, up) = (dz / run, -dx / run);
    let breaks: Vec<f64> = (0..=FACE_SPANS).map(|i| i as f64 / FACE_SPANS as f64).collect();
    Patch::interpolating(&breaks, patch.repeated_breaks().1, |u, v| {
        let [x, y, z] = patch.point(1.0, v);
        let edge = (y / radius).clamp(-1.0, 1.0).asin();
        let at = edge * (1.0 - u);
        let bulge = radius * (at.cos() - edge.cos());
        [x + bulge * aft, radius * at.sin(), z + bulge * up]
    })
}

/// A hull ready to float: the moulded canoe body between rabbet and sheer, closed by athwartships lines
/// along the sheer (a straight deck), the rabbet, the stem and the after end, and mirrored.
///
/// What lies below the rabbet (keel, deadwood, rudder) is not counted, nor the planking where the record is
/// to the inside of it. A curved transom is closed by the cylinder it lies on.
#[derive(Clone, Debug)]
pub struct Body {
    pub(super) panels: Vec<Panel>,
    /// The face of a curved transom from the after edge of each panel to the centreline; swept across like
    /// the sides, it closes what bulges out abaft the straight lines from edge to edge.
    pub(super) face: Vec<Panel>,
    pub(super) nodes: Vec<(f64, f64)>,
    /// Least and greatest x of the body, m.
    pub(super) ends: [f64; 2],
    /// Lowest point and lowest point of the sheer, m.
    pub(super) lowest: f64,
    pub(super) lowest_sheer: f64,
    /// Volume of the whole, m³.
    pub(super) volume: f64,
}

impl Body {
    /// The body of a surface, its after end closed straight across.
    pub fn new(surface: &Surface) -> Self {
        Self::closed(surface, None, NODES)
    }

    /// The body of a hull: one with a curved transom is closed by its cylinder.
    pub fn of(hull: &Boat) -> Self {
        Self::closed(hull.surface(), hull.survey().transom.as_ref(), NODES)
    }

    /// The body of a surface with another number of Gauss nodes to a span than [`NODES`], to see convergence.
    pub fn with_nodes(surface: &Surface, nodes: usize) -> Self {
        Self::closed(surface, None, nodes)
    }

    /// The body of a surface that ends on `transom`, if on any, with `nodes` Gauss nodes to a span.
    pub fn closed(surface: &Surface, transom: Option<&TransomPlane>, nodes: usize) -> Self {
        let nodes = gauss(nodes.max(1));
        let panels: Vec<Panel> = surface.patches.iter().map(|patch| Panel::new(patch, &nodes)).collect();
        let faces = surface.patches.iter().filter_map(|patch| transom_face(patch, transom?));
        let face: Vec<Panel> = faces.map(|face| Panel::new(&face, &nodes)).collect();
        let mut body = Body {
            panels,
            face,
            nodes,
            ends: [f64::INFINITY, f64::NEG_INFINITY],
            lowest: f64::INFINITY,
            lowest_sheer: 0.0,
            volume: 0.0,
        };
        body.volume = body.below(&Level::upright(f64::MAX)).volume;
        let mut ends = body.ends;
        for line in body.all().flat_map(|panel| [&panel.ends[0], &panel.ends[panel.ends.len() - 1]]) {
            for span in &line.spans {
                let [low, high] = extent(&span.p[0]);
                ends = [ends[0].min(low), ends[1].max(high)];
            }
        }
        body.ends = ends;
        let least =
            |edge: Vec<[Quintic; 3]>| edge.iter().map(|p| extent(&p[2])[0]).fold(f64::INFINITY, f64::min);
        let mut lowest = f64::INFINITY;
        body.lowest_sheer = body.panels.last().map_or(0.0, |panel| least(panel.edge(true)));
        for panel in body.all() {
            lowest = lowest.min(least(panel.edge(false)));
            for span in panel.lines().flat_map(|(_, _, line)| &line.spans) {
                if span.p[2].iter().any(|z| *z < lowest) {
                    lowest = lowest.min(extent(&span.p[2])[0]);
                }
            }
        }
        body.lowest = lowest;
        body
    }

    /// The sides and a curved transom's face.
    pub(super) fn all(&self) -> impl Iterator<Item = &Panel> {
        self.panels.iter().chain(&self.face)
    }

    /// Height above the base line of the lowest point of the body and of the sheer, m: level water between
    /// the two floats her.
    pub fn depths(&self) -> [f64; 2] {
        [self.lowest, self.lowest_sheer]
    }

    /// Least and greatest x of the body, m.
    pub fn ends(&self) -> [f64; 2] {
        self.ends
    }

    /// x halfway between the ends of the hull, m: where draughts are given.
    pub fn midships(&self) -> f64 {
        0.5 * (self.ends[0] + self.ends[1])
    }

    /// Integrals over what is under water.
    pub(super) fn below(&self, level: &Level) -> Wet {
        let mut total = Wet::default();
        for panel in self.all() {
            total.add(&panel.below(level), 1.0);
        }
        total
    }

    /// Least height of the sheer above the water on either side, m; negative when it is under.
    pub(super) fn freeboard(&self, level: &Level) -> f64 {
        let sheer = self.panels.last().map(|panel| panel.edge(true)).unwrap_or_default();
        let depths = sheer.iter().flat_map(|p| [1.0, -1.0].map(|side| level.depths(p, side)));
        -depths.map(|d| extent(&d)[1]).fold(f64::NEG_INFINITY, f64::max)
    }
}
