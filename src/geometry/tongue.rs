//! Burrs put on an outline: tongues of metal from its rim into the opening.

use super::{Outline, Point};
use crate::error::Error;

/// How far across the opening a tongue may reach: a tip that all but touches the other side divides the hole.
const FARTHEST: f64 = 0.999;

/// Describes a burr to be put on a rim: a tongue with straight sides and a sharp tip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tongue {
    /// The direction in which it stands from the centroid, anticlockwise from +x.
    pub angle_rad: f64,
    /// From the rim to the tip, in mm.
    pub depth_mm: f64,
    /// Straight across at half the depth, in mm: as burrs are measured.
    pub width_mm: f64,
}

/// Adds burrs to the rim of an outline: each on the rim that lies farthest out in its direction, with its tip towards
/// the centroid.
///
/// # Errors
/// [`Damaged`](crate::Kind::Damaged) where no rim lies in that direction, where a burr reaches across the opening or is
/// wider than the rim there, and where two burrs share a stretch of rim.
pub fn with_tongues(outline: &Outline, tongues: &[Tongue]) -> Result<Outline, Error> {
    let mut cuts =
        tongues.iter().map(|tongue| Cut::of(outline, tongue)).collect::<Result<Vec<_>, Error>>()?;
    cuts.sort_by(|a, b| {
        (a.index, a.from.place())
            .partial_cmp(&(b.index, b.from.place()))
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    let mut loops = outline.loops().to_vec();
    for (index, points) in loops.iter_mut().enumerate() {
        let here: Vec<&Cut> = cuts.iter().filter(|cut| cut.index == index).collect();
        if !here.is_empty() {
            *points = cut_out(points, &here)?;
        }
    }
    Outline::new(loops)
}

/// A place on a loop: on the edge that begins at a vertex.
#[derive(Debug, Clone, Copy)]
struct OnRim {
    edge: usize,
    share: f64,
    point: Point,
}

impl OnRim {
    fn place(self) -> f64 {
        self.edge as f64 + self.share
    }
}

/// What a tongue takes out of a loop: the rim between two places, which run as the loop does.
#[derive(Debug)]
struct Cut {
    index: usize,
    from: OnRim,
    to: OnRim,
    tip: Point,
}

/// The ray on which a tongue lies: its direction, where it meets the rim, and the tip.
struct Ray {
    along: Point,
    tip: Point,
    /// Half the tongue's width over the distance from its tip.
    slope: f64,
}

impl Ray {
    /// How far a point lies outside the tongue's side: on the left one for +1, on the right one for -1.
    fn outside(&self, p: Point, side: f64) -> f64 {
        let [dx, dy] = [p[0] - self.tip[0], p[1] - self.tip[1]];
        let across = self.along[0] * dy - self.along[1] * dx;
        side * across - self.slope * self.beyond_tip(p)
    }

    /// How far out a point lies from the tip.
    fn beyond_tip(&self, p: Point) -> f64 {
        self.along[0] * (p[0] - self.tip[0]) + self.along[1] * (p[1] - self.tip[1])
    }
}

impl Cut {
    fn of(outline: &Outline, tongue: &Tongue) -> Result<Cut, Error> {
        let Tongue { angle_rad, depth_mm, width_mm } = *tongue;
        let is_size = |mm: f64| mm > 0.0 && mm.is_finite();
        if !is_size(depth_mm) || !is_size(width_mm) || !angle_rad.is_finite() {
            return Err(Error::outline(
                "a burr has no depth or no width",
                "give both as sizes above zero",
            ));
        }
        let (sin, cos) = angle_rad.sin_cos();
        let along = [cos, sin];
        let centre = outline.centroid_mm();
        let mut met = meetings(outline, centre, along);
        met.sort_by(|a, b| b.0.total_cmp(&a.0));
        let (Some(&(out, index, edge, share)), Some(&(next, ..))) = (met.first(), met.get(1))
        else {
            return Err(no_rim());
        };
        if out <= 0.0 {
            return Err(no_rim());
        }
        if depth_mm > FARTHEST * (out - next) {
            return Err(Error::outline(
                format!(
                    "the burr, {depth_mm} mm deep, reaches across the opening, which is {:.3} mm there",
                    out - next
                ),
                "give a depth below the width of the opening",
            ));
        }
        let at = |t: f64| [centre[0] + t * cos, centre[1] + t * sin];
        let ray = Ray { along, tip: at(out - depth_mm), slope: width_mm / depth_mm };
        let points = &outline.loops()[index];
        let hit = OnRim { edge, share, point: at(out) };
        let to = walked(points, hit, &ray, true);
        let from = walked(points, hit, &ray, false);
        let wide_enough = |end: &OnRim| ray.beyond_tip(end.point) > depth_mm / 2.0;
        match (from.filter(wide_enough), to.filter(wide_enough)) {
            (Some(from), Some(to)) => Ok(Cut { index, from, to, tip: ray.tip }),
            _ => Err(Error::outline(
                format!("the burr, {width_mm} mm wide, is wider than the rim that it stands on"),
                "give a smaller width, or less depth",
            )),
        }
    }
}

fn no_rim() -> Error {
    Error::outline(
        "a burr points where the hole has no rim, seen from its middle",
        "give it another angle",
    )
}

/// Where the line through the centre along the ray meets the rims: how far out, loop, edge, share of the edge.
fn meetings(outline: &Outline, centre: Point, along: Point) -> Vec<(f64, usize, usize, f64)> {
    let across = |p: Point| along[0] * (p[1] - centre[1]) - along[1] * (p[0] - centre[0]);
    let out = |p: Point| along[0] * (p[0] - centre[0]) + along[1] * (p[1] - centre[1]);
    let mut met = Vec::new();
    for (index, points) in outline.loops().iter().enumerate() {
        for (edge, (a, b)) in super::edges(points).enumerate() {
            let (left, right) = (across(a), across(b));
            // Half open, so that a vertex on the line counts once.
            if (left < 0.0) != (right < 0.0) {
                let share = left / (left - right);
                met.push((out(a) + share * (out(b) - out(a)), index, edge, share));
            }
        }
    }
    met
}

/// Walks along a loop from where the ray meets it to where the tongue's side does: the way the loop runs, or against it.
fn walked(points: &[Point], hit: OnRim, ray: &Ray, forward: bool) -> Option<OnRim> {
    let count = points.len();
    // An opening runs anticlockwise: forwards lies to the left of the ray.
    let side = if forward { 1.0 } else { -1.0 };
    let mut last = (hit.point, hit.share);
    for step in 0..count {
        let (edge, end) = if forward {
            let edge = (hit.edge + step) % count;
            (edge, points[(edge + 1) % count])
        } else {
            let edge = (hit.edge + count - step) % count;
            (edge, points[edge])
        };
        let (before, after) = (ray.outside(last.0, side), ray.outside(end, side));
        if after >= 0.0 {
            let part = before / (before - after);
            let point =
                [last.0[0] + part * (end[0] - last.0[0]), last.0[1] + part * (end[1] - last.0[1])];
            let goal = if forward { 1.0 } else { 0.0 };
            return Some(OnRim { edge, share: last.1 + part * (goal - last.1), point });
        }
        last = (end, if forward { 0.0 } else { 1.0 });
    }
    None
}

/// The loop with its rim taken out between the ends of each cut, and the tips put in.
fn cut_out(points: &[Point], cuts: &[&Cut]) -> Result<Vec<Point>, Error> {
    let count = points.len() as f64;
    let mut rim = Vec::with_capacity(points.len() + 3 * cuts.len());
    for (i, cut) in cuts.iter().enumerate() {
        let next = cuts[(i + 1) % cuts.len()];
        // Places beyond the loop's end come round again.
        let after = |place: f64, start: f64| start + (place - start).rem_euclid(count);
        let start = cut.from.place();
        let end = after(cut.to.place(), start);
        let next_start =
            if cuts.len() == 1 { start + count } else { after(next.from.place(), start) };
        if next_start <= end {
            return Err(Error::outline(
                "two burrs share a stretch of the rim",
                "give them other angles, or make them narrower",
            ));
        }
        rim.extend([cut.from.point, cut.tip, cut.to.point]);
        let first = end.floor() as usize + 1;
        let kept = (first..).take_while(|&vertex| (vertex as f64) < next_start);
        rim.extend(kept.map(|vertex| points[vertex % points.len()]));
    }
    Ok(rim)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes;
    use std::f64::consts::PI;

    fn tongue(angle_rad: f64, depth_mm: f64, width_mm: f64) -> Tongue {
        Tongue { angle_rad, depth_mm, width_mm }
    }

    /// On the flat side of a square a tongue is a triangle: as high as it is deep, twice as wide at its base as at half its
    /// height, so that it takes depth × width.
    #[test]
    fn a_tongue_takes_its_own_area() {
        let square = shapes::rectangle(0.4, 0.4).unwrap();
        for angle in [0.0, PI / 2.0, PI, -PI / 2.0] {
            let burred = with_tongues(&square, &[tongue(angle, 0.1, 0.06)]).unwrap();
            assert!((burred.area_mm2() - (0.16 - 0.006)).abs() < 1e-12, "{angle}");
        }
        let both =
            with_tongues(&square, &[tongue(PI, 0.1, 0.06), tongue(0.1, 0.05, 0.02)]).unwrap();
        let slanted = with_tongues(&square, &[tongue(0.1, 0.05, 0.02)]).unwrap();
        assert!((both.area_mm2() - (slanted.area_mm2() - 0.006)).abs() < 1e-12);
    }

    /// The same as the disc that is made with one burr at once: its half-width at the rim is sides' slope times height.
    #[test]
    fn on_a_disc_it_is_the_burred_disc() {
        let (radius, depth, half_width) = (0.15, 0.05, 0.2f64);
        let exact = shapes::burred_disc(2.0 * radius, 0.7, half_width, depth).unwrap();
        let height = radius * half_width.cos() - (radius - depth);
        let width = radius * half_width.sin() / height * depth;
        let made = with_tongues(&shapes::disc(2.0 * radius).unwrap(), &[tongue(0.7, depth, width)])
            .unwrap();
        assert!((made.area_mm2() / exact.area_mm2() - 1.0).abs() < 1e-5);
        let [dx, dy] = [0, 1].map(|i| made.centroid_mm()[i] - exact.centroid_mm()[i]);
        assert!(dx.hypot(dy) < 1e-6, "{dx} {dy}");
    }

    #[test]
    fn what_does_not_fit_is_refused() {
        let disc = shapes::disc(0.3).unwrap();
        let cases = [
            (vec![tongue(0.0, 0.3, 0.02)], "reaches across"),
            (vec![tongue(0.0, 0.05, 0.4)], "wider than the rim"),
            (vec![tongue(0.0, 0.05, 0.05), tongue(0.2, 0.05, 0.05)], "share a stretch"),
            (vec![tongue(0.0, 0.05, 0.02), tongue(0.0, 0.05, 0.02)], "share a stretch"),
            (vec![tongue(0.0, 0.0, 0.02)], "no depth"),
            (vec![tongue(f64::NAN, 0.1, 0.02)], "no depth"),
        ];
        for (tongues, expected) in cases {
            let said = with_tongues(&disc, &tongues).unwrap_err().to_string();
            assert!(said.contains(expected), "{said}");
        }
        let pair = shapes::pair(0.2, 0.5).unwrap();
        assert!(with_tongues(&pair, &[tongue(PI / 2.0, 0.05, 0.02)]).is_err());
        // The ring's metal lies 0.1 mm inside its rim.
        let ring = shapes::annulus(0.4, 0.2).unwrap();
        assert!(with_tongues(&ring, &[tongue(1.0, 0.09, 0.02)]).is_ok());
        assert!(with_tongues(&ring, &[tongue(1.0, 0.11, 0.02)]).is_err());
    }

    #[test]
    fn burrs_come_in_any_order_and_over_the_loop_s_beginning() {
        let disc = shapes::disc(0.3).unwrap();
        let mut tongues = [0.0, 1.0, 2.5, 4.0, 6.1].map(|angle| tongue(angle, 0.03, 0.01)).to_vec();
        let area = with_tongues(&disc, &tongues).unwrap().area_mm2();
        let one = disc.area_mm2() - with_tongues(&disc, &tongues[1..2]).unwrap().area_mm2();
        assert!(((disc.area_mm2() - area) / one - 5.0).abs() < 1e-3);
        tongues.reverse();
        assert!((with_tongues(&disc, &tongues).unwrap().area_mm2() / area - 1.0).abs() < 1e-12);
    }
}
