//! Rows of a service's sheets that no route asks for and that look as if one should: a name is misspelt, most often.
//!
//! Enters: the rows, and what the routes select. Leaves: a warning for each such row. A sheet may serve several scenarios, so rows of
//! plainly other services are passed over.

use std::collections::BTreeSet;

use crate::diag::{Code, did_you_mean_or_list, slip};
use crate::model::resolve::reading::Load;
use crate::model::resolve::sheets::{Offer, Services};

/// What selects a row, in order.
const KEYS: [&str; 4] = ["service", "material", "finish", "speed"];

/// Logs quotations for parts of the scenario and price rows that no route asks for although one nearly does.
pub fn check_unasked(load: &mut Load, services: &Services, asked: &[Offer]) {
    // A route that is faulty may have been meant to ask for them.
    if asked.is_empty() || load.log.has_errors() {
        return;
    }
    let used: BTreeSet<&str> = asked.iter().map(|o| o[0].as_str()).collect();
    let priced: BTreeSet<&str> = services.prices.iter().map(|l| l.offer[0].as_str()).collect();
    let delivers: BTreeSet<&str> = services.deliveries.iter().map(|l| l.service.as_str()).collect();
    for line in services.quotes.iter().filter(|l| !asked.contains(&l.offer)) {
        let service = line.offer[0].as_str();
        let other = priced.contains(service) || delivers.contains(service);
        let misspelt = slip(service, used.iter().copied()).is_some();
        if used.contains(service) || !other || misspelt && !delivers.contains(service) {
            unasked_quote(load, line.quote.source, &line.offer, asked);
        }
    }
    for line in &services.prices {
        let service = line.offer[0].as_str();
        if used.contains(service) || delivers.contains(service) {
            continue;
        }
        if let Some(near) = slip(service, used.iter().copied()) {
            let message = format!("no route uses the service `{service}`: the row is not used");
            load.warn(
                Code::UnknownService,
                &line.place,
                message,
                format!("did you mean `{near}`?"),
            );
        }
    }
}

fn unasked_quote(load: &mut Load, source: crate::model::SourceId, offer: &Offer, asked: &[Offer]) {
    let Some(place) = load.place_of(source).cloned() else {
        return;
    };
    let mut left: Vec<&Offer> = asked.iter().collect();
    for (index, key) in KEYS.into_iter().enumerate() {
        let mut known: Vec<&str> = left.iter().map(|o| o[index].as_str()).collect();
        known.sort_unstable();
        known.dedup();
        let found = offer[index].as_str();
        if !known.contains(&found) {
            let message =
                format!("no route asks for the {key} `{found}`: the quotation is not used");
            let hint = did_you_mean_or_list(found, &known);
            load.warn(Code::UnknownService, &place, message, hint);
            return;
        }
        left.retain(|o| o[index] == found);
    }
}
