//! Changes to the byte, one rule after another.

use super::*;
use crate::records::Date;

fn set(record: Record, key: &str, value: Entry) -> Change {
    Change::Set { record, key: key.to_string(), value }
}

fn animal(id: &str) -> Record {
    Record::Animal(id.to_string())
}

fn text(text: &str) -> Entry {
    Entry::Text(text.to_string())
}

fn texts(all: &[&str]) -> Entry {
    Entry::List(all.iter().map(|one| text(one)).collect())
}

fn fields(all: &[(&str, Entry)]) -> Vec<(String, Entry)> {
    all.iter().map(|(key, entry)| (key.to_string(), entry.clone())).collect()
}

fn applied(before: &str, change: &Change) -> String {
    let mut draft = Draft::new(before);
    draft.apply(change).unwrap_or_else(|error| panic!("{error}\n{before}"));
    draft.text().to_string()
}

fn refused(before: &str, change: &Change) -> CannotChange {
    let mut draft = Draft::new(before);
    let error = draft.apply(change).unwrap_err();
    assert_eq!(draft.text(), before, "what is refused changes nothing");
    error
}

#[test]
fn a_value_is_replaced_where_it_stands() {
    let before = "[[animal]]\nid  =  'W'  # one\nsex =\t\"male\" # two\n";
    let after = applied(before, &set(animal(" W "), "sex", text("female")));
    assert_eq!(after, "[[animal]]\nid  =  'W'  # one\nsex =\t\"female\" # two\n");
}

#[test]
fn a_value_that_is_said_already_keeps_its_notation() {
    let before = "[[animal]]\nid = 'W'\ntrust = 1_0.0_0\nlooks = [ 'a' ,]\n";
    assert_eq!(applied(before, &set(animal("W"), "trust", Entry::Number(10.0))), before);
    assert_eq!(applied(before, &set(animal("W"), "looks", texts(&["a"]))), before);
}

#[test]
fn a_new_key_stands_behind_the_last_and_lines_up() {
    let before =
        "[[animal]]\nid    = \"W\"\nlooks = []   # none\n# below\n\n[[animal]]\nid = \"V\"";
    let after = applied(before, &set(animal("W"), "sex", text("male")));
    assert_eq!(
        after,
        "[[animal]]\nid    = \"W\"\nlooks = []   # none\nsex   = \"male\"\n# below\n\n[[animal]]\nid = \"V\""
    );
    let after = applied(before, &set(animal("V"), "hatched", Entry::Whole(1)));
    assert!(after.ends_with("\n[[animal]]\nid = \"V\"\nhatched = 1"), "{after}");
}

#[test]
fn elements_of_a_list_keep_their_remarks() {
    let before = "[[animal]]\nid = 'W'\nlooks = [\n  'a', # one\n  # above\n  'b',   # two\n  'c' # three\n]\n";
    let after = applied(before, &set(animal("W"), "looks", texts(&["a", "x", "c", "d"])));
    assert_eq!(
        after,
        "[[animal]]\nid = 'W'\nlooks = [\n  'a', # one\n  # above\n  \"x\",   # two\n  'c', # three\n  \"d\"\n]\n"
    );
    let after = applied(before, &set(animal("W"), "looks", texts(&["a"])));
    assert_eq!(
        after,
        "[[animal]]\nid = 'W'\nlooks = [\n  'a' # one\n  # above\n  # two\n  # three\n]\n"
    );
}

#[test]
fn a_list_that_becomes_something_else_leaves_its_remarks_above() {
    let before = "[[animal]]\nid = 'W'\nlooks = [ # why\n  'a', # one\n] # end\n";
    let after = applied(before, &set(animal("W"), "looks", text("normal")));
    assert_eq!(after, "[[animal]]\nid = 'W'\n# why\n# one\nlooks = \"normal\" # end\n");
}

#[test]
fn a_key_goes_with_the_remark_beside_it() {
    let before = "# top\n[[animal]]\nid = 'W'\n# above\nsex = 'male' # beside\n# below\n";
    let clear = Change::Clear { record: animal("W"), key: "sex".to_string() };
    assert_eq!(applied(before, &clear), "# top\n[[animal]]\nid = 'W'\n# above\n# below\n");
    let clear = Change::Clear { record: animal("W"), key: "note".to_string() };
    assert_eq!(applied(before, &clear), before);
}

