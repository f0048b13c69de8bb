//! The table as a person wrote it.

use std::fmt;
use std::ops::{Deref, Range};

use scrieve_notation::{Length, Reading};

use crate::label::parse_label;
use crate::origin::{Origins, Page};
use crate::{CellId, Facts, LineKind, Mistake, Written};

/// A table of offsets, and the text it is written in.
///
/// Its [`Contents`] are read as its own fields: `table.stations`, `table.rows`, `table.facts`. Two tables
/// are equal if their contents are; comments and layout do not count. The default is a table that says
/// nothing, which no file can be.
#[derive(Clone, Default)]
pub struct Table {
    pub(crate) file: String,
    pub(crate) text: String,
    pub(crate) contents: Contents,
    pub(crate) layout: Layout,
    pub(crate) warnings: Vec<Mistake>,
    /// Where the text came from, if a reader made it of another file.
    pub(crate) origins: Option<Origins>,
}

impl Table {
    /// The file as it was read, byte for byte, but for what edits have changed.
    pub fn to_text(&self) -> &str {
        &self.text
    }

    /// The name of the file it was read from, as given.
    pub fn file_name(&self) -> &str {
        &self.file
    }

    /// The page it was read from, where that is another file than a table's own.
    pub fn page(&self) -> Option<&Page> {
        self.origins.as_ref().map(Origins::page)
    }

    /// What the reader would ask of the person who wrote the file.
    pub fn warnings(&self) -> &[Mistake] {
        &self.warnings
    }

    /// A row by its label, and its index. A label that stands in two blocks takes its block before it or
    /// what it measures after it: `heights sheer`, `sheer height`. A waterline or buttock is found by its
    /// distance, however written.
    pub fn row(&self, label: &str) -> Option<(usize, &Row)> {
        match self.rows_called(label).as_slice() {
            &[row] => Some((row, &self.rows[row])),
            _ => None,
        }
    }

    /// A station by its name, and its index.
    pub fn station(&self, name: &str) -> Option<(usize, &Station)> {
        self.stations.iter().enumerate().find(|(_, s)| s.name == name.trim())
    }

    /// The reading in a cell, if there is one.
    pub fn cell(&self, cell: CellId) -> Option<&Reading> {
        let profile = match cell.block {
            Block::StemProfile => self.stem.as_ref(),
            Block::SternProfile => self.stern.as_ref(),
            Block::Stations => return self.stations.get(cell.column)?.from_stem.as_ref(),
            Block::Transom => return self.layout.transom.get(2 * cell.row + cell.column).map(|fact| &fact.0),
            Block::Points => {
                let point = self.points.get(cell.row)?;
                return [&point.height, &point.half_breadth].get(cell.column).copied();
            }
            _ => {
                let row = self.rows.get(cell.row).filter(|row| row.block == cell.block)?;
                return row.cells.get(cell.column)?.as_ref();
            }
        }?;
        [&profile.from_stem, &profile.height].get(cell.row)?.get(cell.column)?.as_ref()
    }

    /// The station and the row a cell stands in, as they are named in reports and given to
    /// [`find`](Self::find).
    pub fn describe(&self, cell: CellId) -> (String, String) {
        let spot = (cell.column + 1).to_string();
        let profile = if cell.row == 0 { "from stem" } else { "height" };
        match cell.block {
            Block::StemProfile | Block::SternProfile => (spot, format!("{} {profile}", cell.block)),
            Block::Transom => {
                let transom = self.stations.iter().find(|s| s.from_stem.is_none());
                let name = transom.map_or(String::new(), |s| s.name.clone());
                let spot = if cell.row == 0 { "foot" } else { "head" };
                let axis = if cell.column == 0 { "from stem" } else { "height" };
                (name, format!("transom {spot} {axis}"))
            }
            Block::Stations => {
                let name = self.stations.get(cell.column).map_or(String::new(), |s| s.name.clone());
                (name, "from stem".to_owned())
            }
            Block::Points => {
                let station = self.points.get(cell.row).map_or(String::new(), |p| p.station.clone());
                let axis = if cell.column == 0 { "height" } else { "half-breadth" };
                (station, format!("point {} {axis}", cell.row + 1))
            }
            _ => {
                let station = self.stations.get(cell.column).map_or(String::new(), |s| s.name.clone());
                (station, self.row_name(cell.row))
            }
        }
    }

