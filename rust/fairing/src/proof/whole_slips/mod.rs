//! Slips of the whole: a row or a column that is all wrong in one way.
//!
//! A heading misread, a row shifted by a station, two rows exchanged: each makes a dozen readings wrong, and is one
//! slip. Every such slip that could be is undone in the table's own text, and how rough the table then is compared with
//! how rough it was (`rough`); the most promising are faired with usual parameters, the best of those settled, and the
//! last faired and judged as any table is. One stands if the evidence of the table put right is so much greater than
//! that of the table as it is, whose single slips are paid for, that it is no matter of taste.

mod amount;
mod blank_end;
mod kinds;
mod leans;
mod rough;
mod sound;

use std::collections::BTreeSet;

use scrieve_notation::{Length, Reading, Units, parse_cell};
use scrieve_offsets::{Block, CellId, LineKind, Survey, Table, Written};

use crate::again::Kept;
use crate::evidence::{Out, Settled, settle};
use crate::field::{JUDGING, priors};
use crate::fit::{Fit, Premise};
use crate::gp::log_prior;
use crate::keel::Line;
use crate::lines::usual;
use crate::many::{JUDGED, LOOKED_AT as SPARSE, some_of};
use crate::proof::{apart, of_profile_query};
use crate::slips::{expected_reading, headings};
use crate::{Faired, Options, Residual, fair};

use amount::{Exactly, exactly};
use blank_end::{LIKELIER, TOLD, by_blank_ends};
use kinds::is_of;
pub use kinds::{Mistaken, WholeSlip};
use leans::{Lean, Leaning, Look, unlike_the_others};
use rough::{Readings, Usual};

/// A whole slip must gain so much, as a log of evidence, on the table as it is with its single slips.
pub(crate) const SURE: f64 = 8.0;
/// The same where a single reading is queried besides.
const ALONE: f64 = 24.0;
/// And explain so many queries, or a single reading explains it as well.
const EXPLAINS: usize = 2;
/// One table in so many has one.
const RARE: f64 = 50.0;
/// What is believed of a number that may be any, as a log.
const ANY: f64 = -5.0;
/// So many are looked at with usual parameters, so many settled, and so many judged.
const LOOKED_AT: usize = 14;
const SETTLED: usize = 4;
const WEIGHED: usize = 2;
/// Of one kind in one row, so many.
const ALIKE: usize = 4;
/// Of a kind that has an amount, which is found afterwards.
const OF_AN_AMOUNT: usize = 3;
/// Of the stations where a table of very many is roughest all readings are judged.
const ROUGHEST: usize = 6;
/// One that smooths the table so much, as a log, is judged whatever a look makes of it.
const SMOOTHS: f64 = 12.0;
/// A candidate that much behind the best is not tried further.
const BEHIND: f64 = 40.0;
/// Slips of the whole in one table at most.
const MOST: usize = 2;
/// Of the slips that a number can suffer one is as likely as another, as a log; their weights are beside a digit's.
const PLACES: f64 = -3.0;
/// A hull whose parameters are so much less likely than usual ones, as a log, is rough.
const ROUGH: f64 = -4.5;
/// Rows so much smoother with the stations in another order, in logs, are in the wrong one.
const DISORDERED: f64 = 34.0;
/// After one slip of measure, another of the same readings must gain so much: what an amount leaves over is no slip.
const MARKEDLY: f64 = 40.0;
/// Of more stations than this the order of the roughest is asked, so that the work grows in line with their number.
const ASKED: usize = 18;
/// So many readings queried at one station in one block may be one slip, if they differ by no more than so many times.
const FEWEST: usize = 3;
const ALIKE_QUERIES: f64 = 2.6;
/// One reading explains a table as a slip of the whole does if no more of it is unusual with that put right, but for this.
const SAID_BY_ONE: f64 = 1.05;
/// Rounds of a look.
const ROUNDS: usize = 2;

/// A whole slip that a table has.
#[derive(Clone, Debug, PartialEq)]
pub struct FoundSlip {
    /// What it is.
    pub slip: WholeSlip,
    /// That in words: `waterline 1-0-0: its readings are those of 0-10-0`.
    pub text: String,
    /// What to write where to put it right, in words.
    pub offer: String,
    /// The same as pieces of the file and what they are to be.
    pub edits: Vec<(Written, String)>,
    /// The table put right, slips found before it too.
    pub table: Table,
    /// Readings that would be queried but for it.
    pub explains: Vec<CellId>,
    /// What it gains, as a log of evidence.
    pub gain: f64,
    /// How far off the amount may be that it is put right by, m as read, or as a part of the whole for what is drawn
    /// out; none where it is none, or the readings tell a round one.
    pub within: Option<f64>,
    /// Why it is only named, and not put right: that would not be plainly sound. No other is found after it.
    pub unsure: Option<String>,
}

/// What is said in place of how to put it right.
fn not_put_right(why: &str) -> String {
    format!("not put right: {why}; look at the page")
}

impl FoundSlip {
    /// How to put it right, or why it is not.
    pub fn how(&self) -> String {
        match self.unsure {
            Some(_) => self.offer.clone(),
            None => format!("to put it right, {}", self.offer),
        }
    }

    /// What it is and how many queries it explains: `waterline 1-0-0: its readings are those of 0-10-0 (explains 9
    /// queries)`.
    pub fn said(&self) -> String {
        match self.explains.len() {
            0 => self.text.clone(),
            1 => format!("{} (explains 1 query)", self.text),
            n => format!("{} (explains {n} queries)", self.text),
        }
    }
}

/// Slips of the whole in a table, each found in the table with those before it put right; none where proofreading has
/// next to nothing to say of it, and where it is no hull even so.
///
/// The table is faired and judged some times over, which takes a few times as long as proofreading it.
pub fn whole_slips(table: &Table, options: &Options) -> Vec<FoundSlip> {
    let mut judging = options.clone();
    (judging.robust, judging.stiffness) = (true, 1.0);
    let Ok((survey, _)) = table.survey_unsifted() else { return Vec::new() };
    let given = fair(&survey, &judging).ok();
    whole_slips_of(table, &survey, given.as_ref(), &judging)
}

