//! Appraise: a photo or a size in, the verdict first, the rest as it is ready.

mod sheet;
mod windows;
mod work;

use super::event::{self, Teller};
use super::pool::Watcher;
use super::received::Received;
use super::routes::{Bench, Fault, busy, fault, job, json};
use super::shell::{self, Job};
use crate::error::{Error, Kind};
use crate::verdict::advice::Verdict;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use maud::{Markup, html};
use serde_json::json;
use std::sync::Arc;
use work::Looked;

/// Bytes as they stand in a data address.
pub(super) fn base64(bytes: &[u8]) -> String {
    STANDARD.encode(bytes)
}

/// What a hole loses against the best, in jnd.
fn loss_jnd(verdict: &Verdict) -> f64 {
    verdict.loss
}

/// The first question.
pub(super) async fn first(State(bench): State<Arc<Bench>>) -> Html<String> {
    page(&bench, "Appraise", sheet::question(&bench, None))
}

fn page(bench: &Bench, title: &str, content: Markup) -> Html<String> {
    shell::page(bench, Job::Appraise, title, html! {
        div #answer {}
        p.fault #stream-fault role="alert" {}
        div #progress hidden { progress max="1" aria-label="How far" {} " " span {} " " button type="button" id="stop" { "Stop" } }
        (content)
    })
}

/// The answer: stage by stage for a script, as one page without.
pub(super) async fn answer(State(bench): State<Arc<Bench>>, headers: HeaderMap, form: Received) -> Response {
    let takes = headers.get(header::ACCEPT).and_then(|value| value.to_str().ok()).unwrap_or_default();
    if takes.contains("text/event-stream") { streamed(bench, form).await } else { whole(bench, form).await }
}

async fn streamed(bench: Arc<Bench>, form: Received) -> Response {
    let Ok(turn) = bench.pool.turn().await else { return busy() };
    let (teller, watcher, response) = event::stream();
    tokio::task::spawn_blocking(move || {
        let _turn = turn;
        if let Err(why) = stages(&bench, &form, &teller, &watcher) {
            tell_fault(&form, &teller, &why);
        }
    });
    response
}

fn tell_fault(form: &Received, teller: &Teller, why: &Error) {
    if *why.kind() == Kind::Stopped {
        return;
    }
    let looked = work::look(form, why).map(|looked| as_json(&looked));
    teller.tell("fault", &json!({ "fault": Fault::of(why), "photo": looked }));
}

fn as_json(looked: &Looked) -> serde_json::Value {
    json!({
        "size_px": looked.size_px,
        "candidates": looked.candidates,
        "scale": looked.scale.as_ref().map(|(mm_per_px, source)| json!({ "mm_per_px": mm_per_px, "source": source })),
    })
}

fn stages(bench: &Bench, form: &Received, teller: &Teller, watcher: &Watcher) -> Result<(), Error> {
    let step = |done: f64, words: &str| teller.tell("step", &json!({ "done": done, "words": words }));
    step(0.05, "Measuring the hole");
    let judged = work::judge(form, bench.log.as_ref(), watcher)?;
    let loss = loss_jnd(&judged.verdict);
    let html = sheet::verdict(&judged, None, None)?.into_string();
    let sizes = &judged.gauge.hole;
    let burr = sizes.burrs.iter().max_by(|a, b| a.depth_mm.total_cmp(&b.depth_mm));
    teller.tell("verdict", &json!({
        "html": html,
        "spoken": format!("Verdict: {} {loss:.1} jnd lost.", crate::words::appraise::heading(&judged.verdict)),
        "where": sheet::whereabouts(&judged.camera),
        "what_if": {
            "d": format!("{:.4}", sizes.equivalent_diameter_mm),
            "oval": format!("{:.1}", 100.0 * (sizes.aspect_ratio - 1.0)),
            "depth": format!("{:.4}", burr.map_or(0.0, |burr| burr.depth_mm)),
            "width": format!("{:.4}", burr.map_or(0.02, |burr| burr.width_mm)),
        },
    }));
    step(0.35, "A point of light");
    let light = work::light(&judged, watcher)?;
    teller.tell("point", &json!({ "html": windows::point(&light)?.into_string() }));
    step(0.5, "The picture");
    let answer = work::answer(&judged, light, watcher)?;
    teller.tell("picture", &json!({ "html": windows::picture(&answer)?.into_string() }));
    step(0.8, "The files");
    let files = work::files(form, &judged, &answer, watcher)?;
    let kept: Vec<_> = files.iter().map(|file| json!({ "name": file.name, "kind": file.kind, "base64": base64(&file.bytes) })).collect();
    let name = if form.text("name").is_empty() { "hole" } else { form.text("name") };
    let entry = bench.log.as_ref().and_then(|_| work::entry(&answer, name));
    teller.tell("files", &json!({ "files": kept, "entry": entry, "name": name }));
    Ok(())
}