#[test]
fn a_record_goes_from_its_first_line_to_its_last_key() {
    let before = "# animals\n\n# of W\n[[animal]] # w\nid = 'W'\n# inside\n[animal.grown]\nlooks = []\n# below\n\n# of V\n[[animal]]\nid = 'V'\n";
    let remove = Change::Remove { record: animal("W") };
    assert_eq!(
        applied(before, &remove),
        "# animals\n\n# of W\n# below\n\n# of V\n[[animal]]\nid = 'V'\n"
    );
    let before = "[[animal]]\nid = 'W'\n\n[[animal]]\nid = 'V'\n\n[[animal]]\nid = 'U'\n";
    assert_eq!(applied(before, &remove), "[[animal]]\nid = 'V'\n\n[[animal]]\nid = 'U'\n");
    let remove = Change::Remove { record: animal("V") };
    assert_eq!(applied(before, &remove), "[[animal]]\nid = 'W'\n\n[[animal]]\nid = 'U'\n");
    let remove = Change::Remove { record: animal("U") };
    assert_eq!(applied(before, &remove), "[[animal]]\nid = 'W'\n\n[[animal]]\nid = 'V'\n");
}

#[test]
fn young_in_one_line_are_added_and_taken_away_there() {
    let before = "[[clutch]]\nid = 'A'\nhatchling = [{id='x'}, {id='y', sex='male'}] # two\n";
    let add = Change::AddHatchling { clutch: "A".into(), fields: fields(&[("id", text("z"))]) };
    assert_eq!(
        applied(before, &add),
        "[[clutch]]\nid = 'A'\nhatchling = [{id='x'}, {id='y', sex='male'}, { id = \"z\" }] # two\n"
    );
    let remove = Change::Remove { record: Record::Hatchling("x".into()) };
    assert_eq!(
        applied(before, &remove),
        "[[clutch]]\nid = 'A'\nhatchling = [{id='y', sex='male'}] # two\n"
    );
    let record = Record::HatchlingAt { clutch: "A".into(), index: 1 };
    let clear = Change::Clear { record, key: "id".into() };
    assert_eq!(
        applied(before, &clear),
        "[[clutch]]\nid = 'A'\nhatchling = [{id='x'}, {sex='male'}] # two\n"
    );
}

#[test]
fn young_on_lines_of_their_own_keep_the_remarks_of_their_neighbours() {
    let before = "[[clutch]]\nid = 'A'\ncount = [ # counts\n    # first\n    { number = 1 }, # one\n    # second\n    { number = 2 } # two\n    # end\n]\n";
    let at = |index| Record::Count { clutch: "A".into(), index };
    assert_eq!(
        applied(before, &Change::Remove { record: at(1) }),
        "[[clutch]]\nid = 'A'\ncount = [ # counts\n    # first\n    { number = 1 } # one\n    # second\n    # end\n]\n"
    );
    assert_eq!(
        applied(before, &Change::Remove { record: at(0) }),
        "[[clutch]]\nid = 'A'\ncount = [ # counts\n    # first\n    # second\n    { number = 2 } # two\n    # end\n]\n"
    );
    let add =
        Change::AddCount { clutch: "A".into(), fields: fields(&[("number", Entry::Whole(3))]) };
    assert_eq!(
        applied(before, &add),
        "[[clutch]]\nid = 'A'\ncount = [ # counts\n    # first\n    { number = 1 }, # one\n    # second\n    { number = 2 }, # two\n    { number = 3 }\n    # end\n]\n"
    );
}

#[test]
fn a_new_record_takes_after_the_last_of_its_kind() {
    let before = "[[animal]]\n  id    = 'W'\n  looks = []\n# of W\n\n\n# V\n[[animal]]\n  id    = 'V'\n  looks = []\n\n# clutches\n[[clutch]]\nid = 'A'\n";
    let add = Change::AddAnimal { fields: fields(&[("id", text("U")), ("status", text("kept"))]) };
    let after = applied(before, &add);
    let new = "  looks = []\n\n\n[[animal]]\n  id     = \"U\"\n  status = \"kept\"\n\n# clutches\n";
    assert!(after.contains(new), "{after}");
    assert_eq!(
        after.replace("\n\n[[animal]]\n  id     = \"U\"\n  status = \"kept\"\n", ""),
        before
    );
}

