//! Is the judge right? Closed forms, from first principles, and its two ways of summing against
//! each other.

mod judge;

use std::collections::BTreeMap;

use judge::{
    Build, Exact, float, fraction, judge as verdict, judge_evidence, judge_literally, judge_prior,
    ln,
};
use proveout::records::{
    AnimalId, Candidate, Colony, Genotype, Sex, Sex::Female, Sex::Male, SexSystem, SexSystem::Xy,
    SexSystem::Zw,
};

const CLEAR: Genotype = Genotype::Two(0, 0);
const CARRIER: Genotype = Genotype::Two(0, 1);
const TWO_COPIES: Genotype = Genotype::Two(1, 1);

fn chance(colony: &Colony, animal: &str, gene: usize, genotype: Genotype) -> Exact {
    let animal = colony.find_animal(animal).expect("an animal of the colony");
    verdict(colony).chance(animal, gene, genotype)
}

/// Whether a number is this fraction but for the rounding of the `f64`s in the records.
fn close(got: &Exact, above: i64, below: i64) -> bool {
    let error = got - fraction(above, below);
    error < fraction(1, 1 << 50) && error > fraction(-1, 1 << 50)
}

fn power(above: i64, below: i64, exponent: usize) -> Exact {
    judge::exact::power(&fraction(above, below), exponent)
}

/// A pair of animals with one recessive gene, background 0, misread 0.
fn pair(dam: impl Fn(Build) -> Build, sire: impl Fn(Build) -> Build) -> Build {
    let build = dam(Build::exact().recessive("ash").founder("Dam", Female));
    sire(build.founder("Sire", Male)).clutch("A", "Dam", "Sire")
}

fn sold(text: &'static str) -> impl Fn(Build) -> Build {
    move |build| build.sold_as(text)
}

fn seen(looks: &'static str) -> impl Fn(Build) -> Build {
    move |build| build.looks(looks)
}

#[test]
fn normals_from_a_visual_mate_halve_the_odds_of_a_possible_carrier() {
    for n in 0..=8 {
        let possible = pair(sold("66% het ash"), seen("ash")).count("normal", n).colony();
        let got = chance(&possible, "Dam", 0, CARRIER);
        assert!(close(&got, 2, 2 + (1 << n)), "after {n} normals {got}");
        let even = pair(sold("50% het ash"), seen("ash")).count("normal", n).colony();
        assert_eq!(chance(&even, "Dam", 0, CARRIER), fraction(1, 1 + (1 << n)));
    }
}

#[test]
fn normals_from_a_proven_carrier_take_a_quarter_of_the_odds() {
    for n in 0..=5 {
        let colony = pair(sold("66% het ash"), sold("het ash")).count("normal", n).colony();
        let (carrier, clear) = (2 * 3i64.pow(n), 4i64.pow(n));
        assert!(close(&chance(&colony, "Dam", 0, CARRIER), carrier, carrier + clear));
    }
}

#[test]
fn two_possible_carriers_never_fall_below_two_in_five() {
    for n in 0..=6 {
        let colony = pair(sold("66% het ash"), sold("66% het ash")).count("normal", n).colony();
        // both 4 · (3/4)^n, one 2 and 2, none 1
        let (both, rest) = (4 * 3i64.pow(n), 4i64.pow(n));
        let got = chance(&colony, "Dam", 0, CARRIER);
        assert!(close(&got, both + 2 * rest, both + 5 * rest));
        assert!(got > fraction(2, 5));
    }
}

#[test]
fn one_clear_visual_proves_and_a_doubtful_one_does_not() {
    let proven = pair(sold("66% het ash"), seen("ash")).count("normal", 3).count("ash", 1);
    assert_eq!(chance(&proven.colony(), "Dam", 0, CARRIER), fraction(1, 1));
    let doubtful = Build::exact()
        .recessive("ash")
        .misread_apart(0.0, 0.01, 0.0)
        .founder("Dam", Female)
        .sold_as("66% het ash")
        .founder("Sire", Male)
        .reading("ash", "ash/ash", 1.0)
        .background(&[0.5])
        .clutch("A", "Dam", "Sire")
        .count("normal", 5)
        .count("ash", 1)
        .colony();
    let got = float(&chance(&doubtful, "Dam", 0, CARRIER));
    let odds: f64 = 2.0 * 0.505 / 32.0 / 0.01;
    assert!((got - odds / (1.0 + odds)).abs() < 1e-12, "{got}");
}

