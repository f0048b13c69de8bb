//! The making of one mould: its edge first, then, when the height of the spall is known, outline and pieces.
//!
//! The edge that bears is the section of the surface parallel to the planking's outside; a bevelled mould is cut to
//! what stands outermost of its two faces.

use kurbo::{BezPath, Point, Shape as _, Vec2};
use scrieve_hull::{Boat, Curve};

use super::error::LoftError;
use super::marks::Lines;
use super::mould::{Face, Lies, Mould, Piece, Side};
use super::options::{MouldOptions, Shape};
use crate::bevel;
use crate::edge::{Edge, Place};
use crate::holes;
use crate::marks::{Mark, MarkKind, clip, crosses, path_of};
use crate::outline::{
    CHECK_ACCURACY_M, Cut, Half, NotchAt, edge_of_both, is_simple, mirror_outline, mirrored, notched,
};
use crate::pieces::{self, Part, Plan, Planned};
use crate::ribbands;

/// A mould narrower than this over both halves is not made: a half of an inch has no room for a fastening, nor for its
/// marks, and wavers.
const LEAST_WIDTH_M: f64 = 0.05;

/// A square edge may stand this proud of the planking's inside before it is remarked on: what a plane
/// takes off in a stroke or two.
const PROUD_M: f64 = 0.0005;

/// An edge that ends this near the centreline ends on it, m.
const NEARLY_M: f64 = 1e-6;

/// A mould whose edge is known, before the spall's height is.
pub(super) struct Draft {
    pub(super) station: String,
    pub(super) x: f64,
    pub(super) lies: Lies,
    pub(super) deduction: f64,
    pub(super) curve: Curve,
    pub(super) edge: Edge,
    /// Heights where the hull turns tighter than the deduction and the edge has a corner.
    corners: Vec<f64>,
    /// The edge a bevelled mould is cut to: that on the far face, and the station's own where that stands outside it.
    pub(super) far: Option<Edge>,
    /// How many chines the hull has.
    pub(super) chines: usize,
}

impl Draft {
    pub(super) fn new(
        hull: &Boat,
        options: &MouldOptions,
        station: &str,
        x: f64,
        deduction: f64,
        widest: f64,
    ) -> Result<Draft, LoftError> {
        let outside = hull.section(x)?;
        let half_breadth = outside.pieces.iter().flatten().map(|s| s.p[1]).fold(f64::NEG_INFINITY, f64::max);
        let too_thick = LoftError::TooThick { deduction, half_breadth };
        if half_breadth <= deduction {
            return Err(too_thick);
        }
        let edge_at = |x: f64| -> Result<(Curve, Edge, Vec<f64>), LoftError> {
            let section = hull.parallel_section_marked(x, deduction)?;
            let edge = Edge::with_chines(&section.curve, &section.chines).ok_or_else(|| too_thick.clone())?;
            let width = 2.0 * edge.greatest_half_breadth();
            if width <= 0.0 {
                return Err(too_thick.clone());
            }
            if width < LEAST_WIDTH_M {
                return Err(LoftError::TooNarrow { width, least: LEAST_WIDTH_M });
            }
            Ok((section.curve, edge, section.loops))
        };
        let (curve, edge, corners) = edge_at(x)?;
        let lies = if x <= widest { Lies::Aft } else { Lies::Forward };
        let far = match options.bevelled {
            true => Some(edge_of_both(&edge, edge_at(x + lies.sign() * options.thickness)?.1)?),
            false => None,
        };
        let chines = hull.surface().patches.len() - 1;
        Ok(Draft { station: station.to_owned(), x, lies, deduction, curve, edge, corners, far, chines })
    }

    /// The sheer on the station line.
    pub(super) fn sheer(&self) -> Point {
        self.edge.point(self.edge.end())
    }

