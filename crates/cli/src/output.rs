//! Where results go: files written whole or not at all, or standard output.

use crate::colourways::SHEETS;
use crate::reads;
use crate::whole::{self, Content, Unwritten};
use miette::{IntoDiagnostic, Result, WrapErr, miette};
use std::collections::BTreeSet;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::str::FromStr;

/// What a file name's ending asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// The open stitch list.
    Stitches,
    /// Its CSV twin.
    Csv,
    /// Its JSON twin.
    Json,
    /// A program for machines that people build.
    Gcode,
    /// A picture of strands.
    Svg,
    /// A picture of pixels.
    Png,
    /// The page that sews itself.
    Html,
    /// The sheet beside the machine.
    Worksheet,
    /// The figures and checks as text.
    Report,
    /// The design in several colourways, as a page.
    Colourways,
    /// The same as a picture of pixels.
    ColourwaysPng,
}

impl Kind {
    /// The first that fits decides.
    const ENDINGS: [(&str, Kind); 12] = [
        (".worksheet.html", Kind::Worksheet),
        (".report.txt", Kind::Report),
        (".colourways.html", Kind::Colourways),
        (".colourways.png", Kind::ColourwaysPng),
        (".stitches", Kind::Stitches),
        (".csv", Kind::Csv),
        (".json", Kind::Json),
        (".gcode", Kind::Gcode),
        (".ngc", Kind::Gcode),
        (".svg", Kind::Svg),
        (".png", Kind::Png),
        (".html", Kind::Html),
    ];

    /// What a folder gets.
    const OF_A_FOLDER: [Kind; 6] = [Kind::Stitches, Kind::Report, Kind::Png, Kind::Svg, Kind::Html, Kind::Worksheet];

    /// The ending that asks for it.
    pub fn ending(self) -> &'static str {
        Kind::ENDINGS.iter().find(|(_, kind)| *kind == self).map_or("", |(ending, _)| ending)
    }

    /// The kind that `path` asks for, of all there are.
    pub fn of(path: &Path) -> Result<Kind> {
        Kind::asked(path).ok_or_else(|| {
            let known = Kind::ENDINGS.map(|(ending, _)| ending);
            miette!(
                help = "a folder is written with a slash at its end",
                "{}: the ending says no kind of file; use one of {}",
                path.display(),
                known.join(" ")
            )
        })
    }

    /// The kind that `path` asks for, if any: `-` asks for a stitch list.
    pub fn asked(path: &Path) -> Option<Kind> {
        if is_standard(path) {
            return Some(Kind::Stitches);
        }
        let name = path.to_string_lossy().to_ascii_lowercase();
        Kind::ENDINGS.iter().find(|(ending, _)| name.ends_with(ending)).map(|(_, kind)| *kind)
    }
}

impl FromStr for Kind {
    type Err = String;

    /// A kind by its ending, `.html` and `.txt` of longer endings left out.
    fn from_str(word: &str) -> Result<Kind, String> {
        // What needs more than one plan is not written plan by plan.
        let alone = Kind::ENDINGS.into_iter().filter(|(_, kind)| !SHEETS.contains(kind));
        let known = alone.map(|(ending, kind)| (ending.split('.').nth(1).unwrap_or_default(), kind));
        let known: Vec<(&str, Kind)> = known.collect();
        let found = known.iter().find(|(name, _)| *name == word.trim().trim_start_matches('.'));
        found.map(|(_, kind)| *kind).ok_or_else(|| {
            let names: Vec<&str> = known.iter().map(|(name, _)| *name).collect();
            format!("the kinds are {}", names.join(", "))
        })
    }
}

/// Whether `path` stands for standard input or output.
pub fn is_standard(path: &Path) -> bool {
    path.as_os_str() == "-"
}

/// Whether `path` is meant as a folder: it is one, or it ends in a slash.
pub fn is_folder(path: &Path) -> bool {
    path.is_dir() || path.as_os_str().to_string_lossy().ends_with(['/', std::path::MAIN_SEPARATOR])
}

