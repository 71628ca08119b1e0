//! Holes of other shapes: near the film their shadow, far from it their far field.

use super::Bench;
use super::maps::{Brightness, grid, map};
use crate::diagram::{Columns, Diagram, Drawing, Panel, Shows};
use crate::error::Error;
use crate::geometry::{Outline, shapes};
use crate::quantity::Quantity;
use crate::verdict::target::target;
use crate::wave::{Aperture, Distances, Light, MM_PER_NM, Psf, fresnel_number};
use std::f64::consts::TAU;

/// Fresnel numbers of a disc of the same area on near film and on far film.
const NEAR: f64 = 12.0;
const FAR: f64 = 0.01;
/// Length over width of the slit, the inner radius of the star over its outer one (that of a pentagram), and
/// the distance of two discs in diameters of one.
const SLIT: f64 = 5.0;
const STAR: f64 = 0.382;
const APART: f64 = 1.7;
/// Width of what is shown of the hole and of the near field, in diameters of the disc; reach of the far field
/// in units of λz over that diameter.
const SPAN: f64 = 2.4;
const REACH: f64 = 4.5;

pub(super) fn draw(bench: &Bench) -> Result<Diagram, Error> {
    let camera = &bench.camera;
    let light = Light::single(camera.light.mean_nm().round())?;
    let nm = light.mean_nm();
    let diameter = target(camera).diameter_mm;
    // A hole's Fresnel number and its distance may change places.
    let distance = |number: f64| fresnel_number(diameter / 2.0, nm, number);
    let (near_mm, far_mm) = (distance(NEAR), distance(FAR));
    let span = SPAN * diameter;
    let unit = nm * MM_PER_NM * far_mm / diameter;
    let lit = |hole: &Outline, film_mm: f64, reach: f64, brightness| {
        let psf = on_film(hole, &light, film_mm, reach)?;
        Ok::<_, Error>(Shows::Picture(map(&psf, psf.peak(), brightness)))
    };
    let mut panels = Vec::new();
    for (name, hole) in holes(diameter)? {
        let near = lit(&hole, near_mm, span / 2.0, Brightness::Linear)?;
        let far = lit(&hole, far_mm, REACH * unit, Brightness::Logarithmic)?;
        let outline = Shows::Drawing(Drawing {
            span_mm: [span, span],
            openings: vec![hole],
            rims: Vec::new(),
            strokes: Vec::new(),
            magnified: None,
        });
        for (where_to, shows) in [("", outline), (", near", near), (", far", far)] {
            panels.push(Panel { title: format!("{name}{where_to}"), shows });
        }
    }
    let length = |mm| Quantity::Length.write(mm);
    Ok(Diagram {
        title: "Other shapes: their shadow near by, their far field far away".into(),
        caption: format!(
            "Four holes of the area of a disc of {}, lit by a distant point in light of {nm:.0} nm. On film \
             {} behind them (Fresnel number {NEAR}, by a disc of that area) each draws itself, with fringes along \
             its rim; on film {} away (Fresnel number {FAR}) the far field is widest where the hole is narrow, \
             every straight side throws a ray across it, and two holes make stripes. Each map is drawn to its own \
             peak, the near ones in proportion, the far ones by the logarithm over four decades.",
            length(diameter),
            length(near_mm),
            length(far_mm),
        ),
        alternative: "A square, a slit, a star and two discs, each with its sharp shadow with fringes and with \
                      its far field: a cross, a row of spots across the slit, ten rays, and rings cut by \
                      stripes."
            .into(),
        columns: Columns::Fixed(3),
        panels,
    })
}

/// Holes of the area of a disc.
fn holes(diameter_mm: f64) -> Result<Vec<(&'static str, Outline)>, Error> {
    let disc = shapes::disc(1.0)?;
    let beside = |x: f64| disc.moved(x, 0.0).loops().to_vec();
    let two = Outline::new([beside(-APART / 2.0), beside(APART / 2.0)].concat())?;
    let corner = |i: usize| {
        let (sin, cos) = (TAU * (0.25 + i as f64 / 10.0)).sin_cos();
        let radius = if i.is_multiple_of(2) { 1.0 } else { STAR };
        [radius * cos, radius * sin]
    };
    let star = Outline::new(vec![(0..10).map(corner).collect()])?;
    let raw = [
        ("Square", shapes::rectangle(1.0, 1.0)?),
        ("Slit", shapes::rectangle(1.0, SLIT)?),
        ("Star", star),
        ("Two holes", two),
    ];
    let as_large =
        |hole: Outline| hole.scaled(diameter_mm / hole.equivalent_diameter_mm()).centred();
    Ok(raw.into_iter().map(|(name, hole)| (name, as_large(hole))).collect())
}

