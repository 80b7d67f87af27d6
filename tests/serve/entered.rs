//! What was written stays as it is, and what was entered is never dropped without a word.

use std::fs;

use super::client::{Answer, Server, coded};
use super::{RECORDS, a_clutch};

const MORE_GENES: &str = "[gene.gorse]\ninheritance = \"dominant\"\n\n[gene.woad]\n\
    inheritance = \"recessive\"\n\n[[animal]]\nid = \"Dora\"";

fn with_more_genes() -> String {
    RECORDS.replace("[[animal]]\nid = \"Dora\"", MORE_GENES)
}

fn post(server: &Server, path: &str, form: &str) -> Answer {
    server.ask("POST", path, &[("Origin", &server.origin())], form)
}

#[test]
fn a_note_of_several_lines_is_left_alone_when_something_else_is_saved() {
    let notes = [
        "note = \"\"\"\nbought at the show\n  shy, \"bites\"\n\"\"\"\n",
        "note = \"one\\r\\ntwo\"\n",
        "note = \"\\n\\nfirst two lines are empty\"\n",
    ];
    for note in notes {
        let text = RECORDS
            .replace("looks = []\nsold_as", &format!("looks = []\n{note}sold_as"))
            .replace("sire = \"Sam\"\n", &format!("sire = \"Sam\"\n{note}"));
        let server = Server::start("colony.toml", &text);
        let page = server.get("/change?id=Dora");
        let form = page.fields("/change", "save").replacen("&status=kept", "&status=resting", 1);
        let saved = post(&server, "/change", &form);
        assert_eq!(saved.status, 303, "{}", saved.words());
        let page = server.get("/enter?clutch=2024-A");
        let form = page.fields("/enter", "save").replacen("&eggs=&", "&eggs=4&", 1);
        assert_eq!(post(&server, "/enter", &form).status, 303);
        let file = server.file();
        assert_eq!(file.matches(note).count(), 2, "{file}");
        assert!(file.contains("eggs = 4") && file.contains("\"resting\""), "{file}");
    }
}

#[test]
fn a_note_can_be_written_in_several_lines() {
    let server = Server::start("colony.toml", RECORDS);
    let page = server.get("/change?id=Dora");
    let form = page.fields("/change", "save").replacen("&note=&", "&note=one%0D%0Atwo&", 1);
    assert_eq!(post(&server, "/change", &form).status, 303);
    assert!(server.file().contains("one\\ntwo") || server.file().contains("one\ntwo"));
    assert!(!server.file().contains('\r') && !server.file().contains("\\r"), "{}", server.file());
    let again = server.get("/change?id=Dora").fields("/change", "try");
    assert!(again.contains("&note=one%0D%0Atwo&"), "{again}");
}

#[test]
fn statements_over_two_lines_are_left_alone() {
    let told = "sold_as = [\"\"\"\n50% het ash\n\"\"\"]";
    let text = RECORDS.replace("sold_as = [\"50% het ash\"]", told);
    let server = Server::start("colony.toml", &text);
    let page = server.get("/change?id=Dora");
    let form = page.fields("/change", "save").replacen("&status=kept", "&status=resting", 1);
    assert_eq!(post(&server, "/change", &form).status, 303);
    assert!(server.file().contains(told), "{}", server.file());
}