/// Everything on one page, for a browser without scripts.
async fn whole(bench: Arc<Bench>, form: Received) -> Response {
    let at = Arc::clone(&bench);
    let done = job(&bench.pool, move |watcher| {
        let judged = work::judge(&form, at.log.as_ref(), watcher)?;
        let light = work::light(&judged, watcher)?;
        let point = windows::point(&light)?;
        let answer = work::answer(&judged, light, watcher)?;
        let page = sheet::verdict(&judged, Some(point), Some(windows::picture(&answer)?))?;
        let files = work::files(&form, &judged, &answer, watcher)?;
        Ok::<_, Error>((page, files))
    })
    .await;
    match done {
        Err(response) => response,
        Ok(Err(why)) => {
            let asked = page(&bench, "Appraise", sheet::question(&bench, Some(&why)));
            (StatusCode::UNPROCESSABLE_ENTITY, asked).into_response()
        }
        Ok(Ok((answer, files))) => page(&bench, "Verdict", html! {
            (answer)
            p.keep { @for file in &files {
                a.button download=(file.name) href=(format!("data:{};base64,{}", file.kind, base64(&file.bytes))) { (file.name) }
            } }
        }).into_response(),
    }
}

/// The report alone, as a file.
pub(super) async fn report(State(bench): State<Arc<Bench>>, form: Received) -> Response {
    let at = Arc::clone(&bench);
    let done = job(&bench.pool, move |watcher| {
        let judged = work::judge(&form, at.log.as_ref(), watcher)?;
        let light = work::light(&judged, watcher)?;
        let answer = work::answer(&judged, light, watcher)?;
        work::files(&form, &judged, &answer, watcher)
    })
    .await;
    match done {
        Err(response) => response,
        Ok(Err(why)) => fault(&why),
        Ok(Ok(files)) => {
            let report = files.into_iter().find(|file| file.name == "report.html");
            let headers = [(header::CONTENT_TYPE, "text/html; charset=utf-8"), (header::CONTENT_DISPOSITION, "attachment; filename=\"report.html\"")];
            (headers, report.map(|file| file.bytes).unwrap_or_default()).into_response()
        }
    }
}

/// The scale that a photo tells by itself, and the holes to choose from.
pub(super) async fn look(State(bench): State<Arc<Bench>>, form: Received) -> Response {
    let done = job(&bench.pool, move |_| {
        let spacing = form.said("spacing").is_some();
        let photo = super::bench::source(&form)?;
        let crate::hole::Source::Photos { photos, .. } = &photo else { return Ok(json!({})) };
        let scale = photos.first().filter(|_| spacing).map(crate::hole::Photo::scale).transpose()?;
        Ok::<_, Error>(json!({
            "scale": scale.map(|scale| json!({ "mm_per_px": scale.mean_mm_per_px(), "source": scale.source })),
        }))
    })
    .await;
    match done {
        Err(response) => response,
        Ok(Err(why)) => fault(&why),
        Ok(Ok(value)) => json(StatusCode::OK, &value),
    }
}
