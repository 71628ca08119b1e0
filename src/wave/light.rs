//! What light, and how far: wavelengths with weights, and the distances before and behind the hole.

use crate::error::Error;
use std::f64::consts::PI;

mod condensed;

/// One nm in mm.
pub const MM_PER_NM: f64 = 1e-6;

/// Fresnel number a²/(λz) of a hole of `radius_mm` at the effective distance z. Dimensionless.
pub fn fresnel_number(radius_mm: f64, wavelength_nm: f64, effective_distance_mm: f64) -> f64 {
    radius_mm * radius_mm / (wavelength_nm * MM_PER_NM * effective_distance_mm)
}

/// The distances from the hole to the subject and to the film, along the axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Distances {
    subject_mm: f64,
    film_mm: f64,
}

impl Distances {
    /// A subject at `subject_mm` (infinity is allowed) and film at `film_mm` from the hole.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) when a distance is not above zero, or the film's is not finite.
    pub fn new(subject_mm: f64, film_mm: f64) -> Result<Distances, Error> {
        if subject_mm > 0.0 && film_mm > 0.0 && film_mm.is_finite() {
            return Ok(Distances { subject_mm, film_mm });
        }
        Err(Error::limit(
            format!("a subject at {subject_mm} mm with film at {film_mm} mm cannot be"),
            "both distances must be above zero, and the film's finite",
        ))
    }

    /// A subject so far away that its waves arrive flat.
    ///
    /// # Errors
    /// As [`Distances::new`].
    pub fn distant(film_mm: f64) -> Result<Distances, Error> {
        Distances::new(f64::INFINITY, film_mm)
    }

    /// The distance from the hole to the film, in mm.
    pub fn film_mm(self) -> f64 {
        self.film_mm
    }

    /// The distance from the subject to the hole, in mm.
    pub fn subject_mm(self) -> f64 {
        self.subject_mm
    }

    /// The distances along a ray at `angle_rad` from the axis that meets the film `film_mm` from the hole
    /// and comes from a subject that is a plane square to the axis. For a film distance above zero.
    #[must_use]
    pub fn along(self, angle_rad: f64, film_mm: f64) -> Distances {
        Distances { subject_mm: self.subject_mm / angle_rad.cos(), film_mm }
    }

    /// The effective distance z, 1/z = 1/u + 1/v, in mm: the one that the curvature of the waves
    /// sees.
    pub fn effective_mm(self) -> f64 {
        1.0 / (1.0 / self.subject_mm + 1.0 / self.film_mm)
    }

    /// How much larger than the hole its shadow on the film is: v/z = 1 + v/u.
    pub fn shadow_magnification(self) -> f64 {
        1.0 + self.film_mm / self.subject_mm
    }

    pub(super) fn wave(self, wavelength_nm: f64) -> Wave {
        let wavelength_mm = wavelength_nm * MM_PER_NM;
        Wave {
            spread_mm2: wavelength_mm * self.film_mm,
            curvature_per_mm2: 1.0 / (wavelength_mm * self.effective_mm()),
        }
    }

    /// The largest phase that the second-order expansion drops for a hole of `radius_mm` on the
    /// axis, π a⁴/(4λz³), in rad. Source: next term of the expansion of √(z² + a²).
    pub fn neglected_phase_rad(self, radius_mm: f64, wavelength_nm: f64) -> f64 {
        let z = self.effective_mm();
        PI * radius_mm.powi(4) / (4.0 * wavelength_nm * MM_PER_NM * z.powi(3))
    }
}

/// One wavelength at one pair of distances, as the diffraction integral sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Wave {
    /// λv, in mm²: how far a frequency in the hole lands on the film.
    pub(super) spread_mm2: f64,
    /// 1/(λz), in mm⁻²: the Fresnel number of a hole of radius 1 mm.
    pub(super) curvature_per_mm2: f64,
}

/// Wavelengths that add up on the film, each with its share of the energy.
#[derive(Debug, Clone, PartialEq)]
pub struct Light {
    lines: Vec<(f64, f64)>,
    /// The same light in so many lines that they stand for a continuous spectrum; none for light that is
    /// lines.
    continuous: Vec<(f64, f64)>,
}

