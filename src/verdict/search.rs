//! The place of the highest value of a function of one variable.

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
