//! The page of `serve`, asked through plain sockets: what it refuses, and what it writes.

#![allow(clippy::unwrap_used)]

#[path = "serve/client.rs"]
mod client;
#[path = "serve/entered.rs"]
mod entered;
#[path = "serve/refused.rs"]
mod refused;
#[path = "serve/shown.rs"]
mod shown;

use std::fs;

use client::{Answer, Server};

const RECORDS: &str = "# kept by hand\n[assume]\nbackground = 0   # none\nmisread = 0\n\n\
    [gene.ash]\ninheritance = \"recessive\"\n\n\
    [[animal]]\nid = \"Dora\"  # the old dam\nsex = \"female\"\nlooks = []\nsold_as = [\"50% het ash\"]\n\n\
    [[animal]]\nid = \"Sam\"\nsex = \"male\"\nlooks = [\"ash\"]\n\n\
    [[clutch]]\nid = \"2024-A\"\ndam = \"Dora\"\nsire = \"Sam\"\n\n\
    [[clutch.hatchling]]\nid = \"A1\"\nlooks = []\n";

/// Three normals, which halve even odds from 1 : 2 to 1 : 16.
fn a_clutch<'c>() -> Vec<(&'c str, &'c str)> {
    vec![
        ("id", "2025-A"),
        ("dam", "Dora"),
        ("sire", "Sam"),
        ("hatched", "2025-06-01"),
        ("counts", "1"),
        ("c0-unsexed", "3"),
        ("young", "0"),
    ]
}

#[test]
fn trying_writes_nothing_and_saving_can_be_taken_back() {
    let server = Server::start("colony.toml", RECORDS);
    let tried = server.post("/enter", &a_clutch(), "try");
    assert_eq!(tried.status, 200);
    // SOURCE: Bayes' rule: even odds, one normal before and three now from a visual mate.
    let moved = "Dora carries ash: from 33 in 100";
    assert!(tried.words().contains(moved), "{}", tried.words());
    assert!(tried.words().contains("to 6 in 100 (5.9 %)"), "{}", tried.words());
    assert_eq!(server.file(), RECORDS);

    let saved = server.post("/enter", &a_clutch(), "save");
    assert_eq!(saved.status, 303, "{}", saved.body);
    let page = server.get(saved.header("location"));
    assert!(page.words().contains("It is written down"), "{}", page.words());
    assert!(page.words().contains(moved));
    let now = server.file();
    assert!(now.starts_with(RECORDS.trim_end()), "{now}");
    assert!(now.contains("2025-A") && now.contains("number = 3"), "{now}");
    assert!(server.get("/animal?id=Dora").words().contains("6 in 100 (5.9 %)"));

    assert!(server.get("/undo").words().contains("Dora carries ash"));
    let undone = server.post("/undo", &[], "");
    assert_eq!(undone.status, 303);
    assert_eq!(server.file(), RECORDS);
    assert!(server.get("/animal?id=Dora").words().contains("33 in 100 (33 %)"));
    assert_eq!(server.post("/undo", &[], "").status, 303);
    assert_eq!(server.file(), now);
}

#[test]
fn what_was_changed_outside_is_not_overwritten() {
    let server = Server::start("colony.toml", RECORDS);
    let form = server.form("/enter", &a_clutch(), "save");
    let theirs = RECORDS.replace("the old dam", "the very old dam");
    fs::write(server.path("colony.toml"), &theirs).unwrap();
    let headers = [("Origin", &*server.origin())];
    let answer = server.ask("POST", "/enter", &headers, &form);
    assert_eq!(answer.status, 200);
    assert!(answer.words().contains("The file was changed meanwhile"), "{}", answer.words());
    assert!(answer.words().contains("the very old dam"), "{}", answer.words());
    assert_eq!(server.file(), theirs);
    // What was entered is still in the form, which is now made from the new version.
    assert!(answer.body.contains("value=\"2025-06-01\""));
    let again = answer.fields("/enter", "save");
    let saved = server.ask("POST", "/enter", &headers, &again);
    assert_eq!(saved.status, 303, "{}", saved.words());
    assert!(server.file().starts_with(theirs.trim_end()));
    assert!(server.file().contains("2025-A"));
}

