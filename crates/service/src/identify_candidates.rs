//! The wires that a sample may be, and how likely each is beforehand: by the request, by the catalog, by what the shop has had.

use crate::match_words::{Named, within};
use coilwright_catalog::{Catalog, WireFilter};
use coilwright_core::finding::Finding;
use coilwright_core::origin::{Mark, Origin};
use coilwright_core::wire::Standing;
use coilwright_proto::error::RpcError;
use coilwright_proto::identify::{IdentifyAssume, PriorParams};
use coilwright_proto::reference::{Ref, WireRef};
use coilwright_shop::job::Status;
use coilwright_shop::state::State;
use std::collections::{BTreeMap, BTreeSet};

/// Most wires that may be named.
const MOST: usize = 2000;
/// Past this many spools and jobs one more of the same wire says nothing new.
const MOST_HAD: u32 = 9;
/// How likely the sample is none of the candidates beforehand: common practice, no source.
const NONE: f64 = 0.05;
/// A size computed in another metal, beside a listed wire: common practice, no source.
const COMPUTED: f64 = 0.2;
/// What one spool or job adds to its wire: common practice, no source.
const SHOP: f64 = 1.0;

/// Wires with their weights beforehand.
pub struct Candidates {
    /// The wires.
    pub wires: Vec<Named>,
    /// For each, how likely it is beside the others.
    pub weights: Vec<f64>,
    /// For each, how many spools and jobs of it the shop has had.
    pub had: Vec<u32>,
    /// Probability beforehand that it is none of them.
    pub none: f64,
    /// Defaults that entered.
    pub origins: Vec<Origin>,
    /// What is to be told.
    pub findings: Vec<Finding>,
}

/// All candidates of a request.
///
/// ```text
/// weight = (1 listed or written out, 0.2 computed) · Π weights of the request · (1 + shop_weight · min(had, 9))
/// ```
///
/// # Errors
/// Unknown wires, weights that are none, and a set in which nothing is left.
pub fn candidates(
    catalog: &Catalog,
    state: &State,
    among: Option<&[WireRef]>,
    priors: &[PriorParams],
    assume: Option<&IdentifyAssume>,
) -> Result<Candidates, RpcError> {
    let wires = wires(catalog, among)?;
    let (none, computed, shop) = (
        given(assume.and_then(|a| a.none_prior), "/assume/none_prior", 0.99, NONE)?,
        given(assume.and_then(|a| a.computed_weight), "/assume/computed_weight", 1000.0, COMPUTED)?,
        given(assume.and_then(|a| a.shop_weight), "/assume/shop_weight", 1000.0, SHOP)?,
    );
    let past = past(state);
    let had: Vec<u32> = wires.iter().map(|w| past.get(&w.key()).copied().unwrap_or(0)).collect();
    let mut weights: Vec<f64> = wires
        .iter()
        .zip(&had)
        .map(|(w, n)| {
            let by_catalog = if w.standing == Standing::Computed { computed } else { 1.0 };
            by_catalog * (1.0 + shop * f64::from((*n).min(MOST_HAD)))
        })
        .collect();
    let mut findings = Vec::new();
    for (i, rule) in priors.iter().enumerate() {
        findings.extend(weigh(catalog, &wires, &mut weights, rule, i)?);
    }
    if !weights.iter().any(|w| *w > 0.0) {
        return Err(RpcError::params("/priors", "these weights rule out every candidate")
            .next("give at least one candidate a weight above 0, or widen `among`"));
    }
    let is_computed = wires.iter().any(|w| w.standing == Standing::Computed);
    let a = assume.cloned();
    let open = |given: fn(&IdentifyAssume) -> Option<f64>| a.as_ref().and_then(given).is_none();
    let note = |param: &str, value: f64, source: &str| Origin {
        param: param.into(),
        value,
        u: 0.0,
        unit: "",
        mark: Mark::CommonPractice,
        source: source.into(),
    };
    let mut origins = Vec::new();
    if open(|a| a.none_prior) {
        origins.push(note("assume.none_prior", NONE, "a wire that no table lists; no source"));
    }
    if is_computed && open(|a| a.computed_weight) {
        origins.push(note("assume.computed_weight", COMPUTED, "a size in a metal that no table lists; no source"));
    }
    if had.iter().any(|n| *n > 0) && open(|a| a.shop_weight) {
        let source = "each spool received and each job closed with a wire, up to nine; no source";
        origins.push(note("assume.shop_weight", SHOP, source));
    }
    Ok(Candidates { wires, weights, had, none, origins, findings })
}

