//! The batten: the curve of least bending energy, ∫κ² ds, that passes its nails.
//!
//! Between two nails it is a free elastica, κ″ + κ³/2 = 0, whose force 2κ′n + κ²t is one vector (Love, A
//! Treatise on the Mathematical Theory of Elasticity, chapter XIX, from memory). So a span is known from its
//! angles with its chord, and what is left, the angle at each nail and how far the batten leaves it, falls by
//! Newton's method. Its ends are free: no curvature there. At small slopes it is the natural cubic spline.

use crate::solved::Solved;

/// The batten through `nails`, in their order.
///
/// Lengths are in one unit of any size. Where it may leave its nails and several battens are equally straight,
/// it is the one nearest them. A batten that would turn by more than about a right angle between a nail and
/// its neighbour springs off: that is an error, and a nail between helps.
///
/// # Errors
/// Fewer nails than two, or more than [`MOST_NAILS`]; lengths that are no numbers; two in one place; turns too sharp.
pub fn batten(nails: &[Nail]) -> Result<Batten, BattenError> {
    check(nails)?;
    let whole: f64 = nails.windows(2).map(|w| w[0].distance(&w[1])).sum();
    // In units of the mean span, so that no figure below depends on the boat's size.
    let unit = whole / (nails.len() - 1) as f64;
    let scaled = |v: f64| v / unit;
    let small: Vec<Nail> = (nails.iter())
        .map(|n| Nail {
            x: scaled(n.x - nails[0].x),
            y: scaled(n.y - nails[0].y),
            tolerance: scaled(n.tolerance),
        })
        .collect();
    let bent = Bent::new(&small)?.settled()?;
    let spots = bent.spots();
    let chords: Vec<Chord> = spots.windows(2).map(|w| Chord::new(w[0], w[1])).collect();
    let mut girths = vec![0.0];
    let mut spans = Vec::new();
    for (i, chord) in chords.iter().enumerate() {
        let span = bent.span(i, chord).ok_or(BattenError::Springs { nail: i + 1 })?;
        let size = chord.length * unit;
        spans.push(Stretch {
            start: (nails[0].x + spots[i].0 * unit, nails[0].y + spots[i].1 * unit),
            angle: bent.angles[i],
            curvature: span.k0 / size,
            rate: span.rate / (size * size),
            length: span.length * size,
        });
        girths.push(girths[i] + span.length * size);
    }
    Ok(Batten {
        spans,
        girths,
        off: bent.off.iter().map(|d| d * unit).collect(),
        energy: bent.energy() / unit,
    })
}

/// A nail.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Nail {
    /// Where it is driven.
    pub x: f64,
    /// Where it is driven, square to `x`.
    pub y: f64,
    /// How far the batten may lie from it; 0 is on the nail.
    pub tolerance: f64,
}

/// A place on a batten.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OnBatten {
    /// Where.
    pub point: (f64, f64),
    /// Direction, radians from the x-axis toward the y-axis.
    pub angle: f64,
    /// Curvature, positive where it turns toward the y-axis.
    pub curvature: f64,
}

/// A bent batten, in the unit of its nails.
#[derive(Clone, Debug, PartialEq)]
pub struct Batten {
    spans: Vec<Stretch>,
    /// Length along it at each nail, from the first.
    pub girths: Vec<f64>,
    /// How far it lies from each nail: positive to the left, going along it.
    pub off: Vec<f64>,
    /// ∫κ² ds.
    pub energy: f64,
}

/// Why there is no batten.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum BattenError {
    /// Too few or too many.
    #[error("a batten is bent through 2 to {MOST_NAILS} nails, and {0} are given")]
    Count(usize),
    /// Not numbers, or a negative tolerance.
    #[error("nail {nail}: its place and tolerance must be numbers, the tolerance not below 0")]
    NoNumber {
        /// Counted from 1.
        nail: usize,
    },
    /// Two in one place.
    #[error("nails {nail} and {} are in one place: leave one out", nail + 1)]
    OnePlace {
        /// The first, counted from 1.
        nail: usize,
    },
    /// Heights that do not go on along x.
    #[error("nail {} lies no farther along than nail {nail}: give them in order, one a place", nail + 1)]
    OutOfOrder {
        /// The first, counted from 1.
        nail: usize,
    },
    /// No batten takes such a turn.
    #[error("the batten springs off between nails {nail} and {}: put a nail between them", nail + 1)]
    Springs {
        /// The first, counted from 1.
        nail: usize,
    },
    /// The energy does not settle.
    #[error(
        "the batten finds no rest between these nails: it turns too sharply; put more nails where it turns"
    )]
    Restless,
}

