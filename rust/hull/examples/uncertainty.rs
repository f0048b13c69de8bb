//! How honest the uncertainty of hydrostatic figures is: the share of them within two standard deviations, as
//! draws give these, of what they are for hulls in closed form.
//!
//! The truth is integrated over the formula itself, with none of the hull's own arithmetic. For each number of
//! stations and hand a line: shares by figure, sd of the volume, and time.
//! `cargo run --release -p scrieve-hull --example uncertainty [SEEDS] [DRAWS]`

use std::time::Instant;

use scrieve_fairing::known::{Family, Known, Place};
use scrieve_fairing::{Options, Surface, fair};
use scrieve_hull::floating::{Body, Water};
use scrieve_offsets::TransomPlane;

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
        let (mut plane, mut moment, mut inertia, mut bwl) = (0.0, 0.0, 0.0, 0.0f64);
        for (x, dx) in parts(a, b, 4000) {
            let y = hull.half_breadth(x, t);
            plane += 2.0 * y * dx;
            moment += 2.0 * y * x * dx;
            inertia += 2.0 / 3.0 * y.powi(3) * dx;
            bwl = bwl.max(2.0 * y);
        }
        let am = (1..200).map(|i| self.section(a + (b - a) * f64::from(i) / 200.0)).fold(0.0, f64::max);
        let lwl = b - a;
        [
            volume,
            plane,
            lwl,
            bwl,
            volume / (lwl * bwl * (t - self.lowest.1)),
            volume / (am * lwl),
            moments[0] / volume,
            moment / plane,
            moments[1] / volume,
            inertia / volume,
            self.surface(),
        ]
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

fn figures(surface: &Surface, draught: f64) -> Option<Figures> {
    let h = Body::new(surface).hydrostatics(draught, Water::SEA).ok()?;
    Some([h.volume, h.awp, h.lwl, h.bwl, h.cb, h.cp, h.lcb, h.lcf, h.kb, h.bmt, h.wetted_surface])
}

fn main() {
    let mut words = std::env::args().skip(1).filter_map(|a| a.parse::<usize>().ok());
    let (seeds, count) = (words.next().unwrap_or(4), words.next().unwrap_or(32));
    let detail = std::env::var("DETAIL").is_ok();
    let known: Vec<Known> = (Family::ALL.iter())
        .flat_map(|&family| (0..seeds as u64).map(move |seed| Known::new(family, 100 + seed)))
        .collect();
    let truths: Vec<(Figures, f64)> = (known.iter())
        .map(|hull| {
            let truth = Truth::new(hull);
            (truth.figures(), truth.draught)
        })
        .collect();
    println!("{seeds} seeds of each family, {count} draws");
    print!("{:<24}", "within 2 sd, %");
    NAMES.iter().for_each(|name| print!("{name:>5}"));
    println!("   all  sd of ∇   error  ms a hull");
    let mut all = [[0usize; 2]; NAMES.len()];
    for place in [Place::Eighth, Place::Sixteenth] {
        for stations in [8, 9, 11, 13] {
            let mut within = [[0usize; 2]; NAMES.len()];
            let (mut sds, mut errors, mut ms) = (Vec::new(), Vec::new(), 0.0);
            for (hull, (truth, draught)) in known.iter().zip(&truths) {
                let Ok(faired) = fair(&hull.survey(&hull.layout(stations), place), &Options::default())
                else {
                    println!("{:?}: not faired", hull.family());
                    continue;
                };
                let clock = Instant::now();
                let draws = faired.draws(count, 0).unwrap_or_default();
                let Some(value) = figures(&faired.surface, *draught) else {
                    println!("{:?}: no figures", hull.family());
                    continue;
                };
                let drawn: Vec<Figures> =
                    draws.iter().filter_map(|d| figures(&d.surface, *draught)).collect();
                ms += clock.elapsed().as_secs_f64() * 1e3;
                for k in 0..NAMES.len() {
                    let sd = (drawn.iter().map(|d| (d[k] - value[k]).powi(2)).sum::<f64>()
                        / drawn.len() as f64)
                        .sqrt();
                    let error = value[k] - truth[k];
                    if sd < NOT_READ * value[k] {
                        continue;
                    }
                    if detail {
                        let mean = drawn.iter().map(|d| d[k]).sum::<f64>() / drawn.len() as f64;
                        println!(
                            "{:?} {stations} {place:?} {} truth {:.5} error {:+.5} sd {:.5} bias {:+.5} {:.1}",
                            hull.family(),
                            NAMES[k],
                            truth[k],
                            error,
                            sd,
                            mean - value[k],
                            error / sd
                        );
                    }
                    let add = [usize::from(error.abs() <= 2.0 * sd), 1];
                    (0..2).for_each(|i| within[k][i] += add[i]);
                    if k == 0 {
                        sds.push(sd / value[k]);
                        errors.push(error / value[k]);
                    }
                }
            }
            let share = |w: &[usize; 2]| 100.0 * w[0] as f64 / w[1].max(1) as f64;
            let total = |w: &[[usize; 2]]| w.iter().fold([0, 0], |a, b| [a[0] + b[0], a[1] + b[1]]);
            print!("{:<24}", format!("{place:?}, {stations} stations"));
            within.iter().for_each(|w| print!("{:>5.0}", share(w)));
            let rms = |of: &[f64]| 100.0 * (of.iter().map(|v| v * v).sum::<f64>() / of.len() as f64).sqrt();
            println!(
                " {:>5.0}  {:>5.2} %  {:>4.2} %  {:>9.0}",
                share(&total(&within)),
                rms(&sds),
                rms(&errors),
                ms / known.len() as f64
            );
            all.iter_mut().zip(&within).for_each(|(a, w)| *a = [a[0] + w[0], a[1] + w[1]]);
        }
    }
    print!("{:<24}", "all");
    all.iter().for_each(|w| print!("{:>5.0}", 100.0 * w[0] as f64 / w[1].max(1) as f64));
    println!();
}
