//! How finely a hand read, told from its readings: the grid they lie on, and a favour for halves and quarters.
//!
//! A hand that reads to g writes each multiple of g alike often, so that of readings to the eighth one in two has an
//! odd eighth and one in eight is a whole inch. Grids that divide one another part readings by the coarsest they lie on;
//! how many lie on each is multinomial, with the shares of the grids the hand read to as its parameters. The likeliest shares
//! are found by expectation and maximisation (Dempster, Laird and Rubin 1977), sets of grids are compared by their
//! likelihood less what each grid of a set must bring (Schwarz 1978), and a grid that is not written down has to be far
//! likelier than the notation. What a reading is worth is the mean square of the grids it may have been read to.

use std::collections::{BTreeMap, HashSet};

use scrieve_notation::{Length, Mark};

use crate::{Block, CellId, Table};

/// Log of the odds asked of a grid before it is believed: ten thousand to one. Less would take one table in some
/// hundreds for coarser than it is, since some dozen sets of grids are tried of four kinds of readings.
const ODDS: f64 = 9.2;
/// The same with any one row left out, for a row may be straight, or laid down by its designer in whole inches; and of
/// what all readings together tell, with those of one kind alone.
const ODDS_WITHOUT_A_ROW: f64 = 4.6;
/// What a grid more in a set must bring besides its share's own uncertainty, as a log.
const A_GRID: f64 = 2.0;
/// Fewer readings than this say nothing of the hand.
const FEWEST: usize = 20;
/// So many readings are enough to tell; of more, every second or third is looked at.
const ENOUGH: usize = 10_000;
/// Of a row by itself fewer say nothing.
const FEWEST_OF_ROW: usize = 6;
/// Of readings that lie on one grid, the part that may be slips of the pen or another hand's.
const OFF: f64 = 0.02;
/// Grids of a set at most: eighths, halves and whole inches, say.
const MOST_GRIDS: usize = 3;
/// Rounds of expectation and maximisation; shares are wanted to a hundredth.
const ROUNDS: usize = 100;

/// Kinds of readings, each taken in its own way: up from the base line, out from the centreline, along, and out along
/// a diagonal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    Height,
    HalfBreadth,
    Distance,
    Diagonal,
}

impl Kind {
    const ALL: [Kind; 4] = [Kind::Height, Kind::HalfBreadth, Kind::Distance, Kind::Diagonal];

    pub(crate) fn of(cell: CellId) -> Self {
        match (cell.block, cell.row, cell.column) {
            (Block::Heights, ..) | (Block::Points, _, 0) => Kind::Height,
            (Block::HalfBreadths, ..) | (Block::Points, ..) => Kind::HalfBreadth,
            (Block::StemProfile | Block::SternProfile, 0, _)
            | (Block::Stations, ..)
            | (Block::Transom, _, 0) => Kind::Distance,
            (Block::StemProfile | Block::SternProfile | Block::Transom, ..) => Kind::Height,
            (Block::Diagonals, ..) => Kind::Diagonal,
        }
    }

    fn name(self) -> &'static str {
        match self {
            Kind::Height => "heights",
            Kind::HalfBreadth => "half-breadths",
            Kind::Distance => "distances from the stem",
            Kind::Diagonal => "diagonals",
        }
    }
}

/// Grids that divide one another, in a unit: how many to the unit, or how many units.
struct Chain {
    unit: Length,
    name: &'static str,
    /// Numerator and denominator, finest first.
    steps: &'static [(i64, i64)],
    /// Written as decimals.
    decimal: bool,
}

