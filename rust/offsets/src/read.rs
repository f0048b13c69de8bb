//! Reading an `.offsets` file: bytes to text, text to lines, lines to the table.
//!
//! One pass over the lines; all mistakes are gathered, and nothing is guessed at in silence.

use std::collections::HashMap;
use std::fs::File;
use std::io::Read;
use std::ops::Range;
use std::path::{Path, PathBuf};

use scrieve_notation::{Length, Precision, Reading};

use crate::blanks;
use crate::check::check;
use crate::head::{EndSpot, Head, read_cell, read_head, read_reading};
use crate::label::parse_label;
use crate::mistake::{Log, Mistake, Mistakes};
use crate::nearest::{nearest, suggest};
use crate::origin::Origins;
use crate::table::{Contents, Layout, NOWHERE};
use crate::{Block, LineKind, Point, Profile, Row, Station, Table};

/// The longest file read, bytes. A table typed by hand is a few thousand; this leaves room for a scan of
/// some hundred thousand points and keeps a film picked by mistake from filling the memory.
pub const READ_CAP: usize = 16 << 20;

const BOM: char = '\u{feff}';
/// Spaces between the spots of a straight stem told by its ends. With fewer the line fairing draws through them still
/// bulges by an inch over a heel, with more nothing changes (measured on a plumb stem of two feet).
const SPACES: i64 = 4;
const CORRECTIONS: &str = "corrections";

/// Why a file could not be read.
#[derive(Debug, thiserror::Error)]
pub enum OpenError {
    /// The system would not give it.
    #[error("{}: {source}", path.display())]
    Io {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// It is no table.
    #[error(transparent)]
    Mistakes(#[from] Mistakes),
}

impl Table {
    /// Reads a file.
    pub fn open(path: impl AsRef<Path>) -> Result<Table, OpenError> {
        let path = path.as_ref();
        let io = |source| OpenError::Io { path: path.to_owned(), source };
        let mut bytes = Vec::new();
        File::open(path).map_err(io)?.take(READ_CAP as u64 + 1).read_to_end(&mut bytes).map_err(io)?;
        Ok(read(&bytes, &path.to_string_lossy())?)
    }
}

/// Reads the bytes of an `.offsets` file; `file_name` is what mistakes are said to stand in.
///
/// UTF-8 with or without a byte-order mark, and any line ends but those of a bare carriage return.
pub fn read(bytes: &[u8], file_name: &str) -> Result<Table, Mistakes> {
    read_from(bytes, file_name, None)
}

/// The same of a text that was laid out from a page.
pub(crate) fn read_from(bytes: &[u8], file_name: &str, origins: Option<Origins>) -> Result<Table, Mistakes> {
    let text = decode(bytes, file_name)?;
    let mut log = Log::new(file_name, text).of(origins.as_ref());
    let (contents, layout) = Reader::read(&mut log);
    let warnings = log.finish()?;
    Ok(Table { file: file_name.to_owned(), text: text.to_owned(), contents, layout, warnings, origins })
}

fn decode<'a>(bytes: &'a [u8], file: &str) -> Result<&'a str, Mistakes> {
    let fail = |place, text: &str, problem: &str, expected: &str| {
        Err(Mistakes::from(Mistake::of_bytes(file, place, text, problem, expected)))
    };
    if bytes.len() > READ_CAP {
        let problem = format!("the file is longer than {} MB", READ_CAP >> 20);
        return fail((1, 1), "", &problem, "a table of offsets, a few thousand bytes");
    }
    if bytes.is_empty() {
        return fail((1, 1), "", "the file is empty", "a table of offsets, beginning with a line `+++`");
    }
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return fail((1, 1), "", "the file is UTF-16", "UTF-8: save it again with that encoding");
    }
    let place = |at: usize| {
        let before = &bytes[..at];
        let line = before.iter().filter(|&&b| b == b'\n').count() + 1;
        let start = before.iter().rposition(|&b| b == b'\n').map_or(0, |i| i + 1);
        (line, String::from_utf8_lossy(&bytes[start..at]).trim_start_matches(BOM).chars().count() + 1)
    };
    if let Some(at) = bytes.iter().position(|&b| b == 0) {
        return fail(place(at), "\\0", "the file is not text", "a table of offsets in plain text");
    }
    std::str::from_utf8(bytes).or_else(|e| {
        let at = e.valid_up_to();
        let bad = format!("\\x{:02x}", bytes[at]);
        // What old editors on Windows write; the commonest way to get here.
        let hint = match bytes[at] {
            0xbc => " (¼ in Windows-1252)",
            0xbd => " (½ in Windows-1252)",
            0xbe => " (¾ in Windows-1252)",
            _ => "",
        };
        let problem = format!("byte {bad}{hint} is not UTF-8");
        fail(place(at), &bad, &problem, "UTF-8: save the file again with that encoding")
    })
}

