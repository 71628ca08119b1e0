//! How large the image of the chart is, and which distance the chart was drawn for.
//!
//! A chart that hangs where it was drawn for has an image of the same size at any distance, so that size alone does not test
//! the distance that is stated. But octagons are as wide as the hole's blur asks, which depends on the distance through 1/z = 1/u + 1/v:
//! against their spacing those of a near chart are wider. Where the film is so small that it sets their width, or
//! the chart so far away that 1/u counts no more, the picture does not tell.

use super::chart::Chart;
use super::depth::Depth;
use super::measured::Octagon;
use crate::camera::Camera;

/// How well the width of an octagon against the spacing is known: the spread of ink, the tones of the edges (common practice,
/// no source; faultless pictures are within 0.2 %). Standard uncertainty.
const WIDTH: f64 = 0.003;
/// The same in what blurs besides the hole: each edge moves where blur and a bent tone curve meet (common practice, no source; seen
/// on a negative whose scan was blurred by 0.07 mm).
const WIDTH_OF_BLUR: f64 = 0.5;
/// Distances that are tried, in mm, and how many.
const DISTANCES_MM: [f64; 2] = [20.0, 5e4];
const TRIED: u32 = 300;
/// A distance so many times as far or as near is told, if any is.
const TOLD: f64 = 1.3;

/// Describes the scale of a picture: the length of an image over that of what is on the wall.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct Enlargement {
    /// As camera and distance say.
    pub expected: f64,
    /// As the picture and its own scale say.
    pub measured: f64,
    /// Its expanded uncertainty.
    pub uncertainty: f64,
}

impl Enlargement {
    /// Of a picture in which the film lay as `depth` says.
    pub fn of(chart: &Chart, depth: &Depth) -> Enlargement {
        let film_mm = chart.camera.distances.film_mm();
        let expected = film_mm / chart.distance_mm();
        Enlargement {
            expected,
            measured: expected * (1.0 + depth.terms_mm[0] / film_mm),
            uncertainty: expected * depth.uncertainties_mm[0] / film_mm,
        }
    }
}

/// Tells which distance the chart of a picture was drawn for, by the width of the octagon in the middle.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct Drawn {
    /// How wide it is against the spacing, over what is expected.
    pub octagon: f64,
    /// Its expanded uncertainty.
    pub uncertainty: f64,
    /// The shortest and the longest distance for which this camera's chart has such an octagon, in mm; null where none has.
    pub for_mm: Option<[f64; 2]>,
    /// Whether a chart of another distance, further or nearer by three tenths, would be told.
    pub is_tested: bool,
}

impl Drawn {
    /// Of a picture in which the film lay as `depth` says; `size` is how large the whole image is over what is expected, `blur_mm` the
    /// blur (σ) besides the hole's. None where the octagon in the middle was not measured.
    pub fn of(
        camera: &Camera,
        chart: &Chart,
        octagons: &[Octagon],
        (size, blur_mm): (f64, f64),
        depth: &Depth,
    ) -> Option<Drawn> {
        let film_mm = chart.camera.distances.film_mm();
        // Bent or leaning film spaces octagons otherwise than it enlarges the one in its middle.
        let octagon = octagons.get(4)?.width? * size / (1.0 + depth.terms_mm[0] / film_mm);
        let uncertainty = 2.0 * WIDTH.hypot(WIDTH_OF_BLUR * blur_mm / chart.octagon_mm);
        let off = |distance_mm: f64| {
            let other = Chart::of(camera, distance_mm).ok()?;
            Some((relative_width(&other, chart) / octagon).ln().abs())
        };
        let [least, most] = DISTANCES_MM;
        let fits = |distance_mm: &f64| off(*distance_mm).is_some_and(|off| off < uncertainty);
        let tried =
            (0..=TRIED).map(|i| least * (most / least).powf(f64::from(i) / f64::from(TRIED)));
        let fitting: Vec<f64> = tried.filter(fits).collect();
        let changes = |factor: f64| {
            let other = Chart::of(camera, factor * chart.distance_mm());
            other.is_ok_and(|other| relative_width(&other, chart).ln().abs() > uncertainty)
        };
        Some(Drawn {
            octagon,
            uncertainty,
            for_mm: fitting.first().zip(fitting.last()).map(|(first, last)| [*first, *last]),
            is_tested: changes(TOLD) || changes(1.0 / TOLD),
        })
    }

    /// Whether the chart may be the one that is stated.
    pub fn is_as_stated(&self) -> bool {
        self.octagon.ln().abs() < self.uncertainty
    }
}

/// How wide the octagons of a chart are against their spacing, over those of another.
fn relative_width(one: &Chart, other: &Chart) -> f64 {
    // The spacing as least squares over the nine places see it.
    let (mut both, mut square) = (0.0, 0.0);
    for (p, q) in one.places_mm().iter().zip(other.places_mm()) {
        both += p[0] * q[0] + p[1] * q[1];
        square += q[0] * q[0] + q[1] * q[1];
    }
    one.octagon_mm / other.octagon_mm / (both / square)
}
