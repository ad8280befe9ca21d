//! The one engine: which words and packages a script has, how much it may take, and how its faults are told.

use super::room::Unable;
use super::words;
use crate::fault::Fault;
use rhai::packages::{
    ArithmeticPackage, BasicArrayPackage, BasicFnPackage, BasicIteratorPackage, BasicMapPackage, BasicMathPackage,
    BasicStringPackage, LogicPackage, MoreStringPackage, Package,
};
use rhai::{AST, CallFnOptions, Dynamic, Engine, EvalAltResult, OptimizationLevel, Scope};
use std::cell::Cell;
use std::collections::BTreeMap;
use std::panic::AssertUnwindSafe;
use std::sync::LazyLock;
use std::time::{Duration, Instant};

/// How much one call may take.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bounds {
    /// Steps of the script.
    pub steps: u64,
    /// Time by the clock on the wall, what it asks of the program included.
    pub time: Duration,
}

impl Bounds {
    /// A method of its own: somebody asked for it and waits.
    pub const METHOD: Bounds = Bounds { steps: 1_000_000, time: Duration::from_millis(500) };
    /// A check, a line of a sheet, a rule or a reaction: it goes along with every request.
    pub const ALONG: Bounds = Bounds { steps: 100_000, time: Duration::from_millis(50) };
}

/// Bounds of single values. Sizes count what lies nested, too. The engine looks at them after a step, so a step may double
/// a value beyond its bound once; with these nothing grows past a few megabytes.
const TEXT_BYTES: usize = 16 << 10;
const ITEMS: usize = 1000;
const MEMBERS: usize = 1000;
const CALLS_DEEP: usize = 16;
const EXPRESSION_DEEP: usize = 32;
const VARIABLES: usize = 64;
const FUNCTIONS: usize = 64;

/// Steps between two looks at the clock.
const LOOK_EVERY: u64 = 64;

thread_local! {
    /// What the call that runs on this thread may still take.
    static LEFT: Cell<Option<(u64, Instant)>> = const { Cell::new(None) };
}

static ENGINE: LazyLock<Engine> = LazyLock::new(engine);

/// No packages but those named: the language's core package has `sleep`, which no bound stops.
fn engine() -> Engine {
    let mut engine = Engine::new_raw();
    for package in [
        ArithmeticPackage::new().as_shared_module(),
        LogicPackage::new().as_shared_module(),
        BasicMathPackage::new().as_shared_module(),
        BasicStringPackage::new().as_shared_module(),
        MoreStringPackage::new().as_shared_module(),
        BasicIteratorPackage::new().as_shared_module(),
        BasicArrayPackage::new().as_shared_module(),
        BasicMapPackage::new().as_shared_module(),
        BasicFnPackage::new().as_shared_module(),
    ] {
        engine.register_global_module(package);
    }
    for symbol in ["eval", "print", "debug"] {
        engine.disable_symbol(symbol);
    }
    engine
        .set_optimization_level(OptimizationLevel::None)
        .set_strict_variables(true)
        .set_fail_on_invalid_map_property(true)
        .set_max_operations(Bounds::METHOD.steps)
        .set_max_call_levels(CALLS_DEEP)
        .set_max_expr_depths(EXPRESSION_DEEP, EXPRESSION_DEEP)
        .set_max_string_size(TEXT_BYTES)
        .set_max_array_size(ITEMS)
        .set_max_map_size(MEMBERS)
        .set_max_variables(VARIABLES)
        .set_max_functions(FUNCTIONS)
        .on_progress(|steps| {
            let (most, until) = LEFT.get()?;
            if steps > most {
                return Some(TOO_MANY.into());
            }
            (steps % LOOK_EVERY == 0 && Instant::now() >= until).then(|| TOO_LONG.into())
        });
    words::register(&mut engine);
    engine
}

const TOO_MANY: &str = "steps";
const TOO_LONG: &str = "time";
/// How a fault begins that tells of a script beyond its own bounds.
const TOOK: &str = "the script took ";

/// A script that was read: functions, and nothing that runs by itself.
#[derive(Debug, Clone)]
pub(crate) struct Script {
    file: String,
    ast: AST,
    /// Where each function begins: the engine does not always say where it stopped.
    begins: BTreeMap<String, u64>,
}

/// Why a call gave nothing.
#[derive(Debug, Clone, PartialEq)]
pub enum Failed {
    /// The script will not do what was asked, and says why.
    Refused(Unable),
    /// The script is wrong, or took too much.
    Fault(Box<Fault>),
}

impl Failed {
    /// Whether the script went beyond its own steps or time.
    pub(crate) fn took_too_much(&self) -> bool {
        matches!(self, Failed::Fault(fault) if fault.message.starts_with(TOOK))
    }
}

impl Script {
    /// Reads a script.
    ///
    /// # Errors
    /// With file and line, what the language does not allow, or text that would run by itself.
    pub(crate) fn read(file: &str, text: &str) -> Result<Script, Fault> {
        let ast = ENGINE.compile(text).map_err(|e| {
            let (kind, position) = (e.err_type().to_string(), e.position());
            let fault = Fault::new(format!("the script cannot be read: {kind}")).file(file);
            Fault { line: position.line().map(|l| l as u64), ..fault }
        })?;
        // What would run by itself would take a step; here it is allowed none.
        let outer = LEFT.replace(Some((0, Instant::now())));
        let runs_by_itself = ENGINE.run_ast(&ast).is_err();
        LEFT.set(outer);
        if runs_by_itself {
            return Err(Fault::new("there is more than functions in the script, which would never run")
                .file(file)
                .next("put it into a function"));
        }
        Ok(Script { file: file.to_owned(), ast, begins: begins(text) })
    }

