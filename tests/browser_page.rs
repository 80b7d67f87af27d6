//! The page of `serve` in a browser, on a telephone: a keeper does the whole job.
//!
//! Says so and passes where there is no Chromium with its driver, but fails under `CI=true`.

#![allow(clippy::unwrap_used)]

#[path = "serve/client.rs"]
#[allow(dead_code)]
mod client;
#[path = "browser/driver.rs"]
mod driver;

use std::fs;
use std::time::Duration;

use client::Server;
use driver::Browser;
use serde_json::{Value, json};

const DEMO: &str = include_str!("../datasets/demo/colony.toml");
const SUSPECTED: &str = "[gene.quill]\ninheritance = \"unknown\"\nlooks = [\"quill\"]\n\
    [[animal]]\nid = \"Q1\"\nsex = \"female\"\nlooks = [\"quill\"]\n\
    [[animal]]\nid = \"Tom\"\nsex = \"male\"\nlooks = []\n\
    [[clutch]]\nid = \"2024-A\"\ndam = \"Q1\"\nsire = \"Tom\"\n\
    [[clutch.count]]\nlooks = [\"quill\"]\nnumber = 2\n\
    [[clutch.count]]\nlooks = []\nnumber = 3\n";

/// Tab, enter, space and backspace, as the standard numbers them.
const TAB: &str = "\u{e004}";
const ENTER: &str = "\u{e007}";

impl Browser {
    /// The text of an element as it is read, with plain blanks; empty where there is none.
    fn text(&self, selector: &str) -> String {
        let script = format!(
            "const one = document.querySelector({}); return one ? one.innerText : '';",
            json!(selector)
        );
        self.run(&script).as_str().unwrap_or_default().replace('\u{a0}', " ")
    }

    /// Waits until an element says something.
    fn wait_for(&self, selector: &str, words: &str) {
        for _ in 0..1_200 {
            if self.text(selector).contains(words) {
                return;
            }
            std::thread::sleep(Duration::from_millis(50));
        }
        panic!("{selector} never said {words:?}, but {:?}", self.text(selector));
    }

    /// Chooses from a list as a finger does.
    fn choose(&self, selector: &str, value: &str) {
        if self.has_scripts() {
            self.tap(&format!("{selector} option[value=\"{value}\"]"));
        } else {
            // A list that drops down is drawn by the browser, outside of the page.
            self.run(&format!("document.querySelector('{selector}').value = '{value}'"));
        }
    }

    /// Presses tab until a field has the focus, which must be seen all the way.
    fn tab_to(&self, selector: &str) {
        for _ in 0..150 {
            self.keys(TAB);
            let at = self.run(&format!(
                "const one = document.activeElement; const shown = one.closest('.toggle') ? \
                 one.nextElementSibling : one; return [one.matches({}), \
                 getComputedStyle(shown).outlineStyle !== 'none' || one === document.body || \
                 one.matches('.skip'), one.outerHTML.slice(0, 200)];",
                json!(selector)
            ));
            assert_eq!(at[1], json!(true), "the focus is not seen on {}", at[2]);
            if at[0] == json!(true) {
                return;
            }
        }
        panic!("no way by tab to {selector}");
    }

    /// That the page is whole, quiet and asked nobody else.
    fn in_order(&self, server: &Server, what: &str) {
        let faults = self.run(include_str!("browser/page.js"));
        assert_eq!(faults, json!([]), "{what}: {faults:#}");
        let faults = self.run(include_str!("browser/targets.js"));
        assert_eq!(faults, json!([]), "{what}: {faults:#}");
        self.quiet(server, what);
    }

    fn quiet(&self, server: &Server, what: &str) {
        let logged = self.log("browser");
        assert!(logged.is_empty(), "{what}: {logged:?}");
        let kept = ["data:", "chrome:", "chrome-error:"];
        let own = |one: &String| one.starts_with(&server.origin());
        let asked = self.asked_for();
        let alien = asked.iter().find(|one| !own(one) && !kept.iter().any(|k| one.starts_with(k)));
        assert!(alien.is_none(), "{what}: {alien:?}");
    }
}

/// Taps and types a clutch of three normals and a teasel of Tamsin and Odo.
fn enter_clutch(browser: &Browser) {
    browser.choose("#dam", "Tamsin");
    browser.choose("#sire", "Odo");
    browser.fill("#c0-unsexed", "3");
    browser.tap("button[value=add-young]");
    browser.wait_for("main", "Hatchling 1");
    browser.tap("input[name=y0-looks][value=teasel]");
    browser.tap("input[name=y0-sex][value=female]");
}

