//! `shop.figures`: what the shop decides by.

use crate::app::App;
use crate::words;
use coilwright_proto::error::RpcError;
use coilwright_proto::shop::{ShopFigures, ShopFiguresAnswer};

pub fn answer(app: &App, _: ShopFigures) -> Result<ShopFiguresAnswer, RpcError> {
    let published = app.store.state();
    Ok(words::figures(&published.state, published.head.seq))
}
