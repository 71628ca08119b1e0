//! The words that several commands share: which camera, which hole, which scene.

use super::meter::MeterWords;
use super::next::option;
use crate::camera::Camera;
use crate::error::Error;
use crate::files::{self, Memory, Places};
use crate::geometry::Point;
use crate::hole::{Hole, Said, Scale, Sheet, SheetHole, read_place, read_reading, specimen};
use crate::picture::{Backdrop, Scene, View};
use crate::quantity::Quantity;
use crate::raster::{Raster, Transfer};
use crate::task::appraise::Candidate;
use crate::words;
use clap::{Args, ValueEnum};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Which camera.
#[derive(Args)]
pub(super) struct CameraWords {
    /// Camera file (TOML) [default: a demonstration camera]
    #[arg(long, value_name = "FILE")]
    camera: Vec<PathBuf>,
    #[command(flatten)]
    pub(super) meter: MeterWords,
}

impl CameraWords {
    /// The one camera; what it is read from is added to the places.
    pub(super) fn open(&self, places: &mut Places) -> Result<Camera, Error> {
        match &self.open_each(places)?[..] {
            [one] => Ok(one.clone()),
            _ => Err(Error::words(
                "--camera",
                "is given several times, and this takes one camera",
                "give one camera file; appraise takes several",
            )),
        }
    }

    /// The same camera and meter, to be typed again.
    pub(super) fn again(&self) -> Vec<String> {
        let mut words: Vec<String> = self
            .camera
            .iter()
            .flat_map(|path| option("--camera", &path.display().to_string()))
            .collect();
        words.extend(self.meter.again());
        words
    }

    /// Every camera that is named, at least one: the demonstration without any.
    pub(super) fn open_each(&self, places: &mut Places) -> Result<Vec<Camera>, Error> {
        let mut cameras = Vec::new();
        for path in &self.camera {
            let (camera, read) = files::camera(path)?;
            cameras.push(camera);
            places.read(read);
        }
        if cameras.is_empty() {
            cameras.push(Camera::demonstration()?);
        }
        let meter = self.meter.read()?;
        Ok(cameras.into_iter().map(|camera| Camera { meter, ..camera }).collect())
    }
}

/// Which hole.
#[derive(Args)]
pub(super) struct HoleWords {
    /// "0.34 mm", "4.5 per mm", "oval 0.4 x 0.3 mm", outline or photo
    #[arg(long, value_name = "HOLE", allow_hyphen_values = true)]
    hole: Vec<String>,
    /// Scale of the photo: "412 px = 1 mm", "2400 dpi" or auto
    #[arg(long, value_name = "SCALE")]
    scale: Vec<String>,
    /// Spacing of a rule's lines in the photo, as in "1 mm", for --scale auto
    #[arg(long, value_name = "LENGTH", requires = "scale", help_heading = "About the hole")]
    graduation: Option<String>,
    /// Where the hole is in the photo, from the upper left, as in "412,300 px"
    #[arg(long, value_name = "X,Y", allow_hyphen_values = true, help_heading = "About the hole")]
    at: Vec<String>,
    /// How far a count may be off, in diameters [default: 1/4]
    #[arg(long, value_name = "PART", help_heading = "About the hole")]
    reading: Option<String>,
    /// A well exposed photo of the same set-up, for an over-exposed one
    #[arg(long, value_name = "PHOTO", help_heading = "About the hole")]
    blur_from: Option<String>,
    /// Most memory to take; what needs more is refused [default: 4 GB]
    #[arg(
        long,
        value_name = "SIZE",
        default_value = "4 GB",
        hide_default_value = true,
        help_heading = "About the hole"
    )]
    memory: String,
    /// How pixel values map to light: file or linear
    #[arg(
        long,
        value_enum,
        value_name = "CURVE",
        default_value_t = TransferWord::File,
        hide_possible_values = true,
        help_heading = "About the hole"
    )]
    transfer: TransferWord,
    /// An invented photo of an invented hole, to try things out
    #[arg(long, conflicts_with_all = ["hole", "scale", "graduation", "reading", "blur_from"])]
    pub(super) demo: bool,
}

