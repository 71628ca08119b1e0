//! What all fast Fourier transforms here share.

/// The smallest multiple of sixteen from `least` up whose only prime factors are 2, 3 and 5. The
/// transform is fast at such lengths (measured 0.6 to 1.1 ns a number up to 2304; 1.4 at 1000 and
/// at 2187, which have few twos or none), and whole blocks and squares fill them.
pub(crate) fn good_length(least: usize) -> usize {
    let good = |length: &usize| has_only(*length, [2, 3, 5]);
    (least.max(1).next_multiple_of(16)..).step_by(16).find(good).unwrap_or(least)
}

/// The smallest odd number from `least` up whose only prime factors are 3, 5 and 7, for transforms about a
/// middle sample.
pub(crate) fn good_odd_length(least: usize) -> usize {
    let good = |length: &usize| has_only(*length, [3, 5, 7]);
    ((least | 1)..).step_by(2).find(good).unwrap_or(least | 1)
}

/// Whether a number above zero has no other prime factors than these.
fn has_only(mut number: usize, primes: [usize; 3]) -> bool {
    for prime in primes {
        while number.is_multiple_of(prime) {
            number /= prime;
        }
    }
    number == 1
}