/// A stretch of the text.
type Span = Range<usize>;

/// Where the reader stands in the file.
#[derive(Clone, Copy, PartialEq)]
enum Place {
    /// Before the first heading: station names and distances.
    Columns,
    Block(Block),
    Corrections,
    /// Under a heading that is none.
    Unknown,
}

struct Reader {
    head: Head,
    contents: Contents,
    layout: Layout,
    /// Row labels seen, with the line of each.
    seen: HashMap<(Block, LineKind), usize>,
    /// Rows of the head and of profiles seen.
    seen_words: HashMap<(Option<Block>, &'static str), usize>,
    /// The columns of `[points]`, once its header is read: station, height and half-breadth.
    point_columns: Option<[usize; 3]>,
}

impl Reader {
    fn read(log: &mut Log<'_>) -> (Contents, Layout) {
        let text = log.text();
        match front_matter(text) {
            Ok((fence, head, body)) => {
                let mut reader = Reader::new(read_head(head, &fence, log), fence);
                reader.body(body, log);
                if !log.is_full() {
                    reader.finish(log);
                }
                (reader.contents, reader.layout)
            }
            Err((span, problem)) => {
                log.error(span, problem, "the facts between two lines `+++`");
                (Contents::default(), Layout::default())
            }
        }
    }

    fn new(head: Head, fence: Span) -> Self {
        let contents = Contents {
            facts: head.facts.clone(),
            diagonals: head.diagonals.clone(),
            transom: head.transom.clone(),
            ..Contents::default()
        };
        Reader {
            contents,
            layout: Layout {
                fence,
                transom: head.transom_readings.clone(),
                diagonals: head.diagonals_at.clone(),
                ..Layout::default()
            },
            head,
            seen: HashMap::new(),
            seen_words: HashMap::new(),
            point_columns: None,
        }
    }

    fn body(&mut self, start: usize, log: &mut Log<'_>) {
        let text = log.text();
        let mut place = Place::Columns;
        for (at, line) in lines(text, start) {
            // A reason may hold a `#`; elsewhere it starts a comment.
            let is_reason = place == Place::Corrections && !line.trim_start().starts_with(['#', '[']);
            let code = if is_reason { line } else { line.split('#').next().unwrap_or_default() };
            let span = trimmed(code, at);
            if span.is_empty() {
                continue;
            }
            if log.is_full() {
                break;
            }
            let words = &text[span.clone()];
            if words.starts_with('[') {
                place = self.heading(span, log);
                continue;
            }
            match place {
                Place::Columns => self.column_row(span, log),
                Place::Block(Block::Points) => self.point_row(span, log),
                Place::Block(block @ (Block::StemProfile | Block::SternProfile)) => {
                    self.profile_row(block, span, log);
                }
                Place::Block(block) => self.row(block, span, log),
                Place::Corrections => {
                    self.contents.corrections.push(words.to_owned());
                    self.layout.corrections_end = Some(at + line.len());
                }
                Place::Unknown => {}
            }
        }
    }

