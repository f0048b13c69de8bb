//! Parts laid on sheets.

use pyo3::prelude::*;
use pyo3::types::PyDict;
use scrieve_drawing::Drawing as CoreDrawing;
use scrieve_drawing::nest::{self, Joint, NestOptions, Sheet, Turn};

use crate::drawing::{Drawing, DrawingError, one_of};
use crate::patience::patiently;

/// Lays every part of the drawings on sheets.
///
/// A sheet is its length, width and thickness (None: any), mm, and how many there are (None: enough). `turn` is "any",
/// "quarter", "half" or "none", for parts whose grain is free; `joint` "scarf", "step" or None. Gives dicts: `sheets`,
/// each with its `drawing`, its number in what was given (`stock`), `thickness_mm`, `used`, `left_mm`, `check_mm` and the
/// columns of what was `placed`; `joined`, `untold` and `astray`. Raises `DrawingError`, and then nothing is laid.
#[pyfunction]
#[pyo3(signature = (drawings, sheets, *, gap_mm, margin_mm, turn = "any", bed_mm = None, joint = None, thickness_mm = None, boat = ""))]
#[expect(clippy::too_many_arguments, reason = "keywords of Python")]
pub fn nest_drawings<'py>(
    py: Python<'py>,
    drawings: Vec<PyRef<'py, Drawing>>,
    sheets: Vec<(f64, f64, Option<f64>, Option<usize>)>,
    gap_mm: f64,
    margin_mm: f64,
    turn: &str,
    bed_mm: Option<f64>,
    joint: Option<&str>,
    thickness_mm: Option<f64>,
    boat: &str,
) -> PyResult<Bound<'py, PyDict>> {
    let turns = [("any", Turn::Any), ("quarter", Turn::Quarter), ("half", Turn::Half), ("none", Turn::Fixed)];
    let joints = [("scarf", Joint::Scarf), ("step", Joint::Step)];
    let options = NestOptions {
        gap_mm,
        margin_mm,
        turn: one_of("turn", turn, &turns)?,
        bed_mm,
        joint: joint.map(|joint| one_of("joint", joint, &joints)).transpose()?,
        thickness_mm,
        boat: boat.to_owned(),
    };
    let sheets: Vec<Sheet> = (sheets.into_iter())
        .map(|(length_mm, width_mm, thickness_mm, count)| Sheet { length_mm, width_mm, thickness_mm, count })
        .collect();
    let drawings: Vec<CoreDrawing> = drawings.iter().map(|drawing| drawing.drawing.clone()).collect();
    let laid = patiently(py, move || nest::nest(&drawings.iter().collect::<Vec<_>>(), &sheets, &options))?;
    let laid = laid.map_err(|error| DrawingError::new_err(error.to_string()))?;
    let given = PyDict::new(py);
    let mut sheets = Vec::new();
    for sheet in laid.sheets {
        let dict = PyDict::new(py);
        let placed = PyDict::new(py);
        let column = |of: fn(&nest::Placed) -> f64| sheet.placed.iter().map(of).collect::<Vec<_>>();
        placed.set_item("drawing", sheet.placed.iter().map(|p| p.drawing.as_str()).collect::<Vec<_>>())?;
        placed.set_item("part", sheet.placed.iter().map(|p| p.part.name.as_str()).collect::<Vec<_>>())?;
        placed.set_item("x", column(|p| 1e-3 * p.at.x))?;
        placed.set_item("y", column(|p| 1e-3 * p.at.y))?;
        placed.set_item("turned", column(|p| p.turned.to_degrees()))?;
        dict.set_item("placed", placed)?;
        dict.set_item("stock", sheet.sheet)?;
        dict.set_item("thickness_mm", sheet.thickness_mm)?;
        dict.set_item("used", sheet.used)?;
        dict.set_item("left_mm", sheet.left_mm)?;
        dict.set_item("check_mm", sheet.check_mm)?;
        dict.set_item("drawing", Py::new(py, Drawing::from(sheet.drawing))?)?;
        sheets.push(dict);
    }
    given.set_item("sheets", sheets)?;
    given.set_item("joined", laid.joined)?;
    given.set_item("untold", laid.untold)?;
    given.set_item("astray", laid.astray)?;
    Ok(given)
}
