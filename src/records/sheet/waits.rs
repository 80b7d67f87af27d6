//! Which rows must wait for others: a clutch goes in whole or not at all, and after its parents.

use rustc_hash::{FxHashMap, FxHashSet};

use super::gather::{Gathered, Group, Why, leave, row_list};
use super::understand::Trouble;
use crate::records::{Colony, nearest};

/// Leaves out, beside the rows that are wrong themselves, those that cannot go in without them.
///
/// METHOD: a clutch of which one young is left out would say that the others are all that
/// hatched. That is not what the keeper saw, so its rows wait for each other.
pub(super) fn settle(gathered: &mut Gathered, known: &FxHashSet<usize>, colony: Option<&Colony>) {
    let parents = Parents::of(gathered, colony);
    loop {
        let before = gathered.left.len();
        for group in &gathered.groups {
            whole(group, known, &mut gathered.left);
        }
        for group in &gathered.groups {
            parents.look_up(group, &gathered.ids, known, &mut gathered.left);
        }
        if gathered.left.len() == before {
            return;
        }
    }
}

/// If one row of a clutch is left out, so are the others.
fn whole(group: &Group, known: &FxHashSet<usize>, left: &mut super::gather::Left) {
    let bad: Vec<usize> = group.rows.iter().copied().filter(|row| left.contains_key(row)).collect();
    if bad.is_empty() {
        return;
    }
    let wrong = |row: &usize| left.get(row).is_some_and(|why| !why.troubles.is_empty());
    let wrong: Vec<usize> = bad.iter().copied().filter(wrong).collect();
    let waits_for = if wrong.is_empty() {
        let further = bad.iter().filter_map(|row| left.get(row)).flat_map(|why| &why.waits_for);
        let mut further: Vec<usize> = further.copied().collect();
        further.sort_unstable();
        further.dedup();
        further
    } else {
        wrong
    };
    let waits = format!("clutch `{}` waits for {}", group.id, row_list(&waits_for));
    for row in group.rows.iter().filter(|row| !known.contains(row)) {
        left.entry(*row).or_insert_with(|| Why {
            waits_for: waits_for.clone(),
            waits: waits.clone(),
            ..Why::default()
        });
    }
}

/// The rows that must be corrected before these can go in.
fn roots(rows: &[usize], left: &super::gather::Left) -> Vec<usize> {
    let mut roots: Vec<usize> = Vec::new();
    for row in rows {
        match left.get(row) {
            Some(why) if why.troubles.is_empty() => roots.extend(&why.waits_for),
            _ => roots.push(*row),
        }
    }
    roots.sort_unstable();
    roots.dedup();
    roots
}

/// Where the parents of the sheet's clutches may be found.
struct Parents {
    in_file: FxHashSet<String>,
    /// The row of each animal of the sheet.
    in_sheet: FxHashMap<String, usize>,
    names: Vec<String>,
}

impl Parents {
    fn of(gathered: &Gathered, colony: Option<&Colony>) -> Parents {
        let animals = colony.into_iter().flat_map(|colony| &colony.animals);
        let in_file: FxHashSet<String> = animals.filter_map(|animal| animal.id.clone()).collect();
        let mut in_sheet = FxHashMap::default();
        let young = gathered.groups.iter().flat_map(|group| &group.young);
        for facts in gathered.founders.iter().chain(young) {
            if let Some(id) = &facts.id {
                in_sheet.entry(id.clone()).or_insert(facts.row);
            }
        }
        let mut names: Vec<String> = in_file.iter().chain(gathered.ids.keys()).cloned().collect();
        names.sort_unstable();
        names.dedup();
        Parents { in_file, in_sheet, names }
    }

    fn look_up(
        &self,
        group: &Group,
        ids: &FxHashMap<String, Vec<usize>>,
        known: &FxHashSet<usize>,
        left: &mut super::gather::Left,
    ) {
        for (fact, row) in &group.facts {
            if !matches!(fact.key.as_str(), "dam" | "sire") || known.contains(row) {
                continue;
            }
            let name = super::facts::shown(&fact.value);
            if name == "unknown" || name == "none" || self.in_file.contains(&name) {
                continue;
            }
            match self.in_sheet.get(&name) {
                Some(at) if !left.contains_key(at) => {}
                _ => match ids.get(&name) {
                    Some(rows) => {
                        let rows = roots(rows, left);
                        let waits =
                            format!("its {} `{name}` waits for {}", fact.key, row_list(&rows));
                        left.entry(*row).or_insert_with(|| Why {
                            waits_for: rows.clone(),
                            waits,
                            ..Why::default()
                        });
                    }
                    None => leave(left, *row, self.nobody(&fact.key, &name)),
                },
            }
        }
    }

    fn nobody(&self, role: &str, name: &str) -> Trouble {
        let trouble =
            Trouble::new(format!("the {role} `{name}` is nowhere in the sheet or the file"));
        match nearest(name, self.names.iter().map(String::as_str)) {
            Some(near) => trouble.help(format!("did you mean `{near}`?")),
            None => trouble.help(
                "give it a row of its own; one that nobody here owns has the status `elsewhere`",
            ),
        }
    }
}
