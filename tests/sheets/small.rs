//! Small sheets, one matter each.

use std::fs;

use proveout::records::{Says, Sex};

use super::{Desk, GENES, rows};

/// A mapping for sheets with these headings, without questions.
const MAPPING: &str = "\
[dates]
\".\" = \"day first\"
[columns]
id = \"animal\"
sex = \"sex\"
hatched = \"hatched\"
dam = \"dam\"
sire = \"sire\"
clutch = \"clutch\"
eggs = \"eggs\"
looks = \"looks and sold as\"
number = \"number\"
";

fn desk(sheet: &str, more: &str) -> Desk {
    let desk = Desk::with(sheet, Some(GENES));
    fs::write(desk.path("sheet.mapping.toml"), format!("{more}{MAPPING}")).unwrap();
    desk
}

#[test]
fn a_sheet_in_each_encoding_gives_the_same_file() {
    let text = "id,sex,looks\nKäthe,male,teasel\nJörgße,female,\"gorse,\nhet hawser\"\n";
    let utf16 = |little: bool| {
        let units = std::iter::once(0xfeff).chain(text.encode_utf16());
        let bytes = move |unit: u16| if little { unit.to_le_bytes() } else { unit.to_be_bytes() };
        units.flat_map(bytes).collect::<Vec<u8>>()
    };
    let sheets = [
        text.as_bytes().to_vec(),
        format!("\u{feff}{text}").into_bytes(),
        text.replace('\n', "\r\n").into_bytes(),
        utf16(true),
        utf16(false),
        encoding_rs::WINDOWS_1252.encode(text).0.into_owned(),
    ];
    let mut written = Vec::new();
    for bytes in sheets {
        let desk = desk("", "");
        fs::write(desk.path("sheet.csv"), bytes).unwrap();
        let ended = desk.import(&[]);
        assert_eq!(ended.status, 0, "{}{}", ended.out, ended.err);
        written.push(desk.text("colony.toml"));
    }
    assert!(written[0].contains("Jörgße") && written[0].contains("het hawser"));
    assert!(written.windows(2).all(|pair| pair[0] == pair[1]));
}

#[test]
fn dates_that_can_be_read_both_ways_are_asked_about() {
    let sheet =
        "id,sex,hatched,looks\nWick,male,04/05/2021,normal\nLorn,female,07/08/2021,normal\n";
    let desk = Desk::with(sheet, Some(GENES));
    assert_eq!(desk.import(&[]).status, 0);
    let asked = desk.import(&[]);
    assert_eq!(asked.status, 1);
    assert!(asked.out.contains("day first"), "{}", asked.out);
    assert_eq!(desk.text("colony.toml"), GENES);
    desk.answer(&[("\"/\" = \"?\"", "\"/\" = \"month first\"")]);
    assert_eq!(desk.import(&[]).status, 0);
    let colony = desk.colony();
    let wick = colony.animal(colony.find_animal("Wick").unwrap());
    assert_eq!(wick.hatched.unwrap().to_string(), "2021-04-05");

    // One date that exists in one order only settles it.
    let desk = Desk::with(format!("{sheet}Pia,female,31/12/2020,normal\n"), Some(GENES));
    desk.import(&[]);
    assert_eq!(desk.import(&[]).status, 0);
    let colony = desk.colony();
    let wick = colony.animal(colony.find_animal("Wick").unwrap());
    assert_eq!(wick.hatched.unwrap().to_string(), "2021-05-04");
}

#[test]
fn what_contradicts_the_file_is_reported_and_what_it_lacks_is_filled_in() {
    let sheet = "id,sex,hatched,looks\nAlte,male,,\n";
    let desk = desk(sheet, "");
    let (status, json) = desk.json(&["--partial"]);
    let (wrong, _) = rows(&json);
    assert_eq!(status, 1);
    assert!(wrong[&2].contains("female in the file, and male here"), "{wrong:?}");
    assert_eq!(desk.text("colony.toml"), GENES);

    fs::write(desk.path("sheet.csv"), "id,sex,hatched,looks\nAlte,,3.4.2015,gorse\n").unwrap();
    let (status, json) = desk.json(&[]);
    assert_eq!((status, &json["imported"]["filled"]), (0, &serde_json::json!(2)), "{json:#}");
    let text = desk.text("colony.toml");
    assert!(text.starts_with(GENES.trim_end()), "{text}");
    assert!(text.contains("2015-04-03") && text.contains("[\"gorse\"]"), "{text}");
    assert_eq!(desk.json(&[]).0, 0);
    assert_eq!(desk.text("colony.toml"), text);
}

