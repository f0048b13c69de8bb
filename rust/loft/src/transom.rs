//! The transom at its true size, in its own plane.
//!
//! A raked transom shows at true size in none of the three views: its outline is cut from the inside of the
//! planking (the parallel surface) by the transom's own face, and heights are measured along that face. A
//! curved transom is a cylinder and is rolled out, arcs to straight. Where the hull narrows aft the planking's
//! inside stops short of the after face by the bevel over the planking and is carried on straight.
//!
//! Where a sternpost runs on below it, the transom begins at its own foot, at the post's half-siding. A bow transom,
//! as a scow, pram or punt has, is the same thing seen in a mirror, and is made so: of the hull turned about.

mod fashion;

use kurbo::{Affine, BezPath, Point, Shape as _, Vec2};
use scrieve_hull::{ChineOn, Curve, Hull, HullError, Place as OnHull, Plane, Sample, mitre};
use scrieve_offsets::TransomPlane;

use crate::bevels::{chine_name, chine_spots, edge_bevels};
use crate::blank::{carried_on, half_blank};
use crate::edge::{Edge, Place};
use crate::flat::{floored, turned_about};
use crate::marks::{MARK_INSET_M, path_of};
use crate::outline::{CHECK_ACCURACY_M, is_simple};
use crate::planking::Planking;
use crate::{EdgeBevel, Grid, Mark, MarkKind, RoundOfBeam, written};

pub use fashion::{FashionPiece, FashionPieces, FashionSizes, fashion_pieces};

/// The transom of a hull.
///
/// # Errors
/// No transom in the record or the options, one that misses the hull, lengths that are none.
pub fn transom(hull: &Hull, options: &TransomOptions) -> Result<Transom, TransomError> {
    let plane = options.face.or(hull.survey().transom).ok_or(TransomError::NoTransom)?;
    // Only the record's own transom has a record's post below it.
    let foot = (options.face.is_none() && !hull.survey().stern.is_empty()).then_some(plane.foot);
    made(&floored(hull), options, &plane, foot, false)
}

/// The bow transom of a hull that ends forward in one: in the plane given, or that of her forward end.
///
/// # Errors
/// As [`transom`]; a hull that ends in a stem; a forward end that lies in no plane athwart the boat.
pub fn bow_transom(hull: &Hull, options: &TransomOptions) -> Result<Transom, TransomError> {
    let line = hull.backbone_line(None);
    if line.has_stem {
        return Err(TransomError::Stem);
    }
    let turned = turned_about(&floored(hull));
    let plane = match options.face {
        Some(face) => {
            let about = |(x, z): (f64, f64)| (-x, z);
            TransomPlane { foot: about(face.foot), head: about(face.head), ..face }
        }
        None => end_plane(&turned)?,
    };
    made(&turned, options, &plane, None, true)
}

/// Whether a hull ends forward in a bow transom.
pub fn has_bow_transom(hull: &Hull) -> bool {
    !hull.backbone_line(None).has_stem
}

/// The plane of a hull's after end, through its lower end and its sheer.
fn end_plane(hull: &Hull) -> Result<TransomPlane, TransomError> {
    let end = &hull.ends(Plane::at_y(0.0))[1];
    let at = |s: Option<&Sample>| s.map_or((0.0, 0.0), |s| (s.p[0], s.p[2]));
    let plane = TransomPlane { foot: at(end.start()), head: at(end.end()), curve_radius: None };
    let face = Face::new(&plane)?;
    let off = end.samples().map(|s| face.past(s.p, 0.0).abs()).fold(0.0, f64::max);
    if off > IN_PLANE_M { Err(TransomError::NotPlane { off }) } else { Ok(plane) }
}

