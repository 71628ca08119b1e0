//! What can be changed: each slider with its ends, and the bench that the values make.

use crate::camera::{Camera, Support};
use crate::error::Error;
use crate::geometry::{Map, Outline, shapes};
use crate::page::bench;
use crate::page::received::Received;
use crate::quantity::{Quantity, significant};
use crate::wave::{Distances, Light};

/// Where a burr sits, in rad anticlockwise from the right: to be seen beside the best hole's rim.
const BURR_AT_RAD: f64 = 0.7;
/// Seconds of an hour, for a movement in mm/h.
const HOUR_S: f64 = 3600.0;

/// How a slider's way is divided.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Way {
    /// Equal steps are equal differences.
    Even,
    /// Equal steps are equal ratios.
    Ratio,
    /// Equal steps of the inverse, the far end at infinity.
    Inverse,
}

impl Way {
    pub(super) fn name(self) -> &'static str {
        match self {
            Way::Even => "even",
            Way::Ratio => "ratio",
            Way::Inverse => "inverse",
        }
    }
}

/// One slider.
pub(super) struct Slider {
    pub(super) name: &'static str,
    pub(super) label: &'static str,
    pub(super) unit: &'static str,
    pub(super) span: [f64; 2],
    pub(super) ends: [&'static str; 2],
    pub(super) way: Way,
    /// The value that is none of its numbers: the camera's own light, a far subject.
    pub(super) word: &'static str,
}

const fn slider(
    name: &'static str,
    label: &'static str,
    unit: &'static str,
    span: [f64; 2],
    ends: [&'static str; 2],
    way: Way,
) -> Slider {
    Slider { name, label, unit, span, ends, way, word: "" }
}

/// What changes the hole.
pub(super) const HOLE: [Slider; 4] = [
    slider("oval", "Oval", "%", [0.0, 100.0], ["round", "2 : 1"], Way::Even),
    slider("depth", "Burr, depth", "mm", [0.0, 0.12], ["none", "0.12"], Way::Even),
    slider("width", "Burr, width", "mm", [0.0, 0.1], ["0", "0.1"], Way::Even),
    slider("metal", "Metal", "mm", [0.0, 0.3], ["foil", "0.3"], Way::Even),
];
/// What changes the flight.
pub(super) const FLIGHT: [Slider; 4] = [
    slider("film", "Hole to film", "mm", [20.0, 500.0], ["20", "500"], Way::Ratio),
    Slider {
        word: "far",
        ..slider(
            "subject",
            "Hole to subject",
            "mm",
            [100.0, f64::INFINITY],
            ["0.1 m", "far"],
            Way::Inverse,
        )
    },
    Slider {
        word: "camera",
        ..slider("light", "Light", "nm", [400.0, 700.0], ["violet", "red"], Way::Even)
    },
    slider("place", "Place on film", "mm", [0.0, 60.0], ["middle", "corner"], Way::Even),
];
/// What changes the taking.
pub(super) const TAKING: [Slider; 2] = [
    slider("movement", "Movement", "mm/h", [0.0, 60.0], ["none", "60"], Way::Even),
    slider("print", "Print", "times", [1.0, 10.0], ["contact", "10"], Way::Ratio),
];

impl Slider {
    /// The value of a field; none for an empty field and for the slider's own word.
    fn read(&self, form: &Received) -> Result<Option<f64>, Error> {
        let Some(said) = form.said(self.name).filter(|said| *said != self.word) else {
            return Ok(None);
        };
        let wrong = |why: Error| why.in_field(self.name);
        let value = match self.unit {
            "mm" => Quantity::Length.read(&bench::with_unit(said, "mm")).map_err(wrong)?,
            "nm" => Quantity::Wavelength.read(&bench::with_unit(said, "nm")).map_err(wrong)?,
            unit => said.trim_end_matches(unit).trim().parse().map_err(|_| {
                wrong(Error::words(
                    said,
                    "is not a number",
                    format!("write a number, as in \"{}\"", self.span[1]),
                ))
            })?,
        };
        if (self.span[0]..=self.span[1]).contains(&value) {
            return Ok(Some(value));
        }
        Err(wrong(Error::limit(
            format!("{said} is out of range"),
            format!("from {} to {} {}", self.span[0], self.span[1], self.unit),
        )))
    }
}

/// What is on the bench while one asks what if.
pub(super) struct Setting {
    pub(super) camera: Camera,
    pub(super) hole: Outline,
    pub(super) diameter_mm: f64,
    /// Along the diagonal of the film, from its middle, in mm.
    pub(super) place_mm: f64,
}

/// The values that a form starts with: of a camera, and a hole where one was appraised.
pub(super) fn start(camera: &Camera, name: &str) -> String {
    let length = |mm: f64| significant(mm, 4);
    match name {
        "oval" | "depth" | "movement" | "place" => "0".into(),
        "width" => "0.02".into(),
        "metal" => length(camera.plate_mm),
        "film" => length(camera.distances.film_mm()),
        "subject" => match camera.distances.subject_mm() {
            far if far.is_infinite() => "far".into(),
            near => length(near),
        },
        "light" => "camera".into(),
        "print" => length(camera.print.enlargement),
        _ => String::new(),
    }
}

pub(super) fn read(form: &Received) -> Result<Setting, Error> {
    let mut camera = bench::camera(form)?;
    let value = |name: &str| {
        let all = HOLE.iter().chain(&FLIGHT).chain(&TAKING);
        all.filter(|slider| slider.name == name)
            .find_map(|slider| slider.read(form).transpose())
            .transpose()
    };
    let film_mm = value("film")?.unwrap_or(camera.distances.film_mm());
    let subject_mm = match form.text("subject") {
        "far" => f64::INFINITY,
        _ => value("subject")?.unwrap_or(camera.distances.subject_mm()),
    };
    camera.distances = Distances::new(subject_mm, film_mm)?;
    camera.film.check(film_mm).map_err(|why| why.in_field("film"))?;
    camera.plate_mm = value("metal")?.unwrap_or(camera.plate_mm);
    if let Some(nm) = value("light")? {
        camera.light = Light::single(nm)?;
    }
    if let Some(mm_per_hour) = value("movement")?.filter(|speed| *speed > 0.0) {
        let still =
            Support { drift_mm_per_s: 0.0, sway: None, walk_mm2_per_s: 0.0, direction_rad: 0.0 };
        camera.support = Some(Support {
            drift_mm_per_s: mm_per_hour / HOUR_S,
            ..camera.support.unwrap_or(still)
        });
    }
    camera.print.enlargement = value("print")?.unwrap_or(camera.print.enlargement);
    let diameter_mm = diameter(form)?;
    let [oval, depth, width] =
        ["oval", "depth", "width"].map(|name| value(name).map(Option::unwrap_or_default));
    let hole = outline(diameter_mm, oval?, depth?, width?)?;
    let half_diagonal = camera.film.width_mm.hypot(camera.film.height_mm) / 2.0;
    let place_mm = value("place")?.unwrap_or(0.0).min(0.999 * half_diagonal);
    Ok(Setting { camera, hole, diameter_mm, place_mm })
}

fn diameter(form: &Received) -> Result<f64, Error> {
    let words = form.said("d").unwrap_or("0.35 mm");
    let source = crate::hole::Source::of_words(&bench::with_unit(words, "mm"), None);
    let hole = source
        .and_then(|source| crate::hole::Hole::of(&source))
        .map_err(|why| why.in_field("d"))?;
    Ok(hole.outline.equivalent_diameter_mm())
}

/// A disc drawn out to an oval of the same area, with one burr where its depth is above zero.
fn outline(
    diameter_mm: f64,
    oval_percent: f64,
    depth_mm: f64,
    width_mm: f64,
) -> Result<Outline, Error> {
    let disc = if depth_mm > 0.0 && width_mm > 0.0 {
        let half_width_rad = (width_mm / diameter_mm).min(1.0).asin();
        shapes::burred_disc(diameter_mm, BURR_AT_RAD, half_width_rad, depth_mm)
            .map_err(|why| why.in_field("depth"))?
    } else {
        shapes::disc(diameter_mm)?
    };
    let stretch = (1.0 + oval_percent / 100.0).sqrt();
    Ok(disc.through(Map { of_x: [stretch, 0.0], of_y: [0.0, 1.0 / stretch] }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sliders_make_the_bench_and_refuse_what_is_out_of_range() {
        let setting = read(&Received::of(&[
            ("d", "4 per mm"),
            ("oval", "21"),
            ("film", "100"),
            ("subject", "2 m"),
            ("light", "550 nm"),
            ("movement", "36"),
            ("metal", "0"),
        ]))
        .unwrap();
        // 21 % oval: 1.1 by 1/1.1 of a diameter of 0.25 mm.
        let (low, high) = setting.hole.bounds_mm();
        assert!(
            (high[0] - low[0] - 0.275).abs() < 1e-4 && (high[1] - low[1] - 0.25 / 1.1).abs() < 1e-4
        );
        assert_eq!(setting.camera.distances, Distances::new(2000.0, 100.0).unwrap());
        assert_eq!(setting.camera.light.lines(), [(550.0, 1.0)]);
        assert!((setting.camera.support.unwrap().drift_mm_per_s - 0.01).abs() < 1e-12);
        for (field, bad) in
            [("film", "10"), ("oval", "x"), ("print", "20"), ("d", "hello"), ("depth", "3 s")]
        {
            let error = read(&Received::of(&[(field, bad)])).err().unwrap();
            assert_eq!(error.place().field.as_deref(), Some(field), "{error}");
        }
    }
}
