//! How rough a table is, without fairing it: every reading against its neighbours along its row, and every spot
//! against its neighbours in the section. A first look at what a slip of the whole might be; it decides nothing.

use scrieve_offsets::{Axis, Block, RefLine, Survey};

/// Least and usual parts of the boat's length that readings miss their neighbours by, along a row and in a section.
const LEAST: f64 = 2e-4;
/// A neighbour on one side only tells so much less.
const AT_END: f64 = 4.0;
/// A spot outside its section counts as one that is so many times off.
const OUTSIDE: f64 = 30.0;
/// Beyond so many times what is usual it hardly matters how far: a single slip is no worse than that.
const FAR: f64 = 30.0;

/// A place in a section: y, z, and whether it is a spot between rabbet and sheer.
#[derive(Clone, Copy)]
struct InSection {
    y: f64,
    z: f64,
    spot: bool,
}

/// What misses are usual, m: along each row, and in sections.
pub(crate) struct Usual {
    along: f64,
    across: f64,
}

impl Usual {
    pub fn of(survey: &Survey) -> Self {
        let length = survey.stations.iter().fold(0.0f64, |a, b| a.max(*b)).max(1e-3);
        let middle = |mut of: Vec<f64>| {
            of.sort_by(f64::total_cmp);
            of.get(of.len() / 2).copied().unwrap_or(0.0).max(LEAST * length)
        };
        Usual { along: middle(along(survey)), across: middle(across(survey).0) }
    }

    /// How rough a survey is, in logs.
    pub fn roughness(&self, survey: &Survey) -> f64 {
        let counts = |off: f64| (1.0 + off.min(FAR).powi(2)).ln();
        let (misses, outside) = across(survey);
        let rows: f64 = along(survey).into_iter().map(|off| counts(off / self.along)).sum();
        let sections: f64 = misses.into_iter().map(|off| counts(off / self.across)).sum();
        rows + sections + outside as f64 * counts(OUTSIDE)
    }
}

/// How far readings lie off the curve through their neighbours in the row.
fn along(survey: &Survey) -> Vec<f64> {
    let mut rows: Vec<((Block, usize), Vec<(f64, f64)>)> = Vec::new();
    let mut add = |row: (Block, usize), x: f64, value: f64| match rows.iter_mut().find(|r| r.0 == row) {
        Some(own) => own.1.push((x, value)),
        None => rows.push((row, vec![(x, value)])),
    };
    for l in &survey.lines {
        add((l.cell.block, l.cell.row), l.x, l.value);
    }
    for s in survey.spots.iter().filter(|s| s.cell.block != Block::Points) {
        add((s.cell.block, s.cell.row), s.x, s.y * s.along.0 + s.z * s.along.1);
    }
    let mut misses = Vec::new();
    for (_, mut of) in rows {
        of.sort_by(|a, b| a.0.total_cmp(&b.0));
        for i in 0..of.len() {
            let near: Vec<(f64, f64)> = if i == 0 {
                of.iter().skip(1).take(3).copied().collect()
            } else if i + 1 == of.len() {
                of.iter().rev().skip(1).take(3).copied().collect()
            } else {
                let (low, high) = (i.saturating_sub(2), (i + 3).min(of.len()));
                (low..high).filter(|&j| j != i).map(|j| of[j]).collect()
            };
            if near.len() < 2 {
                continue;
            }
            let miss = (of[i].1 - through(&near, of[i].0)).abs();
            misses.push(if i == 0 || i + 1 == of.len() { miss / AT_END } else { miss });
        }
    }
    misses
}

/// The polynomial through a few points.
fn through(points: &[(f64, f64)], x: f64) -> f64 {
    let weight = |i: usize| {
        let others = points.iter().enumerate().filter(|(j, _)| *j != i);
        others.map(|(_, p)| (x - p.0) / (points[i].0 - p.0)).product::<f64>()
    };
    (0..points.len()).map(|i| points[i].1 * weight(i)).filter(|v| v.is_finite()).sum()
}

