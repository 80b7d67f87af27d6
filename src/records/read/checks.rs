//! What can only be seen across the whole file: ancestry, ages, eggs, selection, first finds.

use super::clutches::Parents;
use super::gene::Pending;
use super::observation::named;
use super::reader::Reader;
use super::roster::Roster;
use super::tree::Span;
use crate::records::{
    Animal, AnimalId, Call, Clutch, Colony, Date, GeneId, Inheritance, Look, Observation, Origin,
};

/// An animal among its own ancestors: one error for each circle.
pub(super) fn ancestry(reader: &mut Reader, roster: &Roster, parents: &[Parents]) {
    #[derive(Clone, Copy, PartialEq)]
    enum State {
        New,
        Open,
        Done,
    }
    let up = |id: AnimalId| match roster.members[id.0].origin {
        Origin::Clutch(clutch) => parents[clutch.0].named.as_slice(),
        Origin::Founder => &[],
    };
    let mut states = vec![State::New; roster.members.len()];
    for start in (0..roster.members.len()).map(AnimalId) {
        // A path of animals, each with how many of its parents were followed.
        let mut path: Vec<(AnimalId, usize)> = Vec::new();
        if states[start.0] == State::New {
            states[start.0] = State::Open;
            path.push((start, 0));
        }
        while let Some((id, followed)) = path.last_mut() {
            let Some((parent, span)) = up(*id).get(*followed).copied() else {
                states[id.0] = State::Done;
                path.pop();
                continue;
            };
            *followed += 1;
            match states[parent.0] {
                State::New => {
                    states[parent.0] = State::Open;
                    path.push((parent, 0));
                }
                State::Open => report_circle(reader, roster, &path, parent, span),
                State::Done => {}
            }
        }
    }
}

fn report_circle(
    reader: &mut Reader,
    roster: &Roster,
    path: &[(AnimalId, usize)],
    ancestor: AnimalId,
    span: Span,
) {
    let first = path.iter().position(|(id, _)| *id == ancestor).unwrap_or(0);
    let circle: Vec<String> = path[first..].iter().map(|(id, _)| roster.name(*id)).collect();
    let name = roster.name(ancestor);
    let message = format!("{name} is its own ancestor");
    let through = match circle.len() {
        1 => format!("{name} is named as a parent of the clutch it hatched in"),
        2..=12 => format!("{} comes from {name}", circle.join(" comes from ")),
        more => format!("the circle has {more} animals; it passes through {}", circle[1]),
    };
    reader.error(span, message).help(through);
}

/// Parents that hatched after their young were laid or born, where this is sure.
pub(super) fn ages(reader: &mut Reader, roster: &Roster, parents: &[Parents]) {
    for (nest, parents) in roster.nests.iter().zip(parents) {
        let Some(begun) = nest.laid.or(nest.hatched) else { continue };
        for (parent, span) in &parents.named {
            let member = &roster.members[parent.0];
            let Some(hatched) = member.hatched.filter(|hatched| not_after(begun, *hatched)) else {
                continue;
            };
            let place = reader.place(member.span);
            reader
                .error(
                    *span,
                    format!(
                        "{} hatched {hatched}, after this clutch of {begun}",
                        roster.name(*parent)
                    ),
                )
                .help("a parent is older than its young; check both dates")
                .related(place, "recorded here");
        }
    }
}

/// Whether a clutch begun at `begun` surely began no later than the parent hatched.
fn not_after(begun: Date, hatched: Date) -> bool {
    begun.latest() <= hatched.earliest()
}

/// Egg counts that do not add up.
pub(super) fn eggs(reader: &mut Reader, roster: &Roster, clutches: &[Clutch]) {
    for (nest, clutch) in roster.nests.iter().zip(clutches) {
        let (Some(eggs), Some(node)) = (clutch.eggs, nest.fields.get("eggs")) else { continue };
        let young = clutch.recorded();
        let (slugs, died) = (clutch.slugs.unwrap_or(0), clutch.died.unwrap_or(0));
        let lost = slugs.saturating_add(died);
        let sum = lost.saturating_add(young);
        let all_given = clutch.complete && clutch.slugs.is_some() && clutch.died.is_some();
        if lost > eggs {
            reader.error(
                node.span,
                format!("slugs {slugs} and died {died} make {lost}, more than the {eggs} eggs"),
            );
        } else if young > eggs {
            reader.notice(node.span, format!("{young} young from {eggs} eggs: taken as twins"));
        } else if sum > eggs || (all_given && sum < eggs) {
            reader.error(node.span, format!("the eggs do not add up: young {young}, slugs {slugs} and died {died} make {sum}, not {eggs}")).help(
                "correct a number, or write `complete = false` if young are not written down",
            );
        }
    }
}

