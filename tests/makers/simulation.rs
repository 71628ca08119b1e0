//! Simulated makers who widen a hole by somebody's advice, and what that costs them.
//!
//! All about hands, burrs and minutes is our guess (`verdict::thresholds`): the figures say which choices matter, not
//! what a workshop measures. Makers have more variety than the program's model of them: each has a bias of his own.

use foramen::camera::Camera;
use foramen::verdict::decision::Standing;
use foramen::verdict::decision::hand::{Hand, Pass};
use foramen::verdict::decision::outlook::Action;
use foramen::verdict::decision::plan::{Best, Losses, Plan, Removal};
use foramen::verdict::losses::Reference;
use foramen::verdict::merit::acutance_of_disc;
use foramen::verdict::thresholds::{
    BURR_JND, DEBURRING_GROWTH, DEBURRING_JND, NEW_HOLE_JND, PASS_JND, REWORK_GAIN_JND,
    TOO_WIDE_JND,
};

/// A kind of maker: bias, spread, chance of a slip and of a burr.
#[derive(Clone, Copy)]
pub(crate) struct Kind {
    pub(crate) name: &'static str,
    pub(crate) bias: f64,
    pub(crate) spread: f64,
    pub(crate) slip: f64,
    pub(crate) burr: f64,
}

pub(crate) const KINDS: [Kind; 3] = [
    Kind { name: "careful", bias: 0.0, spread: 0.45, slip: 0.03, burr: 0.10 },
    Kind { name: "bold", bias: 0.45, spread: 0.6, slip: 0.05, burr: 0.20 },
    Kind { name: "clumsy", bias: 0.2, spread: 0.8, slip: 0.10, burr: 0.30 },
];

/// How sizes are measured: the standard deviation of one reading, in the logarithm.
pub(crate) const MEANS: [(&str, f64); 2] = [("count", 0.04), ("photo", 0.003)];

/// What the maker follows.
pub(crate) enum Advice<'a> {
    /// The program's, for what it knows of the hand.
    Program(Hand),
    /// The dynamic program that knows the hand.
    Best(&'a Plan),
    /// Widen by 5 % until this part of the best size is reached.
    Until(f64),
    /// The program before this rule: another pass of 6 ± 4 % if it is expected to gain 2 points of acutance, or any while
    /// 5 % is lost; made anew above 10 %.
    Former,
}

/// The camera's losses.
pub(crate) struct Bench {
    pub(crate) jnd: Vec<f64>,
    pub(crate) acutance: Vec<f64>,
}

const LOW: f64 = -1.2;
const STEP: f64 = 0.01;

fn between(values: &[f64], x: f64) -> f64 {
    let at = ((x - LOW) / STEP).clamp(0.0, values.len() as f64 - 1.001);
    let (i, part) = (at as usize, at.fract());
    values[i] * (1.0 - part) + values[i + 1] * part
}

impl Bench {
    /// The demonstration camera's discs, from 0.3 to 2.2 times the best.
    pub(crate) fn new() -> Bench {
        let camera = Camera::demonstration().unwrap();
        let reference = Reference::of(&camera);
        let best_mm = reference.target.diameter_mm;
        let places = || (0..200).map(|i| LOW + STEP * f64::from(i));
        let jnd = places().map(|x| reference.disc_jnd(x)).collect();
        let coarse: Vec<f64> = (0..21)
            .map(|i| acutance_of_disc(&camera, best_mm * (LOW + 0.1 * f64::from(i)).exp()))
            .collect();
        let of = |x: f64| {
            let at = (x - LOW) / 0.1;
            let i = (at as usize).min(19);
            coarse[i] + (coarse[i + 1] - coarse[i]) * (at - i as f64)
        };
        let most = coarse.iter().fold(0.0f64, |most, one| most.max(*one));
        let acutance = places().map(|x| 1.0 - of(x) / most).collect();
        Bench { jnd, acutance }
    }

    pub(crate) fn loss(&self, x: f64) -> f64 {
        between(&self.jnd, x)
    }

    pub(crate) fn plan(&self, kind: &Kind, deviation: f64) -> Plan {
        let hand = Hand::known(kind.bias, kind.spread, kind.slip, kind.burr);
        Plan::solve(&Losses::of_disc(|x| self.loss(x)).over_doubt(deviation), &hand)
    }

