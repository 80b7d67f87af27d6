//! Colonies in a few words.
//!
//! ```ignore
//! let colony = Build::exact()                  // background 0, misread 0
//!     .recessive("ash")
//!     .founder("Juniper", Female).sold_as("66% het ash")
//!     .founder("Bram", Male).looks("ash")
//!     .clutch("A", "Juniper", "Bram")
//!     .count("normal", 6)
//!     .young("A-1").looks("ash").sex(Male)
//!     .colony();
//! ```
//!
//! A word like `looks` is about the animal or young named last, a word like `eggs` about the clutch
//! named last, a word like `lethal` about the gene named last. Genes come first, then founders,
//! then clutches; a young can be a parent of any clutch, by its id. Nothing is recorded of an
//! animal's looks until `looks`, `either` or `either_grown` says so. Lists are written with commas;
//! "" and "normal" are no look at all. For whatever has no word here there are `gene`, `animal`,
//! `in_clutch` and `in_colony`, which hand out the record itself.

use proveout::records::{
    Alternative, Animal, Assumptions, Call, Colony, CrossoverRates, Gene, GeneId, Inheritance,
    LinkageGroup, Mask, Misread, Observation, Origin, Penetrance, Reading, ReadingKind, Sex,
    SexLinkage, SexSystem, Statement, Status,
};

use super::build_names::{Names, date, list};

/// A colony in the making.
#[derive(Clone, Debug)]
pub struct Build {
    pub(super) colony: Colony,
    /// Parents and young of each clutch, by name until all are known.
    pub(super) broods: Vec<Brood>,
}

#[derive(Clone, Debug)]
pub(super) struct Brood {
    pub(super) dam: String,
    pub(super) sires: Vec<(String, f64)>,
    pub(super) young: Vec<Animal>,
}

impl Build {
    /// A colony with the default assumptions.
    pub fn new() -> Self {
        Build { colony: Colony::default(), broods: vec![] }
    }

    /// A colony with background 0 and misread 0.
    pub fn exact() -> Self {
        Build::new().assume(|assume| {
            assume.background = 0.0;
            assume.misread = 0.0;
        })
    }

    /// Changes the assumptions.
    pub fn assume(mut self, change: impl FnOnce(&mut Assumptions)) -> Self {
        change(&mut self.colony.assumptions);
        self
    }

    /// Sets the sex system.
    pub fn sex_system(mut self, system: SexSystem) -> Self {
        self.colony.sex_system = system;
        self
    }

    /// A gene of which two copies show the look of the same name.
    pub fn recessive(self, name: &str) -> Self {
        let shows = format!("{name}/{name} = {name}");
        self.declare(name, Inheritance::Recessive, &[name], &[&shows])
    }

    /// A gene of which one or two copies show the look of the same name.
    pub fn dominant(self, name: &str) -> Self {
        let shows = [format!("+/{name} = {name}"), format!("{name}/{name} = {name}")];
        self.declare(name, Inheritance::Dominant, &[name], &[&shows[0], &shows[1]])
    }

    /// A gene of which one copy shows the look of the same name, two `super` and the name.
    pub fn incomplete(self, name: &str) -> Self {
        let shows = [format!("+/{name} = {name}"), format!("{name}/{name} = super {name}")];
        self.declare(name, Inheritance::IncompleteDominant, &[name], &[&shows[0], &shows[1]])
    }

    /// A gene with several alleles; `shows` lists `genotype = look`, the others are normal.
    pub fn series(self, name: &str, alleles: &[&str], shows: &[&str]) -> Self {
        self.declare(name, Inheritance::Alleles, alleles, shows)
    }

    fn declare(mut self, name: &str, kind: Inheritance, alleles: &[&str], shows: &[&str]) -> Self {
        let mut gene = Gene {
            name: name.into(),
            place: Default::default(),
            aka: vec![],
            caution: None,
            inheritance: kind,
            alleles: alleles.iter().map(|allele| (*allele).into()).collect(),
            looks: vec![],
            shows: vec![],
            lethal: vec![],
            penetrance: None,
            misread: None,
            background: None,
            sex_linked: None,
            from_age_adult: false,
            judged_since: None,
            first_seen: Default::default(),
        };
        for line in shows {
            let (genotype, look) = line.split_once(" = ").expect("genotype = look");
            let class = gene.looks.iter().position(|known| known == look);
            let class = class.unwrap_or_else(|| {
                gene.looks.push(look.into());
                gene.looks.len() - 1
            });
            gene.shows.push((Names::genotype(&gene, genotype), class + 1));
        }
        self.colony.genes.push(gene);
        self
    }

