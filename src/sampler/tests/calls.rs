use super::*;
use crate::records::ReadingKind;

const N: usize = 8000;

/// A clutch of a carrier of each dominant gene and a normal mate: each gene shows in half.
fn halves(declarations: &str, alleles: &[&str], count: &str) -> String {
    let looks: Vec<_> = alleles.iter().map(|look| format!("\"{look}\"")).collect();
    format!(
        "[assume]\n{PURE}{declarations}\n\
         [[animal]]\nid = \"d\"\nsex = \"female\"\nlooks = [{}]\n\
         [[animal]]\nid = \"s\"\nsex = \"male\"\nlooks = []\n{}",
        looks.join(", "),
        counted("d", "sire = \"s\"", "", N).replace("looks = []\nnumber", count)
    )
}

const X: &str = "[gene.x]\ninheritance = \"dominant\"\n";
const XY: &str = "[gene.x]\ninheritance = \"dominant\"\n[gene.y]\ninheritance = \"dominant\"\n";
const PLAIN: &str = "looks = []\nnumber";

#[test]
fn penetrance_hides_a_look_as_often_as_declared() {
    let gene = format!("{X}penetrance = 0.7\n");
    let (colony, truth) = drawn(&halves(&gene, &["x"], PLAIN), 1);
    share(written(&colony, &["x"]), N, 0.35);
    share(truly(&truth, 0, |genotype| genotype.mutant_copies() == 1), N, 0.5);
    let gene = format!("{X}penetrance = {{ \"+/x\" = 0.4 }}\n");
    let (colony, _) = drawn(&halves(&gene, &["x"], PLAIN), 2);
    share(written(&colony, &["x"]), N, 0.2);
    let gene = format!("{X}penetrance = \"unknown\"\n");
    let (colony, truth) = drawn(&halves(&gene, &["x"], PLAIN), 3);
    let chance = truth.penetrance[0].unwrap();
    assert!((0.5..=1.0).contains(&chance));
    share(written(&colony, &["x"]), N, chance / 2.0);
}

#[test]
fn one_misread_goes_to_every_other_class_alike() {
    let gene = "[gene.x]\ninheritance = \"incomplete dominant\"\nmisread = 0.3\n";
    // The dam is called x and may be anything: what the young are called is what counts.
    let (colony, truth) = drawn(&halves(gene, &["x"], PLAIN).replace("misread = 0\n", ""), 4);
    let normal = truly(&truth, 0, |genotype| genotype.mutant_copies() == 0);
    let single = N as f64 - normal;
    let expected = |own: f64, other: f64| (0.7 * own + 0.15 * other) / N as f64;
    share(written(&colony, &[]), N, expected(normal, single));
    share(written(&colony, &["x"]), N, expected(single, normal));
    share(written(&colony, &["super x"]), N, 0.15);
}

#[test]
fn misread_told_apart_misses_imagines_and_confuses() {
    let gene = "[gene.x]\ninheritance = \"incomplete dominant\"\n\
                misread = { missed = 0.2, imagined = 0.1, confused = 0.3 }\n";
    let (colony, truth) = drawn(&halves(gene, &["x"], PLAIN), 5);
    let normal = truly(&truth, 0, |genotype| genotype.mutant_copies() == 0) / N as f64;
    let single = 1.0 - normal;
    share(written(&colony, &[]), N, 0.9 * normal + 0.2 * single);
    share(written(&colony, &["x"]), N, 0.05 * normal + 0.5 * single);
    share(written(&colony, &["super x"]), N, 0.05 * normal + 0.3 * single);
}

#[test]
fn a_recorded_look_hides_a_gene() {
    let mask = format!("{XY}[[mask]]\nlook = \"x\"\nhides = [\"y\"]\n");
    let (colony, truth) = drawn(&halves(&mask, &["x", "y"], PLAIN), 6);
    assert_eq!(written(&colony, &["x", "y"]), 0.0);
    share(written(&colony, &["x"]), N, 0.5);
    share(written(&colony, &["y"]), N, 0.25);
    share(truly(&truth, 1, |genotype| genotype.mutant_copies() == 1), N, 0.5);
}

