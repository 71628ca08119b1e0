//! An appraisal as one HTML file: read without a network and without a script, printed on paper.

mod card;

use crate::camera::Camera;
use crate::error::Error;
use crate::figure::Ground;
use crate::figure::diagram::{Format, Size};
use crate::geometry::Outline;
use crate::hole::Sizes;
use crate::lesson;
use crate::quantity::{Quantity, write_length_within};
use crate::task::appraise::Answer;
use crate::words::verdict::{chance, hand, jnd, loss, reasons};
use base64::{Engine, engine::general_purpose::STANDARD};
use maud::{DOCTYPE, Markup, PreEscaped, html};

const STYLE: &str = include_str!("style.css");

/// What a report is made of.
#[derive(Debug, Clone, Copy)]
pub struct Report<'a> {
    /// The camera.
    pub camera: &'a Camera,
    /// The hole.
    pub hole: &'a Outline,
    /// What is known about it.
    pub answer: &'a Answer,
    /// What to do, as a heading.
    pub heading: &'a str,
    /// What hands that do it have to mind; empty where there is nothing to do.
    pub caution: &'a str,
    /// Whether camera, hole and photo are the invented ones of the demonstration.
    pub invented: bool,
    /// The plates, as PNG files: the photo with the traced outline where there is a photo, the image of a
    /// point, and the picture compared.
    pub plates: Plates<'a>,
}

