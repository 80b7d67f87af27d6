//! What the judge says, and how it comes to say it.

use std::collections::BTreeMap;

use proveout::records::{AnimalId, Call, Candidate, Colony, Genotype, Inheritance, Origin};

use super::belief::fits_of_beliefs;
use super::broods::choices_of_sires;
use super::calls::{Calls, calls_on};
use super::coupling::{all_together, candidates, gene_sets, has_sire_in_doubt};
use super::exact::{Exact, add, one, over, zero};
use super::stage::Stage;
use super::sums::{Table, sum_all, sum_literally, sum_to};
use super::tables::{Made, Tables};

/// Chances of the identities of an animal: the look class of each gene.
pub type Identities = BTreeMap<Vec<usize>, Exact>;

/// Everything that section 5 of the model asks for, exactly.
#[derive(Clone, Debug)]
pub struct Verdict {
    /// P(all records); zero = impossible, and then every map below is empty.
    pub evidence: Exact,
    /// `[animal][gene]`: posterior of the genotype; what is not listed has chance zero.
    pub marginals: Vec<Vec<BTreeMap<Genotype, Exact>>>,
    /// Whole-clutch sires in doubt: posterior of each candidate, `unknown` of `other_sire` last.
    pub clutch_sires: BTreeMap<usize, Vec<(Candidate, Exact)>>,
    /// Hatchlings of clutches with several candidates and mixed siring, by animal number.
    pub egg_sires: BTreeMap<usize, Vec<(Candidate, Exact)>>,
    genes: usize,
    /// For each set of genes the genes, and for each animal the joint posterior of its classes.
    classes: Vec<(Vec<usize>, Vec<Identities>)>,
}

impl Verdict {
    /// Joint posterior of the true look classes of an animal at all genes, in the order of the
    /// file; what is not listed has chance zero.
    pub fn identities(&self, animal: AnimalId) -> Identities {
        let mut identities = Identities::from([(vec![0; self.genes], one())]);
        for (genes, animals) in &self.classes {
            let mut longer = Identities::new();
            for (before, chance) in &identities {
                for (classes, factor) in &animals[animal.0] {
                    let mut all = before.clone();
                    genes.iter().zip(classes).for_each(|(&gene, &class)| all[gene] = class);
                    longer.insert(all, chance * factor);
                }
            }
            identities = longer;
        }
        identities
    }

    /// Posterior of one genotype.
    pub fn chance(&self, animal: AnimalId, gene: usize, genotype: Genotype) -> Exact {
        self.marginals[animal.0][gene].get(&genotype).cloned().unwrap_or_else(zero)
    }
}

/// The whole model.
pub fn judge(colony: &Colony) -> Verdict {
    Judge::new(colony, true).verdict()
}

/// Parentage, sex and statements alone: no looks, calls, readings, egg counts or selection.
/// Young are known to have hatched.
pub fn judge_prior(colony: &Colony) -> Verdict {
    Judge::new(colony, false).verdict()
}

/// P(all records) alone.
pub fn judge_evidence(colony: &Colony) -> Exact {
    Judge::new(colony, true).evidence()
}

/// [`judge_evidence`] with given weights for the `either` of some animals.
pub(super) fn evidence_with(colony: &Colony, fits: &[Option<Vec<Exact>>]) -> Exact {
    Judge::with_fits(colony, true, fits).evidence()
}

/// Evidence and marginals by visiting every configuration of all genes together; slow beyond a few
/// animals.
pub fn judge_literally(colony: &Colony) -> (Exact, Vec<Vec<BTreeMap<Genotype, Exact>>>) {
    let mut judge = Judge::new(colony, true);
    let calls = judge.calls.clone();
    judge.stages = vec![Stage::new(colony, &all_together(colony), &calls, true)];
    judge.literally()
}

struct Judge<'a> {
    colony: &'a Colony,
    calls: Vec<Calls>,
    stages: Vec<Stage<'a>>,
    choices: Vec<(Exact, Vec<Option<usize>>)>,
}

/// What one set of genes says, not normalised.
struct Part {
    evidence: Exact,
    /// `[animal]`: weight of each state; `None` when the evidence is zero.
    states: Vec<Option<Table>>,
    clutch_sires: BTreeMap<(usize, usize), Exact>,
    egg_sires: BTreeMap<(usize, usize), Exact>,
}

impl<'a> Judge<'a> {
    fn new(colony: &'a Colony, records: bool) -> Self {
        let fits = if records { fits_of_beliefs(colony) } else { vec![None; colony.animals.len()] };
        Judge::with_fits(colony, records, &fits)
    }

    fn with_fits(colony: &'a Colony, records: bool, fits: &[Option<Vec<Exact>>]) -> Self {
        assert!(
            colony.genes.iter().all(|gene| gene.inheritance != Inheritance::Unknown),
            "judge: not covered: a gene of unknown inheritance"
        );
        let calls: Vec<Calls> = colony
            .animals
            .iter()
            .zip(fits)
            .map(|(animal, fits)| calls_on(colony, animal, fits.as_deref()))
            .collect();
        let sets = gene_sets(colony, &calls);
        let stages = sets.iter().map(|set| Stage::new(colony, set, &calls, records)).collect();
        Judge { colony, calls, stages, choices: choices_of_sires(colony) }
    }

