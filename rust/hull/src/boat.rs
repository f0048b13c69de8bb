//! A boat: her hull, and beside it the record it comes from: the table, its survey, and what fairing made of them.
//!
//! Whatever is asked of the hull alone is asked of her too ([`Deref`]).

use std::ops::Deref;
use std::sync::Arc;

use scrieve_fairing::Faired;
use scrieve_offsets::{Survey, Table};
use scrieve_surface::Surface;

use crate::hull::{Hull, HullError};
use crate::lookup::Place;

/// A faired hull and her record.
#[derive(Clone, Debug)]
pub struct Boat {
    hull: Hull,
    table: Table,
    survey: Survey,
    faired: Faired,
    carried: Option<Carried>,
}

/// What a boat carried to the other face of her planking was.
#[derive(Clone, Debug)]
struct Carried {
    from: Arc<Boat>,
    thickness_m: f64,
}

impl Deref for Boat {
    type Target = Hull;

    fn deref(&self) -> &Hull {
        &self.hull
    }
}

/// A boat known by her hull alone, without a table.
impl From<Hull> for Boat {
    fn from(hull: Hull) -> Boat {
        let faired = Faired::of_surface(hull.surface().clone());
        Boat { hull, table: Table::default(), survey: Survey::default(), faired, carried: None }
    }
}

impl Boat {
    /// From a table and what fairing made of it.
    pub fn new(table: Table, survey: Survey, faired: Faired) -> Self {
        let hull = Hull::from_surface(faired.surface.clone());
        Boat { hull, table, survey, faired, carried: None }
    }

    /// Her hull alone.
    pub fn hull(&self) -> &Hull {
        &self.hull
    }

    /// Boats the readings leave possible, drawn by a seed: see [`Faired::draws`].
    ///
    /// # Errors
    /// As there, and of a carried boat where one of those she is carried from cannot be carried.
    pub fn draws(&self, count: usize, seed: u64) -> Result<Vec<Boat>, HullError> {
        if let Some(Carried { from, thickness_m }) = &self.carried {
            let inside = self.is_inside();
            return from
                .draws(count, seed)?
                .iter()
                .map(|boat| boat.on_face(inside, Some(*thickness_m)))
                .collect();
        }
        let boat = |faired| Boat::new(self.table.clone(), self.survey.clone(), faired);
        Ok(self.faired.draws(count, seed)?.into_iter().map(boat).collect())
    }

    /// This boat with `surface`, hers carried to the other face of planking so thick.
    pub(crate) fn with_carried(&self, surface: Surface, thickness_m: f64) -> Boat {
        let mut faired = self.faired.clone();
        faired.surface = surface;
        let carried = Carried { from: Arc::new(self.clone()), thickness_m };
        Boat { carried: Some(carried), ..Boat::new(self.table.clone(), self.survey.clone(), faired) }
    }

    /// The same boat, on the same face of her planking, known by another surface: with a bottom as a strake of its own,
    /// say. Nothing is known of how sure that is.
    pub fn reshaped(&self, survey: Survey, surface: Surface) -> Boat {
        Boat {
            carried: self.carried.clone(),
            ..Boat::new(self.table.clone(), survey, Faired::of_surface(surface))
        }
    }

    /// Whether her surface is the inside of the planking: what the table says, or the other where she was carried.
    pub fn is_inside(&self) -> bool {
        let (mut boat, mut inside) = (self, self.table.facts.to_inside);
        while let Some(carried) = &boat.carried {
            (boat, inside) = (&carried.from, !inside);
        }
        inside
    }

    /// The boat she was carried from to the other face; herself where she was not.
    pub fn uncarried(&self) -> &Boat {
        self.carried.as_ref().map_or(self, |carried| carried.from.uncarried())
    }

    /// The thickness by which she was carried from the face her table gives, m; `None` where she was not.
    pub fn carried_by(&self) -> Option<f64> {
        self.carried.as_ref().map(|carried| carried.thickness_m)
    }

    /// The table she was faired from.
    pub fn source(&self) -> &Table {
        &self.table
    }

    /// The same in metres.
    pub fn survey(&self) -> &Survey {
        &self.survey
    }

    /// What fairing made of it.
    pub fn faired(&self) -> &Faired {
        &self.faired
    }

    /// One standard deviation of the surface at (x, z), along its normal, m: what the readings leave unsure.
    pub fn sd(&self, x: f64, z: f64) -> Result<f64, HullError> {
        let Place { patch, u, v } = self.locate(x, z)?;
        Ok(self.faired.sd(patch, u, v))
    }
}
