//! What each rule costs 100 000 simulated makers of each kind, in jnd a hole: `cargo run --release --example makers`.

#![allow(clippy::unwrap_used, clippy::print_stdout, missing_docs, dead_code)]

#[path = "../tests/makers/simulation.rs"]
mod simulation;

use simulation::{Bench, KINDS, MEANS, row};

fn main() {
    let bench = Bench::new();
    println!("                 best  six passes  no log  to 0.90  to 0.98  former rule");
    for (means, deviation) in MEANS {
        for kind in &KINDS {
            let costs = row(&bench, kind, deviation, 100_000);
            let said = costs.map(|cost| format!("{cost:7.2}")).join(" ");
            println!("{means:<6} {:<8} {said}", kind.name);
        }
    }
}
