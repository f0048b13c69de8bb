//! Scarfs: where the lengths of a spar join, and what the joint looks like from the side.

use super::SparError;

/// Length of a scarf in a spar, so many times its thickness: twelve (common practice).
pub const SPAR_SCARF: f64 = 12.0;
/// A scarf blunter than this holds little: end grain does not glue.
const BLUNTEST: f64 = 6.0;
/// Steeper is no scarf any more but a plank half off.
const LONGEST: f64 = 30.0;
/// Depth of the nibs and of the step of a stepped scarf, of the thickness.
const NIB: f64 = 0.1;
/// Tries along the first length, to set neighbours' joints well clear.
const TRIES: usize = 12;
/// And so many lengths of those between the first and the last.
const RESTS: usize = 6;

/// What its faces are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ScarfKind {
    /// One slope from face to face.
    Plain,
    /// A nib square to the face at either end and a step half way.
    Stepped,
}

/// A scarf. Metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scarf {
    /// What its faces are.
    pub kind: ScarfKind,
    /// Thickness it slopes through.
    pub thickness: f64,
    /// Its width.
    pub width: f64,
    /// Its length.
    pub length: f64,
}

impl Scarf {
    /// A scarf of this many times the thickness.
    ///
    /// # Errors
    /// A ratio outside what glues; sizes that are none.
    pub fn new(kind: ScarfKind, ratio: f64, thickness: f64, width: f64) -> Result<Self, SparError> {
        if !(BLUNTEST..=LONGEST).contains(&ratio) {
            return Err(SparError::ScarfRatio { value: ratio, least: BLUNTEST, most: LONGEST });
        }
        if !(thickness > 0.0 && width > 0.0 && thickness.is_finite() && width.is_finite()) {
            return Err(SparError::ScarfSize);
        }
        Ok(Scarf { kind, thickness, width, length: ratio * thickness })
    }

    /// Its line from the side, along and up, from the upper face to the lower, m.
    pub fn profile(&self) -> Vec<[f64; 2]> {
        let (l, t) = (self.length, self.thickness);
        match self.kind {
            ScarfKind::Plain => vec![[0.0, t], [l, 0.0]],
            ScarfKind::Stepped => {
                let nib = NIB * t;
                let (over, under) = (0.5 * (t + nib), 0.5 * (t - nib));
                vec![[0.0, t], [0.0, t - nib], [0.5 * l, over], [0.5 * l, under], [l, nib], [l, 0.0]]
            }
        }
    }

    /// What is glued of it, m²: nibs and step too.
    pub fn glue_area(&self) -> f64 {
        let along = self.profile();
        let girth: f64 = along.windows(2).map(|w| (w[1][0] - w[0][0]).hypot(w[1][1] - w[0][1])).sum();
        girth * self.width
    }
}

/// One stick in the section, in its lengths.
#[derive(Clone, Debug, PartialEq)]
pub struct Member {
    /// From and to of each length, m along the spar, scarfs included in both neighbours.
    pub pieces: Vec<[f64; 2]>,
}

impl Member {
    /// The middle of each scarf, m.
    pub fn joints(&self) -> Vec<f64> {
        self.pieces.windows(2).map(|pair| 0.5 * (pair[0][1] + pair[1][0])).collect()
    }

    /// How far its scarfs' middles are from another's, m, where they are nearest.
    fn clear_of(&self, other: &Member) -> f64 {
        let theirs = other.joints();
        let nearest = |at: f64| {
            let i = theirs.partition_point(|joint| *joint < at);
            let beside = theirs[i.saturating_sub(1)..(i + 1).min(theirs.len())].iter();
            beside.map(|joint| (joint - at).abs()).fold(f64::INFINITY, f64::min)
        };
        self.joints().into_iter().map(nearest).fold(f64::INFINITY, f64::min)
    }
}

