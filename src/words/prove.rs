//! `prove` in words: what a picture of the chart proves, cause by cause.

use super::{Column, Row, Table, terminal};
use crate::proof::{Cause, Finding, Fit};
use crate::quantity::{Quantity, significant, write_length_within};
use crate::task::prove::{Answer, PlaceAnswer};

/// Names of the nine places as one sees them in the picture the right way round: the image on film is upside down.
pub(super) const PLACES: [&str; 9] = [
    "bottom right",
    "bottom",
    "bottom left",
    "right",
    "middle",
    "left",
    "top right",
    "top",
    "top left",
];
/// Odds at which a place alone is said to be softer.
const SURE: f64 = 0.95;

/// Returns the answer in sentences: what matters most first.
pub fn rows(answer: &Answer) -> Vec<Row> {
    let mut rows = vec![Row::new("Sharpness", sharpness(answer))];
    for finding in &answer.findings {
        rows.extend(said(finding, answer));
    }
    rows.extend(somewhere(answer));
    rows.push(Row::new("Scale", scale(answer)));
    rows.extend(distance(answer));
    rows.extend(scanner(answer));
    rows.push(Row::new("Picture", picture(answer)));
    rows.push(Row::new("Tones", tones(answer)));
    rows
}

/// Returns the contrast at each place, measured and predicted.
pub fn table(answer: &Answer) -> Table {
    let row = |(place, name): (&PlaceAnswer, &str)| {
        let found = place.mtf50_lp_per_mm.map_or("not measured".into(), |f| {
            format!("{f:.2} ± {:.2}", place.mtf50_uncertainty_lp_per_mm)
        });
        let predicted = place.predicted_mtf50_lp_per_mm.map_or("—".into(), |f| format!("{f:.2}"));
        let cause = place.cause.filter(|fit| fit.odds > SURE).map_or("", |fit| short(fit.cause));
        vec![name.into(), found, predicted, cause.into()]
    };
    // In the order in which one reads the picture.
    let rows = answer.places.iter().zip(PLACES).rev().map(row).collect();
    Table {
        columns: vec![
            Column::words("Place"),
            Column::words("MTF50, lp/mm"),
            Column::numbers("Hole allows"),
            Column::words("As if"),
        ],
        rows,
    }
}

/// Lays the whole answer out for a terminal.
pub fn text(answer: &Answer) -> String {
    format!("{}\n{}", terminal::rows(&rows(answer)), terminal::table(&table(answer)))
}

/// Returns the contrasts as CSV: a line for each place, direction and frequency.
pub fn csv(answer: &Answer) -> String {
    let mut text = String::from(
        "place,x_mm,y_mm,direction_deg,frequency_lp_per_mm,measured,uncertainty,predicted\n",
    );
    for (place, name) in answer.places.iter().zip(PLACES) {
        for one in &place.directions {
            let values = one.measured.iter().zip(&one.uncertainty).zip(&one.predicted);
            for (f, ((measured, uncertainty), predicted)) in
                answer.frequency_lp_per_mm.iter().zip(values)
            {
                let [x, y] = place.at_mm;
                text += &format!(
                    "{name},{x:.3},{y:.3},{:.0},{f:.4},{measured:.5},{uncertainty:.5},{predicted:.5}\n",
                    one.direction_deg
                );
            }
        }
    }
    text
}

/// Says in a few words whether the picture is as sharp as it can be.
pub fn heading(answer: &Answer) -> &'static str {
    if answer.findings.contains(&Finding::AsSharp) {
        "As sharp as this hole allows."
    } else {
        "Not what this hole allows."
    }
}

/// Describes what the picture was held against.
pub fn setting(answer: &Answer) -> String {
    format!(
        "A hole of {}, the chart {} away; a pixel of the scan is {} on the film.",
        length(answer.diameter_mm),
        length(answer.distance_mm),
        length(answer.mm_per_px)
    )
}

