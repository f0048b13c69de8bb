//! Spars: from a squared blank to round, oval or rectangular, solid or hollow.
//!
//! s runs along the spar from its heel, the inner or lower end. Across it y points to the face named first (fore of a
//! mast, top of what lies level) and z to the side. Its edges are battens bent through the stated fractions of its size.

mod beam;
mod error;
mod hollow;
mod scarf;
mod section;
mod sides;
mod staves;
mod taper;

pub use beam::{Across, Bent, Load, Supports};
pub use error::SparError;
pub use hollow::{Kerfs, Solid, Wall};
pub use scarf::{Member, SPAR_SCARF, Scarf, ScarfKind, members};
pub use section::{Section, Shape};
pub use sides::{Flat, GAUGES, Gauge, SIDES, fraction_in, in_from_edge};
pub use staves::{Notch, STAVES};
pub use taper::Taper;

use scrieve_surface::quadrature::gauss;

/// Longer than any spar of wood: what is over it is a slip of the unit.
const LONGEST_M: f64 = 60.0;
/// A spar stouter than this part of its length is none: millimetres were taken for metres.
const STOUTEST: f64 = 0.5;
/// A batten that passes the greatest size stated by more than this part of it is no spar's edge any more.
const WILD: f64 = 0.05;
/// Nodes of the quadrature between two breaks: tapers are cubics, so areas have degree six and moments thirteen.
const NODES: usize = 8;
/// Stretches between two breaks of a run-out's slope and the taper's nails, so that what is no polynomial is summed too.
const STRETCHES: usize = 8;
/// Distances nearer than this are one, m.
const ONE_PLACE_M: f64 = 1e-9;
/// So many marks along a spar are drawn or listed; more are a slip of the spacing.
pub const MOST_PLACES: usize = 2000;

/// How a spar is built up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Build {
    /// Of one piece in its section.
    Solid,
    /// Of two halves parted fore and aft, or up and down, each hollowed.
    Halves,
    /// Of four boards, those of the sides between the other two.
    Box,
    /// Of this many notched staves.
    Staves(usize),
}

impl Build {
    /// How many ways its sticks are cut to lengths, so that no two that lie side by side are scarfed at one place: two by
    /// turns, opposite boards of a box alike; round an odd ring the last stave has a way of its own.
    pub fn patterns(self) -> usize {
        match self {
            Build::Solid => 1,
            Build::Halves | Build::Box => 2,
            Build::Staves(n) => 2 + n % 2,
        }
    }
}

/// Which of the two faces in the plane of the deflection is left straight.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Straight {
    /// None: she tapers alike to all sides.
    No,
    /// The one y points to: fore, or top.
    First,
    /// The other: aft, or under.
    Second,
}

/// What is said of a spar. Metres; places of tapers and walls are fractions of the length from the heel.
#[derive(Clone, Debug, PartialEq)]
pub struct SparOptions {
    /// Its length.
    pub length: f64,
    /// Its greatest size fore and aft, or up and down: what 1 of the taper is.
    pub depth: f64,
    /// The same athwart.
    pub breadth: f64,
    /// Place and part of the greatest size, from heel to head.
    pub taper: Vec<(f64, f64)>,
    /// That of the breadth where it is another.
    pub taper_breadth: Option<Vec<(f64, f64)>>,
    /// The section's shape.
    pub shape: Shape,
    /// Place and thickness of the wall; none, and it is solid.
    pub wall: Vec<(f64, f64)>,
    /// Number of notched staves; halves or a box without it.
    pub staves: Option<usize>,
    /// What is left solid at the ends of a hollow, and how the hollow runs out there.
    pub solid: Solid,
    /// Which face is straight.
    pub straight: Straight,
}

/// A spar.
#[derive(Clone, Debug)]
pub struct Spar {
    length: f64,
    shape: Shape,
    build: Build,
    straight: Straight,
    tapers: [Taper; 2],
    wall: Option<Wall>,
}

