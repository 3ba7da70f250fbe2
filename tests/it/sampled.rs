//! Samples against closed forms: what is drawn has the moments it must have, and the errors told are the errors made.

use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};

use flipcount::analysis::{Answer, Asking, Distribution, Estimate, Sampled, answer, with_samples};
use flipcount::plan::Shop;

use crate::help::{compare, flipcount, folder, in_shop, project, scenario};

/// Answers a scenario with so many samples on so many threads.
fn drawn(shop: &Shop, samples: u32, seed: u64, threads: usize) -> Answer {
    let asking =
        Asking { samples, seed, threads, progress: &|_| {}, stop: &AtomicBool::new(false) };
    with_samples(shop, answer(shop).expect("few plans"), &asking)
}

fn sampled(answer: &Answer) -> &Sampled {
    answer.sampled.as_ref().expect("samples")
}

/// A scenario of one part with the given `[iterations]` and routes.
fn text(iterations: &str, routes: &str) -> String {
    format!(
        "title = \"t\"\ncurrency = \"USD\"\nlabour = \"40 per h\"\n[iterations]\nevaluate = \"1 h\"\nredesign = \"4 h\"\n\
         {iterations}\n[[part]]\nname = \"float\"\nvolume = \"50 cm3\"\n{routes}"
    )
}

/// An order route whose piece costs so much and is there after so many business days.
fn order(name: &str, piece: &str, more: &str) -> String {
    format!(
        "[[route]]\nname = \"{name}\"\nkind = \"order\"\npiece = {piece}\ndelivery_cost = 0\n\
         order_time = \"15 min\"\n{more}\n"
    )
}

const LEAD: &str = "arrives_after = { low = 5, likely = 5, high = 5 }";
const CERTAIN: &str = "planned = { low = 6, likely = 6, high = 6 }";

/// Runs a closure on a scenario written down here.
fn on<T>(text: &str, ask: impl FnOnce(&Shop) -> T) -> T {
    let dir = folder(text, &[]);
    in_shop(&scenario(dir.path()), ask)
}

fn within(estimate: Estimate, expected: f64, errors: f64) {
    let off = (estimate.value - expected).abs();
    assert!(
        off <= errors * estimate.se + 1e-9 * expected.abs(),
        "{} is {off} from {expected}, more than {errors} standard errors of {}",
        estimate.value,
        estimate.se
    );
}

/// Standard deviation of the samples behind a distribution.
fn deviation(of: &Distribution, samples: f64) -> f64 {
    of.mean.se * samples.sqrt()
}

/// Bench steps that can fail, everything paid by use, no rounding that matters: the cost of a project is a sum of geometric numbers of
/// attempts, and its mean is what planning computes with expected values.
const FAILING: &str = "[[route]]\nname = \"bench\"\nkind = \"bench\"\nprinter = \"p\"\nresin = \"1000 per L\"\nsupports = 0.25\n\
    per_build_loss = \"10 mL\"\nprint_time = \"6 h\"\nsteps = [\n\
    { do = \"print\", attended = \"10 min\", spoil = 0.3, spent_share = 0.4 },\n\
    { do = \"trim\", attended = \"30 min\" },\n\
    { do = \"cure\", attended = \"5 min\", hold = \"1 h\", spoil = 0.1 },\n]\n";

#[test]
fn the_mean_of_samples_is_the_expected_cost_of_planning() {
    // Expected starts with restart: S_i = prod 1/(1 - s_j), the mean of a geometric number of attempts (see `plan::executions`).
    on(&text(CERTAIN, FAILING), |shop| {
        let answer = drawn(shop, 4_000, 1, 0);
        let planned = answer.plans[0].decides.avoidable.exact().to_f64_lossy();
        let plan = &sampled(&answer).plans[0];
        assert!(plan.avoidable.mean.se > 0.0);
        within(plan.avoidable.mean, planned, 4.0);
        // Attempts of one step: negative binomial. With s = 0.3 and 0.1 a build needs 1/(0.7 x 0.9) = 1.5873 prints on average.
        let outlay = answer.plans[0].decides.outlay.exact().to_f64_lossy();
        within(plan.outlay.mean, outlay, 4.0);
    });
}

#[test]
fn a_misread_order_is_paid_again_and_a_rejected_one_is_not() {
    let routes = order("house", "80", &format!("{LEAD}\nmisread = 0.2\nreject = 0.1"));
    on(&text(CERTAIN, &routes), |shop| {
        let answer = drawn(shop, 4_000, 2, 0);
        let plan = &sampled(&answer).plans[0];
        // Six lots at 80, each paid 1/(1 - 0.2) times: 600.
        within(plan.outlay.mean, 600.0, 4.0);
        within(plan.outlay.mean, answer.plans[0].decides.outlay.exact().to_f64_lossy(), 4.0);
        // Of one lot the variance of a geometric number of payments is 80^2 x 0.2 / 0.8^2 = 2000; of six, 12,000.
        let found = deviation(&plan.outlay, 4_000.0);
        assert!((found / 12_000.0f64.sqrt() - 1.0).abs() < 0.1, "deviation {found}");
    });
}

