//! Places on the surface parallel to the hull, found on it directly: Newton's method on (u, v) from the place of the hull
//! itself, where a section would be traced from keel to sheer for one spot of it.
//!
//! It answers where the answer is plain, and leaves the rest to the section: where the parallel surface runs backward
//! anywhere, near a chine, whose faces meet in a mitre, and past an edge.

use crate::hull::Hull;
use crate::lookup::Place;
use crate::newton;
use crate::shape::Shape;
use scrieve_surface::vector::{V3, distance, sub};

/// A place nearer to a chine than so many times the distance inside may be cut away by the mitre: one that turns by 150
/// degrees reaches as far.
const CLEAR_OF_MITRE: f64 = 4.0;

/// The surface parallel to a hull, `inside` it.
#[derive(Clone, Copy, Debug)]
pub struct OffsetPlaces<'h> {
    hull: &'h Hull,
    inside: f64,
}

/// A place and the point there.
#[derive(Clone, Copy, Debug)]
pub struct OffsetPlace {
    /// Where on the hull.
    pub place: Place,
    /// The point of the parallel surface, m.
    pub p: V3,
    /// Outward unit normal.
    pub normal: V3,
}

impl Hull {
    /// Places on the surface `inside` the hull, m; `None` where it runs backward somewhere, as a hull does that turns
    /// tighter.
    pub fn offset_places(&self, inside: f64) -> Option<OffsetPlaces<'_>> {
        let sound = inside.is_finite()
            && self.surface().patches.iter().zip(self.nets()).all(|(patch, net)| {
                net.us.iter().all(|&u| net.vs.iter().all(|&v| !Shape::at(patch, u, v, inside).turned))
            });
        sound.then_some(OffsetPlaces { hull: self, inside })
    }
}

impl OffsetPlaces<'_> {
    /// The outermost place seen from the side at (x, z); `None` where the section has to be asked.
    pub fn at(&self, x: f64, z: f64) -> Option<OffsetPlace> {
        let start = self.hull.locate(x, z).ok()?;
        self.solved(start, |shape| {
            ([shape.p[0] - x, shape.p[2] - z], [[shape.du[0], shape.dv[0]], [shape.du[2], shape.dv[2]]])
        })
    }

    /// The place in the same section so far below another in a straight line; `None` where the section has to be asked.
    pub fn below(&self, from: &OffsetPlace, chord: f64) -> Option<OffsetPlace> {
        let shape = self.shape(from.place);
        // Down the section: x stays, v falls.
        let (a, b) = (shape.du[0], shape.dv[0]);
        let [along_u, along_v] = if a > 0.0 { [b, -a] } else { [-b, a] };
        let way = [0, 1, 2].map(|k| shape.du[k] * along_u + shape.dv[k] * along_v);
        let step = chord / distance(way, [0.0; 3]);
        let start =
            Place { u: from.place.u + step * along_u, v: from.place.v + step * along_v, ..from.place };
        let found = self.solved(start, |shape| {
            let off = sub(shape.p, from.p);
            let far = distance(shape.p, from.p).max(f64::MIN_POSITIVE);
            let along = |d: V3| (0..3).map(|k| off[k] * d[k]).sum::<f64>() / far;
            (
                [shape.p[0] - from.p[0], far - chord],
                [[shape.du[0], shape.dv[0]], [along(shape.du), along(shape.dv)]],
            )
        })?;
        (found.place.v < from.place.v).then_some(found)
    }

    fn shape(&self, place: Place) -> Shape {
        Shape::at(&self.hull.surface().patches[place.patch], place.u, place.v, self.inside)
    }

    /// Where two figures come to nothing, from their values and slopes by u and v.
    fn solved(&self, start: Place, of: impl Fn(&Shape) -> ([f64; 2], [[f64; 2]; 2])) -> Option<OffsetPlace> {
        let shape = |[u, v]: [f64; 2]| self.shape(Place { u, v, ..start });
        let [u, v] = newton::on_patch([start.u, start.v], |uv| {
            let (values, [[fu, fv], [gu, gv]]) = of(&shape(uv));
            (values, [[fu, gu], [fv, gv]])
        })?;
        let (place, shape) = (Place { u, v, ..start }, shape([u, v]));
        let found = OffsetPlace { place, p: shape.p, normal: shape.n };
        (!shape.turned && self.is_clear(&found)).then_some(found)
    }

    /// Whether a place lies clear of the chines of its strake, so that no mitre cuts it away.
    fn is_clear(&self, found: &OffsetPlace) -> bool {
        let (patches, Place { patch, u, .. }) = (&self.hull.surface().patches, found.place);
        let far = |v: f64| distance(found.p, patches[patch].point(u, v)) > CLEAR_OF_MITRE * self.inside.abs();
        (patch == 0 || far(0.0)) && (patch + 1 == patches.len() || far(1.0))
    }
}

#[cfg(test)]
mod tests {
    use crate::forms;

    /// Against the section traced from keel to sheer, which asks the surface by another way.
    #[test]
    fn places_inside_a_hull_are_those_of_its_sections() {
        let hull = forms::parabolic();
        let inside = 0.03;
        let places = hull.offset_places(inside).expect("no tighter than that");
        let mut found = 0;
        for x in [1.0, 2.2, 3.0, 4.7] {
            let section = hull.parallel_section(x, inside).expect("a section");
            for z in [0.15, 0.25, 0.4] {
                let Some(at) = places.at(x, z) else { continue };
                let meets = section.crossings([0.0, 0.0, 1.0], z);
                let outermost =
                    meets.iter().max_by(|a, b| a.sample.p[1].total_cmp(&b.sample.p[1])).expect("there");
                assert!((at.p[1] - outermost.sample.p[1]).abs() < 1e-7, "{x} {z}");
                let below = places.below(&at, 0.05).expect("room below");
                let on = section.nearest(below.p).expect("a nearest point").sample.p;
                let gap =
                    |a: [f64; 3], b: [f64; 3]| (0..3).map(|k| (a[k] - b[k]).powi(2)).sum::<f64>().sqrt();
                assert!(gap(on, below.p) < 1e-7 && (gap(below.p, at.p) - 0.05).abs() < 1e-9);
                assert!(below.p[2] < at.p[2]);
                found += 1;
            }
        }
        assert!(found > 8, "{found}");
    }

    #[test]
    fn a_hull_that_turns_tighter_is_left_to_its_sections() {
        assert!(forms::parabolic().offset_places(50.0).is_none());
        assert!(forms::parabolic().offset_places(f64::NAN).is_none());
    }
}
