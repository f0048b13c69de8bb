//! Where a table's text came from: the cell of a printed page, the line of its mapping.
//!
//! A reader that makes a table of another file has it laid out as text and read like any file; what is then said of
//! the text is said of the page it came from.

use std::ops::Range;
use std::sync::Arc;

/// A cell as it stands on the page a table was read from.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Origin {
    /// Line of the page, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// What stands there.
    pub text: String,
}

/// The page a [`Draft`](crate::Draft) was made of.
#[derive(Clone, Debug, Default)]
pub struct Page {
    /// Its file.
    pub file: String,
    /// Its lines.
    pub lines: Vec<String>,
    /// Name and distance of each station.
    pub stations: Vec<[Option<Origin>; 2]>,
    /// Label and cells of each row.
    pub rows: Vec<(Option<Origin>, Vec<Option<Origin>>)>,
    /// Files that say how the page is read, and their text: the facts stand there.
    pub mappings: Vec<(String, String)>,
    /// What else was done with the page: lines taken for notes, columns left alone.
    pub notes: Vec<String>,
}

/// A place in another file than the text read.
pub(crate) struct Elsewhere {
    pub(crate) file: String,
    pub(crate) line: usize,
    pub(crate) column: usize,
    pub(crate) text: String,
    pub(crate) source_line: String,
}

/// Where stretches of a text came from.
#[derive(Clone, Debug)]
pub(crate) struct Origins {
    page: Arc<Page>,
    /// In the order of the text.
    stretches: Vec<(Range<usize>, Origin)>,
}

impl Origins {
    pub(crate) fn new(page: Page, stretches: Vec<(Range<usize>, Origin)>) -> Self {
        Origins { page: Arc::new(page), stretches }
    }

    pub(crate) fn page(&self) -> &Page {
        &self.page
    }

    /// Where a byte of the text came from; `line` is the line of text it stands in. What came from no cell is a fact,
    /// of the mapping's, or else it is of the page as a whole.
    pub(crate) fn find(&self, byte: usize, line: &str) -> Elsewhere {
        let after = self.stretches.partition_point(|(at, _)| at.start <= byte);
        let found = after.checked_sub(1).map(|i| &self.stretches[i]).filter(|(at, _)| byte <= at.end);
        match found {
            Some((_, Origin { line, column, text })) => Elsewhere {
                file: self.page.file.clone(),
                line: *line,
                column: *column,
                text: text.clone(),
                source_line: self.page.lines.get(line - 1).cloned().unwrap_or_default(),
            },
            None => self.of_a_fact(line).or_else(|| self.of_the_facts(byte)).unwrap_or_else(|| Elsewhere {
                file: self.page.file.clone(),
                line: 1,
                column: 1,
                text: String::new(),
                source_line: self.page.lines.first().cloned().unwrap_or_default(),
            }),
        }
    }

    /// What is wanting among the facts, or stands there under another key, is the mapping's as a whole.
    fn of_the_facts(&self, byte: usize) -> Option<Elsewhere> {
        let (file, text) = self.page.mappings.first()?;
        let before_rows = self.stretches.first().is_none_or(|(at, _)| byte < at.start);
        let source_line = text.lines().next().unwrap_or_default().to_owned();
        before_rows.then(|| Elsewhere {
            file: file.clone(),
            line: 1,
            column: 1,
            text: String::new(),
            source_line,
        })
    }

    fn of_a_fact(&self, line: &str) -> Option<Elsewhere> {
        let key = line.split('=').next().unwrap_or(line).trim();
        let key = key.trim_matches(['[', ']', '"', '\'']);
        if key.is_empty() || key.starts_with('+') {
            return None;
        }
        let found = |text: &str| {
            text.lines().enumerate().find_map(|(i, line)| {
                let own = line.trim_start().trim_start_matches(['[', '"', '\'']);
                let rest = own.strip_prefix(key)?.trim_start_matches(['"', '\'']).trim_start();
                (rest.starts_with(['=', ']']) || rest.is_empty()).then(|| (i + 1, line.to_owned()))
            })
        };
        self.page.mappings.iter().find_map(|(file, text)| {
            let (number, line) = found(text)?;
            let column = 1 + line.chars().take_while(|c| c.is_whitespace()).count();
            let file = file.clone();
            Some(Elsewhere { file, line: number, column, text: line.trim().to_owned(), source_line: line })
        })
    }

    /// The same once the text in `at` is `by` bytes long.
    pub(crate) fn shift(&mut self, at: &Range<usize>, by: usize) {
        for (stretch, _) in &mut self.stretches {
            if stretch.start >= at.end && stretch.start > at.start {
                stretch.start = stretch.start - at.len() + by;
                stretch.end = stretch.end - at.len() + by;
            } else if stretch.end >= at.end {
                stretch.end = stretch.end - at.len() + by;
            }
        }
    }
}
