//! Facts are proofread like readings: where a transom's foot and head stand, and where the stations do.

use scrieve_fairing::{
    Confidence, Faired, Finding, Options, disagreements, facts_apart, fair, proof_table, proof_whole,
};
use scrieve_offsets::{Block, CellId, Table, read};
use scrieve_yardstick::known::as_built::{AsBuilt, Kind};
use scrieve_yardstick::known::{Family, Known, Place};

mod wedge;
use wedge::{Slip, Wedge};

fn text(family: Family, seed: u64) -> String {
    let hull = Known::new(family, seed);
    hull.table_text(&hull.layout(12), Place::Eighth, "Known")
}

fn table(text: &str) -> Table {
    read(text.as_bytes(), "known.offsets").expect("a table")
}

fn proof(table: &Table) -> Vec<Finding> {
    proof_table(table, &Options::default()).expect("a proof")
}

fn faired(table: &Table) -> Faired {
    fair(&table.survey().expect("a survey").0, &Options::default()).expect("a hull")
}

/// The text with the distance of a station otherwise.
fn with_station(text: &str, column: usize, reading: &str) -> String {
    let row = text.lines().find(|l| l.starts_with("from stem")).expect("distances");
    let (label, cells) = row.split_once('|').expect("cells");
    let mut cells: Vec<&str> = cells.split_whitespace().collect();
    cells[column] = reading;
    text.replacen(row, &format!("{label}| {}", cells.join(" ")), 1)
}

fn distance(table: &Table, column: usize) -> String {
    table.stations[column].from_stem.as_ref().expect("a station").written.clone()
}

/// The reading a foot greater.
fn a_foot_more(reading: &str) -> String {
    let (feet, rest) = reading.split_once('-').expect("feet");
    format!("{}-{rest}", feet.parse::<u32>().expect("feet") + 1)
}

#[test]
fn a_station_a_foot_off_is_queried_where_it_stands_and_she_is_faired_without_the_error() {
    for (family, column) in [(Family::RoundBilge, 5), (Family::DoubleEnder, 6), (Family::HardChine, 4)] {
        let text = text(family, 400);
        let clean = table(&text);
        let truth = distance(&clean, column);
        let slipped = table(&with_station(&text, column, &a_foot_more(&truth)));
        let findings = proof(&slipped);
        let cells: Vec<_> = findings.iter().map(|f| f.query.cell).collect();
        assert_eq!(cells.len(), 1, "{family:?}: {findings:?}");
        let cell = cells[0];
        assert!(cell.block == Block::Stations && cell.column == column, "{family:?}: {cell:?}");
        let (line, at) = slipped.line_column(cell).expect("a place");
        let written = slipped.to_text().lines().nth(line - 1).expect("the line").split_at(at - 1).1;
        assert!(written.starts_with(&a_foot_more(&truth)), "{written}");
        // The true distance to within its uncertainty, and suggested.
        let query = findings[0].query;
        assert!((query.read - query.expected - 0.3048).abs() < 0.04, "{family:?}: {query:?}");
        let hull = faired(&slipped);
        assert!(hull.remarks.iter().any(|r| r.starts_with(&format!("station {} of", column + 1))));
        assert!(!hull.residuals.iter().any(|r| r.doubted), "{family:?}");
        let survey = slipped.survey().expect("a survey").0;
        let taken = hull.facts_taken(&survey).stations[column];
        assert!((taken - query.expected).abs() < 1e-9);
    }
}

#[test]
fn a_held_distance_is_never_doubted() {
    let text = text(Family::RoundBilge, 400);
    let wrong = a_foot_more(&distance(&table(&text), 5));
    let held = table(&with_station(&text, 5, &format!("{wrong}!")));
    assert!(proof(&held).iter().all(|f| f.query.cell.block != Block::Stations || f.query.cell.column != 5));
}

