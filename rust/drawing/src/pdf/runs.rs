//! What a file sets on papers of its own: each part that is cut out with its marks and letters, so that halves of a
//! mould are not one sea of sheets; a drawing without parts is one.

use kurbo::{BezPath, PathEl, Point, Rect, Shape as _};

use crate::model::{Drawing, Item, item_bounds};
use crate::spots::spots;

/// What is set on papers of its own.
pub(super) struct Run {
    /// What it is called.
    pub part: String,
    /// What is drawn of it.
    pub drawing: Drawing,
    /// The box round what is its own, mm.
    pub extent: Rect,
    /// The box round its outlines, or all that is drawn where nothing is cut out, mm: to be measured on paper.
    pub outline: Rect,
}

/// Boxes of a drawing with nothing in it, mm: a page all the same.
const NOTHING_MM: f64 = 100.0;

impl Run {
    /// A drawing as it is.
    pub fn whole(drawing: &Drawing) -> Self {
        let extent = drawing.bounds().unwrap_or(Rect::new(0.0, 0.0, NOTHING_MM, NOTHING_MM));
        let outlines = outlines(drawing).into_iter().map(|outline| outline.path.bounding_box());
        Self {
            part: drawing.name.replace('-', " "),
            outline: outlines.reduce(|a, b| a.union(b)).unwrap_or(extent),
            extent,
            drawing: drawing.clone(),
        }
    }
}

/// The outline of a part that is cut out, and which item it is.
struct Outline<'a> {
    name: String,
    item: usize,
    path: &'a BezPath,
}

fn outlines(drawing: &Drawing) -> Vec<Outline<'_>> {
    let parts = drawing.all_parts().into_iter();
    parts
        .filter_map(|part| match drawing.items.get(part.outline) {
            Some(Item::Path { path, .. }) if !path.elements().is_empty() => {
                Some(Outline { name: part.name, item: part.outline, path })
            }
            _ => None,
        })
        .collect()
}

/// The drawing part by part. Parts that lie over one another stay together, and what runs through several is drawn
/// with each of them.
pub(super) fn by_part(drawing: &Drawing) -> Vec<Run> {
    let outlines = outlines(drawing);
    let groups = together(&outlines);
    if groups.len() < 2 {
        return vec![Run::whole(drawing)];
    }
    let alone = Drawing { items: Vec::new(), parts: Vec::new(), engraved: Vec::new(), ..drawing.clone() };
    let mut runs: Vec<Run> = Vec::new();
    for group in &groups {
        let names: Vec<&str> = group.iter().map(|&i| outlines[i].name.as_str()).collect();
        let boxes = group.iter().map(|&i| outlines[i].path.bounding_box());
        let outline = boxes.reduce(|a, b| a.union(b)).unwrap_or_default();
        runs.push(Run { part: names.join(", "), drawing: alone.clone(), extent: outline, outline });
    }
    for (at, item) in drawing.items.iter().enumerate() {
        let Some(bounds) = item_bounds(item) else { continue };
        let own = |group: &Vec<usize>| group.iter().any(|&i| outlines[i].item == at);
        let homes = match groups.iter().position(own) {
            Some(home) => vec![home],
            None => homes(item, bounds, &outlines, &groups, &runs),
        };
        for &home in &homes {
            // A line through several parts makes none of them larger.
            if homes.len() == 1 {
                runs[home].extent = runs[home].extent.union(bounds);
            }
            runs[home].drawing.take(drawing, at);
        }
    }
    runs
}

/// Which outlines lie over one another, wholly or in part.
fn together(outlines: &[Outline<'_>]) -> Vec<Vec<usize>> {
    let corners: Vec<Vec<Point>> = outlines.iter().map(|outline| corners(outline.path)).collect();
    let over = |i: usize, j: usize| {
        let (a, b) = (outlines[i].path, outlines[j].path);
        a.bounding_box().overlaps(b.bounding_box())
            && (corners[i].iter().any(|p| b.contains(*p)) || corners[j].iter().any(|p| a.contains(*p)))
    };
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for i in 0..outlines.len() {
        let (with, mut others): (Vec<_>, Vec<_>) =
            groups.into_iter().partition(|group| group.iter().any(|&j| over(i, j)));
        let mut joined: Vec<usize> = with.into_iter().flatten().chain([i]).collect();
        joined.sort_unstable();
        others.push(joined);
        groups = others;
    }
    groups.sort_by_key(|group| group[0]);
    groups
}

/// How far chords may stray from an outline whose corners tell whether it lies over another, mm: less than parts are
/// apart.
const SPOT_MM: f64 = 0.5;

/// Spots along an outline.
fn corners(path: &BezPath) -> Vec<Point> {
    let mut spots = Vec::new();
    kurbo::flatten(path, SPOT_MM, |el| {
        if let PathEl::MoveTo(p) | PathEl::LineTo(p) = el {
            spots.push(p);
        }
    });
    spots
}

/// The runs an item is drawn in: that of the part most of it is inside of; of what is inside none, those whose box it
/// meets; else the nearest.
fn homes(
    item: &Item,
    bounds: Rect,
    outlines: &[Outline<'_>],
    groups: &[Vec<usize>],
    runs: &[Run],
) -> Vec<usize> {
    let spots = spots(item);
    let inside = |group: &Vec<usize>| {
        spots.iter().filter(|p| group.iter().any(|&i| outlines[i].path.contains(**p))).count()
    };
    let most = groups.iter().map(inside).enumerate().max_by_key(|(at, many)| (*many, usize::MAX - at));
    if let Some((home, _)) = most.filter(|(_, many)| 2 * many > spots.len()) {
        return vec![home];
    }
    let met: Vec<usize> = (0..runs.len()).filter(|&i| runs[i].outline.overlaps(bounds)).collect();
    if !met.is_empty() {
        return met;
    }
    let apart = |run: &Run| {
        let x = (run.outline.x0 - bounds.x1).max(bounds.x0 - run.outline.x1).max(0.0);
        let y = (run.outline.y0 - bounds.y1).max(bounds.y0 - run.outline.y1).max(0.0);
        x.hypot(y)
    };
    (0..runs.len()).min_by(|&i, &j| apart(&runs[i]).total_cmp(&apart(&runs[j]))).into_iter().collect()
}
