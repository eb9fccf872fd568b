//! Pieces of what stands out from the ground.

use crate::tracing::PictureFault;

/// A piece: pixels that hang together by their sides.
struct Piece {
    label: u32,
    pixels: usize,
    touches_border: bool,
}

/// Which pixels belong to the insole.
pub(super) struct Region {
    /// What stands out.
    pub own: Vec<bool>,
    /// That, and the holes in it.
    pub filled: Vec<bool>,
}

/// The piece that holds the seed, itself or in a hole of it; without a seed, the largest.
///
/// # Errors
/// None of `least_pixels`, none at the seed, or one that reaches the border.
pub(super) fn choose(
    stands_out: &[bool],
    width: usize,
    seed: Option<usize>,
    least_pixels: usize,
) -> Result<Region, PictureFault> {
    let height = stands_out.len() / width;
    let (labels, mut pieces) = label(stands_out, width);
    pieces.retain(|piece| piece.pixels >= least_pixels);
    base::sort_by_key(&mut pieces, |piece| std::cmp::Reverse(piece.pixels));
    let region = |piece: &Piece| {
        let own: Vec<bool> = labels.iter().map(|label| *label == piece.label).collect();
        let filled = fill(&own, width, height);
        Region { own, filled }
    };
    let Some(seed) = seed else {
        let largest = pieces.first().ok_or(PictureFault::NothingStandsOut)?;
        return if largest.touches_border { Err(PictureFault::ReachesBorder) } else { Ok(region(largest)) };
    };
    // Few pieces are so large that they count.
    let holding = pieces.iter().map(|piece| (piece, region(piece))).find(|(_, region)| region.filled[seed]);
    let (piece, region) = holding.ok_or(PictureFault::SeedOnGround)?;
    if piece.touches_border { Err(PictureFault::ReachesBorder) } else { Ok(region) }
}

/// Numbers the pieces from 1; 0 is the ground.
fn label(stands_out: &[bool], width: usize) -> (Vec<u32>, Vec<Piece>) {
    let mut labels = vec![0; stands_out.len()];
    let mut pieces = Vec::new();
    let mut queue = Vec::new();
    for start in 0..stands_out.len() {
        if !stands_out[start] || labels[start] != 0 {
            continue;
        }
        let label = pieces.len() as u32 + 1;
        let mut piece = Piece { label, pixels: 0, touches_border: false };
        labels[start] = label;
        queue.push(start);
        while let Some(at) = queue.pop() {
            piece.pixels += 1;
            let (column, row) = (at % width, at / width);
            let beside = [
                (column > 0).then(|| at - 1),
                (column + 1 < width).then_some(at + 1),
                (row > 0).then(|| at - width),
                Some(at + width).filter(|below| *below < stands_out.len()),
            ];
            piece.touches_border |= beside.contains(&None);
            for next in beside.into_iter().flatten() {
                if stands_out[next] && labels[next] == 0 {
                    labels[next] = label;
                    queue.push(next);
                }
            }
        }
        pieces.push(piece);
    }
    (labels, pieces)
}

/// With its holes: what cannot be reached from the border by steps of any direction outside of it.
fn fill(own: &[bool], width: usize, height: usize) -> Vec<bool> {
    let mut filled = vec![true; own.len()];
    let is_border = |at: usize| {
        let (column, row) = (at % width, at / width);
        column == 0 || row == 0 || column + 1 == width || row + 1 == height
    };
    let mut queue: Vec<usize> = (0..own.len()).filter(|&at| is_border(at) && !own[at]).collect();
    queue.iter().for_each(|&at| filled[at] = false);
    while let Some(at) = queue.pop() {
        let (column, row) = (at % width, at / width);
        for near_row in row.saturating_sub(1)..(row + 2).min(height) {
            for near_column in column.saturating_sub(1)..(column + 2).min(width) {
                let next = near_row * width + near_column;
                if filled[next] && !own[next] {
                    filled[next] = false;
                    queue.push(next);
                }
            }
        }
    }
    filled
}
