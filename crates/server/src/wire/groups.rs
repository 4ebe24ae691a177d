//! Groups of people, over the wire.

use super::at;
use meltrange_accounts as kept;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Groups of people.
#[derive(Debug, Serialize, ToSchema)]
pub struct PersonGroups {
    /// By name.
    pub groups: Vec<PersonGroup>,
}

/// A group of people.
#[derive(Debug, Serialize, ToSchema)]
pub struct PersonGroup {
    /// Its id.
    #[schema(format = Uuid)]
    pub id: String,
    /// Its name.
    pub name: String,
    /// When it was made.
    #[schema(format = DateTime)]
    pub made: String,
    /// Ids of those who are in it.
    pub members: Vec<String>,
}

impl From<kept::Group> for PersonGroup {
    fn from(group: kept::Group) -> Self {
        Self {
            id: group.id,
            name: group.name,
            made: at(group.made_s),
            members: group.members,
        }
    }
}

/// A group that is wanted.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GroupRequest {
    /// Its name.
    #[schema(min_length = 1, max_length = 100)]
    pub name: String,
}

/// What locking a group did.
#[derive(Debug, Serialize, ToSchema)]
pub struct GroupLocked {
    /// Accounts that were locked.
    pub locked: usize,
    /// Whether one's own was left out.
    pub left_out: bool,
}

/// What unlocking a group did.
#[derive(Debug, Serialize, ToSchema)]
pub struct GroupUnlocked {
    /// Accounts that were unlocked.
    pub unlocked: usize,
}