#[test]
fn two_double_carriers_throw_nine_three_three_one() {
    let shares = [("normal", 9), ("ash", 3), ("fern", 3), ("ash, fern", 1)];
    for (looks, sixteenths) in shares {
        let colony = Build::exact()
            .recessive("ash")
            .recessive("fern")
            .founder("Dam", Female)
            .sold_as("het ash, het fern")
            .founder("Sire", Male)
            .sold_as("het ash, het fern")
            .clutch("A", "Dam", "Sire")
            .count(looks, 2)
            .colony();
        assert_eq!(judge_evidence(&colony), power(sixteenths, 16, 2), "{looks}");
    }
}

#[test]
fn an_uncertain_call_follows_its_fit_where_the_pairing_gives_both_equally() {
    let young = |sire: &'static str| {
        Build::exact()
            .incomplete("tallow")
            .recessive("ash")
            .founder("Dam", Female)
            .sold_as("super tallow, ash")
            .founder("Sire", Male)
            .sold_as(sire)
            .clutch("A", "Dam", "Sire")
            .young("X")
            .either(&[("super tallow", 0.7), ("super tallow, ash", 0.3)])
            .colony()
    };
    let both = verdict(&young("super tallow, het ash"));
    let close_to = |classes: &[usize], tenths: i64| {
        close(&both.identities(AnimalId(2))[&classes.to_vec()], tenths, 10)
    };
    assert!(close_to(&[2, 0], 7) && close_to(&[2, 1], 3));
    let one = verdict(&young("super tallow, not het ash"));
    assert_eq!(one.identities(AnimalId(2)), BTreeMap::from([(vec![2, 0], fraction(1, 1))]));
    let moved = young("super tallow, 50% het ash");
    // carrier: ½ · 0.7 + ½ · 0.3; clear: 0.7
    assert!(close(&chance(&moved, "Sire", 1, CARRIER), 5, 12));
}

#[test]
fn every_young_of_a_compound_parent_has_exactly_one_of_its_alleles() {
    let shows = ["+/fern = fern", "+/moss = moss", "fern/moss = bracken"];
    let colony = Build::exact()
        .series("shade", &["fern", "moss"], &shows)
        .founder("Dam", Female)
        .looks("bracken")
        .founder("Sire", Male)
        .looks("normal")
        .clutch("A", "Dam", "Sire")
        .young("X")
        .colony();
    assert_eq!(chance(&colony, "X", 0, Genotype::Two(0, 1)), fraction(1, 2));
    assert_eq!(chance(&colony, "X", 0, Genotype::Two(0, 2)), fraction(1, 2));
}

#[test]
fn a_founder_bought_for_its_look_is_believed() {
    let colony = Build::new()
        .recessive("ash")
        .founder("Dam", Female)
        .sold_as("66% het ash")
        .founder("Sire", Male)
        .looks("ash")
        .clutch("A", "Dam", "Sire")
        .count("normal", 6)
        .colony();
    assert!(float(&chance(&colony, "Sire", 0, TWO_COPIES)) > 0.9);
    let dam = float(&chance(&colony, "Dam", 0, CARRIER));
    assert!((dam - 0.032).abs() < 0.0005, "{dam}");
}

#[test]
fn a_look_without_mass_is_taken_at_the_limit_of_rare_alleles() {
    let one_copy = Build::exact().dominant("ripple").founder("Dam", Female).looks("ripple");
    assert_eq!(chance(&one_copy.colony(), "Dam", 0, CARRIER), fraction(1, 1));
    let told = Build::exact().recessive("ash").founder("Dam", Female).sold_as("ash").colony();
    assert_eq!(chance(&told, "Dam", 0, TWO_COPIES), fraction(1, 1));
    // the evidence is conditional on the look
    assert_eq!(judge_evidence(&told), fraction(1, 1));
}

