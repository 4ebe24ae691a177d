//! `meltrange person`: accounts of the people of a lab book, on the machine itself.

use crate::args::{PersonAccountArguments, PersonCommand, PersonLogArguments, PersonsArguments};
use crate::book_access::{beside_book, failed, person, to_look, wait};
use crate::failure::Failure;
use crate::output::Output;
use crate::table::aligned;
use meltrange_accounts::{AccessEntry, AccountError, Accounts, Place};
use meltrange_labbook::PersonRow;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::io::{BufRead as _, IsTerminal as _};
use std::path::Path;

/// Longest line that is read for a passphrase [bytes].
const LINE_BYTES: u64 = 4096;

/// Run one of them.
pub(crate) fn run(arguments: &PersonsArguments, output: &Output) -> Result<(), Failure> {
    match &arguments.command {
        PersonCommand::List(list) => everybody(list, output),
        PersonCommand::Invite(invite) => self::invite(invite, output),
        PersonCommand::Passphrase(passphrase) => self::passphrase(passphrase, output),
        PersonCommand::Lock(lock) => change(lock, output, Change::Lock),
        PersonCommand::Unlock(unlock) => change(unlock, output, Change::Unlock),
        PersonCommand::LogOut(log_out) => change(log_out, output, Change::LogOut),
        PersonCommand::AccessLog(log) => access_log(log, output),
        PersonCommand::Group(group) => super::person_group::run(&group.command, output),
    }
}

#[derive(Debug, Clone, Copy)]
enum Change {
    Lock,
    Unlock,
    LogOut,
}

impl Change {
    fn done(self) -> &'static str {
        match self {
            Self::Lock => "locked",
            Self::Unlock => "unlocked",
            Self::LogOut => "logged out everywhere",
        }
    }
}

/// An account's error with advice.
pub(super) fn refused(error: &AccountError) -> Failure {
    let failure = Failure::of(error);
    match error {
        AccountError::Locked => {
            failure.hint("\"meltrange person unlock BOOK NAME\" unlocks an account")
        }
        _ => failure,
    }
}

/// The accounts of a book and its people.
pub(super) async fn open(
    folder: &Path,
    address: Option<&String>,
) -> Result<(Accounts, Vec<PersonRow>), Failure> {
    let book = to_look(folder).await?;
    let people = book.store().people().await.map_err(failed);
    book.close().await;
    let place = match address.cloned().or_else(|| beside_book(folder)) {
        Some(address) => Place::Address(address),
        None => Place::Folder(folder.into()),
    };
    let accounts = Accounts::open(&place)
        .await
        .map_err(|error| refused(&error))?;
    Ok((accounts, people?))
}

/// The account of one person.
struct One {
    accounts: Accounts,
    id: String,
    name: String,
}

impl One {
    async fn open(arguments: &PersonAccountArguments) -> Result<Self, Failure> {
        let book = to_look(&arguments.book).await?;
        let found = person(&book, Some(&arguments.name)).await;
        book.close().await;
        let id = found?;
        let (accounts, people) = open(&arguments.book, arguments.accounts.as_ref()).await?;
        let name = people
            .into_iter()
            .find(|row| row.id == id)
            .map_or_else(|| arguments.name.clone(), |row| row.name);
        Ok(Self {
            accounts,
            id: id.to_string(),
            name,
        })
    }
}

pub(super) fn now_s() -> i64 {
    jiff::Timestamp::now().as_second()
}

fn when(seconds: i64) -> String {
    jiff::Timestamp::from_second(seconds).map_or_else(|_| String::new(), |when| when.to_string())
}

fn ever(seconds: i64) -> Value {
    if seconds > 0 {
        when(seconds).into()
    } else {
        Value::Null
    }
}

fn invite(arguments: &PersonAccountArguments, output: &Output) -> Result<(), Failure> {
    let (name, id, invitation) = wait(async {
        let one = One::open(arguments).await?;
        let made = one.accounts.invite(&one.id, "", "", now_s()).await;
        one.accounts.close().await;
        Ok((one.name, one.id, made.map_err(|error| refused(&error))?))
    })?;
    let expires = when(invitation.expires_s);
    if arguments.json {
        return output.json(&json!({
            "person": {"id": id, "name": name}, "code": invitation.code, "expires": expires,
        }));
    }
    output.text(&format!(
        "{name} is invited with the code\n    {}\nIt is good once, until {expires}, and is not shown again. With it {name} chooses a passphrase\non the page \"I have an invitation\" of the served book.\n",
        invitation.code
    ))
}

fn passphrase(arguments: &PersonAccountArguments, output: &Output) -> Result<(), Failure> {
    let stdin = std::io::stdin();
    if stdin.is_terminal() {
        return Err(Failure::new(
            "a passphrase is not typed where it can be read; expected it on standard input",
        )
        .hint(
            "\"meltrange person invite BOOK NAME\" lets people choose their own, which is better",
        ));
    }
    let mut line = String::new();
    std::io::Read::take(stdin.lock(), LINE_BYTES)
        .read_line(&mut line)
        .map_err(|error| Failure::of(&error))?;
    let given = line.trim_end_matches(['\r', '\n']);
    let (name, id) = wait(async {
        let one = One::open(arguments).await?;
        let set = one
            .accounts
            .set_passphrase(&one.id, &one.name, given, "", now_s())
            .await;
        one.accounts.close().await;
        set.map_err(|error| refused(&error))?;
        Ok((one.name, one.id))
    })?;
    if arguments.json {
        return output.json(&json!({"person": {"id": id, "name": name}, "must_change": true}));
    }
    output.text(&format!(
        "{name} has this passphrase now, and has to choose another one when they log in\n"
    ))
}