    fn heading(&mut self, span: Span, log: &mut Log<'_>) -> Place {
        let text = log.text();
        let inner = text[span.clone()].strip_prefix('[').and_then(|t| t.strip_suffix(']'));
        let Some(inner) = inner else {
            log.error(span, "a heading without its closing bracket", "`[name]` alone on its line");
            return Place::Unknown;
        };
        let name = inner.trim().to_lowercase();
        if name == CORRECTIONS {
            let end = text[span.end..].find('\n').map_or(text.len(), |i| span.end + i);
            let end = end - usize::from(text[span.end..end].ends_with('\r'));
            self.layout.corrections_end = Some(end);
            return Place::Corrections;
        }
        if let Some(block) = Block::ALL.into_iter().find(|block| block.heading() == name) {
            if block == Block::Points {
                self.point_columns = None;
            }
            return Place::Block(block);
        }
        let known = Block::ALL.map(Block::heading).into_iter().chain([CORRECTIONS]).collect::<Vec<_>>();
        log.error(span, format!("no block is called `{}`", inner.trim()), suggest(&name, &known));
        Place::Unknown
    }

    /// Splits a row at its first `|`; one without is a mistake.
    fn split(&self, span: Span, log: &mut Log<'_>) -> Option<(Span, Vec<Span>)> {
        let line = &log.text()[span.clone()];
        let Some((label, cells)) = line.split_once('|') else {
            log.error(span, "a row without `|`", "`label | cells`, or a heading in brackets");
            return None;
        };
        let cells_at = span.start + label.len() + 1;
        Some((trimmed(label, span.start), words(cells, cells_at)))
    }

    fn column_row(&mut self, span: Span, log: &mut Log<'_>) {
        let Some((label_at, cells)) = self.split(span.clone(), log) else { return };
        let text = log.text();
        match self.word(None, &label_at, &["station", "from stem"], log) {
            Some("station") => {
                for at in cells {
                    let name = text[at.clone()].to_owned();
                    self.contents.stations.push(Station { name, from_stem: None });
                    self.layout.stations.push((at, 0..0));
                }
                if self.contents.stations.is_empty() {
                    log.error(label_at, "no stations", "their names after `|`");
                }
            }
            Some(_) if self.contents.stations.is_empty() => {
                log.error(label_at, "distances before the stations are named", "the `station` row first");
            }
            Some(_) => {
                if !self.count(&label_at, &cells, log) {
                    return;
                }
                for (i, at) in cells.into_iter().enumerate() {
                    let cell = self.cell(&text[at.clone()], &at, log);
                    self.contents.stations[i].from_stem = cell;
                    self.layout.stations[i].1 = at;
                }
            }
            None => {}
        }
    }

    /// Which of the known labels a row of the head or of a profile has; none, or one seen before, is a
    /// mistake.
    fn word(
        &mut self,
        block: Option<Block>,
        at: &Span,
        known: &[&'static str],
        log: &mut Log<'_>,
    ) -> Option<&'static str> {
        let label = log.text()[at.clone()].split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
        let Some(word) = known.iter().find(|k| **k == label).copied() else {
            let expected = match block {
                None if Block::ALL.iter().any(|b| b.heading() == label) => format!("`[{label}]`"),
                _ => suggest(&label, known),
            };
            log.error(at.clone(), format!("no row here is called `{label}`"), expected);
            return None;
        };
        let line = log.line(at.start);
        if let Some(first) = self.seen_words.insert((block, word), line) {
            log.error(
                at.clone(),
                format!("a second `{word}` row"),
                format!("one only; the first is line {first}"),
            );
            return None;
        }
        Some(word)
    }

