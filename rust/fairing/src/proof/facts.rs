//! Facts that the readings contradict: where the transom stands, and where the stations do.
//!
//! A fact that is off puts all readings off that were taken by it. How their misfits go with it tells, at the hull
//! they make and without another solve, how far off the fact would best be and what that would gain (the score test:
//! Rao, Proceedings of the Cambridge Philosophical Society 44, 1948). Only where that is much is the survey faired
//! with the fact moved, and the evidence of both compared, the slip paid for as a reading's is.

use scrieve_notation::Mark;
use scrieve_offsets::{Axis, Block, CellId, LineReading, ProfileSpot, RefLine, Survey, TransomPlane};

use crate::Options;
use crate::evidence::{Out, Settled, Which, odds, settle};
use crate::fact_check::{FORWARD, head_of_post, rabbet_at_foot, same_place};
use crate::fit::{Fit, Premise};
use crate::gp::{Solved, dot};
use crate::joint::{Joint, Row};
use crate::judge::{CLEARLY, WORTH_SAYING, framed};

/// A fact is faired anew only if moving it promises so much, as a log of evidence: a hull that has made room for the error, by
/// rougher parameters, shows little of what moving it gains, and a sound one promises less than two.
const PROMISING: f64 = 4.0;
/// A fact is held against a table only if moving it gains so much, and moves it by so many standard deviations: a reading
/// that is off puts itself off, a fact all that was taken by it.
const SURE: (f64, f64) = (5.0, 8.0);
/// And is said to be doubtful, the hull faired as it is given, where moving it explains the readings better. About as well is
/// not enough: a sound hull is smooth enough for that now and then.
const DOUBTFUL: (f64, f64) = (3.0, 5.0);
/// Of a transom that rakes forward so much will do.
const AGAINST: (f64, f64) = (WORTH_SAYING, 4.0);
/// The head of a stem or post is said to be doubtful where that is about as likely as not: few readings tell it, and moving a
/// sound one explains far less.
const HEAD_DOUBTFUL: (f64, f64) = (0.0, 4.0);
/// A half-siding is another if it differs by this part of itself.
const ANOTHER: f64 = 0.2;
/// So many standard deviations off, a fact can be passed over: what is less is not sure, and a slip makes the hull rougher.
const UNSEEN: f64 = SURE.1;
/// A transom that could be off by less than this unseen, m, is told well enough.
const ALONE: f64 = 0.05;
/// So is a spot of a profile, square to it.
const SPOT_ALONE: f64 = 0.03;
/// So is half the siding: by less than this, m, or this part of itself.
const SIDING_ALONE: (f64, f64) = (0.0127, 0.25);
/// Of foot and head exchanged, as a log: one slip in a handful, and not of any size.
const EXCHANGED: f64 = -7.6;
/// Of a foot and the rabbet's end, which are one place, the rest of the rabbet bears one out by so much, as a log.
const BORNE_OUT: f64 = WORTH_SAYING;
/// Two facts explain it about as well if they gain so little of one another.
const RIVAL: f64 = 6.0;
/// An end station by which something is doubted is moved by so much to begin with, m.
const ASIDE: [f64; 2] = [0.06, -0.06];
/// The head of a profile of fewer spots is not asked.
const FEWEST_SPOTS: usize = 4;
/// She minds an end station that is off, and a head, moved by half of that, by less than this, as a log; sound ones that are
/// told well by more.
const MINDS: (f64, f64) = (14.0, 0.0);
/// So many at most are.
const TRIED: usize = 3;
/// Rounds in which a moved fact finds its place.
const ROUNDS: usize = 5;
/// A fact moved so that this is lost, as a log, is moved no further.
const HOPELESS: f64 = -20.0;
/// What a look says is still off is about half of it: parameters have taken up the rest.
const BEYOND: f64 = 1.6;
/// A fact is moved by so much to see what goes with it, m.
const STEP: f64 = 1e-3;
/// A fact that moves no reading by more of its tolerances than this does not matter.
const MATTERS: f64 = 2.0;
/// Farther than this, m, what the first look says is no guide: the fact is moved step by step.
const FARTHEST: f64 = 0.4;

/// A fact, and what it would better be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct OffFact {
    /// None of half the siding: it is no reading of the table's.
    pub cell: Option<CellId>,
    /// What it says, m.
    pub read: f64,
    /// What the readings expect, m, and one standard deviation of that.
    pub expected: f64,
    pub sd: f64,
}

impl OffFact {
    /// Its name, for a remark.
    pub fn name(&self, survey: &Survey) -> String {
        match self.cell.map(|cell| (cell.block, cell.row, cell.column)) {
            None => "half the siding of the backbone".to_string(),
            Some((Block::Transom, 0, 1)) => "the height of the transom's foot".to_string(),
            Some((Block::Transom, 0, _)) => "the transom's foot".to_string(),
            Some((Block::Transom, ..)) => "the transom's head".to_string(),
            Some((Block::StemProfile, ..)) => "the head of the stem".to_string(),
            Some((Block::SternProfile, ..)) => "the head of the sternpost".to_string(),
            Some((.., column)) => format!("station {} of {}", column + 1, survey.stations.len()),
        }
    }

