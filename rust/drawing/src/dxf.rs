//! Drawings as DXF, R2000 (AC1015) or R12 (AC1009), in millimetres.
//!
//! Written as the published DXF reference sets out: every table, owner, block record and handle a strict
//! reader asks for. Outlines go out as one polyline of lines and arcs each, circles as circles; bytes
//! depend on the drawing alone, and are streamed, one outline in memory at a time.

use crate::arcs::{self, CHORD_TOLERANCE_MM, Outline, Segment};
use crate::error::{WriteError, refuse_broken};
use crate::fixed::{BUFFER, push_fixed, push_integer};
use crate::model::{Anchor, Drawing, Item, Layer, Stroke};
use crate::to_ascii;
use kurbo::{Point, Rect};
use std::io::{self, Write};

/// Which DXF.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum DxfVersion {
    /// AC1015, read by nearly everything since 1999.
    #[default]
    R2000,
    /// AC1009, for old controllers: no line weights, short upper-case layer names.
    R12,
}

/// How a DXF is written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DxfOptions {
    /// Which DXF.
    pub version: DxfVersion,
    /// Greatest distance of the arcs from the curves, mm.
    pub tolerance_mm: f64,
}

impl Default for DxfOptions {
    fn default() -> Self {
        Self { version: DxfVersion::default(), tolerance_mm: CHORD_TOLERANCE_MM }
    }
}

/// Writes a drawing. It is looked over first: with a number that is not finite or a layer that is
/// not there, nothing is written. [`crate::check`] finds what a shop would stumble over.
pub fn write_dxf(drawing: &Drawing, to: &mut impl Write, options: &DxfOptions) -> Result<(), WriteError> {
    refuse_broken(drawing)?;
    if !(options.tolerance_mm > 0.0 && options.tolerance_mm.is_finite()) {
        return Err(WriteError::Tolerance(options.tolerance_mm));
    }
    let mut writer = Writer::new(to, drawing, options);
    writer.header(drawing)?;
    writer.tables()?;
    writer.blocks()?;
    writer.entities(drawing)?;
    writer.objects()?;
    writer.tag(0, "EOF");
    writer.flush()?;
    Ok(())
}

/// Digits after the point: lengths to a nanometre, bulges so that the rise of a 10 m chord is
/// right to a micrometre.
const LENGTH_DIGITS: u32 = 6;
const BULGE_DIGITS: u32 = 10;

/// Handles of the fixed records; those of layers, line types and entities follow.
mod handle {
    pub const BLOCK_RECORDS: u64 = 0x1;
    pub const LAYERS: u64 = 0x2;
    pub const STYLES: u64 = 0x3;
    pub const LINE_TYPES: u64 = 0x5;
    pub const VIEWS: u64 = 0x6;
    pub const COORDINATE_SYSTEMS: u64 = 0x7;
    pub const VIEWPORTS: u64 = 0x8;
    pub const APPLICATIONS: u64 = 0x9;
    pub const DIMENSION_STYLES: u64 = 0xA;
    pub const ROOT: u64 = 0xC;
    pub const GROUPS: u64 = 0xD;
    pub const PLOT_STYLES: u64 = 0xE;
    pub const PLOT_STYLE: u64 = 0xF;
    pub const LAYOUTS: u64 = 0x10;
    pub const APPLICATION: u64 = 0x11;
    pub const STYLE: u64 = 0x12;
    pub const DIMENSION_STYLE: u64 = 0x13;
    pub const VIEWPORT: u64 = 0x14;
    pub const BY_BLOCK: u64 = 0x15;
    pub const BY_LAYER: u64 = 0x16;
    pub const CONTINUOUS: u64 = 0x17;
    pub const MODEL: u64 = 0x18;
    pub const PAPER: u64 = 0x1C;
    /// A space's block, the block's end and its layout are these beyond its record.
    pub const BLOCK: u64 = 1;
    pub const BLOCK_END: u64 = 2;
    pub const LAYOUT: u64 = 3;
    pub const FIRST_FREE: u64 = 0x40;
}

struct Named<'a> {
    name: String,
    line_type: String,
    layer: &'a Layer,
}

struct Writer<'a, W> {
    to: &'a mut W,
    buffer: Vec<u8>,
    r2000: bool,
    tolerance_mm: f64,
    next_handle: u64,
    layers: Vec<Named<'a>>,
    line_types: Vec<(String, &'a [f64])>,
    extent: Rect,
}

