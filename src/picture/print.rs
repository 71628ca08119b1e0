//! The print as the eye sees it: what is finer than a minute of arc runs together.

use super::fitted;
use crate::camera::Print;
use crate::error::Error;
use crate::raster::Raster;

/// The finest that an eye of full sight tells apart, in minutes of arc (Snellen's letters, from
/// memory).
const EYE_ARC_MINUTES: f64 = 1.0;

/// Describes a print, a pixel for each minute of arc at the eye.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    /// The picture in linear light, three channels.
    pub picture: Raster,
    /// The side of one of its pixels on the film, in mm.
    pub film_pixel_mm: f64,
    /// Whether the pixels of the film are coarser than a minute of arc: the picture is then made of
    /// these, and the eye would see more.
    pub film_is_coarser: bool,
}

/// The side, in mm on the film, of what appears as large as a minute of arc in the print.
fn eye_pixel_mm(print: &Print) -> f64 {
    print.viewing_distance_mm * (EYE_ARC_MINUTES / 60.0).to_radians().tan() / print.enlargement
}

/// Returns a picture on film, or a part of it, whose pixels are `film_pixel_mm` a side, as it is seen in the
/// print: averaged over squares of a minute of arc.
///
/// The number of pixels is whole, so that each is a minute of arc but for half a pixel in all of them,
/// and as little may be cut off along the longer way.
///
/// # Errors
/// [`BeyondLimit`](crate::Kind::BeyondLimit) when the pixels or the print have no size, and as [`fitted`].
pub fn seen(film: &Raster, film_pixel_mm: f64, print: &Print) -> Result<Seen, Error> {
    let eye_mm = eye_pixel_mm(print);
    let sound = |length: f64| length > 0.0 && length.is_finite();
    if !(sound(film_pixel_mm) && sound(eye_mm)) {
        return Err(Error::limit(
            format!(
                "film pixels of {film_pixel_mm} mm, enlarged {} times and seen from {} mm, are out \
                 of range",
                print.enlargement, print.viewing_distance_mm
            ),
            "all three must be above zero and finite",
        ));
    }
    // Film pixels to one pixel at the eye; there is no detail below a film pixel.
    let step = (eye_mm / film_pixel_mm).max(1.0);
    let pixels = |film_pixels: usize| ((film_pixels as f64 / step).round() as usize).max(1);
    let (columns, rows) = (pixels(film.columns()), pixels(film.rows()));
    let picture = fitted(film, columns, rows)?;
    // As `fitted` takes it: the side that runs out first decides.
    let taken = (film.columns() as f64 / columns as f64).min(film.rows() as f64 / rows as f64);
    Ok(Seen {
        picture,
        film_pixel_mm: taken * film_pixel_mm,
        film_is_coarser: eye_mm < film_pixel_mm,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::Array3;
    use std::f64::consts::PI;

    const AT_ARMS_LENGTH: Print = Print { enlargement: 2.0, viewing_distance_mm: 600.0 };

    /// Upright lines of a period in film pixels.
    fn lines(columns: usize, rows: usize, period: usize) -> Raster {
        let light = |(_, _, column): (usize, usize, usize)| {
            if 2 * (column % period) < period { 1.0 } else { 0.0 }
        };
        Raster { linear: Array3::from_shape_fn((1, rows, columns), light) }
    }

    /// 600 mm · tan(1/60°)/2 = 0.08727 mm, by hand from tan x = x.
    #[test]
    fn a_pixel_is_a_minute_of_arc() {
        let by_hand = 600.0 * PI / (180.0 * 60.0) / 2.0;
        // tan x = x + x³/3: the rest is 3e-8 of it.
        assert!((eye_pixel_mm(&AT_ARMS_LENGTH) / by_hand - 1.0).abs() < 1e-7);
        let seen = seen(&lines(2000, 1500, 4), 0.01, &AT_ARMS_LENGTH).unwrap();
        // 20 mm and 15 mm of film: 229.2 and 171.9 pixels of 0.08727 mm.
        assert_eq!(seen.picture.linear.dim(), (3, 172, 229));
        // Half a pixel in 171.
        assert!((seen.film_pixel_mm / by_hand - 1.0).abs() < 0.5 / 171.0);
        assert!(!seen.film_is_coarser);
        // Twice as far and enlarged twice as much, it is the same.
        let far = Print { enlargement: 4.0, viewing_distance_mm: 1200.0 };
        assert!((eye_pixel_mm(&far) / by_hand - 1.0).abs() < 1e-7);
    }

    #[test]
    fn what_is_finer_than_a_minute_of_arc_turns_grey() {
        let eye_mm = eye_pixel_mm(&AT_ARMS_LENGTH);
        let contrast = |period: usize| {
            // Twelve film pixels to a minute of arc, near enough not to make whole numbers of it.
            let seen = seen(&lines(1201, 60, period), eye_mm / 12.04, &AT_ARMS_LENGTH).unwrap();
            let light = seen.picture.linear.iter();
            let (low, high) = light
                .fold((f32::MAX, f32::MIN), |all, &light| (all.0.min(light), all.1.max(light)));
            high - low
        };
        // A square over a period P < 12 that ends anywhere leaves at most half a line on either side:
        // P/4 of 12 pixels above the mean and as much below.
        for period in [2, 4, 6] {
            assert!(contrast(period) <= period as f32 / 24.0 + 0.01, "{period}");
        }
        // Lines of two minutes each are seen in full.
        assert!(contrast(48) > 0.99);
    }

    #[test]
    fn film_coarser_than_the_eye_is_left_as_it_is() {
        let film = lines(64, 48, 2);
        let near = Print { enlargement: 10.0, viewing_distance_mm: 250.0 };
        let seen = seen(&film, 0.02, &near).unwrap();
        assert!(seen.film_is_coarser);
        assert_eq!(seen.film_pixel_mm, 0.02);
        assert_eq!(seen.picture, fitted(&film, 64, 48).unwrap());
    }

    #[test]
    fn light_is_kept_and_what_has_no_size_is_refused() {
        let far = Print { enlargement: 1.0, viewing_distance_mm: 1e9 };
        let speck = seen(&lines(64, 64, 2), 0.02, &far).unwrap().picture;
        assert_eq!(speck.linear.dim(), (3, 1, 1));
        // The mean of as many ones as zeros, each weight rounded to 24 bits.
        assert!((speck.linear[[0, 0, 0]] - 0.5).abs() < 1e-6);
        let film = lines(4, 4, 2);
        for size in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(seen(&film, size, &AT_ARMS_LENGTH).is_err(), "{size}");
            let print = Print { viewing_distance_mm: size, ..AT_ARMS_LENGTH };
            assert!(seen(&film, 0.02, &print).is_err(), "{size}");
            let print = Print { enlargement: size, ..AT_ARMS_LENGTH };
            assert!(seen(&film, 0.02, &print).is_err(), "{size}");
        }
        assert!(seen(&Raster { linear: Array3::zeros((1, 0, 0)) }, 0.02, &far).is_err());
    }
}
