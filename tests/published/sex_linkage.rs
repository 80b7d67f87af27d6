//! Genes on the X or the Z.

use super::support::*;

const YOUNG: &str = "Young, I. D. (2007)";
const MORGAN_BRIDGES: &str =
    "Morgan, T. H. & Bridges, C. B. (1916). Sex-linked Inheritance in Drosophila";

const fn row(id: &'static str, source: &'static str, by: &'static [fn()]) -> Row {
    Row { id, source, basis: READ, by }
}

pub const ROWS: &[Row] = &[
    row("BAY-01", "Ogino, S. & Wilson, R. B. (2004)", &[three_unaffected_sons_leave_one_in_nine]),
    row("BAY-03", YOUNG, &[each_unaffected_son_halves_the_odds]),
    row("BAY-04", "formula from a secondary summary", &[grandsons_count_through_their_mother]),
    row("LET-06", "Dexter (1914)", &[two_daughters_to_a_son_where_notched_sons_die]),
    row(
        "REP-01",
        "Mallery, C. S. Jr. & Carrillo, M. M. (2016)",
        &[
            a_coral_glow_sires_sons_like_his_father_and_daughters_like_his_mother,
            the_printed_lod_takes_595_young,
        ],
    ),
    row(
        "ALL-01",
        MORGAN_BRIDGES,
        &[white_and_cherry_are_alleles, super::modes::of_all_ways_white_and_cherry_are_one_gene],
    ),
    Row {
        id: "SEX-01",
        source: "Morgan, T. H. (1910)",
        basis: MEMORY_HIGH,
        by: &[
            white_eyes_lie_on_the_x,
            the_backcross_by_itself_says_nothing_of_the_x,
            three_white_sons_are_three_in_1240_imagined,
            super::modes::of_all_ways_white_eyes_are_recessive_on_the_x,
        ],
    },
    row(
        "SEX-02",
        "Doncaster, L. & Raynor, G. H. (1906)",
        &[
            the_criss_cross_of_the_magpie_moth_is_worth_69_powers_of_ten,
            equality_in_the_reciprocal_cross_says_nothing,
            super::modes::of_all_ways_the_pale_moth_is_recessive_on_the_z,
        ],
    ),
    row("SEX-04", MORGAN_BRIDGES, &[a_third_of_bow_wings_are_called_straight]),
    row("SEX-10", "Punnett, R. C. (1911)", &[silky_cocks_by_leghorn_hens_have_dark_daughters]),
];

/// A colony with this sex system, background 0 and misread 0.
fn colony(system: &str, rest: &str) -> String {
    format!("sex_system = \"{system}\"\n[assume]\nbackground = 0\nmisread = 0\n{rest}")
}

fn animal(id: &str, sex: &str, record: &str) -> String {
    format!("[[animal]]\nid = \"{id}\"\nsex = \"{sex}\"\n{record}\n")
}

fn clutch(id: &str, dam: &str, sire: &str, more: &str) -> String {
    format!("[[clutch]]\nid = \"{id}\"\ndam = \"{dam}\"\nsire = \"{sire}\"\n{more}\n")
}

/// Counted young: males, females and unsexed.
fn count(look: &str, number: [u64; 3]) -> String {
    if number == [0; 3] {
        return String::new();
    }
    let [males, females, unsexed] = number;
    format!("[[clutch.count]]\nlooks = [\"{look}\"]\nnumber = \"{males}.{females}.{unsexed}\"\n")
}

fn young(id: &str, record: &str) -> String {
    format!("[[clutch.hatchling]]\nid = \"{id}\"\n{record}\n")
}

/// A mother who may carry, a healthy father, and their young.
fn perhaps_a_carrier(clutches: &str) -> String {
    let gene = "[gene.ill]\ninheritance = \"recessive\"\nsex_linked = true\n";
    let mother = animal("mother", "female", "sold_as = [\"50% het ill\"]");
    let father = animal("father", "male", "looks = []");
    colony("XY", &format!("{gene}{mother}{father}{clutches}"))
}

fn whole(value: &serde_json::Value) -> u64 {
    value.as_u64().unwrap()
}

