//! Drawings as SVG, for looking: real size in millimetres, y turned down, a group a layer.
//!
//! A full-size pattern on a screen is shown far below its size, where a line of its paper width would
//! fade; its lines keep their width in pixels instead. Bytes depend on the drawing alone.

use crate::error::{WriteError, refuse_broken};
use crate::fixed::{BUFFER, push_short};
use crate::model::{Anchor, Drawing, Item, Layer};
use crate::title::with_title_box;
use kurbo::{BezPath, PathEl, Point, Rect};
use std::io::Write;

/// How an SVG is written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct SvgOptions {
    /// Paper behind the drawing, sRGB; none leaves it clear.
    pub background: Option<[u8; 3]>,
    /// As large as there is room for on a page, such as a notebook's cell, and not at full size.
    pub fit_page: bool,
}

/// The room there is on a page, such as a notebook's cell, pixels.
const CELL_PX: (f64, f64) = (900.0, 640.0);

/// Clear space round the drawing, part of its longer side.
const MARGIN: f64 = 0.02;

/// Drawings with a longer side than this, mm, keep the width of their lines in pixels; smaller
/// ones fit on a sheet and are shown near their size.
const LARGEST_SHEET_MM: f64 = 600.0;

/// CSS pixels in a millimetre.
const PIXELS_PER_MM: f64 = 96.0 / 25.4;

/// Height of a capital in a common sans serif, part of its em.
const CAPITAL: f64 = 0.72;

/// Digits after the point: a micrometre.
const DIGITS: u32 = 3;

/// Writes a drawing; refused as [`crate::write_dxf`] does, before anything is written.
pub fn write_svg(drawing: &Drawing, to: &mut impl Write, options: &SvgOptions) -> Result<(), WriteError> {
    refuse_broken(drawing)?;
    let drawing = &with_title_box(drawing);
    let page = page(drawing);
    let hairlines = drawing.sheet.is_none() && page.width().max(page.height()) > LARGEST_SHEET_MM;
    let mut text = Vec::new();
    head(&mut text, drawing, page, options);
    for (index, layer) in drawing.layers.iter().enumerate() {
        let mut items = drawing.items.iter().filter(|item| item.layer() == index).peekable();
        if items.peek().is_none() {
            continue;
        }
        group(&mut text, index, layer, hairlines);
        for item in items {
            match item {
                Item::Path { path, .. } => line(&mut text, path, hairlines),
                Item::Text { at, height, angle, anchor, text: words, .. } => {
                    label(&mut text, *at, *height, *angle, *anchor, words, layer);
                }
            }
            if text.len() >= BUFFER {
                to.write_all(&text)?;
                text.clear();
            }
        }
        text.extend_from_slice(b"</g>\n");
    }
    text.extend_from_slice(b"</svg>\n");
    to.write_all(&text)?;
    Ok(())
}

