//! What of each line is read, and what is not: the stretches of a line that no reading is near.
//!
//! A line is read where a reading of its own row stands, where another reading of the hull stands on it or next to it,
//! and where it ends on an edge (stem, sheer, chine, rabbet ...) that is itself read there. Two neighbouring places
//! farther apart than one and a half of the table's usual spacing there leave the stretch between them unread (than two,
//! where no station is left out between them); past the last of them, what is left of the line by more than half a
//! spacing. Readings that were left out as contradicted, and
//! blank cells that stand for a reading, are none.

mod rule;
mod unread;

use std::collections::HashSet;

use rule::Rule;
use scrieve_offsets::{Axis, Block, CellId, LineKind, RefLine};

use crate::{BackboneLine, Boat, Curve, Plane};
use scrieve_surface::vector::{V3, distance};

pub use unread::Unread;

/// A stretch of one curve, by lengths along it from its start, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// Where it begins.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
    /// The reading before it; `None` where there is none before the curve's end, or the curve ends on a line read there.
    pub after: Option<CellId>,
    /// The reading after it.
    pub before: Option<CellId>,
    /// The whole end is assumed.
    pub is_assumed: bool,
}

/// What is read of a hull's lines.
#[derive(Debug)]
pub struct Evidence<'a> {
    hull: &'a Boat,
    /// x of the station planes, ascending, m.
    stations: Vec<f64>,
    /// The usual distance between two, m.
    usual: f64,
    /// A reading farther from a line than this, round the section, is not on it, m.
    beside: f64,
    doubted: HashSet<CellId>,
    /// Blank cells that stand for a reading.
    blanks: HashSet<CellId>,
    /// Readings whose place on their station's plane is known, m.
    spots: Vec<V3>,
    backbone: BackboneLine,
    backbone_rule: Rule,
    unread_backbone: Vec<Stretch>,
    /// The stem's and the sternpost's part of the backbone's line.
    on_backbone: [Option<(f64, f64)>; 2],
    /// Lengths of the forward and the after end of the surface.
    forward_length: f64,
    after_length: f64,
    /// Half-breadths of the rabbet, where a row gives them.
    rabbet: (Curve, Vec<Stretch>),
    /// Chines and sheer, and what is unread of their heights and half-breadths.
    edges: Vec<(Curve, Rule, [Vec<Stretch>; 2])>,
    /// Whether anything is read on the transom.
    transom_read: bool,
}

/// Readings farther apart than so many usual spacings leave the line between them unread.
const APART: f64 = 1.5;

/// So many of two readings of a row that no station stands between: the table reads nothing nearer there.
const NEXT_APART: f64 = 2.0;

/// Past the last reading a line is unread from so many spacings on.
const PAST: f64 = 0.5;

/// A reading is beside a line within this share of the usual gap between readings round a section: less than the gap, so
/// that a line between two others is not read by them.
const BESIDE: f64 = 0.75;

/// Stations nearer than this are one, m.
const SAME_M: f64 = 1e-4;

/// A line that ends this near an edge ends on it, m.
const ON_EDGE_M: f64 = 1e-3;

/// A row's reading this near a branch of its line is of that branch, m.
const ON_BRANCH_M: f64 = 0.02;

/// An end told in so few spots is told to be straight, or plumb: it is read between them.
const STRAIGHT: usize = 2;

/// A place along a curve that is read.
#[derive(Clone, Copy, Debug)]
struct Place {
    along: f64,
    x: f64,
    cell: Option<CellId>,
}

