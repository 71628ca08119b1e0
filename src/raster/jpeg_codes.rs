//! The codes of a JPEG's scan, followed without making a picture of them.

/// A component of the picture: brightness or one of two colours.
#[derive(Clone, Copy)]
pub(super) struct Component {
    pub(super) id: u8,
    /// Blocks across and down in a unit of interleaved data.
    pub(super) across: usize,
    pub(super) down: usize,
    /// Which table holds its steps.
    pub(super) steps: usize,
}

const ENDS_EARLY: &str = "its data end too early";
pub(super) const NO_CODE: &str = "its data make no sense";
const TOO_MANY: &str = "its data hold more than the picture";
pub(super) const BEYOND_WHITE: &str = "its data lead beyond black or white";

/// The bits of the longest code.
const LONGEST: u32 = 16;

/// A table of codes: for each 16 bits that may come, the value and the length of the code that they begin with.
pub(super) struct Codes(Vec<(u8, u8)>);

impl Codes {
    /// The table of so many codes of each length, and their values in order; none where they do not fit. Source: `T81`,
    /// annex C.
    pub(super) fn of(counts: &[u8], values: &[u8]) -> Option<Codes> {
        let mut table = vec![(0, 0); 1 << LONGEST];
        let mut values = values.iter();
        let mut from = 0;
        for (length, count) in (1..=LONGEST).zip(counts) {
            for value in values.by_ref().take(usize::from(*count)) {
                let to = from + (1 << (LONGEST - length));
                table.get_mut(from..to)?.fill((*value, length as u8));
                from = to;
            }
        }
        Some(Codes(table))
    }
}

/// A component in a scan.
pub(super) struct Plane<'a> {
    pub(super) component: Component,
    /// The codes of the blocks' means.
    pub(super) means: &'a Codes,
    /// The codes of what differs from the mean.
    pub(super) details: &'a Codes,
    /// The step in which means are counted; 0 where it is not known.
    pub(super) step: i64,
}

/// A scan of a sequential picture.
pub(super) struct Scan<'a> {
    pub(super) planes: Vec<Plane<'a>>,
    pub(super) units: usize,
    /// Units between restart markers; 0 without.
    pub(super) restart: usize,
}

impl Scan<'_> {
    /// Follows the data to their end and says how many bytes they were.
    pub(super) fn followed(&self, data: &[u8]) -> Result<usize, &'static str> {
        let mut bits = Bits::of(data);
        let mut means = vec![0; self.planes.len()];
        for unit in 0..self.units {
            if self.restart > 0 && unit > 0 && unit % self.restart == 0 {
                bits.restart()?;
                means.fill(0);
            }
            for (plane, mean) in self.planes.iter().zip(&mut means) {
                let blocks = match self.planes.len() {
                    1 => 1,
                    _ => plane.component.across * plane.component.down,
                };
                for _ in 0..blocks {
                    *mean += bits.block(plane)?;
                    // The mean of a block of 8 bits is 8 times what it is above mid grey, −128..127 (T.81, A.3);
                    // rounding it may lead one step beyond.
                    if (*mean * plane.step).abs() > 1024 + plane.step && plane.step > 0 {
                        return Err(BEYOND_WHITE);
                    }
                }
            }
        }
        bits.end()
    }
}

/// The bits of the data, up to a marker.
pub(super) struct Bits<'a> {
    data: &'a [u8],
    at: usize,
    /// Bits that were taken out of the data, the last of them lowest.
    held: u64,
    count: u32,
}

impl<'a> Bits<'a> {
    pub(super) fn of(data: &'a [u8]) -> Bits<'a> {
        Bits { data, at: 0, held: 0, count: 0 }
    }

    /// Follows a block and says by how many steps its mean differs from the one before. Source: `T81`, F.2.2.
    fn block(&mut self, plane: &Plane) -> Result<i64, &'static str> {
        let size = self.value(plane.means)?;
        let difference = self.number(u32::from(size))?;
        let mut index = 1;
        while index < 64 {
            let value = self.value(plane.details)?;
            let (zeros, size) = (usize::from(value >> 4), u32::from(value & 15));
            if size == 0 && zeros < 15 {
                break;
            }
            index += zeros + 1;
            if index > 64 {
                return Err(NO_CODE);
            }
            self.number(size)?;
        }
        Ok(difference)
    }

    /// Holds as many bits as the longest code and number together, as far as there are any.
    fn fill(&mut self) {
        while self.count <= 48 {
            // A byte of ones is followed by one of zeros, so that it is no marker.
            let (byte, length) = match self.data.get(self.at..) {
                Some([0xFF, 0x00, ..]) => (0xFF, 2),
                Some([0xFF, ..] | []) | None => return,
                Some([byte, ..]) => (*byte, 1),
            };
            self.at += length;
            self.held = self.held << 8 | u64::from(byte);
            self.count += 8;
        }
    }

    pub(super) fn value(&mut self, codes: &Codes) -> Result<u8, &'static str> {
        if self.count < LONGEST {
            self.fill();
        }
        // Ones follow the last bit, as they do before a marker.
        let ahead = match self.count {
            count if count >= LONGEST => self.held >> (count - LONGEST),
            count => self.held << (LONGEST - count) | ((1 << (LONGEST - count)) - 1),
        };
        let (value, length) = codes.0[(ahead & 0xFFFF) as usize];
        match u32::from(length) {
            0 => Err(if self.count < LONGEST { ENDS_EARLY } else { NO_CODE }),
            length if length > self.count => Err(ENDS_EARLY),
            length => {
                self.count -= length;
                Ok(value)
            }
        }
    }

    /// A number of so many bits: without a leading one it is below zero (T.81, F.2.2.1).
    pub(super) fn number(&mut self, size: u32) -> Result<i64, &'static str> {
        if size == 0 {
            return Ok(0);
        }
        let bits = self.plain(size)? as i64;
        Ok(if bits >> (size - 1) == 0 { bits - (1 << size) + 1 } else { bits })
    }

    /// So many bits as they are.
    pub(super) fn plain(&mut self, size: u32) -> Result<u64, &'static str> {
        if self.count < size {
            self.fill();
        }
        if size > LONGEST || self.count < size {
            return Err(if size > LONGEST { NO_CODE } else { ENDS_EARLY });
        }
        self.count -= size;
        Ok(self.held >> self.count & ((1 << size) - 1))
    }

    /// Goes on after a restart marker, before which less than a byte is left.
    pub(super) fn restart(&mut self) -> Result<(), &'static str> {
        self.fill();
        if self.count >= 8 {
            return Err(TOO_MANY);
        }
        (self.held, self.count) = (0, 0);
        while let Some([0xFF, 0xFF, ..]) = self.data.get(self.at..) {
            self.at += 1;
        }
        match self.data.get(self.at..) {
            Some([0xFF, 0xD0..=0xD7, ..]) => {
                self.at += 2;
                Ok(())
            }
            _ => Err(ENDS_EARLY),
        }
    }

    /// The place of the marker after the data, before which less than a byte is left, or zeros that fill up.
    pub(super) fn end(mut self) -> Result<usize, &'static str> {
        loop {
            self.fill();
            if self.count < 8 {
                return Ok(self.at);
            }
            let whole = self.count / 8 * 8;
            if self.held & ((1 << whole) - 1) != 0 {
                return Err(TOO_MANY);
            }
            self.count -= whole;
        }
    }
}
