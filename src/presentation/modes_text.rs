//! How a suspected gene is inherited, in words.

use std::fmt::Write;

use super::check_text::wrapped;
use super::names;
use super::wording::{bits, chance, likelihood_word, percent, plain, strength_word, times};
use crate::genetics::Mode;
use crate::questions::{DecidingCross, Mate, ModeAnswer, ModeResult, Sensitivity};
use crate::records::{ClutchId, Colony, Parent, Sex};

/// Ways below this chance are only named.
const TOLD: f64 = 0.001;
/// Less than this factor between two ways is none that anyone would notice.
const ALIKE: f64 = 1.05;
/// A clutch that moves no way's chance by as much is left out.
const MOVES: f64 = 0.005;
/// More ways that never led than these would be hard to follow.
const WAYS: usize = 4;
/// From this chance on it is said how to test whether it is a version of a known gene.
const WORTH_A_TEST: f64 = 0.04;
/// Outcomes that come as often are nothing unusual.
const USUAL: f64 = 0.3;

/// How a suspected gene is inherited, as a breeder reads it.
pub fn mode_text(colony: &Colony, answer: &ModeAnswer) -> String {
    let gene = &colony.gene(answer.gene).name;
    let mut text = format!("How {gene} is inherited\n");
    text.push_str(&super::check_text::in_short(colony));
    for warning in &answer.warnings {
        text.push_str(&wrapped(0, 2, &format!("Warning: {warning}")));
    }
    text.push_str(&verdict(colony, answer));
    text.push_str(&table(colony, answer));
    text.push_str(&clutches(colony, answer));
    text.push_str(&fit(colony, answer));
    text.push_str(&rests_on(colony, answer));
    text.push_str(&decides(colony, answer));
    text.push_str(
        "\nA new look may come with troubles that show late: before it is bred on, ask a \
         veterinarian,\nand mind the law where you live. Until its inheritance is proven, sell \
         nobody a \"het\" of it.\n",
    );
    text
}

/// What a way of inheritance means, for people.
fn meaning(colony: &Colony, mode: Mode) -> String {
    match mode {
        Mode::Recessive { sex_linked: false } => "two copies show it".into(),
        Mode::Recessive { sex_linked: true } => {
            "on a sex chromosome; two copies, or the only one, show it".into()
        }
        Mode::Dominant { sex_linked: false } => "one or two copies show it".into(),
        Mode::Dominant { sex_linked: true } => "on a sex chromosome; any copy shows it".into(),
        Mode::IncompleteDominant { .. } => "one copy shows it, two look different".into(),
        Mode::LethalIncompleteDominant => "one copy shows it, two never hatch".into(),
        Mode::Allele { of, visible } => {
            let seen = if visible { "one copy is seen" } else { "two copies are seen" };
            format!("another version of {}; {seen}", colony.gene(of).name)
        }
        Mode::TwoRecessive => "two copies of each of two genes show it".into(),
        Mode::TwoDominant => "a copy of each of two genes shows it".into(),
        Mode::Chance => "not inherited: any animal may show it".into(),
        Mode::ClutchEffect => "not inherited: it runs in clutches, as with incubation".into(),
    }
}

/// The verdict, sentence by sentence, and the cross that decides.
pub(super) fn in_sentences(colony: &Colony, answer: &ModeAnswer) -> Vec<String> {
    let [top, next] = answer.likeliest.map(|at| &answer.modes[at]);
    let mut lines = vec![
        format!(
            "Likeliest: {} ({}): {}.",
            names::mode(colony, top.mode),
            meaning(colony, top.mode),
            chance(top.posterior),
        ),
        against(colony, answer, top, next),
        format!("That it is inherited at all: {}.", chance(answer.inherited())),
    ];
    if let Some(cross) = answer.deciding.first() {
        lines.push(format!(
            "The cross that decides: {} × {}: {}.",
            parent(colony, answer, cross.dam),
            parent(colony, answer, cross.sire),
            needs(cross)
        ));
    }
    lines
}

/// What to breed next to learn how a gene is inherited; `None` where one way alone stands.
pub(super) fn next_step(colony: &Colony, answer: &ModeAnswer) -> Option<String> {
    if answer.standing().len() < 2 {
        return None;
    }
    let gene = &colony.gene(answer.gene).name;
    Some(match answer.deciding.first() {
        Some(cross) => format!(
            "how {gene} is inherited: {} × {}; {}",
            parent(colony, answer, cross.dam),
            parent(colony, answer, cross.sire),
            needs(cross)
        ),
        None => format!("how {gene} is inherited: keep more of the young; no pair here decides it"),
    })
}

