//! What the commands draw and state is what the physics says.

#![allow(clippy::unwrap_used)]

use super::answers::{foramen, json};
use image::{ImageBuffer, Luma};
use serde_json::Value;
use std::f64::consts::{PI, TAU};
use std::fs;
use tempfile::TempDir;

/// A camera of one wavelength, and how its film lies.
struct Bench {
    folder: TempDir,
    width_mm: f64,
    height_mm: f64,
    distance_mm: f64,
    tube: bool,
}

impl Bench {
    fn new(tube: bool) -> Bench {
        let folder = TempDir::new().unwrap();
        let (width_mm, height_mm, distance_mm) =
            if tube { (300.0, 60.0, 150.0) } else { (127.0, 60.0, 120.0) };
        let shape = if tube { "shape = \"cylinder\"\nradius = \"75 mm\"\n" } else { "" };
        let text = format!(
            "[film]\ndistance = \"{distance_mm} mm\"\nwidth = \"{width_mm} mm\"\nheight = \"{height_mm} \
             mm\"\n{shape}[light]\nwavelength = [\"550 nm\"]\n"
        );
        fs::write(folder.path().join("camera.toml"), text).unwrap();
        Bench { folder, width_mm, height_mm, distance_mm, tube }
    }

    /// From the scene's coordinates, in units of the distance, to the film.
    fn on_film(&self, round: bool, [x, y]: [f64; 2]) -> [f64; 2] {
        let angle = if round { x } else { x.atan() };
        if self.tube {
            // Hole in the wall: an arc of v θ, a chord of v cos θ; a wall lies 1/cos θ farther.
            let chord = self.distance_mm * angle.cos();
            return [
                self.distance_mm * angle,
                if round { y * chord } else { y * chord * angle.cos() },
            ];
        }
        let far = self.distance_mm / angle.cos();
        [self.distance_mm * angle.tan(), if round { y * far } else { y * self.distance_mm }]
    }

    /// A scene that puts `light` on the film, as a picture `wide` pixels wide and so high that all of the
    /// view is in it, each pixel the mean of what falls on it.
    fn scene(&self, round: bool, wide: u32, light: impl Fn([f64; 2]) -> f64) {
        let edge = self.width_mm / 2.0 / self.distance_mm;
        let half = match (self.tube, round) {
            (true, true) => edge,
            (true, false) => edge.tan(),
            (false, true) => edge.atan(),
            (false, false) => edge,
        };
        let unit = f64::from(wide) / (2.0 * half);
        // Twice as high as in the middle, which is the most that a view takes.
        let high = (self.height_mm / self.distance_mm * unit * 2.05).ceil() as u32;
        const FINE: u32 = 4;
        let picture = ImageBuffer::from_fn(wide, high, |column, row| {
            let mut sum = 0.0;
            for i in 0..FINE * FINE {
                let at = |pixel: u32, part: u32, pixels: u32| {
                    let place = f64::from(pixel) + (f64::from(part) + 0.5) / f64::from(FINE);
                    (place - f64::from(pixels) / 2.0) / unit
                };
                sum += light(
                    self.on_film(round, [at(column, i % FINE, wide), at(row, i / FINE, high)]),
                );
            }
            Luma([(encoded(sum / f64::from(FINE * FINE)) * 65535.0).round() as u16])
        });
        picture.save(self.folder.path().join("scene.png")).unwrap();
    }

    /// What `preview` makes of it: linear light, row by row.
    fn preview(&self, round: bool, pixels: u32, hole: &str) -> Vec<Vec<f64>> {
        let backdrop = if round { "round" } else { "flat" };
        let pixels = pixels.to_string();
        let ended = foramen(
            self.folder.path(),
            &[
                "preview",
                "--camera",
                "camera.toml",
                "--hole",
                hole,
                "--scene",
                "scene.png",
                "--backdrop",
                backdrop,
                "--pixels",
                &pixels,
                "--out",
                "picture.png",
            ],
        );
        assert_eq!(ended.code, 0, "{}", ended.err);
        let picture = image::open(self.folder.path().join("picture.png")).unwrap().to_rgb8();
        let row =
            |y: u32| (0..picture.width()).map(|x| decoded(picture.get_pixel(x, y).0[1])).collect();
        (0..picture.height()).map(row).collect()
    }

