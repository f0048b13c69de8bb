//! Boats as they are built, in closed form: ends, backbones and sections the older families lack.
//!
//! A hull is y(x, z) between a backbone line and a sheer, in one of two forms. *Hung*: sections hang from the
//! backbone z(x), y = yr + (B - yr) A(x) q(τ), τ the height between backbone and sheer. *By waterlines*:
//! y = yr + (B - yr) (A(x, z) q(τ; x) - ε(x)) / (1 - ε(x)), A a product of two tapers over the distance from a
//! stem's and to a stern's line in profile, τ the height between keel line and sheer; the backbone is where
//! A q = ε, a corner where ε = 0 and the rounder the greater it is. There waterlines meet stem and post at
//! finite angles and sections are not scaled from rabbet to sheer. A seed draws the proportions from what small
//! craft show; all are invented.

use scrieve_offsets::TransomPlane;

use super::{Place, poly};
use scrieve_fairing::Random;

/// Step of the differences behind normals, as a part of the length.
const NORMAL_STEP: f64 = 1e-5;
/// Points a backbone line is traced with, before they are spaced evenly.
const TRACED: usize = 4000;
/// Most steps to a root; it takes about ten.
const MOST_STEPS: usize = 120;
const FOOT: f64 = 0.3048;

/// The kinds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// Raked stem rounded into the keel, round bilge, transom; 14 to 20 ft.
    RoundedStem,
    /// Sharp at both ends, forefoot and heel rounded; 24 to 28 ft.
    RoundedDoubleEnder,
    /// Plumb stem head over a round forefoot, and a plumb transom.
    PlumbStem,
    /// Forefoot cut away in a long sweep from a steep stem head.
    Cutaway,
    /// Spoon bow: the stem one long overhanging sweep.
    SpoonBow,
    /// Clipper bow: the stem rakes forward of its foot and is hollow.
    ClipperBow,
    /// Sternpost under a raked transom, hollow garboards, deep keel with drag; 36 to 42 ft.
    PostUnderTransom,
    /// Dinghy with a hollow, heart-shaped transom.
    Wineglass,
    /// Keel turned up quickly to the transom.
    Tuck,
    /// Counter: post, then a long overhang to a raked transom abaft the last station.
    Counter,
    /// Canoe stern: overhanging, pointed and rounded.
    CanoeStern,
    /// Cruiser stern: round in plan at the deck, round in profile.
    CruiserStern,
    /// Scow: blunt, full sections from the first station on.
    Scow,
    /// Pram: a bow transom as the first station.
    Pram,
    /// Skiff with a bottom flat across and one chine.
    FlatBottom,
    /// Chine and knuckle.
    MultiChine,
    /// Widest well below the sheer.
    Tumblehome,
    /// Sections hollow below and flared to a hollow above.
    Reverse,
    /// Half ellipses for sections, the same at both ends.
    Ellipse,
    /// Transom raked and curved athwartships.
    CurvedTransom,
    /// Backbone sided more amidships than at stem head and transom.
    WideKeel,
}

impl Kind {
    /// All of them.
    pub const ALL: [Kind; 21] = [
        Kind::RoundedStem,
        Kind::RoundedDoubleEnder,
        Kind::PlumbStem,
        Kind::Cutaway,
        Kind::SpoonBow,
        Kind::ClipperBow,
        Kind::PostUnderTransom,
        Kind::Wineglass,
        Kind::Tuck,
        Kind::Counter,
        Kind::CanoeStern,
        Kind::CruiserStern,
        Kind::Scow,
        Kind::Pram,
        Kind::FlatBottom,
        Kind::MultiChine,
        Kind::Tumblehome,
        Kind::Reverse,
        Kind::Ellipse,
        Kind::CurvedTransom,
        Kind::WideKeel,
    ];
}

/// An end of the backbone in a hung hull: 1 - (1 - (1 - s)^p)^(1/m) of the way up, s the part of its reach.
/// m = 1 leaves the head raked, m = 2 plumb; from p = 3 on it runs into the keel without a jump of curvature.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Bend {
    reach: f64,
    p: f64,
    m: f64,
}

impl Bend {
    fn at(&self, distance: f64) -> f64 {
        let left = (1.0 - distance / self.reach).max(0.0).powf(self.p);
        // A raked head goes on beyond the end, where slopes at it are taken from.
        if self.m == 1.0 { left } else { 1.0 - (1.0 - left).max(0.0).powf(1.0 / self.m) }
    }
}

/// Fining of the plan toward a sharp end: from nothing at the end to 1 at `reach`, the slope at the end
/// (3 - hollow) / reach; `width` is left at the end itself.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Taper {
    reach: f64,
    hollow: f64,
    width: f64,
}

impl Taper {
    fn at(&self, distance: f64) -> f64 {
        let s = distance / self.reach;
        let left = (1.0 - s).max(0.0);
        self.width + (1.0 - self.width) * (1.0 - left.powi(3) * (1.0 + self.hollow * s))
    }
}