    /// Changes the gene named last.
    pub fn gene(mut self, change: impl FnOnce(&mut Gene)) -> Self {
        change(self.colony.genes.last_mut().expect("a gene"));
        self
    }

    /// These genotypes never hatch.
    pub fn lethal(self, genotypes: &str) -> Self {
        self.gene(|gene| {
            gene.lethal = list(genotypes).map(|genotype| Names::genotype(gene, genotype)).collect();
        })
    }

    /// Chance that any genotype shows its look.
    pub fn penetrance(self, chance: f64) -> Self {
        self.gene(|gene| gene.penetrance = Some(Penetrance::All(chance)))
    }

    /// Chance that a call on this gene is wrong.
    pub fn misread(self, chance: f64) -> Self {
        self.gene(|gene| gene.misread = Some(Misread::Any(chance)))
    }

    /// Chances of wrong calls on this gene, told apart.
    pub fn misread_apart(self, missed: f64, imagined: f64, confused: f64) -> Self {
        self.gene(|gene| gene.misread = Some(Misread::Apart { missed, imagined, confused }))
    }

    /// Frequency of each mutant allele of this gene.
    pub fn background(self, frequencies: &[f64]) -> Self {
        self.gene(|gene| gene.background = Some(frequencies.to_vec()))
    }

    /// Puts the gene on X or Z only, or with `Some(crossover)` on both sex chromosomes.
    pub fn sex_linked(self, crossover: Option<f64>) -> Self {
        self.gene(|gene| {
            gene.sex_linked = Some(SexLinkage { crossover });
            if crossover.is_none() && gene.inheritance != Inheritance::Alleles {
                gene.shows.push((proveout::records::Genotype::One(1), 1));
            }
        })
    }

    /// The gene is only judged on grown animals.
    pub fn judged_on_adults(self) -> Self {
        self.gene(|gene| gene.from_age_adult = true)
    }

    /// Earlier animals and clutches are unread for the gene.
    pub fn judged_since(self, since: &str) -> Self {
        self.gene(|gene| gene.judged_since = Some(date(since)))
    }

    /// Genes that travel together, in map order, with the rates in dams and in sires.
    pub fn linked(mut self, genes: &str, female: &[f64], male: &[f64]) -> Self {
        let genes = list(genes).map(|gene| self.gene_id(gene)).collect();
        let crossover = CrossoverRates::Known { female: female.to_vec(), male: male.to_vec() };
        self.colony.linkage.push(LinkageGroup { genes, crossover, place: Default::default() });
        self
    }

    /// Where all these looks are recorded, a whole gene or a look is hidden.
    pub fn mask(mut self, looks: &str, hides: &str) -> Self {
        let names = Names(&self.colony);
        let hides = list(hides).map(|name| names.hidden(name)).collect();
        let mask = Mask { looks: names.looks(looks), hides, place: Default::default() };
        self.colony.masks.push(mask);
        self
    }

    /// An animal without recorded parents.
    pub fn founder(mut self, id: &str, sex: impl Into<Option<Sex>>) -> Self {
        assert!(self.broods.is_empty(), "founders come before clutches");
        self.colony.animals.push(Build::nobody(Some(id), Origin::Founder, sex.into()));
        self
    }

    pub(super) fn nobody(id: Option<&str>, origin: Origin, sex: Option<Sex>) -> Animal {
        Animal {
            id: id.map(Into::into),
            place: Default::default(),
            origin,
            sex,
            hatched: None,
            seen: Observation::default(),
            seen_grown: origin == Origin::Founder,
            grown: None,
            believed: false,
            statements: vec![],
            trust: None,
            readings: vec![],
            status: Status::Kept,
            note: None,
        }
    }

