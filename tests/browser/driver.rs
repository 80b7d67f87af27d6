//! A browser, driven by the protocol of WebDriver (W3C).

// Each test file needs a part of it.
#![allow(dead_code)]

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use serde_json::{Value, json};

const BROWSERS: [&str; 3] =
    ["/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome"];
const DRIVERS: [&str; 2] = ["/usr/bin/chromedriver", "/usr/lib/chromium/chromedriver"];

/// One window of a browser with a profile of its own; closed when dropped.
pub struct Browser {
    driver: Child,
    port: u16,
    session: String,
    scripts: bool,
    _profile: tempfile::TempDir,
}

fn found(list: &[&str]) -> Option<PathBuf> {
    list.iter().map(PathBuf::from).find(|path| path.exists())
}

impl Browser {
    /// A window as wide as a telephone; `None` where this machine has no Chromium with its driver.
    pub fn start() -> Option<Self> {
        Browser::with_scripts(true)
    }

    /// The same with scripts of pages switched off or left on.
    pub fn with_scripts(on: bool) -> Option<Self> {
        let (browser, driver) = (found(&BROWSERS)?, found(&DRIVERS)?);
        let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
        let profile = tempfile::tempdir().unwrap();
        let mut driver = Command::new(driver)
            .arg(format!("--port={port}"))
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(driver.stdout.take().unwrap()).lines();
        lines.find(|line| line.as_ref().is_ok_and(|line| line.contains("successfully")));
        let mut started =
            Browser { driver, port, session: String::new(), scripts: on, _profile: profile };
        let profile = started._profile.path().display();
        let wanted = json!({ "capabilities": { "alwaysMatch": {
            // What a page that is still coming will show is waited for.
            "timeouts": { "implicit": 10_000 },
            "goog:loggingPrefs": { "browser": "ALL", "performance": "ALL" },
            "goog:chromeOptions": {
                "binary": browser,
                "args": ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic",
                    "--no-first-run", "--disable-background-networking",
                    "--disable-component-update", "--disable-sync",
                    format!("--user-data-dir={profile}")],
                "mobileEmulation": { "deviceMetrics":
                    { "width": 360, "height": 740, "pixelRatio": 1.0, "touch": true } },
            },
        } } });
        let made = started.ask("POST", "/session", &wanted);
        started.session = made["sessionId"].as_str().unwrap().to_owned();
        if !on {
            // What is asked of the page by its debugger still runs; its own scripts do not.
            started.own("Emulation.setScriptExecutionDisabled", json!({ "value": true }));
        }
        Some(started)
    }

    pub fn open(&self, page: &Path) {
        self.go(&format!("file://{}", page.display()));
    }

    pub fn go(&self, address: &str) {
        if !self.scripts {
            self.own("Page.navigate", json!({ "url": address }));
            return;
        }
        self.command("url", &json!({ "url": address }));
    }

    /// Presses keys where the focus is; see the table of key codes in the standard.
    pub fn keys(&self, keys: &str) {
        let press = |key: char| {
            let key = key.to_string();
            [json!({ "type": "keyDown", "value": key }), json!({ "type": "keyUp", "value": key })]
        };
        let actions: Vec<Value> = keys.chars().flat_map(press).collect();
        let source = json!({ "type": "key", "id": "keys", "actions": actions });
        self.command("actions", &json!({ "actions": [source] }));
    }

    /// Taps an element.
    pub fn tap(&self, selector: &str) {
        if !self.scripts {
            let at = self.run(&format!(
                "const one = document.querySelector({}); one.scrollIntoView({{ block: 'center' }}); \
                 const box = one.getBoundingClientRect(); \
                 return [box.left + box.width / 2, box.top + box.height / 2];",
                json!(selector)
            ));
            for kind in ["mousePressed", "mouseReleased"] {
                let (x, y) = (&at[0], &at[1]);
                let button =
                    json!({ "type": kind, "x": x, "y": y, "button": "left", "clickCount": 1 });
                self.own("Input.dispatchMouseEvent", button);
            }
            return;
        }
        let element = self.find(selector);
        self.command(&format!("element/{element}/click"), &json!({}));
    }

    /// Types into an element, behind what stands there.
    pub fn fill(&self, selector: &str, text: &str) {
        if !self.scripts {
            self.tap(selector);
            self.own("Input.insertText", json!({ "text": text }));
            return;
        }
        let element = self.find(selector);
        self.command(&format!("element/{element}/value"), &json!({ "text": text }));
    }

    fn find(&self, selector: &str) -> String {
        let found = self.command("element", &json!({ "using": "css selector", "value": selector }));
        let id = found.as_object().and_then(|one| one.values().next()).and_then(Value::as_str);
        id.unwrap_or_else(|| panic!("no {selector}")).to_owned()
    }

    /// Whether scripts of pages run.
    pub fn has_scripts(&self) -> bool {
        self.scripts
    }

    /// What a script returns that runs in the page.
    pub fn run(&self, script: &str) -> Value {
        if !self.scripts {
            // The driver waits for promises, which never come without scripts.
            let expression = format!("(() => {{ {script} }})()");
            let asked = json!({ "expression": expression, "returnByValue": true });
            return self.own("Runtime.evaluate", asked)["result"]["value"].clone();
        }
        self.command("execute/sync", &json!({ "script": script, "args": [] }))
    }

    /// A command of the browser's own.
    pub fn own(&self, command: &str, parameters: Value) -> Value {
        self.command("goog/cdp/execute", &json!({ "cmd": command, "params": parameters }))
    }

    /// A window, with scripts or without; says so where there is no browser, and fails under
    /// `CI=true`.
    pub fn here(scripts: bool) -> Option<Self> {
        let browser = Browser::with_scripts(scripts);
        if browser.is_none() {
            assert!(
                std::env::var("CI").as_deref() != Ok("true"),
                "no Chromium with its driver here"
            );
            println!(
                "SKIPPED: no Chromium with its driver here (apt-get install chromium chromium-driver)"
            );
        }
        browser
    }

    /// Addresses that were asked for since this was last looked at.
    pub fn asked_for(&self) -> Vec<String> {
        let events = self.log("performance").into_iter().filter_map(|entry| {
            let event: Value = serde_json::from_str(entry["message"].as_str()?).ok()?;
            let event = &event["message"];
            let request = event["method"] == "Network.requestWillBeSent";
            request.then(|| event["params"]["request"]["url"].as_str().unwrap_or("?").to_owned())
        });
        events.collect()
    }

    /// What was logged since this was last asked: `browser` or `performance`.
    pub fn log(&self, kind: &str) -> Vec<Value> {
        self.command("se/log", &json!({ "type": kind })).as_array().unwrap().clone()
    }

    fn command(&self, what: &str, body: &Value) -> Value {
        self.ask("POST", &format!("/session/{}/{what}", self.session), body)
    }

    fn ask(&self, method: &str, path: &str, body: &Value) -> Value {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(60))).unwrap();
        let body = body.to_string();
        write!(
            stream,
            "{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nContent-Type: application/json\r\n\
             Content-Length: {}\r\nConnection: close\r\n\r\n{body}",
            self.port,
            body.len()
        )
        .unwrap();
        let mut answer = Vec::new();
        // The other side may keep the connection open; the length says where the answer ends.
        let mut reader = BufReader::new(stream);
        let mut length = 0;
        loop {
            let mut line = String::new();
            reader.read_line(&mut line).unwrap();
            let line = line.trim().to_ascii_lowercase();
            if let Some(number) = line.strip_prefix("content-length:") {
                length = number.trim().parse().unwrap();
            }
            if line.is_empty() {
                break;
            }
        }
        reader.take(length).read_to_end(&mut answer).unwrap();
        let answer: Value = serde_json::from_slice(&answer).unwrap();
        let value = answer["value"].clone();
        assert!(value.get("error").is_none(), "{path}: {value}");
        value
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        if !self.session.is_empty() && !std::thread::panicking() {
            self.ask("DELETE", &format!("/session/{}", self.session), &json!({}));
        }
        // Only what was started here.
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}
