//! One slip in a line that makes several sound readings look like slips: a rabbet a foot too low bends the keel
//! past its neighbours, a sheer too low leaves the spots under it outside of any section.
//!
//! A search that goes reading by reading does not find its way from the several to the one, for in the frame that the
//! slip has bent its own neighbours look worse. So wherever several are left out near a reading of a line, that one
//! alone is tried in their place.

use scrieve_notation::Mark;
use scrieve_offsets::{Axis, LineReading, RefLine};

use crate::evidence::{Out, Settled, Which};

/// Readings no farther than so many usual spaces between stations may be upset by one of a line.
const REACH: f64 = 1.6;
/// So many of those likeliest to be the cause are tried.
const MOST: usize = 4;
/// A cause stands for no fewer than this.
const SEVERAL: usize = 2;

/// What a line breaks by at each of its readings, in order along it: how much less its chain of straights breaks without
/// the reading, as a part.
fn smoother_without(of: &[&LineReading]) -> Vec<f64> {
    let breaks = |of: &[&LineReading]| {
        let at = of.windows(3).map(|w| {
            let part = (w[1].x - w[0].x) / (w[2].x - w[0].x).max(1e-9);
            (w[1].value - w[0].value - part * (w[2].value - w[0].value)).abs()
        });
        at.sum::<f64>() / (of.len().max(3) - 2) as f64
    };
    let whole = breaks(of);
    let without = |i: usize| {
        let rest: Vec<&LineReading> = (0..of.len()).filter(|&k| k != i).map(|k| of[k]).collect();
        whole / breaks(&rest).max(1e-6)
    };
    (0..of.len()).map(without).collect()
}

/// Sets of readings left out in which one of a line stands in place of several near it, likeliest first.
pub(crate) fn single_causes(of: &Settled<'_>) -> Vec<Out> {
    if of.out.len() < SEVERAL {
        return Vec::new();
    }
    let survey = of.fit.survey;
    let reach = REACH / survey.stations.len().max(2) as f64;
    let t_of = |which: Which| of.judged.iter().find(|j| j.which == Some(which)).map(|j| j.t);
    let left_out: Vec<(Which, f64)> = of.out.iter().filter_map(|&w| Some((w, t_of(w)?))).collect();
    let mut kinds: Vec<(RefLine, Axis)> = survey.lines.iter().map(|l| (l.line, l.axis)).collect();
    kinds.sort();
    kinds.dedup();
    let mut causes: Vec<(f64, Vec<Out>)> = Vec::new();
    for kind in kinds {
        let own = survey.lines.iter().enumerate().filter(|(_, l)| (l.line, l.axis) == kind);
        let mut own: Vec<(usize, &LineReading)> = own.collect();
        own.sort_by(|a, b| a.1.x.total_cmp(&b.1.x));
        let readings: Vec<&LineReading> = own.iter().map(|o| o.1).collect();
        for ((i, reading), smoother) in own.iter().zip(smoother_without(&readings)) {
            let which = Which::Line(*i);
            let open = of.judged.iter().any(|j| j.which == Some(which) && j.open);
            let Some(t) = t_of(which).filter(|_| open && reading.mark != Mark::Held) else { continue };
            let near = |at: f64| (at - t).abs() < reach;
            let others = left_out.iter().filter(|(w, at)| *w != which && near(*at)).count();
            if others + usize::from(of.out.contains(&which)) < SEVERAL {
                continue;
            }
            let far = left_out.iter().filter(|(_, at)| !near(*at)).map(|(w, _)| *w);
            let with_far: Out = far.chain([which]).collect();
            let alone = Out::from([which]);
            let mut sets = vec![alone];
            if sets[0] != with_far {
                sets.push(with_far);
            }
            sets.retain(|set| *set != of.out);
            causes.push((smoother * others as f64, sets));
        }
    }
    causes.sort_by(|a, b| b.0.total_cmp(&a.0));
    causes.truncate(MOST);
    causes.into_iter().flat_map(|c| c.1).collect()
}
