//! The budget files: their sums, their places, their cells.

use std::fs;

use crate::commands::{DEMO, FIRST, path, run, ten_numbers};
use crate::help::{compare, folder, number, plan, project};

/// Columns of a CSV text by name.
pub struct Columns(Vec<csv::StringRecord>, csv::StringRecord);

impl Columns {
    pub fn of(text: &str) -> Columns {
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let head = reader.headers().expect("a header").clone();
        Columns(reader.records().map(|r| r.expect("a row")).collect(), head)
    }

    pub fn column(&self, name: &str) -> Vec<&str> {
        let at =
            self.1.iter().position(|h| h == name).unwrap_or_else(|| panic!("no column {name}"));
        self.0.iter().map(|r| &r[at]).collect()
    }

    /// What a spreadsheet's SUM() gives.
    fn sum(&self, name: &str) -> String {
        let sum: rust_decimal::Decimal = self
            .column(name)
            .iter()
            .map(|v| v.parse::<rust_decimal::Decimal>().expect("a decimal"))
            .sum();
        format!("{sum:.2}")
    }
}

#[test]
fn the_budget_of_every_plan_sums_to_the_totals_to_the_last_digit() {
    for which in [DEMO, FIRST] {
        let answer = compare(&project(which), &[]);
        let at = answer["planned"].as_u64().expect("a count") as usize - 1;
        for plan in answer["plans"].as_array().expect("plans") {
            let name = plan["name"].as_str().expect("a name");
            let (code, out, _) = run(&["budget", which, "--plan", name], &project(""));
            assert_eq!(code, 0);
            let ledger = Columns::of(&out);
            for total in ["outlay", "avoidable", "consumed"] {
                let told = match plan.get("final") {
                    Some(last) => &last[total],
                    None => &plan["curves"][total][at],
                };
                assert_eq!(
                    told.as_str(),
                    Some(ledger.sum(total).as_str()),
                    "{which} {name} {total}"
                );
            }
        }
    }
}

#[test]
fn curves_are_sums_of_the_ledger_up_to_each_planned_iteration() {
    let answer = compare(&project(DEMO), &[]);
    let name = answer["verdict"]["plan"].as_str().expect("a plan");
    let (_, out, _) = run(&["budget", DEMO], &project(""));
    let ledger = Columns::of(&out);
    let iterations = ledger.column("iteration");
    for n in 1..=answer["planned"].as_u64().expect("a count") {
        let amounts = ledger.column("avoidable");
        let up_to = iterations
            .iter()
            .zip(&amounts)
            .filter(|(i, _)| i.parse::<u64>().expect("a count") <= n);
        let sum: rust_decimal::Decimal =
            up_to.map(|(_, a)| a.parse::<rust_decimal::Decimal>().expect("a decimal")).sum();
        let told = &plan(&answer, name)["curves"]["avoidable"][n as usize - 1];
        assert_eq!(told.as_str(), Some(format!("{sum:.2}").as_str()), "at {n}");
    }
}

#[test]
fn amounts_can_be_recomputed_from_quantity_and_price() {
    let (_, out, _) = run(&["budget", DEMO], &project(""));
    let ledger = Columns::of(&out);
    let columns = ["quantity", "unit_price", "amount"].map(|c| ledger.column(c));
    assert!(columns[0].len() > 100);
    let [quantities, prices, amounts] = &columns;
    for (at, ((quantity, price), amount)) in quantities.iter().zip(prices).zip(amounts).enumerate()
    {
        let [quantity, price, amount] = [quantity, price, amount].map(|text| number(text));
        // Quantities are shown with six decimals, hours are not rounded before they are priced.
        let off = (quantity * price).to_money(2) - amount.to_money(2);
        assert!(
            off.abs().exact() <= number("0.01"),
            "entry {}: {quantity} x {price} = {amount}",
            at + 1
        );
    }
}

#[test]
fn both_budget_files_are_there_whole_or_not_at_all() {
    let dir = tempfile::tempdir().expect("a folder");
    let (file, months) = (dir.path().join("b.csv"), dir.path().join("b-months.csv"));
    let demo = project(DEMO);
    let write =
        |more: &[&str]| run(&[&["budget", path(&demo), "-o", "b.csv"], more].concat(), dir.path());
    // The second file is in the way: the first is not written either.
    fs::write(&months, "mine").expect("a file in the way");
    let (code, _, error) = write(&[]);
    assert_eq!(code, 2, "{error}");
    assert!(error.contains("b-months.csv is there already"), "{error}");
    assert!(!file.exists());
    assert_eq!(fs::read_to_string(&months).expect("still there"), "mine");
    assert_eq!(write(&["--force"]).0, 0);
    let (_, printed, _) = run(&["budget", path(&demo)], dir.path());
    assert_eq!(fs::read_to_string(&file).expect("written"), printed);
    assert_eq!(write(&[]).0, 2);
    assert_eq!(
        fs::read_dir(dir.path()).expect("the folder").count(),
        2,
        "nothing else is left behind"
    );
}

#[test]
fn a_target_that_cannot_be_written_leaves_nothing() {
    let dir = tempfile::tempdir().expect("a folder");
    let demo = project(DEMO);
    let (code, _, error) = run(&["budget", path(&demo), "-o", "no/such/folder/b.csv"], dir.path());
    assert_eq!(code, 2, "{error}");
    let (code, _, _) = run(&["budget", path(&demo), "-o", ".", "--force"], dir.path());
    assert_eq!(code, 2);
    assert_eq!(fs::read_dir(dir.path()).expect("the folder").count(), 0);
}

