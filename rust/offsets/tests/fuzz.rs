//! Fuzzing on a stable compiler: what is in the corpus, changed at random; what is answered as nothing before was is
//! changed further. Every input is read or refused, soon, and what is read is written back to the letter.
//!
//! `SCRIEVE_FUZZ=1000000` runs so many of each; without it a few thousand, in seconds. What once broke goes into
//! `corpus`.

use std::collections::HashSet;
use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

use scrieve_notation::{Dialect, OnePart, Precision, TwoPart, Units, parse_cell};
use scrieve_offsets::read;

/// Executions of each target without being asked for more.
const USUAL: u64 = 6_000;
/// A table is read in well under a millisecond; a hundred times that is a hang in the making.
const SOON: Duration = Duration::from_millis(500);

/// What a mutation puts in.
const WORDS: [&str; 40] = [
    "-",
    "x",
    "!",
    "?",
    "+",
    "|",
    "||",
    "#",
    "[",
    "]",
    "[heights]",
    "[half-breadths]",
    "[diagonals]",
    "[points]",
    "[stem profile]",
    "[corrections]",
    "+++",
    "\n",
    "\r\n",
    "\t",
    "\0",
    "\u{feff}",
    "\u{200b}",
    "½",
    "⁵",
    "1/0",
    "1:0",
    "0-0-0",
    "-0-0-1",
    "0-12-0",
    "0-0-8",
    "99999999-0-0",
    "99999999999999999999",
    "1e308m",
    "0.0mm",
    "nan",
    "inf",
    "T",
    "\"",
    "= {",
];

/// Numbers at random: splitmix64 (Steele, Lea, Flood, "Fast splittable pseudorandom number generators", 2014).
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, n: usize) -> usize {
        (self.next() % n.max(1) as u64) as usize
    }
}

/// One to four changes: bytes, words, lines, and pieces of another input.
fn changed(chance: &mut Chance, corpus: &[Vec<u8>]) -> Vec<u8> {
    let mut data = corpus[chance.below(corpus.len())].clone();
    for _ in 0..=chance.below(4) {
        let at = chance.below(data.len() + 1);
        match chance.below(9) {
            0 if !data.is_empty() => {
                let at = at.min(data.len() - 1);
                data[at] ^= 1 << chance.below(8);
            }
            1 => {
                data.truncate(at);
            }
            2 | 3 => {
                let word = WORDS[chance.below(WORDS.len())].bytes();
                let to = (at + chance.below(6)).min(data.len());
                data.splice(at..to, word);
            }
            4 => {
                let to = (at + chance.below(40)).min(data.len());
                data.drain(at..to);
            }
            5 => {
                let to = (at + chance.below(200)).min(data.len());
                let piece = data[at..to].to_vec();
                let there = chance.below(data.len() + 1);
                data.splice(there..there, piece);
            }
            6 => {
                let other = &corpus[chance.below(corpus.len())];
                let from = chance.below(other.len() + 1);
                let to = (from + chance.below(120)).min(other.len());
                data.splice(at..at, other[from..to].iter().copied());
            }
            7 => {
                let mut lines: Vec<Vec<u8>> = data.split(|&b| b == b'\n').map(<[u8]>::to_vec).collect();
                let (i, j) = (chance.below(lines.len()), chance.below(lines.len()));
                lines.swap(i, j);
                data = lines.join(&b'\n');
            }
            _ => data.insert(at, chance.next() as u8),
        }
    }
    data
}

