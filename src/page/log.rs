//! The log that was named at the start: a hole's history below the size rule, time running down.

use super::answer::{Bench, fault, json, sentence};
use super::received::Received;
use super::rule::{Mark, Rule, rule, span};
use super::shell::{self, Job};
use crate::error::{Error, Kind};
use crate::files;
use crate::quantity::write_length_within;
use crate::record::{self, Entry, Record};
use crate::task::log::{self, Answer};
use crate::words;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};
use serde::Deserialize;
use std::path::Path;
use std::sync::Arc;
use std::time::SystemTime;

/// Which hole, of several in the log.
#[derive(Deserialize)]
pub(super) struct Which {
    hole: Option<String>,
    camera: Option<String>,
}

pub(super) async fn view(State(bench): State<Arc<Bench>>, Query(which): Query<Which>) -> Response {
    let Some(path) = bench.log.clone() else {
        let page = html! {
            h1.question { "You have not begun a log." }
            p.lead { "Start the program with one, and each appraisal can be added to it on a press:" }
            p { code { "foramen serve --log bench.jsonl" } }
        };
        return shell::page(&bench, Job::Log, "Log", page).into_response();
    };
    let read = tokio::task::spawn_blocking(move || holes_and_history(&path, &which)).await;
    let page = match read {
        Err(_) => return StatusCode::INTERNAL_SERVER_ERROR.into_response(),
        Ok(Ok(shown)) => sheet(&shown),
        Ok(Err(why)) => {
            html! { h1.question { "The log cannot be shown." } p.fault { (sentence(&why.to_string())) " " (sentence(why.remedy())) } }
        }
    };
    shell::page(&bench, Job::Log, "Log", page).into_response()
}

/// What the view shows of a log.
#[derive(Default)]
struct Shown {
    /// Each hole and its camera.
    holes: Vec<(String, String)>,
    /// The one that is looked at.
    answer: Option<Answer>,
    /// The last entry, which may be of another hole.
    last: Option<Entry>,
    /// How many entries were taken back.
    revoked: usize,
}

fn holes_and_history(path: &Path, which: &Which) -> Result<Shown, Error> {
    if !path.exists() {
        return Ok(Shown::default());
    }
    let record = files::log(path)?;
    let (last_entry, revoked) = (last_entry(&record).cloned(), record.revoked);
    let owned = |(hole, camera): (&str, &str)| (hole.to_owned(), camera.to_owned());
    let mut holes: Vec<(String, String)> = record.names().map(owned).collect();
    // The hole that was worked on last is shown unless another is asked for.
    let last = holes.last().cloned();
    let hole = which.hole.clone().or(last.as_ref().map(|last| last.0.clone()));
    let camera = which
        .camera
        .clone()
        .or(last.filter(|last| Some(&last.0) == hole.as_ref()).map(|last| last.1));
    holes.sort();
    holes.dedup();
    let request = log::Request { record, hole, camera };
    let answer = match log::run(&request) {
        Ok(answer) => Some(answer),
        // An empty log, or a hole in several cameras: there is something to choose first.
        Err(why) if holes.is_empty() || matches!(why.kind(), Kind::Undecided(_)) => None,
        Err(why) => return Err(why),
    };
    Ok(Shown { holes, answer, last: last_entry, revoked })
}

fn sheet(Shown { holes, answer, last, revoked }: &Shown) -> Markup {
    html! { section.log {
        @match answer {
            Some(answer) => (history(answer)),
            None => { h1.question { @if holes.is_empty() { "The log is empty." } @else { "Which hole?" } }
                p { "Appraise a hole, then add it to the log." } }
        }
        @if holes.len() > 1 {
            h2 { "Another hole" }
            ul.row { @for (hole, camera) in holes {
                li { form action="/log" method="get" {
                    input type="hidden" name="hole" value=(hole); input type="hidden" name="camera" value=(camera);
                    button type="submit" { (hole) ", " (camera) }
                } }
            } }
        }
        @if let Some(last) = last {
            form.last action="/log/revoke" method="post" enctype="multipart/form-data" {
                input type="hidden" name="last" value=(said(last));
                p.small { "Last: " (last.hole) " in " (last.camera) ", " (words(last)) }
                button type="submit" { "Take back the last entry" }
            }
        }
        @if *revoked > 0 { p.small.quiet { (words::log::revoked(*revoked)) } }
    } }
}

/// What tells an entry from others.
fn said(entry: &Entry) -> String {
    format!("{} {} {}", entry.utc(), entry.hole, entry.diameter_mm)
}

/// A hole that was only proved: nothing was measured of it.
fn proofs(answer: &Answer) -> Markup {
    html! {
        h1.question { (words::log::heading(answer)) }
        @for row in words::log::rows(answer) { p { (row.name) ": " (row.sentence) } }
    }
}