#[test]
fn lethal_two_copies_leave_two_to_one_and_a_founder_is_never_one() {
    let colony = |lethal: &str| {
        let build = Build::exact().dominant("ripple").lethal(lethal);
        build
            .founder("Dam", Female)
            .sold_as("het ripple")
            .founder("Sire", Male)
            .sold_as("het ripple")
            .clutch("A", "Dam", "Sire")
            .count("ripple", 16)
            .count("normal", 9)
    };
    let gain = ln(&judge_evidence(&colony("ripple/ripple").colony()))
        - ln(&judge_evidence(&colony("").colony()));
    let closed = 16.0 * (8f64 / 9.0).ln() + 9.0 * (4f64 / 3.0).ln();
    assert!((gain - closed).abs() < 1e-12 && (gain - 0.7046).abs() < 1e-4, "{gain}");
    let founder = Build::new().dominant("ripple").lethal("ripple/ripple").background(&[0.5]);
    let founder = founder.founder("Dam", Female).colony();
    assert_eq!(chance(&founder, "Dam", 0, CARRIER), fraction(2, 3));
}

#[test]
fn eggs_that_died_are_evidence_when_losses_are_known() {
    let colony = Build::exact()
        .assume(|assume| assume.egg_loss = 0.125)
        .dominant("ripple")
        .lethal("ripple/ripple")
        .founder("Dam", Female)
        .sold_as("het ripple")
        .founder("Sire", Male)
        .sold_as("50% het ripple")
        .clutch("A", "Dam", "Sire")
        .count("normal", 2);
    // eggs 5, one slug: two lost. Hatching normal: 1/4 · 7/8 or 1/2 · 7/8; hatching 3/4 · 7/8 or 7/8
    let known = colony.clone().eggs(5, 1).colony();
    let carrier = power(7, 32, 2) * power(11, 32, 2);
    let clear = power(7, 16, 2) * power(1, 8, 2);
    assert_eq!(chance(&known, "Sire", 0, CARRIER), &carrier / (&carrier + clear));
    // not known: 1/3 each against 1/2 each
    let unknown = colony.colony();
    assert_eq!(chance(&unknown, "Sire", 0, CARRIER), fraction(4, 13));
    assert_eq!(judge_evidence(&unknown), fraction(1, 2) * (fraction(1, 9) + fraction(1, 4)));
}

#[test]
fn masks_age_and_the_first_day_of_judging_make_genes_unread() {
    let base = || {
        let build = Build::exact().recessive("ash").recessive("fern");
        build.judged_since("2024-06-01").judged_on_adults()
    };
    let told = |build: Build| {
        let build = build.founder("Dam", Female).sold_as("50% het ash, 50% het fern");
        build.founder("Sire", Male).sold_as("ash, fern").clutch("A", "Dam", "Sire")
    };
    let fern = |build: Build| chance(&build.colony(), "Dam", 1, CARRIER);
    let half = fraction(1, 2);
    assert_eq!(fern(told(base()).young("X").looks("normal")), half);
    assert_eq!(fern(told(base()).young("X").grown("normal")), fraction(1, 3));
    assert_eq!(fern(told(base()).hatched("2024-05").young("X").grown("normal")), half);
    assert_eq!(fern(told(base()).hatched("2024").young("X").grown("normal")), fraction(1, 3));
    let masked = told(base().mask("ash", "gene fern")).young("X").grown("ash");
    assert_eq!(fern(masked), half);
    let look_hidden = told(base().mask("ash", "fern")).young("X").grown("ash");
    assert_eq!(fern(look_hidden), half);
    // a later call replaces the earlier one for genes that are judged at any age
    let corrected = told(base()).young("X").looks("ash").grown("normal");
    assert_eq!(chance(&corrected.colony(), "Dam", 0, CARRIER), fraction(1, 3));
}

#[test]
fn another_sire_is_a_floor_that_more_eggs_do_not_lower() {
    let at = |normals: u32| {
        let build = pair(seen("ash"), sold("66% het ash"));
        let build = build.assume(|assume| assume.other_sire = 0.05).count("normal", normals);
        float(&chance(&build.colony(), "Sire", 0, CARRIER))
    };
    let closed =
        |n: i32| 2.0 * (0.95 / 2f64.powi(n) + 0.05) / (2.0 * (0.95 / 2f64.powi(n) + 0.05) + 1.0);
    assert!((at(8) - closed(8)).abs() < 1e-12 && (at(8) - 0.0970).abs() < 5e-5);
    assert!(at(40) > 0.0909);
}

