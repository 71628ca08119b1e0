#![allow(missing_docs, unused_imports, clippy::all)]
//! x
use foramen::camera::Camera;
use foramen::hole::*;
use foramen::picture::*;
use std::time::Instant;
fn main() {
    let cam = Camera::read(std::path::Path::new("/tmp/look/tube.toml")).unwrap();
    let hole = foramen::geometry::shapes::burred_disc(0.4, 0.6, 0.3, 0.07).unwrap();
    println!("edges {}", hole.loops()[0].len());
    let t = Instant::now();
    let n = nodes(&cam, &hole).unwrap();
    println!("nodes {:?} {:?}", n, t.elapsed());
    let t = Instant::now();
    let e = contrast_error(&cam, &hole, n, 12).unwrap();
    println!("err {e} {:?}", t.elapsed());
    for n in [[9usize, 5], [12, 9]] {
        let t = Instant::now();
        let e = contrast_error(&cam, &hole, n, 60).unwrap();
        println!("{n:?} err {e} {:?}", t.elapsed());
    }
    for (c, r) in [(1290, 774), (4472, 2683)] {
        let t = Instant::now();
        let k = FilmKernels::of(&cam, &hole, [c, r], [9, 5]).unwrap();
        println!(
            "kernels {:?} size {} {}",
            t.elapsed(),
            k.kernels.kernels()[22][0].weights().nrows(),
            k.kernels.kernels()[0][0].weights().nrows()
        );
        let s = Scene::Landscape;
        let t = Instant::now();
        let v = View::of(&cam, None, c, r).unwrap();
        let (w, h) = v.scene_pixels();
        println!("view {:?} {w}x{h}", t.elapsed());
        let t = Instant::now();
        let sc = s.drawn(w, h).unwrap();
        println!("drawn {:?}", t.elapsed());
        let t = Instant::now();
        let im = v.image(sc).unwrap();
        println!("image {:?}", t.elapsed());
        let t = Instant::now();
        let f = form(&im, &k.kernels);
        println!("form {:?} {}", t.elapsed(), f.linear[[0, 3, 3]]);
    }
}
