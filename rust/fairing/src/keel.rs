//! The backbone as the lowest line of the frame: its height over t between its partings from stem and sternpost.
//!
//! Heights at a place and readings anywhere on the backbone, stem and sternpost among them, are linear in the same
//! unknowns, so that spots of the planking speak for the keel, and every reading of the backbone for all of it.

use std::sync::Arc;

use crate::backbone::{Backbone, Place};
use crate::gp::dot;
use crate::lines::LinePrior;
use crate::matern::At;
use scrieve_surface::BSpline;

/// The backbone and which part of it the planking's lower edge is.
#[derive(Clone, Debug)]
pub(crate) struct Keel {
    pub backbone: Backbone,
    /// Where stem and sternpost part from it.
    pub fore: Option<Place>,
    pub aft: Option<Place>,
    /// Whether they part at a corner.
    pub corners: [bool; 2],
    /// Whether it goes on abaft the heel, under a sternpost with a transom on it.
    pub goes_on: bool,
    /// x of the frame's lower edge over t, m.
    pub x: BSpline,
    /// Length of the frame, m: the unit of lines.
    pub length: f64,
}

impl Keel {
    /// How a place on the backbone, stem and sternpost included, is written where a t is wanted.
    pub fn written(at: Place) -> f64 {
        -(1.0 + at.piece as f64 + at.u.clamp(0.0, 1.0 - 1e-9))
    }

    /// The place a written one stands for.
    pub fn read(t: f64) -> Option<Place> {
        let on = -t - 1.0;
        (on >= 0.0).then(|| Place { piece: on as usize, u: on.fract() })
    }

    /// The backbone's place at t of the frame.
    pub fn at(&self, t: f64) -> Place {
        self.backbone.at_x(self.fore, self.aft, self.x.value(t))
    }

    /// Where stem and sternpost part from another line of the same pieces if they part where they do here, each with
    /// whether that is a corner. Parted anew by its own bends, it would be described in another frame.
    pub fn parted(&self, other: &Backbone) -> [Option<(Place, bool)>; 2] {
        let place = |at: Option<Place>| at.map(|at| other.like(&self.backbone, at));
        [place(self.fore).map(|at| (at, self.corners[0])), place(self.aft).map(|at| (at, self.corners[1]))]
    }

    /// Height at t, m.
    pub fn height(&self, t: f64) -> f64 {
        let at = self.at(t);
        let (x, z) = self.backbone.point(at);
        z + self.beyond(t, x) * self.backbone.angle(at).tan()
    }

    /// How far abaft the heel t lies, m: the keel goes straight on there.
    fn beyond(&self, t: f64, x: f64) -> f64 {
        if self.goes_on { (self.x.value(t) - x).max(0.0) } else { 0.0 }
    }

    /// What a line of these unknowns alone comes to at t, in lengths.
    pub fn drawn(&self, t: f64, unknowns: &[f64]) -> f64 {
        dot(&self.seat(t).0, unknowns)
    }

    /// In lengths: how the unknowns raise the line at t (or move it square to itself at a written place), and
    /// what it comes to with all of them nought.
    fn seat(&self, t: f64) -> (Vec<f64>, f64) {
        let on = Keel::read(t);
        let at = on.unwrap_or_else(|| self.at(t));
        let (mut by, now) = self.backbone.by_unknowns(at);
        let (per, level) = match on {
            Some(_) => (1.0, 0.0),
            None => (1.0 / self.backbone.normal(at).1.max(LEAST_UP), self.height(t)),
        };
        by.iter_mut().for_each(|b| *b *= per / self.length);
        (by, (level - now * per) / self.length)
    }
}

/// Least upward part of the keel's normal: beyond 84 degrees a height says nothing of it.
const LEAST_UP: f64 = 0.1;

/// A line of the hull before its readings are seen.
#[derive(Clone, Debug)]
pub(crate) enum Line {
    /// By itself, over t.
    Own(LinePrior),
    /// The backbone.
    Keel(Arc<Keel>),
}

/// A place on a line, ready for its covariance.
#[derive(Clone, Debug)]
pub(crate) enum Seat {
    Own(f64, At),
    Keel(Arc<[f64]>),
}

impl Line {
    /// The place at t, and the line's mean there.
    pub fn seat(&self, t: f64) -> (Seat, f64) {
        match self {
            Line::Own(prior) => (Seat::Own(t, prior.place(t)), 0.0),
            Line::Keel(keel) => {
                let (by, mean) = keel.seat(t);
                (Seat::Keel(by.into()), mean)
            }
        }
    }

    /// Covariance of two of its places.
    pub fn covariance(&self, a: &Seat, b: &Seat) -> f64 {
        match (self, a, b) {
            (Line::Own(prior), &Seat::Own(ta, pa), &Seat::Own(tb, pb)) => {
                prior.covariance((ta, pa), (tb, pb))
            }
            (_, Seat::Keel(a), Seat::Keel(b)) => dot(a, b),
            _ => 0.0,
        }
    }

    pub fn own(&self) -> Option<&LinePrior> {
        match self {
            Line::Own(prior) => Some(prior),
            Line::Keel(_) => None,
        }
    }
}
