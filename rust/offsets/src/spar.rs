//! Spars as a table tells them, each by what it says of it: what they come to is the affair of whoever makes one.

use scrieve_notation::Length;

use crate::facts::Fact;

/// What a key of a spar says.
#[derive(Clone, Debug, PartialEq)]
pub enum SparFact {
    /// A word or a name.
    Text(String),
    /// A plain number: staves, degrees, a ratio.
    Number(f64),
    /// A length, full size.
    Length(Length),
    /// Lengths that belong together.
    Lengths(Vec<Length>),
    /// Parts of the length with parts of the size.
    Parts(Vec<(f64, f64)>),
    /// Parts of the length with a wall.
    Walls(Vec<(f64, Length)>),
    /// Distances by their names: a place, or from and to, or a width besides.
    Marks(Vec<(String, Vec<Length>)>),
}

/// A spar, full size.
#[derive(Clone, Debug, PartialEq)]
pub struct SparTold {
    /// Its name.
    pub name: String,
    /// What is said of it, in file order.
    pub facts: Vec<(String, SparFact)>,
}

impl SparFact {
    /// As a fact of a file, a length as `written` writes it.
    pub(crate) fn fact(&self, written: impl Fn(Length) -> Fact) -> Fact {
        let pair = |first: f64, second: Fact| Fact::List(vec![Fact::Number(first), second]);
        let list = |lengths: &[Length]| Fact::List(lengths.iter().map(|l| written(*l)).collect());
        match self {
            SparFact::Text(text) => Fact::Text(text.clone()),
            SparFact::Number(n) if n.fract() == 0.0 && n.abs() < 1e9 => Fact::Whole(*n as i64),
            SparFact::Number(n) => Fact::Number(*n),
            SparFact::Length(length) => written(*length),
            SparFact::Lengths(lengths) => list(lengths),
            SparFact::Parts(parts) => {
                Fact::List(parts.iter().map(|(s, part)| pair(*s, Fact::Number(*part))).collect())
            }
            SparFact::Walls(walls) => {
                Fact::List(walls.iter().map(|(s, wall)| pair(*s, written(*wall))).collect())
            }
            SparFact::Marks(marks) => {
                let marks = marks.iter().map(|(name, at)| (name.clone(), list(at)));
                Fact::Table(marks.collect())
            }
        }
    }
}
