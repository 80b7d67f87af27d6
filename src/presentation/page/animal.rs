//! The page of one animal, and the list of all.

use std::fmt::Write;

use super::address;
use super::facts::{Fact, harm};
use super::rows::{Row, rows};
use super::young::{most_probably, picture, pictures};
use crate::presentation::charts::{self, FAMILY_AT_MOST, near};
use crate::presentation::names;
use crate::presentation::report::{Cell, Figure, Table, article};
use crate::presentation::wording::chance;
use crate::questions::{GenotypesAnswer, IdentifyAnswer, Story};
use crate::records::{Animal, AnimalId, Call, Colony, GeneId, Observation, Origin, Status};

/// A genotype below this chance has no row.
const LISTED: f64 = 0.005;
/// So many families are drawn on a page.
const FAMILIES: usize = 2;

/// What an animal was called, in words.
pub fn call_words(colony: &Colony, seen: &Observation) -> String {
    match &seen.call {
        Call::NotRecorded => "not recorded".to_owned(),
        Call::Looks(looks) => names::looks_phrase(colony, looks),
        Call::Either(list) => {
            let one = |one: &crate::records::Alternative| names::looks_phrase(colony, &one.looks);
            let all: Vec<String> = list.iter().map(one).collect();
            format!("uncertain: {}", all.join(", or "))
        }
    }
}

/// A list of all animals.
pub fn animals(colony: &Colony, plain: &Colony) -> String {
    let mut kept = Vec::new();
    let mut others = Vec::new();
    for id in colony.animal_ids().filter(|id| colony.animal(*id).id.is_some()) {
        let animal = colony.animal(id);
        let latest = animal.grown.as_ref().unwrap_or(&animal.seen);
        let mut how = vec![names::sex(animal.sex).to_owned(), call_words(colony, latest)];
        if let Origin::Clutch(clutch) = animal.origin {
            how.push(format!("hatched in {}", colony.clutch(clutch).id));
        }
        let is_kept = animal.status == Status::Kept;
        if !is_kept {
            how.push(animal.status.word().to_owned());
        }
        let row = Row {
            address: Some(address::animal(plain, id)),
            what: names::animal(colony, id),
            chance: None,
            how: how.join("; "),
        };
        if is_kept { kept.push(row) } else { others.push(row) }
    }
    let mut html = String::from(
        "<p class=\"buttons\"><a class=\"button\" href=\"/change\">Write down a new animal</a></p>",
    );
    for (heading, list) in [("Kept", kept), ("Others", others)] {
        if !list.is_empty() {
            let _ = write!(html, "<h2>{heading}</h2>");
            html.push_str(&rows(&list));
        }
    }
    html
}

/// The page of one animal, from the answers that were asked of it alone.
pub fn animal(
    colony: &Colony,
    plain: &Colony,
    id: AnimalId,
    carried: &GenotypesAnswer,
    young: &IdentifyAnswer,
) -> String {
    let mut html = own_facts(colony, plain, id, young);
    let own = |story: &&Story| story.proposition.animal == id;
    let stories: Vec<&Story> = carried.stories.iter().filter(own).collect();
    html.push_str(&harm(colony, &carried.cautions));
    html.push_str(&pictures("What it is", picture(colony, young, &[id]).into_iter().collect()));
    html.push_str("<h2>What it carries</h2>");
    if stories.is_empty() {
        html.push_str(
            "<p>Nothing is in doubt: it is what it looks like, or its family says so.</p>",
        );
    }
    for (at, story) in stories.iter().enumerate() {
        html.push_str(&article(colony, story, format!("q{}", at + 1)));
    }
    html.push_str(&table(colony, id, carried));
    html.push_str(&families(colony, id, carried, &stories));
    html
}

