//! What hatched in each clutch, against what could have been expected.

use super::Chart;
use super::canvas::{Anchor, COLUMN, Canvas, EDGE, SMALL, point};
use super::plot::{Plane, Scale};
use super::style::{AXIS, FIRST, INK, SECOND};
use crate::presentation::isolated::shortened;
use crate::presentation::wording::percent;
use crate::questions::Expectation;
use crate::records::Colony;

/// Height of the hill of chances.
const HILL: f64 = 30.0;

/// For each clutch and look how many hatched, and which numbers luck allows.
///
/// Looks that could not come and did not come are left out.
pub fn expected(colony: &Colony, all: &[Expectation]) -> Chart {
    let worth = |one: &&Expectation| one.seen > 0 || one.range[1] > 0;
    let all: Vec<Expectation> = all.iter().filter(worth).cloned().collect();
    let all = all.as_slice();
    let told = all.iter().map(|one| format!("{} {}.", name(colony, one), numbers(one)));
    let description = told.collect::<Vec<_>>().join(" ");
    let colony = &shortened(colony);
    let title = sentence(colony, all);
    let mut canvas = Canvas::new(COLUMN);
    canvas.head(&title);
    for one in all {
        draw(&mut canvas, colony, one);
    }
    if all.is_empty() {
        canvas.paragraph(EDGE, &["ink"], "There is nothing to compare.", 2);
    } else {
        let legend = "The hill says how often each number comes, given all earlier clutches and \
                      your assumptions; the bar below it holds 95 in 100 of such clutches. The \
                      diamond is what hatched; a ring marks one that luck seldom gives.";
        canvas.below += 6.0;
        canvas.paragraph(EDGE, &["soft", "small"], legend, 6);
    }
    canvas.finish(title, description)
}

fn sentence(colony: &Colony, all: &[Expectation]) -> String {
    let outside: Vec<&Expectation> = all.iter().filter(|one| !one.within()).collect();
    match outside.as_slice() {
        [] if all.is_empty() => "No clutch can be compared with what was expected".to_owned(),
        [] => "Every clutch gave what luck allows".to_owned(),
        [one] => format!(
            "{} gave {} {} where luck allows {}",
            colony.clutch(one.clutch).id,
            one.seen,
            look(colony, one),
            range(one),
        ),
        several => format!(
            "{} of {} counts lie outside of what luck mostly allows; about {} would by luck alone",
            several.len(),
            all.len(),
            by_luck(all),
        ),
    }
}

/// How many counts of a list like this lie outside of their ranges by luck alone, at most.
fn by_luck(all: &[Expectation]) -> String {
    let one = |of: &Expectation| {
        let [low, high] = of.range.map(|end| end as usize);
        1.0 - of.chances[low..=high].iter().sum::<f64>()
    };
    let sum: f64 = all.iter().map(one).sum();
    if sum < 0.5 { "none".to_owned() } else { format!("{sum:.0}") }
}

fn look<'c>(colony: &'c Colony, one: &Expectation) -> &'c str {
    colony.gene(one.gene).look_name(one.class)
}

fn name(colony: &Colony, one: &Expectation) -> String {
    format!("{}, {}:", colony.clutch(one.clutch).id, look(colony, one))
}

fn range(one: &Expectation) -> String {
    match one.range {
        [low, high] if low == high => format!("{low} of {}", one.judged),
        [low, high] => format!("{low} to {high} of {}", one.judged),
    }
}

fn numbers(one: &Expectation) -> String {
    let seen = one.chances.get(one.seen as usize).copied().unwrap_or_default();
    let mark = if one.within() { "" } else { ", which luck seldom gives" };
    format!(
        "{} hatched, {} expected; exactly so many in {}{mark}",
        one.seen,
        range(one),
        percent(seen)
    )
}

fn draw(canvas: &mut Canvas, colony: &Colony, one: &Expectation) {
    canvas.below += 6.0;
    let words = format!("{} {} hatched, {} expected", name(colony, one), one.seen, range(one));
    canvas.paragraph(EDGE, &["ink"], &words, 3);
    let top = canvas.below + 4.0;
    let most = f64::from(one.judged);
    let highest = one.chances.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
    let plane = Plane {
        frame: [EDGE + 8.0, top, COLUMN - 2.0 * EDGE - 16.0, HILL],
        x: Scale::even(-0.5, most + 0.5),
        y: Scale::even(0.0, highest),
    };
    plane.area(canvas, &hill(&one.chances), FIRST);
    let base = top + HILL;
    canvas.line([EDGE, base], [COLUMN - EDGE, base], AXIS, &[]);
    let [low, high] = one.range.map(f64::from);
    let [left, right] = [plane.across(low - 0.4), plane.across(high + 0.4)];
    canvas.rect([left, base + 3.0, right - left, 5.0], &[FIRST.class]);
    let x = plane.across(f64::from(one.seen));
    let y = base + 5.5;
    let corners = [[x, y - 7.0], [x + 7.0, y], [x, y + 7.0], [x - 7.0, y]].map(point);
    canvas.path(&format!("M{}Z", corners.join("L")), &[INK.class, "edge", "l-ground"]);
    if !one.within() {
        canvas.circle([x, y], 10.0, &["line", "thick", &format!("l-{}", SECOND.class)]);
    }
    let y = base + 9.0 + SMALL;
    for (at, anchor) in [(0.0, Anchor::Start), (most, Anchor::End)] {
        let near = (plane.across(at) - x).abs() < 24.0;
        if !near && (at == 0.0 || most > 0.0) {
            let edge = if at == 0.0 { EDGE } else { COLUMN - EDGE };
            canvas.text([edge, y], anchor, &["soft", "small"], &format!("{at}"));
        }
    }
    canvas.text([x, y + 6.0], Anchor::Middle, &["ink", "small"], &one.seen.to_string());
    canvas.below = y + 6.0;
}

/// Steps of one number each; nothing is drawn of what never comes.
fn hill(chances: &[f64]) -> Vec<(f64, f64)> {
    let step = |(number, chance): (usize, &f64)| {
        let number = number as f64;
        [(number - 0.5, *chance), (number + 0.5, *chance)]
    };
    chances.iter().enumerate().flat_map(step).collect()
}
