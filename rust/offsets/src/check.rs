//! What a table cannot say, and what it should not: contradictions between cells that read well one by one.
//!
//! What a slip of the pen may cause is a warning, since proofreading is there to find it; what leaves no
//! table to proofread is an error.

use std::collections::HashMap;
use std::ops::Range;

use scrieve_notation::{Length, Reading, parse_cell};

use crate::head::Head;
use crate::mistake::Log;
use crate::table::{Contents, Layout};
use crate::{Block, CellId, LineKind, Row};

/// Fewest stations that make a boat.
const FEWEST_STATIONS: usize = 2;

/// A transom farther abaft the last station than so many of the widest spaces between stations is thought a slip:
/// what lies between is drawn from nothing.
const FARTHEST_ABAFT: f64 = 2.0;

pub(crate) fn check(contents: &Contents, head: &Head, layout: &Layout, log: &mut Log<'_>) {
    stations(contents, layout, log);
    transom(contents, head, layout, log);
    readings(contents, layout, log);
    let between = Between::new(contents);
    if sheer_above_rabbet(contents, &between, layout, log) {
        inside_the_section(contents, &between, layout, log);
    }
    points(contents, layout, log);
    planking(contents, head, log);
}

fn stations(contents: &Contents, layout: &Layout, log: &mut Log<'_>) {
    let mut names = HashMap::new();
    for (i, station) in contents.stations.iter().enumerate() {
        let at = layout.stations[i].0.clone();
        if names.insert(&station.name, i).is_some() {
            log.error(at, format!("a second station `{}`", station.name), "a name for each station");
        }
    }
    if contents.stations.len() < FEWEST_STATIONS {
        let at = layout.stations[0].0.clone();
        log.error(at, "a table of one station", "two stations or more");
    }
    let placed = contents.stations.iter().enumerate().filter_map(|(i, s)| Some((i, s.from_stem.as_ref()?)));
    let mut last: Option<(usize, &Reading)> = None;
    for (i, reading) in placed {
        if let Some((before, other)) = last
            && reading.length <= other.length
        {
            let (this, that) = (&contents.stations[i].name, &contents.stations[before].name);
            let order = if reading.length < other.length { "lies forward of" } else { "is where" };
            let rest = if reading.length < other.length { "" } else { " is" };
            let problem = format!("station {this} {order} station {that}{rest}, which stands before it");
            log.error(layout.stations[i].1.clone(), problem, format!("more than {}", other.written));
        }
        last = Some((i, reading));
    }
}

/// So many readings of a row are told one by one; more are one fault, of the row.
const MOST_ALIKE: usize = 3;

fn transom(contents: &Contents, head: &Head, layout: &Layout, log: &mut Log<'_>) {
    let last = contents.stations.len() - 1;
    // Without distances every station would seem to be the transom; that is reported by itself.
    let unplaced = contents.stations.iter().enumerate().filter(|(i, s)| {
        s.from_stem.is_none()
            && !layout.stations[*i].1.is_empty()
            && is_missing(contents, log, &layout.stations[*i].1)
    });
    let unplaced = unplaced.map(|(i, _)| i).collect::<Vec<_>>();
    for i in unplaced {
        let at = layout.stations[i].1.clone();
        if i != last {
            log.error(
                at,
                "a station without a distance",
                "a reading; `-` is for the transom, which stands last",
            );
        } else if head.transom_at.is_none() {
            log.error(
                at,
                "a column on the transom, but no transom",
                "`[transom]` with `foot` and `head` among the facts",
            );
        }
    }
    let (Some(transom), Some(at)) = (&contents.transom, &head.transom_at) else { return };
    let aftmost = contents.stations.iter().rev().find_map(|s| s.from_stem.as_ref());
    if aftmost.is_some_and(|r| r.length > transom.foot.0 && r.length > transom.head.0) {
        log.warn(at.clone(), "the transom lies forward of the last station", "it abaft the stations");
    }
    let placed: Vec<f64> =
        contents.stations.iter().filter_map(|s| s.from_stem.as_ref()).map(|r| r.length.metres()).collect();
    let widest = placed.windows(2).map(|pair| pair[1] - pair[0]).fold(0.0, f64::max);
    let abaft = transom.foot.0.min(transom.head.0).metres() - placed.last().copied().unwrap_or(0.0);
    if placed.len() > 1 && abaft > FARTHEST_ABAFT * widest {
        log.warn(
            at.clone(),
            format!("the transom stands {abaft:.2} m abaft the last station, with no reading between"),
            format!("it nearer: stations stand {widest:.2} m apart at most"),
        );
    }
}

