//! The faired hull and its curves, for Python.

use std::sync::OnceLock;

use numpy::{PyArray1, PyArray2, PyArray3, PyArrayMethods};
use pyo3::create_exception;
use pyo3::exceptions::PyValueError;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use scrieve_fairing::{FairingError as CoreFairingError, Options, findings};
use scrieve_hull::{Boat, Curve as CoreCurve, HullError as CoreHullError, Plane, Planking, Sample};
use scrieve_notation::{Precision, Units};
use scrieve_offsets::Tolerance;

use crate::error::ScrieveError;
use crate::patience::patiently;
use crate::proof::Query;
use crate::reading::known;
use crate::table::{Table, edit_error, table_error};

create_exception!(
    scrieve,
    FairingError,
    ScrieveError,
    "A table that cannot be faired; the message says what would do."
);
create_exception!(scrieve, HullError, ScrieveError, "A question the hull has no answer to.");

pub(crate) fn fairing_error(error: CoreFairingError) -> PyErr {
    FairingError::new_err(error.to_string())
}

pub(crate) fn hull_error(error: CoreHullError) -> PyErr {
    HullError::new_err(error.to_string())
}

/// Points of one curve at most: a point to the micrometre on the longest ship.
const MOST_POINTS: i64 = 10_000_000;

/// A number of points of a curve.
fn several(n: i64) -> PyResult<usize> {
    usize::try_from(n).ok().filter(|_| (2..=MOST_POINTS).contains(&n)).ok_or_else(|| {
        PyValueError::new_err(format!("a curve has two ends: expected 2 to {MOST_POINTS} points, got {n}"))
    })
}

/// Points of one grid at most: 240 MB of them.
const MOST_GRID: usize = 10_000_000;

/// Whether there can be a grid of so many lines each way on every strake.
pub(crate) fn check_grid(n_u: usize, n_v: usize, strakes: usize) -> PyResult<()> {
    if n_u < 2 || n_v < 2 {
        return Err(PyValueError::new_err(format!(
            "a grid has 2 lines or more each way, got {n_u} by {n_v}"
        )));
    }
    let fits = n_u.checked_mul(n_v).and_then(|n| n.checked_mul(strakes)).is_some_and(|n| n <= MOST_GRID);
    fits.then_some(()).ok_or_else(|| {
        PyValueError::new_err(format!(
            "a grid of {n_u} by {n_v} is more than the {MOST_GRID} points one may have"
        ))
    })
}

/// A curve on the hull, or parallel to it.
#[pyclass(frozen, module = "scrieve")]
pub struct Curve {
    pub(crate) curve: CoreCurve,
}

#[pymethods]
impl Curve {
    /// `n` points equally spaced along the curve, ends included: an (n, 3) array of x, y, z in metres.
    fn points<'py>(&self, py: Python<'py>, n: i64) -> PyResult<Bound<'py, PyArray2<f64>>> {
        array(py, &self.curve.points(several(n)?))
    }

    /// Length, m.
    #[getter]
    fn length(&self) -> f64 {
        self.curve.length()
    }

    /// Curvature at the same points as `points`, 1/m: positive where the curve turns left as drawn.
    fn curvature<'py>(&self, py: Python<'py>, n: i64) -> PyResult<Bound<'py, PyArray1<f64>>> {
        let n = several(n)?;
        let at =
            |i: usize| self.curve.at_fraction(i as f64 / (n - 1) as f64).map_or(f64::NAN, |s| s.curvature);
        Ok(PyArray1::from_vec(py, (0..n).map(at).collect()))
    }

    /// Corners, such as chines: an (k, 3) array, m.
    #[getter]
    fn corners<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyArray2<f64>>> {
        let corners: Vec<_> =
            self.curve.pieces.windows(2).filter_map(|pair| pair[1].first()).map(|sample| sample.p).collect();
        array(py, &corners)
    }

    /// The path in its own plane as SVG path data, in millimetres, y up.
    fn path_data(&self) -> String {
        (kurbo::Affine::scale(1e3) * self.curve.path()).to_svg()
    }

    /// Bounds in its own plane: left, bottom, right, top, m.
    fn bounds(&self) -> (f64, f64, f64, f64) {
        let b = kurbo::Shape::bounding_box(&self.curve.path());
        (b.x0, b.y0, b.x1, b.y1)
    }

    fn __repr__(&self) -> String {
        format!("<Curve of {:.3} m>", self.curve.length())
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<(Bound<'py, PyAny>, Pickled)> {
        let plane = self.curve.plane;
        let flat = |s: &Sample| (s.p, s.tangent, s.normal, s.curvature);
        let pieces = self.curve.pieces.iter().map(|piece| piece.iter().map(flat).collect()).collect();
        let again = py.import("scrieve._core")?.getattr("curve_of")?;
        Ok((again, ([plane.origin, plane.right, plane.up], pieces)))
    }
}

