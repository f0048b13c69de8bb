//! A table in metres at full size: what fairing sees.
//!
//! x aft from the forward end, y out from the centreline, z up from the base line; scale and shrinkage
//! are applied. Every number keeps the cell it came from, so that whatever is said of it can name it.

use std::collections::HashMap;
use std::fmt;

use scrieve_notation::{Length, Mark, Reading};

use crate::grid::Worths;
use crate::mistake::{Log, Mistakes};
use crate::{Block, CellId, Facts, LineKind, Profile, Row, Table, Transom};

/// How much less a doubtful reading is worth: its standard deviation times this. At 4 it counts for a
/// sixteenth of a sound one, so that neighbours decide and it still does where there are none.
const DOUBTFUL: f64 = 4.0;
/// What a held reading is worth, m. Far below what is read to, so that fairing does not move it; not so far
/// that the fit's equations lose their precision.
const HELD: f64 = 1e-5;

/// A line the sections begin, break or end at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum RefLine {
    /// The rabbet: the lower edge of the planking.
    Rabbet,
    /// A chine, counted from the keel up.
    Chine(usize),
    /// The sheer.
    Sheer,
}

/// Which co-ordinate a reading gives.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Axis {
    /// y.
    HalfBreadth,
    /// z.
    Height,
}

/// A height or half-breadth of a rabbet, chine or sheer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LineReading {
    /// The line.
    pub line: RefLine,
    /// Which co-ordinate.
    pub axis: Axis,
    /// Station plane, m; for the transom column the x of its plane at this reading's height (at the
    /// line's height where the reading is a half-breadth).
    pub x: f64,
    /// The co-ordinate, m.
    pub value: f64,
    /// What it is worth: one standard deviation, m.
    pub sd: f64,
    /// How far it may be off before it counts as moved past tolerance, m.
    pub tolerance: f64,
    /// Its mark.
    pub mark: Mark,
    /// Taken on the transom.
    pub on_transom: bool,
    /// Its cell.
    pub cell: CellId,
}

/// A spot of the hull between rabbet and sheer: one co-ordinate measured, the others known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// Station plane (or transom plane at this spot), m.
    pub x: f64,
    /// Half-breadth, m.
    pub y: f64,
    /// Height, m.
    pub z: f64,
    /// Unit direction (y, z) the reading was measured along: (1, 0) a half-breadth, (0, 1) a height, else a
    /// diagonal's; a point given by both is (0, 0): both co-ordinates carry `sd`.
    pub along: (f64, f64),
    /// What it is worth: one standard deviation along `along`, m.
    pub sd: f64,
    /// How far it may be off before it counts as moved past tolerance, m.
    pub tolerance: f64,
    /// Its mark.
    pub mark: Mark,
    /// Taken on the transom.
    pub on_transom: bool,
    /// Its cell.
    pub cell: CellId,
}

/// A spot of the stem's or sternpost's rabbet in profile.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ProfileSpot {
    /// Distance aft of the forward end, m.
    pub x: f64,
    /// Height, m.
    pub z: f64,
    /// What each co-ordinate is worth: one standard deviation, m.
    pub sd: f64,
    /// How far it may be off before it counts as moved past tolerance, m.
    pub tolerance: f64,
    /// Its mark.
    pub mark: Mark,
    /// Its cell (that of the `height`).
    pub cell: CellId,
}

/// The outer face of the transom: a plane athwartships, raked, or a cylinder about its direction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TransomPlane {
    /// Foot on the centreline: x and z, m.
    pub foot: (f64, f64),
    /// Head on the centreline: x and z, m.
    pub head: (f64, f64),
    /// Radius of the curve, m; `None` is flat. The centre stands aftmost.
    pub curve_radius: Option<f64>,
}

impl TransomPlane {
    /// x of the transom's face at (y, z), m. A curved face bends forward from its centre, square to its
    /// centreline; `y` beyond the radius is taken at the radius.
    pub fn x(&self, y: f64, z: f64) -> f64 {
        let (dx, dz) = (self.head.0 - self.foot.0, self.head.1 - self.foot.1);
        let centre = self.foot.0 + (z - self.foot.1) * dx / dz;
        let sag = self.curve_radius.map_or(0.0, |r| r - (r * r - (y * y).min(r * r)).sqrt());
        // The sag lies square to the face; along x, at one height, it comes to more where she is raked.
        centre - sag * (dx * dx + dz * dz).sqrt() / dz.abs()
    }
}

