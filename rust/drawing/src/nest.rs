//! Parts laid on sheets by their true shapes: gap and margin kept, grain and turning limited, grouped by thickness.
//!
//! Parts are placed one after another, the largest first, each where it reaches least far along the sheet. Several
//! orders are tried and the best is kept; what is tried does not hang on chance or time, so that the same parts give
//! the same sheets. Collisions are found by `jagua-rs` (J. Gardeyn and others, 2024), in single precision; every place
//! it finds free is measured again in double precision before it is taken.

mod clear;
mod joint;
mod piece;
mod place;
mod sheet;

use std::f64::consts::{FRAC_PI_2, PI};

use kurbo::{Point, Vec2};
use scrieve_loft::narrowest_board;

use crate::model::{Drawing, Part};
pub use joint::Joint;
use piece::Piece;
use place::{Group, Laid};
use sheet::number;

/// Sides a sheet can have, mm: shorter is no sheet, longer no bed.
const SIDES_MM: std::ops::RangeInclusive<f64> = 10.0..=100_000.0;

/// Most copies in one nest: beyond it a search takes longer than anyone waits.
const MOST_PARTS: usize = 2_000;

/// Thicknesses nearer than this are one stock, mm.
const SAME_STOCK_MM: f64 = 0.05;

/// Stock that parts are got out of.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// Along the grain, mm.
    pub length_mm: f64,
    /// Across it, mm.
    pub width_mm: f64,
    /// `None`: there are such sheets of any thickness.
    pub thickness_mm: Option<f64>,
    /// How many there are; `None`: as many as are needed.
    pub count: Option<usize>,
}

/// How a part whose grain may run any way may be turned.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Turn {
    /// By any angle.
    #[default]
    Any,
    /// By quarter turns.
    Quarter,
    /// End for end.
    Half,
    /// Not at all.
    Fixed,
}

/// How parts are laid.
#[derive(Clone, Debug, PartialEq)]
pub struct NestOptions {
    /// Wood between two parts, mm: what the cutter takes and what holds.
    pub gap_mm: f64,
    /// Wood between parts and the sheet's edge, mm.
    pub margin_mm: f64,
    /// How parts may be turned whose grain is free. Where the grain is told it runs along the sheet.
    pub turn: Turn,
    /// Longest piece the machine's bed takes, mm; longer ones are made of several.
    pub bed_mm: Option<f64>,
    /// How the pieces of one too long are joined; `None`: it is refused.
    pub joint: Option<Joint>,
    /// Thickness of parts of which nobody told it, mm.
    pub thickness_mm: Option<f64>,
    /// Whose the parts are, as it is written beside each sheet; empty where nobody said.
    pub boat: String,
}

impl Default for NestOptions {
    fn default() -> Self {
        Self {
            gap_mm: 12.0,
            margin_mm: 10.0,
            turn: Turn::Any,
            bed_mm: None,
            joint: None,
            thickness_mm: None,
            boat: String::new(),
        }
    }
}

/// Where a part lies.
#[derive(Clone, Debug, PartialEq)]
pub struct Placed {
    /// Name of the drawing it is from.
    pub drawing: String,
    /// The part.
    pub part: Part,
    /// Lower left corner of the box round it, from the sheet's, mm.
    pub at: Point,
    /// How far it is turned from how it was drawn, anticlockwise, radians.
    pub turned: f64,
}

/// A sheet with what is cut out of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Nested {
    /// Which of the sheets it is one of.
    pub sheet: usize,
    /// Its thickness, mm; `None` where nobody said.
    pub thickness_mm: Option<f64>,
    /// The sheet, its corner at the origin, and its parts.
    pub drawing: Drawing,
    /// Its parts in the order they were laid.
    pub placed: Vec<Placed>,
    /// Part of its area that becomes parts.
    pub used: f64,
    /// Length of the whole end that nothing is cut out of, mm.
    pub left_mm: f64,
    /// Side of its check square, mm; `None` where it had no room.
    pub check_mm: Option<f64>,
}

