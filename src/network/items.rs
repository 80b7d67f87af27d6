//! Single records, each of which can be counted in or left out.

use super::{FactorId, VariableId};
use crate::records::{AnimalId, ClutchId, GeneId, Place};

/// What kind of record an item is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum ItemKind {
    /// A seller's statement.
    Statement,
    /// A founder's own look, for which it was bought or kept.
    OwnLook,
    /// A call on one gene.
    Call,
    /// A call between several identities.
    Either,
    /// A reading of the genotype.
    Reading,
    /// Young that were only counted.
    Count,
    /// How many eggs were lost.
    EggLosses,
    /// That only some young were written down, or the clutch was kept for a look.
    Selection,
}

/// One record, and what it does to the evidence when it is counted in.
#[derive(Clone, Debug)]
pub struct Item {
    /// What kind of record it is.
    pub kind: ItemKind,
    /// The animal it is about; `None` for counts and egg losses.
    pub animal: Option<AnimalId>,
    /// The clutch it came with; `None` for founders.
    pub clutch: Option<ClutchId>,
    /// The gene it is about; `None` for several.
    pub gene: Option<GeneId>,
    /// Where it stands.
    pub place: Place,
    pub(super) effects: Vec<Effect>,
}

/// What an item does to the evidence.
#[derive(Clone, Debug)]
pub(super) enum Effect {
    /// Multiplies the likelihood of a variable.
    Weigh(VariableId, Vec<f64>),
    /// Fills a slot.
    Fill(FactorId, Vec<f64>),
    /// Replaces the likelihood of a variable, where leaving the item out is not neutral.
    Replace(VariableId, Vec<f64>),
}
