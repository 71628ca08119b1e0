//! What if: light that follows a hand.

mod figure;
mod light;
mod sliders;

use super::answer::{Bench, fault, job, sentence};
use super::bench;
use super::received::Received;
use super::rule::{Mark, Rule, rule, steps};
use super::shell::{self, Job};
use crate::camera::Camera;
use crate::diagram::{Format, Size};
use crate::error::Error;
use crate::plate::Ground;
use crate::quantity::significant;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};
use serde_json::json;
use sliders::{FLIGHT, HOLE, Slider, TAKING};
use std::sync::Arc;

/// The page as it opens: the Cedar box, and a hole that is a little narrow for it.
pub(super) async fn view(State(bench): State<Arc<Bench>>) -> Response {
    let form = Received::default();
    let page = match Camera::demonstration() {
        Ok(camera) => sheet(&camera, &form, None, None),
        Err(why) => html! { p.fault { (why) } },
    };
    shell::page(&bench, Job::WhatIf, "What if", page).into_response()
}

/// The same with its answer, for a browser without scripts.
pub(super) async fn without_script(State(bench): State<Arc<Bench>>, form: Received) -> Response {
    let at = Arc::clone(&bench);
    let asked = form.clone();
    let done = job(&bench.quick, move |_| {
        let setting = sliders::read(&asked)?;
        let (answer, best) = light::exact(&at.known, &setting)?;
        let faint = asked.said("faint").is_some();
        let format = Format { size: Size::Page, ground: Ground::Light };
        Ok::<_, Error>((figure::diagram(&setting, &answer, faint)?.png(format)?, answer, best))
    })
    .await;
    let (figure, fault) = match done {
        Err(response) => return response,
        Ok(Ok((png, answer, best))) => (Some((png, answer, best)), None),
        Ok(Err(why)) => (None, Some(why)),
    };
    let page = match bench::camera(&form).or_else(|_| Camera::demonstration()) {
        Ok(camera) => sheet(
            &camera,
            &form,
            figure.as_ref().map(|(png, answer, _)| (png.as_slice(), answer)),
            fault.as_ref(),
        ),
        Err(why) => html! { p.fault { (why) } },
    };
    shell::page(&bench, Job::WhatIf, "What if", page).into_response()
}

/// The light of one position of the sliders, packed for a script.
pub(super) async fn light(State(bench): State<Arc<Bench>>, form: Received) -> Response {
    let at = Arc::clone(&bench);
    let done = job(&bench.quick, move |_| {
        let setting = sliders::read(&form)?;
        if let Some(constant) = form.said("constant").and_then(|text| text.parse().ok()) {
            return Ok(light::packed(&light::coarse(&at.known, &setting, constant)?, json!({})));
        }
        let (answer, best) = light::exact(&at.known, &setting)?;
        let mark = Mark { diameter_mm: answer.diameter_mm, uncertainty_mm: 0.0 };
        let more = json!({
            "rule": shell::written(rule(&Rule::of(&best.target, Some(mark)), true)),
            "constant": best.target.constant,
            "camera": setting.camera.name,
        });
        Ok::<_, Error>(light::packed(&answer, more))
    })
    .await;
    match done {
        Err(response) => response,
        Ok(Err(why)) => fault(&why),
        Ok(Ok(bytes)) => {
            ([(header::CONTENT_TYPE, "application/octet-stream")], bytes).into_response()
        }
    }
}

/// What is shown, as an SVG or PNG file with its caption.
pub(super) async fn figure(State(bench): State<Arc<Bench>>, form: Received) -> Response {
    let at = Arc::clone(&bench);
    let is_png = form.text("as") == "png";
    let done = job(&bench.pictures, move |_| {
        let setting = sliders::read(&form)?;
        let (answer, _) = light::exact(&at.known, &setting)?;
        let ground = if form.text("ground") == "dark" { Ground::Dark } else { Ground::Light };
        let format = Format { size: Size::Page, ground };
        let diagram = figure::diagram(&setting, &answer, form.said("faint").is_some())?;
        Ok::<_, Error>(if is_png {
            diagram.png(format)?
        } else {
            diagram.svg(format)?.into_bytes()
        })
    })
    .await;
    let kind = if is_png { "image/png" } else { "image/svg+xml" };
    match done {
        Err(response) => response,
        Ok(Err(why)) => fault(&why),
        Ok(Ok(bytes)) => ([(header::CONTENT_TYPE, kind)], bytes).into_response(),
    }
}

