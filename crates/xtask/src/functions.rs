//! The functions of a wasm module, taken apart and written again under other names and in another order.

use std::convert::Infallible;

use anyhow::{Result, anyhow};
use wasm_encoder::reencode::{Error, Reencode, utils};
use wasm_encoder::{CodeSection, Encode, FunctionSection, Module};
use wasmparser::{CodeSectionReader, FunctionBody, FunctionSectionReader, Parser, Payload, TypeRef};

/// The functions of a module.
pub(crate) struct Functions<'a> {
    wasm: &'a [u8],
    /// Functions that come from outside; they have the first indices.
    pub(crate) imported: usize,
    /// Type of every function of its own.
    pub(crate) types: Vec<u32>,
    /// Body of every function of its own.
    pub(crate) bodies: Vec<FunctionBody<'a>>,
}

impl<'a> Functions<'a> {
    /// # Errors
    /// The bytes are no wasm module.
    pub(crate) fn of(wasm: &'a [u8]) -> Result<Self> {
        let mut functions = Functions { wasm, imported: 0, types: Vec::new(), bodies: Vec::new() };
        for payload in Parser::new(0).parse_all(wasm) {
            match payload? {
                Payload::ImportSection(imports) => {
                    for import in imports.into_imports() {
                        functions.imported += usize::from(matches!(import?.ty, TypeRef::Func(_)));
                    }
                }
                Payload::FunctionSection(types) => functions.types = types.into_iter().collect::<Result<_, _>>()?,
                Payload::CodeSectionEntry(body) => functions.bodies.push(body),
                _ => {}
            }
        }
        Ok(functions)
    }

    /// The bytes of a function of its own.
    pub(crate) fn bytes(&self, own: usize) -> &'a [u8] {
        &self.wasm[self.bodies[own].range()]
    }

    /// The module with only these of its own functions, in this order. `stands_for` names, for every function of the
    /// module, the one to be called in its place.
    ///
    /// # Errors
    /// The module has something that the writer does not know.
    pub(crate) fn written(&self, order: &[usize], stands_for: &[u32]) -> Result<Vec<u8>> {
        let mut place: Vec<u32> = (0..).take(self.imported + self.bodies.len()).collect();
        for (new, &own) in (self.imported as u32..).zip(order) {
            place[self.imported + own] = new;
        }
        let names: Vec<u32> = stands_for.iter().map(|&first| place[first as usize]).collect();
        let mut module = Module::new();
        Renamed { names: &names, order }
            .parse_core_module(&mut module, Parser::new(0), self.wasm)
            .map_err(|error| anyhow!("{error}"))?;
        Ok(module.finish())
    }

    /// A body that calls by other names, as bytes.
    pub(crate) fn renamed(&self, own: usize, names: &[u32]) -> Result<Vec<u8>> {
        let mut code = CodeSection::new();
        Renamed { names, order: &[] }
            .parse_function_body(&mut code, self.bodies[own].clone())
            .map_err(|error| anyhow!("{error}"))?;
        let mut bytes = Vec::new();
        code.encode(&mut bytes);
        Ok(bytes)
    }
}

/// Writes functions under other names and in another order.
struct Renamed<'o> {
    names: &'o [u32],
    order: &'o [usize],
}

impl Reencode for Renamed<'_> {
    type Error = Infallible;

    fn function_index(&mut self, index: u32) -> Result<u32, Error<Infallible>> {
        Ok(self.names[index as usize])
    }

    fn parse_function_section(
        &mut self,
        functions: &mut FunctionSection,
        section: FunctionSectionReader<'_>,
    ) -> Result<(), Error<Infallible>> {
        let types: Vec<u32> = section.into_iter().collect::<Result<_, _>>()?;
        for &own in self.order {
            functions.function(utils::type_index(self, types[own]));
        }
        Ok(())
    }

    fn parse_code_section(
        &mut self,
        code: &mut CodeSection,
        section: CodeSectionReader<'_>,
    ) -> Result<(), Error<Infallible>> {
        let bodies: Vec<FunctionBody<'_>> = section.into_iter().collect::<Result<_, _>>()?;
        for &own in self.order {
            self.parse_function_body(code, bodies[own].clone())?;
        }
        Ok(())
    }
}

/// A small module for tests.
#[cfg(test)]
pub(crate) mod sample {
    use super::*;
    use wasm_encoder::{EntityType, ExportKind, ExportSection, Function, ImportSection, TypeSection, ValType};

    /// An imported function, two equal leaves, one other leaf, two callers of the equal leaves and one of the other.
    pub(crate) fn module() -> Vec<u8> {
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

    /// Indices of what a module exports.
    pub(crate) fn exported(wasm: &[u8]) -> Vec<u32> {
        let mut exported = Vec::new();
        for payload in Parser::new(0).parse_all(wasm) {
            if let Payload::ExportSection(exports) = payload.unwrap() {
                exported.extend(exports.into_iter().map(|export| export.unwrap().index));
            }
        }
        exported
    }
}
