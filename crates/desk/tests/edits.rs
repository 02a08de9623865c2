//! Edits change what they say and nothing else.

use tidewall_desk::edit::{Edit, Entry, Patch, Value, apply, apply_all};
use tidewall_desk::outline::{Outline, Shown};

const STUDY: &str = r#"# A port.
title = "One"    # its name

[port]
profile = "supply-24vdc"
ambient = "-40 °C to 70 °C"   # no heating

# The surge.
[[stress]]
id = "surge"
level = "1 kV"      # line to earth

[[stress]]
id = "esd"
level = '8 kV'

# Connector.
[[ladder]]
series = { resistance = "20 mΩ", inductance = "15 nH" }   # terminal

# The clamp,
# close to it.
[[ladder]]
name = "D1"
shunt = "maple-33"
lead = "2 nH"

[[ladder]]
series = { inductance = "10 nH" }

[pin]
withstand = [{ voltage = "60 V", lasts = "any" }]
"#;

fn edited(text: &str, edit: &Edit) -> String {
    let patch = apply(text, edit).expect("an edit that can be made");
    let new = patch.on(text).expect("a patch of this text");
    assert_eq!(patch.inverse().on(&new).as_deref(), Some(text), "the way back");
    new
}

fn set(at: &str, value: impl Into<Value>) -> Edit {
    Edit::Set {
        at: at.to_owned(),
        value: value.into(),
    }
}

fn unset(at: &str) -> Edit {
    Edit::Unset { at: at.to_owned() }
}

/// The text with one piece replaced.
fn with(old: &str, new: &str) -> String {
    assert_eq!(STUDY.matches(old).count(), 1, "{old}");
    STUDY.replacen(old, new, 1)
}

#[test]
fn a_value_is_replaced_and_nothing_else() {
    for (at, value, old, new) in [
        ("title", "Two", "\"One\"", "\"Two\""),
        (
            "port.ambient",
            "0 °C to 50 °C",
            "\"-40 °C to 70 °C\"",
            "\"0 °C to 50 °C\"",
        ),
        ("stress.0.level", "2 kV", "\"1 kV\"", "\"2 kV\""),
        ("stress.1.level", "4 kV", "'8 kV'", "\"4 kV\""),
        ("ladder.0.series.inductance", "20 nH", "\"15 nH\"", "\"20 nH\""),
        ("ladder.1.shunt", "alder \"33\"", "\"maple-33\"", "'alder \"33\"'"),
        (
            "ladder.2.series",
            "hazel-3",
            "{ inductance = \"10 nH\" }",
            "\"hazel-3\"",
        ),
        ("pin.withstand.0.voltage", "50 V", "\"60 V\"", "\"50 V\""),
    ] {
        assert_eq!(edited(STUDY, &set(at, value)), with(old, new), "{at}");
    }
}

#[test]
fn a_missing_key_goes_behind_the_last_of_its_table() {
    assert_eq!(
        edited(STUDY, &set("margin", "15 %")),
        with("# its name\n", "# its name\nmargin = \"15 %\"\n")
    );
    assert_eq!(
        edited(STUDY, &set("stress.0.polarity", "both")),
        with("# line to earth\n", "# line to earth\npolarity = \"both\"\n")
    );
    assert_eq!(
        edited(STUDY, &set("ladder.2.series.resistance", "1 Ω")),
        with("\"10 nH\" }", "\"10 nH\", resistance = \"1 Ω\" }")
    );
    assert_eq!(
        edited(STUDY, &set("board.impedance", "50 Ω")),
        format!("{STUDY}\n[board]\nimpedance = \"50 Ω\"\n")
    );
    assert_eq!(
        edited(STUDY, &set("pin.failure_current.value", "3 A")),
        with(
            "\"any\" }]\n",
            "\"any\" }]\nfailure_current = { value = \"3 A\" }\n"
        )
    );
    assert_eq!(
        edited(
            STUDY,
            &set(
                "pin.withstand.1",
                Value::Table(Entry(vec![("voltage".to_owned(), "80 V".into())]))
            )
        ),
        with("\"any\" }]", "\"any\" }, { voltage = \"80 V\" }]")
    );
    assert_eq!(edited("a = [ ]\n", &set("a.0", Value::Whole(1))), "a = [1 ]\n");
    assert_eq!(edited("", &set("title", "New")), "title = \"New\"\n");
    assert_eq!(
        edited("[port]\n", &set("title", "New")),
        "title = \"New\"\n\n[port]\n"
    );
    assert_eq!(
        edited("title = \"a\"", &set("margin", "5 %")),
        "title = \"a\"\nmargin = \"5 %\"\n"
    );
    assert_eq!(
        edited("a.b = 1\n", &set("a.c", Value::Whole(2))),
        "a.b = 1\na.c = 2\n"
    );
}

