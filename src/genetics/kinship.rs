//! Kinship by pedigree: how likely two copies of a gene come from one ancestor's copy.

use rustc_hash::FxHashMap;

use super::descent::Descent;
use crate::records::{AnimalId, Candidate, Clutch, ClutchId, Colony, Origin, Parent, SiringMode};

/// More parents than these would take many seconds: every clutch looks at all before it.
const MOST: usize = 30_000;

/// Coefficients of kinship and of inbreeding of one colony.
///
/// The kinship of two animals is the chance that a copy of an autosomal gene drawn from each of
/// them comes from one copy of a common ancestor; the inbreeding of an animal is the kinship of its
/// parents. Founders, unknown parents and animals from unrelated stock are taken as unrelated and
/// not inbred. Both are chances from 0 to 1.
///
/// # Source
///
/// Wright 1922, Am Nat 56:330–338. A sire in doubt is the mixture of the
/// candidates: every coefficient is then its mean over who he is, each clutch for itself.
#[derive(Clone, Debug)]
pub struct Kinship {
    descent: Descent,
    /// The node of each animal that something descends from.
    parents: FxHashMap<AnimalId, usize>,
    families: Vec<Family>,
    origins: Vec<Origin>,
    /// The parents of single eggs, where each has its own sire.
    own: FxHashMap<AnimalId, Family>,
}

/// The parents of a clutch, as nodes, and the inbreeding of their young.
#[derive(Clone, Copy, Debug)]
struct Family {
    dam: usize,
    sire: usize,
    inbreeding: f64,
}

/// The chances of the candidates for the sire of a clutch, or of one hatchling of it.
pub type SireChances<'c> = dyn Fn(ClutchId, Option<AnimalId>) -> Vec<(Candidate, f64)> + 'c;

impl Kinship {
    /// Works out the kinship of a colony; `sires` weighs the candidates of each clutch, and of each
    /// hatchling where every egg has its own sire.
    ///
    /// `None` for more parents than can be compared in a few seconds.
    pub fn new(colony: &Colony, sires: &SireChances<'_>) -> Option<Self> {
        let mut making = Making::new(colony, sires);
        let mut left: Vec<ClutchId> = colony.clutch_ids().collect();
        while !left.is_empty() {
            let before = left.len();
            left.retain(|clutch| !making.try_family(*clutch));
            if making.descent.len() > MOST || left.len() == before {
                return None;
            }
        }
        let Making { descent, parents, families, own, .. } = making;
        let families = families.into_iter().flatten().collect();
        let origins = colony.animals.iter().map(|animal| animal.origin).collect();
        Some(Kinship { descent, parents, families, origins, own })
    }

    /// The inbreeding of an animal; 0 for one without recorded parents.
    pub fn inbreeding(&self, animal: AnimalId) -> f64 {
        match self.origins[animal.0] {
            Origin::Founder => 0.0,
            Origin::Clutch(_) => self.family_of(animal).map_or(0.0, |family| family.inbreeding),
        }
    }

    /// The inbreeding of a young of a clutch.
    pub fn inbreeding_in(&self, clutch: ClutchId) -> f64 {
        self.families[clutch.0].inbreeding
    }

    /// The kinship of two animals.
    pub fn between(&self, one: AnimalId, other: AnimalId) -> f64 {
        if one == other {
            return (1.0 + self.inbreeding(one)) / 2.0;
        }
        let [one, other] = [one, other].map(|animal| self.parts(animal));
        let pairs = one.iter().flat_map(|a| other.iter().map(move |b| (a, b)));
        pairs.map(|((a, share), (b, other))| share * other * self.descent.between(*a, *b)).sum()
    }

    /// The nodes an animal's copies come from, with their shares.
    fn parts(&self, animal: AnimalId) -> Vec<(usize, f64)> {
        match (self.parents.get(&animal), self.family_of(animal)) {
            (Some(node), _) => vec![(*node, 1.0)],
            (None, Some(family)) => vec![(family.dam, 0.5), (family.sire, 0.5)],
            (None, None) => Vec::new(),
        }
    }

