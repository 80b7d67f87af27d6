//! What a suspected gene means for each animal: averaged over the ways it may be inherited.

use super::compare::{Comparison, compare, prepared};
use super::hypotheses::hypotheses;
use super::inherited::Suspect;
use super::scored::first_classes;
use crate::genetics::Mode;
use crate::numbers::{ln, log_sum_exp};
use crate::questions::genotypes::{genotypes_of, unknown_inheritance};
use crate::questions::identify::{identify_of, nearly_all};
use crate::questions::model::Case;
use crate::questions::{
    Asked, Copies, GenotypeAnswer, GenotypesAnswer, IN_DOUBT, IdentifyAnswer, Identity,
    Proposition, Story, Unanswerable,
};
use crate::records::{Colony, GeneId, Genotype, Inheritance};

/// Modes below this chance are left out of averages.
const NEGLIGIBLE: f64 = 1e-9;

/// The genotypes of an animal under one mode.
#[derive(Clone, Debug, PartialEq)]
pub struct UnderMode {
    /// The mode.
    pub mode: Mode,
    /// Its chance.
    pub probability: f64,
    /// The chances of the genotypes at the suspected gene; empty where no single locus decides.
    pub posterior: Vec<(Genotype, f64)>,
}

/// What is known of an animal at a gene whose inheritance is in doubt.
#[derive(Clone, Debug, PartialEq)]
pub struct Suspected {
    /// Mode by mode, likeliest first.
    pub by_mode: Vec<UnderMode>,
    /// The chance of all modes in which one locus decides, which the posterior is averaged over.
    pub inherited: f64,
}

/// All modes of one gene with their posteriors.
struct Weighed<'c> {
    suspect: Suspect<'c>,
    comparison: Comparison,
}

impl<'c> Weighed<'c> {
    fn new(colony: &'c Colony, gene: GeneId, memory: u64) -> Result<Self, Unanswerable> {
        let all = hypotheses(colony, gene);
        let comparison = compare(colony, gene, &all, memory, false)?;
        let first = first_classes(colony, gene);
        Ok(Weighed { suspect: Suspect { colony, gene, first, eggs: false, memory }, comparison })
    }

    fn modes(&self) -> Vec<(Mode, f64)> {
        let mut modes: Vec<(Mode, f64)> = self
            .comparison
            .candidates
            .iter()
            .filter(|one| one.posterior > NEGLIGIBLE)
            .map(|one| (one.hypothesis.mode, one.posterior))
            .collect();
        modes.sort_by(|a, b| b.1.total_cmp(&a.1));
        modes
    }

    fn log_evidence(&self) -> f64 {
        let logs: Vec<f64> = self
            .comparison
            .candidates
            .iter()
            .map(|one| ln(one.hypothesis.prior) + one.log_evidence())
            .collect();
        log_sum_exp(&logs)
    }
}

/// The genotypes of a colony with suspected genes.
///
/// # Source
///
/// A gene of unknown inheritance: the posterior by copies is averaged over the inherited one-locus
/// modes; what other genes gain from it is averaged over all modes.
pub(in crate::questions) fn genotypes(
    colony: &Colony,
    asked: &Asked,
) -> Result<GenotypesAnswer, Unanswerable> {
    let mut answer = genotypes_of(&Case::of(colony), asked)?;
    let suspected: Vec<GeneId> = unknown_inheritance(colony).collect();
    let quick = Asked { explain: false, ..asked.clone() };
    for gene in &suspected {
        let prepared = prepared(colony, *gene);
        let weighed = Weighed::new(prepared.as_ref(), *gene, asked.memory)?;
        let alone = suspected.len() == 1;
        average(&mut answer, &weighed, &quick, alone, asked.explain)?;
        answer.warnings.push(said(colony, *gene));
    }
    if suspected.len() > 1 {
        answer.warnings.push(
            "more than one gene is of unknown inheritance: each is looked at without the others, \
             and what they may say of other genes is left out"
                .into(),
        );
    }
    Ok(answer)
}

fn said(colony: &Colony, gene: GeneId) -> String {
    let name = &colony.gene(gene).name;
    format!(
        "how {name} is inherited is not known: what is said of it is averaged over the ways it may \
         be, by their chances (`mode` shows them)"
    )
}