#[test]
fn a_clutch_brings_its_young_under_headings() {
    let before = "[[animal]]\nid = 'W'\n\n[[clutch]]\nid = 'A'\n";
    let young = Entry::Table(fields(&[("id", text("B1"))]));
    let count = Entry::Table(fields(&[("number", Entry::Whole(2))]));
    let all = [
        ("id", text("B")),
        ("hatchling", Entry::List(vec![young])),
        ("count", Entry::List(vec![count])),
    ];
    let after = applied(before, &Change::AddClutch { fields: fields(&all) });
    assert_eq!(
        after,
        format!(
            "{before}\n[[clutch]]\nid = \"B\"\n\n[[clutch.hatchling]]\nid = \"B1\"\n\n[[clutch.count]]\nnumber = 2\n"
        )
    );
    let add = Change::AddHatchling { clutch: "A".into(), fields: fields(&[("id", text("A1"))]) };
    let after = applied(&after, &add);
    assert!(
        after.contains("id = 'A'\n\n[[clutch.hatchling]]\nid = \"A1\"\n\n[[clutch]]\nid = \"B\""),
        "{after}"
    );
}

#[test]
fn assumptions_are_made_where_they_are_absent() {
    let misread = || set(Record::Assume, "misread", Entry::Number(0.01));
    assert_eq!(
        applied("title = 't'\n\n# gene\n[gene.x]\n", &misread()),
        "title = 't'\n\n[assume]\nmisread = 0.01\n\n# gene\n[gene.x]\n"
    );
    assert_eq!(
        applied("# my file\n\n# first\n[[animal]]\nid = 'W'\n", &misread()),
        "# my file\n\n[assume]\nmisread = 0.01\n\n# first\n[[animal]]\nid = 'W'\n"
    );
    assert_eq!(applied("", &misread()), "[assume]\nmisread = 0.01\n");
    assert_eq!(
        applied("assume.trust = 1\n", &misread()),
        "assume.trust = 1\nassume.misread = 0.01\n"
    );
    assert_eq!(applied("assume = {}\n", &misread()), "assume = { misread = 0.01 }\n");
}

#[test]
fn a_key_of_the_file_stands_above_the_first_heading() {
    let title = || set(Record::Top, "title", text("t"));
    assert_eq!(
        applied("# mine\n\n# W\n[[animal]]\n", &title()),
        "# mine\n\ntitle = \"t\"\n\n# W\n[[animal]]\n"
    );
    assert_eq!(applied("# mine\n[[animal]]\n", &title()), "# mine\ntitle = \"t\"\n\n[[animal]]\n");
    assert_eq!(applied("# mine", &title()), "# mine\ntitle = \"t\"");
    assert_eq!(applied("species = 's'\n[x]\n", &title()), "species = 's'\ntitle = \"t\"\n[x]\n");
}

#[test]
fn genes_are_added_the_way_the_file_writes_them() {
    let add = |name: &str| Change::AddGene {
        name: name.to_string(),
        fields: fields(&[("inheritance", text("recessive"))]),
    };
    assert_eq!(
        applied("[gene.x]\ninheritance = 'dominant'\n\n[[animal]]\nid = 'W'\n", &add("y z")),
        "[gene.x]\ninheritance = 'dominant'\n\n[gene.\"y z\"]\ninheritance = \"recessive\"\n\n[[animal]]\nid = 'W'\n"
    );
    assert_eq!(
        applied("[gene]\nx = { inheritance = 'dominant' }\n", &add("y")),
        "[gene]\nx = { inheritance = 'dominant' }\ny = { inheritance = \"recessive\" }\n"
    );
    assert_eq!(
        applied("gene.x.inheritance = 'dominant'\n", &add("y")),
        "gene.x.inheritance = 'dominant'\ngene.y = { inheritance = \"recessive\" }\n"
    );
    assert_eq!(
        applied("gene = {}\n", &add("y")),
        "gene = { y = { inheritance = \"recessive\" } }\n"
    );
    assert_eq!(applied("", &add("y")), "[gene.y]\ninheritance = \"recessive\"\n");
    let there = refused("[gene.y]\n", &add(" y "));
    assert_eq!(there.to_string(), "there is a gene called `y` already");
}

