//! Names: how they are compared, and the nearest one to a misspelling.

use unicode_normalization::UnicodeNormalization;

/// A name as it is compared and printed: trimmed, Unicode NFC.
pub fn normalise(text: &str) -> String {
    text.trim().nfc().collect()
}

/// The name most like `wrong`, if one is like enough to be what was meant.
pub fn nearest<'a>(wrong: &str, names: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let folded = wrong.to_lowercase();
    names
        .into_iter()
        .map(|name| (strsim::osa_distance(&folded, &name.to_lowercase()), name))
        .min_by_key(|(distance, _)| *distance)
        .filter(|(distance, name)| {
            let length = name.chars().count().max(wrong.chars().count());
            *distance <= (length / 3).max(1)
        })
        .map(|(_, name)| name)
}