impl Transom {
    /// The transom at full size.
    pub fn full_size(&self, facts: &Facts) -> TransomPlane {
        let (along, across, up) = facts.factors();
        let spot = |(x, z): (Length, Length)| (x.metres() * along, z.metres() * up);
        // A circle is y²/2r deep at y: its depth lies along, its half-breadth across.
        let radius = self.curve_radius.metres() * across * across / along;
        let curve_radius = (radius > 0.0).then_some(radius);
        TransomPlane { foot: spot(self.foot), head: spot(self.head), curve_radius }
    }
}

/// A table in metres at full size.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Survey {
    /// Half-siding at the rabbet where no row gives it, m.
    pub half_siding: f64,
    /// x of each station, m, in table order; the transom's is that of its centreline foot.
    pub stations: Vec<f64>,
    /// Number of chines.
    pub chines: usize,
    /// Readings of the rabbet, chines and sheer.
    pub lines: Vec<LineReading>,
    /// Spots between them.
    pub spots: Vec<Spot>,
    /// The stem's rabbet in profile, sheer to keel; empty where the record has none.
    pub stem: Vec<ProfileSpot>,
    /// The sternpost: a double-ender's from sheer to keel, or from the transom's foot down to it; empty where there
    /// is none.
    pub stern: Vec<ProfileSpot>,
    /// The transom.
    pub transom: Option<TransomPlane>,
    /// Facts that are held: distances of stations, spots of the transom.
    pub held: Vec<CellId>,
    /// The underside of the keel: x of the station and height. Not of the hull's surface.
    pub keel: Vec<ProfileSpot>,
}

/// Something a table does not say, or that was left out, which whoever uses the survey should know.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Remark {
    /// The cell it is about, if it is about one.
    pub cell: Option<CellId>,
    /// What there is to say, the cell named.
    pub text: String,
    /// It is of what readings are taken to be worth, which a tolerance for all of them overrides.
    pub of_worth: bool,
}

impl fmt::Display for Remark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

impl Table {
    /// The table in metres at full size, and what was assumed or left out on the way.
    ///
    /// A reading's tolerance is the file's, or half the last place of the hand that wrote it (of its own last
    /// place if that is finer), or that of the grid that readings of its kind lie on beyond chance. Its standard deviation is that of an even chance within the tolerance,
    /// tolerance/√3; four times as much if it is doubtful, next to nothing if it is held. A reading where the
    /// section cannot have one is left out, with a remark.
    ///
    /// # Errors
    /// A table without a height of rabbet and sheer and a half-breadth of the sheer is no hull.
    pub fn survey(&self) -> Result<(Survey, Vec<Remark>), Mistakes> {
        self.expect_lines()?;
        Ok(Surveyor::new(self).survey())
    }

    /// The same with readings in it where the section cannot have one, for proofreading: a slip, there or in
    /// the sheer or the rabbet, must have put them there.
    ///
    /// # Errors
    /// As [`survey`](Self::survey).
    pub fn survey_unsifted(&self) -> Result<(Survey, Vec<Remark>), Mistakes> {
        self.expect_lines()?;
        let mut surveyor = Surveyor::new(self);
        surveyor.sifts = false;
        Ok(surveyor.survey())
    }

