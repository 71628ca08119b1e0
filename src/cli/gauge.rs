//! `foramen gauge`.

use super::output::{Output, wrapped};
use super::sheet::{sheet_plate, sheet_text};
use super::words::HoleWords;
use crate::camera::Camera;
use crate::error::Error;
use crate::files;
use crate::hole::{Hole, Side, Sizes, outline_file};
use crate::quantity::{Quantity, significant, write_area_within, write_length_within};
use crate::task::gauge::{self, Answer};
use std::fmt::Write;
use std::path::PathBuf;

/// Measures a hole from a photo, an outline file, a count or a size, or every hole of a scan
#[derive(clap::Args)]
pub(super) struct Words {
    #[command(flatten)]
    hole: HoleWords,
    /// Measures each opening of one picture, as a table
    #[arg(long, conflicts_with_all = ["at", "reading", "outline"])]
    every: bool,
    /// Also says what the size means in this camera (TOML), and ranks the holes of a sheet for it
    #[arg(long, value_name = "FILE")]
    camera: Option<PathBuf>,
    /// Writes the outline in mm, as a table (.csv) or a drawing (.svg)
    #[arg(long, value_name = "FILE")]
    outline: Option<PathBuf>,
    /// Writes the traced outline over the photo; with --every, all of them
    #[arg(long, value_name = "FILE.png")]
    out: Option<PathBuf>,
    /// One JSON document instead of text
    #[arg(long)]
    json: bool,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        let camera = self.camera.as_deref().map(files::camera).transpose()?;
        if self.every {
            return self.every(camera.as_ref(), output);
        }
        let hole = self.hole.open()?;
        let answer = gauge::run(&hole, camera.as_ref())?;
        if let Some(path) = &self.outline {
            let form = outline_file::Form::of_name(&path.display().to_string())?;
            files::write(path, outline_file::text(&hole.outline, form).as_bytes())?;
        }
        if let Some(path) = &self.out {
            let plate = overlay(&hole, &answer)?.ok_or_else(|| {
                Error::words("--out", "has no photo to draw on", "give --hole a photo")
            })?;
            files::write(path, &plate)?;
        }
        if self.json {
            return output.json(&answer);
        }
        output.say(&format!("{}{}", self.hole.invented(), text(&answer)))
    }

    fn every(&self, camera: Option<&Camera>, output: &mut Output) -> Result<(), Error> {
        let sheet = self.hole.open_sheet()?;
        let answer = gauge::run_every(&sheet, camera);
        if let Some(path) = &self.out {
            files::write(path, &sheet_plate(&sheet, &answer)?)?;
        }
        if self.json {
            return output.json(&answer);
        }
        output.say(&format!("{}{}", self.hole.invented(), sheet_text(&answer)))
    }
}

/// The traced outline over the photo, where there is one.
pub(super) fn overlay(hole: &Hole, answer: &Answer) -> Result<Option<Vec<u8>>, Error> {
    use crate::plate::{Mark, Overlay, overlay};
    let Some(picture) = &hole.picture else { return Ok(None) };
    let [column, row] = picture.traced.centroid_px;
    let mm_per_px = picture.scale.mm_per_px;
    // The outline lies about its centroid with y up; the picture's y runs down.
    let place = |[x, y]: [f64; 2]| [column + x / mm_per_px[0], row - y / mm_per_px[1]];
    let sizes = &answer.hole;
    let mark = |found: Found| Mark {
        at_px: place(found.at_mm),
        label: format!("{}: {}", found.what, found.words),
    };
    let marks: Vec<Mark> = found(sizes).into_iter().map(mark).collect();
    overlay(&Overlay {
        photo: &picture.raster,
        loops_px: &picture.traced.loops_px,
        mm_per_px,
        marks: &marks,
        title: "The hole as traced: the diameter of the disc of the same area",
        size: &write_length_within(
            sizes.equivalent_diameter_mm,
            sizes.equivalent_diameter_uncertainty_mm,
        ),
        caption: "The rim is found at half the brightness between hole and metal. Directions are \
                  anticlockwise from the right. After ±: where the true value lies with \
                  95 %. A circle that is not seen lies under the rim.",
    })
    .map(Some)
}

