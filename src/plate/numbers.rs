//! Numbers in rings beside what they stand for, none over another.

use super::canvas::{Anchor, Frame, NUMBER, Plate, SOLID, Stroke};
use super::ink::Colour;

/// Room for three digits.
pub(super) const RADIUS: f64 = 29.0;
/// Between rings, and from a ring to what it must not hide.
const APART: f64 = 4.0;
/// How far from its place a number is looked for, in steps of its radius.
const STEPS: usize = 14;
/// Directions that are tried at each step: 15° each.
const DIRECTIONS: usize = 24;

const RING: Stroke = Stroke { colour: Colour::Ink, width: 3.0, dashes: SOLID, cased: false };
const LEADER: Stroke = Stroke { colour: Colour::Ink, width: 3.0, dashes: SOLID, cased: true };

/// The numbers on one picture.
pub(super) struct Numbers {
    frame: Frame,
    /// Middles and radii of what must not be covered.
    taken: Vec<([f64; 2], f64)>,
}

impl Numbers {
    pub(super) fn new(frame: Frame) -> Numbers {
        Numbers { frame, taken: Vec::new() }
    }

    /// Keeps a disc of the picture free of numbers.
    pub(super) fn keep_clear(&mut self, middle: [f64; 2], radius: f64) {
        self.taken.push((middle, radius));
    }

    /// A free place for a number at least `clear` from a place: the nearest, and of those the one
    /// most in the direction `towards` (rad, clockwise from +x as the plate's y runs down). None
    /// where all is taken.
    pub(super) fn beside(&mut self, at: [f64; 2], clear: f64, towards: f64) -> Option<[f64; 2]> {
        let turn = std::f64::consts::TAU / DIRECTIONS as f64;
        // 0, 1, -1, 2, -2, ...
        let turns =
            (0..DIRECTIONS).map(|k| (k.div_ceil(2)) as f64 * if k % 2 == 1 { 1.0 } else { -1.0 });
        let angles: Vec<f64> = turns.map(|k| towards + k * turn).collect();
        (0..STEPS)
            .map(|step| clear + RADIUS + APART + step as f64 * RADIUS)
            .flat_map(|reach| angles.iter().map(move |a| [reach * a.cos(), reach * a.sin()]))
            .map(|[dx, dy]| [at[0] + dx, at[1] + dy])
            .find(|&place| self.takes(place))
    }

    /// Takes a place for a number if it is free.
    pub(super) fn takes(&mut self, place: [f64; 2]) -> bool {
        let [x, y] = place;
        let edge = RADIUS + APART;
        let inside = x - edge >= self.frame.x
            && y - edge >= self.frame.y
            && x + edge <= self.frame.right()
            && y + edge <= self.frame.bottom();
        let clear = |&(middle, radius): &([f64; 2], f64)| {
            let [dx, dy] = [x - middle[0], y - middle[1]];
            dx.hypot(dy) >= radius + edge
        };
        let free = inside && self.taken.iter().all(clear);
        if free {
            self.taken.push((place, RADIUS));
        }
        free
    }
}

/// Draws a number in its ring.
pub(super) fn draw_number(plate: &mut Plate, [x, y]: [f64; 2], number: usize) {
    plate.disc([x, y], RADIUS, RING);
    let baseline = y + 0.36 * NUMBER.size;
    plate.text([x, baseline], Anchor::Middle, &NUMBER, &number.to_string());
}

/// Draws the line from the ring of a number to the edge of a disc around what it stands for.
pub(super) fn draw_leader(plate: &mut Plate, ring: [f64; 2], at: [f64; 2], radius: f64) {
    let [dx, dy] = [at[0] - ring[0], at[1] - ring[1]];
    let length = dx.hypot(dy);
    if length > RADIUS + radius {
        let along = |way: f64| [ring[0] + dx * way / length, ring[1] + dy * way / length];
        plate.line(&[along(RADIUS), along(length - radius)], LEADER);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stand_apart_and_inside_or_not_at_all() {
        let frame = Frame { x: 10.0, y: 20.0, width: 400.0, height: 300.0 };
        let mut numbers = Numbers::new(frame);
        numbers.keep_clear([200.0, 150.0], 40.0);
        let found: Vec<[f64; 2]> =
            (0..100).filter_map(|_| numbers.beside([200.0, 150.0], 40.0, 0.0)).collect();
        assert!(found.len() > 15 && found.len() < 100, "{}", found.len());
        // The first lies where it was wanted.
        assert_eq!(found[0], [200.0 + 40.0 + RADIUS + APART, 150.0]);
        for (i, a) in found.iter().enumerate() {
            assert!((a[0] - 200.0).hypot(a[1] - 150.0) >= 40.0 + RADIUS);
            assert!(a[0] - RADIUS >= frame.x && a[1] + RADIUS <= frame.bottom());
            assert!(found[..i].iter().all(|b| (a[0] - b[0]).hypot(a[1] - b[1]) >= 2.0 * RADIUS));
        }
    }
}
