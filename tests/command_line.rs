//! The built program as its user meets it: options, exit statuses, files, pipes.

#![allow(clippy::unwrap_used)]

use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::Stdio;

use assert_cmd::Command;
use serde_json::Value;

#[allow(dead_code)]
#[path = "../benches/made/colony.rs"]
mod made;

/// Two parents and six normals, enough to ask about.
const SMALL: &str = r#"
[assume]
background = 0
misread    = 0
[gene.furrow]
inheritance = "recessive"
[gene.lustre]
inheritance = "dominant"
[[animal]]
id      = "Agathe"
sex     = "female"
looks   = ["normal"]
sold_as = ["66% het furrow"]
[[animal]]
id    = "Corin"
sex   = "male"
looks = ["furrow"]
[[clutch]]
id      = "2023-A"
dam     = "Agathe"
sire    = "Corin"
hatched = 2023-07-01
[[clutch.count]]
looks  = ["normal"]
number = 5
[[clutch.hatchling]]
id    = "23-1"
looks = ["normal"]
[[clutch]]
id      = "2024-A"
dam     = "unknown"
sire    = "Corin"
hatched = 2024-07-01
[[clutch.hatchling]]
id    = "24-1"
looks = ["normal"]
"#;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn proveout() -> Command {
    let mut command = Command::cargo_bin("proveout").unwrap();
    command.current_dir(root());
    command
}

fn folder_with(name: &str, text: impl AsRef<[u8]>) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    fs::write(&path, text).unwrap();
    (folder, path)
}

struct Ended {
    status: i32,
    out: String,
    err: String,
}