#[test]
fn three_unaffected_sons_leave_one_in_nine() {
    let sons = count("normal", [3, 0, 0]) + &young("next", "sex = \"male\"");
    let answer = ask(&perhaps_a_carrier(&clutch("A", "mother", "father", &sons)));
    same("BAY-01", answer.chance("mother", "ill", "+/ill"), fraction("1/9"));
    same("BAY-01", answer.chance("next", "ill", "ill/Y"), fraction("1/18"));
}

#[test]
fn each_unaffected_son_halves_the_odds() {
    let list = item("BAY-03")["computed"]["1/(1+2^n), n=0..5"].as_str().unwrap();
    for (n, want) in (0..).zip(list.split(", ")) {
        let sons = count("normal", [n, 0, 0]);
        let answer = ask(&perhaps_a_carrier(&clutch("A", "mother", "father", &sons)));
        same("BAY-03", answer.chance("mother", "ill", "+/ill"), fraction(want));
    }
}

#[test]
fn grandsons_count_through_their_mother() {
    let list = item("BAY-04")["computed"]["posterior n=1..4"].as_str().unwrap();
    for (n, want) in (1..).zip(list.split(", ")) {
        let daughter = clutch("A", "mother", "father", &young("daughter", "sex = \"female\""));
        let grandsons = clutch("B", "daughter", "father", &count("normal", [n, 0, 0]));
        let answer = ask(&perhaps_a_carrier(&(daughter + &grandsons)));
        same("BAY-04", answer.chance("mother", "ill", "+/ill"), fraction(want));
    }
}

#[test]
fn two_daughters_to_a_son_where_notched_sons_die() {
    let counts = &item("LET-06")["counts"];
    let [notched, normal, sons] =
        ["notch ♀", "normal ♀", "normal ♂"].map(|class| whole(&counts[class]));
    let text = |lethal: &str, more: &str| {
        let gene = "[gene.notch]\ninheritance = \"dominant\"\nsex_linked = true\n";
        let parents = animal("dam", "female", "sold_as = [\"notch\"]")
            + &animal("sire", "male", "looks = []");
        let young = count("notch", [0, notched, 0]) + &count("normal", [sons, normal, 0]);
        let clutch = clutch("A", "dam", "sire", &(young + more));
        colony("XY", &format!("{gene}{lethal}{parents}{clutch}"))
    };
    const LETHAL: &str = "lethal = [\"notch/Y\"]\n";
    let all = (notched + normal + sons) as f64;
    // One in three of those that hatch, where it would be one in four.
    let gained = log_evidence(&text(LETHAL, "")) - log_evidence(&text("", ""));
    same("LET-06", gained, all * (4.0 / 3.0f64).ln());
    let next = ask(&text(LETHAL, &young("next", "")));
    for genotype in ["+/notch", "+/+", "+/Y"] {
        same("LET-06", next.chance("next", "notch", genotype), 1.0 / 3.0);
    }
    assert!(try_ask(&text(LETHAL, &count("notch", [1, 0, 0]))).is_none());
}

/// A male that got his gene from one of his parents, with his young by a wild-type female.
fn coral_glow(from: &str, crossover: f64, young: &str) -> String {
    let gene = "[gene.\"coral glow\"]\ninheritance = \"incomplete dominant\"\nsex_linked = true\n";
    let own = |who: &str| match who == from {
        true => "sold_as = [\"coral glow\"]",
        false => "looks = []",
    };
    let parents = animal("his father", "male", own("father"))
        + &animal("his mother", "female", own("mother"))
        + &animal("wild", "female", "looks = []");
    let himself = self::young("he", "sex = \"male\"\nlooks = [\"coral glow\"]");
    let clutches =
        clutch("A", "his mother", "his father", &himself) + &clutch("B", "wild", "he", young);
    colony("XY", &format!("{gene}crossover = {crossover}\n{parents}{clutches}"))
}

#[test]
fn a_coral_glow_sires_sons_like_his_father_and_daughters_like_his_mother() {
    let next = young("son", "sex = \"male\"") + &young("daughter", "sex = \"female\"");
    for (from, son) in [("father", 0.97), ("mother", 0.03)] {
        let answer = ask(&coral_glow(from, 0.03, &next));
        let chance = |who| answer.chance(who, "coral glow", "+/coral glow");
        same("REP-01", chance("son"), son);
        same("REP-01", chance("daughter"), 1.0 - son);
    }
}

