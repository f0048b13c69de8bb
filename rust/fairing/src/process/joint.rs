//! Lines and fields of a hull as one Gaussian process, so that spots speak for the lines too.
//!
//! Every reading is a row: a sum of lines at its t, times coefficients, plus w at its (t, v) where it is a
//! spot. The model of a spot is linear in lines and w about the last round's surface.

use crate::field::{Field, FieldPoint, Theta, USUAL, priors};
use crate::gp::{Model, Prior, Solved, Unsure, dot, likeliest};
use crate::keel::{Line, Seat};
use crate::lines::{LineDatum, LinePrior, unsure_line, usual};

/// A linear functional of the hull: line values (in units of the frame's length) and w at one place.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Functional {
    pub t: f64,
    /// Lines and their coefficients.
    pub lines: Vec<(usize, f64)>,
    /// Strake, v, and the coefficient of w.
    pub field: Option<(usize, f64, f64)>,
    /// A written place on the backbone, and the coefficient of how far it moves square to itself.
    pub post: Option<(f64, f64)>,
}

/// One datum.
#[derive(Clone, Debug)]
pub(crate) struct Row {
    pub of: Functional,
    pub value: f64,
    pub sd: f64,
}

/// Rows ready for the kernels.
struct Rows {
    n: usize,
    /// For each line: (row, coefficient, place).
    lines: Vec<Vec<(usize, f64, Seat)>>,
    /// For each row what its lines' means come to.
    means: Vec<f64>,
    /// (row, strake, t, v, coefficient).
    spots: Vec<(usize, usize, f64, f64, f64)>,
    /// For each strake: no more than one spot a station.
    lone: Vec<bool>,
}

/// Spots nearer than this along the boat are of one station.
const ONE_STATION: f64 = 0.01;

/// For each strake: whether its stations have one spot each, or hardly more.
fn lone(spots: &[(usize, usize, f64, f64, f64)]) -> Vec<bool> {
    let strakes = spots.iter().map(|s| s.1 + 1).max().unwrap_or(0);
    let of = |strake: usize| {
        let mut at: Vec<f64> = spots.iter().filter(|s| s.1 == strake).map(|s| s.2).collect();
        let count = at.len();
        at.sort_by(f64::total_cmp);
        at.dedup_by(|a, b| *a - *b < ONE_STATION);
        strakes > 1 && 2 * count < 3 * at.len()
    };
    (0..strakes).map(of).collect()
}

impl Rows {
    fn new(rows: &[Row], priors: &[Line]) -> Self {
        let mut lines = vec![Vec::new(); priors.len()];
        let mut means = vec![0.0; rows.len()];
        let mut spots = Vec::new();
        for (i, row) in rows.iter().enumerate() {
            for &(l, c) in &row.of.lines {
                let (seat, mean) = priors[l].seat(row.of.t);
                means[i] += c * mean;
                lines[l].push((i, c, seat));
            }
            if let Some((t, c)) = row.of.post {
                let (seat, mean) = priors[0].seat(t);
                means[i] += c * mean;
                lines[0].push((i, c, seat));
            }
            if let Some((strake, v, c)) = row.of.field {
                spots.push((i, strake, row.of.t, v, c));
            }
        }
        Rows { n: rows.len(), lines, means, lone: lone(&spots), spots }
    }
}

struct JointModel<'a> {
    rows: &'a Rows,
    /// Lines and noise.
    fixed: Vec<f64>,
    /// Where the fit of parameters starts.
    start: Theta,
}

impl JointModel<'_> {
    fn points(&self, field: &Field) -> Vec<FieldPoint> {
        self.rows.spots.iter().map(|s| field.point(s.2, s.3, self.rows.lone[s.1])).collect()
    }
}

