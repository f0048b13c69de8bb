//! A path as straight lines and circular arcs, within a chord error.
//!
//! Machines that cut follow arcs more smoothly than chords, with a quarter of the vertices. Curves are
//! covered from one end by the longest pairs of arcs that keep both end tangents (biarcs: K. M. Bolton,
//! "Biarc curves", Computer-Aided Design 7, 1975) and lie within tolerance; straight runs become single
//! lines and corners stay where they are.

use kurbo::{BezPath, CubicBez, ParamCurve, ParamCurveDeriv, PathEl, PathSeg, Point, Vec2};

/// Greatest distance of a fitted outline from its path where none is asked for, mm: a fifth of
/// what a router in plywood repeats, so that the file is never the weak link.
pub const CHORD_TOLERANCE_MM: f64 = 0.02;

/// Part of the tolerance the fit may spend. Errors are found at checks, not everywhere; the rest
/// covers the peaks between checks, the flattened arcs and the rounding of written digits.
const SPENT: f64 = 0.8;

/// Checks over a pair of arcs, and the least over each Bézier within it. The error of a pair has
/// about four peaks; with six checks a peak the greatest is missed by under 7 %, inside `SPENT`.
const CHECKS: usize = 24;
const CHECKS_PER_BEZIER: usize = 8;

/// Part of the tolerance that flattening gives to its arcs, the rest to their chords: chords are
/// the many, so they get the most.
const ARC_SHARE: f64 = 0.25;

/// How much longer than the chords between checks a pair of arcs may be: the chords of a half
/// circle lose 0.07 % at 24 checks, more if the parameter runs unevenly; and over that, a detour as
/// part of the tolerance, half of it out and half back.
const CHORD_LOSS: f64 = 5e-3;
const DETOUR: f64 = 0.25;

/// Arcs that rise above their chord by less than this part of the tolerance are drawn straight;
/// the vast radii they would have trouble some controllers.
const FLAT: f64 = 0.05;

/// Turn between two curves, radians, from which their meeting is a corner to be kept. Fitted
/// curves meet within a tenth of this; a knuckle in a boat shows from ten times it.
const CORNER: f64 = 5e-3;

/// Points nearer than this, mm, are one point, and a vertex this near the straight between its
/// neighbours is left out: above the noise of coordinates worked in metres, below any machine.
const SAME_POINT_MM: f64 = 1e-5;

/// Shortest piece of a Bézier, in its parameter, that is still tried with arcs; below it the
/// piece is drawn straight. Only a cusp gets there.
const LEAST_PIECE: f64 = 1.0 / 4096.0;

/// Greatest angle a pair of arcs turns through, so that none is past a half circle (which some
/// readers refuse) and a circle of several Béziers comes out as two. Exact but for rounding.
const HALF_TURN: f64 = std::f64::consts::PI + 1e-6;

/// Halvings between the longest pair of arcs known to fit and the shortest known not to. Each
/// costs a fit; six lose at most 2 % of a piece's length.
const HALVINGS: usize = 6;

/// A vertex and the segment that leaves it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Vertex {
    /// Where, mm.
    pub at: Point,
    /// Tangent of a quarter of the angle the segment turns through: 0 straight, 1 a half circle,
    /// positive anticlockwise. The last of an open outline is 0.
    pub bulge: f64,
}

/// A chain of lines and arcs. Closed, the last vertex's segment runs back to the first.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    /// Vertices in order, no two in a row at one place.
    pub vertices: Vec<Vertex>,
    /// Whether it closes.
    pub closed: bool,
}

/// A line or arc of an outline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Segment {
    /// Start, mm.
    pub from: Point,
    /// End, mm.
    pub to: Point,
    /// As in [`Vertex`].
    pub bulge: f64,
}

/// The lines and arcs nearest a path: every point of either within `tolerance_mm` of the other.
/// One outline a subpath; a subpath of no length gives none. Coordinates must be finite.
pub fn fit(path: &BezPath, tolerance_mm: f64) -> Vec<Outline> {
    parts(path).filter_map(|part| part.fit(tolerance_mm)).collect()
}

/// The same path as straight lines alone.
pub fn flatten(path: &BezPath, tolerance_mm: f64) -> Vec<Outline> {
    parts(path).filter_map(|part| part.flatten(tolerance_mm)).collect()
}

