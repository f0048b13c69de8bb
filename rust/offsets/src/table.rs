//! The table as a person wrote it.

use scrieve_notation::{Dialect, Length, Reading};

/// Which block of the file a row stands in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Block {
    /// `[heights]`: above the base line.
    Heights,
    /// `[half-breadths]`: out from the centreline.
    HalfBreadths,
    /// `[diagonals]`: out along the diagonal from its point on the centreline.
    Diagonals,
    /// `[stem profile]`.
    StemProfile,
    /// `[stern profile]`.
    SternProfile,
    /// `[points]`.
    Points,
}

/// What a row of the table measures.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum LineKind {
    /// The sheer.
    Sheer,
    /// The rabbet.
    Rabbet,
    /// The underside of the keel.
    Keel,
    /// A chine or knuckle, by name; the name is empty where the boat has only one.
    Chine(String),
    /// A waterline at a height above the base line.
    Waterline(Length),
    /// A buttock at a distance from the centreline.
    Buttock(Length),
    /// A diagonal, by name.
    Diagonal(String),
}

/// The facts at the head of a file; everything but the name may be missing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Facts {
    /// The boat's name.
    pub name: String,
    /// Who built her.
    pub builder: Option<String>,
    /// When.
    pub year: Option<i64>,
    /// Where.
    pub place: Option<String>,
    /// What kind of boat.
    pub kind: Option<String>,
    /// How readings are written.
    pub dialect: Dialect,
    /// What readings are multiplied by to give full size (12.0 for `1 in = 1 ft`).
    pub scale: f64,
    /// Readings are to the inside of the planking.
    pub to_inside: bool,
    /// Planking thickness, full size.
    pub planking: Option<Length>,
    /// How far any reading may be off; half its last place if left out.
    pub tolerance: Option<Length>,
    /// Half-siding of keel and stem at the rabbet, full size.
    pub half_siding: Option<Length>,
}

/// A column of the table.
#[derive(Clone, Debug, PartialEq)]
pub struct Station {
    /// Its name.
    pub name: String,
    /// Distance aft of the forward end; `None` for the transom.
    pub from_stem: Option<Reading>,
}

/// A row of the table: one cell a station.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The block it stands in.
    pub block: Block,
    /// What it measures.
    pub line: LineKind,
    /// Its label as written.
    pub label: String,
    /// A reading for each station, where there is one.
    pub cells: Vec<Option<Reading>>,
}

/// A diagonal: a plane along the boat through a point on the centreline and one off it.
#[derive(Clone, Debug, PartialEq)]
pub struct Diagonal {
    /// Its name.
    pub name: String,
    /// Height where it meets the centreline.
    pub centreline_height: Length,
    /// Half-breadth of a point on it.
    pub through_half_breadth: Length,
    /// Height of that point.
    pub through_height: Length,
}

/// The transom: two spots of its centreline in profile, and its curve.
#[derive(Clone, Debug, PartialEq)]
pub struct Transom {
    /// Foot: distance from the stem and height.
    pub foot: (Length, Length),
    /// Head: the same.
    pub head: (Length, Length),
    /// Radius it is bent to about its centreline's direction; zero is flat.
    pub curve_radius: Length,
}

/// A line in the centreline plane: the rabbet of the stem, or of a double-ender's sternpost.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Profile {
    /// Distances aft of the forward end.
    pub from_stem: Vec<Option<Reading>>,
    /// Heights above the base line.
    pub height: Vec<Option<Reading>>,
}

/// A spot measured anywhere.
#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    /// The station's name.
    pub station: String,
    /// Height above the base line.
    pub height: Reading,
    /// Half-breadth.
    pub half_breadth: Reading,
}

/// A table of offsets.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Table {
    /// The facts.
    pub facts: Facts,
    /// The columns.
    pub stations: Vec<Station>,
    /// The rows, in file order.
    pub rows: Vec<Row>,
    /// Diagonals the rows refer to.
    pub diagonals: Vec<Diagonal>,
    /// The transom.
    pub transom: Option<Transom>,
    /// The stem in profile, sheer to keel.
    pub stem: Option<Profile>,
    /// A double-ender's stern in profile, sheer to keel.
    pub stern: Option<Profile>,
    /// Spots taken anywhere.
    pub points: Vec<Point>,
}
