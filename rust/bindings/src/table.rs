//! The table of offsets, for Python.

use std::path::PathBuf;

use pyo3::create_exception;
use pyo3::exceptions::PyTypeError;
use pyo3::prelude::*;
use pyo3::types::{PyBool, PyBytes, PyDict, PyFloat, PyInt, PyList, PyString, PyTuple};
use scrieve_notation::{Length, TwoPart};
use scrieve_offsets::{
    Block, CellId, Draft, EditError, Fact, Facts, Mistake, Mistakes, OpenError, Origin, Page, Place, Profile,
    Remark, Severity, Shrinkage, SparFact, SparTold, Survey, Table as CoreTable, Transom,
};

use crate::error::ScrieveError;
use crate::output::{os_error, write_whole};
use crate::reading::PyReading;

create_exception!(
    scrieve,
    TableError,
    ScrieveError,
    "What is wrong with a table. `.mistakes` has a dict for each mistake: file, line, column, text (what is\n\
     underlined), problem, expected, severity and source_line; it is empty where the fault is not in a file."
);

/// A table of offsets.
#[pyclass(frozen, eq, module = "scrieve")]
#[derive(PartialEq)]
pub struct Table {
    table: CoreTable,
}

impl From<CoreTable> for Table {
    fn from(table: CoreTable) -> Self {
        Table { table }
    }
}

impl Table {
    /// The table.
    pub fn core(&self) -> &CoreTable {
        &self.table
    }

    /// The same in metres. A table that is no hull is a `TableError`.
    pub fn survey(&self) -> PyResult<(Survey, Vec<Remark>)> {
        self.table.survey().map_err(|mistakes| Python::attach(|py| table_error(py, &mistakes)))
    }

    /// The same with readings in it where no section has them.
    pub fn survey_unsifted(&self) -> PyResult<(Survey, Vec<Remark>)> {
        self.table.survey_unsifted().map_err(|mistakes| Python::attach(|py| table_error(py, &mistakes)))
    }
}

/// Reads an `.offsets` file, given by its path or as bytes; `name` stands for the file in messages. Raises
/// TableError with every mistake in it, or OSError.
#[pyfunction]
#[pyo3(signature = (source, name = None))]
pub fn read_offsets(py: Python<'_>, source: &Bound<'_, PyAny>, name: Option<&str>) -> PyResult<Table> {
    if let Ok(bytes) = source.cast::<PyBytes>() {
        let bytes = bytes.as_bytes();
        let table = py.detach(|| scrieve_offsets::read(bytes, name.unwrap_or("<bytes>")));
        return Ok(table.map_err(|mistakes| table_error(py, &mistakes))?.into());
    }
    let path: PathBuf = source.extract()?;
    match py.detach(|| CoreTable::open(&path)) {
        Ok(table) => Ok(table.into()),
        Err(OpenError::Io { path, source }) => Err(os_error(&source, &path)),
        Err(OpenError::Mistakes(mistakes)) => Err(table_error(py, &mistakes)),
    }
}

/// A table from its parts: facts as at the head of a file; pairs of station name and distance from the stem
/// (None on the transom); and triples of block, label and cells, all written as in a file. A point's label
/// is its station, its cells a height and a half-breadth. `name` stands for the file in messages, which
/// speak of the text that `to_text` gives; or of the page it was read from, where that is given: a dict of its
/// `file`, its `lines`, places `stations` (a pair for each) and `rows` (that of the label, and those of the cells),
/// each (line, column, text) or None, `mappings`, pairs of file and text where the facts stand, and `notes`, what else
/// was done with the page. Raises TableError.
#[pyfunction]
#[pyo3(signature = (facts, stations, rows, name = "<rows>", page = None))]
pub fn table_from_rows(
    py: Python<'_>,
    facts: &Bound<'_, PyDict>,
    stations: Vec<(String, Option<String>)>,
    rows: Vec<(String, String, Vec<Option<String>>)>,
    name: &str,
    page: Option<&Bound<'_, PyDict>>,
) -> PyResult<Table> {
    let stations = stations.into_iter().map(|(name, x)| (name, x.unwrap_or_default())).collect();
    let rows = rows
        .into_iter()
        .map(|(block, label, cells)| {
            let cells = cells.into_iter().map(Option::unwrap_or_default).collect();
            Ok((block_named(&block)?, label, cells))
        })
        .collect::<PyResult<_>>()?;
    let page = page.map(page_from).transpose()?;
    let draft = Draft { facts: facts_from(facts)?, stations, rows, page };
    let table = py.detach(|| draft.table(name));
    Ok(table.map_err(|mistakes| table_error(py, &mistakes))?.into())
}

