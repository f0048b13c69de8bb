//! `[spar.NAME]`: what a table says of each of her spars, each mistake located. Whether the sizes make a spar is asked
//! where it is made.

use std::ops::Range;

use scrieve_notation::{Dialect, Length};
use toml_edit::{Item, Value};

use super::{Section, number};
use crate::mistake::Log;
use crate::spar::{SparFact, SparTold};

const KEYS: [&str; 22] = [
    "kind",
    "section",
    "straight",
    "length",
    "sail",
    "over",
    "step",
    "rake",
    "diameter",
    "athwart",
    "taper",
    "taper_athwart",
    "wall",
    "staves",
    "solid",
    "run_out",
    "species",
    "stock",
    "scarf",
    "scarf_kind",
    "kerfs",
    "marks",
];
const KINDS: [(&str, &str); 6] = [
    ("mast", "mast"),
    ("boom", "boom"),
    ("gaff", "gaff"),
    ("yard", "yard"),
    ("sprit", "sprit"),
    ("bowsprit", "bowsprit"),
];
const SECTIONS: [(&str, &str); 3] = [("round", "round"), ("oval", "oval"), ("rectangular", "rectangular")];
const STRAIGHT: [(&str, &str); 4] = [("fore", "fore"), ("aft", "aft"), ("top", "top"), ("under", "under")];
const SCARFS: [(&str, &str); 2] = [("plain", "plain"), ("stepped", "stepped")];
const PARTS: &str =
    "pairs of a part of the length and a part of the diameter, `[[0, 0.8], [0.3, 1], [1, 0.6]]`";
const WALLS: &str =
    "a reading, or pairs of a part of the length and a reading, `[[0, \"0-0-6\"], [1, \"0-0-4\"]]`";
const MARKS: &str = "names with a reading each, or with `[from, to]` or `[from, to, width]`";

impl<'t> Section<'t> {
    /// Her spars.
    pub(super) fn spars(&self, dialect: &Dialect, log: &mut Log<'_>) -> Vec<SparTold> {
        let own = ["kind", "length", "diameter", "sail"];
        let mut spars = Vec::new();
        for (name, spar, at) in self.family("spar", "mast", &own, log) {
            spar.check_keys(&KEYS, log);
            for (keys, expected) in [
                (&["length", "sail"][..], "`length = \"...\"`, or the `sail` whose side it spans"),
                (&["diameter"][..], "`diameter = \"...\"`, its greatest"),
            ] {
                if !keys.iter().any(|key| spar.table.contains_key(key)) {
                    log.error(at.clone(), format!("spar {name} has no `{}`", keys[0]), expected);
                }
            }
            let facts = spar.spar_facts(dialect, log);
            spars.push(SparTold { name: name.to_owned(), facts });
        }
        spars
    }

    fn spar_facts(&self, dialect: &Dialect, log: &mut Log<'_>) -> Vec<(String, SparFact)> {
        let mut facts = Vec::new();
        for (key, _) in self.table.iter() {
            let fact = match key {
                "kind" => self.word(key, &KINDS, log),
                "section" => self.word(key, &SECTIONS, log),
                "straight" => self.word(key, &STRAIGHT, log),
                "scarf_kind" => self.word(key, &SCARFS, log),
                "sail" | "species" => self.text(key, log).map(|(text, _)| SparFact::Text(text)),
                "staves" => self.whole(key, log).map(|(n, _)| SparFact::Number(n as f64)),
                "rake" | "scarf" => self.number(key, log).map(|(n, _)| SparFact::Number(n)),
                "step" | "solid" | "kerfs" => self.two(key, dialect, log),
                "taper" | "taper_athwart" => self.parts(key, log),
                "wall" => self.wall(key, dialect, log),
                "marks" => self.marks(key, dialect, log),
                key if KEYS.contains(&key) => {
                    let found = self.reading(key, dialect, log);
                    if let Some((reading, at)) = &found
                        && reading.length <= Length::ZERO
                    {
                        log.error(at.clone(), format!("`{key}` is nothing or less"), "a length above nought");
                    }
                    found.map(|(reading, _)| SparFact::Length(reading.length))
                }
                _ => None,
            };
            facts.extend(fact.map(|fact| (key.to_owned(), fact)));
        }
        facts
    }

