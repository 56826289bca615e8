//! Tells what is being done when it takes longer than a second.
//!
//! One line on standard error that is written over and cleared at the end; not
//! a byte of it when standard error is no terminal.

use std::io::{self, IsTerminal, Write};
use std::sync::{Arc, Condvar, Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// Work shorter than this is not told of.
const PATIENCE: Duration = Duration::from_secs(1);

/// From line to line.
const STEP: Duration = Duration::from_millis(200);

/// What is being done, for as long as it lives.
pub struct Progress {
    shared: Arc<Shared>,
    teller: Option<JoinHandle<()>>,
}

#[derive(Default)]
struct Shared {
    state: Mutex<State>,
    changed: Condvar,
}

#[derive(Default)]
struct State {
    doing: String,
    over: bool,
}

impl Progress {
    /// On standard error, when that is a terminal.
    pub fn start(doing: &str) -> Progress {
        if io::stderr().is_terminal() { Progress::on(io::stderr(), doing) } else { Progress::silent() }
    }

    fn silent() -> Progress {
        Progress { shared: Arc::default(), teller: None }
    }

    fn on(to: impl Write + Send + 'static, doing: &str) -> Progress {
        let mut progress = Progress::silent();
        progress.now(doing);
        let shared = progress.shared.clone();
        progress.teller = Some(std::thread::spawn(move || tell(&shared, to)));
        progress
    }

    /// What is done from now on.
    pub fn now(&self, doing: &str) {
        doing.clone_into(&mut self.shared.state.lock().unwrap_or_else(PoisonError::into_inner).doing);
    }

    /// Ends it and clears its line.
    pub fn end(&mut self) {
        self.shared.state.lock().unwrap_or_else(PoisonError::into_inner).over = true;
        self.shared.changed.notify_all();
        if let Some(teller) = self.teller.take() {
            let _ = teller.join();
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.end();
    }
}

/// Writes the line over and over until it is over.
fn tell(shared: &Shared, mut to: impl Write) {
    let start = Instant::now();
    let mut told = false;
    let mut state = shared.state.lock().unwrap_or_else(PoisonError::into_inner);
    while !state.over {
        let wait = if told { STEP } else { PATIENCE.saturating_sub(start.elapsed()) };
        let waited = shared.changed.wait_timeout_while(state, wait, |state| !state.over);
        state = waited.unwrap_or_else(PoisonError::into_inner).0;
        if !state.over {
            let _ = write!(to, "\r\x1b[K{}, {} s", state.doing, start.elapsed().as_secs());
            let _ = to.flush();
            told = true;
        }
    }
    if told {
        let _ = write!(to, "\r\x1b[K");
        let _ = to.flush();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Bytes that can still be read once they are given away.
    #[derive(Clone, Default)]
    struct Paper(Arc<Mutex<Vec<u8>>>);

    impl Write for Paper {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            self.0.lock().unwrap().extend_from_slice(bytes);
            Ok(bytes.len())
        }

        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    fn written(after: Duration) -> String {
        let paper = Paper::default();
        let progress = Progress::on(paper.clone(), "reading");
        progress.now("sewing");
        std::thread::sleep(after);
        drop(progress);
        String::from_utf8(paper.0.lock().unwrap().clone()).unwrap()
    }

    #[test]
    fn short_work_is_not_told_of() {
        assert_eq!(written(Duration::from_millis(20)), "");
    }

    #[test]
    fn long_work_is_told_of_and_cleared() {
        let text = written(PATIENCE + STEP * 3);
        assert!(text.starts_with("\r\x1b[Ksewing, 1 s") && text.ends_with("\r\x1b[K"), "{text:?}");
    }
}
