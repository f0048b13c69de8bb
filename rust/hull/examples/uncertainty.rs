//! How honest the uncertainty of hydrostatic figures is: how many of the 95 % intervals that draws give them hold what
//! they are for hulls in closed form, on hulls drawn afresh.
//!
//! The truth is integrated over the formula itself, with none of the hull's own arithmetic. A line for each unit the
//! tables are written in and each kind of hull, by figure: the families, and two halves of the boats as built, of which
//! one was looked at while the draws were made and the other was not.
//! `cargo run --release -p scrieve-hull --example uncertainty [HULLS [DRAWS [FIRST_SEED]]]`, 200 hulls and 16 draws a unit

use std::time::Instant;

use scrieve_fairing::known::as_built::{AsBuilt, Kind};
use scrieve_fairing::known::{Family, Known, Layout, Place};
use scrieve_fairing::{Options, Surface, fair};
use scrieve_hull::floating::{Body, Water};
use scrieve_offsets::{Survey, TransomPlane};

/// Part of the depth that is under water.
const DRAUGHT: f64 = 0.45;
/// Points of the truth's grid along the boat and up her, for volumes and, a strake, for surfaces; closer toward the ends.
const VOLUMES: (usize, usize) = (400, 150);
const SURFACES: (usize, usize) = (800, 200);
/// Points of a profile.
const PROFILE: usize = 4000;
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

/// A boat in closed form, of either make: between a backbone and a sheer, by half-breadths.
trait Form {
    fn length(&self) -> f64;
    /// Height of the backbone at x.
    fn bottom(&self, x: f64) -> f64;
    /// Height of the sheer at x.
    fn top(&self, x: f64) -> f64;
    fn breadth(&self, x: f64, z: f64) -> f64;
    fn siding(&self, x: f64) -> f64;
    fn plane(&self) -> Option<TransomPlane>;
    /// Whether (x, z) of the centreplane is hers.
    fn within(&self, x: f64, z: f64) -> bool;
    fn strakes(&self) -> usize;
    /// Half-breadth and height at s of the section at x, 0 to 1 on the lowest strake, to 2 on the next.
    fn at(&self, x: f64, s: f64) -> (f64, f64);
    /// The backbone in profile from end to end.
    fn profile(&self) -> Vec<(f64, f64)>;
    /// Whether she is cut off square forward.
    fn blunt(&self) -> bool;
}

impl Form for Known {
    fn length(&self) -> f64 {
        Known::length(self)
    }

    fn bottom(&self, x: f64) -> f64 {
        self.rabbet(x)
    }

    fn top(&self, x: f64) -> f64 {
        self.sheer(x).1
    }

    fn breadth(&self, x: f64, z: f64) -> f64 {
        self.half_breadth(x, z)
    }

    fn siding(&self, _: f64) -> f64 {
        self.half_siding()
    }

    fn plane(&self) -> Option<TransomPlane> {
        self.transom()
    }

    fn within(&self, x: f64, z: f64) -> bool {
        x >= 0.0 && self.rabbet(x) <= z && x <= self.after_end(z)
    }

    fn strakes(&self) -> usize {
        1 + usize::from(self.family() == Family::HardChine)
    }

    fn at(&self, x: f64, s: f64) -> (f64, f64) {
        let (low, high) = (self.rabbet(x), self.sheer(x).1);
        let chine = self.chine(x).map_or(low, |c| c.1);
        let z = match (self.strakes(), s < 1.0) {
            (1, _) => low + s * s * (high - low),
            (_, true) => low + s * s * (chine - low),
            _ => chine + (s - 1.0) * (high - chine),
        };
        (self.half_breadth(x, z), z)
    }

    fn profile(&self) -> Vec<(f64, f64)> {
        let between = |a: f64, b: f64| (0..=PROFILE).map(move |i| a + (b - a) * i as f64 / PROFILE as f64);
        let ((foot, head), (heel, peak)) = (self.stem_heights(), self.stern_heights());
        let fore: Vec<_> = between(head, foot).filter_map(|z| Some((self.stem_x(z)?, z))).collect();
        let aft: Vec<_> = between(heel, peak).filter_map(|z| Some((self.stern_x(z)?, z))).collect();
        let from = fore.last().map_or(0.0, |p| p.0);
        let to = aft.first().map_or_else(|| self.transom().map_or(0.0, |t| t.foot.0), |p| p.0);
        fore.into_iter().chain(between(from, to).map(|x| (x, self.rabbet(x)))).chain(aft).collect()
    }

    fn blunt(&self) -> bool {
        self.family() == Family::ScowBow
    }
}

impl Form for AsBuilt {
    fn length(&self) -> f64 {
        AsBuilt::length(self)
    }

    fn bottom(&self, x: f64) -> f64 {
        AsBuilt::bottom(self, x)
    }

    fn top(&self, x: f64) -> f64 {
        self.sheer(x)
    }

    fn breadth(&self, x: f64, z: f64) -> f64 {
        self.half_breadth(x, z)
    }

    fn siding(&self, x: f64) -> f64 {
        self.half_siding(x)
    }