#[test]
fn dotted_keys_stay_dotted() {
    let before = "[[clutch]]\nid = 'A'\nsires.B = 1 # b\nsires.C = 2\n";
    let sires = Entry::Table(fields(&[("B", Entry::Whole(3)), ("D", Entry::Whole(4))]));
    assert_eq!(
        applied(before, &set(Record::Clutch("A".into()), "sires", sires)),
        "[[clutch]]\nid = 'A'\nsires.B = 3 # b\nsires.D = 4\n"
    );
    let clear = Change::Clear { record: Record::Clutch("A".into()), key: "sires".into() };
    assert_eq!(applied(before, &clear), "[[clutch]]\nid = 'A'\n");
    let clear = Change::Clear { record: Record::Gene("x".into()), key: "names".into() };
    assert_eq!(applied("gene.x.names.a = 1\ngene.x.names.b = 2\n", &clear), "gene.x = {}\n");
}

#[test]
fn tables_with_headings_inside_a_record_are_changed_there() {
    let before = "[gene.x.looks] # looks\n'+/x' = 'x'\n\n[[animal]]\nid = 'W'\n[[animal.either]]\nfit = 0.5 # half\n[[animal.either]]\nfit = 0.25\n";
    let inherited = set(Record::Gene("x".into()), "inheritance", text("dominant"));
    let after = applied(before, &inherited);
    assert!(
        after.starts_with("[gene.x]\ninheritance = \"dominant\"\n\n[gene.x.looks] # looks\n"),
        "{after}"
    );
    let one = Entry::List(vec![Entry::Table(fields(&[("fit", Entry::Number(0.75))]))]);
    let after = applied(before, &set(animal("W"), "either", one));
    assert!(after.ends_with("[[animal.either]]\nfit = 0.75 # half\n"), "{after}");
}

#[test]
fn line_ends_marks_and_a_missing_last_line_end_stay() {
    let before = "\u{feff}[[animal]]\r\nid = 'W' # w\r\nsex = 'male'";
    assert_eq!(
        applied(before, &set(animal("W"), "note", text("a\nb"))),
        "\u{feff}[[animal]]\r\nid = 'W' # w\r\nsex = 'male'\r\nnote = \"a\\nb\""
    );
    assert_eq!(
        applied(before, &Change::AddAnimal { fields: fields(&[("id", text("V"))]) }),
        "\u{feff}[[animal]]\r\nid = 'W' # w\r\nsex = 'male'\r\n\r\n[[animal]]\r\nid = \"V\""
    );
    let clear = Change::Clear { record: animal("W"), key: "sex".to_string() };
    assert_eq!(applied(before, &clear), "\u{feff}[[animal]]\r\nid = 'W' # w");
}

#[test]
fn values_of_every_kind_read_back() {
    let date = |day| Entry::Date(Date { year: 2024, month: Some(5), day });
    let all = Entry::List(vec![
        date(Some(30)),
        date(None),
        Entry::Number(1.0),
        Entry::Number(1e300),
        Entry::Number(-0.0),
        Entry::Number(f64::INFINITY),
        Entry::Number(f64::NAN),
        Entry::Whole(i64::MIN),
        Entry::Flag(true),
        text("\u{7f}\u{85}\u{feff}\"\\'''\r"),
        Entry::Table(fields(&[("", text("")), ("a.b", texts(&[]))])),
    ]);
    let after = applied("[[animal]]\nid = 'W'\n", &set(animal("W"), "x", all.clone()));
    assert!(
        after.contains("x = [2024-05-30, \"2024-05\", 1.0, 1e300, -0.0, inf, nan, "),
        "{after}"
    );
    assert_eq!(
        applied(&after, &set(animal("W"), "y", Entry::Flag(false))),
        format!("{after}y = false\n")
    );
}

