//! The data directory: its lock, its key, and the last signed checkpoint.
//!
//! | file | what |
//! | --- | --- |
//! | `lock` | held by the process that writes |
//! | `record.sqlite` (`-wal`, `-shm`) | the database |
//! | `signing-key` | the key of the log; its owner alone may read it |
//! | `last-checkpoint` | the last signed checkpoint |
//!
//! The checkpoint is kept outside the database too, since a database that lost its end is, to
//! itself, a whole one.

use std::fs::{self, File, OpenOptions};
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

use super::entry::random;
use super::fault::StoreError;
use crate::audit::note::key_file::{self, KeyFileError};
use crate::audit::note::{Checkpoint, KeyRing, SigningKey, open_checkpoint};

/// A data directory, held by this process until it is dropped.
#[derive(Debug)]
pub struct DataFolder {
    path: PathBuf,
    _lock: File,
}

impl DataFolder {
    /// Takes a directory, which is made where it is missing.
    ///
    /// # Errors
    /// [`StoreError::System`], [`StoreError::InUse`].
    pub fn open(path: &Path) -> Result<Self, StoreError> {
        let system = |why| StoreError::System {
            path: path.to_owned(),
            why,
        };
        let mut builder = fs::DirBuilder::new();
        builder.recursive(true);
        #[cfg(unix)]
        std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
        builder.create(path).map_err(system)?;
        let lock = OpenOptions::new()
            .create(true)
            .truncate(false)
            .write(true)
            .open(path.join("lock"))
            .map_err(system)?;
        match lock.try_lock() {
            Ok(()) => Ok(DataFolder {
                path: path.to_owned(),
                _lock: lock,
            }),
            Err(fs::TryLockError::WouldBlock) => Err(StoreError::InUse(path.to_owned())),
            Err(fs::TryLockError::Error(why)) => Err(system(why)),
        }
    }

    /// The database.
    pub fn database(&self) -> PathBuf {
        self.path.join("record.sqlite")
    }

    fn key_path(&self) -> PathBuf {
        self.path.join("signing-key")
    }

    fn checkpoint_path(&self) -> PathBuf {
        self.path.join("last-checkpoint")
    }

    /// The key of the log. Where there is neither key nor database a new one is made, of a log
    /// with a name of its own.
    ///
    /// # Errors
    /// [`StoreError::Key`], [`StoreError::KeyMissing`].
    pub fn signing_key(&self) -> Result<SigningKey, StoreError> {
        let path = self.key_path();
        match key_file::read(&path) {
            Err(KeyFileError::System { why, .. }) if why.kind() == ErrorKind::NotFound => {}
            read => return Ok(read?),
        }
        let database = self.database();
        if fs::metadata(&database).is_ok_and(|found| found.len() > 0) {
            return Err(StoreError::KeyMissing {
                database,
                key: path,
            });
        }
        let name = format!("loftwright/{:016x}", u64::from_be_bytes(random()?));
        let key = SigningKey::generate(&name).map_err(|_| StoreError::NoRandomness)?;
        key_file::create(&path, &key)?;
        self.sync()?;
        Ok(key)
    }

    /// The last signed checkpoint; `None` where none was ever signed.
    ///
    /// # Errors
    /// [`StoreError::Checkpoint`], where it is not signed by the key.
    pub fn last_checkpoint(
        &self,
        key: &SigningKey,
    ) -> Result<Option<(Checkpoint, String)>, StoreError> {
        let path = self.checkpoint_path();
        let note = match fs::read_to_string(&path) {
            Ok(note) => note,
            Err(why) if why.kind() == ErrorKind::NotFound => return Ok(None),
            Err(why) => return Err(StoreError::System { path, why }),
        };
        let ring = KeyRing::of(key.verifier().clone());
        match open_checkpoint(note.as_bytes(), &ring) {
            Ok((checkpoint, _)) => Ok(Some((checkpoint, note))),
            Err(why) => Err(StoreError::Checkpoint {
                file: path,
                why: format!("is not one that the key signed: {why}"),
            }),
        }
    }

    /// The fault of a checkpoint's file that is not there, though one was signed.
    pub(super) fn checkpoint_missing(&self) -> StoreError {
        StoreError::Checkpoint {
            file: self.checkpoint_path(),
            why: "is missing".to_owned(),
        }
    }

    /// Puts a signed checkpoint in the place of the last one; it is on the disk when this returns.
    ///
    /// # Errors
    /// [`StoreError::System`].
    pub fn keep_checkpoint(&self, note: &str) -> Result<(), StoreError> {
        let path = self.checkpoint_path();
        let beside = self.path.join("last-checkpoint.new");
        File::create(&beside)
            .and_then(|mut file| {
                file.write_all(note.as_bytes())?;
                file.sync_all()
            })
            .and_then(|()| fs::rename(&beside, &path))
            .map_err(|why| StoreError::System { path, why })?;
        self.sync()
    }

    /// Waits until the names in the directory are on the disk.
    fn sync(&self) -> Result<(), StoreError> {
        File::open(&self.path)
            .and_then(|folder| folder.sync_all())
            .map_err(|why| StoreError::System {
                path: self.path.clone(),
                why,
            })
    }
}