fn average(
    answer: &mut GenotypesAnswer,
    weighed: &Weighed<'_>,
    asked: &Asked,
    alone: bool,
    asked_to_explain: bool,
) -> Result<(), Unanswerable> {
    let gene = weighed.suspect.gene;
    let mut rows: Vec<Row> = Vec::new();
    // For the other genes: what each mode makes of them, with its chance.
    let mut others: Vec<(GenotypesAnswer, f64)> = Vec::new();
    for (mode, probability) in weighed.modes() {
        if !mode.is_inherited() {
            continue;
        }
        let ask = |case: &Case<'_>| {
            let answer = genotypes_of(case, asked)?;
            let log = answer.log_evidence;
            Ok((answer, log))
        };
        for (under, share) in weighed.suspect.mixture(mode, &ask)? {
            for one in under.genotypes.iter().filter(|one| one.gene == gene) {
                Row::of(&mut rows, one).add(mode, probability, share, one);
            }
            others.push((under, probability * share));
        }
    }
    if alone {
        blend(answer, &others);
        answer.log_evidence = weighed.log_evidence();
    }
    for row in rows {
        answer.genotypes.push(row.answer(weighed.suspect.colony));
    }
    let order = |one: &GenotypeAnswer| (one.animal, one.gene);
    answer.genotypes.sort_by_key(order);
    if asked_to_explain {
        let own = answer.genotypes.iter().filter(|one| one.gene == gene);
        let told: Vec<Story> = own.flat_map(stories).collect();
        answer.stories.extend(told);
        answer.stories.sort_by_key(|story| story.proposition);
    }
    Ok(())
}

/// The two ends of what is told of an animal at a suspected gene.
fn stories(one: &GenotypeAnswer) -> Vec<Story> {
    let chance = |chances: &[f64], least: usize| -> f64 {
        let pairs = one.genotypes.iter().zip(chances);
        pairs.filter(|(g, _)| g.copies_of(1) >= least).map(|(_, chance)| chance).sum()
    };
    let story = |(copies, least): (Copies, usize)| {
        let (before, after) = (chance(&one.prior, least), chance(&one.posterior, least));
        let (animal, gene) = (one.animal, one.gene);
        let proposition = Proposition { animal, gene, allele: 1, copies };
        // What is not in doubt is told by the look alone.
        IN_DOUBT.contains(&after).then(|| Story {
            proposition,
            before,
            after,
            steps: Vec::new(),
            because: Vec::new(),
            error: None,
            floor: None,
        })
    };
    [(Copies::Any, 1), (Copies::Two, 2)].into_iter().filter_map(story).collect()
}

/// Moves the posteriors of the other genes to the average over all modes; where the gene is not
/// inherited they are as they were.
fn blend(answer: &mut GenotypesAnswer, others: &[(GenotypesAnswer, f64)]) {
    let rest = 1.0 - others.iter().map(|(_, weight)| weight).sum::<f64>();
    for one in &mut answer.genotypes {
        let mut mean: Vec<f64> = one.posterior.iter().map(|chance| rest * chance).collect();
        for (other, weight) in others {
            let same = |o: &&GenotypeAnswer| o.animal == one.animal && o.gene == one.gene;
            let Some(found) = other.genotypes.iter().find(same) else { continue };
            mean.iter_mut().zip(&found.posterior).for_each(|(m, chance)| *m += weight * chance);
        }
        one.posterior = mean;
    }
    for (at, sire) in answer.sires.iter_mut().enumerate() {
        for (which, (_, _, after)) in sire.candidates.iter_mut().enumerate() {
            let of = |(other, weight): &(GenotypesAnswer, f64)| {
                let found = other.sires.get(at).and_then(|sire| sire.candidates.get(which));
                found.map_or(0.0, |(_, _, after)| weight * after)
            };
            *after = rest * *after + others.iter().map(of).sum::<f64>();
        }
    }
    // How the odds moved clutch by clutch is told only where the suspected gene changes nothing.
    for story in &mut answer.stories {
        let of = story.proposition;
        let same = |o: &&GenotypeAnswer| o.animal == of.animal && o.gene == of.gene;
        let Some(found) = answer.genotypes.iter().find(same) else { continue };
        let hit = |g: &Genotype| match of.copies {
            Copies::Any => g.copies_of(of.allele) >= 1,
            Copies::Two => g.copies_of(of.allele) >= 2,
        };
        let pairs = found.genotypes.iter().zip(&found.posterior);
        let after: f64 = pairs.filter(|(g, _)| hit(g)).map(|(_, chance)| chance).sum();
        if (after - story.after).abs() > 1e-9 {
            story.after = after;
            story.steps.clear();
            story.floor = None;
        }
    }
}

/// One animal at the suspected gene, mode by mode.
struct Row {
    animal: crate::records::AnimalId,
    gene: GeneId,
    modes: Vec<UnderMode>,
    /// For each mode the chances before anything was seen.
    priors: Vec<Vec<(Genotype, f64)>>,
}

