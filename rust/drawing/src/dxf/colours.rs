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

/// The colour index nearest in sRGB. Black is 7, which is drawn black on white and white on black.
pub(super) fn nearest_colour(rgb: [u8; 3]) -> i64 {
    if rgb == [0, 0, 0] {
        return 7;
    }
    let apart = |index: &i64| {
        let other = indexed_colour(*index);
        (0..3).map(|i| (i32::from(rgb[i]) - i32::from(other[i])).pow(2)).sum::<i32>()
    };
    (1..=255).min_by_key(apart).unwrap_or(7)
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

    #[test]
    fn colours_find_their_own_index() {
        // From the published colour index: 10 red, 30 orange, 94 dark green, 174 dark blue.
        for (index, rgb) in [(30, [255, 127, 0]), (94, [0, 127, 0]), (174, [0, 0, 127]), (250, [51, 51, 51])]
        {
            assert_eq!(indexed_colour(index), rgb);
            assert_eq!(nearest_colour(rgb), index);
        }
        assert_eq!(nearest_colour([255, 0, 0]), 1);
        assert_eq!(nearest_colour([0, 0, 0]), 7);
    }
}
