//! The set-up drawing: every mould on the strongback, with distances running from its end, and from above.
//!
//! Seen from the side, bow to the left, keel uppermost where she is built so. Running distances are measured
//! from one end each, so that slips of the rule do not add up (common practice).

use kurbo::{Affine, BezPath, Point, Rect, Shape as _};
use scrieve_hull::Boat;
use scrieve_loft::moulds::{Face, Lies, MouldSet};
use scrieve_loft::{chine_name, written};
use scrieve_notation::Units;

use crate::space::text_width;
use crate::{Anchor, Drawing, Operation, Stroke, to_ascii};

/// A set of moulds set up, mm at full size.
pub fn set_up_drawing(hull: &Boat, set: &MouldSet, units: Units) -> Drawing {
    let name = to_ascii(&set.name);
    let mut drawing = Drawing::new("set-up", format!("{name}, setting up"));
    let moulds = drawing.layer_drawn("Moulds", Operation::Annotate, Stroke::solid(0.5, [0, 0, 0]));
    let lines = drawing.layer_drawn("Hull", Operation::Annotate, Stroke::solid(0.25, [0, 102, 204]));
    let back = drawing.layer_drawn("Strongback", Operation::Annotate, Stroke::solid(0.35, [90, 90, 90]));
    let letters = drawing.layer("Letters", Operation::Annotate);
    let upside_down = set.set_up.iter().any(|row| row.upside_down);
    // Heights are taken from the spall, which stands on the strongback or hangs above it.
    let (turn, zero) = if upside_down { (-1.0, set.spall_height) } else { (1.0, 0.0) };
    let view = Affine::scale(1e3) * Affine::new([1.0, 0.0, 0.0, turn, 0.0, -turn * zero]);
    let mut all: Option<Rect> = None;
    let edges = hull.reference_lines();
    let chines = edges.len().saturating_sub(2);
    for (i, curve) in edges.iter().enumerate().skip(1).take(chines) {
        // On the line, clear of the moulds: midway between the two about her middle.
        let xs: Vec<f64> = set.set_up.iter().map(|row| row.x).collect();
        let about = xs.len() / 2;
        let x = if about > 0 { 0.5 * (xs[about - 1] + xs[about]) } else { curve.points(3)[1][0] };
        let Some(mark) = curve.crossings([1.0, 0.0, 0.0], x).pop() else { continue };
        let at = view * Point::new(x, mark.sample.p[2]) + kurbo::Vec2::new(0.0, 0.3 * LETTER_MM);
        let name = chine_name(i, chines).to_uppercase();
        drawing.text(letters, at, LETTER_MM, 0.0, Anchor::Middle, name);
    }
    for curve in edges.into_iter().chain(hull.ends(scrieve_hull::Plane::at_y(0.0))) {
        let path = view * curve.path();
        all = Some(all.map_or(path.bounding_box(), |b| b.union(path.bounding_box())));
        drawing.path(lines, path);
    }
    for (mould, row) in set.moulds.iter().zip(&set.set_up) {
        let heights = mould.pieces.iter().map(|p| p.outline.bounding_box());
        let Some(wood) = heights.reduce(|a, b| a.union(b)) else { continue };
        let thick = mould.bevels.first().map_or(0.0, |b| b.over);
        let far = row.x + if mould.lies == Lies::Aft { thick } else { -thick };
        let (low, high) = (view * Point::new(row.x, wood.y0), view * Point::new(far, wood.y1));
        let square = Rect::from_points(low, high);
        all = Some(all.map_or(square, |b| b.union(square)));
        drawing.path(moulds, square.to_path(1e-3));
    }
    let bounds = all.unwrap_or_default();
    let beam = Rect::new(bounds.x0, -STRONGBACK_MM, bounds.x1, 0.0);
    let under = if upside_down { 0.0 } else { bounds.y0.min(0.0) - 2.0 * LETTER_MM };
    let beam = beam + kurbo::Vec2::new(0.0, under);
    drawing.path(back, beam.to_path(1e-3));
    let foot = beam.y0 - LETTER_MM;
    // What stands on the strongback, from forward aft: the moulds and her ends at the centreline.
    let mut stands: Vec<(f64, [String; 2])> = Vec::new();
    let above = |z: f64| if upside_down { zero - z } else { z };
    let height = |z: f64| format!("{} ({:.0} MM)", written(above(z), units), above(z) * 1e3);
    let level = if upside_down { "THE SPALL LINE" } else { "THE BASE LINE" };
    let mut before: Option<f64> = None;
    for (mould, row) in set.moulds.iter().zip(&set.set_up) {
        let face = if row.face == Face::Forward { "FORWARD" } else { "AFTER" };
        let spacing = match before {
            Some(x) => format!("SPACING {} ({:.0} MM), ", written(row.x - x, units), (row.x - x) * 1e3),
            None => String::new(),
        };
        before = Some(row.x);
        let along = row.along * 1e3;
        let text = format!("{}: {}, {along:.0} MM, {face} FACE", row.station, written(row.along, units));
        let sheer = format!("{spacing}SHEER {}", height(mould.sheer.y));
        stands.push((row.x, [text, sheer]));
    }
    // Where her planking ends: the stem's rabbet, the transom's edge or the sternpost's rabbet.
    let stern = if hull.survey().transom.is_some() { "TRANSOM EDGE" } else { "AFTER END OF PLANKING" };
    let start = set.set_up.first().map_or(0.0, |r| r.x - r.along);
    for (name, curve) in
        ["FORWARD END OF PLANKING", stern].into_iter().zip(hull.ends(scrieve_hull::Plane::at_y(0.0)))
    {
        let spots = curve.points(2);
        let (Some(low), Some(high)) = (spots.first(), spots.last()) else { continue };
        for (which, p) in [("FOOT", low), ("HEAD", high)] {
            // Less than a hair is none, and is written without a sign.
            let along = if (p[0] - start).abs() < 5e-4 { 0.0 } else { p[0] - start };
            let text = format!("{name}, {which}: {}, {:.0} MM", written(along, units), along * 1e3);
            stands
                .push((p[0], [text, format!("HEIGHT {}, HALF-BREADTH {:.0} MM", height(p[2]), p[1] * 1e3)]));
        }
    }
    stands.sort_by(|a, b| a.0.total_cmp(&b.0));
    let places = apart(stands.iter().map(|(x, _)| x * 1e3), 2.4 * LINE_MM);
    let mut lowest = foot;
    let mut ticked: Option<f64> = None;
    for ((x, lines), place) in stands.iter().zip(places) {
        let x = x * 1e3;
        // A plumb end's foot and head stand at one place, which is ticked once.
        let is_new = ticked.is_none_or(|before: f64| (x - before).abs() > SAME_MM);
        ticked = Some(x);
        let mut tick = BezPath::new();
        if is_new {
            tick.move_to((x, beam.y0));
            tick.line_to((x, foot));
        } else {
            tick.move_to((x, foot));
        }
        // Where moulds stand close, a label is led to its own from beside the others.
        tick.line_to((place, foot - LETTER_MM));
        drawing.path(back, tick);
        for (text, across) in lines.iter().zip([-0.35, 1.05]) {
            // Up and down the page: the last letter at the strongback.
            let at = Point::new(place + across * LETTER_MM, foot - 1.5 * LETTER_MM);
            let upright = std::f64::consts::FRAC_PI_2;
            let text = to_ascii(text);
            lowest = lowest.min(at.y - text_width(&text, LETTER_MM));
            drawing.text(letters, at, LETTER_MM, upright, Anchor::End, text);
        }
    }
    plan_view(&mut drawing, [moulds, lines, back, letters], hull, set, lowest - 2.0 * LETTER_MM);
    let spall = written(set.spall_height, units);
    let from = match start {
        0.0 => "HER FORWARD END".to_owned(),
        start => format!("{} ABAFT HER FORWARD END", written(start, units)),
    };
    let way = if upside_down { "KEEL" } else { "SHEER" };
    let titles = [
        format!("{name}: {way} UP, DISTANCES FROM {from}"),
        format!(
            "SPALL {spall} ({:.0} MM) ABOVE THE BASE LINE; OTHER HEIGHTS ARE FROM {level}",
            set.spall_height * 1e3
        ),
        match set.spall_height - set.highest {
            clear if clear >= 0.0 => format!("{:.0} MM CLEAR OF HER HIGHEST, STEM HEAD AND ALL", clear * 1e3),
            below => format!("{:.0} MM BELOW HER HIGHEST: LET THAT THROUGH", -below * 1e3),
        },
    ];
    for (i, title) in titles.iter().enumerate() {
        let at = Point::new(bounds.x0, bounds.y1 + (2.5 - 1.6 * i as f64 + 3.2) * LETTER_MM);
        drawing.text(letters, at, LETTER_MM, 0.0, Anchor::Start, to_ascii(title));
    }
    drawing
}

