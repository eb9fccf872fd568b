//! The tags of an XML text, one after another, as they are unpacked.
//!
//! Enough of XML 1.0 for the numbers of a 3MF model or the curves of a drawing in UTF-8: elements with attributes, which
//! must be nested properly; text, comments, declarations and character data are passed over, and so are document types
//! unless the caller forbids them. Entities are left as they are written. Nothing is held but the tag at hand and the
//! names of those around it.
//!
//! The crate `quick-xml` would do the same, but costs the page three times as much as all of 3MF does now.

use std::io::BufRead;

/// Longest tag or comment, bytes.
const LONGEST_PIECE: usize = 1 << 20;
/// How deep elements may stand in each other.
const MOST_DEPTH: usize = 64;
/// A document type with declarations of its own opens its bracket within so many bytes.
const BRACKET_WITHIN: usize = 1000;

/// One tag: its name with prefix, and its attributes as they are written.
#[derive(Clone, Copy, Debug)]
pub struct Tag<'a> {
    /// The name, with its prefix.
    pub name: &'a str,
    /// The attributes as they are written.
    pub written: &'a str,
}

/// What to do with a document type (`<!DOCTYPE …>`).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DocumentType {
    /// It is an error, in these words.
    Refused(&'static str),
    /// It is left out, with the declarations in it.
    PassedOver,
}

/// A name without its prefix.
#[must_use]
pub fn local(name: &str) -> &str {
    name.rsplit_once(':').map_or(name, |(_, local)| local)
}

impl<'a> Tag<'a> {
    /// Name and value of each attribute.
    pub fn attributes(&self) -> impl Iterator<Item = (&'a str, &'a str)> + use<'a> {
        let mut rest = self.written;
        std::iter::from_fn(move || {
            let (name, after) = rest.split_once('=')?;
            let after = after.trim_ascii_start();
            let quote = after.chars().next().filter(|quote| matches!(quote, '"' | '\''))?;
            let (value, after) = after[1..].split_once(quote)?;
            rest = after;
            Some((name.trim_ascii(), value))
        })
    }

    /// An attribute by its name without prefix.
    #[must_use]
    pub fn attribute(&self, wanted: &str) -> Option<&'a str> {
        self.attributes().find(|(name, _)| local(name) == wanted).map(|(_, value)| value)
    }
}

/// Hands out the start and the end of every element, with the byte where its tag starts: `take(byte, tag, is_start)`.
///
/// # Errors
/// What `take` answers; the byte and what is wrong there, through `broken`.
pub fn each_tag<E>(
    mut source: impl BufRead,
    document_type: DocumentType,
    broken: impl Fn(usize, &str) -> E,
    mut take: impl FnMut(usize, &Tag, bool) -> Result<(), E>,
) -> Result<(), E> {
    let mut open: Vec<String> = Vec::new();
    let mut piece = Vec::new();
    let mut at = 0;
    while let Some(start) = next_piece(&mut source, &mut piece, &mut at).map_err(|(byte, what)| broken(byte, &what))? {
        let text = std::str::from_utf8(&piece).map_err(|_| broken(start, "the text is not UTF-8"))?;
        if text.starts_with("!--") || text.starts_with("![CDATA[") || text.starts_with('?') {
            continue;
        }
        if text.starts_with('!') {
            match document_type {
                DocumentType::Refused(why) => return Err(broken(start, why)),
                DocumentType::PassedOver => continue,
            }
        }
        if let Some(name) = text.strip_prefix('/') {
            let name = name.trim_ascii();
            if open.pop().as_deref() != Some(name) {
                return Err(broken(start, "a tag closes what was not opened last"));
            }
            take(start, &Tag { name, written: "" }, false)?;
            continue;
        }
        let (text, is_empty) = text.strip_suffix('/').map_or((text, false), |text| (text, true));
        let end = text.find(|letter: char| letter.is_ascii_whitespace()).unwrap_or(text.len());
        let (name, written) = text.split_at(end);
        if name.is_empty() || open.len() >= MOST_DEPTH {
            return Err(broken(start, "a tag without name, or elements without end in each other"));
        }
        let tag = Tag { name, written };
        take(start, &tag, true)?;
        if is_empty {
            take(start, &Tag { name, written: "" }, false)?;
        } else {
            open.push(name.to_owned());
        }
    }
    if open.is_empty() { Ok(()) } else { Err(broken(at, "the text ends before its last element does")) }
}

/// Puts what stands between the next `<` and its `>` into `piece`; answers where it starts, `None` at the end of the text.
fn next_piece(
    source: &mut impl BufRead,
    piece: &mut Vec<u8>,
    at: &mut usize,
) -> Result<Option<usize>, (usize, String)> {
    piece.clear();
    let mut start = None;
    let mut quote = 0;
    loop {
        let bytes = source.fill_buf().map_err(|fault| (start.unwrap_or(*at), fault.to_string()))?;
        if bytes.is_empty() {
            return start.map_or(Ok(None), |start| Err((start, "a tag is cut short".to_owned())));
        }
        let mut used = 0;
        if start.is_none() {
            used = bytes.iter().position(|&byte| byte == b'<').map_or(bytes.len(), |found| found + 1);
            if bytes[used - 1] == b'<' {
                start = Some(*at + used - 1);
            }
        }
        let mut is_whole = false;
        if start.is_some() {
            for &byte in &bytes[used..] {
                used += 1;
                is_whole = byte == b'>' && ends(piece, quote);
                if is_whole {
                    break;
                }
                piece.push(byte);
                let is_tag = !matches!(piece[0], b'!' | b'?');
                if is_tag && matches!(byte, b'"' | b'\'') && (quote == 0 || quote == byte) {
                    quote ^= byte;
                }
            }
        }
        source.consume(used);
        *at += used;
        if is_whole {
            return Ok(start);
        }
        if piece.len() > LONGEST_PIECE {
            return Err((start.unwrap_or(*at), "a tag or comment of more than a megabyte".to_owned()));
        }
    }
}

/// Whether a `>` after this ends it.
fn ends(piece: &[u8], quote: u8) -> bool {
    match piece {
        [b'!', b'-', b'-', rest @ ..] => rest.ends_with(b"--"),
        [b'!', b'[', ..] => piece.ends_with(b"]]"),
        [b'?', rest @ ..] => rest.ends_with(b"?"),
        [b'!', rest @ ..] if rest.iter().take(BRACKET_WITHIN).any(|&byte| byte == b'[') => {
            rest.trim_ascii_end().ends_with(b"]")
        }
        _ => quote == 0,
    }
}
