//! The camera: a short form, the same as its TOML file.

use super::answer::{Bench, Fault, job, json, sentence};
use super::bench::{camera_text, with_unit};
use super::received::Received;
use super::rule::{Rule, rule};
use super::shell::{self, Job};
use crate::camera::{Camera, TEMPLATES, no_curves};
use crate::error::Error;
use crate::plate::A5_MM;
use crate::quantity::Quantity;
use crate::raster::{Page, pdf};
use crate::verdict::target::{Target, target};
use crate::words;
use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};
use serde_json::{Value, json};
use std::sync::Arc;
use toml::Table;

/// A field of the form: a key of a table of the file.
struct Field {
    table: &'static str,
    key: &'static str,
    label: &'static str,
    /// The unit of a bare number; none where the file takes a bare number.
    unit: &'static str,
    choices: &'static [&'static str],
}

const fn field(
    table: &'static str,
    key: &'static str,
    label: &'static str,
    unit: &'static str,
) -> Field {
    Field { table, key, label, unit, choices: &[] }
}

const FILM: [Field; 7] = [
    field("film", "distance", "Hole to film", "mm"),
    field("film", "width", "Width", "mm"),
    field("film", "height", "Height", "mm"),
    Field { choices: &["flat", "cylinder"], ..field("film", "shape", "Shape", "text") },
    field("film", "radius", "Radius of the tube", "mm"),
    field("emulsion", "speed", "Speed of film, ISO", ""),
    field("emulsion", "paper-speed", "Speed of paper, ISO 6846", ""),
];
const HOLE: [Field; 4] = [
    field("plate", "thickness", "Metal at the rim", "mm"),
    field("subject", "distance", "Subject", "mm"),
    Field {
        choices: &["panchromatic", "orthochromatic", "blue-sensitive", "eye", "colour"],
        ..field("light", "medium", "Kind", "text")
    },
    field("light", "illuminant", "Light", "text"),
];
const PRINT: [Field; 4] = [
    field("support", "drift", "Movement", "text"),
    field("support", "sway", "Sway in the wind", "mm"),
    field("print", "enlargement", "Print, times", ""),
    field("print", "viewing-distance", "Seen from", "mm"),
];
const GROUPS: [(&str, &[Field]); 3] =
    [("Film or paper", &FILM), ("Hole and subject", &HOLE), ("Wind and print", &PRINT)];

impl Field {
    fn name(&self) -> String {
        format!("{}.{}", self.table, self.key)
    }

    fn of(&self, file: &Table) -> String {
        match file.get(self.table).and_then(|table| table.get(self.key)) {
            Some(toml::Value::String(text)) => text.clone(),
            Some(other) => other.to_string(),
            None => String::new(),
        }
    }

    /// Writes what was typed into the file, or takes the key out of it.
    fn put(&self, file: &mut Table, said: &str) {
        let table = file.entry(self.table).or_insert_with(|| toml::Value::Table(Table::new()));
        let Some(table) = table.as_table_mut() else { return };
        let value = match (self.unit, said.parse::<f64>()) {
            (_, _) if said.is_empty() => {
                table.remove(self.key);
                return;
            }
            ("", Ok(number)) => toml::Value::Float(number),
            ("" | "text", _) => toml::Value::String(said.into()),
            // What is said in words, as "infinity", stays as it is.
            (unit, _) => toml::Value::String(with_unit(said, unit)),
        };
        table.insert(self.key.into(), value);
    }
}

fn all() -> impl Iterator<Item = &'static Field> {
    GROUPS.into_iter().flat_map(|group| group.1)
}

/// The file that a form describes: the text it came with, with the typed fields in their places. Keys that
/// the form does not show stay.
fn edited(form: &Received) -> Result<String, Error> {
    let text = camera_text(form)?;
    if form.said("edited").is_none() {
        return Ok(text);
    }
    // Text that is not TOML is told of by its reader, with its line.
    let Ok(mut file) = text.parse::<Table>() else { return Ok(text) };
    if let Some(name) = form.said("name") {
        file.insert("name".into(), toml::Value::String(name.into()));
    }
    all().for_each(|field| field.put(&mut file, form.text(&field.name())));
    file.retain(|_, value| value.as_table().is_none_or(|table| !table.is_empty()));
    toml::to_string(&file).map_err(|why| {
        Error::damaged(format!("the camera cannot be written: {why}"), "open a camera file again")
    })
}

