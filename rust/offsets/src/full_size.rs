//! A table written anew at full size, in whatever units: what a model's, or another country's, becomes on the loft floor.

use scrieve_notation::{Dialect, Length, Precision, Reading, Units};

use crate::facts::Weights;
use crate::{Block, CellId, Draft, Fact, LineKind, Mistakes, Place, Profile, Table};

/// What lengths that are no readings are rounded to where they are not whole 1/128 in.
const ROUNDED: Length = Length::from_ticks(Length::PER_MM / 100);

/// How lengths at full size are written.
struct Writer {
    dialect: Dialect,
    precision: Precision,
}

impl Writer {
    /// A reading: to the precision in feet, inches and eighths, a hundredth of an inch, a thousandth of a foot or a tenth of a millimetre.
    fn reading(&self, metres: f64, mark: &str) -> String {
        let length = Length::from_metres(metres).unwrap_or_default();
        let place = match self.dialect.units {
            Units::FeetInchesEighths => return self.dialect.write(length, self.precision) + mark,
            Units::Inches => Length::from_ticks(Length::INCH.ticks() / 100),
            Units::Feet => Length::from_ticks(Length::FOOT.ticks() / 1000),
            Units::Millimetres | Units::Centimetres | Units::Metres => {
                Length::from_ticks(Length::PER_MM / 10)
            }
        };
        self.dialect.write(length.rounded(place), Precision::Exact) + mark
    }

    /// Where a line or a fact stands: as it is, for nothing fairs it, to a hundredth of a millimetre at the least.
    fn exact(&self, metres: f64) -> String {
        let length = Length::from_metres(metres).unwrap_or_default();
        let in_128ths = length.rounded(Length::from_128ths(1));
        // A factor of scale leaves a tick or so of dust.
        let near = (length.ticks() - in_128ths.ticks()).abs() < Length::PER_MM / 10_000;
        self.dialect.write(if near { in_128ths } else { length.rounded(ROUNDED) }, Precision::Exact)
    }

    fn own(&self, length: Length) -> Fact {
        Fact::Text(self.exact(length.metres()))
    }

    fn places(&self, weights: &Weights) -> Fact {
        let place = |p: &Place| {
            Fact::Table(vec![
                ("from_stem".into(), self.own(p.from_stem)),
                ("out".into(), self.own(p.out)),
                ("height".into(), self.own(p.height)),
            ])
        };
        Fact::Table(vec![
            ("kg".into(), Fact::Number(weights.kg)),
            ("places".into(), Fact::List(weights.places.iter().map(place).collect())),
        ])
    }

    fn corners(&self, corners: &[(Length, Length)]) -> (String, Fact) {
        let corner = |(x, z): &(Length, Length)| Fact::List(vec![self.own(*x), self.own(*z)]);
        ("corners".into(), Fact::List(corners.iter().map(corner).collect()))
    }
}

impl Table {
    /// The table at full size in other units, every reading as `value` gives it in metres at full size and as the table
    /// has it where that gives none. Scale, shrinkage and lifts are then worked in; readings in feet and inches are written
    /// to `precision`, decimal inches to a hundredth, millimetres to a tenth. Where stations and lines stand is kept as it
    /// is, written as a decimal where it is no reading of the units. Notes and corrections stay behind.
    ///
    /// # Errors
    /// If the readings would not pass the checks that every table does.
    pub fn at_full_size(
        &self,
        units: Units,
        precision: Precision,
        value: impl Fn(CellId) -> Option<f64>,
    ) -> Result<Table, Mistakes> {
        let writer = Writer { dialect: Dialect { units, ..Dialect::default() }, precision };
        let written = |cell: CellId, reading: Option<&Reading>| match reading {
            Some(reading) => {
                let metres = value(cell).unwrap_or(reading.length.metres() * self.factor(cell));
                writer.reading(metres, reading.mark.text())
            }
            None => "-".to_owned(),
        };
        let (along, across, up) = self.facts.factors();
        let mut draft = Draft { facts: self.facts_at_full_size(&writer), ..Draft::default() };
        for station in &self.stations {
            let at = station.from_stem.as_ref();
            let at = at.map_or("-".to_owned(), |x| writer.exact(x.length.metres() * along));
            draft.station(&station.name, &at);
        }
        for (row, found) in self.rows.iter().enumerate() {
            let label = match &found.line {
                LineKind::Waterline(z) => format!("waterline {}", writer.exact(z.metres() * up)),
                LineKind::Buttock(y) => format!("buttock {}", writer.exact(y.metres() * across)),
                _ => found.label.clone(),
            };
            let cell = |(column, reading): (usize, &Option<Reading>)| {
                written(CellId { block: found.block, row, column }, reading.as_ref())
            };
            draft.rows.push((found.block, label, found.cells.iter().enumerate().map(cell).collect()));
        }
        let assumed = [self.facts.stem_assumed, self.facts.stern_assumed];
        let profiles =
            [(Block::StemProfile, &self.stem, "stem"), (Block::SternProfile, &self.stern, "sternpost")];
        for ((block, profile, key), assumed) in profiles.into_iter().zip(assumed) {
            let Some(Profile { from_stem, height }) = profile else { continue };
            let cells = [from_stem, height].map(|readings| readings.as_slice());
            let row = |row: usize| {
                let cell = |(column, reading): (usize, &Option<Reading>)| {
                    written(CellId { block, row, column }, reading.as_ref())
                };
                cells[row].iter().enumerate().map(cell).collect::<Vec<_>>()
            };
            if assumed {
                let spot = |(x, z): (String, String)| Fact::List(vec![Fact::Text(x), Fact::Text(z)]);
                let spots = Fact::List(row(0).into_iter().zip(row(1)).map(spot).collect());
                let told = vec![("spots".to_owned(), spots), ("assumed".to_owned(), Fact::Truth(true))];
                draft.facts.push((key.to_owned(), Fact::Table(told)));
                continue;
            }
            draft.rows.push((block, "from stem".to_owned(), row(0)));
            draft.rows.push((block, "height".to_owned(), row(1)));
        }
        for (row, point) in self.points.iter().enumerate() {
            let both = [&point.height, &point.half_breadth].into_iter().enumerate();
            let cells =
                both.map(|(column, r)| written(CellId { block: Block::Points, row, column }, Some(r)));
            draft.rows.push((Block::Points, point.station.clone(), cells.collect()));
        }
        draft.table(self.file_name())
    }

