//! The page: whole, closed against hostile names, the same every time, with the figures of `compare --json`.

use std::collections::BTreeSet;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::atomic::AtomicBool;
use std::time::Instant;

use flipcount::analysis::{
    Answer, Asking, answer, flip_map, flips, ledger_of, plan_details, with_samples,
};
use flipcount::input::fingerprint;
use flipcount::plan::Shop;
use flipcount::report::{PageExtras, Subject, json, page, page_plans};
use flipcount::sim::{StepRun, Wait};
use serde_json::Value;

use crate::help::{folder, in_shop, minute, project, scenario};

/// What `report` writes about a scenario, with so many samples, and what `compare --json` answers with the same.
fn both(folder: &Path, samples: u32) -> (String, Value) {
    let scenario = scenario(folder);
    in_shop(&scenario, |shop| {
        let answer = sampled(shop, samples);
        let subject = Subject { shop, answer: &answer };
        let document = json(&subject, Vec::new()).expect("the answer has a form in JSON");
        (written(&subject), serde_json::from_str(&document).expect("the answer is JSON"))
    })
}

fn sampled(shop: &Shop, samples: u32) -> Answer {
    let answer = answer(shop).expect("few plans");
    let stop = AtomicBool::new(false);
    let seed = shop.scenario.seed;
    let asking = Asking { samples, seed, threads: 1, progress: &|_| {}, stop: &stop };
    if samples == 0 { answer } else { with_samples(shop, answer, &asking) }
}

fn written(subject: &Subject) -> String {
    let (shop, answer) = (subject.shop, subject.answer);
    let scenario = subject.scenario();
    let map = scenario.labour.filter(|_| !answer.plans.is_empty());
    let map = map.map(|hour| flip_map(shop, answer, scenario.iterations.planned, hour));
    let verdict = answer.verdict.as_ref().map(|v| &answer.plans[v.plan].plan);
    let ledger = verdict.and_then(|plan| ledger_of(shop, plan).ok());
    page(
        subject,
        &PageExtras {
            details: &plan_details(shop, answer, &page_plans(subject)),
            ledger: ledger.as_ref(),
            flips: flips(shop, answer).as_ref(),
            map: map.as_ref(),
            warnings: &["a <warning> & more".to_owned()],
            hash: &fingerprint(&BTreeSet::new()),
            ledger_file: "ledger.csv",
        },
    )
}

/// The figures embedded in a page.
fn data(page: &str) -> Value {
    let open = "<script id=\"data\" type=\"application/json\">";
    let from = page.find(open).expect("a data element") + open.len();
    let text = &page[from..];
    serde_json::from_str(&text[..text.find("</script>").expect("its end")]).expect("JSON")
}

#[test]
fn the_demos_page_has_every_section_and_stays_small() {
    let (page, _) = both(&project("scenarios/river-sonde"), 400);
    let sections = [
        "verdict", "ask", "cost", "dates", "plans", "look", "replace", "kinds", "months",
        "changes", "map", "cautions", "assumed", "material", "steps", "sources", "notes", "ledger",
    ];
    for id in sections {
        assert!(page.contains(&format!(" id=\"{id}\"")), "no #{id}");
    }
    assert!(page.len() < 250_000, "{} bytes", page.len());
    assert_eq!(page.matches("<h1>").count(), 1);
    // Four plans with a strip, three totals, four materials, dates, kinds, changes, map, months.
    assert_eq!(page.matches("role=\"img\"").count(), 4 + 3 + 4 + 5);
    // Every chart has its name and description.
    assert_eq!(page.matches("role=\"img\"").count(), page.matches("<desc id=").count());
    assert!(page.contains("likely 5 to 9"), "the likely range is shaded");
    assert!(page.contains("A below C from 5"), "the break-even is marked");
    assert!(page.contains("due 2026-05-08 (Fri)"));
}