/// What is wrong, at the field to blame where the form has it.
fn fault_of(error: &Error) -> Fault {
    let fault = Fault::of(error);
    let wrong = error.wrong();
    let of_form = all().map(Field::name).find(|name| wrong.starts_with(name.as_str()));
    match of_form {
        Some(name) => {
            let about = wrong[name.len()..].trim_start_matches(" = ").trim_start();
            Fault { wrong: sentence(about), field: Some(name), ..fault }
        }
        None => fault,
    }
}

struct Checked {
    text: String,
    camera: Camera,
    target: Target,
}

fn checked(form: &Received) -> Result<Checked, Error> {
    let text = edited(form)?;
    let camera = Camera::parse(&text, "the camera", &no_curves)?;
    Ok(Checked { target: target(&camera), text, camera })
}

fn sentence_of(checked: &Checked) -> String {
    format!(
        "The best hole for the {} is {}.",
        checked.camera.name,
        Quantity::Length.write(checked.target.diameter_mm)
    )
}

fn whereabouts(camera: &Camera) -> String {
    format!("{}, film at {}", camera.name, Quantity::Length.write(camera.distances.film_mm()))
}

/// The form with its example.
pub(super) async fn view(State(bench): State<Arc<Bench>>) -> Response {
    answered(bench, Received::default()).await
}

/// The same with what was sent, for a browser without scripts.
pub(super) async fn without_script(State(bench): State<Arc<Bench>>, form: Received) -> Response {
    answered(bench, form).await
}

async fn answered(bench: Arc<Bench>, form: Received) -> Response {
    let asked = form.clone();
    match job(&bench.quick, move |_| checked(&asked)).await {
        Err(response) => response,
        Ok(Ok(checked)) => {
            shell::page(&bench, Job::Camera, "Camera", sheet(&checked.text, Some(&checked), None))
                .into_response()
        }
        Ok(Err(why)) => {
            let text = camera_text(&form).unwrap_or_default();
            let page = shell::page(&bench, Job::Camera, "Camera", sheet(&text, None, Some(&why)));
            (StatusCode::UNPROCESSABLE_ENTITY, page).into_response()
        }
    }
}

/// What is typed, checked as it is typed.
pub(super) async fn check(State(bench): State<Arc<Bench>>, form: Received) -> Response {
    match job(&bench.quick, move |_| checked(&form)).await {
        Err(response) => response,
        Ok(Err(why)) => json(StatusCode::UNPROCESSABLE_ENTITY, &fault_of(&why)),
        Ok(Ok(checked)) => {
            let file = checked.text.parse::<Table>().unwrap_or_default();
            let fields: serde_json::Map<String, Value> =
                all().map(|field| (field.name(), field.of(&file).into())).collect();
            json(
                StatusCode::OK,
                &json!({
                    "text": checked.text,
                    "name": checked.camera.name,
                    "where": whereabouts(&checked.camera),
                    "sentence": sentence_of(&checked),
                    "rule": shell::written(rule(&Rule::of(&checked.target, None), false)),
                    "fields": fields,
                }),
            )
        }
    }
}

/// The bench card of what the form describes, as a PDF file to keep.
pub(super) async fn card(State(bench): State<Arc<Bench>>, form: Received) -> Response {
    let asked = form.clone();
    let drawn = move || {
        let camera = Camera::parse(&edited(&asked)?, "the camera", &no_curves)?;
        let svg = words::bench_card::of(&camera)?;
        pdf(&camera.name, &[Page { svg: &svg, paper_mm: A5_MM }])
    };
    match job(&bench.quick, move |_| drawn()).await {
        Err(response) => response,
        Ok(Ok(bytes)) => (
            [
                (header::CONTENT_TYPE, "application/pdf"),
                (header::CONTENT_DISPOSITION, "attachment; filename=\"bench-card.pdf\""),
            ],
            bytes,
        )
            .into_response(),
        // What is wrong is said at its field.
        Ok(Err(_)) => answered(bench, form).await,
    }
}

