//! Variables, factors, evidence.
//!
//! In: a [`Colony`](crate::records::Colony) and its [`Unit`](crate::genetics::Unit)s. Out: a
//! [`FactorGraph`], the [`Evidence`] on it, and the way back from variables to animals.
//! Only [`ColonyNetwork`] and the files it is assembled in know animals.

mod any_pair;
mod assemble;
mod clutches;
mod colony_network;
mod eggs;
mod evidence;
mod founders;
mod graph;
mod items;
mod parts;
mod pending;
mod selection;
mod sexes;
mod siring;

pub use assemble::{Grouping, assemble, assemble_units, assemble_within, least_bytes};
pub use colony_network::ColonyNetwork;
pub use evidence::Evidence;
pub use graph::{FactorGraph, FactorId, Source, TableId, VariableId};
pub use items::{Item, ItemKind};
pub use parts::Part;
pub use siring::SireInDoubt;
