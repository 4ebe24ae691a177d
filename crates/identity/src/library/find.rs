//! Finding substances by name, synonym, CAS number or formula.

use super::{Library, Substance, cas_is_valid};

/// So many near names are offered.
const OFFERED: usize = 5;
/// Names less alike than this are not offered, 0 to 1.
const ALIKE: f64 = 0.75;

/// A name that the library does not have.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub struct Unknown {
    /// What was asked for.
    pub asked: String,
    /// Names like it.
    pub near: Vec<String>,
}

impl std::fmt::Display for Unknown {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "\"{}\" is not in the library", self.asked)?;
        if cas_is_like(&self.asked) && !cas_is_valid(&self.asked) {
            write!(f, "; as a CAS number its check digit is wrong")?;
        }
        if !self.near.is_empty() {
            write!(f, "; near it are {}", self.near.join(", "))?;
        }
        Ok(())
    }
}

fn cas_is_like(text: &str) -> bool {
    text.contains('-')
        && text
            .bytes()
            .all(|byte| byte.is_ascii_digit() || byte == b'-')
}

/// What two spellings of one name share: small letters and digits, and commas and signs that tell isomers apart.
fn plain(name: &str) -> String {
    name.chars()
        .filter(|sign| sign.is_alphanumeric() || [',', '+', '('].contains(sign))
        .flat_map(char::to_lowercase)
        .collect()
}

impl Library {
    /// The one with this name, synonym or CAS number.
    ///
    /// # Errors
    /// [`Unknown`] with names that are near.
    pub fn named(&self, text: &str) -> Result<&Substance, Unknown> {
        let asked = text.trim();
        if let Some(found) = self.of_cas(asked) {
            return Ok(found);
        }
        let wanted = plain(asked);
        let own_first = || {
            let substances = self.substances().iter();
            let (own, shipped): (Vec<_>, Vec<_>) = substances.partition(|one| one.own);
            own.into_iter().chain(shipped)
        };
        let by_name = own_first().find(|one| plain(&one.name) == wanted);
        let by_synonym =
            || own_first().find(|one| one.synonyms.iter().any(|name| plain(name) == wanted));
        by_name
            .filter(|_| !wanted.is_empty())
            .or_else(|| by_synonym().filter(|_| !wanted.is_empty()))
            .ok_or_else(|| self.unknown(asked, &wanted))
    }

    fn unknown(&self, asked: &str, wanted: &str) -> Unknown {
        let mut near: Vec<(f64, &str)> = self
            .substances()
            .iter()
            .flat_map(Substance::names)
            .map(|name| (strsim::jaro_winkler(&plain(name), wanted), name))
            .filter(|(alike, _)| *alike >= ALIKE)
            .collect();
        near.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.cmp(b.1)));
        near.dedup_by(|a, b| a.1 == b.1);
        Unknown {
            asked: asked.to_owned(),
            near: near
                .into_iter()
                .take(OFFERED)
                .map(|(_, name)| name.to_owned())
                .collect(),
        }
    }

    /// Those whose name, synonym, CAS number or formula holds a text, the best match first; at most `most`.
    pub fn find(&self, text: &str, most: usize) -> Vec<&Substance> {
        let asked = text.trim();
        let wanted = plain(asked);
        if wanted.is_empty() {
            return Vec::new();
        }
        // Lower is better: the whole name, its beginning, a part of it; the name before synonyms, short before long.
        let rank_of = |name: &str, behind: usize| {
            let name = plain(name);
            let at = name.find(&wanted)?;
            let how = match (at, name.len() == wanted.len()) {
                (_, true) => 0,
                (0, false) => 2,
                _ => 4,
            };
            Some((how + behind, name.len()))
        };
        let mut found: Vec<_> = self
            .substances()
            .iter()
            .filter_map(|one| {
                let exactly = one.cas == asked || one.formula.eq_ignore_ascii_case(asked);
                let synonyms = one.synonyms.iter().filter_map(|name| rank_of(name, 1));
                let rank = rank_of(&one.name, 0)
                    .into_iter()
                    .chain(synonyms)
                    .chain(exactly.then_some((0, one.name.len())))
                    .min()?;
                Some((!one.own, rank, one))
            })
            .collect();
        found.sort_by(|a, b| (a.0, a.1, &a.2.name).cmp(&(b.0, b.1, &b.2.name)));
        found
            .into_iter()
            .take(most)
            .map(|(_, _, one)| one)
            .collect()
    }
}
