//! Recordings of a shared book in an object store: one object for each file, the manifest last.
//!
//! What is there is what the manifest says, and the manifest's digest stands in the chain: whatever comes back
//! is compared before it is used.

use crate::digest::{Digest, Running};
use crate::error::BookError;
use crate::ids::RecordingId;
use crate::recording::{MANIFEST, Manifest, STAGED};
use futures_util::TryStreamExt as _;
use object_store::aws::AmazonS3Builder;
use object_store::buffered::BufWriter;
use object_store::local::LocalFileSystem;
use object_store::path::Path as Key;
use object_store::{ObjectStore, ObjectStoreExt as _, RetryConfig};
use std::fs;
use std::io::Write as _;
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;
use tokio::io::AsyncWriteExt as _;

/// Below this in the store.
const RECORDINGS: &str = "recordings";

/// A store that fails is tried so often within a request, and given up after this; what is to be handed over is
/// tried again later anyway.
const TRIES: usize = 3;
const PATIENCE: Duration = Duration::from_secs(20);

/// Where recordings of a shared book are.
#[derive(Debug)]
pub(crate) struct Depot {
    store: Arc<dyn ObjectStore>,
    below: Key,
    shown: String,
}

impl Depot {
    /// The store at this address: `s3://BUCKET/FOLDER`, with its settings from the usual variables (`AWS_ENDPOINT`,
    /// `AWS_REGION` …), or `file:///FOLDER` for a folder that all machines see.
    pub fn at(address: &str) -> Result<Self, BookError> {
        let wrong = |found: String| BookError::DepotAddress {
            shown: address.to_owned(),
            found,
        };
        let url = url::Url::parse(address).map_err(|error| wrong(error.to_string()))?;
        if !matches!(url.scheme(), "s3" | "file") || url.path().contains("//") {
            return Err(wrong("it is neither of s3: nor of file:".into()));
        }
        let store: Arc<dyn ObjectStore> = match url.scheme() {
            "file" => Arc::new(LocalFileSystem::new().with_fsync(true)),
            _ => {
                // One that was installed before is as good.
                let _ = rustls::crypto::ring::default_provider().install_default();
                let s3 = AmazonS3Builder::from_env()
                    .with_url(address)
                    .with_retry(RetryConfig {
                        max_retries: TRIES,
                        retry_timeout: PATIENCE,
                        ..RetryConfig::default()
                    })
                    .build();
                Arc::new(s3.map_err(|error| wrong(error.to_string()))?)
            }
        };
        let below = Key::from_url_path(url.path()).map_err(|error| wrong(error.to_string()))?;
        Ok(Self {
            store,
            below,
            shown: address.to_owned(),
        })
    }

    fn key(&self, id: RecordingId, name: &str) -> Key {
        self.below
            .clone()
            .join(RECORDINGS)
            .join(id.to_string())
            .join(name)
    }

    fn failed(&self, source: object_store::Error) -> BookError {
        BookError::Depot {
            address: self.shown.clone(),
            source,
        }
    }

    /// Bring the recording in `folder` into the store; what is there already is not sent again.
    pub async fn put(&self, id: RecordingId, folder: &Path) -> Result<(), BookError> {
        let path = folder.join(MANIFEST);
        let text = fs::read(&path).map_err(|error| BookError::file(&path, "read", error))?;
        let manifest: Manifest = serde_json::from_slice(&text)?;
        for file in &manifest.files {
            self.put_file(id, &folder.join(&file.name), &file.name, file.bytes)
                .await?;
        }
        self.put_file(id, &path, MANIFEST, text.len() as u64).await
    }

    async fn put_file(
        &self,
        id: RecordingId,
        path: &Path,
        name: &str,
        bytes: u64,
    ) -> Result<(), BookError> {
        let key = self.key(id, name);
        match self.store.head(&key).await {
            Ok(there) if there.size == bytes => return Ok(()),
            Ok(_) | Err(object_store::Error::NotFound { .. }) => {}
            Err(other) => return Err(self.failed(other)),
        }
        let unread = |error| BookError::file(path, "read", error);
        let mut from = tokio::fs::File::open(path).await.map_err(unread)?;
        let mut to = BufWriter::new(Arc::clone(&self.store), key);
        let sent = async {
            tokio::io::copy(&mut from, &mut to).await?;
            to.shutdown().await
        };
        sent.await.map_err(|error| {
            self.failed(object_store::Error::Generic {
                store: "object store",
                source: error.into(),
            })
        })
    }

    /// Bring a recording whose manifest has this digest into `recordings`, whole or not at all.
    pub async fn fetch(
        &self,
        id: RecordingId,
        manifest: Digest,
        recordings: &Path,
    ) -> Result<(), BookError> {
        let beside = recordings.join(format!("{STAGED}{id}"));
        let place = recordings.join(id.to_string());
        // Of an earlier attempt.
        let _ = fs::remove_dir_all(&beside);
        fs::create_dir_all(&beside).map_err(|error| BookError::file(&beside, "written", error))?;
        let fetched = self.fetch_into(id, manifest, &beside).await;
        if let Err(error) = fetched {
            let _ = fs::remove_dir_all(&beside);
            return Err(error);
        }
        fs::rename(&beside, &place).map_err(|error| BookError::file(&place, "written", error))
    }

    async fn fetch_into(
        &self,
        id: RecordingId,
        manifest: Digest,
        folder: &Path,
    ) -> Result<(), BookError> {
        self.fetch_file(id, MANIFEST, manifest, folder).await?;
        let path = folder.join(MANIFEST);
        let text = fs::read(&path).map_err(|error| BookError::file(&path, "read", error))?;
        let manifest: Manifest = serde_json::from_slice(&text)?;
        for file in &manifest.files {
            self.fetch_file(id, &file.name, file.sha256, folder).await?;
        }
        Ok(())
    }

    async fn fetch_file(
        &self,
        id: RecordingId,
        name: &str,
        expected: Digest,
        folder: &Path,
    ) -> Result<(), BookError> {
        let key = self.key(id, name);
        let path = folder.join(name);
        let written = |error| BookError::file(&path, "written", error);
        let answer = self
            .store
            .get(&key)
            .await
            .map_err(|error| self.failed(error))?;
        let mut pieces = answer.into_stream();
        let mut file = fs::File::create(&path).map_err(written)?;
        let mut running = Running::default();
        while let Some(piece) = pieces
            .try_next()
            .await
            .map_err(|error| self.failed(error))?
        {
            running.add(&piece);
            file.write_all(&piece).map_err(written)?;
        }
        file.sync_all().map_err(written)?;
        let (found, _) = running.end();
        if found == expected {
            return Ok(());
        }
        Err(BookError::Damaged {
            path: format!("{}/{key}", self.shown).into(),
            found: format!("it has the digest {found}; expected {expected}"),
        })
    }
}