impl Outline {
    /// Its lines and arcs in order.
    pub fn segments(&self) -> impl Iterator<Item = Segment> + '_ {
        let count = self.vertices.len();
        let last = if self.closed { count } else { count.saturating_sub(1) };
        (0..last).map(move |i| Segment {
            from: self.vertices[i].at,
            to: self.vertices[(i + 1) % count].at,
            bulge: self.vertices[i].bulge,
        })
    }

    /// Points along it, arcs replaced by chords within `tolerance_mm`; a closed outline's first
    /// point is not repeated.
    pub fn points(&self, tolerance_mm: f64) -> Vec<Point> {
        let mut points: Vec<Point> = Vec::with_capacity(self.vertices.len());
        points.extend(self.vertices.first().map(|vertex| vertex.at));
        for segment in self.segments() {
            points.extend(segment.interior_points(tolerance_mm));
            points.push(segment.to);
        }
        if self.closed && points.len() > 1 {
            points.pop();
        }
        points
    }

    /// Centre and radius, if the whole outline is one circle.
    pub fn circle(&self) -> Option<(Point, f64)> {
        let (centre, radius) = self.segments().next()?.circle()?;
        let same = |segment: Segment| {
            segment.circle().is_some_and(|(c, r)| {
                (c - centre).hypot() < FLAT * CHORD_TOLERANCE_MM
                    && (r - radius).abs() < FLAT * CHORD_TOLERANCE_MM
            })
        };
        let turned: f64 = self.segments().map(|segment| segment.turn()).sum();
        let once = (turned.abs() - std::f64::consts::TAU).abs() < 1e-3;
        (self.closed && once && self.segments().all(same)).then_some((centre, radius))
    }
}

impl Segment {
    /// The angle turned through, radians, positive anticlockwise.
    pub fn turn(&self) -> f64 {
        4.0 * self.bulge.atan()
    }

    /// Centre and radius of an arc, mm; `None` for a line.
    pub fn circle(&self) -> Option<(Point, f64)> {
        if self.bulge == 0.0 {
            return None;
        }
        let chord = self.to - self.from;
        let left = Vec2::new(-chord.y, chord.x);
        let centre =
            self.from.midpoint(self.to) + left * ((1.0 - self.bulge * self.bulge) / (4.0 * self.bulge));
        Some((centre, (self.from - centre).hypot()))
    }

    /// The point halfway along it.
    pub fn middle(&self) -> Point {
        let chord = self.to - self.from;
        self.from.midpoint(self.to) + Vec2::new(chord.y, -chord.x) * (0.5 * self.bulge)
    }

    /// Distance from a point, mm.
    pub fn distance(&self, point: Point) -> f64 {
        match self.circle() {
            None => kurbo::ParamCurveNearest::nearest(&kurbo::Line::new(self.from, self.to), point, 0.0)
                .distance_sq
                .sqrt(),
            Some((centre, radius)) => self.distance_to_arc(point, centre, radius),
        }
    }

    fn distance_to_arc(&self, point: Point, centre: Point, radius: f64) -> f64 {
        // Turned so that the arc runs anticlockwise, the point is beside it if it lies left of the
        // ray to its start and right of the ray to its end (either will do past a half circle).
        let (first, last) = if self.bulge > 0.0 { (self.from, self.to) } else { (self.to, self.from) };
        let ray = point - centre;
        let after = (first - centre).cross(ray) >= 0.0;
        let before = ray.cross(last - centre) >= 0.0;
        let beside = if self.bulge.abs() <= 1.0 { after && before } else { after || before };
        if beside {
            (ray.hypot() - radius).abs()
        } else {
            (point - self.from).hypot().min((point - self.to).hypot())
        }
    }

    /// Length along it, mm.
    pub fn length(&self) -> f64 {
        self.circle().map_or((self.to - self.from).hypot(), |(_, radius)| radius * self.turn().abs())
    }

    fn interior_points(&self, tolerance_mm: f64) -> impl Iterator<Item = Point> + use<> {
        let (centre, radius) = self.circle().unwrap_or((self.from, 0.0));
        let turn = self.turn();
        // A chord over the angle a leaves the arc by r (1 - cos a/2).
        let step = 2.0 * (1.0 - (tolerance_mm / radius).min(1.0)).acos();
        let chords = if radius > 0.0 { (turn.abs() / step).ceil().max(1.0) as usize } else { 1 };
        let spoke = self.from - centre;
        (1..chords)
            .map(move |i| centre + spoke.rotate_scale(Vec2::from_angle(turn * i as f64 / chords as f64)))
    }
}

/// How many parts of the path draw anything, even of no length.
pub(crate) fn subpath_count(path: &BezPath) -> usize {
    parts(path).count()
}

/// A part of a path, from one move to the next.
pub(crate) struct Subpath {
    segments: Vec<PathSeg>,
    closed: bool,
    /// Whether the last of its segments is the straight that closing it adds.
    closes_straight: bool,
}