#[test]
fn lists_keep_their_order_when_something_else_is_saved() {
    let calls = "either = [{ looks = [\"woad\", \"gorse\"], fit = 0.7 }, { looks = [\"gorse\"], fit = 0.30 }]\n\
        unread = [\"ash\"]\n";
    let unread = "looks = []\nunread = [\"woad\", \"gorse\"]\n";
    let text = with_more_genes()
        .replace("background = 0 ", "background = 0.01 ")
        .replace("looks = []\nsold_as", &format!("{unread}sold_as"))
        .replace("id = \"A1\"\nlooks = []\n", &format!("id = \"A1\"\n{calls}"));
    let server = Server::start("colony.toml", &text);
    for (id, status) in [("Dora", "kept"), ("A1", "elsewhere")] {
        let page = server.get(&format!("/change?id={id}"));
        let now = format!("&status={status}");
        let form = page.fields("/change", "save").replacen(&now, "&status=resting", 1);
        let saved = post(&server, "/change", &form);
        assert_eq!(saved.status, 303, "{}", saved.words());
    }
    let file = server.file();
    assert!(file.contains(calls) && file.contains(unread), "{file}");
    assert_eq!(file.matches("\"resting\"").count(), 2, "{file}");
    // Another gene is not judged any more: those that stood there keep their places.
    let page = server.get("/change?id=A1");
    let form = page.fields("/change", "save");
    let form = form.replacen("&seen-unread=ash", "&seen-unread=gorse&seen-unread=ash", 1);
    let tried = post(&server, "/change", &form.replacen("do=save", "do=try", 1));
    assert!(!tried.words().contains("− either"), "{}", tried.words());
}

#[test]
fn a_hatchling_without_a_name_is_asked_for_one() {
    let server = Server::start("colony.toml", &with_more_genes());
    let asked = "Hatchling 1: give it a name, or take it away";
    for own in [
        &[("y0-call", "looks"), ("y0-unread", "ash")][..],
        &[("y0-call", "none")],
        &[("y0-call", "none"), ("y0-unread", "woad")],
        &[("y0-call", "looks"), ("y0-sex", "male")],
        &[("y0-call", "looks"), ("y0-looks", "gorse")],
        &[("y0-call", "looks"), ("y0-looks", "normal")],
        &[("y0-call", "either"), ("y0-first-fit", "0.5"), ("y0-second-fit", "0.5")],
    ] {
        let mut form = a_clutch();
        form.retain(|(name, _)| *name != "young");
        form.push(("young", "1"));
        form.extend(own);
        let answer = server.post("/enter", &form, "save");
        assert_eq!(answer.status, 200, "{own:?}");
        assert!(answer.words().contains(asked), "{own:?}: {}", answer.words());
        assert!(answer.body.contains("href=\"#y0-id\""), "{own:?}");
    }
    assert_eq!(server.file(), with_more_genes());
}

#[test]
fn one_share_alone_is_not_taken_for_certainty() {
    let other =
        "[[animal]]\nid = \"Otto\"\nsex = \"male\"\nlooks = []\n\n[[clutch]]\nid = \"2024-A\"";
    let text = RECORDS.replace("[[clutch]]\nid = \"2024-A\"", other);
    let server = Server::start("colony.toml", &text);
    for (given, empty) in [("share0", "#share1"), ("share1", "#share0")] {
        let mut form = a_clutch();
        form.extend([("other", "Otto"), (given, "0.8")]);
        let answer = server.post("/enter", &form, "save");
        assert_eq!(answer.status, 200);
        assert!(answer.words().contains("Give both shares, or neither"), "{}", answer.words());
        assert!(answer.body.contains(&format!("href=\"{empty}\"")));
    }
    let mut alone = a_clutch();
    alone.push(("share1", "0.2"));
    let answer = server.post("/enter", &alone, "save");
    assert!(answer.words().contains("Choose the other male"), "{}", answer.words());
    assert_eq!(server.file(), text);
    let mut neither = a_clutch();
    neither.push(("other", "Otto"));
    assert_eq!(server.post("/enter", &neither, "save").status, 303);
    assert!(server.file().contains("sires = { Sam = 0.5, Otto = 0.5 }"), "{}", server.file());
}

/// A form of each kind with something entered, its address, and what must be seen of it again.
fn forms(server: &Server) -> Vec<(&'static str, String, &'static str)> {
    let clutch = server.form("/enter", &a_clutch(), "save");
    let young = server.get("/enter?clutch=2024-A").fields("/enter", "save");
    let animal = server.get("/change?id=Dora").fields("/change", "save");
    let hatchling = server.get("/change?id=A1").fields("/change", "save");
    let assume = server.get("/assume").fields("/assume", "save");
    vec![
        ("/enter", clutch, "value=\"2025-06-01\""),
        ("/enter", young.replacen("&note=&", "&note=laid+under+the+log&", 1), "laid under the log"),
        ("/change", animal.replacen("&note=&", "&note=shy+at+dusk&", 1), "shy at dusk"),
        ("/change", hatchling.replacen("&note=&", "&note=pale+nose&", 1), "pale nose"),
        ("/assume", assume.replacen("&trust=1&", "&trust=0.815&", 1), "value=\"0.815\""),
    ]
}