/// Rules and scales: of a metric rule fives and tens, or its even marks; of an inch rule halved marks or tenths; of a
/// surveyor's staff tenths of a foot.
const CHAINS: [Chain; 5] = [
    Chain {
        unit: Length::MILLIMETRE,
        name: "mm",
        steps: &[(1, 10), (1, 2), (1, 1), (5, 1), (10, 1), (50, 1), (100, 1)],
        decimal: true,
    },
    Chain {
        unit: Length::MILLIMETRE,
        name: "mm",
        steps: &[(1, 5), (1, 1), (2, 1), (10, 1), (20, 1), (100, 1)],
        decimal: true,
    },
    Chain {
        unit: Length::INCH,
        name: "in",
        steps: &[(1, 32), (1, 16), (1, 8), (1, 4), (1, 2), (1, 1)],
        decimal: false,
    },
    Chain {
        unit: Length::INCH,
        name: "in",
        steps: &[(1, 100), (1, 20), (1, 10), (1, 2), (1, 1)],
        decimal: true,
    },
    Chain { unit: Length::FOOT, name: "ft", steps: &[(1, 100), (1, 20), (1, 10), (1, 2)], decimal: true },
];

impl Chain {
    fn ticks(&self, (times, parts): (i64, i64)) -> i64 {
        self.unit.ticks() * times / parts
    }

    fn step_name(&self, (times, parts): (i64, i64)) -> String {
        match (self.decimal, parts) {
            (_, 1) => format!("{times} {}", self.name),
            (true, _) => format!("{} {}", times as f64 / parts as f64, self.name),
            (false, _) => format!("{times}/{parts} {}", self.name),
        }
    }
}

/// A reading that says something of the hand: its row, and its length.
#[derive(Clone, Copy)]
struct Sample {
    row: (Block, usize),
    ticks: i64,
}

/// How a hand read.
#[derive(Clone, Debug)]
pub(crate) struct Reads {
    /// Grids from the place written to up, ticks, and what each is called.
    grids: Vec<i64>,
    names: Vec<String>,
    /// Those it read to, and the share read to each.
    set: Vec<usize>,
    shares: Vec<f64>,
    /// From where the grid counts, ticks: heights turned from a datum to the base line lie beside it.
    phase: i64,
    /// How many readings lie on each and no coarser, and how many in all.
    counts: Vec<usize>,
}

impl Reads {
    /// The finest grid that a share of the hand's readings was read to.
    pub(crate) fn finest(&self) -> Length {
        Length::from_ticks(self.grids[self.set.first().copied().unwrap_or(0)])
    }

    /// The spacing of readings that are worth as much as this one, m.
    fn spacing(&self, length: Length) -> f64 {
        let level = level(&self.grids, length.ticks() - self.phase);
        // Written alike often within a grid, a reading was read to each grid it lies on by share times spacing.
        let (mut whole, mut square) = (0.0, 0.0);
        for &j in self.set.iter().filter(|j| **j <= level) {
            let grid = self.grids[j] as f64;
            let weight = self.shares[j] * grid;
            whole += weight;
            square += weight * grid * grid;
        }
        // Off the grid altogether, it is a slip, or no worse than its fellows.
        let ticks = if whole > 0.0 { (square / whole).sqrt() } else { self.finest().ticks() as f64 };
        ticks / (Length::PER_MM as f64 * 1e3)
    }

    /// The same of a reading whose place was chosen, a whole foot from the stem or a waterline's height: that it lies on
    /// a coarse mark says nothing of the hand.
    fn spacing_of_chosen(&self) -> f64 {
        self.finest().metres()
    }

    /// As a kind is read that tells nothing itself: to the finest of these grids, if its readings lie on that.
    fn at_finest(self, samples: &[Sample]) -> Option<Reads> {
        // To the place they are written to they are taken to be read anyhow.
        let finest = *self.set.first().filter(|&&finest| finest > 0)?;
        let counts = counts(&self.grids, samples);
        let shares = (0..self.grids.len()).map(|j| f64::from(u8::from(j == finest))).collect();
        let on = counts[finest..].iter().sum::<usize>() == samples.len() && !samples.is_empty();
        on.then_some(Reads { set: vec![finest], shares, phase: 0, counts, ..self })
    }

