//! The same colony written down in another order.

use proveout::records::{
    AnimalId, Call, Candidate, ClutchId, Colony, GeneId, Genotype, Hidden, Inheritance, Look,
    Observation, Origin, Parent, Penetrance, ReadingKind, Says,
};
use proveout::records::{CrossoverRates, Reading};
use rand::seq::SliceRandom;
use rand_chacha::ChaCha8Rng;

/// What is written in another order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shuffle {
    Nothing,
    Founders,
    Clutches,
    Hatchlings,
    Genes,
    /// Alleles of a series, and its looks.
    Alleles,
    /// Looks, identities, readings, statements, counts, candidate sires, masks.
    Lists,
    Everything,
}

impl Shuffle {
    pub const EACH: [Shuffle; 7] = [
        Shuffle::Founders,
        Shuffle::Clutches,
        Shuffle::Hatchlings,
        Shuffle::Genes,
        Shuffle::Alleles,
        Shuffle::Lists,
        Shuffle::Everything,
    ];

    fn does(self, what: Shuffle) -> bool {
        self == what || self == Shuffle::Everything
    }
}

/// New numbers for old ones.
struct Numbers {
    animals: Vec<usize>,
    clutches: Vec<usize>,
    genes: Vec<usize>,
    /// By old gene.
    alleles: Vec<Vec<usize>>,
    classes: Vec<Vec<usize>>,
}

/// `order[new] = old` turned into `number[old] = new`.
fn inverse(order: &[usize]) -> Vec<usize> {
    let mut numbers = vec![usize::MAX; order.len()];
    order.iter().enumerate().for_each(|(new, old)| numbers[*old] = new);
    numbers
}

impl Numbers {
    fn animal(&self, id: AnimalId) -> AnimalId {
        AnimalId(self.animals[id.0])
    }

    fn gene(&self, id: GeneId) -> GeneId {
        GeneId(self.genes[id.0])
    }

    fn look(&self, look: Look) -> Look {
        Look { gene: self.gene(look.gene), class: self.classes[look.gene.0][look.class] }
    }

    fn genotype(&self, gene: GeneId, genotype: Genotype) -> Genotype {
        let to = &self.alleles[gene.0];
        match genotype {
            Genotype::Two(a, b) => Genotype::two(to[a], to[b]),
            Genotype::One(a) => Genotype::One(to[a]),
        }
    }

    fn looks(&self, looks: &mut [Look]) {
        looks.iter_mut().for_each(|look| *look = self.look(*look));
    }

    fn seen(&self, seen: &mut Observation) {
        match &mut seen.call {
            Call::NotRecorded => {}
            Call::Looks(looks) => self.looks(looks),
            Call::Either(list) => list.iter_mut().for_each(|one| self.looks(&mut one.looks)),
        }
        seen.unread.iter_mut().for_each(|gene| *gene = self.gene(*gene));
    }

    fn reading(&self, reading: &mut Reading) {
        let gene = reading.gene;
        match &mut reading.kind {
            ReadingKind::Result { genotype, .. } => *genotype = self.genotype(gene, *genotype),
            ReadingKind::Likelihood(list) => {
                list.iter_mut()
                    .for_each(|(genotype, _)| *genotype = self.genotype(gene, *genotype));
            }
        }
        reading.gene = self.gene(gene);
    }

    fn declared(&self, colony: &mut Colony) {
        for (at, gene) in colony.genes.iter_mut().enumerate() {
            let of = |genotype: &mut Genotype| *genotype = self.genotype(GeneId(at), *genotype);
            gene.shows.iter_mut().for_each(|(genotype, class)| {
                of(genotype);
                *class = self.classes[at][*class];
            });
            gene.lethal.iter_mut().for_each(of);
            if let Some(Penetrance::Some(list)) = &mut gene.penetrance {
                list.iter_mut().for_each(|(genotype, _)| of(genotype));
            }
            let place = |names: &[String], to: &[usize]| -> Vec<String> {
                let mut moved = names.to_vec();
                (0..names.len()).for_each(|old| moved[to[old + 1] - 1].clone_from(&names[old]));
                moved
            };
            if let Some(background) = &mut gene.background {
                let old = background.clone();
                for (at_old, value) in old.iter().enumerate() {
                    background[self.alleles[at][at_old + 1] - 1] = *value;
                }
            }
            gene.alleles = place(&gene.alleles, &self.alleles[at]);
            gene.looks = place(&gene.looks, &self.classes[at]);
        }
        let mut genes: Vec<_> = colony.genes.drain(..).enumerate().collect();
        genes.sort_by_key(|(old, _)| self.genes[*old]);
        colony.genes = genes.into_iter().map(|(_, gene)| gene).collect();
        for group in &mut colony.linkage {
            group.genes.iter_mut().for_each(|gene| *gene = self.gene(*gene));
        }
        for mask in &mut colony.masks {
            self.looks(&mut mask.looks);
            mask.hides.iter_mut().for_each(|hidden| {
                *hidden = match *hidden {
                    Hidden::Gene(gene) => Hidden::Gene(self.gene(gene)),
                    Hidden::Look(look) => Hidden::Look(self.look(look)),
                };
            });
        }
        colony.combinations.iter_mut().for_each(|one| self.looks(&mut one.looks));
    }