/// The stern's line in profile, for a hull by waterlines.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Stern {
    /// At the transom, which cuts full sections.
    Open,
    /// Forward of the stern head by L u c(u), u the depth below it.
    Pointed([f64; 3]),
    /// A post from the heel, raked; from the tuck on the line runs aft, softly, by so much for its rise.
    Post { heel: f64, rake: f64, tuck: f64, overhang: f64, soft: f64 },
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Form {
    Hung { stem: Option<Bend>, stern: Option<Bend> },
    Waterlines { stem: [f64; 3], stern: Stern, round: (f64, f64) },
}

/// Figures at the forward end, amidships and aft.
type Along = [f64; 3];

/// Shape of the sections: q over τ.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Shape {
    /// 1 - (1 - c θ)^b scaled to end at 1, θ = τ - hollow τ (1 - τ)(1 + deep τ): the greater `hollow`, to 1, the
    /// hollower the garboards, and with `deep` the further up. `bulge` of tumblehome and `flare` (hollow below
    /// the sheer) are added.
    Round { hollow: Along, deep: f64, b: Along, c: f64, bulge: Along, flare: Along },
    /// A quarter of an ellipse.
    Ellipse,
    /// Panels with a little round between corners (τ, q); a flat bottom begins at `corners[0]`'s q.
    Panels { first: f64, corners: [(f64, f64); 2], count: usize, round: f64 },
}

/// A boat in closed form.
#[derive(Clone, Debug, PartialEq)]
pub struct AsBuilt {
    kind: Kind,
    length: f64,
    half_siding: f64,
    /// How much wider the keel is amidships, and at its after end, than the stem at its head.
    wider: (f64, f64),
    half_beam: f64,
    keel: [f64; 3],
    /// Where the keel turns up to the transom, as a part of the length, and by how much.
    tuck: (f64, f64),
    sheer: [f64; 4],
    form: Form,
    fore: Taper,
    aft: Taper,
    /// Round in plan aft: the power n of √(1 - ξⁿ).
    blunt: Option<f64>,
    shape: Shape,
    /// Tangent of the transom's rake; `None` without one.
    rake: Option<f64>,
    /// Radius of the transom's curve.
    curve_radius: Option<f64>,
    /// Where the drawing's x counts from the stem head, and where it ends aft.
    ends: (f64, f64),
    transom: Option<TransomPlane>,
    mirrored: bool,
}

/// The root of a function that changes sign once between `low` and `high`, by Chandrupatla's method ("A new hybrid
/// quadratic/bisection algorithm", Advances in Engineering Software 28, 1997): inverse quadratic interpolation
/// where it is safe, else halving. Without a change of sign it is the end nearer to nought.
pub(super) fn root(low: f64, high: f64, f: impl Fn(f64) -> f64) -> f64 {
    let (mut a, mut b) = (high, low);
    let (mut fa, mut fb) = (f(a), f(b));
    if (fa < 0.0) == (fb < 0.0) {
        // At an end to within rounding.
        return if fa.abs() < fb.abs() { a } else { b };
    }
    let (mut c, mut fc);
    let mut t = 0.5;
    for _ in 0..MOST_STEPS {
        let x = a + t * (b - a);
        let fx = f(x);
        if (fx < 0.0) == (fa < 0.0) {
            (c, fc) = (a, fa);
        } else {
            (c, fc, b, fb) = (b, fb, a, fa);
        }
        (a, fa) = (x, fx);
        let best = if fa.abs() < fb.abs() { a } else { b };
        let least = f64::EPSILON * (1.0 + best.abs()) / (b - a).abs().max(f64::MIN_POSITIVE);
        if least > 0.5 || fa == 0.0 {
            return best;
        }
        let (xi, phi) = ((a - b) / (c - b), (fa - fb) / (fc - fb));
        let quadratic = phi * phi < xi && (1.0 - phi).powi(2) < 1.0 - xi;
        t = if quadratic {
            fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
        } else {
            0.5
        };
        t = t.clamp(least, 1.0 - least);
    }
    a
}

fn smooth(along: Along, t: f64) -> f64 {
    let (fore, aft) = ((1.0 - t / 0.55).max(0.0).powi(3), ((t - 0.45) / 0.55).max(0.0).powi(3));
    along[1] + (along[0] - along[1]) * fore + (along[2] - along[1]) * aft
}

