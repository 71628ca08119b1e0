#![allow(missing_docs)]
use foramen::geometry::shapes;
use foramen::wave::*;
use std::time::Instant;
fn main() {
    let burred = shapes::polar(1440, |phi| {
        let tongue = (1.0 - (phi - 0.7).abs() / 0.12).max(0.0);
        0.15 * (1.0 + 0.05 * (5.0 * phi).cos() + 0.03 * (2.0 * phi).sin()) - 0.06 * tongue
    })
    .unwrap();
    for d in [
        Distances::distant(80.0).unwrap(),
        Distances::new(120.0, 80.0).unwrap(),
        Distances::new(100.0, 10.0).unwrap(),
    ] {
        for (n, o) in [
            ("disc", shapes::disc(0.3).unwrap()),
            ("burred", burred.clone()),
            ("square", shapes::rectangle(0.3, 0.2).unwrap().moved(0.1, 0.05)),
        ] {
            for (size, rings) in [(256, 6.0), (512, 60.0), (1024, 120.0)] {
                let light = Light::single(550.0).unwrap();
                let g = Grid::new(
                    size,
                    2.0 * rings * 1.21967 * 550e-6 * d.film_mm() / 0.3 / size as f64,
                )
                .unwrap();
                let t0 = Instant::now();
                let truth = Aperture::of(&o).psf(&light, d, g).unwrap();
                let t1 = Instant::now();
                let p = Aperture::of(&o).wide_psf(&light, d, g).unwrap();
                let t2 = Instant::now();
                let e = p
                    .density
                    .iter()
                    .zip(&truth.density)
                    .map(|(a, b)| (a - b).abs())
                    .fold(0.0, f64::max)
                    / truth.peak();
                let q = size / 2 + size * 2 / 5;
                let (a, b): (f64, f64) = (0..9)
                    .map(|i| (p.density[[q - i, q]], truth.density[[q - i, q]]))
                    .fold((0.0, 0.0), |s, x| (s.0 + (x.0 - x.1).abs(), s.1 + x.1));
                println!(
                    "{n} {size} {rings}: order {} cells {} error {e:.1e} far relative {:.1e} ({:.1e}) energy {:.5} {:.5} products {:?} wide {:?}",
                    truth.order(),
                    p.order(),
                    a / b,
                    b / 9.0 / truth.peak(),
                    truth.energy_on_grid(),
                    p.energy_on_grid(),
                    t1 - t0,
                    t2 - t1
                );
            }
        }
    }
}