fn run(command: &mut Command) -> Ended {
    let output = command.output().unwrap();
    Ended {
        status: output.status.code().expect("ended by itself"),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

/// Asks a question about [`SMALL`].
fn ask(question: &str, options: &[&str]) -> Ended {
    run(proveout().arg(question).arg("-").args(options).write_stdin(SMALL))
}

fn animals(json: &str) -> Vec<(String, String)> {
    let json: Value = serde_json::from_str(json).unwrap();
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    let entries = json["genotypes"].as_array().unwrap();
    entries.iter().map(|entry| (text(&entry["animal"]), text(&entry["gene"]))).collect()
}

// ------------------------------------------------------------------------------ exit statuses

#[test]
fn an_answer_ends_with_status_0() {
    for question in ["check", "genotypes", "identify", "conflicts"] {
        let ended = ask(question, &[]);
        assert_eq!(ended.status, 0, "{question}: {}", ended.err);
        assert!(!ended.out.is_empty() && ended.err.is_empty(), "{question}: {}", ended.err);
    }
}

#[test]
fn wrong_records_end_with_status_1_and_say_where() {
    let text = SMALL.replace("sire    = \"Corin\"", "sire    = \"corin\"");
    let ended = run(proveout().args(["genotypes", "-"]).write_stdin(text));
    assert_eq!(ended.status, 1);
    assert!(ended.out.is_empty());
    assert!(ended.err.contains("no animal is called `corin`"), "{}", ended.err);
    assert!(ended.err.contains("did you mean `Corin`?"), "{}", ended.err);
    assert!(ended.err.contains("2 errors in standard input"), "{}", ended.err);
}

#[test]
fn impossible_records_end_with_status_1_and_name_the_records() {
    let text = SMALL.replace("looks   = [\"normal\"]\nsold_as = [\"66%", "sold_as = [\"100%");
    let text = text.replace("[\"100% het furrow\"]", "[\"furrow\"]");
    for question in ["genotypes", "identify"] {
        let ended = run(proveout().args([question, "-"]).write_stdin(text.clone()));
        assert_eq!(ended.status, 1, "{}", ended.out);
        assert!(ended.err.contains("cannot all be true"), "{}", ended.err);
        assert!(ended.err.contains("Agathe"), "{}", ended.err);
    }
}

#[test]
fn what_is_not_computed_yet_is_refused_with_status_1() {
    let lethal = "sex_linked = true\nlethal = \"two copies\"\n";
    let text = format!(
        "sex_system = \"ZW\"\n[gene.rime]\ninheritance = \"dominant\"\n{lethal}\
         [gene.sedge]\ninheritance = \"dominant\"\n{lethal}\
         [[animal]]\nid = \"Agathe\"\nlooks = []\n"
    );
    let ended = run(proveout().args(["check", "-"]).write_stdin(text));
    assert_eq!(ended.status, 1, "{}", ended.err);
    assert!(ended.err.contains("understood but not computed yet"), "{}", ended.err);
}

#[test]
fn a_wrong_command_line_ends_with_status_2() {
    for words in [
        &["genotype", "x.toml"][..],
        &["genotypes"],
        &["genotypes", "x.toml", "--loud"],
        &["genotypes", "x.toml", "--memory", "plenty"],
        &["new"],
        &[],
    ] {
        let ended = run(proveout().args(words));
        assert_eq!(ended.status, 2, "{words:?}");
        assert!(ended.out.is_empty() && !ended.err.is_empty(), "{words:?}");
    }
}

#[test]
fn a_file_that_cannot_be_read_ends_with_status_4() {
    let folder = tempfile::tempdir().unwrap();
    for path in [folder.path().join("nowhere.toml"), folder.path().to_owned()] {
        let ended = run(proveout().arg("check").arg(&path));
        assert_eq!(ended.status, 4, "{}: {}", path.display(), ended.err);
        assert!(ended.err.starts_with("error: cannot read "), "{}", ended.err);
    }
}

#[test]
fn an_answer_never_replaces_the_records_it_is_about() {
    for question in ["genotypes", "export", "report"] {
        let (_folder, path) = folder_with("colony.toml", SMALL);
        let ended = run(proveout().arg(question).arg(&path).arg("--out").arg(&path));
        assert_eq!(ended.status, 2, "{question}: {}", ended.err);
        assert!(ended.err.contains("choose another name"), "{}", ended.err);
        assert_eq!(fs::read_to_string(&path).unwrap(), SMALL);
    }
}

#[test]
fn too_little_memory_ends_with_status_3_and_says_how_much_it_takes() {
    let demo = ["genotypes", "datasets/demo/colony.toml", "--exact", "--memory", "1K"];
    let ended = run(proveout().args(demo));
    assert_eq!(ended.status, 3, "{}", ended.err);
    assert!(ended.err.contains("an exact answer needs about "), "{}", ended.err);
    assert!(ended.out.is_empty());
}

// ------------------------------------------------------------------------- narrowing, assuming

#[test]
fn animals_genes_and_clutches_narrow_the_answer() {
    let all = animals(&ask("genotypes", &["--json"]).out);
    assert_eq!(all.len(), 8, "four animals with an id at two genes");
    let one = animals(&ask("genotypes", &["--json", "--animal", "Agathe"]).out);
    assert_eq!(one.len(), 2);
    assert!(one.iter().all(|(animal, _)| animal == "Agathe"));
    let one = animals(&ask("genotypes", &["--json", "--gene", "lustre"]).out);
    assert_eq!(one.len(), 4);
    assert!(one.iter().all(|(_, gene)| gene == "lustre"));
    let one = animals(&ask("genotypes", &["--json", "--clutch", "2024-A"]).out);
    assert!(one.iter().all(|(animal, _)| animal == "Corin" || animal == "24-1"), "{one:?}");
    let two = ["--json", "--animal", "Agathe", "--animal", "Corin", "--gene", "furrow"];
    assert_eq!(animals(&ask("genotypes", &two).out).len(), 2);
}

#[test]
fn narrowing_changes_no_number() {
    let number = |options: &[&str]| {
        let json: Value = serde_json::from_str(&ask("genotypes", options).out).unwrap();
        let entry = json["genotypes"]
            .as_array()
            .unwrap()
            .iter()
            .find(|entry| entry["animal"] == "Agathe" && entry["gene"] == "furrow");
        entry.unwrap()["posterior"]["+/furrow"].as_f64().unwrap()
    };
    let all = number(&["--json"]);
    assert!((all - 1.0 / 33.0).abs() < 1e-15, "{all}");
    assert_eq!(all, number(&["--json", "--animal", "Agathe", "--gene", "furrow"]));
}

#[test]
fn names_that_are_not_there_give_a_hint() {
    for (option, name, near) in [
        ("--animal", "agathe", "Agathe"),
        ("--gene", "furow", "furrow"),
        ("--clutch", "2024A", "2024-A"),
    ] {
        for question in ["genotypes", "identify"] {
            let ended = ask(question, &[option, name]);
            assert_eq!(ended.status, 2, "{option}");
            let what = option.trim_start_matches('-');
            let want = format!("error: no {what} is called `{name}`; did you mean `{near}`?\n");
            assert_eq!(ended.err, want);
        }
    }
}

#[test]
fn an_assumption_of_the_command_line_goes_over_that_of_the_file() {
    let ended = ask("check", &["--json", "--assume", "misread=0.02", "--assume", " trust = 0.9"]);
    let json: Value = serde_json::from_str(&ended.out).unwrap();
    assert_eq!(json["assumptions"]["misread"], 0.02);
    assert_eq!(json["assumptions"]["trust"], 0.9);
    assert_eq!(json["assumptions"]["background"], 0.0);
}

#[test]
fn assumptions_that_make_no_sense_are_refused() {
    for (assumption, said) in [
        ("misread", "--assume wants KEY=VALUE, not `misread`"),
        ("mis_read=0", "no assumption is called `mis_read`; did you mean `misread`?"),
        ("misread=much", "misread is a chance from 0 to 1, not `much`"),
        ("misread=1.5", "misread is a chance from 0 to 1, not `1.5`"),
        ("misread=NaN", "misread is a chance from 0 to 1, not `NaN`"),
    ] {
        let ended = ask("genotypes", &["--assume", assumption]);
        assert_eq!(ended.status, 2, "{assumption}");
        assert!(ended.err.contains(said), "{assumption}: {}", ended.err);
    }
}

// -------------------------------------------------------------------------------- JSON, formats

#[test]
fn errors_are_json_when_json_is_asked_for() {
    let text = SMALL.replace("sire    = \"Corin\"", "sire    = \"corin\"");
    let ended = run(proveout().args(["genotypes", "-", "--json"]).write_stdin(text));
    assert_eq!(ended.status, 1);
    assert!(ended.err.is_empty());
    let json: Value = serde_json::from_str(&ended.out).unwrap();
    assert_eq!(json["schema"], 1);
    let first = &json["errors"][0];
    assert_eq!(first["message"], "no animal is called `corin`");
    assert_eq!(first["help"], "did you mean `Corin`?");
    assert_eq!(first["text"], "sire    = \"corin\"");
    assert!(first["line"].as_u64() > Some(1) && first["column"].as_u64() > Some(1));

    let ended = run(proveout().args(["genotypes", "nowhere.toml", "--json"]));
    assert_eq!(ended.status, 4);
    let json: Value = serde_json::from_str(&ended.out).unwrap();
    assert_eq!(json["errors"][0]["line"], Value::Null);
}

#[test]
fn the_notation_is_told_by_the_name_by_the_first_character_or_by_an_option() {
    let json = r#" { "animal": [ { "id": "Agathe" } ] }"#;
    let ended = run(proveout().args(["check", "-"]).write_stdin(json));
    assert_eq!(ended.status, 0, "{}", ended.err);
    let (_folder, path) = folder_with("colony.json", json);
    assert_eq!(run(proveout().arg("check").arg(path)).status, 0);
    let (_folder, path) = folder_with("colony.toml", json);
    assert_eq!(run(proveout().arg("check").arg(&path)).status, 1);
    assert_eq!(run(proveout().arg("check").arg(path).args(["--format", "json"])).status, 0);
}

#[test]
fn the_same_records_give_the_same_bytes() {
    for question in ["check", "genotypes", "identify", "conflicts"] {
        for options in [&[][..], &["--json"]] {
            assert_eq!(ask(question, options).out, ask(question, options).out);
        }
    }
}

// --------------------------------------------------------------------------------------- files

#[test]
fn new_writes_a_file_that_check_and_genotypes_understand() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("colony.toml");
    let ended = run(proveout().arg("new").arg(&path));
    assert_eq!(ended.status, 0, "{}", ended.err);
    assert!(ended.out.contains("proveout check"));
    let written = fs::read_to_string(&path).unwrap();
    assert_eq!(written, proveout::records::STARTER);
    for question in ["check", "genotypes", "identify", "conflicts"] {
        let ended = run(proveout().arg(question).arg(&path));
        assert_eq!(ended.status, 0, "{question}: {}", ended.err);
        assert_eq!(ended.err, "", "{question}");
    }
}

#[test]
fn new_never_overwrites() {
    let (folder, path) = folder_with("colony.toml", "mine");
    let ended = run(proveout().arg("new").arg(&path));
    assert_eq!(ended.status, 4);
    assert!(ended.err.contains("exists already"), "{}", ended.err);
    assert_eq!(fs::read_to_string(&path).unwrap(), "mine");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1, "nothing is left beside it");
    assert_eq!(run(proveout().arg("new").arg(folder.path())).status, 4);
    assert_eq!(run(proveout().arg("new").arg(folder.path().join("no/such.toml"))).status, 4);
}

