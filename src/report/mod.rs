//! Answers as one HTML file: read without a network and without a script, printed on paper.
//!
//! - [`Report`]: an appraisal.
//! - [`proof()`]: what a picture of the chart proves.
//! - `parts`: the page about them, figures and tables.

mod parts;
mod proof;

pub use proof::proof;

use self::parts::{figure, named, page, table};
use crate::camera::Camera;
use crate::camera::exposure::Exposure;
use crate::diagram::{Format, Size};
use crate::error::Error;
use crate::figure;
use crate::geometry::Outline;
use crate::plate::Ground;
use crate::task::appraise::Answer;
use crate::words::{self, report::alternative};
use maud::{Markup, html};

/// Tells what a report is made of.
#[derive(Debug, Clone, Copy)]
pub struct Report<'a> {
    /// What the hole is called.
    pub name: &'a str,
    /// The day of the appraisal, as in "2026-11-27".
    pub date: &'a str,
    /// The camera.
    pub camera: &'a Camera,
    /// The hole.
    pub hole: &'a Outline,
    /// What is known about it.
    pub answer: &'a Answer,
    /// Whether camera, hole and photo are the invented ones of the demonstration.
    pub invented: bool,
    /// The plates, as PNG files: the photo with the traced outline where there is a photo, the image of a
    /// point, and the picture compared.
    pub plates: Plates<'a>,
}

/// Holds the plates of a report, as the bytes of PNG files.
#[derive(Debug, Clone, Copy)]
pub struct Plates<'a> {
    /// The photo with the outline that was traced.
    pub outline: Option<&'a [u8]>,
    /// The image of a point.
    pub psf: &'a [u8],
    /// The picture through this hole and through the best disc.
    pub picture: &'a [u8],
}

impl Report<'_> {
    /// Returns the HTML document.
    ///
    /// # Errors
    /// As the teaching figure of contrast, which is drawn for it.
    pub fn html(&self) -> Result<String, Error> {
        let Report { camera, answer, .. } = self;
        let bench = figure::Bench {
            camera: (*camera).clone(),
            hole: self.hole.clone(),
            named: true,
            diameter_mm: None,
        };
        let contrast = figure::contrast(&bench)?;
        let format = Format { size: Size::Page, ground: Ground::Light };
        let heading = words::verdict::heading(&answer.judged.verdict);
        let title = words::report::title(self.name, &camera.name, self.date);
        let main = html! {
            p.about { (title) }
            h1 { (heading) }
            (self.verdict())
            (self.work())
            h2 { "The hole" }
            div.pair {
                @if let Some(plate) = self.plates.outline {
                    (figure("outline", plate, alternative::OUTLINE))
                }
                (named("Measures", ["Measure", "Value"], &words::report::measures(&answer.judged.gauge.hole)))
            }
            @for note in words::appraise::notes(answer) {
                p { "Note: " (note) }
            }
            h2 { "Its light and its picture" }
            (figure("light", self.plates.psf, alternative::POINT))
            (figure("light", &contrast.png(format)?, &contrast.alternative))
            (figure("picture", self.plates.picture, alternative::PICTURE))
            div.pair {
                section {
                    h2 { "Exposure" }
                    (card(camera, &answer.judged.exposure))
                }
                section {
                    h2 { "How this was found" }
                    (self.method())
                }
            }
        };
        Ok(page(&title, &main))
    }

    fn verdict(&self) -> Markup {
        let verdict = &self.answer.judged.verdict;
        html! {
            @if self.invented { p { (words::appraise::INVENTED) } }
            p { (words::report::loss(verdict)) }
            ul { @for reason in words::verdict::reasons(verdict) { li { (reason) } } }
            p { (words::report::best(&self.answer.judged)) }
            @if let Some(caution) = words::appraise::caution(verdict) { p { strong { (caution) } } }
        }
    }

    /// What causes the loss, and what one more pass would do.
    fn work(&self) -> Markup {
        let verdict = &self.answer.judged.verdict;
        html! {
            div.pair {
                (table("What the loss is made of", &words::report::causes(verdict)))
                (named("One more widening pass", ["", ""], &words::report::next_pass(verdict)))
            }
            p.quiet { (words::verdict::hand(&verdict.next_pass.growth)) }
        }
    }

    fn method(&self) -> Markup {
        html! {
            p { (words::report::setting(self.camera)) }
            ul { @for method in words::report::METHODS { li { (method) } } }
            p.quiet { "Written by foramen " (env!("CARGO_PKG_VERSION")) "." }
        }
    }
}

/// The exposure card: what to keep in the camera.
fn card(camera: &Camera, exposure: &Exposure) -> Markup {
    use words::card;
    html! {
        section.card aria-label="Exposure card" {
            h3 { (card::heading(camera, exposure)) }
            p { (card::basis(camera)) }
            (table("", &card::table(exposure)))
            p { (card::fall_off(exposure)) }
        }
        p.quiet { (card::USE) }
    }
}
