//! A tired copyist: the yardstick proofreading is measured with.
//!
//! Makes the slips the trade knows (digits misread, parts swapped, a foot or an inch lost, a part dropped, a
//! neighbour's cell, a lost `+` or minus) in a table of feet, inches and eighths, by a seed.

use scrieve_offsets::{CellId, Table};

/// A kind of slip.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// 0/6, 1/7, 3/8, 4/9 or 5/6.
    Digit,
    /// Any digit for any other.
    AnyDigit,
    /// The eighths misread by three.
    ThreeEighths,
    /// `1-3-4` for `1-4-3`.
    Swapped,
    /// A foot too few or too many.
    Foot,
    /// An inch too few or too many.
    Inch,
    /// A part that was nought is left out and the rest moves down: `0-4` for 4 in read as 4 eighths.
    Dropped,
    /// What stands beside it is copied twice.
    Neighbour,
    /// A `+` or `-` lost, or put in.
    Plus,
    /// A minus lost.
    Minus,
}

impl Kind {
    /// All of them.
    pub const ALL: [Kind; 10] = [
        Kind::Digit,
        Kind::AnyDigit,
        Kind::ThreeEighths,
        Kind::Swapped,
        Kind::Foot,
        Kind::Inch,
        Kind::Dropped,
        Kind::Neighbour,
        Kind::Plus,
        Kind::Minus,
    ];
}

/// A slip made.
#[derive(Clone, Debug, PartialEq)]
pub struct Slip {
    /// Where.
    pub cell: CellId,
    /// What kind.
    pub kind: Kind,
    /// The true reading.
    pub truth: String,
    /// What stands there now.
    pub written: String,
    /// How far off that is, m at the table's scale.
    pub off_m: f64,
}

/// Copies tables.
#[derive(Clone, Debug)]
pub struct Copyist {
    state: u64,
}

impl Copyist {
    /// One who makes the same slips whenever the seed is the same.
    pub fn new(seed: u64) -> Self {
        Copyist { state: seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x5c21_eb0a }
    }

    /// A whole number below `n` (splitmix64).
    pub fn below(&mut self, n: usize) -> usize {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) % n.max(1) as u64) as usize
    }

    /// The table with `slips` slips in it, each in a cell of its own.
    pub fn copy(&mut self, table: &Table, slips: usize) -> (Table, Vec<Slip>) {
        let cells: Vec<CellId> = table.cells().filter(|&c| table.cell(c).is_some()).collect();
        let (mut copy, mut made) = (table.clone(), Vec::<Slip>::new());
        // A kind that some cell cannot have is drawn again.
        for _ in 0..1000 * slips {
            if made.len() == slips || cells.is_empty() {
                break;
            }
            let cell = cells[self.below(cells.len())];
            let kind = Kind::ALL[self.below(Kind::ALL.len())];
            if made.iter().any(|s| s.cell == cell) {
                continue;
            }
            if let Some((next, slip)) = self.slip(&copy, cell, kind) {
                copy = next;
                made.push(slip);
            }
        }
        (copy, made)
    }

    /// The table with one slip of a kind in a cell, if that cell can have it and the table still reads.
    pub fn slip(&mut self, table: &Table, cell: CellId, kind: Kind) -> Option<(Table, Slip)> {
        let truth = table.cell(cell)?;
        let written = self.written(table, cell, kind)?;
        let (station, row) = table.describe(cell);
        let copy = table.with_reading(&station, &row, &written).ok()?;
        let off_m = copy.cell(cell)?.length.metres() - truth.length.metres();
        let slip = Slip { cell, kind, truth: truth.written.clone(), written, off_m };
        (off_m != 0.0).then_some((copy, slip))
    }

    fn written(&mut self, table: &Table, cell: CellId, kind: Kind) -> Option<String> {
        let truth = table.cell(cell)?.written.clone();
        let (negative, bare) = match truth.strip_prefix('-') {
            Some(rest) => (true, rest),
            None => (false, truth.as_str()),
        };
        let body = bare.trim_end_matches(['+', '-']);
        let tail = &bare[body.len()..];
        let parts: Vec<&str> = body.split('-').collect();
        let [feet, inches, eighths] = parts[..] else { return None };
        let (f, i, e): (i64, i64, i64) = (feet.parse().ok()?, inches.parse().ok()?, eighths.parse().ok()?);
        let sign = if negative { "-" } else { "" };
        let write = |f: i64, i: i64, e: i64| {
            let sound = f >= 0 && (0..12).contains(&i) && (0..8).contains(&e);
            sound.then(|| format!("{sign}{f}-{i}-{e}{tail}"))
        };
        match kind {
            Kind::Digit => {
                let places: Vec<usize> = (0..body.len()).filter(|&at| body.as_bytes()[at] != b'-').collect();
                let at = places[self.below(places.len())];
                let pairs = [('0', '6'), ('1', '7'), ('3', '8'), ('4', '9'), ('5', '6')];
                let digit = char::from(body.as_bytes()[at]);
                let others: Vec<char> = pairs
                    .iter()
                    .filter_map(|&(a, b)| if a == digit { Some(b) } else { (b == digit).then_some(a) })
                    .collect();
                let other = *others.get(self.below(others.len()))?;
                Some(format!("{sign}{}{other}{}{tail}", &body[..at], &body[at + 1..]))
            }
            Kind::AnyDigit => {
                let mut digits = [f, i, e];
                let at = self.below(3);
                digits[at] = self.below([10, 12, 8][at]) as i64;
                write(digits[0], digits[1], digits[2])
            }
            Kind::ThreeEighths => {
                write(f, i, if e < 3 || (e < 5 && self.below(2) == 0) { e + 3 } else { e - 3 })
            }
            Kind::Swapped if self.below(2) == 0 => write(i, f, e),
            Kind::Swapped => write(f, e, i),
            Kind::Foot => write(f + if self.below(2) == 0 { 1 } else { -1 }, i, e),
            Kind::Inch => write(f, i + if self.below(2) == 0 { 1 } else { -1 }, e),
            Kind::Dropped if e == 0 => write(0, f, i),
            Kind::Dropped => (f == 0 && i > 0 && i < 8).then(|| format!("{sign}0-0-{i}")),
            Kind::Neighbour => {
                let other = match self.below(4) {
                    0 => CellId { column: cell.column + 1, ..cell },
                    1 => CellId { column: cell.column.checked_sub(1)?, ..cell },
                    2 => CellId { row: cell.row + 1, ..cell },
                    _ => CellId { row: cell.row.checked_sub(1)?, ..cell },
                };
                Some(table.cell(other)?.written.clone())
            }
            Kind::Plus if tail.is_empty() => {
                Some(format!("{sign}{body}{}", if self.below(2) == 0 { '+' } else { '-' }))
            }
            Kind::Plus => Some(format!("{sign}{body}")),
            Kind::Minus => negative.then(|| bare.to_owned()),
        }
    }
}
