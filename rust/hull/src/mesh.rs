//! The whole hull as a closed mesh of triangles: both sides, the deck from sheer to sheer, keel, stem and after end.
//!
//! Each patch is a grid whose lines are halved until every chord lies within its part of the tolerance; patches share the lines
//! along their edges, so that chines are edges of the mesh and nothing gapes. Port is starboard's mirror image to the
//! bit. What is open between the two is closed by lines athwartships, as a body that floats is ([`crate::floating`]):
//! the deck is straight across, and a curved transom lies on its cylinder.

use std::collections::HashMap;

use scrieve_surface::Patch;
use scrieve_surface::vector::{V3, cross, distance, dot, mix, sub};

use crate::boat::Boat;
use crate::floating::transom_face;
use crate::hull::HullError;

/// Tolerances a mesh is made for, m: a hair's breadth, and more than any boat's shape is seen by.
const TOLERANCES_M: std::ops::RangeInclusive<f64> = 1e-5..=0.1;

/// Part of the tolerance that a chord may lie off: the chords of a round hull all lie inside it, and would take a part
/// of her displacement with them that a comparison shows. At this part it is under 1 in 10,000.
const SPENT: f64 = 0.05;

/// Lines of a patch on which chords are tried, the other way.
const TRIED: usize = 12;

/// Spans are halved so often at most.
const HALVINGS: usize = 12;

/// Lines of a grid either way at most: some millions of triangles.
const MOST_LINES: usize = 1500;

/// What lies so near the centreline is on it, m.
const ON_CENTRELINE_M: f64 = 1e-7;

/// Spots nearer than this are one, m.
const ONE_SPOT_M: f64 = 1e-9;

/// A closed mesh.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mesh {
    /// Spots, m.
    pub vertices: Vec<V3>,
    /// Triangles by their spots, anticlockwise seen from outside.
    pub faces: Vec<[usize; 3]>,
}

impl Mesh {
    /// Volume within it, m³ (the divergence theorem).
    pub fn volume(&self) -> f64 {
        let each = self.faces.iter().map(|[a, b, c]| {
            let [a, b, c] = [a, b, c].map(|i| self.vertices[*i]);
            dot(a, cross(b, c))
        });
        each.sum::<f64>() / 6.0
    }
}

impl Boat {
    /// The hull as a closed mesh whose every spot lies within `tolerance`, m, of her surface.
    ///
    /// # Errors
    /// A tolerance that is none, or one so fine that the mesh would be too large.
    pub fn mesh(&self, tolerance: f64) -> Result<Mesh, HullError> {
        if !TOLERANCES_M.contains(&tolerance) {
            let said =
                format!("the tolerance of a mesh must be from 0.01 to 100 mm, not {} mm", 1e3 * tolerance);
            return Err(HullError::Argument(said));
        }
        let chord = SPENT * tolerance;
        let patches = &self.surface().patches;
        let v_lines: Vec<Vec<f64>> = patches.iter().map(|patch| lines(patch, Way::V, chord)).collect();
        // One set of lines from stem to stern for all, or edges would not meet.
        let mut u_lines: Vec<f64> = patches.iter().flat_map(|patch| lines(patch, Way::U, chord)).collect();
        u_lines.sort_by(f64::total_cmp);
        u_lines.dedup_by(|a, b| (*a - *b).abs() < 1e-12);
        let most = v_lines.iter().map(Vec::len).chain([u_lines.len()]).max().unwrap_or(0);
        if most > MOST_LINES {
            let said =
                format!("a mesh within {} mm has too many triangles: take a coarser one", 1e3 * tolerance);
            return Err(HullError::Argument(said));
        }
        let mut half = Half::default();
        let (mut below, mut after) = (None, Vec::new());
        for (patch, v_lines) in patches.iter().zip(&v_lines) {
            let rows = half.grid(patch, &u_lines, v_lines, below, None);
            below = Some(rows.iter().map(|row| row[row.len() - 1]).collect());
            after.extend(rows.last().cloned());
        }
        if let Some(face) = self.survey().transom.as_ref() {
            let panels: Vec<Patch> = patches.iter().filter_map(|patch| transom_face(patch, face)).collect();
            let mut across: Vec<f64> = panels.iter().flat_map(|panel| lines(panel, Way::U, chord)).collect();
            across.sort_by(f64::total_cmp);
            across.dedup_by(|a, b| (*a - *b).abs() < 1e-12);
            let mut below = None;
            for ((panel, v_lines), edge) in panels.iter().zip(&v_lines).zip(&after) {
                let rows = half.grid(panel, &across, v_lines, below, Some(edge));
                below = Some(rows.iter().map(|row| row[row.len() - 1]).collect());
            }
        }
        Ok(half.whole())
    }
}

/// Which way the lines of a grid are counted.
#[derive(Clone, Copy)]
enum Way {
    U,
    V,
}