/// Origin, right and up of a plane.
type Axes = [[f64; 3]; 3];

/// A sample of a curve: position, tangent, normal, curvature.
type Flat = ([f64; 3], [f64; 3], [f64; 3], f64);

/// A curve as it is pickled: its plane, and the samples of each piece.
type Pickled = (Axes, Vec<Vec<Flat>>);

/// The curve of those samples, a list a piece, drawn in the plane of that origin and those axes: as one is pickled.
#[pyfunction]
pub fn curve_of(plane: Axes, pieces: Vec<Vec<Flat>>) -> Curve {
    let [origin, right, up] = plane;
    let sample = |(p, tangent, normal, curvature): Flat| Sample { p, tangent, normal, curvature };
    let pieces = pieces.into_iter().map(|piece| piece.into_iter().map(sample).collect()).collect();
    CoreCurve { plane: Plane { origin, right, up }, pieces }.into()
}

impl From<CoreCurve> for Curve {
    fn from(curve: CoreCurve) -> Self {
        Curve { curve }
    }
}

fn array<'py>(py: Python<'py>, points: &[[f64; 3]]) -> PyResult<Bound<'py, PyArray2<f64>>> {
    let flat: Vec<f64> = points.iter().flatten().copied().collect();
    let flat = PyArray1::from_vec(py, flat);
    flat.call_method1("reshape", (points.len(), 3))?.cast_into().map_err(Into::into)
}

/// A hull faired from a table of offsets.
#[pyclass(frozen, module = "scrieve")]
pub struct Hull {
    pub(crate) boat: Boat,
    pub(crate) remarks: Vec<String>,
    /// That the table describes no one fair hull, and where to begin, if so.
    pub(crate) no_hull: Option<String>,
    /// Slips of the whole in her table, which remarks name too.
    pub(crate) whole_slips: Vec<String>,
    /// Set when it was first asked how sure she is: that is reckoned once, and takes a while.
    pub(crate) is_weighed: OnceLock<()>,
    /// What her table says against itself.
    pub(crate) against: Vec<String>,
}

/// Stiffnesses a batten can have, in those the readings call for: past the lesser it would be a string, past the
/// greater a bar, and nothing is told of the boat.
const STIFFNESSES: std::ops::RangeInclusive<f64> = 1e-3..=1e3;

/// The options of a fit. Raises `FairingError`.
pub(crate) fn options(stiffness: f64, robust: bool) -> PyResult<Options> {
    if STIFFNESSES.contains(&stiffness) {
        return Ok(Options { stiffness, robust });
    }
    let (least, most) = (STIFFNESSES.start(), STIFFNESSES.end());
    Err(FairingError::new_err(format!("stiffness must be a number from {least} to {most}, got {stiffness}")))
}

