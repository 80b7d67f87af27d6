//! How to get to an animal, season by season, in words.

use std::fmt::Write;

use super::check_text::{CAUTIONS, list, plural, wrapped};
use super::names;
use super::planning_text::kin_and_lethal;
use super::wording::{chance, percent, plain};
use crate::questions::{GoalAnswer, GoalKeep, GoalLook, GoalParent, GoalPlan, GoalStep, Target};
use crate::records::{Colony, GeneId, Look, Sex};

/// What stands under every plan.
pub(super) const LAST_WORD: &str = "Fertile eggs are counted. Fewest seasons come first, then fewest eggs; a plan that another one \
     beats in both and in inbreeding is left out. A step fails when what it needs does not hatch: \
     then plan anew with what did. Every animal bred needs a home: a female's condition comes \
     first, and a veterinarian and the law where you live have the last word.";

/// How to get to an animal, as a breeder reads it.
pub fn goal_text(colony: &Colony, answer: &GoalAnswer) -> String {
    let wanted = target(colony, &answer.target);
    let mut text = format!("How to get there: {wanted}\n");
    text.push_str(&super::check_text::in_short(colony));
    for warning in &answer.warnings {
        text.push_str(&wrapped(0, 2, &format!("Warning: {warning}")));
    }
    let _ = write!(text, "\n{}", wrapped(0, 0, &terms(answer)));
    for (animal, is_one) in &answer.already {
        let line = format!("{} is one already with {}.", names::animal(colony, *animal), {
            chance(*is_one)
        });
        text.push_str(&wrapped(0, 2, &line));
    }
    for (at, one) in answer.plans.iter().enumerate() {
        text.push_str(&plan(colony, answer, at + 1, one));
    }
    if answer.plans.is_empty() {
        let _ = write!(text, "\n{}", wrapped(0, 0, &no_plan(answer)));
    }
    text.push_str(&cautions(colony, answer));
    let _ = write!(text, "\n{}", wrapped(0, 0, LAST_WORD));
    text
}

/// The animal that is wanted.
pub(super) fn target(colony: &Colony, target: &Target) -> String {
    match target {
        Target::Looks(looks) => names::looks_phrase(colony, looks),
        Target::Genotypes(list) => {
            let one = |(gene, genotype): &(GeneId, crate::records::Genotype)| {
                names::genotype(colony, *gene, *genotype)
            };
            list.iter().map(one).collect::<Vec<_>>().join(", ")
        }
    }
}

/// What was asked, and what is taken for granted.
pub(super) fn terms(answer: &GoalAnswer) -> String {
    let [females, males] = answer.animals;
    let [female, male] = answer.wait.map(seasons);
    let waits = if answer.wait_known {
        format!("Young females breed after {female}, males after {male} (`mature_at`).")
    } else {
        "Young are taken to breed after one season: `mature_at` in the file would say better."
            .to_owned()
    };
    format!(
        "One hatched animal at the least, with {} for a whole plan, within {}. {} and {} can be \
         bred in that time. A clutch is taken to give {} hatched young, and a female {} a season. \
         {waits}",
        percent(answer.assurance),
        seasons(answer.limit),
        plural(females, "kept female", "kept females"),
        plural(males, "kept male", "kept males"),
        plain(answer.young.mean),
        match answer.young.clutches {
            1.0 => "one clutch".to_owned(),
            many => format!("{} clutches", plain(many)),
        },
    )
}

fn seasons(number: u32) -> String {
    plural(number as usize, "season", "seasons")
}

/// Why there is none.
pub(super) fn no_plan(answer: &GoalAnswer) -> String {
    match answer.at_most {
        Some(reached) if reached > 0.0 && reached < answer.assurance => format!(
            "No plan reaches {} within {}. The best route found succeeds with {}, however many \
             eggs: what it rests on is not certain enough. `pairings` names the clutch that would \
             tell most.",
            percent(answer.assurance),
            seasons(answer.limit),
            chance(reached),
        ),
        Some(_) => format!(
            "There is a route, but none that ends within {}: give more with --seasons.",
            seasons(answer.limit)
        ),
        None => format!(
            "No pairing of these animals and their young leads there within {}. Where it is in doubt \
             what they carry, `pairings` names the clutch that would tell most.",
            seasons(answer.limit)
        ),
    }
}