#[test]
fn every_page_is_whole_on_a_telephone() {
    let Some(browser) = Browser::here(true) else { return };
    let server = Server::start("colony.toml", DEMO);
    for path in [
        "/",
        "/animals",
        "/animal?id=Pernel",
        "/animal?id=23A-2",
        "/animal?id=24A-1",
        "/clutches",
        "/clutch?id=2023-A",
        "/clutch?id=2024-A",
        "/enter",
        "/enter?clutch=2023-C",
        "/change?id=Hob",
        "/change?id=23C-2",
        "/change",
        "/assume",
        "/paper",
        "/labels",
        "/undo",
        "/nothing",
    ] {
        browser.go(&format!("{}{path}", server.origin()));
        if path == "/nothing" {
            // A page that is not there is told of in the log of a browser.
            assert_eq!(browser.log("browser").len(), 1);
        }
        browser.in_order(&server, path);
    }
    let server = Server::start("suspected.toml", SUSPECTED);
    for path in ["/", "/gene?name=quill", "/animal?id=Q1"] {
        browser.go(&format!("{}{path}", server.origin()));
        browser.in_order(&server, path);
    }
    let server = Server::start("broken.toml", &DEMO.replace("\"Odo\"", "\"Ado\""));
    browser.go(&server.origin());
    browser.in_order(&server, "broken");
}

#[test]
fn the_style_reaches_the_report_and_the_pictures() {
    let Some(browser) = Browser::here(true) else { return };
    let server = Server::start("colony.toml", DEMO);
    let colour = "return getComputedStyle(document.querySelector('.pv-l-first, .pv-first')).stroke \
                  + getComputedStyle(document.querySelector('.pv-ground')).fill;";
    for path in ["/report", "/animal?id=Pernel"] {
        browser.go(&format!("{}{path}", server.origin()));
        assert!(browser.run(colour).as_str().unwrap().contains("rgb(255, 255, 255)"), "{path}");
        browser.quiet(&server, path);
    }
}

#[test]
fn a_clutch_is_entered_its_odds_move_and_it_is_taken_back() {
    let Some(browser) = Browser::here(true) else { return };
    let server = Server::start("colony.toml", DEMO);
    browser.go(&format!("{}/enter", server.origin()));
    enter_clutch(&browser);
    // Nothing was pressed: the odds move while it is entered.
    browser.wait_for("#told", "Tamsin carries teasel: from 8 in 1,000 (0.8 %) to");
    assert!(browser.text("#told").contains("What it would change"));
    assert_eq!(browser.run("return document.querySelectorAll('#shown svg').length"), json!(1));
    browser.in_order(&server, "entering");
    assert_eq!(server.file(), DEMO);
    // One look less, and the odds move back.
    browser.tap("input[name=y0-looks][value=teasel]");
    browser.wait_for("#told", "Tamsin carries teasel: from 8 in 1,000 (0.8 %) to 5 in 10,000");
    browser.tap("input[name=y0-looks][value=teasel]");
    browser.wait_for("#told", "to 33 in 100");
    browser.tap("button[value=save]");
    browser.wait_for("main", "It is written down");
    assert!(browser.text("main").contains("Tamsin carries teasel: from 8 in 1,000 (0.8 %)"));
    browser.in_order(&server, "saved");
    let now = server.file();
    assert!(now.starts_with(DEMO.trim_end()) && now.contains("2024-B-1"), "{now}");
    browser.go(&format!("{}/animal?id=Tamsin", server.origin()));
    assert!(browser.text("main").contains("33 in 100"), "{}", browser.text("main"));
    browser.go(&server.origin());
    browser.tap("a[href='/undo']");
    browser.wait_for("h1", "Take back the last change");
    browser.tap("main form button");
    browser.wait_for("h1", "Open questions");
    assert_eq!(server.file(), DEMO);
    browser.go(&format!("{}/animal?id=Tamsin", server.origin()));
    assert!(browser.text("main").contains("8 in 1,000 (0.8 %)"), "{}", browser.text("main"));
    browser.quiet(&server, "undone");
}

#[test]
fn an_uncertain_call_is_weighed_by_its_slider() {
    let Some(browser) = Browser::here(true) else { return };
    let server = Server::start("colony.toml", DEMO);
    browser.go(&format!("{}/enter?dam=Tamsin&sire=22B-1", server.origin()));
    browser.tap("button[value=add-young]");
    browser.tap("input[name=y0-call][value=either]");
    browser.tap("input[name=y0-first][value=gorse]");
    browser.fill("#y0-first-fit", "0,7");
    browser.fill("#y0-second-fit", "0.3");
    // By its look 7 : 3, and the pairing gives both alike.
    browser.wait_for("#told", "is gorse");
    let before = browser.text("#told");
    browser.run(
        "const slider = document.querySelector('#y0-first-fit').nextElementSibling; \
         slider.value = '0.1'; slider.dispatchEvent(new Event('input', { bubbles: true }));",
    );
    browser.wait_for("#told", "is normal");
    assert_ne!(browser.text("#told"), before);
    let field = browser.run("return document.querySelector('#y0-first-fit').value");
    assert_eq!(field, json!("0.1"));
    browser.in_order(&server, "uncertain");
}