impl Light {
    /// Wavelengths in nm with their relative energies, which are scaled to the sum of 1.
    ///
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) when there is none, a wavelength is not between 10 nm and 100 µm, or the
    /// weights are negative or all zero.
    pub fn new(lines: &[(f64, f64)]) -> Result<Light, Error> {
        let total: f64 = lines.iter().map(|line| line.1).sum();
        if !(total > 0.0 && total.is_finite()) || lines.iter().any(|line| line.1 < 0.0) {
            return Err(Error::limit(
                "the wavelengths' weights do not add up to any light",
                "give at least one wavelength, weights of zero or more and one above zero",
            ));
        }
        if let Some(line) = lines.iter().find(|line| !(10.0..=100_000.0).contains(&line.0)) {
            return Err(Error::limit(
                format!("a wavelength of {} nm is not light that film or eye could see", line.0),
                "give wavelengths in nm; visible light is 380 nm to 780 nm",
            ));
        }
        let used = lines.iter().filter(|line| line.1 > 0.0);
        let lines = used.map(|&(nm, weight)| (nm, weight / total)).collect();
        Ok(Light { lines, continuous: Vec::new() })
    }

    /// A continuous spectrum in a few lines, and `finely`, in so many that a sum over them is the integral.
    ///
    /// # Errors
    /// As [`Light::new`].
    pub fn continuous(lines: &[(f64, f64)], finely: &[(f64, f64)]) -> Result<Light, Error> {
        let continuous = Light::new(finely)?.lines;
        Ok(Light { continuous, ..Light::new(lines)? })
    }

    /// The light by every second of its fine lines, each of which takes half of both neighbours': what
    /// changes is what the fine lines' own distance costs, three times over. None for light that is lines.
    pub fn half_as_fine(&self) -> Option<Light> {
        let fine = &self.continuous;
        let kept = (0..fine.len()).step_by(2).map(|i| {
            let beside = |j: Option<usize>| j.and_then(|j| fine.get(j)).map_or(0.0, |line| line.1);
            (fine[i].0, fine[i].1 + (beside(i.checked_sub(1)) + beside(Some(i + 1))) / 2.0)
        });
        let kept: Vec<(f64, f64)> = kept.collect();
        let total: f64 = kept.iter().map(|line| line.1).sum();
        let continuous = kept.into_iter().map(|(nm, weight)| (nm, weight / total)).collect();
        (!fine.is_empty()).then(|| Light { continuous, ..self.clone() })
    }

    /// Light of a single wavelength.
    ///
    /// # Errors
    /// As [`Light::new`].
    pub fn single(wavelength_nm: f64) -> Result<Light, Error> {
        Light::new(&[(wavelength_nm, 1.0)])
    }

    /// The wavelengths in nm with their shares of the energy, which add up to 1.
    pub fn lines(&self) -> &[(f64, f64)] {
        &self.lines
    }

    /// The mean wavelength by energy, in nm.
    pub fn mean_nm(&self) -> f64 {
        self.lines.iter().map(|(nm, weight)| nm * weight).sum()
    }

    /// The shortest wavelength, in nm.
    pub fn shortest_nm(&self) -> f64 {
        self.lines.iter().map(|line| line.0).fold(f64::INFINITY, f64::min)
    }

    /// The longest wavelength, in nm.
    pub fn longest_nm(&self) -> f64 {
        self.lines.iter().map(|line| line.0).fold(0.0, f64::max)
    }
    /// The share of the energy at wavelengths from `low_nm` up to but not including `high_nm`, and
    /// the light of that band alone; None where the band is dark.
    pub fn within(&self, low_nm: f64, high_nm: f64) -> Option<(f64, Light)> {
        let part = |lines: &[(f64, f64)]| {
            let inside = lines.iter().filter(|line| (low_nm..high_nm).contains(&line.0));
            let share: f64 = inside.clone().map(|line| line.1).sum();
            let lines: Vec<_> = inside.map(|&(nm, weight)| (nm, weight / share)).collect();
            (share, lines)
        };
        let ((share, lines), (_, continuous)) = (part(&self.lines), part(&self.continuous));
        (share > 0.0).then_some((share, Light { lines, continuous }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bands_share_the_energy_and_leave_none_out() {
        let lines: Vec<_> = (40..70).map(|i| (10.0 * f64::from(i), f64::from(i % 7))).collect();
        let light = Light::new(&lines).unwrap();
        let bands = [(0.0, 480.0), (480.0, 560.0), (560.0, 1e5)];
        let parts: Vec<_> = bands.iter().map(|b| light.within(b.0, b.1).unwrap()).collect();
        // Thirty numbers below 1, each rounded to 1e-16.
        assert!((parts.iter().map(|part| part.0).sum::<f64>() - 1.0).abs() < 1e-14);
        let mean: f64 = parts.iter().map(|(share, band)| share * band.mean_nm()).sum();
        assert!((mean / light.mean_nm() - 1.0).abs() < 1e-14);
        for ((low, high), (_, band)) in bands.iter().zip(&parts) {
            assert!((band.lines().iter().map(|line| line.1).sum::<f64>() - 1.0).abs() < 1e-14);
            assert!(band.shortest_nm() >= *low && band.longest_nm() < *high);
        }
        // A line on the border belongs to the band above it alone.
        let line = Light::single(480.0).unwrap();
        assert!(line.within(400.0, 480.0).is_none());
        assert_eq!(line.within(480.0, 560.0).unwrap(), (1.0, line.clone()));
    }
}
