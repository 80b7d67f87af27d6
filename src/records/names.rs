//! Names: how they are compared, and the nearest one to a misspelling.

use unicode_normalization::UnicodeNormalization;

/// A name as it is compared and printed: trimmed, Unicode NFC.
pub fn normalise(text: &str) -> String {
    text.trim().nfc().collect()
}

/// Names longer than this are not compared; the work grows with the square of the length.
const LONGEST: usize = 200;

/// The name most like `wrong`, if one is like enough to be what was meant.
pub fn nearest<'a>(wrong: &str, names: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    if wrong.len() > LONGEST {
        return None;
    }
    let folded = wrong.to_lowercase();
    let length = folded.chars().count();
    names
        .into_iter()
        .filter(|name| name.len() <= LONGEST)
        .filter_map(|name| {
            let other = name.to_lowercase();
            let other_length = other.chars().count();
            let most = (length.max(other_length) / 3).max(1);
            if length.abs_diff(other_length) > most {
                return None;
            }
            let distance = strsim::osa_distance(&folded, &other);
            (distance <= most).then_some((distance, name))
        })
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, name)| name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_name_is_found_whatever_its_capitals() {
        assert_eq!(nearest("bella", ["Otto", "Bella", "Stella"]), Some("Bella"));
        assert_eq!(nearest("thistel", ["cobble", "thistle"]), Some("thistle"));
        assert_eq!(nearest("zebra", ["Otto", "Bella"]), None);
        assert_eq!(nearest("", ["Bella"]), None);
    }

    #[test]
    fn endless_names_are_not_compared() {
        let long = "x".repeat(1_000_000);
        assert_eq!(nearest(&long, [long.as_str()]), None);
    }
}
