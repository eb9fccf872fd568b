/// A run of joined segments.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Chain {
    /// The keys passed, in order; of a closed chain the first is not repeated at the end.
    pub(crate) keys: Vec<u64>,
    /// Whether the last key is joined to the first.
    pub(crate) is_closed: bool,
}

const NONE: u32 = u32::MAX;

/// Joins segments (from key, to key) into chains wherever they share a key.
///
/// Ends are joined to starts first, so that segments which all run the same way give chains which run that way; what
/// is left over is joined whichever way it runs. Every segment is in exactly one chain, and the order of the chains
/// depends on the segments alone.
pub(crate) fn chains(segments: &[[u64; 2]]) -> Vec<Chain> {
    let joints = joints(segments);
    let mut is_used = vec![false; segments.len()];
    let mut found = Vec::new();
    let mut walk = |start: u32| {
        if is_used[start as usize / 2] {
            return;
        }
        // An end is 2 · segment, + 1 for its second key. Walk in at `start`, out at the other end, and on.
        let key = |end: u32| segments[end as usize / 2][end as usize % 2];
        let mut keys = vec![key(start)];
        let mut enter = start;
        let is_closed = loop {
            is_used[enter as usize / 2] = true;
            let exit = enter ^ 1;
            enter = joints[exit as usize];
            if enter == start {
                break true;
            }
            keys.push(key(exit));
            if enter == NONE {
                break false;
            }
        };
        found.push(Chain { keys, is_closed });
    };
    let ends = || 0..2 * segments.len() as u32;
    ends().step_by(2).filter(|&end| joints[end as usize] == NONE).for_each(&mut walk);
    ends().filter(|&end| joints[end as usize] == NONE).for_each(&mut walk);
    ends().step_by(2).for_each(&mut walk);
    found
}

/// Per end of a segment, the end it is joined to.
fn joints(segments: &[[u64; 2]]) -> Vec<u32> {
    let mut ends: Vec<(u64, u32)> =
        segments.as_flattened().iter().enumerate().map(|(end, &key)| (key, end as u32)).collect();
    ends.sort_unstable();
    let mut joints = vec![NONE; ends.len()];
    let mut join = |a: u32, b: u32| {
        joints[a as usize] = b;
        joints[b as usize] = a;
    };
    for same_key in ends.chunk_by(|a, b| a.0 == b.0) {
        if let [(_, a), (_, b)] = *same_key {
            join(a, b);
            continue;
        }
        let (starts, stops): (Vec<u32>, Vec<u32>) = same_key.iter().map(|end| end.1).partition(|end| end % 2 == 0);
        let both = starts.len().min(stops.len());
        starts.iter().zip(&stops).for_each(|(&start, &stop)| join(start, stop));
        starts[both..].chunks_exact(2).chain(stops[both..].chunks_exact(2)).for_each(|pair| join(pair[0], pair[1]));
    }
    joints
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(segments: &[[u64; 2]], expected: &[(&[u64], bool)]) {
        let expected: Vec<_> =
            expected.iter().map(|&(keys, is_closed)| Chain { keys: keys.to_vec(), is_closed }).collect();
        assert_eq!(chains(segments), expected);
    }

    #[test]
    fn segments_join_into_runs_and_loops() {
        check(&[], &[]);
        check(&[[1, 2], [2, 3], [3, 1]], &[(&[1, 2, 3], true)]);
        check(&[[2, 3], [1, 2], [3, 4]], &[(&[1, 2, 3, 4], false)]);
        check(&[[7, 7]], &[(&[7], true)]);
        // Turned round segments are joined all the same.
        check(&[[1, 2], [3, 2], [3, 1]], &[(&[1, 2, 3], true)]);
        // Two loops through one key stay two loops or become one, but keep their direction.
        check(&[[1, 2], [2, 1], [1, 3], [3, 1]], &[(&[1, 2], true), (&[1, 3], true)]);
        // A loop with a tail.
        check(&[[1, 2], [2, 1], [5, 1]], &[(&[5, 1], false), (&[1, 2], true)]);
    }
}
