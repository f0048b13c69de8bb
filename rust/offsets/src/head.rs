//! The front matter: TOML between two `+++` lines, read key by key so that every mistake is located.
//!
//! A line that is no TOML is reported, blanked and the rest read again, so that one slip does not hide the
//! others.

mod spars;

use std::collections::BTreeSet;
use std::ops::Range;

use scrieve_notation::{
    Dialect, LONGEST, Length, Mark, OnePart, Parsed, Reading, TwoPart, Units, parse_cell, parse_plus,
};
use toml_edit::{Document, Item, TableLike, Value};

use crate::blanks::{PARTS, Told};
use crate::facts::{Fact, Facts, Lateral, Place, Sail, Shrinkage, Weights};
use crate::mistake::Log;
use crate::nearest::{nearest, one_of, suggest};
use crate::outline::flaw;
use crate::scale::parse_scale;
use crate::{Blank, Diagonal, Transom};

/// The format this reader knows.
const FORMAT: i64 = 1;
/// Lines of broken TOML reported before the rest is given up; past a few they are one mistake's echoes.
const BROKEN_LINES: usize = 8;
/// Front matter longer than this is read once only, broken or not, so that time stays in proportion.
const RETRY_BYTES: usize = 64 * 1024;
/// Wood shrinks by a few per cent; a factor outside this is a slip or the wrong way up.
const SHRINKAGE: std::ops::RangeInclusive<f64> = 0.8..=1.25;
const KEYS: [&str; 36] = [
    "format",
    "name",
    "builder",
    "designer",
    "year",
    "place",
    "kind",
    "source",
    "units",
    "plus",
    "two_part",
    "one_part",
    "fractions",
    "decimal",
    "scale",
    "moulded_to",
    "planking",
    "tolerance",
    "load_waterline",
    "assumed",
    "blank",
    "backbone",
    "stem",
    "sternpost",
    "transom",
    "diagonal",
    "shrinkage",
    "lifts",
    "mass",
    "crew",
    "load",
    "sail",
    "spar",
    "lateral",
    "shop",
    "extra",
];
/// No boat a table is taken of weighs so much; what is over it is a slip.
const HEAVIEST_KG: f64 = 1e8;
/// How places are written.
const PLACES: &str = "[{ from_stem = \"...\", height = \"...\" }]";
const FRACTIONS: [(&str, bool); 2] = [("slashed", false), ("dashed", true)];
const DECIMAL: [(&str, bool); 2] = [(".", false), (",", true)];
const YEARS: &str = "a year, `1885`, `\"c. 1885\"` or `\"1880-1890\"`";
/// How spots of a stem are written.
const SPOTS: &str = "one to twenty `[from_stem, height]` pairs, sheer to keel";
const MOST_SPOTS: usize = 20;
/// Degrees a diagonal may fall below the level.
const ANGLES: std::ops::RangeInclusive<f64> = 5.0..=85.0;
const MOULDED_TO: [(&str, bool); 2] = [("outside of planking", false), ("inside of planking", true)];

/// What the front matter says.
#[derive(Default)]
pub(crate) struct Head {
    pub(crate) facts: Facts,
    pub(crate) transom: Option<Transom>,
    pub(crate) diagonals: Vec<Diagonal>,
    /// Where the height of each on the centreline is written, where it is.
    pub(crate) diagonals_at: Vec<Option<Range<usize>>>,
    /// What empty cells mean.
    pub(crate) blanks: Vec<Told>,
    /// The stem by its spots, and where they stand.
    pub(crate) stem: Option<(Vec<EndSpot>, Range<usize>)>,
    /// The sternpost.
    pub(crate) stern: Option<(Vec<EndSpot>, Range<usize>)>,
    /// Where the planking is given.
    pub(crate) planking_at: Option<Range<usize>>,
    /// Where the transom is.
    pub(crate) transom_at: Option<Range<usize>>,
    /// Its readings: foot from stem, its height, head from stem, its height.
    pub(crate) transom_readings: Readings,
    /// How readings are written is known; if not, they cannot be judged.
    pub(crate) dialect_known: bool,
    /// Names that stand as diagonals in the file, though what is said of them may be wrong.
    pub(crate) diagonal_names: BTreeSet<String>,
}

/// A spot of a stem or post: its distance and its height, and where each is written.
pub(crate) type EndSpot = [(Reading, Range<usize>); 2];

/// Reads the front matter, the bytes `span` of the log's text; `fence` is the line that opens it.
pub(crate) fn read_head(span: Range<usize>, fence: &Range<usize>, log: &mut Log<'_>) -> Head {
    let mut source = log.text()[span.clone()].to_owned();
    let mut broken = 0;
    let document = loop {
        let error = match Document::parse(source.clone()) {
            Ok(document) => break Some(document),
            Err(error) => error,
        };
        broken += 1;
        let at = error.span().unwrap_or(0..0);
        log.error(
            span.start + at.start..span.start + at.end,
            format!("the facts are not TOML: {}", error.message()),
            "`key = value` lines and `[table]` headings",
        );
        if broken == BROKEN_LINES || source.len() > RETRY_BYTES || !blank_line(&mut source, at.start) {
            break None;
        }
    };
    let Some(document) = document else { return Head::default() };
    let top = Section { table: document.as_table(), base: span.start, name: "" };
    top.check_keys(&KEYS, log);

    // A blanked line may be the one a missing key stood in.
    if broken == 0 {
        for key in ["format", "name", "units"] {
            if !document.contains_key(key) {
                log.error(fence.clone(), format!("the facts have no `{key}`"), format!("`{key} = ...`"));
            }
        }
    }
    top.read(log)
}