/// The same of a table that has been faired, if it could be.
pub fn whole_slips_of(
    table: &Table,
    survey: &Survey,
    given: Option<&Faired>,
    options: &Options,
) -> Vec<FoundSlip> {
    let mut found: Vec<FoundSlip> = Vec::new();
    if let Some(far) = sound::far_out(table, survey) {
        return vec![far];
    }
    let mut now = (table.clone(), survey.clone(), given.cloned());
    while found.len() < MOST {
        let Some((next, survey, faired)) = likeliest(&now.0, &now.1, now.2.as_ref(), options) else { break };
        let again = |f: &FoundSlip| f.slip.is_of_measure() && next.slip.is_of_measure();
        if found.iter().any(again) && next.gain < MARKEDLY {
            break;
        }
        let unsure = next.unsure.is_some();
        now = (next.table.clone(), survey, Some(faired));
        found.push(next);
        if unsure {
            break;
        }
    }
    found
}

/// Rows that a blank says may stand a station off, and spaces of stations unlike all others, where the readings do not tell
/// whether they do or are.
pub(crate) fn not_told(table: &Table, survey: &Survey, given: &Faired, options: &Options) -> Vec<String> {
    let evidence = |faired: &Faired| faired.kept.as_ref().map(|kept| kept.doubts.evidence);
    let Some(as_it_is) = evidence(given) else { return Vec::new() };
    let open = |slip: &WholeSlip| {
        let put_right = slip.edits(table).and_then(|edits| with(table, &edits));
        let own = put_right.and_then(|(_, survey)| evidence(&fair(&survey, options).ok()?));
        own.is_some_and(|own| own - as_it_is + TOLD > -SURE)
    };
    let shifts = by_blank_ends(table).into_iter().filter(open);
    let shifts = shifts.filter_map(|slip| blank_end::said(table, &slip));
    // Those at the ends are often others.
    let within = (2..survey.stations.len().saturating_sub(1)).filter(|&c| unlike_the_others(survey, c));
    let spaces = within.filter(|&column| {
        let even = amount::even_spaces(table, column);
        even.into_iter().any(|by| open(&WholeSlip::Gap { column, by }))
    });
    let name = |column: usize| &table.stations[column].name;
    let spaces = spaces.map(|column| {
        format!(
            "the space between stations {} and {}, unlike all others (the readings do not tell whether it is as they are)",
            name(column - 1),
            name(column)
        )
    });
    shifts.chain(spaces).collect()
}

/// Readings that are queried.
fn queried(faired: &Faired) -> Vec<CellId> {
    let Some(kept) = &faired.kept else { return Vec::new() };
    let doubts = &kept.doubts;
    let readings = doubts.out.iter().chain(&doubts.queried).map(|w| w.cell(&kept.survey));
    let facts = doubts.facts.iter().filter_map(|f| f.off.cell);
    let suspects = doubts.suspects.iter().map(|s| s.height.cell);
    readings.chain(facts).chain(suspects).collect()
}

/// Whether there is so much to say of a table that a whole slip may be behind it: readings that are queried, or all
/// noisier than said, or a hull rougher than boats are.
fn troubled(faired: &Faired) -> bool {
    let rough = |kept: &Kept| {
        let own = |(l, line): (usize, &Line)| line.own().map_or(0.0, |own| own.log_prior(usual(l)));
        let lines: f64 = kept.priors.iter().enumerate().map(own).sum();
        kept.doubts.premise.noise > 1.0 || lines + log_prior(&priors(&kept.theta), &kept.theta) < ROUGH
    };
    faired.kept.as_ref().is_some_and(|kept| rough(kept)) || queried(faired).len() >= EXPLAINS
}

/// Whether stations put in another order would make her rows so much smoother that they may be in the wrong one. Few
/// stations in disorder make a rough boat without a slip.
fn disordered(table: &Table, readings: &Readings, as_usual: &Usual) -> bool {
    let rough = as_usual.along(readings);
    let gained =
        |slip: WholeSlip| readings.put_right(table, &slip).map_or(0.0, |now| rough - as_usual.along(&now));
    let asked = readings.roughest(ASKED, as_usual);
    orders(&asked).into_iter().flatten().any(|slip| gained(slip) > DISORDERED)
}

/// What is taken for granted of a hull, her readings worth what they are said to be.
fn premise_of(given: Option<&Faired>) -> Premise {
    let kept = given.and_then(|g| g.kept.as_ref());
    Premise { noise: 1.0, ..kept.map_or_else(Premise::default, |kept| kept.doubts.premise) }
}

/// Readings of a survey that are left out of a hull that was faired of it.
fn left_out(survey: &Survey, given: Option<&Faired>) -> Out {
    let Some(kept) = given.and_then(|g| g.kept.as_ref()) else { return Out::new() };
    let size = |s: &Survey| (s.lines.len(), s.spots.len(), s.stem.len(), s.stern.len());
    if size(&kept.survey) == size(survey) { kept.doubts.out.clone() } else { Out::new() }
}

