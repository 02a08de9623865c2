//! Every bad study gives one error at the right place, with an expectation and a hint.

mod common;

use common::{Memory, PARTS, SAMPLE, check, fail, files};
use tidewall_study::read_text;

/// The sample with one piece replaced; the error must stand at the start of `at` in the new text.
#[track_caller]
fn case(from: &str, to: &str, at: &str, message: &str, hint: &str) {
    assert_eq!(SAMPLE.matches(from).count(), 1, "`{from}` is in the sample once");
    let text = SAMPLE.replace(from, to);
    check(&text, &files(), at, message, hint);
}

#[test]
fn the_sample_itself_is_good() {
    if let Err(error) = read_text("study.toml", SAMPLE, &files()) {
        panic!("{error}");
    }
}

#[test]
fn a_wrong_unit_is_pointed_at() {
    case(
        "\"4.7 µF\"",
        "\"4.7 µH\"",
        "µH\"",
        "is a unit of inductance, not of capacitance",
        "",
    );
    case("\"2 nH\"", "\"2 Vrms\"", "Vrms", "not a unit of inductance", "");
    case(
        "must_not_conduct = \"30.2 V\"",
        "must_not_conduct = \"30.2 A\"",
        "A\"\nabnormal",
        "unit of current",
        "",
    );
    case(
        "\"-40 °C to 70 °C\"",
        "\"-40 C to 70 C\"",
        "C to",
        "not a unit of temperature",
        "°C",
    );
}

#[test]
fn a_missing_unit_is_pointed_at() {
    case("\"60 V\"", "\"60\"", "60\"", "`60` has no unit", "60 V");
    case(
        "\"60 V\"",
        "60",
        "60, lasts",
        "cannot be a whole number",
        "double quotes",
    );
    case("\"1 kV\"", "\"3\"", "3\"\ncoupling", "has no unit", "");
}

#[test]
fn an_unknown_key_gets_the_nearest_one() {
    case(
        "coupling =",
        "copling =",
        "copling",
        "unknown key `copling`",
        "`coupling`",
    );
    case(
        "must_not_conduct =",
        "must-not-conduct =",
        "must-not",
        "unknown key",
        "`must_not_conduct`",
    );
    case("title =", "titel =", "titel", "unknown key `titel`", "`title`");
    case(
        "lasts = \"any\"",
        "last = \"any\"",
        "last =",
        "unknown key `last`",
        "`lasts`",
    );
    case(
        "inductance = \"15 nH\"",
        "inductence = \"15 nH\"",
        "inductence",
        "unknown key",
        "`inductance`",
    );
    case("[pin]", "[pins]", "pins", "unknown key `pins`", "`pin`");
}

#[test]
fn an_unknown_name_gets_the_nearest_one() {
    case(
        "\"alder-33\"",
        "\"alder-34\"",
        "\"alder-34\"",
        "no part `alder-34`",
        "`alder-33`",
    );
    case(
        "\"supply-24vdc\"",
        "\"supply-24dc\"",
        "\"supply-24dc\"",
        "no profile `supply-24dc`",
        "`supply-24vdc`",
    );
    case(
        "\"supply-24vdc\"",
        "\"zzzzzzzzzz\"",
        "\"zzzzzzzzzz\"",
        "no profile",
        "45 in all",
    );
    check(
        SAMPLE,
        &Memory::default(),
        "\"alder-33\"",
        "no part `alder-33`",
        "[[part]]",
    );
    let error = fail(SAMPLE, &Memory::default());
    assert!(error.expected.contains("no parts file"), "{error}");
}

#[test]
fn an_unknown_standard_or_level_is_the_catalogue_s_error_at_its_key() {
    case(
        "\"IEC 61000-4-5\"",
        "\"IEC 61000-4-55\"",
        "\"IEC 61000-4-55\"",
        "standard",
        "IEC 61000-4-5",
    );
    case(
        "\"line-earth\"",
        "\"line-earht\"",
        "\"line-earht\"",
        "coupling",
        "",
    );
    case(
        "discharge = \"contact\"\n",
        "",
        "[[stress]]\nid = \"esd\"",
        "discharge",
        "",
    );
}