fn made(
    hull: &Hull,
    options: &TransomOptions,
    plane: &TransomPlane,
    foot: Option<(f64, f64)>,
    is_bow: bool,
) -> Result<Transom, TransomError> {
    let planking = Planking::of(hull, options.planking).ok_or(TransomError::NoPlanking)?;
    for (what, value) in
        [("planking thickness", planking.thickness), ("transom thickness", options.thickness)]
    {
        if !(value.is_finite() && value >= 0.0) {
            return Err(TransomError::BadLength { what, value });
        }
    }
    if let Some(value) = options.bevel_every.filter(|v| !(v.is_finite() && *v >= LEAST_SPACING_M)) {
        return Err(TransomError::TooClose { value });
    }
    let face = Face::new(plane)?;
    if let Some(radius) = face.radius.filter(|r| *r <= options.thickness) {
        return Err(TransomError::TooTight { radius, needs: options.thickness });
    }
    let (outer, chines) = outline(hull, &face, foot, planking.inner, 0.0)?;
    let (inner, _) = outline(hull, &face, foot, planking.inner, options.thickness)?;
    let edge = Edge::with_chines(&outer, &chines).ok_or(TransomError::NoTransom)?;
    let grid = Grid::of(hull);
    let top_of = |curve: &Curve, inside| {
        let sheer = curve.end().map_or(Point::ZERO, |s| Point::new(s.p[1], s.p[2]));
        top(&face, sheer, inside, options.round_of_beam)
    };
    let (outer_top, inner_top) = (top_of(&outer, 0.0)?, top_of(&inner, options.thickness)?);
    let high = outer_top.end().map_or(0.0, |s| s.p[2]);
    let chines = hull.surface().patches.len() - 1;
    let mut made = Transom {
        blank: BezPath::new(),
        is_bow,
        rake: face.up[0].atan2(face.up[2]),
        radius: face.radius,
        thickness: options.thickness,
        planking: planking.inner,
        bevels: bevels(&edge, &face, &grid, (chines, foot.is_some()), options),
        marks: marks(&edge, &face, &grid, chines, high),
        outer,
        inner,
        outer_top,
        inner_top,
        name: hull.source().facts.name.clone(),
        is_assumed: !is_bow && hull.source().facts.transom_assumed,
    };
    let simple = |path: &BezPath| is_simple(path, CHECK_ACCURACY_M) && path.area() > 0.0;
    let faces = [made.outline(), made.inner_outline()].iter().all(simple);
    let half = made.half_blank().filter(|_| faces);
    made.blank = half.map(|half| both_sides(&half)).unwrap_or_default();
    match simple(&made.blank) {
        true => Ok(made),
        false => Err(TransomError::Crosses { deduction: planking.inner }),
    }
}

/// What is asked of a transom. Lengths are metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TransomOptions {
    /// Thickness of the transom.
    pub thickness: f64,
    /// Planking thickness, deducted; the record's own where left out.
    pub planking: Option<f64>,
    /// The after face, where it is not the record's.
    pub face: Option<TransomPlane>,
    /// Round of beam its top follows; level where left out.
    pub round_of_beam: Option<RoundOfBeam>,
    /// Bevels at this spacing round the edge too, from the lower end up.
    pub bevel_every: Option<f64>,
}

impl Default for TransomOptions {
    fn default() -> Self {
        TransomOptions {
            thickness: 0.022,
            planking: None,
            face: None,
            round_of_beam: None,
            bevel_every: None,
        }
    }
}

/// A transom. Its curves are drawn in its own plane: samples are (0, across, up), m, `up` along its
/// centreline from the base line, square through the wood for both faces; their normals have the planking's
/// component square to the after face first. A curved transom's faces are each rolled out on their own radius.
#[derive(Clone, Debug, PartialEq)]
pub struct Transom {
    /// The boat's name.
    pub name: String,
    /// Where it stands is assumed, not measured.
    pub is_assumed: bool,
    /// Whether it is a bow transom: what is said below of aft and forward is then the other way about.
    pub is_bow: bool,
    /// Rake: angle of its centreline from plumb, radians, positive where its head is aft of its foot.
    pub rake: f64,
    /// Radius of the after face; `None` is flat.
    pub radius: Option<f64>,
    /// Its thickness, m.
    pub thickness: f64,
    /// Planking deducted, m: nothing where the table is to its inside.
    pub planking: f64,
    /// Outline of the after face, rabbet to sheer.
    pub outer: Curve,
    /// Outline of the forward face.
    pub inner: Curve,
    /// The top of the after face, from the sheer to the centreline.
    pub outer_top: Curve,
    /// The same of the forward face.
    pub inner_top: Curve,
    /// What to cut, both sides, on the after face: what both faces take up, each carried on in the direction of its edge to
    /// the height of the higher top and of the lower foot.
    pub blank: BezPath,
    /// Bevels from the after face, lower end up.
    pub bevels: Vec<EdgeBevel>,
    /// Centreline and waterlines on the after face.
    pub marks: Vec<Mark>,
}