    /// What is to be said of it; `taken`, the hull is faired by what is expected.
    pub fn remark(&self, survey: &Survey, taken: bool) -> String {
        let (read, expected, name) = (self.read, self.expected, self.name(survey));
        if self.cell.is_none() {
            let wide =
                if expected < 0.75 * read { "; it may be the whole siding that was given" } else { "" };
            let (read, expected) = (1e3 * read, 1e3 * expected);
            return if taken {
                format!(
                    "{name} is given as {read:.0} mm; the planking beside stem and keel would have it at {expected:.0} mm, and \
                     she is faired by that{wide}"
                )
            } else {
                format!(
                    "{name} is given as {read:.0} mm; the planking beside stem and keel would rather have it at \
                     {expected:.0} mm{wide}"
                )
            };
        }
        if self.cell.is_some_and(|cell| cell == foot_up()) {
            return format!(
                "{name} is given as {read:.3} m; the rabbet ends on the transom {expected:.3} m up, as the rest of it bears \
                 out, and the transom is laid by that"
            );
        }
        if taken {
            format!(
                "{name} is given as {read:.3} m from the stem; the rest of the boat puts it at {expected:.3} m, and she is \
                 faired by that"
            )
        } else {
            format!(
                "{name} is given as {read:.3} m from the stem; the rest of the boat would rather have it at {expected:.3} m"
            )
        }
    }
}

/// A fact held against a table: `taken`, the boat is faired by what is expected of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Doubted {
    pub off: OffFact,
    pub taken: bool,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Fact {
    /// How far aft the transom's foot stands, and its head.
    Foot,
    Head,
    /// How far up the foot is.
    FootUp,
    /// Both, each taken for the other.
    Rake,
    /// How far aft a station stands.
    Station(usize),
    /// How far aft the head of the stem stands, or of a sternpost that no transom stands on.
    PostHead(bool),
    /// Half the siding of the backbone, where no row tells it.
    Siding,
}

/// A survey read with a fact otherwise, and its evidence less what such a slip costs.
#[derive(Debug)]
pub(crate) struct Otherwise {
    pub survey: Survey,
    pub facts: Vec<OffFact>,
    pub odds: f64,
    /// What it gains on the survey as given.
    pub gain: f64,
    /// Whether that is enough to fair by it.
    pub sure: bool,
    /// What is taken for granted of the hull.
    pub premise: Premise,
}

/// Where a transom's foot and head stand.
fn cell(head: bool) -> CellId {
    CellId { block: Block::Transom, row: usize::from(head), column: 0 }
}

/// How far up its foot is.
fn foot_up() -> CellId {
    CellId { column: 1, ..cell(false) }
}

impl Fact {
    fn cells(self, survey: &Survey) -> Vec<CellId> {
        match self {
            Fact::PostHead(stem) => {
                let head = if stem { survey.stem.first() } else { survey.stern.first() };
                head.map(|head| CellId { row: 0, ..head.cell }).into_iter().collect()
            }
            Fact::Siding => Vec::new(),
            Fact::Foot => vec![cell(false)],
            Fact::Head => vec![cell(true)],
            Fact::FootUp => vec![foot_up()],
            Fact::Rake => vec![cell(false), cell(true)],
            Fact::Station(column) => vec![CellId { block: Block::Stations, row: 0, column }],
        }
    }

    /// Those of a survey that may be doubted.
    fn all(survey: &Survey) -> Vec<Fact> {
        let on_transom = |column: usize| survey.lines.iter().any(|l| l.on_transom && l.cell.column == column);
        let stations = (0..survey.stations.len()).filter(|&column| !on_transom(column)).map(Fact::Station);
        let transom = survey.transom.is_some() && survey.lines.iter().any(|l| l.on_transom);
        let of_transom = [Fact::Foot, Fact::Head].into_iter().filter(|_| transom);
        let open = |fact: &Fact| !fact.cells(survey).iter().any(|cell| survey.held.contains(cell));
        let told = |l: &LineReading| l.line == RefLine::Rabbet && l.axis == Axis::HalfBreadth;
        let siding = survey.half_siding > 0.0 && !survey.lines.iter().any(told);
        of_transom.chain(stations).chain(siding.then_some(Fact::Siding)).filter(open).collect()
    }

