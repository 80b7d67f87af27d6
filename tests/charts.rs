//! Is every picture whole, legible, safe, and does it say what the answer says?

#![allow(clippy::unwrap_used)]

mod pictures;

use pictures::Answered;
use proveout::presentation::charts::{self, Chart};
use proveout::presentation::json;
use proveout::presentation::wording::percent;
use roxmltree::{Document, Node};

const SVG: &str = "http://www.w3.org/2000/svg";

/// A text and the room it takes: left, top, right, bottom.
struct Text {
    words: String,
    room: [f64; 4],
}

/// The width of a text in a common sans-serif, roughly.
fn width(words: &str, size: f64) -> f64 {
    let em = |c: char| match c {
        'i' | 'j' | 'l' | '.' | ',' | ':' | ';' | '|' | '\'' | ' ' | '\u{a0}' => 0.27,
        'f' | 't' | 'r' | '(' | ')' | '-' | 'I' => 0.34,
        'm' | 'w' | 'M' | 'W' | '%' | '…' => 0.86,
        'A'..='Z' => 0.69,
        '\u{2066}'..='\u{2069}' => 0.0,
        _ => 0.55,
    };
    words.chars().map(em).sum::<f64>() * size
}

fn number(node: &Node<'_, '_>, name: &str) -> f64 {
    node.attribute(name).unwrap().parse().unwrap()
}

fn texts(document: &Document<'_>) -> Vec<Text> {
    let texts = document.descendants().filter(|node| node.has_tag_name((SVG, "text")));
    let text = |node: Node<'_, '_>| {
        let words: String = node.text().unwrap_or_default().to_owned();
        let classes = node.attribute("class").unwrap_or_default();
        let size = match classes {
            _ if classes.contains("pv-head") => 15.0,
            _ if classes.contains("pv-small") => 12.0,
            _ => 13.0,
        };
        let bold = classes.contains("pv-head") || classes.contains("pv-bold");
        let wide = width(&words, size) * if bold { 1.06 } else { 1.0 };
        let [x, y] = [number(&node, "x"), number(&node, "y")];
        let left = match node.attribute("text-anchor") {
            Some("middle") => x - wide / 2.0,
            Some("end") => x - wide,
            _ => x,
        };
        Text { words, room: [left, y - 0.72 * size, left + wide, y + 0.2 * size] }
    };
    texts.map(text).collect()
}

/// What is wrong with how a picture is laid out.
fn faults(chart: &Chart) -> Vec<String> {
    let svg = chart.svg();
    let document = Document::parse(&svg).unwrap();
    let texts = texts(&document);
    let mut faults = Vec::new();
    for (at, one) in texts.iter().enumerate() {
        let [left, top, right, bottom] = one.room;
        if left < -0.5 || top < -0.5 || right > chart.width + 0.5 || bottom > chart.height + 0.5 {
            faults.push(format!("`{}` is cut off: {:?}", one.words, one.room));
        }
        for other in &texts[at + 1..] {
            let [l, t, r, b] = other.room;
            if left < r && l < right && top < b && t < bottom {
                faults.push(format!("`{}` lies on `{}`", one.words, other.words));
            }
        }
    }
    faults
}

#[test]
fn no_text_lies_on_another_or_is_cut_off() {
    let mut drawn = 0;
    for (name, colony) in pictures::all() {
        for (picture, chart) in colony.charts() {
            let faults = faults(&chart);
            assert!(faults.is_empty(), "{name}, {picture}: {}", faults.join("\n"));
            drawn += 1;
        }
    }
    for (number, steps) in [(1, 1), (2, 2), (12, 60), (60, 3)] {
        let faults = faults(&pictures::modes(number, steps));
        assert!(faults.is_empty(), "{number} modes, {steps} steps: {}", faults.join("\n"));
    }
    assert!(drawn > 100, "{drawn} drawn");
}

#[test]
fn texts_on_each_other_are_found() {
    let mut chart = pictures::modes(2, 2);
    chart.height = 40.0;
    assert!(!faults(&chart).is_empty());
}

#[test]
fn every_picture_has_its_words_and_needs_no_network() {
    for (name, colony) in pictures::all() {
        for (picture, chart) in colony.charts() {
            let svg = chart.svg();
            let document = Document::parse(&svg).unwrap();
            let root = document.root_element();
            let of = |tag| root.children().find(|node| node.has_tag_name((SVG, tag))).unwrap();
            assert_eq!(root.attribute("role"), Some("img"), "{name}, {picture}");
            let ids: Vec<_> = ["title", "desc"].map(|tag| of(tag).attribute("id").unwrap()).into();
            assert_eq!(root.attribute("aria-labelledby").unwrap(), ids.join(" "));
            assert!(!of("title").text().unwrap().is_empty(), "{name}, {picture}");
            assert_eq!(svg.matches("http").count(), 1, "only the namespace");
            assert!(!svg.contains("<script"), "{name}, {picture}");
            assert!(!svg.contains('\u{202e}'), "{name}, {picture}");
        }
    }
}

#[test]
fn a_shortened_name_stands_in_full_in_the_description() {
    let colony = Answered::new(&pictures::colony(24, pictures::long));
    let (_, family) = colony.charts().into_iter().find(|(name, _)| name == "family 0").unwrap();
    assert!(family.svg().contains('…'));
    for animal in &colony.colony.animals {
        let id = animal.id.as_deref().unwrap();
        assert!(family.description.contains(id), "{id}");
    }
}

#[test]
fn the_same_answer_gives_the_same_bytes() {
    let draw = || -> Vec<String> {
        let colony = Answered::new(include_str!("../datasets/demo/colony.toml"));
        colony.charts().into_iter().map(|(_, chart)| chart.svg()).collect()
    };
    assert_eq!(draw(), draw());
}

