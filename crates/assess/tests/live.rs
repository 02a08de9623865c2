//! What a memo gives is what a run anew gives, to the bit, and it runs no more than it must.

use std::path::Path;
use std::sync::atomic::AtomicBool;

use tidewall_assess::memo::{Counts, Memo};
use tidewall_assess::{assess, assess_live};
use tidewall_study::{FolderLoader, Study, read_text};
use tidewall_transient::Options;

fn demo() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo/river-gauge")
}

fn text(name: &str) -> String {
    std::fs::read_to_string(demo().join(name)).expect("a demo study")
}

fn study(text: &str) -> Study {
    read_text("study.toml", text, &FolderLoader::new(demo())).expect("a good study")
}

struct Desk {
    memo: Memo,
    waves: Memo,
}

impl Desk {
    fn new() -> Desk {
        Desk {
            memo: Memo::new(2000),
            waves: Memo::new(200),
        }
    }

    /// Assesses, compares with a run anew, and says what was run and known.
    fn judge(&self, text: &str) -> Counts {
        let study = study(text);
        let before = self.memo.counts();
        let cancel = AtomicBool::new(false);
        let memos = (&self.memo, &self.waves);
        let live = assess_live(&study, &Options::default(), memos, &cancel, &|_, _| {});
        let (live, traces) = live.expect("not cancelled");
        let anew = assess(&study, &Options::default(), &|_, _| {});
        assert_eq!(
            serde_json::to_string(&live).expect("JSON"),
            serde_json::to_string(&anew).expect("JSON")
        );
        assert_eq!(traces.outcomes.len(), study.stresses.len());
        assert!(
            traces
                .outcomes
                .iter()
                .all(|outcome| outcome.outcome.recording.is_some())
        );
        let after = self.memo.counts();
        Counts {
            known: after.known - before.known,
            run: after.run - before.run,
        }
    }
}

fn with(text: &str, old: &str, new: &str) -> String {
    assert_eq!(text.matches(old).count(), 1, "{old}");
    text.replacen(old, new, 1)
}

#[test]
fn an_edit_runs_what_it_touches_and_no_more() {
    let start = text("level-sensor-io-link.toml");
    let desk = Desk::new();
    let first = desk.judge(&start);
    assert!(first.run > 10 && first.known == 0, "{first:?}");
    let all = first.run;
    let nothing_new = |text: &str, why: &str| {
        let counts = desk.judge(text);
        assert_eq!(counts, Counts { known: all, run: 0 }, "{why}");
    };
    nothing_new(&start, "the same");
    nothing_new(&with(&start, "title = \"", "title = \"Another: "), "the title");
    nothing_new(
        &format!("margin = \"1 %\"\n{start}"),
        "the margin, with a level nothing passes",
    );
    // A stress more runs its own corners alone.
    let more = format!(
        "{start}\n[[stress]]\nid = \"more\"\nstandard = \"IEC 61000-4-2\"\nlevel = \"2 kV\"\ndischarge = \"contact\"\n"
    );
    let counts = desk.judge(&more);
    assert_eq!(counts.known, all);
    assert!(counts.run > 0 && counts.run < all, "{counts:?}");
    nothing_new(&start, "and back");
}

#[test]
fn a_level_that_was_passed_untimed_is_run_again() {
    let start = text("level-sensor-io-link.toml");
    let desk = Desk::new();
    desk.judge(&start);
    // Far below the clamp: every corner passes it.
    let low = withstanding(&start, "20 V");
    let counts = desk.judge(&low);
    assert!(counts.run > 0, "{counts:?}");
    // Far above: none does.
    let counts = desk.judge(&withstanding(&start, "900 V"));
    assert_eq!(counts.run, 0, "{counts:?}");
}

/// The study with another withstand voltage.
fn withstanding(text: &str, volts: &str) -> String {
    let at = text.find("withstand = ").expect("a withstand level");
    let end = at + text[at..].find('\n').expect("an end of line");
    format!("{}withstand = \"{volts}\"{}", &text[..at], &text[end..])
}

#[test]
fn a_cancelled_assessment_ends_without_a_result() {
    let study = study(&text("supply-24v.toml"));
    let desk = Desk::new();
    let cancel = AtomicBool::new(true);
    let memos = (&desk.memo, &desk.waves);
    assert!(assess_live(&study, &Options::default(), memos, &cancel, &|_, _| {}).is_none());
    assert_eq!(desk.memo.counts(), Counts::default());
}

#[test]
fn what_is_not_of_use_makes_room() {
    let memo = Memo::new(5);
    let waves = Memo::new(5);
    let cancel = AtomicBool::new(false);
    let judged = |text: &str| {
        let live = assess_live(
            &study(text),
            &Options::default(),
            (&memo, &waves),
            &cancel,
            &|_, _| {},
        );
        live.expect("not cancelled").0.verdict
    };
    let start = text("level-sensor-io-link.toml");
    let first = judged(&start);
    let run = memo.counts().run;
    assert_eq!(judged(&start), first);
    // The round before held more than there is room for, so that little of it is left.
    assert!(memo.counts().run > run);
}