    /// The MTF along x on the film, from `psf`.
    fn mtf(&self, hole: &str, x_mm: f64, frequency: f64) -> f64 {
        let at = format!("{x_mm} mm, 0 mm");
        let answer = json(
            self.folder.path(),
            &[
                "psf",
                "--camera",
                "camera.toml",
                "--hole",
                hole,
                "--at",
                &at,
                "--size",
                "8",
                "--json",
            ],
        );
        let list = |key: &str| -> Vec<f64> {
            answer["mtf"][key].as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
        };
        let (f, contrast) = (list("frequency_lp_per_mm"), list("tangential"));
        let i = f.partition_point(|f| *f < frequency).clamp(1, f.len() - 2);
        // A parabola through three samples.
        let t = (frequency - f[i]) / (f[i + 1] - f[i]);
        let (before, here, after) = (contrast[i - 1], contrast[i], contrast[i + 1]);
        here + t * (after - before) / 2.0 + t * t * (after - 2.0 * here + before) / 2.0
    }
}

/// sRGB (IEC 61966-2-1).
fn encoded(light: f64) -> f64 {
    if light <= 0.003_130_8 { 12.92 * light } else { 1.055 * light.powf(1.0 / 2.4) - 0.055 }
}

fn decoded(byte: u8) -> f64 {
    let value = f64::from(byte) / 255.0;
    if value <= 0.040_45 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
}

fn sinc(x: f64) -> f64 {
    if x.abs() < 1e-9 { 1.0 } else { (PI * x).sin() / (PI * x) }
}

/// The contrast of upright lines of `frequency` (cycles a pixel) about a column: least squares of a
/// cosine, a sine, a level and a slope over rows about the middle.
fn contrast(picture: &[Vec<f64>], middle: usize, frequency: f64) -> f64 {
    let half = 40usize;
    let rows = picture.len() / 2 - 6..picture.len() / 2 + 6;
    let mut normal = [[0.0; 5]; 4];
    for line in &picture[rows] {
        for (column, light) in line.iter().enumerate().skip(middle - half).take(2 * half) {
            let at = column as f64 + 0.5 - middle as f64;
            let phase = TAU * frequency * at;
            let terms = [1.0, at / half as f64, phase.cos(), phase.sin()];
            for i in 0..4 {
                for j in 0..4 {
                    normal[i][j] += terms[i] * terms[j];
                }
                normal[i][4] += terms[i] * light;
            }
        }
    }
    for i in 0..4 {
        for j in 0..4 {
            if i != j {
                let share = normal[j][i] / normal[i][i];
                let row = normal[i];
                normal[j].iter_mut().zip(row).for_each(|(to, from)| *to -= share * from);
            }
        }
    }
    let solved = [0, 1, 2, 3].map(|i| normal[i][4] / normal[i][i]);
    solved[2].hypot(solved[3]) / solved[0]
}

/// Lines on the scene keep of their contrast what the MTF of `psf` says, times what a pixel averages,
/// in the middle and near the edge, flat and in a tube, before a wall and before a
/// round backdrop, up to half the frequency that pixels can show. The light at the picture's edge is below
/// that of the middle, so the measure is the local contrast.
#[test]
fn previewed_lines_keep_the_contrast_of_theory() {
    let (pixels, hole) = (800u32, "0.4 mm");
    let mut worst = 0.0f64;
    for (tube, round) in [(false, false), (false, true), (true, false), (true, true)] {
        let bench = Bench::new(tube);
        if tube && !round {
            // Fifty-seven degrees to each side make a wall very long: its ends are left to the round one.
            continue;
        }
        let pixel_mm = bench.width_mm / f64::from(pixels);
        for cycles in [0.1, 0.25] {
            let frequency = cycles / pixel_mm;
            bench.scene(round, 1900, |[x, _]| 0.4 + 0.4 * (TAU * frequency * x).cos());
            let picture = bench.preview(round, pixels, hole);
            for column in [400usize, 60] {
                let x_mm = (column as f64 - 400.0) * pixel_mm;
                let theory = bench.mtf(hole, x_mm, frequency) * sinc(cycles);
                let found = contrast(&picture, column, cycles);
                println!(
                    "tube {tube} round {round} {cycles} at {x_mm:.0} mm: {found:.4} {theory:.4}"
                );
                worst = worst.max((found - theory).abs());
            }
        }
    }
    // 1 % of full scale: nodes of the PSF (0.5 %), the kernel's tail (0.3 %), eight bits.
    assert!(worst < 0.01, "{worst}");
}