    /// The first or last station that is not on a transom.
    fn end(survey: &Survey, first: bool) -> Option<Fact> {
        let mut stations: Vec<usize> = Fact::all(survey)
            .into_iter()
            .filter_map(|fact| if let Fact::Station(column) = fact { Some(column) } else { None })
            .collect();
        stations.sort_by(|a, b| survey.stations[*a].total_cmp(&survey.stations[*b]));
        let all = survey.lines.iter().filter(|l| !l.on_transom).map(|l| l.x);
        let end = if first { all.fold(f64::MAX, f64::min) } else { all.fold(f64::MIN, f64::max) };
        let column = if first { *stations.first()? } else { *stations.last()? };
        // One that is held is not asked, nor the next in its place.
        ((survey.stations[column] - end).abs() < STEP).then_some(Fact::Station(column))
    }

    /// The head of a stem or a sternpost told by enough spots to say where it would be without it.
    fn head(survey: &Survey, stem: bool) -> Option<Fact> {
        let spots = if stem { &survey.stem } else { &survey.stern };
        let open = spots.first().is_some_and(|head| {
            head.mark != Mark::Held && !survey.held.contains(&CellId { row: 0, ..head.cell })
        });
        (open && spots.len() >= FEWEST_SPOTS && (stem || survey.transom.is_none()))
            .then_some(Fact::PostHead(stem))
    }

    /// The survey with the fact moved aft by so much, m.
    fn moved(self, survey: &Survey, by: f64) -> Survey {
        let mut moved = survey.clone();
        match (self, moved.transom.as_mut()) {
            (Fact::Siding, _) => moved.half_siding += by,
            (Fact::Station(column), _) => {
                let x = survey.stations[column];
                moved.stations[column] += by;
                let lines = moved.lines.iter_mut().filter(|l| !l.on_transom && l.cell.column == column);
                lines.for_each(|l| l.x += by);
                let here = |cell: CellId, at: f64| {
                    if cell.block == Block::Points { at == x } else { cell.column == column }
                };
                let spots = moved.spots.iter_mut().filter(|s| !s.on_transom && here(s.cell, s.x));
                spots.for_each(|s| s.x += by);
            }
            (Fact::PostHead(stem), _) => {
                let spots = if stem { &mut moved.stem } else { &mut moved.stern };
                spots.iter_mut().take(1).for_each(|head| head.x += by);
            }
            (Fact::Foot, Some(t)) => t.foot.0 += by,
            (Fact::Head, Some(t)) => t.head.0 += by,
            (Fact::FootUp, Some(t)) => t.foot.1 += by,
            (Fact::Rake, Some(t)) => std::mem::swap(&mut t.foot.0, &mut t.head.0),
            (_, None) => {}
        }
        let of_transom = matches!(self, Fact::Foot | Fact::Head | Fact::FootUp | Fact::Rake);
        if let (Some(plane), true) = (moved.transom, of_transom) {
            onto(&mut moved, &plane);
        }
        moved
    }

    /// What it says, m.
    fn read(survey: &Survey, cell: Option<CellId>) -> f64 {
        let Some(cell) = cell else { return survey.half_siding };
        match (cell.block, survey.transom) {
            (Block::Transom, Some(t)) => {
                let end = if cell.row == 0 { t.foot } else { t.head };
                if cell.column == 0 { end.0 } else { end.1 }
            }
            (Block::StemProfile, _) => survey.stem.first().map_or(0.0, |head| head.x),
            (Block::SternProfile, _) => survey.stern.first().map_or(0.0, |head| head.x),
            _ => survey.stations.get(cell.column).copied().unwrap_or_default(),
        }
    }

    /// Whether a reading was taken by it, or next to that, where the error would be blamed on it.
    fn bears(self, survey: &Survey, which: Which) -> bool {
        let cell = which.cell(survey);
        let own = |column: usize| match self {
            Fact::Station(own) => own.abs_diff(column) <= 1,
            Fact::Siding => true,
            Fact::PostHead(true) => column <= 1,
            Fact::PostHead(false) => column + 2 >= survey.stations.len(),
            _ => survey.lines.iter().any(|l| l.on_transom && l.cell.column.abs_diff(column) <= 1),
        };
        match cell.block {
            Block::Points => false,
            // The station next to a profile puts the planking that runs to it off.
            Block::StemProfile => match self {
                Fact::Station(own) => own <= 1,
                _ => self == Fact::PostHead(true),
            },
            Block::SternProfile => match self {
                Fact::Station(own) => own + 2 >= survey.stations.len(),
                _ => self == Fact::PostHead(false),
            },
            _ => own(cell.column),
        }
    }
}

/// Whether a survey's transom has its head forward of its foot.
fn rakes_forward(survey: &Survey) -> bool {
    survey.transom.is_some_and(|t| t.head.0 < t.foot.0 - FORWARD)
}