/// Blanks the line at a byte; false if it was blank already.
fn blank_line(source: &mut String, at: usize) -> bool {
    let at = (0..=at.min(source.len())).rev().find(|&i| source.is_char_boundary(i)).unwrap_or(0);
    let start = source[..at].rfind('\n').map_or(0, |i| i + 1);
    let end = source[at..].find('\n').map_or(source.len(), |i| at + i);
    if source[start..end].trim().is_empty() {
        return false;
    }
    source.replace_range(start..end, &" ".repeat(end - start));
    true
}

/// A table of the front matter, and where its text begins in the file.
#[derive(Clone, Copy)]
struct Section<'t> {
    table: &'t dyn TableLike,
    base: usize,
    name: &'t str,
}

/// A value and where it stands.
type Located<T> = Option<(T, Range<usize>)>;

/// Readings with where they stand.
type Readings = Vec<(Reading, Range<usize>)>;

impl<'t> Section<'t> {
    fn read(&self, log: &mut Log<'_>) -> Head {
        if let Some((format, at)) = self.whole("format", log)
            && format != FORMAT
        {
            log.error(at, format!("format {format} is not known here"), format!("`format = {FORMAT}`"));
        }
        let units = self.choice("units", &Units::ALL.map(|u| (u.name(), u)), log);
        let two_part = self.choice("two_part", &TwoPart::ALL.map(|t| (t.name(), t)), log);
        let plus = self.plus(log);
        let one_part = self.choice("one_part", &OnePart::ALL.map(|o| (o.name(), o)), log);
        let dashed = self.choice("fractions", &FRACTIONS, log).unwrap_or(false);
        let comma = self.choice("decimal", &DECIMAL, log).unwrap_or(false);
        let units_known = units.unwrap_or_default();
        let mut dialect =
            Dialect { units: units_known, two_part, one_part, dashed, comma, ..Dialect::default() };
        dialect.plus = plus.unwrap_or(dialect.plus);
        let text = |key, log: &mut Log<'_>| self.text(key, log).map(|(text, _)| text);
        let planking = self.thickness("planking", &dialect, log);
        let section = self.section("transom", log);
        let transom_assumed = section.as_ref().is_some_and(|(section, _)| section.truth("assumed", log));
        let transom = section.and_then(|(section, at)| section.transom(&at, &dialect, log));
        let year = self.year(log);
        let load_waterline = self.reading("load_waterline", &dialect, log).map(|(r, _)| r.length);
        let (stem, stem_assumed) = self.end("stem", &dialect, log);
        let (stern, stern_assumed) = self.end("sternpost", &dialect, log);
        let mut diagonal_names = BTreeSet::new();
        let diagonals = self.diagonals(&dialect, load_waterline, &mut diagonal_names, log);
        let (diagonals, diagonals_at) = diagonals.into_iter().unzip();
        let facts = Facts {
            name: text("name", log).unwrap_or_default(),
            builder: text("builder", log),
            designer: text("designer", log),
            year: year.as_ref().map(|year| year.0),
            dated: year.as_ref().and_then(|year| year.1.clone()),
            year_span: year.and_then(|year| year.2),
            place: text("place", log),
            kind: text("kind", log),
            source: text("source", log),
            scale: self.scale(log).unwrap_or(1.0),
            shrinkage: self.shrinkage(&dialect, log),
            lifts: self.lifts(&dialect, log),
            to_inside: self.choice("moulded_to", &MOULDED_TO, log).unwrap_or(false),
            planking: planking.as_ref().map(|(length, _)| *length),
            tolerance: self.tolerance(&dialect, log),
            half_siding: self.half_siding(&dialect, log),
            load_waterline,
            crew: self.weights("crew", &dialect, log),
            loads: self.weights("load", &dialect, log),
            sails: self.sails(&dialect, log),
            spars: self.spars(&dialect, log),
            lateral: self.lateral(&dialect, log),
            assumed: self.sentences("assumed", log),
            stem_assumed,
            stern_assumed,
            transom_assumed,
            extra: self.extra(log),
            dialect: dialect.clone(),
            ..self.mass(&dialect, log)
        };
        // What a shop chose is the patterns' affair, who know what can be chosen; here it is a table and no more.
        self.section("shop", log);
        Head {
            diagonals,
            diagonals_at,
            blanks: self.blanks(&dialect, log),
            stem,
            stern,
            transom: transom.as_ref().map(|(transom, _)| transom.clone()),
            transom_readings: transom.map_or(Vec::new(), |(_, readings)| readings),
            transom_at: self.at("transom"),
            planking_at: planking.map(|(_, at)| at),
            dialect_known: units.is_some(),
            diagonal_names,
            facts,
        }
    }

    /// Reports keys that mean nothing here.
    fn check_keys(&self, known: &[&str], log: &mut Log<'_>) {
        for (key, _) in self.table.iter() {
            if log.is_full() {
                return;
            }
            if !known.contains(&key) {
                let place = if self.name.is_empty() { String::new() } else { format!(" in [{}]", self.name) };
                let expected = match nearest(key, known.iter().copied()) {
                    Some(best) => format!("`{best}`"),
                    None if self.name.is_empty() => "facts of your own under `[extra]`".to_owned(),
                    None => one_of(known),
                };
                log.error(self.key_at(key), format!("unknown key `{key}`{place}"), expected);
            }
        }
    }

    fn key_at(&self, key: &str) -> Range<usize> {
        let span = self.table.get_key_value(key).and_then(|(key, _)| key.span());
        self.shift(span.unwrap_or(0..0))
    }

