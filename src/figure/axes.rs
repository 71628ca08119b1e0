//! What gives a plate its measures: scale bars, colour bars and axes.

use super::plate::{
    Anchor, BLUE, DASHED, FINE, Frame, GAP, GREY, LABEL, Letters, Plate, SOLID, Sampling, Stroke,
};
use crate::error::Error;
use crate::quantity::Quantity;
use image::{Rgb, RgbImage};

/// Height of a scale bar with its label.
pub(super) const BAR_HEIGHT: f64 = 30.0;
const TICK: f64 = 8.0;

/// The lines of plots: what was measured, and what it is held against.
pub(super) const MEASURED: Stroke =
    Stroke { colour: BLUE, width: 3.0, dashes: SOLID, cased: false };
pub(super) const REFERENCE: Stroke =
    Stroke { colour: GREY, width: 3.0, dashes: DASHED, cased: false };

/// The largest of 1, 2 and 5 times a power of ten that is not above `most`.
fn round_below(most: f64) -> f64 {
    let power = 10f64.powf(most.log10().floor());
    let digit = [5.0, 2.0].into_iter().find(|digit| digit * power <= most).unwrap_or(1.0);
    digit * power
}

/// A bar of a round length of at most `room` (or 60 units, if that is less), and to the right of it
/// its length and what to `add` to that.
pub(super) fn scale_bar(
    plate: &mut Plate,
    [x, y]: [f64; 2],
    room: f64,
    mm_per_unit: f64,
    letters: &Letters,
    add: &str,
) {
    let length_mm = round_below(room.max(60.0) * mm_per_unit);
    let (right, middle) = (x + length_mm / mm_per_unit, y + BAR_HEIGHT / 2.0);
    plate.line(&[[x, middle], [right, middle]], Stroke { width: 4.0, ..FINE });
    for end in [x, right] {
        plate.line(&[[end, middle - TICK], [end, middle + TICK]], Stroke { width: 2.0, ..FINE });
    }
    let label = Quantity::Length.write(length_mm) + add;
    let baseline = middle + 0.36 * letters.size;
    plate.text([right + GAP, baseline], Anchor::Start, letters, &label);
}

/// The baseline of a label whose digits are centred on `y`.
fn centred(y: f64) -> f64 {
    y + 0.36 * LABEL.size
}

/// A bar of the colours of a logarithmic scale with its powers of ten, and what they measure.
pub(super) fn log_colour_bar(
    plate: &mut Plate,
    frame: Frame,
    [low, high]: [f64; 2],
    colour: impl Fn(f64) -> Rgb<u8>,
    measures: &str,
) -> Result<(), Error> {
    let steps = 256;
    let image = RgbImage::from_fn(1, steps, |_, row| {
        let along = 1.0 - (f64::from(row) + 0.5) / f64::from(steps);
        colour(low * (high / low).powf(along))
    });
    plate.picture(frame, &image, Sampling::Smooth)?;
    plate.border(frame, FINE);
    let (first, last) = (low.log10().ceil() as i32, high.log10().floor() as i32);
    for power in first..=last {
        let along = (f64::from(power) - low.log10()) / (high / low).log10();
        let y = frame.bottom() - along * frame.height;
        plate.line(&[[frame.right(), y], [frame.right() + TICK, y]], FINE);
        let label = power_of_ten(power);
        plate.text([frame.right() + TICK + 62.0, centred(y)], Anchor::End, &LABEL, &label);
    }
    let at = [frame.right() + TICK + 94.0, frame.centre()[1]];
    plate.turned_text(at, -90.0, Anchor::Middle, &LABEL, measures);
    Ok(())
}

/// "10⁻²"
fn power_of_ten(power: i32) -> String {
    const DIGITS: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    let power = power.to_string();
    let raised = power.chars().map(|sign| match sign.to_digit(10) {
        Some(digit) => DIGITS[digit as usize],
        None => '⁻',
    });
    format!("10{}", raised.collect::<String>())
}

/// The axes of a plot: what it spans each way, and the words for it.
pub(super) struct Axes<'a> {
    /// Where the curves are drawn; ticks and words stand to the left of it and beneath.
    pub(super) frame: Frame,
    pub(super) x: [f64; 2],
    pub(super) y: [f64; 2],
    pub(super) x_label: &'a str,
    pub(super) y_label: &'a str,
}

/// What ticks and words take to the left of a plot and beneath it.
pub(super) const LEFT_OF_PLOT: f64 = 170.0;
pub(super) const BENEATH_PLOT: f64 = 84.0;

