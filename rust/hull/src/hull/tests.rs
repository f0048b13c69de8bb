//! The hull against closed forms.

use std::f64::consts::{FRAC_PI_2, PI};

use super::*;
use crate::forms::{self, parabolic_half_breadth};
use scrieve_surface::vector::{distance, norm, sub};

/// Every sample and the middle of every cubic of `curve` satisfies `off(p) < 1e-6`.
fn lies_on(curve: &Curve, off: impl Fn(V3) -> f64) {
    for p in curve.points(301) {
        assert!(off(p) < 1e-6, "{p:?} is off by {}", off(p));
    }
    for sample in curve.samples() {
        assert!(off(sample.p) < 1e-9, "{sample:?} is off by {}", off(sample.p));
        assert!(
            (norm(sample.tangent) - 1.0).abs() < 1e-12 && dot(sample.tangent, sample.normal).abs() < 1e-9
        );
    }
}

fn one(curves: Vec<Curve>) -> Curve {
    assert_eq!(curves.len(), 1);
    curves.into_iter().next().expect("one curve")
}

#[test]
fn a_section_of_a_cylinder_is_a_quarter_circle() {
    let section = forms::cylinder().section(1.234).expect("a section");
    lies_on(&section, |p| (p[1].hypot(1.0 - p[2]) - 1.0).abs().max((p[0] - 1.234).abs()));
    assert!((section.length() - FRAC_PI_2).abs() < 1e-7 * FRAC_PI_2, "{}", section.length());
    assert!(section.samples().all(|s| (s.curvature - 1.0).abs() < 1e-6));
    let [start, end] = [section.start(), section.end()].map(|s| s.expect("an end").p);
    assert!(distance(start, [1.234, 0.0, 0.0]) < 1e-9 && distance(end, [1.234, 1.0, 1.0]) < 1e-9);
}

#[test]
fn sections_at_the_very_ends_are_there() {
    for hull in [forms::cylinder(), forms::parabolic(), forms::chined()] {
        let (from, to) = hull.extent([1.0, 0.0, 0.0]);
        for x in [from, to] {
            assert!(hull.section(x).expect("an end section").length() > 0.4);
        }
    }
}

#[test]
fn a_waterline_of_a_cone_is_a_hyperbola() {
    let hull = forms::cone();
    let waterline = one(hull.waterline(-0.5).expect("a waterline"));
    lies_on(&waterline, |p| (p[0] - 4.0 * p[1].hypot(p[2])).abs());
    // It comes in through the rabbet at x = 2 and goes out at the after end.
    assert!((waterline.start().expect("a start").p[0] - 2.0).abs() < 1e-6);
    assert!((waterline.end().expect("an end").p[0] - 5.0).abs() < 1e-9);
}

#[test]
fn a_diagonal_through_the_axis_of_a_cone_is_straight() {
    let diagonal = one(forms::cone().diagonal(0.0, PI / 6.0).expect("a diagonal"));
    let out = |p: V3| Plane::diagonal(0.0, PI / 6.0).drawn(p);
    lies_on(&diagonal, |p| (out(p).y - 0.25 * out(p).x).abs());
    assert!(diagonal.samples().all(|s| s.curvature.abs() < 1e-6));
    assert!((diagonal.length() - 4.0 * (17.0_f64 / 16.0).sqrt()).abs() < 1e-7);
}

#[test]
fn a_buttock_of_a_sphere_is_a_circle_of_its_own_radius() {
    let buttock = one(forms::sphere().buttock(0.3).expect("a buttock"));
    let radius = (4.0_f64 - 0.09).sqrt();
    lies_on(&buttock, |p| (p[0].hypot(p[2]) - radius).abs().max((p[1] - 0.3).abs()));
    assert!(buttock.samples().all(|s| (s.curvature.abs() - 1.0 / radius).abs() < 1e-5));
}

