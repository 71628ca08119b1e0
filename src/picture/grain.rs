//! The grain of film: chance in its density.

use crate::error::Error;
use crate::hole::specimen::Random;
use crate::raster::Raster;
use ndarray::Axis;
use ndarray::parallel::prelude::*;
use std::f64::consts::PI;

/// Diameter of the aperture that granularity is stated for, in mm (`ISO10505`).
const APERTURE_MM: f64 = 0.048;
/// Beyond it no emulsion is so coarse; film has about 5 to 30 (common practice, no source).
const COARSEST: f64 = 200.0;

/// Tells how much the density of film varies from place to place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grain {
    granularity: f64,
}

impl Grain {
    /// Makes grain by its RMS granularity: a thousand times the standard deviation of density at density
    /// 1, seen through an aperture of 48 µm.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) when it is not above zero and at most 200.
    pub fn new(granularity: f64) -> Result<Grain, Error> {
        if granularity > 0.0 && granularity <= COARSEST {
            return Ok(Grain { granularity });
        }
        Err(Error::limit(
            format!("a granularity of {granularity} is out of range"),
            "give the maker's RMS granularity, about 5 to 30 and at most 200",
        ))
    }

    /// The standard deviation of a density on squares of `pixel_mm`: the variance falls with the
    /// area (`Selwyn1935`) and grows with the density (common practice, no
    /// source).
    fn deviation(self, density: f64, pixel_mm: f64) -> f64 {
        let aperture_mm2 = PI * APERTURE_MM * APERTURE_MM / 4.0;
        self.granularity / 1000.0 * (aperture_mm2 * density).sqrt() / pixel_mm
    }

    /// Returns a picture on film, as [`Tone::reflectance`](super::Tone::reflectance) gives it, with its
    /// grain: pixels of `pixel_mm` a side on the film, each with its own chance. A grey picture has one
    /// channel; three are three layers, each with grain of its own.
    ///
    /// The same every time, however many threads there are. No place becomes paler than the base,
    /// which has no grain; so in the thinnest parts of the coarsest film grain makes it a little denser.
    #[must_use]
    pub fn laid_on(self, mut reflectance: Raster, pixel_mm: f64) -> Raster {
        let rows = reflectance.rows();
        let mut channels: Vec<_> = reflectance.linear.axis_iter_mut(Axis(0)).collect();
        channels.par_iter_mut().enumerate().for_each(|(channel, light)| {
            light.axis_iter_mut(Axis(0)).into_par_iter().enumerate().for_each(|(row, mut line)| {
                let mut random = Random((channel * rows + row) as u64);
                line.mapv_inplace(|light| {
                    let density =
                        -f64::from(light).clamp(f64::from(f32::MIN_POSITIVE), 1.0).log10();
                    let chance = self.deviation(density, pixel_mm) * random.normal();
                    10f64.powf(-(density + chance).max(0.0)) as f32
                });
            });
        });
        reflectance
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::Array3;

    const SIDE: usize = 200;

    fn flat(channels: usize, density: f64) -> Raster {
        Raster { linear: Array3::from_elem((channels, SIDE, SIDE), 10f64.powf(-density) as f32) }
    }

    fn densities(picture: &Raster) -> Vec<f64> {
        picture.linear.iter().map(|light| -f64::from(*light).log10()).collect()
    }

    /// Mean and standard deviation.
    fn moments(values: &[f64]) -> (f64, f64) {
        let count = values.len() as f64;
        let mean = values.iter().sum::<f64>() / count;
        let variance = values.iter().map(|value| (value - mean).powi(2)).sum::<f64>() / count;
        (mean, variance.sqrt())
    }

    /// `ISO10505`: at density 1 on the area of the aperture, a granularity of 10 is a
    /// deviation of 0.010.
    #[test]
    fn deviation_is_what_the_granularity_states() {
        let same_area_mm = APERTURE_MM * (PI / 4.0).sqrt();
        let grain = Grain::new(10.0).unwrap();
        assert!((grain.deviation(1.0, same_area_mm) - 0.010).abs() < 1e-15);
    }

    #[test]
    fn a_flat_field_varies_by_selwyns_law() {
        for (granularity, pixel_mm, density) in
            [(10.0, 0.02, 1.0), (17.0, 0.05, 0.5), (8.0, 0.01, 2.0)]
        {
            let grain = Grain::new(granularity).unwrap();
            let found = densities(&grain.laid_on(flat(1, density), pixel_mm));
            let expected =
                granularity / 1000.0 * (PI * 0.024f64.powi(2)).sqrt() / pixel_mm * density.sqrt();
            let (mean, deviation) = moments(&found);
            // Of 40 000 normal numbers the deviation is known to 1/√80 000 of it, the mean to 1/200 of
            // it: four times either.
            let count = found.len() as f64;
            println!("deviation {deviation:.5}, by the law {expected:.5}");
            assert!((deviation / expected - 1.0).abs() < 4.0 / (2.0 * count).sqrt());
            assert!((mean - density).abs() < 4.0 * expected / count.sqrt());
            // Pixels are independent: across, and from row to row.
            for apart in [1, 2, SIDE, SIDE + 1] {
                let pairs = found.iter().zip(&found[apart..]);
                let common: f64 = pairs.map(|(a, b)| (a - mean) * (b - mean)).sum();
                let correlation = common / (count * deviation * deviation);
                assert!(correlation.abs() < 4.0 / count.sqrt(), "{apart}: {correlation}");
            }
        }
    }

    #[test]
    fn layers_have_grain_of_their_own() {
        let grain = Grain::new(10.0).unwrap();
        let three = densities(&grain.laid_on(flat(3, 1.0), 0.02));
        let (first, second) = (&three[..SIDE * SIDE], &three[SIDE * SIDE..2 * SIDE * SIDE]);
        let common: f64 = first.iter().zip(second).map(|(a, b)| (a - 1.0) * (b - 1.0)).sum();
        let (count, deviation) = (first.len() as f64, moments(first).1);
        assert!((common / (count * deviation * deviation)).abs() < 4.0 / count.sqrt());
    }

    #[test]
    fn grain_is_the_same_on_any_number_of_threads() {
        let grain = Grain::new(12.0).unwrap();
        let on = |threads: usize| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
            pool.install(|| grain.laid_on(flat(3, 0.8), 0.02))
        };
        let one = on(1);
        assert_eq!(one, on(3));
        assert_eq!(one, on(8));
    }

    #[test]
    fn any_light_gives_light_and_bare_film_stays_bare() {
        let grain = Grain::new(200.0).unwrap();
        for light in [0.0, -1.0, 1e-30, 0.999, 1.0, 2.0] {
            let field = Raster { linear: Array3::from_elem((1, 50, 50), light) };
            let grainy = grain.laid_on(field, 0.001);
            assert!(grainy.linear.iter().all(|light| (0.0..=1.0).contains(light)), "{light}");
        }
        let bare = flat(1, 0.0);
        assert_eq!(grain.laid_on(bare.clone(), 0.02), bare);
    }

    #[test]
    fn what_is_no_granularity_is_refused() {
        for granularity in [0.0, -1.0, 201.0, f64::NAN, f64::INFINITY] {
            assert!(Grain::new(granularity).is_err(), "{granularity}");
        }
    }
}
