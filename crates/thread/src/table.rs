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
