//! The table and the plate of `foramen gauge --every`.

use super::output::wrapped;
use crate::error::Error;
use crate::figure;
use crate::hole::Sheet;
use crate::quantity::{Quantity, significant, write_length_within};
use crate::task::gauge::{SheetAnswer, SheetRow};
use std::collections::BTreeMap;
use std::fmt::Write;

/// The holes of a sheet, a line each; ranked for a camera when there is one, the best first.
pub(super) fn sheet_text(answer: &SheetAnswer) -> String {
    let mut text = String::new();
    let known = answer.holes.iter().filter(|row| row.hole.is_some()).count();
    let noun = if known == 1 { "hole" } else { "holes" };
    // Writing to a string cannot fail.
    let _ = writeln!(text, "  {known} {noun} measured; scale: {}", answer.scale.source);
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
    text +=
        "\n  longest: largest over smallest Feret diameter; round: RONt (LSC) over the diameter\n";
    for (warning, holes) in remarks(&answer.holes) {
        let noun = if holes.len() == 1 { "Hole" } else { "Holes" };
        let _ =
            writeln!(text, "{}", wrapped("  ", &format!("{noun} {}: {warning}", holes.join(", "))));
    }
    for warning in &answer.warnings {
        let _ = writeln!(text, "{}", wrapped("  Note: ", warning));
    }
    text
}

/// The holes of a sheet as comma-separated values (RFC 4180), a line each under their keys; what could not
/// be measured has its reason in the last field and the others empty.
pub(super) fn sheet_table(answer: &SheetAnswer) -> String {
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
        hole.inward_burrs().count(),
    )
}

/// The picture with every measured hole outlined and numbered as in the table, as a PNG file.
pub(super) fn sheet_plate(sheet: &Sheet, answer: &SheetAnswer) -> Result<Vec<u8>, Error> {
    let labels: Vec<String> = answer.holes.iter().map(label).collect();
    // A large scan is shown smaller than it is.
    let side = sheet.reduced_by as f64;
    let smaller = |[x, y]: [f64; 2]| [x / side, y / side];
    let loops: Vec<Vec<Vec<[f64; 2]>>> = sheet
        .holes
        .iter()
        .map(|found| {
            let picture = found.hole.as_ref().ok().and_then(|hole| hole.picture.as_ref());
            let loops = picture.map_or(&[][..], |picture| &picture.traced.loops_px);
            loops.iter().map(|points| points.iter().map(|p| smaller(*p)).collect()).collect()
        })
        .collect();
    let openings: Vec<figure::Opening> = sheet
        .holes
        .iter()
        .zip(loops.iter().zip(&labels))
        .map(|(found, (loops_px, label))| figure::Opening {
            loops_px,
            place_px: smaller(found.place_px),
            label,
        })
        .collect();
    figure::sheet(&figure::Sheet {
        photo: &sheet.raster,
        openings: &openings,
        mm_per_px: Some(sheet.scale.mm_per_px.map(|mm| mm * side)),
        title: "The holes of the sheet",
        caption: "Beside each number the diameter of the disc of the same area.",
    })
}

fn label(row: &SheetRow) -> String {
    row.hole.as_ref().map_or_else(
        || "not measured".into(),
        |hole| Quantity::Length.write(hole.equivalent_diameter_mm),
    )
}
