//! The camera file: TOML to a camera, with the line of whatever is wrong.

mod emulsion;
mod light;
mod source;

use super::description::{Assumed, Camera, PlateModel, Print};
use super::film::{Axis, Film, Shape};
use super::meter::Meter;
use super::shake::{Support, Sway};
use super::template::DEMONSTRATION;
use crate::error::{Error, Wanted, printable, quoted};
use crate::wave::Distances;
use emulsion::EmulsionTable;
use light::LightTable;
use serde::Deserialize;
use source::Source;
pub use source::{Curves, no_curves};
use std::path::Path;
use toml::Spanned;

/// Shortest distance from the print at which an eye sees it sharp (common practice, no source).
const NEAREST_VIEW_MM: f64 = 250.0;

type Words = Spanned<String>;
type Number = Spanned<f64>;
type Anything = Spanned<toml::Value>;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CameraFile {
    name: Option<Words>,
    film: FilmTable,
    #[serde(default)]
    subject: SubjectTable,
    #[serde(default)]
    plate: PlateTable,
    #[serde(default)]
    light: LightTable,
    #[serde(default)]
    emulsion: EmulsionTable,
    #[serde(default)]
    support: SupportTable,
    #[serde(default)]
    print: PrintTable,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FilmTable {
    distance: Words,
    width: Words,
    height: Words,
    shape: Option<Words>,
    radius: Option<Words>,
    axis: Option<Words>,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct SubjectTable {
    distance: Option<Words>,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct PlateTable {
    thickness: Option<Words>,
    model: Option<Words>,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct SupportTable {
    drift: Option<Words>,
    sway: Option<Words>,
    sway_period: Option<Words>,
    walk: Option<Words>,
    direction: Option<Words>,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct PrintTable {
    enlargement: Option<Number>,
    viewing_distance: Option<Words>,
}

impl Camera {
    /// Returns the built-in demonstration camera.
    ///
    /// # Errors
    /// None in a sound build: a test reads the built-in file.
    pub fn demonstration() -> Result<Camera, Error> {
        parse(DEMONSTRATION, "the demonstration camera", &no_curves)
    }

    /// Reads the text of a camera file (TOML). `name` is what the text is called in faults, and, without its
    /// folder and ending, the camera's name where the text gives none. `curves` brings the text of a curve
    /// by the name that the file gives it: from beside the file, from what was uploaded, or not at all
    /// ([`no_curves`]).
    ///
    /// # Errors
    /// A fault with its key and line for unknown keys, missing units and impossible values.
    pub fn parse(text: &str, name: &str, curves: &Curves<'_>) -> Result<Camera, Error> {
        parse(text, name, curves)
    }
}

/// The camera that a file's text describes.
fn parse(text: &str, name: &str, curves: &Curves<'_>) -> Result<Camera, Error> {
    let source = Source { text, name, curves };
    let file: CameraFile = toml::from_str(text).map_err(|fault| {
        let start = fault.span().map_or(0, |span| span.start);
        source
            .fault(start, fault.message(), "start from a template that has every key")
            .wanting(Wanted::CameraTemplate)
    })?;
    let distances = source.distances(&file)?;
    let film = source.film(&file.film, distances)?;
    let (light, in_colour) = source.light(&file.light)?;
    Ok(Camera {
        name: source.camera_name(file.name.as_ref())?,
        film,
        distances,
        plate_mm: match &file.plate.thickness {
            Some(words) => source.length("plate.thickness", words, 1e-4..=10.0)?,
            None => 0.0,
        },
        plate_model: source.plate_model(&file.plate)?,
        light,
        in_colour,
        emulsion: source.emulsion(&file.emulsion)?,
        support: source.support(&file.support, distances)?,
        print: source.print(&file.print, film)?,
        meter: Meter::SUN,
        assumed: file.assumed(),
    })
}

impl CameraFile {
    /// What the file does not say.
    fn assumed(&self) -> Vec<Assumed> {
        let emulsion = &self.emulsion;
        let silent = [
            (Assumed::Plate, self.plate.thickness.is_none()),
            (Assumed::Speed, emulsion.speed.is_none() && emulsion.paper_speed.is_none()),
            (Assumed::Reciprocity, emulsion.reciprocity.is_none()),
            (Assumed::Enlargement, self.print.enlargement.is_none()),
            (Assumed::ViewingDistance, self.print.viewing_distance.is_none()),
        ];
        let silent = silent.into_iter().filter(|(_, is_silent)| *is_silent).map(|(what, _)| what);
        self.light.assumed().into_iter().chain(silent).collect()
    }
}

/// The longest name of a camera, in letters, as the bench log takes it.
const LONGEST_NAME: usize = 200;

impl Source<'_> {
    /// The name that is given, or that of the file.
    fn camera_name(&self, given: Option<&Words>) -> Result<String, Error> {
        let Some(words) = given else {
            let stem = Path::new(self.name).file_stem();
            let stem = stem.map_or("camera".into(), |stem| stem.to_string_lossy());
            return Ok(printable(&stem).chars().take(LONGEST_NAME).collect());
        };
        let name = words.get_ref();
        let is_usable = !name.trim().is_empty()
            && name.chars().count() <= LONGEST_NAME
            && printable(name) == *name;
        if is_usable {
            return Ok(name.clone());
        }
        Err(self.fault(
            words.span().start,
            &format!("name = {} is not a usable name", quoted(name)),
            "a name has 1 to 200 printable characters",
        ))
    }

    fn distances(&self, file: &CameraFile) -> Result<Distances, Error> {
        let subject_mm = match &file.subject.distance {
            Some(words) if words.get_ref() != "infinity" => {
                self.length("subject.distance", words, 1.0..=1e12)?
            }
            _ => f64::INFINITY,
        };
        let film_mm = self.length("film.distance", &file.film.distance, 1.0..=100_000.0)?;
        Distances::new(subject_mm, film_mm)
    }

    fn film(&self, table: &FilmTable, distances: Distances) -> Result<Film, Error> {
        let film = Film {
            width_mm: self.length("film.width", &table.width, 1.0..=10_000.0)?,
            height_mm: self.length("film.height", &table.height, 1.0..=10_000.0)?,
            shape: self.shape(table)?,
        };
        let at = table.shape.as_ref().unwrap_or(&table.width).span().start;
        film.check(distances.film_mm()).map_err(|why| self.about(at, "film", &why))?;
        Ok(film)
    }

    fn shape(&self, table: &FilmTable) -> Result<Shape, Error> {
        let axis = match &table.axis {
            None => Axis::Vertical,
            Some(words) => match words.get_ref().as_str() {
                "vertical" => Axis::Vertical,
                "horizontal" => Axis::Horizontal,
                other => {
                    return Err(self.fault(
                        words.span().start,
                        &format!("film.axis = \"{other}\" is not a cylinder axis"),
                        "write axis = \"vertical\" or \"horizontal\"",
                    ));
                }
            },
        };
        let flat = |shape: Option<&Words>| shape.is_none_or(|words| words.get_ref() == "flat");
        match (&table.shape, &table.radius) {
            (Some(shape), Some(radius)) if shape.get_ref() == "cylinder" => Ok(Shape::Cylinder {
                radius_mm: self.length("film.radius", radius, 1.0..=1e6)?,
                axis,
            }),
            (Some(shape), None) if shape.get_ref() == "cylinder" => Err(self.fault(
                shape.span().start,
                "film.shape = \"cylinder\" needs film.radius",
                "give the radius that the film is bent to, as in radius = \"50 mm\"",
            )),
            (shape, None) if flat(shape.as_ref()) => match &table.axis {
                None => Ok(Shape::Flat),
                Some(words) => Err(self.fault(
                    words.span().start,
                    "film.axis needs shape = \"cylinder\"",
                    "flat film has no axis: remove it, or give shape and radius",
                )),
            },
            (shape, Some(radius)) if flat(shape.as_ref()) => Err(self.fault(
                radius.span().start,
                "film.radius needs shape = \"cylinder\"",
                "flat film has no radius: remove it, or write shape = \"cylinder\"",
            )),
            (shape, _) => {
                let shape = shape.as_ref().unwrap_or(&table.width);
                Err(self.fault(
                    shape.span().start,
                    &format!("film.shape = \"{}\" is not a film shape", shape.get_ref()),
                    "write shape = \"flat\" or \"cylinder\"",
                ))
            }
        }
    }

    fn plate_model(&self, table: &PlateTable) -> Result<PlateModel, Error> {
        let Some(model) = &table.model else { return Ok(PlateModel::Thin) };
        let at = model.span().start;
        match model.get_ref().as_str() {
            "thin" => Ok(PlateModel::Thin),
            "two-plane" if table.thickness.is_none() => Err(self.fault(
                at,
                "plate.model = \"two-plane\" needs plate.thickness",
                "give the thickness of the metal at the rim, as in thickness = \"0.05 mm\"",
            )),
            "two-plane" => Ok(PlateModel::TwoPlane),
            other => Err(self.fault(
                at,
                &format!("plate.model = \"{other}\" is not a model of the plate"),
                "write model = \"thin\" or \"two-plane\"",
            )),
        }
    }

    fn support(
        &self,
        table: &SupportTable,
        distances: Distances,
    ) -> Result<Option<Support>, Error> {
        let film_mm = distances.film_mm();
        let drift = match &table.drift {
            Some(words) => self.displacement_in("support.drift", words, film_mm)?,
            None => (0.0, 1.0),
        };
        let walk = match &table.walk {
            Some(words) => self.displacement_in("support.walk", words, film_mm)?,
            None => (0.0, 1.0),
        };
        let sway = match (&table.sway, &table.sway_period) {
            (Some(sway), Some(period)) => Some(Sway {
                amplitude_mm: self.displacement("support.sway", sway, sway.get_ref(), film_mm)?,
                period_s: self.time("support.sway-period", period)?,
            }),
            (None, None) => None,
            (Some(alone), None) | (None, Some(alone)) => {
                return Err(self.fault(
                    alone.span().start,
                    "support.sway and support.sway-period belong together",
                    "give both, as in sway = \"0.05 mm\" and sway-period = \"2 s\"",
                ));
            }
        };
        let direction_rad = match &table.direction {
            Some(words) => self.angle("support.direction", words)?,
            None => 0.0,
        };
        let still = table.drift.is_none() && table.walk.is_none() && sway.is_none();
        Ok((!still).then(|| Support {
            drift_mm_per_s: drift.0 / drift.1,
            sway,
            // The root-mean-square distance in the plane holds both axes' mean squares.
            walk_mm2_per_s: walk.0 * walk.0 / 2.0 / walk.1,
            direction_rad,
        }))
    }

    fn print(&self, table: &PrintTable, film: Film) -> Result<Print, Error> {
        let enlargement = match &table.enlargement {
            Some(enlargement) => self.number("print.enlargement", enlargement, 0.01..=1000.0)?,
            None => 1.0,
        };
        // A print is looked at from about its own diagonal, but not from nearer than an eye can.
        let diagonal = film.width_mm.hypot(film.height_mm) * enlargement;
        let viewing_distance_mm = match &table.viewing_distance {
            Some(words) => self.length("print.viewing-distance", words, 10.0..=1e6)?,
            None => diagonal.max(NEAREST_VIEW_MM),
        };
        Ok(Print { enlargement, viewing_distance_mm })
    }
}

#[cfg(test)]
mod tests;
