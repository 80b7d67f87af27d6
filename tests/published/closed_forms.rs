//! What follows by hand from the model, and what the trade takes for granted.
//!
//! Nothing here is in print; each number is a closed form, or common practice where it says so.

use super::support::*;

const BY_HAND: &str = "closed form";

/// Two founders and one clutch of counted young, at the given assumptions.
fn pair(assume: &str, genes: &str, dam: &str, sire: &str, young: &[(&str, usize)]) -> String {
    let mut text = format!(
        "[assume]\n{assume}\n{genes}\n[[animal]]\nid = \"dam\"\n{dam}\n\
         [[animal]]\nid = \"sire\"\n{sire}\n[[clutch]]\nid = \"clutch\"\ndam = \"dam\"\nsire = \"sire\"\n"
    );
    for (record, number) in young {
        text += &format!("[[clutch.count]]\n{record}\nnumber = {number}\n");
    }
    text
}

const EXACT: &str = "background = 0\nmisread = 0";
const DEFAULTS: &str = "background = 0.005\nmisread = 0.001";
const ASH: &str = "[gene.ash]\ninheritance = \"recessive\"";
const POSSIBLE: &str = "sold_as = [\"66% het ash\"]";
const PROVEN: &str = "sold_as = [\"het ash\"]";
const VISUAL: &str = "looks = [\"ash\"]";
const NORMAL_YOUNG: &str = "looks = [\"normal\"]";
const VISUAL_YOUNG: &str = "looks = [\"ash\"]";

fn carrier(text: &str, animal: &str) -> f64 {
    ask(text).chance(animal, "ash", "+/ash")
}

#[test]
fn normal_young_of_a_visual_mate_halve_the_odds_each() {
    let fractions = ["2/3", "1/2", "1/3", "1/5", "1/9", "1/17", "1/33", "1/65", "1/129"];
    for (young, print) in fractions.into_iter().enumerate() {
        let text = pair(EXACT, ASH, POSSIBLE, VISUAL, &[(NORMAL_YOUNG, young)]);
        same(BY_HAND, carrier(&text, "dam"), fraction(print));
    }
}

#[test]
fn normal_young_of_a_proven_mate_take_a_quarter_of_the_odds_each() {
    for young in 0..=200 {
        let text = pair(EXACT, ASH, POSSIBLE, PROVEN, &[(NORMAL_YOUNG, young)]);
        let odds = 2.0 * 0.75f64.powi(young as i32);
        same(BY_HAND, carrier(&text, "dam"), odds / (1.0 + odds));
        if let Some(print) = ["2/3", "3/5", "9/17"].get(young) {
            same(BY_HAND, carrier(&text, "dam"), fraction(print));
        }
    }
}

#[test]
fn two_possible_carriers_never_fall_below_two_fifths() {
    let mut before = 1.0;
    for young in 0..=200 {
        let text = pair(EXACT, ASH, POSSIBLE, POSSIBLE, &[(NORMAL_YOUNG, young)]);
        // Nine equal cases: both in four, one alone in two each, neither in one.
        let both = 4.0 * 0.75f64.powi(young as i32);
        let want = (both + 2.0) / (both + 5.0);
        for parent in ["dam", "sire"] {
            same(BY_HAND, carrier(&text, parent), want);
        }
        let chance = carrier(&text, "dam");
        // Beyond that the fall is finer than a double holds.
        assert!(young > 100 || 0.4 < chance && chance < before, "{young}: gave {chance}");
        before = chance;
    }
    same("the limit", before, 0.4);
}

#[test]
fn at_the_defaults_six_normal_young_leave_three_in_a_hundred() {
    let text = pair(DEFAULTS, ASH, POSSIBLE, VISUAL, &[(NORMAL_YOUNG, 6)]);
    printed(BY_HAND, 100.0 * carrier(&text, "dam"), "3.2");
}

#[test]
fn a_visual_founder_stays_visual_whatever_his_young_look_like() {
    let text = pair(DEFAULTS, ASH, POSSIBLE, VISUAL, &[(NORMAL_YOUNG, 6)]);
    let answer = ask(&text);
    let visual = answer.chance("sire", "ash", "ash/ash");
    // By enumeration of three by three genotypes; a wrong call is one in a thousand.
    let (wrong, q) = (0.001f64, 0.005f64);
    let rest = 1.0 - q * q;
    let sire = [
        (wrong * (1.0 - q) * (1.0 - q) / rest, 0.0),
        (wrong * 2.0 * q * (1.0 - q) / rest, 0.5),
        (1.0 - wrong, 1.0),
    ];
    let mut weights = [0.0; 3];
    for (dam_prior, dam_passes) in [(1.0 / 3.0, 0.0), (2.0 / 3.0, 0.5)] {
        for (weight, (prior, passes)) in weights.iter_mut().zip(sire) {
            let shows: f64 = dam_passes * passes;
            let normal = (1.0 - shows) * (1.0 - wrong) + shows * wrong;
            *weight += dam_prior * prior * normal.powi(6);
        }
    }
    same(BY_HAND, visual, weights[2] / weights.iter().sum::<f64>());
    assert!(visual > 0.99, "gave {visual}");
}

