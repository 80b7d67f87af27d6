//! The report in a browser, on a telephone: whole, quiet, and without a word to the network.
//!
//! Says so and passes where there is no Chromium with its driver, but fails under `CI=true`.

#![allow(clippy::unwrap_used)]

#[path = "browser/driver.rs"]
mod driver;
mod pictures;

use std::fs;
use std::path::Path;

use driver::Browser;
use serde_json::{Value, json};

fn browser() -> Option<Browser> {
    Browser::here(true)
}

#[test]
fn every_report_is_whole_on_a_telephone_and_asks_nobody() {
    let Some(browser) = browser() else { return };
    let folder = tempfile::tempdir().unwrap();
    let mut pages: Vec<(String, String)> = pictures::all()
        .into_iter()
        .map(|(name, colony)| (name.to_string(), colony.page()))
        .collect();
    for kept in ["report.html", "new-look.html"] {
        let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("reports/demo").join(kept);
        pages.push((kept.to_owned(), fs::read_to_string(file).unwrap()));
    }
    for (at, (name, page)) in pages.into_iter().enumerate() {
        let file = folder.path().join(format!("report-{at}.html"));
        fs::write(&file, page).unwrap();
        browser.open(&file);
        let faults = browser.run(include_str!("browser/page.js"));
        assert_eq!(faults, json!([]), "{name}: {faults:#}");
        let logged = browser.log("browser");
        assert!(logged.is_empty(), "{name}: {logged:?}");
        let asked = browser.asked_for();
        let own = |address: &String| address.starts_with("file:") && address.ends_with(".html");
        assert!(asked.iter().any(own), "{name}: the log has no requests: {asked:?}");
        // An empty window of the browser loads pages of its own (`chrome:`), not from the network.
        let kept = ["data:", "chrome:"];
        let at_home = |one: &&String| own(one) || kept.iter().any(|kind| one.starts_with(kind));
        let alien = asked.iter().find(|one| !at_home(one));
        assert!(alien.is_none(), "{name}: {alien:?}");
    }
}

#[test]
fn faults_of_a_page_are_found() {
    let Some(browser) = browser() else { return };
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("bad.html");
    let page = "<!DOCTYPE html><meta name=viewport content='width=device-width'><title>t</title>\
        <h1>a</h1><h3>b</h3><img><div style='width:900px'>wide</div><svg width=200 height=50>\
        <text x=10 y=30>one</text><text x=12 y=31>other</text></svg>\
        <script>console.error('x'); fetch('http://127.0.0.1:9/');</script>";
    fs::write(&file, page).unwrap();
    browser.open(&file);
    let faults = browser.run(include_str!("browser/page.js"));
    let faults: Vec<&str> = faults.as_array().unwrap().iter().filter_map(Value::as_str).collect();
    for fault in
        ["wide in a window", "jumps to level 3", "image has no text", "no title", "lies on"]
    {
        assert!(faults.iter().any(|one| one.contains(fault)), "{fault} in {faults:?}");
    }
    assert!(!browser.log("browser").is_empty());
    assert!(browser.asked_for().iter().any(|one| one.starts_with("http:")));
}

#[test]
fn colours_follow_the_reader() {
    let Some(browser) = browser() else { return };
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("report.html");
    let (_, demo) = pictures::all().into_iter().find(|(name, _)| *name == "the demo").unwrap();
    fs::write(&file, demo.page()).unwrap();
    browser.open(&file);
    let colours = |value: &str| {
        let feature = json!([{ "name": "prefers-color-scheme", "value": value }]);
        browser.own("Emulation.setEmulatedMedia", json!({ "features": feature }));
        browser.run(
            "const of = (what, key) => getComputedStyle(document.querySelector(what))[key];\
             return [of('.pv-ink', 'fill'), of('.pv-ground', 'fill'), of('body', 'backgroundColor')];",
        )
    };
    assert_eq!(
        colours("light"),
        json!(["rgb(26, 26, 26)", "rgb(255, 255, 255)", "rgb(255, 255, 255)"])
    );
    assert_eq!(
        colours("dark"),
        json!(["rgb(240, 240, 240)", "rgb(22, 24, 27)", "rgb(22, 24, 27)"])
    );
}
