//! The bench log in words: a hole's history, and what there is to say of the log's lines.

use super::verdict::hand;
use super::{Column, Row, Table, terminal};
use crate::quantity::{Quantity, write_length_within};
use crate::record::{Entry, Proof, Skipped};
use crate::task::log::Answer;

/// The longest advice in the table, in letters: a log may hold words of other programs.
const LONGEST_ADVICE: usize = 20;

/// Lines that are left out and told one by one.
const MOST_SKIPPED_TOLD: usize = 3;

/// Said while a log is waited for.
pub const HELD: &str = "another program holds this log; waiting for it, up to 3 s";

/// Said of a hole that no appraisal was logged of.
const NO_PASSES: &str =
    "Nothing was measured of this hole: the log holds only what pictures of the chart proved.";

/// Says whose history it is.
pub fn heading(answer: &Answer) -> String {
    format!("Hole \"{}\" in {}", answer.hole, answer.camera)
}

/// Returns the hole after each pass.
pub fn table(answer: &Answer) -> Table {
    Table {
        columns: vec![
            Column::numbers("Pass"),
            Column::words("When (UTC)"),
            Column::words("Diameter"),
            Column::numbers("Loss"),
            Column::words("Advice"),
        ],
        rows: answer.history.iter().enumerate().map(cells).collect(),
    }
}

/// Says what an entry loses: an old one as a share.
pub fn loss(entry: &Entry) -> String {
    match entry.loss_jnd {
        Some(jnd) => format!("{jnd:.1} jnd"),
        None => format!("{:.1} %", 100.0 * entry.loss),
    }
}

/// Says how many entries were taken back.
pub fn revoked(count: usize) -> String {
    match count {
        1 => "One entry was taken back.".into(),
        many => format!("{many} entries were taken back."),
    }
}

fn cells((index, entry): (usize, &Entry)) -> Vec<String> {
    vec![
        (index + 1).to_string(),
        entry.utc().replace('T', " ").chars().take(16).collect(),
        write_length_within(entry.diameter_mm, entry.diameter_uncertainty_mm),
        loss(entry),
        entry.action_in_words().chars().take(LONGEST_ADVICE).collect(),
    ]
}

/// Returns the best hole, and what a pass adds.
pub fn rows(answer: &Answer) -> Vec<Row> {
    let length = |mm| Quantity::Length.write(mm);
    let best = answer.history.last().map(|last| {
        let sizes = format!(
            "{}; {} to {} is good enough",
            length(last.target_mm),
            length(last.band_low_mm),
            length(last.band_high_mm)
        );
        Row::new("Best hole", sizes)
    });
    let hand = best.is_some().then(|| Row::new("Your hand", hand(&answer.growth)));
    best.into_iter().chain(hand).chain(proofs(answer)).chain(scatter(answer)).collect()
}

/// Remarks on a line that is not an entry.
pub fn skipped(skipped: &[Skipped]) -> Vec<String> {
    let told = skipped
        .iter()
        .take(MOST_SKIPPED_TOLD)
        .map(|skipped| format!("line {} of the log left out: it {}", skipped.line, skipped.reason));
    let mut told: Vec<String> = told.collect();
    let more = skipped.len() - told.len();
    if more > 0 {
        told.push(format!("{more} more lines of the log left out"));
    }
    told
}

/// Remarks on a line that is earlier than the one above it.
pub fn backwards(line: usize) -> String {
    format!("line {line} of the log: the clock ran backwards before it")
}

/// Says which entry was taken back.
pub fn taken_back(entry: &Entry) -> String {
    let size = write_length_within(entry.diameter_mm, entry.diameter_uncertainty_mm);
    let when: String = entry.utc().replace('T', " ").chars().take(16).collect();
    format!("Taken back: \"{}\" in {}, {size}, of {when}", entry.hole, entry.camera)
}

/// Says which proof was taken back.
pub fn proof_taken_back(proof: &Proof) -> String {
    format!("Taken back: what a picture with \"{}\" in {} proved", proof.hole, proof.camera)
}

/// Says where a proof was added.
pub fn proof_logged(file: &str, hole: &str) -> String {
    format!("Logged in {file} as a proof of \"{hole}\"")
}

/// Says what pictures of the chart have proved; nothing where there are none.
fn proofs(answer: &Answer) -> Option<Row> {
    let shares: Vec<f64> = answer.proofs.iter().filter_map(Proof::share).collect();
    if shares.is_empty() {
        return None;
    }
    let (low, high) =
        shares.iter().fold((f64::MAX, f64::MIN), |(low, high), v| (low.min(*v), high.max(*v)));
    let range =
        if shares.len() == 1 { format!("{low:.2}") } else { format!("{low:.2} to {high:.2}") };
    let sharp = answer
        .proofs
        .iter()
        .filter(|proof| proof.found.iter().any(|word| word == "as-sharp"))
        .count();
    Some(Row::new(
        "Proofs",
        format!(
            "{} of {} pictures of the chart are as sharp as the hole allows; in the middle MTF50 is {range} of that",
            sharp,
            answer.proofs.len()
        ),
    ))
}

/// Says how much a maker's pictures differ.
fn scatter(answer: &Answer) -> Option<Row> {
    let scatter = answer.scatter?;
    let length = |mm| Quantity::Length.write(mm);
    Some(Row::new(
        "Your pictures",
        format!(
            "{} pictures of the chart with this camera are blurred by {} on average beyond what the hole does; one differs \
             from the next by {} (standard deviation), and the softest has {}",
            scatter.pictures,
            length(scatter.mean_blur_mm),
            length(scatter.between_mm),
            length(scatter.most_mm)
        ),
    ))
}

/// Says where an entry was added.
pub fn logged(file: &str, hole: &str, number: usize) -> String {
    format!("Logged in {file} as \"{hole}\", entry {number}")
}

/// Lays the whole answer out for a terminal.
pub fn text(answer: &Answer) -> String {
    let passes = if answer.history.is_empty() {
        terminal::wrapped("", NO_PASSES)
    } else {
        terminal::table(&table(answer))
    };
    format!(
        "{}\n\n{passes}\n{}",
        terminal::wrapped("", &heading(answer)),
        terminal::rows(&rows(answer))
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::verdict::decision::outlook::Action;

    /// A log's word for an action is that of the answer, with a hyphen for a space.
    #[test]
    fn a_log_and_an_answer_say_the_same() {
        for action in Action::ALL {
            let written = Entry::word(action);
            assert_eq!(written.replace('-', " "), action.in_words());
        }
    }
}
