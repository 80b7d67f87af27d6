//! What the page refuses, and that it outlives whatever is sent.

use std::fs;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

use super::client::Server;
use super::{RECORDS, a_clutch};

#[test]
fn every_answer_forbids_what_a_page_need_not_do() {
    let server = Server::start("colony.toml", RECORDS);
    for path in ["/", "/nothing", "/page.js", "/page.css", "/report", "/animal?id=nobody"] {
        let answer = server.get(path);
        let policy = answer.header("content-security-policy");
        for part in ["default-src 'none'", "script-src 'self'", "frame-ancestors 'none'"] {
            assert!(policy.contains(part), "{path}: {policy}");
        }
        assert!(!policy.contains("unsafe"), "{path}: {policy}");
        assert_eq!(answer.header("x-content-type-options"), "nosniff");
        assert_eq!(answer.header("referrer-policy"), "no-referrer");
        assert_eq!(answer.header("cache-control"), "no-store");
    }
    let refused = server.ask("GET", "/", &[("Host", "evil.example")], "");
    assert_eq!(refused.header("cache-control"), "no-store");
}

#[test]
fn another_host_is_refused() {
    let server = Server::start("colony.toml", RECORDS);
    let port = server.port;
    for host in ["evil.example", "127.0.0.1", "127.0.0.1:1", &format!("evil.example:{port}")] {
        let answer = server.ask("GET", "/", &[("Host", host)], "");
        assert!([403, 421].contains(&answer.status), "{host}: {}", answer.status);
        assert!(!answer.body.contains("Dora"), "{host}");
    }
    for host in ["127.0.0.1", "localhost", "[::1]"] {
        let answer = server.ask("GET", "/", &[("Host", &format!("{host}:{port}"))], "");
        assert_eq!(answer.status, 200, "{host}");
    }
    assert_eq!(server.raw(b"GET / HTTP/1.1\r\n\r\n").status, 421);
}

#[test]
fn a_form_from_elsewhere_is_refused() {
    let server = Server::start("colony.toml", RECORDS);
    let own = server.form("/enter", &a_clutch(), "save");
    let origin = server.origin();
    for headers in [
        &[("Origin", "http://evil.example")][..],
        &[],
        &[("Origin", "null")],
        &[("Origin", &origin), ("Sec-Fetch-Site", "cross-site")],
        &[("Origin", "null"), ("Sec-Fetch-Site", "same-site")],
    ] {
        let answer = server.ask("POST", "/enter", headers, &own);
        assert_eq!(answer.status, 403, "{headers:?}");
    }
    assert_eq!(server.file(), RECORDS);
    let good = server.ask("POST", "/enter", &[("Origin", &origin)], &own);
    assert_eq!(good.status, 303, "{}", good.body);
}

#[test]
fn a_form_without_the_token_is_refused() {
    let server = Server::start("colony.toml", RECORDS);
    let own = server.form("/enter", &a_clutch(), "save");
    let (_, rest) = own.split_once('&').unwrap();
    let origin = server.origin();
    let shorter = own.replacen("token=", "token=x", 1);
    for body in [rest, "", "token=", &format!("token=0&{rest}"), &shorter] {
        let answer = server.ask("POST", "/enter", &[("Origin", &origin)], body);
        assert_eq!(answer.status, 403);
    }
    assert_eq!(server.file(), RECORDS);
    // Another start has another token.
    let other = Server::start("colony.toml", RECORDS);
    let answer = other.ask("POST", "/enter", &[("Origin", &other.origin())], &own);
    assert_eq!(answer.status, 403);
}

#[test]
fn a_form_that_is_too_large_is_refused_and_the_server_lives() {
    let server = Server::start("colony.toml", RECORDS);
    let body = "x".repeat(10 << 20);
    let answer = server.ask("POST", "/enter", &[("Origin", &server.origin())], &body);
    assert_eq!(answer.status, 413);
    assert_eq!(server.get("/").status, 200);
    assert_eq!(server.file(), RECORDS);
}

#[test]
fn no_path_leads_to_another_file() {
    let server = Server::start("colony.toml", RECORDS);
    fs::write(server.path("secret.toml"), "secret = 1").unwrap();
    for path in [
        "/../secret.toml",
        "/..%2fsecret.toml",
        "/%2e%2e/secret.toml",
        "/secret.toml",
        "/colony.toml",
        "//secret.toml",
        "/animal?id=../secret.toml",
        "/animal?id=%00",
        "/clutch?id=..%2f..%2fetc%2fpasswd",
        "/gene?name=ash",
        "/change?id=nobody",
        "/enter?clutch=nothing",
    ] {
        let answer = server.get(path);
        assert_eq!(answer.status, 404, "{path}");
        assert!(!answer.body.contains("secret = 1"), "{path}");
    }
}