    fn facts_at_full_size(&self, writer: &Writer) -> Vec<(String, Fact)> {
        let facts = &self.facts;
        let (_, across, up) = facts.factors();
        let text = |metres: f64| Fact::Text(writer.exact(metres));
        let mut all: Vec<(String, Fact)> = vec![
            ("name".into(), Fact::Text(facts.name.clone())),
            ("units".into(), Fact::from(writer.dialect.units.name())),
        ];
        let mut add = |key: &str, fact: Option<Fact>| all.extend(fact.map(|fact| (key.to_owned(), fact)));
        let said = |text: &Option<String>| text.clone().map(Fact::Text);
        add("builder", said(&facts.builder));
        add("designer", said(&facts.designer));
        add("year", said(&facts.dated).or(facts.year.map(Fact::Whole)));
        add("place", said(&facts.place));
        add("kind", said(&facts.kind));
        add("source", said(&facts.source));
        add("moulded_to", facts.to_inside.then(|| Fact::from("inside of planking")));
        add("planking", facts.planking.map(|l| writer.own(l)));
        add("tolerance", facts.tolerance.map(|l| text(l.metres() * facts.scale)));
        add("load_waterline", facts.load_waterline.map(|l| text(l.metres() * up)));
        let sentences = || Fact::List(facts.assumed.iter().cloned().map(Fact::Text).collect());
        add("assumed", (!facts.assumed.is_empty()).then(sentences));
        let table = |pairs: Vec<(&str, Fact)>| {
            Fact::Table(pairs.into_iter().map(|(key, fact)| (key.to_owned(), fact)).collect())
        };
        add("backbone", facts.half_siding.map(|l| table(vec![("half_siding", writer.own(l))])));
        add(
            "transom",
            self.transom.as_ref().map(|transom| {
                let plane = transom.full_size(facts);
                let spot = |(x, z)| table(vec![("from_stem", text(x)), ("height", text(z))]);
                let mut pairs = vec![("foot", spot(plane.foot)), ("head", spot(plane.head))];
                pairs.extend(plane.curve_radius.map(|radius| ("curve_radius", text(radius))));
                pairs.extend(facts.transom_assumed.then_some(("assumed", Fact::Truth(true))));
                table(pairs)
            }),
        );
        let diagonals = self.diagonals.iter().map(|d| {
            let through = table(vec![
                ("half_breadth", text(d.through_half_breadth.metres() * across)),
                ("height", text(d.through_height.metres() * up)),
            ]);
            let start = text(d.centreline_height.metres() * up);
            (d.name.clone(), table(vec![("centreline_height", start), ("through", through)]))
        });
        let diagonals = diagonals.collect::<Vec<_>>();
        add("diagonal", (!diagonals.is_empty()).then_some(Fact::Table(diagonals)));
        let mut mass = Vec::new();
        mass.extend(facts.boat_kg.map(|kg| ("boat_kg", Fact::Number(kg))));
        mass.extend(
            facts.boat_centre.map(|(x, z)| {
                ("centre", table(vec![("from_stem", writer.own(x)), ("height", writer.own(z))]))
            }),
        );
        mass.extend(facts.crew_kg.map(|kg| ("crew_kg", Fact::Number(kg))));
        add("mass", (!mass.is_empty()).then(|| table(mass)));
        for (key, weights) in [("crew", &facts.crew), ("load", &facts.loads)] {
            let each = weights.iter().map(|w| (w.name.clone(), writer.places(w))).collect::<Vec<_>>();
            add(key, (!each.is_empty()).then_some(Fact::Table(each)));
        }
        let sails = facts.sails.iter().map(|sail| {
            let rigs = Fact::List(sail.rigs.iter().cloned().map(Fact::Text).collect());
            let rig = (!sail.rigs.is_empty()).then_some(("rig".to_owned(), rigs));
            (sail.name.clone(), Fact::Table(rig.into_iter().chain([writer.corners(&sail.corners)]).collect()))
        });
        let sails = sails.collect::<Vec<_>>();
        add("sail", (!sails.is_empty()).then_some(Fact::Table(sails)));
        let spars = facts.spars.iter().map(|spar| {
            let said = spar.facts.iter().map(|(key, fact)| (key.clone(), fact.fact(|l| writer.own(l))));
            (spar.name.clone(), Fact::Table(said.collect()))
        });
        let spars = spars.collect::<Vec<_>>();
        add("spar", (!spars.is_empty()).then_some(Fact::Table(spars)));
        let lateral = facts.lateral.iter();
        let lateral =
            lateral.map(|part| (part.name.clone(), Fact::Table(vec![writer.corners(&part.corners)])));
        let lateral = lateral.collect::<Vec<_>>();
        add("lateral", (!lateral.is_empty()).then_some(Fact::Table(lateral)));
        add("extra", (!facts.extra.is_empty()).then(|| Fact::Table(facts.extra.clone())));
        all
    }
}
