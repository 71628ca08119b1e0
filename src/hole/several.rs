//! Several photos of one hole: a better size, and how far it can be trusted.

use super::hole::{Hole, PhotoSize};
use super::source::Photo;
use super::trace::rim_blur;
use super::uncertainty::SizeUncertainty;
use crate::error::{Error, Wanted};
use crate::quantity::Quantity;

/// Sizes that differ by more than this are not of one hole.
const MOST_APART: f64 = 0.2;

/// Student's t for 95.45 % and 1 to 10 degrees of freedom (`JCGM100`, table G.2; computed with
/// SciPy's stats.t.ppf(0.97725, n)).
const STUDENT: [f64; 10] = [13.968, 4.527, 3.307, 2.869, 2.649, 2.517, 2.429, 2.366, 2.320, 2.284];

/// Measures the hole in each of several photos, one picture opened at a time, and combines what they say.
///
/// # Errors
/// As tracing a photo has, and as [`combined`].
pub(super) fn measured(photos: &[Photo], one_scale: bool) -> Result<Hole, Error> {
    let mut holes = Vec::new();
    let mut over_exposed = Vec::new();
    for photo in photos {
        let hole = Hole::of_photo(photo)?;
        let picture = hole.picture.as_ref();
        over_exposed.push(picture.is_some_and(|picture| picture.traced.over_exposure.is_some()));
        holes.push((photo.name.clone(), hole));
        keep_the_best_picture(&mut holes);
    }
    if one_scale && photos.iter().all(|photo| photo.blur.is_none()) {
        share_blur(&mut holes, photos, &over_exposed)?;
    }
    combined(holes, one_scale)
}

/// Lets go of all pictures but that of the least uncertainty, so that ten photos take no more memory than two.
fn keep_the_best_picture(holes: &mut [(String, Hole)]) {
    let uncertainty = |hole: &Hole| hole.diameter_uncertainty_mm();
    let best = holes.iter().map(|(_, hole)| uncertainty(hole)).fold(f64::INFINITY, f64::min);
    for (_, hole) in holes.iter_mut().filter(|(_, hole)| uncertainty(hole) > best) {
        hole.picture = None;
    }
}

/// The hole that photos show, each with its file.
///
/// The size is the mean of theirs, each by the inverse square of its uncertainty, so that an
/// over-exposed photo hardly counts beside a good one; the form is that of the photo with the least
/// uncertainty. Scatter of
/// the mean (`JCGM100`, 4.2) and what all photos share (scale and levels, not made better by
/// repetition) add as squares; degrees of freedom follow Welch and Satterthwaite (G.4.1), and the
/// expanded uncertainty is that of Student's t for them. Where each photo has a scale of its own,
/// those errors are independent and their mean is better by √n.
///
/// # Errors
/// [`Damaged`](crate::Kind::Damaged) when sizes differ by a fifth: the photos do not show one hole.
fn combined(holes: Vec<(String, Hole)>, one_scale: bool) -> Result<Hole, Error> {
    let photos: Vec<PhotoSize> = holes
        .iter()
        .map(|(file, hole)| PhotoSize {
            file: file.clone(),
            equivalent_diameter_mm: hole.outline.equivalent_diameter_mm(),
            uncertainty_mm: hole.diameter_uncertainty_mm(),
        })
        .collect();
    let weights = weights(&photos);
    let mean = photos.iter().zip(&weights).map(|(p, w)| w * p.equivalent_diameter_mm).sum::<f64>();
    let farthest = photos.iter().max_by(|a, b| off(a, mean).total_cmp(&off(b, mean)));
    let farthest = farthest.ok_or_else(|| Error::not_there("no photo is given", "give one"))?;
    if off(farthest, mean) > MOST_APART * mean {
        return Err(Error::damaged(
            format!(
                "shows a hole of {}, and the mean of all photos is {}: not the same hole, or not the \
                 same scale",
                Quantity::Length.write(farthest.equivalent_diameter_mm),
                Quantity::Length.write(mean)
            ),
            "give each photo its own scale, or leave this one out",
        )
        .in_file(&farthest.file)
        .wanting(Wanted::ScaleForEach));
    }
    let mut warnings: Vec<String> = Vec::new();
    if off(farthest, mean) > 2.0 * farthest.uncertainty_mm {
        warnings.push(format!(
            "The photos differ by more than their uncertainty: {} gives {}.",
            farthest.file,
            Quantity::Length.write(farthest.equivalent_diameter_mm)
        ));
    }
    let size_uncertainty = uncertainty(&holes, &photos, &weights, one_scale);
    let best = photos
        .iter()
        .zip(holes.into_iter().map(|(_, hole)| hole))
        .min_by(|a, b| a.0.uncertainty_mm.total_cmp(&b.0.uncertainty_mm));
    let (size, best) = best.ok_or_else(|| Error::not_there("no photo is given", "give one"))?;
    warnings.extend(best.warnings.iter().cloned());
    Ok(Hole {
        outline: best.outline.scaled(mean / size.equivalent_diameter_mm),
        size_uncertainty,
        stated: None,
        warnings,
        photos,
        picture: best.picture,
    })
}

