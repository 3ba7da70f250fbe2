//! `dip`: what to pour, by hand and as shown; the drawings; what happens where nothing can be dipped.

use std::fs;
use std::path::Path;

use crate::commands::{FIRST, path, run};
use crate::help::{folder, project};

/// A collar and two boots, dyed in a tub with draft; the boots also in a round one. `more` is added to the green bath.
fn scenario(more: &str) -> String {
    format!(
        r#"title = "Dye trial"
currency = "USD"
pricing = "pricing"
[iterations]
planned = 3
[[part]]
name = "collar <A&B>"
volume = "92 cm3"
area = "310 cm2"
box = "80 x 76 x 34 mm"
[[part]]
name = "boot"
volume = "14 cm3"
area = "96 cm2"
box = "38 x 38 x 52 mm"
copies = 2
[[bath]]
name = "green dye"
kind = "dye"
solvent = "isopropanol 99"
dye = "alcohol dye, green"
dye_share = 0.03
tub = {{ shape = "box", bottom = "190 x 120 mm", top = "206 x 136 mm", depth = "110 mm" }}
displacers = "0.15 L"
displacer_height = "25 mm"
raise = "5 mm"
depth = "full"
cover = "5 mm"
freeboard = "15 mm"
{more}
[[bath]]
name = "blue dye"
kind = "dye"
solvent = "isopropanol 99"
dye = "alcohol dye, blue"
dye_share = 0.02
tub = {{ shape = "round", bottom = "60 mm", top = "70 mm", depth = "80 mm" }}
depth = "20 mm"
[[route]]
name = "bench, green"
kind = "bench"
steps = [{{ do = "cast", attended = "15 min" }}, {{ do = "dye", bath = "green dye", attended = "10 min" }}]
[[route]]
name = "bench, blue tip"
kind = "bench"
for = ["boot"]
steps = [{{ do = "cast", attended = "15 min" }}, {{ do = "dye", bath = "blue dye", attended = "10 min" }}]
"#
    )
}

const SUPPLIES: &str = "item,kind,pack,pack_price,density\nisopropanol 99,solvent,5 L,46.00,0.785 g/mL\n\
                        \"alcohol dye, green\",dye,50 mL,9.00,\n\"alcohol dye, blue\",dye,50 mL,9.00,\n";

fn trial(more: &str) -> tempfile::TempDir {
    folder(&scenario(more), &[("supplies.csv", SUPPLIES)])
}

fn files(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .expect("the folder")
        .map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

#[test]
fn what_to_pour_as_shown() {
    let trial = trial("stir_room = \"0.2 L\"");
    let (code, out, error) = run(&["dip", path(trial.path())], &project(""));
    assert_eq!(code, 0, "{error}");
    assert!(out.lines().all(|line| line.chars().count() <= 100), "{out}");
    insta::assert_snapshot!("dip", out);
}

/// The figure after a label in the first stretch that is about some bath and part.
fn figure<'o>(out: &'o str, about: &str, label: &str) -> &'o str {
    let stretch = out.split(about).nth(1).unwrap_or_else(|| panic!("no {about} in {out}"));
    let line = stretch.lines().find(|line| line.starts_with(label)).expect("a line");
    line[label.len()..].trim()
}

#[test]
fn what_to_pour_by_hand() {
    let plain = scenario("")
        .replace("206 x 136 mm", "190 x 120 mm")
        .replace("displacers = \"0.15 L\"\ndisplacer_height = \"25 mm\"\n", "");
    let trial = folder(&plain, &[("supplies.csv", SUPPLIES)]);
    let (code, out, _) = run(&["dip", path(trial.path())], &project(""));
    assert_eq!(code, 0);
    let of = |label| figure(&out, "green dye, collar", label);
    // Level 5 + 34 + 5 = 44 mm of 190 x 120 mm: 1003.2 mL, of which the collar takes 92. 911.2 / 1.03 = 884.66 mL of solvent.
    assert_eq!(of("isopropanol 99"), "884.7 mL (694.5 g)");
    assert_eq!(of("alcohol dye, green"), "26.5 mL");
    // 911.2 mL stand 911.2 / 22.8 = 39.96 mm high.
    assert_eq!(of("level before, above the floor"), "40.0 mm");
    assert_eq!(of("level with the piece in"), "44.0 mm");
    assert_eq!(of("free under the rim"), "66.0 mm");
    assert_eq!((of("displaced"), of("wetted surface")), ("92.0 mL", "310.0 cm2"));
}

