//! Entities: outlines as polylines of lines and arcs, or as splines, circles, single lines and arcs, text.

use super::handle;
use std::io::{self, Write};

use kurbo::{BezPath, CubicBez, Point};

use super::writer::{BULGE_DIGITS, Writer};
use super::{DxfOptions, Letters, Outlines};
use crate::arcs::{self, Outline, Segment};
use crate::model::{Anchor, Drawing, Item, Operation};
use crate::{engraved, to_ascii};

/// A spline's flag for lying in a plane; 1 more for closing.
const PLANAR: i64 = 8;

impl<W: Write> Writer<'_, W> {
    /// What is drawn on each of the drawings of a sheet; their layers are counted through.
    pub(super) fn entities(&mut self, sheet: [&Drawing; 2]) -> io::Result<()> {
        self.section("ENTITIES");
        let mut first_layer = 0;
        for drawing in sheet {
            for item in &drawing.items {
                let layer = first_layer + item.layer();
                match item {
                    Item::Path { path, .. } => self.path(layer, path)?,
                    Item::Text { at, height, angle, anchor, text, .. } => match self.options.letters {
                        Letters::Strokes => {
                            self.path(layer, &engraved(text, *at, *height, *angle, *anchor))?;
                        }
                        Letters::Text => self.text(layer, *at, *height, *angle, *anchor, text),
                    },
                }
                self.flush_full()?;
            }
            first_layer += drawing.layers.len();
        }
        self.tag(0, "ENDSEC");
        self.flush_full()
    }

    fn text(&mut self, layer: usize, at: Point, height: f64, angle: f64, anchor: Anchor, text: &str) {
        self.entity("TEXT", "AcDbText", layer);
        self.point_3d(10, at);
        self.length(40, height);
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
            self.point_3d(11, at);
        }
        if self.r2000 {
            self.tag(100, "AcDbText");
        }
    }

    /// A path as the outlines asked for: the outside of a part anticlockwise, a hole clockwise.
    fn path(&mut self, layer: usize, path: &BezPath) -> io::Result<()> {
        let DxfOptions { tolerance_mm, outlines, least_segment_mm, .. } = self.options;
        let anticlockwise = match self.layers[layer].layer.operation {
            Operation::CutOutside => Some(true),
            Operation::CutInside => Some(false),
            _ => None,
        };
        for curve in arcs::parts(path) {
            let Some(fitted) = curve.fit(tolerance_mm) else { continue };
            let turn = fitted.closed && anticlockwise.is_some_and(|on| on != (fitted.turned_area() > 0.0));
            if let Some((centre, radius)) = fitted.circle() {
                self.entity("CIRCLE", "AcDbCircle", layer);
                self.point_3d(10, centre);
                self.length(40, radius);
            } else if outlines == Outlines::Splines && fitted.vertices.iter().any(|v| v.bulge != 0.0) {
                self.spline(layer, &curve.cubics(turn));
            } else {
                let mut outline = match outlines {
                    Outlines::Polylines => curve.flatten(tolerance_mm).unwrap_or(fitted),
                    _ => fitted,
                };
                outline.without_short(least_segment_mm);
                if turn {
                    outline.reverse();
                }
                self.outline(layer, &outline);
            }
            self.flush_full()?;
        }
        Ok(())
    }

    /// Cubic curves end to end as one spline: each knot between them three times over, so that each curve is as it was.
    fn spline(&mut self, layer: usize, cubics: &[CubicBez]) {
        let (Some(first), Some(last)) = (cubics.first(), cubics.last()) else { return };
        self.entity("SPLINE", "AcDbSpline", layer);
        for (code, value) in [(210, 0.0), (220, 0.0), (230, 1.0)] {
            self.length(code, value);
        }
        self.integer(70, PLANAR + i64::from(first.p0 == last.p3));
        self.integer(71, 3);
        let spots = 3 * cubics.len() + 1;
        for (code, count) in [(72, spots + 4), (73, spots), (74, 0)] {
            self.integer(code, count as i64);
        }
        // The first and the last knot are there once more.
        self.length(40, 0.0);
        for knot in 0..=cubics.len() {
            for _ in 0..3 {
                self.length(40, knot as f64);
            }
        }
        self.length(40, cubics.len() as f64);
        self.point_3d(10, first.p0);
        for curve in cubics {
            for spot in [curve.p1, curve.p2, curve.p3] {
                self.point_3d(10, spot);
            }
        }
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