#[test]
fn a_pert_price_has_the_mean_and_deviation_of_its_distribution() {
    // GUM Supplement 1 (JCGM 101:2008), propagation of distributions: a linear model passes mean and deviation through. PERT: mean
    // (a + 4m + b)/6, variance (mean - a)(b - mean)/7.
    let routes = order("house", "{ low = 60, likely = 80, high = 150 }", LEAD);
    on(&text(CERTAIN, &routes), |shop| {
        let plan = sampled(&drawn(shop, 20_000, 3, 0)).plans[0].clone();
        let mean: f64 = (60.0 + 320.0 + 150.0) / 6.0;
        within(plan.outlay.mean, 6.0 * mean, 4.0);
        // Drawn once: six pieces at one price.
        let expected = 6.0 * ((mean - 60.0) * (150.0 - mean) / 7.0).sqrt();
        let found = deviation(&plan.outlay, 20_000.0);
        assert!((found / expected - 1.0).abs() < 0.03, "deviation {found}, not {expected}");
    });
    // Drawn in each iteration: the variances add instead of the deviations.
    let price = "{ low = 60, likely = 80, high = 150, varies = \"each\" }";
    on(&text(CERTAIN, &order("house", price, LEAD)), |shop| {
        let plan = sampled(&drawn(shop, 20_000, 3, 0)).plans[0].clone();
        let mean: f64 = 530.0 / 6.0;
        within(plan.outlay.mean, 6.0 * mean, 4.0);
        let expected = (6.0 * (mean - 60.0) * (150.0 - mean) / 7.0).sqrt();
        let found = deviation(&plan.outlay, 20_000.0);
        assert!((found / expected - 1.0).abs() < 0.03, "deviation {found}, not {expected}");
    });
}

#[test]
fn a_geometric_count_is_cut_at_the_horizon() {
    // Mean of a geometric number cut at H: (1 - q^H)/p with q = 1 - p; the cut share is q^H (any text on probability, such as Feller,
    // vol. 1, ch. VI).
    let iterations = "planned = { accept_chance = 0.2 }\nhorizon = 10";
    on(&text(iterations, &order("house", "100", LEAD)), |shop| {
        let answer = drawn(shop, 20_000, 4, 0);
        let found = sampled(&answer);
        let rest = 0.8f64.powi(10);
        within(found.counts.mean, (1.0 - rest) / 0.2, 4.0);
        let share = Estimate { value: found.cut, se: (rest * (1.0 - rest) / 20_000.0).sqrt() };
        within(share, rest, 4.0);
        within(found.plans[0].outlay.mean, 100.0 * (1.0 - rest) / 0.2, 4.0);
    });
}

#[test]
fn what_perfect_information_is_worth() {
    // Expected value of perfect information = expected cost of the best plan less the expected cost of choosing the best plan in each
    // state (Raiffa, Decision Analysis, 1968; Schlaifer 1959: equal to the least expected regret). States: 2 iterations with 0.6, 10
    // with 0.4. Plan `set-up`: 300 + 20 n, `single`: 70 n; hours cost nothing.
    // Costs: set-up 340 / 500, single 140 / 700. Means: set-up 404, single 364. Best in each state: 140 / 500, mean 284. EVPI = 80.
    // Regrets: set-up 0.6 x 200 = 120, single 0.4 x 200 = 80.
    let routes = format!(
        "{}{}",
        order("set-up", "20", &format!("{LEAD}\nbuy_first = 300")),
        order("single", "70", LEAD)
    );
    let iterations = "planned = { chances = { \"2\" = 0.6, \"10\" = 0.4 } }";
    let text = text(iterations, &routes).replace("labour = \"40 per h\"\n", "");
    on(&text, |shop| {
        let answer = drawn(shop, 20_000, 5, 0);
        let found = sampled(&answer);
        let plan = |route: &str| {
            let of = answer.plans.iter().position(|p| p.plan.name.ends_with(route));
            &found.plans[of.expect("a plan")]
        };
        within(plan("set-up").avoidable.mean, 404.0, 4.0);
        within(plan("single").avoidable.mean, 364.0, 4.0);
        within(plan("set-up").regret, 120.0, 4.0);
        within(plan("single").regret, 80.0, 4.0);
        within(found.evpi, 80.0, 4.0);
        within(plan("single").cheapest, 0.6, 4.0);
    });
}

#[test]
fn a_final_is_refused_as_often_as_it_says() {
    // Finals: 1/accept on average; each refusal adds an iteration. With 0.8: 0.25 more iterations and finals of 100 each.
    let text = text(
        &format!("{CERTAIN}\nhorizon = 200\n[final]\naccept = 0.8"),
        &order("house", "100", LEAD),
    );
    on(&text, |shop| {
        let answer = drawn(shop, 20_000, 6, 0);
        within(sampled(&answer).plans[0].outlay.mean, 600.0 + 125.0 + 25.0, 4.0);
    });
}

