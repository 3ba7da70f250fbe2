//! Three schedules worked by hand, to the minute. The arithmetic stands in the comments.
//!
//! All are open from Monday to Friday, 09:00-12:30 and 13:30-18:00; attended work must fit one span.

use std::path::Path;

use flipcount::analysis::{answer, plan_ledger};
use flipcount::ledger::Category;

use crate::help::{compare, folder, in_shop, minute, scenario};

/// Release and in hand of the first iterations, from the command's JSON.
fn iterations(folder: &Path, wanted: &[(&str, &str)]) {
    let answer = compare(folder, &[]);
    let plans = answer["plans"].as_array().expect("plans");
    assert_eq!(plans.len(), 1, "one way to make each part");
    for (index, (release, in_hand)) in wanted.iter().enumerate() {
        let iteration = &plans[0]["iterations"][index];
        assert_eq!(iteration["n"], index + 1);
        assert_eq!(iteration["release"], *release, "release of iteration {}", index + 1);
        assert_eq!(iteration["in_hand"], *in_hand, "in hand of iteration {}", index + 1);
    }
}

/// Starts of attended work in one iteration: part, what, when.
fn starts(folder: &Path, iteration: u32, wanted: &[(&str, &str, &str)]) {
    let scenario = scenario(folder);
    in_shop(&scenario, |shop| {
        let plan = &answer(shop).expect("an answer").plans[0].plan;
        let ledger = plan_ledger(shop, &plan.assign).expect("a feasible plan");
        let labour = ledger
            .entries()
            .iter()
            .filter(|e| e.iteration == iteration && e.category == Category::Labour);
        let found: Vec<(String, String, String)> = labour
            .map(|e| {
                (e.part_name(&scenario).to_owned(), e.item(&scenario).to_owned(), minute(e.when))
            })
            .collect();
        let wanted: Vec<_> =
            wanted.iter().map(|w| (w.0.to_owned(), w.1.to_owned(), w.2.to_owned())).collect();
        assert_eq!(found, wanted, "iteration {iteration}");
    });
}

/// Two builds, one printer.
///
/// Iteration 1, released Monday 2 March at 09:00. Both prints could start: the float is larger (75 mL with supports against 25), so it
/// is first. Float: print 09:00-09:10, printing 3 h to 12:10; wash 12:10-12:20, soaking to 12:40. The printer is free when the wash
/// begins, at 12:10; the person at 12:20. Clip: print 12:20-12:30, which just fits before the bench closes, printing 2 h to 14:30; wash
/// 14:30-14:40, soaking to 15:00. Cures need nobody: float 12:40-13:10, clip 15:00-15:30. In hand 15:30. Evaluate 15:30-16:30, redesign
/// 4 h: 16:30-18:00, then Tuesday 09:00-11:30.
/// Iteration 2, Tuesday 11:30. Float: print 11:30-11:40, to 14:40; wash 14:40-14:50, to 15:10; cure to 15:40. Clip: print 14:50-15:00,
/// to 17:00; wash 17:00-17:10, to 17:30; cure to 18:00. In hand 18:00, when the bench closes: evaluate waits for Wednesday, 09:00-10:00;
/// redesign 10:00-12:30 and 13:30-15:00.
/// Iteration 3, Wednesday 15:00. Float: print 15:00-15:10, to 18:10; the wash waits for Thursday, 09:00-09:10, and the printer with it.
/// Clip: print 09:10-09:20, to 11:20; wash 11:20-11:30, to 11:50; cure to 12:20.
#[test]
fn two_builds_queue_for_one_machine() {
    let dir = folder(TWO_BUILDS, &[]);
    iterations(
        dir.path(),
        &[
            ("2026-03-02T09:00", "2026-03-02T15:30"),
            ("2026-03-03T11:30", "2026-03-03T18:00"),
            ("2026-03-04T15:00", "2026-03-05T12:20"),
        ],
    );
    starts(
        dir.path(),
        1,
        &[
            ("float", "print", "2026-03-02T09:00"),
            ("float", "wash", "2026-03-02T12:10"),
            ("clip", "print", "2026-03-02T12:20"),
            ("clip", "wash", "2026-03-02T14:30"),
        ],
    );
    starts(
        dir.path(),
        2,
        &[
            ("float", "print", "2026-03-03T11:30"),
            ("float", "wash", "2026-03-03T14:40"),
            ("clip", "print", "2026-03-03T14:50"),
            ("clip", "wash", "2026-03-03T17:00"),
        ],
    );
}