impl Transom {
    /// The closed outline of the after face, both sides.
    pub fn outline(&self) -> BezPath {
        whole(&self.outer, &self.outer_top)
    }

    /// The closed outline of the forward face, both sides.
    pub fn inner_outline(&self) -> BezPath {
        whole(&self.inner, &self.inner_top)
    }

    /// The closed outline of the forward face squared through the wood to the after one, both sides: of a flat
    /// transom [`Transom::inner_outline`] itself, of a curved one that much the wider as its radius is the shorter.
    pub fn inner_squared(&self) -> BezPath {
        Affine::scale_non_uniform(self.squared(), 1.0) * self.inner_outline()
    }

    /// How much wider the forward face is drawn squared to the after one than rolled out on its own radius.
    fn squared(&self) -> f64 {
        self.radius.map_or(1.0, |radius| radius / (radius - self.thickness))
    }

    /// The right half of the blank, from the centreline at its foot to the centreline at its top.
    fn half_blank(&self) -> Option<BezPath> {
        let edges = self.edges();
        let squared = Affine::scale_non_uniform(self.squared(), 1.0);
        let tops = [self.outer_top.path(), squared * self.inner_top.path()];
        let [outer, inner] = carried_on([(&edges[0], &tops[0]), (&edges[1], &tops[1])]);
        half_blank(&outer, &inner)
    }

    /// The right edges of the after and of the forward face, this squared to the after one.
    fn edges(&self) -> [BezPath; 2] {
        let squared = Affine::scale_non_uniform(self.squared(), 1.0);
        [right_side(&self.outer).path(), squared * right_side(&self.inner).path()]
    }
}

/// Why there is no transom. Metres.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TransomError {
    /// The record has none.
    #[error("the table has no transom: give its foot and head under [transom], or leave the transom out")]
    NoTransom,
    /// Neither the record nor the options give a planking thickness.
    #[error("the table gives no planking thickness: give one (0 if nothing is to be deducted)")]
    NoPlanking,
    /// A length that is none.
    #[error("{what} is {value} m: it must be nothing or more")]
    BadLength {
        /// What was given.
        what: &'static str,
        /// What it was.
        value: f64,
    },
    /// Bevels nearer than a bevel square can be set.
    #[error("bevels {value} m apart round the transom's edge: give {LEAST_SPACING_M} m or more")]
    TooClose {
        /// What was given.
        value: f64,
    },
    /// Foot and head make no face that crosses the boat.
    #[error("the transom's foot and head are at one height ({height:.4} m): they make no transom")]
    Flat {
        /// The height.
        height: f64,
    },
    /// A curved transom cannot be bent so.
    #[error("the transom's curve of radius {radius:.4} m is tighter than the {needs:.4} m it must pass")]
    TooTight {
        /// The radius.
        radius: f64,
        /// Thickness or half-breadth it has to be more than.
        needs: f64,
    },
    /// She ends forward in a stem.
    #[error("the boat ends forward in a stem: she has no bow transom")]
    Stem,
    /// A forward end that is no plane.
    #[error(
        "the boat's forward end lies up to {off:.4} m off any plane athwart her: give the bow transom's foot and head"
    )]
    NotPlane {
        /// How far off, m.
        off: f64,
    },
    /// An outline that crosses itself.
    #[error(
        "the transom's outline crosses itself: {deduction:.4} m of planking is more than its tightest corner has \
         room for; give thinner planking, or look at the readings of the after end"
    )]
    Crosses {
        /// What was deducted.
        deduction: f64,
    },
    /// Fashion pieces that would meet.
    #[error(
        "the transom has no room for fashion pieces {moulded:.4} m wide: nothing would be left between those of \
         either side; give a narrower one"
    )]
    NoFashion {
        /// Their width.
        moulded: f64,
    },
    /// The face does not cut the hull.
    #[error(
        "the transom misses the hull {place}: there the planking runs from x = {from:.3} to {to:.3} m and the \
         transom's face stands at x = {face:.3} m; check foot and head"
    )]
    Misses {
        /// Where on the hull.
        place: String,
        /// Forward end of the planking.
        from: f64,
        /// After end.
        to: f64,
        /// The face.
        face: f64,
    },
    /// The round of beam makes no arc across the transom.
    #[error("a camber of {:.4} m over a beam of {:.4} m makes no arc as wide as the transom", .0.camber, .0.beam)]
    NoRound(RoundOfBeam),
    /// The hull has no answer.
    #[error(transparent)]
    Hull(#[from] HullError),
}

