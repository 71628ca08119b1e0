//! Many wavelengths replaced by a few that add up alike.
//!
//! Phases go with 1/λ. A sum over the lines of a function that is smooth in 1/λ is an integral over a
//! discrete measure, and every measure has its own Gauss rule: the eigenvalues of the Jacobi matrix
//! of its three-term recurrence are the nodes, the squared first components of the eigenvectors the
//! weights. Source: `GolubWelsch1969`.

use super::Light;

impl Light {
    /// Light of at most so many lines that adds up to the same as this one, for whatever is a
    /// polynomial in 1/λ of degree below twice that number. Light of no more lines is left as it is.
    #[must_use]
    pub fn condensed(&self, lines: usize) -> Light {
        if lines == 0 || lines >= self.lines.len() {
            return self.clone();
        }
        let rule = gauss(self.lines.iter().map(|&(nm, weight)| (1.0 / nm, weight)), lines);
        let lines = rule.into_iter().map(|(x, weight)| (1.0 / x, weight)).collect();
        Light { lines, continuous: Vec::new() }
    }

    /// Light in as many lines as an error below `tolerance` takes in the mean of waves whose phase goes
    /// with 1/λ and is at most `phase_rad` at the mean wavelength: the Gauss rule of a continuous
    /// spectrum's own measure. Light that is lines is left as it is.
    #[must_use]
    pub fn resolved(&self, phase_rad: f64, tolerance: f64) -> Light {
        if self.continuous.is_empty() {
            return self.clone();
        }
        let whole = Light { lines: self.continuous.clone(), continuous: Vec::new() };
        whole.condensed(whole.lines_for(phase_rad, tolerance))
    }

    /// How many lines [`Light::condensed`] must keep for an error below `tolerance` in the mean of
    /// waves cos(ψ + const) whose phase ψ goes with 1/λ and is at most `phase_rad` at the mean
    /// wavelength.
    ///
    /// Over all the light such a phase turns by ±θ. In Chebyshev polynomials a wave is
    /// J_0(θ) + 2 Σ i^k J_k(θ) T_k (`DLMF`, 10.12.3), of which a rule of m lines errs by what lies beyond
    /// degree 2m - 1, at most twice its sum; and |J_k(θ)| ≤ (θ/2)^k/k! (`DLMF`, 10.14.4).
    pub fn lines_for(&self, phase_rad: f64, tolerance: f64) -> usize {
        let range = 1.0 / self.shortest_nm() - 1.0 / self.longest_nm();
        let half = phase_rad.abs() * self.mean_nm() * range / 4.0;
        let mut degree = 0.0;
        let mut bound = 4.0;
        let mut lines = 1;
        while lines < self.lines.len() {
            for _ in 0..2 {
                degree += 1.0;
                bound *= half / degree;
            }
            // From here on the terms fall at least by half each, and their sum is below twice the first.
            if degree >= 2.0 * half && 2.0 * bound < tolerance {
                break;
            }
            lines += 1;
        }
        lines
    }
}

