//! Header, tables and blocks: what a strict reader asks for before the first line.

use super::handle;
use std::io::{self, Write};

use kurbo::Point;

use super::colours::{nearest_colour, nearest_weight};
use super::names::CONTINUOUS;
use super::writer::{Named, Writer};
use crate::model::{Drawing, Item};
use crate::to_ascii;

impl<W: Write> Writer<'_, W> {
    pub(super) fn header(&mut self, sheet: [&Drawing; 2]) -> io::Result<()> {
        self.section("HEADER");
        self.variable("$ACADVER");
        self.tag(1, if self.r2000 { "AC1015" } else { "AC1009" });
        if self.r2000 {
            self.variable("$DWGCODEPAGE");
            self.tag(3, "ANSI_1252");
            // No entity takes a handle past this: each outline uses up at least one path element, and no letter has more
            // strokes than this.
            let entities: usize = (sheet.into_iter().flat_map(|drawing| &drawing.items))
                .map(|item| match item {
                    Item::Path { path, .. } => path.elements().len(),
                    Item::Text { text, .. } => 1 + MOST_STROKES * to_ascii(text).len(),
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
        let is_dashed = self.layers.iter().any(|named| !named.layer.stroke.dashes_mm.is_empty());
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

    pub(super) fn tables(&mut self) -> io::Result<()> {
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

    pub(super) fn layer(&mut self, name: &str, own: u64, colour: i64, line_type: &str, weight: i64) {
        self.record("LAYER", own, handle::LAYERS, "AcDbLayerTableRecord", name);
        self.integer(62, colour);
        self.tag(6, line_type);
        if self.r2000 {
            self.integer(370, weight);
            self.handle(390, handle::PLOT_STYLE);
        }
    }

    pub(super) fn blocks(&mut self) -> io::Result<()> {
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
}

/// Strokes of a letter, at most.
const MOST_STROKES: usize = 8;

/// A drawing longer than this, mm, is at full size; it is looked at as on a sheet so long.
const LARGEST_SHEET_MM: f64 = 1200.0;

const SHEET_MM: f64 = 420.0;