    /// What there is to say of readings so read.
    fn sentence(&self, kinds: &[Kind], hand: Length) -> String {
        let names: Vec<&str> = kinds.iter().map(|kind| kind.name()).collect();
        let names = match names.split_last() {
            Some((last, [])) => (*last).to_owned(),
            Some((last, before)) => format!("{} and {last}", before.join(", ")),
            None => String::new(),
        };
        let total: usize = self.counts.iter().sum();
        let override_it = "`tolerance` in the file or --tolerance says otherwise";
        let from = |j: usize| self.counts[j..].iter().sum::<usize>();
        if let [only] = self.set[..] {
            let name = &self.names[only];
            return format!(
                "{names} lie on a grid of {name} ({} of {total} that tell): they are taken as read to the nearest {name}, \
                 not to the {} they are written to; {override_it}",
                from(only),
                written(hand),
            );
        }
        let coarse: Vec<String> = (self.set.iter().skip(1))
            .map(|&j| {
                let by_chance = total as f64 * at_least(&self.grids, self.set[0], j);
                format!("{} of {total} on {} where some {by_chance:.0} would be", from(j), self.names[j])
            })
            .collect();
        let worth: Vec<String> = (self.set.iter())
            .map(|&j| {
                let of = Length::from_ticks(self.grids[j] + self.phase);
                let within = 0.5 * self.spacing(of);
                let within = match metric(Length::from_ticks(self.grids[0])) {
                    true => format!("{:.1} mm", 1e3 * within),
                    false => format!("{:.2} in", within / Length::INCH.metres()),
                };
                format!("{within} on {}", self.names[j])
            })
            .collect();
        format!(
            "{names} favour coarser marks ({}): those on them are taken as read less finely, to within {}; {override_it}",
            coarse.join(", "),
            worth.join(", "),
        )
    }
}

fn written(hand: Length) -> String {
    for chain in &CHAINS {
        let step = chain.steps.iter().find(|step| chain.ticks(**step) == hand.ticks());
        if let Some(step) = step {
            return chain.step_name(*step);
        }
    }
    if metric(hand) { format!("{} mm", hand.mm()) } else { format!("{} in", hand.inches()) }
}

/// Whether a place is one of millimetres rather than of inches.
fn metric(place: Length) -> bool {
    place.ticks() % (Length::PER_MM / 1000) == 0 && place.ticks() % Length::PER_128TH != 0
}

/// The coarsest of nested grids, finest first, that a length lies on. Where a grid's marks fall between what can be
/// written, on it is what a mark is written as.
fn level(grids: &[i64], ticks: i64) -> usize {
    let place = grids[0];
    let on = |&grid: &i64| {
        let off = ticks.rem_euclid(grid);
        let slack = if grid % place == 0 { 0 } else { place / 2 };
        off.min(grid - off) <= slack
    };
    grids.iter().rposition(on).unwrap_or(0)
}

/// The chance of a reading read to grid `j` to lie on grid `k` or a coarser one. A mark halfway between two that can be
/// written is written as either, so that of tenths of an inch six in ten lie on its quarters: .0, .2, .3, .5, .7 and .8.
fn at_least(grids: &[i64], j: usize, k: usize) -> f64 {
    let Some(&grid) = grids.get(k) else { return 0.0 };
    let place = grids[0];
    if j > 0 || grid % place == 0 {
        return grids[j] as f64 / grid as f64;
    }
    // Multiples of the place fall on every rest of the grid that their common measure divides, alike often.
    let measure = common_measure(place, grid);
    ((2 * (place / 2 / measure) + 1) * measure) as f64 / grid as f64
}

fn common_measure(a: i64, b: i64) -> i64 {
    if b == 0 { a } else { common_measure(b, a % b) }
}

/// The chance of a reading read to grid `j` to lie on grid `k` and none coarser.
fn chance(grids: &[i64], j: usize, k: usize) -> f64 {
    if k < j { 0.0 } else { at_least(grids, j, k) - at_least(grids, j, k + 1) }
}

/// Log likelihood of counts by level.
fn likelihood(grids: &[i64], shares: &[f64], counts: &[usize]) -> f64 {
    let of_level = |k: usize| (0..=k).map(|j| shares[j] * chance(grids, j, k)).sum::<f64>();
    let levels = counts.iter().enumerate().filter(|(_, n)| **n > 0);
    levels.map(|(k, &n)| n as f64 * of_level(k).max(f64::MIN_POSITIVE).ln()).sum()
}

