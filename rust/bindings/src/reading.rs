//! `scrieve.Reading`, and columns of readings.

use std::hash::{DefaultHasher, Hash, Hasher};

use crate::error::ScrieveError;
use numpy::{IntoPyArray, PyArray1};
use pyo3::basic::CompareOp;
use pyo3::create_exception;
use pyo3::exceptions::{PyOverflowError, PyTypeError, PyUserWarning, PyValueError, PyZeroDivisionError};
use pyo3::prelude::*;
use pyo3::types::PyList;
use scrieve_notation::{Dialect, Length, NotationError, OnePart, Precision, Reading, TwoPart, Units};

create_exception!(
    scrieve,
    ReadingError,
    ScrieveError,
    "A text that is not a reading: `.text`, `.span` (start and end of what is wrong, in characters),\n\
     `.found`, `.expected` and, in a column, `.line`, counted from 1."
);

/// A measurement as the trade writes it, held exactly.
///
/// `units` are those of a number written without one: "feet-inches-eighths", "mm", "cm", "m", "in" or "ft". `two_part`
/// says what `1-6` means: "feet-inches" or "inches-eighths"; None makes it an error. `plus` is what `+` and
/// `-` are worth, in inches. `lenient` accepts parts out of range, as `3-12-0`, with a warning. `one_part` says what
/// a bare `10` is among feet, inches and eighths: "inches" or "feet"; None makes it an error. `dashed` reads `10 1-2`
/// as 10½ in, `comma` has decimals with a comma.
///
/// Readings of equal length are equal and hash alike, however they are written. Sums, differences and
/// multiples by an int or a Fraction are readings, held to the nearest 0.0000001 mm; a reading by a reading
/// is a Fraction. Text that is no reading raises ReadingError.
#[pyclass(frozen, name = "Reading", module = "scrieve")]
pub struct PyReading {
    reading: Reading,
    dialect: Dialect,
}

impl PyReading {
    /// A reading of a table, with the dialect it is written in.
    pub fn new(reading: Reading, dialect: &Dialect) -> Self {
        PyReading { reading, dialect: dialect.clone() }
    }

    /// The reading.
    pub fn reading(&self) -> &Reading {
        &self.reading
    }

    /// A length that was reckoned, written out exactly.
    fn reckoned(py: Python<'_>, length: Option<Length>, dialect: &Dialect) -> PyResult<Self> {
        let length = length.ok_or_else(|| PyOverflowError::new_err("the length is out of range"))?;
        let mut text = dialect.write(length, Precision::Exact);
        if dialect.units != Units::FeetInchesEighths {
            text += dialect.units.name();
        }
        Self::read(py, &text, dialect.clone())
    }

    fn read(py: Python<'_>, text: &str, dialect: Dialect) -> PyResult<Self> {
        let missing =
            || NotationError { span: 0..text.len(), found: "no reading".into(), expected: "one".into() };
        let parsed = scrieve_notation::parse_cell(text, &dialect)
            .and_then(|parsed| parsed.ok_or_else(missing))
            .map_err(|error| reading_error(py, &error, text, None))?;
        for warning in &parsed.warnings {
            warn(py, format!("{text}: {warning}"))?;
        }
        let reading = parsed.into_reading();
        Ok(PyReading { reading, dialect })
    }
}

