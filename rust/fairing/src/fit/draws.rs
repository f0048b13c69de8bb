//! Hulls that the readings leave possible, drawn from the posterior whose mean is the faired hull.
//!
//! A hull drawn before any reading is set right by the fit of what it is off the readings, so that it keeps
//! their noise (Matheron's rule; Journel and Huijbregts, Mining Geostatistics, 1978, chapter VII). Mean functions
//! of any size are left to the fit: drawn from so broad a prior they would only cost figures. Parameters are
//! drawn first, from the normal about the likeliest; those of the backbone, whose readings are few, from how likely each is.

use std::num::NonZero;
use std::panic::resume_unwind;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use crate::again::Kept;
use crate::carry::{bulge, patch_breaks, points};
use crate::certainty::Certainty;
use crate::evidence::Out;
use crate::field::Field;
use crate::fit::{Fit, breaks, even_breaks, line_breaks, spline, worth};
use crate::gp::Unsure;
use crate::joint::{Functional, Joint, theta};
use crate::keel::{Keel, Line};
use crate::lines::LinePrior;
use crate::random::Random;
use crate::rounding::Rounding;
use crate::ways::Ways;
use crate::{BSpline, Faired, FairingError, Patch, Residual, Surface};
use scrieve_surface::bspline::greville;

/// What is drawn and no hull is drawn again, so many times: readings this loose make no hull.
const TRIALS: usize = 20;
/// No way near an end moves w by more: where sections shrink to nothing, little is much of them.
const FARTHEST_W: f64 = 0.05;

/// What draws share.
pub(crate) struct Draws<'a> {
    joint: &'a Joint,
    /// How she may run near the ends.
    ways: &'a Ways,
    /// Of the places of the transom's foot and head, m: as good as the best reading of a line on it.
    transom_sd: f64,
    /// Where fairing ended.
    fit: Fit<'a>,
    out: &'a Out,
    /// Breaks of each strake's field, along and across.
    breaks: Vec<[Vec<f64>; 2]>,
    /// Spans of each patch.
    spans: &'a [(usize, usize)],
    rounding: Rounding,
    unsure_field: Unsure,
    unsure_lines: Vec<Unsure>,
}

/// Threads that help one piece of work. All work of the process shares one allowance, so that many at once do not come
/// to many times as many threads as there are processors.
struct Helpers {
    count: usize,
}

/// Helpers at work.
static AT_WORK: AtomicUsize = AtomicUsize::new(0);

impl Helpers {
    /// As many as are free, `most` at most; one processor is the asker's own.
    fn take(most: usize) -> Helpers {
        let all = thread::available_parallelism().map_or(1, NonZero::get) - 1;
        let mut count = 0;
        let free = |at_work: usize| {
            count = most.min(all.saturating_sub(at_work));
            Some(at_work + count)
        };
        // Never refused: none is taken where none is free.
        let _ = AT_WORK.fetch_update(Ordering::AcqRel, Ordering::Acquire, free);
        Helpers { count }
    }
}

impl Drop for Helpers {
    fn drop(&mut self) {
        AT_WORK.fetch_sub(self.count, Ordering::AcqRel);
    }
}

impl<'a> Draws<'a> {
    pub fn new(
        certainty: &'a Certainty,
        kept: &'a Kept,
        residuals: &[Residual],
    ) -> Result<Self, FairingError> {
        let (joint, rows) = (&certainty.joint, &certainty.rows);
        let mut fit = Fit::begin(&kept.survey, &kept.options, &kept.doubts.out)?;
        fit.premise = kept.doubts.premise;
        fit.resume(kept)?;
        let rounding = Rounding::new(&fit, &fit.rows(&kept.doubts.out).1, residuals);
        let on_transom = kept.survey.lines.iter().filter(|l| l.on_transom);
        let length = fit.frame.length();
        let best = on_transom.map(|l| worth(l.sd, l.mark, length)).min_by(f64::total_cmp);
        Ok(Draws {
            joint,
            ways: &certainty.ways,
            transom_sd: best.unwrap_or_default(),
            fit,
            rounding,
            out: &kept.doubts.out,
            spans: &kept.spans,
            breaks: kept.spans.iter().map(|s| [breaks(s.0), even_breaks(s.1)]).collect(),
            unsure_field: joint.unsure_field(rows),
            unsure_lines: (0..joint.priors.len()).map(|l| joint.unsure_line(rows, l)).collect(),
        })
    }

