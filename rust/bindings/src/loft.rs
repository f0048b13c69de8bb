//! What is picked up from the loft floor, and the drawings of it, for Python.

use kurbo::Size;
use pyo3::create_exception;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use scrieve_drawing::bevels::bevel_boards;
use scrieve_drawing::lines::{self, LinesError, LinesOptions, mould_sheet};
use scrieve_drawing::moulds::{assembled_drawing, mould_drawings};
use scrieve_drawing::set_up::set_up_drawing;
use scrieve_loft::Stock;
use scrieve_loft::moulds as loft;
use scrieve_loft::pieces::{InPieces, JointAt, Part, SpallBoard};
use scrieve_loft::ribbands::{RibbandAt, parse_ribbands};
use scrieve_notation::Units;

use crate::backbone::{Transom, bevel_columns};
use crate::drawing::Drawing;
use crate::error::ScrieveError;
use crate::hull::Hull;
use crate::patience::patiently;

create_exception!(
    scrieve,
    LoftError,
    ScrieveError,
    "Something that cannot be picked up; the message says what would do."
);

/// Clear space between the pieces of one mould, mm.
const PIECE_GAP_MM: f64 = 40.0;

pub(crate) fn loft_error(error: impl std::fmt::Display) -> PyErr {
    LoftError::new_err(error.to_string())
}

/// What the verbs that draw lines are told in common.
pub(crate) fn lines_options(
    scale: Option<f64>,
    units: Option<&str>,
    sheet_mm: Option<(f64, f64)>,
) -> PyResult<LinesOptions> {
    let units = match units {
        None | Some("table") => None,
        Some("readings") => Some(Units::FeetInchesEighths),
        Some("mm") => Some(Units::Millimetres),
        Some(other) => return Err(loft_error(format!("units {other:?}: expected table, readings or mm"))),
    };
    let sheet_mm = sheet_mm.map(|(width, height)| Size::new(width, height));
    Ok(LinesOptions { scale, units, sheet_mm, ..LinesOptions::default() })
}

pub(crate) fn drawn(drawing: Result<scrieve_drawing::Drawing, LinesError>) -> PyResult<Drawing> {
    drawing.map(Drawing::from).map_err(loft_error)
}

/// The lines drawing at 1 to `scale`, or the largest scale in common use that fits the sheet; `sheet_mm` is the width and
/// height of the drawing sheet. Lengths may be drawn `foreshortened`, so many times shorter than heights and breadths.
#[pyfunction]
#[pyo3(signature = (hull, *, scale = None, units = None, sheet_mm = None, foreshortened = 1.0))]
pub fn lines_drawing(
    py: Python<'_>,
    hull: Py<Hull>,
    scale: Option<f64>,
    units: Option<&str>,
    sheet_mm: Option<(f64, f64)>,
    foreshortened: f64,
) -> PyResult<Drawing> {
    let options = LinesOptions { foreshortened, ..lines_options(scale, units, sheet_mm)? };
    drawn(patiently(py, move || lines::lines_drawing(&hull.get().boat, &options))?)
}

/// The body plan alone; with `band`, one standard deviation beside each section, so many times over.
#[pyfunction]
#[pyo3(signature = (hull, *, scale = None, units = None, sheet_mm = None, band = None))]
pub fn body_plan(
    py: Python<'_>,
    hull: Py<Hull>,
    scale: Option<f64>,
    units: Option<&str>,
    sheet_mm: Option<(f64, f64)>,
    band: Option<f64>,
) -> PyResult<Drawing> {
    if band.is_some_and(|times| !(times.is_finite() && times > 0.0)) {
        return Err(loft_error("band: expected a number above 0"));
    }
    let options = LinesOptions { band, ..lines_options(scale, units, sheet_mm)? };
    drawn(patiently(py, move || lines::body_plan(&hull.get().boat, &options))?)
}

/// The drawing sheets that have names: name, width and height, mm.
#[pyfunction]
pub fn drawing_sheets() -> Vec<(&'static str, f64, f64)> {
    lines::DRAWING_SHEETS.iter().map(|(name, size)| (*name, size.width, size.height)).collect()
}

/// A set of moulds.
#[pyclass(frozen, module = "scrieve")]
pub struct Moulds {
    set: loft::MouldSet,
}

