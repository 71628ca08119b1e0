//! The lake: what stands above the waterline, seen again in ripples.

use super::air::SUN;
use super::canvas::{Canvas, Colour, mix, step};
use super::noise::{layered, noise};

/// Colour of deep water at dusk.
const DEEP: Colour = [0.030, 0.050, 0.075];
const GLINT: Colour = [1.0, 0.74, 0.45];

/// Paints the lake below the waterline from all that is painted above it.
pub(super) fn paint(canvas: &mut Canvas) {
    let above = canvas.clone();
    canvas.paint(0.0, canvas.frame.bottom + 1.0, |x, y| {
        // Ripples grow with nearness: their count is the sum of 1/size over the way.
        let count = (1.0 + y / 38.0).ln() * 16.0;
        let size = 2.4 + y * 0.0625;
        let swell = layered(x / (9.0 * size) + 20.0, count, 3) - 0.5;
        let ripple = noise(x / (4.0 * size) + 3.0, 2.0 * count) - 0.5;
        let calm = step(0.45, 0.62, layered(x / 520.0 + 8.0, y / 46.0, 3));
        let slope = (1.0 - 0.72 * calm) * (0.75 * swell + 0.35 * ripple);
        let seen = above.at(x + 0.9 * size * slope, -(y * 0.93 + 5.5 * size * slope).max(0.6));
        // Steeper looks down show less of the sky and more of the depth.
        let depth = 0.20 + 0.58 * step(0.0, 420.0, y) - 0.5 * slope;
        let colour = mix(seen, DEEP, depth.max(0.12));
        let lane = (-((x - SUN.0) / (34.0 + 0.34 * y)).powi(2)).exp();
        let spark = step(0.70, 0.84, noise(x / (1.1 * size), 3.9 * count) * (0.75 + 0.5 * lane));
        mix(colour, GLINT, spark * lane * 0.95)
    });
}
