//! Changes that may befall a file: bits, bytes, parts left out, doubled or brought from another.

/// What numbers in a text are replaced by.
const NUMBERS: [&str; 12] = [
    "0",
    "-0",
    "-1",
    "1e308",
    "-1e308",
    "1e-320",
    "nan",
    "inf",
    "18446744073709551616",
    "0.1",
    "1000000",
    "99999",
];

/// Changes by a number: the same number, the same changes.
pub(crate) struct Change(u64);

impl Change {
    pub(crate) fn new(seed: u64) -> Change {
        Change(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    /// A number below a limit. Source: Marsaglia, Xorshift RNGs (2003), shifts 13, 7, 17.
    pub(crate) fn below(&mut self, limit: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as usize % limit.max(1)
    }

    /// A number from 0 to 1.
    pub(crate) fn share(&mut self) -> f64 {
        self.below(1 << 30) as f64 / f64::from(1 << 30)
    }

    /// One of the seeds, changed once to eight times.
    pub(crate) fn of(mut self, seeds: &[Vec<u8>]) -> Vec<u8> {
        let index = self.below(seeds.len());
        let mut bytes = seeds[index].clone();
        self.several(&mut bytes, seeds);
        bytes
    }

    /// One of the seeds, with one or two of its numbers changed and little else: most can still be read.
    pub(crate) fn gently(mut self, seeds: &[Vec<u8>]) -> Vec<u8> {
        let index = self.below(seeds.len());
        let mut bytes = seeds[index].clone();
        for _ in 0..=self.below(2) {
            let at = self.below(bytes.len());
            self.number(&mut bytes, at);
        }
        if self.below(4) == 0 {
            self.once(&mut bytes, seeds);
        }
        bytes
    }

    /// Bytes that are changed so in one of so many cases.
    pub(crate) fn maybe(&mut self, mut bytes: Vec<u8>, one_in: usize) -> Vec<u8> {
        if self.below(one_in) == 0 {
            let seeds = [bytes.clone()];
            self.several(&mut bytes, &seeds);
        }
        bytes
    }

    fn several(&mut self, bytes: &mut Vec<u8>, seeds: &[Vec<u8>]) {
        for _ in 0..=self.below(8) {
            self.once(bytes, seeds);
        }
    }

    fn once(&mut self, bytes: &mut Vec<u8>, seeds: &[Vec<u8>]) {
        let length = bytes.len();
        let at = self.below(length);
        let part = at..(at + 1 + self.below(40)).min(length);
        match self.below(9) {
            _ if length == 0 => bytes.push(self.below(256) as u8),
            0 | 1 => bytes[at] ^= 1 << self.below(8),
            2 => bytes[at] = [0, 0xFF, 0x7F, 0x80, b'\n', b'"', b'-', b' '][self.below(8)],
            3 => bytes[at] = self.below(256) as u8,
            4 => drop(bytes.drain(part)),
            5 => {
                let again = bytes[part].to_vec();
                drop(bytes.splice(at..at, again));
            }
            6 => bytes.truncate(at),
            7 => {
                let other = &seeds[self.below(seeds.len())];
                let from = self.below(other.len());
                let to = (from + self.below(60)).min(other.len());
                drop(bytes.splice(at..at, other[from..to].iter().copied()));
            }
            _ => self.number(bytes, at),
        }
    }

    /// Another number in the place of the one at or after a place of a text.
    fn number(&mut self, bytes: &mut Vec<u8>, at: usize) {
        let is_of_number = |byte: &u8| byte.is_ascii_digit() || b".-+e".contains(byte);
        let Some(start) = bytes[at..].iter().position(u8::is_ascii_digit) else { return };
        let start = at + start;
        let length = bytes[start..].iter().take_while(|byte| is_of_number(byte)).count();
        let other = NUMBERS[self.below(NUMBERS.len())];
        drop(bytes.splice(start..start + length, other.bytes()));
    }
}