#[test]
fn a_transoms_foot_a_foot_short_is_queried() {
    let text = text(Family::RakedTransom, 400);
    let clean = table(&text);
    let foot = clean.transom.as_ref().expect("a transom").foot.0.metres();
    let start = text.find("foot = { from_stem = \"").expect("the foot") + "foot = { from_stem = \"".len();
    let end = start + text[start..].find('"').expect("its end");
    let (feet, rest) = text[start..end].split_once('-').expect("feet");
    let short = format!("{}-{rest}", feet.parse::<u32>().expect("feet") - 1);
    let slipped = table(&format!("{}{short}{}", &text[..start], &text[end..]));
    let findings = proof(&slipped);
    let found =
        findings.iter().find(|f| f.query.cell.block == Block::Transom).expect("a query of the transom");
    assert_eq!(slipped.describe(found.query.cell), ("T".to_string(), "transom foot from stem".to_string()));
    assert!((found.query.expected - foot).abs() < 0.1, "{:?} for {foot}", found.query);
    let place = slipped.line_column(found.query.cell).expect("a place");
    assert!(slipped.to_text().lines().nth(place.0 - 1).expect("the line").starts_with("foot"));
}

#[test]
fn facts_of_sound_tables_are_let_be() {
    for family in Family::ALL {
        let queried = proof(&table(&text(family, 400)));
        assert_eq!(queried.len(), 0, "{family:?}: {queried:?}");
    }
}

/// What facts of a table say against readings that tell the same.
fn apart(text: &str) -> Vec<String> {
    let table = table(text);
    let survey = table.survey_unsifted().expect("a survey").0;
    let apart = facts_apart(&table, &survey);
    // Proofreading says them among what the table says against itself.
    let all = disagreements(&table, &survey);
    assert!(apart.iter().all(|d| all.contains(d)));
    apart.into_iter().map(|d| d.text).collect()
}

/// The text with the reading after a key otherwise, the key sought after another text.
fn with_fact(text: &str, after: &str, key: &str, change: impl Fn(&str) -> String) -> String {
    let from = text.find(after).expect("the place");
    let start = from + text[from..].find(key).expect("the key") + key.len();
    let end = start + text[start..].find('"').expect("its end");
    format!("{}{}{}", &text[..start], change(&text[start..end]), &text[end..])
}

#[test]
fn a_foot_that_is_not_where_the_rabbet_ends_is_said_unless_it_is_held() {
    let text = text(Family::RakedTransom, 400);
    assert_eq!(apart(&text), Vec::<String>::new());
    let high = with_fact(&text, "foot = {", "height = \"", a_foot_more);
    let said = apart(&high);
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(said[0].contains("the rabbet on the transom"), "{said:?}");
    let held = with_fact(&text, "foot = {", "height = \"", |z| format!("{}!", a_foot_more(z)));
    assert_eq!(apart(&held), Vec::<String>::new());
}

#[test]
fn a_foot_off_the_head_of_its_sternpost_is_said() {
    let boat = AsBuilt::new(Kind::PostUnderTransom, 400);
    let text = boat.table_text(&boat.taking(9), Place::Eighth, "Known");
    assert_eq!(apart(&text), Vec::<String>::new());
    let long = with_fact(&text, "foot = {", "from_stem = \"", a_foot_more);
    assert!(
        apart(&long).iter().any(|said| said.contains("the sternpost that ends there")),
        "{:?}",
        apart(&long)
    );
}

#[test]
fn a_transom_that_would_rake_forward_is_said() {
    let text = text(Family::RakedTransom, 400);
    let of = |name: &str| {
        let key = format!("{name} = {{ from_stem = \"");
        let start = text.find(&key).expect("a spot") + key.len();
        text[start..start + text[start..].find('"').expect("its end")].to_string()
    };
    let (foot, head) = (of("foot"), of("head"));
    let turned = with_fact(&text, "foot = {", "from_stem = \"", |_| head.clone());
    let turned = with_fact(&turned, "head = {", "from_stem = \"", |_| foot.clone());
    assert!(apart(&turned).iter().any(|said| said.contains("rake forward")), "{:?}", apart(&turned));
}

#[test]
fn a_station_out_of_step_is_said_and_which() {
    let text = text(Family::RoundBilge, 400);
    let wrong = a_foot_more(&distance(&table(&text), 5));
    let said = apart(&with_station(&text, 5, &wrong));
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(said[0].starts_with("station 6 is given") && said[0].contains("abaft"), "{said:?}");
    assert_eq!(apart(&with_station(&text, 5, &format!("{wrong}!"))), Vec::<String>::new());
}