#[test]
fn sires_in_doubt_are_told_apart_by_clutch_or_by_egg() {
    let build = |looks: &[&str], mixed: bool| {
        let build = Build::exact().recessive("ash");
        let build = build.founder("Dam", Female).sold_as("ash").founder("Bram", Male);
        let build = build.sold_as("ash").founder("Otis", Male).sold_as("het ash");
        let build = build.clutch("A", "Dam", "").sires(&[("Bram", 3.0), ("Otis", 1.0)]);
        let build = if mixed { build.mixed() } else { build };
        looks.iter().fold(build, |build, look| build.young("").looks(look)).colony()
    };
    let clutch = verdict(&build(&["ash", "ash"], false));
    // 3 · 1 against 1 · 1/4
    assert_eq!(clutch.clutch_sires[&0][0], (Candidate::Known(AnimalId(1)), fraction(12, 13)));
    let eggs = verdict(&build(&["ash", "normal"], true));
    assert_eq!(eggs.egg_sires[&3][0].1, fraction(6, 7));
    assert_eq!(eggs.egg_sires[&4][0].1, fraction(0, 1));
    assert_eq!(eggs.evidence, fraction(7, 8) * fraction(1, 8));
}

#[test]
fn a_mixed_up_hatchling_comes_from_unrelated_stock() {
    let build = pair(sold("ash"), sold("ash")).assume(|assume| assume.mix_up = 0.25);
    let colony = build.young("X").looks("normal").young("").looks("ash").colony();
    assert_eq!(judge_evidence(&colony), fraction(1, 4));
    assert_eq!(chance(&colony, "X", 0, CLEAR), fraction(1, 1));
}

/// A woman whose mother carries has n healthy sons: the chance that she carries too is 1/(1 + 2^n).
#[test]
fn normal_sons_speak_against_a_carrier_of_a_sex_linked_gene() {
    for (system, carrier, other, sex) in [(Xy, Female, Male, Male), (Zw, Male, Female, Female)] {
        for n in 0..5 {
            let build = Build::exact().sex_system(system).recessive("ash").sex_linked(None);
            let build = build.founder("Carrier", carrier).sold_as("50% het ash");
            let build = build.founder("Mate", other).looks("normal");
            let (dam, sire) =
                if carrier == Female { ("Carrier", "Mate") } else { ("Mate", "Carrier") };
            let mut number = [0, 0, 0];
            number[usize::from(sex == Female)] = n;
            let colony = build.clutch("A", dam, sire).count_by_sex("normal", number).colony();
            assert_eq!(chance(&colony, "Carrier", 0, CARRIER), fraction(1, 1 + (1 << n)));
            assert_eq!(chance(&colony, "Mate", 0, Genotype::One(0)), fraction(1, 1));
        }
    }
}

#[test]
fn a_gene_on_both_sex_chromosomes_follows_its_crossover() {
    let family = |sex: Sex| {
        let build = Build::exact().sex_system(Xy).dominant("ripple").sex_linked(Some(0.25));
        let build = build.founder("Grandsire", Male).sold_as("ripple").founder("Mate", Female);
        let build = build.sold_as("not het ripple").clutch("A", "Mate", "Grandsire");
        let build = build.young("Sire").looks("ripple").clutch("B", "Mate", "Sire");
        build.young("X").sex(sex).looks("ripple").colony()
    };
    // Grandsire has it on X or Y alike, so Sire gets Y with it in a quarter of all eggs, and then
    // has it on Y; his young get it with X in 1/4 and with Y in 3/4 of the half that get it.
    assert_eq!(judge_evidence(&family(Female)), fraction(1, 4) * fraction(1, 8));
    assert_eq!(judge_evidence(&family(Male)), fraction(1, 4) * fraction(3, 8));
}

