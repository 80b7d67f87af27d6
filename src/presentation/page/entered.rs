//! What was entered, as plain text: where there is no form to show it in any more.

use askama::Template;

use crate::presentation::report::written;

#[derive(Template)]
#[template(path = "entered.html")]
struct Entered<'e> {
    pairs: &'e [(String, String)],
}

/// What was entered, each with what it is; nothing where nothing was.
pub fn entered(pairs: &[(String, String)]) -> String {
    if pairs.is_empty() { String::new() } else { written(&Entered { pairs }) }
}

/// What a field of a form is, from its name: `c0-unsexed` is `counted 1, unsexed`.
pub fn field_words(name: &str) -> String {
    let plain = |name: &str| name.replace(['-', '_'], " ");
    let row = name.split_once('-').and_then(|(row, part)| {
        let at = row.get(1..)?.parse::<usize>().ok()?;
        let kind = match row.get(..1)? {
            "c" => "counted",
            "e" => "written down",
            "m" => "line to mend",
            "y" => "hatchling",
            _ => return None,
        };
        Some(format!("{kind} {}, {}", at.saturating_add(1), plain(part)))
    });
    match name {
        "share0" => "how likely the first sire".to_owned(),
        "share1" => "how likely the other sire".to_owned(),
        "other" => "other sire".to_owned(),
        _ => row.unwrap_or_else(|| plain(name)),
    }
}

#[cfg(test)]
mod tests {
    use super::field_words;

    #[test]
    fn fields_are_told_in_words() {
        for (name, words) in [
            ("c0-unsexed", "counted 1, unsexed"),
            ("y11-first-fit", "hatchling 12, first fit"),
            ("e2-males", "written down 3, males"),
            ("sold_as", "sold as"),
            ("seen-looks", "seen looks"),
            ("ë-x", "ë x"),
            ("", ""),
        ] {
            assert_eq!(field_words(name), words);
        }
    }
}
