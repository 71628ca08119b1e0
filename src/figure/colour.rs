//! The colour that a medium sees, and the best size for it.

use super::Bench;
use super::maps::{Brightness, map, point};
use crate::camera::spectrum::{self, Illuminant, Medium};
use crate::camera::{Camera, PointImage};
use crate::diagram::{Axis, Chart, Columns, Curve, Diagram, Line, Mark, Panel, Shows};
use crate::error::Error;
use crate::geometry::{Point, shapes};
use crate::quantity::{Quantity, jnd, significant};
use crate::verdict::merit::quality_of_disc;
use crate::verdict::target::{Target, target};
use crate::wave::Psf;
use rayon::prelude::*;

/// The daylight of photographic practice, D55.
const DAYLIGHT: &str = "D55";
/// Diameters over the best of both between which the curves are drawn, and how many.
const FROM_TO: [f64; 2] = [0.35, 1.9];
const SIZES: usize = 120;
/// How far the maps reach, in extents of the larger image.
const REACH: f64 = 0.8;

/// The camera with a medium in it, and its best size.
struct Loaded {
    words: &'static str,
    camera: Camera,
    target: Target,
}

impl Loaded {
    fn with(camera: &Camera, words: &'static str, medium: &Medium) -> Result<Loaded, Error> {
        let daylight = Illuminant::named(DAYLIGHT).unwrap_or(Illuminant::Flat);
        let light = spectrum::light(&daylight, None, medium)?;
        let camera = Camera { light, in_colour: false, ..camera.clone() };
        Ok(Loaded { words, target: target(&camera), camera })
    }

    fn best(&self) -> String {
        Quantity::Length.write(self.target.diameter_mm)
    }

    /// What is lost of `whole`, in jnd, over the diameter.
    fn curve(&self, [from, to]: [f64; 2], whole: f64) -> Vec<Point> {
        let points = (0..=SIZES).into_par_iter().map(|i| {
            let diameter = from + (to - from) * i as f64 / SIZES as f64;
            [diameter, whole - quality_of_disc(&self.camera, diameter)]
        });
        points.collect()
    }
}

pub(super) fn draw(bench: &Bench) -> Result<Diagram, Error> {
    let paper = Loaded::with(&bench.camera, "Blue-sensitive paper", &Medium::BlueSensitive)?;
    let film = Loaded::with(&bench.camera, "Panchromatic film", &Medium::Panchromatic)?;
    let both = [&paper, &film];
    let from_to = [
        FROM_TO[0] * paper.target.diameter_mm.min(film.target.diameter_mm),
        FROM_TO[1] * paper.target.diameter_mm.max(film.target.diameter_mm),
    ];
    let [of_paper, of_film] = both.map(|loaded| loaded.target.quality);
    let whole = of_paper.max(of_film);
    let lines = [Line::First, Line::Second];
    let curves: Vec<Curve> = both
        .iter()
        .zip(lines)
        .map(|(loaded, line)| Curve {
            name: loaded.words.into(),
            points: loaded.curve(from_to, whole),
            line,
        })
        .collect();
    let points = curves.iter().flat_map(|curve| &curve.points);
    let most = points.map(|point| point[1]).fold(1.0, f64::max);
    let marks =
        both.iter().map(|loaded| Mark { x: loaded.target.diameter_mm, words: loaded.best() });
    let holes = [shapes::disc(paper.target.diameter_mm)?, shapes::disc(film.target.diameter_mm)?];
    let images = both.iter().zip(&holes);
    let extent = images.clone().map(|(l, hole)| PointImage::on_axis(&l.camera, hole).extent_mm());
    let reach = REACH * extent.fold(0.0, f64::max);
    let psfs = images.map(|(loaded, hole)| point(&loaded.camera, hole, reach));
    let psfs = psfs.collect::<Result<Vec<_>, Error>>()?;
    let brightest = psfs.iter().map(Psf::peak).fold(0.0, f64::max);
    let maps = both.iter().zip(&psfs).map(|(loaded, psf)| Panel {
        title: format!("{} through {}", loaded.words, loaded.best()),
        shows: Shows::Picture(map(psf, brightest, Brightness::Linear)),
    });
    let chart = Panel {
        title: "Lost, over the size".into(),
        shows: Shows::Chart(Chart {
            x: Axis::linear("diameter of the hole, mm", from_to),
            y: Axis::linear("lost against the better best, jnd", [0.0, most]),
            curves,
            marks: marks.chain(bench.mark()).collect(),
            bands: Vec::new(),
        }),
    };
    let [paper_nm, film_nm] = both.map(|loaded| loaded.camera.light.mean_nm());
    let gain = of_paper - of_film;
    Ok(Diagram {
        title: "Blue-sensitive paper needs a smaller hole".into(),
        caption: format!(
            "{} in daylight of 5500 K, without a filter. Blue-sensitive paper (mean wavelength \
             {paper_nm:.0} nm) is best served by {}, panchromatic film ({film_nm:.0} nm) by {}: about as the \
             square root of the wavelength, which here is as {} to 1. Each through its own best hole, the \
             paper's picture is better by {} for the eye. Both maps of a point are on one scale of mm and \
             of light per area for the same light in all.",
            bench.camera.name,
            paper.best(),
            film.best(),
            significant((paper_nm / film_nm).sqrt(), 2),
            jnd(gain),
        ),
        alternative: format!(
            "Two spots, the paper's smaller and brighter, and two curves of what is lost over diameter, the paper's \
             lowest at {}, the film's at {}.",
            paper.best(),
            film.best()
        ),
        columns: Columns::Free,
        panels: maps.chain([chart]).collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::verdict::merit::quality;

    /// The curve and its top, against the merit of outlines cut into strips: another route to the OTF.
    #[test]
    fn the_tops_are_where_outlines_have_them() {
        let camera = Camera::demonstration().unwrap();
        let mut best = Vec::new();
        for medium in [Medium::BlueSensitive, Medium::Panchromatic] {
            let loaded = Loaded::with(&camera, "", &medium).unwrap();
            let merit = |d: f64| quality(&loaded.camera, &shapes::disc(d).unwrap());
            for [diameter, drawn] in loaded.curve([0.15, 0.7], 0.0).into_iter().step_by(30) {
                // The two routes differ by up to a hundredth of a jnd of some 130.
                assert!((drawn + merit(diameter)).abs() < 0.02, "{diameter}: {drawn}");
            }
            let top = loaded.target.diameter_mm;
            best.push((loaded.camera.light.mean_nm(), top));
        }
        // √(λz) is the only length but the eye's in the print, which moves the constant by 0.07 from one end
        // of 0.04..0.1 to the other, for a change of κ of 2.5: here it changes by less than 1.2.
        let [(blue_nm, blue), (all_nm, all)] = [best[0], best[1]];
        let ratio = (blue / all) / (blue_nm / all_nm).sqrt();
        assert!((ratio - 1.0).abs() < 0.03, "{ratio}");
    }
}