/// The places of each section in order up it.
fn sections(survey: &Survey) -> Vec<Vec<InSection>> {
    let greatest =
        |of: &dyn Fn(&InSection) -> f64, all: &[InSection]| all.iter().map(of).fold(1e-6, f64::max);
    let of_column = |column: usize| {
        let own = |line: RefLine, axis: Axis| {
            let same = |l: &&scrieve_offsets::LineReading| {
                l.line == line && l.axis == axis && l.cell.column == column
            };
            survey.lines.iter().find(same).map(|l| l.value)
        };
        let mut all: Vec<InSection> = Vec::new();
        let edges = [RefLine::Rabbet, RefLine::Sheer].into_iter();
        for line in edges.chain((0..survey.chines).map(RefLine::Chine)) {
            let y = own(line, Axis::HalfBreadth)
                .or_else(|| (line == RefLine::Rabbet).then_some(survey.half_siding));
            if let (Some(y), Some(z)) = (y, own(line, Axis::Height)) {
                all.push(InSection { y, z, spot: false });
            }
        }
        let spots = survey.spots.iter().filter(|s| s.cell.block != Block::Points && s.cell.column == column);
        all.extend(spots.map(|s| InSection { y: s.y, z: s.z, spot: true }));
        all
    };
    let all: Vec<Vec<InSection>> = (0..survey.stations.len()).map(of_column).collect();
    let flat: Vec<InSection> = all.iter().flatten().copied().collect();
    let mut sizes = [greatest(&|s| s.y, &flat), greatest(&|s| s.z, &flat)];
    // A row in another unit must not make all else small: by the middle of the sections' own.
    for (size, of) in sizes.iter_mut().zip([|s: &InSection| s.y, |s: &InSection| s.z]) {
        let mut each: Vec<f64> =
            all.iter().filter(|s| !s.is_empty()).map(|s| s.iter().map(of).fold(1e-6, f64::max)).collect();
        each.sort_by(f64::total_cmp);
        *size = each.get(each.len() / 2).copied().unwrap_or(*size);
    }
    let up = |s: &InSection| s.y / sizes[0] + s.z / sizes[1];
    let mut all = all;
    for section in &mut all {
        section.sort_by(|a, b| up(a).total_cmp(&up(b)));
    }
    all
}

/// How far spots lie off the chord of their neighbours in the section, and how many lie where no section is.
fn across(survey: &Survey) -> (Vec<f64>, usize) {
    let (mut misses, mut outside) = (Vec::new(), 0);
    for section in sections(survey) {
        for w in section.windows(3) {
            if !w[1].spot {
                continue;
            }
            let (dy, dz) = (w[2].y - w[0].y, w[2].z - w[0].z);
            let chord = dy.hypot(dz).max(1e-9);
            misses.push(((w[1].y - w[0].y) * dz - (w[1].z - w[0].z) * dy).abs() / chord);
            // It does not run back down.
            outside += usize::from(w[1].z < w[0].z - 0.1 * chord);
        }
        let inner = section.len().saturating_sub(1);
        let ends = section.iter().enumerate().filter(|(i, s)| s.spot && (*i == 0 || *i == inner));
        outside += ends.count();
    }
    (misses, outside)
}

/// Where sections have a half-breadth, or a height, by all rows but some: the median of what `of` makes of that
/// and of each reading of a row, and how many there were.
pub(crate) fn by_others(survey: &Survey, without: &[usize], row: usize, height: bool) -> Vec<(f64, f64)> {
    let mut rest = survey.clone();
    rest.spots.retain(|s| !without.contains(&s.cell.row));
    rest.lines.retain(|l| !without.contains(&l.cell.row));
    let sections = sections(&rest);
    let own = survey.spots.iter().filter(|s| s.cell.row == row && s.cell.block != Block::Points);
    let found = own.filter_map(|s| {
        let section = sections.get(s.cell.column)?;
        // Crossing of the chain of straights with the spot's own level or breadth.
        let (of, by): (fn(&InSection) -> f64, fn(&InSection) -> f64) =
            if height { (|s| s.y, |s| s.z) } else { (|s| s.z, |s| s.y) };
        let at = if height { s.y } else { s.z };
        let crossing = section.windows(2).find_map(|w| {
            let (a, b) = (of(&w[0]) - at, of(&w[1]) - at);
            (a * b <= 0.0 && a != b).then(|| by(&w[0]) + (by(&w[1]) - by(&w[0])) * a / (a - b))
        })?;
        Some((if height { s.z } else { s.y }, crossing))
    });
    found.collect()
}