    /// Line and column of the file where a cell stands, counted from 1; `None` where it stands in none.
    pub fn line_column(&self, cell: CellId) -> Option<(usize, usize)> {
        self.line_column_of(Written::Cell(cell))
    }

    /// The same of any piece of it; of the page a table was read from, where it came from one.
    pub fn place(&self, at: Written) -> Option<(String, usize, usize)> {
        let start = self.layout.of(at)?.start;
        let (line, column) = self.line_column_of(at)?;
        let text = self.text.lines().nth(line - 1).unwrap_or_default();
        Some(match &self.origins {
            Some(origins) => {
                let of_page = origins.find(start, text);
                (of_page.file, of_page.line, of_page.column)
            }
            None => (self.file.clone(), line, column),
        })
    }

    fn line_column_of(&self, at: Written) -> Option<(usize, usize)> {
        let before = self.text.get(..self.layout.of(at)?.start)?;
        let line = before.matches('\n').count() + 1;
        let start = before.rfind('\n').map_or(0, |at| at + 1);
        Some((line, before[start..].chars().count() + 1))
    }

    /// The cell that [`describe`](Self::describe) names so; `row` may be any label [`row`](Self::row)
    /// takes. The cell need not hold a reading.
    pub fn find(&self, station: &str, row: &str) -> Option<CellId> {
        if let (Some((column, _)), Some((i, found))) = (self.station(station), self.row(row)) {
            return Some(CellId { block: found.block, row: i, column });
        }
        let row = row.split_whitespace().collect::<Vec<_>>().join(" ");
        self.cells_apart()
            .chain(self.cells_of_facts())
            .find(|&cell| self.describe(cell) == (station.trim().to_owned(), row.clone()))
    }

    /// Every cell of the table: rows, profiles and points.
    pub fn cells(&self) -> impl Iterator<Item = CellId> + '_ {
        let rows = self.rows.iter().enumerate().flat_map(|(row, r)| {
            (0..r.cells.len()).map(move |column| CellId { block: r.block, row, column })
        });
        rows.chain(self.cells_apart())
    }

    /// The cells of profiles and points, which have no column among the stations.
    fn cells_apart(&self) -> impl Iterator<Item = CellId> + '_ {
        let profiles = [(Block::StemProfile, &self.stem), (Block::SternProfile, &self.stern)];
        let profiles = profiles.into_iter().flat_map(|(block, profile)| {
            let spots = profile.as_ref().map_or(0, |p| p.height.len());
            (0..2).flat_map(move |row| (0..spots).map(move |column| CellId { block, row, column }))
        });
        let points = (0..self.points.len())
            .flat_map(|row| (0..2).map(move |column| CellId { block: Block::Points, row, column }));
        profiles.chain(points)
    }

    /// Distances of stations and the spots of the transom, which are facts and have cells all the same.
    fn cells_of_facts(&self) -> impl Iterator<Item = CellId> + '_ {
        let placed = self.stations.iter().enumerate().filter(|(_, s)| s.from_stem.is_some());
        let stations = placed.map(|(column, _)| CellId { block: Block::Stations, row: 0, column });
        let transom = (0..self.layout.transom.len()).map(|i| CellId {
            block: Block::Transom,
            row: i / 2,
            column: i % 2,
        });
        stations.chain(transom)
    }
}

impl Deref for Table {
    type Target = Contents;
    fn deref(&self) -> &Contents {
        &self.contents
    }
}

impl PartialEq for Table {
    fn eq(&self, other: &Self) -> bool {
        self.contents == other.contents
    }
}

impl fmt::Debug for Table {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Table").field("file", &self.file).field("contents", &self.contents).finish()
    }
}

/// What a table says.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Contents {
    /// The facts.
    pub facts: Facts,
    /// The columns.
    pub stations: Vec<Station>,
    /// The rows, in file order.
    pub rows: Vec<Row>,
    /// Diagonals the rows refer to, by name.
    pub diagonals: Vec<Diagonal>,
    /// The transom.
    pub transom: Option<Transom>,
    /// The stem in profile, in file order.
    pub stem: Option<Profile>,
    /// The sternpost in profile, in file order: a double-ender's, or that below the transom's foot.
    pub stern: Option<Profile>,
    /// Spots taken anywhere.
    pub points: Vec<Point>,
    /// The lines of `[corrections]`, which are never read as data.
    pub corrections: Vec<String>,
    /// Empty cells whose meaning the file says. One on the base line, and one whose other co-ordinate puts it on the
    /// rabbet, has a reading all the same.
    pub blanks: Vec<(CellId, Blank)>,
}