    fn expect_lines(&self) -> Result<(), Mistakes> {
        let mut log = Log::new(&self.file, &self.text).of(self.origins.as_ref());
        for (block, line, name) in [
            (Block::Heights, LineKind::Sheer, "sheer"),
            (Block::Heights, LineKind::Rabbet, "rabbet"),
            (Block::HalfBreadths, LineKind::Sheer, "sheer"),
        ] {
            let row = self.rows.iter().position(|row| row.block == block && row.line == line);
            let read = row.is_some_and(|row| self.rows[row].cells.iter().any(Option::is_some));
            if read {
                continue;
            }
            let fence = self.layout.fence.clone();
            let at = row.map_or(fence, |row| self.layout.rows[row].0.clone());
            let problem = format!("no {name} under [{block}], so there is no hull to make of the table");
            let expected = match (&self.origins, block) {
                (None, _) => format!("a row `{name} | ...` with readings under [{block}]"),
                (Some(_), Block::Heights) => format!(
                    "a heading of the page for [\"{block}\", \"{name}\"] under [rows] of the mapping; or, where it is on \
                     no page and runs straight and level, {name} = \"...\", its height, under [straight]"
                ),
                (Some(_), _) => {
                    format!("a heading of the page for [\"{block}\", \"{name}\"] under [rows] of the mapping")
                }
            };
            log.error(at, problem, expected);
        }
        let of_sheer =
            self.rows.iter().filter(|r| r.block == Block::HalfBreadths && r.line == LineKind::Sheer);
        let mut breadths = of_sheer.flat_map(|row| row.cells.iter().flatten()).peekable();
        if breadths.peek().is_some() && breadths.all(|reading| reading.length == Length::ZERO) {
            let row =
                self.rows.iter().position(|r| r.block == Block::HalfBreadths && r.line == LineKind::Sheer);
            let at = row.map_or(self.layout.fence.clone(), |row| self.layout.rows[row].0.clone());
            log.error(
                at,
                "every half-breadth of the sheer is nought",
                "half-breadths out from the centreline",
            );
        }
        log.finish().map(drop)
    }
}

/// What a reading is worth at full size, m.
#[derive(Clone, Copy)]
pub(crate) struct Worth {
    pub sd: f64,
    pub tolerance: f64,
}

impl Worth {
    /// That of a reading so marked, with an even chance within its tolerance.
    pub fn of(mark: Mark, tolerance: f64) -> Self {
        let even = tolerance / 3f64.sqrt();
        let sd = match mark {
            Mark::Plain => even,
            Mark::Doubtful => DOUBTFUL * even,
            Mark::Held => HELD,
        };
        Worth { sd: sd.max(HELD), tolerance }
    }
}

/// Turns one table into a survey.
struct Surveyor<'t> {
    table: &'t Table,
    /// Full size over readings: along, across, up.
    factors: (f64, f64, f64),
    half_siding: f64,
    transom: Option<TransomPlane>,
    /// Names of the chines, from the keel up.
    chines: Vec<String>,
    worths: Worths,
    rows: HashMap<(Block, &'t LineKind), &'t Row>,
    /// Leaves out what lies outside the section.
    sifts: bool,
    remarks: Vec<Remark>,
}

impl<'t> Surveyor<'t> {
    fn new(table: &'t Table) -> Self {
        let factors = table.facts.factors();
        let transom = table.transom.as_ref().map(|t| t.full_size(&table.facts));
        let half_siding = table.facts.half_siding.map_or(0.0, Length::metres);
        let rows = table.rows.iter().map(|row| ((row.block, &row.line), row)).collect();
        let (chines, worths, remarks) = (Vec::new(), Worths::of(table), Vec::new());
        Surveyor { table, factors, half_siding, transom, chines, worths, rows, sifts: true, remarks }
    }

    fn survey(mut self) -> (Survey, Vec<Remark>) {
        let table = self.table;
        self.order_chines();
        for text in &table.facts.assumed {
            self.remark(None, text);
        }
        if let Some(text) = table.facts.ends_assumed() {
            self.remark(None, &text.to_lowercase());
        }
        for text in table.open_ends() {
            self.remark(None, &text);
        }
        let of_worth = |text| Remark { cell: None, text, of_worth: true };
        self.remarks.extend(self.worths.remarks().into_iter().map(of_worth));
        let rabbet_breadths = self.rows.contains_key(&(Block::HalfBreadths, &LineKind::Rabbet));
        if table.facts.half_siding.is_none() && !rabbet_breadths {
            self.remark(None, "no half-siding is given: the rabbet is taken to lie on the centreline");
        }
        let foot = self.transom.map_or(0.0, |t| t.foot.0);
        let stations = table.stations.iter().map(|s| s.from_stem.as_ref());
        let stations = stations.map(|x| x.map_or(foot, |x| x.length.metres() * self.factors.0)).collect();
        let mut survey = Survey {
            half_siding: self.half_siding,
            stations,
            chines: self.chines.len(),
            stem: self.profile(Block::StemProfile, table.stem.as_ref()),
            stern: self.profile(Block::SternProfile, table.stern.as_ref()),
            transom: self.transom,
            held: self.held(),
            ..Survey::default()
        };
        for (row, column) in table
            .rows
            .iter()
            .enumerate()
            .flat_map(|(i, row)| (0..row.cells.len()).map(move |column| (i, column)))
        {
            self.cell(row, column, &mut survey);
        }
        self.points(&mut survey);
        for text in table.odd_sizes(&survey) {
            self.remark(None, &text);
        }
        (survey, self.remarks)
    }

