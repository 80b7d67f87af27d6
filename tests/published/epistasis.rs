//! Genes that hide each other's looks, as masks and combinations.
//!
//! Two recessive genes of the same look are read through `either`: each identity that gives the
//! look is an equally good reading of it. Its weights add a constant to the log evidence, minus
//! the log of their number for each such animal, which is added back where a chance is compared.

use super::support::*;

const FOWL: &str = "Davenport, C. B. (1909). Inheritance of Characteristics in Domestic Fowl. \
                    Carnegie Inst. Washington Publ. 121";
/// From memory.
const SWEET_PEAS: &str =
    "Bateson, W., Saunders, E. R. & Punnett, R. C. (1905) Reports Evol. Comm. Roy. Soc. II";
/// From memory.
const SQUASH: &str = "Sinnott, E. W. & Durham, G. B. (1922). Inheritance in the summer squash. J. Hered. 13: 177–186";
const PUNNETT: &str = "Punnett, R. C. (1911). Mendelism, 3rd ed. Macmillan";
const MICE: &str = "Cuénot (1902–03) and others, summarised in Morgan, T. H. (1907) Experimental \
                    Zoölogy";
/// From memory, with low confidence; the fit is poor.
const COMBS: &str = "Bateson & Punnett (1905–08)";
const CORN_SNAKE: &str = "Bechtel, H. B. & Bechtel, E. (1989). Color mutations in the corn snake";

pub const ROWS: &[Row] = &[
    Row {
        id: "EPI-01",
        source: FOWL,
        basis: READ,
        by: &[white_hides_game_nine_to_four_to_three, the_mask_is_needed_for_silkie_by_minorca],
    },
    Row { id: "EPI-02", source: FOWL, basis: READ, by: &[chicks_reveal_what_the_hens_hide] },
    Row {
        id: "EPI-04",
        source: SWEET_PEAS,
        basis: MEMORY_MEDIUM_HIGH,
        by: &[white_sweet_peas_are_nine_to_seven_and_not_three_to_one],
    },
    Row {
        id: "EPI-05",
        source: SQUASH,
        basis: MEMORY_MEDIUM,
        by: &[white_squash_hides_green_twelve_to_three_to_one],
    },
    Row {
        id: "EPI-06",
        source: PUNNETT,
        basis: READ,
        by: &[albino_hides_black_nine_to_three_to_four, two_whites_leave_three_coloured_in_sixteen],
    },
    Row {
        id: "EPI-07",
        source: MICE,
        basis: READ,
        by: &[albino_mice_are_three_to_one_and_one_to_one],
    },
    Row {
        id: "EPI-08",
        source: COMBS,
        basis: MEMORY_LOW,
        by: &[walnut_is_rose_and_pea_nine_to_three_to_three_to_one],
    },
    Row { id: "REP-08", source: CORN_SNAKE, basis: READ, by: &[snow_is_one_in_sixteen] },
];

/// Ninths of sixteen and the like.
fn sixteenths<const N: usize>(parts: [f64; N]) -> [f64; N] {
    parts.map(|part| part / 16.0)
}

#[test]
fn white_hides_game_nine_to_four_to_three() {
    let counts = observed("EPI-01");
    let want = multinomial(&counts, &sixteenths([9.0, 4.0, 3.0]));
    same(FOWL, log_evidence(&file("silkie-minorca")), want);
}

#[test]
fn the_mask_is_needed_for_silkie_by_minorca() {
    // Without it no chick is both white and Game: 9 : 3 : 3, and a sixteenth that never came.
    let text = file("silkie-minorca");
    let mask = "[[mask]]\nlook = \"white\"\nhides = [\"game\"]\n";
    let gain = log_evidence(&text) - log_evidence(&with(&text, mask, ""));
    same(FOWL, gain, observed("EPI-01")[1] * (4.0f64 / 3.0).ln());
}

#[test]
fn chicks_reveal_what_the_hens_hide() {
    let text = file("silkie-minorca-hens");
    let answer = ask(&text);
    // White and Game chicks prove the four hens; 44 chicks without a white one all but clear three.
    for gene in ["white", "game"] {
        let hidden = format!("+/{gene}");
        same(FOWL, answer.chance("four hens", gene, &hidden), 1.0);
    }
    same(FOWL, answer.chance("three hens", "game", "+/game"), 1.0);
    let doubt = 2.0 * 0.75f64.powi(44);
    same(FOWL, answer.chance("three hens", "white", "+/white"), doubt / (1.0 + doubt));
    let three = (1.0 / 3.0 + 2.0 / 3.0 * 0.75f64.powi(44)).ln() + (2.0f64 / 3.0).ln();
    let want = multinomial(&[64.0, 23.0], &[0.75, 0.25])
        + 2.0 * (2.0f64 / 3.0).ln()
        + multinomial(&[40.0, 13.0, 14.0], &sixteenths([9.0, 4.0, 3.0]))
        + three
        + multinomial(&[30.0, 14.0], &[0.75, 0.25]);
    same(FOWL, answer.log_evidence(), want);
    // The printed expectations; those of pen 824 (66 : 22) are of 88 chicks, and 87 were counted.
    // The next chick is counted in the last clutch of the file.
    let of_four = without_clutch(&text, "pen 804, three hens");
    for (pens, chicks, expectations) in
        [(of_four, 67.0, ["38", "17", "13"]), (text, 44.0, ["33", "0", "11"])]
    {
        for (look, print) in ["normal", "white", "game"].into_iter().zip(expectations) {
            let next = format!("{pens}\n[[clutch.count]]\nlooks = [\"{look}\"]\nnumber = 1\n");
            let chance = (log_evidence(&next) - log_evidence(&pens)).exp();
            printed(FOWL, chicks * chance, print);
        }
    }
}

