//! Whether the data of a JPEG are whole: its codes are followed to the end of every scan.
//!
//! The decoder fills what is missing or makes no sense and says nothing, so that a hole would be measured in
//! what it made up. Sequential and progressive pictures with Huffman codes are followed code by code; of others,
//! which the decoder does not read, only the markers are. Source: `T81`, B (markers), C (code tables), F.2.2
//! (order of the codes).

use super::jpeg_codes::{Codes, Component, Plane, Scan};
use super::jpeg_progress::{Means, Part, Told, follow_details, follow_means};
use super::kind::LARGEST_PX;

/// What is wrong with a picture's data, in words that follow "is cut off or damaged: ".
type Wrong = &'static str;

const CUT: Wrong = "its end is missing";
const HEADER: Wrong = "a part of its header makes no sense";

/// The frame of a picture.
struct Frame {
    /// Bits of a value; means are held to their range for 8.
    bits: u8,
    columns: usize,
    rows: usize,
    components: Vec<Component>,
    /// Of a progressive picture, what its scans have told of each component.
    told: Option<Vec<Told>>,
}

/// What the segments before a scan say.
#[derive(Default)]
struct Header {
    frame: Option<Frame>,
    means: [Option<Codes>; 4],
    details: [Option<Codes>; 4],
    /// The step of the mean of a block, by table.
    steps: [i64; 4],
    /// Units between restart markers; none without.
    restart: usize,
}

/// Checks that a JPEG's segments lead to its end marker, and its codes to the end of each scan.
pub(super) fn check(bytes: &[u8]) -> Result<(), Wrong> {
    let mut header = Header::default();
    let mut at = 2;
    loop {
        at = next_marker(bytes, at).ok_or(CUT)?;
        let mark = bytes[at + 1];
        at += 2;
        if mark == 0xD9 {
            return header.whole();
        }
        if matches!(mark, 0x01 | 0xD8) {
            continue;
        }
        let length = bytes.get(at..at + 2).ok_or(CUT)?;
        let length = usize::from(u16::from_be_bytes([length[0], length[1]]));
        let segment = bytes.get(at + 2..at + length).ok_or(CUT)?;
        at += length;
        match mark {
            0xC0..=0xC2 => header.frame = Some(Frame::of(segment, mark == 0xC2).ok_or(HEADER)?),
            0xC4 => header.take_codes(segment).ok_or(HEADER)?,
            0xDB => header.take_steps(segment).ok_or(HEADER)?,
            0xDD => header.restart = number(segment, 0).ok_or(HEADER)?,
            0xDA => {
                at += header.followed(segment, bytes.get(at..).unwrap_or_default())?;
            }
            _ => {}
        }
    }
}

/// The next marker that is neither stuffing, fill nor restart.
fn next_marker(bytes: &[u8], from: usize) -> Option<usize> {
    let is_marker = |pair: &[u8]| pair[0] == 0xFF && !matches!(pair[1], 0x00 | 0xFF | 0xD0..=0xD7);
    bytes.get(from..)?.windows(2).position(is_marker).map(|index| from + index)
}

/// A number of two bytes.
fn number(bytes: &[u8], at: usize) -> Option<usize> {
    bytes.get(at..at + 2).map(|pair| usize::from(u16::from_be_bytes([pair[0], pair[1]])))
}

impl Frame {
    fn of(segment: &[u8], is_progressive: bool) -> Option<Frame> {
        let (rows, columns) = (number(segment, 1)?, number(segment, 3)?);
        let parts = segment.get(6..6 + 3 * usize::from(*segment.get(5)?))?;
        let component = |part: &[u8]| {
            let (across, down) = (usize::from(part[1] >> 4), usize::from(part[1] & 15));
            let is_allowed = (1..=4).contains(&across) && (1..=4).contains(&down) && part[2] < 4;
            is_allowed.then_some(Component {
                id: part[0],
                across,
                down,
                steps: usize::from(part[2]),
            })
        };
        let components = parts.chunks_exact(3).map(component).collect::<Option<Vec<_>>>()?;
        let mut frame = Frame { bits: *segment.first()?, columns, rows, components, told: None };
        if is_progressive {
            let told = |component: &Component| Told::new(frame.blocks(*component));
            frame.told = Some(frame.components.iter().map(told).collect());
        }
        Some(frame)
    }

    /// Blocks across and down in a unit of several components.
    fn unit(&self) -> [usize; 2] {
        let most = |of: fn(&Component) -> usize| self.components.iter().map(of).max().unwrap_or(1);
        [most(|one| one.across), most(|one| one.down)]
    }

    /// The blocks that a component has of its own.
    fn blocks(&self, component: Component) -> usize {
        let [widest, highest] = self.unit();
        let blocks =
            |pixels: usize, own: usize, most: usize| (pixels * own).div_ceil(most).div_ceil(8);
        blocks(self.columns, component.across, widest) * blocks(self.rows, component.down, highest)
    }

