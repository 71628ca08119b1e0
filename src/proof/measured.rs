//! The edges of a chart that was found: contrast along four directions at nine places.

use super::chart::{Chart, REACH};
use super::edge::{Edge, Strip};
use super::find::Found;
use super::lighting::Lighting;
use super::tone::Tone;
use crate::geometry::{Map, Outline, Point};
use ndarray::Array2;
use rayon::prelude::*;
use std::f64::consts::PI;

/// The share of a side that is used: its ends blur into their neighbours.
const LENGTH: f64 = 0.8;
/// An edge so many times as noisy as the others has something in its strip that is not the chart: the film's border, dust.
const SPOILT: f64 = 3.0;
/// The highest frequency that pixels show, in cycles to one; beyond it what is finer passes for coarser.
const HIGHEST: f64 = 0.4;

/// Describes what was measured at one octagon.
#[derive(Debug, Clone, PartialEq)]
pub struct Octagon {
    /// Its middle on the film as the chart has it, in mm.
    pub place_mm: Point,
    /// Its middle in the picture, in px.
    pub middle_px: Point,
    /// Contrast along each of the chart's four directions; None where neither edge could be measured.
    pub curves: [Option<Curve>; 4],
    /// How far its edges swing beyond their levels at most, over the step.
    pub overshoot: f64,
    /// The largest noise of its edges, over the step.
    pub noise: f64,
    /// How far its edges are from straight at most, in px.
    pub bow_px: f64,
    /// Its width between opposite edges, over the one that it has where all octagons are spaced as in the picture; None where no
    /// two opposite edges were measured.
    pub width: Option<f64>,
}

/// Describes contrast against frequency along one direction: the mean of both edges.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// The MTF at each frequency that the picture's pixels show.
    pub mtf: Vec<f64>,
    /// Its expanded uncertainty (95 %).
    pub uncertainty: Vec<f64>,
}

/// Measures every octagon at frequencies in line pairs per mm.
pub fn measured(
    light: &Array2<f32>,
    chart: &Chart,
    hole: &Outline,
    found: &Found,
    (tone, lighting): (&Tone, &Lighting),
    mm_per_px: f64,
    frequencies: &[f64],
) -> Vec<Octagon> {
    let cycles: Vec<f64> =
        frequencies.iter().map(|f| f * mm_per_px).take_while(|f| *f <= HIGHEST).collect();
    let (places, back) = (chart.places_mm(), found.film_to_px.inverted());
    let sides: Vec<Vec<Option<Edge>>> = (0..9)
        .into_par_iter()
        .map(|i| {
            let (place, middle) = (places[i], found.places_px[i]);
            let local = lighting.about(chart, hole, place, chart.octagon_mm / 2.0);
            let curve = |value: f64, [x, y]: Point| {
                tone.light(value) / local.at(back.of([x - middle[0], y - middle[1]]))
            };
            let side = |side: usize| {
                let turn = if side < 4 { 0.0 } else { PI };
                let strip = strip(chart, found, middle, Chart::directions_rad()[side % 4] + turn);
                Edge::of(light, &curve, strip)
            };
            (0..8).map(side).collect()
        })
        .collect();
    let most = SPOILT * usual_noise(&sides);
    let sound = |edge: Option<Edge>| edge.filter(|edge| edge.noise <= most);
    sides
        .into_iter()
        .enumerate()
        .map(|(i, sides)| {
            let sides: Vec<Option<Edge>> = sides.into_iter().map(sound).collect();
            let width = width(chart, found, &sides);
            Octagon { width, ..octagon(places[i], found.places_px[i], &sides, &cycles) }
        })
        .collect()
}

/// The noise that half of all edges do not pass.
fn usual_noise(sides: &[Vec<Option<Edge>>]) -> f64 {
    let mut all: Vec<f64> = sides.iter().flatten().flatten().map(|edge| edge.noise).collect();
    all.sort_by(f64::total_cmp);
    all.get(all.len() / 2).copied().unwrap_or(0.0)
}

