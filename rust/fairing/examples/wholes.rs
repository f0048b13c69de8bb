//! How well slips of the whole are found in tables of known hulls and of boats as they are built: a row or a column
//! shifted, exchanged, in another unit, from another datum, under another heading. How many are found, named rightly and
//! put right to the letter; how many are put right and wrongly; and how many tables without one are said to have one.
//!
//! `cargo run --release -p scrieve-fairing --example wholes [SEEDS [list|sum [KIND|all [FROM]]]]`; a table a family, kind and seed,
//! every second in millimetres and every second with a slip of a single reading besides. What makes the slips works on
//! the text and shares nothing with what undoes them.

use std::collections::BTreeMap;
use std::time::Instant;

use scrieve_fairing::{FoundSlip, Options, WholeSlip, proof_table, whole_slips};
use scrieve_offsets::{Block, CellId, Table, read};
use scrieve_yardstick::copyist::Copyist;
use scrieve_yardstick::known::as_built::{AsBuilt, Kind};
use scrieve_yardstick::known::{Family, Known, Place};

/// A slip that moves fewer readings than this by more than half an inch is not counted: no one could tell.
const MOVED: usize = 3;
const HALF_INCH: f64 = 0.0127;

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Made {
    RowAft,
    RowForward,
    RowAftFrom,
    RowForwardFrom,
    RowsExchanged,
    StationsExchanged,
    StationOutOfPlace,
    AfterBodyReversed,
    ColumnDown,
    Heading,
    StationDistance,
    Unit,
    HeightsFromWaterline,
    BreadthsFromKeel,
    BlockFromKeel,
    RoundDatum,
    Shrunk,
    SheerOut,
    SheerUp,
    GapMisread,
    BreadthsExchanged,
    StationUp,
    DiagonalIn,
}

impl Made {
    const ALL: [Made; 23] = [
        Made::RowAft,
        Made::RowForward,
        Made::RowAftFrom,
        Made::RowForwardFrom,
        Made::RowsExchanged,
        Made::StationsExchanged,
        Made::StationOutOfPlace,
        Made::AfterBodyReversed,
        Made::ColumnDown,
        Made::Heading,
        Made::StationDistance,
        Made::Unit,
        Made::HeightsFromWaterline,
        Made::BreadthsFromKeel,
        Made::BlockFromKeel,
        Made::RoundDatum,
        Made::Shrunk,
        Made::SheerOut,
        Made::SheerUp,
        Made::GapMisread,
        Made::BreadthsExchanged,
        Made::StationUp,
        Made::DiagonalIn,
    ];

    /// Whether that is what was found.
    fn is_named(self, found: &WholeSlip) -> bool {
        match self {
            Made::RowAft | Made::RowAftFrom => matches!(found, WholeSlip::RowShifted { aft: true, .. }),
            Made::RowForward | Made::RowForwardFrom => {
                matches!(found, WholeSlip::RowShifted { aft: false, .. })
            }
            Made::RowsExchanged => matches!(found, WholeSlip::RowsExchanged(..)),
            Made::StationsExchanged => matches!(found, WholeSlip::ColumnsExchanged(..)),
            // From one side or the other, and next but one, it is the same.
            Made::StationOutOfPlace => matches!(found, WholeSlip::ColumnMoved { .. }),
            Made::AfterBodyReversed => matches!(found, WholeSlip::Reversed { .. }),
            Made::ColumnDown => matches!(found, WholeSlip::ColumnShifted { .. }),
            Made::Heading => matches!(found, WholeSlip::Heading { .. }),
            Made::StationDistance => matches!(found, WholeSlip::Station { .. }),
            Made::Unit => matches!(found, WholeSlip::Unit { .. }),
            Made::HeightsFromWaterline | Made::BreadthsFromKeel | Made::BlockFromKeel | Made::RoundDatum => {
                matches!(found, WholeSlip::Datum { .. })
            }
            Made::Shrunk => matches!(found, WholeSlip::Shrunk { .. }),
            Made::SheerOut | Made::SheerUp | Made::DiagonalIn => {
                matches!(found, WholeSlip::Datum { .. } | WholeSlip::Unit { .. } | WholeSlip::FarOut { .. })
            }
            Made::GapMisread => matches!(found, WholeSlip::Gap { .. } | WholeSlip::Station { .. }),
            Made::BreadthsExchanged => matches!(found, WholeSlip::ColumnsExchangedIn { .. }),
            Made::StationUp => matches!(found, WholeSlip::ColumnDatum { .. }),
        }
    }
}

