//! `laidwork completions` and `laidwork man`: what a shell wants to know of the command.

use crate::args::{Cli, Completions, Man};
use crate::{Verdict, output};
use clap::CommandFactory;
use miette::{IntoDiagnostic, Result};

/// Prints the completions of a shell.
pub fn completions(args: Completions) -> Result<Verdict> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut Cli::command(), "laidwork", &mut script);
    output::print(&script)?;
    Ok(Verdict::Passed)
}

/// Prints the manual page, or writes one for each subcommand too.
pub fn man(args: Man) -> Result<Verdict> {
    let Some(folder) = args.output else {
        output::print(&page(Cli::command())?)?;
        return Ok(Verdict::Passed);
    };
    output::make_folder(&folder)?;
    let mut command = Cli::command();
    command.build(); // gives subcommands their full names
    output::write(&folder.join("laidwork.1"), &page(command.clone())?)?;
    for subcommand in command.get_subcommands().filter(|subcommand| subcommand.get_name() != "help") {
        let name = format!("laidwork-{}", subcommand.get_name());
        let file = folder.join(format!("{name}.1"));
        output::write(&file, &page(subcommand.clone())?)?;
    }
    Ok(Verdict::Passed)
}

fn page(command: clap::Command) -> Result<Vec<u8>> {
    let mut page = Vec::new();
    clap_mangen::Man::new(command).render(&mut page).into_diagnostic()?;
    Ok(page)
}
