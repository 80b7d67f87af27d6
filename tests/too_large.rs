//! What is too large for memory is refused with its size, before any of it is made.

#![allow(missing_docs)]
#![allow(clippy::unwrap_used, reason = "a test that finds nothing has to fail")]

use std::time::{Duration, Instant};

use allocation_counter::measure;
use assert_cmd::Command;
use proveout::questions::{Asked, Method, Unanswerable, genotypes};
use proveout::records::{Colony, Format, read};

/// A clutch whose eggs have six possible sires each, kept if one young shows any of four looks.
fn kept_for_any_of_four_looks(kept: &str, siring: &str) -> Colony {
    let mut text = String::new();
    for look in ["ash", "fern", "moss", "peat"] {
        text += &format!("[gene.{look}]\ninheritance = \"recessive\"\n");
    }
    for sire in 1..=6 {
        text += &format!("[[animal]]\nid = \"M{sire}\"\nsex = \"male\"\n");
    }
    let sires: Vec<String> = (1..=6).map(|sire| format!("M{sire} = 1")).collect();
    text += &format!(
        "[[animal]]\nid = \"Dam\"\n[[clutch]]\nid = \"K\"\ndam = \"Dam\"\n\
         sires = {{ {} }}\nsiring = \"{siring}\"\nkept_if = [{kept}]\n\
         [[clutch.count]]\nlooks = [\"ash\"]\nnumber = 1\n",
        sires.join(", ")
    );
    read(text.as_bytes(), Format::Toml).unwrap().colony
}

/// The bytes that a colony is said to need, which none of them is made of.
fn refused(colony: &Colony) -> u64 {
    let mut answer = None;
    let used = measure(|| answer = Some(genotypes(colony, &Asked::default())));
    assert!(used.bytes_max < Asked::MEMORY / 10, "{} bytes at once", used.bytes_max);
    match answer {
        Some(Err(Unanswerable::TooLarge { needed, allowed })) => {
            assert!(needed > allowed && allowed == Asked::MEMORY);
            needed
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_selection_over_all_sires_and_genes_is_too_large_before_it_is_made() {
    let four = "\"ash\", \"fern\", \"moss\", \"peat\"";
    // Three genotypes of the dam and of each sire at each gene, and a number for each.
    assert!(refused(&kept_for_any_of_four_looks(four, "mixed")) > 3u64.pow(28) * 8);
}

#[test]
fn a_selection_that_fits_is_answered_and_counts_against_the_limit() {
    let one_look = kept_for_any_of_four_looks("\"ash\"", "mixed");
    assert_eq!(genotypes(&one_look, &Asked::default()).unwrap().method, Method::Exact);
    let four = "\"ash\", \"fern\", \"moss\", \"peat\"";
    let one_sire = kept_for_any_of_four_looks(four, "one");
    assert_eq!(genotypes(&one_sire, &Asked::default()).unwrap().method, Method::Exact);
    let little = Asked { memory: 100_000, ..Asked::default() };
    match genotypes(&one_sire, &little) {
        Err(Unanswerable::TooLarge { needed, allowed }) => assert!(needed > allowed),
        other => panic!("{other:?}"),
    }
}

/// A clutch at so many linked genes.
fn linked(genes: usize) -> String {
    let names: Vec<String> = (0..genes).map(|gene| format!("g{gene}")).collect();
    let declared: String =
        names.iter().map(|name| format!("[gene.{name}]\ninheritance = \"recessive\"\n")).collect();
    let rates = vec!["0.1"; genes - 1].join(", ");
    format!(
        "{declared}[[linkage]]\ngenes = {names:?}\ncrossover = [{rates}]\n\
         [[animal]]\nid = \"Dam\"\n[[animal]]\nid = \"Sire\"\n\
         [[clutch]]\nid = \"K\"\ndam = \"Dam\"\nsire = \"Sire\"\n\
         [[clutch.count]]\nlooks = [\"g1\"]\nnumber = 2\n"
    )
}

#[test]
fn a_long_linkage_group_is_too_large_before_its_genotypes_are_listed() {
    for genes in [6, 12, 40] {
        let colony = read(linked(genes).as_bytes(), Format::Toml).unwrap().colony;
        // 2 to the genes strands; pairs of them are the states of sire, dam and young.
        let strands = 2f64.powi(genes.try_into().unwrap());
        assert!(refused(&colony) as f64 >= (strands.powi(6)).min(1e19), "{genes}");
    }
}

/// Linked genes with a copy on both sex chromosomes, and many animals that came in.
fn on_both_sex_chromosomes(genes: usize, animals: usize) -> Colony {
    let gene = "inheritance = \"recessive\"\n";
    let linked = linked(genes).replace(gene, &format!("{gene}sex_linked = true\n")).replacen(
        "true\n",
        "true\ncrossover = 0.1\n",
        1,
    );
    let more: String =
        (0..animals).map(|at| format!("[[animal]]\nid = \"A{at}\"\nlooks = []\n")).collect();
    let text = format!("sex_system = \"ZW\"\n{linked}{more}");
    read(text.as_bytes(), Format::Toml).unwrap().colony
}

#[test]
fn what_is_too_large_does_not_keep_one_waiting() {
    // 2,080 pairs of strands in one sex and 4,096 in the other, for each of 60 animals.
    let colony = on_both_sex_chromosomes(6, 60);
    let began = Instant::now();
    refused(&colony);
    let took = began.elapsed();
    println!("refused after {took:?}");
    assert!(took < Duration::from_secs(10), "{took:?}");
}

#[test]
fn what_is_too_large_ends_with_status_3() {
    let ended = Command::cargo_bin("proveout")
        .unwrap()
        .args(["genotypes", "-", "--memory", "2G"])
        .write_stdin(linked(12))
        .output()
        .unwrap();
    assert_eq!(ended.status.code(), Some(3));
    let said = String::from_utf8(ended.stderr).unwrap();
    assert!(
        said.contains("an exact answer needs") && said.contains("2.0 GiB is allowed"),
        "{said}"
    );
}