/// Line, column and text of a cell of a page.
type Where = Option<(usize, usize, String)>;

fn page_from(page: &Bound<'_, PyDict>) -> PyResult<Page> {
    let part =
        |key: &str| page.get_item(key)?.ok_or_else(|| PyTypeError::new_err(format!("a page has no `{key}`")));
    let origin = |place: Where| {
        place.map(|(line, column, text)| Origin { line: line.max(1), column: column.max(1), text })
    };
    let stations: Vec<(Where, Where)> = part("stations")?.extract()?;
    let rows: Vec<(Where, Vec<Where>)> = part("rows")?.extract()?;
    Ok(Page {
        file: part("file")?.extract()?,
        lines: part("lines")?.extract()?,
        stations: stations.into_iter().map(|(name, x)| [origin(name), origin(x)]).collect(),
        rows: rows
            .into_iter()
            .map(|(label, cells)| (origin(label), cells.into_iter().map(origin).collect()))
            .collect(),
        mappings: part("mappings")?.extract()?,
        notes: part("notes")?.extract()?,
    })
}

#[pymethods]
impl Table {
    /// The boat's name.
    #[getter]
    fn name(&self) -> &str {
        &self.table.facts.name
    }

    /// The file it was read from, as given.
    #[getter]
    fn file(&self) -> &str {
        self.table.file_name()
    }