    /// Draws side by side, on as many threads as no other work of this process is using.
    pub fn many(&self, count: usize, seed: u64) -> Result<Vec<Faired>, FairingError> {
        let helpers = Helpers::take(count.max(1) - 1);
        let threads = 1 + helpers.count;
        let drawn = |i: usize| {
            let mut random = Random::stream(seed, i as u64);
            (0..TRIALS).find_map(|_| self.one(&mut random))
        };
        let of_thread = |k: usize| (k..count).step_by(threads).map(drawn).collect::<Vec<_>>();
        let drawn: Vec<Vec<Option<Surface>>> = thread::scope(|scope| {
            let others: Vec<_> = (1..threads).map(|k| scope.spawn(move || of_thread(k))).collect();
            let mut all = vec![of_thread(0)];
            all.extend(
                others.into_iter().map(|other| other.join().unwrap_or_else(|panic| resume_unwind(panic))),
            );
            all
        });
        (0..count)
            .map(|i| drawn[i % threads].get(i / threads).cloned().flatten().map(Faired::of_surface))
            .collect::<Option<Vec<_>>>()
            .ok_or_else(|| {
                FairingError::Contradiction(
                    "hulls they leave possible have the sheer under the rabbet".to_string(),
                )
            })
    }

    /// `None` where what was drawn is no hull: a sheer under the rabbet, or inside it.
    fn one(&self, random: &mut Random) -> Option<Surface> {
        let joint = self.joint;
        let keel = self.fit.keel.as_deref()?;
        let keel = Arc::new(Keel { backbone: keel.backbone.with_drawn_priors(random), ..keel.clone() });
        let mut off = |unsure: &Unsure, of: &[f64]| {
            let deviations: Vec<f64> = of.iter().map(|_| random.normal()).collect();
            unsure.off(of, &deviations)
        };
        let parameters = theta(&off(&self.unsure_field, &joint.theta));
        let priors: Vec<Line> = (self.fit.priors.iter().zip(&self.unsure_lines))
            .map(|(line, unsure)| match line {
                Line::Own(prior) => Line::Own(LinePrior::from_theta(&off(unsure, &prior.theta()))),
                Line::Keel(_) => Line::Keel(keel.clone()),
            })
            .collect();

        let mut fit = self.fit.clone();
        fit.keel = Some(keel.clone());
        if let Some((plane, _)) = &mut fit.frame.transom {
            plane.foot.0 += self.transom_sd * random.normal();
            plane.head.0 += self.transom_sd * random.normal();
        }
        fit.settle_frame();
        fit.place_again();

        let field = Field::new(&parameters);
        let unknowns = keel.backbone.draw(random);
        let lines = (priors.iter())
            .map(|p| p.own().map(|p| p.draw(&line_breaks(), random)))
            .map(|drawn| drawn.map_or(Some(None), |drawn| drawn.map(Some)))
            .collect::<Option<Vec<Option<BSpline>>>>()?;
        let sheets =
            (self.breaks.iter()).map(|[t, v]| field.draw([t, v], random)).collect::<Option<Vec<_>>>()?;
        let line = |l: usize, t: f64| match &lines[l] {
            Some(own) => own.value(t),
            None => keel.drawn(t, &unknowns),
        };
        let before = |of: &Functional| -> f64 {
            let lines: f64 = of.lines.iter().map(|&(l, c)| c * line(l, of.t)).sum();
            lines
                + of.post.map_or(0.0, |(t, c)| c * line(0, t))
                + of.field.map_or(0.0, |(strake, v, c)| c * sheets[strake].value(of.t, v))
        };
        let noise = self.rounding.draw(random);
        let solve = |fit: &Fit<'_>| {
            let mut rows = fit.rows(self.out).0;
            for (row, noise) in rows.iter_mut().zip(&noise) {
                row.value -= before(&row.of) + row.sd * noise;
            }
            Joint::new(&rows, &priors, parameters, false)
        };
        // Readings near an end are placed by where that end is, and hold the planking there whatever it does.
        let backbone = |right: &Joint| {
            let all: Vec<f64> = right.unknowns().iter().zip(&unknowns).map(|(a, b)| a + b).collect();
            keel.backbone.with(&all)
        };
        let placed = backbone(&solve(&fit)?);
        let mut moved = fit.clone();
        let ends = keel.parted(&placed);
        moved.take_parted(placed, ends);
        moved.settle_frame();
        moved.place_spots();
        fit.placed = moved.placed;
        let right = solve(&fit)?;
        let last = backbone(&right);
        let ends = keel.parted(&last);
        fit.take_parted(last, ends);

