//! Secrets out of the system's randomness, and the digests that are kept of them.

use crate::error::AccountError;
use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use sha2::{Digest as _, Sha256};

/// Bytes of chance in the secret of a session or token: 256 bits.
const SECRET_BYTES: usize = 32;

/// Letters of an invitation's code: 24 of 32, 120 bits. OWASP ASVS 4.0.3, 2.6.2, wants 112 of what is kept
/// as a plain digest.
const CODE_LETTERS: usize = 24;

/// Digits and letters that nobody mistakes for each other when reading aloud: no I, L, O, U.
const LETTERS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/// A secret, in letters that cookies and headers take.
pub(crate) fn secret() -> Result<String, AccountError> {
    Ok(URL_SAFE_NO_PAD.encode(bytes::<SECRET_BYTES>()?))
}

/// The code of an invitation, in groups of four.
pub(crate) fn code() -> Result<String, AccountError> {
    let mut code = String::with_capacity(CODE_LETTERS + CODE_LETTERS / 4);
    for (place, byte) in bytes::<CODE_LETTERS>()?.into_iter().enumerate() {
        if place > 0 && place % 4 == 0 {
            code.push('-');
        }
        // 256 is a multiple of 32: every letter is as likely.
        code.push(char::from(LETTERS[usize::from(byte) % LETTERS.len()]));
    }
    Ok(code)
}

/// A code of so many letters, 5 bits each, for what lasts an afternoon and is guarded against guessing.
///
/// # Errors
/// [`AccountError::NoChance`] where the system has no randomness to give.
pub fn short_code(letters: usize) -> Result<String, AccountError> {
    let mut bytes = vec![0; letters];
    getrandom::fill(&mut bytes).map_err(|_| AccountError::NoChance)?;
    Ok(bytes
        .into_iter()
        .map(|byte| char::from(LETTERS[usize::from(byte) % LETTERS.len()]))
        .collect())
}

/// A code as it was made, from what somebody typed: letters of either size, groups apart or not, and the
/// letters that are left out taken for what they look like.
pub fn typed_code(text: &str) -> String {
    text.chars()
        .filter(|letter| !letter.is_whitespace() && *letter != '-')
        .map(|letter| match letter.to_ascii_uppercase() {
            'I' | 'L' => '1',
            'O' => '0',
            other => other,
        })
        .collect()
}

/// What is kept of a secret. It has so much chance in it that nobody finds it from this, and looking it up
/// takes as long whether it is nearly right or not.
pub(crate) fn digest(secret: &str) -> String {
    Sha256::digest(secret.as_bytes())
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

pub(crate) fn bytes<const N: usize>() -> Result<[u8; N], AccountError> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).map_err(|_| AccountError::NoChance)?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digests_are_sha_256() {
        // FIPS 180-4 example, "abc": https://csrc.nist.gov/projects/cryptographic-standards-and-guidelines/example-values
        assert_eq!(
            digest("abc"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }

    #[test]
    fn secrets_and_codes_have_their_length_and_never_repeat() {
        let first = secret().expect("chance");
        // 256 bits in six-bit letters.
        assert_eq!(first.len(), 43);
        assert_ne!(first, secret().expect("chance"));
        let code = code().expect("chance");
        assert_eq!(code.len(), 24 + 5);
        assert_eq!(typed_code(&code).len(), CODE_LETTERS);
        assert_ne!(code, super::code().expect("chance"));
    }

    #[test]
    fn a_code_is_taken_as_people_type_it() {
        assert_eq!(typed_code(" 0abc-defg oIl2 "), "0ABCDEFG0112");
    }
}