/// Nails of one batten at most: the solve takes the cube of their number, a second or so at this.
pub const MOST_NAILS: usize = 500;
/// Nails nearer than this part of the mean span are in one place.
const ONE_PLACE: f64 = 1e-9;
/// Steps of the integration along a span: at a right angle's turn its end is then good to 1e-8 of the chord.
const STEPS: usize = 64;
/// Newton's steps to a span's shape; four are usual.
const SPAN_STEPS: usize = 30;
/// Newton's last step to a span's shape is no longer than this, in chords: what is left is its square.
const LAST_STEP: f64 = 1e-8;
/// A place on the batten is found to this part of its length.
const PLACE_ACCURACY: f64 = 1e-14;
/// Longest span over its chord: that of half a turn is 2.19, and beyond it there is no least energy.
const LONGEST_SPAN: f64 = 2.3;
/// Steps of the whole; ten are usual, more where a batten is near springing off.
const MOST_STEPS: usize = 200;
/// At rest: one more step would lower the energy by less than this part of it. The step is taken unseen, and
/// what is left after it is the square.
const LOST_IN_ROUNDING: f64 = 1e-12;
/// A step is halved at most so often until the energy falls.
const HALVINGS: usize = 30;
/// By at least this part of what its slope promises.
const ENOUGH: f64 = 1e-4;
/// What leaving a nail by its whole tolerance costs beside the bending, in the same units: it decides between
/// battens equally straight and bends one by less than a millionth of its tolerance.
const NEARER: f64 = 1e-12;
/// Times the normals along which nails are left are taken anew from the batten.
const AIMS: usize = 3;

impl Nail {
    fn distance(&self, other: &Nail) -> f64 {
        (other.x - self.x).hypot(other.y - self.y)
    }
}

impl Batten {
    /// The batten through spots (x, y) in the order of x, on every one of them: a line that is asked by its height.
    ///
    /// # Errors
    /// As [`batten`]; spots out of order are [`BattenError::OutOfOrder`].
    pub fn through(spots: &[(f64, f64)]) -> Result<Batten, BattenError> {
        if let Some(i) = spots.windows(2).position(|w| w[0].0 >= w[1].0) {
            return Err(BattenError::OutOfOrder { nail: i + 1 });
        }
        let nails: Vec<Nail> = spots.iter().map(|&(x, y)| Nail { x, y, tolerance: 0.0 }).collect();
        batten(&nails)
    }

    /// x of its first and its last nail, as it lies.
    pub fn reach(&self) -> (f64, f64) {
        (self.spans[0].start.0, self.at(self.length()).point.0)
    }

    /// Where it passes `x`: y there, and its slope; `None` past its ends. For a batten along which x grows.
    pub fn height_within(&self, x: f64) -> Option<(f64, f64)> {
        let (first, last) = self.reach();
        let slack = PLACE_ACCURACY * self.length() + f64::EPSILON * (first.abs() + last.abs());
        (first - slack..=last + slack).contains(&x).then(|| self.height(x))
    }

    /// Its length.
    pub fn length(&self) -> f64 {
        self.girths[self.spans.len()]
    }

    /// The place `along` its length; past either end the straight it runs out in.
    pub fn at(&self, along: f64) -> OnBatten {
        let last = self.spans.len() - 1;
        let i = self.girths.partition_point(|g| *g <= along).saturating_sub(1).min(last);
        let (span, run) = (&self.spans[i], along - self.girths[i]);
        let within = run.clamp(0.0, span.length);
        let end = span.flow(within);
        let (sin, cos) = end.angle.sin_cos();
        let past = run - within;
        let point = (span.start.0 + end.x + past * cos, span.start.1 + end.y + past * sin);
        OnBatten { point, angle: end.angle, curvature: if past == 0.0 { end.curvature } else { 0.0 } }
    }

    /// Where it passes `x`: y there, and its slope dy/dx. For a batten along which x grows.
    pub fn height(&self, x: f64) -> (f64, f64) {
        let mut along = x - self.spans[0].start.0;
        let mut here = self.at(along);
        for _ in 0..SPAN_STEPS {
            let gap = x - here.point.0;
            if gap.abs() < PLACE_ACCURACY * self.length() {
                break;
            }
            along += gap / here.angle.cos().max(0.1);
            here = self.at(along);
        }
        (here.point.1, here.angle.tan())
    }
}

fn check(nails: &[Nail]) -> Result<(), BattenError> {
    if !(2..=MOST_NAILS).contains(&nails.len()) {
        return Err(BattenError::Count(nails.len()));
    }
    let wrong = |n: &Nail| ![n.x, n.y, n.tolerance].iter().all(|v| v.is_finite()) || n.tolerance < 0.0;
    if let Some(i) = nails.iter().position(wrong) {
        return Err(BattenError::NoNumber { nail: i + 1 });
    }
    let whole: f64 = nails.windows(2).map(|w| w[0].distance(&w[1])).sum();
    let least = ONE_PLACE * whole;
    match nails.windows(2).position(|w| w[0].distance(&w[1]) <= least) {
        Some(i) => Err(BattenError::OnePlace { nail: i + 1 }),
        None => Ok(()),
    }
}

