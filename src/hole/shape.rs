//! Shapes in words: one small grammar.
//!
//! ```text
//! hole    = shape [ ± SIZE or PERCENT ] [ at ANGLE ] { , burr SIZE deep SIZE wide at ANGLE }
//! shape   = round D | oval W x H | square S | rectangle W x H | slit W x H | ring OUTER / INNER
//!         | triangle S | hexagon S | octagon S | two holes D, DISTANCE apart
//!         | zone plate N zones for DISTANCE [ at WAVELENGTH ] | photon sieve N zones for DISTANCE [ at WAVELENGTH ]
//! ```
//!
//! W runs along x and H along y before the shape is turned anticlockwise by its angle; S is a side, and one side lies at
//! the bottom. Two holes lie beside each other, DISTANCE from middle to middle. The zones of a zone plate are the
//! open ones, the middle included. A burr's width is that at half its depth, as it is measured; its angle is that
//! of its tip, anticlockwise from the right, whatever the shape was turned by.

use super::count::{STATED_WITHIN, no_comma, with_unit_of};
use super::uncertainty::SizeUncertainty;
use crate::error::Error;
use crate::geometry::{Outline, Tongue, shapes, with_tongues};
use crate::quantity::{Quantity, number_of, significant};
use std::f64::consts::PI;

/// The wavelength that a zone plate is made for unless it is said: the green that eyes see best, in nm.
const DESIGN_NM: f64 = 550.0;
/// More zones than these, and the outline has too many points to be computed while one waits.
const MOST_ZONES: usize = 40;
const MOST_SIEVE_ZONES: usize = 12;
/// As many burrs as anybody would type.
const MOST_BURRS: usize = 50;

/// A shape that somebody states in words.
#[derive(Debug, Clone, PartialEq)]
pub struct Shape {
    /// The same in the grammar's own words: read again, they mean the same.
    pub words: String,
    /// Its outline, in mm.
    pub outline: Outline,
    /// How well its size is known.
    pub uncertainty: SizeUncertainty,
    /// Whether it gathers light like a lens (a zone plate, a photon sieve), so that nobody works on it by hand.
    pub is_screen: bool,
}

