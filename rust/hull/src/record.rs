//! The hull read back as its table would have it, and how far each reading moved.

use std::collections::HashMap;

use scrieve_notation::{Mark, Precision, Units};
use scrieve_offsets::{Block, CellId, EditError, Mistakes, RefLine, Spot, Table};

use crate::{Boat, Curve, Plane};
use scrieve_surface::vector::V3;

/// What fairing did to one reading; lengths at full size.
#[derive(Clone, Debug, PartialEq)]
pub struct Correction {
    /// Its cell.
    pub cell: CellId,
    /// Station, as the table names it (the spot's number in a profile).
    pub station: String,
    /// Row, as the table names it.
    pub row: String,
    /// The reading, m.
    pub read: f64,
    /// The same place on the hull, m.
    pub faired: f64,
    /// One standard deviation of the faired value, m.
    pub sd: f64,
    /// `faired` less `read`, m.
    pub moved: f64,
    /// How far the reading might be off, m.
    pub tolerance: f64,
    /// It moved by more than its tolerance.
    pub past: bool,
    /// Left out or weighed down, because the rest of the boat contradicts it.
    pub doubted: bool,
}

/// A held reading is kept to this, m: a fifth of a pencil line. One that is not has another in its way.
const KEPT: f64 = 1e-4;
/// A held reading is contradicted if all others expect it so many standard deviations and tolerances off.
const CONTRADICTED: (f64, f64) = (5.0, 4.0);
/// So many readings are named in one remark; the corrections have them all.
const NAMED: usize = 8;

impl Boat {
    /// Readings that no fair surface comes up to, in words: held ones that are not kept or stand against all others, those left out as
    /// contradicted by the rest, and those past their tolerance by more than the surface itself is in doubt
    /// (two standard deviations). Empty where she is fair within her tolerances.
    pub fn in_the_way(&self) -> Vec<String> {
        let held = |r: &scrieve_fairing::Residual| {
            let mark = |cell| self.source().cell(cell).map(|reading| reading.mark);
            // Of a spot in profile and of a point one reading stands for two, which must both be held.
            let other = match r.cell.block {
                Block::StemProfile | Block::SternProfile => CellId { row: 1 - r.cell.row.min(1), ..r.cell },
                Block::Points => CellId { column: 1 - r.cell.column.min(1), ..r.cell },
                _ => r.cell,
            };
            mark(r.cell) == Some(Mark::Held) && mark(other) == Some(Mark::Held)
        };
        let off = |r: &scrieve_fairing::Residual| {
            let faired = (r.faired - r.read).abs();
            if held(r) { faired.max((r.expected - r.read).abs()) } else { faired }
        };
        let contradicted = |r: &scrieve_fairing::Residual| {
            off(r) > (CONTRADICTED.0 * r.expected_sd).max(CONTRADICTED.1 * r.tolerance)
        };
        let [mut not_kept, mut left_out, mut past] = [Vec::new(), Vec::new(), Vec::new()];
        for r in &self.faired().residuals {
            if held(r) {
                if (r.faired - r.read).abs() > KEPT || contradicted(r) {
                    not_kept.push(r);
                }
            } else if r.doubted {
                left_out.push(r);
            } else if off(r) > r.tolerance + 2.0 * r.sd {
                past.push(r);
            }
        }
        let named = |list: &mut Vec<&scrieve_fairing::Residual>| {
            list.sort_by(|a, b| off(b).total_cmp(&off(a)));
            let name = |r: &&scrieve_fairing::Residual| {
                let (station, row) = self.source().describe(r.cell);
                format!("{row} at {station} ({:.1} mm)", 1e3 * off(r))
            };
            let mut names = list.iter().take(NAMED).map(name).collect::<Vec<_>>().join(", ");
            if list.len() > NAMED {
                names += &format!(" and {} more", list.len() - NAMED);
            }
            names
        };
        let mut said = Vec::new();
        for (list, what) in [
            (&mut not_kept, "held readings contradict each other or the rest of the boat"),
            (&mut left_out, "left out, because the rest of the boat contradicts them"),
            (&mut past, "past their tolerance, because no fair surface comes nearer"),
        ] {
            if !list.is_empty() {
                said.push(format!("{what}: {}", named(list)));
            }
        }
        said
    }

