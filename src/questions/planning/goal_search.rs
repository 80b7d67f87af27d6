//! Which routes to a goal are worth working out: a search over animals and the young they can give.

use std::cmp::Ordering;

use rustc_hash::FxHashMap;

use super::goal_crosses::Crosses;
use super::goal_route::{Calendar, Pair, Route, Slot, join};
use crate::numbers::ln;

/// Animals of a sex that the search looks at.
const ANIMALS: usize = 10;
/// Kinds of young of a sex that a generation hands on.
const BEAM: usize = 30;
/// Kinds of young of one pair and sex that are handed on.
const OF_A_PAIR: usize = 3;
/// Young that each kind of young is tried with.
const MATES: usize = 400;
/// Young of the same chances that are told apart, for the sake of kinship.
const ALIKE: usize = 3;
/// Routes of one shape that are worked out exactly.
const OF_A_SHAPE: usize = 5;
/// A look that fewer young of a pair show is not waited for.
const SELDOM: f64 = 0.004;
/// States with less chance than this are left out of the search.
const FAINT: f64 = 1e-4;
/// The share of the assurance that the search gives to each step.
const SHARE: f64 = 0.95;
/// A pair that gives the goal more seldom than this gives none.
const NEVER: f64 = 5e-4;

/// A parent that can be had, and how.
#[derive(Clone, Debug)]
pub(super) struct Source {
    pub(super) slot: Slot,
    /// Chances of its whole states.
    pub(super) chances: Vec<f64>,
    /// The steps that give it.
    pairs: Vec<Pair>,
    /// Hatched young that each step takes, about, for a female and a male to keep.
    young: Vec<[f64; 2]>,
}

impl Source {
    pub(super) fn animal(slot: Slot, chances: Vec<f64>) -> Self {
        Source { slot, chances, pairs: Vec::new(), young: Vec::new() }
    }

    fn taken(&self) -> f64 {
        self.young.iter().map(|own| own[0].max(own[1])).sum()
    }
}

/// A route with the search's guess of what it takes.
#[derive(Clone, Debug)]
struct Candidate {
    route: Route,
    seasons: u32,
    young: f64,
}

/// Young that it takes, about, to see one with this chance.
fn needed(chance: f64) -> f64 {
    if chance <= 0.0 {
        f64::INFINITY
    } else if chance >= 1.0 - 1e-9 {
        1.0
    } else {
        (ln(1.0 - SHARE) / ln(1.0 - chance)).max(1.0)
    }
}

/// The search for routes.
pub(super) struct Search<'a> {
    pub(super) crosses: &'a Crosses,
    pub(super) calendar: &'a Calendar,
    pub(super) limit: u32,
}