    /// The head of the file: plain values; lengths in metres at full size. What is missing is absent.
    #[getter]
    fn facts<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        facts_dict(py, &self.table.facts, self.table.transom.as_ref())
    }

    /// Names of the stations, in order.
    #[getter]
    fn stations(&self) -> Vec<&str> {
        self.table.stations.iter().map(|s| s.name.as_str()).collect()
    }

    /// Distance of each station aft of the forward end, m at full size; None for the transom.
    #[getter]
    fn station_x(&self) -> Vec<Option<f64>> {
        let (along, ..) = self.table.facts.factors();
        let stations = self.table.stations.iter().map(|s| s.from_stem.as_ref());
        stations.map(|x| x.map(|x| x.length.metres() * along)).collect()
    }

    /// Block and label of each row, in file order.
    #[getter]
    fn rows(&self) -> Vec<(&'static str, &str)> {
        self.table.rows.iter().map(|row| (row.block.heading(), row.label.as_str())).collect()
    }

    /// The readings of each row as written, marks included; None where there is none.
    #[getter]
    fn grid(&self) -> Vec<Vec<Option<String>>> {
        let written = |cell: &Option<scrieve_notation::Reading>| {
            cell.as_ref().map(|r| format!("{}{}", r.written, r.mark.text()))
        };
        self.table.rows.iter().map(|row| row.cells.iter().map(written).collect()).collect()
    }

    /// Each row as reports name it, in file order.
    #[getter]
    fn row_names(&self) -> Vec<String> {
        (0..self.table.rows.len()).map(|row| self.table.row_name(row)).collect()
    }

    /// The readings of each row, m at full size; None where there is none. Those of blanks whose meaning the file says
    /// are among them.
    #[getter]
    fn metres(&self) -> Vec<Vec<Option<f64>>> {
        let rows = self.table.rows.iter().enumerate();
        rows.map(|(row, r)| {
            let cells = r.cells.iter().enumerate();
            cells
                .map(|(column, reading)| {
                    let cell = CellId { block: r.block, row, column };
                    reading.as_ref().map(|reading| reading.length.metres() * self.table.factor(cell))
                })
                .collect()
        })
        .collect()
    }

    /// The cells of each row as they are printed on the page the table was read from, in file order; None where there
    /// is no such page.
    #[getter]
    fn printed(&self) -> Option<Vec<Vec<Option<String>>>> {
        let page = self.table.page()?;
        let text = |cell: &'_ Option<Origin>| cell.as_ref().map(|origin| origin.text.clone());
        Some(page.rows.iter().map(|(_, cells)| cells.iter().map(text).collect()).collect())
    }

    /// What else was done with the page the table was read from: lines taken for notes, columns left alone.
    #[getter]
    fn page_notes(&self) -> Vec<&str> {
        self.table.page().map_or(Vec::new(), |page| page.notes.iter().map(String::as_str).collect())
    }

    /// Empty cells whose meaning the file says: station, row as reports name it, and the meaning.
    #[getter]
    fn blanks(&self) -> Vec<(String, String, &'static str)> {
        let told = self.table.blanks.iter();
        told.map(|(cell, blank)| {
            let (station, row) = self.table.describe(*cell);
            (station, row, blank.word())
        })
        .collect()
    }

    /// Empty cells of which nothing says what they mean: each row as reports name it, and the stations.
    #[getter]
    fn blanks_untold(&self) -> Vec<(String, Vec<String>)> {
        let name = |column: usize| self.table.stations[column].name.clone();
        let rows = self.table.blanks_untold().into_iter();
        rows.map(|(row, columns)| (self.table.row_name(row), columns.into_iter().map(name).collect()))
            .collect()
    }

    /// Ends of the boat that nothing tells of, a sentence each.
    #[getter]
    fn open_ends(&self) -> Vec<String> {
        self.table.open_ends()
    }

    /// Spots of the profiles by their blocks, `stem profile` and `stern profile`: distance aft of the forward end and
    /// height, m at full size, each None where it is not read.
    #[getter]
    #[allow(clippy::type_complexity)]
    fn profiles(&self) -> Vec<(&'static str, Vec<(Option<f64>, Option<f64>)>)> {
        let (along, _, up) = self.table.facts.factors();
        let spots = |profile: &Profile| {
            let both = profile.from_stem.iter().zip(&profile.height);
            both.map(|(x, z)| {
                let metres =
                    |r: &Option<scrieve_notation::Reading>, f: f64| r.as_ref().map(|r| r.length.metres() * f);
                (metres(x, along), metres(z, up))
            })
            .collect()
        };
        let profiles = [(Block::StemProfile, &self.table.stem), (Block::SternProfile, &self.table.stern)];
        let told = profiles.into_iter().filter_map(|(block, profile)| Some((block, profile.as_ref()?)));
        told.map(|(block, profile)| (block.heading(), spots(profile))).collect()
    }

    /// Diagonals by name: height where each leaves the centreline, m at full size, and degrees it falls below the level.
    #[getter]
    fn diagonals(&self) -> Vec<(String, f64, f64)> {
        let (_, across, up) = self.table.facts.factors();
        let all = self.table.diagonals.iter();
        all.map(|d| {
            let drop = (d.centreline_height.metres() - d.through_height.metres()) * up;
            let angle = drop.atan2(d.through_half_breadth.metres() * across).to_degrees();
            (d.name.clone(), d.centreline_height.metres() * up, angle)
        })
        .collect()
    }

    /// What looked odd when the table was read, each with its line underlined.
    #[getter]
    fn warnings(&self) -> Vec<String> {
        self.table.warnings().iter().map(ToString::to_string).collect()
    }

    /// What is assumed or left out where a hull is made of the table. Raises TableError where none can be.
    #[getter]
    fn remarks(&self) -> PyResult<Vec<String>> {
        let (_, remarks) = self.survey()?;
        Ok(remarks.into_iter().map(|remark| remark.text).collect())
    }

    /// How finely her readings were taken, where the table itself tells that they were taken less finely than they are
    /// written. Raises TableError where no hull can be made of it.
    #[getter]
    fn worth(&self) -> PyResult<Vec<String>> {
        let (_, remarks) = self.survey()?;
        Ok(remarks.into_iter().filter(|remark| remark.of_worth).map(|remark| remark.text).collect())
    }

    /// The lines under `[corrections]`.
    #[getter]
    fn corrections(&self) -> Vec<&str> {
        self.table.corrections.iter().map(String::as_str).collect()
    }

    /// The reading at a station in a row; None where there is none. Raises TableError where there is no such
    /// station or row.
    fn reading(&self, station: &str, row: &str) -> PyResult<Option<PyReading>> {
        let cell = self.table.expect(station, row).map_err(|e| TableError::new_err(e.to_string()))?;
        let dialect = &self.table.facts.dialect;
        Ok(self.table.cell(cell).map(|reading| PyReading::new(reading.clone(), dialect)))
    }

    /// The table with one reading replaced and nothing else touched. Raises TableError.
    fn with_reading(&self, py: Python<'_>, station: &str, row: &str, reading: &str) -> PyResult<Table> {
        let edited = self.table.with_reading(station, row, reading);
        Ok(edited.map_err(|error| edit_error(py, &error))?.into())
    }

    /// The table with one reading replaced, and a line under `[corrections]` that keeps the old one and says
    /// why. Raises TableError.
    fn with_correction(
        &self,
        py: Python<'_>,
        station: &str,
        row: &str,
        reading: &str,
        reason: &str,
    ) -> PyResult<Table> {
        let edited = self.table.with_correction(station, row, reading, reason);
        Ok(edited.map_err(|error| edit_error(py, &error))?.into())
    }

    /// The text of the file: what was read, to the letter, but for what has been replaced.
    fn to_text(&self) -> &str {
        self.table.to_text()
    }

    /// Writes the file, whole or not at all. Raises ScrieveError where it is an input, OSError.
    fn write(&self, py: Python<'_>, path: PathBuf) -> PyResult<()> {
        write_whole(py, path, self.table.to_text().as_bytes())
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<(Bound<'py, PyAny>, Bound<'py, PyTuple>)> {
        let read = py.import("scrieve._core")?.getattr("read_offsets")?;
        let text = PyBytes::new(py, self.table.to_text().as_bytes());
        Ok((read, (text, self.table.file_name()).into_pyobject(py)?))
    }

    fn __repr__(&self) -> String {
        let (rows, stations) = (self.table.rows.len(), self.table.stations.len());
        format!("<Table '{}': {rows} rows at {stations} stations>", self.table.facts.name)
    }
}

