//! The page as a whole: what stands where.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::super::terminal::clean;
use super::super::{Subject, iterations};
use super::extras::{Page, PageExtras};
use super::{
    answers, assume, changes, data, kinds, ledger, material, overview, plans, policy, progress,
    sources, steps,
};

/// Digits of the fingerprint that are shown.
const HASH: usize = 16;

/// The report as one HTML document.
pub fn page(subject: &Subject, extras: &PageExtras) -> String {
    let page = Page::new(subject, extras);
    let (style, script) = (policy::style(), policy::script());
    let title = clean(&subject.scenario().title);
    let document = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(policy::policy(&style, &script));
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="generator" content=(format!("flipcount {}", env!("CARGO_PKG_VERSION")));
                title { (title) ": bench or outside?" }
                style { (PreEscaped(style)) }
            }
            body {
                a.skip href="#plans" { "To the plans" }
                (patterns())
                (header(&page, &title))
                main { (main(&page)) }
                (footer(&page))
                script #data type="application/json" { (PreEscaped(data::data(&page))) }
                script { (PreEscaped(script)) }
            }
        }
    };
    document.into_string()
}

fn header(page: &Page, title: &str) -> Markup {
    let answer = page.subject.answer;
    let last = if page.subject.has_final() { " and a final" } else { "" };
    html! {
        header {
            p.over { "Print at the bench, or send it out?" }
            h1 { (title) }
            p.under {
                (iterations(answer.planned)) " planned" (last) ", followed to " (answer.horizon)
                " \u{b7} money in " (page.words.currency())
                " \u{b7} made from inputs " code { (page.extras.hash.chars().take(HASH).collect::<String>()) }
            }
        }
    }
}

fn main(page: &Page) -> Markup {
    html! {
        (answers::verdict(page))
        (progress::progress_section(page))
        @if !page.shown.is_empty() {
            (plans::controls(page))
            div.two.lead {
                (overview::cost(page))
                (overview::dates(page))
            }
            (plans::plans(page))
            div.two { (answers::look_again(page)) (changes::replace_first(page)) }
            div.two {
                div { (kinds::kinds(page)) (ledger::months(page)) }
                (changes::changes(page))
            }
            div.two {
                (changes::map(page))
                div { (assume::cautions(page)) (assume::assumptions(page)) }
            }
            (material::material(page))
            (steps::steps(page))
            (sources::sources(page))
        } @else { (assume::cautions(page)) }
        (assume::notes(page))
        (ledger::ledger(page))
    }
}

/// Hatching that charts share.
fn patterns() -> Markup {
    html! {
        svg.defs width="0" height="0" aria-hidden="true" focusable="false" {
            defs {
                pattern #hatch width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)" {
                    rect.hb width="6" height="6" {}
                    path.hl d="M0 0V6" {}
                }
            }
        }
    }
}

fn footer(page: &Page) -> Markup {
    html! {
        footer {
            p {
                "flipcount " (env!("CARGO_PKG_VERSION")) ". The same inputs give the same page, byte for byte. Inputs: "
                code.long { (page.extras.hash) }
            }
        }
    }
}
