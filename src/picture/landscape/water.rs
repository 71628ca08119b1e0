//! The lake: what stands above the waterline, seen again in ripples.

use super::air::SUN;
use super::canvas::{Canvas, Colour, mix, step};
use super::noise::layered_along;

/// Colour of deep water at dusk.
const DEEP: Colour = [0.030, 0.050, 0.075];
const GLINT: Colour = [1.0, 0.74, 0.45];
/// Beside the sun's lane by the root of so many widths there is less of it than a display shows.
const NO_LANE: f64 = 16.0;

/// Paints the lake below the waterline from all that is painted above it.
pub(super) fn paint(canvas: &mut Canvas) {
    let frame = canvas.frame;
    canvas.paint_water(|above, row, colours| {
        let y = frame.y(row);
        // Ripples grow with nearness: their count is the sum of 1/size over the way.
        let count = (1.0 + y / 38.0).ln() * 16.0;
        let size = 2.4 + y * 0.0625;
        let along = |wide: f64, shift: f64, y: f64, layers: u32| {
            let mut noise = vec![0.0; colours.len()];
            let (first, pixel) = (frame.x(0) / wide + shift, 1.0 / (wide * frame.scale));
            layered_along(&mut noise, first, pixel, y, layers);
            noise
        };
        let swells = along(9.0 * size, 20.0, count, 3);
        let ripples = along(4.0 * size, 3.0, 2.0 * count, 1);
        let calms = along(520.0, 8.0, y / 46.0, 3);
        let sparks = along(1.1 * size, 0.0, 3.9 * count, 1);
        let noises = swells.iter().zip(&ripples).zip(calms.iter().zip(&sparks));
        // Steeper looks down show less of the sky and more of the depth.
        let depth = 0.20 + 0.58 * step(0.0, 420.0, y);
        for ((column, colour), ((swell, ripple), (calm, spark))) in
            colours.iter_mut().enumerate().zip(noises)
        {
            let x = frame.x(column);
            let calm = step(0.45, 0.62, *calm);
            let slope = (1.0 - 0.72 * calm) * (0.75 * (swell - 0.5) + 0.35 * (ripple - 0.5));
            let seen = above.at(x + 0.9 * size * slope, -(y * 0.93 + 5.5 * size * slope).max(0.6));
            *colour = mix(seen, DEEP, (depth - 0.5 * slope).max(0.12));
            let beside = ((x - SUN.0) / (34.0 + 0.34 * y)).powi(2);
            if beside < NO_LANE {
                let lane = (-beside).exp();
                let spark = step(0.70, 0.84, spark * (0.75 + 0.5 * lane));
                *colour = mix(*colour, GLINT, spark * lane * 0.95);
            }
        }
    });
}
