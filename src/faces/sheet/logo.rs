//! The picture of a shop, as its settings name it.

use super::Logo;
use crate::faces::files::read::read_at_most;
use crate::settings::Settings;
use std::path::Path;

/// A larger picture would make every sheet slow to send.
const MAX_LOGO_BYTES: usize = 1 << 20;

/// The picture that settings name for a shop; `None` where they name none.
///
/// # Errors
/// It cannot be read, is no picture, or lies outside the folder of the settings, as a sentence.
pub fn logo(settings: &Settings) -> Result<Option<Logo>, String> {
    let (Some(file), Some(logo)) = (&settings.file, &settings.shop.logo) else {
        return Ok(None);
    };
    let path = Path::new(&**logo);
    let refused = |why: &str| Err(format!("the logo `{logo}` {why}"));
    // A file of settings comes from anyone: it shows nothing that lies elsewhere.
    let folder = Path::new(&**file).canonicalize().ok();
    let folder = folder.as_deref().and_then(Path::parent);
    match (path.canonicalize(), folder) {
        (Ok(real), Some(folder)) if real.starts_with(folder) => {}
        (Err(_), _) => return refused("does not exist"),
        _ => return refused("lies outside the folder of the settings, and is not read"),
    }
    let bytes = match read_at_most(path, MAX_LOGO_BYTES) {
        Ok(bytes) => bytes,
        Err(why) => return refused(&why),
    };
    let Some(media_type) = media_type(&bytes) else {
        return refused("is no PNG, JPEG or SVG picture");
    };
    Ok(Some(Logo { media_type, bytes }))
}

/// What bytes are a picture of, by how they begin.
fn media_type(bytes: &[u8]) -> Option<&'static str> {
    const PNG: &[u8] = b"\x89PNG\r\n\x1a\n";
    const JPEG: &[u8] = b"\xff\xd8\xff";
    if bytes.starts_with(PNG) {
        return Some("image/png");
    }
    if bytes.starts_with(JPEG) {
        return Some("image/jpeg");
    }
    let text = std::str::from_utf8(bytes).ok()?.trim_start();
    let is_svg = text.starts_with("<svg") || text.starts_with("<?xml") && text.contains("<svg");
    is_svg.then_some("image/svg+xml")
}
