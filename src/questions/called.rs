//! What was called, where no question has to be answered for it.

use super::Young;
use super::fit::{class_called, own_call};
use crate::genetics::count_sheet;
use crate::records::{AnimalId, ClutchId, Colony, GeneId};

/// The look class an animal was called at a gene, by its latest record that reads it; `None` when
/// no record does, or when it is uncertain.
pub fn look_called(colony: &Colony, animal: AnimalId, gene: GeneId) -> Option<usize> {
    own_call(colony, animal, gene)
}

/// The young of a clutch that have no id, by what they were called at a gene: normals first, unread
/// ones last.
pub fn unnamed_young(colony: &Colony, clutch: ClutchId, gene: GeneId) -> Vec<Young> {
    let of = colony.clutch(clutch);
    let mut kinds: Vec<Young> = Vec::new();
    let mut add =
        |class: Option<usize>, number: u32| match kinds.iter_mut().find(|k| k.class == class) {
            Some(kind) => kind.number += number,
            None => kinds.push(Young { class, number }),
        };
    for hatchling in of.hatchlings.iter().filter(|id| colony.animal(**id).id.is_none()) {
        add(own_call(colony, *hatchling, gene), 1);
    }
    for count in &of.counts {
        add(class_called(&count_sheet(colony, of, count), gene), count.total());
    }
    kinds.retain(|kind| kind.number > 0);
    kinds.sort_by_key(|kind| (kind.class.is_none(), kind.class));
    kinds
}