    /// Facts that carry the mark for it.
    fn held(&self) -> Vec<CellId> {
        let held = |cell: &CellId| self.table.cell(*cell).is_some_and(|r| r.mark == Mark::Held);
        let stations = (0..self.table.stations.len()).map(|column| (Block::Stations, 0, column));
        let transom = (0..4).map(|i| (Block::Transom, i / 2, i % 2));
        let cells = stations.chain(transom).map(|(block, row, column)| CellId { block, row, column });
        cells.filter(held).collect()
    }

    fn cell(&mut self, row: usize, column: usize, survey: &mut Survey) {
        let table = self.table;
        let (row_index, row) = (row, &table.rows[row]);
        let Some(reading) = &row.cells[column] else { return };
        let cell = CellId { block: row.block, row: row_index, column };
        let line = match &row.line {
            LineKind::Sheer => RefLine::Sheer,
            LineKind::Rabbet => RefLine::Rabbet,
            LineKind::Chine(name) => {
                let Some(i) = self.chines.iter().position(|chine| chine == name) else { return };
                RefLine::Chine(i)
            }
            LineKind::Keel => {
                let z = reading.length.metres() * self.factors.2;
                let Worth { sd, tolerance } = self.worth(reading, cell);
                let Some(x) = self.x(column, 0.0, z) else { return };
                let rabbet = self.other(&LineKind::Rabbet, Axis::HalfBreadth, column);
                if let Some(rabbet) = rabbet.filter(|rabbet| z > rabbet + tolerance) {
                    let (station, row) = table.describe(cell);
                    let text = format!(
                        "{row} at station {station} lies {:.0} mm above the rabbet: there is no keel there; one of \
                         the two is a slip, or the blank cell it stands for means something else",
                        1e3 * (z - rabbet)
                    );
                    self.remark(Some(cell), &text);
                }
                survey.keel.push(ProfileSpot { x, z, sd, tolerance, mark: reading.mark, cell });
                return;
            }
            _ => {
                if let Some(spot) = self.spot(reading, cell, &row.line) {
                    survey.spots.push(spot);
                }
                return;
            }
        };
        let axis = if row.block == Block::Heights { Axis::Height } else { Axis::HalfBreadth };
        let factor = table.factor(cell);
        let value = reading.length.metres() * factor;
        let x = if self.on_transom(column) {
            // The other co-ordinate from its own row, or where the line must end.
            let other = self.other(&row.line, axis, column);
            match axis {
                Axis::Height => self.x(column, other.unwrap_or(0.0), value),
                Axis::HalfBreadth => {
                    let end = self.transom.and_then(|t| match line {
                        RefLine::Sheer => Some(t.head.1),
                        RefLine::Rabbet => Some(t.foot.1),
                        RefLine::Chine(_) => None,
                    });
                    let Some(z) = other.or(end) else {
                        self.leave_out(cell, "has no height, so its place on the transom is not known");
                        return;
                    };
                    self.x(column, value, z)
                }
            }
        } else {
            self.x(column, 0.0, 0.0)
        };
        let Some(x) = x else { return };
        let Worth { sd, tolerance } = self.worth(reading, cell);
        let (mark, on_transom) = (reading.mark, self.on_transom(column));
        survey.lines.push(LineReading { line, axis, x, value, sd, tolerance, mark, on_transom, cell });
    }

