//! Records as lines of TOML, each with the row it comes from.

use super::facts::{Fact, Facts, Told};
use super::gather::Group;
use crate::records::Look;
use crate::records::write::text::{list, quoted};

/// One line, and the row to blame for it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Line {
    pub text: String,
    pub row: usize,
}

/// `looks = […]`; none at all is normal.
pub(super) fn looks_fact<'n>(looks: &[Look], name: impl Fn(Look) -> &'n str) -> Fact {
    let names: Vec<String> = looks.iter().map(|look| quoted(name(*look))).collect();
    let names = if names.is_empty() { vec![quoted("normal")] } else { names };
    Fact { key: "looks".to_string(), value: list(names) }
}

/// `sold_as = […]`.
pub(super) fn told_fact(told: &[Told]) -> Fact {
    let texts = told.iter().map(|told| quoted(&told.text));
    Fact { key: "sold_as".to_string(), value: list(texts) }
}

/// Writes one record after another.
pub(super) struct Lines<'n, F: Fn(Look) -> &'n str> {
    /// The name of a look.
    pub name: F,
}

impl<'n, F: Fn(Look) -> &'n str> Lines<'n, F> {
    fn facts(&self, facts: &Facts, with_hatched: bool) -> Vec<Fact> {
        let mut keys: Vec<Fact> = Vec::new();
        keys.extend(facts.id.as_deref().map(id_fact));
        keys.extend(facts.sex.clone());
        keys.extend(facts.hatched.clone().filter(|_| with_hatched));
        keys.extend(facts.looks.as_deref().map(|looks| looks_fact(looks, &self.name)));
        if !facts.told.is_empty() {
            keys.push(told_fact(&facts.told));
        }
        keys.extend(facts.own.iter().cloned());
        keys.extend(facts.number.map(number_fact));
        keys
    }

    /// The keys of a founder.
    pub fn founder_facts(&self, facts: &Facts) -> Vec<Fact> {
        self.facts(facts, true)
    }

    /// The keys of a clutch without its young, each with its row.
    pub fn clutch_facts(&self, group: &Group) -> Vec<(Fact, usize)> {
        let row = group.rows.first().copied().unwrap_or_default();
        let order = ["dam", "sire", "laid", "hatched", "eggs", "slugs", "died"];
        let place = |key: &str| order.iter().position(|known| *known == key);
        let mut facts = group.facts.clone();
        facts.sort_by_key(|(fact, _)| place(&fact.key).unwrap_or(order.len()));
        facts.insert(0, (id_fact(&group.id), row));
        facts
    }

    /// The keys of each record of young that one row holds, and whether it is a count.
    pub fn young_facts(&self, facts: &Facts) -> Vec<(bool, Vec<Fact>)> {
        if facts.counts.is_empty() {
            return vec![(facts.number.is_some(), self.facts(facts, false))];
        }
        let count = |(looks, number): &(Vec<Look>, [u32; 3])| {
            (true, vec![looks_fact(looks, &self.name), number_fact(*number)])
        };
        facts.counts.iter().map(count).collect()
    }

    /// `[[animal]]`.
    pub fn founder(&self, facts: &Facts) -> Vec<Line> {
        let row = facts.row;
        section("[[animal]]", row, self.founder_facts(facts).into_iter().map(|fact| (fact, row)))
    }

    /// `[[clutch]]` without its young.
    pub fn clutch(&self, group: &Group) -> Vec<Line> {
        let row = group.rows.first().copied().unwrap_or_default();
        section("[[clutch]]", row, self.clutch_facts(group))
    }

    /// `[[clutch.hatchling]]` or `[[clutch.count]]`, of which one row may hold several.
    pub fn young(&self, facts: &Facts) -> Vec<Line> {
        let row = facts.row;
        let heading = |count| if count { "[[clutch.count]]" } else { "[[clutch.hatchling]]" };
        let records = self.young_facts(facts).into_iter();
        let lines = records.flat_map(|(count, keys)| {
            section(heading(count), row, keys.into_iter().map(|fact| (fact, row)))
        });
        lines.collect()
    }
}

fn id_fact(id: impl AsRef<str>) -> Fact {
    Fact { key: "id".to_string(), value: quoted(id.as_ref()) }
}

/// `number = 3`, or `"1.2.0"`.
fn number_fact([males, females, unsexed]: [u32; 3]) -> Fact {
    let value = match (males, females) {
        (0, 0) => unsexed.to_string(),
        _ => quoted(&format!("{males}.{females}.{unsexed}")),
    };
    Fact { key: "number".to_string(), value }
}

/// A heading with its keys, an empty line in front.
fn section(heading: &str, row: usize, keys: impl IntoIterator<Item = (Fact, usize)>) -> Vec<Line> {
    let mut lines =
        vec![Line { text: String::new(), row }, Line { text: heading.to_string(), row }];
    let line =
        |(fact, row): (Fact, usize)| Line { text: format!("{} = {}", fact.key, fact.value), row };
    lines.extend(keys.into_iter().map(line));
    lines
}
