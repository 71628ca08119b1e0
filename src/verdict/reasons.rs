//! A decision's reasons, in sentences that a maker can check.

use super::advice::{Action, DEBURRING, Decision, Undecided};
use super::appraise::Appraisal;
use super::doubt::SizeDoubt;
use super::setting::Corner;
use super::target::Target;
use crate::quantity::{Quantity, significant};

/// A size known better than this is known: the loss of 3 % off the best is 0.2 %.
const NOTABLE_DOUBT: f64 = 0.03;
/// A cause below this is not worth a word.
const NOTABLE: f64 = 0.002;
/// A hole so much longer than wide is called oval: it costs half a per cent at the best size.
const OVAL: f64 = 1.1;
/// A corner of the film that gets less of the light than this is dark.
pub const DARK: f64 = 0.5;

/// A share in words, with as many digits as are worth reading.
pub fn percent(share: f64) -> String {
    let hundred = 100.0 * share.max(0.0);
    match hundred {
        h if h < 0.1 => "less than 0.1 %".into(),
        h if h > 99.0 => "more than 99 %".into(),
        _ => format!("{} %", significant(hundred, if hundred < 1.0 { 1 } else { 2 })),
    }
}

/// A loss of sharpness in words that mean the same to everybody. Common practice, no source.
pub fn in_words(loss: f64) -> &'static str {
    match loss {
        l if l < 0.02 => "nobody could tell it from the best hole",
        l if l < 0.05 => "hardly to be seen, even side by side",
        l if l < 0.10 => "to be seen side by side, not alone",
        l if l < 0.20 => "plainly softer than the best hole",
        _ => "much softer than the best hole",
    }
}

impl Action {
    /// The action as one says it.
    pub fn in_words(self) -> &'static str {
        match self {
            Action::Stop => "stop",
            Action::Enlarge => "enlarge",
            Action::Deburr => "deburr",
            Action::StartOver => "start over",
        }
    }
}

/// Three reasons, about the size, the rim and the work; more where the size is in doubt, or the plate
/// is too thick.
pub(super) fn reasons(
    appraisal: &Appraisal,
    target: &Target,
    decision: &Decision,
    doubt: &SizeDoubt,
    corner: Option<&Corner>,
) -> Vec<String> {
    let mut said = vec![
        about_size(appraisal, target),
        about_rim(appraisal),
        about_work(appraisal, target, decision),
    ];
    said.extend(corner.filter(|corner| corner.open < DARK).map(about_plate));
    if let Some(undecided) = &decision.undecided {
        said.push(about_doubt(decision.action, undecided, doubt));
    } else if doubt.relative > NOTABLE_DOUBT {
        said.push(doubt.in_words());
    }
    said
}

fn about_size(appraisal: &Appraisal, target: &Target) -> String {
    let ratio = appraisal.smooth_diameter_mm / target.diameter_mm;
    let best = Quantity::Length.write(target.diameter_mm);
    if (ratio - 1.0).abs() < 0.01 {
        return format!("The size is the best there is for this camera, {best}.");
    }
    let off = match ratio {
        r if r >= 1.995 => format!("{} times the best", significant(r, 2)),
        r if r > 1.0 => format!("{} above the best", percent(r - 1.0)),
        r => format!("{} below the best", percent(1.0 - r)),
    };
    let cost = percent(appraisal.causes.size);
    format!("The size is {off}, {best}; that alone costs {cost} of the sharpness.")
}

fn about_rim(appraisal: &Appraisal) -> String {
    let causes = &appraisal.causes;
    let form = match appraisal.aspect_ratio {
        ratio if ratio >= OVAL => format!("its form, {ratio:.2} times as long as wide,"),
        _ => "its form, not quite round,".to_owned(),
    };
    let counted = |one: &str, many: &str, count: usize, cost: f64| {
        let what = if count == 1 { format!("the {one}") } else { format!("the {count} {many}") };
        (what, count > 1, cost)
    };
    let mut found = Vec::new();
    if causes.form > NOTABLE {
        found.push((form, false, causes.form));
    }
    if appraisal.burrs > 0 {
        found.push(counted("burr", "burrs", appraisal.burrs, causes.burrs));
    }
    if appraisal.specks > 0 {
        found.push(counted("speck in it", "specks in it", appraisal.specks, causes.debris));
    }
    let parts: Vec<String> = found
        .into_iter()
        .map(|(what, many, cost)| match (cost < 0.0, many) {
            (true, true) => format!("{what} do no harm"),
            (true, false) => format!("{what} does no harm"),
            (false, true) => format!("{what} cost {}", percent(cost)),
            (false, false) => format!("{what} costs {}", percent(cost)),
        })
        .collect();
    if parts.is_empty() {
        return "The rim costs nothing that counts: it is round and clean.".into();
    }
    sentence(&parts.join(", "))
}

