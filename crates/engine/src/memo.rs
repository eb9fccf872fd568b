use std::sync::Arc;

/// A derived value with its revision: a new number each time it was computed anew.
#[derive(Debug)]
pub(crate) struct Stage<T> {
    pub(crate) rev: u64,
    pub(crate) value: Arc<T>,
}

impl<T> Clone for Stage<T> {
    fn clone(&self) -> Self {
        Stage { rev: self.rev, value: Arc::clone(&self.value) }
    }
}

impl<T> std::ops::Deref for Stage<T> {
    type Target = T;
    fn deref(&self) -> &T {
        &self.value
    }
}

/// Hands out revisions.
#[derive(Debug, Default)]
pub(crate) struct Revisions(u64);

impl Revisions {
    pub(crate) fn next(&mut self) -> u64 {
        self.0 += 1;
        self.0
    }
}

/// The latest values computed from a key, newest first: nothing is computed again for inputs it was computed for.
#[derive(Debug)]
pub(crate) struct Memo<K, T> {
    kept: Vec<(K, Stage<T>)>,
    most: usize,
}

impl<K: PartialEq, T> Default for Memo<K, T> {
    fn default() -> Self {
        Memo::new(2)
    }
}

impl<K: PartialEq, T> Memo<K, T> {
    /// A memo of the last `most` values.
    pub(crate) fn new(most: usize) -> Self {
        Memo { kept: Vec::new(), most }
    }

    /// The value for `key`, computed by `make` if it is not at hand.
    pub(crate) fn get<E>(
        &mut self,
        key: K,
        revisions: &mut Revisions,
        make: impl FnOnce(&K) -> Result<T, E>,
    ) -> Result<Stage<T>, E> {
        if let Some(found) = self.kept.iter().position(|(kept, _)| *kept == key) {
            self.kept[..=found].rotate_right(1);
            return Ok(self.kept[0].1.clone());
        }
        let value = Arc::new(make(&key)?);
        Ok(self.put(key, Stage { rev: revisions.next(), value }))
    }

    /// Puts a value in that was computed elsewhere.
    pub(crate) fn put(&mut self, key: K, stage: Stage<T>) -> Stage<T> {
        self.kept.truncate(self.most.saturating_sub(1));
        self.kept.insert(0, (key, stage.clone()));
        stage
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn computes_once_per_key_and_forgets_the_oldest() {
        let (mut memo, mut revisions, mut computed) = (Memo::new(2), Revisions::default(), 0);
        let mut get = |key: u32| {
            let stage: Result<Stage<u32>, ()> = memo.get(key, &mut revisions, |key| {
                computed += 1;
                Ok(key * 10)
            });
            let stage = stage.unwrap();
            (*stage.value, stage.rev, computed)
        };
        assert_eq!(get(1), (10, 1, 1));
        assert_eq!(get(1), (10, 1, 1));
        assert_eq!(get(2), (20, 2, 2));
        assert_eq!(get(1), (10, 1, 2));
        assert_eq!(get(3), (30, 3, 3));
        assert_eq!(get(2), (20, 4, 4), "2 was used longest ago");
    }
}