#[pymethods]
impl PyReading {
    #[new]
    #[pyo3(signature = (
        text, units = "feet-inches-eighths", two_part = None, plus = "1/16", lenient = false, one_part = None,
        dashed = false, comma = false
    ))]
    #[allow(clippy::too_many_arguments)]
    fn py_new(
        py: Python<'_>,
        text: &str,
        units: &str,
        two_part: Option<&str>,
        plus: &str,
        lenient: bool,
        one_part: Option<&str>,
        dashed: bool,
        comma: bool,
    ) -> PyResult<Self> {
        let one_part = one_part
            .map(|name| known(name, "one_part", OnePart::from_name, OnePart::ALL.map(OnePart::name)))
            .transpose()?;
        let dialect = Dialect { one_part, dashed, comma, ..dialect(py, units, two_part, plus, lenient)? };
        Self::read(py, text, dialect)
    }

    /// The reading of so many millimetres: an int or Fraction, or a float taken as it prints.
    #[staticmethod]
    fn from_mm(mm: &Bound<'_, PyAny>) -> PyResult<Self> {
        let length = match ratio(mm)? {
            Some((n, d)) => Length::MILLIMETRE.scaled(n, d),
            None => Length::from_decimal(&mm.extract::<f64>()?.to_string(), Length::MILLIMETRE),
        };
        Self::reckoned(mm.py(), length, &Dialect::default())
    }

    /// In millimetres.
    #[getter]
    fn mm(&self) -> f64 {
        self.reading.length.mm()
    }

    /// In metres.
    #[getter]
    fn m(&self) -> f64 {
        self.reading.length.metres()
    }

    /// In inches.
    #[getter]
    fn inches(&self) -> f64 {
        self.reading.length.inches()
    }

    /// In feet.
    #[getter]
    fn feet(&self) -> f64 {
        self.reading.length.feet()
    }

    /// In millimetres, as a Fraction.
    #[getter]
    fn exact_mm<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        fraction(py, self.reading.length, Length::MILLIMETRE)
    }

    /// What the last written place is worth, m.
    #[getter]
    fn place(&self) -> f64 {
        self.reading.place.metres()
    }

    /// "?" doubtful, "!" held, or "".
    #[getter]
    fn mark(&self) -> &'static str {
        self.reading.mark.text()
    }

    /// The reading in other units, as a cell of a file in those units would hold it. `precision` is for feet,
    /// inches and eighths: "1/8", "1/16" (with + and -), "1/32", each with a tie going to the even count, or
    /// "exact". Other units are not rounded.
    #[pyo3(signature = (units, precision = "1/16"))]
    fn to(&self, units: &str, precision: &str) -> PyResult<String> {
        let units = known(units, "units", Units::from_name, Units::ALL.map(Units::name))?;
        let precision =
            known(precision, "precision", Precision::from_name, Precision::ALL.map(Precision::name))?;
        Ok(Dialect { units, ..self.dialect.clone() }.write(self.reading.length, precision))
    }

    fn __str__(&self) -> String {
        format!("{}{}", self.reading.written, self.reading.mark.text())
    }

    fn __repr__(&self) -> String {
        let mut options = String::new();
        // Only what is needed to read it again: a number with its unit needs no units.
        if self.dialect.units != Units::FeetInchesEighths {
            options += &format!(", units='{}'", self.dialect.units.name());
        }
        if let Some(two_part) = self.dialect.two_part {
            options += &format!(", two_part='{}'", two_part.name());
        }
        if self.dialect.plus != Length::SIXTEENTH {
            options += &format!(", plus='{}'", plus_text(&self.dialect));
        }
        if self.dialect.lenient {
            options += ", lenient=True";
        }
        format!("Reading('{}'{options})", self.__str__().replace('\'', "\\'"))
    }

    fn __reduce__<'py>(slf: &Bound<'py, Self>) -> (Bound<'py, PyAny>, PickledReading) {
        let own = slf.get();
        let two_part = own.dialect.two_part.map(TwoPart::name);
        let options = (own.dialect.units.name(), two_part, plus_text(&own.dialect), own.dialect.lenient);
        let (units, two_part, plus, lenient) = options;
        let Dialect { dashed, comma, .. } = own.dialect;
        let one_part = own.dialect.one_part.map(OnePart::name);
        (slf.get_type().into_any(), (own.__str__(), units, two_part, plus, lenient, one_part, dashed, comma))
    }

    fn __copy__(slf: PyRef<'_, Self>) -> PyRef<'_, Self> {
        slf
    }

    fn __deepcopy__<'py>(slf: PyRef<'py, Self>, _memo: &Bound<'py, PyAny>) -> PyRef<'py, Self> {
        slf
    }

    fn __richcmp__(&self, other: &Self, op: CompareOp) -> bool {
        op.matches(self.reading.length.cmp(&other.reading.length))
    }

    fn __hash__(&self) -> u64 {
        let mut hasher = DefaultHasher::new();
        self.reading.length.hash(&mut hasher);
        hasher.finish()
    }

    fn __bool__(&self) -> bool {
        self.reading.length != Length::ZERO
    }

    fn __add__(&self, py: Python<'_>, other: &Self) -> PyResult<Self> {
        Self::reckoned(py, self.reading.length.checked_add(other.reading.length), &self.dialect)
    }

    fn __radd__(&self, py: Python<'_>, other: &Bound<'_, PyAny>) -> PyResult<Self> {
        // What `sum` starts from.
        if other.extract::<i64>().is_ok_and(|n| n == 0) {
            return Self::reckoned(py, Some(self.reading.length), &self.dialect);
        }
        Err(PyTypeError::new_err("a reading can be added to a reading only"))
    }

    fn __sub__(&self, py: Python<'_>, other: &Self) -> PyResult<Self> {
        Self::reckoned(py, self.reading.length.checked_sub(other.reading.length), &self.dialect)
    }

    fn __neg__(&self, py: Python<'_>) -> PyResult<Self> {
        Self::reckoned(py, Some(-self.reading.length), &self.dialect)
    }

    fn __pos__(slf: PyRef<'_, Self>) -> PyRef<'_, Self> {
        slf
    }

    fn __abs__(&self, py: Python<'_>) -> PyResult<Self> {
        Self::reckoned(py, Some(self.reading.length.abs()), &self.dialect)
    }

    fn __mul__(&self, factor: &Bound<'_, PyAny>) -> PyResult<Self> {
        let (n, d) = exact_ratio(factor)?;
        Self::reckoned(factor.py(), self.reading.length.scaled(n, d), &self.dialect)
    }

    fn __rmul__(&self, factor: &Bound<'_, PyAny>) -> PyResult<Self> {
        self.__mul__(factor)
    }

    fn __truediv__<'py>(&self, divisor: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        let py = divisor.py();
        if let Ok(other) = divisor.cast::<Self>() {
            return fraction(py, self.reading.length, other.get().reading.length);
        }
        let (n, d) = exact_ratio(divisor)?;
        if n == 0 {
            return Err(PyZeroDivisionError::new_err("a reading divided by zero"));
        }
        let quotient = Self::reckoned(py, self.reading.length.scaled(d, n), &self.dialect)?;
        Ok(Bound::new(py, quotient)?.into_any())
    }
}

