//! The half model in lifts, for Python.

use pyo3::prelude::*;
use pyo3::types::PyDict;
use scrieve_drawing::lifts::{Model, lift_drawings, lift_profile};
use scrieve_loft::lifts::{LiftOptions, lifts as loft_lifts};

use crate::drawing::Drawing;
use crate::hull::Hull;
use crate::loft::loft_error;
use crate::patience::patiently;

/// Drawings, the profile, columns and tips.
type Lifted<'py> = (Vec<Drawing>, Drawing, Bound<'py, PyDict>, Vec<(f64, f64)>);

/// A drawing a lift, the profile, and a dict of equal columns, a row a piece: `lift`, `piece`, `from_z` and `to_z` (heights
/// of its joints, of the boat, m), `length` and `breadth` (of what is cut, m on the model). Last, the tips that are too short
/// to be cut: the height they rise from, of the boat, and where they are from her fore end on the model, m.
#[pyfunction]
#[pyo3(signature = (hull, *, scale, thickness, joint = None, whole = false))]
pub fn lifts<'py>(
    py: Python<'py>,
    hull: Py<Hull>,
    scale: f64,
    thickness: f64,
    joint: Option<f64>,
    whole: bool,
) -> PyResult<Lifted<'py>> {
    let options = LiftOptions { scale, thickness, joint };
    let made = patiently(py, move || loft_lifts(&hull.get().boat, &options))?.map_err(loft_error)?;
    let drawings = lift_drawings(&made, if whole { Model::Whole } else { Model::Half });
    let rows =
        || made.lifts.iter().flat_map(|lift| lift.pieces.iter().enumerate().map(move |(i, p)| (lift, i, p)));
    let sizes: Vec<kurbo::Rect> = rows().map(|(_, _, p)| kurbo::Shape::bounding_box(&p.edge)).collect();
    let sides = if whole { 2.0 } else { 1.0 };
    let columns = PyDict::new(py);
    columns.set_item("lift", rows().map(|(lift, _, _)| lift.number).collect::<Vec<_>>())?;
    columns.set_item("piece", rows().map(|(_, i, _)| i + 1).collect::<Vec<_>>())?;
    columns.set_item("from_z", rows().map(|(lift, _, _)| lift.from).collect::<Vec<_>>())?;
    columns.set_item("to_z", rows().map(|(lift, _, _)| lift.to).collect::<Vec<_>>())?;
    columns.set_item("length", sizes.iter().map(|r| r.width()).collect::<Vec<_>>())?;
    columns.set_item("breadth", sizes.iter().map(|r| sides * r.y1).collect::<Vec<_>>())?;
    Ok((
        drawings.into_iter().map(Drawing::from).collect(),
        lift_profile(&made).into(),
        columns,
        made.left_out,
    ))
}
