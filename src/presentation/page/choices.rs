//! What there is to choose from in a colony: looks, dams, sires.

use super::widgets::Choice;
use crate::presentation::names;
use crate::records::{Animal, AnimalId, Colony, GeneId, Look, Sex, Status};

/// The looks that can be called, gene by gene, and the combinations of them.
pub fn looks(colony: &Colony, plain: &Colony) -> Vec<Choice> {
    let mut all = Vec::new();
    for gene in plain.gene_ids() {
        let declared = plain.gene(gene);
        for class in 1..=declared.looks.len() {
            let words = names::look(colony, Look { gene, class });
            let value = names::look(plain, Look { gene, class });
            all.push(Choice::new(value, words));
        }
    }
    let pairs = plain.combinations.iter().zip(&colony.combinations);
    all.extend(pairs.map(|(own, words)| {
        let looks = names::looks(colony, &words.looks).join(" + ");
        Choice::new(&own.name, &format!("{} ({looks})", words.name))
    }));
    all
}

/// The genes that can be left unread.
pub fn genes(colony: &Colony, plain: &Colony) -> Vec<Choice> {
    let one = |gene: GeneId| Choice::new(&plain.gene(gene).name, &colony.gene(gene).name);
    plain.gene_ids().map(one).collect()
}

/// The animals that can be a parent of this sex, those that are bred first.
pub fn parents(colony: &Colony, plain: &Colony, sex: Sex) -> Vec<Choice> {
    let can = |id: &AnimalId| plain.animal(*id).sex.is_none_or(|own| own == sex);
    let mut ids: Vec<AnimalId> = plain.animal_ids().filter(can).collect();
    let rank = |animal: &Animal| match animal.status {
        Status::Kept => 0,
        Status::Resting | Status::Retired => 1,
        Status::Elsewhere => 2,
        Status::Sold | Status::Dead => 3,
    };
    ids.sort_by_key(|id| rank(plain.animal(*id)));
    let choice = |id: AnimalId| {
        let own = plain.animal(id).id.as_ref()?;
        let status = plain.animal(id).status;
        let after = match status {
            Status::Kept => String::new(),
            status => format!(" ({})", status.word()),
        };
        Some(Choice::new(own, &(names::animal(colony, id) + &after)))
    };
    ids.into_iter().filter_map(choice).collect()
}

/// The sexes an animal can be recorded with.
pub fn sexes() -> [Choice; 3] {
    [Choice::new("female", "female"), Choice::new("male", "male"), Choice::new("", "not known")]
}
