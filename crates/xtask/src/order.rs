//! Orders the functions of a wasm module so that those alike stand next to each other: what is near is told in fewer bits
//! when the module is compressed (distances in brotli, RFC 7932, section 4).
//!
//! Invariant: the module does the same; only the names of its functions change.

use std::cmp::Reverse;
use std::collections::HashMap;

use anyhow::{Context, Result};
use wasmparser::Operator;

use crate::functions::Functions;

/// Bytes of code that are looked at together. This and the numbers below were tried on the page: others save less.
const RUN: usize = 6;
/// Runs that stand for a function: those with the least hashes, as in A. Broder, "On the resemblance and containment of
/// documents", 1997 (from memory).
const SKETCH: usize = 64;
/// A run in more functions than this says nothing of any of them.
const COMMON: usize = 8000;
/// Functions that share less than one part in so many of their runs are not alike.
const ALIKE: usize = 4;

/// The module with its functions in another order.
///
/// # Errors
/// The bytes are no wasm module.
pub(crate) fn alike_together(wasm: &[u8]) -> Result<Vec<u8>> {
    let functions = Functions::of(wasm).context("not a wasm module")?;
    let codes = (0..functions.bodies.len()).map(|own| code(&functions, own)).collect::<Result<Vec<_>>>()?;
    let mut starts: Vec<usize> = (0..codes.len()).collect();
    starts.sort_by_key(|&own| (functions.types[own], &codes[own]));
    let same: Vec<u32> = (0..).take(functions.imported + codes.len()).collect();
    functions.written(&chained(&starts, &codes), &same)
}

/// What a function does, whichever functions it calls.
fn code(functions: &Functions<'_>, own: usize) -> Result<Vec<u8>> {
    let (bytes, body) = (functions.bytes(own), &functions.bodies[own]);
    let mut code = Vec::with_capacity(bytes.len());
    let mut taken = 0;
    for operator in body.get_operators_reader()?.into_iter_with_offsets() {
        let (operator, offset) = operator?;
        let offset = offset - body.range().start;
        code.extend_from_slice(&bytes[taken..offset]);
        // The name of a callee is skipped: it is as long as needed, and that much is left out.
        taken = match operator {
            Operator::Call { function_index } => {
                code.push(bytes[offset]);
                offset + 1 + leb_length(function_index)
            }
            _ => offset,
        };
    }
    code.extend_from_slice(bytes.get(taken..).unwrap_or_default());
    Ok(code)
}

/// Bytes of a number in LEB128 without padding.
fn leb_length(number: u32) -> usize {
    number.max(1).ilog2() as usize / 7 + 1
}

/// From each start the function most alike of those left, and from that on, as long as there is one.
fn chained(starts: &[usize], codes: &[Vec<u8>]) -> Vec<usize> {
    let sketches: Vec<Vec<u64>> = codes.iter().map(|code| sketch(code)).collect();
    let mut with_run: HashMap<u64, Vec<usize>> = HashMap::new();
    for (own, sketch) in sketches.iter().enumerate() {
        for &run in sketch {
            with_run.entry(run).or_default().push(own);
        }
    }
    with_run.retain(|_, functions| functions.len() <= COMMON);
    let mut order = Vec::with_capacity(codes.len());
    let mut left = vec![true; codes.len()];
    let mut shared = vec![0; codes.len()];
    for &start in starts {
        let mut next = left[start].then_some(start);
        while let Some(own) = next {
            left[own] = false;
            order.push(own);
            let mut touched = Vec::new();
            for &other in sketches[own].iter().filter_map(|run| with_run.get(run)).flatten() {
                if left[other] {
                    if shared[other] == 0 {
                        touched.push(other);
                    }
                    shared[other] += 1;
                }
            }
            let runs = |other: usize| sketches[own].len().max(sketches[other].len());
            let alike = touched.iter().copied().filter(|&other| shared[other] * ALIKE >= runs(other));
            // In thousandths; of equals the first.
            next = alike.max_by_key(|&other| (shared[other] * 1000 / runs(other), Reverse(other)));
            touched.iter().for_each(|&other| shared[other] = 0);
        }
    }
    order
}

/// The hashes that stand for a function.
fn sketch(code: &[u8]) -> Vec<u64> {
    // Odd numbers far from a power of two mix the bits; any would do.
    let hash = |run: &[u8]| {
        run.iter()
            .fold(0_u64, |hash, &byte| (hash ^ u64::from(byte)).wrapping_mul(0x9E37_79B9_7F4A_7C15).rotate_left(23))
    };
    let mut hashes: Vec<u64> = code.windows(RUN).map(hash).collect();
    hashes.sort_unstable();
    hashes.dedup();
    hashes.truncate(SKETCH);
    hashes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::functions::sample::{exported, module};

    #[test]
    fn those_alike_follow_each_other_and_each_comes_once() {
        let codes: Vec<Vec<u8>> = ["one and the same thing", "quite another matter", "one and the same things"]
            .map(|text| text.as_bytes().to_vec())
            .into();
        assert_eq!(chained(&[0, 1, 2], &codes), [0, 2, 1]);
        assert_eq!(chained(&[1, 2, 0], &codes), [1, 2, 0]);
    }

    #[test]
    fn a_call_is_seen_without_its_callee() {
        let wasm = module();
        let functions = Functions::of(&wasm).unwrap();
        assert_eq!(code(&functions, 3).unwrap(), code(&functions, 5).unwrap());
        assert_ne!(code(&functions, 0).unwrap(), code(&functions, 2).unwrap());
        assert_eq!([0, 127, 128, 16_383, 16_384].map(leb_length), [1, 1, 2, 2, 3]);
    }

    #[test]
    fn what_is_called_and_exported_goes_along() {
        let before = module();
        let after = alike_together(&before).unwrap();
        let (before, places) = (Functions::of(&before).unwrap(), exported(&before));
        let (after, moved) = (Functions::of(&after).unwrap(), exported(&after));
        assert_eq!(before.bodies.len(), after.bodies.len());
        for (place, moved) in places.iter().zip(moved) {
            // An exported function of the sample is a call of a leaf: followed to the leaf, it is the same.
            let leaf = |functions: &Functions<'_>, index: u32| {
                let caller = functions.bytes(index as usize - functions.imported);
                functions.bytes(usize::from(caller[2]) - functions.imported).to_vec()
            };
            assert_eq!(leaf(&before, *place), leaf(&after, moved));
        }
    }

    #[test]
    fn what_is_no_module_is_refused() {
        assert!(alike_together(b"not wasm").is_err());
    }
}
