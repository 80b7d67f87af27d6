//! What goes into a file that exists, as changes to its text.

use super::against::{Filled, Target};
use super::draft::Base;
use super::facts::{Fact, Facts, read_value};
use super::gather::Gathered;
use super::lines::Lines;
use crate::records::edit::{CannotChange, Change, Draft, Entry, Record};
use crate::records::{Colony, Date, Look, Origin};

/// The text of the file with everything new in it.
///
/// # Errors
///
/// Why the text cannot be changed so.
pub(super) fn changed(
    text: &str,
    colony: &Colony,
    base: &Base,
    gathered: &Gathered,
    filled: &[Filled],
) -> Result<String, CannotChange> {
    let mut draft = Draft::new(text);
    let lines = Lines { name: base.look };
    for one in filled.iter().filter(|one| !gathered.left.contains_key(&one.row)) {
        let record = record(colony, one.target);
        draft.apply(&Change::Set { record, key: one.fact.key.clone(), value: entry(&one.fact) })?;
    }
    for facts in gathered.new_founders() {
        draft.apply(&Change::AddAnimal { fields: fields(lines.founder_facts(facts)) })?;
    }
    for group in gathered.groups.iter().filter(|group| gathered.goes_in(group)) {
        if colony.find_clutch(&group.id).is_some() {
            for facts in &group.young {
                add_young(&mut draft, &lines, &group.id, facts)?;
            }
            continue;
        }
        let mut all = fields(lines.clutch_facts(group).into_iter().map(|(fact, _)| fact));
        let (mut hatchlings, mut counts) = (Vec::new(), Vec::new());
        for facts in &group.young {
            for (is_count, facts) in lines.young_facts(facts) {
                let list = if is_count { &mut counts } else { &mut hatchlings };
                list.push(Entry::Table(fields(facts)));
            }
        }
        for (key, list) in [("hatchling", hatchlings), ("count", counts)] {
            if !list.is_empty() {
                all.push((key.to_string(), Entry::List(list)));
            }
        }
        draft.apply(&Change::AddClutch { fields: all })?;
    }
    Ok(draft.text().to_string())
}

fn add_young<'n, F: Fn(Look) -> &'n str>(
    draft: &mut Draft,
    lines: &Lines<'n, F>,
    clutch: &str,
    facts: &Facts,
) -> Result<(), CannotChange> {
    for (is_count, facts) in lines.young_facts(facts) {
        let (clutch, fields) = (clutch.to_string(), fields(facts));
        draft.apply(&if is_count {
            Change::AddCount { clutch, fields }
        } else {
            Change::AddHatchling { clutch, fields }
        })?;
    }
    Ok(())
}

fn record(colony: &Colony, target: Target) -> Record {
    match target {
        Target::Clutch(id) => Record::Clutch(colony.clutch(id).id.clone()),
        Target::Animal(id) => {
            let animal = colony.animal(id);
            // Only an animal that a row names is filled in.
            let name = animal.id.clone().unwrap_or_default();
            match animal.origin {
                Origin::Founder => Record::Animal(name),
                Origin::Clutch(_) => Record::Hatchling(name),
            }
        }
    }
}

fn fields(facts: impl IntoIterator<Item = Fact>) -> Vec<(String, Entry)> {
    facts.into_iter().map(|fact| (fact.key.clone(), entry(&fact))).collect()
}

/// The value of a fact; what is not TOML stays text, and the reader says what is wrong with it.
fn entry(fact: &Fact) -> Entry {
    read_value(&fact.value).map_or_else(|| Entry::Text(fact.value.clone()), of_value)
}

fn of_value(value: toml::Value) -> Entry {
    match value {
        toml::Value::String(text) => Entry::Text(text),
        toml::Value::Integer(whole) => Entry::Whole(whole),
        toml::Value::Float(number) => Entry::Number(number),
        toml::Value::Boolean(flag) => Entry::Flag(flag),
        toml::Value::Array(list) => Entry::List(list.into_iter().map(of_value).collect()),
        toml::Value::Table(table) => {
            Entry::Table(table.into_iter().map(|(key, value)| (key, of_value(value))).collect())
        }
        toml::Value::Datetime(moment) => match moment.date {
            Some(date) => Entry::Date(Date {
                year: i32::from(date.year),
                month: Some(date.month),
                day: Some(date.day),
            }),
            None => Entry::Text(moment.to_string()),
        },
    }
}