/// Bevels round the edge are asked for no nearer than this, m.
const LEAST_SPACING_M: f64 = 0.01;
/// Places up the edge between which a diagonal's crossing is looked for: it crosses once a few of them.
const PLACES: usize = 200;
/// Halvings to a crossing: a place is then as exact as its numbers.
const HALVINGS: usize = 50;
/// Samples up each patch: between two of them the cubic is within a micrometre on any boat's quarter.
const SAMPLES: usize = 48;
/// Step in v that tangents and curvature are taken over: shorter loses digits, longer form.
const STEP: f64 = 1e-3;
/// The face is found along the planking to this, m.
const ON_FACE_M: f64 = 1e-11;
/// Spots from the after end forward at which the face's crossing is looked for.
const SEARCH: usize = 64;
/// The planking's inside is carried on straight past its end by no more than this, m, or four thicknesses:
/// farther is a face that misses the hull.
const CARRIED_ON_M: f64 = 0.01;
/// A forward end this near a plane lies in it, m.
const IN_PLANE_M: f64 = 0.001;
/// Halvings to the foot of a transom above a post: a place is then as exact as its numbers.
const TO_THE_FOOT: usize = 50;
/// Marks of chines are this long at most, m.
const CHINE_MARK_M: f64 = 0.06;
/// Steps in which a level line's crossing of a curved, raked face is closed in on; each is nearer by the
/// tangent of the rake times that of the face's turn.
const SETTLE: usize = 30;
/// Samples of lines drawn on the transom.
const LINE_SAMPLES: usize = 24;

/// The after face: a plane, or a cylinder about the direction of its centreline.
struct Face {
    /// Where the centreline meets the base line.
    origin: [f64; 3],
    up: [f64; 3],
    /// Square to it, aft.
    aft: [f64; 3],
    radius: Option<f64>,
}

impl Face {
    fn new(plane: &TransomPlane) -> Result<Face, TransomError> {
        let (dx, dz) = (plane.head.0 - plane.foot.0, plane.head.1 - plane.foot.1);
        let length = dx.hypot(dz);
        if !(length.is_finite() && dz.abs() > 1e-6 * length) {
            return Err(TransomError::Flat { height: plane.foot.1 });
        }
        let turn = dz.signum() / length;
        let (sin, cos) = (dx * turn, dz * turn);
        Ok(Face {
            origin: [plane.foot.0 - plane.foot.1 * sin / cos, 0.0, 0.0],
            up: [sin, 0.0, cos],
            aft: [cos, 0.0, -sin],
            radius: plane.curve_radius,
        })
    }

    /// How far abaft the face `inside` forward of the after one `p` lies, m.
    fn past(&self, p: [f64; 3], inside: f64) -> f64 {
        let along = dot(sub(p, self.origin), self.aft);
        match self.radius {
            None => along + inside,
            Some(r) => p[1].hypot(along + r) - (r - inside),
        }
    }

    /// Across and up on the face, rolled out.
    fn drawn(&self, p: [f64; 3], inside: f64) -> Point {
        let from = sub(p, self.origin);
        let across = match self.radius {
            None => p[1],
            Some(r) => (r - inside) * p[1].atan2(dot(from, self.aft) + r),
        };
        Point::new(across, dot(from, self.up))
    }

    /// A direction at `p` as (square to the face, across, up).
    fn turned(&self, p: [f64; 3], n: [f64; 3]) -> [f64; 3] {
        let (aft, up) = (dot(n, self.aft), dot(n, self.up));
        let Some(r) = self.radius else { return [aft, n[1], up] };
        let (sin, cos) = p[1].atan2(dot(sub(p, self.origin), self.aft) + r).sin_cos();
        [aft * cos + n[1] * sin, n[1] * cos - aft * sin, up]
    }

