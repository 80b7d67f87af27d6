//! How a look is inherited, and whether two looks are one gene.

use proveout::presentation::{names, wording};
use proveout::questions::{
    AllelicAnswer, AllelicAsked, Asked, ModeAnswer, ModeAsked, allelic, mode,
};
use proveout::records::{Colony, Format, read};

use super::support::*;

const KASS: &str = "Kass, R. E. & Raftery, A. E. (1995). Bayes factors. JASA 90: 773–795";
const MORGAN_BRIDGES: &str =
    "Morgan, T. H. & Bridges, C. B. (1916). Sex-linked Inheritance in Drosophila";
/// Pages from memory.
const RAT_SNAKES: &str = "Bechtel, H. B. & Bechtel, E. (1985). Genetics of color mutations in the \
                          snake, Elaphe obsoleta. J. Hered. 76(1): 7–11";

pub const ROWS: &[Row] = &[
    Row { id: "BF-02", source: KASS, basis: READ, by: &[evidence_has_the_printed_words] },
    Row {
        id: "ALL-04",
        source: MORGAN_BRIDGES,
        basis: READ,
        by: &[straight_wings_of_bow_by_arc_exclude_one_gene, nine_to_seven_is_two_genes],
    },
    Row {
        id: "ALL-06",
        source: MORGAN_BRIDGES,
        basis: READ,
        by: &[thirty_thousand_flies_bound_the_crossover_between_yellow_and_spot],
    },
    Row {
        id: "REP-07",
        source: RAT_SNAKES,
        basis: READ,
        by: &[albinos_that_complement_are_two_genes_and_those_that_do_not_are_one],
    },
];

struct Told {
    colony: Colony,
    answer: ModeAnswer,
}

/// Asks how the one suspected gene of a file is inherited.
fn told(text: &str) -> Told {
    let colony = match read(text.as_bytes(), Format::Toml) {
        Ok(checked) => checked.colony,
        Err(errors) => panic!("{text}\ncannot be read: {errors:?}"),
    };
    let gene = colony.find_gene("new").unwrap();
    let asked = ModeAsked { gene, priors: Vec::new(), explain: false, memory: Asked::MEMORY };
    let answer = mode(&colony, &asked).unwrap();
    Told { colony, answer }
}

impl Told {
    fn at(&self, way: &str) -> usize {
        let named = |one: &proveout::questions::ModeResult| names::mode(&self.colony, one.mode);
        self.answer.modes.iter().position(|one| named(one) == way).unwrap()
    }

    fn posterior(&self, way: &str) -> f64 {
        self.answer.modes[self.at(way)].posterior
    }

    /// Powers of ten by which the records are likelier under one way than under another.
    fn tens(&self, one: &str, other: &str) -> f64 {
        let log = |way| self.answer.modes[self.at(way)].log_evidence;
        (log(one) - log(other)) / 10f64.ln()
    }

    /// Asserts that a way is likelier than all others together, and tells how likely.
    #[track_caller]
    fn wins(&self, source: &str, way: &str) {
        assert_eq!(self.answer.likeliest[0], self.at(way), "{source}: {:#?}", self.all());
        println!("{source}: {way} has {:.6}; all: {:?}", self.posterior(way), self.all());
        assert!(self.posterior(way) > 0.5, "{source}: {:#?}", self.all());
    }

    fn all(&self) -> Vec<(String, f64)> {
        let one =
            |m: &proveout::questions::ModeResult| (names::mode(&self.colony, m.mode), m.posterior);
        self.answer.modes.iter().map(one).filter(|(_, p)| *p > 1e-12).collect()
    }
}

fn colony(system: &str, background: f64, gene: &str, rest: &str) -> String {
    format!(
        "sex_system = \"{system}\"\n[assume]\nbackground = {background}\nmisread = 0\n\
         [gene.new]\ninheritance = \"unknown\"\n{gene}\n{rest}"
    )
}

fn animal(id: &str, sex: &str, look: &str) -> String {
    format!("[[animal]]\nid = \"{id}\"\nsex = \"{sex}\"\nlooks = [\"{look}\"]\n")
}

