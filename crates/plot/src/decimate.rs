//! Long waveforms down to the width of the picture.

/// Thins a polyline in pixels so that each pixel column keeps its first, lowest, highest and last point: no peak is lost,
/// and what is drawn covers the same pixels. Points must not turn back in x; where they do, all are kept.
pub(crate) fn columns(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let turns = points.windows(2).any(|pair| pair[1].0 < pair[0].0);
    if turns || points.len() < 8 {
        return points.to_vec();
    }
    let mut kept = Vec::new();
    for column in points.chunk_by(|a, b| a.0.floor() == b.0.floor()) {
        if column.len() <= 4 {
            kept.extend_from_slice(column);
            continue;
        }
        let (mut low, mut high) = (0, 0);
        for (k, point) in column.iter().enumerate() {
            if point.1 < column[low].1 {
                low = k;
            }
            if point.1 > column[high].1 {
                high = k;
            }
        }
        let mut places = vec![0, low, high, column.len() - 1];
        places.sort_unstable();
        places.dedup();
        kept.extend(places.into_iter().map(|k| column[k]));
    }
    kept
}

/// Leaves out points that lie within `near` pixels of the line through those that stay (Ramer, Douglas and Peucker);
/// the lowest and the highest point always stay.
pub(crate) fn straighten(points: &[(f64, f64)], near: f64) -> Vec<(f64, f64)> {
    if points.len() < 3 {
        return points.to_vec();
    }
    let mut keep = vec![false; points.len()];
    let by_y = |a: &usize, b: &usize| points[*a].1.total_cmp(&points[*b].1);
    let mut fixed = vec![0, points.len() - 1];
    fixed.extend((0..points.len()).min_by(by_y));
    fixed.extend((0..points.len()).max_by(by_y));
    fixed.sort_unstable();
    fixed.dedup();
    for &k in &fixed {
        keep[k] = true;
    }
    let mut spans: Vec<(usize, usize)> = fixed.windows(2).map(|pair| (pair[0], pair[1])).collect();
    while let Some((a, b)) = spans.pop() {
        let farthest = (a + 1..b)
            .map(|k| (k, distance(points[k], points[a], points[b])))
            .max_by(|one, other| one.1.total_cmp(&other.1));
        if let Some((k, far)) = farthest
            && far > near
        {
            keep[k] = true;
            spans.push((a, k));
            spans.push((k, b));
        }
    }
    let kept = points.iter().zip(keep).filter(|(_, keep)| *keep);
    kept.map(|(point, _)| *point).collect()
}

