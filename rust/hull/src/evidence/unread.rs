//! Every stretch of the table's lines that no reading is near, listed for a person: which, where, how unsure, and why.

use scrieve_offsets::{Axis, Block, CellId, RefLine};

use super::{APART, Evidence, SAME_M, Stretch};
use crate::{Boat, Curve, Plane};
use scrieve_surface::vector::{V3, distance};

/// A stretch of a line that no reading is near.
#[derive(Clone, Debug, PartialEq)]
pub struct Unread {
    /// What the table calls the line; for a rabbet, chine or sheer also the view.
    pub line: String,
    /// Where it begins, m.
    pub from: [f64; 3],
    /// Where it ends, m.
    pub to: [f64; 3],
    /// Its length in space, m.
    pub length: f64,
    /// The greatest standard deviation of the surface along it, square to the surface, m; `None` of a keel's
    /// underside, which is no part of the surface.
    pub sd: Option<f64>,
    /// The table says that this end of the boat is assumed, or what its blanks are taken for.
    pub is_assumed: bool,
    /// Between which readings, and what was there besides.
    pub why: String,
}

/// Places along a stretch at which the surface's standard deviation is asked.
const LOOKS: usize = 9;

/// A part of the backbone's line is named if a stretch runs along more than this share of the stretch.
const NAMED: f64 = 0.05;

impl Evidence<'_> {
    /// Why a stretch is unread, for a person.
    fn why(&self, stretch: &Stretch, row: Option<usize>) -> String {
        if stretch.is_assumed {
            return "assumed, not measured".to_owned();
        }
        let table = self.hull.source();
        let place = |cell: CellId| {
            let (station, _) = table.describe(cell);
            match cell.block {
                Block::StemProfile => format!("spot {station} of the stem"),
                Block::SternProfile => format!("spot {station} of the stern"),
                _ => format!("station {station}"),
            }
        };
        let mut why = match (stretch.after, stretch.before) {
            (Some(a), Some(b)) => format!("no reading between {} and {}", place(a), place(b)),
            (Some(a), None) => format!("no reading past {}", place(a)),
            (None, Some(b)) => format!("no reading before {}", place(b)),
            (None, None) => "no reading".to_owned(),
        };
        let of_row = |cell: &CellId| !matches!(cell.block, Block::StemProfile | Block::SternProfile);
        let column = |cell: Option<CellId>| cell.filter(of_row).map(|c| c.column);
        let (low, high) = (column(stretch.after), column(stretch.before));
        let within = |c: usize| low.is_none_or(|low| c > low) && high.is_none_or(|high| c < high);
        let mut said = Vec::new();
        let there = |cell: &CellId| Some(cell.row) == row && within(cell.column);
        for (_, blank) in table.blanks.iter().filter(|(cell, _)| there(cell)) {
            let text = format!("blanks taken as {}", blank.word());
            if *blank != scrieve_offsets::Blank::NotTaken && !said.contains(&text) {
                said.push(text);
            }
        }
        if self.doubted.iter().any(|cell| there(cell) && cell.block != Block::Points) {
            said.push("what was read there is left out".to_owned());
        }
        if !said.is_empty() {
            why += &format!("; {}", said.join(", "));
        }
        why
    }

    /// The row of the table that gives a co-ordinate of an edge, if there is one.
    fn row_of(&self, k: usize, axis: Axis) -> Option<usize> {
        let survey = self.hull.survey();
        let line = match k {
            0 => RefLine::Rabbet,
            k if k > survey.chines => RefLine::Sheer,
            k => RefLine::Chine(k - 1),
        };
        survey.lines.iter().find(|l| l.line == line && l.axis == axis).map(|l| l.cell.row)
    }

    fn listed(&self, line: String, curve: &Curve, stretch: &Stretch, row: Option<usize>) -> Option<Unread> {
        let part = curve.trimmed(stretch.from, stretch.to);
        let (from, to) = (part.start()?.p, part.end()?.p);
        let why = self.why(stretch, row);
        let is_assumed = stretch.is_assumed || why.contains("blanks taken as");
        let sd = self.greatest_sd(&part);
        Some(Unread { line, from, to, length: stretch.to - stretch.from, sd, is_assumed, why })
    }

    /// The greatest standard deviation along a part of a line of the surface, m.
    fn greatest_sd(&self, part: &Curve) -> Option<f64> {
        let places = part.points(LOOKS);
        places.iter().filter_map(|p| self.hull.sd_near(*p)).reduce(f64::max)
    }
}

