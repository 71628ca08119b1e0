//! What form a rim has and how ragged it is: the Fourier series of its radius, and the rest.

use super::departure::{Departure, Rim};
use crate::geometry::{Point, contains, cross, distance, edges};
use serde::Serialize;
use std::f64::consts::TAU;

/// Highest harmonic of the form; above it undulations are raggedness. 15 undulations per revolution
/// is a standard cut-off of roundness filters (`ISO12181`-2).
const CUT_OFF: usize = 15;

/// One harmonic of a rim: r = R + Σ a cos(n(φ - p)), φ anticlockwise from +x with y up.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Harmonic {
    /// Undulations per revolution, n: 2 an oval, 3 three lobes, and so on.
    pub order: usize,
    /// The amplitude a, half of crest to trough, in mm.
    pub amplitude_mm: f64,
    /// The direction p of one of its crests, in degrees, 0..360/n.
    pub phase_deg: f64,
}

/// A rim that runs back and forth over more than so many turns is not seen whole from its centre.
const MOST_RUN_BACK: f64 = 1.5;

/// The form of a rim and what is left of it.
pub(super) struct Waves {
    /// Orders 2 to 15.
    pub(super) harmonics: Vec<Harmonic>,
    pub(super) raggedness_mm: f64,
}

/// One point of the rim as seen from the centre.
struct Spoke {
    angle: f64,
    radius: f64,
    /// The angle that it stands for; below zero where the rim runs back.
    weight: f64,
    /// Whether it belongs to a burr or nick.
    departs: bool,
}

/// The series of the radius of a roundness profile about `centre`, even in angle, and the root mean
/// square of what the series leaves.
///
/// Where a burr or nick stands the smooth rim is taken for the series, and nothing is counted for
/// the raggedness: one burr would otherwise pass for an oval, three lobes and so on at once.
///
/// # Formula
/// c_n = ∮ r e^{inφ} dφ / π by the trapezoidal rule over the vertices; raggedness² = ∮' (r - R -
/// Σ_{1..15} a_n cos(n(φ - p_n)))² dφ / ∮' dφ, the stroke for: outside burrs and nicks.
pub(super) fn waves(
    profile: &[Point],
    centre: Point,
    rim: &Rim<'_>,
    departures: &[Departure],
) -> Waves {
    // A rim that its centre does not see whole is no function of the angle: what is seen of it from the
    // centre of the smooth form stands for it.
    let around: f64 = spokes(profile, centre, rim, departures).iter().map(|s| s.weight.abs()).sum();
    let spokes = if around < MOST_RUN_BACK * TAU && contains(profile, centre) {
        spokes(profile, centre, rim, departures)
    } else {
        rim.seen_spokes()
            .map(|(angle, radius, departs)| Spoke { angle, radius, weight: 1.0, departs })
            .collect()
    };
    let mut series = [[0.0; 2]; CUT_OFF + 1];
    let around: f64 = spokes.iter().map(|spoke| spoke.weight).sum();
    for spoke in &spokes {
        for (sum, [cos, sin]) in series.iter_mut().zip(turns(spoke.angle)) {
            sum[0] += 2.0 / around * spoke.weight * spoke.radius * cos;
            sum[1] += 2.0 / around * spoke.weight * spoke.radius * sin;
        }
    }
    // The mean is not doubled.
    series[0][0] /= 2.0;
    let (mut squares, mut counted) = (0.0, 0.0);
    for spoke in spokes.iter().filter(|spoke| !spoke.departs) {
        let terms = series.iter().zip(turns(spoke.angle));
        let smooth: f64 = terms.map(|([a, b], [cos, sin])| a * cos + b * sin).sum();
        squares += spoke.weight.abs() * (spoke.radius - smooth).powi(2);
        counted += spoke.weight.abs();
    }
    let harmonic = |order: usize| {
        let [a, b] = series[order];
        let period = 360.0 / order as f64;
        let phase_deg = (b.atan2(a).to_degrees() / order as f64).rem_euclid(period);
        // Rounding may lift a phase just below zero to the period itself.
        let phase_deg = if phase_deg < period { phase_deg } else { 0.0 };
        Harmonic { order, amplitude_mm: a.hypot(b), phase_deg }
    };
    Waves {
        harmonics: (2..=CUT_OFF).map(harmonic).collect(),
        raggedness_mm: (squares / f64::max(counted, f64::MIN_POSITIVE)).sqrt(),
    }
}

fn spokes(profile: &[Point], centre: Point, rim: &Rim<'_>, departures: &[Departure]) -> Vec<Spoke> {
    let spans: Vec<f64> = edges(profile)
        .map(|(a, b)| {
            let along =
                (a[0] - centre[0]) * (b[0] - centre[0]) + (a[1] - centre[1]) * (b[1] - centre[1]);
            cross(centre, a, b).atan2(along)
        })
        .collect();
    let count = profile.len();
    let spoke = |(i, &p): (usize, &Point)| {
        let seen = (p[1] - rim.form.centre[1]).atan2(p[0] - rim.form.centre[0]);
        let departs = departures.iter().any(|departure| departure.holds(seen));
        let p = if departs { rim.form.point(seen, rim.form.radius(seen)) } else { p };
        Spoke {
            angle: (p[1] - centre[1]).atan2(p[0] - centre[0]),
            radius: distance(centre, p),
            weight: (spans[i] + spans[(i + count - 1) % count]) / 2.0,
            departs,
        }
    };
    profile.iter().enumerate().map(spoke).collect()
}

/// cos nφ and sin nφ for n = 0 to 15.
fn turns(angle: f64) -> [[f64; 2]; CUT_OFF + 1] {
    let (sin, cos) = angle.sin_cos();
    let mut turns = [[1.0, 0.0]; CUT_OFF + 1];
    for n in 1..=CUT_OFF {
        let [c, s] = turns[n - 1];
        turns[n] = [c * cos - s * sin, s * cos + c * sin];
    }
    turns
}
