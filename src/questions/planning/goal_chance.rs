//! The chance that a route succeeds with so many young, and how few of them are enough.

use rustc_hash::FxHashMap;

use super::goal_crosses::Crosses;
use super::goal_route::{Route, Slot};
use crate::numbers::ln;
use crate::records::AnimalId;

/// Ways that are rarer than this are counted as failures.
const RARE: f64 = 1e-8;
/// No step is planned with more hatched young.
pub(super) const MOST: u32 = 400;

/// What a step needs, for one possible pair of parents.
#[derive(Clone, Debug, PartialEq)]
struct Need {
    /// The chance that a young can be kept and how many are needed: females, males.
    kept: [(f64, u32); 2],
    /// The chance that a fertile egg has a genotype that can hatch.
    viable: f64,
}

/// The last pairing, for one possible history.
#[derive(Clone, Debug, PartialEq)]
struct Last {
    /// What a pair may be: its chance, the chance of a young of the goal, that an egg can hatch.
    mixture: Vec<(f64, f64, f64)>,
    /// How many such pairs, each drawn for itself.
    lines: u32,
}

/// One possible history of the hidden genotypes, as far as it matters to the chances.
#[derive(Clone, Debug, PartialEq)]
struct Path {
    weight: f64,
    needs: Vec<Need>,
    last: Last,
}

/// Chances of the whole states of dam and sire at each step.
pub(super) type Couples = Vec<FxHashMap<(usize, usize), f64>>;

/// A route with every possible history of the genotypes of its animals.
pub(super) struct Chances {
    paths: Vec<Path>,
    /// What the parents of each step may be, given that they were kept for their looks.
    pub(super) couples: Couples,
}

impl Chances {
    /// Works out every history of a route from the joint chances of its animals.
    pub(super) fn new(
        crosses: &Crosses,
        route: &Route,
        animals: &[(AnimalId, usize)],
        joint: &[(Vec<usize>, f64)],
    ) -> Self {
        let mut walk = Walk {
            crosses,
            route,
            lumped: lumped(route),
            states: FxHashMap::default(),
            kinds: FxHashMap::default(),
            needs: Vec::new(),
            paths: FxHashMap::default(),
            couples: vec![FxHashMap::default(); route.pairs.len()],
        };
        for (states, chance) in joint {
            for ((animal, sex), state) in animals.iter().zip(states) {
                walk.states.insert((Slot::Animal(*animal), *sex), *state);
            }
            walk.go(0, *chance);
        }
        let mut paths: Vec<Path> = walk.paths.into_values().collect();
        // No hash order in any sum.
        let key = |path: &Path| -> Vec<u64> { signature(&path.needs, &path.last) };
        paths.sort_by_cached_key(key);
        Chances { paths, couples: walk.couples }
    }

    /// The chance that the steps up to each one succeed, with so many hatched young.
    pub(super) fn by_young(&self, young: &[u32]) -> Vec<f64> {
        self.up_to(young, None)
    }

    /// The same with so many fertile eggs, of which a share hatches at each step.
    pub(super) fn by_eggs(&self, eggs: &[u32], hatch: &[f64]) -> Vec<f64> {
        self.up_to(eggs, Some(hatch))
    }

    fn up_to(&self, number: &[u32], hatch: Option<&[f64]>) -> Vec<f64> {
        let steps = number.len();
        let mut sums = vec![0.0; steps];
        for path in &self.paths {
            let mut chance = path.weight;
            for (step, need) in path.needs.iter().enumerate() {
                let share = by_share(hatch.map(|h| h[step]), need.viable);
                let scaled = need.kept.map(|(p, least)| (p * share, least));
                chance *= both_reached(scaled, number[step]);
                sums[step] += chance;
            }
            chance *= path.last.chance(number[steps - 1], hatch.map(|h| h[steps - 1]));
            sums[steps - 1] += chance;
        }
        sums
    }

    /// The chance that the whole route succeeds.
    pub(super) fn whole(&self, young: &[u32]) -> f64 {
        self.by_young(young).last().copied().unwrap_or(0.0)
    }

    /// The least that each step needs before it can succeed.
    fn least(&self) -> Vec<u32> {
        let Some(path) = self.paths.first() else { return Vec::new() };
        let of = |need: &Need| need.kept.iter().map(|(_, least)| *least).sum::<u32>().max(1);
        path.needs.iter().map(of).chain([path.last.lines.max(1)]).collect()
    }