#[test]
fn normals_and_bevels_of_a_cone_are_those_of_its_half_angle() {
    let (hull, half_angle) = (forms::cone(), 0.25_f64.atan());
    for (x, z) in [(1.5, -0.1), (3.0, -0.7), (4.9, -0.01)] {
        let y = hull.half_breadth(x, z).expect("a half-breadth");
        assert!((y.hypot(z) - 0.25 * x).abs() < 1e-9);
        let exact = [-half_angle.sin(), half_angle.cos() * 4.0 * y / x, half_angle.cos() * 4.0 * z / x];
        assert!(distance(hull.normal(x, z).expect("a normal"), exact) < 1e-7);
        assert!((hull.bevel(x, z).expect("a bevel") + half_angle).abs() < 1e-7);
        assert!((hull.height(x, y).expect("a height") - z).abs() < 1e-9);
    }
}

/// Handbook, section 15.
#[test]
fn the_parabolic_hull_reads_back_its_own_formula() {
    for (hull, from, to) in [(forms::parabolic(), 0.0, 6.0), (forms::raked(), 1.2, 4.8)] {
        for i in 1..20 {
            for j in 1..20 {
                let x = from + (to - from) * f64::from(i) / 20.0;
                let z = 0.5 * f64::from(j) / 20.0;
                let y = hull.half_breadth(x, z).expect("a half-breadth");
                assert!((y - parabolic_half_breadth(x, z)).abs() < 1e-8, "{x} {z} {y}");
            }
        }
        let section = hull.section(2.2).expect("a section");
        lies_on(&section, |p| (p[1] - parabolic_half_breadth(2.2, p[2])).abs());
        let waterline = one(hull.waterline(0.3).expect("a waterline"));
        lies_on(&waterline, |p| (p[1] - parabolic_half_breadth(p[0], 0.3)).abs());
    }
}

/// The arc length of z = z0 + k y² from 0 to b, in closed form.
#[test]
fn the_girth_of_a_parabola_is_its_arc_length() {
    let hull = forms::one_patch(4, 6, |u, v| [5.0 * u, 0.9 * v, 0.6 * v * v]);
    let slope: f64 = 2.0 * 0.6 / 0.9;
    let exact = 0.9 / 2.0 * ((1.0 + slope * slope).sqrt() + slope.asinh() / slope);
    assert!((hull.girth(2.0).expect("a girth") - exact).abs() < 1e-7 * exact);
}

#[test]
fn in_a_raked_end_a_section_begins_on_the_stem_line_and_ends_at_the_sheer() {
    let hull = forms::raked();
    let section = hull.section(0.7).expect("a section of the forebody");
    lies_on(&section, |p| (p[1] - parabolic_half_breadth(0.7, p[2])).abs());
    let start = section.start().expect("a start").p;
    // The stem's rabbet is at x = 1.2 - 0.9 v - 0.2 v², z = v/2: it comes to 0.7 at v = 1/2.
    assert!((start[2] - 0.25).abs() < 1e-9, "{start:?}");
    assert!((section.end().expect("an end").p[2] - 0.5).abs() < 1e-9);
    let aft = hull.section(5.0).expect("a section through the transom's edge");
    assert!((aft.start().expect("a start").p[2] - 0.25).abs() < 1e-9);
}

#[test]
fn a_plane_along_the_raked_transom_follows_its_edge() {
    let hull = forms::raked();
    let lean = 1.0 / 1.64_f64.sqrt();
    let rake = Plane { origin: [4.8, 0.0, 0.0], right: [0.0, 1.0, 0.0], up: [0.8 * lean, 0.0, lean] };
    let outline = one(hull.cut(&rake).expect("an outline"));
    let [_, edge] = hull.ends(rake);
    assert!((outline.length() - edge.length()).abs() < 1e-7);
    lies_on(&edge, |p| (p[0] - 4.8 - 0.8 * p[2]).abs());
}

