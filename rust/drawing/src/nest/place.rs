//! Where each part of a group goes: the free place that reaches least far, order by order.

use std::collections::HashSet;
use std::sync::Arc;

use jagua_rs::collision_detection::CDEConfig;
use jagua_rs::collision_detection::hazards::filter::NoFilter;
use jagua_rs::entities::{Container, Item, Layout};
use jagua_rs::geometry::fail_fast::SPSurrogateConfig;
use jagua_rs::geometry::geo_enums::RotationRange;
use jagua_rs::geometry::geo_traits::TransformableFrom as _;
use jagua_rs::geometry::primitives::{Rect as Box32, SPolygon};
use jagua_rs::geometry::shape_modification::{ShapeModifyConfig, ShapeModifyMode};
use jagua_rs::geometry::{AllowedOrientations, DTransformation, OriginalShape};
use jagua_rs::io::ext_repr::ExtSPolygon;
use jagua_rs::io::import::import_simple_polygon;
use kurbo::{Affine, Point, Rect, Vec2};

use super::clear::Polygon;
use super::piece::{CHORD_MM, Piece, area, bounds};
use super::{NestOptions, Sheet};

/// Sides of a check square, mm: what a rule measures well; the smaller where the larger has no room.
const CHECKS_MM: [f64; 2] = [100.0, 50.0];

/// Spots tried lie this far apart, mm: finer takes longer and saves less than a part's own edge wastes.
const STEP_MM: f64 = 15.0;

/// Spots along the shorter side of a small sheet, at least.
const LEAST_STEPS: f64 = 40.0;

/// How near a part is pushed to its neighbours beyond the gap, mm.
const PUSHED_MM: f64 = 0.25;

/// What single precision loses on the longest bed, mm; parts are taken for so much wider.
const LOST_MM: f64 = 0.02;

/// Round corners of a widened part are chords there, which fall short by this part of their radius.
const CHORDS_LOSE: f64 = 2e-3;

/// How much of a widened part's area plainer outlines may add, as a part of it: fewer sides to ask of.
const PLAINER: f32 = 2e-3;

/// More parts than this are laid in two orders only.
const MANY: usize = 150;

/// Sheets so many times longer than wide are boards, which are filled from an end.
const BOARD: f64 = 3.0;

/// Parts of one thickness, and the sheets they are got out of, in the order these are used.
#[derive(Clone, Debug)]
pub(super) struct Group {
    pub thickness_mm: f64,
    pub pieces: Vec<Piece>,
    pub sheets: Vec<usize>,
}

/// A sheet of parts.
#[derive(Clone, Debug)]
pub(super) struct Laid {
    /// Which of the sheets it is one of.
    pub sheet: usize,
    pub spots: Vec<Spot>,
    /// The check square.
    pub check: Option<Rect>,
}

/// Where a piece goes: turned about the origin of its drawing, then moved.
#[derive(Clone, Copy, Debug)]
pub(super) struct Spot {
    pub piece: usize,
    pub turned: f64,
    pub moved: Vec2,
}

impl Spot {
    pub fn affine(&self) -> Affine {
        Affine::translate(self.moved) * Affine::rotate(self.turned)
    }
}

/// A part as it is sought a place for: about the middle of its box, so that single precision loses least.
struct Form {
    piece: usize,
    middle: Vec2,
    ring: Vec<Point>,
    item: Arc<Item>,
    angles: Vec<f64>,
}

struct Open {
    sheet: usize,
    room: Rect,
    layout: Layout,
    taken: Vec<Polygon>,
    spots: Vec<Spot>,
    check: Option<Rect>,
    free_mm2: f64,
    /// Pieces that found no place; what is laid later does not make any.
    refused: HashSet<usize>,
}

/// Which way a sheet fills up.
#[derive(Clone, Copy)]
enum Fill {
    Along,
    Across,
}

impl Fill {
    /// A spot by how far it reaches in the direction of filling, and how far in the other.
    fn of(self, p: Vec2) -> (f64, f64) {
        match self {
            Fill::Along => (p.x, p.y),
            Fill::Across => (p.y, p.x),
        }
    }

    fn at(self, first: f64, second: f64) -> Vec2 {
        match self {
            Fill::Along => Vec2::new(first, second),
            Fill::Across => Vec2::new(second, first),
        }
    }
}

