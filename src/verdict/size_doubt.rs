//! What a hole may lose, given how well its size is known.

use super::loss_by_size::LossBySize;
use super::thresholds::{DONE_JND, TOO_WIDE_JND};
use serde::Serialize;

/// What a hole may lose, given how well its size is known.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct SizeDoubt {
    /// The half-width of the diameter's interval (k = 2) over the diameter.
    pub relative: f64,
    /// The least loss within the interval, in jnd.
    pub least_loss_jnd: f64,
    /// The greatest loss within it, in jnd.
    pub most_loss_jnd: f64,
    /// The least loss within it, as a share of the best disc's merit, 0..1.
    pub least_loss: f64,
    /// The greatest loss within it, as a share, 0..1.
    pub most_loss: f64,
    /// Whether nothing is gained by measuring better: no eye can tell the two apart, or the loss is significant
    /// whatever the size is.
    pub enough: bool,
}

impl SizeDoubt {
    /// Over the interval of sizes `relative` about the hole's own, in 32 steps: losses change slowly. `merit_jnd` is
    /// the best disc's.
    pub fn of(sizes: &LossBySize, relative: f64, merit_jnd: f64) -> SizeDoubt {
        const STEPS: i32 = 16;
        let size = |i: i32| (1.0 + relative * f64::from(i) / f64::from(STEPS)).max(1.0 / 3.0);
        let losses = (-STEPS..=STEPS).map(|i| sizes.at(size(i)).max(0.0));
        let (least, most) = losses
            .fold((f64::INFINITY, 0.0f64), |(least, most), loss| (least.min(loss), most.max(loss)));
        SizeDoubt {
            relative,
            least_loss_jnd: least,
            most_loss_jnd: most,
            least_loss: (least / merit_jnd).min(1.0),
            most_loss: (most / merit_jnd).min(1.0),
            enough: most - least < DONE_JND || least > TOO_WIDE_JND,
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

    /// A count of 4 to a quarter, 7.2 % expanded, leaves 0.3 jnd near the best (by the sheet on perception: c of 1.49 and
    /// 1.71); one of 2 to a half, 29 %, leaves more than 3.
    #[test]
    fn a_count_to_a_quarter_is_enough_and_a_coarse_one_is_not() {
        let camera = Camera::demonstration().unwrap();
        let target = target(&camera);
        let doubt = |size: f64, relative: f64| {
            let disc = shapes::disc(size * target.diameter_mm).unwrap();
            let sizes = appraise(&camera, &target, &disc).unwrap().sizes;
            SizeDoubt::of(&sizes, relative, target.quality)
        };
        let fine = doubt(1.0, 0.072);
        assert!(fine.enough && (0.1..0.6).contains(&fine.most_loss_jnd), "{fine:?}");
        let coarse = doubt(1.0, 0.29);
        assert!(!coarse.enough && coarse.most_loss_jnd > 3.0, "{coarse:?}");
        // Half as wide as it should be: to be widened, whatever its size is to 6 %.
        let far_off = doubt(0.55, 0.064);
        assert!(far_off.enough && far_off.least_loss_jnd > 3.0, "{far_off:?}");
    }
}
