//! What a shell and `man` get: every command and every option of it, as `--help` tells them.

use std::fs;
use std::io::Write as _;
use std::process::{Command, Stdio};

use crate::commands::{path, run};
use crate::help::project;

/// What the command prints for these arguments.
fn printed(args: &[&str]) -> String {
    let (code, out, error) = run(args, &project(""));
    assert_eq!((code, error.as_str()), (0, ""), "{args:?}");
    out
}

/// Every command that the help tells.
fn commands() -> Vec<String> {
    let help = printed(&["--help"]);
    let list = help.split("Commands:\n").nth(1).expect("commands");
    let lines = list.lines().take_while(|line| !line.is_empty());
    let names = lines.filter(|line| line.starts_with("  ") && !line.starts_with("   "));
    names.filter_map(|line| line.split_whitespace().next()).map(str::to_owned).collect()
}

/// Every long option of a command, without its hyphens.
fn options(command: &str) -> Vec<String> {
    let help = printed(&[command, "--help"]);
    let list = help.split("Options:\n").nth(1).expect("options");
    let lines = list.lines().map(str::trim_start).filter(|line| line.starts_with('-'));
    let names = lines.filter_map(|line| line.split("--").nth(1));
    let plain = |c: char| c.is_ascii_alphanumeric() || c == '-';
    names.map(|name| name.chars().take_while(|c| plain(*c)).collect()).collect()
}

fn all() -> Vec<(String, Vec<String>)> {
    let commands = commands().into_iter().filter(|name| name != "help");
    let all: Vec<_> = commands.map(|name| (name.clone(), options(&name))).collect();
    assert!(all.len() >= 13, "{all:?}");
    assert!(all.iter().any(|(name, options)| name == "compare" && options.len() >= 10), "{all:?}");
    all
}

#[test]
fn completions_know_every_command_and_option() {
    let all = all();
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let script = printed(&["completions", shell]);
        for (command, options) in &all {
            assert!(script.contains(command.as_str()), "{shell}: {command}");
            for option in options {
                let written =
                    if shell == "fish" { format!("-l {option}") } else { format!("--{option}") };
                assert!(script.contains(&written), "{shell}: {command} --{option}");
            }
        }
    }
    let (code, _, error) = run(&["completions", "abacus"], &project(""));
    assert_eq!(code, 2, "{error}");
}

/// The shell itself completes a command and an option of it.
#[cfg(unix)]
#[test]
fn bash_completes_with_what_it_gets() {
    let script = printed(&["completions", "bash"]);
    let asked = "\nfor words in 'flipcount comp' 'flipcount compare --samp'; do\n  \
        COMP_WORDS=($words); COMP_CWORD=$((${#COMP_WORDS[@]} - 1)); COMPREPLY=()\n  \
        _flipcount flipcount \"${COMP_WORDS[COMP_CWORD]}\" \"${COMP_WORDS[COMP_CWORD-1]}\"\n  \
        echo \"${COMPREPLY[@]}\"\ndone\n";
    let mut bash = Command::new("bash")
        .args(["--norc", "-s"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("bash starts");
    let mut input = bash.stdin.take().expect("its input");
    input.write_all((script + asked).as_bytes()).expect("the script is handed over");
    drop(input);
    let output = bash.wait_with_output().expect("bash ends");
    let said = String::from_utf8(output.stdout).expect("text");
    assert_eq!(said, "compare completions\n--samples\n");
}

#[test]
fn the_manual_has_a_page_for_every_command_with_every_option() {
    let folder = tempfile::tempdir().expect("a folder");
    let pages = folder.path().join("man1");
    let (code, out, error) = run(&["manual", "-o", path(&pages)], &project(""));
    assert_eq!((code, out.as_str()), (0, ""), "{error}");
    let page = |name: &str| {
        let text = fs::read_to_string(pages.join(name)).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert!(text.contains(".TH "), "{name} is no page");
        text.replace("\\-", "-")
    };
    let whole = page("flipcount.1");
    assert_eq!(whole, printed(&["manual"]).replace("\\-", "-"));
    let all = all();
    for (command, options) in &all {
        assert!(whole.contains(&format!("flipcount-{command}(1)")), "{command}");
        let page = page(&format!("flipcount-{command}.1"));
        for option in options {
            assert!(page.contains(&format!("--{option}")), "{command}: {option}");
        }
        assert!(page.contains("Example"), "{command}");
    }
    assert_eq!(fs::read_dir(&pages).expect("the folder").count(), all.len() + 1);
}

#[test]
fn pages_that_are_there_stay_unless_they_are_to_be_replaced() {
    let folder = tempfile::tempdir().expect("a folder");
    let page = folder.path().join("flipcount-check.1");
    fs::write(&page, "mine").expect("a file is written");
    let (code, _, error) = run(&["manual", "-o", path(folder.path())], &project(""));
    assert_eq!(code, 2);
    assert!(error.contains("--force"), "{error}");
    assert_eq!(fs::read_to_string(&page).expect("the file"), "mine");
    assert_eq!(fs::read_dir(folder.path()).expect("the folder").count(), 1);
    assert_eq!(run(&["manual", "--out", path(folder.path()), "--force"], &project("")).0, 0);
    assert_ne!(fs::read_to_string(&page).expect("the file"), "mine");
}

#[test]
fn the_help_of_every_command_shows_examples() {
    for (command, _) in all() {
        let help = printed(&[&command, "--help"]);
        assert!(help.contains(&format!("Examples:\n  flipcount {command}")), "{help}");
    }
}
