//! What was changed of an animal, as changes of the records.

use proveout::presentation::page::{self, AnimalForm, AnimalWords, Below, Fault, Here, YoungForm};
use proveout::records::edit::{Change, Entry, Record};
use proveout::records::{
    AnimalId, Call, Colony, Look, Observation, Origin, Sex, Status, normalise,
};

use super::change::{Tried, attempt, kin};
use super::desk::Desk;
use super::fields::Fields;
use super::held::{again, gone, hold, sound};
use super::pages::{Open, of, with};
use super::reply::Reply;
use super::values::{date, either, list, looks, same_lines, text};

/// The form of an animal, or an empty one.
pub fn show(desk: &Desk, fields: &Fields) -> Reply {
    with(desk, |open| {
        let form = match fields.given("id") {
            None => fresh(),
            Some(_) => match open.animal(fields) {
                Some(id) => existing(open.plain, id),
                None => return open.not_found("There is no animal of that name in these records."),
            },
        };
        drawn(open, &form, &Below::default())
    })
}

fn drawn(open: &Open<'_>, form: &AnimalForm, below: &Below) -> Reply {
    let heading = match &form.existing {
        Some(id) => format!("Change {id}"),
        None => "A new animal".to_owned(),
    };
    let html = page::animal_form(open.colony, open.plain, &open.frame(), form, below);
    open.page(Here::Elsewhere, &heading, &html)
}

/// What was entered: tried, or written down.
pub fn take(desk: &Desk, fields: &Fields) -> Reply {
    let entered = read(fields);
    let draw = |open: &Open<'_>, below: &Below| drawn(open, &of_its_kind(open, &entered), below);
    let current = match sound(desk) {
        Ok(current) => current,
        Err(words) => return hold(desk, fields, words, &draw),
    };
    of(desk, &current, |open| {
        let lost = |id: &&String| open.plain.find_animal(&normalise(id)).is_none();
        if let Some(id) = entered.existing.as_ref().filter(lost) {
            return hold(desk, fields, gone("animal", id), &draw);
        }
        let form = of_its_kind(open, &entered);
        let id = form.existing.clone().unwrap_or_else(|| form.id.clone());
        let first = |colony: &Colony| kin(colony, &id);
        match attempt(desk, open.again(), fields, changes(open.plain, &form), &first) {
            Tried::Saved => {
                Reply::see(format!("/animal?id={}&done=1", page::coded(&normalise(&id))))
            }
            Tried::Again(sheet, below) => again(desk, fields, &sheet, &below, &draw),
        }
    })
}

/// The form of an animal that came in, or of one that hatched here.
fn of_its_kind(open: &Open<'_>, form: &AnimalForm) -> AnimalForm {
    let id = form.existing.as_ref().and_then(|id| open.plain.find_animal(&normalise(id)));
    let hatchling = id.is_some_and(|id| open.plain.animal(id).origin != Origin::Founder);
    AnimalForm { hatchling, ..form.clone() }
}

fn fresh() -> AnimalForm {
    let seen = YoungForm { call: "looks".into(), ..YoungForm::default() };
    let words = AnimalWords { status: "kept".into(), seen, ..AnimalWords::default() };
    AnimalForm { words, ..AnimalForm::default() }
}

fn existing(colony: &Colony, id: AnimalId) -> AnimalForm {
    let animal = colony.animal(id);
    let sex = match animal.sex {
        Some(Sex::Female) => "female",
        Some(Sex::Male) => "male",
        None => "",
    };
    let hatchling = animal.origin != Origin::Founder;
    // A field of one line would lose the line ends of a statement.
    let line = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let said: Vec<String> = animal.statements.iter().map(|one| line(&one.text)).collect();
    let words = AnimalWords {
        sex: sex.to_owned(),
        status: animal.status.word().to_owned(),
        hatched: match animal.hatched {
            Some(date) if !hatchling => date.to_string(),
            _ => String::new(),
        },
        sold_as: said.join("; "),
        note: animal.note.clone().unwrap_or_default(),
        seen: called(colony, Some(&animal.seen)),
        grown: called(colony, animal.grown.as_ref()),
    };
    AnimalForm {
        existing: animal.id.clone(),
        hatchling,
        was: words.clone(),
        words,
        ..AnimalForm::default()
    }
}