impl<'a> Evidence<'a> {
    /// That of a hull.
    pub fn of(hull: &'a Boat) -> Self {
        let (table, survey) = (hull.source(), hull.survey());
        let mut stations: Vec<f64> = table
            .stations
            .iter()
            .zip(&survey.stations)
            .filter(|(station, _)| station.from_stem.is_some())
            .map(|(_, &x)| x)
            .collect();
        stations.sort_by(f64::total_cmp);
        stations.dedup_by(|b, a| *b - *a < SAME_M);
        let usual = median(stations.windows(2).map(|w| w[1] - w[0]).collect()).unwrap_or(f64::INFINITY);
        let doubted = hull.faired().residuals.iter().filter(|r| r.doubted).map(|r| r.cell).collect();
        let blanks = table.blanks.iter().map(|(cell, _)| *cell).collect();
        let ends = hull.ends(Plane::at_y(0.0));
        let mut edges = hull.reference_lines();
        let keel = edges.remove(0);
        let (stem_length, after_length, keel_length) = (ends[0].length(), ends[1].length(), keel.length());
        let backbone = hull.backbone_line_of(&ends, keel.clone(), None);
        let backbone_rule = Rule::new(&backbone.curve);
        let length = backbone_rule.length();
        let stem = if backbone.has_stem { stem_length.min(length) } else { 0.0 };
        let post = backbone.has_post.then_some(((stem + keel_length).min(length), length));
        let on_backbone = [backbone.has_stem.then_some((0.0, stem)), post];
        let mut evidence = Evidence {
            hull,
            stations,
            usual,
            beside: 0.0,
            doubted,
            blanks,
            spots: Vec::new(),
            backbone,
            backbone_rule,
            unread_backbone: Vec::new(),
            on_backbone,
            forward_length: stem_length,
            after_length,
            rabbet: (keel, Vec::new()),
            edges: Vec::new(),
            transom_read: false,
        };
        evidence.place_spots();
        evidence.unread_backbone = evidence.of_backbone();
        let on_transom = |cell: CellId, is: bool| is && evidence.is_read(cell);
        evidence.transom_read = survey.spots.iter().any(|s| on_transom(s.cell, s.on_transom))
            || survey.lines.iter().any(|s| on_transom(s.cell, s.on_transom));
        let has_row =
            |l: &scrieve_offsets::LineReading| (l.line, l.axis) == (RefLine::Rabbet, Axis::HalfBreadth);
        if survey.lines.iter().any(has_row) {
            let rule = Rule::new(&evidence.rabbet.0);
            evidence.rabbet.1 = evidence.of_edge(0, Axis::HalfBreadth, &rule);
        }
        for (k, curve) in edges.into_iter().enumerate() {
            let rule = Rule::new(&curve);
            let unread = [Axis::Height, Axis::HalfBreadth].map(|axis| evidence.of_edge(k + 1, axis, &rule));
            evidence.edges.push((curve, rule, unread));
        }
        evidence
    }

    fn is_read(&self, cell: CellId) -> bool {
        !self.doubted.contains(&cell) && !self.blanks.contains(&cell)
    }

    /// Every reading whose place is known in its station's plane, and the usual gap between them round a section.
    fn place_spots(&mut self) {
        let survey = self.hull.survey();
        let read = |cell| self.is_read(cell);
        let mut spots: Vec<V3> =
            survey.spots.iter().filter(|s| read(s.cell)).map(|s| [s.x, s.y, s.z]).collect();
        let lines: Vec<_> = survey.lines.iter().filter(|l| read(l.cell)).collect();
        let breadths = lines.iter().any(|l| (l.line, l.axis) == (RefLine::Rabbet, Axis::HalfBreadth));
        for of_z in lines.iter().filter(|l| l.axis == Axis::Height) {
            let same = |l: &&&scrieve_offsets::LineReading| {
                l.line == of_z.line && l.axis == Axis::HalfBreadth && l.cell.column == of_z.cell.column
            };
            let y = match lines.iter().find(same) {
                Some(of_y) => of_y.value,
                None if of_z.line == RefLine::Rabbet && !breadths => survey.half_siding,
                None => continue,
            };
            spots.push([of_z.x, y, of_z.value]);
        }
        let mut gaps = Vec::new();
        for &x in &self.stations {
            let mut here: Vec<V3> = spots.iter().filter(|p| (p[0] - x).abs() < SAME_M).copied().collect();
            let top = |k: usize| here.iter().map(|p| p[k].abs()).fold(f64::MIN_POSITIVE, f64::max);
            let (broad, high) = (top(1), top(2));
            // Round the section from keel to sheer, along which breadth and height together grow.
            let way = |p: &V3| p[1] / broad + p[2] / high;
            here.sort_by(|a, b| way(a).total_cmp(&way(b)));
            gaps.extend(here.windows(2).map(|w| distance(w[0], w[1])).filter(|gap| *gap > SAME_M));
        }
        self.beside = median(gaps).map_or(0.0, |gap| BESIDE * gap);
        self.spots = spots;
    }

    /// The usual spacing of the table's stations about a stretch from `a` to `b`: the median's, or that of the stations
    /// in it and next to it where they stand wider.
    fn spacing(&self, a: f64, b: f64) -> f64 {
        let next_to = self.stations.windows(2).filter(|w| {
            let is_it = w[0] <= a + SAME_M && w[1] >= b - SAME_M;
            !is_it && w[1] > a - SAME_M && w[0] < b + SAME_M
        });
        next_to.map(|w| w[1] - w[0]).fold(self.usual, f64::max)
    }

