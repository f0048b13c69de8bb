//! Spars, for Python: conversions and errors only.

use pyo3::prelude::*;
use pyo3::types::PyDict;
use scrieve_drawing::spar::{SparMark, SparSheet, gauge_drawing, scarf_drawing};
use scrieve_loft::spar as loft;
use scrieve_loft::spar::{
    Across, Build, Gauge, Load, Scarf, ScarfKind, Shape, Solid, SparOptions, Straight, Supports,
};
use scrieve_notation::Units;

use crate::drawing::Drawing;
use crate::loft::loft_error;

/// Names of shapes, and what a spar is straight on.
const SHAPES: [(&str, Shape); 3] =
    [("round", Shape::Round), ("oval", Shape::Oval), ("rectangular", Shape::Rectangular)];
const STRAIGHT: [(&str, Straight); 3] =
    [("", Straight::No), ("first", Straight::First), ("second", Straight::Second)];
const SCARFS: [(&str, ScarfKind); 2] = [("plain", ScarfKind::Plain), ("stepped", ScarfKind::Stepped)];

fn choice<T: Copy>(what: &str, name: &str, choices: &[(&str, T)]) -> PyResult<T> {
    choices.iter().find(|(known, _)| *known == name).map(|(_, value)| *value).ok_or_else(|| {
        let known = choices.iter().map(|(known, _)| *known).filter(|known| !known.is_empty());
        loft_error(format!("{what} {name:?}: expected {}", known.collect::<Vec<_>>().join(", ")))
    })
}

fn units_of(name: &str) -> PyResult<Units> {
    choice("units", name, &Units::ALL.map(|units| (units.name(), units)))
}

/// Width of a stave, depth of its notch, how far the notch's apex is off the inner face, and the stave's outline.
type Stave = (f64, f64, f64, [[f64; 2]; 5]);

/// A spar. Metres; places of tapers and walls are fractions of its length from the heel.
#[pyclass(frozen, module = "scrieve")]
pub struct Spar {
    spar: loft::Spar,
}

