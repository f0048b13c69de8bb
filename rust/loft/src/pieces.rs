//! A mould too big for its stock, made as in a boatyard: a floor across the bottom, futtocks up each side.
//!
//! Pieces are of one thickness and butted along a line square to the edge, with a cleat over each joint on
//! the face that stands off the station line. The other common practice, two layers that lap, sets half of
//! the edge one thickness off the station line, where the hull is wider by the bevel's rise: 5 mm at 18 mm
//! and 15°. A head or the cross spall is laid across the limbs on the cleats' face. Both joint forms are
//! common practice.

use kurbo::{BezPath, Line, ParamCurve, ParamCurveNearest, PathEl, PathSeg, Point, Vec2};

use crate::edge::{Edge, Place};
use crate::moulds::LoftError;
use crate::outline::{Half, mirrored};
use crate::stock::{Stock, board};

/// How moulds are made up of pieces. Lengths are metres.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct InPieces {
    /// Joints of one side, from the keel up; chosen mould by mould where there is none.
    pub joints: Vec<JointAt>,
    /// How far a cleat laps the piece on either side of its joint; the limb's width where left out.
    pub lap: Option<f64>,
    /// A head across the limbs, its upper edge level with the sheer.
    pub head: bool,
    /// The largest board a piece is to be got out of.
    pub stock: Option<Stock>,
}

/// Where the edge is jointed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum JointAt {
    /// At this height above the base line, m.
    Height(f64),
    /// At this half-breadth, m.
    HalfBreadth(f64),
}

/// What a piece is of a mould.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Part {
    /// All of it, or all of one side.
    Mould,
    /// The piece across the bottom.
    Floor,
    /// A piece up the side.
    Futtock,
    /// The piece over a joint.
    Cleat,
    /// The piece across the limbs at the sheer.
    Head,
    /// The cross spall.
    Spall,
}

/// The cross spall as a board, m: its edge away from the boat on the spall line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SpallBoard {
    /// Width.
    pub width: f64,
    /// How far it laps each limb; to its outer edge where left out.
    pub lap: Option<f64>,
}

