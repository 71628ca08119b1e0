//! The engine against published values, closed forms and independent routes, as a table:
//! `cargo run --release --example verification`.

#![allow(missing_docs, clippy::unwrap_used, clippy::panic, clippy::print_stdout)]

#[path = "../tests/physics/suite/mod.rs"]
mod suite;

fn main() {
    println!("| check | source | expected | computed | error | allowed |");
    println!("|---|---|---|---|---|---|");
    let mut broken = 0;
    for (subject, checks) in suite::all() {
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
