//! The disc whose light keeps together best: the smallest circle that holds a share of the energy.

use crate::error::Error;
use crate::wave::analytic::disc_growth;
use crate::wave::{Distances, Light, MM_PER_NM, fresnel_number};
use std::f64::consts::PI;

/// The constants c, d = c √(λz), between which the best disc of one wavelength lies: it is 1.1 for
/// shares of about 0.77, where a wider dip takes over, and 2.7 for 0.95.
const LEAST_CONSTANT: f64 = 1.0;
const LARGEST_CONSTANT: f64 = 2.8;
/// The largest step of a coarse look over them, in ln d.
const COARSE: f64 = 0.1;
/// What a share of the energy may be wrong by in the coarse look, and in the end.
const COARSE_ERROR: f64 = 1e-3;
const FINE_ERROR: f64 = 1e-11;

/// A disc and the circle on the film that holds the asked share of its light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tightest {
    /// The diameter of the disc, in mm.
    pub diameter_mm: f64,
    /// The diameter of the circle, in mm.
    pub circle_mm: f64,
}

/// The diameter of the disc whose circle with `share` of the energy is smallest, energies of all
/// wavelengths added, by the closed form of encircled energy. The minimum is flat: the circle is
/// right to 1e-9, the disc to 1e-5. In light of lines a thousand times apart the shorter one's fine
/// ripples make dips of their own, and the circle is right to 1e-5.
///
/// # Errors
/// [`BeyondLimit`](crate::Kind::BeyondLimit) unless the share is between 0.1 and 0.95: outside, circles are cut by single rings
/// and the smallest says nothing of a picture.
pub fn tightest_disc(light: &Light, distances: Distances, share: f64) -> Result<Tightest, Error> {
    if !(0.1..=0.95).contains(&share) {
        return Err(Error::limit(
            format!("a circle of {share} of the energy does not measure sharpness"),
            "ask for a share between 0.1 and 0.95",
        ));
    }
    let dips = dips(light, distances, share);
    let lowest = dips.iter().map(|dip| dip.ln_circle).fold(f64::INFINITY, f64::min);
    // Circles jump where a ring leaves them, so there may be several dips; the coarse look tells them
    // apart to a hundredth.
    let near = dips.iter().filter(|dip| dip.ln_circle < lowest + 0.01);
    let found = near.map(|dip| dip.bottom(light, distances, share));
    let best = found.min_by(|a, b| a.ln_circle.total_cmp(&b.ln_circle)).unwrap_or_default();
    Ok(Tightest { diameter_mm: best.ln_diameter.exp(), circle_mm: best.ln_circle.exp() })
}

/// A disc, the circle that holds the share of its energy, and how the circle grows with the disc, all
/// as logarithms of mm.
#[derive(Debug, Clone, Copy, Default)]
struct Circle {
    ln_diameter: f64,
    ln_circle: f64,
    slope: f64,
}

/// A disc near one whose circle is smallest, and about where and how small that is.
struct Dip {
    nearest: Circle,
    ln_diameter: f64,
    ln_circle: f64,
}

/// The coarse look: circles in ever larger discs, with few wavelengths.
fn dips(light: &Light, distances: Distances, share: f64) -> Vec<Dip> {
    let unit = |nm: f64| (nm * MM_PER_NM * distances.effective_mm()).sqrt().ln();
    let start = unit(light.mean_nm()) + (2.0 * distances.shadow_magnification()).ln();
    // A circle 2 √(λz) wide about a disc of 1.8 √(λz), or the far field's 2/(πw) beyond w.
    let w = f64::max(1.8 * PI, 2.0 / (PI * (1.0 - share)));
    let few = light.condensed(light.lines_for(phase(1.8, w), COARSE_ERROR));
    let task = Task { light: &few, distances, share, step: 0.01 };
    // The more rings the circle holds the nearer lie the dips. Between a dip and the top after it lies at
    // least a twentieth for 0.95, a ninth for 0.9 and a fifth for 0.85.
    let step = COARSE.min((1.0 - share) / 2.0);
    let mut low = task.circle(unit(light.shortest_nm()) + LEAST_CONSTANT.ln(), start);
    // A disc that is small enough gives a smaller circle when it grows.
    while low.slope >= 0.0 {
        low = task.circle(low.ln_diameter - step, low.after(-step));
    }
    let end = unit(light.longest_nm()) + LARGEST_CONSTANT.ln();
    let mut dips = Vec::new();
    while low.ln_diameter < end || dips.is_empty() {
        let high = task.circle(low.ln_diameter + step, low.after(step));
        if low.slope < 0.0 && high.slope >= 0.0 {
            dips.push(Dip::between(low, high));
        }
        low = high;
    }
    dips
}

