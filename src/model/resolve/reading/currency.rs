//! Currencies of ISO 4217 and their minor units.

use crate::diag::{Code, Log, Place, did_you_mean};
use crate::input::NumberProblem;
use crate::model::{Currency, CurrencyId};

/// Codes that are suggested for a code that does not exist.
const COMMON: [&str; 34] = [
    "AED", "AUD", "BRL", "CAD", "CHF", "CLP", "CNY", "COP", "CZK", "DKK", "EGP", "EUR", "GBP",
    "HKD", "HUF", "IDR", "ILS", "INR", "JPY", "KRW", "KWD", "MXN", "MYR", "NOK", "NZD", "PLN",
    "RON", "SEK", "SGD", "THB", "TRY", "TWD", "USD", "ZAR",
];

/// The currencies met so far.
#[derive(Default)]
pub struct Currencies {
    /// In the order they were met; the scenario's own is the first.
    pub list: Vec<Currency>,
}

impl Currencies {
    /// The id of a currency, which is added if it is new.
    pub fn id(&mut self, currency: Currency) -> CurrencyId {
        let found = self.list.iter().position(|c| c.code == currency.code);
        let index = found.unwrap_or_else(|| {
            self.list.push(currency);
            self.list.len() - 1
        });
        CurrencyId::at(index)
    }

    /// The code of the scenario's currency.
    pub fn own(&self) -> &str {
        self.list.first().map_or("", |c| c.code.as_str())
    }
}

/// Looks a code up, upper and lower case alike.
pub fn currency(code: &str) -> Result<Currency, NumberProblem> {
    let upper = code.trim().to_uppercase();
    let listed = iso_currency::Currency::from_code(&upper);
    match listed.and_then(iso_currency::Currency::exponent) {
        Some(minor) => Ok(Currency { code: upper, minor: u32::from(minor) }),
        None => Err(NumberProblem {
            code: Code::UnknownCurrency,
            message: format!("`{}` is no currency with a minor unit in ISO 4217", code.trim()),
            hint: did_you_mean(&upper, COMMON)
                .unwrap_or_else(|| "write its three letters, such as `USD` or `EUR`".into()),
        }),
    }
}

/// Looks a code up; an unknown one is logged and stands for the scenario's own.
pub fn currency_id(
    currencies: &mut Currencies,
    log: &mut Log,
    code: &str,
    place: &Place,
) -> CurrencyId {
    match currency(code) {
        Ok(found) => currencies.id(found),
        Err(problem) => {
            log.push(problem.at(place));
            CurrencyId(0)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn minor_units_of_iso_4217() {
        // ISO 4217 list one (SIX): USD 2, JPY 0, KWD 3, CLF 4.
        for (code, minor) in [("USD", 2), ("jpy", 0), ("KWD", 3), ("CLF", 4), ("eur", 2)] {
            let found = currency(code).unwrap();
            assert_eq!((found.minor, found.code), (minor, code.to_uppercase()));
        }
    }

    #[test]
    fn unknown_codes_get_the_nearest() {
        assert_eq!(currency("EUO").unwrap_err().hint, "did you mean `EUR`?");
        assert!(currency("XAU").is_err());
        assert!(currency("").is_err());
    }
}