impl AsBuilt {
    /// A boat of the kind, her proportions drawn from the seed.
    pub fn new(kind: Kind, seed: u64) -> Self {
        let mut r = Random::new(seed.wrapping_mul(0x9fb2_1c65_1e98_df25) ^ (kind as u64 + 101) << 40);
        let feet = match kind {
            Kind::RoundedStem
            | Kind::Tuck
            | Kind::Tumblehome
            | Kind::Reverse
            | Kind::CurvedTransom
            | Kind::WideKeel => (14.0, 20.0),
            Kind::RoundedDoubleEnder | Kind::Ellipse => (24.0, 28.0),
            Kind::PlumbStem | Kind::Cutaway | Kind::MultiChine => (16.0, 26.0),
            Kind::SpoonBow | Kind::ClipperBow | Kind::CanoeStern | Kind::CruiserStern => (24.0, 34.0),
            Kind::PostUnderTransom | Kind::Counter => (36.0, 42.0),
            Kind::Wineglass => (9.0, 13.0),
            Kind::Scow => (16.0, 24.0),
            Kind::Pram => (8.0, 12.0),
            Kind::FlatBottom => (12.0, 18.0),
        };
        // On a whole eighth, so that a station can stand on a plumb end.
        let length = Place::Eighth.round(FOOT * r.between(feet.0, feet.1));
        let big = feet.0 >= 24.0;
        let half_beam = length * if big { r.between(0.13, 0.16) } else { r.between(0.15, 0.19) };
        let depth = half_beam * r.between(0.75, 0.95);
        let spring = depth * r.between(0.35, 0.6);
        let lowest = r.between(0.58, 0.7);
        let rocker = depth * r.between(0.03, 0.1);
        let half_siding = 0.0254 * (if big { 1.5 } else { 0.75 } + r.between(0.0, 7.99).floor() / 8.0);
        let top = 0.05 + depth;
        let mut boat = AsBuilt {
            kind,
            length,
            half_siding,
            wider: (0.0, 0.0),
            half_beam,
            keel: [0.05 + rocker * 0.3, -rocker * 1.1, rocker],
            tuck: (1.0, 0.0),
            sheer: [top + spring * lowest * lowest, -2.0 * spring * lowest, spring, 0.0],
            form: Form::Hung { stem: None, stern: None },
            fore: Taper { reach: length * r.between(0.52, 0.62), hollow: r.between(0.2, 1.0), width: 0.0 },
            aft: Taper { reach: length * r.between(0.4, 0.5), hollow: 0.0, width: r.between(0.5, 0.72) },
            blunt: None,
            shape: Shape::Round {
                hollow: [r.between(0.0, 0.2), r.between(-0.1, 0.1), r.between(0.1, 0.4)],
                deep: 0.0,
                b: [r.between(1.4, 1.9), r.between(3.2, 4.6), r.between(2.2, 3.0)],
                c: r.between(0.78, 0.92),
                bulge: [0.0; 3],
                flare: [0.0; 3],
            },
            rake: Some(r.between(0.1, 0.35)),
            curve_radius: None,
            ends: (0.0, length),
            transom: None,
            mirrored: false,
        };
        boat.draw(&mut r, depth);
        boat.settle();
        boat
    }