    /// Changes the animal or young named last.
    pub fn animal(mut self, change: impl FnOnce(&mut Animal)) -> Self {
        change(match self.broods.last_mut() {
            Some(brood) => brood.young.last_mut().expect("a young"),
            None => self.colony.animals.last_mut().expect("a founder"),
        });
        self
    }

    /// What the animal was called.
    pub fn looks(self, looks: &str) -> Self {
        let call = Call::Looks(Names(&self.colony).looks(looks));
        self.animal(|animal| animal.seen.call = call)
    }

    /// An uncertain call.
    pub fn either(self, list: &[(&str, f64)]) -> Self {
        let call = self.uncertain(list);
        self.animal(|animal| animal.seen.call = call)
    }

    fn uncertain(&self, list: &[(&str, f64)]) -> Call {
        let names = Names(&self.colony);
        let one = |(looks, fit): &(&str, f64)| Alternative { looks: names.looks(looks), fit: *fit };
        Call::Either(list.iter().map(one).collect())
    }

    /// The numbers of the young's uncertain call are beliefs, pairing included.
    pub fn believed(self) -> Self {
        self.animal(|animal| animal.believed = true)
    }

    /// Genes nobody judged.
    pub fn unread(self, genes: &str) -> Self {
        let genes = list(genes).map(|gene| self.gene_id(gene)).collect();
        self.animal(|animal| animal.seen.unread = genes)
    }

    /// What the young was called when it had grown.
    pub fn grown(self, looks: &str) -> Self {
        let call = Call::Looks(Names(&self.colony).looks(looks));
        self.animal(|animal| {
            animal.grown = Some(Observation { call, ..Observation::default() });
        })
    }

    /// An uncertain call on a young that had grown.
    pub fn either_grown(self, list: &[(&str, f64)]) -> Self {
        let call = self.uncertain(list);
        self.animal(|animal| {
            animal.grown = Some(Observation { call, ..Observation::default() });
        })
    }

    /// The sex of a young.
    pub fn sex(self, sex: Sex) -> Self {
        self.animal(|animal| animal.sex = Some(sex))
    }

    /// When a founder hatched.
    pub fn born(self, day: &str) -> Self {
        self.animal(|animal| animal.hatched = Some(date(day)))
    }

    /// What the sellers said.
    pub fn sold_as(self, statements: &str) -> Self {
        let names = Names(&self.colony);
        let told = list(statements).map(|text| {
            let (gene, says) = names.statement(text);
            Statement { gene, says, text: text.into(), place: Default::default() }
        });
        let told: Vec<Statement> = told.collect();
        self.animal(|animal| animal.statements.extend(told))
    }

    /// Chance that the sellers were right.
    pub fn trust(self, trust: f64) -> Self {
        self.animal(|animal| animal.trust = Some(trust))
    }

    /// A test of the genotype.
    pub fn reading(self, gene: &str, result: &str, reliability: f64) -> Self {
        let gene = self.gene_id(gene);
        let genotype = Names::genotype(self.colony.gene(gene), result);
        let kind = ReadingKind::Result { genotype, reliability };
        self.animal(|animal| {
            animal.readings.push(Reading { gene, kind, place: Default::default() });
        })
    }

    /// A likelihood of each genotype.
    pub fn likelihood(self, gene: &str, list: &[(&str, f64)]) -> Self {
        let gene = self.gene_id(gene);
        let one = |(genotype, likelihood): &(&str, f64)| {
            (Names::genotype(self.colony.gene(gene), genotype), *likelihood)
        };
        let kind = ReadingKind::Likelihood(list.iter().map(one).collect());
        self.animal(|animal| {
            animal.readings.push(Reading { gene, kind, place: Default::default() });
        })
    }

    fn gene_id(&self, name: &str) -> GeneId {
        self.colony.find_gene(name).unwrap_or_else(|| panic!("no gene is called {name}"))
    }

    /// Changes anything else.
    pub fn in_colony(mut self, change: impl FnOnce(&mut Colony)) -> Self {
        change(&mut self.colony);
        self
    }
}
