//! Proofreading, for Python.

use pyo3::prelude::*;
use scrieve_drawing::lines::{PlaceMark, curvature_drawing as draw_curvature, marked_body_plan};
use scrieve_fairing::{
    Confidence, Finding, FoundSlip, Proof, ProofError, disagreements as find, proof_whole,
};
use scrieve_notation::Reading;
use scrieve_offsets::{Row, Table as CoreTable, Written};

use crate::drawing::Drawing;
use crate::hull::{Curve, Hull, fairing_error, options};
use crate::loft::{drawn, lines_options};
use crate::patience::patiently;
use crate::table::{Table, TableError, edit_error, table_error};

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
    /// The slip of the whole that explains it, in words; None where it stands by itself.
    explained_by: Option<String>,
}

/// A piece of a table's file as a person finds it: file, line, column, what stands there, what is to.
type Edit = (String, usize, usize, String, String);

/// A slip of a whole row, column or block of a table.
#[pyclass(frozen, module = "scrieve")]
pub struct WholeSlip {
    /// Its kind: "heading", "row shifted", "rows exchanged" and the like.
    #[pyo3(get)]
    kind: &'static str,
    /// What it is, in words.
    #[pyo3(get)]
    text: String,
    /// What to write where to put it right, in words.
    #[pyo3(get)]
    offer: String,
    /// The same: file, line, column, what stands there, what is to.
    #[pyo3(get)]
    edits: Vec<Edit>,
    /// How many queries it explains.
    #[pyo3(get)]
    explains: usize,
    /// The log of how much likelier the table is with it put right.
    #[pyo3(get)]
    gain: f64,
    /// Why it is only named and not put right; None where it can be.
    #[pyo3(get)]
    unsure: Option<String>,
    /// Pieces of the file, what stands there, and what is to.
    pieces: Vec<(Written, String, String)>,
    /// The readings it was found among.
    among: Vec<Row>,
}

#[pymethods]
impl WholeSlip {
    /// A table with it put right, and a line under `[corrections]` that says so. Raises `TableError` where it is
    /// not the table it was found in.
    fn put_right(&self, py: Python<'_>, table: &Table) -> PyResult<Table> {
        let core = table.core();
        if let Some(why) = &self.unsure {
            return Err(TableError::new_err(format!(
                "\"{}\" is not put right: {why}; look at the page",
                self.text
            )));
        }
        for (at, was, _) in &self.pieces {
            let there = core.written_at(*at).unwrap_or_default();
            if there != was {
                return Err(TableError::new_err(format!(
                    "\"{}\" was not found in this table: `{there}` stands where `{was}` did",
                    self.text
                )));
            }
        }
        if core.rows != self.among {
            return Err(TableError::new_err(format!(
                "\"{}\" was not found in this table: its readings are others",
                self.text
            )));
        }
        let edits: Vec<(Written, String)> = self.pieces.iter().map(|p| (p.0, p.2.clone())).collect();
        Ok(core.put_right(&edits, &self.text).map_err(|error| edit_error(py, &error))?.into())
    }

    fn __repr__(&self) -> String {
        format!("<WholeSlip {}>", self.text)
    }
}

impl WholeSlip {
    /// One found in a table.
    fn new(table: &CoreTable, found: &FoundSlip) -> Self {
        let was = |at: Written| table.written_at(at).unwrap_or_default().to_owned();
        let sure = if found.unsure.is_none() { &found.edits[..] } else { &[] };
        let edits = sure.iter().filter_map(|(at, new)| {
            let (file, line, column) = table.place(*at)?;
            Some((file, line, column, was(*at), new.clone()))
        });
        WholeSlip {
            kind: found.slip.name(),
            text: found.text.clone(),
            offer: found.offer.clone(),
            edits: edits.collect(),
            explains: found.explains.len(),
            gain: found.gain,
            unsure: found.unsure.clone(),
            among: table.rows.clone(),
            pieces: sure.iter().map(|(at, new)| (*at, was(*at), new.clone())).collect(),
        }
    }
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
    pub(crate) fn new(table: &CoreTable, finding: Finding, slips: &[FoundSlip]) -> Self {
        let Finding { query, expected_reading, place, suggestions, explained_by } = finding;
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
            explained_by: explained_by.and_then(|i| slips.get(i)).map(|slip| slip.text.clone()),
        }
    }
}

/// Queries, slips of the whole, that the table is no one hull, remarks, and what is not judged.
type Proofread = (Vec<Query>, Vec<WholeSlip>, Option<String>, Vec<String>, Vec<String>);

/// The readings of a table that the rest of the boat contradicts, worst first; slips of the whole; what is to be said before
/// any of them, where the table describes no one fair hull; of stretches of the planking that no reading tells of; and facts that
/// no reading tells again.
/// Raises `TableError` or `FairingError`.
#[pyfunction]
#[pyo3(signature = (table, *, stiffness = 1.0))]
pub fn proof(py: Python<'_>, table: Py<Table>, stiffness: f64) -> PyResult<Proofread> {
    let options = options(stiffness, true)?;
    let given = table.clone_ref(py);
    let core = table.get().core();
    match patiently(py, move || proof_whole(given.get().core(), &options))? {
        Ok(Proof { no_hull, slips, findings, remarks, not_judged }) => {
            let queries = findings.into_iter().map(|finding| Query::new(core, finding, &slips)).collect();
            // Each was found with those before it put right.
            let tables = std::iter::once(core).chain(slips.iter().map(|slip| &slip.table));
            let of_whole = tables.zip(&slips).map(|(table, slip)| WholeSlip::new(table, slip)).collect();
            Ok((queries, of_whole, no_hull.map(|none| none.text(core)), remarks, not_judged))
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
    drawn(marked_body_plan(&hull.boat, &marks.collect::<Vec<_>>(), &lines_options(scale, units, None)?))
}

/// A line with its curvature as ordinates normal to it and its changes of sign marked.
#[pyfunction]
#[pyo3(signature = (curve, name, *, scale = None, units = None, sheet_mm = None))]
pub fn curvature_drawing(
    curve: &Curve,
    name: &str,
    scale: Option<f64>,
    units: Option<&str>,
    sheet_mm: Option<(f64, f64)>,
) -> PyResult<Drawing> {
    drawn(draw_curvature(&curve.curve, name, &lines_options(scale, units, sheet_mm)?))
}