#[test]
fn new_rows_of_a_clutch_that_the_file_has_go_into_it() {
    let first = "id,sex,dam,sire,clutch,eggs,looks,number\nWick,male,,,,,teasel,\n\
        A1,male,Alte,Wick,A,,normal,\n,,,,A,,gorse,2\n";
    let desk = desk(first, "");
    assert_eq!(desk.json(&[]).0, 0);
    fs::write(
        desk.path("sheet.csv"),
        format!("{first}A2,female,,,A,,gorse,\n,,,,A,,teasel,1.1.0\n"),
    )
    .unwrap();
    let (status, json) = desk.json(&[]);
    assert_eq!((status, &json["imported"]["hatchlings"]), (0, &serde_json::json!(1)), "{json:#}");
    let colony = desk.colony();
    let clutch = colony.clutch(colony.find_clutch("A").unwrap());
    assert_eq!((clutch.hatchlings.len(), clutch.counts.len(), clutch.recorded()), (2, 2, 6));
    // As many again of the same look contradict what is there.
    fs::write(desk.path("sheet.csv"), first.replace("gorse,2", "gorse,3")).unwrap();
    let (_, json) = desk.json(&[]);
    assert!(rows(&json).0[&4].contains("2 such young in the file, and 3 here"), "{json:#}");
}

#[test]
fn a_word_that_the_mapping_does_not_know_gets_the_nearest_name() {
    let desk = desk("id,sex,looks\nWick,male,tesel\nLorn,female,het hawzer\n", "");
    let (status, json) = desk.json(&[]);
    assert_eq!(status, 1);
    let helps: Vec<&str> =
        json["rows"].as_array().unwrap().iter().map(|row| row["help"].as_str().unwrap()).collect();
    assert_eq!(helps, ["did you mean `teasel`?", "did you mean `hawser`?"]);
}

#[test]
fn columns_of_counts_and_clutches_without_names_are_understood() {
    let sheet = "id,sex,dam,sire,hatched,looks,normals,teasel\nWick,male,,,,teasel,,\n\
        ,,Alte,Wick,1.6.2024,,3,1.2\nA1,male,Alte,Wick,1.6.2024,normal het teasel,,\n";
    let more = "[sheet]\nunnamed_clutches = \"join\"\nstatements_on_young = \"leave away\"\n";
    let desk = desk(sheet, more);
    let mapping = desk.text("sheet.mapping.toml")
        + "normals = \"count of normal\"\nteasel = \"count of teasel\"\n";
    fs::write(desk.path("sheet.mapping.toml"), mapping).unwrap();
    let (status, json) = desk.json(&[]);
    assert_eq!(status, 0, "{json:#}");
    let colony = desk.colony();
    let clutch = &colony.clutches[0];
    assert_eq!(clutch.id, "Alte x Wick 2024-06-01");
    let numbers: Vec<[u32; 3]> = clutch.counts.iter().map(|count| count.number).collect();
    assert_eq!((numbers, clutch.hatchlings.len()), (vec![[0, 0, 3], [1, 2, 0]], 1));
}

#[test]
fn a_new_file_begins_with_the_genes_of_the_mapping() {
    let desk = Desk::with("id,sex,looks\nWick,m,teasel\nLorn,f,67% het teasel\n", None);
    assert_eq!(desk.import(&[]).status, 0);
    assert_eq!(desk.import(&[]).status, 1, "how teasel is inherited is open");
    assert!(!desk.path("colony.toml").exists());
    desk.answer(&[("inheritance = \"?\"", "inheritance = \"recessive\"")]);
    let tried = desk.import(&["--dry-run"]);
    assert_eq!(tried.status, 0, "{}", tried.out);
    assert!(!desk.path("colony.toml").exists());
    assert_eq!(desk.import(&[]).status, 0);
    let colony = desk.colony();
    let lorn = colony.animal(colony.find_animal("Lorn").unwrap());
    assert_eq!(lorn.sex, Some(Sex::Female));
    assert_eq!(lorn.statements[0].says, Says::Het { allele: 1, chance: 2.0 / 3.0 });
}

