//! Names of files that leave the book.

/// From a text that somebody wrote, in letters that every system takes.
pub(crate) fn named(stem: &str, ending: &str) -> String {
    let safe: String = stem
        .chars()
        .map(|letter| match letter {
            'a'..='z' | 'A'..='Z' | '0'..='9' | '.' | '_' | '-' => letter,
            _ => '-',
        })
        .take(80)
        .collect();
    let safe = safe.trim_matches(['-', '.']);
    if safe.is_empty() {
        format!("sample.{ending}")
    } else {
        format!("{safe}.{ending}")
    }
}

#[cfg(test)]
mod tests {
    use super::named;

    #[test]
    fn names_hold_nothing_that_leads_elsewhere() {
        assert_eq!(named("U-1", "pdf"), "U-1.pdf");
        assert_eq!(named("../../etc/passwd", "pdf"), "etc-passwd.pdf");
        assert_eq!(named("\"\r\nX: y", "pdf"), "X--y.pdf");
        assert_eq!(named("日本", "html"), "sample.html");
    }
}
