//! Section 2 of the model: where founders and unrelated animals start from.

use std::collections::BTreeMap;

use proveout::records::{Animal, Colony, Gene, Genotype, Says, Sex, SexSystem, Statement};

use super::calls::{Called, chance_named_wrongly, chance_of_call, penetrance};
use super::exact::{Exact, add, exact, one, over, whole, zero};

/// A weight for each genotype of one gene.
pub type Weights = BTreeMap<Genotype, Exact>;

/// Every genotype of a gene an animal of this sex can have, lethal ones included.
pub fn possible_genotypes(colony: &Colony, gene: usize, sex: Option<Sex>) -> Vec<Genotype> {
    let declared = &colony.genes[gene];
    let on_x_only = declared.sex_linked.is_some_and(|linkage| linkage.crossover.is_none());
    let one_copy_sex = match colony.sex_system {
        SexSystem::Xy => Some(Sex::Male),
        SexSystem::Zw => Some(Sex::Female),
        SexSystem::Environmental => None,
    };
    if on_x_only && one_copy_sex.is_some() && sex == one_copy_sex {
        (0..=declared.alleles.len()).map(Genotype::One).collect()
    } else {
        declared.two_copy_genotypes()
    }
}

/// Frequency of each allele in unrelated stock, `+` first.
fn frequencies(colony: &Colony, gene: &Gene) -> Vec<Exact> {
    let mutant: Vec<Exact> = match &gene.background {
        Some(given) => given.iter().map(|&frequency| exact(frequency)).collect(),
        None => vec![exact(colony.assumptions.background); gene.alleles.len()],
    };
    let wild = one() - mutant.iter().sum::<Exact>();
    [wild].into_iter().chain(mutant).collect()
}

/// HW(G)·weight(G), normalised over the genotypes that can live.
///
/// Where that has no mass it is the limit as the zero frequencies shrink together: alleles of
/// frequency zero count as ε, and only the genotypes with the lowest power of ε stay. (Where it
/// has mass the lowest power is ε⁰, so this is one rule.)
fn given(
    colony: &Colony,
    gene: usize,
    sex: Option<Sex>,
    weight: impl Fn(Genotype) -> Exact,
) -> Weights {
    let declared = &colony.genes[gene];
    let frequencies = frequencies(colony, declared);
    let factor = |allele: usize| {
        let frequency = &frequencies[allele];
        if *frequency == zero() { (1, one()) } else { (0, frequency.clone()) }
    };
    let mut terms = Vec::new();
    for genotype in possible_genotypes(colony, gene, sex) {
        let (order, hardy_weinberg) = match genotype {
            Genotype::One(a) => factor(a),
            Genotype::Two(a, b) => {
                let ((order_a, share_a), (order_b, share_b)) = (factor(a), factor(b));
                let ways = if a == b { 1 } else { 2 };
                (order_a + order_b, share_a * share_b * whole(ways))
            }
        };
        let value = hardy_weinberg * weight(genotype);
        if value != zero() && !declared.lethal.contains(&genotype) {
            terms.push((order, genotype, value));
        }
    }
    let lowest = terms.iter().map(|(order, ..)| *order).min();
    terms.retain(|(order, ..)| Some(*order) == lowest);
    let total: Exact = terms.iter().map(|(.., value)| value).sum();
    terms.into_iter().map(|(_, genotype, value)| (genotype, value / &total)).collect()
}

/// An animal from unrelated stock.
pub fn unrelated(colony: &Colony, gene: usize, sex: Option<Sex>) -> Weights {
    given(colony, gene, sex, |_| one())
}

/// A founder's term for one gene: where it starts from, times its call where the call is evidence.
pub fn founder_term(
    colony: &Colony,
    animal: &Animal,
    gene: usize,
    sex: Option<Sex>,
    call: Option<&Called>,
) -> Weights {
    let statement = animal.statements.iter().find(|statement| statement.gene.0 == gene);
    let trust = match statement {
        Some(_) => exact(animal.trust.unwrap_or(colony.assumptions.trust)),
        None => zero(),
    };
    let distrust = one() - &trust;
    let told = statement.map_or_else(Weights::new, |told| as_told(colony, told, sex));
    let evidence =
        |genotype| call.map_or_else(one, |call| chance_of_call(colony, gene, genotype, call));
    let named = call.filter(|call| call.class > 0);
    let ordinary = match named {
        Some(call) => own_look(colony, gene, sex, call.class),
        None => unrelated(colony, gene, sex),
    };
    let mut term = Weights::new();
    for genotype in possible_genotypes(colony, gene, sex) {
        let share = |weights: &Weights| weights.get(&genotype).cloned().unwrap_or_else(zero);
        let believed = &trust * share(&told) * evidence(genotype);
        let otherwise = &distrust * share(&ordinary);
        let counts = if named.is_some() { one() } else { evidence(genotype) };
        term.insert(genotype, believed + otherwise * counts);
    }
    term
}

/// B(G): an animal that is bought for the look it was called by.
fn own_look(colony: &Colony, gene: usize, sex: Option<Sex>, class: usize) -> Weights {
    let declared = &colony.genes[gene];
    let wrong = chance_named_wrongly(colony, declared);
    // The class is the one it shows: a look that does not always show is chosen when it does.
    let shows = |genotype| {
        let own = declared.class_of(genotype) == class;
        if own { penetrance(declared, genotype) } else { zero() }
    };
    let of_it = given(colony, gene, sex, shows);
    let not_of_it = given(colony, gene, sex, |genotype| one() - shows(genotype));
    let mut term = Weights::new();
    for (genotype, share) in of_it {
        add(&mut term, genotype, share * (one() - &wrong));
    }
    for (genotype, share) in not_of_it {
        add(&mut term, genotype, share * &wrong);
    }
    term
}

/// P(G | statement).
fn as_told(colony: &Colony, statement: &Statement, sex: Option<Sex>) -> Weights {
    let gene = statement.gene.0;
    let declared = &colony.genes[gene];
    match statement.says {
        Says::Look(class) => given(colony, gene, sex, |genotype| {
            if declared.class_of(genotype) == class {
                penetrance(declared, genotype)
            } else {
                zero()
            }
        }),
        Says::NotHet { allele } => {
            given(
                colony,
                gene,
                sex,
                |genotype| {
                    if genotype.copies_of(allele) == 0 { one() } else { zero() }
                },
            )
        }
        Says::Het { allele, chance } => {
            let one_copy = possible_genotypes(colony, gene, sex)[0] == Genotype::One(0);
            assert!(!one_copy, "judge: not covered: a het statement on the one-copy sex");
            let chance = exact(chance);
            let both =
                [(Genotype::two(0, allele), chance.clone()), (Genotype::two(0, 0), one() - chance)];
            let alive =
                both.into_iter().filter(|(genotype, _)| !declared.lethal.contains(genotype));
            let alive: Vec<_> = alive.collect();
            let total: Exact = alive.iter().map(|(_, share)| share).sum();
            alive.into_iter().map(|(genotype, share)| (genotype, over(&share, &total))).collect()
        }
    }
}
