//! The table of `foramen gauge --every`.

use crate::quantity::{Quantity, significant, write_length_within};
use crate::task::gauge::{SheetAnswer, SheetRow};
use std::collections::BTreeMap;
use std::fmt::Write;

/// The holes of a sheet, a line each; ranked for a camera when there is one, the best first.
pub(super) fn sheet_text(answer: &SheetAnswer) -> String {
    let mut text = String::new();
    let known = answer.holes.iter().filter(|row| row.hole.is_some()).count();
    // Writing to a string cannot fail.
    let _ = writeln!(text, "  {known} holes measured; scale: {}", answer.scale.source);
    if let Some(camera) = &answer.camera {
        let best = Quantity::Length.write(camera.best_diameter_mm);
        let _ = writeln!(text, "  Ranked for {}, whose best hole is {best}", camera.name);
    }
    let ranked = answer.camera.is_some();
    let rank = if ranked { "rank  " } else { "" };
    let loss = if ranked { "  loss  " } else { "" };
    let _ = writeln!(
        text,
        "\n  {rank}{:>4}  {:<20}{loss}{:>8}  {:>7}  {:>5}  at (px)",
        "hole", "diameter", "longest", "round", "burrs"
    );
    let mut rows: Vec<&SheetRow> = answer.holes.iter().collect();
    if ranked {
        rows.sort_by_key(|row| row.rank.unwrap_or(usize::MAX));
    }
    rows.iter().for_each(|row| text += &line(row, ranked));
    text += "\n  longest: longest over shortest diameter (Feret). round: RONt over the diameter, least squares.\n";
    for (warning, holes) in remarks(&answer.holes) {
        let noun = if holes.len() == 1 { "Hole" } else { "Holes" };
        let _ = writeln!(text, "  {noun} {}: {warning}", holes.join(", "));
    }
    for warning in &answer.warnings {
        let _ = writeln!(text, "  Note: {warning}");
    }
    text
}

/// What is to be said of single holes, and of which.
fn remarks(rows: &[SheetRow]) -> BTreeMap<&str, Vec<String>> {
    let mut said: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for row in rows {
        for remark in row.fault.iter().chain(&row.warnings) {
            said.entry(remark).or_default().push(row.number.to_string());
        }
    }
    said
}

fn line(row: &SheetRow, ranked: bool) -> String {
    let place = format!("{:.0},{:.0}", row.place_px[0], row.place_px[1]);
    let rank = match (ranked, row.rank) {
        (true, Some(rank)) => format!("{rank:>4}  "),
        (true, None) => "   -  ".into(),
        (false, _) => String::new(),
    };
    let Some(hole) = &row.hole else {
        return format!("  {rank}{:>4}  not measured, see below{:>27}  {place}\n", row.number, "");
    };
    let loss = match (ranked, row.loss) {
        (true, Some(loss)) => format!("{:>5} %  ", significant(100.0 * loss, 2)),
        (true, None) => " ".repeat(9),
        (false, _) => String::new(),
    };
    let size =
        write_length_within(hole.equivalent_diameter_mm, hole.equivalent_diameter_uncertainty_mm);
    let round = 100.0 * hole.roundness_mm / hole.equivalent_diameter_mm;
    format!(
        "  {rank}{:>4}  {size:<20}{loss}{:>8.3}  {round:>5.1} %  {:>5}  {place}\n",
        row.number,
        hole.aspect_ratio,
        hole.burrs.len(),
    )
}