/// Whether a cell says that it holds nothing, rather than being mistaken.
fn is_missing(contents: &Contents, log: &Log<'_>, at: &Range<usize>) -> bool {
    parse_cell(&log.text()[at.clone()], &contents.facts.dialect) == Ok(None)
}

fn readings(contents: &Contents, layout: &Layout, log: &mut Log<'_>) {
    let mut any = !contents.points.is_empty();
    for (row, (_, cells)) in contents.rows.iter().zip(&layout.rows) {
        any |= row.cells.iter().any(Option::is_some);
        if row.block == Block::Heights {
            continue;
        }
        for (reading, at) in row.cells.iter().zip(cells) {
            if reading.as_ref().is_some_and(|r| r.length < Length::ZERO) {
                log.error(at.clone(), "a negative half-breadth", "nought or more, out from the centreline");
            }
        }
    }
    if let Some(negative) = contents.rows.iter().zip(&layout.rows).find_map(|(row, (label, _))| {
        matches!(row.line, LineKind::Buttock(y) if y <= Length::ZERO).then_some(label)
    }) {
        log.error(negative.clone(), "a buttock on the centreline", "a half-breadth over nought");
    }
    if !any && !log.has_errors() {
        let at = layout.rows.first().map_or(&layout.stations[0].0, |(label, _)| label);
        log.error(at.clone(), "a table without a reading", "readings");
    }
}

/// Heights of rabbet and sheer at each station.
struct Between<'a> {
    rabbet: Option<(usize, &'a Row)>,
    sheer: Option<(usize, &'a Row)>,
}

impl<'a> Between<'a> {
    fn new(contents: &'a Contents) -> Self {
        let find = |line: LineKind| {
            contents.rows.iter().enumerate().find(|(_, r)| r.block == Block::Heights && r.line == line)
        };
        Between { rabbet: find(LineKind::Rabbet), sheer: find(LineKind::Sheer) }
    }

    fn rabbet(&self, station: usize) -> Option<&'a Reading> {
        self.rabbet?.1.cells.get(station)?.as_ref()
    }

    fn sheer(&self, station: usize) -> Option<&'a Reading> {
        self.sheer?.1.cells.get(station)?.as_ref()
    }
}

/// One reading where the sheer is not above the rabbet is a slip; at more than half of the stations no table of a hull
/// has that, and nothing else there is to say of its sections is worth reading: then this is false.
fn sheer_above_rabbet(
    contents: &Contents,
    between: &Between<'_>,
    layout: &Layout,
    log: &mut Log<'_>,
) -> bool {
    let stations = 0..contents.stations.len();
    let both = stations.filter_map(|i| Some((i, between.sheer(i)?, between.rabbet(i)?))).collect::<Vec<_>>();
    let below = both.iter().filter(|(_, sheer, rabbet)| sheer.length <= rabbet.length);
    let below = below.map(|(i, _, rabbet)| (*i, *rabbet)).collect::<Vec<_>>();
    let Some((row, _)) = between.sheer else { return true };
    let place = |i: usize| layout.cell(CellId { block: Block::Heights, row, column: i });
    let name = |i: usize| contents.stations[i].name.as_str();
    if let Some(first) = below.first().filter(|_| 2 * below.len() > both.len())
        && let Some(at) = place(first.0)
    {
        let names: Vec<&str> = below.iter().map(|b| name(b.0)).collect();
        let problem = format!(
            "this table does not describe a hull: the sheer is not above the rabbet at {} of {} stations ({})",
            below.len(),
            both.len(),
            names.join(", ")
        );
        log.error(at, problem, "heights of the sheer above those of the rabbet: begin with these two rows");
        return false;
    }
    for (i, rabbet) in below {
        let Some(at) = place(i) else { continue };
        let problem = format!("at station {} the sheer is not above the rabbet", name(i));
        log.warn(at, problem, format!("more than {}", rabbet.written));
    }
    true
}