/// The likeliest shares of a set of grids.
fn likeliest(grids: &[i64], set: &[usize], counts: &[usize]) -> Vec<f64> {
    let total: usize = counts.iter().sum();
    let kept = if set.contains(&0) { 1.0 } else { 1.0 - OFF };
    let mut shares = vec![0.0; grids.len()];
    shares[0] = 1.0 - kept;
    set.iter().for_each(|&j| shares[j] = kept / set.len() as f64);
    for _ in 0..ROUNDS {
        let mut found = vec![0.0; grids.len()];
        for (k, &n) in counts.iter().enumerate().filter(|(_, n)| **n > 0) {
            let all: f64 = (0..=k).map(|j| shares[j] * chance(grids, j, k)).sum();
            for j in 0..=k {
                found[j] += n as f64 * shares[j] * chance(grids, j, k) / all.max(f64::MIN_POSITIVE);
            }
        }
        let of_set: f64 = set.iter().map(|&j| found[j]).sum();
        if of_set <= 0.0 || total == 0 {
            break;
        }
        set.iter().for_each(|&j| shares[j] = kept * found[j] / of_set);
    }
    shares
}

fn counts(grids: &[i64], samples: &[Sample]) -> Vec<usize> {
    let mut counts = vec![0; grids.len()];
    samples.iter().for_each(|s| counts[level(grids, s.ticks)] += 1);
    counts
}

/// Sets of a few of so many grids.
fn sets(of: usize) -> Vec<Vec<usize>> {
    let mut sets: Vec<Vec<usize>> = vec![Vec::new()];
    for j in 0..of {
        let with: Vec<Vec<usize>> =
            sets.iter().filter(|s| s.len() < MOST_GRIDS).map(|s| [&s[..], &[j]].concat()).collect();
        sets.extend(with);
    }
    sets.retain(|set| !set.is_empty() && set[..] != [0]);
    sets
}

/// How a hand that wrote to a place read, where its readings tell it beyond doubt.
fn reads(samples: &[Sample], hand: Length, phased: bool) -> Option<Reads> {
    if samples.len() < FEWEST {
        return None;
    }
    let place = hand.ticks();
    let mut best: Option<(f64, Reads)> = None;
    // Tenths of inches and feet are the marks of those only who write tenths.
    let possible =
        |chain: &&Chain| !chain.decimal || chain.name == "mm" || chain.unit.ticks() % (10 * place) == 0;
    for chain in CHAINS.iter().filter(possible) {
        let coarser: Vec<(i64, i64)> =
            chain.steps.iter().copied().filter(|&step| 2 * chain.ticks(step) > 3 * place).collect();
        let Some(&coarsest) = coarser.last() else { continue };
        let grids: Vec<i64> =
            std::iter::once(place).chain(coarser.iter().map(|&step| chain.ticks(step))).collect();
        let names: Vec<String> =
            std::iter::once(written(hand)).chain(coarser.iter().map(|&step| chain.step_name(step))).collect();
        let mut phases = vec![(0, 0.0)];
        if phased {
            let whole = chain.ticks(coarsest);
            let price = (whole as f64 / place as f64).ln();
            phases.extend(commonest(samples, whole).filter(|&phase| phase != 0).map(|phase| (phase, price)));
        }
        for (phase, price) in phases {
            let mut by_row: BTreeMap<(Block, usize), Vec<usize>> = BTreeMap::new();
            let mut counted = vec![0; grids.len()];
            for sample in samples {
                let level = level(&grids, sample.ticks - phase);
                by_row.entry(sample.row).or_insert_with(|| vec![0; grids.len()])[level] += 1;
                counted[level] += 1;
            }
            let mut plain = vec![0.0; grids.len()];
            plain[0] = 1.0;
            let as_written = likelihood(&grids, &plain, &counted);
            // No shares make readings likelier than as often on each grid as they are: most tables need no more looking.
            let whole = samples.len() as f64;
            let most: f64 =
                counted.iter().filter(|n| **n > 0).map(|&n| n as f64 * (n as f64 / whole).ln()).sum();
            if most - as_written < ODDS + A_GRID + price {
                continue;
            }
            for set in sets(grids.len()) {
                let shares = likeliest(&grids, &set, &counted);
                let free = (set.len() - 1) as f64 * 0.5 * (samples.len() as f64).ln();
                let asked = price + free + A_GRID * set.len() as f64;
                let score = likelihood(&grids, &shares, &counted) - as_written - asked;
                if score < ODDS || best.as_ref().is_some_and(|b| b.0 >= score) {
                    continue;
                }
                let holds = by_row.values().all(|row| {
                    let rest: Vec<usize> = counted.iter().zip(row).map(|(all, row)| all - row).collect();
                    let gain = likelihood(&grids, &shares, &rest) - likelihood(&grids, &plain, &rest);
                    gain - asked > ODDS_WITHOUT_A_ROW
                });
                if holds {
                    let (grids, names, counts) = (grids.clone(), names.clone(), counted.clone());
                    best = Some((score, Reads { grids, names, set, shares, phase, counts }));
                }
            }
        }
    }
    best.map(|(_, reads)| reads)
}

