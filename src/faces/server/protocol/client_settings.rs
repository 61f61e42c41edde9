//! The user's settings in the editor: `initializationOptions`, and the section `bitepoint` of its configuration.

use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::path::PathBuf;

/// The settings.
#[derive(Clone, PartialEq, Debug, Default, Deserialize, Serialize)]
#[serde(rename_all = "camelCase", default)]
pub(crate) struct ClientSettings {
    /// Folders outside of the workspace that a `use` may read from.
    pub libraries: Vec<PathBuf>,
    /// Whether a preview is notified when to draw again.
    pub preview: bool,
    /// Whether hovers may hold images.
    pub images: bool,
    /// The editor's command for the line above a system. It gets the document's address and the system's name.
    pub lens_command: Option<String>,
    /// The address of the page that explains a check or a word of the trade. The name replaces `{name}`, or
    /// `{check}`, which is the older spelling.
    pub explain_link: Option<String>,
}

impl ClientSettings {
    /// The address of the explanation for a name of `bitepoint explain`.
    pub fn explanation(&self, name: &str) -> Option<String> {
        let link = self.explain_link.as_ref()?;
        let name = name.replace(' ', "%20");
        Some(link.replace("{name}", &name).replace("{check}", &name))
    }

    /// These settings with the changes that the client sends. Settings that it does not send are kept.
    ///
    /// # Errors
    /// What is wrong with them, as a sentence for the user.
    pub fn with(&self, told: &Value) -> Result<Self, String> {
        if told.is_null() {
            return Ok(self.clone());
        }
        let Value::Object(told) = told else {
            return Err("the settings of `bitepoint` are not an object".to_owned());
        };
        let mut all = serde_json::to_value(self).unwrap_or_default();
        for (key, value) in told {
            all[key] = value.clone();
        }
        serde_json::from_value(all).map_err(|why| format!("the settings of `bitepoint`: {why}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn the_address_of_an_explanation_contains_the_name() {
        let settings = |link: &str| {
            let said = json!({ "explainLink": link });
            ClientSettings::default().with(&said).unwrap()
        };
        let found = settings("https://example.com/words#{name}").explanation("bell housing");
        assert_eq!(found.unwrap(), "https://example.com/words#bell%20housing");
        let found = settings("https://example.com/{check}").explanation("odd-size");
        assert_eq!(found.unwrap(), "https://example.com/odd-size");
        assert_eq!(ClientSettings::default().explanation("drag"), None);
    }

    #[test]
    fn settings_not_sent_are_kept_and_mistakes_are_reported() {
        let before = ClientSettings::default()
            .with(&json!({ "images": true, "libraries": ["/parts"], "trace": { "server": "off" } }))
            .unwrap();
        let after = before.with(&json!({ "preview": true })).unwrap();
        assert!(after.images && after.preview);
        assert_eq!(after.libraries, [PathBuf::from("/parts")]);
        assert_eq!(after.with(&Value::Null), Ok(after.clone()));
        let wrong = after.with(&json!({ "images": "yes" })).unwrap_err();
        assert!(wrong.contains("expected a boolean"), "{wrong}");
        assert!(after.with(&json!([])).is_err());
    }
}