#[test]
fn a_half_siding_that_no_boat_has_is_said() {
    let text = text(Family::RoundBilge, 400);
    let wide = with_fact(&text, "[backbone]", "half_siding = \"", |_| "0-9-0".to_string());
    assert!(apart(&wide).iter().any(|said| said.contains("half the siding")), "{:?}", apart(&wide));
    let planked = text.replacen("[backbone]", "planking = \"0-0-5\"\n\n[backbone]", 1);
    let planked = if text.contains("planking") { text.clone() } else { planked };
    assert_eq!(apart(&planked), Vec::<String>::new());
    let thin = with_fact(&planked, "[backbone]", "half_siding = \"", |_| "0-0-1".to_string());
    assert!(apart(&thin).iter().any(|said| said.contains("no rabbet could be cut")), "{:?}", apart(&thin));
}

/// What proofreading has to say in words.
fn remarks(text: &str) -> Vec<String> {
    proof_whole(&table(text), &Options::default()).expect("a proof").remarks
}

/// The reading so many times as great, to the eighth.
fn times(reading: &str, by: f64) -> String {
    let mut parts = reading.split('-').map(|part| part.parse::<f64>().expect("a number"));
    let mut next = || parts.next().expect("feet, inches and eighths");
    let eighths = (by * (96.0 * next() + 8.0 * next() + next())).round() as u32;
    format!("{}-{}-{}", eighths / 96, eighths / 8 % 12, eighths % 8)
}

#[test]
fn a_half_siding_that_is_the_whole_or_half_of_it_is_said_and_no_reading_is_blamed() {
    for (family, seed) in [(Family::RoundBilge, 400), (Family::DoubleEnder, 401)] {
        let text = text(family, seed);
        let truth = Known::new(family, seed).half_siding();
        let says =
            |remarks: &[String]| remarks.iter().any(|r| r.starts_with("half the siding of the backbone"));
        assert!(!says(&remarks(&text)), "{family:?}: {:?}", remarks(&text));
        for by in [2.0, 0.5] {
            let wrong = with_fact(&text, "[backbone]", "half_siding = \"", |h| times(h, by));
            assert!(says(&remarks(&wrong)), "{family:?} x {by}: {:?}", remarks(&wrong));
            let whole = remarks(&wrong).iter().any(|r| r.contains("may be the whole siding"));
            assert_eq!(whole, by == 2.0, "{family:?} x {by}");
            let table = table(&wrong);
            assert_eq!(proof(&table).len(), 0, "{family:?} x {by}: {:?}", proof(&table));
            // She is faired by what the planking says: the true one to within 3 mm.
            let hull = faired(&table);
            assert!(hull.doubts_facts());
            let side = hull.surface.patches[0].point(0.5, 0.0)[1];
            assert!((side - truth).abs() < 0.003, "{family:?} x {by}: {side} for {truth}");
        }
    }
}

#[test]
fn a_foot_two_inches_off_its_sternpost_is_said() {
    let boat = AsBuilt::new(Kind::PostUnderTransom, 700);
    let text = boat.table_text(&boat.taking(10), Place::Eighth, "Known");
    let long = with_fact(&text, "foot = {", "from_stem = \"", two_inches_more);
    assert!(
        apart(&long).iter().any(|said| said.contains("the sternpost that ends there")),
        "{:?}",
        apart(&long)
    );
}

fn two_inches_more(reading: &str) -> String {
    let mut parts = reading.split('-').map(|part| part.parse::<u32>().expect("a number"));
    let mut next = || parts.next().expect("feet, inches and eighths");
    let eighths = 96 * next() + 8 * next() + next() + 16;
    format!("{}-{}-{}", eighths / 96, eighths / 8 % 12, eighths % 8)
}

