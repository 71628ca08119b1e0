//! The commands as a person types them, each in an empty folder of its own.

#![allow(clippy::unwrap_used)]

use assert_cmd::Command;
use serde_json::Value;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

pub(super) struct Ended {
    pub(super) code: i32,
    pub(super) out: String,
    pub(super) err: String,
}

pub(super) fn foramen(folder: &Path, words: &[&str]) -> Ended {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin!("foramen"));
    let output = command.current_dir(folder).args(words).output().unwrap();
    Ended {
        code: output.status.code().unwrap(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

pub(super) fn json(folder: &Path, words: &[&str]) -> Value {
    let ended = foramen(folder, words);
    assert_eq!((ended.code, ended.err.as_str()), (0, ""), "{words:?}");
    serde_json::from_str(&ended.out).unwrap()
}

/// Every one of these is there, and is not null.
fn assert_keys(document: &Value, keys: &[&str]) {
    for key in keys {
        let pointer = format!("/{}", key.replace('.', "/"));
        assert!(document.pointer(&pointer).is_some_and(|v| !v.is_null()), "{key} in {document}");
    }
}

const GAUGE: &[&str] = &[
    "scale.mm_per_px",
    "scale.source",
    "scale.relative_uncertainty",
    "hole.area_mm2",
    "hole.equivalent_diameter_mm",
    "hole.equivalent_diameter_uncertainty_mm",
    "hole.perimeter_mm",
    "hole.feret_max_mm",
    "hole.feret_max_angle_deg",
    "hole.feret_min_mm",
    "hole.feret_min_angle_deg",
    "hole.inscribed_diameter_mm",
    "hole.circumscribed_diameter_mm",
    "hole.least_squares_diameter_mm",
    "hole.roundness_mm",
    "hole.minimum_zone_roundness_mm",
    "hole.uncertainty.area_mm2",
    "hole.uncertainty.equivalent_diameter_mm",
    "hole.uncertainty.perimeter_mm",
    "hole.uncertainty.feret_max_mm",
    "hole.uncertainty.feret_min_mm",
    "hole.uncertainty.inscribed_diameter_mm",
    "hole.uncertainty.circumscribed_diameter_mm",
    "hole.uncertainty.least_squares_diameter_mm",
    "hole.uncertainty.roundness_mm",
    "hole.uncertainty.minimum_zone_roundness_mm",
    "hole.aspect_ratio",
    "hole.harmonics.0.order",
    "hole.harmonics.0.amplitude_mm",
    "hole.harmonics.0.phase_deg",
    "hole.raggedness_mm",
    "hole.centroid_px",
    "hole.burrs.0.side",
    "hole.burrs.0.angle_deg",
    "hole.burrs.0.tip_mm",
    "hole.burrs.0.depth_mm",
    "hole.burrs.0.depth_uncertainty_mm",
    "hole.burrs.0.width_mm",
    "hole.burrs.0.area_mm2",
    "hole.debris",
    "warnings",
];
const PSF: &[&str] = &[
    "wavelengths_nm",
    "weights",
    "fresnel_number",
    "f_number",
    "pitch_um",
    "shape",
    "energy_fraction_on_grid",
    "encircled_energy.0.fraction",
    "encircled_energy.0.diameter_um",
    "mtf.frequency_lp_per_mm",
    "mtf.tangential",
    "mtf.sagittal",
    "mtf50_lp_per_mm",
];
const TARGET: &[&str] = &[
    "diameter_mm",
    "constant",
    "criterion",
    "band.0.loss",
    "band.0.low_mm",
    "band.0.high_mm",
    "f_number",
];

#[test]
fn the_demonstration_does_the_main_job() {
    let folder = TempDir::new().unwrap();
    let ended = foramen(folder.path(), &["appraise", "--demo"]);
    assert_eq!((ended.code, ended.err.as_str()), (0, ""));
    for words in ["invented", "This hole", "Best hole", "Sharpness", "Exposure", "±", "%"] {
        assert!(ended.out.contains(words), "{words} in {}", ended.out);
    }
    // Nobody needs to know what a Fresnel number is to read it.
    assert!(!ended.out.contains("Fresnel"));
    let written = folder.path().join("foramen-appraisal");
    for name in ["outline.png", "psf.png", "preview.png"] {
        assert!(image::open(written.join(name)).unwrap().width() >= 1000, "{name}");
    }
    let text = fs::read_to_string(written.join("appraisal.json")).unwrap();
    let answer: Value = serde_json::from_str(&text).unwrap();
    assert_keys(&answer, GAUGE);
    let keys = [
        "verdict.action",
        "verdict.loss",
        "verdict.causes.size",
        "verdict.causes.form",
        "verdict.causes.burrs",
        "verdict.causes.debris",
        "verdict.against_ideal.loss",
        "verdict.against_ideal.thickness",
        "verdict.against_ideal.motion",
        "verdict.corner.open",
        "verdict.counterfactuals.without_burrs",
        "verdict.counterfactuals.rounded",
        "verdict.counterfactuals.widened",
        "verdict.counterfactuals.opened_out",
        "verdict.lines.worst_deg",
        "verdict.reasons.2",
        "verdict.expected_loss",
        "verdict.next_pass.expected_loss",
        "verdict.next_pass.chance_of_overshooting",
        "verdict.loss_jnd",
        "verdict.rim_seen",
        "verdict.suits_distance_mm",
        "verdict.next_pass.aim_mm",
        "verdict.next_pass.expected_loss_jnd",
        "verdict.next_pass.chance_of_ending_worse",
        "verdict.next_pass.chance_of_new_hole",
        "verdict.next_pass.growth.aim_share",
        "verdict.deburring.expected_loss",
        "verdict.size_doubt.most_loss",
    ];
    assert_keys(&answer, &keys);
    // The verdict is the first thing to read, and all of it fits a screen.
    assert!(ended.out.lines().nth(2).unwrap().starts_with("  ENLARGE"), "{}", ended.out);
    assert!(ended.out.lines().count() <= 30, "{}", ended.out);
    assert_keys(&answer["psf"], PSF);
    assert_keys(&answer["target"], TARGET);
    assert!(fs::read_dir(&written).unwrap().count() == 4, "something half-written is left");
}

#[test]
fn each_command_answers_alone() {
    let folder = TempDir::new().unwrap();
    let at = folder.path();
    assert_keys(&json(at, &["gauge", "--demo", "--json", "--outline", "hole.csv"]), GAUGE);
    assert_keys(&json(at, &["psf", "--hole", "0.34 mm", "--json"]), PSF);
    assert_keys(&json(at, &["target", "--json"]), TARGET);
    let exposure = json(at, &["expose", "--hole", "4.5 per mm", "--ev", "12", "--json"]);
    assert_keys(&exposure, &["f_number", "metered_s", "corrected_s", "stops_from_reference"]);
    // The outline that gauge wrote is a hole in its turn, of the same size.
    let sizes = json(at, &["gauge", "--hole", "hole.csv", "--json"]);
    let size = sizes["hole"]["equivalent_diameter_mm"].as_f64().unwrap();
    assert!((size - 0.35).abs() < 0.001, "{size}");
    let words = ["preview", "--hole", "hole.csv", "--scene", "chart", "--pixels", "400"];
    assert_eq!(foramen(at, &words).code, 0);
    assert_eq!(image::open(at.join("foramen-preview.png")).unwrap().width(), 400);
}

#[test]
fn the_samples_are_the_psf() {
    let folder = TempDir::new().unwrap();
    let words = ["psf", "--hole", "0.3 mm", "--size", "64", "--pitch", "10 um"];
    let more = ["--samples", "psf.npy", "--out", "psf.png", "--json"];
    let answer = json(folder.path(), &[words.as_slice(), &more].concat());
    assert_eq!(answer["shape"], serde_json::json!([64, 64]));
    let bytes = fs::read(folder.path().join("psf.npy")).unwrap();
    let samples: Vec<f64> = bytes[bytes.len() - 64 * 64 * 8..]
        .chunks_exact(8)
        .map(|eight| f64::from_le_bytes(eight.try_into().unwrap()))
        .collect();
    let energy = samples.iter().sum::<f64>() * 0.01 * 0.01;
    let said = answer["energy_fraction_on_grid"].as_f64().unwrap();
    assert!((energy - said).abs() < 1e-12);
    // A disc's peak is in the middle: row 32, column 32.
    let peak = samples.iter().copied().fold(0.0, f64::max);
    assert_eq!(samples[32 * 64 + 32], peak);
}

/// Someone else's camera, photo and scale.
#[test]
fn ones_own_camera_and_photo() {
    use foramen::hole::specimen;
    use foramen::raster::{display, png};
    let folder = TempDir::new().unwrap();
    let camera = "[film]\ndistance = \"60 mm\"\nwidth = \"56 mm\"\nheight = \"56 mm\"\n";
    fs::write(folder.path().join("tin.toml"), camera).unwrap();
    let photo = png(&display(&specimen::demonstration().unwrap().raster).unwrap()).unwrap();
    fs::write(folder.path().join("photo.png"), photo).unwrap();
    let words = ["appraise", "--camera", "tin.toml", "--hole", "photo.png"];
    let scale = ["--scale", "1000 px = 1 mm", "--scene", "chart", "--out", "here", "--json"];
    let answer = json(folder.path(), &[words.as_slice(), &scale].concat());
    // 0.35 mm at 60 mm: c = 1.93 with light of 550 nm, a fifth too large: more than an eye can overlook.
    assert_eq!(answer["camera"], "tin");
    assert!((answer["hole"]["equivalent_diameter_mm"].as_f64().unwrap() - 0.35).abs() < 0.0015);
    assert!(answer["verdict"]["loss_jnd"].as_f64().unwrap() > 1.0, "{}", answer["verdict"]);
    assert!(folder.path().join("here/preview.png").is_file());
}

/// A scan of six holes, 1000 px to a mm, as a PNG whose pHYs chunk says so.
fn scan() -> Vec<u8> {
    use foramen::geometry::{Outline, shapes};
    use foramen::hole::specimen::{Look, photograph};
    let holes = (0..6).flat_map(|i| {
        let (row, column) = (f64::from(i / 3), f64::from(i % 3));
        let hole = shapes::disc(0.06 + 0.01 * f64::from(i)).unwrap();
        hole.moved(0.25 * (column - 1.0), 0.15 - 0.3 * row).loops().to_vec()
    });
    let look = Look { rows: 700, columns: 900, wear: 0.0, ..Look::default() };
    let look = Look { centre_px: [450.0, 350.0], ..look };
    let picture = photograph(&Outline::new(holes.collect()).unwrap(), &look).unwrap();
    let shown = foramen::raster::display(&picture).unwrap();
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, 900, 700);
    encoder.set_color(png::ColorType::Rgb);
    let (xppu, yppu) = (1_000_000, 1_000_000);
    encoder.set_pixel_dims(Some(png::PixelDimensions { xppu, yppu, unit: png::Unit::Meter }));
    encoder.write_header().unwrap().write_image_data(&shown).unwrap();
    bytes
}

#[test]
fn a_scan_of_many_holes_is_a_table() {
    let folder = TempDir::new().unwrap();
    let at = folder.path();
    fs::write(at.join("scan.png"), scan()).unwrap();
    let photo = ["gauge", "--hole", "scan.png", "--scale", "auto"];
    let with = |more: &[&'static str]| [&photo[..], more].concat();
    // The program's own number, not the file's 25 400 dpi, which is more than a scanner's.
    let refused = foramen(at, &with(&["--every"]));
    assert_eq!(refused.code, 1);
    assert!(
        refused.err.contains("25400 dpi") && refused.err.contains("--scale"),
        "{}",
        refused.err
    );
    let scaled = ["gauge", "--hole", "scan.png", "--scale", "1000 px = 1 mm"];
    let with = |more: &[&'static str]| [&scaled[..], more].concat();
    let camera = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/cedar_box.toml");
    let answer = json(at, &with(&["--every", "--json", "--out", "sheet.png", "--camera", camera]));
    let holes = answer["holes"].as_array().unwrap();
    assert_eq!(holes.len(), 6);
    for (i, hole) in holes.iter().enumerate() {
        assert_keys(hole, &["number", "place_px", "hole.equivalent_diameter_mm", "loss", "rank"]);
        let size = hole["hole"]["equivalent_diameter_mm"].as_f64().unwrap();
        assert!((size / (0.06 + 0.01 * i as f64) - 1.0).abs() < 0.005, "{i}: {size}");
        // All are smaller than the camera's best: the largest comes first.
        assert_eq!(hole["rank"].as_u64().unwrap() as usize, 6 - i);
    }
    assert!(at.join("sheet.png").is_file());
    let text = foramen(at, &with(&["--every"]));
    assert!(text.code == 0 && text.out.contains("6 holes measured"), "{}", text.out);
    let which = foramen(at, &scaled);
    assert!(which.code == 1 && which.err.contains("--at"), "{}", which.err);
    let one = json(at, &with(&["--at", "200,200 px", "--json"]));
    assert!((one["hole"]["equivalent_diameter_mm"].as_f64().unwrap() / 0.06 - 1.0).abs() < 0.005);
    let outlines = foramen(at, &with(&["--at", "200,200", "--outline", "one.svg"]));
    assert_eq!(outlines.code, 0, "{}", outlines.err);
    let again = json(at, &["gauge", "--hole", "one.svg", "--json"]);
    assert_eq!(
        again["hole"]["area_mm2"].as_f64().map(|a| (a * 1e6).round()),
        one["hole"]["area_mm2"].as_f64().map(|a| (a * 1e6).round())
    );
}

/// Three in a millimetre to a quarter: ±9.6 % (k = 2), a tenth as much where one reads a tenth of that.
#[test]
fn a_count_says_what_it_is_worth_in_a_camera() {
    let folder = TempDir::new().unwrap();
    let camera = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/cedar_box.toml");
    let at_camera = |words: &[&str]| {
        let call = [&["gauge", "--camera", camera, "--json", "--hole"], words].concat();
        json(folder.path(), &call)["at_camera"].clone()
    };
    let coarse = at_camera(&["3 per mm"]);
    assert_keys(&coarse, &["camera", "best_diameter_mm", "loss", "size_doubt.most_loss"]);
    assert!((coarse["size_doubt"]["relative"].as_f64().unwrap() - 0.0962).abs() < 1e-3);
    assert_eq!(coarse["size_doubt"]["enough"], false);
    let fine = at_camera(&["3 per mm", "--reading", "1/40"]);
    assert_eq!(fine["size_doubt"]["enough"], true);
    // Near the best size a quarter of a diameter is enough.
    assert_eq!(at_camera(&["2.3 per mm", "--reading", "0.15"])["size_doubt"]["enough"], true);
}

#[test]
fn bad_words_say_what_to_write_instead() {
    let folder = TempDir::new().unwrap();
    let at = folder.path();
    fs::write(at.join("bad.toml"), "[film]\ndistance = \"75\"\n").unwrap();
    fs::write(at.join("bad.csv"), "x_mm,y_mm\n0,0\n1,zero\n").unwrap();
    fs::write(at.join("text.png"), "no picture").unwrap();
    fs::write(at.join("file"), "").unwrap();
    let cases: &[(i32, &[&str], &str)] = &[
        (2, &["target", "--nonsense"], "--nonsense"),
        (2, &["gauge"], "--hole"),
        (2, &["gauge", "--hole", "0.34"], "no unit"),
        (2, &["gauge", "--hole", "0,34 mm"], "comma"),
        (2, &["gauge", "--hole", "-0.3 mm"], "above zero"),
        (2, &["gauge", "--hole", "wide"], "what hole is meant"),
        (1, &["gauge", "--hole", "34 mm"], "not a pinhole"),
        (1, &["gauge", "--hole", "bad.csv"], "bad.csv:3"),
        (1, &["gauge", "--hole", "text.png", "--scale", "400 px = 1 mm"], "text.png"),
        (2, &["gauge", "--hole", "text.png", "--scale", "0 px = 1 mm"], "above zero"),
        (1, &["gauge", "--hole", "text.png"], "text.png"),
        (2, &["gauge", "--hole", "0.3 mm", "--scale", "400 px = 1 mm"], "needs no scale"),
        (2, &["gauge", "--hole", "text.png", "--scale", "2400 dpi", "--at", "x"], "not a place"),
        (2, &["gauge", "--hole", "4 per mm", "--reading", "9"], "fraction of a diameter"),
        (2, &["gauge", "--hole", "0.3 mm", "--every"], "not one picture"),
        (2, &["gauge", "--hole", "text.png", "--graduation", "1 mm"], "--scale"),
        (1, &["gauge", "--hole", "text.png", "--scale", "auto"], "text.png"),
        (2, &["gauge", "--hole", "bad.csv", "--outline", "hole.txt"], "hole.txt"),
        (1, &["target", "--camera", "bad.toml"], "bad.toml:"),
        (1, &["target", "--camera", "missing.toml"], "missing.toml"),
        (1, &["preview", "--hole", "0.3 mm", "--scene", "missing.jpg"], "missing.jpg"),
        (1, &["camera", "--out", "bad.toml"], "there already"),
        (1, &["psf", "--hole", "0.3 mm", "--at", "400 mm, 0 mm"], "beyond the film"),
        (2, &["psf", "--hole", "0.3 mm", "--at", "12, 5 mm"], "no unit"),
        (1, &["expose", "--hole", "0.3 mm", "--lux", "0"], "exposure"),
        (2, &["preview", "--hole", "0.3 mm", "--as-seen", "--compare"], "cannot be used"),
        (2, &["psf", "--hole", "0.3 mm", "--pitch", "2"], "no unit"),
        (1, &["psf", "--hole", "0.3 mm", "--size", "0"], "grid"),
        (1, &["psf", "--hole", "0.3 mm", "--samples", "no/psf.npy"], "no/psf.npy"),
        (2, &["expose", "--hole", "0.3 mm", "--ev", "NaN"], "exposure"),
        (1, &["appraise", "--hole", "0.3 mm", "--out", "file"], "folder"),
    ];
    for (code, words, expected) in cases {
        let ended = foramen(at, words);
        assert_eq!(ended.code, *code, "{words:?}: {}", ended.err);
        assert!(ended.err.contains(expected), "{words:?}: {}", ended.err);
        assert!(ended.out.is_empty() && !ended.err.contains("panicked"), "{words:?}");
    }
    assert_eq!(fs::read_dir(at).unwrap().count(), 4, "something was left behind");
}

/// A tube of a person's own, from the file that the program writes: the light, the map, the picture and the
/// exposure at its sides.
#[test]
fn a_tube_camera_from_the_first_file_to_the_picture() {
    let folder = TempDir::new().unwrap();
    let at = folder.path();
    assert_eq!(foramen(at, &["camera", "--out", "box.toml"]).code, 0);
    let text = fs::read_to_string(at.join("box.toml")).unwrap();
    let tube = text
        .replace("shape = \"flat\"  ", "shape = \"cylinder\"\nradius = \"60 mm\" ")
        .replace("medium = \"colour\" ", "medium = \"blue-sensitive\" ");
    fs::write(at.join("tube.toml"), tube).unwrap();
    let with = |words: &[&'static str]| -> Vec<&'static str> {
        [words, &["--camera", "tube.toml", "--hole", "0.34 mm"]].concat()
    };
    let psf = json(at, &with(&["psf", "--json", "--at", "50 mm, -20 mm", "--map", "map.png"]));
    // Hole in the wall: the arc is v θ, and the film leans as much as the ray does.
    let theta = (50.0f64 / 120.0).to_degrees();
    let number = |document: &Value, key: &str| document.pointer(key).unwrap().as_f64().unwrap();
    let level = (number(&psf, "/place/distance_mm").powi(2) - 400.0).sqrt();
    assert!((level / 120.0 - theta.to_radians().cos()).abs() < 1e-9);
    assert!((422.0 - number(&psf, "/effective_wavelength_nm")).abs() < 1.0);
    let exposure = json(at, &with(&["expose", "--json", "--lux", "20000"]));
    // Nothing is lost along the bend but what the plate of 0.05 mm closes at 30 degrees.
    assert!((-0.3..-0.05).contains(&number(&exposure, "/fall_off/side_stops")));
    assert_eq!(exposure["bracket"].as_array().unwrap().len(), 5);
    let preview = json(
        at,
        &with(&["preview", "--json", "--compare", "--pixels", "300", "--out", "picture.png"]),
    );
    assert!(number(&preview, "/contrast_error") < 0.02);
    for tone in ["positive", "negative"] {
        let ended = foramen(at, &with(&["preview", "--pixels", "200", "--tone", tone]));
        assert_eq!(ended.code, 0, "{}", ended.err);
    }
    for file in ["map.png", "picture.png", "foramen-preview.png"] {
        let bytes = fs::read(at.join(file)).unwrap();
        assert_eq!(&bytes[..8], b"\x89PNG\r\n\x1a\n", "{file}");
    }
}

/// Several holes are ranked, those that cannot be measured named, and nothing is written.
#[test]
fn several_holes_are_ranked_with_advice() {
    let folder = TempDir::new().unwrap();
    let at = folder.path();
    fs::write(at.join("square.csv"), "x_mm,y_mm\n0,0\n0.34,0\n0.34,0.34\n0,0.34\n").unwrap();
    let holes =
        ["--hole", "0.2 mm", "--hole", "square.csv", "--hole", "none.csv", "--hole", "0.375 mm"];
    let words =
        |last: &'static [&'static str]| [&["appraise", "--every"], &holes[..], last].concat();
    let ended = foramen(at, &words(&[]));
    assert_eq!((ended.code, ended.err.as_str()), (0, ""));
    let lines: Vec<&str> = ended.out.lines().collect();
    for (line, parts) in [
        (3, ["1  0.375 mm", "stop"]),
        (4, ["2  square.csv", "form"]),
        (5, ["3  0.2 mm", "enlarge"]),
        (6, ["-  none.csv", "not measured"]),
    ] {
        assert!(parts.iter().all(|part| lines[line].contains(part)), "{parts:?}: {}", ended.out);
    }
    let answer = json(at, &words(&["--json"]));
    assert_eq!(answer["holes"][0]["rank"], 3);
    assert_eq!(answer["holes"][2]["verdict"], Value::Null);
    assert_keys(&answer, &["holes.2.fault", "holes.3.verdict.action", "target.diameter_mm"]);
    assert!(fs::read_dir(at).unwrap().count() == 1, "something was written");
    let scan = foramen(at, &["appraise", "--every", "--demo"]);
    assert!(scan.code == 0 && scan.out.contains("\n    24  "), "{}", scan.out);
    let both = foramen(at, &words(&["--log", "bench.jsonl"]));
    assert_eq!(both.code, 2, "{}", both.err);
}