/// The parts of a path, in order.
pub(crate) fn parts(path: &BezPath) -> impl Iterator<Item = Subpath> + '_ {
    let elements = path.elements();
    let mut starts: Vec<usize> = Vec::new();
    for (i, element) in elements.iter().enumerate() {
        // After a close, drawing on without a move starts a new subpath at the same point.
        let after_close = i > 0 && elements[i - 1] == PathEl::ClosePath;
        if matches!(element, PathEl::MoveTo(_)) || after_close {
            starts.push(i);
        }
    }
    let ends = starts.iter().skip(1).copied().chain([elements.len()]).collect::<Vec<_>>();
    let mut home = Point::ORIGIN;
    starts.into_iter().zip(ends).map(move |(start, end)| {
        let piece = &elements[start..end];
        if let Some(PathEl::MoveTo(point)) = piece.first() {
            home = *point;
        }
        let moved = std::iter::once(PathEl::MoveTo(home))
            .chain(piece.iter().copied().filter(|element| !matches!(element, PathEl::MoveTo(_))));
        let closed = piece.last() == Some(&PathEl::ClosePath);
        let segments: Vec<PathSeg> = kurbo::segments(moved).collect();
        let drawn = piece.iter().filter(|el| !matches!(el, PathEl::MoveTo(_) | PathEl::ClosePath)).count();
        Subpath { closes_straight: segments.len() > drawn, segments, closed }
    })
}

/// Lengths that differ by less than this, mm, do not tell one way along a path from the other.
const SAME_LENGTH_MM: f64 = 1e-6;

impl Subpath {
    /// Whether it is fitted from its other end: a shape, its mirror image and the same drawn the other way round get the
    /// same arcs, so that port is starboard's mirror image to the last digit.
    fn is_fitted_backwards(&self) -> bool {
        let (drawn, _) = self.parted();
        let lengths: Vec<f64> = drawn.iter().map(|s| (s.end() - s.start()).hypot()).collect();
        let from_either_end = lengths.iter().zip(lengths.iter().rev());
        let differ = from_either_end.map(|(a, b)| a - b).find(|apart| apart.abs() > SAME_LENGTH_MM);
        differ.is_some_and(|apart| apart > 0.0)
    }

    /// What was drawn, and the straight that closing it adds, which is the last from whichever end it is drawn.
    fn parted(&self) -> (&[PathSeg], &[PathSeg]) {
        self.segments.split_at(self.segments.len() - usize::from(self.closes_straight))
    }

    /// Its lines and arcs, as [`fit`] gives them.
    pub(crate) fn fit(&self, tolerance_mm: f64) -> Option<Outline> {
        if !self.is_fitted_backwards() {
            return fit_onward(&self.segments, self.closed, tolerance_mm);
        }
        let (drawn, closing) = self.parted();
        let backwards: Vec<PathSeg> = drawn.iter().rev().chain(closing).map(PathSeg::reverse).collect();
        let mut outline = fit_onward(&backwards, self.closed, tolerance_mm)?;
        outline.reverse();
        Some(outline)
    }

    /// Its lines, as [`flatten`] gives them.
    pub(crate) fn flatten(&self, tolerance_mm: f64) -> Option<Outline> {
        let mut outline = self.fit(ARC_SHARE * tolerance_mm)?;
        let points = outline.points((1.0 - ARC_SHARE) * tolerance_mm);
        outline.vertices = points.into_iter().map(|at| Vertex { at, bulge: 0.0 }).collect();
        Some(outline)
    }

    /// Its curves as they are, as cubics, from the other end if `turned`.
    pub(crate) fn cubics(&self, turned: bool) -> Vec<CubicBez> {
        // A straight at an even pace: no reader has to make do with a curve that stands still at its ends.
        let cubic = |segment: &PathSeg| match segment {
            PathSeg::Line(line) => {
                let at = |t: f64| line.p0.lerp(line.p1, t);
                CubicBez::new(line.p0, at(1.0 / 3.0), at(2.0 / 3.0), line.p1)
            }
            curve => curve.to_cubic(),
        };
        let mut cubics: Vec<CubicBez> = self.segments.iter().map(cubic).collect();
        cubics.retain(|curve| [curve.p1, curve.p2, curve.p3].iter().any(|p| p.distance(curve.p0) > 0.0));
        if turned {
            cubics.reverse();
            for curve in &mut cubics {
                *curve = CubicBez::new(curve.p3, curve.p2, curve.p1, curve.p0);
            }
        }
        cubics
    }
}

