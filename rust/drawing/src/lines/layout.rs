//! Where the views of a lines drawing stand on the sheet.

use kurbo::{Affine, Rect, Size, Vec2};

use super::gathered::Lines;
use super::scale::{Setting, setting};
use super::sheet::{MARGIN, OFF_END, RUN_ON, SMALL, STATION, VIEW, row_step};
use super::{LinesError, LinesOptions};
use crate::space::text_width;

/// Between views, mm.
const BETWEEN: f64 = 3.0;

/// So many labels of lines that lie close stand one outside the other, at most.
pub(super) const STAGGERED: usize = 2;

/// Where the views stand on the sheet.
pub(super) struct Layout {
    pub(super) setting: Setting,
    /// Sheer plan: paper of (x, z).
    pub(super) sheer: Affine,
    /// Half-breadth plan: paper of (x, y).
    pub(super) plan: Affine,
    /// Diagonals: paper of (x, distance out).
    pub(super) diagonals: Affine,
    /// Body plan: paper of (y, z). `None` where the length is foreshortened.
    pub(super) body: Option<Affine>,
    /// Title block.
    pub(super) title: Rect,
    /// From the left edge of a view's room to her fore end, mm.
    pub(super) gutter: f64,
}

/// The rooms of the views at a scale, labels and all, mm.
struct Rooms {
    /// Left of her fore end and right of her after end.
    gutter: f64,
    /// Width of sheer plan and half-breadth plan.
    long: f64,
    /// Above and below what is drawn, and the whole height.
    sheer: (f64, f64, f64),
    plan: (f64, f64, f64),
    /// With its width.
    body: (f64, f64, f64),
    body_width: f64,
    title: Size,
}

/// How the views are put together.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Arrangement {
    /// The body plan beside the sheer plan, the title block below it.
    Beside,
    /// The body plan beside the sheer plan, the title block below all.
    BesideOverTitle,
    /// The body plan below the diagonals, beside the title block.
    Below,
    /// No body plan; sheer plan and half-breadth plan side by side, the title block right of them.
    Row,
    /// The same with the title block below them.
    RowOverTitle,
}

use Arrangement::{Below, Beside, BesideOverTitle, Row, RowOverTitle};

impl Rooms {
    fn at(lines: &Lines, title: Size, k: f64, foreshortened: f64) -> Rooms {
        let along = k / foreshortened;
        let widest = |texts: &[String]| texts.iter().map(|t| text_width(t, SMALL)).fold(0.0, f64::max);
        let labels = |at: &[f64]| at.iter().map(|m| lines.label(*m)).collect::<Vec<_>>();
        let heights: Vec<f64> = [0.0].into_iter().chain(lines.waterlines.iter().map(|w| w.0)).collect();
        let halves: Vec<f64> = [0.0].into_iter().chain(lines.buttocks.iter().map(|b| b.0)).collect();
        // Labels at the ends of level lines stand one outside the other where lines are close; so do those at the ends of
        // upright ones where labels are long.
        let level = |at: &[f64]| {
            let wide = widest(&labels(at)).max(text_width("centre", SMALL));
            let many = staggered(at, k, row_step(SMALL));
            let lwl =
                if at.iter().any(|z| lines.is_load_waterline(*z)) { text_width("LWL ", SMALL) } else { 0.0 };
            RUN_ON + OFF_END + many as f64 * (wide + 1.0) + lwl
        };
        let upright = |at: &[f64], k: f64, texts: &[String], height: f64| {
            let wide = texts.iter().map(|t| text_width(t, height)).fold(0.0, f64::max);
            RUN_ON + OFF_END + staggered(at, k, wide + 1.0) as f64 * row_step(height)
        };
        let stations: Vec<f64> = lines.stations.iter().map(|s| s.1).collect();
        let names: Vec<String> = lines.stations.iter().map(|s| s.0.clone()).collect();
        let name_rows = upright(&stations, along, &names, STATION);
        let distances = upright(&stations, along, &labels(&stations), SMALL);
        let gutter = level(&heights).max(level(&halves));
        let named = |name: &str| {
            // The view's name stands beside the stations' names where the first of them leaves it room.
            let first = stations.iter().copied().fold(f64::INFINITY, f64::min);
            let room = gutter + (first - lines.fore) * along - STATION;
            if text_width(name, VIEW) < room { 0.0 } else { row_step(VIEW) }
        };
        let (depth, out) = (lines.depth() * k, lines.out * k);
        let sheer = (name_rows + named("SHEER PLAN"), distances);
        let under = name_rows + if lines.diagonals.is_empty() { 0.0 } else { named("DIAGONALS") };
        let plan = (name_rows + named("HALF-BREADTH PLAN"), under);
        let both: Vec<f64> = halves.iter().flat_map(|y| [-y, *y]).collect();
        let verticals = upright(&both, k, &labels(&halves), SMALL);
        let body = (verticals, verticals + row_step(VIEW));
        Rooms {
            gutter,
            long: (lines.aft - lines.fore) * along + 2.0 * gutter,
            sheer: (sheer.0, sheer.1, sheer.0 + sheer.1 + depth),
            plan: (plan.0, plan.1, plan.0 + plan.1 + lines.half_beam * k + out),
            body: (body.0, body.1, body.0 + body.1 + depth),
            body_width: 2.0 * lines.half_beam * k + 2.0 * level(&heights),
            title,
        }
    }

