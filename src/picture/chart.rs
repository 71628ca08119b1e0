//! The test plate: what a camera can be measured by, in one picture.
//!
//! All of it stands in a square cell of 1000 units about the film's middle; the ground and its
//! crosses run on to the film's edges, where four words tell which way is up. Light is linear: ink
//! is 0, the ground [`GROUND`], and the grey steps are what is written under them.

use super::fitted;
use crate::error::Error;
use crate::raster::{Raster, coverage, rasterise};
use std::f64::consts::TAU;
use std::fmt::Write;

/// Light of the ground: below 1, so that what overshoots can still be told from it.
const GROUND: f64 = 0.9;
/// Side of the cell in its own units.
const CELL: f64 = 1000.0;
/// Line pairs per picture height, half an octave apart.
const PITCHES: [u32; 10] = [20, 28, 40, 56, 80, 112, 160, 224, 320, 450];
/// Lean of the edge: common practice for slanted edges, between 2 and 10 degrees.
const LEAN_DEG: f64 = 5.0;
const SPOKES: usize = 48;

const LETTERS: [(f64, &str); 8] = [
    (31.0, "Light needs only a hole."),
    (22.0, "A biscuit tin will do, painted black."),
    (15.6, "Prick the foil, turn the needle, look against a lamp."),
    (11.0, "The lid must close so well that noon outside is midnight within."),
    (7.8, "Tape the box to a post and let the sun write its slow line over the roofs."),
    (
        5.5,
        "A matchbox sees a street; an oil drum sees a valley; both see it upside down and both are right.",
    ),
    (
        3.9,
        "Whoever waits long enough has an empty square: those who walked through it left no light in the tin.",
    ),
    (
        2.75,
        "Round, clean and thin is the whole art of the hole; the rest of it is sitting on a wall beside a cardboard box and waiting.",
    ),
];

/// The plate on a film of `columns` by `rows` pixels.
pub(super) fn drawn(columns: usize, rows: usize) -> Result<Raster, Error> {
    let svg = plate(columns as f64, rows as f64);
    fitted(&coverage(&rasterise(&svg, oversampling(columns, rows))?), columns, rows)
}

/// Drawn pixels to a film pixel each way: the painter's own edges have few levels, so small films
/// are drawn larger and averaged.
fn oversampling(columns: usize, rows: usize) -> f64 {
    let affordable =
        (24e6 / (columns * rows) as f64).sqrt().min(16_384.0 / columns.max(rows) as f64);
    affordable.clamp(1.0, 4.0).floor()
}

fn plate(columns: f64, rows: f64) -> String {
    let unit = columns.min(rows) / CELL;
    let (wide, high) = (columns / unit, rows / unit);
    let (left, top) = ((CELL - wide) / 2.0, (CELL - high) / 2.0);
    let mut svg = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='{columns}' height='{rows}' \
         viewBox='{left} {top} {wide} {high}' font-family='Inter'>\
         <rect x='{left}' y='{top}' width='{wide}' height='{high}'/>\
         <rect x='{left}' y='{top}' width='{wide}' height='{high}' fill='#fff' fill-opacity='{GROUND}'/>"
    );
    surroundings(&mut svg, left, top);
    heading(&mut svg);
    line_groups(&mut svg, high);
    star(&mut svg, 500.0, 322.0, 168.0);
    corner_stars(&mut svg, left, top);
    slanted_edge(&mut svg);
    grey_steps(&mut svg);
    lettering(&mut svg);
    svg + "</svg>"
}

