//! `record`: lines are added whole or not at all, whatever happens meanwhile, and each line is understood or reported.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use crate::help::{flipcount, folder};

/// A project with one part, at the bench or outside: little to load, and prices that are easy to follow by hand.
pub const COLLAR: &str = r#"
title    = "Collar"
currency = "USD"
start    = 2026-03-02T09:00:00
labour   = "30 per h"

[iterations]
planned = 6

[[part]]
name   = "collar"
volume = "92 cm3"

[[route]]
name       = "bench"
kind       = "bench"
resin      = "130 per L"
print_time = "7 h"
attended   = "2.2 h"
spoil      = 0.12

[[route]]
name          = "house"
kind          = "order"
piece         = 148.00
delivery_cost = 24.00
arrives_after = "8 business days"
"#;

/// The first line of a record.
pub const HEADER: &str = "date,iteration,part,route,what,item,quantity,amount,currency,note";

/// A folder of a scenario with these lines recorded.
pub fn recorded(scenario: &str, lines: &str) -> tempfile::TempDir {
    let dir = folder(scenario, &[]);
    put_lines(dir.path(), lines);
    dir
}

/// Records lines in a folder, whatever was recorded there.
pub fn put_lines(folder: &Path, lines: &str) {
    fs::write(folder.join("record.csv"), format!("{HEADER}\n{lines}")).expect("written");
}

/// Adds a line by options; exit code and what is said.
fn record(dir: &Path, options: &[&str]) -> (Option<i32>, String) {
    let output = flipcount().arg("record").arg(dir).args(options).output().expect("it runs");
    assert!(output.stdout.is_empty(), "nothing is data");
    (output.status.code(), String::from_utf8_lossy(&output.stderr).into_owned())
}

fn text(dir: &Path) -> String {
    fs::read_to_string(dir.join("record.csv")).unwrap_or_default()
}

/// What `check` says of a record; the exit code and standard error.
fn check(record: &str) -> (Option<i32>, String) {
    let dir = folder(COLLAR, &[]);
    fs::write(dir.path().join("record.csv"), record).expect("written");
    let output = flipcount().arg("check").arg(dir.path()).output().expect("it runs");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    (output.status.code(), said.replace(&format!("{}/", dir.path().display()), ""))
}

#[test]
fn lines_stand_behind_each_other() {
    let dir = folder(COLLAR, &[]);
    let first = ["--date", "2026-03-02", "--iteration", "1", "--part", "collar"];
    let built = ["--route", "bench", "--what", "build", "--item", "good", "--quantity", "7.4"];
    let (code, said) = record(dir.path(), &[&first[..], &built[..]].concat());
    assert_eq!(code, Some(0), "{said}");
    assert!(said.starts_with("1 line to "), "{said}");
    let note = ["--what", "failed", "--note", "tore, \"twice\""];
    assert_eq!(record(dir.path(), &[&first[..], &note[..]].concat()).0, Some(0));
    let lines = [
        HEADER,
        "2026-03-02,1,collar,bench,build,good,7.4,,,",
        "2026-03-02,1,collar,,failed,,,,,\"tore, \"\"twice\"\"\"",
    ];
    assert_eq!(text(dir.path()), format!("{}\n", lines.join("\n")));
}

#[test]
fn a_line_that_is_not_understood_is_refused_and_nothing_changes() {
    let dir = folder(COLLAR, &[]);
    let line = |what: &[&str]| {
        let common = ["--date", "2026-03-02", "--iteration", "1"];
        record(dir.path(), &[&common[..], what].concat())
    };
    assert_eq!(line(&["--route", "bench", "--what", "redesign"]).0, Some(0));
    let before = text(dir.path());
    for (wrong, told) in [
        (&["--what", "acepted"][..], "did you mean `accepted`?"),
        (&["--what", "used", "--item", "resine", "--quantity", "1 L"], "did you mean `resin`?"),
        (
            &["--what", "used", "--item", "resin", "--quantity", "1 h"],
            "expected a volume, mass, area, length or number of pieces, found a time",
        ),
        (&["--what", "used", "--item", "resin"], "line `used` without `quantity`"),
        (&["--what", "ordered", "--route", "house"], "line `ordered` without `amount`"),
        (&["--what", "in_hand", "--amount", "3"], "`amount` has no meaning in a line `in_hand`"),
        (&["--what", "build", "--item", "godo", "--quantity", "7"], "did you mean `good`?"),
        (&["--what", "attended", "--quantity", "2,5"], "2.5"),
        (&["--what", "attended", "--quantity", "2", "--item", "sand"], "no step is called `sand`"),
        (&["--what", "started", "--part", "colar"], "did you mean `collar`?"),
        (&["--what", "invoice", "--amount", "12"], "an invoice needs `item`"),
        (
            &["--what", "invoice", "--amount", "12", "--currency", "EUR", "--route", "house"],
            "no rate from EUR",
        ),
    ] {
        let (code, said) = line(wrong);
        assert_eq!(code, Some(3), "{wrong:?}: {said}");
        assert!(said.contains(told) && said.contains("nothing was recorded"), "{wrong:?}: {said}");
        assert!(said.contains("record.csv:3"), "the line it would have been: {said}");
        assert_eq!(text(dir.path()), before);
    }
    // A line that is sound and does not fit to the others.
    let far = ["--date", "2026-03-02", "--iteration", "3", "--route", "bench", "--what", "started"];
    let (code, said) = record(dir.path(), &far);
    assert!(code == Some(3) && said.contains("iteration 3 follows iteration 1"), "{said}");
    assert_eq!(text(dir.path()), before);
    // Without a terminal nobody can be asked.
    let (code, said) = record(dir.path(), &[]);
    assert_eq!(code, Some(2));
    assert!(said.contains("say what happened with --what"), "{said}");
}