/// The moulds of a hull. Lengths are metres.
#[pyfunction]
#[pyo3(signature = (
    hull, *, stations = None, spacing = None, planking = None, outside = 0.0, thickness = None, bevelled = false,
    shape = "pair", limb = None, solid = false, above_sheer = None, spall_height = None, keel_notch = None,
    ribband_notch = None, ribbands = None, upside_down = true, strongback_from = 0.0, pieces = false,
    joint_height = None, joint_half_breadth = None, lap = None, head = false, stock = None, spalls = false,
    spall_width = 0.1, spall_lap = None, pilot_hole = 0.0, registration_hole = 0.0,
))]
#[allow(clippy::too_many_arguments)]
pub fn moulds(
    py: Python<'_>,
    hull: Py<Hull>,
    stations: Option<Vec<f64>>,
    spacing: Option<f64>,
    planking: Option<f64>,
    outside: f64,
    thickness: Option<f64>,
    bevelled: bool,
    shape: &str,
    limb: Option<f64>,
    solid: bool,
    above_sheer: Option<f64>,
    spall_height: Option<f64>,
    keel_notch: Option<(f64, f64)>,
    ribband_notch: Option<(f64, f64)>,
    ribbands: Option<Ribbands>,
    upside_down: bool,
    strongback_from: f64,
    pieces: bool,
    joint_height: Option<f64>,
    joint_half_breadth: Option<f64>,
    lap: Option<f64>,
    head: bool,
    stock: Option<(f64, f64)>,
    spalls: bool,
    spall_width: f64,
    spall_lap: Option<f64>,
    pilot_hole: f64,
    registration_hole: f64,
) -> PyResult<Moulds> {
    let usual = loft::MouldOptions::default();
    let joints = joint_half_breadth.map(JointAt::HalfBreadth).into_iter();
    let in_pieces = InPieces {
        joints: joints.chain(joint_height.map(JointAt::Height)).collect(),
        lap,
        head,
        stock: stock.map(|(length, width)| Stock { length, width }),
    };
    if !pieces && in_pieces != InPieces::default() {
        return Err(loft_error(
            "joints, lap, head and stock are those of moulds in pieces: ask for pieces too",
        ));
    }
    let options = loft::MouldOptions {
        stations: match (stations, spacing) {
            (None, None) => loft::Stations::Table,
            (Some(at), None) => loft::Stations::At(at),
            (None, Some(every)) => loft::Stations::Every(every),
            (Some(_), Some(_)) => return Err(loft_error("give stations or a spacing, not both")),
        },
        planking,
        outside,
        thickness: thickness.unwrap_or(usual.thickness),
        bevelled,
        shape: match shape {
            "pair" => loft::Shape::Pair,
            "stacked" => loft::Shape::Stacked,
            "whole" => loft::Shape::Whole,
            other => return Err(loft_error(format!("shape {other:?}: expected pair, stacked or whole"))),
        },
        limb: if solid { None } else { limb.or(usual.limb) },
        above_sheer: above_sheer.unwrap_or(usual.above_sheer),
        spall_height,
        keel_notch: keel_notch.map(notch),
        ribband_notch: ribband_notch.map(notch),
        ribbands: match ribbands {
            None => Vec::new(),
            Some(Ribbands::Told(text)) => parse_ribbands(&text, &hull.get().boat).map_err(loft_error)?,
            Some(Ribbands::Heights(heights)) => heights.into_iter().map(RibbandAt::Height).collect(),
        },
        pieces: pieces.then_some(in_pieces),
        spall: (pieces || spalls).then_some(SpallBoard { width: spall_width, lap: spall_lap }),
        pilot_hole,
        registration_hole,
        upside_down,
        strongback_from,
        ..usual
    };
    let set = patiently(py, move || loft::moulds(&hull.get().boat, &options))?.map_err(loft_error)?;
    Ok(Moulds { set })
}

/// Ribbands as Python gives them: in words, or as heights in metres.
#[derive(FromPyObject)]
pub enum Ribbands {
    /// In words.
    Told(String),
    /// Heights, m.
    Heights(Vec<f64>),
}

fn notch((width, depth): (f64, f64)) -> loft::Notch {
    loft::Notch { width, depth }
}

#[pymethods]
impl Moulds {
    /// One drawing a mould, mm at full size.
    fn drawings(&self) -> Vec<Drawing> {
        mould_drawings(&self.set, PIECE_GAP_MM).into_iter().map(Drawing::from).collect()
    }

    /// Each mould with its pieces in their places, mm at full size; to look at, not to cut from.
    fn assembled(&self) -> Vec<Drawing> {
        self.set.moulds.iter().map(|mould| assembled_drawing(&self.set, mould).into()).collect()
    }