    /// A waterline's, buttock's or diagonal's spot.
    fn spot(&mut self, reading: &Reading, cell: CellId, line: &LineKind) -> Option<Spot> {
        let table = self.table;
        let (_, across, up) = self.factors;
        let factor = table.factor(cell);
        let read = reading.length.metres();
        let (y, z, along) = match line {
            LineKind::Waterline(height) => (read * across, height.metres() * up, (1.0, 0.0)),
            LineKind::Buttock(y) => (y.metres() * across, read * up, (0.0, 1.0)),
            _ => {
                let way = table.diagonal_of(cell.row)?;
                let (out, rise) = way.full_size(&table.facts);
                (read * out, way.start * up + read * rise, (out / factor, rise / factor))
            }
        };
        let worth = self.worth(reading, cell);
        self.placed(reading.mark, cell, cell.column, (y, z), along, worth)
    }

    /// A spot at its station, if the section has a place for it.
    fn placed(
        &mut self,
        mark: Mark,
        cell: CellId,
        column: usize,
        (y, z): (f64, f64),
        along: (f64, f64),
        worth: Worth,
    ) -> Option<Spot> {
        let Worth { sd, tolerance } = worth;
        let end = |line| self.other(&line, Axis::HalfBreadth, column);
        let (sheer, rabbet) =
            if self.sifts { (end(LineKind::Sheer), end(LineKind::Rabbet)) } else { (None, None) };
        if sheer.is_some_and(|sheer| z > sheer + tolerance) {
            self.leave_out(cell, "lies above the sheer");
            return None;
        }
        if rabbet.is_some_and(|rabbet| z < rabbet - tolerance) {
            self.leave_out(cell, "lies below the rabbet");
            return None;
        }
        if self.sifts && y < 0.0 {
            self.leave_out(cell, "lies on the other side of the centreline");
            return None;
        }
        let x = self.x(column, y, z)?;
        Some(Spot { x, y, z, along, sd, tolerance, mark, on_transom: self.on_transom(column), cell })
    }

    fn points(&mut self, survey: &mut Survey) {
        let table = self.table;
        let (_, across, up) = self.factors;
        let columns = table.stations.iter().enumerate().map(|(i, s)| (s.name.as_str(), i));
        let columns = columns.collect::<HashMap<_, _>>();
        for (row, point) in table.points.iter().enumerate() {
            let Some(&column) = columns.get(point.station.as_str()) else { continue };
            let (z, y) = (point.height.length.metres() * up, point.half_breadth.length.metres() * across);
            let at = |column| CellId { block: Block::Points, row, column };
            let (of_z, of_y) = (self.worth(&point.height, at(0)), self.worth(&point.half_breadth, at(1)));
            let worth = Worth { sd: of_z.sd.max(of_y.sd), tolerance: of_z.tolerance.max(of_y.tolerance) };
            let mark = stronger(point.height.mark, point.half_breadth.mark);
            survey.spots.extend(self.placed(mark, at(1), column, (y, z), (0.0, 0.0), worth));
        }
    }

    fn profile(&mut self, block: Block, profile: Option<&Profile>) -> Vec<ProfileSpot> {
        let Some(profile) = profile else { return Vec::new() };
        let (along, _, up) = self.factors;
        let mut spots = Vec::new();
        for (column, pair) in profile.from_stem.iter().zip(&profile.height).enumerate() {
            let cell = CellId { block, row: 1, column };
            let (Some(x), Some(z)) = pair else {
                if pair.0.is_some() || pair.1.is_some() {
                    self.leave_out(cell, "has only one of its two readings");
                }
                continue;
            };
            let (of_x, of_z) = (self.worth(x, CellId { row: 0, ..cell }), self.worth(z, cell));
            spots.push(ProfileSpot {
                x: x.length.metres() * along,
                z: z.length.metres() * up,
                sd: of_x.sd.max(of_z.sd),
                tolerance: of_x.tolerance.max(of_z.tolerance),
                mark: stronger(x.mark, z.mark),
                cell,
            });
        }
        // By most of its steps: one slip must not turn it over.
        let rises = spots.windows(2).filter(|pair| pair[0].z < pair[1].z).count();
        if 2 * rises + 1 > spots.len() {
            self.remark(
                None,
                &format!("the {block} is written from keel to sheer; it is taken from sheer to keel"),
            );
            spots.reverse();
        }
        spots
    }

