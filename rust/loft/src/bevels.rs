//! Bevels: the angle between the planking and the fore-and-aft line, in the plane square to the edge.
//!
//! β = atan(nx / √(ny² + nz²)) with n the outward unit normal of the planking: negative in the forebody,
//! where the planking opens going aft, positive in the afterbody. On the piece that is bevelled it is
//! counted from the face that stands on the station line: over 90° there is open, under 90° shut.

use kurbo::Point;

use crate::edge::{Edge, Place};

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

/// Bevels at spots of an edge, up it. `far` is the way along x from the face on the line to the other, 1 aft and
/// -1 forward, and `over` the thickness between them, m.
pub(crate) fn edge_bevels(edge: &Edge, spots: Vec<(String, Place)>, far: f64, over: f64) -> Vec<EdgeBevel> {
    let at = |(at, place): (String, Place)| {
        let angle = bevel(edge.normal(place));
        EdgeBevel {
            at,
            spot: edge.point(place),
            girth: edge.girth(place),
            angle,
            in_the_wood: std::f64::consts::FRAC_PI_2 - far * angle,
            rise: -far * angle.tan() * over,
            over,
        }
    };
    // At a chine the planking below and the planking above have their own.
    let sides = |(name, place): (String, Place)| match edge.sides_of(place)[..] {
        [below, above] => vec![(format!("{name}{BELOW}"), below), (format!("{name}{ABOVE}"), above)],
        _ => vec![(name, place)],
    };
    let mut out: Vec<EdgeBevel> = spots.into_iter().flat_map(sides).map(at).collect();
    out.sort_by(|a, b| a.girth.total_cmp(&b.girth));
    out
}

/// How the name of a bevel ends at a chine: of the planking below it,
pub(crate) const BELOW: &str = " below";
/// and of that above it.
pub(crate) const ABOVE: &str = " above";

/// What each chine of an edge is called, and the place just above it.
pub(crate) fn chine_spots(edge: &Edge, chines: usize) -> Vec<(String, Place)> {
    edge.chines().iter().map(|(number, place)| (chine_name(*number, chines), *place)).collect()
}

/// What a chine is called on a hull with so many: the only one has no number.
pub fn chine_name(number: usize, chines: usize) -> String {
    if chines > 1 { format!("chine {number}") } else { "chine".to_owned() }
}
