//! Inside structure, for Python: conversions and errors only.

use kurbo::Point;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use scrieve_drawing::inside as draw;
use scrieve_hull::Boat;
use scrieve_loft::inside::{
    self as core, CarlinEnd, CarlinOptions, CaseAt, CaseOptions, DeckAtStation, HeightAt, InsideError,
    Opening, SpanEnd, StringerAt, StringerOptions,
};
use scrieve_loft::rabbet::RabbetOptions;
use scrieve_loft::{Grid, RoundOfBeam};

use crate::drawing::Drawing;
use crate::hull::Hull;
use crate::loft::loft_error;
use crate::patience::patiently;

/// What the hull is asked, while the caller listens for Ctrl-C.
fn asked<T: Send + 'static>(
    py: Python<'_>,
    hull: &Py<Hull>,
    ask: impl FnOnce(&Boat) -> Result<T, InsideError> + Send + 'static,
) -> PyResult<T> {
    let hull = hull.clone_ref(py);
    patiently(py, move || ask(&hull.get().boat))?.map_err(loft_error)
}

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
    hull: Py<Hull>,
    x: f64,
    z: f64,
    width: f64,
    thickness: f64,
    inside: f64,
    name: &str,
) -> PyResult<(Bound<'py, PyDict>, Drawing)> {
    let made = asked(py, &hull, move |hull| core::thwart(hull, Point::new(x, z), width, thickness, inside))?;
    let boat = &hull.get().boat.source().facts.name;
    Ok((ends(py, &made.edges)?, draw::thwart_drawing(boat, name, &made, thickness).into()))
}

/// Stringers as a dict of equal columns, metres and degrees.
fn stringer_rows<'py>(py: Python<'py>, rows: &[StringerAt]) -> PyResult<Bound<'py, PyDict>> {
    let columns = PyDict::new(py);
    let number = |name: &str, of: &dyn Fn(&StringerAt) -> f64| {
        columns.set_item(name, rows.iter().map(of).collect::<Vec<_>>())
    };
    number("from_stem", &|r| r.x)?;
    number("along", &|r| r.along)?;
    for (k, edge) in ["", "inner_", "lower_inner_", "lower_"].into_iter().enumerate() {
        number(&format!("{edge}height"), &|r| r.section[k].y)?;
        number(&format!("{edge}half_breadth"), &|r| r.section[k].x)?;
    }
    number("bow", &|r| r.bow)?;
    number("in_plan", &|r| r.in_plan.to_degrees())?;
    number("flare", &|r| r.flare.to_degrees())?;
    number("level_bevel", &|r| r.level_bevel.to_degrees())?;
    number("cut_on_face", &|r| r.cut_on_face.to_degrees())?;
    number("cut_on_edge", &|r| r.cut_on_edge.to_degrees())?;
    Ok(columns)
}

/// A stringer: its length and its bow, m, its two ends and its crossing of each station as dicts of equal
/// columns, and its drawing.
#[pyfunction]
#[pyo3(signature = (hull, start, end, *, z = None, below_sheer = None, heights = None, depth, thickness, level, inside,
    name))]
#[allow(clippy::too_many_arguments, clippy::type_complexity)]
pub fn stringer<'py>(
    py: Python<'py>,
    hull: Py<Hull>,
    start: f64,
    end: f64,
    z: Option<f64>,
    below_sheer: Option<f64>,
    heights: Option<Vec<(f64, f64)>>,
    depth: f64,
    thickness: f64,
    level: bool,
    inside: f64,
    name: &str,
) -> PyResult<(f64, f64, Bound<'py, PyDict>, Bound<'py, PyDict>, Drawing)> {
    let height = match (z, below_sheer, heights) {
        (Some(z), None, None) => HeightAt::Level(z),
        (None, Some(down), None) => HeightAt::BelowSheer(down),
        (None, None, Some(heights)) => HeightAt::Through(heights),
        _ => {
            return Err(loft_error(
                "give a height, a depth below the sheer, or heights along the boat: one of the three",
            ));
        }
    };
    let options = StringerOptions { height, from: start, to: end, depth, thickness, level, inside };
    let made = asked(py, &hull, move |hull| core::stringer(hull, &options))?;
    let drawing = draw::stringer_drawing(&hull.get().boat.source().facts.name, name, &made, units(&hull));
    let (names, at): (Vec<String>, Vec<StringerAt>) = made.stations.into_iter().unzip();
    let stations = stringer_rows(py, &at)?;
    stations.set_item("station", names)?;
    Ok((made.length, made.bow, stringer_rows(py, &made.ends)?, stations, drawing.into()))
}

fn units(hull: &Py<Hull>) -> scrieve_notation::Units {
    Grid::of(&hull.get().boat).units
}

