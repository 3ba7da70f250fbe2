//! `schema`, `completions`, `manual`: what an editor, a shell and `man` want to know of the command, written from its own declarations.

use std::path::PathBuf;

use clap::{Args, Command, CommandFactory};
use clap_complete::Shell;
use clap_mangen::Man;

use super::args::Cli;
use super::{Failure, out};
use crate::model::scenario_schema;

#[derive(Debug, Args)]
pub(super) struct Completions {
    /// The shell
    #[arg(value_enum)]
    pub shell: Shell,
}

#[derive(Debug, Args)]
pub(super) struct Manual {
    /// Folder for the pages, made where it is missing
    #[arg(short, long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Replace files that are there
    #[arg(long, requires = "out")]
    pub force: bool,
}

/// Prints the schema of scenario.toml.
pub(super) fn schema() -> Result<(), Failure> {
    let text = serde_json::to_string_pretty(&scenario_schema());
    out::data((text.map_err(|error| Failure::internal(error.to_string()))? + "\n").as_bytes())
}

/// Prints the completions of a shell.
pub(super) fn completions(args: &Completions) -> Result<(), Failure> {
    let mut text = Vec::new();
    clap_complete::generate(args.shell, &mut Cli::command(), "flipcount", &mut text);
    out::data(&text)
}

/// Prints the manual page of the command as a whole, or writes those of all commands into a folder.
pub(super) fn manual(args: &Manual) -> Result<(), Failure> {
    let mut command = Cli::command().disable_help_subcommand(true);
    // Gives commands the names and options that they have beside those of their own.
    command.build();
    let Some(folder) = &args.out else {
        return out::data(&rendered(command)?);
    };
    out::folder(folder)?;
    let pages: Vec<Command> = command.get_subcommands().cloned().chain([command.clone()]).collect();
    let mut files: Vec<(PathBuf, Vec<u8>)> = Vec::with_capacity(pages.len());
    for page in pages {
        let name = page.get_display_name().unwrap_or_else(|| page.get_name());
        let place = out::target(&folder.join(format!("{name}.1")), args.force)?;
        files.push((place, rendered(page)?));
    }
    out::put_all(folder, &files, args.force)?;
    out::aside(&format!("{} pages to {}\n", files.len(), folder.display()));
    Ok(())
}

fn rendered(command: Command) -> Result<Vec<u8>, Failure> {
    let mut page = Vec::new();
    Man::new(command).render(&mut page)?;
    Ok(page)
}

#[cfg(test)]
mod tests {
    use clap::Parser;

    use super::*;

    /// Words as a shell splits them: blanks and double quotes.
    fn words(line: &str) -> Vec<String> {
        let pieces = line.split('"').enumerate();
        let split = pieces.flat_map(|(at, piece)| match at % 2 {
            0 => piece.split_whitespace().map(str::to_owned).collect(),
            _ => vec![piece.to_owned()],
        });
        split.collect()
    }

    #[test]
    fn every_example_of_the_help_is_understood() {
        let mut examples = 0;
        let mut command = Cli::command();
        command.build();
        for one in command.get_subcommands().chain([&command]) {
            let help = one.get_after_help().map(ToString::to_string).unwrap_or_default();
            for line in help.lines().filter_map(|line| line.strip_prefix("  flipcount ")) {
                let line = line.split(" > ").next().unwrap_or_default();
                let args = [vec!["flipcount".to_owned()], words(line)].concat();
                let read = Cli::try_parse_from(args);
                assert!(read.is_ok(), "{line}: {}", read.expect_err("a fault"));
                examples += 1;
            }
        }
        assert!(examples > 30, "{examples}");
    }
}