fn plan(colony: &Colony, answer: &GoalAnswer, rank: usize, plan: &GoalPlan) -> String {
    let line = format!(
        "Plan {rank}: {}, {} hatched young from {} eggs; succeeds with {}",
        seasons(plan.seasons),
        plan.young,
        plan.eggs,
        chance(plan.assurance),
    );
    let mut text = format!("\n{}", wrapped(0, 3, &line));
    for (at, one) in plan.steps.iter().enumerate() {
        text.push_str(&step(colony, at + 1, one));
    }
    if let Some((look, share)) = &plan.seen_as {
        let line = if *share > 0.995 {
            format!("the animal looks {}", seen(colony, look))
        } else {
            format!(
                "the animal looks {}, and of young that look so {} are one: which of them cannot \
                 be seen",
                seen(colony, look),
                chance(*share),
            )
        };
        text.push_str(&wrapped(3, 6, &line));
    }
    let late: Vec<&str> = answer
        .target
        .genes()
        .into_iter()
        .filter(|gene| colony.gene(*gene).from_age_adult)
        .map(|gene| colony.gene(gene).name.as_str())
        .collect();
    if !late.is_empty() {
        let line = format!(
            "{} shows on adults only: keep the young until it can be judged",
            list(&late, "and")
        );
        text.push_str(&wrapped(3, 6, &line));
    }
    text
}

fn step(colony: &Colony, number: usize, step: &GoalStep) -> String {
    let when = match step.seasons {
        [first, last] if first == last => format!("season {first}"),
        [first, last] => format!("seasons {first} to {last}"),
    };
    let line = format!(
        "{number}. {when}: {} × {}",
        parent(colony, step.dam, Sex::Female),
        parent(colony, step.sire, Sex::Male),
    );
    let mut text = wrapped(3, 6, &line);
    let line = format!(
        "{} hatched young: {}, {}; succeeds with {}",
        step.young,
        plural(step.eggs as usize, "egg", "eggs"),
        plural(step.clutches as usize, "clutch", "clutches"),
        chance(step.chance),
    );
    text.push_str(&wrapped(6, 9, &line));
    if let Some(each) = step.each {
        text.push_str(&wrapped(6, 9, &format!("each young is the one with {}", chance(each))));
    }
    for keep in &step.keep {
        text.push_str(&wrapped(6, 9, &kept(colony, keep)));
    }
    for line in harm(colony, step) {
        text.push_str(&wrapped(6, 9, &line));
    }
    text
}

/// What may harm the young of a step.
pub(super) fn harm(colony: &Colony, step: &GoalStep) -> Vec<String> {
    let mut lines = kin_and_lethal(step.inbreeding, step.lethal);
    for harm in step.harms.iter().filter(|harm| harm.shown > 0.0) {
        let gene = colony.gene(harm.gene);
        lines.push(format!(
            "{} of its young show {}: {}; ask a veterinarian, and mind the law",
            chance(harm.shown),
            gene.name,
            gene.caution.as_deref().unwrap_or_default(),
        ));
    }
    lines
}

/// A parent of a step: its name, or where it was kept from.
pub(super) fn parent(colony: &Colony, parent: GoalParent, sex: Sex) -> String {
    let word = names::sex(Some(sex));
    match parent {
        GoalParent::Animal(animal) => names::animal(colony, animal),
        GoalParent::Kept { step, number: 1 } => format!("the {word} kept from step {step}"),
        GoalParent::Kept { step, number } => format!("the {number} {word}s kept from step {step}"),
    }
}

/// What to keep of a step's young.
pub(super) fn kept(colony: &Colony, keep: &GoalKeep) -> String {
    let word = names::sex(Some(keep.sex));
    let noun = if keep.number == 1 { word.to_owned() } else { format!("{word}s") };
    format!(
        "keep {} {noun} looking {} ({} of the young)",
        keep.number,
        seen(colony, &keep.looks),
        percent(keep.each),
    )
}

/// A look at the genes of the goal, and what of it another look hides.
fn seen(colony: &Colony, look: &GoalLook) -> String {
    let shown: Vec<Look> = look
        .iter()
        .filter_map(|(gene, class)| Some(Look { gene: *gene, class: (*class)? }))
        .filter(|look| look.class > 0)
        .collect();
    let hidden: Vec<&str> = look
        .iter()
        .filter(|(_, class)| class.is_none())
        .map(|(gene, _)| colony.gene(*gene).name.as_str())
        .collect();
    let phrase = names::looks_phrase(colony, &shown);
    if hidden.is_empty() {
        return phrase;
    }
    format!("{phrase} ({} cannot be seen there)", list(&hidden, "and"))
}

/// What the keeper wrote of the genes that harm on the way.
fn cautions(colony: &Colony, answer: &GoalAnswer) -> String {
    let mut genes: Vec<GeneId> = answer
        .plans
        .iter()
        .flat_map(|plan| &plan.steps)
        .flat_map(|step| &step.harms)
        .map(|harm| harm.gene)
        .collect();
    genes.sort_unstable();
    genes.dedup();
    if genes.is_empty() {
        return String::new();
    }
    let mut text = format!("\n{CAUTIONS}\n");
    for gene in genes {
        let gene = colony.gene(gene);
        let line = match &gene.caution {
            Some(words) => format!("{}: {words}", gene.name),
            None => format!(
                "{}: some genotypes never hatch; a pairing that can give them loses eggs",
                gene.name
            ),
        };
        text.push_str(&wrapped(2, 6, &line));
    }
    text
}
