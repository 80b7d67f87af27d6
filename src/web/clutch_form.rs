//! A clutch that was entered, as changes of the records.

use proveout::presentation::page::{
    self, Below, CHANGEABLE, ClutchForm, CountForm, CountedForm, Fault, Here, YoungForm,
};
use proveout::records::edit::{Change, Entry, Record};
use proveout::records::{AnimalId, ClutchId, Colony, normalise};

use super::change::{Tried, Wish, attempt, named};
use super::desk::Desk;
use super::fields::Fields;
use super::held::{again, gone, hold, sound};
use super::pages::{Open, of, with};
use super::reply::Reply;
use super::values::{date, decimal, either, list, looks, next_name, same_lines, text, whole};

/// So many rows of each kind a form has at most.
const ROWS: usize = 60;

/// The form, empty or of a clutch that is there.
pub fn show(desk: &Desk, fields: &Fields) -> Reply {
    with(desk, |open| {
        let form = match fields.given("clutch") {
            None => fresh(open.plain, fields),
            Some(_) => match open.clutch(fields, "clutch") {
                Some(id) => existing(open.plain, id),
                None => return open.not_found("There is no clutch of that name in these records."),
            },
        };
        let below = Below::default();
        let html = page::clutch_form(open.colony, open.plain, &open.frame(), &form, &below);
        open.page(Here::Enter, &heading(&form), &html)
    })
}

fn heading(form: &ClutchForm) -> String {
    match &form.existing {
        Some(id) => format!("Add to clutch {id}"),
        None => "Enter a clutch".to_owned(),
    }
}

/// What was entered: tried, or written down.
pub fn take(desk: &Desk, fields: &Fields) -> Reply {
    let form = read(fields);
    let longer = Wish::of(fields) == Wish::Reshape;
    let draw = |open: &Open<'_>, below: &Below| {
        let (mut form, mut frame) = (form.clone(), open.frame());
        if longer {
            reshape(open.plain, &mut form, fields.get("do"));
            // The form is still of the version that it was made from.
            frame.version = fields.get("seen").to_owned();
        }
        let html = page::clutch_form(open.colony, open.plain, &frame, &form, below);
        open.page(Here::Enter, &heading(&form), &html)
    };
    let current = match sound(desk) {
        Ok(current) => current,
        Err(words) => return hold(desk, fields, words, &draw),
    };
    of(desk, &current, |open| {
        let lost = |id: &&String| open.plain.find_clutch(&normalise(id)).is_none();
        if let Some(id) = form.existing.as_ref().filter(lost) {
            return hold(desk, fields, gone("clutch", id), &draw);
        }
        if longer {
            return draw(open, &Below::default());
        }
        let id = form.existing.clone().unwrap_or_else(|| form.id.clone());
        let first = |colony: &Colony| concerned(colony, &form, &id);
        match attempt(desk, open.again(), fields, changes(open.plain, &form), &first) {
            Tried::Saved => {
                Reply::see(format!("/clutch?id={}&done=1", page::coded(&normalise(&id))))
            }
            Tried::Again(sheet, below) => again(desk, fields, &sheet, &below, &draw),
        }
    })
}

/// The parents and the young of a clutch, of whom is told first.
fn concerned(colony: &Colony, form: &ClutchForm, id: &str) -> Vec<AnimalId> {
    let Some(clutch) = colony.find_clutch(&normalise(id)) else {
        return named(colony, &[&form.dam, &form.sire]);
    };
    let clutch = colony.clutch(clutch);
    let parents = clutch.named_dam().into_iter().chain(clutch.named_sires());
    parents.chain(clutch.hatchlings.iter().copied()).collect()
}

/// The last clutch of the file, whose name the next one follows.
fn fresh(colony: &Colony, fields: &Fields) -> ClutchForm {
    let names = colony.clutches.iter().map(|clutch| clutch.id.as_str());
    let last = names.clone().next_back();
    ClutchForm {
        id: last.map_or_else(String::new, |last| next_name(last, names)),
        dam: fields.get("dam").to_owned(),
        sire: fields.get("sire").to_owned(),
        counts: vec![CountForm::default()],
        ..ClutchForm::default()
    }
}