/// The mistakes of a table as a Python error.
pub fn table_error(py: Python<'_>, mistakes: &Mistakes) -> PyErr {
    let error = TableError::new_err(mistakes.to_string());
    let list = mistakes.iter().map(|m| mistake_dict(py, m)).collect::<PyResult<Vec<_>>>();
    let value = error.value(py);
    let set = list.and_then(|list| value.setattr("mistakes", list)).and_then(|()| {
        // What a person mends first.
        let Some(first) = mistakes.iter().find(|m| m.severity == Severity::Error) else { return Ok(()) };
        value.setattr("what", &first.problem)?;
        value.setattr("where", (&first.file, first.line, first.column))?;
        value.setattr("remedy", &first.expected)
    });
    set.map_or_else(|failed| failed, |()| error)
}

/// An edit that cannot be made, as Python sees it.
pub fn edit_error(py: Python<'_>, error: &EditError) -> PyErr {
    if let EditError::Mistakes(mistakes) = error {
        return table_error(py, mistakes);
    }
    let raised = TableError::new_err(error.to_string());
    let set = raised.value(py).setattr("mistakes", PyList::empty(py));
    set.map_or_else(|failed| failed, |()| raised)
}

fn mistake_dict<'py>(py: Python<'py>, mistake: &Mistake) -> PyResult<Bound<'py, PyDict>> {
    let dict = PyDict::new(py);
    dict.set_item("file", &mistake.file)?;
    dict.set_item("line", mistake.line)?;
    dict.set_item("column", mistake.column)?;
    dict.set_item("text", &mistake.text)?;
    dict.set_item("problem", &mistake.problem)?;
    dict.set_item("expected", &mistake.expected)?;
    dict.set_item("severity", if mistake.severity == Severity::Error { "error" } else { "warning" })?;
    dict.set_item("source_line", &mistake.source_line)?;
    Ok(dict)
}

fn block_named(name: &str) -> PyResult<Block> {
    Block::ALL.into_iter().find(|block| block.heading() == name).ok_or_else(|| {
        let names = Block::ALL.map(Block::heading).join(", ");
        TableError::new_err(format!("no block is called '{name}': expected one of {names}"))
    })
}

