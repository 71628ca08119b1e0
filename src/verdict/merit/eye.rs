//! What an eye can tell of a print: contrast sensitivity, and Barten's square-root integral.
//!
//! ```text
//! J = (1/ln 2) ∫ √(M(u) S(u)) du/u
//! S = 5200 exp(-0.0016 u² (1 + 100/L)^0.08) / √( (1 + 144/X² + 0.64 u²) (63/L^0.83 + 1/(1 - exp(-0.02 u²))) )
//! ```
//!
//! u is in cycles per degree at the eye, M the modulation transfer up to the eye, L the luminance of the print
//! in cd/m², X its angular size in degrees (the square root of its solid angle). J is in just-noticeable
//! differences: of two prints that differ by 1, three of four observers name the better one, side by side. A
//! difference of 3 is called significant, one of 10 substantial.
//!
//! The integral begins at one cycle over the whole print, u = 1/X. How low it begins hardly matters between holes:
//! half of that moves differences below 3 jnd by less than 0.01, and 0.3 cycles per degree by less than 0.07
//! (a test).
//!
//! Sources: `Barten1999` (J: chapter 8); `Barten2004` for the short formula of S; the meaning of 1, 3 and 10:
//! `CarlsonCohen1980`, as Barten quotes them.
//!
//! [`acutance_weight`] is the other weight that is in use, for the measure of `IEEE1858`.

use crate::camera::Camera;
use crate::wave::Gauss;
use std::f64::consts::LN_2;

/// The luminance of the print, in cd/m²: a well lit room. Common practice, no source.
pub const LUMINANCE_CD_M2: f64 = 100.0;

/// In cycles per degree: beyond it an eye sees nothing.
pub(super) const FINEST_SEEN: f64 = 60.0;

/// The weight of `IEEE1858` at ν cycles per degree, up to a constant: ν^0.8 exp(-0.2 ν).
pub fn acutance_weight(cycles_per_degree: f64) -> f64 {
    cycles_per_degree.powf(0.8) * (-0.2 * cycles_per_degree).exp()
}

/// ∫ of that weight over all frequencies: Γ(1.8)/0.2^1.8 (`DLMF`, 5.2.1).
pub(super) fn acutance_total() -> f64 {
    libm::tgamma(1.8) / 0.2f64.powf(1.8)
}

/// Names a published contrast sensitivity of the eye.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sensitivity {
    /// The short formula of 2004 that stands above.
    Barten2004,
    /// The formula of `Barten1989`:
    /// a u exp(-b u) √(1 + 0.06 exp(b u)), a = 540 (1 + 0.7/L)^-0.2 / (1 + 12/(X (1 + u/3)²)), b = 0.3 (1 + 100/L)^0.15.
    Barten1989,
}

/// A print as an eye sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Viewing {
    /// How its contrasts are felt.
    pub felt: Sensitivity,
    /// Its luminance, in cd/m².
    pub luminance_cd_m2: f64,
    /// Its angular size, in degrees: the square root of its solid angle.
    pub size_deg: f64,
    /// The lowest frequency that counts, in cycles per degree.
    pub lowest: f64,
}

impl Viewing {
    /// A print of an angular size in degrees in a well lit room, seen from one cycle over all of it.
    pub fn of_size(size_deg: f64) -> Viewing {
        Viewing {
            felt: Sensitivity::Barten2004,
            luminance_cd_m2: LUMINANCE_CD_M2,
            size_deg,
            lowest: 1.0 / size_deg,
        }
    }

    /// The print of a camera: its solid angle is 4 arcsin(ab/√((1 + a²)(1 + b²))), a and b half its sides over the
    /// viewing distance (of a rectangle seen square on; by integration).
    pub fn of(camera: &Camera) -> Viewing {
        let half = |mm: f64| mm * camera.print.enlargement / camera.print.viewing_distance_mm / 2.0;
        let (a, b) = (half(camera.film.width_mm), half(camera.film.height_mm));
        let solid = 4.0 * (a * b / ((1.0 + a * a) * (1.0 + b * b)).sqrt()).asin();
        Viewing::of_size(solid.sqrt().to_degrees())
    }

    /// Contrast sensitivity of the eye at a frequency in cycles per degree.
    pub fn sensitivity(&self, cycles_per_degree: f64) -> f64 {
        self.sensitivity_in(self.powers_of_light(), cycles_per_degree)
    }

    /// What the luminance does to the sensitivity, whatever the frequency.
    fn powers_of_light(&self) -> [f64; 2] {
        let lit = self.luminance_cd_m2;
        match self.felt {
            Sensitivity::Barten2004 => [(1.0 + 100.0 / lit).powf(0.08), 63.0 / lit.powf(0.83)],
            Sensitivity::Barten1989 => {
                [540.0 * (1.0 + 0.7 / lit).powf(-0.2), 0.3 * (1.0 + 100.0 / lit).powf(0.15)]
            }
        }
    }

