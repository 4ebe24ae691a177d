//! Video, pictures and temperature logs, in and out.
