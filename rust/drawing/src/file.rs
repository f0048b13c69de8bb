//! Files written whole or not at all: beside the target first, then renamed over it.

use crate::error::WriteError;
use std::ffi::OsString;
use std::fs::{self, File};
use std::io::Write;
use std::path::Path;

/// Writes a file through `write`. On any error the file that was there before is untouched and nothing else is
/// left behind. What is not a plain file, such as a pipe, is written to as it stands.
pub fn write_file(
    path: &Path,
    write: impl FnOnce(&mut File) -> Result<(), WriteError>,
) -> Result<(), WriteError> {
    // A link keeps pointing where it points: what it points to is replaced.
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    if target.exists() && !target.is_file() {
        let mut file = fs::OpenOptions::new().write(true).open(&target)?;
        return write(&mut file);
    }
    let mut name = OsString::from(".");
    name.push(target.file_name().unwrap_or_default());
    name.push(format!(".{}.part", std::process::id()));
    let part = target.with_file_name(name);
    let written = File::create(&part).map_err(WriteError::from).and_then(|mut file| {
        write(&mut file)?;
        file.flush()?;
        Ok(())
    });
    let renamed = written.and_then(|()| fs::rename(&part, &target).map_err(WriteError::from));
    if renamed.is_err() {
        // The first error is the one to tell; the part may never have come to be.
        let _ = fs::remove_file(&part);
    }
    renamed
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_failed_write_leaves_the_old_file_and_nothing_else() {
        let folder = std::env::temp_dir().join(format!("scrieve-write-{}", std::process::id()));
        fs::create_dir_all(&folder).expect("a folder for the test");
        let path = folder.join("mould.dxf");
        write_file(&path, |file| Ok(file.write_all(b"first")?)).expect("a first file");
        let failed = write_file(&path, |file| {
            file.write_all(b"half of the sec")?;
            Err(WriteError::Tolerance(0.0))
        });
        assert!(failed.is_err());
        let names: Vec<_> =
            fs::read_dir(&folder).expect("the folder").flatten().map(|e| e.file_name()).collect();
        assert_eq!(names, ["mould.dxf"]);
        assert_eq!(fs::read(&path).expect("the file"), b"first");
        write_file(&path, |file| Ok(file.write_all(b"second")?)).expect("a second file");
        assert_eq!(fs::read(&path).expect("the file"), b"second");
        fs::remove_dir_all(&folder).expect("cleared away");
    }
}