fn inside_the_section(contents: &Contents, between: &Between<'_>, layout: &Layout, log: &mut Log<'_>) {
    for (row, (row_label, cells)) in contents.rows.iter().zip(&layout.rows) {
        let mut outside: [Vec<(usize, String)>; 2] = Default::default();
        for (i, reading) in row.cells.iter().enumerate() {
            let Some(reading) = reading else { continue };
            let height = match &row.line {
                LineKind::Waterline(height) => *height,
                LineKind::Buttock(_) => reading.length,
                LineKind::Chine(_) if row.block == Block::Heights => reading.length,
                _ => continue,
            };
            if let Some(sheer) = between.sheer(i).filter(|sheer| height > sheer.length) {
                outside[0].push((i, format!("`-`, or under {}", sheer.written)));
            } else if let Some(rabbet) = between.rabbet(i).filter(|rabbet| height < rabbet.length) {
                outside[1].push((i, format!("`-`, or over {}", rabbet.written)));
            }
        }
        for (stations, side) in outside.iter().zip(["above the sheer", "below the rabbet"]) {
            let name = |i: usize| contents.stations[i].name.as_str();
            let label = &row.label;
            if stations.len() <= MOST_ALIKE {
                for (i, expected) in stations {
                    let problem = format!("{label} lies {side} at station {}", name(*i));
                    log.warn(cells[*i].clone(), problem, expected.clone());
                }
                continue;
            }
            // One fault of the row, not one of each of its readings.
            let some: Vec<&str> = stations.iter().take(MOST_ALIKE).map(|(i, _)| name(*i)).collect();
            let problem = format!(
                "{label} lies {side} at {} stations: {} and {} more",
                stations.len(),
                some.join(", "),
                stations.len() - some.len()
            );
            log.warn(
                row_label.clone(),
                problem,
                "another height, or another unit, for the row or for the heights",
            );
        }
    }
}

fn points(contents: &Contents, layout: &Layout, log: &mut Log<'_>) {
    let names = contents.stations.iter().map(|s| s.name.as_str()).collect::<std::collections::HashSet<_>>();
    for (i, point) in contents.points.iter().enumerate() {
        if !names.contains(point.station.as_str()) {
            let at = layout.point_stations[i].clone();
            log.error(at, format!("no station is called `{}`", point.station), "one of those above");
        }
        if point.half_breadth.length < Length::ZERO {
            let at = layout.points[i][1].clone();
            log.error(at, "a negative half-breadth", "nought or more, out from the centreline");
        }
    }
}

fn planking(contents: &Contents, head: &Head, log: &mut Log<'_>) {
    let (Some(planking), Some(at)) = (contents.facts.planking, &head.planking_at) else { return };
    let rows = contents.rows.iter().filter(|row| row.block == Block::HalfBreadths);
    let rows = rows.flat_map(|row| &row.cells).flatten();
    let greatest = rows.chain(contents.points.iter().map(|p| &p.half_breadth)).map(|r| r.length).max();
    let Some(greatest) = greatest else { return };
    let (_, breadth, _) = contents.facts.factors();
    let full_size = greatest.metres() * breadth;
    // Where every half-breadth is nought it is they that are wrong, which is said of them.
    if full_size > 0.0 && planking.metres() > full_size / 2.0 {
        let problem = "planking thicker than half the greatest half-breadth";
        let own = if contents.facts.scale > 1.0 { ", the boat's own size whatever the scale" } else { "" };
        log.error(at.clone(), problem, format!("under {:.0} mm{own}", full_size / 2.0 * 1e3));
    }
}
