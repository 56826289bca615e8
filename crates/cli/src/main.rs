//! The laidwork command: the only crate that reads, writes and prints.
//!
//! Exit codes: 0 done, 1 done but a check failed, a row of a table was bad or text was left out for want of a font that
//! has it, 2 bad input or usage.

mod args;
mod check;
mod colourways;
mod convert;
mod edited;
mod input;
mod many;
mod output;
mod progress;
mod reads;
mod recipe;
mod report;
mod sew;
mod shell;
mod show;
mod swatch;
mod threads;
mod tune;
mod view;
mod whole;

use args::{Cli, Command};
use clap::Parser;
use std::process::ExitCode;

/// Whether everything that was checked is as it should be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Verdict {
    /// Every check passed, or there was none.
    Passed,
    /// Done, but a check failed or something drawn was left out.
    Failed,
}

/// Keeps panics silent that the reader of drawings turns into errors of one line.
fn quiet_reader() {
    let loud = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |info| {
        if std::thread::current().name() != Some(laidwork_drawing::THREAD) {
            loud(info);
        }
    }));
}

fn main() -> ExitCode {
    quiet_reader();
    let result = match Cli::parse().command {
        Command::Sew(args) => sew::run(args),
        Command::Recipe(args) => recipe::run(args),
        Command::Report(args) => report::run(args),
        Command::Check(args) => check::run(args),
        Command::View(args) => view::run(args),
        Command::Threads(args) => threads::run(args),
        Command::Tune(args) => tune::run(args),
        Command::Many(args) => many::run(args),
        Command::Swatch(args) => swatch::run(args),
        Command::Convert(args) => convert::run(args),
        Command::Completions(args) => shell::completions(args),
        Command::Man(args) => shell::man(args),
    };
    match result {
        Ok(Verdict::Passed) => ExitCode::SUCCESS,
        Ok(Verdict::Failed) => ExitCode::from(1),
        Err(report) => {
            output::say(&format!("{}\n", show::error(&report)));
            ExitCode::from(2)
        }
    }
}
