//! What a queried reading may have been: the slips a copyist makes, undone, and how likely each is.
//!
//! Every slip that could have turned another reading into the one that stands there proposes that other
//! reading. Its likelihood is how common the slip is times how well the reading agrees with what the rest of
//! the boat expects (Bayes' rule, with a normal density).

use std::fmt;

use scrieve_notation::{Dialect, Length, Precision, Reading, TwoPart, Units, parse_cell};
use scrieve_offsets::{Block, CellId, Table};

use crate::Query;

/// A suggestion may lie this far from what the rest expects, in standard deviations.
const REACH: f64 = 3.0;
/// Expectations are a little surer of themselves than they should be; densities take them so much wider.
const WIDER: f64 = 1.15;

/// A slip of a copyist or a printer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Slip {
    /// One digit taken for another that looks like it.
    Digit {
        /// What stands there.
        read: char,
        /// What it was.
        was: char,
    },
    /// Two parts, or two digits beside each other, swapped.
    Swapped,
    /// A foot lost or added.
    Foot,
    /// An inch lost or added.
    Inch,
    /// A part left out and the others moved into its place.
    Dropped,
    /// A part printed as nought, or a nought as a part.
    PartLost,
    /// The reading of the next station or row.
    Neighbour,
    /// A `+` or `-` lost or put in.
    Plus,
    /// A minus lost or put in.
    Minus,
    /// The point in the wrong place.
    Point,
    /// Off by one in the last part.
    LastByOne,
    /// None that is known: the reading nearest to what the rest expects.
    Unknown,
}

impl Slip {
    /// How common it is beside a lookalike digit; the rarer of two explanations must fit the better.
    fn weight(self) -> f64 {
        match self {
            Slip::Digit { read, was } if LOOKALIKES.contains(&(read, was)) => 1.0,
            Slip::Digit { read, was } if LOOKALIKES.contains(&(was, read)) => 1.0,
            Slip::Digit { .. } => 0.06,
            Slip::Swapped => 1.0,
            Slip::Foot | Slip::Inch => 0.8,
            Slip::Dropped => 1.0,
            Slip::PartLost => 0.06,
            Slip::Neighbour => 0.5,
            Slip::Plus => 0.3,
            Slip::Minus => 0.5,
            Slip::Point => 0.3,
            Slip::LastByOne => 0.03,
            Slip::Unknown => 0.004,
        }
    }
}

impl fmt::Display for Slip {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Slip::Digit { read, was } => write!(f, "{was} misread as {read}"),
            Slip::Swapped => f.write_str("two parts swapped"),
            Slip::Foot => f.write_str("a foot lost or added"),
            Slip::Inch => f.write_str("an inch lost or added"),
            Slip::Dropped => f.write_str("a part left out"),
            Slip::PartLost => f.write_str("a part printed as nought"),
            Slip::Neighbour => f.write_str("its neighbour's reading"),
            Slip::Plus => f.write_str("a + or - lost or put in"),
            Slip::Minus => f.write_str("a minus lost or put in"),
            Slip::Point => f.write_str("the point misplaced"),
            Slip::LastByOne => f.write_str("the last part off by one"),
            Slip::Unknown => f.write_str("no usual slip"),
        }
    }
}

/// The digits that are taken for each other (common practice).
const LOOKALIKES: [(char, char); 5] = [('0', '6'), ('1', '7'), ('3', '8'), ('4', '9'), ('5', '6')];

/// What a queried reading may have been.
#[derive(Clone, Debug, PartialEq)]
pub struct Suggestion {
    /// The reading, in the hand of the table.
    pub reading: String,
    /// Its value at full size, m.
    pub value: f64,
    /// The slip that made of it what stands there.
    pub slip: Slip,
    /// How likely it is, of all that could stand there.
    pub probability: f64,
}

/// What the reading of a query may have been, likeliest first; none if the cell holds no reading.
pub fn suggestions(table: &Table, query: &Query) -> Vec<Suggestion> {
    weighed(table, query).0
}

