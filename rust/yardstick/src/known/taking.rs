//! The readings a loftsman would take off a boat as built, and the table he would write.

use scrieve_notation::Mark;
use scrieve_offsets::{Axis, Block, CellId, LineReading, ProfileSpot, RefLine, Spot, Survey};

use super::as_built::{AsBuilt, Kind, evenly, root};
use super::record::{Label, Record};
use super::{CLEAR_OF_EDGES, Layout, Place};

/// Steps a strake is searched in for where a waterline, buttock or diagonal crosses it.
const SEARCH: usize = 80;
/// Where a profile is flatter than this it is the keel's, told by the rabbet row: the tangent of 12 degrees.
const KEEL_SLOPE: f64 = 0.2126;
/// A half-breadth no further beyond the half-siding than this is not written: it would be the backbone's, m.
const OFF_THE_BACKBONE: f64 = 0.003;
/// Spacing of the points a profile is followed by, as a part of the backbone.
const FOLLOWED: usize = 2000;

/// Polylines follow her shape to within this, m.
const NEARLY: f64 = 5e-5;

/// Distance of a point to a polyline.
fn distance(line: &[(f64, f64)], p: (f64, f64)) -> f64 {
    let to = |pair: &[(f64, f64)]| {
        let (a, d) = (pair[0], (pair[1].0 - pair[0].0, pair[1].1 - pair[0].1));
        let squared = (d.0 * d.0 + d.1 * d.1).max(f64::MIN_POSITIVE);
        let part = (((p.0 - a.0) * d.0 + (p.1 - a.1) * d.1) / squared).clamp(0.0, 1.0);
        (p.0 - a.0 - part * d.0).hypot(p.1 - a.1 - part * d.1)
    };
    line.windows(2).map(to).fold(f64::MAX, f64::min)
}

/// What is taken off a boat.
#[derive(Clone, Debug, PartialEq)]
pub struct Taking {
    /// Stations, waterlines, buttocks, diagonals, and spots of the stem's and stern's profiles (nought: none).
    pub lines: Layout,
    /// Part of a profile's height, above the keel, in which no spot of it is taken.
    pub short: f64,
    /// So many readings a strake and station and no more, the rabbet, chines and sheer apart.
    pub a_strake: Option<usize>,
    /// A flat bottom's edge is written as a wide rabbet in place of a chine.
    pub edge_as_rabbet: bool,
}

/// A spot that may be written: its row, column, distance along the row's line, and place on the section.
struct Candidate {
    row: usize,
    column: usize,
    d: f64,
    s: f64,
}

impl AsBuilt {
    /// What is usually taken off her at so many stations: five waterlines (seven if she is deep), three
    /// buttocks, two diagonals and seven spots a profile.
    pub fn taking(&self, stations: usize) -> Taking {
        let (l, b) = (self.length(), self.half_beam());
        let deep = matches!(self.kind(), Kind::PostUnderTransom | Kind::Counter);
        let along: Vec<f64> = (0..=200).map(|i| l * f64::from(i) / 200.0).collect();
        let base = along.iter().map(|&x| self.bottom(x)).fold(f64::MAX, f64::min);
        let depth = along.iter().map(|&x| self.sheer(x)).fold(f64::MAX, f64::min) - base;
        let (fore, aft) = self.pointed_ends();
        // Half a space or so from a pointed end; on the end itself where sections are full there.
        let first = if fore { 0.7 } else { 0.0 };
        let last = match (aft, self.transom()) {
            (true, _) => stations as f64 - 0.3,
            (_, Some(_)) if self.kind() == Kind::Counter => stations as f64 + 0.1 * stations as f64,
            (_, Some(_)) => stations as f64 - 0.2,
            _ => stations as f64 - 1.0,
        };
        let inch = |m: f64| (m / 0.0254).round() * 0.0254;
        let heights: &[f64] =
            if deep { &[0.08, 0.18, 0.3, 0.44, 0.58, 0.74, 0.92] } else { &[0.14, 0.3, 0.48, 0.68, 0.9] };
        let diagonals: &[(f64, f64, f64)] = if deep {
            &[(0.8, 0.75, 0.3), (1.05, 0.95, 0.55)]
        } else {
            &[(0.75, 0.75, 0.1), (1.1, 0.9, 0.45)]
        };
        Taking {
            lines: Layout {
                stations: (0..stations)
                    .map(|i| (inch(l * (first + i as f64) / (last + first))).min(l))
                    .collect(),
                waterlines: heights.iter().map(|t| inch(base + t * depth)).collect(),
                buttocks: [0.25, 0.5, 0.75].iter().map(|t| inch(t * b)).collect(),
                diagonals: diagonals
                    .iter()
                    .map(|&(c, y, z)| (inch(base + c * depth), inch(y * b), inch(base + z * depth)))
                    .collect(),
                profile_spots: 7,
            },
            short: 0.0,
            a_strake: None,
            edge_as_rabbet: false,
        }
    }

