//! Tables of known hulls as other hands would have taken them: read less finely than they are written.

use scrieve_notation::{Length, Precision, Units, write_length};
use scrieve_offsets::{Table, read};
use scrieve_yardstick::known::{Known, Layout, Place};

/// A hand: how it reads, and how it writes that.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hand {
    /// Whole millimetres, all multiples of 5.
    FiveMillimetres,
    /// Whole millimetres, all multiples of 10.
    TenMillimetres,
    /// Feet, inches and eighths, read to the half inch.
    HalfInch,
    /// Decimal inches that are sixteenths, in full.
    DecimalSixteenths,
    /// The same to two decimals.
    ShortSixteenths,
    /// Feet, inches and eighths; every other reading to the whole inch.
    InchesAmongEighths,
    /// Inches and fractions, the same.
    InchesAmongFractions,
    /// Feet, inches and eighths; four in ten to the eighth, three to the quarter, three to the half.
    FavoursHalves,
    /// Heights to the half inch, all else to the eighth.
    HeightsToHalfInch,
    /// Whole millimetres, brought over from eighths.
    MillimetresOfHalfInches,
    /// As written: feet, inches and eighths.
    Eighth,
    /// As written, with `+` for a sixteenth.
    Sixteenth,
    /// As written: whole millimetres.
    Millimetre,
    /// As written: inches to two decimals.
    Hundredth,
}

impl Hand {
    /// Those that read less finely than they write.
    pub const COARSER: [Hand; 10] = [
        Hand::FiveMillimetres,
        Hand::TenMillimetres,
        Hand::HalfInch,
        Hand::DecimalSixteenths,
        Hand::ShortSixteenths,
        Hand::InchesAmongEighths,
        Hand::InchesAmongFractions,
        Hand::FavoursHalves,
        Hand::HeightsToHalfInch,
        Hand::MillimetresOfHalfInches,
    ];
    /// Those that read as they write.
    pub const PLAIN: [Hand; 4] = [Hand::Eighth, Hand::Sixteenth, Hand::Millimetre, Hand::Hundredth];

    fn write(self, metres: f64, height: bool, chance: f64) -> String {
        let parts = |steps: f64, precision| {
            let inches = (metres / 0.0254 * steps).round() / steps;
            let length = Length::from_metres(inches * 0.0254).unwrap_or_default();
            write_length(length, Units::FeetInchesEighths, precision)
        };
        let to = |steps: f64| parts(steps, Precision::Eighth);
        let mm = |step: f64| format!("{}mm", (1e3 * metres / step).round() * step);
        match self {
            Hand::FiveMillimetres => mm(5.0),
            Hand::TenMillimetres => mm(10.0),
            Hand::Millimetre => mm(1.0),
            Hand::HalfInch => to(2.0),
            Hand::Eighth => to(8.0),
            Hand::Sixteenth => parts(16.0, Precision::Sixteenth),
            Hand::DecimalSixteenths => format!("{}in", (metres / 0.0254 * 16.0).round() / 16.0),
            Hand::ShortSixteenths => format!("{:.2}in", (metres / 0.0254 * 16.0).round() / 16.0),
            Hand::Hundredth => format!("{:.2}in", metres / 0.0254),
            Hand::InchesAmongEighths => to(if chance < 0.5 { 1.0 } else { 8.0 }),
            Hand::InchesAmongFractions => {
                let eighths = if chance < 0.5 { 8 } else { 1 }
                    * (metres / 0.0254 * if chance < 0.5 { 1.0 } else { 8.0 }).round() as i64;
                let twos = (eighths % 8).trailing_zeros().min(3);
                match eighths % 8 {
                    0 => format!("{}\"", eighths / 8),
                    rest => format!("{}-{}/{}\"", eighths / 8, rest >> twos, 8 >> twos),
                }
            }
            Hand::FavoursHalves => to(if chance < 0.4 {
                8.0
            } else if chance < 0.7 {
                4.0
            } else {
                2.0
            }),
            Hand::HeightsToHalfInch => to(if height { 2.0 } else { 8.0 }),
            Hand::MillimetresOfHalfInches => format!("{}mm", ((metres / 0.0127).round() * 12.7).round()),
        }
    }

    /// The spacing of what is written, m.
    pub fn place(self) -> f64 {
        match self {
            Hand::FiveMillimetres
            | Hand::TenMillimetres
            | Hand::Millimetre
            | Hand::MillimetresOfHalfInches => 1e-3,
            Hand::DecimalSixteenths => 0.0254e-4,
            Hand::ShortSixteenths | Hand::Hundredth => 0.0254e-2,
            Hand::Sixteenth => 0.0254 / 16.0,
            _ => 0.0254 / 8.0,
        }
    }

    /// A known hull's table, its facts and stations exact, its readings as this hand takes them; chances by a seed.
    pub fn table(self, hull: &Known, layout: &Layout, seed: u64) -> Table {
        let exact = hull.table_text(layout, Place::Exact, "Known");
        let (head, body) = exact.split_at(exact.rfind("+++").unwrap_or(0));
        let mut state = 0x9E37_79B9_7F4A_7C15_u64.wrapping_mul(seed + 1);
        let mut chance = || {
            // An xorshift of 64 bits (Marsaglia 2003).
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            (state >> 11) as f64 / (1u64 << 53) as f64
        };
        let mut block = String::new();
        let mut text = head.to_owned();
        for line in body.lines() {
            if let Some(name) = line.strip_prefix('[') {
                name.trim_end_matches(']').clone_into(&mut block);
            }
            match line.split_once('|') {
                Some((label, cells)) if !block.is_empty() => {
                    let height = block == "heights" || label.trim() == "height";
                    let cells = cells.split_whitespace().map(|cell| match cell.strip_suffix("mm") {
                        Some(mm) => self.write(mm.parse::<f64>().expect("a number") / 1e3, height, chance()),
                        None => cell.to_owned(),
                    });
                    text += &format!("{label}| {}\n", cells.collect::<Vec<_>>().join(" "));
                }
                _ => text += &format!("{line}\n"),
            }
        }
        read(text.as_bytes(), "known.offsets").expect("a table")
    }
}