/// The names of the shapes, what each is, and how it is written.
const NAMES: &[(&str, Kind, &str)] = &[
    ("round", Kind::Round, "round 0.34 mm"),
    ("disc", Kind::Round, "round 0.34 mm"),
    ("oval", Kind::Oval, "oval 0.42 x 0.37 mm"),
    ("ellipse", Kind::Oval, "oval 0.42 x 0.37 mm"),
    ("square", Kind::Square, "square 0.3 mm"),
    ("rectangle", Kind::Rectangle("rectangle"), "rectangle 0.4 x 0.3 mm"),
    ("slit", Kind::Rectangle("slit"), "slit 0.2 x 2 mm"),
    ("ring", Kind::Ring, "ring 0.5 / 0.2 mm"),
    ("triangle", Kind::Polygon("triangle", 3), "triangle 0.4 mm"),
    ("hexagon", Kind::Polygon("hexagon", 6), "hexagon 0.2 mm"),
    ("octagon", Kind::Polygon("octagon", 8), "octagon 0.15 mm"),
    ("two holes", Kind::Pair, "two holes 0.2 mm, 0.5 mm apart"),
    ("zone plate", Kind::ZonePlate, "zone plate 8 zones for 100 mm"),
    ("photon sieve", Kind::PhotonSieve, "photon sieve 6 zones for 100 mm"),
];

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Round,
    Oval,
    Square,
    Rectangle(&'static str),
    Ring,
    Polygon(&'static str, usize),
    Pair,
    ZonePlate,
    PhotonSieve,
}

/// What a shape's words come to before burrs: its own words, its outline, its smallest size in mm.
struct Made {
    words: String,
    outline: Outline,
    smallest_mm: f64,
}

impl Shape {
    /// Reads a shape. None when the words begin with no shape's name, nor with what may be one misspelt.
    ///
    /// # Errors
    /// [`NotUnderstood`](crate::Kind::NotUnderstood) when they do and go on in another way than the grammar, or say a shape that
    /// cannot be.
    pub fn read(words: &str) -> Result<Option<Shape>, Error> {
        let text = words.trim().to_lowercase().replace('×', "x");
        let mut parts = text.split("burr");
        let shape = bare(parts.next().unwrap_or_default());
        let burrs: Vec<&str> = parts.collect();
        let starts_with_size = shape.starts_with(|c: char| c.is_ascii_digit() || c == '.');
        let named = match named(shape) {
            Some(named) => named,
            None if starts_with_size && !burrs.is_empty() => (Kind::Round, "round 0.34 mm", shape),
            None => return misspelt(words, shape),
        };
        refuse_decimal_commas(&text)?;
        read_named(named, &burrs).map(Some).map_err(|why| said_of(words, &why))
    }
}

/// The fault of a part, said of the whole.
fn said_of(words: &str, why: &Error) -> Error {
    Error::words(words, format!("is not a hole: {}", why.wrong()), why.remedy())
}

fn read_named((kind, example, rest): (Kind, &str, &str), burrs: &[&str]) -> Result<Shape, Error> {
    let mut parts = rest.split(" at ");
    let sizes = parts.next().unwrap_or_default();
    let (mut angle_rad, mut wavelength_nm) = (0.0, DESIGN_NM);
    let is_screen = matches!(kind, Kind::ZonePlate | Kind::PhotonSieve);
    for part in parts {
        match Quantity::Wavelength.read_positive(bare(part)) {
            Ok(nm) if is_screen => wavelength_nm = nm,
            _ => angle_rad = Quantity::Angle.read(bare(part))?,
        }
    }
    let (sizes, within) = match ["±", "+/-", "+-"].iter().find_map(|sign| sizes.split_once(sign)) {
        Some((sizes, within)) => (bare(sizes), Some(within.trim())),
        None => (bare(sizes), None),
    };
    if sizes.is_empty() {
        return Err(Error::not_understood("its size is missing", example_of(example)));
    }
    let made = match kind {
        Kind::ZonePlate | Kind::PhotonSieve => screen(kind, sizes, wavelength_nm, example),
        kind => plain(kind, sizes, example),
    }?;
    let relative = within.map_or(Ok(STATED_WITHIN), |within| relative(within, made.smallest_mm))?;
    if burrs.len() > MOST_BURRS {
        return Err(Error::limit(
            format!("it has {} burrs", burrs.len()),
            format!("give {MOST_BURRS} at most, or draw it as an outline (.csv .svg)"),
        ));
    }
    let tongues = burrs.iter().map(|words| burr(words)).collect::<Result<Vec<_>, Error>>()?;
    let turned = made.outline.turned(angle_rad);
    let mut words = made.words;
    if within.is_some() {
        words += &format!(" ± {} %", significant(100.0 * relative, 4));
    }
    if angle_rad != 0.0 {
        words += &format!(" at {} deg", degrees(angle_rad));
    }
    for Tongue { angle_rad, depth_mm, width_mm } in &tongues {
        words += &format!(
            ", burr {} deep, {} wide at {} deg",
            length(*depth_mm),
            length(*width_mm),
            degrees(*angle_rad)
        );
    }
    Ok(Shape {
        words,
        outline: if tongues.is_empty() { turned } else { with_tongues(&turned, &tongues)? },
        uncertainty: SizeUncertainty { relative, ..SizeUncertainty::default() },
        is_screen,
    })
}

/// A shape by its sizes.
fn plain(kind: Kind, sizes: &str, example: &str) -> Result<Made, Error> {
    let one = || Quantity::Length.read_positive(sizes);
    let two = |signs: &[&str]| two_lengths(sizes, signs, example);
    let (words, outline, smallest_mm) = match kind {
        Kind::Round => (format!("round {}", length(one()?)), shapes::disc(one()?)?, one()?),
        Kind::Oval => {
            let [w, h] = two(&["x", " by "])?;
            (format!("oval {}", by(w, h)), shapes::ellipse(w, h)?, w.min(h))
        }
        Kind::Square => {
            (format!("square {}", length(one()?)), shapes::rectangle(one()?, one()?)?, one()?)
        }
        Kind::Rectangle(name) => {
            let [w, h] = two(&["x", " by "])?;
            (format!("{name} {}", by(w, h)), shapes::rectangle(w, h)?, w.min(h))
        }
        Kind::Ring => {
            let [outer, inner] = two(&[" / ", "/"])?;
            let words = format!("ring {} / {}", length(outer), length(inner));
            (words, shapes::annulus(outer, inner)?, (outer - inner) / 2.0)
        }
        Kind::Polygon(name, sides) => {
            let (side, half_sector) = (one()?, PI / sides as f64);
            // A corner on the right, turned until a side lies at the bottom.
            let outline = shapes::regular_polygon(sides, side / half_sector.sin())?
                .turned(half_sector - PI / 2.0);
            (format!("{name} {}", length(side)), outline, side)
        }
        Kind::Pair | Kind::ZonePlate | Kind::PhotonSieve => {
            let sizes = sizes.strip_suffix("apart").ok_or_else(|| unlike(sizes, example))?;
            let [diameter, apart] = two_lengths(sizes.trim(), &[","], example)?;
            let words = format!("two holes {}, {} apart", length(diameter), length(apart));
            (words, shapes::pair(diameter, apart)?, diameter)
        }
    };
    Ok(Made { words, outline, smallest_mm })
}

/// A zone plate or a photon sieve: "8 zones for 100 mm".
fn screen(kind: Kind, sizes: &str, wavelength_nm: f64, example: &str) -> Result<Made, Error> {
    let (count, focus) = sizes.split_once(" for ").ok_or_else(|| unlike(sizes, example))?;
    let count = ["open zones", "open zone", "zones", "zone"]
        .iter()
        .find_map(|noun| count.trim().strip_suffix(noun))
        .ok_or_else(|| unlike(sizes, example))?;
    let zones: usize = count.trim().parse().map_err(|_| unlike(sizes, example))?;
    let focus_mm = Quantity::Length.read_positive(focus)?;
    let most = if kind == Kind::ZonePlate { MOST_ZONES } else { MOST_SIEVE_ZONES };
    if zones == 0 || zones > most {
        return Err(Error::not_understood(
            format!("it has {zones} zones"),
            format!("give 1 to {most} open zones"),
        ));
    }
    let wavelength_mm = wavelength_nm * crate::wave::MM_PER_NM;
    let first_zone_mm = (wavelength_mm * focus_mm).sqrt();
    // The outermost open zone is the (2 zones - 1)th of all.
    let radius_mm = |zone: usize| first_zone_mm * (zone as f64).sqrt();
    let finest_mm = radius_mm(2 * zones - 1) - radius_mm(2 * zones - 2);
    if finest_mm < wavelength_mm {
        return Err(Error::not_understood(
            format!(
                "its outermost zone is {} wide, narrower than the wavelength",
                Quantity::Length.write(finest_mm)
            ),
            "give fewer zones or a longer distance: so fine a ring is not computed here",
        ));
    }
    // r_n = r_1 √n is where paths differ by nλ/2 but for r⁴/(8 f³); a quarter of a wave is Rayleigh's limit.
    let astray_mm = radius_mm(2 * zones - 1).powi(4) / (8.0 * focus_mm.powi(3));
    if astray_mm > wavelength_mm / 4.0 {
        return Err(Error::not_understood(
            "it is so wide for its distance that zones of equal area do not gather light at one place",
            "give fewer zones or a longer distance",
        ));
    }
    let (name, outline) = match kind {
        Kind::PhotonSieve => ("photon sieve", shapes::photon_sieve(first_zone_mm, zones)?),
        _ => ("zone plate", shapes::zone_plate(first_zone_mm, zones)?),
    };
    let words = format!(
        "{name} {zones} zones for {} at {} nm",
        length(focus_mm),
        significant(wavelength_nm, 6)
    );
    Ok(Made { words, outline, smallest_mm: finest_mm })
}

/// A burr without its first word: "0.05 mm deep, 0.02 mm wide at 40 deg".
fn burr(words: &str) -> Result<Tongue, Error> {
    const EXAMPLE: &str = "burr 0.05 mm deep, 0.02 mm wide at 40 deg";
    let wrong = || Error::words(&format!("burr{words}"), "is not a burr", example_of(EXAMPLE));
    let (sizes, angle) = bare(words).split_once(" at ").ok_or_else(wrong)?;
    let (mut depth_mm, mut width_mm) = (None, None);
    let mut rest = sizes;
    while !bare(rest).is_empty() {
        let ends = ["deep", "wide"].into_iter().filter_map(|word| Some((rest.find(word)?, word)));
        let (end, word) = ends.min().ok_or_else(wrong)?;
        let size = Some(Quantity::Length.read_positive(bare(&rest[..end]))?);
        let of = if word == "deep" { &mut depth_mm } else { &mut width_mm };
        if of.is_some() {
            return Err(wrong());
        }
        *of = size;
        rest = &rest[end + word.len()..];
    }
    Ok(Tongue {
        angle_rad: Quantity::Angle.read(bare(angle))?,
        depth_mm: depth_mm.ok_or_else(wrong)?,
        width_mm: width_mm.ok_or_else(wrong)?,
    })
}

/// How well a size is known, from "0.01 mm" or "3 %": of the smallest size, which it concerns most.
fn relative(within: &str, smallest_mm: f64) -> Result<f64, Error> {
    let relative = match within.strip_suffix('%') {
        Some(percent) => number_of(percent.trim()).unwrap_or(f64::NAN) / 100.0,
        None => Quantity::Length.read_positive(within)? / smallest_mm,
    };
    if (0.0..1.0).contains(&relative) {
        return Ok(relative);
    }
    Err(Error::not_understood(
        "its uncertainty is not below its size",
        "write how far it may be off, as in \"± 0.01 mm\" or \"± 3 %\"",
    ))
}

/// Two lengths with one of several signs between them; the first may leave its unit to the second.
fn two_lengths(text: &str, signs: &[&str], example: &str) -> Result<[f64; 2], Error> {
    let halves = signs.iter().find_map(|sign| text.split_once(sign));
    let (first, second) = halves.ok_or_else(|| unlike(text, example))?;
    let first = with_unit_of(first, second);
    Ok([Quantity::Length.read_positive(&first)?, Quantity::Length.read_positive(second)?])
}

/// The shape's kind by its name, how it is written, and the words after the name.
fn named(text: &str) -> Option<(Kind, &'static str, &str)> {
    NAMES.iter().find_map(|(name, kind, example)| {
        let rest = text.strip_prefix(name)?;
        let ends = !rest.starts_with(|c: char| c.is_alphabetic() || ".-_/\\".contains(c));
        ends.then_some((*kind, *example, rest))
    })
}

/// Words that begin with no shape's name: a fault where a name is near, else nothing.
fn misspelt(words: &str, text: &str) -> Result<Option<Shape>, Error> {
    let distance = |name: &str| {
        let is_word = |said: &&str| said.chars().all(char::is_alphabetic);
        let words = text.split_whitespace().take_while(is_word);
        let said: Vec<&str> = words.take(name.split(' ').count()).collect();
        (!said.is_empty()).then(|| strsim::osa_distance(name, &said.join(" ")))
    };
    // One slip in a short name, two in a long one; more is another word, and so is what says no size.
    let says_sizes = text.contains(|c: char| c.is_ascii_digit());
    let near = NAMES
        .iter()
        .filter(|_| says_sizes)
        .filter_map(|(name, _, example)| Some((distance(name)?, name.len() / 3, example)))
        .filter(|(distance, allowed, _)| distance <= allowed)
        .min();
    match near {
        None => Ok(None),
        Some((_, _, example)) => Err(Error::words(
            words,
            "begins with the name of no shape that is known here",
            format!("if it is what you mean, write it as in \"{example}\""),
        )),
    }
}

fn unlike(text: &str, example: &str) -> Error {
    Error::words(text, "does not say its sizes", example_of(example))
}

fn example_of(example: &str) -> String {
    format!("write it as in \"{example}\"")
}

/// A comma between two digits is a decimal sign; others part words.
fn refuse_decimal_commas(text: &str) -> Result<(), Error> {
    let letters: Vec<char> = text.chars().collect();
    let is_decimal = |w: &[char]| w[0].is_ascii_digit() && w[1] == ',' && w[2].is_ascii_digit();
    if letters.windows(3).any(is_decimal) { no_comma(text, "oval 0.42 x 0.37 mm") } else { Ok(()) }
}

/// Words without what joins them to others.
fn bare(text: &str) -> &str {
    let joint = |c: char| c.is_whitespace() || c == ',' || c == ';';
    let mut text = text.trim_matches(joint);
    for word in ["a", "with", "and"] {
        let ends_in_it =
            text.strip_suffix(word).filter(|rest| rest.is_empty() || rest.ends_with(joint));
        text = ends_in_it.unwrap_or(text).trim_matches(joint);
        let begins_with_it =
            text.strip_prefix(word).filter(|rest| rest.is_empty() || rest.starts_with(joint));
        text = begins_with_it.unwrap_or(text).trim_matches(joint);
    }
    text
}

fn by(width_mm: f64, height_mm: f64) -> String {
    format!("{} x {}", length(width_mm), length(height_mm))
}

fn length(mm: f64) -> String {
    format!("{} mm", significant(mm, 6))
}

fn degrees(angle_rad: f64) -> String {
    significant(angle_rad.to_degrees(), 6)
}

#[cfg(test)]
#[path = "shape_tests.rs"]
mod tests;
