//! Taking connections, on this machine only.

use std::io;
use std::net::Ipv4Addr;
use std::sync::Arc;
use std::time::Duration;

use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::Semaphore;

use super::desk::{Desk, Settings};
use super::routes::routes;

/// Headers that are not here after so long are not waited for.
const HEADERS: Duration = Duration::from_secs(10);
/// A connection is not kept for longer than this.
const CONNECTION: Duration = Duration::from_secs(600);
/// So many connections are open at most; a browser opens six.
const CONNECTIONS: usize = 64;
/// Work that is running when the program is told to end is waited for this long.
const LAST_WORK: Duration = Duration::from_secs(2);

/// Serves the page until Ctrl-C; `ready` is told its address once it can be opened.
///
/// # Errors
///
/// When the port is taken, or the records file cannot be read.
pub fn serve(settings: Settings, port: u16, ready: impl FnOnce(&str)) -> io::Result<()> {
    let mut runtime = tokio::runtime::Builder::new_current_thread();
    let runtime = runtime.enable_all().max_blocking_threads(8).build()?;
    let ended = runtime.block_on(async {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, port)).await?;
        let port = listener.local_addr()?.port();
        let desk = Arc::new(Desk::open(settings, port)?);
        let first = Arc::clone(&desk);
        // The first page is there sooner, and so is the first change that is tried.
        tokio::task::spawn_blocking(move || first.current().map(|sheet| sheet.warm()));
        ready(&format!("http://127.0.0.1:{port}/"));
        tokio::select! {
            () = accept(listener, desk) => Ok(()),
            stopped = tokio::signal::ctrl_c() => stopped,
        }
    });
    // A save that has begun is finished.
    runtime.shutdown_timeout(LAST_WORK);
    ended
}

async fn accept(listener: TcpListener, desk: Arc<Desk>) {
    let room = Arc::new(Semaphore::new(CONNECTIONS));
    let routes = routes(desk);
    loop {
        let Ok(place) = Arc::clone(&room).acquire_owned().await else { return };
        match listener.accept().await {
            Ok((stream, _)) => {
                let service = TowerToHyperService::new(routes.clone());
                tokio::spawn(async move {
                    talk(stream, service).await;
                    drop(place);
                });
            }
            // The system has no more connections to give: it may later.
            Err(_) => tokio::time::sleep(Duration::from_millis(100)).await,
        }
    }
}

async fn talk(stream: TcpStream, service: TowerToHyperService<axum::Router>) {
    // An answer is small, and the next question comes at once.
    let _ = stream.set_nodelay(true);
    let mut http = http1::Builder::new();
    http.timer(TokioTimer::new()).header_read_timeout(HEADERS).max_buf_size(64 << 10);
    let talk = http.serve_connection(TokioIo::new(stream), service);
    // Whoever hangs up in the middle of it need not be told.
    let _ = tokio::time::timeout(CONNECTION, talk).await;
}
