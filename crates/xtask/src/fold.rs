//! Folds equal functions of a wasm module into one: generic code leaves many that differ in their type only, and no linker
//! for wasm folds them.
//!
//! Invariant: the module does the same. Two functions that were told apart by their table slots stay two slots.

use std::collections::HashMap;

use anyhow::{Context, Result};

use crate::functions::Functions;

/// The module without its doubled functions, and how many there were.
///
/// # Errors
/// The bytes are no wasm module.
pub(crate) fn fold(wasm: &[u8]) -> Result<(Vec<u8>, usize)> {
    let functions = Functions::of(wasm).context("not a wasm module")?;
    let stands_for = equal_functions(&functions)?;
    let own = 0..functions.bodies.len();
    let stays: Vec<usize> = own
        .filter(|own| {
            let index = functions.imported + own;
            index == stands_for[index] as usize
        })
        .collect();
    Ok((functions.written(&stays, &stands_for)?, functions.bodies.len() - stays.len()))
}

/// For every function the first one that is equal to it. Functions that differ only in which of equal functions they
/// call are equal too: found round by round.
fn equal_functions(functions: &Functions<'_>) -> Result<Vec<u32>> {
    let mut names: Vec<u32> = (0..).take(functions.imported + functions.bodies.len()).collect();
    loop {
        let mut seen = HashMap::new();
        let called = names.clone();
        let mut changed = false;
        for (own, ty) in functions.types.iter().enumerate() {
            let index = functions.imported + own;
            let first = *seen.entry((*ty, functions.renamed(own, &called)?)).or_insert(names[index]);
            changed |= names[index] != first;
            names[index] = first;
        }
        if !changed {
            return Ok(names);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::functions::sample::{exported, module};

    #[test]
    fn equal_functions_become_one_and_so_do_their_callers() {
        let (folded, dropped) = fold(&module()).unwrap();
        assert_eq!(dropped, 2);
        let functions = Functions::of(&folded).unwrap();
        assert_eq!((functions.imported, functions.bodies.len()), (1, 4));
        assert_eq!(exported(&folded), [3, 3, 4]);
        assert_eq!(fold(&folded).unwrap(), (folded.clone(), 0));
    }

    #[test]
    fn what_is_no_module_is_refused() {
        assert!(fold(b"not wasm").is_err());
    }
}
