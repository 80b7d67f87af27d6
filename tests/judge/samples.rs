//! A few small colonies.

use proveout::records::{Colony, Sex::Female, Sex::Male, SexSystem::Zw};

use super::Build;

/// Colonies with a loop and whatever ties genes together.
pub fn small_colonies() -> Vec<(&'static str, Colony)> {
    let loops = |build: Build| {
        let build = build.founder("Dam", Female).looks("normal").founder("Sire", Male);
        let build = build.looks("ash").clutch("A", "Dam", "Sire").count("normal", 2);
        build.young("A-1").looks("normal").clutch("B", "A-1", "Sire").young("B-1").looks("ash")
    };
    let two = || Build::new().recessive("ash").incomplete("tallow").background(&[0.25]);
    let plain = loops(two());
    let either = plain.clone().young("X").either(&[("ash", 0.25), ("tallow", 0.75)]);
    let lethal = loops(two().lethal("tallow/tallow")).eggs(4, 1);
    let doubt =
        loops(Build::new().recessive("ash")).assume(|a| (a.other_sire, a.mix_up) = (0.25, 0.125));
    let mixed = Build::new().recessive("ash").founder("Otis", Male).looks("ash");
    let mixed = loops(mixed).sires(&[("Sire", 0.5), ("Otis", 0.25), ("none", 0.25)]).mixed();
    let series =
        Build::new().series("shade", &["ash", "moss"], &["ash/ash = ash", "ash/moss = dusk"]);
    let sexed = Build::new().sex_system(Zw).recessive("ash").sex_linked(None);
    let sexed = loops(sexed.dominant("ripple").background(&[0.125]).sex_linked(Some(0.25)));
    let linked = loops(two().linked("ash, tallow", &[0.125], &[0.25]));
    let selected = loops(Build::new().recessive("ash").assume(|a| a.mix_up = 0.25));
    vec![
        ("plain", plain.colony()),
        ("either", either.colony()),
        ("lethal", lethal.colony()),
        ("other sire, mix-up", doubt.colony()),
        ("mixed", mixed.colony()),
        ("series", loops(series).colony()),
        ("sexed", sexed.young("S").sex(Male).looks("ash").colony()),
        ("linked", linked.colony()),
        ("selected", selected.recorded_only("ash").colony()),
    ]
}
