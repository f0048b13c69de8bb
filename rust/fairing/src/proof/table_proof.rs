//! Proofreading a table: every query with what its reading may have been.

use scrieve_offsets::{Mistakes, Survey, Table, Tolerance};

use crate::one_hull::{NoHull, no_hull};
use crate::proof::{Query, apart, judging, of_profile_query, place};
use crate::slips::{Suggestion, expected_reading, weighed};
use crate::whole_slips::{FoundSlip, SURE, not_told, whole_slips_of};
use crate::{Faired, FairingError, Options, fair};

/// A query, and what its reading may have been.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// The query.
    pub query: Query,
    /// What the rest expects, in the hand of the table.
    pub expected_reading: String,
    /// Where the reading belongs by what the rest expects: x, y and z, m.
    pub place: Option<[f64; 3]>,
    /// Likeliest first.
    pub suggestions: Vec<Suggestion>,
    /// The slip of the whole that explains it, by its place in [`Proof::slips`]: put that right, and nothing is wrong here.
    pub explained_by: Option<usize>,
}

/// Why a table cannot be proofread.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ProofError {
    /// The table is no hull.
    #[error(transparent)]
    Mistakes(#[from] Mistakes),
    /// No surface can be made of it to judge by.
    #[error(transparent)]
    Fairing(#[from] FairingError),
}

/// What proofreading makes of a table.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Proof {
    /// It describes no one fair hull: to be said before any query.
    pub no_hull: Option<NoHull>,
    /// Slips of a whole row, column or block, each found with those before it put right.
    pub slips: Vec<FoundSlip>,
    /// Readings that the rest contradicts, worst first, those last that such a slip explains.
    pub findings: Vec<Finding>,
    /// What is to be said of stretches of the planking that the readings leave open, as findings with slips put right.
    pub remarks: Vec<String>,
    /// Facts that no reading tells again, each with how far it could be off unseen: they are not judged, nor held against it.
    pub not_judged: Vec<String>,
}

/// The readings of a table that the rest of the boat contradicts, worst first, each with what it may have been.
/// The table is not changed.
///
/// # Errors
/// A table that is no hull, or that no surface can be made of.
pub fn proof_table(table: &Table, options: &Options) -> Result<Vec<Finding>, ProofError> {
    let (survey, _) = table.survey_unsifted()?;
    let faired = fair(&survey, &judging(options))?;
    Ok(findings(table, &survey, &faired))
}

/// The same, slips of the whole that explain many of them at once, whether the table describes one hull at all, and what
/// it leaves open.
///
/// # Errors
/// As [`proof_table`]; where readings contradict each other, the error says where to begin. A table that no surface can be
/// made of as it is, but can with a slip of the whole put right, is none.
pub fn proof_whole(table: &Table, options: &Options) -> Result<Proof, ProofError> {
    let (survey, _) = table.survey_unsifted()?;
    let judging = judging(options);
    let faired = fair(&survey, &judging);
    let (slips, no_hull) = beyond_readings(table, &survey, faired.as_ref(), &judging);
    let remarks_of = |table: &Table, faired: &Faired| -> Vec<String> {
        faired.unsettled.iter().cloned().chain(faired.unsure_remarks(table)).collect()
    };
    let (given, remarks, not_judged) = match faired {
        Ok(faired) => {
            let mut not_judged = faired.not_judged.clone();
            if slips.is_empty() && no_hull.is_none() {
                not_judged.extend(not_told(table, &survey, &faired, &judging));
            }
            (findings(table, &survey, &faired), remarks_of(table, &faired), not_judged)
        }
        Err(error) if slips.is_empty() => return Err(error.beginning_with(no_hull.as_ref(), table).into()),
        Err(_) => (Vec::new(), Vec::new(), Vec::new()),
    };
    let Some(last) = slips.last() else {
        return Ok(Proof { no_hull, slips, findings: given, remarks, not_judged });
    };
    // What is left is judged with them put right, and said of where it stands now. One that is only named leaves the
    // table as it is: what it does not explain is all there is to say.
    let right = slips.iter().rev().find(|slip| slip.unsure.is_none());
    let (mut left, remarks, not_judged) = match right {
        Some(right) => {
            let (survey, _) = right.table.survey_unsifted()?;
            let faired = fair(&survey, &judging)?;
            let left = findings(&right.table, &survey, &faired);
            (left, remarks_of(&right.table, &faired), faired.not_judged)
        }
        None => (given.clone(), remarks, not_judged),
    };
    if last.unsure.is_some() {
        let by = slips.len() - 1;
        for finding in left.iter_mut().filter(|f| last.explains.contains(&f.query.cell)) {
            finding.explained_by = Some(by);
        }
        left.sort_by_key(|f| f.explained_by.is_some());
    }
    for finding in &mut left {
        for slip in slips.iter().rev().filter(|slip| slip.unsure.is_none()) {
            finding.query.cell = slip.slip.came_from(table, finding.query.cell);
        }
    }
    let still = |f: &Finding| left.iter().any(|l| l.query.cell == f.query.cell);
    let explained = given.into_iter().filter(|f| !still(f)).map(|f| {
        let by = slips.iter().position(|slip| slip.explains.contains(&f.query.cell));
        Finding { explained_by: Some(by.unwrap_or(0)), ..f }
    });
    let explained: Vec<Finding> = explained.collect();
    left.extend(explained);
    Ok(Proof { no_hull, slips, findings: left, remarks, not_judged })
}