#[test]
fn out_writes_the_whole_answer_or_nothing() {
    let (folder, path) = folder_with("answer.txt", "old");
    let out = |question: &str, text: &str| {
        let mut command = proveout();
        run(command.args([question, "-", "--out"]).arg(&path).write_stdin(text.to_owned()))
    };
    let ended = out("genotypes", "[[animal]]\nid = 1");
    assert_eq!(ended.status, 1);
    assert_eq!(fs::read_to_string(&path).unwrap(), "old", "a failure leaves the old answer");
    let ended = out("genotypes", SMALL);
    assert_eq!((ended.status, ended.out.as_str()), (0, ""));
    assert_eq!(fs::read_to_string(&path).unwrap(), ask("genotypes", &[]).out);
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1, "nothing is left beside it");
    let nowhere = folder.path().join("no/such/folder.txt");
    let ended = run(proveout().args(["check", "-", "--out"]).arg(nowhere).write_stdin(SMALL));
    assert_eq!(ended.status, 4, "{}", ended.err);
}

#[test]
fn a_closed_pipe_ends_quietly() {
    let program = Command::cargo_bin("proveout").unwrap().get_program().to_owned();
    for words in [
        &["genotypes", "datasets/bench/colony-400x8.toml", "--json"][..],
        &["genotypes", "datasets/demo/colony.toml"],
        &["--help"],
    ] {
        let mut child = std::process::Command::new(&program)
            .args(words)
            .current_dir(root())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        // Nobody reads: as in `proveout … | head -0`.
        drop(child.stdout.take());
        let mut err = String::new();
        child.stderr.take().unwrap().read_to_string(&mut err).unwrap();
        let status = child.wait().unwrap();
        // A slow machine may be told that work goes on.
        assert!(err.is_empty() || err.starts_with("working out"), "{words:?}: {err}");
        assert_eq!(status.code(), Some(0), "{words:?}");
    }
}