/// A sheer, or a space of stations, that is as smooth as any, but with which nothing of the table is as in usual boats, and without
/// which all is.
fn unusual(
    table: &Table,
    judged: &Survey,
    looked: &Look,
    given: Option<&Faired>,
    options: &Options,
    fewer: &dyn Fn(Survey) -> Survey,
) -> Option<(FoundSlip, Survey, Faired)> {
    let leaning = looked.leans.first()?;
    let given = given?;
    let (along, across, up) = table.facts.factors();
    let metres = |l: &Length| l.metres();
    let (slip, within, told) = match leaning.lean {
        Lean::Row(block, row) if table.rows.get(row)?.line == LineKind::Sheer => {
            let by = leaning.by / if block == Block::Heights { up } else { across };
            let near = amount::data_near(table, by);
            let off = (sound::ABOUT * by.abs()).max(2.0 * table.hand().unwrap_or(Length::EIGHTH).metres());
            // The roundest that is as near as is known.
            let round = [near[1], near[2], near[0]].into_iter().find(|l| (metres(l) - by).abs() < off)?;
            let told = block == Block::Heights && sound::told_by_transom(table, judged, round);
            (WholeSlip::Datum { rows: vec![row], by: round, down: false }, (!told).then_some(off), told)
        }
        Lean::Gap(column) => {
            let by = leaning.by / along;
            let even = amount::even_spaces(table, column);
            let near = |l: &Length| (0.5..6.0).contains(&(l.metres() / by));
            let apart = match (even.first(), even.last()) {
                (Some(a), Some(b)) if a != b => Some(metres(b) - metres(a)),
                _ => None,
            };
            // A first look makes too little of a great one; that all is as usual with it put right is asked below.
            let near: Vec<Length> = even.into_iter().filter(near).collect();
            // Of several, the one by which the boat is the most as usual.
            let unusual = |by: &Length| {
                let edits = WholeSlip::Gap { column, by: *by }.edits(table)?;
                let survey = fewer(with(table, &edits)?.1);
                Some(Look::at(&survey, options, premise_of(Some(given)), &Out::new())?.unusual)
            };
            let each = near.iter().filter_map(|by| Some((by, unusual(by)?)));
            let by = *each.min_by(|a, b| a.1.total_cmp(&b.1))?.0;
            (WholeSlip::Gap { column, by }, apart, true)
        }
        _ => return None,
    };
    let edits = slip.edits(table)?;
    let (right, survey) = with(table, &edits)?;
    let survey = fewer(survey);
    let faired = fair(&survey, options).ok()?;
    let after = Look::at(&survey, options, premise_of(Some(&faired)), &left_out(&survey, Some(&faired)))?;
    let before = queried(given);
    if !looked.is_explained_by(leaning.gain, &after)
        || is_one_readings(table, given, &before, &after, options, fewer)
    {
        return None;
    }
    let after = queried(&faired);
    let asked = sound::Asked {
        table,
        slip: &slip,
        edits: &edits,
        right: &right,
        survey: &survey,
        before: &before,
        after: &after,
        within: None,
    };
    let unsure = match told {
        true => asked.why_not(),
        false => Some("no other row tells it by how much".to_owned()),
    };
    let text = slip.text(table, within);
    let (text, offer) = match &unsure {
        Some(why) => (format!("perhaps {text}"), not_put_right(why)),
        None => (text, slip.offer(table, &edits)),
    };
    let explains: Vec<CellId> = before.iter().copied().filter(|cell| !after.contains(cell)).collect();
    let found =
        FoundSlip { slip, text, offer, edits, table: right, explains, gain: leaning.gain, within, unsure };
    Some((found, survey, faired))
}

/// Whether the one reading or fact that is queried, put where the others expect it, leaves a boat as usual as a slip of the
/// whole does, put right: then it is that one's slip. `right` is what a look makes of the table with the other put right.
fn is_one_readings(
    table: &Table,
    given: &Faired,
    before: &[CellId],
    right: &Look,
    options: &Options,
    fewer: &dyn Fn(Survey) -> Survey,
) -> bool {
    let (&[_], Some(kept)) = (before, &given.kept) else { return false };
    let (queries, suspects) = apart(&kept.survey, given);
    let of_profile =
        suspects.iter().flat_map(|s| [Some(s.height), s.from_stem]).flatten().map(of_profile_query);
    queries.into_iter().chain(of_profile).any(|query| {
        let Some(expected) = expected_reading(table, &query) else { return false };
        let Some((_, survey)) = with(table, &[(Written::Cell(query.cell), expected)]) else { return false };
        let survey = fewer(survey);
        let Some(after) = Look::at(&survey, options, premise_of(Some(given)), &Out::new()) else {
            return false;
        };
        after.unusual < SAID_BY_ONE * right.unusual
    })
}

/// What leans, as slips that would put it right.
fn of_leanings(table: &Table, survey: &Survey, leans: &[Leaning]) -> Vec<(WholeSlip, f64)> {
    let (along, across, up) = table.facts.factors();
    let factor = |block: Block| if block == Block::Heights { up } else { across };
    let near = |by: f64| amount::data_near(table, by).into_iter().filter(|l| *l != Length::ZERO);
    let of = |leaning: &Leaning| -> Vec<WholeSlip> {
        let by = leaning.by;
        match leaning.lean {
            Lean::Row(block, row) => {
                let of = |by| WholeSlip::Datum { rows: vec![row], by, down: false };
                near(by / factor(block)).map(of).collect()
            }
            Lean::Station(block, column) => {
                let of = |by| WholeSlip::ColumnDatum { block: Some(block), column, by };
                near(by / factor(block)).map(of).collect()
            }
            Lean::Gap(column) => {
                let by = by / along;
                let even = amount::even_spaces(table, column);
                let even = even.into_iter().filter(|l| (l.metres() - by).abs() < 0.5 * by.abs());
                near(by).chain(even).map(|by| WholeSlip::Gap { column, by }).collect()
            }
            Lean::Shift(row, aft) => {
                let own = |slip: &WholeSlip| matches!(slip, WholeSlip::RowShifted { row: r, aft: a, .. } if (*r, *a) == (row, aft));
                shifts(table).into_iter().flatten().filter(own).collect()
            }
        }
    };
    let odds = -RARE.ln() - ((table.rows.len() + survey.stations.len()) as f64).ln() + ANY;
    let mut all: Vec<(WholeSlip, f64)> = Vec::new();
    for slip in leans.iter().flat_map(of) {
        if !all.iter().any(|(other, _)| *other == slip) {
            all.push((slip, odds));
        }
    }
    all
}

