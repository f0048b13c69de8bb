//! What is said of a backbone's line: what the builder should know, and what is wrong with it as followed.

use super::super::path::SAME_SPOT_M;
use super::knee::IN_LINE;
use super::{Spine, Spot};
use crate::rabbet::{End, least_angle};
use crate::{Grid, written};

/// The planking's angle does not turn by more from spot to spot, radians (20 degrees), farther from a corner or an end than
/// [`JUMPS_CLEAR_M`]: spots are some 3 degrees of the line's own turn apart.
const JUMP: f64 = 0.35;

/// Sections that are ellipses to the very end turn as fast as one likes there, m.
const JUMPS_CLEAR_M: f64 = 0.1;

/// Over more than this without a spot, m, and this part of the line, a rabbet is not known.
const UNKNOWN_M: f64 = 0.1;

const UNKNOWN: f64 = 0.08;

impl Spine<'_> {
    /// Where planking meets a piece so finely that the rabbet grows long, scarfs shorter than asked for, and what of
    /// a backbone she has not.
    pub fn remarks(&self, grid: &Grid) -> Vec<String> {
        let mut remarks = Vec::new();
        let say = |length: f64| format!("{} ({:.0} mm)", written(length, grid.units), length * 1e3);
        let degrees = least_angle().to_degrees();
        for end in [None, Some(End::Stem), Some(End::Sternpost)] {
            let all: Vec<&Spot> = self.of(end).collect();
            // Each stretch by itself: a double-ender's keel has one at either end.
            for spots in all.chunk_by(|a, b| is_fine(a) == is_fine(b)).filter(|spots| is_fine(spots[0])) {
                let place = |s: &&Spot| if end.is_some() { s.lines[0].y } else { s.lines[0].x };
                let Some(from) = spots.iter().map(place).min_by(f64::total_cmp) else { continue };
                let to = spots.iter().map(place).fold(from, f64::max);
                let piece = end.map_or("keel", End::name);
                let way = if end.is_some() { "up" } else { "from the stem" };
                let run = spots.iter().map(|s| s.rabbet.bearding.y - s.rabbet.rabbet.y).fold(0.0, f64::max);
                let rest = if spots.iter().any(|s| s.rabbet.angle == least_angle()) {
                    "so the rabbet line is only where it may be at most: leave the wood there and cut to a piece of \
                 the planking, or give the table to the outside of the planking"
                } else {
                    "so the rabbet is long: leave the wood there and cut to a piece of the planking"
                };
                remarks.push(format!(
                "{piece}, {} to {} {way}: the planking all but lies along the piece (it meets it at {degrees:.1} \
                 degrees or less), and the bearding line runs {} from the rabbet line, {rest}",
                say(from),
                say(to),
                say(run),
            ));
            }
        }
        let asked = if self.options.nib > 0.0 {
            self.nib / self.options.nib * self.options.scarf
        } else {
            self.scarf
        };
        if asked > self.scarf * 1.0001 {
            remarks.push(format!(
                "scarfs: {} times the keel's depth is {}; they are held to {}, {:.0} per cent of the keel: give a \
                 shorter scarf or a shallower keel",
                self.options.scarf,
                say(asked),
                say(self.scarf),
                crate::backbone::LONGEST_SCARF * 100.0,
            ));
        }
        let line = &self.parts.line;
        if !line.has_stem {
            remarks.push(format!(
                "taken to end forward in a bow transom, since her table gives no stem and her forward end is {} wide: if \
                 she has a stem, give its profile, rows `from stem` and `height` under [stem profile]",
                say(2.0 * line.forward_breadth)
            ));
        }
        if !line.has_post && self.hull.survey().transom.is_none() {
            remarks.push(format!(
                "no sternpost: she ends aft in a section {} wide, and her table gives no transom",
                say(2.0 * line.after_breadth)
            ));
        }
        for (has, length, name) in [
            (line.has_stem, self.parts.fore, "stem"),
            (line.has_post, self.parts.length - self.parts.aft, "sternpost"),
        ] {
            if has && length < SAME_SPOT_M && !self.is_flat {
                remarks.push(format!(
                    "no {name} by itself: the line runs on into the keel with less than 20 degrees of turn, and is one \
                     piece with it"
                ));
            }
        }
        if let Some(angle) = self.knee().map(|knee| knee.angle()).filter(|angle| *angle > IN_LINE) {
            remarks.push(format!(
                "no stern knee: what its arms would lie on is all but in line ({:.0} degrees)",
                angle.to_degrees()
            ));
        }
        remarks
    }

    /// What is wrong with the rabbet as followed: where the planking's angle jumps, and what has no spot in it.
    pub fn faults(&self, grid: &Grid) -> Vec<String> {
        let mut faults = Vec::new();
        let ends: Vec<f64> =
            self.parts.runs().iter().flat_map(|(from, run)| [*from, from + run.length()]).collect();
        let clear = |s: f64| ends.iter().all(|end| (s - end).abs() > JUMPS_CLEAR_M);
        let place = |s: &Spot| {
            let say = |length: f64| format!("{} ({:.0} mm)", written(length, grid.units), length * 1e3);
            format!("{} aft and {} up", say(s.lines[0].x), say(s.lines[0].y))
        };
        for stretch in &self.stretches {
            let pairs = || stretch.spots.windows(2).map(|w| (&w[0], &w[1]));
            let turn = |(a, b): &(&Spot, &Spot)| (a.angle - b.angle).abs();
            let jumps = pairs().filter(|pair| clear(pair.0.s) && clear(pair.1.s) && turn(pair) > JUMP);
            // A piece's worst alone.
            let mut worst: Vec<(&'static str, (&Spot, &Spot))> = Vec::new();
            for pair in jumps {
                let piece = pair.1.end.or(pair.0.end).map_or("keel", End::name);
                match worst.iter_mut().find(|(other, _)| *other == piece) {
                    Some((_, other)) if turn(other) < turn(&pair) => *other = pair,
                    Some(_) => {}
                    None => worst.push((piece, pair)),
                }
            }
            for (piece, pair) in worst {
                faults.push(format!(
                    "{piece}: the planking's angle with its side jumps by {:.0} degrees between {} and {}, which no \
                     planking does: look at the readings there",
                    turn(&pair).to_degrees(),
                    place(pair.0),
                    place(pair.1),
                ));
            }
            let most = UNKNOWN_M.max(UNKNOWN * self.parts.length);
            for (a, b) in pairs().filter(|(a, b)| b.s - a.s > most) {
                let piece = b.end.or(a.end).map_or("keel", End::name);
                faults.push(format!(
                    "{piece}: none between {} and {}: the lines are drawn across from the one to the other",
                    place(a),
                    place(b),
                ));
            }
        }
        faults
    }
}

/// Whether the planking all but lies along the side of the piece.
fn is_fine(s: &Spot) -> bool {
    s.rabbet.angle <= least_angle()
}