/// Says how each thing was found.
pub const METHODS: [&str; 5] = [
    "Contrast: the slanted edge of ISO 12233 (steps from memory) on the sides of nine octagons, along four directions; \
     uncertainties (95 %) by what the slices of an edge disagree.",
    "What the hole allows: the OTF of the hole at each place by Fresnel's diffraction integral, through the same window \
     as the measured edge.",
    "Tones: pixel values are turned back to light by the chart's grey steps.",
    "Causes: movement, blur and another size of the hole are fitted to all contrasts, and weighed by the Bayesian information \
     criterion (G. Schwarz 1978, from memory).",
    "Where the film lay: from where the nine octagons fell, by straight lines through the hole.",
];

fn length(mm: f64) -> String {
    Quantity::Length.write(mm)
}

pub(super) fn sharpness(answer: &Answer) -> String {
    let as_sharp = answer.findings.contains(&Finding::AsSharp);
    let middle = answer.places.get(4).and_then(|place| {
        let (found, allowed) = (place.mtf50_lp_per_mm?, place.predicted_mtf50_lp_per_mm?);
        Some(format!(
            "in the middle MTF50 is {found:.2} ± {:.2} of {allowed:.2} line pairs per mm",
            place.mtf50_uncertainty_lp_per_mm
        ))
    });
    let middle = middle.map_or(String::new(), |middle| format!(": {middle}"));
    if as_sharp {
        format!("The picture is as sharp as this hole allows{middle}.")
    } else {
        format!("The picture is not what this hole allows{middle}.")
    }
}

fn said(finding: &Finding, answer: &Answer) -> Option<Row> {
    Some(match finding {
        Finding::AsSharp => return None,
        Finding::Blurred { fit, or, loss_jnd } => {
            let cause = format!(
                "{} It costs {} in the middle of the print. Odds {}.",
                cause(fit.cause),
                cost(*loss_jnd),
                odds(*fit)
            );
            let sentence = match or {
                Some(or) => format!(
                    "{cause} It cannot be told from this: {} Odds {}.",
                    self::cause(or.cause),
                    odds(*or)
                ),
                None => cause,
            };
            Row::new("Cause", sentence)
        }
        Finding::Trace { fit, loss_jnd } => Row::new(
            "Trace",
            format!("{} It costs {}: no eye can tell.", cause(fit.cause), cost(*loss_jnd)),
        ),
        Finding::OtherChart { octagon, drawn_for_mm } => {
            let fits = match drawn_for_mm {
                Some([least, most]) => format!(
                    "a chart of this camera has such octagons if it is drawn for {} to {}. If it was drawn for that \
                     distance and hung there, give that one",
                    length(*least),
                    length(*most)
                ),
                None => {
                    "no chart of this camera has such octagons: it was drawn for another one".into()
                }
            };
            Row::new(
                "Chart",
                format!(
                    "Against their spacing the octagons are {:.1} % {} than on the chart for {}: {fits}.",
                    100.0 * (octagon - 1.0).abs(),
                    if *octagon > 1.0 { "wider" } else { "narrower" },
                    length(answer.distance_mm)
                ),
            )
        }
        Finding::Distance { film_mm, uncertainty_mm, or_chart_mm } => Row::new(
            "Distance",
            format!(
                "The image is {:.1} % {} than it should be: as if the film lay {} ± {} {}, or the chart hung {} {}. The picture \
                 alone cannot tell which.",
                100.0 * (answer.size - 1.0).abs(),
                if answer.size > 1.0 { "larger" } else { "smaller" },
                length(film_mm.abs()),
                length(*uncertainty_mm),
                if *film_mm > 0.0 { "further from the hole" } else { "nearer to the hole" },
                length(or_chart_mm.abs()),
                if *or_chart_mm > 0.0 { "nearer" } else { "further away" }
            ),
        ),
        Finding::Tilted { film_mm: [x, y], .. } => Row::new(
            "Leaning",
            format!(
                "The film leans against the chart: {}. Either may be the one that does not hang straight.",
                [(*x, "its right side is"), (*y, "its top is")]
                    .iter()
                    .filter(|(mm, _)| *mm != 0.0)
                    .map(|(mm, side)| {
                        let sense =
                            if *mm > 0.0 { "further from the hole" } else { "nearer to the hole" };
                        format!("{side} {} {sense} than its middle", length(mm.abs()))
                    })
                    .collect::<Vec<_>>()
                    .join(", ")
            ),
        ),
        Finding::Bowed { film_mm: [x, y], .. } => Row::new(
            "Flatness",
            format!(
                "The film did not lie as the camera file says: {}.",
                [(*x, "left and right"), (*y, "top and bottom")]
                    .iter()
                    .filter(|(mm, _)| *mm != 0.0)
                    .map(|(mm, sides)| {
                        let sense =
                            if *mm > 0.0 { "further from the hole" } else { "nearer to the hole" };
                        format!(
                            "its outer octagons at {sides} lay {} {sense} than the middle",
                            length(mm.abs())
                        )
                    })
                    .collect::<Vec<_>>()
                    .join(", ")
            ),
        ),
        Finding::Fogged { share, uncertainty } => Row::new(
            "Fog",
            format!(
                "Light of {:.0} ± {:.0} % of the paper's white fell on everything: contrast is lost at all frequencies. Look \
                 for a leak or a glare inside the camera; a film's toe or a chart printed too pale looks the same.",
                100.0 * share,
                100.0 * uncertainty
            ),
        ),
        Finding::Sharpened { overshoot } => Row::new(
            "Sharpened",
            format!(
                "Edges swing {:.0} % beyond their levels: software sharpened this picture, so its contrast is not the film's. \
                 Scan again without sharpening.",
                100.0 * overshoot
            ),
        ),
    })
}