    /// Where half-breadth `y` at height `z` is drawn on the face `inside` forward of the after one.
    fn level(&self, y: f64, z: f64, inside: f64) -> Point {
        let (across, back) = match self.radius {
            None => (y, inside),
            Some(radius) => {
                let r = radius - inside;
                let angle = (y / r).clamp(-1.0, 1.0).asin();
                (r * angle, radius - r * angle.cos())
            }
        };
        // The spot stands forward of the centreline by `back`, square to it, which leans by the rake.
        Point::new(across, (z + back * self.aft[2]) / self.up[2])
    }

    /// Height of a spot drawn on the after face.
    fn height(&self, drawn: Point) -> f64 {
        let back = self.radius.map_or(0.0, |r| r * (1.0 - (drawn.x / r).cos()));
        drawn.y * self.up[2] - back * self.aft[2]
    }

    /// Half-breadth of a spot drawn `across`.
    fn half_breadth(&self, across: f64, inside: f64) -> f64 {
        self.radius.map_or(across, |r| (r - inside) * (across / (r - inside)).sin())
    }
}

/// The outline on the face `inside` forward of the after one, and its chines. Above a post it begins at `foot` (x,
/// height), at the half-siding.
fn outline(
    hull: &Hull,
    face: &Face,
    foot: Option<(f64, f64)>,
    deduction: f64,
    inside: f64,
) -> Result<(Curve, Vec<ChineOn>), TransomError> {
    let mut pieces: Vec<Vec<Sample>> = Vec::new();
    let mut chines = Vec::new();
    let start = foot.map_or((0, 0.0), |foot| place_of_foot(hull, foot));
    for patch in start.0..hull.surface().patches.len() {
        let at = |v: f64| on_face(hull, face, patch, v, deduction, inside);
        let mut from = if patch == start.0 { start.1 } else { 0.0 };
        let mut piece = Vec::new();
        if let Some(foot) = foot.filter(|_| patch == start.0) {
            // Up the post's side from the foot to where the planking's inside comes out of it.
            let half_siding = hull.surface().patches[patch].point(1.0, from)[1];
            let drawn = |v: f64| at(v).map(|(p, _)| face.drawn(p, inside));
            let foot = face.level(half_siding, foot.1, inside);
            let mut low = from;
            for i in 0..=PLACES {
                let v = from + (1.0 - from) * i as f64 / PLACES as f64;
                if drawn(v)?.x < foot.x - ON_FACE_M {
                    low = v;
                }
            }
            let step = (1.0 - from) / PLACES as f64;
            let (mut within, mut out) = (low, (low + step).min(1.0));
            for _ in 0..TO_THE_FOOT {
                let middle = 0.5 * (within + out);
                if drawn(middle)?.x < foot.x { within = middle } else { out = middle }
            }
            from = if low > from || drawn(from)?.x < foot.x - ON_FACE_M { out } else { from };
            let upper = drawn(from)?;
            if upper.y > foot.y + ON_FACE_M {
                let side = |p: Point| Sample {
                    p: flat(p),
                    tangent: [0.0, 0.0, 1.0],
                    // It lies against the post's side.
                    normal: [0.0, 1.0, 0.0],
                    curvature: 0.0,
                };
                pieces.push(vec![side(foot), side(Point::new(foot.x, upper.y))]);
            }
        }
        for i in 0..=SAMPLES {
            let v = from + (1.0 - from) * i as f64 / SAMPLES as f64;
            let centre = v.clamp(from + STEP, 1.0 - STEP);
            let (a, b, c) = (at(centre - STEP)?, at(centre)?, at(centre + STEP)?);
            let here = at(v)?;
            let [a, b, c] = [a, b, c].map(|(p, _)| face.drawn(p, inside));
            let (bend, rate) = (((c - b) - (b - a)) / (STEP * STEP), (c - a) / (2.0 * STEP));
            let rate = rate + bend * (v - centre);
            let speed = rate.hypot();
            let tangent = rate / speed;
            piece.push(Sample {
                p: flat(face.drawn(here.0, inside)),
                tangent: [0.0, tangent.x, tangent.y],
                normal: face.turned(here.0, here.1),
                curvature: rate.cross(bend) / speed.powi(3),
            });
        }
        match pieces.pop() {
            Some(mut last) if smooth(&last, &piece) => {
                last.extend_from_slice(&piece[1..]);
                pieces.push(last);
            }
            Some(last) if patch == start.0 => pieces.extend([last, piece]),
            Some(last) => {
                let joined = mitre(last, piece, &Plane::at_x(0.0));
                chines.push(ChineOn { number: patch, p: joined[joined.len() / 2][0].p });
                pieces.extend(joined);
            }
            None => pieces.push(piece),
        }
    }
    Ok((Curve { plane: Plane::at_x(0.0), pieces }, chines))
}

