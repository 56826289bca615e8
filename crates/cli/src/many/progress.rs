//! How far a run over a table is: noted in its journal, and shown when somebody watches.

use crate::output;
use laidwork_many::{Done, State};
use miette::{IntoDiagnostic, Result, WrapErr};
use std::fs::File;
use std::io::{self, IsTerminal, Write};
use std::path::Path;
use std::sync::{Mutex, PoisonError};
use std::time::Instant;

/// How far the run is.
pub struct Progress {
    state: Mutex<ProgressState>,
    rows: usize,
    started: Instant,
    is_watched: bool,
}

struct ProgressState {
    journal: File,
    done: usize,
    bad: usize,
    shown: Option<Instant>,
}

impl Progress {
    pub fn new(rows: usize, journal: &Path) -> Result<Progress> {
        let opened = File::options().create(true).append(true).open(journal);
        let mut journal = opened.into_diagnostic().wrap_err_with(|| format!("cannot write {}", journal.display()))?;
        // A line that an earlier run left unfinished must not swallow the next one.
        journal.write_all(b"\n").into_diagnostic()?;
        let state = ProgressState { journal, done: 0, bad: 0, shown: None };
        Ok(Progress { state: Mutex::new(state), rows, started: Instant::now(), is_watched: io::stderr().is_terminal() })
    }

    /// Notes that a row is done; its files are there.
    pub fn note(&self, done: &Done) -> Result<()> {
        let mut state = self.state.lock().unwrap_or_else(PoisonError::into_inner);
        state.journal.write_all(done.line().as_bytes()).into_diagnostic().wrap_err("cannot write the journal")
    }

    pub fn step(&self, what: State) {
        let mut state = self.state.lock().unwrap_or_else(PoisonError::into_inner);
        state.done += 1;
        state.bad += usize::from(what == State::Bad);
        let due = state.shown.is_none_or(|shown| shown.elapsed().as_millis() > 100);
        if self.is_watched && due {
            let left = self.started.elapsed().as_secs_f64() / state.done as f64 * (self.rows - state.done) as f64;
            let bad = if state.bad > 0 { format!(", {} bad", state.bad) } else { String::new() };
            output::say(&format!("\r\x1b[K{} of {} rows{bad}, {left:.0} s left", state.done, self.rows));
            state.shown = Some(Instant::now());
        }
    }

    pub fn end(&self) {
        if self.is_watched {
            output::say("\r\x1b[K");
        }
    }
}
