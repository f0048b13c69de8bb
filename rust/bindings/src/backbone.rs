//! Rabbet, backbone and transom, for Python: conversions and errors only.

use pyo3::prelude::*;
use pyo3::types::PyDict;
use scrieve_drawing::backbone::backbone_drawings;
use scrieve_drawing::fashion::fashion_drawing;
use scrieve_drawing::transom::transom_drawing;
use scrieve_loft::backbone::{self as core_backbone, BackboneOptions};
use scrieve_loft::flat::BottomAt;
use scrieve_loft::rabbet::{self as core, End, RabbetOptions};
use scrieve_loft::transom::{self as core_transom, FashionSizes, TransomOptions};
use scrieve_loft::{EdgeBevel, RoundOfBeam};
use scrieve_offsets::TransomPlane;

use crate::drawing::Drawing;
use crate::hull::{Curve, Hull};
use crate::loft::loft_error;
use crate::patience::patiently;

/// The rabbet in one plane: a station's, or one square to the stem's or sternpost's profile.
#[pyclass(frozen, module = "scrieve")]
pub struct Rabbet {
    rabbet: core::Rabbet,
}

#[pymethods]
impl Rabbet {
    /// Where the planking's outer face meets the side of the piece: (y, z), or (y, in from the profile), m.
    #[getter]
    fn rabbet(&self) -> (f64, f64) {
        self.rabbet.rabbet.into()
    }

    /// Where its inner face does, m.
    #[getter]
    fn bearding(&self) -> (f64, f64) {
        self.rabbet.bearding.into()
    }

    /// The apex, where the plank's square edge bottoms, m.
    #[getter]
    fn middle(&self) -> (f64, f64) {
        self.rabbet.middle.into()
    }

    /// Garboard angle, degrees: from the side of the piece above the rabbet line to the planking's outer
    /// face, in this plane. 90 is a flat floor.
    #[getter]
    fn bevel(&self) -> f64 {
        self.rabbet.angle.to_degrees()
    }

    /// Half-siding there, m.
    #[getter]
    fn half_siding(&self) -> f64 {
        self.rabbet.half_siding
    }

    /// Depth of the cut square to the side of the piece, m.
    #[getter]
    fn depth(&self) -> f64 {
        self.rabbet.depth()
    }

    /// Rabbet, bearding and middle in space: three of (x, y, z), m.
    #[getter]
    fn in_space(&self) -> Vec<(f64, f64, f64)> {
        self.rabbet.in_space().into_iter().map(|[x, y, z]| (x, y, z)).collect()
    }

    fn __repr__(&self) -> String {
        let r = &self.rabbet;
        format!(
            "<Rabbet ({:.4}, {:.4}) bearding ({:.4}, {:.4}) middle ({:.4}, {:.4}) bevel {:.1}>",
            r.rabbet.x,
            r.rabbet.y,
            r.bearding.x,
            r.bearding.y,
            r.middle.x,
            r.middle.y,
            r.angle.to_degrees()
        )
    }
}

/// The rabbet at x, or of an end at a height. Lengths are metres.
#[pyfunction]
#[pyo3(signature = (hull, at, *, end = None, planking = None, half_siding = None))]
pub fn rabbet(
    hull: &Hull,
    at: f64,
    end: Option<&str>,
    planking: Option<f64>,
    half_siding: Option<f64>,
) -> PyResult<Rabbet> {
    let options = RabbetOptions { planking, half_siding };
    let found = match end {
        None => core::rabbet_at(&hull.boat, at, &options),
        Some("stem") => core::rabbet_on(&hull.boat, End::Stem, at, &options),
        Some("sternpost") => core::rabbet_on(&hull.boat, End::Sternpost, at, &options),
        Some(other) => return Err(loft_error(format!("end {other:?}: expected stem or sternpost"))),
    };
    Ok(Rabbet { rabbet: found.map_err(loft_error)? })
}

/// The backbone: keel, stem, sternpost, knees, keelson.
#[pyclass(frozen, module = "scrieve")]
pub struct Backbone {
    backbone: core_backbone::Backbone,
}

