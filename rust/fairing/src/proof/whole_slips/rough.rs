//! How rough a table is, without fairing it: every reading against its neighbours along its row, and every spot
//! against its neighbours in the section. A first look at what a slip of the whole might be; it decides nothing.

use scrieve_notation::parse_cell;
use scrieve_offsets::{Axis, Block, RefLine, Survey, Table};

use super::kinds::{Mistaken, WholeSlip, diagonal_of, is_of};

/// Least part of the boat's length that readings miss their neighbours by.
const LEAST: f64 = 2e-4;
/// A neighbour on one side only tells so much less.
const AT_END: f64 = 4.0;
/// A spot outside its section counts as one that is so many times off.
const OUTSIDE: f64 = 30.0;
/// Beyond so many times what is usual it hardly matters how far: a single slip is no worse than that.
const FAR: f64 = 30.0;
/// Put right, a row reaches no farther than so many times what the rest does.
const REACHES: f64 = 2.5;

/// What a row gives.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Gives {
    Line(RefLine, Axis),
    /// A spot: y and z where the reading is nought, and how they go with it.
    Spot {
        from: (f64, f64),
        along: (f64, f64),
    },
    /// Nothing of the surface.
    Nothing,
}

#[derive(Clone, Debug)]
struct GridRow {
    block: Block,
    gives: Gives,
    values: Vec<Option<f64>>,
}

/// The readings of a table in rows and columns, m.
#[derive(Clone, Debug)]
pub(crate) struct Readings {
    x: Vec<f64>,
    rows: Vec<GridRow>,
    half_siding: f64,
}

/// A place in a section: y, z, and whether it is a spot between rabbet and sheer.
#[derive(Clone, Copy)]
struct InSection {
    y: f64,
    z: f64,
    spot: bool,
}

impl Readings {
    pub fn new(table: &Table, survey: &Survey) -> Self {
        let row = |i: usize| {
            let mut row = GridRow {
                block: table.rows[i].block,
                gives: Gives::Nothing,
                values: vec![None; survey.stations.len()],
            };
            for l in survey.lines.iter().filter(|l| l.cell.row == i && l.cell.block == row.block) {
                row.gives = Gives::Line(l.line, l.axis);
                row.values[l.cell.column] = Some(l.value);
            }
            let block = row.block;
            for s in survey.spots.iter().filter(|s| s.cell.row == i && s.cell.block == block) {
                let value = s.y * s.along.0 + s.z * s.along.1;
                // Of a diagonal what is read runs from the centreline.
                let value = if block == Block::Diagonals { s.y / s.along.0 } else { value };
                row.gives =
                    Gives::Spot { from: (s.y - value * s.along.0, s.z - value * s.along.1), along: s.along };
                row.values[s.cell.column] = Some(value).filter(|v| v.is_finite());
            }
            row
        };
        Readings {
            x: survey.stations.clone(),
            rows: (0..table.rows.len()).map(row).collect(),
            half_siding: survey.half_siding,
        }
    }

