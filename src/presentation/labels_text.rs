//! `labels` in words: a line to copy, the ground it rests on, and what the trade would say.

use std::fmt::Write;

use super::check_text::wrapped;
use super::genotypes_text::{heading, lost, mate_phrase, negligible, unseen, young};
use super::wording::{at_least, at_most, frequency, percent, plain, trade_percent};
use super::{cautions, check_text, doubts, names};
use crate::questions::{Claim, Copies, Customary, Label, LabelsAnswer, Step, StepRole, Subject};
use crate::records::{AnimalId, Candidate, Colony, Genotype, Origin, Says, Status};

/// What every list of labels ends with.
const NO_CERTIFICATE: &str = "No label here is a certificate. The figures are chances from your \
    own records and assumptions, rounded down for what is claimed: pass them on with their ground. \
    The law where you live decides what may be sold, and how it must be labelled.";

/// From this chance on a reader needs to be told that it is not proven.
const ALL_BUT_CERTAIN: f64 = 0.9;

/// What may be written on each label, as a breeder reads it.
pub fn labels_text(colony: &Colony, answer: &LabelsAnswer) -> String {
    let mut text = String::from("What you may write on each label\n");
    text.push_str(&check_text::in_short(colony));
    text.push_str(&doubts::warning_lines(
        colony,
        &answer.warnings,
        answer.surprise.as_ref(),
        &answer.divided,
    ));
    let level = plain(answer.level);
    text.push_str(&wrapped(
        0,
        2,
        &format!("Proven means: by young or by a test, with a chance of {level} or more."),
    ));
    let mut last = None;
    for label in answer.labels.iter().filter(|label| label.told) {
        if last != Some(label.animal) {
            last = Some(label.animal);
            let _ = writeln!(text, "\n{}", titled(colony, label.animal));
        }
        text.push_str(&entry(colony, label));
    }
    text.push_str(match last {
        Some(_) => {
            "\nOf what is not listed nothing can be claimed: nothing is seen or suspected.\n"
        }
        None => "\nNothing can be claimed of any animal asked about beyond a normal look.\n",
    });
    text.push_str(&cautions::section(colony, &answer.cautions));
    let _ = write!(text, "\n{}", wrapped(0, 0, NO_CERTIFICATE));
    text
}

fn titled(colony: &Colony, animal: AnimalId) -> String {
    let heading = heading(colony, animal);
    match colony.animal(animal).status {
        Status::Sold => format!("{heading}, sold"),
        Status::Dead => format!("{heading}, dead"),
        _ => heading,
    }
}

fn entry(colony: &Colony, label: &Label) -> String {
    let mut text = wrapped(2, 6, &card(colony, label));
    let ground = ground(colony, label);
    if !ground.is_empty() {
        text.push_str(&wrapped(6, 10, &ground));
    }
    text
}

/// The line and its ground in one: what is copied when only one thing is copied.
pub(super) fn line(colony: &Colony, label: &Label) -> String {
    let card = card(colony, label);
    let ground = ground(colony, label);
    if ground.is_empty() { card } else { format!("{card}; {ground}") }
}

