//! Eggs that hatched and eggs that were lost, where a genotype can be lethal.

use super::VariableId;
use super::assemble::Builder;
use super::items::{Effect, ItemKind};
use super::siring::{Parentage, Sire};

/// One unit that can be lethal, with the parents at it.
struct Lethal {
    parents: [VariableId; 2],
    /// Chance of a genotype that can hatch, for each pair of parents.
    viable: Vec<f64>,
}

impl Builder<'_> {
    /// Counts eggs of one sire that hatched and that were lost.
    pub(super) fn egg_losses(
        &mut self,
        parentage: &Parentage,
        sire: &Sire,
        hatched: u32,
        lost: u32,
    ) {
        let place = self.colony.clutch(parentage.clutch).place;
        let item = self.item(ItemKind::EggLosses, None, None, place);
        self.net.items[item].clutch = Some(parentage.clutch);
        let alive = 1.0 - self.colony.assumptions.egg_loss;
        let lethal = self.lethal_units(parentage, sire);
        for (at, one) in lethal.iter().enumerate() {
            // The chance of a genotype that can hatch, which the term of each hatched young is
            // divided by, is counted in again.
            let constant = if at == 0 { power(alive, hatched) } else { 1.0 };
            let single =
                |v: f64| if lethal.len() == 1 { power(1.0 - alive * v, lost) } else { 1.0 };
            let value = |v: &f64| constant * power(*v, hatched) * single(*v);
            let values = one.viable.iter().map(value).collect();
            let slot = self.net.graph.slot(&one.parents);
            self.net.items[item].effects.push(Effect::Fill(slot, values));
        }
        if lethal.len() > 1 && lost > 0 {
            self.causes_of_loss(item, &lethal, lost);
        }
    }

    fn lethal_units(&mut self, parentage: &Parentage, sire: &Sire) -> Vec<Lethal> {
        let kept_both = self.kept_both(parentage.fatherless());
        let units = &self.net.units;
        let lethal = (0..units.len()).filter(|at| units[*at].can_be_lethal());
        let mut viable = |unit: usize| {
            let made = || units[unit].brood(kept_both).viability().into_iter().collect();
            self.viable.entry((unit, kept_both.is_some())).or_insert_with(made).clone()
        };
        let one = |unit: usize| Lethal {
            parents: [sire.variables[unit], parentage.dams[unit]],
            viable: viable(unit),
        };
        lethal.map(one).collect()
    }

    /// Why an egg was lost, when several units can be lethal: a hidden cause for each lost egg.
    ///
    /// METHOD: 1 − (1−ℓ)·s₁·s₂… = ℓ + (1−ℓ)·[(1−s₁) + s₁·(1−s₂) + …]: the egg died by chance, or
    /// else the first unit that is lethal killed it. Each cause is a product over units.
    fn causes_of_loss(&mut self, item: usize, lethal: &[Lethal], lost: u32) {
        let causes = lethal.len() + 1;
        let cause = self.net.graph.copies_of_variable(causes, lost);
        let mut unknown = vec![0.0; causes];
        unknown[0] = 1.0;
        self.net.base.push((cause, unknown));
        for (at, one) in lethal.iter().enumerate() {
            let chance = |which: usize, v: f64| match which {
                0 => 1.0,
                _ if which - 1 == at => 1.0 - v,
                _ if which - 1 > at => v,
                _ => 1.0,
            };
            let values =
                (0..causes).flat_map(|which| one.viable.iter().map(move |v| chance(which, *v)));
            let table = self.net.graph.table(values.collect());
            let [sire, dam] = one.parents;
            self.net.graph.factor(&[cause, sire, dam], table);
        }
        let loss = self.colony.assumptions.egg_loss;
        let mut weights = vec![1.0 - loss; causes];
        weights[0] = loss;
        self.net.items[item].effects.push(Effect::Replace(cause, weights));
    }
}

fn power(base: f64, exponent: u32) -> f64 {
    base.powi(i32::try_from(exponent).unwrap_or(i32::MAX))
}
