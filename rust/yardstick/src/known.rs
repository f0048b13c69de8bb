//! Hulls in closed form: the yardstick fairing is measured with.
//!
//! A hull is y(x, z) = half-siding + Y(ξ) q(τ; x/L): a plan form Y over ξ, the distance from the stem's
//! profile (to the stern's, in a double-ender), times a section q over τ, the height between rabbet and
//! sheer. Both are polynomials or cubic Bézier sections, so every figure is exact to rounding. A seed
//! varies the proportions within what small craft show; all are invented. `as_built` has the ends, backbones and
//! sections these lack; `taking` takes readings off those boats and `held` holds a faired surface against them.

pub mod as_built;
mod held;
mod record;
mod taking;

use scrieve_notation::Mark;
use scrieve_offsets::{Axis, Block, CellId, LineReading, ProfileSpot, RefLine, Spot, Survey, TransomPlane};

pub use held::{Errors, Held};
use record::Record;
use scrieve_fairing::Random;
pub use taking::Taking;

/// Bisection steps: enough to halve a hull's length down to rounding error.
const BISECTIONS: usize = 60;
/// Step of the central differences behind normals, as a part of the hull's length: error ~1e-9.
const NORMAL_STEP: f64 = 1e-5;
/// A spot nearer than this part of the length to rabbet or sheer is not written in the table.
const CLEAR_OF_EDGES: f64 = 0.002;

/// The families.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Family {
    /// Round bilge, raked curved stem, vertical flat transom.
    RoundBilge,
    /// Round bilge with a raked transom.
    RakedTransom,
    /// Sharp at both ends, stern in profile.
    DoubleEnder,
    /// One chine, raked transom.
    HardChine,
    /// Hollow, flared bow on a plumb stem.
    FlaredBow,
    /// Parabolic waterlines and sections between plumb ends: y = B (1 - ξ²)(1 - ζ²).
    Parabolic,
    /// Flat floor and a firm bilge.
    FirmBilge,
    /// Widest below the sheer.
    Tumblehome,
    /// Ends forward in a full section, with no stem.
    ScowBow,
}

impl Family {
    /// All of them.
    pub const ALL: [Family; 9] = [
        Family::RoundBilge,
        Family::RakedTransom,
        Family::DoubleEnder,
        Family::HardChine,
        Family::FlaredBow,
        Family::Parabolic,
        Family::FirmBilge,
        Family::Tumblehome,
        Family::ScowBow,
    ];
}

/// How finely readings are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Place {
    /// To the nearest eighth of an inch.
    Eighth,
    /// To the nearest sixteenth.
    Sixteenth,
    /// To the nearest whole millimetre.
    Millimetre,
    /// To the nearest millimetre on a model at 1:8, brought to the boat's size.
    ModelMillimetre,
    /// Unrounded; counted as worth 1/128 in.
    Exact,
}

impl Place {
    /// Spacing of the readings, m.
    pub fn metres(self) -> f64 {
        match self {
            Place::Eighth => 0.0254 / 8.0,
            Place::Sixteenth => 0.0254 / 16.0,
            Place::Millimetre => 0.001,
            Place::ModelMillimetre => 0.008,
            Place::Exact => 0.0254 / 128.0,
        }
    }

    /// Standard deviation of a reading so written, m: the spacing over √12.
    pub fn sd(self) -> f64 {
        self.metres() / 12f64.sqrt()
    }

    fn round(self, m: f64) -> f64 {
        match self {
            Place::Exact => m,
            _ => (m / self.metres()).round() * self.metres(),
        }
    }
}

/// Where a hull is measured, m.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    /// x of the stations; the transom's column comes after them by itself.
    pub stations: Vec<f64>,
    /// Heights of the waterlines.
    pub waterlines: Vec<f64>,
    /// Half-breadths of the buttocks.
    pub buttocks: Vec<f64>,
    /// Diagonals: height on the centreline, half-breadth and height of a point on each.
    pub diagonals: Vec<(f64, f64, f64)>,
    /// Spots of the stem's (and stern's) profile.
    pub profile_spots: usize,
}

/// A line in profile: a cubic, and a lift that dies away from the bow.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Sweep {
    cubic: [f64; 4],
    lift: f64,
    /// Part of the length over which the lift falls to a third.
    fade: f64,
}

impl Sweep {
    fn at(&self, t: f64) -> f64 {
        poly(&self.cubic, t) + self.lift * (-t / self.fade).exp()
    }
}

