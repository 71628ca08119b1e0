//! Every hole of one photo, ranked for the camera.

use super::super::answer::{Bench, fault, job, json, sentence};
use super::super::bench;
use super::super::received::Received;
use crate::hole::Sheet;
use crate::page::shell::{self, Job};
use crate::task::gauge::{SheetAnswer, run_every};
use crate::watch::Watch;
use crate::words;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};
use serde_json::json;
use std::sync::Arc;

/// The holes as a table, and for a script where they are: a part of the page, or a whole one without scripts.
pub(in crate::page) async fn answer(
    State(bench): State<Arc<Bench>>,
    headers: HeaderMap,
    form: Received,
) -> Response {
    let done = job(super::whole_pool(&bench, &form), move |watcher| {
        let hear = |_, _| watcher.answer();
        let camera = bench::camera(&form)?;
        run_every(&Sheet::of(&bench::source(&form)?)?, Some(&camera), Watch::new(&hear))
    })
    .await;
    let answer = match done {
        Err(response) => return response,
        Ok(Err(why)) => return fault(&why),
        Ok(Ok(answer)) => answer,
    };
    let takes = headers.get(header::ACCEPT).and_then(|value| value.to_str().ok());
    if takes.is_some_and(|takes| takes.contains("application/json")) {
        let places: Vec<[f64; 2]> = answer.holes.iter().map(|row| row.place_px).collect();
        let html = shell::written(sheet(&answer, true));
        let spoken = words::sheet::best(&answer);
        return json(
            StatusCode::OK,
            &json!({ "html": html, "spoken": spoken, "places_px": places }),
        );
    }
    shell::page(&bench, Job::Appraise, "Every hole", sheet(&answer, false)).into_response()
}

/// What was found: which hole is best, then each with a button, where a script makes buttons work.
fn sheet(answer: &SheetAnswer, buttons: bool) -> Markup {
    let table = words::sheet::table(answer);
    let rows = words::sheet::ranked(answer);
    html! { section.every {
        h2.question tabindex="-1" { (words::sheet::best(answer)) }
        @for line in words::sheet::heading(answer) { p.quiet { (sentence(&line)) } }
        div.scroll tabindex="0" role="group" aria-label="The holes" { table {
            thead { tr {
                @for column in &table.columns { th scope="col" { (column.heading) } }
                @if buttons { th scope="col" { "more" } }
            } }
            tbody { @for (cells, row) in table.rows.iter().zip(&rows) { tr {
                @for cell in cells { td { (cell) } }
                @if buttons { td { @if row.hole.is_some() {
                    button.link type="button" data-hole=(row.number) { "Appraise hole " (row.number) }
                } } }
            } } }
        } }
        @for remark in words::sheet::remarks(answer).iter().chain(&answer.warnings) { p.small.quiet { (remark) } }
    } }
}
