//! The family of a colony, for one gene.
//!
//! # Source
//!
//! Bennett et al. 1995, Am J Hum Genet 56:745–752, and the revision of 2022 (Bennett et al., J
//! Genet Couns 31:1238–1248): square, circle and diamond; a number in a symbol for so many
//! individuals; a slash for death; a double line between relatives; a legend for every fill. Ours,
//! and marked so in the legend: the height of the fill and the number below a symbol.

use std::collections::BTreeSet;

use super::Chart;
use super::canvas::{COLUMN, Canvas, EDGE};
use super::family_layout::{Layout, Union, lanes};
use super::family_marks::{Inside, LABEL, SIDE, inside, label, legend, slash, symbol};
use super::family_members::{Family, Who, brief, build};
use super::style::AXIS;
use crate::presentation::isolated::shortened;
use crate::presentation::names;
use crate::presentation::wording::percent;
use crate::questions::{GenotypesAnswer, LEVELS, look_called};
use crate::records::{AnimalId, Colony, GeneId, Origin, Status};

/// More animals with an id than these are not drawn as one family.
pub const FAMILY_AT_MOST: usize = 80;
/// From one lane of lines to the next.
const LANE: f64 = 9.0;
/// Kept free between lanes and symbols.
const CLEAR: f64 = 10.0;

/// The family as far as `only` names it, or all of it; fills and numbers are about one gene.
pub fn family(
    colony: &Colony,
    answer: &GenotypesAnswer,
    gene: GeneId,
    only: Option<&[AnimalId]>,
) -> Chart {
    let named = |id: &AnimalId| colony.animal(*id).id.is_some();
    let members: BTreeSet<AnimalId> = match only {
        Some(only) => only.iter().copied().filter(named).collect(),
        None => colony.animal_ids().filter(named).collect(),
    };
    let of_gene = answer.genotypes.iter().filter(|one| one.gene == gene);
    let carries = of_gene.map(|one| (one.animal, one.carries())).collect();
    let family = build(colony, gene, &members, carries);
    let title = family.sentence(&shortened(colony), &members);
    let wide = family.layout.nodes.iter().map(|node| node.x + node.wide / 2.0).fold(0.0, f64::max);
    let mut canvas = Canvas::new((wide + 2.0 * EDGE).max(COLUMN));
    canvas.head(&title);
    family.draw(&mut canvas);
    let short = shortened(colony);
    let looks = short.gene(gene).looks.join(" or ");
    legend(&mut canvas, &short.gene(gene).name, &looks);
    let description = family.description(&members);
    canvas.finish(title, description)
}

