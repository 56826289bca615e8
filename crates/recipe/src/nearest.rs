//! The right name that a wrong one was meant to be, and how messages show names.

/// How much of a name has to be right, as a share.
const LIKE: f64 = 0.6;

/// Names longer than this, in bytes, are not compared.
const LONGEST: usize = 120;

/// The name among `names` that is most like `written`, if any is like it; the
/// first of several. Counts letters that are wrong, missing, too many or
/// swapped (Damerau and Levenshtein's distance).
pub(crate) fn nearest<'a>(written: &str, names: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    if written.len() > LONGEST {
        return None;
    }
    let written = written.to_lowercase();
    let mut best: Option<(f64, &str)> = None;
    for name in names.filter(|name| name.len() <= LONGEST) {
        let likeness = strsim::normalized_damerau_levenshtein(&written, &name.to_lowercase());
        if likeness >= LIKE && best.is_none_or(|(most, _)| likeness > most) {
            best = Some((likeness, name));
        }
    }
    best.map(|(_, name)| name)
}

/// A text as messages show it: long ones cut, on one line.
pub(crate) fn shortened(text: &str) -> String {
    let mut shown: String = text.chars().filter(|c| !c.is_control()).take(40).collect();
    if text.chars().nth(40).is_some() {
        shown.push('…');
    }
    shown
}

/// Names with commas between them, a dozen at most.
pub(crate) fn listed<'a>(names: impl Iterator<Item = &'a str>) -> String {
    let all: Vec<_> = names.collect();
    let shown = all.iter().take(12).copied().collect::<Vec<_>>().join(", ");
    if all.len() > 12 { format!("{shown} and {} more", all.len() - 12) } else { shown }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_most_alike_is_nearest() {
        let names = ["spacing", "spacing_to", "stitch_length"];
        assert_eq!(nearest("Spaceing", names.into_iter()), Some("spacing"));
        assert_eq!(nearest("stich_lenght", names.into_iter()), Some("stitch_length"));
        assert_eq!(nearest("zebra", names.into_iter()), None);
    }

    #[test]
    fn a_long_name_is_cut() {
        assert_eq!(shortened("bean\npod"), "beanpod");
        assert_eq!(shortened(&"é".repeat(50)), format!("{}…", "é".repeat(40)));
    }
}
