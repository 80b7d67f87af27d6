use super::*;
use crate::records::{Candidate, Genotype};

const N: usize = 8000;

fn one_gene(declaration: &str, parents: &str, sire: &str, more: &str, n: usize) -> String {
    format!("[assume]\n{PURE}{declaration}\n{parents}{}", counted("d", sire, more, n))
}

fn hets(allele: &str) -> String {
    het("d", "female", &[allele]) + &het("s", "male", &[allele])
}

#[test]
fn two_carriers_of_a_recessive_give_a_quarter() {
    let gene = "[gene.x]\ninheritance = \"recessive\"";
    let (colony, truth) = drawn(&one_gene(gene, &hets("x"), "sire = \"s\"", "", N), 1);
    share(written(&colony, &["x"]), N, 0.25);
    share(truly(&truth, 0, |genotype| genotype == Genotype::Two(0, 1)), N, 0.5);
}

#[test]
fn two_carriers_of_an_incomplete_dominant_give_one_two_one() {
    let gene = "[gene.x]\ninheritance = \"incomplete dominant\"";
    let (colony, _) = drawn(&one_gene(gene, &hets("x"), "sire = \"s\"", "", N), 2);
    share(written(&colony, &[]), N, 0.25);
    share(written(&colony, &["x"]), N, 0.5);
    share(written(&colony, &["super x"]), N, 0.25);
}

#[test]
fn an_animal_with_two_alleles_of_a_series_passes_exactly_one() {
    let gene = "[gene.x]\nalleles = [\"a\", \"b\"]\nlooks = { \"+/a\" = \"a\", \"+/b\" = \"b\", \"a/b\" = \"ab\" }";
    let parents = "[[animal]]\nid = \"d\"\nsex = \"female\"\nlooks = [\"ab\"]\n\
                   [[animal]]\nid = \"s\"\nsex = \"male\"\nlooks = []\n";
    let (colony, _) = drawn(&one_gene(gene, parents, "sire = \"s\"", "", N), 3);
    share(written(&colony, &["a"]), N, 0.5);
    assert_eq!(written(&colony, &["a"]) + written(&colony, &["b"]), N as f64);
}

#[test]
fn a_lethal_genotype_never_hatches_and_its_eggs_are_lost() {
    let gene = "[gene.x]\ninheritance = \"dominant\"\nlethal = \"two copies\"";
    let known = one_gene(gene, &hets("x"), "sire = \"s\"", "died = 0", N);
    let (colony, truth) = drawn(&known.replace("egg_loss = 0\n", "egg_loss = 0.2\n"), 4);
    assert_eq!(truly(&truth, 0, |genotype| genotype == Genotype::Two(1, 1)), 0.0);
    let hatched = colony.clutches[0].recorded() as usize;
    let died = colony.clutches[0].died.unwrap() as usize;
    assert_eq!(hatched + died, N, "the number of fertile eggs stays");
    assert_eq!(truth.clutches[0].lost.len(), died);
    share(hatched as f64, N, 0.75 * 0.8);
    share(written(&colony, &["x"]), hatched, 2.0 / 3.0);
}

#[test]
fn where_losses_are_not_known_the_number_hatched_stays() {
    let gene = "[gene.x]\ninheritance = \"dominant\"\nlethal = \"two copies\"";
    let (colony, truth) = drawn(&one_gene(gene, &hets("x"), "sire = \"s\"", "", N), 5);
    assert_eq!(colony.clutches[0].recorded() as usize, N);
    share(written(&colony, &["x"]), N, 2.0 / 3.0);
    let eggs = N + truth.clutches[0].lost.len();
    share(N as f64, eggs, 0.75);
}

