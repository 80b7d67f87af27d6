//! The colony as it would be, written so that each mistake in it leads back to a row.

use rustc_hash::FxHashMap;

use super::against::{Filled, Target};
use super::gather::{Gathered, leave};
use super::lines::{Line, Lines};
use super::understand::Trouble;
use crate::records::write::text::Section;
use crate::records::write::{animals, clutches, declarations};
use crate::records::{AnimalId, Colony, Format, Look, Origin, Place, RecordError, read};

/// A line of the draft: where it comes from.
struct Origins {
    /// The row, or 0 for what the file has already.
    row: usize,
    /// The clutch it belongs to.
    clutch: Option<String>,
}

/// The draft as text, line by line.
#[derive(Default)]
struct Draft {
    text: String,
    lines: Vec<Origins>,
}

impl Draft {
    fn push(&mut self, text: &str, row: usize, clutch: Option<&str>) {
        for line in text.lines() {
            self.text += line;
            self.text.push('\n');
            self.lines.push(Origins { row, clutch: clutch.map(str::to_string) });
        }
    }

    fn section(&mut self, section: &Section, clutch: Option<&str>) {
        if let Some(text) = section.text() {
            self.push(&text, 0, clutch);
        }
    }

    fn own(&mut self, lines: Vec<Line>, clutch: Option<&str>) {
        for line in lines {
            // A value may run over several lines.
            for text in line.text.split('\n') {
                self.text += text;
                self.text.push('\n');
                self.lines.push(Origins { row: line.row, clutch: clutch.map(str::to_string) });
            }
        }
    }

    fn filled(&mut self, filled: &FxHashMap<Target, Vec<&Filled>>, target: Target) {
        for one in filled.get(&target).into_iter().flatten() {
            let text = format!("{} = {}", one.fact.key, one.fact.value);
            self.push(&text, one.row, one.clutch.as_deref());
        }
    }
}

/// What the file holds before the import, and the names it gives.
pub(super) struct Base<'a> {
    /// The colony of the file, when there is one.
    pub colony: Option<&'a Colony>,
    /// The declarations of a new file, in TOML.
    pub declarations: &'a str,
    /// The name of a look.
    pub look: &'a dyn Fn(Look) -> &'a str,
}

/// Reads the colony as it would be, and leaves out every row that a mistake leads back to.
///
/// Returns whether it is sound.
///
/// # Errors
///
/// The draft, and mistakes in it that lead back to no row.
pub(super) fn check(
    base: &Base,
    gathered: &mut Gathered,
    filled: &[Filled],
) -> Result<bool, (String, Vec<RecordError>)> {
    let draft = draft(base, gathered, filled);
    let Err(errors) = read(draft.text.as_bytes(), Format::Toml) else { return Ok(true) };
    let mut nowhere = Vec::new();
    let before = gathered.left.len();
    for error in &errors {
        let rows = blame(&draft, gathered, error);
        if rows.is_empty() {
            nowhere.push(error.clone());
        }
        for row in rows {
            leave(&mut gathered.left, row, trouble(error));
        }
    }
    if gathered.left.len() > before { Ok(false) } else { Err((draft.text, nowhere)) }
}

fn trouble(error: &RecordError) -> Trouble {
    let trouble = Trouble::new(error.message.clone());
    match &error.help {
        Some(help) => trouble.help(help.clone()),
        None => trouble,
    }
}

/// The rows that a mistake leads back to: that of its line, else that of the line it relates to,
/// else the new young of the clutch it stands in.
fn blame(draft: &Draft, gathered: &Gathered, error: &RecordError) -> Vec<usize> {
    let line = |place: &Place| draft.lines.get(place.line.wrapping_sub(1));
    let own = |place: &Place| line(place).map(|line| line.row).filter(|row| *row > 0);
    let related = error.related.as_ref().map(|(place, _)| place);
    if let Some(row) = own(&error.place).or_else(|| related.and_then(own)) {
        return vec![row];
    }
    let clutch = line(&error.place).and_then(|line| line.clutch.as_deref());
    let group = gathered.groups.iter().find(|group| Some(group.id.as_str()) == clutch);
    let young = group.into_iter().flat_map(|group| &group.young).map(|facts| facts.row);
    young.filter(|row| !gathered.left.contains_key(row)).collect()
}

fn draft(base: &Base, gathered: &Gathered, filled: &[Filled]) -> Draft {
    let mut draft = Draft::default();
    let left = &gathered.left;
    let lines = Lines { name: base.look };
    let mut by_target: FxHashMap<Target, Vec<&Filled>> = FxHashMap::default();
    for one in filled.iter().filter(|one| !left.contains_key(&one.row)) {
        by_target.entry(one.target).or_default().push(one);
    }
    match base.colony {
        Some(colony) => {
            for section in declarations(colony) {
                draft.section(&section, None);
            }
            for id in founders(colony) {
                draft.section(&animals::founder(colony, id), None);
                draft.filled(&by_target, Target::Animal(id));
            }
        }
        None => draft.push(base.declarations, 0, None),
    }
    for facts in gathered.new_founders() {
        draft.own(lines.founder(facts), None);
    }
    if let Some(colony) = base.colony {
        old_clutches(&mut draft, colony, gathered, &by_target, &lines);
    }
    for group in gathered.groups.iter().filter(|group| group.is_new) {
        if gathered.goes_in(group) {
            draft.own(lines.clutch(group), Some(&group.id));
            for facts in &group.young {
                draft.own(lines.young(facts), Some(&group.id));
            }
        }
    }
    draft
}

fn founders(colony: &Colony) -> impl Iterator<Item = AnimalId> + '_ {
    colony.animal_ids().filter(|id| colony.animal(*id).origin == Origin::Founder)
}

fn old_clutches<'n, F: Fn(Look) -> &'n str>(
    draft: &mut Draft,
    colony: &Colony,
    gathered: &Gathered,
    filled: &FxHashMap<Target, Vec<&Filled>>,
    lines: &Lines<'n, F>,
) {
    let parents = animals::parents(colony);
    for id in colony.clutch_ids() {
        let clutch = colony.clutch(id);
        let name = Some(clutch.id.as_str());
        draft.section(&clutches::one(colony, clutch), name);
        draft.filled(filled, Target::Clutch(id));
        for young in &clutch.hatchlings {
            let parent = parents.get(young.0).copied().unwrap_or(false);
            draft.section(&animals::hatchling(colony, *young, parent), name);
            draft.filled(filled, Target::Animal(*young));
        }
        for count in &clutch.counts {
            draft.section(&clutches::counted(colony, count), name);
        }
        let group = gathered.groups.iter().find(|group| group.id == clutch.id);
        for facts in group.into_iter().flat_map(|group| gathered.new_young(group)) {
            draft.own(lines.young(facts), name);
        }
    }
}

/// The text of a new file.
pub(super) fn new_file(base: &Base, gathered: &Gathered) -> String {
    draft(base, gathered, &[]).text
}