/// Fairs a table. `tolerance` is a list of station (or None), row (or None) and metres, as `Table.fair` takes
/// them; with `previous`, a hull of nearly the same table, its solution is the start. Raises `FairingError`, or
/// `TableError` where the table itself is at fault.
#[pyfunction]
#[pyo3(signature = (table, *, stiffness = 1.0, robust = true, tolerance = Vec::new(), previous = None))]
pub fn fair(
    py: Python<'_>,
    table: &Table,
    stiffness: f64,
    robust: bool,
    tolerance: Vec<(Option<String>, Option<String>, f64)>,
    previous: Option<Py<Hull>>,
) -> PyResult<Hull> {
    let options = options(stiffness, robust)?;
    let tolerance: Vec<Tolerance> = tolerance
        .into_iter()
        .map(|given| match given {
            (Some(station), Some(row), metres) => Tolerance::Reading(station, row, metres),
            (_, Some(row), metres) => Tolerance::Row(row, metres),
            (_, None, metres) => Tolerance::All(metres),
        })
        .collect();
    // Judged as proof judges: what no section has is not left out beforehand, for the sheer or the rabbet may be what is
    // wrong there.
    let (survey, remarks) = if robust { table.survey_unsifted()? } else { table.survey()? };
    let apart = scrieve_fairing::facts_apart(table.core(), &survey);
    // As proofreading says it; with every reading trusted nothing is held against one.
    let against: Vec<String> = if robust {
        scrieve_fairing::disagreements(table.core(), &survey).into_iter().map(|d| d.text).collect()
    } else {
        Vec::new()
    };
    let told = tolerance.iter().any(|given| matches!(given, Tolerance::All(_)));
    let survey = survey.within(table.core(), &tolerance).map_err(|error| edit_error(py, &error))?;
    // With every reading trusted, a whole row is too.
    let whole = robust.then(|| table.core().clone());
    let again = previous.is_some();
    let (survey, faired, slips, none) = patiently(py, move || {
        let faired = match previous {
            Some(previous) => scrieve_fairing::fair_again(&survey, &options, previous.get().boat.faired()),
            None => scrieve_fairing::fair(&survey, &options),
        };
        let judging = Options { stiffness: 1.0, ..options.clone() };
        let (slips, none) = match &whole {
            Some(table) if tolerance.is_empty() && !again => {
                scrieve_fairing::beyond_readings(table, &survey, faired.as_ref(), &judging)
            }
            Some(table) => {
                scrieve_fairing::beyond_readings_within(table, &survey, &tolerance, faired.as_ref(), &judging)
            }
            None => (Vec::new(), scrieve_fairing::no_hull(&survey, &options, faired.as_ref())),
        };
        (survey, faired, slips, none)
    })?;
    let faired = faired.map_err(|error| fairing_error(error.beginning_with(none.as_ref(), table.core())))?;
    let no_hull = none.map(|none| none.text(table.core()));
    let whole_slips: Vec<String> =
        slips.iter().map(|slip| format!("{}; {}", slip.said(), slip.how())).collect();
    let of_slips = slips
        .iter()
        .map(|slip| format!("{}; she is faired by the table as it stands: {}", slip.said(), slip.how()));
    let remarks = of_slips
        .chain(no_hull.iter().cloned())
        .chain(remarks.into_iter().filter(|r| !(r.of_worth && told)).map(|r| r.text))
        .chain(faired.remarks.iter().cloned())
        .chain(apart.into_iter().map(|d| d.text))
        .chain(faired.unsure_remarks(table.core()))
        .collect::<Vec<_>>();
    let survey = faired.facts_taken(&survey);
    let boat = Boat::new(table.core().clone(), survey, faired);
    let remarks = remarks.into_iter().chain(boat.in_the_way()).collect();
    Ok(Hull { remarks, boat, no_hull, whole_slips, against, is_weighed: OnceLock::new() })
}

/// One line faired by itself: (t, value, sd) of each reading, t from 0 to 1 and values in lengths of the boat,
/// give an (n, 2) array of value and standard deviation at each of `at`. `prior` is (amplitude, length, warp);
/// left out, the likeliest.
#[pyfunction]
#[pyo3(signature = (readings, at, prior = None))]
pub fn fair_line<'py>(
    py: Python<'py>,
    readings: Vec<(f64, f64, f64)>,
    at: Vec<f64>,
    prior: Option<(f64, f64, f64)>,
) -> PyResult<Bound<'py, PyArray2<f64>>> {
    let line = scrieve_fairing::fair_line(&readings, prior, &at)
        .ok_or_else(|| FairingError::new_err("the readings do not make a line"))?;
    let flat = PyArray1::from_vec(py, line.into_iter().flat_map(|(value, sd)| [value, sd]).collect());
    flat.call_method1("reshape", (at.len(), 2))?.cast_into().map_err(Into::into)
}

fn curves(curves: Result<Vec<CoreCurve>, CoreHullError>) -> PyResult<Vec<Curve>> {
    Ok(curves.map_err(hull_error)?.into_iter().map(Curve::from).collect())
}

#[pymethods]
impl Hull {
    /// The section at x (m), rabbet to sheer, drawn (y, z).
    fn section(&self, x: f64) -> PyResult<Curve> {
        Ok(self.boat.section(x).map_err(hull_error)?.into())
    }

    /// Every branch of the waterline at height z (m), bow to stern, drawn (x, y).
    fn waterlines(&self, z: f64) -> PyResult<Vec<Curve>> {
        curves(self.boat.waterline(z))
    }

