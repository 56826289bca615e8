//! Files written whole or not at all, several of them together.
//!
//! Every file is first written beside its place under a name of its own, and brought to the disk. Only when all are
//! there does each take its name, in one step of the file system: whoever reads meanwhile sees the old file or the new
//! one, a full disk leaves everything as it was, and of two runs that write the same file one wins whole. What a killed
//! run can leave behind is a hidden file `.laidwork-PROCESS-…` that nothing reads; [`sweep`] takes such files away.

use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};
use tempfile::NamedTempFile;

/// How the names of files begin that wait to take their own; the number of their process and `-` follow.
const WAITING: &str = ".laidwork-";

/// How many letters and digits follow the process.
const RANDOM: usize = 6;

/// A file whose process is not to be found is left alone for so long: it may run on another machine or in another
/// container that shares the folder, and all files of a run are ready within seconds.
const SETTLED: Duration = Duration::from_secs(60);

/// A file this old is left behind, whatever runs under the number of its process now.
const FORGOTTEN: Duration = Duration::from_secs(24 * 60 * 60);

/// A file that could not be written.
#[derive(Debug)]
pub struct Unwritten {
    /// Its place.
    pub path: PathBuf,
    /// Why.
    pub cause: io::Error,
}

/// What a file is to hold.
#[derive(Clone, Copy)]
pub enum Content<'a> {
    /// These bytes.
    Bytes(&'a [u8]),
    /// What this writes, piece by piece: the whole of it is never held in memory.
    Streamed(&'a dyn Fn(&mut dyn Write) -> io::Result<()>),
}

impl Content<'_> {
    /// Writes it to `to`.
    pub fn write(&self, to: &mut dyn Write) -> io::Result<()> {
        match self {
            Content::Bytes(bytes) => to.write_all(bytes),
            Content::Streamed(write) => write(to),
        }
    }
}

/// A file that waits to take its name.
enum Ready<'a> {
    /// It lies beside the file that it is to be.
    Beside(NamedTempFile, PathBuf),
    /// A device or a pipe, which no file can replace.
    Straight(&'a Path, Content<'a>),
}

/// Writes every file, or leaves all as they were. Devices and pipes are written last.
///
/// # Errors
/// The first file that cannot be written, and why.
pub fn write(files: &[(&Path, Content<'_>)]) -> Result<(), Unwritten> {
    let told = |path: &Path| {
        let path = path.to_path_buf();
        move |cause| Unwritten { path, cause }
    };
    let mut ready = Vec::with_capacity(files.len());
    for &(path, content) in files {
        ready.push((path, prepare(path, content).map_err(told(path))?));
    }
    ready.sort_by_key(|(_, ready)| matches!(ready, Ready::Straight(..)));
    for (path, ready) in ready {
        finish(ready).map_err(told(path))?;
    }
    Ok(())
}

fn prepare<'a>(path: &'a Path, content: Content<'a>) -> io::Result<Ready<'a>> {
    let found = fs::metadata(path);
    if found.as_ref().is_ok_and(|found| !found.is_file() && !found.is_dir()) {
        return Ok(Ready::Straight(path, content));
    }
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf()); // through links, to the file itself
    if target.is_dir() {
        return Err(io::Error::new(io::ErrorKind::IsADirectory, "it is a folder"));
    }
    if found.is_ok_and(|found| found.permissions().readonly()) {
        let said = "the file there is marked as read-only; choose another name, or allow writing";
        return Err(io::Error::new(io::ErrorKind::PermissionDenied, said));
    }
    let folder = target.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if !folder.is_dir() {
        let said = format!("there is no folder {}; make it first", folder.display());
        return Err(io::Error::new(io::ErrorKind::NotFound, said));
    }
    let mut builder = tempfile::Builder::new();
    let prefix = format!("{WAITING}{}-", std::process::id());
    builder.prefix(&prefix).rand_bytes(RANDOM);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = fs::metadata(&target).map_or(0o666, |found| found.permissions().mode());
        builder.permissions(fs::Permissions::from_mode(mode));
    }
    let mut file = builder.tempfile_in(folder)?;
    content.write(&mut file)?;
    file.as_file().sync_data()?;
    Ok(Ready::Beside(file, target))
}

fn finish(ready: Ready<'_>) -> io::Result<()> {
    match ready {
        Ready::Beside(file, target) => file.persist(target).map(drop).map_err(|error| error.error),
        Ready::Straight(path, content) => content.write(&mut fs::OpenOptions::new().write(true).open(path)?),
    }
}

/// Removes from `folder` what killed runs left there, and nothing else: plain files named as [`write()`] names them whose
/// process is gone, or that are older than a day. Gives their number. What cannot be removed stays.
pub fn sweep(folder: &Path) -> usize {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    let left = entries.filter(|entry| {
        let process = entry.file_name().to_str().and_then(process_of);
        let found = entry.metadata().ok().filter(fs::Metadata::is_file); // of a link itself, not of what it leads to
        let age = found.and_then(|found| SystemTime::now().duration_since(found.modified().ok()?).ok());
        process.zip(age).is_some_and(|(process, age)| age >= FORGOTTEN || age >= SETTLED && is_gone(process))
    });
    left.filter(|entry| fs::remove_file(entry.path()).is_ok()).count()
}