/// All that was laid.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Nest {
    /// The sheets, thin stock first.
    pub sheets: Vec<Nested>,
    /// Parts that were too long, and of how many pieces each is made now.
    pub joined: Vec<(String, usize)>,
    /// Parts that nobody told the thickness of, which were left out.
    pub untold: Vec<String>,
    /// Marks and letters outside every part, which are on no sheet: drawing by drawing, how many.
    pub astray: Vec<(String, usize)>,
}

/// Why nothing was laid.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NestError {
    /// No stock was told.
    #[error("no sheet is told of")]
    NoSheets,
    /// A length out of its range.
    #[error("{what} must be {expected}, not {got} mm")]
    Length {
        /// Which.
        what: &'static str,
        /// What it may be.
        expected: &'static str,
        /// What it is, mm.
        got: f64,
    },
    /// There is nothing to cut.
    #[error("nothing is cut out of these drawings")]
    NoParts,
    /// More than can be laid.
    #[error("{0} parts are more than the {MOST_PARTS} that can be laid at once")]
    Many(usize),
    /// An outline that bounds no one shape.
    #[error("the outline of {0} is open, crosses itself or has no area: nothing is laid")]
    Outline(String),
    /// Stock of a thickness that is needed is not there.
    #[error(
        "no sheet is {thickness} mm thick, as {part} is: say a sheet of that thickness, or one without its thickness"
    )]
    NoStock {
        /// The first part of it.
        part: String,
        /// Its thickness, mm.
        thickness: f64,
    },
    /// Parts that go on no sheet however they are turned.
    #[error("{}", too_large(.0))]
    TooLarge(Vec<TooLarge>),
    /// The stock does not do.
    #[error("{}", no_room(.0))]
    NoRoom(Vec<String>),
    /// A part too long that cannot be made of several pieces.
    #[error(
        "{part} is too long for the sheet or the bed and cannot be made of pieces: {why}; say a longer sheet, the other \
         joint, or patterns without it"
    )]
    NoJoint {
        /// The part.
        part: String,
        /// Why not.
        why: &'static str,
    },
}

/// A part that goes on no sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct TooLarge {
    /// Its name.
    pub part: String,
    /// The board it is got out of, mm.
    pub size_mm: (f64, f64),
    /// The largest sheet of its thickness with the margin taken off, mm.
    pub room_mm: (f64, f64),
    /// Whether it would go on, made of several pieces.
    pub by_length: bool,
}

fn too_large(parts: &[TooLarge]) -> String {
    let each: Vec<String> = parts
        .iter()
        .map(|p| format!("{} takes {} x {} mm", p.part, number(p.size_mm.0), number(p.size_mm.1)))
        .collect();
    let room = parts.first().map_or((0.0, 0.0), |p| p.room_mm);
    let remedy = match parts.iter().all(|p| p.by_length) {
        true => "say a larger sheet, or a joint to make it of several pieces",
        false => "say a larger sheet (a joint makes parts shorter, not narrower)",
    };
    format!(
        "larger than the sheet, which has room for {} x {} mm: {}; {remedy}",
        number(room.0),
        number(room.1),
        each.join(", ")
    )
}

fn no_room(parts: &[String]) -> String {
    let told = parts.iter().take(5).cloned().collect::<Vec<_>>().join(", ");
    let more = if parts.len() > 5 { format!(" and {} more", parts.len() - 5) } else { String::new() };
    format!("the sheets there are do not do: no room is left for {told}{more}")
}