/// How a picture's values map to light.
#[derive(Clone, Copy, ValueEnum)]
enum TransferWord {
    /// As the file says, or as sRGB
    File,
    /// In proportion to the light
    Linear,
}

impl HoleWords {
    pub(super) fn open(&self) -> Result<Hole, Error> {
        if self.demo {
            return specimen_hole();
        }
        Hole::of(&files::said(&self.said()?, self.memory()?)?)
    }

    /// The most memory that the run may take.
    pub(super) fn memory(&self) -> Result<Memory, Error> {
        Memory::read(&self.memory)
    }

    /// What may be the names of files that it is read from.
    pub(super) fn files(&self) -> impl Iterator<Item = PathBuf> {
        self.hole.iter().chain(&self.blur_from).map(|words| PathBuf::from(words.trim()))
    }

    /// The hole, where one is named.
    pub(super) fn named(&self) -> Result<Option<Hole>, Error> {
        if self.hole.is_empty() && !self.demo { Ok(None) } else { self.open().map(Some) }
    }

    /// What the hole is called where no log names it: by its file, or by its words.
    pub(super) fn name(&self) -> String {
        let words = self.hole.first().map_or("demonstration", |words| words.trim());
        let is_file = Said::is_photo(words)
            || Path::new(words).extension().is_some_and(|e| e == "csv" || e == "svg");
        match Path::new(words).file_stem().filter(|_| is_file) {
            Some(stem) => stem.to_string_lossy().into_owned(),
            None => words.to_owned(),
        }
    }

    /// The same hole, to be typed again.
    pub(super) fn again(&self) -> Vec<String> {
        let each = |name: &'static str, all: &[String]| {
            all.iter().flat_map(|value| option(name, value)).collect::<Vec<_>>()
        };
        let mut words =
            if self.demo { vec!["--demo".to_owned()] } else { each("--hole", &self.hole) };
        words.extend(each("--scale", &self.scale));
        words.extend(each("--graduation", self.graduation.as_slice()));
        words.extend(each("--at", &self.at));
        words.extend(each("--reading", self.reading.as_slice()));
        words.extend(each("--blur-from", self.blur_from.as_slice()));
        if matches!(self.transfer, TransferWord::Linear) {
            words.extend(option("--transfer", "linear"));
        }
        words
    }

    /// Takes the place on the film out of the places: the one that is given in lengths.
    pub(super) fn take_film_place(&mut self) -> Result<Option<Point>, Error> {
        let on_film = |words: &String| !words.trim_end().ends_with("px");
        let Some(index) = self.at.iter().position(on_film) else { return Ok(None) };
        let words = self.at.remove(index);
        let Some((x, y)) = words.split_once(',') else {
            return Err(Error::words(
                &words,
                "is not a place on the film",
                "give two lengths from its middle, as in --at \"12 mm, -5 mm\"",
            ));
        };
        Ok(Some([Quantity::Length.read(x)?, Quantity::Length.read(y)?]))
    }

    /// What is to be said above the answer of a demonstration.
    pub(super) fn invented(&self) -> String {
        if self.demo { format!("{}\n\n", words::gauge::INVENTED) } else { String::new() }
    }

    /// Every hole of one picture.
    pub(super) fn open_sheet(&self) -> Result<Sheet, Error> {
        if self.demo {
            let (scan, ..) = specimen::demonstration_scan()?;
            return Sheet::of_picture(Arc::new(scan), Scale::read("2400 dpi")?);
        }
        Sheet::of(&files::said(&self.said()?, self.memory()?)?)
    }

    /// Each of several holes by its name: the openings of one picture by their numbers, or each
    /// `--hole` by its words.
    pub(super) fn open_each(&self) -> Result<Vec<Candidate>, Error> {
        if self.demo || (self.hole.len() == 1 && Said::is_photo(&self.hole[0])) {
            let sheet = self.open_sheet()?;
            let numbered = |(i, found): (usize, SheetHole)| Candidate {
                name: format!("{}", i + 1),
                hole: found.hole,
            };
            return Ok(sheet.holes.into_iter().enumerate().map(numbered).collect());
        }
        let (each, memory) = (self.said()?.each()?, self.memory()?);
        let read = |said: &Said| Candidate {
            name: said.holes.join(", "),
            hole: files::said(said, memory).and_then(|source| Hole::of(&source)),
        };
        Ok(each.iter().map(read).collect())
    }

    /// The one photo that is named.
    pub(super) fn photo(&self) -> Result<Raster, Error> {
        let said = self.said()?;
        let name = said.holes.first().map_or("", |name| name.trim());
        Ok(files::picture(Path::new(name), said.transfer, self.memory()?)?.raster)
    }

    /// What is said of the hole.
    fn said(&self) -> Result<Said, Error> {
        Ok(Said {
            holes: self.hole.clone(),
            scales: self.scale.clone(),
            graduation_mm: self
                .graduation
                .as_deref()
                .map(|words| Quantity::Length.read_positive(words))
                .transpose()?,
            places_px: self.at.iter().map(|words| read_place(words)).collect::<Result<_, _>>()?,
            reading: self.reading.as_deref().map(read_reading).transpose()?,
            transfer: match self.transfer {
                TransferWord::File => Transfer::ByFile,
                TransferWord::Linear => Transfer::Linear,
            },
            blur_from: self.blur_from.clone(),
        })
    }
}