fn sheet(text: &str, checked: Option<&Checked>, why: Option<&Error>) -> Markup {
    let file = text.parse::<Table>().unwrap_or_default();
    let name = file.get("name").and_then(toml::Value::as_str).unwrap_or_default();
    let wrong = why.map(fault_of);
    let wrong_in =
        |field: &str| wrong.as_ref().filter(|fault| fault.field.as_deref() == Some(field));
    html! {
        form #camera-form method="post" action="/camera" enctype="multipart/form-data" {
            input type="hidden" name="edited" value="yes";
            h1.question #best { (checked.map_or_else(|| "This camera cannot be used yet.".to_owned(), sentence_of)) }
            div #rule { @if let Some(checked) = checked { (rule(&Rule::of(&checked.target, None), false)) } }
            p.fault #camera-fault role="alert" {
                @if let Some(fault) = &wrong { (fault.wrong) " " (fault.remedy) }
            }
            div.boxes {
                @for one in TEMPLATES {
                    button type="submit" name="start" value=(one.word) data-template=(one.word) formnovalidate { (plan(one.word)) (one.name) }
                }
            }
            p { button.link type="button" id="mine" hidden { "Bring back mine" } }
            p.row { label for="name" { "Name" } input type="text" id="name" name="name" value=(name) maxlength="100"; }
            div.groups {
                @for (title, fields) in GROUPS {
                    fieldset {
                        legend { b { (title) } }
                        @for field in fields { (row(field, &field.of(&file), wrong_in(&field.name()))) }
                    }
                }
            }
            div.row.tools {
                label { "Open a camera file " input type="file" name="camera-file" id="open" accept=".toml,text/plain"; }
                button type="button" id="save" hidden { "Save camera.toml" }
                button type="submit" id="card" formaction="/camera/card" { "Bench card, PDF" }
                noscript { button.press type="submit" { "Check" } }
            }
            details { summary { "Show the file as text" }
                label.heard for="text" { "The camera file" }
                textarea id="text" name="camera" rows="24" spellcheck="false" { (text) }
                p { button type="button" id="take" hidden { "Take this text" } }
            }
            template #templates { @for one in TEMPLATES { pre data-name=(one.word) { (one.text) } } }
        }
    }
}

fn row(field: &Field, value: &str, fault: Option<&Fault>) -> Markup {
    let name = field.name();
    let id = name.replace('.', "-");
    let about = format!("{id}-fault");
    html! {
        div.row {
            label for=(id) { (field.label) }
            @if field.choices.is_empty() {
                input type="text" id=(id) name=(name) value=(value) aria-describedby=(about) aria-invalid=[fault.map(|_| "true")];
            } @else {
                select id=(id) name=(name) aria-describedby=(about) {
                    option value="" selected[value.is_empty()] { "as the file says" }
                    @for choice in field.choices { option value=(choice) selected[*choice == value] { (choice) } }
                }
            }
        }
        p.fault id=(about) { @if let Some(fault) = fault { (sentence(&fault.wrong)) } }
    }
}

/// A camera in plan: the hole left, the film thick.
fn plan(short: &str) -> Markup {
    html! {
        svg viewBox="0 0 120 80" aria-hidden="true" {
            @match short {
                "tube" => { circle cx="60" cy="40" r="34" {} path.film d="M60 6A34 34 0 0 1 60 74" {} path d="M22 40h8" {} }
                "tin" => { path d="M30 12v24M30 44v24M30 12h56M30 68h56" {} path.film d="M86 12v56" {} }
                "wide" => { path d="M14 30v8M14 42v8M14 30h30M14 50h30" {} path.film d="M50 4A76 76 0 0 1 50 76" transform="translate(46 0)" {} }
                _ => { path d="M14 14v22M14 44v22M14 14h92M14 66h92" {} path.film d="M106 14v52" {} }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_form_is_its_file() {
        for short in TEMPLATES.map(|template| template.word) {
            let mut said: Vec<(String, String)> =
                vec![("edited".into(), "yes".into()), ("template".into(), short.into())];
            let text = camera_text(&Received::of(&[("template", short)])).unwrap();
            let file: Table = text.parse().unwrap();
            said.extend(all().map(|field| (field.name(), field.of(&file))));
            let said: Vec<(&str, &str)> =
                said.iter().map(|(a, b)| (a.as_str(), b.as_str())).collect();
            let back = edited(&Received::of(&said)).unwrap();
            let camera = |text: &str| Camera::parse(text, "x", &no_curves).unwrap();
            assert_eq!(camera(&back), camera(&text), "{short}: {back}");
        }
        let typed = [
            ("edited", "yes"),
            ("film.distance", "100"),
            ("film.width", "60 mm"),
            ("film.height", "6 cm"),
            ("light.medium", "eye"),
        ];
        let camera =
            Camera::parse(&edited(&Received::of(&typed)).unwrap(), "x", &no_curves).unwrap();
        assert_eq!((camera.distances.film_mm(), camera.film.height_mm), (100.0, 60.0));
    }
}