impl Search<'_> {
    /// Routes worth working out, a few of each shape, the most promising of each first.
    pub(super) fn routes(&self, animals: [Vec<Source>; 2]) -> Vec<Route> {
        let mut all = [0, 1].map(|sex| self.useful(sex, &animals[sex]));
        let mut newest = all.clone();
        // A generation takes a season, and what its young wait.
        let wait = self.calendar.wait[0].min(self.calendar.wait[1]).max(1);
        let generations = ((self.limit.saturating_sub(1)) / wait).min(3);
        for generation in 0..generations {
            let made = self.young(&all, &newest, generation == 0).map(thinned);
            let pool = [0, 1].map(|sex| {
                let young = &made[sex][..made[sex].len().min(MATES)];
                all[sex].iter().chain(young).collect::<Vec<_>>()
            });
            let kept = [0, 1].map(|sex| self.beam(sex, &made[sex], &pool[1 - sex]));
            for sex in 0..2 {
                all[sex].extend(kept[sex].iter().cloned());
            }
            newest = kept;
        }
        self.finals(&all)
    }

    /// The animals that have most of what the goal needs.
    fn useful(&self, sex: usize, animals: &[Source]) -> Vec<Source> {
        // What a mate of the same kind would give, and what the best of all states would.
        let mut ranked: Vec<(f64, usize)> = Vec::new();
        for (at, source) in animals.iter().enumerate() {
            ranked.push((self.nearness(sex, &source.chances), at));
        }
        ranked.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        // Of animals with the same chances a few are enough: two, for the sake of kinship.
        let mut kept: Vec<Source> = Vec::new();
        let mut left: Vec<usize> = Vec::new();
        for (_, at) in &ranked {
            let alike = |one: &&Source| {
                let pairs = one.chances.iter().zip(&animals[*at].chances);
                pairs.map(|(a, b)| (a - b).abs()).sum::<f64>() < 0.02
            };
            if kept.iter().filter(alike).count() < 2 && kept.len() < ANIMALS {
                kept.push(animals[*at].clone());
            } else {
                left.push(*at);
            }
        }
        let room = ANIMALS - kept.len();
        kept.extend(left.into_iter().take(room).map(|at| animals[at].clone()));
        kept
    }

    /// The chance of the goal with the mate that suits best, plus a little for what it carries.
    fn nearness(&self, sex: usize, chances: &[f64]) -> f64 {
        let mut best = vec![0.0; self.crosses.number(1 - sex)];
        for (state, chance) in chances.iter().enumerate().filter(|(_, chance)| **chance > FAINT) {
            for (mate, sum) in best.iter_mut().enumerate() {
                let [dam, sire] = if sex == 0 { [state, mate] } else { [mate, state] };
                *sum += chance * self.crosses.cross(dam, sire).goal;
            }
        }
        best.into_iter().fold(0.0, f64::max)
    }

    /// Every kind of young of two parents of which one is of the newest generation.
    fn young(
        &self,
        all: &[Vec<Source>; 2],
        newest: &[Vec<Source>; 2],
        first: bool,
    ) -> [Vec<Source>; 2] {
        let mut made = [Vec::new(), Vec::new()];
        for dam in &all[0] {
            let new = |source: &Source, sex: usize| newest[sex].iter().any(|n| same(n, source));
            let of_new = first || new(dam, 0);
            for sire in &all[1] {
                if of_new || new(sire, 1) {
                    self.add_young(dam, sire, &mut made);
                }
            }
        }
        made
    }

    fn add_young(&self, dam: &Source, sire: &Source, made: &mut [Vec<Source>; 2]) {
        let (pairs, parents, places) = join((&dam.pairs, dam.slot), (&sire.pairs, sire.slot));
        let mut young = dam.young.clone();
        young.resize(pairs.len(), [0.0; 2]);
        for (place, own) in places.iter().zip(&sire.young) {
            for (sum, more) in young[*place].iter_mut().zip(own) {
                *sum = f64::max(*sum, *more);
            }
        }
        for sex in 0..2 {
            let mut states = vec![0.0; self.crosses.number(sex)];
            for (d, of_dam) in faint_out(&dam.chances) {
                for (s, of_sire) in faint_out(&sire.chances) {
                    for (state, chance) in &self.crosses.cross(d, s).young[sex] {
                        states[*state] += of_dam * of_sire * chance;
                    }
                }
            }
            let states: Vec<(usize, f64)> =
                states.into_iter().enumerate().filter(|(_, p)| *p > 0.0).collect();
            for (look, chance) in self.crosses.looks_of(sex, &states) {
                if chance < SELDOM {
                    continue;
                }
                let mut chances = vec![0.0; self.crosses.number(sex)];
                for (state, p) in self.crosses.kept(sex, &states, look) {
                    chances[state] = p;
                }
                let mut keep = [None; 2];
                keep[sex] = Some(look);
                let mut takes = [0.0; 2];
                takes[sex] = needed(chance);
                let pairs = [&pairs[..], &[Pair { parents, keep }]].concat();
                let young = [&young[..], &[takes]].concat();
                made[sex].push(Source {
                    slot: Slot::Young(pairs.len() - 1),
                    chances,
                    pairs,
                    young,
                });
            }
        }
    }

    /// The kinds of young that promise most: cheap to have, and near the goal.
    fn beam(&self, sex: usize, made: &[Source], mates: &[&Source]) -> Vec<Source> {
        let mates: Vec<(&Source, f64)> = mates.iter().map(|mate| (*mate, mate.taken())).collect();
        let mut ranked: Vec<(f64, usize)> = Vec::new();
        for (at, source) in made.iter().enumerate() {
            let row = self.row(sex, &source.chances);
            let mut least = f64::INFINITY;
            for (mate, taken) in &mates {
                let shared = mate.pairs.len() == source.pairs.len()
                    && mate.pairs.iter().zip(&source.pairs).all(|(a, b)| a.parents == b.parents);
                let more = if shared { 0.0 } else { *taken };
                if more >= least {
                    continue;
                }
                let goal: f64 = row.iter().zip(&mate.chances).map(|(g, p)| g * p).sum();
                if goal > NEVER {
                    least = least.min(more + needed(goal));
                }
            }
            if least == f64::INFINITY {
                // Not there yet: what its own kind would give, however seldom.
                least = 1e4 / (self.nearness(sex, &source.chances) + 1e-6);
            }
            ranked.push((source.taken() + least, at));
        }
        ranked.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let mut of_pair: FxHashMap<[Slot; 2], usize> = FxHashMap::default();
        let mut kept = Vec::new();
        for (_, at) in ranked {
            let source = &made[at];
            let Some(last) = source.pairs.last() else { continue };
            let key = if source.pairs.len() == 1 { last.parents } else { [source.slot; 2] };
            let number = of_pair.entry(key).or_default();
            if *number >= OF_A_PAIR && source.pairs.len() == 1 {
                continue;
            }
            *number += 1;
            kept.push(source.clone());
            if kept.len() == BEAM {
                break;
            }
        }
        kept
    }

    /// The chance of the goal with each state of a mate.
    fn row(&self, sex: usize, chances: &[f64]) -> Vec<f64> {
        let own: Vec<(usize, f64)> = faint_out(chances).collect();
        let of = |mate: usize| -> f64 {
            let goal = |state: usize| {
                let [dam, sire] = if sex == 0 { [state, mate] } else { [mate, state] };
                self.crosses.cross(dam, sire).goal
            };
            own.iter().map(|(state, chance)| chance * goal(*state)).sum()
        };
        (0..self.crosses.number(1 - sex)).map(of).collect()
    }

    /// The routes that end in a pair of these.
    fn finals(&self, all: &[Vec<Source>; 2]) -> Vec<Route> {
        let mut by_shape: FxHashMap<String, Vec<Candidate>> = FxHashMap::default();
        for dam in &all[0] {
            let row = self.row(0, &dam.chances);
            for sire in &all[1] {
                let goal: f64 = row.iter().zip(&sire.chances).map(|(g, p)| g * p).sum();
                if goal < NEVER {
                    continue;
                }
                let Some(candidate) = self.candidate(dam, sire, &row, goal) else { continue };
                let own = by_shape.entry(candidate.route.shape()).or_default();
                own.push(candidate);
                own.sort_by(promising);
                own.truncate(OF_A_SHAPE);
            }
        }
        let mut shapes: Vec<(String, Vec<Candidate>)> = by_shape.into_iter().collect();
        shapes.sort_by(|a, b| promising(&a.1[0], &b.1[0]).then_with(|| a.0.cmp(&b.0)));
        shapes.truncate(24);
        shapes.into_iter().flat_map(|(_, own)| own).map(|one| one.route).collect()
    }

    fn candidate(&self, dam: &Source, sire: &Source, row: &[f64], goal: f64) -> Option<Candidate> {
        let (mut pairs, parents, places) = join((&dam.pairs, dam.slot), (&sire.pairs, sire.slot));
        let mut young = dam.young.clone();
        young.resize(pairs.len(), [0.0; 2]);
        for (place, own) in places.iter().zip(&sire.young) {
            for (sum, more) in young[*place].iter_mut().zip(own) {
                *sum = f64::max(*sum, *more);
            }
        }
        // A mate that may give nothing at all costs more than its mean says.
        let gives = row.iter().zip(&sire.chances).filter(|(g, _)| **g > NEVER);
        let gives: f64 = gives.map(|(_, chance)| chance).sum();
        let last = needed(goal) * (1.0 + 4.0 * (SHARE - gives).max(0.0));
        pairs.push(Pair { parents, keep: [None; 2] });
        young.push([last, 0.0]);
        let mut route = Route { pairs, lines: [1, 1] };
        let counts: Vec<u32> =
            young.iter().map(|own| own[0].max(own[1]).ceil().min(1e6) as u32).collect();
        if route.only_last(0) {
            route.lines = [4, 1];
        }
        let seasons = self.calendar.seasons(&route, &counts);
        route.lines = [1, 1];
        let seasons = seasons.last().map_or(0, |own| own[1]);
        let all = young.iter().map(|own| own[0].max(own[1])).sum();
        (seasons <= self.limit).then_some(Candidate { route, seasons, young: all })
    }
}

/// Of young with about the same chances the cheapest few, the cheapest first.
fn thinned(mut made: Vec<Source>) -> Vec<Source> {
    made.sort_by(|a, b| a.taken().total_cmp(&b.taken()).then_with(|| a.pairs.cmp(&b.pairs)));
    let mut seen: FxHashMap<Vec<i32>, usize> = FxHashMap::default();
    made.retain(|source| {
        let key = source.chances.iter().map(|chance| (chance * 50.0).round() as i32).collect();
        let number = seen.entry(key).or_default();
        *number += 1;
        *number <= ALIKE
    });
    made
}

fn promising(one: &Candidate, other: &Candidate) -> Ordering {
    let own = |candidate: &Candidate| (candidate.young * 10.0).round();
    one.seasons
        .cmp(&other.seasons)
        .then(own(one).total_cmp(&own(other)))
        .then_with(|| one.route.pairs.cmp(&other.route.pairs))
}

fn same(one: &Source, other: &Source) -> bool {
    one.slot == other.slot && one.pairs == other.pairs
}

fn faint_out(chances: &[f64]) -> impl Iterator<Item = (usize, f64)> + '_ {
    chances.iter().copied().enumerate().filter(|(_, chance)| *chance > FAINT)
}
