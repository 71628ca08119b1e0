//! The codes of a progressive JPEG, followed from scan to scan without making a picture of them.
//!
//! Such a file holds the picture several times, each scan adding to what the others left open, and a decoder makes
//! a plausible picture of any of them: a blurred one of those that came. Source: `T81`, G.1.2.

use super::jpeg_codes::{BEYOND_WHITE, Bits, Codes, Component, NO_CODE};

const OUT_OF_ORDER: &str = "its scans do not follow each other";
const MISSING: &str = "its last scans are missing";

/// The coefficients of a block.
const COEFFICIENTS: usize = 64;

/// What the scans that came have told of one component.
pub(super) struct Told {
    /// Blocks of its own, without those that only fill up a unit.
    blocks: usize,
    /// Which coefficients of each block are not zero, one bit for each.
    nonzero: Vec<u64>,
    /// The lowest bit of each coefficient that a scan has told.
    lowest: [Option<u8>; COEFFICIENTS],
}

impl Told {
    pub(super) fn new(blocks: usize) -> Told {
        Told { blocks, nonzero: Vec::new(), lowest: [None; COEFFICIENTS] }
    }

    /// Whether every bit of every coefficient has come.
    pub(super) fn whole(&self) -> Result<(), &'static str> {
        self.lowest.iter().all(|lowest| *lowest == Some(0)).then_some(()).ok_or(MISSING)
    }
}

/// What a scan tells: coefficients, and of those the bits down to the lowest.
#[derive(Clone, Copy)]
pub(super) struct Part {
    first: usize,
    last: usize,
    /// The lowest bit that was told before; 0 in the first scan of these coefficients.
    before: u8,
    lowest: u8,
}

impl Part {
    /// Of the three bytes that end the header of a scan.
    pub(super) fn of(bytes: &[u8]) -> Option<Part> {
        let [first, last, bits, ..] = *bytes else { return None };
        let (first, last) = (usize::from(first), usize::from(last));
        let part = Part { first, last, before: bits >> 4, lowest: bits & 15 };
        let is_mean = first == 0 && last == 0;
        let refines_by_one = part.before == 0 || part.before == part.lowest + 1;
        let is_allowed = (is_mean || (1..=last).contains(&first)) && last < COEFFICIENTS;
        (is_allowed && refines_by_one && part.lowest < 14).then_some(part)
    }

    pub(super) fn is_of_means(self) -> bool {
        self.first == 0
    }

    fn is_first(self) -> bool {
        self.before == 0
    }

    /// Notes in what is told of a component that this scan has come.
    fn note(self, told: &mut Told) -> Result<(), &'static str> {
        let before = (!self.is_first()).then_some(self.before);
        for lowest in &mut told.lowest[self.first..=self.last] {
            if *lowest != before {
                return Err(OUT_OF_ORDER);
            }
            *lowest = Some(self.lowest);
        }
        Ok(())
    }
}

/// The means of one component in a scan.
pub(super) struct Means<'a> {
    pub(super) component: Component,
    /// None where a scan only adds a bit.
    pub(super) codes: Option<&'a Codes>,
    /// The step in which means are counted; 0 where it is not known.
    pub(super) step: i64,
}

/// Follows a scan of means to its end and says how many bytes its data were. `units` and `restart` are as those of a
/// sequential scan, `told` is what came of each component.
pub(super) fn follow_means(
    part: Part,
    planes: &[Means],
    mut told: Vec<&mut Told>,
    (units, restart): (usize, usize),
    data: &[u8],
) -> Result<usize, &'static str> {
    told.iter_mut().try_for_each(|told| part.note(told))?;
    let mut bits = Bits::of(data);
    let mut means = vec![0i64; planes.len()];
    for unit in 0..units {
        if restart > 0 && unit > 0 && unit % restart == 0 {
            bits.restart()?;
            means.fill(0);
        }
        for (plane, mean) in planes.iter().zip(&mut means) {
            let blocks = match planes.len() {
                1 => 1,
                _ => plane.component.across * plane.component.down,
            };
            for _ in 0..blocks {
                match plane.codes {
                    _ if !part.is_first() => drop(bits.plain(1)?),
                    None => return Err(NO_CODE),
                    Some(codes) => {
                        let size = bits.value(codes)?;
                        *mean += bits.number(u32::from(size))?;
                        // As in a sequential scan; bits that are still to come are at most one step of this scan.
                        let step = plane.step << part.lowest;
                        if (*mean * step).abs() > 1024 + step && step > 0 {
                            return Err(BEYOND_WHITE);
                        }
                    }
                }
            }
        }
    }
    bits.end()
}

/// Follows a scan of what differs from the means, which is of one component alone.
pub(super) fn follow_details(
    part: Part,
    codes: &Codes,
    told: &mut Told,
    restart: usize,
    data: &[u8],
) -> Result<usize, &'static str> {
    part.note(told)?;
    told.nonzero.resize(told.blocks, 0);
    let mut bits = Bits::of(data);
    // So many blocks hold nothing more in this scan.
    let mut done = 0;
    for index in 0..told.blocks {
        if restart > 0 && index > 0 && index % restart == 0 {
            bits.restart()?;
            done = 0;
        }
        let nonzero = &mut told.nonzero[index];
        match part.is_first() {
            true => first_details(part, codes, nonzero, &mut bits, &mut done)?,
            false => finer_details(part, codes, nonzero, &mut bits, &mut done)?,
        }
    }
    bits.end()
}

/// Source: `T81`, G.1.2.2.
fn first_details(
    part: Part,
    codes: &Codes,
    nonzero: &mut u64,
    bits: &mut Bits,
    done: &mut u64,
) -> Result<(), &'static str> {
    if *done > 0 {
        *done -= 1;
        return Ok(());
    }
    let mut index = part.first;
    while index <= part.last {
        let value = bits.value(codes)?;
        let (zeros, size) = (u32::from(value >> 4), u32::from(value & 15));
        if size == 0 && zeros < 15 {
            *done = (1 << zeros) - 1 + bits.plain(zeros)?;
            return Ok(());
        }
        index += zeros as usize;
        if index > part.last {
            return Err(NO_CODE);
        }
        if size > 0 {
            bits.number(size)?;
            *nonzero |= 1 << index;
        }
        index += 1;
    }
    Ok(())
}

/// Source: `T81`, G.1.2.3.
fn finer_details(
    part: Part,
    codes: &Codes,
    nonzero: &mut u64,
    bits: &mut Bits,
    done: &mut u64,
) -> Result<(), &'static str> {
    let mut index = part.first;
    while *done == 0 && index <= part.last {
        let value = bits.value(codes)?;
        let (mut zeros, size) = (u32::from(value >> 4), value & 15);
        match size {
            0 if zeros < 15 => {
                *done = (1 << zeros) + bits.plain(zeros)?;
                break;
            }
            0 => {}
            1 => drop(bits.plain(1)?),
            _ => return Err(NO_CODE),
        }
        // Past so many zeros, and one bit for each of those that are none.
        while index <= part.last {
            if *nonzero >> index & 1 == 1 {
                bits.plain(1)?;
            } else if zeros == 0 {
                break;
            } else {
                zeros -= 1;
            }
            index += 1;
        }
        if size == 1 {
            if index > part.last {
                return Err(NO_CODE);
            }
            *nonzero |= 1 << index;
        }
        index += 1;
    }
    if *done > 0 {
        for index in index..=part.last {
            if *nonzero >> index & 1 == 1 {
                bits.plain(1)?;
            }
        }
        *done -= 1;
    }
    Ok(())
}
