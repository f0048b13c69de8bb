//! Thwarts: their faces at two heights, the bevels of their ends from the normal of the planking.

use kurbo::{Affine, BezPath, Point};
use scrieve_hull::Boat;

use super::{InsideError, SpanEnd, both_sides, check, side, span_end};
use crate::Grid;
use crate::backbone::smooth;
use crate::blank::{from_centreline, half_blank};

/// A thwart, or anything level that spans the boat. Plan outlines are drawn (x, y), m.
#[derive(Clone, Debug, PartialEq)]
pub struct Thwart {
    /// Outline of its under face, both sides.
    pub under: BezPath,
    /// Outline of its upper face.
    pub upper: BezPath,
    /// What to cut, both sides: what both faces take up.
    pub blank: BezPath,
    /// Its forward and its after edge.
    pub edges: [SpanEnd; 2],
}

/// A thwart of this width (fore and aft) and thickness with its forward edge at `x` and its under face at `z`.
///
/// # Errors
/// Lengths that are none; a spot that is off the inside of the hull.
pub fn thwart(
    hull: &Boat,
    at: Point,
    width: f64,
    thickness: f64,
    inside: f64,
) -> Result<Thwart, InsideError> {
    check(&[("width", width, true), ("thickness", thickness, true), ("deduction", inside, false)])?;
    let right_end = |z: f64| -> Result<BezPath, InsideError> {
        let spot = |i: usize| {
            let x = at.x + width * i as f64 / SPAN_SPOTS as f64;
            side(hull, x, z, inside).map(|s| Point::new(x, s.p[1]))
        };
        let right: Vec<Point> = (0..=SPAN_SPOTS).map(spot).collect::<Result<_, _>>()?;
        Ok(smooth(&right))
    };
    let end = |x: f64| -> Result<SpanEnd, InsideError> {
        let faces = [side(hull, x, at.y, inside)?, side(hull, x, at.y + thickness, inside)?];
        let wider = if faces[0].p[1] > faces[1].p[1] { faces[0] } else { faces[1] };
        Ok(span_end(&faces[0], wider.p[1]))
    };
    let (under, upper) = (right_end(at.y)?, right_end(at.y + thickness)?);
    // Halves are joined up their right side: the boat on end, across to the right and forward downward.
    let on_end = Affine::new([0.0, 1.0, 1.0, 0.0, 0.0, 0.0]);
    let half = |end: &BezPath| {
        let mut half = from_centreline(&(on_end * end.clone()));
        half.line_to((0.0, at.x + width));
        half
    };
    let joined = half_blank(&half(&under), &half(&upper)).ok_or(InsideError::NoBlank { x: at.x })?;
    Ok(Thwart {
        blank: both_sides(&(on_end * joined)),
        under: both_sides(&under),
        upper: both_sides(&upper),
        edges: [end(at.x)?, end(at.x + width)?],
    })
}

/// Where the inside of the hull is at each waterline of the table, station by station: what is level there spans
/// so much. A waterline that misses the inside at a station has no row.
///
/// # Errors
/// A deduction that is none.
pub fn breadths(hull: &Boat, inside: f64) -> Result<Vec<(String, SpanEnd)>, InsideError> {
    check(&[("deduction", inside, false)])?;
    let grid = Grid::of(hull);
    let mut rows = Vec::new();
    for (station, x) in grid.stations {
        for &z in &grid.waterlines {
            match side(hull, x, z, inside) {
                Ok(at) if at.p[1] > 0.0 => rows.push((station.clone(), span_end(&at, at.p[1]))),
                _ => {}
            }
        }
    }
    Ok(rows)
}

/// Spots along the end of a thwart: over its width the side is all but an arc.
const SPAN_SPOTS: usize = 8;