impl Contents {
    /// Ends of the boat that nothing tells of, a sentence each: she is made as far as her stations reach.
    pub fn open_ends(&self) -> Vec<String> {
        let (Some(first), Some(last)) = (self.stations.first(), self.stations.last()) else {
            return Vec::new();
        };
        let mut open = Vec::new();
        if self.stem.is_none() {
            open.push(format!(
                "no stem is given: she begins at her first station, {}; if she does not, `[stem]` with one spot or \
                 two tells where it stands",
                first.name
            ));
        }
        if self.stern.is_none() && self.transom.is_none() {
            open.push(format!(
                "no sternpost or transom is given: she ends at her last station, {}; if she does not, \
                 `[sternpost]` with one spot or two, or `[transom]`, tells where it stands",
                last.name
            ));
        }
        open
    }

    /// The rows a label may mean.
    pub(crate) fn rows_called(&self, label: &str) -> Vec<usize> {
        let wanted = label.split_whitespace().collect::<Vec<_>>().join(" ");
        let named = |row: &usize| self.row_name(*row) == wanted;
        if let Some(row) = (0..self.rows.len()).find(named) {
            return vec![row];
        }
        let (dialect, lifts) = (&self.facts.dialect, &self.facts.lifts);
        let meant = |row: &Row| {
            let in_block = wanted.strip_prefix(row.block.heading()).map(str::trim_start);
            let labels = std::iter::once(wanted.as_str()).chain(in_block);
            labels
                .into_iter()
                .any(|l| parse_label(row.block, l, dialect, lifts).is_ok_and(|line| line == row.line))
        };
        (0..self.rows.len()).filter(|&row| meant(&self.rows[row])).collect()
    }

    /// A row's label, with `height`, `half-breadth` or `diagonal` where the label alone is not enough.
    pub fn row_name(&self, row: usize) -> String {
        let Some(row) = self.rows.get(row) else { return String::new() };
        let label = row.label.split_whitespace().collect::<Vec<_>>().join(" ");
        match (&row.line, row.block) {
            (LineKind::Diagonal(name), _) => format!("diagonal {name}"),
            (LineKind::Waterline(_) | LineKind::Buttock(_), _) => label,
            (_, Block::Heights) => format!("{label} height"),
            _ => format!("{label} half-breadth"),
        }
    }
}

/// What an empty cell means, where the file says it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Blank {
    /// On the base line: a height of nothing.
    BaseLine,
    /// At the rabbet, where the line ends.
    Rabbet,
    /// On the stem or sternpost, where the line ends.
    Stem,
    /// Not taken.
    NotTaken,
    /// At a height that the file tells once, for a line that runs straight and level.
    At(Length),
}

impl Blank {
    /// Those that a word alone says.
    pub const ALL: [Blank; 4] = [Blank::BaseLine, Blank::Rabbet, Blank::Stem, Blank::NotTaken];

    /// As a file says it; with a height of its own, as reports do.
    pub const fn word(self) -> &'static str {
        match self {
            Blank::BaseLine => "on the base line",
            Blank::Rabbet => "at the rabbet",
            Blank::Stem => "on the stem",
            Blank::NotTaken => "not taken",
            Blank::At(_) => "at the height told",
        }
    }
}

/// Which block of the file a row stands in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Block {
    /// `[heights]`: above the base line.
    Heights,
    /// `[half-breadths]`: out from the centreline.
    HalfBreadths,
    /// `[diagonals]`: out along the diagonal from its point on the centreline.
    Diagonals,
    /// `[stem profile]`.
    StemProfile,
    /// `[stern profile]`.
    SternProfile,
    /// `[points]`.
    Points,
    /// The row `from stem`: how far aft stations stand. No heading of a file.
    Stations,
    /// Facts of `[transom]`. No heading of a block of readings.
    Transom,
}

impl Block {
    /// Those a file may have, in the order they are written in.
    pub const ALL: [Block; 6] = [
        Block::Heights,
        Block::HalfBreadths,
        Block::Diagonals,
        Block::StemProfile,
        Block::SternProfile,
        Block::Points,
    ];

    /// Its heading, without the brackets.
    pub const fn heading(self) -> &'static str {
        match self {
            Block::Heights => "heights",
            Block::HalfBreadths => "half-breadths",
            Block::Diagonals => "diagonals",
            Block::StemProfile => "stem profile",
            Block::SternProfile => "stern profile",
            Block::Points => "points",
            Block::Stations => "from stem",
            Block::Transom => "transom",
        }
    }
}

