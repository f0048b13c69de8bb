//! The backbone in profile: its rabbet followed along the whole line, and the edges of the pieces.
//!
//! At spots along the line, closer where it bends and toward its corners, the rabbet is taken in the plane square to
//! it. The outer edge lies as deep outside the rabbet line as the keel's underside, and up stem and post tapers to the
//! stated size at the head; the inner edge lies a stated distance inside the bearding line.

mod knee;
mod told;

use kurbo::{Point, Vec2};
use scrieve_hull::{BackboneLine, Boat, Curve, Sample};

use super::parts::Parts;
use super::path::{SAME_SPOT_M, inside, joined, onward};
use super::{AlongAt, BackboneOptions, EndAt, Failure, KeelAt, PlanSpot, RabbetSection, Underside};
use crate::rabbet::{End, Rabbet, RabbetError, rabbet_across, rabbet_or_along};
use crate::{Grid, written};

pub(super) use knee::IN_LINE;

/// A place along the line, the end it belongs to, the hull there, and the rabbet or why there is none.
type Found = (f64, Option<End>, Sample, Result<Rabbet, RabbetError>);

/// Spots stand no farther apart than this share of the line: at 16 ft some 150 mm, with cubics between them within a
/// few hundredths of a millimetre; more are slower by as much.
const LENGTHS: f64 = 32.0;

/// Nor does the line turn by more between two, radians (3 degrees).
const TURN: f64 = 0.05;

/// Spots to a run between corners at the least.
const FEWEST: f64 = 12.0;

/// Spots at which a run's turning is added up.
const LOOKS: usize = 100;

/// How far short of the head, as a part of its end's length, the last spot stands: a tenth of a millimetre.
const CORNER_CLEAR: f64 = 1e-4;

/// The line runs along the boat where the fore-and-aft part of its direction is more: there a station's plane serves
/// where the square one leaves her.
const ALONG: f64 = 0.7;

/// A spot this near a corner may want a rabbet, m.
const AT_CORNER_M: f64 = 0.03;

/// The rabbet is carried on to a head from two spots this far apart, m: nearer they say too little of how it changes.
const CARRIED_FROM_M: f64 = 0.03;

/// And by no more than this, m: rakes and planking of any boat leave less.
const MOST_CARRIED_M: f64 = 0.15;

/// A rabbet is carried across from spot to spot no farther than this, m, and where their plank angles are within this,
/// radians (6 degrees): what is between then is within a few tenths of a millimetre.
const CARRIED_ACROSS_M: f64 = 0.06;

const AGREES: f64 = 0.1;

/// A spot of the backbone: its rabbet, and where its edges lie, (x, z).
#[derive(Clone, Debug)]
pub(super) struct Spot {
    /// Length along the line from its forward end, m.
    pub s: f64,
    /// The part it is on; `None` is the keel.
    pub end: Option<End>,
    pub sample: Sample,
    pub rabbet: Rabbet,
    /// Of the planking with the side of the piece, in the plane square to the line, radians.
    pub angle: f64,
    pub lines: [Point; 3],
    pub outer: Point,
    pub inner: Point,
    pub outside: f64,
}

impl Spot {
    pub fn inward(&self) -> Vec2 {
        let [x, _, z] = BackboneLine::inward(&self.sample);
        Vec2::new(x, z)
    }
}

/// Spots that follow on from one another, and their lines.
#[derive(Clone, Debug, Default)]
pub(super) struct Stretch {
    pub spots: Vec<Spot>,
    /// Rabbet, bearding and middle line.
    pub lines: [Vec<Point>; 3],
    pub outer: Vec<Point>,
    pub inner: Vec<Point>,
}

/// The backbone from the stem's head aft.
pub(super) struct Spine<'a> {
    pub hull: &'a Boat,
    pub options: BackboneOptions,
    pub underside: Underside,
    pub parts: Parts,
    /// One; where a flat bottom takes the keel's place, the stem and the post by themselves.
    pub stretches: Vec<Stretch>,
    pub is_flat: bool,
    pub scarf: f64,
    pub nib: f64,
}