/// Where on the after edge the transom's foot lies: the patch and v.
fn place_of_foot(hull: &Hull, (x, z): (f64, f64)) -> (usize, f64) {
    let mut best = (f64::INFINITY, 0, 0.0);
    for (patch, surface) in hull.surface().patches.iter().enumerate() {
        let gap = |v: f64| {
            let p = surface.point(1.0, v.clamp(0.0, 1.0));
            (p[0] - x).hypot(p[2] - z)
        };
        for i in 0..=PLACES {
            let v = i as f64 / PLACES as f64;
            if gap(v) < best.0 {
                best = (gap(v), patch, v);
            }
        }
    }
    let surface = &hull.surface().patches[best.1];
    let gap = |v: f64| {
        let p = surface.point(1.0, v);
        (p[0] - x).hypot(p[2] - z)
    };
    let (mut v, mut step) = (best.2, 1.0 / PLACES as f64);
    for _ in 0..TO_THE_FOOT {
        step *= 0.5;
        for other in [v - step, v + step].map(|v: f64| v.clamp(0.0, 1.0)) {
            if gap(other) < gap(v) {
                v = other;
            }
        }
    }
    (best.1, v)
}

fn smooth(below: &[Sample], above: &[Sample]) -> bool {
    let (end, start) = (below[below.len() - 1], above[0]);
    let turn = sub(end.tangent, start.tangent);
    let gap = sub(end.p, start.p);
    dot(turn, turn) < 1e-8 && dot(gap, gap) < 1e-14
}

/// Where the planking's inside, along `v` of a patch, meets the face, and its outward normal there.
fn on_face(
    hull: &Hull,
    face: &Face,
    patch: usize,
    v: f64,
    deduction: f64,
    inside: f64,
) -> Result<([f64; 3], [f64; 3]), TransomError> {
    let spot = |u: f64| hull.spot(OnHull { patch, u, v }, deduction);
    let past = |u: f64| face.past(spot(u).p, inside);
    let end = spot(1.0);
    let short = face.past(end.p, inside);
    if short <= 0.0 {
        // Short of the face: on straight, along the run of the planking.
        let mut step = 0.0;
        for _ in 0..20 {
            let p = add(end.p, end.du, step);
            let off = face.past(p, inside);
            if off.abs() < ON_FACE_M {
                break;
            }
            let ahead = face.past(add(end.p, end.du, step + 1e-4), inside);
            step -= off * 1e-4 / (ahead - off);
        }
        let carried = step * dot(end.du, end.du).sqrt();
        if (0.0..=CARRIED_ON_M + 4.0 * deduction.abs()).contains(&carried) {
            return Ok((add(end.p, end.du, step), end.normal));
        }
    } else {
        let mut high = 1.0;
        for i in (0..SEARCH).rev() {
            let low = i as f64 / SEARCH as f64;
            if past(low) <= 0.0 {
                let u = bisected(&past, low, high);
                let found = spot(u);
                return Ok((found.p, found.normal));
            }
            high = low;
        }
    }
    let start = spot(0.0).p;
    let place = match v {
        v if v <= STEP && patch == 0 => "at the rabbet".to_owned(),
        v if v >= 1.0 - STEP && patch + 1 == hull.surface().patches.len() => "at the sheer".to_owned(),
        _ => format!("{:.3} m up", end.p[2]),
    };
    let at = face.origin[0] + end.p[2] * face.up[0] / face.up[2];
    Err(TransomError::Misses { place, from: start[0], to: end.p[0], face: at })
}

