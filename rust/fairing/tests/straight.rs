//! A strake that is straight across between its edges is faired straight, and nothing is unsure of it.

use scrieve_fairing::{Faired, Options, fair};
use scrieve_offsets::{Table, read};

/// A skiff of two straight panels a side, in a formula of its own: bottom and topside, at every station straight from edge
/// to edge, but for a topside that is round by `round_mm` half-way.
struct Skiff {
    round_mm: f64,
}

const LENGTH: f64 = 4.877;
const SIDING: f64 = 0.022;
const STATIONS: usize = 9;

impl Skiff {
    fn x(i: usize) -> f64 {
        0.55 + (LENGTH - 0.85) * i as f64 / (STATIONS - 1) as f64
    }

    fn stem(z: f64) -> f64 {
        0.35 * (0.72 - z) / 0.6
    }

    /// Rabbet, chine and sheer at x: half-breadth and height.
    fn edges(x: f64) -> [(f64, f64); 3] {
        let s = x / LENGTH;
        let rocker = (2.0 * s - 1.05).powi(2);
        let (chine, sheer) = (0.16 + 0.09 * rocker, 0.5 + 0.2 * (2.0 * s - 1.1).powi(2));
        // Each edge comes out of the stem where that has its height.
        let out = |from: f64, fullness: f64| {
            let part = ((x - from) / (0.58 * LENGTH - from)).min(1.0);
            let aft = ((s - 0.58) / 0.42).max(0.0);
            (1.0 - (1.0 - part).powf(fullness)) * (1.0 - 0.25 * aft.powi(2))
        };
        [
            (SIDING, 0.07 + 0.05 * rocker),
            (SIDING + 0.48 * out(Self::stem(0.25), 1.9), chine),
            (SIDING + 0.66 * out(Self::stem(0.72), 2.1), sheer),
        ]
    }

    fn at(&self, x: f64, strake: usize, v: f64) -> (f64, f64) {
        let e = Self::edges(x);
        let (a, b) = (e[strake], e[strake + 1]);
        let (dy, dz) = (b.0 - a.0, b.1 - a.1);
        let out = if strake == 1 { 4e-3 * self.round_mm * v * (1.0 - v) / dy.hypot(dz) } else { 0.0 };
        (a.0 + v * dy + out * dz, a.1 + v * dz - out * dy)
    }

    /// Her table, read to the eighth, with so many waterlines.
    fn table(&self, waterlines: &[f64]) -> Table {
        const EIGHTH: f64 = 0.0254 / 8.0;
        let eighths = |m: f64| {
            let n = (m / EIGHTH).round() as i64;
            format!("{}-{}-{}", n / 96, n / 8 % 12, n % 8)
        };
        let row = |name: &str, of: &dyn Fn(f64) -> Option<f64>| {
            let cells: Vec<String> =
                (0..STATIONS).map(|i| of(Self::x(i)).map_or("-".into(), eighths)).collect();
            format!("{name} | {}\n", cells.join(" "))
        };
        let mut text = format!(
            "+++\nformat = 1\nname = \"Skiff\"\nunits = \"feet-inches-eighths\"\n\n[backbone]\nhalf_siding = \"{}\"\n+++\n\n",
            eighths(SIDING)
        );
        let names: Vec<String> = (1..=STATIONS).map(|i| i.to_string()).collect();
        text += &format!("station | {}\n", names.join(" "));
        text += &row("from stem", &Some);
        text += "\n[heights]\n";
        text += &row("sheer", &|x| Some(Self::edges(x)[2].1));
        text += &row("chine", &|x| Some(Self::edges(x)[1].1));
        text += &row("rabbet", &|x| Some(Self::edges(x)[0].1));
        text += "\n[half-breadths]\n";
        text += &row("sheer", &|x| Some(Self::edges(x)[2].0));
        text += &row("chine", &|x| Some(Self::edges(x)[1].0));
        for &z in waterlines {
            let here = |x: f64| {
                let e = Self::edges(x);
                if z < e[1].1 + 0.03 || z > e[2].1 - 0.03 {
                    return None;
                }
                let (mut low, mut high) = (0.0, 1.0);
                for _ in 0..60 {
                    let v = 0.5 * (low + high);
                    if self.at(x, 1, v).1 < z { low = v } else { high = v }
                }
                Some(self.at(x, 1, low).0)
            };
            text += &row(&format!("waterline {}", eighths(z)), &here);
        }
        text += "\n[stem profile]\n";
        let heights = [0.72, 0.6, 0.45, 0.3, 0.12];
        let spots = |of: &dyn Fn(f64) -> f64| heights.map(|z| eighths(of(z))).join(" ");
        text += &format!("from stem | {}\n", spots(&|z| Self::stem(z)));
        text += &format!("height | {}\n", spots(&|z| z));
        read(text.as_bytes(), "skiff").expect("a table")
    }
}

fn faired(table: &Table) -> Faired {
    let (survey, _) = table.survey().expect("a survey");
    fair(&survey, &Options::default()).expect("a hull")
}

/// How far sections of a patch abaft the bow lie off the straight between their ends at worst, m. Where edges curve in plan
/// toward a raked stem, what is straight along the panel's own slant is a little hollow in a station's plane.
fn bulge(faired: &Faired, patch: usize) -> f64 {
    let patch = &faired.surface.patches[patch];
    let mut worst = 0.0f64;
    for i in 6..=2 * (STATIONS - 1) {
        let x = Skiff::x(0) + 0.5 * (Skiff::x(1) - Skiff::x(0)) * i as f64;
        let at = |v: f64| {
            let (mut low, mut high) = (0.0, 1.0);
            for _ in 0..50 {
                let u = 0.5 * (low + high);
                if patch.point(u, v)[0] < x { low = u } else { high = u }
            }
            let p = patch.point(low, v);
            (p[1], p[2])
        };
        let (a, b) = (at(0.0), at(1.0));
        let (dy, dz) = (b.0 - a.0, b.1 - a.1);
        for j in 1..16 {
            let p = at(f64::from(j) / 16.0);
            let off = ((p.0 - a.0) * dz - (p.1 - a.1) * dy) / dy.hypot(dz);
            worst = worst.max(off.abs());
        }
    }
    worst
}

/// Three eighths and a half-inch up: none, one and three waterlines.
const WATERLINES: [&[f64]; 3] = [&[], &[0.3556], &[0.3048, 0.3556, 0.4064]];

#[test]
fn straight_strakes_are_faired_straight_with_no_reading_and_with_one_a_station() {
    let skiff = Skiff { round_mm: 0.0 };
    for waterlines in &WATERLINES[..2] {
        let table = skiff.table(waterlines);
        let faired = faired(&table);
        for patch in 0..2 {
            let off = 1e3 * bulge(&faired, patch);
            assert!(off < 0.3, "{} waterlines, strake {patch}: {off:.2} mm", waterlines.len());
        }
        assert_eq!(faired.unsure_remarks(&table), Vec::<String>::new(), "{} waterlines", waterlines.len());
        let said = faired.remarks.iter().filter(|r| r.contains("straight across")).count();
        assert_eq!(said, 2, "{:?}", faired.remarks);
    }
}

#[test]
fn a_strake_whose_readings_tell_of_round_keeps_it() {
    for (round_mm, waterlines) in [(4.0, WATERLINES[1]), (2.0, WATERLINES[2]), (12.0, WATERLINES[1])] {
        let faired = faired(&Skiff { round_mm }.table(waterlines));
        let off = 1e3 * bulge(&faired, 1);
        assert!(off > 0.8 * round_mm, "{round_mm} mm of round: {off:.2}");
    }
}