/// Where the lines of a patch's grid run, from 0 to 1: as many as keep every chord that near.
fn lines(patch: &Patch, way: Way, chord: f64) -> Vec<f64> {
    let (breaks_u, breaks_v) = patch.breaks();
    let (own, other) = match way {
        Way::U => (breaks_u, breaks_v),
        Way::V => (breaks_v, breaks_u),
    };
    // The other way's lines that are tried: evenly, and where the patch changes.
    let mut tried: Vec<f64> = (0..=TRIED).map(|i| i as f64 / TRIED as f64).collect();
    tried.extend(other);
    let at = |t: f64, s: f64| match way {
        Way::U => patch.point(t, s),
        Way::V => patch.point(s, t),
    };
    let is_near = |a: f64, b: f64| {
        tried.iter().all(|s| {
            let (from, to) = (at(a, *s), at(b, *s));
            [0.25, 0.5, 0.75].iter().all(|t| off(at(a + (b - a) * t, *s), from, to) <= chord)
        })
    };
    let mut lines = Vec::new();
    for pair in own.windows(2) {
        let mut spans = vec![(pair[0], pair[1], 0)];
        while let Some((a, b, depth)) = spans.pop() {
            if depth >= HALVINGS || is_near(a, b) {
                lines.push(a);
            } else {
                let middle = 0.5 * (a + b);
                spans.extend([(middle, b, depth + 1), (a, middle, depth + 1)]);
            }
        }
    }
    lines.push(1.0);
    lines
}

/// How far a spot lies off the straight between two.
fn off(p: V3, a: V3, b: V3) -> f64 {
    let along = sub(b, a);
    let length = dot(along, along);
    let t = if length > 0.0 { (dot(sub(p, a), along) / length).clamp(0.0, 1.0) } else { 0.0 };
    distance(p, mix(a, b, t))
}

/// The starboard half as it grows.
#[derive(Default)]
struct Half {
    vertices: Vec<V3>,
    faces: Vec<[usize; 3]>,
    seen: HashMap<[i64; 3], usize>,
}

impl Half {
    /// A spot's number, that of an earlier one at its place.
    fn spot(&mut self, mut p: V3) -> usize {
        if p[1] < ON_CENTRELINE_M {
            p[1] = 0.0;
        }
        // One that stands where squares meet may have its fellow in the next.
        let square = |p: V3| p.map(|x| (x / ONE_SPOT_M).round() as i64);
        let key = square(p);
        for i in -1..=1 {
            for j in -1..=1 {
                for k in -1..=1 {
                    if let Some(&found) = self.seen.get(&[key[0] + i, key[1] + j, key[2] + k]) {
                        return found;
                    }
                }
            }
        }
        self.vertices.push(p);
        self.seen.insert(key, self.vertices.len() - 1);
        self.vertices.len() - 1
    }

    /// The spots of a patch, row by row of u. Those `below` are its lower edge, those `before` its forward one, where a
    /// neighbour has made them: edges are shared by number, however the two would round them.
    fn grid(
        &mut self,
        patch: &Patch,
        us: &[f64],
        vs: &[f64],
        below: Option<Vec<usize>>,
        before: Option<&[usize]>,
    ) -> Vec<Vec<usize>> {
        let mut rows: Vec<Vec<usize>> = Vec::with_capacity(us.len());
        for (i, u) in us.iter().enumerate() {
            let shared = |j: usize| match (&below, before) {
                (_, Some(before)) if i == 0 => Some(before[j]),
                (Some(below), _) if j == 0 => Some(below[i]),
                _ => None,
            };
            let row = vs
                .iter()
                .enumerate()
                .map(|(j, v)| shared(j).unwrap_or_else(|| self.spot(patch.point(*u, *v))));
            rows.push(row.collect());
        }
        for (i, pair) in rows.windows(2).enumerate() {
            for j in 0..vs.len() - 1 {
                let [a, b, c, d] = [pair[0][j], pair[1][j], pair[1][j + 1], pair[0][j + 1]];
                // The diagonal that lies nearer the surface.
                let middle = patch.point(0.5 * (us[i] + us[i + 1]), 0.5 * (vs[j] + vs[j + 1]));
                let of = |p: usize, q: usize| distance(middle, mix(self.vertices[p], self.vertices[q], 0.5));
                let two = if of(a, c) <= of(b, d) { [[a, b, c], [a, c, d]] } else { [[a, b, d], [b, c, d]] };
                for face in two {
                    self.face(face);
                }
            }
        }
        rows
    }

    fn face(&mut self, [a, b, c]: [usize; 3]) {
        if a != b && b != c && c != a {
            self.faces.push([a, b, c]);
        }
    }

    /// Both halves and what closes them, outside out.
    fn whole(self) -> Mesh {
        let count = self.vertices.len();
        let mut mesh = Mesh { vertices: self.vertices, faces: self.faces };
        let mut other: Vec<usize> = (0..count).collect();
        for (i, twin) in other.iter_mut().enumerate() {
            let [x, y, z] = mesh.vertices[i];
            if y > 0.0 {
                *twin = mesh.vertices.len();
                mesh.vertices.push([x, -y, z]);
            }
        }
        let starboard = mesh.faces.clone();
        mesh.faces.extend(starboard.iter().map(|[a, b, c]| [other[*a], other[*c], other[*b]]));
        // Edges that one face alone has are open: across from each to its twin.
        let mut sides: HashMap<(usize, usize), usize> = HashMap::new();
        for [a, b, c] in &starboard {
            for side in [(*a, *b), (*b, *c), (*c, *a)] {
                *sides.entry(side).or_default() += 1;
            }
        }
        let mut open: Vec<(usize, usize)> =
            sides.keys().filter(|(a, b)| !sides.contains_key(&(*b, *a))).copied().collect();
        open.sort_unstable();
        for (a, b) in open {
            for face in [[b, a, other[a]], [b, other[a], other[b]]] {
                let [p, q, r] = face;
                if p != q && q != r && r != p {
                    mesh.faces.push(face);
                }
            }
        }
        if mesh.volume() < 0.0 {
            mesh.faces.iter_mut().for_each(|face| face.swap(1, 2));
        }
        mesh
    }
}