/// Stations whose readings in a block, or in all of them, are queried, most of them, all by about as much the one way.
fn of_queries(table: &Table, survey: &Survey, given: &Faired) -> Vec<(WholeSlip, f64)> {
    let queried = queried(given);
    let (_, across, up) = table.facts.factors();
    let odds = -RARE.ln() - ((table.rows.len() + survey.stations.len()) as f64).ln() + ANY;
    let mut found = Vec::new();
    let blocks = [Block::Heights, Block::HalfBreadths, Block::Diagonals].map(Some);
    for column in 0..survey.stations.len() {
        for block in blocks.into_iter().chain([None]) {
            let here = |r: &&Residual| r.cell.column == column && is_of(block, r.cell.block);
            let here: Vec<&Residual> = given.residuals.iter().filter(here).collect();
            let off = |cells: &mut dyn Iterator<Item = &Residual>| -> Vec<f64> {
                let mine = cells.filter(|r| queried.contains(&r.cell));
                mine.map(|r| r.read - r.expected).collect()
            };
            let mostly = |block: Block| {
                let all = here.iter().filter(|r| r.cell.block == block).count();
                2 * off(&mut here.iter().copied().filter(|r| r.cell.block == block)).len() > all
            };
            let (mut off, mostly) = match block {
                Some(block) => (off(&mut here.iter().copied()), mostly(block)),
                // Most of either; what is not queried in the other may be off as much.
                None => {
                    let either = mostly(Block::Heights) || mostly(Block::HalfBreadths);
                    (off(&mut here.iter().copied()), either && across == up)
                }
            };
            off.sort_by(f64::total_cmp);
            let least = off.iter().copied().fold(f64::MAX, |a, b| a.min(b.abs()));
            let most = off.iter().copied().fold(0.0f64, |a, b| a.max(b.abs()));
            let one_way = off.iter().all(|o| *o > 0.0) || off.iter().all(|o| *o < 0.0);
            let alike = block.is_none() || one_way && most <= ALIKE_QUERIES * least;
            if off.len() < FEWEST || !mostly || !alike {
                continue;
            }
            let factor = if block == Some(Block::Heights) { up } else { across };
            // What is left of the slip in what the others expect makes queries differ: the least is nearest it.
            let nearest = || off.iter().copied().find(|o| o.abs() == least).unwrap_or(0.0);
            let by = if block.is_some() { nearest() } else { off[off.len() / 2] } / factor;
            let near = amount::data_near(table, -by).into_iter().filter(|l| *l != Length::ZERO);
            found.extend(near.map(|by| (WholeSlip::ColumnDatum { block, column, by }, odds)));
        }
    }
    found
}

/// Other orders that stations may have been in, by kind.
fn orders(asked: &[usize]) -> [Vec<WholeSlip>; 3] {
    let pairs =
        || (0..asked.len()).flat_map(move |a| (a + 1..asked.len()).map(move |b| (asked[a], asked[b])));
    let exchanged = pairs().map(|(a, b)| WholeSlip::ColumnsExchanged(a, b)).collect();
    let moved = pairs().flat_map(|(a, b)| [(a, b), (b, a)]).filter(|(from, to)| from.abs_diff(*to) > 1);
    let moved = moved.map(|(from, to)| WholeSlip::ColumnMoved { from, to }).collect();
    // Of three in reversed order two are exchanged.
    let some = |(first, last): &(usize, usize)| last - first > 2;
    let reversed = pairs().filter(some).map(|(first, last)| WholeSlip::Reversed { first, last }).collect();
    [exchanged, moved, reversed]
}

/// A slip that may be, put right.
struct Candidate {
    slip: WholeSlip,
    edits: Vec<(Written, String)>,
    table: Table,
    survey: Survey,
    /// What is believed of it before the readings, and what comes of other units.
    odds: f64,
    /// The higher the better.
    score: f64,
    /// How far off its amount may be.
    within: Option<f64>,
    /// Another amount that is about as natural and as well explained.
    rival: Option<WholeSlip>,
}

/// Whether two surveys have the same readings in the same places, whatever cells they are in: then what was put right in
/// them is one repair, however it is told.
fn same_readings(a: &Survey, b: &Survey) -> bool {
    let key = |m: f64| (m * 1e7).round() as i64;
    let lines = |s: &Survey| {
        let mut all: Vec<_> =
            s.lines.iter().map(|l| (l.line, l.axis, l.on_transom, key(l.x), key(l.value))).collect();
        all.sort();
        all
    };
    let spots = |s: &Survey| {
        let of = |s: &scrieve_offsets::Spot| (s.on_transom, key(s.x), key(s.y), key(s.z), key(s.along.0));
        let mut all: Vec<_> = s.spots.iter().map(of).collect();
        all.sort();
        all
    };
    let profile = |spots: &[scrieve_offsets::ProfileSpot]| -> Vec<(i64, i64)> {
        spots.iter().map(|s| (key(s.x), key(s.z))).collect()
    };
    let ends =
        |s: &Survey| (profile(&s.stem), profile(&s.stern), s.transom.map(|t| (key(t.head.0), key(t.head.1))));
    lines(a) == lines(b) && spots(a) == spots(b) && ends(a) == ends(b)
}

