//! A table in metres at full size: what fairing sees.
//!
//! x aft from the forward end, y out from the centreline, z up from the base line; scale and shrinkage
//! are applied. Every number keeps the cell it came from, so that whatever is said of it can name it.

use scrieve_notation::Mark;

use crate::Block;

/// Where a number stands in the table.
///
/// For rows of a block: the row's index in `Table::rows` and the station's in `Table::stations`. For
/// profiles `row` is 0 (`from stem`) or 1 (`height`) and `column` the spot; for points `row` is the point
/// and `column` 0 (height) or 1 (half-breadth).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct CellId {
    /// The block.
    pub block: Block,
    /// The row.
    pub row: usize,
    /// The column.
    pub column: usize,
}

/// A line the sections begin, break or end at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum RefLine {
    /// The rabbet: the lower edge of the planking.
    Rabbet,
    /// A chine, counted from the keel up.
    Chine(usize),
    /// The sheer.
    Sheer,
}

/// Which co-ordinate a reading gives.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Axis {
    /// y.
    HalfBreadth,
    /// z.
    Height,
}

/// A height or half-breadth of a rabbet, chine or sheer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LineReading {
    /// The line.
    pub line: RefLine,
    /// Which co-ordinate.
    pub axis: Axis,
    /// Station plane, m; for the transom column the x of its plane at this reading's height (at the
    /// line's height where the reading is a half-breadth).
    pub x: f64,
    /// The co-ordinate, m.
    pub value: f64,
    /// What it is worth: one standard deviation, m.
    pub sd: f64,
    /// How far it may be off before it counts as moved past tolerance, m.
    pub tolerance: f64,
    /// Its mark.
    pub mark: Mark,
    /// Taken on the transom.
    pub on_transom: bool,
    /// Its cell.
    pub cell: CellId,
}

/// A spot of the hull between rabbet and sheer: one co-ordinate measured, the others known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// Station plane (or transom plane at this spot), m.
    pub x: f64,
    /// Half-breadth, m.
    pub y: f64,
    /// Height, m.
    pub z: f64,
    /// Unit direction (y, z) the reading was measured along: (1, 0) a half-breadth, (0, 1) a height, else a
    /// diagonal's; a point given by both is (0, 0): both co-ordinates carry `sd`.
    pub along: (f64, f64),
    /// What it is worth: one standard deviation along `along`, m.
    pub sd: f64,
    /// How far it may be off before it counts as moved past tolerance, m.
    pub tolerance: f64,
    /// Its mark.
    pub mark: Mark,
    /// Taken on the transom.
    pub on_transom: bool,
    /// Its cell.
    pub cell: CellId,
}

/// A spot of the stem's or sternpost's rabbet in profile.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ProfileSpot {
    /// Distance aft of the forward end, m.
    pub x: f64,
    /// Height, m.
    pub z: f64,
    /// What each co-ordinate is worth: one standard deviation, m.
    pub sd: f64,
    /// How far it may be off before it counts as moved past tolerance, m.
    pub tolerance: f64,
    /// Its mark.
    pub mark: Mark,
    /// Its cell (that of the `height`).
    pub cell: CellId,
}

/// The outer face of the transom: a plane athwartships, raked, or a cylinder about its direction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TransomPlane {
    /// Foot on the centreline: x and z, m.
    pub foot: (f64, f64),
    /// Head on the centreline: x and z, m.
    pub head: (f64, f64),
    /// Radius of the curve, m; `None` is flat. The centre stands aftmost.
    pub curve_radius: Option<f64>,
}

impl TransomPlane {
    /// x of the transom's face at (y, z), m. A curved face bends forward from its centre, square to its
    /// centreline; `y` beyond the radius is taken at the radius.
    pub fn x(&self, y: f64, z: f64) -> f64 {
        let (dx, dz) = (self.head.0 - self.foot.0, self.head.1 - self.foot.1);
        let centre = self.foot.0 + (z - self.foot.1) * dx / dz;
        let sag = self.curve_radius.map_or(0.0, |r| r - (r * r - (y * y).min(r * r)).sqrt());
        // The sag lies square to the face; along x, at one height, it comes to more where she is raked.
        centre - sag * (dx * dx + dz * dz).sqrt() / dz.abs()
    }
}

/// A table in metres at full size.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Survey {
    /// Half-siding at the rabbet where no row gives it, m.
    pub half_siding: f64,
    /// x of each station, m, in table order; the transom's is that of its centreline foot.
    pub stations: Vec<f64>,
    /// Number of chines.
    pub chines: usize,
    /// Readings of the rabbet, chines and sheer.
    pub lines: Vec<LineReading>,
    /// Spots between them.
    pub spots: Vec<Spot>,
    /// The stem's rabbet in profile, sheer to keel; empty where the record has none.
    pub stem: Vec<ProfileSpot>,
    /// A double-ender's sternpost, sheer to keel; empty where there is none.
    pub stern: Vec<ProfileSpot>,
    /// The transom.
    pub transom: Option<TransomPlane>,
}