    /// What fairing did to every reading it used.
    pub fn corrections(&self) -> Vec<Correction> {
        let correct = |r: &scrieve_fairing::Residual| {
            let (station, row) = self.source().describe(r.cell);
            let moved = r.faired - r.read;
            Correction {
                cell: r.cell,
                station,
                row,
                read: r.read,
                faired: r.faired,
                sd: r.sd,
                moved,
                tolerance: r.tolerance,
                past: moved.abs() > r.tolerance,
                doubted: r.doubted,
            }
        };
        self.faired().residuals.iter().map(correct).collect()
    }

    /// The hull read back at every cell of the table it came from, in its own units. Blank cells of a row
    /// are filled where the hull has something to say there; of a profile's spot the distance from the stem
    /// is read at its height, of a point the half-breadth. Of a hull carried to the other face of her planking, the
    /// face the table gives.
    ///
    /// # Errors
    /// If the faired table would not pass the checks that every table does.
    pub fn faired_table(&self, precision: Precision) -> Result<Table, EditError> {
        let record = Record::new(self.uncarried());
        self.source().with_values(|cell| record.value(cell), precision)
    }

    /// The faired table at full size in other units, as [`Table::at_full_size`] writes it.
    ///
    /// # Errors
    /// As [`faired_table`](Self::faired_table).
    pub fn faired_at_full_size(&self, units: Units, precision: Precision) -> Result<Table, Mistakes> {
        let record = Record::new(self.uncarried());
        self.source().at_full_size(units, precision, |cell| record.value(cell))
    }
}

/// What a row of the table measures, in metres at full size.
#[derive(Clone, Copy)]
enum Measured {
    /// A rabbet, chine or sheer, counted from the keel up.
    Edge(usize),
    /// A half-breadth at a height.
    Waterline(f64),
    /// A height at a half-breadth.
    Buttock(f64),
    /// Out along (y, z) from a height on the centreline.
    Diagonal { from: f64, along: (f64, f64) },
}

/// The hull's lines and what the rows measure, found once for all cells.
struct Record<'a> {
    hull: &'a Boat,
    edges: Vec<Curve>,
    /// Stem, and transom or stern.
    ends: [Curve; 2],
    rows: HashMap<usize, Measured>,
}

impl<'a> Record<'a> {
    fn new(hull: &'a Boat) -> Self {
        let (survey, edges) = (hull.survey(), hull.reference_lines());
        let mut rows = HashMap::new();
        for line in &survey.lines {
            let edge = match line.line {
                RefLine::Rabbet => 0,
                RefLine::Chine(k) => k + 1,
                RefLine::Sheer => edges.len().saturating_sub(1),
            };
            rows.insert(line.cell.row, Measured::Edge(edge));
        }
        for spot in &survey.spots {
            let measured = match spot.cell.block {
                Block::HalfBreadths => Measured::Waterline(spot.z),
                Block::Heights => Measured::Buttock(spot.y),
                Block::Diagonals => Measured::Diagonal {
                    from: spot.z - spot.y * spot.along.1 / spot.along.0,
                    along: spot.along,
                },
                _ => continue,
            };
            rows.insert(spot.cell.row, measured);
        }
        Record { hull, edges, ends: hull.ends(Plane::at_y(0.0)), rows }
    }

    fn value(&self, cell: CellId) -> Option<f64> {
        match cell.block {
            Block::StemProfile => self.profile(cell, &self.hull.survey().stem, &self.ends[0]),
            Block::SternProfile => self.profile(cell, &self.hull.survey().stern, &self.ends[1]),
            Block::Points => {
                let same = |spot: &&Spot| (spot.cell.block, spot.cell.row) == (cell.block, cell.row);
                let spot = self.hull.survey().spots.iter().find(same)?;
                if cell.column == 1 { self.hull.half_breadth(spot.x, spot.z).ok() } else { None }
            }
            Block::Heights | Block::HalfBreadths | Block::Diagonals => self.of_row(cell),
            // Facts are not read off a hull.
            Block::Stations | Block::Transom => None,
        }
    }

