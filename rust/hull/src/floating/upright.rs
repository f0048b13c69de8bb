//! Upright figures at a draught, under their ITTC names (ITTC Symbols and Terminology List).

use super::body::{Body, Level, Panel, Span};
use super::{Area, FloatingError, Water, finite, positive};
use scrieve_surface::bernstein::{Quintic, Roots, derivative, dot, values};

/// Stations tried for the greatest section, before it is closed in on: a boat has one hump of sectional area.
const STATIONS: usize = 8;
/// Parabolas laid through the best three stations. Near its top the area goes with the square of the miss,
/// so a miss of a thousandth of the length is already a part in a million.
const PARABOLAS: usize = 3;
/// Newton steps, bracketed, for the draught of a volume, and the part of itself that volume is right to.
const LEVEL_STEPS: usize = 60;
const LEVEL_TOLERANCE: f64 = 1e-12;
/// Golden sections for the greatest breadth, within two nodes of it.
const GOLDEN: usize = 16;

/// Upright figures of the moulded canoe body, rabbet to water: no keel below the rabbet is counted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hydrostatics {
    /// Draught asked for, from the base line, m.
    pub draught: f64,
    /// Moulded draught T of the coefficients: from the lowest point of the body, m.
    pub moulded_draught: f64,
    /// Volume ∇, m³.
    pub volume: f64,
    /// Mass Δ = ρ∇, kg.
    pub mass: f64,
    /// Length on the waterline LWL, m.
    pub lwl: f64,
    /// x of its forward and after end, m.
    pub waterline_ends: [f64; 2],
    /// Greatest breadth on the waterline BWL, m.
    pub bwl: f64,
    /// Area of the waterplane AWP, m².
    pub awp: f64,
    /// Area of the greatest immersed section, m²: the ITTC's AX, which is AM where that section is amidships
    /// and which yachts' coefficients are made with (common practice).
    pub am: f64,
    /// x of that section, m.
    pub am_x: f64,
    /// Block coefficient ∇ / (LWL · BWL · T).
    pub cb: f64,
    /// Prismatic coefficient ∇ / (AM · LWL).
    pub cp: f64,
    /// Section coefficient AM / (BWL · T).
    pub cm: f64,
    /// Waterplane coefficient AWP / (LWL · BWL).
    pub cwp: f64,
    /// x of the centre of buoyancy LCB, m.
    pub lcb: f64,
    /// x of the centre of flotation LCF, m.
    pub lcf: f64,
    /// Height of the centre of buoyancy above the base line KB, m.
    pub kb: f64,
    /// Transverse metacentre above the centre of buoyancy BMT, m.
    pub bmt: f64,
    /// Longitudinal metacentre above the centre of buoyancy BML, m.
    pub bml: f64,
    /// Transverse metacentre above the base line, m.
    pub km: f64,
    /// Wetted surface S, m²: both sides, the flat strips between the rabbet lines along keel, stem and
    /// sternpost, and the transom.
    pub wetted_surface: f64,
    /// Profile under water: its area, m², and centre (x, z), m.
    pub lateral: Area,
    /// Mass that sinks her a millimetre bodily, kg/mm.
    pub immersion: f64,
    /// Moment that changes trim by a millimetre over LWL, kg m/mm, taking BML for GML.
    pub moment_to_trim: f64,
}