/// A quartic with g(0) = 0, g'(0) = entry, g(m) = 1, g'(m) = 0, g(1) = end.
#[derive(Clone, Copy, Debug, PartialEq)]
struct PlanForm {
    m: f64,
    entry: f64,
    end: f64,
}

impl PlanForm {
    fn at(&self, t: f64) -> f64 {
        // Cubic Hermite part on 0..m, plus a quartic that vanishes doubly at m and 0.
        let PlanForm { m, entry, end } = *self;
        let cubic = |t: f64| {
            let s = t / m;
            s * (1.0 - s) * (1.0 - s) * entry * m + s * s * (3.0 - 2.0 * s)
        };
        let bump = |t: f64| t * t * (t - m) * (t - m);
        cubic(t) + (end - cubic(1.0)) * bump(t) / bump(1.0)
    }
}

/// How sections are shaped; `full` runs from 0 at fine ends to 1 amidships.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Shape {
    /// q = 1 - (1 - cτ)^n scaled to end at 1; n at the ends and amidships.
    Power { n: (f64, f64), c: f64 },
    /// Cubic Bézier sections: handle at the keel, its rise, handle at the sheer, its flare; ends, amidships.
    Bezier { keel: (f64, f64), rise: (f64, f64), sheer: (f64, f64), flare: (f64, f64) },
    /// Two panels with a little round, meeting at (qc, τc).
    Chine { q: (f64, f64), t: (f64, f64), round: f64 },
}

/// Proportions of a hull that are stated, not drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Proportions {
    /// From the stem head to the foot of the transom, m.
    pub length: f64,
    /// Greatest, over the sheer, m.
    pub beam: f64,
    /// Run aft of the transom for its rise: the tangent of its rake.
    pub transom_rake: f64,
    /// Slope of the plan form at the stem, in greatest half-breadths a length: below about 2.7 it is hollow.
    pub entry: f64,
}

/// A hull in closed form.
#[derive(Clone, Debug, PartialEq)]
pub struct Known {
    family: Family,
    scale: f64,
    length: f64,
    half_siding: f64,
    half_beam: f64,
    plan: PlanForm,
    bow_width: f64,
    shape: Shape,
    middle: f64,
    spread: f64,
    after_fullness: f64,
    keel: Sweep,
    sheer: Sweep,
    stem: [f64; 3],
    stern: [f64; 2],
    transom_rake: f64,
}

/// The root of a function that changes sign once between `low` and `high`.
fn bisect(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    let rising = f(high) > f(low);
    for _ in 0..BISECTIONS {
        let mid = 0.5 * (low + high);
        if (f(mid) < 0.0) == rising {
            low = mid;
        } else {
            high = mid;
        }
    }
    0.5 * (low + high)
}

fn poly(c: &[f64], t: f64) -> f64 {
    c.iter().rev().fold(0.0, |s, &c| s * t + c)
}

