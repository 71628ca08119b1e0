use super::*;
use crate::camera::no_curves;

fn parsed(text: &str) -> Result<Camera, Error> {
    parse(text, "box.toml", &no_curves)
}

const FILM: &str = "[film]\ndistance = \"75 mm\"\nwidth = \"4 in\"\nheight = \"5 in\"\n";

#[test]
fn the_demonstration_camera_is_sound() {
    let camera = Camera::demonstration().unwrap();
    assert_eq!(camera.distances.film_mm(), 120.0);
    assert_eq!(camera.film.shape, Shape::Flat);
}

#[test]
fn the_example_of_a_tube_is_sound() {
    let camera = parsed(include_str!("../../../examples/biscuit_tube.toml")).unwrap();
    // The hole is in the wall: twice the radius away.
    assert_eq!(camera.film.shape, Shape::Cylinder { radius_mm: 75.0, axis: Axis::Vertical });
    assert!(!camera.in_colour && camera.distances.film_mm() == 150.0);
}

/// Every key of the example can be used as it is written: with all of them taken in, the file is read.
#[test]
fn every_key_of_the_example_is_honoured() {
    let mut used = String::new();
    for line in DEMONSTRATION.lines() {
        // A key that is left out stands as "#key = ...", remarks as "# ...".
        let bare = line.strip_prefix('#').filter(|rest| !rest.starts_with([' ', '#']));
        let key = bare.unwrap_or(line);
        // Flat film and round, speeds of film and of paper exclude each other.
        if key.starts_with("shape = \"flat\"") || key.starts_with("speed = ") {
            continue;
        }
        // Files that nobody has, wavelengths beside a medium.
        if key.contains(".csv") || key.starts_with("wavelength") || key.starts_with("weight") {
            continue;
        }
        used += key;
        used.push('\n');
    }
    let camera = parsed(&used).unwrap_or_else(|why| panic!("{why}\n{used}"));
    assert!(camera.support.is_some() && camera.plate_mm > 0.0 && camera.emulsion.blur_mm > 0.0);
    assert!(matches!(camera.film.shape, Shape::Cylinder { .. }));
}

#[test]
fn what_is_left_out_has_its_default() {
    let camera = parsed(FILM).unwrap();
    assert_eq!(camera.name, "box");
    assert_eq!(camera.distances.subject_mm(), f64::INFINITY);
    assert_eq!(camera.light.mean_nm(), 550.0);
    // A contact print of 4 × 5 in is looked at from the nearest distance an eye can.
    assert_eq!(camera.print.viewing_distance_mm, 250.0);
    assert_eq!(camera.film.width_mm, 101.6);
    assert_eq!((camera.plate_mm, camera.support), (0.0, None));
}

#[test]
fn movements_are_lengths_or_angles_in_a_time() {
    let with = |more: &str| parsed(&format!("{FILM}[support]\n{more}")).unwrap().support.unwrap();
    let drift = with("drift = \"0.12 mm in 1 min\"\ndirection = \"90 deg\"");
    assert!((drift.drift_mm_per_s - 0.002).abs() < 1e-15);
    assert!((drift.direction_rad - std::f64::consts::FRAC_PI_2).abs() < 1e-15);
    // A turn by 0.1 degrees moves the middle by 75 mm · tan 0.1° = 0.1309 mm.
    let turning = with("drift = \"0.1 deg in 1 s\"");
    assert!((turning.drift_mm_per_s - 0.130_900).abs() < 1e-6);
    // A walk's square grows with time: 0.1² mm² in 10 s, half of it along each axis.
    assert!((with("walk = \"0.1 mm in 10 s\"").walk_mm2_per_s - 0.0005).abs() < 1e-15);
}

#[test]
fn paper_has_a_speed_of_its_own() {
    let camera = parsed(&format!("{FILM}[emulsion]\npaper-speed = 500")).unwrap();
    // Common practice rates such paper at 3 to 6 (no source).
    assert!((camera.emulsion.speed_iso - 4.0625).abs() < 1e-12);
}