#[test]
fn an_impossible_range_is_refused() {
    case(
        "\"-40 °C to 70 °C\"",
        "\"70 °C to -40 °C\"",
        "70 °C to -40",
        "upside down",
        "lower end first",
    );
    case(
        "\"-40 °C to 70 °C\"",
        "\"-400 °C to 70 °C\"",
        "\"-400",
        "impossible range",
        "",
    );
    case("\"30.2 V\"", "\"20 V\"", "\"20 V\"", "impossible range", "");
    case(
        "\"30.2 V\"",
        "\"5 V to 30 V\"",
        "\"5 V to",
        "leaves out 0 V",
        "0 V to 30 V",
    );
    case(
        "withstand = [{ voltage = \"60 V\", lasts = \"any\" }]",
        "withstand = [{ voltage = \"60 V\", lasts = \"any\" }, { voltage = \"40 V\", lasts = \"1 µs\" }]",
        "[{ voltage",
        "impossible range",
        "",
    );
    let parts = PARTS.replace(
        "min = \"36.7 V\", max = \"40.6 V\"",
        "min = \"40.6 V\", max = \"36.7 V\"",
    );
    let error = fail(SAMPLE, &Memory::default().with("parts.toml", parts));
    assert_eq!(
        (error.file.as_str(), error.line, error.column),
        ("parts.toml", 8, 13),
        "{error}"
    );
    assert!(error.message.contains("impossible range"), "{error}");
}

#[test]
fn an_empty_ladder_or_stress_list_is_refused() {
    let start = SAMPLE.find("[[ladder]]").expect("a ladder");
    let end = SAMPLE.find("[pin]").expect("a pin");
    let without = format!("{}{}", &SAMPLE[..start], &SAMPLE[end..]);
    check(&without, &files(), "title", "the ladder is empty", "[[ladder]]");
    let empty = format!("ladder = []\n{without}");
    check(&empty, &files(), "[]", "the ladder is empty", "[[ladder]]");
    let start = SAMPLE.find("[[stress]]").expect("a stress");
    let end = SAMPLE.find("[[ladder]]").expect("a ladder");
    let without = format!("{}{}", &SAMPLE[..start], &SAMPLE[end..]);
    check(&without, &files(), "title", "no stress", "IEC 61000-4-5");
}

#[test]
fn a_loop_without_impedance_is_refused() {
    case(
        "{ resistance = \"20 mΩ\", inductance = \"15 nH\" }",
        "{ resistance = \"0 Ω\", inductance = \"0 nH\" }",
        "{ resistance = \"0 Ω\"",
        "loop without impedance",
        "0.7 nH",
    );
    case(
        "{ inductance = \"10 nH\" }",
        "{}",
        "{}",
        "loop without impedance",
        "0.7 nH",
    );
    case("lead = \"2 nH\"", "lead = \"0 nH\"", "\"0 nH\"", "above zero", "");
    case(
        "lead = \"2 nH\"\n",
        "",
        "[[ladder]]\nname",
        "inductance of the path",
        "package_inductance",
    );
}

#[test]
fn numbers_that_are_not_finite_are_refused() {
    case("\"60 V\"", "nan", "nan", "not a finite number", "");
    case("\"60 V\"", "-inf", "-inf", "not a finite number", "");
    case("\"60 V\"", "\"NaN V\"", "NaN", "not a finite number", "");
    case("\"60 V\"", "\"inf V\"", "inf", "not a finite number", "");
    case("\"60 V\"", "\"1e999 V\"", "1e999", "too large", "");
    case(
        "title =",
        "margin = nan\ntitle =",
        "nan",
        "not a finite number",
        "",
    );
}

#[test]
fn a_duplicate_is_refused() {
    case(
        "id = \"esd\"",
        "id = \"surge-earth\"",
        "\"surge-earth\"\nstandard = \"IEC 61000-4-2\"",
        "is taken",
        "",
    );
    case("name = \"D1\"", "name = \"S1\"", "\"S1\"", "is taken", "");
    case(
        "level = \"8 kV\"",
        "level = \"8 kV\"\nlevel = \"4 kV\"",
        "level = \"4 kV\"",
        "not TOML",
        "once",
    );
    let twice = format!("{PARTS}\n{}", &PARTS[..PARTS.find("\n\n").expect("two parts")]);
    let error = fail(SAMPLE, &Memory::default().with("parts.toml", twice));
    assert_eq!(
        (error.file.as_str(), error.line, error.column),
        ("parts.toml", 20, 1),
        "{error}"
    );
    assert!(error.message.contains("described twice"), "{error}");
}

#[test]
fn a_wrong_toml_type_is_refused() {
    case(
        "\"River gauge 7: 24 V supply inlet\"",
        "7",
        "7\n",
        "cannot be a whole number",
        "",
    );
    case("[pin]", "[[pin]]", "[[pin]]", "cannot be a list", "");
    case(
        "shunt = \"alder-33\"",
        "shunt = [\"alder-33\"]",
        "[\"alder-33\"]",
        "cannot be a list",
        "",
    );
    case(
        "lead = \"2 nH\"",
        "lead = true",
        "true",
        "cannot be true or false",
        "",
    );
    case(
        "lead = \"2 nH\"",
        "lead = 1979-05-27",
        "1979",
        "cannot be a date",
        "",
    );
    case(
        "withstand = [{ voltage",
        "withstand = [[{ voltage",
        "capacitance",
        "not TOML",
        "",
    );
}