fn facts_from(facts: &Bound<'_, PyDict>) -> PyResult<Vec<(String, Fact)>> {
    let mut list = Vec::new();
    for (key, value) in facts {
        if !value.is_none() {
            list.push((key.extract()?, fact_from(&value)?));
        }
    }
    Ok(list)
}

fn fact_from(value: &Bound<'_, PyAny>) -> PyResult<Fact> {
    Ok(if let Ok(text) = value.cast::<PyString>() {
        Fact::Text(text.to_string())
    } else if value.is_instance_of::<PyBool>() {
        Fact::Truth(value.extract()?)
    } else if value.is_instance_of::<PyInt>() {
        let too_large = |_| TableError::new_err(format!("a fact of {value} is larger than any that is read"));
        Fact::Whole(value.extract().map_err(too_large)?)
    } else if value.is_instance_of::<PyFloat>() {
        Fact::Number(value.extract()?)
    } else if let Ok(facts) = value.cast::<PyDict>() {
        Fact::Table(facts_from(facts)?)
    } else if value.is_instance_of::<PyList>() || value.is_instance_of::<PyTuple>() {
        Fact::List(value.try_iter()?.map(|item| fact_from(&item?)).collect::<PyResult<_>>()?)
    } else if value.is_instance_of::<PyReading>() || value.hasattr("isoformat")? {
        Fact::Text(value.str()?.to_string())
    } else {
        let what = value.get_type().name()?;
        return Err(PyTypeError::new_err(format!(
            "a fact cannot be of type {what}: expected text or a number"
        )));
    })
}

fn facts_dict<'py>(
    py: Python<'py>,
    facts: &Facts,
    transom: Option<&Transom>,
) -> PyResult<Bound<'py, PyDict>> {
    let dict = PyDict::new(py);
    let (_, _, up) = facts.factors();
    let text = |key: &str, value: Option<&str>| value.map_or(Ok(()), |value| dict.set_item(key, value));
    let metres = |key: &str, value: Option<Length>, factor: f64| {
        value.map_or(Ok(()), |value| dict.set_item(key, value.metres() * factor))
    };
    text("name", Some(&facts.name))?;
    text("builder", facts.builder.as_deref())?;
    text("designer", facts.designer.as_deref())?;
    text("dated", facts.dated.as_deref())?;
    if let Some(span) = facts.year_span {
        dict.set_item("year_span", span)?;
    }
    if !facts.assumed.is_empty() {
        dict.set_item("assumed", &facts.assumed)?;
    }
    let ends = facts.assumed_ends();
    if !ends.is_empty() {
        dict.set_item("ends_assumed", ends.join(", "))?;
    }
    if let Some(year) = facts.year {
        dict.set_item("year", year)?;
    }
    text("place", facts.place.as_deref())?;
    text("kind", facts.kind.as_deref())?;
    text("source", facts.source.as_deref())?;
    text("units", Some(facts.dialect.units.name()))?;
    text("two_part", facts.dialect.two_part.map(TwoPart::name))?;
    dict.set_item("scale", facts.scale)?;
    if facts.shrinkage != Shrinkage::default() {
        let entry = PyDict::new(py);
        entry.set_item("length", facts.shrinkage.length)?;
        entry.set_item("breadth", facts.shrinkage.breadth)?;
        entry.set_item("height", facts.shrinkage.height)?;
        dict.set_item("shrinkage", entry)?;
    }
    text("moulded_to", Some(if facts.to_inside { "inside of planking" } else { "outside of planking" }))?;
    metres("planking", facts.planking, 1.0)?;
    metres("tolerance", facts.tolerance, facts.scale)?;
    metres("half_siding", facts.half_siding, 1.0)?;
    metres("load_waterline", facts.load_waterline, up)?;
    for (key, mass) in [("boat_kg", facts.boat_kg), ("crew_kg", facts.crew_kg)] {
        if let Some(mass) = mass {
            dict.set_item(key, mass)?;
        }
    }
    if let Some(transom) = transom {
        let plane = transom.full_size(facts);
        let entry = PyDict::new(py);
        entry.set_item("foot", plane.foot)?;
        entry.set_item("head", plane.head)?;
        entry.set_item("curve_radius", plane.curve_radius)?;
        dict.set_item("transom", entry)?;
    }
    if let Some((x, z)) = facts.boat_centre {
        dict.set_item("boat_centre", (x.metres(), z.metres()))?;
    }
    for (key, weights) in [("crew", &facts.crew), ("loads", &facts.loads)] {
        if weights.is_empty() {
            continue;
        }
        let all = PyDict::new(py);
        for one in weights {
            let place = |p: &Place| (p.from_stem.metres(), p.out.metres(), p.height.metres());
            let entry = PyDict::new(py);
            entry.set_item("kg", one.kg)?;
            entry.set_item("places", one.places.iter().map(place).collect::<Vec<_>>())?;
            all.set_item(&one.name, entry)?;
        }
        dict.set_item(key, all)?;
    }
    let sails = facts.sails.iter().map(|sail| (&sail.name, &sail.corners));
    let lateral = facts.lateral.iter().map(|part| (&part.name, &part.corners));
    for (key, areas) in [("sails", sails.collect::<Vec<_>>()), ("lateral", lateral.collect())] {
        if areas.is_empty() {
            continue;
        }
        let all = PyDict::new(py);
        for (name, corners) in areas {
            let corners = corners.iter().map(|(x, z)| (x.metres(), z.metres())).collect::<Vec<_>>();
            all.set_item(name, corners)?;
        }
        dict.set_item(key, all)?;
    }
    let rigs = facts.rigs();
    if !rigs.is_empty() {
        let all = PyDict::new(py);
        for (rig, sails) in rigs {
            all.set_item(rig, sails.iter().map(|sail| sail.name.as_str()).collect::<Vec<_>>())?;
        }
        dict.set_item("rigs", all)?;
    }
    if !facts.spars.is_empty() {
        let all = PyDict::new(py);
        for spar in &facts.spars {
            all.set_item(&spar.name, spar_to_py(py, spar)?)?;
        }
        dict.set_item("spars", all)?;
    }
    if !facts.extra.is_empty() {
        dict.set_item("extra", table_to_py(py, &facts.extra)?)?;
    }
    Ok(dict)
}