#[pymethods]
impl Spar {
    #[new]
    #[pyo3(signature = (
        length, depth, breadth, taper, *, taper_breadth = None, shape = "round", wall = Vec::new(), staves = None,
        solid = (0.0, 0.0), run_out = 0.0, straight = "",
    ))]
    #[allow(clippy::too_many_arguments)]
    fn new(
        length: f64,
        depth: f64,
        breadth: f64,
        taper: Vec<(f64, f64)>,
        taper_breadth: Option<Vec<(f64, f64)>>,
        shape: &str,
        wall: Vec<(f64, f64)>,
        staves: Option<usize>,
        solid: (f64, f64),
        run_out: f64,
        straight: &str,
    ) -> PyResult<Self> {
        let options = SparOptions {
            length,
            depth,
            breadth,
            taper,
            taper_breadth,
            shape: choice("section", shape, &SHAPES)?,
            wall,
            staves,
            solid: Solid { heel: solid.0, head: solid.1, run_out },
            straight: choice("straight", straight, &STRAIGHT)?,
        };
        Ok(Spar { spar: loft::Spar::new(&options).map_err(loft_error)? })
    }

    /// How it is built up: "solid", "halves", "box" or "staves".
    #[getter]
    fn build(&self) -> &'static str {
        match self.spar.build() {
            Build::Solid => "solid",
            Build::Halves => "halves",
            Build::Box => "box",
            Build::Staves(_) => "staves",
        }
    }

    /// How many ways its sticks are cut to lengths, so that neighbours' scarfs are clear of each other.
    #[getter]
    fn patterns(&self) -> usize {
        self.spar.build().patterns()
    }

    /// For how many sides lines are marked on it, one after another.
    #[getter]
    fn sides(&self) -> Vec<usize> {
        self.spar.sides().to_vec()
    }

    /// Size in depth and in breadth of the squared blank, and its length.
    #[getter]
    fn blank(&self) -> [f64; 3] {
        self.spar.blank()
    }

    /// Where it is greatest in depth and in breadth, and how great: two pairs.
    #[getter]
    fn greatest(&self) -> [(f64, f64); 2] {
        self.spar.greatest()
    }

    /// Half its depth and half its breadth.
    fn half(&self, s: f64) -> PyResult<[f64; 2]> {
        Ok(self.spar.half(self.place(s)?))
    }

    /// Half the hollow in depth and in breadth; of staves the apothem of the polygon they leave.
    fn hollow(&self, s: f64) -> PyResult<[f64; 2]> {
        Ok(self.spar.hollow(self.place(s)?))
    }

    /// Thickness of the wall where the hollow is whole; None of a solid spar.
    fn wall(&self, s: f64) -> PyResult<Option<f64>> {
        let s = self.place(s)?;
        Ok(self.spar.wall().map(|wall| wall.thickness(s)))
    }

    /// Its edges from the middle of the blank: that of the second face and of the first.
    fn edges(&self, s: f64) -> PyResult<[f64; 2]> {
        Ok(self.spar.edges(self.place(s)?))
    }

    /// Wood in the section, m², second moments against bending in depth and in breadth, m⁴, and girth, m.
    fn section(&self, s: f64) -> PyResult<(f64, [f64; 2], f64)> {
        let section = self.spar.section(self.place(s)?);
        Ok((section.area(), section.moments(), section.girth()))
    }

    /// The same spar without its hollow.
    fn solid(&self) -> Self {
        Spar { spar: self.spar.solid() }
    }

    /// Wood, m³, how far its middle is from the heel, m, wood without the hollow, surface, m², and what is glued along
    /// it, m².
    fn volume(&self) -> (f64, f64, f64, f64, f64) {
        let (volume, middle) = self.spar.volume();
        (volume, middle, self.spar.solid_volume(), self.spar.surface(), self.spar.glue_area())
    }

    /// Places so far apart from the heel, and the head.
    fn places(&self, every: f64) -> PyResult<Vec<f64>> {
        self.spar.places(every).map_err(loft_error)
    }

    /// Flats to be marked for so many sides: equal columns `place`, `turn` (parts of a turn from the first face), `width`,
    /// `in_from_edge` and `left`.
    fn flats<'py>(&self, py: Python<'py>, sides: usize, places: Vec<f64>) -> PyResult<Bound<'py, PyDict>> {
        let mut columns: [Vec<f64>; 5] = Default::default();
        for s in places {
            let s = self.place(s)?;
            for flat in self.spar.flats(sides, s).map_err(loft_error)? {
                let row = [s, flat.turn, flat.width, flat.in_from_edge, flat.left];
                columns.iter_mut().zip(row).for_each(|(column, value)| column.push(value));
            }
        }
        let dict = PyDict::new(py);
        for (name, column) in ["place", "turn", "width", "in_from_edge", "left"].into_iter().zip(columns) {
            dict.set_item(name, column)?;
        }
        Ok(dict)
    }

    /// How far each kerf of a half lies from the blank's middle, and at each place the depth of each.
    fn kerfs(&self, places: Vec<f64>, pitch: f64, blade: f64) -> PyResult<(Vec<f64>, Vec<Vec<f64>>)> {
        for s in &places {
            self.place(*s)?;
        }
        let kerfs = self.spar.kerfs(&places, pitch, blade).map_err(loft_error)?;
        Ok((kerfs.places, kerfs.depths))
    }

    /// Width of a stave and depth of its notch, how far the notch's apex is off the inner face, and the stave's outline from the middle
    /// of the spar; None where it is not built of staves.
    fn stave(&self, s: f64) -> PyResult<Option<Stave>> {
        let s = self.place(s)?;
        Ok(self.spar.notch(s).map(|notch| (notch.width, notch.depth, notch.apex, notch.outline())))
    }

    /// Under a load: a dict of equal columns `place`, `moment` (N m), `deflection`, `stress` (Pa), and what the supports
    /// hold, N. `supports` are one place, built in, or two; `points` are (place, N), `spread` (from, to, N per metre).
    #[pyo3(signature = (supports, points, spread, modulus, *, athwart = false))]
    fn bent<'py>(
        &self,
        py: Python<'py>,
        supports: Vec<f64>,
        points: Vec<(f64, f64)>,
        spread: Vec<(f64, f64, f64)>,
        modulus: f64,
        athwart: bool,
    ) -> PyResult<(Bound<'py, PyDict>, Vec<f64>)> {
        let supports = match supports[..] {
            [at] => Supports::BuiltIn(at),
            [first, second] => Supports::Two(first, second),
            _ => return Err(loft_error("supports: one place, where it is built in, or two")),
        };
        let across = if athwart { Across::Breadth } else { Across::Depth };
        let load = Load { supports, points, spread, across };
        let bent = self.spar.bent(&load, modulus).map_err(loft_error)?;
        let dict = PyDict::new(py);
        dict.set_item("place", bent.places)?;
        dict.set_item("moment", bent.moments)?;
        dict.set_item("deflection", bent.deflections)?;
        dict.set_item("stress", bent.stresses)?;
        Ok((dict, bent.reactions))
    }

    /// Drawings of its faces, and of its sections at places with a name each.
    ///
    /// `marks` are (name, from, to, width), a width of nothing from edge to edge; `scale` along and across, (1, 1) for full
    /// size; `kerfs` a pitch and a blade; `scarf` the stock's length and a scarf's.
    #[pyo3(signature = (
        *, name, title, ends, faces, every, units, marks, sections, scale = None, kerfs = None, scarf = None,
    ))]
    #[allow(clippy::too_many_arguments, clippy::type_complexity)]
    fn drawings(
        &self,
        py: Python<'_>,
        name: String,
        title: String,
        ends: [String; 2],
        faces: [String; 4],
        every: f64,
        units: &str,
        marks: Vec<(String, f64, f64, f64)>,
        sections: Vec<(String, f64)>,
        scale: Option<[f64; 2]>,
        kerfs: Option<[f64; 2]>,
        scarf: Option<(f64, f64)>,
    ) -> PyResult<(Drawing, Drawing)> {
        for (_, from, to, _) in &marks {
            self.place(*from)?;
            self.place(*to)?;
        }
        let [.., length] = self.spar.blank();
        let members = scarf
            .map(|(stock, lap)| {
                let patterns = self.spar.build().patterns();
                loft::members(length, stock, Some(lap), patterns).map(|members| (members, lap))
            })
            .transpose()
            .map_err(loft_error)?;
        let mark = |(name, from, to, width)| SparMark { name, from, to, width };
        let sheet = SparSheet {
            spar: &self.spar,
            name,
            title,
            ends,
            faces,
            every,
            units: units_of(units)?,
            marks: marks.into_iter().map(mark).collect(),
            scale,
            kerfs,
            members,
        };
        py.detach(|| Ok((sheet.faces()?, sheet.sections(&sections)?)))
            .map(|(faces, sections)| (faces.into(), sections.into()))
            .map_err(|error: scrieve_drawing::spar::SparDrawingError| loft_error(error))
    }
}