/// A hole of 3 mm throws its shadow: lines of a fraction of a line pair per mm keep what the shadow of a disc
/// leaves them by its OTF in closed form (N = 34), and no light falls beyond the kernel unsaid.
#[test]
fn previewed_lines_through_a_wide_hole_keep_the_contrast_of_its_shadow() {
    let (pixels, hole) = (800u32, "3 mm");
    let bench = Bench::new(false);
    let closed_form = ::foramen::wave::analytic::DiscOtf::default();
    let spread_mm2 = 550e-6 * bench.distance_mm;
    let (n, cut_off) = (1.5 * 1.5 / spread_mm2, 3.0 / spread_mm2);
    let pixel_mm = bench.width_mm / f64::from(pixels);
    for cycles in [0.03, 0.05, 0.08] {
        let frequency = cycles / pixel_mm;
        bench.scene(false, 1900, |[x, _]| 0.4 + 0.4 * (TAU * frequency * x).cos());
        let picture = bench.preview(false, pixels, hole);
        let found = contrast(&picture, 400, cycles);
        let theory = closed_form.at(n, frequency / cut_off).abs() * sinc(cycles);
        println!("{cycles}: {found:.4} {theory:.4}");
        // Eight bits of a dim contrast, and the nodes of the PSF.
        assert!((found - theory).abs() < 0.01, "{cycles}: {found} {theory}");
    }
    let words = ["preview", "--camera", "camera.toml", "--hole", hole, "--pixels", "800", "--json"];
    let answer = json(bench.folder.path(), &words);
    assert!(number(&answer, "/light_spread_evenly") < 0.03, "{answer}");
    assert!(number(&answer, "/contrast_error") < 0.02, "{answer}");
}

/// A slanted edge gives the same (ISO 12233, steps from memory): pixels projected along it, differentiated,
/// transformed.
#[test]
fn previewed_edges_keep_the_contrast_of_theory() {
    let (pixels, hole) = (800u32, "0.4 mm");
    let lean = 5f64.to_radians();
    let mut worst = 0.0f64;
    for (tube, round) in [(false, true), (true, true)] {
        let bench = Bench::new(tube);
        let pixel_mm = bench.width_mm / f64::from(pixels);
        // How the light falls off, from a scene of one brightness.
        bench.scene(round, 64, |_| 0.8);
        let even = bench.preview(round, pixels, hole);
        for column in [400.0, 120.0] {
            let x_mm = (column - 400.0) * pixel_mm;
            let side = |[x, y]: [f64; 2]| (x - x_mm) * lean.cos() + y * lean.sin();
            bench.scene(round, 2400, |at| if side(at) > 0.0 { 0.8 } else { 0.1 });
            let picture = bench.preview(round, pixels, hole);
            // Quarter pixels along the normal.
            let (bins, half) = (4.0, 30.0);
            let count = (2.0 * half * bins) as usize;
            let mut sums = vec![(0.0, 0.0); count];
            let middle = picture.len() as f64 / 2.0;
            for (row, line) in picture.iter().enumerate() {
                for (at, light) in line.iter().enumerate() {
                    let place = [
                        (at as f64 + 0.5 - 400.0) * pixel_mm,
                        (row as f64 + 0.5 - middle) * pixel_mm,
                    ];
                    let bin = ((side(place) / pixel_mm + half) * bins).floor();
                    if (row as f64 - middle).abs() < 60.0 && (0.0..count as f64).contains(&bin) {
                        sums[bin as usize].0 += 0.8 * light / even[row][at];
                        sums[bin as usize].1 += 1.0;
                    }
                }
            }
            let edge: Vec<f64> = sums.iter().map(|(sum, pixels)| sum / pixels).collect();
            // The true step: of the light far on both sides.
            let level = |range: std::ops::Range<usize>| {
                let length = range.len() as f64;
                edge[range].iter().sum::<f64>() / length
            };
            let step = level(count - 20..count) - level(0..20);
            for cycles in [0.1, 0.2, 0.25] {
                let (mut re, mut im) = (0.0, 0.0);
                for i in 1..count - 1 {
                    let at = (i as f64 + 0.5) / bins - half;
                    let window = 0.54 + 0.46 * (PI * at / half).cos();
                    let slope = (edge[i + 1] - edge[i - 1]) / 2.0 * window;
                    re += slope * (TAU * cycles * at).cos();
                    im += slope * (TAU * cycles * at).sin();
                }
                let along = sinc(cycles * lean.cos()) * sinc(cycles * lean.sin());
                let measured =
                    re.hypot(im) / step / sinc(cycles / bins) / sinc(2.0 * cycles / bins);
                let theory = bench.mtf(hole, x_mm, cycles / pixel_mm) * along;
                println!("tube {tube} {cycles} at {x_mm:.0} mm: {measured:.4} {theory:.4}");
                worst = worst.max((measured - theory).abs());
            }
        }
    }
    // 1 % of full scale, and half as much for the step, whose tail of 1/x ends 30 pixels out.
    assert!(worst < 0.015, "{worst}");
}