    /// Above and below sheer plan and body plan where they stand on one base line.
    fn abreast(&self) -> (f64, f64) {
        (self.sheer.0.max(self.body.0), self.sheer.1.max(self.body.1))
    }

    /// What it takes of a sheet, margins and all.
    fn needs(&self, arrangement: Arrangement) -> Size {
        let left = self.sheer.2 + BETWEEN + self.plan.2;
        let depth = self.sheer.2 - self.sheer.0 - self.sheer.1;
        let abreast = self.abreast().0 + depth + self.abreast().1;
        let (width, height) = match arrangement {
            Beside => (
                self.long + BETWEEN + self.body_width.max(self.title.width),
                (self.abreast().0 + depth + self.sheer.1 + BETWEEN + self.plan.2)
                    .max(abreast + BETWEEN + self.title.height),
            ),
            BesideOverTitle => (
                (self.long + BETWEEN + self.body_width).max(self.title.width),
                abreast + 2.0 * BETWEEN + self.plan.2 + self.title.height,
            ),
            Row => (
                2.0 * self.long + 2.0 * BETWEEN + self.title.width,
                self.sheer.2.max(self.plan.2).max(self.title.height),
            ),
            RowOverTitle => (
                (2.0 * self.long + BETWEEN).max(self.title.width),
                self.sheer.2.max(self.plan.2) + BETWEEN + self.title.height,
            ),
            Below => (
                self.long.max(self.body_width + BETWEEN + self.title.width),
                left + BETWEEN + self.body.2.max(self.title.height),
            ),
        };
        Size::new(width + 2.0 * MARGIN, height + 2.0 * MARGIN)
    }
}

/// How many labels of neighbours have to stand one outside the other, where each needs so much room along.
fn staggered(at: &[f64], k: f64, needs: f64) -> usize {
    let mut at = at.to_vec();
    at.sort_by(f64::total_cmp);
    let apart = at.windows(2).map(|w| (w[1] - w[0]) * k).filter(|d| *d > 1e-6).fold(f64::INFINITY, f64::min);
    ((needs / apart).ceil() as usize).clamp(1, STAGGERED)
}