/// The light of a distant point behind a hole.
fn on_film(hole: &Outline, light: &Light, film_mm: f64, reach_mm: f64) -> Result<Psf, Error> {
    Aperture::of(hole).psf(light, Distances::distant(film_mm)?, grid(reach_mm)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wave::analytic::slit_irradiance;
    use std::f64::consts::PI;

    const NM: f64 = 550.0;
    const DIAMETER: f64 = 0.4;

    fn light_of(index: usize, number: f64, reach_mm: f64) -> (Outline, f64, Psf) {
        let (_, hole) = holes(DIAMETER).unwrap().swap_remove(index);
        assert!((hole.area_mm2() / (PI * DIAMETER * DIAMETER / 4.0) - 1.0).abs() < 1e-9);
        let film_mm = fresnel_number(DIAMETER / 2.0, NM, number);
        let light = Light::single(NM).unwrap();
        let psf = on_film(&hole, &light, film_mm, reach_mm).unwrap();
        (hole, film_mm, psf)
    }

    /// Far away a square is sinc² both ways (`Goodman`, 4.4), and two discs have dark stripes where the paths
    /// differ by half a wavelength: λz/(2s) from the middle.
    #[test]
    fn far_fields_are_those_of_theory() {
        let unit = |film_mm: f64| NM * MM_PER_NM * film_mm / DIAMETER;
        let film_mm = fresnel_number(DIAMETER / 2.0, NM, FAR);
        let reach = 2.0 * unit(film_mm);
        let (square, _, psf) = light_of(0, FAR, reach);
        let side = square.bounds_mm().1[0] * 2.0;
        let middle = psf.grid().size() / 2;
        for step in [20, 60, 110, 150] {
            let x = PI * side * step as f64 * psf.grid().pitch_mm() / (NM * MM_PER_NM * film_mm);
            let theory = (x.sin() / x).powi(2);
            let found = psf.density[[middle, middle + step]] / psf.peak();
            // A Fresnel number of 0.01 fills the dark by its square, a few parts in 10 000.
            assert!((found - theory).abs() < 5e-4, "{step}: {found} {theory}");
        }
        let (two, _, psf) = light_of(3, FAR, reach);
        let [x, _] = two.loops()[1].iter().fold([0.0; 2], |sum, p| [sum[0] + p[0], sum[1] + p[1]]);
        let apart = 2.0 * (x / two.loops()[1].len() as f64).abs();
        let dark = NM * MM_PER_NM * film_mm / (2.0 * apart) / psf.grid().pitch_mm();
        let row: Vec<f64> = (0..80).map(|i| psf.density[[middle, middle + i]]).collect();
        let found = row.windows(3).position(|three| three[1] < three[0] && three[1] <= three[2]);
        // To the sample.
        assert!((found.unwrap() as f64 + 1.0 - dark).abs() <= 1.0, "{found:?} {dark}");
        assert!(row[found.unwrap() + 1] < 5e-3 * row[0]);
    }

    /// Near by the light of a rectangle is the product of two slits', in Fresnel's integrals.
    #[test]
    fn near_fields_are_those_of_theory() {
        for index in [0, 1] {
            let (hole, film_mm, psf) = light_of(index, NEAR, SPAN * DIAMETER / 2.0);
            let half = hole.bounds_mm().1;
            let number = half.map(|half| fresnel_number(half, NM, film_mm));
            let grid = psf.grid();
            let middle = grid.size() / 2;
            for step in [0, 13, 40, 75, 120] {
                let x = step as f64 * grid.pitch_mm() / half[0];
                let open = slit_irradiance(number[0], x) * slit_irradiance(number[1], 0.0);
                let theory = open / hole.area_mm2();
                let found = psf.density[[middle, middle + step]];
                // The engine's stated error.
                assert!((found - theory).abs() < 1e-7 * psf.peak(), "{step}: {found} {theory}");
            }
        }
    }
}