impl<'a, W: Write> Writer<'a, W> {
    fn new(to: &'a mut W, drawing: &'a Drawing, options: &DxfOptions) -> Self {
        let r2000 = options.version == DxfVersion::R2000;
        let mut line_types: Vec<(String, &[f64])> = Vec::new();
        let mut taken = vec!["0".to_owned(), "DEFPOINTS".to_owned()];
        let mut layers = Vec::new();
        for layer in &drawing.layers {
            let line_type = line_type_name(&layer.stroke);
            if !layer.stroke.dashes_mm.is_empty() && line_types.iter().all(|(name, _)| *name != line_type) {
                line_types.push((line_type.clone(), &layer.stroke.dashes_mm));
            }
            let name = layer_name(&layer.name, r2000, &mut taken);
            layers.push(Named { name, line_type, layer });
        }
        Self {
            to,
            buffer: Vec::with_capacity(BUFFER + 256),
            r2000,
            tolerance_mm: options.tolerance_mm,
            next_handle: handle::FIRST_FREE,
            layers,
            line_types,
            extent: drawing.bounds().unwrap_or(Rect::new(0.0, 0.0, 100.0, 100.0)),
        }
    }

    fn tag(&mut self, code: u16, value: &str) {
        push_integer(&mut self.buffer, i64::from(code));
        self.buffer.push(b'\n');
        self.buffer.extend_from_slice(value.as_bytes());
        self.buffer.push(b'\n');
    }

    fn integer(&mut self, code: u16, value: i64) {
        push_integer(&mut self.buffer, i64::from(code));
        self.buffer.push(b'\n');
        push_integer(&mut self.buffer, value);
        self.buffer.push(b'\n');
    }

    fn number(&mut self, code: u16, value: f64, digits: u32) {
        push_integer(&mut self.buffer, i64::from(code));
        self.buffer.push(b'\n');
        push_fixed(&mut self.buffer, value, digits);
        self.buffer.push(b'\n');
    }

    fn length(&mut self, code: u16, value: f64) {
        self.number(code, value, LENGTH_DIGITS);
    }

    fn point(&mut self, code: u16, x: f64, y: f64) {
        self.length(code, x);
        self.length(code + 10, y);
    }

    fn point_3d(&mut self, code: u16, at: Point) {
        self.point(code, at.x, at.y);
        self.length(code + 20, 0.0);
    }

    fn handle(&mut self, code: u16, value: u64) {
        self.tag(code, &format!("{value:X}"));
    }

    fn take_handle(&mut self) -> u64 {
        self.next_handle += 1;
        self.next_handle - 1
    }

    fn section(&mut self, name: &str) {
        self.tag(0, "SECTION");
        self.tag(2, name);
    }

    fn flush_full(&mut self) -> io::Result<()> {
        if self.buffer.len() >= BUFFER { self.flush() } else { Ok(()) }
    }

    fn flush(&mut self) -> io::Result<()> {
        self.to.write_all(&self.buffer)?;
        self.buffer.clear();
        Ok(())
    }

    fn header(&mut self, drawing: &Drawing) -> io::Result<()> {
        self.section("HEADER");
        self.variable("$ACADVER");
        self.tag(1, if self.r2000 { "AC1015" } else { "AC1009" });
        if self.r2000 {
            self.variable("$DWGCODEPAGE");
            self.tag(3, "ANSI_1252");
            // No entity takes a handle past this: each outline uses up at least one path element.
            let entities: usize = (drawing.items.iter())
                .map(|item| match item {
                    Item::Path { path, .. } => path.elements().len(),
                    Item::Text { .. } => 1,
                })
                .sum();
            let records = self.layers.len() + self.line_types.len() + entities;
            self.variable("$HANDSEED");
            self.handle(5, handle::FIRST_FREE + records as u64 + 1);
        }
        self.variable("$INSUNITS");
        self.integer(70, 4);
        self.variable("$MEASUREMENT");
        self.integer(70, 1);
        self.variable("$LTSCALE");
        // Dashes are lengths on paper; a drawing at full size is looked at on a sheet.
        let longer = self.extent.width().max(self.extent.height());
        let is_dashed = drawing.layers.iter().any(|layer| !layer.stroke.dashes_mm.is_empty());
        let full_size = is_dashed && longer > LARGEST_SHEET_MM;
        self.length(40, if full_size { (longer / SHEET_MM).round() } else { 1.0 });
        self.variable("$EXTMIN");
        self.point_3d(10, Point::new(self.extent.x0, self.extent.y0));
        self.variable("$EXTMAX");
        self.point_3d(10, Point::new(self.extent.x1, self.extent.y1));
        self.tag(0, "ENDSEC");
        if self.r2000 {
            self.section("CLASSES");
            self.tag(0, "ENDSEC");
        }
        self.flush_full()
    }

    fn variable(&mut self, name: &str) {
        self.tag(9, name);
    }

