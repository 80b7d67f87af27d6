//! Small random colonies for the judges: loops, few genes, every kind of record.

// Each test binary uses a part.
#![allow(dead_code)]

use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

use proveout::records::{Colony, Genotype, Sex, SexSystem};

use crate::judge::Build;

/// What a random colony may hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Features {
    /// Sex linkage, linkage, doubtful sires, selection.
    pub beyond_autosomal: bool,
}

impl Features {
    /// Autosomal genes with certain parents.
    pub const AUTOSOMAL: Features = Features { beyond_autosomal: false };
    /// Everything.
    pub const ALL: Features = Features { beyond_autosomal: true };
}

struct Dice(ChaCha8Rng);

impl Dice {
    fn chance(&mut self, p: f64) -> bool {
        self.0.random::<f64>() < p
    }

    fn pick<'a, T: ?Sized>(&mut self, list: &[&'a T]) -> &'a T {
        list[self.0.random_range(0..list.len())]
    }

    fn below(&mut self, n: u32) -> u32 {
        self.0.random_range(0..n)
    }
}

/// One gene of a colony in the making: its looks, and genotypes a reading can state.
struct GeneKind {
    name: &'static str,
    looks: &'static [&'static str],
    alleles: &'static [&'static str],
}

const KINDS: [GeneKind; 4] = [
    GeneKind { name: "ash", looks: &["ash"], alleles: &["ash"] },
    GeneKind { name: "tallow", looks: &["tallow", "super tallow"], alleles: &["tallow"] },
    GeneKind { name: "ripple", looks: &["ripple"], alleles: &["ripple"] },
    GeneKind { name: "shade", looks: &["fern", "moss", "bracken"], alleles: &["fern", "moss"] },
];

fn declare(mut build: Build, dice: &mut Dice, kind: &GeneKind) -> Build {
    build = match kind.name {
        "ash" => build.recessive("ash"),
        "tallow" => build.incomplete("tallow"),
        "ripple" => build.dominant("ripple"),
        _ => build.series(
            "shade",
            &["fern", "moss"],
            &["+/fern = fern", "+/moss = moss", "fern/fern = fern", "fern/moss = bracken"],
        ),
    };
    if dice.chance(0.5) {
        let f = dice.pick(&[&0.0, &0.125, &0.25, &0.0078125]);
        build = build.background(&vec![*f; kind.alleles.len()]);
    }
    if dice.chance(0.3) {
        build = build.penetrance(*dice.pick(&[&0.75, &0.5, &0.9]));
    }
    match dice.below(4) {
        0 => build = build.misread(*dice.pick(&[&0.0, &0.0625, &0.1])),
        1 => build = build.misread_apart(0.125, 0.03125, 0.0625),
        _ => {}
    }
    if dice.chance(0.2) {
        let a = kind.alleles[0];
        build = build.lethal(&format!("{a}/{a}"));
    }
    if dice.chance(0.15) {
        build = build.judged_on_adults();
    }
    build
}

/// Looks of one animal, one a gene at most.
fn looks(dice: &mut Dice, genes: &[&GeneKind]) -> String {
    let mut named = Vec::new();
    for gene in genes {
        if dice.chance(0.35) {
            named.push(dice.pick(gene.looks));
        }
    }
    named.join(", ")
}

fn seen(mut build: Build, dice: &mut Dice, genes: &[&GeneKind]) -> Build {
    match dice.below(10) {
        0 => {}
        1 | 2 => {
            let (one, other) = (looks(dice, genes), looks(dice, genes));
            let fit = *dice.pick(&[&0.7, &0.5, &0.25]);
            build = build.either(&[(&one, fit), (&other, 1.0 - fit)]);
        }
        _ => build = build.looks(&looks(dice, genes)),
    }
    if dice.chance(0.15) {
        let gene = genes[dice.below(genes.len() as u32) as usize];
        let allele = gene.alleles[dice.below(gene.alleles.len() as u32) as usize];
        let result = dice.pick(&["+/+", "het", "two"]);
        let result = match result {
            "het" => format!("+/{allele}"),
            "two" => format!("{allele}/{allele}"),
            _ => result.to_owned(),
        };
        build = build.reading(gene.name, &result, *dice.pick(&[&0.9, &0.75]));
    }
    build
}

