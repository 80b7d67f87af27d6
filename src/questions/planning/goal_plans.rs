//! Routes worked out exactly and made into plans.

use rustc_hash::FxHashMap;

use super::goal::{GoalAsked, GoalHarm, GoalKeep, GoalLook, GoalParent, GoalPlan, GoalStep};
use super::goal_chance::{Chances, Couples, MOST};
use super::goal_crosses::{Crosses, SEXES};
use super::goal_harm::{add_harms, harms};
use super::goal_joint::joint;
use super::goal_route::{Calendar, Route, Slot};
use super::planner::Planner;
use crate::records::AnimalId;

/// Plans that are told.
const TOLD: usize = 5;
/// Lines of the last pairing that are tried when one is not enough.
const LINES: [[u32; 2]; 9] =
    [[2, 1], [3, 1], [4, 1], [6, 1], [1, 2], [1, 3], [2, 2], [3, 3], [4, 4]];

/// A route with the young that it takes.
struct Worked {
    route: Route,
    chances: Chances,
    young: Vec<u32>,
    seasons: Vec<[u32; 2]>,
    /// Fertile eggs, about.
    eggs: f64,
    inbreeding: f64,
}

impl Worked {
    fn ends(&self) -> u32 {
        self.seasons.last().map_or(0, |own| own[1])
    }
}

type Joint = Vec<(Vec<usize>, f64)>;

/// Makes plans of routes.
pub(super) struct Plans<'a> {
    pub(super) crosses: &'a Crosses,
    pub(super) calendar: &'a Calendar,
    pub(super) asked: &'a GoalAsked,
}

