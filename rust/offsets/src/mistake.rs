//! What is wrong with a file: where, what stands there, and what was expected.
//!
//! Mistakes are gathered and given together, so that a file is put right in one go. They are data; the
//! text, with its line and caret underline, is made last.

use std::fmt;
use std::ops::Range;

use crate::origin::{Elsewhere, Origins};

/// Mistakes given of one file; there the reader stops. More than a person puts right at a sitting; a file
/// of garbage would otherwise make one for every line.
const KEPT: usize = 100;
/// Characters of a source line that are shown round a mistake; lines typed by hand are shorter.
const SHOWN: usize = 120;

/// Whether a file can be used in spite of a mistake.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Severity {
    /// It can, but ask the person who wrote it.
    Warning,
    /// It cannot.
    Error,
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Severity::Warning => "warning",
            Severity::Error => "error",
        })
    }
}

/// One thing wrong with a file.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{}", self.render())]
pub struct Mistake {
    /// Error or warning.
    pub severity: Severity,
    /// The file's name as given.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// The line it stands in; of a very long line the part round the mistake.
    pub source_line: String,
    /// The offending text: what is underlined.
    pub text: String,
    /// What is wrong.
    pub problem: String,
    /// What was expected instead.
    pub expected: String,
    /// Characters of `source_line` that are underlined.
    underline: Range<usize>,
}

impl Mistake {
    /// A mistake that is not in the text itself but in the bytes of the file.
    pub(crate) fn of_bytes(
        file: &str,
        (line, column): (usize, usize),
        text: &str,
        problem: impl Into<String>,
        expected: impl Into<String>,
    ) -> Self {
        Mistake {
            severity: Severity::Error,
            file: file.to_owned(),
            line,
            column,
            source_line: text.to_owned(),
            text: text.to_owned(),
            problem: problem.into(),
            expected: expected.into(),
            underline: 0..text.chars().count(),
        }
    }

    /// A mistake that stands in a line of another file, at a column from 1.
    pub(crate) fn elsewhere(
        severity: Severity,
        file: String,
        (line, column): (usize, usize),
        source: &str,
        text: String,
        problem: String,
        expected: String,
    ) -> Self {
        let before = column - 1;
        let long = text.chars().count().min(SHOWN);
        let first = if before + long > SHOWN { before.saturating_sub(SHOWN / 4) } else { 0 };
        let shown = source.chars().skip(first).take(SHOWN.max(long));
        let source_line: String = shown.map(|c| if c.is_control() { ' ' } else { c }).collect();
        let source_line = source_line.trim_end().to_owned();
        let underline = before - first..before - first + long;
        Mistake { severity, file, line, column, source_line, text, problem, expected, underline }
    }

    fn render(&self) -> String {
        let Mistake { severity, file, line, column, problem, expected, .. } = self;
        let number = line.to_string();
        let gutter = " ".repeat(number.len());
        let before = " ".repeat(self.underline.start);
        let carets = "^".repeat(self.underline.len().max(1));
        format!(
            "{file}:{line}:{column}: {severity}: {problem}\n {number} | {}\n {gutter} | {before}{carets} \
             expected {expected}",
            self.source_line
        )
    }
}

/// All that is wrong with a file; at least one of them an error.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mistakes {
    list: Vec<Mistake>,
    more: bool,
}

impl Mistakes {
    /// The mistakes in file order; a hundred at most.
    pub fn iter(&self) -> std::slice::Iter<'_, Mistake> {
        self.list.iter()
    }

    /// Whether the reader stopped at a hundred, so that there may be more.
    pub fn more(&self) -> bool {
        self.more
    }
}

impl From<Mistake> for Mistakes {
    fn from(mistake: Mistake) -> Self {
        Mistakes { list: vec![mistake], more: false }
    }
}

impl<'a> IntoIterator for &'a Mistakes {
    type Item = &'a Mistake;
    type IntoIter = std::slice::Iter<'a, Mistake>;
    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

impl fmt::Display for Mistakes {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, mistake) in self.list.iter().enumerate() {
            if i > 0 {
                f.write_str("\n")?;
            }
            write!(f, "{mistake}")?;
        }
        if self.more {
            f.write_str("\nand perhaps more: the reader stopped here")?;
        }
        Ok(())
    }
}