fn number(answer: &Value, key: &str) -> f64 {
    answer.pointer(key).and_then(Value::as_f64).unwrap_or(f64::NAN)
}

/// Half contrast lies where the best disc has it, whatever the grid.
#[test]
fn a_small_grid_has_the_light_of_a_large_one() {
    let bench = Bench::new(false);
    let psf = |size: &str| {
        let words = [
            "psf",
            "--camera",
            "camera.toml",
            "--hole",
            "0.4 mm",
            "--size",
            size,
            "--pitch",
            "1 um",
            "--json",
        ];
        json(bench.folder.path(), &words)
    };
    let (small, large) = (psf("8"), psf("64"));
    assert_eq!(number(&small, "/mtf50_lp_per_mm"), number(&large, "/mtf50_lp_per_mm"));
    assert!(number(&small, "/points_across_hole") <= number(&large, "/points_across_hole"));
}

/// The parts of the stated error add up to its sum, the largest is named, and a warning says so.
#[test]
fn the_stated_error_is_a_total() {
    let bench = Bench::new(false);
    let answer = |words: &[&str]| {
        let all =
            [&["psf", "--camera", "camera.toml", "--json", "--size", "64"][..], words].concat();
        json(bench.folder.path(), &all)
    };
    let parts = [
        "numerics",
        "dropped_phase",
        "film_patch_map",
        "spectral_step",
        "plate_thickness",
        "vector_effects",
    ];
    for hole in ["0.4 mm", "0.02 mm"] {
        let found = answer(&["--hole", hole]);
        let of = |key: &str| number(&found, &format!("/error/{key}"));
        let sum: f64 = parts.iter().map(|key| of(key)).sum();
        assert!((of("sum") / sum - 1.0).abs() < 1e-12);
        let largest = found["error"]["largest"].as_str().unwrap();
        assert!(parts.iter().all(|key| of(key) <= of(largest)), "{found}");
        // 1/(ka), by hand: 550 nm over π and the diameter.
        let d: f64 = hole.trim_end_matches(" mm").parse().unwrap();
        assert!((of("vector_effects") / (550e-6 / PI / d) - 1.0).abs() < 1e-3);
        let warned = !found["warnings"].as_array().unwrap().is_empty();
        assert_eq!(warned, sum > 1e-3, "{found}");
    }
    // A plate of 0.1 mm: √(λt)/(2π) along the rim, 4/d of the area.
    let text = fs::read_to_string(bench.folder.path().join("camera.toml")).unwrap();
    let thick = text.replace("[light]", "[plate]\nthickness = \"0.1 mm\"\n[light]");
    fs::write(bench.folder.path().join("camera.toml"), thick).unwrap();
    let found = answer(&["--hole", "0.4 mm"]);
    let by_hand = (550e-6f64 * 0.1).sqrt() * 4.0 / 0.4 / TAU;
    assert!((number(&found, "/error/plate_thickness") / by_hand - 1.0).abs() < 1e-3);
    assert_eq!(found["error"]["largest"], "plate_thickness");
}