    fn tables(&mut self) -> io::Result<()> {
        self.section("TABLES");
        self.viewports();
        self.table_of_line_types();
        self.table_of_layers();
        self.table("STYLE", handle::STYLES, 1);
        self.record("STYLE", handle::STYLE, handle::STYLES, "AcDbTextStyleTableRecord", "STANDARD");
        self.length(40, 0.0);
        self.length(41, 1.0);
        self.length(50, 0.0);
        self.integer(71, 0);
        self.length(42, 2.5);
        self.tag(3, "txt");
        self.tag(4, "");
        self.tag(0, "ENDTAB");
        for (name, owner) in [("VIEW", handle::VIEWS), ("UCS", handle::COORDINATE_SYSTEMS)] {
            self.table(name, owner, 0);
            self.tag(0, "ENDTAB");
        }
        self.table("APPID", handle::APPLICATIONS, 1);
        self.record("APPID", handle::APPLICATION, handle::APPLICATIONS, "AcDbRegAppTableRecord", "ACAD");
        self.tag(0, "ENDTAB");
        if self.r2000 {
            self.table("DIMSTYLE", handle::DIMENSION_STYLES, 1);
            self.tag(100, "AcDbDimStyleTable");
            self.tag(0, "DIMSTYLE");
            self.handle(105, handle::DIMENSION_STYLE);
            self.handle(330, handle::DIMENSION_STYLES);
            self.tag(100, "AcDbSymbolTableRecord");
            self.tag(100, "AcDbDimStyleTableRecord");
            self.tag(2, "STANDARD");
            self.integer(70, 0);
            self.tag(0, "ENDTAB");
            self.table("BLOCK_RECORD", handle::BLOCK_RECORDS, 2);
            for (space, name) in [(handle::MODEL, "*Model_Space"), (handle::PAPER, "*Paper_Space")] {
                self.tag(0, "BLOCK_RECORD");
                self.handle(5, space);
                self.handle(330, handle::BLOCK_RECORDS);
                self.tag(100, "AcDbSymbolTableRecord");
                self.tag(100, "AcDbBlockTableRecord");
                self.tag(2, name);
                self.handle(340, space + handle::LAYOUT);
            }
            self.tag(0, "ENDTAB");
        }
        self.tag(0, "ENDSEC");
        self.flush_full()
    }

    fn table(&mut self, name: &str, own: u64, count: usize) {
        self.tag(0, "TABLE");
        self.tag(2, name);
        if self.r2000 {
            self.handle(5, own);
            self.handle(330, 0);
            self.tag(100, "AcDbSymbolTable");
        }
        self.integer(70, count as i64);
    }

    /// Opens a record of a table: through its name and flags.
    fn record(&mut self, kind: &str, own: u64, owner: u64, class: &str, name: &str) {
        self.tag(0, kind);
        if self.r2000 {
            self.handle(5, own);
            self.handle(330, owner);
            self.tag(100, "AcDbSymbolTableRecord");
            self.tag(100, class);
        }
        self.tag(2, name);
        self.integer(70, 0);
    }

    /// One view of the whole drawing, so that it is on the screen when opened.
    fn viewports(&mut self) {
        let (centre, size) = (self.extent.center(), self.extent.size());
        self.table("VPORT", handle::VIEWPORTS, 1);
        let class = "AcDbViewportTableRecord";
        self.record("VPORT", handle::VIEWPORT, handle::VIEWPORTS, class, "*ACTIVE");
        self.point(10, 0.0, 0.0);
        self.point(11, 1.0, 1.0);
        self.point(12, centre.x, centre.y);
        self.point(13, 0.0, 0.0);
        self.point(14, 10.0, 10.0);
        self.point(15, 10.0, 10.0);
        self.point(16, 0.0, 0.0);
        self.length(36, 1.0);
        self.point(17, 0.0, 0.0);
        self.length(37, 0.0);
        // Wide and tall enough for a screen of 4 to 3, with a margin.
        self.length(40, 1.1 * size.height.max(0.75 * size.width).max(1.0));
        self.length(41, 4.0 / 3.0);
        self.length(42, 50.0);
        self.length(43, 0.0);
        self.length(44, 0.0);
        self.length(50, 0.0);
        self.length(51, 0.0);
        for (code, value) in [(71, 0), (72, 1000), (73, 1), (74, 3), (75, 0), (76, 0), (77, 0), (78, 0)] {
            self.integer(code, value);
        }
        self.tag(0, "ENDTAB");
    }

    fn table_of_line_types(&mut self) {
        let plain: &[(&str, u64)] = if self.r2000 {
            &[("BYBLOCK", handle::BY_BLOCK), ("BYLAYER", handle::BY_LAYER), (CONTINUOUS, handle::CONTINUOUS)]
        } else {
            &[(CONTINUOUS, handle::CONTINUOUS)]
        };
        self.table("LTYPE", handle::LINE_TYPES, plain.len() + self.line_types.len());
        for (name, own) in plain {
            self.line_type(name, *own, &[]);
        }
        for (name, dashes) in self.line_types.clone() {
            let own = self.take_handle();
            self.line_type(&name, own, dashes);
        }
        self.tag(0, "ENDTAB");
    }

