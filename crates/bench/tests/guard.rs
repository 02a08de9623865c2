//! The work and the accuracy of every circuit of the suite, without a clock.
//!
//! When a change of the engine moves the counts for good, `sh scripts/bench counts` writes them anew.

use tidewall_bench::guard::{default_run, read};
use tidewall_bench::transient::{LIMIT, ready};

const COMMITTED: &str = include_str!("../suite.json");

#[test]
fn no_circuit_takes_a_tenth_more_work_than_committed() {
    let committed = read(COMMITTED).unwrap();
    let mut wrong = Vec::new();
    for ready in ready().unwrap() {
        let key = ready.circuit.key;
        let entry = committed
            .iter()
            .find(|entry| entry.key == key)
            .unwrap_or_else(|| panic!("nothing is committed of `{key}`"));
        let (_, counts) = default_run(&ready).unwrap();
        println!("{key}: {counts:?}");
        wrong.extend(
            counts
                .risen_above(&entry.counts)
                .into_iter()
                .map(|text| format!("{key}: {text}")),
        );
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_circuit_meets_a_thousandth_of_its_committed_reference() {
    let mut wrong = Vec::new();
    for (ready, entry) in ready().unwrap().iter().zip(read(COMMITTED).unwrap()) {
        assert_eq!(ready.circuit.key, entry.key);
        let (quantities, _) = default_run(ready).unwrap();
        let deviation = quantities.deviation(&entry.reference);
        println!("{}: {deviation:?}", entry.key);
        if deviation.worst() > LIMIT {
            wrong.push(format!("{}: {deviation:?}", entry.key));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_committed_references_of_two_methods_agree() {
    for entry in read(COMMITTED).unwrap() {
        assert!(entry.independent.worst() < 0.01 * LIMIT, "{entry:?}");
    }
}
