//! Files written whole or not at all: beside the target under a name of their own, then renamed over it.
//!
//! A part that a killed writer left is locked by nobody, and is cleared away by the next write into its folder.

use std::fs::{self, File, Metadata};
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};
use std::sync::Mutex;

use tempfile::{Builder, NamedTempFile};

/// How the names of parts begin and end.
const PART: (&str, &str) = (".scrieve-", ".part");

/// Links followed from a name to its file: as many as Linux follows.
const MOST_LINKS: usize = 40;

/// Writes a file through `write`. On any error what was there before is untouched and nothing else is left.
///
/// Through a link the file it points to is replaced, and keeps its permissions; another hard link to it keeps
/// the old contents. Devices, pipes and folders are refused.
pub fn write_whole<E: From<io::Error>>(
    path: &Path,
    write: impl FnOnce(&mut File) -> Result<(), E>,
) -> Result<(), E> {
    let target = followed(path)?;
    let old = match fs::metadata(&target) {
        Ok(found) if found.is_file() => Some(found),
        Ok(_) => return Err(io::Error::new(ErrorKind::InvalidInput, NOT_A_FILE).into()),
        Err(error) if error.kind() == ErrorKind::NotFound => None,
        Err(error) => return Err(error.into()),
    };
    let folder = match target.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    clear_parts(folder);
    let mut part = part_in(folder, old.as_ref())?;
    write(part.as_file_mut())?;
    if let Some(old) = old {
        part.as_file().set_permissions(old.permissions())?;
        // The old one is given up only for what is on the disk.
        part.as_file().sync_all()?;
    }
    part.persist(&target).map_err(|failed| E::from(failed.error))?;
    Ok(())
}

/// What is said of a target that is no file.
const NOT_A_FILE: &str = "not a plain file, and only such are replaced";

/// The file a name leads to through links, whether it is there or not.
fn followed(path: &Path) -> io::Result<PathBuf> {
    let mut target = path.to_owned();
    for _ in 0..MOST_LINKS {
        match fs::symlink_metadata(&target) {
            Ok(found) if found.is_symlink() => {
                let to = fs::read_link(&target)?;
                target = target.parent().map(|folder| folder.join(&to)).unwrap_or(to);
            }
            _ => return Ok(target),
        }
    }
    Err(io::Error::other("too many links, or a link to itself"))
}

/// A new part, locked for as long as it is written.
fn part_in(folder: &Path, old: Option<&Metadata>) -> io::Result<NamedTempFile> {
    loop {
        // Opened here, so that an error is the system's own and not of a name that nobody asked for.
        let part =
            Builder::new().prefix(PART.0).suffix(PART.1).make_in(folder, |part| new_file(part, old))?;
        // A file system without locks is one where leftovers stay.
        let locked = part.as_file().lock();
        // Another writer may have taken it for a leftover before it was locked.
        if locked.is_err() || part.path().exists() {
            return Ok(part);
        }
    }
}

/// A new file. Where it follows an old one, nobody but the writer sees it before its time; else it may be read by
/// everybody whom the user's mask lets.
fn new_file(path: &Path, old: Option<&Metadata>) -> io::Result<File> {
    let mut options = File::options();
    options.write(true).create_new(true);
    #[cfg(unix)]
    if old.is_some() {
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    }
    #[cfg(not(unix))]
    let _ = old;
    options.open(path)
}

/// Removes parts that no writer holds. What cannot be looked at stays.
///
/// Of many files written into one folder the first alone looks: a folder may hold thousands.
fn clear_parts(folder: &Path) {
    static LAST: Mutex<Option<PathBuf>> = Mutex::new(None);
    let Ok(mut last) = LAST.lock() else { return };
    if last.as_deref() == Some(folder) {
        return;
    }
    *last = Some(folder.to_owned());
    drop(last);
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let name = entry.file_name();
        let name = name.to_string_lossy();
        let plain = entry.file_type().is_ok_and(|kind| kind.is_file());
        if !(plain && name.starts_with(PART.0) && name.ends_with(PART.1)) {
            continue;
        }
        if let Ok(part) = File::options().write(true).open(entry.path())
            && part.try_lock().is_ok()
        {
            let _ = fs::remove_file(entry.path());
        }
    }
}

