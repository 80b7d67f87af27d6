//! The family of each gene that something is open about.

use super::overview::{Figure, Figures};
use super::page::{Parts, Section};
use super::table::written;
use crate::presentation::charts::{FAMILY_AT_MOST, family, near};
use crate::presentation::names;
use crate::questions::Proposition;
use crate::records::{AnimalId, GeneId};

/// At most so many families are drawn.
const DRAWN: usize = 6;
/// A wider picture is printed across the page, in units.
const BROAD: f64 = 720.0;

pub(super) fn section(parts: &Parts<'_>) -> Option<Section> {
    let asked = Parts::pictured(parts.colony, parts.genotypes);
    let members = parts.colony.animals.iter().filter(|animal| animal.id.is_some()).count();
    let figures =
        if members <= FAMILY_AT_MOST { whole(parts, &asked) } else { nearest(parts, &asked) };
    if figures.is_empty() {
        return None;
    }
    let html = written(&Figures { before: Vec::new(), figures });
    Some(Section { anchor: "families", heading: "Families".into(), html })
}

/// All of the colony, once for each gene.
fn whole(parts: &Parts<'_>, asked: &[Proposition]) -> Vec<Figure> {
    let mut genes: Vec<GeneId> = Vec::new();
    for one in asked.iter().chain(parts.genotypes.stories.iter().map(|story| &story.proposition)) {
        if !genes.contains(&one.gene) {
            genes.push(one.gene);
        }
    }
    let draw = |gene: &GeneId| draw(parts, *gene, None);
    genes.iter().take(DRAWN).map(draw).collect()
}

/// Those nearest to the animals of the most open questions.
fn nearest(parts: &Parts<'_>, asked: &[Proposition]) -> Vec<Figure> {
    let near = |one: &Proposition| {
        let only = near(parts.colony, &[one.animal]);
        (only.len() <= FAMILY_AT_MOST).then(|| draw(parts, one.gene, Some((one.animal, &only))))
    };
    asked.iter().filter_map(near).take(DRAWN).collect()
}

fn draw(parts: &Parts<'_>, gene: GeneId, only: Option<(AnimalId, &[AnimalId])>) -> Figure {
    let picture = family(parts.colony, parts.genotypes, gene, only.map(|(_, only)| only));
    let whose = only.map_or(String::new(), |(id, _)| {
        format!(": {} and those nearest to it", names::animal(parts.colony, id))
    });
    let id = match only {
        Some((animal, _)) => format!("family-{}-{}", gene.0, animal.0),
        None => format!("family-{}", gene.0),
    };
    Figure {
        label: format!("{}{whose}", parts.colony.gene(gene).name),
        svg: picture.inline(&id),
        class: if picture.width > BROAD { "wide broad" } else { "wide" },
    }
}