/// The Gauss rule of `count` nodes, or fewer if the measure has no more, of a measure of total 1.
///
/// Lanczos' process gives the recurrence; every vector is made orthogonal to all before it, without
/// which rounding spoils rules of nearly as many nodes as the measure has.
fn gauss(measure: impl Iterator<Item = (f64, f64)>, count: usize) -> Vec<(f64, f64)> {
    let (places, mut next): (Vec<f64>, Vec<f64>) =
        measure.map(|(place, weight)| (place, weight.sqrt())).unzip();
    let largest = places.iter().fold(0.0, |most: f64, place| most.max(place.abs()));
    let mut basis: Vec<Vec<f64>> = Vec::with_capacity(count);
    let (mut diagonal, mut beside) = (Vec::with_capacity(count), Vec::with_capacity(count));
    loop {
        let length = dot(&next, &next).sqrt();
        next.iter_mut().for_each(|value| *value /= length);
        let mut product: Vec<f64> = next.iter().zip(&places).map(|(q, x)| q * x).collect();
        diagonal.push(dot(&next, &product));
        basis.push(std::mem::take(&mut next));
        if diagonal.len() == count {
            break;
        }
        // Twice is enough (`Parlett`).
        for _ in 0..2 {
            for known in &basis {
                let part = dot(known, &product);
                product.iter_mut().zip(known).for_each(|(value, q)| *value -= part * q);
            }
        }
        let length = dot(&product, &product).sqrt();
        // The places are used up: the rule is the measure itself.
        if length < 1e-14 * largest {
            break;
        }
        beside.push(length);
        next = product;
    }
    eigen(diagonal, beside)
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// The eigenvalues of a symmetric tridiagonal matrix, each with the square of its eigenvector's first
/// component: QL steps with Wilkinson's shift, which turn that row of the eigenvectors along.
fn eigen(mut diagonal: Vec<f64>, mut beside: Vec<f64>) -> Vec<(f64, f64)> {
    let n = diagonal.len();
    let mut first = vec![0.0; n];
    first[0] = 1.0;
    beside.push(0.0);
    for low in 0..n {
        // Two or three steps each; never more than this, or a matrix that is none would hang.
        for _ in 0..60 {
            let small = |m: usize| {
                beside[m].abs() <= f64::EPSILON * (diagonal[m].abs() + diagonal[m + 1].abs())
            };
            let high = (low..n - 1).find(|&m| small(m)).unwrap_or(n - 1);
            if high == low {
                break;
            }
            let half = (diagonal[low + 1] - diagonal[low]) / (2.0 * beside[low]);
            let shift = beside[low] / (half + half.hypot(1.0).copysign(half));
            let mut g = diagonal[high] - diagonal[low] + shift;
            let (mut sin, mut cos, mut moved) = (1.0, 1.0, 0.0);
            for i in (low..high).rev() {
                let (f, b) = (sin * beside[i], cos * beside[i]);
                let r = f.hypot(g);
                beside[i + 1] = r;
                (sin, cos) = if r == 0.0 { (0.0, 1.0) } else { (f / r, g / r) };
                let d = diagonal[i + 1] - moved;
                let turned = (diagonal[i] - d) * sin + 2.0 * cos * b;
                moved = sin * turned;
                diagonal[i + 1] = d + moved;
                g = cos * turned - b;
                (first[i], first[i + 1]) =
                    (cos * first[i] - sin * first[i + 1], sin * first[i] + cos * first[i + 1]);
            }
            diagonal[low] -= moved;
            beside[low] = g;
            beside[high] = 0.0;
        }
    }
    diagonal.into_iter().zip(first).map(|(value, first)| (value, first * first)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;
    use crate::wave::{Aperture, Distances};

    fn lights() -> [Light; 3] {
        let three = [(450.0, 1.0), (550.0, 2.0), (650.0, 1.0)];
        let even: Vec<_> = (0..31).map(|i| (400.0 + 10.0 * f64::from(i), 1.0)).collect();
        // Unevenly spaced and weighted, unsorted, one line given twice.
        let uneven: Vec<_> = (0..24)
            .map(|i| (380.0 + f64::from(i * 37 % 23).powf(1.9), 0.01 + f64::from(i * i % 7)))
            .collect();
        [&three[..], &even, &uneven].map(|lines| Light::new(lines).unwrap())
    }

    fn mean(light: &Light, f: impl Fn(f64) -> f64) -> f64 {
        light.lines().iter().map(|(nm, weight)| weight * f(*nm)).sum()
    }

    #[test]
    fn polynomials_keep_their_mean() {
        for light in lights() {
            let most = light.lines().len();
            // Powers of a place between -1 and 1, which loses no digits.
            let (low, high) = (1.0 / light.longest_nm(), 1.0 / light.shortest_nm());
            let place = |nm: f64| (2.0 / nm - low - high) / (high - low);
            for lines in [1, 2, 3, 8, 12, 22, 30] {
                let few = light.condensed(lines);
                assert_eq!(few.lines().len(), lines.min(most));
                for degree in 0..2 * lines as i32 {
                    let power = |nm: f64| place(nm).powi(degree);
                    let error = mean(&few, power) - mean(&light, power);
                    assert!(error.abs() < 1e-14, "{most} {lines} {degree}: {error:e}");
                }
            }
        }
        // Two lines of which one is given twice are used up after two.
        let twice = Light::new(&[(500.0, 1.0), (600.0, 1.0), (500.0, 2.0), (500.0, 1.0)]).unwrap();
        let used = twice.condensed(3);
        assert_eq!(used.lines().len(), 2);
        assert!((mean(&used, |nm| nm) - 520.0).abs() < 1e-10);
    }

    /// A point image in all the light and in as many lines as the phase asks for: at the rim of the hole
    /// the phase is π a²/(λz) for the curvature and 2π a X/(λv) for the place, twice for a pair of rays.
    #[test]
    fn point_images_stay_as_they_are() {
        let aperture = Aperture::of(&shapes::ellipse(0.34, 0.28).unwrap());
        let distances = Distances::new(500.0, 60.0).unwrap();
        let places: Vec<[f64; 2]> =
            (0..30).map(|i| f64::from(i) * 0.02).map(|x| [x * 0.8, x * 0.6]).collect();
        let aperture = aperture.with_tolerance(1e-12).unwrap();
        for light in lights() {
            let wavelength = light.mean_nm() * 1e-6;
            let phase = std::f64::consts::PI / wavelength
                * (0.17 * 0.17 / distances.effective_mm() + 4.0 * 0.17 * 0.58 / 60.0);
            let few = light.condensed(light.lines_for(phase, 1e-9));
            assert!(few.lines().len() <= light.lines().len().min(22), "{}", few.lines().len());
            let all = aperture.density_at(&light, distances, &places).unwrap();
            let found = aperture.density_at(&few, distances, &places).unwrap();
            let peak = all.iter().copied().fold(0.0, f64::max);
            for (all, found) in all.iter().zip(found) {
                assert!((found - all).abs() < 1e-9 * peak, "{found} {all}");
            }
        }
    }

    #[test]
    fn the_number_of_lines_follows_the_phase() {
        let [three, even, _] = lights();
        assert_eq!(three.lines_for(100.0, 1e-9), 3);
        assert_eq!(even.lines_for(0.0, 1e-9), 1);
        assert_eq!(even.lines_for(1e6, 1e-9), 31);
        // The mean of cos ψ itself, ψ = 20 · 550/λ, is right to what was asked for.
        for tolerance in [1e-3, 1e-6, 1e-9, 1e-12] {
            let few = even.condensed(even.lines_for(20.0, tolerance));
            let wave = |nm: f64| (20.0 * 550.0 / nm).cos();
            let error = (mean(&few, wave) - mean(&even, wave)).abs();
            assert!(error < tolerance && error > tolerance * 1e-4 || error < 1e-14, "{error:e}");
        }
    }
}
