//! Argon2id (RFC 9106) of passphrases, as PHC strings.

use crate::error::AccountError;
use crate::passphrase::normal;
use argon2::password_hash::phc::PasswordHash;
use argon2::{Algorithm, Argon2, CustomizedPasswordHasher, Params, PasswordVerifier, Version};

/// Bytes of salt (RFC 9106, 4: 128 bits are sufficient for all applications).
const SALT_BYTES: usize = 16;

/// What one hash costs whoever makes it, and whoever guesses.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cost {
    /// Memory [KiB].
    pub memory_kib: u32,
    /// Passes over it.
    pub passes: u32,
    /// Lanes.
    pub lanes: u32,
}

impl Default for Cost {
    /// The least that the OWASP Password Storage Cheat Sheet takes for Argon2id: 19 MiB, two passes, one lane.
    fn default() -> Self {
        Self {
            memory_kib: 19 * 1024,
            passes: 2,
            lanes: 1,
        }
    }
}

impl Cost {
    fn params(self) -> Result<Params, AccountError> {
        Params::new(self.memory_kib, self.passes, self.lanes, None).map_err(failed)
    }

    /// Whether a hash cost less than this.
    pub(crate) fn is_above(self, hash: &str) -> bool {
        let Ok(params) = PasswordHash::new(hash)
            .map_err(failed)
            .and_then(|hash| Params::try_from(&hash).map_err(failed))
        else {
            return true;
        };
        params.m_cost() < self.memory_kib
            || params.t_cost() < self.passes
            || params.p_cost() < self.lanes
    }
}

fn failed(error: impl std::fmt::Display) -> AccountError {
    AccountError::Hash {
        found: error.to_string(),
    }
}

/// The PHC string of a passphrase with a salt of its own. Takes a while.
pub(crate) fn hash(passphrase: &str, cost: Cost) -> Result<String, AccountError> {
    let salt = crate::chance::bytes::<SALT_BYTES>()?;
    let argon2 = Argon2::new(Algorithm::Argon2id, Version::V0x13, cost.params()?);
    let hash: PasswordHash = argon2
        .hash_password_customized(
            normal(passphrase).as_bytes(),
            &salt,
            Some("argon2id"),
            Some(Version::V0x13.into()),
            cost.params()?,
        )
        .map_err(failed)?;
    Ok(hash.to_string())
}

/// Whether this is the passphrase of a PHC string. Takes a while.
pub(crate) fn matches(passphrase: &str, hash: &str) -> Result<bool, AccountError> {
    let hash = PasswordHash::new(hash).map_err(failed)?;
    match Argon2::default().verify_password(normal(passphrase).as_bytes(), &hash) {
        Ok(()) => Ok(true),
        Err(argon2::password_hash::Error::PasswordInvalid) => Ok(false),
        Err(other) => Err(failed(other)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use argon2::{AssociatedData, ParamsBuilder};

    /// RFC 9106, 5.3: Argon2id, 32 KiB, three passes, four lanes, with a secret and associated data.
    #[test]
    fn rfc_9106_section_5_3() {
        let mut builder = ParamsBuilder::new();
        builder
            .m_cost(32)
            .t_cost(3)
            .p_cost(4)
            .output_len(32)
            .data(AssociatedData::new(&[0x04; 12]).expect("twelve bytes"));
        let argon2 = Argon2::new_with_secret(
            &[0x03; 8],
            Algorithm::Argon2id,
            Version::V0x13,
            builder.build().expect("in range"),
        )
        .expect("eight bytes");
        let mut tag = [0; 32];
        argon2
            .hash_password_into(&[0x01; 32], &[0x02; 16], &mut tag)
            .expect("memory");
        let hex: String = tag.iter().map(|byte| format!("{byte:02x}")).collect();
        assert_eq!(
            hex,
            "0d640df58d78766c08c037a34a8b53c9d01ef0452d75b65eb52520e96b01e659"
        );
    }

    #[test]
    fn a_hash_says_how_it_was_made_and_is_salted() {
        let hash = super::hash("three owls on a warm block", Cost::default()).expect("memory");
        // The PHC string format; parameters at least those of the OWASP cheat sheet.
        assert!(
            hash.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"),
            "{hash}"
        );
        let again = super::hash("three owls on a warm block", Cost::default()).expect("memory");
        assert_ne!(hash, again);
        assert!(matches("three owls on a warm block", &hash).expect("a hash"));
        assert!(!matches("three owls on a warm blocK", &hash).expect("a hash"));
        assert!(!matches("", &hash).expect("a hash"));
        assert!(matches("three", "no hash").is_err());
    }

    #[test]
    fn accents_may_be_typed_either_way() {
        let small = Cost {
            memory_kib: 64,
            passes: 1,
            lanes: 1,
        };
        let hash = super::hash("caf\u{e9} on a hot plate", small).expect("memory");
        assert!(matches("cafe\u{301} on a hot plate", &hash).expect("a hash"));
    }

    #[test]
    fn hashes_that_cost_less_are_told() {
        let small = Cost {
            memory_kib: 64,
            passes: 1,
            lanes: 1,
        };
        let hash = super::hash("three owls on a warm block", small).expect("memory");
        assert!(!small.is_above(&hash));
        assert!(Cost::default().is_above(&hash));
        let slower = Cost { passes: 2, ..small };
        assert!(slower.is_above(&hash));
    }
}
