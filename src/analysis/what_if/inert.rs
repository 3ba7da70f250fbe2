//! Numbers that move nothing between two plans, found without following each of them by itself.

use std::collections::BTreeMap;

use crate::analysis::follow::Pair;
use crate::analysis::parallel::in_order;
use crate::model::{RouteId, Slot};
use crate::plan::{routes_of, touched};

/// A number and the values it would be followed to.
pub(super) struct Followed {
    pub slot: Slot,
    pub values: Vec<f64>,
}

/// Of the values a number is followed to, both of every so many-th pair are tried, and the outermost.
const EVERY: usize = 11;
/// Fewer are followed one by one.
const GROUP: usize = 4;

/// The values that show whether a number moves anything.
pub(super) fn telling(values: &[f64]) -> impl Iterator<Item = f64> {
    let ends = values.len().saturating_sub(2);
    let is_tried = move |(at, _): &(usize, &f64)| at % EVERY < 2 || *at >= ends;
    values.iter().enumerate().filter(is_tried).map(|(_, &value)| value)
}

/// True for each number of which it is known that it moves nothing; the others have to be followed.
///
/// Numbers that belong to routes of neither plan cannot. Of the others those of the same key (the boxes of all parts, say) are moved
/// together to all values that would tell, each in an order of its own, so that none makes up for another: where nothing ever moves,
/// none of them moves anything.
pub(super) fn inert(pair: &Pair, followed: &[Followed]) -> Vec<bool> {
    let mut inert = of_other_routes(pair, followed);
    let scenario = pair.shop.scenario;
    let mut groups: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for (index, number) in followed.iter().enumerate().filter(|(index, _)| !inert[*index]) {
        let key = without_names(&scenario.slots.get(number.slot).address);
        groups.entry(key).or_default().push(index);
    }
    let groups: Vec<Vec<usize>> = groups.into_values().filter(|g| g.len() >= GROUP).collect();
    let still = in_order(groups.len(), |group| moves_nothing(pair, followed, &groups[group]));
    for (group, still) in groups.iter().zip(still) {
        group.iter().for_each(|&index| inert[index] = still);
    }
    inert
}

fn of_other_routes(pair: &Pair, followed: &[Followed]) -> Vec<bool> {
    let scenario = pair.shop.scenario;
    let touched = touched(scenario);
    let used: Vec<RouteId> = pair.plans().flat_map(|plan| routes_of(scenario, plan)).collect();
    let is_used = |routes: &Vec<RouteId>| routes.iter().any(|route| used.contains(route));
    followed.iter().map(|n| touched.get(&n.slot).is_some_and(|routes| !is_used(routes))).collect()
}

fn moves_nothing(pair: &Pair, followed: &[Followed], group: &[usize]) -> bool {
    let all: Vec<(Slot, Vec<f64>)> = group
        .iter()
        .map(|&index| (followed[index].slot, telling(&followed[index].values).collect()))
        .collect();
    let tries = all.iter().map(|(_, values)| values.len()).max().unwrap_or(0);
    (0..tries).all(|attempt| {
        let value = |(place, (slot, values)): (usize, &(Slot, Vec<f64>))| {
            let at = (attempt + place) % values.len().max(1);
            Some((*slot, *values.get(at)?))
        };
        let tried: Vec<(Slot, f64)> = all.iter().enumerate().filter_map(value).collect();
        // What is not valid tells nothing.
        pair.difference(&tried).is_some_and(|d| (d - pair.today).abs() <= pair.noise)
    })
}

/// An address without the names in it: what numbers of the same key have in common.
fn without_names(address: &str) -> String {
    let mut depth = 0;
    let mut key = String::new();
    for c in address.chars() {
        match c {
            '[' => depth += 1,
            ']' => depth -= 1,
            _ if depth == 0 => key.push(c),
            _ => {}
        }
    }
    key
}

#[cfg(test)]
mod tests {
    use super::without_names;

    #[test]
    fn numbers_of_a_key_have_the_same_address_but_for_names() {
        assert_eq!(without_names("part[collar].box.x"), "part.box.x");
        assert_eq!(without_names("route[bench, dyed].steps[dye].spoil"), "route.steps.spoil");
        assert_eq!(without_names("labour"), "labour");
    }
}