    /// Every branch of the buttock at half-breadth y (m), bow to stern, drawn (x, z).
    fn buttocks(&self, y: f64) -> PyResult<Vec<Curve>> {
        curves(self.boat.buttock(y))
    }

    /// Every branch of a diagonal: from `centreline_height` (m), falling outward at `angle` degrees.
    fn diagonals(&self, centreline_height: f64, angle: f64) -> PyResult<Vec<Curve>> {
        curves(self.boat.diagonal(centreline_height, angle.to_radians()))
    }

    /// Name, height on the centreline (m) and angle (degrees) of the table's diagonals.
    fn diagonals_named(&self) -> Vec<(String, f64, f64)> {
        let grid = scrieve_loft::Grid::of(&self.boat);
        grid.diagonals.into_iter().map(|d| (d.name, d.centreline_height, d.angle.to_degrees())).collect()
    }

    /// The rabbet from the head of the stem along the keel and up the sternpost, drawn (x, z).
    fn rabbet_line(&self) -> Curve {
        self.boat.backbone_line(None).curve.into()
    }

    /// The lowest edge of the planking between stem and sternpost, the chines and the sheer, in that order.
    fn reference_lines(&self) -> Vec<Curve> {
        self.boat.reference_lines().into_iter().map(Curve::from).collect()
    }

    /// Half-breadth at (x, z), m.
    fn half_breadth(&self, x: f64, z: f64) -> PyResult<f64> {
        self.boat.half_breadth(x, z).map_err(hull_error)
    }

    /// Height at (x, y), m.
    fn height(&self, x: f64, y: f64) -> PyResult<f64> {
        self.boat.height(x, y).map_err(hull_error)
    }

    /// Outward unit normal at (x, z).
    fn normal(&self, x: f64, z: f64) -> PyResult<(f64, f64, f64)> {
        let [nx, ny, nz] = self.boat.normal(x, z).map_err(hull_error)?;
        Ok((nx, ny, nz))
    }

    /// Bevel at (x, z), degrees.
    fn bevel(&self, x: f64, z: f64) -> PyResult<f64> {
        Ok(self.boat.bevel(x, z).map_err(hull_error)?.to_degrees())
    }

    /// One standard deviation of the surface at (x, z), along its normal, m.
    fn sd(slf: Py<Self>, py: Python<'_>, x: f64, z: f64) -> PyResult<f64> {
        if slf.get().is_weighed.get().is_some() {
            return slf.get().boat.sd(x, z).map_err(hull_error);
        }
        let hull = slf.clone_ref(py);
        let sd = patiently(py, move || hull.get().boat.sd(x, z))?.map_err(hull_error)?;
        let _ = slf.get().is_weighed.set(());
        Ok(sd)
    }

    /// The section at x of the surface parallel to the hull, `distance` inside it, m.
    fn parallel_section(&self, x: f64, distance: f64) -> PyResult<Curve> {
        Ok(self.boat.parallel_section(x, distance).map_err(hull_error)?.into())
    }

