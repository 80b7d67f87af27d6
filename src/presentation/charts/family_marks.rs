//! The symbols of a family, and what they stand for.

use super::canvas::{Anchor, Canvas, EDGE, SMALL, point};
use super::chart::number;
use super::measure::{shortened, width};
use super::style::{AXIS, INK};
use crate::records::Sex;

/// Side of a symbol.
pub(super) const SIDE: f64 = 30.0;
/// Room that an animal takes across, its label included, at least and at most.
const SLOT: [f64; 2] = [50.0, 92.0];
/// Kept free between labels.
const BETWEEN: f64 = 10.0;
/// Room for the two lines below a symbol.
pub(super) const LABEL: f64 = 32.0;

/// What is inside of a symbol.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Inside {
    /// It shows the look.
    Shows,
    /// Filled to the height of a chance.
    Chance(f64),
    /// Nothing is known.
    Empty,
}

/// Draws a symbol around a point.
pub(super) fn symbol(canvas: &mut Canvas, [x, y]: [f64; 2], sex: Option<Sex>, inside: Inside) {
    let outline = outline([x, y], sex, 1.0);
    canvas.path(&outline, &["ground"]);
    match inside {
        Inside::Shows => canvas.path(&outline, &["fill-2"]),
        Inside::Chance(chance) if chance > 0.0 => {
            canvas.path(&self::outline([x, y], sex, chance), &["fill-1"]);
        }
        Inside::Chance(_) | Inside::Empty => {}
    }
    canvas.path(&outline, &["line", "l-ink", "edge"]);
}

/// The outline of the part of a symbol that lies below a height; 1 is all of it.
fn outline([x, y]: [f64; 2], sex: Option<Sex>, height: f64) -> String {
    let r = SIDE / 2.0;
    let level = y + r - SIDE * height.clamp(0.0, 1.0);
    let (bottom, left, right) = (y + r, x - r, x + r);
    match sex {
        Some(Sex::Male) => {
            polygon(&[[left, level], [right, level], [right, bottom], [left, bottom]])
        }
        Some(Sex::Female) if height >= 1.0 => {
            let [r, w] = [number(r), number(SIDE)];
            let start = point([left, y]);
            format!("M{start}a{r} {r} 0 1 1 {w} 0a{r} {r} 0 1 1 -{w} 0Z")
        }
        Some(Sex::Female) => {
            let half = (r * r - (level - y) * (level - y)).max(0.0).sqrt();
            let large = u8::from(level < y);
            let [from, to] = [[x - half, level], [x + half, level]].map(point);
            let r = number(r);
            format!("M{from}A{r} {r} 0 {large} 0 {to}Z")
        }
        None if level <= y => {
            let half = r - (y - level);
            polygon(&[[x - half, level], [x + half, level], [right, y], [x, bottom], [left, y]])
        }
        None => {
            let half = r - (level - y);
            polygon(&[[x - half, level], [x + half, level], [x, bottom]])
        }
    }
}

fn polygon(corners: &[[f64; 2]]) -> String {
    let corners: Vec<String> = corners.iter().map(|corner| point(*corner)).collect();
    format!("M{}Z", corners.join("L"))
}

/// Room that an animal with such a label takes across.
pub(super) fn room(name: &str, chance: &str) -> f64 {
    let wide = width(name, SMALL).max(width(chance, SMALL));
    (wide + BETWEEN).clamp(SLOT[0], SLOT[1])
}

/// The name and the number below a symbol whose middle is at `y`.
pub(super) fn label(canvas: &mut Canvas, [x, y]: [f64; 2], name: &str, chance: &str) {
    let name = shortened(name, SMALL, SLOT[1] - BETWEEN);
    let base = y + SIDE / 2.0 + SMALL + 2.0;
    canvas.patch([x, base], Anchor::Middle, &["ink", "small"], &name);
    if !chance.is_empty() {
        canvas.patch([x, base + SMALL + 2.0], Anchor::Middle, &["soft", "small"], chance);
    }
}

