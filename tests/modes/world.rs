//! The ways of inheritance written down once more, as small as they can be: what each animal may
//! be is enumerated, allele by allele. Nothing of the library's genetics is used.

use std::collections::HashSet;

use super::urns::Urns;

/// A way in which the suspected look may come about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Way {
    Recessive,
    Dominant,
    Incomplete,
    Lethal,
    SexRecessive,
    SexDominant,
    SexIncomplete,
    AlleleRecessive,
    AlleleVisible,
    TwoRecessive,
    TwoDominant,
    Chance,
    ClutchEffect,
}

impl Way {
    pub const ALL: [Way; 13] = [
        Way::Recessive,
        Way::Dominant,
        Way::Incomplete,
        Way::Lethal,
        Way::SexRecessive,
        Way::SexDominant,
        Way::SexIncomplete,
        Way::AlleleRecessive,
        Way::AlleleVisible,
        Way::TwoRecessive,
        Way::TwoDominant,
        Way::Chance,
        Way::ClutchEffect,
    ];

    /// As the program names it, where the declared gene is `ash`.
    pub fn name(self) -> &'static str {
        match self {
            Way::Recessive => "recessive",
            Way::Dominant => "dominant",
            Way::Incomplete => "incomplete dominant",
            Way::Lethal => "incomplete dominant, lethal",
            Way::SexRecessive => "sex-linked recessive",
            Way::SexDominant => "sex-linked dominant",
            Way::SexIncomplete => "sex-linked incomplete dominant",
            Way::AlleleRecessive => "allele of ash, recessive",
            Way::AlleleVisible => "allele of ash, visible",
            Way::TwoRecessive => "two recessive genes",
            Way::TwoDominant => "two dominant genes",
            Way::Chance => "chance",
            Way::ClutchEffect => "clutch effect",
        }
    }

    /// Which ways share one prior.
    fn family(self) -> u8 {
        match self {
            Way::Recessive => 0,
            Way::Dominant => 1,
            Way::Incomplete | Way::Lethal => 2,
            Way::SexRecessive | Way::SexDominant | Way::SexIncomplete => 3,
            Way::AlleleRecessive | Way::AlleleVisible => 4,
            Way::TwoRecessive | Way::TwoDominant => 5,
            Way::Chance => 6,
            Way::ClutchEffect => 7,
        }
    }

    pub fn is_inherited(self) -> bool {
        !matches!(self, Way::Chance | Way::ClutchEffect)
    }

    fn on_sex_chromosome(self) -> bool {
        matches!(self, Way::SexRecessive | Way::SexDominant | Way::SexIncomplete)
    }

    fn is_allele(self) -> bool {
        matches!(self, Way::AlleleRecessive | Way::AlleleVisible)
    }
}

/// How sex is inherited.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum System {
    Environmental,
    Xy,
    Zw,
}

/// One animal, or what was written of it.
#[derive(Clone, Debug)]
pub struct Beast {
    /// Dam and sire; they stand before their young.
    pub parents: Option<[usize; 2]>,
    pub female: bool,
    /// The class called at each gene, ash and quill; nothing where nobody judged it.
    pub called: [Option<usize>; 2],
    /// Whether quill was first noticed on it.
    pub first: bool,
    /// Sold as het ash.
    pub het_ash: bool,
    /// The clutch, counted from 0, and whether it is written down one by one.
    pub clutch: usize,
}

impl Beast {
    pub fn founder(female: bool, called: [Option<usize>; 2]) -> Self {
        let (parents, first, het_ash, clutch) = (None, false, false, 0);
        Beast { parents, female, called, first, het_ash, clutch }
    }

    pub fn young(
        parents: [usize; 2],
        female: bool,
        called: [Option<usize>; 2],
        clutch: usize,
    ) -> Self {
        Beast { parents: Some(parents), clutch, ..Beast::founder(female, called) }
    }
}

/// A colony with one declared recessive gene, ash, and one suspected gene, quill, of one look.
#[derive(Clone, Debug)]
pub struct World {
    pub system: System,
    pub background: f64,
    pub misread: f64,
    pub beasts: Vec<Beast>,
}

/// The copies at up to two places; 9 stands for the sex chromosome that holds none.
pub type State = [[u8; 2]; 2];

/// One way made ready: what states there are, how they start out and what they show.
pub struct Laws<'w> {
    world: &'w World,
    way: Way,
    /// What a compound shows: 0 the older look, 1 the newer, 2 both.
    compound: usize,
    /// The frequencies of the alleles at each place.
    alleles: Vec<Vec<f64>>,
}

