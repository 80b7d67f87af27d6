//! What the trade would call an animal: parentage, looks and statements alone, taken as certain.

use super::fit::own_call;
use crate::genetics::{FounderEvidence, GeneCall, Unit, founder_term, unrelated};
use crate::records::{
    AnimalId, Assumptions, Candidate, Clutch, ClutchId, Colony, GeneId, Inheritance, Origin,
    Parent, Sex,
};

/// What an animal would customarily be sold as at one gene.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Customary {
    /// It shows this look class.
    Visual(usize),
    /// It may carry one copy of this allele, with this chance: 1, 2/3, 1/2, 1/3 …
    Het {
        /// The mutant allele, from 1.
        allele: usize,
        /// The chance.
        chance: f64,
    },
    /// Nothing.
    Nothing,
}

/// The chances of each animal's genotypes by the usual certainties of the trade.
///
/// METHOD: calls and statements are right, stock without either carries nothing, genes are free of
/// each other, and each parent counts by what it was sold as and shows, whatever it bred later: the
/// percentages of the trade are worked out from one pairing at a time.
pub(super) struct Customs<'a> {
    colony: &'a Colony,
    plain: Colony,
    /// One for each gene; `None` where it is not known how it is inherited.
    units: Vec<Option<Unit>>,
    /// `chances[animal][gene]`: one for each genotype of the locus.
    chances: Vec<Vec<Vec<f64>>>,
}

impl<'a> Customs<'a> {
    pub(super) fn new(colony: &'a Colony) -> Self {
        let plain = plain(colony);
        let known = |gene: GeneId| colony.gene(gene).inheritance != Inheritance::Unknown;
        let unit = |gene: GeneId| known(gene).then(|| Unit::new(&plain, &[gene], None));
        let units = colony.gene_ids().map(unit).collect();
        let chances = vec![Vec::new(); colony.animals.len()];
        let mut customs = Customs { colony, plain, units, chances };
        for animal in colony.animal_ids() {
            if colony.animal(animal).origin == Origin::Founder {
                customs.chances[animal.0] =
                    customs.of_genes(|at, unit| customs.founder(animal, GeneId(at), unit));
            }
        }
        let mut left: Vec<ClutchId> = colony.clutch_ids().collect();
        while !left.is_empty() {
            let before = left.len();
            left.retain(|clutch| !customs.hatch(*clutch));
            if left.len() == before {
                break;
            }
        }
        customs
    }

    /// What an animal would be called at a gene, as to one allele.
    pub(super) fn of(&self, animal: AnimalId, gene: GeneId, allele: usize) -> Customary {
        if let Some(class) = own_call(self.colony, animal, gene).filter(|class| *class > 0) {
            return Customary::Visual(class);
        }
        let Some(unit) = &self.units[gene.0] else { return Customary::Nothing };
        let locus = &unit.loci[0];
        let Some(chances) = self.chances[animal.0].get(gene.0) else { return Customary::Nothing };
        let carries = locus.genotypes.iter().zip(chances).filter(|(g, _)| g.copies_of(allele) > 0);
        let chance: f64 = carries.map(|(_, chance)| chance).sum();
        if chance > 0.0 { Customary::Het { allele, chance } } else { Customary::Nothing }
    }

    fn of_genes(&self, of: impl Fn(usize, &Unit) -> Vec<f64>) -> Vec<Vec<f64>> {
        let each = self.units.iter().enumerate();
        each.map(|(at, unit)| unit.as_ref().map_or(Vec::new(), |unit| of(at, unit))).collect()
    }

    fn founder(&self, id: AnimalId, gene: GeneId, unit: &Unit) -> Vec<f64> {
        let animal = self.plain.animal(id);
        let class = own_call(self.colony, id, gene);
        let look = class.filter(|class| *class > 0);
        let call = look.map(|class| GeneCall::Class { class, hidden: Vec::new() });
        let statement = animal.statements.iter().find(|said| said.gene == gene);
        let evidence = FounderEvidence {
            statement: statement.map(|said| (said.says, 1.0)),
            own_look: call.as_ref(),
            certain: None,
        };
        let told = founder_term(&unit.loci[0], animal.sex, &evidence);
        self.called(unit, animal.sex, class, told)
    }

    /// The young of a clutch, once its parents are there.
    fn hatch(&mut self, id: ClutchId) -> bool {
        let colony = self.colony;
        let clutch = colony.clutch(id);
        let missing =
            |animal: &AnimalId| self.chances[animal.0].is_empty() && !self.units.is_empty();
        if clutch.named_parents().any(|animal| missing(&animal)) {
            return false;
        }
        for animal in &clutch.hatchlings {
            let sex = colony.animal(*animal).sex;
            self.chances[animal.0] = self.of_genes(|at, unit| {
                let young = self.young(clutch, GeneId(at), unit, sex);
                self.called(unit, sex, own_call(colony, *animal, GeneId(at)), young)
            });
        }
        true
    }

