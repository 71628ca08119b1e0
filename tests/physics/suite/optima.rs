//! Published best diameters d = c √(λz), found again by searching with the engine.

use super::{Check, exact};
use foramen::geometry::shapes;
use foramen::verdict::target::tightest::tightest_disc;
use foramen::wave::{Chords, Distances, Light};

/// With λ = 500 nm and z = 2000 mm, √(λz) = 1 mm: diameters are the constants c themselves.
fn bench() -> (Light, Distances) {
    (Light::single(500.0).unwrap(), Distances::distant(2000.0).unwrap())
}

/// The place of the largest value between low and high, by golden section.
fn best(low: f64, high: f64, merit: impl Fn(f64) -> f64) -> f64 {
    let ratio = (5f64.sqrt() - 1.0) / 2.0;
    let (mut a, mut b) = (low, high);
    while b - a > 1e-5 {
        let (p, q) = (b - ratio * (b - a), a + ratio * (b - a));
        if merit(p) > merit(q) { b = q } else { a = p }
    }
    (a + b) / 2.0
}

fn axis(c: f64) -> f64 {
    let (light, distances) = bench();
    exact(&shapes::disc(c).unwrap()).density_at(&light, distances, &[[0.0, 0.0]]).unwrap()[0]
}

pub(crate) fn checks() -> Vec<Check> {
    let (light, distances) = bench();
    let unit = Chords::along(&shapes::disc(1.0).unwrap(), 0.0, 1024);
    let mtf50 = |c: f64| {
        let chords = unit.scaled(c);
        let (mut low, mut high) = (0.0, chords.cut_off_lp_per_mm(&light, distances));
        // The first crossing: the MTF of these holes is still monotonic down to one half.
        for _ in 0..50 {
            let middle = (low + high) / 2.0;
            let above = chords.otf(&light, distances, middle).norm() > 0.5;
            (low, high) = if above { (middle, high) } else { (low, middle) };
        }
        low
    };
    let of_mtf50 = best(1.1, 1.7, mtf50);
    let circle = |share: f64| tightest_disc(&light, distances, share).unwrap();
    let rayleigh = tightest_disc(&light, distances, 0.9).unwrap();
    let petzval = 2f64.sqrt();
    vec![
        // Flat tops: 1e-10 of a merit is 1e-5 of its place.
        Check::value(
            "brightest centre: the first zone",
            "M. Young, Appl. Opt. 10, 2763 (1971); 4 sin²(πN/2)",
            5e-5,
            2.0,
            best(1.4, 2.7, |c| axis(c) * c * c),
        ),
        Check::value(
            "highest peak for the energy: tan x = 2x",
            "stationary point of sin²(πN/2)/N",
            5e-5,
            1.722_810_838_6,
            best(1.4, 2.1, axis),
        ),
        // The strips' 5e-7 on a top so flat moves it by some 1e-3.
        Check::value("widest MTF50", "quadrature of the closed form", 2e-3, 1.376_506, of_mtf50),
        Check::value("its MTF50, in 1/(v √(λ/z))", "the same", 5e-6, 0.426_336, mtf50(of_mtf50)),
        Check::value(
            "MTF50 at √2, a thousandth less",
            "Petzval 1857, through Mielenz, J. Res. NIST 104, 479 (1999)",
            1e-5,
            0.425_86,
            mtf50(petzval),
        ),
        Check::value(
            "smallest circle of 50 %",
            "closed-form OTF",
            5e-5,
            1.494_383,
            circle(0.5).diameter_mm,
        ),
        Check::value(
            "smallest circle of 80 %",
            "closed-form OTF",
            5e-5,
            1.793_529,
            circle(0.8).diameter_mm,
        ),
        Check::value(
            "smallest circle of 90 %",
            "closed-form OTF",
            5e-5,
            1.945_086,
            rayleigh.diameter_mm,
        ),
        // Rayleigh's 1.9, judged from curves and trials, keeps 90 % together to within 2 %.
        Check::value(
            "smallest circle of 90 %, near Rayleigh's 1.9",
            "Rayleigh, Phil. Mag. 31, 87 (1891)",
            0.05,
            1.897_367,
            rayleigh.diameter_mm,
        ),
    ]
}