    /// The same with a slip put right; `None` where no boat could be so.
    pub fn put_right(&self, table: &Table, slip: &WholeSlip) -> Option<Readings> {
        let mut now = self.clone();
        let metres = |text: &str| Some(parse_cell(text, &table.facts.dialect).ok()??.length.metres());
        let (along, across, up) = table.facts.factors();
        let of_block = |block: Block| (0..self.rows.len()).filter(move |&i| self.rows[i].block == block);
        match slip {
            WholeSlip::RowShifted { row, first, last, aft } => {
                let values = &mut now.rows[*row].values;
                if *aft {
                    values.remove(first - 1);
                    values.insert(*last, None);
                } else {
                    values.remove(last + 1);
                    values.insert(*first, None);
                }
            }
            WholeSlip::ColumnShifted { block, column, down } => {
                let rows: Vec<usize> = of_block(*block).collect();
                for (k, &row) in rows.iter().enumerate() {
                    let from = if *down { Some(k + 1) } else { k.checked_sub(1) };
                    let from = from.and_then(|k| rows.get(k));
                    now.rows[row].values[*column] = from.and_then(|&r| self.rows[r].values[*column]);
                }
            }
            WholeSlip::RowsExchanged(a, b) => {
                now.rows[*a].values.clone_from(&self.rows[*b].values);
                now.rows[*b].values.clone_from(&self.rows[*a].values);
            }
            WholeSlip::RowsExchangedBetween { rows: (a, b), first, last } => {
                for c in *first..=*last {
                    now.rows[*a].values[c] = self.rows[*b].values[c];
                    now.rows[*b].values[c] = self.rows[*a].values[c];
                }
            }
            WholeSlip::FarOut { .. } => return None,
            WholeSlip::ColumnsExchanged(a, b) => now.rows.iter_mut().for_each(|r| r.values.swap(*a, *b)),
            WholeSlip::ColumnsExchangedIn { block, columns: (a, b) } => {
                of_block(*block).for_each(|row| now.rows[row].values.swap(*a, *b));
            }
            WholeSlip::ColumnDatum { block, column, by } => {
                for row in now.rows.iter_mut().filter(|row| is_of(*block, row.block)) {
                    let factor = if row.block == Block::Heights { up } else { across };
                    row.values[*column].iter_mut().for_each(|v| *v += by.metres() * factor);
                }
            }
            WholeSlip::Gap { column, by } => {
                let told = table.stations.iter().map(|s| s.from_stem.is_some());
                let abaft = now.x.iter_mut().zip(told).skip(*column).filter(|(_, told)| *told);
                abaft.for_each(|(x, _)| *x += by.metres() * along);
                if now.x.windows(2).any(|w| w[1] <= w[0]) {
                    return None;
                }
            }
            WholeSlip::ColumnMoved { from, to } => now.rows.iter_mut().for_each(|r| {
                let value = r.values.remove(*from);
                r.values.insert(*to, value);
            }),
            WholeSlip::Reversed { first, last } => {
                now.rows.iter_mut().for_each(|r| r.values[*first..=*last].reverse());
            }
            WholeSlip::Heading { row, to } => {
                let Gives::Spot { from, along } = &mut now.rows[*row].gives else { return None };
                if along.0 > 0.5 { from.1 = metres(to)? * up } else { from.0 = metres(to)? * across }
            }
            WholeSlip::Diagonal { row, to } => {
                // What is read runs from the centreline, down to the point it goes through.
                let d = &table.diagonals[diagonal_of(table, *row)?];
                let from = metres(to)? * up;
                let (out, drop) =
                    (d.through_half_breadth.metres() * across, d.through_height.metres() * up - from);
                let all = out.hypot(drop).max(1e-9);
                now.rows[*row].gives = Gives::Spot { from: (0.0, from), along: (out / all, drop / all) };
            }
            WholeSlip::Station { column, to } => now.x[*column] = metres(to)? * along,
            WholeSlip::Unit { row, unit } => {
                let factor = match unit {
                    Mistaken::Times(n, d, _) | Mistaken::Named(n, d, ..) => *n as f64 / *d as f64,
                    // Near enough for a first look: an inch is eight eighths and a foot twelve inches.
                    Mistaken::InchesAndEighths => 1.0 / 12.0,
                    Mistaken::FeetAndInches => 12.0,
                };
                now.rows[*row].values.iter_mut().flatten().for_each(|v| *v *= factor);
            }
            WholeSlip::Datum { rows, by, down } => {
                for &row in rows {
                    let by = by.metres() * if self.rows[row].block == Block::Heights { up } else { across };
                    now.rows[row]
                        .values
                        .iter_mut()
                        .flatten()
                        .for_each(|v| *v = if *down { by - *v } else { *v + by });
                }
            }
            WholeSlip::Shrunk { block, factor } => {
                for row in of_block(*block) {
                    now.rows[row].values.iter_mut().flatten().for_each(|v| *v *= factor);
                }
            }
        }
        let rewrites = matches!(slip, WholeSlip::Unit { .. } | WholeSlip::Datum { .. });
        let possible = !rewrites || now.reaches_as(&slip.rows()) && !now.falls_below(self, &slip.rows());
        possible.then_some(now)
    }

