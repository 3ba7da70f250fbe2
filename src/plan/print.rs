//! What printing a build takes, in numbers: its layers and its time.

use crate::model::{
    Bench, Exact, ItemId, MILLION, PrintTime, Route, RouteKind, Scenario, Slot, Up,
};

use super::Values;

/// What printing a build takes.
#[derive(Clone, Copy, Debug)]
pub struct PrintTable {
    /// The resin drawn.
    pub resin: Option<ItemId>,
    /// 1 + supports.
    pub with_supports: Exact,
    /// Resin lost per build in mL.
    pub loss: Exact,
    /// Free height under the part in mm.
    pub stand_off: Exact,
    /// Which axis points up on the plate.
    pub up: Up,
    /// Free room round each piece, in millionths of mm.
    pub gap: i64,
    /// The plate in millionths of mm, where known.
    pub plate: Option<[i64; 2]>,
    /// Greatest build height in mm, where known.
    pub height: Option<Exact>,
    /// 1 + the film on supports as a share of the part's area.
    pub film_area: Exact,
    /// Layer height in mm, where stated.
    pub layer: Option<Exact>,
    /// Print time.
    pub time: PrintTimeTable,
    /// True where supports, loss or spoil are assumed.
    pub assumed: bool,
}

/// Print time in numbers.
#[derive(Clone, Copy, Debug)]
pub enum PrintTimeTable {
    /// Seconds per build.
    Stated(i64),
    /// Seconds before, per layer, and per mL of solid volume.
    Layers(Exact, Exact, Exact),
}

impl PrintTable {
    /// Solid volume of a build in mL: pieces with their supports. `pieces` is the pieces' volume in mL.
    pub fn solid(&self, pieces: Exact) -> Exact {
        pieces * self.with_supports
    }

    /// Layers of a build whose tallest piece is so many millionths of mm high; 0 where no layer height is stated.
    ///
    /// A millionth of a layer is forgiven, so that 65 mm in 0.1 mm layers are 650 and not 651 after a division.
    pub fn layers(&self, tallest: i64) -> i64 {
        let Some(layer) = self.layer.filter(|l| !l.is_zero()) else {
            return 0;
        };
        let height = Exact::from_millionths(tallest) + self.stand_off;
        let forgiven = Exact::ONE / Exact::from(MILLION);
        (height / layer - forgiven).ceil().max(0)
    }

    /// Print time of a build in seconds, rounded half up.
    pub fn seconds(&self, solid: Exact, layers: i64) -> i64 {
        match self.time {
            PrintTimeTable::Stated(seconds) => seconds,
            PrintTimeTable::Layers(start_up, per_layer, per_volume) => {
                (start_up + per_layer * Exact::from(layers) + per_volume * solid).to_whole()
            }
        }
    }
}

/// The numbers of a route's print; `None` where it does not print.
pub(super) fn print_table(
    route: &Route,
    spoil_assumed: bool,
    scenario: &Scenario,
    values: &Values,
) -> Option<PrintTable> {
    let RouteKind::Bench(Bench { print: Some(print), .. }) = &route.kind else {
        return None;
    };
    let assumed = |slot: Slot| scenario.slots.get(slot).assumed;
    let printer = route.steps.first().and_then(|s| s.at);
    let printer = printer.map(|id| &scenario.equipment[id.index()]);
    Some(PrintTable {
        resin: print.resin,
        with_supports: Exact::ONE + values.exact(print.supports),
        loss: values.exact(print.loss),
        stand_off: values.exact_or_zero(print.stand_off),
        up: print.up,
        gap: values.whole_or_zero(print.gap),
        plate: printer.and_then(|m| m.plate).map(|p| p.map(|s| values.whole(s))),
        height: printer.and_then(|m| m.height).map(|s| values.exact(s)),
        film_area: film_area(values.exact(print.supports), values.exact(print.support_area)),
        layer: print.layer.map(|l| values.exact(l)),
        time: match print.time {
            PrintTime::Stated(slot) => PrintTimeTable::Stated(values.whole(slot)),
            PrintTime::Layers { start_up, per_layer, per_volume } => PrintTimeTable::Layers(
                values.exact(start_up),
                values.exact(per_layer),
                values.exact(per_volume),
            ),
        },
        assumed: spoil_assumed || assumed(print.supports) || assumed(print.loss),
    })
}

/// 1 + the film on supports as a share of the part's area: none without supports.
fn film_area(supports: Exact, support_area: Exact) -> Exact {
    if supports.is_zero() { Exact::ONE } else { Exact::ONE + support_area }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::e;

    fn print(layer: &str) -> PrintTable {
        PrintTable {
            resin: None,
            with_supports: e("1.25"),
            loss: e("10"),
            stand_off: e("5"),
            up: Up::Z,
            gap: 0,
            plate: None,
            height: None,
            film_area: e("1.5"),
            layer: Some(e(layer)),
            time: PrintTimeTable::Layers(e("480"), e("18"), e("0.5")),
            assumed: false,
        }
    }

    #[test]
    fn layers_of_a_printed_height() {
        // 60 mm tall, 5 mm stand-off, 0.1 mm layer: 650 layers (arithmetic; common practice, no source).
        assert_eq!(print("0.1").layers(60_000_000), 650);
        // A third of a layer more needs one more layer; a millionth of a layer does not.
        assert_eq!(print("0.1").layers(60_030_000), 651);
        assert_eq!(print("0.3").layers(61_000_000), 220);
        assert_eq!(print("0.07").layers(65_000_000), 1_000);
    }

    #[test]
    fn print_time_is_rounded_once() {
        let print = print("0.1");
        let solid = print.solid(Exact::from(92i64));
        assert_eq!(solid.to_string(), "115");
        // 480 + 650 x 18 + 115 x 0.5 = 12,237.5 s, half up.
        assert_eq!(print.seconds(solid, 650), 12_238);
    }
}
