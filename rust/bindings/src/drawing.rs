//! `scrieve.Drawing`: made by the patterns and by plugins, read and written as files.

use std::fs::File;
use std::path::{Path, PathBuf};

use kurbo::{BezPath, Point};
use numpy::{PyArray1, PyArray2, PyArrayMethods, PyReadonlyArray2};
use pyo3::create_exception;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use scrieve_drawing::arcs::CHORD_TOLERANCE_MM;
use scrieve_drawing::{
    Anchor, Drawing as CoreDrawing, DxfOptions, DxfVersion, Fault, Item, LEAST_SEGMENT_MM, Letters,
    MARK_DEPTH_MM, Operation, Outlines, Pages, Paper, Part, SvgOptions, Unreached, WriteError, arcs, check,
    svg, write_dxf, write_pdf, write_png, write_svg,
};
use scrieve_loft::{Stock, board_along, narrowest_board};
use scrieve_offsets::write_whole;

use crate::error::ScrieveError;
use crate::output;

create_exception!(
    scrieve,
    DrawingError,
    ScrieveError,
    "A drawing that cannot be made or written as asked; the message says what and where."
);

/// What a cutter does not get into, where, mm, and of a hole its diameter, mm.
type NotReached = (&'static str, f64, f64, Option<f64>);

/// A drawing: lines and text on layers, each layer with what the shop does with it.
///
/// Millimetres at full size, y up. Angles are degrees, anticlockwise.
#[pyclass(module = "scrieve")]
pub struct Drawing {
    pub(crate) drawing: CoreDrawing,
}

impl From<CoreDrawing> for Drawing {
    fn from(drawing: CoreDrawing) -> Self {
        Drawing { drawing }
    }
}

#[pymethods]
impl Drawing {
    #[new]
    #[pyo3(signature = (name, title = ""))]
    fn new(name: &str, title: &str) -> Self {
        CoreDrawing::new(name, title).into()
    }

    /// Another like it, to be changed apart from this one.
    fn copy(&self) -> Self {
        self.drawing.clone().into()
    }

    /// Its name, from which a file is named.
    #[getter]
    fn name(&self) -> &str {
        &self.drawing.name
    }

    /// Its title.
    #[getter]
    fn title(&self) -> &str {
        &self.drawing.title
    }

    /// Its layers, in order: dicts of `name`, `operation`, `width_mm`, `rgb`, `dashes_mm`.
    #[getter]
    fn layers<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        let layer_dict = |layer: &scrieve_drawing::Layer| {
            let dict = PyDict::new(py);
            dict.set_item("name", &layer.name)?;
            dict.set_item("operation", layer.operation.name())?;
            dict.set_item("width_mm", layer.stroke.width_mm)?;
            let [red, green, blue] = layer.stroke.rgb;
            dict.set_item("rgb", (red, green, blue))?;
            dict.set_item("dashes_mm", layer.stroke.dashes_mm.clone())?;
            Ok(dict)
        };
        self.drawing.layers.iter().map(layer_dict).collect()
    }

    /// Every outline and line, as dicts of `layer` (its name), `operation`, `closed` and `points`: an (n, 2)
    /// array in mm, within `tolerance_mm` of the curve, a closed outline's first point not repeated.
    #[pyo3(signature = (tolerance_mm = CHORD_TOLERANCE_MM))]
    fn paths<'py>(&self, py: Python<'py>, tolerance_mm: f64) -> PyResult<Vec<Bound<'py, PyDict>>> {
        positive("tolerance_mm", tolerance_mm)?;
        let mut dicts = Vec::new();
        for item in &self.drawing.items {
            let Item::Path { layer, path } = item else { continue };
            for outline in arcs::flatten(path, tolerance_mm) {
                let dict = self.item_dict(py, *layer)?;
                dict.set_item("closed", outline.closed)?;
                let points: Vec<f64> = outline.vertices.iter().flat_map(|v| [v.at.x, v.at.y]).collect();
                let points = PyArray1::from_vec(py, points).reshape([outline.vertices.len(), 2])?;
                dict.set_item("points", points)?;
                dicts.push(dict);
            }
        }
        Ok(dicts)
    }

    /// Every line of text, as dicts of `layer` (its name), `operation`, `text`, `at`, `height_mm`, `angle`, `anchor`.
    fn texts<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        let mut dicts = Vec::new();
        for item in &self.drawing.items {
            let Item::Text { layer, at, height, angle, anchor, text } = item else { continue };
            let dict = self.item_dict(py, *layer)?;
            dict.set_item("text", text)?;
            dict.set_item("at", (at.x, at.y))?;
            dict.set_item("height_mm", height)?;
            dict.set_item("angle", angle.to_degrees())?;
            dict.set_item("anchor", anchor_name(*anchor))?;
            dicts.push(dict);
        }
        Ok(dicts)
    }

    /// Every part that is cut out: a dict of equal columns, `part`, `count`, `thickness` (m; None where nobody said),
    /// `length` and `width` of the narrowest board it is got out of (m), `grain` (degrees anticlockwise from level; None
    /// where it may run any way), `face`, `off`.
    fn parts<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let parts = self.drawing.all_parts();
        let boards: Vec<Stock> = (parts.iter())
            .map(|part| match &self.drawing.items[part.outline] {
                Item::Path { path, .. } => match part.grain {
                    Some(grain) => board_along(path, grain),
                    None => narrowest_board(path).0,
                },
                Item::Text { .. } => Stock { length: 0.0, width: 0.0 },
            })
            .collect();
        let columns = PyDict::new(py);
        columns.set_item("part", parts.iter().map(|p| p.name.as_str()).collect::<Vec<_>>())?;
        columns.set_item("count", parts.iter().map(|p| p.count).collect::<Vec<_>>())?;
        let thickness: Vec<_> = parts.iter().map(|p| p.thickness_mm.map(|mm| 1e-3 * mm)).collect();
        columns.set_item("thickness", thickness)?;
        columns.set_item("length", boards.iter().map(|b| 1e-3 * b.length).collect::<Vec<_>>())?;
        columns.set_item("width", boards.iter().map(|b| 1e-3 * b.width).collect::<Vec<_>>())?;
        let grain: Vec<_> = parts.iter().map(|p| p.grain.map(f64::to_degrees)).collect();
        columns.set_item("grain", grain)?;
        columns.set_item("face", parts.iter().map(|p| p.face.as_str()).collect::<Vec<_>>())?;
        columns.set_item("off", parts.iter().map(|p| p.off.to_lowercase()).collect::<Vec<_>>())?;
        Ok(columns)
    }

    /// What the title box below it says, a line each; without a line it has none. It is never cut.
    #[getter]
    fn title_box(&self) -> Vec<String> {
        self.drawing.title_box.clone()
    }

    #[setter]
    fn set_title_box(&mut self, lines: Vec<String>) {
        self.drawing.title_box = lines;
    }

    /// The boat it is of; "" where nobody said.
    #[getter]
    fn boat(&self) -> &str {
        &self.drawing.boat
    }

    #[setter]
    fn set_boat(&mut self, name: &str) {
        name.clone_into(&mut self.drawing.boat);
    }

    /// SHA-256 of the table it is of, in hexadecimals; "" where nobody said.
    #[getter]
    fn table_sha256(&self) -> &str {
        &self.drawing.table_sha256
    }

    #[setter]
    fn set_table_sha256(&mut self, digest: &str) {
        digest.clone_into(&mut self.drawing.table_sha256);
    }

    /// What was to be written on its parts and had no room there, however small.
    #[getter]
    fn unwritten(&self) -> Vec<String> {
        self.drawing.unwritten.clone()
    }

    /// Left, bottom, right, top of all that is drawn, mm; None if nothing is.
    fn bounds(&self) -> Option<(f64, f64, f64, f64)> {
        self.drawing.bounds().map(|b| (b.x0, b.y0, b.x1, b.y1))
    }

    /// The number of the layer of this name, made if there is none.
    ///
    /// `operation` is "cut outside", "cut inside", "mark", "engrave" or "annotate"; line width and dashes (dash,
    /// gap, dash, gap) are mm on paper, `rgb` three whole numbers to 255; left out, those usual for the operation.
    #[pyo3(signature = (name, operation, *, width_mm = None, rgb = None, dashes_mm = None))]
    fn layer(
        &mut self,
        name: &str,
        operation: &str,
        width_mm: Option<f64>,
        rgb: Option<[u8; 3]>,
        dashes_mm: Option<Vec<f64>>,
    ) -> PyResult<usize> {
        let operation = Operation::from_name(operation).ok_or_else(|| {
            let known = Operation::ALL.map(|known| format!("\"{}\"", known.name())).join(", ");
            DrawingError::new_err(format!("operation must be one of {known}; got \"{operation}\""))
        })?;
        let mut stroke = operation.stroke();
        stroke.width_mm = width_mm.unwrap_or(stroke.width_mm);
        stroke.rgb = rgb.unwrap_or(stroke.rgb);
        stroke.dashes_mm = dashes_mm.unwrap_or_default();
        Ok(self.drawing.layer_drawn(name, operation, stroke))
    }

    /// Adds straight lines through (n, 2) points, mm.
    #[pyo3(signature = (layer, points, closed = false))]
    fn polyline(&mut self, layer: usize, points: &Bound<'_, PyAny>, closed: bool) -> PyResult<()> {
        self.known(layer)?;
        let points = read_points(points)?;
        if points.len() < 2 {
            return Err(DrawingError::new_err(format!(
                "a line takes 2 points or more, got {}",
                points.len()
            )));
        }
        self.drawing.polyline(layer, points, closed);
        Ok(())
    }

    /// Adds cubic curves end to end: (3 n + 1, 2) points, mm, ends and control points in order.
    #[pyo3(signature = (layer, points, closed = false))]
    fn bezier(&mut self, layer: usize, points: &Bound<'_, PyAny>, closed: bool) -> PyResult<()> {
        self.known(layer)?;
        let points = read_points(points)?;
        if points.len() < 4 || points.len() % 3 != 1 {
            let message = format!("curves take 4, 7, 10 ... points, got {}", points.len());
            return Err(DrawingError::new_err(message));
        }
        let mut path = BezPath::new();
        path.move_to(points[0]);
        for three in points[1..].chunks_exact(3) {
            path.curve_to(three[0], three[1], three[2]);
        }
        if closed {
            path.close_path();
        }
        self.drawing.path(layer, path);
        Ok(())
    }

    /// Tells what is cut out along the path that was added last, whose layer is cut outside: its name, how thick its stock is,
    /// how many are cut, what was taken off, which face is drawn, and how its grain runs, degrees anticlockwise from level
    /// (None where it may run any way). A parts list and nesting go by it.
    #[pyo3(signature = (name, *, thickness_mm = None, count = 1, off = "", face = "", grain = None))]
    fn part(
        &mut self,
        name: &str,
        thickness_mm: Option<f64>,
        count: usize,
        off: &str,
        face: &str,
        grain: Option<f64>,
    ) -> PyResult<()> {
        let outline = self.drawing.items.len().checked_sub(1);
        let is_cut = |layer: usize| self.drawing.layers[layer].operation == Operation::CutOutside;
        let Some(outline) = outline.filter(|last| match &self.drawing.items[*last] {
            Item::Path { layer, .. } => is_cut(*layer),
            Item::Text { .. } => false,
        }) else {
            let what = "a part is told of after its outline: a path on a layer that is cut outside";
            return Err(DrawingError::new_err(format!("{what}; \"{name}\" comes after none")));
        };
        if self.drawing.parts.iter().any(|part| part.outline == outline) {
            return Err(DrawingError::new_err(format!("the outline of \"{name}\" is a part already")));
        }
        thickness_mm.map_or(Ok(()), |mm| positive("thickness_mm", mm))?;
        if count == 0 || grain.is_some_and(|degrees| !degrees.is_finite()) {
            let told = grain.map_or("none".to_owned(), |degrees| degrees.to_string());
            let what = format!("count must be 1 or more and grain a number, got {count} and {told}");
            return Err(DrawingError::new_err(what));
        }
        let grain = grain.map(f64::to_radians);
        let (name, off, face) = (name.to_owned(), off.to_owned(), face.to_owned());
        self.drawing.parts.push(Part { name, outline, count, thickness_mm, off, face, grain });
        Ok(())
    }

    /// Adds a circle, mm.
    fn circle(&mut self, layer: usize, centre: (f64, f64), radius: f64) -> PyResult<()> {
        self.known(layer)?;
        positive("radius", radius)?;
        self.drawing.circle(layer, centre.into(), radius);
        Ok(())
    }

    /// Adds an upright cross; `arm` mm from its centre to each end.
    fn cross(&mut self, layer: usize, centre: (f64, f64), arm: f64) -> PyResult<()> {
        self.known(layer)?;
        positive("arm", arm)?;
        self.drawing.cross(layer, centre.into(), arm);
        Ok(())
    }

    /// Adds a line of text at a point, letters `height` mm tall; `anchor` says which of its "start",
    /// "middle" or "end" is there.
    #[pyo3(signature = (layer, text, at, height, angle = 0.0, anchor = "start"))]
    fn text(
        &mut self,
        layer: usize,
        text: &str,
        at: (f64, f64),
        height: f64,
        angle: f64,
        anchor: &str,
    ) -> PyResult<()> {
        self.known(layer)?;
        positive("height", height)?;
        let anchor = read_anchor(anchor)?;
        self.drawing.text(layer, at.into(), height, angle.to_radians(), anchor, text);
        Ok(())
    }

    /// Adds a line of text as single strokes, to be engraved or scored; otherwise as `text`.
    #[pyo3(signature = (layer, text, at, height, angle = 0.0, anchor = "start"))]
    fn engrave(
        &mut self,
        layer: usize,
        text: &str,
        at: (f64, f64),
        height: f64,
        angle: f64,
        anchor: &str,
    ) -> PyResult<()> {
        self.known(layer)?;
        positive("height", height)?;
        let anchor = read_anchor(anchor)?;
        self.drawing.engrave(layer, at.into(), height, angle.to_radians(), anchor, text);
        Ok(())
    }

    /// Relieves every corner that a cutter of this diameter, mm, cannot reach into, so that what has square corners fits:
    /// the cutter's circle through the corner's point. Gives what the cutter does not get into all the same, as (what, x,
    /// y, diameter): a "corner" with no room beside it, a "hollow" tighter than the cutter, a "hole" smaller than it, of
    /// that diameter (None of the others); mm. Raises `DrawingError` for a notch too narrow for the cutter, and changes
    /// nothing then.
    fn relieve(&mut self, cutter_mm: f64) -> PyResult<Vec<NotReached>> {
        let left =
            self.drawing.relieve(cutter_mm).map_err(|error| DrawingError::new_err(error.to_string()))?;
        let told = |one| match one {
            Unreached::Corner(at) => ("corner", at.x, at.y, None),
            Unreached::Hollow(at) => ("hollow", at.x, at.y, None),
            Unreached::Hole(at, across) => ("hole", at.x, at.y, Some(across)),
        };
        Ok(left.into_iter().map(told).collect())
    }

    /// What a shop would stumble over, in the order drawn: dicts of `message`, `fault`, `layer`, `item`, `at`.
    #[pyo3(signature = (tolerance_mm = CHORD_TOLERANCE_MM))]
    fn check<'py>(&self, py: Python<'py>, tolerance_mm: f64) -> PyResult<Vec<Bound<'py, PyDict>>> {
        positive("tolerance_mm", tolerance_mm)?;
        let findings = py.detach(|| check(&self.drawing, tolerance_mm));
        let finding_dict = |finding: scrieve_drawing::Finding| {
            let dict = PyDict::new(py);
            dict.set_item("message", finding.to_string())?;
            dict.set_item("fault", fault_name(&finding.fault))?;
            dict.set_item("layer", finding.layer)?;
            dict.set_item("item", finding.item)?;
            dict.set_item("at", finding.at.map(|at| (at.x, at.y)))?;
            Ok(dict)
        };
        findings.into_iter().map(finding_dict).collect()
    }

    /// The text of an SVG at real size. `background` puts white paper behind it.
    #[pyo3(signature = (background = true))]
    fn to_svg(&self, background: bool) -> PyResult<String> {
        svg(&self.drawing, &svg_options(background)).map_err(|error| write_error(error, None))
    }

    fn _repr_svg_(&self) -> PyResult<String> {
        let options = SvgOptions { fit_page: true, ..svg_options(true) };
        svg(&self.drawing, &options).map_err(|error| write_error(error, None))
    }

    /// Writes an SVG at real size; whole or not at all.
    #[pyo3(signature = (path, background = true))]
    fn write_svg(&self, py: Python<'_>, path: PathBuf, background: bool) -> PyResult<()> {
        let options = svg_options(background);
        write_file(py, &path, |file| write_svg(&self.drawing, file, &options))
    }

    /// Writes a DXF in millimetres; whole or not at all.
    ///
    /// `dxf_version` is "R2000", or "R12" for old controllers; `letters` "strokes", as they are engraved, or "text";
    /// `outlines` "arcs" (and lines), "polylines" or "splines", within `chord_error_mm` of the curve. Segments under
    /// `least_segment_mm` are joined to their neighbours. Marks and letters are `mark_depth_mm` deep: layers are named
    /// by what is done along their lines, on which side and how deep, where anything is cut. Text is spelt in plain
    /// ASCII: `check` lists what changes.
    #[pyo3(signature = (
        path, dxf_version = "R2000", chord_error_mm = CHORD_TOLERANCE_MM, letters = "strokes", outlines = "arcs",
        least_segment_mm = LEAST_SEGMENT_MM, mark_depth_mm = MARK_DEPTH_MM,
    ))]
    #[expect(clippy::too_many_arguments, reason = "keywords of Python")]
    fn write_dxf(
        &self,
        py: Python<'_>,
        path: PathBuf,
        dxf_version: &str,
        chord_error_mm: f64,
        letters: &str,
        outlines: &str,
        least_segment_mm: f64,
        mark_depth_mm: f64,
    ) -> PyResult<()> {
        let options = DxfOptions {
            version: one_of(
                "dxf_version",
                dxf_version,
                &[("R2000", DxfVersion::R2000), ("R12", DxfVersion::R12)],
            )?,
            tolerance_mm: chord_error_mm,
            letters: one_of("letters", letters, &[("strokes", Letters::Strokes), ("text", Letters::Text)])?,
            outlines: one_of(
                "outlines",
                outlines,
                &[
                    ("arcs", Outlines::Arcs),
                    ("polylines", Outlines::Polylines),
                    ("splines", Outlines::Splines),
                ],
            )?,
            least_segment_mm,
            mark_depth_mm,
        };
        write_file(py, &path, |file| write_dxf(&self.drawing, file, &options))
    }

    /// Writes a PDF at full size; see `write_pdf`.
    #[pyo3(signature = (path, paper = None, overlap_mm = 15.0))]
    fn write_pdf(&self, py: Python<'_>, path: PathBuf, paper: Option<&str>, overlap_mm: f64) -> PyResult<()> {
        put_on_paper(py, std::slice::from_ref(&self.drawing), &path, paper, overlap_mm)
    }

    /// Writes a PNG at full size, so many dots to the inch; whole or not at all.
    #[pyo3(signature = (path, dots_per_inch = 150.0))]
    fn write_png(&self, py: Python<'_>, path: PathBuf, dots_per_inch: f64) -> PyResult<()> {
        write_file(py, &path, |file| write_png(&self.drawing, file, dots_per_inch))
    }

    /// Width and height of the drawing sheet it is set out on, mm; none for a pattern.
    #[getter]
    fn sheet_mm(&self) -> Option<(f64, f64)> {
        self.drawing.sheet.map(|size| (size.width, size.height))
    }

    fn __repr__(&self) -> String {
        let size = self.drawing.bounds().map_or(String::from("empty"), |bounds| {
            format!("{:.0} x {:.0} mm", bounds.width(), bounds.height())
        });
        format!("<Drawing {:?}, {size}, {} layers>", self.drawing.name, self.drawing.layers.len())
    }
}

