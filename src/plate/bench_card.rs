//! The bench card: a sheet of A5 at true size to lie beside the loupe.

use super::canvas::{
    Anchor, FINE, Frame, GAP, HEADING, HUGE, LABEL, NOTE, PANEL, Plate, SOLID, Stroke,
};
use super::ink::{Colour, Ground};
use crate::error::Error;

/// Is the paper: A5 upright (`ISO216`), in mm.
pub const A5_MM: [f64; 2] = [148.0, 210.0];

/// Units of the drawing to a mm of paper.
const UNITS_PER_MM: f64 = 8.0;
const MARGIN_MM: f64 = 8.0;
/// How many times the loupe's pictures are enlarged.
const TIMES: f64 = 10.0;
/// What each of them shows: width and height in mm of metal.
const SEEN_MM: [f64; 2] = [4.0, 1.2];
/// Is the bar to check a printer by, in mm.
pub const BAR_MM: f64 = 50.0;
/// Empty lines to write passes into, each so high.
const PASSES: usize = 8;
const LINE_MM: f64 = 6.5;
/// More sides than an eye sees on a disc of some mm.
const SIDES: usize = 90;

/// Says what is on a bench card.
#[derive(Debug, Clone)]
pub struct BenchCard<'a> {
    /// The heading: the camera.
    pub title: &'a str,
    /// The size to aim for.
    pub aim: &'a str,
    /// The same in other words, and what is good enough.
    pub about: &'a str,
    /// The smallest size that is good enough, the best, and the largest.
    pub sizes: [CountedSize<'a>; 3],
    /// How the pictures are to be read.
    pub loupe: &'a str,
    /// Tools near it, a line for each kind.
    pub tools: &'a [String],
    /// A heading, and what to do, in order.
    pub work: (&'a str, &'a [&'a str]),
    /// What to mind.
    pub caution: &'a str,
    /// The headings of the table of passes.
    pub passes: [&'a str; 5],
    /// What stands beside the bar by which a print is checked.
    pub bar: &'a str,
    /// The exposure: a heading, then each kind of light with its time.
    pub exposure: (&'a str, &'a [[String; 2]]),
}

/// Says how a size looks under the loupe.
#[derive(Debug, Clone, Copy)]
pub struct CountedSize<'a> {
    /// Its diameter, in mm.
    pub diameter_mm: f64,
    /// What it is, and how many of it touching fill a millimetre.
    pub words: &'a str,
}

/// Draws the card as SVG, at its true size.
///
/// # Errors
/// As [`crate::raster::text_width`].
pub fn bench_card(card: &BenchCard) -> Result<String, Error> {
    let width = A5_MM[0] * UNITS_PER_MM;
    let mut plate = Plate::on(Ground::Light, width, MARGIN_MM * UNITS_PER_MM, card.title)?;
    let (left, room) = (MARGIN_MM * UNITS_PER_MM, plate.room());
    let top = plate.bottom;
    plate.paragraph(left, room / 2.0, &HUGE, card.aim, 1)?;
    let under_aim = plate.bottom;
    plate.bottom = top + GAP / 2.0;
    plate.paragraph(left + 0.45 * room, 0.55 * room, &LABEL, card.about, 4)?;
    plate.bottom = plate.bottom.max(under_aim) + GAP;
    loupe(&mut plate, card, left)?;
    for line in card.tools {
        plate.paragraph(left, room, &LABEL, line, 2)?;
    }
    plate.bottom += GAP;
    let top = plate.bottom;
    plate.paragraph(left, room, &HEADING, card.work.0, 1)?;
    for (i, step) in card.work.1.iter().enumerate() {
        plate.paragraph(left, 0.6 * room, &LABEL, &format!("{}. {step}", i + 1), 3)?;
    }
    let under_steps = plate.bottom;
    plate.bottom = top;
    let beside = [left + 0.64 * room, 0.36 * room];
    exposure(&mut plate, card.exposure, beside)?;
    plate.bottom += GAP / 2.0;
    plate.paragraph(beside[0], beside[1], &NOTE, card.caution, 9)?;
    plate.bottom = plate.bottom.max(under_steps) + GAP;
    passes(&mut plate, card.passes, [left, room]);
    bar(&mut plate, left, card.bar);
    Ok(plate.at_true_size(A5_MM))
}

/// The three sizes as they are counted: touching each other from one line to the next, a millimetre apart.
fn loupe(plate: &mut Plate, card: &BenchCard, left: f64) -> Result<(), Error> {
    let units = TIMES * UNITS_PER_MM;
    let [wide, high] = SEEN_MM.map(|mm| mm * units);
    let step = (plate.room() - 3.0 * wide) / 2.0 + wide;
    let top = plate.bottom;
    for (i, size) in card.sizes.iter().enumerate() {
        let x = left + i as f64 * step;
        plate.bottom = top;
        plate.paragraph(x, wide, &PANEL, size.words, 2)?;
    }
    let frame_top = plate.bottom + GAP / 2.0;
    for (i, size) in card.sizes.iter().enumerate() {
        let frame = Frame { x: left + i as f64 * step, y: frame_top, width: wide, height: high };
        plate.ground(frame, Colour::Metal, 1.0);
        plate.clipped(frame, |plate| {
            // From the first line on, as far as the frame reaches.
            let radius = size.diameter_mm / 2.0 * units;
            let first = frame.x + 0.5 * units;
            let count = (wide / (2.0 * radius)).ceil() as usize;
            let rims: Vec<Vec<[f64; 2]>> = (0..count)
                .map(|k| disc([first + radius * (2 * k + 1) as f64, frame.y + 0.62 * high], radius))
                .collect();
            plate.opening(&rims);
            let line = Stroke { colour: Colour::Black, width: 2.5, dashes: SOLID, cased: false };
            for mm in 0..=SEEN_MM[0] as usize {
                let x = first + mm as f64 * units;
                plate.line(&[[x, frame.y], [x, frame.y + 0.62 * high]], line);
            }
            Ok(())
        })?;
        plate.border(frame, FINE);
    }
    plate.bottom = frame_top + high + GAP / 2.0;
    plate.paragraph(left, plate.room(), &NOTE, card.loupe, 2)?;
    plate.bottom += GAP / 2.0;
    Ok(())
}

fn disc([x, y]: [f64; 2], radius: f64) -> Vec<[f64; 2]> {
    let point = |i: usize| {
        let (sin, cos) = (std::f64::consts::TAU * i as f64 / SIDES as f64).sin_cos();
        [x + radius * cos, y + radius * sin]
    };
    (0..SIDES).map(point).collect()
}

fn exposure(
    plate: &mut Plate,
    (heading, rows): (&str, &[[String; 2]]),
    [left, width]: [f64; 2],
) -> Result<(), Error> {
    plate.paragraph(left, width, &HEADING, heading, 3)?;
    for [scene, time] in rows {
        let y = plate.bottom + LABEL.size;
        plate.text([left, y], Anchor::Start, &LABEL, scene);
        plate.text([left + width, y], Anchor::End, &LABEL, time);
        plate.bottom += LABEL.leading();
    }
    Ok(())
}

/// Lines to write each pass into.
fn passes(plate: &mut Plate, headings: [&str; 5], [left, room]: [f64; 2]) {
    let line = Stroke { colour: Colour::Grey, width: 1.0, dashes: SOLID, cased: false };
    let shares = [0.0, 0.1, 0.32, 0.5, 0.82];
    for (heading, share) in headings.iter().zip(shares) {
        let at = [left + share * room + 4.0, plate.bottom + PANEL.size];
        plate.text(at, Anchor::Start, &PANEL, heading);
    }
    plate.bottom += PANEL.leading();
    let top = plate.bottom;
    for i in 0..=PASSES {
        let y = top + i as f64 * LINE_MM * UNITS_PER_MM;
        plate.line(&[[left, y], [left + room, y]], line);
    }
    plate.bottom = top + PASSES as f64 * LINE_MM * UNITS_PER_MM;
    for share in &shares[1..] {
        let x = left + share * room;
        plate.line(&[[x, top], [x, plate.bottom]], line);
    }
    for i in 0..PASSES {
        let y = top + (i as f64 + 0.7) * LINE_MM * UNITS_PER_MM;
        plate.text([left + 4.0, y], Anchor::Start, &LABEL, &format!("{}", i + 1));
    }
    plate.bottom += GAP;
}

/// A bar of a known length, by which a print is seen to be at true size.
fn bar(plate: &mut Plate, left: f64, words: &str) {
    let y = plate.bottom + GAP;
    let right = left + BAR_MM * UNITS_PER_MM;
    let line = Stroke { width: 2.5, ..FINE };
    plate.line(&[[left, y], [right, y]], line);
    for x in [left, right] {
        plate.line(&[[x, y - 8.0], [x, y + 8.0]], line);
    }
    plate.text([right + GAP, y + 7.0], Anchor::Start, &NOTE, words);
    plate.bottom = y + GAP;
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plate::checks::assert_tidy;
    use crate::raster::{Page, pdf, rasterise};

    fn card<'a>(tools: &'a [String], rows: &'a [[String; 2]]) -> BenchCard<'a> {
        let size = |diameter_mm, words| CountedSize { diameter_mm, words };
        BenchCard {
            title: "Bench card for the Cedar box, film at 120 mm",
            aim: "0.433 mm",
            about: "2 1/4 to a millimetre, 17 thou, f/277. From 0.373 mm to 0.494 mm no eye can tell the difference.",
            sizes: [
                size(0.373, "Smallest: 0.373 mm, 2 3/4 to a mm"),
                size(0.433, "Best: 0.433 mm, 2 1/4 to a mm"),
                size(0.494, "Largest: 0.494 mm, 2 to a mm"),
            ],
            tools,
            loupe: "Ten times as large as the metal.",
            work: (
                "The order of work",
                &["Press from the back.", "Sand wet.", "Count against a lamp."],
            ),
            bar: "50 mm",
            caution: "Needles and sheet edges cut.",
            passes: ["Pass", "Count", "mm", "What was done", "Date"],
            exposure: ("Exposure, f/277, ISO 100", rows),
        }
    }

    /// At true size a millimetre of metal is a centimetre of paper, in the SVG and in the PDF: the page is A5, 148 mm and
    /// 210 mm at 72 points to the inch.
    #[test]
    fn it_is_true_to_size_and_tidy() {
        let tools = ["needle 10 (0.46 mm) loses 0.3 jnd".to_owned()];
        let rows = [
            ["open sun".to_owned(), "4 s".to_owned()],
            ["overcast".to_owned(), "1 min".to_owned()],
        ];
        let svg = bench_card(&card(&tools, &rows)).unwrap();
        assert!(svg.starts_with("<svg") && svg.contains("width='148mm' height='210mm'"));
        assert_tidy(&svg);
        // A px of SVG is 1/96 inch: at 254 dots to the inch, ten to a mm.
        let drawn = rasterise(&svg, 254.0 / 96.0).unwrap();
        assert!(drawn.width().abs_diff(1480) <= 1 && drawn.height().abs_diff(2100) <= 1);
        let file = pdf("card", &[Page { svg: &svg, paper_mm: A5_MM }]).unwrap();
        let text = String::from_utf8_lossy(&file);
        assert!(text.contains("/MediaBox[0 0 419.5276 595.2756]"), "A5 in points");
        // The pictures are 400 px wide and the table 1320: of the runs of ink between, the longest is the bar.
        let is_ink = |x: u32, y: u32| drawn.get_pixel(x, y).0[0] < 90;
        let run = |y: u32| {
            let (mut longest, mut now) = (0u32, 0);
            for x in 0..drawn.width() {
                now = if is_ink(x, y) { now + 1 } else { 0 };
                longest = longest.max(now);
            }
            longest
        };
        let runs = (0..drawn.height()).map(run);
        let bar = runs.filter(|length| (450..1000).contains(length)).max().unwrap_or(0);
        assert!(bar.abs_diff(500) <= 4, "{bar}");
    }
}