    fn family_of(&self, animal: AnimalId) -> Option<Family> {
        let Origin::Clutch(clutch) = self.origins[animal.0] else { return None };
        Some(self.own.get(&animal).copied().unwrap_or(self.families[clutch.0]))
    }
}

/// The nodes while they are made: each behind those it comes from.
struct Making<'a> {
    colony: &'a Colony,
    sires: &'a SireChances<'a>,
    breeds: Vec<bool>,
    descent: Descent,
    parents: FxHashMap<AnimalId, usize>,
    families: Vec<Option<Family>>,
    own: FxHashMap<AnimalId, Family>,
}

impl<'a> Making<'a> {
    fn new(colony: &'a Colony, sires: &'a SireChances<'a>) -> Self {
        let mut breeds = vec![false; colony.animals.len()];
        for animal in colony.clutches.iter().flat_map(Clutch::named_parents) {
            breeds[animal.0] = true;
        }
        let mut making = Making {
            colony,
            sires,
            descent: Descent::default(),
            parents: FxHashMap::default(),
            families: vec![None; colony.clutches.len()],
            own: FxHashMap::default(),
            breeds,
        };
        for animal in colony.animal_ids() {
            if making.breeds[animal.0] && colony.animal(animal).origin == Origin::Founder {
                let node = making.descent.unrelated();
                making.parents.insert(animal, node);
            }
        }
        making
    }

    /// Adds the family of a clutch and its young that are bred from; false when a parent is not
    /// there yet.
    fn try_family(&mut self, id: ClutchId) -> bool {
        let clutch = self.colony.clutch(id);
        if !clutch.named_parents().all(|animal| self.parents.contains_key(&animal)) {
            return false;
        }
        let dam = match clutch.dam {
            Parent::Known(dam) => self.parents[&dam],
            Parent::Unknown => self.descent.unrelated(),
        };
        // One unrecorded male is meant, whoever's sire he is in this clutch.
        let mut nobody = None;
        let family = self.family((self.sires)(id, None), dam, &mut nobody);
        self.families[id.0] = Some(family);
        let mixed = clutch.siring.mode == SiringMode::Mixed;
        for animal in &clutch.hatchlings {
            let own = if mixed {
                let own = self.family((self.sires)(id, Some(*animal)), dam, &mut nobody);
                self.own.insert(*animal, own);
                own
            } else {
                family
            };
            if self.breeds[animal.0] {
                let node = self.descent.young(own.dam, own.sire, own.inbreeding);
                self.parents.insert(*animal, node);
            }
        }
        true
    }

    fn family(
        &mut self,
        candidates: Vec<(Candidate, f64)>,
        dam: usize,
        nobody: &mut Option<usize>,
    ) -> Family {
        let total: f64 = candidates.iter().map(|(_, chance)| chance).sum();
        let mut fatherless = 0.0;
        let mut list = Vec::with_capacity(candidates.len());
        for (candidate, chance) in candidates.iter().filter(|(_, chance)| *chance > 0.0) {
            let node = match candidate {
                Candidate::Known(sire) => self.parents[sire],
                Candidate::Unknown => *nobody.get_or_insert_with(|| self.descent.unrelated()),
                Candidate::NoFather => {
                    fatherless = chance / total;
                    dam
                }
            };
            list.push((node, chance / total));
        }
        let sire = match list.as_slice() {
            [] => *nobody.get_or_insert_with(|| self.descent.unrelated()),
            [(only, _)] => *only,
            _ => self.descent.one_of(&list),
        };
        let inbreeding = self.inbreeding(dam, sire, fatherless);
        Family { dam, sire, inbreeding }
    }