impl Spar {
    fn place(&self, s: f64) -> PyResult<f64> {
        self.spar.place(s).map_err(loft_error)
    }
}

/// So many sticks of a spar that may lie side by side, each as (from, to) of its lengths, m; `lap` None allows no scarf.
#[pyfunction]
#[pyo3(signature = (length, stock, lap, *, patterns))]
pub fn spar_lengths(
    length: f64,
    stock: f64,
    lap: Option<f64>,
    patterns: usize,
) -> PyResult<Vec<Vec<[f64; 2]>>> {
    let members = loft::members(length, stock, lap, patterns.clamp(1, 3)).map_err(loft_error)?;
    Ok(members.into_iter().map(|one| one.pieces).collect())
}

/// A scarf: its length, m, and what is glued of it, m².
#[pyfunction]
pub fn spar_scarf(kind: &str, ratio: f64, thickness: f64, width: f64) -> PyResult<(f64, f64)> {
    let scarf = scarf(kind, ratio, thickness, width)?;
    Ok((scarf.length, scarf.glue_area()))
}

/// That scarf from the side.
#[pyfunction]
#[pyo3(signature = (kind, ratio, thickness, width, *, name, title, units))]
pub fn spar_scarf_drawing(
    kind: &str,
    ratio: f64,
    thickness: f64,
    width: f64,
    name: &str,
    title: &str,
    units: &str,
) -> PyResult<Drawing> {
    Ok(scarf_drawing(name, title, &scarf(kind, ratio, thickness, width)?, units_of(units)?).into())
}

fn scarf(kind: &str, ratio: f64, thickness: f64, width: f64) -> PyResult<Scarf> {
    Scarf::new(choice("scarf", kind, &SCARFS)?, ratio, thickness, width).map_err(loft_error)
}

/// Gauges for so many sides on flats from `narrowest` to `widest`, m: what each is called, how far its pencils are from
/// the pegs as a part of the clear span, and its error at each width, m. The first is set for these flats.
#[pyfunction]
pub fn spar_gauges(
    sides: usize,
    span: f64,
    peg: f64,
    widths: Vec<f64>,
) -> PyResult<Vec<(String, f64, Vec<f64>)>> {
    let range = || widths.iter().copied().fold((f64::MAX, f64::MIN), |all, w| (all.0.min(w), all.1.max(w)));
    let mut gauges = vec![("set for this spar".to_owned(), gauge(sides, span, peg, range())?)];
    for (_, parts) in loft::GAUGES.into_iter().filter(|(of, _)| *of == sides) {
        gauges.push((parts.map(|n| n.to_string()).join(":"), Gauge::of_parts(sides, span, peg, parts)));
    }
    let told = |(name, gauge): (String, Gauge)| {
        let errors = widths.iter().map(|width| gauge.error(*width)).collect();
        (name, gauge.part, errors)
    };
    Ok(gauges.into_iter().map(told).collect())
}

/// The gauge that is set for flats of these widths, to be made.
#[pyfunction]
pub fn spar_gauge_drawing(
    name: &str,
    title: &str,
    sides: usize,
    span: f64,
    peg: f64,
    narrowest: f64,
    widest: f64,
) -> PyResult<Drawing> {
    let gauge = gauge(sides, span, peg, (narrowest, widest))?;
    gauge_drawing(name, title, &gauge, widest).map(Drawing::from).map_err(loft_error)
}

fn gauge(sides: usize, span: f64, peg: f64, (narrowest, widest): (f64, f64)) -> PyResult<Gauge> {
    if !loft::SIDES.contains(&sides) {
        return Err(loft_error(loft::SparError::Sides { sides }));
    }
    if !(narrowest > 0.0 && widest >= narrowest && span >= widest && span.is_finite()) {
        return Err(loft_error(format!(
            "a gauge {span} m clear between its pegs for flats from {narrowest} to {widest} m: its pegs must pass the widest"
        )));
    }
    if !(peg.is_finite() && peg >= 0.0) {
        return Err(loft_error(format!("pegs {peg} m thick: nothing, for points, or more")));
    }
    Ok(Gauge::fitted(sides, span, peg, narrowest, widest))
}
