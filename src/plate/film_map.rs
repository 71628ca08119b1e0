//! The plate of maps over the film: one value a map, by colour and by numbers.

use super::axes::{BAR_HEIGHT, scale_bar};
use super::canvas::{
    Anchor, FINE, Frame, GAP, HEADING, LABEL, MARGIN, Plate, ROOM, Sampling, bytes,
};
use super::ink::Colour;
use crate::error::Error;
use crate::raster::between;
use image::{Rgb, RgbImage};
use ndarray::Array2;

const BETWEEN: f64 = 48.0;
/// The most height of a map.
const TALLEST: f64 = 800.0;
/// Numbers across and down a map, at the most, and the room that each takes.
const NUMBERS: usize = 3;
const ROOM_ACROSS: f64 = 150.0;
const ROOM_DOWN: f64 = 60.0;
/// Where no light comes.
const DARK: Rgb<u8> = Rgb([32, 32, 32]);
/// Room about a number on its label.
const PAD: f64 = 8.0;

/// Describes one map.
#[derive(Clone, Copy)]
pub struct MapPanel<'a> {
    /// What is mapped: a few words.
    pub title: &'a str,
    /// Values from border to border of the film: rows from the top, not a number where it is dark.
    pub values: &'a Array2<f64>,
    /// How a value is written.
    pub write: fn(f64) -> String,
}

/// Tells what the plate of maps shows.
#[derive(Clone, Copy)]
pub struct FilmMaps<'a> {
    /// The maps, up to three.
    pub panels: &'a [MapPanel<'a>],
    /// Width and height of the film laid flat, in mm.
    pub film_mm: [f64; 2],
    /// The heading of the plate.
    pub title: &'a str,
    /// What to see, and what it was computed from.
    pub caption: &'a str,
}

/// Draws the maps side by side, as the bytes of a PNG file.
///
/// # Errors
/// [`BeyondLimit`](crate::Kind::BeyondLimit) for no or more than three maps, a map of less than two values each way, or film
/// without size.
pub fn film_maps(maps: &FilmMaps<'_>) -> Result<Vec<u8>, Error> {
    bytes(&drawn(maps)?)
}

fn drawn(maps: &FilmMaps<'_>) -> Result<String, Error> {
    check(maps)?;
    let count = maps.panels.len() as f64;
    let column = (ROOM - (count - 1.0) * BETWEEN) / count;
    let [wide, high] = maps.film_mm;
    let scale = (column / wide).min(TALLEST / high);
    let mut plate = Plate::new(maps.title)?;
    let top = plate.bottom;
    let titles: Vec<Vec<String>> = maps
        .panels
        .iter()
        .map(|panel| HEADING.lines(panel.title, column, 2))
        .collect::<Result<_, _>>()?;
    let tallest = titles.iter().map(Vec::len).max().unwrap_or(1);
    let map_top = (top + tallest as f64 * HEADING.leading() + GAP / 2.0).round();
    for (index, (panel, title)) in maps.panels.iter().zip(titles).enumerate() {
        let x = MARGIN + index as f64 * (column + BETWEEN);
        for (line, words) in title.iter().enumerate() {
            let y = top + line as f64 * HEADING.leading() + HEADING.size;
            plate.text([x, y], Anchor::Start, &HEADING, words);
        }
        let frame = Frame { x, y: map_top, width: wide * scale, height: high * scale };
        draw_map(&mut plate, panel, frame)?;
        let bar = [x, frame.bottom() + GAP];
        scale_bar(&mut plate, bar, frame.width / 3.0, 1.0 / scale, &LABEL, " on the film");
        plate.bottom = plate.bottom.max(bar[1] + BAR_HEIGHT);
    }
    plate.svg(maps.caption)
}

fn check(maps: &FilmMaps<'_>) -> Result<(), Error> {
    let sized = maps.film_mm.iter().all(|side| (0.1..=100_000.0).contains(side));
    let even = maps.panels.iter().all(|panel| panel.values.nrows() > 1 && panel.values.ncols() > 1);
    if (1..=3).contains(&maps.panels.len()) && sized && even {
        return Ok(());
    }
    Err(Error::limit(
        format!("{} maps of a film of {:?} mm cannot be drawn", maps.panels.len(), maps.film_mm),
        "give one to three maps of two values or more each way, and film of 0.1 mm to 100 m",
    ))
}

