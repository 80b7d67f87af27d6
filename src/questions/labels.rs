//! What may I write on the label?

use super::customary::Customs;
use super::fit::own_call;
use super::genotypes::{answer, genotypes, steps, with_priors};
use super::label_claims::{decide, usefulness};
use super::ladder::ladder;
use super::model::Case;
use super::{
    Asked, Caution, ClutchFit, Copies, Customary, Divided, GenotypeAnswer, GenotypesAnswer, Method,
    Model, Proposition, SireAnswer, Step, StepRole, Unanswerable,
};
use crate::genetics::{
    FounderEvidence, GeneCall, Locus, call_sheets, founder_term, reading_likelihood,
};
use crate::records::{
    AnimalId, Assumptions, Call, Candidate, Colony, GeneId, Genotype, Inheritance, Origin,
};

/// A chance of carrying that is worth a line.
pub(super) const SUSPECTED: f64 = 0.02;

/// What a label speaks of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Subject {
    /// That the animal is of this look class.
    Look(usize),
    /// That it has copies of a mutant allele.
    Copies {
        /// The allele, from 1.
        allele: usize,
        /// How many.
        copies: Copies,
    },
}

/// What may be said of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Claim {
    /// It shows it.
    Shows,
    /// It may be it: the call was uncertain.
    MayShow,
    /// Its young, a reading, or both leave less doubt than the level allows.
    Proven {
        /// Whether its young do so alone.
        young: bool,
        /// Whether a reading does so alone.
        reading: bool,
    },
    /// Its parentage leaves less doubt than the level allows; nothing of its own proves it.
    ByDescent,
    /// Only what it was sold as says so.
    AsTold,
    /// It may have it.
    Possible,
    /// It was bred to mates that would have shown it, and nothing showed.
    TestBred {
        /// How many young did not show it.
        young: u32,
    },
    /// Nothing can be claimed.
    Nothing,
    /// How the gene is inherited is not known.
    NotKnown {
        /// Whether the animal itself shows it, and not only its kin.
        own: bool,
    },
}

/// What one label says of one animal at one gene.
#[derive(Clone, Debug, PartialEq)]
pub struct Label {
    /// The animal.
    pub animal: AnimalId,
    /// The gene.
    pub gene: GeneId,
    /// What it speaks of.
    pub subject: Subject,
    /// What may be said.
    pub claim: Claim,
    /// What the trade would call it by parentage and statements.
    pub customary: Customary,
    /// The chance that the animal is or has what the subject says; `None` where none can be given.
    pub probability: Option<f64>,
    /// The clutches that moved the chance; those of its own young first.
    pub steps: Vec<Step>,
    /// Who its sire is, where that is in doubt.
    pub sires: Vec<(Candidate, f64)>,
    /// Whether it is worth a line; otherwise nothing is suspected, or the animal is dead.
    pub told: bool,
}

/// The labels of a colony, the most useful animals first.
#[derive(Clone, Debug, PartialEq)]
pub struct LabelsAnswer {
    /// How it was computed.
    pub method: Method,
    /// Natural log of the probability of all records.
    pub log_evidence: f64,
    /// The assumptions in force.
    pub assumptions: Assumptions,
    /// Doubts that concern the whole answer.
    pub warnings: Vec<String>,
    /// What was divided out of the keeper's overall beliefs.
    pub divided: Vec<Divided>,
    /// The clutch that fits the others so badly that a record may be wrong.
    pub surprise: Option<ClutchFit>,
    /// The chance from which on a thing counts as proven.
    pub level: f64,
    /// The labels.
    pub labels: Vec<Label>,
    /// What may harm an animal.
    pub cautions: Vec<Caution>,
}

/// Answers what may be written on the label of each animal; `level` is the chance from which on
/// young or readings prove a thing, between 1/2 and 1.
///
/// # Errors
///
/// [`Unanswerable`] when the records cannot all be true, or need too much memory.
pub fn labels(colony: &Colony, asked: &Asked, level: f64) -> Result<LabelsAnswer, Unanswerable> {
    let quick = Asked { explain: false, ..asked.clone() };
    if super::unknowns::any(colony) {
        let answer = genotypes(colony, &quick)?;
        let labels = drafts(colony, asked, &answer);
        return Ok(finish(colony, asked, answer, labels, level));
    }
    let resolved = super::belief::resolve(colony, asked.memory)?;
    let colony = resolved.colony.as_ref();
    let (mut model, priors) = with_priors(Case::of(colony), asked.memory)?;
    let answer = answer(&mut model, &priors, &quick, &resolved.divided, true);
    let mut labels = drafts(colony, asked, &answer);
    climb(&model, &mut labels);
    Ok(finish(colony, asked, answer, labels, level))
}