impl Layout {
    /// The arrangement in which she is drawn largest.
    pub(super) fn choose(lines: &Lines, title: Size, options: &LinesOptions) -> Result<Layout, LinesError> {
        let f = options.foreshortened;
        if !(f.is_finite() && f >= 1.0) {
            return Err(LinesError::Foreshortened(f));
        }
        let rooms = |k: f64| {
            let mut rooms = Rooms::at(lines, title, k, f);
            if f > 1.0 {
                // Sections run across: no line of theirs is foreshortened.
                (rooms.body, rooms.body_width) = ((0.0, 0.0, 0.0), 0.0);
            }
            rooms
        };
        let arrangements =
            if f > 1.0 { &[Row, RowOverTitle, Beside][..] } else { &[Beside, BesideOverTitle, Below] };
        let settings = arrangements
            .iter()
            .map(|&a| setting(options, lines.units, |k| rooms(k).needs(a)).map(|s| (s, a)));
        let mut refused = None;
        let mut best: Option<(Setting, Arrangement)> = None;
        for found in settings {
            match found {
                Err(error) => {
                    refused.get_or_insert(error);
                }
                Ok(this) => {
                    let is_better = |than: &(Setting, Arrangement)| {
                        (this.0.scale, this.0.sheet.area()) < (than.0.scale, than.0.sheet.area())
                    };
                    if best.as_ref().is_none_or(is_better) {
                        best = Some(this);
                    }
                }
            }
        }
        let Some((setting, arrangement)) = best else {
            return Err(refused.unwrap_or(LinesError::Scale(options.scale.unwrap_or_default())));
        };
        let k = setting.per_metre();
        Ok(Layout::place(lines, setting, arrangement, &rooms(k), f))
    }

    fn place(lines: &Lines, setting: Setting, arrangement: Arrangement, rooms: &Rooms, f: f64) -> Layout {
        let k = setting.per_metre();
        let sheet = setting.set_out();
        let (w, h) = (sheet.width, sheet.height);
        // What the sheet has to spare goes round and between the views.
        let needs = rooms.needs(arrangement);
        let spare = Vec2::new((w - needs.width).max(0.0), (h - needs.height).max(0.0));
        let is_below = arrangement == Below;
        let is_row = matches!(arrangement, Row | RowOverTitle);
        let x0 = MARGIN + rooms.gutter + spare.x / if is_below { 2.0 } else { 3.0 };
        let gap = spare.y / if matches!(arrangement, Beside | Row) { 3.0 } else { 4.0 };
        let top = h - MARGIN - gap;
        let above = if is_below || is_row { rooms.sheer.0 } else { rooms.abreast().0 };
        let base = top - above - lines.high * k;
        let sheer_foot = base + lines.low * k - rooms.sheer.1;
        let under_sheer = match arrangement {
            BesideOverTitle => base + lines.low * k - rooms.abreast().1,
            _ => sheer_foot,
        };
        let plan_top = if is_row { top } else { under_sheer - BETWEEN - gap };
        let centre = plan_top - rooms.plan.0 - lines.half_beam * k;
        let title = Rect::from_origin_size((w - MARGIN - rooms.title.width, MARGIN), rooms.title);
        let half = rooms.body_width / 2.0;
        let body = if is_below {
            let top = centre - lines.out * k - rooms.plan.1 - BETWEEN - gap;
            let room = title.x0 - BETWEEN - MARGIN - rooms.body_width;
            (MARGIN + half + room.max(0.0) / 2.0, top - rooms.body.0 - lines.high * k)
        } else {
            // In the middle of what is right of the sheer plan.
            let right = x0 - rooms.gutter + rooms.long + BETWEEN;
            (((right + w - MARGIN) / 2.0).min(w - MARGIN - half), base)
        };
        let place = |(x, y): (f64, f64), along: f64, flip: f64| {
            Affine::translate((x, y)) * Affine::scale_non_uniform(along, k * flip)
        };
        let x = x0 - lines.fore * k / f;
        let plan_x = if is_row { x + rooms.long + BETWEEN + spare.x / 3.0 } else { x };
        Layout {
            setting,
            sheer: place((x, base), k / f, 1.0),
            plan: place((plan_x, centre), k / f, 1.0),
            diagonals: place((plan_x, centre), k / f, -1.0),
            body: (f <= 1.0).then(|| place(body, k, 1.0)),
            title,
            gutter: rooms.gutter,
        }
    }
}
