//! The words that keepers put above columns and into cells, as data.
//!
//! They only make the first proposal of a mapping; what counts is the mapping that the keeper has
//! checked.

use super::mapping::Means;

/// Months by their names in the languages of the trade, without capitals.
pub(super) const MONTHS: [(u8, &[&str]); 12] = [
    (
        1,
        &[
            "jan", "january", "januar", "jänner", "janvier", "janv", "enero", "ene", "januari",
            "gennaio", "gen",
        ],
    ),
    (
        2,
        &[
            "feb", "february", "februar", "février", "févr", "fév", "febrero", "februari",
            "febbraio",
        ],
    ),
    (3, &["mar", "march", "märz", "mär", "mars", "marzo", "maart", "mrt"]),
    (4, &["apr", "april", "avril", "avr", "abril", "abr", "aprile"]),
    (5, &["may", "mai", "mayo", "mei", "maggio", "mag"]),
    (6, &["jun", "june", "juni", "juin", "junio", "giugno", "giu"]),
    (7, &["jul", "july", "juli", "juillet", "juil", "julio", "luglio", "lug"]),
    (8, &["aug", "august", "août", "aout", "agosto", "ago", "augustus"]),
    (9, &["sep", "sept", "september", "septembre", "septiembre", "settembre", "set"]),
    (10, &["oct", "october", "okt", "oktober", "octobre", "octubre", "ottobre", "ott"]),
    (11, &["nov", "november", "novembre", "noviembre"]),
    (
        12,
        &["dec", "december", "dez", "dezember", "décembre", "déc", "diciembre", "dic", "dicembre"],
    ),
];

/// What a column may be headed with; capitals, dots, `#` and `_` do not matter.
static HEADINGS: [(Means, &[&str]); 20] = [
    (
        Means::Animal,
        &[
            "animal",
            "id",
            "animal id",
            "name",
            "tier",
            "nr",
            "no",
            "animal name",
            "hatchling",
            "hatchling id",
            "nummer",
            "tiername",
            "nom",
        ],
    ),
    (Means::Sex, &["sex", "gender", "geschlecht", "sexe", "m/f"]),
    (
        Means::Hatched,
        &[
            "hatched",
            "hatch date",
            "hatchdate",
            "date hatched",
            "born",
            "birth date",
            "dob",
            "date of birth",
            "geboren",
            "geschlüpft",
            "schlupf",
            "schlupfdatum",
            "geburtsdatum",
            "né le",
        ],
    ),
    (Means::Dam, &["dam", "mother", "mutter", "female", "weibchen", "mère", "dam id", "hen"]),
    (Means::Sire, &["sire", "father", "vater", "male", "männchen", "père", "sire id", "cock"]),
    (
        Means::Clutch,
        &[
            "clutch",
            "clutch id",
            "gelege",
            "litter",
            "wurf",
            "brut",
            "brood",
            "clutch no",
            "gelege nr",
            "ponte",
        ],
    ),
    (
        Means::Laid,
        &[
            "laid",
            "lay date",
            "date laid",
            "laid on",
            "gelegt",
            "gelegt am",
            "ablage",
            "eiablage",
            "pondu le",
        ],
    ),
    (Means::Eggs, &["eggs", "egg count", "eier", "number of eggs", "oeufs", "œufs", "total eggs"]),
    (Means::Slugs, &["slugs", "infertile", "unbefruchtet", "clear eggs", "duds"]),
    (
        Means::Died,
        &["died", "dead in egg", "died in egg", "abgestorben", "doa", "full term dead", "lost"],
    ),
    (
        Means::LooksAndSoldAs,
        &[
            "looks",
            "look",
            "morph",
            "trait",
            "traits",
            "genetics",
            "gene",
            "genes",
            "morphe",
            "merkmale",
            "farbe",
            "farbschlag",
            "phenotype",
            "genetik",
            "mutation",
            "mutations",
        ],
    ),
    (
        Means::SoldAs,
        &["sold as", "bought as", "purchased as", "told", "gekauft als", "het", "hets"],
    ),
    (
        Means::Number,
        &["number", "count", "anzahl", "qty", "quantity", "young", "how many", "stück", "menge"],
    ),
    (Means::Status, &["status", "state", "verbleib"]),
    (
        Means::Note,
        &[
            "note",
            "notes",
            "comment",
            "comments",
            "remark",
            "remarks",
            "bemerkung",
            "bemerkungen",
            "notiz",
            "notizen",
            "anmerkung",
        ],
    ),
    (Means::Trust, &["trust"]),
    (Means::Kind, &["kind"]),
    (Means::Copy, &["copy"]),
    (Means::ClutchNote, &["clutch note", "clutch notes"]),
    (
        Means::Ignored,
        &["price", "preis", "weight", "gewicht", "weight (g)", "photo", "foto", "buyer", "käufer"],
    ),
];

/// A heading or word as it is compared: small letters, single blanks, no dots.
pub(super) fn fold(text: &str) -> String {
    let plain = super::super::normalise(text).to_lowercase();
    plain.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What a column with this heading most likely means.
pub(super) fn heading(text: &str) -> Option<Means> {
    let signs = |sign: char| matches!(sign, '.' | '#' | '_' | ':');
    let word = fold(&text.replace(signs, " "));
    let found = HEADINGS.iter().find(|(_, words)| words.contains(&word.as_str()));
    found.map(|(means, _)| means.clone())
}

/// What a word for a sex most likely means: `male`, `female` or `unknown`.
pub(super) fn sex(word: &str) -> Option<&'static str> {
    Some(match fold(word).trim_end_matches('.') {
        "m" | "male" | "1.0" | "1.0.0" | "männlich" | "männchen" | "mâle" | "macho" | "♂" => {
            "male"
        }
        "f" | "female" | "0.1" | "0.1.0" | "w" | "weiblich" | "weibchen" | "femelle" | "hembra"
        | "♀" => "female",
        "u" | "unknown" | "unsexed" | "0.0.1" | "n/a" | "unbekannt" | "?" | "-" | "na" => "unknown",
        _ => return None,
    })
}

/// What a word for what became of an animal most likely means.
pub(super) fn status(word: &str) -> Option<&'static str> {
    Some(match fold(word).as_str() {
        "kept" | "keep" | "keeper" | "holdback" | "breeder" | "bestand" | "active" => "kept",
        "resting" | "rest" | "pause" => "resting",
        "retired" => "retired",
        "sold" | "verkauft" | "vendu" => "sold",
        "dead" | "died" | "tot" | "gestorben" | "†" | "deceased" | "mort" => "dead",
        "elsewhere" | "on loan" | "loan" | "verliehen" => "elsewhere",
        _ => return None,
    })
}

/// What the program calls the states of an animal.
pub(super) const STATUS: [&str; 6] = ["kept", "resting", "retired", "sold", "dead", "elsewhere"];

/// Words in front of a row of totals.
pub(super) const TOTALS: [&str; 12] = [
    "total",
    "totals",
    "sum",
    "summe",
    "gesamt",
    "gesamtsumme",
    "insgesamt",
    "somme",
    "σ",
    "∑",
    "grand total",
    "subtotal",
];

/// Words for an animal that shows nothing.
pub(super) const NORMAL: [&str; 8] =
    ["normal", "normals", "wild type", "wildtype", "wild-type", "wildtyp", "nominat", "normale"];
