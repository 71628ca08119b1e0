//! Functions of one variable: the place of the highest value, where a condition ends, and a costly function from few
//! of its values.

use rayon::prelude::*;
use std::cell::RefCell;
use std::collections::BTreeMap;

/// Golden section between two places around a single top, to a hundred-thousandth: far below what a
/// flat top can tell apart.
pub(super) fn highest(low: f64, high: f64, merit: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = (low, high);
    let ratio = (5f64.sqrt() - 1.0) / 2.0;
    let (mut p, mut q) = (high - ratio * (high - low), low + ratio * (high - low));
    let (mut at_p, mut at_q) = (merit(p), merit(q));
    while high - low > 1e-5 {
        if at_p > at_q {
            (high, q, at_q) = (q, p, at_p);
            p = high - ratio * (high - low);
            at_p = merit(p);
        } else {
            (low, p, at_p) = (p, q, at_q);
            q = low + ratio * (high - low);
            at_q = merit(q);
        }
    }
    (low + high) / 2.0
}

/// The place between `inside` and `outside`, both above zero, where `excess` falls below zero, the nearest
/// to `inside` that steps of 5 % find, to a share `accuracy` of it or of what 1 is to `excess`; None where it never
/// does.
///
/// False position with a halved end where it is stuck (the Illinois way; `DahlquistBjorck1974`, 6.4):
/// few values of what may be costly.
pub(super) fn edge(
    inside: f64,
    outside: f64,
    accuracy: f64,
    excess: impl Fn(f64) -> f64,
) -> Option<f64> {
    let outwards = outside > inside;
    let step = |x: f64| if outwards { (x * 1.05).min(outside) } else { (x / 1.05).max(outside) };
    let (mut within, mut beyond) = (inside, step(inside));
    let (mut spare, mut short) = (f64::NAN, excess(beyond));
    while short >= 0.0 {
        if beyond == outside {
            return None;
        }
        (within, spare, beyond) = (beyond, short, step(beyond));
        short = excess(beyond);
    }
    if spare.is_nan() {
        spare = excess(within);
    }
    for _ in 0..60 {
        let x = within + (beyond - within) * spare / (spare - short);
        let value = excess(x);
        if value.abs() < accuracy || (beyond - within).abs() < accuracy * within {
            return Some(x);
        }
        if value >= 0.0 {
            (within, spare, short) = (x, value, short / 2.0);
        } else {
            (beyond, short, spare) = (x, value, spare / 2.0);
        }
    }
    Some(within)
}

/// Where a condition that holds at `inside` ends on the way to `outside`: by halving, to 1e-9 of the way between.
pub(super) fn bisected(inside: f64, outside: f64, holds: impl Fn(f64) -> bool) -> f64 {
    let (mut inside, mut outside) = (inside, outside);
    for _ in 0..30 {
        let middle = (inside + outside) / 2.0;
        if holds(middle) {
            inside = middle;
        } else {
            outside = middle;
        }
    }
    (inside + outside) / 2.0
}

/// Between two samples the size grows by this, in its logarithm.
const SAMPLE_STEP: f64 = 0.05;

/// The size of a sample by its number: 1 for 0.
pub(super) fn sample_size(index: i32) -> f64 {
    (f64::from(index) * SAMPLE_STEP).exp()
}

/// A smooth function of a size above zero, computed where it is needed and nowhere twice.
///
/// Between samples it is the cubic through the nearest four on a logarithmic scale (Lagrange; `DLMF`, 3.3.34),
/// whose error is 3/128 of a step's fourth power times the fourth derivative: below 1e-5 of the highest
/// merit, checked where the merit of discs is.
pub(super) struct SampledBySize<F> {
    of: F,
    known: RefCell<BTreeMap<i32, f64>>,
}

impl<F: Fn(f64) -> f64 + Sync> SampledBySize<F> {
    pub(super) fn new(of: F) -> SampledBySize<F> {
        SampledBySize { of, known: RefCell::default() }
    }