    fn plane(&self) -> Option<TransomPlane> {
        self.transom()
    }

    fn within(&self, x: f64, z: f64) -> bool {
        let end = self.transom().is_some() || x <= AsBuilt::length(self);
        x >= 0.0 && end && AsBuilt::bottom(self, x) <= z && !self.abaft_transom(x, self.half_breadth(x, z), z)
    }

    fn strakes(&self) -> usize {
        AsBuilt::strakes(self)
    }

    fn at(&self, x: f64, s: f64) -> (f64, f64) {
        AsBuilt::at(self, x, s)
    }

    fn profile(&self) -> Vec<(f64, f64)> {
        self.backbone(PROFILE)
    }

    fn blunt(&self) -> bool {
        !self.pointed_ends().0
    }
}

/// The figures by the formula.
struct Truth<'a> {
    hull: &'a dyn Form,
    /// x of the lowest place of the backbone, and its height.
    lowest: (f64, f64),
    draught: f64,
}

impl<'a> Truth<'a> {
    fn new(hull: &'a dyn Form) -> Self {
        let l = hull.length();
        let along = || (0..=2000).map(|i| l * f64::from(i) / 2000.0);
        let x = along().min_by(|a, b| hull.bottom(*a).total_cmp(&hull.bottom(*b))).unwrap_or_default();
        let sheer = along().map(|x| hull.top(x)).fold(f64::MAX, f64::min);
        let lowest = (x, hull.bottom(x));
        Truth { hull, lowest, draught: lowest.1 + DRAUGHT * (sheer - lowest.1) }
    }

    /// Ends of the waterline at z, by halving between a place within and one without.
    fn ends(&self, z: f64) -> (f64, f64) {
        let end = |without: f64| {
            let (mut within, mut without) = (self.lowest.0, without);
            for _ in 0..BISECTIONS {
                let mid = 0.5 * (within + without);
                if self.hull.within(mid, z) { within = mid } else { without = mid }
            }
            within
        };
        let l = self.hull.length();
        (if self.hull.within(0.0, z) { 0.0 } else { end(0.0) }, end(1.5 * l))
    }

    /// Area of both sides of the section at x under water.
    fn section(&self, x: f64) -> f64 {
        let low = self.hull.bottom(x);
        parts(low, self.draught, 400).map(|(z, dz)| 2.0 * self.hull.breadth(x, z) * dz).sum()
    }

    fn figures(&self) -> Figures {
        let (hull, t) = (self.hull, self.draught);
        let (mut volume, mut moments) = (0.0, [0.0; 2]);
        for (z, dz) in parts(self.lowest.1, t, VOLUMES.1) {
            let (a, b) = self.ends(z);
            for (x, dx) in parts(a, b, VOLUMES.0) {
                let d = 2.0 * hull.breadth(x, z) * dx * dz;
                volume += d;
                moments = [moments[0] + x * d, moments[1] + z * d];
            }
        }
        let (a, b) = self.ends(t);
        let mut of = [0.0f64; 4];
        for (x, dx) in parts(a, b, 4000) {
            let y = hull.breadth(x, t);
            let own = [2.0 * y * dx, 2.0 * y * x * dx, 2.0 / 3.0 * y.powi(3) * dx];
            of = [of[0] + own[0], of[1] + own[1], of[2] + own[2], of[3].max(2.0 * y)];
        }
        let [plane, moment, inertia, bwl] = of;
        let am = greatest((a, b), |x| self.section(x));
        let (lwl, draught) = (b - a, t - self.lowest.1);
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
            self.surface(),
        ]
    }

    /// Wetted surface: both sides by strakes, in triangles; the flat between the rabbet lines; what is flat at the ends.
    fn surface(&self) -> f64 {
        let (hull, t, l) = (self.hull, self.draught, self.hull.length());
        let after = |s: f64| match hull.plane() {
            Some(plane) => bisect(0.5 * l, 1.5 * l, |x| x - plane.x(0.0, hull.at(x, s).1)),
            None => l,
        };
        let line = |s: f64| -> Vec<[f64; 3]> {
            let end = after(s);
            let x = |i: usize| 0.5 * end * (1.0 - (std::f64::consts::PI * i as f64 / SURFACES.0 as f64).cos());
            let point = |x: f64| [x, hull.at(x, s).0, hull.at(x, s).1];
            (0..=SURFACES.0).map(|i| point(x(i))).collect()
        };
        let mut surface = 0.0;
        for strake in 0..hull.strakes() {
            // Short of the next strake's own formula.
            let at = |j: usize| strake as f64 + (j as f64 / SURFACES.1 as f64).min(1.0 - 1e-12);
            let lines: Vec<_> = (0..=SURFACES.1).map(|j| line(at(j))).collect();
            for pair in lines.windows(2) {
                for (low, high) in pair[0].windows(2).zip(pair[1].windows(2)) {
                    surface += 2.0 * below([low[0], low[1], high[0]], t);
                    surface += 2.0 * below([high[0], low[1], high[1]], t);
                }
            }
        }
        for pair in hull.profile().windows(2) {
            let [low, high] = if pair[0].1 < pair[1].1 { [pair[0], pair[1]] } else { [pair[1], pair[0]] };
            let wet = ((t - low.1) / (high.1 - low.1).max(1e-300)).clamp(0.0, 1.0);
            let siding = hull.siding(0.5 * (low.0 + high.0));
            surface += 2.0 * siding * wet * (high.0 - low.0).hypot(high.1 - low.1);
        }
        let flat = |x: &dyn Fn(f64) -> f64, low: f64| -> f64 {
            parts(low, t.max(low), 2000).map(|(z, dz)| 2.0 * hull.breadth(x(z), z) * dz).sum()
        };
        if let Some(plane) = hull.plane() {
            let rake = (plane.head.0 - plane.foot.0) / (plane.head.1 - plane.foot.1);
            surface += 1f64.hypot(rake) * flat(&|z| plane.x(0.0, z), hull.at(after(0.0), 0.0).1);
        }
        if hull.blunt() {
            surface += flat(&|_| 0.0, hull.bottom(0.0));
        }
        surface
    }
}