    fn young(&self, clutch: &Clutch, gene: GeneId, unit: &Unit, sex: Option<Sex>) -> Vec<f64> {
        let dam = match clutch.dam {
            Parent::Known(dam) => self.chances[dam.0][gene.0].clone(),
            Parent::Unknown => unrelated(&unit.loci[0], Some(Sex::Female)),
        };
        let genotype = |state: &usize| unit.genotype[0][*state];
        let [children, males, females] =
            [sex, Some(Sex::Male), Some(Sex::Female)].map(|sex| unit.states_of(sex));
        let mut sums = vec![0.0; unit.loci[0].genotypes.len()];
        for (candidate, weight) in &clutch.siring.candidates {
            let sire = match candidate {
                Candidate::Known(sire) => Some(self.chances[sire.0][gene.0].clone()),
                Candidate::Unknown => Some(unrelated(&unit.loci[0], Some(Sex::Male))),
                Candidate::NoFather => None,
            };
            let alone = self.colony.assumptions.virgin_heterozygosity;
            let table = unit.brood(sire.is_none().then_some(alone)).hatched(sex);
            for (child, chances) in children.iter().zip(table.outer_iter()) {
                for ((from_sire, from_dam), chance) in chances.indexed_iter() {
                    let of_sire = match (&sire, males.get(from_sire)) {
                        (Some(sire), Some(state)) => sire[genotype(state)],
                        (None, None) => 1.0,
                        _ => 0.0,
                    };
                    let of_dam = dam[genotype(&females[from_dam])];
                    sums[genotype(child)] += weight * of_sire * of_dam * chance;
                }
            }
        }
        sums
    }

    /// The chances once the animal's own look is known; a look that parentage cannot give is right.
    fn called(
        &self,
        unit: &Unit,
        sex: Option<Sex>,
        class: Option<usize>,
        mut chances: Vec<f64>,
    ) -> Vec<f64> {
        let locus = &unit.loci[0];
        if let Some(class) = class {
            let fits = locus.of_class(class);
            let kept: f64 = chances.iter().zip(&fits).map(|(chance, fits)| chance * fits).sum();
            if kept > 0.0 {
                chances.iter_mut().zip(&fits).for_each(|(chance, fits)| *chance *= fits);
            } else {
                let call = GeneCall::Class { class, hidden: Vec::new() };
                let look = (class > 0).then_some(&call);
                let evidence = FounderEvidence { own_look: look, ..FounderEvidence::default() };
                chances = founder_term(locus, sex, &evidence);
            }
        }
        let total: f64 = chances.iter().sum();
        if total > 0.0 {
            chances.iter_mut().for_each(|chance| *chance /= total);
        }
        chances
    }
}

/// The colony as the trade sees it.
fn plain(colony: &Colony) -> Colony {
    let mut plain = colony.clone();
    plain.assumptions = Assumptions {
        background: 0.0,
        misread: 0.0,
        other_sire: 0.0,
        mix_up: 0.0,
        trust: 1.0,
        ..colony.assumptions
    };
    plain.linkage.clear();
    for gene in &mut plain.genes {
        (gene.background, gene.misread, gene.penetrance) = (None, None, None);
        // With a copy on both sex chromosomes it is passed on like any other, but for the sex.
        gene.sex_linked = gene.sex_linked.filter(|linked| linked.crossover.is_none());
    }
    plain
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::records::{Format, read};

    const STOCK: &str = "
        [gene.ash]\ninheritance = \"recessive\"
        [[animal]]\nid = \"visual\"\nsex = \"male\"\nlooks = [\"ash\"]
        [[animal]]\nid = \"het\"\nsex = \"male\"\nlooks = [\"normal\"]\nsold_as = [\"het ash\"]
        [[animal]]\nid = \"plain\"\nsex = \"female\"\nlooks = [\"normal\"]
        [[animal]]\nid = \"hen\"\nsex = \"female\"\nlooks = [\"normal\"]\nsold_as = [\"het ash\"]
        [[animal]]\nid = \"maybe\"\nsex = \"female\"\nlooks = [\"normal\"]
        sold_as = [\"66% het ash\"]\n";

    fn of(dam: &str, sire: &str) -> Customary {
        let text = format!(
            "{STOCK}[[clutch]]\nid = \"c\"\ndam = \"{dam}\"\nsire = \"{sire}\"\n\
             [[clutch.hatchling]]\nid = \"young\"\nlooks = [\"normal\"]\n"
        );
        let colony = read(text.as_bytes(), Format::Toml).expect("sound").colony;
        let young = colony.find_animal("young").expect("named");
        Customs::new(&colony).of(young, GeneId(0), 1)
    }

    #[test]
    fn normal_young_have_the_percentages_of_the_trade() {
        let het = |chance: f64| Customary::Het { allele: 1, chance };
        assert_eq!(of("plain", "visual"), het(1.0));
        assert_eq!(of("hen", "het"), het(2.0 / 3.0));
        assert_eq!(of("plain", "het"), het(0.5));
        let Customary::Het { chance, .. } = of("maybe", "het") else { panic!("a het") };
        // Half of all young have one copy, and 2/3 · 1/4 have two and are not normal.
        assert!((chance - 0.5 / (1.0 - 1.0 / 6.0)).abs() < 1e-12);
    }

    #[test]
    fn stock_without_a_word_carries_nothing_and_a_look_is_a_look() {
        let colony = read(STOCK.as_bytes(), Format::Toml).expect("sound").colony;
        let customs = Customs::new(&colony);
        let of = |id: &str| customs.of(colony.find_animal(id).expect("named"), GeneId(0), 1);
        assert_eq!(of("plain"), Customary::Nothing);
        assert_eq!(of("visual"), Customary::Visual(1));
        assert_eq!(of("maybe"), Customary::Het { allele: 1, chance: 2.0 / 3.0 });
    }
}