impl Known {
    /// A hull of the family, its proportions drawn from the seed; 4.2 to 5.6 m long.
    pub fn new(family: Family, seed: u64) -> Self {
        let mut r = Random::new(seed.wrapping_mul(0x2545_f491_4f6c_dd1d) ^ (family as u64) << 40);
        let length = r.between(4.2, 5.6);
        let half_beam = length * r.between(0.145, 0.185);
        let depth = half_beam * r.between(0.75, 0.95);
        // Rocker: the keel is lowest a little aft of amidships and rises to both ends.
        let rocker = depth * r.between(0.06, 0.14);
        let low = r.between(0.45, 0.6);
        let bent = rocker * r.between(-0.8, 0.8);
        let keel = Sweep {
            cubic: [
                0.05 + rocker * low * low * 3.0,
                -rocker * low * 6.0 + 0.5 * bent,
                rocker * 3.0 - 1.5 * bent,
                bent,
            ],
            lift: depth * r.between(0.02, 0.12),
            fade: r.between(0.06, 0.12),
        };
        let spring = depth * r.between(0.5, 0.8);
        let lowest = r.between(0.6, 0.7);
        let top = keel.at(lowest) + depth;
        let bent = spring * r.between(-0.3, 0.3);
        let sheer = Sweep {
            cubic: [
                top + spring * lowest * lowest,
                -2.0 * spring * lowest + 0.5 * bent,
                spring - 1.5 * bent,
                bent,
            ],
            lift: depth * r.between(0.0, 0.08),
            fade: r.between(0.12, 0.25),
        };
        let mut hull = Known {
            family,
            scale: 1.0,
            length,
            half_siding: 0.0254 * (1.0 + (r.between(0.0, 3.99)).floor() / 8.0),
            half_beam,
            plan: PlanForm { m: r.between(0.52, 0.6), entry: r.between(2.7, 3.3), end: r.between(0.5, 0.7) },
            bow_width: 0.0,
            shape: Shape::Power { n: (r.between(1.3, 1.8), r.between(3.5, 5.0)), c: r.between(0.75, 0.9) },
            middle: r.between(0.48, 0.58),
            spread: r.between(0.32, 0.42),
            after_fullness: r.between(0.2, 0.45),
            keel,
            sheer,
            stem: [r.between(0.01, 0.05), r.between(0.02, 0.05), r.between(0.01, 0.03)],
            stern: [0.0, 0.0],
            transom_rake: 0.0,
        };
        match family {
            Family::RoundBilge => {}
            Family::RakedTransom => hull.transom_rake = r.between(0.12, 0.35),
            Family::DoubleEnder => {
                hull.plan.end = 0.0;
                hull.plan.entry = r.between(3.0, 3.6);
                hull.plan.m = r.between(0.48, 0.54);
                hull.after_fullness = r.between(0.0, 0.1);
                hull.stern = [r.between(0.02, 0.05), r.between(0.0, 0.03)];
            }
            Family::HardChine => {
                hull.transom_rake = r.between(0.1, 0.3);
                hull.shape = Shape::Chine {
                    q: (r.between(0.6, 0.66), r.between(0.82, 0.88)),
                    t: (r.between(0.5, 0.58), r.between(0.3, 0.36)),
                    round: r.between(0.02, 0.12),
                };
            }
            Family::FlaredBow => {
                hull.stem = [r.between(0.002, 0.01), 0.0, 0.0];
                hull.shape = Shape::Bezier {
                    keel: (r.between(0.22, 0.3), r.between(0.7, 0.85)),
                    rise: (r.between(1.2, 1.4), r.between(0.15, 0.25)),
                    sheer: (r.between(0.3, 0.4), r.between(0.5, 0.6)),
                    flare: (r.between(1.2, 1.5), r.between(0.05, 0.15)),
                };
            }
            Family::Parabolic => {
                hull.plan = PlanForm { m: 0.5, entry: 4.0, end: 0.0 };
                hull.shape = Shape::Power { n: (2.0, 2.0), c: 1.0 };
                hull.stem = [0.0, 0.0, 0.0];
            }
            Family::FirmBilge => {
                hull.shape = Shape::Bezier {
                    keel: (r.between(0.35, 0.45), r.between(0.85, 1.0)),
                    rise: (r.between(0.8, 1.0), r.between(0.08, 0.16)),
                    sheer: (r.between(0.35, 0.45), r.between(0.65, 0.8)),
                    flare: (r.between(0.6, 0.9), r.between(0.02, 0.1)),
                };
            }
            Family::Tumblehome => {
                hull.shape = Shape::Bezier {
                    keel: (r.between(0.35, 0.45), r.between(0.8, 0.95)),
                    rise: (r.between(0.8, 1.0), r.between(0.1, 0.2)),
                    sheer: (r.between(0.35, 0.45), r.between(0.55, 0.65)),
                    flare: (r.between(0.5, 0.8), r.between(-0.3, -0.15)),
                };
            }
            Family::ScowBow => {
                hull.bow_width = r.between(0.35, 0.5);
                hull.plan.entry = r.between(2.4, 2.8);
                hull.stem = [0.0, 0.0, 0.0];
                hull.keel.lift = 0.0;
                hull.after_fullness = 0.5;
            }
        }
        hull
    }

    /// The same hull with these proportions in place of those drawn from the seed; depth stays.
    pub fn with(mut self, stated: Proportions) -> Self {
        self.length = stated.length;
        self.transom_rake = stated.transom_rake;
        self.plan.entry = stated.entry;
        self.half_beam = 0.5 * stated.beam;
        self
    }

    /// The same hull at another size (a 3 ft model, an 80 ft schooner): everything times `factor`.
    pub fn scaled(mut self, factor: f64) -> Self {
        self.scale *= factor;
        self
    }

    /// The same hull so much higher above the base line, m: where readings' places fall on her is a matter of that.
    pub fn raised(mut self, by: f64) -> Self {
        for line in [&mut self.keel, &mut self.sheer] {
            line.cubic[0] += by / self.scale;
        }
        self
    }