    /// The fewest young at each step that reach the assurance, or the chance that the most young
    /// leave where they do not.
    ///
    /// METHOD: the assurance is split so that the eggs of all steps together are fewest: young are
    /// added one by one where they raise the log of the chance most for an egg, then taken away and
    /// exchanged between steps as long as that saves eggs. A local optimum.
    pub(super) fn split(&self, eggs_each: &[f64], assurance: f64) -> Result<Vec<u32>, f64> {
        let least = self.least();
        if least.is_empty() {
            return Err(0.0);
        }
        let top = self.whole(&vec![MOST; least.len()]);
        if top < assurance {
            return Err(top);
        }
        let mut young = least.clone();
        let mut now = self.whole(&young);
        while now < assurance {
            let mut best: Option<(f64, usize, u32, f64)> = None;
            for step in 0..young.len() {
                // Larger steps where many are needed already; what is too much is taken away again.
                let added = (1 + young[step] / 12).min(MOST - young[step]);
                if added == 0 {
                    continue;
                }
                young[step] += added;
                let then = self.whole(&young);
                young[step] -= added;
                let eggs = f64::from(added) * eggs_each[step];
                let gain = (ln(then.max(1e-300)) - ln(now.max(1e-300))) / eggs;
                if best.is_none_or(|(most, ..)| gain > most) {
                    best = Some((gain, step, added, then));
                }
            }
            let Some((_, step, added, then)) = best else { return Err(now) };
            young[step] += added;
            now = then;
        }
        self.trim(&mut young, &least, eggs_each, assurance);
        Ok(young)
    }

    /// Takes away what is not needed, and exchanges young between steps where that saves eggs.
    fn trim(&self, young: &mut [u32], least: &[u32], eggs_each: &[f64], assurance: f64) {
        let enough = |young: &[u32]| self.whole(young) >= assurance;
        let mut better = true;
        while better {
            better = false;
            for step in 0..young.len() {
                while young[step] > least[step] {
                    young[step] -= 1;
                    if !enough(young) {
                        young[step] += 1;
                        break;
                    }
                    better = true;
                }
            }
            for from in 0..young.len() {
                for to in (0..young.len()).filter(|to| *to != from) {
                    better |= exchange(young, [from, to], least, eggs_each, &enough);
                }
            }
        }
    }
}

/// Moves a few young from one step to another where that saves eggs.
fn exchange(
    young: &mut [u32],
    [from, to]: [usize; 2],
    least: &[u32],
    eggs_each: &[f64],
    enough: &dyn Fn(&[u32]) -> bool,
) -> bool {
    for given in 1..=6u32 {
        if young[from] < least[from] + given {
            break;
        }
        let saved = f64::from(given) * eggs_each[from];
        for taken in 1..=6u32 {
            let costs = f64::from(taken) * eggs_each[to];
            if costs >= saved - 1e-9 || young[to] + taken > MOST {
                break;
            }
            young[from] -= given;
            young[to] += taken;
            if enough(young) {
                return true;
            }
            young[from] += given;
            young[to] -= taken;
        }
    }
    false
}

/// The share of fertile eggs that hatch: all of them where hatched young are counted.
fn by_share(hatch: Option<f64>, viable: f64) -> f64 {
    hatch.map_or(1.0, |hatch| hatch * viable)
}

/// The chance of as many females and males as are needed among so many young.
fn both_reached([(p, a), (q, b)]: [(f64, u32); 2], number: u32) -> f64 {
    let below = |p: f64, least: u32| -> f64 { (0..least).map(|i| term(number, &[i], &[p])).sum() };
    let mut neither = 0.0;
    for i in 0..a {
        for j in 0..b {
            neither += term(number, &[i, j], &[p, q]);
        }
    }
    (1.0 - below(p, a) - below(q, b) + neither).clamp(0.0, 1.0)
}

/// The multinomial chance of these counts, the rest being anything else.
fn term(number: u32, counts: &[u32], chances: &[f64]) -> f64 {
    let mut left = number;
    let mut rest = 1.0;
    let mut made = 1.0;
    for (count, chance) in counts.iter().zip(chances) {
        if *count > left {
            return 0.0;
        }
        for k in 0..*count {
            made *= f64::from(left - k) / f64::from(k + 1) * chance;
        }
        left -= count;
        rest -= chance;
    }
    made * f64::max(rest, 0.0).powi(i32::try_from(left).unwrap_or(i32::MAX))
}

impl Last {
    fn chance(&self, number: u32, hatch: Option<f64>) -> f64 {
        let mut none = 1.0;
        for line in 0..self.lines {
            let own = number / self.lines + u32::from(line < number % self.lines);
            let own = i32::try_from(own).unwrap_or(i32::MAX);
            let missed = |(weight, goal, viable): &(f64, f64, f64)| {
                weight * (1.0 - goal * by_share(hatch, *viable)).max(0.0).powi(own)
            };
            none *= self.mixture.iter().map(missed).sum::<f64>();
        }
        1.0 - none
    }
}

