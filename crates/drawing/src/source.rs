//! The bytes of a drawing as text: decompressed under a cap and decoded.
//!
//! Read are UTF-8 (with or without a byte order mark), UTF-16 of either byte
//! order (likewise), and ISO-8859-1, Windows-1252 and US-ASCII when the XML
//! declaration says so. Anything else is refused by name.

use crate::Error;
use crate::error::quote;
use std::borrow::Cow;
use std::io::Read;

/// The most bytes a drawing may have, compressed or not.
pub(crate) const LARGEST: usize = 64 << 20;

/// The drawing in `bytes` as text.
pub(crate) fn text(bytes: &[u8]) -> Result<String, Error> {
    if bytes.is_empty() {
        return Err(Error::Empty);
    }
    if bytes.len() > LARGEST {
        return Err(too_large("the drawing"));
    }
    let bytes = if bytes.starts_with(&[0x1f, 0x8b]) { Cow::Owned(decompress(bytes)?) } else { Cow::Borrowed(bytes) };
    let text = decode(&bytes)?;
    if text.trim().is_empty() {
        return Err(Error::Empty);
    }
    Ok(text)
}

fn too_large(what: &str) -> Error {
    Error::TooLarge {
        place: String::new(),
        what: format!("{what} is larger than {} MB", LARGEST >> 20),
        advice: "simplify it or split it into several drawings".into(),
    }
}

fn decompress(bytes: &[u8]) -> Result<Vec<u8>, Error> {
    let mut plain = Vec::new();
    let cap = LARGEST as u64 + 1;
    flate2::read::GzDecoder::new(bytes)
        .take(cap)
        .read_to_end(&mut plain)
        .map_err(|error| Error::Compression { what: quote(&error.to_string()) })?;
    if plain.len() > LARGEST { Err(too_large("the decompressed drawing")) } else { Ok(plain) }
}

fn decode(bytes: &[u8]) -> Result<String, Error> {
    match *bytes {
        [0xff, 0xfe, 0, 0, ..] | [0, 0, 0xfe, 0xff, ..] => {
            Err(Error::Encoding { what: "the drawing is in UTF-32".into() })
        }
        [0xef, 0xbb, 0xbf, ref rest @ ..] => utf8(rest),
        [0xff, 0xfe, ref rest @ ..] => utf16(rest, u16::from_le_bytes),
        [0xfe, 0xff, ref rest @ ..] => utf16(rest, u16::from_be_bytes),
        [b'<' | b' ' | b'\t' | b'\r' | b'\n', 0, ..] => utf16(bytes, u16::from_le_bytes),
        [0, b'<' | b' ' | b'\t' | b'\r' | b'\n', ..] => utf16(bytes, u16::from_be_bytes),
        _ => declared(bytes),
    }
}

/// Decodes by the encoding that the XML declaration names.
fn declared(bytes: &[u8]) -> Result<String, Error> {
    let name = declared_encoding(bytes).unwrap_or_else(|| "utf-8".into());
    match name.as_str() {
        "utf-8" | "utf8" => utf8(bytes),
        "iso-8859-1" | "latin1" | "latin-1" | "l1" | "iso8859-1" | "iso_8859-1" | "windows-1252" | "cp1252"
        | "us-ascii" | "ascii" => Ok(bytes.iter().map(|&byte| windows_1252(byte)).collect()),
        // A wrong name does no harm to plain ASCII.
        _ if bytes.is_ascii() => utf8(bytes),
        _ => Err(Error::Encoding { what: format!("the encoding {} is not read", quote(&name)) }),
    }
}

fn utf8(bytes: &[u8]) -> Result<String, Error> {
    String::from_utf8(bytes.to_vec()).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        let line = bytes.iter().take(at).filter(|&&byte| byte == b'\n').count() + 1;
        Error::Encoding { what: format!("line {line}, byte {at} is not UTF-8, and no other encoding is declared") }
    })
}

