//! The page of one clutch, and the list of all.

use askama::Template;

use super::address;
use super::animal::call_words;
use super::rows::{Row, listed, rows};
use crate::presentation::charts::{self, expected as picture};
use crate::presentation::report::{Figure, Figures, List, written};
use crate::presentation::wording::chance;
use crate::presentation::{cautions, names};
use crate::questions::{Caution, Expectation, GenotypesAnswer, IdentifyAnswer};
use crate::records::{AnimalId, Candidate, ClutchId, Colony, Parent};

/// A list of all clutches, the last one first.
pub fn clutches(colony: &Colony, plain: &Colony) -> String {
    let mut ids: Vec<ClutchId> = colony.clutch_ids().collect();
    let date = |id: &ClutchId| colony.clutch(*id).date().map(|date| date.earliest());
    ids.sort_by(|a, b| (date(b), b).cmp(&(date(a), a)));
    let row = |id: ClutchId| {
        let clutch = colony.clutch(id);
        let when = clutch.date().map_or(String::new(), |date| format!("{date}; "));
        Row {
            address: Some(address::clutch(plain, id)),
            what: format!("{}: {}", clutch.id, cautions::pairing(colony, id)),
            chance: None,
            how: format!("{when}{} written down", clutch.recorded()),
        }
    };
    let list: Vec<Row> = ids.into_iter().map(row).collect();
    let button =
        "<p class=\"buttons\"><a class=\"button first\" href=\"/enter\">Enter a clutch</a></p>";
    if list.is_empty() {
        return format!("{button}<p>No clutch is written down yet.</p>");
    }
    format!("{button}{}", rows(&list))
}

#[derive(Template)]
#[template(path = "facts.html")]
struct Facts {
    facts: Vec<(&'static str, String, Option<String>)>,
    buttons: Vec<(String, &'static str)>,
}

/// The page of one clutch.
pub fn clutch(
    colony: &Colony,
    plain: &Colony,
    id: ClutchId,
    carried: &GenotypesAnswer,
    young: &IdentifyAnswer,
    expected: &[Expectation],
) -> String {
    let mut html = facts(colony, plain, id);
    let own = |one: &&Caution| one.clutch == Some(id);
    let harm: Vec<Caution> = carried.cautions.iter().filter(own).cloned().collect();
    let lines = cautions::lines(colony, &harm);
    if !lines.is_empty() {
        let before = vec!["Ask a veterinarian, and mind the law where you live.".to_owned()];
        let list = written(&List { before, lines });
        html.push_str(&format!("<div class=\"mind\"><h2>Cautions</h2>{list}</div>"));
    }
    let clutch = colony.clutch(id);
    if !clutch.counts.is_empty() {
        let row = |count: &crate::records::Count| {
            let [males, females, unsexed] = count.number;
            let sexes = match (males, females) {
                (0, 0) => String::new(),
                _ => format!(": {males} male, {females} female, {unsexed} not sexed"),
            };
            Row {
                address: None,
                what: format!("{} {}", count.total(), call_words(colony, &count.seen)),
                chance: None,
                how: format!("only counted{sexes}"),
            }
        };
        let list: Vec<Row> = clutch.counts.iter().map(row).collect();
        html.push_str(&listed("Counted", &list));
    }
    if !clutch.hatchlings.is_empty() {
        let row = |animal: &AnimalId| hatchling(colony, plain, *animal, young);
        let list: Vec<Row> = clutch.hatchlings.iter().map(row).collect();
        html.push_str(&listed("Hatchlings", &list));
    }
    let own: Vec<_> = young
        .hatchlings
        .iter()
        .filter(|o| clutch.hatchlings.contains(&o.animal))
        .cloned()
        .collect();
    let own = IdentifyAnswer { hatchlings: own, ..young.clone() };
    let mut figures = Vec::new();
    if charts::in_doubt(&own).next().is_some() {
        let chart = charts::hatchlings(colony, &own);
        let label = chart.title.clone();
        figures.push(Figure { label, svg: chart.inline("young"), class: "column" });
    }
    let worth = |one: &&Expectation| one.seen > 0 || one.range[1] > 0;
    if expected.iter().any(|one| worth(&one)) {
        let chart = picture(colony, expected);
        let label = chart.title.clone();
        figures.push(Figure { label, svg: chart.inline("expected"), class: "column" });
    }
    if !figures.is_empty() {
        html.push_str("<h2>In pictures</h2>");
        html.push_str(&written(&Figures { before: Vec::new(), figures }));
    }
    html
}

fn hatchling(colony: &Colony, plain: &Colony, id: AnimalId, young: &IdentifyAnswer) -> Row {
    let animal = colony.animal(id);
    let called = call_words(colony, animal.grown.as_ref().unwrap_or(&animal.seen));
    let mut how = vec![names::sex(animal.sex).to_owned(), format!("called {called}")];
    let answer = young.hatchlings.iter().find(|one| one.animal == id);
    if let Some(top) = answer.and_then(|one| one.visible.first()) {
        let looks = names::looks_phrase(colony, &top.identity.looks);
        how.push(format!("is {looks}: {}", chance(top.identity.probability)));
    }
    how.push(animal.status.word().to_owned());
    Row {
        address: animal.id.as_ref().map(|_| address::animal(plain, id)),
        what: names::animal(colony, id),
        chance: None,
        how: how.join("; "),
    }
}

fn facts(colony: &Colony, plain: &Colony, id: ClutchId) -> String {
    let clutch = colony.clutch(id);
    let mut facts: Vec<(&'static str, String, Option<String>)> = Vec::new();
    match clutch.dam {
        Parent::Known(dam) => {
            let name = names::animal(colony, dam);
            facts.push(("dam", name, Some(address::animal(plain, dam))));
        }
        Parent::Unknown => facts.push(("dam", "unknown".into(), None)),
    }
    for (candidate, weight) in &clutch.siring.candidates {
        let share = match *weight {
            1.0 => String::new(),
            weight => format!(" ({} before the young)", chance(weight)),
        };
        let name = names::candidate(colony, *candidate) + &share;
        let page = match candidate {
            Candidate::Known(sire) => Some(address::animal(plain, *sire)),
            _ => None,
        };
        facts.push(("sire", name, page));
    }
    let dates = [("laid", clutch.laid), ("hatched", clutch.hatched)];
    facts
        .extend(dates.into_iter().filter_map(|(name, date)| Some((name, date?.to_string(), None))));
    let numbers =
        [("eggs", clutch.eggs), ("slugs", clutch.slugs), ("died in the egg", clutch.died)];
    facts.extend(numbers.into_iter().filter_map(|(name, n)| Some((name, n?.to_string(), None))));
    if !clutch.complete {
        facts.push(("written down", "not all of its young".into(), None));
    }
    if let Some(note) = &clutch.note {
        facts.push(("note", note.clone(), None));
    }
    let own = &plain.clutch(id).id;
    let more = format!("/enter?clutch={}", address::coded(own));
    written(&Facts { facts, buttons: vec![(more, "Add young, or change eggs and dates")] })
}
