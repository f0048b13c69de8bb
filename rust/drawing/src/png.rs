//! Drawings as PNG, for pages and screens that show no drawings: one drawing sheet, or a pattern, at a stated resolution.
//!
//! Lines have their width on paper, and never less than a pixel's half; letters are the single strokes that are engraved.
//! The file says how many pixels go to a metre (pHYs, ISO/IEC 15948), so that it prints at its size.

use std::io::Write;

use kurbo::{BezPath, PathEl, Rect};
use tiny_skia::{LineCap, LineJoin, Paint, Path, PathBuilder, Pixmap, Stroke, StrokeDash, Transform};

use crate::error::{WriteError, refuse_broken};
use crate::lettering::engraved;
use crate::model::{Drawing, Item, Layer};
use crate::title::with_title_box;

/// Resolutions that are written, dots to the inch: from a thumbnail's to a photosetter's.
const RESOLUTIONS: std::ops::RangeInclusive<f64> = 10.0..=2400.0;

/// The most pixels of a picture: 200 megapixels are 800 megabytes of memory while it is drawn.
const MOST_PIXELS: f64 = 2e8;

/// A line's least width, pixels: thinner ones fade.
const LEAST_PIXELS: f32 = 0.7;

/// Clear space round a pattern, mm.
const MARGIN_MM: f64 = 5.0;

const MM_IN_INCH: f64 = 25.4;

/// Writes a picture at full size, so many dots to the inch, on white. Refused before anything is written as
/// [`crate::write_dxf`] does, and where it would have too many pixels.
pub fn write_png(drawing: &Drawing, to: &mut impl Write, dots_per_inch: f64) -> Result<(), WriteError> {
    refuse_broken(drawing)?;
    let drawing = &with_title_box(drawing);
    if !RESOLUTIONS.contains(&dots_per_inch) {
        return Err(WriteError::Resolution(dots_per_inch));
    }
    let page = page(drawing);
    let per_mm = dots_per_inch / MM_IN_INCH;
    let (width, height) =
        ((page.width() * per_mm).round().max(1.0), (page.height() * per_mm).round().max(1.0));
    let too_large = || WriteError::Pixels {
        width,
        height,
        most: (dots_per_inch * (MOST_PIXELS / (width * height)).sqrt()).floor(),
    };
    if width * height > MOST_PIXELS {
        return Err(too_large());
    }
    let mut picture = Pixmap::new(width as u32, height as u32).ok_or_else(too_large)?;
    picture.fill(tiny_skia::Color::WHITE);
    // y turned down, the page's upper left corner at the origin.
    let s = per_mm as f32;
    let view = Transform::from_row(s, 0.0, 0.0, -s, (-page.x0 * per_mm) as f32, (page.y1 * per_mm) as f32);
    for (index, layer) in drawing.layers.iter().enumerate() {
        for item in drawing.items.iter().filter(|item| item.layer() == index) {
            match item {
                Item::Path { path, .. } => draw(&mut picture, path, layer, true, view, s),
                Item::Text { at, height, angle, anchor, text, .. } => {
                    let strokes = engraved(text, *at, *height, *angle, *anchor);
                    draw(&mut picture, &strokes, layer, false, view, s);
                }
            }
        }
    }
    let mut file = png::Encoder::new(to, picture.width(), picture.height());
    file.set_color(png::ColorType::Rgb);
    file.set_depth(png::BitDepth::Eight);
    let per_metre = (dots_per_inch * 1e3 / MM_IN_INCH).round() as u32;
    let unit = png::Unit::Meter;
    file.set_pixel_dims(Some(png::PixelDimensions { xppu: per_metre, yppu: per_metre, unit }));
    let title = if drawing.title.is_empty() { &drawing.name } else { &drawing.title };
    file.add_itxt_chunk("Title".to_owned(), title.clone()).map_err(written)?;
    let rgb: Vec<u8> = picture.data().chunks_exact(4).flat_map(|p| [p[0], p[1], p[2]]).collect();
    let mut file = file.write_header().map_err(written)?;
    file.write_image_data(&rgb).map_err(written)?;
    file.finish().map_err(written)
}

/// A sheet, or what a pattern takes.
fn page(drawing: &Drawing) -> Rect {
    match drawing.sheet {
        Some(size) => Rect::from_origin_size((0.0, 0.0), size),
        None => {
            let bounds = drawing.bounds().unwrap_or(Rect::new(0.0, 0.0, 100.0, 100.0));
            bounds.inflate(MARGIN_MM, MARGIN_MM)
        }
    }
}

