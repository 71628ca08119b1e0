//! A costly function of a size, computed at few sizes and interpolated.

use std::cell::RefCell;
use std::collections::BTreeMap;

/// Between two samples the size grows by this, in its logarithm.
const STEP: f64 = 0.05;

/// The size of a sample by its number: 1 for 0.
pub(super) fn place(index: i32) -> f64 {
    (f64::from(index) * STEP).exp()
}

/// A smooth function of a size above zero, computed where it is needed and nowhere twice.
///
/// Between samples it is the cubic through the nearest four on a logarithmic scale (Lagrange; DLMF 3.3.34),
/// whose error is 3/128 of a step's fourth power times the fourth derivative: below 1e-5 of the highest
/// merit, checked where the merit of discs is.
pub(super) struct Sampled<F> {
    of: F,
    known: RefCell<BTreeMap<i32, f64>>,
}

impl<F: Fn(f64) -> f64> Sampled<F> {
    pub(super) fn new(of: F) -> Sampled<F> {
        Sampled { of, known: RefCell::default() }
    }

    pub(super) fn at(&self, size: f64) -> f64 {
        let place = size.ln() / STEP;
        // A sample's own place needs no neighbours.
        if (place - place.round()).abs() < 1e-9 {
            return self.sample(place.round() as i32);
        }
        let x = place - place.floor();
        let sample = |i: i32| self.sample(place.floor() as i32 + i);
        sample(-1) * x * (1.0 - x) * (x - 2.0) / 6.0
            + sample(0) * (1.0 - x * x) * (2.0 - x) / 2.0
            + sample(1) * x * (1.0 + x) * (2.0 - x) / 2.0
            + sample(2) * x * (x * x - 1.0) / 6.0
    }

    fn sample(&self, index: i32) -> f64 {
        let known = self.known.borrow().get(&index).copied();
        known.unwrap_or_else(|| {
            let value = (self.of)(place(index));
            self.known.borrow_mut().insert(index, value);
            value
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A cubic in ln x comes back as it is; a cosine within the bound, and each sample is made once.
    #[test]
    fn a_cubic_is_itself() {
        let cubic = |x: f64| 2.0 + x.ln() * (0.3 - x.ln() * (1.1 - 0.4 * x.ln()));
        let found = Sampled::new(cubic);
        for size in [0.07, 0.36, 1.0, 2.9] {
            assert!((found.at(size) - cubic(size)).abs() < 1e-13, "{size}");
        }
        let made = RefCell::new(0);
        let wave = |x: f64| {
            *made.borrow_mut() += 1;
            (3.0 * x.ln()).cos()
        };
        let found = Sampled::new(wave);
        for i in 0..100 {
            let x: f64 = (f64::from(i) / 1000.0).exp();
            // 3/128 of 0.05⁴ times 81.
            assert!((found.at(x) - (3.0 * x.ln()).cos()).abs() < 1.2e-5, "{x}");
        }
        assert_eq!(*made.borrow(), 5);
    }
}
