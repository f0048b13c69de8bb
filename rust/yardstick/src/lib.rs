//! What the work is measured with, and no part of it: hulls in closed form, boats as they are built, the slips of a tired
//! hand, and how far a faired surface lies from the truth.
//!
//! For tests and measures only; nothing that is shipped depends on it.

pub mod copyist;
pub mod known;
mod misfit;
