//! The `foamwright` command.
use foamwright::shop::{Bench, Wish};
fn main() {
    let path = std::env::args().nth(1).unwrap();
    let t = std::time::Instant::now();
    match Bench::new().build(std::path::Path::new(&path), &Wish::default(), &|s| {
        eprintln!("{s}")
    }) {
        Ok(b) => {
            for s in &b.stages {
                println!("{} {:?}", s.stage.name(), s.figures);
            }
            for (f, c) in b.part.features.iter().zip(&b.changes) {
                println!("{} {} {:?}", f.name, f.word, c);
            }
            for f in &b.findings {
                println!("{:?} {} {}", f.level, f.code, f.text);
            }
            println!("{:?} {:?}", b.seconds, t.elapsed());
        }
        Err(f) => println!(
            "{}",
            foamwright::fault::render_all(&f.faults, &|n| f.texts.get(n).cloned())
        ),
    }
}