#[test]
fn the_printed_lod_takes_595_young() {
    let lod = |n: u64| {
        let young = count("coral glow", [n / 2, 0, 0]) + &count("normal", [0, n - n / 2, 0]);
        let at = |crossover| log_evidence(&coral_glow("father", crossover, &young));
        (at(0.0) - at(0.5)) / 10f64.ln()
    };
    // He himself is one more that his father's gene and sex have to account for.
    same("REP-01", lod(595), 595.0 * 2f64.log10());
    assert!(lod(594) < 179.1 && lod(595) > 179.1);
}

#[test]
fn white_and_cherry_are_alleles() {
    let counts = &item("ALL-01")["counts"];
    let daughters = whole(&counts["white-cherry compound ♀"]);
    let sons = whole(&counts["cherry ♂"]);
    let parents = animal("dam", "female", "sold_as = [\"cherry\"]")
        + &animal("sire", "male", "sold_as = [\"white\"]");
    let text = |genes: &str, compound: &str, unread: &str, misread: &str| {
        let young = |look: &str, number: &str| {
            format!("[[clutch.count]]\nlooks = [\"{look}\"]\n{unread}number = \"{number}\"\n")
        };
        let young =
            young(compound, &format!("0.{daughters}.0")) + &young("cherry", &format!("{sons}.0.0"));
        let text = colony("XY", &format!("{genes}{parents}{}", clutch("A", "dam", "sire", &young)));
        with(&text, "misread = 0\n", misread)
    };
    let one = |misread| {
        let shows = "\"white/white\" = \"white\"\n\"white/Y\" = \"white\"\n\
                     \"cherry/cherry\" = \"cherry\"\n\"cherry/Y\" = \"cherry\"\n\
                     \"white/cherry\" = \"compound\"\n";
        let genes = format!(
            "[gene.eye]\nalleles = [\"white\", \"cherry\"]\nsex_linked = true\n\
             [gene.eye.looks]\n{shows}"
        );
        text(&genes, "compound", "", misread)
    };
    // An eye that is not red would be called cherry; whether it is white as well is left open.
    let two = |misread| {
        let gene =
            |name| format!("[gene.{name}]\ninheritance = \"recessive\"\nsex_linked = true\n");
        let genes = gene("white") + &gene("cherry");
        text(&genes, "cherry", "unread = [\"white\"]\n", misread)
    };
    let sexes = (daughters + sons) as f64 * 0.5f64.ln();
    same("ALL-01", log_evidence(&one("misread = 0\n")), sexes);
    assert!(try_ask(&two("misread = 0\n")).is_none(), "two loci give no compound");
    const ONE_IN_100: &str = "misread = 0.01\n";
    let points = (log_evidence(&one(ONE_IN_100)) - log_evidence(&two(ONE_IN_100))) / 10f64.ln();
    same("ALL-01", points, daughters as f64 * 99f64.log10());
    assert_eq!(points.floor(), 640.0, "printed: +640");
}

/// The two of the first generation whose sex is on record because they were bred on.
const PARENTS: f64 = 2.0;

/// Morgan's flies: a white male, a red female, and what came of them.
fn morgan(on_x: bool, misread: &str, first: &str, second: &str, back: &str) -> String {
    let on_x = if on_x { "sex_linked = true\n" } else { "" };
    let parents = animal("eyed white", "male", "sold_as = [\"white\"]")
        + &animal("eyed red", "female", "sold_as = [\"not het white\"]");
    let both = young("f", "sex = \"female\"") + &young("m", "sex = \"male\"");
    let clutches = clutch("F1", "eyed red", "eyed white", &(both + first))
        + &clutch("F2", "f", "m", second)
        + &clutch("back", "f", "eyed white", back);
    let gene = format!("[gene.white]\ninheritance = \"recessive\"\n{misread}{on_x}");
    colony("XY", &format!("{gene}{parents}{clutches}"))
}