/// Text and options that make the reading again.
type PickledReading =
    (String, &'static str, Option<&'static str>, String, bool, Option<&'static str>, bool, bool);

/// Reads a column, one reading a line: an array of lengths in metres, one a line, NaN where the line holds no
/// reading or a mistake; and a list of the mistakes, ReadingErrors with their `.line`. Options as for Reading.
#[pyfunction]
#[pyo3(signature = (text, units = "feet-inches-eighths", two_part = None, plus = "1/16", lenient = false))]
pub fn read_column<'py>(
    py: Python<'py>,
    text: &str,
    units: &str,
    two_part: Option<&str>,
    plus: &str,
    lenient: bool,
) -> PyResult<(Bound<'py, PyArray1<f64>>, Bound<'py, PyList>)> {
    let dialect = dialect(py, units, two_part, plus, lenient)?;
    let mut lengths = Vec::with_capacity(text.len() / 8);
    let mut mistakes = Vec::new();
    let mut warnings = Vec::new();
    for (line, parsed) in scrieve_notation::read_column(text, &dialect).enumerate() {
        lengths.push(match parsed {
            Ok(Some(parsed)) => {
                if !parsed.warnings.is_empty() {
                    warnings.push((line + 1, parsed.warnings));
                }
                parsed.length.metres()
            }
            Ok(None) => f64::NAN,
            Err(error) => {
                mistakes.push((line, error));
                f64::NAN
            }
        });
    }
    for (line, warning) in warnings.iter().flat_map(|(line, all)| all.iter().map(move |w| (line, w))) {
        warn(py, format!("line {line}: {warning}"))?;
    }
    let errors = PyList::empty(py);
    // The lines come by once more, for the text of those that need it.
    let mut lines = text.strip_prefix('\u{feff}').unwrap_or(text).lines().enumerate();
    for (line, error) in mistakes {
        let text = lines.find(|(n, _)| *n == line).map_or("", |(_, text)| text);
        errors.append(reading_error(py, &error, text, Some(line + 1)))?;
    }
    Ok((lengths.into_pyarray(py), errors))
}