/// A stretch from nail to nail, in the nails' unit.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Stretch {
    start: (f64, f64),
    angle: f64,
    curvature: f64,
    /// κ′ at its start.
    rate: f64,
    length: f64,
}

/// The state of an elastica at a length, from its start.
#[derive(Clone, Copy, Debug, Default)]
struct State {
    x: f64,
    y: f64,
    angle: f64,
    curvature: f64,
    rate: f64,
}

impl State {
    fn add(&self, by: f64, d: &State) -> State {
        State {
            x: self.x + by * d.x,
            y: self.y + by * d.y,
            angle: self.angle + by * d.angle,
            curvature: self.curvature + by * d.curvature,
            rate: self.rate + by * d.rate,
        }
    }

    /// Its derivative along the length.
    fn slope(&self) -> State {
        let (y, x) = self.angle.sin_cos();
        State { x, y, angle: self.curvature, curvature: self.rate, rate: -0.5 * self.curvature.powi(3) }
    }

    /// The derivative of a small change `d` of it.
    fn slope_of(&self, d: &State) -> State {
        let (sin, cos) = self.angle.sin_cos();
        State {
            x: -sin * d.angle,
            y: cos * d.angle,
            angle: d.curvature,
            curvature: d.rate,
            rate: -1.5 * self.curvature * self.curvature * d.curvature,
        }
    }
}

/// Runge and Kutta's fourth-order step for a state and two small changes of it.
fn step(now: [State; 3], h: f64) -> [State; 3] {
    let slopes = |s: &[State; 3]| [s[0].slope(), s[0].slope_of(&s[1]), s[0].slope_of(&s[2])];
    let ahead = |by: f64, d: &[State; 3]| [0, 1, 2].map(|i| now[i].add(by, &d[i]));
    let a = slopes(&now);
    let b = slopes(&ahead(h / 2.0, &a));
    let c = slopes(&ahead(h / 2.0, &b));
    let d = slopes(&ahead(h, &c));
    [0, 1, 2].map(|i| now[i].add(h / 6.0, &a[i]).add(h / 3.0, &b[i]).add(h / 3.0, &c[i]).add(h / 6.0, &d[i]))
}

fn flow(start: State, length: f64) -> [State; 3] {
    let mut now =
        [start, State { curvature: 1.0, ..State::default() }, State { rate: 1.0, ..State::default() }];
    let h = length / STEPS as f64;
    (0..STEPS).for_each(|_| now = step(now, h));
    now
}

impl Stretch {
    fn flow(&self, along: f64) -> State {
        let start =
            State { angle: self.angle, curvature: self.curvature, rate: self.rate, ..State::default() };
        flow(start, along)[0]
    }
}

/// An elastica over a chord of length 1, from its angles with the chord at either end.
#[derive(Clone, Copy, Debug)]
struct Span {
    /// Curvature at its start, its rate there, and curvature at its end.
    k0: f64,
    rate: f64,
    k1: f64,
    length: f64,
    /// Derivatives of `k0` and `k1` by the two angles.
    by_angles: [[f64; 2]; 2],
}

impl Span {
    /// `None` where there is no elastica of less than half a turn.
    fn new(a: f64, b: f64) -> Option<Span> {
        // Newton from the cubic's shape; where that is too far off, by way of smaller angles.
        let mut parts = 1;
        while parts <= 8 {
            let mut shape = Span::cubic(a / parts as f64, b / parts as f64);
            let found = (1..=parts).try_fold(None, |_, i| {
                let part = i as f64 / parts as f64;
                let span = Span::near(part * a, part * b, shape)?;
                shape = [span.k0, span.rate, span.length];
                Some(Some(span))
            });
            match found.flatten() {
                Some(span) => return (span.length < LONGEST_SPAN).then_some(span),
                None => parts *= 2,
            }
        }
        None
    }

    /// Curvature, its rate and the length of the cubic y(x) with these slopes.
    fn cubic(a: f64, b: f64) -> [f64; 3] {
        [-4.0 * a - 2.0 * b, 6.0 * (a + b), 1.0 + (2.0 * a * a - a * b + 2.0 * b * b) / 30.0]
    }

