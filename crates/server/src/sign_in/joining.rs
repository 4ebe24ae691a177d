//! Who of the book somebody is who came back from their organisation.

use super::{Refusal, SignIn};
use crate::problem::in_full;
use crate::state::AppState;
use meltrange_accounts::{AccountError, Accounts, CameIn, Knock, Outside, Returned, Secret};
use meltrange_labbook::{BookError, Draft, Person, PersonId};

/// Let in whoever came back: by an invitation, as who they are already, or as somebody new whom a group of theirs
/// gives a role. The second of a refusal is who of the book it is about, if anybody.
pub(crate) async fn let_in(
    state: &AppState,
    accounts: &Accounts,
    sign_in: &SignIn,
    returned: &Returned,
    invitation: Option<&Secret>,
    knock: &Knock,
) -> Result<CameIn, (Refusal, String)> {
    let outside = &returned.outside;
    if let Some(code) = invitation {
        let came = accounts.accept_outside(code.shown(), outside, knock).await;
        return came.map_err(|error| (failed(&error), String::new()));
    }
    let bound = accounts.bound(outside).await;
    if let Some(person) = bound.map_err(|error| (failed(&error), String::new()))? {
        return known(state, accounts, outside, &person, knock)
            .await
            .map_err(|refusal| (refusal, person));
    }
    // One at a time: of two who are called alike the first has the name.
    let _turn = sign_in.joining.lock().await;
    join(state, accounts, sign_in, returned, knock)
        .await
        .map_err(|refusal| (refusal, String::new()))
}

/// What the log is to say in full, and the page in short.
fn failed(error: &AccountError) -> Refusal {
    let refusal = Refusal::from(error);
    if refusal == Refusal::Failed {
        tracing::error!(error = %in_full(error), "nobody could be let in from elsewhere");
    }
    refusal
}

async fn known(
    state: &AppState,
    accounts: &Accounts,
    outside: &Outside,
    person: &str,
    knock: &Knock,
) -> Result<CameIn, Refusal> {
    let people = people(state).await?;
    // An account of somebody whom this book does not have is nobody's.
    if !people.iter().any(|(id, _)| id == person) {
        return Err(Refusal::Unknown);
    }
    let came = accounts.sign_in(outside, knock).await;
    came.map_err(|error| failed(&error))
}

/// Add somebody to the book. They are never taken for somebody who is there already: names are not proof.
async fn join(
    state: &AppState,
    accounts: &Accounts,
    sign_in: &SignIn,
    returned: &Returned,
    knock: &Knock,
) -> Result<CameIn, Refusal> {
    let outside = &returned.outside;
    // They may have come in by another browser while this one waited.
    match accounts.bound(outside).await {
        Ok(Some(person)) => return known(state, accounts, outside, &person, knock).await,
        Ok(None) => {}
        Err(error) => return Err(failed(&error)),
    }
    let (role, group) = sign_in.role(&returned.groups).ok_or(Refusal::Unknown)?;
    let name = returned.name.clone().ok_or(Refusal::NameUnfit)?;
    let lower = name.to_lowercase();
    let taken = people(state).await?;
    if taken.iter().any(|(_, other)| other.to_lowercase() == lower) {
        return Err(Refusal::NameTaken);
    }
    let draft = Draft::new(Person { name, role });
    let person: PersonId = draft.subject().into();
    // Nobody added them but themselves, by what their organisation says of them.
    match state.book().append(person, vec![draft]).await {
        Ok(_) => {}
        Err(BookError::Taken { .. }) => return Err(Refusal::NameTaken),
        Err(BookError::Field { .. }) => return Err(Refusal::NameUnfit),
        Err(error) => {
            tracing::error!(error = %in_full(&error), "somebody from elsewhere could not be added");
            return Err(Refusal::Failed);
        }
    }
    let came = accounts
        .join_outside(&person.to_string(), outside, group, knock)
        .await;
    came.map_err(|error| failed(&error))
}

/// Ids and names.
async fn people(state: &AppState) -> Result<Vec<(String, String)>, Refusal> {
    let people = state.book().store().people().await.map_err(|error| {
        tracing::error!(error = %in_full(&error), "the people of the book could not be read");
        Refusal::Failed
    })?;
    Ok(people
        .into_iter()
        .map(|person| (person.id.to_string(), person.name))
        .collect())
}