impl<'a> Spine<'a> {
    pub fn new(
        hull: &'a Boat,
        options: &BackboneOptions,
        keel: &[KeelAt],
        is_flat: bool,
        underside: Underside,
        failures: &mut Vec<Failure>,
    ) -> Spine<'a> {
        let parts = Parts::of(hull, options.rabbet.half_siding);
        let depth = keel.get(keel.len() / 2).map_or(0.0, |middle| middle.upper - middle.underside);
        let mut spine = Spine {
            hull,
            options: *options,
            underside,
            parts,
            stretches: Vec::new(),
            is_flat,
            scarf: options.scarf * depth,
            nib: options.nib * depth,
        };
        let [fore, aft] = [spine.parts.fore, spine.parts.aft];
        spine.scarf = spine.scarf.min(super::LONGEST_SCARF * (aft - fore));
        let mut runs: Vec<Vec<Spot>> =
            spine.parts.runs().into_iter().map(|(from, run)| spine.run(from, &run, failures)).collect();
        runs.retain(|run| !run.is_empty());
        spine.edges(&mut runs);
        let of = |keep: &dyn Fn(&Spot) -> bool| -> Vec<Vec<Spot>> {
            let kept = runs.iter().map(|run| run.iter().filter(|s| keep(s)).cloned().collect());
            kept.filter(|run: &Vec<Spot>| !run.is_empty()).collect()
        };
        let groups = match is_flat {
            true => vec![of(&|s| s.end == Some(End::Stem)), of(&|s| s.end == Some(End::Sternpost))],
            false => vec![of(&|_| true)],
        };
        spine.stretches = groups.into_iter().filter(|g| !g.is_empty()).map(stretch).collect();
        spine
    }

    /// The spots of one run of the line, which begins `from` along it.
    fn run(&self, from: f64, run: &Curve, failures: &mut Vec<Failure>) -> Vec<Spot> {
        let (length, parts) = (run.length(), &self.parts);
        let mut wanted: Vec<(f64, Option<End>)> = Vec::new();
        for local in places(run, parts.length, &[parts.fore - from, parts.aft - from]) {
            // At a corner a spot belongs to its own run, and the very ends are points of no section.
            let s = from + local.clamp(2.0 * SAME_SPOT_M, length - 2.0 * SAME_SPOT_M);
            let end = parts.end(s);
            let clear = |from_head: f64, length: f64| from_head.max(CORNER_CLEAR * length);
            let s = match end {
                Some(End::Stem) => clear(from + local, parts.fore),
                Some(End::Sternpost) => {
                    parts.length - clear(parts.length - from - local, parts.length - parts.aft)
                }
                None => (from + local).clamp(SAME_SPOT_M, parts.length - SAME_SPOT_M),
            };
            if !(self.is_flat && end.is_none()) {
                wanted.push((s, end));
            }
        }
        let samples = run.at_lengths(&wanted.iter().map(|(s, _)| s - from).collect::<Vec<_>>());
        let mut found: Vec<Found> = Vec::new();
        for ((s, end), sample) in wanted.into_iter().zip(samples) {
            let across = rabbet_across(self.hull, end, &sample, &self.options.rabbet, true, Some(run));
            let rabbet = across.or_else(|error| match sample.tangent[0].abs() > ALONG {
                true => {
                    rabbet_or_along(self.hull, sample.p[0], &self.options.rabbet, true).map_err(|_| error)
                }
                false => Err(error),
            });
            found.push((s, end, sample, rabbet));
        }
        self.carry_to_the_heads(&mut found);
        carry_across(&mut found);
        let mut spots = Vec::new();
        for (s, end, sample, rabbet) in found {
            // At a corner the planking lies in the plane of both runs, along the side: the next spots tell the lines.
            let at_corner = (s - from).min(from + length - s) < AT_CORNER_M;
            match (rabbet, end) {
                (Ok(rabbet), _) => spots.push(spot(s, end, &sample, rabbet)),
                (Err(RabbetError::NoLine { .. }), _) if at_corner => {}
                (Err(error), Some(end)) => failures.push((end.name(), error)),
                // The keel's stations tell theirs.
                (Err(_), None) => {}
            }
        }
        spots
    }

    /// Near the head of a raked stem or post the plane square to it leaves the planking at the sheer before it comes
    /// to the bearding line: there the rabbet is carried on from the spots next to it.
    fn carry_to_the_heads(&self, found: &mut [Found]) {
        for end in [End::Stem, End::Sternpost] {
            let mut own: Vec<usize> = (0..found.len()).filter(|&k| found[k].1 == Some(end)).collect();
            if end == End::Sternpost {
                own.reverse();
            }
            // From the head down: those that want a rabbet, the first that has one, and another well below it.
            let Some(first) = own.iter().position(|&k| found[k].3.is_ok()) else { continue };
            let along: Vec<f64> = found.iter().map(|spot| spot.0).collect();
            let place = |k: usize| along[k];
            let below = own[first..]
                .iter()
                .find(|&&k| found[k].3.is_ok() && (place(k) - place(own[first])).abs() > CARRIED_FROM_M);
            let (Some(&below), near) = (below, own[first]) else { continue };
            let (Ok(a), Ok(b)) = (found[near].3.clone(), found[below].3.clone()) else { continue };
            let (s0, s1) = (place(near), place(below));
            for &k in &own[..first] {
                let part = (place(k) - s0) / (s1 - s0);
                if part.abs() * CARRIED_FROM_M > MOST_CARRIED_M {
                    continue;
                }
                let sample = &found[k].2;
                let onward = |p: Point, q: Point| p + (q - p) * part;
                let plane = scrieve_hull::Plane {
                    origin: [sample.p[0], 0.0, sample.p[2]],
                    up: BackboneLine::inward(sample),
                    ..a.plane
                };
                found[k].3 = Ok(Rabbet {
                    plane,
                    rabbet: onward(a.rabbet, b.rabbet),
                    bearding: onward(a.bearding, b.bearding),
                    middle: onward(a.middle, b.middle),
                    angle: a.angle + (b.angle - a.angle) * part,
                    normal: sample.normal,
                    ..a
                });
            }
        }
    }

    /// Sets the outer and inner edges.
    fn edges(&self, runs: &mut [Vec<Spot>]) {
        let parts = &self.parts;
        let depth_at = |s: &Spot| {
            if self.is_flat {
                self.options.stem_outside
            } else {
                self.underside.below(s.lines[0], s.inward())
            }
        };
        // How deep the backbone is at either end of the keel, and so at the foot of stem and post.
        let deep = |at: f64, foremost: bool| -> f64 {
            let keel = || runs.iter().flatten().filter(|s| s.end.is_none());
            let nearest = keel().min_by(|a, b| (a.s - at).abs().total_cmp(&(b.s - at).abs()));
            let heel = runs.iter().flatten().filter(|s| s.end.is_some() && (s.s < at) == foremost);
            let heel = heel.min_by(|a, b| (a.s - at).abs().total_cmp(&(b.s - at).abs()));
            match (nearest, heel) {
                _ if self.is_flat => self.options.stem_outside,
                (Some(keel), _) if parts.runs_on(at) => depth_at(keel),
                (_, Some(heel)) => heel.lines[0].y - self.underside.at(heel.lines[0].x),
                (Some(keel), None) => depth_at(keel),
                (None, None) => self.options.stem_outside,
            }
        };
        let (fore, aft) = (deep(parts.fore, true), deep(parts.aft, false));
        for spot in runs.iter_mut().flatten() {
            let taper = |part: f64, deep: f64, at: f64| {
                // Where the line runs on the edge leaves the keel's in its own direction.
                let part = if parts.runs_on(at) { part * part * (3.0 - 2.0 * part) } else { part };
                deep + (self.options.stem_outside - deep) * part
            };
            spot.outside = match spot.end {
                Some(End::Stem) => taper((parts.fore - spot.s) / parts.fore, fore, parts.fore),
                Some(End::Sternpost) => {
                    taper((spot.s - parts.aft) / (parts.length - parts.aft), aft, parts.aft)
                }
                None => depth_at(spot),
            };
            spot.outer = spot.lines[0] - spot.inward() * spot.outside;
            spot.inner = spot.lines[1] + spot.inward() * self.options.inside;
        }
    }

    pub fn spots(&self) -> impl Iterator<Item = &Spot> + Clone {
        self.stretches.iter().flat_map(|stretch| stretch.spots.iter())
    }

    pub fn of(&self, end: Option<End>) -> impl Iterator<Item = &Spot> + Clone {
        self.spots().filter(move |s| s.end == end)
    }

    pub fn has(&self, end: End) -> bool {
        self.of(Some(end)).count() > 1
    }

    pub fn ends(&self, end: End) -> Vec<EndAt> {
        let at = |s: &Spot| EndAt {
            z: s.lines[0].y,
            x: s.lines[0].x,
            rabbet: s.rabbet,
            outside: s.outside,
            moulded: s.outer.distance(s.inner),
        };
        let mut list: Vec<EndAt> = self.of(Some(end)).map(at).collect();
        list.sort_by(|a, b| a.z.total_cmp(&b.z));
        list
    }

    pub fn along(&self) -> Vec<AlongAt> {
        let at = |s: &Spot| AlongAt {
            along: s.s,
            piece: s.end.map_or("keel", End::name),
            x: s.lines[0].x,
            z: s.lines[0].y,
            rise: s.sample.tangent[2].atan2(s.sample.tangent[0]),
            curvature: s.sample.curvature,
            half_siding: s.rabbet.half_siding,
            plank_angle: s.angle,
        };
        self.spots().map(at).collect()
    }

    pub fn plan(&self) -> Vec<PlanSpot> {
        let spot = |s: &Spot| PlanSpot {
            x: s.lines[0].x,
            half_siding: s.rabbet.half_siding,
            middle: s.rabbet.middle.x,
        };
        self.of(None).map(spot).collect()
    }

    pub fn sections(&self, grid: &Grid, keel: &[KeelAt], every: f64) -> Vec<RabbetSection> {
        let station = |k: &KeelAt| RabbetSection {
            label: format!("ST {}", k.station),
            rabbet: k.rabbet,
            lower: k.underside,
            upper: k.upper,
        };
        let mut sections: Vec<RabbetSection> = keel.iter().map(station).collect();
        for end in [End::Stem, End::Sternpost] {
            let mut next = f64::NEG_INFINITY;
            for s in self.of(Some(end)).filter(|s| on_its_own_plane(s)) {
                if s.s < next {
                    continue;
                }
                next = s.s + every;
                sections.push(RabbetSection {
                    label: format!("{} {}", end.name().to_uppercase(), written(s.lines[0].y, grid.units)),
                    rabbet: s.rabbet,
                    lower: -s.outside,
                    upper: s.rabbet.bearding.y + self.options.inside,
                });
            }
        }
        sections
    }
}

