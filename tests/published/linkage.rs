//! Genes that travel together: how far apart they are, from the log evidence alone.

use proveout::network::Grouping;
use proveout::questions::{Asked, Model};
use proveout::records::{Format, read};

use super::support::*;

const MORGAN_BRIDGES: &str =
    "Morgan, T. H. & Bridges, C. B. (1916). Sex-linked Inheritance in Drosophila";

const fn row(id: &'static str, source: &'static str, by: &'static [fn()]) -> Row {
    Row { id, source, basis: READ, by }
}

const fn remembered(id: &'static str, source: &'static str, by: &'static [fn()]) -> Row {
    Row { id, source, basis: MEMORY_HIGH, by }
}

pub const ROWS: &[Row] = &[
    row("LNK-01", "Bateson, W., Saunders, E. R. & Punnett, R. C. (1905)", &[small_sweet_peas]),
    remembered("LNK-02", "Bateson & Punnett, in Bateson (1909)", &[all_sweet_peas]),
    remembered("LNK-04", "Hutchison, C. B. (1922)", &[maize]),
    remembered("LNK-06", "Rao, C. R. (1973)", &[the_197_animals]),
    row("LNK-08", MORGAN_BRIDGES, &[ten_pairs_on_the_x]),
    row("LNK-09", MORGAN_BRIDGES, &[vermilion_sable_bar]),
    row(
        "LNK-10",
        MORGAN_BRIDGES,
        &[males_of_three_second_generations, eosin_white_and_miniature_on_both_sides_of_a_lethal],
    ),
];

/// What is counted of a generation: each combination of looks, and how many.
type Classes<'a> = &'a [(&'a [&'a str], u64)];

/// A colony of recessive genes in map order: parents with all looks and none, their young, and what
/// those had with each other ("F1") or with a parent.
struct Cross<'a> {
    genes: &'a [&'a str],
    on_x: bool,
    /// What the dam's mother and father show.
    grandparents: [&'a [&'a str]; 2],
    /// The sire of the young that are counted: `brother`, or `father`.
    sire: &'a str,
    young: Classes<'a>,
}

fn list(names: &[&str]) -> String {
    format!("[{}]", names.iter().map(|name| format!("\"{name}\"")).collect::<Vec<_>>().join(", "))
}

fn counts(young: Classes, sons: bool) -> String {
    let tail = if sons { ".0.0" } else { "" };
    let one = |(looks, number): &(&[&str], u64)| match number {
        0 => String::new(),
        _ => format!("[[clutch.count]]\nlooks = {}\nnumber = \"{number}{tail}\"\n", list(looks)),
    };
    let unsexed = |text: String| text.replace("number = \"", "number = ").replace("\"\n", "\n");
    let all: String = young.iter().map(one).collect();
    if sons { all } else { unsexed(all) }
}

impl Cross<'_> {
    fn text(&self, crossover: &str) -> String {
        let mut text = match self.on_x {
            true => "sex_system = \"XY\"\n[assume]\nbackground = 0\nmisread = 0\n",
            false => "[assume]\nbackground = 0\nmisread = 0\n",
        }
        .to_owned();
        let on_x = if self.on_x { "sex_linked = true\n" } else { "" };
        for gene in self.genes {
            text += &format!("[gene.{gene}]\ninheritance = \"recessive\"\n{on_x}");
        }
        text += &format!("[[linkage]]\ngenes = {}\ncrossover = {crossover}\n", list(self.genes));
        let [mother, father] = self.grandparents.map(list);
        for (id, sex, looks) in [("mother", "female", mother), ("father", "male", father)] {
            text += &format!("[[animal]]\nid = \"{id}\"\nsex = \"{sex}\"\nlooks = {looks}\n");
        }
        text += "[[clutch]]\nid = \"F1\"\ndam = \"mother\"\nsire = \"father\"\n\
                 [[clutch.hatchling]]\nid = \"sister\"\n[[clutch.hatchling]]\nid = \"brother\"\n\
                 sex = \"male\"\n";
        text += &format!("[[clutch]]\nid = \"F2\"\ndam = \"sister\"\nsire = \"{}\"\n", self.sire);
        text + &counts(self.young, self.on_x)
    }

    /// Natural log of the probability of all records at these rates.
    fn at(&self, crossover: &str) -> f64 {
        evidence(&self.text(crossover))
    }

    /// The rate at which the records are most probable.
    fn best(&self, low: f64, high: f64) -> f64 {
        where_largest(low, high, |rate| self.at(&rate.to_string()))
    }

    /// Log to base ten of how much better a rate is than none.
    fn lod(&self, rate: f64) -> f64 {
        (self.at(&rate.to_string()) - self.at("0.5")) / 10f64.ln()
    }
}

/// The log evidence and nothing else.
fn evidence(text: &str) -> f64 {
    let read = read(text.as_bytes(), Format::Toml);
    let colony = read.unwrap_or_else(|errors| panic!("{text}\n{errors:?}")).colony;
    let model = Model::solve(&colony, Grouping::Siblings, Asked::MEMORY);
    model.unwrap_or_else(|why| panic!("{text}\n{why:?}")).log_evidence().ln()
}

