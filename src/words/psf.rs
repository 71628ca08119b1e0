//! `psf` in words: the light of a point, how small and how contrasty.

use super::{Row, terminal};
use crate::quantity::Quantity;
use crate::task::psf::{Answer, Circle, MOST_ENERGY};
use crate::task::psf_stack;

/// Returns the f-number, circles that hold the light, contrast, the grid, and notes.
pub fn rows(answer: &Answer) -> Vec<Row> {
    let circle = |circle: &Circle| {
        format!(
            "{:.0} % within a circle of {}",
            100.0 * circle.fraction,
            Quantity::Length.write(circle.diameter_um / 1000.0)
        )
    };
    let circles: Vec<String> = answer.encircled_energy.iter().map(circle).collect();
    let mut rows = vec![
        Row::new("f-number", format!("f/{:.0}", answer.f_number)),
        Row::new("Light", circles.join(", ")),
        Row::new(
            "Contrast",
            format!(
                "falls to one half at {:.2} line pairs per mm on the film",
                answer.mtf50_lp_per_mm
            ),
        ),
        Row::new(
            "Grid",
            format!(
                "{} × {} samples, {} apart{}",
                answer.shape[0],
                answer.shape[1],
                Quantity::Length.write(answer.pitch_um / 1000.0),
                held(answer.energy_fraction_on_grid)
            ),
        ),
    ];
    rows.extend(answer.warnings.iter().map(|warning| Row::new("Note", warning.as_str())));
    rows
}

fn held(energy: f64) -> String {
    match energy {
        beyond if beyond > MOST_ENERGY => String::new(),
        held => format!("; they hold {:.1} % of the light", 100.0 * held),
    }
}

/// Lays the whole answer out for a terminal.
pub fn text(answer: &Answer) -> String {
    terminal::rows(&rows(answer))
}

/// Says what a stack holds and where it is.
pub fn stack(answer: &psf_stack::Answer, file: &str) -> String {
    let [members, rows, columns] = answer.shape;
    let ends = |all: &[f64]| Some((*all.first()?, *all.last()?));
    let range = match answer.film_distances_mm.len() {
        1 => ends(&answer.wavelengths_nm)
            .map(|(low, high)| format!("wavelengths from {low:.0} nm to {high:.0} nm")),
        _ => ends(&answer.film_distances_mm).map(|(low, high)| {
            let length = |mm| Quantity::Length.write(mm);
            format!("film distances from {} to {}", length(low), length(high))
        }),
    };
    let all = [
        Row::new(
            "Stack",
            format!("{members} × {rows} × {columns} samples: {}", range.unwrap_or_default()),
        ),
        Row::new("Computed", format!("{} patterns serve for all of them", answer.patterns)),
        Row::new("Holds", "diffraction alone, in the middle of the film: no movement, no emulsion"),
        Row::new("Written", file),
    ];
    terminal::rows(&all)
}
