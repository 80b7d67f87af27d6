//! Who may ask: only a page of our own, in a browser on this machine.
//!
//! Another page open in the same browser can send requests here, and a name that is made to lead to
//! this machine (DNS rebinding) can make them look like its own. So the name that was asked for must
//! be one of ours, and whatever would change something must come from a page of ours and carry the
//! token that only such a page has.

use std::sync::Arc;
use std::time::Duration;

use axum::body::Body;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderValue, Method, Response, StatusCode, header};
use axum::middleware::Next;
use http_body_util::BodyExt;

use super::desk::Desk;
use super::fields::Fields;
use super::reply::Reply;

/// A longer form is refused.
const LONGEST_FORM: usize = 256 << 10;
/// So much of a form that is too long is taken and thrown away, so that its sender can be told.
const TAKEN_AT_MOST: usize = 64 << 20;
/// A form that is not here after so long is refused.
const PATIENCE: Duration = Duration::from_secs(15);

/// Turns away what may not ask, reads the form of what may, and marks every answer.
pub async fn guard(State(desk): State<Arc<Desk>>, request: Request, next: Next) -> Response<Body> {
    let mut response = match admitted(&desk, request).await {
        Ok(request) => next.run(request).await,
        Err(reply) => (*reply).send(),
    };
    let headers = response.headers_mut();
    for (name, value) in [
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
        (header::CACHE_CONTROL, "no-store"),
        (header::X_FRAME_OPTIONS, "DENY"),
        (header::HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
        (header::HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    let strictest = HeaderValue::from_static("default-src 'none'; frame-ancestors 'none'");
    headers.entry(header::CONTENT_SECURITY_POLICY).or_insert(strictest);
    response
}

async fn admitted(desk: &Desk, request: Request) -> Result<Request, Box<Reply>> {
    let refuse = |status, words| Err(Box::new(Reply::plain(status, words)));
    if !named_ours(request.headers(), desk.port) {
        return refuse(StatusCode::MISDIRECTED_REQUEST, "no such host here");
    }
    match *request.method() {
        Method::GET | Method::HEAD => return Ok(request),
        Method::POST => {}
        _ => return refuse(StatusCode::METHOD_NOT_ALLOWED, "only GET and POST are answered"),
    }
    if !from_our_page(request.headers(), desk.port) {
        return refuse(StatusCode::FORBIDDEN, "this form was not sent by a page of this program");
    }
    let (mut parts, body) = request.into_parts();
    let body = match tokio::time::timeout(PATIENCE, read(body)).await {
        Err(_) => return refuse(StatusCode::REQUEST_TIMEOUT, "the form took too long to arrive"),
        Ok(Err(())) => return refuse(StatusCode::BAD_REQUEST, "the form did not arrive whole"),
        Ok(Ok(None)) => {
            return refuse(
                StatusCode::PAYLOAD_TOO_LARGE,
                "the form is too large; nothing was saved",
            );
        }
        Ok(Ok(Some(body))) => body,
    };
    let fields = Fields::read(&String::from_utf8_lossy(&body));
    if !same(fields.raw("token").as_bytes(), desk.token.as_bytes()) {
        return refuse(
            StatusCode::FORBIDDEN,
            "this page is from before the program was started anew; nothing was saved. Go back, \
             load the page again and enter it once more",
        );
    }
    parts.extensions.insert(fields);
    Ok(Request::from_parts(parts, Body::empty()))
}

/// The whole form; `None` when it is too large.
async fn read(mut body: Body) -> Result<Option<Vec<u8>>, ()> {
    let mut kept = Vec::new();
    let mut taken = 0usize;
    while let Some(frame) = body.frame().await {
        let Ok(data) = frame.map_err(|_| ())?.into_data() else { continue };
        taken = taken.saturating_add(data.len());
        if taken <= LONGEST_FORM {
            kept.extend_from_slice(&data);
        }
        if taken > TAKEN_AT_MOST {
            break;
        }
    }
    Ok((taken <= LONGEST_FORM).then_some(kept))
}

fn one(headers: &HeaderMap, name: header::HeaderName) -> Option<&str> {
    let mut all = headers.get_all(name).iter();
    let first = all.next()?.to_str().ok()?;
    all.next().is_none().then_some(first)
}

fn ours(port: u16) -> [String; 3] {
    ["127.0.0.1", "localhost", "[::1]"].map(|name| format!("{name}:{port}"))
}

fn named_ours(headers: &HeaderMap, port: u16) -> bool {
    one(headers, header::HOST)
        .is_some_and(|host| ours(port).iter().any(|own| own.eq_ignore_ascii_case(host)))
}

/// Whether a page of ours sent it.
///
/// A browser that is told to send no referrer sends `Origin: null` with a form; then the other
/// header, which no page can write, has to say that it is the same origin.
fn from_our_page(headers: &HeaderMap, port: u16) -> bool {
    let site = one(headers, header::HeaderName::from_static("sec-fetch-site"));
    let sent = headers.contains_key("sec-fetch-site");
    let named = one(headers, header::ORIGIN);
    let own = named.is_some_and(|origin| {
        ours(port).iter().any(|own| origin.eq_ignore_ascii_case(&format!("http://{own}")))
    });
    let withheld = named.is_none_or(|origin| origin == "null");
    match sent {
        true => site == Some("same-origin") && (own || withheld),
        false => own,
    }
}

/// Whether two texts are the same, in a time that does not tell how much of them is.
fn same(one: &[u8], other: &[u8]) -> bool {
    let differ = one.iter().zip(other).fold(0u8, |seen, (a, b)| seen | (a ^ b));
    one.len() == other.len() && std::hint::black_box(differ) == 0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn headers(pairs: &[(&'static str, &'static str)]) -> HeaderMap {
        pairs
            .iter()
            .map(|(name, value)| {
                (header::HeaderName::from_static(name), HeaderValue::from_static(value))
            })
            .collect()
    }

    #[test]
    fn only_our_own_names_are_answered() {
        for good in ["127.0.0.1:80", "localhost:80", "LOCALHOST:80", "[::1]:80"] {
            assert!(named_ours(&headers(&[("host", good)]), 80), "{good}");
        }
        for bad in ["127.0.0.1", "127.0.0.1:81", "evil.example:80", "localhost.evil.example:80", ""]
        {
            assert!(!named_ours(&headers(&[("host", bad)]), 80), "{bad}");
        }
        assert!(!named_ours(&headers(&[]), 80));
        let mut two = headers(&[("host", "localhost:80")]);
        two.append(header::HOST, HeaderValue::from_static("evil.example"));
        assert!(!named_ours(&two, 80));
    }

    #[test]
    fn only_our_own_pages_may_send_forms() {
        let site = "sec-fetch-site";
        for good in [
            &[("origin", "http://127.0.0.1:80")][..],
            &[("origin", "http://localhost:80"), (site, "same-origin")],
            &[("origin", "null"), (site, "same-origin")],
            &[(site, "same-origin")],
        ] {
            assert!(from_our_page(&headers(good), 80), "{good:?}");
        }
        for bad in [
            &[][..],
            &[("origin", "null")],
            &[("origin", "null"), (site, "cross-site")],
            &[("origin", "http://127.0.0.1:80"), (site, "cross-site")],
            &[("origin", "http://127.0.0.1:80"), (site, "same-site")],
            &[("origin", "http://evil.example"), (site, "same-origin")],
            &[("origin", "http://evil.example")],
            &[("origin", "http://127.0.0.1:81")],
            &[("origin", "https://127.0.0.1:80")],
            &[(site, "none")],
        ] {
            assert!(!from_our_page(&headers(bad), 80), "{bad:?}");
        }
    }

    #[test]
    fn tokens_are_the_same_or_not() {
        assert!(same(b"abc", b"abc"));
        assert!(!same(b"abc", b"abd") && !same(b"ab", b"abc") && !same(b"", b"a"));
    }
}