/// The commonest rest of readings after whole steps.
fn commonest(samples: &[Sample], step: i64) -> Option<i64> {
    let mut rests: Vec<i64> = samples.iter().map(|s| s.ticks.rem_euclid(step)).collect();
    rests.sort_unstable();
    rests.chunk_by(|a, b| a == b).max_by_key(|same| same.len()).map(|same| same[0])
}

/// What the readings of a table are worth.
#[derive(Clone, Debug, Default)]
pub(crate) struct Worths {
    /// What readings are written to.
    hand: Option<Length>,
    /// How those of each kind were read, where that is not as they are written.
    own: [Option<Reads>; 4],
    /// Rows that were plainly read more coarsely than the others of their kind: to which spacing, and what is said of it.
    rows: Vec<RowReads>,
}

/// A row read more coarsely than the others of its kind.
#[derive(Clone, Debug)]
struct RowReads {
    row: (Block, usize),
    grid: Length,
    said: String,
}

/// Rows all of whose readings lie on a grid where hardly any of the others of their kind would by chance.
fn coarse_rows(
    table: &Table,
    told: &[(Kind, Sample)],
    own: &[Option<Reads>; 4],
    hand: Length,
) -> Vec<RowReads> {
    let mut by_row: BTreeMap<(Block, usize), (Kind, Vec<i64>)> = BTreeMap::new();
    for (kind, sample) in told.iter().filter(|(_, s)| !matches!(s.row.0, Block::Points | Block::Stations)) {
        by_row.entry(sample.row).or_insert_with(|| (*kind, Vec::new())).1.push(sample.ticks);
    }
    let many = (by_row.len().max(1) as f64).ln();
    let metric_hand = metric(hand);
    let mut found = Vec::new();
    for (row, (kind, ticks)) in by_row.iter().filter(|(_, of)| of.1.len() >= FEWEST_OF_ROW) {
        let reads = Kind::ALL.into_iter().position(|k| k == *kind).and_then(|i| own[i].as_ref());
        let (finest, phase) = reads.map_or((hand, 0), |r| (r.finest(), r.phase));
        let others: Vec<i64> = by_row
            .iter()
            .filter(|(r, of)| *r != row && of.0 == *kind)
            .flat_map(|(_, of)| of.1.clone())
            .collect();
        let chains = CHAINS.iter().filter(|c| (c.name == "mm") == metric_hand && (metric_hand || !c.decimal));
        let steps = chains.flat_map(|chain| chain.steps.iter().map(move |&step| (chain, step)));
        let on = |grid: i64| move |t: &&i64| (**t - phase).rem_euclid(grid) == 0;
        let coarser = steps.filter(|(chain, step)| chain.ticks(*step) >= 2 * finest.ticks());
        let best = coarser
            .filter(|(chain, step)| ticks.iter().all(|t| on(chain.ticks(*step))(&t)))
            .max_by_key(|(chain, step)| chain.ticks(*step));
        let Some((chain, step)) = best else { continue };
        let grid = chain.ticks(step);
        // As often as the others of its kind lie on it, and no seldomer than by chance.
        let as_others = (others.iter().filter(on(grid)).count() as f64 + 1.0) / (others.len() as f64 + 2.0);
        let chance = as_others.max(finest.ticks() as f64 / grid as f64);
        if others.len() < FEWEST || ticks.len() as f64 * -chance.ln() < ODDS + A_GRID + many {
            continue;
        }
        let name = chain.step_name(step);
        let said = format!(
            "the {} of {} all lie on a grid of {name}, which those of other rows do not: they are taken as read to the \
             nearest {name}; `tolerance` in the file or --tolerance says otherwise",
            kind.name(),
            table.row_name(row.1),
        );
        found.push(RowReads { row: *row, grid: Length::from_ticks(grid), said });
    }
    found
}