/// The likeliest whole slip of a table, if it has more evidence than the table as it is; and the table put right, faired.
fn likeliest(
    table: &Table,
    survey: &Survey,
    given: Option<&Faired>,
    options: &Options,
) -> Option<(FoundSlip, Survey, Faired)> {
    let whole = Readings::new(table, survey);
    let whole_usual = Usual::of(&whole);
    // Where it is rough all readings judge: an exchange that few of them take part in is not seen.
    let rough_at: Vec<usize> =
        if table.stations.len() > ASKED { whole.roughest(ROUGHEST, &whole_usual) } else { Vec::new() };
    let cells: Option<BTreeSet<CellId>> = some_of(survey, JUDGED, false).map(|_| {
        let cells = |s: &Survey| -> Vec<CellId> {
            s.lines.iter().map(|l| l.cell).chain(s.spots.iter().map(|s| s.cell)).collect()
        };
        // So few that with the rough ones there are no more than are judged.
        let some = some_of(survey, SPARSE, false);
        let there = cells(survey).into_iter().filter(|c| rough_at.contains(&c.column));
        some.iter().flat_map(cells).chain(there).collect()
    });
    let fewer = |mut survey: Survey| {
        if let Some(cells) = &cells {
            survey.lines.retain(|l| cells.contains(&l.cell));
            survey.spots.retain(|s| cells.contains(&s.cell));
        }
        survey
    };
    let judged = fewer(survey.clone());
    let (readings, usual) = (whole, whole_usual);
    let looked = Look::at(&judged, options, premise_of(given), &left_out(&judged, given));
    let looked = looked.unwrap_or_default();
    let told_by_blank = by_blank_ends(table);
    let quiet =
        given.is_some_and(|given| !troubled(given)) && looked.leans.is_empty() && told_by_blank.is_empty();
    if quiet && !disordered(table, &readings, &usual) {
        return None;
    }
    // Evidence is compared of the same readings.
    let of_some = cells.as_ref().and_then(|_| fair(&judged, options).ok());
    let given = if cells.is_some() { of_some.as_ref() } else { given };
    let premise = premise_of(given);
    let rough = usual.roughness(&readings);
    let mut leaning: Vec<(WholeSlip, f64)> = told_by_blank.iter().map(|slip| (slip.clone(), TOLD)).collect();
    for one in of_leanings(table, &judged, &looked.leans) {
        if !told_by_blank.contains(&one.0) {
            leaning.push(one);
        }
    }
    for one in given.map_or(Vec::new(), |given| of_queries(table, &judged, given)) {
        if !leaning.iter().any(|(slip, _)| *slip == one.0) {
            leaning.push(one);
        }
    }
    let proposed = proposed(table, &judged, &readings, &usual);
    // No planking touches the keel's underside: the evidence knows nothing of that row.
    let of_keel = |slip: &WholeSlip| slip.rows().iter().any(|&row| table.rows[row].line == LineKind::Keel);
    let mut promising: Vec<(WholeSlip, f64, f64)> = proposed
        .into_iter()
        .filter(|(slip, _)| !of_keel(slip))
        .filter_map(|(slip, odds)| {
            let gained = rough - usual.roughness(&readings.put_right(table, &slip)?);
            Some((slip, odds, gained + odds))
        })
        .collect();
    promising.sort_by(|a, b| b.2.total_cmp(&a.2));
    // What leans is smooth as it is: it is looked at besides.
    let most = LOOKED_AT + leaning.len();
    let possible = leaning.into_iter().filter(|(slip, _)| readings.put_right(table, slip).is_some());
    let leaning: Vec<(WholeSlip, f64, f64)> = possible.map(|(slip, odds)| (slip, odds, 0.0)).collect();
    let smooths = promising.first().is_some_and(|p| p.2 > SMOOTHS).then(|| promising[0].0.clone());
    let promising = leaning.into_iter().chain(promising);
    let mut candidates: Vec<Candidate> = Vec::new();
    for (slip, odds, score) in promising {
        if candidates.len() >= most {
            break;
        }
        let Some(edits) = slip.edits(table) else { continue };
        let Some((put_right, survey)) = with(table, &edits) else { continue };
        let survey = fewer(survey);
        let odds = odds + slip.jacobian(table) + lost(&judged, &survey);
        // Two slips that come to the same are one.
        let alike = |c: &&Candidate| match slip {
            WholeSlip::ColumnDatum { .. } => c.slip.is_same_but_for_amount(&slip),
            _ => c.slip.name() == slip.name() && c.slip.rows() == slip.rows(),
        };
        let so_many = match slip {
            WholeSlip::Heading { .. }
            | WholeSlip::Diagonal { .. }
            | WholeSlip::RowShifted { .. }
            | WholeSlip::Unit { .. } => ALIKE,
            WholeSlip::Datum { .. }
            | WholeSlip::Shrunk { .. }
            | WholeSlip::Gap { .. }
            | WholeSlip::ColumnDatum { .. } => OF_AN_AMOUNT,
            _ => usize::MAX,
        };
        if candidates.iter().any(|c| c.table == put_right || same_readings(&c.survey, &survey))
            || candidates.iter().filter(alike).count() >= so_many
        {
            continue;
        }
        candidates.push(Candidate {
            slip,
            edits,
            table: put_right,
            survey,
            odds,
            score,
            within: None,
            rival: None,
        });
    }
    let smoothest = candidates.iter().find(|c| Some(&c.slip) == smooths.as_ref()).map(|c| c.table.clone());
    let backbone = begun(&judged, options, premise);
    for c in &mut candidates {
        c.score = look(&c.survey, options, premise, backbone.as_ref()).map_or(f64::MIN, |l| l.0 + c.odds);
    }
    let as_it_is = look(&judged, options, premise, backbone.as_ref()).map_or(f64::MIN, |l| l.0);
    let is_smoothest = |c: &Candidate| smoothest.as_ref() == Some(&c.table);
    candidates.retain(|c| c.score > as_it_is || is_smoothest(c));
    best_first(&mut candidates, SETTLED, BEHIND, &is_smoothest);
    // The amount that the rest of the boat tells of one: several that were tried come to one.
    let mut amounts: Vec<Candidate> = Vec::new();
    for mut c in candidates {
        if amounts.iter().any(|a| a.slip.is_same_but_for_amount(&c.slip)) {
            continue;
        }
        if let Some(Exactly { slip, within, rival }) = exactly(table, &c.slip, &c.survey, options, premise) {
            let put_right = slip.edits(table).and_then(|edits| Some((edits.clone(), with(table, &edits)?)));
            // What is drawn out or from another datum is possible as it was.
            let possible = readings.put_right(table, &slip).is_some();
            if let Some((edits, (put_right, survey))) = put_right.filter(|_| possible) {
                (c.edits, c.table, c.survey) = (edits, put_right, fewer(survey));
                (c.slip, c.within, c.rival) = (slip, within, rival);
            }
        }
        amounts.push(c);
    }
    let mut candidates = amounts;
    for c in &mut candidates {
        c.score = settled(&c.survey, options, premise).map_or(f64::MIN, |e| e + c.odds);
    }
    let scores: Vec<(WholeSlip, Survey, f64)> =
        candidates.iter().map(|c| (c.slip.clone(), c.survey.clone(), c.score)).collect();
    let is_smoothest = |c: &Candidate| smoothest.as_ref() == Some(&c.table);
    best_first(&mut candidates, WEIGHED, BEHIND, &is_smoothest);
    let before = given.map_or(Vec::new(), queried);
    let evidence = given.and_then(|g| g.kept.as_ref()).map_or(f64::MIN, |kept| kept.doubts.evidence);
    let mut best: Option<(FoundSlip, Survey, Faired)> = None;
    // Of a table that no surface can be made of as it is, all gain alike.
    let mut most = f64::MIN;
    for c in candidates {
        let Ok(faired) = fair(&c.survey, options) else { continue };
        let own = faired.kept.as_ref().map_or(f64::MIN, |kept| kept.doubts.evidence);
        let gain = own + c.odds - evidence;
        if own > greatest(&c.survey) {
            continue;
        }
        let after = queried(&faired);
        let explains: Vec<CellId> = before.iter().copied().filter(|cell| !after.contains(cell)).collect();
        let fewer = given.is_none()
            || after.len() + EXPLAINS <= before.len()
            || before.len() < EXPLAINS
            || gain > ALONE && after.len() < before.len();
        // What one reading explains as well is that reading's.
        let told = told_by_blank.contains(&c.slip);
        let sure = match before.len() {
            _ if told => LIKELIER,
            1 => ALONE,
            _ => SURE,
        };
        if gain > sure && fewer && own + c.odds > most {
            most = own + c.odds;
            let text = c.slip.text(table, c.within);
            let other = |(slip, survey, score): &&(WholeSlip, Survey, f64)| {
                *score > c.score - SURE
                    && !same_readings(survey, &c.survey)
                    && (matches!(slip, WholeSlip::Unit { .. })
                        || !(slip.name() == c.slip.name() && slip.rows() == c.slip.rows()))
                    && *slip != c.slip
            };
            let rival = c.rival.as_ref().or(scores.iter().find(other).map(|s| &s.0));
            let rival =
                rival.map(|slip| format!("this explains it about as well: {}", slip.text(table, None)));
            let asked = sound::Asked {
                table,
                slip: &c.slip,
                edits: &c.edits,
                right: &c.table,
                survey: &c.survey,
                before: &before,
                after: &after,
                within: c.within,
            };
            let hardly = || (gain < SURE).then(|| "the rest of the boat hardly tells".to_owned());
            let unsure = rival.or_else(|| asked.why_not()).or_else(hardly);
            let offer = match &unsure {
                Some(why) => not_put_right(why),
                None => c.slip.offer(table, &c.edits),
            };
            let text = match unsure.is_some() && !text.ends_with('?') {
                true => format!("perhaps {text}"),
                false => text,
            };
            let Candidate { slip, edits, table, within, .. } = c;
            let found = FoundSlip { slip, text, offer, edits, table, explains, gain, within, unsure };
            best = Some((found, c.survey, faired));
        }
    }
    let best = best.filter(|(found, survey, faired)| {
        // No one reading explains a blank besides.
        if told_by_blank.contains(&found.slip) {
            return true;
        }
        let right = Look::at(survey, options, premise_of(Some(faired)), &left_out(survey, Some(faired)));
        let one = |right: &Look, given| is_one_readings(table, given, &before, right, options, &fewer);
        !given.zip(right).is_some_and(|(given, right)| one(&right, given))
    });
    // One station that would not be where it is hides a space that moved all abaft it.
    let of_space = matches!(looked.leans.first(), Some(Leaning { lean: Lean::Gap(_), .. }));
    let best = match best {
        Some(best) if best.0.unsure.is_none() || !of_space => Some(best),
        best => unusual(table, &judged, &looked, given, options, &fewer).or(best),
    };
    // Of a table of many readings some were judged; what is put right is all of it.
    let (found, survey, faired) = best?;
    match cells {
        None => Some((found, survey, faired)),
        Some(_) => {
            let (survey, _) = found.table.survey_unsifted().ok()?;
            let faired = fair(&survey, options).ok()?;
            Some((found, survey, faired))
        }
    }
}

