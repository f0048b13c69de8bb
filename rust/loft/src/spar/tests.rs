use std::f64::consts::PI;

use super::*;

fn options() -> SparOptions {
    SparOptions {
        length: 6.0,
        depth: 0.1,
        breadth: 0.1,
        taper: vec![(0.0, 0.8), (0.3, 1.0), (1.0, 0.6)],
        taper_breadth: None,
        shape: Shape::Round,
        wall: Vec::new(),
        staves: None,
        solid: Solid::default(),
        straight: Straight::No,
    }
}

fn even(length: f64, size: f64) -> SparOptions {
    SparOptions { length, depth: size, breadth: size, taper: vec![(0.0, 1.0), (1.0, 1.0)], ..options() }
}

fn near(found: f64, expected: f64, within: f64) {
    assert!((found - expected).abs() <= within, "{found} is not {expected} within {within}");
}

#[test]
fn the_taper_passes_its_stated_fractions() {
    let spar = Spar::new(&options()).expect("a spar");
    for (s, part) in [(0.0, 0.8), (0.3, 1.0), (1.0, 0.6)] {
        near(2.0 * spar.half(6.0 * s)[0], 0.1 * part, 1e-12);
    }
}

/// The batten at small slopes is the natural cubic spline; this one's moment at the middle nail is worked by hand from
/// the three-moment equation, 2 (h0 + h1) m = 6 (d1 - d0).
#[test]
fn between_its_nails_the_taper_is_the_natural_spline() {
    let spar = Spar::new(&options()).expect("a spar");
    let (h0, h1) = (1.8, 4.2);
    let (y0, y1, y2) = (0.04, 0.05, 0.03);
    let m = 6.0 * ((y2 - y1) / h1 - (y1 - y0) / h0) / (2.0 * (h0 + h1));
    let at = |s: f64| {
        if s <= h0 {
            y0 + s * ((y1 - y0) / h0 - h0 * m / 6.0) + m * s.powi(3) / (6.0 * h0)
        } else {
            let t = h0 + h1 - s;
            y2 + t * ((y1 - y2) / h1 - h1 * m / 6.0) + m * t.powi(3) / (6.0 * h1)
        }
    };
    for i in 0..=60 {
        let s = 0.1 * f64::from(i);
        near(spar.half(s)[0], at(s), 2e-7);
    }
    // It is greatest a little past its nail: what the blank is got out of is that.
    let (place, size) = spar.greatest()[0];
    assert!(place > 1.8 && place < 3.0 && size > 0.1 && size < 0.104, "{place} {size}");
    near(spar.blank()[0], size, 0.0);
}

/// Handbook, section 14.
#[test]
fn lines_for_more_sides_lie_where_the_handbook_has_them() {
    for (sides, part) in [(8, 0.29289), (16, 0.10765), (32, 0.05021)] {
        near(in_from_edge(sides), part, 5e-6);
    }
}

/// All along the taper the new flat touches the circle: its distance from the middle is the radius.
#[test]
fn every_new_flat_touches_the_circle_all_along() {
    let spar = Spar::new(&options()).expect("a spar");
    for s in spar.places(0.3048).expect("places") {
        let r = spar.half(s)[0];
        for sides in SIDES {
            let flat = spar.flats(sides, s).expect("flats")[0];
            // Two marks either side of one corner, the flats before at right angles to turns of 2π over their number.
            let turn = 4.0 * PI / sides as f64;
            let one = [r, 0.5 * flat.width - flat.in_from_edge];
            let two = [r * turn.cos() + one[1] * turn.sin(), r * turn.sin() - one[1] * turn.cos()];
            let along = [two[0] - one[0], two[1] - one[1]];
            let off = (one[0] * along[1] - one[1] * along[0]).abs() / along[0].hypot(along[1]);
            near(off, r, 1e-12);
            near(along[0].hypot(along[1]), flat.left, 1e-12);
        }
    }
}

