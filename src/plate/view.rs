//! Part of a photo on a plate, in true proportion: where pixels and millimetres lie on it.

use super::canvas::{FINE, Frame, Plate, Sampling, Stroke};
use super::ink::Colour;
use super::pixels::{Crop, shown};
use crate::error::Error;
use crate::geometry::{Outline, Point};
use crate::raster::Raster;

/// The width and height of a photo's pixels on the hole, in mm.
#[derive(Clone, Copy)]
pub(super) struct Pitch(pub(super) [f64; 2]);

impl Pitch {
    /// # Errors
    /// [`BeyondLimit`](crate::Kind::BeyondLimit) when a pixel is not 1e-6 mm to 10 mm wide and high, or ten times as wide as
    /// high or as high as wide.
    pub(super) fn checked(mm_per_px: [f64; 2]) -> Result<Pitch, Error> {
        let [x, y] = mm_per_px;
        let some = |mm: f64| (1e-6..=10.0).contains(&mm);
        if some(x) && some(y) && (0.1..=10.0).contains(&(x / y)) {
            return Ok(Pitch(mm_per_px));
        }
        Err(Error::limit(
            format!("a pixel of {x} mm by {y} mm is out of range"),
            "give between 0.000001 and 10 mm each way, the one at most ten times the other",
        ))
    }

    /// Loops in pixels, y down, as an outline in mm, y up.
    pub(super) fn outline(&self, loops_px: &[Vec<[f64; 2]>]) -> Result<Outline, Error> {
        let point = |[x, y]: &[f64; 2]| [x * self.0[0], -y * self.0[1]];
        Outline::new(loops_px.iter().map(|points| points.iter().map(point).collect()).collect())
    }

    /// The place in pixels, y down, of a point in mm, y up.
    pub(super) fn px(&self, [x, y]: Point) -> [f64; 2] {
        [x / self.0[0], -y / self.0[1]]
    }
}

/// Part of a photo and where it stands on the plate.
pub(super) struct View {
    pub(super) crop: Crop,
    pub(super) frame: Frame,
    pitch: Pitch,
}

impl View {
    /// As large as `most` lets it be, from its upper left corner.
    pub(super) fn placed(crop: Crop, pitch: Pitch, corner: [f64; 2], most: [f64; 2]) -> View {
        let [width, height] = [crop.columns as f64 * pitch.0[0], crop.rows as f64 * pitch.0[1]];
        let scale = (most[0] / width).min(most[1] / height);
        let [width, height] = [width, height].map(|mm| (mm * scale).round().max(1.0));
        let [x, y] = corner.map(f64::round);
        View { crop, frame: Frame { x, y, width, height }, pitch }
    }

    /// Moves it to the middle of a stretch of the plate.
    pub(super) fn centred(mut self, from: f64, width: f64) -> View {
        self.frame.x = from + ((width - self.frame.width) / 2.0).round();
        self
    }

    /// The place on the plate of a place in the photo, in pixels.
    pub(super) fn place(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let Frame { width, height, .. } = self.frame;
        [
            self.frame.x + (x - self.crop.column as f64) * width / self.crop.columns as f64,
            self.frame.y + (y - self.crop.row as f64) * height / self.crop.rows as f64,
        ]
    }

    /// The nearest place on the plate to a place in the photo that may lie outside this part.
    pub(super) fn place_within(&self, at_px: [f64; 2]) -> [f64; 2] {
        let [x, y] = self.place(at_px);
        let frame = self.frame;
        [x.clamp(frame.x, frame.right()), y.clamp(frame.y, frame.bottom())]
    }

    /// The place on the plate of a point in mm, y up.
    pub(super) fn place_of_mm(&self, point: Point) -> [f64; 2] {
        self.place(self.pitch.px(point))
    }

    pub(super) fn units_per_mm(&self) -> f64 {
        self.frame.width / (self.crop.columns as f64 * self.pitch.0[0])
    }

    /// Draws the photo and its border.
    pub(super) fn draw(&self, plate: &mut Plate, photo: &Raster) -> Result<(), Error> {
        let Frame { width, height, .. } = self.frame;
        let image = shown(photo, self.crop, [width, height])?;
        plate.picture(self.frame, &image, Sampling::Squares)?;
        plate.border(self.frame, Stroke { colour: Colour::Grey, width: 1.0, ..FINE });
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pixels_of_two_pitches_are_shown_in_true_proportion() {
        let pitch = Pitch::checked([0.001, 0.002]).unwrap();
        let crop = Crop { column: 10, row: 20, columns: 300, rows: 100 };
        // 0.3 mm by 0.2 mm in 900 by 900: three units to a µm.
        let view = View::placed(crop, pitch, [50.0, 70.0], [900.0, 900.0]);
        assert_eq!(view.frame, Frame { x: 50.0, y: 70.0, width: 900.0, height: 600.0 });
        assert_eq!(view.place([310.0, 120.0]), [950.0, 670.0]);
        assert!((view.units_per_mm() - 3000.0).abs() < 1e-9);
        let [x, y] = view.place_of_mm([0.11, -0.09]);
        assert!((x - 350.0).abs() < 1e-9 && (y - 220.0).abs() < 1e-9, "{x} {y}");
        for bad in [[0.0, 1.0], [1.0, f64::NAN], [-1.0, 1.0], [1e-3, 1.0], [11.0, 11.0]] {
            assert!(Pitch::checked(bad).is_err());
        }
    }
}
