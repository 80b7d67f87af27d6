//! The page of one clutch, and the list of all.

use super::address;
use super::animal::call_words;
use super::facts::{Fact, harm};
use super::rows::{Row, listed, rows};
use super::young::{most_probably, picture, pictures};
use crate::presentation::charts;
use crate::presentation::report::Figure;
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

/// The page of one clutch.
pub fn clutch(
    colony: &Colony,
    plain: &Colony,
    id: ClutchId,
    carried: &GenotypesAnswer,
    young: &IdentifyAnswer,
    expected: &[Expectation],
) -> String {
    let mut html = own_facts(colony, plain, id);
    let own = |one: &&Caution| one.clutch == Some(id);
    html.push_str(&harm(colony, &carried.cautions.iter().filter(own).cloned().collect::<Vec<_>>()));
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
    let mut figures: Vec<Figure> = picture(colony, young, &clutch.hatchlings).into_iter().collect();
    let worth = |one: &&Expectation| one.seen > 0 || one.range[1] > 0;
    if expected.iter().any(|one| worth(&one)) {
        let chart = charts::expected(colony, expected);
        let label = chart.title.clone();
        figures.push(Figure { label, svg: chart.inline("expected"), class: "column" });
    }
    html + &pictures("In pictures", figures)
}

fn hatchling(colony: &Colony, plain: &Colony, id: AnimalId, young: &IdentifyAnswer) -> Row {
    let animal = colony.animal(id);
    let called = call_words(colony, animal.grown.as_ref().unwrap_or(&animal.seen));
    let mut how = vec![names::sex(animal.sex).to_owned(), format!("called {called}")];
    let answer = young.hatchlings.iter().find(|one| one.animal == id);
    if let Some(words) = answer.and_then(|one| most_probably(colony, one)) {
        how.push(format!("is {words}"));
    }
    how.push(animal.status.word().to_owned());
    Row {
        address: animal.id.as_ref().map(|_| address::animal(plain, id)),
        what: names::animal(colony, id),
        chance: None,
        how: how.join("; "),
    }
}

fn own_facts(colony: &Colony, plain: &Colony, id: ClutchId) -> String {
    let clutch = colony.clutch(id);
    let mut facts: Vec<Fact> = Vec::new();
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
    super::facts::facts(facts, vec![(more, "Add young, or change eggs and dates")])
}
