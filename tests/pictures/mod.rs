//! Colonies that are hard to draw, and every picture of them.

#![allow(dead_code)]

use std::fmt::Write;

use proveout::presentation::charts::{self, Chart, ModeBar, ModesPicture};
use proveout::presentation::isolated;
use proveout::presentation::report::{About, Parts, report};
use proveout::questions::{
    Asked, CarrierMoved, EggsAnswer, Expectation, GenotypesAnswer, GoalAnswer, GoalAsked,
    IdentifyAnswer, LabelsAnswer, PairingsAnswer, PairingsAsked, Story, Target, WhatIf,
    eggs_of_best, expected, genotypes, goal, identify, labels, pairings, what_if,
};
use proveout::records::{Colony, Format, Look, read};

/// A colony with all its answers.
pub struct Answered {
    pub colony: Colony,
    pub genotypes: GenotypesAnswer,
    pub identify: IdentifyAnswer,
    pub expected: Vec<Expectation>,
    pub what_if: Vec<WhatIf>,
    pub labels: LabelsAnswer,
    pub pairings: PairingsAnswer,
    pub eggs: Vec<EggsAnswer>,
    pub goal: Option<GoalAnswer>,
}

impl Answered {
    pub fn new(records: &str) -> Self {
        let colony = read(records.as_bytes(), Format::Toml);
        Answered::of(colony.unwrap_or_else(|errors| panic!("{errors:?}\n{records}")).colony)
    }

    pub fn of(colony: Colony) -> Self {
        let asked = Asked { explain: true, ..Asked::default() };
        let genotypes = genotypes(&colony, &asked).unwrap();
        let identify = identify(&colony, &asked).unwrap();
        let expected = expected(&colony, &asked).unwrap();
        let pictured = Parts::pictured(&colony, &genotypes);
        let what_if = what_if(&colony, &pictured, asked.memory).unwrap();
        let labels = labels(&colony, &asked, 0.99).unwrap();
        let wanted = PairingsAsked {
            asked: Asked::default(),
            carrier: None,
            allelic: None,
            mode: None,
            young: Some(6.0),
            level: 0.95,
        };
        let pairings = pairings(&colony, &wanted).unwrap();
        let eggs = eggs_of_best(&colony, &pairings, 0.9, asked.memory).unwrap();
        let wanted = colony.gene_ids().map(|gene| Look { gene, class: 1 }).take(1).collect();
        let (target, assurance, memory) = (Target::Looks(wanted), 0.8, asked.memory);
        let wanted = GoalAsked { target, assurance, seasons: 4, young: Some(6.0), memory };
        let goal = goal(&colony, &wanted).ok();
        Answered { colony, genotypes, identify, expected, what_if, labels, pairings, eggs, goal }
    }

    pub fn page(&self) -> String {
        let about = About {
            file: "colony.toml".into(),
            hash: "00".repeat(32),
            version: "0".into(),
            assumed: Vec::new(),
        };
        report(&Parts {
            colony: &self.colony,
            about: &about,
            genotypes: &self.genotypes,
            identify: &self.identify,
            expected: &self.expected,
            what_if: &self.what_if,
            modes: &[],
            labels: Some(&self.labels),
            pairings: Some(&self.pairings),
            eggs: &self.eggs,
            goal: self.goal.as_ref(),
        })
    }

    /// Every picture there is of it, with a name for messages.
    pub fn charts(&self) -> Vec<(String, Chart)> {
        let colony = isolated(&self.colony);
        let mut all = vec![
            ("hatchlings".to_owned(), charts::hatchlings(&colony, &self.identify)),
            ("expected".to_owned(), charts::expected(&colony, &self.expected)),
            ("pairings".to_owned(), charts::pairings(&colony, &self.pairings)),
        ];
        let moved = |story: &Story| CarrierMoved {
            proposition: story.proposition,
            before: Some(story.before),
            after: story.after,
        };
        let moves: Vec<CarrierMoved> = self.genotypes.stories.iter().map(moved).collect();
        all.push(("moved".to_owned(), charts::moved(&colony, &moves)));
        all.extend(self.eggs.iter().map(|one| ("eggs".to_owned(), charts::eggs(&colony, one))));
        all.extend(self.goal.iter().map(|one| ("goal".to_owned(), charts::goal(&colony, one))));
        for (at, story) in self.genotypes.stories.iter().take(12).enumerate() {
            all.push((format!("ladder {at}"), charts::ladder(&colony, story)));
            all.push((format!("hundred {at}"), charts::hundred(&colony, story)));
        }
        for (at, one) in self.what_if.iter().enumerate() {
            all.push((format!("what if {at}"), charts::what_if(&colony, one)));
        }
        for gene in colony.gene_ids() {
            let family = charts::family(&colony, &self.genotypes, gene, None);
            all.push((format!("family {}", gene.0), family));
        }
        all
    }
}

/// Names that could break a page or a line.
pub const ODD: [&str; 4] = ["<script>alert(1)<", "Q & A's", "כחול־זנב", "a\u{202e}b"];

/// A name of eighty letters.
pub fn long(start: &str) -> String {
    format!("{start} {}", "of the long long house by the fen ".repeat(3)).chars().take(80).collect()
}