/// A call as the form shows it.
fn called(colony: &Colony, seen: Option<&Observation>) -> YoungForm {
    let name = |look: &Look| colony.gene(look.gene).look_name(look.class).to_owned();
    let names = |looks: &[Look]| looks.iter().map(name).collect::<Vec<String>>();
    let mut form = YoungForm { call: "none".into(), ..YoungForm::default() };
    let Some(seen) = seen else { return form };
    form.unread = seen.unread.iter().map(|gene| colony.gene(*gene).name.clone()).collect();
    match &seen.call {
        Call::NotRecorded => {}
        Call::Looks(looks) => {
            form.call = "looks".into();
            form.looks = names(looks);
        }
        Call::Either(all) => {
            form.call = "either".into();
            for (place, one) in form.either.iter_mut().zip(all) {
                *place = (names(&one.looks), one.fit.to_string());
            }
        }
    }
    form
}

fn read(fields: &Fields) -> AnimalForm {
    let words = |prefix: &str| {
        let get = |name: &str| fields.get(&format!("{prefix}{name}")).to_owned();
        let all = |name: &str| fields.all(&format!("{prefix}{name}"));
        let call = |part: &str| YoungForm {
            call: get(&format!("{part}-call")),
            looks: all(&format!("{part}-looks")),
            unread: all(&format!("{part}-unread")),
            either: ["first", "second"]
                .map(|one| (all(&format!("{part}-{one}")), get(&format!("{part}-{one}-fit")))),
            ..YoungForm::default()
        };
        AnimalWords {
            sex: get("sex"),
            status: get("status"),
            hatched: get("hatched"),
            sold_as: get("sold_as"),
            note: get("note"),
            seen: call("seen"),
            grown: call("grown"),
        }
    };
    let new = fields.get("new") == "1";
    let id = fields.get("id").to_owned();
    let was = words("was-");
    let mut words = words("");
    in_place(&mut words.seen, &was.seen);
    in_place(&mut words.grown, &was.grown);
    AnimalForm { existing: (!new).then(|| id.clone()), hatchling: false, id, words, was }
}

/// Gives back the order in which names were written: a browser sends them in that of the form.
fn in_place(now: &mut YoungForm, was: &YoungForm) {
    let order = |now: &mut Vec<String>, was: &[String]| {
        now.sort_by_key(|name| was.iter().position(|one| one == name).unwrap_or(was.len()));
    };
    order(&mut now.looks, &was.looks);
    order(&mut now.unread, &was.unread);
    for (now, was) in now.either.iter_mut().zip(&was.either) {
        order(&mut now.0, &was.0);
    }
}

type Named = Vec<(String, Entry)>;

