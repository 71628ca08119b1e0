#![allow(missing_docs)]
use foramen::geometry::shapes;
use foramen::wave::*;
fn main() {
    let light = Light::single(550.0).unwrap();
    let d = Distances::distant(80.0).unwrap();
    let g = Grid::new(512, 12.0 * 1.21967 * 550e-6 * 80.0 / 0.3 / 512.0).unwrap();
    let burred = shapes::polar(1440, |phi| {
        let tongue = (1.0 - (phi - 0.7).abs() / 0.12).max(0.0);
        0.15 * (1.0 + 0.05 * (5.0 * phi).cos() + 0.03 * (2.0 * phi).sin()) - 0.06 * tongue
    })
    .unwrap();
    for (n, o) in [
        ("disc", shapes::disc(0.3).unwrap()),
        ("burred", burred),
        ("square", shapes::rectangle(0.3, 0.3).unwrap()),
        ("tri", shapes::regular_polygon(3, 0.3).unwrap()),
    ] {
        let truth = Aperture::of(&o).right_to(1e-13).unwrap().psf(&light, d, g).unwrap();
        for t in [1e-3, 1e-5, 1e-7, 1e-9] {
            let p = Aperture::of(&o).right_to(t).unwrap().psf(&light, d, g).unwrap();
            let e = p
                .density
                .iter()
                .zip(&truth.density)
                .map(|(a, b)| (a - b).abs())
                .fold(0.0, f64::max)
                / truth.peak();
            println!("{n} tol {t:e}: order {} error {e:.1e}", p.order());
        }
    }
}