/// The best so many, and such as `stays`.
fn best_first(candidates: &mut Vec<Candidate>, most: usize, behind: f64, stays: &dyn Fn(&Candidate) -> bool) {
    candidates.sort_by(|a, b| b.score.total_cmp(&a.score));
    let best = candidates.first().map_or(f64::MIN, |c| c.score);
    let mut count = 0;
    candidates.retain(|c| {
        count += 1;
        stays(c) || count <= most && c.score > f64::MIN && c.score > best - behind
    });
}

/// No density of readings is greater, as a log, than where each lies just where its own noise would have it. A section
/// flattened to a line makes for greater ones, which mean nothing.
fn greatest(survey: &Survey) -> f64 {
    let of = |sd: f64| -sd.ln() - 0.5 * std::f64::consts::TAU.ln();
    let spots = survey.spots.iter().map(|s| of(s.sd));
    let profiles = survey.stem.iter().chain(&survey.stern).map(|s| of(s.sd));
    spots.chain(survey.lines.iter().map(|l| of(l.sd))).chain(profiles).sum()
}

/// The table with edits, and what is surveyed of it.
fn with(table: &Table, edits: &[(Written, String)]) -> Option<(Table, Survey)> {
    let put_right = table.with_written(edits).ok()?;
    let (survey, _) = put_right.survey_unsifted().ok()?;
    Some((put_right, survey))
}

/// The log of the density of readings that are there in one survey and not in the other: they may be anything.
fn lost(given: &Survey, put_right: &Survey) -> f64 {
    let count = |s: &Survey| s.lines.len() + s.spots.len();
    let (given, put_right) = (count(given) as f64, count(put_right) as f64);
    // A metre wide, against the evidence's own metres.
    -(given - put_right).abs()
}

/// The backbone of the table as it is, for those that leave it alone.
fn begun<'a>(survey: &'a Survey, options: &'a Options, premise: Premise) -> Option<Fit<'a>> {
    let mut fit = Fit::begin(survey, options, &Out::new()).ok()?;
    fit.premise = premise;
    fit.fair_backbone(&Out::new(), false).ok()?;
    Some(fit)
}

/// What a look with usual parameters makes of a survey: the log of its evidence without plain slips.
fn look(
    survey: &Survey,
    options: &Options,
    premise: Premise,
    backbone: Option<&Fit<'_>>,
) -> Option<(f64, Out)> {
    let none = Out::new();
    let mut fit = Fit::begin(survey, options, &none).ok()?;
    fit.premise = premise;
    if let Some(same) = backbone.filter(|b| same_backbone(b.survey, survey)) {
        fit.with_backbone_of(same);
    }
    fit.start(&none, false).ok()?;
    for round in 0..ROUNDS {
        let (rows, judged) = fit.rows(&none);
        let joint = fit.solve(&rows, JUDGING, false).ok()?;
        if round + 1 == ROUNDS {
            let (evidence, plain) = Settled::new(fit, joint, rows, judged, none).without_plain();
            return (evidence < greatest(survey)).then(|| (evidence, plain.into_iter().collect()));
        }
        fit.round(&joint).ok()?;
    }
    None
}

/// The log of the evidence with parameters of its own, plain slips left out.
fn settled(survey: &Survey, options: &Options, premise: Premise) -> Option<f64> {
    let (_, plain) = look(survey, options, premise, None)?;
    let of = |out: &Out| settle(survey, options, out, premise, None).ok().map(|s| s.without_plain().0);
    let none = of(&Out::new());
    let without = if plain.is_empty() { None } else { of(&plain) };
    none.into_iter().chain(without).filter(|e| *e < greatest(survey)).max_by(f64::total_cmp)
}

