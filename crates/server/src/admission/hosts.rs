//! The names by which this machine is reached.

use std::collections::BTreeSet;

/// Names of this machine for itself.
pub(crate) const LOOPBACK: [&str; 3] = ["127.0.0.1", "localhost", "[::1]"];

/// Names and addresses that a request may name as its host.
#[derive(Debug)]
pub(super) struct Hosts(BTreeSet<String>);

impl Hosts {
    /// These and loopback's.
    pub fn new(names: BTreeSet<String>) -> Self {
        let mut known: BTreeSet<String> = names
            .into_iter()
            .map(|name| match name.parse::<std::net::Ipv6Addr>() {
                // As hosts are written.
                Ok(address) => format!("[{address}]"),
                Err(_) => name.trim_end_matches('.').to_ascii_lowercase(),
            })
            .collect();
        known.extend(LOOPBACK.map(str::to_owned));
        Self(known)
    }

    /// Whether this `Host` is one of them, with a port or without.
    pub fn knows(&self, host: &str) -> bool {
        name_of(host).is_some_and(|name| self.0.contains(name))
    }
}

/// Whether this `Host` is a name of this machine for itself.
pub(crate) fn is_loopback(host: &str) -> bool {
    name_of(host).is_some_and(|name| LOOPBACK.contains(&name))
}

/// A `Host` in lower case without its port; none where that is no port.
fn name_of(host: &str) -> Option<&str> {
    let end = match host.find(']') {
        Some(bracket) if host.starts_with('[') => bracket + 1,
        _ => host.find(':').unwrap_or(host.len()),
    };
    let (name, rest) = host.split_at(end);
    match rest.strip_prefix(':') {
        None if rest.is_empty() => Some(name),
        Some(port) if port.parse::<u16>().is_ok() => Some(name),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hosts_are_names_with_or_without_a_port() {
        let names = ["bench.example.edu.", "192.0.2.7", "2001:db8::7"];
        let hosts = Hosts::new(names.map(str::to_owned).into());
        for known in [
            "bench.example.edu",
            "bench.example.edu:8443",
            "192.0.2.7:8443",
            "[2001:db8::7]",
            "[2001:db8::7]:8443",
            "127.0.0.1",
            "localhost:1",
            "[::1]:80",
        ] {
            assert!(hosts.knows(known), "{known}");
        }
        for unknown in [
            "",
            ":80",
            "bench.example.edu.evil.example",
            "evil.example",
            "bench.example.edu:99999",
            "bench.example.edu:",
            "bench.example.edu:80@evil.example",
            "192.0.2.70",
            "[2001:db8::8]",
            "[2001:db8::7]x",
            "2001:db8::7",
        ] {
            assert!(!hosts.knows(unknown), "{unknown}");
        }
        assert!(is_loopback("localhost:8437") && !is_loopback("bench.example.edu"));
    }
}
