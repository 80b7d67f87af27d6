//! Lists that lead from one page to the next.

use std::fmt::Write;

use askama::Template;

use crate::presentation::report::written;

/// One line of a list, and the page it leads to.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The page, if there is one.
    pub address: Option<String>,
    /// What it is.
    pub what: String,
    /// A chance, to be drawn as a bar.
    pub chance: Option<f64>,
    /// What there is to say of it.
    pub how: String,
}

/// A list.
#[derive(Template)]
#[template(path = "rows.html")]
struct Rows<'r> {
    rows: &'r [Row],
}

/// So many rows are shown at once; the others can be opened.
const SHOWN: usize = 12;

/// A heading with a list under it; a long one is cut, and its rest can be opened.
pub fn listed(heading: &str, rows: &[Row]) -> String {
    let mut html = format!("<h2>{heading}</h2>");
    let (first, rest) = rows.split_at(rows.len().min(SHOWN));
    html.push_str(&written(&Rows { rows: first }));
    if !rest.is_empty() {
        let _ = write!(html, "<details><summary>and {} more</summary>", rest.len());
        html.push_str(&written(&Rows { rows: rest }));
        html.push_str("</details>");
    }
    html
}

/// The whole list.
pub fn rows(rows: &[Row]) -> String {
    written(&Rows { rows })
}