impl Axes<'_> {
    /// Draws the axes with round ticks.
    pub(super) fn draw(&self, plate: &mut Plate) {
        let Frame { x: left, y: top, .. } = self.frame;
        let (right, bottom) = (self.frame.right(), self.frame.bottom());
        let quiet = Stroke { colour: "#dddddd", width: 1.0, ..FINE };
        let (xs, x_decimals) = ticks(self.x, 8.0);
        for value in xs {
            let [x, _] = self.place([value, self.y[0]]);
            plate.line(&[[x, top], [x, bottom]], quiet);
            plate.line(&[[x, bottom], [x, bottom + TICK]], FINE);
            let at = [x, bottom + TICK + LABEL.leading()];
            plate.text(at, Anchor::Middle, &LABEL, &number(value, x_decimals));
        }
        let (ys, y_decimals) = ticks(self.y, 4.0);
        for value in ys {
            let [_, y] = self.place([self.x[0], value]);
            plate.line(&[[left, y], [right, y]], quiet);
            plate.line(&[[left - TICK, y], [left, y]], FINE);
            let at = [left - TICK - 8.0, centred(y)];
            plate.text(at, Anchor::End, &LABEL, &number(value, y_decimals));
        }
        plate.line(&[[left, top], [left, bottom], [right, bottom]], FINE);
        let [x, y] = self.frame.centre();
        plate.text([x, bottom + BENEATH_PLOT - 6.0], Anchor::Middle, &LABEL, self.x_label);
        let at = [left - LEFT_OF_PLOT + LABEL.size, y];
        plate.turned_text(at, -90.0, Anchor::Middle, &LABEL, self.y_label);
    }

    /// Draws a curve, cut off at the frame.
    pub(super) fn curve(
        &self,
        plate: &mut Plate,
        points: impl Iterator<Item = [f64; 2]>,
        stroke: Stroke,
    ) -> Result<(), Error> {
        let points: Vec<[f64; 2]> = points.map(|point| self.place(point)).collect();
        plate.clipped(self.frame, |plate| {
            plate.line(&points, stroke);
            Ok(())
        })
    }

    /// Where a point of the plot is on the drawing.
    pub(super) fn place(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let share = |value: f64, [low, high]: [f64; 2]| (value - low) / (high - low);
        [
            self.frame.x + share(x, self.x) * self.frame.width,
            self.frame.bottom() - share(y, self.y) * self.frame.height,
        ]
    }
}

/// Round values in a span, about `count` of them at most, and the decimals that tell them apart.
fn ticks([low, high]: [f64; 2], count: f64) -> (Vec<f64>, usize) {
    // The next round step above, so that there are never more than asked for.
    let step = [1.0, 2.0, 2.5, 5.0]
        .map(|part| part * round_below((high - low) / count))
        .into_iter()
        .find(|step| step * count >= (high - low) * (1.0 - 1e-9) && is_round(*step))
        .unwrap_or(high - low);
    let first = (low / step - 1e-9).ceil();
    let last = (high / step + 1e-9).floor();
    let values = (0..=(last - first) as usize).map(|index| (first + index as f64) * step);
    (values.collect(), (-step.log10() - 1e-9).ceil().clamp(0.0, 12.0) as usize)
}

/// Whether a value is 1, 2 or 5 times a power of ten.
fn is_round(value: f64) -> bool {
    (round_below(value * (1.0 + 1e-9)) / value - 1.0).abs() < 1e-6
}

/// A number of a tick, with a true minus, and its digits in threes from five digits up.
fn number(value: f64, decimals: usize) -> String {
    let text = grouped(&format!("{:.decimals$}", value.abs()));
    if value < 0.0 && text.contains(|digit| ('1'..='9').contains(&digit)) {
        format!("−{text}")
    } else {
        text
    }
}

/// "40 000"; decimals and four digits stay as they are.
fn grouped(text: &str) -> String {
    let whole = text.find('.').unwrap_or(text.len());
    if whole < 5 {
        return text.into();
    }
    let mut grouped = String::new();
    for (index, digit) in text.char_indices() {
        if index > 0 && index < whole && (whole - index).is_multiple_of(3) {
            grouped.push(' ');
        }
        grouped.push(digit);
    }
    grouped
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_of_bars_are_round() {
        for (most, round) in [(0.34, 0.2), (0.5, 0.5), (1.0, 1.0), (9.9, 5.0), (0.0021, 0.002)] {
            assert!((round_below(most) / round - 1.0).abs() < 1e-9, "{most}");
        }
    }

    #[test]
    fn ticks_are_round_few_and_inside() {
        for span in [[-0.13, 0.13], [0.0, 1.0], [0.0, 87.3], [-3e-4, 3e-4], [0.0, 4.2e5]] {
            let (values, decimals) = ticks(span, 8.0);
            assert!((3..=9).contains(&values.len()), "{span:?}: {values:?}");
            let labels: std::collections::HashSet<_> =
                values.iter().map(|value| number(*value, decimals)).collect();
            assert_eq!(labels.len(), values.len(), "{span:?}: {labels:?}");
        }
        assert_eq!(ticks([-0.02, 0.02], 8.0).1, 3);
        assert_eq!(ticks([0.0, 0.04], 4.0).1, 2);
        assert_eq!(number(-0.0, 1), "0.0");
        assert_eq!(number(-1_240_000.5, 1), "−1 240 000.5");
        assert_eq!(number(4000.0, 0), "4000");
        assert_eq!(power_of_ten(-12), "10⁻¹²");
    }
}