/// Readings on the transom follow its plane.
fn onto(survey: &mut Survey, plane: &TransomPlane) {
    let lines = survey.lines.clone();
    let other = |l: &LineReading| {
        let same = |o: &&LineReading| {
            o.line == l.line && o.axis != l.axis && o.cell.column == l.cell.column && o.on_transom
        };
        lines.iter().find(same).map(|o| o.value)
    };
    let half_siding = survey.half_siding;
    for l in survey.lines.iter_mut().filter(|l| l.on_transom) {
        let (y, z) = match (l.axis, l.line) {
            (Axis::Height, RefLine::Rabbet) => (other(l).unwrap_or(half_siding), l.value),
            (Axis::Height, _) => (other(l).unwrap_or(0.0), l.value),
            (Axis::HalfBreadth, line) => {
                let end = if line == RefLine::Rabbet { plane.foot.1 } else { plane.head.1 };
                (l.value, other(l).unwrap_or(end))
            }
        };
        l.x = plane.x(y, z);
        if let Some(station) = survey.stations.get_mut(l.cell.column) {
            *station = plane.foot.0;
        }
    }
    survey.spots.iter_mut().filter(|s| s.on_transom).for_each(|s| s.x = plane.x(s.y, s.z));
}

/// How far a fact would best be moved, m, to one standard deviation, and what that gains as far as a first look tells.
#[derive(Clone, Copy, Debug)]
struct Look {
    by: f64,
    sd: f64,
    gain: f64,
    /// How much it then moves the reading it moves most, in its tolerances.
    matters: f64,
    /// As usual parameters have it: the hull's own make little of it.
    by_usual: bool,
    /// One standard deviation of it as the hull's own have it.
    own_sd: f64,
}