impl Family<'_> {
    /// Where a line down from somebody begins: behind the label, or where a stand-in ends.
    fn start(&self, node: usize, middle: f64, top: f64) -> f64 {
        if node < self.who.len() { middle } else { top }
    }

    fn shows(&self, id: AnimalId) -> bool {
        look_called(self.colony, id, self.gene).is_some_and(|class| class > 0)
    }

    fn sentence(&self, short: &Colony, members: &BTreeSet<AnimalId>) -> String {
        let (shows, others): (Vec<_>, Vec<_>) = members.iter().partition(|id| self.shows(**id));
        let chances: Vec<f64> =
            others.iter().filter_map(|id| self.carries.get(id)).copied().collect();
        let carriers = chances.iter().filter(|chance| **chance >= LEVELS[1]).count();
        let open = chances.iter().filter(|c| (LEVELS[0]..LEVELS[1]).contains(*c)).count();
        let number =
            |number: usize| if number == 0 { "none".to_owned() } else { number.to_string() };
        format!(
            "{} in the family of {}: {} known to show it, {} more as good as sure to carry it, {} open",
            short.gene(self.gene).name,
            members.len(),
            number(shows.len()),
            number(carriers),
            number(open),
        )
    }

    fn description(&self, members: &BTreeSet<AnimalId>) -> String {
        let one = |id: &AnimalId| {
            let name = names::animal(self.colony, *id);
            let sex = names::sex(self.colony.animal(*id).sex);
            let chance = self.carries.get(id).map_or("not asked".to_owned(), |c| percent(*c));
            let from = match self.colony.animal(*id).origin {
                Origin::Clutch(clutch) => format!(", from {}", self.colony.clutch(clutch).id),
                Origin::Founder => String::new(),
            };
            format!("{name} ({sex}{from}): {chance}")
        };
        members.iter().map(one).collect::<Vec<_>>().join("; ") + "."
    }

    fn draw(&self, canvas: &mut Canvas) {
        let aside = (canvas.width - 2.0 * EDGE - self.wide()).max(0.0) / 2.0 + EDGE;
        let at = |x: f64| x + aside;
        let mut y = canvas.below + SIDE / 2.0 + 4.0;
        let mut middles = vec![y];
        for row in 1..self.layout.rows.len() {
            let gap = Gap::new(self, row);
            let top = y + SIDE / 2.0 + LABEL;
            let next = top + gap.height() + SIDE / 2.0;
            gap.draw(canvas, self, [y, top, next], &at);
            y = next;
            middles.push(y);
        }
        for (node, place) in self.layout.nodes.iter().enumerate() {
            let point = [at(place.x), middles[place.row]];
            match self.who.get(node) {
                Some(who) => self.mark(canvas, who, point),
                // A stand-in: the line goes through its row.
                None => {
                    let [x, y] = point;
                    let bottom = y + SIDE / 2.0 + LABEL;
                    canvas.line([x, y - SIDE / 2.0], [x, bottom], AXIS, &["edge"]);
                }
            }
        }
        canvas.below = y + SIDE / 2.0 + LABEL;
    }

    fn wide(&self) -> f64 {
        self.layout.nodes.iter().map(|node| node.x + node.wide / 2.0).fold(0.0, f64::max)
    }

    fn mark(&self, canvas: &mut Canvas, who: &Who, at: [f64; 2]) {
        match who {
            Who::Animal(id) => {
                let animal = self.colony.animal(*id);
                let chance = self.carries.get(id).copied();
                let fill = match chance {
                    _ if self.shows(*id) => Inside::Shows,
                    Some(chance) => Inside::Chance(chance),
                    None => Inside::Empty,
                };
                symbol(canvas, at, animal.sex, fill);
                if animal.status == Status::Dead {
                    slash(canvas, at);
                }
                let words = chance.map_or(String::new(), brief);
                label(canvas, at, &names::animal(self.colony, *id), &words);
            }
            Who::Young(class, number) => {
                let shows = class.is_some_and(|class| class > 0);
                symbol(canvas, at, None, if shows { Inside::Shows } else { Inside::Empty });
                inside(canvas, at, &number.to_string());
            }
            Who::Unrecorded(sex) => {
                symbol(canvas, at, Some(*sex), Inside::Empty);
                inside(canvas, at, "?");
            }
        }
    }
}

/// The lines between one row and the next.
struct Gap<'f> {
    /// Every union whose young stand in the lower row, and its number.
    unions: Vec<(usize, &'f Union)>,
    /// The lane of the line that joins the parents; `None` where they stand side by side.
    joined: Vec<Option<usize>>,
    /// From whom in the upper row to which stand-in in the lower, and the lane between them.
    ways: Vec<([usize; 2], usize)>,
    /// The lane of the line that the young hang on.
    hung: Vec<usize>,
    /// How many lanes of each kind.
    lanes: [usize; 2],
}

impl<'f> Gap<'f> {
    fn new(family: &'f Family<'_>, row: usize) -> Self {
        let layout = &family.layout;
        let unions: Vec<(usize, &Union)> =
            layout.unions.iter().enumerate().filter(|(_, union)| union.row == row).collect();
        let x = |at: usize| layout.nodes[at].x;
        let apart: Vec<usize> =
            (0..unions.len()).filter(|at| !side_by_side(layout, unions[*at].1)).collect();
        let across = |at: &usize| {
            let ends = unions[*at].1.ends().map(x).collect::<Vec<_>>();
            stretch(&ends)
        };
        let steps = steps_into(layout, row);
        let sideways = |[from, to]: &[usize; 2]| stretch(&[x(*from), x(*to)]);
        let stretches: Vec<[f64; 2]> =
            apart.iter().map(across).chain(steps.iter().map(sideways)).collect();
        let (lane, first) = lanes(&stretches, CLEAR);
        let mut joined = vec![None; unions.len()];
        apart.iter().zip(&lane).for_each(|(at, lane)| joined[*at] = Some(*lane));
        let ways = steps.into_iter().zip(lane[apart.len()..].iter().copied()).collect();
        let below = |(_, union): &(usize, &Union)| {
            let middle = std::iter::once(layout.middle(union));
            let all: Vec<f64> =
                union.children.iter().map(|child| x(*child)).chain(middle).collect();
            stretch(&all)
        };
        let (hung, second) = lanes(&unions.iter().map(below).collect::<Vec<_>>(), CLEAR);
        Gap { unions, joined, ways, hung, lanes: [first, second] }
    }

    fn height(&self) -> f64 {
        let [first, second] = self.lanes.map(|lanes| lanes as f64 * LANE);
        first + second + 2.0 * CLEAR
    }