fn history(answer: &Answer) -> Markup {
    let last = answer.history.last();
    if last.is_none() {
        return proofs(answer);
    }
    let best = last.map_or(1.0, |entry| entry.target_mm);
    let widest = answer.history.iter().map(|entry| entry.diameter_mm).fold(0.0, f64::max);
    let narrowest =
        answer.history.iter().map(|entry| entry.diameter_mm).fold(f64::INFINITY, f64::min);
    let of = |diameter_mm| span(best, Some(Mark { diameter_mm, uncertainty_mm: 0.0 }));
    let [low, high] = [of(narrowest)[0], of(widest)[1]];
    let shown = Rule {
        best_mm: best,
        limits_mm: last.map(|last| [last.band_low_mm, last.band_high_mm]).into_iter().collect(),
        ends_mm: [low, high],
        mark: last.map(|last| Mark {
            diameter_mm: last.diameter_mm,
            uncertainty_mm: last.diameter_uncertainty_mm,
        }),
    };
    let at =
        |mm: f64| format!("{:.2}%", 100.0 * ((mm / low).ln() / (high / low).ln()).clamp(0.0, 1.0));
    html! {
        h1.question { (words::log::heading(answer)) }
        @if let Some(last) = last {
            p.lead { (write_length_within(last.diameter_mm, last.diameter_uncertainty_mm)) "; the best is " (crate::quantity::Quantity::Length.write(best)) "." }
        }
        p.quiet { (sentence(&words::verdict::hand(&answer.growth))) }
        (rule(&shown, false))
        ol.passes {
            @for entry in &answer.history {
                li {
                    div.rule { svg role="img" aria-label=(words(entry)) {
                        line.best x1=(at(best)) x2=(at(best)) y1="0" y2="44" {}
                        line.this x1=(at(entry.diameter_mm - entry.diameter_uncertainty_mm)) x2=(at(entry.diameter_mm + entry.diameter_uncertainty_mm)) y1="22" y2="22" {}
                        circle cx=(at(entry.diameter_mm)) cy="22" r="7" fill="var(--hole)" {}
                    } }
                    p.small { (words(entry)) }
                }
            }
        }
        @for skipped in words::log::skipped(&answer.skipped) { p.small.quiet { (sentence(&skipped)) } }
    }
}

fn words(entry: &Entry) -> String {
    format!(
        "{}, {}; advice: {}; {} (UTC)",
        write_length_within(entry.diameter_mm, entry.diameter_uncertainty_mm),
        words::log::loss(entry),
        entry.action_in_words(),
        entry.utc().replace('T', " ").trim_end_matches('Z'),
    )
}

/// Adds a line: an appraisal as it was answered, under the name that is typed.
pub(super) async fn add(State(bench): State<Arc<Bench>>, form: Received) -> Response {
    let Some(path) = bench.log.clone() else {
        return fault(&Error::not_there(
            "no log was named at the start",
            "start the program with a log",
        ));
    };
    let added = tokio::task::spawn_blocking(move || {
        let mut entry: Entry = serde_json::from_str(form.text("entry"))
            .map_err(|_| Error::damaged("this is not an appraisal", "appraise the hole again"))?;
        let record = files::log_to_add_to(&path)?;
        let best = (entry.camera.as_str(), entry.target_mm);
        let (mm, known_mm) = (entry.diameter_mm, entry.diameter_uncertainty_mm);
        let name = record.name_given(form.text("name"), best, mm, known_mm);
        entry.hole = name.map_err(|why| why.in_field("name"))?;
        entry.time = SystemTime::now();
        record::append(&path, &entry)
    });
    match added.await {
        Err(_) => StatusCode::INTERNAL_SERVER_ERROR.into_response(),
        Ok(Err(why)) => fault(&why),
        Ok(Ok(())) => json(StatusCode::OK, &serde_json::json!({ "added": true })),
    }
}

/// The entry that a revocation would take back: none where a proof comes after it.
fn last_entry(record: &Record) -> Option<&Entry> {
    record.entries.last().filter(|_| !record.last_is_proof)
}

/// Takes back the last entry, if it is still the one that was seen.
pub(super) async fn revoke(State(bench): State<Arc<Bench>>, form: Received) -> Response {
    let Some(path) = bench.log.clone() else {
        return (StatusCode::NOT_FOUND, "No log was named at the start.").into_response();
    };
    let done = tokio::task::spawn_blocking(move || {
        let record = files::log(&path)?;
        match last_entry(&record) {
            Some(last) if said(last) == form.text("last") => {
                record::revoke_last(&path, SystemTime::now())
            }
            _ => Err(Error::damaged(
                "the last entry is another one by now",
                "open the log again and look",
            )),
        }
    })
    .await;
    match done {
        Err(_) => StatusCode::INTERNAL_SERVER_ERROR.into_response(),
        Ok(Err(why)) => fault(&why),
        Ok(Ok(())) => Redirect::to("/log").into_response(),
    }
}