    /// Her family.
    pub fn family(&self) -> Family {
        self.family
    }

    /// Length from the stem head to the foot of the transom or the head of the sternpost, m.
    pub fn length(&self) -> f64 {
        self.length * self.scale
    }

    /// Half-siding of the backbone at the rabbet, m.
    pub fn half_siding(&self) -> f64 {
        self.half_siding * self.scale
    }

    // Below, names ending in `1` work at the size drawn, before scaling.

    fn keel1(&self, x: f64) -> f64 {
        self.keel.at(x / self.length)
    }

    fn sheer1(&self, x: f64) -> f64 {
        self.sheer.at(x / self.length)
    }

    fn stem1(&self, z: f64) -> f64 {
        let (head, reach) = (self.sheer1(0.0), self.stem.iter().sum::<f64>() * self.length);
        let foot = self.keel1(reach);
        let s = (head - z) / (head - foot);
        self.length * s * poly(&self.stem, s)
    }

    fn stern1(&self, z: f64) -> f64 {
        let (head, reach) = (self.sheer1(self.length), self.stern.iter().sum::<f64>() * self.length);
        let foot = self.keel1(self.length - reach);
        let s = (head - z) / (head - foot);
        self.length * (1.0 - s * poly(&self.stern, s))
    }

    fn section1(&self, x: f64, tau: f64) -> f64 {
        let t = x / self.length;
        let bump = |m: f64| (-((t - m) / self.spread).powi(2)).exp();
        let full = bump(self.middle) + self.after_fullness * bump(1.1);
        let mix = |(end, middle): (f64, f64)| end + (middle - end) * full;
        match self.shape {
            Shape::Power { n, c } => {
                let n = mix(n);
                (1.0 - (1.0 - c * tau).max(0.0).powf(n)) / (1.0 - (1.0 - c).powf(n))
            }
            Shape::Bezier { keel, rise, sheer, flare } => {
                let (a, c) = (mix(keel), mix(sheer));
                let (y, z) = ([0.0, a, 1.0 - c * mix(flare), 1.0], [0.0, a * mix(rise), 1.0 - c, 1.0]);
                let at = |p: &[f64; 4], t: f64| {
                    let s = 1.0 - t;
                    s * s * s * p[0] + 3.0 * s * s * t * p[1] + 3.0 * s * t * t * p[2] + t * t * t * p[3]
                };
                // Beyond the rabbet a flat floor's curve turns up again: from there one side or the other.
                let (from, to) = if tau < 0.0 { (-0.25, 0.0) } else { (0.0, 1.25) };
                at(&y, bisect(from, to, |t| at(&z, t) - tau))
            }
            Shape::Chine { q, t, round } => {
                let (qc, tc) = (mix(q), mix(t));
                let bow = |t: f64| t + round * t * (1.0 - t);
                if tau < tc { qc * bow(tau / tc) } else { qc + (1.0 - qc) * bow((tau - tc) / (1.0 - tc)) }
            }
        }
    }

    fn half_breadth1(&self, x: f64, z: f64) -> f64 {
        let (k, s) = (self.keel1(x), self.sheer1(x));
        let (fore, aft) = (self.stem1(z), self.stern1(z));
        let xi = (x - fore) / (aft - fore);
        let plan = self.bow_width + (1.0 - self.bow_width) * self.plan.at(xi);
        self.half_siding + (self.half_beam - self.half_siding) * plan * self.section1(x, (z - k) / (s - k))
    }

    fn rabbet1(&self, x: f64) -> f64 {
        let reach = self.stem.iter().sum::<f64>() * self.length;
        let run = self.length * (1.0 - self.stern.iter().sum::<f64>());
        if x < reach {
            bisect(self.keel1(reach), self.sheer1(0.0), |z| self.stem1(z) - x)
        } else if x > run {
            bisect(self.keel1(run), self.sheer1(self.length), |z| self.stern1(z) - x)
        } else {
            self.keel1(x)
        }
    }

    /// Half-breadth at (x, z), m; between rabbet and sheer.
    pub fn half_breadth(&self, x: f64, z: f64) -> f64 {
        self.scale * self.half_breadth1(x / self.scale, z / self.scale)
    }

    /// Height of the rabbet at x, m; forward of the forefoot it is the stem's.
    pub fn rabbet(&self, x: f64) -> f64 {
        self.scale * self.rabbet1(x / self.scale)
    }

