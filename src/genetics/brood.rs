//! What two parents give, or a dam alone: the young that hatch.

use ndarray::{Array2, Array3, Axis};

use super::Unit;
use crate::records::Sex;

/// The chance that a young of a dam without a sire is of each sex.
///
/// # Source
///
/// No father. XY: all young are daughters. ZW: sons with (1−h)/(1+h), daughters 2h/(1+h), where h
/// is the chance that a young keeps both alleles of its dam. Otherwise sex says nothing.
pub fn fatherless_sex(heterogametic: Option<Sex>, kept_both: f64, sex: Sex) -> f64 {
    match (heterogametic, sex) {
        (None, _) => 0.5,
        (Some(Sex::Male), Sex::Female) => 1.0,
        (Some(Sex::Male), Sex::Male) => 0.0,
        (Some(Sex::Female), Sex::Male) => (1.0 - kept_both) / (1.0 + kept_both),
        (Some(Sex::Female), Sex::Female) => 2.0 * kept_both / (1.0 + kept_both),
    }
}

/// Young of one unit: over the states of the child, of the sire and of the dam.
///
/// With `kept_both` the sires have one more state, the last: no father, and the value is the
/// chance that the young keeps both alleles of its dam at a locus.
#[derive(Clone, Copy, Debug)]
pub struct Brood<'a> {
    unit: &'a Unit,
    kept_both: Option<f64>,
}

impl Unit {
    /// The young of this unit; `kept_both` allows births without a father.
    pub fn brood(&self, kept_both: Option<f64>) -> Brood<'_> {
        Brood { unit: self, kept_both }
    }
}

impl Brood<'_> {
    /// Chances of each state of a young that hatched, given its sex and its parents.
    ///
    /// # Shape and units
    ///
    /// `table[[child, sire, dam]]` over [`Unit::states_of`] the child's sex, of males (and no
    /// father) and of females. For each pair of parents the chances of one sex sum to one, and
    /// for a child of unknown sex to one half in each sex, but where eggs of one sex die more often:
    /// then both sexes together have the mean of one. They sum to zero where there is no such young.
    ///
    /// # Source
    ///
    /// Transmission; eggs: a young that hatched has a viable genotype, so its term is divided by
    /// the chance that an egg is viable.
    pub fn hatched(&self, child: Option<Sex>) -> Array3<f64> {
        let unit = self.unit;
        let mut joint = self.fertile();
        for state in (0..unit.states.len()).filter(|state| !unit.viable(*state)) {
            joint.index_axis_mut(Axis(0), state).fill(0.0);
        }
        let viable = joint.sum_axis(Axis(0));
        let kept = unit.states_of(child);
        let mut table = joint.select(Axis(0), &kept);
        let nobody = self.kept_both.map(|_| self.sires() - 1);
        for (state, mut young) in kept.iter().zip(table.outer_iter_mut()) {
            let share = |fatherless| self.of_sex(fatherless, unit.sex[*state], child);
            let shares = [share(false), share(true)];
            for (sire, mut row) in young.outer_iter_mut().enumerate() {
                let share = shares[usize::from(Some(sire) == nobody)];
                let row = row.iter_mut().zip(viable.row(sire));
                row.filter(|(chance, _)| **chance > 0.0)
                    .for_each(|(c, viable)| *c /= viable * share);
            }
        }
        table
    }

    /// By what the chance of a state together with its sex is divided.
    fn of_sex(&self, fatherless: bool, sex: Option<Sex>, child: Option<Sex>) -> f64 {
        let Some(sex) = sex else { return 1.0 };
        let share = match self.kept_both {
            Some(kept_both) if fatherless => {
                fatherless_sex(self.unit.heterogametic, kept_both, sex)
            }
            _ => 0.5,
        };
        if child.is_some() { share } else { 2.0 * share }
    }

    /// Chance that a fertile egg has a genotype that can hatch: `table[[sire, dam]]`.
    pub fn viability(&self) -> Array2<f64> {
        let dams = self.unit.states_of(Some(Sex::Female)).len();
        let viable: Vec<bool> =
            (0..self.unit.states.len()).map(|state| self.unit.viable(state)).collect();
        let mut sums = Array2::zeros((self.sires(), dams));
        self.each_egg(&mut |state, sire, dam, chance| {
            if viable[state] {
                sums[[sire, dam]] += chance;
            }
        });
        sums
    }

    fn sires(&self) -> usize {
        self.unit.states_of(Some(Sex::Male)).len() + usize::from(self.kept_both.is_some())
    }

    /// Chances of each state of a fertile egg, sex included: `table[[state, sire, dam]]`.
    fn fertile(&self) -> Array3<f64> {
        let dams = self.unit.states_of(Some(Sex::Female)).len();
        let mut table = Array3::zeros((self.unit.states.len(), self.sires(), dams));
        self.each_egg(&mut |state, sire, dam, chance| table[[state, sire, dam]] += chance);
        table
    }

    /// Visits the states that eggs of each pair of parents can be in, some of them several times:
    /// state, sire, dam, and the chance.
    fn each_egg(&self, visit: &mut dyn FnMut(usize, usize, usize, f64)) {
        let unit = self.unit;
        let [sires, dams] = [Sex::Male, Sex::Female].map(|sex| unit.states_of(Some(sex)));
        let strands = unit.haplotypes.len();
        let mut of_pair = vec![None; strands * strands];
        for (state, [a, b]) in unit.states.iter().enumerate() {
            of_pair[a * strands + b] = Some(state);
            of_pair[b * strands + a] = Some(state);
        }
        // Most gametes are not those of a given parent: only his own are gone through.
        let made = |sex: Sex, parents: &[usize]| -> Vec<Vec<(usize, f64)>> {
            let gametes = unit.gametes(sex);
            let own = |parent: &usize| {
                let all = gametes.row(*parent).into_iter().copied().enumerate();
                all.filter(|(_, chance)| *chance > 0.0).collect()
            };
            parents.iter().map(own).collect()
        };
        let (from_sires, from_dams) = (made(Sex::Male, &sires), made(Sex::Female, &dams));
        for (s, from_sire) in from_sires.iter().enumerate() {
            for (d, from_dam) in from_dams.iter().enumerate() {
                for (x, from_x) in from_sire {
                    for (y, from_y) in from_dam {
                        if let Some(state) = of_pair[x * strands + y] {
                            visit(state, s, d, from_x * from_y);
                        }
                    }
                }
            }
        }
        if let Some(kept_both) = self.kept_both {
            for (d, dam) in dams.iter().enumerate() {
                for (state, chance) in unit.fatherless(*dam, kept_both) {
                    visit(state, sires.len(), d, chance);
                }
            }
        }
    }
}