fn sheet(
    camera: &Camera,
    form: &Received,
    shown: Option<(&[u8], &light::Answer)>,
    fault: Option<&Error>,
) -> Markup {
    let value =
        |name: &str| form.said(name).map_or_else(|| sliders::start(camera, name), str::to_owned);
    let wrong = |name: &str| fault.filter(|why| why.place().field.as_deref() == Some(name));
    let loss = shown.map(|(_, answer)| answer.loss_jnd);
    html! {
        form #bench method="post" action="/what-if" enctype="multipart/form-data" {
            input type="hidden" name="camera" value=(form.text("camera"));
            div.held {
                div.top {
                    div {
                        h1.number #loss { (loss.map_or("–".into(), |loss| format!("{loss:.1}"))) " " small { "jnd lost" } }
                        p #words { (shown.map_or(String::new(), |(_, answer)| sentence(answer.words))) }
                    }
                    div #steps { (steps(loss.unwrap_or(0.0), 0.0)) }
                    div.keys {
                        button type="button" id="beside" aria-pressed="true" { "Best beside it" }
                        button type="button" id="own" aria-pressed="false" { "Each at its brightest" }
                        button type="button" id="faint" aria-pressed="true" { "Show faint light" }
                        button type="button" id="fill" aria-pressed="false" { "Fill the screen" }
                    }
                }
                div.sweep {
                    div.big {
                        div.row {
                            label for="d" { b { "Diameter" } }
                            span { input type="text" id="d" name="d" value=(form.said("d").unwrap_or("0.35")) aria-describedby="d-fault"; " " span.unit { "mm" } }
                        }
                        p.fault id="d-fault" role="alert" { (wrong("d").map(ToString::to_string).unwrap_or_default()) }
                        button.press type="button" id="widen" { "Widen slowly" }
                        noscript { button.press type="submit" { "Compute" } }
                    }
                    div #rule {}
                }
            }
            @if let Some((png, _)) = shown {
                img src=(format!("data:image/png;base64,{}", super::answer::base64(png))) alt="This hole and the best side by side." width="100%";
            }
            div.four #four hidden[shown.is_some()] {
                (window("hole", "The hole"))
                (window("point", "A point of light"))
                (window("contrast", "Contrast of lines"))
                (window("picture", "A picture"))
                section.group { h2 { "Hole" } @for one in &HOLE { (slide(one, &value(one.name), wrong(one.name))) } }
                section.group.two { h2 { "Camera and light" } @for one in &FLIGHT { (slide(one, &value(one.name), wrong(one.name))) } }
                section.group { h2 { "Exposure and print" } @for one in &TAKING { (slide(one, &value(one.name), wrong(one.name))) } }
            }
            p.fault #fault role="alert" { @if let Some(why) = fault { (sentence(&why.to_string())) " " (sentence(why.remedy())) } }
            div.row.tools {
                button type="button" id="copy" { "Copy the figure" }
                button type="button" id="svg" { "Save as SVG" }
                button type="button" id="png" { "Save as PNG" }
                button type="button" id="command" { "Copy the command" }
                button type="button" id="reset" { "Start again from my hole" }
            }
        }
        details { summary { "Keys" } p.small.quiet {
            "D: diameter. B: best beside it. F: fill the screen. Space: widen or stop. In a slider, arrows move one step, with \
             Shift ten; Home and End go to the ends; Backspace goes back to your hole. A, W, C, L: the four jobs."
        } }
    }
}

fn window(name: &str, title: &str) -> Markup {
    html! {
        figure class=(name) {
            div.window id=(format!("window-{name}")) {
                @match name {
                    "point" | "picture" => {
                        canvas role="img" aria-label=(title) {}
                        span.half {}
                        span.tag.this { "this hole" }
                        span.tag.best { "the best" }
                    }
                    _ => {}
                }
            }
            figcaption { b { (title) } span id=(format!("about-{name}")) {} }
        }
    }
}

fn slide(slider: &Slider, value: &str, fault: Option<&Error>) -> Markup {
    let Slider { name, label, unit, span, ends, way, word } = slider;
    let end = if span[1].is_finite() { significant(span[1], 4) } else { String::new() };
    html! {
        div.slide {
            div.row {
                label for=(name) { (label) }
                span { input type="text" id=(name) name=(name) value=(value) aria-describedby=(format!("{name}-fault")) aria-invalid=[fault.map(|_| "true")];
                    " " span.unit { (unit) } }
            }
            div.track {
                span { (ends[0]) }
                input type="range" min="0" max="1000" step="5" data-for=(name) data-low=(span[0]) data-high=(end) data-way=(way.name()) data-word=(word) aria-label=(label);
                span { (ends[1]) }
            }
            p.fault id=(format!("{name}-fault")) { (fault.map(|why| sentence(&why.to_string())).unwrap_or_default()) }
        }
    }
}