/// What is wrong beyond single readings: slips of the whole, or, where the table makes no one hull with those put right
/// either, only that.
pub fn beyond_readings(
    table: &Table,
    survey: &Survey,
    faired: Result<&Faired, &FairingError>,
    judging: &Options,
) -> (Vec<FoundSlip>, Option<NoHull>) {
    let slips = whole_slips_of(table, survey, faired.ok(), judging);
    let right = slips.last().map(|slip| {
        let survey = slip.table.survey_unsifted().ok()?.0;
        fair(&survey, judging).ok().filter(|faired| !faired.is_no_hull())
    });
    match right {
        Some(Some(_)) => (slips, None),
        Some(None) | None => (Vec::new(), no_hull(survey, judging, faired)),
    }
}

/// The same where the hull was faired by `tolerances` of a loftsman's besides the table's own, or from an earlier hull:
/// slips are looked for in the table as it is, faired afresh, and one stands only if it gains as much by his tolerances.
pub fn beyond_readings_within(
    table: &Table,
    survey: &Survey,
    tolerances: &[Tolerance],
    faired: Result<&Faired, &FairingError>,
    judging: &Options,
) -> (Vec<FoundSlip>, Option<NoHull>) {
    let by_given = || no_hull(survey, judging, faired);
    let Ok((own, _)) = table.survey_unsifted() else { return (Vec::new(), by_given()) };
    if tolerances.is_empty() {
        // An earlier hull's parameters explain the table no better than its own: what is found by them is asked again.
        let found = beyond_readings(table, survey, faired, judging);
        let afresh = || beyond_readings(table, survey, fair(survey, judging).as_ref(), judging);
        return if found.0.is_empty() { found } else { afresh() };
    }
    let as_it_is = fair(&own, judging);
    let mut slips = whole_slips_of(table, &own, as_it_is.as_ref().ok(), judging);
    let evidence = |faired: &Faired| faired.kept.as_ref().map(|kept| kept.doubts.evidence);
    let mut before = (as_it_is.ok(), faired.ok().cloned());
    let mut stand = 0;
    for slip in &slips {
        let Ok((right, _)) = slip.table.survey_unsifted() else { break };
        // A row whose heading is put right may be called otherwise than he calls it.
        let Ok(within) = right.clone().within(&slip.table, tolerances) else { break };
        let after = (fair(&right, judging).ok(), fair(&within, judging).ok());
        let gained = |before: &Option<Faired>, after: &Option<Faired>| {
            Some(evidence(after.as_ref()?)? - evidence(before.as_ref()?)?)
        };
        // What is believed of the slip before the readings is in its gain, whatever they are worth.
        let sure = match (gained(&before.0, &after.0), gained(&before.1, &after.1)) {
            (Some(own), Some(given)) => slip.gain + given - own > SURE,
            _ => before.1.is_none() && after.1.is_some(),
        };
        if !sure {
            break;
        }
        (before, stand) = (after, stand + 1);
    }
    slips.truncate(stand);
    match before.1 {
        Some(right) if stand > 0 && !right.is_no_hull() => (slips, None),
        _ => (Vec::new(), by_given()),
    }
}

/// What a faired hull has to say of the readings of the table she was faired of, the worst first: those left out, and
/// those that are queried and kept.
pub fn findings(table: &Table, survey: &Survey, faired: &Faired) -> Vec<Finding> {
    let (queries, of_profiles) = apart(survey, faired);
    let finding = |(query, suggestions): (Query, Vec<Suggestion>)| Finding {
        query,
        expected_reading: expected_reading(table, &query).unwrap_or_default(),
        place: place(survey, &query),
        suggestions,
        explained_by: None,
    };
    let mut findings: Vec<Finding> =
        queries.into_iter().map(|query| finding((query, weighed(table, &query).0))).collect();
    for suspect in of_profiles {
        // The height or the distance from the stem: whichever some slip explains better.
        let readings = [Some(suspect.height), suspect.from_stem].into_iter().flatten().map(of_profile_query);
        let best =
            readings.map(|query| (query, weighed(table, &query))).max_by(|a, b| a.1.1.total_cmp(&b.1.1));
        findings.extend(best.map(|(query, (suggestions, _))| finding((query, suggestions))));
    }
    findings.sort_by(|a, b| b.query.misfit.abs().total_cmp(&a.query.misfit.abs()));
    findings
}
