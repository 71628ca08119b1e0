//! The published best diameters, found again by searching with the engine.

use foramen::geometry::shapes;
use foramen::wave::{Aperture, Chords, Distances, Encircled, Light};

/// With λ = 500 nm and z = 2000 mm, √(λz) = 1 mm: diameters are the constants c themselves.
fn bench() -> (Light, Distances) {
    (Light::single(500.0).unwrap(), Distances::distant(2000.0).unwrap())
}

/// The place of the largest value between low and high, by golden section.
fn best(low: f64, high: f64, merit: impl Fn(f64) -> f64) -> f64 {
    let ratio = (5f64.sqrt() - 1.0) / 2.0;
    let (mut a, mut b) = (low, high);
    while b - a > 1e-4 {
        let (p, q) = (b - ratio * (b - a), a + ratio * (b - a));
        if merit(p) > merit(q) { b = q } else { a = p }
    }
    (a + b) / 2.0
}

fn axis(c: f64) -> f64 {
    let (light, distances) = bench();
    Aperture::of(&shapes::disc(c).unwrap()).density_at(&light, distances, &[[0.0, 0.0]]).unwrap()[0]
}

/// The first zone, d = 2 √(λz): brightest centre for a given subject. M. Young, Applied Optics 10,
/// 2763 (1971) uses this axis; that the zone is brightest follows from 4 sin²(πN/2).
#[test]
fn first_zone_is_brightest() {
    let c = best(1.5, 2.5, |c| axis(c) * c * c);
    assert!((c - 2.0).abs() < 1e-3, "{c}");
}

/// The highest peak for the energy that came through: tan x = 2x at x = πN/2, so c = 1.72281.
#[test]
fn highest_peak_per_energy() {
    let c = best(1.4, 2.1, axis);
    assert!((c - 1.722_811).abs() < 1e-3, "{c}");
}

/// Petzval 1857 (through K. D. Mielenz, J. Res. NIST 104, 479 (1999)): d = √2 √(λz), the least sum of
/// shadow and spread, d + 2λv/d; Mielenz finds the sharpest point image there. The engine's MTF50 has
/// its best close by, at 1.3765, and at Petzval's size falls short of it by a thousandth.
#[test]
fn petzval_lies_on_the_top_of_mtf50() {
    let (light, distances) = bench();
    let unit = Chords::along(&shapes::disc(1.0).unwrap(), 0.0, 512);
    let mtf50 = |c: f64| {
        let chords = unit.scaled(c);
        let (mut low, mut high) = (0.0, chords.cut_off_lp_per_mm(&light, distances));
        // The first crossing: the MTF of these holes is still monotonic down to one half.
        for _ in 0..50 {
            let middle = (low + high) / 2.0;
            let above = chords.otf(&light, distances, middle).norm() > 0.5;
            if above {
                low = middle;
            } else {
                high = middle;
            }
        }
        low
    };
    let c = best(1.1, 1.7, mtf50);
    // Best 1.376506 and MTF50 0.426336, 0.42586 at √2, in 1/(v√(λ/z)) = 1/mm here: computed
    // independently, by quadrature of the closed form.
    assert!((c - 1.376_5).abs() < 2e-3, "{c}");
    assert!((mtf50(c) - 0.426_336).abs() < 2e-5);
    assert!((mtf50(2f64.sqrt()) - 0.425_86).abs() < 2e-5);
}

/// Rayleigh, Phil. Mag. 31, 87 (1891): 2r = 1.9 √(fλ), judged from computed curves and trials. It is
/// where the circle of 90 % of the energy is smallest (1.945, independently computed) to 3 %.
#[test]
fn rayleigh_holds_the_energy_together() {
    let (light, distances) = bench();
    let diameter =
        |c: f64| Encircled::of(&shapes::disc(c).unwrap(), &light, distances).diameter_mm(0.9);
    let c = best(1.7, 2.15, |c| -diameter(c));
    assert!((c - 1.945).abs() < 0.01, "{c}");
    assert!(((1.0 / diameter(c)) - 0.329_127).abs() < 2e-4);
    assert!(diameter(1.897) < 1.02 * diameter(c));
}