#[test]
fn white_eyes_lie_on_the_x() {
    let [daughters, sons, white] = [0, 1, 2].map(|at| observed("SEX-01")[at]);
    let second =
        count("normal", [sons as u64, daughters as u64, 0]) + &count("white", [white as u64, 0, 0]);
    let [on_x, not] = [true, false].map(|on_x| log_evidence(&morgan(on_x, "", "", &second, "")));
    let sexed = (PARENTS + daughters + sons + white) * 0.5f64.ln();
    same("SEX-01", on_x, sexed + multinomial(&[sons, white], &[0.5, 0.5]));
    same("SEX-01", not, sexed + multinomial(&[daughters + sons, white], &[0.75, 0.25]));
    assert!(try_ask(&morgan(true, "", "", &count("white", [0, 1, 0]), "")).is_none());
}

#[test]
fn the_backcross_by_itself_says_nothing_of_the_x() {
    let counts = &item("SEX-01")["counts"]["F1♀×white♂"];
    let [red_f, red_m, white_f, white_m] =
        ["red ♀", "red ♂", "white ♀", "white ♂"].map(|class| whole(&counts[class]));
    let back = count("normal", [red_m, red_f, 0]) + &count("white", [white_m, white_f, 0]);
    let all = (red_f + red_m + white_f + white_m) as f64;
    let want = PARENTS * 0.5f64.ln() + all * 0.25f64.ln();
    for on_x in [true, false] {
        same("SEX-01", log_evidence(&morgan(on_x, "", "", "", &back)), want);
    }
}

#[test]
fn three_white_sons_are_three_in_1240_imagined() {
    let counts = &item("SEX-01")["counts"];
    let (red, white) = (whole(&counts["F1 red"]), whole(&counts["F1 white ♂"]));
    let first = count("normal", [0, 0, red]) + &count("white", [white, 0, 0]);
    assert!(try_ask(&morgan(true, "", &first, "", "")).is_none(), "no son of hers can be white");
    let imagined = |chance: f64| {
        let misread = format!("misread = {{ imagined = {chance} }}\n");
        log_evidence(&morgan(true, &misread, &first, "", ""))
    };
    let (red, white) = (red as f64, white as f64);
    let best = where_largest(1e-4, 0.02, imagined);
    assert!((best - white / (white + red)).abs() < 1e-6, "SEX-01: {best}");
    let sons = (PARENTS + white) * 0.5f64.ln();
    same("SEX-01", imagined(0.01), sons + multinomial(&[red, white], &[0.99, 0.01]));
}

/// The magpie moth: a pale parent and one that hides pale, if it can.
fn moth(on_z: bool, parents: [&str; 2], typical: [u64; 2], pale: [u64; 2]) -> String {
    let gene = "[gene.pale]\ninheritance = \"recessive\"\n";
    let on_z = if on_z { "sex_linked = true\n" } else { "" };
    let [dam, sire] = parents;
    let parents = animal("dam", "female", dam) + &animal("sire", "male", sire);
    let young =
        count("normal", [typical[0], typical[1], 0]) + &count("pale", [pale[0], pale[1], 0]);
    colony("ZW", &format!("{gene}{on_z}{parents}{}", clutch("A", "dam", "sire", &young)))
}

#[test]
fn the_criss_cross_of_the_magpie_moth_is_worth_69_powers_of_ten() {
    let counts = &item("SEX-02")["counts"]["a pooled"];
    let of = |class: &str| whole(&counts[class]);
    let typical = [of("typical ♂"), of("typical ♀")];
    let pale = [of("lacticolor ♂"), of("lacticolor ♀")];
    let het = "sold_as = [\"het pale\"]";
    let on_z = moth(true, ["looks = []", "sold_as = [\"pale\"]"], typical, pale);
    let not = moth(false, [het, "sold_as = [\"pale\"]"], typical, pale);
    let points = (log_evidence(&on_z) - log_evidence(&not)) / 10f64.ln();
    printed("SEX-02", points, "69.24");
}

