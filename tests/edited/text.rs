//! Random records files: every notation, remarks everywhere, odd spacing.

use rand::{RngExt, SeedableRng, seq::IndexedRandom};
use rand_chacha::ChaCha8Rng;

/// A file being written, with a source of chance.
pub struct Pen {
    pub dice: ChaCha8Rng,
    text: String,
    remarks: usize,
    ids: usize,
    /// How often remarks and blank lines come, in percent.
    noise: u32,
}

/// A random file; every remark in it is unique, as `#~12~`.
pub fn random(seed: u64) -> String {
    let dice = ChaCha8Rng::seed_from_u64(seed);
    let mut pen = Pen { dice, text: String::new(), remarks: 0, ids: 0, noise: 0 };
    pen.noise = *[0, 10, 30, 60].choose(&mut pen.dice).unwrap();
    pen.file();
    let mut text = pen.text;
    if pen.dice.random_bool(0.3) {
        text = text.replace('\n', "\r\n");
    }
    if pen.dice.random_bool(0.2) {
        text.truncate(text.trim_end().len());
    }
    if pen.dice.random_bool(0.2) {
        text.insert(0, '\u{feff}');
    }
    text
}

impl Pen {
    fn one_in(&mut self, many: u32) -> bool {
        self.dice.random_range(0..many) == 0
    }

    fn noisy(&mut self) -> bool {
        self.dice.random_range(0..100) < self.noise
    }

    fn remark(&mut self) -> String {
        self.remarks += 1;
        let more =
            ["", " ", " \"quoted", " [x]", " a = 1, }", " \u{e9}\u{1f98e}"].choose(&mut self.dice);
        format!("#~{}~{}", self.remarks, more.unwrap())
    }

    fn id(&mut self, kind: &str) -> String {
        self.ids += 1;
        format!("{kind}{}", self.ids)
    }