/// Plates of a report, as the bytes of PNG files.
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
    /// The HTML document.
    ///
    /// # Errors
    /// As the teaching figure of contrast, which is drawn for it.
    pub fn html(&self) -> Result<String, Error> {
        let Report { camera, answer, .. } = self;
        let bench =
            lesson::Bench { camera: (*camera).clone(), hole: self.hole.clone(), named: true };
        let contrast = lesson::contrast(&bench)?;
        let format = Format { size: Size::Page, ground: Ground::Light };
        let title = format!("Pinhole for {}: {}", camera.name, self.heading);
        let page = html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    title { (title) }
                    style { (PreEscaped(STYLE)) }
                }
                body {
                    main {
                        h1 { (self.heading) }
                        (self.verdict())
                        (self.work())
                        h2 { "The hole" }
                        div.pair {
                            @if let Some(plate) = self.plates.outline {
                                (figure("outline", plate, "The photo of the hole with the traced outline and \
                                    its reference circles; what they measure stands in the table."))
                            }
                            (sizes(&answer.gauge.hole))
                        }
                        @for warning in answer.gauge.warnings.iter().chain(&answer.psf.warnings) {
                            p { "Note: " (warning) }
                        }
                        h2 { "Its light and its picture" }
                        (figure("light", self.plates.psf, "Maps of the image of a point through this hole and \
                            through the best disc, and the light along a line through both."))
                        (figure("light", &contrast.png(format)?, &contrast.alternative))
                        (figure("picture", self.plates.picture, "One scene through this hole and through the \
                            best disc, with a part of the middle and of the edge enlarged."))
                        div.pair {
                            section {
                                h2 { "Exposure" }
                                (card::card(camera, &answer.exposure))
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
        let (target, verdict) = (&self.answer.target, &self.answer.verdict);
        let band = target.good_enough();
        let length = |mm| Quantity::Length.write(mm);
        html! {
            @if self.invented {
                p { "The demonstration: this camera, this hole and its photo are invented." }
            }
            p {
                (jnd(verdict.loss_jnd)) " (just-noticeable differences) lost against the best hole of this camera: "
                (loss(verdict.loss_jnd)) "."
            }
            ul { @for reason in reasons(verdict) { li { (reason) } } }
            p {
                "The best hole is " (length(target.diameter_mm)) " wide; from " (length(band.low_mm)) " to "
                (length(band.high_mm)) " no eye can tell the difference."
            }
            @if !self.caution.is_empty() { p { strong { (self.caution) } } }
        }
    }

    /// What causes the loss, and what one more pass would do.
    fn work(&self) -> Markup {
        let verdict = &self.answer.verdict;
        let causes = &verdict.causes_jnd;
        let pass = &verdict.next_pass;
        html! {
            div.pair {
            table {
                caption { "What the loss is made of" }
                thead { tr { th scope="col" { "Cause" } th scope="col" { "jnd" } } }
                tbody {
                    @for (cause, loss) in [
                        ("Size", causes.size),
                        ("Form", causes.form),
                        ("Burrs", causes.burrs),
                        ("Debris", causes.debris),
                        ("Together", verdict.loss_jnd),
                    ] {
                        tr { th scope="row" { (cause) } td.number { (signed(loss)) } }
                    }
                }
            }
            table {
                caption { "One more widening pass" }
                tbody {
                    tr { th scope="row" { "Loss to expect as it is" } td.number { (jnd(verdict.expected_loss_jnd)) } }
                    tr { th scope="row" { "Loss to expect after it" } td.number { (jnd(pass.prospect.expected_loss_jnd)) } }
                    tr { th scope="row" { "Chance that it ends worse" } td.number { (chance(pass.prospect.chance_of_ending_worse)) } }
                    tr { th scope="row" { "Chance that it ends within 1 jnd" } td.number { (chance(pass.prospect.chance_within_1_jnd)) } }
                    tr { th scope="row" { "Chance that it ends too wide to keep" } td.number { (chance(pass.prospect.chance_of_new_hole)) } }
                }
            }
            }
            p.quiet { (hand(&pass.growth)) }
        }
    }

    fn method(&self) -> Markup {
        let camera = self.camera;
        let length = |mm| Quantity::Length.write(mm);
        html! {
            p {
                (camera.name) ", film " (length(camera.distances.film_mm())) " from the hole, "
                (length(camera.film.width_mm)) " by " (length(camera.film.height_mm)) ", metal of "
                (length(camera.plate_mm)) "; light of " (format!("{:.0}", camera.light.mean_nm()))
                " nm on average. Print enlarged " (camera.print.enlargement) " times, seen from "
                (length(camera.print.viewing_distance_mm)) "."
            }
            ul {
                li { "Light: Fresnel's diffraction integral over the outline itself, each wavelength for itself \
                      (J. W. Goodman, Introduction to Fourier Optics)." }
                li { "Sharpness: Barten's square-root integral of the MTF and the eye's contrast sensitivity in the print, \
                      in just-noticeable differences (P. G. J. Barten, SPIE 1999, from memory), averaged over the \
                      sheet with more weight in the middle (common practice, no source)." }
                li { "Outline: traced where the light passes half, with its own uncertainty; roundness and \
                      reference circles by ISO 12181-1. Uncertainties are expanded (k = 2, about 95 %)." }
                li { "Exposure: ISO 2720; reciprocity failure as the camera file says." }
                li { "1 jnd: just noticeable; 3: significant; 10: substantial (Carlson and Cohen 1980, from memory). How hands \
                      and burrs go is our guess until a log teaches it." }
            }
            p.quiet { "Written by foramen " (env!("CARGO_PKG_VERSION")) "." }
        }
    }
}

/// A loss in words, a gain with its minus.
fn signed(loss: f64) -> String {
    if loss < -0.05 { format!("− {}", jnd(-loss)) } else { jnd(loss) }
}

fn figure(class: &str, png: &[u8], words: &str) -> Markup {
    let address = format!("data:image/png;base64,{}", STANDARD.encode(png));
    html! {
        figure class=(class) { img src=(address) alt=(words); }
    }
}

fn sizes(hole: &Sizes) -> Markup {
    let doubt = &hole.uncertainty;
    let rows = [
        (
            "Equivalent diameter (the disc of its area)",
            hole.equivalent_diameter_mm,
            Some(hole.equivalent_diameter_uncertainty_mm),
        ),
        ("Widest (Feret)", hole.feret_max_mm, Some(doubt.feret_max_mm)),
        ("Narrowest (Feret)", hole.feret_min_mm, Some(doubt.feret_min_mm)),
        ("Largest inscribed circle", hole.inscribed_diameter_mm, Some(doubt.inscribed_diameter_mm)),
        (
            "Smallest circumscribed circle",
            hole.circumscribed_diameter_mm,
            Some(doubt.circumscribed_diameter_mm),
        ),
        ("Roundness (peak to valley)", hole.roundness_mm, Some(doubt.roundness_mm)),
    ];
    html! {
        table {
            caption { "Measures" }
            thead { tr { th scope="col" { "Measure" } th scope="col" { "Value" } } }
            tbody {
                @for (name, mm, within) in rows {
                    tr {
                        th scope="row" { (name) }
                        td.number {
                            (within.map_or_else(|| Quantity::Length.write(mm), |within| write_length_within(mm, within)))
                        }
                    }
                }
            }
        }
    }
}