#[test]
fn a_second_tab_does_not_enter_a_clutch_twice() {
    let server = Server::start("colony.toml", RECORDS);
    let form = server.form("/enter", &a_clutch(), "save");
    let headers = [("Origin", &*server.origin())];
    assert_eq!(server.ask("POST", "/enter", &headers, &form).status, 303);
    let once = server.file();
    let second = server.ask("POST", "/enter", &headers, &form);
    assert_eq!(second.status, 200);
    assert!(second.words().contains("The file was changed meanwhile"));
    assert!(second.words().contains("There is a clutch 2025-A already"), "{}", second.words());
    assert_eq!(server.file(), once);
    // An undo that was asked for before that change is refused too.
    let stale = form.replacen("do=save", "do=", 1);
    assert_eq!(server.ask("POST", "/undo", &headers, &stale).status, 409);
    assert_eq!(server.file(), once);
}

#[test]
fn a_broken_file_opens_and_is_mended() {
    let broken =
        RECORDS.replace("dam = \"Dora\"", "dam = \"dora\"").replace("[\"ash\"]", "[\"ahs\"]");
    let server = Server::start("colony.toml", &broken);
    let page = server.get("/");
    assert_eq!(page.status, 200);
    for words in ["2 mistakes", "no animal is called `dora`", "did you mean `Dora`?"] {
        assert!(page.words().contains(words), "{words}: {}", page.words());
    }
    let half = page.fields("/mend", "save").replacen(
        "m1-with=dam+%3D+%22dora%22",
        "m1-with=dam+%3D+%22Dora%22",
        1,
    );
    let headers = [("Origin", &*server.origin())];
    let refused = server.ask("POST", "/mend", &headers, &half);
    assert_eq!(refused.status, 200, "one mistake is left");
    let words = refused.words();
    assert!(words.contains("These mistakes would be left: line "), "{words}");
    assert!(!words.contains("cannot all be true"), "{words}");
    assert_eq!(server.file(), broken);
    let anyway = half.replacen("do=save", "do=save-anyway", 1);
    assert_eq!(server.ask("POST", "/mend", &headers, &anyway).status, 303);
    let page = server.get("/");
    assert!(page.words().contains("1 mistake"), "{}", page.words());
    let whole = page.fields("/mend", "save").replacen(
        "m0-with=looks+%3D+%5B%22ahs%22%5D",
        "m0-with=looks+%3D+%5B%22ash%22%5D",
        1,
    );
    assert_eq!(server.ask("POST", "/mend", &headers, &whole).status, 303);
    assert_eq!(server.file(), RECORDS);
    assert!(server.get("/").words().contains("Dora carries ash"));
}

#[test]
fn animals_assumptions_and_counts_are_changed() {
    let server = Server::start("colony.toml", RECORDS);
    let page = server.get("/change?id=Dora");
    let status = page.fields("/change", "save").replacen("&status=kept", "&status=resting", 1);
    let headers = [("Origin", &*server.origin())];
    assert_eq!(server.ask("POST", "/change", &headers, &status).status, 303);
    assert!(server.file().contains("status = \"resting\""), "{}", server.file());
    let page = server.get("/assume");
    let form = page.fields("/assume", "try").replacen("&misread=0&", "&misread=0.01&", 1);
    let tried = server.ask("POST", "/assume", &headers, &form);
    assert!(
        tried.words().contains("Sam carries ash: from 100 in 100 (100 %) to 99 in 100"),
        "{}",
        tried.words()
    );
    let save = form.replacen("do=try", "do=save", 1);
    assert_eq!(server.ask("POST", "/assume", &headers, &save).status, 303);
    assert!(server.file().contains("background = 0   # none\nmisread = 0.01"), "{}", server.file());
    // A hatchling that grew up.
    let page = server.get("/change?id=A1");
    let form = page.fields("/change", "save");
    let form = form.replacen("&grown-call=none", "&grown-call=looks&grown-looks=ash", 1);
    assert_eq!(server.ask("POST", "/change", &headers, &form).status, 303);
    assert!(server.file().contains("grown = { looks = [\"ash\"] }"), "{}", server.file());
    assert_eq!(server.post("/enter", &a_clutch(), "save").status, 303);
    let page = server.get("/enter?clutch=2025-A");
    let form = page.fields("/enter", "save").replacen("&e0-unsexed=3&", "&e0-unsexed=4&", 1);
    assert_eq!(server.ask("POST", "/enter", &headers, &form).status, 303);
    assert!(server.file().contains("number = 4"), "{}", server.file());
    assert!(server.file().contains("# the old dam") && server.file().starts_with("# kept by hand"));
}