/// So many members of a spar of this length, out of stock of that length, of which any two may lie side by side: their
/// scarfs, `lap` long, are clear of each other, by a scarf's length where there is room for it, and are of as few lengths
/// as can be and as far from each other as those allow. One alone is of lengths alike.
///
/// # Errors
/// Stock shorter than the spar where no scarf is allowed (`lap` is nothing), or too short to hold two scarfs, or to keep
/// the members' clear of each other.
pub fn members(length: f64, stock: f64, lap: Option<f64>, patterns: usize) -> Result<Vec<Member>, SparError> {
    if !(stock.is_finite() && stock > 0.0) {
        return Err(SparError::Stock { value: stock });
    }
    if stock >= length {
        return Ok(vec![Member { pieces: vec![[0.0, length]] }; patterns]);
    }
    let Some(lap) = lap else { return Err(SparError::StockShort { stock, length }) };
    if stock < 3.0 * lap {
        return Err(SparError::StockForScarf { stock, least: 3.0 * lap });
    }
    let fewest = ((length - lap) / (stock - lap) - 1e-9).ceil() as usize;
    if patterns == 1 {
        let each = alike(length, fewest, lap);
        return Ok(vec![member(length, fewest, each, each, lap)]);
    }
    let ways: Vec<Member> =
        [fewest, fewest + 1].into_iter().flat_map(|count| ways(length, stock, lap, count)).collect();
    let gaps: Vec<Vec<f64>> = ways.iter().map(|a| ways.iter().map(|b| a.clear_of(b)).collect()).collect();
    let mut best: Option<(Rank, Vec<usize>)> = None;
    let mut consider = |picked: &[usize], gap: f64| {
        let lengths: usize = picked.iter().map(|i| ways[*i].pieces.len()).sum();
        let rank = (gap >= 2.0 * lap - 1e-9, -(lengths as f64), gap);
        if best.as_ref().is_none_or(|(known, _)| rank > *known) {
            best = Some((rank, picked.to_vec()));
        }
    };
    let is_clear = |gap: f64| gap >= lap - 1e-9;
    for i in 0..ways.len() {
        for j in (i + 1..ways.len()).filter(|j| is_clear(gaps[i][*j])) {
            if patterns == 2 {
                consider(&[i, j], gaps[i][j]);
                continue;
            }
            for k in (j + 1..ways.len()).filter(|k| is_clear(gaps[i][*k]) && is_clear(gaps[j][*k])) {
                consider(&[i, j, k], gaps[i][j].min(gaps[i][k]).min(gaps[j][k]));
            }
        }
    }
    let (_, picked) = best.ok_or(SparError::ScarfsMeet { stock, lap })?;
    Ok(picked.into_iter().map(|i| ways[i].clone()).collect())
}

/// Whether there is a scarf's length between two scarfs, how many lengths there are, less being more, and how far the
/// scarfs are apart: the greatest is best.
type Rank = (bool, f64, f64);

/// So many lengths of a member, if they were alike.
fn alike(length: f64, count: usize, lap: f64) -> f64 {
    (length + (count as f64 - 1.0) * lap) / count as f64
}

/// Members of so many lengths, from the shortest first one to the longest; those between the first and the last alike, and
/// as long as were all alike, or longer, as the stock allows. No end is shorter than two scarfs.
fn ways(length: f64, stock: f64, lap: f64, count: usize) -> Vec<Member> {
    let mut found = Vec::new();
    let even = alike(length, count, lap);
    for k in 0..if count > 2 { RESTS } else { 1 } {
        let rest = even + (stock - even) * k as f64 / (RESTS - 1) as f64;
        // What the first and the last have together.
        let both = length + lap - (count as f64 - 2.0) * (rest - lap);
        let (from, to) = ((2.0 * lap).max(both - stock), stock.min(both - 2.0 * lap));
        if to < from - 1e-9 {
            continue;
        }
        found.extend((0..=TRIES).map(|i| {
            let first = from + (to - from).max(0.0) * i as f64 / TRIES as f64;
            member(length, count, first, rest, lap)
        }));
    }
    found
}

fn member(length: f64, count: usize, first: f64, rest: f64, lap: f64) -> Member {
    let mut pieces = vec![[0.0, first]];
    for i in 1..count {
        let from = pieces[i - 1][1] - lap;
        pieces.push([from, if i + 1 == count { length } else { from + rest }]);
    }
    Member { pieces }
}