    /// Whether a row has a cell for each station.
    fn count(&self, label: &Span, cells: &[Span], log: &mut Log<'_>) -> bool {
        let stations = self.contents.stations.len();
        if cells.len() == stations {
            return true;
        }
        let at = match cells.get(stations) {
            Some(first) => first.start..cells.last().map_or(first.end, |c| c.end),
            None => cells.last().unwrap_or(label).clone(),
        };
        let (has, wants) = (plural(cells.len(), "cell"), plural(stations, "station"));
        log.error(
            at,
            format!("{has} for {wants}"),
            format!("{}, `-` where there is no reading", plural(stations, "cell")),
        );
        false
    }

    /// Reads a cell; mistaken ones count as missing, the mistake being reported.
    fn cell(&self, text: &str, at: &Span, log: &mut Log<'_>) -> Option<Reading> {
        if !self.head.dialect_known {
            return None;
        }
        read_cell(text, at.clone(), &self.contents.facts.dialect, log).flatten()
    }

    fn row(&mut self, block: Block, span: Span, log: &mut Log<'_>) {
        let Some((label_at, cells)) = self.split(span, log) else { return };
        let text = log.text();
        let label = &text[label_at.clone()];
        let facts = &self.contents.facts;
        let line = match parse_label(block, label, &facts.dialect, &facts.lifts) {
            Ok(line) => line,
            Err(_) if !self.head.dialect_known && !label.is_empty() => return,
            Err(e) => {
                log.error(label_at.start + e.at.start..label_at.start + e.at.end, e.problem, e.expected);
                return;
            }
        };
        if let LineKind::Diagonal(name) = &line
            && !self.head.diagonal_names.contains(name)
        {
            let laid_down = format!("`[diagonal.{name}]` among the facts");
            let expected = match nearest(name, self.head.diagonal_names.iter().map(String::as_str)) {
                Some(near) => format!("`{near}`, or {laid_down}"),
                None => laid_down,
            };
            log.error(label_at.clone(), format!("no diagonal is called `{name}`"), expected);
        }
        let number = log.line(label_at.start);
        if let Some(first) = self.seen.insert((block, line.clone()), number) {
            let problem = format!("a second row `{label}` under [{block}]");
            log.error(label_at.clone(), problem, format!("one only; the first is line {first}"));
        }
        if !self.count(&label_at, &cells, log) {
            return;
        }
        let readings = cells.iter().map(|at| self.cell(&text[at.clone()], at, log)).collect();
        self.contents.rows.push(Row { block, line, label: label.to_owned(), cells: readings });
        self.layout.rows.push((label_at, cells));
    }

    fn profile_row(&mut self, block: Block, span: Span, log: &mut Log<'_>) {
        let Some((label_at, cells)) = self.split(span, log) else { return };
        let Some(word) = self.word(Some(block), &label_at, &["from stem", "height"], log) else { return };
        let text = log.text();
        let readings = cells.iter().map(|at| self.cell(&text[at.clone()], at, log)).collect();
        let (profile, layout) = match block {
            Block::StemProfile => (&mut self.contents.stem, &mut self.layout.stem),
            _ => (&mut self.contents.stern, &mut self.layout.stern),
        };
        let profile = profile.get_or_insert_default();
        if word == "from stem" {
            profile.from_stem = readings;
            layout[0] = cells;
        } else {
            profile.height = readings;
            layout[1] = cells;
        }
    }

