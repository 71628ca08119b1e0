//! A hole so small that its light is the far field: the Airy pattern.

use super::Bench;
use super::maps::{Brightness, map};
use crate::diagram::{Axis, Chart, Columns, Curve, Diagram, Line, Mark, Panel, Shows};
use crate::error::Error;
use crate::geometry::shapes;
use crate::quantity::{Quantity, significant};
use crate::wave::analytic::airy_intensity;
use crate::wave::{Aperture, Grid, Light, MM_PER_NM, fresnel_number};

/// Its Fresnel number: at a hundredth the far field is right to a part in a thousand.
const FRESNEL_NUMBER: f64 = 0.01;
/// How far out the pattern is drawn, in units of λ f-number.
const REACH: f64 = 4.0;
/// Samples to each side of the middle.
const SAMPLES: usize = 160;

pub(super) fn draw(bench: &Bench) -> Result<Diagram, Error> {
    let light = Light::single(bench.camera.light.mean_nm().round())?;
    let (nm, distances) = (light.mean_nm(), bench.camera.distances);
    let far = 2.0 * (FRESNEL_NUMBER * nm * MM_PER_NM * distances.effective_mm()).sqrt();
    let diameter = bench.diameter_mm.unwrap_or(far);
    // λ times the f-number: the unit in which every such pattern is the same.
    let unit_mm = nm * MM_PER_NM * distances.film_mm() / diameter;
    let grid = Grid::new(2 * SAMPLES + 1, REACH * unit_mm / SAMPLES as f64)?;
    let psf = Aperture::of(&shapes::disc(diameter)?).psf(&light, distances, grid)?;
    let peak = psf.peak();
    let profile: Vec<[f64; 2]> = (0..=SAMPLES)
        .map(|i| {
            let light = psf.density[[SAMPLES, SAMPLES + i]] / peak;
            [REACH * i as f64 / SAMPLES as f64, light]
        })
        .collect();
    let zeros = dark_rings(&profile);
    let theory = (0..=400).map(|i| f64::from(i) * REACH / 400.0);
    let theory: Vec<[f64; 2]> =
        theory.map(|r| [r, airy_intensity(std::f64::consts::PI * r).max(1e-6)]).collect();
    let words = |zero: &f64| format!("{} λN", significant(*zero, 3));
    let marks = zeros.iter().map(|zero| Mark { x: *zero, words: words(zero) }).collect();
    let mut shown = map(&psf, peak, Brightness::Logarithmic);
    shown.circles_mm = zeros.iter().map(|zero| zero * unit_mm).collect();
    let measured = zeros.iter().map(|zero| significant(*zero, 3)).collect::<Vec<_>>().join(", ");
    let rings = if zeros.is_empty() {
        "The computed light has no dark ring here: this hole is too near to its film, or too large, for the far field".into()
    } else {
        format!(
            "The dark rings of the computed light lie at {measured} times λN, the wavelength times the f-number"
        )
    };
    let size = Quantity::Length.write(diameter);
    Ok(Diagram {
        title: "A very small hole spreads light into rings".into(),
        caption: format!(
            "Light of {nm:.0} nm through a perfect disc of {size}, {} from the film: f/{:.0}, Fresnel number {}. {rings}; the far \
             field of theory (G. B. Airy, 1835) has them at 1.22, 2.23 and 3.24. A smaller hole makes the \
             pattern larger: that is why too small a hole draws a soft picture.",
            Quantity::Length.write(distances.film_mm()),
            distances.film_mm() / diameter,
            significant(fresnel_number(diameter / 2.0, nm, distances.effective_mm()), 2),
        ),
        alternative: format!(
            "A map of a bright disc with rings around it, and a curve of the light from the middle outwards \
             on a logarithmic scale. {rings}."
        ),
        columns: Columns::Free,
        panels: vec![
            Panel {
                title: "On the film".into(),
                shows: Shows::Picture(map(&psf, peak, Brightness::Linear)),
            },
            Panel { title: "On the film, logarithmic".into(), shows: Shows::Picture(shown) },
            Panel {
                title: "From the middle outwards".into(),
                shows: Shows::Chart(Chart {
                    x: Axis::linear("distance from the middle, in λN", [0.0, REACH]),
                    y: Axis::logarithmic("light, share of the peak", [1e-5, 1.0]),
                    curves: vec![
                        Curve { name: "computed".into(), points: profile, line: Line::First },
                        Curve {
                            name: "Airy's far field".into(),
                            points: theory,
                            line: Line::Second,
                        },
                    ],
                    marks,
                    bands: Vec::new(),
                }),
            },
        ],
    })
}

/// Where a profile has its minima, by the parabola through each lowest sample and its neighbours.
fn dark_rings(profile: &[[f64; 2]]) -> Vec<f64> {
    let lowest =
        profile.windows(3).filter(|three| three[1][1] < three[0][1] && three[1][1] <= three[2][1]);
    lowest
        .map(|three| {
            let [[_, left], [x, middle], [next, right]] = [three[0], three[1], three[2]];
            x + (next - x) * (left - right) / (2.0 * (left - 2.0 * middle + right))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::camera::Camera;

    /// Zeros of J1 over π: 1.219670, 2.233131, 3.238315 (`DLMF`, table 10.21.1).
    #[test]
    fn dark_rings_lie_where_bessel_has_them() {
        let camera = Camera::demonstration().unwrap();
        let hole = shapes::disc(0.3).unwrap();
        let drawn = draw(&Bench { camera, hole, named: true, diameter_mm: None }).unwrap();
        let Shows::Chart(chart) = &drawn.panels[2].shows else { panic!("no chart") };
        let found: Vec<f64> = chart.marks.iter().map(|mark| mark.x).collect();
        assert_eq!(found.len(), 3);
        for (found, zero) in found.iter().zip([1.219_670, 2.233_131, 3.238_315]) {
            // A Fresnel number of 0.01 moves a minimum by its square; samples are 0.025 apart.
            assert!((found - zero).abs() < 2e-3, "{found} {zero}");
        }
    }
}