#[test]
fn phase_is_learnt_from_young_and_pays_off_in_the_next() {
    let build = |second: &str| {
        let build = Build::exact().dominant("ripple").dominant("quill");
        let build = build.linked("ripple, quill", &[0.125], &[0.25]);
        let build = build.founder("Dam", Female).sold_as("het ripple, het quill");
        let build = build.founder("Sire", Male).sold_as("not het ripple, not het quill");
        let build = build.clutch("A", "Dam", "Sire").young("").looks("ripple, quill");
        judge_evidence(&build.young("").looks(second).colony())
    };
    // coupling or repulsion, ½ each; r = 1/8 in the dam
    let like = |a: Exact, b: Exact| (power(7, 16, 1) * a + power(1, 16, 1) * b) * fraction(1, 2);
    assert_eq!(build("ripple, quill"), like(fraction(7, 16), fraction(1, 16)));
    assert_eq!(build("ripple"), like(fraction(1, 16), fraction(7, 16)));
}

#[test]
fn a_birth_without_a_father_has_its_own_ratios() {
    let young = |system: SexSystem, sex: Sex, look: &str| {
        let build = Build::exact().sex_system(system).recessive("ash");
        let build = build.assume(|assume| assume.virgin_heterozygosity = 0.25);
        let build = build.founder("Dam", Female).sold_as("het ash").clutch("A", "Dam", "none");
        judge_evidence(&build.young("").sex(sex).looks(look).colony())
    };
    // two copies: (1 − h)/2; the sex: XY all daughters, ZW sons (1 − h)/(1 + h)
    assert_eq!(young(Xy, Female, "ash"), fraction(3, 8));
    assert_eq!(young(Xy, Male, "ash"), fraction(0, 1));
    assert_eq!(young(Zw, Male, "ash"), fraction(3, 8) * fraction(3, 5));
    assert_eq!(young(Zw, Female, "ash"), fraction(3, 8) * fraction(2, 5));
    assert_eq!(young(SexSystem::Environmental, Male, "normal"), fraction(5, 8));
    // on Z only: sons have the dam's allele twice, daughters once
    let build = Build::exact().sex_system(Zw).recessive("ash").sex_linked(None);
    let build = build.founder("Dam", Female).looks("ash").clutch("A", "Dam", "none");
    let colony = build.young("Son").sex(Male).colony();
    assert_eq!(chance(&colony, "Son", 0, TWO_COPIES), fraction(1, 1));
}

#[test]
fn selective_records_are_put_right() {
    let clutch = || pair(sold("het ash"), sold("50% het ash"));
    // only visuals written down: a clear sire gives none
    let only = clutch().recorded_only("ash").count("ash", 3).colony();
    assert_eq!(judge_evidence(&only), fraction(1, 2));
    assert_eq!(chance(&only, "Sire", 0, CARRIER), fraction(1, 1));
    // kept because of one in four: 3 · (1/4)(3/4)^3 / (1 − (3/4)^4) per order
    let kept = clutch().kept_if("ash").count("normal", 3).count("ash", 1).colony();
    let closed = fraction(27, 256) / (fraction(1, 1) - power(3, 4, 4));
    assert_eq!(judge_evidence(&kept), closed * fraction(1, 2));
}

#[test]
fn a_lone_belief_ends_where_it_was() {
    let build = pair(sold("het ash"), sold("ash"));
    let build = build.young("X").either(&[("normal", 0.125), ("ash", 0.875)]).believed();
    let colony = build.count("normal", 4).colony();
    assert_eq!(chance(&colony, "X", 0, TWO_COPIES), fraction(7, 8));
}

#[test]
fn the_prior_knows_parentage_and_statements_only() {
    let colony = pair(sold("50% het ash"), seen("ash")).young("X").looks("ash").colony();
    let prior = judge_prior(&colony);
    let dam = colony.find_animal("Dam").unwrap();
    let young = colony.find_animal("X").unwrap();
    assert_eq!(prior.chance(dam, 0, CARRIER), fraction(1, 2));
    // an unseen sire without background is clear
    assert_eq!(prior.chance(young, 0, CARRIER), fraction(1, 4));
}

#[test]
fn summing_out_one_by_one_is_summing_over_every_configuration() {
    for (name, colony) in judge::samples::small_colonies() {
        let quick = verdict(&colony);
        let (evidence, marginals) = judge_literally(&colony);
        assert_eq!(quick.evidence, evidence, "{name}");
        assert_eq!(quick.marginals, marginals, "{name}");
        for animal in colony.animal_ids() {
            assert_eq!(quick.identities(animal).values().sum::<Exact>(), fraction(1, 1), "{name}");
        }
    }
}

