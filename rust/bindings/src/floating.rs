//! Floating, for Python: figures as dicts, angles in degrees, `NaN` where an open boat has filled.

use kurbo::Point;
use numpy::{PyArray1, PyArrayMethods};
use pyo3::create_exception;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use scrieve_drawing::sail_plan::{Sail as PlanSail, SailPlan};
use scrieve_hull::floating::{
    Area, Body, CAUTION, Deck, FloatingError as CoreError, Hydrostatics, LateralPart, Loading, Rig, Sail,
    Water, Weight, keel,
};

use crate::drawing::Drawing;
use crate::error::ScrieveError;
use crate::hull::{Hull, check_grid};
use crate::patience::patiently;

create_exception!(
    scrieve,
    FloatingError,
    ScrieveError,
    "A load or a draught the hull cannot be floated at. `.reason` says why in a word or two: dry, over the\n\
     sheer, sinks, swamped, capsizes, no trim, argument."
);

fn floating_error(error: CoreError) -> PyErr {
    let raised = FloatingError::new_err(error.to_string());
    let set = Python::attach(|py| raised.value(py).setattr("reason", error.reason()));
    set.map_or_else(|failed| failed, |()| raised)
}

/// Densities of water that boats lie in, kg/m³, with room on either side: hot springs to salt lakes (common practice).
const DENSITIES: std::ops::RangeInclusive<f64> = 900.0..=1400.0;

/// "sea", "fresh", or a density in kg/m³.
#[derive(FromPyObject)]
pub enum WaterName {
    Name(String),
    Density(f64),
}

impl WaterName {
    fn water(&self) -> PyResult<Water> {
        match self {
            WaterName::Name(name) if name == "sea" => Ok(Water::SEA),
            WaterName::Name(name) if name == "fresh" => Ok(Water::FRESH),
            WaterName::Name(name) => {
                let what = format!("water {name:?}: expected \"sea\", \"fresh\" or a density in kg/m³");
                Err(floating_error(CoreError::Argument(what)))
            }
            WaterName::Density(density) if DENSITIES.contains(density) => Ok(Water { density: *density }),
            WaterName::Density(density) => {
                let (least, most) = (DENSITIES.start(), DENSITIES.end());
                let what = format!("density of water {density} kg/m³: expected {least} to {most}");
                Err(floating_error(CoreError::Argument(what)))
            }
        }
    }
}

fn named<'py>(py: Python<'py>, h: &Hydrostatics) -> PyResult<Bound<'py, PyDict>> {
    let dict = PyDict::new(py);
    for (name, value) in [
        ("draught", h.draught),
        ("moulded_draught", h.moulded_draught),
        ("volume", h.volume),
        ("mass", h.mass),
        ("lwl", h.lwl),
        ("waterline_fore", h.waterline_ends[0]),
        ("waterline_aft", h.waterline_ends[1]),
        ("bwl", h.bwl),
        ("awp", h.awp),
        ("am", h.am),
        ("am_x", h.am_x),
        ("cb", h.cb),
        ("cp", h.cp),
        ("cm", h.cm),
        ("cwp", h.cwp),
        ("lcb", h.lcb),
        ("lcf", h.lcf),
        ("kb", h.kb),
        ("bmt", h.bmt),
        ("bml", h.bml),
        ("km", h.km),
        ("wetted_surface", h.wetted_surface),
        ("lateral_area", h.lateral.area),
        ("clr_x", h.lateral.centre[0]),
        ("clr_z", h.lateral.centre[1]),
        ("immersion", h.immersion),
        ("moment_to_trim", h.moment_to_trim),
    ] {
        dict.set_item(name, value)?;
    }
    Ok(dict)
}

fn loading(weights: &[(f64, f64, f64, f64)]) -> PyResult<Loading> {
    let weights: Vec<Weight> =
        weights.iter().map(|&(mass, x, y, z)| Weight { mass, at: [x, y, z] }).collect();
    Loading::of(&weights).map_err(floating_error)
}

fn deck(decked: bool) -> Deck {
    if decked { Deck::Decked } else { Deck::Open }
}

/// Upright figures at a draught, m: a dict by name.
#[pyfunction]
pub fn hydrostatics<'py>(
    py: Python<'py>,
    hull: &Hull,
    draught: f64,
    water: WaterName,
) -> PyResult<Bound<'py, PyDict>> {
    let (hull, water) = (&hull.boat, water.water()?);
    let found = py.detach(|| Body::of(hull).hydrostatics(draught, water)).map_err(floating_error)?;
    named(py, &found)
}