/// A table's text in lines, those of rows in cells.
struct Page {
    head: Vec<String>,
    rows: Vec<(String, Vec<String>)>,
}

impl Page {
    fn new(text: &str) -> Page {
        let (mut head, mut rows) = (Vec::new(), Vec::new());
        for line in text.lines() {
            match line.split_once('|') {
                Some((label, cells)) => rows
                    .push((label.trim().to_string(), cells.split_whitespace().map(str::to_string).collect())),
                None if rows.is_empty() => head.push(line.to_string()),
                None => rows.push((line.trim().to_string(), Vec::new())),
            }
        }
        Page { head, rows }
    }

    fn text(&self) -> String {
        let mut text = self.head.join("\n") + "\n";
        for (label, cells) in &self.rows {
            if cells.is_empty() {
                text += &format!("{label}\n");
            } else {
                text += &format!(
                    "{label:<22}| {}\n",
                    cells.iter().map(|c| format!("{c:>9}")).collect::<String>()
                );
            }
        }
        text
    }

    /// Indices of the rows of a block.
    fn of(&self, block: &str) -> Vec<usize> {
        let Some(start) = self.rows.iter().position(|r| r.0 == format!("[{block}]")) else {
            return Vec::new();
        };
        (start + 1..self.rows.len())
            .take_while(|&i| !self.rows[i].0.starts_with('['))
            .filter(|&i| !self.rows[i].1.is_empty())
            .collect()
    }

    fn body(&self) -> Vec<usize> {
        ["heights", "half-breadths", "diagonals"].iter().flat_map(|b| self.of(b)).collect()
    }

    fn distance(&self) -> usize {
        self.rows.iter().position(|r| r.0 == "from stem").unwrap_or(0)
    }
}

/// Metres of a number as these tables write it.
fn metres(text: &str, mm: bool) -> Option<f64> {
    let (sign, bare) = text.strip_prefix('-').map_or((1.0, text), |rest| (-1.0, rest));
    if mm {
        return bare.parse::<f64>().ok().map(|n| sign * n / 1e3);
    }
    let parts: Vec<f64> = bare.split('-').map(str::parse).collect::<Result<_, _>>().ok()?;
    let [feet, inches, eighths] = parts[..] else { return None };
    Some(sign * 0.0254 * (12.0 * feet + inches + eighths / 8.0))
}

fn written(m: f64, mm: bool) -> String {
    if mm {
        return format!("{:.0}", m * 1e3);
    }
    let eighths = (m.abs() / 0.0254 * 8.0).round() as i64;
    let sign = if m < 0.0 && eighths > 0 { "-" } else { "" };
    format!("{sign}{}-{}-{}", eighths / 96, eighths / 8 % 12, eighths % 8)
}

/// A heading or a distance as a tired copyist leaves it.
fn misread(text: &str, mm: bool, copyist: &mut Copyist) -> Option<String> {
    let pairs = [('0', '6'), ('1', '7'), ('3', '8'), ('4', '9'), ('5', '6')];
    let digit = |text: &str, copyist: &mut Copyist| {
        let places: Vec<usize> =
            text.char_indices().filter(|(_, c)| c.is_ascii_digit()).map(|p| p.0).collect();
        let at = *places.get(copyist.below(places.len()))?;
        let read = char::from(text.as_bytes()[at]);
        let other =
            pairs.iter().find_map(|&(a, b)| if a == read { Some(b) } else { (b == read).then_some(a) })?;
        Some(format!("{}{other}{}", &text[..at], &text[at + 1..]))
    };
    if mm {
        return match copyist.below(3) {
            0 => digit(text, copyist),
            1 => {
                let at = copyist.below(text.len() - 1);
                let (a, b) = (&text[at..=at], &text[at + 1..at + 2]);
                Some(format!("{}{b}{a}{}", &text[..at], &text[at + 2..]))
            }
            _ => {
                let number: i64 = text.parse().ok()?;
                Some((number + [100, -100][copyist.below(2)]).to_string())
            }
        };
    }
    let parts: Vec<i64> = text.split('-').map(str::parse).collect::<Result<_, _>>().ok()?;
    let [f, i, e] = parts[..] else { return None };
    let of = |f: i64, i: i64, e: i64| {
        (f >= 0 && (0..12).contains(&i) && (0..8).contains(&e)).then(|| format!("{f}-{i}-{e}"))
    };
    match copyist.below(6) {
        0 => digit(text, copyist),
        1 => of(i, f, e),
        2 => of(f, e, i),
        3 => of(f + 1, i, e),
        4 => of(f - 1, i, e),
        _ if e == 0 => of(f, i + 1, e),
        _ => of(f, i, 0),
    }
}

