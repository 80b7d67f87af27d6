//! `conflicts` in words.

use std::fmt::Write;

use super::check_text::wrapped;
use super::names;
use super::wording::{chance, multiplier, strength_word};
use crate::numbers::exp;
use crate::questions::{ConflictsAnswer, Slip, SlipKind};
use crate::records::{Call, Colony};

/// Slips below this chance are only counted.
const SHOWN: f64 = 0.02;
/// At most this many are told one by one.
const AT_MOST: usize = 12;

/// Which record is wrong, as a breeder reads it.
pub fn conflicts_text(colony: &Colony, answer: &ConflictsAnswer) -> String {
    let mut text = String::from("Which record may be wrong\n");
    text.push_str(&super::check_text::in_short(colony));
    for warning in &answer.warnings {
        text.push_str(&wrapped(0, 2, &format!("Warning: {warning}")));
    }
    if !answer.irreducible.is_empty() {
        text.push_str(
            "\nThe records cannot all be true. Leave out any one of these, and the rest of them\n\
             is possible:\n",
        );
        for error in &answer.irreducible {
            let line = format!("line {}: {}", error.place.line, error.message);
            text.push_str(&wrapped(2, 6, &line));
        }
    }
    let told: Vec<&Slip> =
        answer.slips.iter().filter(|slip| slip.probability >= SHOWN).take(AT_MOST).collect();
    if told.is_empty() {
        text.push_str("\nNo single record is suspect: ");
        text.push_str(if answer.irreducible.is_empty() {
            "the young are what chance allows.\n"
        } else {
            "it takes more than two slips to explain them.\n"
        });
    } else {
        let intro = format!(
            "Most suspect first. Each is judged alone, as if nothing else were wrong. Before the \
             young are looked at, any record is taken to be wrong with a chance of {}.",
            chance(answer.slip_prior),
        );
        let _ = write!(text, "\n{}", wrapped(0, 0, &intro));
    }
    for slip in &told {
        text.push_str(&tell(colony, answer, slip));
    }
    text.push_str(&ahead(answer));
    let more = answer.slips.len() - told.len();
    if more > 0 && !told.is_empty() {
        let _ = writeln!(text, "\n{more} more are far less suspect; --json lists them.");
    }
    text.push_str(&worst_fit(colony, answer));
    text
}

fn tell(colony: &Colony, answer: &ConflictsAnswer, slip: &Slip) -> String {
    let tied = answer.slips.iter().filter(|other| other.rank == slip.rank).count() > 1;
    let mark = if tied { " (tied: nothing in the records tells these apart)" } else { "" };
    let line = format!("{}. {}{mark}", slip.rank, what(colony, slip));
    let mut text = format!("\n{}", wrapped(0, 3, &line));
    if let Some(other) = &slip.with {
        text.push_str(&wrapped(3, 7, &format!("together with: {}", what(colony, other))));
    }
    let _ = writeln!(
        text,
        "   line {}; the chance that it is so: {}",
        slip.place.line,
        chance(slip.probability)
    );
    if slip.gain.is_finite() {
        let factor = exp(slip.gain);
        let _ = writeln!(
            text,
            "   if so, the records as a whole are {} as probable: {} evidence for it",
            multiplier(factor),
            strength_word(factor),
        );
    } else {
        text.push_str("   if so, the records are possible; otherwise they are not\n");
    }
    text.push_str(&wrapped(3, 7, &format!("to settle it: {}", check(colony, slip))));
    text
}

/// How far the most suspect are ahead of the next, where that is worth a sentence.
fn ahead(answer: &ConflictsAnswer) -> String {
    let first = answer.slips.iter().take_while(|slip| slip.rank == 1).count();
    let (Some(one), Some(next)) = (answer.slips.first(), answer.slips.get(first)) else {
        return String::new();
    };
    if one.probability < SHOWN {
        return String::new();
    }
    let factor = if one.gain.is_finite() {
        exp(one.gain - next.gain)
    } else {
        one.probability / next.probability
    };
    let who = match first {
        1 => "the first".to_owned(),
        several => format!("any of the first {several}"),
    };
    let sentence = format!(
        "If only one thing is wrong, {who} explains the records {} as well as the next: {} \
         evidence for it.",
        multiplier(factor),
        strength_word(factor),
    );
    format!("\n{}", wrapped(0, 0, &sentence))
}

