//! The picture of a shop that its settings name.

use crate::faces::files::read::read_at_most;
use crate::settings::Settings;
use base64::Engine;
use base64::prelude::BASE64_STANDARD;
use std::path::Path;

/// The largest picture; a larger one would make every sheet slow to send.
const MAX_LOGO_BYTES: usize = 1 << 20;

/// A picture in the heading: PNG, JPEG or SVG, of at most 1 MiB.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Logo {
    media_type: &'static str,
    bytes: Vec<u8>,
}

impl Logo {
    /// A picture from the bytes of its file; `None` if they are no picture.
    pub fn new(bytes: Vec<u8>) -> Option<Self> {
        let media_type = media_type(&bytes)?;
        (bytes.len() <= MAX_LOGO_BYTES).then_some(Self { media_type, bytes })
    }

    /// A picture from the form that [`Logo::url`] gives.
    pub fn from_url(url: &str) -> Option<Self> {
        let (_, data) = url.strip_prefix("data:image/")?.split_once(";base64,")?;
        Self::new(BASE64_STANDARD.decode(data).ok()?)
    }

    /// The picture as a `data:` URL.
    pub fn url(&self) -> String {
        let data = BASE64_STANDARD.encode(&self.bytes);
        format!("data:{};base64,{data}", self.media_type)
    }
}

/// The picture that the settings name for a shop; `None` if they name none.
///
/// # Errors
/// It cannot be read, is no picture, or is outside of the folder of the settings. The error is a sentence.
pub fn logo(settings: &Settings) -> Result<Option<Logo>, String> {
    let (Some(file), Some(logo)) = (&settings.file, &settings.shop.logo) else {
        return Ok(None);
    };
    let path = Path::new(&**logo);
    let refused = |why: &str| Err(format!("the logo `{logo}` {why}"));
    // A settings file may come from anyone, so that it may show no file from elsewhere.
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
    match Logo::new(bytes) {
        Some(logo) => Ok(Some(logo)),
        None => refused("is no PNG, JPEG or SVG picture"),
    }
}

/// The media type of a picture, from its first bytes.
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
