//! What every report is made of: the page about it, figures and tables.

use crate::words::{Row, Table};
use base64::{Engine, engine::general_purpose::STANDARD};
use maud::{DOCTYPE, Markup, PreEscaped, html};

const STYLE: &str = include_str!("style.css");

/// The file needs nothing from elsewhere, and nothing in it is a program.
const POLICY: &str = "default-src 'none'; img-src data:; font-src data:; style-src 'unsafe-inline'";

/// The HTML document about a report.
pub(super) fn page(title: &str, main: &Markup) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body { main { (main) } }
        }
    };
    page.into_string()
}

pub(super) fn figure(class: &str, png: &[u8], words: &str) -> Markup {
    let address = format!("data:image/png;base64,{}", STANDARD.encode(png));
    html! {
        figure class=(class) { img src=(address) alt=(words); }
    }
}

/// Rows as a table; without headings where those are empty.
pub(super) fn named(caption: &str, [name, sentence]: [&str; 2], rows: &[Row]) -> Markup {
    html! {
        table {
            caption { (caption) }
            @if !name.is_empty() {
                thead { tr { th scope="col" { (name) } th scope="col" { (sentence) } } }
            }
            tbody {
                @for row in rows {
                    tr { th scope="row" { (row.name) } td.number { (row.sentence) } }
                }
            }
        }
    }
}

/// A table, its first column the headings of its rows.
pub(super) fn table(caption: &str, table: &Table) -> Markup {
    html! {
        table {
            @if !caption.is_empty() { caption { (caption) } }
            thead { tr { @for column in &table.columns { th scope="col" { (column.heading) } } } }
            tbody {
                @for cells in &table.rows {
                    tr {
                        @for (i, (cell, column)) in cells.iter().zip(&table.columns).enumerate() {
                            @if i == 0 { th scope="row" { (cell) } }
                            @else if column.is_number { td.number { (cell) } }
                            @else { td { (cell) } }
                        }
                    }
                }
            }
        }
    }
}
