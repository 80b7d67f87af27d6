//! The joint posterior of several animals at the genes of a goal.

use super::goal_crosses::Crosses;
use crate::inference::{JunctionTree, Workspace};
use crate::network::{Evidence, VariableId};
use crate::questions::Model;
use crate::records::AnimalId;

/// Combinations rarer than this are left out; their chance counts as failure.
const RARE: f64 = 1e-9;

/// One variable, and whose place it is: animal and unit.
type Place = (VariableId, usize, usize);
/// States of some variables with their joint chance.
type Drawn = (Vec<usize>, f64);

/// Every combination of whole states of some animals of given sexes, with its chance.
///
/// METHOD: exact. Variables of different components of the network are independent; within one,
/// they are fixed one after another and the next is read.
pub(super) fn joint(
    model: &mut Model<'_>,
    crosses: &Crosses,
    animals: &[(AnimalId, usize)],
) -> Vec<(Vec<usize>, f64)> {
    let mut groups: Vec<(Option<usize>, Vec<Place>)> = Vec::new();
    for (at, (animal, _)) in animals.iter().enumerate() {
        for (unit, gene) in crosses.genes.iter().enumerate() {
            let variable = model.net.variable(*animal, *gene);
            let component = model.tree.component_of(variable);
            let own = (variable, at, unit);
            match groups.iter_mut().find(|(of, _)| of.is_some() && *of == component) {
                Some((_, places)) => places.push(own),
                None => groups.push((component, vec![own])),
            }
        }
    }
    // Digits of every animal, unit by unit.
    let blank = vec![vec![0usize; crosses.units.len()]; animals.len()];
    let mut all = vec![(blank, 1.0)];
    for (component, places) in groups {
        let drawn = of_group(model, component, &places);
        let mut longer = Vec::new();
        for (digits, chance) in &all {
            for (states, own) in &drawn {
                if chance * own < RARE {
                    continue;
                }
                let mut digits = digits.clone();
                let mut possible = true;
                for ((_, at, unit), state) in places.iter().zip(states) {
                    let (animal, sex) = animals[*at];
                    let places = crosses.places(&model.net, animal, sex, *unit);
                    match places[*state] {
                        Some(digit) => digits[*at][*unit] = digit,
                        None => possible = false,
                    }
                }
                if possible {
                    longer.push((digits, chance * own));
                }
            }
        }
        all = longer;
    }
    let whole = |(digits, chance): (Vec<Vec<usize>>, f64)| {
        let each = digits.iter().zip(animals);
        (each.map(|(own, (_, sex))| crosses.whole(*sex, own)).collect(), chance)
    };
    all.into_iter().map(whole).collect()
}

fn of_group(model: &mut Model<'_>, component: Option<usize>, places: &[Place]) -> Vec<Drawn> {
    let Model { tree, evidence, work, .. } = model;
    let Some(component) = component else {
        let marginal = work.marginal(tree, places[0].0);
        return marginal.into_iter().enumerate().map(|(state, p)| (vec![state], p)).collect();
    };
    let variables: Vec<VariableId> = places.iter().map(|(variable, ..)| *variable).collect();
    let mut fixed = evidence.clone();
    let mut drawn = Vec::new();
    let mut descent = Descent { tree, work, component, variables: &variables, drawn: &mut drawn };
    descent.go(&mut fixed, &mut Vec::new(), 1.0);
    let restored = work.run_component(tree, component, evidence);
    debug_assert!(restored.is_ok(), "it was run before");
    drawn
}

/// Fixes one variable after another.
struct Descent<'a> {
    tree: &'a JunctionTree,
    work: &'a mut Workspace,
    component: usize,
    variables: &'a [VariableId],
    drawn: &'a mut Vec<Drawn>,
}

impl Descent<'_> {
    fn go(&mut self, fixed: &mut Evidence, states: &mut Vec<usize>, chance: f64) {
        let Some(variable) = self.variables.get(states.len()).copied() else {
            self.drawn.push((states.clone(), chance));
            return;
        };
        if self.work.weigh_component(self.tree, self.component, fixed).is_err() {
            return;
        }
        self.work.reach(self.tree, variable);
        let marginal = self.work.marginal(self.tree, variable);
        let before = fixed.likelihood(variable).to_vec();
        for (state, own) in marginal.into_iter().enumerate() {
            if chance * own < RARE {
                continue;
            }
            states.push(state);
            if states.len() < self.variables.len() {
                fixed.likelihood_mut(variable).fill(0.0);
                fixed.likelihood_mut(variable)[state] = before[state];
            }
            self.go(fixed, states, chance * own);
            fixed.likelihood_mut(variable).copy_from_slice(&before);
            states.pop();
        }
    }
}