    pub(super) fn finish(
        self,
        options: &MouldOptions,
        lines: &Lines,
        spall: f64,
    ) -> Result<Mould, LoftError> {
        let sheer = self.sheer();
        if spall < sheer.y {
            return Err(LoftError::SpallBelowSheer { spall, sheer: sheer.y });
        }
        let corner = |z: &f64| {
            format!(
                "the hull turns tighter than the planking is thick {z:.3} m up: the mould has a corner there"
            )
        };
        let mut remarks: Vec<String> = self.corners.iter().map(corner).collect();
        let (near, cut_at) = ((&self.edge, self.x), self.cut_at(options));
        let face = self.far.as_ref().map_or(near, |far| (far, cut_at));
        let other = self.far.is_some().then_some(near);
        let cut = Self::with_cut(face, other, options, spall, |cut| Half::new(face.0, cut))?;
        let station_face = match self.far {
            Some(_) => Some(Self::with_cut(near, None, options, spall, |cut| notched(&self.edge, cut))?),
            None => None,
        };
        self.remark_on_bevels(options, &mut remarks);
        let crossing = ribbands::crossings(&self.edge, self.x, &options.ribbands)?;
        let missing = (1..=options.ribbands.len()).map(ribbands::name);
        let missing = missing.filter(|name| crossing.iter().all(|(_, crosses)| crosses != name));
        remarks.extend(missing.map(|name| format!("ribband {name} does not cross this mould")));
        if self.edge.point(self.edge.start()).x < -NEARLY_M {
            remarks.push(
                "the planking is thicker than the half-siding: the lower end is cut to the centreline".into(),
            );
        }

        let named = ribbands::crossings(face.0, face.1, &options.ribbands)?;
        remarks.extend(cut.without.iter().filter_map(|&k| named.get(k)).map(|(place, name)| {
            let z = face.0.point(*place).y;
            format!(
                "no notch for ribband {name}, {z:.3} m up: the mould has too little wood there, or the notch would run into \
                 the next; bevel the edge, and fasten the ribband on it"
            )
        }));
        if cut.footless {
            remarks.push("the keel notch is wider than the mould at its top and takes the foot off".into());
        }

        let plan = self.plan(&cut, options, spall)?;
        remarks.extend(plan.remarks.iter().cloned());
        let mut pieces: Vec<Piece> = Vec::new();
        for planned in &plan.pieces {
            let (cut, unbored) = self.pieces(planned, &plan.fastenings, options, |outline, holes, side| {
                self.marks(outline, holes, side, lines, options, spall, station_face.as_ref())
            });
            pieces.extend(cut);
            remarks.extend(unbored);
        }
        for piece in &pieces {
            let simple = is_simple(&piece.outline, CHECK_ACCURACY_M);
            if !simple || piece.outline.area() <= 0.0 {
                return Err(LoftError::Crosses { deduction: self.deduction });
            }
        }
        let face = match self.lies {
            Lies::Aft => Face::Forward,
            Lies::Forward => Face::After,
        };
        let face_label = match face {
            Face::Forward => "FORWARD FACE",
            Face::After => "AFTER FACE",
        };
        let labels = vec![format!("MOULD {}", self.station), face_label.to_owned()];
        let bevels = self.bevels(lines, options)?;
        Ok(Mould {
            station: self.station,
            x: self.x,
            lies: self.lies,
            face,
            edge: self.curve,
            sheer,
            pieces,
            labels,
            bevels,
            remarks,
        })
    }

