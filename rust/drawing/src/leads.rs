//! Names led to what they name: as near to it as there is room, and so that no lead runs over a name or another lead.

use kurbo::{BezPath, Line, ParamCurve as _, Point, Rect, Shape as _, Size};

use crate::Drawing;
use crate::moulds::{block_size, write_in, write_lines};
use crate::space::Space;

/// What is named on a sheet so far.
#[derive(Clone, Debug)]
pub(crate) struct Leads {
    /// A lead as short as this is not drawn, mm.
    shortest: f64,
    /// Whether letters may stand upright.
    turns: bool,
    names: Vec<Rect>,
    leads: Vec<Line>,
}

/// A name's room, what it is led to, and what either runs over.
#[derive(Clone, Copy, Debug)]
struct Found {
    over: usize,
    room: Rect,
    lead: Line,
}

impl Found {
    fn is_better(&self, than: &Found) -> bool {
        (self.over, self.lead.length()) < (than.over, than.lead.length())
    }
}

impl Leads {
    /// None yet; a lead is drawn if it is longer than so much, mm.
    pub fn longer_than(shortest: f64) -> Leads {
        Leads { shortest, turns: true, names: Vec::new(), leads: Vec::new() }
    }

    /// With all letters level.
    pub fn level(self) -> Leads {
        Leads { turns: false, ..self }
    }

    /// Letters under each other, led to one of the spots they may be: the largest that find room near it, upright in one
    /// line where none is level; what finds no room at all is left out.
    pub fn write(
        &mut self,
        drawing: &mut Drawing,
        [letters, leads]: [usize; 2],
        space: &mut Space,
        lines: &[String],
        spots: &[Point],
        heights: &[f64],
    ) {
        let joined = [lines.join(" ")];
        let forms = heights.iter().map(|height| (false, *height));
        let forms = forms.chain(heights.iter().filter(|_| self.turns).map(|height| (true, *height)));
        let mut best: Option<(Found, bool, f64)> = None;
        for (upright, height) in forms {
            let size = block_size(if upright { &joined } else { lines }, height);
            let size = if upright { Size::new(size.height, size.width) } else { size };
            let found = self.find(space, size, spots);
            if let Some(found) = found.filter(|found| best.as_ref().is_none_or(|b| found.is_better(&b.0))) {
                best = Some((found, upright, height));
            }
            if best.is_some_and(|(found, ..)| found.over == 0 && found.lead.length() < NEAR_HEIGHTS * height)
            {
                break;
            }
        }
        let Some((found, upright, height)) = best else { return };
        self.take(space, &found);
        if upright {
            write_in(drawing, letters, found.room, height, true, &joined[0]);
        } else {
            write_lines(drawing, letters, found.room, lines, height);
        }
        if found.lead.length() > self.shortest {
            drawing.line(leads, found.lead.p0, found.lead.p1);
        }
    }

    /// Room for a name, and its lead to one of the spots: the shortest that runs over no name and no other lead; in
    /// want of that over no name; in want of that the shortest.
    fn find(&self, space: &Space, size: Size, spots: &[Point]) -> Option<Found> {
        let mut best: Option<Found> = None;
        for &spot in spots {
            let rooms = space.spots_near(spot).into_iter().map(|at| Rect::from_center_size(at, size));
            for room in rooms.filter(|room| space.is_free(*room)) {
                let lead = lead(room, spot);
                let found = Found { over: self.over(room, lead), room, lead };
                if best.as_ref().is_none_or(|best| found.is_better(best)) {
                    best = Some(found);
                }
                if found.over == 0 {
                    break;
                }
            }
        }
        best
    }

    fn take(&mut self, space: &mut Space, found: &Found) {
        space.take_box(found.room);
        self.names.push(found.room);
        if found.lead.length() > self.shortest {
            space.take(&BezPath::from_iter(found.lead.path_elements(1e-3)));
            self.leads.push(found.lead);
        }
    }

    /// What a name and its lead would run over: names weigh most.
    fn over(&self, room: Rect, lead: Line) -> usize {
        let is_drawn = lead.length() > self.shortest;
        let names = self.names.iter().filter(|name| is_drawn && runs_over(lead, **name)).count();
        let own = self.leads.iter().filter(|other| runs_over(**other, room)).count();
        let leads = self.leads.iter().filter(|other| is_drawn && cross(lead, **other)).count();
        (names + own) * OVER_A_NAME + leads
    }
}

/// A name as near its place as this needs no lead, mm.
pub(crate) const SHORTEST_LEAD_MM: f64 = 6.0;
/// A name is near what it names within so many heights of its letters.
const NEAR_HEIGHTS: f64 = 8.0;
/// Running over a name is as bad as over so many leads.
const OVER_A_NAME: usize = 100;
/// Leads that meet this near an end of theirs do not cross, mm: two may run to one corner.
const AT_ONE_SPOT_MM: f64 = 0.5;

/// The line from a box to a spot, from the nearest of it.
fn lead(room: Rect, spot: Point) -> Line {
    Line::new(Point::new(spot.x.clamp(room.x0, room.x1), spot.y.clamp(room.y0, room.y1)), spot)
}

/// Whether a line runs through a box: by spots of it a millimetre apart at most.
fn runs_over(line: Line, room: Rect) -> bool {
    let spots = line.length().ceil().max(1.0);
    (0..=spots as u32).any(|i| room.contains(line.eval(f64::from(i) / spots)))
}

/// Whether two lines cross elsewhere than where both end.
fn cross(a: Line, b: Line) -> bool {
    let hits = kurbo::PathSeg::Line(a).intersect_line(b);
    hits.iter().any(|hit| {
        a.eval(hit.segment_t).distance(a.p1).max(b.eval(hit.line_t).distance(b.p1)) > AT_ONE_SPOT_MM
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_round_one_corner_are_led_to_it_without_crossing() {
        let mut space = Space::new(Rect::new(0.0, 0.0, 300.0, 200.0), 3.0);
        let mut leads = Leads::longer_than(0.0);
        let spots = [(150.0, 0.0), (150.0, 0.0), (260.0, 0.0), (60.0, 0.0), (150.0, 80.0), (250.0, 80.0)];
        let mut made: Vec<(Rect, Line)> = Vec::new();
        for spot in spots {
            let found = leads.find(&space, Size::new(60.0, 14.0), &[spot.into()]).expect("there is room");
            leads.take(&mut space, &found);
            made.push((found.room, found.lead));
        }
        assert_eq!(made.len(), spots.len());
        for (i, (room, lead)) in made.iter().enumerate() {
            assert!(lead.p1 == spots[i].into() && lead.p0.distance(room.center()) < 40.0);
            for (other, line) in &made[..i] {
                assert!(room.intersect(*other).area() == 0.0, "{room:?} {other:?}");
                assert!(!cross(*lead, *line), "{lead:?} {line:?}");
                assert!(!runs_over(*lead, *other) && !runs_over(*line, *room), "{lead:?} {other:?}");
            }
        }
    }

    #[test]
    fn a_name_is_led_to_the_spot_it_stands_nearest_to() {
        let mut space = Space::new(Rect::new(0.0, 0.0, 300.0, 100.0), 3.0);
        space.take_box(Rect::new(0.0, 0.0, 150.0, 100.0));
        let spots = [Point::new(20.0, 50.0), Point::new(200.0, 50.0)];
        let found =
            Leads::longer_than(0.0).find(&space, Size::new(40.0, 10.0), &spots).expect("there is room");
        assert!(found.room.contains(spots[1]) && found.lead.length() == 0.0, "{found:?}");
    }
}
