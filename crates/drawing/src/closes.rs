//! Path data that closes the same outline again and again.
//!
//! The resolver's reader of path data calls itself for every close that follows a close, so a million of them overflow
//! its stack. One says as much.

/// So many in a row are left as they are.
const FEW: usize = 100;

/// Path data in which every close but the first of a row is left out; `None` where they are few.
pub(crate) fn single(data: &str) -> Option<String> {
    let is_close = |c: char| matches!(c, 'z' | 'Z');
    let parts = |c: char| c.is_ascii_whitespace();
    let (mut row, mut longest) = (0, 0);
    for c in data.chars().filter(|c| !parts(*c)) {
        row = if is_close(c) { row + 1 } else { 0 };
        longest = longest.max(row);
    }
    if longest <= FEW {
        return None;
    }
    let mut closed = false;
    let again = |c: &char| {
        let again = closed && is_close(*c);
        closed = is_close(*c) || closed && parts(*c);
        !again
    };
    Some(data.chars().filter(again).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_close_of_many_is_left() {
        let many = |between: &str| format!("M0 0h9v9{}m1 1zz", format!("z{between}").repeat(1_000));
        assert_eq!(single(&many("")).as_deref(), Some("M0 0h9v9zm1 1z"));
        assert_eq!(
            single(&many(" \n")).map(|data| data.split_whitespace().collect()),
            Some(String::from("M00h9v9zm11z"))
        );
        assert_eq!(single("M0 0h9v9zzz"), None);
    }
}