    /// The stretches between places, in order along a curve of this length, that are unread. `along` measures by length,
    /// not by x.
    fn between(&self, rule: &Rule, mut read: Vec<Place>, along: bool) -> Vec<Stretch> {
        read.sort_by(|a, b| a.along.total_cmp(&b.along));
        let (Some(start), Some(end), length) = (rule.start(), rule.end(), rule.length()) else {
            return Vec::new();
        };
        let (first, last) = match (read.first(), read.last()) {
            (Some(first), Some(last)) => (*first, *last),
            _ => {
                let whole = Stretch { from: 0.0, to: length, after: None, before: None, is_assumed: false };
                return vec![whole];
            }
        };
        let far = |x0: f64, x1: f64, l: f64, times: f64| {
            let far = if along { l } else { (x1 - x0).abs() };
            far > times * self.spacing(x0.min(x1), x0.max(x1)) + SAME_M
        };
        let mut unread = Vec::new();
        if far(start[0], first.x, first.along, PAST) {
            unread.push(Stretch {
                from: 0.0,
                to: first.along,
                after: None,
                before: first.cell,
                is_assumed: false,
            });
        }
        for w in read.windows(2) {
            let (a, b) = (w[0], w[1]);
            let skips = self.stations.iter().any(|x| a.x + SAME_M < *x && *x < b.x - SAME_M);
            // Next to each other in its row, that is: a line that runs out on an edge has no reading there.
            let in_row = !along && !skips && a.cell.is_some() && b.cell.is_some();
            let apart = if in_row { NEXT_APART } else { APART };
            if !self.is_told_straight(a.cell, b.cell) && far(a.x, b.x, b.along - a.along, apart) {
                let (from, to) = (a.along, b.along);
                unread.push(Stretch { from, to, after: a.cell, before: b.cell, is_assumed: false });
            }
        }
        if far(last.x, end[0], length - last.along, PAST) {
            let (from, to) = (last.along, length);
            unread.push(Stretch { from, to, after: last.cell, before: None, is_assumed: false });
        }
        unread
    }

    /// Whether two readings are all the spots of one end.
    fn is_told_straight(&self, a: Option<CellId>, b: Option<CellId>) -> bool {
        let (Some(a), Some(b)) = (a, b) else { return false };
        let survey = self.hull.survey();
        a.block == b.block
            && match a.block {
                Block::StemProfile => survey.stem.len() <= STRAIGHT,
                Block::SternProfile => survey.stern.len() <= STRAIGHT,
                _ => false,
            }
    }

    /// The backbone's line in profile: spots of stem and post, and heights of the rabbet.
    fn of_backbone(&self) -> Vec<Stretch> {
        let (survey, facts) = (self.hull.survey(), &self.hull.source().facts);
        let rule = &self.backbone_rule;
        let Some(y) = rule.start().map(|p| p[1]) else { return Vec::new() };
        let mut read = Vec::new();
        let mut add = |x: f64, z: f64, cell: Option<CellId>| {
            if let Some((along, at)) = rule.nearest([x, y, z]) {
                read.push(Place { along, x: at[0], cell });
            }
        };
        let ends = [(&survey.stem, self.backbone.has_stem), (&survey.stern, self.backbone.has_post)];
        for spot in ends.iter().filter(|(_, has)| *has).flat_map(|(spots, _)| spots.iter()) {
            if self.is_read(spot.cell) && self.is_read(CellId { row: 0, ..spot.cell }) {
                add(spot.x, spot.z, Some(spot.cell));
            }
        }
        for line in &survey.lines {
            if (line.line, line.axis) == (RefLine::Rabbet, Axis::Height) && self.is_read(line.cell) {
                add(line.x, line.value, Some(line.cell));
            }
        }
        if let Some(transom) = survey.transom {
            add(transom.foot.0, transom.foot.1, None);
        }
        let mut unread = self.between(rule, read, true);
        // An assumed end is one stretch, whatever was written of it.
        let [stem, post] = self.on_backbone;
        for (end, is_assumed) in [(stem, facts.stem_assumed), (post, facts.stern_assumed)] {
            let Some((from, to)) = end.filter(|_| is_assumed) else { continue };
            let mut clear = Vec::new();
            for s in unread.drain(..) {
                if s.from < from {
                    clear.push(Stretch { to: s.to.min(from), ..s });
                }
                if s.to > to {
                    clear.push(Stretch { from: s.from.max(to), ..s });
                }
            }
            clear.push(Stretch { from, to, after: None, before: None, is_assumed });
            clear.retain(|s| s.to - s.from > SAME_M);
            clear.sort_by(|a, b| a.from.total_cmp(&b.from));
            unread = clear;
        }
        unread
    }