    /// The inbreeding of a young of two nodes that has no father with this chance.
    ///
    /// Without a father it has two copies of one of the dam's alleles, unless it keeps both.
    fn inbreeding(&self, dam: usize, sire: usize, fatherless: f64) -> f64 {
        let shared = self.descent.between(dam, sire);
        if fatherless == 0.0 {
            return shared;
        }
        let own = self.descent.between(dam, dam);
        let kept_both = self.colony.assumptions.virgin_heterozygosity;
        let alone = (1.0 - kept_both) + kept_both * (2.0 * own - 1.0);
        shared + fatherless * (alone - own)
    }
}

/// The candidates of a clutch as the records weigh them, the unrecorded other sire included.
///
/// # Source
///
/// `other_sire` adds `unknown` with that weight to every clutch with exactly one named sire.
pub fn recorded_candidates(colony: &Colony, clutch: ClutchId) -> Vec<(Candidate, f64)> {
    let other = colony.assumptions.other_sire;
    match colony.clutch(clutch).siring.candidates.as_slice() {
        [(Candidate::Known(sire), _)] if other > 0.0 => {
            vec![(Candidate::Known(*sire), 1.0 - other), (Candidate::Unknown, other)]
        }
        given => given.to_vec(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::records::{Format, read};

    /// Founders by sex, then clutches: young, dam, sire (a key and its value).
    fn colony(founders: &str, clutches: &[(&str, &str, &str)]) -> Colony {
        let mut text = String::new();
        for founder in founders.split(' ') {
            let sex = if founder.starts_with('f') { "female" } else { "male" };
            text += &format!("[[animal]]\nid = \"{founder}\"\nsex = \"{sex}\"\n");
        }
        for (at, (young, dam, sire)) in clutches.iter().enumerate() {
            text += &format!("[[clutch]]\nid = \"c{at}\"\ndam = \"{dam}\"\n{sire}\n");
            for one in young.split(' ') {
                text += &format!("[[clutch.hatchling]]\nid = \"{one}\"\n");
            }
        }
        read(text.as_bytes(), Format::Toml).unwrap_or_else(|e| panic!("{text}\n{e:?}")).colony
    }

    fn kinship(colony: &Colony) -> Kinship {
        Kinship::new(colony, &|clutch, _| recorded_candidates(colony, clutch)).expect("small")
    }

    fn inbreeding(founders: &str, clutches: &[(&str, &str, &str)], of: &str) -> f64 {
        let colony = colony(founders, clutches);
        kinship(&colony).inbreeding(colony.find_animal(of).expect("named"))
    }

    #[test]
    fn young_of_close_kin_have_the_coefficients_of_the_textbooks() {
        let (a, b) = ("sire = \"ma\"", "sire = \"mb\"");
        let full_sibs = [("d s", "fa", a), ("x", "d", "sire = \"s\"")];
        assert_eq!(inbreeding("fa ma", &full_sibs, "x"), 0.25);
        let half_sibs = [("d", "fa", a), ("s", "fb", a), ("x", "d", "sire = \"s\"")];
        assert_eq!(inbreeding("fa fb ma", &half_sibs, "x"), 0.125);
        let back = [("d", "fa", a), ("x", "d", a)];
        assert_eq!(inbreeding("fa ma", &back, "x"), 0.25);
        // Brother and sister of one family with sister and brother of another.
        let double = [
            ("d1 s1", "fa", a),
            ("d2 s2", "fb", b),
            ("d", "d1", "sire = \"s2\""),
            ("s", "d2", "sire = \"s1\""),
            ("x", "d", "sire = \"s\""),
        ];
        assert_eq!(inbreeding("fa fb ma mb", &double, "x"), 0.125);
        let cousins = [
            ("d1 s1", "fa", a),
            ("d", "d1", b),
            ("s", "fb", "sire = \"s1\""),
            ("x", "d", "sire = \"s\""),
        ];
        assert_eq!(inbreeding("fa fb ma mb", &cousins, "x"), 0.0625);
    }

    /// SOURCE: Wright 1921, Genetics 6:124–143, repeated brother-sister mating.
    #[test]
    fn brother_sister_mating_repeated_follows_the_printed_series() {
        let mut clutches = vec![("d0 s0".to_owned(), "fa".to_owned(), "sire = \"ma\"".to_owned())];
        for at in 0..4 {
            let young = format!("d{0} s{0}", at + 1);
            clutches.push((young, format!("d{at}"), format!("sire = \"s{at}\"")));
        }
        let all: Vec<(&str, &str, &str)> =
            clutches.iter().map(|(a, b, c)| (a.as_str(), b.as_str(), c.as_str())).collect();
        let colony = colony("fa ma", &all);
        let kinship = kinship(&colony);
        let series = [0.0, 0.25, 0.375, 0.5, 0.59375];
        for (at, want) in series.iter().enumerate() {
            assert_eq!(kinship.inbreeding_in(ClutchId(at)), *want);
            let [d, s] = ["d", "s"].map(|name| colony.find_animal(&format!("{name}{at}")));
            let (Some(d), Some(s)) = (d, s) else { panic!("named") };
            assert_eq!(kinship.inbreeding(d), *want);
            let next = series.get(at + 1).copied().unwrap_or(0.671875);
            assert_eq!(kinship.between(d, s), next);
        }
    }

    #[test]
    fn a_sire_in_doubt_counts_by_his_chance_and_is_one_male_for_the_whole_clutch() {
        let doubt = "sires = { ma = 0.5, mb = 0.5 }";
        let pairs = [("d s", "fa", doubt), ("x", "d", "sire = \"s\"")];
        // d and s share dam and sire, whoever he is: full sibs.
        assert_eq!(inbreeding("fa ma mb", &pairs, "x"), 0.25);
        let back = [("d", "fa", doubt), ("x", "d", "sire = \"ma\"")];
        assert_eq!(inbreeding("fa ma mb", &back, "x"), 0.125);
        let mixed = "sires = { ma = 0.5, mb = 0.5 }\nsiring = \"mixed\"";
        let pairs = [("d s", "fa", mixed), ("x", "d", "sire = \"s\"")];
        // Half sibs, and full sibs with chance one half: 1/8 + 1/2 · 1/8.
        assert_eq!(inbreeding("fa ma mb", &pairs, "x"), 0.1875);
        let other_clutch = [("d", "fa", doubt), ("s", "fb", doubt), ("x", "d", "sire = \"s\"")];
        assert_eq!(inbreeding("fa fb ma mb", &other_clutch, "x"), 0.0625);
    }

    #[test]
    fn unknown_parents_are_unrelated_but_shared_by_their_clutch() {
        let own = [("d s", "fa", "sire = \"unknown\""), ("x", "d", "sire = \"s\"")];
        assert_eq!(inbreeding("fa", &own, "x"), 0.25);
        let apart = [("d", "fa", ""), ("s", "fa", ""), ("x", "d", "sire = \"s\"")];
        assert_eq!(inbreeding("fa", &apart, "x"), 0.125);
        let strangers = [("d s", "unknown", ""), ("x", "d", "sire = \"s\"")];
        assert_eq!(inbreeding("fa", &strangers, "x"), 0.25);
    }

    #[test]
    fn young_without_a_father_have_two_copies_of_one() {
        let alone = [("x", "fa", "sire = \"none\"")];
        let mut of = colony("fa", &alone);
        assert_eq!(kinship(&of).inbreeding(AnimalId(1)), 1.0);
        of.assumptions.virgin_heterozygosity = 0.25;
        assert_eq!(kinship(&of).inbreeding(AnimalId(1)), 0.75);
        assert_eq!(kinship(&of).between(AnimalId(0), AnimalId(1)), 0.5);
    }
}
