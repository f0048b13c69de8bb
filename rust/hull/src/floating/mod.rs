//! Floating: what the hull displaces and how she trims and heels, by integrating the surface itself.
