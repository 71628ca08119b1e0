//! `foramen gauge`.

use super::output::{Output, write_file};
use super::words::HoleWords;
use crate::error::Error;
use crate::hole::{Burr, Hole, outline_file};
use crate::quantity::{Quantity, write_length_within};
use crate::task::gauge::{self, Answer};
use std::fmt::Write;
use std::path::PathBuf;

/// Measures a hole from a photo, an outline file, a count or a size
#[derive(clap::Args)]
pub(super) struct Words {
    #[command(flatten)]
    hole: HoleWords,
    /// Writes the outline in mm (CSV)
    #[arg(long, value_name = "FILE.csv")]
    outline: Option<PathBuf>,
    /// Writes the traced outline over the photo
    #[arg(long, value_name = "FILE.png")]
    out: Option<PathBuf>,
    /// One JSON document instead of text
    #[arg(long)]
    json: bool,
}

impl Words {
    pub(super) fn run(self, output: &mut Output) -> Result<(), Error> {
        let hole = self.hole.open()?;
        let answer = gauge::run(&hole);
        if let Some(path) = &self.outline {
            write_file(path, outline_file::text(&hole.outline, path)?.as_bytes())?;
        }
        if let Some(path) = &self.out {
            let plate = overlay(&hole, &answer)?.ok_or_else(|| {
                Error::words("--out", "has no photo to draw on", "give --hole a photo")
            })?;
            write_file(path, &plate)?;
        }
        if self.json {
            return output.json(&answer);
        }
        output.say(&text(&answer))
    }
}

/// The traced outline over the photo, where there is one.
pub(super) fn overlay(hole: &Hole, answer: &Answer) -> Result<Option<Vec<u8>>, Error> {
    use crate::figure::{Mark, Overlay, overlay};
    let Some(picture) = &hole.picture else { return Ok(None) };
    let [x, y] = picture.traced.centroid_px;
    let radius_px = answer.hole.equivalent_diameter_mm / 2.0 / picture.scale.mm_per_px;
    let mark = |burr: &Burr| {
        // The picture's y runs down, the burr's angle is taken with y up.
        let (sin, cos) = burr.angle_deg.to_radians().sin_cos();
        let depth_px = burr.depth_mm / picture.scale.mm_per_px;
        Mark {
            at_px: [x + (radius_px - depth_px) * cos, y - (radius_px - depth_px) * sin],
            label: format!("burr, {} deep", Quantity::Length.write(burr.depth_mm)),
        }
    };
    let marks: Vec<Mark> = answer.hole.burrs.iter().map(mark).collect();
    let size = write_length_within(
        answer.hole.equivalent_diameter_mm,
        answer.hole.equivalent_diameter_uncertainty_mm,
    );
    overlay(&Overlay {
        photo: &picture.raster,
        loops_px: &picture.traced.loops_px,
        mm_per_px: picture.scale.mm_per_px,
        marks: &marks,
        title: &format!("The hole as traced: {size}"),
        caption: "Solid: the rim, found at half the brightness between hole and metal. Dashed: the \
                  disc of the same area.",
    })
    .map(Some)
}

/// The sizes as text; `appraise` uses its first lines too.
pub(super) fn text(answer: &Answer) -> String {
    let hole = &answer.hole;
    let length = |mm: f64| Quantity::Length.write(mm);
    let mut text = format!(
        "  Diameter (disc of the same area)  {}\n",
        write_length_within(hole.equivalent_diameter_mm, hole.equivalent_diameter_uncertainty_mm)
    );
    let rows = [
        (
            "Widest, narrowest (Feret)",
            format!("{}, {}", length(hole.feret_max_mm), length(hole.feret_min_mm)),
        ),
        ("Largest disc that fits in", length(hole.inscribed_diameter_mm)),
        ("Smallest disc around it", length(hole.circumscribed_diameter_mm)),
        (
            "Roundness RONt (LSC, MZC)",
            format!("{}, {}", length(hole.roundness_mm), length(hole.minimum_zone_roundness_mm)),
        ),
        ("Perimeter", length(hole.perimeter_mm)),
    ];
    for (name, value) in rows {
        let _ = writeln!(text, "  {name:<33} {value}");
    }
    for burr in &hole.burrs {
        let _ = writeln!(
            text,
            "  {:<33} {} deep, {} wide, at {:.0}° (anticlockwise from the right)",
            "Burr",
            length(burr.depth_mm),
            length(burr.width_mm),
            burr.angle_deg
        );
    }
    for warning in &answer.warnings {
        let _ = writeln!(text, "  Note: {warning}");
    }
    text
}
