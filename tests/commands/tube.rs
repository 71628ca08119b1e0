//! A tube with the hole in its wall, before a wall with a grating on it: the picture's contrast against theory.

#![allow(clippy::unwrap_used, clippy::print_stdout)]

use super::answers::foramen;
use foramen::raster::{Raster, decode, display, png};
use foramen::wave::analytic::DiscOtf;
use std::f64::consts::{PI, TAU};
use std::fs;

const NM: f64 = 550.0;
const HOLE_MM: f64 = 0.3;
/// The tube's diameter, and the distance of the film opposite.
const ACROSS_MM: f64 = 100.0;
/// Film of 0.1 mm to the pixel.
const PIXELS: usize = 1600;
const PIXEL_MM: f64 = 0.1;
/// Half the wall that the film sees, over its distance: the film's end lies 0.8 rad from the axis.
const SCENE: [usize; 2] = [6000, 1760];
const SHOWN: f64 = 0.4;

const TUBE: &str = r#"
name = "Test tube"
[film]
distance = "100 mm"
width = "160 mm"
height = "30 mm"
shape = "cylinder"
radius = "50 mm"
[light]
wavelength = ["550 nm"]
"#;

/// Light of 1/2 + 0.4 cos(2πν t) on the wall, t its coordinate over its distance.
fn grating(cycles: f64) -> Vec<u8> {
    let scale = SCENE[0] as f64 / (2.0 * 0.8f64.tan());
    let light = |column: usize| {
        let t = (column as f64 + 0.5 - SCENE[0] as f64 / 2.0) / scale;
        (0.5 + SHOWN * (TAU * cycles * t).cos()) as f32
    };
    let linear = ndarray::Array3::from_shape_fn((1, SCENE[1], SCENE[0]), |(_, _, x)| light(x));
    png(&display(&Raster { linear }).unwrap()).unwrap()
}

/// The share of the grating's contrast that is left at an angle from the axis: amplitude over mean in some columns
/// about it, by least squares.
fn found(picture: &image::RgbImage, cycles: f64, angle: f64) -> f64 {
    let middle = PIXELS as f64 / 2.0 + ACROSS_MM * angle / PIXEL_MM;
    let mut squares = [[0.0; 5]; 4];
    for column in (middle - 50.0) as u32..(middle + 50.0) as u32 {
        let s = (f64::from(column) + 0.5 - PIXELS as f64 / 2.0) * PIXEL_MM;
        let phase = TAU * cycles * (s / ACROSS_MM).tan();
        let beside = (f64::from(column) - middle) / 50.0;
        for row in picture.height() / 2 - 2..picture.height() / 2 + 2 {
            let light = decode(f64::from(picture.get_pixel(column, row)[1]) / 255.0);
            let terms = [1.0, beside, phase.cos(), phase.sin(), light];
            for (i, sums) in squares.iter_mut().enumerate() {
                sums.iter_mut().zip(terms).for_each(|(sum, term)| *sum += terms[i] * term);
            }
        }
    }
    let [mean, _, cosine, sine] = solved(squares);
    cosine.hypot(sine) / mean / (SHOWN / 0.5)
}

/// Gauss elimination; the matrix of least squares needs no exchange of rows.
fn solved(mut rows: [[f64; 5]; 4]) -> [f64; 4] {
    for pivot in 0..4 {
        let row = rows[pivot].map(|value| value / rows[pivot][pivot]);
        rows[pivot] = row;
        for (_, other) in rows.iter_mut().enumerate().filter(|(i, _)| *i != pivot) {
            let factor = other[pivot];
            other.iter_mut().zip(row).for_each(|(value, part)| *value -= factor * part);
        }
    }
    rows.map(|row| row[4])
}

/// The ray at θ from the axis is 2r cos θ long, sees the hole narrower by cos θ and meets the film at θ; a mm of
/// film is sec² θ/2r of the wall. Along x a disc that is seen as an oval has a disc's OTF (closed form) in its own
/// width. A pixel is the mean of its light: it takes sin(x)/x.
fn theory(cycles: f64, angle: f64) -> f64 {
    let (cos, wave_mm) = (angle.cos(), NM * 1e-6);
    let frequency = cycles / (ACROSS_MM * cos * cos);
    let (far, half) = (ACROSS_MM * cos, HOLE_MM / 2.0 * cos);
    let share = wave_mm * far * frequency / cos / (2.0 * half);
    let x = PI * frequency * PIXEL_MM;
    DiscOtf::default().at(half * half / (wave_mm * far), share) * x.sin() / x
}

#[test]
fn a_grating_on_a_wall_keeps_the_contrast_of_theory_on_a_tube() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("tube.toml"), TUBE).unwrap();
    let pixels = PIXELS.to_string();
    for cycles in [60.0, 120.0] {
        fs::write(folder.path().join("grating.png"), grating(cycles)).unwrap();
        let words = ["preview", "--hole", "0.3 mm", "--camera", "tube.toml", "--pixels", &pixels];
        let scene = ["--scene", "grating.png", "--backdrop", "flat", "--out", "picture.png"];
        let ended = foramen(folder.path(), &[&words[..], &scene].concat());
        assert_eq!((ended.code, ended.err.as_str()), (0, ""));
        let picture = image::open(folder.path().join("picture.png")).unwrap().into_rgb8();
        assert_eq!(picture.dimensions(), (1600, 300));
        for angle in [0.0, 0.3, -0.45, 0.6] {
            let (found, theory) = (found(&picture, cycles, angle), theory(cycles, angle));
            println!("{cycles} {angle}: {found:.4} {theory:.4}");
            // A fifth of the 3 % of the light that kernels lay evenly, kernels between nodes, 255 levels: 1 % of
            // full contrast together.
            assert!((found - theory).abs() < 0.01, "{cycles} {angle}: {found} {theory}");
        }
    }
}
