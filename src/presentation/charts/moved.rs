//! What a change moved: each chance before and after, on one scale.

use super::Chart;
use super::canvas::{Anchor, BODY, COLUMN, Canvas, EDGE, SMALL, point};
use super::ladder::level;
use super::style::{AXIS, FIRST, INK, SECOND};
use crate::presentation::isolated::shortened;
use crate::presentation::names;
use crate::presentation::wording::{chance, percent};
use crate::questions::{CarrierMoved, LEVELS};
use crate::records::Colony;

/// So many are drawn.
const DRAWN: usize = 8;
/// Height of the strip that a chance is drawn in.
const STRIP: f64 = 26.0;
/// What an arrow head takes.
const HEAD: f64 = 7.0;

/// The chances that moved, with a ring where each was and an arrow to where it is.
pub fn moved(colony: &Colony, all: &[CarrierMoved]) -> Chart {
    let were: Vec<&CarrierMoved> = all.iter().filter(|one| one.before.is_some()).collect();
    let told: Vec<String> = were.iter().take(DRAWN).map(|one| words(colony, one)).collect();
    let colony = &shortened(colony);
    let title = match were.as_slice() {
        [] => "No chance moved".to_owned(),
        [one] => words(colony, one),
        several => format!("{} chances moved", several.len()),
    };
    let mut canvas = Canvas::new(COLUMN);
    canvas.head(&title);
    for one in were.iter().take(DRAWN) {
        draw(&mut canvas, colony, one);
    }
    scale(&mut canvas);
    let legend = "A ring is the chance before, the arrow leads to the chance after. Dashed lines: 5 \
                  and 95 in 100, the levels to act on.";
    canvas.paragraph(EDGE, &["soft", "small"], legend, 4);
    canvas.finish(title, told.join(". ") + ".")
}

fn words(colony: &Colony, one: &CarrierMoved) -> String {
    let who = names::animal(colony, one.proposition.animal);
    let what = names::proposition(colony, one.proposition);
    let before = one.before.map_or(String::new(), |before| format!("from {} ", chance(before)));
    format!("{who} {what}: {before}to {}", chance(one.after))
}

fn x(chance: f64) -> f64 {
    let room = COLUMN - 2.0 * EDGE - 2.0 * HEAD;
    EDGE + HEAD + room * chance
}

fn draw(canvas: &mut Canvas, colony: &Colony, one: &CarrierMoved) {
    let Some(before) = one.before else { return };
    let who = names::animal(colony, one.proposition.animal);
    let what = names::proposition(colony, one.proposition);
    canvas.below += 4.0;
    canvas.paragraph(EDGE, &["ink", "bold"], &format!("{who} {what}"), 2);
    let numbers = format!("from {} to {}", percent(before), percent(one.after));
    canvas.paragraph(EDGE, &["ink"], &numbers, 1);
    let (top, bottom) = (canvas.below + 4.0, canvas.below + 4.0 + STRIP);
    let middle = top + STRIP / 2.0;
    canvas.line([x(0.0), middle], [x(1.0), middle], AXIS, &[]);
    for at in LEVELS {
        canvas.line([x(at), top], [x(at), bottom], AXIS, &["dash"]);
    }
    let paint = if one.after >= before { FIRST } else { SECOND };
    let (from, to) = (x(before), x(one.after));
    canvas.line([from, middle], [to, middle], paint, &["thick"]);
    canvas.circle([from, middle], 4.5, &["ground", "edge", &format!("l-{}", paint.class)]);
    let back = if to >= from { -HEAD } else { HEAD };
    let head = format!(
        "M{}L{}L{}Z",
        point([to, middle]),
        point([to + back, middle - HEAD * 0.7]),
        point([to + back, middle + HEAD * 0.7])
    );
    canvas.path(&head, &[paint.class]);
    canvas.below = bottom;
}

fn scale(canvas: &mut Canvas) {
    let y = canvas.below + 2.0;
    canvas.line([x(0.0), y], [x(1.0), y], INK, &[]);
    for at in [0.0, 0.25, 0.5, 0.75, 1.0] {
        canvas.line([x(at), y], [x(at), y + 4.0], INK, &[]);
        let anchor = match at {
            0.0 => Anchor::Start,
            1.0 => Anchor::End,
            _ => Anchor::Middle,
        };
        canvas.text([x(at), y + 4.0 + BODY], anchor, &["soft", "small"], &level(at));
    }
    canvas.below = y + BODY + SMALL;
}
