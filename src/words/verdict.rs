//! A decision in words: its heading, its reasons, what a loss means, how a hand goes.

pub use crate::quantity::jnd;
use crate::quantity::{Quantity, significant};
use crate::verdict::appraise::{Lean, Lines};
use crate::verdict::decision::hand::Hand;
use crate::verdict::decision::outlook::{Action, Means, Prospect};
use crate::verdict::judgement::{Reason, Verdict};
use crate::verdict::losses::SizeDoubt;
use crate::verdict::thresholds::{JND, NOTABLE_JND, OVAL};

/// A share in words, with as many digits as are worth reading.
pub fn percent(share: f64) -> String {
    let hundred = 100.0 * share.max(0.0);
    match hundred {
        h if h < 0.1 => "less than 0.1 %".into(),
        h if (99.0..100.0).contains(&h) => "more than 99 %".into(),
        _ => format!("{} %", significant(hundred, if hundred < 1.0 { 1 } else { 2 })),
    }
}

/// A chance as people say it: "1 in 8", "4 in 10", "certain".
pub fn chance(share: f64) -> String {
    match share {
        s if s >= 1.0 => "certain".into(),
        s if s > 0.95 => "nearly certain".into(),
        s if (0.45..0.55).contains(&s) => "1 in 2".into(),
        s if s >= 0.3 => format!("{:.0} in 10", 10.0 * s),
        s if s >= 0.01 => format!("1 in {:.0}", 1.0 / s),
        _ => "less than 1 in 100".into(),
    }
}

/// A loss in words. The meaning of 1, 3 and 10 is the published one (just noticeable, significant, substantial); see
/// [`crate::verdict::thresholds::JND`].
pub fn loss(loss_jnd: f64) -> &'static str {
    let [noticeable, significant, substantial] = JND;
    match loss_jnd {
        loss if loss < noticeable => "no eye can tell it from the best hole",
        loss if loss < significant => "visible only side by side",
        loss if loss < substantial => "plainly softer than the best hole",
        _ => "far softer than the best hole",
    }
}

impl Action {
    /// The action as one says it: the same word everywhere.
    pub fn in_words(self) -> &'static str {
        match self {
            Action::Stop => "stop",
            Action::Enlarge => "enlarge",
            Action::Ream => "ream",
            Action::Deburr => "deburr",
            Action::Clean => "clean",
            Action::Measure => "measure",
            Action::StartOver => "start over",
        }
    }
}

/// The decision in one line: one action word, then what to do.
pub fn heading(verdict: &Verdict) -> String {
    // Of a rim that nobody saw only the size is judged.
    let what = if verdict.rim_seen { "this hole" } else { "its size" };
    let or_new = verdict
        .reasons
        .iter()
        .any(|reason| matches!(reason, Reason::Done { new_hole_gains: true, .. }));
    let is_doubtful =
        verdict.reasons.iter().any(|reason| matches!(reason, Reason::Done { surely: false, .. }));
    let is_screen = matches!(verdict.reasons[..], [Reason::Screen { .. }]);
    let words = match verdict.action {
        Action::Stop if is_screen => "no work by hand makes this better.".to_owned(),
        Action::Stop if verdict.loss_jnd < JND[0] && is_doubtful => {
            format!("{what} is good, as far as it is known.")
        }
        Action::Stop if verdict.loss_jnd < JND[0] => format!("{what} is good."),
        Action::Stop if or_new => format!("{what} will do."),
        Action::Stop => format!("{what} will do; a new hole is not worth the work."),
        Action::Enlarge => format!(
            "one more pass, to about {}, then measure again.",
            size_and_count(verdict.next_pass.aim_mm)
        ),
        Action::Ream => "ream the hole round, then measure again.".into(),
        Action::Deburr if verdict.burrs == Some(1) => {
            "take the burr off, then measure again.".into()
        }
        Action::Deburr => "take the burrs off, then measure again.".into(),
        Action::Clean => "take out what lies in it, then measure again.".into(),
        Action::Measure => "once more, before you do anything to it.".into(),
        Action::StartOver => "a new hole will serve better than more work on this one.".into(),
    };
    format!("{}: {words}", verdict.action.in_words().to_uppercase())
}

