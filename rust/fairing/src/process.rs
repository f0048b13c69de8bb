//! The Gaussian processes and their arithmetic: kernels (`matern`), solves and the choice of parameters (`gp`), a line
//! (`lines`), a strake's bulge (`field`), and all of them together (`joint`).

pub(crate) mod field;
pub(crate) mod gp;
pub(crate) mod joint;
pub(crate) mod lines;
pub(crate) mod matern;
pub(crate) mod random;