/// What is claimed, with its figure.
pub(super) fn card(colony: &Colony, label: &Label) -> String {
    let thing = thing(colony, label);
    let chance = label.probability.unwrap_or_default();
    match (label.claim, label.subject) {
        (Claim::Shows, _) => format!("visual {thing}{}", unless_sure(chance)),
        (Claim::MayShow, _) => {
            format!("may be {thing}, {}: the call is uncertain", at_least(chance))
        }
        (Claim::NotKnown { own: true }, _) => {
            format!("shows {thing}; how that is inherited is not known, and nothing is proven")
        }
        (Claim::NotKnown { own: false }, _) => {
            let gene = &colony.gene(label.gene).name;
            format!(
                "kin of animals that show {gene}; how that is inherited is not known, and no figure \
                 can be given"
            )
        }
        (Claim::Proven { .. }, _) => format!("proven {thing}{}", unless_exact(chance)),
        (Claim::ByDescent, _) => {
            format!("{thing} by descent{}, not proven by young", unless_exact(chance))
        }
        (Claim::AsTold, _) => {
            format!("{thing} on the seller's word alone{}, not proven", unless_exact(chance))
        }
        (Claim::Possible, Subject::Copies { copies: Copies::Two, .. }) => {
            format!("{thing}: possible, {}", at_least(chance))
        }
        (Claim::Possible, _) if chance > ALL_BUT_CERTAIN => {
            format!("possible {thing}, {}, not proven", at_least(chance))
        }
        (Claim::Possible, _) => format!("possible {thing}, {}", at_least(chance)),
        (Claim::TestBred { young }, _) => format!(
            "test-bred for {}, no sign in {young} young; {}",
            allele(colony, label),
            left(chance),
        ),
        (Claim::Nothing, _) if label.told => {
            format!("no claim for {}; {}", allele(colony, label), left(chance))
        }
        (Claim::Nothing, _) => format!("no claim for {}", allele(colony, label)),
    }
}

/// What is left of the doubt when nothing showed; never less than it is.
fn left(chance: f64) -> String {
    match chance {
        0.0 => "these records leave no chance that it carries it".to_owned(),
        chance => format!("up to {} to carry it all the same", at_most(chance)),
    }
}

/// A figure for what is seen, where the records do not quite bear it out.
fn unless_sure(chance: f64) -> String {
    const SURE: f64 = 0.99;
    if chance >= SURE { String::new() } else { format!(", {}", at_least(chance)) }
}

/// No label says "100 in 100": where the records leave no doubt the word alone stands.
fn unless_exact(chance: f64) -> String {
    if chance >= 1.0 { String::new() } else { format!(", {}", at_least(chance)) }
}

/// `teasel`, `het teasel`, `two copies of ripple`.
fn thing(colony: &Colony, label: &Label) -> String {
    let gene = colony.gene(label.gene);
    match label.subject {
        Subject::Look(class) => gene.look_name(class).to_owned(),
        Subject::Copies { copies: Copies::Two, .. } => {
            format!("two copies of {}", allele(colony, label))
        }
        Subject::Copies { .. } => {
            let kind = if is_hidden(colony, label) { "het" } else { "carrier of" };
            format!("{kind} {}", allele(colony, label))
        }
    }
}

fn allele(colony: &Colony, label: &Label) -> String {
    let gene = colony.gene(label.gene);
    match label.subject {
        Subject::Copies { allele, .. } => gene.allele_name(allele).to_owned(),
        Subject::Look(class) => gene.look_name(class).to_owned(),
    }
}

/// `66 % het teasel`; for what one copy shows, `50 % chance of samphire`.
fn het(colony: &Colony, label: &Label, chance: f64) -> String {
    let kind = if is_hidden(colony, label) { "het" } else { "chance of" };
    format!("{} {kind} {}", trade_percent(chance), allele(colony, label))
}

/// Whether one copy of the allele shows nothing.
fn is_hidden(colony: &Colony, label: &Label) -> bool {
    match label.subject {
        Subject::Copies { allele, .. } => {
            colony.gene(label.gene).class_of(Genotype::two(0, allele)) == 0
        }
        Subject::Look(_) => false,
    }
}

/// What the trade would call it by parentage and statements.
pub(super) fn customary(colony: &Colony, label: &Label) -> String {
    let gene = colony.gene(label.gene);
    match label.customary {
        Customary::Visual(class) => format!("visual {}", gene.look_name(class)),
        Customary::Het { chance, .. } => het(colony, label, chance),
        Customary::Nothing => "no claim".to_owned(),
    }
}

