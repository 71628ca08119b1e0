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

/// The place between `inside` and `outside`, both above zero, where `keeps` ends, the nearest to `inside`
/// that steps of 5 % find; None where it never does.
pub(super) fn edge(inside: f64, outside: f64, keeps: impl Fn(f64) -> bool) -> Option<f64> {
    let outwards = outside > inside;
    let step = |x: f64| if outwards { (x * 1.05).min(outside) } else { (x / 1.05).max(outside) };
    let (mut within, mut beyond) = (inside, step(inside));
    while keeps(beyond) {
        if beyond == outside {
            return None;
        }
        (within, beyond) = (beyond, step(beyond));
    }
    for _ in 0..30 {
        let middle = (within + beyond) / 2.0;
        (within, beyond) = if keeps(middle) { (middle, beyond) } else { (within, middle) };
    }
    Some((within + beyond) / 2.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_condition_ends_where_it_does() {
        assert!((edge(1.0, 9.0, |x| x < 2.345).unwrap() - 2.345).abs() < 1e-9);
        assert!((edge(1.0, 0.01, |x| x > 0.5).unwrap() - 0.5).abs() < 1e-9);
        // The nearer of two ends.
        assert!((edge(1.0, 9.0, |x| !(2.0..3.0).contains(&x)).unwrap() - 2.0).abs() < 1e-9);
        assert_eq!(edge(1.0, 9.0, |_| true), None);
        assert_eq!(edge(1.0, 1.0, |_| true), None);
    }
}