/// A loss in jnd, or a gain of a hole that is better than the one given.
fn cost(loss_jnd: f64) -> String {
    match loss_jnd {
        loss if loss.abs() < 0.005 => "less than 0.01 jnd".into(),
        loss if loss < 0.0 => format!("nothing, and gains {:.2} jnd", -loss),
        loss => format!("{loss:.2} jnd"),
    }
}

/// The picture's own scale against that of camera and distance.
pub(super) fn scale(answer: &Answer) -> String {
    let one = answer.enlargement;
    let decimals = (3.0 + one.expected.log10().ceil()).clamp(0.0, 9.0) as usize;
    let to = |enlargement: f64| format!("{:.decimals$}", 1.0 / enlargement);
    let doubt = significant(one.uncertainty / one.measured.powi(2), 2);
    format!(
        "The picture shows the chart at 1 : {} ± {doubt}; camera and distance say 1 : {}.",
        to(one.measured),
        to(one.expected)
    )
}

/// What the picture says of the distance that was stated, where it says nothing of its own.
fn distance(answer: &Answer) -> Option<Row> {
    if answer.drawn.is_some_and(|drawn| drawn.is_tested) {
        return None;
    }
    let allowed = answer.places.get(4).and_then(|place| place.predicted_mtf50_lp_per_mm);
    let matters = allowed.zip(answer.predicted_mtf50_if_nearer_lp_per_mm).map(|(here, nearer)| {
        format!(" If it were a fifth nearer, the hole would allow {nearer:.2} instead of {here:.2} line pairs per mm.")
    });
    Some(Row::new(
        "Not tested",
        format!(
            "That the chart was drawn for {} and hung there is taken as stated: a chart of another distance, hung there, looks \
             the same on this film.{}",
            length(answer.distance_mm),
            matters.unwrap_or_default()
        ),
    ))
}