    /// A chine's or the sheer's heights or half-breadths; the rabbet's half-breadths.
    fn of_edge(&self, k: usize, axis: Axis, rule: &Rule) -> Vec<Stretch> {
        let survey = self.hull.survey();
        let chines = survey.chines;
        let line = match k {
            0 => RefLine::Rabbet,
            k if k > chines => RefLine::Sheer,
            k => RefLine::Chine(k - 1),
        };
        let mine =
            |l: &&scrieve_offsets::LineReading| l.line == line && l.axis == axis && self.is_read(l.cell);
        let mut read: Vec<Place> = survey
            .lines
            .iter()
            .filter(mine)
            .filter_map(|l| Some(Place { along: rule.along_at(l.x)?, x: l.x, cell: Some(l.cell) }))
            .collect();
        self.add_ends(rule, &mut read, line == RefLine::Sheer && axis == Axis::Height);
        self.between(rule, read, false)
    }

    /// Adds the ends of a line that runs out on an edge read there. `head` is the sheer in profile, which the
    /// transom's head tells the end of.
    fn add_ends(&self, rule: &Rule, read: &mut Vec<Place>, head: bool) {
        let xs: Vec<f64> = read.iter().map(|place| place.x).collect();
        for (end, along) in [(rule.start(), 0.0), (rule.end(), rule.length())] {
            let Some(end) = end else { continue };
            let x = end[0];
            let near = xs.iter().map(|read| (read - x).abs()).fold(f64::INFINITY, f64::min);
            if near > PAST * self.usual && (self.is_edge_read(end) || (head && self.is_transom_head(end))) {
                read.push(Place { along, x, cell: None });
            }
        }
    }

    fn is_transom_head(&self, p: V3) -> bool {
        let facts = &self.hull.source().facts;
        let transom = self.hull.survey().transom.filter(|_| !facts.transom_assumed);
        transom.is_some_and(|t| (t.x(p[1], p[2]) - p[0]).abs() < ON_EDGE_M)
    }

    /// Whether a point on an edge of the surface lies on a stretch of it that is read.
    fn is_edge_read(&self, p: V3) -> bool {
        let facts = &self.hull.source().facts;
        let is_read = |rule: &Rule, unread: &[&[Stretch]]| {
            let (along, _) = rule.nearest(p).filter(|(_, at)| distance(*at, p) < ON_EDGE_M)?;
            let inside = |s: &&Stretch| s.from - SAME_M <= along && along <= s.to + SAME_M;
            Some(!unread.iter().flat_map(|list| list.iter()).any(|s| inside(&s)))
        };
        if let Some(read) = is_read(&self.backbone_rule, &[&self.unread_backbone]) {
            return read;
        }
        for (_, rule, [heights, breadths]) in self.edges.iter().rev() {
            if let Some(read) = is_read(rule, &[heights, breadths]) {
                return read;
            }
        }
        let transom = self.hull.survey().transom;
        let on_transom = transom.is_some_and(|t| (t.x(p[1], p[2]) - p[0]).abs() < ON_EDGE_M);
        on_transom && self.transom_read && !facts.transom_assumed
    }

    /// A waterline's, buttock's or diagonal's curve: one branch of the hull's cut by the plane of that row.
    pub fn of_row(&self, row: usize, curve: &Curve) -> Vec<Stretch> {
        let (survey, rule) = (self.hull.survey(), Rule::new(curve));
        let (low, high) = rule.reach();
        let of_row = |block| matches!(block, Block::Heights | Block::HalfBreadths | Block::Diagonals);
        let mut read: Vec<Place> = Vec::new();
        for spot in survey.spots.iter().filter(|s| s.cell.row == row && of_row(s.cell.block)) {
            if !self.is_read(spot.cell) || !(low..=high).contains(&spot.x) {
                continue;
            }
            // Of a line that is cut in several branches, the one the reading is on.
            let Some((along, off)) = rule.nearest_across([spot.x, spot.y, spot.z]) else { continue };
            if off <= self.beside.max(ON_BRANCH_M) {
                read.push(Place { along, x: spot.x, cell: Some(spot.cell) });
            }
        }
        for &x in &self.stations {
            if read.iter().any(|place| (place.x - x).abs() < SAME_M) {
                continue;
            }
            for (along, at) in rule.at_x(x) {
                let is_beside = |p: &&V3| (p[0] - x).abs() < SAME_M && distance(**p, at) <= self.beside;
                if self.spots.iter().any(|p| is_beside(&p)) {
                    read.push(Place { along, x, cell: None });
                }
            }
        }
        self.add_ends(&rule, &mut read, false);
        self.between(&rule, read, false)
    }