fn told(mut build: Build, dice: &mut Dice, genes: &[&GeneKind]) -> Build {
    if dice.chance(0.4) {
        let gene = genes[dice.below(genes.len() as u32) as usize];
        let allele = gene.alleles[0];
        let look = gene.looks[0];
        let says = match dice.below(4) {
            0 => format!("het {allele}"),
            1 => format!("not het {allele}"),
            2 => look.to_owned(),
            _ => format!("66% het {allele}"),
        };
        build = build.sold_as(&says).trust(*dice.pick(&[&1.0, &0.75]));
    }
    build
}

/// How a colony goes beyond autosomal genes with certain parents: at most one way or two, so that
/// the judge has an end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Beyond {
    Nothing,
    SeveralSires,
    MixedSires,
    NoFather,
    OtherSire,
    MixUp,
    OnX,
    PartlySexLinked,
    Linked,
    RecordedOnly,
    KeptIf,
    Believed,
}

const BEYOND: [Beyond; 11] = [
    Beyond::SeveralSires,
    Beyond::MixedSires,
    Beyond::NoFather,
    Beyond::OtherSire,
    Beyond::MixUp,
    Beyond::OnX,
    Beyond::PartlySexLinked,
    Beyond::Linked,
    Beyond::RecordedOnly,
    Beyond::KeptIf,
    Beyond::Believed,
];