fn clutch(id: &str, dam: &str, sire: &str, more: &str) -> String {
    format!("[[clutch]]\nid = \"{id}\"\ndam = \"{dam}\"\nsire = \"{sire}\"\n{more}\n")
}

/// Counted young: males, females and unsexed.
fn count(look: &str, number: [f64; 3]) -> String {
    if number == [0.0; 3] {
        return String::new();
    }
    let [males, females, unsexed] = number;
    format!("[[clutch.count]]\nlooks = [\"{look}\"]\nnumber = \"{males}.{females}.{unsexed}\"\n")
}

/// Draws in a row, each at the rate that the earlier ones suggest.
fn urn(start: &[f64], counts: &[f64]) -> f64 {
    let up = |from: f64, n: f64| (0..n as u64).map(|i| (from + i as f64).ln()).sum::<f64>();
    let each: f64 = start.iter().zip(counts).map(|(from, n)| up(*from, *n)).sum();
    each - up(start.iter().sum(), counts.iter().sum())
}

#[test]
fn evidence_has_the_printed_words() {
    let bands = item("BF-02")["counts"]["2lnB / B"].as_object().unwrap();
    // The bands are read by B itself: `2–6 / 3–20` is 3 to 20.
    let by_factor = |text: &str| text.split_once(" / ").unwrap().1.to_string();
    let mut last = 1.0;
    for (words, band) in bands {
        let ours = match words.as_str() {
            "not worth more than a bare mention" => "hardly any",
            other => other,
        };
        let band = by_factor(band.as_str().unwrap());
        let upper = match band.split_once('–') {
            Some((lower, upper)) => {
                assert_eq!(lower.parse::<f64>().unwrap(), last);
                upper.parse::<f64>().unwrap()
            }
            None => {
                assert_eq!(band, format!(">{last}"));
                f64::INFINITY
            }
        };
        for inside in [last * 1.0001, (last * upper.min(1e9)).sqrt(), upper.min(1e9) * 0.9999] {
            assert_eq!(wording::strength_word(inside), ours, "{KASS}: {inside}");
        }
        last = upper;
    }
    assert_eq!(last, f64::INFINITY);
}

/// Yellow by yellow: two copies never hatch.
#[test]
pub fn of_all_ways_yellow_mice_have_two_copies_that_never_hatch() {
    const MICE: &str = "LET-01";
    let counts = observed(MICE);
    let parents = animal("dam", "female", "yellow") + &animal("sire", "male", "yellow");
    let young = count("yellow", [0.0, 0.0, counts[0]]) + &count("normal", [0.0, 0.0, counts[1]]);
    let gene = "looks = [\"yellow\"]\nfirst_seen = [\"dam\", \"sire\"]";
    let rest = parents + &clutch("A", "dam", "sire", &young);
    let answer = told(&colony("environmental", 0.0, gene, &rest));
    printed(MICE, answer.tens("incomplete dominant, lethal", "dominant"), "13.426");
    let nine = multinomial(&counts, &[2.0 / 3.0 * 16.0 / 9.0, 16.0 / 21.0]);
    same(MICE, answer.tens("incomplete dominant, lethal", "two dominant genes"), nine / 10f64.ln());
    answer.wins(MICE, "incomplete dominant, lethal");
}

