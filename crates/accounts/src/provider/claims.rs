//! What an organisation says of somebody beside who they are.

use openidconnect::core::CoreGenderClaim;
use openidconnect::{
    AdditionalClaims, EndUserName, EndUserUsername, IdTokenClaims, LocalizedClaim, UserInfoClaims,
};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::BTreeMap;

/// Groups of one person that are looked at; more is no list of groups.
const MOST_GROUPS: usize = 2000;

/// Longest name that is looked at [characters]; the book decides which it takes.
const NAME_CHARS: usize = 400;

/// Claims that the standard does not name.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub(super) struct Others(#[serde(default)] pub BTreeMap<String, Value>);

impl AdditionalClaims for Others {}

/// Name and groups.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Said {
    pub name: Option<String>,
    /// None where nothing is said of groups at all.
    pub groups: Option<Vec<String>>,
}

impl Said {
    pub fn of_token(claims: &IdTokenClaims<Others, CoreGenderClaim>, groups_claim: &str) -> Self {
        Self {
            name: name(claims.name(), claims.preferred_username()),
            groups: groups(claims.additional_claims(), groups_claim),
        }
    }

    pub fn of_user(claims: &UserInfoClaims<Others, CoreGenderClaim>, groups_claim: &str) -> Self {
        Self {
            name: name(claims.name(), claims.preferred_username()),
            groups: groups(claims.additional_claims(), groups_claim),
        }
    }

    pub fn lacks_something(&self) -> bool {
        self.name.is_none() || self.groups.is_none()
    }

    /// What is not said here, as it is said there.
    pub fn or(self, there: Self) -> Self {
        Self {
            name: self.name.or(there.name),
            groups: self.groups.or(there.groups),
        }
    }
}

fn name(
    name: Option<&LocalizedClaim<EndUserName>>,
    username: Option<&EndUserUsername>,
) -> Option<String> {
    let name = name
        .and_then(|name| {
            name.get(None)
                .or_else(|| name.iter().next().map(|(_, name)| name))
        })
        .map(|name| name.as_str());
    [name, username.map(|name| name.as_str())]
        .into_iter()
        .flatten()
        .map(|name| {
            let words: Vec<&str> = name.split_whitespace().collect();
            let one_line = words.join(" ");
            one_line
                .chars()
                .filter(|letter| !letter.is_control())
                .take(NAME_CHARS)
                .collect::<String>()
        })
        .find(|name| !name.is_empty())
}

/// A list of names, or one name.
fn groups(others: &Others, claim: &str) -> Option<Vec<String>> {
    match others.0.get(claim)? {
        Value::String(one) => Some(vec![one.clone()]),
        Value::Array(all) => Some(
            all.iter()
                .take(MOST_GROUPS)
                .filter_map(|one| one.as_str().map(str::to_owned))
                .collect(),
        ),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn others(text: Value) -> Others {
        serde_json::from_value(text).expect("claims")
    }

    #[test]
    fn groups_are_a_list_or_one_name_and_nothing_else() {
        let said = others(json!({
            "groups": ["chem-staff", 7, "evening"], "one": "chem-staff", "none": 7, "empty": [],
        }));
        let of = |claim| groups(&said, claim);
        assert_eq!(
            of("groups"),
            Some(vec!["chem-staff".into(), "evening".into()])
        );
        assert_eq!(of("one"), Some(vec!["chem-staff".into()]));
        assert_eq!((of("none"), of("missing")), (None, None));
        assert_eq!(of("empty"), Some(Vec::new()));
    }

    #[test]
    fn what_is_not_said_in_one_place_is_taken_from_the_other() {
        let token = Said {
            name: None,
            groups: Some(Vec::new()),
        };
        assert!(token.lacks_something());
        let user = Said {
            name: Some("B. Fink".into()),
            groups: Some(vec!["chem-staff".into()]),
        };
        let both = token.or(user);
        assert_eq!(both.name.as_deref(), Some("B. Fink"));
        // Being in no group is said, too.
        assert_eq!(both.groups, Some(Vec::new()));
    }
}