impl std::error::Error for Mistakes {}

/// Gathers the mistakes of one text.
pub(crate) struct Log<'a> {
    file: &'a str,
    origins: Option<&'a Origins>,
    text: &'a str,
    line_starts: Vec<usize>,
    found: Vec<Mistake>,
    errors: usize,
}

impl<'a> Log<'a> {
    pub(crate) fn new(file: &'a str, text: &'a str) -> Self {
        let line_starts =
            std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect::<Vec<_>>();
        Log { file, origins: None, text, line_starts, found: Vec::new(), errors: 0 }
    }

    /// Of a text that came from elsewhere: what is said of it is said of where that was.
    pub(crate) fn of(mut self, origins: Option<&'a Origins>) -> Self {
        self.origins = origins;
        self
    }

    pub(crate) fn text(&self) -> &'a str {
        self.text
    }

    /// Line, from 1, of a byte of the text.
    pub(crate) fn line(&self, byte: usize) -> usize {
        self.line_starts.partition_point(|&start| start <= byte).max(1)
    }

    pub(crate) fn error(
        &mut self,
        span: Range<usize>,
        problem: impl Into<String>,
        expected: impl Into<String>,
    ) {
        self.errors += 1;
        self.add(Severity::Error, span, problem.into(), expected.into());
    }

    pub(crate) fn warn(
        &mut self,
        span: Range<usize>,
        problem: impl Into<String>,
        expected: impl Into<String>,
    ) {
        self.add(Severity::Warning, span, problem.into(), expected.into());
    }

    pub(crate) fn has_errors(&self) -> bool {
        self.errors > 0
    }

    /// Whether there are so many errors that no more are wanted.
    pub(crate) fn is_full(&self) -> bool {
        self.errors >= KEPT
    }

    /// The warnings if there is no error, else everything.
    pub(crate) fn finish(mut self) -> Result<Vec<Mistake>, Mistakes> {
        self.found.sort_by_key(|m| (m.line, m.column));
        if self.errors == 0 {
            Ok(self.found)
        } else {
            let more = self.is_full();
            Err(Mistakes { list: self.found, more })
        }
    }

    fn add(&mut self, severity: Severity, span: Range<usize>, problem: String, expected: String) {
        if self.found.len() >= KEPT {
            // A warning gives way, so that the errors that stop the work are seen.
            let Some(spare) = self.found.iter().rposition(|m| m.severity < severity) else { return };
            self.found.remove(spare);
        }
        let line = self.line(span.start);
        let start = self.line_starts[line - 1];
        // A byte-order mark is no character of the line.
        let start =
            start + if self.text[start..].starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 };
        let end = self.line_starts.get(line).map_or(self.text.len(), |&next| next - 1);
        let source = self.text[start..end.max(start)].trim_end_matches('\r');
        let from = self.boundary(span.start.clamp(start, start + source.len())) - start;
        let to = self.boundary(span.end.clamp(start + from, start + source.len())) - start;

        if let Some(origins) = self.origins {
            let Elsewhere { file, line, column, text, source_line } = origins.find(start + from, source);
            self.found.push(Mistake::elsewhere(
                severity,
                file,
                (line, column),
                &source_line,
                text,
                problem,
                expected,
            ));
            return;
        }
        let column = source[..from].chars().count();
        let text = source[from..to].chars().take(SHOWN).collect::<String>();
        let long = text.chars().count();
        let first = if column + long > SHOWN { column.saturating_sub(SHOWN / 4) } else { 0 };
        // Tabs would throw the carets out; control characters would reach the reader's terminal.
        let shown = source.chars().skip(first).take(SHOWN.max(long));
        let source_line = shown.map(|c| if c.is_control() { ' ' } else { c }).collect::<String>();
        self.found.push(Mistake {
            severity,
            file: self.file.to_owned(),
            line,
            column: column + 1,
            source_line: source_line.trim_end().to_owned(),
            text,
            problem,
            expected,
            underline: column - first..column - first + long,
        });
    }

    fn boundary(&self, at: usize) -> usize {
        (0..=at).rev().find(|&i| self.text.is_char_boundary(i)).unwrap_or(0)
    }
}