#[test]
fn what_was_entered_is_shown_again_while_the_file_is_broken() {
    let server = Server::start("colony.toml", RECORDS);
    let all = forms(&server);
    let broken = RECORDS.replace("[\"ash\"]", "[\"ahs\"]");
    for (path, form, seen) in &all {
        fs::write(server.path("colony.toml"), &broken).unwrap();
        for button in ["save", "try", "add-young"] {
            let answer = post(&server, path, &form.replacen("do=save", &format!("do={button}"), 1));
            assert_eq!(answer.status, 200, "{path}");
            assert!(answer.body.contains(seen), "{path} {button}: {}", answer.body);
            let words = answer.words();
            assert!(words.contains("colony.toml has mistakes just now"), "{path}: {words}");
            assert!(words.contains("line "), "{path}: {words}");
        }
        let part = post(&server, path, &format!("{form}&part=1"));
        assert!(part.words().contains("has mistakes just now"), "{path}: {}", part.words());
        assert!(!part.body.contains("<html"), "{path}");
        assert_eq!(server.file(), broken);
        // Once it is mended the same form can be saved, after it has told that the file changed.
        let held = post(&server, path, form).fields(path, "save");
        fs::write(server.path("colony.toml"), RECORDS).unwrap();
        let saved = post(&server, path, &held);
        assert_eq!(saved.status, 303, "{path}: {}", saved.words());
    }
}

#[test]
fn what_was_entered_is_shown_again_when_the_file_cannot_be_read() {
    let server = Server::start("colony.toml", RECORDS);
    let all = forms(&server);
    fs::remove_file(server.path("colony.toml")).unwrap();
    for (path, form, seen) in &all {
        let answer = post(&server, path, form);
        assert!(answer.body.contains(seen), "{path}: {}", answer.body);
        assert!(answer.words().contains("colony.toml cannot be read just now"), "{path}");
        assert!(!server.path("colony.toml").exists());
    }
}

#[test]
fn what_was_entered_is_shown_again_when_its_animal_or_clutch_is_gone() {
    let server = Server::start("colony.toml", RECORDS);
    let all = forms(&server);
    let gone =
        RECORDS.replace("Dora", "Theodora").replace("A1", "A-one").replace("2024-A", "first");
    fs::write(server.path("colony.toml"), &gone).unwrap();
    for (path, form, seen) in &all[1..4] {
        let answer = post(&server, path, form);
        assert_eq!(answer.status, 200, "{path}");
        assert!(answer.body.contains(seen), "{path}: {}", answer.words());
        assert!(answer.words().contains("in these records any more"), "{path}: {}", answer.words());
        let part = post(&server, path, &format!("{form}&part=1"));
        assert!(part.words().contains("in these records any more"), "{path}: {}", part.words());
        assert!(!part.body.contains("<html"), "{path}");
    }
    assert_eq!(server.file(), gone);
}

