//! How much one pass widens a hole: what is commonly said, corrected by what a maker's hands did.
//!
//! The growth of a pass is a share of the diameter before it. It is taken to be normal, with a mean
//! and a variance of which little is known at first; both are learnt from the passes on record by the
//! conjugate prior, the normal-inverse-gamma (standard Bayesian text, from memory). The next pass then
//! follows Student's t. Its mean and its standard deviation are all that is used of it, as those of a
//! normal: mean ± 2 deviations hold the next pass in 95.0 to 95.5 % of cases, however few passes there
//! are, because the longer tails of few passes are in the deviation already. A test reckons this.

use serde::Serialize;

/// Growth of the diameter in one careful pass with needle or abrasive, as a share of it: mean and
/// standard deviation. Common practice, no source.
const STATED: (f64, f64) = (0.06, 0.04);
/// How many passes of a maker's own weigh as much as what is commonly said. Common practice, no
/// source. It must be above 2, or the spread of the next pass would have no bound.
const WORTH: f64 = 4.0;
/// A pass that more than doubles the hole is no pass: another hole, a slip, or a wrong scale.
const ABSURD: f64 = 1.0;

/// One widening pass: the diameter before it and after it, as measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pass {
    /// The equivalent diameter before the pass, in mm.
    pub from_mm: f64,
    /// The equivalent diameter after it, in mm.
    pub to_mm: f64,
    /// The uncertainty of their difference, in mm, expanded (k = 2); 0 where it is not known.
    pub uncertainty_mm: f64,
}

/// What the next pass will do to the diameter.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Growth {
    /// The growth to expect of it, as a share of the diameter before it.
    pub mean: f64,
    /// The standard deviation of that growth.
    pub deviation: f64,
    /// How many passes it was learnt from.
    pub passes: usize,
    /// What those passes did; nothing without any.
    pub seen: Option<Seen>,
}

/// What the passes on record did, as measured.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Seen {
    /// The mean growth of the diameter, in mm.
    pub mean_mm: f64,
    /// Its standard deviation from pass to pass, in mm; 0 for a single pass.
    pub deviation_mm: f64,
}

impl Growth {
    /// What is commonly said of a careful pass, before a maker has any on record.
    pub fn stated() -> Growth {
        Growth::learnt(&[])
    }

    /// What is commonly said, corrected by these passes; their order does not matter.
    ///
    /// A pass that grew nothing counts as one: no growth is growth of zero. So does one that narrowed
    /// the hole by no more than the measurement's uncertainty, with its sign, because leaving out
    /// only the passes that noise made small would make the rest look larger. Left out are passes that
    /// narrowed it by more (a hole cleaned, or measured another way), passes that more than doubled it,
    /// and what is no diameter.
    pub fn learnt(passes: &[Pass]) -> Growth {
        let passes: Vec<Pass> = passes.iter().copied().filter(Pass::is_believable).collect();
        let growths: Vec<f64> = passes.iter().map(Pass::growth).collect();
        let (mean, deviation) = predictive(&growths, scatter_of_hands(&passes, &growths));
        Growth { mean, deviation, passes: passes.len(), seen: Seen::of(&passes) }
    }

    /// What was learnt, in a sentence or two.
    pub fn in_words(&self) -> String {
        let next = format!(
            "The next may add {:.0} % of the diameter, {:.0} to {:.0} % in 95 of 100 cases",
            100.0 * self.mean,
            100.0 * (self.mean - 2.0 * self.deviation).max(0.0),
            100.0 * (self.mean + 2.0 * self.deviation)
        );
        let Some(seen) = self.seen else {
            return format!("No pass of yours is on record. {next}: common practice.");
        };
        let mean = micrometres(seen.mean_mm, seen.deviation_mm);
        if self.passes == 1 {
            return format!("Your last pass grew the hole by {mean} µm. {next}.");
        }
        let deviation = micrometres(seen.deviation_mm, seen.deviation_mm);
        format!(
            "Your last {} passes grew the hole by {mean} ± {deviation} µm each (mean and standard \
             deviation). {next}.",
            self.passes
        )
    }
}