impl Boat {
    /// Every stretch of the table's lines that no reading is near, and what is assumed: stem, rabbet and sternpost in
    /// profile, the edges in profile and in plan, waterlines, buttocks, diagonals, the transom's edge, and the
    /// underside of the keel. None of a hull without a table.
    pub fn unread(&self) -> Vec<Unread> {
        if self.source().stations.is_empty() {
            return Vec::new();
        }
        let evidence = Evidence::of(self);
        let mut found = Vec::new();
        let [stem, post] = evidence.on_backbone;
        let (line, unread) = evidence.of_backbone_line();
        let stem_ends = stem.map_or(0.0, |(_, to)| to);
        let post_begins = post.map_or(f64::INFINITY, |(from, _)| from);
        for stretch in unread {
            let parts = [
                ("stem", 0.0, stem_ends),
                ("rabbet", stem_ends, post_begins),
                ("sternpost", post_begins, f64::INFINITY),
            ];
            let least = NAMED * (stretch.to - stretch.from);
            let along = |from: f64, to: f64| stretch.to.min(to) - stretch.from.max(from);
            let names: Vec<&str> = parts
                .iter()
                .filter(|(_, from, to)| along(*from, *to) > least)
                .map(|(name, ..)| *name)
                .collect();
            let name = format!("{} in profile", names.join(" and "));
            found.extend(evidence.listed(name, &line.curve, stretch, evidence.row_of(0, Axis::Height)));
        }
        let lines = self.reference_lines();
        let last = lines.len().saturating_sub(1);
        for (view, axis) in [("profile", Axis::Height), ("plan", Axis::HalfBreadth)] {
            for (k, curve) in lines.iter().enumerate() {
                if k == 0 && axis == Axis::Height {
                    continue;
                }
                let name = match k {
                    0 => "rabbet".to_owned(),
                    _ if k == last => "sheer".to_owned(),
                    _ if last == 2 => "chine".to_owned(),
                    _ => format!("chine {k}"),
                };
                for stretch in evidence.of_reference_line(k, axis) {
                    let row = evidence.row_of(k, axis);
                    found.extend(evidence.listed(format!("{name} in {view}"), curve, &stretch, row));
                }
            }
        }
        for (row, plane) in evidence.rows() {
            for curve in self.cut(&plane).unwrap_or_default() {
                for stretch in evidence.of_row(row, &curve) {
                    let label = self.source().row_name(row);
                    found.extend(evidence.listed(label, &curve, &stretch, Some(row)));
                }
            }
        }
        if self.survey().transom.is_some() {
            let [_, aft] = self.ends(Plane::at_x(0.0));
            let [_, unread] = evidence.of_ends();
            let from = post.map_or(0.0, |(from, to)| to - from);
            for stretch in unread.iter().filter(|s| s.from >= from - SAME_M) {
                found.extend(evidence.listed("transom".to_owned(), &aft, stretch, None));
            }
        }
        found.extend(evidence.of_underside());
        found
    }

    /// One standard deviation of the surface at the place nearest to a point on it or on its edge, m.
    fn sd_near(&self, p: V3) -> Option<f64> {
        self.sd(p[0], p[2]).ok().or_else(|| self.sd_of_edge(p))
    }

    /// The same at the place of an edge of the surface nearest to `p`.
    fn sd_of_edge(&self, p: V3) -> Option<f64> {
        /// Places along each edge.
        const EDGE: usize = 48;
        let mut best: Option<(f64, usize, f64, f64)> = None;
        for (k, patch) in self.surface().patches.iter().enumerate() {
            for i in 0..=EDGE {
                let t = i as f64 / EDGE as f64;
                for (u, v) in [(t, 0.0), (t, 1.0), (0.0, t), (1.0, t)] {
                    let off = distance(patch.point(u, v), p);
                    if best.is_none_or(|(least, ..)| off < least) {
                        best = Some((off, k, u, v));
                    }
                }
            }
        }
        best.map(|(_, patch, u, v)| self.faired().sd(patch, u, v))
    }
}

impl Evidence<'_> {
    /// The underside of the keel, over the rabbet it lies under: the row's own readings alone tell of it. From the last of
    /// them it is carried on to stem and post, by a spacing and a half at the most.
    fn of_underside(&self) -> Vec<Unread> {
        let survey = self.hull.survey();
        let mut read: Vec<(f64, f64, CellId)> =
            survey.keel.iter().filter(|s| self.is_read(s.cell)).map(|s| (s.x, s.z, s.cell)).collect();
        let Some(rabbet) = self.hull.reference_lines().into_iter().next() else { return Vec::new() };
        let (Some(start), Some(end), false) = (rabbet.start(), rabbet.end(), read.is_empty()) else {
            return Vec::new();
        };
        read.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (first, last) = (read[0], read[read.len() - 1]);
        let mut unread = Vec::new();
        let mut add = |after: Option<CellId>, before: Option<CellId>, from: [f64; 2], to: [f64; 2]| {
            let length = (to[0] - from[0]).hypot(to[1] - from[1]);
            let stretch = Stretch { from: 0.0, to: length, after, before, is_assumed: false };
            let why = self.why(&stretch, after.or(before).map(|cell| cell.row));
            let is_assumed = why.contains("blanks taken as");
            let (from, to) = ([from[0], 0.0, from[1]], [to[0], 0.0, to[1]]);
            unread.push(Unread { line: "keel".to_owned(), from, to, length, sd: None, is_assumed, why });
        };
        let far = |a: f64, b: f64| b - a > APART * self.spacing(a, b) + SAME_M;
        if far(start.p[0], first.0) {
            add(None, Some(first.2), [start.p[0], first.1], [first.0, first.1]);
        }
        for w in read.windows(2).filter(|w| far(w[0].0, w[1].0)) {
            add(Some(w[0].2), Some(w[1].2), [w[0].0, w[0].1], [w[1].0, w[1].1]);
        }
        if far(last.0, end.p[0]) {
            add(Some(last.2), None, [last.0, last.1], [end.p[0], last.1]);
        }
        unread
    }
}