/// A label before it is decided what may be claimed, with what the decision needs.
pub(super) struct Draft {
    pub(super) label: Label,
    /// The chance before any young, reading or look of its own, and for a hatchling of its kin.
    pub(super) before: f64,
    /// By what readings multiplied the odds.
    pub(super) reading: f64,
    /// The chance of an animal of unrelated stock that was called the same.
    pub(super) stock: f64,
    /// Whether nobody sees one copy.
    pub(super) hidden: bool,
}

/// Every label of the animals and genes asked about.
fn drafts(colony: &Colony, asked: &Asked, answer: &GenotypesAnswer) -> Vec<Draft> {
    let customs = Customs::new(colony);
    let mut drafts = Vec::new();
    for one in &answer.genotypes {
        let locus =
            Locus::new(one.gene, colony.gene(one.gene), &colony.assumptions, colony.sex_system);
        let drafting = Drafting { colony, customs: &customs, answer, one, locus: &locus };
        drafts.extend(drafting.all());
    }
    for gene in colony.gene_ids().filter(|gene| asked.wants_gene(*gene)) {
        if colony.gene(gene).inheritance == Inheritance::Unknown {
            drafts.extend(of_unknown(colony, asked, gene));
        }
    }
    drafts
}

/// What is needed to draft the labels of one animal at one gene.
struct Drafting<'a> {
    colony: &'a Colony,
    customs: &'a Customs<'a>,
    answer: &'a GenotypesAnswer,
    one: &'a GenotypeAnswer,
    locus: &'a Locus,
}