#[test]
fn who_sends_slowly_keeps_nobody_waiting() {
    let server = Server::start("colony.toml", RECORDS);
    let begun = Instant::now();
    let mut slow: Vec<TcpStream> = (0..8)
        .map(|_| {
            let mut stream = TcpStream::connect(("127.0.0.1", server.port)).unwrap();
            stream.write_all(b"GET / HTTP/1.1\r\nHost: ").unwrap();
            stream
        })
        .collect();
    assert_eq!(server.get("/").status, 200);
    assert!(begun.elapsed() < Duration::from_secs(5), "{:?}", begun.elapsed());
    // In the end they are hung up on.
    let first = &mut slow[0];
    first.set_read_timeout(Some(Duration::from_secs(30))).unwrap();
    let mut answer = Vec::new();
    let ended = first.read_to_end(&mut answer);
    assert!(ended.is_ok(), "still open after {:?}", begun.elapsed());
}

#[test]
fn names_from_the_file_are_only_ever_text() {
    let nasty = "<script>alert(1)<b>";
    let text = RECORDS
        .replace("Dora", nasty)
        .replace("# kept", "title = \"<img src=x onerror=alert(1)>\"\n# kept");
    let server = Server::start("colony.toml", &text);
    let coded = "%3Cscript%3Ealert(1)%3Cb%3E";
    let pages = ["/", "/animals", "/clutches", "/enter", "/labels", "/report", "/clutch?id=2024-A"];
    let own = [
        format!("/animal?id={coded}"),
        format!("/change?id={coded}"),
        format!("/enter?dam={coded}"),
    ];
    for path in pages.into_iter().chain(own.iter().map(String::as_str)) {
        let answer = server.get(path);
        assert_eq!(answer.status, 200, "{path}");
        assert!(!answer.body.contains(nasty) && !answer.body.contains("<img"), "{path}");
    }
}

#[test]
fn odd_input_is_never_a_fault() {
    let server = Server::start("colony.toml", RECORDS);
    let odd = [
        "",
        " ",
        "\0",
        "%",
        "&&==",
        "\u{202e}x",
        "'; drop",
        "1e999",
        "-0",
        "NaN",
        "9".repeat(400).as_str(),
        "\"",
        "\\",
        "\n[[animal]]",
        "unknown",
        "none",
        "normal",
        "+",
        "a/b",
        "\u{1f98e}",
    ]
    .map(str::to_owned);
    let names = [
        "id",
        "dam",
        "sire",
        "other",
        "share0",
        "hatched",
        "laid",
        "eggs",
        "slugs",
        "died",
        "note",
        "counts",
        "young",
        "c0-looks",
        "c0-unsexed",
        "y0-id",
        "y0-sex",
        "y0-call",
        "y0-looks",
        "y0-first",
        "y0-first-fit",
        "clutch",
        "do",
        "seen",
        "part",
        "misread",
        "background",
        "status",
        "seen-call",
        "seen-looks",
        "grown-call",
        "m0-line",
        "m0-with",
        "lines",
        "new",
        "sold_as",
        "e0-males",
        "counted",
    ];
    for (at, name) in names.iter().enumerate() {
        for (turn, value) in odd.iter().enumerate() {
            let mut form = a_clutch();
            form.retain(|(own, _)| own != name);
            form.extend([(*name, value.as_str()), ("y0-call", "either")]);
            let path = ["/enter", "/change", "/assume", "/mend"][(at + turn) % 4];
            let answer = server.post(path, &form, "try");
            assert!(answer.status < 500, "{path} {name}={value:?}: {}", answer.body);
        }
    }
    for value in odd {
        let coded: String = value.bytes().map(|byte| format!("%{byte:02X}")).collect();
        for path in
            ["/animal?id=", "/clutch?id=", "/gene?name=", "/enter?clutch=", "/enter?dam=", "/"]
        {
            assert!(server.get(&format!("{path}{coded}")).status < 500, "{path}{value:?}");
        }
    }
    assert_eq!(server.file(), RECORDS);
    for method in ["PUT", "DELETE", "OPTIONS", "PATCH"] {
        assert_eq!(server.ask(method, "/", &[], "").status, 405, "{method}");
    }
}
