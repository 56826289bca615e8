//! Names and titles as one clean line of text.

/// `text` on one line, without control characters and outer blanks; `piece` when nothing is left.
pub(crate) fn clean(text: &str) -> String {
    clean_or_none(text).unwrap_or_else(|| "piece".into())
}

/// `text` on one line, without control characters and outer blanks; `None` when nothing is left.
pub(crate) fn clean_or_none(text: &str) -> Option<String> {
    let line: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let line = line.trim();
    (!line.is_empty()).then(|| line.to_owned())
}
