//! Named groups of people: who belongs to a practical, and locking or unlocking all of them at once. What
//! anybody may do is their role's, not their group's.

use crate::access_log::{AccessKind, Noted};
use crate::attempts::Whose;
use crate::error::AccountError;
use crate::limits::{GROUP_MEMBERS, GROUP_NAME_CHARS, GROUPS};
use crate::store::Accounts;
use sqlx::{Any, Row as _, Transaction};

/// A group of people.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Group {
    /// Its id.
    pub id: String,
    /// Its name.
    pub name: String,
    /// When it was made [s since 1970].
    pub made_s: i64,
    /// Who is in it, by the ids that the book has of them.
    pub members: Vec<String>,
}

/// What locking a group did.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct GroupLocked {
    /// Whose accounts were locked.
    pub locked: Vec<String>,
    /// Whether whoever did it is in the group themselves, and was left out.
    pub left_out: bool,
}

impl Accounts {
    /// All groups by name, with who is in them.
    ///
    /// # Errors
    /// [`AccountError::Database`].
    pub async fn groups(&self) -> Result<Vec<Group>, AccountError> {
        let failed = |source| self.failed(source);
        let rows = sqlx::query("SELECT id, name, made_at FROM person_group ORDER BY lower_name")
            .fetch_all(self.pool())
            .await
            .map_err(failed)?;
        let mut groups = rows
            .iter()
            .map(|row| {
                Ok(Group {
                    id: row.try_get("id")?,
                    name: row.try_get("name")?,
                    made_s: row.try_get("made_at")?,
                    members: Vec::new(),
                })
            })
            .collect::<Result<Vec<_>, sqlx::Error>>()
            .map_err(failed)?;
        let rows = sqlx::query("SELECT group_id, person FROM group_member ORDER BY person")
            .fetch_all(self.pool())
            .await
            .map_err(failed)?;
        for row in rows {
            let of: String = row.try_get("group_id").map_err(failed)?;
            if let Some(group) = groups.iter_mut().find(|group| group.id == of) {
                group.members.push(row.try_get("person").map_err(failed)?);
            }
        }
        Ok(groups)
    }

    /// Make a group; `by` is who makes it from which address, nobody from nowhere on the machine itself.
    ///
    /// # Errors
    /// [`AccountError`]: the name is taken or cannot be kept, or there are too many groups.
    pub async fn make_group(
        &self,
        name: &str,
        by: &str,
        from: &str,
        now_s: i64,
    ) -> Result<Group, AccountError> {
        let failed = |source| self.failed(source);
        let name = fit_name(name)?;
        let mut change = self.change().await?;
        let row = sqlx::query("SELECT COUNT(*) FROM person_group")
            .fetch_one(&mut *change)
            .await
            .map_err(failed)?;
        full(row.try_get(0).map_err(failed)?, GROUPS, "groups")?;
        let group = Group {
            id: uuid::Uuid::now_v7().to_string(),
            name,
            made_s: now_s,
            members: Vec::new(),
        };
        let made = sqlx::query(
            "INSERT INTO person_group (id, lower_name, name, made_at) VALUES ($1, $2, $3, $4) ON CONFLICT (lower_name) DO NOTHING",
        )
        .bind(group.id.as_str())
        .bind(group.name.to_lowercase())
        .bind(group.name.as_str())
        .bind(now_s)
        .execute(&mut *change)
        .await
        .map_err(failed)?;
        if made.rows_affected() == 0 {
            return Err(AccountError::Taken { what: "group" });
        }
        let noted = noted(AccessKind::GroupMade, &group.name, "", by, from, now_s);
        self.note_more(&mut change, noted).await?;
        self.keep(change).await?;
        Ok(group)
    }

    /// Dissolve a group. Nothing else of its people changes.
    ///
    /// # Errors
    /// [`AccountError`]: there is no such group.
    pub async fn dissolve_group(
        &self,
        id: &str,
        by: &str,
        from: &str,
        now_s: i64,
    ) -> Result<(), AccountError> {
        let mut change = self.change().await?;
        let name = self.group_name(&mut change, id).await?;
        for statement in [
            "DELETE FROM group_member WHERE group_id = $1",
            "DELETE FROM person_group WHERE id = $1",
        ] {
            sqlx::query(statement)
                .bind(id)
                .execute(&mut *change)
                .await
                .map_err(|source| self.failed(source))?;
        }
        let noted = noted(AccessKind::GroupDissolved, &name, "", by, from, now_s);
        self.note_more(&mut change, noted).await?;
        self.keep(change).await
    }

    /// Put somebody into a group; nothing happens to who is in it already.
    ///
    /// # Errors
    /// [`AccountError`]: there is no such group, or it is full.
    pub async fn enter_group(
        &self,
        id: &str,
        person: &str,
        by: &str,
        from: &str,
        now_s: i64,
    ) -> Result<(), AccountError> {
        let failed = |source| self.failed(source);
        let mut change = self.change().await?;
        let name = self.group_name(&mut change, id).await?;
        let row = sqlx::query("SELECT COUNT(*) FROM group_member WHERE group_id = $1")
            .bind(id)
            .fetch_one(&mut *change)
            .await
            .map_err(failed)?;
        full(
            row.try_get(0).map_err(failed)?,
            GROUP_MEMBERS,
            "people in this group",
        )?;
        let entered = sqlx::query(
            "INSERT INTO group_member (group_id, person, since_at) VALUES ($1, $2, $3) ON CONFLICT (group_id, person) DO NOTHING",
        )
        .bind(id)
        .bind(person)
        .bind(now_s)
        .execute(&mut *change)
        .await
        .map_err(failed)?;
        if entered.rows_affected() > 0 {
            let noted = noted(AccessKind::GroupEntered, &name, person, by, from, now_s);
            self.note_more(&mut change, noted).await?;
        }
        self.keep(change).await
    }