/// Measures the over-exposed photos again with the blur of one that is not, where all were taken at one
/// scale and so, it is assumed, with one focus.
///
/// # Errors
/// As tracing them has.
fn share_blur(
    holes: &mut [(String, Hole)],
    photos: &[Photo],
    over_exposed: &[bool],
) -> Result<(), Error> {
    if !over_exposed.contains(&true) {
        return Ok(());
    }
    let mut good = photos.iter().zip(over_exposed).filter(|(_, over)| !**over);
    let blur = good.find_map(|(photo, _)| {
        let (raster, _) = photo.opened().ok()?;
        rim_blur(&raster, photo.place_px).ok()
    });
    let Some(blur) = blur else { return Ok(()) };
    for (index, photo) in photos.iter().enumerate().filter(|(index, _)| over_exposed[*index]) {
        let again = Photo { blur: Some(blur), ..photo.clone() };
        holes[index].1 = Hole::of_photo(&again)?;
        keep_the_best_picture(holes);
    }
    Ok(())
}

fn off(photo: &PhotoSize, mean: f64) -> f64 {
    (photo.equivalent_diameter_mm - mean).abs()
}

/// Shares of the mean; alike where a photo states no uncertainty.
fn weights(photos: &[PhotoSize]) -> Vec<f64> {
    let alike = photos.iter().any(|photo| photo.uncertainty_mm <= 0.0);
    let of = |photo: &PhotoSize| if alike { 1.0 } else { photo.uncertainty_mm.powi(-2) };
    let sum: f64 = photos.iter().map(of).sum();
    photos.iter().map(|photo| of(photo) / sum).collect()
}

fn uncertainty(
    holes: &[(String, Hole)],
    photos: &[PhotoSize],
    weights: &[f64],
    one_scale: bool,
) -> SizeUncertainty {
    let count = photos.len() as f64;
    let square = |value: f64| value * value;
    let mean = photos.iter().zip(weights).map(|(p, w)| w * p.equivalent_diameter_mm).sum::<f64>();
    let mean_of = |part: fn(&SizeUncertainty) -> f64| {
        let parts = holes.iter().zip(weights);
        parts.map(|((_, hole), w)| w * square(part(&hole.size_uncertainty))).sum::<f64>().sqrt()
    };
    let shared = if one_scale { 1.0 } else { count.sqrt() };
    let (relative, edge_mm) = (mean_of(|u| u.relative) / shared, mean_of(|u| u.edge_mm));
    // With weights of 1/n this is s²/n.
    let scatter = photos.iter().zip(weights).map(|(p, w)| square(w * off(p, mean)));
    let variance = scatter.sum::<f64>() * count / (count - 1.0);
    // Standard uncertainties: those above are expanded.
    let of_kind_b = square(0.5 * relative * mean) + square(edge_mm);
    let freedom = square(of_kind_b + variance) / (square(variance) / (count - 1.0)).max(1e-300);
    let wider = student(freedom) / 2.0;
    // The scatter is one of sizes, whose half is one of the rim.
    SizeUncertainty {
        relative: relative * wider,
        edge_mm: edge_mm.hypot(variance.sqrt()) * wider,
        rim_mm: mean_of(|u| u.rim_mm),
        blur_mm: mean_of(|u| u.blur_mm),
    }
}