fn fit_onward(segments: &[PathSeg], closed: bool, tolerance_mm: f64) -> Option<Outline> {
    let mut chain = Chain::new(tolerance_mm);
    let mut run: Vec<CubicBez> = Vec::new();
    for segment in segments {
        let curve = segment.to_cubic();
        if matches!(segment, PathSeg::Line(_)) || is_straight(&curve) {
            fit_run(&run, &mut chain);
            run.clear();
            chain.push(Segment { from: curve.p0, to: curve.p3, bulge: 0.0 });
            continue;
        }
        if run.last().is_some_and(|last| turn(end_tangent(last), start_tangent(&curve)) > CORNER) {
            fit_run(&run, &mut chain);
            run.clear();
        }
        run.push(curve);
    }
    fit_run(&run, &mut chain);
    chain.finish(closed)
}

/// Collects segments end to end: joins those that are one line or one circle, drops those of no length.
struct Chain {
    segments: Vec<Segment>,
    straight: Option<Straight>,
    tolerance_mm: f64,
}

impl Chain {
    fn new(tolerance_mm: f64) -> Self {
        Self { segments: Vec::new(), straight: None, tolerance_mm }
    }

    fn push(&mut self, segment: Segment) {
        if let Some(last) = self.segments.last_mut() {
            let same_point = (segment.to - last.to).hypot() < SAME_POINT_MM;
            if same_point && segment.bulge.abs() <= 1.0 {
                return;
            }
            if segment.bulge == 0.0 {
                if self.straight.as_mut().is_some_and(|straight| straight.extend(segment.to)) {
                    last.to = segment.to;
                    return;
                }
            } else if let Some(joined) = one_circle(*last, segment, FLAT * self.tolerance_mm) {
                *last = joined;
                return;
            }
        } else if (segment.to - segment.from).hypot() < SAME_POINT_MM {
            return;
        }
        let from = self.segments.last().map_or(segment.from, |last| last.to);
        self.straight = (segment.bulge == 0.0).then(|| Straight::new(from, segment.to));
        self.segments.push(Segment { from, ..segment });
    }

    fn finish(mut self, closed: bool) -> Option<Outline> {
        let (first, last) = (*self.segments.first()?, *self.segments.last()?);
        if closed {
            self.push(Segment { from: last.to, to: first.from, bulge: 0.0 });
            if self.segments.len() > 2 && first.bulge == 0.0 {
                let last = self.segments[self.segments.len() - 1];
                let mut straight = Straight::new(last.from, last.to);
                if last.bulge == 0.0 && straight.extend(first.to) {
                    self.segments[0].from = last.from;
                    self.segments.pop();
                }
            }
        }
        let mut vertices: Vec<Vertex> =
            self.segments.iter().map(|segment| Vertex { at: segment.from, bulge: segment.bulge }).collect();
        if !closed {
            vertices.push(Vertex { at: self.segments.last()?.to, bulge: 0.0 });
        }
        Some(Outline { vertices, closed })
    }
}

/// A growing straight run: the slopes, against its first direction, of every line that passes
/// within [`SAME_POINT_MM`] of all its points so far.
struct Straight {
    start: Point,
    direction: Vec2,
    along: f64,
    slopes: (f64, f64),
}

impl Straight {
    fn new(start: Point, to: Point) -> Self {
        let along = (to - start).hypot();
        let slack = SAME_POINT_MM / along;
        Self { start, direction: (to - start) / along, along, slopes: (-slack, slack) }
    }

    /// Takes the point into the run if it lies on, further along the same line.
    fn extend(&mut self, point: Point) -> bool {
        let offset = point - self.start;
        let along = offset.dot(self.direction);
        let slope = self.direction.cross(offset) / along;
        if along <= self.along || slope < self.slopes.0 || slope > self.slopes.1 {
            return false;
        }
        let slack = SAME_POINT_MM / along;
        self.slopes = (self.slopes.0.max(slope - slack), self.slopes.1.min(slope + slack));
        self.along = along;
        true
    }
}

/// Two arcs in a row as one of at most a half circle, if their meeting lies within `slack` of it.
fn one_circle(a: Segment, b: Segment, slack: f64) -> Option<Segment> {
    if a.bulge * b.bulge <= 0.0 {
        return None;
    }
    let bulge = (0.25 * (a.turn() + b.turn())).tan();
    let joined = Segment { from: a.from, to: b.to, bulge };
    let within = |segment: Segment| {
        let (centre, radius) = segment.circle()?;
        let (joined_centre, joined_radius) = joined.circle()?;
        Some((centre - joined_centre).hypot().max((radius - joined_radius).abs()))
    };
    let strayed = within(a)?.max(within(b)?).max(joined.distance(a.to));
    (joined.turn().abs() <= HALF_TURN && strayed < slack).then_some(joined)
}

