//! The page of an appraisal: the question, then the answer, read downwards.

use super::windows::{hole, waiting};
use crate::camera::{Camera, TEMPLATES};
use crate::error::Error;
use crate::page::answer::{Bench, sentence};
use crate::page::rule::{Mark, Rule, rule, steps};
use crate::page::shell::cautions;
use crate::quantity::Quantity;
use crate::task::appraise::{Judged, Request};
use crate::words;
use maud::{Markup, html};

/// Reasons that are shown.
const REASONS: usize = 3;

/// The first question, as a form that works without scripts.
pub(super) fn question(bench: &Bench, fault: Option<&Error>) -> Markup {
    html! {
        section.first #first {
            svg viewBox="0 0 100 100" aria-hidden="true" {
                circle cx="50" cy="50" r="42" fill="none" stroke="var(--best)" stroke-width="2" stroke-dasharray="5 4" {}
                circle cx="50" cy="50" r="30" fill="none" stroke="var(--hole)" stroke-width="3" {}
            }
            form #ask method="post" action="/" enctype="multipart/form-data" {
                h1.question { "Is this hole good enough?" }
                p.quiet { "A photo of it against a lamp says most; a size or a count says how far it is from the best." }
                input type="hidden" name="camera" value="";
                div {
                    label for="photo" { "A photo or an outline (PNG, JPEG, TIFF, WebP, BMP; CSV, SVG)" } br;
                    input type="file" id="photo" name="photo" accept="image/png,image/jpeg,image/tiff,image/webp,image/bmp,.csv,.svg";
                    label.button.take for="camera-shot" hidden { "Take a photo" }
                    input.heard type="file" id="camera-shot" accept="image/*" capture="environment" tabindex="-1" hidden;
                }
                div.row.noscript-only #scales {
                    span { "Its scale: " }
                    label { input type="text" name="px" size="6" inputmode="decimal" aria-label="Pixels"; " px = " }
                    label { input type="text" name="apart" size="5" aria-label="Length in the photo"; " mm, or" }
                    label { input type="text" name="dpi" size="6" inputmode="decimal" aria-label="Dots per inch"; " dpi, or lines" }
                    label { input type="text" name="spacing" size="5" aria-label="Distance of the lines"; " mm apart" }
                }
                p { label { "No photo? Type a size or a count " input type="text" name="size" size="12" placeholder="0.34 mm" aria-describedby="ask-fault"; } }
                p.row.noscript-only {
                    label { "Camera " select name="template" { @for one in TEMPLATES { option value=(one.word) { (one.name) } } } }
                    label { "or its file " input type="file" name="camera-file" accept=".toml"; }
                }
                @if bench.log.is_some() {
                    p { label { "Its name in the log " input type="text" name="name" size="14" placeholder="brass 3"; } }
                }
                p.fault #ask-fault role="alert" {
                    @if let Some(why) = fault { (sentence(&why.to_string())) " " (sentence(why.remedy())) }
                }
                div.row {
                    button.press type="submit" { "Appraise" }
                    button.noscript-only type="submit" formaction="/report" { "Report to print" }
                    button.noscript-only type="submit" formaction="/every" { "Appraise every hole of the photo" }
                    button type="button" id="invented" hidden { "See it done with an invented hole" }
                }
                (cautions())
            }
        }
    }
}

/// The verdict and what stands with it: all but the windows that come later.
pub(super) fn verdict(
    request: &Request,
    judged: &Judged,
    point: Option<Markup>,
    picture: Option<Markup>,
) -> Result<Markup, Error> {
    let Judged { gauge, target, exposure, verdict, .. } = judged;
    let camera = &request.camera;
    let heading = words::verdict::heading(verdict);
    let (word, rest) = heading.split_once(": ").unwrap_or((&heading, ""));
    let sizes = &gauge.hole;
    let mark = Mark {
        diameter_mm: sizes.equivalent_diameter_mm,
        uncertainty_mm: sizes.equivalent_diameter_uncertainty_mm,
    };
    let loss = verdict.loss_jnd;
    let size = &verdict.size_doubt;
    let doubt = (size.most_loss_jnd - size.least_loss_jnd) / 2.0;
    Ok(html! {
        section.verdict aria-labelledby="word" {
            div {
                h1.word #word tabindex="-1" { (capital(word)) "." }
                p.lead { (sentence(rest)) }
                ul.reasons { @for reason in words::verdict::reasons(verdict).iter().take(REASONS) { li { (reason) } } }
                @if let Some(caution) = words::appraise::caution(verdict) { p.small.quiet { (caution) } }
            }
            div {
                p.number { (format!("{loss:.1}")) " " small { "jnd lost" } }
                (steps(loss, doubt))
                p.small.quiet { (sentence(words::verdict::loss(loss))) " 1 jnd: three of four people, with both prints side by side, pick the better one." }
            }
        }
        p.printed #printed { (whereabouts(camera)) }
        (rule(&Rule::of(target, Some(mark)), false))
        section.way aria-label="The way of the light" {
            (hole(request, judged)?)
            (flight(&format!("{} to film", Quantity::Length.write(camera.distances.film_mm()))))
            @match point { Some(point) => (point), None => (waiting("point", "A point of light", "square")) }
            (flight("all points added"))
            @match picture { Some(picture) => (picture), None => (waiting("picture", "The picture", "wide")) }
        }
        section.after {
            div {
                h2 { "Expose" }
                p { (words::expose::sentence(camera, exposure)) }
                details {
                    summary { "Exposure card" }
                    (table(&words::card::table(exposure)))
                    p.small { (words::card::fall_off(exposure)) }
                }
                details {
                    summary { "All measures" }
                    table { tbody { @for row in words::gauge::rows(gauge) { tr { th scope="row" { (row.name) } td { (row.sentence) } } } } }
                }
                @for note in &gauge.warnings { p.small.quiet { (note) } }
            }
            div.keep #keep { h2 { "Keep" } p.small.quiet { "The files come when the pictures are done." } }
        }
        p.again { a.button href="/" { "Next hole" } }
    })
}

fn flight(words: &str) -> Markup {
    html! {
        div.flight {
            (words)
            svg aria-hidden="true" viewBox="0 0 64 24" preserveAspectRatio="none" { path d="M0 12H62M54 5l8 7-8 7" {} }
        }
    }
}

pub(super) fn table(table: &words::Table) -> Markup {
    html! {
        table {
            thead { tr { @for column in &table.columns { th scope="col" { (column.heading) } } } }
            tbody { @for row in &table.rows { tr { @for cell in row { td { (cell) } } } } }
        }
    }
}

fn capital(word: &str) -> String {
    let lower = word.to_lowercase();
    let mut letters = lower.chars();
    letters
        .next()
        .map(|first| first.to_uppercase().collect::<String>() + letters.as_str())
        .unwrap_or_default()
}

/// Where a camera has its film, for the head of the page.
pub(super) fn whereabouts(camera: &Camera) -> String {
    format!("{}, film at {}", camera.name, Quantity::Length.write(camera.distances.film_mm()))
}
