//! A piece of film about a place, in tiles that are each small enough for a straight map.
//!
//! To one place of a tile the light takes its exact path through each point of the hole; steps from there
//! are of first order ([`Path`]). Where its middle alone would drop too much, a tile is the mean of its four
//! corners' light by their distance: what grows with the step from each then cancels, and what grows with
//! its square is left. A tile is cut in four while that could show.

use super::film::{Film, Place};
use crate::error::Error;
use crate::geometry::{Outline, Point};
use crate::wave::{Aperture, Distances, Grid, Light, MM_PER_NM, Path, Psf, Tile};
use std::f64::consts::TAU;

/// Points across the hole from which on Fourier transforms are quicker than matrix products:
/// measured 1.5 to 1.9 times at 270 points, 3 times at 510.
const WIDE_FROM: usize = 256;
/// Rings about the middle of a tile in each of which what it drops is bounded.
const RINGS: u32 = 24;
/// More tiles than this would take too long: then each may drop more.
const MOST_TILES: usize = 300;

/// What a tile drops as a share of the peak.
struct Dropped {
    by_its_middle: f64,
    by_its_corners: f64,
}

impl Dropped {
    fn least(&self) -> f64 {
        self.by_its_middle.min(self.by_its_corners)
    }
}

/// The hole and the film about a place.
pub(super) struct Patch<'a> {
    /// What is open of the hole, in the plate.
    pub(super) hole: &'a Outline,
    /// The rims of a plate whose thickness diffracts.
    pub(super) rims: Option<&'a Rims>,
    pub(super) film: Film,
    pub(super) place: Place,
    /// Along the ray to the place.
    pub(super) distances: Distances,
    pub(super) tolerance: f64,
    /// What a tile may drop, as a share of the peak; None for one map, without the fall of the light, all
    /// over the patch.
    pub(super) map_tolerance: Option<f64>,
}

/// A hole's outline on both sides of a plate.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Rims {
    pub(super) hole: Outline,
    pub(super) thickness_mm: f64,
}