#[test]
fn equality_in_the_reciprocal_cross_says_nothing() {
    let [typical_m, pale_m, typical_f, pale_f] = [0, 1, 2, 3].map(|at| observed("SEX-02")[at]);
    let typical = [typical_m as u64, typical_f as u64];
    let pale = [pale_m as u64, pale_f as u64];
    let all = typical_m + pale_m + typical_f + pale_f;
    for on_z in [true, false] {
        let parents = ["sold_as = [\"pale\"]", "sold_as = [\"het pale\"]"];
        let text = moth(on_z, parents, typical, pale);
        same("SEX-02", log_evidence(&text), all * 0.25f64.ln());
    }
}

#[test]
fn a_third_of_bow_wings_are_called_straight() {
    let [females, straight, bow] = [0, 1, 2].map(|at| observed("SEX-04")[at]);
    let missed = |chance: f64| {
        let gene = "[gene.bow]\ninheritance = \"recessive\"\nsex_linked = true\n";
        let misread = format!("misread = {{ missed = {chance} }}\n");
        let parents = animal("dam", "female", "sold_as = [\"het bow\"]")
            + &animal("sire", "male", "sold_as = [\"not het bow\"]");
        let young = count("normal", [straight as u64, females as u64, 0])
            + &count("bow", [bow as u64, 0, 0]);
        let clutch = clutch("A", "dam", "sire", &young);
        log_evidence(&colony("XY", &format!("{gene}{misread}{parents}{clutch}")))
    };
    printed("SEX-04", where_largest(0.0, 0.9, missed), "0.357");
    let sexed = (females + straight + bow) * 0.5f64.ln();
    same("SEX-04", missed(0.0), sexed + multinomial(&[straight, bow], &[0.5, 0.5]));
    same("SEX-04", missed(0.5), sexed + multinomial(&[straight, bow], &[0.75, 0.25]));
}

#[test]
fn silky_cocks_by_leghorn_hens_have_dark_daughters() {
    // A dark skin, and what keeps it light: on the Z, and in Brown Leghorns.
    let genes = "[gene.dark]\ninheritance = \"dominant\"\n\
                 [gene.light]\ninheritance = \"dominant\"\nsex_linked = true\n\
                 [[mask]]\nlook = \"light\"\nhides = [\"dark\"]\n";
    let pure = |gene: &str, genotype: &str| {
        format!("{{ gene = \"{gene}\", result = \"{genotype}\", reliability = 1 }}")
    };
    let bird = |id: &str, sex: &str, [dark, light]: [&str; 2]| {
        let readings = format!("readings = [{}, {}]", pure("dark", dark), pure("light", light));
        animal(id, sex, &readings)
    };
    let cross = |hen: [&str; 2], cock: [&str; 2], young: &str| {
        let parents = bird("hen", "female", hen) + &bird("cock", "male", cock);
        let text = colony("ZW", &format!("{genes}{parents}{}", clutch("A", "hen", "cock", young)));
        with(&text, "background = 0\n", "background = 0.5\n")
    };
    let leghorn_by_silky = |young: &str| cross(["+/+", "light/W"], ["dark/dark", "+/+"], young);
    let silky_by_leghorn = |young: &str| cross(["dark/dark", "+/W"], ["+/+", "light/light"], young);
    let birds = young("son", "sex = \"male\"") + &young("daughter", "sex = \"female\"");
    let chance = |text: &str, who, genotype| ask(text).chance(who, "light", genotype);
    same("SEX-10", chance(&leghorn_by_silky(&birds), "daughter", "+/W"), 1.0);
    same("SEX-10", chance(&leghorn_by_silky(&birds), "son", "+/light"), 1.0);
    same("SEX-10", chance(&silky_by_leghorn(&birds), "daughter", "light/W"), 1.0);
    same("SEX-10", chance(&silky_by_leghorn(&birds), "son", "+/light"), 1.0);
    let dark = |[sons, daughters]: [u64; 2]| count("dark", [sons, daughters, 0]);
    let light = |[sons, daughters]: [u64; 2]| count("light", [sons, daughters, 0]);
    assert!(try_ask(&leghorn_by_silky(&(dark([0, 9]) + &light([9, 0])))).is_some());
    assert!(try_ask(&leghorn_by_silky(&dark([1, 0]))).is_none());
    assert!(try_ask(&silky_by_leghorn(&light([9, 9]))).is_some());
    assert!(try_ask(&silky_by_leghorn(&dark([0, 1]))).is_none());
}