    fn near(a: f64, b: f64, shape: [f64; 3]) -> Option<Span> {
        let mut shape = shape;
        for _ in 0..SPAN_STEPS {
            let [k0, rate, length] = shape;
            if !(0.5..3.0 * LONGEST_SPAN).contains(&length) {
                return None;
            }
            let ends = flow(State { angle: a, curvature: k0, rate, ..State::default() }, length);
            let [end, by_k0, by_rate] = ends;
            let along = end.slope();
            let off = [end.angle - b, end.x - 1.0, end.y];
            let columns = [by_k0, by_rate, along].map(|d| [d.angle, d.x, d.y]);
            let moved = solve3(columns, off)?;
            (0..3).for_each(|i| shape[i] -= moved[i]);
            if moved.iter().all(|v| v.abs() < LAST_STEP) {
                let k1 =
                    |d: [f64; 3]| d[0] * by_k0.curvature + d[1] * by_rate.curvature + d[2] * along.curvature;
                // More angle at the start turns the whole; more at the end asks for as much more turn.
                let [by_a, by_b] = [[-1.0, end.y, -end.x], [1.0, 0.0, 0.0]];
                let (by_a, by_b) = (solve3(columns, by_a)?, solve3(columns, by_b)?);
                return Some(Span {
                    k0: shape[0],
                    rate: shape[1],
                    k1: end.curvature - k1(moved),
                    length: shape[2],
                    by_angles: [[by_a[0], by_b[0]], [k1(by_a), k1(by_b)]],
                });
            }
        }
        None
    }

    /// ∫κ² ds: the part of its force along its chord.
    fn energy(&self, a: f64) -> f64 {
        self.k0 * self.k0 * a.cos() - 2.0 * self.rate * a.sin()
    }
}

/// x with x₀ c₀ + x₁ c₁ + x₂ c₂ = b (Cramer).
fn solve3(c: [[f64; 3]; 3], b: [f64; 3]) -> Option<[f64; 3]> {
    let det = |p: [f64; 3], q: [f64; 3], r: [f64; 3]| {
        p[0] * (q[1] * r[2] - q[2] * r[1]) - p[1] * (q[0] * r[2] - q[2] * r[0])
            + p[2] * (q[0] * r[1] - q[1] * r[0])
    };
    let whole = det(c[0], c[1], c[2]);
    let x = [det(b, c[1], c[2]), det(c[0], b, c[2]), det(c[0], c[1], b)].map(|d| d / whole);
    x.iter().all(|v| v.is_finite()).then_some(x)
}

/// From spot to spot.
#[derive(Clone, Copy, Debug)]
struct Chord {
    length: f64,
    angle: f64,
}

impl Chord {
    fn new(a: (f64, f64), b: (f64, f64)) -> Chord {
        let (dx, dy) = (b.0 - a.0, b.1 - a.1);
        Chord { length: dx.hypot(dy), angle: dy.atan2(dx) }
    }
}

/// The angle between -π and π.
fn turned(angle: f64) -> f64 {
    let whole = std::f64::consts::TAU;
    angle - whole * (angle / whole).round()
}

/// A batten not yet at rest.
#[derive(Clone, Debug)]
struct Bent<'a> {
    nails: &'a [Nail],
    /// Directions in which nails are left, unit.
    aims: Vec<(f64, f64)>,
    /// Its angle at each nail, and how far it leaves it: what is sought.
    angles: Vec<f64>,
    off: Vec<f64>,
}

/// Energy, its gradient and its second derivatives by (angle, off) of nail after nail.
struct Slopes {
    energy: f64,
    gradient: Vec<f64>,
    /// Rows of all unknowns.
    hessian: Vec<f64>,
}