/// Runs a target over changed inputs. `target` gives what was answered, for the shape of it.
fn fuzz(name: &str, corpus: Vec<Vec<u8>>, target: impl Fn(&[u8]) -> String) {
    let count = std::env::var("SCRIEVE_FUZZ").ok().and_then(|n| n.parse().ok()).unwrap_or(USUAL);
    let mut chance = Chance(11);
    let mut corpus = corpus;
    let mut answers = HashSet::new();
    for data in &corpus {
        answers.insert(target(data));
    }
    let known = corpus.len();
    for _ in 0..count {
        let data = changed(&mut chance, &corpus);
        let start = Instant::now();
        let answer = target(&data);
        let took = start.elapsed();
        assert!(took < SOON, "{name}: {took:?} for {:?}", String::from_utf8_lossy(&data));
        // Digits and quoted words are the input's own: the shape is what is told about them.
        let shape: String = answer.chars().filter(|c| c.is_ascii_alphabetic() || *c == ' ').collect();
        if answers.insert(shape) && corpus.len() < 2_000 && data.len() < 20_000 {
            corpus.push(data);
        }
    }
    println!("{name}: {count} executions, {} inputs answered as none before", corpus.len() - known);
    assert!(corpus.len() > known, "{name}: the changes change nothing");
}

fn folder(name: &str) -> Vec<Vec<u8>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/corpus").join(name);
    let mut paths: Vec<_> = fs::read_dir(folder).expect("a corpus").flatten().map(|e| e.path()).collect();
    paths.sort();
    paths.iter().map(|path| fs::read(path).expect("an input")).collect()
}

#[test]
fn a_table_of_any_bytes_is_read_or_refused() {
    fuzz("offsets", folder("offsets"), |data| match read(data, "fuzz.offsets") {
        Ok(table) => {
            let text = table.to_text().to_owned();
            let given = String::from_utf8_lossy(data);
            assert_eq!(text, given.trim_start_matches('\u{feff}'), "read and not given back to the letter");
            let again = read(text.as_bytes(), "fuzz.offsets").expect("what was read is read again");
            assert!(again == table);
            let survey = match table.survey() {
                Ok((_, remarks)) => remarks.into_iter().map(|remark| remark.text).collect(),
                Err(mistakes) => mistakes.to_string(),
            };
            let warnings: String = table.warnings().iter().map(|warning| warning.problem.clone()).collect();
            format!("read {warnings} {survey}")
        }
        Err(mistakes) => {
            let lines = data.split(|&b| b == b'\n').count();
            for mistake in mistakes.iter() {
                assert!(mistake.line <= lines.max(1), "a mistake past the end: {mistake}");
            }
            mistakes.iter().map(|mistake| mistake.problem.as_str()).collect()
        }
    });
}

#[test]
fn a_reading_of_any_characters_is_read_or_refused() {
    let corpus = folder("readings")
        .iter()
        .flat_map(|file| file.split(|&b| b == b'\n').map(<[u8]>::to_vec).collect::<Vec<_>>())
        .collect();
    let units = [Units::FeetInchesEighths, Units::Millimetres, Units::Metres, Units::Inches];
    fuzz("readings", corpus, |data| {
        let text = String::from_utf8_lossy(data);
        let mut answer = String::new();
        for units in units {
            for two_part in [None, Some(TwoPart::FeetInches), Some(TwoPart::InchesEighths)] {
                // The printed hands by turns, so that each meets every unit and two-part rule.
                let one_part =
                    if units == Units::FeetInchesEighths { two_part.map(|_| OnePart::Inches) } else { None };
                let dashed = two_part == Some(TwoPart::InchesEighths);
                let comma = two_part == Some(TwoPart::FeetInches);
                let dialect = Dialect { units, two_part, one_part, dashed, comma, ..Dialect::default() };
                match parse_cell(&text, &dialect) {
                    Ok(Some(parsed)) => {
                        // What is written of a length is read again as that length.
                        let written = dialect.write(parsed.length, Precision::Exact);
                        let again = parse_cell(&written, &dialect).ok().flatten();
                        assert_eq!(again.map(|r| r.length), Some(parsed.length), "{text:?} as {written:?}");
                        answer.push_str("read ");
                    }
                    Ok(None) => answer.push_str("none "),
                    Err(error) => answer.push_str(&error.to_string()),
                }
            }
        }
        answer
    });
}