/// An oval's new flats touch the ellipse: of a line with normal n the distance is √(a² nx² + b² ny²).
#[test]
fn every_new_flat_touches_the_oval() {
    let oval = SparOptions { breadth: 0.07, shape: Shape::Oval, ..options() };
    let spar = Spar::new(&oval).expect("a spar");
    let s = 2.5;
    let [a, b] = spar.half(s);
    let flats = spar.flats(8, s).expect("flats");
    assert_eq!(flats.len(), 2);
    near(flats[0].width, 2.0 * b, 1e-15);
    near(flats[1].width, 2.0 * a, 1e-15);
    let one = [a, b - flats[0].in_from_edge];
    let two = [a - flats[1].in_from_edge, b];
    let n = [two[1] - one[1], one[0] - two[0]];
    let size = n[0].hypot(n[1]);
    let off = (one[0] * n[0] + one[1] * n[1]) / size;
    near(off, (a * n[0] / size).hypot(b * n[1] / size), 1e-12);
    assert_eq!(spar.flats(16, s).expect("flats").len(), 3);
    assert_eq!(spar.flats(32, s).expect("flats").len(), 5);
    // The diagonal flats of the octagon are what the lines left between them.
    near(spar.flats(16, s).expect("flats")[1].width, size, 1e-12);
}

/// Handbook, section 14: 7 : 10 : 7 marks 0.29167, 5 : 7 : 5 marks 0.29412.
#[test]
fn gauges_of_whole_numbers_mark_what_the_handbook_says() {
    for (parts, marks) in [([7, 10, 7], 0.29167), ([5, 7, 5], 0.29412)] {
        for width in [0.1, 0.06] {
            let gauge = Gauge::of_parts(8, 0.1, 0.0, parts);
            near(gauge.marks(width) / width, marks, 5e-6);
            assert!(gauge.error(width).abs() < 0.005 * width);
        }
    }
}

/// The gauge laid out in the plane: two circles that touch both edges, and the pencil on the line of their middles.
#[test]
fn thick_pegs_bear_off_the_gauges_line() {
    let (span, peg, width) = (0.11, 0.008, 0.06);
    let gauge = Gauge::of_parts(8, span, peg, [7, 10, 7]);
    let tilt = ((width + peg) / (span + peg)).acos();
    let middle = [0.0, 0.5 * width];
    let pencil = (0.5 - 7.0 / 24.0) * span;
    near(gauge.marks(width), middle[1] - pencil * tilt.cos(), 1e-12);
    // Turned for a narrow flat it marks too near the edge; set for both widths its errors are alike.
    assert!(gauge.error(width) < -0.5e-3);
    let fitted = Gauge::fitted(8, span, peg, 0.06, 0.1);
    near(fitted.error(0.06), -fitted.error(0.1), 1e-12);
    assert!(fitted.error(0.06).abs() < 0.5 * gauge.error(width).abs());
}

/// Handbook, section 14: with k = 0.6 stiffness is 0.8704 and weight 0.64 of the solid's.
#[test]
fn a_hollow_spar_keeps_most_of_its_stiffness() {
    let solid = Spar::new(&even(5.0, 0.1)).expect("a spar");
    let hollow = Spar::new(&SparOptions { wall: vec![(0.0, 0.02)], ..even(5.0, 0.1) }).expect("a spar");
    assert_eq!(hollow.build(), Build::Halves);
    near(hollow.volume().0 / solid.volume().0, 0.64, 1e-12);
    near(hollow.section(2.0).moments()[0] / solid.section(2.0).moments()[1], 0.8704, 1e-12);
    near(hollow.solid_volume(), solid.volume().0, 1e-15);
    near(hollow.glue_area(), 5.0 * 0.04, 1e-12);
}

/// A cone cut off: volume and middle in closed form.
#[test]
fn a_straight_taper_is_a_cone() {
    let cone = SparOptions { taper: vec![(0.0, 1.0), (1.0, 0.5)], ..even(4.0, 0.12) };
    let spar = Spar::new(&cone).expect("a spar");
    let (big, small) = (0.06_f64, 0.03_f64);
    let sum = big * big + big * small + small * small;
    let (volume, middle) = spar.volume();
    near(volume, PI * 4.0 / 3.0 * sum, 1e-12);
    near(middle, 4.0 * (big * big + 2.0 * big * small + 3.0 * small * small) / (4.0 * sum), 1e-9);
    near(spar.surface(), PI * (big + small) * 4.0 + PI * (big * big + small * small), 1e-9);
}