impl<'a> Bent<'a> {
    /// The angles of circles through three neighbours.
    fn new(nails: &'a [Nail]) -> Result<Bent<'a>, BattenError> {
        let spots: Vec<(f64, f64)> = nails.iter().map(|n| (n.x, n.y)).collect();
        let chords: Vec<Chord> = spots.windows(2).map(|w| Chord::new(w[0], w[1])).collect();
        let last = chords.len() - 1;
        let mut angles = vec![0.0; nails.len()];
        for i in 0..last {
            let (a, b) = (chords[i], chords[i + 1]);
            angles[i + 1] = a.angle + turned(b.angle - a.angle) * a.length / (a.length + b.length);
        }
        // As far on the other side of the chord; free ends turn half as much.
        angles[0] = chords[0].angle;
        angles[last + 1] = chords[last].angle;
        if last > 0 {
            angles[0] -= 0.5 * turned(angles[1] - chords[0].angle);
            angles[last + 1] -= 0.5 * turned(angles[last] - chords[last].angle);
        }
        let mut bent = Bent { nails, aims: Vec::new(), angles, off: vec![0.0; nails.len()] };
        bent.aim();
        match (0..=last).find(|&i| bent.span(i, &chords[i]).is_none()) {
            Some(i) => Err(BattenError::Springs { nail: i + 1 }),
            None => Ok(bent),
        }
    }

    fn aim(&mut self) {
        self.aims = self.angles.iter().map(|a| (-a.sin(), a.cos())).collect();
    }

    fn spots(&self) -> Vec<(f64, f64)> {
        let spot = |((n, aim), off): ((&Nail, &(f64, f64)), &f64)| (n.x + off * aim.0, n.y + off * aim.1);
        self.nails.iter().zip(&self.aims).zip(&self.off).map(spot).collect()
    }

    fn ends(&self, i: usize, chord: &Chord) -> (f64, f64) {
        (turned(self.angles[i] - chord.angle), turned(self.angles[i + 1] - chord.angle))
    }

    fn span(&self, i: usize, chord: &Chord) -> Option<Span> {
        let (a, b) = self.ends(i, chord);
        Span::new(a, b)
    }

    fn energy(&self) -> f64 {
        let spots = self.spots();
        let energy = |i: usize| {
            let chord = Chord::new(spots[i], spots[i + 1]);
            self.span(i, &chord).map_or(f64::INFINITY, |s| s.energy(self.ends(i, &chord).0) / chord.length)
        };
        (0..spots.len() - 1).map(energy).sum()
    }

    /// What leaving the nails costs.
    fn far(&self) -> f64 {
        let share =
            |(n, off): (&Nail, &f64)| if n.tolerance > 0.0 { (off / n.tolerance).powi(2) } else { 0.0 };
        NEARER * self.nails.iter().zip(&self.off).map(share).sum::<f64>()
    }

    fn slopes(&self) -> Option<Slopes> {
        let n = 2 * self.nails.len();
        let (mut gradient, mut hessian, mut energy) = (vec![0.0; n], vec![0.0; n * n], self.far());
        let spots = self.spots();
        for i in 0..self.nails.len() - 1 {
            let chord = Chord::new(spots[i], spots[i + 1]);
            let c = chord.length;
            let (a, b) = self.ends(i, &chord);
            let span = Span::new(a, b)?;
            let (sin, cos) = chord.angle.sin_cos();
            let (along, across) = ((cos, sin), (-sin, cos));
            let dot = |p: (f64, f64), q: (f64, f64)| p.0 * q.0 + p.1 * q.1;
            // The force in the chord's own directions: what the energy is, and what the moments ask for.
            let (pull, push) = (span.energy(a), 2.0 * (span.k1 - span.k0));
            energy += pull / c;
            let [aim0, aim1] = [self.aims[i], self.aims[i + 1]];
            let (u, w) = ([dot(aim0, along), dot(aim1, along)], [dot(aim0, across), dot(aim1, across)]);
            let force = |e: usize| (pull * u[e] + push * w[e]) / (c * c);
            let own = [-2.0 * span.k0 / c, force(0), 2.0 * span.k1 / c, -force(1)];
            // How (angle, off, next angle, next off) change the span's two angles and its chord.
            let turn = [0.0, -w[0] / c, 0.0, w[1] / c];
            let by_a = [1.0, 0.0, 0.0, 0.0];
            let by_b = [0.0, 0.0, 1.0, 0.0];
            let longer = [0.0, -u[0], 0.0, u[1]];
            for col in 0..4 {
                let (da, db) = (by_a[col] - turn[col], by_b[col] - turn[col]);
                let dk0 = span.by_angles[0][0] * da + span.by_angles[0][1] * db;
                let dk1 = span.by_angles[1][0] * da + span.by_angles[1][1] * db;
                let dc = longer[col] / c;
                let (dpull, dpush) = (-2.0 * span.k0 * da + 2.0 * span.k1 * db, 2.0 * (dk1 - dk0));
                let dforce = |e: usize| {
                    let turning = turn[col] * (pull * w[e] - push * u[e]);
                    (dpull * u[e] + dpush * w[e] + turning) / (c * c) - 2.0 * dc * force(e)
                };
                let column =
                    [-2.0 * (dk0 - span.k0 * dc) / c, dforce(0), 2.0 * (dk1 - span.k1 * dc) / c, -dforce(1)];
                (0..4).for_each(|row| hessian[(2 * i + row) * n + 2 * i + col] += column[row]);
            }
            (0..4).for_each(|row| gradient[2 * i + row] += own[row]);
        }
        for (i, (nail, off)) in
            self.nails.iter().zip(&self.off).enumerate().filter(|(_, (n, _))| n.tolerance > 0.0)
        {
            let bend = 2.0 * NEARER / (nail.tolerance * nail.tolerance);
            gradient[2 * i + 1] += bend * off;
            hessian[(2 * i + 1) * (n + 1)] += bend;
        }
        Some(Slopes { energy, gradient, hessian })
    }

    /// Unknowns that are free to move: not held by a nail, or by the end of its tolerance.
    fn free(&self, gradient: &[f64]) -> Vec<usize> {
        let moves = |&k: &usize| {
            let (i, off) = (k / 2, self.off[k / 2]);
            let limit = self.nails[i].tolerance;
            k % 2 == 0
                || (limit > 0.0
                    && !(off >= limit && gradient[k] < 0.0)
                    && !(off <= -limit && gradient[k] > 0.0))
        };
        (0..gradient.len()).filter(moves).collect()
    }

    fn moved(&self, free: &[usize], by: &[f64], part: f64) -> Bent<'a> {
        let mut next = self.clone();
        for (&k, d) in free.iter().zip(by) {
            if k % 2 == 0 {
                next.angles[k / 2] += part * d;
            } else {
                let limit = self.nails[k / 2].tolerance;
                next.off[k / 2] = (next.off[k / 2] + part * d).clamp(-limit, limit);
            }
        }
        next
    }

