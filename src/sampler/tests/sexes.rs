use super::*;
use crate::records::{Genotype, Sex};

const N: usize = 8000;

fn daughters(truth: &Truth, what: impl Fn(Genotype) -> bool) -> (f64, f64) {
    let young = truth.clutches[0].counted.iter().flatten();
    let (mut all, mut with) = (0.0, 0.0);
    for (genome, _) in young.filter(|(genome, _)| genome.sex == Sex::Female) {
        all += 1.0;
        with += f64::from(what(genome.genotype(GeneId(0))));
    }
    (all, with)
}

fn cross(system: &str, gene: &str, dam: &str, sire: &str, young: usize) -> String {
    format!(
        "sex_system = \"{system}\"\n[assume]\n{PURE}[gene.x]\ninheritance = \"recessive\"\n\
         sex_linked = true\n{gene}\n[[animal]]\nid = \"d\"\nsex = \"female\"\n{dam}\n\
         [[animal]]\nid = \"s\"\nsex = \"male\"\n{sire}\n{}",
        counted("d", "sire = \"s\"", "", young)
    )
}

#[test]
fn a_carrier_on_x_gives_half_her_sons_the_look_and_no_daughter() {
    let (colony, truth) = drawn(&cross("XY", "", "sold_as = [\"het x\"]", "looks = []", N), 31);
    let (all, with) = daughters(&truth, |genotype| genotype == Genotype::Two(0, 1));
    share(all, N, 0.5);
    share(with, all as usize, 0.5);
    share(written(&colony, &["x"]), N, 0.25);
    assert_eq!(truth.animals[1].genotype(GeneId(0)), Genotype::One(0));
}

#[test]
fn a_visual_dam_on_z_has_normal_daughters_and_carrier_sons_of_a_normal_sire() {
    let (colony, truth) = drawn(&cross("ZW", "", "looks = [\"x\"]", "looks = []", N), 32);
    assert_eq!(truth.animals[0].genotype(GeneId(0)), Genotype::One(1));
    let (_, with) = daughters(&truth, |genotype| genotype == Genotype::One(1));
    assert_eq!(with, 0.0);
    assert_eq!(written(&colony, &["x"]), 0.0);
    share(truly(&truth, 0, |genotype| genotype == Genotype::Two(0, 1)), N, 0.5);
}

#[test]
fn a_gene_with_a_copy_on_both_goes_with_the_sex_but_for_its_crossover() {
    let text = cross("XY", "crossover = 0.1", "looks = []", "sold_as = [\"het x\"]", N);
    let (_, truth) = drawn(&text, 33);
    let on_y = truth.animals[1].strands.iter().any(|s| s.minor && s.alleles[0] == Some(1));
    let (all, with) = daughters(&truth, |genotype| genotype == Genotype::Two(0, 1));
    share(with, all as usize, if on_y { 0.1 } else { 0.9 });
    // In the dam it is free.
    let text = cross("XY", "crossover = 0.1", "sold_as = [\"het x\"]", "looks = []", N);
    let (_, truth) = drawn(&text, 34);
    let (all, with) = daughters(&truth, |genotype| genotype == Genotype::Two(0, 1));
    share(with, all as usize, 0.5);
}

#[test]
fn young_without_a_father_have_the_sex_their_system_gives() {
    let virgin = |system: &str, gene: &str| {
        let text = cross(system, gene, "looks = [\"x\"]", "looks = []", N);
        text.replace("sire = \"s\"", "sire = \"none\"")
            .replace(PURE, &format!("{PURE}virgin_heterozygosity = 0.2\n"))
    };
    let (_, truth) = drawn(&virgin("XY", ""), 35);
    assert_eq!(daughters(&truth, |_| true), (N as f64, N as f64));
    let (_, truth) = drawn(&virgin("ZW", ""), 36);
    let (all, with) = daughters(&truth, |genotype| genotype == Genotype::One(1));
    share(all, N, 2.0 * 0.2 / 1.2);
    assert_eq!(with, all);
    assert_eq!(truly(&truth, 0, |genotype| genotype == Genotype::Two(1, 1)), N as f64 - all);
}

#[test]
fn hatchlings_that_are_bred_from_have_the_sex_they_need() {
    let text = format!(
        "sex_system = \"XY\"\n[assume]\n{PURE}[gene.x]\ninheritance = \"recessive\"\n\
         [[animal]]\nid = \"d\"\n[[animal]]\nid = \"s\"\n\
         [[clutch]]\nid = \"later\"\ndam = \"h1\"\nsire = \"h2\"\n[[clutch.hatchling]]\nid = \"k\"\n\
         [[clutch]]\nid = \"c\"\ndam = \"d\"\nsire = \"s\"\ndied = 3\n\
         [[clutch.hatchling]]\nid = \"h1\"\n[[clutch.hatchling]]\nid = \"h2\"\n\
         [[clutch.hatchling]]\nid = \"h3\"\nsex = \"male\"\n"
    );
    for seed in 0..50 {
        let (colony, truth) = drawn(&text.replace("egg_loss = 0\n", "egg_loss = 0.4\n"), seed);
        let sex = |id: &str| truth.animals[colony.find_animal(id).unwrap().0].sex;
        assert_eq!((sex("h1"), sex("h2")), (Sex::Female, Sex::Male));
        for (animal, genome) in colony.animals.iter().zip(&truth.animals) {
            assert!(animal.sex.is_none_or(|sex| sex == genome.sex));
        }
    }
}