    /// Whether rows reach about as far as the rest of the boat does, and the sheer is above the rabbet.
    fn reaches_as(&self, rows: &[usize]) -> bool {
        let place = |i: usize, v: f64| match self.rows[i].gives {
            Gives::Line(_, Axis::HalfBreadth) => (v, 0.0),
            Gives::Line(_, Axis::Height) => (0.0, v),
            Gives::Spot { from, along } => (from.0 + v * along.0, from.1 + v * along.1),
            Gives::Nothing => (0.0, 0.0),
        };
        let mut far = [[0.0f64; 2]; 2];
        for (i, row) in self.rows.iter().enumerate() {
            let of = &mut far[usize::from(rows.contains(&i))];
            for v in row.values.iter().flatten() {
                let (y, z) = place(i, *v);
                (of[0], of[1]) = (of[0].max(y.abs()), of[1].max(z.abs()));
            }
        }
        let all = rows.len() > 2;
        let within = (0..2).all(|k| far[1][k] <= REACHES * far[0][k].max(1e-6)) || all;
        let own = |line: RefLine| {
            self.rows.iter().find(|r| r.gives == Gives::Line(line, Axis::Height)).map(|r| &r.values)
        };
        let above = match (own(RefLine::Sheer), own(RefLine::Rabbet)) {
            (Some(sheer), Some(rabbet)) => {
                sheer.iter().zip(rabbet).all(|pair| !matches!(pair, (Some(s), Some(r)) if s <= r))
            }
            _ => true,
        };
        within && above
    }

    /// Whether rows have half-breadths beyond the centreline, or heights below the base line, where none were.
    fn falls_below(&self, was: &Readings, rows: &[usize]) -> bool {
        let least =
            |of: &Readings, i: usize| of.rows[i].values.iter().flatten().fold(0.0f64, |a, b| a.min(*b));
        let before = (0..was.rows.len()).map(|i| least(was, i)).fold(0.0, f64::min);
        rows.iter().any(|&i| least(self, i) < before - 1e-3)
    }

    /// The stations whose readings lie farthest off their neighbours along the rows, at most so many, in order.
    pub fn roughest(&self, most: usize, usual: &Usual) -> Vec<usize> {
        let count = self.x.len();
        if count <= most {
            return (0..count).collect();
        }
        let mut off = vec![0.0; count];
        for row in self.rows.iter().filter(|r| r.gives != Gives::Nothing) {
            let of: Vec<(usize, f64)> =
                row.values.iter().enumerate().filter_map(|(i, v)| Some((i, (*v)?))).collect();
            for w in of.windows(3) {
                let (a, b, c) = (self.x[w[0].0], self.x[w[1].0], self.x[w[2].0]);
                let part = if c == a { 0.5 } else { (b - a) / (c - a) };
                off[w[1].0] += counts((w[1].1 - w[0].1 - part * (w[2].1 - w[0].1)).abs() / usual.along);
            }
        }
        let mut by: Vec<usize> = (0..count).collect();
        by.sort_by(|a, b| off[*b].total_cmp(&off[*a]));
        // What is off makes its neighbours seem so, and where a stretch ends only one of them may be.
        by.truncate(most);
        by.sort_unstable();
        by
    }

    fn length(&self) -> f64 {
        self.x.iter().fold(1e-3f64, |a, b| a.max(*b))
    }