    /// What makes the kind.
    fn draw(&mut self, r: &mut Random, depth: f64) {
        let l = self.length;
        let hung = |stem: Option<Bend>, stern: Option<Bend>| Form::Hung { stem, stern };
        let raked =
            |r: &mut Random| Bend { reach: l * r.between(0.14, 0.22), p: r.between(3.0, 4.0), m: 1.0 };
        match self.kind {
            Kind::RoundedStem => self.form = hung(Some(raked(r)), None),
            Kind::RoundedDoubleEnder => {
                let mut bend = || Bend { reach: l * r.between(0.13, 0.2), p: 3.0, m: r.between(1.0, 1.4) };
                self.form = hung(Some(bend()), Some(bend()));
                self.pointed(r);
            }
            Kind::PlumbStem => {
                // Plumb at both ends.
                self.rake = Some(0.0);
                self.form = Form::Waterlines {
                    stem: [r.between(0.0, 0.008), 0.0, 0.0],
                    stern: Stern::Open,
                    round: (r.between(0.012, 0.03), 0.0),
                };
            }
            Kind::CurvedTransom => {
                self.form = hung(Some(raked(r)), None);
                // Steeper, the sheer closes by half between foot and head, which no transom does.
                self.rake = Some(r.between(0.2, 0.35));
                self.curve_radius = Some(Place::Eighth.round(self.half_beam * r.between(1.6, 3.0)));
            }
            Kind::WideKeel => {
                self.form = hung(Some(raked(r)), None);
                self.wider = (self.half_siding * r.between(1.0, 2.5), self.half_siding * r.between(0.0, 0.5));
            }
            Kind::Cutaway => {
                self.form = Form::Waterlines {
                    stem: [r.between(0.0, 0.02), r.between(0.02, 0.06), 0.0],
                    stern: Stern::Open,
                    round: (r.between(0.05, 0.11), 0.0),
                };
            }
            Kind::SpoonBow => {
                let bend = Bend { reach: l * r.between(0.36, 0.46), p: r.between(3.0, 3.6), m: 1.0 };
                self.form = hung(Some(bend), None);
            }
            Kind::ClipperBow => {
                let reach = r.between(0.07, 0.11);
                self.form = Form::Waterlines {
                    stem: [3.0 * reach, -3.0 * reach, reach],
                    stern: Stern::Open,
                    round: (r.between(0.01, 0.03), 0.0),
                };
                self.fore.hollow = r.between(0.8, 1.5);
            }
            Kind::PostUnderTransom => self.post(r, depth, (0.3, 0.6), (0.93, 0.95)),
            Kind::Counter => self.post(r, depth, (3.0, 4.5), (0.72, 0.78)),
            Kind::Wineglass => {
                self.form = hung(Some(raked(r)), None);
                self.hollow([0.2, 0.1, r.between(0.85, 0.97)], 0.0, [1.8, 4.0, r.between(3.4, 4.6)]);
                self.keel = [0.05, 0.0, 0.0];
                self.aft.width = r.between(0.55, 0.7);
            }
            Kind::Tuck => {
                self.form = hung(Some(raked(r)), None);
                self.tuck = (r.between(0.7, 0.82), depth * r.between(0.3, 0.5));
                self.aft.width = r.between(0.55, 0.75);
            }
            Kind::CanoeStern => {
                self.form = Form::Waterlines {
                    stem: [0.02, r.between(0.02, 0.05), 0.0],
                    stern: Stern::Pointed([r.between(0.02, 0.05), r.between(0.04, 0.07), 0.02]),
                    round: (r.between(0.01, 0.03), r.between(0.02, 0.06)),
                };
                self.pointed(r);
                self.aft.hollow = 0.0;
            }
            Kind::CruiserStern => {
                let stern = Bend { reach: l * r.between(0.13, 0.2), p: 3.0, m: 2.0 };
                self.form = hung(Some(raked(r)), Some(stern));
                self.rake = None;
                self.blunt = Some(r.between(5.0, 9.0));
                self.aft.width = r.between(0.75, 0.9);
            }
            Kind::Scow => {
                let bow = Bend { reach: l * r.between(0.28, 0.36), p: 3.0, m: 1.0 };
                self.form = hung(Some(bow), None);
                self.fore = Taper { reach: 0.5 * l, hollow: 0.5, width: r.between(0.55, 0.75) };
                self.hollow([0.0; 3], 0.0, [r.between(3.5, 4.5), r.between(5.0, 6.0), 5.0]);
                self.aft.width = r.between(0.7, 0.85);
            }
            Kind::Pram => {
                let bow = Bend { reach: l * r.between(0.4, 0.5), p: 3.0, m: 1.0 };
                self.form = hung(Some(bow), None);
                self.fore = Taper { reach: 0.55 * l, hollow: 0.3, width: r.between(0.35, 0.5) };
                self.tuck = (0.5, depth * r.between(0.1, 0.2));
            }
            Kind::FlatBottom => {
                let flat = r.between(0.7, 0.8);
                self.form = Form::Waterlines {
                    stem: [r.between(0.03, 0.07), r.between(0.0, 0.02), 0.0],
                    stern: Stern::Open,
                    round: (0.0, 0.0),
                };
                self.keel[2] *= 2.0;
                self.keel[1] *= 2.0;
                self.keel[0] = 0.05 + 0.6 * (self.keel[0] - 0.05) / 0.3;
                self.shape = Shape::Panels {
                    first: flat,
                    corners: [(1.0, 1.0); 2],
                    count: 0,
                    round: r.between(0.0, 0.06),
                };
            }
            Kind::MultiChine => {
                let low = (r.between(0.24, 0.3), r.between(0.56, 0.64));
                let high = (r.between(0.52, 0.6), r.between(0.84, 0.9));
                self.form = Form::Waterlines {
                    stem: [r.between(0.03, 0.06), r.between(0.02, 0.05), 0.0],
                    stern: Stern::Open,
                    round: (r.between(0.004, 0.02), 0.0),
                };
                let round = r.between(0.0, 0.06);
                self.shape = Shape::Panels { first: 0.0, corners: [low, high], count: 2, round };
            }
            Kind::Tumblehome => {
                self.form = hung(Some(raked(r)), None);
                if let Shape::Round { b, c, bulge, .. } = &mut self.shape {
                    (*b, *c) = ([r.between(2.6, 3.0), r.between(3.4, 4.6), 3.0], 0.95);
                    *bulge = [0.0, r.between(0.12, 0.2), r.between(0.2, 0.32)];
                }
            }
            Kind::Reverse => {
                self.form = hung(Some(raked(r)), None);
                self.hollow([0.5, r.between(0.5, 0.7), 0.8], 0.0, [1.8, 4.0, 3.2]);
                if let Shape::Round { flare, .. } = &mut self.shape {
                    *flare = [r.between(0.3, 0.5), 0.05, 0.0];
                }
            }
            Kind::Ellipse => {
                let bend = Bend { reach: 0.5 * l, p: r.between(2.5, 4.0).round(), m: 2.0 };
                self.form = hung(Some(bend), Some(bend));
                self.shape = Shape::Ellipse;
                self.keel = [0.05, 0.0, 0.0];
                let spring = depth * r.between(0.2, 0.4);
                self.sheer = [0.05 + depth + 0.25 * spring, -spring, spring, 0.0];
                self.pointed(r);
                self.fore.hollow = 0.0;
                self.aft = self.fore;
                self.half_siding = 0.025;
            }
        }
    }

