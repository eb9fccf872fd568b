//! Sorting with one sorter for all types: the standard one is copied for every type and comparison, 2 to 5 kB each, which
//! the page has to download. For what is sorted seldom or in small numbers.

use std::cmp::Ordering;

/// Sorts `items`; equal ones keep their order.
///
/// ```
/// let mut rows: Vec<(f64, &str)> = vec![(2.5, "b"), (1.0, "c"), (2.5, "a")];
/// base::sort_by(&mut rows, |a, b| a.0.total_cmp(&b.0));
/// assert_eq!(rows, [(1.0, "c"), (2.5, "b"), (2.5, "a")]);
/// ```
pub fn sort_by<T>(items: &mut [T], compare: impl Fn(&T, &T) -> Ordering) {
    let order = order(items.len(), &|a, b| compare(&items[a], &items[b]));
    put(items, order);
}

/// Sorts `items` by a key, which is asked for once for each; equal ones keep their order.
pub fn sort_by_key<T, K: Ord>(items: &mut [T], key: impl Fn(&T) -> K) {
    let keys: Vec<K> = items.iter().map(key).collect();
    put(items, order(keys.len(), &|a, b| keys[a].cmp(&keys[b])));
}

/// Puts at every place the item whose number stands there in `order`.
fn put<T>(items: &mut [T], mut order: Vec<usize>) {
    // Along each ring of the order every item is swapped to its place.
    for start in 0..order.len() {
        let mut place = start;
        while order[place] != start {
            let from = order[place];
            items.swap(place, from);
            order[place] = place;
            place = from;
        }
        order[place] = place;
    }
}

/// Sorts numbers by their total order.
pub fn sort_numbers(numbers: &mut [f64]) {
    numbers.sort_unstable_by(f64::total_cmp);
}

/// The numbers 0 … `count` − 1 in the order of what they stand for.
#[must_use]
pub fn order(count: usize, compare: &dyn Fn(usize, usize) -> Ordering) -> Vec<usize> {
    let mut order: Vec<usize> = (0..count).collect();
    // With the number as the last word an unstable sort, which needs no second copy of the code for merging, is stable.
    order.sort_unstable_by(|&a, &b| compare(a, b).then(a.cmp(&b)));
    order
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_sorts_as_the_standard_library_does() {
        let mut state = 1_u64;
        for count in [0, 1, 2, 3, 20, 21, 500] {
            let items: Vec<(u64, usize)> = (0..count)
                .map(|index| {
                    state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                    (state >> 59, index)
                })
                .collect();
            let (mut ours, mut theirs) = (items.clone(), items.clone());
            sort_by_key(&mut ours, |item| item.0);
            theirs.sort_by_key(|item| item.0);
            assert_eq!(ours, theirs);
            let mut numbers: Vec<f64> = items.iter().map(|item| -(item.0 as f64)).collect();
            sort_numbers(&mut numbers);
            assert!(numbers.is_sorted());
        }
    }
}
