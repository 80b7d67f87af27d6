//! Mendel's peas: second generations, more genes than one, backcrosses.

use super::support::*;

const MENDEL: &str = "Mendel, G. (1866). Versuche über Pflanzen-Hybriden. Verh. naturforsch. \
                      Ver. Brünn 4 (Abh.): 3–47";
const fn row(id: &'static str, by: &'static [fn()]) -> Row {
    Row { id, source: MENDEL, basis: READ, by }
}

const F2: &[fn()] = &[
    the_evidence_of_a_second_generation_is_three_to_one_count_by_count,
    a_second_generation_proves_both_unknown_parents_hybrid,
    three_to_one_beats_one_to_one_by_the_closed_form,
];
pub const ROWS: &[Row] = &[
    row("MEN-F2-1", F2),
    row("MEN-F2-2", F2),
    row("MEN-F2-3", F2),
    row("MEN-F2-4", F2),
    row("MEN-F2-5", F2),
    row("MEN-F2-6", F2),
    row("MEN-F2-7", F2),
    row("MEN-F2-ALL", &[seven_experiments_add_up_to_the_pooled_count]),
    row(
        "MEN-PL1",
        &[
            ten_plants_one_by_one_say_what_they_say_together,
            the_extreme_plants_still_prove_both_parents_hybrid,
        ],
    ),
    row("MEN-DI", &[two_genes_give_nine_to_three_to_three_to_one]),
    row("MEN-TRI", &[three_genes_give_all_twenty_seven_classes, a_margin_of_the_three_is_one_gene]),
    Row {
        id: "MEN-GAM",
        source: MENDEL,
        basis: MEMORY_HIGH,
        by: &[a_backcross_gives_four_equal_classes, a_backcross_proves_the_hybrid_and_both_genes],
    },
];

/// File, and the name of the recessive, of the seven experiments.
const SEVEN: [(&str, &str); 7] = [
    ("mendel-f2-seed-shape", "wrinkled"),
    ("mendel-f2-seed-colour", "green"),
    ("mendel-f2-flower-colour", "white"),
    ("mendel-f2-pod-form", "constricted"),
    ("mendel-f2-pod-colour", "yellow"),
    ("mendel-f2-flower-position", "terminal"),
    ("mendel-f2-stem-length", "short"),
];

const THREE_TO_ONE: [f64; 2] = [0.75, 0.25];

/// The seven files, the name of the recessive, and the printed counts.
fn seven() -> impl Iterator<Item = (String, &'static str, Vec<f64>)> {
    SEVEN.iter().enumerate().map(|(at, (name, recessive))| {
        (file(name), *recessive, observed(&format!("MEN-F2-{}", at + 1)))
    })
}

#[test]
fn the_evidence_of_a_second_generation_is_three_to_one_count_by_count() {
    for (text, _, counts) in seven() {
        same(MENDEL, log_evidence(&text), multinomial(&counts, &THREE_TO_ONE));
    }
}

#[test]
fn a_second_generation_proves_both_unknown_parents_hybrid() {
    for (text, recessive, counts) in seven() {
        // Nothing told: each parent is one of 1 : 2 : 1.
        let text = text.replace(&format!("sold_as = [\"het {recessive}\"]"), "");
        let answer = ask(&with(&text, "background = 0", "background = 0.5"));
        // Hybrid by recessive, either way round, is as likely beforehand as hybrid by hybrid.
        let log_ratio = multinomial(&counts, &[0.5, 0.5]) - multinomial(&counts, &THREE_TO_ONE);
        let both = 1.0 / (1.0 + log_ratio.exp());
        let half = (1.0 - both) / 2.0;
        let genotype = format!("+/{recessive}");
        for parent in ["hybrid", "hybrid pollen"] {
            same(MENDEL, answer.chance(parent, recessive, &genotype), both + half);
        }
    }
}

#[test]
fn three_to_one_beats_one_to_one_by_the_closed_form() {
    for (text, recessive, counts) in seven() {
        let told = format!("id = \"hybrid pollen\"\nsold_as = [\"het {recessive}\"]");
        let seen = format!("id = \"hybrid pollen\"\nlooks = [\"{recessive}\"]");
        let backcross = log_evidence(&with(&text, &told, &seen));
        let gain = log_evidence(&text) - backcross;
        let want = multinomial(&counts, &[1.5, 0.5]);
        assert!(want > 50.0, "a weak comparison proves little");
        same(MENDEL, gain, want);
    }
}

