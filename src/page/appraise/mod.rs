//! Appraise: a photo or a size in, the verdict first, the rest as it is ready.

pub(super) mod every;
mod sheet;
mod windows;
mod work;

use super::answer::{Bench, Fault, base64, busy, fault, job, json, sentence};
use super::event::{self, Teller};
use super::pool::{Busy, Pool, Watcher};
use super::received::Received;
use super::shell::{self, Job};
use crate::error::{Error, Kind};
use crate::quantity::significant;
use crate::task::appraise::{self, Answer, Judged, Pictures, Points, Request};
use crate::watch::{Step, Watch};
use crate::words;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use maud::{Markup, html};
use serde_json::json;
use std::ops::ControlFlow;
use std::path::PathBuf;
use std::sync::Arc;
use work::{File, Looked};

/// The first question.
pub(super) async fn first(State(bench): State<Arc<Bench>>) -> Html<String> {
    page(&bench, "Appraise", sheet::question(&bench, None))
}

fn page(bench: &Bench, title: &str, content: Markup) -> Html<String> {
    shell::page(
        bench,
        Job::Appraise,
        title,
        html! {
            div #answer {}
            p.fault #stream-fault role="alert" {}
            div #progress hidden { progress max="1" aria-label="How far" {} " " span {} " " button type="button" id="stop" { "Stop" } }
            (content)
        },
    )
}

/// The answer: stage by stage for a script, as one page without.
pub(super) async fn answer(
    State(bench): State<Arc<Bench>>,
    headers: HeaderMap,
    form: Received,
) -> Response {
    let takes =
        headers.get(header::ACCEPT).and_then(|value| value.to_str().ok()).unwrap_or_default();
    if takes.contains("text/event-stream") {
        streamed(bench, form).await
    } else {
        whole(bench, form).await
    }
}

/// The verdict comes from a pool of its own, so that nobody's waits for somebody else's pictures.
async fn streamed(bench: Arc<Bench>, form: Received) -> Response {
    let Ok(turn) = first_pool(&bench, &form).turn().await else { return busy() };
    let (teller, watcher, response) = event::stream();
    tokio::spawn(async move {
        let stream = Arc::new(Stream { bench, form, teller, watcher });
        let at = Arc::clone(&stream);
        let Some(Some((request, judged))) = turn.run(move || at.told(at.verdict())).await else {
            return;
        };
        match stream.bench.pictures.turn().await {
            Ok(turn) => {
                let at = Arc::clone(&stream);
                turn.run(move || at.told(at.pictures(&request, judged))).await;
            }
            Err(Busy) => stream.crowded(),
        }
    });
    response
}

/// Where a photo is looked at.
fn first_pool<'a>(bench: &'a Bench, form: &Received) -> &'a Pool {
    if work::is_large(form) { &bench.large } else { &bench.verdicts }
}

/// Where a whole answer is made.
fn whole_pool<'a>(bench: &'a Bench, form: &Received) -> &'a Pool {
    if work::is_large(form) { &bench.large } else { &bench.pictures }
}

/// A long answer on its way.
struct Stream {
    bench: Arc<Bench>,
    form: Received,
    teller: Teller,
    watcher: Watcher,
}

impl Stream {
    fn hear(&self, watcher: &Watcher, step: Step, done: f64) -> ControlFlow<()> {
        self.teller.tell(
            "step",
            &json!({ "done": share(step, done), "words": sentence(words::step::sentence(step)) }),
        );
        watcher.answer()
    }

    /// The first stage.
    fn verdict(&self) -> Result<(Request, Judged), Error> {
        let hear = |step, done| self.hear(&self.watcher, step, done);
        let watch = Watch::new(&hear);
        watch.begins(Step::Hole)?;
        let request = work::request(&self.form, self.bench.log.as_ref())?;
        let judged = appraise::judge(&request, watch)?;
        self.teller.tell("verdict", &verdict_event(&self.bench, &self.form, &request, &judged)?);
        Ok((request, judged))
    }

    /// The stages after it.
    fn pictures(&self, request: &Request, judged: Judged) -> Result<(), Error> {
        let watcher = self.watcher.again();
        let hear = |step, done| self.hear(&watcher, step, done);
        let (watch, teller) = (Watch::new(&hear), &self.teller);
        let points = appraise::points(request, &judged, watch)?;
        teller.tell("point", &json!({ "html": shell::written(windows::point(&points)?) }));
        let scene = work::scene(&request.camera, watch)?;
        let pictures = appraise::pictures(request, &judged, scene, watch)?;
        teller.tell("picture", &json!({ "html": shell::written(windows::picture(&pictures)?) }));
        let answer = whole_answer(judged, points, pictures);
        let files = work::files(&self.form, request, &answer, watch)?;
        let file = |file: &File| json!({ "name": file.name, "kind": file.kind, "base64": base64(&file.bytes) });
        teller.tell("files", &json!({ "files": files.iter().map(file).collect::<Vec<_>>() }));
        Ok(())
    }

