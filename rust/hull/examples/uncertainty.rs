//! How honest the uncertainty of hydrostatic figures is: how many of the 95 % intervals that draws give them hold what
//! they are for hulls in closed form, on hulls drawn afresh.
//!
//! The truth is integrated over the formula itself, with none of the hull's own arithmetic. A line for each unit the
//! tables are written in and each kind of hull, by figure: the families, and two halves of the boats as built, of which
//! one was looked at while the draws were made and the other was not.
//! `cargo run --release -p scrieve-hull --example uncertainty [HULLS [DRAWS [FIRST_SEED]]]`, 200 hulls and 16 draws a unit

use std::time::Instant;

use scrieve_fairing::known::as_built::{AsBuilt, Kind};
use scrieve_fairing::known::{Family, Known, Place};
use scrieve_fairing::{Options, Surface, fair};
use scrieve_hull::floating::{Body, Water};
use scrieve_offsets::{Survey, TransomPlane};

/// Part of the depth that is under water.
const DRAUGHT: f64 = 0.45;
/// Points of the truth's grid along the boat and up her, for volumes and for surfaces; closer toward the ends.
const VOLUMES: (usize, usize) = (400, 150);
const SURFACES: (usize, usize) = (200, 60);
/// A figure surer than this, as a part of itself, is none the readings have a say in.
const NOT_READ: f64 = 1e-7;
/// Bisections for the ends of a waterline.
const BISECTIONS: usize = 50;

const NAMES: [&str; 11] = ["∇", "AWP", "LWL", "BWL", "CB", "CP", "LCB", "LCF", "KB", "BMT", "S"];

/// The figures, in the order of [`NAMES`].
type Figures = [f64; 11];

fn bisect(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    let rising = f(high) > f(low);
    for _ in 0..BISECTIONS {
        let mid = 0.5 * (low + high);
        if (f(mid) < 0.0) == rising { low = mid } else { high = mid }
    }
    0.5 * (low + high)
}

/// Midpoints of `n` parts of a to b, closer toward both ends, and their widths.
fn parts(a: f64, b: f64, n: usize) -> impl Iterator<Item = (f64, f64)> {
    let at = move |i: f64| a + (b - a) * 0.5 * (1.0 - (std::f64::consts::PI * i / n as f64).cos());
    (0..n).map(move |i| (0.5 * (at(i as f64) + at(i as f64 + 1.0)), at(i as f64 + 1.0) - at(i as f64)))
}

/// The figures of a family's hull.
struct Truth<'a> {
    hull: &'a Known,
    lowest: (f64, f64),
    draught: f64,
}

impl<'a> Truth<'a> {
    fn new(hull: &'a Known) -> Self {
        let l = hull.length();
        let along = || (0..=2000).map(|i| l * i as f64 / 2000.0);
        let x = along().min_by(|a, b| hull.rabbet(*a).total_cmp(&hull.rabbet(*b))).unwrap_or_default();
        let sheer = along().map(|x| hull.sheer(x).1).fold(f64::MAX, f64::min);
        let lowest = (x, hull.rabbet(x));
        Truth { hull, lowest, draught: lowest.1 + DRAUGHT * (sheer - lowest.1) }
    }

    /// Ends of the waterline at z, within the rabbet and the after end.
    fn ends(&self, z: f64) -> (f64, f64) {
        let (hull, l) = (self.hull, self.hull.length());
        let fore =
            if hull.rabbet(0.0) <= z { 0.0 } else { bisect(0.0, self.lowest.0, |x| hull.rabbet(x) - z) };
        let end = hull.after_end(z);
        let out = hull.transom().is_none() && hull.stern_heights().0 > z || hull.rabbet(end.min(1.2 * l)) > z;
        (fore, if out { bisect(self.lowest.0, end, |x| hull.rabbet(x) - z) } else { end })
    }

    /// Area of both sides of the section at x under water.
    fn section(&self, x: f64) -> f64 {
        let low = self.hull.rabbet(x);
        parts(low, self.draught, 400).map(|(z, dz)| 2.0 * self.hull.half_breadth(x, z) * dz).sum()
    }

    fn figures(&self) -> Figures {
        let (hull, t) = (self.hull, self.draught);
        let (mut volume, mut moments) = (0.0, [0.0; 2]);
        for (z, dz) in parts(self.lowest.1, t, VOLUMES.1) {
            let (a, b) = self.ends(z);
            for (x, dx) in parts(a, b, VOLUMES.0) {
                let d = 2.0 * hull.half_breadth(x, z) * dx * dz;
                volume += d;
                moments = [moments[0] + x * d, moments[1] + z * d];
            }
        }
        let (a, b) = self.ends(t);
        let of = by_waterplane((a, b), |x| hull.half_breadth(x, t));
        let am = (1..200).map(|i| self.section(a + (b - a) * f64::from(i) / 200.0)).fold(0.0, f64::max);
        of_parts(volume, moments, (b - a, of, am), t - self.lowest.1, self.surface())
    }

