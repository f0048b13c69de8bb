//! Proofreading a table: every query with what its reading may have been.

use scrieve_offsets::{Mistakes, Survey, Table};

use crate::one_hull::{NoHull, no_hull};
use crate::proof::{Query, of_profile_query, place, proof_fit, queries_of};
use crate::slips::{Suggestion, expected_reading, weighed};
use crate::{Faired, FairingError, Options};

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
    /// The readings that the rest contradicts, worst first.
    pub findings: Vec<Finding>,
    /// What is to be said of stretches of the planking that the readings leave open.
    pub remarks: Vec<String>,
}

/// The readings of a table that the rest of the boat contradicts, worst first, each with what it may have been.
/// The table is not changed.
///
/// # Errors
/// A table that is no hull, or that no surface can be made of.
pub fn proof_table(table: &Table, options: &Options) -> Result<Vec<Finding>, ProofError> {
    let (survey, _) = table.survey_unsifted()?;
    Ok(findings(table, &survey, &proof_fit(&survey, options)?))
}

/// The same, whether the table describes one hull at all, and what it leaves open.
///
/// # Errors
/// As [`proof_table`]; where readings contradict each other, the error says where to begin.
pub fn proof_whole(table: &Table, options: &Options) -> Result<Proof, ProofError> {
    let (survey, _) = table.survey_unsifted()?;
    let faired = proof_fit(&survey, options);
    let no_hull = no_hull(&survey, options, faired.as_ref());
    let faired = faired.map_err(|error| error.beginning_with(no_hull.as_ref(), table))?;
    let remarks = faired.unsettled.iter().cloned().chain(faired.unsure_remarks(table)).collect();
    Ok(Proof { no_hull, findings: findings(table, &survey, &faired), remarks })
}

/// What a faired hull has to say of the table she was faired of.
fn findings(table: &Table, survey: &Survey, faired: &Faired) -> Vec<Finding> {
    let (queries, of_profiles) = queries_of(survey, faired);
    let finding = |(query, suggestions): (Query, Vec<Suggestion>)| Finding {
        query,
        expected_reading: expected_reading(table, &query).unwrap_or_default(),
        place: place(survey, &query),
        suggestions,
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