impl Body {
    /// Upright figures at `draught` metres above the base line.
    ///
    /// # Errors
    /// If she is dry there, or the water is not below her sheer everywhere.
    pub fn hydrostatics(&self, draught: f64, water: Water) -> Result<Hydrostatics, FloatingError> {
        finite("draught", draught)?;
        let density = positive("density of water", water.density)?;
        if draught <= self.lowest {
            return Err(FloatingError::Dry { draught, lowest: self.lowest });
        }
        if draught >= self.lowest_sheer {
            return Err(FloatingError::OverTheSheer { draught, sheer: self.lowest_sheer });
        }
        let level = Level::upright(draught);
        let wet = self.below(&level);
        let moulded_draught = draught - self.lowest;
        let (volume, awp) = (wet.volume, wet.area);
        let [fore, aft] = self.waterline_ends(&level);
        let (lwl, bwl) = (aft - fore, self.waterline_breadth(&level));
        let (am_x, am) = self.greatest_section(draught, [fore, aft]);
        // Levers along the plane run forward, from the origin.
        let lcf = -wet.lever / awp;
        let kb = wet.moment[2] / volume;
        let bmt = wet.inertia_across / volume;
        let bml = (wet.inertia_along - awp * lcf * lcf) / volume;
        let strips: f64 = self.strips(&level);
        Ok(Hydrostatics {
            draught,
            moulded_draught,
            volume,
            mass: density * volume,
            lwl,
            waterline_ends: [fore, aft],
            bwl,
            awp,
            am,
            am_x,
            cb: volume / (lwl * bwl * moulded_draught),
            cp: volume / (am * lwl),
            cm: am / (bwl * moulded_draught),
            cwp: awp / (lwl * bwl),
            lcb: wet.moment[0] / volume,
            lcf,
            kb,
            bmt,
            bml,
            km: kb + bmt,
            wetted_surface: wet.surface + strips,
            lateral: Area { area: wet.profile, centre: wet.profile_moment.map(|m| m / wet.profile) },
            immersion: 1e-3 * density * awp,
            moment_to_trim: 1e-3 * density * volume * bml / lwl,
        })
    }

    /// Height of level water above the base line at which she displaces `mass` kg, m.
    ///
    /// # Errors
    /// If the mass is not a number above 0, or the water comes over her sheer.
    pub fn level_draught(&self, mass: f64, water: Water) -> Result<f64, FloatingError> {
        let wanted = positive("mass", mass)? / positive("density of water", water.density)?;
        let most = self.below(&Level::upright(self.lowest_sheer)).volume;
        if wanted >= most {
            return Err(FloatingError::Sinks { mass, most: most * water.density });
        }
        let (mut low, mut high) = (self.lowest, self.lowest_sheer);
        let mut draught = 0.5 * (low + high);
        for _ in 0..LEVEL_STEPS {
            let wet = self.below(&Level::upright(draught));
            let over = wet.volume - wanted;
            if over.abs() < LEVEL_TOLERANCE * wanted {
                break;
            }
            if over < 0.0 {
                low = draught
            } else {
                high = draught
            }
            let newton = draught - over / wet.area;
            draught = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
        }
        Ok(draught)
    }

    /// Upright figures over draughts, m; each as [`hydrostatics`](Self::hydrostatics).
    pub fn curves(&self, draughts: &[f64], water: Water) -> Result<Vec<Hydrostatics>, FloatingError> {
        draughts.iter().map(|&draught| self.hydrostatics(draught, water)).collect()
    }

