//! Who may come in: passphrases, sessions, tokens.