    /// What it is made of: the right side of it, and what lies astride the centreline.
    fn plan(&self, cut: &Half, options: &MouldOptions, spall: f64) -> Result<Plan, LoftError> {
        let one = |astride, (outline, holes)| Planned {
            part: Part::Mould,
            name: String::new(),
            astride,
            outline,
            holes,
            lines: Vec::new(),
            apart: Vec2::ZERO,
        };
        let edge = self.far.as_ref().unwrap_or(&self.edge);
        let mut plan = match (&options.pieces, options.limb) {
            (Some(ask), Some(limb)) => {
                let notches = options.ribband_notch.map_or(0.0, |notch| notch.width / 2.0);
                let ribbands = ribbands::crossings(edge, self.cut_at(options), &options.ribbands)?;
                let ribbands: Vec<Place> = ribbands.into_iter().map(|(place, _)| place).collect();
                let mut plan = pieces::in_pieces(edge, cut, ask, limb, notches, &ribbands)?;
                if ask.head {
                    let (head, fastenings) = pieces::head(edge, cut, limb, options.limb)?;
                    plan.pieces.push(head);
                    plan.fastenings.extend(fastenings);
                }
                plan
            }
            _ if options.shape == Shape::Whole => {
                Plan { pieces: vec![one(true, cut.whole())], ..Plan::default() }
            }
            _ => Plan { pieces: vec![one(false, (cut.outline(), Vec::new()))], ..Plan::default() },
        };
        if let Some(board) = options.spall {
            let head = plan.pieces.iter().any(|p| p.part == Part::Head).then(|| edge.point(edge.end()).y);
            if let Some(head) = head.filter(|head| *head > spall - board.width) {
                return Err(LoftError::HeadMeetsSpall { spall: spall - board.width, head });
            }
            let (spall, fastenings) = pieces::spall(cut, spall, board, options.limb)?;
            plan.pieces.push(spall);
            plan.fastenings.extend(fastenings);
        }
        Ok(plan)
    }

    /// A planned piece on each side it is cut for, with its marks.
    pub(super) fn pieces(
        &self,
        planned: &Planned,
        fastenings: &[Point],
        options: &MouldOptions,
        grid: impl Fn(&BezPath, &[BezPath], Side) -> Vec<Mark>,
    ) -> (Vec<Piece>, Vec<String>) {
        let right = match self.lies {
            Lies::Aft => (Side::Port, Side::Starboard),
            Lies::Forward => (Side::Starboard, Side::Port),
        };
        let side = if planned.astride { Side::Both } else { right.0 };
        let stacked = options.shape == Shape::Stacked;
        let of_the_edge = matches!(planned.part, Part::Mould | Part::Floor | Part::Futtock);
        let both: Vec<Point> = fastenings.iter().flat_map(|p| [*p, Point::new(-p.x, p.y)]).collect();
        let outline = &planned.outline;
        let mut bored = planned.holes.clone();
        let mut unbored = Vec::new();
        let whose = if planned.name.is_empty() { "it" } else { planned.name.as_str() };
        if options.pilot_hole > 0.0 {
            let inside = both.iter().filter(|p| outline.winding(**p) != 0).count();
            let pilots = holes::pilots(outline, &planned.holes, &both, options.pilot_hole);
            if pilots.len() < inside {
                let (left, across) = (inside - pilots.len(), 1e3 * options.pilot_hole);
                unbored.push(format!(
                    "{left} of {inside} pilot holes of {across:.1} mm have too little wood round them in {whose} and are \
                     left out"
                ));
            }
            bored.extend(pilots);
        }
        if options.registration_hole > 0.0 && of_the_edge {
            let registration = holes::registration(outline, &bored, options.registration_hole);
            let across = 1e3 * options.registration_hole;
            match registration.len() {
                0 => unbored.push(format!("no registration hole of {across:.1} mm has room in {whose}: none is there")),
                n if n < holes::TWO * if planned.astride { 2 } else { 1 } => unbored.push(format!(
                    "only {n} registration hole of {across:.1} mm has room in {whose}: it does not keep the halves from \
                     turning"
                )),
                _ => {}
            }
            bored.extend(registration);
        }
        let holes = &bored;
        let mut marks = if of_the_edge { grid(outline, holes, side) } else { Vec::new() };
        for (label, line) in &planned.lines {
            let kind = if *label == "CL" { MarkKind::Centreline } else { MarkKind::Joint };
            let lines = clip(outline, holes, line.midpoint(), line.p1 - line.p0);
            marks.push(Mark { kind, label: (*label).to_owned(), path: path_of(&lines) });
        }
        let in_wood = |p: Point| outline.winding(p) != 0 && holes.iter().all(|h| h.winding(p) == 0);
        let path = if options.pilot_hole > 0.0 { BezPath::new() } else { crosses(&both, in_wood) };
        if !path.elements().is_empty() {
            marks.push(Mark { kind: MarkKind::Fastening, label: String::new(), path });
        }
        let one = Piece {
            part: planned.part,
            name: planned.name.clone(),
            count: if stacked && !planned.astride { 2 } else { 1 },
            side,
            outline: outline.clone(),
            holes: holes.clone(),
            marks,
            apart: planned.apart,
        };
        if stacked || planned.astride {
            return (vec![one], unbored);
        }
        let other = Piece {
            side: right.1,
            outline: mirror_outline(&one.outline),
            holes: one.holes.iter().map(mirror_outline).collect(),
            marks: one.marks.iter().map(|m| Mark { path: mirrored(&m.path), ..m.clone() }).collect(),
            apart: Vec2::new(-one.apart.x, one.apart.y),
            ..one.clone()
        };
        (vec![one, other], unbored)
    }