impl Plans<'_> {
    /// The plans that no other one beats, and where there is none the highest chance reached.
    pub(super) fn of(
        &self,
        planner: &mut Planner<'_>,
        routes: Vec<Route>,
    ) -> (Vec<GoalPlan>, Option<f64>) {
        let mut known: FxHashMap<Vec<(AnimalId, usize)>, Joint> = FxHashMap::default();
        let mut by_shape: FxHashMap<String, Worked> = FxHashMap::default();
        let mut at_most: Option<f64> = None;
        for route in routes {
            let animals = route.animals();
            let joint = known
                .entry(animals.clone())
                .or_insert_with(|| joint(&mut planner.model, self.crosses, &animals));
            match self.work_out(planner, &route, &animals, joint) {
                Ok(worked) => {
                    let shape = worked.route.shape();
                    let better = by_shape.get(&shape).is_none_or(|other| before(&worked, other));
                    if better {
                        by_shape.insert(shape, worked);
                    }
                }
                Err(reached) => at_most = Some(at_most.unwrap_or(0.0).max(reached)),
            }
        }
        let mut all: Vec<Worked> = by_shape.into_values().collect();
        all.sort_by(|a, b| {
            a.ends()
                .cmp(&b.ends())
                .then(a.eggs.total_cmp(&b.eggs))
                .then(a.inbreeding.total_cmp(&b.inbreeding))
                .then_with(|| a.route.pairs.cmp(&b.route.pairs))
        });
        let mut kept: Vec<Worked> = Vec::new();
        for one in all {
            let beaten = |other: &Worked| {
                other.eggs <= one.eggs + 1e-9 && other.inbreeding <= one.inbreeding + 1e-9
            };
            if kept.len() < TOLD && !kept.iter().any(beaten) {
                kept.push(one);
            }
        }
        let mut plans: Vec<GoalPlan> =
            kept.into_iter().map(|worked| self.plan(planner, &mut known, worked)).collect();
        plans.sort_by_key(|plan| (plan.seasons, plan.eggs));
        let at_most = if plans.is_empty() { at_most } else { None };
        (plans, at_most)
    }

    /// The fewest seasons, then eggs, over the numbers of lines; or the highest chance.
    fn work_out(
        &self,
        planner: &Planner<'_>,
        route: &Route,
        animals: &[(AnimalId, usize)],
        joint: &Joint,
    ) -> Result<Worked, f64> {
        let mut best = self.with_lines(planner, route, animals, joint, [1, 1]);
        let short = best
            .as_ref()
            .is_ok_and(|worked| worked.seasons.last().is_some_and(|[first, last]| first == last));
        if short {
            return best;
        }
        for lines in LINES {
            let allowed = |sex: usize| lines[sex] == 1 || route.only_last(sex);
            if !(allowed(0) && allowed(1)) {
                continue;
            }
            let other = self.with_lines(planner, route, animals, joint, lines);
            best = match (best, other) {
                (Ok(a), Ok(b)) => Ok(if before(&b, &a) { b } else { a }),
                (Ok(a), Err(_)) | (Err(_), Ok(a)) => Ok(a),
                (Err(a), Err(b)) => Err(a.max(b)),
            };
        }
        best
    }

    fn with_lines(
        &self,
        planner: &Planner<'_>,
        route: &Route,
        animals: &[(AnimalId, usize)],
        joint: &Joint,
        lines: [u32; 2],
    ) -> Result<Worked, f64> {
        let mut route = route.clone();
        route.lines = lines;
        let chances = Chances::new(self.crosses, &route, animals, joint);
        let alive = planner.hatch_rate();
        let each: Vec<f64> = chances
            .couples
            .iter()
            .map(|couples| 1.0 / (alive * self.viable(couples)).max(1e-6))
            .collect();
        let young = chances.split(&each, self.asked.assurance)?;
        let seasons = self.calendar.seasons(&route, &young);
        if seasons.last().is_none_or(|own| own[1] > self.asked.seasons) {
            return Err(0.0);
        }
        let eggs = young.iter().zip(&each).map(|(young, each)| f64::from(*young) * each).sum();
        let inbreeding = planner.kinship.as_ref().map_or(0.0, |kinship| {
            let of = |step: usize| route.inbreeding(kinship, step);
            (0..route.pairs.len()).map(of).fold(0.0, f64::max)
        });
        Ok(Worked { route, chances, young, seasons, eggs, inbreeding })
    }

    /// The mean share of fertile eggs of a step that can hatch, as far as the goal's genes go.
    fn viable(&self, couples: &FxHashMap<(usize, usize), f64>) -> f64 {
        mean(couples, &|dam, sire| self.crosses.cross(dam, sire).viable)
    }

    fn plan(
        &self,
        planner: &mut Planner<'_>,
        known: &mut FxHashMap<Vec<(AnimalId, usize)>, Joint>,
        worked: Worked,
    ) -> GoalPlan {
        let Worked { route, chances, young, seasons, .. } = worked;
        let animals = route.animals();
        let own = known.remove(&animals).unwrap_or_default();
        let dangers = harms(planner, self.asked, self.crosses, &route, &animals, &chances.couples);
        known.insert(animals, own);
        let alive = planner.hatch_rate();
        let hatch: Vec<f64> = dangers.iter().map(|own| alive * (1.0 - own.elsewhere)).collect();
        let eggs = self.eggs(&chances, &young, &hatch);
        let through = chances.by_young(&young);
        let kinship = planner.kinship.as_ref();
        let steps = (0..route.pairs.len()).map(|step| {
            let pair = route.pairs[step];
            let before = if step == 0 { 1.0 } else { through[step - 1] };
            let last = step + 1 == route.pairs.len();
            let couples = &chances.couples[step];
            let lines = if last { route.lines } else { [1, 1] };
            GoalStep {
                seasons: seasons[step],
                dam: parent(pair.parents[0], lines[0]),
                sire: parent(pair.parents[1], lines[1]),
                young: young[step],
                eggs: eggs[step],
                clutches: self.calendar.clutches_of(young[step]),
                keep: self.keep(&route, step, couples),
                chance: if before > 0.0 { (through[step] / before).min(1.0) } else { 0.0 },
                each: last.then(|| mean(couples, &|d, s| self.crosses.cross(d, s).goal)),
                inbreeding: kinship.map(|kinship| route.inbreeding(kinship, step)),
                lethal: add_harms(&dangers[step].harms),
                harms: dangers[step].harms.clone(),
            }
        });
        let steps: Vec<GoalStep> = steps.collect();
        GoalPlan {
            seasons: seasons.last().map_or(0, |own| own[1]),
            young: young.iter().sum(),
            eggs: eggs.iter().sum(),
            assurance: through.last().copied().unwrap_or(0.0),
            by_eggs: chances.by_eggs(&eggs, &hatch).last().copied().unwrap_or(0.0),
            seen_as: chances.couples.last().and_then(|couples| self.seen_as(couples)),
            steps,
        }
    }

    /// Fertile eggs of each step: young by the share that hatches, and some more where the luck of
    /// hatching would take the whole below the assurance.
    fn eggs(&self, chances: &Chances, young: &[u32], hatch: &[f64]) -> Vec<u32> {
        let mut eggs: Vec<u32> = young
            .iter()
            .zip(hatch)
            .zip(&chances.couples)
            .map(|((young, hatch), couples)| {
                let share = (hatch * self.viable(couples)).max(1e-6);
                (f64::from(*young) / share - 1e-9).ceil().min(1e6) as u32
            })
            .collect();
        let reached =
            |eggs: &[u32]| chances.by_eggs(eggs, hatch).last().copied().unwrap_or_default();
        let mut now = reached(&eggs);
        while now < self.asked.assurance && eggs.iter().all(|own| *own < 10 * MOST) {
            let with = |step: usize| {
                let mut more = eggs.clone();
                more[step] += 1;
                (reached(&more), more)
            };
            let best = (0..eggs.len()).map(with).max_by(|a, b| a.0.total_cmp(&b.0));
            let Some((then, more)) = best.filter(|(then, _)| *then > now) else { break };
            (now, eggs) = (then, more);
        }
        eggs
    }

    fn keep(
        &self,
        route: &Route,
        step: usize,
        couples: &FxHashMap<(usize, usize), f64>,
    ) -> Vec<GoalKeep> {
        let of = |sex: usize| {
            let look = route.pairs[step].keep[sex]?;
            Some(GoalKeep {
                looks: self.look(look),
                sex: SEXES[sex],
                number: route.kept(step, sex),
                each: mean(couples, &|d, s| self.crosses.cross(d, s).called(sex, look)),
            })
        };
        (0..2).filter_map(of).collect()
    }

    fn look(&self, look: usize) -> GoalLook {
        let genes = self.asked.target.genes();
        genes.into_iter().zip(self.crosses.looks[look].iter().copied()).collect()
    }

    /// The look of most animals of the goal, and the chance that a young of that look is one.
    fn seen_as(&self, couples: &FxHashMap<(usize, usize), f64>) -> Option<(GoalLook, f64)> {
        let mut all = vec![(0.0, 0.0); self.crosses.looks.len()];
        for ((dam, sire), weight) in sorted(couples) {
            let cross = self.crosses.cross(dam, sire);
            for (sex, young) in cross.young.iter().enumerate() {
                for (state, chance) in young {
                    for (look, called) in &self.crosses.called[sex][*state] {
                        let seen = weight * chance * called;
                        all[*look].0 += seen * self.crosses.goal[sex][*state];
                        all[*look].1 += seen;
                    }
                }
            }
        }
        let best = (0..all.len()).max_by(|a, b| all[*a].0.total_cmp(&all[*b].0))?;
        (all[best].1 > 0.0).then(|| (self.look(best), all[best].0 / all[best].1))
    }
}

