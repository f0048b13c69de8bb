//! Moulds: the shape of a section to the inside of what is bent round it.
//!
//! The edge that bears is the section of the surface parallel to the planking's outside, cut by the
//! station's plane: the deduction is square to the planking in space, not in the plane. The mould's
//! thickness lies on the side toward the widest part of the boat, so that a square edge bears on the
//! station line and never stands proud (common practice). Drawn (y, z) from the centreline and the base
//! line, metres, looking at the face that stands on the station line.

mod draft;
mod error;
mod marks;
mod mould;
mod options;
mod stations;

use draft::Draft;
use marks::{Lines, round_above};
use scrieve_hull::{Boat, Planking};
use scrieve_notation::to_ascii;
use stations::{instead, left_out, stations};

use crate::flat::{ToldAs, flat_bottom, floored};
use crate::stock::Stock;
use crate::{Grid, written};

pub use error::LoftError;
pub use mould::{Face, Lies, Mould, Piece, Side};
pub use options::{MouldOptions, Notch, Shape, Stations};
pub use stations::widest_part;

/// Moulds of a hull; one that cannot be made costs only itself and is found in `failures`.
///
/// # Errors
/// Options that make no sense for any mould, or that leave no mould at all.
pub fn moulds(hull: &Boat, options: &MouldOptions) -> Result<MouldSet, LoftError> {
    options.check()?;
    let mut remarks = Vec::new();
    if flat_bottom(hull) == Some(ToldAs::Edge) {
        remarks.push(
            "the rabbet line is taken as the edge of a bottom that is flat across: moulds go across it, clear of \
             the bottom's planking"
                .into(),
        );
    }
    let hull = &*floored(hull);
    let deduction = deduction(hull, options, &mut remarks)?;
    let grid = Grid::of(hull);
    let widest = widest_part(hull);

    let mut failures = Vec::new();
    let (mut drafts, mut narrow) = (Vec::new(), Vec::new());
    for (station, x) in stations(hull, options, &grid) {
        match Draft::new(hull, options, &station, x, deduction, widest) {
            Ok(draft) => drafts.push(draft),
            Err(error) => match (left_out(hull, x, deduction, &error), options.stations == Stations::Table) {
                (Some(why), true) => {
                    remarks.push(format!("no mould at station {station}: {why}; {}", instead(hull, x)));
                    narrow.push(Failure { station, x, error });
                }
                _ => failures.push(Failure { station, x, error }),
            },
        }
    }
    let lines = Lines::new(&grid, options, &drafts);
    // Upside down on the strongback her stem head must come clear of it too.
    let highest = hull.extent([0.0, 0.0, 1.0]).1;
    let spall_height =
        options.spall_height.unwrap_or_else(|| round_above(highest + SPALL_CLEARANCE_M, grid.units));
    if spall_height < highest {
        remarks.push(format!(
            "the spall lies {} ({:.0} mm) below her highest, the head of her stem or sheer: what stands above it \
             must come clear of the strongback",
            written(highest - spall_height, grid.units),
            (highest - spall_height) * 1e3
        ));
    }

    let mut moulds = Vec::new();
    for draft in drafts {
        let (station, x) = (draft.station.clone(), draft.x);
        match draft.finish(options, &lines, spall_height) {
            Ok(mut mould) => {
                mould.remarks.extend(little_known(hull, x));
                moulds.push(mould);
            }
            Err(error) => failures.push(Failure { station, x, error }),
        }
    }
    if moulds.is_empty() {
        failures.extend(narrow);
        return Err(LoftError::NoMoulds(failures));
    }
    let set_up = moulds
        .iter()
        .map(|m| SetUp {
            station: m.station.clone(),
            x: m.x,
            along: m.x - options.strongback_from,
            spall_height,
            face: m.face,
            lies: m.lies,
            upside_down: options.upside_down,
        })
        .collect();
    let name = to_ascii(&hull.source().facts.name);
    let base_line = options.base_parallel.unwrap_or(0.0);
    let stock = options.pieces.as_ref().and_then(|pieces| pieces.stock);
    Ok(MouldSet {
        name,
        deduction,
        thickness: options.thickness,
        spall_height,
        highest,
        base_line,
        stock,
        moulds,
        set_up,
        remarks,
        failures,
    })
}

/// What is to be said of a mould that stands where no reading tells how the planking runs.
fn little_known(hull: &Boat, x: f64) -> Option<String> {
    let off = hull.faired().unsure.iter().filter_map(|unsure| unsure.at_section(x)).max_by(f64::total_cmp)?;
    Some(format!(
        "it stands where no reading tells how the planking runs, which may be off by {:.0} mm and more: take one there \
         before it is cut",
        1e3 * off
    ))
}

/// One row of the set-up table.
#[derive(Clone, Debug, PartialEq)]
pub struct SetUp {
    /// Station.
    pub station: String,
    /// Distance aft of the forward end, m.
    pub x: f64,
    /// Distance along the strongback, m.
    pub along: f64,
    /// Height of the spall line above the base line, m.
    pub spall_height: f64,
    /// Which face stands on the station line.
    pub face: Face,
    /// Which way the mould lies from it.
    pub lies: Lies,
    /// Set up keel uppermost.
    pub upside_down: bool,
}

/// A mould that could not be made.
#[derive(Clone, Debug, PartialEq)]
pub struct Failure {
    /// Its station's name.
    pub station: String,
    /// Its station, m.
    pub x: f64,
    /// Why.
    pub error: LoftError,
}

impl std::fmt::Display for Failure {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "station {}: {}", self.station, self.error)
    }
}

/// The moulds of a boat.
#[derive(Clone, Debug, PartialEq)]
pub struct MouldSet {
    /// The boat's name; plain ASCII.
    pub name: String,
    /// What was deducted, square to the planking, m.
    pub deduction: f64,
    /// Thickness of the moulds' stock, m.
    pub thickness: f64,
    /// Height of the spall line, m.
    pub spall_height: f64,
    /// Height of the hull's highest, the head of her stem or sheer, m.
    pub highest: f64,
    /// Height of the line marked as base line or parallel to it, m.
    pub base_line: f64,
    /// The largest board there is, where that was said.
    pub stock: Option<Stock>,
    /// The moulds, bow to stern.
    pub moulds: Vec<Mould>,
    /// How to set them up.
    pub set_up: Vec<SetUp>,
    /// What was assumed.
    pub remarks: Vec<String>,
    /// Those that could not be made.
    pub failures: Vec<Failure>,
}

/// Spall lines are this far above her highest unless given, and on to a round figure: room for a clamp under the
/// spall, and for what a stem's head stands above the sheer.
pub const SPALL_CLEARANCE_M: f64 = 0.1;

fn deduction(hull: &Boat, options: &MouldOptions, remarks: &mut Vec<String>) -> Result<f64, LoftError> {
    if hull.is_inside() {
        remarks.push("the surface is the inside of the planking: nothing is taken off for planking".into());
    }
    let planking = Planking::inside(hull, options.planking).ok_or(LoftError::NoPlanking)?;
    if planking.is_nan() || planking < 0.0 {
        return Err(LoftError::BadLength { what: "planking thickness", value: planking, positive: false });
    }
    Ok(planking + options.outside)
}
