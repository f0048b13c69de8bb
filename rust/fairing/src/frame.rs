//! The frame a hull is described in: t along it, v up each strake, w the bulge off the strake's chord.
//!
//! x = x_a + u (x_b - x_a) + (stem(ζ) - x_a) (1 - u)^p + (after end(y, ζ) - x_b) u^q, u = t but where an end is
//! round in plan, ζ the height between rabbet and sheer: t = 0 is the stem exactly, t = 1 the transom, sternpost or last station,
//! and between them t runs nearly with the stations. In a section the point is A + Δ v + D w, A the lower
//! edge of the strake, Δ its chord and D the chord mirrored, so that v runs on whether floor or side; with tumblehome
//! D leans athwartships toward the sheer.

use scrieve_offsets::TransomPlane;

use scrieve_surface::BSpline;

/// How fast the slant of an end fades along the boat: higher is sooner.
const FADE: f64 = 3.0;
/// Where an end's overhang is so long that x would turn back, the fade is slower: x keeps this part of its
/// pace.
const LEAST_PACE: f64 = 0.35;
/// How much a strake's chord lends its mirror where one of its extents vanishes (a flat floor, a wall side).
const LEND: f64 = 0.5;
/// A side that tumbles home by more than its chord leans out runs back in v, unless w there runs more nearly
/// athwartships: at the sheer by this part of the way.
pub(crate) const LEAN: f64 = 0.75;
/// Over a sternpost under a transom the planking has a knuckle that runs forward nearly level, and v along the chord would
/// cross it: there w leans athwartships by so much, and v goes by height. Waterlines are smooth there, and so is w if it is
/// measured in a breadth that stays: the sheer's own runs to nothing not far abaft the transom, and w in it to a pole.
const ACROSS: f64 = 0.95;
/// A strake that is straight in the planes of the stations is so within this of t from either end less and less: the end itself is
/// straight along its own line.
const SQUARE_FROM: f64 = 0.06;
/// Steps to the line straight across; each leaves a hundredth of the way.
const STEPS_ACROSS: usize = 3;
/// Steps of the solve for t, by secants; it has nearly always arrived in five.
const STEPS: usize = 20;

/// The lower and upper edge of a strake in the section at some t, (y, z), and the half-siding, m.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Chord {
    pub low: (f64, f64),
    pub high: (f64, f64),
    pub half_siding: f64,
    /// 0 for a hull of one strake, else [`LEND`].
    pub lend: f64,
    /// How far w leans to the horizontal all the way, and the breadth it is then measured in, m.
    pub across: f64,
    pub breadth: f64,
    /// How far w leans to the horizontal from the lower edge to the upper: see [`LEAN`].
    pub lean: f64,
}

impl Chord {
    pub fn delta(&self) -> (f64, f64) {
        (self.high.0 - self.low.0, self.high.1 - self.low.1)
    }

    pub fn mirror(&self) -> (f64, f64) {
        let (dy, dz) = self.delta();
        // At the stem all breadths vanish together, and with them the breadth of the mirror.
        let out = 0.5 * (self.high.0 + self.low.0) - self.half_siding;
        let own = dy.hypot(self.lend * out);
        (own + self.across * (self.breadth - own), -dz.hypot(self.lend * dy) * (1.0 - self.across))
    }

    /// Which way w runs at v, and how fast that turns by v.
    pub fn aside(&self, v: f64) -> ((f64, f64), (f64, f64)) {
        let mirror = self.mirror();
        ((mirror.0, mirror.1 * (1.0 - self.lean * v)), (0.0, -self.lean * mirror.1))
    }

    /// (y, z) of v and w.
    pub fn point(&self, v: f64, w: f64) -> (f64, f64) {
        let (delta, (aside, _)) = (self.delta(), self.aside(v));
        (self.low.0 + delta.0 * v + aside.0 * w, self.low.1 + delta.1 * v + aside.1 * w)
    }

