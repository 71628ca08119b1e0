//! What every page has about its job: the head, the foot, and the scripts.

use super::answer::Bench;
use axum::response::Html;
use maud::{DOCTYPE, Markup, html};

/// The four jobs, each at its own address.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Job {
    Appraise,
    WhatIf,
    Camera,
    Log,
    None,
}

const JOBS: [(Job, &str, &str); 4] = [
    (Job::Appraise, "/", "Appraise"),
    (Job::WhatIf, "/what-if", "What if"),
    (Job::Camera, "/camera", "Camera"),
    (Job::Log, "/log", "Log"),
];

pub(super) fn page(bench: &Bench, job: Job, title: &str, content: Markup) -> Html<String> {
    let script = match job {
        Job::Appraise => Some("/static/appraise.js"),
        Job::WhatIf => Some("/static/what-if.js"),
        Job::Camera => Some("/static/camera.js"),
        Job::Log | Job::None => Some("/static/page.js"),
    };
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) " · foramen" }
                link rel="icon" href="/static/icon.svg" type="image/svg+xml";
                link rel="stylesheet" href="/static/page.css";
                @if let Some(script) = script { script type="module" src=(script) {} }
            }
            body {
                a.skip href="#main" { "Skip to the answer" }
                div.sheet {
                    header {
                        b { "foramen" }
                        nav aria-label="Jobs" {
                            @for (one, address, name) in JOBS {
                                a href=(address) aria-current=[(one == job).then_some("page")] { (name) }
                            }
                        }
                        p.where { "in " a #where href="/camera" { "Cedar box, an example camera" } }
                    }
                    main id="main" data-shared[bench.door.is_shared()] { (content) }
                    footer.foot {
                        p {
                            @if bench.door.is_shared() {
                                "Shared on your network until the program is stopped. The photo goes to the bench machine and is not kept."
                            } @else {
                                "Nothing leaves this machine and nothing is kept."
                            }
                        }
                        p { "1 jnd: three of four people, with both prints side by side, pick the better one. Per mm: as many holes of \
                             this size, touching, fill a millimetre." }
                    }
                }
                p.heard role="status" #heard {}
            }
        }
    };
    Html(written(page))
}

/// Writes a page, or a part of one, so that no line begins with a % sign.
pub(super) fn written(html: Markup) -> String {
    html.into_string().replace(" %", "\u{a0}%")
}

/// For who comes without the secret.
pub(super) fn strangers() -> Html<String> {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head { meta charset="utf-8"; meta name="viewport" content="width=device-width"; title { "foramen" } }
            body { h1 { "Open the address from the terminal again." }
                p { "It holds the secret of this run of the program." } }
        }
    };
    Html(page.into_string())
}

/// What hands have to mind.
pub(super) fn cautions() -> Markup {
    html! {
        p.small.quiet {
            "Needles and sheet edges cut. Dust of old brass, tin or solder may hold lead: sand wet, and keep it off hands \
             and food. Wear eye protection. Look at the hole against a lamp, never the Sun."
        }
    }
}
