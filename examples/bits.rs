use std::path::Path;
use std::sync::atomic::AtomicBool;
use flipcount::model::{Overrides, load};
use flipcount::plan::{Shop, Values};
use flipcount::analysis::{answer, sample, Asking};
fn main() {
    let slots = std::env::var_os("SLOTS").is_some();
    for dir in std::env::args().skip(1) {
        let loaded = load(Path::new(&dir), &Overrides::default());
        let Some(scenario) = loaded.scenario else { println!("{dir}: invalid"); continue };
        let values = Values::planning(&scenario.slots);
        let shop = Shop::new(&scenario, &values);
        let Some(answer) = answer(&shop).ok() else { println!("{dir}: none"); continue };
        println!("{dir}: {} plans", answer.plans.len());
        if slots {
            for (_, i) in scenario.slots.iter().filter(|(_, i)| i.low < i.high) { println!("  {} {:?} {:?} {:?}", i.address, i.dim, i.varies, i.likely); }
            continue;
        }
        let per: u64 = std::env::var("N").map_or(60, |n| n.parse().expect("n"));
        for (seed, samples) in (0..per).map(|s| (s, 1)).chain([(1000, 150)]) {
            let s = sample(&shop, &answer.plans, &Asking { samples, seed, threads: 1, progress: &|_| {}, stop: &AtomicBool::new(false) });
            println!("{s:?}");
        }
    }
}