/// Which parents of the last pairing need not be told apart: each line has one of its own.
fn lumped(route: &Route) -> [bool; 2] {
    let [dams, sires] = route.lines;
    let own = [route.only_last(0), route.only_last(1)];
    [own[0] && dams >= sires, own[1] && sires >= dams]
}

fn signature(needs: &[Need], last: &Last) -> Vec<u64> {
    let mut key = Vec::new();
    for need in needs {
        key.extend(need.kept.map(|(p, _)| p.to_bits()));
        key.push(need.viable.to_bits());
    }
    for (weight, goal, viable) in &last.mixture {
        key.extend([weight.to_bits(), goal.to_bits(), viable.to_bits()]);
    }
    key
}

/// Follows every possible history of the genotypes, step by step.
struct Walk<'a> {
    crosses: &'a Crosses,
    route: &'a Route,
    lumped: [bool; 2],
    /// The state of each animal that is told apart.
    states: FxHashMap<(Slot, usize), usize>,
    /// What the parents of the last pairing may be, where they are not.
    kinds: FxHashMap<usize, Vec<(usize, f64)>>,
    needs: Vec<Need>,
    paths: FxHashMap<Vec<u64>, Path>,
    couples: Couples,
}

impl Walk<'_> {
    fn go(&mut self, step: usize, weight: f64) {
        if weight < RARE {
            return;
        }
        let pair = self.route.pairs[step];
        if step + 1 == self.route.pairs.len() {
            self.finish(step, weight);
            return;
        }
        let [dam, sire] = [0, 1].map(|sex| self.states[&(pair.parents[sex], sex)]);
        *self.couples[step].entry((dam, sire)).or_default() += weight;
        let cross = self.crosses.cross(dam, sire);
        let chance = |sex: usize| match pair.keep[sex] {
            Some(look) => (cross.called(sex, look), self.route.kept(step, sex)),
            None => (0.0, 0),
        };
        let kept = [chance(0), chance(1)];
        if kept.iter().any(|(p, least)| *least > 0 && *p <= 0.0) {
            return;
        }
        self.needs.push(Need { kept, viable: cross.viable });
        let kinds = [0, 1]
            .map(|sex| pair.keep[sex].map(|look| self.crosses.kept(sex, &cross.young[sex], look)));
        self.keep(step, 0, &kinds, weight);
        self.needs.pop();
    }

    /// Goes on with every state that a kept female, then a kept male may be in.
    fn keep(
        &mut self,
        step: usize,
        sex: usize,
        kinds: &[Option<Vec<(usize, f64)>>; 2],
        weight: f64,
    ) {
        if sex == 2 {
            self.go(step + 1, weight);
            return;
        }
        let slot = Slot::Young(step);
        match &kinds[sex] {
            None => self.keep(step, sex + 1, kinds, weight),
            Some(kind) if self.lumped[sex] && self.route.last().parents[sex] == slot => {
                self.kinds.insert(sex, kind.clone());
                self.keep(step, sex + 1, kinds, weight);
            }
            Some(kind) => {
                for (state, chance) in kind {
                    self.states.insert((slot, sex), *state);
                    self.keep(step, sex + 1, kinds, weight * chance);
                }
            }
        }
    }

    fn finish(&mut self, step: usize, weight: f64) {
        let parents = self.route.pairs[step].parents;
        let kinds = [0, 1].map(|sex| match self.lumped[sex] {
            true => self.kinds[&sex].clone(),
            false => vec![(self.states[&(parents[sex], sex)], 1.0)],
        });
        let mut mixture: Vec<(f64, f64, f64)> = Vec::new();
        for (dam, of_dam) in &kinds[0] {
            for (sire, of_sire) in &kinds[1] {
                let cross = self.crosses.cross(*dam, *sire);
                let chance = of_dam * of_sire;
                *self.couples[step].entry((*dam, *sire)).or_default() += weight * chance;
                let same =
                    |one: &&mut (f64, f64, f64)| (one.1, one.2) == (cross.goal, cross.viable);
                match mixture.iter_mut().find(same) {
                    Some((sum, ..)) => *sum += chance,
                    None => mixture.push((chance, cross.goal, cross.viable)),
                }
            }
        }
        let [dams, sires] = self.route.lines;
        let last = Last { mixture, lines: dams.max(sires) };
        let key = signature(&self.needs, &last);
        let needs = || self.needs.clone();
        let path =
            self.paths.entry(key).or_insert_with(|| Path { weight: 0.0, needs: needs(), last });
        path.weight += weight;
    }
}
