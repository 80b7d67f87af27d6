//! Rows put together: founders, and clutches with their young; what contradicts itself is left out.

use std::collections::BTreeMap;

use rustc_hash::FxHashMap;

use super::facts::{Fact, Facts, Kind, shown};
use super::understand::Trouble;

/// Why a row is left out.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Why {
    /// What is wrong with the row itself.
    pub troubles: Vec<Trouble>,
    /// Other rows that must be settled first, when nothing is wrong with this one.
    pub waits_for: Vec<usize>,
    /// What it waits for, in words.
    pub waits: String,
}

/// Rows that are left out, by number.
pub(super) type Left = BTreeMap<usize, Why>;

/// Notes a trouble of a row, once.
pub(super) fn leave(left: &mut Left, row: usize, trouble: Trouble) {
    let why = left.entry(row).or_default();
    if !why.troubles.contains(&trouble) {
        why.troubles.push(trouble);
    }
}

/// A clutch as the rows of the sheet tell it.
#[derive(Clone, Debug, Default)]
pub(super) struct Group {
    pub id: String,
    /// Its facts, each with the first row that states it.
    pub facts: Vec<(Fact, usize)>,
    pub young: Vec<Facts>,
    /// Every row that speaks of it, but for repeated ones.
    pub rows: Vec<usize>,
    /// Whether the file does not have it yet.
    pub is_new: bool,
}

/// The sheet put together.
#[derive(Clone, Debug, Default)]
pub(super) struct Gathered {
    pub founders: Vec<Facts>,
    pub groups: Vec<Group>,
    pub left: Left,
    /// The rows that name each id.
    pub ids: FxHashMap<String, Vec<usize>>,
    /// Rows that repeat another one word for word.
    pub repeated: Vec<usize>,
}

/// Puts rows together.
pub(super) fn gather(rows: Vec<Facts>, join_unnamed: bool) -> Gathered {
    let mut gathered = Gathered::default();
    let mut rows: Vec<Facts> =
        rows.into_iter().filter(|facts| facts.kind != Some(Kind::Declaration)).collect();
    for facts in &mut rows {
        name_clutch(facts, join_unnamed);
        for trouble in &facts.troubles {
            leave(&mut gathered.left, facts.row, trouble.clone());
        }
        if let Some(id) = &facts.id {
            gathered.ids.entry(id.clone()).or_default().push(facts.row);
        }
    }
    gathered.same_ids(&rows);
    let mut index: FxHashMap<String, usize> = FxHashMap::default();
    for facts in rows {
        if gathered.repeated.contains(&facts.row) {
            continue;
        }
        match (facts.kind, &facts.clutch) {
            (Some(Kind::Founder), _) => gathered.founders.push(facts),
            (_, Some(clutch)) => {
                let at = *index.entry(clutch.clone()).or_insert_with(|| {
                    gathered.groups.push(Group {
                        id: clutch.clone(),
                        is_new: true,
                        ..Group::default()
                    });
                    gathered.groups.len() - 1
                });
                gathered.add_to_group(at, facts);
            }
            _ => {}
        }
    }
    gathered
}

/// The id of a clutch that has none: its parents and its date.
fn name_clutch(facts: &mut Facts, join: bool) {
    let in_clutch = matches!(facts.kind, Some(Kind::Hatchling | Kind::Count | Kind::Clutch));
    if !in_clutch || facts.clutch.is_some() {
        return;
    }
    if !join {
        facts.trouble(
            "names parents, and no clutch",
            "give the clutch an id, or set `unnamed_clutches` in the mapping",
        );
        return;
    }
    let parent = |name: &Option<String>| name.clone().unwrap_or_else(|| "unknown".to_string());
    let laid = facts.of_clutch.iter().find(|fact| fact.key == "laid");
    let date = facts.hatched.as_ref().or(laid).map(|fact| fact.value.replace('"', ""));
    let pair = format!("{} x {}", parent(&facts.dam), parent(&facts.sire));
    facts.clutch = Some(date.map_or(pair.clone(), |date| format!("{pair} {date}")));
}

