//! Rows compared with the file they go into: known already, new, or contradicting it.

use rustc_hash::FxHashSet;

use super::facts::{Fact, Facts, Told, read_value, shown};
use super::gather::{Gathered, Group, leave};
use super::understand::Trouble;
use crate::records::write::text::Section;
use crate::records::write::{animals, clutches};
use crate::records::{
    Animal, AnimalId, Call, ClutchId, Colony, Count, GeneId, Look, Observation, Origin, Says, Sex,
};

/// A record of the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Target {
    Animal(AnimalId),
    Clutch(ClutchId),
}

/// A key that the file lacks and a row gives.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Filled {
    pub row: usize,
    /// The record of the file that gets it.
    pub target: Target,
    pub fact: Fact,
    /// The clutch it waits with.
    pub clutch: Option<String>,
}

/// What the comparison found.
#[derive(Clone, Debug, Default)]
pub(super) struct Compared {
    pub filled: Vec<Filled>,
    /// Rows whose facts are all in the file.
    pub known: FxHashSet<usize>,
}

/// Takes out of `gathered` what the file has already, and reports what contradicts it.
pub(super) fn compare(colony: &Colony, gathered: &mut Gathered) -> Compared {
    let mut compared = Compared::default();
    let parents = animals::parents(colony);
    let file = File { colony, parents };
    let founders = std::mem::take(&mut gathered.founders);
    for facts in founders {
        match file.animal(&facts) {
            None => gathered.founders.push(facts),
            Some(id) => file.one_animal(gathered, &mut compared, id, &facts, None),
        }
    }
    let mut groups = std::mem::take(&mut gathered.groups);
    for group in &mut groups {
        let clutch = colony.find_clutch(&group.id);
        group.is_new = clutch.is_none();
        file.one_group(gathered, &mut compared, clutch, group);
    }
    gathered.groups = groups;
    compared
}

struct File<'c> {
    colony: &'c Colony,
    parents: Vec<bool>,
}

/// What the file says of one fact.
enum Found {
    Same,
    Absent,
    Other(String),
}

