//! Where ribbands run: level, on a diagonal, along a chine, below the sheer, or as a batten through readings of
//! their own.
//!
//! Told in words, one ribband after another, parted by commas:
//! `0-6-0`, `diagonal A`, `chine`, `chine 2`, `sheer - 0-4-0`, `sheer - 0-4-0 along girth`, `through 0-9-0 at 1 and 0-7-0 at 6`.
//! A batten is bent as the trade bends it ([`scrieve_surface::Batten`]), and not carried past its readings.

use kurbo::Vec2;
use scrieve_hull::Boat;
use scrieve_notation::{Dialect, NotationError, parse_cell};
use scrieve_surface::{Batten, BattenError};
use std::ops::Range;

use crate::edge::{Edge, Place};
use crate::moulds::LoftError;
use crate::{DiagonalAt, Grid};

/// Where a ribband crosses a mould.
#[derive(Clone, Debug, PartialEq)]
pub enum RibbandAt {
    /// At this height, m.
    Height(f64),
    /// At this fraction of the edge's length from its lower end to the sheer.
    Girth(f64),
    /// On this diagonal.
    Diagonal(DiagonalAt),
    /// Along this chine, counted from 1 at the keel.
    Chine(usize),
    /// So far below the mould's own sheer, m, plumb.
    BelowSheer(f64),
    /// So far below the mould's own sheer, m, along its edge.
    DownFromSheer(f64),
    /// At the height of a batten.
    Through(Batten),
}

/// A text that names no ribband.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("ribbands: {error}\n{}", .error.underlined(.text))]
pub struct RibbandError {
    /// The text given.
    pub text: String,
    /// What is wrong with it and where.
    pub error: NotationError,
}

/// The ribbands that a text names; see the head of this file for how.
///
/// # Errors
/// Words that name no ribband, a reading that is none, a diagonal or station that the table has not.
pub fn parse_ribbands(text: &str, hull: &Boat) -> Result<Vec<RibbandAt>, RibbandError> {
    let grid = Grid::of(hull);
    let mut out = Vec::new();
    let mut at = 0;
    for item in text.split(',') {
        let words = words_of(item, at);
        at += item.len() + 1;
        if !words.is_empty() {
            let error = |error| RibbandError { text: text.to_owned(), error };
            out.push(ribband(&words, &grid, hull.surface().patches.len() - 1).map_err(error)?);
        }
    }
    Ok(out)
}

/// How a ribband may be told, for messages.
const FORMS: &str = "a height (0-6-0), `diagonal A`, `chine`, `sheer - 0-4-0`, `sheer - 0-4-0 along girth`, or \
                     `through 0-9-0 at 1 and 0-7-0 at 6`";

type Word<'a> = (Range<usize>, &'a str);

fn words_of(item: &str, at: usize) -> Vec<Word<'_>> {
    let start = |word: &str| at + (word.as_ptr() as usize - item.as_ptr() as usize);
    item.split_whitespace().map(|word| (start(word)..start(word) + word.len(), word)).collect()
}

fn wrong(span: Range<usize>, found: impl Into<String>, expected: impl Into<String>) -> NotationError {
    NotationError { span, found: found.into(), expected: expected.into() }
}

/// A length at full size; a bare number is in the table's own units.
fn length((span, word): &Word<'_>, grid: &Grid) -> Result<f64, NotationError> {
    let none = || wrong(0..word.len(), format!("no reading in {word:?}"), "one, as 0-6-0 or 152mm");
    let parsed = parse_cell(word, &Dialect { units: grid.units, ..Dialect::default() })
        .and_then(|parsed| parsed.ok_or_else(none));
    parsed.map(|parsed| parsed.length.metres()).map_err(|error| NotationError {
        span: span.start + error.span.start..span.start + error.span.end,
        ..error
    })
}

