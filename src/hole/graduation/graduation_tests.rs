//! Rules drawn at random: is the pitch found, and does the stated interval hold the truth?

use super::*;
use crate::hole::specimen::Random;
use crate::raster::{Transfer, decoded, display};
use ndarray::{Array2, Array3};
use rayon::prelude::*;
use std::f64::consts::{PI, TAU};

/// Evenly between two numbers.
trait Within {
    fn within(&mut self, low: f64, high: f64) -> f64;
}

impl Within for Random {
    fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform()
    }
}

/// A bar about a middle: half its length and width, and the direction across it.
struct Bar {
    middle: [f64; 2],
    half: [f64; 2],
    angle: f64,
}

impl Bar {
    /// How much of a point it covers: its sides blurred by a Gaussian of `sigma`, whose integral is
    /// close to the logistic curve of 1.702/σ (to 0.01; the pitch does not depend on it).
    fn covers(&self, [x, y]: [f64; 2], sigma: f64) -> f64 {
        let (sin, cos) = self.angle.sin_cos();
        let (dx, dy) = (x - self.middle[0], y - self.middle[1]);
        let side = |at: f64, half: f64| {
            let edge = |off: f64| 1.0 / (1.0 + (-1.702 * off / sigma).exp());
            edge(at + half) - edge(at - half)
        };
        side(dx * cos + dy * sin, self.half[0]) * side(dy * cos - dx * sin, self.half[1])
    }
}

struct Drawing {
    picture: Raster,
    pitch: f64,
}

/// What lies beside the rule.
fn drawn(bars: &[Bar], size: [usize; 2], random: &mut Random, bright: bool, blur: f64) -> Raster {
    let sigma = blur.hypot(0.29);
    let noise = random.within(0.0, 0.02);
    let (dark, light) = (random.within(0.02, 0.2), random.within(0.5, 0.9));
    let lean = [random.within(-0.2, 0.2), random.within(-0.2, 0.2)];
    let mut linear = Array3::zeros((1, size[0], size[1]));
    let mut covered = Array2::<f64>::zeros((size[0], size[1]));
    for bar in bars {
        // Only about the bar: a picture of a hundred bars takes no hundred passes.
        let reach = bar.half[0].hypot(bar.half[1]) + 6.0 * sigma + 2.0;
        let span = |at: f64, end: usize| {
            let [low, high] = [at - reach, at + reach].map(|v| v.clamp(0.0, end as f64) as usize);
            low..high
        };
        for row in span(bar.middle[1], size[0]) {
            for column in span(bar.middle[0], size[1]) {
                let at = [column as f64 + 0.5, row as f64 + 0.5];
                let more = bar.covers(at, sigma);
                covered[[row, column]] = covered[[row, column]].max(more);
            }
        }
    }
    for ((_, row, column), value) in linear.indexed_iter_mut() {
        let (x, y) = (column as f64 / size[1] as f64 - 0.5, row as f64 / size[0] as f64 - 0.5);
        let c = covered[[row, column]];
        let share = if bright { c } else { 1.0 - c };
        let lit = 1.0 + lean[0] * x + lean[1] * y;
        let grain = noise
            * (random.within(-1.0, 1.0) + random.within(-1.0, 1.0) + random.within(-1.0, 1.0));
        *value = ((dark + (light - dark) * share) * lit + grain).clamp(0.0, 1.0) as f32;
    }
    Raster { linear }
}

/// A hole, as the sixteen bars of a star: round enough to have edges in all directions.
fn round(middle: [f64; 2], radius: f64) -> Vec<Bar> {
    let bar =
        |k: usize| Bar { middle, half: [0.92 * radius, 0.38 * radius], angle: k as f64 * PI / 8.0 };
    (0..8).map(bar).collect()
}