#[test]
fn what_is_not_there_is_refused_by_name() {
    let before = "[[animal]]\nid = 'Wren'\n\n[[animal]]\nid = 'V'\n\n[[animal]]\nid = ' V'\n";
    let told = |record| refused(before, &set(record, "sex", text("male"))).to_string();
    assert_eq!(told(animal("wren")), "there is no animal called `wren`; did you mean `Wren`?");
    assert_eq!(
        told(animal("V")),
        "there are several animals called `V`; give each an id of its own first"
    );
    assert_eq!(told(Record::Clutch("A".into())), "there is no clutch called `A`");
    assert_eq!(told(Record::Mask(0)), "there is no mask number 1");
    assert_eq!(
        refused("[animal]\n", &Change::AddAnimal { fields: vec![] }).to_string(),
        "`animal` is not a list of tables in this file"
    );
    assert!(matches!(
        refused(before, &Change::Remove { record: Record::Top }),
        CannotChange::OtherShape { .. }
    ));
}

#[test]
fn a_broken_file_says_where_it_must_be_mended_first() {
    let before = "[[animal]]\nid = 'W'\nsex = male\n";
    let error = refused(before, &set(animal("W"), "note", text("n")));
    assert_eq!(
        error.to_string(),
        "line 3 cannot be read and must be mended first: `male` stands without quotes"
    );
    let deep = "a = ".to_string() + &"[".repeat(100_000);
    assert!(matches!(
        refused(&deep, &set(Record::Top, "title", text("t"))),
        CannotChange::Broken { .. }
    ));
}

#[test]
fn whole_lines_are_replaced_if_they_are_still_the_same() {
    let lines = |first, last, was: &str, with: &str| Change::ReplaceLines {
        first,
        last,
        was: was.into(),
        with: with.into(),
    };
    let before = "\u{feff}a = \r\nb\r\nc";
    assert_eq!(applied(before, &lines(1, 2, "a = \nb", "x\ny\n")), "\u{feff}x\r\ny\r\nc");
    assert_eq!(applied(before, &lines(3, 3, "c\n", "d\r\n")), "\u{feff}a = \r\nb\r\nd");
    assert_eq!(applied(before, &lines(3, 3, "c", "")), "\u{feff}a = \r\nb");
    assert_eq!(applied(before, &lines(2, 1, "", "new")), "\u{feff}a = \r\nnew\r\nb\r\nc");
    assert_eq!(applied(before, &lines(4, 3, "", "new")), "\u{feff}a = \r\nb\r\nc\r\nnew");
    assert_eq!(applied("a\n\nb\n", &lines(2, 2, "", "x")), "a\nx\nb\n");
    let changed = refused(before, &lines(2, 2, "other", "x"));
    assert_eq!(changed, CannotChange::LinesChanged { now: "b".to_string() });
    for (first, last) in [(0, 0), (5, 5), (3, 1), (1, 9), (usize::MAX, usize::MAX)] {
        assert!(matches!(
            refused(before, &lines(first, last, "", "x")),
            CannotChange::LinesChanged { .. }
        ));
    }
}

#[test]
fn json_is_changed_by_lines_only() {
    let before = "{\n  \"animal\": []\n}\n";
    assert_eq!(refused(before, &set(Record::Top, "title", text("t"))), CannotChange::Json);
    let change = Change::ReplaceLines {
        first: 2,
        last: 2,
        was: "  \"animal\": []".into(),
        with: "  \"clutch\": []".into(),
    };
    assert_eq!(applied(before, &change), "{\n  \"clutch\": []\n}\n");
}

#[test]
fn a_clutch_in_braces_and_a_child_among_strangers_are_found() {
    let before = "clutch = [ { id = 'A' } ]\n";
    let add =
        Change::AddCount { clutch: "A".into(), fields: fields(&[("number", Entry::Whole(3))]) };
    assert_eq!(applied(before, &add), "clutch = [ { id = 'A', count = [{ number = 3 }] } ]\n");
    let before = "[[clutch]]\nid = 'A'\n[[animal]]\nid = 'W'\n[[clutch.count]]\nnumber = 1\n[x]\n";
    let remove = Change::Remove { record: Record::Clutch("A".into()) };
    assert_eq!(applied(before, &remove), "[[animal]]\nid = 'W'\n[x]\n");
}