/// A colony of up to four founders and a handful of young, with loops.
pub fn small(seed: u64, features: Features) -> Colony {
    let mut dice = Dice(ChaCha8Rng::seed_from_u64(seed));
    let mut beyond = vec![Beyond::Nothing];
    if features.beyond_autosomal {
        beyond = vec![*dice.pick(&BEYOND.each_ref())];
        if dice.chance(0.4) {
            beyond.push(*dice.pick(&BEYOND.each_ref()));
        }
    }
    let is = |what: Beyond| beyond.contains(&what);
    // Selection needs a look to select by, and one of the two only.
    let selected = is(Beyond::RecordedOnly) || is(Beyond::KeptIf);
    let first = dice.below(if selected { 3 } else { 4 }) as usize;
    let mut genes = vec![&KINDS[first]];
    let heavy = is(Beyond::SeveralSires) || is(Beyond::MixedSires) || is(Beyond::MixUp);
    if is(Beyond::Linked) || dice.chance(if heavy { 0.25 } else { 0.5 }) {
        genes.push(&KINDS[(first + 1 + dice.below(2) as usize) % 3]);
    }
    let mut build = Build::new().assume(|a| {
        a.misread = 0.001;
        a.background = 0.005;
        a.virgin_heterozygosity = 0.25;
    });
    let sexed = is(Beyond::OnX) || is(Beyond::PartlySexLinked);
    if sexed || (is(Beyond::NoFather) && dice.chance(0.5)) {
        build = build.sex_system(if dice.chance(0.5) { SexSystem::Xy } else { SexSystem::Zw });
    }
    for (at, gene) in genes.iter().enumerate() {
        build = declare(build, &mut dice, gene);
        if sexed && (at == 0 || dice.chance(0.5)) && !is(Beyond::Linked) {
            let on_one = is(Beyond::OnX) && (!is(Beyond::PartlySexLinked) || dice.chance(0.5));
            build = build.sex_linked(if on_one { None } else { Some(0.125) });
            build = build.gene(|gene| {
                gene.lethal.clear();
                if on_one {
                    let alleles = gene.alleles.len();
                    let shown: Vec<_> = (1..=alleles)
                        .map(|a| {
                            let of =
                                |g: Genotype| g == Genotype::Two(a, a) || g == Genotype::Two(0, a);
                            let class =
                                gene.shows.iter().filter(|(g, _)| of(*g)).map(|(_, c)| *c).min();
                            (Genotype::One(a), class.unwrap_or(1))
                        })
                        .collect();
                    gene.shows.extend(shown);
                }
            });
        }
    }
    if is(Beyond::Linked) && genes.len() == 2 {
        let names = format!("{}, {}", genes[0].name, genes[1].name);
        build = build.linked(&names, &[0.125], &[0.25]);
    }
    if genes.len() == 2 && !selected && dice.chance(0.3) {
        build = match dice.below(2) {
            0 => build.mask(genes[0].looks[0], &format!("gene {}", genes[1].name)),
            _ => build.mask(genes[0].looks[0], genes[1].looks[0]),
        };
    }
    build = build.assume(|a| {
        if is(Beyond::OtherSire) {
            a.other_sire = 0.125;
        }
        if is(Beyond::MixUp) {
            a.mix_up = 0.0625;
        }
    });
    let on_x = |build: &Build| build.clone().colony().genes.iter().any(|g| g.sex_linked.is_some());
    let plain = on_x(&build);
    for (id, sex) in [("F1", Sex::Female), ("M1", Sex::Male), ("M2", Sex::Male)] {
        build = build.founder(id, sex);
        if !plain {
            build = told(build, &mut dice, &genes);
        }
        build = if plain {
            seen_only(build, &mut dice, &genes)
        } else {
            seen(build, &mut dice, &genes)
        };
    }
    let mut females = vec!["F1"];
    let mut males = vec!["M1", "M2"];
    let names = [["A1", "A2"], ["B1", "B2"], ["C1", "C2"]];
    let clutches = if heavy { 2 } else { 2 + dice.below(2) as usize };
    let look = genes[0].looks[0];
    for (clutch, young) in names.iter().enumerate().take(clutches) {
        let dam = if dice.chance(0.1) { "unknown" } else { dice.pick(&females) };
        let sire = if dice.chance(0.1) { "unknown" } else { dice.pick(&males) };
        build = build.clutch(&format!("K{clutch}"), dam, sire);
        if (is(Beyond::SeveralSires) || is(Beyond::MixedSires)) && clutch == 0 {
            let third = if dice.chance(0.5) { "unknown" } else { "none" };
            build = build.sires(&[("M1", 0.5), ("M2", 0.25), (third, 0.25)]);
            if is(Beyond::MixedSires) {
                build = build.mixed();
            }
        } else if is(Beyond::NoFather) && clutch == 0 {
            build = match dice.below(2) {
                0 => build.sires(&[("M1", 0.75), ("none", 0.25)]),
                _ => build.sires(&[("none", 1.0)]),
            };
        }
        if is(Beyond::RecordedOnly) && clutch == 0 {
            build = build.recorded_only(look);
        } else if is(Beyond::KeptIf) && clutch == 0 {
            build = build.kept_if(look);
        }
        for (at, id) in young.iter().enumerate() {
            let sex = if at == 0 { Sex::Male } else { Sex::Female };
            build = build.young(id).sex(sex);
            build = if plain {
                seen_only(build, &mut dice, &genes)
            } else {
                seen(build, &mut dice, &genes)
            };
            if selected && clutch == 0 {
                build = build.looks(look);
            }
            if !selected && dice.chance(0.2) {
                build = build.grown(&looks(&mut dice, &genes));
            }
        }
        if is(Beyond::Believed) && clutch == 0 {
            let other = genes[0].looks[genes[0].looks.len() - 1];
            build = build.young("S").animal(|a| a.grown = None);
            build = build.either(&[("normal", 0.25), (other, 0.75)]).believed();
        }
        if plain && dice.chance(0.3) && clutch > 0 {
            build = build.young(["", "U1", "U2"][clutch]);
            build = build.looks(&looks(&mut dice, &genes));
        }
        if !(selected && clutch == 0) && dice.chance(0.6) {
            build = build.count(&looks(&mut dice, &genes), 1 + dice.below(2));
        }
        match dice.below(3) {
            0 => build = build.died(dice.below(3)),
            1 => build = build.incomplete_records(),
            _ => {}
        }
        males.push(young[0]);
        females.push(young[1]);
    }
    build.colony()
}

/// Looks, certain or not, without readings.
fn seen_only(build: Build, dice: &mut Dice, genes: &[&GeneKind]) -> Build {
    if dice.chance(0.2) {
        let (one, other) = (looks(dice, genes), looks(dice, genes));
        return build.either(&[(&one, 0.7), (&other, 0.3)]);
    }
    build.looks(&looks(dice, genes))
}

/// A colony small enough for every combination of the states of its network.
pub fn tiny(seed: u64) -> Colony {
    let mut dice = Dice(ChaCha8Rng::seed_from_u64(seed));
    let genes = [&KINDS[dice.below(3) as usize]];
    let mut build = declare(Build::new(), &mut dice, genes[0]);
    for (id, sex) in [("F1", Sex::Female), ("M1", Sex::Male)] {
        build = build.founder(id, sex);
        build = told(build, &mut dice, &genes);
        build = seen(build, &mut dice, &genes);
    }
    build = build.clutch("A", "F1", "M1").young("A1").sex(Sex::Male);
    build = seen(build, &mut dice, &genes);
    build = build.count(&looks(&mut dice, &genes), 2);
    build = build.clutch("B", "F1", "A1").young("B1");
    seen(build, &mut dice, &genes).colony()
}
