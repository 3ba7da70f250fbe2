//! README.md: its files load, and its commands print today what it shows.
//!
//! A block that follows `<!-- file: PATH -->` is that file. A `console` block holds commands after `$ ` and what a terminal 100 columns wide
//! shows for them; a line `...` stands for any lines that are left out. All of it happens in one folder, from top to bottom.
//!
//! After a change that is meant, write the output anew with `FLIPCOUNT_BLESS=1 cargo test readme`: where a block leaves lines out, as many
//! before and after the gap are kept. A block with several gaps is left to a person.

use std::fmt::Write as _;
use std::fs::{self, File};
use std::path::Path;
use std::process::Command;

use crate::help::project;

/// A fenced block: the first line of its content (from 0), the file it is, its language, its lines.
struct Block<'a> {
    first: usize,
    file: Option<&'a str>,
    language: &'a str,
    lines: Vec<&'a str>,
}

/// A command and what is shown for it.
struct Shown<'a> {
    command: &'a str,
    lines: Vec<&'a str>,
}

const GAP: &str = "...";

fn blocks(text: &str) -> Vec<Block<'_>> {
    let lines: Vec<&str> = text.lines().collect();
    let mut result = Vec::new();
    let mut at = 0;
    while at < lines.len() {
        let Some(language) = lines[at].strip_prefix("```") else {
            at += 1;
            continue;
        };
        let end = (at + 1..lines.len())
            .find(|&i| lines[i] == "```")
            .unwrap_or_else(|| panic!("the block in line {} has no end", at + 1));
        let before = at.checked_sub(1).map_or("", |i| lines[i]);
        result.push(Block {
            first: at + 1,
            file: before.strip_prefix("<!-- file: ").and_then(|rest| rest.strip_suffix(" -->")),
            language,
            lines: lines[at + 1..end].to_vec(),
        });
        at = end + 1;
    }
    result
}

fn shown<'a>(block: &Block<'a>) -> Vec<Shown<'a>> {
    let mut result: Vec<Shown> = Vec::new();
    for &line in &block.lines {
        match (line.strip_prefix("$ "), result.last_mut()) {
            (Some(command), _) => result.push(Shown { command, lines: Vec::new() }),
            (None, Some(last)) => last.lines.push(line),
            (None, None) => panic!("a console block begins with `{line}`"),
        }
    }
    result
}

/// The folder in which everything happens, and the exit code of the last command.
struct Terminal {
    folder: tempfile::TempDir,
    code: i32,
}

impl Terminal {
    fn new() -> Terminal {
        let folder = tempfile::tempdir().expect("a folder");
        for name in ["scenarios", "pricing"] {
            copy(&project(name), &folder.path().join(name));
        }
        Terminal { folder, code: 0 }
    }

    fn save(&self, path: &str, lines: &[&str]) {
        let path = self.folder.path().join(path);
        fs::create_dir_all(path.parent().expect("a folder")).expect("a folder is made");
        fs::write(path, lines.join("\n") + "\n").expect("a file is written");
    }

    /// What a command shows.
    fn run(&mut self, command: &str) -> String {
        let arguments = words(command);
        let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
        match words.as_slice() {
            ["flipcount", rest @ ..] | ["cargo", "run", "--", rest @ ..] => self.flipcount(rest),
            ["cat", file] => {
                let text = fs::read_to_string(self.folder.path().join(file));
                text.unwrap_or_else(|error| panic!("cat {file}: {error}"))
            }
            ["echo", "$?"] => format!("{}\n", self.code),
            _ => panic!("README.md shows a command that the test does not know: {command}"),
        }
    }

    /// Both streams as they come, as in a terminal; `2>/dev/null` leaves standard error out.
    fn flipcount(&mut self, arguments: &[&str]) -> String {
        let (arguments, quiet) = match arguments {
            [rest @ .., "2>/dev/null"] => (rest, true),
            all => (all, false),
        };
        // Beside the folder, so that no command finds it.
        let screen = tempfile::NamedTempFile::new().expect("a file for the output");
        let stream = || -> File { screen.reopen().expect("the output is open") };
        let out = File::options().append(true).open(screen.path()).expect("the output is open");
        let mut command = Command::new(env!("CARGO_BIN_EXE_flipcount"));
        command
            .args(arguments)
            .env("NO_COLOR", "1")
            .env("COLUMNS", "100")
            .env_remove("CLICOLOR_FORCE")
            .current_dir(self.folder.path())
            .stdout(out.try_clone().expect("a second handle"));
        if quiet {
            command.stderr(std::process::Stdio::null());
        } else {
            command.stderr(out);
        }
        let status = command.status().expect("the command runs");
        self.code = status.code().expect("an exit code");
        std::io::read_to_string(stream()).expect("the output is text")
    }
}