fn existing(colony: &Colony, id: ClutchId) -> ClutchForm {
    let clutch = colony.clutch(id);
    let day = |date: Option<proveout::records::Date>| date.map_or(String::new(), |d| d.to_string());
    let number = |number: Option<u32>| number.map_or(String::new(), |n| n.to_string());
    let mut form = ClutchForm {
        existing: Some(clutch.id.clone()),
        dates: [day(clutch.laid), day(clutch.hatched)],
        numbers: [number(clutch.eggs), number(clutch.slugs), number(clutch.died)],
        note: clutch.note.clone().unwrap_or_default(),
        counts: vec![CountForm::default()],
        ..ClutchForm::default()
    };
    form.was = form.changeable().map(str::to_owned);
    let counted = |count: &proveout::records::Count| {
        let numbers = count.number.map(|n| if n == 0 { String::new() } else { n.to_string() });
        CountedForm { what: page::call_words(colony, &count.seen), was: numbers.clone(), numbers }
    };
    form.counted = clutch.counts.iter().map(counted).collect();
    form
}

fn read(fields: &Fields) -> ClutchForm {
    let get = |name: &str| fields.get(name).to_owned();
    let count = |at: usize| {
        let name = |part: &str| format!("c{at}-{part}");
        CountForm {
            looks: fields.all(&name("looks")),
            unread: fields.all(&name("unread")),
            numbers: ["males", "females", "unsexed"].map(|part| get(&name(part))),
        }
    };
    let counted = |at: usize| {
        let parts = ["males", "females", "unsexed"];
        CountedForm {
            what: get(&format!("e{at}-what")),
            numbers: parts.map(|part| get(&format!("e{at}-{part}"))),
            was: parts.map(|part| get(&format!("e{at}-was-{part}"))),
        }
    };
    let young = |at: usize| {
        let name = |part: &str| format!("y{at}-{part}");
        let either = ["first", "second"];
        YoungForm {
            id: get(&name("id")),
            sex: get(&name("sex")),
            call: get(&name("call")),
            looks: fields.all(&name("looks")),
            unread: fields.all(&name("unread")),
            either: either.map(|one| (fields.all(&name(one)), get(&name(&format!("{one}-fit"))))),
        }
    };
    ClutchForm {
        existing: fields.given("clutch").map(str::to_owned),
        id: get("id"),
        dam: get("dam"),
        sire: get("sire"),
        other: get("other"),
        shares: [get("share0"), get("share1")],
        dates: [get("laid"), get("hatched")],
        numbers: [get("eggs"), get("slugs"), get("died")],
        note: get("note"),
        counts: (0..fields.number("counts", ROWS)).map(count).collect(),
        young: (0..fields.number("young", ROWS)).map(young).collect(),
        counted: (0..fields.number("counted", ROWS)).map(counted).collect(),
        was: CHANGEABLE.map(|name| get(&format!("was-{name}"))),
    }
}

/// Makes the form longer or shorter.
fn reshape(colony: &Colony, form: &mut ClutchForm, what: &str) {
    match what {
        "add-count" if form.counts.len() < ROWS => form.counts.push(CountForm::default()),
        "add-young" if form.young.len() < ROWS => {
            let id = next_young(colony, form);
            let call = "looks".to_owned();
            form.young.push(YoungForm { id, call, ..YoungForm::default() });
        }
        other => {
            let at = other.strip_prefix("drop-young-").and_then(|at| at.parse::<usize>().ok());
            if let Some(at) = at.filter(|at| *at < form.young.len()) {
                form.young.remove(at);
            }
        }
    }
}

/// A name for the next hatchling: after the last one of the clutch, else after the clutch.
fn next_young(colony: &Colony, form: &ClutchForm) -> String {
    let entered = form.young.iter().map(|one| one.id.as_str());
    let recorded = colony.animals.iter().filter_map(|animal| animal.id.as_deref());
    let taken = recorded.chain(entered.clone());
    let id = form.existing.as_ref().unwrap_or(&form.id);
    let clutch = colony.find_clutch(&normalise(id)).map(|id| colony.clutch(id));
    let own = clutch.into_iter().flat_map(|clutch| &clutch.hatchlings);
    let own = own.filter_map(|animal| colony.animal(*animal).id.as_deref());
    let last = own.chain(entered).rfind(|name| !name.is_empty());
    match last {
        Some(last) => next_name(last, taken),
        None if id.is_empty() => String::new(),
        None => next_name(&format!("{id}-0"), taken),
    }
}

