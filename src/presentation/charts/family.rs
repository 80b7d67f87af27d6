//! The family of a colony, for one gene.
//!
//! # Source
//!
//! Bennett et al. 1995, Am J Hum Genet 56:745–752, and the revision of 2022 (Bennett et al., J
//! Genet Couns 31:1238–1248): square, circle and diamond; a number in a symbol for so many
//! individuals; a slash for death; a double line between relatives; a legend for every fill. Ours,
//! and marked so in the legend: the height of the fill and the number below a symbol.

use std::collections::{BTreeMap, BTreeSet};

use super::Chart;
use super::canvas::{COLUMN, Canvas, EDGE};
use super::family_layout::{Layout, Union, lanes, layout};
use super::family_marks::{Inside, LABEL, SIDE, inside, label, legend, room, slash, symbol};
use super::style::AXIS;
use crate::presentation::isolated::shortened;
use crate::presentation::names;
use crate::presentation::wording::percent;
use crate::questions::{GenotypesAnswer, LEVELS, look_called, unnamed_young};
use crate::records::{AnimalId, Candidate, ClutchId, Colony, GeneId, Origin, Parent, Sex, Status};

/// More animals with an id than these are not drawn as one family.
pub const FAMILY_AT_MOST: usize = 80;
/// From one lane of lines to the next.
const LANE: f64 = 9.0;
/// Kept free between lanes and symbols.
const CLEAR: f64 = 10.0;
/// Room for a symbol without a label.
const NARROW: f64 = 46.0;

/// Who stands in the picture.
#[derive(Clone, Debug)]
enum Who {
    Animal(AnimalId),
    /// Young without an id: what they were called, and how many.
    Young(Option<usize>, u32),
    /// A parent that nobody recorded.
    Unrecorded(Sex),
}

struct Family<'a> {
    colony: &'a Colony,
    gene: GeneId,
    who: Vec<Who>,
    /// The chance of carrying, for each animal that was answered for.
    carries: BTreeMap<AnimalId, f64>,
    /// For each union whether its sire is in doubt, and whether its parents are relatives.
    doubt: Vec<bool>,
    related: Vec<bool>,
    layout: Layout,
}

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

/// Some animals with those nearest to them: forebears of two generations, mates, full and half
/// siblings with an id, and young.
pub fn near(colony: &Colony, animals: &[AnimalId]) -> Vec<AnimalId> {
    let mut near: BTreeSet<AnimalId> = animals.iter().copied().collect();
    for id in animals {
        let parents = parents_of(colony, *id);
        let grandparents = parents.iter().flat_map(|parent| parents_of(colony, *parent));
        near.extend(grandparents);
        near.extend(parents.iter().copied());
        for clutch in &colony.clutches {
            let sires = clutch.siring.candidates.iter().map(|(c, w)| (*c, w.to_bits()));
            let own = self::parents(&clutch.dam, &sires.collect::<Vec<_>>());
            let own: Vec<AnimalId> = own.into_iter().flatten().collect();
            if own.contains(id) {
                near.extend(own.iter().copied());
            }
            if own.contains(id) || own.iter().any(|parent| parents.contains(parent)) {
                near.extend(clutch.hatchlings.iter().copied());
            }
        }
    }
    near.retain(|id| colony.animal(*id).id.is_some());
    near.into_iter().collect()
}

/// The dam and the possible sires of an animal, as far as they are recorded.
fn parents_of(colony: &Colony, id: AnimalId) -> Vec<AnimalId> {
    let Origin::Clutch(clutch) = colony.animal(id).origin else { return Vec::new() };
    let clutch = colony.clutch(clutch);
    let sires = clutch.siring.candidates.iter().map(|(c, w)| (*c, w.to_bits()));
    parents(&clutch.dam, &sires.collect::<Vec<_>>()).into_iter().flatten().collect()
}

/// Who the parents of a clutch may be; the number of the family and its parents come out equal for
/// clutches of the same pair.
type Pair = (Parent, Vec<(Candidate, u64)>);

