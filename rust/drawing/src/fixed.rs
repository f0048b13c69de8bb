//! Numbers in plain decimals, to a stated digit: fast, and the same bytes everywhere.

/// Bytes a writer gathers before it hands them on.
pub(crate) const BUFFER: usize = 1 << 16;

pub(crate) fn push_integer(buffer: &mut Vec<u8>, value: i64) {
    if value < 0 {
        buffer.push(b'-');
    }
    let mut digits = [0; 20];
    let mut first = digits.len();
    let mut rest = value.unsigned_abs();
    loop {
        first -= 1;
        digits[first] = b'0' + (rest % 10) as u8;
        rest /= 10;
        if rest == 0 {
            break;
        }
    }
    buffer.extend_from_slice(&digits[first..]);
}

/// A number in plain decimals, trailing zeros left off down to one after the point.
pub(crate) fn push_fixed(buffer: &mut Vec<u8>, value: f64, digits: u32) {
    let one = 10_u64.pow(digits);
    let scaled = (value * one as f64).round();
    if scaled.abs() > 9e15 {
        // Past the exact whole numbers of a double: far outside any drawing, but still written.
        buffer.extend_from_slice(format!("{value:.1}").as_bytes());
        return;
    }
    if scaled < 0.0 {
        buffer.push(b'-');
    }
    let whole = scaled.abs() as u64;
    push_integer(buffer, (whole / one) as i64);
    buffer.push(b'.');
    let mut part = whole % one;
    let mut place = one / 10;
    loop {
        buffer.push(b'0' + (part / place) as u8);
        part %= place;
        place /= 10;
        if part == 0 {
            break;
        }
    }
}

/// The same, without a point where the number is whole.
pub(crate) fn push_short(buffer: &mut Vec<u8>, value: f64, digits: u32) {
    push_fixed(buffer, value, digits);
    if buffer.ends_with(b".0") {
        buffer.truncate(buffer.len() - 2);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_plain_decimals() {
        let fixed = |value: f64| {
            let mut buffer = Vec::new();
            push_fixed(&mut buffer, value, 6);
            String::from_utf8(buffer).expect("digits")
        };
        assert_eq!([0.0, -0.0, 1.0, -12.5, 0.000_001].map(fixed), ["0.0", "0.0", "1.0", "-12.5", "0.000001"]);
        assert_eq!(
            [1e-9, 123_456.789, -0.1, 1e20].map(fixed),
            ["0.0", "123456.789", "-0.1", "100000000000000000000.0"]
        );
    }
}
