//! The size rule and the steps: where a hole lies among sizes, and what an eye loses there.
//!
//! Both are SVG without a viewBox, with places in per cent: letters keep their size at any width, and no style
//! attribute asks for a weaker policy. The page moves the lines of class `this`; all else stays.

use crate::quantity::significant;
use crate::verdict::target::Target;
use crate::words;
use maud::{Markup, html};

/// The largest loss that the steps show, in jnd.
const MOST_JND: f64 = 14.0;

/// A hole on the rule.
#[derive(Clone, Copy)]
pub(super) struct Mark {
    pub(super) diameter_mm: f64,
    pub(super) uncertainty_mm: f64,
}

/// The rule's ends, in mm: half to twice the best, and wide enough for the hole.
pub(super) fn span(best_mm: f64, mark: Option<Mark>) -> [f64; 2] {
    let [low, high] = [best_mm / 2.0, best_mm * 2.0];
    let Some(Mark { diameter_mm, .. }) = mark else { return [low, high] };
    // Beyond four times an arrow at the end says where it is.
    [low.min(diameter_mm / 1.1).max(best_mm / 4.0), high.max(diameter_mm * 1.1).min(best_mm * 4.0)]
}

/// Ticks in mm, and how many of them a narrow rule shows.
const TICKS: [f64; 26] = [
    0.03, 0.04, 0.05, 0.06, 0.07, 0.08, 0.1, 0.12, 0.15, 0.2, 0.25, 0.3, 0.35, 0.4, 0.5, 0.6, 0.7,
    0.8, 1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0,
];
const RARE: [f64; 9] = [0.25, 0.35, 0.12, 0.07, 0.7, 0.04, 0.06, 2.5, 1.2];
/// Counts under the loupe, as they are said.
const COUNTS: [(f64, &str); 14] = [
    (0.5, "½"),
    (1.0, "1"),
    (1.5, "1½"),
    (2.0, "2"),
    (2.5, "2½"),
    (3.0, "3"),
    (3.5, "3½"),
    (4.0, "4"),
    (4.5, "4½"),
    (5.0, "5"),
    (6.0, "6"),
    (7.0, "7"),
    (8.0, "8"),
    (10.0, "10"),
];

/// What the rule shows.
pub(super) struct Rule {
    pub(super) best_mm: f64,
    /// Where the loss passes 1, 3 and 10 jnd, as far as they are known, in mm.
    pub(super) limits_mm: Vec<[f64; 2]>,
    /// Its ends, in mm.
    pub(super) ends_mm: [f64; 2],
    pub(super) mark: Option<Mark>,
}

impl Rule {
    pub(super) fn of(target: &Target, mark: Option<Mark>) -> Rule {
        Rule {
            best_mm: target.diameter_mm,
            limits_mm: target.band.iter().map(|band| [band.low_mm, band.high_mm]).collect(),
            ends_mm: span(target.diameter_mm, mark),
            mark,
        }
    }
}

/// The widest part of a band that no line crosses, in mm.
fn free(
    [from, to]: [f64; 2],
    best: f64,
    mark: Option<Mark>,
    place: &impl Fn(f64) -> f64,
) -> [f64; 2] {
    let mut ends = vec![from, best, to];
    ends.extend(mark.map(|mark| mark.diameter_mm).filter(|mm| (from..to).contains(mm)));
    ends.sort_by(f64::total_cmp);
    let wide = |pair: &[f64; 2]| place(pair[1]) - place(pair[0]);
    let pairs = ends.windows(2).map(|pair| [pair[0], pair[1]]);
    pairs.max_by(|a, b| wide(a).total_cmp(&wide(b))).unwrap_or([from, to])
}