/// Crosses over all that the cell leaves free, a frame, and the four words at its sides. `left` and
/// `top` are the film's corner; the opposite one is its mirror image about the cell.
fn surroundings(svg: &mut String, left: f64, top: f64) {
    let (right, bottom) = (CELL - left, CELL - top);
    let mut crosses = String::new();
    // Counted from the middle, so that they lie alike on both sides; 25 a side fill any film that
    // is not a mere strip.
    for (i, j) in (-25..=25).flat_map(|i| (-25..=25).map(move |j| (i, j))) {
        let (x, y) = (500.0 + 100.0 * f64::from(i), 500.0 + 100.0 * f64::from(j));
        let free = !((0.0..=CELL).contains(&x) && (0.0..=CELL).contains(&y));
        let inside = x > left + 40.0 && x < right - 40.0 && y > top + 40.0 && y < bottom - 40.0;
        if free && inside {
            let _ = write!(crosses, "M{} {y}h16M{x} {}v16", x - 8.0, y - 8.0);
        }
    }
    let _ = write!(
        svg,
        "<g fill='none' stroke='#000'><path d='{crosses}' stroke-width='1.2'/>\
         <rect x='{}' y='{}' width='{}' height='{}' stroke-width='1.5'/></g>",
        left + 12.0,
        top + 12.0,
        right - left - 24.0,
        bottom - top - 24.0,
    );
    let sides = [
        ("top", 500.0, top + 12.0, 0),
        ("bottom", 500.0, bottom - 12.0, 0),
        ("left", left + 12.0, 500.0, -90),
        ("right", right - 12.0, 500.0, 90),
    ];
    for (word, x, y, turn) in sides {
        let _ = write!(
            svg,
            "<g transform='translate({x} {y}) rotate({turn})'>\
             <rect x='-46' y='-11' width='92' height='22' fill='#000'/>\
             <text y='6' font-size='17' font-weight='600' letter-spacing='1.5' text-anchor='middle' \
             fill='#fff'>{word}</text></g>"
        );
    }
}

fn heading(svg: &mut String) {
    let _ = write!(
        svg,
        "<text x='50' y='98' font-size='46' font-weight='600'>Box, tin and light</text>\
         <text x='950' y='80' font-size='13' text-anchor='end'>Numbers beside the lines:</text>\
         <text x='950' y='98' font-size='13' text-anchor='end'>line pairs per picture height</text>\
         <path d='M50 118H950' stroke='#000' stroke-width='3'/>"
    );
}

/// Upright lines on the left, level lines on the right, the same pitch side by side. `high` is the
/// height of the picture in units.
fn line_groups(svg: &mut String, high: f64) {
    let (wide, tall) = (200.0, 44.0);
    for (place, &pitch) in PITCHES.iter().enumerate() {
        let y = 150.0 + 57.0 * place as f64;
        let period = high / f64::from(pitch);
        let mut lines = String::new();
        for x in starts(wide, period) {
            let _ = write!(lines, "M{} {y}h{}v{tall}h-{}z", 50.0 + x, period / 2.0, period / 2.0);
        }
        for down in starts(tall, period) {
            let _ = write!(lines, "M750 {}h{wide}v{}h-{wide}z", y + down, period / 2.0);
        }
        let base = y + tall / 2.0 + 6.0;
        let _ = write!(
            svg,
            "<path d='{lines}'/><text x='264' y='{base}' font-size='17'>{pitch}</text>\
             <text x='736' y='{base}' font-size='17' text-anchor='end'>{pitch}</text>"
        );
    }
}

/// Where the dark lines of a group begin: as many as fit into `room`, at least one, in its middle.
fn starts(room: f64, period: f64) -> impl Iterator<Item = f64> {
    let count = (room / period + 0.5).floor().max(1.0);
    let margin = (room - (count - 0.5) * period) / 2.0;
    (0..count as usize).map(move |line| margin + line as f64 * period)
}

/// Wedges that meet at a point: the nearer to it, the finer the pitch.
fn star(svg: &mut String, x: f64, y: f64, radius: f64) {
    let mut wedges = String::new();
    let rim = |half_step: f64| {
        let (sine, cosine) = (TAU * half_step / (2 * SPOKES) as f64).sin_cos();
        (x + radius * cosine, y + radius * sine)
    };
    for spoke in 0..SPOKES {
        let (from, to) = (rim(2.0 * spoke as f64 - 0.5), rim(2.0 * spoke as f64 + 0.5));
        let _ = write!(
            wedges,
            "M{x} {y}L{} {}A{radius} {radius} 0 0 1 {} {}z",
            from.0, from.1, to.0, to.1
        );
    }
    let _ = write!(
        svg,
        "<path d='{wedges}'/><circle cx='{x}' cy='{y}' r='{}' fill='none' stroke='#000' \
         stroke-width='1.5'/>",
        radius + 8.0
    );
}

/// Four small stars where a long film leaves room for them: holes blur most in the corners.
fn corner_stars(svg: &mut String, left: f64, top: f64) {
    let free = -left.min(top);
    if free < 160.0 {
        return;
    }
    // In the midst of four crosses, about half-way between the cell and the film's edge.
    let place = 100.0 * (-free / 200.0).floor() + 50.0;
    let (x, y) = if left < top { (place, 150.0) } else { (150.0, place) };
    for (x, y) in [(x, y), (CELL - x, y), (x, CELL - y), (CELL - x, CELL - y)] {
        star(svg, x, y, 44.0);
    }
}

