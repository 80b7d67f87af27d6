//! What to breed next and how many eggs it takes, in words.

use std::fmt::Write;

use super::check_text::wrapped;
use super::names;
use super::wording::{bits, bits_an_egg, chance, coefficient, percent, plain};
use crate::questions::{
    AllelicPairings, Carrier, EggsAnswer, EggsNeeded, ModePairings, Pairing, PairingsAnswer,
};
use crate::records::Colony;

/// Pairings told one by one.
const TOLD: usize = 10;
/// Pairings of one question that are told.
const OF_ONE: usize = 3;
/// Kinship from which inbreeding is spoken of.
const RELATED: f64 = 1e-9;
/// Inbreeding from which it is warned of: half sibs.
const CLOSE: f64 = 0.125;

/// What stands under every plan of a test.
const LAST_WORD: &str = "\nBreeding for a test is still breeding: a female's condition comes first, \
                         and a veterinarian\nand the law where you live have the last word.\n";

/// Which pairings would tell most, as a breeder reads it.
pub fn pairings_text(colony: &Colony, answer: &PairingsAnswer) -> String {
    let mut text = String::from("Which pairing to make next\n");
    text.push_str(&super::check_text::in_short(colony));
    for warning in &answer.warnings {
        text.push_str(&wrapped(0, 2, &format!("Warning: {warning}")));
    }
    let [females, males] = answer.breeders;
    let line = format!(
        "Kept, of known sex, and of age on the day of the last record: females {females}, males \
         {males}. A clutch is taken to give {} hatched young. One bit is a question of even odds \
         fully answered.",
        plain(answer.young.mean),
    );
    let _ = write!(text, "\n{}", wrapped(0, 0, &line));
    if let Some(modes) = &answer.modes {
        text.push_str(&of_modes(colony, modes));
        return text;
    }
    if let Some(about) = &answer.allelic {
        text.push_str(&of_two_genes(colony, about));
        return text;
    }
    let mut told = 0;
    let mut asked: Vec<(Carrier, usize)> = Vec::new();
    for pairing in &answer.pairings {
        let at = asked.iter().position(|(question, _)| *question == pairing.question);
        let times = match at {
            Some(at) => {
                asked[at].1 += 1;
                asked[at].1
            }
            None => {
                asked.push((pairing.question, 1));
                1
            }
        };
        if times > OF_ONE || told == TOLD {
            continue;
        }
        told += 1;
        text.push_str(&tell(colony, answer, told, pairing));
    }
    if told == 0 {
        text.push_str("\nNo pairing of kept animals would tell anything that is still in doubt.\n");
    } else {
        let more = answer.pairings.len() - told;
        if more > 0 {
            let _ = writeln!(text, "\n{more} more say less, or the same again; --json lists them.");
        }
        text.push_str(LAST_WORD);
    }
    text
}

fn of_modes(colony: &Colony, modes: &ModePairings) -> String {
    let gene = colony.gene(modes.gene);
    if modes.pairings.is_empty() {
        return format!(
            "\nNo pairing of kept animals would tell how {} is inherited.\n",
            gene.name
        );
    }
    let mut text = String::new();
    for (at, (one, an_egg, kin)) in modes.pairings.iter().take(TOLD).enumerate() {
        let [dam, sire] = [one.dam, one.sire].map(|id| names::animal(colony, id));
        let line = format!(
            "{}. {dam} × {sire}: how is {} inherited? {} bits a clutch, {} an egg, {} a \
             season",
            at + 1,
            gene.name,
            bits(one.bits),
            bits_an_egg(*an_egg),
            bits(one.bits_per_season),
        );
        let _ = write!(text, "\n{}", wrapped(0, 3, &line));
        for outcome in one.outcomes.iter().take(3) {
            let counts = outcome.counts.iter().enumerate().filter(|(_, number)| **number > 0);
            let young: Vec<String> =
                counts.map(|(class, n)| format!("{n} {}", gene.look_name(class))).collect();
            let after: Vec<String> = outcome
                .posterior
                .iter()
                .map(|(mode, p)| format!("{} {}", names::mode(colony, *mode), percent(*p)))
                .collect();
            let line = format!(
                "{} ({}): {}",
                young.join(", "),
                percent(outcome.probability),
                after.join(", ")
            );
            text.push_str(&wrapped(3, 6, &line));
        }
        for line in doubts(0.0, 1.0, *kin, 0.0, MATE) {
            text.push_str(&wrapped(3, 6, &line));
        }
    }
    text
}