    /// The survey a loftsman would bring back, every reading rounded to `place`.
    pub fn survey(&self, taking: &Taking, place: Place) -> Survey {
        self.record(taking, place).survey
    }

    /// Readings of a survey that lie farther off her own shape than they are read to, square to it, and how far, m; none
    /// of a sound survey. What a yardstick calls sound is held against the formula by this, not against how it was taken.
    pub fn off(&self, survey: &Survey) -> Vec<(CellId, f64)> {
        let mut found = Vec::new();
        let mut hold = |cell: CellId, off: f64, tolerance: f64| {
            if off > tolerance + NEARLY {
                found.push((cell, off));
            }
        };
        let backbone = self.backbone(FOLLOWED);
        let strakes = self.strakes();
        // A flat bottom's edge may be written as the rabbet.
        let edge = strakes - 1 - survey.chines;
        for l in &survey.lines {
            let s = match l.line {
                RefLine::Rabbet => edge,
                RefLine::Chine(i) => i + 1 + edge,
                RefLine::Sheer => strakes,
            };
            let (y, z) = self.at(l.x, s as f64);
            let off = match (l.axis, l.line) {
                (Axis::Height, RefLine::Rabbet) if edge == 0 => {
                    ((l.value - z).abs()).min(distance(&backbone, (l.x, l.value)))
                }
                (Axis::Height, _) => (l.value - z).abs(),
                (Axis::HalfBreadth, _) => (l.value - y).abs(),
            };
            // A transom's x hangs on the reading itself.
            hold(l.cell, off, l.tolerance * if l.on_transom { 2.0 } else { 1.0 });
        }
        for spot in &survey.spots {
            let points = SEARCH * strakes * 5;
            let section: Vec<(f64, f64)> =
                (0..=points).map(|i| self.at(spot.x, strakes as f64 * i as f64 / points as f64)).collect();
            hold(spot.cell, distance(&section, (spot.y, spot.z)), spot.tolerance);
        }
        for spot in survey.stem.iter().chain(&survey.stern) {
            hold(spot.cell, distance(&backbone, (spot.x, spot.z)), spot.tolerance * std::f64::consts::SQRT_2);
        }
        found
    }

    /// The same as the text of an `.offsets` file.
    pub fn table_text(&self, taking: &Taking, place: Place, name: &str) -> String {
        self.record(taking, place).text(&taking.lines.diagonals, place, name)
    }

    fn record(&self, taking: &Taking, place: Place) -> Record {
        let transom = self.transom();
        let edge = usize::from(taking.edge_as_rabbet && self.flat_bottomed());
        let mut record = Record {
            columns: taking.lines.stations.len() + usize::from(transom.is_some()),
            survey: Survey {
                half_siding: place.round(self.half_siding(0.0)),
                stations: taking.lines.stations.clone(),
                chines: self.chines() - edge,
                transom,
                ..Survey::default()
            },
            ..Record::default()
        };
        if let Some(t) = transom {
            record.survey.stations.push(t.foot.0);
        }
        self.record_lines(&mut record, edge, place);
        self.record_spots(&mut record, taking, place);
        let (fore, _) = self.pointed_ends();
        if taking.lines.profile_spots > 0 && fore {
            record.survey.stem = self.profile(Block::StemProfile, taking, place);
        }
        if taking.lines.profile_spots > 0 && self.stern_in_profile() {
            record.survey.stern = self.profile(Block::SternProfile, taking, place);
        }
        record.in_file_order()
    }

