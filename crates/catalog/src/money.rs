//! Prices: decimal text to whole hundredths of the currency's unit and back, never through a float.

use crate::fault::Fault;

/// Greatest price in hundredths; what is above it is taken for a slip.
const MOST: u64 = 1_000_000_000;

/// The hundredths of a price such as `18`, `18.5` or `18.50`.
///
/// # Errors
/// A fault without a place for anything else: a sign, a currency's sign, a decimal comma, more than two decimals, zero, or
/// more than ten million.
pub(crate) fn hundredths(text: &str) -> Result<u64, Fault> {
    let (whole, decimals) = text.split_once('.').unwrap_or((text, "0"));
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
    if !digits(whole) || !digits(decimals) {
        if let Some((whole, decimals)) = text.split_once(',')
            && digits(whole)
            && matches!(decimals.len(), 1 | 2)
            && digits(decimals)
        {
            return Err(Fault::new(format!("`{text}` has a decimal comma")).next(format!("write {whole}.{decimals}")));
        }
        let next = "write digits and a decimal point, like 18.50; the currency has its own column";
        return Err(Fault::new(format!("`{text}` is no price")).next(next));
    }
    if decimals.len() > 2 {
        return Err(Fault::new(format!("the price {text} has more than two decimals")).next("round it"));
    }
    let price = format!("{whole}{decimals:0<2}").parse::<u64>().ok().filter(|price| *price <= MOST);
    match price {
        Some(0) => Err(Fault::new("the price is zero").next("give what one costs, or leave it out")),
        Some(price) => Ok(price),
        None => Err(Fault::new(format!("the price {text} is above {}", decimal(MOST)))),
    }
}

/// The price as text with two decimals, e.g. `18.50`.
pub(crate) fn decimal(hundredths: u64) -> String {
    format!("{}.{:02}", hundredths / 100, hundredths % 100)
}

/// A currency as three capitals.
///
/// # Errors
/// A fault without a place for anything else.
pub(crate) fn currency(cell: &str) -> Result<String, Fault> {
    if cell.len() == 3 && cell.bytes().all(|b| b.is_ascii_uppercase()) {
        return Ok(cell.to_owned());
    }
    Err(Fault::new(format!("`{cell}` is no currency")).next("write three capital letters, e.g. EUR"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_price_is_read_to_the_hundredth_and_written_back() {
        for (text, price, back) in [
            ("18.50", 1850, "18.50"),
            ("18.5", 1850, "18.50"),
            ("18.05", 1805, "18.05"),
            ("18", 1800, "18.00"),
            ("0.07", 7, "0.07"),
            ("007.00", 700, "7.00"),
            ("10000000", 1_000_000_000, "10000000.00"),
        ] {
            assert_eq!(hundredths(text), Ok(price), "{text}");
            assert_eq!(decimal(price), back);
        }
    }

    #[test]
    fn what_is_no_price_is_refused() {
        for text in ["", ".5", "5.", "-1", "+1", "1e3", "1.2.3", "€5", "5 EUR", "1,234.00", "nan", "٥", "1,234"] {
            assert!(hundredths(text).is_err_and(|f| f.message.contains("is no price")), "{text}");
        }
        for (text, words) in [
            ("18,50", "decimal comma"),
            ("1.005", "more than two decimals"),
            ("0.00", "zero"),
            ("10000000.01", "above 10000000.00"),
            ("99999999999999999999999", "above 10000000.00"),
        ] {
            assert!(hundredths(text).is_err_and(|f| f.message.contains(words)), "{text}");
        }
    }
}