type Named = Vec<(String, Entry)>;

fn changes(colony: &Colony, form: &ClutchForm) -> Result<Vec<Change>, Vec<Fault>> {
    let mut faults = Vec::new();
    let counts: Vec<Named> = form
        .counts
        .iter()
        .enumerate()
        .filter_map(|(at, count)| counted(at, count, &mut faults))
        .collect();
    let young: Vec<Named> = form
        .young
        .iter()
        .enumerate()
        .filter_map(|(at, young)| hatchling(at, young, &mut faults))
        .collect();
    let changes = match &form.existing {
        Some(id) => additions(id, form, counts, young, &mut faults),
        None => vec![Change::AddClutch {
            fields: whole_clutch(colony, form, counts, young, &mut faults),
        }],
    };
    if faults.is_empty() { Ok(changes) } else { Err(faults) }
}

/// The value of a field that a clutch has, or `None` where it is left empty.
fn value(at: usize, form: &ClutchForm, faults: &mut Vec<Fault>) -> Option<Entry> {
    let name = CHANGEABLE[at];
    let written = form.changeable()[at];
    let what = ["Laid", "Hatched", "Eggs", "Slugs", "Died in the egg", "Note"][at];
    match at {
        _ if written.is_empty() => None,
        0 | 1 => Some(date(written)),
        5 => Some(text(written)),
        _ => whole(name, what, written, faults).map(|number| Entry::Whole(i64::from(number))),
    }
}

fn additions(
    id: &str,
    form: &ClutchForm,
    counts: Vec<Named>,
    young: Vec<Named>,
    faults: &mut Vec<Fault>,
) -> Vec<Change> {
    let clutch = || id.to_owned();
    let mut changes = Vec::new();
    for (at, key) in CHANGEABLE.iter().enumerate() {
        if same_lines(form.changeable()[at], &form.was[at]) {
            continue;
        }
        let (record, key) = (Record::Clutch(clutch()), (*key).to_owned());
        changes.push(match value(at, form, faults) {
            Some(value) => Change::Set { record, key, value },
            None => Change::Clear { record, key },
        });
    }
    changes.extend(counted_anew(id, form, faults));
    changes.extend(counts.into_iter().map(|fields| Change::AddCount { clutch: clutch(), fields }));
    let add = |fields| Change::AddHatchling { clutch: clutch(), fields };
    changes.extend(young.into_iter().map(add));
    changes
}

/// Counts that were there and have other numbers now; the last one first, so that one that is taken
/// away does not move another.
fn counted_anew(id: &str, form: &ClutchForm, faults: &mut Vec<Fault>) -> Vec<Change> {
    let mut changes = Vec::new();
    for (index, one) in form.counted.iter().enumerate().rev() {
        if one.numbers == one.was {
            continue;
        }
        let record = Record::Count { clutch: id.to_owned(), index };
        changes.push(match numbers("e", index, &one.numbers, faults) {
            None => continue,
            Some([0, 0, 0]) => Change::Remove { record },
            Some(all) => Change::Set { record, key: "number".into(), value: number(all) },
        });
    }
    changes
}

/// Males, females and unsexed, as they are written.
fn number([males, females, unsexed]: [u32; 3]) -> Entry {
    match (males, females) {
        (0, 0) => Entry::Whole(i64::from(unsexed)),
        _ => text(&format!("{males}.{females}.{unsexed}")),
    }
}

/// The three numbers of a count; `None` where one is none.
fn numbers(
    prefix: &str,
    at: usize,
    typed: &[String; 3],
    faults: &mut Vec<Fault>,
) -> Option<[u32; 3]> {
    let labels = ["Males", "Females", "Not sexed"];
    let parts = ["males", "females", "unsexed"];
    let before = faults.len();
    let read = [0, 1, 2].map(|place| {
        let field = format!("{prefix}{at}-{}", parts[place]);
        whole(&field, labels[place], &typed[place], faults).unwrap_or(0)
    });
    (faults.len() == before).then_some(read)
}

