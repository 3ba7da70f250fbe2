//! Why something could not be carried out, in words.

use crate::model::Scenario;
use crate::plan::{ITERATION_LIMIT, PLAN_LIMIT, TooMany};
use crate::sim::Stop;

/// Why more is asked than is done for one question, in words.
pub fn too_many_text(many: &TooMany) -> String {
    match many {
        TooMany::Plans => format!(
            "more than {PLAN_LIMIT} ways to make all parts: name those to compare with [[plan]] tables, or cut them down with `for` on \
             routes"
        ),
        TooMany::Iterations { plans, horizon } => format!(
            "{plans} plans and outcomes to a horizon of {horizon} are more than {ITERATION_LIMIT} iterations: name fewer plans with \
             [[plan]] tables, or shorten `horizon`"
        ),
    }
}

/// A stop in words, with names.
pub fn stop_text(scenario: &Scenario, stop: &Stop) -> String {
    let on = |day: &Option<i64>| match day {
        Some(day) => format!(" on {}", date_text(*day)),
        None => String::new(),
    };
    match stop {
        Stop::NoPrice { part, route, iteration, day } => format!(
            "no price holds for {} by {} in iteration {iteration}{}",
            scenario.part(*part).name,
            scenario.route(*route).name,
            on(day)
        ),
        Stop::Deadlock { iteration, waiting } => {
            let builds: Vec<String> = waiting
                .iter()
                .map(|&(route, step, machine)| {
                    let r = scenario.route(route);
                    let name = r.steps.get(step - 1).map_or("", |s| &s.name);
                    let machine = &scenario.equipment[machine.index()].name;
                    format!("`{}` waits for `{machine}` to begin `{name}`", r.name)
                })
                .collect();
            format!("builds wait for each other in iteration {iteration}: {}", builds.join(", "))
        }
        Stop::Hopeless { route, iteration } => format!(
            "attempt after attempt by {} fails in iteration {iteration}",
            scenario.route(*route).name
        ),
        Stop::NoExchange { currency, day } => {
            format!("no exchange rate for {currency} is valid{}", on(day))
        }
        Stop::NoRoom { part, route, iteration, why } => format!(
            "{} by {} in iteration {iteration}: {why}",
            scenario.part(*part).name,
            scenario.route(*route).name
        ),
        Stop::Dip { route, bath, iteration, why } => format!(
            "the pieces of one build by {} cannot be dipped together in `{}` in iteration {iteration}: {why}",
            scenario.route(*route).name,
            scenario.baths[bath.index()].name
        ),
        Stop::TooLate { iteration } => format!("iteration {iteration} ends after the year 9999"),
        Stop::TooLarge { iteration } => {
            format!("an amount or quantity of iteration {iteration} is too large to sum exactly")
        }
    }
}

/// A day as ISO 8601 text.
pub fn date_text(day: i64) -> String {
    let date = i32::try_from(day).ok().and_then(chrono::NaiveDate::from_epoch_days);
    date.map_or_else(|| format!("day {day}"), |d| d.format("%Y-%m-%d").to_string())
}