    /// Take somebody out of a group.
    ///
    /// # Errors
    /// [`AccountError`]: there is no such group, or they are not in it.
    pub async fn leave_group(
        &self,
        id: &str,
        person: &str,
        by: &str,
        from: &str,
        now_s: i64,
    ) -> Result<(), AccountError> {
        let mut change = self.change().await?;
        let name = self.group_name(&mut change, id).await?;
        let left = sqlx::query("DELETE FROM group_member WHERE group_id = $1 AND person = $2")
            .bind(id)
            .bind(person)
            .execute(&mut *change)
            .await
            .map_err(|source| self.failed(source))?;
        if left.rows_affected() == 0 {
            return Err(AccountError::Unknown {
                what: "person in this group",
            });
        }
        let noted = noted(AccessKind::GroupLeft, &name, person, by, from, now_s);
        self.note_more(&mut change, noted).await?;
        self.keep(change).await
    }

    /// Lock the accounts of all of a group but of whoever does it, all or none.
    ///
    /// # Errors
    /// [`AccountError`]: there is no such group.
    pub async fn lock_group(
        &self,
        id: &str,
        by: &str,
        from: &str,
        now_s: i64,
    ) -> Result<GroupLocked, AccountError> {
        let mut change = self.change().await?;
        let name = self.group_name(&mut change, id).await?;
        let mut done = GroupLocked::default();
        for person in self.members(&mut change, id).await? {
            if person == by {
                done.left_out = true;
                continue;
            }
            self.shut(&mut change, &person).await?;
            let noted = noted(AccessKind::Locked, &name, &person, by, from, now_s);
            self.note_more(&mut change, noted).await?;
            done.locked.push(person);
        }
        self.keep(change).await?;
        Ok(done)
    }

    /// Unlock the accounts of all of a group, all or none. `people` are ids and names of the book: failed tries in
    /// the names of those who are unlocked are forgotten. The answer is whose accounts were unlocked.
    ///
    /// # Errors
    /// [`AccountError`]: there is no such group.
    pub async fn unlock_group(
        &self,
        id: &str,
        people: &[(String, String)],
        by: &str,
        from: &str,
        now_s: i64,
    ) -> Result<Vec<String>, AccountError> {
        let mut change = self.change().await?;
        let group = self.group_name(&mut change, id).await?;
        let members = self.members(&mut change, id).await?;
        for person in &members {
            self.write_lock(&mut change, person, 0).await?;
            let noted = noted(AccessKind::Unlocked, &group, person, by, from, now_s);
            self.note_more(&mut change, noted).await?;
        }
        self.keep(change).await?;
        for (_, name) in people.iter().filter(|(id, _)| members.contains(id)) {
            self.succeeded(&Whose::name(name), None).await?;
        }
        Ok(members)
    }

    /// What a group is called, and that there is one.
    async fn group_name(
        &self,
        change: &mut Transaction<'static, Any>,
        id: &str,
    ) -> Result<String, AccountError> {
        let failed = |source| self.failed(source);
        let row = sqlx::query("SELECT name FROM person_group WHERE id = $1")
            .bind(id)
            .fetch_optional(&mut **change)
            .await
            .map_err(failed)?;
        let row = row.ok_or(AccountError::Unknown { what: "group" })?;
        row.try_get(0).map_err(failed)
    }

    async fn members(
        &self,
        change: &mut Transaction<'static, Any>,
        id: &str,
    ) -> Result<Vec<String>, AccountError> {
        let failed = |source| self.failed(source);
        let rows =
            sqlx::query("SELECT person FROM group_member WHERE group_id = $1 ORDER BY person")
                .bind(id)
                .fetch_all(&mut **change)
                .await
                .map_err(failed)?;
        rows.iter()
            .map(|row| row.try_get(0))
            .collect::<Result<_, _>>()
            .map_err(failed)
    }
}

fn noted<'a>(
    kind: AccessKind,
    group: &'a str,
    about: &'a str,
    by: &'a str,
    from: &'a str,
    now_s: i64,
) -> Noted<'a> {
    Noted {
        kind,
        person: by,
        about,
        place: from,
        detail: group,
        now_s,
    }
}

fn full(there: i64, most: usize, what: &'static str) -> Result<(), AccountError> {
    if usize::try_from(there).is_ok_and(|there| there < most) {
        return Ok(());
    }
    Err(AccountError::TooMany { what, most })
}

/// A name without spaces around it, of a length that can be shown.
fn fit_name(name: &str) -> Result<String, AccountError> {
    let name = name.trim();
    let chars = name.chars().count();
    if (1..=GROUP_NAME_CHARS).contains(&chars) && !name.chars().any(char::is_control) {
        return Ok(name.to_owned());
    }
    Err(AccountError::Field {
        field: "name",
        found: match chars {
            0 => "empty".into(),
            _ => format!("{chars} characters"),
        },
        expected: format!("1 to {GROUP_NAME_CHARS} characters, none of them a line break"),
    })
}
