//! The table of `foramen appraise --every`.

use super::output::wrapped;
use crate::quantity::{Quantity, write_length_within};
use crate::task::appraise::{Compared, Comparison};
use crate::task::share_out;
use crate::verdict::judgement::Verdict;
use crate::verdict::thresholds::NOTABLE_JND;
use crate::words::verdict::jnd;
use std::fmt::Write;

/// The longest name of a hole in the table, in letters.
const LONGEST_NAME: usize = 24;

/// The holes, the best first, each with what it loses, what costs most of that, and what to do.
pub(super) fn text(answer: &Comparison) -> String {
    let best = Quantity::Length.write(answer.target.diameter_mm);
    let mut text = format!("  Ranked for {}, whose best hole is {best}\n", answer.camera);
    let longest = answer.holes.iter().map(|hole| hole.name.chars().count()).max().unwrap_or(0);
    let wide = longest.clamp(4, LONGEST_NAME);
    // Writing to a string cannot fail.
    let _ = writeln!(
        text,
        "\n  rank  {:<wide$}  {:<20} {:>7}  {:<9}  advice",
        "hole", "diameter", "loss", "most by"
    );
    let mut holes: Vec<&Compared> = answer.holes.iter().collect();
    holes.sort_by_key(|hole| hole.rank.unwrap_or(usize::MAX));
    for hole in &holes {
        let _ = writeln!(text, "{}", line(hole, wide));
    }
    text += "\n  loss: in just-noticeable differences against the best hole; most by: what causes most of it\n";
    for hole in holes {
        if let Some(fault) = &hole.fault {
            let _ = writeln!(text, "{}", wrapped("  ", &format!("{}: {fault}", hole.name)));
        }
    }
    text
}

/// Which hole for which camera: what each loses in each, the one to take marked.
pub(super) fn shared_out(answer: &share_out::Answer) -> String {
    let mut text = String::from(
        "  Which hole for which camera (lost against its best hole, in jnd; * the best way to share)\n\n",
    );
    let wide = answer.cameras.iter().map(|one| one.camera.chars().count()).max().unwrap_or(0);
    let names: String = answer.holes.iter().map(|hole| format!("{hole:>12}")).collect();
    // Writing to a string cannot fail.
    let _ = writeln!(text, "  {:<wide$}  {:>9}{names}", "camera", "best");
    for one in &answer.cameras {
        let cell = |(i, loss): (usize, &Option<f64>)| {
            let mark = if one.hole == Some(i) { "*" } else { " " };
            loss.map_or_else(|| format!("{:>11}{mark}", "-"), |jnd| format!("{jnd:>11.1}{mark}"))
        };
        let cells: String = one.loss_jnd.iter().enumerate().map(cell).collect();
        let best = Quantity::Length.write(one.best_diameter_mm);
        let _ = writeln!(text, "  {:<wide$}  {best:>9}{cells}", one.camera);
    }
    text
}

fn line(hole: &Compared, wide: usize) -> String {
    // Of a path the end tells more than the beginning.
    let cut = hole.name.chars().count().saturating_sub(LONGEST_NAME);
    let name: String = hole.name.chars().skip(cut).collect();
    let sizes = hole.equivalent_diameter_mm.zip(hole.equivalent_diameter_uncertainty_mm);
    let (Some(rank), Some((mm, known_mm)), Some(verdict)) = (hole.rank, sizes, &hole.verdict)
    else {
        return format!("     -  {name:<wide$}  not measured, see below");
    };
    let size = write_length_within(mm, known_mm);
    format!(
        "  {rank:>4}  {name:<wide$}  {size:<20} {:>7}  {:<9}  {}",
        jnd(verdict.loss_jnd),
        cause(verdict),
        verdict.action.in_words()
    )
}

/// What causes most of the loss; nothing where there is hardly any.
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
