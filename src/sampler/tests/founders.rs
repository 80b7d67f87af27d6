use super::*;
use crate::records::Genotype;

const N: usize = 4000;

/// The share of many equal founders that satisfies `what` at the first gene.
fn founders(assume: &str, gene: &str, record: &str, what: impl Fn(Genotype) -> bool) -> f64 {
    let all: String = (0..N).map(|n| format!("[[animal]]\nid = \"f{n}\"\n{record}\n")).collect();
    let (_, truth) = drawn(&format!("[assume]\n{assume}\n{gene}\n{all}"), 21);
    truth.animals.iter().filter(|genome| what(genome.genotype(GeneId(0)))).count() as f64
}

const CARRIER: fn(Genotype) -> bool = |genotype| genotype == Genotype::Two(0, 1);
const BOTH: fn(Genotype) -> bool = |genotype| genotype == Genotype::Two(1, 1);
const RECESSIVE: &str = "[gene.x]\ninheritance = \"recessive\"";
const DOMINANT: &str = "[gene.x]\ninheritance = \"dominant\"";

#[test]
fn unseen_founders_are_in_random_mating_proportions() {
    let assume = "background = 0.2\nmisread = 0";
    share(founders(assume, RECESSIVE, "", CARRIER), N, 0.32);
    share(founders(assume, RECESSIVE, "", BOTH), N, 0.04);
}

#[test]
fn a_founder_called_normal_may_still_be_misread() {
    let record = "looks = []";
    let normal = |m: f64| (0.96 * (1.0 - m), 0.04 * m);
    let (seen, missed) = normal(0.2);
    let share_of_both = missed / (seen + missed);
    share(founders("background = 0.2\nmisread = 0.2", RECESSIVE, record, BOTH), N, share_of_both);
}

#[test]
fn a_founder_never_has_a_lethal_genotype() {
    let gene = format!("{DOMINANT}\nlethal = \"two copies\"");
    let assume = "background = 0.5\nmisread = 0";
    assert_eq!(founders(assume, &gene, "", BOTH), 0.0);
    share(founders(assume, &gene, "", CARRIER), N, 2.0 / 3.0);
}

#[test]
fn a_founder_kept_for_its_look_shows_it_unless_the_call_is_wrong() {
    let record = "looks = [\"x\"]";
    // With no background: the limit of rarity.
    let assume = "background = 0\nmisread = 0.1";
    share(founders(assume, RECESSIVE, record, BOTH), N, 0.9);
    share(founders(assume, DOMINANT, record, CARRIER), N, 0.9);
    // A dominant in stock of frequency 1/2: one copy twice as often as two.
    share(founders("background = 0.5\nmisread = 0", DOMINANT, record, BOTH), N, 1.0 / 3.0);
    let apart = format!("{RECESSIVE}\nmisread = {{ imagined = 0.2, missed = 0.5 }}");
    share(founders(assume, &apart, record, BOTH), N, 0.8);
}

#[test]
fn statements_are_right_with_their_trust() {
    let assume = "background = 0\nmisread = 0\ntrust = 0.8";
    let told = |text: &str| format!("sold_as = [\"{text}\"]");
    share(founders(assume, RECESSIVE, &told("66% het x"), CARRIER), N, 0.8 * 2.0 / 3.0);
    share(founders(assume, RECESSIVE, &told("40% het x"), CARRIER), N, 0.8 * 0.4);
    share(founders(assume, RECESSIVE, &told("x"), BOTH), N, 0.8);
    let own = format!("{}\ntrust = 0.5", told("het x"));
    share(founders(assume, RECESSIVE, &own, CARRIER), N, 0.5);
    let assume = "background = 0.5\nmisread = 0\ntrust = 0.8";
    share(founders(assume, RECESSIVE, &told("not het x"), CARRIER), N, 0.2 * 0.5);
}

#[test]
fn a_statement_and_a_look_share_the_weight_as_the_model_says() {
    // t·P(G | S)·P(call | G) + (1 - t)·B(G): two copies 0.5 · 0.9 from either part, the wrong
    // call 0.5 · 0.1 from the second part only.
    let record = "looks = [\"x\"]\nsold_as = [\"x\"]\ntrust = 0.5";
    let both = (0.45 + 0.45) / (0.45 + 0.45 + 0.05);
    share(founders("background = 0\nmisread = 0.1", RECESSIVE, record, BOTH), N, both);
}

#[test]
fn an_uncertain_founder_is_one_of_its_alternatives() {
    let record = "either = [{ looks = [\"x\"], fit = 3 }, { looks = [], fit = 1 }]";
    // The second has the chance of being called normal as a factor.
    let second = 0.25 * 0.99 * 0.9 + 0.25 * 0.01 * 0.1;
    let both = 0.75 * 0.9 + 0.25 * 0.01 * 0.1;
    let got = founders("background = 0.1\nmisread = 0.1", RECESSIVE, record, BOTH);
    share(got, N, both / (0.75 + second));
}

#[test]
fn what_cannot_be_is_an_error() {
    let read = |text: &str| read(text.as_bytes(), Format::Toml).unwrap().colony;
    let pure = format!("[assume]\n{PURE}{RECESSIVE}\n");
    let contradiction =
        format!("{pure}[[animal]]\nid = \"f\"\nlooks = [\"x\"]\nsold_as = [\"not het x\"]\n");
    let error = fill(&read(&contradiction), 1).unwrap_err();
    assert_eq!(error.to_string(), "no genotype fits the records of animal 1");
    let unknown = "[gene.x]\ninheritance = \"unknown\"\n[[animal]]\nid = \"f\"\n";
    let error = fill(&read(unknown), 1).unwrap_err();
    assert_eq!(error.to_string(), "how gene 1 is inherited is not declared");
    let all_lost =
        format!("{pure}[[clutch]]\nid = \"c\"\ndam = \"unknown\"\n[[clutch.hatchling]]\n");
    let error = fill(&read(&all_lost.replace("egg_loss = 0\n", "egg_loss = 1\n")), 1).unwrap_err();
    assert_eq!(error.to_string(), "clutch 1 cannot have such young");
}