#[test]
fn masks_act_on_what_is_recorded_and_need_all_looks_of_a_combination() {
    let three = "[gene.z]\ninheritance = \"dominant\"\n[[combination]]\nname = \"both\"\n\
                 looks = [\"x\", \"y\"]\n[[mask]]\nlook = \"both\"\nhides = [\"z\"]\n";
    let (colony, _) = drawn(&halves(&format!("{XY}{three}"), &["x", "y"], PLAIN), 7);
    share(written(&colony, &["x", "y"]), N, 0.25);
    // The dam's z is hidden, so she need not be clear of it; with no background she is.
    assert_eq!(written(&colony, &["z"]), 0.0);
    let (colony, _) = drawn(
        &halves(&format!("{XY}{three}misread = 0.5"), &[], PLAIN)
            .replace("[gene.z]\ninheritance", "[gene.z]\nmisread = 1\ninheritance")
            .replace("hides = [\"z\"]\nmisread = 0.5", "hides = [\"z\"]")
            .replace(
                "id = \"d\"\nsex = \"female\"\nlooks = []",
                "id = \"d\"\nsex = \"female\"\nsold_as = [\"x\", \"y\"]",
            )
            .replace("id = \"s\"\nsex = \"male\"\nlooks = []", "id = \"s\"\nsex = \"male\""),
        8,
    );
    // Every z is imagined, but for the quarter that is called x and y.
    share(written(&colony, &["x", "y"]), N, 0.25);
    share(written(&colony, &["z"]), N, 0.25);
    assert_eq!(written(&colony, &[]), 0.0);
}

#[test]
fn a_hidden_look_is_called_as_normal_is() {
    let genes = "[gene.x]\ninheritance = \"dominant\"\n[gene.y]\ninheritance = \"dominant\"\n\
                 names = { one_copy = \"why\" }\n[[mask]]\nlook = \"x\"\nhides = [\"why\"]\n";
    let (colony, _) = drawn(
        &halves(genes, &["x"], PLAIN).replace(
            "id = \"s\"\nsex = \"male\"\nlooks = []",
            "id = \"s\"\nsex = \"male\"\nlooks = [\"why\"]",
        ),
        9,
    );
    share(written(&colony, &["x"]), N, 0.5);
    share(written(&colony, &["why"]), N, 0.25);
    assert_eq!(written(&colony, &["x", "why"]), 0.0);
}

#[test]
fn unread_genes_young_animals_and_early_clutches_name_nothing() {
    let unread = halves(X, &["x"], "looks = []\nunread = [\"x\"]\nnumber");
    assert_eq!(written(&drawn(&unread, 10).0, &[]), N as f64);
    let adult = halves(&format!("{X}from_age = \"adult\"\n"), &["x"], PLAIN);
    assert_eq!(written(&drawn(&adult, 11).0, &[]), N as f64);
    let since = halves(&format!("{X}judged_since = 2020-01-01\n"), &["x"], PLAIN);
    let early = since.replace("id = \"c\"", "id = \"c\"\nhatched = 2019-12-31");
    assert_eq!(written(&drawn(&early, 12).0, &[]), N as f64);
    let late = since.replace("id = \"c\"", "id = \"c\"\nhatched = 2020-12-31");
    share(written(&drawn(&late, 13).0, &["x"]), N, 0.5);
    let not_recorded = halves(X, &["x"], "number");
    let (colony, _) = drawn(&not_recorded, 14);
    assert_eq!(colony.clutches[0].counts[0].seen.call, Call::NotRecorded);
}

#[test]
fn a_grown_hatchling_is_judged_for_what_young_ones_are_not() {
    let young =
        |n| format!("[[clutch.hatchling]]\nid = \"h{n}\"\nlooks = []\ngrown = {{ looks = [] }}\n");
    let all: String = (0..1000).map(young).collect();
    let text = halves(&format!("{X}from_age = \"adult\"\n"), &["x"], PLAIN) + &all;
    let (colony, _) = drawn(&text, 15);
    let named = |call: &Call| matches!(call, Call::Looks(looks) if !looks.is_empty());
    let hatchlings = &colony.animals[2..];
    assert!(hatchlings.iter().all(|animal| !named(&animal.seen.call)));
    let later = hatchlings.iter().filter(|animal| named(&animal.grown.as_ref().unwrap().call));
    share(later.count() as f64, 1000, 0.5);
}

