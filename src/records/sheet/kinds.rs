//! What a row is about, and what does not go with that.

use super::facts::{Facts, Kind};

/// What a row is about, when it does not say so itself.
pub(super) fn likely_kind(facts: &Facts) -> Option<Kind> {
    let counted = facts.number.is_some() || !facts.counts.is_empty();
    let in_clutch = facts.clutch.is_some() || facts.has_parent();
    let nothing_else = facts.looks.is_none() && facts.told.is_empty() && facts.sex.is_none();
    match (&facts.id, in_clutch) {
        (Some(_), true) => Some(Kind::Hatchling),
        (Some(_), false) => Some(Kind::Founder),
        (None, _) if counted => Some(Kind::Count),
        (None, true) if nothing_else => Some(Kind::Clutch),
        _ => None,
    }
}

/// Reports a row that is about nothing.
pub(super) fn no_kind(facts: &mut Facts) {
    if facts.clutch.is_some() || facts.has_parent() {
        facts.trouble(
            "is it one young without a name, or several?",
            "give it an id, or a number in a column for that",
        );
    } else {
        facts.trouble("names no animal and no clutch", "a row needs the one or the other");
    }
}

/// A number beside an id may only be 1.
pub(super) fn alone(facts: &mut Facts) {
    if !facts.counts.is_empty() || facts.number.is_some_and(|number| number != [0, 0, 1]) {
        facts.trouble("has both an id and a number", "an animal with a name is one");
    }
    facts.number = None;
}

/// Reports what an animal without parents cannot have; `told_so` when the row says what it is.
pub(super) fn check_founder(facts: &mut Facts, told_so: bool) {
    alone(facts);
    if let Some(fact) = facts.of_clutch.iter().find(|fact| fact.value != "\"unknown\"") {
        let reason = format!("has `{}`, and names no clutch or parents", fact.key);
        facts.trouble(reason, "give the clutch, or empty the cell");
    }
    facts.of_clutch.clear();
    let says = facts.sex.is_some()
        || facts.looks.is_some()
        || facts.hatched.is_some()
        || !facts.told.is_empty()
        || !facts.own.is_empty();
    if !says && !told_so && facts.troubles.is_empty() {
        facts.trouble(
            "has a name and nothing else",
            "a heading is named under `skip` in the mapping",
        );
    }
}

/// Reports what young that are only counted cannot have.
pub(super) fn check_count(facts: &mut Facts) {
    if facts.id.is_some() {
        facts.trouble("counts young, and has an id", "take the id or the number out");
    }
    if let Some(told) = facts.told.first() {
        let reason = format!("`{}` is said of young that are only counted", told.text);
        facts.trouble(reason, "their odds come from their parents");
    }
    if !facts.counts.is_empty() && (facts.number.is_some() || facts.looks.is_some()) {
        let help = "is it the sum? then set that column to ignored";
        facts.trouble("counts young in two ways", help);
    }
    let unnamed = facts.clutch.is_none() && !facts.has_parent();
    if unnamed && facts.troubles.is_empty() {
        facts.trouble("counts young, and names no clutch or parents", "give the clutch");
    }
}