impl Model for JointModel<'_> {
    fn priors(&self) -> Vec<Prior> {
        priors(&self.start)
    }

    fn covariance(&self, theta: &[f64]) -> Vec<f64> {
        let (field, n) = (Field::new(theta), self.rows.n);
        let points = self.points(&field);
        let mut k = self.fixed.clone();
        for (a, s) in self.rows.spots.iter().enumerate() {
            for (b, o) in self.rows.spots[..=a].iter().enumerate() {
                if s.1 == o.1 {
                    k[s.0 * n + o.0] += s.4 * o.4 * field.covariance(&points[a], &points[b]);
                }
            }
        }
        k
    }

    fn slopes(&self, theta: &[f64], w: &[f64], alpha: &[f64]) -> Vec<(f64, Vec<f64>)> {
        let (field, n) = (Field::new(theta), self.rows.n);
        let points = self.points(&field);
        let mut slopes = vec![(0.0, vec![0.0; n]); theta.len()];
        for (a, s) in self.rows.spots.iter().enumerate() {
            for (b, o) in self.rows.spots[..=a].iter().enumerate() {
                if s.1 != o.1 {
                    continue;
                }
                let c = s.4 * o.4;
                let by = field.parameter_slopes(&points[a], &points[b]);
                let weight = w[s.0 * n + o.0] * if a == b { 1.0 } else { 2.0 };
                for (slope, d) in slopes.iter_mut().zip(by) {
                    slope.0 += weight * c * d;
                    slope.1[s.0] += c * d * alpha[o.0];
                    if a != b {
                        slope.1[o.0] += c * d * alpha[s.0];
                    }
                }
            }
        }
        slopes
    }
}

/// Parameters of the field from a slice of as many.
pub(crate) fn theta(of: &[f64]) -> Theta {
    let mut theta = USUAL;
    theta.copy_from_slice(of);
    theta
}

/// The hull given its readings.
#[derive(Clone, Debug)]
pub(crate) struct Joint {
    pub priors: Vec<Line>,
    pub theta: Theta,
    pub solved: Solved,
    pub y: Vec<f64>,
    weights: Vec<f64>,
    lines: Vec<Vec<(usize, f64, Seat)>>,
    spots: Vec<(usize, usize, f64, f64, f64)>,
    lone: Vec<bool>,
    field: Field,
    points: Vec<FieldPoint>,
}

fn fixed(rows: &[Row], indexed: &Rows, priors: &[Line]) -> Vec<f64> {
    let n = rows.len();
    let mut k = vec![0.0; n * n];
    for (prior, line) in priors.iter().zip(&indexed.lines) {
        for (a, (i, ci, at)) in line.iter().enumerate() {
            for (j, cj, other) in &line[..=a] {
                // A row may have two places on a line.
                let twice = i == j && !std::ptr::eq(at, other);
                let both = ci * cj * prior.covariance(at, other);
                k[i.max(j) * n + i.min(j)] += if twice { 2.0 * both } else { both };
            }
        }
    }
    for (i, row) in rows.iter().enumerate() {
        k[i * n + i] += row.sd * row.sd;
    }
    k
}

impl Joint {
    /// Solves for the hull; with `fit` the field's parameters climb from `theta` first.
    pub fn new(rows: &[Row], priors: &[Line], theta: Theta, fit: bool) -> Option<Self> {
        let indexed = Rows::new(rows, priors);
        let model = JointModel { fixed: fixed(rows, &indexed, priors), rows: &indexed, start: theta };
        let y: Vec<f64> = rows.iter().zip(&indexed.means).map(|(r, mean)| r.value - mean).collect();
        let mut best = theta;
        if fit {
            best.copy_from_slice(&likeliest(&model, &y, &theta));
        }
        let solved = Solved::new(&model.covariance(&best), y.len())?;
        let weights = solved.times(&y);
        let field = Field::new(&best);
        let points = model.points(&field);
        let Rows { lines, spots, lone, .. } = indexed;
        Some(Joint {
            priors: priors.to_vec(),
            theta: best,
            solved,
            y,
            weights,
            lines,
            spots,
            lone,
            field,
            points,
        })
    }

    /// What the rows leave unsure of the field's parameters.
    pub fn unsure_field(&self, rows: &[Row]) -> Unsure {
        let indexed = Rows::new(rows, &self.priors);
        let model =
            JointModel { fixed: fixed(rows, &indexed, &self.priors), rows: &indexed, start: self.theta };
        Unsure::new(&model, &self.y, &self.theta)
    }