fn build<'a>(
    colony: &'a Colony,
    gene: GeneId,
    members: &BTreeSet<AnimalId>,
    carries: BTreeMap<AnimalId, f64>,
) -> Family<'a> {
    let mut who: Vec<Who> = members.iter().map(|id| Who::Animal(*id)).collect();
    let place: BTreeMap<AnimalId, usize> =
        members.iter().enumerate().map(|(at, id)| (*id, at)).collect();
    let mut pairs: Vec<(Pair, Vec<ClutchId>)> = Vec::new();
    for id in colony.clutch_ids() {
        let clutch = colony.clutch(id);
        let weights = clutch.siring.candidates.iter().map(|(c, w)| (*c, w.to_bits()));
        let pair: Pair = (clutch.dam, weights.collect());
        match pairs.iter_mut().find(|(known, _)| *known == pair) {
            Some((_, clutches)) => clutches.push(id),
            None => pairs.push((pair, vec![id])),
        }
    }
    let (mut unions, mut doubt, mut related) = (Vec::new(), Vec::new(), Vec::new());
    for ((dam, sires), clutches) in pairs {
        let children = children(colony, gene, &clutches, &place, &mut who);
        let known = parents(&dam, &sires);
        let here = known.iter().flatten().any(|id| place.contains_key(id));
        let of_note = children.iter().any(|at| matches!(who[*at], Who::Animal(_)));
        if children.is_empty() || !(here || of_note) {
            continue;
        }
        let mut own = Vec::new();
        for (at, parent) in known.iter().enumerate() {
            match parent {
                Some(id) => own.extend(place.get(id)),
                None => {
                    who.push(Who::Unrecorded(if at == 0 { Sex::Female } else { Sex::Male }));
                    own.push(who.len() - 1);
                }
            }
        }
        doubt.push(sires.len() > 1);
        related.push(are_related(colony, &known));
        unions.push((own, children));
    }
    let wide = |who: &Who| match who {
        Who::Animal(id) => {
            let chance = carries.get(id).map_or(String::new(), |chance| brief(*chance));
            room(&names::animal(colony, *id), &chance)
        }
        Who::Young(..) | Who::Unrecorded(_) => NARROW,
    };
    let wides: Vec<f64> = who.iter().map(wide).collect();
    let layout = layout(&wides, unions);
    Family { colony, gene, who, carries, doubt, related, layout }
}

/// The dam and every candidate for the sire; `None` is one that nobody recorded.
fn parents(dam: &Parent, sires: &[(Candidate, u64)]) -> Vec<Option<AnimalId>> {
    let dam = match dam {
        Parent::Known(dam) => Some(*dam),
        Parent::Unknown => None,
    };
    let sire = |(candidate, _): &(Candidate, u64)| match candidate {
        Candidate::Known(sire) => Some(Some(*sire)),
        Candidate::Unknown => Some(None),
        Candidate::NoFather => None,
    };
    std::iter::once(dam).chain(sires.iter().filter_map(sire)).collect()
}

/// The young of some clutches: those with an id, then the others by what they were called.
fn children(
    colony: &Colony,
    gene: GeneId,
    clutches: &[ClutchId],
    place: &BTreeMap<AnimalId, usize>,
    who: &mut Vec<Who>,
) -> Vec<usize> {
    let hatched = |clutch: &ClutchId| colony.clutch(*clutch).hatchlings.clone();
    let named = clutches.iter().flat_map(hatched);
    let mut children: Vec<usize> = named.filter_map(|id| place.get(&id).copied()).collect();
    let mut others: BTreeMap<Option<usize>, u32> = BTreeMap::new();
    for young in clutches.iter().flat_map(|clutch| unnamed_young(colony, *clutch, gene)) {
        *others.entry(young.class).or_default() += young.number;
    }
    for (class, number) in others {
        who.push(Who::Young(class, number));
        children.push(who.len() - 1);
    }
    children
}

/// A chance where room is scarce: `>99.9 %`.
fn brief(chance: f64) -> String {
    percent(chance).replace("over ", ">").replace("under ", "<")
}

/// Whether two of the parents have an ancestor in common, or one is an ancestor of the other.
fn are_related(colony: &Colony, parents: &[Option<AnimalId>]) -> bool {
    let lines: Vec<BTreeSet<AnimalId>> =
        parents.iter().flatten().map(|id| ancestry(colony, *id)).collect();
    let Some((dam, sires)) = lines.split_first() else { return false };
    parents[0].is_some() && sires.iter().any(|sire| !sire.is_disjoint(dam))
}

/// An animal and all its recorded ancestors whose place is not in doubt.
fn ancestry(colony: &Colony, id: AnimalId) -> BTreeSet<AnimalId> {
    let (mut line, mut waiting) = (BTreeSet::new(), vec![id]);
    while let Some(id) = waiting.pop() {
        if !line.insert(id) {
            continue;
        }
        let Origin::Clutch(clutch) = colony.animal(id).origin else { continue };
        let clutch = colony.clutch(clutch);
        if let Parent::Known(dam) = clutch.dam {
            waiting.push(dam);
        }
        if let [(Candidate::Known(sire), _)] = clutch.siring.candidates.as_slice() {
            waiting.push(*sire);
        }
    }
    line
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
