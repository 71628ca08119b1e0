//! The light that counts, against sums made elsewhere and much finer ones made here.

use super::*;

fn named(illuminant: &str, medium: &str) -> Light {
    let (illuminant, medium) = (Illuminant::named(illuminant), Medium::named(medium));
    light(&illuminant.unwrap(), None, &medium.unwrap()).unwrap()
}

fn curve(text: &str) -> Curve {
    Curve::parse(text).unwrap()
}

/// Mean and standard deviation of weighted places.
fn moments(lines: &[(f64, f64)]) -> (f64, f64) {
    let total: f64 = lines.iter().map(|line| line.1).sum();
    let mean = lines.iter().map(|line| line.0 * line.1).sum::<f64>() / total;
    let variance = lines.iter().map(|line| (line.0 - mean).powi(2) * line.1).sum::<f64>() / total;
    (mean, variance.sqrt())
}

/// The stated curves times the published D55, summed every 10 nm by an independent calculation.
#[test]
fn mean_and_width_are_those_computed_elsewhere() {
    for (medium, mean, deviation) in
        [("blue-sensitive", 422.4, 31.4), ("panchromatic", 532.2, 73.6)]
    {
        let found = moments(named("D55", medium).lines());
        // Stated to 0.1 nm; the sums are the same, so that only that rounding is left.
        assert!((found.0 - mean).abs() < 0.06, "{medium}: {found:?}");
        assert!((found.1 - deviation).abs() < 0.06, "{medium}: {found:?}");
    }
}

/// The farthest that mean and standard deviation of the light lie from those of the same curves
/// summed every 0.05 nm, over many lights and media.
fn farthest_from_finer(filter: Option<&Curve>) -> (f64, f64) {
    let lamp = curve("380,0.1\n435,0.2\n436,3\n437,0.2\n545,0.3\n546,2\n547,0.3\n620,0.6\n700,0.1");
    let named = ["flat", "D65", "tungsten"].map(|name| Illuminant::named(name).unwrap());
    let illuminants = named.into_iter().chain([Illuminant::Measured(lamp)]);
    let mut farthest = (0.0, 0.0);
    for illuminant in illuminants {
        for medium in ["panchromatic", "orthochromatic", "eye", "colour"] {
            let medium = Medium::named(medium).unwrap();
            let found = moments(light(&illuminant, filter, &medium).unwrap().lines());
            let (power, sees) = (illuminant.power().unwrap(), medium.sensitivity());
            let counts =
                |nm| power.at(nm) * sees.at(nm) * filter.map_or(1.0, |filter| filter.at(nm));
            let places = (6000..16_600).map(|step| 0.05 * (f64::from(step) + 0.5));
            let truth = moments(&places.map(|nm| (nm, counts(nm))).collect::<Vec<_>>());
            farthest.0 = f64::max(farthest.0, (found.0 - truth.0).abs());
            farthest.1 = f64::max(farthest.1, (found.1 - truth.1).abs());
        }
    }
    farthest
}

/// The bounds are those that [`light`] states: a pinhole's image does not change by a wavelength
/// that is wrong by a thousandth.
#[test]
fn lines_are_as_good_as_a_finer_sum() {
    let narrow: String = (0..=40)
        .map(|step| 530.7 + 0.25 * f64::from(step))
        .map(|nm| format!("{nm},{}\n", (-((nm - 535.7) / 1.5).powi(2) / 2.0).exp()))
        .collect();
    let steep = curve("495,0\n503,0.7\n521,0.9\n700,0.92");
    let triangle = curve("440,0\n446.3,0.8\n452.6,0");
    let cases =
        [(None, 0.3), (Some(curve(&narrow)), 0.01), (Some(steep), 0.3), (Some(triangle), 1.2)];
    for (filter, most) in cases {
        let (mean, deviation) = farthest_from_finer(filter.as_ref());
        println!("mean wavelength within {mean:.3} nm, deviation within {deviation:.3} nm");
        assert!(mean < most && deviation < most, "{mean} {deviation}");
    }
}

#[test]
fn filters_and_media_move_the_light_where_they_should() {
    let medium = Medium::Panchromatic;
    let daylight = Illuminant::named("daylight").unwrap();
    let red = curve("590,0\n610,0.9\n700,0.9");
    let through = light(&daylight, Some(&red), &medium).unwrap();
    assert!(through.shortest_nm() > 590.0 && through.longest_nm() < 690.0);
    let warm = named("tungsten", "panchromatic").mean_nm();
    let cool = named("10000 K", "panchromatic").mean_nm();
    assert!(cool < named("daylight", "panchromatic").mean_nm());
    assert!(named("daylight", "panchromatic").mean_nm() < warm);
    // The size of a curve does not matter, only its form.
    let thin = curve("590,0\n610,0.0009\n700,0.0009");
    let faint = light(&daylight, Some(&thin), &medium).unwrap();
    assert!((faint.mean_nm() / through.mean_nm() - 1.0).abs() < 1e-12);
    // Beyond what the tables of daylight hold, a glowing body still shines.
    let infrared = Medium::Measured(curve("830,0\n860,1\n920,0"));
    assert!(light(&daylight, None, &infrared).is_err());
    let lamp = light(&Illuminant::named("tungsten").unwrap(), None, &infrared).unwrap();
    assert!((830.0..920.0).contains(&lamp.mean_nm()) && lamp.lines().len() == 8);
}

#[test]
fn where_nothing_is_left_it_says_so() {
    let deep_red = curve("640,0\n660,0.9\n700,0.9");
    let illuminants = [Illuminant::Flat, Illuminant::named("D65").unwrap()];
    for (illuminant, reach) in illuminants.iter().zip(["all wavelengths", "300 nm to 830 nm"]) {
        let error = light(illuminant, Some(&deep_red), &Medium::BlueSensitive).unwrap_err();
        let said = error.to_string();
        for part in ["nothing would be exposed", reach, "640 nm to 700 nm", "340 nm to 510 nm"] {
            assert!(said.contains(part), "{said}");
        }
        assert!(error.remedy().contains("filter"));
    }
    // Ranges that overlap where one of the curves is zero.
    let split = curve("300,1\n320,0\n600,0\n620,1");
    assert!(light(&Illuminant::Flat, Some(&split), &Medium::BlueSensitive).is_err());
    // Zero everywhere: a file of such a filter is refused before it comes here.
    let shut = Curve::through(vec![(300.0, 0.0), (830.0, 0.0)]);
    assert!(light(&Illuminant::Flat, Some(&shut), &Medium::Panchromatic).is_err());
}

#[test]
fn bands_of_colour_add_up() {
    let all = named("daylight", "colour");
    let bands = [(0.0, 490.0), (490.0, 590.0), (590.0, f64::INFINITY)];
    let shares: f64 = bands.iter().map(|b| all.within(b.0, b.1).unwrap().0).sum();
    // Thirty-five numbers below 1, each rounded to 1e-16.
    assert!((shares - 1.0).abs() < 1e-14, "{shares}");
}
