//! The bench card in words: what to aim for, how to work, and how long to expose.

use super::card;
use super::target::tools;
use super::verdict::count;
use crate::camera::Camera;
use crate::camera::exposure::{Exposure, exposure};
use crate::error::Error;
use crate::geometry::shapes;
use crate::plate::{self, BAR_MM, BenchCard, CountedSize};
use crate::quantity::{Quantity, significant};
use crate::verdict::target::{Target, target};

const STEPS: [&str; 6] = [
    "Dome the sheet over a pencil's end; press the needle from inside the dome, less than you think.",
    "Sand the outside flat and wet, with fine paper, until no burr is felt or seen.",
    "Turn the needle gently through the hole to clear it. Rinse and dry.",
    "Look at it against a lamp through the loupe. Count how many of it fill a millimetre.",
    "Too small (a higher count): go on from step 1, a little. In the band: stop.",
    "Write each pass down. Metal cannot be put back.",
];

const CAUTION: &str = "Needles and sheet edges cut: wear eye protection. Old brass, tin and solder may hold lead: sand wet, \
                       and keep the dust off hands and food. Never look at the Sun through a hole or a loupe.";

const LOUPE: &str = "Ten times as large as the metal: the lines are a millimetre apart, and the holes touch each other, as \
                     they are counted under the loupe.";

/// Draws the bench card of a camera as SVG at true size, with its best hole and the exposure for that.
///
/// # Errors
/// As [`exposure`] and [`plate::bench_card()`].
pub fn of(camera: &Camera) -> Result<String, Error> {
    let target = target(camera);
    let exposure = exposure(camera, &shapes::disc(target.diameter_mm)?)?;
    svg(camera, &target, &exposure)
}

/// Draws the bench card of a camera as SVG at true size; the exposure is that of the best hole.
///
/// # Errors
/// As [`plate::bench_card()`].
fn svg(camera: &Camera, target: &Target, exposure: &Exposure) -> Result<String, Error> {
    let length = |mm| Quantity::Length.write(mm);
    let band = target.good_enough();
    let said = |what: &str, mm: f64| format!("{what}, {}: {}", length(mm), count(mm));
    let sizes = [
        (band.low_mm, said("Smallest", band.low_mm)),
        (target.diameter_mm, said("Best", target.diameter_mm)),
        (band.high_mm, said("Largest", band.high_mm)),
    ];
    let sizes = [0, 1, 2].map(|i| CountedSize { diameter_mm: sizes[i].0, words: &sizes[i].1 });
    let tools = tools(target);
    let speed = significant(camera.emulsion.speed_iso, 2);
    let heading = format!("Exposure, f/{:.0}, ISO {speed}", exposure.f_number);
    let times = card::table(exposure).rows.into_iter().filter_map(|row| match &row[..] {
        [scene, _, time] => Some([scene.clone(), time.clone()]),
        _ => None,
    });
    let times: Vec<[String; 2]> = times.collect();
    plate::bench_card(&BenchCard {
        title: &format!(
            "Bench card for {}, film at {}",
            camera.name,
            length(camera.distances.film_mm())
        ),
        aim: &length(target.diameter_mm),
        about: &format!(
            "That is {}, {} thou, f/{:.0}. From {} to {} (from {} to {} thou) no eye can tell the difference.",
            count(target.diameter_mm),
            significant(target.diameter_thou, 3),
            target.f_number,
            length(band.low_mm),
            length(band.high_mm),
            thou(band.low_mm),
            thou(band.high_mm)
        ),
        sizes,
        loupe: LOUPE,
        tools: &tools,
        work: ("The order of work", &STEPS),
        caution: CAUTION,
        passes: ["Pass", "Count in 1 mm", "Size", "What was done", "Date"],
        bar: &format!("{BAR_MM} mm: print at 100 %, and check this bar with a rule"),
        exposure: (&heading, &times),
    })
}

fn thou(mm: f64) -> String {
    significant(mm / crate::quantity::MM_PER_INCH * 1000.0, 3)
}
