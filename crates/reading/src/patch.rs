//! Geometry on a patch, `along × across` samples row by row: smoothing, outline, neighbours, local mean.

/// Binomial smoothing (1 2 1)/4 both ways.
pub(crate) fn smooth(patch: &[f32], across: usize, along: usize) -> Vec<f32> {
    crate::image::Plane {
        width: across,
        height: along,
        data: patch.to_vec(),
    }
    .smoothed(1)
    .data
}

/// Largest connected area above `threshold`, holes filled.
pub(crate) fn silhouette(patch: &[f32], across: usize, along: usize, threshold: f32) -> Vec<bool> {
    let mut inside: Vec<bool> = patch.iter().map(|&v| v > threshold).collect();
    let keep = largest_component(&inside, across, along);
    inside = keep;
    // Fill: what cannot be reached from the border is a pore, not outside.
    let mut outside = vec![false; inside.len()];
    let mut stack: Vec<usize> = (0..inside.len())
        .filter(|i| {
            let (x, y) = (i % across, i / across);
            (x == 0 || y == 0 || x == across - 1 || y == along - 1) && !inside[*i]
        })
        .collect();
    for &i in &stack {
        outside[i] = true;
    }
    while let Some(i) = stack.pop() {
        for j in neighbours(i, across, along).into_iter().flatten() {
            if !inside[j] && !outside[j] {
                outside[j] = true;
                stack.push(j);
            }
        }
    }
    outside.iter().map(|o| !o).collect()
}

fn largest_component(mask: &[bool], across: usize, along: usize) -> Vec<bool> {
    let mut label = vec![0u32; mask.len()];
    let (mut best, mut best_size, mut next) = (0, 0, 0);
    for start in 0..mask.len() {
        if !mask[start] || label[start] != 0 {
            continue;
        }
        next += 1;
        label[start] = next;
        let (mut stack, mut size) = (vec![start], 0);
        while let Some(i) = stack.pop() {
            size += 1;
            for j in neighbours(i, across, along).into_iter().flatten() {
                if mask[j] && label[j] == 0 {
                    label[j] = next;
                    stack.push(j);
                }
            }
        }
        if size > best_size {
            (best, best_size) = (next, size);
        }
    }
    label.iter().map(|&l| l == best && best != 0).collect()
}

/// The four neighbours of a sample.
pub(crate) fn neighbours(i: usize, across: usize, along: usize) -> [Option<usize>; 4] {
    let (x, y) = (i % across, i / across);
    [
        (x > 0).then(|| i - 1),
        (x + 1 < across).then(|| i + 1),
        (y > 0).then(|| i - across),
        (y + 1 < along).then(|| i + across),
    ]
}

/// Mean over a `2·radius+1` square of the samples inside; zero where there are none.
pub(crate) fn local_mean(
    patch: &[f32],
    inside: &[bool],
    across: usize,
    along: usize,
    radius: usize,
) -> Vec<f32> {
    // Summed-area tables of value and count.
    let stride = across + 1;
    let mut sums = vec![0.0f64; stride * (along + 1)];
    let mut counts = vec![0.0f64; stride * (along + 1)];
    for y in 0..along {
        for x in 0..across {
            let i = y * across + x;
            let value = if inside[i] { f64::from(patch[i]) } else { 0.0 };
            let count = if inside[i] { 1.0 } else { 0.0 };
            let at = (y + 1) * stride + x + 1;
            sums[at] = value + sums[at - 1] + sums[at - stride] - sums[at - stride - 1];
            counts[at] = count + counts[at - 1] + counts[at - stride] - counts[at - stride - 1];
        }
    }
    let mut out = vec![0.0f32; patch.len()];
    for y in 0..along {
        for x in 0..across {
            let (x0, x1) = (x.saturating_sub(radius), (x + radius + 1).min(across));
            let (y0, y1) = (y.saturating_sub(radius), (y + radius + 1).min(along));
            let area = |t: &[f64]| {
                t[y1 * stride + x1] - t[y0 * stride + x1] - t[y1 * stride + x0]
                    + t[y0 * stride + x0]
            };
            let count = area(&counts);
            out[y * across + x] = if count > 0.0 {
                (area(&sums) / count) as f32
            } else {
                0.0
            };
        }
    }
    out
}

/// Row of the powder's top: the middle, over the columns, of the first of three rows above `threshold`.
pub(crate) fn top_row(patch: &[f32], across: usize, along: usize, threshold: f32) -> f32 {
    let mut tops: Vec<f32> = (across / 4..across - across / 4)
        .map(|x| {
            (0..along.saturating_sub(2))
                .find(|&y| (y..y + 3).all(|row| patch[row * across + x] > threshold))
                .unwrap_or(along) as f32
        })
        .collect();
    crate::image::quantile(&mut tops, 0.5)
}

/// Part of `chosen` that is connected with what is not `inside`, along chosen neighbours.
pub(crate) fn share_from_outside(
    chosen: &[bool],
    inside: &[bool],
    across: usize,
    along: usize,
) -> f32 {
    let mut reached = vec![false; chosen.len()];
    let mut stack: Vec<usize> = (0..chosen.len())
        .filter(|&i| {
            chosen[i]
                && neighbours(i, across, along)
                    .into_iter()
                    .any(|j| j.is_none_or(|j| !inside[j]))
        })
        .collect();
    stack.iter().for_each(|&i| reached[i] = true);
    while let Some(i) = stack.pop() {
        for j in neighbours(i, across, along).into_iter().flatten() {
            if chosen[j] && !reached[j] {
                reached[j] = true;
                stack.push(j);
            }
        }
    }
    let count = |mask: &[bool]| mask.iter().filter(|m| **m).count() as f32;
    count(&reached) / count(chosen).max(1.0)
}

/// Samples within `reach` rows and columns of a chosen one.
pub(crate) fn dilated(chosen: &[bool], across: usize, reach: usize) -> Vec<bool> {
    let along = chosen.len() / across.max(1);
    let spread = |from: &dyn Fn(usize) -> bool, n: usize| -> Vec<bool> {
        // Distance to the nearest chosen one on either side, along one line.
        let mut near = vec![false; n];
        let mut since = usize::MAX;
        for (i, near) in near.iter_mut().enumerate() {
            since = if from(i) { 0 } else { since.saturating_add(1) };
            *near = since <= reach;
        }
        since = usize::MAX;
        for i in (0..n).rev() {
            since = if from(i) { 0 } else { since.saturating_add(1) };
            near[i] |= since <= reach;
        }
        near
    };
    let mut rows = Vec::with_capacity(chosen.len());
    for y in 0..along {
        rows.extend(spread(&|x| chosen[y * across + x], across));
    }
    let mut out = vec![false; chosen.len()];
    for x in 0..across {
        for (y, near) in spread(&|y| rows[y * across + x], along)
            .into_iter()
            .enumerate()
        {
            out[y * across + x] = near;
        }
    }
    out
}