/// The zero of a function that is not positive at `low` and positive at `high`: by chords, kept between.
fn bisected(f: &impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    let (mut at_low, mut at_high) = (f(low), f(high));
    for i in 0..100 {
        let chord = low - at_low * (high - low) / (at_high - at_low);
        let next = if i % 3 == 2 { 0.5 * (low + high) } else { chord };
        let value = f(next);
        if value.abs() < ON_FACE_M {
            return next;
        }
        if value <= 0.0 { (low, at_low) = (next, value) } else { (high, at_high) = (next, value) }
    }
    0.5 * (low + high)
}

/// The top of the after face, from the sheer in to the centreline.
fn top(face: &Face, sheer: Point, inside: f64, round: Option<RoundOfBeam>) -> Result<Curve, TransomError> {
    if let Some(radius) = face.radius.filter(|r| sheer.x >= (r - inside) * std::f64::consts::FRAC_PI_2) {
        return Err(TransomError::TooTight { radius, needs: sheer.x });
    }
    let half = face.half_breadth(sheer.x, inside);
    let fall = |y: f64| round.map_or(Some(0.0), |round| round.fall(y));
    // The height at which the sheer is drawn: the face bends, so it is found from there.
    let z = (sheer.y - face.level(half, 0.0, inside).y) * face.up[2];
    let edge =
        fall(half).ok_or(round).map_err(|r| r.map_or(TransomError::NoTransom, TransomError::NoRound))?;
    let point = |t: f64| {
        let y = half * (1.0 - t);
        face.level(y, z + edge - fall(y).unwrap_or(edge), inside)
    };
    Ok(Curve { plane: Plane::at_x(0.0), pieces: vec![drawn_line(point)] })
}

/// A line of the drawing by its points over 0 to 1.
fn drawn_line(point: impl Fn(f64) -> Point) -> Vec<Sample> {
    (0..=LINE_SAMPLES)
        .map(|i| {
            let t = i as f64 / LINE_SAMPLES as f64;
            let rate = (point(t + STEP) - point(t - STEP)).normalize();
            Sample {
                p: flat(point(t)),
                tangent: [0.0, rate.x, rate.y],
                normal: [1.0, 0.0, 0.0],
                curvature: 0.0,
            }
        })
        .collect()
}

/// Where the waterline at `z` crosses the edge of the after face, from the lower end up.
fn waterline_places(edge: &Edge, face: &Face, z: f64) -> Vec<Place> {
    let up = Vec2::new(0.0, 1.0);
    let at_centre = face.level(0.0, z, 0.0).y;
    if face.radius.is_none() {
        return edge.crossings(up, at_centre);
    }
    // A level line bends on the rolled-out face: closed in on from the level it has on the centreline.
    let settled = |first: Place| {
        let mut place = first;
        for _ in 0..SETTLE {
            let x = edge.point(place).x;
            let level = face.level(face.half_breadth(x, 0.0), z, 0.0).y;
            let gap = |p: &Place| (edge.point(*p).x - x).abs();
            place = edge.crossings(up, level).into_iter().min_by(|a, b| gap(a).total_cmp(&gap(b)))?;
        }
        Some(place)
    };
    edge.crossings(up, at_centre).into_iter().filter_map(settled).collect()
}

/// Where `value` of the spots of the edge passes nothing, from the lower end up.
fn crossings_of(edge: &Edge, value: impl Fn(Point) -> f64) -> Vec<Place> {
    let at = |place: Place| value(edge.point(place));
    let places = edge.places(PLACES);
    let pairs =
        places.windows(2).filter(|w| w[0].index == w[1].index && (at(w[0]) > 0.0) != (at(w[1]) > 0.0));
    pairs
        .map(|w| {
            let (mut low, mut high) = (w[0], w[1]);
            for _ in 0..HALVINGS {
                let middle = Place { t: 0.5 * (low.t + high.t), ..low };
                if (at(middle) > 0.0) == (at(low) > 0.0) { low = middle } else { high = middle }
            }
            low
        })
        .collect()
}

