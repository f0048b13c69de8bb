//! Python classes over the core: conversions and errors only.

use pyo3::prelude::*;

mod backbone;
mod batten;
mod drawing;
mod error;
mod floating;
mod hull;
mod inside;
mod lifts;
mod loft;
mod nest;
mod output;
mod patience;
mod proof;
mod reading;
mod spar;
mod table;
mod uncertainty;

// A fit takes and gives back megabytes at a time; the system's allocator, where a cluster's worker is told to
// trim its memory at once, spends a third of the time on fetching the pages again.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// The compiled core of scrieve.
#[pymodule]
mod _core {
    #[pymodule_export]
    use crate::backbone::{
        Backbone, FashionPieces, Rabbet, Transom, backbone, fashion_pieces, rabbet, transom,
    };
    #[pymodule_export]
    use crate::batten::batten;
    #[pymodule_export]
    use crate::drawing::{Drawing, DrawingError, merge_drawings, write_drawings_pdf};
    #[pymodule_export]
    use crate::error::{InternalError, ScrieveError};
    #[pymodule_export]
    use crate::floating::{
        FloatingError, centre_of_effort, curves_of_form, depths, float_at, floating_caution, hydrostatics,
        lateral_plane, level_draught, righting_arms, sail_plan, sectional_areas, surface_grid,
    };
    #[pymodule_export]
    use crate::hull::{Curve, FairingError, Hull, HullError, curve_of, fair, fair_line};
    #[pymodule_export]
    use crate::inside::{
        beam_places, breadths, bulkhead, carlin, centre_case, deck, deck_beam, deck_stations, half_beam,
        station_places, stringer, thwart,
    };
    #[pymodule_export]
    use crate::lifts::lifts;
    #[pymodule_export]
    use crate::loft::{LoftError, Moulds, body_plan, drawing_sheets, lines_drawing, moulds};
    #[pymodule_export]
    use crate::nest::nest_drawings;
    #[pymodule_export]
    use crate::output::{keep_outputs, write_whole};
    #[pymodule_export]
    use crate::patience::{fault, give_up};
    #[pymodule_export]
    use crate::proof::{
        Query, Suggestion, WholeSlip, curvature_drawing, disagreements, proof, queried_body_plan,
    };
    #[pymodule_export]
    use crate::reading::{PyReading, ReadingError, read_column};
    #[pymodule_export]
    use crate::spar::{Spar, spar_gauge_drawing, spar_gauges, spar_lengths, spar_scarf, spar_scarf_drawing};
    #[pymodule_export]
    use crate::table::{Table, TableError, read_offsets, table_from_rows};
    #[pymodule_export]
    use crate::uncertainty::samples;
}
