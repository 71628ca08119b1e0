//! The engine against published values, closed forms and independent routes, as a table:
//! `cargo run --release --example verification`.

#![allow(missing_docs, clippy::unwrap_used, clippy::panic, clippy::print_stdout)]

#[path = "../tests/physics/suite/mod.rs"]
mod suite;

use suite::{
    airy, convergence, energy, fresnel_integrals, lommel, nonround, oblique, optima, plate,
    polygons, routes, symmetry, transfer, zones,
};

/// All checks, subject by subject.
fn subjects() -> Vec<(&'static str, Vec<suite::Check>)> {
    vec![
        ("Airy: a disc far away", airy::checks()),
        ("Lommel: a disc of any Fresnel number", lommel::checks()),
        ("Zones: on the axis, rings, screens", zones::checks()),
        ("Fresnel integrals: slit and rectangle", fresnel_integrals::checks()),
        ("Polygons and ellipses far away", polygons::checks()),
        ("Holes that are not round", nonround::checks()),
        ("Off the axis and on curved film", oblique::checks()),
        ("A plate of two rims", plate::checks()),
        ("Transfer functions, lines and edges", transfer::checks()),
        ("Energy", energy::checks()),
        ("Symmetries", symmetry::checks()),
        ("Routes against each other", routes::checks()),
        ("Convergence", convergence::checks()),
        ("Published best diameters", optima::checks()),
    ]
}

fn main() {
    println!("| check | source | expected | computed | error | allowed |");
    println!("|---|---|---|---|---|---|");
    let mut broken = 0;
    for (subject, checks) in subjects() {
        println!("| **{subject}** | | | | | |");
        for check in checks {
            broken += usize::from(!check.holds());
            println!(
                "| {} | {} | {:.9} | {:.9} | {:.1e} | {:.0e} |",
                check.what,
                check.source,
                check.expected,
                check.computed,
                check.error,
                check.allowed
            );
        }
    }
    println!("\nExpected and computed are those of the check's worst place.");
    assert!(broken == 0, "{broken} checks do not hold");
}