fn given(value: Option<f64>, at: &str, most: f64, default: f64) -> Result<f64, RpcError> {
    let Some(value) = value else { return Ok(default) };
    within(at, value, 0.0, most, "").map(|()| value)
}

fn wires(catalog: &Catalog, among: Option<&[WireRef]>) -> Result<Vec<Named>, RpcError> {
    let Some(among) = among else { return Ok(catalog.wires(WireFilter::default()).map(Named::of).collect()) };
    if among.is_empty() {
        return Err(RpcError::params("/among", "an empty list of candidates excludes every wire")
            .next("name the wires that it may be, or leave `among` out for the whole catalog"));
    }
    if among.len() > MOST {
        return Err(RpcError::params("/among", format!("at most {MOST} wires can be named"))
            .met(among.len())
            .allowed(MOST)
            .next("leave `among` out for the whole catalog"));
    }
    // Named twice is not twice as likely.
    let mut met = BTreeSet::new();
    let first = |(_, w): &(usize, &WireRef)| met.insert(serde_json::to_string(w).unwrap_or_default());
    among.iter().enumerate().filter(first).map(|(i, w)| Named::asked(catalog, w, &format!("/among/{i}"))).collect()
}

/// How often the shop has had each wire: spools received, jobs closed.
fn past(state: &State) -> BTreeMap<String, u32> {
    let mut past = BTreeMap::new();
    let jobs = state.jobs().filter(|j| j.status() == Status::Closed).map(|j| j.plan.wire.as_str());
    for key in state.spools().map(|s| s.wire().key()).chain(jobs) {
        *past.entry(key.to_owned()).or_insert(0) += 1;
    }
    past
}

/// Applies one rule of the request.
fn weigh(
    catalog: &Catalog,
    wires: &[Named],
    weights: &mut [f64],
    rule: &PriorParams,
    i: usize,
) -> Result<Option<Finding>, RpcError> {
    let at = format!("/priors/{i}");
    within(&format!("{at}/weight"), rule.weight, 0.0, 1e6, "")?;
    let key = rule.wire.as_ref().map(|w| Named::asked(catalog, w, &format!("{at}/wire"))).transpose()?.map(|w| w.key());
    if key.is_none() && rule.conductor.is_none() && rule.series.is_none() && rule.build.is_none() {
        return Err(RpcError::params(at, "this weight names no wires")
            .next("name a `wire`, or wires by `conductor`, `series` or `build`"));
    }
    let of_catalog = |w: &Named, is: &dyn Fn(&coilwright_catalog::WireRecord) -> bool| match &w.reference {
        Ref::Id(id) => catalog.wire(id).is_some_and(is),
        Ref::Inline(_) => false,
    };
    let mut any = false;
    for (w, weight) in wires.iter().zip(weights) {
        let all = key.as_ref().is_none_or(|k| *k == w.key())
            && rule.conductor.is_none_or(|c| w.wire.conductor == c.into())
            && rule.series.as_ref().is_none_or(|s| of_catalog(w, &|r| r.series == *s))
            && rule.build.as_ref().is_none_or(|b| of_catalog(w, &|r| r.build == *b));
        if all {
            any = true;
            *weight *= rule.weight;
        }
    }
    let text = format!("the weight {} is of no candidate, so it moves nothing", rule.weight);
    Ok((!any).then(|| Finding::note("prior_of_nothing", text)))
}
