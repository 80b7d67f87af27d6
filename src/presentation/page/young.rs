//! What hatchlings are, told in one way on all pages: by what can be seen of them now.
//!
//! What shows only when grown, or was not judged, splits an identity without putting it in doubt; it
//! is told behind the identity.

use crate::presentation::charts;
use crate::presentation::identify_text::unseen;
use crate::presentation::names;
use crate::presentation::report::{Figure, Figures, written};
use crate::presentation::wording::chance;
use crate::questions::{HatchlingAnswer, IdentifyAnswer};
use crate::records::{AnimalId, Colony};

/// Some hatchlings, each with the identities that differ in what was seen.
pub fn as_seen(young: &IdentifyAnswer, of: &[AnimalId]) -> IdentifyAnswer {
    let seen = |one: &HatchlingAnswer| HatchlingAnswer {
        identities: one.visible.iter().map(|visible| visible.identity.clone()).collect(),
        ..one.clone()
    };
    let own = young.hatchlings.iter().filter(|one| of.contains(&one.animal));
    let hatchlings = own.map(seen).collect();
    IdentifyAnswer { hatchlings, ..young.clone() }
}

/// `teasel: 998 in 1,000 (99.8 %)`, and what it may be besides that nobody has seen yet.
pub fn most_probably(colony: &Colony, one: &HatchlingAnswer) -> Option<String> {
    let top = one.visible.first()?;
    let looks = names::looks_phrase(colony, &top.identity.looks);
    let mut words = vec![format!("{looks}: {}", chance(top.identity.probability))];
    words.extend(unseen(colony, top));
    Some(words.join("; "))
}

/// What hatchlings in doubt may be, as a picture; nothing where none is in doubt.
pub fn picture(colony: &Colony, young: &IdentifyAnswer, of: &[AnimalId]) -> Option<Figure> {
    let own = as_seen(young, of);
    charts::in_doubt(&own).next()?;
    let chart = charts::hatchlings(colony, &own);
    Some(Figure { label: chart.title.clone(), svg: chart.inline("young"), class: "column" })
}

/// Pictures under a heading; nothing where there are none.
pub fn pictures(heading: &str, figures: Vec<Figure>) -> String {
    if figures.is_empty() {
        return String::new();
    }
    let figures = written(&Figures { before: Vec::new(), figures });
    format!("<h2>{heading}</h2>{figures}")
}