    /// The point of a column at s: its x, half-breadth and height.
    fn in_column(&self, record: &Record, column: usize, s: f64) -> (f64, f64, f64) {
        if record.on_transom(column) {
            return self.on_transom(s).unwrap_or_default();
        }
        let x = record.survey.stations[column];
        let (y, z) = self.at(x, s);
        (x, y, z)
    }

    /// x of a column's plane at a point of it.
    fn plane(&self, record: &Record, column: usize, y: f64, z: f64) -> f64 {
        match record.survey.transom {
            Some(t) if record.on_transom(column) => t.x(y, z),
            _ => record.survey.stations[column],
        }
    }

    /// Rabbet, chines and sheer; with `edge` 1 the lowest chine is written as the rabbet.
    fn record_lines(&self, record: &mut Record, edge: usize, place: Place) {
        let strakes = self.strakes();
        let lines = (edge..=strakes).rev().map(|k| match k - edge {
            0 => (k, RefLine::Rabbet, "rabbet".to_string()),
            _ if k == strakes => (k, RefLine::Sheer, "sheer".to_string()),
            i if strakes - edge == 2 => (k, RefLine::Chine(i - 1), "chine".to_string()),
            i => (k, RefLine::Chine(i - 1), format!("chine {i}")),
        });
        for (k, line, name) in lines {
            let blocks = [(Axis::Height, Block::Heights), (Axis::HalfBreadth, Block::HalfBreadths)];
            let rows = blocks.map(|(axis, block)| {
                let constant = axis == Axis::HalfBreadth && k == 0 && !self.siding_changes();
                (!constant).then(|| (axis, block, record.row(block, (name.clone(), None))))
            });
            for column in 0..record.columns {
                let (x, y, z) = self.in_column(record, column, k as f64);
                let on_stem = k > 0 && k < strakes && y <= self.half_siding(x) + 1e-6 * self.length();
                if on_stem && line != RefLine::Rabbet {
                    continue;
                }
                let (y, z) = (place.round(y), place.round(z));
                for (axis, block, row) in rows.into_iter().flatten() {
                    let value = if axis == Axis::Height { z } else { y };
                    record.rows[row].2[column] = Some(value);
                    record.survey.lines.push(LineReading {
                        line,
                        axis,
                        x: self.plane(record, column, y, z),
                        value,
                        sd: place.sd(),
                        tolerance: 0.5 * place.metres(),
                        mark: Mark::Plain,
                        on_transom: record.on_transom(column),
                        cell: CellId { block, row, column },
                    });
                }
            }
        }
    }

    fn record_spots(&self, record: &mut Record, taking: &Taking, place: Place) {
        let clear = CLEAR_OF_EDGES * self.length();
        let lines = &taking.lines;
        let named = |kind: &str, at: f64| -> Label { (kind.to_string(), Some(at)) };
        let buttocks =
            lines.buttocks.iter().map(|&y| (Block::Heights, named("buttock", y), (y, 0.0), (0.0, 1.0)));
        let waterlines = lines
            .waterlines
            .iter()
            .map(|&z| (Block::HalfBreadths, named("waterline", z), (0.0, z), (1.0, 0.0)));
        let diagonals = lines.diagonals.iter().enumerate().map(|(i, &(c, y, z))| {
            let r = y.hypot(z - c);
            let name = char::from(b'A' + i as u8).to_string();
            (Block::Diagonals, (name, None), (0.0, c), (y / r, (z - c) / r))
        });
        let mut ways = Vec::new();
        for (block, label, from, along) in buttocks.chain(waterlines).chain(diagonals) {
            let row = record.row(block, label);
            ways.push((row, block, from, along));
        }
        for column in 0..record.columns {
            let strakes = self.strakes();
            let section: Vec<_> = (0..=SEARCH * strakes)
                .map(|i| self.in_column(record, column, i as f64 / SEARCH as f64))
                .collect();
            let mut found = Vec::new();
            for &(row, block, from, along) in &ways {
                if let Some((d, s)) = self.crossing(record, column, &section, (from, along), block, clear) {
                    found.push(Candidate { row, column, d, s });
                }
            }
            if let Some(count) = taking.a_strake {
                found = chosen(found, self.strakes(), count);
            }
            for candidate in found {
                let (row, block, from, along) = ways[ways.partition_point(|w| w.0 < candidate.row)];
                let Candidate { column, d, .. } = candidate;
                let d = place.round(d);
                let (y, z) = (from.0 + d * along.0, from.1 + d * along.1);
                record.rows[row].2[column] = Some(d);
                record.survey.spots.push(Spot {
                    x: self.plane(record, column, y, z),
                    y,
                    z,
                    along,
                    sd: place.sd(),
                    tolerance: 0.5 * place.metres(),
                    mark: Mark::Plain,
                    on_transom: record.on_transom(column),
                    cell: CellId { block, row, column },
                });
            }
        }
    }

