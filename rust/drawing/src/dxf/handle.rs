//! Handles of the fixed records; those of layers, line types and entities follow.

pub(super) const BLOCK_RECORDS: u64 = 0x1;
pub(super) const LAYERS: u64 = 0x2;
pub(super) const STYLES: u64 = 0x3;
pub(super) const LINE_TYPES: u64 = 0x5;
pub(super) const VIEWS: u64 = 0x6;
pub(super) const COORDINATE_SYSTEMS: u64 = 0x7;
pub(super) const VIEWPORTS: u64 = 0x8;
pub(super) const APPLICATIONS: u64 = 0x9;
pub(super) const DIMENSION_STYLES: u64 = 0xA;
pub(super) const ROOT: u64 = 0xC;
pub(super) const GROUPS: u64 = 0xD;
pub(super) const PLOT_STYLES: u64 = 0xE;
pub(super) const PLOT_STYLE: u64 = 0xF;
pub(super) const LAYOUTS: u64 = 0x10;
pub(super) const APPLICATION: u64 = 0x11;
pub(super) const STYLE: u64 = 0x12;
pub(super) const DIMENSION_STYLE: u64 = 0x13;
pub(super) const VIEWPORT: u64 = 0x14;
pub(super) const BY_BLOCK: u64 = 0x15;
pub(super) const BY_LAYER: u64 = 0x16;
pub(super) const CONTINUOUS: u64 = 0x17;
pub(super) const MODEL: u64 = 0x18;
pub(super) const PAPER: u64 = 0x1C;
/// A space's block, the block's end and its layout are these beyond its record.
pub(super) const BLOCK: u64 = 1;
pub(super) const BLOCK_END: u64 = 2;
pub(super) const LAYOUT: u64 = 3;
pub(super) const FIRST_FREE: u64 = 0x40;