/// Puts a slip into a page.
fn slip(page: &mut Page, made: Made, mm: bool, copyist: &mut Copyist) -> Option<()> {
    let body = page.body();
    let columns = page.rows[page.distance()].1.len();
    match made {
        Made::RowAft | Made::RowForward | Made::RowAftFrom | Made::RowForwardFrom => {
            let cells = &mut page.rows[body[copyist.below(body.len())]].1;
            match made {
                Made::RowAft => {
                    cells.insert(0, "-".to_string());
                    cells.pop();
                }
                Made::RowAftFrom => {
                    // A cell is copied twice, and all after it stand one on.
                    let at = 1 + copyist.below(columns / 2);
                    cells.insert(at, cells[at - 1].clone());
                    cells.pop();
                }
                Made::RowForwardFrom => {
                    // A cell is left out, and the row ends a cell early.
                    cells.remove(1 + copyist.below(columns / 2));
                    cells.push("-".to_string());
                }
                _ => {
                    cells.remove(0);
                    cells.push("-".to_string());
                }
            }
        }
        Made::RowsExchanged => {
            let block = page.of(["heights", "half-breadths"][copyist.below(2)]);
            let at = copyist.below(block.len() - 1);
            let step = 1 + copyist.below(2).min(block.len() - at - 2);
            let cells = page.rows[block[at]].1.clone();
            page.rows[block[at]].1 = std::mem::replace(&mut page.rows[block[at + step]].1, cells);
        }
        Made::StationsExchanged | Made::StationOutOfPlace | Made::AfterBodyReversed => {
            let at = copyist.below(columns - 1);
            let to = copyist.below(columns);
            let half = columns / 2;
            for row in body {
                let cells = &mut page.rows[row].1;
                match made {
                    Made::StationsExchanged => cells.swap(at, at + 1),
                    Made::AfterBodyReversed => cells[half..].reverse(),
                    _ => {
                        if at.abs_diff(to) < 2 {
                            return None;
                        }
                        let cell = cells.remove(at);
                        cells.insert(to, cell);
                    }
                }
            }
        }
        Made::ColumnDown => {
            let block = page.of(["heights", "half-breadths"][copyist.below(2)]);
            let column = copyist.below(columns);
            let mut held = "-".to_string();
            for row in block {
                std::mem::swap(&mut held, &mut page.rows[row].1[column]);
            }
        }
        Made::Heading => {
            let headed: Vec<usize> = body
                .into_iter()
                .filter(|&r| page.rows[r].0.contains(' ') && page.rows[r].1.len() == columns)
                .collect();
            let row = headed[copyist.below(headed.len())];
            let (word, at) = page.rows[row].0.split_once(' ')?;
            let label = format!("{word} {}", misread(at, mm, copyist)?);
            if page.rows.iter().any(|r| r.0 == label) {
                return None;
            }
            page.rows[row].0 = label;
        }
        Made::StationDistance => {
            let row = page.distance();
            let column = copyist.below(columns);
            let cell = &mut page.rows[row].1[column];
            metres(cell, mm)?;
            *cell = misread(cell, mm, copyist)?;
        }
        Made::Unit => {
            let cells = &mut page.rows[body[copyist.below(body.len())]].1;
            for cell in cells.iter_mut().filter(|c| *c != "-") {
                let inches = metres(cell, mm)? / 0.0254;
                *cell = if mm {
                    format!("{}", cell.parse::<f64>().ok()? / 10.0)
                } else {
                    // Inches and eighths in the places of feet and inches.
                    let eighths = (inches * 8.0).round() as i64;
                    if eighths < 0 {
                        return None;
                    }
                    format!("{}-{}-0", eighths / 8, eighths % 8)
                };
            }
        }
        Made::HeightsFromWaterline | Made::BreadthsFromKeel | Made::BlockFromKeel => {
            let heights = made == Made::HeightsFromWaterline;
            let rows = page.of(if heights { "heights" } else { "half-breadths" });
            let datum = if heights {
                let label = page.of("half-breadths").into_iter().map(|r| page.rows[r].0.clone());
                let waterlines: Vec<String> =
                    label.filter_map(|l| Some(l.strip_prefix("waterline ")?.to_string())).collect();
                metres(&waterlines[copyist.below(waterlines.len())], mm)?
            } else {
                let line = page.head.iter().find_map(|l| l.strip_prefix("half_siding = \""))?;
                metres(line.trim_end_matches('"'), mm)?
            };
            let chosen =
                if made == Made::BlockFromKeel { rows } else { vec![rows[copyist.below(rows.len())]] };
            for row in chosen {
                for cell in page.rows[row].1.iter_mut().filter(|c| *c != "-") {
                    let m = metres(cell, mm)? - datum;
                    if !heights && m < 0.0 {
                        return None;
                    }
                    *cell = written(m, mm);
                }
            }
        }
        Made::RoundDatum => {
            // By what people put a rule to: a foot, half a foot, an inch or two, a decimetre, half of one.
            let heights = copyist.below(2) == 0;
            let rows = page.of(if heights { "heights" } else { "half-breadths" });
            let by = if mm { [0.1, 0.05, 0.2, 0.3] } else { [0.3048, 0.1524, 0.0508, 0.6096] };
            let by = by[copyist.below(4)];
            for cell in page.rows[rows[copyist.below(rows.len())]].1.iter_mut().filter(|c| *c != "-") {
                // Heights from above the base line, or half-breadths from beyond the centreline.
                *cell = written(metres(cell, mm)? + by, mm);
            }
        }
        Made::SheerOut | Made::SheerUp | Made::DiagonalIn => {
            // A foot, a half or two inches, a decimetre or three; the sheer's breadth by a quarter of itself too.
            let row = match made {
                Made::SheerOut => {
                    page.of("half-breadths").into_iter().find(|&r| page.rows[r].0 == "sheer")?
                }
                Made::SheerUp => page.of("heights").into_iter().find(|&r| page.rows[r].0 == "sheer")?,
                _ => {
                    let rows = page.of("diagonals");
                    *rows.get(copyist.below(rows.len()))?
                }
            };
            let by = if mm { [0.3, 0.1, 0.05] } else { [0.3048, 0.1524, 0.0508] };
            let (by, factor) = match (made, copyist.below(4)) {
                (Made::SheerOut, 3) => (0.0, 1.25),
                (Made::DiagonalIn, _) => (-by[2], 1.0),
                (_, n) => (by[n.min(2)], 1.0),
            };
            for cell in page.rows[row].1.iter_mut().filter(|c| *c != "-") {
                let to = metres(cell, mm)? * factor + by;
                if to < 0.0 {
                    return None;
                }
                *cell = written(to, mm);
            }
        }
        Made::GapMisread => {
            // One space is taken for another, and all aft of it follows.
            let row = page.distance();
            let at = 1 + copyist.below(columns - 1);
            let by = if mm { [0.1, -0.1, 0.3] } else { [0.3048, -0.1524, 0.1524] }[copyist.below(3)];
            for cell in page.rows[row].1.iter_mut().skip(at).filter(|c| *c != "-") {
                *cell = written(metres(cell, mm)? + by, mm);
            }
        }
        Made::BreadthsExchanged => {
            let at = copyist.below(columns - 1);
            for row in page.of("half-breadths") {
                page.rows[row].1.swap(at, at + 1);
            }
        }
        Made::StationUp => {
            let column = copyist.below(columns);
            let by = if mm { [0.05, 0.1, -0.05] } else { [0.0508, 0.3048, -0.0508] }[copyist.below(3)];
            for row in page.of("heights") {
                let cell = &mut page.rows[row].1[column];
                if *cell != "-" {
                    *cell = written(metres(cell, mm)? + by, mm);
                }
            }
        }
        Made::Shrunk => {
            let factor = [0.94, 0.973, 1.04, 11.0 / 12.0, 0.75, 0.985, 1.018][copyist.below(7)];
            for row in page.of("half-breadths") {
                for cell in page.rows[row].1.iter_mut().filter(|c| *c != "-") {
                    *cell = written(metres(cell, mm)? * factor, mm);
                }
            }
        }
    }
    Some(())
}

