//! Careers along a plan, by Mendel and nothing else.

use std::collections::HashMap;

use proveout::genetics::SexChromosome;
use proveout::questions::{GoalKeep, GoalParent, GoalPlan, Model, Target};
use proveout::records::{AnimalId, Colony, GeneId, Genotype, Misread, Sex, SexSystem};
use proveout::sampler::Dice;

/// One animal of a career: an allele for each strand and gene, and its sex.
#[derive(Clone)]
pub struct Animal {
    strands: [Vec<Option<usize>>; 2],
    female: bool,
}

impl Animal {
    fn genotype(&self, gene: GeneId) -> Genotype {
        match [self.strands[0][gene.0], self.strands[1][gene.0]] {
            [Some(one), Some(other)] => Genotype::two(one, other),
            [Some(only), None] | [None, Some(only)] => Genotype::One(only),
            [None, None] => panic!("no copy at all"),
        }
    }
}

/// Careers of one colony, by Mendel and nothing else: genes are unlinked.
pub struct Careers<'a> {
    pub colony: &'a Colony,
    pub model: Model<'a>,
    pub dice: Dice,
}

impl Careers<'_> {
    /// The animals of the records, drawn together from all that is known.
    fn founders(&mut self) -> HashMap<AnimalId, Animal> {
        let dice = &mut self.dice;
        let states = self.model.work.draw(&self.model.tree, &mut || dice.uniform());
        let mut all = HashMap::new();
        for id in self.colony.animal_ids().filter(|id| self.colony.animal(*id).sex.is_some()) {
            let genes = self.colony.genes.len();
            let female = self.colony.animal(id).sex == Some(Sex::Female);
            let mut animal = Animal { strands: [vec![None; genes], vec![None; genes]], female };
            for (unit, of) in self.model.net.units.iter().enumerate() {
                let mut pair = self.model.net.strands(id, unit, &states);
                // The strand without copies is the second.
                if pair[0].chromosome == Some(SexChromosome::Limited) {
                    pair.swap(0, 1);
                }
                assert_eq!(of.loci.len(), 1, "nothing is linked here");
                for (strand, haplotype) in animal.strands.iter_mut().zip(pair) {
                    strand[of.loci[0].gene.0] = haplotype.alleles[0];
                }
            }
            all.insert(id, animal);
        }
        all
    }

    fn egg(&mut self, dam: &Animal, sire: &Animal) -> Animal {
        let unlike_dam = self.colony.sex_system == SexSystem::Zw;
        let genetic = self.colony.sex_system != SexSystem::Environmental;
        let female = self.dice.coin(0.5);
        let mut strands = [Vec::new(), Vec::new()];
        for gene in self.colony.gene_ids() {
            let on_one = genetic && self.colony.gene(gene).sex_linked.is_some();
            for (at, parent) in [dam, sire].into_iter().enumerate() {
                let unlike = on_one && ((at == 0) == unlike_dam);
                // The parent with unlike chromosomes gives the one that makes the young's sex.
                let takes =
                    if unlike { usize::from(female == unlike_dam) } else { self.dice.below(2) };
                strands[at].push(parent.strands[takes][gene.0]);
            }
        }
        Animal { strands, female }
    }

    fn viable(&self, egg: &Animal) -> bool {
        self.colony
            .gene_ids()
            .all(|gene| !self.colony.gene(gene).lethal.contains(&egg.genotype(gene)))
    }

    /// Young of a step: so many hatched, or what hatches from so many fertile eggs.
    fn brood(&mut self, dam: &Animal, sire: &Animal, number: u32, eggs: bool) -> Vec<Animal> {
        let mut young = Vec::new();
        if eggs {
            for _ in 0..number {
                let egg = self.egg(dam, sire);
                if self.viable(&egg) && !self.dice.coin(self.colony.assumptions.egg_loss) {
                    young.push(egg);
                }
            }
        }
        let mut tries = 0;
        while !eggs && young.len() < number as usize && tries < 100_000 {
            let egg = self.egg(dam, sire);
            tries += 1;
            if self.viable(&egg) {
                young.push(egg);
            }
        }
        young
    }

    /// What an animal truly shows at a gene.
    fn shown(&mut self, animal: &Animal, gene: GeneId) -> usize {
        let locus = self.model.net.locus(gene);
        let at = locus.position(animal.genotype(gene)).unwrap();
        let shows = locus.shows[at].clone();
        self.dice.weighted(&shows).unwrap()
    }

    fn called(&mut self, shown: usize, gene: GeneId) -> usize {
        let declared = self.colony.gene(gene);
        let classes = declared.looks.len() + 1;
        let other = |dice: &mut Dice, from: Vec<usize>| *dice.pick(&from).unwrap();
        match declared.misread.unwrap_or(Misread::Any(self.colony.assumptions.misread)) {
            Misread::Any(chance) => {
                if !self.dice.coin(chance) {
                    return shown;
                }
                other(&mut self.dice, (0..classes).filter(|class| *class != shown).collect())
            }
            Misread::Apart { missed, imagined, confused } => {
                let throw = self.dice.uniform();
                if shown == 0 {
                    let wrong = throw < imagined;
                    return if wrong { other(&mut self.dice, (1..classes).collect()) } else { 0 };
                }
                let looks: Vec<usize> = (1..classes).filter(|class| *class != shown).collect();
                if throw < missed {
                    0
                } else if throw < missed + confused && !looks.is_empty() {
                    other(&mut self.dice, looks)
                } else {
                    shown
                }
            }
        }
    }

    fn looks_so(&mut self, animal: &Animal, keep: &GoalKeep) -> bool {
        keep.looks.iter().all(|(gene, class)| {
            let shown = self.shown(animal, *gene);
            Some(self.called(shown, *gene)) == *class
        })
    }

    fn is_of_the_goal(&mut self, animal: &Animal, target: &Target) -> bool {
        match target {
            Target::Looks(looks) => {
                looks.iter().all(|look| self.shown(animal, look.gene) == look.class)
            }
            Target::Genotypes(list) => list.iter().all(|(gene, g)| animal.genotype(*gene) == *g),
        }
    }

    /// Whether one career along a plan ends with an animal of the goal.
    pub fn succeeds(&mut self, plan: &GoalPlan, target: &Target, by_eggs: bool) -> bool {
        let known = self.founders();
        let mut kept: Vec<[Vec<Animal>; 2]> = Vec::new();
        for (at, step) in plan.steps.iter().enumerate() {
            let parents = [(step.dam, 0), (step.sire, 1)].map(|(parent, sex)| match parent {
                GoalParent::Animal(id) => vec![known[&id].clone()],
                GoalParent::Kept { step, number } => {
                    kept[step - 1][sex][..number as usize].to_vec()
                }
            });
            let lines = parents[0].len().max(parents[1].len());
            let all = if by_eggs { step.eggs } else { step.young };
            let mut young = Vec::new();
            for line in 0..lines {
                let own = all / lines as u32 + u32::from((line as u32) < all % lines as u32);
                let [dam, sire] = [0, 1].map(|sex| parents[sex][line % parents[sex].len()].clone());
                young.extend(self.brood(&dam, &sire, own, by_eggs));
            }
            if at + 1 == plan.steps.len() {
                return young.iter().any(|one| self.is_of_the_goal(one, target));
            }
            let mut chosen = [Vec::new(), Vec::new()];
            for keep in &step.keep {
                let female = keep.sex == Sex::Female;
                for one in young.iter().filter(|one| one.female == female) {
                    let own = &mut chosen[usize::from(!female)];
                    if own.len() < keep.number as usize && self.looks_so(one, keep) {
                        own.push(one.clone());
                    }
                }
                if chosen[usize::from(!female)].len() < keep.number as usize {
                    return false;
                }
            }
            kept.push(chosen);
        }
        false
    }
}