/// Suggestions, and how likely they are together, to compare with those for another cell.
pub(crate) fn weighed(table: &Table, query: &Query) -> (Vec<Suggestion>, f64) {
    let Some(reading) = table.cell(query.cell) else { return (Vec::new(), 0.0) };
    let hand = Hand::of(table, query.cell, reading);
    let factor = table.factor(query.cell);
    let expected = Length::from_metres(query.expected / factor).unwrap_or_default();
    let mut candidates = hand.candidates(reading.length);
    candidates.extend(neighbours(table, query.cell).into_iter().map(|length| (length, Slip::Neighbour, 1.0)));
    if neighbours(table, query.cell).contains(&reading.length) {
        // Copied twice: what it was, only the rest of the boat can say.
        candidates
            .extend(hand.about(expected, query.sd / factor).map(|length| (length, Slip::Neighbour, 0.3)));
    }
    if query.cell.block == Block::Stations {
        candidates.extend(set_out(table, query.cell.column, expected, REACH * query.sd / factor));
    } else {
        candidates.extend(hand.about(expected, query.sd / factor).map(|length| (length, Slip::Unknown, 1.0)));
    }
    let sd = query.sd * WIDER;
    let mut found: Vec<(Length, Slip, f64, f64)> = Vec::new();
    for (length, slip, share) in candidates {
        let misfit = (length.metres() * factor - query.expected) / sd;
        if length == reading.length || misfit.abs() * WIDER > REACH {
            continue;
        }
        let likelihood = slip.weight() * share * (-0.5 * misfit * misfit).exp();
        match found.iter_mut().find(|f| f.0 == length) {
            Some(same) => {
                if likelihood > same.3 {
                    (same.1, same.3) = (slip, likelihood);
                }
                same.2 += likelihood;
            }
            None => found.push((length, slip, likelihood, likelihood)),
        }
    }
    let whole: f64 = found.iter().map(|f| f.2).sum();
    found.sort_by(|a, b| b.2.total_cmp(&a.2));
    let suggested = found.into_iter().filter_map(|(length, slip, likelihood, _)| {
        let reading = hand.write(length)?;
        Some(Suggestion { reading, value: length.metres() * factor, slip, probability: likelihood / whole })
    });
    (suggested.collect(), whole / query.sd)
}

/// What the rest of the boat expects in a query's cell, to the place the table is read to and in its hand.
pub(crate) fn expected_reading(table: &Table, query: &Query) -> Option<String> {
    let hand = Hand::of(table, query.cell, table.cell(query.cell)?);
    let expected = Length::from_metres(query.expected / table.factor(query.cell))?;
    hand.write(expected.rounded(hand.place))
}

/// Lengths near `about`, m as read, that a slip may have turned into the one a heading gives, as the hand of the table
/// writes them, and how common the slip is; the nearest of whole inches or centimetres and of the heading's own place, too.
pub(crate) fn headings(table: &Table, reading: &Reading, about: f64, within: f64) -> Vec<(String, f64)> {
    let hand = Hand::to(table, reading, reading.place);
    let mut lengths: Vec<(Length, f64)> = hand
        .candidates(reading.length)
        .into_iter()
        .map(|(length, slip, share)| (length, slip.weight() * share))
        .collect();
    if let Some(about) = Length::from_metres(about) {
        let inches = matches!(table.facts.dialect.units, Units::FeetInchesEighths | Units::Inches);
        let whole = if inches { Length::INCH } else { Length::CENTIMETRE };
        for step in [whole, reading.place] {
            let near = about.rounded(step);
            let beside = [near.checked_sub(step), Some(near), near.checked_add(step)];
            lengths.extend(beside.into_iter().flatten().map(|length| (length, Slip::Unknown.weight())));
        }
    }
    lengths.retain(|l| l.0 != reading.length && (l.0.metres() - about).abs() < within);
    // One that a slip explains comes first.
    lengths.sort_by(|a, b| a.0.cmp(&b.0).then(b.1.total_cmp(&a.1)));
    lengths.dedup_by_key(|l| l.0);
    lengths.into_iter().filter_map(|(length, weight)| Some((hand.write(length)?, weight))).collect()
}

/// A length as the hand of a cell writes it, to that hand's place.
pub(crate) fn in_hand(table: &Table, cell: CellId, length: Length) -> Option<String> {
    let reading = table.cell(cell)?;
    let hand = Hand::of(table, cell, reading);
    hand.write(length.rounded(hand.place))
}

