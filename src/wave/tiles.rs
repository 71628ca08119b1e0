//! A grid cut into square tiles, each of which is computed about its own middle.

use super::grid::Grid;
use super::psf::Psf;
use crate::error::Error;
use crate::geometry::Point;
use ndarray::Axis;
use rayon::prelude::*;

/// A square piece of a grid.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Tile {
    column: usize,
    row: usize,
    size: usize,
}

impl Tile {
    /// The tile's own grid, centred on its sample with the index size / 2.
    pub fn grid(self, whole: Grid) -> Grid {
        whole.of_size(self.size)
    }

    /// Where the middle of that grid lies, in mm from the middle of the whole.
    pub fn middle_mm(self, whole: Grid) -> Point {
        let at = |first: usize| {
            ((first + self.size / 2) as f64 - (whole.size() / 2) as f64) * whole.pitch_mm()
        };
        [at(self.column), at(self.row)]
    }

    /// How far a place lies from the tile, in mm; nought inside.
    pub fn distance_mm(self, whole: Grid, place: Point) -> f64 {
        let (middle, reach) = (self.middle_mm(whole), self.grid(whole).reach_mm());
        let beyond = |axis: usize| ((place[axis] - middle[axis]).abs() - reach).max(0.0);
        beyond(0).hypot(beyond(1))
    }

    /// Whether it begins at the whole's middle or before it, along each axis of which the other half is a mirror
    /// image.
    pub fn is_before_middle(self, whole: Grid, mirrors: [bool; 2]) -> bool {
        let middle = whole.size() / 2;
        !(mirrors[0] && self.column > middle || mirrors[1] && self.row > middle)
    }

    /// Its four quarters, which may share a row and a column.
    fn quarters(self) -> [Tile; 4] {
        let size = self.size.div_ceil(2);
        let rest = self.size - size;
        let at = |right: usize, up: usize| Tile {
            column: self.column + right,
            row: self.row + up,
            size,
        };
        [at(0, 0), at(rest, 0), at(0, rest), at(rest, rest)]
    }
}

impl Grid {
    /// The grid in tiles: each is cut in four as long as it is `too_coarse`, down to single samples.
    pub fn tiles(self, too_coarse: impl Fn(Tile) -> bool) -> Vec<Tile> {
        let mut open = vec![Tile { column: 0, row: 0, size: self.size() }];
        let mut done = Vec::new();
        while let Some(tile) = open.pop() {
            if tile.size > 1 && too_coarse(tile) {
                open.extend(tile.quarters());
            } else {
                done.push(tile);
            }
        }
        done
    }
}

impl Psf {
    /// The PSF on a grid, tile by tile.
    ///
    /// # Errors
    /// Those of `of`.
    pub fn in_tiles(
        grid: Grid,
        tiles: &[Tile],
        of: impl Fn(Tile) -> Result<Psf, Error> + Sync,
    ) -> Result<Psf, Error> {
        if let [tile] = tiles
            && tile.size == grid.size()
        {
            return of(*tile);
        }
        let parts = tiles.par_iter().map(|tile| of(*tile)).collect::<Result<Vec<_>, _>>()?;
        let (mut density, mut order) = (grid.dark(), 0);
        for (tile, part) in tiles.iter().zip(parts) {
            let Tile { column, row, size } = *tile;
            let mut rows = density.slice_axis_mut(Axis(0), (row..row + size).into());
            rows.slice_axis_mut(Axis(1), (column..column + size).into()).assign(&part.density);
            order = order.max(part.order);
        }
        Ok(Psf { density, grid, order })
    }

    /// The mean of four of the same grid by the distance to its corners, each of which holds best at its
    /// own: lower left, lower right, upper left, upper right.
    #[must_use]
    pub fn between(corners: &[Psf; 4]) -> Psf {
        let grid = corners[0].grid;
        let share = |i: usize| {
            let reach = (grid.size() / 2).max(1) as f64;
            (i as f64 + reach - (grid.size() / 2) as f64) / (2.0 * reach)
        };
        let mut density = grid.dark();
        let order = corners.iter().map(|psf| psf.order).max().unwrap_or(0);
        for (corner, psf) in corners.iter().enumerate() {
            for ((row, column), light) in psf.density.indexed_iter() {
                let (right, up) = (share(column), share(row));
                let across = if corner % 2 == 0 { 1.0 - right } else { right };
                let down = if corner < 2 { 1.0 - up } else { up };
                density[[row, column]] += across * down * light;
            }
        }
        Psf { density, grid, order }
    }

