//! What a picture of the chart proves, as one HTML file.

use super::parts::{figure, page, table};
use crate::error::Error;
use crate::task::prove::Answer;
use crate::words::{proof_plate, prove, report};
use maud::html;

/// Writes the HTML document: `hole` is what the hole is called, `date` the day, as in "2026-11-27", and `film_mm` the film's width and
/// height.
///
/// # Errors
/// As the plate, which is drawn for it.
pub fn proof(answer: &Answer, hole: &str, date: &str, film_mm: [f64; 2]) -> Result<String, Error> {
    let title = report::title(hole, &answer.camera, date);
    let plate = proof_plate::diagram(answer, film_mm)?;
    let png = proof_plate::png(answer, film_mm)?;
    let main = html! {
        p.about { (title) }
        h1 { (prove::heading(answer)) }
        @for row in prove::rows(answer) { p { strong { (row.name) "." } " " (row.sentence) } }
        h2 { "Contrast at nine places" }
        (table("MTF50: where contrast has fallen to one half", &prove::table(answer)))
        (figure("proof", &png, &plate.alternative))
        p.quiet { (plate.caption) }
        h2 { "How this was found" }
        p { (prove::setting(answer)) }
        ul { @for method in prove::METHODS { li { (method) } } }
        p.quiet { "Written by foramen " (env!("CARGO_PKG_VERSION")) "." }
    };
    Ok(page(&title, &main))
}
