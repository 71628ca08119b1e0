//! `chart` in words: how to print it, hang it, light it and expose it.

use super::{Row, terminal};
use crate::error::Error;
use crate::plate::{Chart, Instructions};
use crate::quantity::Quantity;
use crate::task::chart::Answer;

/// A4 and Letter, in mm (`ISO216`; 8.5 by 11 inches).
pub const A4_MM: [f64; 2] = [210.0, 297.0];
/// Letter, in mm.
pub const LETTER_MM: [f64; 2] = [215.9, 279.4];

/// Returns how large the chart is, and how to use it.
pub fn rows(answer: &Answer) -> Vec<Row> {
    // A tile may hold nothing but a part of the title.
    let title = title(answer);
    let chart = drawing(answer, &title);
    let [width, height] = chart.sheet_mm();
    let sheets = |paper| {
        let [across, down] = chart.tiles(paper);
        let printed = chart.printed_tiles(paper).len();
        format!("{printed} printed sheets of {across} × {down}")
    };
    vec![
        Row::new("Chart", title.as_str()),
        Row::new("Size", format!("{} × {}", length(width), length(height))),
        Row::new("Paper", format!("A4: {}; Letter: {}", sheets(A4_MM), sheets(LETTER_MM))),
        Row::new(
            "Edges",
            format!(
                "four directions at nine places, octagons of {} on the film",
                length(answer.octagon_on_film_mm)
            ),
        ),
    ]
}

/// Lays the answer out for a terminal.
pub fn text(answer: &Answer) -> String {
    terminal::rows(&rows(answer))
}

fn length(mm: f64) -> String {
    Quantity::Length.write(mm)
}

/// Says which chart it is.
pub fn title(answer: &Answer) -> String {
    format!("{}, {} from the hole", answer.camera, length(answer.distance_mm))
}

/// Says what to do, step by step.
pub fn steps(answer: &Answer) -> Vec<String> {
    let [width, height] = answer.printed_mm;
    vec![
        "Print at 100 %, without fitting to the page, on matte white paper. Check with a ruler: the scale at the bottom \
         is 100 mm long."
            .into(),
        "Trim the sheets along their crosses and tape them edge to edge on a flat board, by the map below. Where it \
         shows no letter, put a bare sheet of the same paper. A print shop can print the chart on one sheet instead."
            .into(),
        format!(
            "Hang it upright, {} from the hole, measured to the nearest half per cent. The middle of the chart must be \
             straight in front of the hole, and the chart parallel to the film.",
            length(answer.distance_mm)
        ),
        format!(
            "Light it evenly: two lamps at 45°, or open shade. Between the middle and the corners ({} × {}) the light \
             should differ by less than a third of a stop.",
            length(width),
            length(height)
        ),
        "Expose so that the bare paper comes out light but not at the limit: meter on a grey card in front of the chart. \
         Stand the camera on something that cannot move."
            .into(),
        "Write down: hole, film or paper, exposure time, distance from hole to chart, how the shutter was opened, and the \
         wind."
            .into(),
        "Scan the whole sheet flat, with a little around it, at 1200 dpi or more, without sharpening and without \
         automatic contrast. A negative may stay negative. Any way round will do."
            .into(),
    ]
}

/// Describes the chart for printing under a title.
pub fn drawing<'a>(answer: &'a Answer, title: &'a str) -> Chart<'a> {
    let shapes = answer.shapes.iter().map(|shape| (&shape.outline_mm[..], shape.code)).collect();
    Chart { shapes, printed_mm: answer.printed_mm, title }
}

/// Draws the chart as a PDF file in tiles on paper of this size, after a page of instructions.
///
/// # Errors
/// As [`Chart::tiled`].
pub fn tiled(answer: &Answer, paper_mm: [f64; 2]) -> Result<Vec<u8>, Error> {
    let title = title(answer);
    let heading = format!("Chart for {title}");
    let instructions = Instructions { title: &heading, steps: &steps(answer) };
    drawing(answer, &title).tiled(paper_mm, &instructions)
}