    fn word(&self, key: &str, words: &[(&str, &str)], log: &mut Log<'_>) -> Option<SparFact> {
        self.choice(key, words, log).map(|word| SparFact::Text(word.to_owned()))
    }

    fn span(&self, value: &Value) -> Range<usize> {
        self.shift(value.span().unwrap_or(0..0))
    }

    fn lengths(&self, list: &toml_edit::Array, dialect: &Dialect, log: &mut Log<'_>) -> Option<Vec<Length>> {
        let read = |value: &Value, log: &mut Log<'_>| self.reading_of(value, self.span(value), dialect, log);
        let found: Vec<Length> = list.iter().filter_map(|v| read(v, log)).map(|(r, _)| r.length).collect();
        (found.len() == list.len()).then_some(found)
    }

    fn two(&self, key: &str, dialect: &Dialect, log: &mut Log<'_>) -> Option<SparFact> {
        let expected = match key {
            "step" => "`[from_stem, height]` of its heel",
            "solid" => "what stays solid at heel and head, `[\"...\", \"...\"]`",
            _ => "from kerf to kerf and the blade's kerf, `[\"...\", \"...\"]`",
        };
        let pair = |item: &'t Item| item.as_array().filter(|list| list.len() == 2);
        let (list, _) = self.value(key, expected, log, pair)?;
        self.lengths(list, dialect, log).map(SparFact::Lengths)
    }

    fn parts(&self, key: &str, log: &mut Log<'_>) -> Option<SparFact> {
        let (list, _) = self.value(key, PARTS, log, Item::as_array)?;
        let mut parts = Vec::new();
        for value in list {
            let numbers = value.as_array().map(|pair| pair.iter().filter_map(plain).collect::<Vec<f64>>());
            match numbers.as_deref() {
                Some([s, part]) => parts.push((*s, *part)),
                _ => log.error(self.span(value), format!("`{key}` has what is no pair of numbers"), PARTS),
            }
        }
        Some(SparFact::Parts(parts))
    }

    fn wall(&self, key: &str, dialect: &Dialect, log: &mut Log<'_>) -> Option<SparFact> {
        let Some(list) = self.table.get(key).and_then(Item::as_array) else {
            return self.reading(key, dialect, log).map(|(reading, _)| SparFact::Length(reading.length));
        };
        let mut walls = Vec::new();
        for value in list {
            let pair = value.as_array().filter(|pair| pair.len() == 2);
            let both = pair.and_then(|pair| Some((plain(pair.get(0)?)?, pair.get(1)?)));
            let Some((s, wall)) = both else {
                log.error(self.span(value), "a wall that is no pair", WALLS);
                continue;
            };
            let read = self.reading_of(wall, self.span(wall), dialect, log);
            walls.extend(read.map(|(reading, _)| (s, reading.length)));
        }
        Some(SparFact::Walls(walls))
    }

    fn marks(&self, key: &'t str, dialect: &Dialect, log: &mut Log<'_>) -> Option<SparFact> {
        let (marks, _) = self.section(key, log)?;
        let mut found = Vec::new();
        for (name, item) in marks.table.iter() {
            let lengths = match item.as_array() {
                Some(list) if (1..=3).contains(&list.len()) => marks.lengths(list, dialect, log),
                Some(_) => {
                    let at = marks.at(name).unwrap_or(0..0);
                    log.error(at, format!("mark `{name}` has no one, two or three readings"), MARKS);
                    None
                }
                None => marks.reading(name, dialect, log).map(|(reading, _)| vec![reading.length]),
            };
            found.extend(lengths.map(|lengths| (name.to_owned(), lengths)));
        }
        Some(SparFact::Marks(found))
    }
}

fn plain(value: &Value) -> Option<f64> {
    number(&Item::Value(value.clone())).filter(|n| n.is_finite())
}
