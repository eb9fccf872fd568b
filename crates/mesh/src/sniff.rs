//! What a file looks like from its first bytes, so that an error can say what was chosen instead.

/// Bytes looked at to tell text from binary.
const SAMPLE_BYTES: usize = 1024;

/// Whether the first bytes hold no control characters but those of text.
#[must_use]
pub fn is_text(bytes: &[u8]) -> bool {
    let sample = &bytes[..bytes.len().min(SAMPLE_BYTES)];
    sample.iter().all(|&byte| byte >= 0x20 && byte != 0x7f || matches!(byte, 0x09..=0x0d))
}

/// Where a text starts: after a byte order mark, if there is one.
#[must_use]
pub fn after_byte_order_mark(bytes: &[u8]) -> usize {
    if bytes.starts_with(b"\xef\xbb\xbf") { 3 } else { 0 }
}

/// The first word after blanks and a byte order mark.
#[must_use]
pub fn first_word(bytes: &[u8]) -> &[u8] {
    let bytes = bytes[after_byte_order_mark(bytes)..].trim_ascii_start();
    &bytes[..bytes.iter().position(u8::is_ascii_whitespace).unwrap_or(bytes.len())]
}

/// What the bytes look like, with its article; `None` for bytes that look like nothing known.
#[must_use]
pub fn looks_like(bytes: &[u8]) -> Option<&'static str> {
    const MARKS: [(&[u8], &str); 13] = [
        (b"PK\x03\x04", "a zip archive (a zipped scan, or 3MF)"),
        (b"glTF", "a binary glTF file"),
        (b"\x89PNG", "a PNG picture"),
        (b"\xff\xd8\xff", "a JPEG picture"),
        (b"\x1f\x8b", "a gzip archive"),
        (b"7z\xbc\xaf\x27\x1c", "a 7-Zip archive"),
        (b"Rar!", "a RAR archive"),
        (b"%PDF", "a PDF document"),
        (b"ply\n", "a PLY file"),
        (b"ply\r", "a PLY file"),
        (b"ISO-10303-21", "a STEP file"),
        (b"\xff\xfe", "a text of 16-bit letters (UTF-16)"),
        (b"\xfe\xff", "a text of 16-bit letters (UTF-16)"),
    ];
    let start = &bytes[after_byte_order_mark(bytes)..];
    if let Some((_, what)) = MARKS.iter().find(|(mark, _)| start.starts_with(mark)) {
        return Some(what);
    }
    is_text(bytes).then(|| text_looks_like(start))
}

fn text_looks_like(bytes: &[u8]) -> &'static str {
    let sample = &bytes[..bytes.len().min(SAMPLE_BYTES)];
    let line_starts_with = |word: &[u8]| sample.split(|&byte| byte == b'\n').any(|line| line.starts_with(word));
    match first_word(bytes) {
        [b'{', ..] => "a JSON file (glTF is one)",
        [b'<', ..] => "an XML or HTML document",
        b"OFF" => "an OFF file",
        _ if line_starts_with(b"v ") || line_starts_with(b"mtllib ") => "an OBJ file",
        _ => "a text file",
    }
}
