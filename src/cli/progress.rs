//! A sign of life for work that takes over a second.

use std::io::IsTerminal;
use std::sync::mpsc::{RecvTimeoutError, Sender, channel};
use std::thread::JoinHandle;
use std::time::Duration;

use super::output;

/// Tells on standard error that work goes on, from its first second until it is dropped.
pub struct Progress {
    done: Option<Sender<()>>,
    teller: Option<JoinHandle<()>>,
}

impl Progress {
    /// Begins; `what` is what is being done: "working out the genotypes".
    pub fn begin(what: &'static str) -> Self {
        let (done, wait) = channel::<()>();
        let teller = std::thread::spawn(move || {
            let terminal = std::io::stderr().is_terminal();
            let mut seconds = 0;
            while wait.recv_timeout(Duration::from_secs(1)) == Err(RecvTimeoutError::Timeout) {
                seconds += 1;
                if terminal {
                    output::tell(&format!("\r{what} … {seconds} s"));
                } else if seconds == 1 {
                    output::tell(&format!("{what} …\n"));
                }
            }
            if terminal && seconds > 0 {
                output::tell("\r\u{1b}[2K");
            }
        });
        Progress { done: Some(done), teller: Some(teller) }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        drop(self.done.take());
        if let Some(teller) = self.teller.take() {
            let _ = teller.join();
        }
    }
}
