//! Today's chance as a block of a hundred.

use super::Chart;
use super::canvas::{COLUMN, Canvas, EDGE};
use super::ladder::sentence;
use crate::presentation::isolated::shortened;
use crate::presentation::names;
use crate::presentation::wording::{chance, frequency, percent};
use crate::questions::Story;
use crate::records::Colony;

/// Side of one field, and from one field to the next.
const FIELD: f64 = 17.0;
const PITCH: f64 = 19.0;

/// The chance of a proposition as so many of a hundred fields, filled from the lower left corner.
pub fn hundred(colony: &Colony, story: &Story) -> Chart {
    let full = sentence(colony, story);
    let colony = &shortened(colony);
    let title = sentence(colony, story);
    let mut canvas = Canvas::new(COLUMN);
    canvas.head(&title);
    let top = canvas.below;
    block(&mut canvas, top, story.after);
    let what = names::proposition(colony, story.proposition);
    let x = EDGE + 10.0 * PITCH + 16.0;
    canvas.below = top;
    canvas.paragraph(x, &["ink", "bold"], &frequency(story.after), 2);
    canvas.paragraph(x, &["ink", "bold"], &percent(story.after), 1);
    canvas.below += 10.0;
    key(&mut canvas, x, "fill-1", &format!("{what}: {}", percent(story.after)));
    key(&mut canvas, x, "ground", &format!("does not: {}", percent(1.0 - story.after)));
    canvas.below = canvas.below.max(top + 10.0 * PITCH);
    canvas.paragraph(
        EDGE,
        &["soft", "small"],
        "Of a hundred animals with such records, the filled fields are those of which it is true.",
        2,
    );
    let description = format!("{full}: {}.", chance(story.after));
    canvas.finish(title, description)
}

/// A hundred fields; the last one is filled in part.
fn block(canvas: &mut Canvas, top: f64, chance: f64) {
    for at in 0..100u8 {
        let (row, column) = (f64::from(at / 10), f64::from(at % 10));
        let [x, y] = [EDGE + column * PITCH, top + (9.0 - row) * PITCH];
        let filled = (chance * 100.0 - f64::from(at)).clamp(0.0, 1.0);
        // Less than this of a field is not seen.
        let seen = filled > 0.02;
        if seen {
            canvas.rect([x, y, FIELD * filled, FIELD], &["fill-1"]);
        }
        let edge = if seen { "l-first" } else { "l-axis" };
        canvas.rect([x, y, FIELD, FIELD], &["line", edge]);
    }
}

/// A field and what it stands for.
fn key(canvas: &mut Canvas, x: f64, fill: &str, words: &str) {
    let y = canvas.below + 4.0;
    let edge = if fill == "ground" { "l-axis" } else { "l-first" };
    canvas.rect([x, y, FIELD, FIELD], &[fill, "edge", edge]);
    canvas.below = y - 3.0;
    canvas.paragraph(x + FIELD + 6.0, &["ink"], words, 5);
    canvas.below = canvas.below.max(y + FIELD) + 2.0;
}