#[test]
fn leads_are_whole_business_days() {
    // 2026-03-02 is a Monday. An order placed that day with a lead of 3 or 4 business days is there on Thursday or Friday at 12:00.
    let lead = "arrives_after = { low = 3, likely = 3, high = 4 }";
    let text = text("planned = { low = 1, likely = 1, high = 1 }", &order("house", "100", lead))
        .replace("currency", "start = 2026-03-02T09:00:00\ncurrency");
    on(&text, |shop| {
        let days = sampled(&drawn(shop, 500, 7, 0)).plans[0].days;
        // Three days and three hours, or four days and three hours after the start, and nothing between but by interpolation.
        assert!((days.p10 - 3.125).abs() < 1e-9, "{}", days.p10);
        // PERT(3, 3, 4) is beta(1, 5) on 3..4: above 3.5 with 0.5^5 = 1/32.
        let mean = Estimate { value: days.mean.value - 3.125, se: days.mean.se };
        within(mean, 1.0 / 32.0, 4.0);
    });
}

#[test]
fn nineteen_in_twenty_means_lie_within_two_standard_errors() {
    on(&text(CERTAIN, FAILING), |shop| {
        let expected =
            answer(shop).expect("a plan").plans[0].decides.avoidable.exact().to_f64_lossy();
        let seeds = 300u32;
        let hits = (0..seeds)
            .filter(|&seed| {
                let mean =
                    sampled(&drawn(shop, 256, 1_000 + u64::from(seed), 0)).plans[0].avoidable.mean;
                (mean.value - expected).abs() <= 1.96 * mean.se
            })
            .count();
        // Binomial(300, 0.95): 285 expected, deviation 3.8; the lower end leaves room for the skew of 256 samples.
        assert!((270..=298).contains(&hits), "{hits} of {seeds}");
    });
}

#[test]
fn threads_and_an_early_end_change_no_sample() {
    in_shop(&scenario(&project("scenarios/river-sonde")), |shop| {
        let one = drawn(shop, 500, 9, 1);
        for threads in [2, 8] {
            assert_eq!(sampled(&one), sampled(&drawn(shop, 500, 9, threads)), "{threads} threads");
        }
        assert_ne!(sampled(&one), sampled(&drawn(shop, 500, 10, 1)), "another seed");
        // Ended after some groups: what is there is what fewer samples give.
        let (stop, seen) = (AtomicBool::new(false), AtomicU32::new(0));
        let progress = |done: u32| {
            seen.store(done, Ordering::Relaxed);
            stop.store(done >= 128, Ordering::Relaxed);
        };
        let asking = Asking { samples: 500, seed: 9, threads: 1, progress: &progress, stop: &stop };
        let early = with_samples(shop, answer(shop).expect("plans"), &asking);
        assert_eq!(sampled(&early).samples, 128);
        let fewer = drawn(shop, 128, 9, 1);
        assert_eq!(sampled(&early).plans, sampled(&fewer).plans);
    });
}

#[test]
fn plans_stay_paired_whatever_else_is_compared() {
    let dir = project("scenarios/river-sonde");
    let text = std::fs::read_to_string(dir.join("scenario.toml")).expect("the demo");
    let one = "[[plan]]\nname = \"out\"\nassign = { \"sensor collar\" = \"print house A, black\", \"cable boot\" = \"print house A, black\" }\n";
    let with = |plans: &str| {
        let text = text.replace("../../pricing", &project("pricing").display().to_string());
        let text = text.replace("parts/", &format!("{}/", dir.join("parts").display()));
        let folder = folder(&format!("{text}\n{plans}"), &[]);
        in_shop(&scenario(folder.path()), |shop| {
            let answer = drawn(shop, 256, 7, 0);
            let at = answer.plans.iter().position(|p| {
                p.plan.name.contains("out") || {
                    p.plan.name.matches("print house A, black").count() == 2
                }
            });
            sampled(&answer).plans[at.expect("the plan")].avoidable
        })
    };
    assert_eq!(with(""), with(one));
}

#[test]
fn the_command_draws_as_asked() {
    let demo = project("scenarios/river-sonde");
    let json = |options: &[&str]| compare(&demo, options);
    assert!(json(&["--samples", "0"])["sampled"].is_null());
    let few = json(&["--samples", "200", "--threads", "1"]);
    assert_eq!(few["sampled"]["samples"], 200);
    assert_eq!(few, json(&["--samples", "200", "--threads", "8"]));
    let other = json(&["--samples", "200", "--seed", "99"]);
    assert_eq!(other["sampled"]["seed"], 99);
    assert_ne!(few["sampled"], other["sampled"]);
    // Chances of being the cheapest are one whole.
    let plans = few["sampled"]["plans"].as_array().expect("plans");
    let sum: f64 = plans.iter().filter_map(|p| p["p_cheapest"].as_f64()).sum();
    assert!((sum - 1.0).abs() < 1e-5, "{sum}");
    for bad in [["--samples", "x"], ["--samples", "-1"], ["--threads", "0"], ["--seed", "1.5"]] {
        refused(&demo, &bad);
    }
}

fn refused(folder: &Path, options: &[&str]) {
    let output = flipcount().arg("compare").arg(folder).args(options).output().expect("it runs");
    assert_eq!(output.status.code(), Some(2), "{options:?}");
}