impl Spar {
    /// The spar as it is described.
    ///
    /// # Errors
    /// Sizes that are none, or of another unit; a taper that turns back; a wall thicker than the spar has room for; staves
    /// of what is not round.
    pub fn new(options: &SparOptions) -> Result<Self, SparError> {
        let length = options.length;
        if !(length > 0.0 && length <= LONGEST_M) {
            return Err(SparError::Length { value: length, limit: LONGEST_M });
        }
        for (what, size) in [("its size fore and aft", options.depth), ("its size athwart", options.breadth)]
        {
            if !(size > 0.0 && size <= STOUTEST * length) {
                return Err(SparError::Size { what, value: size, limit: STOUTEST * length });
            }
        }
        if options.shape == Shape::Round && options.depth != options.breadth {
            return Err(SparError::NotRound { depth: options.depth, breadth: options.breadth });
        }
        if options.shape == Shape::Round && options.taper_breadth.is_some() {
            return Err(SparError::TwoTapers);
        }
        let depth = Taper::new(length, options.depth, &options.taper)?;
        let breadth = match &options.taper_breadth {
            Some(taper) => Taper::new(length, options.breadth, taper)?,
            None => Taper::new(length, options.breadth, &options.taper)?,
        };
        for (taper, fractions, size) in [
            (&depth, &options.taper, options.depth),
            (&breadth, options.taper_breadth.as_ref().unwrap_or(&options.taper), options.breadth),
        ] {
            let stated = size * fractions.iter().map(|spot| spot.1).fold(0.0, f64::max);
            let (at, size) = taper.greatest();
            if size > (1.0 + WILD) * stated {
                return Err(SparError::RunsWild { at, size, stated, most: 100.0 * WILD });
            }
        }
        let build = match (options.wall.is_empty(), options.staves, options.shape) {
            (true, Some(_), _) => return Err(SparError::StavesWithoutWall),
            (true, None, _) => Build::Solid,
            (false, None, Shape::Rectangular) => Build::Box,
            (false, None, _) => Build::Halves,
            (false, Some(n), Shape::Round) if STAVES.contains(&n) => Build::Staves(n),
            (false, Some(n), Shape::Round) => return Err(SparError::Staves { count: n }),
            (false, Some(_), _) => return Err(SparError::StavesNotRound),
        };
        let mut spar = Spar {
            length,
            shape: options.shape,
            build,
            straight: options.straight,
            tapers: [depth, breadth],
            wall: None,
        };
        if build != Build::Solid {
            let wall = Wall::new(length, &options.wall, options.solid)?;
            if let Build::Staves(_) = build
                && !wall.is_even()
            {
                return Err(SparError::UnevenStaves);
            }
            spar.wall = Some(wall);
            spar.has_room()?;
        } else if options.solid != Solid::default() {
            return Err(SparError::SolidEndsOfSolid);
        }
        Ok(spar)
    }

    /// Refuses a wall that leaves no hollow where one is said to be, or no inner face of staves and boards, which run
    /// through the solid ends: the place where most is wanting is told.
    fn has_room(&self) -> Result<(), SparError> {
        let Some(wall) = &self.wall else { return Ok(()) };
        let runs_through = matches!(self.build, Build::Box | Build::Staves(_));
        let (from, to) = if runs_through { (0.0, self.length) } else { wall.hollow_runs() };
        let rooms =
            (self.breaks().into_iter().chain(self.sampled())).filter(|s| (from..=to).contains(s)).map(|s| {
                let [a, b] = self.half(s);
                (s, wall.thickness(s), a.min(b))
            });
        let Some((at, wall, room)) = rooms.min_by(|one, two| (one.2 - one.1).total_cmp(&(two.2 - two.1)))
        else {
            return Ok(());
        };
        match wall >= room {
            false => Ok(()),
            true if runs_through => Err(SparError::NoInnerFace { at, wall, room }),
            true => Err(SparError::NoHollow { at, wall, room }),
        }
    }

    /// The same without its hollow.
    #[must_use]
    pub fn solid(&self) -> Self {
        Spar { build: Build::Solid, wall: None, ..self.clone() }
    }

    /// Its length, m.
    pub fn length(&self) -> f64 {
        self.length
    }

    /// How it is built up.
    pub fn build(&self) -> Build {
        self.build
    }

    /// Its section's shape.
    pub fn shape(&self) -> Shape {
        self.shape
    }

    /// Which face is straight.
    pub fn straight(&self) -> Straight {
        self.straight
    }

    /// The wall, of a hollow one.
    pub fn wall(&self) -> Option<&Wall> {
        self.wall.as_ref()
    }

    /// The place, if the spar has it.
    ///
    /// # Errors
    /// A place that lies off the spar.
    pub fn place(&self, s: f64) -> Result<f64, SparError> {
        let on = s >= -ONE_PLACE_M && s <= self.length + ONE_PLACE_M;
        if on { Ok(s.clamp(0.0, self.length)) } else { Err(SparError::Off { at: s, length: self.length }) }
    }

    /// Half its size in y and in z, m.
    pub fn half(&self, s: f64) -> [f64; 2] {
        [0, 1].map(|i| self.tapers[i].half(s))
    }

    /// Half the hollow in y and in z, m; nothing where it is solid. Of staves, the apothem of the hollow.
    pub fn hollow(&self, s: f64) -> [f64; 2] {
        let half = self.half(s);
        match &self.wall {
            None => [0.0; 2],
            Some(wall) => half.map(|h| (h - wall.thickness(s)).max(0.0) * wall.open(s)),
        }
    }