/// A piece in its place on the right side, or astride the centreline.
#[derive(Clone, Debug)]
pub(crate) struct Planned {
    pub part: Part,
    pub name: String,
    /// Both sides in one.
    pub astride: bool,
    pub outline: BezPath,
    pub holes: Vec<BezPath>,
    /// Lines it is laid on by, with what is written at each.
    pub lines: Vec<(&'static str, Line)>,
    /// Which way it is moved to draw it clear of the others, unit, times how many joints it is from the keel.
    pub apart: Vec2,
}

/// A mould planned in pieces. Fastenings are on the right side.
#[derive(Clone, Debug, Default)]
pub(crate) struct Plan {
    pub pieces: Vec<Planned>,
    pub fastenings: Vec<Point>,
    pub remarks: Vec<String>,
}

/// Cleats, head and spall stand this far inside the mould's edge, m: clear of the planking and a plane.
const SET_BACK_M: f64 = 0.01;
/// A cleat narrower than this holds no two rows of screws, m.
const LEAST_CLEAT_M: f64 = 0.03;
/// A joint stands this far clear of a notch's side, m: less and the wood between breaks out.
const CLEAR_OF_NOTCH_M: f64 = 0.02;
/// Places tried for joints along a side. On a girth of 1.5 m they are 40 mm apart; the search for stock
/// takes the square of it.
const PLACES: usize = 36;
/// Joints of a side when stock asks for them; more are a sign that the stock is too small.
const MOST_JOINTS: usize = 4;
/// A chord longer than this many limbs runs down the limb, not across it.
const ACROSS: f64 = 1.5;
/// Turns within a lap that differ by less are one turn, radians: then no place is the tightest.
const SAME_TURN: f64 = 0.15;
/// Places that turn more than this part of the way from the least to the greatest are in the tightest turn.
const TIGHT: f64 = 0.5;
/// Points nearer than this are one, m.
const SAME_POINT_M: f64 = 1e-7;
/// Outlines are measured on chords within this of them, m.
const MEASURE_M: f64 = 1e-4;

/// A mould's right half in pieces. `sheer` is where its edge ends and `notches` half the ribband notches'
/// width, about `ribbands`.
pub(crate) fn in_pieces(
    edge: &Edge,
    half: &Half,
    ask: &InPieces,
    limb: f64,
    notches: f64,
    ribbands: &[Place],
) -> Result<Plan, LoftError> {
    let mut plan = Plan::default();
    let Some(inner) = &half.void.open else {
        plan.remarks.push("no wider than its limbs: it is not in pieces".into());
        let (outline, holes) = half.whole();
        let one = piece(Part::Mould, String::new(), true, outline, holes, Vec2::ZERO);
        fits(&one, ask.stock)?;
        plan.pieces.push(one);
        return Ok(plan);
    };
    let side = Side {
        edge,
        half,
        outer: half.outer.segments().collect(),
        inner: inner.segments().collect(),
        limb,
        lap: ask.lap.unwrap_or(limb),
        notches: ribbands.iter().map(|p| edge.girth(*p)).collect(),
        notch: notches,
        foot: edge.girth(half.from),
        sheer: edge.girth(edge.end()),
        head: if ask.head { limb } else { 0.0 },
    };
    let joints = if ask.joints.is_empty() {
        side.chosen(ask.stock)?
    } else {
        side.stated(&ask.joints, &mut plan.remarks)?
    };
    side.check_laps(&joints)?;
    for i in 0..=joints.len() {
        let (low, high) = (i.checked_sub(1).map(|k| &joints[k]), joints.get(i));
        let one = side.between(low, high, i, joints.len());
        fits(&one, ask.stock)?;
        plan.pieces.push(one);
    }
    for (i, joint) in joints.iter().enumerate() {
        let name = |k: usize| plan.pieces[k].name.clone();
        let name = format!("CLEAT {} TO {}", name(i), name(i + 1));
        let (cleat, fastenings) = side.cleat(joint, name)?;
        plan.pieces.push(cleat);
        plan.fastenings.extend(fastenings);
    }
    Ok(plan)
}

/// The head: across the limbs, its upper edge level with the sheer.
pub(crate) fn head(
    edge: &Edge,
    half: &Half,
    width: f64,
    limb: Option<f64>,
) -> Result<(Planned, Vec<Point>), LoftError> {
    let top = edge.point(edge.end()).y;
    across(half, (top - width, top), limb, SET_BACK_M, None, Part::Head)
}

/// The cross spall, its upper edge on the spall line.
pub(crate) fn spall(
    half: &Half,
    height: f64,
    board: SpallBoard,
    limb: Option<f64>,
) -> Result<(Planned, Vec<Point>), LoftError> {
    across(half, (height - board.width, height), limb, 0.0, board.lap, Part::Spall)
}

/// A board across both limbs between two heights, its ends square, `set_back` inside the edge or lapping the
/// limbs by `lap`.
fn across(
    half: &Half,
    (low, high): (f64, f64),
    limb: Option<f64>,
    set_back: f64,
    lap: Option<f64>,
    part: Part,
) -> Result<(Planned, Vec<Point>), LoftError> {
    let outline = half.outline();
    let name = if part == Part::Head { "HEAD" } else { "SPALL" };
    let limbs: Vec<(f64, f64)> = [low, 0.5 * (low + high), high - SAME_POINT_M]
        .into_iter()
        .filter_map(|z| {
            let lines = crate::marks::stretches(&outline, &[], Point::new(0.0, z), Vec2::new(1.0, 0.0));
            let outermost = lines.into_iter().max_by(|a, b| a.p1.x.total_cmp(&b.p1.x))?;
            Some((outermost.p0.x - crate::marks::MARK_INSET_M, outermost.p1.x + crate::marks::MARK_INSET_M))
        })
        .collect();
    if limbs.len() < 3 {
        return Err(LoftError::OffTheLimbs { what: name.to_lowercase(), low, high });
    }
    let outer = limbs.iter().map(|l| l.1).fold(f64::INFINITY, f64::min);
    let inner = limbs.iter().map(|l| l.0).fold(0.0, f64::max);
    let wood = outer - inner - set_back;
    if let Some(lap) = lap.filter(|lap| *lap > wood) {
        return Err(LoftError::LapTooLong { lap, piece: "limb".into(), length: wood });
    }
    let end = lap.map_or(outer - set_back, |lap| inner + lap);
    let mut path = BezPath::new();
    path.move_to((-end, low));
    [(end, low), (end, high), (-end, high)].into_iter().for_each(|p| path.line_to(p));
    path.close_path();
    let mut lines = vec![("CL", Line::new((0.0, low), (0.0, high)))];
    if limb.is_some() && inner > LEAST_CLEAT_M {
        lines.push(("LIMB", Line::new((inner, low), (inner, high))));
        lines.push(("LIMB", Line::new((-inner, low), (-inner, high))));
    }
    let span = (end - inner, high - low);
    let fastenings = [(0.3, 0.3), (0.7, 0.7)].map(|(a, b)| Point::new(inner + a * span.0, low + b * span.1));
    let mut made = piece(part, name.into(), true, path, Vec::new(), Vec2::ZERO);
    made.lines = lines;
    Ok((made, fastenings.into()))
}

fn piece(
    part: Part,
    name: String,
    astride: bool,
    outline: BezPath,
    holes: Vec<BezPath>,
    apart: Vec2,
) -> Planned {
    Planned { part, name, astride, outline, holes, lines: Vec::new(), apart }
}

fn fits(piece: &Planned, stock: Option<Stock>) -> Result<(), LoftError> {
    let Some(stock) = stock else { return Ok(()) };
    let needs = board(&points_of(piece.outline.segments()), Some(stock));
    if needs.fits(stock) {
        return Ok(());
    }
    let name = if piece.name.is_empty() { "mould".to_owned() } else { piece.name.to_lowercase() };
    Err(LoftError::DoesNotFit { piece: name, needs, stock })
}

pub(crate) fn points_of(path: impl IntoIterator<Item = PathSeg>) -> Vec<Point> {
    let mut points = Vec::new();
    let path = path.into_iter().flat_map(|s| [PathEl::MoveTo(s.start()), s.as_path_el()]);
    kurbo::flatten(path, MEASURE_M, |el| {
        if let PathEl::MoveTo(p) | PathEl::LineTo(p) = el {
            points.push(p);
        }
    });
    points
}

/// A place on a path.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub(crate) struct At {
    index: usize,
    t: f64,
}

