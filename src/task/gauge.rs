//! `gauge`: every measurement of a hole, or of every hole of a sheet.

use crate::camera::Camera;
use crate::error::Error;
use crate::hole::{Hole, PhotoSize, Scale, Sheet, SheetHole, Sizes};
use crate::verdict::appraise::appraise;
use crate::verdict::losses::SizeDoubt;
use crate::verdict::merit::quality;
use crate::verdict::target::target;
use crate::watch::{Step, Watch};
use serde::Serialize;

/// What to measure.
#[derive(Debug, Clone)]
pub struct Request {
    /// The hole.
    pub hole: Hole,
    /// The camera in which its size is to mean something; none where it need not.
    pub camera: Option<Camera>,
}

/// What is measured on a hole.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Answer {
    /// The picture's scale; null when the hole came from no picture.
    pub scale: Option<ScaleAnswer>,
    /// The hole's sizes. What belongs to the rim is null where the rim was not seen: by a count or a size.
    #[serde(serialize_with = "as_seen")]
    #[schemars(schema_with = "schema_as_seen")]
    pub hole: Sizes,
    /// Whether the rim was looked at.
    pub rim_seen: bool,
    /// What each of several photos said; left out for a single one.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub photos: Vec<PhotoAnswer>,
    /// What the size means in a camera; left out when none is asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at_camera: Option<AtCamera>,
    /// What to bear in mind about them.
    pub warnings: Vec<String>,
}

/// The scale of a picture.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct ScaleAnswer {
    /// Millimetres to a pixel, along the rows.
    pub mm_per_px: f64,
    /// Millimetres to a pixel, down the columns.
    pub mm_per_px_vertical: f64,
    /// Where that comes from.
    pub source: String,
    /// Expanded uncertainty over the value.
    pub relative_uncertainty: f64,
}

/// The size that one of several photos gives.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct PhotoAnswer {
    /// The photo.
    pub file: String,
    /// The diameter of the disc of the same area, in mm.
    pub equivalent_diameter_mm: f64,
    /// Its expanded uncertainty, in mm.
    pub uncertainty_mm: f64,
}

/// What a hole's size means in a camera.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct AtCamera {
    /// The camera's name.
    pub camera: String,
    /// The diameter to aim for in it, in mm.
    pub best_diameter_mm: f64,
    /// The loss against that, in just-noticeable differences.
    pub loss_jnd: f64,
    /// The same as a share of the best one's merit, 0..1.
    pub loss: f64,
    /// Whether the size is known well enough.
    pub size_doubt: SizeDoubt,
}

/// Measures a hole, and what it means in a camera where one is given.
///
/// # Errors
/// [`Damaged`](crate::Kind::Damaged) when the rim without its burrs would cross itself; a stop by the watcher.
pub fn run(request: &Request, watch: Watch) -> Result<Answer, Error> {
    let Request { hole, camera } = request;
    watch.begins(Step::Hole)?;
    let picture = hole.picture.as_ref();
    let sizes = sizes_of(hole);
    let at_camera =
        camera.as_ref().map(|camera| at_camera(hole, &sizes, camera, watch)).transpose()?;
    Ok(Answer {
        scale: picture.map(|picture| scale_of(&picture.scale)),
        hole: sizes,
        rim_seen: hole.is_rim_seen(),
        photos: hole.photos.iter().map(photo).collect(),
        at_camera,
        warnings: hole.warnings.clone(),
    })
}

/// What a count or a size says nothing of.
const OF_THE_RIM: [&str; 17] = [
    "perimeter_mm",
    "feret_max_mm",
    "feret_max_angle_deg",
    "feret_min_mm",
    "feret_min_angle_deg",
    "inscribed_diameter_mm",
    "circumscribed_diameter_mm",
    "least_squares_diameter_mm",
    "roundness_mm",
    "minimum_zone_roundness_mm",
    "uncertainty",
    "aspect_ratio",
    "harmonics",
    "raggedness_mm",
    "centroid_px",
    "burrs",
    "debris",
];

/// Sizes with null for what nobody has seen: a rim that is known is drawn in many points, one that is assumed has none
/// of its form at all.
fn as_seen<S: serde::Serializer>(sizes: &Sizes, to: S) -> Result<S::Ok, S::Error> {
    if sizes.rim_seen {
        return sizes.serialize(to);
    }
    let mut value = serde_json::to_value(sizes).map_err(serde::ser::Error::custom)?;
    for key in OF_THE_RIM {
        value[key] = serde_json::Value::Null;
    }
    value.serialize(to)
}

/// The schema of those: null, too, where nobody may have seen the rim.
fn schema_as_seen(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
    let mut schema = <Sizes as schemars::JsonSchema>::json_schema(generator);
    let properties = schema.get_mut("properties").and_then(serde_json::Value::as_object_mut);
    for (key, seen) in properties.into_iter().flatten() {
        if OF_THE_RIM.contains(&key.as_str()) {
            *seen = serde_json::json!({ "anyOf": [seen, { "type": "null" }] });
        }
    }
    schema
}