impl Drawing {
    fn known(&self, layer: usize) -> PyResult<()> {
        let count = self.drawing.layers.len();
        if layer < count {
            return Ok(());
        }
        Err(DrawingError::new_err(format!(
            "there is no layer {layer}: \"{}\" has {count}",
            self.drawing.name
        )))
    }

    fn item_dict<'py>(&self, py: Python<'py>, layer: usize) -> PyResult<Bound<'py, PyDict>> {
        let dict = PyDict::new(py);
        if let Some(layer) = self.drawing.layers.get(layer) {
            dict.set_item("layer", &layer.name)?;
            dict.set_item("operation", layer.operation.name())?;
        }
        Ok(dict)
    }
}

/// Writes drawings as a PDF at full size; whole or not at all.
///
/// `paper` None is a page for each drawing, as large as it needs, or several pages where one would be longer than 200 in;
/// "A4", "A3", "Letter" or "Tabloid" put each part that is cut out on sheets of its own. Sheets share `overlap_mm`, are
/// named and joined by register crosses, and come after an index. Every sheet has a bar of 100 mm both ways.
#[pyfunction]
#[pyo3(name = "write_pdf", signature = (drawings, path, paper = None, overlap_mm = 15.0))]
pub fn write_drawings_pdf(
    py: Python<'_>,
    drawings: Vec<PyRef<'_, Drawing>>,
    path: PathBuf,
    paper: Option<&str>,
    overlap_mm: f64,
) -> PyResult<()> {
    let drawings: Vec<CoreDrawing> = drawings.iter().map(|drawing| drawing.drawing.clone()).collect();
    put_on_paper(py, &drawings, &path, paper, overlap_mm)
}