#[test]
fn seven_experiments_add_up_to_the_pooled_count() {
    let pooled = observed("MEN-F2-ALL");
    let apart: f64 = seven().map(|(text, _, _)| log_evidence(&text)).sum();
    same(MENDEL, apart, multinomial(&pooled, &THREE_TO_ONE));
}

/// The ten plants of the table as numbers of round and angular seeds.
fn ten_plants() -> Vec<Vec<f64>> {
    let table = &item("MEN-PL1")["counts"]["round,angular per plant"];
    table.as_array().unwrap().iter().map(numbers).collect()
}

fn clutches(plants: &[Vec<f64>]) -> String {
    let clutch = |(at, seeds): (usize, &Vec<f64>)| {
        let (round, angular) = (seeds[0], seeds[1]);
        format!(
            "[[clutch]]\nid = \"bag {at}\"\ndam = \"hybrid\"\nsire = \"hybrid pollen\"\n\
             [[clutch.count]]\nlooks = [\"normal\"]\nnumber = {round}\n\
             [[clutch.count]]\nlooks = [\"angular\"]\nnumber = {angular}\n"
        )
    };
    plants.iter().enumerate().map(clutch).collect()
}

/// The parents of the ten plants, with a doubt about them and about the calls.
fn doubtful_parents() -> String {
    let text = file("mendel-ten-plants");
    let parents =
        text[..text.find("[[clutch]]").unwrap()].replace("het angular", "66% het angular");
    with(&parents, "misread = 0", "misread = 0.001")
}

#[test]
fn ten_plants_one_by_one_say_what_they_say_together() {
    let plants = ten_plants();
    let sums = (0..2).map(|kind| plants.iter().map(|seeds| seeds[kind]).sum()).collect::<Vec<_>>();
    assert_eq!(sums, observed("MEN-PL1"));
    same(
        MENDEL,
        log_evidence(&file("mendel-ten-plants")),
        multinomial(&observed("MEN-PL1"), &THREE_TO_ONE),
    );
    // With parents of whom one can be in doubt as well, clutch by clutch must equal pooled.
    let parents = doubtful_parents();
    let apart = ask(&format!("{parents}{}", clutches(&plants)));
    let pooled = ask(&format!("{parents}{}", clutches(std::slice::from_ref(&sums))));
    same(MENDEL, apart.log_evidence(), pooled.log_evidence());
    for first in 1..10 {
        let some = ask(&format!("{parents}{}", clutches(&plants[..first])));
        let sum = |kind: usize| plants[..first].iter().map(|seeds| seeds[kind]).sum::<f64>();
        let pooled = ask(&format!("{parents}{}", clutches(&[vec![sum(0), sum(1)]])));
        for genotype in ["+/+", "+/angular"] {
            let chance = some.chance("hybrid", "angular", genotype);
            same(MENDEL, chance, pooled.chance("hybrid", "angular", genotype));
        }
    }
}

#[test]
fn the_extreme_plants_still_prove_both_parents_hybrid() {
    for seeds in [vec![43.0, 2.0], vec![14.0, 15.0]] {
        let text = format!("{}{}", doubtful_parents(), clutches(std::slice::from_ref(&seeds)));
        let text = with(&text, "misread = 0.001", "misread = 0");
        let answer = ask(&text);
        let want = 2.0 * (2.0f64 / 3.0).ln() + multinomial(&seeds, &THREE_TO_ONE);
        same(MENDEL, answer.log_evidence(), want);
        for parent in ["hybrid", "hybrid pollen"] {
            same(MENDEL, answer.chance(parent, "angular", "+/angular"), 1.0);
        }
    }
}

/// Counts and chances of the four classes of two genes.
const NINE_THREE_THREE_ONE: [f64; 4] = [9.0 / 16.0, 3.0 / 16.0, 3.0 / 16.0, 1.0 / 16.0];

