//! The camera file: TOML to a camera, with the line of whatever is wrong.

use super::description::{Camera, Emulsion, Film, Print, Reciprocity};
use crate::error::Error;
use crate::quantity::Quantity;
use crate::wave::{Distances, Light};
use serde::Deserialize;
use std::ops::RangeInclusive;
use std::path::Path;
use toml::Spanned;

/// Shortest distance from the print at which an eye sees it sharp (common practice, no source).
const NEAREST_VIEW_MM: f64 = 250.0;
/// Green, where the eye and most film are most sensitive (common practice, no source).
const DEFAULT_WAVELENGTH_NM: f64 = 550.0;
const DEFAULT_SPEED_ISO: f64 = 100.0;

type Words = Spanned<String>;
type Number = Spanned<f64>;
type Anything = Spanned<toml::Value>;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CameraFile {
    name: Option<String>,
    film: FilmTable,
    #[serde(default)]
    subject: SubjectTable,
    #[serde(default)]
    light: LightTable,
    #[serde(default)]
    emulsion: EmulsionTable,
    #[serde(default)]
    print: PrintTable,
    plate: Option<Anything>,
    support: Option<Anything>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FilmTable {
    distance: Words,
    width: Words,
    height: Words,
    shape: Option<Words>,
    radius: Option<Anything>,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct SubjectTable {
    distance: Option<Words>,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct LightTable {
    wavelength: Option<Anything>,
    weight: Option<Spanned<Vec<f64>>>,
    medium: Option<Anything>,
    illuminant: Option<Anything>,
    filter: Option<Anything>,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct EmulsionTable {
    speed: Option<Number>,
    reciprocity: Option<Number>,
    onset: Option<Words>,
    blur: Option<Anything>,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct PrintTable {
    enlargement: Option<Number>,
    viewing_distance: Option<Words>,
}

/// The text of a camera file and its name, to say where a fault lies.
struct Source<'a> {
    text: &'a str,
    path: &'a Path,
}

/// The camera that a file's text describes.
pub(super) fn parse(text: &str, path: &Path) -> Result<Camera, Error> {
    let source = Source { text, path };
    let file: CameraFile = toml::from_str(text).map_err(|fault| {
        let start = fault.span().map_or(0, |span| span.start);
        source.fault(start, fault.message(), "see examples/cedar_box.toml for every key")
    })?;
    source.refuse_what_is_not_honoured(&file)?;
    let film = source.film(&file.film)?;
    Ok(Camera {
        name: file.name.clone().unwrap_or_else(|| stem(path)),
        film,
        distances: source.distances(&file)?,
        light: source.light(&file.light)?,
        emulsion: source.emulsion(&file.emulsion)?,
        print: source.print(&file.print, film)?,
    })
}

fn stem(path: &Path) -> String {
    path.file_stem().map_or_else(|| "camera".into(), |name| name.to_string_lossy().into_owned())
}

impl Source<'_> {
    fn fault(&self, at: usize, wrong: &str, remedy: &str) -> Error {
        let line = 1 + self.text.bytes().take(at).filter(|byte| *byte == b'\n').count();
        Error::Camera {
            file: self.path.into(),
            line,
            wrong: wrong.lines().collect::<Vec<_>>().join(" "),
            remedy: remedy.into(),
        }
    }

    /// Keys of parts that the light does not pass through yet: better refused than passed over.
    fn refuse_what_is_not_honoured(&self, file: &CameraFile) -> Result<(), Error> {
        let keys = [
            ("film.radius", &file.film.radius),
            ("plate", &file.plate),
            ("light.medium", &file.light.medium),
            ("light.illuminant", &file.light.illuminant),
            ("light.filter", &file.light.filter),
            ("emulsion.blur", &file.emulsion.blur),
            ("support", &file.support),
        ];
        for (key, value) in keys {
            if let Some(value) = value {
                return Err(self.not_yet(value.span().start, key));
            }
        }
        match &file.film.shape {
            Some(shape) if shape.get_ref() == "cylinder" => {
                Err(self.not_yet(shape.span().start, "film.shape = \"cylinder\""))
            }
            Some(shape) if shape.get_ref() != "flat" => Err(self.fault(
                shape.span().start,
                &format!("film.shape = \"{}\" is no shape of film", shape.get_ref()),
                "write shape = \"flat\"",
            )),
            _ => Ok(()),
        }
    }

    fn not_yet(&self, at: usize, key: &str) -> Error {
        self.fault(
            at,
            &format!("{key} is not honoured yet by this version"),
            "take it out: the result is then for flat film, a thin plate and a still camera",
        )
    }

    fn length(&self, key: &str, words: &Words, range: RangeInclusive<f64>) -> Result<f64, Error> {
        let at = words.span().start;
        let read = Quantity::Length.read_positive(words.get_ref());
        let value = read.map_err(|why| self.fault(at, &format!("{key} = {why}"), why.remedy()))?;
        self.within(at, key, value, range, |v| Quantity::Length.write(v))
    }

    fn number(&self, key: &str, number: &Number, range: RangeInclusive<f64>) -> Result<f64, Error> {
        let at = number.span().start;
        self.within(at, key, *number.get_ref(), range, |v| format!("{v}"))
    }

    fn within(
        &self,
        at: usize,
        key: &str,
        value: f64,
        range: RangeInclusive<f64>,
        write: impl Fn(f64) -> String,
    ) -> Result<f64, Error> {
        if range.contains(&value) {
            return Ok(value);
        }
        Err(self.fault(
            at,
            &format!("{key} = {} cannot be", write(value)),
            &format!("give a value from {} to {}", write(*range.start()), write(*range.end())),
        ))
    }

    fn film(&self, table: &FilmTable) -> Result<Film, Error> {
        Ok(Film {
            width_mm: self.length("film.width", &table.width, 1.0..=10_000.0)?,
            height_mm: self.length("film.height", &table.height, 1.0..=10_000.0)?,
        })
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

    fn light(&self, table: &LightTable) -> Result<Light, Error> {
        let Some(wavelength) = &table.wavelength else {
            if let Some(weight) = &table.weight {
                return Err(self.fault(
                    weight.span().start,
                    "light.weight stands without light.wavelength",
                    "give the wavelengths too",
                ));
            }
            return Light::single(DEFAULT_WAVELENGTH_NM);
        };
        let at = wavelength.span().start;
        let words: Option<Vec<&str>> = match wavelength.get_ref() {
            toml::Value::String(one) => Some(vec![one]),
            toml::Value::Array(several) => several.iter().map(toml::Value::as_str).collect(),
            _ => None,
        };
        let words = words.ok_or_else(|| {
            self.fault(
                at,
                "light.wavelength is neither a wavelength nor a list of them",
                "write \"550 nm\", or [\"450 nm\", \"550 nm\"]",
            )
        })?;
        let read: Result<Vec<f64>, Error> =
            words.iter().map(|word| Quantity::Wavelength.read_positive(word)).collect();
        let read =
            read.map_err(|why| self.fault(at, &format!("light.wavelength: {why}"), why.remedy()))?;
        let weights = match &table.weight {
            Some(weights) => weights.get_ref().clone(),
            None => vec![1.0; read.len()],
        };
        if weights.len() != read.len() {
            return Err(self.fault(
                at,
                &format!("{} wavelengths have {} weights", read.len(), weights.len()),
                "give one weight for each wavelength, or none",
            ));
        }
        let lines: Vec<(f64, f64)> = read.into_iter().zip(weights).collect();
        Light::new(&lines).map_err(|why| self.fault(at, &why.to_string(), why.remedy()))
    }

    fn emulsion(&self, table: &EmulsionTable) -> Result<Emulsion, Error> {
        let speed_iso = match &table.speed {
            Some(speed) => self.number("emulsion.speed", speed, 0.001..=1e6)?,
            None => DEFAULT_SPEED_ISO,
        };
        let reciprocity = match (&table.reciprocity, &table.onset) {
            (None, None) => None,
            (None, Some(onset)) => {
                return Err(self.fault(
                    onset.span().start,
                    "emulsion.onset stands without emulsion.reciprocity",
                    "give the exponent too, as in reciprocity = 1.3",
                ));
            }
            (Some(exponent), onset) => Some(Reciprocity {
                exponent: self.number("emulsion.reciprocity", exponent, 1.0..=3.0)?,
                onset_s: match onset {
                    Some(onset) => self.time("emulsion.onset", onset)?,
                    None => 1.0,
                },
            }),
        };
        Ok(Emulsion { speed_iso, reciprocity })
    }

    fn time(&self, key: &str, words: &Words) -> Result<f64, Error> {
        Quantity::Time
            .read_positive(words.get_ref())
            .map_err(|why| self.fault(words.span().start, &format!("{key} = {why}"), why.remedy()))
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
mod tests {
    use super::*;

    fn parsed(text: &str) -> Result<Camera, Error> {
        parse(text, Path::new("box.toml"))
    }

    const FILM: &str = "[film]\ndistance = \"75 mm\"\nwidth = \"4 in\"\nheight = \"5 in\"\n";

    #[test]
    fn the_demonstration_camera_is_sound() {
        let camera = Camera::demonstration().unwrap();
        assert_eq!(camera.distances.film_mm(), 120.0);
        assert_eq!(camera.light.lines().len(), 5);
    }

    #[test]
    fn what_is_left_out_has_its_default() {
        let camera = parsed(FILM).unwrap();
        assert_eq!(camera.name, "box");
        assert_eq!(camera.distances.subject_mm(), f64::INFINITY);
        assert_eq!(camera.light.mean_nm(), 550.0);
        // A contact print of 4 × 5 in is looked at from the nearest distance an eye can.
        assert_eq!(camera.print.viewing_distance_mm, 250.0);
        assert_eq!(camera.film.width_mm, 101.6);
    }

    #[test]
    fn faults_are_named_with_their_line() {
        let with = |more: &str| format!("{FILM}{more}");
        let cases = [
            ("[film]\ndistance = \"75\"\nwidth = \"4 in\"\nheight = \"5 in\"".into(), 2, "no unit"),
            ("[film]\ndistance = 75\nwidth = \"4 in\"\nheight = \"5 in\"".into(), 2, "expected"),
            ("[film]\nwidth = \"4 in\"".into(), 1, "distance"),
            (with("widht = \"1 mm\""), 5, "widht"),
            (with("radius = \"50 mm\""), 5, "not honoured yet"),
            (with("shape = \"cylinder\""), 5, "not honoured yet"),
            (with("shape = \"round\""), 5, "no shape"),
            (with("[plate]\nthickness = \"0.1 mm\""), 5, "not honoured yet"),
            (with("[subject]\ndistance = \"0 m\""), 6, "above zero"),
            (with("[light]\nmedium = \"eye\""), 6, "not honoured yet"),
            (with("[light]\nwavelength = \"550\""), 6, "no unit"),
            (with("[light]\nwavelength = 550"), 6, "neither"),
            (with("[light]\nwavelength = [\"550 nm\"]\nweight = [1, 2]"), 6, "2 weights"),
            (with("[light]\nwavelength = \"550 nm\"\nweight = [0]"), 6, "any light"),
            (with("[light]\nwavelength = \"5 nm\""), 6, "not light"),
            (with("[emulsion]\nspeed = 0"), 6, "cannot be"),
            (with("[emulsion]\nspeed = nan"), 6, "cannot be"),
            (with("[emulsion]\nonset = \"1 s\""), 6, "without"),
            (with("[print]\nenlargement = -2"), 6, "cannot be"),
            ("film = ".into(), 1, ""),
        ];
        for (text, line, words) in cases {
            let error = parsed(&text).unwrap_err();
            let said = error.to_string();
            assert!(said.starts_with(&format!("box.toml:{line}: ")), "{text}\n{said}");
            assert!(said.contains(words), "{text}\n{said}");
            assert!(!error.remedy().is_empty());
        }
    }
}