/// The process that the file of this name waits for.
fn process_of(name: &str) -> Option<u32> {
    let (process, random) = name.strip_prefix(WAITING)?.split_once('-')?;
    let is_random = random.len() == RANDOM && random.bytes().all(|byte| byte.is_ascii_alphanumeric());
    process.parse().ok().filter(|_| is_random)
}

/// Whether no process of this number runs here; `false` where that cannot be told.
fn is_gone(process: u32) -> bool {
    let processes = Path::new("/proc");
    processes.join("self").exists() && !processes.join(process.to_string()).exists()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A file of `folder` that was last written `age` ago.
    fn old_file(folder: &Path, name: &str, age: Duration) -> PathBuf {
        let path = folder.join(name);
        fs::write(&path, b"half a li").unwrap();
        fs::File::options().write(true).open(&path).unwrap().set_modified(SystemTime::now() - age).unwrap();
        path
    }

    /// The number of a process that has ended.
    #[cfg(target_os = "linux")]
    fn ended() -> u32 {
        let mut child = std::process::Command::new("true").spawn().unwrap();
        child.wait().unwrap();
        child.id()
    }

    #[test]
    #[cfg(target_os = "linux")]
    fn what_a_killed_run_left_is_swept() {
        let folder = tempfile::tempdir().unwrap();
        let left = old_file(folder.path(), &format!(".laidwork-{}-a1B2c3", ended()), 2 * SETTLED);
        let waiting = old_file(folder.path(), &format!(".laidwork-{}-a1B2c3", std::process::id()), 2 * SETTLED);
        let fresh = old_file(folder.path(), &format!(".laidwork-{}-d4E5f6", ended()), Duration::ZERO);
        assert_eq!(sweep(folder.path()), 1);
        assert!(!left.exists() && waiting.exists() && fresh.exists());
    }

    #[test]
    fn what_is_older_than_a_day_is_swept_whoever_wrote_it() {
        let folder = tempfile::tempdir().unwrap();
        old_file(folder.path(), &format!(".laidwork-{}-a1B2c3", std::process::id()), 2 * FORGOTTEN);
        assert_eq!(sweep(folder.path()), 1);
    }

    #[test]
    fn other_files_are_never_swept() {
        let folder = tempfile::tempdir().unwrap();
        let others = [
            ".laidwork-many.jsonl",
            ".laidwork-1-many.jsonl",
            ".laidwork-",
            ".laidwork-x-a1B2c3",
            ".laidwork-1-a1B2c34",
            ".laidwork-1-a1 2c3",
            "laidwork-1-a1B2c3",
            "bean.stitches",
        ];
        others.iter().for_each(|name| drop(old_file(folder.path(), name, 2 * FORGOTTEN)));
        let inner = folder.path().join(".laidwork-1-a1B2c3");
        fs::create_dir(&inner).unwrap();
        assert_eq!(sweep(folder.path()), 0);
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), others.len() + 1);
        assert_eq!(sweep(&folder.path().join("missing")), 0);
    }

    #[test]
    fn files_wait_under_names_that_are_swept() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("bean.stitches");
        let ready = prepare(&path, Content::Bytes(b""));
        let Ok(Ready::Beside(file, _)) = ready else { panic!("no file") };
        let name = file.path().file_name().unwrap().to_str().unwrap();
        assert_eq!(process_of(name), Some(std::process::id()), "{name}");
    }

    #[test]
    fn a_file_is_replaced_whole() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("patch.stitches");
        write(&[(&path, Content::Bytes(b"old"))]).unwrap();
        write(&[(&path, Content::Bytes(b"new"))]).unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"new");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_folder_is_never_replaced() {
        let folder = tempfile::tempdir().unwrap();
        assert!(write(&[(folder.path(), Content::Bytes(b"new"))]).is_err());
        assert!(folder.path().is_dir());
    }

    #[test]
    fn one_that_fails_leaves_all_as_they_were() {
        let folder = tempfile::tempdir().unwrap();
        let (first, second) = (folder.path().join("a"), folder.path().join("missing/b"));
        fs::write(&first, b"old").unwrap();
        let error = write(&[(&first, Content::Bytes(b"new")), (&second, Content::Bytes(b"new"))]).unwrap_err();
        assert_eq!(error.path, second);
        assert_eq!(fs::read(&first).unwrap(), b"old");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_file_marked_as_read_only_stays() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("patch.stitches");
        fs::write(&path, b"old").unwrap();
        let mut permissions = fs::metadata(&path).unwrap().permissions();
        permissions.set_readonly(true);
        fs::set_permissions(&path, permissions).unwrap();
        assert!(write(&[(&path, Content::Bytes(b"new"))]).is_err());
        assert_eq!(fs::read(&path).unwrap(), b"old");
    }

    #[test]
    fn a_stream_that_breaks_leaves_the_old_file() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("patch.stitches");
        fs::write(&path, b"old").unwrap();
        let breaks = |to: &mut dyn Write| to.write_all(b"half").and(Err(io::Error::other("broken")));
        assert!(write(&[(&path, Content::Streamed(&breaks))]).is_err());
        assert_eq!(fs::read(&path).unwrap(), b"old");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
        let whole = |to: &mut dyn Write| to.write_all(b"ne").and_then(|()| to.write_all(b"w"));
        write(&[(&path, Content::Streamed(&whole))]).unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"new");
    }
}