/// A plate of two rims has in its samples what a thin one only states, and says what it leaves out.
#[test]
fn a_plate_of_two_rims_says_what_it_does() {
    let bench = Bench::new(false);
    let path = bench.folder.path().join("camera.toml");
    let text = fs::read_to_string(&path).unwrap();
    let answer = |plate: &str| {
        fs::write(&path, text.replace("[light]", &format!("[plate]\n{plate}\n[light]"))).unwrap();
        let words = [
            "psf",
            "--camera",
            "camera.toml",
            "--hole",
            "0.34 mm",
            "--size",
            "65",
            "--samples",
            "s.npy",
            "--json",
        ];
        let answer = json(bench.folder.path(), &words);
        let bytes = fs::read(bench.folder.path().join("s.npy")).unwrap();
        let start = 10 + usize::from(u16::from_le_bytes([bytes[8], bytes[9]]));
        let samples: Vec<f64> = bytes[start..]
            .chunks_exact(8)
            .map(|eight| f64::from_le_bytes(eight.try_into().unwrap()))
            .collect();
        (answer, samples)
    };
    let (thin, one) = answer("thickness = \"0.1 mm\"");
    let (thick, two) = answer("thickness = \"0.1 mm\"\nmodel = \"two-plane\"");
    let peak = one.iter().copied().fold(0.0, f64::max);
    let most = one.iter().zip(&two).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max) / peak;
    // Within what the thin plate states, and of its size.
    let stated = number(&thin, "/error/plate_thickness");
    assert!(most < stated && most > 0.2 * stated, "{most} {stated}");
    assert!(number(&thick, "/error/plate_thickness") < 2e-4);
    assert!(thick["warnings"].to_string().contains("both rims"), "{}", thick["warnings"]);
    fs::write(&path, text.replace("[light]", "[plate]\nmodel = \"two-plane\"\n[light]")).unwrap();
    let ended =
        foramen(bench.folder.path(), &["psf", "--camera", "camera.toml", "--hole", "0.3 mm"]);
    assert!(ended.code != 0 && ended.err.contains("plate.thickness"), "{}", ended.err);
}

/// Complex numbers of a file that NumPy reads, and its shape as written.
fn complex(path: &std::path::Path) -> (String, Vec<[f64; 2]>) {
    let bytes = fs::read(path).unwrap();
    let start = 10 + usize::from(u16::from_le_bytes([bytes[8], bytes[9]]));
    let header = String::from_utf8(bytes[10..start].to_vec()).unwrap();
    assert!(header.contains("'<c16'"), "{header}");
    let numbers: Vec<f64> =
        bytes[start..].chunks_exact(8).map(|b| f64::from_le_bytes(b.try_into().unwrap())).collect();
    (header, numbers.chunks_exact(2).map(|pair| [pair[0], pair[1]]).collect())
}

