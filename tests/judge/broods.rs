//! The tables that a clutch makes: its young, its eggs, its selection, over its parents.

use std::collections::{BTreeMap, HashMap};

use proveout::records::{
    AnimalId, Candidate, Clutch, ClutchId, Colony, Origin, Parent, Sex, SiringMode,
};

use super::calls::{calls_on_counted, chance_of_naming};
use super::coupling::{candidates, has_sire_in_doubt};
use super::exact::{Exact, add, exact, one, over, power, zero};
use super::genome::Father;
use super::stage::Stage;
use super::sums::{Table, Variable};

/// What one recorded young weighs in each state.
struct Young {
    /// If it is of this clutch: P(hatches, sex, calls | state) · (1 − mix-up).
    own: Vec<Exact>,
    /// If it is not: P(state, sex, calls) in unrelated stock · mix-up.
    swapped: Vec<Exact>,
    /// The same with P(its call names a look of the selection) instead of sex and calls.
    own_named: Option<Vec<Exact>>,
    swapped_named: Option<Exact>,
}

/// The parents of a clutch once it is chosen who they are.
struct Brood<'a> {
    clutch: &'a Clutch,
    dam: Variable,
    /// Who may have sired an egg (`None`: nobody), with weights.
    sires: Vec<(Option<Variable>, Exact)>,
    losses: Option<usize>,
}

impl<'a> Stage<'a> {
    /// The variable of a clutch's dam.
    fn dam_of(&self, clutch: ClutchId) -> Variable {
        match self.colony.clutch(clutch).dam {
            Parent::Known(dam) => dam.0,
            Parent::Unknown => self.colony.animals.len() + 2 * clutch.0,
        }
    }

    fn sire(&self, clutch: ClutchId, candidate: Candidate) -> Option<Variable> {
        match candidate {
            Candidate::Known(sire) => Some(sire.0),
            Candidate::Unknown => Some(self.colony.animals.len() + 2 * clutch.0 + 1),
            Candidate::NoFather => None,
        }
    }