fn is_straight(curve: &CubicBez) -> bool {
    let chord = curve.p3 - curve.p0;
    let length = chord.hypot();
    if length < SAME_POINT_MM {
        return (curve.p1 - curve.p0).hypot().max((curve.p2 - curve.p0).hypot()) < SAME_POINT_MM;
    }
    let beside = |point: Point| {
        let offset = point - curve.p0;
        let along = offset.dot(chord);
        offset.cross(chord).abs() <= SAME_POINT_MM * length && along >= 0.0 && along <= length * length
    };
    beside(curve.p1) && beside(curve.p2)
}

fn start_tangent(curve: &CubicBez) -> Vec2 {
    first_direction([curve.p1 - curve.p0, curve.p2 - curve.p0, curve.p3 - curve.p0])
}

fn end_tangent(curve: &CubicBez) -> Vec2 {
    first_direction([curve.p3 - curve.p2, curve.p3 - curve.p1, curve.p3 - curve.p0])
}

fn first_direction(candidates: [Vec2; 3]) -> Vec2 {
    candidates.into_iter().find(|v| v.hypot() > SAME_POINT_MM).unwrap_or(candidates[2]).normalize()
}

fn turn(from: Vec2, to: Vec2) -> f64 {
    from.cross(to).atan2(from.dot(to)).abs()
}

/// A place on a run of curves: which, and the parameter within it.
fn place(run: &[CubicBez], u: f64) -> (&CubicBez, f64) {
    let index = (u.floor() as usize).min(run.len() - 1);
    (&run[index], u - index as f64)
}

fn tangent(run: &[CubicBez], u: f64, arriving: bool) -> Vec2 {
    let (curve, t) = place(run, u);
    if t == 0.0 && arriving {
        end_tangent(&run[u as usize - 1])
    } else if t == 0.0 {
        start_tangent(curve)
    } else if t == 1.0 {
        end_tangent(curve)
    } else {
        curve.deriv().eval(t).to_vec2().normalize()
    }
}

fn fit_run(run: &[CubicBez], chain: &mut Chain) {
    let end = run.len() as f64;
    let allowed = SPENT * chain.tolerance_mm;
    let mut from = 0.0;
    let mut guess = 1.0;
    while from < end {
        let attempt = |to: f64| Pair::new(run, from, to).filter(|pair| pair.fits(run, from, to, allowed));
        let mut shortest_bad = None;
        let mut best = None;
        let mut to = end.min(from + guess);
        // Lengthen while it fits, shorten until it does.
        loop {
            if let Some(pair) = attempt(to) {
                best = Some((to, pair));
                if to >= end || shortest_bad.is_some() {
                    break;
                }
                to = end.min(from + 2.0 * (to - from));
            } else {
                shortest_bad = Some(to);
                if best.is_some() || to - from <= LEAST_PIECE {
                    break;
                }
                to = from + 0.5 * (to - from);
            }
        }
        let Some((mut good, mut pair)) = best else {
            let to = end.min(from + LEAST_PIECE);
            chain.push(Segment { from: eval(run, from), to: eval(run, to), bulge: 0.0 });
            from = to;
            continue;
        };
        if let Some(mut bad) = shortest_bad {
            for _ in 0..HALVINGS {
                let middle = 0.5 * (good + bad);
                match attempt(middle) {
                    Some(longer) => (good, pair) = (middle, longer),
                    None => bad = middle,
                }
            }
        }
        for arc in pair.0 {
            chain.push(straightened(arc, FLAT * chain.tolerance_mm));
        }
        guess = good - from;
        from = good;
    }
}

fn eval(run: &[CubicBez], u: f64) -> Point {
    let (curve, t) = place(run, u);
    curve.eval(t)
}

fn straightened(arc: Segment, slack: f64) -> Segment {
    let rise = 0.5 * (arc.to - arc.from).hypot() * arc.bulge.abs();
    if rise < slack { Segment { bulge: 0.0, ..arc } } else { arc }
}

/// Two arcs that leave one point along its tangent, arrive at another along its own, and share a
/// tangent where they meet; of all such pairs the one with equal control lengths.
struct Pair([Segment; 2]);