/// One person orders and prints.
///
/// Iteration 1, released Monday 2 March at 09:00. Ordering the shell (200 mL) and printing the clip (12.5 mL with supports) could both
/// start; the larger is first: brief 09:00-09:15, then again the order, 09:15-10:00, placed at 10:00. Only then the clip: print
/// 10:00-10:20, printing 2 h to 12:20; trimming takes 30 min, which do not fit before 12:30: 13:30-14:00. The order arrives one business
/// day after Monday, Tuesday at 12:00; inspecting takes 40 min, which do not fit before 12:30: 13:30-14:10. In hand Tuesday 14:10.
/// Evaluate to 15:10, redesign 2 h to 17:10.
/// Iteration 2, Tuesday 17:10. Brief 17:10-17:25. The order's 45 min do not fit before 18:00; the print's 20 min do: the print is
/// earliest, 17:25-17:45, printing to 19:45. On Wednesday at 09:00 both the order and the trimming could start: the larger first, order
/// 09:00-09:45, trim 09:45-10:15. Arrival Thursday 12:00, inspect 13:30-14:10.
#[test]
fn placing_an_order_delays_a_build() {
    let dir = folder(ORDER_AND_BUILD, &[]);
    iterations(
        dir.path(),
        &[("2026-03-02T09:00", "2026-03-03T14:10"), ("2026-03-03T17:10", "2026-03-05T14:10")],
    );
    starts(
        dir.path(),
        1,
        &[
            ("shell", "brief", "2026-03-02T09:00"),
            ("shell", "order", "2026-03-02T09:15"),
            ("clip", "print", "2026-03-02T10:00"),
            ("clip", "trim", "2026-03-02T13:30"),
            ("shell", "inspect", "2026-03-03T13:30"),
        ],
    );
    starts(
        dir.path(),
        2,
        &[
            ("shell", "brief", "2026-03-03T17:10"),
            ("clip", "print", "2026-03-03T17:25"),
            ("shell", "order", "2026-03-04T09:00"),
            ("clip", "trim", "2026-03-04T09:45"),
            ("shell", "inspect", "2026-03-05T13:30"),
        ],
    );
}

/// Drying overnight before a holiday and a weekend.
///
/// Iteration 1, released Thursday 2 April at 14:00. Print 14:00-14:30, printing 2 h to 16:30; dry 16:30-16:45, overnight: Friday is
/// closed, Saturday and Sunday are no bench days, so to Monday 6 April 09:00. Cure 09:00-09:05, hold 30 min: in hand 09:35. Evaluate to
/// 10:35; redesign 3 h: 10:35-12:30 (1 h 55 min) and 13:30-14:35.
/// Iteration 2, Monday 14:35. Print 14:35-15:05, to 17:05; dry 17:05-17:20, overnight to Tuesday 09:00; cure to 09:35.
#[test]
fn an_overnight_hold_runs_across_closed_days() {
    let dir = folder(OVERNIGHT, &[]);
    iterations(
        dir.path(),
        &[("2026-04-02T14:00", "2026-04-06T09:35"), ("2026-04-06T14:35", "2026-04-07T09:35")],
    );
    starts(
        dir.path(),
        1,
        &[
            ("seal", "print", "2026-04-02T14:00"),
            ("seal", "dry", "2026-04-02T16:30"),
            ("seal", "cure", "2026-04-06T09:00"),
        ],
    );
    starts(
        dir.path(),
        2,
        &[
            ("seal", "print", "2026-04-06T14:35"),
            ("seal", "dry", "2026-04-06T17:05"),
            ("seal", "cure", "2026-04-07T09:00"),
        ],
    );
}

const TWO_BUILDS: &str = r#"
currency = "USD"
start    = 2026-03-02T09:00:00
labour   = "30 per h"
[iterations]
planned  = 3
evaluate = "1 h"
redesign = "4 h"
[hours]
days = ["Mon", "Tue", "Wed", "Thu", "Fri"]
open = ["09:00-12:30", "13:30-18:00"]
[[part]]
name   = "float"
volume = "60 mL"
[[part]]
name   = "clip"
volume = "20 mL"
[[route]]
name       = "first way"
kind       = "bench"
for        = ["float"]
printer    = "printer"
resin      = "100 per L"
print_time = "3 h"
steps = [
  { do = "print", attended = "10 min" },
  { do = "wash", attended = "10 min", hold = "20 min" },
  { do = "cure", hold = "30 min" },
]
[[route]]
name       = "second way"
kind       = "bench"
for        = ["clip"]
printer    = "printer"
resin      = "100 per L"
print_time = "2 h"
steps = [
  { do = "print", attended = "10 min" },
  { do = "wash", attended = "10 min", hold = "20 min" },
  { do = "cure", hold = "30 min" },
]
"#;

const ORDER_AND_BUILD: &str = r#"
currency = "USD"
start    = 2026-03-02T09:00:00
labour   = "30 per h"
[iterations]
planned  = 2
evaluate = "1 h"
redesign = "2 h"
[hours]
days = ["Mon", "Tue", "Wed", "Thu", "Fri"]
open = ["09:00-12:30", "13:30-18:00"]
[[part]]
name   = "shell"
volume = "200 mL"
[[part]]
name   = "clip"
volume = "10 mL"
[[route]]
name          = "print house"
kind          = "order"
for           = ["shell"]
piece         = 80.00
delivery_cost = 9.00
brief         = "15 min"
order_time    = "45 min"
arrives_after = "1 business days"
steps         = [ { do = "inspect", attended = "40 min" } ]
[[route]]
name       = "bench"
kind       = "bench"
for        = ["clip"]
printer    = "printer"
resin      = "100 per L"
print_time = "2 h"
steps      = [ { do = "print", attended = "20 min" }, { do = "trim", attended = "30 min" } ]
"#;

const OVERNIGHT: &str = r#"
currency = "USD"
start    = 2026-04-02T14:00:00
labour   = "30 per h"
[iterations]
planned  = 2
evaluate = "1 h"
redesign = "3 h"
[hours]
days = ["Mon", "Tue", "Wed", "Thu", "Fri"]
open = ["09:00-12:30", "13:30-18:00"]
closed = [2026-04-03]
[[part]]
name   = "seal"
volume = "12 mL"
[[route]]
name       = "bench"
kind       = "bench"
printer    = "printer"
resin      = "100 per L"
print_time = "2 h"
steps = [
  { do = "print", attended = "30 min" },
  { do = "dry", attended = "15 min", hold = "overnight" },
  { do = "cure", attended = "5 min", hold = "30 min" },
]
"#;
