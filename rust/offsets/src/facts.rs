//! The facts at the head of a file.

use scrieve_notation::{Dialect, Length};

/// The facts at the head of a file; everything but the name and how readings are written may be missing.
#[derive(Clone, Debug, PartialEq)]
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
    /// Where the table was published or who measured her.
    pub source: Option<String>,
    /// How readings are written.
    pub dialect: Dialect,
    /// What readings are multiplied by to give full size (12.0 for `1 in = 1 ft`).
    pub scale: f64,
    /// What wood has lost since the model was carved.
    pub shrinkage: Shrinkage,
    /// Heights of the glue lines of a model built of lifts, from the keel up, as on the model.
    pub lifts: Vec<Length>,
    /// Readings are to the inside of the planking.
    pub to_inside: bool,
    /// Planking thickness, full size.
    pub planking: Option<Length>,
    /// How far any reading may be off, as read; half its last place if left out.
    pub tolerance: Option<Length>,
    /// Half-siding of keel and stem at the rabbet, full size.
    pub half_siding: Option<Length>,
    /// Height of the load waterline above the base line, as read.
    pub load_waterline: Option<Length>,
    /// Mass of the boat ready to sail without her crew, kg.
    pub boat_kg: Option<f64>,
    /// Mass of her crew, kg.
    pub crew_kg: Option<f64>,
    /// Her sails.
    pub sails: Vec<Sail>,
    /// The user's own facts, in file order.
    pub extra: Vec<(String, Fact)>,
}

impl Default for Facts {
    fn default() -> Self {
        Facts {
            name: String::new(),
            builder: None,
            year: None,
            place: None,
            kind: None,
            source: None,
            dialect: Dialect::default(),
            scale: 1.0,
            shrinkage: Shrinkage::default(),
            lifts: Vec::new(),
            to_inside: false,
            planking: None,
            tolerance: None,
            half_siding: None,
            load_waterline: None,
            boat_kg: None,
            crew_kg: None,
            sails: Vec::new(),
            extra: Vec::new(),
        }
    }
}

impl Facts {
    /// What a reading along the boat, across her and up from the base line is multiplied by to give full
    /// size: scale and shrinkage together.
    pub fn factors(&self) -> (f64, f64, f64) {
        let Shrinkage { length, breadth, height } = self.shrinkage;
        let scale = self.scale;
        (scale * length, scale * breadth, scale * height)
    }
}

/// Factors that give back what wood lost in drying, along the boat, across and in height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shrinkage {
    /// For distances along her.
    pub length: f64,
    /// For half-breadths.
    pub breadth: f64,
    /// For heights.
    pub height: f64,
}

impl Default for Shrinkage {
    fn default() -> Self {
        Shrinkage { length: 1.0, breadth: 1.0, height: 1.0 }
    }
}

/// A sail by its corners, in the plane of the centreline.
#[derive(Clone, Debug, PartialEq)]
pub struct Sail {
    /// Its name.
    pub name: String,
    /// Its corners in order round it: distance aft of the forward end and height, full size.
    pub corners: Vec<(Length, Length)>,
}

/// A fact of the user's own, or one given to a [`Draft`](crate::Draft).
#[derive(Clone, Debug, PartialEq)]
pub enum Fact {
    /// Text; dates too.
    Text(String),
    /// A whole number.
    Whole(i64),
    /// A number.
    Number(f64),
    /// Yes or no.
    Truth(bool),
    /// A list.
    List(Vec<Fact>),
    /// Named facts.
    Table(Vec<(String, Fact)>),
}

impl From<i64> for Fact {
    fn from(n: i64) -> Self {
        Fact::Whole(n)
    }
}

impl From<f64> for Fact {
    fn from(n: f64) -> Self {
        Fact::Number(n)
    }
}

impl From<&str> for Fact {
    fn from(text: &str) -> Self {
        Fact::Text(text.to_owned())
    }
}
