//! What is sent back: a page, a part of one, a file of our own, or the way to another page.

use axum::body::Body;
use axum::http::{HeaderValue, Response, StatusCode, header};

/// An answer to one request.
#[derive(Clone, Debug, PartialEq)]
pub struct Reply {
    /// Its status.
    pub status: StatusCode,
    /// What kind of text it is.
    pub kind: &'static str,
    /// The text.
    pub text: String,
    /// Where to go instead.
    pub location: Option<String>,
    /// A style sheet inside of the page, which the browser may use only if it is named.
    pub style: Option<String>,
}

impl Reply {
    /// A page, or a part of one.
    pub fn html(text: String) -> Self {
        Reply::of(StatusCode::OK, "text/html; charset=utf-8", text)
    }

    /// A page with another status.
    pub fn html_as(status: StatusCode, text: String) -> Self {
        Reply::of(status, "text/html; charset=utf-8", text)
    }

    /// A file of our own.
    pub fn file(kind: &'static str, text: String) -> Self {
        Reply::of(StatusCode::OK, kind, text)
    }

    /// Plain words, where no page can be made.
    pub fn plain(status: StatusCode, text: &str) -> Self {
        Reply::of(status, "text/plain; charset=utf-8", format!("{text}\n"))
    }

    /// Go there, and ask with GET.
    pub fn see(location: String) -> Self {
        let reply = Reply::of(StatusCode::SEE_OTHER, "text/plain; charset=utf-8", String::new());
        Reply { location: Some(location), ..reply }
    }

    fn of(status: StatusCode, kind: &'static str, text: String) -> Self {
        Reply { status, kind, text, location: None, style: None }
    }

    /// The answer as it is sent.
    pub fn send(self) -> Response<Body> {
        let mut response = Response::new(Body::from(self.text));
        *response.status_mut() = self.status;
        let headers = response.headers_mut();
        headers.insert(header::CONTENT_TYPE, HeaderValue::from_static(self.kind));
        if let Some(Ok(location)) = self.location.as_deref().map(HeaderValue::from_str) {
            headers.insert(header::LOCATION, location);
        }
        let policy = policy(self.style.as_deref());
        if let Ok(policy) = HeaderValue::from_str(&policy) {
            headers.insert(header::CONTENT_SECURITY_POLICY, policy);
        }
        response
    }
}

/// What a page may load and where it may send: itself, and nothing else.
fn policy(style: Option<&str>) -> String {
    let own = style.map_or(String::new(), |hash| format!(" 'sha256-{hash}'"));
    format!(
        "default-src 'none'; script-src 'self'; style-src 'self'{own}; img-src 'self' data:; \
         connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
    )
}
