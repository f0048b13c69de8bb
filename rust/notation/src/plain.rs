//! Text as plain ASCII, for files whose readers agree on nothing else.

/// Characters of drawings as one would type them without; letters are spelled by `deunicode`. Fractions and `°` take a space after a digit: `1⅜` is `1 3/8`.
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
    ('⌀', "dia "),
    ('Æ', "AE"),
    ('£', "GBP"),
    ('€', "EUR"),
    ('\u{a0}', " "),
    ('\u{2009}', " "),
    ('\u{202f}', " "),
    ('α', "alpha"),
    ('β', "beta"),
    ('θ', "theta"),
    ('φ', "phi"),
    ('ρ', "rho"),
    ('Δ', "Delta"),
    ('→', "->"),
];

/// The text in printable ASCII: other characters spelled out, or `?` where there is no spelling;
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
                None => plain.push_str(deunicode::deunicode_char(character).map_or("?", str::trim_end)),
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
        assert_eq!(to_ascii("Élan, Łódź, Ærø, Þór"), "Elan, Lodz, AEro, Thor");
        assert_eq!(to_ascii("a\nb\t\u{e000}"), "a b ?");
    }
}