/// The backbone of a hull. Lengths are metres.
#[pyfunction]
#[pyo3(signature = (
    hull, *, planking = None, half_siding = None, keel_depth = None, stem_outside = None, inside = None,
    section_every = None, transom_thickness = None, knee_arm = None, scarf = None, nib = None,
    keelson_depth = None, keelson_siding = None, keelson_above = None,
))]
#[allow(clippy::too_many_arguments)]
pub fn backbone(
    py: Python<'_>,
    hull: Py<Hull>,
    planking: Option<f64>,
    half_siding: Option<f64>,
    keel_depth: Option<f64>,
    stem_outside: Option<f64>,
    inside: Option<f64>,
    section_every: Option<f64>,
    transom_thickness: Option<f64>,
    knee_arm: Option<f64>,
    scarf: Option<f64>,
    nib: Option<f64>,
    keelson_depth: Option<f64>,
    keelson_siding: Option<f64>,
    keelson_above: Option<f64>,
) -> PyResult<Backbone> {
    let usual = BackboneOptions::default();
    let options = BackboneOptions {
        rabbet: RabbetOptions { planking, half_siding },
        keel_depth: keel_depth.unwrap_or(usual.keel_depth),
        stem_outside: stem_outside.unwrap_or(usual.stem_outside),
        inside: inside.unwrap_or(usual.inside),
        section_every: section_every.unwrap_or(usual.section_every),
        transom_thickness: transom_thickness.unwrap_or(usual.transom_thickness),
        knee_arm: knee_arm.unwrap_or(usual.knee_arm),
        scarf: scarf.unwrap_or(usual.scarf),
        nib: nib.unwrap_or(usual.nib),
        keelson_depth,
        keelson_siding,
        keelson_above: keelson_above.unwrap_or(usual.keelson_above),
    };
    let backbone =
        patiently(py, move || core_backbone::backbone(&hull.get().boat, &options))?.map_err(loft_error)?;
    Ok(Backbone { backbone })
}

#[pymethods]
impl Backbone {
    /// The assembly in profile, each piece, the keel in plan, and sections of the rabbet, mm at full size.
    fn drawings(&self) -> Vec<Drawing> {
        backbone_drawings(&self.backbone).into_iter().map(Drawing::from).collect()
    }

    /// The keel at each station: a dict of equal columns, metres and degrees.
    fn keel<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let rows = &self.backbone.keel;
        let columns = PyDict::new(py);
        columns.set_item("station", rows.iter().map(|k| k.station.as_str()).collect::<Vec<_>>())?;
        let number = |name, of: &dyn Fn(&core_backbone::KeelAt) -> f64| {
            columns.set_item(name, rows.iter().map(of).collect::<Vec<_>>())
        };
        number("from_stem", &|k| k.x)?;
        number("half_siding", &|k| k.rabbet.half_siding)?;
        number("underside", &|k| k.underside)?;
        number("rabbet", &|k| k.rabbet.rabbet.y)?;
        number("middle", &|k| k.rabbet.middle.y)?;
        number("middle_half_breadth", &|k| k.rabbet.middle.x)?;
        number("bearding", &|k| k.rabbet.bearding.y)?;
        number("upper", &|k| k.upper)?;
        number("garboard", &|k| k.rabbet.angle.to_degrees())?;
        number("bottom_bevel", &|k| k.bottom_bevel.to_degrees())?;
        Ok(columns)
    }

    /// The stem up its rabbet: a dict of equal columns, metres and degrees; empty without one.
    fn stem<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        end_columns(py, &self.backbone.stem)
    }

    /// The line it hangs on, bow to stern: a dict of equal columns, metres and degrees.
    fn line<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let rows = &self.backbone.along;
        let columns = PyDict::new(py);
        columns.set_item("piece", rows.iter().map(|a| a.piece).collect::<Vec<_>>())?;
        let number = |name, of: &dyn Fn(&core_backbone::AlongAt) -> f64| {
            columns.set_item(name, rows.iter().map(of).collect::<Vec<_>>())
        };
        number("along", &|a| a.along)?;
        number("from_stem", &|a| a.x)?;
        number("height", &|a| a.z)?;
        number("from_level", &|a| a.rise.to_degrees())?;
        number("curvature", &|a| a.curvature)?;
        number("half_siding", &|a| a.half_siding)?;
        number("plank_angle", &|a| a.plank_angle.to_degrees())?;
        Ok(columns)
    }

    /// A flat bottom at each station: a dict of equal columns, metres and degrees; empty where there is none.
    fn bottom<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let rows = self.backbone.bottom.as_ref().map_or(&[][..], |bottom| &bottom.stations);
        let columns = PyDict::new(py);
        columns.set_item("station", rows.iter().map(|b| b.station.as_str()).collect::<Vec<_>>())?;
        let number = |name, of: &dyn Fn(&BottomAt) -> f64| {
            columns.set_item(name, rows.iter().map(of).collect::<Vec<_>>())
        };
        number("from_stem", &|b| b.x)?;
        number("along", &|b| b.along)?;
        number("half_breadth", &|b| b.half_breadth)?;
        number("height", &|b| b.height)?;
        number("side_angle", &|b| b.side_angle.to_degrees())?;
        Ok(columns)
    }

    /// The sternpost, likewise.
    fn sternpost<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        end_columns(py, &self.backbone.sternpost)
    }

    /// The pieces: a dict of equal columns, metres; degrees between a knee's arms.
    fn pieces<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let rows = &self.backbone.pieces;
        let columns = PyDict::new(py);
        columns.set_item("piece", rows.iter().map(|p| p.name).collect::<Vec<_>>())?;
        let number = |name, of: &dyn Fn(&core_backbone::BackbonePiece) -> f64| {
            columns.set_item(name, rows.iter().map(of).collect::<Vec<_>>())
        };
        number("sided", &|p| p.sided)?;
        number("moulded_least", &|p| p.moulded.0)?;
        number("moulded_most", &|p| p.moulded.1)?;
        number("arms_at", &|p| p.arms_at.map_or(f64::NAN, f64::to_degrees))?;
        number("length", &|p| longest(&p.outline))?;
        Ok(columns)
    }

    /// Length of the scarfs between keel and ends, along the keel, m.
    #[getter]
    fn scarf(&self) -> f64 {
        self.backbone.scarf
    }

    /// Angle between the arms of the stern knee, degrees; None without a transom.
    #[getter]
    fn knee_angle(&self) -> Option<f64> {
        self.backbone.knee_angle.map(f64::to_degrees)
    }

    /// Depth of the scarfs' nibs, m.
    #[getter]
    fn nib(&self) -> f64 {
        self.backbone.nib
    }

    /// What the builder should know: long rabbets, short scarfs.
    #[getter]
    fn remarks(&self) -> Vec<String> {
        self.backbone.remarks.clone()
    }

    /// Spots without a rabbet, and why.
    #[getter]
    fn failures(&self) -> Vec<String> {
        self.backbone.failures.clone()
    }
}