    fn settled(mut self) -> Result<Bent<'a>, BattenError> {
        let leaves = self.nails.iter().any(|n| n.tolerance > 0.0);
        for _ in 0..if leaves { AIMS } else { 1 } {
            self.aim();
            self = self.at_rest()?;
        }
        Ok(self)
    }

    /// Newton's method, shortened until the energy falls.
    fn at_rest(mut self) -> Result<Bent<'a>, BattenError> {
        for _ in 0..MOST_STEPS {
            let slopes = self.slopes().ok_or(BattenError::Restless)?;
            let free = self.free(&slopes.gradient);
            let by = newton(&slopes, &free).ok_or(BattenError::Restless)?;
            let fall: f64 = -free.iter().zip(&by).map(|(&k, d)| slopes.gradient[k] * d).sum::<f64>();
            if fall <= LOST_IN_ROUNDING * slopes.energy {
                return Ok(self.moved(&free, &by, 1.0));
            }
            let shorter = std::iter::successors(Some(1.0), |part| Some(0.5 * part)).take(HALVINGS);
            let lower = |part: f64| {
                let next = self.moved(&free, &by, part);
                (next.energy() + next.far() <= slopes.energy - ENOUGH * part * fall).then_some(next)
            };
            self = shorter.into_iter().find_map(lower).ok_or(BattenError::Restless)?;
        }
        Err(BattenError::Restless)
    }
}