/// A word inside of a symbol.
pub(super) fn inside(canvas: &mut Canvas, [x, y]: [f64; 2], word: &str) {
    canvas.patch([x, y + 4.5], Anchor::Middle, &["ink", "small"], word);
}

/// The slash of an animal that is dead.
pub(super) fn slash(canvas: &mut Canvas, [x, y]: [f64; 2]) {
    let r = SIDE / 2.0 + 4.0;
    canvas.line([x - r, y + r], [x + r, y - r], INK, &["edge"]);
}

/// What each symbol stands for; `look` is what the hatched ones show.
pub(super) fn legend(canvas: &mut Canvas, gene: &str, look: &str) {
    canvas.below += 12.0;
    canvas.paragraph(EDGE, &["ink", "bold"], "How to read it", 1);
    canvas.below += 6.0;
    let shows = format!("shows {look}");
    let added = format!(
        "our addition: filled to the height of the chance that it carries {gene}; the number below \
         is that chance"
    );
    let mut row = Row { x: EDGE, top: canvas.below, high: SIDE };
    let sexes = [(Some(Sex::Male), "male"), (Some(Sex::Female), "female")];
    for (sex, words) in sexes.into_iter().chain([(None, "sex not recorded")]) {
        row.item(canvas, words, |canvas, at| symbol(canvas, at, sex, Inside::Empty));
    }
    row.item(canvas, "so many young without a name", |canvas, at| {
        symbol(canvas, at, None, Inside::Empty);
        inside(canvas, at, "3");
    });
    row.item(canvas, "nobody recorded who", |canvas, at| {
        symbol(canvas, at, None, Inside::Empty);
        inside(canvas, at, "?");
    });
    row.item(canvas, &shows, |canvas, at| symbol(canvas, at, Some(Sex::Female), Inside::Shows));
    row.item(canvas, "dead", |canvas, at| {
        symbol(canvas, at, Some(Sex::Male), Inside::Empty);
        slash(canvas, at);
    });
    row.item(canvas, "parents are relatives", relatives);
    row.item(canvas, "a sire in doubt", |canvas, [x, y]| {
        canvas.line([x - 15.0, y], [x + 15.0, y], AXIS, &["dash", "edge"]);
    });
    row.item(canvas, &added, |canvas, at| {
        symbol(canvas, at, Some(Sex::Female), Inside::Chance(0.67));
    });
    canvas.below = row.top + row.high + 8.0;
}

fn relatives(canvas: &mut Canvas, [x, y]: [f64; 2]) {
    for aside in [-2.0, 2.0] {
        canvas.line([x - 15.0, y + aside], [x + 15.0, y + aside], AXIS, &["edge"]);
    }
}

/// Symbols with their words, one beside the other as far as there is room.
struct Row {
    x: f64,
    top: f64,
    high: f64,
}

impl Row {
    fn item(&mut self, canvas: &mut Canvas, words: &str, draw: impl FnOnce(&mut Canvas, [f64; 2])) {
        let room = canvas.width - 2.0 * EDGE - SIDE - 10.0;
        let lines = super::measure::lines(words, SMALL, room.min(260.0), 4);
        let wide = lines.iter().map(|line| width(line, SMALL)).fold(0.0, f64::max);
        if self.x > EDGE && self.x + SIDE + 10.0 + wide > canvas.width - EDGE {
            (self.x, self.top, self.high) = (EDGE, self.top + self.high + 10.0, SIDE);
        }
        draw(canvas, [self.x + SIDE / 2.0, self.top + SIDE / 2.0 + 2.0]);
        let high = lines.len() as f64 * 14.0;
        let mut y = self.top + (SIDE - high).max(0.0) / 2.0 + 13.0;
        for line in &lines {
            canvas.text([self.x + SIDE + 8.0, y], Anchor::Start, &["soft", "small"], line);
            y += 14.0;
        }
        self.x += SIDE + 8.0 + wide + 18.0;
        self.high = self.high.max(high);
    }
}