fn whole_clutch(
    colony: &Colony,
    form: &ClutchForm,
    counts: Vec<Named>,
    young: Vec<Named>,
    faults: &mut Vec<Fault>,
) -> Named {
    if form.id.is_empty() {
        faults.push(Fault::new("id", "Give the clutch a name."));
    } else if colony.find_clutch(&normalise(&form.id)).is_some() {
        let words = format!("There is a clutch {} already. Give this one another name.", form.id);
        faults.push(Fault::new("id", words));
    }
    if form.dam.is_empty() {
        faults.push(Fault::new("dam", "Choose the dam, or “unknown”."));
    }
    if form.sire.is_empty() {
        faults.push(Fault::new("sire", "Choose the sire, or “unknown”."));
    }
    let mut fields: Named = vec![("id".into(), text(&form.id)), ("dam".into(), text(&form.dam))];
    fields.push(sires(form, faults));
    for (at, key) in CHANGEABLE.iter().enumerate() {
        fields.extend(value(at, form, faults).map(|value| ((*key).to_owned(), value)));
    }
    let tables = |all: Vec<Named>| Entry::List(all.into_iter().map(Entry::Table).collect());
    for (key, all) in [("hatchling", young), ("count", counts)] {
        if !all.is_empty() {
            fields.push((key.to_owned(), tables(all)));
        }
    }
    fields
}

fn sires(form: &ClutchForm, faults: &mut Vec<Fault>) -> (String, Entry) {
    let given = form.shares.each_ref().map(|share| !share.is_empty());
    if form.other.is_empty() {
        if given != [false, false] {
            let words = "Choose the other male, or leave both shares empty.";
            faults.push(Fault::new("other", words));
        }
        return ("sire".into(), text(&form.sire));
    }
    if form.other == form.sire {
        faults.push(Fault::new("other", "Choose two different males, or only one."));
    }
    if given[0] != given[1] {
        let empty = format!("share{}", usize::from(given[0]));
        faults.push(Fault::new(empty, "Give both shares, or neither."));
    }
    let mut share = |at: usize| {
        let field = format!("share{at}");
        let read = decimal(&field, "How likely", [0.0, 1000.0], &form.shares[at], faults);
        Entry::Number(read.unwrap_or(0.5))
    };
    let table = vec![(form.sire.clone(), share(0)), (form.other.clone(), share(1))];
    ("sires".into(), Entry::Table(table))
}

fn counted(at: usize, count: &CountForm, faults: &mut Vec<Fault>) -> Option<Named> {
    let all = numbers("c", at, &count.numbers, faults)?;
    if all == [0, 0, 0] {
        if !count.looks.is_empty() || !count.unread.is_empty() {
            let words = format!("Counted {}: how many were there?", at + 1);
            faults.push(Fault::new(format!("c{at}-unsexed"), words));
        }
        return None;
    }
    let mut fields = vec![("looks".to_owned(), looks(&count.looks))];
    if !count.unread.is_empty() {
        fields.push(("unread".into(), list(&count.unread)));
    }
    fields.push(("number".into(), number(all)));
    Some(fields)
}

fn hatchling(at: usize, young: &YoungForm, faults: &mut Vec<Fault>) -> Option<Named> {
    if young.id.is_empty() {
        let words = format!("Hatchling {}: give it a name, or take it away.", at + 1);
        faults.push(Fault::new(format!("y{at}-id"), words));
        return None;
    }
    let mut fields: Named = vec![("id".into(), text(&young.id))];
    if !young.sex.is_empty() {
        fields.push(("sex".into(), text(&young.sex)));
    }
    match young.call.as_str() {
        "none" => {}
        "either" => {
            let what = format!("Hatchling {}, how well it fits", at + 1);
            fields.push(("either".into(), either(&format!("y{at}"), &what, young, faults)));
        }
        _ => fields.push(("looks".into(), looks(&young.looks))),
    }
    if !young.unread.is_empty() {
        fields.push(("unread".into(), list(&young.unread)));
    }
    Some(fields)
}