impl Drafting<'_> {
    fn all(&self) -> Vec<Draft> {
        let called = own_call(self.colony, self.one.animal, self.one.gene);
        let mut subjects = match called {
            Some(class) if class > 0 => vec![(Subject::Look(class), Claim::Shows)],
            Some(_) => Vec::new(),
            None => self.named().into_iter().map(|c| (Subject::Look(c), Claim::MayShow)).collect(),
        };
        for proposition in Proposition::all(self.one.animal, self.locus) {
            if self.says_more(proposition, called) {
                let Proposition { allele, copies, .. } = proposition;
                subjects.push((Subject::Copies { allele, copies }, Claim::Possible));
            }
        }
        subjects.into_iter().map(|(subject, claim)| self.draft(subject, claim)).collect()
    }

    /// The looks of the gene that an uncertain call names.
    fn named(&self) -> Vec<usize> {
        let sightings = call_sheets(self.colony, self.colony.animal(self.one.animal));
        let Some(latest) = sightings.last() else { return Vec::new() };
        let mut classes: Vec<usize> = latest
            .sheet
            .alternatives
            .iter()
            .filter_map(|(_, calls)| calls[self.one.gene.0].named())
            .filter(|class| *class > 0)
            .collect();
        classes.sort_unstable();
        classes.dedup();
        classes
    }

    /// Whether a proposition says something that the look does not.
    fn says_more(&self, proposition: Proposition, called: Option<usize>) -> bool {
        let chance = proposition.chance(self.locus, &self.posterior());
        match (called, proposition.copies) {
            // A normal animal with two copies would be a wrong call; an unread one may have them.
            (Some(0), Copies::Two) => false,
            (None, Copies::Two) => chance >= SUSPECTED && !self.is_named(chance),
            (None, Copies::Any) => !self.is_named(chance),
            (Some(0), Copies::Any) => true,
            (Some(class), _) => {
                let weights = self.possible(self.locus.of_class(class));
                let by_look = proposition.chance(self.locus, &weights);
                by_look > 0.0 && by_look < 1.0
            }
        }
    }

    /// Whether the looks that an uncertain call names say as much.
    fn is_named(&self, chance: f64) -> bool {
        let posterior = self.posterior();
        let of = |class: usize| -> f64 {
            posterior.iter().zip(self.locus.of_class(class)).map(|(p, of)| p * of).sum()
        };
        let named = self.named();
        !named.is_empty() && (named.into_iter().map(of).sum::<f64>() - chance).abs() < SUSPECTED
    }

    fn possible(&self, mut weights: Vec<f64>) -> Vec<f64> {
        let sex = self.colony.animal(self.one.animal).sex;
        for (weight, genotype) in weights.iter_mut().zip(&self.locus.genotypes) {
            if !self.locus.possible(*genotype, sex) {
                *weight = 0.0;
            }
        }
        weights
    }

    fn posterior(&self) -> Vec<f64> {
        self.spread(&self.one.posterior)
    }

    /// Chances of the genotypes it can have as chances of all genotypes of the locus.
    fn spread(&self, chances: &[f64]) -> Vec<f64> {
        let place = |genotype| self.one.genotypes.iter().position(|own| own == genotype);
        let all = self.locus.genotypes.iter();
        all.map(|genotype| place(genotype).map_or(0.0, |at| chances[at])).collect()
    }

    fn draft(&self, subject: Subject, claim: Claim) -> Draft {
        let (animal, gene) = (self.one.animal, self.one.gene);
        let posterior = self.posterior();
        let prior = self.spread(&self.one.prior);
        let (probability, before, customary, reading, stock, hidden) = match subject {
            Subject::Look(class) => {
                let of_class = self.locus.of_class(class);
                let chance: f64 = posterior.iter().zip(of_class).map(|(p, of)| p * of).sum();
                let customary = match claim {
                    Claim::Shows => Customary::Visual(class),
                    _ => Customary::Nothing,
                };
                (chance, 0.0, customary, 1.0, 0.0, false)
            }
            Subject::Copies { allele, copies } => {
                let proposition = Proposition { animal, gene, allele, copies };
                let customary = match copies {
                    Copies::Any => self.customs.of(animal, gene, allele),
                    Copies::Two => Customary::Nothing,
                };
                let hidden = self.colony.gene(gene).class_of(Genotype::two(0, allele)) == 0;
                (
                    proposition.chance(self.locus, &posterior),
                    proposition.chance(self.locus, &prior),
                    if matches!(customary, Customary::Visual(_)) {
                        Customary::Nothing
                    } else {
                        customary
                    },
                    self.readings(proposition),
                    proposition.chance(self.locus, &self.stock()),
                    hidden,
                )
            }
        };
        let label = Label {
            animal,
            gene,
            subject,
            claim,
            customary,
            probability: Some(probability.clamp(0.0, 1.0)),
            steps: Vec::new(),
            sires: self.sires(),
            told: true,
        };
        Draft { label, before, reading, stock, hidden }
    }

    /// By what the readings of the animal multiply the odds of a proposition.
    fn readings(&self, proposition: Proposition) -> f64 {
        let animal = self.colony.animal(self.one.animal);
        let prior = self.spread(&self.one.prior);
        let mut factor = 1.0;
        for reading in animal.readings.iter().filter(|reading| reading.gene == self.one.gene) {
            let likelihood = reading_likelihood(self.locus, animal.sex, reading);
            let weighed: Vec<f64> = prior.iter().zip(likelihood).map(|(p, l)| p * l).collect();
            let odds = |weights: &[f64]| {
                super::propositions::odds(proposition.chance(self.locus, weights))
            };
            let moved = odds(&weighed) / odds(&prior);
            factor *= if moved.is_nan() { 1.0 } else { moved };
        }
        factor
    }

    /// Unrelated stock that was called as the animal was.
    fn stock(&self) -> Vec<f64> {
        let animal = self.colony.animal(self.one.animal);
        let called = own_call(self.colony, self.one.animal, self.one.gene);
        let call = called.map(|class| GeneCall::Class { class, hidden: Vec::new() });
        let look = call.as_ref().filter(|_| called > Some(0));
        let evidence = FounderEvidence { own_look: look, ..FounderEvidence::default() };
        let mut weights = founder_term(self.locus, animal.sex, &evidence);
        if called == Some(0) {
            let normal = self.locus.class_chance(0);
            weights.iter_mut().zip(normal).for_each(|(weight, normal)| *weight *= normal);
        }
        weights
    }

    /// Who sired the animal, where more than one may have.
    fn sires(&self) -> Vec<(Candidate, f64)> {
        let Origin::Clutch(clutch) = self.colony.animal(self.one.animal).origin else {
            return Vec::new();
        };
        let own = |one: &&SireAnswer| {
            one.clutch == clutch && one.hatchling.is_none_or(|young| young == self.one.animal)
        };
        let found = self.answer.sires.iter().find(own);
        let candidates = found.map(|one| one.candidates.as_slice()).unwrap_or_default();
        candidates.iter().map(|(candidate, _, after)| (*candidate, *after)).collect()
    }
}