    fn hollow(&mut self, garboards: Along, how_deep: f64, fullness: Along) {
        if let Shape::Round { hollow, deep, b, .. } = &mut self.shape {
            (*hollow, *deep, *b) = (garboards, how_deep, fullness);
        }
    }

    /// No transom: fined to nothing aft.
    fn pointed(&mut self, r: &mut Random) {
        self.rake = None;
        self.aft =
            Taper { reach: self.length * r.between(0.5, 0.58), hollow: r.between(0.0, 0.6), width: 0.0 };
    }

    /// A deep keel with drag that ends at a post, and what stands on the post.
    fn post(&mut self, r: &mut Random, depth: f64, overhang: (f64, f64), heel: (f64, f64)) {
        let l = self.length;
        let drag = depth * r.between(0.25, 0.45);
        // Deep below the bilge: sheer as drawn, but a keel as much again below.
        let deep = depth * r.between(0.4, 0.6);
        self.keel = [0.1 + drag, -drag, 0.0];
        self.sheer[0] += deep;
        let heel = heel.0 + (heel.1 - heel.0) * r.between(0.0, 1.0);
        let bottom = poly(&self.keel, heel);
        let tuck = bottom + r.between(0.72, 0.82) * (poly(&self.sheer, 1.0) - bottom) - 0.1 * depth;
        let rake = r.between(0.15, 0.3);
        self.form = Form::Waterlines {
            stem: [r.between(0.0, 0.02), r.between(0.02, 0.05), r.between(0.02, 0.05)],
            stern: Stern::Post {
                heel: heel * l,
                rake,
                tuck: if overhang.0 > 1.0 { tuck } else { tuck + 0.08 * depth },
                overhang: if overhang.0 > 1.0 {
                    r.between(overhang.0, overhang.1)
                } else {
                    r.between(4.0, 6.0)
                },
                soft: l * r.between(0.008, 0.013),
            },
            round: (r.between(0.02, 0.05), 0.0),
        };
        self.hollow(
            [0.8, r.between(0.93, 0.97), r.between(0.93, 0.97)],
            r.between(0.3, 0.6),
            [1.9, 4.6, 3.4],
        );
        self.aft = Taper { reach: l * r.between(0.5, 0.6), hollow: r.between(0.2, 0.8), width: 0.0 };
        self.rake =
            Some(if overhang.0 > 1.0 { r.between(0.7, 1.1) } else { r.between(overhang.0, overhang.1) });
    }

    /// Finds the ends and lays the transom's plane.
    fn settle(&mut self) {
        let l = self.length;
        if let Form::Waterlines { stern, round, .. } = self.form {
            let head = |x: f64| self.spread(x, self.sheer1(x)) - self.eps(x);
            let fore = if round.0 == 0.0 { 0.0 } else { root(-0.05 * l, 0.3 * l, head) };
            let pointed = matches!(stern, Stern::Pointed(_));
            let aft = if pointed { root(0.7 * l, 1.05 * l, |x| -head(x)) } else { l };
            self.ends = (fore, aft);
        }
        let Some(rake) = self.rake else { return };
        // Both spots stand on whole eighths from the stem head, so that a table can give the plane exactly.
        let whole = |m: f64| Place::Eighth.round(m);
        let mut foot = (l, self.bottom1(l));
        if let Form::Waterlines { stern: Stern::Post { tuck, soft, .. }, .. } = self.form {
            // On a post the transom stands where the line leaves it; a counter's is far up the overhang.
            let counter = self.kind == Kind::Counter;
            foot.1 = whole(if counter { tuck + 0.2 * (self.sheer1(l) - tuck) } else { tuck - 1.5 * soft });
            foot.0 = self.ends.0 + whole(self.stern_line(foot.1) - self.ends.0);
            for _ in 0..4 {
                let short = foot.0 - self.stern_line(foot.1);
                if let Form::Waterlines { stern: Stern::Post { heel, .. }, .. } = &mut self.form {
                    *heel += short;
                }
            }
        }
        self.ends.1 = foot.0;
        let foot_x = whole(foot.0 - self.ends.0);
        let mut rise = self.sheer1(foot.0) - foot.1;
        for _ in 0..4 {
            rise = self.sheer1(foot.0 + rake * rise) - foot.1;
        }
        let (foot_z, head_z) = (whole(foot.1), whole(foot.1 + rise));
        self.transom = Some(TransomPlane {
            foot: (foot_x, foot_z),
            head: (whole(foot.0 - self.ends.0 + rake * rise), head_z),
            curve_radius: self.curve_radius,
        });
    }

    /// The same boat so much higher above the base line, m: where readings' places fall on her is a matter of that.
    pub fn raised(mut self, by: f64) -> Self {
        self.keel[0] += by;
        self.sheer[0] += by;
        if let Form::Waterlines { stern: Stern::Post { tuck, .. }, .. } = &mut self.form {
            *tuck += by;
        }
        self.settle();
        self
    }

    /// The same boat turned end for end: what was aft is forward. A raked transom is left out; she then begins at
    /// the plumb section through its foot.
    pub fn mirrored(mut self) -> Self {
        self.mirrored = !self.mirrored;
        self
    }