    /// The section, m.
    pub fn section(&self, s: f64) -> Section {
        let staves = match self.build {
            Build::Staves(n) => Some(n),
            _ => None,
        };
        Section { shape: self.shape, half: self.half(s), hollow: self.hollow(s), staves }
    }

    /// The greatest size in y and in z and where it is: place and size, m. The batten may pass between two nails a little
    /// outside both, so this is what the blank must hold.
    pub fn greatest(&self) -> [(f64, f64); 2] {
        [0, 1].map(|i| self.tapers[i].greatest())
    }

    /// The squared blank that holds it, m: its size in y, in z, and its length.
    pub fn blank(&self) -> [f64; 3] {
        let [(_, depth), (_, breadth)] = self.greatest();
        [depth, breadth, self.length]
    }

    /// Where its middle lies in y, m, in the blank whose middle is 0: off it only where a face is straight.
    pub fn middle(&self, s: f64) -> f64 {
        let off = 0.5 * self.greatest()[0].1 - self.half(s)[0];
        match self.straight {
            Straight::No => 0.0,
            Straight::First => off,
            Straight::Second => -off,
        }
    }

    /// Its edges as the side of the blank shows them: y of the second face and of the first, m.
    pub fn edges(&self, s: f64) -> [f64; 2] {
        let (middle, half) = (self.middle(s), self.half(s)[0]);
        [middle - half, middle + half]
    }

    /// Places `every` so far from the heel, and the head.
    ///
    /// # Errors
    /// A spacing that is none, or so small that nobody would mark it.
    pub fn places(&self, every: f64) -> Result<Vec<f64>, SparError> {
        let least = self.length / MOST_PLACES as f64;
        if !(every.is_finite() && every >= least) {
            return Err(SparError::Spacing { value: every, limit: least });
        }
        let mut places: Vec<f64> =
            (0..).map(|i| f64::from(i) * every).take_while(|s| *s < self.length - ONE_PLACE_M).collect();
        places.push(self.length);
        Ok(places)
    }

    /// Where its size or its hollow changes its law, heel and head included, in order.
    pub fn breaks(&self) -> Vec<f64> {
        let mut all = vec![0.0, self.length];
        all.extend(self.tapers.iter().flat_map(|taper| taper.nails().iter().copied()));
        all.extend(self.wall.iter().flat_map(|wall| wall.breaks()));
        all.retain(|s| (0.0..=self.length).contains(s));
        all.sort_by(f64::total_cmp);
        all.dedup_by(|a, b| (*a - *b).abs() < ONE_PLACE_M);
        all
    }

    fn sampled(&self) -> impl Iterator<Item = f64> {
        let n = 200;
        (0..=n).map(move |i| self.length * f64::from(i) / f64::from(n))
    }

    /// The integral of `f` along it.
    pub(crate) fn sum<const N: usize>(&self, f: impl Fn(f64) -> [f64; N]) -> [f64; N] {
        let (nodes, mut total) = (gauss(NODES), [0.0; N]);
        for pair in self.breaks().windows(2) {
            let step = (pair[1] - pair[0]) / STRETCHES as f64;
            for i in 0..STRETCHES {
                for (at, weight) in &nodes {
                    let here = f(pair[0] + (i as f64 + at) * step);
                    (0..N).for_each(|k| total[k] += weight * step * here[k]);
                }
            }
        }
        total
    }

    /// The wood in it, m³, and how far from the heel its middle is, m.
    pub fn volume(&self) -> (f64, f64) {
        let [volume, moment] = self.sum(|s| {
            let area = self.section(s).area();
            [area, s * area]
        });
        (volume, moment / volume)
    }

    /// The wood of the same spar without its hollow, m³.
    pub fn solid_volume(&self) -> f64 {
        self.sum(|s| [self.section(s).solid().area()])[0]
    }

    /// Its surface to be finished, m²: girths summed, and both ends.
    pub fn surface(&self) -> f64 {
        let ends: f64 = [0.0, self.length].iter().map(|s| self.section(*s).solid().area()).sum();
        self.sum(|s| [self.section(s).girth()])[0] + ends
    }

    /// All joints that are glued along it, m², a joint counted once: between two halves, between staves, between the
    /// boards of a box. Scarfs not counted.
    pub fn glue_area(&self) -> f64 {
        let along = |s: f64| {
            let ([a, _], [hollow, _]) = (self.half(s), self.hollow(s));
            match self.build {
                Build::Solid => 0.0,
                Build::Halves => 2.0 * (a - hollow),
                // Two boards glued to both edges of the two between them, whatever plugs add.
                Build::Box => self.wall.as_ref().map_or(0.0, |wall| 4.0 * wall.thickness(s)),
                Build::Staves(n) => self.notch(s).map_or(0.0, |notch| n as f64 * notch.glued()),
            }
        };
        self.sum(|s| [along(s)])[0]
    }
}

#[cfg(test)]
mod tests;