/// A short stretch without a rabbet, between spots that agree, is that of the spots on either side of it.
fn carry_across(found: &mut [Found]) {
    for k in 1..found.len().saturating_sub(1) {
        if found[k].3.is_ok() || found[k - 1].3.is_err() {
            continue;
        }
        let Some(next) = (k..found.len()).find(|&j| found[j].3.is_ok()) else { return };
        let ((s0, s1), (Ok(a), Ok(b))) = ((found[k - 1].0, found[next].0), (&found[k - 1].3, &found[next].3))
        else {
            continue;
        };
        let own = |r: &Rabbet, f: &Found| is_square(r, &f.2);
        let both_own = own(a, &found[k - 1]) && own(b, &found[next]);
        if s1 - s0 > CARRIED_ACROSS_M || !both_own || (a.angle - b.angle).abs() > AGREES {
            continue;
        }
        let (a, b) = (*a, *b);
        for spot in &mut found[k..next] {
            let part = (spot.0 - s0) / (s1 - s0);
            let sample = &spot.2;
            let plane = scrieve_hull::Plane {
                origin: [sample.p[0], 0.0, sample.p[2]],
                up: BackboneLine::inward(sample),
                ..a.plane
            };
            spot.3 = Ok(Rabbet {
                plane,
                rabbet: a.rabbet.lerp(b.rabbet, part),
                bearding: a.bearding.lerp(b.bearding, part),
                middle: a.middle.lerp(b.middle, part),
                angle: a.angle + (b.angle - a.angle) * part,
                normal: sample.normal,
                ..a
            });
        }
    }
}

