//! Addresses to answers.

use super::answer::Bench;
use super::guard::guard;
use super::received::LARGEST;
use super::{appraise, assets, camera, log, shell, what_if};
use axum::Router;
use axum::extract::{DefaultBodyLimit, Path, State};
use axum::http::StatusCode;
use axum::middleware::from_fn_with_state;
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use maud::html;
use std::sync::Arc;

pub(super) fn router(bench: Arc<Bench>) -> Router {
    Router::new()
        .route("/", get(appraise::first).post(appraise::answer))
        .route("/photo", post(appraise::look))
        .route("/report", post(appraise::report))
        .route("/every", post(appraise::every::answer))
        .route("/what-if", get(what_if::view).post(what_if::without_script))
        .route("/what-if/light", post(what_if::light))
        .route("/what-if/figure", post(what_if::figure))
        .route("/camera", get(camera::view).post(camera::without_script))
        .route("/camera/check", post(camera::check))
        .route("/camera/card", post(camera::card))
        .route("/log", get(log::view).post(log::add))
        .route("/log/revoke", post(log::revoke))
        .route("/health", get(|| async { "ok\n" }))
        .route("/static/{name}", get(|Path(name): Path<String>| async move { assets::file(&name) }))
        .fallback(|State(bench): State<Arc<Bench>>| async move { not_here(&bench) })
        .layer(DefaultBodyLimit::max(LARGEST))
        .layer(from_fn_with_state(Arc::clone(&bench), guard))
        .with_state(bench)
}

fn not_here(bench: &Bench) -> Response {
    let page = shell::page(
        bench,
        shell::Job::None,
        "Not here",
        html! {
            h1.question { "This page does not exist." }
            p { a href="/" { "Appraise a hole" } }
        },
    );
    (StatusCode::NOT_FOUND, page).into_response()
}