/// The sheets of a group, laid the best of the ways tried. `Err`: the names of those that no sheet is left for.
pub(super) fn lay(
    group: &Group,
    sheets: &[Sheet],
    stock: &[Option<usize>],
    options: &NestOptions,
) -> Result<Vec<Laid>, Vec<String>> {
    let forms: Vec<Form> = (group.pieces.iter().enumerate())
        .map(|(i, piece)| Form::new(i, &piece.ring, options.angles(piece), options.gap_mm))
        .collect();
    let copies: Vec<usize> =
        group.pieces.iter().enumerate().flat_map(|(i, p)| std::iter::repeat_n(i, p.part.count)).collect();
    let keys: [fn(&Form) -> f64; 3] = [
        |form| area(&form.ring),
        |form| bounds(form.ring.iter().copied()).size().max_side(),
        |form| bounds(form.ring.iter().copied()).size().min_side(),
    ];
    let keys = if copies.len() > MANY { &keys[..1] } else { &keys[..] };
    let is_board = |sheet: &Sheet| sheet.length_mm > BOARD * sheet.width_mm;
    let ways: &[Fill] = if group.sheets.iter().any(|i| is_board(&sheets[*i])) {
        &[Fill::Along]
    } else {
        &[Fill::Along, Fill::Across]
    };
    let mut best: Option<((f64, f64), Vec<Laid>)> = None;
    let mut left = Vec::new();
    for key in keys {
        let mut order = copies.clone();
        order.sort_by(|a, b| key(&forms[*b]).total_cmp(&key(&forms[*a])));
        for fill in ways {
            match one_way(&order, &forms, group, sheets, stock, options, *fill) {
                Ok(open) => {
                    let cost = cost(&open, sheets);
                    if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                        let laid = |o: Open| Laid { sheet: o.sheet, spots: o.spots, check: o.check };
                        best = Some((cost, open.into_iter().map(laid).collect()));
                    }
                }
                Err(without) => {
                    if left.is_empty() || without.len() < left.len() {
                        left = without;
                    }
                }
            }
        }
    }
    best.map(|(_, laid)| laid)
        .ok_or_else(|| left.iter().map(|i| group.pieces[*i].part.name.clone()).collect())
}

/// What a way costs: the sheets it begins, and then how far into the emptiest of them it reaches.
fn cost(open: &[Open], sheets: &[Sheet]) -> (f64, f64) {
    let begun = open.iter().map(|o| sheets[o.sheet].length_mm * sheets[o.sheet].width_mm).sum();
    let reach = open
        .iter()
        .map(|o| o.taken.iter().map(|p| p.bounds().x1).fold(0.0, f64::max))
        .fold(f64::MAX, f64::min);
    (begun, reach)
}

fn one_way(
    order: &[usize],
    forms: &[Form],
    group: &Group,
    sheets: &[Sheet],
    stock: &[Option<usize>],
    options: &NestOptions,
    fill: Fill,
) -> Result<Vec<Open>, Vec<usize>> {
    let mut stock = stock.to_vec();
    let mut open: Vec<Open> = Vec::new();
    let mut without = Vec::new();
    for &i in order {
        let form = &forms[i];
        let needs = area(&form.ring);
        let found = open.iter_mut().any(|one| {
            one.free_mm2 >= needs && !one.refused.contains(&i) && {
                let placed = one.place(form, fill, options.gap_mm);
                if !placed {
                    one.refused.insert(i);
                }
                placed
            }
        });
        if found {
            continue;
        }
        let mut placed = false;
        'stock: for &sheet in &group.sheets {
            if stock[sheet] == Some(0) {
                continue;
            }
            // With room for a check square kept, or without it where the part takes it.
            for check in [true, false] {
                let Some(mut one) = Open::new(sheet, &sheets[sheet], options, check) else { continue };
                if one.place(form, fill, options.gap_mm) {
                    if let Some(left) = &mut stock[sheet] {
                        *left -= 1;
                    }
                    open.push(one);
                    placed = true;
                    break 'stock;
                }
            }
        }
        if !placed {
            without.push(i);
        }
    }
    if !without.is_empty() {
        return Err(without);
    }
    for one in &mut open {
        one.check_where_there_is_room(options.gap_mm);
    }
    Ok(open)
}

impl Open {
    /// An empty sheet; `None` where it has no room at all, or none for the check square that is asked for.
    fn new(sheet: usize, of: &Sheet, options: &NestOptions, check: bool) -> Option<Self> {
        let margin = options.margin_mm;
        let room = Rect::new(margin, margin, of.length_mm - margin, of.width_mm - margin);
        if room.width() <= 0.0 || room.height() <= 0.0 {
            return None;
        }
        // Where parts may lie is minded in double precision; the container only closes the sheet.
        let around = room.inflate(1.0 + options.gap_mm, 1.0 + options.gap_mm);
        let around =
            Box32::try_new(around.x0 as f32, around.y0 as f32, around.x1 as f32, around.y1 as f32).ok()?;
        let outer = OriginalShape {
            shape: SPolygon::from(around),
            pre_transform: DTransformation::empty(),
            modify_mode: ShapeModifyMode::Deflate,
            modify_config: ShapeModifyConfig::default(),
        };
        let container = Container::new(outer, Vec::new(), engine(of.length_mm.max(of.width_mm))).ok()?;
        let mut one = Self {
            sheet,
            room,
            layout: Layout::new(container),
            taken: Vec::new(),
            spots: Vec::new(),
            check: None,
            free_mm2: room.area(),
            refused: HashSet::new(),
        };
        if check {
            let side = CHECKS_MM.into_iter().find(|side| 4.0 * side <= room.width().min(room.height()))?;
            let at = Rect::new(room.x1 - side, room.y1 - side, room.x1, room.y1);
            one.take_check(&square(side, options.gap_mm), at);
        }
        Some(one)
    }