#[test]
fn what_cannot_be_begun_ends_in_words() {
    let desk = desk("PK\u{3}\u{4}", "");
    let ended = desk.import(&[]);
    assert_eq!(ended.status, 4);
    assert!(ended.err.contains("workbook"), "{}", ended.err);
    fs::write(desk.path("sheet.csv"), "id,looks\nWick,normal\n").unwrap();
    let ended = desk.run(&["import", "sheet.csv", "--into", "colony.json"]);
    assert_eq!(ended.status, 2, "{}", ended.err);
    assert_eq!(desk.run(&["import", "-", "--into", "colony.toml"]).status, 2);
    fs::write(desk.path("colony.toml"), "[[animal]]\nid = 3\n").unwrap();
    let ended = desk.import(&[]);
    assert_eq!(ended.status, 1);
    assert!(ended.err.contains("colony.toml:2"), "{}", ended.err);
}

#[test]
fn headings_within_the_sheet_are_passed_over_when_the_mapping_says_so() {
    let sheet = "id,sex,looks\nSeason 2023,,\nWick,male,teasel\nTotal,1,\n";
    let desk = desk(sheet, "");
    let (wrong, _) = rows(&desk.json(&[]).1);
    assert_eq!(wrong.keys().copied().collect::<Vec<_>>(), [2, 4]);
    let mapping = desk.text("sheet.mapping.toml");
    let skip = format!("[sheet]\nskip = [\"season\", \"Total\"]\n{mapping}");
    fs::write(desk.path("sheet.mapping.toml"), skip).unwrap();
    let (status, json) = desk.json(&[]);
    assert_eq!((status, &json["imported"]["animals"]), (0, &serde_json::json!(1)), "{json:#}");
}

#[test]
fn quotation_marks_that_swallow_letters_or_rows_are_told_and_nothing_is_written() {
    for (line, told) in [
        ("Wick,male,\"gor\"se\"\n", "write `\"\"`"),
        ("Wick,male,\"gorse\nFinch,male,gorse\"\n", "whole rows"),
        ("Wick,male,\"gorse\n", "never closed"),
    ] {
        let desk = desk(&format!("id,sex,looks\nLorn,female,normal\n{line}"), "");
        let ended = desk.import(&[]);
        let words = format!("{}{}", ended.out, ended.err);
        assert!(ended.status != 0 && words.contains(told) && words.contains("row 3"), "{words}");
        assert_eq!(desk.text("colony.toml"), GENES);
    }
    let good = desk("id,sex,looks\n\"Wi\"\"ck\",male,normal\n", "");
    let words = good.import(&[]);
    // A quotation mark in a name is the reader's business, not the sheet's.
    assert!(format!("{}{}", words.out, words.err).contains("Wi\"ck"), "{}", words.out);
}

#[test]
fn a_name_with_a_backslash_can_be_a_parent_and_a_time_of_day_is_cut_off() {
    let sheet = "id,sex,hatched,dam,sire,clutch,looks\nA\\B,female,,,,,normal\nWick,male,,,,,normal\n\
        Y1,male,2024-02-02 12:30:00,A\\B,Wick,C1,normal\n";
    let desk = desk(sheet, "");
    let ended = desk.import(&[]);
    assert_eq!(ended.status, 0, "{}{}", ended.out, ended.err);
    let colony = desk.colony();
    let young = colony.animal(colony.find_animal("Y1").unwrap());
    assert_eq!(young.hatched.unwrap().to_string(), "2024-02-02");
    assert_eq!(colony.clutches[0].named_dam(), colony.find_animal("A\\B"));
}
