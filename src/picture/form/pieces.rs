//! One direction of the picture, cut into pieces between whose ends the kernel changes linearly.

use std::ops::Range;

/// A row or column of the scene with its mirror image on both sides, as far as the kernel reaches.
///
/// Its places are counted from the far end of the mirror image: place `reach` is the first sample.
pub(super) struct Pieces {
    count: usize,
    reach: usize,
    /// The sample that each place shows.
    pub(super) mirror: Vec<usize>,
    /// How far each place is from the node before it towards the node behind it, 0 to 1: the
    /// share of its light that the second of the two kernels takes.
    pub(super) share: Vec<f32>,
    pub(super) pieces: Vec<Piece>,
}

/// Places between the same two nodes.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Piece {
    pub(super) places: Range<usize>,
    /// The node before them. The node behind them is the next one, if there is any.
    pub(super) node: usize,
}

/// The share of a piece's light that goes to one pixel after another.
pub(super) struct Landing {
    /// What is inside the picture of the piece's convolution, which begins twice the reach before
    /// the piece's first sample.
    pub(super) kept: Range<usize>,
    /// The pixel that the first kept number belongs to.
    pub(super) first: usize,
}

impl Pieces {
    /// `count` samples under `nodes` nodes, with kernels that reach over `reach` pixels each way.
    pub(super) fn new(count: usize, nodes: usize, reach: usize) -> Pieces {
        let mirror: Vec<_> =
            (0..count + 2 * reach).map(|place| mirrored(place, reach, count)).collect();
        let position = |&sample: &usize| {
            let position = (sample as f64 + 0.5) / count as f64 * (nodes - 1) as f64;
            let node = (position as usize).min(nodes.saturating_sub(2));
            (node, (position - node as f64) as f32)
        };
        let (node, share): (Vec<_>, Vec<_>) = mirror.iter().map(position).unzip();
        let mut pieces = Vec::new();
        let mut start = 0;
        for run in node.chunk_by(|a, b| a == b) {
            pieces.push(Piece { places: start..start + run.len(), node: run[0] });
            start += run.len();
        }
        Pieces { count, reach, mirror, share, pieces }
    }

    /// Cuts further, evenly, what has more than `most` places.
    pub(super) fn cut(&mut self, most: usize) {
        self.pieces = self.pieces.iter().flat_map(|piece| piece.cut(most)).collect();
    }

    pub(super) fn reach(&self) -> usize {
        self.reach
    }

    /// What is inside the picture of a piece, which is not turned over: its places counted from the
    /// piece's first, and the samples they show.
    pub(super) fn inside(&self, piece: &Piece) -> (Range<usize>, Range<usize>) {
        let Range { start, end } = piece.places;
        let inside = self.reach..self.reach + self.count;
        let first = inside.start.clamp(start, end);
        let behind = inside.end.clamp(start, end).max(first);
        let sample = first.saturating_sub(self.reach).min(self.count);
        (first - start..behind - start, sample..sample + (behind - first))
    }

    /// Where the light of a piece lands in the picture.
    pub(super) fn landing(&self, piece: &Piece) -> Landing {
        let (start, margin) = (piece.places.start, 2 * self.reach);
        let low = margin.saturating_sub(start);
        let high = (piece.places.len() + margin).min(self.count + margin - start);
        Landing { kept: low..high, first: start + low - margin }
    }

    /// The least length of a cyclic convolution of a piece whose kept numbers are not mixed with
    /// others: what is beyond the picture's borders may be.
    pub(super) fn least_length(&self, piece: &Piece) -> usize {
        let kept = self.landing(piece).kept;
        kept.end.max(piece.places.len() + 2 * self.reach - kept.start)
    }
}

impl Piece {
    fn cut(&self, most: usize) -> impl Iterator<Item = Piece> {
        let (Range { start, end }, node) = (self.places.clone(), self.node);
        let parts = (end - start).div_ceil(most);
        let border = move |part| start + (end - start) * part / parts;
        (0..parts).map(move |part| Piece { places: border(part)..border(part + 1), node })
    }
}

/// The sample of a scene of `count` that a place beyond its border shows: the mirror stands on the
/// border itself, so that the outermost sample is followed by itself, and the image of an image
/// again by the scene. Place `reach` is the scene's first sample.
pub(super) fn mirrored(place: usize, reach: usize, count: usize) -> usize {
    let period = 2 * count;
    // Enough whole periods to be above zero before the remainder is taken.
    let inside = (place + reach.div_ceil(period) * period - reach) % period;
    inside.min(period - 1 - inside)
}
