//! Groups of code and value, buffered, and what a drawing is known by in the file.

use super::handle;
use std::io::{self, Write};

use kurbo::{Point, Rect};

use super::names::{layer_name, line_type, told};
use super::{DxfOptions, DxfVersion, is_cut};
use crate::fixed::{BUFFER, push_fixed, push_integer};
use crate::model::{Drawing, Layer};

/// Digits after the point: lengths to a nanometre, bulges so that the rise of a 10 m chord is
/// right to a micrometre.
const LENGTH_DIGITS: u32 = 6;

pub(super) const BULGE_DIGITS: u32 = 10;

pub(super) struct Named<'a> {
    pub(super) name: String,
    pub(super) line_type: String,
    pub(super) layer: &'a Layer,
}

pub(super) struct Writer<'a, W> {
    pub(super) to: &'a mut W,
    pub(super) buffer: Vec<u8>,
    pub(super) r2000: bool,
    pub(super) options: DxfOptions,
    next_handle: u64,
    pub(super) layers: Vec<Named<'a>>,
    pub(super) line_types: Vec<(String, &'a [f64])>,
    pub(super) extent: Rect,
}

impl<'a, W: Write> Writer<'a, W> {
    pub(super) fn new(to: &'a mut W, sheet: [&'a Drawing; 2], options: &DxfOptions) -> Self {
        let r2000 = options.version == DxfVersion::R2000;
        let mut line_types: Vec<(String, &[f64])> = Vec::new();
        let mut taken = vec!["0".to_owned(), "DEFPOINTS".to_owned()];
        let mut layers = Vec::new();
        let cut = sheet.into_iter().any(is_cut);
        for layer in sheet.into_iter().flat_map(|drawing| &drawing.layers) {
            let line_type = line_type(&layer.stroke, &mut line_types);
            let name = if cut { told(layer, options.mark_depth_mm, r2000) } else { layer.name.clone() };
            let name = layer_name(&name, r2000, &mut taken);
            layers.push(Named { name, line_type, layer });
        }
        Self {
            to,
            buffer: Vec::with_capacity(BUFFER + 256),
            r2000,
            options: *options,
            next_handle: handle::FIRST_FREE,
            layers,
            line_types,
            extent: (sheet.into_iter().filter_map(Drawing::bounds))
                .reduce(|a, b| a.union(b))
                .unwrap_or(Rect::new(0.0, 0.0, 100.0, 100.0)),
        }
    }

    pub(super) fn tag(&mut self, code: u16, value: &str) {
        push_integer(&mut self.buffer, i64::from(code));
        self.buffer.push(b'\n');
        self.buffer.extend_from_slice(value.as_bytes());
        self.buffer.push(b'\n');
    }

    pub(super) fn integer(&mut self, code: u16, value: i64) {
        push_integer(&mut self.buffer, i64::from(code));
        self.buffer.push(b'\n');
        push_integer(&mut self.buffer, value);
        self.buffer.push(b'\n');
    }

    pub(super) fn number(&mut self, code: u16, value: f64, digits: u32) {
        push_integer(&mut self.buffer, i64::from(code));
        self.buffer.push(b'\n');
        push_fixed(&mut self.buffer, value, digits);
        self.buffer.push(b'\n');
    }

    pub(super) fn length(&mut self, code: u16, value: f64) {
        self.number(code, value, LENGTH_DIGITS);
    }

    pub(super) fn point(&mut self, code: u16, x: f64, y: f64) {
        self.length(code, x);
        self.length(code + 10, y);
    }

    pub(super) fn point_3d(&mut self, code: u16, at: Point) {
        self.point(code, at.x, at.y);
        self.length(code + 20, 0.0);
    }

    pub(super) fn handle(&mut self, code: u16, value: u64) {
        self.tag(code, &format!("{value:X}"));
    }

    pub(super) fn take_handle(&mut self) -> u64 {
        self.next_handle += 1;
        self.next_handle - 1
    }

    pub(super) fn section(&mut self, name: &str) {
        self.tag(0, "SECTION");
        self.tag(2, name);
    }

    pub(super) fn flush_full(&mut self) -> io::Result<()> {
        if self.buffer.len() >= BUFFER { self.flush() } else { Ok(()) }
    }

    pub(super) fn flush(&mut self) -> io::Result<()> {
        self.to.write_all(&self.buffer)?;
        self.buffer.clear();
        Ok(())
    }
}
