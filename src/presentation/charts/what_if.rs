//! The answer over a range of each assumption.

use super::Chart;
use super::canvas::{Anchor, COLUMN, Canvas, EDGE, SMALL};
use super::ladder::level;
use super::plot::{Plane, Scale};
use super::style::{AXIS, FIRST, INK};
use crate::presentation::isolated::shortened;
use crate::presentation::names;
use crate::presentation::wording::{percent, plain};
use crate::questions::{Curve, Knob, LEVELS, Turn, WhatIf};
use crate::records::Colony;

/// Height of one panel.
const PANEL: f64 = 84.0;
/// Room for the scale at its left.
const MARGIN: f64 = 46.0;
/// A curve that moves by less than this says that the assumption does not matter.
const FLAT: f64 = 0.005;

/// How the chance of a proposition depends on each assumption.
pub fn what_if(colony: &Colony, answer: &WhatIf) -> Chart {
    let told = answer.curves.iter().map(|curve| describe(colony, curve));
    let description =
        format!("{}. {}", sentence(colony, answer), told.collect::<Vec<_>>().join(" "));
    let colony = &shortened(colony);
    let title = sentence(colony, answer);
    let mut canvas = Canvas::new(COLUMN);
    canvas.head(&title);
    let (flat, moving): (Vec<&Curve>, Vec<&Curve>) =
        answer.curves.iter().partition(|curve| flat(curve));
    for curve in &moving {
        panel(&mut canvas, colony, curve, answer.chance);
    }
    canvas.below += 4.0;
    if !flat.is_empty() {
        canvas.paragraph(EDGE, &["ink"], &no_difference(colony, &flat), 4);
    }
    if !moving.is_empty() {
        let legend = "Dot: your assumption today. Dashed lines: 5 and 95 in 100, the levels to act \
                      on. Where the line stops, the records would be impossible.";
        canvas.paragraph(EDGE, &["soft", "small"], legend, 4);
    }
    canvas.finish(title, description)
}

fn sentence(colony: &Colony, answer: &WhatIf) -> String {
    let who = names::animal(colony, answer.proposition.animal);
    let what = names::proposition(colony, answer.proposition);
    let now = percent(answer.chance);
    match &answer.turn {
        None => format!("{who} {what}, {now}: no assumption within its range turns this"),
        Some(turn) => format!("{who} {what}, {now}: {}", turn_words(colony, turn)),
    }
}

/// `misread 0.02 instead of 0.001 would make it 40 %`.
pub(in crate::presentation) fn turn_words(colony: &Colony, turn: &Turn) -> String {
    format!(
        "{} {} instead of {} would make it {}",
        knob(colony, turn.knob),
        plain(turn.value),
        plain(turn.now),
        percent(turn.chance),
    )
}

/// An assumption as it is written in the file, and whose it is.
pub(in crate::presentation) fn knob(colony: &Colony, knob: Knob) -> String {
    let of = |key: &str, gene: Option<_>| match gene {
        Some(gene) => format!("{key} of {}", colony.gene(gene).name),
        None => key.to_owned(),
    };
    match knob {
        Knob::Background(gene) => of("background", gene),
        Knob::Misread(gene) => of("misread", gene),
        Knob::OtherSire => "other_sire".to_owned(),
        Knob::Trust(None) => "trust".to_owned(),
        Knob::Trust(Some(animal)) => format!("trust for {}", names::animal(colony, animal)),
        Knob::Penetrance(gene) => of("penetrance", Some(gene)),
    }
}

/// Whether any assumption moves the answer enough to be drawn.
pub(in crate::presentation) fn anything_moves(answer: &WhatIf) -> bool {
    !answer.curves.iter().all(flat)
}

fn flat(curve: &Curve) -> bool {
    let known = || curve.chances.iter().flatten().copied();
    known().fold(0.0, f64::max) - known().fold(1.0, f64::min) < FLAT
}

/// Which assumptions make no difference.
pub(in crate::presentation) fn no_difference(colony: &Colony, flat: &[&Curve]) -> String {
    let names: Vec<String> = flat.iter().map(|curve| knob(colony, curve.knob)).collect();
    format!("Makes no difference here: {}.", names.join(", "))
}

