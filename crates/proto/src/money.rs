//! Money: a decimal amount as text, and its currency.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// An amount of money.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Money {
    /// Decimal, e.g. `138.28`.
    #[schemars(regex(pattern = r"^-?[0-9]{1,12}(\.[0-9]{1,4})?$"))]
    pub amount: String,
    /// Three capital letters, e.g. `EUR`.
    #[schemars(regex(pattern = r"^[A-Z]{3}$"))]
    pub currency: String,
}
