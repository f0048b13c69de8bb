//! Floating against closed forms, published figures and other ways of integrating the same hull.

mod afloat;
mod fleet;
mod forms;
mod heeled;
mod sails;
mod transom;
mod upright;