/// An ellipse of 5 by 3: its girth by a fine sum; a circle's in closed form.
#[test]
fn girths_of_ovals_are_those_of_ellipses() {
    let oval = Section { shape: Shape::Oval, half: [0.05, 0.03], hollow: [0.0; 2], staves: None };
    let n = 20_000;
    let at = |i: i32| {
        let (sin, cos) = (2.0 * PI * f64::from(i) / f64::from(n)).sin_cos();
        [0.05 * cos, 0.03 * sin]
    };
    let girth: f64 = (0..n).map(|i| (at(i + 1)[0] - at(i)[0]).hypot(at(i + 1)[1] - at(i)[1])).sum();
    near(oval.girth(), girth, 1e-8);
    near(Section { half: [0.05, 0.05], ..oval }.girth(), 0.1 * PI, 1e-12);
}

/// A polygon's second moment by the shoelace's own sum.
#[test]
fn the_hollow_of_staves_is_a_polygon() {
    let n = 8;
    let section = Section { shape: Shape::Round, half: [0.05; 2], hollow: [0.03; 2], staves: Some(n) };
    let corner = |i: usize| {
        let (sin, cos) = (2.0 * PI * (i as f64 + 0.5) / n as f64).sin_cos();
        let r = 0.03 / (PI / n as f64).cos();
        [r * cos, r * sin]
    };
    let (mut area, mut moment) = (0.0, 0.0);
    for i in 0..n {
        let ([x, y], [u, v]) = (corner(i), corner(i + 1));
        let cross = x * v - u * y;
        area += cross / 2.0;
        moment += cross * (y * y + y * v + v * v) / 12.0;
    }
    near(section.solid().area() - section.area(), area, 1e-15);
    near(section.solid().moments()[0] - section.moments()[0], moment, 1e-18);
}

/// Eight staves a fifth of the diameter thick are about two fifths of it wide (common practice).
#[test]
fn eight_staves_are_two_fifths_of_the_diameter_wide() {
    let notch = Notch::new(8, 0.02, 0.05);
    let root = 2.0_f64.sqrt() - 1.0;
    near(notch.width, root * 0.1 - 1.5 * root * 0.02 + 0.01, 1e-15);
    assert!((notch.width / 0.1 - 0.4).abs() < 0.011);
    near(notch.depth, 0.01, 1e-15);
    near(notch.apex, 0.01, 1e-15);
}

/// The next stave, turned by one part of a turn, has its inner square corner in the notch, its end along one flank and
/// its inner face along the other.
#[test]
fn staves_seat_in_one_another() {
    for n in STAVES {
        let notch = Notch::new(n, 0.015, 0.06);
        let outline = notch.outline();
        let (sin, cos) = notch.turn.sin_cos();
        let turned = |[x, y]: [f64; 2]| [x * cos + y * sin, -x * sin + y * cos];
        let (corner, up) = (turned(outline[0]), turned(outline[4]));
        near(corner[0], outline[2][0], 1e-12);
        near(corner[1], outline[2][1], 1e-12);
        let along = turned(outline[1]);
        let off = |from: [f64; 2], to: [f64; 2], point: [f64; 2]| {
            let d = [to[0] - from[0], to[1] - from[1]];
            ((point[0] - from[0]) * d[1] - (point[1] - from[1]) * d[0]).abs() / d[0].hypot(d[1])
        };
        near(off(corner, up, outline[3]), 0.0, 1e-12);
        near(off(corner, along, outline[1]), 0.0, 1e-12);
    }
}

#[test]
fn the_hollow_runs_out_before_its_solid_ends() {
    let hollow = SparOptions {
        wall: vec![(0.0, 0.018), (1.0, 0.012)],
        solid: Solid { heel: 0.6, head: 0.3, run_out: 0.2 },
        ..options()
    };
    let spar = Spar::new(&hollow).expect("a spar");
    for (s, open) in
        [(0.0, 0.0), (0.6, 0.0), (0.7, 0.5), (0.8, 1.0), (3.0, 1.0), (5.6, 0.5), (5.7, 0.0), (6.0, 0.0)]
    {
        let whole = spar.half(s)[0] - (0.018 - 0.006 * s / 6.0);
        near(spar.hollow(s)[0], open * whole, 1e-12);
    }
}

