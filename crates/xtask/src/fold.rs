//! Folds equal functions of a wasm module into one: generic code leaves many that differ in their type only, and no linker
//! for wasm folds them.
//!
//! Invariant: the module does the same. Two functions that were told apart by their table slots stay two slots.

use std::collections::HashMap;

use anyhow::{Context, Result};
use wasm_encoder::reencode::{Error, Reencode, utils};
use wasm_encoder::{CodeSection, Encode, FunctionSection, Module};
use wasmparser::{CodeSectionReader, FunctionSectionReader, Parser, Payload, TypeRef};

/// The module without its doubled functions, and how many there were.
///
/// # Errors
/// The bytes are no wasm module.
pub(crate) fn fold(wasm: &[u8]) -> Result<(Vec<u8>, usize)> {
    let parts = Parts::of(wasm).context("not a wasm module")?;
    let stands_for = parts.equal_functions()?;
    let dropped = stands_for.iter().enumerate().filter(|(index, first)| *index != **first as usize).count();
    // Those that stay close ranks.
    let mut next = 0;
    let mut renamed = vec![0; stands_for.len()];
    for (index, first) in stands_for.iter().enumerate() {
        if index == *first as usize {
            renamed[index] = next;
            next += 1;
        } else {
            // The first of equal ones comes before them.
            renamed[index] = renamed[*first as usize];
        }
    }
    let stays = stands_for.iter().enumerate().map(|(index, first)| index == *first as usize).collect();
    let mut writer = Renamed { names: renamed, imported: parts.imported, stays: Some(stays) };
    let mut module = Module::new();
    writer.parse_core_module(&mut module, Parser::new(0), wasm).map_err(|error| anyhow::anyhow!("{error}"))?;
    Ok((module.finish(), dropped))
}

/// What of a module tells which functions are equal.
struct Parts<'a> {
    /// Functions that come from outside; they have the first indices.
    imported: usize,
    /// Type of every function of its own.
    types: Vec<u32>,
    /// Body of every function of its own.
    bodies: Vec<wasmparser::FunctionBody<'a>>,
}

impl<'a> Parts<'a> {
    fn of(wasm: &'a [u8]) -> Result<Self> {
        let mut parts = Parts { imported: 0, types: Vec::new(), bodies: Vec::new() };
        for payload in Parser::new(0).parse_all(wasm) {
            match payload? {
                Payload::ImportSection(imports) => {
                    for import in imports.into_imports() {
                        parts.imported += usize::from(matches!(import?.ty, TypeRef::Func(_)));
                    }
                }
                Payload::FunctionSection(types) => parts.types = types.into_iter().collect::<Result<_, _>>()?,
                Payload::CodeSectionEntry(body) => parts.bodies.push(body),
                _ => {}
            }
        }
        Ok(parts)
    }

    /// For every function the first one that is equal to it. Functions that differ only in which of equal functions they
    /// call are equal too: found round by round.
    fn equal_functions(&self) -> Result<Vec<u32>> {
        let mut names: Vec<u32> = (0..).take(self.imported + self.bodies.len()).collect();
        loop {
            let mut seen = HashMap::new();
            let mut reader = Renamed { names: names.clone(), imported: self.imported, stays: None };
            let mut changed = false;
            for (own, (body, ty)) in self.bodies.iter().zip(&self.types).enumerate() {
                let mut code = CodeSection::new();
                reader.parse_function_body(&mut code, body.clone()).map_err(|error| anyhow::anyhow!("{error}"))?;
                let mut bytes = Vec::new();
                code.encode(&mut bytes);
                let index = self.imported + own;
                let first = *seen.entry((*ty, bytes)).or_insert(names[index]);
                changed |= names[index] != first;
                names[index] = first;
            }
            if !changed {
                return Ok(names);
            }
        }
    }
}

/// Writes a module with its functions under other names.
struct Renamed {
    names: Vec<u32>,
    imported: usize,
    /// Which functions are written; `None`: all.
    stays: Option<Vec<bool>>,
}

impl Renamed {
    fn writes(&self, own: usize) -> bool {
        self.stays.as_ref().is_none_or(|stays| stays[self.imported + own])
    }
}

impl Reencode for Renamed {
    type Error = std::convert::Infallible;

    fn function_index(&mut self, index: u32) -> Result<u32, Error<Self::Error>> {
        Ok(self.names[index as usize])
    }

    fn parse_function_section(
        &mut self,
        functions: &mut FunctionSection,
        section: FunctionSectionReader<'_>,
    ) -> Result<(), Error<Self::Error>> {
        for (own, ty) in section.into_iter().enumerate() {
            let ty = ty?;
            if self.writes(own) {
                functions.function(utils::type_index(self, ty));
            }
        }
        Ok(())
    }

    fn parse_code_section(
        &mut self,
        code: &mut CodeSection,
        section: CodeSectionReader<'_>,
    ) -> Result<(), Error<Self::Error>> {
        for (own, body) in section.into_iter().enumerate() {
            let body = body?;
            if self.writes(own) {
                self.parse_function_body(code, body)?;
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use wasm_encoder::{EntityType, ExportKind, ExportSection, Function, ImportSection, TypeSection, ValType};

    /// An imported function, two equal leaves, one other leaf, two callers of the equal leaves and one of the other.
    fn module() -> Vec<u8> {
        let mut types = TypeSection::new();
        types.ty().function([], [ValType::I32]);
        let mut imports = ImportSection::new();
        imports.import("outside", "f", EntityType::Function(0));
        let mut functions = FunctionSection::new();
        let mut code = CodeSection::new();
        let mut add = |fill: &dyn Fn(&mut Function)| {
            functions.function(0);
            let mut body = Function::new([]);
            fill(&mut body);
            body.instructions().end();
            code.function(&body);
        };
        for number in [7, 7, 8] {
            add(&|body| {
                body.instructions().i32_const(number);
            });
        }
        for callee in [1, 2, 3] {
            add(&|body| {
                body.instructions().call(callee);
            });
        }
        let mut exports = ExportSection::new();
        exports.export("a", ExportKind::Func, 4).export("b", ExportKind::Func, 5).export("c", ExportKind::Func, 6);
        let mut module = Module::new();
        module.section(&types).section(&imports).section(&functions).section(&exports).section(&code);
        module.finish()
    }

    #[test]
    fn equal_functions_become_one_and_so_do_their_callers() {
        let (folded, dropped) = fold(&module()).unwrap();
        assert_eq!(dropped, 2);
        let parts = Parts::of(&folded).unwrap();
        assert_eq!((parts.imported, parts.bodies.len()), (1, 4));
        let mut exported = Vec::new();
        for payload in Parser::new(0).parse_all(&folded) {
            if let Payload::ExportSection(exports) = payload.unwrap() {
                exported.extend(exports.into_iter().map(|export| export.unwrap().index));
            }
        }
        assert_eq!(exported, [3, 3, 4]);
        assert_eq!(fold(&folded).unwrap(), (folded.clone(), 0));
    }

    #[test]
    fn what_is_no_module_is_refused() {
        assert!(fold(b"not wasm").is_err());
    }
}