    /// Where a key's value stands, or the key itself.
    fn at(&self, key: &str) -> Option<Range<usize>> {
        let (name, item) = self.table.get_key_value(key)?;
        // A table's own span may be that of its first line, or nothing if it is implied by dots.
        let span = if item.is_value() { item.span().or_else(|| name.span()) } else { name.span() };
        Some(self.shift(span.or_else(|| item.span()).unwrap_or(0..0)))
    }

    fn shift(&self, span: Range<usize>) -> Range<usize> {
        self.base + span.start..self.base + span.end
    }

    /// A value that `take` accepts; one of another kind is a mistake.
    fn value<T>(
        &self,
        key: &str,
        expected: &str,
        log: &mut Log<'_>,
        take: impl FnOnce(&'t Item) -> Option<T>,
    ) -> Located<T> {
        let item = self.table.get(key)?;
        let at = self.at(key)?;
        match take(item) {
            Some(value) => Some((value, at)),
            None => {
                log.error(at, format!("`{key}` is {}", kind_of(item)), expected);
                None
            }
        }
    }

    fn text(&self, key: &str, log: &mut Log<'_>) -> Located<String> {
        self.value(key, "text in quotes", log, |item| item.as_str().map(str::to_owned))
    }

    fn whole(&self, key: &str, log: &mut Log<'_>) -> Located<i64> {
        self.value(key, "a whole number without quotes", log, Item::as_integer)
    }

    fn number(&self, key: &str, log: &mut Log<'_>) -> Located<f64> {
        self.value(key, "a finite number without quotes", log, |item| number(item).filter(|n| n.is_finite()))
    }

    fn section(&self, key: &'t str, log: &mut Log<'_>) -> Located<Section<'t>> {
        let base = self.base;
        self.value(key, &format!("a table, `[{key}]`"), log, |item| {
            item.as_table_like().map(|table| Section { table, base, name: key })
        })
    }

    fn choice<T: Copy>(&self, key: &str, choices: &[(&str, T)], log: &mut Log<'_>) -> Option<T> {
        let (text, at) = self.text(key, log)?;
        let found = choices.iter().find(|(name, _)| *name == text).map(|(_, value)| *value);
        if found.is_none() {
            let names = choices.iter().map(|(name, _)| *name).collect::<Vec<_>>();
            log.error(at, format!("`{key}` cannot be `{text}`"), suggest(&text, &names));
        }
        found
    }

    /// A reading, in quotes or as a bare number where the units are decimal.
    fn reading(&self, key: &str, dialect: &Dialect, log: &mut Log<'_>) -> Located<Reading> {
        let (item, at) = self.value(key, "a reading", log, |item| item.as_value())?;
        self.reading_of(item, at, dialect, log)
    }

    fn reading_of(
        &self,
        value: &Value,
        at: Range<usize>,
        dialect: &Dialect,
        log: &mut Log<'_>,
    ) -> Located<Reading> {
        let source = &log.text()[at.clone()];
        let (text, inner) = match value {
            // The quotes are not part of the reading; in a text with escapes the place cannot be told.
            Value::String(text) => {
                let plain = source.len() == text.value().len() + 2;
                (text.value().to_owned(), if plain { at.start + 1..at.end - 1 } else { at.clone() })
            }
            Value::Integer(_) | Value::Float(_) => (source.to_owned(), at.clone()),
            _ => {
                log.error(at, "no reading", "a reading in quotes");
                return None;
            }
        };
        read_reading(&text, inner, dialect, log).map(|reading| (reading, at))
    }

    /// A length that cannot be negative.
    fn thickness(&self, key: &str, dialect: &Dialect, log: &mut Log<'_>) -> Located<Length> {
        let (reading, at) = self.reading(key, dialect, log)?;
        if reading.length < Length::ZERO {
            log.error(at, format!("`{key}` is negative"), "nought or more");
            return None;
        }
        Some((reading.length, at))
    }

    fn plus(&self, log: &mut Log<'_>) -> Option<Length> {
        let (text, at) = self.text("plus", log)?;
        parse_plus(&text).map_err(|e| log.error(at, format!("`plus` cannot be {}", e.found), e.expected)).ok()
    }

    fn scale(&self, log: &mut Log<'_>) -> Option<f64> {
        let (text, at) = self.text("scale", log)?;
        let scale = parse_scale(&text);
        if scale.is_none() {
            log.error(
                at,
                format!("`{text}` is no scale"),
                "`1:1`, `1:16`, `1 in = 1 ft` or the like, the model's size first",
            );
        }
        scale
    }

    fn tolerance(&self, dialect: &Dialect, log: &mut Log<'_>) -> Option<Length> {
        let (length, at) = self.thickness("tolerance", dialect, log)?;
        if length == Length::ZERO {
            log.error(
                at,
                "a tolerance of nothing",
                "more than nought; mark a reading that is exact with `!`",
            );
            return None;
        }
        Some(length)
    }

    fn half_siding(&self, dialect: &Dialect, log: &mut Log<'_>) -> Option<Length> {
        let (backbone, _) = self.section("backbone", log)?;
        backbone.check_keys(&["half_siding"], log);
        backbone.thickness("half_siding", dialect, log).map(|(length, _)| length)
    }

