use std::path::Path;
use std::time::Instant;
use std::sync::atomic::AtomicBool;
use flipcount::model::{Overrides, load};
use flipcount::plan::{Shop, Values, Spreads, Key, Pert};
use flipcount::analysis::{answer, sample, Asking};
fn main() {
    let dir = std::env::args().nth(1).expect("dir");
    let threads: usize = std::env::args().nth(2).map_or(1, |t| t.parse().expect("n"));
    let n: u32 = std::env::args().nth(3).map_or(4000, |t| t.parse().expect("n"));
    let loaded = load(Path::new(&dir), &Overrides::default());
    let scenario = loaded.scenario.expect("valid");
    let values = Values::planning(&scenario.slots);
    let shop = Shop::new(&scenario, &values);
    let answer = answer(&shop).expect("plans");
    let t = Instant::now();
    std::hint::black_box(Spreads::new(&scenario));
    println!("spreads {:.2} ms", t.elapsed().as_secs_f64() * 1e3);
    let pert = Pert::new(1.0, 2.0, 5.0);
    let t = Instant::now();
    let key = Key::new(3);
    let mut sum = 0.0;
    let draws: u64 = std::env::var("DRAWS").map_or(10_000_000, |d| d.parse().expect("d"));
    for i in 0..draws { sum += pert.quantile(key.with(i).of(key).uniform()); }
    println!("draw {:.2} ns {sum}", t.elapsed().as_secs_f64() * 1e2);
    let t = Instant::now();
    let s = sample(&shop, &answer.plans, &Asking { samples: n, seed: 7, threads, progress: &|_| {}, stop: &AtomicBool::new(false) }).expect("samples");
    let secs = t.elapsed().as_secs_f64();
    println!("{} plans, {:.3} s, {:.0} plan-samples per s, {:.2} us", s.plans.len(), secs, n as f64 * s.plans.len() as f64 / secs, secs * 1e6 / (n as f64 * s.plans.len() as f64));
    for p in &s.plans { println!("cheapest {:.3} fastest {:.3} due {:?} mean {:.2} ({:.2}) days {:.1} regret {:.1} stopped {}", p.cheapest.value, p.fastest.value, p.due.map(|d| d.value), p.avoidable.mean.value, p.avoidable.mean.se, p.days.mean.value, p.regret.value, p.stopped); }
    println!("evpi {:.2} counts {:.2} cut {}", s.evpi.value, s.counts.mean.value, s.cut);
}