/// One map in its frame: colours from the least to the most value, and numbers on it.
fn draw_map(plate: &mut Plate, panel: &MapPanel<'_>, frame: Frame) -> Result<(), Error> {
    let lit = || panel.values.iter().copied().filter(|value| value.is_finite());
    let (least, most) =
        lit().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
    let colour = |value: f64| {
        if !value.is_finite() {
            return DARK;
        }
        let along = if most > least { (value - least) / (most - least) } else { 0.5 };
        let shade = colorous::VIRIDIS.eval_continuous(along);
        Rgb([shade.r, shade.g, shade.b])
    };
    let (columns, rows) = (frame.width.round() as u32, frame.height.round() as u32);
    let image = RgbImage::from_fn(columns.max(1), rows.max(1), |column, row| {
        let share = |at: u32, of: u32| (f64::from(at) + 0.5) / f64::from(of.max(1));
        colour(value_at(panel.values, [share(column, columns), share(row, rows)]))
    });
    plate.picture(frame, &image, Sampling::Smooth)?;
    plate.border(frame, FINE);
    // As many as stand apart; a single one in the middle.
    let fitting = |room: f64, each: f64| ((room / each) as usize).clamp(1, NUMBERS);
    let (across, down) = (fitting(frame.width, ROOM_ACROSS), fitting(frame.height, ROOM_DOWN));
    for row in 0..down {
        for column in 0..across {
            let share = |i: usize, count: usize| {
                if count == 1 { 0.5 } else { i as f64 / (count - 1) as f64 }
            };
            let at = [share(column, across), share(row, down)];
            let value = value_at(panel.values, at);
            let words = if value.is_finite() { (panel.write)(value) } else { "dark".into() };
            draw_number(plate, &words, at, frame)?;
        }
    }
    Ok(())
}

/// A number on its own pale ground, set in from the frame.
fn draw_number(plate: &mut Plate, words: &str, at: [f64; 2], frame: Frame) -> Result<(), Error> {
    let width = LABEL.width(words)? + 2.0 * PAD;
    let height = LABEL.size + 2.0 * PAD;
    let within = |share: f64, from: f64, room: f64, size: f64| {
        from + GAP / 2.0 + share * (room - size - GAP).max(0.0)
    };
    let label = Frame {
        x: within(at[0], frame.x, frame.width, width),
        y: within(at[1], frame.y, frame.height, height),
        width,
        height,
    };
    plate.ground(label, Colour::Paper, 0.82);
    let baseline = label.centre()[1] + 0.36 * LABEL.size;
    plate.text([label.centre()[0], baseline], Anchor::Middle, &LABEL, words);
    Ok(())
}

/// A value at shares of the way across and down.
fn value_at(values: &Array2<f64>, [across, down]: [f64; 2]) -> f64 {
    let last = |count: usize| (count - 1) as f64;
    between(values, [across * last(values.ncols()), down * last(values.nrows())])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plate::checks::{assert_tidy, keep};

    fn hill(rows: usize, columns: usize) -> Array2<f64> {
        Array2::from_shape_fn((rows, columns), |(row, column)| {
            let share = |i: usize, count: usize| i as f64 / (count - 1) as f64 - 0.5;
            let value = -4.0 * (share(row, rows).powi(2) + share(column, columns).powi(2));
            if value < -1.9 { f64::NAN } else { value }
        })
    }

    fn stops(value: f64) -> String {
        format!("{value:+.1}")
    }

    fn drawn_for(film_mm: [f64; 2], count: usize) -> Result<String, Error> {
        let values = hill(13, 21);
        let panel =
            MapPanel { title: "Light against the middle, in stops", values: &values, write: stops };
        let maps = FilmMaps {
            panels: &vec![panel; count],
            film_mm,
            title: "What the film gets",
            caption: "Over the sheet laid flat, as the hole sees it.",
        };
        drawn(&maps)
    }

    #[test]
    fn every_format_makes_a_tidy_plate() {
        for film_mm in [[300.0, 180.0], [90.0, 120.0], [60.0, 60.0], [500.0, 60.0]] {
            for count in [1, 3] {
                assert_tidy(&drawn_for(film_mm, count).unwrap());
            }
        }
        assert!(drawn_for([0.0, 5.0], 1).is_err());
        assert!(drawn_for([10.0, 5.0], 0).is_err() && drawn_for([10.0, 5.0], 4).is_err());
    }

    #[test]
    #[ignore = "writes plates to look at"]
    fn samples() {
        keep("film_map", &drawn_for([300.0, 180.0], 3).unwrap());
    }
}