/// The sizes as text.
pub(super) fn text(answer: &Answer) -> String {
    let hole = &answer.hole;
    let mut text = String::new();
    // Writing to a string cannot fail.
    // A disc that was assumed has no form to speak of.
    let is_disc = answer.scale.is_none() && hole.roundness_mm < 1e-9;
    let shown = if is_disc { 2 } else { usize::MAX };
    for (name, value) in sizes_in_words(hole).into_iter().take(shown) {
        let _ = writeln!(text, "{}", wrapped(&format!("  {name:<33} "), &value));
    }
    for (index, found) in found(hole).iter().enumerate() {
        let name = format!("{}  {}", index + 1, found.what);
        let _ = writeln!(text, "{}", wrapped(&format!("  {name:<33} "), &found.words));
    }
    if let Some(scale) = &answer.scale {
        let source =
            format!("{} (±{} %)", scale.source, significant(100.0 * scale.relative_uncertainty, 2));
        let _ = writeln!(text, "{}", wrapped(&format!("  {:<33} ", "Scale"), &source));
    }
    for photo in &answer.photos {
        let size = write_length_within(photo.equivalent_diameter_mm, photo.uncertainty_mm);
        let _ = writeln!(text, "  {:<33} {size}  ({})", "One photo of it", photo.file);
    }
    if let Some(at) = &answer.at_camera {
        let best = Quantity::Length.write(at.best_diameter_mm);
        let loss = significant(100.0 * at.loss, 2);
        let words = format!(
            "{loss} % of sharpness lost against {best}, the best. {}",
            at.size_doubt.in_words()
        );
        let _ = writeln!(text, "{}", wrapped(&format!("  {:<33} ", at.camera), &words));
    }
    for warning in &answer.warnings {
        let _ = writeln!(text, "{}", wrapped("  Note: ", warning));
    }
    text
}

fn sizes_in_words(hole: &Sizes) -> [(&'static str, String); 12] {
    let known = &hole.uncertainty;
    let within = write_length_within;
    let at = |size: String, degrees: f64| format!("{size}, at {}", direction(degrees));
    [
        (
            "Diameter (disc of the same area)",
            within(hole.equivalent_diameter_mm, known.equivalent_diameter_mm),
        ),
        ("Area", write_area_within(hole.area_mm2, known.area_mm2)),
        (
            "Widest (Feret)",
            at(within(hole.feret_max_mm, known.feret_max_mm), hole.feret_max_angle_deg),
        ),
        (
            "Narrowest (Feret)",
            at(within(hole.feret_min_mm, known.feret_min_mm), hole.feret_min_angle_deg),
        ),
        (
            "Largest disc that fits in",
            within(hole.inscribed_diameter_mm, known.inscribed_diameter_mm),
        ),
        (
            "Smallest disc around it",
            within(hole.circumscribed_diameter_mm, known.circumscribed_diameter_mm),
        ),
        (
            "Least-squares circle",
            within(hole.least_squares_diameter_mm, known.least_squares_diameter_mm),
        ),
        ("Roundness RONt (LSC)", within(hole.roundness_mm, known.roundness_mm)),
        (
            "Roundness RONt (MZC)",
            within(hole.minimum_zone_roundness_mm, known.minimum_zone_roundness_mm),
        ),
        ("Perimeter", within(hole.perimeter_mm, known.perimeter_mm)),
        ("Form", form_in_words(hole)),
        ("Raggedness (root mean square)", Quantity::Length.write(hole.raggedness_mm)),
    ]
}

/// Least height of an oval or of lobes that is worth a word, as a part of the radius: a hundredth
/// costs no sharpness that could be seen. Common practice, no source.
const LEAST_HEIGHT: f64 = 0.01;

/// The form by its harmonics: those that stand above the uncertainty, at most three, largest first.
fn form_in_words(hole: &Sizes) -> String {
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

/// A thing on the rim or inside it that has a number in the picture and in the text.
struct Found {
    at_mm: [f64; 2],
    what: &'static str,
    words: String,
}

/// The burrs and nicks, then the debris, in the order of their numbers.
fn found(hole: &Sizes) -> Vec<Found> {
    let burrs = hole.burrs.iter().map(|burr| Found {
        at_mm: burr.tip_mm,
        what: match burr.side {
            Side::Inward => "Burr",
            Side::Outward => "Nick",
        },
        words: format!(
            "{} deep, {} wide, at {}",
            write_length_within(burr.depth_mm, burr.depth_uncertainty_mm),
            Quantity::Length.write(burr.width_mm),
            direction(burr.angle_deg)
        ),
    });
    let debris = hole.debris.iter().map(|speck| Found {
        at_mm: speck.centre_mm,
        what: "Debris",
        words: format!(
            "{} across, {} % of the opening, clear of the rim",
            Quantity::Length.write(speck.diameter_mm),
            significant(100.0 * speck.area_mm2 / hole.area_mm2, 2)
        ),
    });
    burrs.chain(debris).collect()
}