impl Worths {
    /// Told from a table's own readings, unless it states a tolerance.
    pub(crate) fn of(table: &Table) -> Self {
        let hand = table.hand();
        let mut worths = Worths { hand, ..Worths::default() };
        let Some(hand) = hand.filter(|_| table.facts.tolerance.is_none()) else { return worths };
        let (told, chosen) = telling(table);
        let of_kind = |kind: Kind| -> Vec<Sample> {
            told.iter().filter(|(k, _)| *k == kind).map(|(_, sample)| *sample).collect()
        };
        let all: Vec<Sample> = told.iter().map(|(_, sample)| *sample).collect();
        let together = reads(&all, hand, false);
        for (kind, own) in Kind::ALL.into_iter().zip(&mut worths.own) {
            let samples = of_kind(kind);
            if kind == Kind::Distance {
                *own = together.clone().and_then(|together| together.at_finest(&chosen));
                continue;
            }
            *own = reads(&samples, hand, kind == Kind::Height).or_else(|| {
                // A kind with few readings was read as all of them together, where it agrees.
                let together = together.clone()?;
                let counts = counts(&together.grids, &samples);
                let plain: Vec<f64> = (0..counts.len()).map(|j| f64::from(u8::from(j == 0))).collect();
                let likely = |shares: &[f64]| likelihood(&together.grids, shares, &counts);
                (likely(&together.shares) - likely(&plain) > ODDS_WITHOUT_A_ROW)
                    .then_some(Reads { counts, ..together })
            });
        }
        worths.rows = coarse_rows(table, &told, &worths.own, hand);
        worths
    }

    /// The spacing of the readings that one is worth as much as, m as read.
    pub(crate) fn spacing(&self, cell: CellId, length: Length, place: Length) -> f64 {
        let place = self.hand.map_or(place, |hand| place.min(hand));
        if let Some(row) = self.row(cell).filter(|_| self.hand == Some(place)) {
            return row.grid.metres();
        }
        match self.reads(cell) {
            // What is written finer than the hand is no part of its grid.
            Some(reads) if self.hand == Some(place) && is_chosen(cell) => reads.spacing_of_chosen(),
            Some(reads) if self.hand == Some(place) => reads.spacing(length),
            _ => place.metres(),
        }
    }

    /// How readings of a cell's kind were read, where that is not as they are written.
    fn reads(&self, cell: CellId) -> Option<&Reads> {
        Kind::ALL.into_iter().position(|kind| kind == Kind::of(cell)).and_then(|i| self.own[i].as_ref())
    }

    fn row(&self, cell: CellId) -> Option<&RowReads> {
        self.rows.iter().find(|r| r.row == (cell.block, cell.row))
    }

    /// The grid a cell's reading would be read to.
    pub(crate) fn finest(&self, cell: CellId) -> Option<Length> {
        self.row(cell).map(|row| row.grid).or_else(|| self.finest_of_kind(cell))
    }

    fn finest_of_kind(&self, cell: CellId) -> Option<Length> {
        self.reads(cell).map(Reads::finest).or(self.hand)
    }