    /// Half-breadth and height of the sheer at x, m.
    pub fn sheer(&self, x: f64) -> (f64, f64) {
        let z = self.scale * self.sheer1(x / self.scale);
        (self.half_breadth(x, z), z)
    }

    /// Half-breadth and height of the chine at x, m; `None` without one or forward of its end on the stem.
    pub fn chine(&self, x: f64) -> Option<(f64, f64)> {
        let Shape::Chine { t, .. } = self.shape else { return None };
        let x1 = x / self.scale;
        let u = x1 / self.length;
        let bump = |m: f64| (-((u - m) / self.spread).powi(2)).exp();
        let tc = t.0 + (t.1 - t.0) * (bump(self.middle) + self.after_fullness * bump(1.1));
        let (k, s) = (self.keel1(x1), self.sheer1(x1));
        let z = k + tc * (s - k);
        (self.stem1(z) <= x1).then(|| (self.half_breadth(x, z * self.scale), z * self.scale))
    }

    /// `n` exact points (y, z) of the section at x, rabbet to sheer, spaced evenly in y + z; with a chine
    /// its corner is one more.
    pub fn section(&self, x: f64, n: usize) -> Vec<(f64, f64)> {
        let (k, (ys, zs)) = (self.rabbet(x), self.sheer(x));
        let from = self.half_breadth(x, k) + k;
        let mut points: Vec<(f64, f64)> = (0..n)
            .map(|i| {
                let sum = from + (ys + zs - from) * i as f64 / (n - 1) as f64;
                let z = bisect(k, zs, |z| self.half_breadth(x, z) + z - sum);
                (self.half_breadth(x, z), z)
            })
            .collect();
        if let Some(corner) = self.chine(x) {
            let at = points.partition_point(|p| p.1 < corner.1);
            points.insert(at, corner);
        }
        points
    }

    /// x of the stem's profile at height z, m; `None` for a scow.
    pub fn stem_x(&self, z: f64) -> Option<f64> {
        (self.family != Family::ScowBow).then(|| self.scale * self.stem1(z / self.scale))
    }

    /// Heights of the stem's foot and head, m.
    pub fn stem_heights(&self) -> (f64, f64) {
        let reach = self.stem.iter().sum::<f64>() * self.length;
        (self.scale * self.keel1(reach), self.scale * self.sheer1(0.0))
    }

    /// x of a double-ender's stern profile at height z, m.
    pub fn stern_x(&self, z: f64) -> Option<f64> {
        (self.plan.end == 0.0).then(|| self.scale * self.stern1(z / self.scale))
    }

    /// Heights of the sternpost's foot and head, m.
    pub fn stern_heights(&self) -> (f64, f64) {
        let run = self.length * (1.0 - self.stern.iter().sum::<f64>());
        (self.scale * self.keel1(run), self.scale * self.sheer1(self.length))
    }

    /// The transom.
    pub fn transom(&self) -> Option<TransomPlane> {
        if self.plan.end == 0.0 {
            return None;
        }
        // Both spots stand on whole eighths, so that a table can give the plane exactly.
        let foot = (self.length, self.keel1(self.length));
        let rise = 0.9 * (self.sheer1(self.length) - foot.1);
        let head = (foot.0 + self.transom_rake * rise, foot.1 + rise);
        let whole =
            |p: (f64, f64)| (Place::Eighth.round(p.0 * self.scale), Place::Eighth.round(p.1 * self.scale));
        Some(TransomPlane { foot: whole(foot), head: whole(head), curve_radius: None })
    }

    /// Where the hull ends aft at height z, m: transom or stern profile.
    pub fn after_end(&self, z: f64) -> f64 {
        match (self.transom(), self.stern_x(z)) {
            (Some(t), _) => t.x(0.0, z),
            (None, Some(x)) => x,
            (None, None) => self.length(),
        }
    }

    /// Outward unit normal at (x, z).
    pub fn normal(&self, x: f64, z: f64) -> [f64; 3] {
        let h = NORMAL_STEP * self.length();
        let slope = |f: &dyn Fn(f64) -> f64| {
            let wide = (f(2.0 * h) - f(-2.0 * h)) / (4.0 * h);
            let narrow = (f(h) - f(-h)) / (2.0 * h);
            narrow + (narrow - wide) / 3.0
        };
        let yx = slope(&|d| self.half_breadth(x + d, z));
        let yz = slope(&|d| self.half_breadth(x, z + d));
        let norm = (1.0 + yx * yx + yz * yz).sqrt();
        [-yx / norm, 1.0 / norm, -yz / norm]
    }