fn sizes_of(hole: &Hole) -> Sizes {
    let centroid_px = hole.picture.as_ref().map(|picture| picture.traced.centroid_px);
    let sizes = Sizes::of(&hole.outline, &hole.size_uncertainty, centroid_px);
    Sizes { rim_seen: hole.is_rim_seen(), ..sizes }
}

fn scale_of(scale: &Scale) -> ScaleAnswer {
    ScaleAnswer {
        mm_per_px: scale.mm_per_px[0],
        mm_per_px_vertical: scale.mm_per_px[1],
        source: scale.source.clone(),
        relative_uncertainty: scale.relative_uncertainty,
    }
}

fn photo(photo: &PhotoSize) -> PhotoAnswer {
    PhotoAnswer {
        file: photo.file.clone(),
        equivalent_diameter_mm: photo.equivalent_diameter_mm,
        uncertainty_mm: photo.uncertainty_mm,
    }
}

fn at_camera(hole: &Hole, sizes: &Sizes, camera: &Camera, watch: Watch) -> Result<AtCamera, Error> {
    watch.begins(Step::Verdict)?;
    let target = target(camera);
    watch.is_at(Step::Verdict, 0.5)?;
    let appraisal = appraise(camera, &target, &hole.outline)?;
    let relative = hole.diameter_uncertainty_mm() / sizes.equivalent_diameter_mm;
    Ok(AtCamera {
        camera: camera.name.clone(),
        best_diameter_mm: target.diameter_mm,
        loss_jnd: appraisal.loss_jnd.max(0.0),
        loss: (appraisal.loss_jnd / target.quality).clamp(0.0, 1.0),
        size_doubt: SizeDoubt::of(&appraisal.sizes, relative, target.quality),
    })
}

/// The holes of a sheet.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct SheetAnswer {
    /// The picture's scale.
    pub scale: ScaleAnswer,
    /// The camera they are ranked for; left out when none is asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub camera: Option<SheetCamera>,
    /// The holes in the order one reads: rows from the top, each from the left.
    pub holes: Vec<SheetRow>,
    /// What was left out, and what to bear in mind.
    pub warnings: Vec<String>,
}

/// The camera that the holes of a sheet are ranked for.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct SheetCamera {
    /// Its name.
    pub name: String,
    /// The diameter to aim for in it, in mm.
    pub best_diameter_mm: f64,
}

/// One hole of a sheet.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct SheetRow {
    /// Its number on the sheet, from 1.
    pub number: usize,
    /// Where it was found: column and row in pixels from the upper left corner.
    pub place_px: [f64; 2],
    /// Its sizes; null when it could not be measured.
    pub hole: Option<Sizes>,
    /// Why it could not be measured; left out when it could.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fault: Option<String>,
    /// The loss of sharpness in the camera, 0..1; left out without one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub loss: Option<f64>,
    /// Its place by that loss, 1 the best; left out without a camera.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rank: Option<usize>,
    /// What to bear in mind about it.
    pub warnings: Vec<String>,
}

/// Measures every hole of a sheet, and ranks them for a camera where one is given.
///
/// # Errors
/// A stop by the watcher.
pub fn run_every(
    sheet: &Sheet,
    camera: Option<&Camera>,
    watch: Watch,
) -> Result<SheetAnswer, Error> {
    use rayon::prelude::*;
    watch.begins(Step::Holes)?;
    let target = camera.map(target);
    let loss = |hole: &Hole| {
        let (camera, target) = (camera?, target.as_ref()?);
        Some((1.0 - quality(camera, &hole.outline) / target.quality).clamp(0.0, 1.0))
    };
    let row = |(i, SheetHole { place_px, hole }): (usize, &SheetHole)| {
        watch.is_at(Step::Holes, i as f64 / sheet.holes.len() as f64)?;
        let known = hole.as_ref().ok();
        Ok(SheetRow {
            number: i + 1,
            place_px: *place_px,
            hole: known.map(sizes_of),
            fault: hole.as_ref().err().map(ToString::to_string),
            loss: known.and_then(loss),
            rank: None,
            warnings: known.map(|hole| hole.warnings.clone()).unwrap_or_default(),
        })
    };
    let rows: Result<Vec<SheetRow>, Error> = sheet.holes.par_iter().enumerate().map(row).collect();
    let mut holes = rows?;
    let mut by_loss: Vec<(f64, usize)> =
        holes.iter().enumerate().filter_map(|(i, row)| Some((row.loss?, i))).collect();
    by_loss.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (rank, (_, i)) in by_loss.into_iter().enumerate() {
        holes[i].rank = Some(rank + 1);
    }
    Ok(SheetAnswer {
        scale: scale_of(&sheet.scale),
        camera: camera.zip(target.as_ref()).map(|(camera, target)| SheetCamera {
            name: camera.name.clone(),
            best_diameter_mm: target.diameter_mm,
        }),
        holes,
        warnings: sheet.warnings.clone(),
    })
}