/// The field's square is the PSF, the OTF is 1 in its middle and the MTF along its axis.
#[test]
fn field_and_otf_agree_with_psf_and_mtf() {
    let bench = Bench::new(false);
    let folder = bench.folder.path();
    let words = [
        "psf",
        "--camera",
        "camera.toml",
        "--hole",
        "0.4 mm",
        "--size",
        "32",
        "--json",
        "--samples",
        "psf.npy",
        "--field",
        "field.npy",
        "--otf",
        "otf.npy",
    ];
    let answer = json(folder, &words);
    let bytes = fs::read(folder.join("psf.npy")).unwrap();
    let start = 10 + usize::from(u16::from_le_bytes([bytes[8], bytes[9]]));
    let psf: Vec<f64> =
        bytes[start..].chunks_exact(8).map(|b| f64::from_le_bytes(b.try_into().unwrap())).collect();
    let (header, field) = complex(&folder.join("field.npy"));
    assert!(header.contains("(1, 32, 32"), "{header}");
    let peak = psf.iter().copied().fold(0.0, f64::max);
    for (e, [re, im]) in psf.iter().zip(&field) {
        // The field has one map all over the grid, the PSF its tiles.
        assert!((e - re * re - im * im).abs() < 5e-4 * peak);
    }
    let (header, otf) = complex(&folder.join("otf.npy"));
    assert!(header.contains("(3, 65, 65"), "{header}");
    let middle = 32 * 65 + 32;
    assert!((otf[middle][0] - 1.0).abs() < 1e-9 && otf[middle][1].abs() < 1e-9);
    for step in [4usize, 11, 20] {
        let [re, im] = otf[middle + step];
        let frequency = otf[65 * 65 + middle + step][0];
        let theory = bench.mtf("0.4 mm", 0.0, frequency);
        // 256 strips, and a parabola between samples of the curve.
        assert!((re.hypot(im) - theory).abs() < 1e-3, "{frequency}: {re} {im} {theory}");
        // The other way round the strips are the same but for rounding at their kinks.
        let [back, turned] = otf[middle - step];
        assert!((back - re).abs() < 1e-6 && (turned + im).abs() < 1e-6);
    }
    // Strehl's ratio of a disc: (sin(πN/2)/(πN/2))².
    let x = PI * number(&answer, "/fresnel_number/0") / 2.0;
    assert!((number(&answer, "/strehl_ratio") / (x.sin() / x).powi(2) - 1.0).abs() < 1e-4);
}

/// Half a turn and a mirror image, said in the text.
#[test]
fn a_picture_is_turned_as_asked() {
    let bench = Bench::new(false);
    let folder = bench.folder.path();
    bench.scene(false, 200, |[x, y]| if x > 0.0 && y > 0.0 { 0.7 } else { 0.1 });
    let drawn = |orientation: &str| {
        let ended = foramen(
            folder,
            &[
                "preview",
                "--camera",
                "camera.toml",
                "--hole",
                "0.4 mm",
                "--scene",
                "scene.png",
                "--pixels",
                "100",
                "--orientation",
                orientation,
                "--out",
                "turned.png",
            ],
        );
        assert_eq!(ended.code, 0, "{}", ended.err);
        (image::open(folder.join("turned.png")).unwrap().to_rgb8(), ended.out)
    };
    let ((scene, said), (camera, lies), (hand, held)) =
        (drawn("scene"), drawn("camera"), drawn("hand"));
    // The sentences may be laid out over two lines.
    let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        words(&said).contains("as the scene") && words(&lies).contains("upside down"),
        "{lies}"
    );
    assert!(words(&held).contains("left and right"), "{held}");
    let (wide, high) = scene.dimensions();
    for (x, y) in [(10, 5), (80, 40), (80, 5), (10, 40)] {
        assert_eq!(scene.get_pixel(x, y), hand.get_pixel(wide - 1 - x, y));
        assert_eq!(scene.get_pixel(x, y), camera.get_pixel(wide - 1 - x, high - 1 - y));
    }
    assert_ne!(scene, hand);
}

/// A shadow's circles: film and subject at 50 mm, a hole of 3 mm, whose Fresnel number is 164. Nearly all light is in
/// a shadow 6 mm wide, so that 80 % are in √0.8 of it.
#[test]
fn circles_hold_for_shadows() {
    let bench = Bench::new(false);
    let text = "[film]\ndistance = \"50 mm\"\nwidth = \"60 mm\"\nheight = \"40 mm\"\n[subject]\ndistance =                 \"50 mm\"\n[light]\nwavelength = [\"550 nm\"]\n";
    fs::write(bench.folder.path().join("camera.toml"), text).unwrap();
    let words = [
        "psf",
        "--camera",
        "camera.toml",
        "--hole",
        "3 mm",
        "--size",
        "16",
        "--pitch",
        "1 um",
        "--json",
    ];
    let answer = json(bench.folder.path(), &words);
    for (i, fraction) in [0.5f64, 0.8].into_iter().enumerate() {
        let found = number(&answer, &format!("/encircled_energy/{i}/diameter_um")) / 6000.0;
        // What diffraction moves over the shadow's edge, and its fringes: λvP/(2π²AR) of some parts in a thousand.
        assert!((found / fraction.sqrt() - 1.0).abs() < 5e-3, "{fraction}: {found}");
    }
}