    /// What is unread of the rabbet, the chines or the sheer, counted from the keel up, seen from the side or from above.
    pub fn of_reference_line(&self, k: usize, axis: Axis) -> Vec<Stretch> {
        match (k.checked_sub(1), axis) {
            (Some(k), _) => {
                let unread = self.edges.get(k).map(|(.., unread)| unread);
                unread.map_or(Vec::new(), |unread| unread[usize::from(axis == Axis::HalfBreadth)].clone())
            }
            (None, Axis::HalfBreadth) => self.rabbet.1.clone(),
            (None, Axis::Height) => {
                let from = self.on_backbone[0].map_or(0.0, |(_, to)| to);
                let to = self.on_backbone[1].map_or(self.backbone_rule.length(), |(from, _)| from);
                shifted(&self.unread_backbone, -from, to - from)
            }
        }
    }

    /// The same of the forward and the after end of the surface, rabbet to sheer, as [`crate::Hull::ends`] has them.
    pub fn of_ends(&self) -> [Vec<Stretch>; 2] {
        let [stem, post] = self.on_backbone;
        let stem = stem.map_or(Vec::new(), |(_, to)| {
            let mut turned = shifted(&self.unread_backbone, 0.0, to);
            for s in &mut turned {
                *s = Stretch { from: to - s.to, to: to - s.from, after: s.before, before: s.after, ..*s };
            }
            turned.reverse();
            turned
        });
        let mut aft = post.map_or(Vec::new(), |(from, to)| shifted(&self.unread_backbone, -from, to - from));
        if self.hull.survey().transom.is_some() {
            let facts = &self.hull.source().facts;
            let foot = post.map_or(0.0, |(from, to)| to - from);
            if !self.transom_read || facts.transom_assumed {
                let is_assumed = facts.transom_assumed;
                aft.push(Stretch {
                    from: foot,
                    to: self.after_length,
                    after: None,
                    before: None,
                    is_assumed,
                });
            }
        }
        // Without a stem or a stern she is cut off at her first or last station, which is where no boat ends.
        let table = self.hull.source();
        let cut_off = |to: f64| vec![Stretch { from: 0.0, to, after: None, before: None, is_assumed: true }];
        let open = !table.stations.is_empty() && table.stem.is_none();
        let stem = if open { cut_off(self.forward_length) } else { stem };
        let open = !table.stations.is_empty() && table.stern.is_none() && table.transom.is_none();
        let aft = if open { cut_off(self.after_length) } else { aft };
        [stem, aft]
    }

    /// What is unread of the whole backbone's line, from the head of the stem aft.
    pub fn of_backbone_line(&self) -> (&BackboneLine, &[Stretch]) {
        (&self.backbone, &self.unread_backbone)
    }

    /// The rows of the table that are lines of the surface cut by a plane.
    pub fn rows(&self) -> Vec<(usize, Plane)> {
        let table = self.hull.source();
        let (_, across, up) = table.facts.factors();
        let plane = |line: &LineKind| match line {
            LineKind::Waterline(z) => Some(Plane::at_z(z.metres() * up)),
            LineKind::Buttock(y) => Some(Plane::at_y(y.metres() * across)),
            LineKind::Diagonal(name) => {
                let d = table.diagonals.iter().find(|d| d.name == *name)?;
                let drop = (d.centreline_height - d.through_height).metres() * up;
                let angle = drop.atan2(d.through_half_breadth.metres() * across);
                Some(Plane::diagonal(d.centreline_height.metres() * up, angle))
            }
            _ => None,
        };
        let rows = table.rows.iter().enumerate();
        rows.filter_map(|(i, row)| Some((i, plane(&row.line)?))).collect()
    }
}

/// The stretches moved by so much, and clipped to a curve of this length.
fn shifted(stretches: &[Stretch], by: f64, length: f64) -> Vec<Stretch> {
    let moved =
        stretches.iter().map(|s| Stretch { from: (s.from + by).max(0.0), to: (s.to + by).min(length), ..*s });
    moved.filter(|s| s.to - s.from > SAME_M).collect()
}

fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied()
}