impl Pass {
    /// From one measurement to the next, each a diameter and its uncertainty (k = 2), in mm.
    pub fn between(before: (f64, f64), after: (f64, f64)) -> Pass {
        Pass { from_mm: before.0, to_mm: after.0, uncertainty_mm: before.1.hypot(after.1) }
    }

    /// The growth, as a share of the diameter before.
    fn growth(&self) -> f64 {
        (self.to_mm - self.from_mm) / self.from_mm
    }

    /// Whether it may be one pass on one hole: no narrower beyond its uncertainty, nor twice as wide.
    pub fn is_believable(&self) -> bool {
        let measured = [self.from_mm, self.to_mm].iter().all(|mm| mm.is_finite() && *mm > 0.0)
            && self.uncertainty_mm.is_finite()
            && self.uncertainty_mm >= 0.0;
        // Rounding alone must not turn equal diameters, or just doubled ones, into the unbelievable.
        let rounding = 1e-12;
        measured
            && self.from_mm - self.to_mm <= self.uncertainty_mm + rounding
            && self.growth() <= ABSURD + rounding
    }

    /// What measuring adds to the variance of the growth.
    fn variance_of_measuring(&self) -> f64 {
        (self.uncertainty_mm / 2.0 / self.from_mm).powi(2)
    }
}

impl Seen {
    fn of(passes: &[Pass]) -> Option<Seen> {
        let grown: Vec<f64> = passes.iter().map(|pass| pass.to_mm - pass.from_mm).collect();
        let freedom = grown.len().checked_sub(1)?.max(1) as f64;
        Some(Seen {
            mean_mm: mean_of(&grown),
            deviation_mm: (squares_about_mean(&grown) / freedom).sqrt(),
        })
    }
}

/// Mean and standard deviation of the next growth, from those seen and the sum of their squares about
/// their mean: the conjugate update, then Student's t.
fn predictive(growths: &[f64], scatter: f64) -> (f64, f64) {
    let count = growths.len() as f64;
    let mean = mean_of(growths);
    // Of the prior: its degrees of freedom times its variance, such that with no pass the predictive
    // has just the stated deviation.
    let stated = STATED.1 * STATED.1 * (WORTH - 2.0) * WORTH / (WORTH + 1.0);
    let weight = WORTH + count;
    let apart = WORTH * count / weight * (mean - STATED.0) * (mean - STATED.0);
    // Student's t of `weight` degrees of freedom: its variance is ν/(ν - 2) of its scale squared.
    let variance = (stated + scatter + apart) / (weight - 2.0) * (weight + 1.0) / weight;
    ((WORTH * STATED.0 + count * mean) / weight, variance.sqrt())
}

/// The sum of squares of the growths about their mean, less what measuring alone would make of it:
/// the scatter of the hands, which is what the next pass will have.
///
/// At most half of it is put down to measuring, since an uncertainty is itself only an estimate, and
/// hands that seem not to scatter at all would make the odds of a pass look surer than they are.
fn scatter_of_hands(passes: &[Pass], growths: &[f64]) -> f64 {
    let seen = squares_about_mean(growths);
    let variances: Vec<f64> = passes.iter().map(Pass::variance_of_measuring).collect();
    let measuring = (growths.len().max(1) - 1) as f64 * mean_of(&variances);
    (seen - measuring).max(seen / 2.0)
}

/// The mean; 0 of nothing.
fn mean_of(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len().max(1) as f64
}

fn squares_about_mean(values: &[f64]) -> f64 {
    let mean = mean_of(values);
    values.iter().map(|value| (value - mean) * (value - mean)).sum()
}

/// Micrometres with a decimal only where the spread leaves one.
fn micrometres(length_mm: f64, spread_mm: f64) -> String {
    let decimals = usize::from(spread_mm < 0.002);
    format!("{:.decimals$}", 1000.0 * length_mm)
}

#[cfg(test)]
#[path = "growth_tests.rs"]
mod tests;
