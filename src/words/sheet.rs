//! The holes of a sheet in words: a line each, and what there is to say of single ones.

use super::{Column, Table, terminal};
use crate::quantity::{Quantity, significant, write_length_within};
use crate::task::gauge::{SheetAnswer, SheetRow};
use std::collections::BTreeMap;
use std::fmt::Write;

const KEY: &str =
    "longest: largest over smallest Feret diameter; round: RONt (LSC) over the diameter";

/// Tells how many holes were measured, by what scale, and what they are ranked for.
pub fn heading(answer: &SheetAnswer) -> Vec<String> {
    let measured = answer.holes.iter().filter(|row| row.hole.is_some()).count();
    let noun = if measured == 1 { "hole" } else { "holes" };
    let mut lines = vec![format!("{measured} {noun} measured; scale: {}", answer.scale.source)];
    lines.extend(answer.camera.iter().map(|camera| {
        let best = Quantity::Length.write(camera.best_diameter_mm);
        format!("Ranked for {}, whose best hole is {best}", camera.name)
    }));
    lines
}

/// Returns the holes: ranked for a camera, the best first, or in the order one reads.
pub fn ranked(answer: &SheetAnswer) -> Vec<&SheetRow> {
    let mut rows: Vec<&SheetRow> = answer.holes.iter().collect();
    if answer.camera.is_some() {
        rows.sort_by_key(|row| row.rank.unwrap_or(usize::MAX));
    }
    rows
}

/// Says which hole of a sheet suits the camera best.
pub fn best(answer: &SheetAnswer) -> String {
    let best = ranked(answer).into_iter().find(|row| row.rank == Some(1));
    match (best, &answer.camera) {
        (Some(best), Some(camera)) => format!("Hole {} suits {} best.", best.number, camera.name),
        _ => "No hole could be measured.".into(),
    }
}

/// Returns a line for each hole, as [`ranked`].
pub fn table(answer: &SheetAnswer) -> Table {
    let is_ranked = answer.camera.is_some();
    let all = [
        (true, Column::numbers("rank")),
        (false, Column::numbers("hole")),
        (false, Column::words("diameter")),
        (true, Column::numbers("loss")),
        (false, Column::numbers("longest")),
        (false, Column::numbers("round")),
        (false, Column::numbers("burrs")),
        (false, Column::words("at (px)")),
    ];
    let shown = |(of_ranked, _): &(bool, Column)| is_ranked || !of_ranked;
    let cells = |row: &SheetRow| {
        let cells = cells(row);
        all.iter().zip(cells).filter(|(column, _)| shown(column)).map(|(_, cell)| cell).collect()
    };
    Table {
        rows: ranked(answer).into_iter().map(cells).collect(),
        columns: all.iter().filter(|column| shown(column)).map(|(_, column)| *column).collect(),
    }
}

/// A cell for each column.
fn cells(row: &SheetRow) -> [String; 8] {
    let number = row.number.to_string();
    let place = format!("{:.0},{:.0}", row.place_px[0], row.place_px[1]);
    let rank = row.rank.map_or_else(|| "-".to_owned(), |rank| rank.to_string());
    let none = String::new;
    let Some(hole) = &row.hole else {
        return [rank, number, "not measured".into(), none(), none(), none(), none(), place];
    };
    let round = 100.0 * hole.roundness_mm / hole.equivalent_diameter_mm;
    [
        rank,
        number,
        write_length_within(hole.equivalent_diameter_mm, hole.equivalent_diameter_uncertainty_mm),
        row.loss.map_or_else(none, |loss| format!("{} %", significant(100.0 * loss, 2))),
        format!("{:.3}", hole.aspect_ratio),
        format!("{round:.1} %"),
        hole.inward_burrs().count().to_string(),
        place,
    ]
}

/// Remarks on single holes: each remark once, with the numbers of its holes.
pub fn remarks(answer: &SheetAnswer) -> Vec<String> {
    let mut said: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for row in &answer.holes {
        for remark in row.fault.iter().chain(&row.warnings) {
            said.entry(remark).or_default().push(row.number.to_string());
        }
    }
    let sentence = |(remark, holes): (&str, Vec<String>)| {
        let noun = if holes.len() == 1 { "Hole" } else { "Holes" };
        format!("{noun} {}: {remark}", holes.join(", "))
    };
    said.into_iter().map(sentence).collect()
}

/// Lays the whole answer out for a terminal.
pub fn text(answer: &SheetAnswer) -> String {
    let heading: String = heading(answer).iter().map(|line| format!("  {line}\n")).collect();
    let table = terminal::table(&table(answer));
    let remarks = remarks(answer);
    let remarks = remarks.iter().map(|remark| terminal::wrapped("  ", remark) + "\n");
    let notes = answer.warnings.iter().map(|note| terminal::wrapped("  Note: ", note) + "\n");
    let after: String = remarks.chain(notes).collect();
    format!("{heading}\n{table}\n  {KEY}\n{after}")
}

/// The holes of a sheet as comma-separated values (`RFC4180`), a line each under their keys; what could not
/// be measured has its reason in the last field and the others empty.
pub fn csv(answer: &SheetAnswer) -> String {
    let mut table = String::from(
        "number,column_px,row_px,equivalent_diameter_mm,uncertainty_mm,feret_max_mm,feret_min_mm,\
         roundness_mm,burrs,fault\r\n",
    );
    for row in &answer.holes {
        let [column, line] = row.place_px;
        let sizes = row.hole.as_ref().map_or_else(
            || ",,,,,".to_owned(),
            |hole| {
                format!(
                    "{:.6},{:.6},{:.6},{:.6},{:.6},{}",
                    hole.equivalent_diameter_mm,
                    hole.equivalent_diameter_uncertainty_mm,
                    hole.feret_max_mm,
                    hole.feret_min_mm,
                    hole.roundness_mm,
                    hole.inward_burrs().count()
                )
            },
        );
        let fault = row.fault.as_deref().unwrap_or_default().replace('"', "\"\"");
        // Writing to a string cannot fail.
        let _ = write!(table, "{},{column:.1},{line:.1},{sizes},\"{fault}\"\r\n", row.number);
    }
    table
}