#[test]
fn what_was_entered_is_shown_as_text_when_its_version_is_forgotten() {
    let server = Server::start("colony.toml", RECORDS);
    let all = forms(&server);
    let broken = RECORDS.replace("[\"ash\"]", "[\"ahs\"]");
    fs::write(server.path("colony.toml"), &broken).unwrap();
    for (path, form, _) in &all {
        let (before, rest) = form.split_once("seen=").unwrap();
        let rest = rest.split_once('&').unwrap().1;
        let forgotten = format!("{before}seen=feed&{rest}");
        let answer = post(&server, path, &forgotten);
        let words = answer.words();
        assert!(words.contains("What you had entered"), "{path}: {words}");
        assert!(words.contains("has mistakes just now"), "{path}: {words}");
        let token = form.split("token=").nth(1).unwrap().split('&').next().unwrap();
        assert!(!words.contains(token), "{path}: {words}");
    }
    let (_, form, _) = &all[0];
    let forgotten = form.replacen("seen=", "seen=feed", 1) + "&note=" + &coded("<b>\u{202e}shy");
    let answer = post(&server, "/enter", &forgotten);
    for words in ["2025-06-01", "Dora", "3"] {
        assert!(answer.words().contains(words), "{words}: {}", answer.words());
    }
    assert!(!answer.body.contains("<b>"), "{}", answer.body);
    assert_eq!(server.file(), broken);
}

#[test]
fn mended_lines_follow_a_file_that_moved() {
    let broken = RECORDS
        .replace("dam = \"Dora\"", "dam = \"dora\"")
        .replace("[\"ash\"]", "[\"ahs\"]")
        .replace(
            "[[clutch.hatchling]]",
            "[[clutch]]\nid = \"B\"\ndam = \"dora\"\nsire = \"Sam\"\n\n[[clutch.hatchling]]",
        );
    let server = Server::start("colony.toml", &broken);
    let form = server.get("/").fields("/mend", "save");
    let dams = form.matches("-with=dam+%3D+%22dora%22").count();
    assert_eq!(dams, 2, "{form}");
    let form = form
        .replacen("-with=dam+%3D+%22dora%22", "-with=dam+%3D+%22Dora%22+%23+first", 1)
        .replacen("-with=dam+%3D+%22dora%22", "-with=dam+%3D+%22Dora%22+%23+second", 1)
        .replacen("-with=looks+%3D+%5B%22ahs%22%5D", "-with=looks+%3D+%5B%22ash%22%5D", 1);
    let moved = format!("# a line more\n{broken}");
    fs::write(server.path("colony.toml"), &moved).unwrap();
    let again = post(&server, "/mend", &form);
    assert_eq!(again.status, 200);
    assert!(again.words().contains("The file was changed meanwhile"), "{}", again.words());
    assert!(!again.words().contains("What you had entered"), "{}", again.words());
    let saved = post(&server, "/mend", &again.fields("/mend", "save"));
    assert_eq!(saved.status, 303, "{}", saved.words());
    let file = server.file();
    let (one, other) = (file.find("# first").unwrap(), file.find("# second").unwrap());
    assert!(one < file.find("id = \"B\"").unwrap() && file.find("id = \"B\"").unwrap() < other);
    assert!(file.contains("looks = [\"ash\"]") && file.starts_with("# a line more"), "{file}");
}

#[test]
fn mended_lines_that_fit_nowhere_are_still_shown() {
    let broken = RECORDS.replace("[\"ash\"]", "[\"ahs\"]");
    let server = Server::start("colony.toml", &broken);
    let form = server.get("/").fields("/mend", "save").replacen(
        "-with=looks+%3D+%5B%22ahs%22%5D",
        "-with=looks+%3D+%5B%22ash%22%5D+%23+as+I+saw",
        1,
    );
    for theirs in [broken.replace("[\"ahs\"]", "[\"hash\"]"), RECORDS.to_owned()] {
        fs::write(server.path("colony.toml"), &theirs).unwrap();
        for button in ["save", "try"] {
            let wish = format!("do={button}");
            let answer = post(&server, "/mend", &form.replacen("do=save", &wish, 1));
            let words = answer.words();
            assert!(words.contains("What you had entered"), "{words}");
            assert!(words.contains("looks = [\"ash\"] # as I saw"), "{words}");
            assert!(!words.contains("0 mistakes"), "{words}");
        }
        assert_eq!(server.file(), theirs);
    }
    fs::remove_file(server.path("colony.toml")).unwrap();
    let answer = post(&server, "/mend", &form);
    assert!(answer.body.contains("# as I saw"), "{}", answer.body);
}