#[derive(Clone, Copy, Default)]
struct Tally {
    tables: usize,
    refused: usize,
    small: usize,
    found: usize,
    named: usize,
    right: usize,
    wrong: usize,
    more: usize,
    ms: f64,
}

/// Readings that differ by more than half an inch, and the number that the second table has otherwise at all.
fn differing(a: &Table, b: &Table, apart: f64) -> usize {
    let metres = |t: &Table, c: CellId| t.cell(c).map(|r| r.length.metres());
    let differs = |c: &CellId| match (metres(a, *c), metres(b, *c)) {
        (Some(x), Some(y)) => (x - y).abs() > apart,
        (x, y) => apart == 0.0 && x.is_some() != y.is_some(),
    };
    let lines = a.rows.iter().zip(&b.rows).filter(|(x, y)| x.line != y.line).count();
    a.cells().filter(differs).count()
        + lines
        + (0..a.stations.len()).filter(|&i| a.stations[i].from_stem != b.stations[i].from_stem).count()
}

/// The same row of readings under each line, whatever their order.
fn same(clean: &Table, put_right: &Table, but: usize, part: f64) -> bool {
    let mut off = 0;
    for row in &clean.rows {
        let Some(other) = put_right.rows.iter().find(|r| r.block == row.block && r.line == row.line) else {
            return false;
        };
        for (a, b) in row.cells.iter().zip(&other.cells) {
            // What was lost stays lost.
            off += usize::from(
                matches!((a, b), (Some(a), Some(b)) if (a.length.metres() - b.length.metres()).abs() > 0.0006 + part * (1.0 + a.length.metres().abs())),
            );
        }
    }
    let of =
        |t: &Table| t.stations.iter().map(|s| s.from_stem.as_ref().map(|r| r.length)).collect::<Vec<_>>();
    off <= but && of(clean) == of(put_right)
}

