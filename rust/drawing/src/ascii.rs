//! Text as plain ASCII, for files whose readers agree on nothing else.

/// Common characters of drawings and of names in western European spelling, as one would type
/// them without. Fractions and `°` take a space after a digit: `1⅜` is `1 3/8`.
const SPELLED: &[(char, &str)] = &[
    ('°', "deg"),
    ('½', "1/2"),
    ('¼', "1/4"),
    ('¾', "3/4"),
    ('⅛', "1/8"),
    ('⅜', "3/8"),
    ('⅝', "5/8"),
    ('⅞', "7/8"),
    ('⅓', "1/3"),
    ('⅔', "2/3"),
    ('⅙', "1/6"),
    ('⅚', "5/6"),
    ('′', "'"),
    ('″', "\""),
    ('‘', "'"),
    ('’', "'"),
    ('“', "\""),
    ('”', "\""),
    ('–', "-"),
    ('—', "-"),
    ('−', "-"),
    ('‐', "-"),
    ('‑', "-"),
    ('×', "x"),
    ('·', "."),
    ('…', "..."),
    ('²', "2"),
    ('³', "3"),
    ('±', "+/-"),
    ('⁄', "/"),
    ('µ', "u"),
    ('μ', "u"),
    ('ø', "o"),
    ('Ø', "O"),
    ('⌀', "dia "),
    ('æ', "ae"),
    ('Æ', "AE"),
    ('œ', "oe"),
    ('Œ', "OE"),
    ('ß', "ss"),
    ('ð', "d"),
    ('Ð', "D"),
    ('þ', "th"),
    ('Þ', "Th"),
    ('ł', "l"),
    ('Ł', "L"),
    ('£', "GBP"),
    ('€', "EUR"),
    ('\u{a0}', " "),
    ('\u{2009}', " "),
    ('\u{202f}', " "),
    ('à', "a"),
    ('á', "a"),
    ('â', "a"),
    ('ã', "a"),
    ('ä', "a"),
    ('å', "a"),
    ('ç', "c"),
    ('è', "e"),
    ('é', "e"),
    ('ê', "e"),
    ('ë', "e"),
    ('ì', "i"),
    ('í', "i"),
    ('î', "i"),
    ('ï', "i"),
    ('ñ', "n"),
    ('ò', "o"),
    ('ó', "o"),
    ('ô', "o"),
    ('õ', "o"),
    ('ö', "o"),
    ('ù', "u"),
    ('ú', "u"),
    ('û', "u"),
    ('ü', "u"),
    ('ý', "y"),
    ('ÿ', "y"),
    ('À', "A"),
    ('Á', "A"),
    ('Â', "A"),
    ('Ã', "A"),
    ('Ä', "A"),
    ('Å', "A"),
    ('Ç', "C"),
    ('È', "E"),
    ('É', "E"),
    ('Ê', "E"),
    ('Ë', "E"),
    ('Ì', "I"),
    ('Í', "I"),
    ('Î', "I"),
    ('Ï', "I"),
    ('Ñ', "N"),
    ('Ò', "O"),
    ('Ó', "O"),
    ('Ô', "O"),
    ('Õ', "O"),
    ('Ö', "O"),
    ('Ù', "U"),
    ('Ú', "U"),
    ('Û', "U"),
    ('Ü', "U"),
    ('Ý', "Y"),
    ('š', "s"),
    ('Š', "S"),
    ('ž', "z"),
    ('Ž', "Z"),
    ('α', "alpha"),
    ('β', "beta"),
    ('θ', "theta"),
    ('φ', "phi"),
    ('ρ', "rho"),
    ('Δ', "Delta"),
    ('→', "->"),
];

/// The text in printable ASCII: other characters spelled out, or `?` where none is known;
/// control characters, line ends among them, as spaces.
pub fn to_ascii(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            ' '..='~' => plain.push(character),
            _ if character.is_control() => plain.push(' '),
            _ => match SPELLED.iter().find(|(from, _)| *from == character) {
                Some((_, to)) => {
                    let after_digit = plain.ends_with(|c: char| c.is_ascii_digit());
                    let apart = character == '°'
                        || (to.contains('/') && to.starts_with(|c: char| c.is_ascii_digit()));
                    if after_digit && apart {
                        plain.push(' ');
                    }
                    plain.push_str(to);
                }
                None => plain.push('?'),
            },
        }
    }
    plain
}

#[cfg(test)]
mod tests {
    use super::to_ascii;

    #[test]
    fn readings_and_names_are_spelled_as_one_would_type_them() {
        assert_eq!(to_ascii("6-3-5+"), "6-3-5+");
        assert_eq!(to_ascii("1⅜″ × ½"), "1 3/8\" x 1/2");
        assert_eq!(to_ascii("shut 12°"), "shut 12 deg");
        assert_eq!(to_ascii("Éclair’s bœuf"), "Eclair's boeuf");
        assert_eq!(to_ascii("a\nb\t船"), "a b ?");
    }
}