/// Young of two carriers in coupling: none of the looks, one, the other, both.
fn coupled(counts: [f64; 4], with: impl Fn(&Cross)) {
    let [none, one, other, both] = counts.map(|count| count as u64);
    with(&Cross {
        genes: &["red", "round"],
        on_x: false,
        grandparents: [&[], &["red", "round"]],
        sire: "brother",
        young: &[(&[], none), (&["round"], one), (&["red"], other), (&["red", "round"], both)],
    });
}

fn sweet_peas(id: &str) -> [f64; 4] {
    let counts = &item(id)["counts"];
    ["purple long", "purple round", "red long", "red round"]
        .map(|class| counts[class].as_f64().unwrap())
}

/// The closed form of the second generation of two genes in coupling.
fn second_generation(counts: [f64; 4], rate: f64) -> f64 {
    let both = (1.0 - rate).powi(2) / 4.0;
    multinomial(&counts, &[0.5 + both, 0.25 - both, 0.25 - both, both])
}

#[test]
fn small_sweet_peas() {
    coupled(sweet_peas("LNK-01"), |cross| {
        let best = cross.best(0.01, 0.5);
        printed("LNK-01", best, "0.128");
        printed("LNK-01", (1.0 - best).powi(2), "0.76031");
        printed("LNK-01", cross.lod(best), "30.97");
        same("LNK-01", cross.at("0.2"), second_generation(sweet_peas("LNK-01"), 0.2));
    });
}

#[test]
fn all_sweet_peas() {
    coupled(sweet_peas("LNK-02"), |cross| {
        let best = cross.best(0.01, 0.5);
        printed("LNK-02", best, "0.1143");
        printed("LNK-02", (1.0 - best).powi(2), "0.78443");
        printed("LNK-02", cross.lod(best), "209.88");
        same("LNK-02", cross.at("0.2"), second_generation(sweet_peas("LNK-02"), 0.2));
    });
}

#[test]
fn the_197_animals() {
    let counts = numbers(&item("LNK-06")["counts"]["counts"]);
    let counts = [0, 1, 2, 3].map(|at| counts[at]);
    coupled(counts, |cross| {
        let best = cross.best(0.01, 0.5);
        printed("LNK-06", (1.0 - best).powi(2), "0.6268");
        printed("LNK-06", best, "0.20828");
        printed("LNK-06", cross.lod(best), "10.46");
        same("LNK-06", cross.at("0.35"), second_generation(counts, 0.35));
    });
}

#[test]
fn maize() {
    let of = |class: &str| item("LNK-04")["counts"][class].as_u64().unwrap();
    let cross = Cross {
        genes: &["colourless", "shrunken"],
        on_x: false,
        grandparents: [&[], &["colourless", "shrunken"]],
        sire: "father",
        young: &[
            (&[], of("C Sh")),
            (&["shrunken"], of("C sh")),
            (&["colourless"], of("c Sh")),
            (&["colourless", "shrunken"], of("c sh")),
        ],
    };
    let best = cross.best(0.001, 0.5);
    printed("LNK-04", 100.0 * best, "3.6");
    printed("LNK-04", best, "0.03597");
}

/// Sons of a female in coupling: so many in all, so many of them crossovers.
fn sons(all: u64, crossovers: u64, with: impl Fn(&Cross)) {
    let [one, both] = [crossovers / 2, (all - crossovers) / 2];
    with(&Cross {
        genes: &["first", "second"],
        on_x: true,
        grandparents: [&["first", "second"], &[]],
        sire: "brother",
        young: &[
            (&["first", "second"], both),
            (&[], all - crossovers - both),
            (&["first"], one),
            (&["second"], crossovers - one),
        ],
    });
}

#[test]
fn ten_pairs_on_the_x() {
    let examples = item("LNK-08")["counts"]["examples [total, crossovers, %]"].as_object().unwrap();
    assert_eq!(examples.len(), 10);
    for (pair, row) in examples {
        let [all, crossovers] = [0, 1].map(|at| row[at].as_u64().unwrap());
        sons(all, crossovers, |cross| {
            // A bracket, since thousands of flies take a while.
            let share = crossovers as f64 / all as f64;
            let best = cross.best(0.8 * share, (1.2 * share).min(0.5));
            let print = row[2].as_f64().unwrap();
            printed(&format!("LNK-08, {pair}"), 100.0 * best, &format!("{print:.1}"));
        });
    }
}

