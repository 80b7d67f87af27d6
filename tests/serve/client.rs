//! The started program, and a browser's part of the talk with it.

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

/// The program, serving a file in a folder of its own; ended when dropped.
pub struct Server {
    child: Child,
    folder: tempfile::TempDir,
    name: String,
    pub port: u16,
}

/// One answer.
pub struct Answer {
    pub status: u16,
    pub headers: Vec<(String, String)>,
    pub body: String,
}

impl Server {
    pub fn start(name: &str, records: &str) -> Self {
        Server::start_with(name, records, &[])
    }

    /// The same with further options.
    pub fn start_with(name: &str, records: &str, options: &[&str]) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join(name);
        fs::write(&file, records).unwrap();
        let mut child = Command::new(env!("CARGO_BIN_EXE_proveout"))
            .arg("serve")
            .arg(&file)
            .args(options)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let port = line.trim().trim_end_matches('/').rsplit(':').next().unwrap();
        let port = port.parse().unwrap_or_else(|_| panic!("no address: {line:?}"));
        Server { child, folder, name: name.to_owned(), port }
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Presses Ctrl-C, and waits for the end.
    #[cfg(unix)]
    pub fn interrupt(&mut self) -> std::process::ExitStatus {
        let process = self.child.id().to_string();
        assert!(Command::new("kill").args(["-INT", &process]).status().unwrap().success());
        self.child.wait().unwrap()
    }

    /// The records file as it stands.
    pub fn file(&self) -> String {
        fs::read_to_string(self.path(&self.name)).unwrap()
    }

    pub fn origin(&self) -> String {
        format!("http://127.0.0.1:{}", self.port)
    }

    pub fn get(&self, path: &str) -> Answer {
        self.ask("GET", path, &[], "")
    }

    /// A form with what a page of ours carries besides.
    pub fn form(&self, path: &str, fields: &[(&str, &str)], wish: &str) -> String {
        let page = self.get(if path == "/mend" { "/enter" } else { path });
        let value = |name: &str| {
            let (_, rest) = page.body.split_once(&format!("name=\"{name}\" value=\"")).unwrap();
            rest.split('"').next().unwrap().to_owned()
        };
        let mut body = format!("token={}", value("token"));
        if !fields.iter().any(|(name, _)| *name == "seen") {
            body += &format!("&seen={}", value("seen"));
        }
        if !fields.iter().any(|(name, _)| *name == "do") {
            body += &format!("&do={wish}");
        }
        for (name, value) in fields {
            body += &format!("&{}={}", coded(name), coded(value));
        }
        body
    }

    /// Sends a form as a page of ours does.
    pub fn post(&self, path: &str, fields: &[(&str, &str)], wish: &str) -> Answer {
        let body = self.form(path, fields, wish);
        self.ask("POST", path, &[("Origin", &self.origin())], &body)
    }

    pub fn ask(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &str) -> Answer {
        let mut head = format!("{method} {path} HTTP/1.1\r\nConnection: close\r\n");
        if !headers.iter().any(|(name, _)| *name == "Host") {
            head += &format!("Host: 127.0.0.1:{}\r\n", self.port);
        }
        for (name, value) in headers {
            head += &format!("{name}: {value}\r\n");
        }
        if method != "GET" {
            head += "Content-Type: application/x-www-form-urlencoded\r\n";
            head += &format!("Content-Length: {}\r\n", body.len());
        }
        self.raw(format!("{head}\r\n{body}").as_bytes())
    }

