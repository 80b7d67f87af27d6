//! From a colony back to the text of a records file.

pub(super) mod animals;
pub(super) mod clutches;
mod genes;
pub(super) mod text;

use super::{Assumptions, Call, Colony, Look, Observation, SexSystem};
use text::{Section, inline, list, number, quoted};

/// Writes a colony as a records file in TOML.
///
/// Keys stand in a fixed order; what equals its default is left out; combinations are written as
/// the looks they stand for. Reading the text back gives an equal colony, places aside, for every
/// colony that came from a file: weights of sires are the one exception, where normalising them
/// once more can move the last bit.
///
/// # Examples
///
/// ```
/// use proveout::records::{Colony, to_toml};
///
/// let colony = Colony { title: Some("The \"small\" room".to_string()), ..Colony::default() };
/// assert_eq!(to_toml(&colony), "title = \"The \\\"small\\\" room\"\n");
/// ```
pub fn to_toml(colony: &Colony) -> String {
    let mut sections = declarations(colony);
    sections.extend(animals::founders(colony));
    sections.extend(clutches::clutches(colony));
    let written: Vec<String> = sections.iter().filter_map(Section::text).collect();
    written.join("\n")
}

/// Everything that stands before the first animal: settings, assumptions, genes and what binds
/// them.
pub(super) fn declarations(colony: &Colony) -> Vec<Section> {
    let mut sections = vec![top(colony), assumptions(&colony.assumptions)];
    sections.extend(colony.genes.iter().map(|gene| genes::gene(colony, gene)));
    sections.extend(colony.linkage.iter().map(|group| genes::linkage(colony, group)));
    sections.extend(colony.combinations.iter().map(|one| genes::combination(colony, one)));
    sections.extend(colony.masks.iter().map(|mask| genes::mask(colony, mask)));
    sections
}

fn top(colony: &Colony) -> Section {
    let mut top = Section::new("");
    top.put("title", colony.title.as_deref().map(quoted));
    top.put("species", colony.species.as_deref().map(quoted));
    let system = match colony.sex_system {
        SexSystem::Xy => Some(quoted("XY")),
        SexSystem::Zw => Some(quoted("ZW")),
        SexSystem::Environmental => None,
    };
    top.put("sex_system", system);
    let size = colony.clutch_size.map(|size| {
        let both = [("mean", number(size.mean)), ("sd", number(size.sd))];
        if size.sd == 0.0 { number(size.mean) } else { inline(both) }
    });
    top.put("clutch_size", size);
    top.put("clutches_per_year", colony.clutches_per_year.map(number));
    let mature = colony
        .mature_at
        .map(|at| inline([("female", number(at.female)), ("male", number(at.male))]));
    top.put("mature_at", mature);
    top
}

fn assumptions(assumed: &Assumptions) -> Section {
    let mut section = Section::optional("[assume]");
    for key in Assumptions::KEYS {
        let value =
            assumed.get(key).filter(|value| Assumptions::default().get(key) != Some(*value));
        section.put(key, value.map(number));
    }
    section
}

/// The names of looks, as a list.
fn names(colony: &Colony, looks: &[Look]) -> String {
    list(looks.iter().map(|look| quoted(colony.gene(look.gene).look_name(look.class))))
}

/// A call as the looks it names; none at all is `normal`.
fn called(colony: &Colony, looks: &[Look]) -> String {
    if looks.is_empty() { list([quoted("normal")]) } else { names(colony, looks) }
}

/// The keys of an observation that have something to say.
fn observation(colony: &Colony, seen: &Observation) -> Vec<(&'static str, String)> {
    let mut keys = Vec::new();
    match &seen.call {
        Call::NotRecorded => {}
        Call::Looks(looks) => keys.push(("looks", called(colony, looks))),
        Call::Either(alternatives) => {
            let each = alternatives.iter().map(|one| {
                inline([("looks", called(colony, &one.looks)), ("fit", number(one.fit))])
            });
            keys.push(("either", list(each)));
        }
    }
    if !seen.unread.is_empty() {
        let genes = seen.unread.iter().map(|gene| quoted(&colony.gene(*gene).name));
        keys.push(("unread", list(genes)));
    }
    keys
}