    /// `[middle of the upper row, top of the gap, middle of the lower row]`.
    fn draw(
        &self,
        canvas: &mut Canvas,
        family: &Family<'_>,
        [middle, top, next]: [f64; 3],
        at: &dyn Fn(f64) -> f64,
    ) {
        let layout = &family.layout;
        for ([source, to], lane) in &self.ways {
            let [mut from, to] = [source, to].map(|node| at(layout.nodes[*node].x));
            // A jog of a hair is not seen as one.
            if (from - to).abs() < 3.0 {
                from = to;
            }
            let y = top + CLEAR / 2.0 + (*lane as f64 + 0.5) * LANE;
            let way = [
                [from, family.start(*source, middle, top)],
                [from, y],
                [to, y],
                [to, next - SIDE / 2.0],
            ];
            canvas.lines(&way, AXIS, &["edge"]);
        }
        for (place, (number, union)) in self.unions.iter().enumerate() {
            let x = at(layout.middle(union));
            let twice = family.related[*number];
            let start = match self.joined[place] {
                None => {
                    let ends: Vec<f64> = union.ends().map(|end| at(layout.nodes[end].x)).collect();
                    across(canvas, stretch(&ends), middle, twice);
                    middle
                }
                Some(lane) => {
                    let y = top + CLEAR / 2.0 + (lane as f64 + 0.5) * LANE;
                    self.join(canvas, family, (*number, union), [x, y, middle, top], at);
                    y
                }
            };
            let first = self.lanes[0] as f64 * LANE;
            let hung = top + CLEAR / 2.0 + first + (self.hung[place] as f64 + 0.5) * LANE;
            canvas.line([x, start], [x, hung], AXIS, &["edge"]);
            let xs: Vec<f64> = union.children.iter().map(|c| at(layout.nodes[*c].x)).collect();
            let [low, high] = stretch(&[xs.as_slice(), &[x]].concat());
            canvas.line([low, hung], [high, hung], AXIS, &["edge"]);
            for x in xs {
                canvas.line([x, hung], [x, next - SIDE / 2.0], AXIS, &["edge"]);
            }
        }
    }

    /// Joins parents that do not stand side by side: each by a line down and across.
    fn join(
        &self,
        canvas: &mut Canvas,
        family: &Family<'_>,
        (number, union): (usize, &Union),
        [x, y, middle, top]: [f64; 4],
        at: &dyn Fn(f64) -> f64,
    ) {
        for (parent, end) in union.ends().enumerate() {
            let sire = parent > 0;
            let dash: &[&str] =
                if family.doubt[number] && sire { &["dash", "edge"] } else { &["edge"] };
            let own = at(family.layout.nodes[end].x);
            let start = family.start(end, middle, top);
            canvas.lines(&[[own, start], [own, y], [x, y]], AXIS, dash);
            if family.related[number] {
                canvas.line([own, y - 3.0], [x, y - 3.0], AXIS, &["edge"]);
            }
        }
        canvas.circle([x, y], 2.2, &["axis"]);
    }
}

/// The line between parents side by side, from symbol to symbol; twice for relatives.
fn across(canvas: &mut Canvas, [from, to]: [f64; 2], y: f64, twice: bool) {
    let lines: &[f64] = if twice { &[-2.0, 2.0] } else { &[0.0] };
    for aside in lines {
        let [from, to] = [from + SIDE / 2.0, to - SIDE / 2.0];
        canvas.line([from, y + aside], [to, y + aside], AXIS, &["edge"]);
    }
}

/// Every step from a row into a stand-in of the next.
fn steps_into(layout: &Layout, row: usize) -> Vec<[usize; 2]> {
    let mut steps = Vec::new();
    for union in &layout.unions {
        for (parent, way) in union.parents.iter().zip(&union.ways) {
            let mut from = *parent;
            for to in way {
                if layout.nodes[*to].row == row {
                    steps.push([from, *to]);
                }
                from = *to;
            }
        }
    }
    steps
}

fn side_by_side(layout: &Layout, union: &Union) -> bool {
    let [one, other] = union.parents.as_slice() else { return false };
    let row = layout.nodes[*one].row;
    if union.row != row + 1 || layout.nodes[*other].row != row {
        return false;
    }
    let place = |at: usize| layout.rows[row].iter().position(|node| *node == at);
    place(*one).zip(place(*other)).is_some_and(|(a, b)| a.abs_diff(b) == 1)
}

/// The least stretch that holds all of these.
fn stretch(all: &[f64]) -> [f64; 2] {
    all.iter().fold([f64::MAX, f64::MIN], |[low, high], x| [low.min(*x), high.max(*x)])
}