    /// The same with what lies right of the middle as the mirror image of what lies left of it, and above it of
    /// below.
    #[must_use]
    pub fn mirrored(mut self, [sideways, upside_down]: [bool; 2]) -> Psf {
        let (size, middle) = (self.grid.size(), self.grid.size() / 2);
        for (axis, turned) in [(Axis(1), sideways), (Axis(0), upside_down)] {
            for beyond in (middle + 1..size).filter(|_| turned) {
                let (from, mut to) = self.density.view_mut().split_at(axis, beyond);
                let mut to = to.index_axis_mut(axis, 0);
                to.assign(&from.index_axis(axis, 2 * middle - beyond));
            }
        }
        self
    }

    /// Multiplies the density by factor exp(slope·x), x in mm from the middle: light that changes
    /// evenly over the grid.
    #[must_use]
    pub fn graded(mut self, factor: f64, slope_per_mm: Point) -> Psf {
        if factor == 1.0 && slope_per_mm == [0.0, 0.0] {
            return self;
        }
        let middle = (self.grid.size() / 2) as f64;
        let along = |slope: f64| -> Vec<f64> {
            let place = |i: usize| (i as f64 - middle) * self.grid.pitch_mm();
            (0..self.grid.size()).map(|i| (slope * place(i)).exp()).collect()
        };
        let (of_x, of_y) = (along(slope_per_mm[0]), along(slope_per_mm[1]));
        for (mut row, of_y) in self.density.rows_mut().into_iter().zip(of_y) {
            row.iter_mut().zip(&of_x).for_each(|(light, of_x)| *light *= factor * of_y * of_x);
        }
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::Array2;

    /// The tiles that are left give the others, whatever the size.
    #[test]
    fn tiles_before_the_middle_give_the_others() {
        for size in [1, 2, 7, 8, 31, 64, 101] {
            let grid = Grid::new(size, 0.5).unwrap();
            let mut tiles = grid.tiles(|tile| tile.size > 5);
            let all = tiles.len();
            let mirrors = [true, true];
            tiles.retain(|tile| tile.is_before_middle(grid, mirrors));
            assert!(size < 31 || tiles.len() < 2 * all / 3, "{size}: {} of {all}", tiles.len());
            let light = |x: f64, y: f64| x.abs() + 100.0 * y.abs();
            let of = |tile: Tile| {
                let own = tile.grid(grid);
                let [x, y] = tile.middle_mm(grid);
                let at = |i: usize| (i as f64 - (own.size() / 2) as f64) * 0.5;
                let density = Array2::from_shape_fn((own.size(), own.size()), |(r, c)| {
                    light(x + at(c), y + at(r))
                });
                Ok(Psf { density, grid: own, order: 2 })
            };
            let psf = Psf::in_tiles(grid, &tiles, of).unwrap().mirrored(mirrors);
            for ((row, column), value) in psf.density.indexed_iter() {
                let at = |i: usize| (i as f64 - (size / 2) as f64) * 0.5;
                assert!(
                    (value - light(at(column), at(row))).abs() < 1e-12,
                    "{size} {row} {column}"
                );
            }
        }
    }

    /// Every sample belongs to a tile, at the place that the tile's grid says.
    #[test]
    fn tiles_cover_the_grid() {
        for size in [1, 7, 8, 9, 31, 64, 101] {
            let grid = Grid::new(size, 0.5).unwrap();
            let tiles = grid.tiles(|tile| tile.distance_mm(grid, [1.0, -2.0]) < 1.0);
            let psf = Psf::in_tiles(grid, &tiles, |tile| {
                let own = tile.grid(grid);
                let mut density = own.dark();
                let [x, y] = tile.middle_mm(grid);
                for ((row, column), value) in density.indexed_iter_mut() {
                    let at = |i: usize| (i as f64 - (own.size() / 2) as f64) * 0.5;
                    *value = 100.0 + x + at(column) + 10.0 * (y + at(row));
                }
                Ok(Psf { density, grid: own, order: 2 })
            })
            .unwrap();
            for ((row, column), value) in psf.density.indexed_iter() {
                let at = |i: usize| (i as f64 - (size / 2) as f64) * 0.5;
                assert!((value - 100.0 - at(column) - 10.0 * at(row)).abs() < 1e-12);
            }
        }
    }
}