/// The drawing as the text of an SVG file.
pub fn svg(drawing: &Drawing, options: &SvgOptions) -> Result<String, WriteError> {
    let mut bytes = Vec::new();
    write_svg(drawing, &mut bytes, options)?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// What is shown, y down.
fn page(drawing: &Drawing) -> Rect {
    if let Some(size) = drawing.sheet {
        return Rect::new(0.0, -size.height, size.width, 0.0);
    }
    let bounds = drawing.bounds().unwrap_or(Rect::new(0.0, 0.0, 100.0, 100.0));
    let margin = (MARGIN * bounds.width().max(bounds.height())).max(1.0);
    let shown = bounds.inflate(margin, margin);
    Rect::new(shown.x0, -shown.y1, shown.x1, -shown.y0)
}

fn head(text: &mut Vec<u8>, drawing: &Drawing, page: Rect, options: &SvgOptions) {
    // At full size in millimetres; for a page, so many pixels, for what shows it may go by these alone.
    let (times, unit) = if options.fit_page {
        ((CELL_PX.0 / page.width()).min(CELL_PX.1 / page.height()), "")
    } else {
        (1.0, "mm")
    };
    text.extend_from_slice(b"<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" width=\"");
    push_short(text, times * page.width(), DIGITS);
    text.extend_from_slice(unit.as_bytes());
    text.extend_from_slice(b"\" height=\"");
    push_short(text, times * page.height(), DIGITS);
    text.extend_from_slice(unit.as_bytes());
    text.extend_from_slice(b"\" viewBox=\"");
    numbers(text, &[page.x0, page.y0, page.width(), page.height()]);
    text.push(b'"');
    if options.fit_page {
        text.extend_from_slice(b" style=\"max-width:100%;height:auto\"");
    }
    text.extend_from_slice(b">\n<title>");
    escape(text, if drawing.title.is_empty() { &drawing.name } else { &drawing.title });
    text.extend_from_slice(b"</title>\n<desc>");
    let layers: Vec<String> =
        (drawing.layers.iter()).map(|layer| format!("{} ({})", layer.name, layer.operation.name())).collect();
    escape(text, &format!("{}. Layers: {}.", drawing.name, layers.join(", ")));
    text.extend_from_slice(b"</desc>\n");
    if let Some(colour) = options.background {
        text.extend_from_slice(b"<path fill=\"");
        push_colour(text, colour);
        text.extend_from_slice(b"\" d=\"M");
        numbers(text, &[page.x0, page.y0]);
        for (letter, value) in [(b'H', page.x1), (b'V', page.y1), (b'H', page.x0)] {
            text.push(letter);
            push_short(text, value, DIGITS);
        }
        text.extend_from_slice(b"Z\"/>\n");
    }
}

fn group(text: &mut Vec<u8>, index: usize, layer: &Layer, hairlines: bool) {
    let scale = if hairlines { PIXELS_PER_MM } else { 1.0 };
    let stroke = &layer.stroke;
    text.extend_from_slice(format!("<g id=\"layer-{}\" fill=\"none\" stroke=\"", index + 1).as_bytes());
    push_colour(text, stroke.rgb);
    text.extend_from_slice(b"\" stroke-width=\"");
    push_short(text, scale * stroke.width_mm, DIGITS);
    text.extend_from_slice(b"\" stroke-linejoin=\"round\"");
    if !stroke.dashes_mm.is_empty() {
        text.extend_from_slice(b" stroke-dasharray=\"");
        let dashes: Vec<f64> = stroke.dashes_mm.iter().map(|dash| scale * dash).collect();
        numbers(text, &dashes);
        text.push(b'"');
    }
    text.extend_from_slice(b">\n<title>");
    escape(text, &layer.name);
    text.extend_from_slice(b"</title>\n");
}

fn line(text: &mut Vec<u8>, path: &BezPath, hairlines: bool) {
    text.extend_from_slice(b"<path d=\"");
    for element in path.elements() {
        match *element {
            PathEl::MoveTo(p) => command(text, b'M', &[p]),
            PathEl::LineTo(p) => command(text, b'L', &[p]),
            PathEl::QuadTo(p, q) => command(text, b'Q', &[p, q]),
            PathEl::CurveTo(p, q, r) => command(text, b'C', &[p, q, r]),
            PathEl::ClosePath => text.push(b'Z'),
        }
    }
    text.push(b'"');
    if hairlines {
        text.extend_from_slice(b" vector-effect=\"non-scaling-stroke\"");
    }
    text.extend_from_slice(b"/>\n");
}

fn command(text: &mut Vec<u8>, letter: u8, points: &[Point]) {
    text.push(letter);
    for (i, point) in points.iter().enumerate() {
        if i > 0 {
            text.push(b' ');
        }
        numbers(text, &[point.x, -point.y]);
    }
}

fn label(text: &mut Vec<u8>, at: Point, height: f64, angle: f64, anchor: Anchor, words: &str, layer: &Layer) {
    let anchor = match anchor {
        Anchor::Start => "start",
        Anchor::Middle => "middle",
        Anchor::End => "end",
    };
    text.extend_from_slice(b"<text x=\"");
    push_short(text, at.x, DIGITS);
    text.extend_from_slice(b"\" y=\"");
    push_short(text, -at.y, DIGITS);
    text.extend_from_slice(b"\" font-family=\"sans-serif\" font-size=\"");
    push_short(text, height / CAPITAL, DIGITS);
    text.extend_from_slice(b"\" text-anchor=\"");
    text.extend_from_slice(anchor.as_bytes());
    text.extend_from_slice(b"\" stroke=\"none\" fill=\"");
    push_colour(text, layer.stroke.rgb);
    if angle != 0.0 {
        text.extend_from_slice(b"\" transform=\"rotate(");
        numbers(text, &[-angle.to_degrees(), at.x, -at.y]);
        text.push(b')');
    }
    text.extend_from_slice(b"\">");
    escape(text, words);
    text.extend_from_slice(b"</text>\n");
}

fn numbers(text: &mut Vec<u8>, values: &[f64]) {
    for (i, value) in values.iter().enumerate() {
        if i > 0 {
            text.push(b' ');
        }
        push_short(text, *value, DIGITS);
    }
}

fn push_colour(text: &mut Vec<u8>, [red, green, blue]: [u8; 3]) {
    text.extend_from_slice(format!("#{red:02x}{green:02x}{blue:02x}").as_bytes());
}

/// Text as XML takes it: marks of its own escaped, characters it forbids as spaces.
fn escape(text: &mut Vec<u8>, words: &str) {
    for character in words.chars() {
        let escaped = match character {
            '&' => "&amp;",
            '<' => "&lt;",
            '>' => "&gt;",
            '"' => "&quot;",
            _ if character.is_control() || matches!(character, '\u{fffe}' | '\u{ffff}') => " ",
            _ => {
                text.extend_from_slice(character.encode_utf8(&mut [0; 4]).as_bytes());
                continue;
            }
        };
        text.extend_from_slice(escaped.as_bytes());
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Operation;

    fn written(build: impl FnOnce(&mut Drawing)) -> String {
        let mut drawing = Drawing::new("part", "Part & <parcel>");
        build(&mut drawing);
        svg(&drawing, &SvgOptions::default()).expect("a sound drawing is written")
    }

    #[test]
    fn real_size_is_stated_and_y_runs_down() {
        let text = written(|drawing| {
            let layer = drawing.layer("Grid", Operation::Mark);
            drawing.line(layer, Point::new(0.0, 0.0), Point::new(200.0, 50.0));
        });
        // 200 mm and 2 % of it on either side.
        assert!(text.contains("width=\"208mm\" height=\"58mm\" viewBox=\"-4 -54 208 58\""), "{text}");
        assert!(text.contains("<path d=\"M0 0L200 -50\"/>"), "{text}");
    }

    #[test]
    fn lines_of_a_full_size_pattern_keep_their_width_on_screen() {
        let line = |length: f64| {
            written(|drawing| {
                let dashed = Operation::Mark.stroke().dashed(&[6.0, 3.0]);
                let layer = drawing.layer_drawn("Grid", Operation::Mark, dashed);
                drawing.line(layer, Point::ORIGIN, Point::new(length, 0.0));
            })
        };
        assert!(
            line(400.0).contains("stroke-width=\"0.18\" stroke-linejoin=\"round\" stroke-dasharray=\"6 3\"")
        );
        assert!(!line(400.0).contains("non-scaling"));
        assert!(
            line(1400.0).contains("stroke-width=\"0.68\"") && line(1400.0).contains("non-scaling-stroke")
        );
    }

    #[test]
    fn words_cannot_break_the_file() {
        let text = written(|drawing| {
            let layer = drawing.layer("A & \"B\"", Operation::Annotate);
            drawing.text(layer, Point::ORIGIN, 5.0, 0.5, Anchor::End, "a <b>\u{0}\n& ⅜");
        });
        assert!(text.contains("<title>Part &amp; &lt;parcel&gt;</title>"));
        assert!(text.contains("<title>A &amp; &quot;B&quot;</title>"));
        assert!(text.contains(">a &lt;b&gt;  &amp; ⅜</text>"));
        assert!(text.contains("text-anchor=\"end\""));
        assert_eq!(text.matches('<').count(), text.matches('>').count());
    }

    #[test]
    fn layers_without_anything_on_them_are_left_out() {
        let text = written(|drawing| {
            drawing.layer("Empty", Operation::Mark);
        });
        assert!(!text.contains("<g") && text.ends_with("</svg>\n"));
    }

    #[test]
    fn a_background_and_a_fit_are_given_on_request() {
        let options = SvgOptions { background: Some([255, 255, 255]), fit_page: true };
        let text = svg(&Drawing::new("a", "A"), &options).expect("an empty drawing");
        assert!(text.contains("<path fill=\"#ffffff\" d=\"M-2 -102H102V2H-2Z\"/>"), "{text}");
        assert!(text.contains("style=\"max-width:100%;height:auto\""));
    }
}
