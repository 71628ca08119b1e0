//! The style, the scripts and the letters of the page, as they are in the program.

use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};

/// Each by its name in /static/.
const FILES: &[(&str, &str, &[u8])] = &[
    ("page.css", "text/css; charset=utf-8", include_bytes!("static/page.css")),
    ("page.js", SCRIPT, include_bytes!("static/page.js")),
    ("appraise.js", SCRIPT, include_bytes!("static/appraise.js")),
    ("photo.js", SCRIPT, include_bytes!("static/photo.js")),
    ("rings.js", SCRIPT, include_bytes!("static/rings.js")),
    ("what-if.js", SCRIPT, include_bytes!("static/what-if.js")),
    ("draw.js", SCRIPT, include_bytes!("static/draw.js")),
    ("camera.js", SCRIPT, include_bytes!("static/camera.js")),
    ("icon.svg", "image/svg+xml", include_bytes!("static/icon.svg")),
    ("inter-400.woff2", "font/woff2", include_bytes!("static/inter-400.woff2")),
    ("inter-600.woff2", "font/woff2", include_bytes!("static/inter-600.woff2")),
];

const SCRIPT: &str = "text/javascript; charset=utf-8";

pub(super) fn file(name: &str) -> Response {
    match FILES.iter().find(|file| file.0 == name) {
        Some((_, kind, bytes)) => {
            ([(header::CONTENT_TYPE, *kind), (header::CACHE_CONTROL, "max-age=60")], *bytes)
                .into_response()
        }
        None => StatusCode::NOT_FOUND.into_response(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// All that a browser loads, letters included: little enough for a phone on a slow network.
    #[test]
    fn the_page_is_light() {
        let all: usize = FILES.iter().map(|file| file.2.len()).sum();
        assert!(all < 120_000, "{all} bytes");
    }
}