    /// ∂(y, z)/∂v along a section whose bulge has slope `p` there.
    pub fn tangent(&self, v: f64, w: f64, p: f64) -> (f64, f64) {
        let (delta, (aside, turn)) = (self.delta(), self.aside(v));
        (delta.0 + aside.0 * p + turn.0 * w, delta.1 + aside.1 * p + turn.1 * w)
    }

    /// v and w of (y, z).
    pub fn place(&self, (y, z): (f64, f64)) -> (f64, f64) {
        let (delta, mirror) = (self.delta(), self.mirror());
        let det = delta.0 * mirror.1 - delta.1 * mirror.0;
        let (dy, dz) = (y - self.low.0, z - self.low.1);
        let (mut v, mut w) = ((dy * mirror.1 - dz * mirror.0) / det, (delta.0 * dz - delta.1 * dy) / det);
        if self.lean == 0.0 {
            return (v, w);
        }
        for _ in 0..STEPS {
            let (at, (aside, _), along) = (self.point(v, w), self.aside(v), self.tangent(v, w, 0.0));
            let (ry, rz) = (y - at.0, z - at.1);
            let det = along.0 * aside.1 - along.1 * aside.0;
            let (dv, dw) = ((ry * aside.1 - rz * aside.0) / det, (along.0 * rz - along.1 * ry) / det);
            (v, w) = (v + dv.clamp(-0.3, 0.3), w + dw.clamp(-0.3, 0.3));
            if dv.abs() + dw.abs() < 1e-13 {
                break;
            }
        }
        (v, w)
    }

    /// ∂(y, z)/∂ of low y, low z, high y, high z at (v, w).
    pub fn by_edges(&self, v: f64, w: f64) -> [(f64, f64); 4] {
        let step = 1e-6 * (self.delta().0.abs() + self.delta().1.abs()).max(1e-9);
        std::array::from_fn(|i| {
            let at = |h: f64| {
                let mut c = *self;
                *[&mut c.low.0, &mut c.low.1, &mut c.high.0, &mut c.high.1][i] += h;
                c.point(v, w)
            };
            let (a, b) = (at(-step), at(step));
            ((b.0 - a.0) / (2.0 * step), (b.1 - a.1) / (2.0 * step))
        })
    }
}

/// The frame. Lines are 0: rabbet height; 2j - 1 and 2j: half-breadth and height of edge j, the last of
/// them the sheer.
#[derive(Clone, Debug)]
pub(crate) struct Frame {
    pub x_a: f64,
    /// x that the after end's overhang counts from, and the t it lies at: 1 but where a sternpost under a transom stands
    /// abaft the transom's plane.
    pub x_b: f64,
    pub aft: f64,
    /// Within what depth under its foot a transom on a sternpost turns down, m.
    pub turned: Option<f64>,
    /// Whether the planking has a knuckle over that post; see [`ACROSS`].
    pub knuckle: bool,
    /// The sheer's greatest half-breadth outside the siding, m.
    pub breadth: f64,
    /// Where a sternpost and the transom on it end the planking; set when that is carried over.
    pub post: Option<AfterEdge>,
    /// Stem and sternpost: x over ζ.
    pub stem: Option<BSpline>,
    pub stern: Option<BSpline>,
    /// The transom, and the heights of rabbet and sheer on it.
    pub transom: Option<(TransomPlane, (f64, f64))>,
    pub half_siding: BSpline,
    pub lines: Vec<BSpline>,
    /// Fade of the fore and after end.
    pub fade: (f64, f64),
    /// Whether the hull ends on a stem or a sternpost, fore and aft.
    pub sharp: (bool, bool),
    /// How far w leans in the topmost strake, 0 or [`LEAN`].
    pub lean: f64,
    /// How round in plan the fore and after end are, 0 or 1.
    pub round: (f64, f64),
    /// Strakes whose bulge counts from the straight in the planes of the stations; that of others, from the chord at one t.
    pub square: Vec<bool>,
}

