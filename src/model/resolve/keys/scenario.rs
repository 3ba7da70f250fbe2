//! Keys of the scenario as a whole, of its iterations, hours, parts and plans.

use super::Takes::{
    Any, Certain, Day, Flag, Itself, Lengths, List, Map, Moment, Number, Span, Table, Text, Whole,
    Word,
};
use super::number::NumberKind as N;
use super::words::{UNITS, VARIES};
use super::{BATH, Key, ROUTE, key, words};
use crate::input::WEEKDAYS;
use crate::model::FILLS;
use crate::model::resolve::limits;

/// Keys at the top of scenario.toml.
pub const TOP: &[Key] = &[
    key("title", Text, "heads the answer; absent: the folder's name"),
    key(
        "currency",
        Text,
        "ISO 4217 code of every total, and of every price that names no other, such as \"USD\"",
    )
    .needed(),
    key(
        "start",
        Moment,
        "release of the first iteration; a date alone means that day's first opening",
    ),
    key("due", Day, "the last piece must be in hand before midnight of that day; needs `start`"),
    key("sure", Number(&[N::Share]), "wanted chance of being in time; absent: 0.80"),
    key(
        "close",
        Number(&[N::Share]),
        "plans within this share of the cheapest count as about equal; absent: 0.05",
    ),
    key("budget", Number(&[N::Money]), "money there is; compared with the outlay"),
    key(
        "labour",
        Number(&[N::Labour]),
        "what an hour of your own work is worth; absent: not counted",
    ),
    key(
        "labour_paid",
        Flag,
        "true: those hours are paid out and count in the outlay; absent: false",
    ),
    key("pricing", Text, "folder of the price sheets, as seen from the scenario's folder"),
    key("seed", Whole(0, i64::MAX), "seed of the samples; absent: 1"),
    key(
        "iterations",
        Table(ITERATIONS),
        "how often the design turns: release, make, in hand, evaluate, redesign, next release",
    )
    .needed(),
    key("final", Table(FINAL), "the accepted design is made once more, after the last evaluation"),
    key("hours", Table(HOURS), "when the bench is open; absent: Monday to Friday, 09:00-17:00"),
    key(
        "calendar",
        Map(&Table(CALENDAR)),
        "business days of services and carriers, each calendar by its name",
    ),
    key("part", List(&Table(PART)), "parts to be made, each with `[[part]]`").needed(),
    key("bath", List(&Table(BATH)), "containers with solvent, each with `[[bath]]`"),
    key("route", List(&Table(ROUTE)), "ways to get parts, each with `[[route]]`").needed(),
    key(
        "plan",
        List(&Table(PLAN)),
        "plans to compare, each with `[[plan]]`; absent: every way of making every part",
    ),
];

/// Keys of `[iterations]`.
pub const ITERATIONS: &[Key] = &[
    key(
        "planned",
        Any(&[Whole(1, limits::HORIZON), Table(PLANNED)]),
        "how often you expect to make, try and change",
    )
    .needed(),
    key(
        "horizon",
        Whole(1, limits::HORIZON),
        "how far the curves reach; absent: the largest of 24, twice the planned count and its high",
    ),
    key(
        "evaluate",
        Number(&[N::Attended]),
        "trying the pieces: your design time, in the calendar and not in labour; absent: assumed",
    ),
    key("redesign", Number(&[N::Attended]), "changing the design, likewise; absent: assumed"),
    key(
        "overlap",
        Number(&[N::Share]),
        "share of the redesign that is done while pieces are being made; absent: 0",
    ),
    key(
        "delay_cost_per_day",
        Number(&[N::Money]),
        "cost of each day until the pieces are in hand; counted in avoidable",
    ),
];

/// Keys of `planned` as a table: a count with a spread, or one of two other ways to state it.
pub const PLANNED: &[Key] = &[
    key("low", Whole(1, limits::HORIZON), "the least count"),
    key("likely", Whole(1, limits::HORIZON), "the count that planning uses"),
    key("high", Whole(1, limits::HORIZON), "the greatest count"),
    key("varies", Word(&["once"]), "a count is drawn once"),
    key(
        "accept_chance",
        Certain(&[N::Accept]),
        "chance that an iteration is the last: planned at one divided by it, rounded up",
    ),
    key(
        "chances",
        Map(&Certain(&[N::Share])),
        "counts and their chances, which sum to 1: `{ \"4\" = 0.3, \"6\" = 0.7 }`",
    ),
];

/// Keys of a number with a spread.
pub const SPREAD: &[Key] = &[
    key("low", Itself, "the least"),
    key("likely", Itself, "what planning uses").needed(),
    key("high", Itself, "the most"),
    key(
        "varies",
        Word(const { &words(&VARIES) }),
        "whether samples draw it once or anew in each iteration",
    ),
];

