//! The certificate that this machine makes for itself: of the listener for phones, and of a book served in a
//! network without another.
//!
//! Nobody vouches for it: the person compares its fingerprint, shown beside the code on the screen, with
//! what the phone shows. It lasts a year and is made anew when the machine's names change.

use rcgen::{
    CertificateParams, DistinguishedName, DnType, ExtendedKeyUsagePurpose, IsCa, KeyPair,
    KeyUsagePurpose,
};
use rustls::pki_types::pem::PemObject as _;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};
use std::collections::BTreeSet;
use std::io::{self, Write as _};
use std::net::IpAddr;
use std::path::Path;
use std::time::{Duration, SystemTime, UNIX_EPOCH};

/// Its folder in that of the book, and the files there.
const FOLDER: &str = "camera-certificate";
const KEY: &str = "key.pem";
const CERTIFICATE: &str = "certificate.pem";
const ABOUT: &str = "about.json";

/// How long it lasts, and how long before its end a new one is made. Browsers take none of more than
/// 398 days from public issuers; this stays below.
const LASTS: Duration = Duration::from_secs(365 * 86_400);
const RENEWED: Duration = Duration::from_secs(30 * 86_400);

/// For whom it stands and until when.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
struct About {
    names: BTreeSet<String>,
    until_s: u64,
}

/// A certificate with its key.
#[derive(Debug)]
pub(crate) struct Certificate {
    /// As TLS sends it.
    pub chain: Vec<CertificateDer<'static>>,
    /// Its key.
    pub key: PrivateKeyDer<'static>,
}

impl Certificate {
    /// The one kept in the book's folder, or a new one when there is none for these names.
    ///
    /// # Errors
    /// When the folder cannot be read or written, or what is there is no certificate.
    pub fn kept_or_new(book: &Path, names: &BTreeSet<String>) -> io::Result<Self> {
        let folder = book.join(FOLDER);
        let now = SystemTime::now();
        if let Some(about) = about(&folder)
            && names.is_subset(&about.names)
            && UNIX_EPOCH + Duration::from_secs(about.until_s) > now + RENEWED
            && let Ok(kept) = Self::read(&folder)
        {
            return Ok(kept);
        }
        std::fs::create_dir_all(&folder)?;
        make(&folder, names, now)?;
        Self::read(&folder)
    }

    fn read(folder: &Path) -> io::Result<Self> {
        Self::of_files(&folder.join(CERTIFICATE), &folder.join(KEY))
    }

    /// The one in these files (PEM): the certificate with those that vouch for it, and its key.
    ///
    /// # Errors
    /// When they cannot be read, or hold no certificate or no key.
    pub fn of_files(certificate: &Path, key: &Path) -> io::Result<Self> {
        let chain = CertificateDer::pem_file_iter(certificate)
            .and_then(Iterator::collect::<Result<Vec<_>, _>>)
            .map_err(io::Error::other)?;
        let key = PrivateKeyDer::from_pem_file(key).map_err(io::Error::other)?;
        if chain.is_empty() {
            return Err(io::Error::other("there is no certificate in its file"));
        }
        Ok(Self { chain, key })
    }

    /// SHA-256 of the certificate, as browsers show it: pairs of digits with colons.
    pub fn fingerprint(&self) -> String {
        let Some(first) = self.chain.first() else {
            return String::new();
        };
        let pairs: Vec<String> = Sha256::digest(first)
            .iter()
            .map(|byte| format!("{byte:02X}"))
            .collect();
        pairs.join(":")
    }
}

fn about(folder: &Path) -> Option<About> {
    let text = std::fs::read(folder.join(ABOUT)).ok()?;
    serde_json::from_slice(&text).ok()
}