impl<'w> Laws<'w> {
    /// The laws of the quill gene; of both genes where they are one.
    pub fn new(world: &'w World, way: Way, compound: usize) -> Self {
        let b = world.background;
        let one = vec![1.0 - b, b];
        let alleles = match way {
            Way::AlleleRecessive | Way::AlleleVisible => vec![vec![1.0 - 2.0 * b, b, b]],
            Way::TwoRecessive | Way::TwoDominant => vec![one.clone(), one],
            _ => vec![one],
        };
        Laws { world, way, compound, alleles }
    }

    fn hemizygous(&self, female: bool) -> bool {
        let one_copy = match self.world.system {
            System::Environmental => return false,
            System::Xy => !female,
            System::Zw => female,
        };
        self.way.on_sex_chromosome() && one_copy
    }

    pub fn states(&self, female: bool) -> Vec<State> {
        let first = self.alleles[0].len() as u8;
        if self.hemizygous(female) {
            return (0..first).map(|a| [[a, 9], [9, 9]]).collect();
        }
        let pairs = |n: u8| (0..n).flat_map(move |a| (0..n).map(move |b| [a, b]));
        match self.alleles.get(1) {
            None => pairs(first).map(|pair| [pair, [9, 9]]).collect(),
            Some(_) => pairs(first).flat_map(|one| pairs(2).map(move |two| [one, two])).collect(),
        }
    }

    fn lethal(&self, state: State) -> bool {
        self.way == Way::Lethal && state[0] == [1, 1]
    }

    /// The chance of a state in unrelated stock, among animals that live.
    pub fn start(&self, state: State) -> f64 {
        if self.lethal(state) {
            return 0.0;
        }
        let copies = state.iter().zip(&self.alleles);
        let chance = copies.flat_map(|(pair, alleles)| pair.map(|a| alleles.get(usize::from(a))));
        let chance: f64 = chance.flatten().product();
        let b = self.alleles[0][1];
        if self.way == Way::Lethal { chance / (1.0 - b * b) } else { chance }
    }

    /// The class of ash and of quill that a state shows; 2 of quill has no name.
    pub fn shows(&self, [one, two]: State) -> [usize; 2] {
        let copies = |pair: [u8; 2], of: u8| pair.iter().filter(|a| **a == of).count();
        let n = copies(one, 1);
        let alone = one[1] == 9;
        let yes = usize::from;
        match self.way {
            Way::Recessive => [0, yes(n == 2)],
            Way::SexRecessive => [0, yes(n == 2 || (alone && n == 1))],
            Way::Dominant | Way::SexDominant => [0, yes(n > 0)],
            Way::Incomplete | Way::SexIncomplete => [0, n],
            Way::Lethal => [0, n],
            Way::TwoRecessive => [0, yes(n == 2 && copies(two, 1) == 2)],
            Way::TwoDominant => [0, yes(n > 0 && copies(two, 1) > 0)],
            Way::AlleleVisible => [yes(n == 2), yes(copies(one, 2) > 0)],
            Way::AlleleRecessive => match (n, copies(one, 2)) {
                (1, 1) => [[1, 0], [0, 1], [1, 1]][self.compound],
                (ash, quill) => [yes(ash == 2), yes(quill == 2)],
            },
            Way::Chance | Way::ClutchEffect => [0, 0],
        }
    }

    /// The chance of a young, given that it hatches.
    pub fn passes(&self, young: State, female: bool, dam: State, sire: State) -> f64 {
        let sound: f64 = if self.way == Way::Lethal {
            1.0 - self.raw([[1, 1], [9, 9]], female, dam, sire)
        } else {
            1.0
        };
        if self.lethal(young) { 0.0 } else { self.raw(young, female, dam, sire) / sound }
    }

    fn raw(&self, young: State, female: bool, dam: State, sire: State) -> f64 {
        let mut chance = 1.0;
        for place in 0..self.alleles.len() {
            let of = |pair: [u8; 2], allele: u8| {
                pair.iter().filter(|a| **a == allele).count() as f64
                    / pair.iter().filter(|a| **a != 9).count() as f64
            };
            let [a, b] = young[place];
            let (dam, sire) = (dam[place], sire[place]);
            chance *= match (self.hemizygous(female), self.world.system) {
                (true, System::Xy) => of(dam, a),
                (true, _) => of(sire, a),
                (false, _) => of(dam, a) * of(sire, b),
            };
        }
        chance
    }

    /// The chance of what was called, the first finds certain.
    fn likelihood(&self, beast: &Beast, state: State) -> f64 {
        let m = self.world.misread;
        let shown = self.shows(state);
        let called = |gene: usize| match beast.called[gene] {
            None => 1.0,
            Some(_) if gene == 0 && !self.way.is_allele() => 1.0,
            Some(class) if gene == 1 && beast.first => f64::from(u8::from(shown[1] == class)),
            // Bought or kept for it: part of how it starts out.
            Some(class) if class > 0 && beast.parents.is_none() => 1.0,
            Some(_) if shown[gene] == 2 => m / 2.0,
            Some(class) if shown[gene] == class => 1.0 - m,
            Some(_) => m,
        };
        called(0) * called(1)
    }