fn draw(picture: &mut Pixmap, path: &BezPath, layer: &Layer, dashed: bool, view: Transform, pixels: f32) {
    let Some(path) = outline(path) else { return };
    let mut paint = Paint { anti_alias: true, ..Paint::default() };
    let [red, green, blue] = layer.stroke.rgb;
    paint.set_color_rgba8(red, green, blue, 255);
    let dashes = layer.stroke.dashes_mm.iter().map(|part| *part as f32).collect::<Vec<_>>();
    let stroke = Stroke {
        width: (layer.stroke.width_mm as f32).max(LEAST_PIXELS / pixels),
        line_cap: LineCap::Butt,
        line_join: LineJoin::Round,
        dash: if dashed { StrokeDash::new(dashes, 0.0) } else { None },
        ..Stroke::default()
    };
    picture.stroke_path(&path, &paint, &stroke, view, None);
}

/// A path as it is drawn; `None` for one without a line.
fn outline(path: &BezPath) -> Option<Path> {
    let f = |v: f64| v as f32;
    let mut made = PathBuilder::new();
    for element in path.elements() {
        match *element {
            PathEl::MoveTo(p) => made.move_to(f(p.x), f(p.y)),
            PathEl::LineTo(p) => made.line_to(f(p.x), f(p.y)),
            PathEl::QuadTo(p, q) => made.quad_to(f(p.x), f(p.y), f(q.x), f(q.y)),
            PathEl::CurveTo(p, q, r) => made.cubic_to(f(p.x), f(p.y), f(q.x), f(q.y), f(r.x), f(r.y)),
            PathEl::ClosePath => made.close(),
        }
    }
    made.finish()
}

fn written(error: png::EncodingError) -> WriteError {
    match error {
        png::EncodingError::IoError(error) => WriteError::Io(error),
        other => WriteError::Io(std::io::Error::other(other)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Operation;
    use kurbo::{Point, Size};

    fn read(drawing: &Drawing, dots_per_inch: f64) -> (png::Info<'static>, Vec<u8>) {
        let mut bytes = Vec::new();
        write_png(drawing, &mut bytes, dots_per_inch).expect("a picture");
        let mut reader = png::Decoder::new(std::io::Cursor::new(bytes)).read_info().expect("a PNG");
        let mut pixels = vec![0; reader.output_buffer_size().expect("a size")];
        reader.next_frame(&mut pixels).expect("pixels");
        (reader.info().clone(), pixels)
    }

    fn cross() -> Drawing {
        let mut drawing = Drawing { sheet: Some(Size::new(254.0, 127.0)), ..Drawing::new("a", "A") };
        let layer = drawing.layer("Hull", Operation::CutOutside);
        drawing.line(layer, Point::new(25.4, 12.7), Point::new(228.6, 12.7));
        drawing
    }

    #[test]
    fn a_sheet_is_as_many_pixels_as_it_measures_and_a_line_is_where_it_is_drawn() {
        let (info, pixels) = read(&cross(), 100.0);
        assert_eq!((info.width, info.height), (1000, 500));
        let dims = info.pixel_dims.expect("a resolution");
        assert_eq!((dims.xppu, dims.yppu), (3937, 3937));
        let dark = |x: usize, y: usize| pixels[3 * (y * 1000 + x)] < 128;
        // 12.7 mm from the foot is 450 pixels from the head.
        assert!(dark(500, 450) || dark(500, 449));
        assert!(!dark(500, 440) && !dark(90, 450) && !dark(910, 450));
    }

    #[test]
    fn a_resolution_nobody_prints_at_and_a_picture_nobody_can_hold_are_refused() {
        let mut nothing = Vec::new();
        assert!(matches!(write_png(&cross(), &mut nothing, 3.0), Err(WriteError::Resolution(_))));
        let long = Drawing { sheet: Some(Size::new(20_000.0, 4_000.0)), ..cross() };
        let most = match write_png(&long, &mut nothing, 300.0) {
            Err(WriteError::Pixels { most, .. }) => most,
            other => unreachable!("{other:?}"),
        };
        assert!(nothing.is_empty());
        write_png(&long, &mut nothing, most.min(20.0)).expect("fewer are written");
        assert!((36.0..300.0).contains(&most), "{most}");
    }
}
