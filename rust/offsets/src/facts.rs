//! The facts at the head of a file.

use scrieve_notation::{Dialect, Length};

use crate::spar::SparTold;

/// The facts at the head of a file; everything but the name and how readings are written may be missing.
#[derive(Clone, Debug, PartialEq)]
pub struct Facts {
    /// The boat's name.
    pub name: String,
    /// Who built her.
    pub builder: Option<String>,
    /// Who designed her.
    pub designer: Option<String>,
    /// When; of a span of years, the middle one.
    pub year: Option<i64>,
    /// The year as it was written where that is no plain number: `c. 1885`, `1880-1890`.
    pub dated: Option<String>,
    /// First and last year of a span.
    pub year_span: Option<(i64, i64)>,
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
    /// Where that mass has its centre: distance aft of the forward end and height, full size.
    pub boat_centre: Option<(Length, Length)>,
    /// Mass of her crew together, kg, where nothing is said of their places.
    pub crew_kg: Option<f64>,
    /// Her crew, weights that may be moved.
    pub crew: Vec<Weights>,
    /// What else she carries: ballast, stores, catch.
    pub loads: Vec<Weights>,
    /// Her sails.
    pub sails: Vec<Sail>,
    /// Her spars.
    pub spars: Vec<SparTold>,
    /// What she has below the rabbet or abaft the sternpost to grip the water with: keel, rudder, centreboard.
    pub lateral: Vec<Lateral>,
    /// What was taken for granted when the table was typed or read off its page, a sentence each.
    pub assumed: Vec<String>,
    /// The stem is assumed, not measured or drawn.
    pub stem_assumed: bool,
    /// The sternpost is.
    pub stern_assumed: bool,
    /// The transom is.
    pub transom_assumed: bool,
    /// The user's own facts, in file order.
    pub extra: Vec<(String, Fact)>,
}

impl Default for Facts {
    fn default() -> Self {
        Facts {
            name: String::new(),
            builder: None,
            designer: None,
            year: None,
            dated: None,
            year_span: None,
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
            boat_centre: None,
            crew_kg: None,
            crew: Vec::new(),
            loads: Vec::new(),
            sails: Vec::new(),
            spars: Vec::new(),
            lateral: Vec::new(),
            assumed: Vec::new(),
            stem_assumed: false,
            stern_assumed: false,
            transom_assumed: false,
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

    /// The year as a person would say it: as it was written, `c. 1885`, or the number.
    pub fn year_text(&self) -> Option<String> {
        self.dated.clone().or_else(|| self.year.map(|year| year.to_string()))
    }

    /// Which of her ends are assumed: `stem`, `sternpost`, `transom`.
    pub fn assumed_ends(&self) -> Vec<&'static str> {
        let ends = [
            ("stem", self.stem_assumed),
            ("sternpost", self.stern_assumed),
            ("transom", self.transom_assumed),
        ];
        ends.into_iter().filter(|(_, assumed)| *assumed).map(|(name, _)| name).collect()
    }

    /// Which of her ends are assumed, as a drawing says it: `Stem and transom assumed, not measured`.
    pub fn ends_assumed(&self) -> Option<String> {
        let names = self.assumed_ends();
        let (last, before) = names.split_last()?;
        let all =
            if before.is_empty() { (*last).to_owned() } else { format!("{} and {last}", before.join(", ")) };
        let mut letters = all.chars();
        let first = letters.next()?.to_uppercase();
        Some(format!("{first}{} assumed, not measured", letters.as_str()))
    }

    /// The rigs she may set, each with its sails, in the order the file first names them; empty where it names
    /// none, and all her sails are one rig.
    pub fn rigs(&self) -> Vec<(&str, Vec<&Sail>)> {
        let mut names: Vec<&str> = Vec::new();
        for name in self.sails.iter().flat_map(|sail| &sail.rigs) {
            if !names.contains(&name.as_str()) {
                names.push(name);
            }
        }
        let set_in = |rig: &str| {
            let set = |sail: &&Sail| sail.rigs.is_empty() || sail.rigs.iter().any(|name| name == rig);
            self.sails.iter().filter(set).collect()
        };
        names.into_iter().map(|rig| (rig, set_in(rig))).collect()
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
    /// Names of the rigs it is set in; none where it is set in all of them.
    pub rigs: Vec<String>,
    /// Its corners in order round it: distance aft of the forward end and height, full size.
    pub corners: Vec<(Length, Length)>,
}

/// A part of the lateral plane outside the hull's own profile, by its corners.
#[derive(Clone, Debug, PartialEq)]
pub struct Lateral {
    /// Its name.
    pub name: String,
    /// Its corners in order round it: distance aft of the forward end and height, full size.
    pub corners: Vec<(Length, Length)>,
}

/// Weights of one kind and mass: hands of the crew, pigs of ballast.
#[derive(Clone, Debug, PartialEq)]
pub struct Weights {
    /// What they are.
    pub name: String,
    /// Mass of each, kg.
    pub kg: f64,
    /// Where each lies.
    pub places: Vec<Place>,
}

/// A place in the boat, full size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Distance aft of the forward end.
    pub from_stem: Length,
    /// Distance out from the centreline to starboard; negative to port.
    pub out: Length,
    /// Height above the base line.
    pub height: Length,
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