    fn profile(&self, cell: CellId, spots: &[scrieve_offsets::ProfileSpot], end: &Curve) -> Option<f64> {
        let spot = spots.iter().find(|spot| spot.cell.column == cell.column)?;
        (cell.row == 0).then(|| place(end, 2, spot.z)).flatten().map(|p| p[0])
    }

    fn of_row(&self, cell: CellId) -> Option<f64> {
        let (hull, measured) = (self.hull, *self.rows.get(&cell.row)?);
        let transom = hull.source().stations.get(cell.column)?.from_stem.is_none();
        let x = *hull.survey().stations.get(cell.column)?;
        let by_row = |p: V3| if cell.block == Block::Heights { p[2] } else { p[1] };
        match measured {
            Measured::Edge(k) => {
                let edge = self.edges.get(k)?;
                if transom {
                    return edge.end().map(|end| by_row(end.p));
                }
                // Forward of the forefoot the rabbet runs up the stem, and so abaft the heel of a sternpost.
                let up_the_ends = self.ends.iter().filter(|_| k == 0);
                [edge].into_iter().chain(up_the_ends).find_map(|line| place(line, 0, x)).map(by_row)
            }
            Measured::Waterline(z) if transom => place(&self.ends[1], 2, z).map(|p| p[1]),
            Measured::Waterline(z) => hull.half_breadth(x, z).ok(),
            Measured::Buttock(y) if transom => place(&self.ends[1], 1, y).map(|p| p[2]),
            Measured::Buttock(y) => hull.height(x, y).ok(),
            Measured::Diagonal { from, along: (out, rise) } => {
                let normal = [0.0, -rise, out];
                let section = if transom { None } else { hull.section(x).ok() };
                let line = if transom { &self.ends[1] } else { section.as_ref()? };
                let marks = line.crossings(normal, out * from);
                marks.iter().map(|m| m.sample.p[1] * out + (m.sample.p[2] - from) * rise).reduce(f64::max)
            }
        }
    }
}

/// Where a line first has `value` as one of its co-ordinates.
fn place(line: &Curve, axis: usize, value: f64) -> Option<V3> {
    /// A line's end this near the value is meant, m.
    const NEARLY: f64 = 1e-6;
    let mut normal = [0.0; 3];
    normal[axis] = 1.0;
    let crossing = line.crossings(normal, value).first().map(|mark| mark.sample.p);
    let ends = [line.start()?.p, line.end()?.p];
    crossing.or_else(|| ends.into_iter().find(|p| (p[axis] - value).abs() < NEARLY))
}

#[cfg(test)]
mod tests {
    use scrieve_fairing::{Faired, Residual};
    use scrieve_offsets::read;

    use super::*;
    use crate::forms::{self, parabolic_half_breadth};

