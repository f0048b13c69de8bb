//! The letters of a file as a font within it (Type 3, ISO 32000-1, 9.6.5): single strokes as they are engraved, each
//! letter with the character it is (ToUnicode), so that words are found and copied as they were given.
//!
//! A character that is spelled (`é`, `⅜`) is one letter that shows its spelling and is itself when it is searched for;
//! after a digit some are parted from it, so that `1⅜` is shown as `1 3/8`.

use std::collections::{BTreeMap, HashMap};

use pdf_writer::types::{LineCapStyle, LineJoinStyle, SystemInfo, UnicodeCmap};
use pdf_writer::{Content, Dict, Finish as _, Name, Pdf, Rect, Ref, Str};

use crate::lettering::{engraved_width, letter};
use crate::to_ascii;

/// Units of a letter's own space in the height of a capital, and in the size of the font: a capital of the usual fonts
/// is about six tenths of their size, which is what readers take words apart by.
const CAPITAL: f64 = 600.0;
const SIZE: f64 = 1000.0;

/// Breadth of a stroke over the height of a capital (ISO 3098, type A: a fourteenth).
const STROKE: f64 = 1.0 / 14.0;

/// Letters of one font: a byte says which, and those below are left alone as in ASCII.
const FIRST: usize = 32;
const IN_FONT: usize = 256 - FIRST;

/// The letters that a file uses so far.
#[derive(Default)]
pub(super) struct Letters {
    /// Their places: ASCII by its own order, others after it as they come.
    used: BTreeMap<usize, Letter>,
    others: HashMap<Letter, usize>,
}

/// A character, and whether it is shown with a space before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
struct Letter {
    is: char,
    parted: bool,
}

impl Letters {
    fn place(&mut self, letter: Letter) -> usize {
        let place = if letter.is.is_ascii() {
            letter.is as usize - FIRST
        } else {
            let next = IN_FONT / 2 + self.others.len();
            *self.others.entry(letter).or_insert(next)
        };
        self.used.insert(place, letter);
        place
    }

    /// Shows a line of text that begins at the place of a text matrix.
    pub fn show(&mut self, content: &mut Content, text: &str, height: f64, matrix: [f32; 6]) {
        content.begin_text().set_text_matrix(matrix);
        let size = (height * SIZE / CAPITAL) as f32;
        let places: Vec<usize> = told(text).into_iter().map(|letter| self.place(letter)).collect();
        for run in places.chunk_by(|a, b| a / IN_FONT == b / IN_FONT) {
            let bytes: Vec<u8> = run.iter().map(|place| (place % IN_FONT + FIRST) as u8).collect();
            content.set_font(Name(font_name(run[0] / IN_FONT).as_bytes()), size).show(Str(&bytes));
        }
        content.end_text();
    }

    /// Writes the fonts, and their names into the resources of the pages.
    pub fn write(&self, pdf: &mut Pdf, next: &mut dyn FnMut() -> Ref) -> Vec<(String, Ref)> {
        let mut fonts: BTreeMap<usize, Vec<(u8, Letter)>> = BTreeMap::new();
        for (place, letter) in &self.used {
            let code = (place % IN_FONT + FIRST) as u8;
            fonts.entry(place / IN_FONT).or_default().push((code, *letter));
        }
        let written = fonts.into_iter().map(|(at, letters)| (font_name(at), write_font(pdf, next, &letters)));
        written.collect()
    }
}

fn font_name(at: usize) -> String {
    format!("F{at}")
}

/// Writes one font of these letters and their codes.
fn write_font(pdf: &mut Pdf, next: &mut dyn FnMut() -> Ref, letters: &[(u8, Letter)]) -> Ref {
    let (font, to_unicode) = (next(), next());
    let drawn: Vec<(u8, Letter, f64, Ref)> =
        letters.iter().map(|&(code, letter)| (code, letter, advance(letter), next())).collect();
    let widest = drawn.iter().map(|one| one.2).fold(CAPITAL, f64::max);
    let (first, last) = (letters[0].0, letters[letters.len() - 1].0);
    let mut of_font = pdf.type3_font(font);
    // From the foot of a tail to the head of a capital.
    of_font.bbox(Rect::new(0.0, -(CAPITAL / 3.0) as f32, widest as f32, CAPITAL as f32));
    of_font.matrix([(1.0 / SIZE) as f32, 0.0, 0.0, (1.0 / SIZE) as f32, 0.0, 0.0]);
    of_font.first_char(first).last_char(last);
    let width = |code| drawn.iter().find(|one| one.0 == code).map_or(0.0, |one| one.2 as f32);
    of_font.widths((first..=last).map(width));
    of_font.to_unicode(to_unicode);
    let mut procs = of_font.char_procs();
    for (_, letter, _, glyph) in &drawn {
        procs.pair(Name(letter.glyph_name().as_bytes()), *glyph);
    }
    procs.finish();
    let mut encoding = of_font.encoding_custom();
    let mut differences = encoding.differences();
    for (code, letter, ..) in &drawn {
        differences.consecutive(*code, [Name(letter.glyph_name().as_bytes())]);
    }
    differences.finish();
    encoding.finish();
    of_font.insert(Name(b"Resources")).start::<Dict<'_>>();
    of_font.finish();

    let info = SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"UCS"), supplement: 0 };
    let mut cmap = UnicodeCmap::<u8>::new(Name(b"Strokes"), info);
    for (code, letter, ..) in &drawn {
        cmap.pair(*code, letter.is);
    }
    pdf.stream(to_unicode, cmap.finish().as_slice());
    for (_, letter, on, glyph) in &drawn {
        pdf.stream(*glyph, &strokes(*letter, *on));
    }
    font
}