    fn line_type(&mut self, name: &str, own: u64, dashes: &[f64]) {
        self.record("LTYPE", own, handle::LINE_TYPES, "AcDbLinetypeTableRecord", name);
        self.tag(3, "");
        self.integer(72, 65);
        // An odd list goes round twice, so that dashes and gaps alternate.
        let rounds = if dashes.len() % 2 == 1 { 2 } else { 1 };
        self.integer(73, (rounds * dashes.len()) as i64);
        self.length(40, rounds as f64 * dashes.iter().sum::<f64>());
        for i in 0..rounds * dashes.len() {
            let length = dashes[i % dashes.len()];
            self.length(49, if i % 2 == 0 { length } else { -length });
            if self.r2000 {
                self.integer(74, 0);
            }
        }
    }

    fn table_of_layers(&mut self) {
        self.table("LAYER", handle::LAYERS, self.layers.len() + 1);
        let ground = self.take_handle();
        self.layer("0", ground, 7, CONTINUOUS, -3);
        for i in 0..self.layers.len() {
            let own = self.take_handle();
            let Named { name, line_type, layer } = &self.layers[i];
            let (name, line_type) = (name.clone(), line_type.clone());
            let (colour, weight) = (nearest_colour(layer.stroke.rgb), nearest_weight(layer.stroke.width_mm));
            self.layer(&name, own, colour, &line_type, weight);
        }
        self.tag(0, "ENDTAB");
    }

    fn layer(&mut self, name: &str, own: u64, colour: i64, line_type: &str, weight: i64) {
        self.record("LAYER", own, handle::LAYERS, "AcDbLayerTableRecord", name);
        self.integer(62, colour);
        self.tag(6, line_type);
        if self.r2000 {
            self.integer(370, weight);
            self.handle(390, handle::PLOT_STYLE);
        }
    }

    fn blocks(&mut self) -> io::Result<()> {
        self.section("BLOCKS");
        if self.r2000 {
            for (space, name) in [(handle::MODEL, "*Model_Space"), (handle::PAPER, "*Paper_Space")] {
                for (own, kind, class) in [
                    (handle::BLOCK, "BLOCK", "AcDbBlockBegin"),
                    (handle::BLOCK_END, "ENDBLK", "AcDbBlockEnd"),
                ] {
                    self.tag(0, kind);
                    self.handle(5, space + own);
                    self.handle(330, space);
                    self.tag(100, "AcDbEntity");
                    if space == handle::PAPER {
                        self.integer(67, 1);
                    }
                    self.tag(8, "0");
                    self.tag(100, class);
                    if own == handle::BLOCK {
                        self.tag(2, name);
                        self.integer(70, 0);
                        self.point_3d(10, Point::ORIGIN);
                        self.tag(3, name);
                        self.tag(1, "");
                    }
                }
            }
        }
        self.tag(0, "ENDSEC");
        self.flush_full()
    }

    fn entities(&mut self, drawing: &Drawing) -> io::Result<()> {
        self.section("ENTITIES");
        for item in &drawing.items {
            match item {
                Item::Path { layer, path } => {
                    for outline in arcs::fit(path, self.tolerance_mm) {
                        self.outline(*layer, &outline);
                        self.flush_full()?;
                    }
                }
                Item::Text { layer, at, height, angle, anchor, text } => {
                    self.entity("TEXT", "AcDbText", *layer);
                    self.point_3d(10, *at);
                    self.length(40, *height);
                    // A caret starts a code for a control character; followed by a space it stands for itself.
                    self.tag(1, &to_ascii(text).replace('^', "^ "));
                    self.length(50, angle.to_degrees());
                    let along = match anchor {
                        Anchor::Start => 0,
                        Anchor::Middle => 1,
                        Anchor::End => 2,
                    };
                    if along != 0 {
                        self.integer(72, along);
                        self.point_3d(11, *at);
                    }
                    if self.r2000 {
                        self.tag(100, "AcDbText");
                    }
                    self.flush_full()?;
                }
            }
        }
        self.tag(0, "ENDSEC");
        self.flush_full()
    }

    /// Opens an entity, through its layer and class.
    fn entity(&mut self, kind: &str, class: &str, layer: usize) {
        self.tag(0, kind);
        if self.r2000 {
            let own = self.take_handle();
            self.handle(5, own);
            self.handle(330, handle::MODEL);
            self.tag(100, "AcDbEntity");
        }
        self.layer_of(layer);
        if self.r2000 {
            self.tag(100, class);
        }
    }