/// What is to stand behind each key; `None` where the key is to go.
fn written(form: &AnimalForm, faults: &mut Vec<Fault>) -> Vec<(&'static str, Option<Entry>)> {
    let (now, was) = (&form.words, &form.was);
    let filled = |value: &str| (!value.is_empty()).then(|| text(value));
    let new = form.existing.is_none();
    let mut keys = Vec::new();
    if now.sex != was.sex {
        keys.push(("sex", filled(&now.sex)));
    }
    if !form.hatchling && now.hatched != was.hatched {
        keys.push(("hatched", (!now.hatched.is_empty()).then(|| date(&now.hatched))));
    }
    let unlike = |one: &YoungForm, other: &YoungForm| seen_again(one) != seen_again(other);
    if new || unlike(&now.seen, &was.seen) {
        // Each change reads the file anew: only what differs is one.
        let before = observed("seen", &was.seen, &mut Vec::new());
        let seen = observed("seen", &now.seen, faults).into_iter().zip(before);
        keys.extend(seen.filter(|(now, was)| now.1 != was.1).map(|(now, _)| now));
    }
    if !form.hatchling && now.sold_as != was.sold_as {
        let said: Vec<String> = now.sold_as.split(';').map(|one| one.trim().to_owned()).collect();
        let said: Vec<String> = said.into_iter().filter(|one| !one.is_empty()).collect();
        keys.push(("sold_as", (!said.is_empty()).then(|| list(&said))));
    }
    if form.hatchling && unlike(&now.grown, &was.grown) {
        let inside = observed("grown", &now.grown, faults);
        let inside: Named =
            inside.into_iter().filter_map(|(key, value)| Some((key.to_owned(), value?))).collect();
        keys.push(("grown", (!inside.is_empty()).then_some(Entry::Table(inside))));
    }
    if now.status != was.status && (!new || now.status != Status::Kept.word()) {
        keys.push(("status", filled(&now.status)));
    }
    if !same_lines(&now.note, &was.note) {
        keys.push(("note", filled(&now.note)));
    }
    keys
}

/// What counts of a call: what was entered for another kind of call does not.
fn seen_again(call: &YoungForm) -> YoungForm {
    let unread = call.unread.clone();
    let kept = YoungForm { call: call.call.clone(), unread, ..YoungForm::default() };
    match call.call.as_str() {
        "looks" => YoungForm { looks: call.looks.clone(), ..kept },
        "either" => YoungForm { either: call.either.clone(), ..kept },
        _ => kept,
    }
}

/// The keys of a call.
fn observed(
    prefix: &str,
    call: &YoungForm,
    faults: &mut Vec<Fault>,
) -> [(&'static str, Option<Entry>); 3] {
    let unread = (!call.unread.is_empty()).then(|| list(&call.unread));
    let (seen, either) = match call.call.as_str() {
        "looks" => (Some(looks(&call.looks)), None),
        "either" => (None, Some(either(prefix, "How well it fits", call, faults))),
        _ => (None, None),
    };
    [("looks", seen), ("either", either), ("unread", unread)]
}

fn changes(colony: &Colony, form: &AnimalForm) -> Result<Vec<Change>, Vec<Fault>> {
    let mut faults = Vec::new();
    let keys = written(form, &mut faults);
    let changes = match &form.existing {
        None => {
            if form.id.is_empty() {
                faults.push(Fault::new("id", "Give the animal a name."));
            } else if colony.find_animal(&normalise(&form.id)).is_some() {
                faults.push(Fault::new("id", "There is an animal of that name already."));
            }
            let mut fields: Named = vec![("id".into(), text(&form.id))];
            fields.extend(keys.into_iter().filter_map(|(k, v)| Some((k.to_owned(), v?))));
            vec![Change::AddAnimal { fields }]
        }
        Some(id) => {
            let record = || match form.hatchling {
                true => Record::Hatchling(id.clone()),
                false => Record::Animal(id.clone()),
            };
            let change = |(key, value): (&str, Option<Entry>)| match value {
                Some(value) => Change::Set { record: record(), key: key.to_owned(), value },
                None => Change::Clear { record: record(), key: key.to_owned() },
            };
            // More identities than the form has room for are left as they are.
            let many = colony.find_animal(&normalise(id)).is_some_and(|id| {
                let animal = colony.animal(id);
                let all = [Some(&animal.seen), animal.grown.as_ref()];
                all.into_iter()
                    .flatten()
                    .any(|seen| matches!(&seen.call, Call::Either(a) if a.len() > 2))
            });
            if many && keys.iter().any(|(key, _)| matches!(*key, "either" | "looks" | "grown")) {
                let words = "It is written as one of more than two: change that in a text editor.";
                faults.push(Fault::new("", words));
            }
            keys.into_iter().map(change).collect()
        }
    };
    if faults.is_empty() { Ok(changes) } else { Err(faults) }
}
