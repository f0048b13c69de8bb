//! What a lines drawing shows of a hull, in metres, and which stretches of it no reading is near.

use kurbo::Shape as _;
use scrieve_hull::{Boat, Curve, Evidence, Plane, Stretch};
use scrieve_loft::moulds::widest_part;
use scrieve_loft::transom::has_bow_transom;
use scrieve_loft::{DiagonalAt, Grid, chine_name, written};
use scrieve_notation::Units;
use scrieve_offsets::Axis;

use super::sheet::Ink;
use super::{LinesError, LinesOptions};

/// Levels nearer than this are one, m.
const SAME_LEVEL_M: f64 = 1e-4;

/// A length with its unit, which feet, inches and eighths show by themselves.
fn with_unit(metres: f64, units: Units) -> String {
    let text = written(metres, units);
    if units == Units::FeetInchesEighths { text } else { format!("{text} {}", units.name()) }
}

/// What the drawing has of ends that no table tells of: she is drawn as far as her stations reach.
fn ends_not_told(table: &scrieve_offsets::Contents) -> String {
    let (Some(first), Some(last)) = (table.stations.first(), table.stations.last()) else {
        return String::new();
    };
    match (table.stem.is_none(), table.stern.is_none() && table.transom.is_none()) {
        (true, true) => {
            format!(
                "No stem or stern given: drawn from station {} to station {}, no longer",
                first.name, last.name
            )
        }
        (true, false) => format!("No stem given: drawn from station {} on, not from her stem", first.name),
        (false, true) => format!("No stern given: drawn to station {}, not to her stern", last.name),
        (false, false) => String::new(),
    }
}