    /// Whether it has a function of this name that takes one value.
    ///
    /// # Errors
    /// It has none; with the names of those that it has.
    pub(crate) fn has(&self, function: &str) -> Result<(), Fault> {
        let found = |f: &rhai::ScriptFnMetadata<'_>| f.name == function && f.params.len() == 1;
        if self.ast.iter_functions().any(|f| found(&f)) {
            return Ok(());
        }
        let mut known: Vec<String> =
            self.ast.iter_functions().map(|f| format!("{}({})", f.name, f.params.join(", "))).collect();
        known.sort_unstable();
        let fault = Fault::new(format!("there is no function `{function}` with one parameter")).file(&self.file);
        Err(fault.next(format!("the functions here are: {}", known.join(", "))))
    }

    /// Calls a function with one value. Nothing that happens in there gets out but the answer or a fault.
    ///
    /// # Errors
    /// [`Failed`] with the script's file and line; the plugin's name is the caller's to add.
    pub(crate) fn call(
        &self,
        function: &str,
        about: Dynamic,
        tag: words::Tag,
        bounds: Bounds,
    ) -> Result<Dynamic, Failed> {
        let outer = LEFT.get();
        // A rule that a method asks for must not have more time than the method has left.
        let until = Instant::now() + bounds.time;
        let others = outer.map(|(_, outer)| outer).filter(|outer| *outer < until);
        LEFT.set(Some((bounds.steps, others.unwrap_or(until))));
        let options = CallFnOptions::new().eval_ast(false).with_tag(tag);
        // The engine keeps its own bounds; what would panic all the same is a fault of the script like any other.
        let ran = std::panic::catch_unwind(AssertUnwindSafe(|| {
            ENGINE.call_fn_with_options::<Dynamic>(options, &mut Scope::new(), &self.ast, function, (about,))
        }));
        LEFT.set(outer);
        match ran {
            Ok(Ok(answer)) => Ok(answer),
            Ok(Err(error)) => Err(self.told(function, &error, bounds, others.is_some())),
            Err(_) => Err(self.fault(self.begins(function), "the script made the engine fail".into())),
        }
    }

    pub(crate) fn fault(&self, line: Option<u64>, message: String) -> Failed {
        Failed::Fault(Box::new(Fault { line, ..Fault::new(message).file(&self.file) }))
    }

    /// Where a function begins.
    pub(crate) fn begins(&self, function: &str) -> Option<u64> {
        self.begins.get(function).copied()
    }

    /// The innermost error in the words of the house.
    fn told(&self, function: &str, error: &EvalAltResult, bounds: Bounds, shares: bool) -> Failed {
        let known = innermost_line(error);
        let error = error.unwrap_inner();
        let message = match error {
            EvalAltResult::ErrorRuntime(thrown, _) => match thrown.read_lock::<Unable>() {
                Some(unable) => return Failed::Refused(unable.clone()),
                None => format!("the script threw: {}", short(&thrown.to_string())),
            },
            EvalAltResult::ErrorTerminated(why, _) if shares && why.to_string() == TOO_LONG => {
                "no time was left for the script: what ran before it in the same request took it".into()
            }
            EvalAltResult::ErrorTerminated(why, _) if why.to_string() == TOO_LONG => {
                format!("{TOOK}longer than {} ms", bounds.time.as_millis())
            }
            EvalAltResult::ErrorTerminated(..) | EvalAltResult::ErrorTooManyOperations(_) => {
                format!("{TOOK}more than {} steps", bounds.steps)
            }
            EvalAltResult::ErrorStackOverflow(_) => format!("the script's calls nest deeper than {CALLS_DEEP}"),
            EvalAltResult::ErrorDataTooLarge(what, _) => format!(
                "the script made too much: {what} (texts of {TEXT_BYTES} bytes, {ITEMS} items, {MEMBERS} members are allowed)"
            ),
            other => short(&without_place(other)),
        };
        match known {
            Some(_) => self.fault(known, message),
            None => self.fault(self.begins(function), format!("{message}, somewhere in `{function}`")),
        }
    }
}

/// The innermost place that is known, of an error that comes through several functions.
fn innermost_line(error: &EvalAltResult) -> Option<u64> {
    let inner = match error {
        EvalAltResult::ErrorInFunctionCall(_, _, inner, _) => innermost_line(inner),
        _ => None,
    };
    inner.or_else(|| error.position().line().map(|line| line as u64))
}

/// The line of each function, from 1, where its text has it at the beginning of a line.
fn begins(text: &str) -> BTreeMap<String, u64> {
    let named = |line: &str| {
        let rest = line.trim_start();
        let rest = rest.strip_prefix("private ").unwrap_or(rest).strip_prefix("fn ")?;
        Some(rest.split(['(', ' ']).next().unwrap_or_default().to_owned())
    };
    text.lines().zip(1..).filter_map(|(line, number)| Some((named(line)?, number))).collect()
}

fn without_place(error: &EvalAltResult) -> String {
    let text = error.to_string();
    text.rsplit_once(" (line ").map_or(text.clone(), |(message, _)| message.to_owned())
}

/// A script must not fill the log with its own words.
fn short(text: &str) -> String {
    const MOST: usize = 300;
    match text.char_indices().nth(MOST) {
        Some((at, _)) => format!("{}…", text.get(..at).unwrap_or_default()),
        None => text.to_owned(),
    }
}

/// Runs something that calls scripts, all of them within one time.
pub(crate) fn within<T>(time: Duration, run: impl FnOnce() -> T) -> T {
    let outer = LEFT.get();
    let until = Instant::now() + time;
    LEFT.set(Some((u64::MAX, outer.map_or(until, |(_, outer)| outer.min(until)))));
    let done = run();
    LEFT.set(outer);
    done
}