    fn space(&mut self) -> &'static str {
        match self.noisy() {
            true => ["", " ", "  ", "\t"].choose(&mut self.dice).unwrap(),
            false => " ",
        }
    }

    /// Lines of remarks and blank lines.
    fn between(&mut self) {
        while self.noisy() {
            let remark = if self.one_in(2) { self.remark() } else { String::new() };
            let indent = if self.one_in(4) { "  " } else { "" };
            self.text += &format!("{indent}{remark}\n");
        }
    }

    fn end_of_line(&mut self) {
        if self.noisy() {
            let (space, remark) = (self.space(), self.remark());
            self.text += &format!("{space}{remark}");
        }
        self.text += "\n";
    }

    fn line(&mut self, key: &str, value: &str) {
        self.between();
        let indent = if self.noisy() && self.one_in(3) { "  " } else { "" };
        let (before, after) = (self.space(), self.space());
        self.text += &format!("{indent}{key}{before}={after}{value}");
        self.end_of_line();
    }

    fn heading(&mut self, brackets: &str, path: &str) {
        if !self.one_in(4) {
            self.text += "\n";
        }
        self.between();
        let (open, close) = if brackets == "[[" { ("[[", "]]") } else { ("[", "]") };
        let space = if self.noisy() { " " } else { "" };
        self.text += &format!("{open}{space}{path}{space}{close}");
        self.end_of_line();
    }

    /// A list, in one line or many.
    fn list(&mut self, elements: &[String]) -> String {
        let lines = self.noisy() || elements.len() > 3;
        let tail = self.one_in(2);
        let mut text = "[".to_string();
        let mut begun = false;
        for (at, element) in elements.iter().enumerate() {
            let last = at + 1 == elements.len();
            if lines {
                text += "\n";
                while self.noisy() {
                    text += &format!("  {}\n", self.remark());
                }
                text += "  ";
            } else if begun {
                text += self.space();
            }
            begun = true;
            text += element;
            if !last || tail {
                let late = self.noisy() && self.one_in(4);
                text += if late { " ," } else { "," };
            }
            if lines && self.noisy() {
                text += &format!(" {}", self.remark());
            }
        }
        if lines {
            text += "\n";
            while self.noisy() {
                text += &format!("  {}\n", self.remark());
            }
        }
        text + "]"
    }

    fn table(&mut self, fields: &[(String, String)]) -> String {
        let space = if self.noisy() { self.space() } else { " " };
        let fields: Vec<String> =
            fields.iter().map(|(key, value)| format!("{key} ={space}{value}")).collect();
        let inner = fields.join(", ");
        if self.noisy() && self.one_in(2) {
            format!("{{{inner}}}")
        } else {
            format!("{{ {inner} }}")
        }
    }

    fn text_value(&mut self) -> String {
        let values = [
            "\"normal\"",
            "'plain # text'",
            "\"a \\\"b\\\"\"",
            "\"\"\"two\n# lines\"\"\"",
            "\"\"",
            "'''x # y'''",
        ];
        (*values.choose(&mut self.dice).unwrap()).to_string()
    }

    fn looks(&mut self) -> String {
        let count = self.dice.random_range(0..5);
        let looks: Vec<String> = (0..count).map(|at| format!("\"look {at}\"")).collect();
        self.list(&looks)
    }

    /// Keys of an animal or a hatchling.
    fn animal(&mut self, id: &str) -> Vec<(String, String)> {
        let mut fields = vec![("id".to_string(), format!("\"{id}\""))];
        let mut add = |pen: &mut Pen, key: &str, value: String| {
            if pen.one_in(2) {
                fields.push((key.to_string(), value));
            }
        };
        let looks = self.looks();
        add(self, "looks", looks);
        add(self, "sex", "\"male\"".to_string());
        add(self, "hatched", "2021-07-14".to_string());
        let note = self.text_value();
        add(self, "note", note);
        add(self, "trust", "0.9".to_string());
        let either = [("looks", "[\"x\"]"), ("fit", "0.5")].map(|(k, v)| (k.into(), v.into()));
        let either = [self.table(&either), self.table(&either)];
        let either = self.list(&either);
        add(self, "either", either);
        add(self, "grown.looks", "[\"z\"]".to_string());
        fields
    }

    fn fields(&mut self, fields: &[(String, String)]) {
        for (key, value) in fields {
            self.line(key, value);
        }
    }

    fn file(&mut self) {
        self.between();
        if self.one_in(2) {
            self.line("title", "\"x\"");
            self.line("clutch_size", "{ mean = 6, sd = 2 }");
        }
        if self.one_in(3) {
            self.line("assume.misread", "0.01");
        }
        let inline_animals = self.one_in(4);
        if inline_animals {
            let count = self.dice.random_range(0..4);
            let tables: Vec<String> = (0..count).map(|_| self.inline_animal("a")).collect();
            let list = self.list(&tables);
            self.line("animal", &list);
        }
        let genes = self.dice.random_range(0..4);
        match self.dice.random_range(0..4) {
            0 => (0..genes).for_each(|_| {
                let name = self.id("g");
                self.line(&format!("gene.{name}.inheritance"), "\"recessive\"");
                self.line(&format!("gene . {name} .names.one_copy"), "\"one\"");
            }),
            1 => {
                self.heading("[", "gene");
                for _ in 0..genes {
                    let name = self.id("g");
                    self.line(&name, "{ inheritance = \"dominant\" , aka = [\"q\"]}");
                }
            }
            _ => (0..genes).for_each(|_| self.gene()),
        }
        if !self.text.contains("assume") && self.one_in(2) {
            self.heading("[", "assume");
            self.line("background", "0.01");
        }
        for _ in 0..self.dice.random_range(0..3) {
            self.heading("[[", "mask");
            self.line("look", "\"look 1\"");
            let hides = self.looks();
            self.line("hides", &hides);
        }
        if !inline_animals {
            for _ in 0..self.dice.random_range(0..9) {
                let id = self.id("a");
                let fields = self.animal(&id);
                self.heading("[[", "animal");
                self.fields(&fields);
                if !fields.iter().any(|(key, _)| key == "either") && self.one_in(4) {
                    for _ in 0..self.dice.random_range(1..3) {
                        self.heading("[[", "animal.either");
                        self.line("fit", "0.25");
                        let looks = self.looks();
                        self.line("looks", &looks);
                    }
                }
                if !fields.iter().any(|(key, _)| key == "grown.looks") && self.one_in(4) {
                    self.heading("[", "animal.grown");
                    self.line("unread", "[\"x\"]");
                }
            }
        }
        for _ in 0..self.dice.random_range(0..7) {
            self.clutch();
        }
        self.between();
        if self.text.is_empty() {
            self.line("title", "'t'");
        }
    }

    fn inline_animal(&mut self, kind: &str) -> String {
        let id = self.id(kind);
        let fields = self.animal(&id);
        let fields: Vec<_> =
            fields.into_iter().filter(|(_, value)| !value.contains('\n')).collect();
        self.table(&fields)
    }

    fn gene(&mut self) {
        let name = self.id("g");
        if self.one_in(4) {
            self.heading("[", &format!("gene.{name}.looks"));
            self.line("\"+/x\"", "\"x\"");
            return;
        }
        self.heading("[", &format!("gene.'{name}'"));
        if !self.one_in(4) {
            self.line("inheritance", "\"recessive\"");
            self.line("names", "{ one_copy = \"x\" }");
        }
        if self.one_in(3) {
            self.heading("[", &format!("gene.{name}.misread"));
            self.line("missed", "0.5");
        }
    }

    fn clutch(&mut self) {
        let id = self.id("c");
        self.heading("[[", "clutch");
        self.line("id", &format!("\"{id}\""));
        match self.dice.random_range(0..3) {
            0 => self.line("sires", "{ a1 = 0.5, a2 = 0.5 }"),
            1 => {
                self.line("sires.a1", "1");
                self.line("sires.a2", "2");
            }
            _ => self.line("sire", "\"a1\""),
        }
        let style = self.dice.random_range(0..3);
        if style == 0 {
            let count = self.dice.random_range(0..4);
            let tables: Vec<String> = (0..count).map(|_| self.inline_animal("h")).collect();
            let list = self.list(&tables);
            self.line("hatchling", &list);
            self.line("count", "[{ looks = [], number = 3 }]");
        }
        if self.one_in(3) {
            self.heading("[", "clutch.more");
            self.line("x", "1");
        }
        if style == 1 {
            for _ in 0..self.dice.random_range(0..4) {
                let id = self.id("h");
                let fields = self.animal(&id);
                self.heading("[[", "clutch.hatchling");
                self.fields(&fields);
            }
            for _ in 0..self.dice.random_range(0..3) {
                self.heading("[[", "clutch.count");
                self.line("number", "\"1.2.0\"");
            }
        }
    }
}
