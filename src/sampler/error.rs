//! Why a design cannot be drawn.

use crate::records::{AnimalId, ClutchId, GeneId};

/// Why a design cannot be drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum DrawError {
    /// How a gene is inherited is not declared.
    UnknownInheritance(GeneId),
    /// Unrelated stock has no living genotype at some gene.
    NoLivingStock,
    /// No genotype fits what is recorded of a founder, or hardly any does.
    ImpossibleFounder(AnimalId),
    /// The parents of a clutch cannot have such young, or hardly ever do.
    ImpossibleClutch(ClutchId),
    /// A clutch has its own descendants as parents, or a parent that is not in the colony.
    NoParents(ClutchId),
}

impl std::fmt::Display for DrawError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            DrawError::UnknownInheritance(GeneId(gene)) => {
                write!(f, "how gene {} is inherited is not declared", gene + 1)
            }
            DrawError::NoLivingStock => write!(f, "unrelated stock has no living genotype"),
            DrawError::ImpossibleFounder(AnimalId(animal)) => {
                write!(f, "no genotype fits the records of animal {}", animal + 1)
            }
            DrawError::ImpossibleClutch(ClutchId(clutch)) => {
                write!(f, "clutch {} cannot have such young", clutch + 1)
            }
            DrawError::NoParents(ClutchId(clutch)) => {
                write!(f, "clutch {} descends from itself or from nobody", clutch + 1)
            }
        }
    }
}

impl std::error::Error for DrawError {}