#[test]
pub fn of_all_ways_white_eyes_are_recessive_on_the_x() {
    const FLIES: &str = "SEX-01";
    let [daughters, sons, white] = [0, 1, 2].map(|at| observed(FLIES)[at]);
    let counts = &item(FLIES)["counts"]["F1♀×white♂"];
    let back = |class: &str| counts[class].as_f64().unwrap();
    let parents = animal("white male", "male", "white") + &animal("red female", "female", "normal");
    let bred = "[[clutch.hatchling]]\nid = \"f\"\nsex = \"female\"\nlooks = [\"normal\"]\n\
                [[clutch.hatchling]]\nid = \"m\"\nsex = \"male\"\nlooks = [\"normal\"]\n";
    let second = count("normal", [sons, daughters, 0.0]) + &count("white", [white, 0.0, 0.0]);
    let third = count("normal", [back("red ♂"), back("red ♀"), 0.0])
        + &count("white", [back("white ♂"), back("white ♀"), 0.0]);
    let rest = parents
        + &clutch("F1", "red female", "white male", bred)
        + &clutch("F2", "f", "m", &second)
        + &clutch("back", "f", "white male", &third);
    let gene = "looks = [\"white\"]\nfirst_seen = [\"white male\"]";
    let answer = told(&colony("XY", 0.0, gene, &rest));
    let on_x = multinomial(&[sons, white], &[0.5, 0.5]);
    let not = multinomial(&[daughters + sons, white], &[0.75, 0.25]);
    let tens = (on_x - not) / 10f64.ln();
    same(FLIES, answer.tens("sex-linked recessive", "recessive"), tens);
    println!("{FLIES}: {tens} powers of ten");
    answer.wins(FLIES, "sex-linked recessive");
}

#[test]
pub fn of_all_ways_the_pale_moth_is_recessive_on_the_z() {
    const MOTH: &str = "SEX-02";
    let counts = &item(MOTH)["counts"]["a pooled"];
    let of = |class: &str| counts[class].as_f64().unwrap();
    let (sons, daughters) = (of("typical ♂"), of("lacticolor ♀"));
    let parents = animal("dam", "female", "normal") + &animal("sire", "male", "pale");
    let young = count("normal", [sons, 0.0, 0.0]) + &count("pale", [0.0, daughters, 0.0]);
    let gene = "looks = [\"pale\"]\nfirst_seen = [\"sire\"]";
    let rest = parents + &clutch("A", "dam", "sire", &young);
    let background = 0.005;
    let answer = told(&colony("ZW", background, gene, &rest));
    // Off the Z it takes a dam that hides it: 2pq against the q of one without.
    let hides = -(2.0 * background).log10();
    let tens = answer.tens("sex-linked recessive", "recessive");
    same(MOTH, tens, (sons + daughters) * 2f64.log10() + hides);
    printed(MOTH, tens - hides, "69.24");
    answer.wins(MOTH, "sex-linked recessive");
}

/// A cock without a tail, and tailed hens.
fn rumpless(rest: &str) -> String {
    let gene = "looks = [\"rumpless\"]\nfirst_seen = [\"cock\"]";
    colony("environmental", 0.0, gene, &(animal("cock", "male", "rumpless") + rest))
}

