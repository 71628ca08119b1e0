//! Whether the data of a JPEG are whole: its codes are followed to the end of every scan.
//!
//! The decoder fills what is missing or makes no sense and says nothing, so that a hole would be measured in
//! what it made up. Sequential pictures with Huffman codes, which cameras write, are followed code by code; of
//! others only the markers are. Source: ITU-T T.81, B (markers), C (code tables), F.2.2 (order of the codes).

use super::jpeg_codes::{Codes, Component, Plane, Scan};

/// What is wrong with a picture's data, in words that follow "is cut off or damaged: ".
type Wrong = &'static str;

const CUT: Wrong = "its end is missing";
const HEADER: Wrong = "a part of its header makes no sense";

/// The frame of a sequential picture.
struct Frame {
    /// Bits of a value; means are held to their range for 8.
    bits: u8,
    columns: usize,
    rows: usize,
    components: Vec<Component>,
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
            return Ok(());
        }
        if matches!(mark, 0x01 | 0xD8) {
            continue;
        }
        let length = bytes.get(at..at + 2).ok_or(CUT)?;
        let length = usize::from(u16::from_be_bytes([length[0], length[1]]));
        let segment = bytes.get(at + 2..at + length).ok_or(CUT)?;
        at += length;
        match mark {
            0xC0 | 0xC1 => header.frame = Some(Frame::of(segment).ok_or(HEADER)?),
            0xC4 => header.take_codes(segment).ok_or(HEADER)?,
            0xDB => header.take_steps(segment).ok_or(HEADER)?,
            0xDD => header.restart = number(segment, 0).ok_or(HEADER)?,
            0xDA => {
                if let Some(scan) = header.scan(segment)? {
                    at += scan.followed(bytes.get(at..).unwrap_or_default())?;
                }
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
    fn of(segment: &[u8]) -> Option<Frame> {
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
        Some(Frame { bits: *segment.first()?, columns, rows, components })
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

    /// The scan that begins; none in a picture that is not followed.
    fn scan(&self, segment: &[u8]) -> Result<Option<Scan<'_>>, Wrong> {
        let Some(frame) = &self.frame else { return Ok(None) };
        // The number of rows may follow the data in rare files; those are not followed.
        if frame.rows == 0 || frame.columns == 0 {
            return Ok(None);
        }
        let count = usize::from(*segment.first().ok_or(HEADER)?);
        let parts = segment.get(1..1 + 2 * count).ok_or(HEADER)?;
        let mut planes = Vec::new();
        for part in parts.chunks_exact(2) {
            let component = frame.components.iter().find(|one| one.id == part[0]).ok_or(HEADER)?;
            let means = self.means.get(usize::from(part[1] >> 4));
            let details = self.details.get(usize::from(part[1] & 15));
            let (Some(Some(means)), Some(Some(details))) = (means, details) else {
                return Err(HEADER);
            };
            let step = if frame.bits == 8 { self.steps[component.steps] } else { 0 };
            planes.push(Plane { component: *component, means, details, step });
        }
        let widest = frame.components.iter().map(|one| one.across).max().unwrap_or(1);
        let highest = frame.components.iter().map(|one| one.down).max().unwrap_or(1);
        // A component alone comes block by block, only as many as it has; several come in whole units.
        let units = match &planes[..] {
            [Plane { component: alone, .. }] => {
                let blocks = |pixels: usize, own: usize, most: usize| {
                    (pixels * own).div_ceil(most).div_ceil(8)
                };
                blocks(frame.columns, alone.across, widest)
                    * blocks(frame.rows, alone.down, highest)
            }
            _ => frame.columns.div_ceil(8 * widest) * frame.rows.div_ceil(8 * highest),
        };
        Ok(Some(Scan { planes, units, restart: self.restart }))
    }
}

#[cfg(test)]
#[path = "jpeg_tests.rs"]
mod tests;
