//! What the pages say: one thing in one way, in plain words.

use super::client::Server;
use super::{RECORDS, a_clutch};

/// A dam with one copy of a look that shows on adults only, and a young that was called normal.
fn with_an_adult_look() -> String {
    RECORDS
        .replace(
            "[[animal]]\nid = \"Dora\"",
            "[gene.gall]\ninheritance = \"dominant\"\nfrom_age = \"adult\"\n\n[[animal]]\nid = \"Dora\"",
        )
        .replace("looks = []\nsold_as", "looks = [\"gall\"]\nsold_as")
}

#[test]
fn a_hatchling_is_told_in_one_way_on_all_pages() {
    let server = Server::start("colony.toml", &with_an_adult_look());
    // SOURCE: Mendel's first law; one copy in the dam (with `background = 0`) and none in the sire.
    let told = "normal: 100 in 100 (100 %); if so, gall when grown: 50 in 100 (50 %)";
    for page in ["/animal?id=A1", "/clutch?id=2024-A"] {
        let words = server.get(page).words();
        assert!(words.contains(told), "{page}: {words}");
        for other in ["A1 is normal: 50 in 100", "A1 is gall", "may be more than one thing"] {
            assert!(!words.contains(other), "{page}: {other}: {words}");
        }
    }
    assert!(!server.get("/").words().contains("Hatchlings in doubt"));
    // In doubt by what can be seen: then everywhere.
    let unsure = with_an_adult_look().replace(
        "id = \"A1\"\nlooks = []",
        "id = \"A1\"\neither = [{ looks = [], fit = 0.5 }, { looks = [\"ash\"], fit = 0.5 }]",
    );
    let server = Server::start("colony.toml", &unsure);
    // SOURCE: Bayes' rule: 1/4 of the young of an even chance of het and a visual mate show it.
    let told = "normal: 75 in 100 (75 %)";
    for page in ["/animal?id=A1", "/clutch?id=2024-A", "/"] {
        let words = server.get(page).words();
        assert!(words.contains(told), "{page}: {words}");
    }
    for page in ["/animal?id=A1", "/clutch?id=2024-A"] {
        let body = server.get(page).body.replace('\u{a0}', " ");
        assert!(body.contains("A1 is normal: 75 in 100 (75 %)"), "{page}: {body}");
    }
}

#[test]
fn a_calendar_needs_no_hint_and_a_date_in_words_does() {
    let text = RECORDS.replace("sex = \"female\"", "sex = \"female\"\nhatched = \"2020\"");
    let server = Server::start("colony.toml", &text);
    let hint = "year-month-day";
    assert!(!server.get("/enter").words().contains(hint));
    assert!(!server.get("/change?id=Sam").words().contains(hint));
    assert!(server.get("/change?id=Dora").words().contains(hint));
}

#[test]
fn a_fit_is_from_0_to_1_in_both_forms() {
    let server = Server::start("colony.toml", RECORDS);
    let headers = [("Origin", &*server.origin())];
    for (fit, fine) in [("7", false), ("1.01", false), ("1", true), ("0,25", true)] {
        let form = server.get("/change?id=A1").fields("/change", "try");
        let form = form.replacen("&seen-call=looks", "&seen-call=either&seen-second=ash", 1);
        let form = form
            .replacen("&seen-first-fit=&", &format!("&seen-first-fit={fit}&"), 1)
            .replacen("&seen-second-fit=&", "&seen-second-fit=0.5&", 1);
        let animal = server.ask("POST", "/change", &headers, &form);
        let mut form = a_clutch();
        form.retain(|(name, _)| *name != "young");
        form.extend([("young", "1"), ("y0-id", "B1"), ("y0-call", "either")]);
        form.extend([("y0-second", "ash"), ("y0-first-fit", fit), ("y0-second-fit", "0.5")]);
        let clutch = server.post("/enter", &form, "try");
        for words in [animal.words(), clutch.words()] {
            assert_eq!(!words.contains("a number from 0 to 1"), fine, "{fit}: {words}");
            assert_eq!(words.contains("What it would change"), fine, "{fit}: {words}");
        }
    }
}

#[test]
fn the_enter_key_writes_nothing_in_any_form() {
    let server = Server::start("colony.toml", RECORDS);
    let broken = Server::start("colony.toml", &RECORDS.replace("[\"ash\"]", "[\"ahs\"]"));
    let pages = [
        server.get("/enter"),
        server.get("/change?id=Dora"),
        server.get("/assume"),
        broken.get("/"),
    ];
    for page in pages {
        let (_, form) = page.body.split_once("<form").unwrap();
        let (_, first) = form.split_once("<button").unwrap();
        let first = first.split('>').next().unwrap();
        assert!(first.contains("value=\"try\"") && first.contains("skip"), "{first}");
    }
}

#[test]
fn assumptions_are_named_in_plain_words() {
    let server = Server::start("colony.toml", RECORDS);
    let page = server.get("/assume");
    for (key, words) in [
        ("other_sire", "Another sire than the recorded one"),
        ("egg_loss", "A good egg that dies"),
        ("trust", "A seller who is right"),
    ] {
        let label = format!("<label for=\"{key}\">{words}<span class=\"hint\">");
        assert!(page.body.contains(&label), "{key}: {}", page.body);
    }
    assert!(page.words().contains("egg_loss in the file; empty: 0.1"), "{}", page.words());
    // Emptied, it is the default again; one that stands nowhere stays so.
    let headers = [("Origin", &*server.origin())];
    let form = page.fields("/assume", "save").replacen("&misread=0&", "&misread=&", 1).replacen(
        "&egg_loss=0.1&",
        "&egg_loss=&",
        1,
    );
    let saved = server.ask("POST", "/assume", &headers, &form);
    assert_eq!(saved.status, 303, "{}", saved.words());
    assert_eq!(server.file(), RECORDS.replace("misread = 0\n", ""));
    let wrong = page.fields("/assume", "save").replacen("&trust=1&", "&trust=2&", 1);
    let answer = server.ask("POST", "/assume", &headers, &wrong);
    assert!(answer.words().contains("A seller who is right: a number from 0 to 1"));
}
