//! Singular values of small matrices.

/// `A = U S Vᵀ`, by columns, singular values not sorted.
#[derive(Clone, Debug)]
pub(super) struct Svd {
    /// Columns `U S`: the rotated columns of the matrix.
    pub scaled: Vec<Vec<f64>>,
    /// Columns of `V`.
    pub right: Vec<Vec<f64>>,
    /// Singular values.
    pub values: Vec<f64>,
}

/// Sweeps after which the rotation is given up; small matrices need six to ten.
const SWEEPS: usize = 60;

impl Svd {
    /// By one-sided Jacobi rotations (Hestenes, 1958; from memory): accurate even for small singular values, and short.
    pub fn of(columns: &[Vec<f64>]) -> Svd {
        let n = columns.len();
        let mut a = columns.to_vec();
        let mut v: Vec<Vec<f64>> = (0..n)
            .map(|j| (0..n).map(|k| f64::from(j == k)).collect())
            .collect();
        for _ in 0..SWEEPS {
            let mut turned = false;
            for p in 0..n {
                for q in p + 1..n {
                    let (alpha, beta) = (dot(&a[p], &a[p]), dot(&a[q], &a[q]));
                    let gamma = dot(&a[p], &a[q]);
                    // Also ends the sweeps of matrices that are not finite.
                    if gamma.is_nan() || gamma.abs() <= 1e-15 * (alpha * beta).sqrt() || gamma == 0.0 {
                        continue;
                    }
                    turned = true;
                    let zeta = (beta - alpha) / (2.0 * gamma);
                    let t = zeta.signum() / (zeta.abs() + (1.0 + zeta * zeta).sqrt());
                    let c = 1.0 / (1.0 + t * t).sqrt();
                    rotate(&mut a, p, q, c, c * t);
                    rotate(&mut v, p, q, c, c * t);
                }
            }
            if !turned {
                break;
            }
        }
        Svd {
            values: a.iter().map(|column| dot(column, column).sqrt()).collect(),
            scaled: a,
            right: v,
        }
    }

    /// Largest and smallest singular value.
    pub fn extremes(&self) -> (f64, f64) {
        let least = self.values.iter().copied().fold(f64::INFINITY, f64::min);
        let most = self.values.iter().copied().fold(0.0, f64::max);
        (most, least)
    }
}

fn rotate(columns: &mut [Vec<f64>], p: usize, q: usize, c: f64, s: f64) {
    for i in 0..columns[p].len() {
        let (x, y) = (columns[p][i], columns[q][i]);
        columns[p][i] = c * x - s * y;
        columns[q][i] = s * x + c * y;
    }
}

pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_matrix_is_given_back() {
        let columns = vec![
            vec![1.0, 2.0, -1.0, 0.5],
            vec![0.3, 2.0, 4.0, -1.0],
            vec![2.0, 0.0, 1.0, 1.0],
        ];
        let svd = Svd::of(&columns);
        for (j, column) in columns.iter().enumerate() {
            for (i, &entry) in column.iter().enumerate() {
                let back: f64 = (0..3).map(|k| svd.scaled[k][i] * svd.right[k][j]).sum();
                assert!((back - entry).abs() < 1e-14, "{i} {j}: {back} for {entry}");
            }
        }
    }

    #[test]
    fn parallel_columns_have_a_singular_value_of_zero() {
        let svd = Svd::of(&[vec![1.0, 2.0], vec![2.0, 4.0]]);
        let (most, least) = svd.extremes();
        assert!(least < 1e-15 * most && (most - 5.0).abs() < 1e-14);
    }
}