#[test]
fn how_far_a_transom_could_be_off_unseen_is_said_and_is_true() {
    let text = text(Family::RakedTransom, 700);
    let told = |text: &str| {
        let proof = proof_whole(&table(text), &Options::default()).expect("a proof");
        // It is no remark: nothing speaks against the transom.
        assert!(!proof.remarks.iter().any(|r| r.contains("transom")), "{:?}", proof.remarks);
        proof.not_judged.into_iter().find(|r| r.starts_with("how far aft the transom stands"))
    };
    let said = told(&text).expect("a statement");
    let foot = said.split_once("its foot ").expect("the foot").1;
    let mm: f64 = foot.split_once(' ').expect("a number").0.parse().expect("a number");
    assert!(mm > 50.8, "{said}");
    // Two inches are less: nothing is queried, and the same is said.
    let long = with_fact(&text, "foot = {", "from_stem = \"", two_inches_more);
    assert_eq!(proof(&table(&long)).len(), 0);
    assert!(told(&long).is_some());
    // A foot is more: it is queried.
    let far = with_fact(&text, "foot = {", "from_stem = \"", a_foot_more);
    assert!(
        proof(&table(&far)).iter().any(|f| f.query.cell.block == Block::Transom),
        "{:?}",
        proof(&table(&far))
    );
}

#[test]
fn a_spot_of_a_stem_two_inches_off_is_queried_and_nothing_else_is() {
    for kind in [Kind::Cutaway, Kind::SpoonBow] {
        let boat = AsBuilt::new(kind, 700);
        let text = boat.table_text(&boat.taking(10), Place::Eighth, "Known");
        assert_eq!(proof(&table(&text)).len(), 0, "{kind:?}");
        let (before, profile) = text.split_once("[stem profile]").expect("a profile");
        let row = profile.lines().find(|l| l.starts_with("from stem")).expect("distances");
        let (label, cells) = row.split_once('|').expect("cells");
        let mut cells: Vec<String> = cells.split_whitespace().map(str::to_string).collect();
        let middle = cells.len() / 2;
        cells[middle] = two_inches_more(&cells[middle]);
        let moved = profile.replacen(row, &format!("{label}| {}", cells.join(" ")), 1);
        let findings = proof(&table(&format!("{before}[stem profile]{moved}")));
        assert!(!findings.is_empty(), "{kind:?}");
        assert!(findings.iter().all(|f| f.query.cell.block == Block::StemProfile), "{kind:?}: {findings:?}");
    }
}

#[test]
fn of_three_that_tell_the_height_of_a_foot_the_two_that_agree_are_believed() {
    let boat = AsBuilt::new(Kind::PostUnderTransom, 400);
    let text = boat.table_text(&boat.taking(9), Place::Eighth, "Known");
    let high = with_fact(&text, "foot = {", "height = \"", a_foot_more);
    assert!(apart(&high).iter().any(|said| said.contains("agree that it is not")), "{:?}", apart(&high));
}

/// The text with a cell of a row of a profile otherwise, the profile and the row by their headings.
fn with_spot(text: &str, profile: &str, row: &str, column: usize, change: impl Fn(&str) -> String) -> String {
    let (before, of) = text.split_once(&format!("[{profile} profile]")).expect("a profile");
    let old = of.lines().find(|l| l.starts_with(row)).expect("the row");
    let (label, cells) = old.split_once('|').expect("cells");
    let mut cells: Vec<String> = cells.split_whitespace().map(str::to_string).collect();
    cells[column] = change(&cells[column]);
    let new = of.replacen(old, &format!("{label}| {}", cells.join(" ")), 1);
    format!("{before}[{profile} profile]{new}")
}

/// The reading so many inches more, to the eighth.
fn inches_more(reading: &str, inches: i32) -> String {
    let mut parts = reading.split('-').map(|part| part.parse::<i32>().expect("a number"));
    let mut next = || parts.next().expect("feet, inches and eighths");
    let eighths = 96 * next() + 8 * next() + next() + 8 * inches;
    format!("{}-{}-{}", eighths / 96, eighths / 8 % 12, eighths % 8)
}

fn as_built(kind: Kind, seed: u64) -> String {
    let boat = AsBuilt::new(kind, seed);
    boat.table_text(&boat.taking(10), Place::Eighth, "Known")
}

fn not_judged(text: &str) -> Vec<String> {
    proof_whole(&table(text), &Options::default()).expect("a proof").not_judged
}

