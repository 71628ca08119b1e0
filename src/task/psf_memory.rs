//! The memory that a PSF and its files take, told before they are computed.

use super::psf::{self, Request};
use super::psf_stack;
use crate::camera::PointImage;
use crate::error::Error;

// What follows is measured at 64 to 4096 samples a side, as bytes of the whole process, and rounded up.

/// The program itself with its tables.
const BASE: f64 = 50e6;
/// A sample where nothing but the hole spreads the light, and where emulsion or movement do, by transforms.
const SHARP: f64 = 9.0;
const SPREAD: f64 = 80.0;
/// A number of a file, and a sample of the best disc beside it in a drawing.
const WRITTEN: f64 = 8.0;
const DRAWN: f64 = 9.0;
/// A sample of the field of a wavelength with its file.
const FIELD: f64 = 36.0;
/// A sample of a member of a stack, and of a pattern that all are made from.
const MEMBER: f64 = 24.0;
const PATTERN: f64 = 8.0;

/// What is made of a PSF besides its figures.
#[derive(Debug, Clone, Copy, Default)]
pub struct Files {
    /// Its samples.
    pub samples: bool,
    /// The field of each wavelength.
    pub fields: bool,
    /// A drawing beside the best disc.
    pub drawing: bool,
}

/// Tells the memory that a PSF takes with its files, in bytes.
///
/// # Errors
/// As [`psf::run`], for what it would refuse anyway.
pub fn of_psf(request: &Request, files: Files) -> Result<f64, Error> {
    let image = PointImage::at(&request.camera, &request.outline, request.at_mm)?;
    let grid = psf::grid(request, &image)?;
    let computed = image.samples_a_side(grid)? as f64;
    let each = if image.blur().is_none() { SHARP } else { SPREAD };
    let also = |wanted: bool, bytes: f64| if wanted { bytes } else { 0.0 };
    let lines = request.camera.light.lines().len() as f64;
    let shown = SHARP
        + also(files.samples, WRITTEN)
        + also(files.drawing, DRAWN)
        + also(files.fields, FIELD * lines);
    Ok(BASE + each * computed.powi(2) + shown * (grid.size() as f64).powi(2))
}

/// Tells the memory that a stack takes with its file, in bytes.
///
/// # Errors
/// As [`psf_stack::run`], for what it would refuse anyway.
pub fn of_stack(request: &psf_stack::Request) -> Result<f64, Error> {
    let plan = psf_stack::Plan::of(request)?;
    let patterns = plan.patterns(&request.outline)? as f64;
    let each = PATTERN * patterns + MEMBER * request.members.count() as f64;
    Ok(BASE + each * (plan.grid.size() as f64).powi(2))
}