/// The after edge of the lowest strake where a transom stands on a sternpost, or a counter's line: t over v. Sections go
/// on abaft the post, as the planking would, and are cut off there.
#[derive(Clone, Debug)]
pub(crate) struct AfterEdge {
    /// The pieces of the post, one above the other.
    pub parts: Vec<BSpline>,
    /// v of the transom's foot.
    pub foot: f64,
}

/// x of a transom that turns down within so much under its foot.
pub(crate) fn carried_down(transom: &TransomPlane, within: f64, y: f64, z: f64) -> f64 {
    let under = transom.foot.1 - z;
    if under <= 0.0 {
        return transom.x(y, z);
    }
    let rake = (transom.head.0 - transom.foot.0) / (transom.head.1 - transom.foot.1);
    transom.x(y, transom.foot.1) - rake * under / (1.0 + (under / within).powi(3)).cbrt()
}

impl AfterEdge {
    /// t at v, given that of the transom.
    fn t(&self, v: f64, transom: f64) -> f64 {
        if v >= self.foot {
            return transom;
        }
        let ends = |part: &&BSpline| part.knots.last().is_some_and(|&end| v < end);
        self.parts.iter().find(ends).map_or(transom, |part| part.value(v))
    }

    /// v of its corners.
    pub fn corners(&self) -> Vec<f64> {
        self.parts.iter().filter_map(|part| part.knots.last().copied()).collect()
    }
}

impl Frame {
    /// The t that a patch's (u, v) stands for.
    pub fn t_of(&self, strake: usize, u: f64, v: f64) -> f64 {
        let t = self.aft * u;
        let Some(post) = self.post.as_ref().filter(|_| strake == 0) else { return t };
        let over = post.t(v, self.aft) - self.aft;
        let forward = post.parts.first().map_or(0.0, |p| self.aft - p.coefficients[0]);
        let fade = FADE.min((1.0 - LEAST_PACE) * self.aft / forward.max(1e-9)).max(1.0);
        t + over * u.max(0.0).powf(fade)
    }

    /// The u of a patch at which v is at t.
    pub fn u_of(&self, strake: usize, t: f64, v: f64) -> f64 {
        let (mut low, mut high) = (0.0, 1.0);
        if self.post.is_none() || strake > 0 {
            return (t / self.aft).min(1.0);
        }
        for _ in 0..50 {
            let u = 0.5 * (low + high);
            if self.t_of(strake, u, v) < t { low = u } else { high = u }
        }
        0.5 * (low + high)
    }

    /// x of the transom's plane; below the foot of one on a sternpost it turns down, and the sooner the lower that reaches.
    fn carried_down(&self, transom: &TransomPlane, y: f64, z: f64) -> f64 {
        match self.turned {
            Some(within) => carried_down(transom, within, y, z),
            None => transom.x(y, z),
        }
    }

    /// t of a point of the backbone's profile, and the half-siding there.
    pub fn on_siding(&self, x: f64, z: f64) -> (f64, f64) {
        let t = self.t(x, self.half_siding.value(self.aft), |t| self.zeta(t, z));
        (t, self.half_siding.value(t))
    }

    /// Fades that keep x running forward, for overhangs `fore` and `aft` either side of x_a and x_b, m.
    pub fn fades(length: f64, fore: f64, aft: f64) -> (f64, f64) {
        let fade = |over: f64| FADE.min((1.0 - LEAST_PACE) * length / over.max(1e-9)).max(1.0);
        (fade(fore), fade(aft))
    }

    /// How much of a move of the fore and the after end there is at t.
    pub fn fades_at(&self, t: f64) -> (f64, f64) {
        let u = self.along(t).0.clamp(0.0, 1.0);
        ((1.0 - u).powf(self.fade.0), (u / self.aft).powf(self.fade.1))
    }

    pub fn length(&self) -> f64 {
        (self.x_b - self.x_a) / self.aft
    }

