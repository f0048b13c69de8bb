//! Where the planking is little known: stretches between readings that nobody should cut a mould by.
//!
//! Two standard deviations of the surface are held against what cutting may be off by, at a grid of places of every
//! patch; places next to one another are one stretch, told by its worst place. What two premises about an end differ by
//! (`ways`) has a remark of its own and calls for none here, but is counted in what is said; the run onto a sternpost under a
//! transom is left out.

use scrieve_offsets::Table;

use crate::Faired;
use crate::certainty::Certainty;
use scrieve_surface::Surface;

/// Cut farther off than this, m, a mould is made again: a quarter of an inch is the most that is dubbed off or packed
/// out in planking. *Common practice.*
const CUT: f64 = 0.006;
/// A table that is itself read more coarsely has nothing to say of so little: so many tolerances of its own spots. At an
/// eighth of an inch both come to the same.
const OWN: f64 = 4.0;
/// How many standard deviations are told.
const TOLD: f64 = 2.0;
/// Doubt of the parameters adds less than this part to a standard deviation, nearly always: below it, it is not asked.
const DOUBT_ADDS: f64 = 1.5;
/// Places along and across a patch.
const PLACES: (usize, usize) = (48, 12);
/// A place this near an edge of its patch is known by readings of that edge, in steps across.
const ON_EDGE: usize = 0;
/// Within this of a station, as a part of the distance to the next, a place is told to be at it.
const AT_STATION: f64 = 0.1;

/// A stretch of the planking that the readings leave open.
#[derive(Clone, Debug, PartialEq)]
pub struct Unsure {
    /// Two standard deviations where it is least known, square to the surface, m.
    pub off: f64,
    /// That place: x, half-breadth and height, m.
    pub at: [f64; 3],
    /// From where to where it reaches aft, m.
    pub from_stem: (f64, f64),
    /// From what height to what height, m.
    pub height: (f64, f64),
    /// What to read there.
    settles: Settles,
    /// Of each column of places, its x and the worst of two standard deviations there.
    along: Vec<(f64, f64)>,
}

/// A reading that would tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Settles {
    HalfBreadth,
    Height,
    /// Of an edge: the rabbet, a chine from the keel up, the sheer.
    Edge(usize),
}

#[derive(Clone, Copy)]
struct Looked {
    off: f64,
    at: [f64; 3],
    /// Whether the surface lies more level than upright.
    level: bool,
}

/// The stretches of a surface, the worst first; places farther aft than `before` are not looked at. `tolerance` is what
/// spots are usually read to, m.
pub(crate) fn unsure(certainty: &Certainty, surface: &Surface, tolerance: f64, before: f64) -> Vec<Unsure> {
    let most = CUT.max(OWN * tolerance);
    let (across, along) = (PLACES.1 + 1, PLACES.0 - 1);
    let rows = surface.patches.len() * across;
    let look = |row: usize, column: usize| -> Option<Looked> {
        let (k, j) = (row / across, row % across);
        let (u, v) = ((column + 1) as f64 / PLACES.0 as f64, j as f64 / PLACES.1 as f64);
        let patch = surface.patches.get(k)?;
        let at = patch.point(u, v);
        let off = |sd: f64| TOLD * sd;
        if at[0] > before || DOUBT_ADDS * off(certainty.least_sd(surface, k, (u, v))) < most {
            return None;
        }
        let (sd, of_ways) = (certainty.sd_as_throughout(surface, k, u, v), certainty.of_ways(k, u, v));
        let without = off((sd * sd - of_ways).max(0.0).sqrt());
        let (_, du, dv) = patch.tangents(u, v);
        let normal = [du[2] * dv[0] - du[0] * dv[2], du[0] * dv[1] - du[1] * dv[0]];
        // What is said is all that is known of, for that is what a mould may be off by.
        (without > most && without.is_finite()).then_some(Looked {
            off: off(certainty.sd(surface, k, u, v)),
            at,
            level: normal[1].abs() > normal[0].abs(),
        })
    };
    let mut looked: Vec<Vec<Option<Looked>>> =
        (0..rows).map(|row| (0..along).map(|column| look(row, column)).collect()).collect();
    let mut found = Vec::new();
    for row in 0..rows {
        for column in 0..along {
            if looked[row][column].is_some() {
                found.extend(stretch(&mut looked, (row, column), across));
            }
        }
    }
    found.sort_by(|a: &Unsure, b| b.off.total_cmp(&a.off));
    found
}

