//! Sections of a spar: blank, sides, finished shape and what is hollow.

use std::f64::consts::PI;

use kurbo::{Ellipse, Point, Shape as _};
use scrieve_loft::spar::{Build, SIDES, Shape};
use scrieve_loft::written;

use super::{Pen, SCALES, SHEET_MM, Sheet, SparDrawingError, SparSheet};
use crate::{Anchor, Drawing, Operation};

/// How far a drawn ellipse may stray, mm.
const CURVE_MM: f64 = 1e-4;

impl SparSheet<'_> {
    /// Sections at these places, each a name and a distance from the heel, m: full size where they fit a sheet.
    ///
    /// # Errors
    /// A place off the spar.
    pub fn sections(&self, at: &[(String, f64)]) -> Result<Drawing, SparDrawingError> {
        let letter = super::LETTER_MM;
        let name = format!("{}-sections", self.name);
        let mut sheet = Sheet::new(&name, &format!("{}, sections", self.title), Operation::Annotate, letter);
        let mut wide = 0.0;
        for (_, s) in at {
            self.spar.place(*s)?;
            wide += 2e3 * self.spar.half(*s)[1] * 1.1 + 12.0 * letter;
        }
        let scale = SCALES.into_iter().find(|n| wide / n <= SHEET_MM).unwrap_or(SCALES[SCALES.len() - 1]);
        let [tall, ..] = self.spar.blank();
        let mut left = 0.0;
        for (name, s) in at {
            let half = self.spar.half(*s).map(|h| 1e3 * h / scale);
            let room = half[1].max(6.0 * letter);
            let middle = Point::new(left + room, 0.5e3 * tall / scale);
            self.section(&mut sheet, *s, middle, 1e3 / scale);
            let [first, second, ..] = &self.faces;
            // Beside the middle line, which runs out above and below.
            let beside = middle.x + 0.5 * letter;
            sheet.write(first, (beside, middle.y + half[0] + 0.7 * letter), Anchor::Start, 1.0);
            sheet.write(second, (beside, middle.y - half[0] - 1.7 * letter), Anchor::Start, 1.0);
            let size = self.spar.half(*s).map(|h| written(2.0 * h, self.units));
            let size = if self.spar.shape() == Shape::Round { size[0].clone() } else { size.join(" by ") };
            let texts = [name.clone(), format!("at {}", written(*s, self.units)), size];
            for (i, text) in texts.into_iter().enumerate() {
                let y = -(4.5 + 1.8 * i as f64) * letter;
                sheet.write(text, (middle.x, y), Anchor::Middle, 1.0);
            }
            left += 2.0 * room + 4.0 * letter;
        }
        let said = if scale == 1.0 { "full size".to_owned() } else { format!("1:{scale}") };
        let title = format!("{}, sections, {said}", self.title);
        sheet.write(title, (0.0, -13.0 * letter), Anchor::Start, 1.4);
        Ok(sheet.drawing)
    }

    fn section(&self, sheet: &mut Sheet, s: f64, middle: Point, k: f64) {
        let spar = self.spar;
        let [a, b] = spar.half(s).map(|h| k * h);
        let [c, d] = spar.hollow(s).map(|h| k * h);
        // y up the paper, z across it.
        let at = |y: f64, z: f64| Point::new(middle.x + z, middle.y + y);
        let square = |y: f64, z: f64| [at(-y, -z), at(-y, z), at(y, z), at(y, -z)];
        let polygon = |n: usize, y: f64, z: f64| -> Vec<Point> {
            let out = 1.0 / (PI / n as f64).cos();
            (0..n)
                .map(|i| {
                    let (sin, cos) = ((2 * i + 1) as f64 * PI / n as f64).sin_cos();
                    at(y * out * cos, z * out * sin)
                })
                .collect()
        };
        let cross = |sheet: &mut Sheet| {
            sheet.line(Pen::Middle, [at(-1.15 * a, 0.0), at(1.15 * a, 0.0)], false);
            sheet.line(Pen::Middle, [at(0.0, -1.15 * b), at(0.0, 1.15 * b)], false);
        };
        if spar.shape() == Shape::Rectangular {
            sheet.line(Pen::Edges, square(a, b), true);
            cross(sheet);
            if spar.build() == Build::Box {
                let wall = spar.wall().map_or(0.0, |wall| k * wall.thickness(s));
                for side in [-1.0, 1.0] {
                    sheet.line(Pen::Hollow, [at(side * (a - wall), -b), at(side * (a - wall), b)], false);
                    let edge = side * (b - wall);
                    sheet.line(Pen::Hollow, [at(wall - a, edge), at(a - wall, edge)], false);
                }
            }
            return;
        }
        let layer = sheet.pen(Pen::Edges);
        sheet.drawing.path(layer, Ellipse::new(middle, (b, a), 0.0).to_path(CURVE_MM));
        cross(sheet);
        if let (Some(notch), Build::Staves(n)) = (spar.notch(s), spar.build()) {
            for i in 0..n {
                let (sin, cos) = (i as f64 * notch.turn).sin_cos();
                let corner =
                    |[along, out]: [f64; 2]| at(k * (out * cos - along * sin), k * (out * sin + along * cos));
                sheet.line(Pen::Staves, notch.outline().map(corner), true);
            }
            return;
        }
        for sides in SIDES {
            sheet.line(Pen::of_sides(sides), polygon(sides, a, b), true);
        }
        sheet.line(Pen::Places, square(a, b), true);
        if c > 0.0 && d > 0.0 {
            let layer = sheet.pen(Pen::Hollow);
            sheet.drawing.path(layer, Ellipse::new(middle, (d, c), 0.0).to_path(CURVE_MM));
        }
        if spar.build() == Build::Halves {
            for side in [-1.0, 1.0] {
                sheet.line(Pen::Edges, [at(side * c, 0.0), at(side * a, 0.0)], false);
            }
        }
    }
}