impl NestOptions {
    fn check(&self, sheets: &[Sheet]) -> Result<(), NestError> {
        let wrong = |what, expected, got| Err(NestError::Length { what, expected, got });
        if sheets.is_empty() {
            return Err(NestError::NoSheets);
        }
        for sheet in sheets {
            for (what, side) in [("a sheet's length", sheet.length_mm), ("a sheet's width", sheet.width_mm)] {
                if !SIDES_MM.contains(&side) {
                    return wrong(what, "from 10 mm to 100 m", side);
                }
            }
            if let Some(thick) = sheet.thickness_mm.filter(|t| !(t.is_finite() && *t > 0.0)) {
                return wrong("a sheet's thickness", "more than 0", thick);
            }
        }
        for (what, length) in [("the gap", self.gap_mm), ("the margin", self.margin_mm)] {
            if !(0.0..=1000.0).contains(&length) {
                return wrong(what, "from 0 to 1 m", length);
            }
        }
        if let Some(bed) = self.bed_mm.filter(|b| !SIDES_MM.contains(b)) {
            return wrong("the bed's length", "from 10 mm to 100 m", bed);
        }
        if let Some(thick) = self.thickness_mm.filter(|t| !(t.is_finite() && *t > 0.0)) {
            return wrong("the thickness", "more than 0", thick);
        }
        Ok(())
    }

    /// The angles a part may be turned by.
    fn angles(&self, piece: &Piece) -> Vec<f64> {
        if let Some(grain) = piece.part.grain {
            return vec![-grain, PI - grain];
        }
        let (_, lie) = narrowest_board(piece.outline());
        let mut angles: Vec<f64> = match self.turn {
            Turn::Fixed => vec![0.0],
            Turn::Half => vec![0.0, PI],
            Turn::Quarter => (0..4).map(|i| f64::from(i) * FRAC_PI_2).collect(),
            // By its board first, which is how most lie best; then by twelfths of a half turn from there.
            Turn::Any => (0..24).map(|i| f64::from(i) * PI / 12.0 - lie).collect(),
        };
        if self.turn == Turn::Any {
            angles.extend((0..4).map(|i| f64::from(i) * FRAC_PI_2));
        }
        let mut kept: Vec<f64> = Vec::new();
        for angle in angles.into_iter().map(|a| a.rem_euclid(2.0 * PI)) {
            if kept.iter().all(|k| ((k - angle + PI).rem_euclid(2.0 * PI) - PI).abs() > 1e-6) {
                kept.push(angle);
            }
        }
        kept
    }

    /// The box of a sheet that parts may take, mm.
    fn room(&self, sheet: &Sheet) -> Vec2 {
        Vec2::new(sheet.length_mm, sheet.width_mm) - Vec2::new(2.0, 2.0) * self.margin_mm
    }
}

/// Lays every part of the drawings on sheets.
///
/// # Errors
/// [`NestError`], and then nothing is laid.
pub fn nest(drawings: &[&Drawing], sheets: &[Sheet], options: &NestOptions) -> Result<Nest, NestError> {
    options.check(sheets)?;
    let mut done = Nest::default();
    let mut pieces = Vec::new();
    for drawing in drawings {
        let (found, astray) = piece::pieces(drawing)?;
        if astray > 0 {
            done.astray.push((drawing.name.clone(), astray));
        }
        for mut piece in found {
            piece.part.thickness_mm = piece.part.thickness_mm.or(options.thickness_mm);
            match piece.part.thickness_mm {
                None => done.untold.push(piece.part.name.clone()),
                Some(_) => pieces.push(piece),
            }
        }
    }
    if pieces.is_empty() {
        return if done.untold.is_empty() { Err(NestError::NoParts) } else { Ok(done) };
    }
    let groups = groups(pieces, sheets, options, &mut done.joined)?;
    let count: usize = groups.iter().map(|g| g.pieces.iter().map(|p| p.part.count).sum::<usize>()).sum();
    if count > MOST_PARTS {
        return Err(NestError::Many(count));
    }
    let mut stock: Vec<Option<usize>> = sheets.iter().map(|sheet| sheet.count).collect();
    let mut laid: Vec<(f64, Laid, Group)> = Vec::new();
    let mut without: Vec<String> = Vec::new();
    for group in groups {
        match place::lay(&group, sheets, &stock, options) {
            Ok(sheets_of) => {
                for one in sheets_of {
                    if let Some(left) = &mut stock[one.sheet] {
                        *left -= 1;
                    }
                    laid.push((group.thickness_mm, one, group.clone()));
                }
            }
            Err(left) => without.extend(left),
        }
    }
    if !without.is_empty() {
        return Err(NestError::NoRoom(without));
    }
    let many = laid.len();
    for (n, (thickness, one, group)) in laid.into_iter().enumerate() {
        let told = sheet::Told { number: n + 1, of: many, thickness_mm: thickness };
        done.sheets.push(sheet::drawn(&sheets[one.sheet], &one, &group, &told, options));
    }
    Ok(done)
}