    fn former_goes_on(&self, x: f64) -> bool {
        let now = between(&self.acutance, x);
        let after = (0..9).map(|i| {
            let z = -1.6 + 0.4 * f64::from(i);
            let weight = (-0.5 * z * z).exp();
            (weight * between(&self.acutance, x + (0.06 + 0.04 * z).max(0.0)), weight)
        });
        let (sum, total) = after.fold((0.0, 0.0), |(a, b), (c, d)| (a + c, b + d));
        let gain = now - sum / total;
        gain >= 0.02 || (now > 0.05 && gain > 0.0)
    }
}

/// A generator (xorshift64*; Vigna 2016, from memory): the same makers in every run.
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Dice {
        Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    pub(crate) fn share(&mut self) -> f64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11) as f64 / (1u64 << 53) as f64
    }

    pub(crate) fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.share()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.share()).cos()
    }
}

/// A maker of a kind, with a bias of his own.
pub(crate) struct Maker {
    kind: Kind,
    bias: f64,
}

impl Maker {
    pub(crate) fn of(kind: Kind, dice: &mut Dice) -> Maker {
        Maker { kind, bias: kind.bias + 0.2 * dice.normal() }
    }

    fn growth(&self, aim: f64, dice: &mut Dice) -> f64 {
        let slip = if dice.share() < self.kind.slip { 4.0 } else { 1.0 };
        slip * aim * (self.bias + self.kind.spread * dice.normal()).exp()
    }

    fn burr(&self, dice: &mut Dice) -> usize {
        if dice.share() < self.kind.burr { 1 + (3.0 * dice.share()) as usize } else { 0 }
    }

    /// What the program learns of his hand from so many logged passes.
    pub(crate) fn logged(&self, passes: usize, deviation: f64, dice: &mut Dice) -> Hand {
        let logged: Vec<Pass> = (0..passes)
            .map(|_| {
                let aim = 0.05 + 0.1 * dice.share();
                let grown = self.growth(aim, dice) + 2f64.sqrt() * deviation * dice.normal();
                Pass {
                    from_mm: 0.3,
                    to_mm: 0.3 * grown.exp(),
                    uncertainty_mm: 0.3 * 2.0 * 2f64.sqrt() * deviation,
                    aim_mm: Some(0.3 * aim.exp()),
                    burred: Some(self.burr(dice) > 0),
                }
            })
            .collect();
        Hand::learnt(&logged)
    }

    /// Makes holes until one is left as it is: what it loses and what the work was worth, in jnd.
    pub(crate) fn cost(
        &self,
        advice: &Advice,
        bench: &Bench,
        deviation: f64,
        dice: &mut Dice,
    ) -> f64 {
        let mut x = (0.5 + 0.2 * dice.share()).ln();
        let (mut burr, mut cost) = (0, 0.0);
        // Beyond this many pieces of work nobody would go on.
        for _ in 0..200 {
            let measured = x + deviation * dice.normal();
            match act(advice, bench, measured, burr, deviation) {
                Best::Stop => break,
                Best::Aim(aim) => {
                    cost += PASS_JND;
                    x += self.growth(aim, dice);
                    burr = burr.max(self.burr(dice));
                }
                Best::Deburr => {
                    cost += DEBURRING_JND;
                    x += DEBURRING_GROWTH[(3.0 * dice.share()) as usize];
                    burr = 0;
                }
                Best::StartOver => {
                    // The doubt of a count reaches below: counted once more, and the mean taken.
                    let again = x + deviation * dice.normal();
                    let program = matches!(advice, Advice::Program(_)) && deviation > 0.01;
                    if program && bench.loss(measured - 2.0 * deviation) <= TOO_WIDE_JND {
                        cost += PASS_JND / 2.0;
                        let mean = (measured + again) / 2.0;
                        if !matches!(act(advice, bench, mean, burr, deviation), Best::StartOver) {
                            break;
                        }
                    }
                    cost += NEW_HOLE_JND;
                    x = (0.5 + 0.2 * dice.share()).ln();
                    burr = self.burr(dice);
                }
            }
        }
        let burred = if burr == 0 { 0.0 } else { BURR_JND[burr - 1] };
        cost + bench.loss(x) + burred
    }
}

