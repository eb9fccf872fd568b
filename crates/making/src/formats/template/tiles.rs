//! A drawing at true size divided among sheets of paper that overlap.
//!
//! Every sheet shows a window of the drawing. Neighbours overlap, and a seam runs down the middle of the overlap: both
//! show it at the same place of the drawing, so that crosses at its ends lie on each other when the sheets are joined.

use glam::DVec2;

/// The division of a drawing whose least corner is the origin, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::formats) struct Tiling {
    /// Sheets across.
    pub(in crate::formats) columns: u32,
    /// Sheets up.
    pub(in crate::formats) rows: u32,
    /// What a sheet shows, mm.
    window: DVec2,
    /// How much of it its neighbour shows too, mm.
    overlap_mm: f64,
}

/// One sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::formats) struct Tile {
    /// From the left, from 0.
    pub(in crate::formats) column: u32,
    /// From the heel, from 0.
    pub(in crate::formats) row: u32,
    /// Least corner of what it shows, in the drawing, mm.
    pub(in crate::formats) lo: DVec2,
    /// Greatest corner.
    pub(in crate::formats) hi: DVec2,
}

/// An edge at which a sheet joins another.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::formats) struct Seam {
    /// Its ends, in the drawing, mm: where the crosses are.
    pub(in crate::formats) ends: [DVec2; 2],
    /// Unit vector to the neighbour.
    pub(in crate::formats) towards: DVec2,
    /// Name of the neighbour.
    pub(in crate::formats) neighbour: String,
}

impl Tiling {
    /// As few sheets as show all of `size`. The window must be greater than the overlap.
    pub(in crate::formats) fn over(size: DVec2, window: DVec2, overlap_mm: f64) -> Tiling {
        let count = |size: f64, window: f64| {
            // A rounding error must not cost a sheet.
            let more = (size - window) / (window - overlap_mm) - 1e-9;
            if more > 0.0 { 1 + more.ceil().min(1000.0) as u32 } else { 1 }
        };
        Tiling { columns: count(size.x, window.x), rows: count(size.y, window.y), window, overlap_mm }
    }

    /// Number of sheets.
    pub(in crate::formats) fn count(&self) -> u32 {
        self.columns * self.rows
    }

    /// The sheets, column by column from the left, each from the heel up.
    pub(in crate::formats) fn tiles(&self) -> impl Iterator<Item = Tile> + '_ {
        (0..self.columns).flat_map(move |column| (0..self.rows).map(move |row| self.tile(column, row)))
    }

    fn tile(&self, column: u32, row: u32) -> Tile {
        let lo = DVec2::new(f64::from(column), f64::from(row)) * (self.window - self.overlap_mm);
        Tile { column, row, lo, hi: lo + self.window }
    }

    /// Where `tile` joins others: left, right, below, above, as there are.
    pub(in crate::formats) fn seams(&self, tile: &Tile) -> Vec<Seam> {
        let (lo, hi) = (tile.lo + self.overlap_mm / 2.0, tile.hi - self.overlap_mm / 2.0);
        let corner = DVec2::new;
        let (column, row) = (tile.column, tile.row);
        let mut seams = Vec::new();
        let mut add = |ends: [DVec2; 2], towards: DVec2, column: u32, row: u32| {
            seams.push(Seam { ends, towards, neighbour: self.tile(column, row).name() });
        };
        if column > 0 {
            add([lo, corner(lo.x, hi.y)], DVec2::NEG_X, column - 1, row);
        }
        if column + 1 < self.columns {
            add([corner(hi.x, lo.y), hi], DVec2::X, column + 1, row);
        }
        if row > 0 {
            add([lo, corner(hi.x, lo.y)], DVec2::NEG_Y, column, row - 1);
        }
        if row + 1 < self.rows {
            add([corner(lo.x, hi.y), hi], DVec2::Y, column, row + 1);
        }
        seams
    }
}

impl Tile {
    /// Letter of its column and number of its row: `A1` is at the heel on the left.
    pub(in crate::formats) fn name(&self) -> String {
        let mut letters = String::new();
        let mut rest = self.column;
        loop {
            letters.insert(0, char::from(b'A' + (rest % 26) as u8));
            rest /= 26;
            if rest == 0 {
                break;
            }
            rest -= 1;
        }
        format!("{letters}{}", self.row + 1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const WINDOW: DVec2 = DVec2::new(179.0, 266.0);

    #[test]
    fn a_drawing_that_fits_takes_one_sheet_without_seams() {
        let tiling = Tiling::over(WINDOW, WINDOW, 10.0);
        assert_eq!(tiling.count(), 1);
        let tile = tiling.tiles().next().unwrap();
        assert_eq!((tile.lo, tile.hi, tile.name()), (DVec2::ZERO, WINDOW, "A1".into()));
        assert!(tiling.seams(&tile).is_empty());
    }

    #[test]
    fn a_little_more_takes_one_sheet_more_and_no_sheet_is_superfluous() {
        for (size, columns, rows) in [
            (DVec2::new(179.01, 266.0), 2, 1),
            (DVec2::new(179.0, 266.01), 1, 2),
            // Two sheets show a window and a window less the overlap.
            (DVec2::new(348.0, 522.0), 2, 2),
            (DVec2::new(348.01, 522.01), 3, 3),
        ] {
            let tiling = Tiling::over(size, WINDOW, 10.0);
            assert_eq!((tiling.columns, tiling.rows), (columns, rows), "{size}");
        }
    }

    #[test]
    fn sheets_cover_the_drawing_and_overlap_by_what_was_asked() {
        for overlap in [5.0, 10.0, 30.0] {
            let size = DVec2::new(500.0, 700.0);
            let tiling = Tiling::over(size, WINDOW, overlap);
            let tiles: Vec<Tile> = tiling.tiles().collect();
            assert!(tiles.iter().any(|tile| tile.hi.cmpge(size).all()));
            for pair in tiles.windows(2).filter(|pair| pair[0].column == pair[1].column) {
                assert!((pair[0].hi.y - pair[1].lo.y - overlap).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn neighbours_have_their_seam_at_the_same_place() {
        let tiling = Tiling::over(DVec2::new(500.0, 700.0), WINDOW, 10.0);
        let mut seen = 0;
        for tile in tiling.tiles() {
            for seam in tiling.seams(&tile) {
                let other = tiling.tiles().find(|other| other.name() == seam.neighbour).unwrap();
                let back = tiling.seams(&other).into_iter().find(|back| back.neighbour == tile.name()).unwrap();
                assert_eq!(back.towards, -seam.towards);
                for (a, b) in seam.ends.iter().zip(&back.ends) {
                    assert!(a.distance(*b) < 1e-9);
                }
                // Within what both show.
                let shown = |tile: &Tile, p: &DVec2| p.cmpge(tile.lo).all() && p.cmple(tile.hi).all();
                assert!(seam.ends.iter().all(|p| shown(&tile, p) && shown(&other, p)));
                seen += 1;
            }
        }
        // 3 × 3 sheets have 12 inner edges, each seen from both sides.
        assert_eq!((tiling.count(), seen), (9, 24));
    }

    #[test]
    fn names_go_on_after_z() {
        let name = |column, row| Tile { column, row, lo: DVec2::ZERO, hi: DVec2::ONE }.name();
        assert_eq!([name(0, 0), name(1, 4), name(25, 0), name(26, 0), name(52, 9)], ["A1", "B5", "Z1", "AA1", "BA10"]);
    }
}