    pub fn strakes(&self) -> usize {
        self.lines.len() / 2
    }

    /// Edge `j` at t: (y, z), m.
    pub fn edge(&self, j: usize, t: f64) -> (f64, f64) {
        if j == 0 {
            (self.half_siding.value(t), self.lines[0].value(t))
        } else {
            (self.lines[2 * j - 1].value(t), self.lines[2 * j].value(t))
        }
    }

    /// How far along the boat t is, both 0 to 1, and how fast it goes. Where an end is round in plan, distance from it
    /// goes by the square of that in t, so that breadths that grow as the root of the distance are smooth in t.
    pub fn along(&self, t: f64) -> (f64, f64) {
        let (fore, aft) = self.round;
        if fore == 0.0 && aft == 0.0 {
            return (t, 1.0);
        }
        let left = 1.0 - t;
        let whole = 1.0 - (fore + aft) / 3.0;
        let along = t + (fore * (left.powi(3) - 1.0) - aft * t.powi(3)) / 3.0;
        (along / whole, (1.0 - fore * left * left - aft * t * t) / whole)
    }

    /// The t that is so far along the boat; a little beyond the ends it goes on evenly.
    fn along_from(&self, u: f64) -> f64 {
        if self.round == (0.0, 0.0) {
            return u;
        }
        let (mut low, mut high, inside) = (0.0, 1.0, u.clamp(0.0, 1.0));
        let mut t = inside;
        for _ in 0..STEPS {
            let (at, pace) = self.along(t);
            let off = at - inside;
            if off.abs() < 1e-15 {
                break;
            }
            if off > 0.0 {
                high = t
            } else {
                low = t
            }
            let next = t - off / pace;
            t = if next > low && next < high { next } else { 0.5 * (low + high) };
        }
        t + u - inside
    }

    /// After lines moved: those that end on a stem or sternpost end at the half-siding exactly, and the ends
    /// follow, x over ζ from the heights of rabbet and sheer there.
    /// `profile` gives the stem's, and then the stern's.
    pub fn settle(&mut self, mut profile: impl FnMut(bool, (f64, f64)) -> Option<BSpline>) {
        let top = self.lines.len() - 1;
        for (t, held) in [(0.0, self.sharp.0), (1.0, self.sharp.1)] {
            // Conditions have a little noise for the sake of the arithmetic; the ends have none.
            for l in (1..top).step_by(2).filter(|_| held) {
                let line = &mut self.lines[l];
                let end = if t == 0.0 { 0 } else { line.coefficients.len() - 1 };
                line.coefficients[end] = self.half_siding.value(t);
            }
        }
        let heights = |t: f64| (self.lines[0].value(t), self.lines[top].value(t));
        let (fore, aft) = (heights(0.0), heights(self.aft));
        self.stem = profile(true, fore);
        self.stern = if self.transom.is_some() { None } else { profile(false, aft) };
        self.transom = self.transom.map(|t| (t.0, aft));
    }

    pub fn chord(&self, strake: usize, t: f64) -> Chord {
        Chord {
            low: self.edge(strake, t),
            high: self.edge(strake + 1, t),
            half_siding: self.half_siding.value(t),
            lend: if self.strakes() == 1 { 0.0 } else { LEND },
            // More and more from the stem aft, and wholly at the transom; amidships floors may be flat.
            across: if self.knuckle { ACROSS * t * (2.0 - t) + (1.0 - ACROSS) * t.powi(6) } else { 0.0 },
            breadth: self.breadth,
            lean: if strake + 1 == self.strakes() { self.lean } else { 0.0 },
        }
    }

