//! Short names for what a wasm module takes from its JavaScript glue: wasm-bindgen's are long and end in a hash, which
//! does not compress.
//!
//! Invariant: the glue gives each function under the name by which the module asks for it.

use anyhow::{Context, Result, anyhow, bail};
use std::collections::HashMap;
use std::convert::Infallible;
use wasm_encoder::reencode::{Error, Reencode};
use wasm_encoder::{ImportSection, Module};
use wasmparser::{ImportSectionReader, Parser, Payload};

/// Module and glue with short names between them.
///
/// # Errors
/// The bytes are no wasm module, or the glue does not give each import once.
pub(crate) fn shortened(wasm: &[u8], glue: &str) -> Result<(Vec<u8>, String)> {
    let mut short = HashMap::new();
    for payload in Parser::new(0).parse_all(wasm) {
        if let Payload::ImportSection(imports) = payload.context("not a wasm module")? {
            for (number, import) in imports.into_imports().enumerate() {
                short.insert(import?.name.to_owned(), format!("i{number}"));
            }
        }
    }
    let mut given = 0;
    // In the glue each is a property on a line of its own: `name: function(…) {`.
    let mut rename = |line: &str| {
        let indent = line.len() - line.trim_start().len();
        let renamed = line[indent..].split_once(':').and_then(|(name, rest)| {
            let short = short.get(name)?;
            given += 1;
            Some(format!("{}{short}:{rest}", &line[..indent]))
        });
        renamed.unwrap_or_else(|| line.to_owned())
    };
    let glue: Vec<String> = glue.lines().map(&mut rename).collect();
    if given != short.len() {
        bail!("the glue gives {given} of {} functions: wasm-bindgen writes another glue than expected", short.len());
    }
    let mut module = Module::new();
    let mut writer = Short { names: short };
    writer.parse_core_module(&mut module, Parser::new(0), wasm).map_err(|error| anyhow!("{error}"))?;
    Ok((module.finish(), glue.join("\n")))
}

/// Writes a module with its imports under other names.
struct Short {
    names: HashMap<String, String>,
}

impl Reencode for Short {
    type Error = Infallible;

    fn parse_import_section(
        &mut self,
        imports: &mut ImportSection,
        section: ImportSectionReader<'_>,
    ) -> Result<(), Error<Infallible>> {
        for import in section.into_imports() {
            let import = import?;
            let ty = self.entity_type(import.ty)?;
            imports.import(import.module, self.names.get(import.name).map_or(import.name, String::as_str), ty);
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::functions::sample::module;

    fn imported(wasm: &[u8]) -> Vec<String> {
        let mut names = Vec::new();
        for payload in Parser::new(0).parse_all(wasm) {
            if let Payload::ImportSection(imports) = payload.unwrap() {
                names.extend(imports.into_imports().map(|import| import.unwrap().name.to_owned()));
            }
        }
        names
    }

    #[test]
    fn module_and_glue_agree_on_the_short_name() {
        let (wasm, glue) = shortened(&module(), "x = {\n  f: function(f) {\n    return f;\n  },\n};").unwrap();
        assert_eq!(imported(&wasm), ["i0"]);
        assert_eq!(glue, "x = {\n  i0: function(f) {\n    return f;\n  },\n};");
    }

    #[test]
    fn a_glue_without_the_function_is_refused() {
        assert!(shortened(&module(), "x = {}").is_err());
        assert!(shortened(&module(), "x = {\n f: 1,\n f: 2\n}").is_err());
        assert!(shortened(b"not wasm", "").is_err());
    }
}
