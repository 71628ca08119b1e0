//! What light counts: what shines, times what a filter lets through, times what the medium sees.

mod curve;
mod illuminant;
mod medium;

pub use curve::Curve;
pub(crate) use curve::FORM as FORM_OF_CURVE;
pub use illuminant::Illuminant;
pub use medium::Medium;

use crate::error::Error;
use crate::wave::Light;
use illuminant::Power;

/// The farthest that two lines of the light lie apart, in nm.
const STEP_NM: f64 = 10.0;
/// The same for the fine lines that stand for the continuous spectrum: over one of them the phase of a
/// pattern of Fresnel number 25 turns by some hundredths of a turn.
const FINE_STEP_NM: f64 = 1.0;

/// Returns the light that counts: at each wavelength the illuminant's energy times the filter's transmission
/// times the medium's sensitivity, in relative measure.
///
/// The lines stand every 10 nm and at each point of a curve. Each carries the light of half the way
/// to its neighbours (trapezium rule), so that a curve is integrated by all of its points, however
/// narrow it is. Compared with the same curves summed every 0.05 nm, the mean wavelength and the
/// standard deviation are right to 0.3 nm; to 1.2 nm behind a filter that is a mere triangle of three
/// points, 13 nm wide, the worst that was tried.
///
/// # Errors
/// [`BeyondLimit`](crate::Kind::BeyondLimit) when the illuminant's temperature is out of range, and when nothing is left of
/// the light.
pub fn light(
    illuminant: &Illuminant,
    filter: Option<&Curve>,
    medium: &Medium,
) -> Result<Light, Error> {
    let power = illuminant.power()?;
    let sensitivity = medium.sensitivity();
    let shining = match &power {
        Power::Curve(curve) => Some(curve),
        Power::Flat | Power::Blackbody(_) => None,
    };
    let curves = shining.into_iter().chain(filter).chain([&sensitivity]);
    let counts = |nm: f64| power.at(nm) * filter.map_or(1.0, |f| f.at(nm)) * sensitivity.at(nm);
    let lines = |step_nm: f64| -> Vec<(f64, f64)> {
        let places = places(curves.clone(), step_nm);
        let lines = places.iter().enumerate().map(|(i, &nm)| {
            let before = places[i.saturating_sub(1)];
            let after = places[(i + 1).min(places.len() - 1)];
            (nm, counts(nm) * (after - before) / 2.0)
        });
        lines.filter(|line| line.1 > 0.0).collect()
    };
    let few = lines(STEP_NM);
    if few.is_empty() {
        return Err(nothing(shining, filter, &sensitivity));
    }
    Light::continuous(&few, &lines(FINE_STEP_NM))
}

/// Where to put the lines: within the ends of all the curves, at their points and at every step.
fn places<'a>(curves: impl Iterator<Item = &'a Curve> + Clone, step_nm: f64) -> Vec<f64> {
    let (low, high) = curves
        .clone()
        .map(reach_nm)
        .fold((0.0, f64::INFINITY), |all, one| (f64::max(all.0, one.0), f64::min(all.1, one.1)));
    // One of the curves is the medium's, so that the ends are finite.
    let steps = (low / step_nm).ceil() as usize..=(high / step_nm).floor() as usize;
    let mut places: Vec<f64> = curves
        .flat_map(|curve| curve.points().iter().map(|point| point.0))
        .chain(steps.map(|step| step_nm * step as f64))
        .filter(|nm| (low..=high).contains(nm))
        .collect();
    places.sort_by(f64::total_cmp);
    places.dedup();
    places
}

/// From where to where a curve is above zero, in nm.
fn reach_nm(curve: &Curve) -> (f64, f64) {
    let points = curve.points();
    let lit = |point: &(f64, f64)| point.1 > 0.0;
    let first = points.iter().position(lit).unwrap_or(0).saturating_sub(1);
    let last = points.iter().rposition(lit).map_or(0, |last| (last + 1).min(points.len() - 1));
    (points[first].0, points[last].0)
}

fn nothing(shining: Option<&Curve>, filter: Option<&Curve>, sensitivity: &Curve) -> Error {
    let reach = |curve: Option<&Curve>, without: &str| {
        curve.map(reach_nm).map_or(without.into(), |(low, high)| format!("{low} nm to {high} nm"))
    };
    Error::limit(
        format!(
            "nothing would be exposed: the light covers {}, the filter passes {}, the medium sees \
             {}, and they share no wavelength",
            reach(shining, "all wavelengths"),
            reach(filter, "all wavelengths (there is none)"),
            reach(Some(sensitivity), ""),
        ),
        "change the light, the filter or the medium so that they overlap",
    )
}

#[cfg(test)]
mod tests;
