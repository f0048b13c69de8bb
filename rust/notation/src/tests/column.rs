//! Columns of readings.

use super::mm;
use crate::{Dialect, read_column};

#[test]
fn a_column_is_one_reading_a_line_and_a_blank_line_is_none() {
    let text = "\u{feff}3-4-5+\r\n\n-\n3 4⁵\n1031.9 mm\n3-4-q\n";
    let dialect = Dialect::default();
    let lines: Vec<_> = read_column(text, &dialect).collect();
    let length = |n: usize| lines[n].clone().unwrap().map(|parsed| parsed.length);
    assert_eq!(lines.len(), 6);
    assert_eq!([length(0), length(1), length(2)], [Some(mm("1033.4625")), None, None]);
    assert_eq!([length(3), length(4)], [Some(mm("1031.875")), Some(mm("1031.9"))]);
    assert_eq!(lines[5].clone().unwrap_err().span, 4..5);
}