    fn take_check(&mut self, form: &Form, at: Rect) {
        self.take(form, 0.0, at.center().to_vec2());
        self.check = Some(at);
    }

    /// A check square in whatever room the parts have left.
    fn check_where_there_is_room(&mut self, gap: f64) {
        for side in CHECKS_MM {
            if self.check.is_none() {
                let form = square(side, gap);
                if let Some((turned, moved)) = self.find(&form, Fill::Along, gap) {
                    let half = Vec2::new(side, side) * 0.5;
                    debug_assert!(turned == 0.0, "a square is sought as it stands");
                    self.take_check(
                        &form,
                        Rect::from_points((moved - half).to_point(), (moved + half).to_point()),
                    );
                }
            }
        }
    }

    /// Lays a part, if there is a place for it.
    fn place(&mut self, form: &Form, fill: Fill, gap: f64) -> bool {
        let Some((turned, moved)) = self.find(form, fill, gap) else { return false };
        self.take(form, turned, moved);
        let about = Affine::rotate(turned) * form.middle.to_point();
        self.spots.push(Spot { piece: form.piece, turned, moved: moved - about.to_vec2() });
        true
    }

    fn take(&mut self, form: &Form, turned: f64, moved: Vec2) {
        self.layout.place_item(&form.item, in_single(turned, moved));
        self.taken.push(form.at(turned, moved));
        self.free_mm2 -= area(&form.ring);
    }

    /// The free place that reaches least far: how the part is turned about its middle, and where that goes.
    fn find(&self, form: &Form, fill: Fill, gap: f64) -> Option<(f64, Vec2)> {
        let mut best: Option<((f64, f64), f64, Vec2)> = None;
        let mut moving = form.item.shape_cd().as_ref().clone();
        let lying = |angle: f64| bounds(form.ring.iter().map(|p| Affine::rotate(angle) * *p));
        let mut angles: Vec<(f64, Rect)> = form.angles.iter().map(|angle| (*angle, lying(*angle))).collect();
        // Those that reach least far by themselves first: what they find ends the others' search early.
        let reach = |own: &Rect| fill.of(Vec2::new(own.width(), own.height())).0;
        angles.sort_by(|a, b| reach(&a.1).total_cmp(&reach(&b.1)));
        for (angle, own) in angles {
            let low = Vec2::new(self.room.x0 - own.x0, self.room.y0 - own.y0);
            let high = Vec2::new(self.room.x1 - own.x1, self.room.y1 - own.y1);
            // What fits to a hair fits.
            if high.x < low.x - HAIR_MM || high.y < low.y - HAIR_MM {
                continue;
            }
            let high = Vec2::new(high.x.max(low.x), high.y.max(low.y));
            let far = fill.of(Vec2::new(own.x1, own.y1));
            let mut is_free = |at: Vec2| {
                let transform = in_single(angle, at).compose();
                let cde = self.layout.cde();
                let shape = form.item.shape_cd();
                !cde.detect_surrogate_collision(shape.surrogate(), &transform, &NoFilter) && {
                    moving.transform_from(shape, &transform);
                    !cde.detect_poly_collision(&moving, &NoFilter)
                }
            };
            let step = STEP_MM.min(self.room.width().min(self.room.height()) / LEAST_STEPS);
            let spots = |from: f64, to: f64| {
                let many = ((to - from) / step).ceil().max(1.0);
                (0..=many as usize).map(move |i| from + (to - from) * i as f64 / many)
            };
            let (low_of, high_of) = (fill.of(low), fill.of(high));
            'places: for first in spots(low_of.0, high_of.0) {
                if best.is_some_and(|((reach, _), ..)| first + far.0 > reach + step) {
                    break;
                }
                for second in spots(low_of.1, high_of.1) {
                    let at = fill.at(first, second);
                    if !is_free(at) {
                        continue;
                    }
                    let at = pushed(at, low, fill, &mut is_free);
                    let (a, b) = fill.of(at);
                    let reach = (a + far.0, b + far.1);
                    // What lies beyond the first free place reaches farther still.
                    if best.is_some_and(|(least, ..)| reach >= least) {
                        break 'places;
                    }
                    if self.is_clear(form, angle, at, gap) {
                        best = Some((reach, angle, at));
                        break 'places;
                    }
                }
            }
        }
        best.map(|(_, angle, at)| (angle, at))
    }

    /// Whether a part is far enough from all that is laid, in double precision.
    fn is_clear(&self, form: &Form, turned: f64, moved: Vec2, gap: f64) -> bool {
        let one = form.at(turned, moved);
        self.taken.iter().all(|other| one.is_clear_of(other, gap + 2.0 * CHORD_MM))
    }
}