fn describe(colony: &Colony, curve: &Curve) -> String {
    let at = |(value, chance): (&f64, &Option<f64>)| match chance {
        Some(chance) => format!("{} gives {}", plain(*value), percent(*chance)),
        None => format!("{} makes the records impossible", plain(*value)),
    };
    let all: Vec<String> = curve.values.iter().zip(&curve.chances).map(at).collect();
    format!("{} (now {}): {}.", knob(colony, curve.knob), plain(curve.now), all.join(", "))
}

fn panel(canvas: &mut Canvas, colony: &Colony, curve: &Curve, now: f64) {
    canvas.below += 8.0;
    let words = format!("{} (now {})", knob(colony, curve.knob), plain(curve.now));
    canvas.paragraph(EDGE, &["ink", "bold"], &words, 2);
    let (Some(first), Some(last)) = (curve.values.first(), curve.values.last()) else { return };
    let top = canvas.below + 10.0;
    let frame = [EDGE + MARGIN, top, COLUMN - 2.0 * EDGE - MARGIN - 12.0, PANEL];
    let plane = Plane { frame, x: Scale::even(*first, *last), y: Scale::even(0.0, 1.0) };
    scales(canvas, &plane, curve);
    for run in runs(curve) {
        plane.line(canvas, &run, FIRST);
    }
    let at = [plane.across(curve.now), plane.down(now)];
    canvas.circle(at, 5.0, &[INK.class, "edge", "l-ground"]);
    let anchor = if at[0] > COLUMN / 2.0 { Anchor::End } else { Anchor::Start };
    let aside = if anchor == Anchor::End { -7.0 } else { 7.0 };
    let below = now > 0.8 || (now > 0.25 && rises_towards(curve, anchor));
    let up = if below { 20.0 } else { -9.0 };
    canvas.patch([at[0] + aside, at[1] + up], anchor, &["ink", "bold"], &percent(now));
    canvas.below = top + PANEL + SMALL + 6.0;
}

/// Whether the curve rises on the side of today's value on which its number stands.
fn rises_towards(curve: &Curve, anchor: Anchor) -> bool {
    let Some(at) = curve.values.iter().position(|value| *value == curve.now) else { return false };
    let beside = match anchor {
        Anchor::End => curve.chances[..at].iter().rev().flatten().nth(1),
        _ => curve.chances[at..].iter().flatten().nth(2),
    };
    beside.zip(curve.chances[at]).is_some_and(|(beside, now)| *beside > now)
}

/// The frame, the levels, and what stands beside them.
fn scales(canvas: &mut Canvas, plane: &Plane, curve: &Curve) {
    let [left, top, width, height] = plane.frame;
    let right = left + width;
    canvas.lines(&[[left, top], [left, top + height], [right, top + height]], AXIS, &[]);
    for level in LEVELS {
        let y = plane.down(level);
        canvas.line([left, y], [right, y], AXIS, &["dash"]);
    }
    for at in [LEVELS[0], 0.5, LEVELS[1]] {
        let y = plane.down(at) + 4.0;
        canvas.text([left - 5.0, y], Anchor::End, &["soft", "small"], &level(at));
    }
    let y = top + height + SMALL + 3.0;
    let ends = [curve.values.first(), curve.values.last()];
    for value in ends.into_iter().flatten() {
        let x = plane.across(*value);
        canvas.text([x, y], Anchor::Middle, &["soft", "small"], &plain(*value));
    }
    let ticks = plane.x.ticks(6);
    for tick in ticks {
        let x = plane.across(tick);
        canvas.line([x, top + height], [x, top + height + 4.0], AXIS, &[]);
        if x > left + 34.0 && x < right - 34.0 {
            canvas.text([x, y], Anchor::Middle, &["soft", "small"], &round(tick));
        }
    }
}

/// A value beside a scale.
fn round(value: f64) -> String {
    let text = format!("{value:.4}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// The parts of a curve between which the records are impossible.
fn runs(curve: &Curve) -> Vec<Vec<(f64, f64)>> {
    let mut runs = vec![Vec::new()];
    for (value, chance) in curve.values.iter().zip(&curve.chances) {
        match (chance, runs.last_mut()) {
            (Some(chance), Some(run)) => run.push((*value, *chance)),
            _ => runs.push(Vec::new()),
        }
    }
    runs.retain(|run| !run.is_empty());
    runs
}
