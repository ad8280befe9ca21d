//! `care.backup`: adds to the backup now what it does not hold yet.

use crate::app::App;
use crate::caller::Caller;
use crate::care_words as words;
use coilwright_proto::care::CareBackup;
use coilwright_proto::error::{ErrorKind, RpcError, code};
use serde_json::Value;

pub fn answer(app: &App, _: &Caller, _: CareBackup) -> Result<Value, RpcError> {
    let Some(backups) = &app.backups else {
        let none = "no folder for backups is set";
        return Err(RpcError::new(code::REFUSED, ErrorKind::Refused, none)
            .next("set store.backup in the settings file or COILWRIGHT__STORE__BACKUP to a folder on another disk"));
    };
    let done = backups.now(app.store.reading().as_ref());
    let done = done.map_err(|why| {
        RpcError::new(code::INTERNAL, ErrorKind::Failed, why.to_string())
            .next("the shop's own folder is not touched by this")
    })?;
    serde_json::to_value(words::backed_up(&done))
        .map_err(|e| RpcError::new(code::INTERNAL, ErrorKind::Failed, format!("the answer could not be written: {e}")))
}