impl At {
    pub fn start() -> At {
        At { index: 0, t: 0.0 }
    }

    /// The end of a path that has segments.
    pub fn end(path: &[PathSeg]) -> At {
        At { index: path.len().saturating_sub(1), t: 1.0 }
    }

    pub fn point(self, path: &[PathSeg]) -> Point {
        path[self.index].eval(self.t)
    }
}

/// A joint: from `p` on the edge straight to `q` on the limb's inner edge.
#[derive(Clone, Copy, Debug)]
struct Joint {
    girth: f64,
    p: Point,
    q: Point,
    along: Vec2,
    outer: At,
    inner: At,
}

/// One side of a mould, to be jointed.
struct Side<'a> {
    edge: &'a Edge,
    half: &'a Half,
    /// From the foot on the centreline up to the top of the horn.
    outer: Vec<PathSeg>,
    /// From the top down to the centreline.
    inner: Vec<PathSeg>,
    limb: f64,
    lap: f64,
    /// Girths of the ribband notches, and half their width.
    notches: Vec<f64>,
    notch: f64,
    foot: f64,
    sheer: f64,
    /// What a head takes up below the sheer.
    head: f64,
}

impl Side<'_> {
    /// The joint square to the edge at a girth.
    fn joint(&self, girth: f64) -> Result<Joint, LoftError> {
        let place = self.edge.at_girth(girth);
        let (p, along) = (self.edge.point(place), self.edge.tangent(place));
        let inward = -self.edge.outward(place);
        let off = || LoftError::JointOffTheLimb { height: p.y };
        let notched = self.notches.iter().any(|n| (n - girth).abs() < self.notch + CLEAR_OF_NOTCH_M);
        let (outer, gap) = nearest(&self.outer, p);
        if (self.notch > 0.0 && notched) || gap > SAME_POINT_M {
            return Err(LoftError::JointInNotch { height: p.y });
        }
        let reach = ACROSS * self.limb;
        let ray = Line::new(p, p + inward * reach);
        let crossings = |path: &[PathSeg]| -> Vec<(f64, At)> {
            let one = |(index, s): (usize, &PathSeg)| {
                let all = s.intersect_line(ray).into_iter();
                all.map(|i| (i.line_t * reach, At { index, t: i.segment_t })).collect::<Vec<_>>()
            };
            path.iter().enumerate().flat_map(one).collect()
        };
        let first = crossings(&self.inner).into_iter().min_by(|a, b| a.0.total_cmp(&b.0));
        let (length, inner) = first.ok_or_else(off)?;
        let cut_before = |(d, _): &(f64, At)| *d > 10.0 * SAME_POINT_M && *d < length;
        if crossings(&self.outer).iter().any(cut_before) {
            return Err(off());
        }
        let q = self.inner[inner.index].eval(inner.t);
        Ok(Joint { girth, p: self.outer[outer.index].eval(outer.t), q, along, outer, inner })
    }

    /// The joints that were asked for, where they cross this mould.
    fn stated(&self, at: &[JointAt], remarks: &mut Vec<String>) -> Result<Vec<Joint>, LoftError> {
        let sheer = self.edge.point(self.edge.end());
        let mut joints = Vec::new();
        for joint in at {
            let (direction, value, said) = match *joint {
                JointAt::Height(z) if z >= sheer.y => {
                    return Err(LoftError::JointAboveSheer { height: z, sheer: sheer.y });
                }
                JointAt::Height(z) => (Vec2::new(0.0, 1.0), z, format!("{z:.3} m up")),
                JointAt::HalfBreadth(y) => (Vec2::new(1.0, 0.0), y, format!("{y:.3} m out")),
            };
            let crossed = self.edge.crossings(direction, value).into_iter().find(|p| *p >= self.half.from);
            match crossed {
                Some(place) => joints.push(self.joint(self.edge.girth(place))?),
                None => remarks.push(format!("the joint {said} does not cross this mould")),
            }
        }
        if joints.is_empty() {
            let chosen = self.chosen(None)?;
            let spot = chosen[0].p;
            remarks.push(format!("it is jointed {:.3} m out and {:.3} m up instead", spot.x, spot.y));
            return Ok(chosen);
        }
        joints.sort_by(|a, b| a.girth.total_cmp(&b.girth));
        Ok(joints)
    }

    /// The fewest joints that leave pieces the stock holds, and of those the ones that leave the longest
    /// piece shortest; away from the tightest turn, and where a cleat finds room.
    fn chosen(&self, stock: Option<Stock>) -> Result<Vec<Joint>, LoftError> {
        let (from, to) = (self.foot + self.lap, self.sheer - self.lap - self.head);
        let places = (0..PLACES).map(|i| from + (to - from) * (i as f64 + 0.5) / PLACES as f64);
        let sound = |g: f64| {
            let joint = (from < to).then(|| self.joint(g).ok())??;
            self.cleat(&joint, String::new()).ok()?;
            Some(joint)
        };
        let sound: Vec<(Joint, f64)> = places.filter_map(sound).map(|j| (j, self.turn(j.girth))).collect();
        let turns = sound.iter().map(|(_, turn)| *turn);
        let (least, most) =
            turns.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), turn| (a.min(turn), b.max(turn)));
        let gentle = |turn: f64| most - least < SAME_TURN || turn < least + TIGHT * (most - least);
        let away: Vec<Joint> = sound.iter().filter(|(_, turn)| gentle(*turn)).map(|(j, _)| *j).collect();
        if away.is_empty() {
            return Err(LoftError::NoJoint { lap: self.lap, limb: self.limb });
        }
        // A board may be so narrow that the turn itself must be jointed.
        let all: Vec<Joint> = sound.iter().map(|(j, _)| *j).collect();
        self.fewest(&away, stock).or_else(|_| self.fewest(&all, stock))
    }

    /// The fewest of these joints that do.
    fn fewest(&self, joints: &[Joint], stock: Option<Stock>) -> Result<Vec<Joint>, LoftError> {
        // What the piece between two joints takes; the ends are the keel and the top.
        let n = joints.len();
        let takes = |a: usize, b: usize| -> f64 {
            let (low, high) = (a.checked_sub(1).map(|k| &joints[k]), joints.get(b.wrapping_sub(1)));
            if let (Some(low), Some(high)) = (low, high)
                && high.girth - low.girth < 2.0 * self.lap
            {
                return f64::INFINITY;
            }
            let board = board(&points_of(self.between(low, high, a, n).outline.segments()), stock);
            if stock.is_none_or(|stock| board.fits(stock)) { board.length } else { f64::INFINITY }
        };
        // best[b]: the longest piece up to joint b, and the joints it takes.
        let mut best: Vec<(f64, Vec<usize>)> = (1..=n).map(|b| (takes(0, b), vec![b])).collect();
        for _ in 0..MOST_JOINTS {
            let ends = best.iter().map(|(longest, at)| (longest.max(takes(at[at.len() - 1], n + 1)), at));
            if let Some((longest, at)) = ends.min_by(|a, b| a.0.total_cmp(&b.0))
                && longest.is_finite()
            {
                return Ok(at.iter().map(|b| joints[b - 1]).collect());
            }
            best = (1..=n)
                .map(|b| {
                    let ways = best[..b - 1].iter().filter(|(longest, _)| longest.is_finite());
                    let way = ways
                        .map(|(longest, at)| (longest.max(takes(at[at.len() - 1], b)), at))
                        .min_by(|a, b| a.0.total_cmp(&b.0));
                    way.map_or((f64::INFINITY, vec![b]), |(longest, at)| {
                        (longest, at.iter().copied().chain([b]).collect())
                    })
                })
                .collect();
        }
        let stock = stock.unwrap_or(Stock { length: 0.0, width: 0.0 });
        Err(LoftError::StockTooSmall { joints: MOST_JOINTS, stock })
    }

    /// How far the edge turns within a lap of a girth, radians.
    fn turn(&self, girth: f64) -> f64 {
        let ends = [girth - self.lap, girth + self.lap].map(|g| self.edge.tangent(self.edge.at_girth(g)));
        ends[0].cross(ends[1]).atan2(ends[0].dot(ends[1])).abs()
    }

    fn check_laps(&self, joints: &[Joint]) -> Result<(), LoftError> {
        let girths: Vec<f64> =
            [self.foot].into_iter().chain(joints.iter().map(|j| j.girth)).chain([self.sheer]).collect();
        for (i, ends) in girths.windows(2).enumerate() {
            // A futtock between two joints has a lap from either end.
            let laps = if i == 0 || i == joints.len() { 1.0 } else { 2.0 };
            let length = (ends[1] - ends[0]) / laps;
            if self.lap > length {
                let piece = self.name(i, joints.len()).to_lowercase();
                return Err(LoftError::LapTooLong { lap: self.lap, piece, length });
            }
        }
        Ok(())
    }

    fn name(&self, i: usize, joints: usize) -> String {
        match (i, joints) {
            (0, _) => "FLOOR".to_owned(),
            (_, 1) => "FUTTOCK".to_owned(),
            (i, _) => format!("FUTTOCK {i}"),
        }
    }

    /// The piece between two joints; from the keel, or to the top, where there is none.
    fn between(&self, low: Option<&Joint>, high: Option<&Joint>, i: usize, joints: usize) -> Planned {
        let start = At { index: 0, t: 0.0 };
        let end = |path: &[PathSeg]| At { index: path.len() - 1, t: 1.0 };
        let up =
            part(&self.outer, low.map_or(start, |j| j.outer), high.map_or(end(&self.outer), |j| j.outer));
        let down =
            part(&self.inner, high.map_or(start, |j| j.inner), low.map_or(end(&self.inner), |j| j.inner));
        let mut path = BezPath::new();
        path.move_to(up[0].start());
        up.iter().for_each(|s| path.push(s.as_path_el()));
        path.line_to(down[0].start());
        down.iter().for_each(|s| path.push(s.as_path_el()));
        let name = self.name(i, joints);
        let Some(low) = low else {
            // Back up the other side: a floor is both sides in one.
            let mut other = mirrored(&path).reverse_subpaths();
            path.extend(other.elements().iter().skip(1).copied().collect::<Vec<_>>());
            path.close_path();
            other = path;
            return piece(Part::Floor, name, true, other, self.half.holes(), Vec2::ZERO);
        };
        path.close_path();
        piece(Part::Futtock, name, false, path, Vec::new(), low.along * i as f64)
    }

    /// The cleat over a joint: as wide as the limb leaves it over both laps. And where it is fastened.
    fn cleat(&self, joint: &Joint, name: String) -> Result<(Planned, Vec<Point>), LoftError> {
        let inward = (joint.q - joint.p).normalize();
        let along = Vec2::new(inward.y, -inward.x);
        let spot = |s: f64, d: f64| joint.p + along * s + inward * d;
        // Depths of the paths within a lap of the joint, counted in from its outer end.
        let depths = |path: &[PathSeg]| -> Vec<f64> {
            let near = |q: &Point| (*q - joint.p).hypot() < 2.0 * self.lap + 2.0 * self.limb;
            let near = path.iter().filter(|s| near(&s.start()) || near(&s.end()));
            let points = points_of(near.copied());
            let local: Vec<(f64, f64)> =
                points.iter().map(|q| ((*q - joint.p).dot(along), (*q - joint.p).dot(inward))).collect();
            let within = |w: &[(f64, f64)]| -> Vec<f64> {
                let ((s0, d0), (s1, d1)) = (w[0], w[1]);
                if s0.max(s1) < -self.lap || s0.min(s1) > self.lap {
                    return Vec::new();
                }
                let at = |s: f64| if s1 == s0 { d0 } else { d0 + (d1 - d0) * (s - s0) / (s1 - s0) };
                vec![at(s0.clamp(-self.lap, self.lap)), at(s1.clamp(-self.lap, self.lap))]
            };
            local.windows(2).flat_map(within).collect()
        };
        let middle = 0.5 * joint.p.distance(joint.q);
        let outer = depths(&self.outer).into_iter().filter(|d| *d < 2.0 * middle).fold(0.0, f64::max);
        let inner = depths(&self.inner).into_iter().filter(|d| *d > 0.0).fold(2.0 * middle, f64::min);
        let (from, to) = (outer + SET_BACK_M, inner);
        if to - from < LEAST_CLEAT_M {
            let width = (to - from).max(0.0);
            return Err(LoftError::CleatTooNarrow { height: joint.p.y, width, lap: self.lap });
        }
        let mut path = BezPath::new();
        // Inward is left of along: anticlockwise.
        path.move_to(spot(-self.lap, from));
        [(self.lap, from), (self.lap, to), (-self.lap, to)]
            .into_iter()
            .for_each(|(s, d)| path.line_to(spot(s, d)));
        path.close_path();
        let mut cleat = piece(Part::Cleat, name, false, path, Vec::new(), Vec2::ZERO);
        cleat.lines.push(("JOINT", Line::new(spot(0.0, from), spot(0.0, to))));
        let row = |s: f64, d: f64| spot(s * self.lap, from + d * (to - from));
        // Two to a piece, out of line with each other, so that they do not split it along one grain.
        let fastenings = vec![row(-0.7, 0.7), row(-0.3, 0.3), row(0.3, 0.7), row(0.7, 0.3)];
        Ok((cleat, fastenings))
    }
}

pub(crate) fn nearest(path: &[PathSeg], p: Point) -> (At, f64) {
    let mut best = (At { index: 0, t: 0.0 }, f64::INFINITY);
    for (index, s) in path.iter().enumerate() {
        let near = s.nearest(p, 1e-12);
        if near.distance_sq.sqrt() < best.1 {
            best = (At { index, t: near.t }, near.distance_sq.sqrt());
        }
    }
    best
}

/// The part of a path between two places, in order.
pub(crate) fn part(path: &[PathSeg], from: At, to: At) -> Vec<PathSeg> {
    let mut out = Vec::new();
    for (index, s) in path.iter().enumerate().take(to.index + 1).skip(from.index) {
        let t0 = if index == from.index { from.t } else { 0.0 };
        let t1 = if index == to.index { to.t } else { 1.0 };
        if t1 > t0 {
            out.push(s.subsegment(t0..t1));
        }
    }
    out
}