    fn brood(&self, id: ClutchId, chosen: Option<usize>) -> Brood<'a> {
        let clutch = self.colony.clutch(id);
        let all = candidates(self.colony, clutch);
        let sires = match (chosen, clutch.siring.mode) {
            (Some(chosen), _) => vec![(self.sire(id, all[chosen].0), one())],
            (None, SiringMode::One) => vec![(self.sire(id, all[0].0), one())],
            (None, SiringMode::Mixed) => {
                all.into_iter().map(|(sire, weight)| (self.sire(id, sire), weight)).collect()
            }
        };
        let dead = match (clutch.died, clutch.eggs, clutch.slugs) {
            (Some(died), ..) => Some(died),
            (None, Some(eggs), Some(slugs)) => {
                Some(eggs.saturating_sub(slugs).saturating_sub(clutch.recorded()))
            }
            _ => None,
        };
        let counted = self.records && clutch.complete && clutch.recorded_only.is_empty();
        let losses = dead.filter(|_| counted).map(|dead| dead as usize);
        Brood { clutch, dam: self.dam_of(id), sires, losses }
    }

    /// The tables of founders and of unrecorded parents, for each variable one.
    pub fn origins(&self, chosen: &[Option<usize>]) -> Vec<Table> {
        let mut origins: Vec<(Variable, &Vec<Exact>)> = Vec::new();
        for (variable, animal) in self.colony.animals.iter().enumerate() {
            if animal.origin == Origin::Founder {
                origins.push((variable, &self.own[variable]));
            }
        }
        for id in self.colony.clutch_ids() {
            let brood = self.brood(id, chosen[id.0]);
            let parents = brood.sires.iter().filter_map(|(sire, _)| *sire).chain([brood.dam]);
            for parent in parents.filter(|&parent| parent >= self.colony.animals.len()) {
                let weights = &self.stranger[1 + (parent - self.colony.animals.len()) % 2];
                origins.push((parent, weights));
            }
        }
        let table = |(variable, weights): (Variable, &Vec<Exact>)| {
            let entries = weights.iter().cloned().enumerate();
            Table::new(vec![variable], entries.map(|(state, w)| (vec![state], w)).collect())
        };
        origins.into_iter().map(table).collect()
    }

    /// The table of a hatchling and its parents; with `only`, for the eggs of one candidate.
    pub fn hatchling(
        &self,
        id: ClutchId,
        chosen: Option<usize>,
        hatchling: AnimalId,
        only: Option<usize>,
    ) -> Table {
        let brood = self.brood(id, chosen);
        let named = self.colony.animal(hatchling).id.is_some();
        let mix_up = if named { exact(self.colony.assumptions.mix_up) } else { zero() };
        let young = self.young(&brood, &self.own[hatchling.0], &mix_up);
        self.over_parents(&brood, Some(hatchling.0), only, |dam, father| {
            self.term(&brood, &young, dam, father)
        })
    }

    /// The tables of what a clutch has besides hatchlings kept apart: counts, lost eggs, and the
    /// selection of the clutch as a whole.
    pub fn rest_of_clutch(&self, id: ClutchId, chosen: Option<usize>) -> Vec<Table> {
        let brood = self.brood(id, chosen);
        let mut tables = Vec::new();
        for count in &brood.clutch.counts {
            let calls = calls_on_counted(self.colony, &count.seen, brood.clutch.date());
            for (sex, number) in
                [Some(Sex::Male), Some(Sex::Female), None].into_iter().zip(count.number)
            {
                if number > 0 {
                    let likelihood = self.likelihood(sex, &calls);
                    let young = self.young(&brood, &likelihood, &zero());
                    let one_young = self.over_parents(&brood, None, None, |dam, father| {
                        let states = self.term(&brood, &young, dam, father);
                        vec![(0, states.into_iter().map(|(_, value)| value).sum())]
                    });
                    tables.push(one_young.power(number as usize));
                }
            }
        }
        if let Some(lost) = brood.losses.filter(|&lost| self.eggs && lost > 0) {
            let one_egg = self.over_parents(&brood, None, None, |dam, father| {
                vec![(0, one() - self.hatches(dam, father))]
            });
            tables.push(one_egg.power(lost));
        }
        if self.records && !brood.clutch.kept_if.is_empty() {
            tables.push(self.kept(&brood));
        }
        tables
    }

    /// Σ over the candidates of weight × `term(dam, father)`, as a table over the parents and the
    /// young's own variable if it has one.
    fn over_parents(
        &self,
        brood: &Brood,
        young: Option<Variable>,
        only: Option<usize>,
        term: impl Fn(usize, Father) -> Vec<(usize, Exact)>,
    ) -> Table {
        let (scope, entries) = self.entries_over_parents(brood, young, only, term);
        Table::new(scope, entries)
    }

    fn entries_over_parents(
        &self,
        brood: &Brood,
        young: Option<Variable>,
        only: Option<usize>,
        term: impl Fn(usize, Father) -> Vec<(usize, Exact)>,
    ) -> (Vec<Variable>, Vec<(Vec<usize>, Exact)>) {
        let fathers: Vec<Variable> = brood.sires.iter().filter_map(|(sire, _)| *sire).collect();
        let scope = [brood.dam].into_iter().chain(fathers.clone()).chain(young).collect();
        let mut known = HashMap::new();
        let mut entries = Vec::new();
        for parents in self.configurations(&[&[brood.dam], &fathers[..]].concat()) {
            let mut sums: BTreeMap<usize, Exact> = BTreeMap::new();
            for (place, (sire, weight)) in brood.sires.iter().enumerate() {
                if only.is_some_and(|only| only != place) {
                    continue;
                }
                let father = match sire {
                    Some(sire) => {
                        let place = fathers.iter().position(|father| father == sire);
                        Father::State(parents[1 + place.expect("among the fathers")])
                    }
                    None => Father::Nobody,
                };
                let states =
                    known.entry((parents[0], father)).or_insert_with(|| term(parents[0], father));
                for (state, value) in states {
                    // A weight of one is the rule; leaving it out saves half of the time.
                    let value = if *weight == one() { value.clone() } else { weight * &*value };
                    add(&mut sums, *state, value);
                }
            }
            for (state, value) in sums {
                let own = young.map(|_| state);
                entries.push((parents.iter().copied().chain(own).collect(), value));
            }
        }
        (scope, entries)
    }

    fn configurations(&self, variables: &[Variable]) -> Vec<Vec<usize>> {
        variables.iter().fold(vec![vec![]], |shorter: Vec<Vec<usize>>, &variable| {
            let domain = self.domain(variable);
            let longer = |c: Vec<usize>| {
                domain.iter().map(move |&state| [&c[..], &[state]].concat()).collect::<Vec<_>>()
            };
            shorter.into_iter().flat_map(longer).collect()
        })
    }

    /// P(an egg hatches | parents).
    fn hatches(&self, dam: usize, father: Father) -> Exact {
        if !self.eggs {
            return one();
        }
        let young = self.genome.young(dam, father);
        young.iter().map(|(state, chance)| chance * &self.viable[*state]).sum()
    }

    /// A recorded young: `likelihood` is P(sex and calls | state).
    ///
    /// `METHOD:` a mixed-up hatchling stands for an egg of the clutch that did hatch; only the
    /// young itself is another. So the chance that the egg hatches stays, and where losses are not
    /// known it is divided out of both.
    fn young(&self, brood: &Brood, likelihood: &[Exact], mix_up: &Exact) -> Young {
        let states = 0..self.genome.states();
        let own: Vec<Exact> = self.viable.iter().map(|viable| (one() - mix_up) * viable).collect();
        let swapped: Vec<Exact> = self.stranger[0].iter().map(|chance| mix_up * chance).collect();
        let times = |weights: &[Exact], factor: &dyn Fn(usize) -> Exact| -> Vec<Exact> {
            states.clone().map(|state| &weights[state] * factor(state)).collect()
        };
        let selected = self.records && !brood.clutch.recorded_only.is_empty();
        let names = |state: usize| self.names(brood, state);
        Young {
            own_named: selected.then(|| times(&own, &names)),
            swapped_named: selected.then(|| times(&swapped, &names).iter().sum()),
            own: times(&own, &|state| likelihood[state].clone()),
            swapped: times(&swapped, &|state| likelihood[state].clone()),
        }
    }

    /// The term of a recorded young, for each of its states.
    fn term(
        &self,
        brood: &Brood,
        young: &Young,
        dam: usize,
        father: Father,
    ) -> Vec<(usize, Exact)> {
        let hatches = self.hatches(dam, father);
        let from_clutch = self.genome.young(dam, father);
        let mut term: BTreeMap<usize, Exact> = BTreeMap::new();
        for (state, chance) in from_clutch.iter() {
            add(&mut term, *state, chance * &young.own[*state]);
        }
        for (state, weight) in young.swapped.iter().enumerate() {
            if *weight != zero() {
                add(&mut term, state, &hatches * weight);
            }
        }
        // Selected records: P(its call names a look of them, and it hatches).
        let by = match (&young.own_named, &young.swapped_named) {
            (Some(own), Some(swapped)) => {
                let named = from_clutch.iter().map(|(state, chance)| chance * &own[*state]);
                named.sum::<Exact>() + hatches * swapped
            }
            _ if brood.losses.is_none() => hatches,
            _ => one(),
        };
        if by == one() {
            return term.into_iter().collect();
        }
        term.into_iter().map(|(state, value)| (state, over(&value, &by))).collect()
    }

    /// P(the call of a young names a look by which the clutch's records were selected).
    fn names(&self, brood: &Brood, state: usize) -> Exact {
        let genotype = |gene: usize| {
            let place = self.genome.genes.iter().position(|&g| g == gene);
            self.genome.genotypes[state][place.expect("selection ties all genes together")]
        };
        let looks = [&brood.clutch.recorded_only[..], &brood.clutch.kept_if[..]].concat();
        chance_of_naming(self.colony, &looks, &genotype)
    }

    /// 1 / (1 − Π (1 − P(the call of a hatched young is in R | parents))).
    fn kept(&self, brood: &Brood) -> Table {
        assert!(brood.clutch.recorded_only.is_empty(), "judge: not covered: selected twice");
        let stranger: Exact = (0..self.genome.states())
            .map(|state| &self.stranger[0][state] * self.names(brood, state))
            .sum();
        let u = exact(self.colony.assumptions.mix_up);
        let with_id = |id: &&AnimalId| self.colony.animal(**id).id.is_some();
        let with_id = brood.clutch.hatchlings.iter().filter(with_id).count();
        let without_id = brood.clutch.recorded() as usize - with_id;
        let (scope, mut entries) = self.entries_over_parents(brood, None, None, |dam, father| {
            let young = self.genome.young(dam, father);
            let shown: Exact = young
                .iter()
                .map(|(state, chance)| chance * &self.viable[*state] * self.names(brood, *state))
                .sum();
            vec![(0, over(&shown, &self.hatches(dam, father)))]
        });
        for (_, chance) in &mut entries {
            let mixed = (one() - &u) * &*chance + &u * &stranger;
            let none = power(&(one() - &*chance), without_id) * power(&(one() - mixed), with_id);
            *chance = over(&one(), &(one() - none));
        }
        Table::new(scope, entries)
    }
}

/// Every way to choose one sire for each clutch that has one but not known which, with its weight.
pub fn choices_of_sires(colony: &Colony) -> Vec<(Exact, Vec<Option<usize>>)> {
    let mut choices = vec![(one(), vec![])];
    for clutch in &colony.clutches {
        let options: Vec<(Exact, Option<usize>)> = if has_sire_in_doubt(colony, clutch) {
            let all = candidates(colony, clutch).into_iter().enumerate();
            all.map(|(place, (_, weight))| (weight, Some(place))).collect()
        } else {
            vec![(one(), None)]
        };
        choices = choices
            .into_iter()
            .flat_map(|(weight, chosen)| {
                options.iter().map(move |(factor, option)| {
                    (&weight * factor, [&chosen[..], &[*option]].concat())
                })
            })
            .collect();
    }
    choices
}