    /// A usual set of lines for a table: `stations` stations, five waterlines, three buttocks, two
    /// diagonals and six spots a profile.
    pub fn layout(&self, stations: usize) -> Layout {
        let (l, b) = (self.length(), self.half_beam * self.scale);
        let at = |t: f64| t * l;
        let (base, low) = (self.rabbet(at(self.middle)), self.sheer(at(0.65)).1);
        let depth = low - base;
        let first = if self.family == Family::ScowBow { 0.0 } else { 0.8 };
        let last = if self.plan.end == 0.0 { stations as f64 - 0.2 } else { stations as f64 };
        // Whole inches, as stations are set out; the first half a space from the stem.
        let inch = 0.0254 * self.scale.max(1e-9);
        let round = |m: f64| (m / inch).round() * inch;
        Layout {
            stations: (0..stations)
                .map(|i| {
                    let x = l * (first + i as f64) / (last + first);
                    if i == 0 && first == 0.0 { 0.0 } else { round(x) }
                })
                .collect(),
            waterlines: [0.14, 0.3, 0.48, 0.68, 0.9].iter().map(|t| round(base + t * depth)).collect(),
            buttocks: [0.25, 0.5, 0.75].iter().map(|t| round(t * b)).collect(),
            diagonals: [(0.75, 0.75, 0.1), (1.1, 0.9, 0.45)]
                .iter()
                .map(|&(c, y, z)| (round(base + c * depth), round(y * b), round(base + z * depth)))
                .collect(),
            profile_spots: 6,
        }
    }

    /// The survey a loftsman would bring back, every reading rounded to `place`.
    pub fn survey(&self, layout: &Layout, place: Place) -> Survey {
        self.record(layout, place).survey
    }

    /// The same as the text of an `.offsets` file, in feet, inches and eighths (with `Place::Exact`,
    /// decimal millimetres).
    pub fn table_text(&self, layout: &Layout, place: Place, name: &str) -> String {
        self.record(layout, place).text(&layout.diagonals, place, name)
    }

    fn record(&self, layout: &Layout, place: Place) -> Record {
        let transom = self.transom();
        let columns = layout.stations.len() + usize::from(transom.is_some());
        let mut record = Record {
            columns,
            survey: Survey {
                half_siding: self.half_siding(),
                stations: layout.stations.clone(),
                chines: usize::from(matches!(self.shape, Shape::Chine { .. })),
                transom,
                ..Survey::default()
            },
            ..Record::default()
        };
        if let Some(t) = transom {
            record.survey.stations.push(t.foot.0);
        }
        self.record_lines(&mut record, place);
        self.record_spots(&mut record, layout, place);
        for (block, heights) in
            [(Block::StemProfile, self.stem_heights()), (Block::SternProfile, self.stern_heights())]
        {
            let stem = block == Block::StemProfile;
            if stem && self.family == Family::ScowBow || !stem && self.plan.end != 0.0 {
                continue;
            }
            let n = layout.profile_spots;
            for i in 0..n {
                let z = heights.1 + (heights.0 - heights.1) * i as f64 / (n - 1) as f64;
                let x = if stem { self.stem_x(z) } else { self.stern_x(z) }.unwrap_or_default();
                let spot = ProfileSpot {
                    x: place.round(x),
                    z: place.round(z),
                    sd: place.sd(),
                    tolerance: 0.5 * place.metres(),
                    mark: Mark::Plain,
                    cell: CellId { block, row: 1, column: i },
                };
                if stem { &mut record.survey.stem } else { &mut record.survey.stern }.push(spot);
            }
        }
        record.in_file_order()
    }

    /// x of the plane of a column at height z: its station, or the transom's face.
    fn plane(&self, record: &Record, column: usize, z: f64) -> f64 {
        match record.survey.transom {
            Some(t) if column + 1 == record.columns => t.x(0.0, z),
            _ => record.survey.stations[column],
        }
    }

    /// Height at which a line of height `line(x)` crosses the plane of a column.
    fn crossing(&self, record: &Record, column: usize, line: impl Fn(f64) -> f64) -> f64 {
        let l = self.length();
        bisect(-l, l, |z| z - line(self.plane(record, column, z)))
    }