impl Gathered {
    /// Founders that go in.
    pub fn new_founders(&self) -> impl Iterator<Item = &Facts> {
        self.founders.iter().filter(|facts| !self.left.contains_key(&facts.row))
    }

    /// Whether nothing of a clutch is left out.
    pub fn goes_in(&self, group: &Group) -> bool {
        !group.rows.iter().any(|row| self.left.contains_key(row))
    }

    /// Young of a clutch that go in.
    pub fn new_young<'g>(&self, group: &'g Group) -> impl Iterator<Item = &'g Facts> + use<'g> {
        let young: &[Facts] = if self.goes_in(group) { &group.young } else { &[] };
        young.iter()
    }

    /// One id in several rows: the same facts are taken once, different ones are reported.
    fn same_ids(&mut self, rows: &[Facts]) {
        let mut by_id: FxHashMap<&str, Vec<&Facts>> = FxHashMap::default();
        for facts in rows {
            if let Some(id) = facts.id.as_deref().filter(|_| facts.kind.is_some()) {
                by_id.entry(id).or_default().push(facts);
            }
        }
        for (id, rows) in by_id.into_iter().filter(|(_, rows)| rows.len() > 1) {
            let alike = rows.iter().all(|other| other.same_as(rows[0]));
            if alike {
                self.repeated.extend(rows[1..].iter().map(|facts| facts.row));
                continue;
            }
            for facts in &rows {
                let others = rows.iter().map(|other| other.row).filter(|row| *row != facts.row);
                let others: Vec<usize> = others.collect();
                let reason =
                    format!("`{id}` stands in {} too, with other facts", row_list(&others));
                let trouble = Trouble::new(reason)
                    .help("make them one row, or give one of the animals another id");
                leave(&mut self.left, facts.row, trouble);
            }
        }
        self.repeated.sort_unstable();
    }

    fn add_to_group(&mut self, at: usize, facts: Facts) {
        let Gathered { groups, left, repeated, .. } = self;
        let group = &mut groups[at];
        group.rows.push(facts.row);
        for fact in facts.of_clutch.iter().chain(&facts.hatched) {
            match group.facts.iter().find(|(known, _)| known.key == fact.key) {
                None => group.facts.push((fact.clone(), facts.row)),
                Some((known, row)) if known.value != fact.value => {
                    differ(left, &group.id, (known, *row), (fact, facts.row));
                }
                Some(_) => {}
            }
        }
        let same = group.young.iter().find(|other| facts.id.is_none() && other.same_as(&facts));
        match (facts.kind, same) {
            (Some(Kind::Clutch), _) | (None, _) => {}
            (Some(Kind::Count | Kind::Hatchling), Some(other)) => {
                if facts.copy.is_empty() {
                    let reason = format!("counts the same young as row {}", other.row);
                    let trouble = Trouble::new(reason)
                        .help("take one out, or add up the numbers if there are as many again");
                    leave(left, facts.row, trouble);
                } else {
                    repeated.push(facts.row);
                }
            }
            _ => group.young.push(facts),
        }
    }
}

fn differ(left: &mut Left, clutch: &str, known: (&Fact, usize), other: (&Fact, usize)) {
    for ((here, row), (there, elsewhere)) in [(other, known), (known, other)] {
        let trouble = Trouble::new(format!(
            "`{}` of clutch `{clutch}` is {} here and {} in row {elsewhere}",
            here.key,
            shown(&here.value),
            shown(&there.value),
        ));
        leave(left, row, trouble);
    }
}

/// `row 3`, `rows 3 and 4`, `rows 3, 4, 5 and 8 more`.
pub(super) fn row_list(rows: &[usize]) -> String {
    let words: Vec<String> = rows.iter().map(usize::to_string).collect();
    match words.as_slice() {
        [] => "no row".to_string(),
        [only] => format!("row {only}"),
        [first, second] => format!("rows {first} and {second}"),
        [first @ .., last] if first.len() < 6 => format!("rows {} and {last}", first.join(", ")),
        many => format!("rows {} and {} more", many[..5].join(", "), many.len() - 5),
    }
}