/// A kerf's deepest corner stays in the hollow.
#[test]
fn kerfs_stop_short_of_the_wall() {
    let hollow = SparOptions { wall: vec![(0.0, 0.015)], straight: Straight::Second, ..options() };
    let spar = Spar::new(&hollow).expect("a spar");
    let places = spar.places(0.5).expect("places");
    let kerfs = spar.kerfs(&places, 0.0125, 0.003).expect("kerfs");
    assert!(kerfs.places.len() >= 5);
    for (s, depths) in places.iter().zip(&kerfs.depths) {
        let r = spar.hollow(*s)[0];
        for (y, depth) in kerfs.places.iter().zip(depths) {
            let out = (y - spar.middle(*s)).abs() + 0.0015;
            if *depth > 0.0 {
                near(out.hypot(*depth), r, 1e-12);
            } else {
                assert!(out >= r - 1e-12);
            }
        }
    }
}

#[test]
fn a_straight_face_lies_along_the_blanks() {
    for (straight, side) in [(Straight::First, 1), (Straight::Second, 0)] {
        let spar = Spar::new(&SparOptions { straight, ..options() }).expect("a spar");
        let half = 0.5 * spar.greatest()[0].1;
        for s in spar.places(0.25).expect("places") {
            let edges = spar.edges(s);
            near(edges[side].abs(), half, 1e-12);
            near(edges[1] - edges[0], 2.0 * spar.half(s)[0], 1e-12);
            assert!(edges[1 - side].abs() <= half + 1e-12);
        }
    }
}

/// Beam formulas of any handbook of statics (from memory): P L³ / 3EI and w L⁴ / 8EI for a built-in end, P L³ / 48EI and
/// 5 w L⁴ / 384EI between two supports, P c² (L + c) / 3EI for an end that stands out by c.
#[test]
fn deflections_are_those_of_the_handbooks() {
    let spar = Spar::new(&even(4.0, 0.08)).expect("a spar");
    let (modulus, i) = (10e9, PI * 0.08_f64.powi(4) / 64.0);
    let ei = modulus * i;
    let bent = |supports, points: &[(f64, f64)], spread: &[(f64, f64, f64)]| {
        let load = Load { supports, points: points.to_vec(), spread: spread.to_vec(), across: Across::Depth };
        spar.bent(&load, modulus).expect("bent")
    };
    let tip = |bent: &Bent| bent.deflections[bent.deflections.len() - 1];
    let one = bent(Supports::BuiltIn(0.0), &[(4.0, 100.0)], &[]);
    near(tip(&one), 100.0 * 64.0 / (3.0 * ei), 1e-9);
    near(one.greatest(&one.stresses).1, 400.0 * 0.04 / i, 1e-3);
    near(tip(&bent(Supports::BuiltIn(0.0), &[], &[(0.0, 4.0, 50.0)])), 50.0 * 256.0 / (8.0 * ei), 1e-9);
    // From the other end, by symmetry.
    near(bent(Supports::BuiltIn(4.0), &[(0.0, 100.0)], &[]).deflections[0], 100.0 * 64.0 / (3.0 * ei), 1e-9);
    let two = bent(Supports::Two(0.0, 4.0), &[(2.0, 100.0)], &[]);
    near(two.greatest(&two.deflections).1, 100.0 * 64.0 / (48.0 * ei), 1e-9);
    assert_eq!(two.reactions, [50.0, 50.0]);
    let spread = bent(Supports::Two(0.0, 4.0), &[], &[(0.0, 4.0, 50.0)]);
    near(spread.greatest(&spread.deflections).1, 5.0 * 50.0 * 256.0 / (384.0 * ei), 1e-9);
    let out = bent(Supports::Two(0.0, 1.0), &[(4.0, 100.0)], &[]);
    near(tip(&out), 100.0 * 9.0 * (1.0 + 3.0) / (3.0 * ei), 1e-9);
    near(out.reactions[0], -300.0, 1e-9);
}