    /// The same boat without round in the panels between her chines.
    pub fn straight(mut self) -> Self {
        if let Shape::Panels { round, .. } = &mut self.shape {
            *round = 0.0;
        }
        self
    }

    /// Her kind.
    pub fn kind(&self) -> Kind {
        self.kind
    }

    /// Half-siding of the backbone at the rabbet at x, m.
    pub fn half_siding(&self, x: f64) -> f64 {
        self.siding1(self.drawn(x))
    }

    /// Whether the half-siding changes along the backbone.
    pub fn siding_changes(&self) -> bool {
        self.wider != (0.0, 0.0)
    }

    /// Greatest half-breadth, about, m.
    pub fn half_beam(&self) -> f64 {
        self.half_beam
    }

    /// x of the after end of the backbone, m: the transom's foot or the stern head. The forward end is 0.
    pub fn length(&self) -> f64 {
        self.ends.1 - self.ends.0
    }

    /// The plane of the transom.
    pub fn transom(&self) -> Option<TransomPlane> {
        self.transom.filter(|_| !self.mirrored)
    }

    /// Whether the backbone rises to the sheer forward, and aft.
    pub fn pointed_ends(&self) -> (bool, bool) {
        let fore = self.fore.width == 0.0;
        let aft = self.rake.is_none();
        if self.mirrored { (aft, fore) } else { (fore, aft) }
    }

    /// Whether there is a line in profile to take spots of abaft: a pointed stern, or a post under a transom.
    pub fn stern_in_profile(&self) -> bool {
        if self.mirrored {
            return self.pointed_ends().1;
        }
        self.rake.is_none() || self.on_post()
    }

    /// Number of chines.
    pub fn chines(&self) -> usize {
        match self.shape {
            Shape::Panels { count, .. } => count + usize::from(self.flat_bottomed()),
            _ => 0,
        }
    }

    /// Whether the lowest strake is flat across, from the half-siding out to the chine.
    pub fn flat_bottomed(&self) -> bool {
        matches!(self.shape, Shape::Panels { first, .. } if first > 0.0)
    }

    // Names ending in `1` work in the drawing's own x.

    fn drawn(&self, x: f64) -> f64 {
        if self.mirrored { self.ends.1 - x } else { self.ends.0 + x }
    }

    fn siding1(&self, x: f64) -> f64 {
        let (middle, aft) = self.wider;
        self.half_siding + smooth([0.0, middle, aft], x / self.length)
    }

    fn keel1(&self, x: f64) -> f64 {
        let t = x / self.length;
        let (from, rise) = self.tuck;
        poly(&self.keel, t) + rise * ((t - from) / (1.0 - from).max(1e-9)).max(0.0).powi(3)
    }

    fn sheer1(&self, x: f64) -> f64 {
        poly(&self.sheer, x / self.length)
    }

    fn stem_line(&self, z: f64) -> f64 {
        let Form::Waterlines { stem, .. } = self.form else { return 0.0 };
        let (head, foot) = (self.sheer1(0.0), self.keel1(0.0));
        let u = (head - z) / (head - foot);
        self.length * u * poly(&stem, u)
    }

    fn stern_line(&self, z: f64) -> f64 {
        let Form::Waterlines { stern, .. } = self.form else { return self.length };
        match stern {
            Stern::Open => self.length,
            Stern::Pointed(c) => {
                let (head, foot) = (self.sheer1(self.length), self.keel1(self.length));
                let u = (head - z) / (head - foot);
                self.length * (1.0 - u * poly(&c, u))
            }
            Stern::Post { heel, rake, tuck, overhang, soft } => {
                let up = z - self.keel1(heel);
                let past = (z - tuck) / soft;
                // ln(1 + e^p), without overflow.
                let run = soft * (past.max(0.0) + (-past.abs()).exp().ln_1p());
                heel + rake * up + (overhang - rake) * run
            }
        }
    }

    /// Fining of the plan at (x, z).
    fn spread(&self, x: f64, z: f64) -> f64 {
        let (fore, aft) = match self.form {
            Form::Hung { .. } => (x, self.length - x),
            Form::Waterlines { .. } => (x - self.stem_line(z), self.stern_line(z) - x),
        };
        let round = self.blunt.map_or(1.0, |n| (1.0 - (x / self.length).max(0.0).powf(n)).max(0.0).sqrt());
        self.fore.at(fore) * self.aft.at(aft) * round
    }

    fn eps(&self, x: f64) -> f64 {
        let Form::Waterlines { round, .. } = self.form else { return 0.0 };
        let t = x / self.length;
        round.0 * (1.0 - t / 0.6).max(0.0).powi(3) + round.1 * ((t - 0.4) / 0.6).max(0.0).powi(3)
    }