#[test]
fn vermilion_sable_bar() {
    let of = |class: &str| item("LNK-09")["counts"][class].as_u64().unwrap();
    let halves = |class: &str| [of(class) / 2, of(class) - of(class) / 2];
    let (none, one, two) = (halves("non-crossover"), halves("single 1"), halves("single 2"));
    let double = halves("double");
    let (v, s, b) = ("vermilion", "sable", "bar");
    let cross = Cross {
        genes: &[v, s, b],
        on_x: true,
        grandparents: [&[v, s, b], &[]],
        sire: "brother",
        young: &[
            (&[v, s, b], none[0]),
            (&[], none[1]),
            (&[v], one[0]),
            (&[s, b], one[1]),
            (&[v, s], two[0]),
            (&[b], two[1]),
            (&[v, b], double[0]),
            (&[s], double[1]),
        ],
    };
    let first = where_largest(0.01, 0.5, |rate| cross.at(&format!("[{rate}, 0.2]")));
    let second = where_largest(0.01, 0.5, |rate| cross.at(&format!("[{first}, {rate}]")));
    printed("LNK-09", 100.0 * first, "9.8");
    printed("LNK-09", 100.0 * first, "9.795");
    printed("LNK-09", 100.0 * second, "14");
    printed("LNK-09", 100.0 * second, "13.77");
}

/// Four numbers of one table.
fn males(table: &str) -> [u64; 4] {
    let counts = numbers(&item("LNK-10")["counts"][table]);
    [0, 1, 2, 3].map(|at| counts[at] as u64)
}

#[test]
fn males_of_three_second_generations() {
    let best = |genes: [&str; 2], grandparents: [&[&str]; 2], young: [u64; 4]| {
        let [one, other] = genes;
        let [both, none, first, second] = young;
        let young: Classes = &[(&genes, both), (&[], none), (&[one], first), (&[other], second)];
        let cross = Cross { genes: &genes, on_x: true, grandparents, sire: "brother", young };
        100.0 * cross.best(0.1, 0.5)
    };
    let [both, none, one, other] = males("T28 cherry–vermilion (♀ wild 924; ♂ cv, wild, c, v)");
    let coupled: [&[&str]; 2] = [&["cherry", "vermilion"], &[]];
    let rate = best(["cherry", "vermilion"], coupled, [both, none, one, other]);
    printed("LNK-10, Table 28", rate, "31");
    printed("LNK-10, Table 28", rate, "31.2");
    let [one, other, both, none] = males("T10 cherry–sable (♂ c,s,cs,wild)");
    let apart: [&[&str]; 2] = [&["cherry"], &["sable"]];
    let rate = best(["cherry", "sable"], apart, [both, none, one, other]);
    printed("LNK-10, Table 10", rate, "42");
    printed("LNK-10, Table 10", rate, "41.7");
    let [both, none, one, other] = males("T39 vermilion–forked (♂ vf,wild,v,f)");
    let coupled: [&[&str]; 2] = [&["vermilion", "forked"], &[]];
    let rate = best(["vermilion", "forked"], coupled, [both, none, one, other]);
    printed("LNK-10, Table 39", rate, "25");
    printed("LNK-10, Table 39", rate, "24.5");
}

#[test]
fn eosin_white_and_miniature_on_both_sides_of_a_lethal() {
    let table = "T48 white–lethal sb–miniature (eosin-min, white-min, eosin, white)";
    let [eosin_mini, white_mini, eosin, white] = males(table);
    let at = |first: f64, second: f64| {
        // Which of her chromosomes carries what is left to her sons to say.
        let text = format!(
            "sex_system = \"XY\"\n[assume]\nbackground = 0\nmisread = 0\n\
             [gene.eye]\nalleles = [\"eosin\", \"white\"]\nsex_linked = true\n\
             [gene.eye.looks]\n\"eosin/eosin\" = \"eosin\"\n\"eosin/Y\" = \"eosin\"\n\
             \"white/white\" = \"white\"\n\"white/Y\" = \"white\"\n\
             \"eosin/white\" = \"pale\"\n\
             [gene.sb]\ninheritance = \"recessive\"\nsex_linked = true\n\
             lethal = [\"sb/Y\", \"sb/sb\"]\n\
             [gene.miniature]\ninheritance = \"recessive\"\nsex_linked = true\n\
             [[linkage]]\ngenes = [\"eye\", \"sb\", \"miniature\"]\n\
             crossover = [{first}, {second}]\n\
             [[animal]]\nid = \"dam\"\nsex = \"female\"\n\
             sold_as = [\"pale\", \"het sb\", \"het miniature\"]\n\
             [[animal]]\nid = \"sire\"\nsex = \"male\"\nlooks = []\n\
             [[clutch]]\nid = \"A\"\ndam = \"dam\"\nsire = \"sire\"\n"
        );
        let young: Classes = &[
            (&["eosin", "miniature"], eosin_mini),
            (&["white", "miniature"], white_mini),
            (&["eosin"], eosin),
            (&["white"], white),
        ];
        evidence(&(text + &counts(young, true)))
    };
    let first = where_largest(0.05, 0.45, |rate| at(rate, 0.2));
    let second = where_largest(0.05, 0.45, |rate| at(first, rate));
    printed("LNK-10, Table 48", 100.0 * first, "15.6");
    printed("LNK-10, Table 48", 100.0 * second, "19.9");
    printed("LNK-10, Table 48", 100.0 * first, "15.55");
    printed("LNK-10, Table 48", 100.0 * second, "19.93");
}
