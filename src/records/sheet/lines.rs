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
    fn record(&self, heading: &str, facts: &Facts, with_hatched: bool) -> Vec<Line> {
        let mut keys: Vec<Fact> = Vec::new();
        let id = facts.id.as_deref().map(|id| Fact { key: "id".into(), value: quoted(id) });
        keys.extend(id);
        keys.extend(facts.sex.clone());
        keys.extend(facts.hatched.clone().filter(|_| with_hatched));
        keys.extend(facts.looks.as_deref().map(|looks| looks_fact(looks, &self.name)));
        if !facts.told.is_empty() {
            keys.push(told_fact(&facts.told));
        }
        keys.extend(facts.own.iter().cloned());
        if let Some(number) = facts.number {
            keys.push(number_fact(number));
        }
        section(heading, facts.row, keys.into_iter().map(|fact| (fact, facts.row)))
    }

    /// `[[animal]]`.
    pub fn founder(&self, facts: &Facts) -> Vec<Line> {
        self.record("[[animal]]", facts, true)
    }

    /// `[[clutch]]` without its young.
    pub fn clutch(&self, group: &Group) -> Vec<Line> {
        let row = group.rows.first().copied().unwrap_or_default();
        let id = Fact { key: "id".into(), value: quoted(&group.id) };
        let order = ["dam", "sire", "laid", "hatched", "eggs", "slugs", "died"];
        let place = |key: &str| order.iter().position(|known| *known == key);
        let mut facts = group.facts.clone();
        facts.sort_by_key(|(fact, _)| place(&fact.key).unwrap_or(order.len()));
        section("[[clutch]]", row, std::iter::once((id, row)).chain(facts))
    }

    /// `[[clutch.hatchling]]` or `[[clutch.count]]`, of which one row may hold several.
    pub fn young(&self, facts: &Facts) -> Vec<Line> {
        if !facts.counts.is_empty() {
            let counts = facts.counts.iter().flat_map(|(looks, number)| {
                let keys = [looks_fact(looks, &self.name), number_fact(*number)];
                section("[[clutch.count]]", facts.row, keys.map(|fact| (fact, facts.row)))
            });
            return counts.collect();
        }
        let heading =
            if facts.number.is_some() { "[[clutch.count]]" } else { "[[clutch.hatchling]]" };
        self.record(heading, facts, false)
    }
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
    let mut lines = vec![
        Line { text: String::new(), row },
        Line { text: heading.to_string(), row },
    ];
    let line = |(fact, row): (Fact, usize)| Line {
        text: format!("{} = {}", fact.key, fact.value),
        row,
    };
    lines.extend(keys.into_iter().map(line));
    lines
}