    /// The units of a scan. A component alone comes block by block, only as many as it has; several come in whole
    /// units.
    fn units(&self, components: &[Component]) -> usize {
        let [widest, highest] = self.unit();
        match components {
            [alone] => self.blocks(*alone),
            _ => self.columns.div_ceil(8 * widest) * self.rows.div_ceil(8 * highest),
        }
    }
}

impl Header {
    fn take_codes(&mut self, mut segment: &[u8]) -> Option<()> {
        while let [kind, counts @ ..] = segment {
            let counts = counts.get(..16)?;
            let values: usize = counts.iter().map(|count| usize::from(*count)).sum();
            let codes = Codes::of(counts, segment.get(17..17 + values)?)?;
            let tables = if kind >> 4 == 0 { &mut self.means } else { &mut self.details };
            *tables.get_mut(usize::from(kind & 15))? = Some(codes);
            segment = &segment[17 + values..];
        }
        Some(())
    }

    fn take_steps(&mut self, mut segment: &[u8]) -> Option<()> {
        while let [kind, rest @ ..] = segment {
            let is_wide = kind >> 4 != 0;
            let first = if is_wide { number(rest, 0)? } else { usize::from(*rest.first()?) };
            *self.steps.get_mut(usize::from(kind & 15))? = first as i64;
            segment = rest.get(if is_wide { 128 } else { 64 }..)?;
        }
        Some(())
    }

    /// Whether all of a progressive picture has come.
    fn whole(&self) -> Result<(), Wrong> {
        let told = self.frame.as_ref().and_then(|frame| frame.told.as_ref());
        told.map_or(Ok(()), |told| told.iter().try_for_each(Told::whole))
    }

    /// Follows the scan that begins, and says how many bytes its data are; 0 in a picture that is not followed.
    fn followed(&mut self, segment: &[u8], data: &[u8]) -> Result<usize, Wrong> {
        let Some(frame) = &mut self.frame else { return Ok(0) };
        // The number of rows may follow the data in rare files; those are not followed.
        let is_too_large = frame.columns as u64 * frame.rows as u64 > LARGEST_PX;
        if frame.rows == 0 || frame.columns == 0 || is_too_large {
            return Ok(0);
        }
        let count = usize::from(*segment.first().ok_or(HEADER)?);
        let parts = segment.get(1..1 + 2 * count).ok_or(HEADER)?;
        let mut planes = Vec::new();
        for part in parts.chunks_exact(2) {
            let index = frame.components.iter().position(|one| one.id == part[0]).ok_or(HEADER)?;
            let component = frame.components[index];
            let means = self.means.get(usize::from(part[1] >> 4)).and_then(Option::as_ref);
            let details = self.details.get(usize::from(part[1] & 15)).and_then(Option::as_ref);
            let step = if frame.bits == 8 { self.steps[component.steps] } else { 0 };
            planes.push(Named { index, component, means, details, step });
        }
        let components: Vec<Component> = planes.iter().map(|plane| plane.component).collect();
        let (units, restart) = (frame.units(&components), self.restart);
        match &mut frame.told {
            None => {
                let planes = planes.iter().map(Named::plane).collect::<Option<_>>();
                Scan { planes: planes.ok_or(HEADER)?, units, restart }.followed(data)
            }
            Some(told) => {
                let part = Part::of(&segment[1 + 2 * count..]).ok_or(HEADER)?;
                progressed(part, &planes, told, (units, restart), data)
            }
        }
    }
}

/// A component that a scan names, with the tables that are there for it.
struct Named<'a> {
    index: usize,
    component: Component,
    means: Option<&'a Codes>,
    details: Option<&'a Codes>,
    step: i64,
}

impl<'a> Named<'a> {
    fn plane(&self) -> Option<Plane<'a>> {
        let Named { component, step, .. } = *self;
        Some(Plane { component, means: self.means?, details: self.details?, step })
    }
}

/// Follows one scan of a progressive picture.
fn progressed(
    part: Part,
    planes: &[Named],
    told: &mut [Told],
    (units, restart): (usize, usize),
    data: &[u8],
) -> Result<usize, Wrong> {
    if part.is_of_means() {
        let is_named = |index: usize| planes.iter().any(|plane| plane.index == index);
        let named = told.iter_mut().enumerate().filter(|(index, _)| is_named(*index));
        let told = named.map(|(_, told)| told).collect();
        let means: Vec<Means> = planes
            .iter()
            .map(|plane| Means { component: plane.component, codes: plane.means, step: plane.step })
            .collect();
        return follow_means(part, &means, told, (units, restart), data);
    }
    match planes {
        [Named { index, details: Some(details), .. }] => {
            follow_details(part, details, &mut told[*index], restart, data)
        }
        _ => Err(HEADER),
    }
}

#[cfg(test)]
#[path = "jpeg_tests.rs"]
mod tests;