/// Student's t for 95.45 %; the degrees of freedom are cut down to a whole number, as G.4.1 says.
fn student(freedom: f64) -> f64 {
    match freedom {
        f if f < 11.0 => STUDENT[(f.max(1.0) as usize).min(10) - 1],
        // Within 0.5 % of the table's 2.13 for 20 and 2.05 for 50.
        f => 2.0 + 2.8 / f,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;

    fn of(diameter_mm: f64, relative: f64, edge_mm: f64) -> (String, Hole) {
        let hole = Hole {
            outline: shapes::disc(diameter_mm).unwrap(),
            size_uncertainty: SizeUncertainty { relative, edge_mm, ..SizeUncertainty::default() },
            picture: None,
            photos: Vec::new(),
            stated: None,
            warnings: Vec::new(),
        };
        (format!("{diameter_mm}.png"), hole)
    }

    /// 0.30, 0.31, 0.32 mm: mean 0.31, s = 0.01, s/√3 = 0.005774; nothing else: ν = 2, t = 4.527, so
    /// U = 0.02614 mm.
    #[test]
    fn scatter_alone_is_students() {
        let holes = [0.30, 0.31, 0.32].map(|d| of(d, 0.0, 0.0)).to_vec();
        let hole = combined(holes, true).unwrap();
        assert!((hole.outline.equivalent_diameter_mm() - 0.31).abs() < 1e-9);
        assert!((hole.diameter_uncertainty_mm() - 4.527 * 0.01 / 3f64.sqrt()).abs() < 1e-6);
    }

    /// Photos that agree keep what they share, and scales of their own average out.
    #[test]
    fn what_is_shared_stays() {
        let four = || (0..4).map(|_| of(0.3, 0.01, 0.0)).collect::<Vec<_>>();
        let shared = combined(four(), true).unwrap().diameter_uncertainty_mm();
        let own = combined(four(), false).unwrap().diameter_uncertainty_mm();
        assert!((shared - 0.003).abs() < 1e-6 && (own - 0.0015).abs() < 1e-6, "{shared} {own}");
    }

    /// 0.30 ± 0.0003 and 0.31 ± 0.003: weights 100 : 1, mean 0.300099.
    #[test]
    fn a_doubtful_photo_hardly_counts() {
        let hole = combined(vec![of(0.30, 0.001, 0.0), of(0.31, 0.003 / 0.31, 0.0)], true).unwrap();
        assert!((hole.outline.equivalent_diameter_mm() - 0.300_099).abs() < 1e-6);
        assert!(hole.diameter_uncertainty_mm() < 0.002, "{}", hole.diameter_uncertainty_mm());
    }

    #[test]
    fn other_holes_are_refused_and_doubtful_ones_named() {
        let refused = combined(vec![of(0.3, 0.0, 0.0), of(0.5, 0.0, 0.0)], true).unwrap_err();
        assert!(refused.to_string().contains("not the same hole"), "{refused}");
        let doubtful = combined(vec![of(0.30, 0.001, 0.0), of(0.32, 0.001, 0.0)], true).unwrap();
        assert!(doubtful.warnings[0].contains("differ"), "{:?}", doubtful.warnings);
    }
}
