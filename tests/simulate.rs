//! Are drawn clutches as frequent as the posteriors say, and do they read back?

#![allow(clippy::unwrap_used)]

use assert_cmd::Command;
use proveout::questions::{Asked, Drawn, genotypes, simulate};
use proveout::records::{Call, Colony, Format, read, to_toml};
use proveout::sampler::{Features, Params, sample_colony};

const PAIR: &str = r#"
    [assume]
    background = 0
    misread = 0
    egg_loss = 0.25
    [gene.ash]
    inheritance = "recessive"
    [[animal]]
    id = "Maud"
    sex = "female"
    looks = ["normal"]
    sold_as = ["66% het ash"]
    [[animal]]
    id = "Ivo"
    sex = "male"
    looks = ["normal"]
    sold_as = ["66% het ash"]
    [[clutch]]
    id = "SIM-1"
    dam = "Maud"
    sire = "Ivo"
    [[clutch.count]]
    looks = ["normal"]
    number = 4
"#;

fn colony(text: &str) -> Colony {
    read(text.as_bytes(), Format::Toml).unwrap_or_else(|e| panic!("{text}\n{e:?}")).colony
}

fn pairing(colony: &Colony, clutches: u32) -> Drawn {
    let [dam, sire] = ["Maud", "Ivo"].map(|id| colony.find_animal(id).unwrap());
    Drawn::Pairing { dam, sire, clutches, eggs: Some(4) }
}

#[test]
fn both_parents_are_drawn_together_and_hold_for_all_their_clutches() {
    const SEEDS: u64 = 600;
    let colony = colony(PAIR);
    let mut ash = 0;
    for seed in 0..SEEDS {
        let made = simulate(&colony, pairing(&colony, 12), seed, Asked::MEMORY).unwrap();
        assert_eq!(made.clutches[0], colony.clutches[0], "what was recorded stays");
        let drawn = &made.clutches[1..];
        assert_eq!(drawn.len(), 12);
        let named = |call: &Call| matches!(call, Call::Looks(looks) if !looks.is_empty());
        ash += u64::from(drawn.iter().flat_map(|c| &c.counts).any(|c| named(&c.seen.call)));
    }
    // Four normals: both carry with 4/9 · (3/4)^4 against 5/9. Then some of 48 eggs are ash with
    // chance 1 − (1 − 3/16)^48, else none is.
    let both = 4.0 * 0.75_f64.powi(4) / (5.0 + 4.0 * 0.75_f64.powi(4));
    let chance = both * (1.0 - (13.0_f64 / 16.0).powi(48));
    let error = 4.5 * (chance * (1.0 - chance) * SEEDS as f64).sqrt();
    assert!((ash as f64 - chance * SEEDS as f64).abs() < error, "{ash} of {SEEDS}, not {chance}");
}

#[test]
fn losses_follow_egg_loss_and_all_eggs_are_accounted_for() {
    let colony = colony(PAIR);
    let made = simulate(&colony, pairing(&colony, 500), 5, Asked::MEMORY).unwrap();
    let died: u32 = made.clutches[1..].iter().map(|clutch| clutch.died.unwrap()).sum();
    let all = 2000.0;
    assert!((f64::from(died) - 0.25 * all).abs() < 4.5 * (all * 0.1875_f64).sqrt(), "{died}");
    for clutch in &made.clutches[1..] {
        assert_eq!(clutch.recorded() + clutch.died.unwrap(), 4);
    }
}

#[test]
fn what_is_drawn_reads_back_as_a_sound_colony_under_ids_of_its_own() {
    let mut drawn = 0;
    for seed in 0..25 {
        let features = Features { unknown_rates: false, linkage: false, ..Features::all() };
        let sex_system = proveout::records::SexSystem::Zw;
        let params = Params { features, sex_system, seasons: 2, ..Params::default() };
        let Ok((colony, _)) = sample_colony(&params, seed) else { continue };
        let Ok(made) = simulate(&colony, Drawn::Everything, seed, 1 << 24) else { continue };
        let text = to_toml(&made);
        read(text.as_bytes(), Format::Toml)
            .unwrap_or_else(|e| panic!("seed {seed}: {e:?}\n{text}"));
        let founders = |colony: &Colony| {
            let all = colony.animals.iter().filter(|animal| animal.statements.is_empty());
            all.filter_map(|animal| animal.id.clone()).count()
        };
        assert!(founders(&made) <= founders(&colony));
        assert_eq!(made.clutches.len(), colony.clutches.len());
        drawn += 1;
    }
    assert!(drawn >= 10, "{drawn}");
    let colony = colony(PAIR);
    let made = simulate(&colony, pairing(&colony, 3), 1, Asked::MEMORY).unwrap();
    let ids: Vec<&str> = made.clutches.iter().map(|clutch| clutch.id.as_str()).collect();
    assert_eq!(ids, ["SIM-1", "SIM-2", "SIM-3", "SIM-4"]);
    let made = read(to_toml(&made).as_bytes(), Format::Toml).unwrap().colony;
    assert!(genotypes(&made, &Asked::default()).is_ok());
}

#[test]
fn a_seed_fixes_the_draw_and_wrong_parents_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("colony.toml"), PAIR).unwrap();
    let run = |more: &[&str]| {
        let mut command = Command::cargo_bin("proveout").unwrap();
        command.current_dir(folder.path()).args(["simulate", "colony.toml"]).args(more);
        command.output().unwrap()
    };
    let pair = ["--dam", "Maud", "--sire", "Ivo", "--clutches", "9", "--seed"];
    let with = |seed: &str| run(&[&pair[..], &[seed]].concat());
    assert!(with("3").status.success());
    assert_eq!(with("3").stdout, with("3").stdout);
    assert_ne!(with("3").stdout, with("4").stdout);
    assert!(String::from_utf8(with("3").stdout).unwrap().contains("drawn by simulate with seed 3"));
    for wrong in [
        &["--dam", "Maud"][..],
        &["--dam", "Ivo", "--sire", "Maud"],
        &["--dam", "Mard", "--sire", "Ivo"],
        &["--clutches", "2"],
    ] {
        assert_eq!(run(wrong).status.code(), Some(2), "{wrong:?}");
    }
}

#[test]
fn a_gene_of_unknown_inheritance_is_refused_by_name() {
    let text = format!(
        "{PAIR}[gene.quill]\ninheritance = \"unknown\"\nlooks = [\"quill\"]\nfirst_seen = [\"Maud\"]\n"
    )
    .replacen("looks = [\"normal\"]", "looks = [\"quill\"]", 1);
    let colony = colony(&text);
    let refused = simulate(&colony, Drawn::Everything, 1, Asked::MEMORY);
    assert!(format!("{:?}", refused.unwrap_err()).contains("how quill is inherited"));
}
