//! `psf` over film distances or wavelengths: one stack of samples, from one family of patterns.

use super::psf::DEFAULT_SIZE;
use crate::camera::{Camera, PointImage};
use crate::error::Error;
use crate::geometry::Outline;
use crate::quantity::Quantity;
use crate::raster::npy;
use crate::watch::{Step, Watch};
use crate::wave::{Aperture, Distances, Grid, Light, Stack};
use serde::Serialize;

/// The most members of a stack.
const MOST: usize = 1000;

/// What the members of a stack differ in.
#[derive(Debug, Clone, PartialEq)]
pub enum Members {
    /// The distance from the hole to the film, in mm; the light is the camera's.
    FilmDistances(Vec<f64>),
    /// The wavelength, in nm; the distances are the camera's.
    Wavelengths(Vec<f64>),
}

impl Members {
    /// Reads two ends with "to" between them, "60 mm to 200 mm" or "400 nm to 700 nm", as `count` even steps.
    ///
    /// # Errors
    /// [`NotUnderstood`](crate::Kind::NotUnderstood) for anything else, and for fewer than 2 or more than 1000 steps.
    pub fn read(words: &str, count: usize) -> Result<Members, Error> {
        let wrong = || {
            Error::words(
                words,
                "is not a range of distances or wavelengths",
                "write both ends with their units, as in \"60 mm to 200 mm\" or \"400 nm to 700 nm\"",
            )
        };
        if !(2..=MOST).contains(&count) {
            return Err(Error::not_understood(
                format!("a stack of {count} cannot be made"),
                format!("ask for 2 to {MOST}"),
            ));
        }
        let (low, high) = words.split_once(" to ").ok_or_else(wrong)?;
        let is_light = high.trim_end().ends_with("nm");
        let quantity = if is_light { Quantity::Wavelength } else { Quantity::Length };
        let (low, high) = (quantity.read_positive(low)?, quantity.read_positive(high)?);
        let step = (high - low) / (count - 1) as f64;
        let steps = (0..count).map(|i| low + step * i as f64).collect();
        Ok(if is_light { Members::Wavelengths(steps) } else { Members::FilmDistances(steps) })
    }
}

impl Members {
    /// How many they are.
    pub(super) fn count(&self) -> usize {
        match self {
            Members::FilmDistances(all) | Members::Wavelengths(all) => all.len(),
        }
    }
}

/// What to compute.
#[derive(Debug, Clone)]
pub struct Request {
    /// The camera.
    pub camera: Camera,
    /// The hole.
    pub outline: Outline,
    /// The members.
    pub members: Members,
    /// Samples a side; 256 where nothing is asked for.
    pub size: Option<usize>,
    /// Distance between samples in mm; chosen to hold the widest member where nothing is asked for.
    pub pitch_mm: Option<f64>,
}

/// The stack: diffraction alone, in the middle of the film, without movement and without what the emulsion spreads.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Answer {
    /// The film distance of each member, in mm; one for all where they differ in wavelength.
    pub film_distances_mm: Vec<f64>,
    /// The wavelength of each member; those of the camera's light where they differ in distance.
    pub wavelengths_nm: Vec<f64>,
    /// The shares of the wavelengths in the energy of each member; all of it where they differ in wavelength.
    pub weights: Vec<f64>,
    /// Distance between samples on the film, for each member.
    pub pitch_um: Vec<f64>,
    /// Members, rows and columns: rows from low y to high, centred at index size / 2.
    pub shape: [usize; 3],
    /// How many patterns were computed for all.
    pub patterns: usize,
    /// The samples: energy fraction per mm².
    #[serde(skip)]
    pub stack: Stack,
}

/// The distances, the light and the grid of a stack.
pub(super) struct Plan {
    distances: Vec<Distances>,
    light: Light,
    pub(super) grid: Grid,
}

impl Plan {
    pub(super) fn of(request: &Request) -> Result<Plan, Error> {
        let Request { camera, outline, members, size, pitch_mm } = request;
        let subject_mm = camera.distances.subject_mm();
        let (distances, light) = match members {
            Members::FilmDistances(all) => {
                let each = all.iter().map(|mm| Distances::new(subject_mm, *mm));
                (each.collect::<Result<Vec<_>, Error>>()?, camera.light.clone())
            }
            Members::Wavelengths(all) => {
                let lines: Vec<(f64, f64)> = all.iter().map(|nm| (*nm, 1.0)).collect();
                (vec![camera.distances], Light::new(&lines)?)
            }
        };
        let widest = |far: &Distances| {
            let camera = Camera { distances: *far, light: light.clone(), ..camera.clone() };
            PointImage::on_axis(&camera, outline).extent_mm() / far.shadow_magnification()
        };
        let extent_mm = distances.iter().map(widest).fold(0.0, f64::max);
        let size = size.unwrap_or(DEFAULT_SIZE);
        let grid = Grid::new(size, pitch_mm.unwrap_or(6.0 * extent_mm / size.max(1) as f64))?;
        Ok(Plan { distances, light, grid })
    }