/// What is drawn, in metres.
pub(super) struct Lines {
    pub(super) name: String,
    pub(super) facts: Vec<String>,
    pub(super) units: Units,
    /// x of her ends, heights of her lowest and highest points (the base line counts), half-beam.
    pub(super) fore: f64,
    pub(super) aft: f64,
    pub(super) low: f64,
    pub(super) high: f64,
    pub(super) half_beam: f64,
    pub(super) widest: f64,
    /// Greatest distance out along a diagonal.
    pub(super) out: f64,
    pub(super) stations: Vec<(String, f64)>,
    pub(super) sections: Vec<(String, f64, Curve)>,
    pub(super) waterlines: Vec<(f64, Vec<Line>)>,
    pub(super) buttocks: Vec<(f64, Vec<Line>)>,
    pub(super) diagonals: Vec<(DiagonalAt, Vec<Line>)>,
    /// Rabbet, chines and sheer, and the two ends.
    pub(super) profile: Vec<Line>,
    pub(super) plan: Vec<Line>,
    /// Rabbet, chines and sheer as they are seen in the body plan, and her ends: stem or bow transom, then post or transom.
    pub(super) body: Vec<Line>,
    pub(super) ends: Vec<Line>,
    pub(super) dimensions: String,
    /// Height of the load waterline, where the table tells it, m: one of `waterlines`.
    pub(super) load_waterline: Option<f64>,
    /// What the two ends are called.
    pub(super) end_names: [&'static str; 2],
}

impl Lines {
    pub(super) fn new(hull: &Boat, options: &LinesOptions) -> Result<Lines, LinesError> {
        let (table, grid) = (hull.source(), Grid::of(hull));
        let units = options.units.unwrap_or(grid.units);
        let evidence = Evidence::of(hull);
        let rows = evidence.rows();
        // A grid line that misses the faired hull has no curve in the other views.
        let cut = |plane: Plane| {
            let row = rows.iter().find(|(_, of)| is_same(of, &plane)).map(|(row, _)| *row);
            let line = |curve: Curve| {
                let unread = row.map_or(Vec::new(), |row| evidence.of_row(row, &curve));
                Line { curve, unread }
            };
            hull.cut(&plane).unwrap_or_default().into_iter().map(line).collect::<Vec<_>>()
        };
        let load_waterline = table.facts.load_waterline.map(|length| length.metres());
        let mut levels = grid.waterlines.clone();
        if let Some(z) = load_waterline.filter(|z| !levels.iter().any(|at| (at - z).abs() < SAME_LEVEL_M)) {
            levels.push(z);
            levels.sort_by(f64::total_cmp);
        }
        let waterlines = levels.iter().map(|&z| (z, cut(Plane::at_z(z)))).collect();
        let buttocks = grid.buttocks.iter().map(|&y| (y, cut(Plane::at_y(y)))).collect();
        let diagonals = grid.diagonals.iter();
        let diagonals: Vec<_> =
            diagonals.map(|d| (d.clone(), cut(Plane::diagonal(d.centreline_height, d.angle)))).collect();
        let drawn = diagonals.iter().flat_map(|d| &d.1);
        let out = drawn.map(|line| line.curve.path().bounding_box().y1).fold(0.0, f64::max);
        let sections = grid.stations.iter();
        let sections = sections.filter_map(|(name, x)| hull.section(*x).ok().map(|c| (name.clone(), *x, c)));
        let unread_ends = evidence.of_ends();
        let seen = |plane: Plane, axis: Axis| {
            let edges = hull.reference_lines_drawn(plane).into_iter().enumerate();
            let edges = edges.map(|(k, curve)| Line { unread: evidence.of_reference_line(k, axis), curve });
            // From above stem and post are no more than their siding: an assumed one is drawn so there too.
            let unread = |all: &[Stretch]| {
                let seen = |s: &&Stretch| axis == Axis::Height || s.is_assumed;
                all.iter().filter(seen).copied().collect::<Vec<_>>()
            };
            let ends = hull.ends(plane).into_iter().zip(&unread_ends);
            edges.chain(ends.map(|(curve, all)| Line { unread: unread(all), curve })).collect::<Vec<_>>()
        };
        let (profile, plan) =
            (seen(Plane::at_y(0.0), Axis::Height), seen(Plane::at_z(0.0), Axis::HalfBreadth));
        let edges = profile.len().saturating_sub(unread_ends.len());
        let body = profile.iter().zip(&plan).take(edges);
        let body = body.map(|(side, top)| Line {
            curve: side.curve.clone(),
            unread: side.unread.iter().chain(&top.unread).copied().collect(),
        });
        let body: Vec<_> = body.collect();
        let ends = hull.ends(Plane::at_x(0.0)).into_iter().zip(unread_ends);
        let ends: Vec<_> = ends.map(|(curve, unread)| Line { curve, unread }).collect();
        let is_dashed = |lines: &[Line]| lines.iter().any(|line| !line.unread.is_empty());
        let rows: [&Vec<(f64, Vec<Line>)>; 2] = [&waterlines, &buttocks];
        let has_unread = [&profile, &plan, &ends].iter().any(|lines| is_dashed(lines))
            || rows.iter().any(|rows| rows.iter().any(|(_, lines)| is_dashed(lines)))
            || diagonals.iter().any(|(_, lines)| is_dashed(lines));
        let ((fore, aft), (low, high)) = (hull.extent([1.0, 0.0, 0.0]), hull.extent([0.0, 0.0, 1.0]));
        let size = hull.dimensions()?;
        let f = &table.facts;
        let planking = match (hull.is_inside(), f.planking) {
            (true, _) => "Lines to the inside of the planking".to_owned(),
            (false, Some(t)) => {
                format!("Lines to the outside of the planking, {}", written(t.metres(), units))
            }
            (false, None) => "Lines to the outside of the planking".to_owned(),
        };
        let join = |parts: [Option<String>; 2]| parts.into_iter().flatten().collect::<Vec<_>>().join(", ");
        let mut facts = vec![
            join([f.kind.clone(), f.year_text()]),
            join([f.builder.as_ref().map(|b| format!("built by {b}")), f.place.clone()]),
            f.designer.as_ref().map(|d| format!("designed by {d}")).unwrap_or_default(),
            f.ends_assumed().unwrap_or_default(),
            ends_not_told(table),
        ];
        facts.extend(options.note.clone());
        facts.push(planking);
        facts.extend(has_unread.then(|| "Dashed: no reading near, or assumed".to_owned()));
        facts.retain(|line| !line.is_empty());
        let end_names = [
            match (&table.stem, has_bow_transom(hull)) {
                (_, true) => "bow transom",
                (Some(_), false) => "stem",
                (None, false) => "first station",
            },
            match (&table.transom, &table.stern) {
                (Some(_), _) => "transom",
                (None, Some(_)) => "sternpost",
                (None, None) => "last station",
            },
        ];
        Ok(Lines {
            load_waterline,
            end_names,
            name: f.name.clone(),
            facts,
            units,
            fore,
            aft,
            low: low.min(0.0),
            high,
            half_beam: size.beam / 2.0,
            widest: widest_part(hull),
            out,
            sections: sections.collect(),
            stations: grid.stations.clone(),
            waterlines,
            buttocks,
            diagonals,
            profile,
            plan,
            body,
            ends,
            dimensions: format!(
                "Length {}, beam {}, depth amidships {}",
                with_unit(size.length, units),
                with_unit(size.beam, units),
                with_unit(size.depth, units)
            ),
        })
    }