    fn point_row(&mut self, span: Span, log: &mut Log<'_>) {
        const HEADER: [&str; 3] = ["station", "height", "half-breadth"];
        let text = log.text();
        let mut cells = Vec::new();
        let mut at = span.start;
        for part in text[span.clone()].split('|') {
            cells.push(trimmed(part, at));
            at += part.len() + 1;
        }
        let Some(columns) = self.point_columns else {
            let named =
                HEADER.map(|name| cells.iter().position(|at| text[at.clone()].eq_ignore_ascii_case(name)));
            if let ([Some(station), Some(height), Some(half_breadth)], 3) = (named, cells.len()) {
                self.point_columns = Some([station, height, half_breadth]);
            } else {
                log.error(span, "points without a header", "`station | height | half-breadth`");
                self.point_columns = Some([0, 1, 2]);
            }
            return;
        };
        if cells.len() != 3 {
            log.error(
                span,
                format!("{} in a point", plural(cells.len(), "cell")),
                "`station | height | half-breadth`",
            );
            return;
        }
        let [station_at, height_at, half_breadth_at] = columns.map(|i| cells[i].clone());
        if !self.head.dialect_known {
            return;
        }
        let dialect = &self.contents.facts.dialect;
        let height = read_reading(&text[height_at.clone()], height_at.clone(), dialect, log);
        let half_breadth =
            read_reading(&text[half_breadth_at.clone()], half_breadth_at.clone(), dialect, log);
        if let (Some(height), Some(half_breadth)) = (height, half_breadth) {
            let station = text[station_at.clone()].to_owned();
            self.contents.points.push(Point { station, height, half_breadth });
            self.layout.points.push([height_at, half_breadth_at]);
            self.layout.point_stations.push(station_at);
        }
    }

    fn finish(&mut self, log: &mut Log<'_>) {
        let fence = self.layout.fence.clone();
        if self.contents.stations.is_empty() {
            log.error(
                fence,
                "no stations",
                "a row `station | ...` and a row `from stem | ...` after the facts",
            );
            return;
        }
        if !self.seen_words.contains_key(&(None, "from stem")) {
            let (first, _) = &self.layout.stations[0];
            log.error(
                first.clone(),
                "stations without distances",
                "a row `from stem | ...` below their names",
            );
        }
        for (profile, layout) in
            [(&mut self.contents.stem, &self.layout.stem), (&mut self.contents.stern, &self.layout.stern)]
        {
            check_profile(profile, layout, log);
        }
        blanks::tell(&self.head.blanks, &mut self.contents, log);
        self.ends(log);
        if self.head.dialect_known {
            check(&self.contents, &self.head, &self.layout, log);
        }
    }
}

impl Reader {
    /// Stem and sternpost as the head of the file gives them, in place of a profile.
    fn ends(&mut self, log: &mut Log<'_>) {
        let given =
            [(Block::StemProfile, self.head.stem.take()), (Block::SternProfile, self.head.stern.take())];
        for (block, spots) in given {
            let Some((spots, at)) = spots else { continue };
            let told = if block == Block::StemProfile { &self.contents.stem } else { &self.contents.stern };
            if told.is_some() {
                let expected = "either the spots at the head of the file or the profile";
                log.error(at, format!("the {block} is told twice"), expected);
                continue;
            }
            let mut spots: Vec<EndSpot> = spots;
            if let [foot] = spots.as_slice()
                && let Some(head) = self.above(block, foot, &at, log)
            {
                spots.insert(0, head);
            }
            if let [head, foot] = spots.as_slice() {
                spots = self.straight(head, foot);
            }
            let profile = Profile {
                from_stem: spots.iter().map(|spot| Some(spot[0].0.clone())).collect(),
                height: spots.iter().map(|spot| Some(spot[1].0.clone())).collect(),
            };
            let spans = [0, 1].map(|i| spots.iter().map(|spot| spot[i].1.clone()).collect());
            match block {
                Block::StemProfile => (self.contents.stem, self.layout.stem) = (Some(profile), spans),
                _ => (self.contents.stern, self.layout.stern) = (Some(profile), spans),
            }
        }
    }

    /// A straight stem or post from head to foot, spots between put in: two alone say where it begins and ends, and leave
    /// open how it runs there.
    fn straight(&self, head: &EndSpot, foot: &EndSpot) -> Vec<EndSpot> {
        let between = |part: i64| {
            [0, 1].map(|i| {
                let (from, to) = (&head[i].0, &foot[i].0);
                let step = (to.length - from.length).scaled(part, SPACES).unwrap_or(Length::ZERO);
                let length = from.length + step;
                let written = self.contents.facts.dialect.write(length, Precision::Exact);
                (Reading { length, mark: to.mark, place: from.place.min(to.place), written }, NOWHERE)
            })
        };
        let mut spots = vec![head.clone()];
        spots.extend((1..SPACES).map(between));
        spots.push(foot.clone());
        spots
    }

