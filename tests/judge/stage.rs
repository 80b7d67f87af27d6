//! One set of genes of one colony: what each animal weighs by itself, and the tables its clutches
//! make.

use std::collections::HashMap;

use proveout::records::{
    Animal, AnimalId, Candidate, Clutch, ClutchId, Colony, Origin, Parent, Sex, SiringMode,
};

use super::calls::{Calls, calls_on_counted, chance_of_call, chance_of_naming, chance_of_reading};
use super::coupling::{GeneSet, candidates, has_sire_in_doubt};
use super::exact::{Exact, exact, fraction, one, over, power, zero};
use super::founders::{Weights, founder_term, unrelated};
use super::genome::{Father, Genome};
use super::sums::{Table, Variable};

/// Everything about one set of genes that does not depend on who the sires are.
pub struct Stage<'a> {
    colony: &'a Colony,
    /// The states of the set.
    pub genome: Genome,
    eggs: bool,
    /// Whether looks, calls, readings, egg counts and selection count.
    records: bool,
    /// For each animal and state: founders their whole term, hatchlings the likelihood.
    own: Vec<Vec<Exact>>,
    /// Unrelated animals of unknown sex, dams, sires.
    stranger: [Vec<Exact>; 3],
    viable: Vec<Exact>,
}

/// One young of a clutch.
struct Young<'a> {
    likelihood: &'a [Exact],
    mix_up: Exact,
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
    /// Prepares a set. Without `records` only parentage, sex and statements count.
    pub fn new(colony: &'a Colony, set: &GeneSet, calls: &[Calls], records: bool) -> Self {
        let genome = Genome::new(colony, &set.genes, set.sex);
        let mut stage = Stage {
            colony,
            genome,
            eggs: set.eggs,
            records,
            own: vec![],
            stranger: [vec![], vec![], vec![]],
            viable: vec![],
        };
        stage.viable = (0..stage.genome.states()).map(|state| stage.viability(state)).collect();
        stage.stranger =
            [None, Some(Sex::Female), Some(Sex::Male)].map(|sex| stage.unrelated_weights(sex));
        stage.own = colony
            .animals
            .iter()
            .zip(calls)
            .map(|(animal, calls)| match animal.origin {
                Origin::Founder => stage.founder_weights(animal, calls),
                Origin::Clutch(_) => {
                    let reads = stage.reading_weights(animal);
                    let seen = stage.likelihood(animal.sex, calls);
                    seen.into_iter().zip(reads).map(|(seen, read)| seen * read).collect()
                }
            })
            .collect();
        stage
    }

    fn viability(&self, state: usize) -> Exact {
        if !self.eggs {
            return one();
        }
        let lethal = self
            .genome
            .genes
            .iter()
            .zip(&self.genome.genotypes[state])
            .any(|(&gene, genotype)| self.colony.genes[gene].lethal.contains(genotype));
        if lethal { zero() } else { one() - exact(self.colony.assumptions.egg_loss) }
    }

    /// Chance of a founder's sex: it is given where it is known.
    fn sex_share(&self, state: usize, sex: Option<Sex>) -> Exact {
        match (self.genome.sexes[state], sex) {
            (None, _) => one(),
            (Some(_), None) => fraction(1, 2),
            (Some(have), Some(known)) if have == known => one(),
            _ => zero(),
        }
    }

    /// Product over the genes of what `terms` gives to the genotype, times the share of the phase.
    fn product(&self, state: usize, terms: &[Weights]) -> Exact {
        let genotypes = &self.genome.genotypes[state];
        let values =
            terms.iter().zip(genotypes).map(|(t, g)| t.get(g).cloned().unwrap_or_else(zero));
        values.product::<Exact>() * &self.genome.phase_share[state]
    }

    fn unrelated_weights(&self, sex: Option<Sex>) -> Vec<Exact> {
        self.by_sex(sex, |here| {
            self.genome.genes.iter().map(|&gene| unrelated(self.colony, gene, here)).collect()
        })
    }

    /// For every state the share of its sex times [`Stage::product`] of the terms for that sex.
    fn by_sex(
        &self,
        recorded: Option<Sex>,
        terms: impl Fn(Option<Sex>) -> Vec<Weights>,
    ) -> Vec<Exact> {
        let mut known: HashMap<Option<Sex>, Vec<Weights>> = HashMap::new();
        (0..self.genome.states())
            .map(|state| {
                let share = self.sex_share(state, recorded);
                if share == zero() {
                    return share;
                }
                let sex = self.genome.sexes[state];
                share * self.product(state, known.entry(sex).or_insert_with(|| terms(sex)))
            })
            .collect()
    }

    fn founder_weights(&self, animal: &Animal, calls: &Calls) -> Vec<Exact> {
        let nothing = vec![(one(), vec![None; self.colony.genes.len()])];
        let seen = match &calls[..] {
            _ if !self.records => &nothing,
            [seen] => seen,
            _ => panic!("judge: not covered: a founder that was seen twice"),
        };
        let reads = self.reading_weights(animal);
        let mut weights = vec![zero(); self.genome.states()];
        for (fit, called) in seen {
            let term = |gene: &usize, sex| {
                founder_term(self.colony, animal, *gene, sex, called[*gene].as_ref())
            };
            let here = self
                .by_sex(animal.sex, |sex| self.genome.genes.iter().map(|g| term(g, sex)).collect());
            for (state, value) in here.into_iter().enumerate() {
                weights[state] += fit * value * &reads[state];
            }
        }
        weights
    }

    fn reading_weights(&self, animal: &Animal) -> Vec<Exact> {
        let weight = |state: usize| {
            let mut weight = one();
            for reading in animal.readings.iter().filter(|_| self.records) {
                if let Some(place) = self.genome.genes.iter().position(|&g| g == reading.gene.0) {
                    let genotype = self.genome.genotypes[state][place];
                    weight *= chance_of_reading(self.colony, reading, genotype, animal.sex);
                }
            }
            weight
        };
        (0..self.genome.states()).map(weight).collect()
    }

    /// P(sex and calls | state) of a young.
    fn likelihood(&self, sex: Option<Sex>, calls: &Calls) -> Vec<Exact> {
        let chance = |alternatives: &Vec<(Exact, _)>, state: usize| -> Exact {
            let one_way = |called: &Vec<Option<_>>| -> Exact {
                let genes = self.genome.genes.iter().zip(&self.genome.genotypes[state]);
                let call = |(&gene, &genotype): (&usize, &_)| {
                    let call = called[gene].as_ref()?;
                    Some(chance_of_call(self.colony, gene, genotype, call))
                };
                genes.filter_map(call).product()
            };
            alternatives.iter().map(|(fit, called)| fit * one_way(called)).sum()
        };
        (0..self.genome.states())
            .map(|state| match (self.genome.sexes[state], sex) {
                (Some(have), Some(recorded)) if have != recorded => zero(),
                _ if !self.records => one(),
                _ => calls.iter().map(|alternatives| chance(alternatives, state)).product(),
            })
            .collect()
    }

    /// The states with some weight of their own.
    fn domain(&self, variable: Variable) -> Vec<usize> {
        let animals = self.colony.animals.len();
        let weights = match variable.checked_sub(animals) {
            None => &self.own[variable],
            Some(parent) => &self.stranger[1 + parent % 2],
        };
        (0..self.genome.states()).filter(|&state| weights[state] != zero()).collect()
    }

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
        let young = Young { likelihood: &self.own[hatchling.0], mix_up };
        self.over_parents(&brood, Some(hatchling.0), only, |dam, father| {
            self.young(&brood, &young, dam, father)
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
                    let young = Young { likelihood: &likelihood, mix_up: zero() };
                    let one_young = self.over_parents(&brood, None, None, |dam, father| {
                        let states = self.young(&brood, &young, dam, father);
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
            let mut sums: HashMap<usize, Exact> = HashMap::new();
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
                    *sums.entry(*state).or_insert_with(zero) += weight * &*value;
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
        let young = self.genome.young(dam, father);
        young.iter().map(|(state, chance)| chance * &self.viable[*state]).sum()
    }

    /// The term of one recorded young, for each of its states.
    ///
    /// `METHOD:` a mixed-up hatchling stands for an egg of the clutch that did hatch; only the
    /// young itself is another. So the chance that the egg hatches stays, and where losses are not
    /// known it is divided out of both.
    fn young(
        &self,
        brood: &Brood,
        young: &Young,
        dam: usize,
        father: Father,
    ) -> Vec<(usize, Exact)> {
        let hatches = self.hatches(dam, father);
        let swapped = &young.mix_up * &hatches;
        let own = one() - &young.mix_up;
        let from_clutch = self.genome.young(dam, father);
        let mut before_calls: HashMap<usize, Exact> = HashMap::new();
        for (state, chance) in from_clutch.iter() {
            *before_calls.entry(*state).or_insert_with(zero) +=
                &own * chance * &self.viable[*state];
        }
        if swapped != zero() {
            for (state, chance) in self.stranger[0].iter().enumerate() {
                *before_calls.entry(state).or_insert_with(zero) += &swapped * chance;
            }
        }
        let by = if self.records && !brood.clutch.recorded_only.is_empty() {
            let named = |(state, chance): (&usize, &Exact)| chance * self.names(brood, *state);
            before_calls.iter().map(named).sum()
        } else if brood.losses.is_none() {
            hatches
        } else {
            one()
        };
        let term = |(state, chance): (usize, Exact)| {
            (state, over(&(chance * &young.likelihood[state]), &by))
        };
        before_calls.into_iter().map(term).filter(|(_, value)| *value != zero()).collect()
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