/// The greatest of a function with one hump, by thirds between the best of a hundred places' neighbours.
fn greatest((a, b): (f64, f64), f: impl Fn(f64) -> f64) -> f64 {
    let at = |i: usize| a + (b - a) * i as f64 / 100.0;
    let best = (1..100).max_by(|&i, &j| f(at(i)).total_cmp(&f(at(j)))).unwrap_or(50);
    let (mut low, mut high) = (at(best - 1), at(best + 1));
    for _ in 0..30 {
        let (c, d) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
        if f(c) < f(d) { low = c } else { high = d }
    }
    f(0.5 * (low + high))
}

/// Area of a triangle below height t.
fn below(mut p: [[f64; 3]; 3], t: f64) -> f64 {
    p.sort_by(|a, b| a[2].total_cmp(&b[2]));
    let area = |[a, b, c]: [[f64; 3]; 3]| {
        let (u, v): (Vec<f64>, Vec<f64>) = (0..3).map(|k| (b[k] - a[k], c[k] - a[k])).unzip();
        let n = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
        0.5 * n.iter().map(|n| n * n).sum::<f64>().sqrt()
    };
    let part = |from: usize, to: usize| (t - p[from][2]) / (p[to][2] - p[from][2]);
    if p[0][2] >= t {
        0.0
    } else if p[2][2] <= t {
        area(p)
    } else if p[1][2] >= t {
        area(p) * part(0, 1) * part(0, 2)
    } else {
        area(p) * (1.0 - part(2, 0) * part(2, 1))
    }
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
const UNITS: [(&str, Place); 5] = [
    ("eighths", Place::Eighth),
    ("sixteenths", Place::Sixteenth),
    ("mm", Place::Millimetre),
    ("mm at 1:8", Place::ModelMillimetre),
    ("exact", Place::Exact),
];
const STATIONS: [usize; 4] = [8, 9, 11, 13];
/// See [`base`]; the least that all places written go into whole, or nearly.
const BASE: f64 = 0.064;
/// Stations and waterlines of readings without rounding, which are to show the truth itself.
const CLOSE: (usize, usize) = (25, 12);

/// More waterlines between the lowest and the highest where readings are not rounded.
fn close(layout: &mut Layout, place: Place) {
    if let (Place::Exact, [low, .., high]) = (place, &layout.waterlines[..]) {
        let (low, high) = (0.5 * low, *high);
        let at = |i: usize| low + (high - low) * i as f64 / (CLOSE.1 - 1) as f64;
        layout.waterlines = (0..CLOSE.1).map(at).collect();
    }
}

/// How much higher a hull stands than as drawn, m: drawn, they all have their lowest place at 50 mm, which would be
/// rounded alike in all.
fn base(seed: u64) -> f64 {
    // Steps of the golden section fall evenly, whatever the seeds.
    BASE * (seed as f64 * 0.618_033_988_749_895).fract()
}

/// One hull of a kind: her truth, draught, and her table at so many stations.
fn hull(group: usize, i: usize, seed: u64, place: Place) -> (String, Figures, f64, Survey) {
    let stations = if place == Place::Exact { CLOSE.0 } else { STATIONS[i % STATIONS.len()] };
    if group == 0 {
        let known = Known::new(Family::ALL[i % Family::ALL.len()], seed).raised(base(seed));
        let truth = Truth::new(&known);
        let mut layout = known.layout(stations);
        close(&mut layout, place);
        let survey = known.survey(&layout, place);
        return (format!("{:?}", known.family()), truth.figures(), truth.draught, survey);
    }
    let kinds = if group == 1 { &LOOKED_AT } else { &KEPT_BACK };
    let boat = AsBuilt::new(kinds[i % kinds.len()], seed).raised(base(seed));
    let truth = Truth::new(&boat);
    let mut taking = boat.taking(stations);
    close(&mut taking.lines, place);
    let mut survey = boat.survey(&taking, place);
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
    for (unit, place) in UNITS.into_iter().filter(|u| only.as_deref().map_or(u.1 != Place::Exact, |o| o == u.0)) {
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
