//! Settings files: where they are searched for, and the settings in one.

use crate::analysis::read_settings;
use crate::check_id::CheckId;
use crate::finding::{FileName, Problem};
use crate::model::{Source, join};
use crate::settings::{SETTINGS_FILE, Settings};
use crate::syntax::TextRange;
use std::sync::Arc;

/// A settings file.
#[derive(Clone, Debug)]
pub(crate) struct SettingsFile {
    pub source: Arc<Source>,
    pub settings: Arc<Settings>,
}

impl SettingsFile {
    /// Reads a file's bytes, or reports why there are none.
    pub fn new(name: FileName, bytes: Result<Vec<u8>, String>) -> Self {
        let (bytes, failed) = match bytes {
            Ok(bytes) => (bytes, None),
            Err(why) => {
                // Its place says where it is.
                let last = name.rsplit('/').next().unwrap_or_default();
                (Vec::new(), Some(format!("`{last}` {why}")))
            }
        };
        let source = Arc::new(Source::plain_from_bytes(name, &bytes));
        let mut settings = read_settings(&source);
        let place = source.place_at(TextRange::default());
        let unread = failed.map(|why| Problem::new(CheckId::WrongSetting, place, why));
        settings.problems.extend(unread);
        Self {
            source,
            settings: Arc::new(settings),
        }
    }
}

/// The files that may hold the settings of a spec, the nearest first.
pub(crate) fn settings_files(spec: &FileName) -> impl Iterator<Item = FileName> {
    let absolute = std::path::absolute(&**spec);
    // Where there is no disk, a name is the whole way to a file.
    let whole = || spec.matches('/').count() + 1;
    let folders = absolute.map_or_else(|_| whole(), |path| path.ancestors().skip(1).count());
    (0..folders).map(move |up| join(spec, &format!("{}{SETTINGS_FILE}", "../".repeat(up))))
}