#[test]
fn one_clear_visual_proves_and_one_imagined_among_six_does_not() {
    let young = [(NORMAL_YOUNG, 3), (VISUAL_YOUNG, 1)];
    let text = pair(EXACT, ASH, POSSIBLE, VISUAL, &young);
    same(BY_HAND, carrier(&text, "dam"), 1.0);
    let imagined = format!("{ASH}\nmisread = {{ imagined = 0.01 }}");
    let young = [(NORMAL_YOUNG, 5), (VISUAL_YOUNG, 1)];
    // A sire told to be visual is one; a sire seen visual was imagined once in a hundred.
    let told = 0.505 * 0.495f64.powi(5) / (0.01 * 0.99f64.powi(5));
    for (sire, ratio) in [("sold_as = [\"ash\"]", told), (VISUAL, 0.99 * told + 0.01)] {
        let chance = carrier(&pair(EXACT, &imagined, POSSIBLE, sire, &young), "dam");
        printed(BY_HAND, ratio, "1.6");
        same(BY_HAND, chance, 2.0 * ratio / (1.0 + 2.0 * ratio));
        printed(BY_HAND, 100.0 * chance, "76");
    }
}

const TWO_GENES: &str = "[gene.tallow]\ninheritance = \"incomplete dominant\"\n\
                         [gene.ripple]\ninheritance = \"dominant\"";

/// Super tallow young that may show ripple as well; the dam gives it to half, or to none.
fn uncertain(dam: &str) -> String {
    let pair = pair(EXACT, TWO_GENES, dam, "looks = [\"super tallow\"]", &[]);
    format!(
        "{pair}[[clutch.hatchling]]\nid = \"young\"\neither = [\n\
         {{ looks = [\"super tallow\"], fit = 0.7 }},\n\
         {{ looks = [\"super tallow\", \"ripple\"], fit = 0.3 }},\n]\n"
    )
}

#[test]
fn a_look_alone_decides_where_the_pairing_gives_the_modifier_to_half() {
    let answer = ask(&uncertain("looks = [\"super tallow\", \"ripple\"]"));
    same(BY_HAND, answer.chance("young", "ripple", "+/+"), 0.7);
    same(BY_HAND, answer.chance("young", "ripple", "+/ripple"), 0.3);
}

#[test]
fn a_pairing_that_cannot_give_the_modifier_overrules_the_look() {
    let answer = ask(&uncertain("looks = [\"super tallow\"]"));
    same(BY_HAND, answer.chance("young", "ripple", "+/+"), 1.0);
    same(BY_HAND, answer.chance("young", "ripple", "+/ripple"), 0.0);
}

#[test]
fn the_call_of_one_hatchling_moves_its_parents_and_its_siblings() {
    let parents = pair(EXACT, ASH, POSSIBLE, PROVEN, &[]);
    let sib = "[[clutch.hatchling]]\nid = \"sib\"\n";
    let untested = ask(&format!("{parents}{sib}"));
    same(BY_HAND, untested.chance("dam", "ash", "+/ash"), 2.0 / 3.0);
    same(BY_HAND, untested.chance("sib", "ash", "ash/ash"), 2.0 / 3.0 / 4.0);
    for (look, dam) in [("ash", 1.0), ("normal", 3.0 / 5.0)] {
        let other = format!("[[clutch.hatchling]]\nid = \"other\"\nlooks = [\"{look}\"]\n");
        let answer = ask(&format!("{parents}{sib}{other}"));
        same(BY_HAND, answer.chance("dam", "ash", "+/ash"), dam);
        same(BY_HAND, answer.chance("sib", "ash", "ash/ash"), dam / 4.0);
    }
    // The same from an uncertain call: visual with 0.8, normal with 0.2.
    let either = "[[clutch.hatchling]]\nid = \"other\"\neither = [\n\
                  { looks = [\"ash\"], fit = 0.8 },\n{ looks = [\"normal\"], fit = 0.2 },\n]\n";
    let answer = ask(&format!("{parents}{sib}{either}"));
    let (carries, clear) = (2.0 * (0.8 * 0.25 + 0.2 * 0.75), 0.2);
    let dam = carries / (carries + clear);
    same(BY_HAND, answer.chance("dam", "ash", "+/ash"), dam);
    same(BY_HAND, answer.chance("sib", "ash", "ash/ash"), dam / 4.0);
}