/// Where a station may stand near a distance: on the grid that all others are set out on, however far that reaches, and in
/// step with those beside it, which is likelier.
fn set_out(table: &Table, column: usize, expected: Length, reach_m: f64) -> Vec<(Length, Slip, f64)> {
    /// Beside one place on the grid, one in step with its neighbours.
    const IN_STEP: f64 = 20.0;
    /// The same of one on the coarse grid.
    const ON_COARSE: f64 = 5.0;
    let at = |i: usize| table.stations.get(i)?.from_stem.as_ref().map(|r| r.length);
    let others: Vec<Length> = (0..table.stations.len()).filter(|i| *i != column).filter_map(at).collect();
    let grids = grids_of(table, &others);
    let mut found = Vec::new();
    for (grid, share) in grids.into_iter().zip([1.0, ON_COARSE]) {
        let steps = (reach_m / grid.metres()).min(200.0) as i64;
        let nearest = expected.rounded(grid);
        for n in -steps..=steps {
            let length = grid.checked_mul(n).and_then(|by| nearest.checked_add(by));
            found.extend(length.map(|length| (length, Slip::Unknown, share)));
        }
    }
    let mut spaces: Vec<Length> = others.windows(2).filter_map(|w| w[1].checked_sub(w[0])).collect();
    spaces.sort();
    let usual = spaces.get(spaces.len() / 2).copied();
    let beside = [column.checked_sub(1).and_then(at), at(column + 1)];
    let stepped = usual.map_or(Vec::new(), |usual| {
        let [before, after] = beside;
        let both = [before.and_then(|b| b.checked_add(usual)), after.and_then(|a| a.checked_sub(usual))];
        both.into_iter().flatten().collect()
    });
    found.extend(stepped.into_iter().map(|length| (length, Slip::Unknown, IN_STEP)));
    found
}

/// The steps that distances are set out by, fine and coarse: all of some lie on each. The fine one is no coarser than an
/// inch or a centimetre, as one station may be where no other is; the place of the table's hand if they lie on neither.
fn grids_of(table: &Table, lengths: &[Length]) -> [Length; 2] {
    let inches = matches!(table.facts.dialect.units, Units::FeetInchesEighths | Units::Inches | Units::Feet);
    let millimetres = |n: i64| Length::from_metres(n as f64 / 1e3);
    let steps: Vec<Length> = match inches {
        true => [12, 6, 3, 2, 1].into_iter().filter_map(|n| Length::INCH.checked_mul(n)).collect(),
        false => [100, 50, 20, 10, 5].into_iter().filter_map(millimetres).collect(),
    };
    let finest = if inches { Length::INCH } else { Length::CENTIMETRE };
    let fits = |step: &&Length| !lengths.is_empty() && lengths.iter().all(|l| l.rounded(**step) == *l);
    let place = table.hand().unwrap_or(Length::EIGHTH);
    let coarse = steps.iter().find(fits).copied().unwrap_or(place);
    let fine = steps.iter().filter(|s| **s <= finest).find(fits).copied().unwrap_or(place);
    [fine, coarse.max(fine)]
}

/// The readings that stand beside a cell.
fn neighbours(table: &Table, cell: CellId) -> Vec<Length> {
    let CellId { row, column, .. } = cell;
    let mut beside = vec![(Some(row), column.checked_sub(1)), (Some(row), Some(column + 1))];
    if cell.block == Block::Points {
        beside = Vec::new();
    } else if cell.block != Block::Stations {
        beside.extend([(row.checked_sub(1), Some(column)), (Some(row + 1), Some(column))]);
    }
    let at = |(row, column): (Option<usize>, Option<usize>)| {
        table.cell(CellId { row: row?, column: column?, ..cell }).map(|r| r.length)
    };
    beside.into_iter().filter_map(at).collect()
}

/// How the table's readings are written.
struct Hand<'t> {
    table: &'t Table,
    written: &'t str,
    /// Of the readings this hand writes, the spacing.
    place: Length,
    /// Feet, inches and eighths, and what `+` or `-` adds, in signed units of its worth; of a decimal, none.
    parts: Option<([i64; 3], i64)>,
}

impl<'t> Hand<'t> {
    fn of(table: &'t Table, cell: CellId, reading: &'t Reading) -> Self {
        Self::to(table, reading, table.hand_at(cell).unwrap_or(reading.place).max(reading.place))
    }

    /// A hand that writes to a place.
    fn to(table: &'t Table, reading: &'t Reading, place: Length) -> Self {
        let mut hand = Hand { table, written: &reading.written, place, parts: None };
        let eighths = Length::EIGHTH.ticks();
        let magnitude = reading.length.abs();
        let plus = table.facts.dialect.plus;
        for tail in [0, 1, -1] {
            let bare = magnitude.checked_sub(plus.checked_mul(tail).unwrap_or_default()).unwrap_or_default();
            let is_written = !is_decimal(&reading.written, &table.facts.dialect) && hand.parts.is_none();
            if is_written && bare.ticks() % eighths == 0 && bare >= Length::ZERO {
                let n = bare.ticks() / eighths;
                hand.parts = Some(([n / 96, n / 8 % 12, n % 8], tail));
            }
        }
        hand
    }

    /// Readings that a slip could have turned into this one, the slip, and what part of its cases each is.
    fn candidates(&self, read: Length) -> Vec<(Length, Slip, f64)> {
        match self.parts {
            Some((parts, tail)) => self.of_parts(parts, tail, read < Length::ZERO),
            None => self.of_digits(),
        }
    }