fn end_columns<'py>(py: Python<'py>, rows: &[core_backbone::EndAt]) -> PyResult<Bound<'py, PyDict>> {
    let columns = PyDict::new(py);
    let number = |name, of: &dyn Fn(&core_backbone::EndAt) -> f64| {
        columns.set_item(name, rows.iter().map(of).collect::<Vec<_>>())
    };
    number("height", &|s| s.z)?;
    number("from_stem", &|s| s.x)?;
    number("half_siding", &|s| s.rabbet.half_siding)?;
    number("bearding", &|s| s.rabbet.bearding.y)?;
    number("middle", &|s| s.rabbet.middle.y)?;
    number("middle_half_breadth", &|s| s.rabbet.middle.x)?;
    number("plank_angle", &|s| s.rabbet.angle.to_degrees())?;
    number("outside", &|s| s.outside)?;
    number("moulded", &|s| s.moulded)?;
    Ok(columns)
}

/// The fashion pieces of a transom.
#[pyclass(frozen, module = "scrieve")]
pub struct FashionPieces {
    made: core_transom::FashionPieces,
}

/// The fashion pieces of a hull's transom, so `thick`. Lengths are metres.
#[pyfunction]
#[pyo3(signature = (hull, *, thick, sided, moulded, planking = None))]
pub fn fashion_pieces(
    py: Python<'_>,
    hull: Py<Hull>,
    thick: f64,
    sided: f64,
    moulded: f64,
    planking: Option<f64>,
) -> PyResult<FashionPieces> {
    let options = TransomOptions { planking, ..TransomOptions::default() };
    let sizes = FashionSizes { transom: thick, sided, moulded };
    let made = move || core_transom::fashion_pieces(&hull.get().boat, &options, &sizes);
    Ok(FashionPieces { made: patiently(py, made)?.map_err(loft_error)? })
}

#[pymethods]
impl FashionPieces {
    /// Both sides' pieces drawn, mm at full size.
    fn drawing(&self) -> Drawing {
        fashion_drawing(&self.made).into()
    }

    /// The pieces of one side: a dict of equal columns, metres.
    fn pieces<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let rows = &self.made.pieces;
        let columns = PyDict::new(py);
        columns.set_item("piece", rows.iter().map(|p| p.name.as_str()).collect::<Vec<_>>())?;
        let bounds = |p: &core_transom::FashionPiece| kurbo::Shape::bounding_box(&p.outline);
        columns.set_item("sided", vec![self.made.sizes.sided; rows.len()])?;
        columns.set_item("moulded", vec![self.made.sizes.moulded; rows.len()])?;
        columns.set_item("across", rows.iter().map(|p| bounds(p).width()).collect::<Vec<_>>())?;
        columns.set_item("up", rows.iter().map(|p| bounds(p).height()).collect::<Vec<_>>())?;
        Ok(columns)
    }

    /// Bevels along their edges: a dict of equal columns, as a transom's.
    fn bevels<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let columns = PyDict::new(py);
        let rows = self.made.pieces.iter();
        let named = rows.clone().flat_map(|p| p.bevels.iter().map(|_| p.name.as_str()));
        columns.set_item("piece", named.collect::<Vec<_>>())?;
        bevel_columns(&columns, &rows.flat_map(|p| &p.bevels).collect::<Vec<_>>())?;
        Ok(columns)
    }
}

