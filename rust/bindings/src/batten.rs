//! The batten, for Python: conversions and errors only.

use pyo3::prelude::*;
use scrieve_hull::{Curve as CoreCurve, Plane, Sample};
use scrieve_surface::{Batten, Nail};

use crate::hull::{Curve, FairingError};

/// Samples from nail to nail: between two the cubic is within a micrometre of any batten on a loft floor.
const SAMPLES: usize = 32;

/// The batten through nails (x, y, tolerance), m, in the plane z = 0; and how far it leaves each, m.
#[pyfunction]
pub fn batten(py: Python<'_>, nails: Vec<(f64, f64, f64)>) -> PyResult<(Curve, Vec<f64>)> {
    let nails: Vec<Nail> = nails.into_iter().map(|(x, y, tolerance)| Nail { x, y, tolerance }).collect();
    let bent = py
        .detach(|| scrieve_surface::batten(&nails))
        .map_err(|error| FairingError::new_err(error.to_string()))?;
    Ok((curve(&bent).into(), bent.off))
}

fn curve(batten: &Batten) -> CoreCurve {
    let sample = |along: f64| {
        let here = batten.at(along);
        let ((x, y), (sin, cos)) = (here.point, here.angle.sin_cos());
        Sample {
            p: [x, y, 0.0],
            tangent: [cos, sin, 0.0],
            normal: [sin, -cos, 0.0],
            curvature: here.curvature,
        }
    };
    let between = |w: &[f64]| -> Vec<f64> {
        (0..SAMPLES).map(|i| w[0] + (w[1] - w[0]) * i as f64 / SAMPLES as f64).collect()
    };
    let mut samples: Vec<Sample> = batten.girths.windows(2).flat_map(between).map(sample).collect();
    samples.push(sample(batten.length()));
    CoreCurve { plane: Plane::at_z(0.0), pieces: vec![samples] }
}
