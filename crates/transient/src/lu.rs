//! Sparse LU factors with a fixed pattern and a fixed order of elimination.
//!
//! The matrices are `M/(γh) − J` of circuits made of passive parts, whose symmetric part in energy coordinates is
//! positive: elimination along the diagonal is stable without row exchanges. The order is chosen once per
//! circuit by minimum degree, and the operations are listed once, so that a factorisation is a walk
//! through a list.

use tidewall_ladder::Layout;
use tidewall_lanes::Lane;

/// Elimination order and operation lists for one pattern. Values are packed: the diagonal, then the rows left of it, then
/// the rows right of it, in the order in which the solutions read them: there are several to a factorisation.
#[derive(Clone, Debug, Default)]
pub struct Symbolic {
    n: usize,
    /// `place[k]`: which position state `k` has in the elimination order.
    place: Vec<usize>,
    /// Slot of each entry by row and column (positions), `NONE` where there is none.
    slots: Vec<u32>,
    /// Columns right of the diagonal per pivot, as ranges into `columns`.
    column_start: Vec<usize>,
    columns: Vec<u32>,
    /// Columns left of the diagonal per row, as ranges into `left`.
    left_start: Vec<usize>,
    left: Vec<u32>,
    /// Slots of the rows below the diagonal per pivot, as ranges into `below`.
    below_start: Vec<usize>,
    below: Vec<u32>,
    /// For each pivot, for each row below and each column right of it, the slot that the product is taken from.
    targets: Vec<u32>,
}

const NONE: u32 = u32::MAX;

impl Symbolic {
    /// Analyses a pattern of (row, column) places of an `n × n` matrix; the diagonal is always included.
    pub fn new(n: usize, places: &[(usize, usize)]) -> Symbolic {
        let mut present = vec![false; n * n];
        for k in 0..n {
            present[k * n + k] = true;
        }
        for &(row, column) in places {
            present[row * n + column] = true;
        }
        let place = shallow_minimum_degree(n, &present);
        let mut filled = vec![false; n * n];
        for row in 0..n {
            for column in 0..n {
                if present[row * n + column] {
                    filled[place[row] * n + place[column]] = true;
                }
            }
        }
        let (mut column_start, mut columns) = (vec![0], Vec::new());
        for pivot in 0..n {
            let right: Vec<usize> = (pivot + 1..n).filter(|&c| filled[pivot * n + c]).collect();
            for row in (pivot + 1..n)
                .filter(|&r| filled[r * n + pivot])
                .collect::<Vec<_>>()
            {
                for &column in &right {
                    filled[row * n + column] = true;
                }
            }
            columns.extend(right.iter().map(|&column| column as u32));
            column_start.push(columns.len());
        }
        let (mut left_start, mut left) = (vec![0], Vec::new());
        let mut slots = vec![NONE; n * n];
        for row in 0..n {
            slots[row * n + row] = row as u32;
            for column in (0..row).filter(|&column| filled[row * n + column]) {
                slots[row * n + column] = (n + left.len()) as u32;
                left.push(column as u32);
            }
            left_start.push(left.len());
        }
        for pivot in 0..n {
            for k in column_start[pivot]..column_start[pivot + 1] {
                slots[pivot * n + columns[k] as usize] = (n + left.len() + k) as u32;
            }
        }
        let (mut below_start, mut below, mut targets) = (vec![0], Vec::new(), Vec::new());
        for pivot in 0..n {
            for row in (pivot + 1..n).filter(|&row| filled[row * n + pivot]) {
                below.push(slots[row * n + pivot]);
                for &column in &columns[column_start[pivot]..column_start[pivot + 1]] {
                    targets.push(slots[row * n + column as usize]);
                }
            }
            below_start.push(below.len());
        }
        Symbolic {
            n,
            place,
            slots,
            column_start,
            columns,
            left_start,
            left,
            below_start,
            below,
            targets,
        }
    }

    /// Order of the matrix.
    pub fn len(&self) -> usize {
        self.n
    }

    /// True for an empty matrix.
    pub fn is_empty(&self) -> bool {
        self.n == 0
    }

    /// Replaces the values by their factors. The number that comes back is zero, or none where a pivot is zero or not finite.
    #[inline(always)]
    pub fn factor<T: Lane>(&self, values: &mut [T]) -> T {
        let (one, zero) = (T::splat(1.0), T::default());
        let mut sound = T::default();
        let mut targets = self.targets.as_slice();
        let upper = self.n + self.left.len();
        for pivot in 0..self.n {
            let diagonal = values[pivot];
            let inverse = one / diagonal;
            sound += diagonal * zero + inverse * zero;
            values[pivot] = inverse;
            let right = upper + self.column_start[pivot]..upper + self.column_start[pivot + 1];
            for &below in &self.below[self.below_start[pivot]..self.below_start[pivot + 1]] {
                let factor = values[below as usize] * inverse;
                values[below as usize] = factor;
                let (here, later) = targets.split_at(right.len());
                targets = later;
                for (&target, at) in here.iter().zip(right.clone()) {
                    T::one_by_one();
                    let product = factor * values[at];
                    values[target as usize] -= product;
                }
            }
        }
        sound
    }

