//! The first page: what is open.

use super::address;
use super::rows::{Row, listed};
use super::young::as_seen;
use crate::presentation::charts::in_doubt;
use crate::presentation::check_text::{caution_lines, in_short};
use crate::presentation::report::{List, written};
use crate::presentation::wording::{chance, likelihood_word};
use crate::presentation::{cautions, doubts, names};
use crate::questions::{GenotypesAnswer, HatchlingAnswer, IdentifyAnswer, ModeAnswer, unsettled};
use crate::records::{AnimalId, Colony, Notice};

/// Identities below this chance are not told in a line.
const TOLD: f64 = 0.01;

/// What the first page is made of. `colony` is made fit for reading; `plain` is as it is written.
pub struct Home<'h> {
    /// The colony, for words.
    pub colony: &'h Colony,
    /// The same as it is written, for addresses.
    pub plain: &'h Colony,
    /// What every animal carries.
    pub carried: &'h GenotypesAnswer,
    /// What every hatchling is.
    pub young: &'h IdentifyAnswer,
    /// How suspected genes are inherited.
    pub modes: &'h [ModeAnswer],
    /// Doubts of the reader.
    pub notices: &'h [Notice],
    /// Whether there is a change that can be taken back.
    pub can_undo: bool,
}

/// The first page.
pub fn home(parts: &Home<'_>) -> String {
    let undo = match parts.can_undo {
        true => "<a class=\"button\" href=\"/undo\">Take back the last change</a>",
        false => "",
    };
    let mut html = format!(
        "<p class=\"buttons\"><a class=\"button first\" href=\"/enter\">Enter a clutch</a>{undo}</p>",
    );
    html.push_str(&warnings(parts));
    let mut open = 0;
    for (heading, rows) in [
        ("How new looks are inherited", modes(parts)),
        ("Who may carry what", carriers(parts, true)),
        ("Hatchlings in doubt", hatchlings(parts)),
        ("Sires in doubt", sires(parts)),
        ("Young and other animals", carriers(parts, false)),
    ] {
        if !rows.is_empty() {
            open += rows.len();
            html.push_str(&listed(heading, &rows));
        }
    }
    if open == 0 {
        html.push_str("<p>Nothing is open: what was in doubt is settled.</p>");
    }
    let mut harm = caution_lines(parts.colony);
    for line in cautions::lines(parts.colony, &parts.carried.cautions) {
        if !harm.contains(&line) {
            harm.push(line);
        }
    }
    if !harm.is_empty() {
        html.push_str("<h2>Cautions</h2>");
        let general = "Ask a veterinarian before you breed animals whose looks can harm them, and \
                       mind the law where you live.";
        html.push_str(&written(&List { before: vec![general.into()], lines: harm }));
    }
    html.push_str("<h2>These records</h2>");
    let short = in_short(parts.colony).trim().replace("\n ", "");
    html.push_str(&written(&List { before: vec![short], lines: notices(parts) }));
    html
}

fn notices(parts: &Home<'_>) -> Vec<String> {
    let line = |notice: &Notice| match notice.place {
        Some(place) => format!("line {}: {}", place.line, notice.message),
        None => notice.message.clone(),
    };
    parts.notices.iter().map(line).collect()
}

fn warnings(parts: &Home<'_>) -> String {
    let answer = parts.carried;
    let lines =
        doubts::warnings(parts.colony, &answer.warnings, answer.surprise.as_ref(), &answer.divided);
    if lines.is_empty() {
        return String::new();
    }
    let list = written(&List { before: Vec::new(), lines });
    format!("<div class=\"mind\"><h2>To keep in mind</h2>{list}</div>")
}

fn carriers(parts: &Home<'_>, kept: bool) -> Vec<Row> {
    let open = unsettled(parts.plain, parts.carried).into_iter().filter(|one| one.kept == kept);
    let row = |one: crate::questions::Unsettled| Row {
        address: Some(address::animal(parts.plain, one.proposition.animal)),
        what: format!(
            "{} {}",
            names::animal(parts.colony, one.proposition.animal),
            names::proposition(parts.colony, one.proposition)
        ),
        chance: Some(one.chance),
        how: format!("{}, {}", chance(one.chance), likelihood_word(one.chance)),
    };
    open.map(row).collect()
}

fn modes(parts: &Home<'_>) -> Vec<Row> {
    let row = |answer: &ModeAnswer| {
        let top = answer.likeliest.first().and_then(|at| answer.modes.get(*at));
        let likeliest = top.map(|top| {
            let way = names::mode(parts.colony, top.mode);
            format!("likeliest: {way}, {}", chance(top.posterior))
        });
        Row {
            address: Some(address::gene(parts.plain, answer.gene)),
            what: format!("How {} is inherited", parts.colony.gene(answer.gene).name),
            chance: None,
            how: likeliest.unwrap_or_else(|| "not known".to_owned()),
        }
    };
    parts.modes.iter().map(row).collect()
}

fn hatchlings(parts: &Home<'_>) -> Vec<Row> {
    let row = |one: &HatchlingAnswer| {
        let listed = one.identities.iter().filter(|one| one.probability >= TOLD);
        let told = listed.map(|one| {
            let looks = names::looks_phrase(parts.colony, &one.looks);
            format!("{looks}: {}", chance(one.probability))
        });
        Row {
            address: Some(address::animal(parts.plain, one.animal)),
            what: format!("What {} is", names::animal(parts.colony, one.animal)),
            chance: None,
            how: told.collect::<Vec<_>>().join("; "),
        }
    };
    let all: Vec<AnimalId> = parts.plain.animal_ids().collect();
    in_doubt(&as_seen(parts.young, &all)).map(row).collect()
}

fn sires(parts: &Home<'_>) -> Vec<Row> {
    let row = |answer: &crate::questions::SireAnswer| {
        let mut candidates = answer.candidates.clone();
        candidates.sort_by(|a, b| b.2.total_cmp(&a.2));
        let told = candidates.iter().map(|(candidate, _, now)| {
            format!("{}: {}", names::sire(parts.colony, *candidate), chance(*now))
        });
        let clutch = &parts.colony.clutch(answer.clutch).id;
        Row {
            address: Some(address::clutch(parts.plain, answer.clutch)),
            what: match answer.hatchling {
                Some(id) => {
                    format!("Who sired {} of {clutch}", names::animal(parts.colony, id))
                }
                None => format!("Who sired {clutch}"),
            },
            chance: None,
            how: told.collect::<Vec<_>>().join("; "),
        }
    };
    parts.carried.sires.iter().map(row).collect()
}