/// The moulds from above, below `top`, mm: the centreline, the sheer, and each mould as wide as it is at its widest.
fn plan_view(
    drawing: &mut Drawing,
    [moulds, lines, back, letters]: [usize; 4],
    hull: &Boat,
    set: &MouldSet,
    top: f64,
) {
    let edges = hull.reference_lines();
    let Some(sheer) = edges.last() else { return };
    let spots: Vec<Point> = sheer.points(SHEER_SPOTS).iter().map(|p| Point::new(p[0], p[1])).collect();
    let widest = set.moulds.iter().flat_map(|m| &m.pieces).map(|p| p.outline.bounding_box().x1);
    let beam = widest.chain(spots.iter().map(|p| p.y)).fold(0.0, f64::max);
    let middle = top - 1e3 * beam - 3.0 * LETTER_MM;
    let down = |p: Point, side: f64| Point::new(1e3 * p.x, middle + side * 1e3 * p.y);
    let ends = hull.ends(scrieve_hull::Plane::at_y(0.0)).map(|end| {
        let mut plan: Vec<Point> = end.points(SHEER_SPOTS).iter().map(|p| Point::new(p[0], p[1])).collect();
        plan.dedup_by(|a, b| 1e3 * a.distance(*b) < SAME_MM);
        plan
    });
    // A plumb stem is a spot from above.
    let ends: Vec<&Vec<Point>> = ends.iter().filter(|end| end.len() > 1).collect();
    for side in [1.0, -1.0] {
        for end in &ends {
            drawing.polyline(lines, end.iter().map(|p| down(*p, side)), false);
        }
        drawing.polyline(lines, spots.iter().map(|p| down(*p, side)), false);
    }
    let (fore, aft) = hull.extent([1.0, 0.0, 0.0]);
    drawing.line(back, Point::new(1e3 * fore, middle), Point::new(1e3 * aft, middle));
    // Where moulds stand close, a name is led to its own from beside the others.
    let names: Vec<String> = set.set_up.iter().map(|row| to_ascii(&row.station)).collect();
    let widest = names.iter().map(|name| text_width(name, LETTER_MM)).fold(0.0, f64::max);
    let places = apart(set.set_up.iter().map(|row| 1e3 * row.x), widest + 0.5 * LETTER_MM);
    for (((mould, row), name), place) in set.moulds.iter().zip(&set.set_up).zip(names).zip(places) {
        let half = mould.pieces.iter().map(|p| p.outline.bounding_box().x1).fold(0.0, f64::max);
        let far = row.x + if mould.lies == Lies::Aft { set.thickness } else { -set.thickness };
        let square = Rect::from_points(down(Point::new(row.x, half), 1.0), down(Point::new(far, half), -1.0));
        drawing.path(moulds, square.to_path(1e-3));
        let over = down(Point::new(row.x, beam), 1.0);
        let led = (place - over.x).abs() > SAME_MM;
        let at = Point::new(place, over.y + if led { 1.5 } else { 0.5 } * LETTER_MM);
        if led {
            drawing.line(back, over, at - kurbo::Vec2::new(0.0, 0.3 * LETTER_MM));
        }
        drawing.text(letters, at, LETTER_MM, 0.0, Anchor::Middle, name);
    }
    let at = Point::new(1e3 * fore, middle - 1e3 * beam - 1.5 * LETTER_MM);
    let words =
        "FROM ABOVE: SHEER, ENDS, AND MOULDS AT THEIR WIDEST. THE FACE THAT IS NAMED STANDS ON THE LINE";
    drawing.text(letters, at, LETTER_MM, 0.0, Anchor::Start, words);
}