/// Labels of a gene of which it is not known how it is inherited: of those that show it and of
/// their parents, young and clutch-mates.
fn of_unknown(colony: &Colony, asked: &Asked, gene: GeneId) -> Vec<Draft> {
    let shown = |animal: AnimalId| named_look(colony, animal, gene);
    let kin = kin(colony, gene);
    let named =
        |animal: &AnimalId| colony.animal(*animal).id.is_some() && asked.wants(colony, *animal);
    let draft = |animal: AnimalId| {
        let class = shown(animal);
        let claim = match class {
            None if !kin[animal.0] => Claim::Nothing,
            own => Claim::NotKnown { own: own.is_some() },
        };
        let label = Label {
            animal,
            gene,
            subject: Subject::Look(class.unwrap_or(1).min(colony.gene(gene).looks.len())),
            claim,
            customary: class.map_or(Customary::Nothing, Customary::Visual),
            probability: None,
            steps: Vec::new(),
            sires: Vec::new(),
            told: claim != Claim::Nothing,
        };
        Draft { label, before: 0.0, reading: 1.0, stock: 0.0, hidden: false }
    };
    colony.animal_ids().filter(named).map(draft).collect()
}

/// The look of a gene that the latest plain call of an animal names.
fn named_look(colony: &Colony, id: AnimalId, gene: GeneId) -> Option<usize> {
    let animal = colony.animal(id);
    animal.grown.iter().chain([&animal.seen]).find_map(|seen| look_of(&seen.call, gene))
}

fn look_of(call: &Call, gene: GeneId) -> Option<usize> {
    let Call::Looks(looks) = call else { return None };
    looks.iter().find(|look| look.gene == gene).map(|look| look.class)
}

/// Which animals are parents, young or clutch-mates of one that shows a gene; a mate is no kin.
fn kin(colony: &Colony, gene: GeneId) -> Vec<bool> {
    let mut kin = vec![false; colony.animals.len()];
    let shows = |animal: &AnimalId| named_look(colony, *animal, gene).is_some();
    for clutch in &colony.clutches {
        let parents: Vec<AnimalId> = clutch.named_parents().collect();
        let counted = clutch.counts.iter().any(|count| look_of(&count.seen.call, gene).is_some());
        let by_young = counted || clutch.hatchlings.iter().any(shows);
        if by_young {
            parents.iter().for_each(|parent| kin[parent.0] = true);
        }
        if by_young || parents.iter().any(shows) {
            clutch.hatchlings.iter().for_each(|young| kin[young.0] = true);
        }
    }
    kin
}

/// How each clutch moved the chances, where that is not too long a way.
fn climb(model: &Model<'_>, drafts: &mut [Draft]) {
    let proposition = |draft: &Draft| match draft.label.subject {
        Subject::Copies { allele, copies } => {
            let Label { animal, gene, .. } = draft.label;
            Some(Proposition { animal, gene, allele, copies })
        }
        Subject::Look(_) => None,
    };
    let all: Vec<Proposition> = drafts.iter().filter_map(proposition).collect();
    let Some(climbed) = ladder(model, &all) else { return };
    let copies = drafts.iter_mut().filter(|draft| proposition(draft).is_some());
    for (at, (draft, proposition)) in copies.zip(&all).enumerate() {
        draft.label.steps = steps(model, *proposition, &climbed, at);
        let own = |step: &Step| matches!(step.role, StepRole::Parent(_));
        draft.label.steps.sort_by_key(|step| !own(step));
    }
}

fn finish(
    colony: &Colony,
    asked: &Asked,
    answer: GenotypesAnswer,
    drafts: Vec<Draft>,
    level: f64,
) -> LabelsAnswer {
    let mut labels: Vec<Label> =
        drafts.into_iter().map(|draft| decide(colony, asked, draft, level)).collect();
    labels.sort_by_key(|label| (usefulness(colony, label.animal), label.animal, label.gene));
    LabelsAnswer {
        method: answer.method,
        log_evidence: answer.log_evidence,
        assumptions: answer.assumptions,
        warnings: answer.warnings,
        divided: answer.divided,
        surprise: answer.surprise,
        level,
        labels,
        cautions: answer.cautions,
    }
}
