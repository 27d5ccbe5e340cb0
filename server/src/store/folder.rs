//! The data directory: its lock, its key, and the last signed checkpoint.
//!
//! | file | what |
//! | --- | --- |
//! | `lock` | held by the process that writes |
//! | `record.sqlite` (`-wal`, `-shm`) | the database |
//! | `signing-key` | the key of the log; its owner alone may read it |
//! | `signing-key.next` | there while the key is being changed: the one that signs next |
//! | `last-checkpoint` | the last signed checkpoint |
//! | `key-ring` | the keys for those who verify |
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

    fn next_key_path(&self) -> PathBuf {
        self.path.join("signing-key.next")
    }

    /// The key of the log. Where there is neither key nor database a new one is made, of a log
    /// with a name of its own.
    ///
    /// # Errors
    /// [`StoreError::Key`], [`StoreError::KeyMissing`], [`StoreError::KeyChangeBegun`].
    pub fn signing_key(&self) -> Result<SigningKey, StoreError> {
        let next = self.next_key_path();
        if next.exists() {
            return Err(StoreError::KeyChangeBegun(next));
        }
        match self.key_before_change() {
            Err(StoreError::Key(KeyFileError::System { why, .. }))
                if why.kind() == ErrorKind::NotFound => {}
            read => return read,
        }
        let database = self.database();
        if fs::metadata(&database).is_ok_and(|found| found.len() > 0) {
            return Err(StoreError::KeyMissing {
                database,
                key: self.key_path(),
            });
        }
        let name = format!("loftwright/{:016x}", u64::from_be_bytes(random()?));
        self.new_key(&name)
    }

    /// Makes the key of a log of this name.
    ///
    /// # Errors
    /// [`StoreError::Key`], where there is one; [`StoreError::LogName`].
    pub fn new_key(&self, name: &str) -> Result<SigningKey, StoreError> {
        let key = SigningKey::generate(name).map_err(StoreError::LogName)?;
        key_file::create(&self.key_path(), &key)?;
        self.keep_key_ring(&KeyRing::of(key.verifier().clone()))?;
        Ok(key)
    }

    /// The key that signs, also while it is being changed.
    pub(super) fn key_before_change(&self) -> Result<SigningKey, StoreError> {
        Ok(key_file::read(&self.key_path())?)
    }

    /// The key that signs next: one that was made before, where a change was begun.
    pub(super) fn begin_key_change(&self, name: &str) -> Result<SigningKey, StoreError> {
        let path = self.next_key_path();
        if path.exists() {
            return Ok(key_file::read(&path)?);
        }
        let key = SigningKey::generate(name).map_err(StoreError::LogName)?;
        key_file::create(&path, &key)?;
        self.sync()?;
        Ok(key)
    }

    /// The key that signs next takes the place of the other, which is gone.
    pub(super) fn end_key_change(&self) -> Result<(), StoreError> {
        let path = self.next_key_path();
        // What is left where a program was killed while it made the key that goes.
        let left = self.path.join("signing-key.unfinished");
        match fs::remove_file(&left) {
            Err(why) if why.kind() != ErrorKind::NotFound => {
                return Err(StoreError::System { path: left, why });
            }
            _ => {}
        }
        fs::rename(&path, self.key_path()).map_err(|why| StoreError::System { path, why })?;
        self.sync()
    }

    /// Writes the keys for those who verify.
    pub(super) fn keep_key_ring(&self, ring: &KeyRing) -> Result<(), StoreError> {
        self.replace("key-ring", &ring.to_string())
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

    /// The fault of a checkpoint's file that is not the last one that was signed.
    pub(super) fn checkpoint_not_last(&self) -> StoreError {
        StoreError::Checkpoint {
            file: self.checkpoint_path(),
            why: "is not the last one that the database knows of".to_owned(),
        }
    }

    /// Puts a signed checkpoint in the place of the last one; it is on the disk when this returns.
    ///
    /// # Errors
    /// [`StoreError::System`].
    pub fn keep_checkpoint(&self, note: &str) -> Result<(), StoreError> {
        self.replace("last-checkpoint", note)
    }

    /// Puts a file in the place of the one of its name, whole or not at all.
    fn replace(&self, name: &str, content: &str) -> Result<(), StoreError> {
        let path = self.path.join(name);
        let beside = self.path.join(format!("{name}.new"));
        File::create(&beside)
            .and_then(|mut file| {
                file.write_all(content.as_bytes())?;
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
