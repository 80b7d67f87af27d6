//! What is compared: the ways a suspected gene may be inherited, their families and priors.

use crate::genetics::Mode;
use crate::records::{Colony, GeneId, Inheritance, SexSystem};

/// Modes that share one prior.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Family {
    /// Recessive, not on a sex chromosome.
    Recessive,
    /// Dominant, not on a sex chromosome.
    Dominant,
    /// Incomplete dominant, two copies distinct or lethal.
    IncompleteDominant,
    /// On X or Z.
    SexLinked,
    /// An allele of a declared locus.
    Allele,
    /// Two genes both needed.
    TwoGenes,
    /// Not inherited, by chance.
    Chance,
    /// Not inherited, by clutch.
    ClutchEffect,
}

impl Family {
    /// Every family, in the order in which they are told.
    pub const ALL: [Family; 8] = [
        Family::Recessive,
        Family::Dominant,
        Family::IncompleteDominant,
        Family::SexLinked,
        Family::Allele,
        Family::TwoGenes,
        Family::Chance,
        Family::ClutchEffect,
    ];

    /// The family of a mode.
    pub fn of(mode: Mode) -> Self {
        match mode {
            Mode::Recessive { sex_linked: true }
            | Mode::Dominant { sex_linked: true }
            | Mode::IncompleteDominant { sex_linked: true } => Family::SexLinked,
            Mode::Recessive { .. } => Family::Recessive,
            Mode::Dominant { .. } => Family::Dominant,
            Mode::IncompleteDominant { .. } | Mode::LethalIncompleteDominant => {
                Family::IncompleteDominant
            }
            Mode::Allele { .. } => Family::Allele,
            Mode::TwoRecessive | Mode::TwoDominant => Family::TwoGenes,
            Mode::Chance => Family::Chance,
            Mode::ClutchEffect => Family::ClutchEffect,
        }
    }
}

/// A mode with its chance before the records are looked at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hypothesis {
    /// The mode.
    pub mode: Mode,
    /// Its family.
    pub family: Family,
    /// Its prior chance.
    pub prior: f64,
}

/// A prior that the keeper sets.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PriorOf {
    /// Of a whole family; its modes share it.
    Family(Family, f64),
    /// Of one mode.
    Mode(Mode, f64),
}

/// Every mode that applies to a suspected gene of a colony, with equal priors for the families.
///
/// # Source
///
/// Mode of inheritance: prior by family, equal; forms and loci share within their family; families
/// that do not apply drop out.
pub fn hypotheses(colony: &Colony, gene: GeneId) -> Vec<Hypothesis> {
    let declared = colony.gene(gene);
    let mut modes = Vec::new();
    let chromosomes = colony.sex_system != SexSystem::Environmental;
    let on_sex_chromosome = chromosomes && declared.sex_linked.is_some();
    if !on_sex_chromosome {
        let sex_linked = false;
        modes.push(Mode::Recessive { sex_linked });
        modes.push(Mode::Dominant { sex_linked });
        modes.push(Mode::IncompleteDominant { sex_linked });
        modes.push(Mode::LethalIncompleteDominant);
    }
    if chromosomes {
        let sex_linked = true;
        modes.push(Mode::Recessive { sex_linked });
        modes.push(Mode::Dominant { sex_linked });
        modes.push(Mode::IncompleteDominant { sex_linked });
    }
    for of in colony.gene_ids().filter(|of| *of != gene) {
        let other = colony.gene(of);
        let has_place = other.inheritance != Inheritance::Unknown && !other.alleles.is_empty();
        if has_place && (!on_sex_chromosome || other.sex_linked.is_some()) {
            modes.extend([false, true].map(|visible| Mode::Allele { of, visible }));
        }
    }
    if !on_sex_chromosome {
        modes.extend([Mode::TwoRecessive, Mode::TwoDominant]);
    }
    modes.extend([Mode::Chance, Mode::ClutchEffect]);
    let with = |mode: Mode| Hypothesis { mode, family: Family::of(mode), prior: 0.0 };
    let mut all: Vec<Hypothesis> = modes.into_iter().map(with).collect();
    share_out(&mut all);
    all
}