fn rule(seed: u64) -> Drawing {
    let mut random = Random(seed.wrapping_mul(0x2545_f491_4f6c_dd1d));
    let pitch = random.within(6f64.ln(), 160f64.ln()).exp();
    let lines = (random.within(4.0, 100.0) as usize).min((900.0 / pitch) as usize).max(4);
    let angle = random.within(0.0, PI);
    let (span, long) = (pitch * (lines + 1) as f64, random.within(1.5, 5.0) * pitch.max(10.0));
    let long = long.min(240.0);
    let side = (span.max(300.0) * 1.1 + 2.0 * long) as usize;
    let (sin, cos) = angle.sin_cos();
    let middle = [
        side as f64 / 2.0 + random.within(-8.0, 8.0),
        side as f64 / 2.0 + 0.12 * side as f64 * cos.abs(),
    ];
    let width = random.within(0.12, 0.4) * pitch;
    let fifths = random.within(0.0, 1.0) < 0.5;
    let division = random.within(-DIVISION_HALF_WIDTH, DIVISION_HALF_WIDTH);
    let mut bars = Vec::new();
    for n in 0..lines {
        let along = (n as f64 - (lines - 1) as f64 / 2.0) * pitch * (1.0 + division);
        let longer = if fifths && n % 5 == 0 { 0.4 * long } else { 0.0 };
        // Longer lines stand out on one side, as on any rule.
        let across = longer / 2.0;
        bars.push(Bar {
            middle: [
                middle[0] + along * cos - across * sin,
                middle[1] + along * sin + across * cos,
            ],
            half: [width / 2.0, (long + longer) / 2.0],
            angle,
        });
        if n % 10 == 0 {
            let (along, across) = (along + random.within(-2.0, 2.0), -long);
            bars.push(Bar {
                middle: [
                    middle[0] + along * cos - across * sin,
                    middle[1] + along * sin + across * cos,
                ],
                half: [1.5, 5.0],
                angle: angle + random.within(-0.3, 0.3),
            });
        }
    }
    bars.extend(round([0.2 * side as f64, 0.18 * side as f64], 0.06 * side as f64));
    let (bright, blur) =
        (random.within(0.0, 1.0) < 0.5, random.within(0.3, (0.08 * pitch).clamp(0.5, 2.5)));
    let picture = drawn(&bars, [side, side + 7], &mut random, bright, blur);
    let picture = if random.within(0.0, 1.0) < 0.3 { through_jpeg(&picture) } else { picture };
    Drawing { picture, pitch }
}

fn through_jpeg(picture: &Raster) -> Raster {
    let mut bytes = Vec::new();
    image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, 80)
        .encode_image(&display(picture).unwrap())
        .unwrap();
    decoded(&bytes, Transfer::ByFile).unwrap().raster
}

fn scale(picture: &Raster) -> Result<Scale, Error> {
    scale_of_graduation(picture, 1.0)
}

/// The truth is the division the rule should have; what it has differs by the half-width that is
/// allowed for it, drawn for each.
#[test]
fn pitches_are_found_and_their_intervals_hold() {
    const RULES: u64 = 200;
    let outcome = |seed: u64| {
        let drawing = rule(seed);
        let scale = scale(&drawing.picture).map_err(|why| (drawing.pitch, why))?;
        Ok::<_, (f64, Error)>((
            scale.mm_per_px[0] * drawing.pitch - 1.0,
            scale.relative_uncertainty,
            seed,
        ))
    };
    let all: Vec<_> = (1..=RULES).into_par_iter().map(outcome).collect();
    let found: Vec<_> = all.iter().filter_map(|o| o.as_ref().ok().copied()).collect();
    let mut errors: Vec<f64> = found.iter().map(|f| f.0.abs()).collect();
    errors.sort_by(f64::total_cmp);
    let held = found.iter().filter(|f| f.0.abs() <= f.1).count() as f64 / found.len() as f64;
    let refused = all.len() - found.len();
    println!(
        "{RULES} rules: {refused} refused, median error {:.3} %, 90th percentile {:.3} %, worst {:.3} %, interval holds {:.1} %",
        100.0 * errors[errors.len() / 2],
        100.0 * errors[errors.len() * 9 / 10],
        100.0 * errors[errors.len() - 1],
        100.0 * held
    );
    for f in found.iter().filter(|f| f.0.abs() > 1.5 * f.1) {
        println!("  {:+.3} % ± {:.3} %: {}", 100.0 * f.0, 100.0 * f.1, f.2);
    }
    for (pitch, why) in all.iter().filter_map(|o| o.as_ref().err()) {
        println!("  refused at pitch {pitch:.1}: {why}");
    }
    assert!(errors[errors.len() - 1] < 0.02, "a pitch is wrong by {}", errors[errors.len() - 1]);
    assert!(errors[errors.len() / 2] < 0.002 && errors[errors.len() * 9 / 10] < 0.004);
    assert!(held >= 0.9, "{held}");
    assert!(refused as u64 * 20 <= RULES, "{refused} refused");
}

