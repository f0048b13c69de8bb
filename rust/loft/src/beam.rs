//! Round of beam: a deck beam is an arc. With beam b and camber c its radius is (b²/4 + c²)/2c.

/// A round of beam, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RoundOfBeam {
    /// Breadth it is stated for.
    pub beam: f64,
    /// How much higher the middle is over that breadth.
    pub camber: f64,
}

impl RoundOfBeam {
    /// Radius of the arc, m; `None` where the two make no arc of a half circle or less.
    pub fn radius(&self) -> Option<f64> {
        let sound = self.camber > 0.0 && self.beam.is_finite() && self.camber <= self.beam / 2.0;
        sound.then(|| (self.beam * self.beam / 4.0 + self.camber * self.camber) / (2.0 * self.camber))
    }

    /// How much higher the middle of a beam of this round is than the spot `half_breadth` out, m.
    pub fn fall(&self, half_breadth: f64) -> Option<f64> {
        let r = self.radius()?;
        (half_breadth.abs() <= r).then(|| r - (r * r - half_breadth * half_breadth).sqrt())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Handbook, section 13; the fall over the whole beam is the camber it was stated with.
    #[test]
    fn a_beam_falls_by_its_camber_over_its_breadth() {
        let round = RoundOfBeam { beam: 1.8, camber: 0.06 };
        assert!((round.radius().expect("a radius") - (0.81 + 0.0036) / 0.12).abs() < 1e-12);
        assert!((round.fall(0.9).expect("a fall") - 0.06).abs() < 1e-12);
        assert_eq!(round.fall(0.0), Some(0.0));
        assert_eq!(RoundOfBeam { beam: 1.0, camber: 0.6 }.radius(), None);
    }
}