impl Pair {
    fn new(run: &[CubicBez], from: f64, to: f64) -> Option<Self> {
        let (start, end) = (eval(run, from), eval(run, to));
        let (leaving, arriving) = (tangent(run, from, false), tangent(run, to, true));
        let chord = end - start;
        // Control length d: |chord - d (leaving + arriving)| = 2 d.
        let a = 2.0 * (1.0 - leaving.dot(arriving));
        let b = chord.dot(leaving + arriving);
        let c = chord.hypot2();
        // The form of the root that does not cancel as the tangents become parallel.
        let d = c / (b + (b * b + a * c).sqrt());
        if !(d.is_finite() && d > 0.0) {
            return None;
        }
        let meeting = start.midpoint(end) + (leaving - arriving) * (0.5 * d);
        let first = Segment { from: start, to: meeting, bulge: bulge(leaving, meeting - start) };
        let second = Segment { from: meeting, to: end, bulge: -bulge(-arriving, meeting - end) };
        let pair = Self([first, second]);
        (pair.turn() <= HALF_TURN).then_some(pair)
    }

    fn turn(&self) -> f64 {
        self.0.iter().map(|arc| arc.turn().abs()).sum()
    }

    fn fits(&self, run: &[CubicBez], from: f64, to: f64, allowed: f64) -> bool {
        let circles = self.0.map(|arc| arc.circle());
        let distance = |point: Point| {
            let mut nearest = f64::INFINITY;
            for (arc, circle) in self.0.iter().zip(circles) {
                nearest = nearest.min(match circle {
                    Some((centre, radius)) => arc.distance_to_arc(point, centre, radius),
                    None => arc.distance(point),
                });
            }
            nearest
        };
        let beziers = to.ceil() - from.floor();
        let checks = CHECKS.max(CHECKS_PER_BEZIER * beziers as usize);
        let mut last = eval(run, from);
        let mut length = 0.0;
        for i in 1..=checks {
            let point = eval(run, from + (to - from) * i as f64 / checks as f64);
            if distance(point) > allowed {
                return false;
            }
            length += (point - last).hypot();
            last = point;
        }
        // Near the arcs all along and hardly shorter, the curve leaves no part of them unvisited.
        let arcs = self.0[0].length() + self.0[1].length();
        arcs <= (1.0 + CHORD_LOSS) * length + DETOUR * allowed
    }
}