fn put_on_paper(
    py: Python<'_>,
    drawings: &[CoreDrawing],
    path: &Path,
    paper: Option<&str>,
    overlap_mm: f64,
) -> PyResult<()> {
    let papers = Paper::ALL.map(|paper| (paper.name(), paper));
    let paper = paper.map(|name| one_of("paper", name, &papers)).transpose()?;
    write_file(py, path, |file| write_pdf(drawings, file, Pages { paper, overlap_mm }))
}

/// Drawings in a row, feet on one line, `gap_mm` clear between them; named after the first.
#[pyfunction]
pub fn merge_drawings(drawings: Vec<PyRef<'_, Drawing>>, gap_mm: f64) -> Drawing {
    let drawings: Vec<CoreDrawing> = drawings.iter().map(|drawing| drawing.drawing.clone()).collect();
    CoreDrawing::side_by_side(&drawings, gap_mm).into()
}

fn svg_options(background: bool) -> SvgOptions {
    SvgOptions { background: background.then_some([255, 255, 255]), fit_page: false }
}

/// The one of these choices that is named.
pub(crate) fn one_of<T: Copy>(what: &str, name: &str, choices: &[(&str, T)]) -> PyResult<T> {
    let found = choices.iter().find(|(known, _)| *known == name);
    found.map(|(_, choice)| *choice).ok_or_else(|| {
        let known: Vec<String> = choices.iter().map(|(known, _)| format!("\"{known}\"")).collect();
        let (last, rest) = known
            .split_last()
            .map_or((String::new(), String::new()), |(last, rest)| (last.clone(), rest.join(", ")));
        DrawingError::new_err(format!("{what} must be {rest} or {last}, got \"{name}\""))
    })
}