/// Nearer than this two places are one, mm.
const SAME_MM: f64 = 0.1;
/// Points along the sheer in plan.
const SHEER_SPOTS: usize = 80;

/// Places as near as may be to those wanted, which ascend, and no two nearer than `least`: those that would be too
/// near stand about their middle.
fn apart(wanted: impl Iterator<Item = f64>, least: f64) -> Vec<f64> {
    // Groups that stand shoulder to shoulder: the first place, and how many.
    let mut groups: Vec<(f64, usize)> = Vec::new();
    for place in wanted {
        let (mut first, mut count) = (place, 1);
        while let Some(&(before, n)) = groups.last()
            && before + n as f64 * least > first
        {
            groups.pop();
            // The mean of what all of them want, each less its place in the row.
            let shifted = first - n as f64 * least;
            first = (before * n as f64 + shifted * count as f64) / (n + count) as f64;
            count += n;
        }
        groups.push((first, count));
    }
    groups.iter().flat_map(|(first, n)| (0..*n).map(move |i| first + i as f64 * least)).collect()
}

/// Depth of the strongback as drawn, mm.
const STRONGBACK_MM: f64 = 140.0;
/// Height of letters, mm: legible with the whole boat on a sheet or a screen.
const LETTER_MM: f64 = 40.0;
/// From line to line of letters, mm.
const LINE_MM: f64 = 1.4 * LETTER_MM;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_too_near_one_another_stand_apart_about_their_middle_and_the_rest_stay() {
        let places = apart([0.0, 100.0, 110.0, 120.0, 300.0].into_iter(), 50.0);
        assert_eq!(places, [0.0, 60.0, 110.0, 160.0, 300.0]);
        // A group that reaches the next takes it up.
        let places = apart([0.0, 10.0, 60.0].into_iter(), 50.0);
        assert!(places.windows(2).all(|p| p[1] - p[0] >= 50.0 - 1e-9));
        assert!((places.iter().sum::<f64>() - 70.0).abs() < 1e-9);
    }
}