fn specimen_hole() -> Result<Hole, Error> {
    let photo = specimen::demonstration()?;
    let scale = Scale::read(&format!("{:.0} px = 1 mm", 1.0 / photo.mm_per_px))?;
    Hole::of_picture(Arc::new(photo.raster), scale, None)
}

/// What is on the bench: a hole and its camera.
#[derive(Args)]
pub(super) struct BenchWords {
    #[command(flatten)]
    pub(super) hole: HoleWords,
    #[command(flatten)]
    pub(super) camera: CameraWords,
}

impl BenchWords {
    /// Opened once the places of the run are checked.
    pub(super) fn open(&self, mut places: Places) -> Result<(Camera, Hole), Error> {
        let camera = self.camera.open(&mut places)?;
        Ok((camera, self.open_hole(places)?))
    }

    /// The camera, the other cameras that are named, and the hole.
    pub(super) fn open_with_others(
        &self,
        mut places: Places,
    ) -> Result<(Camera, Vec<Camera>, Hole), Error> {
        let mut others = self.camera.open_each(&mut places)?;
        let camera = others.remove(0);
        Ok((camera, others, self.open_hole(places)?))
    }

    fn open_hole(&self, mut places: Places) -> Result<Hole, Error> {
        places.read(self.hole.files());
        places.check()?;
        self.hole.open()
    }
}

/// Which scene.
#[derive(Args)]
pub(super) struct SceneWords {
    /// landscape, chart, or a picture file [default: landscape]
    #[arg(long, value_name = "SCENE", help_heading = "Scene")]
    pub(super) scene: Option<String>,
    /// flat or round (about the hole) [default: flat up to 50° to each side]
    #[arg(
        long,
        value_enum,
        value_name = "SHAPE",
        help_heading = "Scene",
        hide_possible_values = true
    )]
    backdrop: Option<BackdropWord>,
}

/// How a scene lies before the camera.
#[derive(Clone, Copy, ValueEnum)]
enum BackdropWord {
    /// A wall square to the axis
    Flat,
    /// Bent about the hole: equal angles are equal widths
    Round,
}

impl SceneWords {
    /// The picture file that it is read from, where there is one.
    pub(super) fn file(&self) -> Option<PathBuf> {
        self.scene.as_ref().map(PathBuf::from)
    }

    /// The perfect image of the scene on a camera's film of so many pixels.
    pub(super) fn open(
        &self,
        camera: &Camera,
        columns: usize,
        rows: usize,
        memory: Memory,
    ) -> Result<Raster, Error> {
        let backdrop = self.backdrop.map(|word| match word {
            BackdropWord::Flat => Backdrop::Flat,
            BackdropWord::Round => Backdrop::Round,
        });
        let view = View::of(camera, backdrop, columns, rows)?;
        match self.scene.as_deref().unwrap_or("landscape") {
            "chart" => view.image_of(Scene::Chart),
            "landscape" => view.image_of(Scene::Landscape),
            path => view.image(&files::picture(Path::new(path), Transfer::ByFile, memory)?.raster),
        }
    }
}
