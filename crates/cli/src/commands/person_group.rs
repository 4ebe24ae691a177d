//! `meltrange person group`: groups of people with accounts, on the machine itself.

use super::person::{now_s, open, refused};
use crate::args::{GroupArguments, GroupCommand, MemberArguments, PersonLogArguments};
use crate::book_access::{person, to_look, wait};
use crate::failure::Failure;
use crate::output::Output;
use crate::table::aligned;
use meltrange_accounts::{AccountError, Accounts, Group};
use meltrange_labbook::PersonRow;
use serde_json::{Value, json};

/// Run one of them.
pub(crate) fn run(command: &GroupCommand, output: &Output) -> Result<(), Failure> {
    match command {
        GroupCommand::List(list) => all(list, output),
        GroupCommand::New(group) => {
            let made = with(group, async |accounts, _| {
                accounts.make_group(&group.group, "", "", now_s()).await
            })?;
            told(group, output, json!({ "group": shown(&made) }), "made")
        }
        GroupCommand::Dissolve(group) => {
            with_group(group, async |accounts, id, _| {
                accounts.dissolve_group(id, "", "", now_s()).await
            })?;
            told(group, output, json!({ "dissolved": true }), "dissolved")
        }
        GroupCommand::Lock(group) => {
            let done = with_group(group, async |accounts, id, _| {
                accounts.lock_group(id, "", "", now_s()).await
            })?;
            let locked = done.locked.len();
            let words = format!("locked: {}", accounts_said(locked));
            told(group, output, json!({ "locked": locked }), &words)
        }
        GroupCommand::Unlock(group) => {
            let done = with_group(group, async |accounts, id, people| {
                let people: Vec<(String, String)> = people
                    .iter()
                    .map(|row| (row.id.to_string(), row.name.clone()))
                    .collect();
                accounts.unlock_group(id, &people, "", "", now_s()).await
            })?;
            let words = format!("unlocked: {}", accounts_said(done.len()));
            told(group, output, json!({ "unlocked": done.len() }), &words)
        }
        GroupCommand::Add(member) => {
            let who = who(member)?;
            with_group(&member.of, async |accounts, id, _| {
                accounts.enter_group(id, &who, "", "", now_s()).await
            })?;
            let words = format!("joined by {}", member.name);
            told(&member.of, output, json!({ "person": who }), &words)
        }
        GroupCommand::TakeOut(member) => {
            let who = who(member)?;
            with_group(&member.of, async |accounts, id, _| {
                accounts.leave_group(id, &who, "", "", now_s()).await
            })?;
            let words = format!("left by {}", member.name);
            told(&member.of, output, json!({ "person": who }), &words)
        }
    }
}

fn accounts_said(count: usize) -> String {
    match count {
        1 => "1 account".into(),
        count => format!("{count} accounts"),
    }
}

/// The id of whoever is named.
fn who(member: &MemberArguments) -> Result<String, Failure> {
    wait(async {
        let book = to_look(&member.of.book).await?;
        let found = person(&book, Some(&member.name)).await;
        book.close().await;
        Ok(found?.to_string())
    })
}

/// Do something with the accounts of a book.
fn with<T>(
    arguments: &GroupArguments,
    what: impl AsyncFnOnce(&Accounts, &[PersonRow]) -> Result<T, AccountError>,
) -> Result<T, Failure> {
    wait(async {
        let (accounts, people) = open(&arguments.book, arguments.accounts.as_ref()).await?;
        let done = what(&accounts, &people).await;
        accounts.close().await;
        done.map_err(|error| refused(&error))
    })
}

/// Do something with one group.
fn with_group<T>(
    arguments: &GroupArguments,
    what: impl AsyncFnOnce(&Accounts, &str, &[PersonRow]) -> Result<T, AccountError>,
) -> Result<T, Failure> {
    let found = with(arguments, async |accounts, people| {
        let lower = arguments.group.trim().to_lowercase();
        let groups = accounts.groups().await?;
        let group = groups
            .into_iter()
            .find(|group| group.name.to_lowercase() == lower)
            .ok_or(AccountError::Unknown { what: "group" })?;
        what(accounts, &group.id, people).await
    });
    found.map_err(|failure| {
        failure.hint(format!(
            "\"meltrange person group list {}\" shows all groups",
            arguments.book.display()
        ))
    })
}

fn shown(group: &Group) -> Value {
    json!({ "id": group.id, "name": group.name, "members": group.members })
}

fn told(
    arguments: &GroupArguments,
    output: &Output,
    json: Value,
    words: &str,
) -> Result<(), Failure> {
    if arguments.json {
        return output.json(&json);
    }
    output.text(&format!("{}: {words}\n", arguments.group))
}

fn all(arguments: &PersonLogArguments, output: &Output) -> Result<(), Failure> {
    let (people, groups) = wait(async {
        let (accounts, people) = open(&arguments.book, arguments.accounts.as_ref()).await?;
        let groups = accounts.groups().await;
        accounts.close().await;
        Ok((people, groups.map_err(|error| refused(&error))?))
    })?;
    if arguments.json {
        let groups: Vec<Value> = groups.iter().map(shown).collect();
        return output.json(&json!({ "groups": groups }));
    }
    let mut rows = vec![["group", "people"].map(str::to_owned)];
    for group in &groups {
        let names: Vec<&str> = group
            .members
            .iter()
            .map(|id| {
                let row = people.iter().find(|row| row.id.to_string() == *id);
                row.map_or(id.as_str(), |row| row.name.as_str())
            })
            .collect();
        rows.push([group.name.clone(), names.join(", ")]);
    }
    output.text(&aligned(&rows))
}