#[test]
fn a_key_goes_with_its_line_or_its_comma() {
    assert_eq!(
        edited(STUDY, &unset("ladder.1.lead")),
        with("lead = \"2 nH\"\n", "")
    );
    assert_eq!(
        edited(STUDY, &unset("ladder.0.series.resistance")),
        with("resistance = \"20 mΩ\", ", "")
    );
    assert_eq!(
        edited(STUDY, &unset("ladder.0.series.inductance")),
        with(", inductance = \"15 nH\"", "")
    );
    assert_eq!(
        edited(STUDY, &unset("pin.withstand.0")),
        with("{ voltage = \"60 V\", lasts = \"any\" }", "")
    );
}

#[test]
fn an_entry_comes_goes_and_moves_with_its_comment() {
    let clamp =
        "# The clamp,\n# close to it.\n[[ladder]]\nname = \"D1\"\nshunt = \"maple-33\"\nlead = \"2 nH\"\n\n";
    let removed = edited(
        STUDY,
        &Edit::Remove {
            list: "ladder".to_owned(),
            at: 1,
        },
    );
    assert_eq!(removed, with(clamp, ""));
    let back = edited(
        &removed,
        &Edit::Insert {
            list: "ladder".to_owned(),
            at: 1,
            entry: Entry(vec![("shunt".to_owned(), "alder-33".into())]),
        },
    );
    assert_eq!(back, with(clamp, "[[ladder]]\nshunt = \"alder-33\"\n\n"));
    let moved = edited(
        STUDY,
        &Edit::Move {
            list: "ladder".to_owned(),
            from: 1,
            to: 0,
        },
    );
    let first = "# Connector.\n[[ladder]]\n";
    assert_eq!(moved, with(clamp, "").replace(first, &format!("{clamp}{first}")));
    let to_end = edited(
        STUDY,
        &Edit::Move {
            list: "ladder".to_owned(),
            from: 0,
            to: 9,
        },
    );
    assert!(
        to_end.contains("{ inductance = \"10 nH\" }\n\n# Connector.\n[[ladder]]\n"),
        "{to_end}"
    );
    assert!(to_end.contains("# terminal\n\n[pin]"), "{to_end}");
}

#[test]
fn a_list_that_is_not_there_begins_at_the_end() {
    let text = edited(
        "title = \"a\"\n",
        &Edit::Insert {
            list: "stress".to_owned(),
            at: 0,
            entry: Entry(vec![("id".to_owned(), "esd".into())]),
        },
    );
    assert_eq!(text, "title = \"a\"\n\n[[stress]]\nid = \"esd\"\n");
    let removed = edited(
        &text,
        &Edit::Remove {
            list: "stress".to_owned(),
            at: 0,
        },
    );
    assert_eq!(removed, "title = \"a\"\n");
}

#[test]
fn lines_keep_their_ends() {
    let text = STUDY.replace('\n', "\r\n");
    let new = edited(&text, &set("stress.0.polarity", "both"));
    assert!(
        new.contains("# line to earth\r\npolarity = \"both\"\r\n"),
        "{new}"
    );
    assert_eq!(new.matches('\n').count(), new.matches("\r\n").count());
}

#[test]
fn headers_within_texts_are_no_headers() {
    let text = "title = \"\"\"\n[port]\n# no comment\n[[ladder]]\n\"\"\"\n\n[[ladder]]\nname = \"a\"\n";
    let new = edited(
        text,
        &Edit::Remove {
            list: "ladder".to_owned(),
            at: 0,
        },
    );
    assert_eq!(new, "title = \"\"\"\n[port]\n# no comment\n[[ladder]]\n\"\"\"\n");
}