#[test]
fn a_look_that_may_be_misread_is_weighed_against_its_absence() {
    let colony = Build::new()
        .recessive("ash")
        .background(&[0.25])
        .misread(0.125)
        .founder("Bought", Female)
        .looks("ash")
        .founder("Told", Male)
        .sold_as("ash")
        .trust(0.5)
        .looks("normal")
        .founder("Seen", Male)
        .looks("normal")
        .colony();
    // B: 7/8 on two copies; the other eighth as 9 : 6 among the rest
    assert_eq!(chance(&colony, "Bought", 0, TWO_COPIES), fraction(7, 8));
    assert_eq!(chance(&colony, "Bought", 0, CARRIER), fraction(6, 15 * 8));
    // prior 1/2 · 1/16 + 1/2 against 1/2 · 15/16; called normal with 1/8 against 7/8
    assert_eq!(chance(&colony, "Told", 0, TWO_COPIES), fraction(17, 17 + 15 * 7));
    assert_eq!(chance(&colony, "Seen", 0, TWO_COPIES), fraction(1, 1 + 15 * 7));
}

#[test]
fn penetrance_and_the_parts_of_misread_meet_in_a_call() {
    let called = |looks: &str| {
        let build = Build::exact().incomplete("tallow").penetrance(0.75);
        let build = build.misread_apart(0.125, 0.25, 0.0625).founder("Dam", Female);
        let build = build.sold_as("het tallow").founder("Sire", Male).sold_as("not het tallow");
        judge_evidence(&build.clutch("A", "Dam", "Sire").young("").looks(looks).colony())
    };
    // shows tallow: 1/2 · 3/4, else nothing
    let (shows, nothing) = (fraction(3, 8), fraction(5, 8));
    assert_eq!(called("normal"), &shows * fraction(1, 8) + &nothing * fraction(3, 4));
    assert_eq!(called("tallow"), &shows * fraction(13, 16) + &nothing * fraction(1, 8));
    assert_eq!(called("super tallow"), &shows * fraction(1, 16) + &nothing * fraction(1, 8));
}

#[test]
fn a_test_of_the_genotype_spreads_its_error_over_the_others() {
    let build = Build::exact().recessive("ash").background(&[0.5]).founder("Dam", Female);
    let tested = build.clone().reading("ash", "+/ash", 0.75).colony();
    // 1 : 2 : 1 times 1/8 : 3/4 : 1/8
    assert_eq!(chance(&tested, "Dam", 0, CARRIER), fraction(6, 7));
    let ratios = [("+/+", 8.0), ("+/ash", 3.0), ("ash/ash", 2.0)];
    let marker = build.likelihood("ash", &ratios).colony();
    assert_eq!(chance(&marker, "Dam", 0, CARRIER), fraction(3, 8));
}

#[test]
fn an_unrecorded_sire_is_shared_by_the_eggs_of_its_clutch() {
    let build = Build::exact().recessive("ash").background(&[0.5]);
    let build = build.founder("Dam", Female).sold_as("ash").clutch("A", "Dam", "unknown");
    let colony = build.count("ash", 2).clutch("B", "Dam", "unknown").count("ash", 1).colony();
    // one sire: 1/4 · 1 + 1/2 · 1/4; another clutch, another sire: 1/2
    assert_eq!(judge_evidence(&colony), fraction(3, 8) * fraction(1, 2));
}

#[test]
fn what_a_selected_clutch_can_look_like_adds_to_one() {
    let with = |looks: [&str; 2]| {
        let build = pair(sold("het ash"), sold("50% het ash")).kept_if("ash");
        let build = build.assume(|a| (a.mix_up, a.background) = (0.25, 0.125));
        judge_evidence(&build.young("X").looks(looks[0]).young("Y").looks(looks[1]).colony())
    };
    let total = with(["ash", "ash"]) + with(["ash", "normal"]) + with(["normal", "ash"]);
    assert_eq!(total, fraction(1, 1));
}