fn act(advice: &Advice, bench: &Bench, x: f64, burr: usize, deviation: f64) -> Best {
    let burred = if burr == 0 { 0.0 } else { BURR_JND[burr - 1] };
    let after = DEBURRING_GROWTH.iter().map(|growth| bench.loss(x + growth)).sum::<f64>() / 3.0;
    let smooth = bench.loss(x);
    let _ = deviation;
    let standing = Standing {
        now: smooth + burred,
        smooth,
        removal: (burr > 0).then_some((Removal::Deburring, after)),
        ..Standing::of_disc(smooth, x < -0.005)
    };
    let small_done = |done: bool| {
        if !done {
            Best::Aim(0.05)
        } else if burr > 0 && smooth + burred - after >= REWORK_GAIN_JND {
            Best::Deburr
        } else if x > 0.0 && smooth > TOO_WIDE_JND {
            Best::StartOver
        } else {
            Best::Stop
        }
    };
    match advice {
        Advice::Program(hand) => match standing.action() {
            Action::Enlarge => Best::Aim((hand.aim_share * -x).max(0.02)),
            Action::Deburr => Best::Deburr,
            Action::StartOver => Best::StartOver,
            _ => Best::Stop,
        },
        Advice::Best(plan) => plan.best_on_disc(x, burr),
        Advice::Until(share) => small_done(x >= share.ln()),
        Advice::Former => small_done(!bench.former_goes_on(x)),
    }
}

/// The mean cost of a hole over makers of a kind, of whom the program has so many logged passes (none: the program
/// knows nothing; the other advices do not ask).
pub(crate) fn mean_cost(
    bench: &Bench,
    kind: &Kind,
    deviation: f64,
    advice: impl Fn(&Maker, &mut Dice) -> Advice<'static> + Sync,
    makers: u64,
    holes: u64,
) -> f64 {
    use rayon::prelude::*;
    let sum: f64 = (0..makers)
        .into_par_iter()
        .map(|seed| {
            let mut dice = Dice::new(seed + 1);
            let maker = Maker::of(*kind, &mut dice);
            let advice = advice(&maker, &mut dice);
            (0..holes).map(|_| maker.cost(&advice, bench, deviation, &mut dice)).sum::<f64>()
        })
        .sum();
    sum / (makers * holes) as f64
}

/// The mean cost with the dynamic program that knows the kind's hand.
pub(crate) fn best_cost(bench: &Bench, kind: &Kind, deviation: f64, makers: u64) -> f64 {
    use rayon::prelude::*;
    let plan = bench.plan(kind, deviation);
    let sum: f64 = (0..makers)
        .into_par_iter()
        .map(|seed| {
            let mut dice = Dice::new(seed + 1);
            let maker = Maker::of(*kind, &mut dice);
            maker.cost(&Advice::Best(&plan), bench, deviation, &mut dice)
        })
        .sum();
    sum / makers as f64
}

/// What each advice costs: the best that can be done, the program after six logged passes, without a log, widening to
/// 0.9, to 0.98, and the former rule.
pub(crate) fn row(bench: &Bench, kind: &Kind, deviation: f64, makers: u64) -> [f64; 6] {
    let program = |passes: usize, makers: u64, holes: u64| {
        let advice = move |maker: &Maker, dice: &mut Dice| {
            Advice::Program(match passes {
                0 => Hand::known(0.0, 0.696, 0.04, 0.15),
                passes => maker.logged(passes, deviation, dice),
            })
        };
        mean_cost(bench, kind, deviation, advice, makers, holes)
    };
    let plain =
        |of: fn() -> Advice<'static>| mean_cost(bench, kind, deviation, |_, _| of(), makers, 1);
    let few = (makers / 40).max(50);
    [
        best_cost(bench, kind, deviation, makers),
        program(6, few, makers / few),
        program(0, makers, 1),
        plain(|| Advice::Until(0.9)),
        plain(|| Advice::Until(0.98)),
        plain(|| Advice::Former),
    ]
}
