//! Names under which the records know people of class sessions.

use crate::problem::Problem;
use meltrange_accounts::short_code;

/// Sixteen of each, so that a letter of a code picks one.
const COLOURS: [&str; 16] = [
    "Amber", "Azure", "Beige", "Coral", "Copper", "Green", "Indigo", "Ivory", "Lilac", "Olive",
    "Pearl", "Russet", "Sable", "Silver", "Teal", "Umber",
];
const TREES: [&str; 16] = [
    "Alder", "Ash", "Aspen", "Beech", "Birch", "Cedar", "Elm", "Hazel", "Larch", "Linden", "Maple",
    "Oak", "Pine", "Poplar", "Rowan", "Yew",
];

/// Digits and letters after them.
const LETTERS: usize = 4;

/// A name that nobody in the book has yet, as `taken` says.
pub(crate) fn pseudonym(taken: impl Fn(&str) -> bool) -> Result<String, Problem> {
    loop {
        let chance = short_code(2 + LETTERS).map_err(|error| Problem::internal(&error))?;
        let mut letters = chance.bytes().map(usize::from);
        let colour = letters.next().unwrap_or_default() % COLOURS.len();
        let tree = letters.next().unwrap_or_default() % TREES.len();
        let rest: String = chance.chars().skip(2).collect();
        let name = format!("{} {} {rest}", COLOURS[colour], TREES[tree]);
        if !taken(&name) {
            return Ok(name);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn names_differ() {
        let mut all = BTreeSet::new();
        for _ in 0..300 {
            let name = pseudonym(|name| all.contains(name)).expect("chance");
            assert!(all.insert(name));
        }
    }
}
