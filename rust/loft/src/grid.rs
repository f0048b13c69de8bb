//! The grid a boat is drawn on: her stations, waterlines, buttocks and diagonals at full size.

use kurbo::Vec2;
use scrieve_hull::Boat;
use scrieve_notation::{Length, Precision, Units, write_length};
use scrieve_offsets::LineKind;

use crate::edge::{Edge, Place};

/// The grid of the table a hull was faired from, metres.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Grid {
    /// Units its labels are written in.
    pub units: Units,
    /// Stations in table order, the transom left out: name and distance aft of the forward end.
    pub stations: Vec<(String, f64)>,
    /// Heights of the waterlines, ascending.
    pub waterlines: Vec<f64>,
    /// Half-breadths of the buttocks, ascending.
    pub buttocks: Vec<f64>,
    /// The diagonals.
    pub diagonals: Vec<DiagonalAt>,
}

/// A diagonal in the station planes.
#[derive(Clone, Debug, PartialEq)]
pub struct DiagonalAt {
    /// Its name.
    pub name: String,
    /// Height where it meets the centreline, m.
    pub centreline_height: f64,
    /// How far it falls outward below the horizontal, radians.
    pub angle: f64,
}

impl DiagonalAt {
    /// Unit vector (y, z) outward along it.
    pub fn direction(&self) -> Vec2 {
        Vec2::new(self.angle.cos(), -self.angle.sin())
    }

    /// Where it crosses an edge, out from the centreline.
    pub(crate) fn places(&self, edge: &Edge) -> Vec<Place> {
        let along = self.direction();
        let square = Vec2::new(-along.y, along.x);
        let places = edge.crossings(square, square.y * self.centreline_height);
        places.into_iter().filter(|p| edge.point(*p).x > 0.0).collect()
    }
}

impl Grid {
    /// The grid of a hull's own table, scale and shrinkage applied as to its readings.
    pub fn of(hull: &Boat) -> Grid {
        let table = hull.source();
        let (_, across, up) = table.facts.factors();
        let stations = table.stations.iter().zip(&hull.survey().stations);
        let full_size = |factor: f64, pick: fn(&LineKind) -> Option<Length>| {
            let picked = table.rows.iter().filter_map(|row| pick(&row.line));
            let mut at: Vec<f64> = picked.map(|length| length.metres() * factor).collect();
            at.sort_by(f64::total_cmp);
            at.dedup();
            at
        };
        Grid {
            units: table.facts.dialect.units,
            stations: stations
                .filter(|(station, _)| station.from_stem.is_some())
                .map(|(station, &x)| (station.name.clone(), x))
                .collect(),
            waterlines: full_size(up, |line| match line {
                LineKind::Waterline(height) => Some(*height),
                _ => None,
            }),
            buttocks: full_size(across, |line| match line {
                LineKind::Buttock(half_breadth) => Some(*half_breadth),
                _ => None,
            }),
            diagonals: table
                .diagonals
                .iter()
                .map(|d| {
                    let drop = (d.centreline_height - d.through_height).metres() * up;
                    DiagonalAt {
                        name: d.name.clone(),
                        centreline_height: d.centreline_height.metres() * up,
                        angle: drop.atan2(d.through_half_breadth.metres() * across),
                    }
                })
                .collect(),
        }
    }
}

/// A length in metres as a table in these units would write it: to the sixteenth of an inch, 0.1 mm,
/// 0.001 in or 0.0001 ft.
pub fn written(metres: f64, units: Units) -> String {
    let place = match units {
        Units::FeetInchesEighths => None,
        Units::Inches => Some(0.001 * 0.0254),
        Units::Feet => Some(0.0001 * 0.3048),
        Units::Millimetres | Units::Centimetres | Units::Metres => Some(1e-4),
    };
    let rounded = place.map_or(metres, |place| (metres / place).round() * place);
    Length::from_metres(rounded)
        .map_or_else(|| format!("{metres} m"), |length| write_length(length, units, Precision::Sixteenth))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_written_no_finer_than_a_rule_reads() {
        assert_eq!(written(4.877_414_618_7, Units::Millimetres), "4877.4");
        // 3-4-5 is 1031.875 mm exactly: an inch is 25.4 mm (NIST SP 811, appendix B).
        assert_eq!(written(1.031_875, Units::FeetInchesEighths), "3-4-5");
        assert_eq!(written(1.0, Units::Inches), "39.37");
    }
}