fn make(folder: &Path, names: &BTreeSet<String>, now: SystemTime) -> io::Result<()> {
    let mut params = CertificateParams::new(names.iter().cloned().collect::<Vec<_>>())
        .map_err(io::Error::other)?;
    params.distinguished_name = DistinguishedName::new();
    params
        .distinguished_name
        .push(DnType::CommonName, "meltrange");
    // A phone's clock may be a little behind.
    params.not_before = (now - Duration::from_secs(86_400)).into();
    params.not_after = (now + LASTS).into();
    params.is_ca = IsCa::ExplicitNoCa;
    params.key_usages = vec![KeyUsagePurpose::DigitalSignature];
    params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
    let key = KeyPair::generate().map_err(io::Error::other)?;
    let certificate = params.self_signed(&key).map_err(io::Error::other)?;
    let until_s = (now + LASTS)
        .duration_since(UNIX_EPOCH)
        .map_or(0, |since| since.as_secs());
    let about = About {
        names: names.clone(),
        until_s,
    };
    // What tells about them comes last: a set broken off is made anew.
    let _ = std::fs::remove_file(folder.join(ABOUT));
    write_private(&folder.join(KEY), key.serialize_pem().as_bytes())?;
    write_private(&folder.join(CERTIFICATE), certificate.pem().as_bytes())?;
    write_private(&folder.join(ABOUT), &serde_json::to_vec(&about)?)
}

/// Write a file that only its owner may read.
fn write_private(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let _ = std::fs::remove_file(path);
    let mut options = std::fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

/// The addresses of this machine by which others reach it, those of local networks first; never empty.
pub(crate) fn addresses() -> Vec<IpAddr> {
    let mut found: Vec<IpAddr> = if_addrs::get_if_addrs()
        .unwrap_or_default()
        .into_iter()
        .filter(|interface| !interface.is_loopback() && !interface.is_link_local())
        .map(|interface| interface.ip())
        // The listener takes IPv4.
        .filter(IpAddr::is_ipv4)
        .collect();
    // RFC 1918 networks: what a phone in the same room has.
    found.sort_by_key(|ip| (!matches!(ip, IpAddr::V4(v4) if v4.is_private()), *ip));
    found.dedup();
    if found.is_empty() {
        found.push(IpAddr::from([127, 0, 0, 1]));
    }
    found
}

/// Everything this machine is called: its addresses, its host name (also as multicast DNS has it, RFC
/// 6762), and loopback.
pub(crate) fn names(addresses: &[IpAddr]) -> BTreeSet<String> {
    let mut names: BTreeSet<String> = addresses.iter().map(IpAddr::to_string).collect();
    names.extend(["127.0.0.1".to_owned(), "localhost".to_owned()]);
    if let Ok(host) = gethostname::gethostname().into_string() {
        let is_dns = !host.is_empty()
            && host
                .bytes()
                .all(|b| b.is_ascii_alphanumeric() || matches!(b, b'-' | b'.'));
        if is_dns {
            let host = host.to_ascii_lowercase();
            if !host.contains('.') {
                names.insert(format!("{host}.local"));
            }
            names.insert(host);
        }
    }
    names
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_kept_until_the_names_change_and_its_key_is_private() {
        let book = tempfile::tempdir().expect("a folder");
        let names: BTreeSet<String> = ["192.0.2.7".to_owned(), "north.local".to_owned()].into();
        let first = Certificate::kept_or_new(book.path(), &names).expect("made");
        let again = Certificate::kept_or_new(book.path(), &names).expect("kept");
        assert_eq!(first.fingerprint(), again.fingerprint());
        // 32 bytes with colons between.
        assert_eq!(first.fingerprint().len(), 32 * 3 - 1);
        let fewer: BTreeSet<String> = ["north.local".to_owned()].into();
        let kept = Certificate::kept_or_new(book.path(), &fewer).expect("kept");
        assert_eq!(first.fingerprint(), kept.fingerprint());
        let more: BTreeSet<String> = ["192.0.2.8".to_owned()].into();
        let other = Certificate::kept_or_new(book.path(), &more).expect("made anew");
        assert_ne!(first.fingerprint(), other.fingerprint());
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt as _;
            for file in [KEY, CERTIFICATE, ABOUT] {
                let meta = std::fs::metadata(book.path().join(FOLDER).join(file)).expect("there");
                assert_eq!(meta.permissions().mode() & 0o777, 0o600, "{file}");
            }
        }
        // Damaged: made anew.
        std::fs::write(book.path().join(FOLDER).join(KEY), "none").expect("written");
        let healed = Certificate::kept_or_new(book.path(), &more).expect("made anew");
        assert_ne!(healed.fingerprint(), other.fingerprint());
    }

    #[test]
    fn this_machine_has_names() {
        let names = names(&addresses());
        assert!(names.contains("127.0.0.1") && names.contains("localhost"));
        assert!(names.len() >= 2);
    }
}
