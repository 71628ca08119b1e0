//! An appraisal as one HTML file: read without a network and without a script, printed on paper.

use crate::camera::Camera;
use crate::camera::exposure::Exposure;
use crate::diagram::{Format, Size};
use crate::error::Error;
use crate::figure;
use crate::geometry::Outline;
use crate::plate::Ground;
use crate::task::appraise::Answer;
use crate::words::{self, Row, Table, report::alternative};
use base64::{Engine, engine::general_purpose::STANDARD};
use maud::{DOCTYPE, Markup, PreEscaped, html};

const STYLE: &str = include_str!("style.css");

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

/// The file needs nothing from elsewhere, and nothing in it is a program.
const POLICY: &str = "default-src 'none'; img-src data:; font-src data:; style-src 'unsafe-inline'";

impl Report<'_> {
    /// Returns the HTML document.
    ///
    /// # Errors
    /// As the teaching figure of contrast, which is drawn for it.
    pub fn html(&self) -> Result<String, Error> {
        let Report { camera, answer, .. } = self;
        let bench =
            figure::Bench { camera: (*camera).clone(), hole: self.hole.clone(), named: true };
        let contrast = figure::contrast(&bench)?;
        let format = Format { size: Size::Page, ground: Ground::Light };
        let heading = words::verdict::heading(&answer.judged.verdict);
        let title = words::report::title(self.name, &camera.name, self.date);
        let page = html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta http-equiv="Content-Security-Policy" content=(POLICY);
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    title { (title) }
                    style { (PreEscaped(STYLE)) }
                }
                body {
                    main {
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
                    }
                }
            }
        };
        Ok(page.into_string())
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

fn figure(class: &str, png: &[u8], words: &str) -> Markup {
    let address = format!("data:image/png;base64,{}", STANDARD.encode(png));
    html! {
        figure class=(class) { img src=(address) alt=(words); }
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

/// Rows as a table; without headings where those are empty.
fn named(caption: &str, [name, sentence]: [&str; 2], rows: &[Row]) -> Markup {
    html! {
        table {
            caption { (caption) }
            @if !name.is_empty() {
                thead { tr { th scope="col" { (name) } th scope="col" { (sentence) } } }
            }
            tbody {
                @for row in rows {
                    tr { th scope="row" { (row.name) } td.number { (row.sentence) } }
                }
            }
        }
    }
}

/// A table, its first column the headings of its rows.
fn table(caption: &str, table: &Table) -> Markup {
    html! {
        table {
            @if !caption.is_empty() { caption { (caption) } }
            thead { tr { @for column in &table.columns { th scope="col" { (column.heading) } } } }
            tbody {
                @for cells in &table.rows {
                    tr {
                        @for (i, (cell, column)) in cells.iter().zip(&table.columns).enumerate() {
                            @if i == 0 { th scope="row" { (cell) } }
                            @else if column.is_number { td.number { (cell) } }
                            @else { td { (cell) } }
                        }
                    }
                }
            }
        }
    }
}