/// What pairings would say of whether two looks are one gene.
fn of_two_genes(colony: &Colony, about: &AllelicPairings) -> String {
    let [one, other] = about.genes.map(|gene| colony.gene(gene).name.as_str());
    let standing = |[same, linked, free]: [f64; 3]| {
        format!("one locus {}, linked {}, free {}", percent(same), percent(linked), percent(free))
    };
    let mut text = format!("\nAre {one} and {other} one gene? Today: {}.\n", standing(about.today));
    if about.pairings.is_empty() {
        text.push_str(&wrapped(
            0,
            0,
            "No pairing of kept animals would tell. It takes an animal that carries both, or one \
             that shows the one bred to one that shows the other.",
        ));
        return text;
    }
    for (at, one) in about.pairings.iter().take(TOLD).enumerate() {
        let [dam, sire] = [one.dam, one.sire].map(|id| names::animal(colony, id));
        let line = format!(
            "{}. {dam} × {sire}: {} bits a clutch, {} an egg, {} a season",
            at + 1,
            bits(one.bits),
            bits_an_egg(one.bits_per_egg),
            bits(one.bits_per_season),
        );
        let _ = write!(text, "\n{}", wrapped(0, 3, &line));
        for outcome in one.outcomes.iter().take(3) {
            let counts = outcome.counts.iter().enumerate().filter(|(_, number)| **number > 0);
            let young: Vec<String> = counts
                .map(|(at, n)| format!("{n} {}", names::two_looks(colony, about, at)))
                .collect();
            let line = format!(
                "{} ({}): {}",
                young.join(", "),
                percent(outcome.probability),
                standing(outcome.posterior)
            );
            text.push_str(&wrapped(3, 6, &line));
        }
        for line in kin_and_lethal(one.inbreeding, one.lethal) {
            text.push_str(&wrapped(3, 6, &line));
        }
    }
    text.push_str(LAST_WORD);
    text
}

fn tell(colony: &Colony, answer: &PairingsAnswer, rank: usize, pairing: &Pairing) -> String {
    let [dam, sire] = [pairing.dam, pairing.sire].map(|id| names::animal(colony, id));
    let line = format!(
        "{rank}. {dam} × {sire}: {} {} bits a clutch, {} an egg, {} a season",
        question(colony, pairing.question),
        bits(pairing.bits),
        bits_an_egg(pairing.bits_per_egg),
        bits(pairing.bits_per_season),
    );
    let mut text = format!("\n{}", wrapped(0, 3, &line));
    text.push_str(&wrapped(3, 6, &format!("today: {}", chance(pairing.today))));
    for line in ways(colony, pairing) {
        text.push_str(&wrapped(3, 6, &line));
    }
    let beside = ![pairing.dam, pairing.sire].contains(&pairing.question.animal);
    let because = if beside { BESIDE } else { MATE };
    for line in doubts(pairing.floor, answer.level, pairing.inbreeding, pairing.lethal, because) {
        text.push_str(&wrapped(3, 6, &line));
    }
    text
}

fn question(colony: &Colony, question: Carrier) -> String {
    let gene = colony.gene(question.gene);
    format!(
        "does {} carry {}?",
        names::animal(colony, question.animal),
        gene.allele_name(question.allele)
    )
}

/// What the outcomes come to: proven, cleared, open; and what normals alone would leave.
fn ways(colony: &Colony, pairing: &Pairing) -> Vec<String> {
    let (verdicts, outcomes) = (pairing.verdicts, &pairing.outcomes);
    let gene = pairing.question.gene;
    let mut lines = Vec::new();
    if verdicts.proven > 0.0 {
        lines.push(format!("{}: the young prove it", chance(verdicts.proven)));
    }
    if verdicts.cleared > 0.0 {
        lines.push(format!("{}: they clear it", chance(verdicts.cleared)));
    }
    if verdicts.open > 1e-9 {
        let [low, high] = verdicts.between;
        let left = if high - low < 0.005 {
            chance(high)
        } else {
            format!("between {} and {}", percent(low), percent(high))
        };
        lines.push(format!("{}: it stays open, at {left}", chance(verdicts.open)));
    }
    let normals = outcomes.iter().find(|one| one.counts[1..].iter().all(|number| *number == 0));
    if let Some(normals) = normals {
        lines.push(format!(
            "{} {} and nothing else ({}) would leave {}",
            normals.counts[0],
            colony.gene(gene).look_name(0),
            percent(normals.probability),
            chance(normals.posterior),
        ));
    }
    lines
}

/// Why normals alone may not clear an animal.
const MATE: &str = "as the mate may carry nothing itself";
const BESIDE: &str = "as relatives may be without what it carries";

