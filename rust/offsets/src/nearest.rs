//! The word a person may have meant: least edit distance, a swap of neighbours counting as one
//! (optimal string alignment).

/// Longest word worth guessing at; nothing in the file's vocabulary is near it in length.
const LONGEST_GUESS: usize = 32;

/// The nearest of `known` to `word`, if it is near: a third of its letters wrong, or fewer.
pub(crate) fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let word = word.to_lowercase().chars().take(LONGEST_GUESS + 1).collect::<Vec<_>>();
    if word.len() > LONGEST_GUESS {
        return None;
    }
    let near = known.into_iter().map(|k| (distance(&word, &k.to_lowercase().chars().collect::<Vec<_>>()), k));
    let (off, best) = near.min_by_key(|&(off, _)| off)?;
    (off <= 1.max(word.len().max(best.chars().count()) / 3)).then_some(best)
}

/// "did you mean `x`?" or, if nothing is near, all there is to choose from.
pub(crate) fn suggest(word: &str, known: &[&str]) -> String {
    match nearest(word, known.iter().copied()) {
        Some(best) => format!("`{best}`"),
        None => one_of(known),
    }
}

/// `a`, `b` or `c`.
pub(crate) fn one_of(known: &[&str]) -> String {
    let quoted = known.iter().map(|k| format!("`{k}`")).collect::<Vec<_>>();
    match quoted.split_last() {
        None => String::new(),
        Some((last, [])) => last.clone(),
        Some((last, others)) => format!("{} or {last}", others.join(", ")),
    }
}

fn distance(a: &[char], b: &[char]) -> usize {
    let mut before = vec![0; b.len() + 1];
    let mut above = (0..=b.len()).collect::<Vec<_>>();
    for i in 1..=a.len() {
        let mut row = vec![i];
        for j in 1..=b.len() {
            let change = above[j - 1] + usize::from(a[i - 1] != b[j - 1]);
            let mut best = change.min(above[j] + 1).min(row[j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                best = best.min(before[j - 2] + 1);
            }
            row.push(best);
        }
        before = std::mem::replace(&mut above, row);
    }
    above[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_letters_swapped_or_one_dropped_are_guessed() {
        let known = ["planking", "tolerance", "units", "name"];
        assert_eq!(nearest("plankign", known), Some("planking"));
        assert_eq!(nearest("Tolerence", known), Some("tolerance"));
        assert_eq!(nearest("unit", known), Some("units"));
    }

    #[test]
    fn what_is_like_nothing_known_is_not_guessed() {
        assert_eq!(nearest("rigging", ["planking", "units"]), None);
        assert_eq!(nearest(&"units".repeat(100_000), ["units"]), None);
    }

    #[test]
    fn the_distance_of_two_words_is_that_of_the_textbooks() {
        let chars = |s: &str| s.chars().collect::<Vec<_>>();
        // kitten to sitting: the textbooks' example of the edit distance (from memory).
        assert_eq!(distance(&chars("kitten"), &chars("sitting")), 3);
        assert_eq!(distance(&chars("sheer"), &chars("shere")), 1);
    }
}
