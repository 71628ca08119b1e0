//! Checks of the engine against truth: closed forms, tables computed elsewhere, published constants.
//!
//! One file a source. The tables stand in tests/reference, each beside the script that made it; their
//! headers name the formula, its source and the tool. `tests/physics` holds every check to its bound,
//! `examples/verification` prints them.

pub(crate) mod airy;
pub(crate) mod convergence;
pub(crate) mod energy;
pub(crate) mod fresnel_integrals;
pub(crate) mod lommel;
pub(crate) mod nonround;
pub(crate) mod oblique;
pub(crate) mod optima;
pub(crate) mod plate;
pub(crate) mod polygons;
pub(crate) mod routes;
pub(crate) mod symmetry;
pub(crate) mod transfer;
pub(crate) mod zones;

use std::collections::HashMap;
use std::fs;

/// One comparison: over many values, the worst of them.
pub(crate) struct Check {
    pub(crate) what: String,
    pub(crate) source: &'static str,
    pub(crate) expected: f64,
    pub(crate) computed: f64,
    /// In units of what `what` names: of the peak, of the value, or plain.
    pub(crate) error: f64,
    /// With its reason in a comment where it is stated.
    pub(crate) allowed: f64,
}

impl Check {
    /// The worst of (expected, computed) pairs, as a share of `scale`.
    pub(crate) fn worst(
        what: impl Into<String>,
        source: &'static str,
        allowed: f64,
        scale: f64,
        pairs: impl IntoIterator<Item = (f64, f64)>,
    ) -> Check {
        let error = |&(expected, computed): &(f64, f64)| (computed - expected).abs() / scale;
        let worst = pairs.into_iter().max_by(|a, b| error(a).total_cmp(&error(b)));
        // No pair at all is no check: NaN passes no bound.
        let (expected, computed) = worst.unwrap_or((f64::NAN, f64::NAN));
        let error = error(&(expected, computed));
        Check { what: what.into(), source, expected, computed, error, allowed }
    }

    /// A single value.
    pub(crate) fn value(
        what: impl Into<String>,
        source: &'static str,
        allowed: f64,
        expected: f64,
        computed: f64,
    ) -> Check {
        Check::worst(what, source, allowed, 1.0, [(expected, computed)])
    }

    pub(crate) fn holds(&self) -> bool {
        self.error <= self.allowed
    }
}

/// The rows of a table in tests/reference, each as name to text.
pub(crate) fn table(name: &str) -> Vec<HashMap<String, String>> {
    let path = format!("{}/tests/reference/{name}.csv", env!("CARGO_MANIFEST_DIR"));
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
pub(crate) fn number(row: &HashMap<String, String>, name: &str) -> f64 {
    row[name].parse().unwrap_or_else(|e| panic!("{name}: {e}"))
}

/// Green light, as most checks use it.
pub(crate) const NM: f64 = 550.0;
/// The same in mm.
pub(crate) const MM: f64 = 550e-6;

pub(crate) fn light() -> foramen::wave::Light {
    foramen::wave::Light::single(NM).unwrap()
}

/// An aperture that is computed as exactly as numbers allow.
pub(crate) fn exact(outline: &foramen::geometry::Outline) -> foramen::wave::Aperture {
    foramen::wave::Aperture::of(outline).with_tolerance(1e-13).unwrap()
}