impl File<'_> {
    fn animal(&self, facts: &Facts) -> Option<AnimalId> {
        self.colony.find_animal(facts.id.as_deref()?)
    }

    fn section(&self, id: AnimalId) -> Section {
        match self.colony.animal(id).origin {
            Origin::Founder => animals::founder(self.colony, id),
            Origin::Clutch(_) => {
                let parent = self.parents.get(id.0).copied().unwrap_or(false);
                animals::hatchling(self.colony, id, parent)
            }
        }
    }

    fn one_animal(
        &self,
        gathered: &mut Gathered,
        compared: &mut Compared,
        id: AnimalId,
        facts: &Facts,
        clutch: Option<&str>,
    ) {
        let animal = self.colony.animal(id);
        let name = facts.id.as_deref().unwrap_or_default();
        let of = |key: &str, there: &str, here: &str| {
            Trouble::new(format!("`{key}` of `{name}` is {there} in the file, and {here} here"))
                .help("correct the one or the other; nothing is overwritten")
        };
        let mut troubles = Vec::new();
        if let Some(trouble) = self.other_origin(animal, facts, clutch) {
            troubles.push(trouble);
        }
        let founder = animal.origin == Origin::Founder;
        let section = self.section(id);
        let hatched = facts.hatched.as_ref().filter(|_| clutch.is_none());
        let mut missing = Vec::new();
        for fact in facts.sex.iter().chain(hatched).chain(&facts.own) {
            match self.fact(animal, &section, fact) {
                Found::Same => {}
                Found::Absent if founder || fact.key != "hatched" => missing.push(fact.clone()),
                Found::Absent => troubles.push(of("hatched", "not given", &shown(&fact.value))),
                Found::Other(there) => troubles.push(of(&fact.key, &there, &shown(&fact.value))),
            }
        }
        if let Some(looks) = &facts.looks {
            match self.looks(animal, looks) {
                Found::Same => {}
                Found::Absent => missing.push(self.looks_fact(looks)),
                Found::Other(there) => troubles.push(of("looks", &there, &self.words(looks))),
            }
        }
        if !facts.told.is_empty() {
            let here = told_fact(&facts.told);
            let said = animal.statements.iter().map(|told| (told.gene, told.says));
            if founder && animal.statements.is_empty() {
                missing.push(here);
            } else if !same_told(&facts.told, said) {
                let there: Vec<&str> = animal.statements.iter().map(|t| t.text.as_str()).collect();
                let there = if there.is_empty() { "not given".into() } else { there.join(", ") };
                troubles.push(of("sold_as", &there, &shown(&here.value)));
            }
        }
        if missing.is_empty() && troubles.is_empty() {
            compared.known.insert(facts.row);
        }
        for trouble in troubles {
            leave(&mut gathered.left, facts.row, trouble);
        }
        let clutch = clutch.map(str::to_string);
        compared.filled.extend(missing.into_iter().map(|fact| Filled {
            row: facts.row,
            target: Target::Animal(id),
            fact,
            clutch: clutch.clone(),
        }));
    }

    fn other_origin(
        &self,
        animal: &Animal,
        facts: &Facts,
        clutch: Option<&str>,
    ) -> Option<Trouble> {
        let name = facts.id.as_deref().unwrap_or_default();
        match (animal.origin, clutch) {
            (Origin::Founder, Some(clutch)) => Some(Trouble::new(format!(
                "`{name}` has no parents in the file, and hatched in `{clutch}` here"
            ))),
            (Origin::Clutch(id), Some(clutch)) if self.colony.clutch(id).id != clutch => {
                let there = &self.colony.clutch(id).id;
                Some(Trouble::new(format!(
                    "`{name}` hatched in `{there}` in the file, and in `{clutch}` here"
                )))
            }
            (Origin::Clutch(id), None) if !facts.told.is_empty() => {
                let there = &self.colony.clutch(id).id;
                Some(Trouble::new(format!(
                    "`{}` is said of `{name}`, which hatched in `{there}` in the file",
                    facts.told[0].text
                )))
            }
            _ => None,
        }
    }

    fn fact(&self, animal: &Animal, section: &Section, fact: &Fact) -> Found {
        let word = |known: Option<&str>| match known {
            None => Found::Absent,
            Some(known) if known == shown(&fact.value) => Found::Same,
            Some(known) => Found::Other(known.to_string()),
        };
        match fact.key.as_str() {
            "sex" => word(animal.sex.map(|sex| if sex == Sex::Male { "male" } else { "female" })),
            "hatched" => word(animal.hatched.map(|date| date.to_string()).as_deref()),
            // The state that is taken when none is written contradicts nothing.
            "status" if animal.status.word() == shown(&fact.value) => Found::Same,
            _ => in_section(section, fact),
        }
    }

    fn looks(&self, animal: &Animal, looks: &[Look]) -> Found {
        let calls = std::iter::once(&animal.seen).chain(&animal.grown);
        let mut there = None;
        for seen in calls {
            match &seen.call {
                Call::NotRecorded => {}
                Call::Looks(known) if same_looks(known, looks) => return Found::Same,
                Call::Looks(known) => there = there.or(Some(self.words(known))),
                Call::Either(_) => there = there.or(Some("uncertain".to_string())),
            }
        }
        there.map_or(Found::Absent, Found::Other)
    }

    fn words(&self, looks: &[Look]) -> String {
        let name = |look: &Look| self.colony.gene(look.gene).look_name(look.class);
        let words: Vec<&str> = looks.iter().map(name).collect();
        if words.is_empty() { "normal".to_string() } else { words.join(" + ") }
    }

    fn looks_fact(&self, looks: &[Look]) -> Fact {
        super::lines::looks_fact(looks, |look| self.colony.gene(look.gene).look_name(look.class))
    }

    fn one_group(
        &self,
        gathered: &mut Gathered,
        compared: &mut Compared,
        clutch: Option<ClutchId>,
        group: &mut Group,
    ) {
        let id = group.id.clone();
        if let Some(clutch) = clutch {
            self.clutch_facts(gathered, compared, clutch, group);
        }
        let clutch = clutch.map(|id| self.colony.clutch(id));
        let mut counts: Vec<&Count> = clutch.map_or(Vec::new(), |c| c.counts.iter().collect());
        let mut unnamed: Vec<AnimalId> = clutch.map_or(Vec::new(), |clutch| {
            let unnamed = |id: &AnimalId| self.colony.animal(*id).id.is_none();
            clutch.hatchlings.iter().copied().filter(unnamed).collect()
        });
        let mut new = Vec::new();
        for facts in std::mem::take(&mut group.young) {
            if facts.id.is_some() {
                match self.animal(&facts) {
                    Some(animal) => {
                        self.one_animal(gathered, compared, animal, &facts, Some(&id));
                    }
                    None => new.push(facts),
                }
            } else if self.take_young(&mut counts, &mut unnamed, &facts) {
                compared.known.insert(facts.row);
            } else {
                new.push(facts);
            }
        }
        for facts in new.iter().filter(|facts| facts.number.is_some()) {
            let other = counts.iter().find(|count| self.is_count(count, facts));
            if let Some(other) = other {
                let there = other.total();
                let here: u32 = facts.number.iter().flatten().sum();
                let trouble = Trouble::new(format!(
                    "clutch `{id}` has {there} such young in the file, and {here} here"
                ));
                leave(&mut gathered.left, facts.row, trouble);
            }
        }
        group.young = new;
    }

    /// Whether the file has such young already; each of its counts stands for one row.
    fn take_young(
        &self,
        counts: &mut Vec<&Count>,
        unnamed: &mut Vec<AnimalId>,
        facts: &Facts,
    ) -> bool {
        let Some(number) = facts.number else {
            let wanted = |id: &AnimalId| {
                let section = self.section(*id);
                let same = |fact: &Fact| matches!(in_section(&section, fact), Found::Same);
                let keys = facts.own.len() + facts.sex.iter().len() + facts.looks.iter().len();
                section.keys.len() == keys
                    && facts.own.iter().chain(&facts.sex).all(same)
                    && seen_same(&self.colony.animal(*id).seen, facts)
            };
            let found = unnamed.iter().position(wanted);
            return found.is_some_and(|at| {
                unnamed.remove(at);
                true
            });
        };
        let same = |count: &&Count| count.number == number && self.is_count(count, facts);
        let found = counts.iter().position(same);
        found.is_some_and(|at| {
            counts.remove(at);
            true
        })
    }

    /// Whether a row counts young of the same look, however many.
    fn is_count(&self, count: &Count, facts: &Facts) -> bool {
        let section = clutches::counted(self.colony, count);
        let same = |fact: &Fact| matches!(in_section(&section, fact), Found::Same);
        let keys = facts.own.len() + facts.looks.iter().len() + 1;
        section.keys.len() == keys && facts.own.iter().all(same) && seen_same(&count.seen, facts)
    }

    fn clutch_facts(
        &self,
        gathered: &mut Gathered,
        compared: &mut Compared,
        id: ClutchId,
        group: &Group,
    ) {
        let clutch = self.colony.clutch(id);
        let section = clutches::one(self.colony, clutch);
        let told: FxHashSet<usize> = group.facts.iter().map(|(_, row)| *row).collect();
        let mut changed = FxHashSet::default();
        for (fact, row) in &group.facts {
            let found = match in_section(&section, fact) {
                // Who sired a clutch is not filled in beside what the file says of it.
                Found::Absent if fact.key == "sire" && fact.value == "\"unknown\"" => Found::Same,
                Found::Absent if fact.key == "sire" => Found::Other("not known".to_string()),
                found => found,
            };
            match found {
                Found::Same => continue,
                Found::Absent => compared.filled.push(Filled {
                    row: *row,
                    target: Target::Clutch(id),
                    fact: fact.clone(),
                    clutch: Some(group.id.clone()),
                }),
                Found::Other(there) => {
                    let trouble = Trouble::new(format!(
                        "`{}` of clutch `{}` is {there} in the file, and {} here",
                        fact.key,
                        group.id,
                        shown(&fact.value)
                    ));
                    leave(&mut gathered.left, *row, trouble);
                }
            }
            changed.insert(*row);
        }
        let young = |row: &usize| group.young.iter().any(|facts| facts.row == *row);
        let unchanged = |row: &&usize| !told.contains(row) || !changed.contains(row);
        let rows = group.rows.iter().filter(unchanged).filter(|row| !young(row));
        compared.known.extend(rows.copied());
    }
}