#[test]
fn there_is_no_colour_where_nobody_can_see_it() {
    let wrong = run(proveout().args(["check", "-"]).write_stdin("what = 1"));
    assert_eq!(wrong.status, 1);
    let no_colour = run(proveout().env("NO_COLOR", "1").args(["check", "-"]).write_stdin("a = 1"));
    let help = run(proveout().arg("--help"));
    let answer = ask("genotypes", &[]);
    for ended in [wrong, no_colour, help, answer] {
        assert!(!ended.out.contains('\u{1b}') && !ended.err.contains('\u{1b}'));
    }
}

// ---------------------------------------------------------------------------------------- help

#[test]
fn help_begins_with_examples() {
    for words in [&["--help"][..], &["-h"], &["genotypes", "--help"], &["identify", "--help"]] {
        let ended = run(proveout().args(words));
        assert_eq!(ended.status, 0);
        assert!(ended.out.starts_with("Examples:\n"), "{words:?}: {}", ended.out);
        assert!(ended.out.contains("proveout genotypes") || ended.out.contains("identify"));
    }
    let version = run(proveout().arg("--version"));
    assert_eq!(version.out, format!("proveout {}\n", env!("CARGO_PKG_VERSION")));
}

// ----------------------------------------------------------------------- files nobody should send