#[test]
fn faults_are_named_with_their_line() {
    let with = |more: &str| format!("{FILM}{more}");
    let tube = |more: &str| format!("{FILM}shape = \"cylinder\"\n{more}");
    let cases = [
        ("[film]\ndistance = \"75\"\nwidth = \"4 in\"\nheight = \"5 in\"".into(), 2, "no unit"),
        ("[film]\ndistance = 75\nwidth = \"4 in\"\nheight = \"5 in\"".into(), 2, "expected"),
        ("[film]\nwidth = \"4 in\"".into(), 1, "distance"),
        (with("widht = \"1 mm\""), 5, "widht"),
        (with("radius = \"50 mm\""), 5, "needs shape"),
        (with("axis = \"vertical\""), 5, "needs shape"),
        (with("shape = \"round\""), 5, "not a film shape"),
        (tube(""), 5, "needs film.radius"),
        (tube("radius = \"37 mm\""), 5, "outside the tube"),
        (tube("radius = \"-1 mm\""), 6, "above zero"),
        (tube("radius = \"60 mm\"\naxis = \"oblique\""), 7, "not a cylinder axis"),
        (tube("radius = \"38 mm\"\naxis = \"up\""), 7, "not a cylinder axis"),
        (with("[plate]\nthickness = \"0 mm\""), 6, "above zero"),
        (with("[plate]\nthickness = \"2 in\""), 6, "out of range"),
        (with("[plate]\nthick = \"0.1 mm\""), 6, "thick"),
        (with("[subject]\ndistance = \"0 m\""), 6, "above zero"),
        (with("[light]\nmedium = \"eyes\""), 6, "not a known"),
        (with("[light]\nilluminant = \"moon\""), 6, "not a known"),
        (with("[light]\nilluminant = \"50 K\""), 6, "50"),
        (with("[light]\nfilter = \"none.csv\""), 6, "not a known"),
        (with("[light]\nmedium = \"eye\"\nwavelength = \"550 nm\""), 7, "contradicts"),
        (with("[light]\nwavelength = \"550\""), 6, "no unit"),
        (with("[light]\nwavelength = 550"), 6, "neither"),
        (with("[light]\nwavelength = [\"550 nm\"]\nweight = [1, 2]"), 6, "2 weights"),
        (with("[light]\nwavelength = \"550 nm\"\nweight = [0]"), 6, "any light"),
        (with("[light]\nwavelength = \"5 nm\""), 6, "not light"),
        (with("[emulsion]\nspeed = 0"), 6, "out of range"),
        (with("[emulsion]\nspeed = nan"), 6, "out of range"),
        (with("[emulsion]\nspeed = 100\npaper-speed = 200"), 7, "contradict"),
        (with("[emulsion]\nonset = \"1 s\""), 6, "needs"),
        (with("[emulsion]\nreciprocity = 0.8"), 6, "out of range"),
        (with("[emulsion]\nreciprocity = \"much\""), 6, "neither"),
        (with("[emulsion]\nreciprocity = [[\"1 s\", \"2 s\"]]"), 6, "fewer"),
        (with("[emulsion]\nreciprocity = [[\"2 s\", \"3 s\"], [\"1 s\", \"4 s\"]]"), 6, "rise"),
        (with("[emulsion]\nreciprocity = [[\"2 s\", \"1 s\"], [\"3 s\", \"4 s\"]]"), 6, "shortens"),
        (with("[emulsion]\nblur = \"2 mm\""), 6, "out of range"),
        (with("[support]\ndrift = \"0.1 mm\""), 6, "how long"),
        (with("[support]\ndrift = \"0.1 in 1 s\""), 6, "no unit"),
        (with("[support]\nsway = \"0.1 mm\""), 6, "belong together"),
        (with("[support]\nwalk = \"-1 mm in 1 s\""), 6, "above zero"),
        (with("[print]\nenlargement = -2"), 6, "out of range"),
        ("film = ".into(), 1, ""),
    ];
    for (text, line, words) in cases {
        let error = parsed(&text).unwrap_err();
        let said = error.to_string();
        assert!(said.starts_with(&format!("box.toml:{line}: ")), "{text}\n{said}");
        assert!(said.contains(words), "{text}\n{said}");
        assert!(!error.remedy().is_empty());
    }
}