#[test]
fn broken_toml_is_refused_where_it_breaks() {
    case(
        "title = \"River",
        "title = River",
        "River",
        "not TOML",
        "double quotes",
    );
    case("[port]", "[port", "\nprofile", "not TOML", "");
    let deep = format!("{SAMPLE}\nx = {}{}", "[".repeat(100_000), "]".repeat(100_000));
    let error = fail(&deep, &files());
    assert!(error.message.contains("not TOML"), "{}", error.message);
}

#[test]
fn missing_pieces_are_named() {
    check("", &files(), "", "no `title`", "title");
    check("title = \"x\"", &files(), "title", "no `port`", "[port]");
    case(
        "ambient = \"-40 °C to 70 °C\"\n",
        "",
        "[port]",
        "no `ambient`",
        "ambient = ",
    );
    case(
        "profile = \"supply-24vdc\"\n",
        "",
        "[port]",
        "neither `profile` nor `kind`",
        "profile",
    );
    case(
        "lasts = \"500 ms\"",
        "note = \"\"",
        "{ level = \"35 V\"",
        "no `lasts`",
        "continuous",
    );
    case(
        "id = \"esd\"\n",
        "",
        "[[stress]]\nstandard = \"IEC 61000-4-2\"",
        "no `id`",
        "",
    );
}

#[test]
fn what_does_not_fit_the_number_of_lines_is_refused() {
    case(
        "lead = \"2 nH\"",
        "lead = \"2 nH\"\nbetween = \"line-line\"",
        "\"line-line\"",
        "no such place",
        "lines = 2",
    );
    case(
        "ambient =",
        "must_not_conduct_between = \"±5 V\"\nambient =",
        "\"±5 V\"",
        "no other line",
        "lines = 2",
    );
    case(
        "ambient =",
        "lines = 3\nambient =",
        "3\nambient",
        "cannot be 3",
        "",
    );
    let first = "{ inductance = \"10 nH\" }\nline = \"first\"";
    case(
        "{ inductance = \"10 nH\" }",
        first,
        "\"first\"",
        "no first or second",
        "",
    );
    let pair = SAMPLE
        .replace("\"supply-24vdc\"", "\"rs-485\"")
        .replace("must_not_conduct = \"30.2 V\"\n", "");
    check(&pair, &files(), "\"line-earth\"", "for supply ports", "arrester");
    let pair = pair.replace("\"line-earth\"", "\"symmetrical-arrester\"\nwires = 2");
    let place = "[[ladder]]\nname";
    check(
        &pair,
        &files(),
        place,
        "what it stands between",
        "each-line-earth",
    );
    let pair = pair.replace("lead = ", "between = \"line-return\"\nlead = ");
    check(&pair, &files(), "\"line-return\"", "ambiguous", "");
}

#[test]
fn a_part_in_the_wrong_place_is_refused() {
    case(
        "shunt = \"alder-33\"",
        "shunt = \"birch-track\"",
        "\"birch-track\"",
        "goes in the line",
        "series =",
    );
    case(
        "{ inductance = \"10 nH\" }",
        "\"alder-33\"",
        "\"alder-33\"\n\n[pin]",
        "goes across",
        "shunt =",
    );
    case(
        "shunt = \"alder-33\"",
        "shunt = \"alder-33\"\nseries = {}",
        "\"alder-33\"",
        "either in the line",
        "two",
    );
    case(
        "shunt = \"alder-33\"\n",
        "",
        "[[ladder]]\nname = \"D1\"",
        "neither `series` nor `shunt`",
        "",
    );
}

#[test]
fn the_caret_stands_under_the_fault() {
    let error = fail(&SAMPLE.replace("\"4.7 µF\"", "\"4.7 µH\""), &files());
    assert_eq!(
        error.to_string().lines().take(3).collect::<Vec<_>>(),
        [
            "study.toml:37:20: `capacitance`: `µH` is a unit of inductance, not of capacitance",
            "  37 | capacitance = \"4.7 µH\"",
            "     |                    ^^",
        ]
    );
    let long = format!("title = \"{}\"\nx = 1\n", "a".repeat(1000));
    let error = fail(&format!("y = \"{}\" x", "ä".repeat(1000)), &files());
    assert!(
        error.to_string().lines().all(|line| line.chars().count() < 200),
        "{error}"
    );
    assert_eq!(fail(&long, &files()).line, 2);
}
