//! `journal.verify`: whether the chain of all entries holds.

use crate::app::App;
use crate::care_words;
use coilwright_proto::error::RpcError;
use coilwright_proto::journal::{JournalVerified, JournalVerify};

pub fn answer(app: &App, _: JournalVerify) -> Result<JournalVerified, RpcError> {
    Ok(care_words::verified(app.store.verify()))
}