#[test]
fn a_malformed_line_is_reported_with_its_place_and_never_dropped() {
    let good = "2026-03-02,1,collar,bench,started,,,,,";
    let case = |line: &str| check(&format!("{HEADER}\n{good}\n{line}\n"));
    for (line, told) in [
        ("2026-03-03,1,collar,bench,used,resin,1,5 L,,,tore", "row has 11 cells, expected 10"),
        ("2026-03-03,1,collar,bench,\"used,resin,140 mL,,,", "quote is opened and never closed"),
        ("03.03.2026,1,collar,bench,started,,,,,", "2026-03-02"),
        ("2026-03-03,0,collar,bench,started,,,,,", "expected a whole number from 1"),
        ("2026-03-03,,collar,bench,started,,,,,", "line without `iteration`"),
        ("2026-03-03,1,collar,bench,,,,,,", "line without `what`"),
        (",1,collar,bench,started,,,,,", "line without `date`"),
    ] {
        let (code, said) = case(line);
        assert_eq!(code, Some(3), "{line}: {said}");
        assert!(said.contains(told), "{line}: {said}");
        assert!(said.contains("record.csv:3:"), "{line}: {said}");
    }
    // Line, column, column name and spreadsheet cell of the cell that is wrong.
    let (_, said) = case("2026-03-03,1,collar,bench,used,resin,many,,,");
    assert!(
        said.contains("record.csv:3:38") && said.contains("column quantity, cell G3"),
        "{said}"
    );
    let (code, said) = check(&format!("{HEADER},colour\n{good}\n"));
    assert!(code == Some(3) && said.contains("record.csv has no column `colour`"), "{said}");
    let (code, said) = check("date,iteration\n2026-03-02,1\n");
    assert!(code == Some(3) && said.contains("record.csv lacks the column `what`"), "{said}");
    // A line that cannot be read is no reason to lose the next one.
    let dir = folder(COLLAR, &[]);
    let broken = format!("{HEADER}\n2026-03-02,1,,,sarted,,,,,\n");
    fs::write(dir.path().join("record.csv"), &broken).expect("written");
    let options = ["--date", "2026-03-02", "--iteration", "1", "--what", "redesign"];
    let (code, said) = record(dir.path(), &options);
    assert!(code == Some(3) && said.contains("record.csv:2"), "{said}");
    assert_eq!(text(dir.path()), broken, "first the line that is there is put right");
}

// ---- faults ----

/// Numbers that look like chance and are the same in every run.
struct Dice(u64);

impl Dice {
    /// The next number below `end`.
    fn below(&mut self, end: u64) -> u64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % end
    }
}

/// A writer at work: the note of its line, since when, and when it is to be killed.
struct Writer {
    child: Child,
    note: String,
    since: Instant,
    until: Option<Duration>,
}

fn writer(dir: &Path, note: String, until: Option<Duration>) -> Writer {
    let line = "--date 2026-03-02 --iteration 1 --route bench --what started --note".split(' ');
    let child = Command::new(env!("CARGO_BIN_EXE_flipcount"))
        .arg("record")
        .arg(dir)
        .args(line)
        .arg(&note)
        .stderr(Stdio::null())
        .spawn()
        .expect("it runs");
    Writer { child, note, since: Instant::now(), until }
}

/// Notes in a record, which must be whole.
fn notes(dir: &Path) -> Vec<String> {
    let text = text(dir);
    if text.is_empty() {
        return Vec::new();
    }
    assert!(text.ends_with('\n') && text.starts_with(HEADER), "a line is cut: {text}");
    let lines = text.lines().skip(1);
    lines
        .map(|line| {
            let note = line.strip_prefix("2026-03-02,1,,bench,started,,,,,");
            note.unwrap_or_else(|| panic!("a line is damaged: {line}")).to_owned()
        })
        .collect()
}

