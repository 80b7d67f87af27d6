//! A made colony with a new look: 60 animals, six declared genes, three generations, no chance in it.

use std::fmt::Write;

/// The suspected gene.
pub const GENE: &str = "quill";

const DECLARED: [&str; 6] = ["ash", "birch", "cedar", "elder", "fern", "gorse"];

/// The records file.
pub fn records() -> String {
    let mut text = String::from("sex_system = \"ZW\"\n");
    for (at, gene) in DECLARED.iter().enumerate() {
        let how = if at % 3 == 2 { "incomplete dominant" } else { "recessive" };
        let _ = writeln!(text, "[gene.{gene}]\ninheritance = \"{how}\"");
    }
    let _ = writeln!(
        text,
        "[gene.{GENE}]\ninheritance = \"unknown\"\nlooks = [\"{GENE}\"]\nfirst_seen = [\"F0\"]"
    );
    for founder in 0..12 {
        let sex = if founder % 2 == 0 { "male" } else { "female" };
        let sold = match founder {
            0 => "looks = [\"quill\"]",
            1 => "sold_as = [\"66% het ash\", \"het birch\"]",
            2 => "looks = [\"birch\"]",
            3 => "looks = [\"cedar\"]",
            5 => "sold_as = [\"het elder\"]",
            _ => "looks = [\"normal\"]",
        };
        let _ = writeln!(text, "[[animal]]\nid = \"F{founder}\"\nsex = \"{sex}\"\n{sold}");
    }
    // Four clutches of founders, three of which have the first find as their sire; four of their
    // young, two of them back to him.
    let pairs = [
        ("F1", "F0"),
        ("F3", "F0"),
        ("F5", "F0"),
        ("F7", "F2"),
        ("C0-0", "F0"),
        ("C1-0", "F0"),
        ("C2-0", "C3-1"),
        ("C0-2", "C1-1"),
    ];
    for (clutch, (dam, sire)) in pairs.into_iter().enumerate() {
        let _ = writeln!(
            text,
            "[[clutch]]\nid = \"C{clutch}\"\ndam = \"{dam}\"\nsire = \"{sire}\"\n\
             hatched = {}-06-0{}\neggs = 8\nslugs = 1",
            2020 + clutch / 4,
            1 + clutch % 4
        );
        for young in 0..6 {
            let sex = if young % 2 == 0 { "female" } else { "male" };
            let look = match (clutch, young) {
                (4 | 5, 3 | 4) | (7, 5) => "quill",
                (1, 2 | 3) => "cedar",
                _ => "normal",
            };
            let _ = writeln!(
                text,
                "[[clutch.hatchling]]\nid = \"C{clutch}-{young}\"\nsex = \"{sex}\"\n\
                 looks = [\"{look}\"]"
            );
        }
    }
    text
}