#[cfg(test)]
mod tests {
    #[cfg(unix)]
    use std::fs::Permissions;
    use std::io::Write;

    use super::*;

    fn folder() -> tempfile::TempDir {
        tempfile::tempdir().expect("a folder")
    }

    fn text(path: &Path, text: &str) {
        write_whole::<io::Error>(path, |file| file.write_all(text.as_bytes())).expect("written");
    }

    fn names(folder: &Path) -> Vec<String> {
        let entries = fs::read_dir(folder).expect("a folder").flatten();
        let mut names: Vec<_> = entries.map(|e| e.file_name().to_string_lossy().into_owned()).collect();
        names.sort();
        names
    }

    #[test]
    fn a_failed_write_leaves_the_old_file_and_nothing_else() {
        let folder = folder();
        let path = folder.path().join("mould.dxf");
        text(&path, "first");
        let failed = write_whole(&path, |file| {
            file.write_all(b"half of the sec")?;
            Err(io::Error::other("full"))
        });
        assert!(failed.is_err());
        assert_eq!(names(folder.path()), ["mould.dxf"]);
        assert_eq!(fs::read(&path).expect("the file"), b"first");
        text(&path, "second");
        assert_eq!(fs::read(&path).expect("the file"), b"second");
    }

    #[test]
    fn a_leftover_is_cleared_away_and_what_another_writes_is_not() {
        let folder = folder();
        let path = folder.path().join("mould.dxf");
        fs::write(folder.path().join(".scrieve-dead.part"), "half").expect("a leftover");
        fs::write(folder.path().join(".scrieve-notes.txt"), "a person's").expect("a file");
        write_whole::<io::Error>(&path, |_| {
            text(&folder.path().join("other.dxf"), "meanwhile");
            Ok(())
        })
        .expect("written while another was");
        assert_eq!(names(folder.path()), [".scrieve-notes.txt", "mould.dxf", "other.dxf"]);
    }

    #[cfg(unix)]
    #[test]
    fn a_link_stays_a_link_and_permissions_stay() {
        use std::os::unix::fs::{PermissionsExt, symlink};
        let folder = folder();
        let (file, link) = (folder.path().join("file"), folder.path().join("link"));
        text(&file, "old");
        fs::set_permissions(&file, Permissions::from_mode(0o640)).expect("set");
        symlink("file", &link).expect("a link");
        text(&link, "new");
        assert_eq!(fs::read_link(&link).expect("a link"), Path::new("file"));
        assert_eq!(fs::read(&file).expect("the file"), b"new");
        assert_eq!(fs::metadata(&file).expect("the file").permissions().mode() & 0o777, 0o640);
        // A link to what is not there yet makes it where the link says.
        symlink("later", folder.path().join("dangling")).expect("a link");
        text(&folder.path().join("dangling"), "made");
        assert_eq!(fs::read(folder.path().join("later")).expect("the file"), b"made");
        symlink("round", folder.path().join("round")).expect("a link");
        let round = write_whole::<io::Error>(&folder.path().join("round"), |_| Ok(()));
        assert!(round.is_err());
    }

    #[cfg(unix)]
    #[test]
    fn a_device_is_refused() {
        let failed = write_whole::<io::Error>(Path::new("/dev/null"), |_| Ok(())).expect_err("refused");
        assert_eq!(failed.kind(), ErrorKind::InvalidInput);
    }

    #[test]
    fn six_writers_and_readers_of_one_path_never_see_half_a_file() {
        let folder = folder();
        let path = folder.path().join("one.dxf");
        let whole = |writer: usize| vec![b'a' + writer as u8; 50_000 + writer];
        text(&path, &String::from_utf8(whole(0)).expect("letters"));
        std::thread::scope(|threads| {
            for writer in 0..6 {
                let path = &path;
                threads.spawn(move || {
                    for _ in 0..40 {
                        write_whole::<io::Error>(path, |file| {
                            // In pieces, so that half a file would be seen if it could.
                            whole(writer).chunks(7_000).try_for_each(|piece| file.write_all(piece))
                        })
                        .expect("written");
                        let read = fs::read(path).expect("always there");
                        let by = usize::from(read[0] - b'a');
                        assert_eq!(read, whole(by), "a torn file");
                    }
                });
            }
        });
        assert_eq!(names(folder.path()), ["one.dxf"]);
    }
}
