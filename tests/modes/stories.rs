//! Stories drawn from the prior over the ways, by the definitions of `world` alone.

use proveout::sampler::Dice;

use super::urns::Urns;
use super::world::{Beast, Laws, State, System, Way, World};

/// A drawn story, and the way it was drawn from.
pub struct Story {
    pub world: World,
    pub way: Way,
}

/// What is to be bred, before anything is known of it.
struct Design {
    world: World,
    /// Where the first find stands.
    first: usize,
}

/// A story that begins with its first find.
///
/// METHOD: the evidence is that of the records given that the animals of the first find show the
/// look. So a way is drawn from the prior and the story drawn again until that animal shows it;
/// a story in which another founder, or an earlier animal, is called the look is of another kind
/// and dropped together with its way, which the records alone decide.
pub fn story(seed: u64) -> Story {
    let mut dice = Dice::new(seed);
    loop {
        let design = design(&mut dice);
        let way = drawn(&mut dice, &design.world.ways());
        let world = loop {
            if let Some(world) = told(&mut dice, &design, way) {
                break world;
            }
        };
        if begins_with_it(&world, &design) {
            return Story { world, way };
        }
    }
}

fn drawn<T: Copy>(dice: &mut Dice, among: &[(T, f64)]) -> T {
    let mut left = dice.uniform() * among.iter().map(|(_, weight)| weight).sum::<f64>();
    for (one, weight) in among {
        left -= weight;
        if left <= 0.0 {
            return *one;
        }
    }
    among[among.len() - 1].0
}

/// Two founders and their young, a daughter back to her sire or a son to a third founder, and a
/// clutch of an animal that shows ash.
fn design(dice: &mut Dice) -> Design {
    let system = drawn(dice, &[(System::Environmental, 1.0), (System::Xy, 1.0), (System::Zw, 1.0)]);
    let background = drawn(dice, &[(0.1, 1.0), (0.2, 1.0), (0.3, 1.0)]);
    let misread = drawn(dice, &[(0.0, 1.0), (0.01, 1.0), (0.05, 1.0)]);
    let scored = [Some(0), Some(0)];
    let of_first = dice.coin(0.5);
    // Q or its parents: 0 is the dam, 1 the sire.
    let mut beasts = vec![Beast::founder(true, scored), Beast::founder(false, scored)];
    beasts[0].het_ash = dice.coin(0.5);
    let mut first = usize::from(dice.coin(0.5));
    let young = |dice: &mut Dice, parents, clutch| {
        let seen = if dice.coin(0.05) { [None, None] } else { scored };
        Beast::young(parents, dice.coin(0.5), seen, clutch)
    };
    if !of_first {
        first = 2;
        beasts.push(young(dice, [0, 1], 0));
        beasts[2].called = scored;
    }
    let start = beasts.len();
    for _ in 0..1 + dice.below(7) {
        let one = young(dice, [0, 1], 0);
        beasts.push(one);
    }
    // One of the young, or the first find, is bred on.
    let bred = if dice.coin(0.5) { first.max(2) } else { start };
    let female = beasts[bred].female;
    let mate = if dice.coin(0.5) {
        usize::from(female)
    } else {
        beasts.push(Beast::founder(!female, [Some(usize::from(dice.coin(0.4))), Some(0)]));
        beasts.len() - 1
    };
    let parents = if female { [bred, mate] } else { [mate, bred] };
    for _ in 0..dice.below(20) {
        let one = young(dice, parents, 1);
        beasts.push(one);
    }
    beasts[first].first = true;
    Design { world: World { system, background, misread, beasts }, first }
}

/// The story with every call drawn; nothing where the first find does not show the look.
fn told(dice: &mut Dice, design: &Design, way: Way) -> Option<World> {
    let mut world = design.world.clone();
    let plan = &design.world;
    let compound = dice.below(3);
    let quill = Laws::new(plan, way, compound);
    let ash = Laws::new(plan, Way::Recessive, 0);
    let alleles = matches!(way, Way::AlleleRecessive | Way::AlleleVisible);
    let mut genomes: Vec<[State; 2]> = Vec::new();
    let mut urns = Urns::new(way);
    for (at, beast) in plan.beasts.iter().enumerate() {
        let shows_ash = |state: State, laws: &Laws<'_>| {
            if alleles { laws.shows(state)[0] == 1 } else { laws.shows(state)[1] == 1 }
        };
        let het_ash = |state: State| state[0].iter().filter(|a| **a == 1).count() == 1;
        // A founder sold as het, or bought for a look that is now and then misread.
        let bought = beast.parents.is_none() && beast.called[0] == Some(1);
        let right = !dice.coin(plan.misread);
        let fits = |state: State, laws: &Laws<'_>| {
            (!beast.het_ash || het_ash(state)) && (!bought || shows_ash(state, laws) == right)
        };
        let ancestors = |which: usize| beast.parents.map(|p| p.map(|of| genomes[of][which]));
        let own = |laws: &Laws<'_>, which: usize, asked: bool| -> Vec<(State, f64)> {
            let weigh = |state: &State| match ancestors(which) {
                None if asked && !fits(*state, laws) => 0.0,
                None => laws.start(*state),
                Some([dam, sire]) => laws.passes(*state, beast.female, dam, sire),
            };
            laws.states(beast.female).into_iter().map(|s| (s, weigh(&s))).collect()
        };
        let state = [drawn(dice, &own(&ash, 0, !alleles)), drawn(dice, &own(&quill, 1, alleles))];
        genomes.push(state);
        let place = beast.parents.map(|_| beast.clutch);
        let shown = if way.is_inherited() {
            quill.shows(state[1])[1]
        } else if beast.first || beast.called[1].is_none() {
            usize::from(beast.first)
        } else {
            let hit = dice.coin(urns.chance(place));
            urns.saw(place, hit);
            usize::from(hit)
        };
        if beast.first && shown != 1 {
            return None;
        }
        let call = |dice: &mut Dice, shown: usize| match shown {
            2 if dice.coin(plan.misread) => Some(usize::from(dice.coin(0.5))),
            2 => None,
            _ => Some(shown ^ usize::from(dice.coin(plan.misread))),
        };
        let called = &mut world.beasts[at].called;
        if called[1].is_some() && !beast.first {
            // A look without a name: it is called nothing that the file knows.
            called[1] = if way.is_inherited() { call(dice, shown) } else { Some(shown) };
            if called[1].is_none() {
                *called = [Some(8), Some(8)];
                continue;
            }
        } else if beast.first {
            called[1] = Some(1);
        }
        if called[0].is_some() && !bought {
            called[0] = call(
                dice,
                usize::from(if alleles {
                    quill.shows(state[1])[0] == 1
                } else {
                    ash.shows(state[0])[1] == 1
                }),
            );
        }
    }
    Some(world)
}

/// Whether the records are of the kind that is asked about: every look has a name, no founder but
/// those of the design was bought for a look, and nobody showed it before the first find.
fn begins_with_it(world: &World, design: &Design) -> bool {
    let fits = |(at, beast): (usize, &Beast)| {
        let named = |class: Option<usize>| class.is_some_and(|class| class > 0);
        let early = beast.parents.is_none() || at < design.first;
        let bought = named(design.world.beasts[at].called[0]);
        beast.called != [Some(8), Some(8)]
            && (at == design.first || !early || !named(beast.called[1]))
            && (beast.parents.is_some() || bought || !named(beast.called[0]))
    };
    world.beasts.iter().enumerate().all(fits)
}