fn about_work(appraisal: &Appraisal, target: &Target, decision: &Decision) -> String {
    let outlook = &decision.outlook;
    match (decision.action, &outlook.removal) {
        (Action::StartOver, _) => format!(
            "No more work can bring the loss below {}: metal cannot be put back where it is gone.",
            percent(outlook.within_reach)
        ),
        (Action::Deburr, Some(removal)) => {
            let after = percent(removal.expected_loss);
            if appraisal.burrs == 0 {
                return format!(
                    "Blown or brushed clean it should lose {after}, and nothing is risked by that."
                );
            }
            format!(
                "Taken off with fine abrasive, which widens the hole too (by {:.0} ± {:.0} %), it \
                 should lose {after} on average; the chance that it ends worse is {}.",
                100.0 * DEBURRING.mean,
                100.0 * DEBURRING.deviation,
                percent(removal.chance_of_overshooting)
            )
        }
        (Action::Enlarge, _) => about_widening(appraisal, target, decision),
        _ => about_stopping(decision),
    }
}

/// What one more pass would do, without an end.
fn about_pass(decision: &Decision) -> String {
    let (now, pass) = (decision.outlook.now, &decision.outlook.pass);
    let past = match pass.chance_past_band {
        chance if chance < 0.001 => String::new(),
        chance => format!(", and past the good sizes {}", percent(chance)),
    };
    format!(
        "One more careful pass would bring the loss from {} to {} on average; the chance that the \
         hole ends worse is {}{past}",
        percent(now),
        percent(pass.expected_loss),
        percent(pass.chance_of_overshooting)
    )
}

fn about_widening(appraisal: &Appraisal, target: &Target, decision: &Decision) -> String {
    let said = about_pass(decision);
    if let Some(loss) = decision.outlook.opened_out {
        return format!(
            "{said}; opened out round to {} it would lose {}.",
            Quantity::Length.write(appraisal.counterfactuals.opened_out_diameter_mm),
            percent(loss)
        );
    }
    let least_mm = target.good_enough().low_mm;
    let passes = (least_mm / appraisal.smooth_diameter_mm).ln() / decision.growth.mean.ln_1p();
    if passes > 2.0 {
        let least = Quantity::Length.write(least_mm);
        return format!(
            "{said}. The good sizes begin at {least}, some {passes:.0} such passes on."
        );
    }
    format!("{said}.")
}

fn about_stopping(decision: &Decision) -> String {
    let said = about_pass(decision);
    let pass = &decision.outlook.pass;
    match (pass.expected_loss < decision.outlook.now, pass.chance_of_overshooting < 0.5) {
        (true, true) => format!("{said}: a gain that nobody would see."),
        (true, false) => format!("{said}: more likely harm than help."),
        _ => format!("{said}: it would only lose."),
    }
}

fn about_plate(corner: &Corner) -> String {
    let light = match percent(corner.open) {
        share if corner.open >= 0.01 => format!("only {share} of the light"),
        _ => "hardly any light".into(),
    };
    format!(
        "The plate is thick: {light} passes through it to the corners of the film. A hole in thinner metal would light them."
    )
}

fn about_doubt(action: Action, undecided: &Undecided, doubt: &SizeDoubt) -> String {
    format!(
        "The size is known to ±{}, over which the loss lies between {} and {}, so it stands between \
         {} and {}: measure it again with a finer scale, or in a photo.",
        percent(doubt.relative),
        percent(doubt.least_loss),
        percent(doubt.most_loss),
        action.in_words(),
        undecided.other.in_words()
    )
}

/// A sentence of its words.
fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    let first = letters.next().map(|letter| letter.to_uppercase().to_string());
    format!("{}{}.", first.unwrap_or_default(), letters.as_str())
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
        ] {
            assert_eq!(percent(share), said);
        }
    }
}