#[test]
fn two_genes_give_nine_to_three_to_three_to_one() {
    let text = file("mendel-two-genes");
    let counts = observed("MEN-DI");
    same(MENDEL, log_evidence(&text), multinomial(&counts, &NINE_THREE_THREE_ONE));
    // Against the hybrid backcrossed to the double recessive.
    let told = "id = \"hybrid pollen\"\nsold_as = [\"het angular\", \"het green\"]";
    let seen = "id = \"hybrid pollen\"\nlooks = [\"angular\", \"green\"]";
    let gain = log_evidence(&text) - log_evidence(&with(&text, told, seen));
    same(MENDEL, gain, multinomial(&counts, &NINE_THREE_THREE_ONE.map(|chance| 4.0 * chance)));
}

/// The 27 classes as `AaBBcc`, and their counts.
fn classes() -> Vec<(&'static str, f64)> {
    let counts = item("MEN-TRI")["counts"].as_object().unwrap();
    counts.iter().map(|(class, count)| (class.as_str(), count.as_f64().unwrap())).collect()
}

/// Whether a class has two different letters for the gene at this place of three.
fn varies(class: &str, gene: usize) -> bool {
    class[2 * gene..][..1] != class[2 * gene + 1..][..1]
}

#[test]
fn three_genes_give_all_twenty_seven_classes() {
    let chance = |class: &str| {
        (0..3).map(|gene| if varies(class, gene) { 0.5 } else { 0.25 }).product::<f64>()
    };
    let (counts, chances): (Vec<f64>, Vec<f64>) =
        classes().iter().map(|(class, count)| (count, chance(class))).unzip();
    assert_eq!((counts.len(), counts.iter().sum::<f64>()), (27, 639.0));
    same(MENDEL, log_evidence(&file("mendel-three-genes")), multinomial(&counts, &chances));
}

#[test]
fn a_margin_of_the_three_is_one_gene() {
    // Without two of the genes the file is one of 152 : 321 : 166 in seed coat.
    let text = file("mendel-three-genes");
    let mut margin = text.replace("\"seeds vary\"", "\"\"").replace("\"wrinkled\"", "\"\"");
    margin = margin.replace("\"colour varies\"", "\"\"").replace("\"green\"", "\"\"");
    let counts = &margin[margin.find("[[clutch]]").unwrap()..];
    let counts = counts.replace("\"\", ", "").replace(", \"\"", "").replace("\"\"", "\"normal\"");
    let parents = "[assume]\nbackground = 0\nmisread = 0\n\
         [gene.white]\ninheritance = \"incomplete dominant\"\n\
         names = { one_copy = \"coat varies\", two_copies = \"white\" }\n\
         [[animal]]\nid = \"hybrid\"\nsold_as = [\"coat varies\"]\n\
         [[animal]]\nid = \"hybrid pollen\"\nsold_as = [\"coat varies\"]\n";
    let got = log_evidence(&format!("{parents}{counts}"));
    same(MENDEL, got, multinomial(&observed("MEN-TRI"), &[0.25, 0.5, 0.25]));
}

#[test]
fn a_backcross_gives_four_equal_classes() {
    let counts = item("MEN-GAM")["counts"].as_object().unwrap();
    let all = counts.values().flat_map(|cross| cross.as_object().unwrap().values());
    let young: f64 = all.map(|count| count.as_f64().unwrap()).sum();
    same(MENDEL, log_evidence(&file("mendel-backcross")), young * 0.25f64.ln());
}

#[test]
fn a_backcross_proves_the_hybrid_and_both_genes() {
    let text = file("mendel-backcross").replace("\"het ", "\"50% het ");
    let answer = ask(&text);
    for (plant, genes) in [
        ("hybrid seed", ["wrinkled", "green"]),
        ("hybrid pollen", ["wrinkled", "green"]),
        ("tall hybrid", ["white", "short"]),
    ] {
        for gene in genes {
            same(MENDEL, answer.chance(plant, gene, &format!("+/{gene}")), 1.0);
        }
    }
    // Six hidden genes of even chances, each now certain.
    let certain = log_evidence(&file("mendel-backcross"));
    same(MENDEL, answer.log_evidence() - certain, 6.0 * 0.5f64.ln());
}