#[test]
fn nothing_is_loaded_and_only_what_is_named_runs() {
    let (page, _) = both(&project("scenarios/first-look"), 0);
    let policy = page.split("content=\"").nth(1).expect("a policy").split('"').next();
    let policy = policy.expect("its text");
    assert!(
        policy.starts_with("default-src &#39;none&#39;;")
            || policy.starts_with("default-src 'none';")
    );
    assert_eq!(policy.matches("sha256-").count(), 2, "{policy}");
    for word in ["unsafe", "http", "data:", "*", "'self'"] {
        assert!(!policy.contains(word), "{policy}");
    }
    for word in
        ["http://", "https://", "src=", "@import", " style=", " onclick", " onload", "javascript:"]
    {
        assert!(!page.contains(word), "the page holds {word}");
    }
    assert_eq!(page.matches("<script").count(), 2);
    assert_eq!(page.matches("url(").count(), page.matches("url(#hatch)").count());
}

#[test]
fn the_same_inputs_give_the_same_bytes() {
    let folder = project("scenarios/river-sonde");
    assert_eq!(both(&folder, 64).0, both(&folder, 64).0);
}

#[test]
fn the_embedded_figures_are_those_of_the_answer() {
    let (page, answer) = both(&project("scenarios/river-sonde"), 0);
    let data = data(&page);
    assert_eq!(data["planned"], answer["planned"]);
    let plans = data["plans"].as_array().expect("plans");
    assert_eq!(plans.len(), 4);
    for plan in plans {
        let asked = crate::help::plan(&answer, plan["name"].as_str().expect("a name"));
        assert_eq!(plan["curves"], asked["curves"]);
        for total in ["avoidable", "outlay", "consumed"] {
            sums(plan, total);
        }
    }
}

#[test]
fn the_figures_of_the_plan_table_are_followed_to_their_items() {
    let (page, answer) = both(&project("scenarios/river-sonde"), 0);
    let linked: Vec<&str> =
        page.split("href=\"#from-").skip(1).filter_map(|p| p.split('"').next()).collect();
    assert_eq!(linked.len(), 2 * 4, "two figures of four plans");
    let plans = data(&page)["plans"].clone();
    for link in linked {
        let opened = format!("<details id=\"from-{link}\">");
        assert_eq!(page.matches(&opened).count(), 1, "{link}");
        let tree = page.split(&opened).nth(1).expect("a tree");
        let tree = tree.split("<details id=").next().and_then(|t| t.split("</section>").next());
        let tree = tree.expect("its end");
        let bold = |open: &str| -> Vec<i64> {
            let parts = tree.split(open).skip(1).filter_map(|p| p.split('<').next());
            parts.map(|t| cents(&Value::from(t.replace('\u{202f}', "")))).collect()
        };
        let (index, total) = link.split_once('-').expect("a plan and a total");
        let name = plans[index.parse::<usize>().expect("a number")]["name"].as_str();
        let plan = crate::help::plan(&answer, name.expect("a name"));
        let whole = bold("<strong>")[0];
        assert_eq!(whole, cents(&plan["final"][total]), "{link}: the figure that decides");
        let items = bold("<b>");
        assert!(items.len() > 2, "{link}: {items:?}");
        assert_eq!(items.iter().sum::<i64>(), whole, "{link}: items sum to it");
        // Categories stand between, each once.
        assert_eq!(
            bold("<strong>")[1..].iter().sum::<i64>(),
            whole,
            "{link}: categories sum to it"
        );
        assert!(tree.contains(".csv:"), "{link}: lines of sheets are named");
    }
}

/// The categories sum to the curve at every count, to the cent.
fn sums(plan: &Value, total: &str) {
    let curve = plan["curves"][total].as_array().expect("a curve");
    let by = plan["by"][total].as_object().expect("categories");
    assert!(by.len() > 3, "{total}: {by:?}");
    for (at, whole) in curve.iter().enumerate() {
        let parts: i64 = by.values().map(|c| cents(&c[at])).sum();
        assert_eq!(parts, cents(whole), "{total} after {}", at + 1);
    }
}

fn cents(text: &Value) -> i64 {
    text.as_str().expect("a text").replace('.', "").parse().expect("an amount with two decimals")
}