    /// What its own rows leave unsure of the parameters of line `l`.
    pub fn unsure_line(&self, rows: &[Row], l: usize) -> Unsure {
        let Some(prior) = self.priors[l].own() else { return Unsure::default() };
        let own = rows.iter().filter(|row| row.of.field.is_none() && row.of.lines == [(l, 1.0)]);
        let data: Vec<_> = own.map(|r| LineDatum { t: r.of.t, value: r.value, sd: r.sd }).collect();
        unsure_line(&data, usual(l), *prior)
    }

    /// Hulls that would be faired with other parameters of the field, one standard deviation off to either
    /// side in each independent way.
    pub fn fields_one_off(&self, rows: &[Row]) -> Vec<[Joint; 2]> {
        let with = |off: &[f64]| Joint::new(rows, &self.priors, theta(off), false);
        let off = self.unsure_field(rows).pairs(&self.theta);
        off.iter().filter_map(|[more, less]| Some([with(more)?, with(less)?])).collect()
    }

    /// The same with other parameters of the lines, to one side.
    pub fn lines_one_off(&self, rows: &[Row]) -> Vec<Joint> {
        let of_line = |l: usize| {
            let theta = self.priors[l].own().map(LinePrior::theta).unwrap_or_default();
            self.unsure_line(rows, l).pairs(&theta)
        };
        (0..self.priors.len())
            .flat_map(|l| of_line(l).into_iter().map(move |[more, _]| (l, more)))
            .filter_map(|(l, more)| {
                let mut priors = self.priors.clone();
                priors[l] = Line::Own(LinePrior::from_theta(&more));
                Joint::new(rows, &priors, self.theta, false)
            })
            .collect()
    }

    /// t of the sections there are spots of, from the stem.
    pub fn sections(&self) -> Vec<f64> {
        let mut at: Vec<f64> = self.spots.iter().map(|s| s.2).collect();
        at.sort_by(f64::total_cmp);
        at.dedup_by(|a, b| *a - *b < ONE_STATION);
        at
    }

    /// Whether its stations have one spot each, or hardly more.
    pub fn is_lone(&self, strake: usize) -> bool {
        self.lone.get(strake).copied().unwrap_or(false)
    }

    fn point(&self, strake: usize, t: f64, v: f64) -> FieldPoint {
        self.field.point(t, v, self.is_lone(strake))
    }

    /// Whether no reading speaks of the bulge of a strake: it is then straight across.
    pub fn is_straight(&self, strake: usize) -> bool {
        !self.spots.iter().any(|s| s.1 == strake)
    }

    /// Line `l` at t, in units of the frame's length.
    pub fn line(&self, l: usize, t: f64) -> f64 {
        let (here, mean) = self.priors[l].seat(t);
        let by =
            |(i, c, seat): &(usize, f64, Seat)| self.weights[*i] * c * self.priors[l].covariance(&here, seat);
        mean + self.lines[l].iter().map(by).sum::<f64>()
    }

    /// The likeliest unknowns of the backbone.
    pub fn unknowns(&self) -> Vec<f64> {
        let mut sum = Vec::new();
        for (i, c, seat) in &self.lines[0] {
            let Seat::Keel(by) = seat else { continue };
            sum.resize(by.len(), 0.0);
            sum.iter_mut().zip(by.iter()).for_each(|(s, b)| *s += self.weights[*i] * c * b);
        }
        sum
    }

    /// ∂w/∂v.
    pub fn slope(&self, strake: usize, t: f64, v: f64) -> f64 {
        let here = self.point(strake, t, v);
        self.points
            .iter()
            .zip(&self.spots)
            .filter(|(_, s)| s.1 == strake)
            .map(|(p, s)| self.weights[s.0] * s.4 * self.field.slope_covariance(&here, p))
            .sum()
    }