/// What a place of the map takes from the two strands of the dam, without a father.
const DRAWS: [[usize; 2]; 4] = [[0, 1], [1, 0], [0, 0], [1, 1]];

impl Unit {
    /// The young of a dam without a sire: states and their chances.
    ///
    /// # Source
    ///
    /// No father: at each gene the young is a/b of a differing dam with probability h, else a/a or
    /// b/b, one half each; linked genes switch together when no crossover falls between, which has
    /// chance 1 − 2r, else the draw is made anew. W/W does not hatch.
    fn fatherless(&self, dam: usize, kept_both: f64) -> Vec<(usize, f64)> {
        let [a, b] = self.states[dam];
        let strands = [&self.haplotypes[a], &self.haplotypes[b]];
        let alone = strands.iter().any(|strand| strand.alleles.contains(&None));
        let fresh = |draw: usize| 0.5 * if draw < 2 { kept_both } else { 1.0 - kept_both };
        let mut drawn: Vec<(Vec<usize>, f64)> =
            (0..4).map(|draw| (vec![draw], fresh(draw))).collect();
        for rate in self.rates.of(Sex::Female) {
            let anew = if alone { 0.0 } else { 2.0 * rate };
            let longer = |(draws, chance): (Vec<usize>, f64)| {
                let last = draws.last().copied().unwrap_or(0);
                (0..4)
                    .map(move |draw| {
                        let same = if draw == last { 1.0 - anew } else { 0.0 };
                        ([&draws[..], &[draw]].concat(), chance * (same + anew * fresh(draw)))
                    })
                    .collect::<Vec<_>>()
            };
            drawn = drawn.into_iter().flat_map(longer).collect();
        }
        let mut made = Vec::new();
        for (draws, chance) in drawn.into_iter().filter(|(_, chance)| *chance > 0.0) {
            let side = |which: usize| {
                let choice: Vec<usize> = draws.iter().map(|draw| DRAWS[*draw][which]).collect();
                let strand = self.rates.recombine(strands, &choice);
                self.haplotypes.iter().position(|known| *known == strand)
            };
            let (Some(one), Some(other)) = (side(0), side(1)) else { continue };
            let pair = [one.min(other), one.max(other)];
            if let Some(state) = self.states.iter().position(|known| *known == pair) {
                made.push((state, chance));
            }
        }
        let total: f64 = made.iter().map(|(_, chance)| chance).sum();
        made.into_iter().map(|(state, chance)| (state, chance / total)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::genetics::units;
    use crate::records::{Format, read};

    #[test]
    fn young_of_every_pair_sum_to_one_in_each_sex() {
        let text = "sex_system = \"ZW\"\n[gene.a]\ninheritance = \"recessive\"\nsex_linked = true\n\
                    [gene.b]\ninheritance = \"recessive\"\nsex_linked = true\ncrossover = 0.1\n\
                    [[animal]]\nid = \"x\"\n";
        let colony = read(text.as_bytes(), Format::Toml).expect("sound").colony;
        for unit in units(&colony) {
            for sex in [Sex::Male, Sex::Female] {
                let sums = unit.brood(Some(0.25)).hatched(Some(sex)).sum_axis(Axis(0));
                assert!(sums.iter().all(|sum| (sum - 1.0).abs() < 1e-12), "{sums}");
            }
        }
    }
}