/// Two sticks side by side, or three round an odd ring, whatever the stock: lengths add up, and no two scarfs meet.
#[test]
fn scarfs_reach_from_end_to_end_clear_of_their_neighbours() {
    for (length, stock, lap) in
        [(9.0, 4.0, 0.6), (6.0, 4.0, 0.3), (6.0, 3.2, 0.2), (7.4, 4.0, 0.6), (14.0, 2.5, 0.4)]
    {
        for patterns in [1, 2, 3] {
            let found = members(length, stock, Some(lap), patterns).expect("members");
            assert_eq!(found.len(), patterns);
            for member in &found {
                assert_eq!((member.pieces[0][0], member.pieces[member.pieces.len() - 1][1]), (0.0, length));
                for pair in member.pieces.windows(2) {
                    near(pair[0][1] - pair[1][0], lap, 1e-12);
                }
                assert!(
                    member
                        .pieces
                        .iter()
                        .all(|[from, to]| to - from <= stock + 1e-9 && to - from >= 2.0 * lap - 1e-9)
                );
            }
            for (i, one) in found.iter().enumerate() {
                for two in &found[..i] {
                    let gaps = one
                        .joints()
                        .into_iter()
                        .flat_map(|a| two.joints().into_iter().map(move |b| (a - b).abs()));
                    let nearest = gaps.fold(f64::INFINITY, f64::min);
                    assert!(nearest >= lap - 1e-9, "{length} {stock} {lap} {patterns}: {nearest}");
                }
            }
        }
    }
    assert_eq!(members(3.9, 4.0, None, 1).expect("one").first().map(|m| m.pieces.len()), Some(1));
    // Short stock, which asks for lengths longer than were all alike.
    assert!(members(6.0, 2.1, Some(0.603), 2).is_ok());
    // One joint each does for two halves: it is shifted, and no third length is cut.
    let halves = members(6.0, 4.0, Some(0.3), 2).expect("members");
    assert!(halves.iter().all(|half| half.pieces.len() == 2));
    // Just long enough for its scarfs, but not for those of three neighbours.
    let short = members(5.0, 3.0, Some(1.0), 3).expect_err("too short").to_string();
    assert!(short.contains("clear of the neighbours'"), "{short}");
    assert!(members(5.0, 3.0, Some(1.0), 2).is_ok());
}

/// Staves and boards run through what is solid: wherever along it the spar is thinner than the wall allows, it is refused.
#[test]
fn staves_and_boards_have_room_along_the_whole_length() {
    let ends = Solid { heel: 1.0, head: 1.5, run_out: 0.3 };
    for taper in [vec![(0.0, 1.0), (0.5, 0.9), (1.0, 0.4)], vec![(0.0, 0.4), (0.5, 0.9), (1.0, 1.0)]] {
        let at = if taper[0].1 < 1.0 { "at 0.000 m" } else { "at 6.000 m" };
        let of = |shape, staves, wall| {
            let wall = vec![(0.0, wall)];
            Spar::new(&SparOptions { taper: taper.clone(), shape, staves, wall, solid: ends, ..options() })
        };
        for (shape, staves) in [(Shape::Round, Some(8)), (Shape::Round, Some(7)), (Shape::Rectangular, None)]
        {
            let said = of(shape, staves, 0.035).expect_err("no room").to_string();
            assert!(said.contains(at) && said.contains("less than 20.00 mm"), "{said}");
            assert!(!said.contains("a solid end that reaches"), "{said}");
            of(shape, staves, 0.0199).expect("room");
        }
        // Halves are hollowed between their solid ends only.
        assert_eq!(of(Shape::Round, None, 0.024).expect("halves").build(), Build::Halves);
    }
}

