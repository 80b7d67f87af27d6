//! Is the report whole, safe, in order, small and quick, and does it say what the answers say?

#![allow(clippy::unwrap_used)]

mod pictures;

use std::collections::BTreeSet;
use std::fs;
use std::time::Instant;

use assert_cmd::Command;
use pictures::Answered;
use proveout::presentation::json;
use roxmltree::{Document, Node, ParsingOptions};
use serde_json::Value;

const HTML: &str = "http://www.w3.org/1999/xhtml";

/// The page is well-formed XML as well, so that any reader of XML can judge it.
fn parsed(page: &str) -> Document<'_> {
    let options = ParsingOptions { allow_dtd: true, ..ParsingOptions::default() };
    Document::parse_with_options(page, options).unwrap()
}

fn all<'a>(document: &'a Document<'a>, tag: &'static str) -> impl Iterator<Item = Node<'a, 'a>> {
    document.descendants().filter(move |node| node.has_tag_name((HTML, tag)))
}

fn words(node: Node<'_, '_>) -> String {
    let all: String =
        node.descendants().filter_map(|one| one.text().filter(|_| one.is_text())).collect();
    all.replace('\u{a0}', " ").trim().to_owned()
}

#[test]
fn the_page_is_in_order_and_asks_nobody() {
    for (name, colony) in pictures::all() {
        let page = colony.page();
        let document = parsed(&page);
        let mut level = 0;
        let mut tops = 0;
        for node in document.descendants().filter(|node| node.is_element()) {
            let tag = node.tag_name().name();
            if let Some(own) = tag.strip_prefix('h').and_then(|own| own.parse::<u32>().ok()) {
                assert!(own <= level + 1, "{name}: `{}` jumps to level {own}", words(node));
                tops += u32::from(own == 1);
                level = own;
            }
            assert!(!["script", "iframe", "object", "form"].contains(&tag), "{name}: {tag}");
            for attribute in node.attributes() {
                let (key, value) = (attribute.name(), attribute.value());
                assert!(!key.starts_with("on"), "{name}: {key}");
                let link = matches!(key, "src" | "href" | "action" | "data" | "srcset");
                assert!(!link || value.starts_with('#') || value == "data:,", "{name}: {value}");
            }
        }
        assert_eq!(tops, 1, "{name}");
        let style: String = all(&document, "style").map(words).collect();
        assert!(style.matches("url(").count() == style.matches("url(#").count(), "{name}");
        assert!(!style.contains("@import"), "{name}");
    }
}

#[test]
fn every_place_has_its_own_name_and_every_link_leads_there() {
    for (name, colony) in pictures::all() {
        let page = colony.page();
        let document = parsed(&page);
        let mut ids = BTreeSet::new();
        for id in document.descendants().filter_map(|node| node.attribute("id")) {
            assert!(ids.insert(id), "{name}: {id} stands twice");
        }
        for link in all(&document, "a") {
            let to = link.attribute("href").unwrap().trim_start_matches('#');
            assert!(ids.contains(to), "{name}: {to}");
        }
        for node in document.descendants().filter(|node| node.has_attribute("aria-labelledby")) {
            let mut by = node.attribute("aria-labelledby").unwrap().split(' ');
            assert!(by.all(|id| ids.contains(id)), "{name}");
        }
    }
}

#[test]
fn every_table_has_headings_and_every_row_as_many_cells() {
    let colony = Answered::new(include_str!("../datasets/demo/colony.toml"));
    let page = colony.page();
    let document = parsed(&page);
    let mut tables = 0;
    for table in all(&document, "table") {
        let inside =
            |tag: &'static str| table.descendants().filter(move |n| n.has_tag_name((HTML, tag)));
        let head = inside("thead").next().unwrap();
        let columns = head.descendants().filter(|n| n.has_tag_name((HTML, "th"))).count();
        assert!(inside("th").all(|th| th.has_attribute("scope")));
        assert_eq!(inside("caption").count(), 1);
        for row in inside("tr").skip(1) {
            assert_eq!(row.children().filter(Node::is_element).count(), columns);
        }
        tables += 1;
    }
    assert!(tables > 10, "{tables} tables");
}

