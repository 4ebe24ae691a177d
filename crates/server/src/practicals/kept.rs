//! What is kept of class sessions beside the records, because it must be deletable: codes to come in by, and real names with
//! the random numbers that tie them to the digests in the chain. One file for each, readable by this user alone.

use crate::problem::Problem;
use crate::state::locked;
use meltrange_accounts::{short_code, typed_code};
use meltrange_labbook::{BookError, Digest, PersonId, PracticalId};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fs;
use std::io::{ErrorKind, Write as _};
use std::path::{Path, PathBuf};
use std::sync::Mutex;

/// The folder within the book's.
const FOLDER: &str = "practicals";

/// How a file is written.
const FORMAT: u32 = 1;

/// Letters of the code of a class, short enough to be read from a board: 30 bits, guarded against guessing and of use for an
/// afternoon.
const CLASS_LETTERS: usize = 6;

/// Letters of the code of a seat, on its label and in its picture: 60 bits.
const SEAT_LETTERS: usize = 12;

/// Letters of the random number beside a name: 130 bits.
const SALT_LETTERS: usize = 26;

/// A real name.
#[derive(Debug, Clone, Serialize, Deserialize)]
struct KeptName {
    name: String,
    salt: String,
}

/// Codes and names of one class session.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Secrets {
    format: u32,
    /// For the whole class.
    pub class_code: String,
    /// For each seat, in order.
    pub seat_codes: Vec<String>,
    names: BTreeMap<String, KeptName>,
    /// Whether names were deleted; then none is kept any more.
    pub forgotten: bool,
}

impl Secrets {
    fn new(seats: usize) -> Result<Self, Problem> {
        Ok(Self {
            format: FORMAT,
            class_code: code(CLASS_LETTERS)?,
            seat_codes: (0..seats)
                .map(|_| code(SEAT_LETTERS))
                .collect::<Result<_, _>>()?,
            names: BTreeMap::new(),
            forgotten: false,
        })
    }

    /// The real name of somebody, while it is kept.
    pub fn name_of(&self, person: PersonId) -> Option<String> {
        let kept = self.names.get(&person.to_string())?;
        Some(kept.name.clone())
    }

    /// Keep somebody's name, and give the digest that goes into the chain; none where names were deleted.
    pub fn keep_name(&mut self, person: PersonId, name: &str) -> Result<Option<Digest>, Problem> {
        if self.forgotten {
            return Ok(None);
        }
        let salt = code(SALT_LETTERS)?;
        let digest = Digest::of(format!("{salt}\n{name}").as_bytes());
        let kept = KeptName {
            name: name.to_owned(),
            salt,
        };
        self.names.insert(person.to_string(), kept);
        Ok(Some(digest))
    }

    /// Delete all names and what ties them to the chain.
    pub fn forget(&mut self) {
        self.names.clear();
        self.forgotten = true;
    }

    /// A new code for a seat, by its number from 1.
    pub fn renew(&mut self, seat: u32) -> Result<(), Problem> {
        let fresh = code(SEAT_LETTERS)?;
        let at = (seat as usize).checked_sub(1);
        if let Some(own) = at.and_then(|at| self.seat_codes.get_mut(at)) {
            *own = fresh;
        }
        Ok(())
    }

    /// Codes for as many seats.
    pub fn fill(&mut self, seats: usize) -> Result<(), Problem> {
        while self.seat_codes.len() < seats {
            self.seat_codes.push(code(SEAT_LETTERS)?);
        }
        Ok(())
    }
}

fn code(letters: usize) -> Result<String, Problem> {
    short_code(letters).map_err(|error| Problem::internal(&error))
}

/// Where a code leads.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Door {
    pub practical: PracticalId,
    /// Which seat, from 1; none for the code of a class.
    pub seat: Option<u32>,
}

/// All of them.
#[derive(Debug)]
pub(crate) struct KeptPracticals {
    folder: PathBuf,
    /// As on the disk; read once.
    known: Mutex<Option<BTreeMap<PracticalId, Secrets>>>,
}

impl KeptPracticals {
    /// Of the book in `folder`.
    pub fn in_book(folder: &Path) -> Self {
        Self {
            folder: folder.join(FOLDER),
            known: Mutex::default(),
        }
    }

    /// Those of one class session; made where there are none, e.g. in a book that came from another machine.
    pub fn of(&self, id: PracticalId, seats: usize) -> Result<Secrets, Problem> {
        self.change(id, seats, |_| Ok(()))
    }

    /// Change them, and give them as they are then. What fails changes nothing.
    pub fn change(
        &self,
        id: PracticalId,
        seats: usize,
        change: impl FnOnce(&mut Secrets) -> Result<(), Problem>,
    ) -> Result<Secrets, Problem> {
        let mut known = locked(&self.known);
        let all = self.all(&mut known)?;
        let before = all.get(&id).cloned();
        let mut secrets = match &before {
            Some(found) => found.clone(),
            None => Secrets::new(seats)?,
        };
        secrets.fill(seats)?;
        change(&mut secrets)?;
        self.write(id, &secrets)?;
        all.insert(id, secrets.clone());
        Ok(secrets)
    }

