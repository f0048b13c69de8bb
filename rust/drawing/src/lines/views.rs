//! The sheer plan, the half-breadth plan with the diagonals, and the body plan.

use kurbo::{Affine, BezPath, Line as Stroke, ParamCurve, ParamCurveNearest as _, Point, Shape as _, Vec2};
use scrieve_hull::Boat;

use super::gathered::{Line, Lines};
use super::layout::{Layout, STAGGERED};
use super::sheet::{Ink, Label, OFF_END, RUN_ON, SMALL, STATION, Sheet, VIEW, row_step};
use crate::Anchor;
use crate::space::text_width;

/// Spots along a line that is seen from its end in the body plan.
const BODY_SPOTS: usize = 240;

/// Strokes nearer than this are one, mm on paper: a twentieth of the finest pen's breadth.
const ONE_LINE_MM: f64 = 0.005;

/// Places along a section its band is drawn through.
const BAND_SPOTS: usize = 40;

pub(super) fn sheet_views(sheet: &mut Sheet, lines: &Lines, layout: &Layout) {
    let mut labels = profile_view(sheet, lines, layout.sheer, layout.gutter);
    labels.extend(plan_view(sheet, lines, layout.plan, layout.diagonals, layout.gutter));
    if let Some(body) = layout.body {
        labels.extend(body_view(sheet, lines, body));
    }
    sheet.label_all(labels);
}

/// x, in metres, of the ends of grid lines along the boat.
fn grid_ends(lines: &Lines, view: Affine) -> (f64, f64) {
    let on = RUN_ON / view.as_coeffs()[0];
    (lines.fore - on, lines.aft + on)
}

/// Millimetres of paper to a metre across a view, which are fewer along it where its length is foreshortened.
fn across(view: Affine) -> f64 {
    view.as_coeffs()[3].abs()
}

fn profile_view(sheet: &mut Sheet, lines: &Lines, view: Affine, gutter: f64) -> Vec<Label> {
    let k = across(view);
    let (fore, aft) = grid_ends(lines, view);
    sheet.grid_line(view, Ink::Base, Point::new(fore, 0.0), Point::new(aft, 0.0), "base");
    for (z, _) in &lines.waterlines {
        sheet.grid_line(
            view,
            lines.level(*z),
            Point::new(fore, *z),
            Point::new(aft, *z),
            &lines.level_label(*z),
        );
    }
    let (foot, head) = (lines.low - RUN_ON / k, lines.high + RUN_ON / k);
    for (name, x) in &lines.stations {
        let (a, b) = (view * Point::new(*x, foot), view * Point::new(*x, head));
        sheet.grid(Ink::Grid, a, b);
        sheet.label_end(a, Vec2::new(0.0, -1.0), &lines.label(*x));
        sheet.name_end(b, Vec2::new(0.0, 1.0), name, STATION);
    }
    // Names of single lines before the many: they stand but once.
    let mut labels: Vec<Label> = Vec::new();
    let (edges, ends) = lines.profile.split_at(lines.edge_names().len());
    for (line, name) in edges.iter().zip(lines.edge_names()) {
        labels.push(Label::beside(&name, &(view * line.curve.path()), 0.68, name != "rabbet"));
    }
    for ((line, name), away) in ends.iter().zip(&lines.end_names).zip([-1.0, 1.0]) {
        labels.push(Label::beside_end(name, &(view * line.curve.path()), away));
    }
    for (y, branches) in &lines.buttocks {
        for (i, line) in branches.iter().enumerate() {
            if i == 0 {
                labels.push(Label::beside(&lines.label(*y), &(view * line.curve.path()), 0.3, true));
            }
            sheet.line(Ink::Buttock, view, line);
        }
    }
    lines.profile.iter().for_each(|line| sheet.line(Ink::Hull, view, line));
    name_view(sheet, "SHEER PLAN", view * Point::new(lines.fore, lines.high), gutter, true);
    labels
}