    /// Wetted surface: both sides, the flat between the rabbet lines, and what is flat at the ends.
    fn surface(&self) -> f64 {
        let (hull, t, l) = (self.hull, self.draught, self.hull.length());
        let plane = hull.transom();
        let foot = hull.stem_heights().0;
        let heel = bisect(0.5 * l, 1.2 * l, |x| hull.after_end(hull.rabbet(x)) - x);
        let (a, b) = self.ends(t);
        let mut surface: f64 = parts(a, b, SURFACES.0)
            .map(|(x, dx)| {
                let face = |p: TransomPlane| bisect(0.0, t, |z| p.x(0.0, z) - x);
                let low = plane.filter(|_| x > heel).map_or_else(|| hull.rabbet(x), face);
                parts(low, t, SURFACES.1).map(|(z, dz)| 2.0 * dx * dz / hull.normal(x, z)[1]).sum::<f64>()
            })
            .sum();
        // The flat: down the stem, along the keel, up the sternpost.
        let n = 4000;
        let between = |a: f64, b: f64| (0..=n).map(move |i| a + (b - a) * f64::from(i) / f64::from(n));
        let mut profile: Vec<(f64, f64)> = Vec::new();
        let mut run = (a, b.min(if plane.is_some() { heel } else { b }));
        if let Some(x) = hull.stem_x(foot).filter(|_| foot < t) {
            profile.extend(between(t, foot).map(|z| (hull.stem_x(z).unwrap_or_default(), z)));
            run.0 = x;
        }
        let post = hull.stern_heights().0;
        let sternpost = hull.stern_x(post).filter(|_| post < t);
        run.1 = sternpost.unwrap_or(run.1);
        profile.extend(between(run.0, run.1).map(|x| (x, hull.rabbet(x))));
        if sternpost.is_some() {
            profile.extend(between(post, t).map(|z| (hull.stern_x(z).unwrap_or_default(), z)));
        }
        let girth: f64 = profile.windows(2).map(|p| (p[1].0 - p[0].0).hypot(p[1].1 - p[0].1)).sum();
        surface += 2.0 * hull.half_siding() * girth;
        let flat = |low: f64, x: &dyn Fn(f64) -> f64| -> f64 {
            parts(low, t.max(low), 400).map(|(z, dz)| 2.0 * hull.half_breadth(x(z), z) * dz).sum()
        };
        if let Some(plane) = plane {
            let rake = (plane.head.0 - plane.foot.0) / (plane.head.1 - plane.foot.1);
            surface += 1f64.hypot(rake) * flat(hull.rabbet(heel), &|z| plane.x(0.0, z));
        }
        if hull.stem_x(foot).is_none() {
            surface += flat(hull.rabbet(0.0), &|_| 0.0);
        }
        surface
    }
}

/// The figures of a boat as built; her wetted surface is left out, for she has no normals at edges.
struct BuiltTruth<'a> {
    hull: &'a AsBuilt,
    /// x of the lowest place of the backbone, and its height.
    lowest: (f64, f64),
    draught: f64,
}

impl<'a> BuiltTruth<'a> {
    fn new(hull: &'a AsBuilt) -> Self {
        let l = hull.length();
        let along = || (1..2000).map(|i| l * f64::from(i) / 2000.0);
        let x = along().min_by(|a, b| hull.bottom(*a).total_cmp(&hull.bottom(*b))).unwrap_or_default();
        let sheer = along().map(|x| hull.sheer(x)).fold(f64::MAX, f64::min);
        let lowest = (x, hull.bottom(x));
        BuiltTruth { hull, lowest, draught: lowest.1 + DRAUGHT * (sheer - lowest.1) }
    }

    fn inside(&self, x: f64, z: f64) -> bool {
        self.hull.bottom(x) <= z && !self.hull.abaft_transom(x, self.hull.half_breadth(x, z), z)
    }

    /// Ends of the waterline at z, by halving between a place within and one without.
    fn ends(&self, z: f64) -> (f64, f64) {
        let (hull, l) = (self.hull, self.hull.length());
        let after = hull.transom().map_or(l, |t| t.foot.0.max(t.head.0) + 0.05 * l);
        let end = |without: f64| {
            if self.inside(without, z) {
                return without;
            }
            let (mut within, mut without) = (self.lowest.0, without);
            for _ in 0..BISECTIONS {
                let mid = 0.5 * (within + without);
                if self.inside(mid, z) { within = mid } else { without = mid }
            }
            within
        };
        (end(0.0), end(after))
    }