fn verdict(colony: &Colony, answer: &ModeAnswer) -> String {
    let [top, next] = answer.likeliest.map(|at| &answer.modes[at]);
    let mut text = String::new();
    let way = format!("{} ({})", names::mode(colony, top.mode), meaning(colony, top.mode));
    let line = if top.posterior >= 0.5 {
        let word = likelihood_word(top.posterior);
        format!("Likeliest: {way}: {}, {word}.", chance(top.posterior))
    } else {
        let all = chance(top.posterior);
        format!("Not settled: no way has an even chance. Ahead so far: {way}: {all}.")
    };
    let _ = write!(text, "\n{}", wrapped(0, 0, &line));
    text.push_str(&wrapped(0, 0, &against(colony, answer, top, next)));
    let inherited = answer.inherited();
    let line = format!("That it is inherited at all: {}.", chance(inherited));
    text.push_str(&wrapped(0, 0, &line));
    let first: Vec<String> =
        answer.first_seen.iter().map(|id| names::animal(colony, *id)).collect();
    let shown = answer.fit.iter().any(|one| one.counts[1..].iter().any(|number| *number > 0));
    if first.is_empty() && !shown {
        text.push_str("No animal is recorded with its look yet: there is nothing to go by.\n");
    }
    if !first.is_empty() {
        let line = format!(
            "First noticed on {}: that look is taken to be real, and since somebody had to be the \
             first to show it, it says nothing of how it is inherited.",
            first.join(" and "),
        );
        text.push_str(&wrapped(0, 0, &line));
    }
    text
}

fn against(colony: &Colony, answer: &ModeAnswer, top: &ModeResult, next: &ModeResult) -> String {
    let (winner, rival) = (names::mode(colony, top.mode), names::mode(colony, next.mode));
    if answer.bayes_factor.is_infinite() {
        return format!("The records rule {rival} out, the next likeliest.");
    }
    if (1.0 / ALIKE..ALIKE).contains(&answer.bayes_factor) {
        let only = if top.posterior > ALIKE * next.posterior {
            format!("; {winner} is ahead only by what was assumed beforehand")
        } else {
            String::new()
        };
        return format!("The records do not tell it from {rival}, the next likeliest{only}.");
    }
    if answer.bayes_factor < 1.0 {
        let factor = 1.0 / answer.bayes_factor;
        return format!(
            "The records alone are {} times as probable under {rival}, {} evidence for it; {winner} \
             is ahead only by what was assumed beforehand.",
            times(factor),
            strength_word(factor),
        );
    }
    format!(
        "The records are {} times as probable under it as under {rival}, the next likeliest: {} \
         evidence for {winner}.",
        times(answer.bayes_factor),
        strength_word(answer.bayes_factor),
    )
}

fn table(colony: &Colony, answer: &ModeAnswer) -> String {
    let mut order: Vec<&ModeResult> = answer.modes.iter().collect();
    order.sort_by(|a, b| b.posterior.total_cmp(&a.posterior));
    let (told, rest): (Vec<_>, Vec<_>) = order.into_iter().partition(|one| one.posterior >= TOLD);
    let mut text = String::from("\n     before          now  way of inheritance\n");
    for one in told {
        let line = format!(
            "{:>11}  {:>11}  {}: {}",
            percent(one.prior),
            percent(one.posterior),
            names::mode(colony, one.mode),
            meaning(colony, one.mode),
        );
        text.push_str(&wrapped(0, 28, &line));
    }
    if !rest.is_empty() {
        let list: Vec<String> = rest.iter().map(|one| names::mode(colony, one.mode)).collect();
        let line = format!("each below 1 in 1,000: {}", list.join("; "));
        text.push_str(&wrapped(2, 4, &line));
    }
    text
}

fn clutches(colony: &Colony, answer: &ModeAnswer) -> String {
    let standing = told_ways(answer);
    let mut text = String::new();
    let mut still: Vec<&str> = Vec::new();
    for fit in &answer.fit {
        let Some(at) = answer.clutches.iter().position(|clutch| *clutch == fit.clutch) else {
            continue;
        };
        let moved = |one: &&ModeResult| (one.path[at + 1] - one.path[at]).abs() >= MOVES;
        if !answer.modes.iter().any(|one| moved(&one)) {
            still.push(&colony.clutch(fit.clutch).id);
            continue;
        }
        if text.is_empty() {
            text.push_str("\nClutch by clutch\n");
        }
        let heading = format!(
            "{} ({}): {}",
            colony.clutch(fit.clutch).id,
            pairing(colony, fit.clutch),
            seen(colony, answer, &fit.counts),
        );
        text.push_str(&wrapped(2, 6, &heading));
        for one in &standing {
            let Some(shares) = &one.expected[at] else { continue };
            if one.path[at].max(one.path[at + 1]) < TOLD {
                continue;
            }
            let line = format!(
                "{}: expected {}; {} before, {} after",
                names::mode(colony, one.mode),
                expected(colony, answer, shares),
                percent(one.path[at]),
                percent(one.path[at + 1]),
            );
            text.push_str(&wrapped(6, 8, &line));
        }
    }
    if !still.is_empty() {
        if text.is_empty() {
            text.push_str("\nClutch by clutch\n");
        }
        let line =
            format!("left out, for they moved no chance by half a percent: {}", still.join(", "));
        text.push_str(&wrapped(2, 6, &line));
    }
    text
}