fn same_backbone(a: &Survey, b: &Survey) -> bool {
    let of = |s: &Survey| -> Vec<(CellId, f64, f64)> {
        let rabbet = |l: &&scrieve_offsets::LineReading| {
            l.line == scrieve_offsets::RefLine::Rabbet && l.axis == scrieve_offsets::Axis::Height
        };
        s.lines.iter().filter(rabbet).map(|l| (l.cell, l.x, l.value)).collect()
    };
    of(a) == of(b)
}

/// Every slip of the whole that a table might have, each with what is believed of it beforehand.
fn proposed(table: &Table, survey: &Survey, readings: &Readings, as_usual: &Usual) -> Vec<(WholeSlip, f64)> {
    let mut all = Vec::new();
    let mut add = |of_kind: Vec<WholeSlip>, more: f64| {
        let odds = -RARE.ln() - (of_kind.len().max(1) as f64).ln() + more;
        all.extend(of_kind.into_iter().map(|slip| (slip, odds)));
    };
    let others = Others { table, readings, usual: as_usual, length: length(survey) };
    let (rows, columns) = (table.rows.len(), table.stations.len());
    let block = |row: usize| table.rows[row].block;
    let both = [true, false];
    let asked = &readings.roughest(ASKED, as_usual);
    shifts(table).into_iter().for_each(|of_kind| add(of_kind, 0.0));
    let blocks = [Block::Heights, Block::HalfBreadths, Block::Diagonals];
    let columns_of = |block| {
        let asked = asked.iter();
        asked.flat_map(move |&column| both.map(|down| WholeSlip::ColumnShifted { block, column, down }))
    };
    let many = |b: &Block| (0..rows).filter(|&row| block(row) == *b).count() > 1;
    add(blocks.into_iter().filter(many).flat_map(columns_of).collect(), 0.0);
    let pairs = |n: usize| (0..n).flat_map(move |a| (a + 1..n).map(move |b| (a, b)));
    add(
        pairs(rows)
            .filter(|(a, b)| block(*a) == block(*b))
            .map(|(a, b)| WholeSlip::RowsExchanged(a, b))
            .collect(),
        0.0,
    );
    orders(asked).into_iter().for_each(|of_kind| add(of_kind, 0.0));
    let in_block = |block| {
        let exchanged = pairs(asked.len()).map(|(a, b)| (asked[a], asked[b]));
        exchanged.map(move |columns| WholeSlip::ColumnsExchangedIn { block, columns })
    };
    add([Block::Heights, Block::HalfBreadths].into_iter().filter(many).flat_map(in_block).collect(), 0.0);
    // An exchange from one station on, or as far as one.
    let parts = |(a, b): (usize, usize)| {
        let same = block(a) == block(b) && columns <= ASKED && columns > 3;
        let aft = (1..columns.saturating_sub(1)).map(|first| (first, columns - 1));
        let fore = (1..columns.saturating_sub(1)).map(|last| (0, last));
        aft.chain(fore).filter(move |_| same).map(move |(first, last)| WholeSlip::RowsExchangedBetween {
            rows: (a, b),
            first,
            last,
        })
    };
    add(pairs(rows).flat_map(parts).collect(), 0.0);
    let of_breadths = |row: usize| block(row) == Block::HalfBreadths;
    let units = |row| {
        let all = Mistaken::ALL.into_iter().filter(move |u| *u != Mistaken::WHOLE || of_breadths(row));
        // No decimal is misplaced where there is none.
        let all = all.filter(|u| !u.is_decimal() || table.facts.dialect.units != Units::FeetInchesEighths);
        all.map(move |unit| WholeSlip::Unit { row, unit })
    };
    add((0..rows).flat_map(units).collect(), 0.0);
    add((0..rows).flat_map(|row| others.data(&[row])).collect(), ANY);
    for of in [Block::Heights, Block::HalfBreadths] {
        let own: Vec<usize> = (0..rows).filter(|&row| block(row) == of).collect();
        if own.len() > 1 {
            add(others.data(&own), ANY);
        }
        add(others.shrunk(of), ANY);
    }
    // How common the slip is that a number may have suffered.
    let numbers = (0..rows).flat_map(|row| others.heading(row));
    let numbers = numbers.chain((0..rows).flat_map(|row| centrelines(table, row)));
    let numbers: Vec<(WholeSlip, f64)> =
        numbers.chain(asked.iter().flat_map(|&column| distances(table, survey, column))).collect();
    let odds = -RARE.ln() - ((rows + columns) as f64).ln() + PLACES;
    all.extend(numbers.into_iter().map(|(slip, weight)| (slip, odds + weight.ln())));
    all
}

/// Rows shifted as a whole, and in part from a station on, between two, or as far as one. What a shift left behind is an
/// empty cell, or its neighbour's reading once more; where neither is, there was none that could be put right without
/// a sound reading's loss.
fn shifts(table: &Table) -> [Vec<WholeSlip>; 2] {
    let (mut whole, mut part) = (Vec::new(), Vec::new());
    for (row, r) in table.rows.iter().enumerate() {
        let at = |i: usize| r.cells.get(i).and_then(|c| c.as_ref()).map(|c| c.length);
        let read: Vec<usize> = (0..r.cells.len()).filter(|&i| at(i).is_some()).collect();
        let (Some(&low), Some(&high)) = (read.first(), read.last()) else { continue };
        let is_free = |source: usize, beside: usize| at(source).is_none() || at(source) == at(beside);
        // Aft: they came from the cell before the first, and end anywhere; forward the other way about.
        for first in low.max(1)..=high {
            if is_free(first - 1, first) && at(first).is_some() {
                let ends = if r.cells.len() > ASKED { high..=high } else { first..=high };
                // One alone is a single reading's slip: its neighbour's.
                for last in ends.filter(|&last| last > first && at(last).is_some()) {
                    let slip = WholeSlip::RowShifted { row, first, last, aft: true };
                    let all = first == low && last == high;
                    if all { whole.push(slip) } else { part.push(slip) }
                }
            }
        }
        for last in low..=high {
            if last + 1 < r.cells.len() && is_free(last + 1, last) && at(last).is_some() {
                let spread = if r.cells.len() > ASKED && last != high { low..=low } else { low..=last };
                for first in spread.filter(|&first| first < last && at(first).is_some()) {
                    let slip = WholeSlip::RowShifted { row, first, last, aft: false };
                    let all = first == low && last == high;
                    if all { whole.push(slip) } else { part.push(slip) }
                }
            }
        }
    }
    [whole, part]
}