fn positive(name: &str, value: f64) -> PyResult<()> {
    if value.is_finite() && value > 0.0 {
        return Ok(());
    }
    Err(DrawingError::new_err(format!("{name} must be a number above 0, got {value}")))
}

fn read_points(points: &Bound<'_, PyAny>) -> PyResult<Vec<Point>> {
    let numpy = points.py().import("numpy")?;
    let refused = |_| DrawingError::new_err("points must be (n, 2): pairs of numbers, in mm");
    let array = numpy.call_method1("asarray", (points, "float64")).map_err(refused)?;
    let array: PyReadonlyArray2<'_, f64> =
        array.cast::<PyArray2<f64>>().map_err(|e| refused(e.into()))?.readonly();
    let array = array.as_array();
    if array.shape()[1] != 2 {
        return Err(DrawingError::new_err(format!("points must be (n, 2), got {:?}", array.shape())));
    }
    Ok(array.rows().into_iter().map(|row| Point::new(row[0], row[1])).collect())
}

fn anchor_name(anchor: Anchor) -> &'static str {
    match anchor {
        Anchor::Start => "start",
        Anchor::Middle => "middle",
        Anchor::End => "end",
    }
}

fn read_anchor(name: &str) -> PyResult<Anchor> {
    let known = [Anchor::Start, Anchor::Middle, Anchor::End];
    known.into_iter().find(|anchor| anchor_name(*anchor) == name).ok_or_else(|| {
        DrawingError::new_err(format!("anchor must be \"start\", \"middle\" or \"end\", got \"{name}\""))
    })
}