#[test]
fn a_section_has_a_corner_at_a_chine_and_runs_from_rabbet_to_sheer() {
    let hull = forms::chined();
    let section = hull.section(2.0).expect("a section");
    assert_eq!(section.pieces.len(), 2);
    let chine = [2.0, 0.5 + 0.4 * 0.4 * 0.6, 0.24];
    assert!(distance(section.pieces[0].last().expect("an end").p, chine) < 1e-9);
    assert_eq!(section.pieces[0].last().expect("an end").p, section.pieces[1][0].p);
    assert!((section.length() - (chine[1].hypot(0.15) + 0.1_f64.hypot(0.5))).abs() < 1e-8);
}

#[test]
fn a_waterline_crosses_from_bottom_to_side_where_the_chine_rises_through_it() {
    let hull = forms::chined();
    let waterline = one(hull.waterline(0.25).expect("a waterline"));
    assert_eq!(waterline.pieces.len(), 2);
    let corner = waterline.pieces[1][0].p;
    assert!(distance(corner, [2.5, 0.6, 0.25]) < 1e-8, "{corner:?}");
}

#[test]
fn a_fair_line_inside_the_surface_is_no_corner() {
    let half = |from: f64| {
        scrieve_surface::Patch::interpolating(&forms::even(4), &forms::even(12), move |u, v| {
            let a = FRAC_PI_2 * (from + 0.5 * v);
            [4.0 * u, a.sin(), 1.0 - a.cos()]
        })
    };
    let hull = Hull::from_surface(Surface { patches: vec![half(0.0), half(0.5)] });
    assert_eq!(hull.section(1.0).expect("a section").pieces.len(), 1);
}

#[test]
fn a_waterline_that_grazes_the_lowest_of_the_sheer_is_found_in_two() {
    // Sheer z = 1 + 0.1 (x - 2.03)², rabbet at z = 0: the waterline runs out over the sheer.
    let hull = forms::one_patch(6, 4, |u, v| {
        let x = 4.0 * u;
        [x, 0.5 + 0.1 * v, v * (1.0 + 0.1 * (x - 2.03).powi(2))]
    });
    let parts = hull.waterline(1.0 + 1e-7).expect("a waterline");
    assert_eq!(parts.len(), 2);
    let gap = parts[1].start().expect("a start").p[0] - parts[0].end().expect("an end").p[0];
    assert!((gap - 2e-3).abs() < 1e-6, "{gap}");
    assert_eq!(hull.waterline(1.0 - 1e-7).expect("a waterline").len(), 1);
}

#[test]
fn a_buttock_just_inside_the_greatest_beam_is_a_small_closed_curve() {
    let hull = forms::one_patch(6, 6, |u, v| {
        let (x, z) = (4.0 * u, v);
        [x, 1.0 - 0.2 * (x - 1.77).powi(2) - 0.3 * (z - 0.513).powi(2), z]
    });
    let ring = one(hull.buttock(1.0 - 1e-5).expect("a buttock"));
    lies_on(&ring, |p| (0.2 * (p[0] - 1.77).powi(2) + 0.3 * (p[2] - 0.513).powi(2) - 1e-5).abs());
    assert!(distance(ring.start().expect("a start").p, ring.end().expect("an end").p) < 1e-12);
}

#[test]
fn with_tumblehome_the_half_breadth_is_the_outermost_and_the_height_the_lowest() {
    // A circle that closes in again above its centre, and hooks: two half-breadths at one height.
    let hull = forms::one_patch(3, 20, |u, v| {
        let a = 1.3 * PI * v;
        [2.0 * u, 0.2 + a.sin(), -a.cos()]
    });
    let y = hull.half_breadth(1.0, 0.8).expect("a half-breadth");
    assert!((y - 0.8).abs() < 1e-6, "{y}");
    let z = hull.height(1.0, 0.8).expect("a height");
    assert!((z + 0.8).abs() < 1e-6, "{z}");
}

