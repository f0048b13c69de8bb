//! A table of readings as a loftsman writes it: a survey, and the rows its cells stand in.

use std::fmt::Write as _;

use scrieve_notation::{Length, Precision, Units, write_length};
use scrieve_offsets::{Block, Survey};

use super::Place;

/// A row's label: its kind or name, and where it lies if it is a waterline or a buttock.
pub(super) type Label = (String, Option<f64>);

/// A survey with the rows it is written in.
#[derive(Default)]
pub(super) struct Record {
    pub columns: usize,
    pub survey: Survey,
    pub rows: Vec<(Block, Label, Vec<Option<f64>>)>,
}

/// A length as the table writes it; a decimal one carries its unit.
fn written(m: f64, place: Place) -> String {
    let precision = match place {
        Place::Exact => return format!("{}mm", (m * 1e10).round() / 1e7),
        // Facts that stand on whole eighths keep their tenths.
        Place::Millimetre | Place::ModelMillimetre => return format!("{}", (m * 1e7).round() / 1e4),
        Place::Eighth => Precision::Eighth,
        Place::Sixteenth => Precision::Sixteenth,
    };
    write_length(Length::from_metres(m).unwrap_or_default(), Units::FeetInchesEighths, precision)
}

impl Record {
    /// Rows of one block stand together in the file; cells are numbered accordingly.
    pub fn in_file_order(mut self) -> Self {
        let mut order: Vec<usize> = (0..self.rows.len()).collect();
        order.sort_by_key(|&i| self.rows[i].0);
        let mut place = vec![0; order.len()];
        for (to, &from) in order.iter().enumerate() {
            place[from] = to;
        }
        self.rows.sort_by_key(|row| row.0);
        self.survey.lines.iter_mut().for_each(|r| r.cell.row = place[r.cell.row]);
        self.survey.spots.iter_mut().for_each(|s| s.cell.row = place[s.cell.row]);
        self
    }

    pub fn row(&mut self, block: Block, label: Label) -> usize {
        self.rows.push((block, label, vec![None; self.columns]));
        self.rows.len() - 1
    }

    pub fn on_transom(&self, column: usize) -> bool {
        self.survey.transom.is_some() && column + 1 == self.columns
    }

    /// The text of an `.offsets` file.
    pub fn text(&self, diagonals: &[(f64, f64, f64)], place: Place, name: &str) -> String {
        let mut out = String::new();
        let w = |m: f64| written(m, place);
        let units = if matches!(place, Place::Millimetre | Place::ModelMillimetre) {
            "mm"
        } else {
            "feet-inches-eighths"
        };
        let _ = write!(
            out,
            "+++\nformat = 1\nname = \"{name}\"\nunits = \"{units}\"\n\n\
             [backbone]\nhalf_siding = \"{}\"\n",
            w(self.survey.half_siding)
        );
        if let Some(t) = self.survey.transom {
            let _ = write!(
                out,
                "\n[transom]\nfoot = {{ from_stem = \"{}\", height = \"{}\" }}\n\
                 head = {{ from_stem = \"{}\", height = \"{}\" }}\n",
                w(t.foot.0),
                w(t.foot.1),
                w(t.head.0),
                w(t.head.1)
            );
            if let Some(radius) = t.curve_radius {
                let _ = writeln!(out, "curve_radius = \"{}\"", w(radius));
            }
        }
        for (i, &(c, y, z)) in diagonals.iter().enumerate() {
            let _ = write!(
                out,
                "\n[diagonal.{}]\ncentreline_height = \"{}\"\n\
                 through = {{ half_breadth = \"{}\", height = \"{}\" }}\n",
                char::from(b'A' + i as u8),
                w(c),
                w(y),
                w(z)
            );
        }
        out.push_str("+++\n\n");
        let line = |out: &mut String, label: &str, cells: Vec<String>| {
            let _ = write!(out, "{label:<22}|");
            for cell in cells {
                let _ = write!(out, " {cell:>9}");
            }
            out.push('\n');
        };
        let names = (0..self.columns)
            .map(|i| if self.on_transom(i) { "T".to_string() } else { (i + 1).to_string() })
            .collect();
        line(&mut out, "station", names);
        let from_stem = (0..self.columns)
            .map(|i| if self.on_transom(i) { "-".to_string() } else { w(self.survey.stations[i]) })
            .collect();
        line(&mut out, "from stem", from_stem);
        for (block, title) in [
            (Block::Heights, "heights"),
            (Block::HalfBreadths, "half-breadths"),
            (Block::Diagonals, "diagonals"),
        ] {
            if self.rows.iter().any(|r| r.0 == block) {
                let _ = write!(out, "\n[{title}]\n");
            }
            for (_, label, cells) in self.rows.iter().filter(|r| r.0 == block) {
                let label = label.1.map_or(label.0.clone(), |at| format!("{} {}", label.0, w(at)));
                line(&mut out, &label, cells.iter().map(|c| c.map_or("-".to_string(), w)).collect());
            }
        }
        for (spots, title) in [(&self.survey.stem, "stem profile"), (&self.survey.stern, "stern profile")] {
            if !spots.is_empty() {
                let _ = write!(out, "\n[{title}]\n");
                line(&mut out, "from stem", spots.iter().map(|s| w(s.x)).collect());
                line(&mut out, "height", spots.iter().map(|s| w(s.z)).collect());
            }
        }
        out
    }
}