/// Scratches and letters are no rule, however many there are.
#[test]
fn what_is_no_rule_is_refused() {
    let given = (0..60u64).into_par_iter().filter(|seed| {
        let mut random = Random(seed + 9000);
        let scratched = seed % 2 == 0;
        let mut bars: Vec<Bar> = (0..if scratched { 14 } else { 40 })
            .map(|_| {
                let middle = [random.within(20.0, 580.0), random.within(20.0, 480.0)];
                if scratched {
                    let angle = 0.6 + random.within(-0.02, 0.02);
                    Bar { middle, half: [1.5, random.within(40.0, 160.0)], angle }
                } else {
                    let half = [1.3, random.within(4.0, 9.0)];
                    Bar {
                        middle: [middle[0], 30.0 + (middle[1] / 20.0).floor() * 20.0],
                        half,
                        angle: (random.within(0.0, 4.0)).floor() * PI / 4.0,
                    }
                }
            })
            .collect();
        bars.extend(round([300.0, 250.0], 60.0));
        let picture = drawn(&bars, [500, 600], &mut random, true, 0.8);
        match scale(&picture) {
            Ok(scale) => {
                println!("seed {seed}: {}", scale.source);
                true
            }
            Err(_) => false,
        }
    });
    let given = given.count();
    println!("of 60 pictures without a rule {given} were given a scale");
    assert_eq!(given, 0);
}

/// A rule seen aslant: its lines draw together by a share of their pitch.
fn aslant(change: f64) -> Raster {
    let mut random = Random(5);
    let bars: Vec<Bar> = (0..21)
        .map(|n| {
            let n = f64::from(n) - 10.0;
            let along = 30.0 * n + 30.0 * change / 40.0 * n * n;
            Bar { middle: [400.0 + along, 300.0], half: [4.0, 60.0], angle: 0.0 }
        })
        .collect();
    drawn(&bars, [600, 800], &mut random, true, 0.8)
}

#[test]
fn a_tilted_camera_is_noticed() {
    let straight = scale(&aslant(0.0)).unwrap();
    assert!(straight.warnings.is_empty(), "{:?}", straight.warnings);
    let tilted = scale(&aslant(0.02)).unwrap();
    assert!(tilted.warnings[0].contains("2.0 %"), "{:?}", tilted.warnings);
    assert!(tilted.relative_uncertainty > 0.02);
    assert!(scale(&aslant(0.10)).unwrap_err().to_string().contains("not parallel"));
}

#[test]
fn rules_that_contradict_each_other_are_refused() {
    let mut random = Random(8);
    let row = |pitch: f64, y: f64, angle: f64| {
        (0..16).map(move |n| Bar {
            middle: if angle == 0.0 {
                [60.0 + pitch * f64::from(n), y]
            } else {
                [y, 60.0 + pitch * f64::from(n)]
            },
            half: [3.0, 30.0],
            angle,
        })
    };
    let bars: Vec<Bar> = row(30.0, 80.0, 0.0).chain(row(41.0, 640.0, TAU / 4.0)).collect();
    let picture = drawn(&bars, [760, 760], &mut random, true, 0.8);
    let said = scale(&picture).unwrap_err().to_string();
    assert!(said.contains("px apart and others"), "{said}");
}