    /// The pieces and the narrowest board each can be got out of: a dict of equal columns, lengths in metres.
    fn pieces<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let rows: Vec<_> =
            self.set.moulds.iter().flat_map(|m| m.pieces.iter().map(move |p| (m, p))).collect();
        let boards: Vec<Stock> = rows.iter().map(|(_, p)| p.board(self.set.stock)).collect();
        let name = |p: &loft::Piece| match (p.part, p.side) {
            (Part::Mould, loft::Side::Both) => "mould".to_owned(),
            (Part::Mould, _) => "half".to_owned(),
            _ => p.name.to_lowercase(),
        };
        let side = |p: &loft::Piece| match p.side {
            _ if p.count > 1 => "port and starboard",
            loft::Side::Both => "both",
            loft::Side::Port => "port",
            loft::Side::Starboard => "starboard",
        };
        let columns = PyDict::new(py);
        columns.set_item("station", rows.iter().map(|(m, _)| m.station.as_str()).collect::<Vec<_>>())?;
        columns.set_item("piece", rows.iter().map(|(_, p)| name(p)).collect::<Vec<_>>())?;
        columns.set_item("side", rows.iter().map(|(_, p)| side(p)).collect::<Vec<_>>())?;
        columns.set_item("count", rows.iter().map(|(_, p)| p.count).collect::<Vec<_>>())?;
        columns.set_item("board_length", boards.iter().map(|b| b.length).collect::<Vec<_>>())?;
        columns.set_item("board_width", boards.iter().map(|b| b.width).collect::<Vec<_>>())?;
        columns.set_item("thickness", vec![self.set.thickness; rows.len()])?;
        Ok(columns)
    }

    /// All of them on one sheet, to look at.
    fn sheet(&self) -> PyResult<Drawing> {
        drawn(mould_sheet(&self.set, &LinesOptions::default()))
    }

    /// The boards that a bevel square is set from, the transom's among them, mm at full size.
    #[pyo3(signature = (transom = None))]
    fn bevel_board(&self, transom: Option<&Transom>) -> Drawing {
        bevel_boards(&self.set, transom.map(|t| &t.transom)).into()
    }

    /// The moulds on the strongback of `hull`, seen from the side, mm at full size.
    fn set_up_drawing(&self, hull: &Hull) -> Drawing {
        let units = hull.boat.source().facts.dialect.units;
        set_up_drawing(&hull.boat, &self.set, units).into()
    }

    /// How to set them up: a dict of equal columns, lengths in metres.
    fn set_up<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let rows = &self.set.set_up;
        let columns = PyDict::new(py);
        columns.set_item("station", rows.iter().map(|r| r.station.as_str()).collect::<Vec<_>>())?;
        columns.set_item("from_stem", rows.iter().map(|r| r.x).collect::<Vec<_>>())?;
        columns.set_item("along_strongback", rows.iter().map(|r| r.along).collect::<Vec<_>>())?;
        columns.set_item("spall_height", rows.iter().map(|r| r.spall_height).collect::<Vec<_>>())?;
        columns.set_item("face_on_the_line", rows.iter().map(|r| face(r.face)).collect::<Vec<_>>())?;
        columns.set_item("lies", rows.iter().map(|r| lies(r.lies)).collect::<Vec<_>>())?;
        Ok(columns)
    }

    /// Bevels where lines cross each mould's edge: a dict of equal columns, metres and degrees.
    fn bevels<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let rows: Vec<_> =
            self.set.moulds.iter().flat_map(|m| m.bevels.iter().map(move |b| (m, b))).collect();
        let columns = PyDict::new(py);
        columns.set_item("station", rows.iter().map(|(m, _)| m.station.as_str()).collect::<Vec<_>>())?;
        bevel_columns(&columns, &rows.iter().map(|(_, b)| *b).collect::<Vec<_>>())?;
        Ok(columns)
    }

    /// What was deducted square to the planking, m.
    #[getter]
    fn deduction(&self) -> f64 {
        self.set.deduction
    }

    /// What was assumed, and what the builder should know of single moulds.
    #[getter]
    fn remarks(&self) -> Vec<String> {
        let of_moulds = self
            .set
            .moulds
            .iter()
            .flat_map(|m| m.remarks.iter().map(move |remark| format!("mould {}: {remark}", m.station)));
        self.set.remarks.iter().cloned().chain(of_moulds).collect()
    }

    /// Moulds that could not be made, and why.
    #[getter]
    fn failures(&self) -> Vec<String> {
        self.set.failures.iter().map(ToString::to_string).collect()
    }
}

fn face(face: loft::Face) -> &'static str {
    match face {
        loft::Face::Forward => "forward face",
        loft::Face::After => "after face",
    }
}

fn lies(lies: loft::Lies) -> &'static str {
    match lies {
        loft::Lies::Aft => "aft of its line",
        loft::Lies::Forward => "forward of its line",
    }
}
