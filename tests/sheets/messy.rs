//! A keeper's spreadsheet of eight seasons, made by a seeded hand that slips on purpose.
//!
//! It knows of every row what is true of it and whether it slipped there, without asking the
//! program: a row is wrong because it was made wrong, and waits because its clutch or a parent
//! does.

use std::collections::{BTreeMap, BTreeSet};

use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

/// The headings of the sheet, in the language of its keeper.
pub const HEADINGS: [&str; 13] = [
    "Tier",
    "Geschlecht",
    "Schlupf",
    "Mutter",
    "Vater",
    "Gelege",
    "Eier",
    "unbefruchtet",
    "Abgestorben",
    "Genetik",
    "Anzahl",
    "Bemerkung",
    "Preis",
];

const ANIMAL: usize = 0;
const SEX: usize = 1;
const HATCHED: usize = 2;
const DAM: usize = 3;
const SIRE: usize = 4;
const CLUTCH: usize = 5;
const EGGS: usize = 6;
const SLUGS: usize = 7;
const DIED: usize = 8;
const TRAITS: usize = 9;
const NUMBER: usize = 10;
const NOTE: usize = 11;

/// Cells about looks: as they are written, the looks seen (`None`: nothing said), and what was told.
type Trait = (&'static str, Option<&'static [&'static str]>, &'static [&'static str]);

const FOUNDER_TRAITS: [Trait; 12] = [
    ("normal", Some(&[]), &[]),
    ("Wildtyp", Some(&[]), &[]),
    ("Teasel", Some(&["teasel"]), &[]),
    ("GORSE", Some(&["gorse"]), &[]),
    ("super  gorse", Some(&["super gorse"]), &[]),
    ("66% het teasel", None, &["66% het teasel"]),
    ("het hawser", None, &["het hawser"]),
    ("gorse, 66,7 % het Hawser", Some(&["gorse"]), &["66.7% het hawser"]),
    ("teasel het hawser", Some(&["teasel"]), &["het hawser"]),
    ("normal 100%het teasel", Some(&[]), &["100% het teasel"]),
    ("poss het teasel", None, &["50% het teasel"]),
    ("vis teasel + gorse", Some(&["teasel", "gorse"]), &[]),
];

const YOUNG_TRAITS: [Trait; 5] = [
    ("normal", Some(&[]), &[]),
    ("teasel", Some(&["teasel"]), &[]),
    ("gorse", Some(&["gorse"]), &[]),
    ("Gorse teasel", Some(&["gorse", "teasel"]), &[]),
    ("?", None, &[]),
];

const FIRST: [&str; 10] = ["Kä", "Jö", "Mul", "Bren", "Tü", "Wes", "Far", "Lud", "Rö", "Hest"];
const SECOND: [&str; 10] =
    ["the", "rike", "gard", "wen", "lind", "mar", "bert", "sund", "ße", "vik"];

/// A founder as it is meant.
#[derive(Clone, Debug)]
pub struct Founder {
    pub id: String,
    pub female: bool,
    pub year: u16,
    pub looks: Option<Vec<String>>,
    pub told: Vec<String>,
    pub row: usize,
}

/// A young, or several that were only counted.
#[derive(Clone, Debug)]
pub struct Young {
    pub id: Option<String>,
    pub sex: Option<bool>,
    pub looks: Option<Vec<String>>,
    pub number: [u32; 3],
    pub row: usize,
}

/// A clutch as it is meant.
#[derive(Clone, Debug)]
pub struct Clutch {
    pub id: String,
    pub dam: String,
    pub sire: String,
    pub hatched: (u16, u8, u8),
    pub eggs: u32,
    pub slugs: u32,
    pub young: Vec<Young>,
}

/// The sheet and what is true of it.
#[derive(Clone, Debug, Default)]
pub struct Messy {
    /// Every row below the headings; the first is row 2 of the sheet.
    pub rows: Vec<[String; 13]>,
    pub founders: Vec<Founder>,
    pub clutches: Vec<Clutch>,
    /// Rows made wrong, with a word that the reason must have.
    pub wrong: BTreeMap<usize, &'static str>,
    /// Rows that repeat another one.
    pub repeated: BTreeSet<usize>,
}

/// The slips of the keeper.
const FOUNDER_SLIPS: [(usize, &str, &str); 6] = [
    (TRAITS, "teasle", "teasle"),
    (HATCHED, "31.02.2017", "31.02.2017"),
    (SEX, "Hahn", "Hahn"),
    (TRAITS, "het teasel, gorse", "seen, or het too"),
    (EGGS, "7", "names no clutch"),
    (TRAITS, "teasel?", "looked at"),
];

impl Messy {
    /// The same sheet for the same seed; with `slips` or as it should have been.
    pub fn new(seed: u64, slips: bool) -> Messy {
        let mut dice = ChaCha8Rng::seed_from_u64(seed);
        let mut messy = Messy::default();
        messy.founders(&mut dice, slips);
        messy.empty();
        messy.heading_again();
        for season in 0..8_u16 {
            if slips {
                messy.title(season);
            }
            messy.empty();
            for _ in 0..14 {
                messy.clutch(&mut dice, season, slips);
            }
            messy.empty();
        }
        if slips {
            messy.totals();
        }
        messy
    }

    fn next_row(&self) -> usize {
        self.rows.len() + 2
    }

    fn empty(&mut self) {
        self.rows.push(Default::default());
    }

    fn heading_again(&mut self) {
        self.rows.push(HEADINGS.map(str::to_string));
        self.empty();
    }

    fn title(&mut self, season: u16) {
        self.wrong.insert(self.next_row(), "nothing else");
        let mut row: [String; 13] = Default::default();
        row[ANIMAL] = format!("Saison {}", 2018 + season);
        self.rows.push(row);
    }

    fn totals(&mut self) {
        self.wrong.insert(self.next_row(), "totals");
        let mut row: [String; 13] = Default::default();
        row[ANIMAL] = "Summe:".to_string();
        row[EGGS] = "611".to_string();
        self.rows.push(row);
    }

    fn founders(&mut self, dice: &mut ChaCha8Rng, slips: bool) {
        for number in 0..50_usize {
            let id = format!("{}{}", FIRST[number % 10], SECOND[(number / 10 + number) % 10]);
            let id = if number >= 40 { format!("{id} II") } else { id };
            let female = number % 2 == 0;
            let year = dice.random_range(2010..=2015_u16);
            let (text, looks, told) = FOUNDER_TRAITS[dice.random_range(0..FOUNDER_TRAITS.len())];
            let mut row: [String; 13] = Default::default();
            row[ANIMAL].clone_from(&id);
            row[SEX] = if female { "w" } else { "M" }.to_string();
            row[HATCHED] = match dice.random_range(0..4) {
                0 => format!("{year}"),
                1 => format!("Mai {year}"),
                2 => format!("13.6.{:02}", year % 100),
                _ => format!("{year}-07-04"),
            };
            row[TRAITS] = text.to_string();
            if number % 7 == 0 {
                row[NOTE] = "=schön; mit \"Fleck\"\nund Strich".to_string();
            }
            row[12] = format!("{},50", dice.random_range(20..90));
            let at = self.next_row();
            // The last founders are parents of nobody: their slips stay their own.
            if slips && (40..46).contains(&number) {
                let (column, cell, reason) = FOUNDER_SLIPS[number - 40];
                row[column] = cell.to_string();
                self.wrong.insert(at, reason);
            }
            let list = |words: &[&str]| words.iter().map(|word| (*word).to_string()).collect();
            self.founders.push(Founder {
                id,
                female,
                year,
                looks: looks.map(list),
                told: list(told),
                row: at,
            });
            self.rows.push(row.clone());
            if slips && number == 46 {
                row[SEX] = if female { "m" } else { "w" }.to_string();
                self.wrong.insert(at, "other facts");
                self.wrong.insert(self.next_row(), "other facts");
                self.rows.push(row);
            } else if slips && number == 47 {
                self.repeated.insert(self.next_row());
                self.rows.push(row);
            }
        }
    }

    /// A parent among the first founders, or among the young of two seasons before.
    fn parent(&self, dice: &mut ChaCha8Rng, female: bool, season: u16) -> String {
        let grown: Vec<&String> = self
            .clutches
            .iter()
            .filter(|clutch| clutch.hatched.0 + 2 <= 2018 + season)
            .flat_map(|clutch| &clutch.young)
            .filter(|young| young.sex == Some(female))
            .filter_map(|young| young.id.as_ref())
            .collect();
        if season > 3 && !grown.is_empty() && dice.random_range(0..4) == 0 {
            return grown[dice.random_range(0..grown.len())].clone();
        }
        let at = dice.random_range(0..20) * 2 + usize::from(!female);
        self.founders[at].id.clone()
    }

    fn clutch(&mut self, dice: &mut ChaCha8Rng, season: u16, slips: bool) {
        let number = self.clutches.len() + 1;
        let year = 2018 + season;
        let id = format!("{}-{number:03}", year % 100);
        let day = dice.random_range(1..=28_u8);
        let month = dice.random_range(5..=9_u8);
        let mut clutch = Clutch {
            dam: self.parent(dice, true, season),
            sire: self.parent(dice, false, season),
            hatched: (year, month, day),
            eggs: 0,
            slugs: dice.random_range(0..2),
            young: Vec::new(),
            id,
        };
        let first = self.rows.len();
        for at in 0..dice.random_range(2..=5_usize) {
            self.young(dice, &mut clutch, at);
        }
        let young: u32 = clutch.young.iter().map(|young| young.number.iter().sum::<u32>()).sum();
        clutch.eggs = young + clutch.slugs;
        let head = &mut self.rows[first];
        head[DAM].clone_from(&clutch.dam);
        head[SIRE].clone_from(&clutch.sire);
        head[CLUTCH].clone_from(&clutch.id);
        head[HATCHED] = match dice.random_range(0..4) {
            0 => format!("{day}.{month}.{year}"),
            1 => format!("{day:02}.{month:02}.{:02}", year % 100),
            2 => format!("{day}/{month}/{year}"),
            _ => format!("{year}-{month:02}-{day:02}"),
        };
        head[EGGS] = clutch.eggs.to_string();
        head[SLUGS] = clutch.slugs.to_string();
        head[DIED] = "0".to_string();
        // Some clutches repeat their id on every row, in others the cells were merged.
        if number.is_multiple_of(3) {
            for row in &mut self.rows[first..] {
                row[CLUTCH].clone_from(&clutch.id);
            }
        }
        if slips && number % 9 == 4 {
            self.slip(number / 9, first, &clutch);
        }
        self.clutches.push(clutch);
    }

    fn young(&mut self, dice: &mut ChaCha8Rng, clutch: &mut Clutch, at: usize) {
        let (text, looks, _) = YOUNG_TRAITS[if at < 4 { at } else { dice.random_range(0..5) }];
        let mut row: [String; 13] = Default::default();
        row[TRAITS] = text.to_string();
        let looks = looks.map(|words| words.iter().map(|word| (*word).to_string()).collect());
        let counted = at == 0 && dice.random_range(0..2) == 0;
        let (id, sex, number) = if counted {
            let number = [0, 0, 0].map(|_: u32| dice.random_range(1..4_u32));
            row[NUMBER] = format!("{}.{}.{}", number[0], number[1], number[2]);
            (None, None, number)
        } else {
            let id = format!("{}/{}", clutch.id, at + 1).replace('/', "-");
            let sex = dice.random_range(0..3);
            row[ANIMAL].clone_from(&id);
            row[SEX] = ["w", "m", "n/a"][sex].to_string();
            (Some(id), [Some(true), Some(false), None][sex], [0, 0, 1])
        };
        clutch.young.push(Young { id, sex, looks, number, row: self.next_row() });
        self.rows.push(row);
    }

    /// A slip of one kind in a clutch whose rows begin at `first`.
    fn slip(&mut self, kind: usize, first: usize, clutch: &Clutch) {
        let last = self.rows.len() - 1;
        let (at, column, cell, reason) = match kind {
            0 => (last, TRAITS, "goorse".to_string(), "goorse"),
            1 => (first, DAM, "Käthhe".to_string(), "nowhere"),
            2 => (first, EGGS, (clutch.eggs + 2).to_string(), "do not add up"),
            3 => (last, TRAITS, "normal het hawser".to_string(), "hatched here"),
            // A male of the sheet as a dam.
            4 => (first, DAM, self.founders[1].id.clone(), "recorded as male"),
            5 => (first, EGGS, "sechs".to_string(), "whole number"),
            6 => (last, NUMBER, "3".to_string(), "an id and a number"),
            7 => (last, HATCHED, "1.1.2030".to_string(), "`hatched` of clutch"),
            // Before its parents hatched.
            8 => (first, HATCHED, "3.3.2009".to_string(), "after this clutch"),
            9 => (last, SEX, "Hahn".to_string(), "Hahn"),
            10 => (first, HATCHED, "6/7".to_string(), "which year"),
            _ => (last, TRAITS, "66% teasel".to_string(), "66% teasel"),
        };
        let reports = |messy: &mut Messy, at: usize| {
            messy.wrong.insert(at + 2, reason);
        };
        self.rows[at][column] = cell;
        reports(self, at);
        if kind == 7 {
            reports(self, first);
        }
    }

    /// The rows that must wait, by the rule that a clutch goes in whole and after its parents.
    pub fn waiting(&self) -> BTreeSet<usize> {
        let mut out: BTreeSet<usize> = self.wrong.keys().copied().collect();
        loop {
            let before = out.len();
            let absent: BTreeSet<&str> = self
                .founders
                .iter()
                .filter(|founder| out.contains(&founder.row))
                .map(|founder| founder.id.as_str())
                .chain(self.clutches.iter().flat_map(|clutch| {
                    let gone = clutch.young.iter().filter(|young| out.contains(&young.row));
                    gone.filter_map(|young| young.id.as_deref()).collect::<Vec<_>>()
                }))
                .collect();
            let mut more = BTreeSet::new();
            for clutch in &self.clutches {
                let bad = clutch.young.iter().any(|young| out.contains(&young.row));
                let orphan =
                    [&clutch.dam, &clutch.sire].iter().any(|p| absent.contains(p.as_str()));
                if bad || orphan {
                    more.extend(clutch.young.iter().map(|young| young.row));
                }
            }
            out.extend(more);
            if out.len() == before {
                break;
            }
        }
        out.retain(|row| !self.wrong.contains_key(row));
        out
    }

    /// The sheet as the spreadsheet saves it: semicolons, Windows-1252, lines that end in CR LF.
    pub fn bytes(&self) -> Vec<u8> {
        let mut writer = csv::WriterBuilder::new()
            .delimiter(b';')
            .terminator(csv::Terminator::CRLF)
            .from_writer(Vec::new());
        writer.write_record(HEADINGS).unwrap();
        for row in &self.rows {
            if row.iter().all(String::is_empty) {
                // A spreadsheet writes the separators of an empty row.
                writer.write_record([""; 13]).unwrap();
            } else {
                writer.write_record(row).unwrap();
            }
        }
        let text = String::from_utf8(writer.into_inner().unwrap()).unwrap();
        encoding_rs::WINDOWS_1252.encode(&text).0.into_owned()
    }
}
