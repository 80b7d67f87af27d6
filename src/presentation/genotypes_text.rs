//! `genotypes` in words.

use std::fmt::Write;

use super::check_text::{in_two, wrapped};
use super::names;
use super::wording::{chance, likelihood_word, multiplier, odds, percent, plain};
use crate::questions::{
    Because, Copies, Floor, GenotypesAnswer, IN_DOUBT, Step, StepRole, Story, Young,
};
use crate::records::{
    AnimalId, Call, ClutchId, Colony, GeneId, Genotype, Hidden, Inheritance, Origin,
};

/// A clutch that moved the odds by less than this share is not worth a line.
const NEGLIGIBLE: f64 = 0.02;
/// A young that was not bred is no news where its chance is nearer to 0 or 1 than this.
const SETTLED: f64 = 0.001;

/// What each animal carries, as a breeder reads it.
pub fn genotypes_text(colony: &Colony, answer: &GenotypesAnswer) -> String {
    let mut text = String::from("What each animal carries\n");
    text.push_str(&super::check_text::in_short(colony));
    text.push_str(&super::doubts::warning_lines(
        colony,
        &answer.warnings,
        answer.surprise.as_ref(),
        &answer.divided,
    ));
    text.push_str(&suspected(colony, answer));
    let mut last = None;
    for story in answer.stories.iter().filter(|story| has_something_to_tell(colony, story)) {
        if last != Some(story.proposition.animal) {
            last = Some(story.proposition.animal);
            let _ = writeln!(text, "\n{}", heading(colony, story.proposition.animal));
        }
        text.push_str(&tell(colony, story));
    }
    if last.is_none() {
        text.push_str("\nNothing is in doubt: every animal asked about is what it looks like.\n");
    } else {
        text.push_str(
            "\nWhat is not listed is settled: it was never in doubt, or the look tells it.\n",
        );
    }
    text.push_str(&super::doubts::sires(colony, &answer.sires));
    text.push_str(&super::cautions::section(colony, &answer.cautions));
    text
}

/// How likely it is that what is said of a suspected gene applies at all.
fn suspected(colony: &Colony, answer: &GenotypesAnswer) -> String {
    let mut told: Vec<GeneId> = Vec::new();
    let mut text = String::new();
    for one in &answer.genotypes {
        let Some(suspected) = &one.suspected else { continue };
        if told.contains(&one.gene) {
            continue;
        }
        told.push(one.gene);
        let name = &colony.gene(one.gene).name;
        let line = format!(
            "That one gene decides {name}: {}; what is said of {name} below holds if it does.",
            chance(suspected.inherited)
        );
        text.push_str(&wrapped(0, 2, &line));
    }
    text
}

/// A young whose look or family settles it is no news, unless its own young did.
pub(super) fn has_something_to_tell(colony: &Colony, story: &Story) -> bool {
    let founder = colony.animal(story.proposition.animal).origin == Origin::Founder;
    let bred = story.steps.iter().any(|step| matches!(step.role, StepRole::Parent(_)));
    founder || bred || (SETTLED..=1.0 - SETTLED).contains(&story.after)
}

pub(super) fn heading(colony: &Colony, animal: AnimalId) -> String {
    let sex = names::sex(colony.animal(animal).sex);
    let from = match colony.animal(animal).origin {
        Origin::Founder => String::new(),
        Origin::Clutch(clutch) => format!(", hatched in {}", colony.clutch(clutch).id),
    };
    format!("{} ({sex}{from})", names::animal(colony, animal))
}

fn tell(colony: &Colony, story: &Story) -> String {
    let mut text = wrapped(2, 4, &now(colony, story));
    if let Some(line) = before(colony, story) {
        text.push_str(&wrapped(4, 8, &line));
    }
    for line in unseen(colony, story.proposition.animal, story.proposition.gene) {
        text.push_str(&wrapped(4, 8, &line));
    }
    for step in story.steps.iter().filter(|step| !negligible(step)) {
        let [young, moved] = step_line(colony, story, step);
        text.push_str(&in_two(4, 8, [&young, &moved]));
    }
    for line in rests_on(colony, story).into_iter().chain(floor(colony, story)) {
        text.push_str(&wrapped(4, 8, &line));
    }
    text
}

