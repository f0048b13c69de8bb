//! Colours by their index and line weights, the nearest there are.

/// Line weights a layer can have, hundredths of a millimetre.
const WEIGHTS: [i64; 24] =
    [0, 5, 9, 13, 15, 18, 20, 25, 30, 35, 40, 50, 53, 60, 70, 80, 90, 100, 106, 120, 140, 158, 200, 211];

pub(super) fn nearest_weight(width_mm: f64) -> i64 {
    let wanted = 100.0 * width_mm;
    WEIGHTS
        .into_iter()
        .min_by(|a, b| (*a as f64 - wanted).abs().total_cmp(&(*b as f64 - wanted).abs()))
        .unwrap_or(0)
}

/// What a screen is dark with, as far as luminance goes (0 to 1): a very dark grey, harder to be seen on than black.
const DARK: f64 = 0.02;

/// Least contrast of a line with what it is drawn on: WCAG 2.1's for graphics.
const LEAST_CONTRAST: f64 = 3.0;

/// How bright a colour is, 0 to 1 (relative luminance of sRGB, IEC 61966-2-1).
pub(super) fn luminance(rgb: [u8; 3]) -> f64 {
    let linear = |value: u8| match f64::from(value) / 255.0 {
        low if low <= 0.04045 => low / 12.92,
        high => ((high + 0.055) / 1.055).powf(2.4),
    };
    0.2126 * linear(rgb[0]) + 0.7152 * linear(rgb[1]) + 0.0722 * linear(rgb[2])
}

/// Whether a colour is seen on a white sheet and on a dark screen.
pub(super) fn is_seen(rgb: [u8; 3]) -> bool {
    let bright = luminance(rgb);
    1.05 / (bright + 0.05) >= LEAST_CONTRAST && (bright + 0.05) / (DARK + 0.05) >= LEAST_CONTRAST
}

/// The index of the colour nearest in sRGB of those that are seen on a white sheet and on a dark screen alike. Black and
/// white are 7, which is drawn black on white and white on black.
pub(super) fn nearest_colour(rgb: [u8; 3]) -> i64 {
    if rgb == [0, 0, 0] || rgb == [255, 255, 255] {
        return 7;
    }
    let apart = |index: &i64| {
        let other = indexed_colour(*index);
        (0..3).map(|i| (i32::from(rgb[i]) - i32::from(other[i])).pow(2)).sum::<i32>()
    };
    // What has no colour gets none.
    let is_grey = |rgb: [u8; 3]| rgb[0] == rgb[1] && rgb[1] == rgb[2];
    let alike =
        |index: &i64| is_seen(indexed_colour(*index)) && (!is_grey(rgb) || is_grey(indexed_colour(*index)));
    (1..=255).filter(alike).min_by_key(apart).unwrap_or(7)
}

/// The colours of the index: nine plain ones, 24 hues by five darknesses and two strengths, six greys.
pub(super) fn indexed_colour(index: i64) -> [u8; 3] {
    const PLAIN: [[u8; 3]; 9] = [
        [255, 0, 0],
        [255, 255, 0],
        [0, 255, 0],
        [0, 255, 255],
        [0, 0, 255],
        [255, 0, 255],
        [255, 255, 255],
        [128, 128, 128],
        [192, 192, 192],
    ];
    const GREYS: [u8; 6] = [51, 91, 132, 173, 214, 255];
    const BRIGHT: [f64; 5] = [255.0, 165.0, 127.0, 76.0, 38.0];
    match index {
        1..=9 => PLAIN[index as usize - 1],
        250..=255 => [GREYS[index as usize - 250]; 3],
        _ => {
            let hue = (index / 10 - 1) as f64 / 4.0;
            let bright = BRIGHT[(index % 10) as usize / 2];
            let floor = if index % 2 == 1 { 0.5 } else { 0.0 };
            [0.0, 4.0, 2.0].map(|turn| {
                // Each of the three is full for two sixths of the circle and falls off over one.
                let around = (hue + turn).rem_euclid(6.0);
                let strength = ((around - 3.0).abs() - 1.0).clamp(0.0, 1.0);
                (bright * (floor + (1.0 - floor) * strength)).floor() as u8
            })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Operation;

    #[test]
    fn colours_are_those_of_the_index() {
        // From the published colour index: 10 red, 30 orange, 94 dark green, 174 dark blue.
        for (index, rgb) in [(30, [255, 127, 0]), (94, [0, 127, 0]), (174, [0, 0, 127]), (250, [51, 51, 51])]
        {
            assert_eq!(indexed_colour(index), rgb);
        }
        assert_eq!(nearest_colour([255, 0, 0]), 1);
        assert_eq!(nearest_colour([0, 0, 0]), 7);
    }

    #[test]
    fn every_operation_is_seen_on_white_and_on_dark_in_a_colour_of_its_own() {
        let mut taken = Vec::new();
        for operation in Operation::ALL {
            let colour = nearest_colour(operation.stroke().rgb);
            assert!(colour == 7 || is_seen(indexed_colour(colour)), "{operation:?}: {colour}");
            assert!(!taken.contains(&colour), "{operation:?}: {colour}");
            taken.push(colour);
        }
        // Published: contrast of #767676 on white is 4.54 (WCAG 2.1, understanding 1.4.3).
        assert!((1.05 / (luminance([0x76; 3]) + 0.05) - 4.54).abs() < 5e-3);
    }
}