impl Settled<'_> {
    /// How the misfits of all readings go with a fact, to the metre.
    fn leaning(&self, fact: Fact) -> Option<Vec<f64>> {
        let moved = fact.moved(self.fit.survey, STEP);
        let mut fit = self.fit.among(&moved);
        if fact == Fact::Siding {
            fit.widen_backbone(STEP);
        }
        self.leaning_to(&fit)
    }

    /// The same with a fit moved by a step.
    pub(crate) fn leaning_to(&self, fit: &Fit<'_>) -> Option<Vec<f64>> {
        let (rows, _) = fit.rows(&self.out);
        if rows.len() != self.rows.len() {
            return None;
        }
        let misfit = |row: &Row| row.value - self.joint.value(&row.of);
        let pairs = rows.iter().zip(&self.rows);
        Some(pairs.map(|(a, b)| (misfit(a) - misfit(b)) / STEP).collect())
    }

    /// How far the head and the foot of a stem told by these two alone could each be off, m, unseen.
    fn stem_told_alone(&self) -> [f64; 2] {
        let survey = self.fit.survey;
        let (Some(head), Some(foot)) = (survey.stem.first(), survey.stem.last()) else { return [0.0; 2] };
        let part = |z: f64| (head.z - z) / (head.z - foot.z);
        // Spots between them that lie on the straight to the last bit were put there, and tell nothing.
        let straight = |s: &ProfileSpot| (s.x - head.x - part(s.z) * (foot.x - head.x)).abs() < 1e-6;
        if head.z <= foot.z || !survey.stem.iter().all(straight) {
            return [0.0; 2];
        }
        [true, false].map(|of_head| {
            let mut moved = survey.clone();
            let share = |z: f64| if of_head { 1.0 - part(z) } else { part(z) };
            moved.stem.iter_mut().for_each(|s| s.x += STEP * share(s.z));
            let size = self.leaning_to(&self.fit.among(&moved));
            let size = size.map_or(0.0, |lean| dot(&lean, &self.joint.solved.times(&lean)));
            if size > 0.0 { UNSEEN * size.powf(-0.5) } else { 0.0 }
        })
    }

    /// How far the half-breadths and the heights of the sheer could each be off as one, m, unseen; half-breadths drawn out, too, at
    /// the greatest.
    fn sheer_told_alone(&self) -> [f64; 2] {
        let survey = self.fit.survey;
        let own = |axis: Axis| move |l: &&LineReading| l.line == RefLine::Sheer && l.axis == axis;
        let broad = survey.lines.iter().filter(own(Axis::HalfBreadth)).map(|l| l.value).fold(0.0, f64::max);
        let far = |axis: Axis, part: &dyn Fn(f64) -> f64| {
            let mut moved = survey.clone();
            let lines = moved.lines.iter_mut().filter(|l| l.line == RefLine::Sheer && l.axis == axis);
            lines.for_each(|l| l.value += STEP * part(l.value));
            let size = self.leaning_to(&self.fit.among(&moved));
            let size = size.map_or(0.0, |lean| dot(&lean, &self.joint.solved.times(&lean)));
            if size > 0.0 { UNSEEN * size.powf(-0.5) } else { 0.0 }
        };
        let drawn_out = far(Axis::HalfBreadth, &|value| value / broad.max(STEP));
        [far(Axis::HalfBreadth, &|_| 1.0).max(drawn_out), far(Axis::Height, &|_| 1.0)]
    }

    /// How far the head of each profile, and the spot between its ends that is told worst, could be off unseen, square to it, m.
    fn profiles_told_alone(&self) -> [[f64; 2]; 2] {
        [true, false].map(|stem| {
            let survey = self.fit.survey;
            let spots = if stem { &survey.stem } else { &survey.stern };
            let far = |i: usize| {
                let which = if stem { Which::Stem(i) } else { Which::Stern(i) };
                let row = self.judged.iter().position(|j| j.which == Some(which) && j.open);
                let row = row.filter(|&row| !self.left_out(row));
                row.map_or(0.0, |row| UNSEEN * self.judged[row].metres * self.joint.left_out(row).1.sqrt())
            };
            // A profile of two spots is told by these two alone, and a corner by its own.
            if spots.len() < 3 {
                return [0.0; 2];
            }
            let corner = |m: f64| if m > FARTHEST { 0.0 } else { m };
            let between = (1..spots.len() - 1).map(|i| corner(far(i))).fold(0.0, f64::max);
            [if stem || survey.transom.is_none() { far(0) } else { 0.0 }, between]
        })
    }

    /// Facts looked at by this hull's parameters, and if `stiffly` by usual ones, where an error that has made her rough
    /// still stands out; what is left out here is judged with the rest.
    fn looks(&self, facts: &[Fact], stiffly: bool) -> Vec<(Fact, Look)> {
        let solve = |joint: &Joint| {
            let mut solved = joint.solved.clone();
            for i in (0..self.judged.len()).filter(|&i| self.left_out(i)) {
                solved.weigh_down(i, -self.judged[i].added());
            }
            let alpha = solved.times(&joint.y);
            (solved, alpha)
        };
        let usual = if stiffly { self.by_usual() } else { None };
        let ways: Vec<(Solved, Vec<f64>)> = [&self.joint].into_iter().chain(&usual).map(solve).collect();
        let look = |&fact: &Fact| {
            let lean = self.leaning(fact)?;
            let look = |(solved, alpha): &(Solved, Vec<f64>)| self.look(&lean, solved, alpha);
            let own = ways.first().and_then(look)?;
            // Usual parameters make much of everything; what her own say comes first.
            let usual = ways.get(1).and_then(look).filter(|_| own.gain <= PROMISING);
            Some((fact, usual.map_or(own, |usual| Look { by_usual: true, own_sd: own.own_sd, ..usual })))
        };
        facts.iter().filter_map(look).collect()
    }

    /// How unlikely a survey's readings are, as a log, the hull's parameters and frame as they are.
    fn misfit_of(&self, survey: &Survey) -> Option<f64> {
        let (rows, _) = self.fit.among(survey).rows(&self.out);
        let joint = Joint::new(&rows, &self.fit.priors, self.joint.theta, false)?;
        Some(0.5 * dot(&joint.solved.times(&joint.y), &joint.y))
    }

    fn look(&self, lean: &[f64], solved: &Solved, alpha: &[f64]) -> Option<Look> {
        let (along, size) = (dot(lean, alpha), dot(lean, &solved.times(lean)));
        if !(along.is_finite() && size.is_finite() && size > 0.0) {
            return None;
        }
        let by = (-along / size).clamp(-FARTHEST, FARTHEST);
        let of = self.judged.iter().zip(lean).filter(|(j, _)| j.which.is_some() && j.tolerance > 0.0);
        let matters = of.map(|(j, l)| (l * by * j.metres / j.tolerance).abs()).fold(0.0, f64::max);
        let gain = 0.5 * along * along / size;
        let sd = size.powf(-0.5);
        Some(Look { by, sd, gain, matters, by_usual: false, own_sd: sd })
    }
}

