//! What may harm the young of a plan: genotypes that never hatch, looks with a caution.

use super::goal::{GoalAsked, GoalHarm};
use super::goal_chance::Couples;
use super::goal_crosses::Crosses;
use super::goal_plans::{Danger, couples_at, mean};
use super::goal_route::Route;
use super::planner::Planner;
use crate::records::{AnimalId, GeneId, Inheritance};

/// A gene that none of the animals carries with more than this chance is left alone.
const CARRIED: f64 = 1e-3;
/// Harm is told from this chance on.
const WORTH_A_WORD: f64 = 1e-3;

/// What may harm the young of each step.
///
/// METHOD: a gene apart from those of the goal is followed together with them, one such gene at a
/// time: what is kept is chosen by the looks of the goal alone.
pub(super) fn harms(
    planner: &mut Planner<'_>,
    asked: &GoalAsked,
    crosses: &Crosses,
    route: &Route,
    animals: &[(AnimalId, usize)],
    couples: &Couples,
) -> Vec<Danger> {
    let colony = planner.model.colony;
    let mut dangers = vec![Danger::default(); route.pairs.len()];
    let mut done: Vec<usize> = Vec::new();
    for gene in colony.gene_ids() {
        let declared = colony.gene(gene);
        let harmful = declared.caution.is_some() || !declared.lethal.is_empty();
        if !harmful || declared.inheritance == Inheritance::Unknown {
            continue;
        }
        let unit = planner.model.net.unit(gene);
        let inside = crosses.units.contains(&unit);
        if !inside && !animals.iter().any(|(animal, _)| carried(planner, *animal, gene)) {
            continue;
        }
        let first_of_unit = !done.contains(&unit);
        done.push(unit);
        let wider;
        let other;
        let (own, couples) = if inside {
            (crosses, couples)
        } else {
            wider = Crosses::new(&planner.model.net, colony, &asked.target, Some(gene));
            other = couples_at(planner, &wider, route, animals);
            (&wider, &other)
        };
        let Some(at) = own.units.iter().position(|of| *of == unit) else { continue };
        let shows = own.shows(&planner.model.net, gene);
        for (danger, couples) in dangers.iter_mut().zip(couples) {
            let lost = mean(couples, &|dam, sire| 1.0 - own.viable_at(at, dam, sire));
            let lethal = if declared.lethal.is_empty() { 0.0 } else { lost };
            let shown = mean(couples, &|dam, sire| own.shown(&shows, dam, sire));
            let shown = if declared.caution.is_some() { shown } else { 0.0 };
            if lethal >= WORTH_A_WORD || shown >= WORTH_A_WORD {
                danger.harms.push(GoalHarm { gene, lethal, shown });
            }
            if !inside && first_of_unit {
                danger.elsewhere = 1.0 - (1.0 - danger.elsewhere) * (1.0 - lost);
            }
        }
    }
    dangers
}

fn carried(planner: &Planner<'_>, animal: AnimalId, gene: GeneId) -> bool {
    let posterior = planner.model.posterior(animal, gene);
    let own = &planner.model.net.locus(gene).own;
    let has = own.iter().zip(posterior).filter(|(genotype, _)| genotype.mutant_copies() > 0);
    has.map(|(_, chance)| chance).sum::<f64>() > CARRIED
}

/// The share of fertile eggs that any of the genes kills.
pub(super) fn add_harms(harms: &[GoalHarm]) -> f64 {
    1.0 - harms.iter().map(|harm| 1.0 - harm.lethal).product::<f64>()
}
