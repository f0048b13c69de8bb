//! The table of offsets and its file.
//!
//! A [`Table`] is what a person wrote: stations, rows, profiles and facts, every reading kept as written,
//! beside the very text it was read from. It is never changed in place: an edit gives a new table, whose
//! text differs in the edited cells only. A [`Survey`] is the same in metres at full size, which is all
//! that fairing sees.
//!
//! [`Table::open`] and [`read`] take a file; [`Draft`] builds a table from scratch; every way in goes
//! through the one reader, so every table has passed the same checks.
//!
//! Besides boat, units, scale and planking the head of a file may hold, all of it optional (lengths are
//! readings; those marked * are the boat's own size whatever the scale, the rest as read):
//!
//! ```toml
//! designer = "H. Marlow"
//! place = "Withy Staithe"
//! source = "measured from the model"
//! year = "c. 1885"                         # or a plain number, or "1880-1890"
//! one_part = "inches"                      # what `10` is among feet, inches and eighths; or "feet"
//! fractions = "dashed"                     # `10 1-2` is 10½ in
//! decimal = ","                            # decimals have a comma
//! assumed = ["the first station is taken at the stem"]         # what was taken for granted, said wherever she is
//! load_waterline = "0-9-0"                 # height above the base line
//!
//! [blank]                                  # what an empty cell means, by row or by block
//! "rabbet height" = "on the base line"     # or "at the rabbet", "on the stem", "not taken"
//! "sheer half-breadth" = { forward = "on the stem", aft = "not taken" }    # before its first reading, after its last
//!
//! [stem]                                   # in place of `[stem profile]`: one spot, where a plumb stem has its foot;
//! spots = [["0-0-0", "2-6-0"], ["0-8-0", "0-3-0"]]             # two, a raked one; more, a curved one, sheer to keel
//! assumed = true                           # neither measured nor drawn; of [sternpost] and [transom] too
//!
//! [sternpost]                              # the same, sheer or transom's foot to keel, for `[stern profile]`
//! spots = [["15-0-0", "0-3-0"]]
//!
//! [diagonal.B]                             # two of these, or `centreline_height` and `through` a point
//! angle = 40                               # degrees it falls below the level
//! load_waterline = "2-9-0"                 # half-breadth where it cuts the load waterline
//!
//! [backbone]
//! half_siding = "0-1-0"                    # *
//!
//! [lifts]                                  # rows `lift 1`, `lift 2` lie on the glue lines, keel up
//! base = "0-0-2"
//! thicknesses = ["0-0-4", "0-0-4+"]
//!
//! [shrinkage]                              # a factor, or a dimension known* and measured
//! breadth = { known = "5-2-0", measured = "0-3-6" }
//! height = 1.02
//!
//! [mass]
//! boat_kg = 310                            # ready to sail, without crew and loads
//! centre = { from_stem = "8-3-0", height = "1-7-0" }           # * its centre
//! crew_kg = 150                            # all of them, where `[crew]` does not say where they sit
//!
//! [crew.hands]                             # weights that may be moved; kg is that of each
//! kg = 75
//! places = [{ from_stem = "6-0-0", height = "1-10-0" },        # *
//!           { from_stem = "11-6-0", out = "0-9-0", height = "2-0-0" }]    # out to starboard, - to port
//!
//! [load.ballast]                           # the same, for all else she carries
//! kg = 60
//! places = [{ from_stem = "8-0-0", height = "0-8-0" }]
//!
//! [sail.main]                              # corners in order: from the stem, height *
//! corners = [["3-0-0", "4-0-0"], ["12-0-0", "4-6-0"], ["3-2-0", "18-0-0"]]
//!
//! [sail.jib]
//! rig = "racing"                           # or several, ["working", "racing"]; left out, in every rig
//! corners = [["-2-0-0", "3-0-0"], ["3-0-0", "3-6-0"], ["3-2-0", "14-0-0"]]
//!
//! [spar.mast]                              # a spar: its length, or the sail whose side it spans *
//! kind = "mast"                            # or boom, gaff, yard, sprit, bowsprit; left out, its name, or else a mast
//! length = "18-6-0"
//! diameter = "0-4-2"                       # its greatest; `athwart` besides, where it is not round
//! section = "round"                        # or oval, rectangular
//! taper = [[0, 0.8], [0.3, 1], [1, 0.6]]   # parts of the length from the heel, parts of the diameter
//! wall = "0-0-6"                           # hollow: in halves, a box, or so many `staves`
//! solid = ["2-0-0", "1-0-0"]               # what stays solid at heel and head; over `run_out` the hollow opens
//! straight = "aft"                         # a face without taper
//! species = "Sitka spruce"
//! stock = "12-0-0"                         # longer sticks are scarfed, `scarf = 12` to 1, `scarf_kind` plain or stepped
//! marks = { partners = "1-9-0", sheave = ["18-0-0", "18-3-0", "0-0-6"] }     # from the heel: place, or from, to, width
//!
//! [spar.yard]
//! sail = "main"                            # a yard or gaff spans its head, a boom its foot, a sprit from tack to peak;
//! over = "0-6-0"                           # and so much more at either end. A mast stands at `step = [from_stem, height]`
//! diameter = "0-2-4"                       # with `rake` degrees aft, and reaches `over` above where it leaves the sail
//!
//! [lateral.centreboard]                    # what else grips the water: corners outside the hull's profile *
//! corners = [["6-0-0", "0-3-0"], ["8-0-0", "0-2-4"], ["8-6-0", "-1-6-0"], ["7-0-0", "-1-6-0"]]
//!
//! [extra]                                  # anything of the user's own
//! number = "MR 7"
//! ```

mod blanks;
mod cell;
mod check;
mod draft;
mod edit;
mod facts;
mod full_size;
mod grid;
mod head;
mod label;
mod mistake;
mod nearest;
mod origin;
mod outline;
mod read;
mod scale;
mod size;
mod spar;
mod survey;
mod table;
mod whole;
mod within;
mod worth;

pub use cell::CellId;
pub use draft::Draft;
pub use edit::{EditError, Written};
pub use facts::{Fact, Facts, Lateral, Place, Sail, Shrinkage, Weights};
pub use label::LineKind;
pub use mistake::{Mistake, Mistakes, Severity};
pub use origin::{Origin, Page};
pub use outline::{Flaw, flaw};
pub use read::{OpenError, READ_CAP, read};
pub use spar::{SparFact, SparTold};
pub use survey::{Axis, LineReading, ProfileSpot, RefLine, Remark, Spot, Survey, TransomPlane};
pub use table::{Blank, Block, Contents, Diagonal, Point, Profile, Row, Station, Table, Transom};
pub use whole::write_whole;
pub use within::Tolerance;

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic)]
mod tests;