/// Distance of a point from a line segment.
fn distance(point: (f64, f64), from: (f64, f64), to: (f64, f64)) -> f64 {
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    let square = dx * dx + dy * dy;
    let along = if square > 0.0 {
        (((point.0 - from.0) * dx + (point.1 - from.1) * dy) / square).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (point.0 - from.0 - along * dx).hypot(point.1 - from.1 - along * dy)
}

/// Parts of a polyline within a rectangle (left, top, right, bottom), cut at its edges.
pub(crate) fn clip(points: &[(f64, f64)], frame: (f64, f64, f64, f64)) -> Vec<Vec<(f64, f64)>> {
    let mut parts: Vec<Vec<(f64, f64)>> = Vec::new();
    let mut current: Vec<(f64, f64)> = Vec::new();
    for pair in points.windows(2) {
        match segment(pair[0], pair[1], frame) {
            Some((a, b)) => {
                if current.last() != Some(&a) {
                    if current.len() > 1 {
                        parts.push(std::mem::take(&mut current));
                    }
                    current = vec![a];
                }
                current.push(b);
            }
            None => {
                if current.len() > 1 {
                    parts.push(std::mem::take(&mut current));
                }
                current.clear();
            }
        }
    }
    if current.len() > 1 {
        parts.push(current);
    }
    parts
}

/// A line segment cut to a rectangle (Liang and Barsky).
fn segment(
    a: (f64, f64),
    b: (f64, f64),
    (left, top, right, bottom): (f64, f64, f64, f64),
) -> Option<((f64, f64), (f64, f64))> {
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let (mut enter, mut leave) = (0.0f64, 1.0f64);
    for (slope, room) in [
        (-dx, a.0 - left),
        (dx, right - a.0),
        (-dy, a.1 - top),
        (dy, bottom - a.1),
    ] {
        if slope == 0.0 {
            if room < 0.0 {
                return None;
            }
        } else if slope < 0.0 {
            enter = enter.max(room / slope);
        } else {
            leave = leave.min(room / slope);
        }
    }
    if enter > leave {
        return None;
    }
    let at = |share: f64| {
        if share == 0.0 {
            a
        } else if share == 1.0 {
            b
        } else {
            (a.0 + share * dx, a.1 + share * dy)
        }
    };
    Some((at(enter), at(leave)))
}

/// A closed polygon cut to a rectangle (Sutherland and Hodgman); empty when nothing is left.
pub(crate) fn clip_polygon(
    points: &[(f64, f64)],
    (left, top, right, bottom): (f64, f64, f64, f64),
) -> Vec<(f64, f64)> {
    type Side = (fn(&(f64, f64)) -> f64, f64, bool);
    let sides: [Side; 4] = [
        (|p| p.0, left, true),
        (|p| p.0, right, false),
        (|p| p.1, top, true),
        (|p| p.1, bottom, false),
    ];
    let mut polygon = points.to_vec();
    for (of, edge, above) in sides {
        let inside = |p: &(f64, f64)| if above { of(p) >= edge } else { of(p) <= edge };
        let mut kept = Vec::with_capacity(polygon.len() + 4);
        for (k, point) in polygon.iter().enumerate() {
            let before = &polygon[(k + polygon.len() - 1) % polygon.len()];
            if inside(point) != inside(before) {
                let share = (edge - of(before)) / (of(point) - of(before));
                kept.push((
                    before.0 + share * (point.0 - before.0),
                    before.1 + share * (point.1 - before.1),
                ));
            }
            if inside(point) {
                kept.push(*point);
            }
        }
        polygon = kept;
    }
    polygon
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn a_line_is_cut_where_it_leaves() {
        let frame = (0.0, 0.0, 10.0, 10.0);
        let parts = clip(
            &[(-5.0, 5.0), (5.0, 5.0), (5.0, 20.0), (8.0, 20.0), (8.0, 2.0)],
            frame,
        );
        assert_eq!(
            parts,
            [
                vec![(0.0, 5.0), (5.0, 5.0), (5.0, 10.0)],
                vec![(8.0, 10.0), (8.0, 2.0)]
            ]
        );
        let square = [(-5.0, -5.0), (5.0, -5.0), (5.0, 5.0), (-5.0, 5.0)];
        let mut cut = clip_polygon(&square, frame);
        cut.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        cut.dedup();
        assert_eq!(cut, [(0.0, 0.0), (0.0, 5.0), (5.0, 0.0), (5.0, 5.0)]);
    }

    proptest! {
        #[test]
        fn every_column_keeps_its_extremes(steps in prop::collection::vec((0.0f64..0.4, -100.0f64..100.0), 0..400)) {
            let mut x = 0.0;
            let points: Vec<(f64, f64)> = steps.iter().map(|(dx, y)| { x += dx; (x, *y) }).collect();
            let kept = columns(&points);
            let ends = |points: &[(f64, f64)]| -> Vec<(f64, f64, f64)> {
                points
                    .chunk_by(|a, b| a.0.floor() == b.0.floor())
                    .map(|column| {
                        let low = column.iter().fold(f64::INFINITY, |low, p| low.min(p.1));
                        let high = column.iter().fold(f64::NEG_INFINITY, |high, p| high.max(p.1));
                        (column[0].0.floor(), low, high)
                    })
                    .collect()
            };
            prop_assert_eq!(ends(&points), ends(&kept));
            prop_assert!(kept.iter().all(|point| points.contains(point)));
            let most = 4 * ends(&points).len();
            prop_assert!(kept.len() <= most.max(7));
        }

        #[test]
        fn straightening_stays_near_and_keeps_the_peak(ys in prop::collection::vec(-100.0f64..100.0, 3..200)) {
            let points: Vec<(f64, f64)> = ys.iter().enumerate().map(|(k, y)| (k as f64, *y)).collect();
            let kept = straighten(&points, 5.0);
            let top = |points: &[(f64, f64)]| points.iter().fold(f64::NEG_INFINITY, |top, p| top.max(p.1));
            prop_assert_eq!(top(&points), top(&kept));
            for point in &points {
                let near = kept.windows(2).any(|pair| distance(*point, pair[0], pair[1]) <= 5.0);
                prop_assert!(near);
            }
        }
    }
}