    /// The parabolic hull's rabbet is z = 0 and its sheer z = ½; readings are wrong by up to 4 mm.
    const TABLE: &str = "+++
format = 1
name = \"Petrel's Egg\" # invented
units = \"mm\"
[backbone]
half_siding = \"0\"
[diagonal.A]
centreline_height = \"600\"
through = { half_breadth = \"600\", height = \"150\" }
+++
station         | 1    2    3
from stem       | 1000 3000 5000

[heights]
sheer           | 500  501  500
rabbet          | 0    0    0
buttock 250     | 90   38   -

[half-breadths]
sheer           | 441  799  446
waterline 300   | 425  770? 420 # her bilge

[diagonals]
A               | 410  680  410
";

    fn hull() -> Boat {
        let table = read(TABLE.as_bytes(), "egg.offsets").expect("a table");
        let (survey, _) = table.survey().expect("a survey");
        let residuals = survey.spots.iter().map(|spot| Residual {
            cell: spot.cell,
            read: spot.y,
            faired: spot.y + 0.001,
            sd: 1e-4,
            tolerance: 0.0005,
            expected: spot.y,
            expected_sd: 1e-4,
            doubted: false,
        });
        let mut faired = Faired::of_surface(forms::parabolic().surface().clone());
        faired.residuals = residuals.collect();
        Boat::new(table, survey, faired)
    }

    #[test]
    fn the_faired_table_reads_the_hull_at_every_cell_and_keeps_the_rest() {
        let hull = hull();
        let faired = hull.faired_table(Precision::default()).expect("a faired table");
        let mm = |station: &str, row: &str| {
            let cell = faired.find(station, row).expect("a cell");
            faired.cell(cell).expect("a reading").length.mm()
        };
        for (station, x) in [("1", 1.0), ("2", 3.0), ("3", 5.0)] {
            let near =
                |row: &str, exact: f64| assert!((mm(station, row) - 1e3 * exact).abs() <= 0.051, "{row}");
            near("waterline 300", parabolic_half_breadth(x, 0.3));
            near("sheer half-breadth", parabolic_half_breadth(x, 0.5));
            near("sheer height", 0.5);
            // The blank cell is filled.
            let full = parabolic_half_breadth(x, 0.5);
            near("buttock 250", 0.5 * (1.0 - (1.0 - 0.25 / full).sqrt()));
            // z = 0.6 - 0.75 y along the diagonal, 1.25 y out.
            let (a, b, c) = (2.25 * full, 1.0 - 0.6 * full, -0.96 * full);
            let y = (-b + (b * b - 4.0 * a * c).sqrt()) / (2.0 * a);
            assert!((parabolic_half_breadth(x, 0.6 - 0.75 * y) - y).abs() < 1e-12, "{y}");
            near("diagonal A", 1.25 * y);
        }
        assert!(faired.to_text().contains("? ") && faired.to_text().contains("# her bilge"));
    }

    #[test]
    fn a_correction_names_its_cell_and_says_how_far_it_moved() {
        let corrections = hull().corrections();
        let at = |c: &&Correction| c.station == "2" && c.row == "waterline 300";
        let correction = corrections.iter().find(at).expect("a correction");
        assert!((correction.read - 0.77).abs() < 1e-12 && (correction.moved - 0.001).abs() < 1e-12);
        assert!(correction.past && !correction.doubted);
    }

    /// A reading to the sixteenth is off by a thirty-second at most, 0.8 mm.
    #[test]
    fn the_faired_table_of_a_known_hull_lies_on_the_faired_hull() {
        use scrieve_yardstick::known::{Family, Known, Place};
        for family in [Family::RoundBilge, Family::RakedTransom, Family::DoubleEnder, Family::HardChine] {
            let known = Known::new(family, 5);
            let text = known.table_text(&known.layout(11), Place::Eighth, "Turnstone");
            let table = read(text.as_bytes(), "turnstone.offsets").expect("a table");
            let (survey, _) = table.survey().expect("a survey");
            let faired = scrieve_fairing::fair(&survey, &Default::default()).expect("a fair hull");
            let hull = Boat::new(table, survey, faired);
            assert_eq!(hull.corrections().len(), hull.faired().residuals.len());
            let faired = hull.faired_table(Precision::Sixteenth).expect("a faired table");
            let (again, _) = faired.survey().expect("a survey");
            for spot in &hull.survey().spots {
                assert!(again.spots.iter().any(|s| s.cell == spot.cell), "{family:?} {:?}", spot.cell);
            }
            for spot in again.spots.iter().filter(|s| !s.on_transom) {
                let section = hull.section(spot.x).expect("a section");
                let off = section.nearest([spot.x, spot.y, spot.z]).expect("a nearest point").sample.p;
                let off = (off[1] - spot.y).hypot(off[2] - spot.z);
                assert!(off < 0.0254 / 32.0 + 1e-6, "{family:?} {:?} {off}", spot.cell);
            }
        }
    }
}