/// The likelihood of an uncertain record is the sum of fit times the chance of each plain call:
/// here each list is counted, and compared with that sum over the true genotypes.
#[test]
fn an_uncertain_call_is_written_as_often_as_its_likelihood_says() {
    let doubt = "either = [{ looks = [\"x\"], fit = 0.7 }, { looks = [\"y\"], fit = 0.3 }]\nnumber";
    let (colony, truth) = drawn(&halves(XY, &["x", "y"], doubt), 16);
    let clutch = &colony.clutches[0];
    let mut lists = [0.0; 2];
    for count in &clutch.counts {
        let number = f64::from(count.total());
        if let Call::Either(list) = &count.seen.call {
            let likelier = list.iter().max_by(|a, b| a.fit.total_cmp(&b.fit)).unwrap();
            assert_eq!((list.len(), likelier.fit, likelier.looks.len()), (2, 0.7, 1));
            lists[likelier.looks[0].gene.0] += number;
        }
    }
    let only = |one: usize, other: usize| {
        let young = truth.clutches[0].counted.iter().flatten();
        let has =
            |genome: &super::super::Genome, gene| genome.genotype(GeneId(gene)).mutant_copies();
        young.filter(|(genome, _)| has(genome, one) == 1 && has(genome, other) == 0).count() as f64
    };
    let (x, y) = (only(0, 1), only(1, 0));
    share(lists[0], N, (0.7 * x + 0.3 * y) / N as f64);
    share(lists[1], N, (0.3 * x + 0.7 * y) / N as f64);
    assert_eq!(lists[0] + lists[1], x + y, "a call off the circle is plain");
    share(written(&colony, &["x", "y"]), N, 0.25);
}

#[test]
fn a_doubt_that_would_change_what_is_hidden_is_written_plainly() {
    let masked = format!("{XY}[[mask]]\nlook = \"x\"\nhides = [\"y\"]\n");
    let doubt = "either = [{ looks = [\"x\"], fit = 0.7 }, { looks = [], fit = 0.3 }]\nnumber";
    let (colony, _) = drawn(&halves(&masked, &["x", "y"], doubt), 17);
    share(written(&colony, &["x"]), N, 0.5);
    share(written(&colony, &["y"]), N, 0.25);
}

#[test]
fn readings_are_right_as_often_as_they_claim() {
    let young = |n| {
        format!(
            "[[clutch.hatchling]]\nid = \"h{n}\"\nreadings = [{{ gene = \"x\", result = \"+/+\", reliability = 0.9 }}, \
         {{ gene = \"x\", likelihood = {{ \"+/+\" = 6, \"+/x\" = 2, \"x/x\" = 2 }} }}]\n"
        )
    };
    let all: String = (0..2000).map(young).collect();
    let (colony, truth) = drawn(&(halves(X, &["x"], PLAIN) + &all), 18);
    let mut right = [0.0; 2];
    for (animal, genome) in colony.animals.iter().zip(&truth.animals).skip(2) {
        for (reading, right) in animal.readings.iter().zip(&mut right) {
            let found = match &reading.kind {
                ReadingKind::Result { genotype, .. } => *genotype,
                ReadingKind::Likelihood(list) => {
                    assert_eq!(list.len(), 3);
                    list.iter().max_by(|a, b| a.1.total_cmp(&b.1)).unwrap().0
                }
            };
            *right += f64::from(found == genome.genotype(GeneId(0)));
        }
    }
    share(right[0], 2000, 0.9);
    share(right[1], 2000, 0.6);
}

#[test]
fn selected_hatchlings_all_show_what_they_were_recorded_for() {
    let only = halves(&format!("{X}penetrance = 0.5\n"), &["x"], "looks = [\"x\"]\nnumber")
        .replace("id = \"c\"", "id = \"c\"\nrecorded_only = [\"x\"]");
    let (colony, truth) = drawn(&only, 19);
    assert_eq!(written(&colony, &["x"]), N as f64);
    assert_eq!(truly(&truth, 0, |genotype| genotype.mutant_copies() == 1), N as f64);
}

#[test]
fn a_clutch_kept_for_a_look_has_it_at_least_once() {
    // Two young of which at least one shows: one does in 2/3, both in 1/3.
    let kept = halves(X, &["x"], PLAIN)
        .replace("8000", "2")
        .replace("looks = []\nnumber", "looks = [\"x\"]\nnumber");
    let kept = kept.replace("id = \"c\"", "id = \"c\"\nkept_if = [\"x\"]");
    let mut both = 0.0;
    for seed in 0..1000 {
        let (colony, _) = drawn(&kept, seed);
        let shown = written(&colony, &["x"]);
        assert!(shown > 0.0);
        both += f64::from(shown == 2.0);
    }
    share(both, 1000, 1.0 / 3.0);
}