    /// How far readings lie off the curve through their neighbours in the row.
    fn along(&self) -> Vec<f64> {
        let mut misses = Vec::new();
        let mut of: Vec<(f64, f64)> = Vec::new();
        for row in self.rows.iter().filter(|r| r.gives != Gives::Nothing) {
            of.clear();
            of.extend(self.x.iter().zip(&row.values).filter_map(|(x, v)| Some((*x, (*v)?))));
            for i in 0..of.len() {
                let end = i == 0 || i + 1 == of.len();
                let (low, high) = match i {
                    0 => (1, 4.min(of.len())),
                    _ if end => (of.len().saturating_sub(4), i),
                    _ => (i.saturating_sub(2), (i + 3).min(of.len())),
                };
                let near = (low..high).filter(|&j| j != i);
                if near.clone().count() < 2 {
                    continue;
                }
                let by = |j: usize| -> f64 {
                    let others = near.clone().filter(|&k| k != j);
                    others.map(|k| (of[i].0 - of[k].0) / (of[j].0 - of[k].0)).product()
                };
                let through: f64 = near.clone().map(|j| of[j].1 * by(j)).filter(|v| v.is_finite()).sum();
                let miss = (of[i].1 - through).abs();
                misses.push(if end { miss / AT_END } else { miss });
            }
        }
        misses
    }

    /// The places of a section in order up it, without some rows.
    fn section(&self, column: usize, without: &[usize], sizes: (f64, f64)) -> Vec<InSection> {
        let mut all: Vec<InSection> = Vec::new();
        let own = |line: RefLine, axis: Axis| {
            let kept = self.rows.iter().enumerate().filter(|(i, _)| !without.contains(i));
            let mut own = kept.filter(|(_, r)| r.gives == Gives::Line(line, axis));
            own.next().and_then(|(_, r)| r.values[column])
        };
        for (i, row) in self.rows.iter().enumerate().filter(|(i, _)| !without.contains(i)) {
            let Some(value) = row.values[column] else { continue };
            match row.gives {
                Gives::Spot { from, along } => {
                    all.push(InSection {
                        y: from.0 + value * along.0,
                        z: from.1 + value * along.1,
                        spot: true,
                    });
                }
                Gives::Line(line, Axis::Height) => {
                    let y = own(line, Axis::HalfBreadth)
                        .or_else(|| (line == RefLine::Rabbet).then_some(self.half_siding));
                    all.extend(y.map(|y| InSection { y, z: value, spot: false }));
                }
                _ => {}
            }
            let _ = i;
        }
        let up = |s: &InSection| s.y / sizes.0 + s.z / sizes.1;
        all.sort_by(|a, b| up(a).total_cmp(&up(b)));
        all
    }

    /// How wide and how high sections usually are.
    fn sizes(&self) -> (f64, f64) {
        let all = (0..self.x.len()).map(|c| self.section(c, &[], (1.0, 1.0))).filter(|s| !s.is_empty());
        let each: Vec<(f64, f64)> = all
            .map(|s| s.iter().fold((1e-6, 1e-6), |m: (f64, f64), p| (m.0.max(p.y), m.1.max(p.z))))
            .collect();
        let middle = |mut of: Vec<f64>| {
            of.sort_by(f64::total_cmp);
            of.get(of.len() / 2).copied().unwrap_or(1.0)
        };
        (middle(each.iter().map(|e| e.0).collect()), middle(each.iter().map(|e| e.1).collect()))
    }

    /// How far spots lie off the chord of their neighbours in the section, and how many lie where no section is.
    fn across(&self, sizes: (f64, f64)) -> (Vec<f64>, usize) {
        let (mut misses, mut outside) = (Vec::new(), 0);
        for column in 0..self.x.len() {
            let section = self.section(column, &[], sizes);
            for w in section.windows(3).filter(|w| w[1].spot) {
                let (dy, dz) = (w[2].y - w[0].y, w[2].z - w[0].z);
                let chord = dy.hypot(dz).max(1e-9);
                misses.push(((w[1].y - w[0].y) * dz - (w[1].z - w[0].z) * dy).abs() / chord);
                // It does not run back down.
                outside += usize::from(w[1].z < w[0].z - 0.1 * chord);
            }
            let last = section.len().saturating_sub(1);
            outside += section.iter().enumerate().filter(|(i, s)| s.spot && (*i == 0 || *i == last)).count();
        }
        (misses, outside)
    }