#[test]
fn the_numbers_drawn_are_those_of_the_json() {
    let colony = Answered::new(include_str!("../datasets/demo/colony.toml"));
    let json: serde_json::Value =
        serde_json::from_str(&json::genotypes(&colony.colony, &colony.genotypes)).unwrap();
    let entries = json["genotypes"].as_array().unwrap();
    let gene = colony.colony.find_gene("teasel").unwrap();
    let family = charts::family(&colony.colony, &colony.genotypes, gene, None);
    let mut compared = 0;
    for entry in entries.iter().filter(|entry| entry["gene"] == "teasel") {
        let posterior = entry["posterior"].as_object().unwrap();
        let carries: f64 =
            ["+/teasel", "teasel/teasel"].map(|g| posterior[g].as_f64().unwrap()).iter().sum();
        let animal = entry["animal"].as_str().unwrap();
        let said = family
            .description
            .split("; ")
            .find(|one| one.starts_with(&format!("{animal} (")))
            .unwrap();
        assert!(said.trim_end_matches('.').ends_with(&percent(carries)), "{said}: {carries}");
        for story in &colony.genotypes.stories {
            let of = story.proposition;
            let id = colony.colony.animal(of.animal).id.as_deref();
            if id == Some(animal)
                && of.gene == gene
                && of.copies == proveout::questions::Copies::Any
            {
                assert!((story.after - carries).abs() < 1e-12);
                let ladder = charts::ladder(&colony.colony, story);
                assert!(ladder.title.contains(&percent(carries)), "{}", ladder.title);
                let block = charts::hundred(&colony.colony, story).svg();
                assert!(block.contains(&percent(carries)), "{animal}");
            }
        }
        compared += 1;
    }
    assert_eq!(compared, 13);
}

#[test]
fn the_shares_of_a_hatchling_are_those_of_the_json() {
    let colony = Answered::new(include_str!("../datasets/demo/colony.toml"));
    let json: serde_json::Value =
        serde_json::from_str(&json::identify(&colony.colony, &colony.identify)).unwrap();
    let drawn = charts::hatchlings(&colony.colony, &colony.identify);
    let mut compared = 0;
    for hatchling in json["hatchlings"].as_array().unwrap() {
        let best = hatchling["identities"][0]["probability"].as_f64().unwrap();
        let id = hatchling["id"].as_str().unwrap();
        assert_eq!(drawn.description.contains(&format!("{id}: ")), best < 0.98, "{id}");
        if best < 0.98 {
            assert!(drawn.description.contains(&percent(best)), "{id}");
            compared += 1;
        }
    }
    assert_eq!(compared, 4);
}

fn proveout(words: &str, folder: &std::path::Path) -> assert_cmd::assert::Assert {
    let mut command = assert_cmd::Command::cargo_bin("proveout").unwrap();
    let words = words.split(' ').map(|word| match word.strip_prefix("TO/") {
        Some(name) => folder.join(name).into_os_string(),
        None => word.into(),
    });
    command.current_dir(env!("CARGO_MANIFEST_DIR")).args(words).assert()
}

#[test]
fn the_program_draws_what_is_asked_for_and_says_what_it_cannot_draw() {
    let folder = tempfile::tempdir().unwrap();
    let to = folder.path();
    let demo = "datasets/demo/colony.toml";
    for (words, part) in [
        ("--animal Pernel --gene teasel --chart TO/a.svg", "Pernel carries teasel"),
        ("--animal Tamsin --gene teasel --show what-if --chart TO/a.svg", "other_sire"),
        ("--animal Tamsin --gene teasel --show hundred --chart TO/a.svg", "8 in 1,000"),
        ("--gene hawser --chart TO/a.svg", "hawser in the family of 13"),
        ("--animal 22B-1 --gene hawser --show family --chart TO/a.svg", "hawser in the family of"),
        ("--show expected --clutch 2023-B --chart TO/a.svg", "luck"),
    ] {
        proveout(&format!("genotypes {demo} {words}"), to).success();
        let svg = std::fs::read_to_string(to.join("a.svg")).unwrap();
        assert!(svg.contains(part), "{words}");
        Document::parse(&svg).unwrap();
        std::fs::remove_file(to.join("a.svg")).unwrap();
    }
    for (words, code) in [
        ("--chart TO/b.svg", 2),
        ("--animal Pernel --chart TO/b.jpg", 2),
        ("--animal Hob --show ladder --chart TO/b.svg --gene mere", 2),
        ("--show ladder --chart TO/b.svg", 2),
        ("--show ladder", 2),
        ("--animal Pernel --gene teasel --chart TO/none/b.svg", 4),
    ] {
        proveout(&format!("genotypes {demo} {words}"), to).code(code);
        assert!(!to.join("b.svg").exists(), "{words}");
    }
}

#[test]
fn a_png_is_one_or_says_that_there_is_no_font() {
    let folder = tempfile::tempdir().unwrap();
    let words = "identify datasets/demo/colony.toml --chart TO/young.png";
    let ended = proveout(words, folder.path());
    let output = ended.get_output();
    if !output.status.success() {
        assert!(String::from_utf8_lossy(&output.stderr).contains("no font is installed"));
        println!("SKIPPED: no font here");
        return;
    }
    let bytes = std::fs::read(folder.path().join("young.png")).unwrap();
    assert_eq!(bytes[..8], *b"\x89PNG\r\n\x1a\n");
    // Two pixels to a unit: the picture is 400 units wide.
    assert_eq!(bytes[16..20], 800u32.to_be_bytes());
}
