use super::*;

/// A source of numbers that look random (xorshift: `Marsaglia2003`).
struct Dice(u64);

impl Dice {
    fn even(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    /// By `BoxMuller1958`.
    fn normal(&mut self) -> f64 {
        (-2.0 * (1.0 - self.even()).ln()).sqrt() * (TAU * self.even()).cos()
    }
}

/// The normal distribution's integral by its error function (Abramowitz and Stegun 7.1.26: to 1.5e-7).
fn phi(x: f64) -> f64 {
    let z = x.abs() / 2f64.sqrt();
    let t = 1.0 / (1.0 + 0.327_591_1 * z);
    let series = [0.254_829_592, -0.284_496_736, 1.421_413_741, -1.453_152_027, 1.061_405_429];
    let sum = series.iter().rev().fold(0.0, |sum, c| (sum + c) * t);
    let erf = 1.0 - sum * (-z * z).exp();
    if x < 0.0 { (1.0 - erf) / 2.0 } else { (1.0 + erf) / 2.0 }
}

/// An edge through the middle of a picture: the mean of a blurred step over each pixel, by 4 x 4 places.
fn edge(size: usize, normal: Point, sigma: f64, noise: f64, dice: &mut Dice) -> Array2<f32> {
    let middle = size as f64 / 2.0 + dice.even();
    Array2::from_shape_fn((size, size), |(row, column)| {
        let mut sum = 0.0;
        for i in 0..4 {
            for j in 0..4 {
                let x = column as f64 + (f64::from(i) + 0.5) / 4.0 - middle;
                let y = row as f64 + (f64::from(j) + 0.5) / 4.0 - middle;
                sum += phi((x * normal[0] + y * normal[1]) / sigma);
            }
        }
        (0.2 + 0.6 * sum / 16.0 + noise * dice.normal()) as f32
    })
}

fn strip(size: usize, degrees: f64) -> Strip {
    let angle = degrees.to_radians();
    Strip {
        middle_px: [size as f64 / 2.0; 2],
        normal: [angle.cos(), angle.sin()],
        half_width_px: 28.0,
        half_length_px: 40.0,
    }
}

/// The MTF of a Gaussian blur is exp(-2π²σ²f²) (its Fourier transform). The bound: 1 % of full scale up to
/// half the Nyquist frequency, at slants of 2 to 10 degrees, though the strip is a degree and 2 px off at first.
#[test]
fn a_gaussian_edge_gives_back_its_own_mtf() {
    let mut dice = Dice(7);
    for sigma in [0.6, 1.5, 3.0] {
        for degrees in [2.0, 5.0, 10.0, 50.0, 95.0, 185.0] {
            let found = strip(110, degrees);
            let picture = edge(110, found.normal, sigma, 0.0, &mut dice);
            let wrong = strip(110, degrees + 1.0);
            let wrong = Strip { middle_px: [57.0, 55.0], ..wrong };
            let edge = Edge::of(&picture, &|v, _| v, wrong).unwrap();
            for f in [0.02, 0.05, 0.1, 0.15, 0.2, 0.25] {
                let expected = (-2.0 * (PI * sigma * f).powi(2)).exp();
                let found = edge.contrast(f).mtf;
                assert!(
                    (found - expected).abs() < 0.01,
                    "{sigma} {degrees} {f}: {found} {expected}"
                );
            }
            assert!(edge.overshoot < 0.005 && edge.bow_px < 0.05, "{degrees} {}", edge.bow_px);
        }
    }
}

/// 95 of 100 intervals hold the truth, with noise of neighbouring pixels that hangs together too: between 93 and 97
/// per cent of 3000.
#[test]
fn intervals_hold_the_truth() {
    for mixed in [false, true] {
        let mut dice = Dice(11);
        let (mut inside, mut all) = (0, 0);
        for i in 0..500 {
            let degrees = 2.0 + 8.0 * dice.even() + 90.0 * f64::from(i % 4);
            let sigma = 0.8 + 2.0 * dice.even();
            let found = strip(110, degrees);
            let mut picture = edge(110, found.normal, sigma, 0.0, &mut dice);
            let mut grain = Array2::from_shape_fn((110, 110), |_| (0.01 * dice.normal()) as f32);
            if mixed {
                let sharp = grain.clone();
                grain.indexed_iter_mut().for_each(|((row, column), value)| {
                    *value = (sharp[[row, column]]
                        + sharp[[row, (column + 1) % 110]]
                        + sharp[[(row + 1) % 110, column]])
                        / 1.5;
                });
            }
            picture += &grain;
            let edge = Edge::of(&picture, &|v, _| v, found).unwrap();
            for f in [0.03, 0.06, 0.09, 0.12, 0.15, 0.18] {
                let expected = (-2.0 * (PI * sigma * f).powi(2)).exp();
                let contrast = edge.contrast(f);
                all += 1;
                inside += usize::from((contrast.mtf - expected).abs() <= contrast.uncertainty);
            }
        }
        let share = f64::from(inside as u32) / f64::from(all);
        println!("grain {mixed}: {:.1} % inside", 100.0 * share);
        assert!((0.93..=0.97).contains(&share), "{share}");
    }
}

/// A window of half width h takes from a line spread function what lies beyond it. By hand for contrast 1 - f/fc of a slit's
/// triangle: its line spread is fc sinc²(fc x), windowed and summed numerically.
#[test]
fn windows_act_on_predictions_as_on_pictures() {
    let (cut_off, half, count) = (5.0, 2.0, 500);
    let step = cut_off / f64::from(count);
    let otf: Vec<Complex64> =
        (0..=count).map(|i| Complex64::new(1.0 - f64::from(i) * step / cut_off, 0.0)).collect();
    let frequencies = [0.2, 1.0, 3.0];
    let found = windowed(&otf, step, half, &frequencies);
    let sum = |f: f64| -> f64 {
        (-20_000..20_000)
            .map(|i| (f64::from(i) + 0.5) * half / 20_000.0)
            .map(|x| cut_off * sinc(cut_off * x).powi(2) * window(x, half) * (TAU * f * x).cos())
            .sum()
    };
    for (f, found) in frequencies.iter().zip(found) {
        let expected = sum(*f) / sum(0.0);
        assert!((found - expected).abs() < 1e-4, "{f}: {found} {expected}");
    }
}

#[test]
fn no_edge_is_no_answer() {
    let flat = Array2::from_elem((110, 110), 0.5);
    assert!(Edge::of(&flat, &|v, _| v, strip(110, 5.0)).is_none());
    let far = Strip { middle_px: [-500.0, 20.0], ..strip(110, 5.0) };
    assert!(Edge::of(&flat, &|v, _| v, far).is_none());
}