    /// What there is to say of hands that read otherwise than they wrote.
    pub(crate) fn remarks(&self) -> Vec<String> {
        let Some(hand) = self.hand else { return Vec::new() };
        let mut found: Vec<(Vec<Kind>, Reads)> = Vec::new();
        for (kind, reads) in Kind::ALL.into_iter().zip(&self.own) {
            let Some(reads) = reads.as_ref().filter(|reads| reads.counts.iter().any(|n| *n > 0)) else {
                continue;
            };
            let alike = |(_, other): &&mut (Vec<Kind>, Reads)| {
                other.grids == reads.grids && other.set == reads.set && reads.set.len() == 1
            };
            let same = found.iter_mut().find(alike);
            match same {
                Some((kinds, other)) => {
                    kinds.push(kind);
                    other.counts.iter_mut().zip(&reads.counts).for_each(|(sum, n)| *sum += n);
                }
                None => found.push((vec![kind], reads.clone())),
            }
        }
        let of_kinds = found.into_iter().map(|(kinds, reads)| reads.sentence(&kinds, hand));
        of_kinds.chain(self.rows.iter().map(|row| row.said.clone())).collect()
    }
}

/// Whether a reading is one of a spot on the stem, the stern or the transom, of which either may have been chosen and
/// the other read there.
fn is_chosen(cell: CellId) -> bool {
    matches!(cell.block, Block::StemProfile | Block::SternProfile | Block::Transom)
}

/// The readings that say something of the hand that took them, and distances of spots along the stem and stern, which
/// say nothing by themselves. Nought lies on any grid; a line that keeps its distance was read once; what is held is
/// known otherwise; places that may have been chosen, whole feet or the heights of waterlines, were not read; and what a
/// blank or two ends stand for was not read at all.
fn telling(table: &Table) -> (Vec<(Kind, Sample)>, Vec<Sample>) {
    let every = table.cells().count().div_ceil(ENOUGH).max(1);
    let mut seen = HashSet::new();
    let mut told = Vec::new();
    let mut chosen = Vec::new();
    for cell in table.cells().step_by(every) {
        let Some(reading) = table.cell(cell).filter(|r| r.mark != Mark::Held && r.length != Length::ZERO)
        else {
            continue;
        };
        // A wall side, or a flat floor, is one reading over and over.
        let above = cell.row.checked_sub(1).and_then(|row| table.cell(CellId { row, ..cell }));
        if cell.block != Block::Points && above.is_some_and(|above| above.length == reading.length) {
            continue;
        }
        let stood_for = table.blanks.iter().any(|(blank, _)| *blank == cell);
        let kind = Kind::of(cell);
        let row = if cell.block == Block::Points { cell.column } else { cell.row };
        let sample = Sample { row: (cell.block, row), ticks: reading.length.ticks() };
        if stood_for || table.layout.cell(cell).is_none() || !seen.insert((sample.row, sample.ticks)) {
            continue;
        }
        match is_chosen(cell) {
            true if kind == Kind::Distance => chosen.push(sample),
            true => {}
            false => told.push((kind, sample)),
        }
    }
    (told, chosen)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_lies_on_a_grid_by_chance_is_counted_as_it_can_be_written() {
        // Tenths of an inch: .0, .2, .3, .5, .7 and .8 are what quarters are written as, .0 and .5 halves.
        let tenth = Length::INCH.ticks() / 10;
        let grids = [tenth, Length::INCH.ticks() / 4, Length::INCH.ticks() / 2, Length::INCH.ticks()];
        for (k, expected) in [1.0, 0.6, 0.2, 0.1].into_iter().enumerate() {
            let counted = (0..1000).filter(|n| level(&grids, n * tenth) >= k).count() as f64 / 1000.0;
            assert!((at_least(&grids, 0, k) - expected).abs() < 1e-9, "{k}");
            assert!((counted - expected).abs() < 1e-9, "{k}: {counted}");
        }
        // Of quarters half are halves, however they are written.
        assert!((at_least(&grids, 1, 2) - 0.5).abs() < 1e-9);
        // Whole millimetres on sixteenths of an inch, whose common measure is small.
        let grids = [Length::PER_MM, Length::INCH.ticks() / 16];
        let counted = (0..127_000).filter(|n| level(&grids, n * Length::PER_MM) >= 1).count() as f64 / 127e3;
        assert!((at_least(&grids, 0, 1) - counted).abs() < 1e-3, "{counted}");
    }
}