#[test]
fn a_flat_bottom_has_a_half_breadth_at_its_own_height() {
    let hull = forms::one_patch(3, 3, |u, v| [2.0 * u, 0.7 * v, 0.1]);
    assert!((hull.half_breadth(1.0, 0.1).expect("a half-breadth") - 0.7).abs() < 1e-9);
}

#[test]
fn what_lies_off_the_hull_is_told_the_range() {
    let hull = forms::parabolic();
    for error in [
        hull.half_breadth(3.0, 0.6).expect_err("above the sheer"),
        hull.section(6.1).expect_err("abaft the stern"),
        hull.height(3.0, 0.9).expect_err("outside"),
    ] {
        let HullError::OffTheHull { from, to, .. } = &error else { unreachable!("{error}") };
        assert!(from < to && error.to_string().contains("off the hull"), "{error}");
    }
    assert!(matches!(hull.waterline(f64::NAN), Err(HullError::Argument(_))));
}

#[test]
fn dimensions_are_taken_over_the_surface() {
    let Dimensions { length, beam, depth } = forms::parabolic().dimensions().expect("dimensions");
    assert!((length - 6.0).abs() < 1e-9 && (beam - 1.6).abs() < 1e-9 && (depth - 0.5).abs() < 1e-9);
}

#[test]
fn reference_lines_carry_the_curvature_of_their_profile() {
    let sheer = forms::one_patch(8, 3, |u, v| [3.0 * u, 0.5 * v, v * (1.0 + 0.05 * (3.0 * u).powi(2))]);
    let lines = sheer.reference_lines();
    assert_eq!(lines.len(), 2);
    for s in lines[1].samples() {
        let exact = 0.1 / (1.0 + (0.1 * s.p[0]).powi(2)).powf(1.5);
        assert!((s.curvature - exact).abs() < 1e-9);
    }
}

#[test]
fn the_drawn_path_keeps_within_the_tolerance_of_the_surface() {
    use kurbo::{ParamCurve, PathSeg};
    for hull in [forms::sphere(), forms::cone(), forms::cylinder()] {
        let section = hull.section(1.1).expect("a section");
        for segment in section.path().segments() {
            for i in 0..=8 {
                let at = PathSeg::eval(&segment, f64::from(i) / 8.0);
                let p = section.plane.in_space(at);
                let y = hull.half_breadth(p[0], p[2]).or_else(|_| hull.half_breadth(p[0], p[2] + 1e-9));
                let z = hull.height(p[0], p[1]).or_else(|_| hull.height(p[0], p[1] - 1e-9));
                let off =
                    y.map_or(f64::MAX, |y| (y - p[1]).abs()).min(z.map_or(f64::MAX, |z| (z - p[2]).abs()));
                assert!(off < 1.5e-6, "{p:?} {off}");
            }
        }
    }
}

#[test]
fn points_are_evenly_spaced_and_exact() {
    let curve = forms::cylinder().section(2.0).expect("a section");
    let points = curve.points(10);
    for (k, p) in points.iter().enumerate() {
        let a = FRAC_PI_2 * k as f64 / 9.0;
        assert!(distance(*p, [2.0, a.sin(), 1.0 - a.cos()]) < 1e-6);
    }
    assert!(points.windows(2).all(|w| (norm(sub(w[1], w[0])) - 2.0 * (PI / 36.0).sin()).abs() < 1e-7));
}

