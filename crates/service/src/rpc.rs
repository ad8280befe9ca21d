//! The RPC middleware: every call, alone, in a batch or over a WebSocket, goes through the one registry.

use crate::caller::Caller;
use crate::registry::Methods;
use arc_swap::ArcSwap;
use coilwright_proto::error::{ErrorKind, RpcError, code};
use jsonrpsee::Extensions;
use jsonrpsee::core::middleware::{Batch, BatchEntry, Notification, RpcServiceT};
use jsonrpsee::server::{BatchResponseBuilder, MethodResponse, ResponsePayload};
use jsonrpsee::types::{ErrorObjectOwned, Id, Request};
use serde_json::value::RawValue;
use std::borrow::Cow;
use std::future::Future;
use std::panic::AssertUnwindSafe;
use std::sync::Arc;
use std::time::Instant;

/// The registry in use: swapped whole when plugins are read anew.
pub type Table = Arc<ArcSwap<Methods>>;

/// Bounds of what is taken and given.
#[derive(Debug, Clone, Copy)]
pub struct Bounds {
    /// Calls in a batch.
    pub batch: usize,
    /// Bytes of an answer.
    pub answer: usize,
}

/// Puts [`Calls`] in place of jsonrpsee's own service.
#[derive(Clone)]
pub struct CallsLayer {
    pub table: Table,
    pub bounds: Bounds,
}

impl<S> tower::Layer<S> for CallsLayer {
    type Service = Calls;
    fn layer(&self, _: S) -> Calls {
        Calls { table: self.table.clone(), bounds: self.bounds }
    }
}

/// Runs calls from the registry.
#[derive(Clone)]
pub struct Calls {
    table: Table,
    bounds: Bounds,
}

impl Calls {
    async fn run(
        &self,
        name: Cow<'_, str>,
        params: Option<&RawValue>,
        caller: Caller,
        id: Id<'static>,
    ) -> MethodResponse {
        let methods = self.table.load_full();
        let entry = match methods.find(&name) {
            Ok(entry) => entry.clone(),
            Err(e) => return MethodResponse::error(id, object(e)),
        };
        let text = params.map_or("{}", |p| p.get()).to_owned();
        // Dropped with this future when the connection is lost: a long plan nobody waits for ends then.
        let (caller, _waiting) = caller.waiting();
        let began = Instant::now();
        // A request may think for long or wait for the disk: never on a thread that serves sockets.
        let ran = tokio::task::spawn_blocking(move || {
            std::panic::catch_unwind(AssertUnwindSafe(|| (entry.run)(&caller, &text)))
        })
        .await;
        let outcome = match ran {
            Ok(Ok(outcome)) => outcome,
            _ => Err(RpcError::new(
                code::INTERNAL,
                ErrorKind::Failed,
                "the request failed inside the daemon; nothing was written",
            )
            .next("the daemon's log says more; the daemon goes on")),
        };
        let micros = began.elapsed().as_micros() as u64;
        match outcome {
            Ok(result) if result.get().len() > self.bounds.answer => {
                MethodResponse::error(id, object(too_large(self.bounds.answer)))
            }
            Ok(result) => {
                tracing::debug!(method = %name, micros, "answered");
                MethodResponse::response(id, ResponsePayload::success(result), self.bounds.answer)
            }
            Err(e) => {
                tracing::debug!(method = %name, micros, code = e.code, detail = %e.data.detail, "refused");
                MethodResponse::error(id, object(e))
            }
        }
    }
}

/// Who asks, as the door found out.
fn caller(extensions: &Extensions) -> Caller {
    extensions.get::<Caller>().cloned().unwrap_or_else(Caller::unknown)
}

/// Characters of the sender's own text that an error gives back.
const LONGEST_ECHO: usize = 400;

/// An error in jsonrpsee's form. What it quotes is cut short: a sender must not get back as much as it likes.
pub fn object(mut e: RpcError) -> ErrorObjectOwned {
    cut(&mut e.data.detail);
    for text in [&mut e.data.next_step, &mut e.data.pointer].into_iter().flatten() {
        cut(text);
    }
    if let serde_json::Value::String(met) = &mut e.data.met {
        cut(met);
    }
    ErrorObjectOwned::owned(e.code, e.message, Some(e.data))
}

fn cut(text: &mut String) {
    if let Some((at, _)) = text.char_indices().nth(LONGEST_ECHO) {
        text.truncate(at);
        text.push('…');
    }
}

fn too_large(most: usize) -> RpcError {
    RpcError::new(code::TOO_MUCH, ErrorKind::WrongRequest, format!("the answer is larger than {most} bytes"))
        .allowed(most)
        .next("ask for less at a time: a smaller `limit`, fewer calls in a batch")
}

impl RpcServiceT for Calls {
    type MethodResponse = MethodResponse;
    type BatchResponse = MethodResponse;
    type NotificationResponse = MethodResponse;

    fn call<'a>(&self, request: Request<'a>) -> impl Future<Output = MethodResponse> + Send + 'a {
        let me = self.clone();
        async move {
            let caller = caller(&request.extensions);
            me.run(request.method, request.params.as_deref(), caller, request.id.into_owned()).await
        }
    }

    fn batch<'a>(&self, batch: Batch<'a>) -> impl Future<Output = MethodResponse> + Send + 'a {
        let me = self.clone();
        async move {
            let most = me.bounds.batch;
            if batch.len() > most {
                let e = RpcError::new(
                    code::TOO_MUCH,
                    ErrorKind::WrongRequest,
                    format!("a batch of {} calls is too much", batch.len()),
                )
                .met(batch.len())
                .allowed(most)
                .next(format!("send at most {most} calls in a batch"));
                return MethodResponse::error(Id::Null, object(e));
            }
            let mut answers = BatchResponseBuilder::new_with_limit(me.bounds.answer);
            let mut only_notifications = true;
            for entry in batch.into_iter() {
                let answer = match entry {
                    Ok(BatchEntry::Call(call)) => me.call(call).await,
                    Ok(BatchEntry::Notification(n)) => {
                        me.notification(n).await;
                        continue;
                    }
                    Err(e) => {
                        let (_, id) = e.into_parts();
                        let e = RpcError::new(code::INVALID_REQUEST, ErrorKind::WrongRequest, "an entry of the batch is no request")
                            .next("send JSON-RPC 2.0 requests: {\"jsonrpc\": \"2.0\", \"id\": 1, \"method\": …, \"params\": {…}}");
                        MethodResponse::error(id, object(e))
                    }
                };
                only_notifications = false;
                if answers.append(answer).is_err() {
                    return MethodResponse::error(Id::Null, object(too_large(me.bounds.answer)));
                }
            }
            if only_notifications {
                MethodResponse::notification()
            } else {
                MethodResponse::from_batch(answers.finish())
            }
        }
    }

    /// Run only if it reads: a caller that wants no answer could not learn that a writing was refused.
    fn notification<'a>(&self, n: Notification<'a>) -> impl Future<Output = MethodResponse> + Send + 'a {
        let me = self.clone();
        async move {
            let writes = me.table.load().find(&n.method).is_ok_and(|entry| entry.writes);
            if writes {
                tracing::warn!(method = %n.method, "a notification of a writing method was not run: send it with an id");
            } else {
                me.run(n.method.clone(), n.params.as_deref(), caller(&n.extensions), Id::Null).await;
            }
            MethodResponse::notification()
        }
    }
}