#[test]
fn the_chance_of_every_question_is_that_of_the_json() {
    let colony = Answered::new(include_str!("../datasets/demo/colony.toml"));
    let text = json::genotypes(&colony.colony, &colony.genotypes);
    let json: Value = serde_json::from_str(&text).unwrap();
    // "24A-1 carries madder", "24A-1 has two copies of hawser"
    let chance = |heading: &str| -> f64 {
        let entries = json["genotypes"].as_array().unwrap().iter();
        let mut found = entries.filter_map(|entry| {
            let rest = heading.strip_prefix(entry["animal"].as_str()?)?.strip_prefix(' ')?;
            let (allele, copies) = match rest.strip_prefix("carries ") {
                Some(allele) => (allele, 1),
                None => (rest.strip_prefix("has two copies of ")?, 2),
            };
            let posterior = entry["posterior"].as_object()?;
            let of = |name: &str| name.split('/').filter(|one| *one == allele).count();
            let known = posterior.keys().any(|name| of(name) > 0);
            let hits = posterior.iter().filter(|(name, _)| of(name) >= copies);
            known.then(|| hits.map(|(_, chance)| chance.as_f64().unwrap()).sum())
        });
        found.next().unwrap_or_else(|| panic!("`{heading}` is not in the JSON"))
    };
    let page = colony.page();
    let document = parsed(&page);
    let value = |node: Node<'_, '_>| node.attribute("value").unwrap().parse::<f64>().unwrap();
    let mut compared = 0;
    for article in all(&document, "article") {
        let heading = article.descendants().find(|n| n.has_tag_name((HTML, "h3"))).unwrap();
        let said = article.descendants().find(|n| n.has_tag_name((HTML, "data"))).unwrap();
        let (said, known) = (value(said), chance(&words(heading)));
        assert!((said - known).abs() < 1e-12, "{}: {said}, {known}", words(heading));
        // The last row of the working comes to the same.
        let rows = article.descendants().rfind(|n| n.has_tag_name((HTML, "tr"))).unwrap();
        let posterior = rows.descendants().find(|n| n.has_tag_name((HTML, "data"))).unwrap();
        assert!((value(posterior) - known).abs() < 1e-4, "{}", words(rows));
        compared += 1;
    }
    for row in all(&document, "tr")
        .filter(|row| row.ancestors().any(|n| n.attribute("id") == Some("settled")))
    {
        let Some(now) = row.descendants().filter(|n| n.has_tag_name((HTML, "data"))).nth(1) else {
            continue;
        };
        let statement =
            row.descendants().find(|n| n.has_tag_name((HTML, "th"))).map(words).unwrap();
        assert!((value(now) - chance(&statement)).abs() < 1e-12, "{statement}");
        compared += 1;
    }
    assert!(compared >= 12, "{compared} compared");
    for (key, said) in json["assumptions"].as_object().unwrap() {
        let row = all(&document, "tr").find(|row| words(*row).starts_with(key.as_str())).unwrap();
        let shown = row.descendants().find(|n| n.has_tag_name((HTML, "data"))).unwrap();
        assert_eq!(value(shown), said.as_f64().unwrap(), "{key}");
    }
}

#[test]
fn odd_names_are_words_and_nothing_else() {
    let (_, colony) = pictures::all().into_iter().find(|(name, _)| *name == "odd names").unwrap();
    let page = colony.page();
    assert!(
        page.contains("&#60;script&#62;alert(1)&#60;")
            || page.contains("&lt;script&gt;alert(1)&lt;")
    );
    assert!(!page.contains("<script") && !page.contains('\u{202e}'));
    assert_eq!(page.matches('\u{2068}').count(), page.matches('\u{2069}').count());
    let document = parsed(&page);
    assert!(all(&document, "th").any(|th| words(th).contains("<script>alert(1)<")));
}

#[test]
fn the_program_writes_the_same_page_twice_and_says_what_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str| {
        let out = folder.path().join(name);
        let mut command = Command::cargo_bin("proveout").unwrap();
        command.args(["report", "datasets/demo/colony.toml", "--assume", "misread=0.002", "--out"]);
        command.current_dir(env!("CARGO_MANIFEST_DIR")).arg(&out).assert().success().stdout("");
        fs::read_to_string(out).unwrap()
    };
    let page = write("one.html");
    assert_eq!(page, write("two.html"));
    for needed in [
        "no certificate",
        "human genetics",
        "SHA-256 of the records: ",
        "Set for this report: misread=0.002",
        env!("CARGO_PKG_VERSION"),
        "Show the working",
        "super gorse young feed late",
    ] {
        assert!(page.contains(needed), "{needed}");
    }
}

#[test]
fn the_numbers_behind_the_pictures_can_be_had_as_json() {
    let ask = |question: &str| -> Value {
        let mut command = Command::cargo_bin("proveout").unwrap();
        command.args([question, "datasets/demo/colony.toml", "--json"]);
        let output = command.current_dir(env!("CARGO_MANIFEST_DIR")).output().unwrap();
        serde_json::from_slice(&output.stdout).unwrap()
    };
    let (report, genotypes) = (ask("report"), ask("genotypes"));
    assert_eq!(report["log_evidence"], genotypes["log_evidence"]);
    assert_eq!(report["assumptions"], genotypes["assumptions"]);
    let colony = Answered::new(include_str!("../datasets/demo/colony.toml"));
    let page = colony.page();
    for part in ["stories", "what_if", "expected"] {
        assert!(report[part].as_array().unwrap().len() > 3, "{part}");
    }
    // Every story that has a picture is told with the number of the JSON.
    let mut told = 0;
    for story in report["stories"].as_array().unwrap() {
        let said = format!("<data value=\"{}\">", story["probability"].as_f64().unwrap());
        told += usize::from(page.contains(&said));
    }
    assert!(told > 12, "{told} told");
}

#[test]
fn two_hundred_animals_fit_on_a_page_in_time() {
    // The made colony of the benches, cut after 200 animals: 70 that came in, 26 clutches of five.
    let whole = include_str!("../datasets/bench/colony-400x8.toml");
    let cut = whole.match_indices("[[clutch]]").nth(26).unwrap().0;
    let folder = tempfile::tempdir().unwrap();
    let [records, out] = ["colony.toml", "report.html"].map(|name| folder.path().join(name));
    fs::write(&records, &whole[..cut]).unwrap();
    let mut command = Command::cargo_bin("proveout").unwrap();
    let begun = Instant::now();
    command.arg("report").arg(&records).arg("--out").arg(&out).assert().success();
    let took = begun.elapsed();
    let page = fs::read_to_string(out).unwrap();
    println!("{} bytes in {took:?}", page.len());
    assert!(page.contains("130 hatchlings"), "200 animals");
    assert!(page.len() < 3_000_000, "{} bytes", page.len());
    assert!(cfg!(debug_assertions) || took.as_secs_f64() < 2.0, "{took:?}");
    parsed(&page);
}
