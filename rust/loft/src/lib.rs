//! What is picked up from the loft floor.

pub mod moulds;