/// Whether one comes before the other of its kind.
fn before(one: &Worked, other: &Worked) -> bool {
    one.ends()
        .cmp(&other.ends())
        .then(one.eggs.total_cmp(&other.eggs))
        .then(one.inbreeding.total_cmp(&other.inbreeding))
        .then_with(|| one.route.pairs.cmp(&other.route.pairs))
        .is_lt()
}

fn parent(slot: Slot, number: u32) -> GoalParent {
    match slot {
        Slot::Animal(animal) => GoalParent::Animal(animal),
        Slot::Young(step) => GoalParent::Kept { step: step + 1, number },
    }
}

/// What the parents may be, in a fixed order.
fn sorted(couples: &FxHashMap<(usize, usize), f64>) -> Vec<((usize, usize), f64)> {
    let mut all: Vec<((usize, usize), f64)> = couples.iter().map(|(k, w)| (*k, *w)).collect();
    all.sort_unstable_by_key(|(pair, _)| *pair);
    all
}

/// The mean of something over what the parents may be.
pub(super) fn mean(
    couples: &FxHashMap<(usize, usize), f64>,
    of: &dyn Fn(usize, usize) -> f64,
) -> f64 {
    let (mut sum, mut all) = (0.0, 0.0);
    for ((dam, sire), weight) in sorted(couples) {
        sum += weight * of(dam, sire);
        all += weight;
    }
    if all > 0.0 { sum / all } else { 0.0 }
}

/// What may harm the young of one step.
#[derive(Clone, Debug, Default)]
pub(super) struct Danger {
    pub(super) harms: Vec<GoalHarm>,
    /// The share of fertile eggs that never hatch for genes apart from those of the goal.
    pub(super) elsewhere: f64,
}

/// The couples of a route at other genes as well.
pub(super) fn couples_at(
    planner: &mut Planner<'_>,
    crosses: &Crosses,
    route: &Route,
    animals: &[(AnimalId, usize)],
) -> Couples {
    let joint = joint(&mut planner.model, crosses, animals);
    Chances::new(crosses, route, animals, &joint).couples
}