/// A plane crosses the outline of the surface as often as the curves it cuts have ends, and each curve
/// runs forward all its length. A thousand planes, level, upright and skew, by a linear congruence.
#[test]
fn whatever_plane_cuts_the_hull_no_branch_is_lost_and_none_doubles_back() {
    let hull = forms::round_with_bulwark();
    let patches = &hull.surface().patches;
    let along = |t: f64, k: usize, v: f64| patches[k].point(t, v);
    let outline: Vec<V3> = [(0, 0.0), (1, 1.0)]
        .into_iter()
        .flat_map(|(k, v)| (0..3000).map(move |i| (f64::from(i) / 3000.0, k, v)))
        .map(|(t, k, v)| if k == 0 { along(t, k, v) } else { along(1.0 - t, k, v) })
        .collect();
    let up = |u: f64| (0..2).flat_map(move |k| (0..1500).map(move |i| (k, u, f64::from(i) / 1500.0)));
    let side = |u: f64| up(u).map(|(k, u, v)| patches[k].point(u, v)).collect::<Vec<_>>();
    let ring: Vec<V3> = [&outline[..3000], &side(1.0)[..], &outline[3000..]].concat();
    let ring: Vec<V3> = ring.into_iter().chain(side(0.0).into_iter().rev()).collect();
    let mut state = 20_u64;
    let mut random = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1_u64 << 53) as f64
    };
    for k in 0..1000 {
        let (a, b, c) = (random(), random(), random());
        let plane = match k % 4 {
            0 => Plane::at_x(-0.2 + 6.3 * a),
            1 => Plane::at_z(-0.03 + 1.2 * a),
            2 => Plane::diagonal(0.2 + a, 1.2 * b),
            _ => {
                let (turn, tilt) = (2.0 * PI * a, 3.0 * b - 1.5);
                Plane {
                    origin: [6.0 * c, 0.4, 0.4],
                    right: [turn.cos(), turn.sin(), 0.0],
                    up: [-turn.sin() * tilt.sin(), turn.cos() * tilt.sin(), tilt.cos()],
                }
            }
        };
        let curves = hull.cut(&plane).unwrap_or_default();
        let above = |i: usize| plane.height_of(ring[i % ring.len()]) > 0.0;
        let crossed = (0..ring.len()).filter(|&i| above(i) != above(i + 1)).count();
        let open = |c: &&Curve| distance(c.points(2)[0], c.points(2)[1]) > 1e-9;
        assert_eq!(2 * curves.iter().filter(open).count(), crossed, "{plane:?}");
        for (one, next) in curves.iter().flat_map(Curve::segments) {
            assert!(
                dot(sub(next.p, one.p), one.tangent) > 0.3 * distance(one.p, next.p),
                "{plane:?} {one:?}"
            );
            assert!(plane.height_of(one.p).abs() < 1e-9);
        }
    }
}

#[test]
fn known_hulls_read_back_to_a_micrometre() {
    use scrieve_yardstick::known::{Family, Known};
    for (family, seed) in [(Family::RoundBilge, 1), (Family::RakedTransom, 2), (Family::Parabolic, 3)] {
        let known = Known::new(family, seed);
        let hull = forms::known(&known);
        for i in 1..20 {
            let x = known.length() * f64::from(i) / 20.0;
            let section = hull.section(x).expect("a section");
            let exact = known.section(x, 12);
            let length = section.length();
            for &(y, z) in &exact[1..11] {
                let read = hull.half_breadth(x, z).expect("a half-breadth");
                assert!((read - y).abs() < 1e-6, "{family:?} {x} {z} {read} {y}");
                let near = section.nearest([x, y, z]).expect("a nearest point");
                assert!(distance(near.sample.p, [x, y, z]) < 2e-6 && near.along < length);
                let off = distance(hull.normal(x, z).expect("a normal"), known.normal(x, z));
                assert!(off < 1e-5, "{family:?} {x} {z} {off}");
            }
        }
    }
}

#[test]
fn just_below_the_highest_of_a_section_there_is_still_a_half_breadth() {
    // z = 1 - (y - 0.3)² between y = 0 and 0.5, drawn so that its summit falls between samples.
    let hull = forms::one_patch(3, 3, |u, v| {
        let y = 0.5 * v;
        [2.0 * u, y, 1.0 - (y - 0.3171).powi(2)]
    });
    let y = hull.half_breadth(1.0, 1.0 - 1e-8).expect("a half-breadth");
    assert!((y - 0.3171 - 1e-4).abs() < 1e-6, "{y}");
    assert!(hull.half_breadth(1.0, 1.0 + 1e-6).is_err());
}