/// The pieces by thickness, thin first, those too long made of several; and which sheets each group is got out of.
fn groups(
    pieces: Vec<Piece>,
    sheets: &[Sheet],
    options: &NestOptions,
    joined: &mut Vec<(String, usize)>,
) -> Result<Vec<Group>, NestError> {
    let thickness = |piece: &Piece| piece.part.thickness_mm.unwrap_or(0.0);
    let mut groups: Vec<Group> = Vec::new();
    for piece in pieces {
        let thick = thickness(&piece);
        match groups.iter_mut().find(|g| (g.thickness_mm - thick).abs() < SAME_STOCK_MM) {
            Some(group) => group.pieces.push(piece),
            None => groups.push(Group { thickness_mm: thick, pieces: vec![piece], sheets: Vec::new() }),
        }
    }
    groups.sort_by(|a, b| a.thickness_mm.total_cmp(&b.thickness_mm));
    let mut too_large = Vec::new();
    for group in &mut groups {
        let of = |sheet: &Sheet| sheet.thickness_mm.map(|t| (t - group.thickness_mm).abs() < SAME_STOCK_MM);
        // Those of this very thickness first, those of any after them.
        group.sheets = (0..sheets.len()).filter(|i| of(&sheets[*i]) == Some(true)).collect();
        group.sheets.extend((0..sheets.len()).filter(|i| of(&sheets[*i]).is_none()));
        if group.sheets.is_empty() {
            let part = group.pieces[0].part.name.clone();
            return Err(NestError::NoStock { part, thickness: group.thickness_mm });
        }
        let rooms: Vec<Vec2> = group.sheets.iter().map(|i| options.room(&sheets[*i])).collect();
        let longest =
            rooms.iter().map(|room| room.x).fold(0.0, f64::max).min(options.bed_mm.unwrap_or(f64::MAX));
        let mut kept = Vec::new();
        for piece in std::mem::take(&mut group.pieces) {
            let (board, _) = narrowest_board(piece.outline());
            let too_long = options.bed_mm.is_some_and(|bed| board.length > bed);
            if !too_long && rooms.iter().any(|room| piece.fits(*room, &options.angles(&piece))) {
                kept.push(piece);
                continue;
            }
            let by_length = board.length > longest && rooms.iter().any(|room| board.width <= room.y);
            match options.joint.filter(|_| by_length) {
                Some(joint) => {
                    let name = piece.part.name.clone();
                    let made = joint::made_of(piece, joint, longest, options.gap_mm)?;
                    let stuck =
                        made.iter().find(|p| !rooms.iter().any(|room| p.fits(*room, &options.angles(p))));
                    if stuck.is_some() {
                        let why = "its pieces are still larger than the sheet";
                        return Err(NestError::NoJoint { part: name, why });
                    }
                    joined.push((name, made.len()));
                    kept.extend(made);
                }
                None => {
                    let room = rooms.iter().copied().max_by(|a, b| (a.x * a.y).total_cmp(&(b.x * b.y)));
                    let room = room.unwrap_or_default();
                    too_large.push(TooLarge {
                        part: piece.part.name.clone(),
                        size_mm: (board.length, board.width),
                        room_mm: (room.x.min(longest), room.y),
                        by_length,
                    });
                }
            }
        }
        group.pieces = kept;
    }
    if too_large.is_empty() { Ok(groups) } else { Err(NestError::TooLarge(too_large)) }
}