    /// Facts with what `[mass]` says.
    fn mass(&self, dialect: &Dialect, log: &mut Log<'_>) -> Facts {
        let mut facts = Facts::default();
        let Some((mass, _)) = self.section("mass", log) else { return facts };
        mass.check_keys(&["boat_kg", "centre", "crew_kg"], log);
        facts.boat_kg = mass.kilograms("boat_kg", log);
        facts.crew_kg = mass.kilograms("crew_kg", log);
        if let Some((centre, at)) = mass.section("centre", log) {
            centre.check_keys(&["from_stem", "height"], log);
            let from_stem = centre.need("from_stem", &at, dialect, log);
            let height = centre.need("height", &at, dialect, log);
            facts.boat_centre = from_stem.zip(height);
            if !mass.table.contains_key("boat_kg") {
                log.error(at, "the boat's centre without her mass", "`boat_kg = ...` under `[mass]`");
            }
        }
        if mass.table.contains_key("crew_kg") && self.table.contains_key("crew") {
            let at = mass.key_at("crew_kg");
            log.error(at, "the crew are given twice", "either `crew_kg` or `[crew]` tables");
        }
        facts
    }

    fn kilograms(&self, key: &str, log: &mut Log<'_>) -> Option<f64> {
        let (kg, at) = self.number(key, log)?;
        if kg < 0.0 {
            log.error(at, format!("`{key}` is negative"), "kilograms, nought or more");
            return None;
        }
        if kg > HEAVIEST_KG {
            log.error(at, format!("`{key}` is more than any boat weighs"), "kilograms");
            return None;
        }
        Some(kg)
    }

    /// The tables `[key.NAME]`, with their names and where each stands; those without a name are reported.
    fn family(
        &self,
        key: &'t str,
        example: &str,
        own: &[&str],
        log: &mut Log<'_>,
    ) -> Vec<(&'t str, Section<'t>, Range<usize>)> {
        let Some((all, at)) = self.section(key, log) else { return Vec::new() };
        if let Some(nameless) = own.iter().find(|own| all.table.get(own).is_some_and(|v| !v.is_table_like()))
        {
            let expected = format!("`[{key}.{example}]`, or another name of your own");
            log.error(at, format!("`{nameless}` under [{key}], which has no name"), expected);
            return Vec::new();
        }
        let names = all.table.iter().map(|(name, _)| name);
        names.filter_map(|name| all.section(name, log).map(|(one, at)| (name, one, at))).collect()
    }

    /// The tables `[key.NAME]`: weights of the crew, or of what else she carries.
    fn weights(&self, key: &'t str, dialect: &Dialect, log: &mut Log<'_>) -> Vec<Weights> {
        let example = if key == "crew" { "hands" } else { "ballast" };
        let mut found = Vec::new();
        for (name, one, at) in self.family(key, example, &["kg", "places"], log) {
            one.check_keys(&["kg", "places"], log);
            for (key, example) in [("kg", "75"), ("places", PLACES)] {
                if !one.table.contains_key(key) {
                    log.error(at.clone(), format!("{name} has no `{key}`"), format!("`{key} = {example}`"));
                }
            }
            let kg = one.kilograms("kg", log);
            let places = one.places(dialect, log);
            found.extend(kg.zip(places).map(|(kg, places)| Weights { name: name.to_owned(), kg, places }));
        }
        found
    }

    fn places(&self, dialect: &Dialect, log: &mut Log<'_>) -> Option<Vec<Place>> {
        let expected = format!("a list of places, `{PLACES}`");
        let (list, at) = self.value("places", &expected, log, Item::as_array)?;
        if list.is_empty() {
            log.error(at, "no place", expected);
            return None;
        }
        let mut places = Vec::new();
        for value in list {
            let at = self.shift(value.span().unwrap_or(0..0));
            let Some(table) = value.as_inline_table() else {
                log.error(at, "no place", "`{ from_stem = \"...\", height = \"...\" }`");
                continue;
            };
            let place = Section { table, base: self.base, name: "places" };
            place.check_keys(&["from_stem", "out", "height"], log);
            let from_stem = place.need("from_stem", &at, dialect, log);
            let height = place.need("height", &at, dialect, log);
            let out = match place.table.contains_key("out") {
                true => place.reading("out", dialect, log).map(|(reading, _)| reading.length),
                false => Some(Length::ZERO),
            };
            if let (Some(from_stem), Some(out), Some(height)) = (from_stem, out, height) {
                places.push(Place { from_stem, out, height });
            }
        }
        Some(places)
    }

    fn lifts(&self, dialect: &Dialect, log: &mut Log<'_>) -> Vec<Length> {
        let Some((lifts, _)) = self.section("lifts", log) else { return Vec::new() };
        lifts.check_keys(&["base", "thicknesses"], log);
        let base = lifts.reading("base", dialect, log).map_or(Length::ZERO, |(r, _)| r.length);
        let list = lifts.value("thicknesses", "a list of readings", log, Item::as_array);
        let mut top = base;
        let mut tops = Vec::new();
        for value in list.iter().flat_map(|(list, _)| list.iter()) {
            let at = lifts.shift(value.span().unwrap_or(0..0));
            let Some((thickness, at)) = lifts.reading_of(value, at, dialect, log) else { continue };
            if thickness.length <= Length::ZERO || top > LONGEST {
                log.error(at, "a lift of no thickness", "more than nought");
                continue;
            }
            top = top + thickness.length;
            tops.push(top);
        }
        tops
    }

    fn shrinkage(&self, dialect: &Dialect, log: &mut Log<'_>) -> Shrinkage {
        let Some((shrinkage, _)) = self.section("shrinkage", log) else { return Shrinkage::default() };
        shrinkage.check_keys(&["length", "breadth", "height"], log);
        let scale = self.table.get("scale").and_then(Item::as_str).and_then(parse_scale).unwrap_or(1.0);
        let mut factor = |key| shrinkage.factor(key, scale, dialect, log).unwrap_or(1.0);
        Shrinkage { length: factor("length"), breadth: factor("breadth"), height: factor("height") }
    }

