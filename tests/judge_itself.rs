//! Is the judge right? Closed forms, from first principles.

mod judge;

use judge::{Build, Exact, fraction, judge as verdict};
use proveout::records::{AnimalId, Colony, Genotype, Sex::Female, Sex::Male};

const CARRIER: Genotype = Genotype::Two(0, 1);

fn chance(colony: &Colony, animal: &str, gene: usize, genotype: Genotype) -> Exact {
    let animal: AnimalId = colony.find_animal(animal).unwrap();
    verdict(colony).chance(animal, gene, genotype)
}

/// A 2/3 of the records is the nearest f64; the difference is below this.
fn close(got: &Exact, above: i64, below: i64) -> bool {
    let error = got - fraction(above, below);
    error < fraction(1, 1 << 50) && error > fraction(-1, 1 << 50)
}

#[test]
fn normals_from_a_visual_mate_halve_the_odds_of_a_possible_carrier() {
    for n in 0..=8 {
        let colony = Build::exact()
            .recessive("ash")
            .founder("Dam", Female)
            .sold_as("66% het ash")
            .founder("Sire", Male)
            .looks("ash")
            .clutch("A", "Dam", "Sire")
            .count("normal", n)
            .colony();
        // odds 2 : 2^n
        let got = chance(&colony, "Dam", 0, CARRIER);
        assert!(close(&got, 2, 2 + (1 << n)), "after {n} normals {got}");
    }
}