#[test]
fn records_that_cannot_all_be_true_are_written_only_on_purpose() {
    let server = Server::start("colony.toml", RECORDS);
    // With calls that cannot be wrong, a dam that is clear has no ash young.
    let clear = RECORDS.replace("50% het ash", "not het ash");
    fs::write(server.path("colony.toml"), &clear).unwrap();
    let young = [("young", "1"), ("y0-id", "B1"), ("y0-call", "looks"), ("y0-looks", "ash")];
    let mut form = a_clutch();
    form.retain(|(name, _)| *name != "young");
    form.extend(young);
    let answer = server.post("/enter", &form, "save");
    assert_eq!(answer.status, 200);
    assert!(answer.words().contains("cannot all be true"), "{}", answer.words());
    assert!(answer.words().contains("Write it down all the same"));
    assert_eq!(server.file(), clear);
    assert_eq!(server.post("/enter", &form, "save-anyway").status, 303);
    assert!(server.file().contains("B1"));
    assert!(server.get("/").words().contains("need mending"));
}

#[test]
fn the_report_and_labels_open_as_pages() {
    let server = Server::start("colony.toml", RECORDS);
    let report: Answer = server.get("/report");
    assert!(report.body.contains("<h2>In short</h2>"));
    assert!(report.header("content-security-policy").contains("'sha256-"));
    assert!(server.get("/labels").words().contains("Dora"));
}

#[test]
fn a_file_that_is_gone_is_told_and_the_server_lives() {
    let server = Server::start("colony.toml", RECORDS);
    fs::remove_file(server.path("colony.toml")).unwrap();
    let answer = server.get("/");
    assert_eq!(answer.status, 503);
    assert!(answer.words().contains("colony.toml cannot be read"), "{}", answer.words());
    fs::write(server.path("colony.toml"), RECORDS).unwrap();
    assert_eq!(server.get("/").status, 200);
}

#[test]
fn a_row_more_does_not_hide_what_was_changed_outside() {
    let server = Server::start("colony.toml", RECORDS);
    let form = server.form("/enter", &a_clutch(), "add-young");
    fs::write(server.path("colony.toml"), format!("{RECORDS}\n# theirs\n")).unwrap();
    let headers = [("Origin", &*server.origin())];
    let longer = server.ask("POST", "/enter", &headers, &form);
    assert!(longer.words().contains("Hatchling 1"), "{}", longer.words());
    let saved = server.ask("POST", "/enter", &headers, &longer.fields("/enter", "save"));
    assert!(saved.words().contains("The file was changed meanwhile"), "{}", saved.words());
    assert!(!server.file().contains("2025-A"));
}