/// Upright figures over draughts, m: a list of dicts.
#[pyfunction]
pub fn curves_of_form<'py>(
    py: Python<'py>,
    hull: Py<Hull>,
    draughts: Vec<f64>,
    water: WaterName,
) -> PyResult<Vec<Bound<'py, PyDict>>> {
    let water = water.water()?;
    let found = patiently(py, move || Body::of(&hull.get().boat).curves(&draughts, water))?;
    let found = found.map_err(floating_error)?;
    found.iter().map(|h| named(py, h)).collect()
}

/// Height of level water above the base line at which she displaces a mass, kg: m.
#[pyfunction]
pub fn level_draught(py: Python<'_>, hull: &Hull, mass: f64, water: WaterName) -> PyResult<f64> {
    let (hull, water) = (&hull.boat, water.water()?);
    py.detach(|| Body::of(hull).level_draught(mass, water)).map_err(floating_error)
}

/// Heights of her lowest point and of the lowest point of her sheer, m.
#[pyfunction]
pub fn depths(py: Python<'_>, hull: &Hull) -> (f64, f64) {
    let [lowest, sheer] = py.detach(|| Body::of(&hull.boat).depths());
    (lowest, sheer)
}

/// Name, area (m²) and centre (x, z) of each part of the lateral plane below level water: the hull's profile,
/// the keel if her table has it, and parts given by name and corners (x, z), m.
#[pyfunction]
#[allow(clippy::type_complexity)]
pub fn lateral_plane(
    py: Python<'_>,
    hull: &Hull,
    draught: f64,
    parts: Vec<(String, Vec<[f64; 2]>)>,
) -> PyResult<Vec<(String, f64, [f64; 2])>> {
    let hull = &hull.boat;
    let given = parts.into_iter().map(|(name, corners)| LateralPart { name, corners });
    let found = py.detach(|| {
        let parts: Vec<LateralPart> = keel(hull).into_iter().chain(given).collect();
        Body::of(hull).lateral_plane(draught, &parts)
    });
    let plain = |(name, area): (String, Area)| (name, area.area, area.centre);
    Ok(found.map_err(floating_error)?.into_iter().map(plain).collect())
}

/// Areas of both sides of station planes under water, m².
#[pyfunction]
pub fn sectional_areas<'py>(
    py: Python<'py>,
    hull: &Hull,
    xs: Vec<f64>,
    draught: f64,
) -> Bound<'py, PyArray1<f64>> {
    let body = Body::of(&hull.boat);
    let areas = xs.iter().map(|&x| body.sectional_area(x, draught)).collect();
    PyArray1::from_vec(py, areas)
}

/// How she floats under weights (kg, x, y, z): a dict, angles in degrees.
#[pyfunction]
pub fn float_at<'py>(
    py: Python<'py>,
    hull: &Hull,
    weights: Vec<(f64, f64, f64, f64)>,
    water: WaterName,
    decked: bool,
) -> PyResult<Bound<'py, PyDict>> {
    let (hull, water, loading) = (&hull.boat, water.water()?, loading(&weights)?);
    let body = py.detach(|| Body::of(hull));
    let f = py.detach(|| body.float(&loading, water, deck(decked))).map_err(floating_error)?;
    let dict = PyDict::new(py);
    for (name, value) in [
        ("mass", f.loading.mass),
        ("lcg", f.loading.centre[0]),
        ("tcg", f.loading.centre[1]),
        ("kg", f.loading.centre[2]),
        ("draught", f.draught),
        ("draught_fore", f.draught_at(body.ends()[0])),
        ("draught_aft", f.draught_at(body.ends()[1])),
        ("midships", f.midships),
        ("trim", f.trim.to_degrees()),
        ("heel", f.heel.to_degrees()),
        ("volume", f.volume),
        ("lcb", f.centre_of_buoyancy[0]),
        ("tcb", f.centre_of_buoyancy[1]),
        ("kb", f.centre_of_buoyancy[2]),
        ("freeboard", f.freeboard),
        ("gm", f.gm),
    ] {
        dict.set_item(name, value)?;
    }
    Ok(dict)
}