    fn record_lines(&self, record: &mut Record, place: Place) {
        let mut lines = vec![RefLine::Sheer, RefLine::Rabbet];
        if record.survey.chines > 0 {
            lines.push(RefLine::Chine(0));
        }
        for axis in [Axis::Height, Axis::HalfBreadth] {
            for &line in &lines {
                if axis == Axis::HalfBreadth && line == RefLine::Rabbet {
                    continue;
                }
                let label = match line {
                    RefLine::Sheer => "sheer",
                    RefLine::Rabbet => "rabbet",
                    RefLine::Chine(_) => "chine",
                };
                let block = if axis == Axis::Height { Block::Heights } else { Block::HalfBreadths };
                let row = record.row(block, (label.to_string(), None));
                for column in 0..record.columns {
                    let z = self.crossing(record, column, |x| match line {
                        RefLine::Sheer => self.scale * self.sheer1(x / self.scale),
                        RefLine::Rabbet => self.rabbet(x),
                        RefLine::Chine(_) => self.chine(x).map_or(f64::MAX, |c| c.1),
                    });
                    let x = self.plane(record, column, z);
                    if z > self.sheer(x).1 + 1e-6 * self.length() {
                        continue;
                    }
                    let true_value = if axis == Axis::Height { z } else { self.half_breadth(x, z) };
                    let value = place.round(true_value);
                    record.rows[row].2[column] = Some(value);
                    record.survey.lines.push(LineReading {
                        line,
                        axis,
                        x: if axis == Axis::Height { self.plane(record, column, value) } else { x },
                        value,
                        sd: place.sd(),
                        tolerance: 0.5 * place.metres(),
                        mark: Mark::Plain,
                        on_transom: record.on_transom(column),
                        cell: CellId { block, row, column },
                    });
                }
            }
        }
    }