fn what(colony: &Colony, slip: &Slip) -> String {
    let animal = slip.animal.map_or("an animal".to_owned(), |id| names::animal(colony, id));
    let clutch = slip.clutch.map_or("", |clutch| &colony.clutch(clutch).id);
    let gene = slip.gene.map_or(String::new(), |gene| format!(" at {}", colony.gene(gene).name));
    match slip.kind {
        SlipKind::Call if slip.animal.is_none() => {
            format!("{} was called wrongly{gene}", one_counted(colony, slip))
        }
        SlipKind::Call => format!("the look of {animal} was called wrongly{gene}"),
        SlipKind::Statement => format!("what was said of {animal}{gene} is wrong"),
        SlipKind::Sire => format!("another male sired {clutch}"),
        SlipKind::Dam => format!("another female laid {clutch}"),
        SlipKind::Identity => match slip.from {
            Some(from) => {
                format!("{animal} is not from {clutch}; it may be from {}", colony.clutch(from).id)
            }
            None => format!("{animal} is not from {clutch}, but from elsewhere"),
        },
    }
}

/// One of several young that were only counted, by what they were counted as.
fn one_counted(colony: &Colony, slip: &Slip) -> String {
    let Some(clutch) = slip.clutch.map(|clutch| colony.clutch(clutch)) else {
        return "one of the counted young".to_owned();
    };
    let count = clutch.counts.iter().find(|count| count.place == slip.place);
    let counted = count.map(|count| match &count.seen.call {
        Call::Looks(looks) => {
            format!("{} counted as {}", count.total(), names::looks_phrase(colony, looks))
        }
        _ => format!("{} counted", count.total()),
    });
    match counted {
        Some(counted) if counted.starts_with("1 ") => {
            format!("the one{} in {}", &counted[1..], clutch.id)
        }
        Some(counted) => format!("one of the {counted} in {}", clutch.id),
        None => format!("one of the counted young of {}", clutch.id),
    }
}

/// The word of the JSON format for a kind of slip.
pub(super) fn kind(kind: SlipKind) -> &'static str {
    match kind {
        SlipKind::Call => "call",
        SlipKind::Statement => "statement",
        SlipKind::Sire => "sire",
        SlipKind::Dam => "dam",
        SlipKind::Identity => "identity",
    }
}

/// The cheapest check that would settle a slip.
pub(super) fn check(colony: &Colony, slip: &Slip) -> String {
    let gene = slip.gene.map(|gene| colony.gene(gene).name.as_str());
    match (slip.kind, gene) {
        (SlipKind::Call, Some(gene)) if slip.animal.is_none() => {
            format!("look at them again for {gene}, or at photographs")
        }
        (SlipKind::Call, Some(gene)) => format!("look at it again for {gene}, or at a photograph"),
        (SlipKind::Call, None) => "look again, or at photographs".to_owned(),
        (SlipKind::Statement, Some(gene)) => {
            format!("ask the seller for its parents, or have {gene} read from a shed skin")
        }
        (SlipKind::Statement, None) => "ask the seller for its parents".to_owned(),
        (SlipKind::Sire, _) => {
            "look up which males were with the dam, and since when; or test the parentage of one young"
                .to_owned()
        }
        (SlipKind::Dam, _) => {
            "look up which females were due; or test the parentage of one young".to_owned()
        }
        (SlipKind::Identity, _) => {
            "compare it with photographs taken at hatching, and the labels of its tub".to_owned()
        }
    }
}

fn worst_fit(colony: &Colony, answer: &ConflictsAnswer) -> String {
    let worst = answer.fit.iter().min_by(|a, b| a.tail.total_cmp(&b.tail));
    let Some(worst) = worst else { return String::new() };
    let alone = (worst.tail * answer.fit.len() as f64).min(1.0);
    let sentence = format!(
        "The clutch that fits worst what was known before it is {}, at {}: among the {} clutches \
         of a sound colony the worst fits as badly with a chance of {}.",
        colony.clutch(worst.clutch).id,
        colony.gene(worst.gene).name,
        answer.fit.len(),
        chance(alone),
    );
    format!("\n{}", wrapped(0, 0, &sentence))
}