    /// The lines flat strips close the body from, straight across: along u at the rabbet, across at the stem
    /// and at an after end that is not curved.
    fn strip_edges(&self) -> impl Iterator<Item = [Quintic; 3]> + '_ {
        let rabbet = [&self.panels, &self.face].into_iter().filter_map(|panels| panels.first());
        let ends = self.panels.iter().flat_map(|panel| {
            let aft = self.face.is_empty().then(|| &panel.ends[panel.ends.len() - 1]);
            std::iter::once(&panel.ends[0]).chain(aft)
        });
        rabbet
            .flat_map(|panel| panel.edge(false))
            .chain(ends.flat_map(|line| line.spans.iter().map(|span| span.p)))
    }

    fn waterline_ends(&self, level: &Level) -> [f64; 2] {
        let mut ends = [f64::INFINITY, f64::NEG_INFINITY];
        let mut take = |p: &[Quintic; 3]| {
            for &t in Roots::of(&p[2].map(|z| level.reach - z)).as_slice() {
                let x = dot(&p[0], &values(t));
                ends = [ends[0].min(x), ends[1].max(x)];
            }
        };
        self.strip_edges().for_each(|p| take(&p));
        for span in self.all().flat_map(Panel::lines).flat_map(|(_, _, line)| &line.spans) {
            take(&span.p);
        }
        ends
    }

    fn waterline_breadth(&self, level: &Level) -> f64 {
        let breadth = |spans: &[Span]| {
            let at = |span: &Span| {
                let roots = Roots::of(&span.p[2].map(|z| level.reach - z));
                roots.as_slice().iter().map(|&t| 2.0 * span.point(t)[1]).fold(0.0, f64::max)
            };
            spans.iter().map(at).fold(0.0, f64::max)
        };
        let mut best = (0.0, 0, 0.0);
        for (k, panel) in self.panels.iter().enumerate() {
            for (i, s, line) in panel.lines() {
                let found = breadth(&line.spans);
                if found > best.0 {
                    best = (found, k, i as f64 + s);
                }
            }
        }
        let (greatest, k, place) = best;
        let Some(panel) = self.panels.get(k) else { return greatest };
        let spans = panel.tiles.len() as f64;
        let at = |place: f64| {
            let i = (place as usize).min(panel.tiles.len() - 1);
            breadth(&panel.line(i, place - i as f64, false).spans)
        };
        // No two neighbouring nodes are farther apart than this, in spans.
        let reach = 1.5 / self.nodes.len() as f64;
        let (mut low, mut high) = ((place - reach).max(0.0), (place + reach).min(spans));
        let golden = 0.5 * (5f64.sqrt() - 1.0);
        let (mut a, mut b) = (high - golden * (high - low), low + golden * (high - low));
        let (mut at_a, mut at_b) = (at(a), at(b));
        for _ in 0..GOLDEN {
            if at_a > at_b {
                (high, b, at_b) = (b, a, at_a);
                a = high - golden * (high - low);
                at_a = at(a);
            } else {
                (low, a, at_a) = (a, b, at_b);
                b = low + golden * (high - low);
                at_b = at(b);
            }
        }
        greatest.max(at_a).max(at_b)
    }

    fn greatest_section(&self, draught: f64, [fore, aft]: [f64; 2]) -> (f64, f64) {
        let area = |x: f64| (x, self.sectional_area(x, draught));
        let mut reach = (aft - fore) / STATIONS as f64;
        let stations: Vec<(f64, f64)> =
            (0..=STATIONS).map(|i| area(fore + (aft - fore) * i as f64 / STATIONS as f64)).collect();
        let larger = |a: (f64, f64), b: (f64, f64)| if b.1 > a.1 { b } else { a };
        let mut best = stations.iter().copied().fold((fore, 0.0), larger);
        let beside = |stations: &[(f64, f64)], x: f64| {
            let near = |at: f64| stations.iter().copied().find(|s| (s.0 - at).abs() < 1e-9 * (aft - fore));
            near(x)
        };
        for round in 0..PARABOLAS {
            let sides = [best.0 - reach, best.0 + reach].map(|x| x.clamp(fore, aft));
            let [left, right] = sides
                .map(|x| if round == 0 { beside(&stations, x).unwrap_or_else(|| area(x)) } else { area(x) });
            let (before, after) = (best.1 - left.1, best.1 - right.1);
            if before + after > 0.0 && left.0 < best.0 && best.0 < right.0 {
                let top = best.0 + 0.5 * reach * (before - after) / (before + after);
                best = larger(best, area(top.clamp(left.0, right.0)));
            }
            best = larger(larger(best, left), right);
            reach *= 0.2;
        }
        best
    }

    /// Wet area of the strips that close the body along rabbet, stem and after end, both sides, m².
    fn strips(&self, level: &Level) -> f64 {
        let mut total = 0.0;
        for p in self.strip_edges() {
            let depths = p[2].map(|z| level.reach - z);
            let roots = Roots::of(&depths);
            let limits: Vec<f64> = [0.0].iter().chain(roots.as_slice()).chain(&[1.0]).copied().collect();
            let slopes = [derivative(&p[0]), derivative(&p[2])];
            for pair in limits.windows(2) {
                let (from, width) = (pair[0], pair[1] - pair[0]);
                if dot(&depths, &values(from + 0.5 * width)) < 0.0 {
                    continue;
                }
                for &(t, weight) in &self.nodes {
                    let b = values(from + t * width);
                    let run = dot(&slopes[0], &b).hypot(dot(&slopes[1], &b));
                    total += 2.0 * dot(&p[1], &b) * run * weight * width;
                }
            }
        }
        total
    }
}