/// A transom at its true size.
#[pyclass(frozen, module = "scrieve")]
pub struct Transom {
    pub(crate) transom: core_transom::Transom,
}

/// The transom of a hull. Lengths are metres.
#[pyfunction]
#[pyo3(signature = (
    hull, *, thickness, planking = None, round_of_beam = None, bevel_every = None, bow = false, foot = None, head = None,
))]
#[allow(clippy::too_many_arguments)]
pub fn transom(
    py: Python<'_>,
    hull: Py<Hull>,
    thickness: f64,
    planking: Option<f64>,
    round_of_beam: Option<(f64, f64)>,
    bevel_every: Option<f64>,
    bow: bool,
    foot: Option<(f64, f64)>,
    head: Option<(f64, f64)>,
) -> PyResult<Transom> {
    let round_of_beam = round_of_beam.map(|(beam, camber)| RoundOfBeam { beam, camber });
    let face = foot.zip(head).map(|(foot, head)| TransomPlane { foot, head, curve_radius: None });
    let options = TransomOptions { thickness, planking, round_of_beam, bevel_every, face };
    let made = move || match bow {
        true => core_transom::bow_transom(&hull.get().boat, &options),
        false => core_transom::transom(&hull.get().boat, &options),
    };
    Ok(Transom { transom: patiently(py, made)?.map_err(loft_error)? })
}

#[pymethods]
impl Transom {
    /// Outline of the after face inside the planking, rabbet to sheer: points are (0, across, up), m.
    #[getter]
    fn outer(&self) -> Curve {
        self.transom.outer.clone().into()
    }

    /// Outline of the forward face, m.
    #[getter]
    fn inner(&self) -> Curve {
        self.transom.inner.clone().into()
    }

    /// Angle of its centreline from plumb, degrees, positive where the head is aft of the foot.
    #[getter]
    fn rake(&self) -> f64 {
        self.transom.rake.to_degrees()
    }

    /// Radius of its after face, m; None if it is flat.
    #[getter]
    fn radius(&self) -> Option<f64> {
        self.transom.radius
    }

    /// Bevels round its edge, counted from the after face: a dict of equal columns, metres and degrees.
    fn bevels<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let columns = PyDict::new(py);
        bevel_columns(&columns, &self.transom.bevels.iter().collect::<Vec<_>>())?;
        Ok(columns)
    }

    /// It drawn, mm at full size.
    fn drawing(&self) -> Drawing {
        transom_drawing(&self.transom).into()
    }

    fn __repr__(&self) -> String {
        format!("<Transom raked {:.1} degrees>", self.transom.rake.to_degrees())
    }
}

/// Bevels as equal columns: at, girth, bevel, in_the_wood, rise, over, open.
pub(crate) fn bevel_columns(columns: &Bound<'_, PyDict>, rows: &[&EdgeBevel]) -> PyResult<()> {
    let number = |name, of: &dyn Fn(&EdgeBevel) -> f64| {
        columns.set_item(name, rows.iter().map(|b| of(b)).collect::<Vec<_>>())
    };
    columns.set_item("at", rows.iter().map(|b| b.at.as_str()).collect::<Vec<_>>())?;
    number("girth", &|b| b.girth)?;
    number("bevel", &|b| b.angle.to_degrees())?;
    number("in_the_wood", &|b| b.in_the_wood.to_degrees())?;
    number("rise", &|b| b.rise)?;
    number("over", &|b| b.over)?;
    columns.set_item("open", rows.iter().map(|b| b.is_open()).collect::<Vec<_>>())
}

/// The longest straight line within the ends of a piece, m: no shorter stock holds it, however it stands in the boat.
fn longest(outline: &kurbo::BezPath) -> f64 {
    let mut points = Vec::new();
    kurbo::flatten(outline.iter(), 1e-3, |el| points.extend(el.end_point()));
    let apart = |i: usize| {
        points[i + 1..].iter().map({
            let p = points[i];
            move |q| p.distance(*q)
        })
    };
    (0..points.len()).flat_map(apart).fold(0.0, f64::max)
}
