//! A seller's statement about a founder whose look is uncertain is a record of its own.

use num_traits::Zero;
use proveout::inference::{Domains, JunctionTree};
use proveout::network::{ColonyNetwork, Evidence, Grouping, Item, ItemKind, assemble};
use proveout::questions::{Asked, SlipKind, conflicts};
use proveout::records::{Call, Colony, Format, read};

use crate::TOLERANCE;
use crate::judge::{judge_evidence, ln};
use crate::random_colonies::{Features, small};

fn log_evidence(net: &ColonyNetwork, evidence: &Evidence) -> f64 {
    let tree = JunctionTree::plan_for(&net.graph, &Domains::full(&net.graph), u64::MAX).unwrap();
    tree.calibrate(evidence).map_or(f64::NEG_INFINITY, |run| run.log_evidence().ln())
}

/// The colony without the statement of an item.
fn unsaid(colony: &Colony, item: &Item) -> Colony {
    let mut other = colony.clone();
    let animal = &mut other.animals[item.animal.expect("of an animal").0];
    animal.statements.retain(|told| Some(told.gene) != item.gene);
    other
}

#[test]
fn a_statement_left_out_is_one_that_was_never_made() {
    let mut compared = 0;
    let mut moved = 0;
    for (seed, features) in
        (0..300).flat_map(|seed| [(seed, Features::ALL), (seed, Features::AUTOSOMAL)])
    {
        let mut colony = small(seed, features);
        colony.animals.iter_mut().for_each(|animal| animal.believed = false);
        let net = assemble(&colony, Grouping::Apart);
        for (at, item) in net.items.iter().enumerate() {
            let doubted = |item: &Item| {
                let call = &colony.animal(item.animal.unwrap()).seen.call;
                matches!(call, Call::Either(_))
            };
            if item.kind != ItemKind::Statement || !doubted(item) {
                continue;
            }
            let exact = judge_evidence(&unsaid(&colony, item));
            let want = if exact.is_zero() { f64::NEG_INFINITY } else { ln(&exact) };
            let mut on = vec![true; net.items.len()];
            on[at] = false;
            let mut left_out = net.all_evidence();
            net.leave_out(at, &mut left_out);
            for evidence in [net.evidence_where(&on), left_out] {
                let got = log_evidence(&net, &evidence);
                let near = (got - want).abs() <= TOLERANCE * want.abs().max(1.0);
                assert!(near || got == want, "seed {seed}: {got}, but exactly {want}");
            }
            compared += 1;
            let with = log_evidence(&net, &net.all_evidence());
            moved += usize::from((with - want).abs() > 0.01);
        }
    }
    assert!(compared >= 50 && moved >= 20, "{compared} compared, {moved} moved");
}

/// A founder that may be ripple or nothing, said to be het ash; her young of two ash mates are many
/// and none is ash, which has the chance 1/2 each.
const DOUBTED: &str = "[gene.ash]\ninheritance = \"recessive\"\n\
    [gene.ripple]\ninheritance = \"dominant\"\n\
    [[animal]]\nid = \"Dam\"\nsold_as = [\"het ash\"]\n\
    either = [{ looks = [\"ripple\"], fit = 0.6 }, { looks = [], fit = 0.4 }]\n\
    [[animal]]\nid = \"Sire\"\nlooks = [\"ash\"]\n\
    [[animal]]\nid = \"Other\"\nlooks = [\"ash\"]\n\
    [[clutch]]\nid = \"K\"\ndam = \"Dam\"\nsire = \"Sire\"\n\
    [[clutch.count]]\nlooks = []\nnumber = 7\n\
    [[clutch]]\nid = \"L\"\ndam = \"Dam\"\nsire = \"Other\"\n\
    [[clutch.count]]\nlooks = []\nnumber = 7\n";

#[test]
fn a_wrong_statement_about_a_founder_of_uncertain_look_is_suspected() {
    let colony = read(DOUBTED.as_bytes(), Format::Toml).unwrap().colony;
    let answer = conflicts(&colony, &Asked::default(), 0.01).unwrap();
    let said = answer.slips.iter().find(|slip| slip.kind == SlipKind::Statement).unwrap();
    assert_eq!((said.rank, said.animal), (1, colony.find_animal("Dam")));
    let mut without = colony.clone();
    without.animals[said.animal.unwrap().0].statements.clear();
    let [with, without] = [&colony, &without].map(|colony| ln(&judge_evidence(colony)));
    assert!((said.gain - (without - with)).abs() <= TOLERANCE * with.abs(), "{}", said.gain);
    assert!(said.gain > 8.0, "14 normals are one in 2^14 of a carrier: {}", said.gain);
}