impl Patch<'_> {
    /// The path to a place beside the middle, from the subject's point opposite the middle.
    fn path(&self, place: &Place) -> Path {
        Path::new(
            place.position_mm,
            place.tangents(),
            self.film.bend_per_mm(),
            self.place.ray().map(|c| -c),
            self.distances.subject_mm(),
        )
    }

    /// The hole as the middle of the patch sees it.
    pub(super) fn aperture(&self) -> Aperture {
        self.aperture_at(&self.place)
    }

    fn aperture_at(&self, place: &Place) -> Aperture {
        let aperture = Aperture::along(self.hole, self.path(place));
        // Within bounds, so that nothing is refused.
        aperture.clone().with_tolerance(self.tolerance).unwrap_or(aperture)
    }

    /// The same with what the plate's thickness does.
    pub(super) fn between_rims(&self, place: &Place) -> Aperture {
        let aperture = self.aperture_at(place);
        match self.rims {
            Some(rims) => aperture.between_rims(&rims.hole, rims.thickness_mm),
            None => aperture,
        }
    }

    fn beside(&self, [x, y]: Point) -> Place {
        let [x0, y0] = self.place.at_mm;
        self.film.anywhere(self.place.middle_distance_mm(), [x0 + x, y0 + y])
    }

    /// The PSF without what emulsion and movement spread.
    pub(super) fn psf(&self, light: &Light, grid: Grid) -> Result<Psf, Error> {
        let aperture = self.aperture();
        let light = &self.resolved(light, &aperture, grid);
        if self.map_tolerance.is_none() && !self.is_wide(&aperture, light, grid) {
            return aperture.psf(light, self.distances, grid);
        }
        if self.is_wide(&aperture, light, grid) {
            let psf = aperture.wide_psf(light, self.distances, grid)?;
            if self.map_tolerance.is_none() {
                return Ok(psf);
            }
            let (factor, slope) = self.brightness(&self.place);
            return Ok(psf.graded(factor, slope));
        }
        let dropped = self.dropped(&aperture, light, grid);
        let (mut tiles, allowed) = self.tiles(&dropped, grid);
        let mirrors = self.mirrors();
        tiles.retain(|tile| tile.is_before_middle(grid, mirrors));
        let psf = Psf::in_tiles(grid, &tiles, |tile| {
            let (middle, own) = (tile.middle_mm(grid), tile.grid(grid));
            if dropped(tile).by_its_middle <= allowed {
                return self.about(light, own, middle, [0.0, 0.0]);
            }
            let reach = own.reach_mm();
            let corner = |right: f64, up: f64| {
                let to_middle = [-right * reach, -up * reach];
                self.about(
                    light,
                    own,
                    [middle[0] - to_middle[0], middle[1] - to_middle[1]],
                    to_middle,
                )
            };
            Ok(Psf::between(&[
                corner(-1.0, -1.0)?,
                corner(1.0, -1.0)?,
                corner(-1.0, 1.0)?,
                corner(1.0, 1.0)?,
            ]))
        })?;
        Ok(psf.mirrored(mirrors))
    }

    /// Whether the light is its own mirror image, left and right of the place changed, and above and below: where
    /// the hole is, and the place lies in the middle of the film.
    fn mirrors(&self) -> [bool; 2] {
        let holes = [Some(self.hole), self.rims.map(|rims| &rims.hole)];
        let of_holes: Vec<[bool; 2]> = holes.into_iter().flatten().map(Outline::mirrors).collect();
        [0, 1].map(|axis| self.place.at_mm[axis] == 0.0 && of_holes.iter().all(|of| of[axis]))
    }

    /// The same in several lights, each on its own grid.
    pub(super) fn psfs(&self, wanted: &[(&Light, Grid)]) -> Result<Vec<Psf>, Error> {
        let aperture = self.aperture();
        let wide = |(light, grid): &(&Light, Grid)| self.is_wide(&aperture, light, *grid);
        if self.map_tolerance.is_some() || wanted.iter().any(wide) {
            return wanted.iter().map(|(light, grid)| self.psf(light, *grid)).collect();
        }
        let lights: Vec<Light> =
            wanted.iter().map(|(light, grid)| self.resolved(light, &aperture, *grid)).collect();
        let wanted: Vec<_> =
            lights.iter().zip(wanted).map(|(light, (_, grid))| (light, *grid)).collect();
        aperture.psfs(&wanted, self.distances)
    }

    /// The light on a grid by the exact path to a place beside the middle, `shift_mm` from which the
    /// grid's own middle lies.
    fn about(
        &self,
        light: &Light,
        grid: Grid,
        place_mm: Point,
        shift_mm: Point,
    ) -> Result<Psf, Error> {
        let place = self.beside(place_mm);
        let beside_mm = place_mm[0].abs().max(place_mm[1].abs());
        let distances = Distances::new(self.distances.subject_mm(), place.distance_mm())?;
        let aperture = self.between_rims(&place).shifted(shift_mm, beside_mm);
        let psf = aperture.psf(light, distances, grid)?;
        let (factor, slope) = self.brightness(&place);
        let there = (slope[0] * shift_mm[0] + slope[1] * shift_mm[1]).exp();
        Ok(psf.graded(factor * there, slope))
    }

    /// The light in as many lines as its pattern on this grid takes.
    fn resolved(&self, light: &Light, aperture: &Aperture, grid: Grid) -> Light {
        let phase = aperture.turn_rad(light, self.distances, grid.reach_mm());
        light.resolved(phase, self.tolerance)
    }

    /// What the fine lines of a continuous spectrum, which stand apart, change in the light at places along
    /// the grid's axes and diagonals, as a share of the peak: a third of what half as many would.
    pub(super) fn spectral_error(&self, light: &Light, grid: Grid) -> Result<f64, Error> {
        let Some(coarse) = light.half_as_fine() else { return Ok(0.0) };
        let aperture = self.aperture();
        let places: Vec<Point> = (-8..=8)
            .map(|i| f64::from(i) / 8.0 * grid.reach_mm())
            .flat_map(|s| [[s, 0.0], [0.0, s], [s, s], [s, -s]])
            .collect();
        let at = |light: &Light| {
            let light = self.resolved(light, &aperture, grid);
            aperture.density_at(&light, self.distances, &places)
        };
        let (fine, coarse) = (at(light)?, at(&coarse)?);
        let peak = fine.iter().copied().fold(0.0, f64::max);
        let most = fine.iter().zip(coarse).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        Ok(most / (3.0 * peak))
    }

    fn is_wide(&self, aperture: &Aperture, light: &Light, grid: Grid) -> bool {
        self.rims.is_none() && aperture.order(light, self.distances, grid.reach_mm()) >= WIDE_FROM
    }

    /// What the map to the film drops on this grid at the most, as a share of the peak.
    pub(super) fn map_error(&self, light: &Light, grid: Grid) -> f64 {
        let aperture = self.aperture();
        let dropped = self.dropped(&aperture, light, grid);
        if self.is_wide(&aperture, light, grid) {
            let whole = grid.tiles(|_| false);
            return whole.into_iter().map(|tile| dropped(tile).by_its_middle).fold(0.0, f64::max);
        }
        let (tiles, _) = self.tiles(&dropped, grid);
        tiles.into_iter().map(|tile| dropped(tile).least()).fold(0.0, f64::max)
    }

    /// The tiles, and what each of them may drop.
    fn tiles(&self, dropped: &impl Fn(Tile) -> Dropped, grid: Grid) -> (Vec<Tile>, f64) {
        let mut allowed = self.map_tolerance.unwrap_or(1.0);
        loop {
            let tiles = grid.tiles(|tile| dropped(tile).least() > allowed);
            if tiles.len() <= MOST_TILES {
                return (tiles, allowed);
            }
            allowed *= 2.0;
        }
    }

    /// Bounds of the density that a tile drops, over the peak: twice the mean phase, where the light is as
    /// bright as it can be there. Beyond its shadow the light of a hole of half-width a falls at least as
    /// a slit's, as 4/w², w = 2πax/(λv). About its middle a tile drops the more the farther from it, and there
    /// may be the less light: ring by ring, what the outer edge drops where the inner one is bright.
    fn dropped(&self, aperture: &Aperture, light: &Light, grid: Grid) -> impl Fn(Tile) -> Dropped {
        let wavelength_mm = light.shortest_nm() * MM_PER_NM;
        let farthest = self.hole.loops().iter().flatten();
        let radius_mm = farthest.fold(0.0, |most: f64, [x, y]| most.max(x.hypot(*y)));
        let radii_mm = [self.hole.polar_moment_mm4() / self.hole.area_mm2(), radius_mm.powi(2)];
        let radii_mm = radii_mm.map(f64::sqrt);
        let (low, high) = aperture.outline().bounds_mm();
        let narrow = (high[0] - low[0]).min(high[1] - low[1]) / 2.0;
        let image = aperture.image_centroid_mm(self.distances);
        let shadow_mm = self.distances.shadow_magnification() * aperture.half_width_mm();
        let longest_mm = light.longest_nm() * MM_PER_NM;
        let turn = TAU * narrow / (longest_mm * self.distances.film_mm());
        let path = self.path(&self.place);
        let bright = move |from_image_mm: f64| {
            let beyond = (from_image_mm - shadow_mm).max(0.0);
            (4.0 / (turn * beyond).powi(2)).min(1.0)
        };
        let density = |phase: f64| (2.0 * phase).min(1.0);
        move |tile: Tile| {
            let reach = tile.grid(grid).reach_mm();
            let (nearest, middle) = (tile.distance_mm(grid, image), tile.middle_mm(grid));
            let middle = (middle[0] - image[0]).hypot(middle[1] - image[1]);
            let phases =
                |step: f64| path.dropped_rad(wavelength_mm, [step, step.min(reach)], radii_mm);
            // The farthest is a corner.
            let ring = |i: u32| f64::from(i) / f64::from(RINGS) * reach * 2f64.sqrt();
            let by_ring = |i: u32| {
                let (inner, outer) = (ring(i), ring(i + 1));
                let from_image = (inner - middle).max(middle - outer).max(nearest);
                density(phases(outer).iter().sum()) * bright(from_image)
            };
            let [first, second] = phases(ring(RINGS));
            Dropped {
                by_its_middle: (0..RINGS).map(by_ring).fold(0.0, f64::max),
                by_its_corners: density(second + first * first) * bright(nearest),
            }
        }
    }

    /// The energy on film at a place beside the middle, over what its own aperture says, and the slope of
    /// its logarithm along the film. With the obliquity cos θ of the wave behind the plate (Rayleigh and
    /// Sommerfeld) the energy per area goes as cos² θ cos θ_f/R².
    fn brightness(&self, place: &Place) -> (f64, Point) {
        let bright = |place: &Place| place.irradiance() * place.hole_angle_rad().cos();
        let step = 1e-3 * place.distance_mm();
        let [x, y] = [0, 1].map(|axis| place.at_mm[axis] - self.place.at_mm[axis]);
        let slope = |dx: f64, dy: f64| {
            let more = bright(&self.beside([x + dx, y + dy]));
            let less = bright(&self.beside([x - dx, y - dy]));
            let slope = (more / less).ln() / (2.0 * step);
            // In the middle of the film it is nought but for rounding.
            if slope.is_finite() && slope.abs() > 1e-11 / step { slope } else { 0.0 }
        };
        let cos = |place: &Place| place.hole_angle_rad().cos();
        (cos(place) / cos(&self.place), [slope(step, 0.0), slope(0.0, step)])
    }
}