fn doubts(
    floor: f64,
    level: f64,
    inbreeding: Option<f64>,
    lethal: f64,
    because: &str,
) -> Vec<String> {
    let mut lines = Vec::new();
    if floor > 1.0 - level {
        lines.push(format!(
            "it can prove but cannot clear: however many normals come, {} is left, {because}",
            chance(floor)
        ));
    }
    lines.extend(kin_and_lethal(inbreeding, lethal));
    lines
}

/// What may harm the young of a pairing: close kin, and genotypes that never hatch.
pub(super) fn kin_and_lethal(inbreeding: Option<f64>, lethal: f64) -> Vec<String> {
    let mut lines = Vec::new();
    match inbreeding {
        Some(f) if f >= CLOSE => lines.push(format!(
            "close relatives: inbreeding of the young {}; ask a veterinarian before such a pairing",
            coefficient(f)
        )),
        Some(f) if f > RELATED => {
            lines.push(format!("relatives: inbreeding of the young {}", coefficient(f)));
        }
        Some(_) => {}
        None => lines.push("too many ancestors to work out the inbreeding".into()),
    }
    if lethal > 1e-6 {
        lines.push(format!(
            "{} of its fertile eggs have a genotype that never hatches: ask a veterinarian, and \
             mind the law",
            percent(lethal)
        ));
    }
    lines
}

/// How many eggs a test takes, as a breeder reads it.
pub fn eggs_text(colony: &Colony, answer: &EggsAnswer) -> String {
    let mate = names::animal(colony, answer.mate);
    let mut text = format!("How many eggs: {} With {mate}\n", question(colony, answer.question));
    text.push_str(&super::check_text::in_short(colony));
    for warning in &answer.warnings {
        text.push_str(&wrapped(0, 2, &format!("Warning: {warning}")));
    }
    let today = if answer.today >= answer.level {
        format!(": it counts as proven at {} already", percent(answer.level))
    } else if answer.today <= 1.0 - answer.level {
        format!(": it counts as cleared at {} already", percent(answer.level))
    } else {
        String::new()
    };
    let _ =
        write!(text, "\n{}", wrapped(0, 0, &format!("Today: {}{today}.", chance(answer.today))));
    let level = percent(answer.level);
    let rows = [
        (
            answer.proves,
            format!("to prove: if it carries it, a look among so many with {level}"),
            "no number of young shows it so surely",
        ),
        (
            answer.clears,
            format!("to clear: if all of them look normal, at most {} is left", {
                percent(1.0 - answer.level)
            }),
            "no number of normal young clears it",
        ),
        (
            answer.settles,
            format!("to settle: from here on one or the other with {}", percent(answer.assurance)),
            "no number of young up to 120 settles it so surely",
        ),
    ];
    text.push_str("\n   young    eggs  clutches\n");
    for (needed, meaning, never) in rows {
        let line = match needed {
            Some(EggsNeeded { young, eggs, clutches }) => {
                let clutches = clutches.map_or("?".to_owned(), plain);
                format!("{young:>8}{eggs:>8.0}{clutches:>10}  {meaning}")
            }
            None => format!("{:>8}{:>8}{:>10}  {meaning}: {never}", "never", "", ""),
        };
        text.push_str(&wrapped(0, 28, &line));
    }
    for line in doubts(answer.floor, answer.level, answer.inbreeding, answer.lethal, MATE) {
        text.push_str(&wrapped(0, 2, &line));
    }
    if let Some(next) = answer.next_clutch.filter(|_| today.is_empty()) {
        let line = format!(
            "One more clutch of that pair brings it to {level} either way with {}.",
            chance(next)
        );
        text.push_str(&wrapped(0, 2, &line));
    }
    if answer.clutch.is_none() {
        text.push_str(&wrapped(
            0,
            2,
            "How many clutches that is depends on `clutch_size`, which the file does not say.",
        ));
    }
    let eggs = format!(
        "Eggs: hatched young divided by the share that hatches, {} here.",
        percent(answer.hatch_rate)
    );
    text.push_str(&wrapped(0, 2, &eggs));
    text.push_str(&course(answer));
    text
}

/// A few steps of the way.
fn course(answer: &EggsAnswer) -> String {
    let mut text = String::from("\n   young  shows if carrier  left if all normal       settled\n");
    for step in answer.curve.iter().filter(|step| shown(step.young)) {
        let _ = writeln!(
            text,
            "{:>8}{:>18}{:>20}{:>14}",
            step.young,
            percent(step.proves),
            percent(step.left),
            percent(step.settles),
        );
    }
    text
}

fn shown(young: u32) -> bool {
    matches!(young, 0..=8 | 10 | 12 | 16 | 20 | 30 | 40)
}
