use std::path::Path;
use std::time::Instant;
use flipcount::model::{Overrides, load};
use flipcount::plan::{Shop, Values, plans, ruled_out};
use flipcount::sim::Simulation;
fn main() {
    let dir = std::env::args().nth(1).expect("dir");
    let loaded = load(Path::new(&dir), &Overrides::default());
    let scenario = loaded.scenario.expect("valid");
    let values = Values::planning(&scenario.slots);
    let shop = Shop::new(&scenario, &values);
    let out = ruled_out(&shop);
    let set = plans(&shop, &out).expect("plans");
    let n = 2000;
    let t = Instant::now();
    for _ in 0..n { std::hint::black_box(Shop::new(&scenario, &values)); }
    println!("shop {:.2} us", t.elapsed().as_secs_f64() / n as f64 * 1e6);
    let t = Instant::now();
    let mut events = 0;
    for _ in 0..n { for p in &set.whole {
        let mut sim = Simulation::new(&shop);
        for i in 1..=7 { sim.iterate(i, &p.assign).expect("runs"); }
        events += sim.events.len();
        std::hint::black_box(&sim.dates);
    } }
    println!("sim {:.2} us per plan, {} events", t.elapsed().as_secs_f64() / (n * set.whole.len()) as f64 * 1e6, events / (n*set.whole.len()));
    let t = Instant::now();
    for _ in 0..n/10 { for p in &set.whole {
        std::hint::black_box(flipcount::analysis::cost_at_planned(&shop, &p.assign));
    } }
    println!("cost {:.2} us per plan", t.elapsed().as_secs_f64() / (n/10 * set.whole.len()) as f64 * 1e6);
}