/// The largest phase of a disc's encircled energy, that of a pair of rays, in rad.
fn phase(constant: f64, w: f64) -> f64 {
    // u/2 = πN and N = c²/4, and w for each ray.
    PI * constant * constant / 4.0 + 2.0 * w
}

impl Dip {
    fn between(low: Circle, high: Circle) -> Dip {
        let part = low.slope / (low.slope - high.slope);
        let x = low.ln_diameter + part * (high.ln_diameter - low.ln_diameter);
        // The parabola seen from both sides.
        let seen = |from: Circle| from.ln_circle + from.slope * (x - from.ln_diameter) / 2.0;
        Dip {
            nearest: if part < 0.5 { low } else { high },
            ln_diameter: x,
            ln_circle: (seen(low) + seen(high)) / 2.0,
        }
    }

    /// The place where the slope is none: secants downhill, kept between what is too small and what too
    /// large.
    fn bottom(&self, light: &Light, distances: Distances, share: f64) -> Circle {
        let z = distances.effective_mm();
        let constant = self.ln_diameter.exp() / (light.mean_nm() * MM_PER_NM * z).sqrt();
        let w = PI * (self.ln_diameter + self.ln_circle).exp()
            / (2.0 * light.mean_nm() * MM_PER_NM * distances.film_mm());
        let light = light.condensed(light.lines_for(phase(constant, w), FINE_ERROR));
        let task = Task { light: &light, distances, share, step: 1e-6 };
        let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
        let mut before = self.nearest;
        let mut here = task.circle(self.ln_diameter, self.ln_circle);
        for _ in 0..60 {
            (low, high) =
                if here.slope < 0.0 { (here.ln_diameter, high) } else { (low, here.ln_diameter) };
            let bend = (here.slope - before.slope) / (here.ln_diameter - before.ln_diameter);
            let step = -here.slope / bend;
            // The rest is a parabola, and so low that its bend's error counts for nothing.
            if bend > 0.0 && (here.slope * step).abs() < 1e-9 {
                here.ln_circle += here.slope * step / 2.0;
                here.ln_diameter += step;
                break;
            }
            let step =
                if bend > 0.0 { step.clamp(-COARSE, COARSE) } else { -COARSE.copysign(here.slope) };
            let next = here.ln_diameter + step;
            let next = if next > low && next < high { next } else { (low + high) / 2.0 };
            let step = next - here.ln_diameter;
            let start = here.after(step) + bend.clamp(0.0, 10.0) * step * step / 2.0;
            (before, here) = (here, task.circle(next, start));
        }
        here
    }
}

impl Circle {
    /// About where the circle is for a disc that is larger by so much.
    fn after(self, step: f64) -> f64 {
        // Where a dark ring leaves the circle the slope holds only for an instant.
        self.ln_circle + (self.slope * step).clamp(-0.3, 0.3)
    }
}

/// What circle is looked for.
struct Task<'a> {
    light: &'a Light,
    distances: Distances,
    share: f64,
    /// A Newton step so small, in ln of the circle, is the last.
    step: f64,
}

