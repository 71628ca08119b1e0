//! Several holes in words: a table with what each loses, by what, and what to do.

use super::appraise::Told;
use super::verdict::jnd;
use super::{Column, Table, terminal};
use crate::quantity::{Quantity, write_length_within};
use crate::task::appraise::{Compared, Comparison};
use crate::task::share_out;
use crate::verdict::judgement::Verdict;
use crate::verdict::target::Target;
use crate::verdict::thresholds::NOTABLE_JND;
use serde::Serialize;

/// The longest name of a hole in the table, in letters.
const LONGEST_NAME: usize = 24;

const KEY: &str =
    "loss: in just-noticeable differences against the best hole; most by: what causes most of it";

/// Says what the holes are ranked for.
pub fn heading(answer: &Comparison) -> String {
    let best = Quantity::Length.write(answer.target.diameter_mm);
    format!("Ranked for {}, whose best hole is {best}", answer.camera)
}

/// Returns the holes, the best first.
pub fn table(answer: &Comparison) -> Table {
    Table {
        columns: vec![
            Column::numbers("rank"),
            Column::words("hole"),
            Column::words("diameter"),
            Column::numbers("loss"),
            Column::words("most by"),
            Column::words("advice"),
        ],
        rows: ranked(answer).into_iter().map(cells).collect(),
    }
}

/// Says why a hole could not be measured, for each of those.
pub fn faults(answer: &Comparison) -> Vec<String> {
    let said = |hole: &Compared| Some(format!("{}: {}", hole.name, hole.fault.as_ref()?));
    ranked(answer).into_iter().filter_map(said).collect()
}

fn ranked(answer: &Comparison) -> Vec<&Compared> {
    let mut holes: Vec<&Compared> = answer.holes.iter().collect();
    holes.sort_by_key(|hole| hole.rank.unwrap_or(usize::MAX));
    holes
}

fn cells(hole: &Compared) -> Vec<String> {
    // Of a path the end tells more than the beginning.
    let cut = hole.name.chars().count().saturating_sub(LONGEST_NAME);
    let name: String = hole.name.chars().skip(cut).collect();
    let sizes = hole.equivalent_diameter_mm.zip(hole.equivalent_diameter_uncertainty_mm);
    let (Some(rank), Some((mm, known_mm)), Some(verdict)) = (hole.rank, sizes, &hole.verdict)
    else {
        return vec!["-".into(), name, "not measured".into()];
    };
    vec![
        rank.to_string(),
        name,
        write_length_within(mm, known_mm),
        jnd(verdict.loss_jnd),
        cause(verdict).into(),
        verdict.action.in_words().into(),
    ]
}

/// What causes most of the loss; nothing where the loss is small.
fn cause(verdict: &Verdict) -> &'static str {
    let causes = &verdict.causes_jnd;
    let all = [
        (causes.size, "size"),
        (causes.form, "form"),
        (causes.burrs, "burrs"),
        (causes.debris, "debris"),
    ];
    let most = all.into_iter().max_by(|a, b| a.0.total_cmp(&b.0));
    most.filter(|(cost, _)| *cost >= NOTABLE_JND).map_or("", |(_, name)| name)
}

/// Lays the whole answer out for a terminal.
pub fn text(answer: &Comparison) -> String {
    let table = terminal::table(&table(answer));
    let fault = |fault: &String| terminal::wrapped("  ", fault) + "\n";
    let faults: String = faults(answer).iter().map(fault).collect();
    format!("  {}\n\n{table}\n  {KEY}\n{faults}", heading(answer))
}

/// A hole among others, with its verdict in sentences.
#[derive(Debug, Serialize, schemars::JsonSchema)]
struct Row<'a> {
    #[serde(flatten)]
    hole: &'a Compared,
    verdict: Option<Told<'a>>,
}

/// The document of a comparison.
#[derive(Debug, Serialize, schemars::JsonSchema)]
pub struct Document<'a> {
    camera: &'a str,
    target: &'a Target,
    holes: Vec<Row<'a>>,
}

/// The document of a comparison, the verdicts with their reasons in sentences.
pub fn document(answer: &Comparison) -> Document<'_> {
    fn row(hole: &Compared) -> Row<'_> {
        Row { hole, verdict: hole.verdict.as_ref().map(Told::of) }
    }
    Document {
        camera: &answer.camera,
        target: &answer.target,
        holes: answer.holes.iter().map(row).collect(),
    }
}

/// Lays out which hole is for which camera: what each loses in each, the one to take marked.
pub fn shared_out(answer: &share_out::Answer) -> String {
    let mut columns = vec![Column::words("camera"), Column::numbers("best")];
    columns.extend(answer.holes.iter().map(|_| Column::numbers("")));
    let heads = answer.holes.iter().enumerate();
    let key: String = heads.map(|(i, hole)| format!("  {}  {hole}\n", i + 1)).collect();
    let cells = |one: &share_out::Shelved| {
        let cell = |(i, loss): (usize, &Option<f64>)| {
            let mark = if one.hole == Some(i) { "*" } else { "" };
            let loss = loss.map_or_else(|| "-".to_owned(), |jnd| format!("{jnd:.1}"));
            format!("{mark}{} ({})", loss, i + 1)
        };
        let mut row = vec![one.camera.clone(), Quantity::Length.write(one.best_diameter_mm)];
        row.extend(one.loss_jnd.iter().enumerate().map(cell));
        row
    };
    let table = Table { columns, rows: answer.cameras.iter().map(cells).collect() };
    format!(
        "  Which hole for which camera: lost against its best hole, in jnd, with the hole's number; * the best \
         way to share\n\n{}\n{key}",
        terminal::table(&table)
    )
}