fn bevels(
    edge: &Edge,
    face: &Face,
    grid: &Grid,
    (chines, above_post): (usize, bool),
    options: &TransomOptions,
) -> Vec<EdgeBevel> {
    let thickness = options.thickness;
    let mut spots: Vec<(String, Place)> = vec![("lower end".into(), edge.start())];
    if above_post && edge.normal(edge.start())[0] == 0.0 {
        // Up the post's side there is none; it begins where the planking comes out of the rabbet.
        spots.push(("bearding".into(), Place { index: 1, t: 0.0 }));
    }
    spots.extend(chine_spots(edge, chines));
    for &z in &grid.waterlines {
        let label = format!("WL {}", written(z, grid.units));
        spots.extend(waterline_places(edge, face, z).into_iter().map(|p| (label.clone(), p)));
    }
    for diagonal in &grid.diagonals {
        // A diagonal falls from its height on the centreline as it goes out.
        let above = |p: Point| {
            let fallen = face.half_breadth(p.x, 0.0) * diagonal.angle.tan();
            face.height(p) - (diagonal.centreline_height - fallen)
        };
        let label = format!("diagonal {}", diagonal.name);
        spots.extend(crossings_of(edge, above).into_iter().map(|p| (label.clone(), p)));
    }
    if let Some(every) = options.bevel_every {
        let whole = edge.girth(edge.end());
        let runs = (1..).map(|i| f64::from(i) * every).take_while(|run| *run < whole - 0.5 * every);
        spots.extend(
            runs.map(|run| (format!("{} up the edge", written(run, grid.units)), edge.at_girth(run))),
        );
    }
    spots.push(("sheer".into(), edge.end()));
    // The forward face is the far one.
    edge_bevels(edge, spots, -1.0, thickness)
}

fn marks(edge: &Edge, face: &Face, grid: &Grid, chines: usize, high: f64) -> Vec<Mark> {
    let low = edge.point(edge.start()).y;
    let line = |point: &dyn Fn(f64) -> Point| {
        Curve { plane: Plane::at_x(0.0), pieces: vec![drawn_line(point)] }.path()
    };
    let mut marks = vec![Mark {
        kind: MarkKind::Centreline,
        label: "CENTRELINE".into(),
        path: line(&|t| Point::new(0.0, low + t * (high - low))),
    }];
    for &(number, place) in edge.chines() {
        let (p, along) = (edge.point(place), edge.middle_tangent(place));
        let inward = Vec2::new(-along.y, along.x);
        let length = CHINE_MARK_M.min(0.5 * p.x);
        let tick = |side: f64| {
            let end = |run: f64| Point::new(side * (p.x + run * inward.x), p.y + run * inward.y);
            kurbo::Line::new(end(MARK_INSET_M), end(length))
        };
        let label = chine_name(number, chines).to_uppercase();
        marks.push(Mark { kind: MarkKind::Chine, label, path: path_of(&[tick(1.0), tick(-1.0)]) });
    }
    for &z in &grid.waterlines {
        let Some(place) = waterline_places(edge, face, z).pop() else { continue };
        let out = edge.point(place).x;
        let half = face.half_breadth(out, 0.0);
        let path = line(&|t| face.level(half * (2.0 * t - 1.0), z, 0.0));
        marks.push(Mark { kind: MarkKind::Waterline, label: format!("WL {}", written(z, grid.units)), path });
    }
    marks
}

/// The outline of both sides, up the right edge to the top, and down the left, closed along the bottom.
fn whole(edge: &Curve, top: &Curve) -> BezPath {
    let mut path = right_side(edge).path();
    path.extend(top.path().elements().iter().skip(1).copied());
    both_sides(&path)
}

/// What of an edge lies on the right of the centreline.
fn right_side(edge: &Curve) -> Curve {
    if edge.start().is_some_and(|s| s.p[1] < 0.0) {
        let from = edge.crossings([0.0, 1.0, 0.0], 0.0).pop().map_or(0.0, |m| m.along);
        return edge.clone().trimmed(from, edge.length());
    }
    edge.clone()
}

/// Up the right half and down the left, closed along the bottom.
fn both_sides(right: &BezPath) -> BezPath {
    let mut path = right.clone();
    let left = (Affine::scale_non_uniform(-1.0, 1.0) * path.clone()).reverse_subpaths();
    path.extend(left.elements().iter().skip(1).copied());
    path.close_path();
    path
}

fn flat(p: Point) -> [f64; 3] {
    [0.0, p.x, p.y]
}

fn add(a: [f64; 3], b: [f64; 3], by: f64) -> [f64; 3] {
    [0, 1, 2].map(|k| a[k] + b[k] * by)
}

fn sub(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    add(a, b, -1.0)
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    (0..3).map(|k| a[k] * b[k]).sum()
}