impl fmt::Display for Block {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.heading())
    }
}

/// A column of the table.
#[derive(Clone, Debug, PartialEq)]
pub struct Station {
    /// Its name.
    pub name: String,
    /// Distance aft of the forward end; `None` for the transom.
    pub from_stem: Option<Reading>,
}

/// A row of the table: one cell a station.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The block it stands in.
    pub block: Block,
    /// What it measures.
    pub line: LineKind,
    /// Its label as written.
    pub label: String,
    /// A reading for each station, where there is one.
    pub cells: Vec<Option<Reading>>,
}

/// A diagonal: a plane along the boat through a point on the centreline and one off it.
#[derive(Clone, Debug, PartialEq)]
pub struct Diagonal {
    /// Its name.
    pub name: String,
    /// Height where it meets the centreline.
    pub centreline_height: Length,
    /// Half-breadth of a point on it.
    pub through_half_breadth: Length,
    /// Height of that point.
    pub through_height: Length,
}

/// The transom: two spots of its centreline in profile, and its curve.
#[derive(Clone, Debug, PartialEq)]
pub struct Transom {
    /// Foot: distance from the stem and height.
    pub foot: (Length, Length),
    /// Head: the same.
    pub head: (Length, Length),
    /// Radius it is bent to about its centreline's direction; zero is flat.
    pub curve_radius: Length,
}

/// A line in the centreline plane: the rabbet of the stem, or of a sternpost.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Profile {
    /// Distances aft of the forward end.
    pub from_stem: Vec<Option<Reading>>,
    /// Heights above the base line; as many.
    pub height: Vec<Option<Reading>>,
}

/// A spot measured anywhere.
#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    /// The station's name.
    pub station: String,
    /// Height above the base line.
    pub height: Reading,
    /// Half-breadth.
    pub half_breadth: Reading,
}

/// Where in the text everything stands, so that edits touch nothing else.
#[derive(Clone, Debug, Default)]
pub(crate) struct Layout {
    /// The opening fence.
    pub(crate) fence: Range<usize>,
    /// Station names and distances.
    pub(crate) stations: Vec<(Range<usize>, Range<usize>)>,
    /// Label and cells of each row.
    pub(crate) rows: Vec<(Range<usize>, Vec<Range<usize>>)>,
    /// `from stem` and `height` of the profiles.
    pub(crate) stem: [Vec<Range<usize>>; 2],
    pub(crate) stern: [Vec<Range<usize>>; 2],
    /// Height and half-breadth of the points.
    pub(crate) points: Vec<[Range<usize>; 2]>,
    /// Station names of the points.
    pub(crate) point_stations: Vec<Range<usize>>,
    /// Foot from stem, its height, head from stem, its height.
    pub(crate) transom: Vec<(Reading, Range<usize>)>,
    /// The height on the centreline of each diagonal, where it is told by that.
    pub(crate) diagonals: Vec<Option<Range<usize>>>,
    /// Where the next line of `[corrections]` belongs; `None` if there is no such block.
    pub(crate) corrections_end: Option<usize>,
}

/// Where a spot stands that follows from others and is written nowhere.
pub(crate) const NOWHERE: Range<usize> = usize::MAX..usize::MAX;

impl Layout {
    /// Where a piece stands, if it is written.
    pub(crate) fn of(&self, at: Written) -> Option<Range<usize>> {
        match at {
            Written::Cell(cell) => self.cell(cell),
            Written::Diagonal(i) => self.diagonals.get(i)?.clone(),
            Written::Label(row) => self.rows.get(row).map(|row| row.0.clone()).filter(|at| *at != NOWHERE),
        }
    }

    /// Where a cell stands, if it is written.
    pub(crate) fn cell(&self, cell: CellId) -> Option<Range<usize>> {
        match cell.block {
            Block::StemProfile => self.stem.get(cell.row)?.get(cell.column).cloned(),
            Block::SternProfile => self.stern.get(cell.row)?.get(cell.column).cloned(),
            Block::Points => self.points.get(cell.row)?.get(cell.column).cloned(),
            Block::Stations => self.stations.get(cell.column).map(|s| s.1.clone()),
            Block::Transom => self.transom.get(2 * cell.row + cell.column).map(|fact| fact.1.clone()),
            _ => self.rows.get(cell.row)?.1.get(cell.column).cloned(),
        }
        .filter(|at| *at != NOWHERE)
    }
}
