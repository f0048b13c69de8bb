//! Tables of more readings than a hull is judged by or faired through: the rest is not lost.

use scrieve_fairing::{Options, fair, proof};
use scrieve_offsets::{CellId, Survey};
use scrieve_yardstick::known::{Family, Known, Place};

fn cells_of(survey: &Survey) -> impl Iterator<Item = CellId> {
    survey.spots.iter().map(|s| s.cell).chain(survey.lines.iter().map(|l| l.cell))
}

#[test]
fn every_reading_of_a_table_of_very_many_is_judged_whether_or_not_it_is_faired_through() {
    // 200 stations, and a scan's worth of waterlines at 30: more than a hull is judged by, and more than it is faired through.
    let hull = Known::new(Family::RoundBilge, 4);
    let mut close = hull.layout(30);
    let (low, high) = (close.waterlines[0], close.waterlines[close.waterlines.len() - 1]);
    close.waterlines = (0..40).map(|i| low + (high - low) * f64::from(i) / 39.0).collect();
    for (layout, every) in [(hull.layout(200), 61), (close, 97)] {
        let mut survey = hull.survey(&layout, Place::Eighth);
        let count = survey.spots.len() + survey.lines.len();
        assert!(count > 1000, "{count}");
        let sound = proof(&survey, &Options::default()).expect("a hull");
        assert!(sound.is_empty(), "{sound:?}");
        // Places that no stride of a selection shares.
        let mut wrong: Vec<_> = (17..survey.spots.len() - 40).step_by(every).collect();
        wrong.truncate(8);
        let cells: Vec<_> = wrong.iter().map(|&i| survey.spots[i].cell).collect();
        for &i in &wrong {
            let along = survey.spots[i].along;
            let by = if along.0 == 0.0 { (0.0, 0.0254) } else { (0.0254, 0.0) };
            (survey.spots[i].y, survey.spots[i].z) = (survey.spots[i].y + by.0, survey.spots[i].z + by.1);
        }
        let queries = proof(&survey, &Options::default()).expect("a hull");
        let queried: Vec<_> = queries.iter().map(|q| q.cell).collect();
        let found = cells.iter().filter(|c| queried.contains(c)).count();
        assert!(found == cells.len(), "{found} of {}", cells.len());
        assert!(queried.len() == found, "{} false", queried.len() - found);
        let faired = fair(&survey, &Options::default()).expect("a hull");
        let doubted: Vec<_> = faired.residuals.iter().filter(|r| r.doubted).map(|r| r.cell).collect();
        assert!(cells.iter().all(|c| doubted.contains(c)) && doubted.len() == cells.len());
        let missing = cells_of(&survey).filter(|c| !faired.residuals.iter().any(|r| r.cell == *c)).count();
        assert!(missing == 0, "{missing} of {count} readings have no residual");
    }
}