fn main() {
    let mut words = std::env::args().skip(1);
    let seeds: u64 = words.next().and_then(|a| a.parse().ok()).unwrap_or(1);
    let list = words.next().is_some_and(|word| word == "list");
    let only = words.next().filter(|only| only != "all");
    let mut tallies: BTreeMap<(bool, Option<Made>), Tally> = BTreeMap::new();
    let from: u64 = words.next().and_then(|a| a.parse().ok()).unwrap_or(0);
    for seed in from..from + seeds {
        for (n, family) in Family::ALL.into_iter().enumerate() {
            let stations = 5 + (seed as usize * 4 + n * 3) % 10;
            let hull = Known::new(family, 700 + seed);
            let text = |place| hull.table_text(&hull.layout(stations), place, "Known");
            all_kinds(
                &text,
                &format!("{family:?} {seed} {stations}"),
                seed * 31 + n as u64,
                list,
                only.as_deref(),
                false,
                &mut tallies,
            );
        }
        for (n, kind) in Kind::ALL.into_iter().enumerate() {
            let stations = 5 + (seed as usize * 4 + n * 3) % 10;
            let boat = AsBuilt::new(kind, 700 + seed);
            let text = |place| boat.table_text(&boat.taking(stations), place, "Known");
            all_kinds(
                &text,
                &format!("{kind:?} {seed} {stations}"),
                seed * 31 + 10 + n as u64,
                list,
                only.as_deref(),
                true,
                &mut tallies,
            );
        }
    }
    for built in [false, true] {
        println!("{}", if built { "\nboats as built" } else { "known hulls" });
        println!("  {:<22} tables refused small  found  named  right  wrong  more   ms", "");
        for ((_, made), t) in tallies.iter().filter(|t| t.0.0 == built) {
            let name = made.map_or("none, or one reading".to_string(), |made| format!("{made:?}"));
            println!(
                "  {name:<22} {:>6} {:>7} {:>5} {:>6} {:>6} {:>6} {:>6} {:>5} {:>5.0}",
                t.tables,
                t.refused,
                t.small,
                t.found,
                t.named,
                t.right,
                t.wrong,
                t.more,
                t.ms / t.tables.max(1) as f64
            );
        }
    }
}