/// The ways that are followed clutch by clutch: those that stand, or led after some clutch.
fn told_ways(answer: &ModeAnswer) -> Vec<&ModeResult> {
    let led = |at: usize| {
        // The first of those that are level.
        let best = |a: &&ModeResult, b: &&ModeResult| a.path[at].total_cmp(&b.path[at]);
        answer.modes.iter().rev().max_by(best).map(|one| one.mode)
    };
    let steps = answer.modes.first().map_or(0, |one| one.path.len());
    let leaders: Vec<Option<Mode>> = (1..steps).map(led).collect();
    let told = |one: &&ModeResult| one.posterior >= 0.05 || leaders.contains(&Some(one.mode));
    let mut told: Vec<&ModeResult> = answer.modes.iter().filter(told).collect();
    told.sort_by(|a, b| b.posterior.total_cmp(&a.posterior));
    let led = |one: &ModeResult| leaders.contains(&Some(one.mode));
    let mut room = WAYS;
    told.retain(|one| {
        room = room.saturating_sub(usize::from(!led(one)));
        led(one) || room > 0
    });
    told
}

fn pairing(colony: &Colony, clutch: ClutchId) -> String {
    let clutch = colony.clutch(clutch);
    let dam = match clutch.dam {
        Parent::Known(dam) => names::animal(colony, dam),
        Parent::Unknown => "unknown dam".into(),
    };
    let sires: Vec<String> = clutch
        .siring
        .candidates
        .iter()
        .map(|(candidate, _)| names::candidate(colony, *candidate))
        .collect();
    format!("{dam} × {}", sires.join(" or "))
}

fn seen(colony: &Colony, answer: &ModeAnswer, counts: &[u32]) -> String {
    let gene = colony.gene(answer.gene);
    let named = counts.iter().enumerate().filter(|(_, number)| **number > 0);
    let list: Vec<String> =
        named.map(|(class, number)| format!("{number} {}", gene.look_name(class))).collect();
    list.join(", ")
}

fn expected(colony: &Colony, answer: &ModeAnswer, shares: &[f64]) -> String {
    let gene = colony.gene(answer.gene);
    let looks = shares.iter().enumerate().skip(1);
    let list: Vec<String> = looks
        .map(|(class, share)| format!("{} {}", percent(*share), gene.look_name(class)))
        .collect();
    let nameless = 1.0 - shares.iter().sum::<f64>();
    if nameless > 0.001 {
        return format!("{}, {} a look without a name", list.join(", "), percent(nameless));
    }
    list.join(", ")
}

fn fit(colony: &Colony, answer: &ModeAnswer) -> String {
    let Some(worst) = answer.fit.iter().min_by(|a, b| a.tail.total_cmp(&b.tail)) else {
        return "\nNo clutch was judged for it yet.\n".into();
    };
    let name = names::mode(colony, answer.modes[answer.likeliest[0]].mode);
    let clutch = &colony.clutch(worst.clutch).id;
    let line = if answer.best_of_a_bad_lot {
        format!(
            "Best of a bad lot: even under {name} young like those of {clutch} come only with a \
             chance of {}. A record may be wrong, or the truth is none of these.",
            chance(worst.tail),
        )
    } else {
        if worst.tail >= USUAL {
            return format!("\nDoes it fit? Yes: no clutch is unusual under {name}.\n");
        }
        let so = if worst.tail >= 0.05 { "Yes" } else { "Well enough" };
        format!(
            "Does it fit? {so}: under {name} the least usual clutch is {clutch}; of clutches from \
             such parents {} are as unusual or more.",
            chance(worst.tail),
        )
    };
    format!("\n{}", wrapped(0, 0, &line))
}