#[test]
pub fn of_two_rumpless_cocks_one_passes_it_on_and_one_does_not() {
    const COCKS: &str = "PEN-05";
    let counts = &item(COCKS)["counts"];
    let tailed = |cross: &str| {
        let list = numbers(&counts[cross]);
        assert_eq!(list[2], 0.0, "{COCKS}: {cross}");
        list[0] + list[1]
    };
    let young = |n: f64| count("normal", [0.0, 0.0, n]);
    let bred = "[[clutch.hatchling]]\nid = \"f\"\nsex = \"female\"\nlooks = [\"normal\"]\n\
                [[clutch.hatchling]]\nid = \"m\"\nsex = \"male\"\nlooks = [\"normal\"]\n";
    let (first, back, second) = (
        tailed("117 × tailed hens (present, small, absent)"),
        tailed("F1 hens × 117"),
        tailed("F1 × F1"),
    );
    let of_117 = animal("hen", "female", "normal")
        + &clutch("F1", "hen", "cock", &(bred.to_string() + &young(first - 2.0)))
        + &clutch("back", "f", "cock", &young(back))
        + &clutch("F2", "f", "m", &young(second));
    let answer = told(&rumpless(&of_117));
    let all = first + back + second;
    // The hen is a bird that was looked at, too.
    let chance = urn(&[1.0, 99.0], &[0.0, all + 1.0]);
    let recessive = back * 0.5f64.ln() + second * 0.75f64.ln();
    printed(COCKS, back * 0.5f64.log10(), "-28.6");
    printed(COCKS, second * 0.75f64.log10(), "-15.9");
    same(COCKS, answer.tens("chance", "recessive"), (chance - recessive) / 10f64.ln());
    let inherited = answer.answer.inherited();
    println!("{COCKS}: 117 inherited {inherited:e}; {:?}", answer.all());
    assert!(inherited < 1e-9, "{COCKS}: {inherited}");

    let hens = counts["116 per hen [hen,present,small,absent]"].as_array().unwrap();
    let mut rest = String::new();
    let (mut sum, mut by_clutch) = (0.0, 0.0);
    for row in hens {
        let row = numbers(row);
        let (yes, no) = (row[3], row[1] + row[2]);
        let id = format!("hen {}", row[0]);
        rest += &animal(&id, "female", "normal");
        rest += &clutch(
            &id.replace("hen", "by"),
            &id,
            "cock",
            &(count("rumpless", [0.0, 0.0, yes]) + &young(no)),
        );
        sum += yes + no;
        by_clutch += urn(&[0.1, 0.9], &[yes, no]);
    }
    let answer = told(&rumpless(&rest));
    assert_eq!(sum, 55.0);
    let clutch_effect = by_clutch + urn(&[1.0, 99.0], &[0.0, hens.len() as f64]);
    let tens = (sum * 0.5f64.ln() - clutch_effect) / 10f64.ln();
    same(COCKS, answer.tens("dominant", "clutch effect"), tens);
    let inherited = answer.answer.inherited();
    println!("{COCKS}: 116 inherited {inherited}; {:?}", answer.all());
    assert!(inherited > 0.99, "{COCKS}: {inherited}");
    assert!(answer.posterior("recessive") == 0.0);
}

/// One copy shows one look, two copies another, against mere variation of a dominant.
fn one_two_one(id: &str, looks: [&str; 2], [two, one, none]: [f64; 3]) {
    let [first, second] = looks;
    let parents = animal("dam", "female", first) + &animal("sire", "male", first);
    let young = count(second, [0.0, 0.0, two])
        + &count(first, [0.0, 0.0, one])
        + &count("normal", [0.0, 0.0, none]);
    let gene = format!("looks = [\"{first}\", \"{second}\"]\nfirst_seen = [\"dam\", \"sire\"]");
    let rest = parents + &clutch("A", "dam", "sire", &young);
    let answer = told(&colony("environmental", 0.0, &gene, &rest));
    let distinct = multinomial(&[two, one, none], &[0.25, 0.5, 0.25]);
    // Both parents showed the first look already.
    let varies = multinomial(&[two + one, none], &[0.75, 0.25]) + urn(&[3.0, 1.0], &[one, two]);
    same(id, answer.tens("incomplete dominant", "dominant"), (distinct - varies) / 10f64.ln());
    println!("{id}: {} powers of ten", (distinct - varies) / 10f64.ln());
    answer.wins(id, "incomplete dominant");
}

#[test]
pub fn of_all_ways_pink_snapdragons_are_incomplete_dominant() {
    let counts = observed("INC-03");
    one_two_one("INC-03", ["pink", "red"], [counts[0], counts[1], counts[2]]);
}

#[test]
pub fn of_all_ways_split_combs_are_incomplete_dominant() {
    // The grades that are told apart: 0 to 40.
    let table = &item("INC-01")["counts"]["parents' grade: [n, I, Y, none]"];
    let mut sums = [0.0; 3];
    for (grade, row) in table.as_object().unwrap() {
        if grade.parse::<u32>().unwrap() <= 40 {
            sums.iter_mut().zip(&numbers(row)[1..]).for_each(|(sum, n)| *sum += n);
        }
    }
    assert_eq!(sums, [223.0, 437.0, 216.0]);
    one_two_one("INC-01", ["split comb", "single comb"], sums);
}

