//! `gauge` in words: the sizes, the form, what is on the rim, and what the size means in a camera.

use super::verdict::{jnd, size_doubt};
use super::{Row, terminal};
use crate::hole::{Side, Sizes};
use crate::quantity::{Quantity, significant, write_area_within, write_length_within};
use crate::task::gauge::Answer;

/// Least height of an oval or of lobes that is worth a word, as a part of the radius: a hundredth
/// costs no sharpness that could be seen. Common practice, no source.
const LEAST_HEIGHT: f64 = 0.01;

/// Is the sentence above the measurements of a demonstration.
pub const INVENTED: &str = "The demonstration: what is measured here is invented.";

/// Returns the measurements, then what was found on the rim, the scale, the camera and the notes.
pub fn rows(answer: &Answer) -> Vec<Row> {
    let hole = &answer.hole;
    let mut rows = sizes(hole);
    // Of a rim that nobody has seen there is nothing to say.
    if !answer.rim_seen {
        rows.truncate(2);
    }
    let numbered = |(index, found): (usize, Found)| {
        Row::new(format!("{}  {}", index + 1, found.what), found.sentence)
    };
    rows.extend(found(hole).into_iter().enumerate().map(numbered));
    rows.extend(answer.scale.iter().map(|scale| {
        let within = significant(100.0 * scale.relative_uncertainty, 2);
        Row::new("Scale", format!("{} (±{within} %)", scale.source))
    }));
    rows.extend(answer.photos.iter().map(|photo| {
        let size = write_length_within(photo.equivalent_diameter_mm, photo.uncertainty_mm);
        Row::new("One photo of it", format!("{size}  ({})", photo.file))
    }));
    rows.extend(answer.at_camera.iter().map(|at| {
        let best = Quantity::Length.write(at.best_diameter_mm);
        let doubt = size_doubt(&at.size_doubt);
        let words = format!("{} lost against {best}, the best. {doubt}", jnd(at.loss_jnd));
        Row::new(at.camera.as_str(), words)
    }));
    rows.extend(answer.warnings.iter().map(|warning| Row::new("Note", warning.as_str())));
    rows
}

/// Returns the measurements of a hole, the diameter first.
pub fn sizes(hole: &Sizes) -> Vec<Row> {
    let known = &hole.uncertainty;
    let within = write_length_within;
    let at = |size: String, degrees: f64| format!("{size}, at {}", direction(degrees));
    vec![
        Row::new(
            "Diameter (disc of the same area)",
            within(hole.equivalent_diameter_mm, known.equivalent_diameter_mm),
        ),
        Row::new("Area", write_area_within(hole.area_mm2, known.area_mm2)),
        Row::new(
            "Widest (Feret)",
            at(within(hole.feret_max_mm, known.feret_max_mm), hole.feret_max_angle_deg),
        ),
        Row::new(
            "Narrowest (Feret)",
            at(within(hole.feret_min_mm, known.feret_min_mm), hole.feret_min_angle_deg),
        ),
        Row::new(
            "Largest disc that fits in",
            within(hole.inscribed_diameter_mm, known.inscribed_diameter_mm),
        ),
        Row::new(
            "Smallest disc around it",
            within(hole.circumscribed_diameter_mm, known.circumscribed_diameter_mm),
        ),
        Row::new(
            "Least-squares circle",
            within(hole.least_squares_diameter_mm, known.least_squares_diameter_mm),
        ),
        Row::new("Roundness RONt (LSC)", within(hole.roundness_mm, known.roundness_mm)),
        Row::new(
            "Roundness RONt (MZC)",
            within(hole.minimum_zone_roundness_mm, known.minimum_zone_roundness_mm),
        ),
        Row::new("Perimeter", within(hole.perimeter_mm, known.perimeter_mm)),
        Row::new("Form", form(hole)),
        Row::new("Raggedness (root mean square)", Quantity::Length.write(hole.raggedness_mm)),
    ]
}

/// The form by its harmonics: those higher than the uncertainty, at most three, largest first.
fn form(hole: &Sizes) -> String {
    // From crest to trough, as a roundness is, and so with its uncertainty.
    let least =
        (LEAST_HEIGHT * hole.equivalent_diameter_mm / 2.0).max(hole.uncertainty.roundness_mm);
    let mut seen: Vec<_> =
        hole.harmonics.iter().filter(|wave| 2.0 * wave.amplitude_mm > least).collect();
    seen.sort_by(|a, b| b.amplitude_mm.total_cmp(&a.amplitude_mm));
    let words = seen.iter().take(3).map(|wave| {
        let height = |times: f64| Quantity::Length.write(times * wave.amplitude_mm);
        match wave.order {
            2 => {
                format!("oval, {} longer at {} than across", height(4.0), direction(wave.phase_deg))
            }
            lobes => format!("{lobes} lobes, {} from crest to trough", height(2.0)),
        }
    });
    let words: Vec<String> = words.collect();
    if words.is_empty() {
        return format!("round: no oval, no lobes above {}", Quantity::Length.write(least));
    }
    words.join("; ")
}

fn direction(degrees: f64) -> String {
    format!("{degrees:.0}°")
}

/// Describes a thing on the rim or inside it, with the same number in the picture and in the text.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// Where it is: on the outline's own axes, in mm, y up.
    pub at_mm: [f64; 2],
    /// What it is: a burr, a nick or debris.
    pub what: &'static str,
    /// How large it is, and in which direction.
    pub sentence: String,
}

/// Returns the burrs and nicks, then the debris, in the order of their numbers.
pub fn found(hole: &Sizes) -> Vec<Found> {
    let burrs = hole.burrs.iter().map(|burr| Found {
        at_mm: burr.tip_mm,
        what: match burr.side {
            Side::Inward => "Burr",
            Side::Outward => "Nick",
        },
        sentence: format!(
            "{} deep, {} wide, at {}, about {}",
            write_length_within(burr.depth_mm, burr.depth_uncertainty_mm),
            Quantity::Length.write(burr.width_mm),
            direction(burr.angle_deg),
            burr.clock
        ),
    });
    let debris = hole.debris.iter().map(|speck| Found {
        at_mm: speck.centre_mm,
        what: "Debris",
        sentence: format!(
            "{} across, {} % of the opening, clear of the rim",
            Quantity::Length.write(speck.diameter_mm),
            significant(100.0 * speck.area_mm2 / hole.area_mm2, 2)
        ),
    });
    burrs.chain(debris).collect()
}

/// Lays the whole answer out for a terminal.
pub fn text(answer: &Answer) -> String {
    terminal::rows(&rows(answer))
}