#[test]
fn steps_tell_when_they_run_and_what_they_wait_for() {
    let scenario = scenario(&project("scenarios/river-sonde"));
    in_shop(&scenario, |shop| {
        let answer = sampled(shop, 0);
        let all: Vec<usize> = (0..answer.plans.len()).collect();
        let details = plan_details(shop, &answer, &all);
        assert_eq!(details.len(), 4);
        for detail in &details {
            in_order(&detail.runs);
            let last = detail.runs.iter().map(|run| run.end).max();
            assert_eq!(
                last,
                Some(detail.first.1),
                "the last step ends when the iteration is in hand"
            );
        }
        // Both parts at the bench: the resin comes two business days after Monday (materials.csv), at the opening; the print takes until 12:14,
        // washing until 12:33, and trimming takes more than an hour: it waits for the afternoon. Drying lasts overnight.
        let bench = details.iter().find(|d| d.runs.iter().all(|r| r.build.is_some()));
        let bench = bench.expect("one plan makes both at the bench");
        let seen: Vec<(String, Option<Wait>)> =
            bench.runs.iter().map(|r| (minute(r.start), r.wait)).collect();
        let at = |time: &str, wait| (format!("2026-03-{time}"), wait);
        assert_eq!(
            seen,
            [
                at("04T09:00", Some(Wait::Goods)),
                at("04T12:14", None),
                at("04T13:30", Some(Wait::Hours)),
                at("04T16:00", None),
                at("04T16:48", None),
                at("05T09:00", None),
                at("05T09:36", None),
            ]
        );
    });
}

/// Each step begins when it is ready or later, and a build's next step is ready when the one before has ended.
fn in_order(runs: &[StepRun]) {
    for (index, run) in runs.iter().enumerate() {
        assert!(
            run.ready <= run.start && run.start <= run.attended && run.attended <= run.end,
            "{run:?}"
        );
        assert_eq!(run.wait.is_some(), run.start > run.ready, "{run:?}");
        let before = runs[..index].iter().rev().find(|r| r.build.is_some() && r.build == run.build);
        if let Some(before) = before {
            assert_eq!(before.end, run.ready, "{before:?} then {run:?}");
        }
    }
}

/// A text that would break out of every place it could stand in.
const HOSTILE: &str =
    r#"</script><script>alert(1)</script><img src=x onerror=alert(2)>\"'&--><svg onload=alert(3)>"#;

#[test]
fn no_name_of_the_users_becomes_markup() {
    let name = Value::from(HOSTILE).to_string();
    let text = format!(
        "title = {name}\ncurrency = \"USD\"\nstart = 2026-03-02T09:00:00\nlabour = \"30 per h\"\n[iterations]\nplanned = 3\n\
         [[part]]\nname = {name}\nvolume = \"9 mL\"\n\
         [[route]]\nname = {name}\nkind = \"bench\"\nresin = \"130 per L\"\nprint_time = \"7 h\"\nattended = \"2 h\"\nspoil = 0.1\n\
         [[route]]\nname = \"house\"\nkind = \"order\"\npiece = 148.00\ndelivery_cost = 24.00\narrives_after = \"8 business days\"\n"
    );
    let (page, _) = both(folder(&text, &[]).path(), 40);
    assert!(page.contains("&lt;/script&gt;"), "the name is there, as text");
    let before_data = page.find("<script id=\"data\"").expect("the data element");
    for part in ["<img", "<svg onload", "alert(1)</script>", "<script>alert"] {
        assert!(!page.contains(part), "{part} is markup");
    }
    assert!(!page[..before_data].contains("</script>"));
    assert_eq!(page.matches("</script>").count(), 2);
    // The name survives in the data, character for character.
    let found = data(&page)["plans"]
        .as_array()
        .expect("plans")
        .iter()
        .any(|p| p["name"].as_str().is_some_and(|n| n.contains(HOSTILE)));
    assert!(found, "{}", data(&page)["plans"]);
}

#[test]
fn control_and_direction_marks_do_no_harm() {
    let text = "title = \"a\\u0007b \\u202e c\"\ncurrency = \"USD\"\n[iterations]\nplanned = 2\n[[part]]\nname = \"p\"\nvolume = \"9 mL\"\n\
        [[route]]\nname = \"bench\"\nkind = \"bench\"\nresin = \"130 per L\"\nprint_time = \"7 h\"\nattended = \"2 h\"\n";
    let (page, _) = both(folder(text, &[]).path(), 0);
    assert!(!page.contains('\u{7}'), "no control character");
    assert!(page.contains("unicode-bidi:isolate"), "a mark in a name ends with its element");
    assert!(page.contains("Fewer than two plans are feasible"));
}