    /// A factor as a number, or by a dimension that is known full size and measured on the model.
    fn factor(&self, key: &'t str, scale: f64, dialect: &Dialect, log: &mut Log<'_>) -> Option<f64> {
        let (factor, at) = if self.table.get(key)?.is_table_like() {
            let (dimension, at) = self.section(key, log)?;
            dimension.check_keys(&["known", "measured"], log);
            let known = dimension.need("known", &at, dialect, log)?;
            let measured = dimension.need("measured", &at, dialect, log)?;
            (known.metres() / (measured.metres() * scale), at)
        } else {
            self.number(key, log)?
        };
        if !SHRINKAGE.contains(&factor) {
            log.error(
                at,
                format!("a factor of {factor:.4} for shrinkage"),
                format!(
                    "a number from {} to {}, over 1 if the wood has shrunk",
                    SHRINKAGE.start(),
                    SHRINKAGE.end()
                ),
            );
            return None;
        }
        Some(factor)
    }

    /// A reading that must be there.
    fn need(&self, key: &str, at: &Range<usize>, dialect: &Dialect, log: &mut Log<'_>) -> Option<Length> {
        self.need_reading(key, at, dialect, log).map(|(reading, _)| reading.length)
    }

    fn need_reading(
        &self,
        key: &str,
        at: &Range<usize>,
        dialect: &Dialect,
        log: &mut Log<'_>,
    ) -> Located<Reading> {
        if !self.table.contains_key(key) {
            log.error(at.clone(), format!("no `{key}` in `{}`", self.name), format!("`{key} = \"...\"`"));
        }
        self.reading(key, dialect, log)
    }

