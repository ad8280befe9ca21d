#[path = "../tests/read/mod.rs"]
mod read;
use coilwright_core::{measured::Measured, quantity::Length};
use coilwright_planner::*;
fn main() {
    let path = std::env::args().nth(1).unwrap();
    let (mut q, _) = read::read(&std::fs::read_to_string(path).unwrap()).unwrap();
    q.spools.iter_mut().for_each(|s| s.safe = None);
    let mut wires: Vec<String> = q.spools.iter().map(|s| s.wire.clone()).collect();
    wires.sort();
    wires.dedup();
    for w in &wires {
        for (l, p) in [(50.0, 500u64), (120.0, 900), (300.0, 2000), (800.0, 4000)] {
            q.supply.push(Offer {
                id: format!("{w}-{l}"),
                wire: w.clone(),
                left: Measured::new(Length::from_m(l), Length::from_m(l * 0.005)),
                draw_doubt: 0.006,
                price: p,
                lead_days: 5,
            });
        }
    }
    let t = std::time::Instant::now();
    let p = plan(&q, Effort { explain: false, ..Effort::default() }, &|| true).unwrap();
    let t1 = t.elapsed();
    let t = std::time::Instant::now();
    let p2 = plan(&q, Effort::default(), &|| true).unwrap();
    println!(
        "plain {t1:?} value {} explained {:?} value {} refused {} purchase {:?}",
        p.value,
        t.elapsed(),
        p2.value,
        p2.refused.len(),
        p2.purchase
    );
    q.incumbent = p2.assign.clone();
    let s = p2.spools.iter().max_by(|a, b| a.used.m().total_cmp(&b.used.m())).unwrap();
    let used = s.used;
    let id = s.spool.clone();
    for sp in q.spools.iter_mut().filter(|x| x.id == id) {
        sp.left.value = used * 0.9;
    }
    let t = std::time::Instant::now();
    let r = repair(&q, Effort { explain: false, ..Effort::default() }, &|| true).unwrap();
    println!("repair {:?} value {} changes {} ", t.elapsed(), r.value, r.changes);
    let r = plan(&q, Effort { explain: false, ..Effort::default() }, &|| true).unwrap();
    println!("replan value {} changes {} risk {:?}", r.value, r.changes, r.risk);
    let v = p2.outlook(&q, 30);
    println!("{}", v.sentence);
}