    /// What a stage came to; its fault is told to the browser.
    fn told<T>(&self, done: Result<T, Error>) -> Option<T> {
        done.map_err(|why| tell_fault(&self.form, &self.teller, &why)).ok()
    }

    fn crowded(&self) {
        let why = Error::limit(
            "others are at work, so the pictures are missing",
            "appraise it again later",
        );
        self.teller.tell("fault", &json!({ "fault": Fault::of(&why) }));
    }
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

fn whole_answer(judged: Judged, points: Points, pictures: Pictures) -> Answer {
    Answer { judged, psf: points.psf, best_psf: points.best_psf, pictures }
}

/// How far the whole work is, where a step has done so much of itself. Pictures are most of it.
fn share(step: Step, done: f64) -> f64 {
    let [from, to] = match step {
        Step::Hole => [0.05, 0.15],
        Step::Verdict => [0.15, 0.3],
        Step::PointImage => [0.3, 0.4],
        Step::Scene => [0.4, 0.5],
        Step::PointImages | Step::Picture => [0.5, 0.85],
        _ => [0.85, 1.0],
    };
    from + done * (to - from)
}

fn verdict_event(
    bench: &Bench,
    form: &Received,
    request: &Request,
    judged: &Judged,
) -> Result<serde_json::Value, Error> {
    let loss = judged.verdict.loss_jnd;
    let sizes = &judged.gauge.hole;
    let burr = sizes.burrs.iter().max_by(|a, b| a.depth_mm.total_cmp(&b.depth_mm));
    let name = form.said("name").unwrap_or("hole");
    Ok(json!({
        "html": shell::written(sheet::verdict(request, judged, None, None)?),
        "spoken": format!("Verdict: {} {loss:.1} jnd lost.", words::verdict::heading(&judged.verdict)),
        "where": sheet::whereabouts(&request.camera),
        "name": name,
        "entry": bench.log.as_ref().and_then(|_| work::entry(judged, name)),
        "what_if": {
            "d": significant(sizes.equivalent_diameter_mm, 4),
            "oval": significant((1000.0 * (sizes.aspect_ratio - 1.0)).round() / 10.0, 3),
            "depth": significant(burr.map_or(0.0, |burr| burr.depth_mm), 3),
            "width": significant(burr.map_or(0.02, |burr| burr.width_mm), 3),
        },
    }))
}

fn appraised(
    form: &Received,
    log: Option<&PathBuf>,
    watch: Watch,
) -> Result<(Request, Answer), Error> {
    let request = work::request(form, log)?;
    let answer = appraise::run(&request, || work::scene(&request.camera, watch), watch)?;
    Ok((request, answer))
}

/// Everything on one page, for a browser without scripts.
async fn whole(bench: Arc<Bench>, form: Received) -> Response {
    let at = Arc::clone(&bench);
    let done = job(whole_pool(&bench, &form), move |watcher| {
        let hear = |_, _| watcher.answer();
        let (request, answer) = appraised(&form, at.log.as_ref(), Watch::new(&hear))?;
        let Answer { judged, psf, best_psf, pictures } = &answer;
        let points = Points { psf: psf.clone(), best_psf: best_psf.clone() };
        let (point, picture) = (windows::point(&points)?, windows::picture(pictures)?);
        let page = sheet::verdict(&request, judged, Some(point), Some(picture))?;
        Ok::<_, Error>((page, work::files(&form, &request, &answer, Watch::new(&hear))?))
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
    let done = job(whole_pool(&bench, &form), move |watcher| {
        let hear = |_, _| watcher.answer();
        let (request, answer) = appraised(&form, at.log.as_ref(), Watch::new(&hear))?;
        work::files(&form, &request, &answer, Watch::new(&hear))
    })
    .await;
    match done {
        Err(response) => response,
        Ok(Err(why)) => fault(&why),
        Ok(Ok(files)) => {
            let report = files.into_iter().find(|file| file.name == "report.html");
            let headers = [
                (header::CONTENT_TYPE, "text/html; charset=utf-8"),
                (header::CONTENT_DISPOSITION, "attachment; filename=\"report.html\""),
            ];
            (headers, report.map(|file| file.bytes).unwrap_or_default()).into_response()
        }
    }
}

/// The scale that a photo tells by itself, and the holes to choose from.
pub(super) async fn look(State(bench): State<Arc<Bench>>, form: Received) -> Response {
    let done = job(first_pool(&bench, &form), move |_| {
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