    /// How a founder starts out, its own look and statement included; without them if not `all`.
    fn founder(&self, beast: &Beast, state: State, all: bool) -> f64 {
        let states = self.states(beast.female);
        let given = |fits: &dyn Fn(State) -> bool| -> f64 {
            let mass: f64 = states.iter().filter(|s| fits(**s)).map(|s| self.start(*s)).sum();
            if fits(state) { self.start(state) / mass } else { 0.0 }
        };
        let het = |s: State| s[0].iter().filter(|a| **a == 1).count() == 1;
        if beast.het_ash && self.way.is_allele() {
            return given(&het);
        }
        let named = beast.called[0] == Some(1) && self.way.is_allele();
        if named && all {
            let m = self.world.misread;
            let ash = |s: State| self.shows(s)[0] == 1;
            return (1.0 - m) * given(&ash) + m * given(&|s| !ash(s));
        }
        self.start(state)
    }

    /// The chance of everything, or of the first finds alone.
    fn sum(&self, all: bool) -> f64 {
        let beasts = &self.world.beasts;
        let breeds: HashSet<usize> = beasts.iter().filter_map(|b| b.parents).flatten().collect();
        let mut states = Vec::new();
        self.go(&breeds, all, &mut states)
    }

    fn go(&self, breeds: &HashSet<usize>, all: bool, states: &mut Vec<State>) -> f64 {
        let at = states.len();
        let Some(beast) = self.world.beasts.get(at) else { return 1.0 };
        let weigh = |state: State, states: &[State]| {
            let start = match beast.parents {
                None => self.founder(beast, state, all),
                Some([dam, sire]) => self.passes(state, beast.female, states[dam], states[sire]),
            };
            let certain = !beast.first || beast.called[1] == Some(self.shows(state)[1]);
            let seen = if all { self.likelihood(beast, state) } else { 1.0 };
            if certain { start * seen } else { 0.0 }
        };
        let mut sum = 0.0;
        if breeds.contains(&at) {
            for state in self.states(beast.female) {
                let weight = weigh(state, states);
                if weight > 0.0 {
                    states.push(state);
                    sum += weight * self.go(breeds, all, states);
                    states.pop();
                }
            }
            return sum;
        }
        for state in self.states(beast.female) {
            sum += weigh(state, states);
        }
        if sum == 0.0 {
            return 0.0;
        }
        states.push([[9; 2]; 2]);
        let rest = self.go(breeds, all, states);
        states.pop();
        sum * rest
    }
}

/// Natural log of the evidence of a way; of ash alone comes to all but its own alleles.
pub fn log_evidence(world: &World, way: Way) -> f64 {
    let ash = if way.is_allele() { 0.0 } else { ash_alone(world).ln() };
    let young = world.beasts.iter().filter(|beast| beast.parents.is_some()).count();
    // Each sex is as likely as the other, and was written down.
    let sexes =
        if world.system == System::Environmental { 0.0 } else { young as f64 * 0.5f64.ln() };
    sexes
        + match way {
            Way::Chance | Way::ClutchEffect => ash + not_inherited(world, way),
            Way::AlleleRecessive => {
                let over =
                    |all: bool| (0..3).map(|c| Laws::new(world, way, c).sum(all)).sum::<f64>();
                over(true).ln() - over(false).ln()
            }
            _ => {
                let laws = Laws::new(world, way, 0);
                ash + laws.sum(true).ln() - laws.sum(false).ln()
            }
        }
}