/// A rule whose lines hang on a base line, as a steel rule's do: every fifth half as long again, every tenth
/// twice as long; dark or bright, straight or turned.
fn comb(pitch: f64, angle: f64, bright: bool, seed: u64) -> Raster {
    let mut random = Random(seed);
    let (sin, cos) = angle.sin_cos();
    let place = |along: f64, across: f64| {
        [400.0 + along * cos - across * sin, 300.0 + along * sin + across * cos]
    };
    let count = (600.0 / pitch) as i32;
    let mut bars: Vec<Bar> = (0..=count)
        .map(|n| {
            let long = pitch
                * if n % 10 == 0 {
                    6.0
                } else if n % 5 == 0 {
                    4.5
                } else {
                    3.0
                };
            let along = (f64::from(n) - f64::from(count) / 2.0) * pitch;
            Bar { middle: place(along, long / 2.0), half: [0.1 * pitch, long / 2.0], angle }
        })
        .collect();
    bars.push(Bar { middle: place(0.0, 0.0), half: [310.0, 2.0], angle });
    drawn(&bars, [600, 800], &mut random, bright, 0.8)
}

#[test]
fn a_comb_on_a_base_line_is_a_rule() {
    for (pitch, angle) in [(6.0, 0.0), (9.0, 0.3), (14.0, 1.2), (30.0, 0.05)] {
        for bright in [true, false] {
            let found =
                scale(&comb(pitch, angle, bright, 3)).map(|s| (1.0 / s.mm_per_px[0], s.source));
            println!("{pitch} px, {angle} rad, bright {bright}: {found:?}");
            let (px, _) = found.unwrap();
            assert!((px / pitch - 1.0).abs() < 0.004, "{pitch} at {angle}: {px}");
        }
    }
}

/// The lines that were used are those drawn: 21 lines 30 px apart about (400, 300), 120 px long.
#[test]
fn the_lines_used_are_told() {
    let found = scale(&aslant(0.0)).unwrap();
    assert_eq!(found.lines_px.len(), 21);
    // A row has no first end, and a line no upper one.
    let mut lines = found.lines_px;
    lines.sort_by(|a, b| a[0][0].total_cmp(&b[0][0]));
    lines.iter_mut().for_each(|ends| ends.sort_by(|a, b| a[1].total_cmp(&b[1])));
    for (n, [a, b]) in lines.iter().enumerate() {
        let x = 400.0 + 30.0 * (n as f64 - 10.0);
        assert!((a[0] - x).abs() < 0.3 && (b[0] - x).abs() < 0.3, "{n}: {a:?} {b:?}");
        assert!(a[1] > 200.0 && b[1] < 400.0 && (b[1] - a[1]) > 60.0, "{n}: {a:?} {b:?}");
    }
}

/// A screen of stripes two pixels apart is none, however even.
#[test]
fn a_screen_is_no_rule() {
    let linear = Array3::from_shape_fn(
        (1, 300, 400),
        |(_, _, column)| {
            if column % 2 == 0 { 0.7 } else { 0.3 }
        },
    );
    assert!(scale(&Raster { linear }).is_err());
}

#[test]
fn a_scale_against_the_rule_is_told() {
    let picture = aslant(0.0);
    let told = |words: &str, spacing_mm: Option<f64>| {
        contradiction(&picture, &Scale::read(words).unwrap(), spacing_mm)
    };
    assert_eq!(told("300 px = 10 mm", Some(1.0)), None);
    assert_eq!(told("300 px = 10 mm", None), None);
    assert!(told("360 px = 10 mm", Some(1.0)).unwrap().contains("contradict"));
    // 0.83 mm: no rule is divided so.
    assert!(told("360 px = 10 mm", None).unwrap().contains("0.83"));
}