    fn record_spots(&self, record: &mut Record, layout: &Layout, place: Place) {
        let clear = CLEAR_OF_EDGES * self.length();
        let label = |kind: &str, at: f64| (kind.to_string(), Some(at));
        let runs =
            (layout.buttocks.iter().map(|&y| (Block::Heights, label("buttock", y), (y, 0.0), (0.0, 1.0))))
                .chain(
                    layout
                        .waterlines
                        .iter()
                        .map(|&z| (Block::HalfBreadths, label("waterline", z), (0.0, z), (1.0, 0.0))),
                )
                .chain(layout.diagonals.iter().enumerate().map(|(i, &(c, y, z))| {
                    let r = y.hypot(z - c);
                    let name = char::from(b'A' + i as u8).to_string();
                    (Block::Diagonals, (name, None), (0.0, c), (y / r, (z - c) / r))
                }));
        for (block, label, from, along) in runs {
            let row = record.row(block, label);
            for column in 0..record.columns {
                // How far the point at distance d along the line is outside the hull: negative inside.
                let outside = |d: f64| {
                    let (y, z) = (from.0 + d * along.0, from.1 + d * along.1);
                    let x = self.plane(record, column, z);
                    let (k, s) = (self.rabbet(x), self.sheer(x).1);
                    (y - self.half_breadth(x, z.clamp(k, s)), z - k, s - z)
                };
                let b = self.length();
                let d = match block {
                    // Up along a buttock one comes from outside, below the bottom, to the inside.
                    Block::Heights => {
                        let z = self.crossing(record, column, |x| self.rabbet(x));
                        let top = self.crossing(record, column, |x| self.sheer(x).1);
                        bisect(z, top, |d| -outside(d).0)
                    }
                    _ => bisect(0.0, b, |d| outside(d).0),
                };
                let (gap, above, below) = outside(d);
                let y = from.0 + d * along.0;
                if gap.abs() > 1e-6 * b || above < clear || below < clear || y < self.half_siding() + clear {
                    continue;
                }
                let d = place.round(d);
                let (y, z) = (from.0 + d * along.0, from.1 + d * along.1);
                record.rows[row].2[column] = Some(d);
                record.survey.spots.push(Spot {
                    x: self.plane(record, column, z),
                    y,
                    z,
                    along,
                    sd: place.sd(),
                    tolerance: 0.5 * place.metres(),
                    mark: Mark::Plain,
                    on_transom: record.on_transom(column),
                    cell: CellId { block, row, column },
                });
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_parabolic_hull_is_the_product_of_two_parabolas() {
        // Wigley's parabolic form, from memory: y = B (1 - ξ²)(1 - ζ²), here above the half-siding.
        let hull = Known::new(Family::Parabolic, 3);
        let (yr, l) = (hull.half_siding(), hull.length());
        let beam = hull.sheer(0.5 * l).0 - yr;
        for (i, j) in (0..9).flat_map(|i| (0..9).map(move |j| (i, j))) {
            let (t, f) = (i as f64 / 8.0, j as f64 / 8.0);
            let (k, (_, s)) = (hull.rabbet(t * l), hull.sheer(t * l));
            let (xi, zeta) = (2.0 * t - 1.0, 1.0 - f);
            let expected = yr + beam * (1.0 - xi * xi) * (1.0 - zeta * zeta);
            assert!((hull.half_breadth(t * l, k + f * (s - k)) - expected).abs() < 1e-9);
        }
    }

    #[test]
    fn every_known_hull_has_a_whole_table() {
        for family in Family::ALL {
            for seed in 0..6 {
                let hull = Known::new(family, seed);
                let survey = hull.survey(&hull.layout(13), Place::Eighth);
                assert!(survey.spots.len() > 80, "{family:?} {seed}: {} spots", survey.spots.len());
                for s in &survey.spots {
                    // A reading lies on the hull to within its rounding, measured along its own line.
                    let off = s.y - hull.half_breadth(s.x, s.z);
                    let n = hull.normal(s.x, s.z);
                    assert!((off * n[1]).abs() < 2e-3, "{family:?} {seed} {s:?}: {off}");
                }
                let (low, high) = hull.stem_heights();
                assert!(low < high && survey.lines.iter().all(|l| l.value.is_finite()));
            }
        }
    }

    #[test]
    fn a_hull_has_the_proportions_stated() {
        let stated = Proportions { length: 5.0, beam: 1.6, transom_rake: 0.25, entry: 2.0 };
        let hull = Known::new(Family::RakedTransom, 4).with(stated);
        let beam = (0..=1000).map(|i| 2.0 * hull.sheer(0.005 * i as f64).0).fold(0.0, f64::max);
        assert!((beam - 1.6).abs() < 1e-5, "{beam}");
        let transom = hull.transom().expect("a transom");
        let rake = (transom.head.0 - transom.foot.0) / (transom.head.1 - transom.foot.1);
        // Both spots are taken to the eighth of an inch.
        assert!((rake - 0.25).abs() < 0.006 && (transom.foot.0 - 5.0).abs() < 0.0016, "{rake}");
    }

    #[test]
    fn a_normal_stands_square_to_section_and_waterline() {
        let hull = Known::new(Family::Tumblehome, 1);
        let (x, z) = (0.4 * hull.length(), 0.5);
        let n = hull.normal(x, z);
        let h = 1e-4;
        let p = |x: f64, z: f64| [x, hull.half_breadth(x, z), z];
        for (a, b) in [(p(x - h, z), p(x + h, z)), (p(x, z - h), p(x, z + h))] {
            let dot: f64 = (0..3).map(|i| (b[i] - a[i]) * n[i]).sum();
            assert!(dot.abs() < 1e-8);
        }
        assert!(n[1] > 0.0);
    }

    #[test]
    fn the_table_of_a_known_hull_is_written_in_feet_inches_and_eighths() {
        let hull = Known::new(Family::RakedTransom, 2);
        let text = hull.table_text(&hull.layout(9), Place::Eighth, "Turnstone");
        let rabbet = text.lines().find(|l| l.starts_with("rabbet")).expect("a row");
        assert_eq!(rabbet.split_once('|').expect("cells").1.split_whitespace().count(), 10);
        assert!(text.contains("[diagonal.A]") && text.contains("[stem profile]"), "{text}");
        // Read back, the file gives the same readings.
        let table = scrieve_offsets::read(text.as_bytes(), "turnstone.offsets").expect("a table");
        let (read, _) = table.survey().expect("a survey");
        let known = hull.survey(&hull.layout(9), Place::Eighth);
        let count = |s: &Survey| (s.lines.len(), s.spots.len(), s.stem.len());
        assert_eq!(count(&read), count(&known));
        for spot in &read.spots {
            let same = known.spots.iter().find(|k| k.cell == spot.cell).expect("the cell");
            let off = [spot.x - same.x, spot.y - same.y, spot.z - same.z];
            assert!(off.iter().all(|d| d.abs() < 1e-3), "{spot:?} {same:?}");
        }
    }
}