#[test]
fn what_cannot_be_edited_says_why() {
    let said = |text: &str, edit: &Edit| apply(text, edit).expect_err("a refusal").to_string();
    assert!(said("title = \n", &set("title", "a")).contains("line 1"));
    assert!(said(STUDY, &unset("pin.esr")).contains("nothing at `pin.esr`"));
    assert!(said(STUDY, &set("ladder.7.lead", "1 nH")).contains("nothing at"));
    assert!(said(STUDY, &set("", "1 nH")).contains("nothing at"));
    assert!(said(STUDY, &set("port..x", "1 nH")).contains("nothing at"));
    assert!(said(STUDY, &set("pin", "a")).contains("header of its own"));
    let remove = Edit::Remove {
        list: "ladder".to_owned(),
        at: 3,
    };
    assert!(said(STUDY, &remove).contains("nothing at `ladder.3`"));
}

#[test]
fn a_whole_text_may_be_anything() {
    let broken = "title = \n\0 [";
    assert_eq!(
        edited(
            STUDY,
            &Edit::Text {
                text: broken.to_owned()
            }
        ),
        broken
    );
    assert_eq!(
        edited(
            "µ",
            &Edit::Text {
                text: "Ω".to_owned()
            }
        ),
        "Ω"
    );
}

#[test]
fn several_edits_are_one_patch() {
    let edits = [set("title", "Two"), unset("ladder.1.lead"), set("pin.name", "x")];
    let patch = apply_all(STUDY, &edits).expect("good edits");
    let new = patch.on(STUDY).expect("a patch of this text");
    assert!(new.contains("\"Two\"") && !new.contains("lead") && new.contains("name = \"x\""));
    assert_eq!(patch.inverse().on(&new).as_deref(), Some(STUDY));
    assert!(apply_all(STUDY, &[set("title", "Two"), unset("nothing")]).is_err());
    assert_eq!(
        Patch::between("a", "a"),
        Patch {
            at: 1,
            ..Patch::default()
        }
    );
    assert_eq!(patch.on("another text"), None);
}

#[test]
fn edits_are_read_from_json_in_the_order_of_their_keys() {
    let text = r#"{"edit":"insert","list":"ladder","at":0,"entry":{"name":"Z","series":{"resistance":"1 Ω","inductance":"2 nH"}}}"#;
    let edit: Edit = serde_json::from_str(text).expect("an edit");
    let new = edited(STUDY, &edit);
    assert!(
        new.contains("[[ladder]]\nname = \"Z\"\nseries = { resistance = \"1 Ω\", inductance = \"2 nH\" }\n\n# Connector."),
        "{new}"
    );
    let twice = r#"{"edit":"insert","list":"ladder","at":0,"entry":{"name":"Z","name":"Y"}}"#;
    assert!(serde_json::from_str::<Edit>(twice).is_err());
    assert!(serde_json::from_str::<Edit>(r#"{"edit":"burn"}"#).is_err());
}

#[test]
fn an_outline_says_what_stands_where() {
    let outline = Outline::of(STUDY).expect("TOML");
    assert_eq!(outline.text("stress.1.level"), "8 kV");
    assert_eq!(outline.text("ladder.0.series.inductance"), "15 nH");
    assert_eq!(outline.text("pin.withstand.0.lasts"), "any");
    assert_eq!(outline.text("pin.capacitance"), "");
    assert_eq!(outline.get("ladder.1"), Some(Shown::Table));
    assert_eq!(outline.get("pin.withstand"), Some(Shown::List(1)));
    assert_eq!(outline.get("nowhere.at.all"), None);
    assert_eq!(
        (
            outline.count("ladder"),
            outline.count("stress"),
            outline.count("part")
        ),
        (3, 2, 0)
    );
    assert_eq!(outline.keys("ladder.1"), ["name", "shunt", "lead"]);
    assert_eq!(outline.keys("ladder.0.series"), ["resistance", "inductance"]);
    let place = |piece: &str| outline.place_of(STUDY.find(piece).expect("a piece"));
    assert_eq!(place("15 nH").as_deref(), Some("ladder.0.series.inductance"));
    assert_eq!(place("maple-33").as_deref(), Some("ladder.1.shunt"));
    assert_eq!(place("{ voltage").as_deref(), Some("pin.withstand.0"));
    assert_eq!(place("# The clamp"), None);
    assert_eq!(Outline::of("a = 1\nb = \n").expect_err("no TOML").line, 2);
}