#[test]
fn a_corner_that_one_spot_alone_makes_is_that_spots_slip() {
    for (kind, seed) in [(Kind::RoundedStem, 3201), (Kind::PlumbStem, 3201)] {
        let text = as_built(kind, seed);
        assert_eq!(proof(&table(&text)).len(), 0, "{kind:?}");
        let spots = table(&text).stem.as_ref().expect("a stem").height.len();
        let high = with_spot(&text, "stem", "height", spots / 2, |z| inches_more(z, 3));
        let findings = proof(&table(&high));
        let cells: Vec<CellId> = findings.iter().map(|f| f.query.cell).collect();
        assert!(!cells.is_empty(), "{kind:?}");
        assert!(
            cells.iter().all(|c| c.block == Block::StemProfile && c.column == spots / 2),
            "{kind:?}: {cells:?}"
        );
    }
}

#[test]
fn a_transom_is_never_faired_raked_forward() {
    for kind in [Kind::PlumbStem, Kind::Tuck, Kind::RoundedStem] {
        let text = as_built(kind, 3202);
        for inches in [-12, -6, 6, 12] {
            let moved = with_fact(&text, "foot = {", "from_stem = \"", |x| inches_more(x, inches));
            let table = table(&moved);
            let survey = table.survey_unsifted().expect("a survey").0;
            let given = survey.transom.expect("a transom");
            let Ok(hull) = fair(&survey, &Options::default()) else { continue };
            let taken = hull.facts_taken(&survey).transom.expect("a transom");
            // As it was read it may be: that is said.
            let as_read =
                (taken.foot.0 - given.foot.0).abs() < 1e-9 && (taken.head.0 - given.head.0).abs() < 1e-9;
            assert!(as_read || taken.head.0 > taken.foot.0 - 0.006, "{kind:?} {inches}: {taken:?}");
        }
    }
}

#[test]
fn a_stem_of_two_spots_is_said_not_to_be_judged() {
    let text = as_built(Kind::FlatBottom, 3203);
    let stem = table(&text).stem.as_ref().expect("a stem").height.len();
    let ends = |of: &str| {
        let (before, profile) = of.split_once("[stem profile]").expect("a profile");
        let lines = profile.lines().map(|l| match l.split_once('|') {
            Some((label, cells)) => {
                let cells: Vec<&str> = cells.split_whitespace().collect();
                format!("{label}| {} {}\n", cells[0], cells[stem - 1])
            }
            None => format!("{l}\n"),
        });
        format!("{before}[stem profile]{}", lines.collect::<String>())
    };
    let two = ends(&text);
    assert_eq!(table(&two).stem.as_ref().expect("a stem").height.len(), 2);
    let said = not_judged(&two);
    assert!(said.iter().any(|r| r.starts_with("where the stem stands")), "{said:?}");
    // It is no finding.
    let proof = proof_whole(&table(&two), &Options::default()).expect("a proof");
    assert!(!proof.remarks.iter().any(|r| r.contains("stem stands")), "{:?}", proof.remarks);
}

#[test]
fn a_spot_of_a_stem_that_a_rough_profile_hides_is_named_or_said_not_to_be_judged() {
    for (kind, seed) in [(Kind::RoundedStem, 3204), (Kind::Tumblehome, 3204), (Kind::WideKeel, 3205)] {
        let text = as_built(kind, seed);
        let spots = table(&text).stem.as_ref().expect("a stem").height.len();
        for (row, column, inches) in
            [("height", spots / 2, 2), ("height", spots / 2, -2), ("from stem", 0, 2), ("from stem", 0, 3)]
        {
            let wrong = with_spot(&text, "stem", row, column, |r| inches_more(r, inches));
            let named = proof(&table(&wrong)).iter().any(|f| f.query.cell.block == Block::StemProfile);
            let said = not_judged(&wrong);
            assert!(
                named || said.iter().any(|r| r.starts_with("where the stem runs")),
                "{kind:?} {row} {column} {inches}: {said:?}"
            );
        }
    }
}