impl Task<'_> {
    /// The circle of a disc: Newton's steps, kept between what is too small and what too large.
    fn circle(&self, ln_diameter: f64, start: f64) -> Circle {
        const FARTHEST: f64 = 0.7;
        let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
        let mut circle = Circle { ln_diameter, ln_circle: start, slope: 0.0 };
        for _ in 0..60 {
            let at = circle.ln_circle;
            let (excess, by_disc, by_circle) = self.excess(ln_diameter, at);
            (low, high) = if excess < 0.0 { (at, high) } else { (low, at) };
            let step = -excess / by_circle;
            circle.slope = -by_disc / by_circle;
            if step.abs() < self.step {
                circle.ln_circle = at + step;
                break;
            }
            let next = at + step.clamp(-FARTHEST, FARTHEST);
            circle.ln_circle = if next > low && next < high {
                next
            } else {
                (low.max(at - FARTHEST) + high.min(at + FARTHEST)) / 2.0
            };
        }
        circle
    }

    /// The energy in a circle over the share, and its slopes over the logarithms of the disc and the
    /// circle.
    fn excess(&self, ln_diameter: f64, ln_circle: f64) -> (f64, f64, f64) {
        let (diameter_mm, circle_mm) = (ln_diameter.exp(), ln_circle.exp());
        let (mut excess, mut by_disc, mut by_circle) = (-self.share, 0.0, 0.0);
        for &(nm, weight) in self.light.lines() {
            let n = fresnel_number(diameter_mm / 2.0, nm, self.distances.effective_mm());
            // w = π d R/(λv) goes with both diameters, u = 2πN with the disc's square.
            let w =
                PI * diameter_mm * circle_mm / (2.0 * nm * MM_PER_NM * self.distances.film_mm());
            let growth = disc_growth(n, w);
            excess += weight * growth.share;
            by_disc += weight * (w * growth.per_w + 4.0 * PI * n * growth.per_u);
            by_circle += weight * w * growth.per_w;
        }
        (excess, by_disc, by_circle)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wave::analytic::disc_encircled;

    /// One wavelength: the constants c where circles of 50, 80 and 90 % are smallest, and one over
    /// their diameters in v √(λ/z), computed independently from the OTF's closed form.
    #[test]
    fn smallest_circles_are_those_computed_elsewhere() {
        let light = Light::single(500.0).unwrap();
        // √(λz) = 1 mm, and so is v √(λ/z).
        let distances = Distances::distant(2000.0).unwrap();
        for (share, constant, inverse) in
            [(0.5, 1.494_383, 1.125_319), (0.8, 1.793_529, 0.494_515), (0.9, 1.945_086, 0.329_127)]
        {
            let found = tightest_disc(&light, distances, share).unwrap();
            assert!((found.diameter_mm - constant).abs() < 5e-5, "{share}: {}", found.diameter_mm);
            // The table's last digit.
            assert!((1.0 / found.circle_mm - inverse).abs() < 6e-7, "{share}: {}", found.circle_mm);
        }
        assert!(tightest_disc(&light, distances, 0.0).is_err());
    }

    /// 31 wavelengths, film at 80 mm: mpmath with 30 digits, benches/peers/diameter_task.py.
    #[test]
    fn the_disc_for_white_light_is_that_computed_elsewhere() {
        let lines: Vec<(f64, f64)> = (0..31).map(|i| (400.0 + 10.0 * f64::from(i), 1.0)).collect();
        let light = Light::new(&lines).unwrap();
        let found = tightest_disc(&light, Distances::distant(80.0).unwrap(), 0.8).unwrap();
        assert!((found.diameter_mm / 0.349_822_067_9 - 1.0).abs() < 1e-6, "{found:?}");
        assert!(
            (found.circle_mm / 2.0 / 0.218_651_726_684_183_74 - 1.0).abs() < 1e-10,
            "{found:?}"
        );
    }

    /// No disc whatever puts more of its energy into the circle that was found; the one found puts the
    /// share there.
    #[test]
    fn no_disc_does_better() {
        let lights = [
            vec![(500.0, 1.0)],
            vec![(400.0, 1.0), (700.0, 1.0)],
            vec![(300.0, 1.0), (3000.0, 1.0)],
            vec![(300.0, 9.0), (3000.0, 1.0)],
            vec![(20.0, 9.0), (20_000.0, 1.0)],
            (0..40).map(|i| (380.0 + 10.0 * f64::from(i), 0.2 + f64::from(i * 7 % 5))).collect(),
        ];
        for (lines, subject) in lights.iter().zip([f64::INFINITY, 300.0].into_iter().cycle()) {
            let light = Light::new(lines).unwrap();
            let distances = Distances::new(subject, 200.0).unwrap();
            let z = distances.effective_mm();
            let energy = |diameter: f64, circle: f64| -> f64 {
                let of_line = |&(nm, weight): &(f64, f64)| {
                    let w = PI * diameter * circle / (2.0 * nm * MM_PER_NM * 200.0);
                    weight * disc_encircled(fresnel_number(diameter / 2.0, nm, z), w)
                };
                light.lines().iter().map(of_line).sum()
            };
            let unit = |nm: f64| (nm * MM_PER_NM * z).sqrt();
            let (least, most) = (0.5 * unit(light.shortest_nm()), 4.0 * unit(light.longest_nm()));
            for share in [0.1, 0.25, 0.4, 0.5, 0.65, 0.75, 0.78, 0.8, 0.85, 0.9, 0.93, 0.95] {
                let found = tightest_disc(&light, distances, share).unwrap();
                let there = energy(found.diameter_mm, found.circle_mm);
                assert!((there - share).abs() < 1e-9, "{lines:?} {share}: {there}");
                // The ripples of lines a thousand times apart are finer than the coarse look.
                let ripple = if lines[0].0 == 20.0 { 1e-5 } else { 1e-9 };
                for i in 0..=400 {
                    let diameter = least * (most / least).powf(f64::from(i) / 400.0);
                    let other = energy(diameter, found.circle_mm);
                    assert!(
                        other < share + ripple,
                        "{lines:?} {share} {diameter}: {other} {found:?}"
                    );
                }
            }
        }
    }
}
