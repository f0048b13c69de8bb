//! What a loftsman can turn.

/// How to fair.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// Stiffness of the batten: 1 is what the readings themselves call for, 2 twice as stiff.
    pub stiffness: f64,
    /// Weigh down readings that the rest of the boat contradicts.
    pub robust: bool,
}

impl Default for Options {
    fn default() -> Self {
        Options { stiffness: 1.0, robust: true }
    }
}