    /// The transom, and the four readings of its foot and head.
    fn transom(
        &self,
        at: &Range<usize>,
        dialect: &Dialect,
        log: &mut Log<'_>,
    ) -> Option<(Transom, Readings)> {
        self.check_keys(&["foot", "head", "curve_radius", "assumed"], log);
        let spot = |key, log: &mut Log<'_>| {
            if !self.table.contains_key(key) {
                let expected = format!("`{key} = {{ from_stem = \"...\", height = \"...\" }}`");
                log.error(at.clone(), format!("the transom has no `{key}`"), expected);
            }
            let (spot, at) = self.section(key, log)?;
            spot.check_keys(&["from_stem", "height"], log);
            let from_stem = spot.need_reading("from_stem", &at, dialect, log);
            let height = spot.need_reading("height", &at, dialect, log);
            Some(((from_stem?, height?), at))
        };
        let (foot, head) = (spot("foot", log), spot("head", log));
        let radius = self.thickness("curve_radius", dialect, log);
        let curve_radius = radius.map_or(Length::ZERO, |(length, _)| length);
        let ((foot, _), (head, head_at)) = (foot?, head?);
        let own = |(reading, at): (Reading, Range<usize>)| (reading, within_quotes(at, log));
        let readings = vec![own(foot.0), own(foot.1), own(head.0), own(head.1)];
        let length = |i: usize| readings.get(i).map_or(Length::ZERO, |(r, _)| r.length);
        let (foot, head) = ((length(0), length(1)), (length(2), length(3)));
        if head.1 <= foot.1 {
            log.error(
                head_at,
                "the transom's head is not above its foot",
                "a greater height than the foot's",
            );
            return None;
        }
        Some((Transom { foot, head, curve_radius }, readings))
    }

    /// Each by two of what tells a plane: where it leaves the centreline, the angle it falls at, a point it goes
    /// through, where it cuts the load waterline.
    fn diagonals(
        &self,
        dialect: &Dialect,
        load_waterline: Option<Length>,
        names: &mut BTreeSet<String>,
        log: &mut Log<'_>,
    ) -> Vec<(Diagonal, Option<Range<usize>>)> {
        const KEYS: [&str; 4] = ["centreline_height", "through", "angle", "load_waterline"];
        let Some((all, _)) = self.section("diagonal", log) else { return Vec::new() };
        let mut diagonals = Vec::new();
        for (name, _) in all.table.iter() {
            names.insert(name.to_owned());
            let Some((one, at)) = all.section(name, log) else { continue };
            one.check_keys(&KEYS, log);
            let has = |key: &str| one.table.contains_key(key);
            if KEYS.iter().filter(|key| has(key)).count() != 2 {
                let problem = match KEYS.iter().find(|key| has(key)) {
                    // The usual two, one of them left out.
                    Some(&"centreline_height") => format!("diagonal {name} has no `through`"),
                    Some(&"through") => format!("diagonal {name} has no `centreline_height`"),
                    _ => format!("diagonal {name} is not told by two things"),
                };
                let expected = "two of `centreline_height = \"...\"`, `through = { half_breadth = \"...\", \
                                height = \"...\" }`, `angle = 45` and `load_waterline = \"...\"`";
                log.error(at, problem, expected);
                continue;
            }
            let centreline =
                has("centreline_height").then(|| one.need_reading("centreline_height", &at, dialect, log));
            let angle = has("angle").then(|| one.angle(log));
            // Points off the centreline that it goes through.
            let mut points = Vec::new();
            if has("through") {
                let Some((through, at)) = one.section("through", log) else { continue };
                through.check_keys(&["half_breadth", "height"], log);
                let half_breadth = through.need("half_breadth", &at, dialect, log);
                let height = through.need("height", &at, dialect, log);
                points.push((half_breadth.zip(height), at));
            }
            if let Some(at) = one.at("load_waterline") {
                let half_breadth =
                    one.reading("load_waterline", dialect, log).map(|(reading, _)| reading.length);
                if load_waterline.is_none() {
                    let problem = format!("diagonal {name} cuts a load waterline that is not given");
                    log.error(at.clone(), problem, "`load_waterline = \"...\"` among the facts, its height");
                }
                points.push((half_breadth.zip(load_waterline), at));
            }
            let off = points.iter().find(|(p, _)| p.is_some_and(|(y, _)| y <= Length::ZERO));
            if let Some((_, at)) = off {
                let problem = format!("diagonal {name} goes through no point off the centreline");
                log.error(at.clone(), problem, "a half-breadth over nought");
                continue;
            }
            let points = points.into_iter().map(|(point, _)| point).collect::<Option<Vec<_>>>();
            let Some(points) = points else { continue };
            if centreline.as_ref().is_some_and(Option::is_none) || angle.is_some_and(|a| a.is_none()) {
                continue;
            }
            let (centreline, centreline_at) = centreline.flatten().unzip();
            let centreline_at = centreline_at.map(|at| within_quotes(at, log));
            let centreline = centreline.map(|reading: Reading| reading.length);
            let given = Given { centreline, fall: angle.flatten(), points };
            let Some((centreline_height, (through_half_breadth, through_height))) = given.plane() else {
                let problem = format!("diagonal {name} is not told by its two things");
                log.error(at, problem, "two points of different half-breadth, or one and an angle");
                continue;
            };
            let name = name.to_owned();
            let diagonal = Diagonal { name, centreline_height, through_half_breadth, through_height };
            diagonals.push((diagonal, centreline_at));
        }
        diagonals.sort_by(|a, b| a.0.name.cmp(&b.0.name));
        diagonals
    }

    /// The tangent of the angle a diagonal falls at.
    fn angle(&self, log: &mut Log<'_>) -> Option<f64> {
        let (angle, at) = self.number("angle", log)?;
        if !ANGLES.contains(&angle) {
            let expected = format!("{} to {} degrees below the level", ANGLES.start(), ANGLES.end());
            log.error(at, format!("an angle of {angle}"), expected);
            return None;
        }
        Some(angle.to_radians().tan())
    }

    /// The year, as it is written where that is no plain number, and the span it may be of.
    #[allow(clippy::type_complexity)]
    fn year(&self, log: &mut Log<'_>) -> Option<(i64, Option<String>, Option<(i64, i64)>)> {
        let (item, at) = self.value("year", YEARS, log, Item::as_value)?;
        if let Some(year) = item.as_integer() {
            return Some((year, None, None));
        }
        let told = item.as_str().and_then(|text| Some((text.trim().to_owned(), years(text)?)));
        let Some((text, (from, to))) = told else {
            log.error(at, "no year", YEARS);
            return None;
        };
        let plain = text.parse::<i64>().is_ok();
        let middle = from + (to - from) / 2;
        Some((middle, (!plain).then_some(text), (from != to).then_some((from, to))))
    }

    fn truth(&self, key: &str, log: &mut Log<'_>) -> bool {
        self.value(key, "true or false", log, Item::as_bool).is_some_and(|(truth, _)| truth)
    }

    fn sentences(&self, key: &str, log: &mut Log<'_>) -> Vec<String> {
        let expected = "a list of sentences in quotes";
        let Some((list, _)) = self.value(key, expected, log, Item::as_array) else { return Vec::new() };
        let mut found = Vec::new();
        for value in list {
            match value.as_str() {
                Some(text) => found.push(text.split_whitespace().collect::<Vec<_>>().join(" ")),
                None => log.error(self.shift(value.span().unwrap_or(0..0)), "no sentence", expected),
            }
        }
        found
    }

    /// `[stem]` or `[sternpost]`: its spots, and whether they are assumed.
    fn end(&self, key: &'t str, dialect: &Dialect, log: &mut Log<'_>) -> EndTold {
        let Some((end, at)) = self.section(key, log) else { return (None, false) };
        end.check_keys(&["spots", "assumed"], log);
        let assumed = end.truth("assumed", log);
        if !end.table.contains_key("spots") {
            log.error(at, format!("`{key}` has no `spots`"), SPOTS);
            return (None, assumed);
        }
        let Some((pairs, at)) = end.value("spots", SPOTS, log, Item::as_array) else {
            return (None, assumed);
        };
        let mut spots: Vec<EndSpot> = Vec::new();
        for pair in pairs {
            let place = |v: &Value| end.shift(v.span().unwrap_or(0..0));
            let both = pair.as_array().filter(|pair| pair.len() == 2);
            let Some((x, z)) = both.and_then(|pair| Some((pair.get(0)?, pair.get(1)?))) else {
                log.error(place(pair), "a spot that is no pair", SPOTS);
                continue;
            };
            let mut read = |v: &Value| {
                let (mut reading, at) = end.reading_of(v, place(v), dialect, log)?;
                if assumed && reading.mark == Mark::Plain {
                    // Nobody measured it, so that whatever was measured outweighs it.
                    reading.mark = Mark::Doubtful;
                }
                let quoted = v.is_str() && at.len() >= 2;
                Some((reading, if quoted { at.start + 1..at.end - 1 } else { at }))
            };
            if let (Some(x), Some(z)) = (read(x), read(z)) {
                spots.push([x, z]);
            }
        }
        if pairs.is_empty() || pairs.len() > MOST_SPOTS {
            log.error(at, format!("{} of a stem or post", counted(pairs.len(), "spot")), SPOTS);
            return (None, assumed);
        }
        ((spots.len() == pairs.len()).then_some((spots, at)), assumed)
    }

    /// `[blank]`: what empty cells mean.
    fn blanks(&self, dialect: &Dialect, log: &mut Log<'_>) -> Vec<Told> {
        let Some((blank, _)) = self.section("blank", log) else { return Vec::new() };
        let mut found = Vec::new();
        for (name, item) in blank.table.iter() {
            let means =
                if item.is_table_like() {
                    let Some((parts, _)) = blank.section(name, log) else { continue };
                    parts.check_keys(&PARTS, log);
                    PARTS.map(|part| {
                        if parts.table.contains_key(part) { parts.blank(part, dialect, log) } else { None }
                    })
                } else {
                    [blank.blank(name, dialect, log); 3]
                };
            found.push(Told { name: name.to_owned(), name_at: blank.key_at(name), means });
        }
        found
    }

    /// What a blank means: a word, or `at` and a height above the base line.
    fn blank(&self, key: &str, dialect: &Dialect, log: &mut Log<'_>) -> Option<Blank> {
        let item = self.table.get(key)?;
        let at = self.at(key)?;
        let height = item.as_str().and_then(|text| text.trim().strip_prefix("at "));
        if let Some(height) = height.filter(|text| text.contains(|c: char| c.is_ascii_digit())) {
            return read_reading(height.trim(), at, dialect, log).map(|reading| Blank::At(reading.length));
        }
        self.choice(key, &Blank::ALL.map(|blank| (blank.word(), blank)), log)
    }

    fn sails(&self, dialect: &Dialect, log: &mut Log<'_>) -> Vec<Sail> {
        let mut sails = Vec::new();
        for (name, sail, at) in self.family("sail", "main", &["corners", "rig"], log) {
            sail.check_keys(&["rig", "corners"], log);
            let rigs = sail.rigs(log);
            if let Some(corners) = sail.corners("sail", &at, dialect, log) {
                sails.push(Sail { name: name.to_owned(), rigs, corners });
            }
        }
        sails
    }

    fn lateral(&self, dialect: &Dialect, log: &mut Log<'_>) -> Vec<Lateral> {
        let mut parts = Vec::new();
        for (name, part, at) in self.family("lateral", "rudder", &["corners"], log) {
            part.check_keys(&["corners"], log);
            if let Some(corners) = part.corners("lateral", &at, dialect, log) {
                parts.push(Lateral { name: name.to_owned(), corners });
            }
        }
        parts
    }

    /// A rig's name, or a list of them.
    fn rigs(&self, log: &mut Log<'_>) -> Vec<String> {
        const EXPECTED: &str = "the name of a rig in quotes, or a list of names";
        let Some((value, at)) = self.value("rig", EXPECTED, log, Item::as_value) else { return Vec::new() };
        let single = std::slice::from_ref(value);
        let values: Vec<&Value> = match value {
            Value::Array(list) => list.iter().collect(),
            _ => single.iter().collect(),
        };
        if values.is_empty() {
            log.error(at, "no rig", EXPECTED);
        }
        let mut names: Vec<String> = Vec::new();
        for value in values {
            match value.as_str().map(str::trim) {
                Some(name) if !name.is_empty() && !names.iter().any(|n| n == name) => {
                    names.push(name.to_owned());
                }
                Some(name) if !name.is_empty() => {}
                _ => log.error(self.shift(value.span().unwrap_or(0..0)), "no name of a rig", EXPECTED),
            }
        }
        names
    }

    /// The corners of a flat area, in order round it; `kind` and the section's name say whose.
    fn corners(
        &self,
        kind: &str,
        at: &Range<usize>,
        dialect: &Dialect,
        log: &mut Log<'_>,
    ) -> Option<Vec<(Length, Length)>> {
        let of = format!("{kind} {}", self.name);
        if !self.table.contains_key("corners") {
            log.error(at.clone(), format!("{of} has no corners"), "`corners = [[\"...\", \"...\"], ...]`");
        }
        let (pairs, at) =
            self.value("corners", "a list of `[from_stem, height]` pairs", log, Item::as_array)?;
        let mut corners = Vec::new();
        for pair in pairs {
            let at = self.shift(pair.span().unwrap_or(0..0));
            let both = pair.as_array().filter(|pair| pair.len() == 2);
            let Some((x, z)) = both.and_then(|pair| Some((pair.get(0)?, pair.get(1)?))) else {
                log.error(at, "a corner that is no pair", "`[from_stem, height]`");
                continue;
            };
            let place = |v: &Value| self.shift(v.span().unwrap_or(0..0));
            let x = self.reading_of(x, place(x), dialect, log);
            let z = self.reading_of(z, place(z), dialect, log);
            corners.extend(x.zip(z).map(|((x, _), (z, _))| (x.length, z.length)));
        }
        if pairs.len() < 3 {
            log.error(at, format!("{of} has {}", counted(pairs.len(), "corner")), "three or more");
        } else if corners.len() == pairs.len() {
            let metres: Vec<[f64; 2]> = corners.iter().map(|(x, z)| [x.metres(), z.metres()]).collect();
            if let Some(flaw) = flaw(&metres) {
                log.error(at, format!("{of}: {flaw}"), "corners in order round it");
            }
        }
        Some(corners)
    }

    fn extra(&self, log: &mut Log<'_>) -> Vec<(String, Fact)> {
        let extra = self.section("extra", log);
        extra.map_or(Vec::new(), |(extra, _)| facts_of(extra.table))
    }
}