/// Whether a spot's rabbet is drawn in the plane square to the line, not in a station's.
fn on_its_own_plane(s: &Spot) -> bool {
    is_square(&s.rabbet, &s.sample)
}

fn is_square(rabbet: &Rabbet, sample: &Sample) -> bool {
    let [x, _, z] = BackboneLine::inward(sample);
    (rabbet.plane.up[0] - x).hypot(rabbet.plane.up[2] - z) < 1e-9
}

fn spot(s: f64, end: Option<End>, sample: &Sample, rabbet: Rabbet) -> Spot {
    let lines = rabbet.in_space().map(|[x, _, z]| Point::new(x, z));
    let mut spot = Spot {
        s,
        end,
        sample: *sample,
        rabbet,
        angle: rabbet.angle,
        lines,
        outer: lines[0],
        inner: lines[1],
        outside: 0.0,
    };
    if !on_its_own_plane(&spot) {
        // The planking's direction square to the line, out from the centreline: it lies square to the normal too.
        let ([tx, ty, tz], [nx, ny, nz]) = (sample.tangent, rabbet.normal);
        let across = [ny * tz - nz * ty, nz * tx - nx * tz, nx * ty - ny * tx];
        let inward = spot.inward();
        let up = across[0] * inward.x + across[2] * inward.y;
        let out = if across[1] < 0.0 { -1.0 } else { 1.0 };
        // Along the side planking may lean in by a hair.
        let way = if up * out < 0.0 && up.abs() > 2.0 * across[1].abs() { -out } else { out };
        spot.angle = (way * across[1]).atan2(way * up);
    }
    spot
}

