//! The table of `foramen appraise --every`.

use super::output::wrapped;
use crate::quantity::{Quantity, significant, write_length_within};
use crate::task::appraise::{Compared, Comparison};
use crate::verdict::advice::{Action, Verdict};
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
    text += "\n  loss: of sharpness, against the best hole; most by: what causes most of it\n";
    for hole in holes {
        if let Some(fault) = &hole.fault {
            let _ = writeln!(text, "{}", wrapped("  ", &format!("{}: {fault}", hole.name)));
        }
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
    let loss = significant(100.0 * verdict.loss, 2);
    format!(
        "  {rank:>4}  {name:<wide$}  {size:<20} {loss:>5} %  {:<9}  {}",
        cause(verdict),
        advice(verdict)
    )
}

/// What causes most of the loss; nothing where there is hardly any.
fn cause(verdict: &Verdict) -> &'static str {
    let causes = &verdict.causes;
    let all = [
        (causes.size, "size"),
        (causes.form, "form"),
        (causes.burrs, "burrs"),
        (causes.debris, "debris"),
    ];
    let most = all.into_iter().max_by(|a, b| a.0.total_cmp(&b.0));
    most.filter(|(cost, _)| *cost >= 0.005).map_or("", |(_, name)| name)
}

fn advice(verdict: &Verdict) -> String {
    let in_words = |action: Action| match action {
        Action::Deburr if verdict.burrs == 0 => "clean",
        action => action.in_words(),
    };
    verdict.undecided.map_or_else(
        || in_words(verdict.action).to_owned(),
        |doubt| format!("{} or {}: measure again", in_words(verdict.action), in_words(doubt.other)),
    )
}