fn rests_on(colony: &Colony, answer: &ModeAnswer) -> String {
    if answer.sensitivity.is_empty() {
        return String::new();
    }
    let mut text = String::from("\nWhat it rests on\n");
    let mut keys: Vec<&str> = answer.sensitivity.iter().map(|one| one.assumption).collect();
    keys.dedup();
    for key in keys {
        let of: Vec<&Sensitivity> =
            answer.sensitivity.iter().filter(|one| one.assumption == key).collect();
        let range = format!("{} … {}", plain(of[0].value), plain(of[of.len() - 1].value));
        let changed: Vec<String> = of
            .iter()
            .filter(|one| one.changes)
            .map(|one| format!("at {} {}", plain(one.value), names::mode(colony, one.winner)))
            .collect();
        let line = match changed.as_slice() {
            [] => format!("{key} {range}: the same way stays the likeliest"),
            list => format!("{key} {range}: changes the likeliest: {}", list.join(", ")),
        };
        text.push_str(&wrapped(2, 6, &line));
    }
    let [top, next] = answer.likeliest.map(|at| &answer.modes[at]);
    let draw = answer.draws_level;
    let line = if draw.is_finite() {
        format!(
            "what was assumed beforehand: {} would draw level if you held it {} times likelier, \
             against {}, than the column `before` does",
            names::mode(colony, next.mode),
            times(draw),
            names::mode(colony, top.mode),
        )
    } else {
        "what was assumed beforehand: nothing changes it, for the records rule the others out"
            .into()
    };
    text.push_str(&wrapped(2, 6, &line));
    text
}

fn decides(colony: &Colony, answer: &ModeAnswer) -> String {
    let standing = answer.standing();
    let mut text = String::new();
    if let [only] = standing.as_slice() {
        let line = format!("Only {} still stands.", names::mode(colony, only.mode));
        let _ = write!(text, "\n{}", wrapped(0, 0, &line));
    }
    if answer.deciding.is_empty() {
        if standing.len() > 1 {
            text.push_str(
                "\nNo cross of animals kept here separates the ways that still stand: keep more \
                 of the young.\n",
            );
            text.push_str(&with_the_older_look(colony, answer));
        }
        return text;
    }
    if standing.len() > 1 {
        let list: Vec<String> = standing.iter().map(|one| names::mode(colony, one.mode)).collect();
        let _ =
            write!(text, "\n{}", wrapped(0, 0, &format!("Still standing: {}.", list.join("; "))));
    }
    text.push_str(&with_the_older_look(colony, answer));
    text.push_str("The cross that decides, best first\n");
    for cross in &answer.deciding {
        let heading = format!(
            "{} × {}",
            parent(colony, answer, cross.dam),
            parent(colony, answer, cross.sire)
        );
        let _ = writeln!(text, "  {heading}");
        for one in &cross.decides {
            let line = format!(
                "{} expects {}",
                names::mode(colony, one.mode),
                expected(colony, answer, &one.expected)
            );
            text.push_str(&wrapped(6, 8, &line));
        }
        text.push_str(&wrapped(6, 8, &needs(cross)));
    }
    text
}

/// The test of whether two looks are one gene, which needs an animal that may not be here.
fn with_the_older_look(colony: &Colony, answer: &ModeAnswer) -> String {
    let gene = &colony.gene(answer.gene).name;
    let mut names: Vec<&str> = Vec::new();
    let worth_a_test = |one: &&ModeResult| one.posterior >= WORTH_A_TEST;
    for one in answer.modes.iter().filter(worth_a_test) {
        if let Mode::Allele { of, visible: false } = one.mode {
            names.push(&colony.gene(of).name);
        }
    }
    let line = |name: &&str| {
        let line = format!(
            "Whether {gene} is another version of {name}: breed an animal that shows {gene} to one \
             that shows {name}. If it is, none of their young look normal."
        );
        wrapped(0, 0, &line)
    };
    names.iter().map(line).collect()
}

fn parent(colony: &Colony, answer: &ModeAnswer, mate: Mate) -> String {
    let gene = colony.gene(answer.gene);
    match mate {
        Mate::Animal(id) => names::animal(colony, id),
        Mate::Unrelated => "an unrelated normal animal".into(),
        Mate::Young { clutch, sex, class } => {
            let kind = if sex == Sex::Female { "daughter" } else { "son" };
            format!("a {} {kind} of {}", gene.look_name(class), colony.clutch(clutch).id)
        }
    }
}

fn needs(cross: &DecidingCross) -> String {
    match cross.hatchlings {
        Some(1) => "one hatchling settles it (95 % for one way) in nine of ten cases".into(),
        Some(number) => {
            format!("{number} hatchlings settle it (95 % for one way) in nine of ten cases")
        }
        None => {
            format!("even 40 hatchlings would not settle it; six tell {} bits", bits(cross.bits))
        }
    }
}
