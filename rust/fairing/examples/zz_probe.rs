use scrieve_fairing::known::as_built::{AsBuilt, Kind};
use scrieve_fairing::known::Place;
use scrieve_fairing::{Options, fair};
fn main() {
    let a: Vec<String> = std::env::args().collect();
    let kind = Kind::ALL.into_iter().find(|k| format!("{k:?}") == a[1]).unwrap();
    let seed: u64 = a[2].parse().unwrap();
    let boat = AsBuilt::new(kind, 700 + seed);
    let taking = boat.taking(9);
    let s = boat.survey(&taking, Place::Eighth);
    println!("{boat:?}\nL {} stations {:?} transom {:?}", boat.length(), taking.lines.stations, boat.transom());
    for st in &s.stern { println!("stern {:.3} {:.3}", st.x, st.z); }
    for l in s.lines.iter().filter(|l| l.x > 0.7 * boat.length()) { println!("line {:?} {:?} {:.3} {:.4} {}", l.line, l.axis, l.x, l.value, l.on_transom); }
    for st in s.spots.iter().filter(|l| l.x > 0.7 * boat.length()) { println!("spot {:.3} {:.4} {:.4} {:?} {}", st.x, st.y, st.z, st.along, st.on_transom); }
    let f = match fair(&s, &Options::default()) { Ok(f) => f, Err(e) => { println!("{e}"); return } };
    
    let h = boat.held_against(&f, &taking);
    for (n, e) in [("at", &h.at), ("midway", &h.midway), ("fore", &h.fore), ("aft", &h.aft), ("inaft", &h.inch_aft)] {
        println!("HELD {n} {:.2} {:.2} at {:.3?}", 1e3 * e.rms(), 1e3 * e.worst, e.at);
    }
    for r in &f.remarks { println!("{r}"); }
    for r in f.residuals.iter().filter(|r| r.doubted) { println!("doubted {r:?}"); }
    let p = &f.surface.patches[0];
    edge(&f, &boat);
    println!("breaks {} {}", p.breaks().0.len(), p.breaks().1.len());
    for x in a[3..].iter().map(|x| x.parse::<f64>().unwrap()) {
        println!("x {x}");
        for j in 0..=40 {
            let v = j as f64 / 40.0;
            let (mut lo, mut hi) = (0.0, 1.0);
            for _ in 0..60 { let u = 0.5 * (lo + hi); if p.point(u, v)[0] < x { lo = u } else { hi = u } }
            let q = p.point(lo, v);
            println!("v {v:.3} u {lo:.4} x {:.3} z {:.4} y {:.4} true {:.4}  off {:.1} mm", q[0], q[2], q[1], boat.half_breadth(q[0], q[2]), 1e3 * (q[1] - boat.half_breadth(q[0], q[2])));
        }
    }
}
#[allow(dead_code)]
fn edge(f: &scrieve_fairing::Faired, boat: &AsBuilt) {
    let p = &f.surface.patches[0];
    let line = boat.backbone(20000);
    for j in 0..=60 {
        let v = j as f64 / 60.0;
        let q = p.point(1.0, v);
        let d = line.iter().map(|b| (b.0 - q[0]).hypot(b.1 - q[2])).fold(9.0, f64::min);
        println!("EDGE v {v:.3} {:.4} {:.4} {:.4} to backbone {:.1} to transom {:.1}", q[0], q[1], q[2], 1e3 * d, 1e3 * (q[0] - boat.transom().unwrap().x(q[1], q[2])));
    }
}