/// Whatever is sent, the program ends by itself, says what is wrong, and does not fault.
fn refuses(name: &str, text: impl AsRef<[u8]>, said: &str) {
    let (_folder, path) = folder_with(name, text);
    for question in ["check", "genotypes"] {
        let ended = run(proveout().arg(question).arg(&path));
        assert_eq!(ended.status, 1, "{question} {name}: {}", ended.err);
        assert!(ended.err.contains(said), "{name}: {}", &ended.err[..ended.err.len().min(2000)]);
        assert!(ended.err.len() < 1_000_000, "{name}: {} bytes of messages", ended.err.len());
    }
}

#[test]
fn an_empty_file_is_answered_or_refused_in_words() {
    for name in ["empty.toml", "empty.json"] {
        let (_folder, path) = folder_with(name, "");
        let ended = run(proveout().arg("check").arg(path));
        assert!([0, 1].contains(&ended.status), "{name}: {}", ended.status);
        assert!(!(ended.out.is_empty() && ended.err.is_empty()));
    }
}

#[test]
fn fifty_megabytes_are_refused_quickly() {
    refuses("large.toml", "# a line of nothing at all, many times\n".repeat(1_350_000), "MiB");
}

#[test]
fn deep_brackets_are_refused() {
    let deep = 10_000;
    refuses("deep.toml", format!("x = {}{}", "[".repeat(deep), "]".repeat(deep)), "error");
    refuses("deep.json", format!("{}{}", "[".repeat(deep), "]".repeat(deep)), "error");
    refuses("braces.json", "{\"a\":".repeat(deep), "error");
    refuses("tables.toml", format!("x = {}", "{a=".repeat(deep)), "error");
}

#[test]
fn bytes_that_are_not_utf8_are_refused_where_they_stand() {
    refuses("latin.toml", b"title = \"Caf\xe9\"\n", "UTF-8");
    refuses("latin.json", b"{\"title\": \"Caf\xe9\"}", "UTF-8");
    refuses("zip.toml", b"PK\x03\x04\x00\xff\xfe\x80", "UTF-8");
}

#[test]
fn rubbish_is_refused() {
    refuses("a.toml", "]]]]", "error");
    refuses("b.toml", "\u{0}\u{0}\u{0}", "error");
    refuses("c.json", "{\"animal\": [[[1]]]}", "error");
    refuses("d.toml", "[[clutch]]\n".repeat(3000), "error");
}

// ------------------------------------------------------------------------------- a large colony

#[test]
fn four_hundred_animals_at_eight_genes_are_answered() {
    let path = Path::new("datasets/bench/colony-400x8.toml");
    let text = made::records(1, made::Loops::Relatives);
    if std::env::var_os("BLESS").is_some() {
        fs::write(root().join(path), &text).unwrap();
    }
    let kept = fs::read_to_string(root().join(path)).unwrap().replace("\r\n", "\n");
    assert!(kept == text, "{} is not what benches/made/colony.rs makes", path.display());
    let ended = run(proveout().arg("genotypes").arg(path).arg("--json"));
    assert_eq!(ended.status, 0, "{}", ended.err);
    let json: Value = serde_json::from_str(&ended.out).unwrap();
    assert_eq!(json["method"], "exact");
    let entries = json["genotypes"].as_array().unwrap();
    assert_eq!(entries.len(), made::ANIMALS * made::GENES);
    for entry in entries {
        let chances = entry["posterior"].as_object().unwrap();
        let sum: f64 = chances.values().map(|chance| chance.as_f64().unwrap()).sum();
        assert!((sum - 1.0).abs() < 1e-12, "{entry}");
    }
}

#[test]
fn the_demo_answers_every_question() {
    for question in ["check", "genotypes", "identify", "conflicts"] {
        let ended = run(proveout().arg(question).arg("datasets/demo/colony.toml"));
        assert_eq!((ended.status, ended.err.as_str()), (0, ""), "{question}");
        let long = ended.out.lines().find(|line| line.chars().count() > 96);
        assert_eq!(long, None, "{question}");
    }
}