/// A bulkhead, drawn.
#[pyfunction]
#[pyo3(signature = (hull, x, *, top = None, thickness, round_of_beam = None, inside, name))]
#[allow(clippy::too_many_arguments)]
pub fn bulkhead(
    py: Python<'_>,
    hull: Py<Hull>,
    x: f64,
    top: Option<f64>,
    thickness: f64,
    round_of_beam: Option<(f64, f64)>,
    inside: f64,
    name: &str,
) -> PyResult<Drawing> {
    let round = round_of_beam.map(|(beam, camber)| RoundOfBeam { beam, camber });
    let made = asked(py, &hull, move |hull| core::bulkhead(hull, x, top, thickness, round, inside))?;
    Ok(draw::bulkhead_drawing(&hull.get().boat.source().facts.name, name, &made).into())
}

/// A deck beam: its radius and camber, m, its end, and its drawing.
#[pyfunction]
#[pyo3(signature = (hull, x, *, round_of_beam, depth, siding, inside, name))]
#[allow(clippy::too_many_arguments)]
pub fn deck_beam<'py>(
    py: Python<'py>,
    hull: Py<Hull>,
    x: f64,
    round_of_beam: (f64, f64),
    depth: f64,
    siding: f64,
    inside: f64,
    name: &str,
) -> PyResult<(f64, f64, Bound<'py, PyDict>, Drawing)> {
    let round = RoundOfBeam { beam: round_of_beam.0, camber: round_of_beam.1 };
    let made = asked(py, &hull, move |hull| core::deck_beam(hull, x, round, (depth, siding), inside))?;
    let boat = &hull.get().boat.source().facts.name;
    let drawing = draw::deck_beam_drawing(boat, name, &made, siding).into();
    Ok((made.radius, made.camber, ends(py, &[made.end])?, drawing))
}

/// A half beam: its length, m, a dict of its inboard and its outboard end, and its drawing.
#[pyfunction]
#[pyo3(signature = (hull, x, *, carlin, in_plan, round_of_beam, depth, siding, inside, name))]
#[allow(clippy::too_many_arguments)]
pub fn half_beam<'py>(
    py: Python<'py>,
    hull: Py<Hull>,
    x: f64,
    carlin: f64,
    in_plan: f64,
    round_of_beam: (f64, f64),
    depth: f64,
    siding: f64,
    inside: f64,
    name: &str,
) -> PyResult<(f64, Bound<'py, PyDict>, Drawing)> {
    let round = RoundOfBeam { beam: round_of_beam.0, camber: round_of_beam.1 };
    let made = asked(py, &hull, move |hull| {
        core::half_beam(hull, x, carlin, in_plan.to_radians(), round, (depth, siding), inside)
    })?;
    let columns = PyDict::new(py);
    columns.set_item("half_breadth", [made.inboard.x, 0.5 * made.end.length])?;
    columns.set_item("height", [made.inboard.y, made.end.z])?;
    columns.set_item("in_plan", [made.inboard_in_plan, made.end.in_plan].map(f64::to_degrees))?;
    columns.set_item("flare", [0.0, made.end.flare.to_degrees()])?;
    let drawing = draw::half_beam_drawing(&hull.get().boat.source().facts.name, name, &made, siding);
    Ok((made.length, columns, drawing.into()))
}

/// A carlin: length of its upper edge, level length and spring, m, a dict of its two ends, and its drawing.
#[pyfunction]
#[pyo3(signature = (hull, start, end, *, half_breadths, round_of_beam, depth, thickness, inside, name))]
#[allow(clippy::too_many_arguments)]
pub fn carlin<'py>(
    py: Python<'py>,
    hull: Py<Hull>,
    start: f64,
    end: f64,
    half_breadths: [f64; 2],
    round_of_beam: (f64, f64),
    depth: f64,
    thickness: f64,
    inside: f64,
    name: &str,
) -> PyResult<([f64; 3], Bound<'py, PyDict>, Drawing)> {
    let round = RoundOfBeam { beam: round_of_beam.0, camber: round_of_beam.1 };
    let options = CarlinOptions { from: start, to: end, half_breadths, depth, thickness, round, inside };
    let made = asked(py, &hull, move |hull| core::carlin(hull, &options))?;
    let columns = PyDict::new(py);
    let number = |name, of: fn(&CarlinEnd) -> f64| columns.set_item(name, made.ends.each_ref().map(of));
    number("from_stem", |e| e.x)?;
    number("half_breadth", |e| e.half_breadth)?;
    number("height", |e| e.z)?;
    number("below_middle", |e| e.below_middle)?;
    number("in_plan", |e| e.in_plan.to_degrees())?;
    number("cut_on_side", |e| e.cut_on_side.to_degrees())?;
    number("round", |e| e.round.to_degrees())?;
    let drawing = draw::carlin_drawing(&hull.get().boat.source().facts.name, name, &made, thickness);
    Ok(([made.length, made.level, made.spring], columns, drawing.into()))
}