/// What of the scanner's blur is undone.
fn scanner(answer: &Answer) -> Option<Row> {
    let scanner = &answer.scanner;
    let size = length(scanner.blur.sigma_mm);
    let sentence = match scanner.places {
        0 if scanner.blur.sigma_mm == 0.0 => return None,
        0 => format!("Its blur, stated as a standard deviation of {size}, is undone."),
        places => format!(
            "Its blur is undone: a standard deviation of {} by {places} {} along the scanned edge.",
            write_length_within(scanner.blur.sigma_mm, scanner.blur.uncertainty_mm),
            if places == 1 { "place" } else { "places" }
        ),
    };
    Some(Row::new("Scanner", sentence))
}

fn cause(cause: Cause) -> String {
    match cause {
        Cause::None => "Nothing beyond what the hole does.".into(),
        Cause::Moved { length_mm, length_uncertainty_mm, direction_deg } => format!(
            "It is as if the image had moved by {} ± {} on the film, at {direction_deg:.0}° from its width ({}).",
            length(length_mm),
            length(length_uncertainty_mm),
            along(direction_deg)
        ),
        Cause::Softened { sigma_mm, sigma_uncertainty_mm } => format!(
            "It is blurred alike in all directions, by a standard deviation of {} ± {}: the scanner, the emulsion, or the print \
             of the chart.",
            length(sigma_mm),
            length(sigma_uncertainty_mm)
        ),
        Cause::Resized { factor, factor_uncertainty } => format!(
            "It is as if the hole were {:.0} ± {:.0} % {} than it was measured.",
            100.0 * (factor - 1.0).abs(),
            100.0 * factor_uncertainty,
            if factor > 1.0 { "larger" } else { "smaller" }
        ),
    }
}

fn along(direction_deg: f64) -> &'static str {
    match direction_deg {
        d if !(22.5..157.5).contains(&d) => "sideways",
        d if (67.5..112.5).contains(&d) => "up and down",
        _ => "on a slant",
    }
}

fn odds(fit: Fit) -> String {
    if fit.odds > 0.99 { "above 99 %".into() } else { format!("{:.0} %", 100.0 * fit.odds) }
}

fn short(cause: Cause) -> &'static str {
    match cause {
        Cause::None => "",
        Cause::Moved { direction_deg, .. } => match along(direction_deg) {
            "sideways" => "moved sideways",
            "up and down" => "moved up and down",
            _ => "moved on a slant",
        },
        Cause::Softened { .. } => "blurred alike",
        Cause::Resized { factor, .. } if factor > 1.0 => "hole larger",
        Cause::Resized { .. } => "hole smaller",
    }
}

/// Places that are softer for a cause which is not that of the whole picture.
fn somewhere(answer: &Answer) -> Option<Row> {
    let whole = answer.cause().map_or("", short);
    let differs = |place: &&(&PlaceAnswer, &str)| {
        place.0.cause.is_some_and(|fit| {
            fit.odds > SURE && !short(fit.cause).is_empty() && short(fit.cause) != whole
        })
    };
    let places: Vec<_> = answer.places.iter().zip(PLACES).collect();
    let named: Vec<String> = places
        .iter()
        .filter(differs)
        .map(|(place, name)| format!("{name}, {}", place.cause.map_or("", |fit| short(fit.cause))))
        .collect();
    (!named.is_empty()).then(|| {
        Row::new("In places", format!("Softer there than elsewhere, as if: {}.", named.join("; ")))
    })
}

fn picture(answer: &Answer) -> String {
    format!(
        "{}{}, turned by {:.0}°.",
        if answer.negative { "Negative" } else { "Positive" },
        if answer.mirrored { ", left and right changed" } else { "" },
        answer.turned_deg
    )
}

fn tones(answer: &Answer) -> String {
    let curve = if answer.tone.fog.is_some() {
        "The grey steps follow one power of the light"
    } else {
        "The grey steps follow no power of the light (a toe, or a shoulder), so fog cannot be told"
    };
    let clipped = match answer.tone.clipped {
        [false, false] => "",
        [true, false] => "; the two darkest cannot be told apart",
        [false, true] => "; the two lightest cannot be told apart",
        [true, true] => "; neither the darkest nor the lightest two can be told apart",
    };
    format!("{curve}{clipped}.")
}
