//! Stories drawn from the prior over the ways: is a way that is given the chance p right in p of
//! all cases?

use std::fmt::Write;

use super::stories::story;
use super::support::ask;

/// Of a few hundred draws that hold, none should be as far off as this many standard deviations.
const FAR: f64 = 3.5;

#[test]
fn a_way_that_is_given_a_chance_is_right_so_often() {
    let full = std::env::var_os("PROVEOUT_FULL").is_some();
    let number = if full { 2000 } else { 400 };
    // For each tenth: how many chances, their sum, the sum of p(1−p), how many were right.
    let mut tenths = [(0, 0.0, 0.0, 0); 10];
    let (mut of_truth, mut likeliest) = (0.0, 0);
    for seed in 0..number {
        let story = story(seed);
        let answer = ask(&story.world.text());
        let top = &answer.answer.modes[answer.answer.likeliest[0]];
        likeliest += u32::from(top.posterior == answer.of(story.way.name()).posterior);
        for (way, _) in story.world.ways() {
            let p = answer.of(way.name()).posterior;
            let (count, sum, spread, right) = &mut tenths[((p * 10.0) as usize).min(9)];
            *count += 1;
            *sum += p;
            *spread += p * (1.0 - p);
            *right += u32::from(way == story.way);
            if way == story.way {
                of_truth += p;
            }
        }
    }
    let mut table =
        String::from("| chance given | times | expected right | right |\n|---|---|---|---|\n");
    let mut worst: f64 = 0.0;
    for (at, (count, sum, spread, right)) in tenths.into_iter().enumerate() {
        let off = f64::from(right) - sum;
        let far = if spread > 1e-9 { off / spread.sqrt() } else { off };
        let _ = writeln!(
            table,
            "| {} % – {} % | {count} | {sum:.1} ± {:.1} | {right} |",
            at * 10,
            at * 10 + 10,
            spread.sqrt()
        );
        worst = worst.max(far.abs());
    }
    let _ = writeln!(
        table,
        "\n{number} stories; the truth was given {:.1} % on the average, and was the likeliest way \
         in {:.1} % of all stories.",
        100.0 * of_truth / number as f64,
        100.0 * f64::from(likeliest) / number as f64,
    );
    if full {
        println!("{table}");
    }
    assert!(worst < FAR, "{worst:.1} standard deviations off\n{table}");
}
