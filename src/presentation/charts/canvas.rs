//! A sheet to draw on, from top to bottom.

use std::fmt::Write;

use super::Chart;
use super::chart::{escaped, number};
use super::measure::{lines, width};
use super::style::Paint;

/// Width of a picture that stands in a column: readable on a telephone and on paper.
pub(super) const COLUMN: f64 = 400.0;
/// What is kept free at the edges.
pub(super) const EDGE: f64 = 10.0;
/// Font sizes, as in the style sheet.
pub(super) const HEAD: f64 = 15.0;
pub(super) const BODY: f64 = 13.0;
pub(super) const SMALL: f64 = 12.0;
/// From one base line to the next, in font sizes.
const LEADING: f64 = 1.3;
/// How much wider bold letters are.
pub(super) const BOLD: f64 = 1.12;

/// Where a text stands against its point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

impl Anchor {
    fn name(self) -> &'static str {
        match self {
            Anchor::Start => "",
            Anchor::Middle => r#" text-anchor="middle""#,
            Anchor::End => r#" text-anchor="end""#,
        }
    }

    /// The left edge of a text of this width.
    pub(super) fn left(self, x: f64, width: f64) -> f64 {
        match self {
            Anchor::Start => x,
            Anchor::Middle => x - width / 2.0,
            Anchor::End => x - width,
        }
    }
}

/// A sheet to draw on.
pub(super) struct Canvas {
    pub(super) width: f64,
    /// How far down something was written; what comes next goes below.
    pub(super) below: f64,
    body: String,
}

impl Canvas {
    pub(super) fn new(width: f64) -> Self {
        Canvas { width, below: EDGE, body: String::new() }
    }

    /// The finished picture; where there is nothing to be read off it, its title says all.
    pub(super) fn finish(self, title: String, description: String) -> Chart {
        let description = if description.is_empty() { title.clone() } else { description };
        let height = self.below + EDGE;
        Chart { title, description, width: self.width, height, body: self.body }
    }

    /// Marks a rectangle; `classes` without their prefix.
    pub(super) fn rect(&mut self, [x, y, w, h]: [f64; 4], classes: &[&str]) {
        let [x, y, w, h] = [x, y, w.max(0.0), h.max(0.0)].map(number);
        let classes = prefixed(classes);
        let _ = write!(
            self.body,
            r#"<rect x="{x}" y="{y}" width="{w}" height="{h}" class="{classes}"/>"#
        );
    }

    /// Marks a path in the notation of SVG.
    pub(super) fn path(&mut self, d: &str, classes: &[&str]) {
        let _ = write!(self.body, r#"<path d="{d}" class="{}"/>"#, prefixed(classes));
    }

    /// A straight line.
    pub(super) fn line(&mut self, from: [f64; 2], to: [f64; 2], paint: Paint, more: &[&str]) {
        let d = format!("M{}L{}", point(from), point(to));
        let stroke = format!("l-{}", paint.class);
        let mut classes = vec!["line", &stroke];
        classes.extend(more);
        self.path(&d, &classes);
    }

    /// Lines from point to point.
    pub(super) fn lines(&mut self, points: &[[f64; 2]], paint: Paint, more: &[&str]) {
        let stroke = format!("l-{}", paint.class);
        let mut classes = vec!["line", &stroke];
        classes.extend(more);
        self.path(&through(points), &classes);
    }

    /// A circle.
    pub(super) fn circle(&mut self, [x, y]: [f64; 2], r: f64, classes: &[&str]) {
        let [x, y, r] = [x, y, r].map(number);
        let classes = prefixed(classes);
        let _ = write!(self.body, r#"<circle cx="{x}" cy="{y}" r="{r}" class="{classes}"/>"#);
    }

    /// One line of text; `y` is its base line.
    pub(super) fn text(&mut self, [x, y]: [f64; 2], anchor: Anchor, classes: &[&str], text: &str) {
        let ([x, y], anchor, classes) = ([x, y].map(number), anchor.name(), prefixed(classes));
        let text = escaped(text);
        let _ =
            write!(self.body, r#"<text x="{x}" y="{y}"{anchor} class="{classes}">{text}</text>"#);
    }

    /// One line of small text on a patch of ground, so that lines behind it do not cross it.
    ///
    /// It is moved sideways where it would leave the sheet.
    pub(super) fn patch(&mut self, [x, y]: [f64; 2], anchor: Anchor, classes: &[&str], text: &str) {
        let size = if classes.contains(&"small") { SMALL } else { BODY };
        let wide = width(text, size) * if classes.contains(&"bold") { BOLD } else { 1.0 };
        let wished = anchor.left(x, wide);
        let left = wished.min(self.width - EDGE / 2.0 - wide).max(EDGE / 2.0);
        self.rect([left - 1.0, y - size + 1.0, wide + 2.0, size + 3.0], &["ground"]);
        self.text([x + left - wished, y], anchor, classes, text);
    }

    /// The sentence on top.
    pub(super) fn head(&mut self, sentence: &str) {
        let room = self.width - 2.0 * EDGE;
        for line in lines(sentence, HEAD * BOLD, room, 4) {
            self.below += HEAD * LEADING;
            self.text([EDGE, self.below], Anchor::Start, &["ink", "head"], &line);
        }
        self.below += 8.0;
    }

    /// Lines of text below what is there; at most so many.
    pub(super) fn paragraph(&mut self, left: f64, classes: &[&str], text: &str, at_most: usize) {
        let size = if classes.contains(&"small") { SMALL } else { BODY };
        let bold = if classes.contains(&"bold") { BOLD } else { 1.0 };
        for line in lines(text, size * bold, self.width - left - EDGE, at_most) {
            self.below += size * LEADING;
            self.text([left, self.below], Anchor::Start, classes, &line);
        }
    }
}

/// `x y`, for a path.
pub(super) fn point([x, y]: [f64; 2]) -> String {
    format!("{} {}", number(x), number(y))
}

/// A path through points.
pub(super) fn through(points: &[[f64; 2]]) -> String {
    let all: Vec<String> = points.iter().map(|p| point(*p)).collect();
    if all.is_empty() { String::new() } else { format!("M{}", all.join("L")) }
}

fn prefixed(classes: &[&str]) -> String {
    classes.iter().map(|class| format!("pv-{class}")).collect::<Vec<_>>().join(" ")
}