#[test]
fn two_writers_killed_at_two_hundred_moments_lose_and_double_nothing() {
    let dir = folder(COLLAR, &[]);
    let mut dice = Dice(20_260_302);
    // How long one takes here, so that moments fall on every stage of its work.
    let mut first = writer(dir.path(), "measured".to_owned(), None);
    assert!(first.child.wait().expect("it ends").success());
    let usual = u64::try_from(first.since.elapsed().as_micros()).unwrap_or(20_000).max(1_000);
    let (mut kept, mut killed) = (vec!["measured".to_owned()], Vec::new());
    let mut seen: Vec<String> = Vec::new();
    let mut number = 0;
    let mut begin = |dice: &mut Dice| {
        number += 1;
        // One in four is left in peace.
        let until = (dice.below(4) > 0).then(|| Duration::from_micros(dice.below(2 * usual)));
        writer(dir.path(), format!("line {number}"), until)
    };
    let mut writers = [begin(&mut dice), begin(&mut dice)];
    while killed.len() < 200 {
        for writer in &mut writers {
            if let Some(status) = writer.child.try_wait().expect("it can be asked") {
                assert!(status.success(), "{}", writer.note);
                kept.push(writer.note.clone());
            } else if writer.until.is_some_and(|until| writer.since.elapsed() >= until) {
                writer.child.kill().expect("SIGKILL");
                let status = writer.child.wait().expect("it ends");
                // It may have ended by itself a moment before.
                if status.success() {
                    kept.push(writer.note.clone());
                } else {
                    killed.push(writer.note.clone());
                }
            } else {
                continue;
            }
            *writer = begin(&mut dice);
        }
        let now = notes(dir.path());
        assert!(now.starts_with(&seen), "a line that was there is gone:\n{seen:?}\n{now:?}");
        seen = now;
        std::thread::sleep(Duration::from_micros(200));
    }
    for writer in &mut writers {
        assert!(writer.child.wait().expect("it ends").success());
        kept.push(writer.note.clone());
    }
    let all = notes(dir.path());
    let count = |note: &String| all.iter().filter(|n| *n == note).count();
    for note in &kept {
        assert_eq!(count(note), 1, "`{note}` was said to be kept");
    }
    for note in &killed {
        assert!(count(note) <= 1, "`{note}` is there twice");
    }
    let came_through = killed.iter().filter(|note| count(note) == 1).count();
    assert_eq!(all.len(), kept.len() + came_through, "nothing else is there");
    assert!(kept.len() > 20, "some were left in peace: {}", kept.len());
    // What killed ones left does not stand in the way, and is no second record.
    let names: Vec<String> = fs::read_dir(dir.path())
        .expect("a folder")
        .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
        .collect();
    assert!(names.len() <= 4, "{names:?}");
}

#[cfg(unix)]
mod unix {
    use super::*;
    use std::os::unix::fs::PermissionsExt;
    use std::os::unix::process::CommandExt;

    const LINE: &str = "--date 2026-03-02 --iteration 1 --route bench --what started";

    fn shell(script: &str) -> (Option<i32>, String) {
        let output = Command::new("sh").args(["-c", script]).output().expect("a shell");
        (output.status.code(), String::from_utf8_lossy(&output.stderr).into_owned())
    }

    /// A record of some length beside its scenario.
    fn long_record(dir: &Path, lines: usize) -> String {
        let line = "2026-03-02,1,,bench,started,,,,,\n";
        let text = format!("{HEADER}\n{}", line.repeat(lines));
        fs::write(dir.join("record.csv"), &text).expect("written");
        text
    }

    #[test]
    fn a_limit_on_the_size_of_files_is_a_clear_error_and_the_record_stays() {
        let dir = folder(COLLAR, &[]);
        // 512-byte blocks: the record is larger than the limit. The signal is ignored, so that writing fails as on a full disk.
        let before = long_record(dir.path(), 400);
        let (program, at) = (env!("CARGO_BIN_EXE_flipcount"), dir.path().display());
        let (code, said) =
            shell(&format!("trap '' XFSZ; ulimit -f 8; exec '{program}' record '{at}' {LINE}"));
        assert_eq!(code, Some(1), "{said}");
        assert!(said.contains("it would be larger than files may be here"), "{said}");
        assert!(said.contains("nothing was recorded, what was there is as it was"), "{said}");
        assert_eq!(text(dir.path()), before);
        // Killed by the signal in the middle of writing.
        let (code, _) = shell(&format!("ulimit -f 8; '{program}' record '{at}' {LINE}; exit $?"));
        assert!(code.is_some_and(|code| code > 128), "{code:?}");
        assert_eq!(text(dir.path()), before);
        // And once there is room it goes on.
        assert_eq!(record(dir.path(), &LINE.split(' ').collect::<Vec<_>>()).0, Some(0));
        assert_eq!(text(dir.path()), format!("{before}2026-03-02,1,,bench,started,,,,,\n"));
    }

