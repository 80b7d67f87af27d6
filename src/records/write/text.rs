//! The smallest pieces of TOML: text, numbers, lists, tables.

use std::fmt::Write;

use crate::records::Date;

/// A heading with its keys.
pub(in crate::records) struct Section {
    pub(in crate::records) heading: String,
    /// Whether the heading is left out when no key stands below it.
    optional: bool,
    pub(in crate::records) keys: Vec<(String, String)>,
}

impl Section {
    /// A section that is written even when it is empty; the top of the file has no heading.
    pub fn new(heading: impl Into<String>) -> Self {
        let heading = heading.into();
        Section { optional: heading.is_empty(), heading, keys: Vec::new() }
    }

    /// A section that is left out when it is empty.
    pub fn optional(heading: &str) -> Self {
        Section { optional: true, ..Section::new(heading) }
    }

    /// Adds a key, if it has a value; the value is TOML already.
    pub fn put(&mut self, key: &str, value: Option<String>) {
        self.keys.extend(value.map(|value| (name(key), value)));
    }

    /// The section as lines; `None` when there is nothing to write.
    pub fn text(&self) -> Option<String> {
        if self.optional && self.keys.is_empty() {
            return None;
        }
        let heading = (!self.heading.is_empty()).then(|| format!("{}\n", self.heading));
        let mut text = heading.unwrap_or_default();
        for (key, value) in &self.keys {
            text += &format!("{key} = {value}\n");
        }
        Some(text)
    }
}

/// Text in quotes, whatever it contains.
pub(in crate::records) fn quoted(text: &str) -> String {
    let mut quoted = String::with_capacity(text.len() + 2);
    quoted.push('"');
    for sign in text.chars() {
        match sign {
            '"' => quoted.push_str("\\\""),
            '\\' => quoted.push_str("\\\\"),
            '\n' => quoted.push_str("\\n"),
            '\t' => quoted.push_str("\\t"),
            '\r' => quoted.push_str("\\r"),
            sign if sign.is_control() => {
                // Writing to a string cannot fail.
                let _ = write!(quoted, "\\u{:04X}", u32::from(sign));
            }
            sign => quoted.push(sign),
        }
    }
    quoted.push('"');
    quoted
}

/// A key: bare where it may be, else in quotes.
pub(in crate::records) fn name(key: &str) -> String {
    let plain = |sign: char| sign.is_ascii_alphanumeric() || sign == '_' || sign == '-';
    if !key.is_empty() && key.chars().all(plain) { key.to_string() } else { quoted(key) }
}

/// A number in the shortest form that reads back as the same number.
pub(in crate::records) fn number(value: f64) -> String {
    let whole = value.fract() == 0.0 && value.abs() < 1e15;
    if whole { format!("{value:.0}") } else { format!("{value:?}") }
}

/// A date: bare when known to the day, else in quotes.
pub(in crate::records) fn date(date: Date) -> String {
    if date.day.is_some() { date.to_string() } else { quoted(&date.to_string()) }
}

/// A list of values that are TOML already.
pub(in crate::records) fn list(values: impl IntoIterator<Item = String>) -> String {
    let values: Vec<_> = values.into_iter().collect();
    format!("[{}]", values.join(", "))
}

/// A table on one line; the values are TOML already.
pub(in crate::records) fn inline<K: AsRef<str>>(
    keys: impl IntoIterator<Item = (K, String)>,
) -> String {
    let keys: Vec<_> =
        keys.into_iter().map(|(key, value)| format!("{} = {value}", name(key.as_ref()))).collect();
    if keys.is_empty() { "{}".to_string() } else { format!("{{ {} }}", keys.join(", ")) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_with_every_kind_of_sign_is_escaped() {
        let text = "a \"b\" \\ \n\t\r\u{7}\u{7f} ü 'c'";
        let read: toml::Table = toml::from_str(&format!("x = {}", quoted(text))).unwrap();
        assert_eq!(read["x"].as_str(), Some(text));
        let read: toml::Table = toml::from_str(&format!("{} = 1", name(text))).unwrap();
        assert_eq!(read.keys().next().map(String::as_str), Some(text));
    }

    #[test]
    fn numbers_read_back_as_themselves() {
        for value in [0.0, 1.0, 0.1, 2.0 / 3.0, 1e-9, 1e300, 123456.0, 5e-324] {
            let read: toml::Table = toml::from_str(&format!("x = {}", number(value))).unwrap();
            let read = read["x"].as_float().or(read["x"].as_integer().map(|whole| whole as f64));
            assert_eq!(read, Some(value));
        }
        assert_eq!(number(3.0), "3");
    }

    #[test]
    fn an_empty_section_keeps_its_heading_unless_it_is_optional() {
        assert_eq!(Section::new("[gene.x]").text().as_deref(), Some("[gene.x]\n"));
        assert_eq!(Section::optional("[assume]").text(), None);
        assert_eq!(Section::new("").text(), None);
    }
}