    fn layer_of(&mut self, layer: usize) {
        self.buffer.extend_from_slice(b"8\n");
        self.buffer.extend_from_slice(self.layers[layer].name.as_bytes());
        self.buffer.push(b'\n');
    }

    fn outline(&mut self, layer: usize, outline: &Outline) {
        if let Some((centre, radius)) = outline.circle() {
            self.entity("CIRCLE", "AcDbCircle", layer);
            self.point_3d(10, centre);
            self.length(40, radius);
            return;
        }
        if let (false, [first, last]) = (outline.closed, outline.vertices.as_slice()) {
            self.single(layer, Segment { from: first.at, to: last.at, bulge: first.bulge });
            return;
        }
        if self.r2000 {
            self.entity("LWPOLYLINE", "AcDbPolyline", layer);
            self.integer(90, outline.vertices.len() as i64);
            self.integer(70, i64::from(outline.closed));
            self.length(43, 0.0);
            for vertex in &outline.vertices {
                self.point(10, vertex.at.x, vertex.at.y);
                if vertex.bulge != 0.0 {
                    self.number(42, vertex.bulge, BULGE_DIGITS);
                }
            }
        } else {
            self.entity("POLYLINE", "", layer);
            self.integer(66, 1);
            self.point_3d(10, Point::ORIGIN);
            self.integer(70, i64::from(outline.closed));
            for vertex in &outline.vertices {
                self.entity("VERTEX", "", layer);
                self.point_3d(10, vertex.at);
                if vertex.bulge != 0.0 {
                    self.number(42, vertex.bulge, BULGE_DIGITS);
                }
            }
            self.entity("SEQEND", "", layer);
        }
    }

    fn single(&mut self, layer: usize, segment: Segment) {
        let Some((centre, radius)) = segment.circle() else {
            self.entity("LINE", "AcDbLine", layer);
            self.point_3d(10, segment.from);
            self.point_3d(11, segment.to);
            return;
        };
        self.entity("ARC", "AcDbCircle", layer);
        self.point_3d(10, centre);
        self.length(40, radius);
        if self.r2000 {
            self.tag(100, "AcDbArc");
        }
        // Arcs run anticlockwise.
        let (first, last) =
            if segment.bulge > 0.0 { (segment.from, segment.to) } else { (segment.to, segment.from) };
        for (code, end) in [(50, first), (51, last)] {
            let degrees = (end - centre).atan2().to_degrees().rem_euclid(360.0);
            self.number(code, degrees, BULGE_DIGITS);
        }
    }

    fn objects(&mut self) -> io::Result<()> {
        if !self.r2000 {
            return Ok(());
        }
        self.section("OBJECTS");
        self.dictionary(
            "DICTIONARY",
            handle::ROOT,
            0,
            &[
                ("ACAD_GROUP", handle::GROUPS),
                ("ACAD_LAYOUT", handle::LAYOUTS),
                ("ACAD_PLOTSTYLENAME", handle::PLOT_STYLES),
            ],
        );
        self.dictionary("DICTIONARY", handle::GROUPS, handle::ROOT, &[]);
        let layouts =
            [("Layout1", handle::PAPER + handle::LAYOUT), ("Model", handle::MODEL + handle::LAYOUT)];
        self.dictionary("DICTIONARY", handle::LAYOUTS, handle::ROOT, &layouts);
        let styles = [("Normal", handle::PLOT_STYLE)];
        self.dictionary("ACDBDICTIONARYWDFLT", handle::PLOT_STYLES, handle::ROOT, &styles);
        self.tag(100, "AcDbDictionaryWithDefault");
        self.handle(340, handle::PLOT_STYLE);
        self.tag(0, "ACDBPLACEHOLDER");
        self.handle(5, handle::PLOT_STYLE);
        self.handle(330, handle::PLOT_STYLES);
        self.layout("Model", handle::MODEL, 0);
        self.layout("Layout1", handle::PAPER, 1);
        self.tag(0, "ENDSEC");
        self.flush_full()
    }

    fn dictionary(&mut self, kind: &str, own: u64, owner: u64, entries: &[(&str, u64)]) {
        self.tag(0, kind);
        self.handle(5, own);
        self.handle(330, owner);
        self.tag(100, "AcDbDictionary");
        self.integer(281, 1);
        for (name, entry) in entries {
            self.tag(3, name);
            self.handle(350, *entry);
        }
    }