    fn of_parts(&self, parts: [i64; 3], tail: i64, negative: bool) -> Vec<(Length, Slip, f64)> {
        let mut found = Vec::new();
        let mut add = |[f, i, e]: [i64; 3], tail: i64, negative: bool, slip: Slip, share: f64| {
            if f < 0 || !(0..12).contains(&i) || !(0..8).contains(&e) {
                return;
            }
            let length = Length::EIGHTH.checked_mul((f * 12 + i) * 8 + e);
            let more = self.table.facts.dialect.plus.checked_mul(tail);
            let Some(length) = length.zip(more).and_then(|(l, m)| l.checked_add(m)) else { return };
            found.push((if negative { -length } else { length }, slip, share));
        };
        let [f, i, e] = parts;
        for k in 0..3 {
            let digits: Vec<char> = parts[k].to_string().chars().collect();
            for (at, &read) in digits.iter().enumerate() {
                for was in ('0'..='9').filter(|&d| d != read) {
                    let mut other = digits.clone();
                    other[at] = was;
                    let value = other.iter().collect::<String>().parse().unwrap_or(-1);
                    let mut changed = parts;
                    changed[k] = value;
                    add(changed, tail, negative, Slip::Digit { read, was }, 1.0);
                }
            }
            if parts[k] == 0 {
                let most = [1, 11, 7][k];
                for value in 1..=most {
                    let mut changed = parts;
                    changed[k] = value;
                    add(changed, tail, negative, Slip::PartLost, 1.0);
                }
            } else {
                let mut changed = parts;
                changed[k] = 0;
                add(changed, tail, negative, Slip::PartLost, 1.0);
            }
        }
        // With a nought it is as well a part left out, which is commoner.
        let swaps = |a: i64, b: i64| if a == 0 || b == 0 { 0.5 } else { 1.0 };
        add([i, f, e], tail, negative, Slip::Swapped, swaps(f, i));
        add([f, e, i], tail, negative, Slip::Swapped, swaps(i, e));
        add([e, i, f], tail, negative, Slip::Swapped, 0.2);
        for by in [-1, 1] {
            add([f + by, i, e], tail, negative, Slip::Foot, 1.0);
            let inches = f * 12 + i + by;
            add([inches.div_euclid(12), inches.rem_euclid(12), e], tail, negative, Slip::Inch, 1.0);
            let eighths = (f * 12 + i) * 8 + e + by;
            let last = [eighths.div_euclid(96), eighths.div_euclid(8) % 12, eighths.rem_euclid(8)];
            add(last, tail, negative, Slip::LastByOne, 1.0);
        }
        if f == 0 {
            // The last part left out, and the others read one place down.
            for lost in 0..8 {
                add([i, e, lost], tail, negative, Slip::Dropped, if lost == 0 { 1.0 } else { 0.15 });
            }
        }
        if e == 0 {
            add([0, f, i], tail, negative, Slip::Dropped, 0.5);
        }
        for other in [-1, 0, 1] {
            if other != tail {
                add(parts, other, negative, Slip::Plus, 1.0);
            }
        }
        add(parts, tail, !negative, Slip::Minus, 1.0);
        found
    }

    /// The same for a number written in digits, by its text.
    fn of_digits(&self) -> Vec<(Length, Slip, f64)> {
        let text = self.written;
        let number = text.find(|c: char| c.is_ascii_alphabetic() || c == ' ').unwrap_or(text.len());
        let (number, unit) = text.split_at(number);
        let dialect = &self.table.facts.dialect;
        let mut found = Vec::new();
        let mut add = |number: String, slip: Slip, share: f64| {
            if let Ok(Some(parsed)) = parse_cell(&format!("{number}{unit}"), dialect) {
                found.push((parsed.length, slip, share));
            }
        };
        let characters: Vec<char> = number.chars().collect();
        let text_of = |c: &[char]| c.iter().collect::<String>();
        for (at, &read) in characters.iter().enumerate().filter(|(_, c)| c.is_ascii_digit()) {
            for was in ('0'..='9').filter(|&d| d != read) {
                let mut other = characters.clone();
                other[at] = was;
                add(text_of(&other), Slip::Digit { read, was }, 1.0);
            }
            if characters.get(at + 1).is_some_and(char::is_ascii_digit) {
                let mut other = characters.clone();
                other.swap(at, at + 1);
                add(text_of(&other), Slip::Swapped, 1.0);
            }
        }
        for at in 0..=characters.len() {
            for lost in '0'..='9' {
                let mut other = characters.clone();
                other.insert(at, lost);
                add(text_of(&other), Slip::Dropped, 0.15);
            }
        }
        if let Some(point) = characters.iter().position(|c| *c == '.') {
            for to in [point.saturating_sub(1), point + 1] {
                let mut other = characters.clone();
                let sign = other.remove(point);
                other.insert(to.min(other.len()), sign);
                add(text_of(&other), Slip::Point, 1.0);
            }
        }
        let turned = number.strip_prefix('-').map_or(format!("-{number}"), str::to_owned);
        add(turned, Slip::Minus, 1.0);
        found
    }