fn one_gene(text: &str, names: [&str; 2]) -> AllelicAnswer {
    let colony = match read(text.as_bytes(), Format::Toml) {
        Ok(checked) => checked.colony,
        Err(errors) => panic!("{text}\ncannot be read: {errors:?}"),
    };
    let genes = names.map(|name| colony.find_gene(name).unwrap());
    let asked = AllelicAsked { genes, priors: [1.0 / 3.0; 3], memory: Asked::MEMORY };
    allelic(&colony, &asked).unwrap()
}

/// Two recessive genes, a parent that shows each, and their young.
fn shown_by_each(extra: &str, misread: f64, names: [&str; 2], young: &str) -> String {
    let gene = |name: &str| format!("[gene.{name}]\ninheritance = \"recessive\"\n{extra}");
    let parent = |id: &str, sex: &str, name: &str| {
        format!("[[animal]]\nid = \"{id}\"\nsex = \"{sex}\"\nsold_as = [\"{name}\"]\n")
    };
    let [one, other] = names;
    format!(
        "sex_system = \"XY\"\n[assume]\nbackground = 0\nmisread = {misread}\n{}{}{}{}{}",
        gene(one),
        gene(other),
        parent("dam", "female", one),
        parent("sire", "male", other),
        clutch("A", "dam", "sire", young),
    )
}

#[test]
pub fn of_all_ways_white_and_cherry_are_one_gene() {
    const EYES: &str = "ALL-01";
    let counts = observed(EYES);
    let young = |look: &str, number: String| {
        format!(
            "[[clutch.count]]\nlooks = [\"{look}\"]\nunread = [\"white\"]\nnumber = \"{number}\"\n"
        )
    };
    // The eye of a compound is not red; whether it is white as well is left open.
    let all = young("cherry", format!("0.{}.0", counts[0]))
        + &young("cherry", format!("{}.0.0", counts[1]));
    let sexed = "sex_linked = true\n";
    // Cherry bred true: no white among it.
    let at = |misread: f64| {
        let text = shown_by_each(sexed, misread, ["cherry", "white"], &all);
        let pure = with(&text, "[\"cherry\"]\n[[", "[\"cherry\", \"not het white\"]\n[[");
        one_gene(&pure, ["white", "cherry"])
    };
    assert_eq!(at(0.0).same_locus.posterior, 1.0, "{EYES}");
    let open = at(0.01);
    // Of what a compound may show, the newer look or both names are cherry.
    let tens = (open.same_locus.log_evidence - open.free.log_evidence) / 10f64.ln();
    same(EYES, tens, counts[0] * 99f64.log10() + (2.0f64 / 3.0).log10());
    assert_eq!(tens.floor(), 640.0, "{EYES}: printed +640, gave {tens}");
    println!("{EYES}: {tens} powers of ten");
}

#[test]
fn straight_wings_of_bow_by_arc_exclude_one_gene() {
    const WINGS: &str = "ALL-04";
    let first = &item(WINGS)["counts"]["bow♂×arc♀ F1"];
    let straight = first["wild ♀"].as_f64().unwrap() + first["wild ♂"].as_f64().unwrap();
    assert_eq!(straight, 146.0);
    let young = count("normal", [0.0, 0.0, straight]);
    let names = ["arc", "bow"];
    // As far as the wings tell; that one lies on the X is known from elsewhere.
    let sure = one_gene(&shown_by_each("", 0.0, names, &young), names);
    assert_eq!(sure.same_locus.posterior, 0.0, "{WINGS}");
    let m = 0.01f64;
    let open = one_gene(&shown_by_each("", m, names, &young), names);
    let normal = straight * 2.0 * (1.0 - m).ln();
    // The compound shows one look, the other or both: one or two calls have to be wrong.
    let one = straight * (m * (1.0 - m)).ln();
    let both = straight * 2.0 * m.ln();
    let compound = one + (2.0 / 3.0 + (both - one).exp() / 3.0).ln();
    let tens = (open.free.log_evidence - open.same_locus.log_evidence) / 10f64.ln();
    same(WINGS, tens, (normal - compound) / 10f64.ln());
    println!("{WINGS}: {tens} powers of ten against one gene");
    let text = shown_by_each("", 0.0, names, &young).replace(
        "[gene.bow]\ninheritance = \"recessive\"\n",
        "[gene.bow]\ninheritance = \"recessive\"\nsex_linked = true\n",
    );
    let apart = one_gene(&text, names);
    assert_eq!(apart.same_locus.log_evidence, f64::NEG_INFINITY);
    assert!(apart.warnings.iter().any(|said| said.contains("chromosome")), "{:?}", apart.warnings);
}