/// `carries ash: 3 in 100 (3.2 %), very unlikely; odds 1 : 30`.
pub(super) fn now(colony: &Colony, story: &Story) -> String {
    let what = names::proposition(colony, story.proposition);
    let (now, odds_now) = (chance(story.after), odds(story.after));
    if let Some(error) = story.error {
        return format!("{what}: about {now}, ± {}; estimated", percent(error));
    }
    match story.after {
        1.0 => format!("{what}: proven, {now}"),
        0.0 => format!("{what}: ruled out, {now}"),
        after => format!("{what}: {now}, {}; odds {odds_now}", likelihood_word(after)),
    }
}

/// The chance before any clutch, where it was another.
pub(super) fn before(colony: &Colony, story: &Story) -> Option<String> {
    let from = before_words(colony, story.proposition.animal);
    let line = || format!("{from}: {}; odds {}", chance(story.before), odds(story.before));
    ((story.before - story.after).abs() > 1e-9).then(line)
}

/// What it rests on, one line for each.
pub(super) fn rests_on(colony: &Colony, story: &Story) -> Vec<String> {
    let reasons = story.because.iter().filter(|_| !settled_by_young(story));
    reasons.map(|reason| because(colony, story, reason)).collect()
}

/// Why more eggs of a pairing will not settle it, and what will.
pub(super) fn floor(colony: &Colony, story: &Story) -> Option<String> {
    // Nobody should breed for more lost eggs to learn more of a lethal gene.
    let harmless = colony.gene(story.proposition.gene).lethal.is_empty();
    // Where nothing is in doubt nobody asks for more eggs.
    let floor = story.floor.filter(|_| harmless && IN_DOUBT.contains(&story.after))?;
    Some(floor_line(colony, story, &floor))
}

/// What the chance before any clutch is called.
pub(super) fn before_words(colony: &Colony, animal: AnimalId) -> &'static str {
    match colony.animal(animal).origin {
        Origin::Founder => "before any young",
        Origin::Clutch(_) => "by descent alone",
    }
}

/// Whether the young alone leave no doubt, whatever was told or assumed.
fn settled_by_young(story: &Story) -> bool {
    let certain = |chance: f64| chance == 0.0 || chance == 1.0;
    certain(story.after) && !certain(story.before)
}

/// Whether a mate it was bred to is not proven itself.
pub(super) fn unproven_mate(story: &Story) -> bool {
    story.because.iter().any(|reason| matches!(reason, Because::UnprovenMate { .. }))
}

/// Why the animal's own look says nothing of a gene, and whether a reading does.
pub(super) fn unseen(colony: &Colony, animal: AnimalId, id: GeneId) -> Vec<String> {
    let animal = colony.animal(animal);
    let gene = colony.gene(id);
    let mut lines = Vec::new();
    let hides = |hidden: &Hidden| *hidden == Hidden::Gene(id);
    let latest = animal.grown.as_ref().unwrap_or(&animal.seen);
    let covering = colony.masks.iter().find(|mask| match &latest.call {
        Call::Looks(looks) => {
            mask.hides.iter().any(hides) && mask.looks.iter().all(|look| looks.contains(look))
        }
        _ => false,
    });
    if let Some(mask) = covering {
        let over = names::looks(colony, &mask.looks).join(" + ");
        lines.push(format!("{over} hides {} on it", gene.name));
    } else if gene.from_age_adult && animal.grown.is_none() && !animal.seen_grown {
        lines.push(format!("{} shows on adults only", gene.name));
    }
    if animal.readings.iter().any(|reading| reading.gene == id) {
        lines.push(format!("a reading of {} on it is counted in", gene.name));
    }
    lines
}

pub(super) fn negligible(step: &Step) -> bool {
    (1.0 - NEGLIGIBLE..=1.0 / (1.0 - NEGLIGIBLE)).contains(&step.multiplier)
}

/// `2024-A: 6 not showing ash, from a visual ash mate (Bram): odds ×1/64, to 3 in 100 (3.0 %)`.
pub(super) fn step_line(colony: &Colony, story: &Story, step: &Step) -> [String; 2] {
    let gene = story.proposition.gene;
    let clutch = &colony.clutch(step.clutch).id;
    let young = young(colony, gene, &step.young) + &lost(colony, gene, step.clutch);
    let from = match step.role {
        StepRole::Parent(mate) => {
            format!("{clutch}: {young}, from {}", mate_phrase(colony, gene, mate, step.mate))
        }
        StepRole::Hatchling => format!("{clutch}, its own clutch: {young}"),
        StepRole::Relative => format!("{clutch}, through relatives: {young}"),
    };
    let moved = match step.multiplier {
        m if m == 0.0 || m.is_infinite() => multiplier(m),
        m => format!("odds {}, to {}", multiplier(m), chance(step.after)),
    };
    [format!("{from}:"), moved]
}

