use crate::Plane;

/// Strength of the shear layer between a node and its neighbour, N/mm; 0 where there is no neighbour. A row of zeros stands before
/// the first row and after the last.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Shear {
    /// To the next column.
    east: Vec<f64>,
    /// To the next row.
    north: Vec<f64>,
    /// To all four neighbours together; without the rows of zeros.
    around: Vec<f64>,
    columns: usize,
}

impl Shear {
    /// A layer of strength `between(node, neighbour)`; `None` if it is 0 everywhere.
    pub(crate) fn new(plane: &Plane, between: impl Fn(usize, usize) -> f64) -> Option<Shear> {
        let (count, columns) = (plane.len(), plane.columns);
        let mut shear = Shear::default();
        shear.reset(count, columns);
        for node in 0..count {
            let has_east = (node + 1) % columns > 0;
            shear.east[node + columns] = if has_east { between(node, node + 1) } else { 0.0 };
            shear.north[node + columns] = if node + columns < count { between(node, node + columns) } else { 0.0 };
        }
        shear.add_up();
        shear.around.iter().any(|&strength| strength > 0.0).then_some(shear)
    }

    /// No ties between `count` nodes in rows of `columns`.
    pub(crate) fn reset(&mut self, count: usize, columns: usize) {
        self.columns = columns;
        for (array, length) in
            [(&mut self.east, count + 2 * columns), (&mut self.north, count + 2 * columns), (&mut self.around, count)]
        {
            array.clear();
            array.resize(length, 0.0);
        }
    }

    /// Takes the other's ties between nodes where `free` is 1.
    pub(crate) fn take_between(&mut self, other: &Shear, free: &[f64]) {
        let (count, columns) = (free.len(), self.columns);
        let ends = [(&mut self.east, &other.east, 1), (&mut self.north, &other.north, columns)];
        for (ties, others, to) in ends {
            // Past the last node there is no tie.
            let ties = ties[columns..].iter_mut().zip(&others[columns..]);
            let both = free.iter().zip(&free[to.min(count)..]);
            ties.zip(both).for_each(|((tie, other), (free, to_free))| *tie = other * free * to_free);
        }
        self.add_up();
    }

    /// The same shear layer at twice the step: half the sum of the ties between two cells of four nodes each.
    pub(crate) fn gather(&mut self, fine: &Shear) {
        self.east.fill(0.0);
        self.north.fill(0.0);
        let fine_rows = fine.east.chunks_exact(fine.columns).zip(fine.north.chunks_exact(fine.columns));
        // The first row and the last are the zeros.
        for (row, (east, north)) in fine_rows.enumerate().skip(1) {
            let first = row.div_ceil(2) * self.columns;
            let to_east = &mut self.east[first..first + self.columns];
            to_east.iter_mut().zip(east.chunks_exact(2)).for_each(|(sum, pair)| *sum += 0.5 * pair[1]);
            if row % 2 == 0 {
                let to_north = &mut self.north[first..first + self.columns];
                to_north.iter_mut().zip(north.chunks(2)).for_each(|(sum, pair)| *sum += 0.5 * pair.iter().sum::<f64>());
            }
        }
        self.add_up();
    }

    fn add_up(&mut self) {
        for (i, around) in self.around.iter_mut().enumerate() {
            let at = i + self.columns;
            *around = self.east[at] + self.east[at - 1] + self.north[at] + self.north[i];
        }
    }

    pub(crate) fn columns(&self) -> usize {
        self.columns
    }

    /// `out` = `own`·v − what the neighbours pull back: the shear layer and, within `own`, any springs beside
    /// [`Shear::around`]. `v` has a row of zeros before the first row and after the last; the others have not.
    pub(crate) fn apply(&self, own: &[f64], v: &[f64], out: &mut [f64]) {
        let (count, columns) = (out.len(), self.columns);
        let (here, own) = (part(v, columns, count), part(own, 0, count));
        let (east, west) = (part(v, columns + 1, count), part(v, columns - 1, count));
        let (north, south) = (part(v, 2 * columns, count), part(v, 0, count));
        let (to_east, to_west) = (part(&self.east, columns, count), part(&self.east, columns - 1, count));
        let (to_north, to_south) = (part(&self.north, columns, count), part(&self.north, 0, count));
        for i in 0..count {
            out[i] = own[i] * here[i]
                - (to_east[i] * east[i] + to_west[i] * west[i])
                - (to_north[i] * north[i] + to_south[i] * south[i]);
        }
    }

    /// Twice the energy of the layer, Σ G (v − v')² over neighbours, N·mm for v in mm.
    pub(crate) fn energy(&self, v: &[f64]) -> f64 {
        let columns = self.columns;
        let mut sum = 0.0;
        for at in columns..columns + self.around.len() {
            let (to_east, to_north) = (v[at + 1] - v[at], v[at + columns] - v[at]);
            sum += self.east[at] * to_east * to_east + self.north[at] * to_north * to_north;
        }
        sum
    }

    pub(crate) fn around(&self) -> &[f64] {
        &self.around
    }

    /// Strength to the four neighbours of a node that `counts`, N/mm.
    pub(crate) fn to_those(&self, node: usize, counts: impl Fn(usize) -> bool) -> f64 {
        let at = node + self.columns;
        let ways = [
            (self.east[at], node + 1),
            (self.east[at - 1], node.wrapping_sub(1)),
            (self.north[at], node + self.columns),
            (self.north[node], node.wrapping_sub(self.columns)),
        ];
        ways.into_iter().filter(|&(strength, to)| strength > 0.0 && counts(to)).map(|(strength, _)| strength).sum()
    }
}

fn part(values: &[f64], first: usize, count: usize) -> &[f64] {
    &values[first..first + count]
}