/// The reasons as sentences.
pub fn reasons(verdict: &Verdict) -> Vec<String> {
    verdict.reasons.iter().map(reason).collect()
}

/// A diameter as a size and a count: "0.27 mm, that is 3 3/4 per mm".
pub fn size_and_count(diameter_mm: f64) -> String {
    let mm = significant(diameter_mm, if diameter_mm < 0.1 { 1 } else { 2 });
    // Both are the same size: the one that is read.
    let read_mm = mm.parse().unwrap_or(diameter_mm);
    format!("{mm} mm, that is {}", count(read_mm))
}

/// A diameter as a count under the loupe, in the shortest of 1, 2, 5 and 10 mm in which a reading to a quarter is within
/// 3 % of it: "3 3/4 per mm", "5 1/4 in 2 mm".
pub fn count(diameter_mm: f64) -> String {
    let read = |length: f64| (4.0 * length / diameter_mm).round() / 4.0;
    let fits = |length: &f64| (read(*length) * diameter_mm / length - 1.0).abs() < 0.03;
    let length = [1.0, 2.0, 5.0].into_iter().find(fits).unwrap_or(10.0);
    let count = quarters(read(length));
    if length > 1.0 { format!("{count} in {length} mm") } else { format!("{count} per mm") }
}

/// A count as it is read: to a quarter.
fn quarters(count: f64) -> String {
    let quarters = (4.0 * count).round() as u64;
    let part = ["", "1/4", "1/2", "3/4"][(quarters % 4) as usize];
    match (quarters / 4, part) {
        (0, "") => "less than 1/4".into(),
        (0, part) => part.into(),
        (whole, "") => whole.to_string(),
        (whole, part) => format!("{whole} {part}"),
    }
}

fn length(mm: f64) -> String {
    Quantity::Length.write(mm)
}

/// A reason as a sentence or two.
fn reason(reason: &Reason) -> String {
    match reason {
        Reason::Size { ratio, best_mm, cost_jnd } => size(*ratio, *best_mm, *cost_jnd),
        Reason::RimNotSeen => {
            "The rim was not looked at: a photo would show whether it is round and clean.".into()
        }
        Reason::Screen { loss_jnd } => format!(
            "A zone plate or sieve is not widened, reamed or deburred by hand, so nothing is advised. Its light and exposure \
             are computed zone by zone; its best number of zones is not sought. By its contrast over the print, halo \
             included, it is {}.",
            loss(*loss_jnd)
        ),
        Reason::Rim { form, burrs, specks } => rim(*form, *burrs, *specks),
        Reason::Done { loss_jnd, surely, pass, new_hole_gains } => {
            done((*loss_jnd, *surely), pass, *new_hole_gains)
        }
        Reason::Widen { aim_mm, part, now_jnd, pass, hand } => {
            widen((*aim_mm, *part), *now_jnd, pass, hand)
        }
        Reason::Ream { around_mm, now_jnd, ream } => format!(
            "Reamed round, to {} or a little more, it should lose {} on average instead of {}; the chance that it ends \
             worse is {}.",
            length(*around_mm),
            jnd(ream.expected_loss_jnd),
            jnd(*now_jnd),
            chance(ream.chance_of_ending_worse)
        ),
        Reason::Deburr { now_jnd, deburring } => format!(
            "Fine abrasive takes burrs off, and widens the hole by 1 to 3 %: it should lose {} afterwards instead of {}; \
             the chance that it ends worse is {}.",
            jnd(deburring.expected_loss_jnd),
            jnd(*now_jnd),
            chance(deburring.chance_of_ending_worse)
        ),
        Reason::Clean { now_jnd, cleaning } => format!(
            "Blown or brushed clean it should lose {} instead of {}, and nothing is risked by that.",
            jnd(cleaning.expected_loss_jnd),
            jnd(*now_jnd)
        ),
        Reason::Measure { means, is_small, doubt } => format!(
            "It seems too {}, but its size is known only to ±{}: it may lose {} or {}. {}",
            if *is_small { "small" } else { "wide" },
            percent(doubt.relative),
            jnd(doubt.least_loss_jnd),
            jnd(doubt.most_loss_jnd),
            match means {
                Means::Count =>
                    "Take a photo with a scale, or count again from the start and take the mean.",
                Means::Size => "Take a photo with a scale, or count it under a loupe.",
                Means::Outline | Means::Screen => "Take another photo with a finer scale.",
            }
        ),
        Reason::StartOver { within_reach_jnd } => format!(
            "No work is expected to bring this hole below {}: metal cannot be put back.",
            jnd(*within_reach_jnd)
        ),
        Reason::Suits { distance_mm } => format!(
            "Keep it: with the film at {} from it, it would be the best hole there is.",
            length(*distance_mm)
        ),
        Reason::Either { other } => format!(
            "With the work counted, it costs the same to {}: either is right.",
            other.in_words()
        ),
        Reason::Doubt(doubt) => size_doubt(doubt),
    }
}

