//! The figures of hulls in closed form, integrated over the formula itself with none of the hull's own arithmetic.

use scrieve_offsets::TransomPlane;
use scrieve_yardstick::known::as_built::AsBuilt;
use scrieve_yardstick::known::{Family, Known};

/// Part of the depth that is under water.
const DRAUGHT: f64 = 0.45;
/// Points of the truth's grid along the boat and up her, for volumes and, a strake, for surfaces; closer toward the ends.
const VOLUMES: (usize, usize) = (400, 150);
const SURFACES: (usize, usize) = (800, 200);
/// Points of a profile.
const PROFILE: usize = 4000;
/// Bisections for the ends of a waterline.
const BISECTIONS: usize = 50;

pub const NAMES: [&str; 11] = ["∇", "AWP", "LWL", "BWL", "CB", "CP", "LCB", "LCF", "KB", "BMT", "S"];

/// The figures, in the order of [`NAMES`].
pub type Figures = [f64; NAMES.len()];

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
pub trait Form {
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
pub struct Truth<'a> {
    hull: &'a dyn Form,
    /// x of the lowest place of the backbone, and its height.
    lowest: (f64, f64),
    pub draught: f64,
}

impl<'a> Truth<'a> {
    pub fn new(hull: &'a dyn Form) -> Self {
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

    pub fn figures(&self) -> Figures {
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
            let x =
                |i: usize| 0.5 * end * (1.0 - (std::f64::consts::PI * i as f64 / SURFACES.0 as f64).cos());
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