fn fault_name(fault: &Fault) -> &'static str {
    match fault {
        Fault::NotFinite => "not finite",
        Fault::NoSuchLayer => "no such layer",
        Fault::OpenCut => "open cut",
        Fault::NoLength => "no length",
        Fault::DrawnTwice => "drawn twice",
        Fault::CrossesItself => "crosses itself",
        Fault::NoArea => "no area",
        Fault::MarkOnCut => "mark on cut",
        Fault::MarkOutside => "mark outside",
        Fault::LettersOutside => "letters outside",
        Fault::TextOnCut => "text on cut",
        Fault::Respelled(_) => "respelled",
    }
}

/// Writes a file as every output is written: over no input, whole or not at all.
fn write_file(
    py: Python<'_>,
    path: &Path,
    write: impl FnOnce(&mut File) -> Result<(), WriteError> + Send,
) -> PyResult<()> {
    output::over_no_input(py, path)?;
    py.detach(|| write_whole(path, write)).map_err(|error| write_error(error, Some(path)))?;
    output::written(py, path)
}

fn write_error(error: WriteError, path: Option<&Path>) -> PyErr {
    match (error, path) {
        (WriteError::Io(error), Some(path)) => output::os_error(&error, path),
        (WriteError::Io(error), None) => error.into(),
        (other, _) => DrawingError::new_err(other.to_string()),
    }
}