/// The calls of ash alone: it is a recessive gene, so it is asked as one.
fn ash_alone(world: &World) -> f64 {
    let mut alone = world.clone();
    let m = world.misread;
    for beast in &mut alone.beasts {
        beast.called = [None, beast.called[0]];
        beast.first = false;
    }
    let laws = Laws::new(&alone, Way::Recessive, 0);
    // What founders were sold as or bought for is looked up by their place.
    let founder = |at: usize, state: State| -> f64 {
        let beast = &world.beasts[at];
        let given = |fits: &dyn Fn(State) -> bool| -> f64 {
            let states = laws.states(true);
            let mass: f64 = states.iter().filter(|s| fits(**s)).map(|s| laws.start(*s)).sum();
            if fits(state) { laws.start(state) / mass } else { 0.0 }
        };
        let copies = |s: State| s[0].iter().filter(|a| **a == 1).count();
        if beast.het_ash {
            return given(&|s| copies(s) == 1);
        }
        if beast.called[0] == Some(1) {
            return (1.0 - m) * given(&|s| copies(s) == 2) + m * given(&|s| copies(s) < 2);
        }
        laws.start(state)
    };
    let breeds: HashSet<usize> = world.beasts.iter().filter_map(|b| b.parents).flatten().collect();
    fn go(
        laws: &Laws<'_>,
        founder: &dyn Fn(usize, State) -> f64,
        breeds: &HashSet<usize>,
        states: &mut Vec<State>,
    ) -> f64 {
        let at = states.len();
        let Some(beast) = laws.world.beasts.get(at) else { return 1.0 };
        let weigh = |state: State, states: &[State]| {
            let start = match beast.parents {
                None => founder(at, state),
                Some([dam, sire]) => laws.passes(state, beast.female, states[dam], states[sire]),
            };
            start * laws.likelihood(beast, state)
        };
        let all = laws.states(beast.female);
        if breeds.contains(&at) {
            let mut sum = 0.0;
            for state in all {
                let weight = weigh(state, states);
                states.push(state);
                sum += weight * go(laws, founder, breeds, states);
                states.pop();
            }
            return sum;
        }
        let sum: f64 = all.into_iter().map(|state| weigh(state, states)).sum();
        states.push([[9; 2]; 2]);
        let rest = go(laws, founder, breeds, states);
        states.pop();
        sum * rest
    }
    go(&laws, &founder, &breeds, &mut Vec::new())
}

/// Calls at a rate: one draw after another from the urn.
fn not_inherited(world: &World, way: Way) -> f64 {
    let mut urns = Urns::new(way);
    let scored = world.beasts.iter().filter(|beast| !beast.first);
    let mut log = 0.0;
    for beast in scored {
        let Some(class) = beast.called[1] else { continue };
        let place = beast.parents.map(|_| beast.clutch);
        let chance = urns.chance(place);
        log += if class > 0 { chance } else { 1.0 - chance }.ln();
        urns.saw(place, class > 0);
    }
    log
}

impl World {
    /// The ways that apply, with their priors.
    pub fn ways(&self) -> Vec<(Way, f64)> {
        let applies = |way: &Way| self.system != System::Environmental || !way.on_sex_chromosome();
        let ways: Vec<Way> = Way::ALL.into_iter().filter(applies).collect();
        let families: HashSet<u8> = ways.iter().map(|way| way.family()).collect();
        let size = |way: &Way| ways.iter().filter(|one| one.family() == way.family()).count();
        let prior = |way: &Way| 1.0 / (families.len() * size(way)) as f64;
        ways.iter().map(|way| (*way, prior(way))).collect()
    }

    /// The records file.
    pub fn text(&self) -> String {
        let system = match self.system {
            System::Environmental => "environmental",
            System::Xy => "XY",
            System::Zw => "ZW",
        };
        let first = self.beasts.iter().enumerate().filter(|(_, beast)| beast.first);
        let first: Vec<String> = first.map(|(at, _)| format!("\"b{at}\"")).collect();
        let mut text = format!(
            "sex_system = \"{system}\"\n[assume]\nbackground = {}\nmisread = {}\n\
             [gene.ash]\ninheritance = \"recessive\"\n\
             [gene.quill]\ninheritance = \"unknown\"\nlooks = [\"quill\"]\nfirst_seen = [{}]\n",
            self.background,
            self.misread,
            first.join(", "),
        );
        let record = |at: usize, beast: &Beast| {
            let mut unread = Vec::new();
            let mut looks = Vec::new();
            for (gene, name) in ["ash", "quill"].into_iter().enumerate() {
                match beast.called[gene] {
                    None => unread.push(format!("\"{name}\"")),
                    Some(0) => {}
                    Some(_) => looks.push(format!("\"{name}\"")),
                }
            }
            let sex = if beast.female { "female" } else { "male" };
            let sold = if beast.het_ash { "sold_as = [\"het ash\"]\n" } else { "" };
            format!(
                "id = \"b{at}\"\nsex = \"{sex}\"\n{sold}looks = [{}]\nunread = [{}]\n",
                looks.join(", "),
                unread.join(", ")
            )
        };
        for (at, beast) in self.beasts.iter().enumerate().filter(|(_, b)| b.parents.is_none()) {
            text += &format!("[[animal]]\n{}", record(at, beast));
        }
        let mut clutches: Vec<(usize, [usize; 2])> =
            self.beasts.iter().filter_map(|beast| Some((beast.clutch, beast.parents?))).collect();
        clutches.sort_unstable();
        clutches.dedup();
        for (clutch, [dam, sire]) in clutches {
            text +=
                &format!("[[clutch]]\nid = \"c{clutch}\"\ndam = \"b{dam}\"\nsire = \"b{sire}\"\n");
            for (at, beast) in self.beasts.iter().enumerate() {
                if beast.clutch == clutch && beast.parents.is_some() {
                    text += &format!("[[clutch.hatchling]]\n{}", record(at, beast));
                }
            }
        }
        text
    }
}