    fn layout(&mut self, name: &str, space: u64, tab: i64) {
        self.tag(0, "LAYOUT");
        self.handle(5, space + handle::LAYOUT);
        self.handle(330, handle::LAYOUTS);
        self.tag(100, "AcDbPlotSettings");
        self.tag(1, "");
        self.tag(2, "none_device");
        self.tag(4, "");
        self.tag(6, "");
        for code in [40, 41, 42, 43, 44, 45, 46, 47, 48, 49, 140, 141] {
            self.length(code, 0.0);
        }
        self.length(142, 1.0);
        self.length(143, 1.0);
        // Model space prints as displayed, in millimetres, at full size.
        self.integer(70, if tab == 0 { 1024 | 688 } else { 688 });
        self.integer(72, 1);
        self.integer(73, 0);
        self.integer(74, 5);
        self.tag(7, "");
        self.integer(75, 16);
        self.length(147, 1.0);
        self.length(148, 0.0);
        self.length(149, 0.0);
        self.tag(100, "AcDbLayout");
        self.tag(1, name);
        self.integer(70, 1);
        self.integer(71, tab);
        self.point(10, 0.0, 0.0);
        self.point(11, 420.0, 297.0);
        self.point_3d(12, Point::ORIGIN);
        self.point_3d(14, Point::new(self.extent.x0, self.extent.y0));
        self.point_3d(15, Point::new(self.extent.x1, self.extent.y1));
        self.length(146, 0.0);
        self.point_3d(13, Point::ORIGIN);
        self.point_3d(16, Point::new(1.0, 0.0));
        self.point_3d(17, Point::new(0.0, 1.0));
        self.integer(76, 0);
        self.handle(330, space);
    }
}

const CONTINUOUS: &str = "CONTINUOUS";

/// Longest layer name of R12.
const R12_NAME: usize = 31;

/// A layer's name as DXF allows it, none of those taken, to which it is added.
fn layer_name(name: &str, r2000: bool, taken: &mut Vec<String>) -> String {
    let plain = to_ascii(name);
    let allowed = |c: char| match c {
        '<' | '>' | '/' | '\\' | '"' | ':' | ';' | '?' | '*' | '|' | '=' | '`' | ',' => false,
        _ => r2000 || c.is_ascii_alphanumeric() || matches!(c, '_' | '-' | '$'),
    };
    let mut base: String = plain.trim().chars().map(|c| if allowed(c) { c } else { '-' }).collect();
    if base.is_empty() {
        base.push_str("LAYER");
    }
    let longest = if r2000 { 255 } else { R12_NAME };
    if !r2000 {
        base.make_ascii_uppercase();
    }
    base.truncate(longest);
    let mut unique = base.clone();
    let mut number = 2;
    while taken.contains(&unique.to_ascii_uppercase()) {
        let suffix = format!("-{number}");
        unique = format!("{}{suffix}", &base[..base.len().min(longest - suffix.len())]);
        number += 1;
    }
    taken.push(unique.to_ascii_uppercase());
    unique
}

fn line_type_name(stroke: &Stroke) -> String {
    if stroke.dashes_mm.is_empty() {
        return CONTINUOUS.to_owned();
    }
    let tenths = stroke.dashes_mm.iter().map(|dash| format!("_{}", (10.0 * dash).round()));
    let mut name = format!("DASH{}", tenths.collect::<String>());
    name.truncate(R12_NAME);
    name
}

/// A drawing longer than this, mm, is at full size; it is looked at as on a sheet so long.
const LARGEST_SHEET_MM: f64 = 1200.0;
const SHEET_MM: f64 = 420.0;

/// Line weights a layer can have, hundredths of a millimetre.
const WEIGHTS: [i64; 24] =
    [0, 5, 9, 13, 15, 18, 20, 25, 30, 35, 40, 50, 53, 60, 70, 80, 90, 100, 106, 120, 140, 158, 200, 211];

fn nearest_weight(width_mm: f64) -> i64 {
    let wanted = 100.0 * width_mm;
    WEIGHTS
        .into_iter()
        .min_by(|a, b| (*a as f64 - wanted).abs().total_cmp(&(*b as f64 - wanted).abs()))
        .unwrap_or(0)
}

/// The colour index nearest in sRGB. Black is 7, which is drawn black on white and white on black.
fn nearest_colour(rgb: [u8; 3]) -> i64 {
    if rgb == [0, 0, 0] {
        return 7;
    }
    let apart = |index: &i64| {
        let other = indexed_colour(*index);
        (0..3).map(|i| (i32::from(rgb[i]) - i32::from(other[i])).pow(2)).sum::<i32>()
    };
    (1..=255).min_by_key(apart).unwrap_or(7)
}

