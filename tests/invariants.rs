//! What may not matter does not matter: laws that every answer keeps, on random small colonies.
//!
//! A law compares whole answers (see [`whole`]): the posterior of every animal at every gene, the
//! identities of every hatchling, the chances of every sire in doubt, and the log evidence.

#![allow(missing_docs)]
#![allow(clippy::unwrap_used, reason = "a test that finds nothing has to fail")]

#[path = "invariants/beliefs.rs"]
mod beliefs;
#[path = "invariants/impossible.rs"]
mod impossible;
mod judge;
#[path = "invariants/engine.rs"]
mod of_the_engine;
#[path = "invariants/records.rs"]
mod of_the_records;
mod random_colonies;
#[path = "invariants/reorder.rs"]
mod reorder;
#[path = "invariants/statements.rs"]
mod statements;
#[path = "invariants/whole.rs"]
mod whole;

use proptest::prelude::ProptestConfig;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use random_colonies::Features;

/// A few hundred roundings of a double.
const TOLERANCE: f64 = 1e-11;

fn config(cases: u32) -> ProptestConfig {
    ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(cases) }
}

/// Every kind of record, or those of autosomal genes with certain parents.
fn features(everything: bool) -> Features {
    if everything { Features::ALL } else { Features::AUTOSOMAL }
}

/// Chance for what a test does to a colony, apart from the chance that made the colony.
fn dice(seed: u64) -> ChaCha8Rng {
    ChaCha8Rng::seed_from_u64(!seed)
}