    fn recorded(&self, colony: &mut Colony) {
        for animal in &mut colony.animals {
            if let Origin::Clutch(clutch) = &mut animal.origin {
                *clutch = ClutchId(self.clutches[clutch.0]);
            }
            self.seen(&mut animal.seen);
            animal.grown.iter_mut().for_each(|seen| self.seen(seen));
            animal.readings.iter_mut().for_each(|reading| self.reading(reading));
            for told in &mut animal.statements {
                let old = told.gene;
                match &mut told.says {
                    Says::Look(class) => *class = self.classes[old.0][*class],
                    Says::Het { allele, .. } | Says::NotHet { allele } => {
                        *allele = self.alleles[old.0][*allele];
                    }
                }
                told.gene = self.gene(old);
            }
        }
        let mut animals: Vec<_> = colony.animals.drain(..).enumerate().collect();
        animals.sort_by_key(|(old, _)| self.animals[*old]);
        colony.animals = animals.into_iter().map(|(_, animal)| animal).collect();
        for clutch in &mut colony.clutches {
            if let Parent::Known(dam) = &mut clutch.dam {
                *dam = self.animal(*dam);
            }
            for (candidate, _) in &mut clutch.siring.candidates {
                if let Candidate::Known(sire) = candidate {
                    *sire = self.animal(*sire);
                }
            }
            clutch.hatchlings.iter_mut().for_each(|id| *id = self.animal(*id));
            clutch.hatchlings.sort_unstable();
            clutch.counts.iter_mut().for_each(|count| self.seen(&mut count.seen));
            self.looks(&mut clutch.recorded_only);
            self.looks(&mut clutch.kept_if);
        }
        let mut clutches: Vec<_> = colony.clutches.drain(..).enumerate().collect();
        clutches.sort_by_key(|(old, _)| self.clutches[*old]);
        colony.clutches = clutches.into_iter().map(|(_, clutch)| clutch).collect();
    }
}

/// The same colony in another order; founders first, then the young of each clutch.
pub fn reordered(colony: &Colony, what: Shuffle, dice: &mut ChaCha8Rng) -> Colony {
    let mut order = |mut list: Vec<usize>, kind: Shuffle| {
        if what.does(kind) {
            list.shuffle(dice);
        }
        list
    };
    let founders: Vec<usize> = (0..colony.animals.len())
        .filter(|at| colony.animals[*at].origin == Origin::Founder)
        .collect();
    let mut animals = order(founders, Shuffle::Founders);
    let clutches = order((0..colony.clutches.len()).collect(), Shuffle::Clutches);
    for clutch in &clutches {
        let young = colony.clutches[*clutch].hatchlings.iter().map(|id| id.0).collect();
        animals.extend(order(young, Shuffle::Hatchlings));
    }
    let genes = order((0..colony.genes.len()).collect(), Shuffle::Genes);
    let mut series = |count: usize, is_series: bool| -> Vec<usize> {
        let others: Vec<usize> = (1..=count).collect();
        let order = if is_series { order(others, Shuffle::Alleles) } else { others };
        let zero = [0].into_iter();
        inverse(&zero.chain(order).collect::<Vec<_>>())
    };
    let is_series = |at: usize| colony.genes[at].inheritance == Inheritance::Alleles;
    let all = 0..colony.genes.len();
    let alleles =
        all.clone().map(|g| series(colony.genes[g].alleles.len(), is_series(g))).collect();
    let classes = all.map(|g| series(colony.genes[g].looks.len(), is_series(g))).collect();
    let numbers = Numbers {
        animals: inverse(&animals),
        clutches: inverse(&clutches),
        genes: inverse(&genes),
        alleles,
        classes,
    };
    let mut other = colony.clone();
    if what.does(Shuffle::Lists) {
        shuffle_lists(&mut other, dice);
    }
    numbers.declared(&mut other);
    numbers.recorded(&mut other);
    other
}

fn shuffle_lists(colony: &mut Colony, dice: &mut ChaCha8Rng) {
    let seen = |seen: &mut Observation, dice: &mut ChaCha8Rng| match &mut seen.call {
        Call::NotRecorded => {}
        Call::Looks(looks) => looks.shuffle(dice),
        Call::Either(list) => {
            list.shuffle(dice);
            list.iter_mut().for_each(|one| one.looks.shuffle(dice));
        }
    };
    for group in &mut colony.linkage {
        group.genes.reverse();
        if let CrossoverRates::Known { female, male } = &mut group.crossover {
            female.reverse();
            male.reverse();
        }
    }
    colony.masks.shuffle(dice);
    for animal in &mut colony.animals {
        seen(&mut animal.seen, dice);
        animal.grown.iter_mut().for_each(|grown| seen(grown, dice));
        animal.statements.shuffle(dice);
        animal.readings.shuffle(dice);
    }
    for clutch in &mut colony.clutches {
        clutch.counts.iter_mut().for_each(|count| seen(&mut count.seen, dice));
        clutch.counts.shuffle(dice);
        clutch.siring.candidates.shuffle(dice);
    }
}