    fn q(&self, x: f64, tau: f64) -> f64 {
        let t = x / self.length;
        match self.shape {
            Shape::Round { hollow, deep, b, c, bulge, flare } => {
                let b = smooth(b, t);
                let theta = tau - smooth(hollow, t) * tau * (1.0 - tau) * (1.0 + deep * tau);
                let scale = 1.0 - (1.0 - c).powf(b);
                let body = (1.0 - (1.0 - c * theta).max(0.0).powf(b)) / scale;
                // Tumblehome swells below the sheer; flare draws in below a sheer that keeps its breadth.
                let swell = 4.0 * tau * tau * (1.0 - tau) * smooth(bulge, t);
                body + swell - tau * tau * (1.0 - tau) * smooth(flare, t)
            }
            Shape::Ellipse => (1.0 - (1.0 - tau).powi(2)).max(0.0).sqrt(),
            Shape::Panels { first, corners, count, round } => {
                let (mut from, mut to) = ((0.0, first), (1.0, 1.0));
                for &corner in corners.iter().take(count) {
                    if tau < corner.0 {
                        to = corner;
                        break;
                    }
                    from = corner;
                }
                let s = (tau - from.0) / (to.0 - from.0);
                from.1 + (to.1 - from.1) * (s + round * s * (1.0 - s))
            }
        }
    }

    fn y1(&self, x: f64, z: f64) -> f64 {
        let foot = match self.form {
            Form::Hung { .. } => self.bottom1(x),
            Form::Waterlines { .. } => self.keel1(x),
        };
        let high = self.sheer1(x) - foot;
        // At a stem head there is no section between backbone and sheer.
        let tau = if high > 0.0 { (z - foot) / high } else { 1.0 };
        let e = self.eps(x);
        let siding = self.siding1(x);
        siding + (self.half_beam - siding) * (self.spread(x, z) * self.q(x, tau) - e) / (1.0 - e)
    }

    /// Height of the backbone line at x.
    fn bottom1(&self, x: f64) -> f64 {
        let (keel, top) = (self.keel1(x), self.sheer1(x));
        match self.form {
            Form::Hung { stem, stern } => {
                let l = self.length;
                let rise = |bend: Bend, distance: f64, at: f64| {
                    (self.sheer1(at) - self.keel1(at)) * bend.at(distance)
                };
                // A scow's or pram's bow stops short of the sheer.
                let part = if self.fore.width == 0.0 { 1.0 } else { 0.6 };
                keel + stem.map_or(0.0, |b| part * rise(b, x, 0.0)) + stern.map_or(0.0, |b| rise(b, l - x, l))
            }
            Form::Waterlines { .. } => {
                // Without rounding the backbone is the keel's line or, past it, that of stem or post.
                let e = self.eps(x);
                let over = |z: f64| match e {
                    0.0 => self.spread(x, z),
                    _ => self.spread(x, z) * self.q(x, (z - keel) / (top - keel)) - e,
                };
                if over(keel) >= 0.0 { keel } else { root(keel, top, over) }
            }
        }
    }

    /// Heights the strakes of the section lie between, from backbone to sheer; a chine that has run into the stem
    /// lies at the backbone.
    fn levels(&self, x: f64) -> ([f64; 4], usize) {
        let (bottom, top, keel) = (self.bottom1(x), self.sheer1(x), self.keel1(x));
        let mut levels = [top; 4];
        levels[0] = bottom;
        let mut n = 1;
        if let Shape::Panels { corners, count, .. } = self.shape {
            if self.flat_bottomed() {
                levels[n] = bottom;
                n += 1;
            }
            for corner in corners.iter().take(count) {
                levels[n] = (keel + corner.0 * (top - keel)).max(bottom);
                n += 1;
            }
        }
        (levels, n)
    }

    /// Half-breadth and height at s along the section at x, s from 0 at the backbone to 1 at the first chine or
    /// the sheer, and so on strake by strake.
    pub fn at(&self, x: f64, s: f64) -> (f64, f64) {
        let x = self.drawn(x);
        let (levels, strakes) = self.levels(x);
        let strake = (s.max(0.0) as usize).min(strakes - 1);
        let v = s - strake as f64;
        if strake == 0 && self.flat_bottomed() {
            let z = levels[0];
            let siding = self.siding1(x);
            return (siding + v * (self.y1(x, z) - siding).max(0.0), z);
        }
        let (low, high) = (levels[strake], levels[strake + 1]);
        // Closer to the backbone, where sections may be flat.
        let part = if strake == 0 { v * v } else { v };
        let z = low + part * (high - low);
        if strake == 0 && v <= 0.0 {
            return (self.siding1(x), z);
        }
        (self.y1(x, z), z)
    }

    /// Number of strakes between backbone, chines and sheer.
    pub fn strakes(&self) -> usize {
        self.chines() + 1
    }

    /// Height of the backbone at x, m.
    pub fn bottom(&self, x: f64) -> f64 {
        self.bottom1(self.drawn(x))
    }

    /// Height of the sheer at x, m.
    pub fn sheer(&self, x: f64) -> f64 {
        self.sheer1(self.drawn(x))
    }

    /// Half-breadth at (x, z), m, between backbone and sheer; of the side, above a flat bottom.
    pub fn half_breadth(&self, x: f64, z: f64) -> f64 {
        self.y1(self.drawn(x), z)
    }