#[test]
fn a_second_tab_and_another_program_are_never_overwritten() {
    let Some(browser) = Browser::here(true) else { return };
    let server = Server::start("colony.toml", DEMO);
    browser.go(&format!("{}/enter", server.origin()));
    enter_clutch(&browser);
    // Meanwhile a second tab saves, and another program after it.
    let other =
        [("id", "other"), ("dam", "Tamsin"), ("sire", "Odo"), ("counts", "1"), ("c0-unsexed", "1")];
    assert_eq!(server.post("/enter", &other, "save").status, 303);
    let theirs = server.file() + "\n# written by hand\n";
    fs::write(server.path("colony.toml"), &theirs).unwrap();
    browser.tap("button[value=save]");
    browser.wait_for("#meanwhile", "The file was changed meanwhile");
    assert!(browser.text("#meanwhile").contains("# written by hand"));
    assert_eq!(server.file(), theirs);
    browser.in_order(&server, "changed meanwhile");
    browser.tap("button[value=save]");
    browser.wait_for("main", "It is written down");
    let now = server.file();
    assert!(
        now.contains("# written by hand") && now.contains("\"other\"") && now.contains("2024-B-1")
    );
}

#[test]
fn the_whole_job_is_done_by_keyboard() {
    let Some(browser) = Browser::here(true) else { return };
    let server = Server::start("colony.toml", DEMO);
    browser.go(&server.origin());
    browser.tab_to(".skip");
    browser.keys(ENTER);
    assert_eq!(browser.run("return document.activeElement.id"), json!("main"));
    browser.tab_to("a[href='/enter']");
    browser.keys(ENTER);
    browser.wait_for("h1", "Enter a clutch");
    browser.tab_to("#dam");
    browser.keys("Tamsin");
    browser.tab_to("#sire");
    browser.keys("Odo");
    browser.tab_to("#c0-unsexed");
    browser.keys("3");
    browser.tab_to("button[value=add-young]");
    browser.keys(ENTER);
    browser.wait_for("main", "Hatchling 1");
    browser.tab_to("input[name=y0-looks][value=teasel]");
    browser.keys(" ");
    browser.wait_for("#told", "Tamsin carries teasel");
    browser.tab_to("button[value=save]");
    browser.keys(ENTER);
    browser.wait_for("main", "It is written down");
    assert!(server.file().contains("looks  = [\"teasel\"]") || server.file().contains("2024-B-1"));
    browser.tab_to("a[href='/undo']");
    browser.keys(ENTER);
    browser.wait_for("h1", "Take back the last change");
    browser.tab_to("main form button");
    browser.keys(ENTER);
    browser.wait_for("h1", "Open questions");
    assert_eq!(server.file(), DEMO);
}

#[test]
fn faults_lead_to_their_fields() {
    let Some(browser) = Browser::here(true) else { return };
    let server = Server::start("colony.toml", DEMO);
    browser.go(&format!("{}/enter", server.origin()));
    browser.fill("#eggs", "six");
    browser.tap("button[value=save]");
    browser.wait_for("#faults", "Choose the dam");
    browser.in_order(&server, "faults");
    browser.tap("#faults a[href='#eggs']");
    assert_eq!(browser.run("return document.activeElement.id"), json!("eggs"));
    let told = browser.run(
        "const field = document.querySelector('#eggs'); return [field.getAttribute('aria-invalid'), \
         document.getElementById(field.getAttribute('aria-describedby')).innerText, field.value];",
    );
    assert_eq!(told, json!(["true", "Eggs: a whole number, such as 6", "six"]));
    assert_eq!(server.file(), DEMO);
}

#[test]
fn everything_works_without_scripts() {
    let Some(browser) = Browser::here(false) else { return };
    let server = Server::start("colony.toml", DEMO);
    browser.go(&format!("{}/enter", server.origin()));
    browser.wait_for("h1", "Enter a clutch");
    enter_clutch(&browser);
    assert_eq!(
        browser.run("return document.querySelectorAll('[type=range]').length"),
        Value::from(0)
    );
    browser.tap("form[action='/enter'] button[value=try]:not(.skip)");
    browser.wait_for("#told", "Tamsin carries teasel: from 8 in 1,000 (0.8 %) to 33 in 100");
    assert_eq!(server.file(), DEMO);
    browser.tap("button[value=save]");
    browser.wait_for("main", "It is written down");
    assert!(server.file().contains("2024-B-1"));
    browser.tap("a[href='/undo']");
    browser.wait_for("h1", "Take back the last change");
    browser.tap("main form button");
    browser.wait_for("h1", "Open questions");
    assert_eq!(server.file(), DEMO);
}
