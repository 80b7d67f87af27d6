//! A finished picture.

use super::style::{defs, style_sheet};

/// A picture with its sentence and its description.
#[derive(Clone, Debug, PartialEq)]
pub struct Chart {
    /// What it shows, in one sentence.
    pub title: String,
    /// All that can be read off it, in words; names in full.
    pub description: String,
    /// Width in units; a unit is a pixel where it is shown at its own size.
    pub width: f64,
    /// Height in units.
    pub height: f64,
    pub(super) body: String,
}

impl Chart {
    /// A file of its own, with its style.
    pub fn svg(&self) -> String {
        let style = format!("<style>{}</style>{}", style_sheet(), defs());
        format!("{}\n", self.element("pv", &style))
    }

    /// An element of a page that holds [`style_sheet`] and [`defs`] once; `id` is unique there.
    pub fn inline(&self, id: &str) -> String {
        self.element(id, "")
    }

    fn element(&self, id: &str, style: &str) -> String {
        let (width, height) = (number(self.width), number(self.height));
        format!(
            r#"<svg xmlns="http://www.w3.org/2000/svg" class="pv" role="img" aria-labelledby="{id}-t {id}-d" viewBox="0 0 {width} {height}" width="{width}" height="{height}"><title id="{id}-t">{}</title><desc id="{id}-d">{}</desc>{style}<rect width="{width}" height="{height}" class="pv-ground"/>{}</svg>"#,
            escaped(&self.title),
            escaped(&self.description),
            self.body,
        )
    }
}

/// Text that is safe between tags and in attributes.
pub(super) fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            '\n' | '\t' => safe.push(' '),
            // XML has no place for these.
            '\u{fffe}' | '\u{ffff}' => {}
            c if c.is_control() => {}
            c => safe.push(c),
        }
    }
    safe
}

/// A coordinate: one decimal, none where it is whole.
pub(super) fn number(value: f64) -> String {
    let text = format!("{value:.1}");
    match text.strip_suffix(".0") {
        Some("-0") => "0".to_owned(),
        Some(whole) => whole.to_owned(),
        None => text,
    }
}