    pub(super) fn depth(&self) -> f64 {
        self.high - self.low
    }

    /// Names of rabbet, chines and sheer, from the keel up.
    pub(super) fn edge_names(&self) -> Vec<String> {
        let edges = self.profile.len().saturating_sub(self.ends.len());
        let chines = edges.saturating_sub(2);
        let name = |i: usize| match i {
            0 => "rabbet".to_owned(),
            _ if i + 1 == edges => "sheer".to_owned(),
            _ => chine_name(i, chines),
        };
        (0..edges).map(name).collect()
    }

    pub(super) fn is_load_waterline(&self, z: f64) -> bool {
        self.load_waterline.is_some_and(|at| (at - z).abs() < SAME_LEVEL_M)
    }

    /// What stands at the ends of a level line of the grid.
    pub(super) fn level_label(&self, z: f64) -> String {
        let label = self.label(z);
        if self.is_load_waterline(z) { format!("LWL {label}") } else { label }
    }

    /// The pen of a level line of the grid.
    pub(super) fn level(&self, z: f64) -> Ink {
        if self.is_load_waterline(z) { Ink::LoadWaterline } else { Ink::Grid }
    }

    pub(super) fn label(&self, metres: f64) -> String {
        written(metres, self.units)
    }
}

/// A line, and the stretches of it that no reading is near.
pub(super) struct Line {
    pub(super) curve: Curve,
    pub(super) unread: Vec<Stretch>,
}

impl Line {
    /// The parts of it, in order, and whether each is read.
    pub(super) fn parts(&self) -> Vec<(Curve, bool)> {
        if self.unread.is_empty() {
            return vec![(self.curve.clone(), true)];
        }
        let mut unread = self.unread.clone();
        unread.sort_by(|a, b| a.from.total_cmp(&b.from));
        let (mut parts, mut at, length) = (Vec::new(), 0.0, self.curve.length());
        let mut add = |from: f64, to: f64, is_read| {
            if to - from > SHORTEST_M {
                parts.push((self.curve.trimmed(from, to), is_read));
            }
        };
        for stretch in unread {
            add(at, stretch.from, true);
            add(stretch.from.max(at), stretch.to, false);
            at = stretch.to.max(at);
        }
        add(at, length, true);
        parts
    }
}

/// What is left of a line beside a stretch is not drawn if it is shorter than this, m.
const SHORTEST_M: f64 = 1e-4;

/// Whether two planes that lines are cut by are one.
fn is_same(a: &Plane, b: &Plane) -> bool {
    let near = |a: [f64; 3], b: [f64; 3]| a.iter().zip(b).all(|(a, b)| (a - b).abs() < 1e-9);
    near(a.origin, b.origin) && near(a.up, b.up) && near(a.right, b.right)
}