/// Words as a shell splits them, as far as the README needs it: blanks and double quotes.
fn words(command: &str) -> Vec<String> {
    let mut result = vec![String::new()];
    let mut quoted = false;
    for c in command.chars() {
        match c {
            '"' => quoted = !quoted,
            ' ' if !quoted => result.push(String::new()),
            _ => result.last_mut().expect("a word").push(c),
        }
    }
    result.retain(|word| !word.is_empty());
    result
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("a folder is made");
    for entry in fs::read_dir(from).expect("a folder is read") {
        let entry = entry.expect("an entry is read");
        // Runs that someone has kept beside a scenario are none of the page's.
        if entry.file_name().to_string_lossy().starts_with("runs.jsonl") {
            continue;
        }
        let target = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy(&entry.path(), &target);
        } else {
            fs::copy(entry.path(), target).expect("a file is copied");
        }
    }
}

/// True if the lines are the pattern's, each `...` of it standing for any number of them.
fn matches(pattern: &[&str], lines: &[&str]) -> bool {
    let pieces: Vec<&[&str]> = pattern.split(|&line| line == GAP).collect();
    let [first, middle @ .., last] = pieces.as_slice() else {
        return pattern == lines;
    };
    let Some(mut rest) = lines.strip_prefix(*first) else {
        return false;
    };
    for piece in middle {
        let Some(at) = (0..=rest.len()).find(|&i| rest[i..].starts_with(piece)) else {
            return false;
        };
        rest = &rest[at + piece.len()..];
    }
    rest.ends_with(last)
}

