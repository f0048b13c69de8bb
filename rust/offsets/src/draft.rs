//! A table built from scratch: facts and rows as text, laid out in columns and then read like any file.

use std::fmt::Write;
use std::ops::Range;

use toml_edit::{Array, DocumentMut, InlineTable, Item, Value};

use crate::facts::Fact;
use crate::mistake::Mistakes;
use crate::origin::{Origin, Origins, Page};
use crate::read::read_from;
use crate::{Block, Table};

/// What a table is built from.
///
/// Everything is text as it stands in a file, so that readings stay as they were written. `format` is
/// filled in, and `units` where it is left out (`feet-inches-eighths`). What a file has no way to write is
/// spelt otherwise: spaces in a station's name, `#` and `|` become `_`, a reading of several words one.
///
/// ```
/// use scrieve_offsets::{Block, Draft};
///
/// let mut draft = Draft::default();
/// draft.fact("name", "Turnstone");
/// draft.station("1", "1-0-0").station("2", "3-0-0");
/// draft.row(Block::Heights, "sheer", ["2-0-0", "1-10-4"]);
/// let table = draft.table("turnstone.offsets")?;
/// assert_eq!(table.stations[1].name, "2");
/// # Ok::<(), scrieve_offsets::Mistakes>(())
/// ```
#[derive(Clone, Debug, Default)]
pub struct Draft {
    /// Facts by their keys; tables for `backbone` and the like.
    pub facts: Vec<(String, Fact)>,
    /// Name and distance aft of each station, `-` for the transom.
    pub stations: Vec<(String, String)>,
    /// Block, label and cells of each row; of a point the station's name, its height and half-breadth.
    pub rows: Vec<(Block, String, Vec<String>)>,
    /// The page it was read from, if any; its rows are in the order of `rows`.
    pub page: Option<Page>,
}

impl Draft {
    /// Adds a fact.
    pub fn fact(&mut self, key: &str, value: impl Into<Fact>) -> &mut Self {
        self.facts.push((key.to_owned(), value.into()));
        self
    }

    /// Adds a station.
    pub fn station(&mut self, name: &str, from_stem: &str) -> &mut Self {
        self.stations.push((name.to_owned(), from_stem.to_owned()));
        self
    }

    /// Adds a row.
    pub fn row<'a>(
        &mut self,
        block: Block,
        label: &str,
        cells: impl IntoIterator<Item = &'a str>,
    ) -> &mut Self {
        let cells = cells.into_iter().map(str::to_owned).collect();
        self.rows.push((block, label.to_owned(), cells));
        self
    }

    /// The table; mistakes are located in its text as laid out, or on the page it was read from.
    pub fn table(&self, file_name: &str) -> Result<Table, Mistakes> {
        let (text, stretches) = self.laid_out();
        let origins = self.page.clone().map(|page| Origins::new(page, stretches));
        read_from(text.as_bytes(), file_name, origins)
    }

    /// The table's text as laid out.
    pub fn text(&self) -> String {
        self.laid_out().0
    }

    /// The text, and where in it the cells of a page came to stand.
    fn laid_out(&self) -> (String, Vec<(Range<usize>, Origin)>) {
        let none = Page::default();
        let page = self.page.as_ref().unwrap_or(&none);
        let mut stretches = Vec::new();
        let mut text = format!("+++\n{}+++\n\n", self.front_matter());
        let columns: [(String, Vec<String>); 2] = [
            ("station".to_owned(), self.stations.iter().map(|(n, _)| name(n)).collect()),
            ("from stem".to_owned(), self.stations.iter().map(|(_, x)| cell(x)).collect()),
        ];
        let rows_of = |block: Block| -> Vec<(String, Vec<String>)> {
            let rows = self.rows.iter().filter(move |(b, ..)| *b == block);
            let spelt = if block == Block::Points { name } else { line };
            rows.map(|(_, label, cells)| (spelt(label), cells.iter().map(|c| cell(c)).collect())).collect()
        };
        let origins_of = |block: Block| {
            let rows = self.rows.iter().zip(&page.rows).filter(move |((b, ..), _)| *b == block);
            rows.map(|(_, origins)| origins).collect::<Vec<_>>()
        };
        let blocks = Block::ALL.map(|block| (block, rows_of(block)));
        let in_columns = blocks.iter().filter(|(block, _)| *block != Block::Points);
        let grid: Grid<'_> = columns.iter().chain(in_columns.flat_map(|(_, rows)| rows)).collect();
        let label_width = grid.iter().map(|(label, _)| label.chars().count()).max().unwrap_or(0);
        let widths = widths(&grid);
        for (i, (label, cells)) in columns.iter().enumerate() {
            let origins = (None, page.stations.iter().map(|both| both[i].clone()).collect());
            write_row(&mut text, label, label_width, cells, &widths, Some(&origins), &mut stretches);
        }
        for (block, rows) in &blocks {
            if rows.is_empty() {
                continue;
            }
            let _ = write!(text, "\n[{block}]\n");
            if *block == Block::Points {
                let header = ("station".to_owned(), vec!["height".to_owned(), "half-breadth".to_owned()]);
                for (station, cells) in std::iter::once(&header).chain(rows) {
                    let _ = writeln!(text, "{station:8} | {}", cells.join(" | "));
                }
                continue;
            }
            let origins = origins_of(*block);
            for (i, (label, cells)) in rows.iter().enumerate() {
                let own = origins.get(i).copied();
                write_row(&mut text, label, label_width, cells, &widths, own, &mut stretches);
            }
        }
        (text, stretches)
    }

    fn front_matter(&self) -> String {
        let mut document = DocumentMut::new();
        let format = ("format".to_owned(), Fact::Whole(1));
        let given = |key: &str| self.facts.iter().any(|(k, _)| k == key);
        let units = ("units".to_owned(), Fact::from("feet-inches-eighths"));
        let fill = [format, units].into_iter().filter(|(key, _)| !given(key));
        for (key, fact) in fill.collect::<Vec<_>>().iter().chain(&self.facts) {
            document.insert(key, item(fact));
        }
        // Plain keys must stand before the tables; a table's keys would else swallow them.
        document.sort_values_by(|_, a, _, b| a.is_table().cmp(&b.is_table()));
        document.to_string()
    }
}