    /// x of the face it is cut to.
    fn cut_at(&self, options: &MouldOptions) -> f64 {
        self.x + if self.far.is_some() { self.lies.sign() * options.thickness } else { 0.0 }
    }

    /// What is cut along `edge`, the face at `x`. Of a ribband's notch only what is void on the `other` face
    /// too, or the wood its run leaves there would be lost.
    fn with_cut<T>(
        (edge, x): (&Edge, f64),
        other: Option<(&Edge, f64)>,
        options: &MouldOptions,
        spall: f64,
        make: impl FnOnce(&Cut<'_>) -> Result<T, LoftError>,
    ) -> Result<T, LoftError> {
        let here = ribbands::crossings(edge, x, &options.ribbands)?;
        let there = match other {
            Some((edge, x)) => ribbands::crossings(edge, x, &options.ribbands)?,
            None => Vec::new(),
        };
        let mut nth_of: Vec<&str> = Vec::new();
        let notches: Vec<NotchAt> = here
            .iter()
            .map(|(place, name)| {
                let nth = nth_of.iter().filter(|n| *n == name).count();
                nth_of.push(name);
                let (at, along) = (edge.point(*place), edge.middle_tangent(*place));
                let same = there.iter().filter(|(_, other)| other == name).nth(nth);
                let run = same.zip(other).map_or(0.0, |((p, _), (edge, _))| (edge.point(*p) - at).dot(along));
                NotchAt { place: *place, run }
            })
            .collect();
        let cut = Cut {
            limb: options.limb,
            keel: options.keel_notch,
            ribband: options.ribband_notch,
            ribbands: &notches,
            above_sheer: options.above_sheer,
            top: options.past_spall.map_or(f64::NEG_INFINITY, |past| spall + past),
        };
        make(&cut)
    }

    /// How far the planking stands out at the far face of the mould from where it is on the station line.
    fn rise(&self, place: Place, over: f64) -> f64 {
        -self.lies.sign() * bevel(self.edge.normal(place)).tan() * over
    }

    fn remark_on_bevels(&self, options: &MouldOptions, remarks: &mut Vec<String>) {
        let lowest = self
            .edge
            .places(24)
            .into_iter()
            .min_by(|a, b| self.rise(*a, options.thickness).total_cmp(&self.rise(*b, options.thickness)));
        if let Some(place) = lowest {
            let proud = -self.rise(place, options.thickness);
            if proud > PROUD_M {
                let z = self.edge.point(place).y;
                remarks.push(format!(
                    "the bevel is shut near {z:.3} m up: a square edge stands {:.1} mm proud there",
                    proud * 1e3
                ));
            }
        }
    }
}