/// What is no file, or is part of the question, is never written over, not even with --force.
#[test]
fn only_files_that_can_be_lost_are_replaced() {
    let dir = folder(
        &ten_numbers("collar", "")
            .replace("currency = \"USD\"", "currency = \"USD\"\npricing = \"pricing\""),
        &[("supplies.csv", "item,kind,pack,pack_price\nwash solvent,solvent,5 L,46\n")],
    );
    let before = |name: &str| fs::read_to_string(dir.path().join(name)).expect("a file");
    let (scenario, sheet) = (before("scenario.toml"), before("pricing/supplies.csv"));
    let cases = [
        ("scenario.toml", "is part of the scenario"),
        ("pricing/supplies.csv", "is part of the scenario"),
        ("pricing/budget.csv", "would be read as a price sheet"),
        ("-", "is no file"),
        ("new/", "is a folder"),
        ("no/such/b.csv", "make the folder no/such first"),
    ];
    for (target, why) in cases {
        let (code, out, error) = run(&["budget", "-o", target, "--force"], dir.path());
        assert_eq!((code, out.as_str()), (2, ""), "{target}: {error}");
        assert!(error.contains(why) && !error.contains(".flipcount-"), "{target}: {error}");
    }
    assert_eq!((before("scenario.toml"), before("pricing/supplies.csv")), (scenario, sheet));
    assert_eq!(fs::read_dir(dir.path()).expect("the folder").count(), 2);
    assert_eq!(fs::read_dir(dir.path().join("pricing")).expect("the folder").count(), 1);
}

/// A socket stands for every device and pipe; a link is followed to its file.
#[cfg(unix)]
#[test]
fn a_device_is_refused_and_a_link_followed() {
    let dir = folder(&ten_numbers("collar", ""), &[]);
    let at = |name: &str| dir.path().join(name);
    let _socket = std::os::unix::net::UnixListener::bind(at("device")).expect("a socket");
    let (code, _, error) = run(&["budget", "-o", "device", "--force"], dir.path());
    assert_eq!(code, 2, "{error}");
    assert!(error.contains("is a device or pipe"), "{error}");
    fs::write(at("real.csv"), "old").expect("a file");
    std::os::unix::fs::symlink("real.csv", at("link.csv")).expect("a link");
    let (code, _, error) = run(&["budget", "-o", "link.csv", "--force"], dir.path());
    assert_eq!(code, 0, "{error}");
    assert!(at("link.csv").is_symlink());
    assert!(fs::read_to_string(at("real.csv")).expect("a file").starts_with("entry,"));
}

#[test]
fn the_months_sum_to_the_ledger() {
    for which in [DEMO, FIRST] {
        let dir = tempfile::tempdir().expect("a folder");
        let scenario = project(which);
        assert_eq!(run(&["budget", path(&scenario), "-o", "b.csv"], dir.path()).0, 0);
        let read = |name: &str| fs::read_to_string(dir.path().join(name)).expect("written");
        let (ledger, months) = (read("b.csv"), read("b-months.csv"));
        let (ledger, months) = (Columns::of(&ledger), Columns::of(&months));
        for total in ["outlay", "consumed", "avoidable"] {
            assert_eq!(ledger.sum(total), months.sum(total), "{which} {total}");
        }
        let mut keys: Vec<_> =
            months.column("month").into_iter().zip(months.column("category")).collect();
        let count = keys.len();
        keys.sort_unstable();
        keys.dedup();
        assert_eq!(keys.len(), count, "a month and category has one line");
    }
}

#[test]
fn without_a_start_days_and_months_are_counted() {
    let (_, out, _) = run(&["budget", FIRST, "--plan", "B"], &project(""));
    let ledger = Columns::of(&out);
    assert_eq!(ledger.column("date")[0], "day 1");
    assert_eq!(ledger.column("month")[0], "month 1");
    // Day 28 is the last of month 1.
    for (date, month) in ledger.column("date").iter().zip(ledger.column("month")) {
        let day: u32 = date.strip_prefix("day ").expect("a day").parse().expect("a number");
        assert_eq!(month, format!("month {}", (day - 1) / 28 + 1));
    }
}

#[test]
fn a_name_that_a_spreadsheet_would_run_is_neutral() {
    let risky = folder(&ten_numbers("=HYPERLINK(1)", ""), &[]);
    let (code, out, _) = run(&["budget", path(risky.path())], &project(""));
    assert_eq!(code, 0);
    assert_eq!(Columns::of(&out).column("part")[0], "'=HYPERLINK(1)");
    assert_eq!(Columns::of(&out).column("plan")[0], "'=HYPERLINK(1) = bench");
}

#[test]
fn a_plan_goes_by_name_or_letter() {
    let by_letter = run(&["budget", DEMO, "--plan", "B"], &project(""));
    let answer = compare(&project(DEMO), &[]);
    let name = answer["plans"][1]["name"].as_str().expect("a name");
    assert_eq!(by_letter, run(&["budget", DEMO, "--plan", name], &project("")));
    let (code, out, error) = run(&["budget", DEMO, "--plan", "ZZ"], &project(""));
    assert_eq!((code, out.as_str()), (2, ""));
    assert!(error.contains("no plan is called `ZZ`"), "{error}");
}
