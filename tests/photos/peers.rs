//! The same small photos as general-purpose libraries measured them by a plain threshold in linear
//! light. Source of photos and figures: tests/reference/make_thresholds.py (scikit-image, OpenCV).

use foramen::hole::trace;
use foramen::raster::Transfer;
use std::path::Path;

#[test]
fn closer_to_the_truth_than_a_threshold() {
    let folder = Path::new("tests/reference");
    let table = std::fs::read_to_string(folder.join("thresholds.csv")).unwrap();
    let (mut ours, mut theirs) = (Vec::new(), vec![Vec::new(); 3]);
    for line in table.lines().skip(2) {
        let (file, numbers) = line.split_once(',').unwrap();
        let numbers: Vec<f64> = numbers.split(',').map(|n| n.parse().unwrap()).collect();
        let truth = numbers[0];
        let picture = foramen::files::picture(
            &folder.join(file),
            Transfer::ByFile,
            foramen::files::Memory::default(),
        )
        .unwrap()
        .raster;
        let traced = trace(&picture, None).unwrap();
        let found = traced.outline([1.0; 2]).unwrap().equivalent_diameter_mm();
        println!("{file}: {:+.3} % of {truth} px", 100.0 * (found / truth - 1.0));
        ours.push((found / truth - 1.0).abs());
        for (errors, number) in theirs.iter_mut().zip(&numbers[1..]) {
            errors.push((number / truth - 1.0).abs());
        }
        // Within what is stated: both sides of the diameter, k = 2.
        assert!((found - truth).abs() < 4.0 * traced.rim_uncertainty.mean_px, "{file}: {found}");
    }
    let mean = |errors: &[f64]| errors.iter().sum::<f64>() / errors.len() as f64;
    println!("mean error: {:.3} %; of thresholds:", 100.0 * mean(&ours));
    for (name, errors) in
        ["Otsu, pixels", "half level, contour", "half level, pixel chain"].iter().zip(&theirs)
    {
        println!("  {name}: {:.3} %", 100.0 * mean(errors));
        assert!(mean(&ours) < 0.5 * mean(errors), "{name}");
    }
}
