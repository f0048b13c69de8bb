//! How sure the surface is, anywhere on it.

use crate::Surface;
use crate::frame::Frame;
use crate::joint::{Functional, Joint};
use crate::profile::ProfileCurve;

/// What of the fit is needed to say so.
#[derive(Debug)]
pub(crate) struct Certainty {
    joint: Joint,
    frame: Frame,
    stem: Option<ProfileCurve>,
    stern: Option<ProfileCurve>,
}

impl Certainty {
    pub fn new(joint: Joint, frame: Frame, stem: Option<ProfileCurve>, stern: Option<ProfileCurve>) -> Self {
        Certainty { joint, frame, stem, stern }
    }

    /// One standard deviation along the surface's normal, m: that of lines and field together, and near the
    /// ends that of stem and stern.
    pub fn sd(&self, surface: &Surface, patch: usize, u: f64, v: f64) -> f64 {
        let strake = patch.min(surface.patches.len() - 1);
        let (t, v) = (u.clamp(0.0, 1.0), v.clamp(0.0, 1.0));
        let j = surface.patches[strake].jet(t, v);
        let n = cross(j.du, j.dv);
        let norm = n.iter().map(|c| c * c).sum::<f64>().sqrt();
        if norm <= 0.0 {
            return 0.0;
        }
        let n = n.map(|c| c / norm);
        let (frame, length) = (&self.frame, self.frame.length());
        let chord = frame.chord(strake, t);
        let (_, w) = chord.place((j.p[1], j.p[2]));
        let w = if w.is_finite() { w } else { 0.0 };
        let square = |d: (f64, f64)| n[1] * d.0 + n[2] * d.1;
        let edges = chord.by_edges(v, w).map(square);
        let mut lines = vec![(2 * strake, edges[1] * length)];
        if strake > 0 {
            lines.push((2 * strake - 1, edges[0] * length));
        }
        lines.push((2 * strake + 1, edges[2] * length));
        lines.push((2 * strake + 2, edges[3] * length));
        let of = Functional { t, lines, field: Some((strake, v, square(chord.mirror()))) };
        let mut variance = self.joint.variance(&of);
        for (curve, fade) in [(&self.stem, (1.0 - t).powf(frame.fade.0)), (&self.stern, t.powf(frame.fade.1))]
        {
            if let Some(curve) = curve {
                variance += (curve.sd(j.p[2]) * n[0] * fade).powi(2);
            }
        }
        variance.sqrt()
    }
}

fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}
