//! Records in words.

use crate::network::{Item, ItemKind};
use crate::records::{Colony, GeneId};

/// A record in a breeder's words: `the look of Juniper`, `the count in clutch 2024-A`.
pub fn record_name(colony: &Colony, item: &Item) -> String {
    let gene = |gene: Option<GeneId>| gene.map_or("", |gene| &colony.gene(gene).name);
    let whose = match (item.animal, item.clutch) {
        (Some(animal), clutch) => match (&colony.animal(animal).id, clutch) {
            (Some(id), _) => id.clone(),
            (None, Some(clutch)) => format!("a hatchling of {}", colony.clutch(clutch).id),
            (None, None) => "an animal".to_owned(),
        },
        (None, Some(clutch)) => format!("clutch {}", colony.clutch(clutch).id),
        (None, None) => "the colony".to_owned(),
    };
    match item.kind {
        ItemKind::Statement => format!("what was said of {whose} about {}", gene(item.gene)),
        ItemKind::OwnLook => format!("the look of {whose} at {}", gene(item.gene)),
        ItemKind::Call => format!("the call of {whose} at {}", gene(item.gene)),
        ItemKind::Either => format!("the uncertain call of {whose}"),
        ItemKind::Reading => format!("the reading of {whose} at {}", gene(item.gene)),
        ItemKind::Count => match item.gene {
            Some(_) => format!("the count in {whose} at {}", gene(item.gene)),
            None => format!("the count in {whose}"),
        },
        ItemKind::Selection => format!("how {whose} was selected"),
        ItemKind::EggLosses => format!("the egg numbers of {whose}"),
    }
}