    /// Points of the surface, m: an (n_u, n, 3) array. `n_u` lines from rabbet to sheer, evenly from stem to
    /// stern in the surface's own measure; on each `n_v` points to every strake, chines shared.
    fn grid<'py>(&self, py: Python<'py>, n_u: usize, n_v: usize) -> PyResult<Bound<'py, PyArray3<f64>>> {
        let patches = &self.boat.surface().patches;
        check_grid(n_u, n_v, patches.len())?;
        let flat = py.detach(|| {
            let part = |i: usize, n: usize| i as f64 / (n - 1) as f64;
            let mut flat = Vec::with_capacity(3 * n_u * n_v * patches.len());
            for u in (0..n_u).map(|i| part(i, n_u)) {
                for (strake, patch) in patches.iter().enumerate() {
                    for v in (usize::from(strake > 0)..n_v).map(|j| part(j, n_v)) {
                        flat.extend(patch.point(u, v));
                    }
                }
            }
            flat
        });
        let across = flat.len() / (3 * n_u);
        let flat = PyArray1::from_vec(py, flat);
        flat.call_method1("reshape", (n_u, across, 3))?.cast_into().map_err(Into::into)
    }

    /// The hull read back at every cell of its table, written to the eighth, sixteenth or thirty-second.
    #[pyo3(signature = (precision = "1/16"))]
    fn faired_table(&self, py: Python<'_>, precision: &str) -> PyResult<Table> {
        let precision =
            known(precision, "precision", Precision::from_name, Precision::ALL.map(Precision::name))?;
        let faired = self.boat.faired_table(precision);
        Ok(faired.map_err(|error| edit_error(py, &error))?.into())
    }

    /// The same at full size in `units`, a name of units as a file has it.
    #[pyo3(signature = (units, precision = "1/16"))]
    fn faired_at_full_size(&self, py: Python<'_>, units: &str, precision: &str) -> PyResult<Table> {
        let units = known(units, "units", Units::from_name, Units::ALL.map(Units::name))?;
        let precision =
            known(precision, "precision", Precision::from_name, Precision::ALL.map(Precision::name))?;
        let faired = self.boat.faired_at_full_size(units, precision);
        Ok(faired.map_err(|mistakes| table_error(py, &mistakes))?.into())
    }

    /// The table it was faired from.
    fn source(&self) -> Table {
        self.boat.source().clone().into()
    }

    /// How far each reading moved: a dict of equal columns, lengths in metres.
    fn corrections<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let rows = self.boat.corrections();
        let columns = PyDict::new(py);
        columns.set_item("station", rows.iter().map(|c| c.station.as_str()).collect::<Vec<_>>())?;
        columns.set_item("row", rows.iter().map(|c| c.row.as_str()).collect::<Vec<_>>())?;
        let number = |name: &str, values: Vec<f64>| columns.set_item(name, PyArray1::from_vec(py, values));
        number("read", rows.iter().map(|c| c.read).collect())?;
        number("faired", rows.iter().map(|c| c.faired).collect())?;
        number("moved", rows.iter().map(|c| c.moved).collect())?;
        number("sd", rows.iter().map(|c| c.sd).collect())?;
        number("tolerance", rows.iter().map(|c| c.tolerance).collect())?;
        columns.set_item("past", rows.iter().map(|c| c.past).collect::<Vec<_>>())?;
        columns.set_item("doubted", rows.iter().map(|c| c.doubted).collect::<Vec<_>>())?;
        Ok(columns)
    }

    /// Fairness of every line of the table: a dict of equal columns, metres and 1/m.
    fn fairness<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let rows = self.boat.fairness();
        let columns = PyDict::new(py);
        let hump = |of: fn(&scrieve_hull::Hump) -> f64| -> Vec<f64> {
            rows.iter().map(|f| f.worst_hump.as_ref().map_or(f64::NAN, of)).collect()
        };
        columns.set_item("line", rows.iter().map(|f| f.line.as_str()).collect::<Vec<_>>())?;
        columns.set_item("length", rows.iter().map(|f| f.length).collect::<Vec<_>>())?;
        columns
            .set_item("greatest_curvature", rows.iter().map(|f| f.greatest_curvature).collect::<Vec<_>>())?;
        columns.set_item("sign_changes", rows.iter().map(|f| f.sign_changes).collect::<Vec<_>>())?;
        columns.set_item("worst_hump", hump(|h| h.height))?;
        columns.set_item("worst_hump_x", hump(|h| h.at[0]))?;
        columns.set_item("worst_hump_y", hump(|h| h.at[1]))?;
        columns.set_item("worst_hump_z", hump(|h| h.at[2]))?;
        Ok(columns)
    }

    /// The hull as a closed mesh within `tolerance`, m: vertices (n, 3), m, and faces (m, 3), anticlockwise from outside.
    fn mesh<'py>(&self, py: Python<'py>, tolerance: f64) -> PyResult<(Bound<'py, PyAny>, Bound<'py, PyAny>)> {
        let boat = self.boat.clone();
        let mesh = patiently(py, move || boat.mesh(tolerance))?.map_err(hull_error)?;
        let (vertices, faces) = (mesh.vertices.len(), mesh.faces.len());
        let spots = PyArray1::from_vec(py, mesh.vertices.into_flattened()).reshape([vertices, 3])?;
        let corners: Vec<i64> = mesh.faces.into_flattened().into_iter().map(|i| i as i64).collect();
        Ok((spots.into_any(), PyArray1::from_vec(py, corners).reshape([faces, 3])?.into_any()))
    }

    /// Stretches of the table's lines that no reading is near: a dict of equal columns, metres.
    fn evidence<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let rows = py.detach(|| self.boat.unread());
        let columns = PyDict::new(py);
        let number = |name: &str, of: &dyn Fn(&scrieve_hull::Unread) -> f64| {
            columns.set_item(name, PyArray1::from_vec(py, rows.iter().map(of).collect()))
        };
        columns.set_item("line", rows.iter().map(|r| r.line.as_str()).collect::<Vec<_>>())?;
        number("from_x", &|r| r.from[0])?;
        number("from_z", &|r| r.from[2])?;
        number("to_x", &|r| r.to[0])?;
        number("to_z", &|r| r.to[2])?;
        number("length", &|r| r.length)?;
        number("sd", &|r| r.sd.unwrap_or(f64::NAN))?;
        columns.set_item("assumed", rows.iter().map(|r| r.is_assumed).collect::<Vec<_>>())?;
        columns.set_item("why", rows.iter().map(|r| r.why.as_str()).collect::<Vec<_>>())?;
        Ok(columns)
    }

    /// Principal dimensions of the moulded surface, m.
    fn dimensions<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let of = self.boat.dimensions().map_err(hull_error)?;
        let named = PyDict::new(py);
        named.set_item("length", of.length)?;
        named.set_item("beam", of.beam)?;
        named.set_item("depth", of.depth)?;
        Ok(named)
    }

    /// How far inside the table's surface the inside of the planking lies, m: by the table's own planking.
    fn planking_inside(&self) -> PyResult<f64> {
        let inside = Planking::inside(&self.boat, None);
        inside.ok_or_else(|| PyValueError::new_err("the table gives no planking thickness"))
    }

    /// Whether the surface is the inside of the planking.
    #[getter]
    fn is_inside(&self) -> bool {
        self.boat.is_inside()
    }

    /// The thickness of planking she was carried to the other face by, m; `None` where she was not.
    #[getter]
    fn carried_by(&self) -> Option<f64> {
        self.boat.carried_by()
    }

    /// The hull with her surface the inside, or the outside, of the planking. Raises `HullError` where she cannot be
    /// carried there.
    #[pyo3(signature = (inside, thickness = None))]
    fn on_face(slf: Py<Self>, py: Python<'_>, inside: bool, thickness: Option<f64>) -> PyResult<Hull> {
        let (remarks, no_hull) = (slf.get().remarks.clone(), slf.get().no_hull.clone());
        let (whole_slips, against) = (slf.get().whole_slips.clone(), slf.get().against.clone());
        let boat = patiently(py, move || slf.get().boat.on_face(inside, thickness))?.map_err(hull_error)?;
        Ok(Hull { boat, remarks, no_hull, whole_slips, against, is_weighed: OnceLock::new() })
    }

    /// Whether she ends forward in a section, not on a stem.
    #[getter]
    fn has_bow_transom(&self) -> bool {
        scrieve_loft::transom::has_bow_transom(&self.boat)
    }

    /// That the table describes no one fair hull, and where to begin; None where it does.
    #[getter]
    fn no_hull(&self) -> Option<&str> {
        self.no_hull.as_deref()
    }

    /// The readings and facts of her table that the rest of her contradicts, the worst first: those left out of her, and
    /// those that are kept. They are those of proofreading, but for slips of the whole, which may explain some.
    fn queries(&self) -> Vec<Query> {
        let (table, survey) = (self.boat.source(), self.boat.survey());
        findings(table, survey, self.boat.faired()).into_iter().map(|f| Query::new(table, f, &[])).collect()
    }

    /// Whether facts of the table are off by what the rest of the boat says; remarks name them.
    #[getter]
    fn doubts_facts(&self) -> bool {
        self.boat.faired().doubts_facts()
    }

    /// What makes a whole row, column or block of the table wrong in one way, and how to put it right, a sentence each;
    /// remarks say the same.
    #[getter]
    fn whole_slips(&self) -> Vec<String> {
        self.whole_slips.clone()
    }

    /// Where her table contradicts itself, as proofreading says it; none of a hull faired with every reading trusted.
    #[getter]
    fn against_itself(&self) -> Vec<String> {
        self.against.clone()
    }

    /// Whether the table gives a transom.
    #[getter]
    fn has_transom(&self) -> bool {
        self.boat.survey().transom.is_some()
    }

    /// What reading and fairing had to say: assumptions made, readings left out.
    #[getter]
    fn remarks(&self) -> Vec<String> {
        self.remarks.clone()
    }

    /// Facts that no reading tells again, each with how far it could be off unseen.
    #[getter]
    fn not_judged(&self) -> Vec<String> {
        self.boat.faired().not_judged.clone()
    }
}