    /// Readings of this hand near a length.
    fn about(&self, expected: Length, sd_m: f64) -> impl Iterator<Item = Length> + use<> {
        /// So many to either side at most; further ones are hardly likelier than each other.
        const MOST: f64 = 12.0;
        let (nearest, place) = (expected.rounded(self.place), self.place);
        let reach = (REACH * sd_m / place.metres().max(1e-9)).min(MOST) as i64;
        (-reach..=reach).filter_map(move |n| nearest.checked_add(place.checked_mul(n)?))
    }

    /// A length as this hand would write it.
    fn write(&self, length: Length) -> Option<String> {
        let dialect = &self.table.facts.dialect;
        let reads =
            |text: &str| parse_cell(text, dialect).is_ok_and(|r| r.is_some_and(|r| r.length == length));
        let plain = || {
            let text = dialect.write(length, Precision::Exact);
            reads(&text).then_some(text)
        };
        if self.parts.is_none() {
            let unit: String = self.written.chars().skip_while(|c| !c.is_ascii_alphabetic()).collect();
            let in_unit = match unit.as_str() {
                "mm" => Some(length.mm()),
                "cm" => Some(length.mm() / 10.0),
                "m" => Some(length.metres()),
                "in" => Some(length.inches()),
                _ => None,
            };
            let text = in_unit.map(|n| format!("{}{unit}", (n * 1e7).round() / 1e7));
            return text.filter(|t| reads(t)).or_else(plain);
        }
        let cells = self.table.cells().filter_map(|c| self.table.cell(c)).map(|r| r.written.as_str());
        let hands = std::iter::once(self.written).chain(cells);
        let mut tried = 0;
        for like in hands {
            if let Some(text) = self.write_like(like, length).filter(|t| reads(t)) {
                return Some(text);
            }
            tried += 1;
            if tried > 200 {
                break;
            }
        }
        plain()
    }

    /// A length with its parts in the places where another reading's stand.
    fn write_like(&self, like: &str, length: Length) -> Option<String> {
        let dialect = &self.table.facts.dialect;
        let eighth = Length::EIGHTH.ticks();
        let magnitude = length.abs();
        let over = magnitude.ticks() % eighth;
        let plus = dialect.plus.ticks();
        let (n, tail) = match over {
            0 => (magnitude.ticks() / eighth, ""),
            _ if over == plus => (magnitude.ticks() / eighth, "+"),
            _ if eighth - over == plus => (magnitude.ticks() / eighth + 1, "-"),
            _ => return None,
        };
        let parts = [n / 96, n / 8 % 12, n % 8];
        let body = like.trim_start_matches('-').trim_end_matches(['+', '-']);
        let runs = body.split(|c: char| !c.is_ascii_digit()).filter(|run| !run.is_empty()).count();
        let two = dialect.two_part.filter(|_| runs == 2);
        let numbers: &[i64] = match (runs, two) {
            (3, _) if !body.contains('/') => &parts,
            (2, Some(TwoPart::FeetInches)) if parts[2] == 0 && tail.is_empty() => &parts[..2],
            (2, Some(TwoPart::InchesEighths)) if parts[0] == 0 => &parts[1..],
            _ => return None,
        };
        let mut numbers = numbers.iter();
        let mut text = String::from(if length < Length::ZERO { "-" } else { "" });
        let mut inside = false;
        for c in body.chars() {
            if !c.is_ascii_digit() {
                text.push(c);
            } else if !inside {
                text.push_str(&numbers.next()?.to_string());
            }
            inside = c.is_ascii_digit();
        }
        Some(text + tail)
    }
}

/// Whether a reading is one number rather than parts.
fn is_decimal(written: &str, dialect: &Dialect) -> bool {
    if written.contains(|c: char| c.is_ascii_alphabetic()) {
        return !written.contains("ft");
    }
    let plain = written.trim_start_matches('-').chars().all(|c| c.is_ascii_digit() || c == '.');
    dialect.units != Units::FeetInchesEighths && plain
}