    pub fn raw(&self, bytes: &[u8]) -> Answer {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(60))).unwrap();
        stream.write_all(bytes).unwrap();
        let mut reader = BufReader::new(stream);
        let mut line = String::new();
        reader.read_line(&mut line).unwrap();
        let status = line.split(' ').nth(1).and_then(|code| code.parse().ok());
        let status = status.unwrap_or_else(|| panic!("no status: {line:?}"));
        let mut headers = Vec::new();
        let mut length = 0;
        loop {
            let mut line = String::new();
            reader.read_line(&mut line).unwrap();
            let Some((name, value)) = line.trim_end().split_once(": ") else { break };
            if name == "content-length" {
                length = value.parse().unwrap();
            }
            headers.push((name.to_ascii_lowercase(), value.to_owned()));
        }
        let mut body = Vec::new();
        reader.take(length).read_to_end(&mut body).unwrap();
        Answer { status, headers, body: String::from_utf8(body).unwrap() }
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        // Only what was started here.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

pub fn coded(text: &str) -> String {
    let plain = |byte: u8| byte.is_ascii_alphanumeric() || b"-._*".contains(&byte);
    text.bytes()
        .map(|byte| match byte {
            b' ' => "+".to_owned(),
            byte if plain(byte) => char::from(byte).to_string(),
            byte => format!("%{byte:02X}"),
        })
        .collect()
}

impl Answer {
    pub fn header(&self, name: &str) -> &str {
        self.headers.iter().find(|(own, _)| own == name).map_or("", |(_, value)| value)
    }

    /// What a reader sees, with plain blanks.
    pub fn words(&self) -> String {
        let mut words = String::new();
        let mut inside = true;
        for c in self.body.chars() {
            match c {
                '<' => inside = false,
                '>' => {
                    inside = true;
                    words.push(' ');
                }
                c if inside => words.push(c),
                _ => {}
            }
        }
        unescaped(&words).replace('\u{a0}', " ").split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// What a browser would send of the form with this action, were the button `wish` pressed.
    pub fn fields(&self, action: &str, wish: &str) -> String {
        let (_, form) = self.body.split_once(&format!("action=\"{action}\"")).unwrap();
        let form = form.split("</form>").next().unwrap();
        let mut pairs = Vec::new();
        let mut select = String::new();
        for tag in form.split('<').skip(1) {
            let (tag, behind) = tag.split_once('>').unwrap();
            let kind = tag.split([' ', '>']).next().unwrap();
            let get = |name: &str| {
                let (_, rest) = tag.split_once(&format!(" {name}=\""))?;
                Some(unescaped(rest.split('"').next()?))
            };
            match kind {
                "input" => {
                    let box_ = matches!(get("type").as_deref(), Some("checkbox" | "radio"));
                    if !box_ || tag.contains(" checked") {
                        let value = get("value").unwrap_or_default();
                        let value = match get("type").as_deref() {
                            // A field of one line has no line ends.
                            Some("text") => value.replace(['\r', '\n'], ""),
                            _ => sent(&value),
                        };
                        pairs.push((get("name").unwrap(), value));
                    }
                }
                // The first line end behind the tag is not part of what stands in it.
                "textarea" => {
                    let value = unescaped(behind.strip_prefix('\n').unwrap_or(behind));
                    pairs.push((get("name").unwrap(), sent(&value)));
                }
                "select" => select = get("name").unwrap(),
                "option" if tag.contains(" selected") => {
                    pairs.push((select.clone(), get("value").unwrap_or_default()));
                }
                _ => {}
            }
        }
        pairs.push(("do".to_owned(), wish.to_owned()));
        let pairs = pairs.iter().map(|(name, value)| format!("{}={}", coded(name), coded(value)));
        pairs.collect::<Vec<_>>().join("&")
    }
}

/// A text with its line ends as a browser sends them.
fn sent(text: &str) -> String {
    text.replace("\r\n", "\n").replace('\r', "\n").replace('\n', "\r\n")
}

fn unescaped(text: &str) -> String {
    [
        ("&#34;", "\""),
        ("&quot;", "\""),
        ("&#39;", "'"),
        ("&lt;", "<"),
        ("&gt;", ">"),
        ("&#60;", "<"),
        ("&#62;", ">"),
        ("&#38;", "&"),
        ("&amp;", "&"),
    ]
    .iter()
    .fold(text.to_owned(), |text, (code, sign)| text.replace(code, sign))
}