    /// Solves with factored values; `b`, in the order of elimination, is replaced by the solution.
    #[inline(always)]
    pub fn solve<T: Lane>(&self, values: &[T], b: &mut [T]) {
        let (diagonal, rest) = values.split_at(self.n);
        let (lower, upper) = rest.split_at(self.left.len());
        let b = &mut b[..self.n];
        for row in 0..self.n {
            let range = self.left_start[row]..self.left_start[row + 1];
            if range.is_empty() {
                continue;
            }
            let mut x = b[row];
            for (&column, &factor) in self.left[range.clone()].iter().zip(&lower[range]) {
                T::one_by_one();
                x -= factor * b[column as usize];
            }
            b[row] = x;
        }
        for row in (0..self.n).rev() {
            let range = self.column_start[row]..self.column_start[row + 1];
            let mut x = b[row];
            for (&column, &factor) in self.columns[range.clone()].iter().zip(&upper[range]) {
                T::one_by_one();
                x -= factor * b[column as usize];
            }
            b[row] = x * diagonal[row];
        }
    }
}

impl Layout for Symbolic {
    fn place(&self, k: usize) -> usize {
        self.place[k]
    }

    fn slot(&self, row: usize, column: usize) -> usize {
        self.slots[row * self.n + column] as usize
    }

    fn slots(&self) -> usize {
        self.n + self.left.len() + self.columns.len()
    }
}

/// Greedy minimum-degree order of the symmetrised pattern. Among nodes of small degree, those whose elimination waits for
/// the fewest others come first: the chains of a circuit (thermal ladders above all) are then taken apart from many
/// places at once, and the processor need not wait for one result after the other. Ties go to the lower number.
fn shallow_minimum_degree(n: usize, present: &[bool]) -> Vec<usize> {
    let mut links: Vec<Vec<usize>> = (0..n)
        .map(|i| {
            let linked = |&j: &usize| i != j && (present[i * n + j] || present[j * n + i]);
            (0..n).filter(linked).collect()
        })
        .collect();
    let mut place = vec![usize::MAX; n];
    let mut height = vec![0usize; n];
    for position in 0..n {
        let Some(next) = (0..n)
            .filter(|&k| place[k] == usize::MAX)
            .min_by_key(|&k| (links[k].len().max(FREE_DEGREE), height[k], links[k].len(), k))
        else {
            break;
        };
        place[next] = position;
        let neighbours = std::mem::take(&mut links[next]);
        for &a in &neighbours {
            links[a].retain(|&b| b != next);
            for &b in &neighbours {
                if a != b && !links[a].contains(&b) {
                    links[a].push(b);
                }
            }
            height[a] = height[a].max(height[next] + 1);
        }
    }
    place
}

/// Up to this degree the order goes by depth.
const FREE_DEGREE: usize = 2;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn solves_a_sparse_system_with_fill() {
        // Arrow and tridiagonal couplings together, so that elimination must fill in.
        let n: usize = 9;
        let mut places = Vec::new();
        for k in 0..n {
            for j in [k.wrapping_sub(1), k + 1, 0, (k + 4) % n] {
                if j < n && j != k {
                    places.push((k, j));
                }
            }
        }
        let symbolic = Symbolic::new(n, &places);
        let mut values = vec![0.0; symbolic.slots()];
        let at = |row: usize, column: usize| symbolic.slot(symbolic.place(row), symbolic.place(column));
        let mut dense = vec![0.0; n * n];
        for (step, &(row, column)) in places.iter().enumerate() {
            let value = ((step * 37 % 17) as f64 - 8.0) / 9.0;
            values[at(row, column)] += value;
            dense[row * n + column] += value;
        }
        for k in 0..n {
            values[at(k, k)] += 6.0 + k as f64;
            dense[k * n + k] += 6.0 + k as f64;
        }
        let wanted: Vec<f64> = (0..n).map(|k| (k as f64).sin() + 2.0).collect();
        let mut b = vec![0.0; n];
        for r in 0..n {
            b[symbolic.place(r)] = (0..n).map(|c| dense[r * n + c] * wanted[c]).sum();
        }
        assert_eq!(symbolic.factor(&mut values), 0.0);
        symbolic.solve(&values, &mut b);
        for (k, wanted) in wanted.iter().enumerate() {
            let got = b[symbolic.place(k)];
            assert!((got - wanted).abs() < 1e-12, "{got} against {wanted}");
        }
    }

    #[test]
    fn a_zero_pivot_is_reported() {
        let symbolic = Symbolic::new(2, &[(0, 1), (1, 0)]);
        let mut values = vec![0.0; symbolic.slots()];
        values[symbolic.slot(0, 1)] = 1.0;
        values[symbolic.slot(1, 0)] = 1.0;
        assert!(symbolic.factor(&mut values).is_nan());
    }
}