    fn sensitivity_in(&self, [one, other]: [f64; 2], u: f64) -> f64 {
        match self.felt {
            Sensitivity::Barten2004 => {
                let square = u * u;
                let optics = 5200.0 * (-0.0016 * square * one).exp();
                let size = 1.0 + 144.0 / self.size_deg.powi(2) + 0.64 * square;
                let noise = other - 1.0 / (-0.02 * square).exp_m1();
                optics / (size * noise).sqrt()
            }
            Sensitivity::Barten1989 => {
                let size = 1.0 + 12.0 / (self.size_deg * (1.0 + u / 3.0).powi(2));
                let fall = other * u;
                one / size * u * (-fall).exp() * (1.0 + 0.06 * fall.exp()).sqrt()
            }
        }
    }
}

/// The quadrature of the square-root integral.
///
/// The transfer is taken at Gauss points of x = √u, which lie close where √S/u is steep, and carried by its
/// polynomial to cells so narrow that it is straight in each: over a straight line the root has an integral in closed
/// form, also where the line falls through zero. The error is below 0.01 jnd for discs up to 1.5 times the best (a
/// test), and cancels in part between holes.
#[derive(Debug, Clone)]
pub(super) struct RootRule {
    rule: Gauss,
    /// The ends of the cells on -1..1: their values from those at the Gauss points, a row each.
    to_ends: Vec<Vec<f64>>,
}

impl RootRule {
    pub(super) fn of(points: usize, cells: usize) -> RootRule {
        let rule = Gauss::rule(points);
        let nodes = &rule.nodes;
        // Barycentric weights of the nodes (`DLMF`, 3.3.4, in the form of `BerrutTrefethen2004`).
        let weight = |i: usize| -> f64 {
            let others = nodes.iter().enumerate().filter(|(j, _)| *j != i);
            1.0 / others.map(|(_, other)| nodes[i] - other).product::<f64>()
        };
        let weights: Vec<f64> = (0..points).map(weight).collect();
        let row = |i: usize| {
            let x = 2.0 * i as f64 / cells as f64 - 1.0;
            // Gauss points are irrational but for 0, which an even number of cells has as an end.
            if let Some(at) = nodes.iter().position(|node| (x - node).abs() < 1e-14) {
                return (0..points).map(|j| f64::from(u8::from(j == at))).collect();
            }
            let terms: Vec<f64> =
                nodes.iter().zip(&weights).map(|(node, w)| w / (x - node)).collect();
            let sum: f64 = terms.iter().sum();
            terms.into_iter().map(|term| term / sum).collect()
        };
        let to_ends = (0..=cells).map(row).collect();
        RootRule { rule, to_ends }
    }

    /// J in jnd of what passes `transfer` of the contrast at u cycles per degree, and nothing from `finest` on.
    pub(super) fn jnd(&self, seen: &Viewing, finest: f64, transfer: impl Fn(f64) -> f64) -> f64 {
        let (low, high) = (seen.lowest.sqrt(), finest.min(FINEST_SEEN).sqrt());
        if high <= low {
            return 0.0;
        }
        let passed: Vec<f64> = self.rule.on(low, high).map(|(x, _)| transfer(x * x)).collect();
        let end = |row: &Vec<f64>| -> f64 { row.iter().zip(&passed).map(|(a, m)| a * m).sum() };
        let ends: Vec<f64> = self.to_ends.iter().map(end).collect();
        let width = (high - low) / (ends.len() - 1) as f64;
        let powers = seen.powers_of_light();
        let cells = ends.windows(2).enumerate().map(|(i, cell)| {
            let x = low + (i as f64 + 0.5) * width;
            // du/u = 2 dx/x.
            mean_root(cell[0], cell[1]) * seen.sensitivity_in(powers, x * x).sqrt() * 2.0 / x
        });
        cells.sum::<f64>() * width / LN_2
    }
}

/// The mean of √max(0, m) along a straight line from one value to another.
fn mean_root(from: f64, to: f64) -> f64 {
    let (low, high) = (from.min(to), from.max(to));
    if high <= 0.0 {
        return 0.0;
    }
    let root = high.sqrt();
    if low <= 0.0 {
        return 2.0 / 3.0 * high * root / (high - low);
    }
    // (p³ - q³)/(p² - q²) of the roots p and q, without a difference.
    let other = low.sqrt();
    2.0 / 3.0 * (high + root * other + low) / (root + other)
}

#[cfg(test)]
#[path = "eye_tests.rs"]
mod tests;