    /// Whether the transom stands on a post.
    fn on_post(&self) -> bool {
        matches!(self.form, Form::Waterlines { stern: Stern::Post { .. }, .. })
    }

    /// Whether a place is cut away by the transom; below its foot, where a post stands, nothing is.
    pub fn abaft_transom(&self, x: f64, y: f64, z: f64) -> bool {
        self.transom().is_some_and(|t| x > t.x(y, z) && !(self.on_post() && z < t.foot.1))
    }

    /// x, half-breadth and height where the line s of the sections meets the transom.
    pub fn on_transom(&self, s: f64) -> Option<(f64, f64, f64)> {
        let t = self.transom()?;
        let over = t.head.0 - t.foot.0;
        let low = t.foot.0 - 0.1 * self.length() - over.abs();
        let foot = if self.on_post() { t.foot.1 } else { f64::MIN };
        let x = root(low, t.head.0 + 0.5 * over.abs() + 0.01, |x| {
            let (y, z) = self.at(x, s);
            let past = x - t.x(y, z);
            // Below the foot, where a post stands, nothing is cut away.
            if z < foot { past.min(z - foot) } else { past }
        });
        let (y, z) = self.at(x, s);
        Some((x, y, z))
    }

    /// Outward unit normal at s of the section at x, off the edges of a strake.
    pub fn normal(&self, x: f64, s: f64) -> [f64; 3] {
        let (_, z) = self.at(x, s);
        let x1 = self.drawn(x);
        let turn = if self.mirrored { -1.0 } else { 1.0 };
        let h = NORMAL_STEP * self.length;
        if self.flat_bottomed() && s < 1.0 {
            let slope = (self.keel1(x1 + h) - self.keel1(x1 - h)) / (2.0 * h);
            let norm = slope.hypot(1.0);
            return [turn * slope / norm, 0.0, -1.0 / norm];
        }
        let strake = (s as usize).min(self.strakes() - 1);
        let inside = |x: f64, z: f64| {
            let (levels, _) = self.levels(x);
            z >= levels[strake] && z <= levels[strake + 1]
        };
        // Steps small enough to stay on the strake.
        let slope = |by: &dyn Fn(f64) -> (f64, f64)| {
            let mut h = h;
            for _ in 0..40 {
                if [-2.0 * h, 2.0 * h].iter().all(|&d| inside(by(d).0, by(d).1)) {
                    break;
                }
                h *= 0.5;
            }
            let f = |d: f64| self.y1(by(d).0, by(d).1);
            let wide = (f(2.0 * h) - f(-2.0 * h)) / (4.0 * h);
            let narrow = (f(h) - f(-h)) / (2.0 * h);
            narrow + (narrow - wide) / 3.0
        };
        let yx = slope(&|d| (x1 + d, z));
        let yz = slope(&|d| (x1, z + d));
        let norm = (1.0 + yx * yx + yz * yz).sqrt();
        [-turn * yx / norm, 1.0 / norm, -yz / norm]
    }

    /// The backbone line in profile, (x, z) in `n` points evenly along it: from the stem head, or the first
    /// section, to the foot of the transom or the stern head.
    pub fn backbone(&self, n: usize) -> Vec<(f64, f64)> {
        let end = self.length();
        let traced: Vec<(f64, f64)> = (0..=TRACED)
            .map(|i| {
                let t = i as f64 / TRACED as f64;
                // Closer and closer to both ends, where it may be plumb.
                let part = if t < 0.5 { 8.0 * t.powi(4) } else { 1.0 - 8.0 * (1.0 - t).powi(4) };
                (end * part, self.bottom(end * part))
            })
            .collect();
        evenly(&traced, n)
    }

    /// Half-breadth and height of chine `i` at x, m, counted from the keel up; `None` where it has run into the
    /// stem.
    pub fn chine(&self, i: usize, x: f64) -> Option<(f64, f64)> {
        if i >= self.chines() {
            return None;
        }
        let (y, z) = self.at(x, i as f64 + 1.0);
        (y > self.half_siding(x) + 1e-6 * self.length).then_some((y, z))
    }
}

/// A polyline in `n` points evenly along its length.
pub(crate) fn evenly(points: &[(f64, f64)], n: usize) -> Vec<(f64, f64)> {
    let mut run = vec![0.0];
    for pair in points.windows(2) {
        let step = (pair[1].0 - pair[0].0).hypot(pair[1].1 - pair[0].1);
        run.push(run.last().copied().unwrap_or_default() + step);
    }
    let total = run.last().copied().unwrap_or_default();
    (0..n)
        .map(|i| {
            let want = total * i as f64 / (n - 1) as f64;
            let k = run.partition_point(|&s| s < want).clamp(1, points.len() - 1);
            let part = ((want - run[k - 1]) / (run[k] - run[k - 1]).max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
            let (a, b) = (points[k - 1], points[k]);
            (a.0 + part * (b.0 - a.0), a.1 + part * (b.1 - a.1))
        })
        .collect()
}