    fn section(&self, x: f64) -> f64 {
        let low = self.hull.bottom(x);
        parts(low, self.draught, 400).map(|(z, dz)| 2.0 * self.hull.half_breadth(x, z) * dz).sum()
    }

    fn figures(&self) -> Figures {
        let (hull, t) = (self.hull, self.draught);
        let (mut volume, mut moments) = (0.0, [0.0; 2]);
        for (z, dz) in parts(self.lowest.1, t, VOLUMES.1) {
            let (a, b) = self.ends(z);
            for (x, dx) in parts(a, b, VOLUMES.0) {
                let d = 2.0 * hull.half_breadth(x, z) * dx * dz;
                volume += d;
                moments = [moments[0] + x * d, moments[1] + z * d];
            }
        }
        let (a, b) = self.ends(t);
        let of = by_waterplane((a, b), |x| hull.half_breadth(x, t));
        let am = (1..200).map(|i| self.section(a + (b - a) * f64::from(i) / 200.0)).fold(0.0, f64::max);
        of_parts(volume, moments, (b - a, of, am), t - self.lowest.1, f64::NAN)
    }
}

/// Area, first moment along, second moment across and breadth of the waterplane between its ends.
fn by_waterplane((a, b): (f64, f64), half_breadth: impl Fn(f64) -> f64) -> [f64; 4] {
    let mut of = [0.0f64; 4];
    for (x, dx) in parts(a, b, 4000) {
        let y = half_breadth(x);
        of[0] += 2.0 * y * dx;
        of[1] += 2.0 * y * x * dx;
        of[2] += 2.0 / 3.0 * y.powi(3) * dx;
        of[3] = of[3].max(2.0 * y);
    }
    of
}

fn of_parts(
    volume: f64,
    moments: [f64; 2],
    (lwl, [plane, moment, inertia, bwl], am): (f64, [f64; 4], f64),
    draught: f64,
    surface: f64,
) -> Figures {
    [
        volume,
        plane,
        lwl,
        bwl,
        volume / (lwl * bwl * draught),
        volume / (am * lwl),
        moments[0] / volume,
        moment / plane,
        moments[1] / volume,
        inertia / volume,
        surface,
    ]
}

fn figures(surface: &Surface, draught: f64) -> Option<Figures> {
    let h = Body::new(surface).hydrostatics(draught, Water::SEA).ok()?;
    Some([h.volume, h.awp, h.lwl, h.bwl, h.cb, h.cp, h.lcb, h.lcf, h.kb, h.bmt, h.wetted_surface])
}

/// Boats as built whose figures the formula gives: the half that was looked at, and the half that was kept back. Not
/// those with a curved transom, a post under one, or ends round in plan, whose volume these integrals would not find.
const LOOKED_AT: [Kind; 8] = [
    Kind::RoundedStem,
    Kind::PlumbStem,
    Kind::SpoonBow,
    Kind::Wineglass,
    Kind::CanoeStern,
    Kind::FlatBottom,
    Kind::Tumblehome,
    Kind::WideKeel,
];
const KEPT_BACK: [Kind; 8] = [
    Kind::RoundedDoubleEnder,
    Kind::Cutaway,
    Kind::ClipperBow,
    Kind::Tuck,
    Kind::Pram,
    Kind::MultiChine,
    Kind::Reverse,
    Kind::Ellipse,
];

/// What the tables are written in. A model's millimetre at 1:8 is eight of the boat's.
const UNITS: [(&str, Place); 4] = [
    ("eighths", Place::Eighth),
    ("sixteenths", Place::Sixteenth),
    ("mm", Place::Millimetre),
    ("mm at 1:8", Place::ModelMillimetre),
];
const STATIONS: [usize; 4] = [8, 9, 11, 13];

/// One hull of a kind: her truth, draught, and her table at so many stations.
fn hull(group: usize, i: usize, seed: u64, place: Place) -> (String, Figures, f64, Survey) {
    let stations = STATIONS[i % STATIONS.len()];
    if group == 0 {
        let known = Known::new(Family::ALL[i % Family::ALL.len()], seed);
        let truth = Truth::new(&known);
        let survey = known.survey(&known.layout(stations), place);
        return (format!("{:?}", known.family()), truth.figures(), truth.draught, survey);
    }
    let kinds = if group == 1 { &LOOKED_AT } else { &KEPT_BACK };
    let boat = AsBuilt::new(kinds[i % kinds.len()], seed);
    let truth = BuiltTruth::new(&boat);
    let mut survey = boat.survey(&boat.taking(stations), place);
    // The siding is the boat's own size, whatever the scale.
    survey.half_siding = boat.half_siding(0.0);
    (format!("{:?}", boat.kind()), truth.figures(), truth.draught, survey)
}

