//! Whole answers of changed inputs: a hole gauged in a picture, and a verdict for a camera.

use super::change::Change;
use super::{answers, each_run, seeds};
use foramen::Watch;
use foramen::camera::Camera;
use foramen::geometry::shapes;
use foramen::hole::{Hole, Said};
use foramen::task::{appraise, gauge};
use foramen::verdict::decision::hand::Hand;
use image::{ImageFormat, Luma};
use std::io::Cursor;

/// A picture of a hole on which things are laid: bright and dark spots, bars, noise, other light.
#[test]
fn holes_are_gauged_in_whatever_is_seen() {
    each_run("gauge", answers(200), |run| {
        let mut change = Change::new(run);
        let mut picture = image::imageops::resize(
            &seeds::grey(),
            24 + change.below(50) as u32,
            24 + change.below(50) as u32,
            image::imageops::FilterType::Triangle,
        );
        let (columns, rows) = picture.dimensions();
        for _ in 0..change.below(5) {
            let value = change.below(256) as u8;
            let [x, y] = [columns, rows].map(|side| change.below(side as usize) as u32);
            let [wide, high] = [0, 1].map(|_| 1 + change.below(30) as u32);
            for (column, row) in (x..columns.min(x + wide))
                .flat_map(|x| (y..rows.min(y + high)).map(move |y| (x, y)))
            {
                picture.put_pixel(column, row, Luma([value]));
            }
        }
        let noise = change.below(60);
        for pixel in picture.pixels_mut() {
            pixel.0[0] = pixel.0[0].saturating_add(change.below(noise + 1) as u8);
        }
        let mut file = Vec::new();
        picture.write_to(&mut Cursor::new(&mut file), ImageFormat::Png).unwrap();
        let said = Said { scales: vec!["80 px = 1 mm".into()], ..Said::of("hole.png") };
        let hole = Hole::of(&said.source(&|_| Ok(file.clone()))?)?;
        let answer = gauge::run(&gauge::Request { hole, camera: None }, Watch::nobody())?;
        let sizes = answer.hole;
        assert!(sizes.area_mm2.is_finite() && sizes.equivalent_diameter_mm > 0.0);
        assert!(sizes.inscribed_diameter_mm <= sizes.circumscribed_diameter_mm * (1.0 + 1e-9));
        Ok(())
    });
}

#[test]
fn verdicts_hold_for_whatever_camera() {
    let [long, short] = [seeds::cameras(), seeds::short_cameras()];
    each_run("verdict", answers(40), |run| {
        // One in many sees many wavelengths.
        let bytes = Change::new(run).gently(if run % 64 == 0 { &long } else { &short });
        let camera =
            Camera::parse(&String::from_utf8_lossy(&bytes), "camera.toml", &seeds::a_curve)?;
        let mut change = Change::new(run ^ 0x5A5A);
        let outline = shapes::ellipse(0.05 + change.share(), 0.05 + change.share())?;
        let mut hole = Hole::of(&Said::of("0.3 mm").source(&seeds::no_file)?)?;
        hole.outline = outline;
        let request = appraise::Request {
            camera,
            hole,
            hand: Hand::unknown(),
            again: false,
            others: Vec::new(),
        };
        let judged = appraise::judge(&request, Watch::nobody())?;
        assert!((0.0..=1.0).contains(&judged.verdict.loss), "{}", judged.verdict.loss);
        assert!(judged.target.diameter_mm > 0.0 && judged.target.diameter_mm.is_finite());
        Ok(())
    });
}