#[test]
fn white_sweet_peas_are_nine_to_seven_and_not_three_to_one() {
    let text = file("white-sweet-peas");
    let counts = observed("EPI-04");
    let readings = counts[1] * 3f64.ln();
    let nine_to_seven = log_evidence(&text) + readings;
    same(SWEET_PEAS, nine_to_seven, multinomial(&counts, &sixteenths([9.0, 7.0])));
    // Both are hybrids of one gene only, and the other is clear: three to one.
    let one_gene = text.replace(", \"het second white\"", ", \"not het second white\"");
    let gain = nine_to_seven - (log_evidence(&one_gene) + readings);
    same(SWEET_PEAS, gain, multinomial(&counts, &[9.0 / 12.0, 7.0 / 4.0]));
    assert!(gain > 5.0, "{SWEET_PEAS}: gave {gain}");
}

#[test]
fn white_squash_hides_green_twelve_to_three_to_one() {
    let want = multinomial(&observed("EPI-05"), &sixteenths([12.0, 3.0, 1.0]));
    same(SQUASH, log_evidence(&file("summer-squash")), want);
}

/// Two hybrids, one young, called as said.
fn one_young(genes: &str, told: &str, young: &str) -> f64 {
    log_evidence(&format!(
        "[assume]\nbackground = 0\nmisread = 0\n{genes}\n\
         [[animal]]\nid = \"dam\"\nsold_as = [{told}]\n\
         [[animal]]\nid = \"sire\"\nsold_as = [{told}]\n\
         [[clutch]]\nid = \"one\"\ndam = \"dam\"\nsire = \"sire\"\n\
         [[clutch.count]]\n{young}\nnumber = 1\n"
    ))
    .exp()
}

#[test]
fn albino_hides_black_nine_to_three_to_four() {
    // Agouti is here normal.
    let genes = "[gene.black]\ninheritance = \"recessive\"\n\
                 [gene.albino]\ninheritance = \"recessive\"\n\
                 [[mask]]\nlook = \"albino\"\nhides = [\"black\"]";
    let told = "\"het black\", \"het albino\"";
    for (look, parts) in [("normal", 9.0), ("black", 3.0), ("albino", 4.0)] {
        same(PUNNETT, 16.0 * one_young(genes, told, &format!("looks = [\"{look}\"]")), parts);
    }
}

#[test]
fn two_whites_leave_three_coloured_in_sixteen() {
    // Coloured is here normal. A white chick is dominant white, which hides the recessive white,
    // or recessive white alone: two readings, so its chance is twice the evidence.
    let genes = "[gene.\"dominant white\"]\ninheritance = \"dominant\"\n\
                 [gene.\"recessive white\"]\ninheritance = \"recessive\"\n\
                 [[mask]]\nlook = \"dominant white\"\nhides = [\"recessive white\"]";
    let told = "\"het dominant white\", \"het recessive white\"";
    let white = "either = [{ looks = [\"dominant white\"], fit = 1 }, \
                 { looks = [\"recessive white\"], fit = 1 }]";
    same(PUNNETT, 16.0 * one_young(genes, told, "looks = [\"normal\"]"), 3.0);
    same(PUNNETT, 16.0 * 2.0 * one_young(genes, told, white), 13.0);
}

#[test]
fn albino_mice_are_three_to_one_and_one_to_one() {
    let counts = item("EPI-07")["counts"].as_object().unwrap();
    let matings: Vec<Vec<f64>> = counts.values().map(numbers).collect();
    let text = file("albino-mice");
    let shares = [[0.75, 0.25], [0.5, 0.5], [0.75, 0.25]];
    assert_eq!(matings.len(), shares.len());
    let want = matings.iter().zip(shares).map(|(counts, share)| multinomial(counts, &share)).sum();
    same(MICE, log_evidence(&text), want);
    // The hybrids need not be told: what they gave proves them.
    let untold = with(
        &text.replace("sold_as = [\"het albino\"]", "looks = [\"normal\"]"),
        "background = 0",
        "background = 0.2",
    );
    for hybrid in ["hybrid female", "hybrid male"] {
        same(MICE, ask(&untold).chance(hybrid, "albino", "+/albino"), 1.0);
    }
}

#[test]
fn walnut_is_rose_and_pea_nine_to_three_to_three_to_one() {
    let text = file("walnut-comb");
    let counts = observed("EPI-08");
    let nine = sixteenths([9.0, 3.0, 3.0, 1.0]);
    same(COMBS, log_evidence(&text), multinomial(&counts, &nine));
    // Against a cock of single comb: one to one to one to one.
    let cock = "id = \"hybrid cock\"\nlooks = [\"walnut\"]";
    let single = with(&text, cock, "id = \"hybrid cock\"\nlooks = [\"normal\"]");
    let gain = log_evidence(&text) - log_evidence(&single);
    same(COMBS, gain, multinomial(&counts, &nine.map(|share| 4.0 * share)));
}

#[test]
fn snow_is_one_in_sixteen() {
    let text = file("corn-snake-snow");
    for (looks, parts) in [
        ("[\"normal\"]", 9.0),
        ("[\"amelanistic\"]", 3.0),
        ("[\"anerythristic\"]", 3.0),
        ("[\"snow\"]", 1.0),
    ] {
        let called = with(&text, "looks = [\"snow\"]", &format!("looks = {looks}"));
        same(CORN_SNAKE, 16.0 * log_evidence(&called).exp(), parts);
    }
}