    fn evidence(&self) -> Exact {
        let of_set = |stage: &Stage| -> Exact {
            let mut made = Made::new();
            let of_choice = |(weight, chosen): &(Exact, Vec<Option<usize>>)| {
                weight * sum_all(&Tables::new(self.colony, stage, chosen, &mut made).for_sum(None))
            };
            self.choices.iter().map(of_choice).sum()
        };
        self.stages.iter().map(of_set).product()
    }

    fn verdict(&self) -> Verdict {
        let parts: Vec<Part> = self.stages.iter().map(|stage| self.part(stage)).collect();
        let mut verdict = Verdict {
            evidence: parts.iter().map(|part| &part.evidence).product(),
            marginals: vec![
                vec![BTreeMap::new(); self.colony.genes.len()];
                self.colony.animals.len()
            ],
            clutch_sires: BTreeMap::new(),
            egg_sires: BTreeMap::new(),
            genes: self.colony.genes.len(),
            classes: vec![],
        };
        if verdict.evidence == zero() {
            return verdict;
        }
        for (stage, part) in self.stages.iter().zip(&parts) {
            let genes = &stage.genome.genes;
            let mut classes = Vec::new();
            for (animal, states) in part.states.iter().enumerate() {
                let states = states.as_ref().expect("the evidence is not zero");
                for (place, &gene) in genes.iter().enumerate() {
                    let genotype = |state: usize| stage.genome.genotypes[state][place];
                    verdict.marginals[animal][gene] = states.shares(genotype);
                }
                classes.push(states.shares(|state| {
                    let genotypes = genes.iter().zip(&stage.genome.genotypes[state]);
                    genotypes.map(|(&gene, &g)| self.colony.genes[gene].class_of(g)).collect()
                }));
            }
            verdict.classes.push((genes.clone(), classes));
        }
        // Several candidates tie all genes together, so there is one part.
        for part in &parts {
            for (&(clutch, place), weight) in &part.clutch_sires {
                let (candidate, _) = candidates(self.colony, &self.colony.clutches[clutch])[place];
                let chance = weight / &part.evidence;
                verdict.clutch_sires.entry(clutch).or_default().push((candidate, chance));
            }
            for (&(animal, place), weight) in &part.egg_sires {
                let Origin::Clutch(clutch) = self.colony.animals[animal].origin else { continue };
                let (candidate, _) = candidates(self.colony, self.colony.clutch(clutch))[place];
                let chance = weight / &part.evidence;
                verdict.egg_sires.entry(animal).or_default().push((candidate, chance));
            }
        }
        verdict
    }

    fn part(&self, stage: &Stage) -> Part {
        let mut part = Part {
            evidence: zero(),
            states: vec![None; self.colony.animals.len()],
            clutch_sires: BTreeMap::new(),
            egg_sires: BTreeMap::new(),
        };
        let mut made = Made::new();
        for (weight, chosen) in &self.choices {
            let tables = Tables::new(self.colony, stage, chosen, &mut made);
            let evidence = weight * sum_all(&tables.for_sum(None));
            for id in self.colony.clutch_ids() {
                let clutch = self.colony.clutch(id);
                if has_sire_in_doubt(self.colony, clutch) {
                    for place in 0..candidates(self.colony, clutch).len() {
                        let mine = chosen[id.0] == Some(place);
                        let here = if mine { evidence.clone() } else { zero() };
                        add(&mut part.clutch_sires, (id.0, place), here);
                    }
                }
            }
            if evidence == zero() {
                continue;
            }
            for animal in self.colony.animal_ids() {
                let mut factors = tables.for_sum(Some(animal));
                factors.push(Table::number(weight.clone()));
                let here = sum_to(&factors, animal.0);
                let sum = &mut part.states[animal.0];
                *sum = Some(sum.as_ref().map_or_else(|| here.clone(), |sum| sum.plus(&here)));
                for (place, value) in tables.egg_sires(self.colony, stage, chosen, animal) {
                    add(&mut part.egg_sires, (animal.0, place), weight * value);
                }
            }
            part.evidence += evidence;
        }
        part
    }

    fn literally(&self) -> (Exact, Vec<Vec<BTreeMap<Genotype, Exact>>>) {
        let (animals, genes) = (self.colony.animals.len(), self.colony.genes.len());
        let mut evidence = one();
        let mut marginals = vec![vec![BTreeMap::new(); genes]; animals];
        for stage in &self.stages {
            let mut total = zero();
            let mut weights: BTreeMap<(usize, usize, Genotype), Exact> = BTreeMap::new();
            let mut made = Made::new();
            for (weight, chosen) in &self.choices {
                let tables = Tables::new(self.colony, stage, chosen, &mut made);
                let (sum, states) = sum_literally(&tables.every());
                total += weight * sum;
                for ((animal, state), value) in
                    states.into_iter().filter(|((a, _), _)| *a < animals)
                {
                    let genotypes = &stage.genome.genotypes[state];
                    for (&gene, &genotype) in stage.genome.genes.iter().zip(genotypes) {
                        add(&mut weights, (animal, gene, genotype), weight * &value);
                    }
                }
            }
            for ((animal, gene, genotype), weight) in weights {
                if weight != zero() {
                    marginals[animal][gene].insert(genotype, over(&weight, &total));
                }
            }
            evidence *= total;
        }
        (evidence, marginals)
    }
}

/// Nothing recorded of an animal's looks.
pub(super) fn unseen(colony: &mut Colony, animal: AnimalId) {
    let animal = &mut colony.animals[animal.0];
    animal.seen.call = Call::NotRecorded;
    animal.grown = None;
    animal.readings.clear();
}
