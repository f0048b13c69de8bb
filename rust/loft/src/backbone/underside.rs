//! The underside of the keel: a batten bent through the record's readings, or a stated depth outside the rabbet line.

use kurbo::{Point, Vec2};
use scrieve_hull::{Boat, Curve, Planking};
use scrieve_notation::Mark as Marked;
use scrieve_surface::{Batten, Nail, batten};

use super::options::BackboneOptions;
use crate::rabbet::RabbetError;

/// The keel's underside: a batten through the record's readings, or a stated depth below the surface's edge.
pub(super) struct Underside {
    bent: Option<Batten>,
    pub(super) edge: Curve,
    pub(super) depth: f64,
}

impl Underside {
    pub(super) fn new(hull: &Boat, options: &BackboneOptions) -> Result<Underside, RabbetError> {
        let mut read = hull.survey().keel.clone();
        read.sort_by(|a, b| a.x.total_cmp(&b.x));
        read.dedup_by(|a, b| a.x == b.x);
        // It lies as straight as the readings let it: on those held, and within the worth of the others.
        let tolerance = |mark| move |worth: f64| if mark == Marked::Held { 0.0 } else { worth };
        let nails: Vec<Nail> = (read.iter())
            .map(|s| Nail { x: s.x, y: s.z, tolerance: tolerance(s.mark)(s.tolerance) })
            .collect();
        let bent = if nails.len() < 2 { None } else { Some(batten(&nails).map_err(RabbetError::Underside)?) };
        let edge = hull.reference_lines().swap_remove(0);
        // Where the record is to the inside, the rabbet line lies about a planking thickness below its edge.
        let below = Planking::of(hull, options.rabbet.planking).map_or(0.0, |p| -p.outer);
        Ok(Underside { bent, edge, depth: options.keel_depth + below })
    }

    /// Height at `x`, m; carried on straight past either end.
    pub(super) fn at(&self, x: f64) -> f64 {
        if let Some(bent) = &self.bent {
            return bent.height(x).0;
        }
        let found = self.edge.crossings([1.0, 0.0, 0.0], x).pop().map(|mark| mark.sample.p[2]);
        let height = found.or_else(|| {
            let ends = [self.edge.start()?, self.edge.end()?];
            let near = if (x - ends[0].p[0]).abs() < (x - ends[1].p[0]).abs() { ends[0] } else { ends[1] };
            Some(near.p[2] + (x - near.p[0]) * near.tangent[2] / near.tangent[0])
        });
        height.unwrap_or(0.0) - self.depth
    }

    /// Its rise over its run at `x`.
    pub(super) fn slope(&self, x: f64) -> f64 {
        match &self.bent {
            Some(bent) => bent.height(x).1,
            None => (self.at(x + SLOPE_STEP_M) - self.at(x - SLOPE_STEP_M)) / (2.0 * SLOPE_STEP_M),
        }
    }

    /// How far it lies outside `from`, m, along the line's inward direction there.
    pub(super) fn below(&self, from: Point, inward: Vec2) -> f64 {
        let mut out = from.y - self.at(from.x);
        for _ in 0..SETTLE {
            let at = from - inward * out;
            // Nearer by the slope of the underside in the direction gone.
            let rate = inward.y - inward.x * self.slope(at.x);
            out += (at.y - self.at(at.x)) / rate;
        }
        out
    }

    pub(super) fn foot(&self, x: f64) -> Point {
        Point::new(x, self.at(x))
    }
}

/// Slopes of the keel's underside are taken over this much either side, m.
const SLOPE_STEP_M: f64 = 0.005;

/// Steps to the underside; each is nearer by the square.
const SETTLE: usize = 8;
