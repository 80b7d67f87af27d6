//! What an answer says of its own doubts: records that may be wrong, beliefs, sires.

use std::fmt::Write;

use super::check_text::wrapped;
use super::names;
use super::wording::{chance, percent};
use crate::questions::{ClutchFit, Divided, SireAnswer};
use crate::records::Colony;

/// Every warning of an answer, in words.
pub(super) fn warnings(
    colony: &Colony,
    given: &[String],
    surprise: Option<&ClutchFit>,
    divided: &[Divided],
) -> Vec<String> {
    let mut all = given.to_vec();
    all.extend(surprise.map(|fit| {
        format!(
            "clutch {} fits the rest badly at {}: young as surprising as these come in {} of such \
             clutches, so one record may be wrong; `proveout conflicts` says which",
            colony.clutch(fit.clutch).id,
            colony.gene(fit.gene).name,
            chance(fit.tail),
        )
    }));
    all.extend(divided.iter().map(|one| belief(colony, one)));
    all
}

/// What was divided out of a belief.
fn belief(colony: &Colony, divided: &Divided) -> String {
    let total: f64 = divided.identities.iter().map(|(one, _)| one.fit).sum();
    let list: Vec<String> = divided
        .identities
        .iter()
        .map(|(one, given)| {
            format!(
                "{}: believed {}, the pairing alone gives such a call {}",
                names::looks_phrase(colony, &one.looks),
                percent(one.fit / total),
                percent(*given),
            )
        })
        .collect();
    format!(
        "what you believe of {} has the pairing in it already; that was divided out ({})",
        names::animal(colony, divided.animal),
        list.join("; "),
    )
}

/// The warnings as lines of a text.
pub(super) fn warning_lines(
    colony: &Colony,
    given: &[String],
    surprise: Option<&ClutchFit>,
    divided: &[Divided],
) -> String {
    let all = warnings(colony, given, surprise, divided);
    all.iter().map(|warning| wrapped(0, 2, &format!("Warning: {warning}"))).collect()
}

/// Who the sire is, of each clutch or hatchling in doubt.
pub(super) fn sires(colony: &Colony, answers: &[SireAnswer]) -> String {
    if answers.is_empty() {
        return String::new();
    }
    let mut text = String::from("\nWho the sire is\n");
    for answer in answers {
        let clutch = &colony.clutch(answer.clutch).id;
        let whose = match answer.hatchling {
            Some(id) => format!("{} ({clutch})", names::animal(colony, id)),
            None => clutch.clone(),
        };
        let mut candidates = answer.candidates.clone();
        candidates.sort_by(|a, b| b.2.total_cmp(&a.2));
        let _ = writeln!(text, "  {whose}");
        for (candidate, before, after) in candidates {
            let who = names::sire(colony, candidate);
            let line = format!(
                "{who}: {}; {} before the young were looked at",
                chance(after),
                percent(before)
            );
            text.push_str(&wrapped(4, 8, &line));
        }
    }
    text
}