        let frame = &mut fit.frame;
        let length = frame.length();
        for (l, before) in lines.iter().enumerate() {
            let Some(before) = before else { continue };
            frame.lines[l] = spline(|t| length * (before.value(t) + right.line(l, t)));
        }
        fit.settle_frame();
        fit.sections().ok()?;
        fit.frame.post = fit.after_edge();
        let frame = &fit.frame;
        let ways = self.ways.draw(random);
        let patches = self.spans.iter().enumerate().map(|(strake, &spans)| {
            let [u, v] = patch_breaks(frame, strake, spans);
            let (us, vs) = (greville(5, &u), greville(5, &v));
            let bulge = bulge(frame, strake, &us, &vs, |ts, vs| {
                let mut bulge = right.bulge(strake, ts, vs);
                if joint.is_straight(strake) {
                    return bulge;
                }
                bulge.iter_mut().zip(sheets[strake].grid(ts, vs)).for_each(|(b, w)| *b += w);
                let places = ts.iter().flat_map(|&t| vs.iter().map(move |&v| (t, v)));
                for (w, (t, v)) in bulge.iter_mut().zip(places) {
                    let outside = ways.outside(strake, t, v);
                    if outside != 0.0 {
                        // As far along w as that is square to the section.
                        let chord = frame.chord(strake, t);
                        let (along, (aside, _)) =
                            (chord.tangent(v, *w, joint.slope(strake, t, v)), chord.aside(v));
                        let square = (aside.0 * along.1 - aside.1 * along.0) / along.0.hypot(along.1);
                        if square > 0.0 {
                            *w += (outside / square).clamp(-FARTHEST_W, FARTHEST_W);
                        }
                    }
                }
                bulge
            });
            Patch::through(&u, &v, &points(frame, strake, &us, &vs, &bulge))
        });
        Some(Surface { patches: patches.collect() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_work_of_a_process_shares_one_allowance_of_threads() {
        let processors = thread::available_parallelism().map_or(1, NonZero::get);
        let taken: Vec<Helpers> = (0..3).map(|_| Helpers::take(usize::MAX >> 1)).collect();
        let count = |taken: &[Helpers]| taken.iter().map(|helpers| helpers.count).sum::<usize>();
        assert!(count(&taken) < processors, "{} helpers of {processors} processors", count(&taken));
        drop(taken);
        // Given back: as many are to be had again, once what else runs in this process has given back its own.
        let again = (0..600).any(|_| {
            thread::sleep(std::time::Duration::from_millis(100));
            Helpers::take(processors).count == processors - 1
        });
        assert!(again, "helpers that were given back are free");
    }
}