    /// Where a line from a point along a direction crosses a column's section, given in points too, clear of backbone, chines
    /// and sheer: the distance along it, and s.
    fn crossing(
        &self,
        record: &Record,
        column: usize,
        section: &[(f64, f64, f64)],
        (from, along): ((f64, f64), (f64, f64)),
        block: Block,
        clear: f64,
    ) -> Option<(f64, f64)> {
        let point = |s: f64| self.in_column(record, column, s);
        let beside = |(_, y, z): (f64, f64, f64)| (y - from.0) * along.1 - (z - from.1) * along.0;
        let side = |s: f64| beside(point(s));
        let steps = section.len() - 1;
        let at = |i: usize| i as f64 / SEARCH as f64;
        let signs: Vec<f64> = section.iter().map(|&p| beside(p)).collect();
        let crossed = |i: &usize| (signs[*i] < 0.0) != (signs[*i + 1] < 0.0);
        // A buttock is read at the bottom, a waterline or a diagonal where she is widest.
        let found = match block {
            Block::Heights => (0..steps).find(crossed),
            _ => (0..steps).rev().find(crossed),
        }?;
        let s = root(at(found), at(found + 1), side);
        let (x, y, z) = point(s);
        let d = (y - from.0) * along.0 + (z - from.1) * along.1;
        let edges = section.iter().step_by(SEARCH).all(|&(_, ey, ez)| (y - ey).hypot(z - ez) >= clear);
        (d > 0.0 && edges && y >= self.half_siding(x) + OFF_THE_BACKBONE).then_some((d, s))
    }

    /// Spots of a profile from the sheer down, as far as it is steeper than the keel.
    fn profile(&self, block: Block, taking: &Taking, place: Place) -> Vec<ProfileSpot> {
        let count = taking.lines.profile_spots;
        let mut line = self.backbone(FOLLOWED);
        if block == Block::SternProfile {
            line.reverse();
        }
        let steep = |pair: &[(f64, f64)]| {
            let down = pair[0].1 - pair[1].1;
            down > KEEL_SLOPE * (pair[1].0 - pair[0].0).abs()
        };
        let end = line.windows(2).position(|pair| !steep(pair)).unwrap_or(line.len() - 1);
        let (head, foot) = (line[0].1, line[end].1);
        let lowest = foot + taking.short * (head - foot);
        let end = line[..=end].iter().rposition(|p| p.1 >= lowest).unwrap_or(end).max(1);
        let mut spots: Vec<ProfileSpot> = Vec::new();
        for (column, &(x, z)) in evenly(&line[..=end], count).iter().enumerate() {
            spots.push(ProfileSpot {
                x: place.round(x),
                z: place.round(z),
                sd: place.sd(),
                tolerance: 0.5 * place.metres(),
                mark: Mark::Plain,
                cell: CellId { block, row: 1, column },
            });
        }
        spots
    }
}

/// Of the candidates, so many a strake: those nearest to places evenly along it.
fn chosen(mut found: Vec<Candidate>, strakes: usize, count: usize) -> Vec<Candidate> {
    let mut kept = Vec::new();
    for strake in 0..strakes {
        for j in 0..count {
            let want = strake as f64 + (j as f64 + 0.5) / count as f64;
            let on = |c: &&(usize, &Candidate)| c.1.s >= strake as f64 && c.1.s < strake as f64 + 1.0;
            let nearest = found
                .iter()
                .enumerate()
                .filter(|c| on(&c))
                .min_by(|a, b| (a.1.s - want).abs().total_cmp(&(b.1.s - want).abs()))
                .map(|(i, _)| i);
            if let Some(i) = nearest {
                kept.push(found.remove(i));
            }
        }
    }
    kept
}