/// Labels and cells of rows that share their columns.
type Grid<'a> = Vec<&'a (String, Vec<String>)>;

fn widths(grid: &Grid<'_>) -> Vec<usize> {
    let columns = grid.iter().map(|(_, cells)| cells.len()).max().unwrap_or(0);
    let width = |i: usize| grid.iter().filter_map(|(_, cells)| Some(cells.get(i)?.chars().count())).max();
    (0..columns).map(|i| width(i).unwrap_or(0)).collect()
}

/// Label and cells of a row as they stand on the page.
type RowOrigins = (Option<Origin>, Vec<Option<Origin>>);

fn write_row(
    text: &mut String,
    label: &str,
    label_width: usize,
    cells: &[String],
    widths: &[usize],
    origins: Option<&RowOrigins>,
    stretches: &mut Vec<(Range<usize>, Origin)>,
) {
    let mut came_from = |at: Range<usize>, origin: Option<&Option<Origin>>| {
        stretches.extend(origin.and_then(Clone::clone).map(|origin| (at, origin)));
    };
    let mut row = format!("{label:label_width$}  |");
    came_from(text.len()..text.len() + label.len(), origins.map(|(label, _)| label));
    for (i, (cell, width)) in cells.iter().zip(widths).enumerate() {
        let at = text.len() + row.len() + 2;
        came_from(at..at + cell.len(), origins.and_then(|(_, cells)| cells.get(i)));
        let _ = write!(row, "  {cell:width$}");
    }
    let _ = writeln!(text, "{}", row.trim_end());
}

/// Text that must stay on one line, and not be taken for a comment.
fn line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ").replace(['#', '|'], "_")
}

/// A name that must stay one cell.
fn name(text: &str) -> String {
    line(text).replace(' ', "_")
}

/// A reading that must stay one cell: `3 4⁵` is joined by a dash, `40.6 in` closed up. An empty one says
/// that there is none.
fn cell(text: &str) -> String {
    let mut cell = String::new();
    for word in line(text).split(' ') {
        let joint =
            cell.ends_with(|c: char| c.is_ascii_digit()) && word.starts_with(|c: char| c.is_ascii_digit());
        cell.push_str(if joint { "-" } else { "" });
        cell.push_str(word);
    }
    if cell.is_empty() { "-".to_owned() } else { cell }
}

fn item(fact: &Fact) -> Item {
    match fact {
        Fact::Table(facts) => {
            let mut table = toml_edit::Table::new();
            let only_tables = facts.iter().all(|(_, fact)| matches!(fact, Fact::Table(_)));
            table.set_implicit(only_tables && !facts.is_empty());
            for (key, fact) in facts {
                table.insert(key, if only_tables { item(fact) } else { Item::Value(value(fact)) });
            }
            Item::Table(table)
        }
        _ => Item::Value(value(fact)),
    }
}

fn value(fact: &Fact) -> Value {
    match fact {
        Fact::Text(text) => text.as_str().into(),
        Fact::Whole(n) => (*n).into(),
        Fact::Number(n) => (*n).into(),
        Fact::Truth(b) => (*b).into(),
        Fact::List(list) => Value::Array(list.iter().map(value).collect::<Array>()),
        Fact::Table(facts) => {
            let mut table = InlineTable::new();
            for (key, fact) in facts {
                table.insert(key, value(fact));
            }
            Value::InlineTable(table)
        }
    }
}
