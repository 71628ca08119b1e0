//! What gives a plate its measures: scale bars, colour bars and axes.

use super::canvas::{
    Anchor, DASHED, FINE, Frame, GAP, LABEL, Letters, Plate, SOLID, Sampling, Stroke,
};
use super::ink::Colour;
use crate::error::Error;
use crate::quantity::Quantity;
use image::{Rgb, RgbImage};

/// Height of a scale bar with its label.
pub(crate) const BAR_HEIGHT: f64 = 30.0;
const TICK: f64 = 8.0;

/// The lines of plots: what was measured, and what it is held against.
pub(crate) const MEASURED: Stroke =
    Stroke { colour: Colour::Blue, width: 3.0, dashes: SOLID, cased: false };
pub(crate) const REFERENCE: Stroke =
    Stroke { colour: Colour::Grey, width: 3.0, dashes: DASHED, cased: false };

/// The largest of 1, 2 and 5 times a power of ten that is not above `most`.
fn round_below(most: f64) -> f64 {
    let power = 10f64.powf(most.log10().floor());
    let digit = [5.0, 2.0].into_iter().find(|digit| digit * power <= most).unwrap_or(1.0);
    digit * power
}

/// A bar of a round length of at most `room` (or 60 units, if that is less), and to the right of it
/// its length and what to `add` to that.
pub(crate) fn scale_bar(
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
pub(crate) fn log_colour_bar(
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
pub(crate) struct Axes<'a> {
    /// Where the curves are drawn; ticks and words stand to the left of it and beneath.
    pub(crate) frame: Frame,
    /// The room to the left of it.
    pub(crate) left: f64,
    pub(crate) x: [f64; 2],
    pub(crate) y: [f64; 2],
    /// Along which of the two equal steps are equal ratios.
    pub(crate) logarithmic: [bool; 2],
    pub(crate) x_label: &'a str,
    pub(crate) y_label: &'a str,
}

/// What ticks and words take to the left of a plot and beneath it.
pub(crate) const LEFT_OF_PLOT: f64 = 170.0;
pub(crate) const BENEATH_PLOT: f64 = 84.0;

impl Axes<'_> {
    /// Draws the axes with round ticks.
    pub(crate) fn draw(&self, plate: &mut Plate) -> Result<(), Error> {
        let Frame { x: left, y: top, .. } = self.frame;
        let (right, bottom) = (self.frame.right(), self.frame.bottom());
        let quiet = Stroke { colour: Colour::Rule, width: 1.0, ..FINE };
        // As many as have room for their words.
        let room = |length: f64, each: f64, most: f64| (length / each).floor().clamp(2.0, most);
        let [across, upwards] =
            [room(self.frame.width, 90.0, 8.0), room(self.frame.height, 60.0, 5.0)];
        for (value, words) in self.labelled(0, across) {
            let [x, _] = self.place([value, self.y[0]]);
            plate.line(&[[x, top], [x, bottom]], quiet);
            plate.line(&[[x, bottom], [x, bottom + TICK]], FINE);
            let at = [x, bottom + TICK + LABEL.leading()];
            plate.text(at, Anchor::Middle, &LABEL, &words);
        }
        for (value, words) in self.labelled(1, upwards) {
            let [_, y] = self.place([self.x[0], value]);
            plate.line(&[[left, y], [right, y]], quiet);
            plate.line(&[[left - TICK, y], [left, y]], FINE);
            plate.text([left - TICK - 8.0, centred(y)], Anchor::End, &LABEL, &words);
        }
        plate.line(&[[left, top], [left, bottom], [right, bottom]], FINE);
        let [x, y] = self.frame.centre();
        for line in LABEL.lines(self.x_label, self.frame.width + self.left, 1)? {
            plate.text([x, bottom + BENEATH_PLOT - 6.0], Anchor::Middle, &LABEL, &line);
        }
        let at = [left - self.left + LABEL.size, y];
        for line in LABEL.lines(self.y_label, self.frame.height + BENEATH_PLOT, 1)? {
            plate.turned_text(at, -90.0, Anchor::Middle, &LABEL, &line);
        }
        Ok(())
    }

    /// Round values along an axis with their words.
    fn labelled(&self, axis: usize, count: f64) -> Vec<(f64, String)> {
        let span = [self.x, self.y][axis];
        if self.logarithmic[axis] {
            return log_ticks(span, count);
        }
        let (values, decimals) = ticks(span, count);
        values.into_iter().map(|value| (value, number(value, decimals))).collect()
    }

    /// Draws a curve, cut off at the frame.
    pub(crate) fn curve(
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

    /// Where a point of the plot lies on the plate.
    pub(crate) fn place(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let share = |value: f64, [low, high]: [f64; 2], logarithmic: bool| {
            if logarithmic {
                (value.max(1e-300) / low).ln() / (high / low).ln()
            } else {
                (value - low) / (high - low)
            }
        };
        [
            self.frame.x + share(x, self.x, self.logarithmic[0]) * self.frame.width,
            self.frame.bottom() - share(y, self.y, self.logarithmic[1]) * self.frame.height,
        ]
    }
}

/// Values of 1, 2 and 5 times powers of ten in a span above zero, or the powers alone where those are too
/// many, or every so many powers.
fn log_ticks([low, high]: [f64; 2], count: f64) -> Vec<(f64, String)> {
    let inside = |value: &f64| *value >= low * (1.0 - 1e-9) && *value <= high * (1.0 + 1e-9);
    let (first, last) = (low.log10().floor() as i32, high.log10().ceil() as i32);
    let of = |digits: &[f64], step: usize| -> Vec<f64> {
        (first..=last)
            .filter(|power| power.rem_euclid(step as i32) == 0)
            .flat_map(|power| digits.iter().map(move |digit| digit * 10f64.powi(power)))
            .filter(inside)
            .collect()
    };
    let mut values = of(&[1.0, 2.0, 5.0], 1);
    let mut step = 1;
    while values.len() as f64 > count && step < 100 {
        values = of(&[1.0], step);
        step += 1;
    }
    let words = |value: f64| match value {
        v if (0.001..10_000.0).contains(&v) => number(v, (-v.log10().floor()).max(0.0) as usize),
        v => power_of_ten(v.log10().round() as i32),
    };
    values.into_iter().map(|value| (value, words(value))).collect()
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
        assert_eq!(
            log_ticks([0.05, 3.0], 6.0).iter().map(|tick| tick.1.as_str()).collect::<Vec<_>>(),
            ["0.05", "0.1", "0.2", "0.5", "1", "2"]
        );
        assert_eq!(log_ticks([1e-5, 1e3], 5.0).len(), 4);
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