#[test]
fn unlinked_genes_are_independent_and_linked_ones_recombine_by_sex() {
    let genes = "[gene.x]\ninheritance = \"dominant\"\n[gene.y]\ninheritance = \"dominant\"";
    // Both copies are in one strand of the dam: her own dam passed them together.
    let text = |linkage: &str| {
        format!(
            "[assume]\n{PURE}{genes}\n{linkage}\
             [[animal]]\nid = \"g\"\nsex = \"female\"\n\
             readings = []\nlooks = [\"x\", \"y\"]\n\
             [[animal]]\nid = \"s\"\nsex = \"male\"\nlooks = []\n{}",
            counted("g", "sire = \"s\"", "", N)
        )
    };
    let (colony, _) = drawn(&text(""), 6);
    share(written(&colony, &["x", "y"]), N, 0.25);
    let linked = "[[linkage]]\ngenes = [\"x\", \"y\"]\ncrossover = { female = 0.1, male = 0.4 }\n";
    let (colony, _) = drawn(&text(linked), 7);
    let same = written(&colony, &["x", "y"]) + written(&colony, &[]);
    // The founder's phase is drawn: the pair is together or apart.
    share(same, N, if same > N as f64 / 2.0 { 0.9 } else { 0.1 });
    let swapped = text(linked).replace("dam = \"g\"", "dam = \"s\"");
    let swapped = swapped.replace("sire = \"s\"", "sire = \"g\"");
    let swapped = swapped
        .replace("id = \"g\"\nsex = \"female\"", "id = \"g\"\nsex = \"male\"")
        .replace("id = \"s\"\nsex = \"male\"", "id = \"s\"\nsex = \"female\"");
    let (colony, _) = drawn(&swapped, 8);
    let same = written(&colony, &["x", "y"]) + written(&colony, &[]);
    share(same, N, if same > N as f64 / 2.0 { 0.6 } else { 0.4 });
}

#[test]
fn founders_have_either_phase_with_chance_one_half() {
    let genes = "[gene.x]\ninheritance = \"dominant\"\n[gene.y]\ninheritance = \"dominant\"";
    let founder = "[[animal]]\nid = \"N\"\nlooks = [\"x\", \"y\"]\n";
    let founders: String = (0..2000).map(|n| founder.replace('N', &n.to_string())).collect();
    let (_, truth) = drawn(&format!("[assume]\n{PURE}{genes}\n{founders}"), 9);
    let cis = |genome: &super::super::Genome| {
        genome.strands[0].alleles[0] == genome.strands[0].alleles[1]
    };
    share(truth.animals.iter().filter(|g| cis(g)).count() as f64, 2000, 0.5);
}

#[test]
fn three_genes_in_map_order_recombine_without_interference() {
    let genes = "[gene.x]\ninheritance = \"dominant\"\n[gene.y]\ninheritance = \"dominant\"\n\
                 [gene.z]\ninheritance = \"dominant\"\n\
                 [[linkage]]\ngenes = [\"x\", \"z\", \"y\"]\ncrossover = [0.1, 0.25]";
    let parents = "[[animal]]\nid = \"d\"\nsex = \"female\"\nlooks = [\"x\", \"y\", \"z\"]\n\
                   [[animal]]\nid = \"s\"\nsex = \"male\"\nlooks = []\n";
    let (colony, truth) = drawn(&one_gene(genes, parents, "sire = \"s\"", "", N), 10);
    let dam = &truth.animals[0];
    let strand_of = |gene: usize| usize::from(dam.strands[1].alleles[gene] == Some(1));
    let mut doubles = 0.0;
    for looks in
        [&[][..], &["x"], &["y"], &["z"], &["x", "y"], &["x", "z"], &["y", "z"], &["x", "y", "z"]]
    {
        let from = |gene: usize, name: &str| strand_of(gene) ^ usize::from(!looks.contains(&name));
        let (x, y, z) = (from(0, "x"), from(1, "y"), from(2, "z"));
        if x != z && z != y {
            doubles += written(&colony, looks);
        }
    }
    share(doubles, N, 0.1 * 0.25);
}

