use super::*;

/// Contrasts of a camera whose hole allows exp(-f q²/3)-like curves of its size, with a fault and its noise.
fn data(fault: impl Fn(f64, f64) -> f64, size: f64, noise: f64) -> Vec<Datum> {
    let mut data = Vec::new();
    let mut dice = 1u64;
    for place in 0..9 {
        for direction in 0..4 {
            for step in 1..=16 {
                dice = dice.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
                // Even between -√3 and √3: a standard deviation of one.
                let off = ((dice >> 33) as f64 / f64::from(1u32 << 31) - 0.5) * 12f64.sqrt();
                let f = 0.3 * f64::from(step);
                let direction_rad = 0.09 + PI / 4.0 * f64::from(direction);
                // A hole's own shape: not a Gaussian's.
                let curve = |q: f64| {
                    (1.0 - f / (6.0 * q)).max(0.0) * (0.4 + 0.6 * (-0.3 * f * q * q).exp())
                };
                data.push(Datum {
                    place,
                    direction_rad,
                    frequency_lp_per_mm: f,
                    measured: curve(size) * fault(f, direction_rad) + noise * off,
                    uncertainty: 2.0 * noise,
                    predicted: SIZES.map(curve),
                });
            }
        }
    }
    data
}

#[test]
fn a_faultless_picture_has_no_cause() {
    let fits = causes(&data(|_, _| 1.0, 1.0, 0.01));
    assert_eq!(fits[0].cause, Cause::None);
    assert!(fits[0].odds > 0.9, "{fits:?}");
}

#[test]
fn movement_is_named_with_its_length_and_direction() {
    for (length, direction) in [(0.1, 30.0f64), (0.3, 120.0)] {
        let fault = |f: f64, angle: f64| moved(f * length * (angle - direction.to_radians()).cos());
        let fits = causes(&data(fault, 1.0, 0.01));
        let Cause::Moved { length_mm, length_uncertainty_mm, direction_deg } = fits[0].cause else {
            panic!("{fits:?}");
        };
        assert!((length_mm - length).abs() < length_uncertainty_mm.max(0.05 * length), "{fits:?}");
        assert!((direction_deg - direction).abs() < 6.0, "{fits:?}");
    }
}

#[test]
fn blur_and_size_are_told_apart() {
    let blur = |f: f64, _| (-2.0 * (PI * 0.04 * f).powi(2)).exp();
    let fits = causes(&data(blur, 1.0, 0.005));
    let Cause::Softened { sigma_mm, .. } = fits[0].cause else { panic!("{fits:?}") };
    assert!((sigma_mm - 0.04).abs() < 0.002, "{fits:?}");
    for size in [0.9, 1.1] {
        let fits = causes(&data(|_, _| 1.0, size, 0.005));
        let Cause::Resized { factor, .. } = fits[0].cause else { panic!("{fits:?}") };
        assert!((factor - size).abs() < 0.02, "{fits:?}");
    }
}