fn in_section(section: &Section, fact: &Fact) -> Found {
    match section.keys.iter().find(|(key, _)| *key == fact.key) {
        None => Found::Absent,
        Some((_, value)) if same_value(value, &fact.value) => Found::Same,
        Some((_, value)) => Found::Other(shown(value)),
    }
}

/// Whether two values in TOML are the same, but for the last bits of a number.
fn same_value(one: &str, other: &str) -> bool {
    one == other
        || read_value(one).zip(read_value(other)).is_some_and(|(one, other)| alike(&one, &other))
}

fn alike(one: &toml::Value, other: &toml::Value) -> bool {
    use toml::Value::{Array, Float, Integer, Table};
    let near = |a: f64, b: f64| (a - b).abs() <= 1e-12 * a.abs().max(b.abs());
    match (one, other) {
        (Float(a), Float(b)) => near(*a, *b),
        (Float(a), Integer(b)) | (Integer(b), Float(a)) => near(*a, *b as f64),
        (Array(a), Array(b)) => a.len() == b.len() && a.iter().zip(b).all(|(a, b)| alike(a, b)),
        (Table(a), Table(b)) => {
            let same = |(key, a): (&String, _)| b.get(key).is_some_and(|b| alike(a, b));
            a.len() == b.len() && a.iter().all(same)
        }
        (one, other) => one == other,
    }
}

fn seen_same(seen: &Observation, facts: &Facts) -> bool {
    match (&seen.call, &facts.looks) {
        (Call::Looks(known), Some(looks)) => same_looks(known, looks),
        (Call::NotRecorded | Call::Either(_), None) => true,
        _ => false,
    }
}

fn same_looks(one: &[Look], other: &[Look]) -> bool {
    one.len() == other.len() && one.iter().all(|look| other.contains(look))
}

fn same_told(told: &[Told], known: impl Iterator<Item = (GeneId, Says)> + Clone) -> bool {
    let here: Vec<&(GeneId, Says)> = told.iter().flat_map(|told| &told.about).collect();
    here.len() == known.clone().count() && known.clone().all(|known| here.contains(&&known))
}

fn told_fact(told: &[Told]) -> Fact {
    super::lines::told_fact(told)
}