/// Bulge of the arc that leaves along a unit tangent and ends a chord away: it turns through
/// twice the angle between them.
fn bulge(tangent: Vec2, chord: Vec2) -> f64 {
    tangent.cross(chord) / (chord.hypot() + tangent.dot(chord))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An outline whose last side closes it unsaid, its mirror image, and either drawn the other way round.
    #[test]
    fn a_mirror_image_has_the_mirrored_arcs_whichever_way_it_is_drawn() {
        let mut path = BezPath::new();
        path.move_to((0.0, 0.0));
        path.line_to((40.0, 0.0));
        path.curve_to((140.0, 20.0), (260.0, 90.0), (300.0, 240.0));
        path.curve_to((320.0, 310.0), (330.0, 400.0), (330.0, 500.0));
        path.line_to((0.0, 480.0));
        path.close_path();
        let mirror = kurbo::Affine::FLIP_X;
        let of = |path: &BezPath| {
            let mut spots: Vec<(Point, f64)> =
                fit(path, CHORD_TOLERANCE_MM)[0].vertices.iter().map(|v| (v.at, v.bulge.abs())).collect();
            spots.sort_by(|a, b| a.0.y.total_cmp(&b.0.y).then(a.0.x.abs().total_cmp(&b.0.x.abs())));
            spots.into_iter().map(|(at, _)| at).collect::<Vec<_>>()
        };
        let right = of(&path);
        assert!(right.len() > 8);
        assert_eq!(of(&path.reverse_subpaths()), right);
        for other in [mirror * path.clone(), (mirror * path.clone()).reverse_subpaths()] {
            let apart = of(&other).into_iter().zip(&right).map(|(a, b)| (mirror * a).distance(*b));
            assert!(apart.fold(0.0, f64::max) < 1e-9);
        }
    }
    use kurbo::{Affine, Circle, Ellipse, ParamCurveNearest, Shape};
    use proptest::prelude::*;

    /// Greatest distance of either from the other, found by dense sampling.
    fn apart(path: &BezPath, outlines: &[Outline]) -> f64 {
        let arcs: Vec<Segment> = outlines.iter().flat_map(Outline::segments).collect();
        let curves: Vec<PathSeg> = path.segments().collect();
        let mut worst: f64 = 0.0;
        for i in 0..=100 {
            let t = f64::from(i) / 100.0;
            for curve in &curves {
                let point = curve.eval(t);
                worst = worst.max(arcs.iter().map(|arc| arc.distance(point)).fold(f64::INFINITY, f64::min));
            }
            for arc in &arcs {
                let point = along(arc, t);
                let nearest = |curve: &PathSeg| curve.nearest(point, 1e-6).distance_sq.sqrt();
                worst = worst.max(curves.iter().map(nearest).fold(f64::INFINITY, f64::min));
            }
        }
        worst
    }

    /// A point on an arc from its centre, radius and angles alone.
    fn along(arc: &Segment, t: f64) -> Point {
        let Some((centre, radius)) = arc.circle() else { return arc.from.lerp(arc.to, t) };
        let start = (arc.from - centre).atan2();
        centre + radius * Vec2::from_angle(start + t * arc.turn())
    }

    fn smooth(points: &[(f64, f64)]) -> BezPath {
        // Catmull-Rom through the points, which meets itself smoothly at each.
        let at = |i: usize| Point::from(points[i.min(points.len() - 1)]);
        let mut path = BezPath::new();
        path.move_to(at(0));
        for i in 0..points.len() - 1 {
            let (before, a, b, after) = (at(i.saturating_sub(1)), at(i), at(i + 1), at(i + 2));
            path.curve_to(a + (b - before) / 6.0, b - (after - a) / 6.0, b);
        }
        path
    }

    #[test]
    fn a_circle_is_two_half_circles() {
        let path = Circle::new((120.0, -40.0), 85.0).to_path(1e-4);
        let outlines = fit(&path, CHORD_TOLERANCE_MM);
        assert_eq!(outlines.len(), 1);
        assert_eq!(outlines[0].vertices.len(), 2, "{outlines:?}");
        let (centre, radius) = outlines[0].circle().expect("a circle is known for one");
        assert!((centre - Point::new(120.0, -40.0)).hypot() < 1e-3 && (radius - 85.0).abs() < 1e-3);
        assert!(apart(&path, &outlines) < 1e-3);
    }

    #[test]
    fn an_ellipse_keeps_the_tolerance_with_few_arcs() {
        let mut path = Ellipse::new((0.0, 0.0), (600.0, 150.0), 0.3).to_path(1e-4);
        path.close_path();
        let outlines = fit(&path, CHORD_TOLERANCE_MM);
        assert!(outlines[0].closed);
        assert!(apart(&path, &outlines) < CHORD_TOLERANCE_MM, "{}", apart(&path, &outlines));
        // Pairs of arcs nowhere further off than e need about the integral of (curvature slope / 324 e)
        // to the third, from the expansion of a spiral: 60 arcs here.
        assert!(outlines[0].vertices.len() < 80, "{}", outlines[0].vertices.len());
        assert!(outlines[0].circle().is_none());
    }

    #[test]
    fn an_s_curve_turns_both_ways() {
        let path = smooth(&[(0.0, 0.0), (200.0, 60.0), (400.0, -60.0), (600.0, 0.0)]);
        let outlines = fit(&path, CHORD_TOLERANCE_MM);
        assert!(apart(&path, &outlines) < CHORD_TOLERANCE_MM);
        assert!(outlines[0].vertices.iter().any(|v| v.bulge > 0.0));
        assert!(outlines[0].vertices.iter().any(|v| v.bulge < 0.0));
    }

    #[test]
    fn a_half_mould_takes_about_thirty_vertices() {
        // A half mould of a 15 ft boat: keel notch, round bilge, sheer, cross spall, centre line.
        let mut path = BezPath::new();
        path.move_to((30.0, 10.0));
        path.curve_to((260.0, 60.0), (440.0, 130.0), (560.0, 280.0));
        path.curve_to((660.0, 405.0), (690.0, 540.0), (700.0, 700.0));
        for corner in [(700.0, 760.0), (0.0, 760.0), (0.0, 60.0), (30.0, 60.0)] {
            path.line_to(corner);
        }
        path.close_path();
        let outlines = fit(&path, CHORD_TOLERANCE_MM);
        let count = outlines[0].vertices.len();
        let chords = flatten(&path, CHORD_TOLERANCE_MM)[0].vertices.len();
        assert!(apart(&path, &outlines) < CHORD_TOLERANCE_MM);
        assert!(outlines[0].closed && (15..=36).contains(&count), "{count} vertices, {chords} chords");
        for corner in [(700.0, 760.0), (0.0, 760.0), (0.0, 60.0), (30.0, 60.0), (30.0, 10.0)] {
            assert!(outlines[0].vertices.iter().any(|v| v.at == Point::from(corner)), "{corner:?} lost");
        }
        assert!(2 * count < chords, "{count} vertices, {chords} chords");
    }

    #[test]
    fn straight_runs_become_single_lines_and_corners_stay() {
        let mut path = BezPath::new();
        path.move_to((50.0, 0.0));
        for point in
            [(75.0, 0.0), (100.0, 0.0), (100.0, 0.0), (100.0, 30.0), (100.0, 80.0), (0.0, 80.0), (0.0, 0.0)]
        {
            path.line_to(point);
        }
        path.close_path();
        let outline = &fit(&path, CHORD_TOLERANCE_MM)[0];
        let mut corners: Vec<(f64, f64)> = outline.vertices.iter().map(|v| (v.at.x, v.at.y)).collect();
        corners.sort_by(|a, b| a.partial_cmp(b).expect("finite"));
        assert_eq!(corners, [(0.0, 0.0), (0.0, 80.0), (100.0, 0.0), (100.0, 80.0)]);
        assert!(outline.closed && outline.vertices.iter().all(|v| v.bulge == 0.0));
    }

    #[test]
    fn a_large_circle_of_short_chords_is_not_taken_for_straight() {
        let points = (0..20_000).map(|i| Point::ORIGIN + 2000.0 * Vec2::from_angle(f64::from(i) * 5e-6));
        let mut path = BezPath::new();
        for point in points {
            if path.elements().is_empty() { path.move_to(point) } else { path.line_to(point) }
        }
        let outlines = fit(&path, CHORD_TOLERANCE_MM);
        let worst = path.segments().map(|s| {
            outlines[0].segments().map(|line| line.distance(s.start())).fold(f64::INFINITY, f64::min)
        });
        assert!(worst.fold(0.0, f64::max) < 4.0 * SAME_POINT_MM);
    }

    #[test]
    fn every_subpath_is_an_outline_and_one_of_no_length_is_none() {
        let mut path = Circle::new((0.0, 0.0), 10.0).to_path(1e-4);
        path.extend(Circle::new((50.0, 0.0), 5.0).to_path(1e-4));
        path.move_to((9.0, 9.0));
        path.move_to((1.0, 1.0));
        path.line_to((1.0, 1.0));
        path.move_to((0.0, 0.0));
        path.line_to((4.0, 0.0));
        let outlines = fit(&path, CHORD_TOLERANCE_MM);
        assert_eq!(outlines.iter().map(|outline| outline.closed).collect::<Vec<_>>(), [true, true, false]);
    }

    #[test]
    fn a_cusp_is_followed_into_its_point() {
        let mut path = BezPath::new();
        path.move_to((0.0, 0.0));
        path.curve_to((100.0, 100.0), (0.0, 100.0), (100.0, 0.0));
        let outlines = fit(&path, CHORD_TOLERANCE_MM);
        assert!(apart(&path, &outlines) < CHORD_TOLERANCE_MM, "{}", apart(&path, &outlines));
        assert!(outlines[0].vertices.len() < 60, "{}", outlines[0].vertices.len());
    }

    #[test]
    fn an_arc_flattened_keeps_the_tolerance() {
        let arc = Segment { from: Point::new(0.0, 0.0), to: Point::new(100.0, 0.0), bulge: -0.7 };
        let vertices = vec![Vertex { at: arc.from, bulge: arc.bulge }, Vertex { at: arc.to, bulge: 0.0 }];
        let points = Outline { vertices, closed: false }.points(0.05);
        assert_eq!((points[0], points[points.len() - 1]), (arc.from, arc.to));
        let rises = points.windows(2).map(|pair| arc.distance(pair[0].midpoint(pair[1])));
        let worst = rises.fold(0.0, f64::max);
        assert!(worst < 0.05 && worst > 0.01, "{worst}");
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        #[test]
        fn a_smooth_curve_and_its_arcs_are_within_tolerance_of_each_other(
            points in prop::collection::vec((-400.0..400.0f64, -400.0..400.0f64), 3..7),
            tolerance in prop::sample::select(vec![0.02, 0.1, 1.0]),
            scale in prop::sample::select(vec![0.1, 1.0, 8.0]),
        ) {
            let path = Affine::scale(scale) * smooth(&points);
            let outlines = fit(&path, tolerance);
            prop_assert!(apart(&path, &outlines) < tolerance, "{}", apart(&path, &outlines));
            for outline in &outlines {
                for segment in outline.segments() {
                    prop_assert!((segment.to - segment.from).hypot() > SAME_POINT_MM);
                    prop_assert!(segment.turn().abs() <= HALF_TURN);
                }
            }
        }

        #[test]
        fn a_flattened_curve_is_within_tolerance(
            points in prop::collection::vec((-400.0..400.0f64, -400.0..400.0f64), 3..7),
        ) {
            let path = smooth(&points);
            let outlines = flatten(&path, 0.05);
            prop_assert!(outlines.iter().all(|o| o.vertices.iter().all(|v| v.bulge == 0.0)));
            prop_assert!(apart(&path, &outlines) < 0.05, "{}", apart(&path, &outlines));
        }
    }
}