    /// Chines from the keel up, by how high between rabbet and sheer each lies on the whole.
    fn order_chines(&mut self) {
        let table = self.table;
        let mut found: Vec<(String, Option<f64>)> = Vec::new();
        for row in &table.rows {
            let LineKind::Chine(name) = &row.line else { continue };
            if found.iter().any(|(other, _)| other == name) {
                continue;
            }
            let share = |column| {
                let at = |line: &LineKind| self.other(line, Axis::HalfBreadth, column);
                let (low, high) = (at(&LineKind::Rabbet)?, at(&LineKind::Sheer)?);
                (high > low).then_some((at(&row.line)? - low) / (high - low))
            };
            let shares = (0..table.stations.len()).filter_map(share).collect::<Vec<_>>();
            let mean = shares.iter().sum::<f64>() / shares.len() as f64;
            found.push((name.clone(), (!shares.is_empty()).then_some(mean)));
        }
        for (name, _) in found.iter().filter(|(_, mean)| mean.is_none()) {
            let name = LineKind::Chine(name.clone());
            let label =
                table.rows.iter().find(|row| row.line == name).map_or("chine", |row| row.label.as_str());
            self.remark(None, &format!("{label} has no heights between rabbet and sheer; it is left out"));
        }
        found.retain(|(_, mean)| mean.is_some());
        found.sort_by(|(_, a), (_, b)| a.partial_cmp(b).unwrap_or(std::cmp::Ordering::Equal));
        self.chines = found.into_iter().map(|(name, _)| name).collect();
    }

    /// The other co-ordinate of a line at a station than `axis`, full size.
    fn other(&self, line: &LineKind, axis: Axis, column: usize) -> Option<f64> {
        let (block, factor) = match axis {
            Axis::HalfBreadth => (Block::Heights, self.factors.2),
            Axis::Height => (Block::HalfBreadths, self.factors.1),
        };
        let reading = self.rows.get(&(block, line)).and_then(|row| row.cells.get(column)?.as_ref());
        match reading {
            Some(reading) => Some(reading.length.metres() * factor),
            None if axis == Axis::Height && *line == LineKind::Rabbet => Some(self.half_siding),
            None => None,
        }
    }

    fn on_transom(&self, column: usize) -> bool {
        self.table.stations[column].from_stem.is_none()
    }

    /// x of a spot of a column, m.
    fn x(&self, column: usize, y: f64, z: f64) -> Option<f64> {
        match &self.table.stations[column].from_stem {
            Some(reading) => Some(reading.length.metres() * self.factors.0),
            None => Some(self.transom?.x(y, z)),
        }
    }

    fn worth(&self, reading: &Reading, cell: CellId) -> Worth {
        let told = || self.worths.spacing(cell, reading.length, reading.place) / 2.0;
        let as_read = self.table.facts.tolerance.map_or_else(told, Length::metres);
        Worth::of(reading.mark, as_read * self.table.factor(cell))
    }

    fn leave_out(&mut self, cell: CellId, why: &str) {
        let (station, row) = self.table.describe(cell);
        let place = match cell.block {
            Block::StemProfile | Block::SternProfile => format!("spot {station} of the {}", cell.block),
            _ => format!("{row} at station {station}"),
        };
        self.remark(Some(cell), &format!("{place} {why}; it is left out"));
    }

    fn remark(&mut self, cell: Option<CellId>, text: &str) {
        self.remarks.push(Remark { cell, text: text.to_owned(), of_worth: false });
    }
}

/// The mark of a spot whose two readings carry one each: doubt outweighs all.
fn stronger(a: Mark, b: Mark) -> Mark {
    match (a, b) {
        (Mark::Doubtful, _) | (_, Mark::Doubtful) => Mark::Doubtful,
        (Mark::Held, Mark::Held) => Mark::Held,
        _ => Mark::Plain,
    }
}