/// Student's t at 0.975: Abramowitz and Stegun 26.7.5, as the intervals of `scrieve.uncertainty` have it.
fn student(n: f64) -> f64 {
    let x = 1.959_963_984_540_054f64;
    x + (x.powi(3) + x) / (4.0 * n)
        + (5.0 * x.powi(5) + 16.0 * x.powi(3) + 3.0 * x) / (96.0 * n * n)
        + (3.0 * x.powi(7) + 19.0 * x.powi(5) + 17.0 * x.powi(3) - 15.0 * x) / (384.0 * n.powi(3))
}

/// Intervals that hold the truth, of how many; and squares of errors in standard deviations.
type Held = [(usize, usize, f64); NAMES.len()];

fn show(name: &str, held: &Held, ms: f64) {
    print!("{name:<24}");
    let share = |h: &(usize, usize, f64)| 100.0 * h.0 as f64 / h.1 as f64;
    held.iter().for_each(|h| if h.1 > 0 { print!("{:>6.1}", share(h)) } else { print!("{:>6}", "") });
    let least = held.iter().map(|h| h.1).filter(|n| *n > 0).min().unwrap_or(1);
    println!("{:>7.1}{:>7}{ms:>8.0}", 100.0 * (0.95 * 0.05 / least as f64).sqrt(), least);
}

fn main() {
    let mut words = std::env::args().skip(1).filter_map(|a| a.parse::<usize>().ok());
    let (hulls, count) = (words.next().unwrap_or(200), words.next().unwrap_or(16));
    let first = words.next().unwrap_or(5000) as u64;
    let only = std::env::var("UNIT").ok();
    let detail = std::env::var("DETAIL").is_ok();
    println!("95 % intervals that hold the truth, %; {count} draws, seeds from {first}");
    print!("{:<24}", "");
    NAMES.iter().for_each(|name| print!("{name:>6}"));
    println!("{:>7}{:>7}{:>8}", "± one", "hulls", "ms");
    for (unit, place) in UNITS.into_iter().filter(|u| only.as_ref().is_none_or(|o| o == u.0)) {
        let mut all: Held = Default::default();
        let mut clock_all = 0.0;
        // Half of them of the families, a quarter of each half of the boats as built.
        for (group, name, hulls) in
            [(0, "families", hulls / 2), (1, "as built", hulls / 4), (2, "as built, kept back", hulls / 4)]
        {
            let mut held: Held = Default::default();
            let mut ms = 0.0;
            for i in 0..hulls {
                let (kind, truth, draught, survey) = hull(group, i, first + i as u64, place);
                let Ok(faired) = fair(&survey, &Options::default()) else {
                    println!("{kind}: not faired");
                    continue;
                };
                let clock = Instant::now();
                let draws = faired.draws(count, 0).unwrap_or_default();
                ms += clock.elapsed().as_secs_f64() * 1e3;
                let Some(value) = figures(&faired.surface, draught) else {
                    println!("{kind}: no figures");
                    continue;
                };
                let drawn: Vec<Figures> = draws.iter().filter_map(|d| figures(&d.surface, draught)).collect();
                let n = drawn.len() as f64;
                for (k, held) in held.iter_mut().enumerate() {
                    let sd = (drawn.iter().map(|d| (d[k] - value[k]).powi(2)).sum::<f64>() / n).sqrt();
                    let error = value[k] - truth[k];
                    if !truth[k].is_finite() || sd < NOT_READ * value[k] {
                        continue;
                    }
                    held.0 += usize::from(error.abs() <= student(n) * sd);
                    held.1 += 1;
                    held.2 += (error / sd).powi(2);
                    if detail {
                        let mean = drawn.iter().map(|d| d[k]).sum::<f64>() / n;
                        println!(
                            "{unit} {kind} {i} {} truth {:.5} error {error:+.5} sd {sd:.5} bias {:+.5} {:.1}",
                            NAMES[k],
                            truth[k],
                            mean - value[k],
                            error / sd
                        );
                    }
                }
            }
            show(&format!("{unit}, {name}"), &held, ms / hulls.max(1) as f64);
            for (all, own) in all.iter_mut().zip(&held) {
                *all = (all.0 + own.0, all.1 + own.1, all.2 + own.2);
            }
            clock_all += ms;
        }
        show(unit, &all, clock_all / hulls.max(1) as f64);
    }
}
