//! Twenty thousand random ladders: every transient ends, its energy balances, its numbers are finite.

use tidewall_soak::{Kind, Tally, verdict};

/// Cases in all.
const CASES: u64 = 20_000;

/// Cases that are known to fail and wait for their remedy (docs/trust.md): an audit of 1.05e-3 at 0.2 pJ, and a ringing
/// that is followed for more steps than are allowed. No other may, and one that no longer does is to be taken out here.
const OPEN: [u64; 2] = [1_364, 16_634];

#[test]
fn twenty_thousand_random_ladders_converge_and_balance() {
    let threads = std::thread::available_parallelism().map_or(2, |count| count.get() as u64);
    let share = |which: u64| {
        let mut tally = Tally::default();
        for number in (which..CASES).step_by(threads as usize) {
            tally.take(number, verdict(number));
        }
        tally
    };
    let mut all = Tally::default();
    std::thread::scope(|scope| {
        let shares: Vec<_> = (0..threads)
            .map(|which| scope.spawn(move || share(which)))
            .collect();
        for share in shares {
            all.add(share.join().unwrap());
        }
    });
    assert_eq!(all.cases, CASES);
    let wrong = || {
        all.failures
            .iter()
            .filter(|failure| failure.kind != Kind::Oscillates)
    };
    let numbers: Vec<u64> = wrong().map(|failure| failure.number).collect();
    let told: Vec<String> = wrong()
        .map(|failure| format!("case {}: {}", failure.number, failure.text))
        .collect();
    assert_eq!(numbers, OPEN, "{all}\n{}", told.join("\n"));
    // Ports that oscillate by themselves are told as such; they are rare (docs/trust.md), and more of them would be a
    // defect that hides behind that word.
    assert!(all.of(Kind::Oscillates).count() as u64 <= CASES / 1_000, "{all}");
}