/// Righting arms (m) and trims (degrees) at heels (degrees), and the heel of flooding at the sheer.
#[pyfunction]
#[allow(clippy::type_complexity)]
pub fn righting_arms<'py>(
    py: Python<'py>,
    hull: Py<Hull>,
    heels: Vec<f64>,
    weights: Vec<(f64, f64, f64, f64)>,
    water: WaterName,
    decked: bool,
) -> PyResult<(Bound<'py, PyArray1<f64>>, Bound<'py, PyArray1<f64>>, Option<f64>)> {
    let (water, loading) = (water.water()?, loading(&weights)?);
    let heels: Vec<f64> = heels.iter().map(|heel| heel.to_radians()).collect();
    let arms = patiently(py, move || Body::of(&hull.get().boat).arms(&heels, &loading, water, deck(decked)))?;
    let arms = arms.map_err(floating_error)?;
    let column = |values: &[Option<f64>]| {
        PyArray1::from_vec(py, values.iter().map(|value| value.unwrap_or(f64::NAN)).collect())
    };
    let trim: Vec<Option<f64>> = arms.trim.iter().map(|trim| trim.map(f64::to_degrees)).collect();
    Ok((column(&arms.gz), column(&trim), arms.flooding.map(f64::to_degrees)))
}

/// Area (m²) and centre of effort (x, z) of sails, each a name and its corners (x, z), m.
#[pyfunction]
pub fn centre_of_effort(rig: String, sails: Vec<(String, Vec<[f64; 2]>)>) -> PyResult<(f64, [f64; 2])> {
    let sails = sails.into_iter().map(|(name, corners)| Sail { name, corners }).collect();
    let effort = Rig { name: rig, sails }.effort().map_err(floating_error)?;
    Ok((effort.area, effort.centre))
}

/// Points of the surface on an even grid of each patch, from the keel up: (nu, nv, 3) arrays, m.
#[pyfunction]
pub fn surface_grid<'py>(
    py: Python<'py>,
    hull: &Hull,
    nu: usize,
    nv: usize,
) -> PyResult<Vec<Bound<'py, PyAny>>> {
    check_grid(nu, nv, hull.boat.surface().patches.len())?;
    let part = |i: usize, n: usize| i as f64 / (n - 1) as f64;
    let grid = |patch: &scrieve_surface::Patch| {
        let points = (0..nu).flat_map(|i| (0..nv).map(move |j| (part(i, nu), part(j, nv))));
        let flat: Vec<f64> = points.flat_map(|(u, v)| patch.point(u, v)).collect();
        PyArray1::from_vec(py, flat).reshape([nu, nv, 3]).map(Bound::into_any)
    };
    hull.boat.surface().patches.iter().map(grid).collect()
}

/// The sail plan of one rig over the hull's profile, mm of paper at 1 to `scale`, or at one that fits a sheet. `sails` are
/// name, corners, area and centre; `lateral` the outlines of parts of the lateral plane; `ratios` sail area over volume^⅔
/// and over wetted surface; `lead` is over `lwl`. Metres, (x, z). Raises ScrieveError for a scale that is none.
#[pyfunction]
#[pyo3(signature = (
    hull, *, name, title, sails, effort, lateral, resistance, waterline, draught, lwl, lead, ratios, counted, scale = None
))]
#[allow(clippy::too_many_arguments, clippy::type_complexity)]
pub fn sail_plan(
    hull: &Hull,
    name: String,
    title: String,
    sails: Vec<(String, Vec<(f64, f64)>, f64, (f64, f64))>,
    effort: (f64, f64),
    lateral: Vec<(String, Vec<(f64, f64)>)>,
    resistance: (f64, f64),
    waterline: [f64; 2],
    draught: f64,
    lwl: f64,
    lead: f64,
    ratios: [f64; 2],
    counted: Vec<String>,
    scale: Option<f64>,
) -> PyResult<Drawing> {
    let points = |corners: Vec<(f64, f64)>| corners.into_iter().map(Point::from).collect::<Vec<Point>>();
    let sail = |(name, corners, area, centre): (String, Vec<(f64, f64)>, f64, (f64, f64))| PlanSail {
        name,
        corners: points(corners),
        area,
        centre: centre.into(),
    };
    let plan = SailPlan {
        name,
        title,
        sails: sails.into_iter().map(sail).collect(),
        centre_of_effort: effort.into(),
        lateral: lateral.into_iter().map(|(name, corners)| (name, points(corners))).collect(),
        centre_of_lateral_resistance: resistance.into(),
        waterline,
        draught,
        lwl,
        lead,
        ratios,
        counted,
    };
    plan.drawn(&hull.boat, scale).map(Drawing::from).map_err(|error| ScrieveError::new_err(error.to_string()))
}

/// What must be said wherever these figures are printed.
#[pyfunction]
pub fn floating_caution() -> &'static str {
    CAUTION
}