impl Row {
    fn of<'r>(rows: &'r mut Vec<Row>, one: &GenotypeAnswer) -> &'r mut Row {
        let at = match rows.iter().position(|row| row.animal == one.animal) {
            Some(at) => at,
            None => {
                let (modes, priors) = (Vec::new(), Vec::new());
                rows.push(Row { animal: one.animal, gene: one.gene, modes, priors });
                rows.len() - 1
            }
        };
        &mut rows[at]
    }

    fn add(&mut self, mode: Mode, probability: f64, share: f64, one: &GenotypeAnswer) {
        if self.modes.last().is_none_or(|last| last.mode != mode) {
            self.modes.push(UnderMode { mode, probability, posterior: Vec::new() });
            self.priors.push(Vec::new());
        }
        if !mode.is_one_locus() {
            return;
        }
        let (Some(under), Some(prior)) = (self.modes.last_mut(), self.priors.last_mut()) else {
            return;
        };
        for (sums, values) in [(&mut under.posterior, &one.posterior), (prior, &one.prior)] {
            for (genotype, value) in one.genotypes.iter().zip(values) {
                match sums.iter_mut().find(|(known, _)| known == genotype) {
                    Some((_, sum)) => *sum += share * value,
                    None => sums.push((*genotype, share * value)),
                }
            }
        }
    }

    /// The average by copies over the modes in which one locus decides.
    fn answer(self, colony: &Colony) -> GenotypeAnswer {
        let genotypes = colony.gene(self.gene).two_copy_genotypes();
        let by_copies = |list: &[(Genotype, f64)]| -> Vec<f64> {
            let copies = |g: &Genotype| g.mutant_copies();
            let of = |own: &Genotype| {
                let alike = list.iter().filter(|(g, _)| copies(g) == copies(own));
                alike.map(|(_, chance)| chance).sum()
            };
            genotypes.iter().map(of).collect()
        };
        let mut prior = vec![0.0; genotypes.len()];
        let mut posterior = vec![0.0; genotypes.len()];
        let mut inherited = 0.0;
        for (under, before) in self.modes.iter().zip(&self.priors) {
            if under.posterior.is_empty() {
                continue;
            }
            inherited += under.probability;
            for (sums, list) in [(&mut posterior, &under.posterior), (&mut prior, before)] {
                let values = by_copies(list);
                sums.iter_mut().zip(values).for_each(|(s, v)| *s += under.probability * v);
            }
        }
        if inherited > 0.0 {
            prior.iter_mut().chain(&mut posterior).for_each(|chance| *chance /= inherited);
        }
        let suspected = Some(Suspected { by_mode: self.modes, inherited });
        let (animal, gene) = (self.animal, self.gene);
        let error = None;
        GenotypeAnswer { animal, gene, genotypes, prior, posterior, error, sex: None, suspected }
    }
}

/// The identities of the hatchlings of a colony with a suspected gene: if it is inherited.
pub(in crate::questions) fn identify(
    colony: &Colony,
    asked: &Asked,
) -> Result<IdentifyAnswer, Unanswerable> {
    let suspected: Vec<GeneId> = unknown_inheritance(colony).collect();
    let mut answer = identify_of(&Case::of(colony), asked, &nearly_all())?;
    let [gene] = suspected.as_slice() else {
        answer.warnings.push(
            "more than one gene is of unknown inheritance: identities are told without them".into(),
        );
        return Ok(answer);
    };
    let prepared = prepared(colony, *gene);
    let weighed = Weighed::new(prepared.as_ref(), *gene, asked.memory)?;
    let mut lists: Vec<(f64, IdentifyAnswer)> = Vec::new();
    let ask = |case: &Case<'_>| {
        let answer = identify_of(case, asked, &nearly_all())?;
        let log = answer.log_evidence;
        Ok((answer, log))
    };
    for (mode, probability) in weighed.modes().into_iter().filter(|(mode, _)| mode.is_inherited()) {
        let shares = weighed.suspect.mixture(mode, &ask)?;
        lists.extend(shares.into_iter().map(|(answer, share)| (probability * share, answer)));
    }
    let inherited: f64 = lists.iter().map(|(weight, _)| weight).sum();
    for (at, hatchling) in answer.hatchlings.iter_mut().enumerate() {
        let own = |one: &IdentifyAnswer| one.hatchlings.get(at).map(|h| h.identities.clone());
        let each: Vec<(f64, Vec<Identity>)> = lists
            .iter()
            .filter_map(|(weight, one)| Some((weight / inherited, own(one)?)))
            .collect();
        if each.is_empty() {
            continue;
        }
        let slices = each.iter().map(|(weight, list)| (*weight, list.as_slice()));
        (hatchling.identities, hatchling.rest) = crate::questions::identities::average(slices);
        hatchling.tell_apart.clear();
    }
    let name = &colony.gene(*gene).name;
    answer.log_evidence = weighed.log_evidence();
    answer.warnings.push(format!(
        "how {name} is inherited is not known: identities hold if it is inherited, and are averaged \
         over the ways in which it may be, by their chances (`mode` shows them)"
    ));
    Ok(answer)
}

/// Whether any gene of a colony is of unknown inheritance.
pub(in crate::questions) fn any(colony: &Colony) -> bool {
    colony.genes.iter().any(|gene| gene.inheritance == Inheritance::Unknown)
}
