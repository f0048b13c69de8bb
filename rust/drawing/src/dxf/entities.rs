//! Entities: outlines as polylines of lines and arcs, circles, single lines and arcs, text.

use super::handle;
use std::io::{self, Write};

use kurbo::Point;

use super::writer::{BULGE_DIGITS, Writer};
use crate::arcs::{self, Outline, Segment};
use crate::model::{Anchor, Drawing, Item};
use crate::to_ascii;

impl<W: Write> Writer<'_, W> {
    pub(super) fn entities(&mut self, drawing: &Drawing) -> io::Result<()> {
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
}