fn plan_view(sheet: &mut Sheet, lines: &Lines, view: Affine, below: Affine, gutter: f64) -> Vec<Label> {
    let k = across(view);
    let (fore, aft) = grid_ends(lines, view);
    let mut labels = Vec::new();
    sheet.centreline(view, Point::new(fore, 0.0), Point::new(aft, 0.0));
    for (end, away) in [(fore, -1.0), (aft, 1.0)] {
        sheet.label_end(view * Point::new(end, 0.0), Vec2::new(away, 0.0), "centre");
    }
    for (y, _) in &lines.buttocks {
        sheet.grid_line(view, Ink::Grid, Point::new(fore, *y), Point::new(aft, *y), &lines.label(*y));
    }
    for (name, x) in &lines.stations {
        let a = below * Point::new(*x, lines.out + RUN_ON / k);
        let b = view * Point::new(*x, lines.half_beam + RUN_ON / k);
        sheet.grid(Ink::Grid, a, b);
        for (at, away) in [(a, -1.0), (b, 1.0)] {
            sheet.name_end(at, Vec2::new(0.0, away), name, STATION);
        }
    }
    let edges = lines.plan.iter().zip(lines.edge_names()).filter(|(_, name)| *name != "rabbet");
    labels.extend(edges.map(|(line, name)| Label::beside(&name, &(view * line.curve.path()), 0.68, true)));
    for (z, branches) in &lines.waterlines {
        for (i, line) in branches.iter().enumerate() {
            let path = view * line.curve.path();
            if i == 0 {
                labels.push(Label::beside(&lines.level_label(*z), &path, 0.3, false));
            }
            sheet.line(Ink::Waterline, view, line);
        }
    }
    lines.plan.iter().for_each(|line| sheet.line(Ink::Hull, view, line));
    for (d, branches) in &lines.diagonals {
        for (i, line) in branches.iter().enumerate() {
            if i == 0 {
                let path = below * line.curve.path();
                labels.push(Label::beside(&d.name, &path, 0.12, true));
                labels.push(Label::beside(&d.name, &path, 0.9, true));
            }
            sheet.line(Ink::Diagonal, below, line);
        }
    }
    name_view(sheet, "HALF-BREADTH PLAN", view * Point::new(lines.fore, lines.half_beam), gutter, true);
    if !lines.diagonals.is_empty() {
        name_view(sheet, "DIAGONALS", below * Point::new(lines.fore, lines.out), gutter, false);
    }
    labels
}

pub(super) fn body_view(sheet: &mut Sheet, lines: &Lines, view: Affine) -> Vec<Label> {
    let k = across(view);
    let reach = lines.half_beam + RUN_ON / k;
    let (foot, head) = (lines.low - RUN_ON / k, lines.high + RUN_ON / k);
    sheet.grid_line(view, Ink::Base, Point::new(-reach, 0.0), Point::new(reach, 0.0), "base");
    for (z, _) in &lines.waterlines {
        sheet.grid_line(
            view,
            lines.level(*z),
            Point::new(-reach, *z),
            Point::new(reach, *z),
            &lines.level_label(*z),
        );
    }
    for (y, _) in &lines.buttocks {
        for y in [-*y, *y] {
            sheet.grid_line(view, Ink::Grid, Point::new(y, foot), Point::new(y, head), &lines.label(y.abs()));
        }
    }
    sheet.centreline(view, Point::new(0.0, foot), Point::new(0.0, head));
    let mut labels = Vec::new();
    for (d, branches) in &lines.diagonals {
        let ends = branches.iter().map(|line| line.curve.path().bounding_box().y1);
        let out = ends.fold(0.0, f64::max) + 2.0 / k;
        let start = Point::new(0.0, d.centreline_height);
        let end = start + d.direction() * out;
        for side in [-1.0, 1.0] {
            let (a, b) = (view * start, view * Point::new(side * end.x, end.y));
            sheet.path(Ink::Diagonal, kurbo::Line::new(a, b).into_path(1e-3));
            let along = (b - a).normalize();
            let spots = (0..20).map(|i| b + along * (1.4 + 0.4 * f64::from(i)));
            let spots =
                spots.flat_map(|p| [0.0, 1.0, -1.0, 2.0, -2.0].map(|up| p + Vec2::new(0.0, up))).collect();
            labels.push(Label {
                text: d.name.clone(),
                height: SMALL,
                spots,
                leads_to: None,
                is_section: false,
            });
        }
    }
    for (name, x, curve) in &lines.sections {
        let side = if *x <= lines.widest { 1.0 } else { -1.0 };
        let path = view * Affine::scale_non_uniform(side, 1.0) * curve.path();
        if let Some(end) = path.segments().last().map(|s| s.end()) {
            labels.push(Label::above(name, end));
        }
        sheet.path(Ink::Section, path);
    }
    for (part, is_read) in lines.body.iter().flat_map(Line::parts) {
        for forward in [true, false] {
            let side = if forward { 1.0 } else { -1.0 };
            let points = part.points(BODY_SPOTS).into_iter().filter(|p| (p[0] <= lines.widest) == forward);
            let points: Vec<Point> = points.map(|p| view * Point::new(side * p[1], p[2])).collect();
            sheet.part(Ink::Hull, drawn_once(&points), is_read);
        }
    }
    for (end, side) in lines.ends.iter().zip([1.0, -1.0]) {
        sheet.line(Ink::Hull, view * Affine::scale_non_uniform(side, 1.0), end);
    }
    let at = view * Point::new(0.0, foot);
    sheet.name_end(at - Vec2::new(0.0, RUN_ON), Vec2::new(0.0, -1.0), "BODY PLAN", VIEW);
    labels
}