    /// The head of a plumb stem or post over its foot: at the transom's foot, or at the sheer.
    fn above(&self, block: Block, foot: &EndSpot, at: &Span, log: &mut Log<'_>) -> Option<EndSpot> {
        let contents = &self.contents;
        let height = match (&contents.transom, block) {
            (Some(transom), Block::SternProfile) => transom.foot.1,
            _ => contents.sheer_at(foot[0].0.length, block == Block::StemProfile)?,
        };
        if height <= foot[1].0.length {
            let problem = format!("the foot of a plumb end is not below the {}", written(block));
            let expected = "where it meets the keel, or two spots, head and foot";
            log.error(at.clone(), problem, expected);
            return None;
        }
        let text = contents.facts.dialect.write(height, Precision::Exact);
        let place = foot[1].0.place;
        let head = Reading { length: height, mark: foot[1].0.mark, place, written: text };
        Some([(foot[0].0.clone(), NOWHERE), (head, NOWHERE)])
    }
}

fn written(block: Block) -> &'static str {
    if block == Block::StemProfile { "sheer" } else { "sheer or the transom's foot" }
}

fn check_profile(profile: &mut Option<Profile>, layout: &[Vec<Span>; 2], log: &mut Log<'_>) {
    let Some(found) = profile else { return };
    let [from_stem, height] = layout;
    if from_stem.len() != height.len() {
        let longer = if from_stem.len() > height.len() { from_stem } else { height };
        let at = longer.last().cloned().unwrap_or(0..0);
        let problem =
            format!("{} and {}", plural(from_stem.len(), "distance"), plural(height.len(), "height"));
        log.error(at, problem, "as many under `from stem` as under `height`");
        *profile = None;
    } else if found.height.is_empty() {
        *profile = None;
    }
}

/// The opening fence, what stands between the fences, and where the body starts.
fn front_matter(text: &str) -> Result<(Span, Span, usize), (Span, &'static str)> {
    let start = if text.starts_with(BOM) { BOM.len_utf8() } else { 0 };
    let mut opening: Option<(Span, usize)> = None;
    for (at, line) in lines(text, start) {
        let span = trimmed(line, at);
        let next = text[at + line.len()..].find('\n').map_or(text.len(), |i| at + line.len() + i + 1);
        let is_fence = &text[span.clone()] == "+++";
        match &opening {
            None if is_fence => opening = Some((span, next)),
            None if span.is_empty() || text[span.clone()].starts_with('#') => {}
            None => return Err((span, "the file does not begin with its facts")),
            Some((fence, head)) if is_fence => return Ok((fence.clone(), *head..at, next)),
            Some(_) => {}
        }
    }
    match opening {
        None => Err((start..start, "the file says nothing")),
        Some((fence, _)) => Err((fence, "the facts do not end")),
    }
}

/// Lines from a byte on, without their ends, and where each starts.
fn lines(text: &str, start: usize) -> impl Iterator<Item = (usize, &str)> {
    let mut at = start;
    text[start..].split_inclusive('\n').map(move |line| {
        let this = at;
        at += line.len();
        let line = line.strip_suffix('\n').unwrap_or(line);
        (this, line.strip_suffix('\r').unwrap_or(line))
    })
}

fn trimmed(part: &str, at: usize) -> Span {
    let start = at + part.len() - part.trim_start().len();
    start..start + part.trim().len()
}

fn words(part: &str, at: usize) -> Vec<Span> {
    part.split_whitespace()
        .map(|word| {
            // Both are stretches of the one text.
            let start = at + (word.as_ptr() as usize - part.as_ptr() as usize);
            start..start + word.len()
        })
        .collect()
}

fn plural(n: usize, what: &str) -> String {
    if n == 1 { format!("1 {what}") } else { format!("{n} {what}s") }
}