/// Equal priors for the families, shared within them.
fn share_out(all: &mut [Hypothesis]) {
    let members = |family: Family| all.iter().filter(|one| one.family == family).count();
    let sizes = Family::ALL.map(|family| (family, members(family)));
    let families = sizes.iter().filter(|(_, size)| *size > 0).count() as f64;
    for one in all {
        let size = sizes.iter().find(|(family, _)| *family == one.family).map_or(1, |(_, n)| *n);
        one.prior = 1.0 / (families * size as f64);
    }
}

/// Sets priors; what is not set shares what they leave, in proportion.
///
/// `Err` says in words what is wrong: a mode or family that is not compared here, or priors whose
/// sum cannot be one.
pub fn set_priors(all: &mut [Hypothesis], priors: &[PriorOf]) -> Result<(), String> {
    let mut set = vec![false; all.len()];
    for prior in priors {
        let (chance, hits): (f64, Vec<usize>) = match prior {
            PriorOf::Family(family, chance) => {
                (*chance, positions(all, |one| one.family == *family))
            }
            PriorOf::Mode(mode, chance) => (*chance, positions(all, |one| one.mode == *mode)),
        };
        if hits.is_empty() {
            return Err("that way of inheritance is not among those that apply here".into());
        }
        if !(0.0..=1.0).contains(&chance) {
            return Err(format!("a prior lies between 0 and 1, not {chance}"));
        }
        if hits.iter().any(|at| set[*at]) {
            return Err("a way of inheritance is given two priors".into());
        }
        let before: f64 = hits.iter().map(|at| all[*at].prior).sum();
        for at in hits {
            all[at].prior *= if before > 0.0 { chance / before } else { 0.0 };
            set[at] = true;
        }
    }
    let sum = |of: bool| -> f64 {
        all.iter().zip(&set).filter(|(_, set)| **set == of).map(|(one, _)| one.prior).sum()
    };
    let (given, rest) = (sum(true), sum(false));
    if given > 1.0 + 1e-9 {
        return Err(format!("the priors sum to {given}, which is more than 1"));
    }
    if rest < 1e-12 && (given - 1.0).abs() > 1e-6 {
        return Err(format!("all priors are given, and their sum is {given}, not 1"));
    }
    for (one, set) in all.iter_mut().zip(&set) {
        if !set && rest > 0.0 {
            one.prior *= (1.0 - given).max(0.0) / rest;
        }
    }
    Ok(())
}

fn positions(all: &[Hypothesis], fits: impl Fn(&Hypothesis) -> bool) -> Vec<usize> {
    all.iter().enumerate().filter(|(_, one)| fits(one)).map(|(at, _)| at).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::records::{Format, read};

    fn all(genes: usize) -> Vec<Hypothesis> {
        let known: String =
            (0..genes).map(|at| format!("[gene.g{at}]\ninheritance = \"recessive\"\n")).collect();
        let text = format!(
            "sex_system = \"ZW\"\n{known}[gene.quill]\ninheritance = \"unknown\"\n\
             looks = [\"quill\"]\n[[animal]]\nid = \"x\"\n"
        );
        let colony = read(text.as_bytes(), Format::Toml).expect("sound").colony;
        hypotheses(&colony, GeneId(genes))
    }

    #[test]
    fn unrelated_declared_genes_change_no_familys_prior() {
        let of = |all: &[Hypothesis], family: Family| -> f64 {
            all.iter().filter(|one| one.family == family).map(|one| one.prior).sum()
        };
        let (one, ten) = (all(1), all(10));
        for family in Family::ALL {
            assert!((of(&one, family) - 0.125).abs() < 1e-12, "{family:?}");
            assert!((of(&ten, family) - 0.125).abs() < 1e-12, "{family:?}");
        }
        assert_eq!(all(0).iter().filter(|one| one.family == Family::Allele).count(), 0);
    }

    #[test]
    fn a_prior_that_is_set_leaves_the_rest_to_the_others() {
        let mut some = all(1);
        let lethal = PriorOf::Mode(Mode::LethalIncompleteDominant, 0.3);
        set_priors(&mut some, &[PriorOf::Family(Family::Recessive, 0.4), lethal]).expect("sound");
        let total: f64 = some.iter().map(|one| one.prior).sum();
        assert!((total - 1.0).abs() < 1e-12);
        assert!((some[0].prior - 0.4).abs() < 1e-12);
        assert!(set_priors(&mut some, &[PriorOf::Family(Family::Recessive, 1.4)]).is_err());
    }
}
