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
/// Tries along the first length of a neighbour, to set its joints well clear.
const TRIES: usize = 100;

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
}

/// Two neighbouring members of a spar of this length, out of stock of that length, their scarfs `lap` long and as far from
/// each other as the stock allows; with one member both are alike.
///
/// # Errors
/// Stock shorter than the spar where no scarf is allowed (`lap` is nothing), or too short to hold two scarfs.
pub fn members(length: f64, stock: f64, lap: Option<f64>, several: bool) -> Result<[Member; 2], SparError> {
    if !(stock.is_finite() && stock > 0.0) {
        return Err(SparError::Stock { value: stock });
    }
    if stock >= length {
        let whole = Member { pieces: vec![[0.0, length]] };
        return Ok([whole.clone(), whole]);
    }
    let Some(lap) = lap else { return Err(SparError::StockShort { stock, length }) };
    if stock < 3.0 * lap {
        return Err(SparError::StockForScarf { stock, least: 3.0 * lap });
    }
    // As few lengths as the stock gives, and all alike.
    let count = ((length - lap) / (stock - lap)).ceil();
    let each = (length + (count - 1.0) * lap) / count;
    let first = member(length, each, each, lap);
    if !several {
        return Ok([first.clone(), first]);
    }
    let joints = first.joints();
    let clear = |one: &Member| {
        let gaps = one.joints().into_iter().flat_map(|a| joints.iter().map(move |b| (a - b).abs()));
        gaps.fold(f64::INFINITY, f64::min)
    };
    let (mut second, mut best) = (first.clone(), 0.0);
    for i in 0..=TRIES {
        let begin = 2.0 * lap + (stock - 2.0 * lap) * i as f64 / TRIES as f64;
        for rest in [each, stock] {
            let one = member(length, begin, rest, lap);
            let tail = one.pieces[one.pieces.len() - 1];
            let gap = clear(&one);
            if tail[1] - tail[0] >= 2.0 * lap && gap > best + 1e-6 {
                (second, best) = (one, gap);
            }
        }
    }
    Ok([first, second])
}

fn member(length: f64, first: f64, rest: f64, lap: f64) -> Member {
    let mut pieces = vec![[0.0, first.min(length)]];
    while let Some(&[_, end]) = pieces.last()
        && end < length - 1e-9
    {
        let from = end - lap;
        // Alike lengths end at the head but for their rounding.
        let to = if from + rest > length - 1e-9 { length } else { from + rest };
        pieces.push([from, to]);
    }
    Member { pieces }
}