/// A line through points that does not run back over itself: seen from its end a rabbet goes down and comes up again
/// in one place, and is drawn there once.
fn drawn_once(points: &[Point]) -> BezPath {
    let mut path = BezPath::new();
    let Some((&first, rest)) = points.split_first() else { return path };
    path.move_to(first);
    let mut drawn: Vec<Stroke> = Vec::new();
    // The end of the last stroke, and whether points since lay on what is drawn.
    let (mut pen, mut is_back) = (first, false);
    for &p in rest {
        if p.distance(pen) < ONE_LINE_MM {
            continue;
        }
        let near = drawn.iter().map(|stroke| (stroke.nearest(p, 1e-6), stroke));
        let near = near.min_by(|a, b| a.0.distance_sq.total_cmp(&b.0.distance_sq));
        if near.as_ref().is_some_and(|(found, _)| found.distance_sq < ONE_LINE_MM * ONE_LINE_MM) {
            is_back = true;
            continue;
        }
        let left = near.filter(|_| is_back).map(|(found, stroke)| stroke.eval(found.t));
        if let Some(left) = left.filter(|left| left.distance(pen) > ONE_LINE_MM) {
            path.move_to(left);
            pen = left;
        }
        path.line_to(p);
        drawn.push(Stroke::new(pen, p));
        (pen, is_back) = (p, false);
    }
    path
}

/// One standard deviation of the surface to either side of each section, `times` over, and a line that says so.
pub(super) fn draw_bands(
    sheet: &mut Sheet,
    hull: &Boat,
    lines: &Lines,
    view: Affine,
    times: f64,
    below: Point,
) {
    for (_, x, curve) in &lines.sections {
        let side = if *x <= lines.widest { 1.0 } else { -1.0 };
        let points: Vec<_> = (0..=BAND_SPOTS)
            .filter_map(|i| curve.at_fraction(i as f64 / BAND_SPOTS as f64))
            .filter_map(|s| {
                let sd = hull.sd(s.p[0], s.p[2]).ok()?;
                // Square to the section the surface's own uncertainty is longer, as it is cut aslant.
                let in_plane = s.normal[1].hypot(s.normal[2]).max(0.1);
                let off = Vec2::new(s.normal[1], s.normal[2]) * (times * sd / (in_plane * in_plane));
                Some((Point::new(s.p[1], s.p[2]), off))
            })
            .collect();
        for way in [-1.0, 1.0] {
            let mut path = BezPath::new();
            for (p, off) in &points {
                let p = *p + *off * way;
                let at = view * Point::new(side * p.x, p.y);
                if path.elements().is_empty() { path.move_to(at) } else { path.line_to(at) }
            }
            sheet.path(Ink::Band, path);
        }
    }
    let says = format!("beside each section: one standard deviation, {times} times over");
    sheet.text(below, SMALL, Anchor::Middle, &says);
}

/// A view's name at its upper or lower left corner, beside the stations' names where they leave it room.
fn name_view(sheet: &mut Sheet, name: &str, corner: Point, gutter: f64, is_above: bool) {
    let (width, way) = (text_width(name, VIEW), if is_above { 1.0 } else { -1.0 });
    let rows = (0..=STAGGERED).map(|i| RUN_ON + OFF_END + 0.5 * VIEW + row_step(VIEW) * i as f64);
    let spots = rows.map(|up| corner + Vec2::new(width / 2.0 - gutter, way * up));
    let size = kurbo::Size::new(width, VIEW);
    if let Some(at) = spots.into_iter().find(|p| sheet.space.is_free(kurbo::Rect::from_center_size(*p, size)))
    {
        sheet.text(at - Vec2::new(0.0, VIEW / 2.0), VIEW, Anchor::Middle, name);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(path: &BezPath) -> Vec<(bool, f64, f64)> {
        let of = |el: &kurbo::PathEl| match *el {
            kurbo::PathEl::MoveTo(p) => (true, p.x, p.y),
            _ => el.end_point().map_or((false, f64::NAN, f64::NAN), |p| (false, p.x, p.y)),
        };
        path.elements().iter().map(of).collect()
    }

    #[test]
    fn a_line_that_comes_back_on_itself_is_drawn_once() {
        let down_and_up: Vec<Point> = [9.0, 5.0, 1.0, 0.0, 0.5, 0.9].map(|y| Point::new(2.0, y)).to_vec();
        let mut once = down_and_up[..4].iter().map(|p| (false, p.x, p.y)).collect::<Vec<_>>();
        once[0].0 = true;
        assert_eq!(points(&drawn_once(&down_and_up)), once);
        // One that runs on past where it began is one line; one that leaves it aslant begins anew there.
        let past = [Point::new(0.0, 1.0), Point::new(0.0, 0.0), Point::new(0.0, 0.5), Point::new(0.0, 3.0)];
        assert_eq!(drawn_once(&past).segments().map(|s| s.end().y).collect::<Vec<_>>(), [0.0, 3.0]);
        let aslant = [Point::new(0.0, 1.0), Point::new(0.0, 0.0), Point::new(0.0, 0.5), Point::new(0.4, 0.8)];
        assert_eq!(
            points(&drawn_once(&aslant)),
            [(true, 0.0, 1.0), (false, 0.0, 0.0), (true, 0.0, 0.8), (false, 0.4, 0.8)]
        );
        // A corner however sharp is kept.
        let corner = [Point::new(0.0, 9.0), Point::new(0.0, 0.0), Point::new(0.1, 8.0)];
        assert_eq!(drawn_once(&corner).segments().count(), 2);
    }
}