/// The likeliest fact to be off, if reading it otherwise explains the readings better than what was
/// `settled` of the survey as given; and how far a transom may be off unseen.
pub(crate) fn judged(settled: &Settled<'_>, queried: &Out, options: &Options) -> Judged {
    let survey = settled.fit.survey;
    let mut looks = settled.looks(&Fact::all(survey), true);
    let told_alone = ToldAlone {
        stem: settled.stem_told_alone(),
        sheer: settled.sheer_told_alone(),
        profiles: settled.profiles_told_alone(),
        ..ToldAlone::of(&looks, survey.half_siding)
    };
    looks.retain(|(_, look)| look.gain > PROMISING && look.matters > MATTERS);
    looks.sort_by(|a, b| a.1.by_usual.cmp(&b.1.by_usual).then(b.1.gain.total_cmp(&a.1.gain)));
    looks.truncate(TRIED);
    let mut tried: Vec<(Fact, f64)> = looks.iter().map(|(fact, look)| (*fact, look.by)).collect();
    if tried.iter().any(|(fact, _)| matches!(fact, Fact::Foot | Fact::Head)) {
        tried.push((Fact::Rake, 0.0));
    }
    // A hull bends to an end station that is off, and to the head of a stem or post, and what she then says of it is no
    // guide: where something is doubted there, or she minds little if it is moved, it is tried.
    let as_given = settled.misfit_of(survey);
    let minds = |fact: Fact, by: f64| {
        let moved = settled.misfit_of(&fact.moved(survey, 0.5 * by));
        as_given.zip(moved).map_or(f64::INFINITY, |(given, moved)| moved - given)
    };
    for end in [true, false] {
        let fact = Fact::end(survey, end);
        let upset = |fact: Fact| settled.out.iter().chain(queried).any(|&which| fact.bears(survey, which));
        // A transom that rakes forward is itself at fault.
        let of_transom = !end
            && !rakes_forward(survey)
            && tried.iter().any(|(fact, _)| matches!(fact, Fact::Foot | Fact::Head));
        if let Some(fact) = fact {
            let both = upset(fact) || of_transom;
            let tries = ASIDE.map(|by| (fact, by));
            // Readings on a transom tell the station before it from both sides.
            let bends = end || survey.transom.is_none();
            tried.extend(tries.into_iter().filter(|(_, by)| both || bends && minds(fact, *by) < MINDS.0));
        }
        if let Some(head) = Fact::head(survey, end) {
            let tries = ASIDE.map(|by| (head, by));
            tried.extend(tries.into_iter().filter(|(_, by)| upset(head) || minds(head, *by) < MINDS.1));
        }
    }
    let weighed = tried.into_iter().filter_map(|(fact, by)| weigh(settled, options, fact, by));
    let mut weighed: Vec<Otherwise> = weighed.filter_map(|off| off.worth(survey)).collect();
    weighed.sort_by(|a, b| b.gain.total_cmp(&a.gain));
    let mut weighed = weighed.into_iter();
    let mut best = weighed.next();
    if let Some(best) = &mut best {
        let place =
            |fact: &OffFact| fact.cell.map(|c| (c.block, c.column * usize::from(c.block == Block::Stations)));
        let told = place(&best.facts[0]);
        // Two facts that explain it about as well are both said, and she is faired by neither.
        let rival = weighed.find(|off| place(&off.facts[0]) != told);
        if let Some(rival) = rival.filter(|rival| best.gain - rival.gain < RIVAL) {
            best.facts.extend(rival.facts);
            best.sure = false;
        }
    }
    Judged { likeliest: best, told_alone }
}

impl Otherwise {
    /// It, if it explains the readings so much better that it is to be said.
    fn worth(self, survey: &Survey) -> Option<Self> {
        let best = self;
        let by = |(gain, sds): (f64, f64)| {
            best.gain > gain && best.facts.iter().all(|f| (f.read - f.expected).abs() > sds * f.sd)
        };
        // Half the siding is only said where it is plainly another: sides that lean at the rabbet pass for a little of it.
        let siding = best.facts.iter().find(|f| f.cell.is_none());
        if siding.is_some_and(|f| (f.read - f.expected).abs() < ANOTHER * f.read) {
            return None;
        }
        // What the table itself speaks against needs no more than a word from the rest of the boat.
        let of_head =
            |f: &OffFact| f.cell.is_some_and(|c| matches!(c.block, Block::StemProfile | Block::SternProfile));
        let least = if best.facts.iter().any(of_head) {
            HEAD_DOUBTFUL
        } else if rakes_forward(survey) {
            AGAINST
        } else {
            DOUBTFUL
        };
        let (sure, doubtful) = (by(SURE), by(least));
        // No transom rakes forward: one that would is off, but not by so much, and she is not faired so.
        let plumb = rakes_forward(&best.survey) && !rakes_forward(survey);
        let end = |head: bool| Fact::read(survey, Some(cell(!head)));
        let to_plumb = |f: OffFact| match f.cell {
            Some(c) if plumb && c.block == Block::Transom => OffFact { expected: end(c.row == 1), ..f },
            _ => f,
        };
        let facts = best.facts.iter().copied().map(to_plumb).collect();
        doubtful.then_some(Otherwise { sure: sure && !plumb, facts, ..best })
    }
}

/// The first or last station of a survey off, if that explains better what is doubted of a profile there, to gain more than
/// `gain`.
pub(crate) fn end_station(
    settled: &Settled<'_>,
    options: &Options,
    stem: bool,
    gain: f64,
) -> Option<Otherwise> {
    let survey = settled.fit.survey;
    let fact = Fact::end(survey, stem)?;
    let weighed = ASIDE.into_iter().filter_map(|by| weigh(settled, options, fact, by));
    let best = weighed.max_by(|a, b| a.gain.total_cmp(&b.gain)).filter(|best| best.gain > gain)?;
    best.worth(survey)
}