#[test]
fn an_animal_with_two_alleles_gives_each_young_exactly_one() {
    const PRACTICE: &str = "common practice, no source";
    let genes = "[gene.shade]\nalleles = [\"fern\", \"moss\"]\n[gene.shade.looks]\n\
                 \"+/fern\" = \"fern\"\n\"+/moss\" = \"moss\"\n\"fern/fern\" = \"super fern\"\n\
                 \"moss/moss\" = \"super moss\"\n\"fern/moss\" = \"bracken\"";
    let young = [("looks = [\"fern\"]", 3), ("looks = [\"moss\"]", 2)];
    let text = pair(EXACT, genes, "looks = [\"bracken\"]", "looks = [\"normal\"]", &young);
    same(PRACTICE, log_evidence(&text), 5.0 * 0.5f64.ln());
    let answer = ask(&format!("{text}[[clutch.hatchling]]\nid = \"next\"\n"));
    for (genotype, chance) in [
        ("+/fern", 0.5),
        ("+/moss", 0.5),
        ("+/+", 0.0),
        ("fern/moss", 0.0),
        ("fern/fern", 0.0),
        ("moss/moss", 0.0),
    ] {
        same(PRACTICE, answer.chance("next", "shade", genotype), chance);
    }
    // A young with neither, or with both, cannot be.
    for look in ["normal", "bracken"] {
        let other = format!("{text}[[clutch.count]]\nlooks = [\"{look}\"]\nnumber = 1\n");
        assert!(try_ask(&other).is_none(), "{look} is impossible");
    }
}

const RIPPLE: &str = "[gene.ripple]\ninheritance = \"dominant\"\nlethal = \"two copies\"\n";

#[test]
fn sixteen_showing_and_nine_normal_favour_a_lethal_double_by_two_to_one() {
    let young = [("looks = [\"ripple\"]", 16), ("looks = [\"normal\"]", 9)];
    let told = "sold_as = [\"het ripple\"]";
    let text = pair(EXACT, RIPPLE, told, told, &young);
    let gain = log_evidence(&text) - log_evidence(&with(&text, "lethal = \"two copies\"\n", ""));
    same(BY_HAND, gain, multinomial(&[16.0, 9.0], &[8.0 / 9.0, 4.0 / 3.0]));
    printed(BY_HAND, gain.exp(), "2.0231");
}

#[test]
fn a_founder_is_never_a_lethal_homozygote() {
    for founder in ["", "looks = [\"ripple\"]", "looks = [\"normal\"]", "sold_as = [\"ripple\"]"] {
        let text = pair("background = 0.3\nmisread = 0.05", RIPPLE, founder, "", &[]);
        let answer = ask(&text);
        for animal in ["dam", "sire"] {
            for two in [
                answer.prior(animal, "ripple", "ripple/ripple"),
                answer.chance(animal, "ripple", "ripple/ripple"),
            ] {
                same(BY_HAND, two, 0.0);
            }
        }
        // Nothing told: random mating without the double.
        same(BY_HAND, answer.chance("sire", "ripple", "+/ripple"), 0.42 / 0.91);
    }
}

#[test]
fn fifteen_hundred_young_of_one_pair_do_not_underflow() {
    let split = [(NORMAL_YOUNG, 1125), (VISUAL_YOUNG, 375)];
    let text = pair("background = 0\nmisread = 0.001", ASH, POSSIBLE, POSSIBLE, &split);
    let answer = ask(&text);
    for parent in ["dam", "sire"] {
        same(BY_HAND, answer.chance(parent, "ash", "+/ash"), 1.0);
    }
    let shows = 0.25 * 0.999 + 0.75 * 0.001;
    let want = 2.0 * (2.0f64 / 3.0).ln() + multinomial(&[1125.0, 375.0], &[1.0 - shows, shows]);
    same(BY_HAND, answer.log_evidence(), want);
}

#[test]
fn fifteen_hundred_young_of_clear_parents_look_wrong_one_in_a_thousand() {
    // Two visuals among 1,500: misread from clear parents, as carriers would give hundreds.
    let split = [(NORMAL_YOUNG, 1498), (VISUAL_YOUNG, 2)];
    let text = pair("background = 0\nmisread = 0.001", ASH, POSSIBLE, POSSIBLE, &split);
    let answer = ask(&text);
    same(BY_HAND, answer.chance("dam", "ash", "+/ash"), 0.4);
    let want = (5.0f64 / 9.0).ln() + multinomial(&[1498.0, 2.0], &[0.999, 0.001]);
    same(BY_HAND, answer.log_evidence(), want);
}

#[test]
fn fifteen_hundred_contradictions_are_weighed_and_not_lost() {
    // A visual female and a visual male, and 1,500 normal young: every call, or a parent, is wrong.
    let young = [(NORMAL_YOUNG, 1500)];
    let sold = "sold_as = [\"ash\"]";
    let text = pair("background = 0\nmisread = 0.001", ASH, sold, sold, &young);
    same(BY_HAND, log_evidence(&text), 1500.0 * 0.001f64.ln());
}