/// What a letter's strokes are, with all that a stroke needs said: readers differ in what they keep from the page.
fn strokes(of: Letter, on: f64) -> Vec<u8> {
    let mut content = Content::new();
    content.start_color_glyph(on as f32);
    content.set_line_width((STROKE * CAPITAL) as f32);
    content.set_line_cap(LineCapStyle::RoundCap).set_line_join(LineJoinStyle::RoundJoin);
    content.set_dash_pattern([], 0.0);
    for stroke in letter(&of.spelled()).1 {
        for (i, point) in stroke.into_iter().enumerate() {
            let (x, y) = ((CAPITAL * point.x) as f32, (CAPITAL * point.y) as f32);
            if i == 0 {
                content.move_to(x, y)
            } else {
                content.line_to(x, y)
            };
        }
        content.stroke();
    }
    content.finish().into_vec()
}

fn advance(of: Letter) -> f64 {
    CAPITAL * letter(&of.spelled()).0
}

impl Letter {
    /// How it is shown in plain letters.
    fn spelled(self) -> String {
        let plain = to_ascii(self.is.encode_utf8(&mut [0; 4]));
        match self {
            Self { is: ' ', .. } => plain,
            Self { parted: true, .. } => format!(" {}", plain.trim()),
            Self { .. } => plain.trim().to_owned(),
        }
    }

    /// Its name in the ways of the Adobe Glyph List (`A`, `uni00E9`, `u01F600`); readers judge sizes by the width of
    /// `m`.
    fn glyph_name(self) -> String {
        let name = match self.is as u32 {
            _ if self.is.is_ascii_alphabetic() => self.is.to_string(),
            code @ 0..=0xffff => format!("uni{code:04X}"),
            code => format!("u{code:06X}"),
        };
        if self.parted { format!("{name}.parted") } else { name }
    }
}

/// The letters of a line: any blank is a space.
fn told(text: &str) -> Vec<Letter> {
    let mut told: Vec<Letter> = Vec::new();
    for is in text.chars() {
        let is = if is.is_control() || is.is_whitespace() { ' ' } else { is };
        let digit = told.last().map(|before| before.is).filter(char::is_ascii_digit);
        let parted = |digit: char| !is.is_ascii() && to_ascii(&format!("{digit}{is}"))[1..].starts_with(' ');
        told.push(Letter { is, parted: digit.is_some_and(parted) });
    }
    told
}

/// Length of a line of text as it is shown, mm.
pub(super) fn shown_width(text: &str, height: f64) -> f64 {
    let told: String = told(text).into_iter().map(Letter::spelled).collect();
    engraved_width(&told, height)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_is_as_long_in_the_font_as_it_is_engraved() {
        for text in ["", "MOULD 3", "3-4-5+", "1⅜", "Élan/Øst ½", "Ærø", "15.9°", "a\u{a0}b", "Straße"]
        {
            assert!((shown_width(text, 6.0) - engraved_width(text, 6.0)).abs() < 1e-9, "{text}");
        }
    }

    #[test]
    fn more_letters_than_a_font_holds_go_into_another() {
        let mut letters = Letters::default();
        let mut content = Content::new();
        let many: String = ('\u{4e00}'..).take(600).collect();
        letters.show(&mut content, &many, 5.0, [1.0, 0.0, 0.0, 1.0, 0.0, 0.0]);
        let mut pdf = Pdf::new();
        let mut last = 0;
        let mut next = || {
            last += 1;
            Ref::new(last)
        };
        let fonts = letters.write(&mut pdf, &mut next);
        assert_eq!(fonts.iter().map(|(name, _)| name.as_str()).collect::<Vec<_>>(), ["F0", "F1", "F2", "F3"]);
        let text = String::from_utf8_lossy(&pdf.finish()).into_owned();
        for code in 0x4e00..0x4e00 + 600 {
            assert!(text.contains(&format!("> <{code:04X}>")), "{code:x}");
        }
    }
}
