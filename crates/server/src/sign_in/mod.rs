//! Coming in with an account of one's organisation. `docs/people.md` describes it.

mod begun;
mod file;
mod joining;
mod refusal;

pub(crate) use begun::Journey;
pub use file::{SignInFileError, SignInOptions};
pub(crate) use joining::let_in;
pub(crate) use refusal::Refusal;

use begun::{Journeys, Ration};
use meltrange_accounts::{Provider, ProviderError};
use meltrange_labbook::Role;
use std::collections::BTreeMap;

/// An organisation whose accounts let people in.
#[derive(Debug)]
pub struct SignIn {
    provider: Provider,
    shown_name: String,
    roles: BTreeMap<String, Role>,
    journeys: Journeys,
    ration: Ration,
    /// Held while somebody is added to the book: a name is looked for and taken in one.
    joining: tokio::sync::Mutex<()>,
}

impl SignIn {
    /// Nothing is asked of it yet.
    ///
    /// # Errors
    /// [`ProviderError`]: the issuer is no address that can be trusted.
    pub fn new(options: SignInOptions) -> Result<Self, ProviderError> {
        Ok(Self {
            provider: Provider::new(options.provider)?,
            shown_name: options.shown_name,
            roles: options.roles,
            journeys: Journeys::default(),
            ration: Ration::default(),
            joining: tokio::sync::Mutex::default(),
        })
    }

    pub(crate) fn provider(&self) -> &Provider {
        &self.provider
    }

    /// What people call it.
    pub(crate) fn shown_name(&self) -> &str {
        &self.shown_name
    }

    /// Sign-ins under way.
    pub(crate) fn journeys(&self) -> &Journeys {
        &self.journeys
    }

    /// Whether a return that nobody began is noted in the access log.
    pub(crate) fn notes_one_more(&self, now_s: i64) -> bool {
        self.ration.has(now_s)
    }

    /// The role that somebody in these groups has, the one that may most, and the group it comes from.
    fn role<'a>(&self, groups: &'a [String]) -> Option<(Role, &'a str)> {
        groups
            .iter()
            .filter_map(|group| Some((*self.roles.get(group)?, group.as_str())))
            .min_by_key(|(role, _)| match role {
                Role::Supervisor => 0,
                Role::Analyst => 1,
                Role::Student => 2,
                Role::Viewer => 3,
            })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_several_groups_the_one_that_may_most_counts() {
        let text = r#"
            issuer = "https://login.example.edu"
            client_id = "meltrange"
            shown_name = "Example College"
            [roles]
            "chem-staff" = "supervisor"
            "evening" = "student"
        "#;
        let options = SignInOptions::of_text(text, Some("three owls".into())).expect("fits");
        let sign_in = SignIn::new(options).expect("fits");
        let role = |groups: &[&str]| {
            let groups: Vec<String> = groups.iter().map(|&group| group.to_owned()).collect();
            sign_in.role(&groups).map(|(role, _)| role)
        };
        assert_eq!(role(&["evening", "chem-staff"]), Some(Role::Supervisor));
        assert_eq!(role(&["evening", "choir"]), Some(Role::Student));
        // Names are names: neither their case nor what they begin with is guessed.
        assert_eq!(role(&["Evening", "chem-staff-guests"]), None);
        assert_eq!(role(&[]), None);
    }
}
