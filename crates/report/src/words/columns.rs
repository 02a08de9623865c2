//! Columns of tables.

/// Takes away the columns in which no row has anything; rows may be shorter than the head.
pub fn drop_empty<K, C>(columns: &mut Vec<K>, rows: &mut [Vec<C>], is_empty: impl Fn(&C) -> bool) {
    for k in (0..columns.len()).rev() {
        if rows.iter().all(|row| row.get(k).is_none_or(&is_empty)) {
            columns.remove(k);
            for row in rows.iter_mut().filter(|row| k < row.len()) {
                row.remove(k);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_columns_without_anything_go() {
        let mut columns = vec!["a", "b", "c"];
        let mut rows = vec![vec!["1", "", ""], vec!["", ""]];
        drop_empty(&mut columns, &mut rows, |cell| cell.is_empty());
        assert_eq!((columns, rows), (vec!["a"], vec![vec!["1"], vec![""]]));
    }
}
