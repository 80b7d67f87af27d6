//! How likely each of several explanations is: before, after, and on the way.

use super::Chart;
use super::canvas::{Anchor, BODY, COLUMN, Canvas, EDGE, SMALL, point};
use super::measure::{shortened, width};
use super::plot::{Plane, Scale};
use super::style::{AXIS, Paint, SERIES};
use crate::presentation::names;
use crate::presentation::wording::{chance, percent};
use crate::questions::{ModeAnswer, ModeResult};
use crate::records::Colony;

/// Explanations side by side; a plain list, so that any question can fill it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ModesPicture {
    /// What the picture says, in one sentence.
    pub sentence: String,
    /// The explanations, in the order in which they are to stand.
    pub modes: Vec<ModeBar>,
    /// What came step by step: the first is before anything.
    pub steps: Vec<String>,
}

/// One explanation.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ModeBar {
    /// Its name.
    pub name: String,
    /// Its chance before anything was seen.
    pub prior: f64,
    /// Its chance given all records.
    pub posterior: f64,
    /// Its chance after each step.
    pub path: Vec<f64>,
}

/// Ways of inheritance that are drawn.
const DRAWN: usize = 6;
/// Height of a bar.
const BAR: f64 = 11.0;
/// Room for the numbers to the right of the bars.
const NUMBERS: f64 = 64.0;
/// Height of the paths.
const PATHS: f64 = 150.0;

/// Prior and posterior of each explanation as bars, then the paths of the most probable as lines.
pub fn modes(picture: &ModesPicture) -> Chart {
    let mut canvas = Canvas::new(COLUMN);
    canvas.head(&picture.sentence);
    for mode in &picture.modes {
        bars(&mut canvas, mode);
    }
    canvas.below += 8.0;
    let words = "Upper bar: before anything was seen. Lower bar: given all records.";
    canvas.paragraph(EDGE, &["soft", "small"], words, 2);
    let leading = leading(picture);
    if picture.steps.len() > 1 && !leading.is_empty() {
        paths(&mut canvas, picture, &leading);
    }
    let told = picture.modes.iter().map(|mode| {
        format!("{}: before {}, after {}.", mode.name, percent(mode.prior), chance(mode.posterior))
    });
    canvas.finish(picture.sentence.clone(), told.collect::<Vec<_>>().join(" "))
}

/// How a suspected gene is inherited: the likeliest ways, and their way through the records.
pub fn mode(colony: &Colony, answer: &ModeAnswer) -> Chart {
    let mut order: Vec<&ModeResult> = answer.modes.iter().collect();
    order.sort_by(|a, b| b.posterior.total_cmp(&a.posterior));
    let bar = |one: &&ModeResult| ModeBar {
        name: names::mode(colony, one.mode),
        prior: one.prior,
        posterior: one.posterior,
        path: one.path.clone(),
    };
    let top = &answer.modes[answer.likeliest[0]];
    let clutches = answer.clutches.iter().map(|clutch| colony.clutch(*clutch).id.clone());
    modes(&ModesPicture {
        sentence: format!(
            "{}: {} is likeliest, {}",
            colony.gene(answer.gene).name,
            names::mode(colony, top.mode),
            chance(top.posterior)
        ),
        modes: order.iter().take(DRAWN).map(bar).collect(),
        steps: std::iter::once("own looks".to_owned()).chain(clutches).collect(),
    })
}

fn bars(canvas: &mut Canvas, mode: &ModeBar) {
    canvas.below += 4.0;
    canvas.paragraph(EDGE, &["ink"], &mode.name, 2);
    let room = COLUMN - 2.0 * EDGE - NUMBERS;
    let shares = [(mode.prior, "ground", "l-axis"), (mode.posterior, "fill-1", "l-first")];
    let mut y = canvas.below + 5.0;
    for (share, fill, edge) in shares {
        canvas.rect([EDGE, y, (room * share).max(1.0), BAR], &[fill, "edge", edge]);
        let weight = if fill == "ground" { "soft" } else { "ink" };
        let at = [COLUMN - EDGE, y + BAR - 1.0];
        canvas.text(at, Anchor::End, &[weight, "small"], &percent(share));
        y += BAR + 3.0;
    }
    canvas.below = y;
}