/// A dark square that leans, on the ground: two edges nearly upright, two nearly level.
fn slanted_edge(svg: &mut String) {
    let _ = write!(
        svg,
        "<rect x='-72' y='-72' width='144' height='144' \
         transform='translate(500 606) rotate({LEAN_DEG})'/>\
         <text x='500' y='716' font-size='13' text-anchor='middle'>edge at {LEAN_DEG}°</text>"
    );
}

/// Eleven steps of light from 0 to 1, evenly apart on the film, not to the eye.
fn grey_steps(svg: &mut String) {
    let wide = 900.0 / 11.0;
    for step in 0..=10 {
        let x = 50.0 + wide * f64::from(step);
        let light = f64::from(step) / 10.0;
        let _ = write!(
            svg,
            "<rect x='{x}' y='742' width='{wide}' height='52'/>\
             <rect x='{x}' y='742' width='{wide}' height='52' fill='#fff' fill-opacity='{light}'/>\
             <text x='{}' y='810' font-size='12' text-anchor='middle'>{} %</text>",
            x + wide / 2.0,
            10 * step,
        );
    }
    svg.push_str(
        "<rect x='50' y='742' width='900' height='52' fill='none' stroke='#000' stroke-width='1'/>",
    );
}

/// The same words dark on light and light on dark.
fn lettering(svg: &mut String) {
    svg.push_str("<rect x='510' y='826' width='440' height='132'/>");
    for (x, light) in [(50.0, "#000"), (524.0, "#fff")] {
        let mut y = 828.0;
        for (size, words) in LETTERS {
            y += 1.22 * size;
            let _ = write!(
                svg,
                "<text x='{x}' y='{y}' font-size='{size}' fill='{light}'>{words}</text>"
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The light at a place of the cell.
    fn at(plate: &Raster, x: f64, y: f64) -> f32 {
        let (columns, rows) = (plate.columns() as f64, plate.rows() as f64);
        let unit = columns.min(rows) / CELL;
        let column = columns / 2.0 + (x - 500.0) * unit;
        let row = rows / 2.0 + (y - 500.0) * unit;
        plate.linear[[1, row as usize, column as usize]]
    }

    #[test]
    fn grey_steps_are_linear_and_grow_to_the_right() {
        for (columns, rows) in [(900, 600), (600, 900), (700, 700), (500, 333)] {
            let plate = drawn(columns, rows).unwrap();
            for step in 0..=10 {
                let light = at(&plate, 50.0 + 900.0 / 11.0 * (f64::from(step) + 0.5), 768.0);
                // The painter rounds to 1/255.
                assert!((light - step as f32 / 10.0).abs() < 0.005, "step {step}: {light}");
            }
            assert!((at(&plate, 340.0, 640.0) - GROUND as f32).abs() < 0.005);
        }
    }

    #[test]
    fn edge_leans_five_degrees_clockwise_below_the_star() {
        let plate = drawn(1000, 1000).unwrap();
        // Where the right edge crosses a row: the ink's width, counted from the square's middle.
        let crossing = |row: usize| {
            let light: f64 =
                (500..600).map(|column| f64::from(plate.linear[[0, row, column]])).sum();
            500.0 + 100.0 - light / GROUND
        };
        let lean = (crossing(570) - crossing(640)) / 70.0;
        // Two crossings, each to 1/255 of a pixel for each of the few pixels on the edge.
        assert!((lean - 5.0_f64.to_radians().tan()).abs() < 1e-3, "{lean}");
    }

    #[test]
    fn line_groups_have_the_pitch_that_is_written_beside_them() {
        let plate = drawn(1000, 1000).unwrap();
        for (place, &pitch) in PITCHES.iter().enumerate().take(7) {
            let row = 172 + 57 * place;
            let dark = |column: usize| plate.linear[[0, row, column]] < 0.45;
            let begins: Vec<_> = (46..254).filter(|&c| !dark(c - 1) && dark(c)).collect();
            let way = (begins[begins.len() - 1] - begins[0]) as f64;
            let found = 1000.0 * (begins.len() - 1) as f64 / way;
            // Each end is known to half a pixel of the way.
            assert!((found / f64::from(pitch) - 1.0).abs() < 1.0 / way, "{pitch}: {found}");
        }
    }
}
