//! `bitepoint page`

use super::{CannotRun, Config, Status, input, shown, status, write};
use crate::analysis::{Report, analyse};
use crate::faces::files::read::read_at_most;
use crate::faces::output::{Product, refuse_input, refuse_name};
use crate::faces::sheet::{Logo, logo};
use crate::finding::FileName;
use serde_json::{Map, Value};
use std::path::{Path, PathBuf};

pub struct Request {
    pub file: PathBuf,
    /// The file to write.
    pub output: PathBuf,
    /// The page without a shop's texts, if it is not beside the program.
    pub page: Option<PathBuf>,
    pub config: Config,
}

const PRODUCT: Product = Product::Other("the page");

/// The name of the page in a release.
const PAGE: &str = "bitepoint-page.html";

/// More bytes than any page has.
const MAX_PAGE_BYTES: usize = 64 << 20;

/// The texts of a page are between these two.
const TEXTS: (&str, &str) = (
    "<script type=\"application/json\" id=\"texts\">",
    "</script>",
);

pub fn run(request: &Request) -> Result<Status, CannotRun> {
    refuse_name(&request.output, PRODUCT)?;
    let page = match &request.page {
        Some(path) => path.clone(),
        None => beside_the_program()?,
    };
    let disk = request.config.disk()?;
    let source = input::read(&request.file, &disk)?;
    let report = analyse(source, &disk).with_settings();
    let settings = disk.settings_reports();
    let logo = logo(&report.settings)?;
    let picture = report.settings.shop.logo.as_ref().zip(logo);
    let texts = texts(&report, &settings, picture);
    let bytes = read_at_most(&page, MAX_PAGE_BYTES)
        .map_err(|why| format!("the page `{}` {why}", shown(&page)))?;
    let bare = String::from_utf8_lossy(&bytes);
    let Some(filled) = filled(&bare, &texts) else {
        return Err(format!(
            "`{}` is no page of this program: it has no place for texts",
            shown(&page)
        ));
    };
    let read = disk.inputs();
    let read = read.iter().map(|name| Path::new(&**name));
    refuse_input(&request.output, PRODUCT, read.chain([page.as_path()]))?;
    write(&request.output, &filled)?;
    Ok(status(&report, &[]))
}

/// The page of the release to which the program belongs.
fn beside_the_program() -> Result<PathBuf, CannotRun> {
    let program = std::env::current_exe().and_then(|path| path.canonicalize());
    let path = program
        .ok()
        .and_then(|path| Some(path.parent()?.join(PAGE)));
    match path {
        Some(path) if path.is_file() => Ok(path),
        Some(path) => Err(format!(
            "there is no `{}`: the page is a file of the release, put beside the program; `--page FILE` names another place",
            shown(&path)
        )),
        None => {
            Err("it is not known where the program is; give the page with `--page FILE`".into())
        }
    }
}

/// The texts for a page: the spec, the files that it uses, its settings and the shop's picture as a URL. They are
/// named by their paths from the folder that contains them all. The spec is first.
fn texts(
    report: &Report,
    settings: &[Report],
    picture: Option<(&FileName, Logo)>,
) -> Map<String, Value> {
    let sources = std::iter::once(&report.source)
        .chain(&report.used)
        .chain(settings.iter().map(|report| &report.source));
    let texts = sources.map(|source| (&source.name, source.text.clone()));
    let texts = texts.chain(picture.map(|(name, logo)| (name, logo.url())));
    let whole = |name: &FileName| {
        let path = std::path::absolute(&**name);
        path.map_or_else(|_| name.to_string(), |path| path.display().to_string())
    };
    let named: Vec<(Vec<String>, String)> = texts
        .map(|(name, text)| {
            let name = crate::model::join("", &whole(name).replace('\\', "/"));
            (name.split('/').map(str::to_owned).collect(), text)
        })
        .collect();
    let folder = |name: &[String]| name.len().saturating_sub(1);
    let Some((first, _)) = named.first() else {
        return Map::new();
    };
    let shared = named.iter().fold(folder(first), |shared, (name, _)| {
        let pairs = first.iter().zip(name).take(shared.min(folder(name)));
        pairs.take_while(|(one, other)| one == other).count()
    });
    let texts = named
        .iter()
        .map(|(name, text)| (name[shared..].join("/"), Value::from(text.as_str())));
    texts.collect()
}

/// A page with other texts in it; `None` if it has no place for texts.
fn filled(page: &str, texts: &Map<String, Value>) -> Option<String> {
    let (before, rest) = page.split_once(TEXTS.0)?;
    let (_, after) = rest.split_once(TEXTS.1)?;
    // No text ends the element that holds it.
    let texts = Value::Object(texts.clone())
        .to_string()
        .replace('<', "\\u003c");
    Some([before, TEXTS.0, &texts, TEXTS.1, after].concat())
}
