//! The engine against truth: closed forms, tables computed elsewhere, published constants.
//!
//! The tables stand in tests/reference, each beside the script that made it; their headers name the
//! formula, its source and the tool.

#![allow(clippy::unwrap_used, clippy::panic, clippy::print_stdout)]

mod disc;
mod fast_and_slow;
mod optima;
mod transfer;
mod without_a_disc;

use std::collections::HashMap;
use std::fs;

/// The rows of a table in tests/reference, each as name to text.
fn table(name: &str) -> Vec<HashMap<String, String>> {
    let path = format!("tests/reference/{name}.csv");
    let text = fs::read_to_string(&path).unwrap_or_else(|e| panic!("{path}: {e}"));
    let mut lines = text.lines().filter(|line| !line.starts_with('#'));
    let names: Vec<&str> = lines.next().unwrap().split(',').collect();
    let rows: Vec<_> = lines
        .map(|line| {
            let cells = line.split(',').map(str::to_owned);
            names.iter().map(|n| (*n).to_owned()).zip(cells).collect()
        })
        .collect();
    assert!(rows.len() >= 3, "{path} holds only {} rows", rows.len());
    rows
}

/// A number of a row.
fn number(row: &HashMap<String, String>, name: &str) -> f64 {
    row[name].parse().unwrap_or_else(|e| panic!("{name}: {e}"))
}

/// Prints one line of the comparison (seen with `--nocapture`) and holds it to its tolerance.
fn compare(what: &str, worst: f64, tolerance: f64) {
    println!("{what:<64} largest error {worst:.1e} (allowed {tolerance:.0e})");
    assert!(worst < tolerance, "{what}: {worst:.2e} is above {tolerance:.0e}");
}