#[test]
fn a_clutch_of_two_possible_sires_is_written_as_one() {
    let other =
        "[[animal]]\nid = \"Otto\"\nsex = \"male\"\nlooks = []\n\n[[clutch]]\nid = \"2024-A\"";
    let server =
        Server::start("colony.toml", &RECORDS.replace("[[clutch]]\nid = \"2024-A\"", other));
    let form = [
        ("id", "2025-A"),
        ("dam", "Dora"),
        ("sire", "Sam"),
        ("other", "Otto"),
        ("share0", "0,8"),
        ("share1", "0.2"),
        ("counts", "1"),
        ("c0-looks", "ash"),
        ("c0-unsexed", "1"),
        ("c0-males", "2"),
    ];
    let answer = server.post("/enter", &form, "save");
    assert_eq!(answer.status, 303, "{}", answer.words());
    let file = server.file();
    assert!(file.contains("sires = { Sam = 0.8, Otto = 0.2 }"), "{file}");
    assert!(file.contains("number = \"2.0.1\""), "{file}");
    assert!(server.get("/clutch?id=2025-A").words().contains("2 male, 0 female, 1 not sexed"));
    let same = [("id", "X"), ("dam", "Dora"), ("sire", "Sam"), ("other", "Sam")];
    assert!(server.post("/enter", &same, "try").words().contains("Choose two different males"));
}

#[test]
fn what_may_harm_is_told_before_it_is_written() {
    let lethal = RECORDS.replace("[[animal]]\nid = \"Dora\"", "[gene.gall]\ninheritance = \"dominant\"\n\
        lethal = \"two copies\"\n\n[[animal]]\nid = \"Gil\"\nsex = \"male\"\nlooks = [\"gall\"]\n\n\
        [[animal]]\nid = \"Gerda\"\nsex = \"female\"\nlooks = [\"gall\"]\n\n[[animal]]\nid = \"Dora\"");
    let server = Server::start("colony.toml", &lethal);
    let form = [("id", "G"), ("dam", "Gerda"), ("sire", "Gil"), ("counts", "0"), ("young", "0")];
    let tried = server.post("/enter", &form, "try");
    let words = tried.words();
    let (_, told) = words.split_once(" Mind ").unwrap_or_else(|| panic!("{words}"));
    assert!(told.contains("gall"), "{told}");
}

#[cfg(unix)]
#[test]
fn an_interrupt_ends_it_quietly() {
    let mut server = Server::start("colony.toml", RECORDS);
    assert_eq!(server.get("/").status, 200);
    let ended = server.interrupt();
    assert_eq!(ended.code(), Some(0));
}

#[test]
fn a_port_that_is_taken_and_a_file_that_is_not_there_are_told() {
    let server = Server::start("colony.toml", RECORDS);
    let file = server.path("colony.toml");
    let port = server.port.to_string();
    let mut program = assert_cmd::Command::cargo_bin("proveout").unwrap();
    program.args(["serve", file.to_str().unwrap(), "--port", &port]).assert().code(4);
    let mut program = assert_cmd::Command::cargo_bin("proveout").unwrap();
    program.args(["serve", "/nowhere/colony.toml"]).assert().code(4);
    let mut program = assert_cmd::Command::cargo_bin("proveout").unwrap();
    program.args(["serve", "-"]).assert().code(2);
}

#[test]
fn the_readme_names_the_pages_and_buttons_there_are() {
    let readme = fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/README.md")).unwrap();
    let (_, section) = readme.split_once("## A page to work in").unwrap();
    let section = section.split("\n## ").next().unwrap();
    let server = Server::start("colony.toml", RECORDS);
    let home = server.get("/").body;
    let (_, nav) = home.split_once("<nav").unwrap();
    let nav = nav.split("</nav>").next().unwrap();
    let named: Vec<&str> = section.split("**").skip(1).step_by(2).collect();
    assert_eq!(named.len(), nav.matches("<li>").count(), "{named:?}");
    for name in named {
        assert!(nav.contains(&format!(">{name}</a>")), "{name}: {nav}");
    }
    let enter = server.get("/enter").body;
    for button in section.split('“').skip(1).map(|rest| rest.split('”').next().unwrap()) {
        assert!(enter.contains(&format!(">{button}</button>")), "{button}");
    }
    assert_eq!(server.post("/enter", &a_clutch(), "save").status, 303);
    assert_eq!(fs::read_to_string(server.path("colony.proveout-previous.toml")).unwrap(), RECORDS);
}