fn utf16(bytes: &[u8], unit: fn([u8; 2]) -> u16) -> Result<String, Error> {
    let fault = |what: &str| Error::Encoding { what: format!("the drawing looks like UTF-16 but {what}") };
    let (pairs, rest) = bytes.as_chunks::<2>();
    if !rest.is_empty() {
        return Err(fault("ends in half a character"));
    }
    char::decode_utf16(pairs.iter().map(|&pair| unit(pair)))
        .collect::<Result<String, _>>()
        .map_err(|_| fault("holds half a character"))
}

/// The lower-case name in `<?xml ... encoding="NAME"?>`.
fn declared_encoding(bytes: &[u8]) -> Option<String> {
    let head = String::from_utf8_lossy(bytes.get(..bytes.len().min(256))?).into_owned();
    let declaration = head.strip_prefix("<?xml")?.split("?>").next()?;
    let value = declaration.split("encoding").nth(1)?.trim_start().strip_prefix('=')?.trim_start();
    let mark = value.chars().next().filter(|c| matches!(c, '"' | '\''))?;
    Some(value.get(1..)?.split(mark).next()?.trim().to_ascii_lowercase())
}

/// A byte of Windows-1252, which is ISO-8859-1 with print characters in place
/// of 27 control ones. Source: WHATWG Encoding Standard, index windows-1252.
fn windows_1252(byte: u8) -> char {
    const UPPER: [char; 32] = [
        '€', '\u{81}', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', '\u{8d}', 'Ž', '\u{8f}', '\u{90}', '‘',
        '’', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', '\u{9d}', 'ž', 'Ÿ',
    ];
    match byte {
        0x80..=0x9f => UPPER.get(usize::from(byte - 0x80)).copied().unwrap_or(char::REPLACEMENT_CHARACTER),
        _ => char::from(byte),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use flate2::{Compression, write::GzEncoder};
    use std::io::Write;

    fn compressed(bytes: &[u8]) -> Vec<u8> {
        let mut encoder = GzEncoder::new(Vec::new(), Compression::fast());
        encoder.write_all(bytes).unwrap();
        encoder.finish().unwrap()
    }

    #[test]
    fn every_byte_order_reads_the_same() {
        let text_of = "<svg>é</svg>";
        let little: Vec<u8> = text_of.encode_utf16().flat_map(u16::to_le_bytes).collect();
        let big: Vec<u8> = text_of.encode_utf16().flat_map(u16::to_be_bytes).collect();
        let with = |mark: &[u8], bytes: &[u8]| [mark, bytes].concat();
        let utf8 = text_of.as_bytes();
        for bytes in [
            utf8.to_vec(),
            with(&[0xef, 0xbb, 0xbf], utf8),
            with(&[0xff, 0xfe], &little),
            with(&[0xfe, 0xff], &big),
            little.clone(),
            big.clone(),
            compressed(utf8),
        ] {
            assert_eq!(text(&bytes).unwrap(), text_of);
        }
    }

    #[test]
    fn a_declared_latin_1_is_decoded_and_another_refused_by_name() {
        let latin = b"<?xml version=\"1.0\" encoding='ISO-8859-1'?><svg id=\"\xe9\"/>";
        assert!(text(latin).unwrap().contains("id=\"é\""));
        let other = b"<?xml version=\"1.0\" encoding=\"Shift_JIS\"?><svg id=\"\xe9\"/>";
        assert!(text(other).unwrap_err().to_string().contains("shift_jis"));
    }

    #[test]
    fn bytes_that_are_no_text_are_refused_with_their_place() {
        let error = text(b"<svg>\n\xff</svg>").unwrap_err().to_string();
        assert!(error.contains("line 2"), "{error}");
        assert!(matches!(text(b""), Err(Error::Empty)));
        assert!(matches!(text(b" \n"), Err(Error::Empty)));
    }

    #[test]
    fn a_compressed_bomb_stops_at_the_cap_and_a_cut_one_is_damaged() {
        let bomb = compressed(&vec![b' '; LARGEST + 10]);
        assert!(bomb.len() < LARGEST / 100);
        assert!(matches!(text(&bomb), Err(Error::TooLarge { .. })));
        let whole = compressed(b"<svg>1234567890abcdefghijklmnopqrstuvwxyz</svg>");
        assert!(matches!(text(&whole[..whole.len() / 2]), Err(Error::Compression { .. })));
    }
}