/// The files that `outputs` stand for: a folder becomes files named `stem` in
/// it, those of the kinds `more` among them, and nothing becomes `stem.stitches` in the working folder.
pub fn expand(outputs: &[PathBuf], stem: &str, more: &[Kind]) -> Result<Vec<(PathBuf, Kind)>> {
    if outputs.is_empty() {
        return Ok(vec![(PathBuf::from(format!("{stem}.stitches")), Kind::Stitches)]);
    }
    let mut files = Vec::new();
    for output in outputs {
        if is_folder(output) {
            make_folder(output)?;
            let named = |kind: Kind| (output.join(format!("{stem}{}", kind.ending())), kind);
            files.extend(Kind::OF_A_FOLDER.iter().chain(more).copied().map(named));
        } else {
            files.push((output.clone(), Kind::of(output)?));
        }
    }
    let mut named = BTreeSet::new();
    files.retain(|(path, _)| named.insert(path.clone()));
    Ok(files)
}

/// What is asked for twice is written once.
pub fn once(outputs: &mut Vec<PathBuf>) {
    let mut named = BTreeSet::new();
    outputs.retain(|path| named.insert(path.clone()));
}

/// Makes the folder `path` and those it lies in, where they are not there.
pub fn make_folder(path: &Path) -> Result<()> {
    fs::create_dir_all(path).into_diagnostic().wrap_err_with(|| format!("cannot make the folder {}", path.display()))
}

/// Writes `content` to `path`, whole or not at all. `-` is standard output.
pub fn write(path: &Path, content: &[u8]) -> Result<()> {
    write_all(&[(path, Content::Bytes(content))])
}

/// Writes every file or none (see [`whole`]), then what goes to standard output.
///
/// # Errors
/// When a file was read by this run, or cannot be written.
pub fn write_all(files: &[(&Path, Content<'_>)]) -> Result<()> {
    reads::keep(files.iter().map(|(path, _)| *path))?;
    put(files)
}

/// Writes `content` over a file that this run has read, as [`write()`] does otherwise: for a command whose task it is.
pub fn rewrite(path: &Path, content: &[u8]) -> Result<()> {
    put(&[(path, Content::Bytes(content))])
}

fn put(files: &[(&Path, Content<'_>)]) -> Result<()> {
    let (standard, named): (Vec<_>, Vec<_>) = files.iter().copied().partition(|(path, _)| is_standard(path));
    whole::write(&named).map_err(|Unwritten { path, cause }| {
        let told: Result<()> = Err(cause).into_diagnostic();
        told.wrap_err_with(|| format!("cannot write {}", path.display())).unwrap_err()
    })?;
    standard.iter().try_for_each(|(_, content)| print_content(*content))
}

/// Prints `content`; a reader that has gone away is no error.
pub fn print(content: &[u8]) -> Result<()> {
    print_content(Content::Bytes(content))
}

fn print_content(content: Content<'_>) -> Result<()> {
    let mut out = io::stdout().lock();
    match content.write(&mut out).and_then(|()| out.flush()) {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        other => other.into_diagnostic().wrap_err("cannot write to standard output"),
    }
}

/// Says `text` on standard error; nobody may be there to hear it.
pub fn say(text: &str) {
    let _ = io::stderr().lock().write_all(text.as_bytes());
}

/// Reads the whole of `path`, at most `limit` bytes; `-` is standard input. Nothing is written over it then.
pub fn read(path: &Path, limit: u64) -> Result<Vec<u8>> {
    let mut bytes = Vec::new();
    let read = if is_standard(path) {
        io::Read::read_to_end(&mut io::Read::take(io::stdin().lock(), limit + 1), &mut bytes)
    } else {
        reads::note(path);
        fs::File::open(path).and_then(|file| io::Read::read_to_end(&mut io::Read::take(file, limit + 1), &mut bytes))
    };
    read.into_diagnostic().wrap_err_with(|| format!("cannot read {}", path.display()))?;
    if bytes.len() as u64 > limit {
        return Err(miette!("{} is larger than {} MB; nothing was read", path.display(), limit / 1_000_000));
    }
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ending_decides_the_kind() {
        assert_eq!(Kind::of(Path::new("a/b.STITCHES")).unwrap(), Kind::Stitches);
        assert_eq!(Kind::of(Path::new("-")).unwrap(), Kind::Stitches);
        assert!(Kind::of(Path::new("patch.exe")).unwrap_err().to_string().contains(".stitches"));
    }
}
