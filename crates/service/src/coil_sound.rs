//! `coil.sound`: driver data and two coils in, the driver with either and the change out. Looks at what the shop
//! learned, writes nothing.

use crate::app::App;
use crate::{sound_words, view, winding_words};
use coilwright_core::substitution::sentence;
use coilwright_proto::error::RpcError;
use coilwright_proto::sound::{CoilSound, CoilSounded};

pub fn answer(app: &App, asked: CoilSound) -> Result<CoilSounded, RpcError> {
    winding_words::driven(&asked.original, "/original")?;
    winding_words::driven(&asked.substitute, "/substitute")?;
    let shop = app.store.state();
    let (original, one) = view::designed_here(&app.catalog, &shop.state, &asked.original, "/original")?;
    let (substitute, other) = view::designed_here(&app.catalog, &shop.state, &asked.substitute, "/substitute")?;
    let learned = sound_words::learned([("original", &one), ("substitute", &other)]);
    let c = sound_words::compared(
        &sound_words::inputs(&asked.driver),
        [&original, &substitute],
        asked.same_spool.unwrap_or(false),
        ["/driver", "/original", "/substitute"],
    )?;
    Ok(CoilSounded {
        original: sound_words::figures(&c.original),
        substitute: sound_words::figures(&c.substitute),
        change: sound_words::change(&c),
        sentence: sentence(&c, asked.driver.rated_ohm.map(|s| s.value)),
        findings: c.findings.into_iter().map(view::finding).collect(),
        origins: c.origins.into_iter().chain(learned).map(view::origin).collect(),
    })
}