fn stretch(runs: Vec<Vec<Spot>>) -> Stretch {
    let way = |s: &Spot| Vec2::new(s.sample.tangent[0], s.sample.tangent[2]);
    let of = |of: &dyn Fn(&Spot) -> Point| {
        joined(runs.iter().map(|run| onward(run.iter().map(|s| (of(s), way(s))))).collect())
    };
    // The inner edge lies inside the bearding line square to that, not to the backbone's line: where that turns sharply
    // the two directions part.
    let inner = |run: &Vec<Spot>| {
        let bearding = onward(run.iter().map(|s| (s.lines[1], way(s))));
        let size = run.iter().map(|s| s.lines[1].distance(s.inner)).fold(0.0, f64::max);
        match bearding.len() < 3 {
            true => onward(run.iter().map(|s| (s.inner, way(s)))),
            false => inside(&bearding, size),
        }
    };
    Stretch {
        lines: [0, 1, 2].map(|k| of(&|s| s.lines[k])),
        outer: of(&|s| s.outer),
        inner: joined(runs.iter().map(inner).collect()),
        spots: runs.concat(),
    }
}

/// Lengths along a run of a line of length `whole` at which spots stand; those of `with` that lie on it among them.
fn places(run: &Curve, whole: f64, with: &[f64]) -> Vec<f64> {
    let length = run.length();
    let by_length = (LENGTHS * length / whole).max(FEWEST);
    let at = |i: usize| length * i as f64 / LOOKS as f64;
    // Steps used up so far: by length and by turning.
    let mut used = vec![0.0];
    let mut last: Option<Sample> = None;
    for here in run.at_lengths(&(0..=LOOKS).map(at).collect::<Vec<_>>()) {
        if let Some(before) = last {
            let [a, b] = [before.tangent, here.tangent];
            let turn = (a[0] * b[2] - a[2] * b[0]).atan2(a[0] * b[0] + a[2] * b[2]).abs();
            let so_far = used[used.len() - 1];
            used.push(so_far + turn / TURN + by_length / LOOKS as f64);
        }
        last = Some(here);
    }
    if used.len() < 2 {
        return Vec::new();
    }
    let total = used[used.len() - 1];
    let count = (total * 0.5 * std::f64::consts::PI).ceil();
    let mut places: Vec<f64> = (0..=count as usize)
        .map(|i| {
            // Closer toward the ends of the run, where the planking turns most.
            let want = total * (0.5 - 0.5 * (std::f64::consts::PI * i as f64 / count).cos());
            let k = used.partition_point(|u| *u < want).clamp(1, used.len() - 1);
            let part = (want - used[k - 1]) / (used[k] - used[k - 1]).max(f64::MIN_POSITIVE);
            at(k - 1) + (at(k) - at(k - 1)) * part.clamp(0.0, 1.0)
        })
        .collect();
    for &joint in with.iter().filter(|j| **j > SAME_SPOT_M && **j < length - SAME_SPOT_M) {
        let near = |p: &f64| (p - joint).abs();
        if let Some(nearest) = places.iter_mut().min_by(|a, b| near(a).total_cmp(&near(b))) {
            *nearest = joint;
        }
    }
    places
}

/// A spot that has no rabbet: see [`super::told`].
pub(super) fn no_rabbet(failures: &[Failure]) -> RabbetError {
    let none = RabbetError::NoLine { place: "the stations".into(), line: "rabbet" };
    failures.first().map_or(none, |(_, error)| error.clone())
}
