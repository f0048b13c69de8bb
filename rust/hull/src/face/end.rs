//! What an edge of a carried surface ends on: the side of the backbone, a plane athwartships, the transom.

use scrieve_surface::vector::V3;

/// Step back into the surface over which its bend at an edge is taken, m.
pub(super) const BACK_M: f64 = 0.01;

/// What an edge of the surface ends on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum End {
    /// The side of stem, keel or post: the half-breadth stays.
    Backbone,
    /// A plane athwartships, x = a + b z.
    Plane(f64, f64),
    /// The transom's face.
    Transom(scrieve_offsets::TransomPlane),
}

impl End {
    /// How far inside the end a point lies, m; `u` 0 or 1, `y` the half-breadth the edge has there.
    pub(super) fn inside(&self, p: V3, u: f64, y: f64) -> f64 {
        let forward = |x: f64| if u == 0.0 { p[0] - x } else { x - p[0] };
        match self {
            End::Backbone => p[1] - y,
            End::Plane(a, b) => forward(a + b * p[2]),
            End::Transom(plane) => forward(plane.x(p[1], p[2])),
        }
    }
}

/// A spot of an edge: where it is, which way the edge runs, the surface's normal, and the way out over the edge.
#[derive(Clone, Copy, Debug)]
pub(super) struct Brink {
    pub(super) uv: [f64; 2],
    pub(super) p: V3,
    pub(super) tangent: V3,
    pub(super) n: V3,
    pub(super) out: V3,
}