/// All that hangs together with a place, taken out.
fn stretch(looked: &mut [Vec<Option<Looked>>], from: (usize, usize), across: usize) -> Option<Unsure> {
    let mut places = Vec::new();
    let mut next = vec![from];
    while let Some((row, column)) = next.pop() {
        let Some(place) = looked.get_mut(row).and_then(|r| r.get_mut(column)).and_then(Option::take) else {
            continue;
        };
        places.push((row, column, place));
        for (r, c) in [
            (row + 1, column),
            (row.wrapping_sub(1), column),
            (row, column + 1),
            (row, column.wrapping_sub(1)),
        ] {
            next.push((r, c));
        }
    }
    let &(row, _, worst) = places.iter().max_by(|a, b| a.2.off.total_cmp(&b.2.off))?;
    let range = |k: usize| {
        let of = places.iter().map(|p| p.2.at[k]);
        (of.clone().fold(f64::MAX, f64::min), of.fold(f64::MIN, f64::max))
    };
    let (patch, j) = (row / across, row % across);
    let settles = match j {
        ON_EDGE => Settles::Edge(patch),
        j if j + 1 == across => Settles::Edge(patch + 1),
        _ if worst.level => Settles::Height,
        _ => Settles::HalfBreadth,
    };
    let mut columns: Vec<usize> = places.iter().map(|p| p.1).collect();
    columns.sort_unstable();
    columns.dedup();
    let along = columns.into_iter().filter_map(|c| {
        let here = places.iter().filter(|p| p.1 == c);
        here.max_by(|a, b| a.2.off.total_cmp(&b.2.off)).map(|p| (p.2.at[0], p.2.off))
    });
    let along = along.collect();
    Some(Unsure { off: worst.off, at: worst.at, from_stem: range(0), height: range(2), settles, along })
}

impl Unsure {
    /// How far off a section there may be, m, if it passes through this.
    pub fn at_section(&self, x: f64) -> Option<f64> {
        if x < self.from_stem.0 || x > self.from_stem.1 {
            return None;
        }
        self.along.iter().min_by(|a, b| (a.0 - x).abs().total_cmp(&(b.0 - x).abs())).map(|a| a.1)
    }

    /// The remark. `stations` are x, m, and name of each; `chines` how many there are.
    fn text(&self, stations: &[(f64, String)], chines: usize) -> String {
        let ([x, y, z], (low, high)) = (self.at, self.height);
        let up =
            if high - low < 0.01 { format!("{z:.2} m up") } else { format!("{low:.2} to {high:.2} m up") };
        let reading = match self.settles {
            Settles::HalfBreadth => format!("a half-breadth {z:.2} m up at x = {x:.2} m"),
            Settles::Height => format!("a height {y:.2} m out at x = {x:.2} m"),
            Settles::Edge(0) => format!("the rabbet at x = {x:.2} m"),
            Settles::Edge(i) if i <= chines => format!("the chine at x = {x:.2} m"),
            Settles::Edge(_) => format!("the sheer at x = {x:.2} m"),
        };
        format!(
            "{}, {up}, the planking may be off by {:.0} mm and more, most near x = {x:.2} m, y = {y:.2} m, z = {z:.2} m, for \
             no reading tells how it runs there: {reading} would",
            between(stations, self.from_stem),
            1e3 * self.off
        )
    }
}

/// "Between stations 7 and 8", as far as a stretch reaches.
fn between(stations: &[(f64, String)], (from, to): (f64, f64)) -> String {
    let mut stations: Vec<&(f64, String)> = stations.iter().collect();
    stations.sort_by(|a, b| a.0.total_cmp(&b.0));
    let usual = stations.windows(2).map(|w| w[1].0 - w[0].0).fold(0.0, f64::max);
    let near = AT_STATION * usual;
    let before = stations.iter().rfind(|s| s.0 <= from + near);
    let after = stations.iter().find(|s| s.0 >= to - near);
    match (before, after) {
        (Some(a), Some(b)) if a.1 == b.1 => format!("at station {}", a.1),
        (Some(a), Some(b)) => format!("between stations {} and {}", a.1, b.1),
        (None, Some(b)) => format!("forward of station {}", b.1),
        (Some(a), None) => format!("abaft station {}", a.1),
        (None, None) => "all along her".to_string(),
    }
}

impl Faired {
    /// What is to be said of stretches of the planking that the readings leave open, each with where it lies, how far off
    /// it may be and what reading would tell, the worst first; stations are called what the table calls them.
    pub fn unsure_remarks(&self, table: &Table) -> Vec<String> {
        let Some(kept) = &self.kept else { return Vec::new() };
        let survey = self.facts_taken(&kept.survey);
        let named = |(column, station): (usize, &scrieve_offsets::Station)| {
            let x = survey.stations.get(column)?;
            Some((*x, station.name.clone()))
        };
        let stations: Vec<(f64, String)> = table.stations.iter().enumerate().filter_map(named).collect();
        self.unsure.iter().map(|unsure| unsure.text(&stations, survey.chines)).collect()
    }
}
