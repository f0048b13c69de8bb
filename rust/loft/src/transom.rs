//! The transom at its true size, in its own plane.
//!
//! A raked transom shows at true size in none of the three views: its outline is cut from the inside of the
//! planking (the parallel surface) by the transom's own face, and heights are measured along that face. A
//! curved transom is a cylinder and is rolled out, arcs to straight. Where the hull narrows aft the planking's
//! inside stops short of the after face by the bevel over the planking and is carried on straight.
//!
//! Where a sternpost runs on below it, the transom begins at its own foot, at the post's half-siding. A bow transom,
//! as a scow, pram or punt has, is the same thing seen in a mirror, and is made so: of the hull turned about.

mod error;
mod face;
mod fashion;
mod marks;

use face::{Face, IN_PLANE_M, outline, top};
use kurbo::{Affine, BezPath, Point, Shape as _};
use marks::{bevels, both_sides, marks, right_side, whole};
use scrieve_hull::{Boat, Curve, Plane, Planking, Sample};
use scrieve_offsets::TransomPlane;

use crate::blank::{carried_on, half_blank};
use crate::edge::Edge;
use crate::flat::{floored, turned_about};
use crate::outline::{CHECK_ACCURACY_M, is_simple};
use crate::{EdgeBevel, Grid, Mark, RoundOfBeam};

pub use error::TransomError;
pub use fashion::{FashionPiece, FashionPieces, FashionSizes, fashion_pieces};

/// The transom of a hull.
///
/// # Errors
/// No transom in the record or the options, one that misses the hull, lengths that are none.
pub fn transom(hull: &Boat, options: &TransomOptions) -> Result<Transom, TransomError> {
    let plane = options.face.or(hull.survey().transom).ok_or(TransomError::NoTransom)?;
    // Only the record's own transom has a record's post below it.
    let foot = (options.face.is_none() && !hull.survey().stern.is_empty()).then_some(plane.foot);
    made(&floored(hull), options, &plane, foot, false)
}

/// The bow transom of a hull that ends forward in one: in the plane given, or that of her forward end.
///
/// # Errors
/// As [`transom`]; a hull that ends in a stem; a forward end that lies in no plane athwart the boat.
pub fn bow_transom(hull: &Boat, options: &TransomOptions) -> Result<Transom, TransomError> {
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
pub fn has_bow_transom(hull: &Boat) -> bool {
    !hull.backbone_line(None).has_stem
}

/// The plane of a hull's after end, through its lower end and its sheer.
fn end_plane(hull: &Boat) -> Result<TransomPlane, TransomError> {
    let end = &hull.ends(Plane::at_y(0.0))[1];
    let at = |s: Option<&Sample>| s.map_or((0.0, 0.0), |s| (s.p[0], s.p[2]));
    let plane = TransomPlane { foot: at(end.start()), head: at(end.end()), curve_radius: None };
    let face = Face::new(&plane)?;
    let off = end.samples().map(|s| face.past(s.p, 0.0).abs()).fold(0.0, f64::max);
    if off > IN_PLANE_M { Err(TransomError::NotPlane { off }) } else { Ok(plane) }
}

fn made(
    hull: &Boat,
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

/// Bevels round the edge are asked for no nearer than this, m.
const LEAST_SPACING_M: f64 = 0.01;

/// Places up the edge between which a diagonal's crossing is looked for: it crosses once a few of them.
const PLACES: usize = 200;

/// The planking's inside is carried on straight past its end by no more than this, m, or four thicknesses:
/// farther is a face that misses the hull.
const CARRIED_ON_M: f64 = 0.01;