    #[test]
    fn a_full_disk_is_a_clear_error_and_the_record_stays() {
        let dir = tempfile::tempdir().expect("a folder");
        let at = dir.path().display();
        // A small disk of its own, where this may be done.
        if shell(&format!("mount -t tmpfs -o size=64k tmpfs '{at}'")).0 != Some(0) {
            return;
        }
        let small = Mounted(dir.path().to_owned());
        fs::write(small.0.join("scenario.toml"), COLLAR).expect("written");
        let before = long_record(&small.0, 1_000);
        fs::write(small.0.join("filler"), vec![0; 16 * 1024]).expect("written");
        let (code, said) = record(&small.0, &LINE.split(' ').collect::<Vec<_>>());
        assert_eq!(code, Some(1), "{said}");
        assert!(said.contains("the disk is full; nothing was recorded"), "{said}");
        assert_eq!(text(&small.0), before);
    }

    struct Mounted(PathBuf);

    impl Drop for Mounted {
        fn drop(&mut self) {
            shell(&format!("umount '{}'", self.0.display()));
        }
    }

    #[test]
    fn a_folder_that_may_only_be_read_is_a_clear_error() {
        let dir = folder(COLLAR, &[]);
        let before = long_record(dir.path(), 3);
        // The program where everybody may run it: whoever may write everywhere tries as somebody else.
        let program = dir.path().join("program");
        fs::copy(env!("CARGO_BIN_EXE_flipcount"), &program).expect("copied");
        let mode = |mode| fs::Permissions::from_mode(mode);
        fs::set_permissions(&program, mode(0o755)).expect("set");
        fs::set_permissions(dir.path().join("scenario.toml"), mode(0o644)).expect("set");
        fs::set_permissions(dir.path(), mode(0o555)).expect("set");
        let mut command = Command::new(&program);
        command.arg("record").arg(dir.path()).args(LINE.split(' ')).current_dir("/");
        if fs::write(dir.path().join("probe"), "").is_ok() {
            fs::remove_file(dir.path().join("probe")).expect("removed");
            command.uid(65_534).gid(65_534);
        }
        let output = command.output().expect("it runs");
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        fs::set_permissions(dir.path(), mode(0o755)).expect("set");
        assert_eq!(output.status.code(), Some(1), "{said}");
        assert!(said.contains("you have no right to write there; nothing was recorded"), "{said}");
        assert_eq!(text(dir.path()), before);
    }

    #[test]
    fn a_link_is_followed_and_its_file_keeps_its_rights() {
        let (dir, other) = (folder(COLLAR, &[]), tempfile::tempdir().expect("a folder"));
        let real = other.path().join("ours.csv");
        fs::write(&real, format!("{HEADER}\n")).expect("written");
        fs::set_permissions(&real, fs::Permissions::from_mode(0o640)).expect("set");
        std::os::unix::fs::symlink(&real, dir.path().join("record.csv")).expect("linked");
        assert_eq!(record(dir.path(), &LINE.split(' ').collect::<Vec<_>>()).0, Some(0));
        assert_eq!(fs::read_to_string(&real).expect("read").lines().count(), 2);
        assert_eq!(fs::metadata(&real).expect("there").permissions().mode() & 0o777, 0o640);
        assert!(dir.path().join("record.csv").is_symlink());
    }
}

/// Every fault of every line is told at once, each with its cell.
#[test]
fn wrong_lines_are_all_told() {
    let lines = [
        HEADER,
        "2026-03-02,1,collar,bench,build,god,7,,,",
        "2026-03-02,1,colar,bench,started,,,,,",
        "02.03.2026,1,collar,bench,started,,,,,",
        "2026-03-03,one,collar,bench,used,resin,1,5 L,,,",
        "2026-03-03,1,collar,bench,used,resin,7 h,,,",
        "2026-03-03,1,collar,bench,attended,,\"2,5\",,,",
        "2026-03-04,1,collar,house,ordered,,200,172,,",
        "2026-03-04,1,collar,bench,in_hand,,3,,,",
        "2026-03-04,1,,,,,,,,",
    ];
    let (code, said) = check(&(lines.join("\n") + "\n"));
    assert_eq!(code, Some(3), "{said}");
    insta::assert_snapshot!("wrong_lines", said);
}