    /// Where a code leads, as somebody typed it.
    pub fn door(&self, typed: &str) -> Result<Option<Door>, Problem> {
        let typed = typed_code(typed);
        let mut known = locked(&self.known);
        let all = self.all(&mut known)?;
        for (&practical, secrets) in all.iter() {
            if secrets.class_code == typed {
                return Ok(Some(Door {
                    practical,
                    seat: None,
                }));
            }
            if let Some(at) = secrets.seat_codes.iter().position(|code| *code == typed) {
                return Ok(Some(Door {
                    practical,
                    seat: Some(at as u32 + 1),
                }));
            }
        }
        Ok(None)
    }

    fn all<'a>(
        &self,
        known: &'a mut Option<BTreeMap<PracticalId, Secrets>>,
    ) -> Result<&'a mut BTreeMap<PracticalId, Secrets>, Problem> {
        if known.is_none() {
            *known = Some(self.read()?);
        }
        Ok(known.get_or_insert_default())
    }

    fn read(&self) -> Result<BTreeMap<PracticalId, Secrets>, Problem> {
        let entries = match fs::read_dir(&self.folder) {
            Ok(entries) => entries,
            Err(error) if error.kind() == ErrorKind::NotFound => return Ok(BTreeMap::new()),
            Err(error) => return Err(BookError::file(&self.folder, "read", error).into()),
        };
        let mut all = BTreeMap::new();
        for path in entries.flatten().map(|entry| entry.path()) {
            let name = path.file_stem().and_then(|stem| stem.to_str());
            let Some(id) = name.and_then(|name| name.parse().ok()) else {
                continue;
            };
            let bytes = fs::read(&path).map_err(|error| BookError::file(&path, "read", error))?;
            match serde_json::from_slice::<Secrets>(&bytes) {
                Ok(secrets) if secrets.format == FORMAT => {
                    all.insert(id, secrets);
                }
                // New codes are made; a damaged file is left for whoever looks after the machine.
                _ => {
                    tracing::warn!(path = %path.display(), "codes and names of a class session cannot be read")
                }
            }
        }
        Ok(all)
    }

    fn write(&self, id: PracticalId, secrets: &Secrets) -> Result<(), Problem> {
        let path = self.folder.join(format!("{id}.json"));
        let failed = |error| BookError::file(&path, "written", error);
        let text = serde_json::to_vec_pretty(secrets).map_err(|error| Problem::internal(&error))?;
        fs::create_dir_all(&self.folder).map_err(failed)?;
        // Beside its place, for this user alone, and then in it.
        let mut beside = tempfile::NamedTempFile::new_in(&self.folder).map_err(failed)?;
        beside.write_all(&text).map_err(failed)?;
        beside.as_file().sync_all().map_err(failed)?;
        beside.persist(&path).map_err(|error| failed(error.error))?;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_lead_to_their_seat_and_old_ones_nowhere() {
        let room = tempfile::tempdir().expect("a folder");
        let kept = KeptPracticals::in_book(room.path());
        let id = PracticalId::new();
        let secrets = kept.of(id, 3).expect("made");
        let door = |code: &str| kept.door(code).expect("readable");
        assert_eq!(
            door(&secrets.class_code.to_lowercase()),
            Some(Door {
                practical: id,
                seat: None
            })
        );
        let old = secrets.seat_codes[1].clone();
        assert_eq!(door(&old).and_then(|door| door.seat), Some(2));
        let fresh = kept
            .change(id, 3, |secrets| secrets.renew(2))
            .expect("changed");
        assert_eq!(door(&old), None);
        assert_eq!(
            door(&fresh.seat_codes[1]).and_then(|door| door.seat),
            Some(2)
        );
        // Another program reads the same.
        let again = KeptPracticals::in_book(room.path());
        let found = again.of(id, 3).expect("readable");
        assert_eq!(found.seat_codes, fresh.seat_codes);
    }

    #[test]
    fn deleted_names_leave_nothing_that_ties_them_to_the_chain() {
        let room = tempfile::tempdir().expect("a folder");
        let kept = KeptPracticals::in_book(room.path());
        let (id, person) = (PracticalId::new(), PersonId::new());
        let mut digest = None;
        let secrets = kept
            .change(id, 1, |secrets| {
                digest = secrets.keep_name(person, "Mira Amsel")?;
                Ok(())
            })
            .expect("kept");
        assert_eq!(secrets.name_of(person).as_deref(), Some("Mira Amsel"));
        // Without the random number a name that is guessed cannot be tried.
        assert_ne!(digest, Some(Digest::of(b"Mira Amsel")));
        kept.change(id, 1, |secrets| {
            secrets.forget();
            Ok(())
        })
        .expect("deleted");
        for file in fs::read_dir(room.path().join(FOLDER)).expect("there") {
            let text = fs::read_to_string(file.expect("there").path()).expect("readable");
            assert!(!text.contains("Amsel"), "{text}");
            assert!(!text.contains("salt"), "{text}");
        }
        let after = kept.of(id, 1).expect("readable");
        assert_eq!(after.name_of(person), None);
    }
}
