//! The evidence ladder: how each clutch moved the odds of one proposition.

use super::Chart;
use super::canvas::{Anchor, BODY, COLUMN, Canvas, EDGE, SMALL, point};
use super::measure::width;
use super::plot::{Plane, Scale};
use super::style::{AXIS, FIRST, INK, Paint, SECOND};
use crate::numbers::Probability;
use crate::presentation::genotypes_text::{before_words, negligible, step_line};
use crate::presentation::isolated::shortened;
use crate::presentation::names;
use crate::presentation::wording::{chance, frequency, likelihood_word, multiplier, odds, percent};
use crate::questions::{LEVELS, Story};
use crate::records::Colony;

/// Odds beyond these are drawn at the end of the scale.
const ENDS: [f64; 2] = [1e-9, 1e9];
/// Height of the strip that a step is drawn in.
const STRIP: f64 = 30.0;
/// What an arrow head takes.
const HEAD: f64 = 7.0;
/// Room at both ends of the scale for the number beside an arrow that reaches it.
const ASIDE: f64 = 58.0;

/// One rung: what is written above it, where it begins and ends.
struct Rung {
    words: String,
    from: Option<f64>,
    to: f64,
}

/// How the chance of a proposition came about, clutch by clutch, from the top down.
pub fn ladder(colony: &Colony, story: &Story) -> Chart {
    let full = (sentence(colony, story), rungs(colony, story));
    let short = shortened(colony);
    let (title, rungs) = (sentence(&short, story), rungs(&short, story));
    let mut canvas = Canvas::new(COLUMN);
    canvas.head(&title);
    let x = scale(&rungs);
    scale_above(&mut canvas, x);
    for rung in &rungs {
        draw(&mut canvas, x, rung);
    }
    scale_below(&mut canvas, x);
    canvas.below += 4.0;
    let legend = "Each row is one clutch and begins where the row above ended. To the right: more \
                  likely. Dashed lines: 5 and 95 in 100, the levels to act on; full line: even odds.";
    canvas.paragraph(EDGE, &["soft", "small"], legend, 4);
    let words = full.1.iter().map(|rung| format!("{}, to {}", rung.words, chance(rung.to)));
    let description = format!("{}. {}.", full.0, words.collect::<Vec<_>>().join(". "));
    canvas.finish(title, description)
}

/// The proposition, and what its chance comes to.
pub(super) fn sentence(colony: &Colony, story: &Story) -> String {
    let who = names::animal(colony, story.proposition.animal);
    let what = names::proposition(colony, story.proposition);
    match story.after {
        1.0 => format!("{who} {what}: proven"),
        0.0 => format!("{who} {what}: ruled out"),
        after => format!(
            "{who} {what}: {} ({}), {}",
            frequency(after),
            percent(after),
            likelihood_word(after)
        ),
    }
}

fn rungs(colony: &Colony, story: &Story) -> Vec<Rung> {
    let words = before_words(colony, story.proposition.animal).to_owned();
    let mut rungs = vec![Rung { words, from: None, to: story.before }];
    let mut at = story.before;
    for step in story.steps.iter().filter(|step| !negligible(step)) {
        let [young, _] = step_line(colony, story, step);
        let by = multiplier(step.multiplier);
        let odds = if by.starts_with('×') { format!("odds {by}") } else { by };
        rungs.push(Rung { words: format!("{young} {odds}"), from: Some(at), to: step.after });
        at = step.after;
    }
    if (at - story.after).abs() > 1e-3 {
        let words = match story.steps.is_empty() {
            true => "all records together",
            false => "clutches that hardly moved it, together",
        };
        rungs.push(Rung { words: words.to_owned(), from: Some(at), to: story.after });
    }
    rungs
}

/// A round chance beside a scale.
pub(super) fn level(chance: f64) -> String {
    let value = format!("{:.1}", chance * 100.0);
    format!("{} %", value.strip_suffix(".0").unwrap_or(&value))
}

fn odds_of(chance: f64) -> f64 {
    Probability::clamped(chance).odds().clamp(ENDS[0], ENDS[1])
}

/// A scale with room for every rung and for the levels.
fn scale(rungs: &[Rung]) -> Scale {
    let all = rungs.iter().map(|rung| odds_of(rung.to));
    let [low, high] = [1.0 / 60.0, 60.0];
    let (low, high) = all.fold((low, high), |(low, high), o| (o.min(low), o.max(high)));
    Scale::powers(low / 1.5, high * 1.5)
}

fn plane(x: Scale, top: f64) -> Plane {
    let frame = [EDGE + ASIDE, top, COLUMN - 2.0 * (EDGE + ASIDE), STRIP];
    Plane { frame, x, y: Scale::even(0.0, 1.0) }
}