fn ribband(words: &[Word<'_>], grid: &Grid, chines: usize) -> Result<RibbandAt, NotationError> {
    let whole = words[0].0.start..words[words.len() - 1].0.end;
    match words[0].1 {
        "diagonal" => {
            let name = words[1..].iter().map(|(_, word)| *word).collect::<Vec<_>>().join(" ");
            let found = grid.diagonals.iter().find(|d| d.name == name);
            let span = if words.len() > 1 { words[1].0.start..whole.end } else { whole };
            let known: Vec<&str> = grid.diagonals.iter().map(|d| d.name.as_str()).collect();
            let expected = match known.is_empty() {
                true => "another ribband: the table has no diagonals".to_owned(),
                false => format!("one of the table's: {}", known.join(", ")),
            };
            found
                .cloned()
                .map(RibbandAt::Diagonal)
                .ok_or_else(|| wrong(span, format!("no diagonal is called {name:?}"), expected))
        }
        "chine" => {
            let has = match chines {
                0 => "another ribband: she has no chine".to_owned(),
                1 => "`chine`: she has one".to_owned(),
                n => format!("`chine 1` to `chine {n}`, counted from the keel"),
            };
            let number = match words {
                [_] if chines < 2 => Some(1),
                [_, (_, number)] => number.parse().ok(),
                _ => None,
            };
            let found = words.iter().map(|(_, word)| *word).collect::<Vec<_>>().join(" ");
            number
                .filter(|number| (1..=chines).contains(number))
                .map(RibbandAt::Chine)
                .ok_or_else(|| wrong(whole, format!("no chine is meant by {found:?}"), has))
        }
        "sheer" => {
            let minus = |word: &str| word == "-" || word == "\u{2212}";
            let rest = if words.get(1).is_some_and(|w| minus(w.1)) { &words[2..] } else { &words[1..] };
            let Some((distance, along)) = rest.split_first() else {
                return Err(wrong(whole, "no distance below the sheer", "one, as `sheer - 0-4-0`"));
            };
            // Written on to its minus: `sheer -0-4-0`.
            let (span, text) = distance.clone();
            let bare = text.trim_start_matches(['-', '\u{2212}']);
            let below = length(&(span.end - bare.len()..span.end, bare), grid)?;
            let words: Vec<&str> = along.iter().map(|(_, word)| *word).collect();
            match words[..] {
                [] => Ok(RibbandAt::BelowSheer(below)),
                ["along", "girth"] | ["along", "the", "girth"] => Ok(RibbandAt::DownFromSheer(below)),
                _ => {
                    Err(wrong(along[0].0.start..whole.end, words.join(" "), "`along girth`, or nothing more"))
                }
            }
        }
        "through" => {
            let mut spots = Vec::new();
            for spot in words[1..].split(|(_, word)| *word == "and") {
                let [height, (_, "at"), station @ ..] = spot else {
                    let span = spot.first().map_or(whole.clone(), |w| w.0.start..spot[spot.len() - 1].0.end);
                    return Err(wrong(span, "no height and station", "a height `at` a station: 0-9-0 at 1"));
                };
                spots.push((station_at(station, whole.end, grid)?, length(height, grid)?));
            }
            spots.sort_by(|a, b| a.0.total_cmp(&b.0));
            Batten::through(&spots).map(RibbandAt::Through).map_err(|error| match error {
                BattenError::Springs { .. } | BattenError::Restless => {
                    wrong(whole, "heights that no batten takes", "a line that turns less between them")
                }
                _ => wrong(
                    whole,
                    "a batten through less than two stations",
                    "heights at two or more, each once",
                ),
            })
        }
        _ if words.len() == 1 => length(&words[0], grid).map(RibbandAt::Height).map_err(|error| {
            NotationError { expected: format!("{}; a ribband is {FORMS}", error.expected), ..error }
        }),
        _ => Err(wrong(whole, "words that name no ribband", FORMS)),
    }
}

fn station_at(words: &[Word<'_>], end: usize, grid: &Grid) -> Result<f64, NotationError> {
    let Some(first) = words.first() else {
        return Err(wrong(end..end, "no station", "its name, or its distance from the stem"));
    };
    let name = words.iter().map(|(_, word)| *word).collect::<Vec<_>>().join(" ");
    if let Some((_, x)) = grid.stations.iter().find(|(known, _)| *known == name) {
        return Ok(*x);
    }
    length(first, grid).map_err(|_| {
        let known: Vec<&str> = grid.stations.iter().map(|(name, _)| name.as_str()).collect();
        let expected = format!("one of {}, or a distance from the stem", known.join(", "));
        wrong(first.0.clone(), format!("no station is called {name:?}"), expected)
    })
}

/// Where ribbands cross the edge of the mould at `x`, with a name for each; those that miss it are left out.
pub(crate) fn crossings(edge: &Edge, x: f64, at: &[RibbandAt]) -> Result<Vec<(Place, String)>, LoftError> {
    let level = |z: f64| edge.crossings(Vec2::new(0.0, 1.0), z);
    let (sheer, whole) = (edge.point(edge.end()), edge.girth(edge.end()));
    let mut out = Vec::new();
    for (i, ribband) in at.iter().enumerate() {
        let places = match ribband {
            RibbandAt::Height(z) => level(*z),
            RibbandAt::Girth(fraction) => {
                if !(0.0..=1.0).contains(fraction) {
                    return Err(LoftError::NotchOffTheEdge { what: "ribband", girth: *fraction * whole });
                }
                vec![edge.at_girth(fraction * whole)]
            }
            RibbandAt::Diagonal(d) => d.places(edge),
            RibbandAt::Chine(number) => {
                edge.chines().iter().filter(|(n, _)| n == number).map(|(_, place)| *place).collect()
            }
            RibbandAt::BelowSheer(down) => level(sheer.y - down).pop().into_iter().collect(),
            RibbandAt::DownFromSheer(down) if (0.0..=whole).contains(down) => {
                vec![edge.at_girth(whole - down)]
            }
            RibbandAt::DownFromSheer(_) => Vec::new(),
            RibbandAt::Through(batten) => batten.height_within(x).map(|(z, _)| level(z)).unwrap_or_default(),
        };
        out.extend(places.into_iter().map(|p| (p, name(i + 1))));
    }
    Ok(out)
}

/// What a ribband is called, counted from 1 as they were given.
pub(crate) fn name(number: usize) -> String {
    format!("R{number}")
}