fn all_kinds(
    text: &dyn Fn(Place) -> String,
    name: &str,
    seed: u64,
    list: bool,
    only: Option<&str>,
    built: bool,
    tallies: &mut BTreeMap<(bool, Option<Made>), Tally>,
) {
    let kinds = std::iter::once(None).chain(Made::ALL.into_iter().map(Some));
    for (n, made) in kinds.enumerate() {
        if only.is_some_and(|only| only != made.map_or("None".to_string(), |m| format!("{m:?}"))) {
            continue;
        }
        let (mm, single) = ((seed + n as u64).is_multiple_of(2), (seed / 2 + n as u64).is_multiple_of(2));
        let text = text(if mm { Place::Millimetre } else { Place::Eighth });
        let Ok(clean) = read(text.as_bytes(), name) else { continue };
        let mut copyist = Copyist::new(seed * 1000 + n as u64);
        let mut page = Page::new(&text);
        let made_it = made.is_none_or(|made| {
            // A slip that this row or heading cannot have is drawn again.
            (0..40).any(|_| {
                page = Page::new(&text);
                slip(&mut page, made, mm, &mut copyist).is_some()
                    && made_text(&page, name).is_none_or(|t| differing(&clean, &t, 0.0) > 0)
            })
        });
        if !made_it {
            continue;
        }
        let tally = tallies.entry((built, made)).or_default();
        let slipped = match read(page.text().as_bytes(), name) {
            Ok(slipped) => slipped,
            Err(_) => {
                tally.tables += 1;
                tally.refused += 1;
                continue;
            }
        };
        let of_heading = matches!(made, Some(Made::Heading | Made::StationDistance));
        let small = made.is_some() && !of_heading && differing(&clean, &slipped, HALF_INCH) < MOVED;
        let copied = if single && !mm { copyist.copy(&slipped, 1) } else { (slipped.clone(), Vec::new()) };
        let (copy, singles) = copied;
        let clock = Instant::now();
        let found = whole_slips(&copy, &Options::default());
        tally.ms += clock.elapsed().as_secs_f64() * 1e3;
        tally.tables += 1;
        if made == Some(Made::StationDistance) && found.is_empty() {
            // Said already as a query of the one distance.
            let findings = proof_table(&copy, &Options::default()).unwrap_or_default();
            let off = |c: usize| clean.stations[c].from_stem != slipped.stations[c].from_stem;
            let of_it =
                findings.iter().find(|f| f.query.cell.block == Block::Stations && off(f.query.cell.column));
            if let Some(finding) = of_it {
                let truth = clean.stations[finding.query.cell.column].from_stem.as_ref();
                tally.found += 1;
                tally.named += 1;
                let first = finding.suggestions.iter().any(|s| truth.is_some_and(|t| t.written == s.reading));
                tally.right += usize::from(first);
                continue;
            }
        }
        judge(
            tally,
            made,
            small,
            &clean,
            &found,
            singles.len(),
            list,
            &format!("{name} {}", if mm { "mm" } else { "in" }),
            &copy,
        );
    }
}

fn made_text(page: &Page, name: &str) -> Option<Table> {
    read(page.text().as_bytes(), name).ok()
}

#[allow(clippy::too_many_arguments)]
fn judge(
    tally: &mut Tally,
    made: Option<Made>,
    small: bool,
    clean: &Table,
    found: &[FoundSlip],
    singles: usize,
    list: bool,
    name: &str,
    copy: &Table,
) {
    let named = found.iter().any(|f| made.is_some_and(|made| made.is_named(&f.slip)));
    // What was drawn out and rounded is right within three parts in a thousand.
    let part = if made == Some(Made::Shrunk) { 0.003 } else { 0.0 };
    // One that is only named puts nothing right.
    let put = found.iter().rev().find(|f| f.unsure.is_none());
    let right = made.is_some() && put.is_some_and(|f| same(clean, &f.table, singles, part));
    let wrong = put.is_some() && !right;
    if small && found.is_empty() {
        tally.small += 1;
        return;
    }
    tally.found += usize::from(!found.is_empty());
    tally.named += usize::from(named);
    tally.right += usize::from(right);
    tally.wrong += usize::from(wrong);
    tally.more += found.len().saturating_sub(usize::from(made.is_some()));
    if list && (made.is_some() != (found.len() == 1) || made.is_some() && !right) {
        println!(
            "  {name} {made:?} singles {singles}:{}",
            if right {
                " (right)"
            } else if wrong {
                " (WRONG)"
            } else {
                ""
            }
        );
        for (row, cells) in clean.rows.iter().zip(&copy.rows).filter(|(a, b)| a != b).take(3) {
            let write = |r: &scrieve_offsets::Row| {
                let cells = r.cells.iter().map(|c| c.as_ref().map_or("-".to_string(), |c| c.written.clone()));
                format!("{} | {}", r.label, cells.collect::<Vec<_>>().join(" "))
            };
            println!("      was {}\n      is  {}", write(row), write(cells));
        }
        for f in found {
            let unsure = f.unsure.as_deref().unwrap_or("put right");
            println!("      {} (gain {:.1}, explains {}; {unsure})", f.text, f.gain, f.explains.len());
        }
    }
}
