//! Hulls in closed form whose lines are quick somewhere: keels turned up quickly to the transom, hollow wineglass
//! sterns, ellipse sections in whole millimetres without buttocks, double-enders with stations 2 ft apart, and
//! small rowing boats. All are invented; proportions vary with a seed.

use scrieve_fairing::Faired;
use scrieve_notation::Mark;
use scrieve_offsets::{Axis, Block, CellId, LineReading, ProfileSpot, RefLine, Spot, Survey, TransomPlane};

const EIGHTH: f64 = 0.0254 / 8.0;

/// Marsaglia, "Xorshift RNGs", J. Stat. Software 8 (2003).
pub struct Random(pub u64);

impl Random {
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        for by in [13, -7, 17] {
            self.0 ^= if by > 0 { self.0 << by } else { self.0 >> -by };
        }
        low + (high - low) * (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kind {
    TurnedUp,
    Wineglass,
    Ellipse,
    DoubleEnder,
    RowingBoat,
}

/// A hull: y = r + (b(x) - r) q(τ, x), τ the height between rabbet and sheer.
pub struct Hull {
    kind: Kind,
    length: f64,
    beam: f64,
    depth: f64,
    half_siding: f64,
    /// Where the keel begins to turn up, as a part of the length; how high, as a part of the depth; how quickly.
    turn: (f64, f64, f64),
    sheer: f64,
    full: (f64, f64),
    stem: f64,
    rake: f64,
    stations: Vec<f64>,
    waterlines: Vec<f64>,
    buttocks: Vec<f64>,
    place: f64,
}

impl Hull {
    pub fn new(kind: Kind, seed: u64, stations: usize) -> Self {
        let mut r = Random(0x9e37_79b9_7f4a_7c15 ^ (seed + 1).wrapping_mul(0x2545_f491_4f6c_dd1d));
        (0..20).for_each(|_| _ = r.between(0.0, 1.0));
        let length = match kind {
            Kind::TurnedUp => r.between(4.2, 7.5),
            Kind::Wineglass => r.between(9.0, 12.5),
            Kind::Ellipse => r.between(5.0, 7.0),
            Kind::DoubleEnder => r.between(7.5, 8.5),
            Kind::RowingBoat => r.between(3.2, 4.4),
        };
        let beam = length * r.between(0.14, 0.18);
        let depth = beam * if kind == Kind::Wineglass { r.between(1.2, 1.5) } else { r.between(0.75, 0.95) };
        let sharp = matches!(kind, Kind::Ellipse | Kind::DoubleEnder);
        let turn = match kind {
            Kind::TurnedUp => (r.between(0.55, 0.75), r.between(0.35, 0.6), r.between(2.0, 3.0)),
            Kind::Wineglass => (r.between(0.55, 0.7), r.between(0.45, 0.6), r.between(2.5, 3.5)),
            Kind::RowingBoat => (r.between(0.5, 0.7), r.between(0.2, 0.4), r.between(2.0, 2.6)),
            _ => (1.0, 0.0, 2.0),
        };
        let stem = length * if sharp { r.between(0.05, 0.09) } else { r.between(0.02, 0.06) };
        let place = if kind == Kind::Ellipse { 1e-3 } else { EIGHTH };
        let mut hull = Hull {
            kind,
            length,
            beam,
            depth,
            half_siding: 0.02 + 0.002 * (r.between(0.0, 10.0)).floor(),
            turn,
            sheer: r.between(0.25, 0.45),
            full: (r.between(1.25, 1.7), r.between(2.4, 4.0)),
            stem,
            rake: if sharp { 0.0 } else { r.between(0.05, 0.3) },
            stations: Vec::new(),
            waterlines: Vec::new(),
            buttocks: Vec::new(),
            place,
        };
        let count = if kind == Kind::DoubleEnder { (length / 0.6096) as usize - 1 } else { stations };
        let (first, last) = (
            hull.stem * 1.25 + 0.03 * length,
            if sharp { length - hull.stem * 1.25 - 0.03 * length } else { 0.97 * length - 0.08 * length },
        );
        hull.stations = (0..count)
            .map(|i| {
                if kind == Kind::DoubleEnder {
                    0.6096 * (i + 1) as f64
                } else {
                    hull.round(first + (last - first) * i as f64 / (count - 1) as f64)
                }
            })
            .filter(|&x| kind != Kind::DoubleEnder || x > hull.stem && x < length - hull.stem)
            .collect();
        let n = if kind == Kind::RowingBoat { 4 } else { 5 };
        hull.waterlines = (1..=n).map(|i| hull.round(1.1 * depth * i as f64 / (n as f64 + 0.5))).collect();
        if kind != Kind::Ellipse {
            hull.buttocks = [0.25, 0.5, 0.75].iter().map(|p| hull.round(p * beam)).collect();
        }
        hull
    }

    fn round(&self, m: f64) -> f64 {
        (m / self.place).round() * self.place
    }

    fn keel(&self, x: f64) -> f64 {
        let t = ((x / self.length - self.turn.0) / (1.0 - self.turn.0)).max(0.0);
        self.turn.1 * self.depth * t.powf(self.turn.2)
    }

    fn sheer_z(&self, x: f64) -> f64 {
        let t = x / self.length - if self.sharp() { 0.5 } else { 0.55 };
        self.depth * (1.0 + self.sheer * 2.0 * t * t)
    }

    fn sharp(&self) -> bool {
        matches!(self.kind, Kind::Ellipse | Kind::DoubleEnder)
    }

    /// x of the stem at height z: straight raked, or a quarter ellipse run into the keel.
    fn stem_x(&self, z: f64) -> f64 {
        let head = self.sheer_z(0.0);
        let s = ((head - z) / head).clamp(0.0, 1.0);
        match self.kind {
            Kind::DoubleEnder => self.stem * (1.0 - (1.0 - s * s).max(0.0).sqrt()) * 1.2,
            Kind::Ellipse => self.stem * s * s,
            _ => self.stem * (0.6 * s + 0.4 * s * s),
        }
    }

    fn stem_foot(&self) -> f64 {
        self.stem_x(0.0)
    }

    fn rabbet(&self, x: f64) -> f64 {
        let x = if self.sharp() { x.min(self.length - x) } else { x };
        if x >= self.stem_foot() {
            return self.keel(x);
        }
        let (mut low, mut high) = (0.0, self.sheer_z(0.0));
        for _ in 0..60 {
            let mid = 0.5 * (low + high);
            if self.stem_x(mid) > x { low = mid } else { high = mid }
        }
        0.5 * (low + high)
    }

    /// Half-breadth at x, z.
    fn y(&self, x: f64, z: f64) -> f64 {
        let fore = self.stem_x(z);
        let aft = if self.sharp() { self.length - fore } else { self.length };
        let xi = ((x - fore) / (aft - fore)).clamp(0.0, 1.2);
        let plan = if self.sharp() {
            4.0 * xi * (1.0 - xi)
        } else {
            // Quadratic to amidships, and in a little to the transom.
            let m = 0.55;
            let t = (xi - m) / m;
            if xi < m { 1.0 - t * t } else { 1.0 - 0.35 * ((xi - m) / (1.0 - m)).powi(2) }
        };
        let (k, s) = (
            if self.sharp() { 0.0 } else { self.keel(x) },
            if self.sharp() { self.sheer_z(x.min(self.length - x)) } else { self.sheer_z(x) },
        );
        let tau = ((z - k) / (s - k)).clamp(0.0, 1.0);
        let u = x / self.length;
        let q = match self.kind {
            Kind::Ellipse => (1.0 - (1.0 - tau) * (1.0 - tau)).max(0.0).sqrt(),
            Kind::Wineglass => {
                let hollow = 1.0 / (1.0 + (-(u - 0.72) * 14.0).exp());
                let round = 1.0 - (1.0 - tau * 0.9).powf(2.2);
                let round = round / (1.0 - 0.1f64.powf(2.2));
                let hollow_q = tau * tau * (3.0 - 2.0 * tau) * 0.75 + 0.25 * tau;
                (1.0 - 0.85 * hollow) * round + 0.85 * hollow * hollow_q
            }
            _ => {
                let n = self.full.0 + (self.full.1 - self.full.0) * (-((u - 0.55) / 0.33).powi(2)).exp();
                (1.0 - (1.0 - 0.85 * tau).powf(n)) / (1.0 - 0.15f64.powf(n))
            }
        };
        self.half_siding + (self.beam - self.half_siding) * plan * q
    }

    fn sheer_height(&self, x: f64) -> f64 {
        if self.sharp() { self.sheer_z(x.min(self.length - x)) } else { self.sheer_z(x) }
    }

    fn transom(&self) -> Option<TransomPlane> {
        let rise = 0.9 * (self.sheer_z(self.length) - self.keel(self.length));
        let foot = (self.round(self.length * 0.97), self.round(self.keel(self.length * 0.97)));
        (!self.sharp()).then(|| TransomPlane {
            foot,
            head: (self.round(foot.0 + self.rake * rise * 0.3), self.round(foot.1 + rise)),
            curve_radius: None,
        })
    }

    pub fn survey(&self) -> Survey {
        let (sd, tolerance) = (self.place / 12f64.sqrt(), 0.5 * self.place);
        let mut survey =
            Survey { half_siding: self.half_siding, transom: self.transom(), ..Survey::default() };
        survey.stations = self.stations.clone();
        survey.stations.extend(survey.transom.map(|t| t.foot.0));
        let plane = |column: usize, z: f64| match survey.transom {
            Some(t) if column + 1 == survey.stations.len() => (t.x(0.0, z), true),
            _ => (survey.stations[column], false),
        };
        let root = |mut low: f64, mut high: f64, f: &dyn Fn(f64) -> f64| {
            let up = f(high) > f(low);
            for _ in 0..60 {
                let mid = 0.5 * (low + high);
                if (f(mid) < 0.0) == up { low = mid } else { high = mid }
            }
            0.5 * (low + high)
        };
        let (mut lines, mut spots) = (Vec::new(), Vec::new());
        for column in 0..survey.stations.len() {
            let on_transom = plane(column, 0.0).1;
            let crossing = |line: &dyn Fn(f64) -> f64| {
                root(-1.0, 2.0 * self.depth + 1.0, &|z| z - line(plane(column, z).0))
            };
            let k = crossing(&|x| self.rabbet(x));
            let s = crossing(&|x| self.sheer_height(x));
            let heights = [(RefLine::Rabbet, Axis::Height, k, 0), (RefLine::Sheer, Axis::Height, s, 1)];
            let breadth = (RefLine::Sheer, Axis::HalfBreadth, self.y(plane(column, s).0, s), 0);
            for (line, axis, value, row) in heights.into_iter().chain([breadth]) {
                let block = if axis == Axis::Height { Block::Heights } else { Block::HalfBreadths };
                let value = self.round(value);
                let x = plane(column, if axis == Axis::Height { value } else { s }).0;
                let cell = CellId { block, row, column };
                lines.push(LineReading {
                    line,
                    axis,
                    x,
                    value,
                    sd,
                    tolerance,
                    mark: Mark::Plain,
                    on_transom,
                    cell,
                });
            }
            let clear = 0.01 * self.depth;
            for (i, &z) in self.waterlines.iter().enumerate() {
                let x = plane(column, z).0;
                if z < k + clear || z > s - clear {
                    continue;
                }
                let y = self.round(self.y(x, z));
                let cell = CellId { block: Block::HalfBreadths, row: 1 + i, column };
                spots.push(Spot {
                    x,
                    y,
                    z,
                    along: (1.0, 0.0),
                    sd,
                    tolerance,
                    mark: Mark::Plain,
                    on_transom,
                    cell,
                });
            }
            for (i, &y) in self.buttocks.iter().enumerate() {
                if y > self.y(plane(column, s).0, s) - clear {
                    continue;
                }
                let z = self.round(root(k, s, &|z| self.y(plane(column, z).0, z) - y));
                let cell = CellId { block: Block::Heights, row: 2 + i, column };
                let x = plane(column, z).0;
                if z > k + clear && z < s - clear {
                    spots.push(Spot {
                        x,
                        y,
                        z,
                        along: (0.0, 1.0),
                        sd,
                        tolerance,
                        mark: Mark::Plain,
                        on_transom,
                        cell,
                    });
                }
            }
        }
        let head = self.sheer_z(0.0);
        let profile = |aft: bool| -> Vec<ProfileSpot> {
            (0..7)
                .map(|i| {
                    let f = i as f64 / 6.0;
                    let z = if self.kind == Kind::DoubleEnder {
                        head * (1.0 - (1.571 * f).sin())
                    } else {
                        head * (1.0 - f)
                    };
                    let x = self.stem_x(z);
                    let block = if aft { Block::SternProfile } else { Block::StemProfile };
                    ProfileSpot {
                        x: self.round(if aft { self.length - x } else { x }),
                        z: self.round(z),
                        sd,
                        tolerance,
                        mark: Mark::Plain,
                        cell: CellId { block, row: 1, column: i },
                    }
                })
                .collect()
        };
        (survey.lines, survey.spots, survey.stem) = (lines, spots, profile(false));
        if self.sharp() {
            survey.stern = profile(true);
        }
        survey
    }

    /// Distances of the surface from the hull, square to it, mm: rms and worst.
    pub fn off(&self, faired: &Faired) -> (f64, f64) {
        let (mut squares, mut count, mut worst) = (0.0, 0.0f64, 0.0f64);
        let (first, last) = (self.stations[0], self.stations[self.stations.len() - 1]);
        for i in 2..=58 {
            for j in 1..20 {
                let [x, y, z] = faired.surface.patches[0].point(f64::from(i) / 60.0, f64::from(j) / 20.0);
                let (k, s) = (self.rabbet(x), self.sheer_height(x));
                if x < first || x > last || z < k + 0.03 * (s - k) || z > s {
                    continue;
                }
                let h = 1e-4;
                let by = |dx: f64, dz: f64| (self.y(x + dx, z + dz) - self.y(x - dx, z - dz)) / (2.0 * h);
                let off = 1e3 * (y - self.y(x, z)) / by(h, 0.0).hypot(by(0.0, h)).hypot(1.0);
                squares += off * off;
                count += 1.0;
                worst = worst.max(off.abs());
            }
        }
        ((squares / count.max(1.0)).sqrt(), worst)
    }
}