/// Selective records that contradict what was written down.
pub(super) fn selection(reader: &mut Reader, roster: &Roster, colony: &Colony) {
    for (nest, clutch) in roster.nests.iter().zip(&colony.clutches) {
        let only = nest.fields.entry("recorded_only");
        let kept = nest.fields.entry("kept_if");
        if let (Some(_), Some(kept)) = (only, kept) {
            reader
                .error(kept.key_span, "a clutch has either `recorded_only` or `kept_if`")
                .help("`kept_if` says that all its hatchlings are written down");
        }
        if let (Some(kept), false) = (kept, clutch.complete) {
            reader
                .error(kept.key_span, "`kept_if` needs a complete clutch")
                .help("it says that all hatchlings of the clutch are written down");
        }
        let observations = clutch
            .hatchlings
            .iter()
            .map(|id| (&colony.animals[id.0].seen, roster.members[id.0].span));
        let counted = clutch.counts.iter().map(|count| {
            let Some(place) = count.seen.place else { return (&count.seen, nest.span) };
            (&count.seen, Span { start: place.start, end: place.end })
        });
        let all: Vec<(&Observation, Span)> = observations.chain(counted).collect();
        if !clutch.recorded_only.is_empty() {
            recorded_only(reader, &all, &clutch.recorded_only);
        }
        let shown = |look: Look| clutch.kept_if.contains(&look);
        if let (Some(kept), false) = (kept, clutch.kept_if.is_empty())
            && !all.iter().any(|(seen, _)| named(&seen.call).any(shown))
        {
            reader
                .error(kept.node.span, "no hatchling of this clutch shows the look it was kept for")
                .help("name the look that one of them shows, or leave `kept_if` away");
        }
    }
}

fn recorded_only(reader: &mut Reader, all: &[(&Observation, Span)], only: &[Look]) {
    let within = |looks: &[Look]| looks.iter().any(|look| only.contains(look));
    for (seen, span) in all {
        let sound = match &seen.call {
            Call::NotRecorded => false,
            Call::Looks(looks) => within(looks),
            Call::Either(list) => list.iter().all(|one| one.fit <= 0.0 || within(&one.looks)),
        };
        if !sound {
            let place =
                seen.place.map_or(*span, |place| Span { start: place.start, end: place.end });
            reader
                .error(place, "this hatchling shows none of the looks in `recorded_only`")
                .help("that key says that only hatchlings with these looks were written down");
        }
    }
}

/// Resolves `first_seen`, and the day since which a suspected gene was judged.
pub(super) fn first_seen(
    reader: &mut Reader,
    roster: &Roster,
    pending: &[Pending],
    colony: &mut Colony,
) {
    for (index, pending) in pending.iter().enumerate() {
        if colony.genes[index].inheritance != Inheritance::Unknown {
            continue;
        }
        let texts = pending.first_seen.and_then(|node| reader.texts("first_seen", node));
        for (text, span) in texts.unwrap_or_default() {
            let Some(id) = roster.find(reader, text, span) else { continue };
            if !shows(&colony.animals[id.0], GeneId(index)) {
                let message =
                    format!("{} is not recorded with a look of this gene", roster.name(id));
                reader.error(span, message).help("name the animals the look was noticed on");
            }
            if colony.genes[index].first_seen.animals.contains(&id) {
                reader.error(span, format!("{} is named twice", roster.name(id)));
                continue;
            }
            colony.genes[index].first_seen.animals.push(id);
        }
        if pending.first_seen.is_none() {
            let earliest = earliest_with(colony, GeneId(index));
            let said = match earliest {
                Some(id) => format!("first noticed on {}", roster.name(id)),
                None => "no animal is recorded with its look yet".to_string(),
            };
            let name = &colony.genes[index].name;
            reader.notice(pending.span, format!("`{name}` has no `first_seen`: {said}"));
            let first_seen = &mut colony.genes[index].first_seen;
            first_seen.animals = earliest.into_iter().collect();
            first_seen.assumed = true;
        }
        let gene = &colony.genes[index];
        if gene.judged_since.is_none() {
            let named = !gene.first_seen.assumed;
            let date = |id: &AnimalId| match named {
                true => colony.animals[id.0].hatched,
                false => there_by(colony, *id),
            };
            let dates = gene.first_seen.animals.iter().filter_map(date);
            colony.genes[index].judged_since = dates.min_by_key(|date| date.earliest());
        }
    }
}

/// Whether an animal was ever called a look of the gene.
fn shows(animal: &Animal, gene: GeneId) -> bool {
    let mut calls = std::iter::once(&animal.seen).chain(&animal.grown);
    calls.any(|seen| named(&seen.call).any(|look| look.gene == gene))
}

/// The animal with the earliest date that shows a look of the gene; those without date come last.
fn earliest_with(colony: &Colony, gene: GeneId) -> Option<AnimalId> {
    let ids = colony.animal_ids().filter(|id| shows(colony.animal(*id), gene));
    ids.min_by_key(|id| {
        let date = there_by(colony, *id).map(Date::earliest);
        // A parent was there before its young, whose date may be all that is known of it.
        (date.is_none(), date, colony.animal(*id).origin != Origin::Founder)
    })
}

/// When an animal hatched, or else the first of its own clutches whose date is known: it was there
/// by then.
fn there_by(colony: &Colony, id: AnimalId) -> Option<Date> {
    let own = colony.animal(id).hatched;
    own.or_else(|| {
        let bred = colony.clutches.iter().filter(|clutch| clutch.named_parents().any(|p| p == id));
        let dates = bred.filter_map(Clutch::date);
        dates.min_by_key(|date| date.earliest())
    })
}

/// Genes whose mutant alleles leave nothing for the wild type at the common background.
pub(super) fn background(reader: &mut Reader, span: Option<Span>, colony: &Colony) {
    for gene in colony.genes.iter().filter(|gene| gene.background.is_none()) {
        let alleles = gene.alleles.len() as f64;
        if alleles * colony.assumptions.background >= 1.0 {
            let at = span.unwrap_or(Span { start: gene.place.start, end: gene.place.end });
            let message = format!(
                "`background` leaves nothing for the wild type of the gene `{}`",
                gene.name
            );
            reader
                .error(at, message)
                .help("the frequencies of its mutant alleles must together stay below 1");
            return;
        }
    }
}
