//! Comma-separated values as RFC 4180 spells them, and nothing looser.
//!
//! General CSV readers repair what is wrongly quoted; a reader that must refuse
//! damage cannot. Here a quote inside a bare field, text after a closing quote
//! and an open quote at the end of the file are errors. Rows end in CRLF or LF.

use crate::{ReadError, error::quoted};
use std::{
    borrow::Cow,
    io::{BufRead, Read},
};

/// Reads rows one by one.
pub(crate) struct Rows<R> {
    from: R,
    buffer: Vec<u8>,
    /// Lines read so far.
    lines: u64,
    most: u64,
}

/// A row as it stands in the file.
pub(crate) struct Row<'a> {
    /// The line it begins on, counting from 1.
    pub line: u64,
    bytes: &'a [u8],
}

impl<R: BufRead> Rows<R> {
    /// Rows of at most `most` bytes.
    pub fn new(from: R, most: u64) -> Rows<R> {
        Rows { from, buffer: Vec::new(), lines: 0, most }
    }

    /// The line after the last one read, counting from 1.
    pub fn line(&self) -> u64 {
        self.lines + 1
    }

    /// The next row; nothing at the end of the file.
    pub fn next_row(&mut self) -> Result<Option<Row<'_>>, ReadError> {
        self.buffer.clear();
        let line = self.line();
        let mut quotes = 0;
        loop {
            let read = self.buffer.len();
            let room = (self.most + 1).saturating_sub(read as u64);
            let mut limited = self.from.by_ref().take(room);
            limited.read_until(b'\n', &mut self.buffer).map_err(|source| ReadError::Io { line, source })?;
            let refused =
                |buffer: &[u8], wanted: String| Err(ReadError::damaged(line, &String::from_utf8_lossy(buffer), wanted));
            if self.buffer.len() as u64 > self.most {
                return refused(&self.buffer, format!("rows of at most {} bytes", self.most));
            }
            if self.buffer.is_empty() {
                return Ok(None);
            }
            if self.buffer.len() == read {
                return refused(&self.buffer, "a closing quote".into());
            }
            self.lines += 1;
            // Quotes come in pairs but for the one that opens a field of several lines.
            quotes += self.buffer[read..].iter().filter(|&&byte| byte == b'"').count();
            if quotes % 2 == 0 {
                return Ok(Some(Row { line, bytes: &self.buffer }));
            }
        }
    }
}

impl Row<'_> {
    /// The row for an error message.
    pub fn shown(&self) -> String {
        String::from_utf8_lossy(self.bytes).trim_end_matches(['\r', '\n']).into()
    }

    /// Its fields, or what was wanted.
    pub fn fields(&self) -> Result<Vec<Cow<'_, str>>, String> {
        let text = std::str::from_utf8(self.bytes).map_err(|_| "text in UTF-8")?;
        let text = text.strip_suffix("\r\n").or_else(|| text.strip_suffix('\n')).unwrap_or(text);
        let mut fields = Vec::new();
        let mut rest = Some(text);
        while let Some(text) = rest {
            let (field, after) = match text.strip_prefix('"') {
                Some(inside) => quoted_field(inside)?,
                None => bare_field(text)?,
            };
            fields.push(field);
            rest = after;
        }
        Ok(fields)
    }
}

/// A field without quotes, and what comes after its comma.
fn bare_field(text: &str) -> Result<(Cow<'_, str>, Option<&str>), String> {
    let (field, after) = match text.split_once(',') {
        Some((field, after)) => (field, Some(after)),
        None => (text, None),
    };
    if field.contains(['"', '\r', '\n']) {
        return Err(format!("{} in quotes", quoted(field)));
    }
    Ok((field.into(), after))
}

/// A field behind its opening quote, and what comes after its comma.
fn quoted_field(text: &str) -> Result<(Cow<'_, str>, Option<&str>), String> {
    let mut from = 0;
    let end = loop {
        let quote = text[from..].find('"').ok_or("a closing quote")? + from;
        if text[quote + 1..].starts_with('"') {
            from = quote + 2;
        } else {
            break quote;
        }
    };
    let field = &text[..end];
    let field = if field.contains('"') { field.replace("\"\"", "\"").into() } else { field.into() };
    match &text[end + 1..] {
        "" => Ok((field, None)),
        after => {
            let after = after.strip_prefix(',').ok_or("a comma or the end of the row after a closing quote")?;
            Ok((field, Some(after)))
        }
    }
}

/// Appends a field, in quotes where it needs them.
pub(crate) fn append_field(field: &[u8], to: &mut Vec<u8>) {
    if !field.iter().any(|byte| matches!(byte, b'"' | b',' | b'\r' | b'\n')) {
        to.extend_from_slice(field);
        return;
    }
    to.push(b'"');
    for &byte in field {
        if byte == b'"' {
            to.push(b'"');
        }
        to.push(byte);
    }
    to.push(b'"');
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn rows(text: &str) -> Result<Vec<Vec<String>>, String> {
        let mut rows = Rows::new(text.as_bytes(), 1000);
        let mut all = Vec::new();
        while let Some(row) = rows.next_row().map_err(|error| error.to_string())? {
            all.push(row.fields()?.into_iter().map(Cow::into_owned).collect());
        }
        Ok(all)
    }

    /// The cases of `fixtures/reference/rfc4180_cases.json`, which names its source.
    fn cases(kind: &str) -> Vec<String> {
        let text = include_str!("../../../fixtures/reference/rfc4180_cases.json");
        let cases: serde_json::Value = serde_json::from_str(text).unwrap();
        let cases: Vec<String> = serde_json::from_value(cases[kind].clone()).unwrap();
        assert!(!cases.is_empty());
        cases
    }

    #[test]
    fn what_the_rfc_allows_is_read() {
        let read: Vec<_> = cases("valid").iter().map(|case| rows(case).unwrap()).collect();
        let row = |fields: &[&str]| fields.iter().map(|field| field.to_string()).collect::<Vec<_>>();
        assert_eq!(
            read,
            [
                vec![row(&["aaa", "bbb", "ccc"])],
                vec![row(&["aaa", "b\r\nbb", "ccc"]), row(&["zzz", "yyy", "xxx"])],
                vec![row(&["aaa", "b\"bb", "ccc"])],
                vec![row(&["a", "", "c"])],
            ]
        );
    }

    #[test]
    fn what_the_rfc_forbids_is_refused() {
        for case in cases("invalid_strict") {
            assert!(rows(&case).is_err(), "{case:?}");
        }
    }

    #[test]
    fn a_stray_carriage_return_is_refused() {
        assert!(rows("a,b\rc\r\n").is_err());
        assert!(rows("a,b\r").is_err());
    }

    proptest! {
        #[test]
        fn any_text_in_a_field_comes_back(fields in prop::collection::vec(any::<String>(), 1..5)) {
            let mut out = Vec::new();
            for (i, field) in fields.iter().enumerate() {
                if i > 0 { out.push(b','); }
                append_field(field.as_bytes(), &mut out);
            }
            out.extend_from_slice(b"\r\n");
            prop_assert_eq!(rows(std::str::from_utf8(&out).unwrap()).unwrap(), vec![fields]);
        }
    }
}
