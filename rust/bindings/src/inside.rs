//! Inside structure, for Python: conversions and errors only.

use kurbo::Point;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use scrieve_drawing::inside as draw;
use scrieve_loft::RoundOfBeam;
use scrieve_loft::inside::{self as core, HeightAt, SpanEnd};

use crate::drawing::Drawing;
use crate::hull::Hull;
use crate::loft::loft_error;

fn ends<'py>(py: Python<'py>, rows: &[SpanEnd]) -> PyResult<Bound<'py, PyDict>> {
    let columns = PyDict::new(py);
    let number =
        |name, of: fn(&SpanEnd) -> f64| columns.set_item(name, rows.iter().map(of).collect::<Vec<_>>());
    number("from_stem", |e| e.x)?;
    number("height", |e| e.z)?;
    number("length", |e| e.length)?;
    number("in_plan", |e| e.in_plan.to_degrees())?;
    number("flare", |e| e.flare.to_degrees())?;
    Ok(columns)
}

/// A thwart: its edges (a dict of equal columns, metres and degrees) and its drawing.
#[pyfunction]
#[pyo3(signature = (hull, x, z, *, width, thickness, inside, name))]
#[allow(clippy::too_many_arguments)]
pub fn thwart<'py>(
    py: Python<'py>,
    hull: &Hull,
    x: f64,
    z: f64,
    width: f64,
    thickness: f64,
    inside: f64,
    name: &str,
) -> PyResult<(Bound<'py, PyDict>, Drawing)> {
    let made = core::thwart(&hull.hull, Point::new(x, z), width, thickness, inside).map_err(loft_error)?;
    let boat = &hull.hull.source().facts.name;
    Ok((ends(py, &made.edges)?, draw::thwart_drawing(boat, name, &made).into()))
}

/// A stringer: its length, m, its two ends, and its crossing of each station: dicts of equal columns.
#[pyfunction]
#[pyo3(signature = (hull, start, end, *, z = None, below_sheer = None, inside))]
pub fn stringer<'py>(
    py: Python<'py>,
    hull: &Hull,
    start: f64,
    end: f64,
    z: Option<f64>,
    below_sheer: Option<f64>,
    inside: f64,
) -> PyResult<(f64, Bound<'py, PyDict>, Bound<'py, PyDict>)> {
    let height = match (z, below_sheer) {
        (Some(z), None) => HeightAt::Level(z),
        (None, Some(down)) => HeightAt::BelowSheer(down),
        _ => return Err(loft_error("give a height or a depth below the sheer, one of the two")),
    };
    let made = core::stringer(&hull.hull, height, start, end, inside).map_err(loft_error)?;
    let (names, at): (Vec<String>, Vec<SpanEnd>) = made.stations.into_iter().unzip();
    let stations = ends(py, &at)?;
    stations.set_item("station", names)?;
    Ok((made.length, ends(py, &made.ends)?, stations))
}

/// A bulkhead, drawn.
#[pyfunction]
#[pyo3(signature = (hull, x, *, top = None, thickness, round_of_beam = None, inside, name))]
#[allow(clippy::too_many_arguments)]
pub fn bulkhead(
    hull: &Hull,
    x: f64,
    top: Option<f64>,
    thickness: f64,
    round_of_beam: Option<(f64, f64)>,
    inside: f64,
    name: &str,
) -> PyResult<Drawing> {
    let round = round_of_beam.map(|(beam, camber)| RoundOfBeam { beam, camber });
    let made = core::bulkhead(&hull.hull, x, top, thickness, round, inside).map_err(loft_error)?;
    Ok(draw::bulkhead_drawing(&hull.hull.source().facts.name, name, &made).into())
}

/// A deck beam: its radius and camber, m, its end, and its drawing.
#[pyfunction]
#[pyo3(signature = (hull, x, *, round_of_beam, depth, inside, name))]
pub fn deck_beam<'py>(
    py: Python<'py>,
    hull: &Hull,
    x: f64,
    round_of_beam: (f64, f64),
    depth: f64,
    inside: f64,
    name: &str,
) -> PyResult<(f64, f64, Bound<'py, PyDict>, Drawing)> {
    let round = RoundOfBeam { beam: round_of_beam.0, camber: round_of_beam.1 };
    let made = core::deck_beam(&hull.hull, x, round, depth, inside).map_err(loft_error)?;
    let boat = &hull.hull.source().facts.name;
    let drawing = draw::deck_beam_drawing(boat, name, &made).into();
    Ok((made.radius, made.camber, ends(py, &[made.end])?, drawing))
}

/// Half the deck at the sheer, drawn in plan.
#[pyfunction]
pub fn deck(hull: &Hull) -> Drawing {
    draw::deck_drawing(&hull.hull.source().facts.name, &core::deck_outline(&hull.hull)).into()
}