/// The height of a transom's foot that the rabbet on the transom contradicts, borne out by the rest of the rabbet or by the head
/// of a sternpost: of three the two that agree are believed.
pub(crate) fn foot_off_rabbet(settled: &Settled<'_>) -> Option<OffFact> {
    let survey = settled.fit.survey;
    let foot = survey.transom?.foot;
    let which = rabbet_at_foot(survey)?;
    let rabbet = &survey.lines[which];
    let apart = foot.1 - rabbet.value;
    if apart.abs() <= same_place(survey) || survey.held.contains(&foot_up()) {
        return None;
    }
    let i = settled.judged.iter().position(|j| j.which == Some(Which::Line(which)))?;
    if settled.left_out(i) {
        return None;
    }
    let (off, variance) = settled.joint.left_out(i);
    let metres = settled.judged[i].metres;
    let (off, sd) = (off * metres, variance.sqrt() * metres);
    let foot_off = off + apart;
    // The rest of the rabbet runs to the one or to the other.
    let borne_out = 0.5 * (foot_off * foot_off - off * off) / (sd * sd);
    let told_again =
        head_of_post(survey).is_some_and(|head| (head.z - rabbet.value).abs() < 0.5 * same_place(survey));
    let sd = rabbet.sd.max(survey.lines[which].tolerance);
    (told_again || borne_out > BORNE_OUT).then_some(OffFact {
        cell: Some(foot_up()),
        read: foot.1,
        expected: rabbet.value,
        sd,
    })
}

/// How far a transom's foot and head could each be off, m, without any other reading speaking against it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct ToldAlone {
    pub foot: f64,
    pub head: f64,
    /// And half the siding, which is given as `given`.
    pub siding: f64,
    pub given: f64,
    /// And the head and the foot of a stem told by these two alone.
    pub stem: [f64; 2],
    /// And the half-breadths and the heights of the sheer, each as one.
    pub sheer: [f64; 2],
    /// And of a stem and of a sternpost of more spots its head, and the one between the ends told worst.
    pub profiles: [[f64; 2]; 2],
    /// And how far aft the first and the last station stands.
    pub stations: [f64; 2],
}

impl ToldAlone {
    fn of(looks: &[(Fact, Look)], given: f64) -> Self {
        let far = |fact: Fact| {
            let of = looks.iter().find(|(of, _)| *of == fact);
            of.map_or(0.0, |(_, look)| UNSEEN * look.own_sd)
        };
        ToldAlone {
            foot: far(Fact::Foot),
            head: far(Fact::Head),
            siding: far(Fact::Siding),
            given,
            ..ToldAlone::default()
        }
    }

    /// What no reading tells again, each with how far it could be off unseen, where that is much.
    pub fn not_judged(self, of_transom: bool, of_siding: bool) -> Vec<String> {
        let told =
            [("foot", self.foot), ("head", self.head)].into_iter().filter(|of| of_transom && of.1 > ALONE);
        let off: Vec<String> =
            told.map(|(name, m)| format!("its {name} {} mm", about(m.min(FARTHEST)))).collect();
        let transom = (!off.is_empty()).then(|| {
            format!("how far aft the transom stands (no reading would show {} off)", off.join(" or "))
        });
        let much =
            of_siding && self.siding > SIDING_ALONE.0.max(SIDING_ALONE.1 * self.given) && self.given > 0.0;
        let siding = much.then(|| {
            let mm = about(self.siding.min(self.given));
            format!("half the siding of the backbone (no reading would show it {mm} mm off)")
        });
        let of_stem = [("head", self.stem[0]), ("foot", self.stem[1])].into_iter().filter(|of| of.1 > ALONE);
        let off: Vec<String> =
            of_stem.map(|(name, m)| format!("its {name} {} mm", about(m.min(FARTHEST)))).collect();
        let stem = (!off.is_empty())
            .then(|| format!("where the stem stands (no reading would show {} off)", off.join(" or ")));
        let rows = [("half-breadths", self.sheer[0]), ("heights", self.sheer[1])];
        let rows = rows.into_iter().filter(|of| of.1 > ALONE);
        let off: Vec<String> =
            rows.map(|(name, m)| format!("its {name} {} mm", about(m.min(FARTHEST)))).collect();
        let sheer = (!off.is_empty())
            .then(|| format!("the sheer as a whole (no reading would show {} off)", off.join(" or ")));
        let profiles = self.profiles.iter().zip(["stem", "sternpost"]).filter_map(|(of, name)| {
            let told = [("head", of[0]), ("spots between its ends", of[1])]
                .into_iter()
                .filter(|of| of.1 > SPOT_ALONE);
            let off: Vec<String> =
                told.map(|(of, m)| format!("its {of} {} mm", about(m.min(FARTHEST)))).collect();
            (!off.is_empty())
                .then(|| format!("where the {name} runs (no reading would show {} off)", off.join(" or ")))
        });
        let stations = self.stations.into_iter().zip(["first", "last"]).filter(|(m, _)| *m > ALONE);
        let stations = stations.map(|(m, name)| {
            let mm = about(m.min(FARTHEST));
            format!("how far aft the {name} station stands (no reading would show it {mm} mm off)")
        });
        transom.into_iter().chain(siding).chain(stem).chain(profiles).chain(stations).chain(sheer).collect()
    }
}