/// The eggs that died, where the gene may have killed them.
pub(super) fn lost(colony: &Colony, gene: GeneId, clutch: ClutchId) -> String {
    match colony.clutch(clutch).died {
        Some(died) if died > 0 && !colony.gene(gene).lethal.is_empty() => {
            format!(", {died} died in the egg")
        }
        _ => String::new(),
    }
}

pub(super) fn young(colony: &Colony, gene: GeneId, kinds: &[Young]) -> String {
    let declared = colony.gene(gene);
    let one = |kind: &Young| match kind.class {
        Some(0) => match declared.looks.as_slice() {
            [only] => format!("{} not showing {only}", kind.number),
            _ => format!("{} normal at {}", kind.number, declared.name),
        },
        Some(class) => format!("{} {}", kind.number, declared.look_name(class)),
        None => format!("{} unread or uncertain", kind.number),
    };
    if kinds.is_empty() {
        return "no young written down".to_owned();
    }
    kinds.iter().map(one).collect::<Vec<_>>().join(", ")
}

pub(super) fn mate_phrase(
    colony: &Colony,
    gene: GeneId,
    mate: Option<AnimalId>,
    genotype: Option<Genotype>,
) -> String {
    let Some(mate) = mate else { return "an unrecorded mate".to_owned() };
    let name = names::animal(colony, mate);
    let declared = colony.gene(gene);
    let kind = match genotype {
        None => "an unproven mate".to_owned(),
        Some(g) if g.mutant_copies() == 0 => format!("a mate without {}", declared.name),
        Some(g) if declared.inheritance == Inheritance::Recessive => match g.mutant_copies() {
            1 => format!("a proven het {} mate", declared.name),
            _ => format!("a visual {} mate", declared.look_name(declared.class_of(g))),
        },
        Some(g) => format!("a {} mate", names::genotype(colony, gene, g)),
    };
    format!("{kind} ({name})")
}

fn because(colony: &Colony, story: &Story, reason: &Because) -> String {
    let allele = colony.gene(story.proposition.gene).allele_name(story.proposition.allele);
    match reason {
        Because::Statement { animal, text, trust } => {
            let how = match *trust {
                1.0 => "taken as certain (trust 1)".to_owned(),
                trust => format!("trusted to {} (trust {})", percent(trust), plain(trust)),
            };
            format!(
                "rests on what {} was sold as, \"{text}\", {how}",
                names::animal(colony, *animal)
            )
        }
        Because::UnprovenMate { clutch, mate, carries } => {
            let clutch = &colony.clutch(*clutch).id;
            match mate {
                Some(mate) => format!(
                    "rests on the mate in {clutch}: {} is not proven, {} to carry {allele}",
                    names::animal(colony, *mate),
                    chance(*carries),
                ),
                None => format!("rests on the mate in {clutch}, which nobody recorded"),
            }
        }
        Because::Assumption { key, value, instead, chance: moved } => format!(
            "rests on your assumption {key} = {}: with {} it would be {}",
            plain(*value),
            plain(*instead),
            chance(*moved),
        ),
    }
}

fn floor_line(colony: &Colony, story: &Story, floor: &Floor) -> String {
    let mate = floor.mate.map_or("the mate".to_owned(), |mate| names::animal(colony, mate));
    let clutch = &colony.clutch(floor.clutch).id;
    let gene = colony.gene(story.proposition.gene);
    let allele = gene.allele_name(story.proposition.allele);
    let unproven = story.because.iter().any(
        |reason| matches!(reason, Because::UnprovenMate { clutch, .. } if *clutch == floor.clutch),
    );
    let why = if unproven {
        let least = chance(floor.chance);
        format!(
            "however many normals hatch, it stays at {least} or more, since it may be {mate} that \
             has no {allele} to give"
        )
    } else {
        format!("with {mate} the young look the same either way")
    };
    let other = colony.assumptions.other_sire;
    if other > 0.0 && !unproven {
        return format!(
            "more eggs of {clutch} will not settle it: with other_sire = {} the whole clutch may be \
             another male's, and so it stays at {} or more; another clutch in another season will",
            plain(other),
            chance(floor.chance),
        );
    }
    let remedy = match story.proposition.copies {
        Copies::Two if gene.inheritance != Inheritance::Recessive => {
            format!("a mate without {allele} will")
        }
        _ => format!("a mate that shows {allele}, or is proven to carry it, will"),
    };
    format!("more eggs with {mate} (as in {clutch}) will not settle it: {why}; {remedy}")
}
