//! Does a colony that is written down read back as itself?

use proptest::prelude::*;
use proveout::records::{Checked, Colony, Format, Place, read, to_toml};
use proveout::sampler::{Features, Params, sample_colony};

/// The same colony standing nowhere.
fn without_places(mut colony: Colony) -> Colony {
    for gene in &mut colony.genes {
        gene.place = Place::default();
    }
    colony.linkage.iter_mut().for_each(|group| group.place = Place::default());
    colony.masks.iter_mut().for_each(|mask| mask.place = Place::default());
    colony.combinations.iter_mut().for_each(|one| one.place = Place::default());
    for animal in &mut colony.animals {
        animal.place = Place::default();
        animal.seen.place = None;
        animal.grown.iter_mut().for_each(|seen| seen.place = None);
        animal.statements.iter_mut().for_each(|told| told.place = Place::default());
        animal.readings.iter_mut().for_each(|reading| reading.place = Place::default());
    }
    for clutch in &mut colony.clutches {
        clutch.place = Place::default();
        for count in &mut clutch.counts {
            count.place = Place::default();
            count.seen.place = None;
        }
    }
    colony
}

fn reread(colony: &Colony) -> Colony {
    let text = to_toml(colony);
    match read(text.as_bytes(), Format::Toml) {
        Ok(Checked { colony, .. }) => without_places(colony),
        Err(errors) => panic!("{errors:#?}\n{text}"),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(512) })]

    #[test]
    fn a_sampled_colony_reads_back_as_itself(
        seed in any::<u64>(),
        genes in 1_usize..7,
        system in 0_usize..3,
        everything in any::<bool>(),
    ) {
        use proveout::records::SexSystem::{Environmental, Xy, Zw};
        let params = Params {
            genes,
            sex_system: [Environmental, Xy, Zw][system],
            features: if everything { Features::all() } else { Features::default() },
            ..Params::everything()
        };
        let (colony, truth) = sample_colony(&params, seed).unwrap();
        prop_assert_eq!(colony.animals.len(), truth.animals.len());
        prop_assert_eq!(reread(&colony), without_places(colony));
    }
}

#[test]
fn every_key_of_the_format_reads_back() {
    let text = r##"
title = "A \"title\" \\ with signs"
species = "none in particular"
sex_system = "XY"
clutch_size = { mean = 6, sd = 2 }
clutches_per_year = 1.5
mature_at = { female = 30, male = 12 }
[assume]
background = 0.01
misread = 0.002
other_sire = 0.03
mix_up = 0.04
egg_loss = 0.2
trust = 0.9
virgin_heterozygosity = 0.1
[gene.ash]
inheritance = "recessive"
names = { two_copies = "ashen" }
aka = ["cinder", "gr au"]
caution = "none"
[gene."tal low"]
inheritance = "incomplete dominant"
sex_linked = true
looks = { "tal low/Y" = "tall" }
penetrance = { "+/tal low" = 0.8 }
misread = { missed = 0.02, imagined = 0.001, confused = 0.01 }
[gene.ripple]
inheritance = "dominant"
lethal = "two copies"
background = 0.02
from_age = "adult"
judged_since = 2024-06-01
[gene.shade]
alleles = ["fern", "moss"]
looks = { "+/fern" = "fern", "+/moss" = "moss", "fern/fern" = "super fern", "fern/moss" = "bracken" }
lethal = ["moss/moss"]
background = { fern = 0.01, moss = 0.02 }
penetrance = 0.9
[gene.quill]
inheritance = "unknown"
looks = ["quill", "strong quill"]
first_seen = ["Q 1"]
look_alikes = 0.01
penetrance = "unknown"
[gene.gill]
inheritance = "recessive"
sex_linked = true
crossover = 0.1
[[linkage]]
genes = ["ash", "ripple", "shade"]
crossover = { female = [0.1, 0.25], male = [0, 0.25] }
[[combination]]
name = "dusk"
looks = ["ashen", "tall"]
[[combination]]
name = "gloom"
looks = ["gill", "ripple"]
[[mask]]
look = "ashen"
hides = ["shade", "super tal low"]
[[mask]]
look = "dusk"
hides = ["gloom"]
[[animal]]
id = "Q 1"
sex = "female"
hatched = 2021-07-14
looks = ["quill"]
unread = ["shade"]
readings = [
  { gene = "ash", result = "+/ash", reliability = 0.99 },
  { gene = "gill", likelihood = { "+/+" = 0.2, "+/gill" = 0.8, "gill/gill" = 0 } },
]
sold_as = ["het ash", "66% het gill", "fern"]
trust = 0.7
status = "resting"
note = "a note"
[[animal]]
id = "B"
sex = "male"
hatched = "2021-07"
grown = false
either = [{ looks = ["moss"], fit = 0.7 }, { looks = [], fit = 0.3 }]
status = "elsewhere"
[[animal]]
id = "C"
hatched = "2020"
looks = ["dusk"]
[[clutch]]
id = "2024 A"
dam = "Q 1"
sires = { B = 0.5, C = 0.25, unknown = 0.25 }
siring = "mixed"
laid = 2024-05-30
hatched = 2024-07-28
eggs = 9
slugs = 1
died = 2
note = "clutch note"
kept_if = ["fern"]
[[clutch.hatchling]]
id = "H"
sex = "male"
looks = ["fern"]
grown = { looks = ["fern", "ripple"], unread = ["ash"] }
status = "sold"
[[clutch.hatchling]]
either = [{ looks = ["moss"], fit = 2 }, { looks = ["moss", "ashen"], fit = 1 }]
believed = true
[[clutch.count]]
looks = ["normal"]
number = "1.2.0"
[[clutch.count]]
unread = ["ash"]
number = 1
[[clutch]]
id = "v"
dam = "unknown"
sire = "none"
complete = false
recorded_only = ["fern", "moss"]
"##;
    let first = read(text.as_bytes(), Format::Toml).unwrap().colony;
    let again = to_toml(&first);
    let second = read(again.as_bytes(), Format::Toml).map_err(|e| format!("{e:#?}\n{again}"));
    let second = second.unwrap().colony;
    assert_eq!(without_places(second.clone()), without_places(first));
    assert_eq!(to_toml(&second), again, "what is written does not change when written again");
}