#[test]
fn a_scenario_without_a_feasible_plan_has_a_page_all_the_same() {
    let text = "title = \"none\"\ncurrency = \"USD\"\n[iterations]\nplanned = 2\n[[part]]\nname = \"p\"\nvolume = \"9 mL\"\nmust = { opaque = true }\n\
        [[route]]\nname = \"bench\"\nkind = \"bench\"\nresin = \"130 per L\"\nprint_time = \"7 h\"\nattended = \"2 h\"\n";
    let (page, answer) = both(folder(text, &[]).path(), 0);
    assert!(answer["verdict"].is_null());
    assert!(page.contains("No plan is feasible.") && page.contains("Ruled out"));
    assert!(!page.contains("id=\"ask\""));
}

#[test]
fn a_long_ledger_is_cut_and_the_rest_summed_by_month() {
    let mut text = String::from(
        "title = \"long\"\ncurrency = \"USD\"\nlabour = \"30 per h\"\nstart = 2026-03-02T09:00:00\n[iterations]\nplanned = 80\nhorizon = 80\n",
    );
    for part in 0..40 {
        text.push_str(&format!("[[part]]\nname = \"part {part}\"\nvolume = \"9 mL\"\n"));
    }
    text.push_str("[[route]]\nname = \"house\"\nkind = \"order\"\npiece = 14.00\ndelivery_cost = 24.00\nbrief = \"5 min\"\narrives_after = \"8 business days\"\n");
    let started = Instant::now();
    let (page, _) = both(folder(&text, &[]).path(), 0);
    assert!(page.len() < 2_000_000, "{} bytes", page.len());
    assert!(page.contains(" entries by month</h3>") && page.contains("<code>ledger.csv</code>"));
    let ledger = &page[page.find("id=\"entries\"").expect("the ledger")..];
    let rows = ledger[..ledger.find("</table>").expect("its end")].matches("<tr>").count();
    assert_eq!(rows, 5_001, "the head and five thousand entries");
    assert!(started.elapsed().as_secs() < 60);
}

/// The page in a real browser. Without Chromium, Node or the packages of `tests/browser` it is skipped, which is said even where the test
/// passes; `FLIPCOUNT_BROWSER=required` makes that a failure.
#[test]
fn in_a_browser() {
    let folder = project("tests/browser");
    let browser =
        ["chromium", "chromium-browser", "google-chrome"].iter().find_map(|name| on_path(name));
    let missing = match (&browser, on_path("node"), folder.join("node_modules").is_dir()) {
        (None, _, _) => Some("no Chromium"),
        (_, None, _) => Some("no Node.js"),
        (_, _, false) => Some("no packages: run `npm ci` in tests/browser"),
        _ => None,
    };
    if let Some(missing) = missing {
        let required = std::env::var("FLIPCOUNT_BROWSER").is_ok_and(|v| v == "required");
        assert!(!required, "browser tests are required: {missing}");
        // Straight to standard error: what a passing test prints otherwise is kept from the reader.
        let _ = writeln!(std::io::stderr(), "\n*** BROWSER TESTS SKIPPED: {missing} ***\n");
        return;
    }
    let (page, answer) = both(&project("scenarios/river-sonde"), 200);
    let dir = tempfile::tempdir().expect("a folder");
    let [file, figures] = ["report.html", "answer.json"].map(|name| dir.path().join(name));
    fs::write(&file, page).expect("written");
    fs::write(&figures, answer.to_string()).expect("written");
    let output = Command::new("node")
        .arg(folder.join("page.mjs"))
        .args([&file, &figures, &browser.unwrap_or_default()])
        .output()
        .expect("node runs");
    let said = String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success(), "{said}\n{}", String::from_utf8_lossy(&output.stderr));
}

fn on_path(program: &str) -> Option<PathBuf> {
    let path = std::env::var_os("PATH")?;
    std::env::split_paths(&path).map(|folder| folder.join(program)).find(|file| file.is_file())
}