/// Keys of `[hours]`.
pub const HOURS: &[Key] = &[
    key(
        "days",
        List(&Word(const { &words(&WEEKDAYS) })),
        "weekdays that are open; absent: Monday to Friday",
    ),
    key(
        "open",
        List(&Span),
        "spans of open hours; at the end of a span the bench is closed; absent: 09:00-17:00",
    ),
    key("closed", List(&Day), "days that are closed all the same; they need `start`"),
];

/// Keys of a `[calendar.NAME]`.
pub const CALENDAR: &[Key] = &[
    key(
        "days",
        List(&Word(const { &words(&WEEKDAYS) })),
        "business days of the week; absent: Monday to Friday",
    ),
    key("closed", List(&Day), "days that are no business days all the same; they need `start`"),
];

/// Keys of a `[[part]]`.
pub const PART: &[Key] = &[
    key("name", Text, "name of the part").needed(),
    key(
        "mesh",
        Text,
        "STL, OBJ or 3MF file, from the scenario's folder: volume, area and box are measured from it",
    ),
    key(
        "mesh_unit",
        Word(const { &words(&UNITS) }),
        "what one unit of the mesh is; absent: mm, or what a 3MF states",
    ),
    key("volume", Number(&[N::Volume]), "solid volume of one piece, without supports"),
    key("area", Number(&[N::Area]), "whole surface of one piece"),
    key(
        "box",
        Lengths(3),
        "length, width and height of the box around one piece, such as \"38 x 38 x 52 mm\"",
    ),
    key(
        "fill",
        Any(&[Word(const { &words(&FILLS) }), Number(&[N::Accept])]),
        "in place of `volume`: the share of the box that is solid, as a number or a word",
    ),
    key("copies", Number(&[N::Count]), "pieces in each iteration; absent: 1"),
    key(
        "iterations",
        Number(&[N::Count]),
        "the part is made in the first so many iterations only; absent: in all",
    ),
    key("must", Table(WANTS), "what rules a route out where it is not met"),
    key("prefer", Table(WANTS), "what you would like; its price is shown"),
];

/// What a must is where it starts later, or where it is written at length.
const LATER_WORD: &str = "what it must be";
const FROM: &str = "the first iteration in which it counts; absent: 1";

/// Keys of `must` and `prefer`.
pub const WANTS: &[Key] = &[
    key(
        "hardness",
        Any(&[
            Text,
            Table(&[
                key("is", Text, LATER_WORD).needed(),
                key("from_iteration", Whole(1, limits::HORIZON), FROM),
            ]),
        ]),
        "Shore hardness, a number or a range on one scale: \"70A\", \"60A..80A\"",
    ),
    key("opaque", Any(&[Flag, Table(LATER)]), "whether light must not, or must, pass"),
    key(
        "colour",
        Any(&[
            Text,
            Table(&[
                key("is", Text, LATER_WORD).needed(),
                key("from_iteration", Whole(1, limits::HORIZON), FROM),
            ]),
        ]),
        "colour, compared without regard to upper and lower case",
    ),
    key(
        "skin_statement",
        Any(&[Flag, Table(LATER)]),
        "true: the supplier's statement on skin contact must be on file, which is no judgement of safety",
    ),
    key(
        "lead",
        Any(&[
            Whole(0, limits::LEAD_DAYS),
            Table(&[
                key("is", Whole(0, limits::LEAD_DAYS), LATER_WORD).needed(),
                key("from_iteration", Whole(1, limits::HORIZON), FROM),
            ]),
        ]),
        "at most so many business days; order routes",
    ),
];

/// Keys of a must that starts later, as of one that is true or false.
pub const LATER: &[Key] = &[
    key("is", Flag, "what it must be; absent: true"),
    key("from_iteration", Whole(1, limits::HORIZON), FROM),
];

/// Keys of `[final]`.
pub const FINAL: &[Key] = &[
    key("assign", Map(&Text), "parts that are then made by another route than the plan's"),
    key("copies", Number(&[N::Count]), "pieces of every part; absent: each part's own copies"),
    key("accept", Number(&[N::Accept]), "chance that the final passes; absent: 1"),
];

/// Keys of a `[[plan]]`.
pub const PLAN: &[Key] = &[
    key("name", Text, "name of the plan; absent: its parts and routes"),
    key(
        "assign",
        Map(&Any(&[Text, List(&Any(&[Text, Table(SECOND)]))])),
        "a route for every part; a list names a second one with its last iteration",
    )
    .needed(),
    key(
        "variants",
        Number(&[N::Count]),
        "variants of each part that one iteration makes; needs `variant_worth`",
    ),
    key(
        "variant_worth",
        Number(&[N::Share]),
        "what each further variant is worth, as a share of an iteration",
    ),
];

/// Keys of a second route for a part.
pub const SECOND: &[Key] = &[
    key("route", Text, "name of the route").needed(),
    key(
        "until",
        Whole(1, limits::HORIZON),
        "the last iteration it is used in; absent: it is the plan's own route",
    ),
];