/// The options of a reading as Python gives them.
pub fn dialect(
    py: Python<'_>,
    units: &str,
    two_part: Option<&str>,
    plus: &str,
    lenient: bool,
) -> PyResult<Dialect> {
    let units = known(units, "units", Units::from_name, Units::ALL.map(Units::name))?;
    let names = TwoPart::ALL.map(TwoPart::name);
    let two_part = two_part.map(|name| known(name, "two_part", TwoPart::from_name, names)).transpose()?;
    let plus = scrieve_notation::parse_plus(plus).map_err(|error| reading_error(py, &error, plus, None))?;
    Ok(Dialect { units, plus, two_part, lenient, ..Dialect::default() })
}

/// A Python ReadingError of a text; the message ends with the text and carets under what is wrong.
pub fn reading_error(py: Python<'_>, error: &NotationError, text: &str, line: Option<usize>) -> PyErr {
    let at = line.map_or(String::new(), |line| format!("line {line}: "));
    let raised = ReadingError::new_err(format!("{at}{error}\n{}", error.underlined(text)));
    let value = raised.value(py);
    // Python counts characters, not bytes.
    let characters = |bytes: usize| text.char_indices().filter(|(at, _)| *at < bytes).count();
    let span = (characters(error.span.start), characters(error.span.end));
    let set = value
        .setattr("text", text)
        .and_then(|()| value.setattr("span", span))
        .and_then(|()| value.setattr("found", &error.found))
        .and_then(|()| value.setattr("expected", &error.expected))
        .and_then(|()| value.setattr("line", line))
        .and_then(|()| value.setattr("what", &error.found))
        .and_then(|()| value.setattr("where", (text, span)))
        .and_then(|()| value.setattr("remedy", format!("expected {}", error.expected)));
    set.map_or_else(|failed| failed, |()| raised)
}

pub(crate) fn known<T, const N: usize>(
    name: &str,
    what: &str,
    from_name: impl Fn(&str) -> Option<T>,
    names: [&str; N],
) -> PyResult<T> {
    from_name(name).ok_or_else(|| {
        PyValueError::new_err(format!("{what} '{name}': expected one of {}", names.join(", ")))
    })
}

fn warn(py: Python<'_>, message: String) -> PyResult<()> {
    // A message of ours holds no NUL but what the text had.
    let message = std::ffi::CString::new(message.replace('\0', " "))?;
    PyErr::warn(py, &py.get_type::<PyUserWarning>(), &message, 1)
}

/// What `+` is worth, as `parse_plus` reads it.
fn plus_text(dialect: &Dialect) -> String {
    let n = dialect.plus.ticks() / Length::PER_128TH;
    let twos = n.trailing_zeros().min(7);
    format!("{}/{}", n >> twos, 128 >> twos)
}

fn fraction<'py>(py: Python<'py>, n: Length, d: Length) -> PyResult<Bound<'py, PyAny>> {
    py.import("fractions")?.getattr("Fraction")?.call1((n.ticks(), d.ticks()))
}

/// Numerator and denominator of an int or a Fraction, or of anything else that is exact and rational.
fn ratio(number: &Bound<'_, PyAny>) -> PyResult<Option<(i64, i64)>> {
    match (number.getattr("numerator"), number.getattr("denominator")) {
        (Ok(n), Ok(d)) => Ok(Some((n.extract()?, d.extract()?))),
        _ => Ok(None),
    }
}

fn exact_ratio(number: &Bound<'_, PyAny>) -> PyResult<(i64, i64)> {
    ratio(number)?.ok_or_else(|| PyTypeError::new_err("expected an int or a Fraction: a float is not exact"))
}