/// The lines to show now, with the gap where it was. Where there are several, no one knows which lines were meant.
fn blessed<'a>(pattern: &[&'a str], lines: &[&'a str]) -> Vec<&'a str> {
    let Some(before) = pattern.iter().position(|&line| line == GAP) else {
        return lines.to_vec();
    };
    if pattern[before + 1..].contains(&GAP) {
        return pattern.to_vec();
    }
    let after = (pattern.len() - before - 1).min(lines.len());
    let head = &lines[..before.min(lines.len() - after)];
    [head, &[GAP], &lines[lines.len() - after..]].concat()
}

/// Runs the README. Leaves its text as it should be, and every difference in words.
fn play(text: &str) -> (String, String) {
    let mut terminal = Terminal::new();
    let mut new: Vec<String> = text.lines().map(str::to_owned).collect();
    let mut wrong = String::new();
    // From the top for what happens, written back from the bottom so that places stay.
    let mut edits = Vec::new();
    for block in blocks(text) {
        if let Some(file) = block.file {
            terminal.save(file, &block.lines);
        }
        if block.language != "console" {
            continue;
        }
        let mut now = Vec::new();
        for part in shown(&block) {
            now.push(format!("$ {}", part.command));
            let output = terminal.run(part.command);
            // Editors take blanks at the end of a line away.
            let lines: Vec<&str> = output.lines().map(str::trim_end).collect();
            if !matches(&part.lines, &lines) {
                let shown = part.lines.join("\n");
                let _ =
                    writeln!(wrong, "$ {}\n--- shown\n{shown}\n--- now\n{output}", part.command);
            }
            now.extend(blessed(&part.lines, &lines).iter().map(|&l| l.trim_end().to_owned()));
        }
        edits.push((block.first..block.first + block.lines.len(), now));
    }
    for (range, lines) in edits.into_iter().rev() {
        new.splice(range, lines);
    }
    (new.join("\n") + "\n", wrong)
}

#[test]
fn every_command_prints_what_is_shown() {
    let path = project("README.md");
    let text = fs::read_to_string(&path).expect("README.md");
    let (new, wrong) = play(&text);
    if std::env::var_os("FLIPCOUNT_BLESS").is_some() {
        fs::write(&path, new).expect("README.md is written");
        return;
    }
    assert!(wrong.is_empty(), "README.md shows what is no longer printed\n{wrong}");
}

/// A block that is a file, by its path.
fn saved<'a>(blocks: &'a [Block<'a>], path: &str) -> &'a Block<'a> {
    let found = blocks.iter().find(|b| b.file == Some(path));
    found.unwrap_or_else(|| panic!("README.md has no file {path}"))
}

fn loaded(lines: &[&str]) -> flipcount::model::Loaded {
    let terminal = Terminal::new();
    terminal.save("shown/scenario.toml", lines);
    let path = terminal.folder.path().join("shown");
    flipcount::model::load(&path, &flipcount::model::Overrides::default())
}

#[test]
fn the_first_commands_of_the_page_are_there_and_run() {
    let text = fs::read_to_string(project("README.md")).expect("README.md");
    let text = text.split("\n## ").next().expect("the top of the page");
    let commands: Vec<&str> =
        blocks(text).into_iter().filter(|b| b.language == "sh").flat_map(|b| b.lines).collect();
    assert_eq!(
        commands,
        [
            "cargo run -- compare scenarios/river-sonde",
            "cargo test",
            "cargo install --locked --path ."
        ]
    );
    let mut terminal = Terminal::new();
    terminal.run(commands[0]);
    assert_eq!(terminal.code, 0);
    let gate = fs::read_to_string(project(".ci/run")).expect(".ci/run");
    assert!(gate.lines().any(|line| line == commands[1]));
}

/// What is to be typed into a shell further down, in a home of its own.
#[cfg(unix)]
#[test]
fn the_lines_for_a_shell_run() {
    let text = fs::read_to_string(project("README.md")).expect("README.md");
    let (top, rest) = text.split_once("\n## ").expect("sections");
    assert!(top.contains("```sh"));
    let shown = blocks(rest);
    let lines: Vec<&str> =
        shown.iter().filter(|b| b.language == "sh").flat_map(|b| b.lines.clone()).collect();
    let home = tempfile::tempdir().expect("a home");
    let command = Path::new(env!("CARGO_BIN_EXE_flipcount")).parent().expect("a folder");
    let path = std::env::var("PATH").unwrap_or_default();
    let status = Command::new("sh")
        .args(["-ec", &lines.join("\n")])
        .env("HOME", home.path())
        .env("PATH", format!("{}:{path}", command.display()))
        .current_dir(home.path())
        .status()
        .expect("a shell runs");
    assert!(status.success(), "{lines:?}");
    for file in [
        ".local/share/bash-completion/completions/flipcount",
        ".local/share/man/man1/flipcount-compare.1",
        "my-scenario/scenario.schema.json",
    ] {
        assert!(fs::metadata(home.path().join(file)).is_ok_and(|file| file.len() > 500), "{file}");
    }
}

/// A block is run, or it is a file that a command is run on; else it says that it is mere text.
#[test]
fn every_block_is_run_or_loaded_or_says_that_it_is_text() {
    let text = fs::read_to_string(project("README.md")).expect("README.md");
    let all = blocks(&text);
    let commands: Vec<&str> = all
        .iter()
        .filter(|b| b.language == "console")
        .flat_map(|b| b.lines.iter().filter(|line| line.starts_with("$ ")).copied())
        .collect();
    for block in &all {
        let is_asked = |path: &str| {
            let mut folders = path.split('/');
            let folder = match (folders.next(), folders.next()) {
                // The sheets of a scenario of that name.
                (Some("pricing"), Some(name)) => format!("scenarios/{name}"),
                (folder, _) => folder.unwrap_or_default().to_owned(),
            };
            commands.iter().any(|command| words(command).contains(&folder))
        };
        let fine = match block.language {
            "console" | "sh" => block.file.is_none(),
            "text" => true,
            _ => block.file.is_some_and(is_asked),
        };
        assert!(fine, "the {} block in line {} is never tried", block.language, block.first);
    }
}

#[test]
fn the_ten_numbers_load_without_a_sheet_and_without_a_warning() {
    let text = fs::read_to_string(project("README.md")).expect("README.md");
    let blocks = blocks(&text);
    let ten = saved(&blocks, "collar/scenario.toml");
    let loaded = loaded(&ten.lines);
    assert!(loaded.log.found.is_empty(), "{:?}", loaded.log.found);
    assert!(loaded.scenario.is_some());
    // What a reader counts: keys whose value holds a number.
    let numbers = ten
        .lines
        .iter()
        .filter_map(|line| line.split_once('='))
        .filter(|(_, value)| value.chars().any(|c| c.is_ascii_digit()))
        .count();
    assert_eq!(numbers, 10);
}

#[test]
fn the_grown_scenario_loads_and_that_with_slips_does_not() {
    let text = fs::read_to_string(project("README.md")).expect("README.md");
    let blocks = blocks(&text);
    let grown = loaded(&saved(&blocks, "grown/scenario.toml").lines);
    assert!(grown.log.found.is_empty(), "{:?}", grown.log.found);
    let slips = loaded(&saved(&blocks, "slip/scenario.toml").lines);
    assert_eq!(slips.log.found.len(), 4);
    assert!(slips.scenario.is_none());
}

#[test]
fn a_gap_stands_for_lines_and_nothing_else_does() {
    let lines = ["a", "b", "c", "d"];
    assert!(matches(&["a", "b", "c", "d"], &lines));
    assert!(matches(&["a", GAP, "d"], &lines));
    assert!(matches(&[GAP, "b", GAP], &lines));
    assert!(!matches(&["a", "b", "c"], &lines));
    assert!(!matches(&[GAP, "x", GAP], &lines));
    assert!(!matches(&["b", GAP], &lines));
    assert!(!matches(&["a", GAP, "c"], &lines));
    assert_eq!(blessed(&["old", GAP, "end"], &lines), ["a", GAP, "d"]);
}