/// How near a heading must come to where the sections have the row's readings, in lengths of the boat.
const NEAR_HEADING: f64 = 0.012;

/// How near a diagonal's height must come to what is given, m as read: half a yard.
const NEAR_CENTRELINE: f64 = 0.46;

fn median(mut of: Vec<f64>) -> Option<f64> {
    of.sort_by(f64::total_cmp);
    of.get(of.len() / 2).copied()
}

fn length(survey: &Survey) -> f64 {
    survey.stations.iter().fold(0.0f64, |a, b| a.max(*b))
}

/// Where a diagonal may leave the centreline.
fn centrelines(table: &Table, row: usize) -> Vec<(WholeSlip, f64)> {
    let Some(reading) = amount::centreline(table, row) else { return Vec::new() };
    let found = headings(table, &reading, reading.length.metres(), NEAR_CENTRELINE);
    found.into_iter().map(|(to, weight)| (WholeSlip::Diagonal { row, to }, weight)).collect()
}

/// Where a station may stand between its neighbours.
fn distances(table: &Table, survey: &Survey, column: usize) -> Vec<(WholeSlip, f64)> {
    let Some(reading): Option<&Reading> = table.stations[column].from_stem.as_ref() else {
        return Vec::new();
    };
    let factor = table.facts.factors().0;
    let at = |c: Option<usize>| c.and_then(|c| survey.stations.get(c)).copied();
    let low = at(column.checked_sub(1)).unwrap_or(0.0) / factor;
    let high = at(Some(column + 1)).unwrap_or(low * factor + length(survey)) / factor;
    let found = headings(table, reading, 0.5 * (low + high), 0.5 * (high - low).abs());
    found.into_iter().map(|(to, weight)| (WholeSlip::Station { column, to }, weight)).collect()
}

/// What the other rows make of some.
struct Others<'a> {
    table: &'a Table,
    readings: &'a Readings,
    usual: &'a Usual,
    /// Of the boat, m.
    length: f64,
}

impl Others<'_> {
    fn of(&self, without: &[usize], row: usize, height: bool) -> Vec<(f64, f64)> {
        self.readings.by_others(without, row, height, self.usual)
    }

    /// Where they have a waterline's or a buttock's readings; each with how common the slip is.
    fn heading(&self, row: usize) -> Vec<(WholeSlip, f64)> {
        let table = self.table;
        let (at, is_height, factor) = match table.rows[row].line {
            LineKind::Waterline(at) => (at, true, table.facts.factors().2),
            LineKind::Buttock(at) => (at, false, table.facts.factors().1),
            _ => return Vec::new(),
        };
        let places = self.of(&[row], row, is_height);
        let Some(about) = median(places.into_iter().map(|f| f.1).collect()) else { return Vec::new() };
        let label = table.rows[row].label.split_whitespace().skip(1).collect::<Vec<_>>().join(" ");
        let Ok(Some(reading)) = parse_cell(&label, &table.facts.dialect) else { return Vec::new() };
        let reading = reading.into_reading();
        if reading.length != at {
            // A lift, by its number.
            return Vec::new();
        }
        let found = headings(table, &reading, about / factor, NEAR_HEADING * self.length / factor);
        // In the label's own hand: it has no unit where that has none.
        let has_unit = |text: &str| text.contains(|c: char| c.is_ascii_alphabetic());
        let own = has_unit(&label);
        found
            .into_iter()
            .filter(|(to, _)| own || !has_unit(to))
            .map(|(to, weight)| (WholeSlip::Heading { row, to }, weight))
            .collect()
    }

    /// Data that rows may be measured from: what the table names, and what the other rows call for.
    fn data(&self, rows: &[usize]) -> Vec<WholeSlip> {
        let table = self.table;
        let heights = match table.rows[rows[0]].block {
            Block::Heights => true,
            Block::HalfBreadths => false,
            _ => return Vec::new(),
        };
        let (_, across, up) = table.facts.factors();
        let (mut by, mut down): (Vec<Length>, Vec<Length>) = (amount::data_named(table, heights), Vec::new());
        if heights {
            down.clone_from(&by);
        }
        by.extend(by.clone().into_iter().map(|l| -l));
        let pairs: Vec<(f64, f64)> = rows.iter().flat_map(|&row| self.of(rows, row, heights)).collect();
        let factor = if heights { up } else { across };
        if pairs.len() > 2 {
            let about = |of: fn(&(f64, f64)) -> f64| {
                let m = median(pairs.iter().map(|p| of(p) / factor).collect());
                m.map_or(Vec::new(), |m| amount::data_near(table, m))
            };
            by.extend(about(|p| p.1 - p.0));
            if heights {
                down.extend(about(|p| p.1 + p.0));
            }
        }
        let of = |by: Length, down: bool| WholeSlip::Datum { rows: rows.to_vec(), by, down };
        let mut all: Vec<WholeSlip> = Vec::new();
        by.retain(|l| *l != Length::ZERO);
        for slip in by.into_iter().map(|l| of(l, false)).chain(down.into_iter().map(|l| of(l, true))) {
            if !all.contains(&slip) {
                all.push(slip);
            }
        }
        all
    }

    /// How much all readings of a block may be drawn out: what the other block makes of them.
    fn shrunk(&self, block: Block) -> Vec<WholeSlip> {
        let rows: Vec<usize> =
            (0..self.table.rows.len()).filter(|&row| self.table.rows[row].block == block).collect();
        let pairs: Vec<(f64, f64)> =
            rows.iter().flat_map(|&row| self.of(&rows, row, block == Block::Heights)).collect();
        let ratios = pairs.iter().filter(|p| p.0 > 0.0 && p.1 > 0.0).map(|p| p.1 / p.0);
        let Some(about) = median(ratios.collect()).filter(|f| *f > 0.2 && *f < 5.0) else {
            return Vec::new();
        };
        let steps = -8..=8;
        let factors = steps.map(|i| ((about + 0.005 * f64::from(i)) * 200.0).round() / 200.0);
        let sound = |f: &f64| (*f - 1.0).abs() > 0.007;
        factors.filter(sound).map(|factor| WholeSlip::Shrunk { block, factor }).collect()
    }
}
