//! A colony in which everything is open: 60 females and 40 males, six recessive genes.

use std::fmt::Write;

const GENES: [&str; 6] = ["ash", "teal", "moss", "fern", "sorrel", "thrift"];

/// The records: 24 animals that came in as possible hets, and 76 normal young of theirs.
pub fn breeders() -> String {
    let mut text = String::from("clutch_size = 6\n");
    for gene in GENES {
        let _ = writeln!(text, "[gene.{gene}]\ninheritance = \"recessive\"");
    }
    let sold: Vec<String> = GENES.iter().map(|gene| format!("\"66% het {gene}\"")).collect();
    for at in 0..24 {
        let sex = if at % 2 == 0 { "female" } else { "male" };
        let _ = writeln!(
            text,
            "[[animal]]\nid = \"F{at}\"\nsex = \"{sex}\"\nlooks = [\"normal\"]\nsold_as = [{}]",
            sold.join(", ")
        );
    }
    let mut young = 0;
    for clutch in 0..19 {
        let (dam, sire) = (clutch % 12 * 2, (clutch * 5 + 3) % 12 * 2 + 1);
        let _ =
            writeln!(text, "[[clutch]]\nid = \"C{clutch}\"\ndam = \"F{dam}\"\nsire = \"F{sire}\"");
        for _ in 0..4 {
            // 48 of the 76 are females, which makes 60 with the dams.
            let sex = if young * 48 / 76 < (young + 1) * 48 / 76 { "female" } else { "male" };
            let _ = writeln!(
                text,
                "[[clutch.hatchling]]\nid = \"Y{young}\"\nsex = \"{sex}\"\nlooks = [\"normal\"]\n\
                 status = \"kept\""
            );
            young += 1;
        }
    }
    text
}