    /// w of a strake over a grid, `t` outer.
    pub fn bulge(&self, strake: usize, t: &[f64], v: &[f64]) -> Vec<f64> {
        let of: Vec<usize> = (0..self.spots.len()).filter(|&i| self.spots[i].1 == strake).collect();
        let weights: Vec<f64> = of.iter().map(|&i| self.weights[self.spots[i].0] * self.spots[i].4).collect();
        let across: Vec<(Vec<f64>, f64, Vec<f64>)> = v
            .iter()
            .map(|&v| {
                let here = self.point(strake, 0.0, v);
                let pairs: Vec<_> = of.iter().map(|&i| self.field.across(&here, &self.points[i])).collect();
                let common = pairs.iter().zip(&weights).map(|(p, w)| p.1 * w).sum();
                (pairs.iter().map(|p| p.0).collect(), common, pairs.iter().map(|p| p.2).collect())
            })
            .collect();
        let mut out = Vec::with_capacity(t.len() * v.len());
        for &t in t {
            let here = self.point(strake, t, 0.5);
            let along: Vec<f64> =
                of.iter().zip(&weights).map(|(&i, w)| w * self.field.along(&here, &self.points[i])).collect();
            let of_ends: Vec<f64> = of
                .iter()
                .zip(&weights)
                .map(|(&i, w)| w * self.field.along_ends(&here, &self.points[i]))
                .collect();
            let means = Field::mean_weights(
                t,
                self.is_lone(strake),
                of.iter().zip(&weights).map(|(&i, w)| (&self.points[i], *w)),
            );
            for ((near, common, end), &v) in across.iter().zip(v) {
                out.push(dot(&along, near) + common + dot(&of_ends, end) + Field::mean_at(&means, v));
            }
        }
        out
    }

    /// Variance of a functional.
    pub fn variance(&self, f: &Functional) -> f64 {
        let mut k = vec![0.0; self.y.len()];
        let mut own = 0.0;
        for &(l, c) in &f.lines {
            let (prior, here) = (&self.priors[l], self.priors[l].seat(f.t).0);
            own += c * c * prior.covariance(&here, &here);
            for (i, ci, seat) in &self.lines[l] {
                k[*i] += c * ci * prior.covariance(&here, seat);
            }
        }
        if let Some((t, c)) = f.post {
            let (prior, here) = (&self.priors[0], self.priors[0].seat(t).0);
            own += c * c * prior.covariance(&here, &here);
            for &(l, other) in f.lines.iter().filter(|l| l.0 == 0) {
                own += 2.0 * c * other * prior.covariance(&here, &self.priors[l].seat(f.t).0);
            }
            for (i, ci, seat) in &self.lines[0] {
                k[*i] += c * ci * prior.covariance(&here, seat);
            }
        }
        if let Some((strake, v, c)) = f.field.filter(|f| !self.is_straight(f.0)) {
            let here = self.point(strake, f.t, v);
            own += c * c * self.field.covariance(&here, &here);
            for (p, s) in self.points.iter().zip(&self.spots).filter(|(_, s)| s.1 == strake) {
                k[s.0] += c * s.4 * self.field.covariance(&here, p);
            }
        }
        (own - self.solved.explained(&k)).max(0.0)
    }

    /// What a functional comes to.
    pub fn value(&self, f: &Functional) -> f64 {
        let of_lines: f64 = f.lines.iter().map(|&(l, c)| c * self.line(l, f.t)).sum();
        let of_field = |(strake, v, c): (usize, f64, f64)| c * self.bulge(strake, &[f.t], &[v])[0];
        let of_post = f.post.map_or(0.0, |(t, c)| c * self.line(0, t));
        of_lines + of_post + f.field.map_or(0.0, of_field)
    }

    /// A row that has no part in this: its misfit and the variance of that, as [`left_out`](Self::left_out).
    pub fn against(&self, row: &Row) -> (f64, f64) {
        (row.value - self.value(&row.of), self.variance(&row.of) + row.sd * row.sd)
    }

    /// Datum `i` left out: misfit and its variance.
    pub fn left_out(&self, i: usize) -> (f64, f64) {
        self.solved.left_out(i, &self.weights)
    }
}
