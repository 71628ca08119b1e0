//! The engine against truth. `--nocapture` prints every check with its error and bound.

#![allow(missing_docs, clippy::unwrap_used, clippy::panic, clippy::print_stdout)]

mod random_outlines;
mod suite;

use suite::Check;

fn hold(checks: Vec<Check>) {
    assert!(!checks.is_empty());
    for check in &checks {
        println!("{:<72} error {:.1e} (allowed {:.0e})", check.what, check.error, check.allowed);
    }
    for check in checks {
        assert!(
            check.holds(),
            "{}: expected {}, computed {}, error {:.2e} above {:.0e} ({})",
            check.what,
            check.expected,
            check.computed,
            check.error,
            check.allowed,
            check.source
        );
    }
}

macro_rules! hold {
    ($($subject:ident),*) => {
        $(#[test]
        fn $subject() {
            hold(suite::$subject::checks());
        })*
    };
}

hold!(
    airy,
    convergence,
    energy,
    fresnel_integrals,
    lommel,
    nonround,
    oblique,
    optima,
    plate,
    polygons,
    routes,
    symmetry,
    transfer,
    zones
);