type EndTold = (Option<(Vec<EndSpot>, Range<usize>)>, bool);

/// Where a fact's own letters stand, so that it can be written anew: within its quotes.
fn within_quotes(at: Range<usize>, log: &Log<'_>) -> Range<usize> {
    let text = &log.text()[at.clone()];
    let is_quoted = text.len() > 1 && ['"', '\''].iter().any(|q| text.starts_with(*q) && text.ends_with(*q));
    if is_quoted { at.start + 1..at.end - 1 } else { at }
}

/// What is given of a diagonal: two of these.
struct Given {
    centreline: Option<Length>,
    /// How far it falls in a unit of breadth.
    fall: Option<f64>,
    /// Half-breadth and height of points.
    points: Vec<(Length, Length)>,
}

impl Given {
    /// Its height at the centreline, and a point off it.
    fn plane(&self) -> Option<(Length, (Length, Length))> {
        match (self.centreline, self.fall, self.points.as_slice()) {
            (Some(height), None, [point]) => Some((height, *point)),
            (Some(height), Some(fall), []) => {
                // A metre out is as good as any.
                let down = Length::from_metres(fall)?;
                Some((height, (Length::METRE, height.checked_sub(down)?)))
            }
            (None, Some(fall), [point]) => {
                let rise = Length::from_metres(point.0.metres() * fall)?;
                Some((point.1.checked_add(rise)?, *point))
            }
            (None, None, [(y0, z0), (y1, z1)]) if y0 != y1 => {
                let slope = (z1.metres() - z0.metres()) / (y1.metres() - y0.metres());
                let height = Length::from_metres(z0.metres() - slope * y0.metres())?;
                Some((height, (*y0, *z0)))
            }
            _ => None,
        }
    }
}

