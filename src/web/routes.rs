//! Which page answers what. There are no other addresses: no path leads to a file.

use std::pin::Pin;
use std::sync::Arc;

use axum::body::Body;
use axum::extract::{RawQuery, State};
use axum::http::{Response, StatusCode};
use axum::middleware::from_fn_with_state;
use axum::routing::{MethodRouter, get};
use axum::{Extension, Router};
use proveout::presentation::page;

use super::desk::Desk;
use super::fields::Fields;
use super::guard::guard;
use super::pages;
use super::reply::Reply;
use super::{animal_form, assume_form, change, clutch_form, mend_form};

/// What makes an answer.
type Make = fn(&Desk, &Fields) -> Reply;

/// All pages, behind the guard.
pub fn routes(desk: Arc<Desk>) -> Router {
    Router::new()
        .route("/", shown(pages::home))
        .route("/animals", shown(pages::animals))
        .route("/animal", shown(pages::animal))
        .route("/clutches", shown(pages::clutches))
        .route("/clutch", shown(pages::clutch))
        .route("/gene", shown(pages::gene))
        .route("/enter", shown(clutch_form::show).post(taken(clutch_form::take)))
        .route("/change", shown(animal_form::show).post(taken(animal_form::take)))
        .route("/assume", shown(assume_form::show).post(taken(assume_form::take)))
        .route("/mend", shown(pages::home).post(taken(mend_form::take)))
        .route("/undo", shown(pages::undo).post(taken(change::undo)))
        .route("/paper", shown(pages::paper))
        .route("/labels", shown(pages::labels))
        .route("/report", shown(pages::report))
        .route("/page.css", shown(|_, _| Reply::file("text/css; charset=utf-8", page::style())))
        .route(
            "/page.js",
            shown(|_, _| Reply::file("text/javascript; charset=utf-8", page::script())),
        )
        .fallback(|State(desk): State<Arc<Desk>>| {
            work(desk, Fields::default(), pages::nothing_there)
        })
        .method_not_allowed_fallback(|| async {
            Reply::plain(StatusCode::METHOD_NOT_ALLOWED, "this page takes no form").send()
        })
        .layer(from_fn_with_state(Arc::clone(&desk), guard))
        .with_state(desk)
}

/// A page that is only looked at.
fn shown(make: Make) -> MethodRouter<Arc<Desk>> {
    get(move |State(desk): State<Arc<Desk>>, RawQuery(query): RawQuery| async move {
        let fields = Fields::read(query.as_deref().unwrap_or_default());
        work(desk, fields, make).await
    })
}

/// A form that was filled in; the guard has read it.
fn taken(
    make: Make,
) -> impl Fn(State<Arc<Desk>>, Extension<Fields>) -> Answering + Clone + Send + Sync + 'static {
    move |State(desk), Extension(fields)| Box::pin(work(desk, fields, make))
}

/// An answer that is being made.
type Answering = Pin<Box<dyn Future<Output = Response<Body>> + Send>>;

/// Makes an answer away from the loop that takes connections; a fault of it ends nothing else.
async fn work(desk: Arc<Desk>, fields: Fields, make: Make) -> Response<Body> {
    let made = tokio::task::spawn_blocking(move || make(&desk, &fields)).await;
    let fault = |_| {
        Reply::html_as(
            StatusCode::INTERNAL_SERVER_ERROR,
            page::fault("A fault of the program, not of your records; the file was not changed."),
        )
    };
    made.unwrap_or_else(fault).send()
}

#[cfg(test)]
mod tests {
    use axum::body::to_bytes;

    use super::super::desk::Settings;
    use super::*;

    #[test]
    fn a_fault_in_a_page_is_told_and_the_next_page_is_made() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("colony.toml");
        std::fs::write(&file, "[[animal]]\nid = \"Dora\"\n").unwrap();
        let settings = Settings {
            file,
            format: None,
            assume: Vec::new(),
            memory: 1 << 20,
            report: |_, _, _| Ok(String::new()),
        };
        let desk = Arc::new(Desk::open(settings, 1).unwrap());
        let runtime = tokio::runtime::Builder::new_current_thread().build().unwrap();
        runtime.block_on(async {
            let fault =
                work(Arc::clone(&desk), Fields::default(), |_, _| panic!("on purpose")).await;
            assert_eq!(fault.status(), StatusCode::INTERNAL_SERVER_ERROR);
            let page = to_bytes(fault.into_body(), 1 << 20).await.unwrap();
            assert!(String::from_utf8_lossy(&page).contains("A fault of the program"));
            let next = work(desk, Fields::default(), pages::animals).await;
            assert_eq!(next.status(), StatusCode::OK);
        });
    }
}