/// Why it is so: where it comes from, what its young were, what was read, who may be its sire.
pub(super) fn ground(colony: &Colony, label: &Label) -> String {
    let mut reasons = Vec::new();
    if matches!(label.subject, Subject::Copies { .. }) {
        reasons.extend(origin(colony, label));
    }
    if !label.sires.is_empty() && label.claim != Claim::Shows {
        reasons.push(sires(colony, &label.sires));
    }
    for step in label.steps.iter().filter(|step| !negligible(step)) {
        reasons.extend(own_young(colony, label, step));
    }
    reasons.extend(relatives(colony, label));
    if matches!(label.subject, Subject::Copies { .. }) {
        reasons.extend(unseen(colony, label.animal, label.gene));
    }
    if let Claim::Proven { young, reading } = label.claim {
        reasons.push(match (young, reading) {
            (true, false) => "proven by young".to_owned(),
            (false, true) => "proven by a test".to_owned(),
            _ => "proven by young and a test together".to_owned(),
        });
    }
    reasons.join("; ")
}

/// What it was sold as, or what it was worth at hatching.
fn origin(colony: &Colony, label: &Label) -> Option<String> {
    let animal = colony.animal(label.animal);
    let Subject::Copies { allele, copies } = label.subject else { return None };
    match animal.origin {
        Origin::Founder => {
            let about = |says: Says| match says {
                Says::Look(_) => true,
                Says::Het { allele: of, .. } | Says::NotHet { allele: of } => of == allele,
            };
            let said = animal.statements.iter().find(|s| s.gene == label.gene && about(s.says))?;
            let trust = animal.trust.unwrap_or(colony.assumptions.trust);
            let trusted = match trust {
                1.0 => String::new(),
                trust => format!(", trusted to {}", percent(trust)),
            };
            Some(format!("sold to us as \"{}\"{trusted}", said.text))
        }
        Origin::Clutch(clutch) => {
            let pair = cautions::pairing(colony, clutch);
            Some(match (label.customary, copies) {
                (Customary::Het { chance, .. }, Copies::Any) => {
                    format!("{} at hatching from {pair}", het(colony, label, chance))
                }
                _ => format!("from {pair}"),
            })
        }
    }
}

fn sires(colony: &Colony, candidates: &[(Candidate, f64)]) -> String {
    let mut candidates = candidates.to_vec();
    candidates.sort_by(|a, b| b.1.total_cmp(&a.1));
    let one = |(candidate, chance): &(Candidate, f64)| {
        let who = names::sire(colony, *candidate);
        format!("{who} {}", frequency(*chance))
    };
    let list: Vec<String> = candidates.iter().map(one).collect();
    format!("its sire is in doubt: {}", list.join(", "))
}

/// `6 not showing ash from a visual ash mate (Bram) in 2024-A`.
fn own_young(colony: &Colony, label: &Label, step: &Step) -> Option<String> {
    let StepRole::Parent(mate) = step.role else { return None };
    let young = young(colony, label.gene, &step.young) + &lost(colony, label.gene, step.clutch);
    let mate = mate_phrase(colony, label.gene, mate, step.mate);
    Some(format!("{young} from {mate} in {}", colony.clutch(step.clutch).id))
}

/// The clutches of its kin that moved the chance.
fn relatives(colony: &Colony, label: &Label) -> Option<String> {
    let moved = label.steps.iter().filter(|step| !negligible(step));
    let of_kin = moved.filter(|step| !matches!(step.role, StepRole::Parent(_)));
    let clutches: Vec<&str> = of_kin.map(|step| colony.clutch(step.clutch).id.as_str()).collect();
    let own_alone = match colony.animal(label.animal).origin {
        Origin::Clutch(own) => clutches == [colony.clutch(own).id.as_str()],
        Origin::Founder => false,
    };
    match clutches.as_slice() {
        [] => None,
        // What hatched beside it is in the figure, and no news where nothing else is.
        _ if own_alone => None,
        some => Some(format!("kin in {} counted in", check_text::list(some, "and"))),
    }
}