/// First and last year of `1885`, `c. 1885`, `1880-1890`, `1880-90`, `1880s`.
fn years(text: &str) -> Option<(i64, i64)> {
    let text = text.trim().to_lowercase();
    let about = ["circa", "about", "abt.", "abt", "ca.", "ca", "c.", "c"];
    let text = about.iter().find_map(|word| text.strip_prefix(word)).unwrap_or(&text).trim();
    let year = |text: &str| {
        let text = text.trim();
        (text.len() == 4 && text.bytes().all(|b| b.is_ascii_digit())).then(|| text.parse().ok()).flatten()
    };
    if let Some(year) = year(text) {
        return Some((year, year));
    }
    if let Some(decade) = text.strip_suffix("'s").or_else(|| text.strip_suffix('s')).and_then(year) {
        return (decade % 10 == 0).then_some((decade, decade + 9));
    }
    let (from, to) = text.split_once(['-', '–', '—', '/']).or_else(|| text.split_once(" to "))?;
    let (from, to) = (year(from)?, to.trim());
    let to: i64 = match to.len() {
        2 if to.bytes().all(|b| b.is_ascii_digit()) => from / 100 * 100 + to.parse::<i64>().ok()?,
        _ => year(to)?,
    };
    (from <= to).then_some((from, to))
}

/// Reads what must be a reading of something on a boat.
pub(crate) fn read_reading(
    text: &str,
    at: Range<usize>,
    dialect: &Dialect,
    log: &mut Log<'_>,
) -> Option<Reading> {
    match read_cell(text, at.clone(), dialect, log)? {
        Some(reading) => Some(reading),
        None => {
            log.error(at, "no reading", "a reading");
            None
        }
    }
}

/// Reads a cell: `None` if it is mistaken, `Some(None)` if it says there is no reading.
pub(crate) fn read_cell(
    text: &str,
    at: Range<usize>,
    dialect: &Dialect,
    log: &mut Log<'_>,
) -> Option<Option<Reading>> {
    match parse_cell(text, dialect) {
        Ok(cell) => Some(cell.map(Parsed::into_reading)),
        Err(e) => {
            // Inside a text with escapes only the whole can be pointed at.
            let inside = at.len() == text.len();
            let part = at.start + e.span.start.min(text.len())..at.start + e.span.end.min(text.len());
            log.error(if inside { part } else { at }, e.found, e.expected);
            None
        }
    }
}

fn counted(n: usize, what: &str) -> String {
    if n == 1 { format!("1 {what}") } else { format!("{n} {what}s") }
}

fn number(item: &Item) -> Option<f64> {
    item.as_float().or_else(|| item.as_integer().map(|n| n as f64))
}

fn kind_of(item: &Item) -> &'static str {
    match item.type_name() {
        "string" => "text",
        "integer" => "a whole number",
        "float" => "a number",
        "boolean" => "true or false",
        "array" | "array of tables" => "a list",
        "table" | "inline table" => "a table",
        _ => "a date",
    }
}

fn facts_of(table: &dyn TableLike) -> Vec<(String, Fact)> {
    table.iter().filter_map(|(key, item)| Some((key.to_owned(), fact_of(item)?))).collect()
}

fn fact_of(item: &Item) -> Option<Fact> {
    match item {
        Item::None => None,
        Item::Value(value) => Some(fact_of_value(value)),
        Item::Table(table) => Some(Fact::Table(facts_of(table))),
        Item::ArrayOfTables(list) => {
            Some(Fact::List(list.iter().map(|table| Fact::Table(facts_of(table))).collect()))
        }
    }
}

fn fact_of_value(value: &Value) -> Fact {
    match value {
        Value::String(text) => Fact::Text(text.value().clone()),
        Value::Integer(n) => Fact::Whole(*n.value()),
        Value::Float(n) => Fact::Number(*n.value()),
        Value::Boolean(b) => Fact::Truth(*b.value()),
        Value::Datetime(date) => Fact::Text(date.value().to_string()),
        Value::Array(list) => Fact::List(list.iter().map(fact_of_value).collect()),
        Value::InlineTable(table) => Fact::Table(facts_of(table)),
    }
}