/// The case of a centreboard: a dict of its places, and its two drawings.
#[pyfunction]
#[pyo3(signature = (hull, start, end, *, width, top, log, log_depth, cheek, keel_above, planking = None,
    half_siding = None, name))]
#[allow(clippy::too_many_arguments)]
pub fn centre_case<'py>(
    py: Python<'py>,
    hull: Py<Hull>,
    start: f64,
    end: f64,
    width: f64,
    top: f64,
    log: f64,
    log_depth: f64,
    cheek: f64,
    keel_above: f64,
    planking: Option<f64>,
    half_siding: Option<f64>,
    name: &str,
) -> PyResult<(Bound<'py, PyDict>, Vec<Drawing>)> {
    let rabbet = RabbetOptions { planking, half_siding };
    let options = CaseOptions { from: start, to: end, width, top, log, log_depth, cheek, keel_above, rabbet };
    let made = asked(py, &hull, move |hull| core::centre_case(hull, &options))?;
    let columns = PyDict::new(py);
    columns.set_item("place", made.places.iter().map(|p| p.place.clone()).collect::<Vec<_>>())?;
    let number =
        |name, of: fn(&CaseAt) -> f64| columns.set_item(name, made.places.iter().map(of).collect::<Vec<_>>());
    number("from_stem", |p| p.x)?;
    number("half_siding", |p| p.half_siding)?;
    number("cheek", |p| p.cheek)?;
    number("bearding", |p| p.bearding)?;
    number("foot", |p| p.foot)?;
    number("foot_outside", |p| p.foot_outside)?;
    number("side_height", |p| p.height)?;
    number("bevel", |p| p.bevel.to_degrees())?;
    let boat = &hull.get().boat.source().facts.name;
    let drawings = draw::case_drawings(boat, name, &made, &options, units(&hull));
    Ok((columns, drawings.into_iter().map(Drawing::from).collect()))
}

/// Half the deck at the sheer, drawn in plan, with the beams (m aft) and the openings (forward end, after end, and
/// half-breadth at either, m) marked, of stock of this thickness, m.
#[pyfunction]
#[pyo3(signature = (hull, *, beams, openings, thickness = None))]
pub fn deck(
    py: Python<'_>,
    hull: Py<Hull>,
    beams: Vec<f64>,
    openings: Vec<(f64, f64, f64, f64)>,
    thickness: Option<f64>,
) -> PyResult<Drawing> {
    let openings: Vec<Opening> = openings
        .into_iter()
        .map(|(from, to, fore, aft)| Opening { from, to, half_breadths: [fore, aft] })
        .collect();
    let marks = asked(py, &hull, move |hull| core::deck_marks(hull, &beams, &openings))?;
    let outline = asked(py, &hull, |hull| Ok(core::deck_outline(hull)))?;
    Ok(draw::deck_drawing(&hull.get().boat.source().facts.name, &outline, &marks, thickness).into())
}

/// The deck at each station: a dict of equal columns, m.
#[pyfunction]
pub fn deck_stations<'py>(py: Python<'py>, hull: Py<Hull>, inside: f64) -> PyResult<Bound<'py, PyDict>> {
    let rows = asked(py, &hull, move |hull| Ok(core::deck_stations(hull, inside)))?;
    let columns = PyDict::new(py);
    columns.set_item("station", rows.iter().map(|r| r.station.clone()).collect::<Vec<_>>())?;
    let number =
        |name, of: fn(&DeckAtStation) -> f64| columns.set_item(name, rows.iter().map(of).collect::<Vec<_>>());
    number("from_stem", |r| r.x)?;
    number("half_breadth", |r| r.half_breadth)?;
    number("half_breadth_inside", |r| r.inside)?;
    number("height_inside", |r| r.z)?;
    Ok(columns)
}

/// The inside of the hull where each waterline of the table crosses each station: a dict of equal columns.
#[pyfunction]
pub fn breadths<'py>(py: Python<'py>, hull: Py<Hull>, inside: f64) -> PyResult<Bound<'py, PyDict>> {
    let rows = asked(py, &hull, move |hull| core::breadths(hull, inside))?;
    let (names, at): (Vec<String>, Vec<SpanEnd>) = rows.into_iter().unzip();
    let columns = ends(py, &at)?;
    columns.set_item("station", names)?;
    Ok(columns)
}

/// Places of deck beams every so far, m aft of the forward end.
#[pyfunction]
pub fn beam_places(py: Python<'_>, hull: Py<Hull>, spacing: f64, inside: f64) -> PyResult<Vec<f64>> {
    asked(py, &hull, move |hull| core::beam_places(hull, spacing, inside))
}

/// The stations of the table that have a place: names, and m aft of the forward end.
#[pyfunction]
pub fn station_places(hull: &Hull) -> (Vec<String>, Vec<f64>) {
    Grid::of(&hull.boat).stations.into_iter().unzip()
}
