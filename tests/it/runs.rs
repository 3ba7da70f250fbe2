//! Keeping runs under fire: killed writers, two at a time, a full disk, a folder that cannot be written.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::Duration;

use flipcount::input::read_runs;

use crate::commands::{path, run, ten_numbers};
use crate::help::folder;

/// Moments at which writers are killed.
const KILLS: u32 = 100;

/// A writer whose run is told from all others by its copies.
fn writer(at: &Path, copies: u32) -> Child {
    Command::new(env!("CARGO_BIN_EXE_flipcount"))
        .args(["compare", path(at), "--save", "--copies", &copies.to_string()])
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .expect("the command starts")
}

/// The copies of each run in the file, in order; every line that is none was cut off.
fn kept(at: &Path) -> (Vec<String>, usize) {
    let runs = read_runs(&fs::read(at.join("runs.jsonl")).unwrap_or_default());
    for (line, why) in &runs.broken {
        assert!(why.contains("cut off"), "line {line} {why}");
    }
    let copies = runs.good.iter().map(|(_, run)| run.options["copies"].clone()).collect();
    (copies, runs.broken.len())
}

#[test]
fn no_run_is_lost_or_doubled_however_writers_are_killed() {
    let dir = folder(&ten_numbers("collar", ""), &[]);
    let at = dir.path();
    let (mut done, mut killed) = (BTreeSet::new(), BTreeSet::new());
    let mut before = Vec::new();
    for round in 0..KILLS {
        let pair = [2 * round + 1, 2 * round + 2];
        let mut writers = pair.map(|copies| writer(at, copies));
        // Moments spread over the life of a writer, the same in each run of this test.
        sleep(Duration::from_micros(u64::from(round * 7919 % 100) * 400));
        writers[0].kill().expect("a signal");
        for (writer, copies) in writers.iter_mut().zip(pair) {
            if writer.wait().expect("it ends").success() {
                done.insert(copies.to_string());
            } else {
                killed.insert(copies.to_string());
            }
        }
        // What was there is there, byte for byte.
        let now = fs::read(at.join("runs.jsonl")).unwrap_or_default();
        assert!(now.starts_with(&before), "round {round}: earlier lines were touched");
        before = now;
    }
    let (copies, broken) = kept(at);
    let each: BTreeSet<String> = copies.iter().cloned().collect();
    assert_eq!(copies.len(), each.len(), "a run is there twice");
    assert!(done.is_subset(&each), "lost: {:?}", done.difference(&each));
    // A writer that was killed behind its write is there as well.
    assert!(each.iter().all(|c| done.contains(c) || killed.contains(c)));
    assert!(broken <= killed.len());
    println!("{} done, {} killed, {} lines cut off", done.len(), killed.len(), broken);
    assert!(killed.len() > KILLS as usize / 10, "hardly any writer was killed: {}", killed.len());
    let (code, _, error) = run(&["changes", path(at)], at);
    assert_eq!(code, 0, "{error}");
}

/// A limit on the size of files stands for a full disk: the write fails half-way, as it does there.
#[cfg(unix)]
#[test]
fn a_full_disk_takes_no_run_and_leaves_no_half_of_one() {
    let dir = folder(&ten_numbers("collar", ""), &[]);
    let at = dir.path();
    assert_eq!(run(&["compare", path(at), "--save"], at).0, 0);
    let file = at.join("runs.jsonl");
    let before = fs::read(&file).expect("a run");
    // Blocks of 512 bytes: all that is there, and a part of the next line.
    let blocks = before.len() / 512 + 2;
    let save = |trap: &str, copies: &str| {
        let script = format!(
            "{trap} ulimit -f {blocks}; exec \"$0\" compare \"$1\" --save --copies {copies}"
        );
        let output = Command::new("sh")
            .args(["-c", &script, env!("CARGO_BIN_EXE_flipcount"), path(at)])
            .output()
            .expect("a shell");
        (output.status.code(), String::from_utf8_lossy(&output.stderr).into_owned())
    };
    let (code, error) = save("trap '' XFSZ;", "2");
    assert_eq!(code, Some(1), "{error}");
    assert!(error.contains("the run is not kept"), "{error}");
    assert_eq!(fs::read(&file).expect("a run"), before, "what was written of it is gone");
    // Where the system ends the writer in the middle of it, the half that is there is told, and harms nobody.
    let (code, _) = save("", "3");
    assert_ne!(code, Some(0));
    let now = fs::read(&file).expect("a run");
    assert!(now.starts_with(&before));
    assert_eq!(run(&["compare", path(at), "--save", "--copies", "4"], at).0, 0);
    let runs = read_runs(&fs::read(&file).expect("runs"));
    let copies: Vec<_> =
        runs.good.iter().map(|(_, run)| run.options.get("copies").cloned()).collect();
    assert_eq!(copies, [None, Some("4".to_owned())]);
    assert_eq!(runs.broken.len(), usize::from(now.len() > before.len()));
}

/// Where whoever runs the test may write everywhere, there is nothing to see.
#[cfg(unix)]
#[test]
fn a_folder_that_cannot_be_written_is_a_warning() {
    use std::os::unix::fs::PermissionsExt;
    let dir = folder(&ten_numbers("collar", ""), &[]);
    let at = dir.path();
    fs::set_permissions(at, fs::Permissions::from_mode(0o555)).expect("permissions");
    let may_write = fs::write(at.join("probe"), "").is_ok();
    let (code, out, error) = run(&["compare", path(at), "--save"], at);
    fs::set_permissions(at, fs::Permissions::from_mode(0o755)).expect("permissions");
    if may_write {
        eprintln!("SKIPPED: this user may write into read-only folders");
        return;
    }
    assert_eq!(code, 0, "{error}");
    assert!(out.contains("Plan A"), "{out}");
    assert!(error.contains("warning: the run is not kept"), "{error}");
    assert!(!at.join("runs.jsonl").exists());
}

#[test]
fn what_is_no_file_is_a_failure_after_the_answer() {
    let dir = folder(&ten_numbers("collar", ""), &[]);
    let at = dir.path();
    fs::create_dir(at.join("runs.jsonl")).expect("a folder");
    let (code, out, error) = run(&["compare", path(at), "--save"], at);
    assert_eq!(code, 1, "{error}");
    assert!(out.contains("Plan A") && error.contains("the run is not kept"), "{out}{error}");
    assert_eq!(run(&["changes", path(at)], at).0, 3);
}

#[test]
fn a_reader_that_leaves_early_loses_no_run() {
    let dir = folder(&ten_numbers("collar", ""), &[]);
    let mut child = Command::new(env!("CARGO_BIN_EXE_flipcount"))
        .args(["compare", path(dir.path()), "--save", "--all"])
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("the command starts");
    drop(child.stdout.take());
    assert_eq!(child.wait().expect("it ends").code(), Some(0));
    assert_eq!(read_runs(&fs::read(dir.path().join("runs.jsonl")).expect("runs")).good.len(), 1);
}

#[test]
fn a_report_keeps_its_run_too() {
    let dir = folder(&ten_numbers("collar", ""), &[]);
    let at = dir.path();
    let (code, _, error) = run(&["report", "-o", "out"], at);
    assert_eq!(code, 0, "{error}");
    assert!(error.contains("run 1 kept in "), "{error}");
    let runs = read_runs(&fs::read(at.join("runs.jsonl")).expect("runs"));
    assert_eq!(runs.good[0].1.by, "report");
    // The same question by another command is no new run.
    let (code, _, error) = run(&["compare", "--save"], at);
    assert!(code == 0 && error.contains("nothing changed since run 1"), "{error}");
}
