//! Places of a function of one variable: its highest value, and where a condition ends.

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
/// to `inside` that steps of 5 % find; None where it never does.
///
/// False position with a halved end where it is stuck (the Illinois way; G. Dahlquist and A. Bjorck,
/// Numerical Methods, 6.4, from memory): few values of what may be costly.
pub(super) fn edge(inside: f64, outside: f64, excess: impl Fn(f64) -> f64) -> Option<f64> {
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
        if value.abs() < 1e-9 || (beyond - within).abs() < 1e-9 * within {
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_condition_ends_where_it_does() {
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
}
