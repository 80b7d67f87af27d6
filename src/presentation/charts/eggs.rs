//! How many young a test takes.

use super::Chart;
use super::canvas::{Anchor, COLUMN, Canvas, EDGE, SMALL};
use super::plot::{Plane, Scale};
use super::style::{AXIS, FIRST, INK, Paint};
use crate::presentation::names;
use crate::presentation::wording::percent;
use crate::questions::{EggsAnswer, EggsStep};
use crate::records::Colony;

/// Height of one panel.
const PANEL: f64 = 84.0;
/// Room for the scale at its left.
const MARGIN: f64 = 46.0;
/// The least number of young shown.
const LEAST: u32 = 12;
/// The most.
const MOST: u32 = 60;

/// One panel: a curve, the line it has to reach, and where it does.
struct Panel {
    words: String,
    values: Vec<(f64, f64)>,
    line: f64,
    reached: Option<u32>,
    paint: Paint,
}

/// The three ways in which young settle a question, over their number.
pub fn eggs(colony: &Colony, answer: &EggsAnswer) -> Chart {
    let animal = names::animal(colony, answer.question.animal);
    let mate = names::animal(colony, answer.mate);
    let gene = colony.gene(answer.question.gene);
    let allele = gene.allele_name(answer.question.allele);
    let settles = match answer.settles {
        Some(needed) => format!(
            "{} young by {mate} settle it with a chance of {}",
            needed.young,
            percent(answer.assurance)
        ),
        None => format!("no number of young by {mate} settles it so surely"),
    };
    let sentence = format!("Does {animal} carry {allele}? {settles}");
    let mut canvas = Canvas::new(COLUMN);
    canvas.head(&sentence);
    let end = [answer.proves, answer.clears, answer.settles]
        .into_iter()
        .flatten()
        .map(|one| one.young)
        .max();
    let end = end.map_or(MOST, |end| (end + 4).clamp(LEAST, MOST));
    let curve = |of: &dyn Fn(&EggsStep) -> f64| -> Vec<(f64, f64)> {
        let steps = answer.curve.iter().filter(|step| step.young <= end);
        steps.map(|step| (f64::from(step.young), of(step))).collect()
    };
    let panels = [
        Panel {
            words: "If it carries it: a look is seen".into(),
            values: curve(&|step| step.proves),
            line: answer.level,
            reached: answer.proves.map(|one| one.young),
            paint: FIRST,
        },
        Panel {
            words: "If all look normal: the chance that is left".into(),
            values: curve(&|step| step.left),
            line: 1.0 - answer.level,
            reached: answer.clears.map(|one| one.young),
            paint: FIRST,
        },
        Panel {
            words: "From today's odds: proven or cleared".into(),
            values: curve(&|step| step.settles),
            line: answer.assurance,
            reached: answer.settles.map(|one| one.young),
            paint: FIRST,
        },
    ];
    let mut told = Vec::new();
    for panel in &panels {
        draw(&mut canvas, panel, f64::from(end));
        let reached = panel.reached.map_or("never".to_owned(), |young| format!("{young} young"));
        told.push(format!("{}: {} is reached at: {reached}.", panel.words, percent(panel.line)));
    }
    let legend = "Across: hatched young. Dashed line: what is to be reached; dot: where it is.";
    canvas.paragraph(EDGE, &["soft", "small"], legend, 3);
    canvas.finish(sentence.clone(), told.join(" "))
}

fn draw(canvas: &mut Canvas, panel: &Panel, end: f64) {
    canvas.below += 8.0;
    let reached = match panel.reached {
        Some(young) => format!("{}: {} at {young}", panel.words, percent(panel.line)),
        None => format!("{}: {} is never reached", panel.words, percent(panel.line)),
    };
    canvas.paragraph(EDGE, &["ink", "bold"], &reached, 2);
    let top = canvas.below + 10.0;
    let frame = [EDGE + MARGIN, top, COLUMN - 2.0 * EDGE - MARGIN - 12.0, PANEL];
    let plane = Plane { frame, x: Scale::even(0.0, end), y: Scale::even(0.0, 1.0) };
    let [left, _, width, height] = frame;
    let right = left + width;
    canvas.lines(&[[left, top], [left, top + height], [right, top + height]], AXIS, &[]);
    let y = plane.down(panel.line);
    canvas.line([left, y], [right, y], AXIS, &["dash"]);
    for at in [0.0, 0.5, 1.0] {
        let y = plane.down(at) + 4.0;
        canvas.text([left - 5.0, y], Anchor::End, &["soft", "small"], &percent(at));
    }
    for tick in plane.x.ticks(6) {
        let x = plane.across(tick);
        canvas.line([x, top + height], [x, top + height + 4.0], AXIS, &[]);
        let at = [x, top + height + SMALL + 3.0];
        canvas.text(at, Anchor::Middle, &["soft", "small"], &format!("{tick:.0}"));
    }
    plane.line(canvas, &panel.values, panel.paint);
    let dot = panel
        .reached
        .and_then(|young| panel.values.iter().find(|(number, _)| *number == f64::from(young)));
    if let Some((young, value)) = dot {
        let at = [plane.across(*young), plane.down(*value)];
        canvas.circle(at, 5.0, &[INK.class, "edge", "l-ground"]);
    }
    canvas.below = top + PANEL + SMALL + 6.0;
}
