//! The report in words: what only a report tells, beside the sentences of [`super::appraise`].

use super::verdict::{chance, jnd};
use super::{Column, Row, Table};
use crate::camera::Camera;
use crate::hole::Sizes;
use crate::quantity::{Quantity, write_length_within};
use crate::task::appraise::Judged;
use crate::verdict::judgement::Verdict;

fn length(mm: f64) -> String {
    Quantity::Length.write(mm)
}

/// Returns the title of the document: which hole, in which camera, when.
pub fn title(hole: &str, camera: &str, date: &str) -> String {
    format!("{hole} in {camera}, {date}")
}

/// Returns the loss, in a sentence.
pub fn loss(verdict: &Verdict) -> String {
    format!(
        "{} (just-noticeable differences) lost against the best hole of this camera: {}.",
        jnd(verdict.loss_jnd),
        super::verdict::loss(verdict.loss_jnd)
    )
}

/// Returns the best hole, in a sentence.
pub fn best(judged: &Judged) -> String {
    let band = judged.target.good_enough();
    format!(
        "The best hole is {} wide; from {} to {} no eye can tell the difference.",
        length(judged.target.diameter_mm),
        length(band.low_mm),
        length(band.high_mm)
    )
}

/// Says what each cause makes of the loss.
pub fn causes(verdict: &Verdict) -> Table {
    let causes = &verdict.causes_jnd;
    Table {
        columns: vec![Column::words("Cause"), Column::numbers("jnd")],
        rows: [
            ("Size", causes.size),
            ("Form", causes.form),
            ("Burrs", causes.burrs),
            ("Debris", causes.debris),
            ("Together", verdict.loss_jnd),
        ]
        .map(|(cause, loss)| vec![cause.to_owned(), signed(loss)])
        .to_vec(),
    }
}

/// A loss in words, a gain with its minus.
fn signed(loss: f64) -> String {
    if loss < -0.05 { format!("− {}", jnd(-loss)) } else { jnd(loss) }
}

/// Says what one more widening pass would do.
pub fn next_pass(verdict: &Verdict) -> Vec<Row> {
    let pass = &verdict.next_pass.prospect;
    vec![
        Row::new("Loss to expect as it is", jnd(verdict.expected_loss_jnd)),
        Row::new("Loss to expect after it", jnd(pass.expected_loss_jnd)),
        Row::new("Chance that it ends worse", chance(pass.chance_of_ending_worse)),
        Row::new("Chance that it ends within 1 jnd", chance(pass.chance_within_1_jnd)),
        Row::new("Chance that it ends too wide to keep", chance(pass.chance_of_new_hole)),
    ]
}

/// Returns the measures of the hole.
pub fn measures(hole: &Sizes) -> Vec<Row> {
    let known = &hole.uncertainty;
    [
        (
            "Equivalent diameter (the disc of its area)",
            hole.equivalent_diameter_mm,
            hole.equivalent_diameter_uncertainty_mm,
        ),
        ("Widest (Feret)", hole.feret_max_mm, known.feret_max_mm),
        ("Narrowest (Feret)", hole.feret_min_mm, known.feret_min_mm),
        ("Largest inscribed circle", hole.inscribed_diameter_mm, known.inscribed_diameter_mm),
        (
            "Smallest circumscribed circle",
            hole.circumscribed_diameter_mm,
            known.circumscribed_diameter_mm,
        ),
        ("Roundness (peak to valley)", hole.roundness_mm, known.roundness_mm),
    ]
    .map(|(name, mm, within_mm)| Row::new(name, write_length_within(mm, within_mm)))
    .to_vec()
}

/// Describes the camera that all was computed for.
pub fn setting(camera: &Camera) -> String {
    format!(
        "{}, {} {} from the hole, {} by {}, metal of {}; light of {:.0} nm on average. Print enlarged {} \
         times, seen from {}.",
        camera.name,
        if camera.emulsion.is_paper { "paper" } else { "film" },
        length(camera.distances.film_mm()),
        length(camera.film.width_mm),
        length(camera.film.height_mm),
        length(camera.plate_mm),
        camera.light.mean_nm(),
        camera.print.enlargement,
        length(camera.print.viewing_distance_mm)
    )
}

/// Says how each thing was found.
pub const METHODS: [&str; 5] = [
    "Light: Fresnel's diffraction integral over the outline itself, wavelength by wavelength (J. \
     W. Goodman, Introduction to Fourier Optics).",
    "Sharpness: Barten's square-root integral of the MTF and the eye's contrast sensitivity in the print, in \
     just-noticeable differences (P. G. J. Barten, SPIE 1999, from memory), averaged over the film with more \
     weight in the middle (common practice, no source).",
    "Outline: traced at half the brightness between hole and metal, with its own uncertainty; \
     roundness and reference circles by ISO 12181-1. Uncertainties are expanded (k = 2, about 95 \
     %).",
    "Exposure: ISO 2720; reciprocity failure as the camera file says.",
    "1 jnd: just noticeable; 3: significant; 10: substantial (Carlson and Cohen 1980, from memory). How hands \
     and burrs go is our guess until a log teaches it.",
];

/// What the plates show, for those who do not see them.
pub mod alternative {
    /// Describes the plate of the traced outline.
    pub const OUTLINE: &str = "The photo of the hole with the traced outline and its reference \
                              circles; the table has their sizes.";
    /// Describes the plate of a point's image.
    pub const POINT: &str = "Maps of the image of a point through this hole and through the best disc, and \
                             the light along a line through both.";
    /// Describes the plate of the picture.
    pub const PICTURE: &str = "One scene through this hole and through the best disc, with a part of the \
                               middle and of the edge enlarged.";
}