#[test]
fn nine_to_seven_is_two_genes() {
    const WINGS: &str = "ALL-04";
    let counts = observed(WINGS);
    let parents = animal("dam", "female", "straight") + &animal("sire", "male", "straight");
    let young = count("straight", [0.0, 0.0, counts[0]]) + &count("normal", [0.0, 0.0, counts[1]]);
    let gene = "looks = [\"straight\"]\nfirst_seen = [\"dam\", \"sire\"]";
    let rest = parents + &clutch("F2", "dam", "sire", &young);
    let answer = told(&colony("environmental", 0.0, gene, &rest));
    let tens = multinomial(&counts, &[9.0 / 12.0, 7.0 / 4.0]) / 10f64.ln();
    same(WINGS, answer.tens("two dominant genes", "dominant"), tens);
    println!("{WINGS}: 9:7 over 3:1 by {tens} powers of ten; {:?}", answer.all());
    assert_eq!(answer.answer.likeliest[0], answer.at("two dominant genes"), "{:?}", answer.all());
}

#[test]
fn thirty_thousand_flies_bound_the_crossover_between_yellow_and_spot() {
    const BODY: &str = "ALL-06";
    let use_of = item(BODY)["use"].as_str().unwrap();
    assert!(use_of.contains("0/30,000 → <1e-4 (95%)"), "{use_of}");
    let gene =
        |name: &str| format!("[gene.{name}]\ninheritance = \"recessive\"\nsex_linked = true\n");
    let young = count("yellow", [15_000.0, 0.0, 0.0]) + &count("spot", [15_000.0, 0.0, 0.0]);
    let text = format!(
        "sex_system = \"XY\"\n[assume]\nbackground = 0\nmisread = 0\n{}{}\
         [[animal]]\nid = \"dam\"\nsex = \"female\"\nsold_as = [\"het yellow\", \"het spot\"]\n\
         [[animal]]\nid = \"sire\"\nsex = \"male\"\nsold_as = [\"spot\"]\n{}",
        gene("yellow"),
        gene("spot"),
        clutch("A", "dam", "sire", &young),
    );
    let answer = one_gene(&text, ["yellow", "spot"]);
    let bound = answer.bound.unwrap();
    assert_eq!(bound.young, 30_000);
    assert!(bound.below < 1e-4, "{BODY}: {}", bound.below);
    same(BODY, bound.below, -((0.05f64.ln() / 30_000.0).exp_m1()));
    assert!(answer.free.posterior < 1e-300, "{BODY}");
    // ∫ (1−r)ⁿ over the rate, half of it for the phase.
    let linked = -(30_001.0f64.ln());
    let tens = answer.same_locus.log_evidence - answer.linked.log_evidence;
    same(BODY, tens, -linked);
    println!("{BODY}: bound {}; one locus over linked {}", bound.below, tens.exp());
}

#[test]
fn albinos_that_complement_are_two_genes_and_those_that_do_not_are_one() {
    const SNAKES: &str = "REP-07";
    assert!(
        item(SNAKES)["published"].as_str().unwrap().contains("some albinos allelic, others not")
    );
    let names = ["pink", "xanthic"];
    let normal = count("normal", [0.0, 0.0, 1.0]);
    let answer = one_gene(&shown_by_each("", 0.0, names, &normal), names);
    assert_eq!(answer.same_locus.posterior, 0.0, "{SNAKES}: a normal young excludes one gene");
    let albino = count("pink", [0.0, 0.0, 1.0]);
    let answer = one_gene(&shown_by_each("", 0.0, names, &albino), names);
    assert_eq!(answer.same_locus.posterior, 1.0, "{SNAKES}: an albino young excludes two");
}