/// Founders and their young over several seasons; `name` writes the names.
pub fn colony(animals: usize, name: impl Fn(&str) -> String) -> String {
    let gene = name("teasel");
    let mut text = format!(
        "title = '{}'\n[gene.'{gene}']\ninheritance = \"recessive\"\n[gene.'{}']\ninheritance = \
         \"incomplete dominant\"\n",
        name("A shed"),
        name("gorse"),
    );
    let founders = (animals / 4).max(2);
    for at in 0..founders {
        let sex = if at % 2 == 0 { "female" } else { "male" };
        let _ = write!(text, "[[animal]]\nid = '{}'\nsex = \"{sex}\"\n", name(&format!("F{at}")));
        let told = format!("sold_as = ['66% het {gene}']\nlooks = []\n");
        let plain = format!("looks = ['{gene}']\nstatus = \"dead\"\n");
        text.push_str(if at % 3 == 0 { &told } else { &plain });
    }
    let mut left = animals.saturating_sub(founders);
    let mut clutch = 0;
    while left > 0 {
        let number = left.min(4);
        let (dam, sire) = (clutch * 2 % founders / 2 * 2, (clutch * 4 + 1) % (founders / 2 * 2));
        let (dam, sire) = (name(&format!("F{dam}")), name(&format!("F{}", sire / 2 * 2 + 1)));
        let own = name(&format!("C{clutch}"));
        let date = 2000 + clutch;
        let _ = write!(
            text,
            "[[clutch]]\nid = '{own}'\ndam = '{dam}'\nsire = '{sire}'\nhatched = \"{date}\"\n\
             [[clutch.count]]\nlooks = []\nnumber = 2\n"
        );
        for at in 0..number {
            let id = name(&format!("C{clutch}-{at}"));
            let gorse = name("gorse");
            let look = if at == 1 {
                format!(
                    "either = [{{ looks = [], fit = 0.6 }}, {{ looks = ['{gorse}'], fit = 0.4 }}]"
                )
            } else {
                "looks = []".to_owned()
            };
            let _ = write!(text, "[[clutch.hatchling]]\nid = '{id}'\n{look}\n");
        }
        left -= number;
        clutch += 1;
    }
    text
}

/// Sixty hatchlings of one clutch, every third of them uncertain, and many clutches of one dam.
pub fn large_clutch() -> String {
    let mut text = String::from(
        "[gene.teasel]\ninheritance = \"recessive\"\n[gene.gorse]\ninheritance = \"dominant\"\n\
         [[animal]]\nid = \"Dam\"\nsex = \"female\"\nlooks = [\"gorse\"]\n\
         sold_as = [\"66% het teasel\"]\n[[animal]]\nid = \"Sire\"\nsex = \"male\"\nlooks = []\n\
         [[clutch]]\nid = \"all\"\ndam = \"Dam\"\nsire = \"Sire\"\nhatched = 2020\n",
    );
    text = text.replace("hatched = 2020", "hatched = \"2020\"");
    for at in 0..60 {
        let look = match at % 3 {
            0 => "either = [{ looks = [], fit = 0.5 }, { looks = [\"gorse\"], fit = 0.5 }]",
            1 => "looks = [\"gorse\"]",
            _ => "looks = []",
        };
        let _ = write!(text, "[[clutch.hatchling]]\nid = \"y{at}\"\n{look}\n");
    }
    for at in 0..60 {
        let _ = write!(
            text,
            "[[clutch]]\nid = \"later-{at}\"\ndam = \"Dam\"\nsire = \"Sire\"\nhatched = \"{}\"\n\
             [[clutch.count]]\nlooks = [\"gorse\"]\nnumber = 1\n",
            2021 + at
        );
    }
    text
}

/// Colonies by name.
pub fn all() -> Vec<(&'static str, Answered)> {
    let odd = |start: &str| {
        let at = start.bytes().map(usize::from).sum::<usize>() % ODD.len();
        format!("{}{start}", ODD[at].replace('\'', "’"))
    };
    let two = Answered::new(&colony(2, str::to_owned));
    let demo = include_str!("../../datasets/demo/colony.toml");
    vec![
        ("nobody", Answered::of(Colony::default())),
        (
            "one",
            Answered::new(
                "[gene.teasel]\ninheritance = \"recessive\"\n[[animal]]\nid = \"Solo\"\n\
             sold_as = [\"50% het teasel\"]\n",
            ),
        ),
        ("two", two),
        ("the demo", Answered::new(demo)),
        ("sixty", Answered::new(&colony(60, str::to_owned))),
        ("one clutch of sixty", Answered::new(&large_clutch())),
        ("names of eighty letters", Answered::new(&colony(24, long))),
        ("odd names", Answered::new(&colony(16, odd))),
    ]
}

/// Explanations for the picture of modes.
pub fn modes(number: usize, steps: usize) -> Chart {
    let share = 1.0 / number as f64;
    let mode = |at: usize| {
        let posterior = if at == 0 { 0.6 } else { 0.4 / (number - 1).max(1) as f64 };
        let way =
            |step: usize| share + (posterior - share) * step as f64 / (steps - 1).max(1) as f64;
        ModeBar {
            name: if at.is_multiple_of(2) {
                long(&format!("mode {at}"))
            } else {
                format!("mode <{at}> & so")
            },
            prior: share,
            posterior,
            path: (0..steps).map(way).collect(),
        }
    };
    charts::modes(&ModesPicture {
        sentence: "One explanation is ahead".into(),
        modes: (0..number).map(mode).collect(),
        steps: (0..steps)
            .map(|at| if at == 0 { "before".into() } else { format!("2024-{at}") })
            .collect(),
    })
}