/// The limit is the same for every batten, whatever its greatest place is, and either size of an oval.
#[test]
fn a_batten_that_runs_wild_is_refused() {
    let wild = vec![(0.0, 0.8), (0.01, 1.0), (1.0, 0.6)];
    let low = wild.iter().map(|(s, part)| (*s, 0.7 * part)).collect::<Vec<_>>();
    for options in [
        SparOptions { taper: wild.clone(), ..options() },
        SparOptions { taper: low, ..options() },
        SparOptions { taper_breadth: Some(wild), shape: Shape::Oval, ..options() },
    ] {
        let said = Spar::new(&options).expect_err("wild").to_string();
        assert!(said.contains("runs wild") && said.contains("mm stated"), "{said}");
    }
    for place in [0.1, 0.15, 0.2, 0.3, 0.5] {
        let made = Spar::new(&SparOptions { taper: vec![(0.0, 0.8), (place, 1.0), (1.0, 0.6)], ..options() });
        match made {
            Ok(spar) => assert!(spar.greatest()[0].1 <= 0.105 + 1e-12),
            Err(failed) => {
                assert!(matches!(failed, SparError::RunsWild { size, .. } if size > 0.105), "{failed}")
            }
        }
    }
}

#[test]
fn a_stepped_scarf_goes_from_face_to_face() {
    let plain = Scarf::new(ScarfKind::Plain, 12.0, 0.05, 0.1).expect("a scarf");
    near(plain.glue_area(), 0.6_f64.hypot(0.05) * 0.1, 1e-15);
    let stepped = Scarf::new(ScarfKind::Stepped, 12.0, 0.05, 0.1).expect("a scarf");
    let line = stepped.profile();
    let end = [stepped.length, 0.0];
    assert_eq!((line[0], line[line.len() - 1]), ([0.0, 0.05], end));
    assert!(line.windows(2).all(|w| w[1][1] < w[0][1] && w[1][0] >= w[0][0]));
    assert!(stepped.glue_area() > plain.glue_area());
}

#[test]
fn what_is_no_spar_is_refused_with_its_limit() {
    let with = |change: &dyn Fn(&mut SparOptions)| {
        let mut options = options();
        change(&mut options);
        Spar::new(&options).expect_err("no spar").to_string()
    };
    for (said, expected) in [
        (with(&|o| o.length = 0.0), "to 60 m"),
        (with(&|o| o.depth = 100.0), "half the spar's length"),
        (with(&|o| o.breadth = 0.09), "call it oval"),
        (with(&|o| o.taper = vec![(0.0, 1.0), (0.9, 0.5)]), "end at 1"),
        (with(&|o| o.taper = vec![(0.0, 1.0), (0.5, 0.6), (0.4, 0.5), (1.0, 0.4)]), "from 0.5 to 0.4"),
        (with(&|o| o.taper = vec![(0.0, 1.0), (0.5, 0.6), (1.0, 0.9)]), "no more than 0.6"),
        (with(&|o| o.taper = vec![(0.0, 1.0), (1.0, 1.2)]), "to 1"),
        (with(&|o| o.wall = vec![(0.0, 0.04)]), "6.000 m from the heel, where half the spar is 30.00 mm"),
        (with(&|o| o.staves = Some(8)), "give the wall"),
        (with(&|o| (o.staves, o.wall) = (Some(5), vec![(0.0, 0.01)])), "from 6 to 16"),
        (with(&|o| o.solid.heel = 0.5), "give the wall"),
        (with(&|o| (o.solid.heel, o.wall) = (7.0, vec![(0.0, 0.01)])), "no hollow is left"),
    ] {
        assert!(said.contains(expected), "{said}");
    }
    let short = members(9.0, 4.0, None, 1).expect_err("short").to_string();
    assert!(short.contains("4 m") && short.contains("9 m"), "{short}");
    let spar = Spar::new(&options()).expect("a spar");
    let load = Load {
        supports: Supports::BuiltIn(0.0),
        points: vec![(6.0, -10.0)],
        spread: Vec::new(),
        across: Across::Depth,
    };
    assert!(spar.bent(&load, 1e10).expect_err("negative").to_string().contains("-10 N"));
    assert!(spar.flats(12, 0.0).is_err() && spar.place(6.2).is_err() && spar.places(0.0).is_err());
}
