//! Sparse LU factors with a fixed pattern and a fixed order of elimination.
//!
//! The matrices are `M/(γh) − J` of circuits made of passive parts, whose symmetric part in energy coordinates is
//! positive: elimination along the diagonal is stable without row exchanges. The order is chosen once per
//! circuit by minimum degree, and the operations are listed once, so that a factorisation is a walk
//! through a list.

/// Elimination order and operation lists for one pattern.
#[derive(Clone, Debug)]
pub struct Symbolic {
    n: usize,
    /// `place[k]`: which position state `k` has in the elimination order.
    place: Vec<usize>,
    /// Columns right of the diagonal per pivot, as ranges into `columns`.
    column_start: Vec<usize>,
    columns: Vec<usize>,
    /// Rows below the diagonal per pivot, as ranges into `rows`.
    row_start: Vec<usize>,
    rows: Vec<usize>,
}

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
        let place = minimum_degree(n, &present);
        let mut filled = vec![false; n * n];
        for row in 0..n {
            for column in 0..n {
                if present[row * n + column] {
                    filled[place[row] * n + place[column]] = true;
                }
            }
        }
        let (mut column_start, mut columns) = (vec![0], Vec::new());
        let (mut row_start, mut rows) = (vec![0], Vec::new());
        for pivot in 0..n {
            let right: Vec<usize> = (pivot + 1..n).filter(|&c| filled[pivot * n + c]).collect();
            let below: Vec<usize> = (pivot + 1..n).filter(|&r| filled[r * n + pivot]).collect();
            for &row in &below {
                for &column in &right {
                    filled[row * n + column] = true;
                }
            }
            columns.extend(&right);
            column_start.push(columns.len());
            rows.extend(&below);
            row_start.push(rows.len());
        }
        Symbolic {
            n,
            place,
            column_start,
            columns,
            row_start,
            rows,
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

    /// Index into the value array of the place (row, column).
    pub fn index(&self, row: usize, column: usize) -> usize {
        self.place[row] * self.n + self.place[column]
    }

    fn right(&self, pivot: usize) -> &[usize] {
        &self.columns[self.column_start[pivot]..self.column_start[pivot + 1]]
    }

    fn below(&self, pivot: usize) -> &[usize] {
        &self.rows[self.row_start[pivot]..self.row_start[pivot + 1]]
    }

    /// Replaces the values by their factors; false when a pivot is zero or not finite.
    pub fn factor(&self, values: &mut [f64]) -> bool {
        let n = self.n;
        for pivot in 0..n {
            let diagonal = values[pivot * n + pivot];
            if diagonal == 0.0 || !diagonal.is_finite() {
                return false;
            }
            let inverse = 1.0 / diagonal;
            values[pivot * n + pivot] = inverse;
            for &row in self.below(pivot) {
                let factor = values[row * n + pivot] * inverse;
                values[row * n + pivot] = factor;
                if factor == 0.0 {
                    continue;
                }
                for &column in self.right(pivot) {
                    values[row * n + column] -= factor * values[pivot * n + column];
                }
            }
        }
        true
    }

    /// Solves with factored values; `b` is replaced by the solution, `scratch` has the same length.
    pub fn solve(&self, values: &[f64], b: &mut [f64], scratch: &mut [f64]) {
        let n = self.n;
        for k in 0..n {
            scratch[self.place[k]] = b[k];
        }
        for pivot in 0..n {
            let x = scratch[pivot];
            if x != 0.0 {
                for &row in self.below(pivot) {
                    scratch[row] -= values[row * n + pivot] * x;
                }
            }
        }
        for pivot in (0..n).rev() {
            let mut x = scratch[pivot];
            for &column in self.right(pivot) {
                x -= values[pivot * n + column] * scratch[column];
            }
            scratch[pivot] = x * values[pivot * n + pivot];
        }
        for k in 0..n {
            b[k] = scratch[self.place[k]];
        }
    }
}

/// Greedy minimum-degree order of the symmetrised pattern; ties go to the lower number.
fn minimum_degree(n: usize, present: &[bool]) -> Vec<usize> {
    let mut linked: Vec<Vec<bool>> = (0..n)
        .map(|i| {
            (0..n)
                .map(|j| i != j && (present[i * n + j] || present[j * n + i]))
                .collect()
        })
        .collect();
    let mut place = vec![usize::MAX; n];
    for position in 0..n {
        let degree = |k: usize| (0..n).filter(|&j| linked[k][j]).count();
        let Some(next) = (0..n)
            .filter(|&k| place[k] == usize::MAX)
            .min_by_key(|&k| degree(k))
        else {
            break;
        };
        place[next] = position;
        let neighbours: Vec<usize> = (0..n).filter(|&j| linked[next][j]).collect();
        for &a in &neighbours {
            for &b in &neighbours {
                if a != b {
                    linked[a][b] = true;
                }
            }
            linked[a][next] = false;
        }
    }
    place
}

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
        let mut values = vec![0.0; n * n];
        let mut dense = vec![0.0; n * n];
        for (step, &(row, column)) in places.iter().enumerate() {
            let value = ((step * 37 % 17) as f64 - 8.0) / 9.0;
            values[symbolic.index(row, column)] += value;
            dense[row * n + column] += value;
        }
        for k in 0..n {
            values[symbolic.index(k, k)] += 6.0 + k as f64;
            dense[k * n + k] += 6.0 + k as f64;
        }
        let wanted: Vec<f64> = (0..n).map(|k| (k as f64).sin() + 2.0).collect();
        let mut b: Vec<f64> = (0..n)
            .map(|r| (0..n).map(|c| dense[r * n + c] * wanted[c]).sum())
            .collect();
        assert!(symbolic.factor(&mut values));
        symbolic.solve(&values, &mut b, &mut vec![0.0; n]);
        for (got, wanted) in b.iter().zip(&wanted) {
            assert!((got - wanted).abs() < 1e-12, "{got} against {wanted}");
        }
    }

    #[test]
    fn a_zero_pivot_is_reported() {
        let symbolic = Symbolic::new(2, &[(0, 1), (1, 0)]);
        let mut values = vec![0.0; 4];
        values[symbolic.index(0, 1)] = 1.0;
        values[symbolic.index(1, 0)] = 1.0;
        assert!(!symbolic.factor(&mut values));
    }
}