    /// How many patterns all members are made from.
    pub(super) fn patterns(&self, outline: &Outline) -> Result<usize, Error> {
        Aperture::of(outline).family_nodes(&self.light, &self.distances, self.grid)
    }
}

/// Computes a stack.
///
/// # Errors
/// As [`crate::wave::Aperture::family`]; a stop by the watcher.
pub fn run(request: &Request, watch: Watch) -> Result<Answer, Error> {
    watch.begins(Step::PointImages)?;
    let Request { camera, outline, members, .. } = request;
    let Plan { distances, light, grid } = Plan::of(request)?;
    let family = Aperture::of(outline).family(&light, &distances, grid)?;
    watch.is_at(Step::PointImages, 0.5)?;
    let stack = match members {
        Members::FilmDistances(_) => {
            let each = distances.iter().enumerate().map(|(i, far)| {
                watch.is_at(Step::PointImages, 0.5 + 0.5 * i as f64 / distances.len() as f64)?;
                family.psf(&light, *far)
            });
            together(&each.collect::<Result<Vec<_>, Error>>()?)?
        }
        Members::Wavelengths(all) => {
            let members: Vec<_> = all.iter().map(|nm| (*nm, camera.distances)).collect();
            family.stack(&members)?
        }
    };
    let (count, rows, columns) = stack.density.dim();
    let (wavelengths_nm, weights) = light.lines().iter().copied().unzip();
    Ok(Answer {
        film_distances_mm: distances.iter().map(|far| far.film_mm()).collect(),
        wavelengths_nm,
        weights: match members {
            Members::FilmDistances(_) => weights,
            Members::Wavelengths(all) => vec![1.0; all.len()],
        },
        pitch_um: stack.grids.iter().map(|grid| 1000.0 * grid.pitch_mm()).collect(),
        shape: [count, rows, columns],
        patterns: family.nodes(),
        stack,
    })
}

/// Single PSFs as a stack.
fn together(members: &[crate::wave::Psf]) -> Result<Stack, Error> {
    let grids = members.iter().map(crate::wave::Psf::grid).collect();
    let views: Vec<_> = members.iter().map(|psf| psf.density.view()).collect();
    let density = ndarray::stack(ndarray::Axis(0), &views).map_err(|why| {
        Error::limit(format!("the stack cannot be put together: {why}"), "ask for fewer members")
    })?;
    Ok(Stack { density, grids })
}

/// A file of the samples that NumPy reads: float64, (members, rows, columns).
pub fn samples_npy(answer: &Answer) -> Vec<u8> {
    npy::float64(&answer.shape, answer.stack.density.iter().copied())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;

    fn camera() -> Camera {
        let mut camera = Camera::demonstration().unwrap();
        camera.light = Light::single(550.0).unwrap();
        camera
    }

    /// On its axis a disc's density is 4 sin²(πN/2) over its area, at every distance and wavelength (`BornWolf`, 8.2); the
    /// stack is good to 1e-7 of its dimmest peak.
    #[test]
    fn every_member_has_its_own_light_on_the_axis() {
        let hole = shapes::disc(0.3).unwrap();
        let axis = |nm: f64, film_mm: f64| {
            let number = 0.15 * 0.15 / (nm * 1e-6 * film_mm);
            crate::wave::analytic::disc_on_axis(number) / hole.area_mm2()
        };
        for words in ["60 mm to 200 mm", "400 nm to 700 nm"] {
            let request = Request {
                camera: camera(),
                outline: hole.clone(),
                members: Members::read(words, 7).unwrap(),
                size: Some(16),
                pitch_mm: Some(0.02),
            };
            let answer = run(&request, Watch::nobody()).unwrap();
            assert_eq!(answer.shape, [7, 16, 16]);
            for member in 0..7 {
                let far = answer.film_distances_mm.get(member).copied().unwrap_or(120.0);
                let nm = answer.wavelengths_nm.get(member).copied().unwrap_or(550.0);
                let (found, truth) = (answer.stack.density[[member, 8, 8]], axis(nm, far));
                // The polygon's ripple, and 1e-7 of the brightest.
                assert!((found - truth).abs() < 2e-6 * 4.0 / hole.area_mm2(), "{words} {member}");
            }
            assert_eq!(samples_npy(&answer).len() % 64, 7 * 16 * 16 * 8 % 64);
        }
    }

    #[test]
    fn ranges_are_read_or_refused() {
        assert_eq!(
            Members::read("60 mm to 8 cm", 3),
            Ok(Members::FilmDistances(vec![60.0, 70.0, 80.0]))
        );
        for (bad, count) in
            [("60 mm", 3), ("60 mm to 80", 3), ("0 mm to 8 mm", 3), ("1 m to 2 m", 1), ("", 2)]
        {
            assert!(Members::read(bad, count).is_err(), "{bad}");
        }
    }
}