/// An amount, m, in mm to a step that its size is worth, not above it.
fn about(m: f64) -> f64 {
    let mm = 1e3 * m;
    let step = match mm {
        ..50.0 => 5.0,
        ..100.0 => 10.0,
        _ => 50.0,
    };
    step * (mm / step).floor()
}

/// What came of the facts of a survey.
#[derive(Debug, Default)]
pub(crate) struct Judged {
    /// The likeliest to be off, if any is.
    pub likeliest: Option<Otherwise>,
    pub told_alone: ToldAlone,
}

/// A survey with a fact moved, to where the readings would have it, and what that gains.
fn weigh(given: &Settled<'_>, options: &Options, fact: Fact, by: f64) -> Option<Otherwise> {
    let best = weigh_by(given, options, fact, by, given.fit.premise)?;
    // Where stem and sternpost part may have been found so for the slip alone.
    let far = best.facts.iter().all(|f| (f.read - f.expected).abs() > SURE.1 * f.sd);
    let found = (best.facts[0].expected - best.facts[0].read, far && best.gain > -CLEARLY);
    let premise = if found.1 { framed(&best.survey, options).0 } else { best.premise };
    if premise == best.premise {
        return Some(best);
    }
    let by = if fact == Fact::Rake { 0.0 } else { found.0 };
    let other = weigh_by(given, options, fact, by, premise);
    Some(other.into_iter().fold(best, |best, other| if other.gain > best.gain { other } else { best }))
}

/// The same on a premise.
fn weigh_by(
    given: &Settled<'_>,
    options: &Options,
    fact: Fact,
    mut by: f64,
    premise: Premise,
) -> Option<Otherwise> {
    let survey = given.fit.survey;
    let out: Out = given.out.iter().copied().filter(|&which| !fact.bears(survey, which)).collect();
    let mut best: Option<Otherwise> = None;
    for _ in 0..ROUNDS {
        let moved = fact.moved(survey, by);
        let settled = settle(&moved, options, &out, premise, None).ok()?;
        let look = if fact == Fact::Rake { None } else { settled.looks(&[fact], false).pop().map(|l| l.1) };
        let sd = look.map_or(STEP, |look| look.sd);
        let fact_of = |cell: Option<CellId>| {
            let (read, expected) = (Fact::read(survey, cell), Fact::read(&moved, cell));
            OffFact { cell, read, expected, sd }
        };
        let mut cells: Vec<Option<CellId>> = fact.cells(survey).into_iter().map(Some).collect();
        if cells.is_empty() {
            cells.push(None);
        }
        let facts: Vec<OffFact> = cells.into_iter().map(fact_of).collect();
        let tolerance = survey.lines.iter().map(|l| l.tolerance).fold(0.0, f64::max);
        // A place is free to be any: of a fact that is known no better than to `sd`, so much of what is likely counts.
        let odds = match fact {
            Fact::Rake => EXCHANGED,
            _ => odds(facts[0].read - facts[0].expected, sd, tolerance),
        };
        let gain = settled.evidence + odds - given.evidence;
        // A step that makes all so much worse leads nowhere.
        let hopeless = gain < HOPELESS;
        if best.as_ref().is_none_or(|best| best.gain < gain) {
            best = Some(Otherwise { survey: moved.clone(), facts, odds, gain, sure: false, premise });
        }
        match look {
            // Parameters follow: what is left is a part of what there was.
            Some(look) if !hopeless && look.by.abs() > look.sd && look.gain > WORTH_SAYING => {
                by += BEYOND * look.by
            }
            _ => break,
        }
    }
    best
}

impl Otherwise {
    /// The same facts in another survey of the boat.
    pub fn applied(facts: &[OffFact], survey: &Survey) -> Survey {
        let mut moved = survey.clone();
        for fact in facts {
            let by = fact.expected - Fact::read(survey, fact.cell);
            let which = match fact.cell.map(|cell| (cell.block, cell.row, cell.column)) {
                None => Fact::Siding,
                Some((Block::Transom, 0, 1)) => Fact::FootUp,
                Some((Block::Transom, 0, _)) => Fact::Foot,
                Some((Block::Transom, ..)) => Fact::Head,
                Some((block @ (Block::StemProfile | Block::SternProfile), ..)) => {
                    Fact::PostHead(block == Block::StemProfile)
                }
                Some((.., column)) => Fact::Station(column),
            };
            moved = which.moved(&moved, by);
        }
        moved
    }
}