/// Draws the rule; with a handle this hole's line can be moved.
pub(super) fn rule(shows: &Rule, handle: bool) -> Markup {
    let Rule { best_mm: best, limits_mm: limits, ends_mm: [low, high], mark } = shows;
    let (best, low, high, mark) = (*best, *low, *high, *mark);
    let place = |mm: f64| 100.0 * (mm / low).ln() / (high / low).ln();
    let at = |mm: f64| format!("{:.2}%", place(mm).clamp(0.0, 100.0));
    let wide = |from: f64, to: f64| {
        format!("{:.2}%", (place(to).clamp(0.0, 100.0) - place(from).clamp(0.0, 100.0)).max(0.0))
    };
    // From each limit outwards the hatching of the next step begins.
    let outer = |i: usize| limits.get(i + 1).copied().unwrap_or([low / 2.0, high * 2.0]);
    let shown = mark.map_or(best, |mark| mark.diameter_mm);
    let words = match mark {
        Some(mark) => format!(
            "This hole, {} mm, among sizes; the best is {} mm.",
            significant(mark.diameter_mm, 3),
            significant(best, 3)
        ),
        None => format!("The best size is {} mm.", significant(best, 3)),
    };
    // A label goes to the left of its line near the right end, and where the best's would cover it.
    let left = |mm: f64| {
        let is_covered = mark
            .is_some_and(|m| m.diameter_mm < best && (mm - m.diameter_mm).abs() < 1e-12)
            && place(best) - place(mm) < 35.0;
        place(mm) > 80.0 || (is_covered && place(mm) > 30.0)
    };
    let empty = limits.first().map(|[a, b]| free([a.max(low), b.min(high)], best, mark, &place));
    html! {
        div.rule data-low=(low) data-high=(high) data-best=(best) {
            svg role=[(!handle).then_some("img")] aria-label=[(!handle).then_some(&words)] aria-hidden=[handle.then_some("true")] {
                defs {
                    @for (i, step) in [10, 6, 4].iter().enumerate() {
                        pattern id=(format!("step{i}")) width=(step) height=(step) patternUnits="userSpaceOnUse" patternTransform="rotate(30)" {
                            line class="h" x1="0" x2="0" y1="0" y2=(step) stroke-width="2" {}
                        }
                    }
                }
                rect.frame x="0" y="28" width="100%" height="24" {}
                @for (i, [from, to]) in limits.iter().enumerate().take(3) {
                    rect x=(at(outer(i)[0])) y="28" width=(wide(outer(i)[0], *from)) height="24" fill=(format!("url(#step{i})")) {}
                    rect x=(at(*to)) y="28" width=(wide(*to, outer(i)[1])) height="24" fill=(format!("url(#step{i})")) {}
                }
                @if let Some([from, to]) = empty && place(to) - place(from) > 8.0 {
                    text class="rare" x=(at((from * to).sqrt())) y="45" text-anchor="middle" { "no eye can tell" }
                }
                @for tick in TICKS.iter().filter(|mm| (low..=high).contains(*mm) && place(**mm) < 94.0) {
                    g class=[RARE.contains(tick).then_some("rare")] {
                        line.tick x1=(at(*tick)) x2=(at(*tick)) y1="52" y2="62" {}
                        text x=(at(*tick)) y="78" text-anchor="middle" { (significant(*tick, 2)) }
                    }
                }
                @for (count, name) in COUNTS.iter().filter(|(count, _)| (low..=high).contains(&(1.0 / count)) && place(1.0 / count) < 93.0) {
                    text class=[(count.fract() != 0.0).then_some("rare")] x=(at(1.0 / count)) y="100" text-anchor="middle" { (name) }
                }
                text x="100%" y="78" text-anchor="end" { "mm" }
                text x="100%" y="100" text-anchor="end" { "per mm" }
                line.best x1=(at(best)) x2=(at(best)) y1="4" y2="60" {}
                text.best x=(at(best)) y="16" dx=(if left(best) { -8 } else { 8 }) text-anchor=(if left(best) { "end" } else { "start" }) {
                    tspan { "best" } " " (significant(best, 3))
                }
                @if let Some(mark) = mark {
                    @if mark.uncertainty_mm > 0.0 {
                        rect.doubt x=(at(mark.diameter_mm - mark.uncertainty_mm)) y="22" height="36"
                            width=(wide(mark.diameter_mm - mark.uncertainty_mm, mark.diameter_mm + mark.uncertainty_mm)) {}
                    }
                    line.this x1=(at(shown)) x2=(at(shown)) y1="2" y2="62" {}
                    text.this x=(at(shown)) y="16" dx=(if left(shown) { -8 } else { 8 }) text-anchor=(if left(shown) { "end" } else { "start" }) {
                        tspan { "this hole" } " " (significant(mark.diameter_mm, 3))
                    }
                }
            }
            @if handle {
                input type="range" id="handle" min="0" max="1000" step="1" value=(format!("{:.0}", 10.0 * place(shown)))
                    aria-label="Diameter" aria-valuetext=(format!("{} mm", significant(shown, 3)));
            }
        }
    }
}

/// A loss on its scale, square-rooted so that small steps are seen.
pub(super) fn steps(jnd: f64, doubt: f64) -> Markup {
    let at = |jnd: f64| 100.0 * (jnd.clamp(0.0, MOST_JND) / MOST_JND).sqrt();
    let percent = |value: f64| format!("{value:.2}%");
    let bars = [
        (0.0, 1.0, 2, "0", "no eye can tell"),
        (1.0, 3.0, 8, "1", "side by side"),
        (3.0, 10.0, 18, "3", "plain to see"),
        (10.0, 14.0, 32, "10", "another class"),
    ];
    html! {
        div.steps {
            svg role="img" aria-label=(format!("{jnd:.1} jnd lost: {}.", words::verdict::loss(jnd))) {
                @for (from, to, high, number, words) in bars {
                    rect x=(percent(at(from) + 0.15)) y=(48 - high) width=(percent(at(to) - at(from) - 0.3)) height=(high) {}
                    text.n x=(percent(at(from))) y="66" { (number) }
                    text x=(percent(if to < MOST_JND { (at(from) + at(to)) / 2.0 } else { 100.0 })) y="86"
                        text-anchor=(if to < MOST_JND { "middle" } else { "end" }) { (words) }
                }
                @if doubt > 0.0 {
                    rect.doubt x=(percent(at(jnd - doubt))) y="6" width=(percent(at(jnd + doubt) - at(jnd - doubt))) height="42" {}
                }
                line.this x1=(percent(at(jnd))) x2=(percent(at(jnd))) y1="4" y2="50" {}
            }
        }
    }
}
