//! A throw-away PostgreSQL on loopback. None where its programs are not installed: then what needs it says so.

use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use tempfile::TempDir;

/// A cluster, stopped and removed when dropped.
pub struct Cluster {
    room: TempDir,
    programs: PathBuf,
    port: u16,
}

impl Cluster {
    /// Begin one; none without PostgreSQL.
    pub fn begin() -> Option<Self> {
        let programs = programs()?;
        let room = tempfile::tempdir().expect("a temporary folder");
        let listener = TcpListener::bind(("127.0.0.1", 0)).expect("a port");
        let port = listener.local_addr().expect("an address").port();
        drop(listener);
        let cluster = Self {
            room,
            programs,
            port,
        };
        cluster.hand_over();
        let data = cluster.room.path().join("data");
        cluster.run(
            "initdb",
            &[
                "-D",
                text(&data),
                "-U",
                "meltrange",
                "--auth=trust",
                "--encoding=UTF8",
                "--locale=C.UTF-8",
                "--no-sync",
            ],
        );
        let options = format!(
            "-c listen_addresses=127.0.0.1 -p {port} -k {} -F",
            cluster.room.path().display()
        );
        let log = cluster.room.path().join("log");
        cluster.run(
            "pg_ctl",
            &[
                "-D",
                text(&data),
                "-l",
                text(&log),
                "-w",
                "-t",
                "30",
                "-o",
                &options,
                "start",
            ],
        );
        Some(cluster)
    }

    /// Where its one database is.
    pub fn address(&self) -> String {
        format!("postgres://meltrange@127.0.0.1:{}/postgres", self.port)
    }

    /// PostgreSQL refuses to run as root.
    fn hand_over(&self) {
        if is_root() {
            let done = Command::new("chown")
                .args(["nobody", text(self.room.path())])
                .status()
                .expect("chown");
            assert!(done.success());
        }
    }

    fn run(&self, program: &str, arguments: &[&str]) {
        let path = self.programs.join(program);
        let mut command = if is_root() {
            let mut command = Command::new("setpriv");
            command
                .args(["--reuid=nobody", "--regid=nogroup", "--clear-groups", "--"])
                .arg(path);
            command
        } else {
            Command::new(path)
        };
        let done = command
            .args(arguments)
            .current_dir(self.room.path())
            .env("HOME", self.room.path())
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .status()
            .expect("it runs");
        assert!(done.success(), "{program} {arguments:?}");
    }
}

impl Drop for Cluster {
    fn drop(&mut self) {
        let data = self.room.path().join("data");
        self.run("pg_ctl", &["-D", text(&data), "-m", "immediate", "stop"]);
    }
}

fn text(path: &Path) -> &str {
    path.to_str().expect("a name in Unicode")
}

fn is_root() -> bool {
    let asked = Command::new("id").arg("-u").output().expect("id");
    asked.stdout.starts_with(b"0\n")
}

/// The folder of the newest programs.
fn programs() -> Option<PathBuf> {
    let named = std::env::var_os("PATH")?;
    let mut folders: Vec<PathBuf> = std::env::split_paths(&named).collect();
    if let Ok(versions) = std::fs::read_dir("/usr/lib/postgresql") {
        let mut found: Vec<PathBuf> = versions
            .flatten()
            .map(|one| one.path().join("bin"))
            .collect();
        found.sort();
        folders.extend(found.into_iter().rev());
    }
    folders
        .into_iter()
        .find(|folder| folder.join("initdb").exists() && folder.join("pg_ctl").exists())
}