/// The colours of the index: nine plain ones, 24 hues by five darknesses and two strengths, six greys.
fn indexed_colour(index: i64) -> [u8; 3] {
    const PLAIN: [[u8; 3]; 9] = [
        [255, 0, 0],
        [255, 255, 0],
        [0, 255, 0],
        [0, 255, 255],
        [0, 0, 255],
        [255, 0, 255],
        [255, 255, 255],
        [128, 128, 128],
        [192, 192, 192],
    ];
    const GREYS: [u8; 6] = [51, 91, 132, 173, 214, 255];
    const BRIGHT: [f64; 5] = [255.0, 165.0, 127.0, 76.0, 38.0];
    match index {
        1..=9 => PLAIN[index as usize - 1],
        250..=255 => [GREYS[index as usize - 250]; 3],
        _ => {
            let hue = (index / 10 - 1) as f64 / 4.0;
            let bright = BRIGHT[(index % 10) as usize / 2];
            let floor = if index % 2 == 1 { 0.5 } else { 0.0 };
            [0.0, 4.0, 2.0].map(|turn| {
                // Each of the three is full for two sixths of the circle and falls off over one.
                let around = (hue + turn).rem_euclid(6.0);
                let strength = ((around - 3.0).abs() - 1.0).clamp(0.0, 1.0);
                (bright * (floor + (1.0 - floor) * strength)).floor() as u8
            })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Operation;
    use dxf::entities::EntityType;
    use std::f64::consts::FRAC_PI_2;

    fn half_mould() -> Drawing {
        let mut drawing = Drawing::new("mould-3", "Mould 3");
        let cut = drawing.layer("Outline", Operation::CutOutside);
        let mut path = kurbo::BezPath::new();
        path.move_to((30.0, 10.0));
        path.curve_to((260.0, 60.0), (440.0, 130.0), (560.0, 280.0));
        path.curve_to((660.0, 405.0), (690.0, 540.0), (700.0, 700.0));
        path.line_to((0.0, 700.0));
        path.line_to((0.0, 10.0));
        path.close_path();
        drawing.path(cut, path);
        let hole = drawing.layer("Holes", Operation::CutInside);
        drawing.circle(hole, Point::new(300.0, 400.0), 6.0);
        let grid = Operation::Mark.stroke().dashed(&[6.0, 3.0]);
        let grid = drawing.layer_drawn("Waterlines: 3″ apart", Operation::Mark, grid);
        drawing.line(grid, Point::new(0.0, 300.0), Point::new(580.0, 300.0));
        let words = drawing.layer("Words", Operation::Annotate);
        drawing.text(words, Point::new(20.0, 600.0), 8.0, FRAC_PI_2, Anchor::Middle, "Mould 3, 1⅜″ in ^");
        drawing
    }

    fn written(drawing: &Drawing, version: DxfVersion) -> String {
        let mut bytes = Vec::new();
        let options = DxfOptions { version, ..DxfOptions::default() };
        write_dxf(drawing, &mut bytes, &options).expect("a sound drawing is written");
        String::from_utf8(bytes).expect("ASCII is UTF-8")
    }

    fn read(text: &str) -> dxf::Drawing {
        dxf::Drawing::load(&mut text.as_bytes()).expect("a second reader reads it")
    }

    #[test]
    fn a_second_reader_finds_the_same_vertices() {
        let drawing = half_mould();
        let Item::Path { path, .. } = &drawing.items[0] else { unreachable!("the outline is first") };
        let outline = &arcs::fit(path, CHORD_TOLERANCE_MM)[0];
        let back = read(&written(&drawing, DxfVersion::R2000));
        let entities: Vec<_> = back.entities().collect();
        assert_eq!(entities.len(), 4);
        let EntityType::LwPolyline(polyline) = &entities[0].specific else {
            unreachable!("an outline is a polyline")
        };
        assert!(polyline.is_closed());
        assert_eq!(polyline.vertices.len(), outline.vertices.len());
        for (read, fitted) in polyline.vertices.iter().zip(&outline.vertices) {
            assert!((read.x - fitted.at.x).abs() < 1e-6 && (read.y - fitted.at.y).abs() < 1e-6);
            assert!((read.bulge - fitted.bulge).abs() < 1e-9);
        }
        let EntityType::Circle(circle) = &entities[1].specific else { unreachable!("a hole is a circle") };
        assert!((circle.radius - 6.0).abs() < 1e-3);
        assert_eq!(back.header.default_drawing_units, dxf::enums::Units::Millimeters);
    }

    #[test]
    fn layers_carry_names_colours_and_broken_lines() {
        let back = read(&written(&half_mould(), DxfVersion::R2000));
        let layers: Vec<_> = back.layers().map(|layer| layer.name.clone()).collect();
        assert_eq!(layers, ["0", "Outline", "Holes", "Waterlines- 3- apart", "Words"]);
        let grid = back.layers().nth(3).expect("the waterlines");
        let line_type = back.line_types().find(|kind| kind.name == grid.line_type_name);
        let lengths = line_type.map(|kind| kind.dash_dot_space_lengths.clone());
        assert_eq!(lengths, Some(vec![6.0, -3.0]));
    }

    #[test]
    fn r12_knows_nothing_newer_than_a_polyline_of_vertices() {
        let text = written(&half_mould(), DxfVersion::R12);
        assert!(!text.contains("LWPOLYLINE") && !text.contains("AcDb") && text.contains("AC1009"));
        assert!(text.contains("\nWATERLINES--3--APART\n"));
        let polylines = text.matches("\nPOLYLINE\n").count();
        assert_eq!((polylines, text.matches("\nSEQEND\n").count()), (1, 1));
    }

    #[test]
    fn a_second_reader_finds_the_same_vertices_in_r12() {
        let drawing = half_mould();
        let Item::Path { path, .. } = &drawing.items[0] else { unreachable!("the outline is first") };
        let outline = &arcs::fit(path, CHORD_TOLERANCE_MM)[0];
        let back = read(&written(&drawing, DxfVersion::R12));
        let first = back.entities().next().map(|entity| &entity.specific);
        let Some(EntityType::Polyline(polyline)) = first else { unreachable!("an outline is a polyline") };
        assert!(polyline.is_closed());
        let read: Vec<_> = polyline.vertices().collect();
        assert_eq!(read.len(), outline.vertices.len());
        for (read, fitted) in read.iter().zip(&outline.vertices) {
            assert!((read.location.x - fitted.at.x).abs() < 1e-6);
            assert!((read.location.y - fitted.at.y).abs() < 1e-6 && (read.bulge - fitted.bulge).abs() < 1e-9);
        }
    }

    #[test]
    fn text_is_ascii_with_a_caret_standing_for_itself() {
        let text = written(&half_mould(), DxfVersion::R2000);
        assert!(text.is_ascii());
        assert!(text.contains("\nMould 3, 1 3/8\" in ^ \n"));
        // Nothing that a text says can end its own line and become a group of its own.
        let mut sly = Drawing::new("a", "A");
        let layer = sly.layer("A\n0\nEOF", Operation::Mark);
        sly.text(layer, Point::ORIGIN, 5.0, 0.0, Anchor::Start, "a\r\n0\nEOF");
        assert_eq!(written(&sly, DxfVersion::R2000).matches("\nEOF\n").count(), 1);
    }

    #[test]
    fn the_same_drawing_gives_the_same_bytes() {
        for version in [DxfVersion::R2000, DxfVersion::R12] {
            assert_eq!(written(&half_mould(), version), written(&half_mould(), version));
        }
    }

    #[test]
    fn a_number_that_is_none_is_an_error_and_nothing_is_written() {
        let mut drawing = half_mould();
        drawing.text(0, Point::new(f64::INFINITY, 0.0), 5.0, 0.0, Anchor::Start, "x");
        drawing.line(9, Point::ORIGIN, Point::new(1.0, 1.0));
        let mut bytes = Vec::new();
        let error = write_dxf(&drawing, &mut bytes, &DxfOptions::default()).expect_err("it is refused");
        assert_eq!(
            error.to_string(),
            "drawing \"mould-3\" cannot be written: a coordinate or size is not a finite number \
             (layer \"Outline\", the text \"x\"), and 1 more"
        );
        assert!(bytes.is_empty());
        let options = DxfOptions { tolerance_mm: 0.0, ..DxfOptions::default() };
        let error = write_dxf(&half_mould(), &mut bytes, &options).expect_err("it is refused");
        assert_eq!(error.to_string(), "tolerance must be more than 0 mm, not 0");
    }

    #[test]
    fn an_empty_drawing_is_a_whole_file() {
        let back = read(&written(&Drawing::new("empty", "Empty"), DxfVersion::R2000));
        assert_eq!(back.entities().count(), 0);
    }

    #[test]
    fn layer_names_are_made_allowed_and_told_apart() {
        let mut taken = vec!["0".to_owned()];
        let long = "x".repeat(40);
        let names = ["Outline", "OUTLINE", "0", "a/b", "", &long, &long]
            .map(|name| layer_name(name, false, &mut taken));
        let (first, second) = ("X".repeat(31), format!("{}-2", "X".repeat(29)));
        assert_eq!(names, ["OUTLINE", "OUTLINE-2", "0-2", "A-B", "LAYER", &first, &second]);
    }

    #[test]
    fn colours_find_their_own_index() {
        // From the published colour index: 10 red, 30 orange, 94 dark green, 174 dark blue.
        for (index, rgb) in [(30, [255, 127, 0]), (94, [0, 127, 0]), (174, [0, 0, 127]), (250, [51, 51, 51])]
        {
            assert_eq!(indexed_colour(index), rgb);
            assert_eq!(nearest_colour(rgb), index);
        }
        assert_eq!(nearest_colour([255, 0, 0]), 1);
        assert_eq!(nearest_colour([0, 0, 0]), 7);
    }
}
