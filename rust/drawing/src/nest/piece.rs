//! A part by itself: its outline and what is cut, marked and engraved inside it.

use kurbo::{Affine, BezPath, Point, Rect, Shape as _, Vec2};

use super::NestError;
use crate::arcs;
use crate::model::{Drawing, Item, Operation, Part};
use crate::spots::spots;

/// Outlines are followed by chords within this, mm, where places are sought: what the gap is widened by.
pub(super) const CHORD_MM: f64 = 0.02;

/// A hair's breadth that must not refuse a part, mm.
const HAIR_MM: f64 = 1e-6;

/// A part and all that is done to it, as it was drawn.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Piece {
    /// The drawing it is from.
    pub from: String,
    /// What the shop is told of it; its outline is the first item of `alone`.
    pub part: Part,
    /// It alone.
    pub alone: Drawing,
    /// Its outline as a polygon, anticlockwise, mm.
    pub ring: Vec<Point>,
}

impl Piece {
    /// A piece of an outline and the items inside it. `None` where the outline bounds no one shape.
    pub fn new(from: &str, part: Part, alone: Drawing) -> Option<Self> {
        let Some(Item::Path { path, .. }) = alone.items.first() else { return None };
        let ring = ring(path)?;
        Some(Self { from: from.to_owned(), part: Part { outline: 0, ..part }, alone, ring })
    }

    /// Its outline.
    pub fn outline(&self) -> &BezPath {
        let Some(Item::Path { path, .. }) = self.alone.items.first() else {
            unreachable!("a piece begins with its outline")
        };
        path
    }

    /// Its area, mm².
    pub fn area(&self) -> f64 {
        area(&self.ring)
    }

    /// Whether it goes into a box, turned by one of the angles.
    pub fn fits(&self, room: Vec2, angles: &[f64]) -> bool {
        angles.iter().any(|angle| {
            let size = bounds(self.ring.iter().map(|p| Affine::rotate(*angle) * *p)).size();
            size.width <= room.x + HAIR_MM && size.height <= room.y + HAIR_MM
        })
    }
}

/// Twice the signed area halved: positive anticlockwise.
pub(super) fn area(ring: &[Point]) -> f64 {
    let pairs = ring.iter().zip(ring.iter().cycle().skip(1));
    0.5 * pairs.map(|(a, b)| a.to_vec2().cross(b.to_vec2())).sum::<f64>()
}

/// The box round points.
pub(super) fn bounds(points: impl Iterator<Item = Point>) -> Rect {
    let one = points.map(|p| Rect::from_points(p, p)).reduce(|a, b| a.union(b));
    one.unwrap_or_default()
}

/// The polygon of an outline, anticlockwise; `None` unless it is one closed shape.
fn ring(path: &BezPath) -> Option<Vec<Point>> {
    let mut rings: Vec<Vec<Point>> = Vec::new();
    for outline in arcs::flatten(path, CHORD_MM) {
        if !outline.closed {
            return None;
        }
        rings.push(outline.vertices.iter().map(|v| v.at).collect());
    }
    let mut ring = rings.into_iter().max_by(|a, b| area(a).abs().total_cmp(&area(b).abs()))?;
    let signed = area(&ring);
    if ring.len() < 3 || !signed.is_finite() || signed.abs() < 1.0 {
        return None;
    }
    if signed < 0.0 {
        ring.reverse();
    }
    Some(ring)
}

/// Every part of a drawing with what is inside it, and how many marks and letters are inside none.
pub(super) fn pieces(drawing: &Drawing) -> Result<(Vec<Piece>, usize), NestError> {
    let parts = drawing.all_parts();
    let mut made: Vec<Piece> = Vec::new();
    for part in parts {
        let Some(Item::Path { path, layer }) = drawing.items.get(part.outline) else { continue };
        let mut alone = Drawing::new(&drawing.name, &drawing.title);
        let told = &drawing.layers[*layer];
        let own = alone.layer_drawn(&told.name, told.operation, told.stroke.clone());
        alone.path(own, path.clone());
        let name = part.name.clone();
        made.push(Piece::new(&drawing.name, part, alone).ok_or(NestError::Outline(name))?);
    }
    if made.is_empty() {
        return Ok((made, 0));
    }
    let mut astray = 0;
    for (at, item) in drawing.items.iter().enumerate() {
        let Some(layer) = drawing.layers.get(item.layer()) else { continue };
        if matches!(layer.operation, Operation::Annotate | Operation::CutOutside) {
            continue;
        }
        let spots = spots(item);
        let inside = |piece: &Piece| spots.iter().filter(|p| piece.outline().contains(**p)).count();
        let Some(home) =
            made.iter_mut().max_by_key(|piece| inside(piece)).filter(|p| 2 * inside(p) > spots.len())
        else {
            astray += usize::from(!spots.is_empty());
            continue;
        };
        home.alone.take(drawing, at);
    }
    Ok((made, astray))
}