    /// Of each reading of a row what it is, and what the sections without some rows have in its place: a height if
    /// `height`, at the spot's own half-breadth, else the other way about.
    pub fn by_others(&self, without: &[usize], row: usize, height: bool, usual: &Usual) -> Vec<(f64, f64)> {
        let Gives::Spot { from, along } = self.rows[row].gives else { return Vec::new() };
        let found = self.rows[row].values.iter().enumerate().filter_map(|(column, value)| {
            let (y, z) = ((*value)? * along.0 + from.0, (*value)? * along.1 + from.1);
            let of = |s: &InSection| if height { (s.y - y, s.z) } else { (s.z - z, s.y) };
            let section = self.section(column, without, usual.sizes);
            let crossing = section.windows(2).find_map(|w| {
                let (a, b) = (of(&w[0]), of(&w[1]));
                (a.0 * b.0 <= 0.0 && a.0 != b.0).then(|| a.1 + (b.1 - a.1) * a.0 / (a.0 - b.0))
            })?;
            Some((if height { z } else { y }, crossing))
        });
        found.collect()
    }
}

/// What misses are usual, m: along each row, and in sections; and how large those are.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Usual {
    along: f64,
    across: f64,
    sizes: (f64, f64),
}

impl Usual {
    pub fn of(readings: &Readings) -> Self {
        let least = LEAST * readings.length();
        let middle = |mut of: Vec<f64>| {
            of.sort_by(f64::total_cmp);
            of.get(of.len() / 2).copied().unwrap_or(0.0).max(least)
        };
        let sizes = readings.sizes();
        Usual { along: middle(readings.along()), across: middle(readings.across(sizes).0), sizes }
    }

    /// How rough a table is, in logs.
    pub fn roughness(&self, readings: &Readings) -> f64 {
        let (misses, outside) = readings.across(self.sizes);
        let sections: f64 = misses.into_iter().map(|off| counts(off / self.across)).sum();
        self.along(readings) + sections + outside as f64 * counts(OUTSIDE)
    }

    /// The part of it along the rows.
    pub fn along(&self, readings: &Readings) -> f64 {
        readings.along().into_iter().map(|off| counts(off / self.along)).sum()
    }
}

fn counts(off: f64) -> f64 {
    (1.0 + off.min(FAR).powi(2)).ln()
}

#[cfg(test)]
mod tests {
    use scrieve_notation::Length;
    use scrieve_offsets::read;

    use super::*;
    use scrieve_yardstick::known::{Family, Known, Place};

    #[test]
    fn no_datum_puts_half_breadths_beyond_the_centreline() {
        let hull = Known::new(Family::RoundBilge, 702);
        let text = hull.table_text(&hull.layout(9), Place::Eighth, "Known");
        let table = read(text.as_bytes(), "known.offsets").expect("a table");
        let (survey, _) = table.survey_unsifted().expect("a hull");
        let readings = Readings::new(&table, &survey);
        let row = table.rows.iter().position(|r| r.label.starts_with("waterline 1-")).expect("a waterline");
        let least = table.rows[row].cells.iter().flatten().map(|c| c.length).min().expect("a reading");
        let by = |more: Length| WholeSlip::Datum {
            rows: vec![row],
            by: -least.checked_add(more).expect("a length"),
            down: false,
        };
        assert!(readings.put_right(&table, &by(-Length::INCH)).is_some(), "an inch is left");
        assert!(readings.put_right(&table, &by(Length::INCH)).is_none(), "an inch beyond");
    }
}
