//! Pairings side by side: what each would tell, and how the next clutch would fork.

use super::Chart;
use super::canvas::{Anchor, COLUMN, Canvas, EDGE};
use crate::presentation::names;
use crate::presentation::wording::{bits, percent};
use crate::questions::{Pairing, PairingsAnswer, Verdicts};
use crate::records::{AnimalId, Colony};

/// Pairings that are drawn.
const DRAWN: usize = 10;
/// Height of a bar.
const BAR: f64 = 14.0;

/// The pairings that would tell most, each with the ways its next clutch may go.
pub fn pairings(colony: &Colony, answer: &PairingsAnswer) -> Chart {
    if let Some(about) = &answer.allelic {
        let [one, other] = about.genes.map(|gene| colony.gene(gene).name.as_str());
        let told = about.pairings.iter().map(|one| ([one.dam, one.sire], one.bits));
        return by_bits(colony, &format!("Are {one} and {other} one gene"), told);
    }
    if let Some(modes) = &answer.modes {
        let told = modes.pairings.iter().map(|(one, ..)| ([one.dam, one.sire], one.bits));
        return by_bits(
            colony,
            &format!("How is {} inherited", colony.gene(modes.gene).name),
            told,
        );
    }
    let sentence = match answer.pairings.first() {
        Some(best) => format!(
            "{} × {} would tell most: {} bits a clutch",
            names::animal(colony, best.dam),
            names::animal(colony, best.sire),
            bits(best.bits)
        ),
        None => "No pairing would tell anything that is in doubt".to_owned(),
    };
    let mut canvas = Canvas::new(COLUMN);
    canvas.head(&sentence);
    let mut told = Vec::new();
    for one in answer.pairings.iter().take(DRAWN) {
        told.push(row(&mut canvas, colony, one));
    }
    canvas.below += 8.0;
    let legend = format!(
        "Each bar is all that the next clutch may bring: filled, the young prove it at {0}; hatched, \
         they clear it at {0}; empty, it stays open.",
        percent(answer.level)
    );
    canvas.paragraph(EDGE, &["soft", "small"], &legend, 4);
    canvas.finish(sentence.clone(), told.join(" "))
}

/// Pairings by what a clutch of each would tell of one question.
fn by_bits(
    colony: &Colony,
    question: &str,
    told: impl Iterator<Item = ([AnimalId; 2], f64)>,
) -> Chart {
    let shown: Vec<_> = told.take(DRAWN).collect();
    let named = |[dam, sire]: [AnimalId; 2]| {
        format!("{} × {}", names::animal(colony, dam), names::animal(colony, sire))
    };
    let most = shown.first().map_or(0.0, |(_, told)| *told);
    let sentence = match shown.first() {
        Some((pair, most)) => {
            format!("{question}? {} would tell most: {} bits a clutch", named(*pair), bits(*most))
        }
        None => format!("{question}? No pairing of kept animals would tell"),
    };
    let mut canvas = Canvas::new(COLUMN);
    canvas.head(&sentence);
    let mut lines = Vec::new();
    for (pair, told) in &shown {
        let words = format!("{}: {} bits", named(*pair), bits(*told));
        canvas.below += 6.0;
        canvas.paragraph(EDGE, &["ink"], &words, 3);
        let y = canvas.below + 4.0;
        let room = COLUMN - 2.0 * EDGE;
        canvas.rect([EDGE, y, room, BAR], &["ground", "edge", "l-axis"]);
        canvas.rect([EDGE, y, room * told / most, BAR], &["fill-1", "edge", "l-first"]);
        canvas.below = y + BAR + 6.0;
        lines.push(words);
    }
    let legend = "Each bar is what one clutch would tell, beside the pairing that tells most.";
    canvas.below += 8.0;
    canvas.paragraph(EDGE, &["soft", "small"], legend, 4);
    canvas.finish(sentence, lines.join(" "))
}

fn row(canvas: &mut Canvas, colony: &Colony, one: &Pairing) -> String {
    let [dam, sire, animal] =
        [one.dam, one.sire, one.question.animal].map(|id| names::animal(colony, id));
    let gene = colony.gene(one.question.gene);
    let words = format!(
        "{dam} × {sire}: does {animal} carry {}? {} bits",
        gene.allele_name(one.question.allele),
        bits(one.bits)
    );
    let Verdicts { proven, cleared, open, .. } = one.verdicts;
    canvas.below += 6.0;
    canvas.paragraph(EDGE, &["ink"], &words, 3);
    let room = COLUMN - 2.0 * EDGE;
    let y = canvas.below + 4.0;
    let mut x = EDGE;
    for (share, fill, edge) in
        [(proven, "fill-1", "l-first"), (open, "ground", "l-axis"), (cleared, "fill-2", "l-second")]
    {
        let width = room * share;
        if width > 0.5 {
            canvas.rect([x, y, width, BAR], &[fill, "edge", edge]);
        }
        x += width;
    }
    canvas.below = y + BAR + 2.0;
    let shares = format!(
        "proven {} · open {} · cleared {}",
        percent(proven),
        percent(open),
        percent(cleared)
    );
    let at = [EDGE, canvas.below + 10.0];
    canvas.text(at, Anchor::Start, &["soft", "small"], &shares);
    canvas.below += 14.0;
    format!("{words}: {shares}.")
}