#[test]
fn the_pose_of_the_route_or_step_holds() {
    let lying = scenario("").replace(
        "bath = \"green dye\", attended",
        "bath = \"green dye\", pose = \"shortest\", attended",
    );
    let trial = folder(&lying, &[("supplies.csv", SUPPLIES)]);
    let (code, out, _) = run(&["dip", path(trial.path())], &project(""));
    assert_eq!(code, 0);
    assert!(out.contains("green dye, boot: 52 x 38 mm, 38 mm tall with y up"), "{out}");
    assert!(out.contains("blue dye, boot: 38 x 38 mm, 52 mm tall with z up"), "{out}");
}

/// Holds a document against XML as far as a drawing uses it: one root, tags closed in order, attributes quoted, text escaped.
fn well_formed(text: &str) {
    let mut open: Vec<&str> = Vec::new();
    let mut rest = text;
    let mut roots = 0;
    while let Some(at) = rest.find('<') {
        let (before, tag) = rest.split_at(at);
        assert!(!open.is_empty() || before.trim().is_empty(), "text outside the root: {before}");
        assert!(!before.contains('>'), "a bare > in {before}");
        for entity in before.split('&').skip(1) {
            let name = entity.split(';').next().expect("a name");
            assert!(["amp", "lt", "gt", "quot"].contains(&name), "&{entity}");
        }
        let end = tag.find('>').expect("a tag ends");
        let inside = &tag[1..end];
        if let Some(name) = inside.strip_prefix('/') {
            assert_eq!(open.pop(), Some(name));
        } else {
            roots += usize::from(open.is_empty());
            assert!(inside.matches('"').count().is_multiple_of(2), "{inside}");
            if !inside.ends_with('/') {
                open.push(inside.split_whitespace().next().expect("a name"));
            }
        }
        rest = &tag[end + 1..];
    }
    assert!(open.is_empty() && rest.trim().is_empty(), "{open:?} {rest}");
    assert_eq!(roots, 1);
}

#[test]
fn a_drawing_for_each_bath_and_part() {
    let (trial, home) = (trial(""), tempfile::tempdir().expect("a folder"));
    let (code, out, error) = run(&["dip", path(trial.path()), "-o", "new/drawings"], home.path());
    assert_eq!((code, error.as_str()), (0, "3 drawings to new/drawings\n"));
    assert_eq!(out, run(&["dip", path(trial.path())], home.path()).1);
    let drawings = home.path().join("new/drawings");
    let names = ["dip-blue-dye-boot.svg", "dip-green-dye-boot.svg", "dip-green-dye-collar-a-b.svg"];
    assert_eq!(files(&drawings), names);
    for name in names {
        let text = fs::read_to_string(drawings.join(name)).expect("a drawing");
        well_formed(&text);
        for part in ["<title ", "<desc ", "role=\"img\"", "prefers-color-scheme:dark", " mm", " mL"]
        {
            assert!(text.contains(part), "{name}: {part}");
        }
    }
    let text = fs::read_to_string(drawings.join(names[2])).expect("a drawing");
    assert!(text.contains(">green dye, collar &lt;A&amp;B&gt;</title>"), "{text}");
}

