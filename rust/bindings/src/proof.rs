//! Proofreading, for Python.

use pyo3::prelude::*;
use scrieve_drawing::lines::{PlaceMark, curvature_drawing as draw_curvature, marked_body_plan};
use scrieve_fairing::{Confidence, Finding, Proof, ProofError, disagreements as find, proof_whole};
use scrieve_notation::Reading;
use scrieve_offsets::Table as CoreTable;

use crate::drawing::Drawing;
use crate::hull::{Curve, Hull, fairing_error, options};
use crate::loft::{drawn, lines_options};
use crate::patience::patiently;
use crate::table::{Table, table_error};

/// What a queried reading may have been.
#[pyclass(frozen, get_all, module = "scrieve")]
#[derive(Clone)]
pub struct Suggestion {
    /// The reading, in the hand of the table.
    reading: String,
    /// Its value at full size, m.
    value: f64,
    /// The slip that made of it what stands there.
    slip: String,
    /// How likely it is, of all that could stand there: 0 to 1.
    probability: f64,
}

#[pymethods]
impl Suggestion {
    fn __repr__(&self) -> String {
        format!("<Suggestion {}: {}, {:.0} %>", self.reading, self.slip, 100.0 * self.probability)
    }
}

/// A reading that the rest of the boat contradicts.
#[pyclass(frozen, get_all, module = "scrieve")]
pub struct Query {
    /// The station's name; of a profile the number of the spot.
    station: String,
    /// The row, as `Table.reading` takes it.
    row: String,
    /// What stands there.
    reading: String,
    /// The same at full size, m.
    read: f64,
    /// What the rest of the boat expects, m; nothing of the reading is in it.
    expected: f64,
    /// The same in the hand of the table.
    expected_reading: String,
    /// One standard deviation of a sound reading about `expected`, m.
    sd: f64,
    /// `read - expected` in those.
    misfit: f64,
    /// "high", or "low" where a slip near by would look the same.
    confidence: &'static str,
    /// What the reading may have been, likeliest first.
    suggestions: Vec<Suggestion>,
    /// Where the reading belongs: x, y and z, m; None where that is not known.
    place: Option<(f64, f64, f64)>,
}

#[pymethods]
impl Query {
    fn __repr__(&self) -> String {
        format!(
            "<Query {} {}: {} for {}, {:+.1} sd>",
            self.station, self.row, self.reading, self.expected_reading, self.misfit
        )
    }
}

impl Query {
    fn new(table: &CoreTable, finding: Finding) -> Self {
        let Finding { query, expected_reading, place, suggestions } = finding;
        let (station, row) = table.describe(query.cell);
        let written = |r: &Reading| format!("{}{}", r.written, r.mark.text());
        let suggestions = suggestions.into_iter().map(|s| Suggestion {
            reading: s.reading,
            value: s.value,
            slip: s.slip.to_string(),
            probability: s.probability,
        });
        Query {
            station,
            row,
            reading: table.cell(query.cell).map(written).unwrap_or_default(),
            read: query.read,
            expected: query.expected,
            expected_reading,
            sd: query.sd,
            misfit: query.misfit,
            confidence: if query.confidence == Confidence::High { "high" } else { "low" },
            suggestions: suggestions.collect(),
            place: place.map(|[x, y, z]| (x, y, z)),
        }
    }
}

/// The readings of a table that the rest of the boat contradicts, worst first; what is to be said before any of them,
/// where the table describes no one fair hull; and of stretches of the planking that no reading tells of. Raises `TableError` or `FairingError`.
#[pyfunction]
#[pyo3(signature = (table, *, stiffness = 1.0))]
pub fn proof(py: Python<'_>, table: Py<Table>, stiffness: f64) -> PyResult<(Vec<Query>, Option<String>, Vec<String>)> {
    let options = options(stiffness, true)?;
    let given = table.clone_ref(py);
    let core = table.get().core();
    match patiently(py, move || proof_whole(given.get().core(), &options))? {
        Ok(Proof { no_hull, findings, remarks }) => {
            let queries = findings.into_iter().map(|finding| Query::new(core, finding)).collect();
            Ok((queries, no_hull.map(|none| none.text(core)), remarks))
        }
        Err(ProofError::Mistakes(mistakes)) => Err(table_error(py, &mistakes)),
        Err(ProofError::Fairing(error)) => Err(fairing_error(error)),
    }
}

/// A cell, as its station and its row.
type Named = (String, String);

/// Where a table contradicts itself: what there is to say, and the cells as pairs of station and row, the one
/// most of the others speak against first.
#[pyfunction]
pub fn disagreements(py: Python<'_>, table: &Table) -> PyResult<Vec<(String, Vec<Named>)>> {
    let core = table.core();
    let (survey, _) = core.survey_unsifted().map_err(|mistakes| table_error(py, &mistakes))?;
    let named = |cells: Vec<_>| cells.into_iter().map(|cell| core.describe(cell)).collect();
    Ok(find(core, &survey).into_iter().map(|d| (d.text, named(d.cells))).collect())
}

/// The body plan with queried readings ringed where they belong, and labelled.
#[pyfunction]
#[pyo3(signature = (hull, queries, *, scale = None, units = None))]
pub fn queried_body_plan(
    hull: &Hull,
    queries: Vec<PyRef<'_, Query>>,
    scale: Option<f64>,
    units: Option<&str>,
) -> PyResult<Drawing> {
    let marks = queries.iter().filter_map(|q| {
        let (x, y, z) = q.place?;
        let text = format!("{} {}: {} for {}", q.station, q.row, q.reading, q.expected_reading);
        Some(PlaceMark { at: [x, y, z], text })
    });
    drawn(marked_body_plan(&hull.hull, &marks.collect::<Vec<_>>(), &lines_options(scale, units)?))
}

/// A line with its curvature as ordinates normal to it and its changes of sign marked.
#[pyfunction]
#[pyo3(signature = (curve, name, *, scale = None, units = None))]
pub fn curvature_drawing(
    curve: &Curve,
    name: &str,
    scale: Option<f64>,
    units: Option<&str>,
) -> PyResult<Drawing> {
    drawn(draw_curvature(&curve.curve, name, &lines_options(scale, units)?))
}
