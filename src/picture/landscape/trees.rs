//! Bare trees, branch by branch, and grass: strokes that grow thinner.

use super::noise::Dice;
use std::collections::BTreeMap;
use std::fmt::Write;

/// Strokes by their width, so that a tree of thousands of twigs is a dozen paths.
#[derive(Default)]
pub(super) struct Strokes(BTreeMap<u32, String>);

impl Strokes {
    /// A stroke from one place to another, curved by way of a third, in steps of width of a tenth.
    fn add(&mut self, width: f64, from: (f64, f64), by: (f64, f64), to: (f64, f64)) {
        let class = (width.max(0.1) * 10.0).round() as u32;
        let _ = write!(
            self.0.entry(class).or_default(),
            "M{:.2} {:.2}Q{:.2} {:.2} {:.2} {:.2}",
            from.0,
            from.1,
            by.0,
            by.1,
            to.0,
            to.1
        );
    }

    /// The strokes as SVG, in one colour.
    pub(super) fn svg(&self, colour: &str) -> String {
        let mut svg = format!("<g fill='none' stroke-linecap='round' stroke='{colour}'>");
        for (class, path) in self.0.iter().rev() {
            let width = f64::from(*class) / 10.0;
            let _ = write!(svg, "<path stroke-width='{width}' d='{path}'/>");
        }
        svg + "</g>"
    }
}

/// How a tree grows.
#[derive(Clone, Copy)]
pub(super) struct Habit {
    /// Width at which a twig ends, in units.
    pub(super) finest: f64,
    /// How strongly boughs turn toward the light: 0 not at all.
    pub(super) upward: f64,
    /// How crooked they are, in radians from one joint to the next.
    pub(super) crooked: f64,
}

/// One tree, from its foot; `heading` is clockwise from straight up, in radians.
pub(super) fn tree(
    strokes: &mut Strokes,
    dice: &mut Dice,
    habit: Habit,
    foot: (f64, f64),
    heading: f64,
    width: f64,
) {
    // Growing ends: place, heading, width. A list, for a tree may be deep.
    let mut ends = vec![(foot, heading, width)];
    while let Some((from, heading, width)) = ends.pop() {
        if width < habit.finest {
            continue;
        }
        let long = 5.2 * width.powf(0.72) * dice.between(0.75, 1.25);
        let turned = heading * (1.0 - habit.upward) + dice.between(-habit.crooked, habit.crooked);
        let by = ahead(from, heading, 0.5 * long);
        let to = ahead(by, turned, 0.5 * long);
        strokes.add(width, from, by, to);
        let side = if dice.between(0.0, 1.0) < 0.5 { -1.0 } else { 1.0 };
        let thinner = width * dice.between(0.86, 0.95);
        ends.push((to, turned, thinner));
        // The pipes that feed the leaves: cross-sections of a fork add up to about the stem's.
        if dice.between(0.0, 1.0) < 0.62 {
            let bough = width * dice.between(0.38, 0.72);
            ends.push((to, turned + side * dice.between(0.45, 1.0), bough));
        }
    }
}

fn ahead(from: (f64, f64), heading: f64, way: f64) -> (f64, f64) {
    (from.0 + way * heading.sin(), from.1 - way * heading.cos())
}

/// Reeds and grass along a line from `left` to `right` whose feet stand at `foot`, up to `tall`.
pub(super) fn grass(
    strokes: &mut Strokes,
    dice: &mut Dice,
    (left, right): (f64, f64),
    foot: impl Fn(f64) -> f64,
    tall: f64,
    count: usize,
) {
    for _ in 0..count {
        let x = dice.between(left, right);
        let high = tall * dice.between(0.25, 1.0).powi(2);
        let lean = high * dice.between(-0.35, 0.55);
        let from = (x, foot(x));
        let by = (x + 0.15 * lean, from.1 - 0.65 * high);
        let to = (x + lean, from.1 - high * dice.between(0.8, 1.0));
        strokes.add(dice.between(0.006, 0.014) * tall, from, by, to);
    }
}