fn size(ratio: f64, best_mm: f64, cost_jnd: f64) -> String {
    let best = length(best_mm);
    let off = match ratio {
        r if (r - 1.0).abs() < 0.01 => {
            return format!("The size is the best for this camera, {best}.");
        }
        r if r >= 1.995 => format!("{} times the best", significant(r, 2)),
        r if r > 1.0 => format!("{} above the best", percent(r - 1.0)),
        r => format!("{} below the best", percent(1.0 - r)),
    };
    format!("The size is {off}, {best}; that alone costs {}.", jnd(cost_jnd))
}

fn rim(form: (f64, f64), burrs: (usize, f64), specks: (usize, f64)) -> String {
    let mut parts = Vec::new();
    let cost = |cost_jnd: f64, many: bool| match (cost_jnd < NOTABLE_JND, many) {
        (true, true) => "do no harm".to_owned(),
        (true, false) => "does no harm".to_owned(),
        (false, true) => format!("cost {}", jnd(cost_jnd)),
        (false, false) => format!("costs {}", jnd(cost_jnd)),
    };
    if form.0 >= OVAL {
        parts.push(format!(
            "its form, {:.2} times as long as wide, {}",
            form.0,
            cost(form.1, false)
        ));
    } else if form.1 >= NOTABLE_JND {
        parts.push(format!("its form, not quite round, {}", cost(form.1, false)));
    }
    let mut counted = |one: &str, many: &str, (count, jnd): (usize, f64)| match count {
        0 => {}
        1 => parts.push(format!("the {one} {}", cost(jnd, false))),
        _ => parts.push(format!("the {count} {many} {}", cost(jnd, true))),
    };
    counted("burr", "burrs", burrs);
    counted("speck in it", "specks in it", specks);
    if parts.is_empty() {
        return "The rim is round and clean enough: it costs nothing.".into();
    }
    let words = parts.join(", ");
    let mut letters = words.chars();
    let first = letters.next().map(|letter| letter.to_uppercase().to_string());
    format!("{}{}.", first.unwrap_or_default(), letters.as_str())
}

fn done((loss_jnd, surely): (f64, bool), pass: &Prospect, new_hole_gains: bool) -> String {
    let told = match loss_jnd {
        l if l < JND[0] && !surely => {
            "As it was measured, no eye can tell its picture from the best hole's".to_owned()
        }
        l if l < JND[0] => "No eye can tell its picture from the best hole's".to_owned(),
        l => format!("It loses {}, {}", jnd(l), loss(l)),
    };
    let worse = pass.chance_of_ending_worse;
    let pass = match worse {
        // As in words: "certain", "nearly certain".
        w if w > 0.95 => "another pass can only make it worse".to_owned(),
        w => {
            format!("another pass would gain nothing that shows, and may end worse ({})", chance(w))
        }
    };
    let new_hole = match loss_jnd {
        l if l < JND[0] || new_hole_gains => "",
        _ => ", and a new hole costs more than it gains",
    };
    format!("{told}; {pass}{new_hole}.")
}

