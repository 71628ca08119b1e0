//! Whether a hole's size is known well enough to decide by.

use super::advice::ACCEPTABLE;
use super::by_size::LossBySize;
use super::reasons::percent;
use serde::Serialize;

/// Losses that differ by less than this look alike, even side by side. Common practice, no source.
const ALIKE: f64 = 0.05;
/// What a hole may lose, given how well its size is known.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SizeDoubt {
    /// The half-width of the diameter's interval (k = 2) over the diameter.
    pub relative: f64,
    /// The least loss of sharpness within the interval, 0..1.
    pub least_loss: f64,
    /// The greatest loss within it, 0..1.
    pub most_loss: f64,
    /// Whether nothing is gained by measuring better: the two look alike, or the loss is plain to see
    /// whatever the size is.
    pub enough: bool,
}

impl SizeDoubt {
    /// Over the interval of sizes `relative` about the hole's own, in 32 steps: losses change slowly.
    pub fn of(sizes: &LossBySize, relative: f64) -> SizeDoubt {
        const STEPS: i32 = 16;
        let losses = (-STEPS..=STEPS)
            .map(|i| sizes.at(1.0 + relative * f64::from(i) / f64::from(STEPS)).max(0.0));
        let (least_loss, most_loss) = losses
            .fold((f64::INFINITY, 0.0f64), |(least, most), loss| (least.min(loss), most.max(loss)));
        SizeDoubt {
            relative,
            least_loss,
            most_loss,
            enough: most_loss - least_loss < ALIKE || least_loss > ACCEPTABLE,
        }
    }

    /// The same as a sentence.
    pub fn in_words(&self) -> String {
        let known = format!("The size is known to ±{}", percent(self.relative));
        let range = match (percent(self.least_loss), percent(self.most_loss)) {
            (least, most) if least == most => format!("the loss is {most} all over that range"),
            (least, most) => format!("the loss lies between {least} and {most}"),
        };
        if self.enough {
            format!("{known}, which is good enough: {range}.")
        } else {
            format!(
                "{known}, which is not good enough to decide by: {range}. Measure it in a photo."
            )
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::camera::Camera;
    use crate::geometry::shapes;
    use crate::verdict::appraise::appraise;
    use crate::verdict::target::target;

    /// Loss near the best is 1.85 (Δd/d)² (fitted to the merit's computed bands: 5 % of loss at 16 %),
    /// so a count to a quarter of 4 diameters, 6.2 % and 7.2 % expanded, costs 1 % at most; to half of 2
    /// diameters, 29 % expanded, it costs some 15 %.
    #[test]
    fn a_count_to_a_quarter_is_enough_and_a_coarse_one_is_not() {
        let camera = Camera::demonstration().unwrap();
        let target = target(&camera);
        let best = shapes::disc(target.diameter_mm).unwrap();
        let sizes = appraise(&camera, &target, &best).unwrap().sizes;
        let fine = SizeDoubt::of(&sizes, 0.072);
        assert!(fine.enough && (0.006..0.016).contains(&fine.most_loss), "{fine:?}");
        let coarse = SizeDoubt::of(&sizes, 0.29);
        assert!(!coarse.enough && (0.1..0.25).contains(&coarse.most_loss), "{coarse:?}");
        assert!(coarse.in_words().contains("not good enough"), "{}", coarse.in_words());
        // Half as wide as it should be: to be widened, whatever its size is to 6 %.
        let half = shapes::disc(0.55 * target.diameter_mm).unwrap();
        let sizes = appraise(&camera, &target, &half).unwrap().sizes;
        let far_off = SizeDoubt::of(&sizes, 0.064);
        assert!(far_off.enough && far_off.least_loss > 0.1, "{far_off:?}");
    }
}