/// What fits to this, mm, fits.
const HAIR_MM: f64 = 1e-6;

/// A part pushed back against what is there, by ever smaller steps, to and fro until it rests.
fn pushed(mut at: Vec2, low: Vec2, fill: Fill, is_free: &mut impl FnMut(Vec2) -> bool) -> Vec2 {
    let back = [fill.at(1.0, 0.0), fill.at(0.0, 1.0)];
    for _ in 0..3 {
        let before = at;
        for way in back {
            let mut step = STEP_MM;
            while step > PUSHED_MM {
                let room = (at - low).dot(way);
                let next = at - way * step.min(room);
                if room > 0.0 && is_free(next) {
                    at = next;
                } else {
                    step *= 0.5;
                }
            }
        }
        if (at - before).hypot() < PUSHED_MM {
            break;
        }
    }
    at
}

fn in_single(turned: f64, moved: Vec2) -> DTransformation {
    DTransformation::new(turned as f32, (moved.x as f32, moved.y as f32))
}

/// Squares of a sheet are halved until they are about so large, mm: a limb of a mould is in few of them.
const SQUARE_MM: f64 = 40.0;

fn engine(longest_mm: f64) -> CDEConfig {
    let halvings = (longest_mm / SQUARE_MM).log2().ceil().clamp(3.0, 11.0);
    CDEConfig { quadtree_depth: halvings as u8, cd_threshold: 16, item_surrogate_config: surrogates() }
}

/// How many circles inside a part are asked of first: a thin limb needs many to be nearly all told.
fn surrogates() -> SPSurrogateConfig {
    SPSurrogateConfig {
        n_pole_limits: [(64, 0.0), (24, 0.8), (12, 0.9)],
        ff_pole_area_ratio: 0.75,
        n_ff_piers: 0,
    }
}

fn square(side: f64, gap: f64) -> Form {
    let half = 0.5 * side;
    let corners = [(-half, -half), (half, -half), (half, half), (-half, half)];
    Form::new(usize::MAX, &corners.map(Point::from), vec![0.0], gap)
}

impl Form {
    fn new(piece: usize, ring: &[Point], angles: Vec<f64>, gap: f64) -> Self {
        let middle = bounds(ring.iter().copied()).center().to_vec2();
        let ring: Vec<Point> = ring.iter().map(|p| *p - middle).collect();
        let wider = 0.5 * gap * (1.0 + CHORDS_LOSE) + CHORD_MM + LOST_MM;
        // What is no polygon in single precision is taken for its box.
        let item = item(&ring, wider).or_else(|| item(&corners(bounds(ring.iter().copied())), wider));
        let item = item.unwrap_or_else(|| unreachable!("a box of some area is a polygon"));
        Self { piece, middle, ring, item, angles }
    }

    fn at(&self, turned: f64, moved: Vec2) -> Polygon {
        let affine = Affine::translate(moved) * Affine::rotate(turned);
        Polygon::new(self.ring.iter().map(|p| affine * *p).collect())
    }
}

fn corners(r: Rect) -> [Point; 4] {
    [(r.x0, r.y0), (r.x1, r.y0), (r.x1, r.y1), (r.x0, r.y1)].map(Point::from)
}

/// A part widened by so much all round, mm.
fn item(ring: &[Point], wider: f64) -> Option<Arc<Item>> {
    let shape =
        import_simple_polygon(&ExtSPolygon(ring.iter().map(|p| (p.x as f32, p.y as f32)).collect())).ok()?;
    let original = OriginalShape {
        shape,
        pre_transform: DTransformation::empty(),
        modify_mode: ShapeModifyMode::Inflate,
        modify_config: ShapeModifyConfig {
            simplify_tolerance: Some(PLAINER),
            offset: Some(wider as f32),
            narrow_concavity_cutoff: None,
        },
    };
    let turning = AllowedOrientations::new(RotationRange::Continuous, Vec::new()).ok()?;
    Item::new(0, 0, original, turning, None, surrogates()).ok().map(Arc::new)
}
