//! The faired surface: tensor-product B-spline patches, one between each two reference lines.
//!
//! u runs from the stem (0) to the transom, stern profile or last station (1); v from the lower edge of
//! the patch (0: rabbet or chine) to its upper edge (1: chine or sheer). Patches are ordered from the keel
//! up and share their edges exactly. Within a patch the surface is C2 or better.

/// Position and derivatives at a parameter pair, m; arrays are (x, y, z).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Jet {
    /// Position.
    pub p: [f64; 3],
    /// ∂/∂u.
    pub du: [f64; 3],
    /// ∂/∂v.
    pub dv: [f64; 3],
    /// ∂²/∂u².
    pub duu: [f64; 3],
    /// ∂²/∂u∂v.
    pub duv: [f64; 3],
    /// ∂²/∂v².
    pub dvv: [f64; 3],
}

/// One tensor-product B-spline patch over the unit square.
#[derive(Clone, Debug, PartialEq)]
pub struct Patch {
    degree: usize,
    knots_u: Vec<f64>,
    knots_v: Vec<f64>,
    /// Control points, v fastest: `control[iu * nv + iv]`.
    control: Vec<[f64; 3]>,
}

impl Patch {
    /// The quintic patch that interpolates `f(u, v)` at the Greville points of the given breaks.
    ///
    /// Breaks run from 0 to 1, ascending. The difference between patch and `f` is the caller's to check.
    pub fn interpolating(_breaks_u: &[f64], _breaks_v: &[f64], _f: impl Fn(f64, f64) -> [f64; 3]) -> Self {
        unimplemented!("the interpolation")
    }

    /// Position, m.
    pub fn point(&self, _u: f64, _v: f64) -> [f64; 3] {
        unimplemented!("evaluation")
    }

    /// Position and derivatives to the second order.
    pub fn jet(&self, _u: f64, _v: f64) -> Jet {
        unimplemented!("evaluation")
    }

    /// Breaks in u and in v, for those who integrate span by span.
    pub fn breaks(&self) -> (Vec<f64>, Vec<f64>) {
        unimplemented!("distinct knots")
    }
}

/// The moulded surface of one side of a hull (y ≥ 0).
#[derive(Clone, Debug, PartialEq)]
pub struct Surface {
    /// From the keel up; at least one.
    pub patches: Vec<Patch>,
}
