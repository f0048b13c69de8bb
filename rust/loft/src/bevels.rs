//! Bevels: the angle between the planking and the fore-and-aft line, in the plane square to the edge.
//!
//! β = atan(nx / √(ny² + nz²)) with n the outward unit normal of the planking: negative in the forebody,
//! where the planking opens going aft, positive in the afterbody. On the piece that is bevelled it is
//! counted from the face that stands on the station line: over 90° there is open, under 90° shut.

use kurbo::Point;

/// The bevel β of a surface with outward unit normal `normal`, radians.
pub fn bevel(normal: [f64; 3]) -> f64 {
    normal[0].atan2(normal[1].hypot(normal[2]))
}

/// A bevel at a spot of an edge.
#[derive(Clone, Debug, PartialEq)]
pub struct EdgeBevel {
    /// Where: the line that crosses the edge there.
    pub at: String,
    /// The spot on the edge, (y, z), m.
    pub spot: Point,
    /// Length along the edge from its lower end, m.
    pub girth: f64,
    /// β, radians.
    pub angle: f64,
    /// The angle in the wood between the face on the station line and the bevelled edge, radians.
    pub in_the_wood: f64,
    /// How far the edge stands out (open, positive) or in (shut) at `over`, m.
    pub rise: f64,
    /// The thickness it rises over, m.
    pub over: f64,
}

impl EdgeBevel {
    /// Over a square: more wood on the far face than on the station line.
    pub fn is_open(&self) -> bool {
        self.rise > 0.0
    }
}