#[test]
fn drawings_are_there_whole_or_not_at_all() {
    let (trial, home) = (trial(""), tempfile::tempdir().expect("a folder"));
    let mine = home.path().join("dip-green-dye-boot.svg");
    fs::write(&mine, "mine").expect("a file in the way");
    let write =
        |more: &[&str]| run(&[&["dip", path(trial.path()), "-o", "."], more].concat(), home.path());
    let (code, out, error) = write(&[]);
    assert_eq!((code, out.as_str()), (2, ""));
    assert!(error.contains("dip-green-dye-boot.svg is there already"), "{error}");
    assert_eq!(fs::read_to_string(&mine).expect("still there"), "mine");
    assert_eq!(files(home.path()).len(), 1);
    assert_eq!(write(&["--force"]).0, 0);
    assert_eq!(files(home.path()).len(), 3);
    well_formed(&fs::read_to_string(&mine).expect("replaced"));
    let in_a_file = run(&["dip", path(trial.path()), "-o", "dip-green-dye-boot.svg"], home.path());
    assert_eq!(in_a_file.0, 2, "{}", in_a_file.2);
    assert_eq!(run(&["dip", path(trial.path()), "--force"], home.path()).0, 2);
}

#[test]
fn names_that_come_out_alike_are_numbered() {
    let alike = scenario("").replace("name = \"collar <A&B>\"", "name = \"BOOT!\"");
    let (trial, home) = (folder(&alike, &[("supplies.csv", SUPPLIES)]), tempfile::tempdir());
    let home = home.expect("a folder");
    assert_eq!(run(&["dip", path(trial.path()), "-o", "."], home.path()).0, 0);
    let names = ["dip-blue-dye-boot.svg", "dip-green-dye-boot-2.svg", "dip-green-dye-boot.svg"];
    assert_eq!(files(home.path()), names);
}

#[test]
fn what_cannot_be_dipped_says_why() {
    // 1351.9 mL of the tub are beside the displacers up to the level; two boots of 14 mL leave 1323.9, one leaves 1337.9.
    let trial = trial("stir_room = \"1330 mL\"");
    let (code, out, _) = run(&["dip", path(trial.path())], &project(""));
    assert_eq!(code, 0);
    let boot = out.split("green dye, boot").nth(1).expect("the boot");
    assert!(boot.contains("2 pieces together cannot be dipped:"), "{boot}");
    assert!(boot.contains("1323.9 mL of liquid beside the pieces, 6.1 mL less than"), "{boot}");
    let of = |label| figure(&out, "green dye, boot", label);
    assert_eq!(of("pour"), "1 piece alone");
    // 1337.9 / 1.03 = 1298.93 with the digits left out above.
    let row: Vec<&str> = of("57 mm, as planned").split_whitespace().collect();
    assert_eq!(row, ["62.0", "too", "little", "-", "1299.0", "39.0"]);
}

#[test]
fn where_nothing_can_be_dipped_the_code_says_so() {
    let only = |text: String| text.replace("for = [\"boot\"]", "for = [\"collar <A&B>\"]");
    let low = folder(
        &only(scenario("")).replace("freeboard = \"15 mm\"", "freeboard = \"80 mm\""),
        &[("supplies.csv", SUPPLIES)],
    );
    let home = tempfile::tempdir().expect("a folder");
    let (code, out, error) = run(&["dip", path(low.path()), "-o", "drawings"], home.path());
    assert_eq!((code, error.as_str()), (4, ""));
    assert!(files(home.path()).is_empty());
    // The level of 5 + 34 + 5 mm is 14 mm above rim less freeboard; the collar is wider than the round tub.
    let said = out.split_whitespace().collect::<Vec<_>>().join(" ");
    for reason in [
        "the level would be 44 mm above the floor, 14 mm more than the 30 mm there are.",
        "wide at its underside, 50.34 mm more than the 60 mm there are.",
        "39 mm, as planned, too high",
    ] {
        assert!(said.contains(reason), "{reason}: {out}");
    }
    let (code, out, error) = run(&["dip", FIRST], &project(""));
    assert_eq!((code, out.as_str()), (4, ""));
    assert!(error.contains("no dye bath"), "{error}");
}

#[test]
fn an_error_in_the_scenario_is_bad_input() {
    let wrong = folder(&scenario("depht = \"full\""), &[("supplies.csv", SUPPLIES)]);
    assert_eq!(run(&["dip", path(wrong.path())], &project("")).0, 3);
}