fn spar_to_py<'py>(py: Python<'py>, spar: &SparTold) -> PyResult<Bound<'py, PyDict>> {
    let dict = PyDict::new(py);
    let metres = |lengths: &[Length]| lengths.iter().map(|l| l.metres()).collect::<Vec<f64>>();
    for (key, fact) in &spar.facts {
        match fact {
            SparFact::Text(text) => dict.set_item(key, text)?,
            SparFact::Number(number) => dict.set_item(key, number)?,
            SparFact::Length(length) => dict.set_item(key, length.metres())?,
            SparFact::Lengths(lengths) => dict.set_item(key, metres(lengths))?,
            SparFact::Parts(parts) => dict.set_item(key, parts.clone())?,
            SparFact::Walls(walls) => {
                let walls = walls.iter().map(|(s, wall)| (*s, wall.metres()));
                dict.set_item(key, walls.collect::<Vec<_>>())?;
            }
            SparFact::Marks(marks) => {
                let all = PyDict::new(py);
                for (name, at) in marks {
                    all.set_item(name, metres(at))?;
                }
                dict.set_item(key, all)?;
            }
        }
    }
    Ok(dict)
}

fn table_to_py<'py>(py: Python<'py>, facts: &[(String, Fact)]) -> PyResult<Bound<'py, PyDict>> {
    let dict = PyDict::new(py);
    for (key, fact) in facts {
        dict.set_item(key, fact_to_py(py, fact)?)?;
    }
    Ok(dict)
}

fn fact_to_py<'py>(py: Python<'py>, fact: &Fact) -> PyResult<Bound<'py, PyAny>> {
    Ok(match fact {
        Fact::Text(text) => PyString::new(py, text).into_any(),
        Fact::Whole(n) => n.into_pyobject(py)?.into_any(),
        Fact::Number(n) => n.into_pyobject(py)?.into_any(),
        Fact::Truth(b) => PyBool::new(py, *b).to_owned().into_any(),
        Fact::List(list) => {
            let list = list.iter().map(|fact| fact_to_py(py, fact)).collect::<PyResult<Vec<_>>>()?;
            PyList::new(py, list)?.into_any()
        }
        Fact::Table(facts) => table_to_py(py, facts)?.into_any(),
    })
}