    /// The bulge of a strake that is straight across in the plane of the station there, if this one's counts from that. Lines of
    /// one t slant toward a raked end, and the straight between their ends lies inside of that by as much as the edges are curved in
    /// plan.
    pub fn straight_across(&self, strake: usize, t: f64, v: f64) -> f64 {
        let ease = |part: f64| {
            let s = part.clamp(0.0, 1.0);
            s * s * s * (10.0 - 15.0 * s + 6.0 * s * s)
        };
        let share = ease(t / SQUARE_FROM) * ease((self.aft - t) / SQUARE_FROM);
        let square = self.square.get(strake).copied().unwrap_or(false);
        if !square || share <= 0.0 || v <= 0.0 || v >= 1.0 {
            return 0.0;
        }
        let chord = self.chord(strake, t);
        let aside = chord.aside(v).0;
        let mut w = 0.0;
        for _ in 0..STEPS_ACROSS {
            let (y, z) = chord.point(v, w);
            let x = self.x(t, y, self.zeta(t, z));
            let at = |edge: usize, out: f64| {
                let here = self.t(x, out, |t| self.zeta(t, self.edge(edge, t).1));
                self.edge(edge, here.clamp(0.0, 1.0))
            };
            let (low, high) = (at(strake, chord.low.0), at(strake + 1, chord.high.0));
            let (dy, dz) = (high.0 - low.0, high.1 - low.1);
            w -= ((y - low.0) * dz - (z - low.1) * dy) / (aside.0 * dz - aside.1 * dy);
        }
        if w.is_finite() { share * w } else { 0.0 }
    }

    /// Height between rabbet and sheer, 0 to 1.
    pub fn zeta(&self, t: f64, z: f64) -> f64 {
        let (k, s) = (self.edge(0, t).1, self.edge(self.strakes(), t).1);
        (z - k) / (s - k)
    }

    /// x at t of a point at half-breadth `y` and height `zeta` between rabbet and sheer, m.
    pub fn x(&self, t: f64, y: f64, zeta: f64) -> f64 {
        // Beyond the ends as within, evenly.
        let inside = t.clamp(0.0, 1.0);
        self.x_along(self.along(inside).0 + t - inside, y, zeta)
    }

    /// The same, so far along the boat.
    fn x_along(&self, u: f64, y: f64, zeta: f64) -> f64 {
        let mut x = self.x_a + u * self.length();
        let end = |s: &BSpline| {
            // Past the spline's ends its last cubic would run away; a straight line does not.
            let inside = zeta.clamp(-0.05, 1.05);
            if zeta == inside {
                return s.value(zeta);
            }
            let [value, slope, _] = s.jet(inside);
            value + slope * (zeta - inside)
        };
        if let Some(stem) = &self.stem {
            x += (end(stem) - self.x_a) * (1.0 - u).max(0.0).powf(self.fade.0);
        }
        let aft = match (&self.stern, self.transom) {
            (Some(stern), _) => Some(end(stern)),
            (None, Some((transom, (k, s)))) => Some(self.carried_down(&transom, y, k + zeta * (s - k))),
            (None, None) => None,
        };
        if let Some(aft) = aft {
            x += (aft - self.x_b) * (u.max(0.0) / self.aft).powf(self.fade.1);
        }
        x
    }

    /// t of a point at x, half-breadth `y` and the height `zeta(t)`; within -0.05 to 1.05.
    pub fn t(&self, x: f64, y: f64, zeta: impl Fn(f64) -> f64) -> f64 {
        let mut u = ((x - self.x_a) / self.length()).clamp(0.0, 1.0);
        let mut slope = self.length();
        let mut before: Option<(f64, f64)> = None;
        for _ in 0..STEPS {
            let miss = self.x_along(u, y, zeta(self.along_from(u))) - x;
            if let Some((u0, miss0)) = before.filter(|b| b.0 != u) {
                slope = ((miss - miss0) / (u - u0)).max(0.1 * self.length());
            }
            before = Some((u, miss));
            let step = (miss / slope).clamp(-0.2, 0.2);
            u = (u - step).clamp(-0.05, 1.05);
            if step.abs() < 1e-9 {
                break;
            }
        }
        self.along_from(u)
    }
}