/// Newton's step of the unknowns `free`: where the energy is no bowl, with as much added to it as makes one.
fn newton(slopes: &Slopes, free: &[usize]) -> Option<Vec<f64>> {
    let n = slopes.gradient.len();
    let m = free.len();
    let mut k: Vec<f64> =
        free.iter().flat_map(|&i| free.iter().map(move |&j| slopes.hessian[i * n + j])).collect();
    let down: Vec<f64> = free.iter().map(|&i| -slopes.gradient[i]).collect();
    let mean = (0..m).map(|i| k[i * (m + 1)].abs()).sum::<f64>() / m as f64;
    let mut added = 1e-3 * mean;
    for _ in 0..20 {
        if let Some(solved) = Solved::new(&k, m) {
            let by = solved.times(&down);
            if by.iter().all(|d| d.is_finite()) {
                return Some(by);
            }
        }
        k.iter_mut().step_by(m + 1).for_each(|d| *d += added);
        added *= 4.0;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn nails(points: &[(f64, f64)]) -> Vec<Nail> {
        points.iter().map(|&(x, y)| Nail { x, y, tolerance: 0.0 }).collect()
    }

    #[test]
    fn a_batten_on_three_supports_bends_as_the_beam_does() {
        // A beam on two supports pushed up by d midway: y = d (3 x/l - 4 (x/l)³) up to the middle, 3d/l at its
        // ends, bending moment 12 d EI / l² in the middle (Timoshenko, Strength of Materials, from memory).
        let (l, d) = (2.0, 1e-4);
        let bent = batten(&nails(&[(0.0, 0.0), (1.0, d), (2.0, 0.0)])).expect("a batten");
        for i in 0..=50 {
            let x = i as f64 / 50.0;
            let (y, _) = bent.height(x);
            assert!((y - d * (3.0 * x / l - 4.0 * (x / l).powi(3))).abs() < 1e-7 * d, "{x}");
        }
        assert!((bent.at(0.0).angle - 3.0 * d / l).abs() < 1e-7 * d);
        assert!((bent.at(bent.girths[1]).curvature + 12.0 * d / (l * l)).abs() < 1e-7 * d);
        assert!(bent.at(0.0).curvature.abs() < 1e-12 && bent.at(bent.length()).curvature.abs() < 1e-12);
    }

    /// The elastica whose force is square to its ends: over x from 0 to 1 out from the line of force it lies
    /// at ∫x²/√(1 - x⁴) dx along that line, of length ∫1/√(1 - x⁴) dx, with curvature 2x.
    fn rectangular(t: f64) -> ((f64, f64), f64) {
        // x = sin(u): both integrands are then smooth to the end.
        let (n, top) = (2000, t.asin());
        let h = top / n as f64;
        let simpson = |f: &dyn Fn(f64) -> f64| {
            let sum: f64 = (0..=n)
                .map(|i| f(i as f64 * h) * [2.0, 4.0][i % 2] / if i % n == 0 { 2.0 } else { 1.0 })
                .sum();
            sum * h / 3.0
        };
        let along = simpson(&|u: f64| u.sin().powi(2) / (1.0 + u.sin().powi(2)).sqrt());
        let length = simpson(&|u: f64| 1.0 / (1.0 + u.sin().powi(2)).sqrt());
        ((t, along), length)
    }

    #[test]
    fn a_batten_nailed_along_the_rectangular_elastica_is_that() {
        // Euler 1744, Bernoulli 1694: the lemniscate's constants 1.3110287771 and 0.5990701173 (from memory).
        let ((_, half), quarter) = rectangular(1.0);
        assert!((half - 0.599_070_117_3).abs() < 1e-9 && (quarter - 1.311_028_777_1).abs() < 1e-9);
        // From one end round to the other: it turns through 180 degrees over five nails.
        let right: Vec<(f64, f64)> = [0.0, 0.7].iter().map(|&t| rectangular(t).0).collect();
        let mut all = vec![(right[0].1 - half, right[0].0), (right[1].1 - half, right[1].0), (0.0, 1.0)];
        all.extend([all[1], all[0]].map(|(x, y)| (-x, y)));
        let bent = batten(&nails(&all)).expect("a batten");
        assert!((bent.length() - 2.0 * quarter).abs() < 1e-7, "{}", bent.length());
        assert!((bent.energy - 8.0 * half).abs() < 1e-6, "{}", bent.energy);
        for i in 0..=200 {
            let here = bent.at(bent.length() * i as f64 / 200.0);
            let (x, y) = here.point;
            assert!((here.curvature + 2.0 * y).abs() < 1e-6, "{i}: {here:?}");
            let (expected, _) = rectangular(y.clamp(0.0, 1.0));
            // Square to it: near its ends and near its middle one of the two runs along the other.
            let off = ((half - expected.1) - x.abs()) * (1.0 - y.powi(4)).max(0.0).sqrt();
            assert!(off.abs() < 1e-6, "{i}: {off}");
        }
    }

    #[test]
    fn a_batten_round_nails_on_a_circle_nears_it_by_the_fourth_power_of_their_distance() {
        // Away from its free ends: a cubic spline's order (de Boor, A Practical Guide to Splines, chapter V).
        let worst = |n: usize| {
            let at = |i: usize| 0.5 * std::f64::consts::PI * i as f64 / n as f64;
            let bent = batten(&nails(&(0..=n).map(|i| (at(i).sin(), at(i).cos())).collect::<Vec<_>>()))
                .expect("a batten");
            (0..=100)
                .map(|i| bent.at(bent.length() * (0.45 + 0.1 * i as f64 / 100.0)))
                .map(|here| (here.point.0.hypot(here.point.1) - 1.0).abs())
                .fold(0.0, f64::max)
        };
        let (coarse, fine) = (worst(24), worst(48));
        assert!(fine < 2e-8, "{fine}");
        assert!((coarse / fine).log2() > 3.8, "{coarse} {fine}");
    }

    #[test]
    fn a_straight_row_of_nails_bends_no_batten() {
        let bent = batten(&nails(&[(0.0, 0.3), (0.7, 0.3), (2.9, 0.3), (5.0, 0.3)])).expect("a batten");
        assert_eq!(bent.energy, 0.0);
        assert!((0..=40).all(|i| bent.at(i as f64 / 8.0).point.1 == 0.3));
    }

    #[test]
    fn a_batten_free_to_leave_its_nails_lies_straight_between_them_where_it_can() {
        let off = [0.4, -0.8, 0.6, -0.5, 0.3, -0.1];
        let row: Vec<Nail> = (0..6)
            .map(|i| Nail { x: i as f64, y: 0.1 * i as f64 + 1e-3 * off[i], tolerance: 1e-3 })
            .collect();
        let bent = batten(&row).expect("a batten");
        assert!(bent.energy < 1e-16, "{}", bent.energy);
        // The line of least squares lies within every tolerance, so it is that (from its normal equations).
        let mean = off.iter().sum::<f64>() / 6.0;
        let slope = (0..6).map(|i| (i as f64 - 2.5) * off[i]).sum::<f64>() / 17.5;
        for i in 0..6 {
            let expected = 0.1 * i as f64 + 1e-3 * (mean + slope * (i as f64 - 2.5));
            assert!((bent.height(i as f64).0 - expected).abs() < 1e-5, "{i}");
        }
    }

    #[test]
    fn a_batten_leaves_no_nail_farther_than_it_may_and_no_nail_pulls_it() {
        let row: Vec<Nail> = (0..9)
            .map(|i| {
                let x = i as f64;
                Nail {
                    x,
                    y: 0.8 * (0.5 * x).sin() + [0.02, -0.03, 0.01][i % 3],
                    tolerance: [0.02, 0.0, 0.01][i % 3],
                }
            })
            .collect();
        let bent = batten(&row).expect("a batten");
        let tight = batten(&nails(&row.iter().map(|n| (n.x, n.y)).collect::<Vec<_>>())).expect("a batten");
        assert!(bent.energy < 0.9 * tight.energy, "{} {}", bent.energy, tight.energy);
        for (i, nail) in row.iter().enumerate() {
            let here = bent.at(bent.girths[i]);
            let gap = (here.point.0 - nail.x).hypot(here.point.1 - nail.y);
            assert!(gap <= nail.tolerance + 1e-9 && (gap - bent.off[i].abs()).abs() < 1e-9);
            // A nail is a peg on one side: the jump of the shearing force pushes the batten off it, and is
            // nothing where the batten lies clear (Karush, Kuhn and Tucker).
            if nail.tolerance > 0.0 && i > 0 && i < 8 {
                let rate = |s: f64| (bent.at(s + 1e-5).curvature - bent.at(s - 1e-5).curvature) / 2e-5;
                let jump = rate(bent.girths[i] + 2e-5) - rate(bent.girths[i] - 2e-5);
                if bent.off[i].abs() < nail.tolerance * (1.0 - 1e-6) {
                    assert!(jump.abs() < 1e-4, "nail {i}: {jump}");
                } else {
                    assert!(jump * bent.off[i] < 1e-6, "nail {i}: {jump} {}", bent.off[i]);
                }
            }
        }
    }

    #[test]
    fn the_slopes_of_the_energy_agree_with_differences() {
        let row: Vec<Nail> = [(0.0, 0.0), (0.9, 0.4), (1.7, -0.1), (2.9, 0.3)]
            .iter()
            .map(|&(x, y)| Nail { x, y, tolerance: 0.3 })
            .collect();
        let mut bent = Bent::new(&row).expect("a start");
        bent.angles = vec![0.7, 0.1, -0.3, 0.6];
        bent.off = vec![0.05, -0.1, 0.08, 0.02];
        let (slopes, h) = (bent.slopes().expect("slopes"), 1e-5);
        let all: Vec<usize> = (0..8).collect();
        for k in 0..8 {
            let mut by = [0.0; 8];
            by[k] = h;
            let (up, down) = (bent.moved(&all, &by, 1.0), bent.moved(&all, &by, -1.0));
            let (a, b) = (up.slopes().expect("slopes"), down.slopes().expect("slopes"));
            let expected = (a.energy - b.energy) / (2.0 * h);
            assert!((slopes.gradient[k] - expected).abs() < 1e-5, "{k}: {} {expected}", slopes.gradient[k]);
            for j in 0..8 {
                let expected = (a.gradient[j] - b.gradient[j]) / (2.0 * h);
                let found = slopes.hessian[j * 8 + k];
                assert!((found - expected).abs() < 1e-4, "{j} {k}: {found} {expected}");
            }
        }
    }

    #[test]
    fn what_no_batten_does_is_said() {
        assert_eq!(batten(&nails(&[(0.0, 0.0)])), Err(BattenError::Count(1)));
        let twice = nails(&[(0.0, 0.0), (1.0, 0.0), (1.0, 0.0)]);
        assert_eq!(batten(&twice), Err(BattenError::OnePlace { nail: 2 }));
        let wrong = [Nail::default(), Nail { x: 1.0, y: f64::NAN, tolerance: 0.0 }];
        assert_eq!(batten(&wrong), Err(BattenError::NoNumber { nail: 2 }));
        // Doubled back on itself.
        let back = nails(&[(0.0, 0.0), (1.0, 0.0), (0.0, 1e-3), (1.0, 2e-3)]);
        assert!(matches!(batten(&back), Err(BattenError::Springs { .. } | BattenError::Restless)));
    }
}
