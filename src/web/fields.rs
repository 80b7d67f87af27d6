//! What a form or an address says, name by name.

use percent_encoding::percent_decode_str;

/// The fields of a form, in their order; a name may come several times.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Fields(Vec<(String, String)>);

impl Fields {
    /// Reads `application/x-www-form-urlencoded`, as a browser writes it.
    ///
    /// Whatever is not well formed is taken as it stands; signs that are not UTF-8 are replaced.
    ///
    /// # Source
    ///
    /// WHATWG, URL Standard, section 5.1.
    pub fn read(text: &str) -> Self {
        let pair = |part: &str| {
            let (name, value) = part.split_once('=').unwrap_or((part, ""));
            (decoded(name), decoded(value))
        };
        Fields(text.split('&').filter(|part| !part.is_empty()).map(pair).collect())
    }

    /// The first value of a name, without blanks around it; empty where there is none.
    pub fn get(&self, name: &str) -> &str {
        self.given(name).unwrap_or_default()
    }

    /// The first value of a name, without blanks around it.
    pub fn given(&self, name: &str) -> Option<&str> {
        self.0.iter().find(|(own, _)| own == name).map(|(_, value)| value.trim())
    }

    /// The first value of a name as it was written.
    pub fn raw(&self, name: &str) -> &str {
        self.0.iter().find(|(own, _)| own == name).map_or("", |(_, value)| value)
    }

    /// Every value of a name.
    pub fn all(&self, name: &str) -> Vec<String> {
        let own = self.0.iter().filter(|(own, _)| own == name);
        own.map(|(_, value)| value.clone()).collect()
    }

    /// What a keeper entered, without what our own pages carry besides.
    pub fn entered(&self) -> impl Iterator<Item = (&str, &str)> {
        const OWN: [&str; 9] =
            ["token", "seen", "do", "part", "new", "lines", "counts", "young", "counted"];
        let own = |name: &str| {
            let kept = ["was-", "-was"].iter().any(|part| name.contains(part));
            OWN.contains(&name) || kept || name.ends_with("-line") || name.ends_with("-what")
        };
        let all = self.0.iter().map(|(name, value)| (name.as_str(), value.as_str()));
        all.filter(move |(name, value)| !own(name) && !value.trim().is_empty())
    }

    /// A small number, at most `most`; 0 where it is none.
    pub fn number(&self, name: &str, most: usize) -> usize {
        self.get(name).parse::<usize>().unwrap_or(0).min(most)
    }
}

fn decoded(text: &str) -> String {
    let blanks = text.replace('+', " ");
    percent_decode_str(&blanks).decode_utf8_lossy().into_owned()
}

#[cfg(test)]
mod tests {
    use proveout::presentation::page::coded;

    use super::*;

    #[test]
    fn names_and_values_are_read_as_a_browser_writes_them() {
        let fields = Fields::read("id=2024-A&looks=super+ash&looks=a%26b%3Dc&x&=y&%zz=%4&n=%C3%AB");
        assert_eq!(fields.get("id"), "2024-A");
        assert_eq!(fields.all("looks"), ["super ash", "a&b=c"]);
        assert_eq!((fields.given("x"), fields.given("nothing")), (Some(""), None));
        assert_eq!(fields.get("%zz"), "%4");
        assert_eq!(fields.get("n"), "ë");
        assert_eq!(Fields::read("a=%ff").get("a"), "\u{fffd}");
    }

    #[test]
    fn numbers_stay_in_their_bounds() {
        let fields = Fields::read("a=7&b=99999999999999999999&c=-1&d=x");
        let read = ["a", "b", "c", "d", "e"].map(|name| fields.number(name, 50));
        assert_eq!(read, [7, 0, 0, 0, 0]);
        assert_eq!(Fields::read("a=700").number("a", 50), 50);
    }

    #[test]
    fn what_is_encoded_reads_as_itself() {
        for text in ["Pernel", "a b&c=d/../%", "ë שׁ \u{1f98e}", ""] {
            assert_eq!(Fields::read(&format!("x={}", coded(text))).raw("x"), text);
        }
    }
}