fn own_facts(colony: &Colony, plain: &Colony, id: AnimalId, young: &IdentifyAnswer) -> String {
    let animal: &Animal = colony.animal(id);
    let mut facts: Vec<Fact> = vec![("sex", names::sex(animal.sex).to_owned(), None)];
    let seen = if animal.grown.is_some() { "look at hatching" } else { "look" };
    facts.push((seen, call_words(colony, &animal.seen), None));
    if let Some(grown) = &animal.grown {
        facts.push(("look when grown", call_words(colony, grown), None));
    }
    let answer = young.hatchlings.iter().find(|one| one.animal == id);
    if let Some(words) = answer.and_then(|one| most_probably(colony, one)) {
        facts.push(("likeliest", words, None));
    }
    let told: Vec<&str> = animal.statements.iter().map(|one| one.text.as_str()).collect();
    if !told.is_empty() {
        facts.push(("sold as", told.join("; "), None));
    }
    facts.push(("now", animal.status.word().to_owned(), None));
    if let Some(date) = animal.hatched {
        facts.push(("hatched", date.to_string(), None));
    }
    if let Origin::Clutch(clutch) = animal.origin {
        let name = colony.clutch(clutch).id.clone();
        facts.push(("from clutch", name, Some(address::clutch(plain, clutch))));
    }
    for clutch in colony.clutch_ids() {
        let own = colony.clutch(clutch);
        if own.named_dam() == Some(id) || own.named_sires().any(|sire| sire == id) {
            let name = own.id.clone();
            facts.push(("parent of", name, Some(address::clutch(plain, clutch))));
        }
    }
    if let Some(note) = &animal.note {
        facts.push(("note", note.clone(), None));
    }
    let mut buttons = Vec::new();
    if let Some(own) = &plain.animal(id).id {
        buttons.push((format!("/change?id={}", address::coded(own)), "Change what is written"));
        let parent = match animal.sex {
            Some(crate::records::Sex::Male) => "sire",
            _ => "dam",
        };
        let enter = format!("/enter?{parent}={}", address::coded(own));
        buttons.push((enter, "Enter a clutch of this animal"));
    }
    super::facts::facts(facts, buttons)
}

/// Every genotype it may have.
fn table(colony: &Colony, id: AnimalId, carried: &GenotypesAnswer) -> String {
    let heads = ["Gene", "Genotype", "#Before anything was seen", "#Now"];
    let mut table = Table::new("At every gene", &heads);
    for row in carried.genotypes.iter().filter(|row| row.animal == id) {
        let mut order: Vec<usize> = (0..row.genotypes.len()).collect();
        order.sort_by(|a, b| row.posterior[*b].total_cmp(&row.posterior[*a]));
        for (place, at) in order.into_iter().enumerate() {
            if place > 0 && row.posterior[at] < LISTED {
                continue;
            }
            table.rows.push(vec![
                Cell::text(&colony.gene(row.gene).name),
                Cell::text(names::genotype(colony, row.gene, row.genotypes[at])),
                match row.prior[at] {
                    prior if prior.is_finite() => Cell::number(chance(prior), prior),
                    _ => Cell::text("not worked out"),
                },
                Cell::number(chance(row.posterior[at]), row.posterior[at]),
            ]);
        }
    }
    if table.rows.is_empty() { String::new() } else { table.html() }
}

/// The family of the genes that something is to tell of.
fn families(
    colony: &Colony,
    id: AnimalId,
    carried: &GenotypesAnswer,
    stories: &[&Story],
) -> String {
    let mut genes: Vec<GeneId> = Vec::new();
    for story in stories {
        if !genes.contains(&story.proposition.gene) {
            genes.push(story.proposition.gene);
        }
    }
    let members = near(colony, &[id]);
    if genes.is_empty() || members.len() > FAMILY_AT_MOST {
        return String::new();
    }
    let draw = |gene: &GeneId| {
        let chart = charts::family(colony, carried, *gene, Some(&members));
        let label = format!("{}: those nearest to it", colony.gene(*gene).name);
        Figure { label, svg: chart.inline(&format!("family-{}", gene.0)), class: "wide" }
    };
    pictures("Family", genes.iter().take(FAMILIES).map(draw).collect())
}
