//! How far a point image may be from the light itself: a bound of each cause.

use super::PointImage;
use crate::camera::patch::Rims;
use crate::error::Error;
use crate::wave::{Grid, MM_PER_NM, rims_error};
use std::f64::consts::{PI, TAU};

impl PointImage {
    /// What the distance between a spectrum's lines changes on this grid, as a share of the peak.
    ///
    /// # Errors
    /// As [`crate::wave::Aperture::density_at`].
    pub fn spectral_error(&self, grid: Grid) -> Result<f64, Error> {
        self.patch().spectral_error(&self.light, grid)
    }

    /// What the map of the film's tiles drops on this grid, as a share of the peak: a bound.
    pub fn map_error(&self, grid: Grid) -> f64 {
        self.patch().map_error(&self.light, grid)
    }

    /// The largest phase that the model drops for this hole, in rad.
    pub fn neglected_phase_rad(&self) -> f64 {
        let (low, high) = self.seen.bounds_mm();
        let radius = (high[0] - low[0]).max(high[1] - low[1]) / 2.0;
        let fourth = self.distances.neglected_phase_rad(radius, self.light.shortest_nm());
        fourth + self.cubic_phase_rad()
    }

    /// The term of third order, π a³ sin θ cos² θ/(λR²), with both distances' share.
    fn cubic_phase_rad(&self) -> f64 {
        let (sin, cos) = self.place.hole_angle_rad().sin_cos();
        let (low, high) = self.seen.bounds_mm();
        // The outline is foreshortened already: x = x'/cos θ, and so the sine over the cosine.
        let a = (high[0] - low[0]) / 2.0;
        let wave = self.light.shortest_nm() * MM_PER_NM;
        let inverse = self.distances.film_mm().powi(-2) - self.distances.subject_mm().powi(-2);
        PI * a.powi(3) * sin / cos * inverse.abs() / wave
    }

    /// What contrast and circles lose by the phases that their second-order expansion drops: the fourth
    /// order as it is, of the third, which turns the image more than it blurs it, half the square.
    pub fn dropped_from_contrast(&self) -> f64 {
        let cubic = self.cubic_phase_rad();
        self.neglected_phase_rad() - cubic + cubic * cubic / 2.0
    }

    /// The error that the sums may have, as a share of the peak.
    pub fn tolerance(&self) -> f64 {
        self.tolerance
    }

    /// A bound of what the plate's thickness t changes along the ray, as a share of the peak. The near
    /// rim throws light by √(λt) beyond itself, and the far rim cuts it off: along all of the rim the hole
    /// seems smaller by the complex width √(λt) exp(iπ/4)/2π (∫ of an edge's Fresnel diffraction, `DLMF`, 7.2(iv)).
    /// Light and amplitude that are lost change the pattern in this proportion. A plate of two rims has it in
    /// its samples, up to how they are sampled.
    pub fn plate_error(&self) -> f64 {
        let sampled = |rims: &Rims| {
            rims_error(&rims.hole, rims.thickness_mm, self.light.shortest_nm())
                .min(self.thin_plate_error())
        };
        self.rims.as_ref().map_or_else(|| self.thin_plate_error(), sampled)
    }

    /// The same of what is computed for a thin plate always: contrast, circles and pictures.
    pub fn thin_plate_error(&self) -> f64 {
        let wave = self.light.longest_nm() * MM_PER_NM;
        (wave * self.plate_mm).sqrt() * self.rim_per_mm() / TAU
    }

    /// A bound of what a scalar wave leaves out, as a share of the peak: at each edge light of the two
    /// polarisations differs over a strip λ/2π wide (`Keller1962`),
    /// in opposite senses, so that half of it counts. For a disc it is 1/(ka).
    pub fn vector_error(&self) -> f64 {
        self.light.longest_nm() * MM_PER_NM / TAU * self.rim_per_mm() / 2.0
    }

    /// The length of the rim over the open area, in 1/mm.
    fn rim_per_mm(&self) -> f64 {
        self.hole.perimeter_mm() / self.hole.area_mm2()
    }
}