/// The scale of odds.
fn scale_above(canvas: &mut Canvas, x: Scale) {
    canvas.paragraph(EDGE, &["soft", "small"], "odds", 1);
    let plane = plane(x, canvas.below);
    let labels = x.ticks(6).into_iter().map(|tick| {
        let chance = tick / (1.0 + tick);
        (plane.across(tick), odds(chance))
    });
    labels_in_a_row(canvas, labels.collect());
    let y = canvas.below + 4.0;
    canvas.line([EDGE, y], [COLUMN - EDGE, y], AXIS, &[]);
    canvas.below = y;
}

/// The scale of chances.
fn scale_below(canvas: &mut Canvas, x: Scale) {
    let plane = plane(x, canvas.below);
    canvas.line([EDGE, canvas.below], [COLUMN - EDGE, canvas.below], AXIS, &[]);
    // The levels and the middle first: what comes later gives way.
    let chances = [LEVELS[0], LEVELS[1], 0.5, 0.001, 0.999, 0.01, 0.99, 0.2, 0.8];
    let chances = chances.into_iter().filter(|c| x.range_holds(odds_of(*c)));
    let labels = chances.map(|c| (plane.across(odds_of(c)), level(c)));
    labels_in_a_row(canvas, labels.collect());
    canvas.paragraph(EDGE, &["soft", "small"], "chance", 1);
}

/// Labels at their places in one line; one that would touch an earlier one is left out.
fn labels_in_a_row(canvas: &mut Canvas, labels: Vec<(f64, String)>) {
    canvas.below += SMALL + 3.0;
    let mut taken: Vec<[f64; 2]> = Vec::new();
    for (x, label) in labels {
        let wide = width(&label, SMALL);
        let left = (x - wide / 2.0).clamp(EDGE / 2.0, COLUMN - EDGE / 2.0 - wide);
        if taken.iter().any(|[from, to]| left < to + 6.0 && left + wide > from - 6.0) {
            continue;
        }
        taken.push([left, left + wide]);
        canvas.text([left, canvas.below], Anchor::Start, &["soft", "small"], &label);
    }
}

fn draw(canvas: &mut Canvas, x: Scale, rung: &Rung) {
    canvas.below += 3.0;
    canvas.paragraph(EDGE, &["ink"], &rung.words, 4);
    let top = canvas.below + 3.0;
    let plane = plane(x, top);
    for (at, more) in [(LEVELS[0], "dash"), (0.5, "edge"), (LEVELS[1], "dash")] {
        let x = plane.across(odds_of(at));
        canvas.line([x, top], [x, top + STRIP], AXIS, &[more]);
    }
    let y = top + STRIP / 2.0;
    let to = plane.across(odds_of(rung.to));
    let from = rung.from.map(|from| plane.across(odds_of(from)));
    let rises = from.is_none_or(|from| to >= from);
    let paint = match from {
        None => INK,
        Some(_) if rises => FIRST,
        Some(_) => SECOND,
    };
    match from {
        Some(from) => arrow(canvas, from, to, y, paint),
        None => diamond(canvas, [to, y], paint),
    }
    label(canvas, [to, y], rises, &end_words(rung.to));
    canvas.below = top + STRIP;
}

fn end_words(chance: f64) -> String {
    match chance {
        0.0 => "ruled out".to_owned(),
        1.0 => "proven".to_owned(),
        chance => percent(chance),
    }
}

/// The chance beside the head of an arrow; both ends of the scale have room for it.
fn label(canvas: &mut Canvas, [x, y]: [f64; 2], rises: bool, words: &str) {
    let (at, anchor) = match rises {
        true => (x + HEAD + 3.0, Anchor::Start),
        false => (x - HEAD - 3.0, Anchor::End),
    };
    canvas.patch([at, y + BODY / 2.0 - 2.0], anchor, &["ink", "bold"], words);
}

fn arrow(canvas: &mut Canvas, from: f64, to: f64, y: f64, paint: Paint) {
    canvas.circle([from, y], 3.5, &["ground", "edge", &format!("l-{}", paint.class)]);
    let back = if to >= from { -HEAD } else { HEAD };
    if (to - from).abs() > HEAD + 3.5 {
        let start = if to >= from { from + 3.5 } else { from - 3.5 };
        canvas.line([start, y], [to + back, y], paint, &["thick"]);
    }
    let corners = [[to, y], [to + back, y - 5.0], [to + back, y + 5.0]].map(point);
    canvas.path(&format!("M{}Z", corners.join("L")), &[paint.class]);
}

fn diamond(canvas: &mut Canvas, [x, y]: [f64; 2], paint: Paint) {
    let corners = [[x, y - 6.0], [x + 6.0, y], [x, y + 6.0], [x - 6.0, y]].map(point);
    canvas.path(&format!("M{}Z", corners.join("L")), &[paint.class]);
}