fn widen((aim_mm, part): (f64, f64), now_jnd: f64, pass: &Prospect, hand: &Hand) -> String {
    let part = format!("That is {:.0} % of the way to the best size", 100.0 * part);
    let hands = if hand.passes == 0 {
        "because hands differ and metal cannot be put back"
    } else {
        "as your passes have gone"
    };
    format!(
        "Press to about {}, then sand and measure. {part}, {hands}. On average the loss falls from {} to {}. The \
         chance that it ends within 1 jnd is {}; past the best size, {}; too wide to keep, {}.",
        size_and_count(aim_mm),
        jnd(now_jnd),
        jnd(pass.expected_loss_jnd),
        chance(pass.chance_within_1_jnd),
        chance(pass.chance_of_overshooting),
        chance(pass.chance_of_new_hole)
    )
}

/// How well a size is known, in a sentence.
pub fn size_doubt(doubt: &SizeDoubt) -> String {
    let known = format!("The size is known to ±{}", percent(doubt.relative));
    let range = match (jnd(doubt.least_loss_jnd), jnd(doubt.most_loss_jnd)) {
        (least, most) if least == most => format!("the loss is {most} throughout that range"),
        (least, most) => format!("the loss lies between {least} and {most}"),
    };
    if doubt.enough {
        format!("{known}, which is good enough: {range}.")
    } else {
        format!("{known}: {range}. A photo would tell.")
    }
}

/// How a maker's passes go, in a sentence or two.
pub fn hand(hand: &Hand) -> String {
    let aim = format!("Aim at {:.0} % of the way to the best size", 100.0 * hand.aim_share);
    let Some(seen) = hand.seen else {
        return format!(
            "None of your passes is logged yet. {aim}: our guess for a hand that nobody knows."
        );
    };
    let mean = micrometres(seen.mean_mm, seen.deviation_mm);
    let grew = if hand.passes == 1 {
        format!("Your last pass grew the hole by {mean} µm")
    } else {
        let deviation = micrometres(seen.deviation_mm, seen.deviation_mm);
        format!(
            "Your last {} passes grew the hole by {mean} ± {deviation} µm each (mean and standard deviation)",
            hand.passes
        )
    };
    let over = seen
        .over_aim
        .map(|over| format!(", {} times what they aimed at", significant(over, 2)))
        .unwrap_or_default();
    format!("{grew}{over}. {aim}.")
}

/// Micrometres with a decimal only where the spread leaves one.
fn micrometres(length_mm: f64, spread_mm: f64) -> String {
    let decimals = usize::from(spread_mm < 0.002);
    format!("{:.decimals$}", 1000.0 * length_mm)
}

/// Which lines suffer from the hole's form, unless all look alike.
pub fn lines(lines: &Lines) -> Option<String> {
    let apart = lines.worst_loss_jnd - lines.across_loss_jnd;
    let (worst, across) = match lines.worst_lean()? {
        Lean::Upright => ("upright lines", "level ones"),
        Lean::Falling => ("lines that fall to the right", "those that rise to the right"),
        Lean::Level => ("level lines", "upright ones"),
        Lean::Rising => ("lines that rise to the right", "those that fall to the right"),
    };
    Some(format!(
        "{worst} suffer most, by {} more than {across}: turn the plate a quarter turn if they matter",
        jnd(apart)
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_are_said_with_as_many_digits_as_are_worth_reading() {
        for (share, said) in [
            (-0.1, "less than 0.1 %"),
            (0.0009, "less than 0.1 %"),
            (0.0016, "0.2 %"),
            (0.016, "1.6 %"),
            (0.123, "12 %"),
            (0.9901, "more than 99 %"),
            (1.0, "100 %"),
        ] {
            assert_eq!(percent(share), said);
        }
    }

    #[test]
    fn counts_and_chances_are_said_as_people_say_them() {
        for (mm, said) in [
            (0.27, "0.27 mm, that is 3 3/4 per mm"),
            (0.25, "0.25 mm, that is 4 per mm"),
            (0.381, "0.38 mm, that is 5 1/4 in 2 mm"),
            (0.09, "0.09 mm, that is 11 per mm"),
        ] {
            assert_eq!(size_and_count(mm), said);
        }
        for (share, said) in
            [(1.0, "certain"), (0.42, "4 in 10"), (0.125, "1 in 8"), (0.001, "less than 1 in 100")]
        {
            assert_eq!(chance(share), said);
        }
    }
}
