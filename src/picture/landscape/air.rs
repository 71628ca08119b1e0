//! Sky, clouds and the hazy ridges under them, and the water that shows them again.

use super::canvas::{Canvas, Colour, Smooth, mix, step};
use super::noise::{layered, noise};
use rayon::prelude::*;

/// Where the sun has just gone, in units of the frame.
pub(super) const SUN: (f64, f64) = (-90.0, -40.0);

const ZENITH: Colour = [0.045, 0.095, 0.20];
const HIGH: Colour = [0.17, 0.24, 0.36];
const LOW: Colour = [0.64, 0.38, 0.31];
const HORIZON: Colour = [0.96, 0.47, 0.18];
const GLOW: Colour = [1.0, 0.78, 0.48];

/// Ridges from far to near: height, relief and width of their hills in units, and colour.
const RIDGES: [(f64, f64, f64, Colour); 4] = [
    (128.0, 120.0, 420.0, [0.40, 0.28, 0.29]),
    (92.0, 100.0, 300.0, [0.21, 0.165, 0.20]),
    (60.0, 74.0, 230.0, [0.092, 0.085, 0.115]),
    (34.0, 44.0, 150.0, [0.028, 0.032, 0.045]),
];

/// What stands on the horizon in one column.
struct Skyline {
    /// How high each ridge rises.
    crests: [f64; RIDGES.len()],
    near_sun: f64,
}

impl Skyline {
    fn at(x: f64) -> Skyline {
        let mut place = 0;
        let crests = RIDGES.map(|(height, relief, width, _)| {
            place += 1;
            height + crest(x, place - 1, relief, width)
        });
        Skyline { crests, near_sun: (-((x - SUN.0) / 260.0).powi(2)).exp() }
    }

    /// The ridges before a sky, at a height, in pixels so large.
    fn before(&self, mut colour: Colour, y: f64, pixel: f64) -> Colour {
        let share = |place: usize| (y + self.crests[place]) / pixel + 0.5;
        // What a nearer ridge hides is not painted.
        let first = (0..RIDGES.len()).rev().find(|place| share(*place) >= 1.0).unwrap_or(0);
        for place in (first..RIDGES.len()).filter(|place| share(*place) > 0.0) {
            let (crest, tint) = (self.crests[place], RIDGES[place].3);
            // Mist lies in the valleys: the lower, the nearer to the colour of the air.
            let mist = step(crest, 0.1 * crest, -y) * (0.50 - 0.10 * place as f64);
            let air = mix([0.44, 0.33, 0.32], [0.98, 0.60, 0.33], self.near_sun);
            let tint = mix(mix(tint, air, 0.35 * self.near_sun / (1.0 + place as f64)), air, mist);
            colour = mix(colour, tint, share(place));
        }
        colour
    }
}

/// The sky and the ridges, from the top of the frame down to the waterline.
pub(super) fn paint(canvas: &mut Canvas) {
    let frame = canvas.frame;
    let pixel = 1.0 / frame.scale;
    let skyline: Vec<Skyline> =
        (0..frame.columns).into_par_iter().map(|column| Skyline::at(frame.x(column))).collect();
    // Below the lowest place of the skyline no sky is seen.
    let highest = |line: &Skyline| line.crests.into_iter().fold(0.0, f64::max);
    let lowest = skyline.iter().map(highest).fold(f64::INFINITY, f64::min);
    let sky = Smooth::painted(frame, pixel - lowest, sky);
    canvas.paint(frame.top - pixel, pixel, |row, colours| {
        sky.lay(row, colours);
        for (colour, line) in colours.iter_mut().zip(&skyline) {
            *colour = line.before(*colour, frame.y(row), pixel);
        }
    });
}

/// How far a ridge rises above its own height: hills, and on the nearer ones the tops of firs.
fn crest(x: f64, place: usize, relief: f64, width: f64) -> f64 {
    let line = 31.7 * (place + 1) as f64;
    let hills = relief * (layered(x / width + 40.0, line, 5) - 0.5) * 1.6;
    let firs = match place {
        2 => 5.0 * spikes(x / 5.5, line) * noise(x / 60.0, line + 5.0),
        3 => 15.0 * spikes(x / 8.5, line) * noise(x / 90.0, line + 5.0),
        _ => 0.0,
    };
    hills + firs
}

/// Pointed tops, a tree to a unit, each of its own height in 0..1.
fn spikes(x: f64, line: f64) -> f64 {
    let tree = |number: f64| {
        let middle = number + 0.25 + 0.5 * noise(number, line + 9.5);
        let tall = 0.25 + 0.75 * noise(number, line + 3.5);
        tall - 1.5 * (x - middle).abs()
    };
    (-1..=1).map(|near| tree(x.floor() + f64::from(near))).fold(0.0, f64::max)
}

fn sky(x: f64, y: f64) -> Colour {
    let height = (-y / 640.0).max(0.0);
    let mut colour = mix(HORIZON, LOW, step(0.0, 0.36, height));
    colour = mix(colour, HIGH, step(0.16, 0.70, height));
    colour = mix(colour, ZENITH, step(0.5, 1.15, height));
    let from_sun = (((x - SUN.0) / 1.7).powi(2) + (y - SUN.1).powi(2)).sqrt();
    colour = mix(colour, GLOW, 0.95 * (-from_sun / 170.0).exp());
    clouds(colour, x, -y, from_sun)
}

/// Long clouds lit from below. They crowd and flatten toward the horizon, as a ceiling does in
/// perspective.
fn clouds(sky: Colour, x: f64, height: f64, from_sun: f64) -> Colour {
    let far = 150.0 + height;
    let (across, away) = (950.0 * x / far / 420.0, 5.2 * (1.0 + height / 120.0).ln());
    let bend = layered(across * 0.8 + 7.0, away * 0.5, 3) - 0.5;
    let cover = |away: f64| {
        let heap = layered(across + 3.1 * bend + 11.0, away + 1.2 * bend, 6);
        let bank = layered(across * 0.3 + 3.0, away * 0.45 + 60.0, 2);
        0.62 * heap + 0.38 * bank
    };
    let here = cover(away);
    let thick = step(0.445, 0.66, here);
    if thick <= 0.0 {
        return sky;
    }
    // Toward the sun a cloud thins out first where it is lit.
    let lit = step(-0.02, 0.10, here - cover(away - 0.34));
    let near = (-from_sun / 420.0).exp();
    let bright = mix([0.52, 0.33, 0.33], [1.0, 0.66, 0.40], 1.7 * near);
    let shade = mix([0.115, 0.125, 0.185], [0.42, 0.28, 0.27], 1.3 * near);
    let body = mix(shade, bright, lit * (1.0 - 0.45 * thick));
    mix(sky, body, 0.86 * thick)
}