/// The strip about the side of an octagon whose outward normal has this direction on the film.
fn strip(chart: &Chart, found: &Found, middle_px: Point, angle_rad: f64) -> Strip {
    let (sin, cos) = angle_rad.sin_cos();
    let map = found.film_to_px;
    let [tx, ty] = map.of([-sin, cos]);
    let out = map.of([cos, sin]);
    let length = tx.hypot(ty);
    let normal = [ty / length, -tx / length];
    let outward = out[0] * normal[0] + out[1] * normal[1];
    let normal = normal.map(|c| c * outward.signum());
    let [half, along] = [chart.octagon_mm / 2.0, chart.side_mm() / 2.0];
    Strip {
        middle_px: [0, 1].map(|i| middle_px[i] + half * out[i]),
        normal,
        half_width_px: REACH * chart.octagon_mm * outward.abs(),
        half_length_px: LENGTH * along * length,
    }
}

fn octagon(place_mm: Point, middle_px: Point, sides: &[Option<Edge>], cycles: &[f64]) -> Octagon {
    let curves = std::array::from_fn(|i| curve([sides[i].as_ref(), sides[i + 4].as_ref()], cycles));
    let most = |of: fn(&Edge) -> f64| sides.iter().flatten().map(of).fold(0.0, f64::max);
    Octagon {
        place_mm,
        middle_px: refined(middle_px, sides),
        curves,
        overshoot: most(|edge| edge.overshoot),
        noise: most(|edge| edge.noise),
        bow_px: most(|edge| edge.bow_px),
        width: None,
    }
}

fn curve(edges: [Option<&Edge>; 2], cycles: &[f64]) -> Option<Curve> {
    let edges: Vec<&Edge> = edges.into_iter().flatten().collect();
    let count = edges.len() as f64;
    let mut curve = Curve { mtf: Vec::new(), uncertainty: Vec::new() };
    for f in cycles {
        let found: Vec<_> = edges.iter().map(|edge| edge.contrast(*f)).collect();
        curve.mtf.push(found.iter().map(|c| c.mtf).sum::<f64>() / count);
        let squares: f64 = found.iter().map(|c| c.uncertainty.powi(2)).sum();
        curve.uncertainty.push(squares.sqrt() / count);
    }
    (count > 0.0).then_some(curve)
}

/// The mean distance of opposite sides, over the one that the picture's spacing gives.
fn width(chart: &Chart, found: &Found, sides: &[Option<Edge>]) -> Option<f64> {
    let pairs = sides[..4].iter().zip(&sides[4..]).zip(Chart::directions_rad());
    let widths: Vec<f64> = pairs
        .filter_map(|((one, other), direction_rad)| {
            let (one, other) = (one.as_ref()?.strip, other.as_ref()?.strip);
            let (sin, cos) = direction_rad.sin_cos();
            let out = found.film_to_px.of([cos, sin]);
            let along = |[x, y]: Point| x * one.normal[0] + y * one.normal[1];
            let apart = [0, 1].map(|i| one.middle_px[i] - other.middle_px[i]);
            Some((along(apart) / (chart.octagon_mm * along(out))).abs())
        })
        .collect();
    (!widths.is_empty()).then(|| widths.iter().sum::<f64>() / widths.len() as f64)
}

/// The middle between opposite sides.
fn refined(middle_px: Point, sides: &[Option<Edge>]) -> Point {
    let offset = |edge: &Edge| {
        let Strip { middle_px: [x, y], normal: [nx, ny], .. } = edge.strip;
        (x - middle_px[0]) * nx + (y - middle_px[1]) * ny
    };
    let (mut square, mut shift) = (Map { of_x: [0.0; 2], of_y: [0.0; 2] }, [0.0; 2]);
    for (one, other) in sides[..4].iter().zip(&sides[4..]) {
        let (Some(one), Some(other)) = (one, other) else { continue };
        let [nx, ny] = one.strip.normal;
        let off = (offset(one) - offset(other)) / 2.0;
        square.of_x = [square.of_x[0] + nx * nx, square.of_x[1] + nx * ny];
        square.of_y = [square.of_y[0] + nx * ny, square.of_y[1] + ny * ny];
        shift = [shift[0] + off * nx, shift[1] + off * ny];
    }
    if square.determinant() < 0.1 {
        return middle_px;
    }
    let [dx, dy] = square.inverted().of(shift);
    [middle_px[0] + dx, middle_px[1] + dy]
}