fn change(
    arguments: &PersonAccountArguments,
    output: &Output,
    change: Change,
) -> Result<(), Failure> {
    let (name, id) = wait(async {
        let one = One::open(arguments).await?;
        let (accounts, id, now_s) = (&one.accounts, one.id.as_str(), now_s());
        let done = match change {
            Change::Lock => accounts.lock(id, "", "", now_s).await,
            Change::Unlock => accounts.unlock(id, &one.name, "", "", now_s).await,
            Change::LogOut => accounts.log_out_everywhere(id, "", "", now_s).await,
        };
        accounts.close().await;
        done.map_err(|error| refused(&error))?;
        Ok((one.name, one.id))
    })?;
    if arguments.json {
        return output.json(&json!({"person": {"id": id, "name": name}, "done": change.done()}));
    }
    output.text(&format!("{name} is {}\n", change.done()))
}

fn everybody(arguments: &PersonLogArguments, output: &Output) -> Result<(), Failure> {
    let (people, accounts) = wait(async {
        let (accounts, people) = open(&arguments.book, arguments.accounts.as_ref()).await?;
        let all = accounts.all().await;
        accounts.close().await;
        Ok((people, all.map_err(|error| refused(&error))?))
    })?;
    let now_s = now_s();
    let account = |id: &str| accounts.iter().find(|account| account.person == id);
    if arguments.json {
        let people: Vec<Value> = people
            .iter()
            .map(|row| {
                let account = account(&row.id.to_string());
                let is_invited = account.is_some_and(|one| one.invited_until_s > now_s);
                json!({
                    "id": row.id, "name": row.name, "role": row.role,
                    "has_passphrase": account.is_some_and(|one| one.has_passphrase),
                    "signs_in": account.is_some_and(|one| one.has_outside),
                    "must_change": account.is_some_and(|one| one.must_change),
                    "locked": account.is_some_and(|one| one.locked),
                    "last": ever(account.map_or(0, |one| one.last_s)),
                    "invited_until": ever(if is_invited { account.map_or(0, |one| one.invited_until_s) } else { 0 }),
                })
            })
            .collect();
        return output.json(&json!({ "people": people }));
    }
    let mut rows = vec![["name", "role", "account"].map(str::to_owned)];
    for row in &people {
        let stands = match account(&row.id.to_string()) {
            None => "none".to_owned(),
            Some(one) if one.locked => "locked".into(),
            Some(one) if one.invited_until_s > now_s => {
                format!("invited until {}", when(one.invited_until_s))
            }
            Some(one) if one.must_change => "has to choose another passphrase".into(),
            Some(one) if (one.has_passphrase || one.has_outside) && one.last_s > 0 => {
                format!("last in {}", when(one.last_s))
            }
            Some(one) if one.has_passphrase || one.has_outside => "never in".into(),
            Some(_) => "none".into(),
        };
        rows.push([row.name.clone(), role(row), stands]);
    }
    output.text(&aligned(&rows))
}

fn role(row: &PersonRow) -> String {
    serde_json::to_value(row.role)
        .ok()
        .and_then(|role| role.as_str().map(str::to_owned))
        .unwrap_or_default()
}

fn access_log(arguments: &PersonLogArguments, output: &Output) -> Result<(), Failure> {
    let (people, mut entries) = wait(async {
        let (accounts, people) = open(&arguments.book, arguments.accounts.as_ref()).await?;
        let log = whole_log(&accounts).await;
        accounts.close().await;
        Ok((people, log.map_err(|error| refused(&error))?))
    })?;
    entries.reverse();
    let names: BTreeMap<String, String> = people
        .into_iter()
        .map(|row| (row.id.to_string(), row.name))
        .collect();
    let name = |id: &str| names.get(id).cloned().unwrap_or_else(|| id.to_owned());
    if arguments.json {
        let entries: Vec<Value> = entries
            .iter()
            .map(|entry| {
                json!({
                    "when": when(entry.at_s), "what": entry.kind.name(), "who": entry.person,
                    "about": entry.about, "from": entry.place, "detail": entry.detail,
                })
            })
            .collect();
        return output.json(&json!({ "entries": entries }));
    }
    let mut rows = vec![["when", "what", "who", "about", "from", "more"].map(str::to_owned)];
    for entry in &entries {
        rows.push([
            when(entry.at_s),
            entry.kind.name().replace('_', " "),
            name(&entry.person),
            name(&entry.about),
            entry.place.clone(),
            entry.detail.clone(),
        ]);
    }
    output.text(&aligned(&rows))
}

/// All of it, the newest first.
async fn whole_log(accounts: &Accounts) -> Result<Vec<AccessEntry>, AccountError> {
    let mut all: Vec<AccessEntry> = Vec::new();
    loop {
        let before = all.last().map(|entry| entry.id.clone());
        let page = accounts
            .access_log(before.as_deref(), meltrange_accounts::LOG_ENTRIES)
            .await?;
        if page.is_empty() {
            return Ok(all);
        }
        all.extend(page);
    }
}