    /// Computes what is needed between two sizes, side by side.
    pub(super) fn fill(&self, low: f64, high: f64) {
        let place = |size: f64| size.ln() / SAMPLE_STEP;
        let all = place(low).floor() as i32 - 1..=place(high).ceil() as i32 + 1;
        let missing: Vec<i32> =
            all.filter(|index| !self.known.borrow().contains_key(index)).collect();
        let of = &self.of;
        let made: Vec<(i32, f64)> =
            missing.into_par_iter().map(|index| (index, of(sample_size(index)))).collect();
        self.known.borrow_mut().extend(made);
    }

    pub(super) fn at(&self, size: f64) -> f64 {
        let place = size.ln() / SAMPLE_STEP;
        // A sample's own place needs no neighbours.
        if (place - place.round()).abs() < 1e-9 {
            return self.sample(place.round() as i32);
        }
        let x = place - place.floor();
        let sample = |i: i32| self.sample(place.floor() as i32 + i);
        cubic([sample(-1), sample(0), sample(1), sample(2)], x + 1.0)
    }

    fn sample(&self, index: i32) -> f64 {
        let known = self.known.borrow().get(&index).copied();
        known.unwrap_or_else(|| {
            let value = (self.of)(sample_size(index));
            self.known.borrow_mut().insert(index, value);
            value
        })
    }
}

/// The cubic through four values at 0, 1, 2, 3 (Lagrange; `DLMF`, 3.3.34).
pub(super) fn cubic(values: [f64; 4], x: f64) -> f64 {
    let [a, b, c, d] = values;
    a * (x - 1.0) * (x - 2.0) * (3.0 - x) / 6.0
        + b * x * (x - 2.0) * (x - 3.0) / 2.0
        + c * x * (x - 1.0) * (3.0 - x) / 2.0
        + d * x * (x - 1.0) * (x - 2.0) / 6.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::{AtomicUsize, Ordering};

    #[test]
    fn a_condition_ends_where_it_does() {
        let edge = |inside, outside, excess: fn(f64) -> f64| edge(inside, outside, 1e-9, excess);
        assert!((edge(1.0, 9.0, |x| 2.345 - x).unwrap() - 2.345).abs() < 1e-9);
        assert!((edge(1.0, 0.01, |x| x.powi(3) - 0.125).unwrap() - 0.5).abs() < 1e-8);
        // A jump has a place, too.
        let jump = |x: f64| if x < 1.234 { 0.3 } else { -0.01 };
        assert!((edge(1.0, 9.0, jump).unwrap() - 1.234).abs() < 1e-8);
        // The nearer of two ends.
        assert!((edge(1.0, 9.0, |x| (x - 2.0) * (x - 3.0)).unwrap() - 2.0).abs() < 1e-9);
        assert_eq!(edge(1.0, 9.0, |_| 1.0), None);
        assert_eq!(edge(1.0, 1.0, |_| 1.0), None);
    }

    /// A cubic in ln x comes back as it is; a cosine within the bound, and each sample is made once.
    #[test]
    fn a_cubic_is_itself() {
        let cubic = |x: f64| 2.0 + x.ln() * (0.3 - x.ln() * (1.1 - 0.4 * x.ln()));
        let found = SampledBySize::new(cubic);
        for size in [0.07, 0.36, 1.0, 2.9] {
            assert!((found.at(size) - cubic(size)).abs() < 1e-13, "{size}");
        }
        let made = AtomicUsize::new(0);
        let wave = |x: f64| {
            made.fetch_add(1, Ordering::Relaxed);
            (3.0 * x.ln()).cos()
        };
        let found = SampledBySize::new(wave);
        found.fill(1.02, 1.03);
        for i in 0..100 {
            let x: f64 = (f64::from(i) / 1000.0).exp();
            // 3/128 of 0.05⁴ times 81.
            assert!((found.at(x) - (3.0 * x.ln()).cos()).abs() < 1.2e-5, "{x}");
        }
        assert_eq!(made.load(Ordering::Relaxed), 5);
    }
}