#[test]
fn the_sire_is_one_for_the_clutch_or_one_for_each_egg() {
    let gene = "[gene.x]\ninheritance = \"dominant\"";
    let parents = "[[animal]]\nid = \"d\"\nlooks = []\n[[animal]]\nid = \"s\"\nlooks = []\n\
                   [[animal]]\nid = \"t\"\nlooks = [\"x\"]\n";
    let sires = "sires = { s = 0.75, t = 0.25 }";
    let mixed = format!("{sires}\nsiring = \"mixed\"");
    let (colony, truth) = drawn(&one_gene(gene, parents, &mixed, "", N), 11);
    share(written(&colony, &["x"]), N, 0.125);
    assert_eq!(truth.clutches[0].sire, None);
    let mut by_second = 0;
    for seed in 0..400 {
        let (_, truth) = drawn(&one_gene(gene, parents, sires, "", 3), seed);
        let sire = truth.clutches[0].sire.unwrap();
        assert!(truth.clutches[0].counted.iter().flatten().all(|(_, by)| *by == sire));
        by_second += usize::from(sire == Candidate::Known(crate::records::AnimalId(2)));
    }
    share(by_second as f64, 400, 0.25);
}

#[test]
fn an_unrecorded_sire_is_shared_by_the_clutch() {
    let gene = "[gene.x]\ninheritance = \"dominant\"\nbackground = 0.3";
    let parents = "[[animal]]\nid = \"d\"\nsold_as = [\"not het x\"]\n\
                   [[animal]]\nid = \"s\"\nsold_as = [\"not het x\"]\n";
    let mut others = 0;
    for seed in 0..400 {
        let text = one_gene(gene, parents, "sire = \"s\"", "", 4);
        let (_, truth) = drawn(&text.replace(PURE, &format!("{PURE}other_sire = 0.2\n")), seed);
        let clutch = &truth.clutches[0];
        others += usize::from(clutch.sire == Some(Candidate::Unknown));
        let male = clutch.unknown_sire.as_ref().unwrap().genotype(GeneId(0));
        if clutch.sire == Some(Candidate::Unknown) && male == Genotype::Two(1, 1) {
            assert_eq!(truly(&truth, 0, |young| young == Genotype::Two(0, 1)), 4.0);
        }
        if clutch.sire != Some(Candidate::Unknown) {
            assert_eq!(truly(&truth, 0, |young| young == Genotype::Two(0, 0)), 4.0);
        }
    }
    share(others as f64, 400, 0.2);
}

#[test]
fn a_birth_without_a_father_keeps_both_alleles_with_the_chance_assumed() {
    let gene = "[gene.x]\ninheritance = \"incomplete dominant\"";
    let text = one_gene(gene, &het("d", "female", &["x"]), "sire = \"none\"", "", N);
    let text = text.replace(PURE, &format!("{PURE}virgin_heterozygosity = 0.3\n"));
    let (colony, _) = drawn(&text, 12);
    share(written(&colony, &["x"]), N, 0.3);
    share(written(&colony, &["super x"]), N, 0.35);
}

#[test]
fn hatchlings_with_an_id_are_mixed_up_and_others_are_not() {
    let young = |n: usize| format!("[[clutch.hatchling]]\nid = \"h{n}\"\nlooks = []\n");
    let all: String = (0..2000).map(young).collect();
    let text = format!(
        "[assume]\n{PURE}mix_up = 0.2\n[gene.x]\ninheritance = \"dominant\"\nbackground = 0.3\n\
         [[animal]]\nid = \"d\"\nsold_as = [\"not het x\"]\n[[animal]]\nid = \"s\"\n\
         sold_as = [\"not het x\"]\n{}{all}",
        counted("d", "sire = \"s\"", "", 500)
    );
    // In TOML a count may stand before the hatchlings.
    let (_, truth) = drawn(&text, 13);
    let mixed = truth.mixed_up.iter().filter(|mixed| **mixed).count() as f64;
    share(mixed, 2000, 0.2);
    let carriers = truth.animals[2..].iter().filter(|a| a.genotype(GeneId(0)).mutant_copies() > 0);
    share(carriers.count() as f64, 2000, 0.2 * 0.51);
    assert_eq!(truly(&truth, 0, |genotype| genotype.mutant_copies() > 0), 0.0);
}