#[test]
fn the_first_or_last_station_three_inches_off_is_named_on_a_boat_sharp_at_both_ends() {
    let (mut named, mut of) = (0, 0);
    for (kind, seed) in [(Kind::CanoeStern, 3206), (Kind::RoundedDoubleEnder, 3206), (Kind::Ellipse, 3207)] {
        let text = as_built(kind, seed);
        let last = table(&text).stations.len() - 1;
        for column in [0, last] {
            for inches in [3, -3] {
                let truth = distance(&table(&text), column);
                let wrong = table(&with_station(&text, column, &inches_more(&truth, inches)));
                let findings = proof(&wrong);
                let station = |f: &&Finding| f.query.cell.block == Block::Stations;
                named += usize::from(findings.iter().filter(station).any(|f| f.query.cell.column == column));
                of += 1;
                assert!(!findings.is_empty(), "{kind:?} station {column} {inches} in off: nothing said");
            }
        }
    }
    assert!(named + 1 >= of, "{named} of {of}");
}

#[test]
fn a_foot_two_inches_high_is_queried_and_she_is_faired_by_where_the_rabbet_ends() {
    for kind in [Kind::RoundedStem, Kind::Tuck, Kind::Wineglass] {
        let text = as_built(kind, 3208);
        assert_eq!(proof(&table(&text)).len(), 0, "{kind:?}");
        let high = table(&with_fact(&text, "foot = {", "height = \"", |z| inches_more(z, 2)));
        let findings = proof(&high);
        let cells: Vec<CellId> = findings.iter().map(|f| f.query.cell).collect();
        assert_eq!(cells, [CellId { block: Block::Transom, row: 0, column: 1 }], "{kind:?}: {findings:?}");
        let survey = high.survey_unsifted().expect("a survey").0;
        let taken = faired(&high).facts_taken(&survey).transom.expect("a transom");
        let true_foot = table(&text).transom.as_ref().expect("a transom").foot.1.metres();
        assert!((taken.foot.1 - true_foot).abs() < 0.004, "{kind:?}: {taken:?} for {true_foot}");
    }
}

#[test]
fn an_end_station_that_a_hull_bends_to_is_named_and_no_reading_is_blamed() {
    let (mut named, mut of) = (0, 0);
    for seed in 0..3 {
        let boat = Wedge::new(seed);
        assert_eq!(proof(&table(&boat.table(Slip::default()))).iter().filter(|f| of_facts(f)).count(), 0);
        for (end, inches) in [(0, 3), (0, -3), (1, 3), (1, -3)] {
            let mut slip = Slip::default();
            slip.stations[end] = inches;
            let slipped = table(&boat.table(slip));
            let column = end * (slipped.stations.len() - 1);
            let findings = proof(&slipped);
            let here = CellId { block: Block::Stations, row: 0, column };
            assert!(findings.iter().filter(|f| of_facts(f)).all(|f| f.query.cell == here), "{findings:?}");
            named += usize::from(findings.iter().any(|f| f.query.cell == here));
            of += 1;
        }
    }
    assert!(named + 1 >= of, "{named} of {of}");
}

#[test]
fn a_head_two_inches_off_is_queried_and_no_reading_near_it_left_out() {
    let (mut named, mut of) = (0, 0);
    for seed in 0..3 {
        for (end, inches) in [(0, 2), (1, 2), (1, -2)] {
            let mut slip = Slip::default();
            slip.heads[end] = inches;
            let slipped = table(&Wedge::new(seed).table(slip));
            let block = if end == 0 { Block::StemProfile } else { Block::SternProfile };
            named += usize::from(proof(&slipped).iter().any(|f| {
                f.query.cell == CellId { block, row: 0, column: 0 } && f.query.confidence == Confidence::Low
            }));
            of += 1;
            let last = slipped.stations.len() - 1;
            let near = |c: CellId| if end == 0 { c.column <= 2 } else { c.column + 2 >= last };
            let hull = faired(&slipped);
            let out =
                hull.residuals.iter().filter(|r| r.doubted && r.cell.block != block && near(r.cell)).count();
            assert_eq!(out, 0, "seed {seed}, {slip:?}");
        }
    }
    assert!(named >= 6, "{named} of {of}");
}

fn of_facts(f: &Finding) -> bool {
    matches!(f.query.cell.block, Block::Stations | Block::Transom)
}
