//! What tables that people keep in spreadsheets have in common: charts, rows for many designs, measurements.

/// What parts the fields of a table: a comma, or where its first line has none a semicolon or a tab, as spreadsheets
/// write it in countries with a decimal comma.
pub fn parted_by(bytes: &[u8]) -> u8 {
    let heading = bytes.split(|&byte| byte == b'\n').next().unwrap_or_default();
    [b',', b';', b'\t'].into_iter().find(|byte| heading.contains(byte)).unwrap_or(b',')
}

/// The line that a row of a table begins on, counting from 1. Its position is where the row before it ended, so the
/// second half of that row's line break and the empty lines between them are still to be counted.
pub fn line_at(bytes: &[u8], position: &csv::Position) -> u64 {
    let from = usize::try_from(position.byte()).ok().and_then(|byte| bytes.get(byte..)).unwrap_or_default();
    let breaks = from.iter().take_while(|byte| matches!(byte, b'\r' | b'\n'));
    position.line() + breaks.filter(|&&byte| byte == b'\n').count() as u64
}

/// The first quotes of a table that do not stand as RFC 4180 has them: the line on which the field opens, counting from 1,
/// and what is wrong. Readers of CSV mend such fields in silence, and take the rows up to the next quote for one.
pub fn wrong_quotes(bytes: &[u8]) -> Option<(u64, &'static str)> {
    const OPEN: &str = "a quote is not closed; close it, and write a quote within a text twice";
    const AFTER: &str = "text follows the quote that closes a field; write a quote within a text twice";
    let comma = parted_by(bytes);
    let ends_field = |byte: u8| byte == comma || matches!(byte, b'\r' | b'\n');
    let (mut line, mut at, mut starts_field) = (1, 0, true);
    while let Some(&byte) = bytes.get(at) {
        at += 1;
        line += u64::from(byte == b'\n');
        if byte != b'"' || !starts_field {
            starts_field = ends_field(byte);
            continue;
        }
        let opened = line;
        loop {
            let Some(&inside) = bytes.get(at) else { return Some((opened, OPEN)) };
            at += 1;
            line += u64::from(inside == b'\n');
            if inside != b'"' {
                continue;
            }
            if bytes.get(at) != Some(&b'"') {
                break;
            }
            at += 1;
        }
        while matches!(bytes.get(at), Some(b' ' | b'\t')) && !bytes.get(at).is_some_and(|&byte| ends_field(byte)) {
            at += 1;
        }
        if bytes.get(at).is_some_and(|&byte| !ends_field(byte)) {
            return Some((opened, if line == opened { AFTER } else { OPEN }));
        }
        starts_field = false;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quotes_that_swallow_rows_are_found() {
        for (text, line) in [
            ("a,b\n1,\"Anna\n2,Ben\n", 2),
            ("a,b\n1,\"Anna\n2,\"Ben\"\n", 2),
            ("a,b\n1,2\n\"An\"na,3\n", 3),
            ("a,b\r\n\"", 2),
        ] {
            assert_eq!(wrong_quotes(text.as_bytes()).map(|(line, _)| line), Some(line), "{text:?}");
        }
    }

    #[test]
    fn quotes_as_they_should_be_pass() {
        for text in ["a,b\n\"1\" ,\"two\nlines\"\r\n5\" hoop,\"5\"\" hoop\"", "a;b\n\"1,2\";\"\"\n", "", "a\n1, \"x\n"]
        {
            assert_eq!(wrong_quotes(text.as_bytes()), None, "{text:?}");
        }
    }
}