/// The explanations whose way is drawn: as many as there are paints, most probable first.
fn leading(picture: &ModesPicture) -> Vec<&ModeBar> {
    let full = |mode: &&ModeBar| mode.path.len() == picture.steps.len();
    let mut all: Vec<&ModeBar> = picture.modes.iter().filter(full).collect();
    all.sort_by(|a, b| b.posterior.total_cmp(&a.posterior));
    all.truncate(SERIES.len());
    all
}

fn paths(canvas: &mut Canvas, picture: &ModesPicture, leading: &[&ModeBar]) {
    canvas.below += 10.0;
    canvas.paragraph(EDGE, &["ink", "bold"], "Step by step", 1);
    for (mode, (paint, shape)) in leading.iter().zip(SERIES.iter().zip(SHAPES)) {
        canvas.below += 4.0;
        let y = canvas.below + BODY - 4.0;
        canvas.line([EDGE, y], [EDGE + 26.0, y], *paint, &["thick"]);
        shape(canvas, [EDGE + 13.0, y], *paint);
        canvas.paragraph(EDGE + 34.0, &["ink"], &mode.name, 2);
    }
    let top = canvas.below + 12.0;
    let last = (picture.steps.len() - 1) as f64;
    let plane = Plane {
        frame: [EDGE + 46.0, top, COLUMN - 2.0 * EDGE - 60.0, PATHS],
        x: Scale::even(0.0, last),
        y: Scale::even(0.0, 1.0),
    };
    let [left, _, wide, _] = plane.frame;
    for level in [0.0, 0.5, 1.0] {
        let y = plane.down(level);
        canvas.line([left, y], [left + wide, y], AXIS, &[]);
        canvas.text([left - 6.0, y + 4.0], Anchor::End, &["soft", "small"], &percent(level));
    }
    for (mode, (paint, shape)) in leading.iter().zip(SERIES.iter().zip(SHAPES)) {
        let points: Vec<(f64, f64)> =
            mode.path.iter().enumerate().map(|(at, chance)| (at as f64, *chance)).collect();
        plane.line(canvas, &points, *paint);
        let every = points.len().div_ceil(20);
        for (x, y) in points.iter().step_by(every) {
            shape(canvas, [plane.across(*x), plane.down(*y)], *paint);
        }
    }
    canvas.below = top + PATHS;
    steps_below(canvas, &plane, &picture.steps);
}

type Shape = fn(&mut Canvas, [f64; 2], Paint);

/// A mark for each series, told apart without colour.
const SHAPES: [Shape; 4] = [
    |canvas, at, paint| canvas.circle(at, 4.0, &[paint.class]),
    |canvas, at, paint| {
        corners(canvas, at, &[[-4.0, -4.0], [4.0, -4.0], [4.0, 4.0], [-4.0, 4.0]], paint)
    },
    |canvas, at, paint| corners(canvas, at, &[[0.0, -5.0], [5.0, 4.0], [-5.0, 4.0]], paint),
    |canvas, at, paint| {
        corners(canvas, at, &[[0.0, -5.5], [5.5, 0.0], [0.0, 5.5], [-5.5, 0.0]], paint)
    },
];

fn corners(canvas: &mut Canvas, [x, y]: [f64; 2], corners: &[[f64; 2]], paint: Paint) {
    let corners: Vec<String> = corners.iter().map(|[dx, dy]| point([x + dx, y + dy])).collect();
    canvas.path(&format!("M{}Z", corners.join("L")), &[paint.class]);
}

/// The names of the steps, as many as have room; the first and the last always.
fn steps_below(canvas: &mut Canvas, plane: &Plane, steps: &[String]) {
    canvas.below += SMALL + 4.0;
    let [left, _, wide, _] = plane.frame;
    let room = (wide / 2.0 - 8.0).min(110.0);
    let mut free = f64::MIN;
    let last = steps.len() - 1;
    let end = shortened(&steps[last], SMALL, room);
    let before_end = left + wide + 8.0 - width(&end, SMALL) - 6.0;
    for (at, step) in steps.iter().enumerate() {
        let name = shortened(step, SMALL, room);
        let long = width(&name, SMALL);
        let x = plane.across(at as f64);
        let from = if at == 0 { left - 8.0 } else { x - long / 2.0 };
        if at == last {
            let at = [left + wide + 8.0, canvas.below];
            canvas.text(at, Anchor::End, &["soft", "small"], &end);
        } else if from > free && from + long < before_end {
            canvas.text([from, canvas.below], Anchor::Start, &["soft", "small"], &name);
            free = from + long + 8.0;
        }
    }
}
