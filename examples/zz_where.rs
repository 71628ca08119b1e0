#![allow(missing_docs, unused_imports, clippy::all)]
//! x
use foramen::camera::*;
use foramen::picture::*;
use foramen::wave::*;
use std::time::Instant;
fn main() {
    let cam = Camera::read(std::path::Path::new("/tmp/look/tube.toml")).unwrap();
    rayon::ThreadPoolBuilder::new().num_threads(1).build_global().unwrap();
    let hole =
        foramen::geometry::shapes::burred_disc(0.4, 0.6, 0.3, 0.07).unwrap().simplified(8e-5);
    println!("{}", hole.loops()[0].len());
    let light = cam.light.within(0.0, 500.0).unwrap().1.condensed(3);
    for x in [0.0f64, 100.0] {
        for (side, p) in [(35, 0.23), (117, 0.067), (401, 0.067)] {
            let im = PointImage::where_lit(&cam, &hole, [x, 0.0])
                .unwrap()
                .unwrap()
                .in_light(&light)
                .right_to(1e-5);
            for _ in 0..2 {
                let t = Instant::now();
                let _ = PointImage::where_lit(&cam, &hole, [x, 0.0]).unwrap();
                let a = t.elapsed();
                let t = Instant::now();
                let k = im.psf_on_pixels(Grid::new(side, p).unwrap()).unwrap();
                let b = t.elapsed();
                let ap = im.aperture();
                let t = Instant::now();
                let q = ap.quadrature(&light, im.distances(), side as f64 * p / 2.0).unwrap();
                let c = t.elapsed();
                println!(
                    "{x} side {side}: clip {a:?} psf {b:?} quadrature {c:?} order {}",
                    k.order()
                );
                let _ = q;
            }
        }
    }
}
